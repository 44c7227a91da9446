package api

import (
	"cmp"
	"context"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"maps"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humago"

	"thwart"
	"thwart/internal/exchange"
)

const exportPath = "/api/export/"

// exportStall is how long a reader of a download may take for the next piece.
const exportStall = time.Minute

func (a *API) routeExport() {
	tag := []string{"Data out, and away"}
	out := inOffice(thwart.CanExport)
	out.own = "The archive and the lines hold people and planted objects and are for the manager."
	route(a, huma.Operation{OperationID: "export", Method: http.MethodGet, Path: exportPath + "{id}", Tags: tag,
		Summary: "Take records away, as a download",
		Description: "One of: " + strings.Join(exchange.Exports, ", ") + ". Tables are CSV (RFC 4180), maps GeoJSON (RFC 7946), the archive a zip that another " +
			"installation can load. A download that breaks off ends without its end, never as a shorter file that looks whole.",
		Responses: map[string]*huma.Response{"200": {Description: "the file", Content: map[string]*huma.MediaType{
			"application/octet-stream": {Schema: &huma.Schema{Type: "string", Format: "binary"}}}}},
		Errors: []int{http.StatusUnprocessableEntity}}, out, a.export)
	route(a, huma.Operation{OperationID: "list-purges", Method: http.MethodGet, Path: "/api/purges", Tags: tag,
		Summary: "Certificates of what was removed for good, oldest first"}, inOffice(thwart.CanManage, thwart.CanAudit), a.purges)
	route(a, huma.Operation{OperationID: "preview-purge", Method: http.MethodPost, Path: "/api/purges/preview", Tags: tag,
		Summary: "What a purge would remove; nothing changes"}, inOffice(thwart.CanManage), a.previewPurge)
	route(a, huma.Operation{OperationID: "purge", Method: http.MethodPost, Path: "/api/purges", Tags: tag, DefaultStatus: http.StatusCreated,
		Summary: "Remove personal fields for good",
		Description: "Needs the word that the preview gave. When something else would go by now than the preview said, the answer is 409 and nothing goes. " +
			"Copies made before, by backup or export, are not reached.", Errors: []int{http.StatusConflict}}, inOffice(thwart.CanManage), a.purge)
}

type exportIn struct {
	What    string `path:"id" maxLength:"40" doc:"what is to go out"`
	Edition string `query:"edition" maxLength:"20" doc:"of a table: exchange, exact; spreadsheet, made safe to open in one"`
}

func (a *API) export(ctx context.Context, in *exportIn) (*huma.StreamResponse, error) {
	p := who(ctx)
	o := exchange.Order{What: in.What, Edition: exchange.Edition(in.Edition), Planted: p.may(thwart.CanSeeTrial), At: a.cfg.Now().UTC(), App: "thwart " + a.cfg.Version}
	if err := o.Check(); err != nil {
		return nil, err
	}
	keeper, ok := a.cfg.Store.(exchange.Keeper)
	switch {
	case exchange.Whole(o.What) && !p.may(thwart.CanManage):
		return nil, problem(http.StatusForbidden, "the role "+string(p.role)+" may take tables and maps, not the whole")
	case !ok:
		return nil, problem(http.StatusServiceUnavailable, "this server keeps no pictures and writes no exports")
	}
	if err := a.audit(ctx, p.account, "export", o.What, in.Edition); err != nil {
		return nil, err
	}
	return &huma.StreamResponse{Body: func(hc huma.Context) {
		_, w := humago.Unwrap(hc)
		name, media := exchange.FileName(o.What)
		w.Header().Set("Content-Type", media)
		w.Header().Set("Content-Disposition", `attachment; filename="`+name+`"`)
		if _, err := exchange.Write(hc.Context(), &slowly{w, http.NewResponseController(w)}, keeper, o); err != nil {
			a.cfg.Log.ErrorContext(hc.Context(), "an export broke off", "what", o.What, "error", err)
			panic(http.ErrAbortHandler) // so that the reader sees that the end is missing
		}
	}}, nil
}

// slowly lets a download take as long as it goes on: the server's own limit for writing is for answers that end soon.
type slowly struct {
	http.ResponseWriter
	rc *http.ResponseController
}

func (s *slowly) Write(p []byte) (int, error) {
	// A writer that knows no deadlines has none.
	_ = s.rc.SetWriteDeadline(time.Now().Add(exportStall))
	return s.ResponseWriter.Write(p)
}

func (a *API) purges(ctx context.Context, _ *none) (*list[thwart.PurgeReport], error) {
	all, err := a.cfg.Store.Purges(ctx)
	return listOf(all), err
}

// PurgeAsk says what is too old to keep.
type PurgeAsk struct {
	MarksBefore  time.Time `json:"marksBefore,omitzero" doc:"hashes of registrations of inspections begun before"`
	NotesBefore  time.Time `json:"notesBefore,omitzero" doc:"free text"`
	PhotosBefore time.Time `json:"photosBefore,omitzero" doc:"photos that belong to no incident, and their pictures"`
	TrialsBefore time.Time `json:"trialsBefore,omitzero" doc:"who was in a trial or a drill: names, phones and the encounter; the results stay"`
	Retention    bool      `json:"retention,omitempty" doc:"instead of times: what is older than the programme's record says"`
}

// PurgePreview is what would go, and the word that lets it go.
type PurgePreview struct {
	Report  thwart.PurgeReport `json:"report"`
	Confirm string             `json:"confirm" doc:"to be given back unchanged; good while the same would go"`
}

func (a *API) wouldPurge(ctx context.Context, ask PurgeAsk) (PurgePreview, thwart.PurgeOrder, error) {
	p := who(ctx)
	now := a.cfg.Now().UTC()
	order, err := a.purgeOrder(ctx, ask, now)
	if err != nil {
		return PurgePreview{}, order, err
	}
	order.By, order.DryRun = cmp.Or(p.person, p.account), true
	rep, err := a.cfg.Store.Purge(ctx, order)
	if err != nil {
		return PurgePreview{}, order, err
	}
	text, err := json.Marshal(ask)
	if err != nil {
		return PurgePreview{}, order, err
	}
	m := hmac.New(sha256.New, a.cfg.Key)
	fmt.Fprintf(m, "purge\n%s\n", text)
	for _, k := range slices.Sorted(maps.Keys(rep.Removed)) {
		fmt.Fprintf(m, "%s %d\n", k, rep.Removed[k])
	}
	for _, h := range rep.Pictures {
		fmt.Fprintln(m, h)
	}
	return PurgePreview{Report: rep, Confirm: base64.RawURLEncoding.EncodeToString(m.Sum(nil)[:18])}, order, nil
}

// purgeOrder turns what was asked into an order. By is left to the caller.
func (a *API) purgeOrder(ctx context.Context, ask PurgeAsk, now time.Time) (thwart.PurgeOrder, error) {
	order := thwart.PurgeOrder{MarksBefore: ask.MarksBefore, NotesBefore: ask.NotesBefore, PhotosBefore: ask.PhotosBefore, TrialsBefore: ask.TrialsBefore, At: now}
	const accepted = "at least one of marksBefore, notesBefore, photosBefore, trialsBefore, or retention alone"
	times := map[string]time.Time{"marksBefore": ask.MarksBefore, "notesBefore": ask.NotesBefore, "photosBefore": ask.PhotosBefore, "trialsBefore": ask.TrialsBefore}
	told := 0
	for name, t := range times {
		if t.After(now) {
			return order, field("body."+name, t.Format(time.RFC3339), "a time in the past")
		}
		if !t.IsZero() {
			told++
		}
	}
	switch {
	case ask.Retention && told == 0:
		return a.retention(ctx, now)
	case ask.Retention:
		return order, field("body.retention", true, accepted)
	case told == 0:
		return order, field("body", "nothing", accepted)
	}
	return order, nil
}

// retention is the order of the programme's own record.
func (a *API) retention(ctx context.Context, now time.Time) (thwart.PurgeOrder, error) {
	p, err := thwart.ProgrammeOf(ctx, a.cfg.Store)
	if err != nil {
		return thwart.PurgeOrder{}, err
	}
	if p.Retention == (thwart.Retention{}) {
		return thwart.PurgeOrder{}, field("body.retention", true, "days in the retention of the programme's record; it names none")
	}
	return p.Retention.Order(now), nil
}

func (a *API) previewPurge(ctx context.Context, in *struct{ Body PurgeAsk }) (*struct{ Body PurgePreview }, error) {
	p, _, err := a.wouldPurge(ctx, in.Body)
	return &struct{ Body PurgePreview }{p}, err
}

type purgeIn struct {
	Body struct {
		PurgeAsk
		Confirm string `json:"confirm" maxLength:"60" doc:"the word that the preview gave"`
	}
}

func (a *API) purge(ctx context.Context, in *purgeIn) (*struct{ Body thwart.PurgeReport }, error) {
	a.setup.Lock() // purges take turns
	defer a.setup.Unlock()
	would, order, err := a.wouldPurge(ctx, in.Body.PurgeAsk)
	if err != nil {
		return nil, err
	}
	if !hmac.Equal([]byte(would.Confirm), []byte(in.Body.Confirm)) {
		return nil, problem(http.StatusConflict, "this is not what the preview said would go; look at a new preview and decide anew")
	}
	order.DryRun = false
	rep, err := a.cfg.Store.Purge(ctx, order)
	a.cfg.Live.forget() // also where it broke off: what it had come to is gone
	if err != nil {
		return nil, err
	}
	detail, err := json.Marshal(rep.Removed)
	if err != nil {
		return nil, err
	}
	return &struct{ Body thwart.PurgeReport }{rep}, a.audit(ctx, who(ctx).account, "purge", "", string(detail))
}
