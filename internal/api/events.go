package api

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"strconv"
	"sync"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humago"

	"thwart"
)

const (
	eventsPath = "/api/events"
	heartbeat  = 15 * time.Second
	maxStreams = 200
)

// hub wakes the event streams of this process when entries were kept.
type hub struct {
	mu   sync.Mutex
	kick chan struct{}
}

func (h *hub) notify() {
	h.mu.Lock()
	defer h.mu.Unlock()
	close(h.kick)
	h.kick = make(chan struct{})
}

func (h *hub) next() <-chan struct{} {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.kick
}

func (a *API) routeEvents() {
	op := huma.Operation{OperationID: "follow-events", Method: http.MethodGet, Path: eventsPath, Tags: []string{"Records"},
		Summary: "Follow what arrives, as server-sent events",
		Description: "Each event named entry says that an entry arrived: its cursor, kind and subject, not what it says; read the record for that. " +
			"The event's id is the cursor: a browser that reconnects goes on from there. A comment is sent every 15 seconds while nothing happens.",
		Responses: map[string]*huma.Response{"200": {Description: "an event stream", Content: map[string]*huma.MediaType{"text/event-stream": {}}}},
		Errors:    []int{http.StatusServiceUnavailable},
	}
	route(a, op, signedIn(thwart.CanRead), a.events)
}

type eventsIn struct {
	LastEventID string `header:"Last-Event-ID"`
	After       int64  `query:"after" minimum:"0" doc:"cursor to go on from; left out: only what arrives from now on"`
}

// Arrival is the data of an event.
type Arrival struct {
	Cursor  int64       `json:"cursor"`
	Kind    thwart.Kind `json:"kind"`
	Subject string      `json:"subject"`
	Change  string      `json:"change"` // new, correction or removal
}

func (a *API) events(ctx context.Context, in *eventsIn) (*huma.StreamResponse, error) {
	p := who(ctx)
	kinds := visibleKinds(p.role)
	after := in.After
	if in.LastEventID != "" {
		n, err := strconv.ParseInt(in.LastEventID, 10, 64)
		if err != nil || n < 0 {
			return nil, field("header.Last-Event-ID", in.LastEventID, "the id of an event")
		}
		after = n
	} else if after == 0 {
		var err error
		if after, err = a.lastCursor(ctx, kinds); err != nil {
			return nil, err
		}
	}
	if a.streams.Add(1) > maxStreams {
		a.streams.Add(-1)
		return nil, problem(http.StatusServiceUnavailable, "too many event streams are open").retryAfter(30)
	}
	return &huma.StreamResponse{Body: func(hc huma.Context) {
		defer a.streams.Add(-1)
		a.metrics.streams.Inc()
		defer a.metrics.streams.Dec()
		_, w := humago.Unwrap(hc)
		a.stream(hc.Context(), w, p, kinds, after)
	}}, nil
}

// lastCursor finds the newest cursor by halving: whether anything comes after a cursor is cheap to ask. It may be a little
// behind, which repeats an event and loses none.
func (a *API) lastCursor(ctx context.Context, kinds []thwart.Kind) (int64, error) {
	more := func(c int64) (bool, error) {
		entries, _, err := a.cfg.Store.Changes(ctx, kinds, c, 1)
		return len(entries) > 0, err
	}
	lo, hi := int64(-1), int64(1) // something comes after lo; nothing after hi
	for {
		yes, err := more(hi)
		if err != nil {
			return 0, err
		}
		if !yes || hi > 1<<61 {
			break
		}
		lo, hi = hi, hi*2
	}
	for hi-lo > 1 {
		mid := lo + (hi-lo)/2
		yes, err := more(mid)
		if err != nil {
			return 0, err
		}
		if yes {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi, nil
}

// stream writes events until the caller goes, its rights end, or the server goes down.
func (a *API) stream(ctx context.Context, w http.ResponseWriter, p *principal, kinds []thwart.Kind, after int64) {
	rc := http.NewResponseController(w)
	w.Header().Set("Content-Type", "text/event-stream")
	w.Header().Set("X-Accel-Buffering", "no")
	send := func(format string, args ...any) bool {
		// The server's own limit for writing an answer is for answers that end.
		_ = rc.SetWriteDeadline(time.Now().Add(10 * time.Second))
		if _, err := fmt.Fprintf(w, format, args...); err != nil {
			return false
		}
		return rc.Flush() == nil
	}
	if !send("retry: 3000\n: following from %d\n\n", after) {
		return
	}
	poll := time.NewTicker(a.cfg.EventPoll)
	defer poll.Stop()
	quiet := time.NewTicker(heartbeat)
	defer quiet.Stop()
	for {
		// Asked after the kick is in hand: a drain that came before it has been seen by now, one that comes later kicks.
		kick := a.hub.next()
		if a.draining.Load() {
			return
		}
		for {
			entries, next, err := a.cfg.Store.Changes(ctx, kinds, after, MaxPage)
			if err != nil {
				return // the browser comes back by itself, and goes on from the last id it saw
			}
			for _, k := range entries {
				ev := Arrival{Cursor: k.Cursor, Kind: k.Kind, Subject: k.Entry.Subject, Change: "new"}
				switch {
				case k.Removed:
					ev.Change = "removal"
				case k.Supersedes != "":
					ev.Change = "correction"
				}
				data, err := json.Marshal(ev)
				if err != nil || !send("event: entry\nid: %d\ndata: %s\n\n", k.Cursor, data) {
					return
				}
			}
			if next <= after {
				break
			}
			after = next
		}
		select {
		case <-ctx.Done():
			return
		case <-kick:
		case <-poll.C:
		case <-quiet.C:
			if !a.stillAllowed(ctx, p) || !send(": still here\n\n") {
				return
			}
		}
	}
}

// stillAllowed looks again whether the caller's account or phone is in service.
func (a *API) stillAllowed(ctx context.Context, p *principal) bool {
	if p.device != nil {
		d, err := a.cfg.Accounts.DeviceByID(ctx, p.device.ID)
		return err == nil && d.RevokedAt == nil
	}
	acc, err := a.cfg.Accounts.AccountByID(ctx, p.account)
	return err == nil && acc.RevokedAt == nil && acc.Role == p.role && !a.out.has(p.session)
}
