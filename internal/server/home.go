package server

import (
	"bytes"
	"context"
	_ "embed"
	"fmt"
	"html/template"
	"log/slog"
	"maps"
	"net/http"
	"strconv"
	"strings"
	"sync"
	"time"

	"thwart"
	"thwart/internal/api"
	"thwart/internal/demo"
	"thwart/internal/store"
	"thwart/internal/webui"
)

//go:embed home.html
var homeHTML string

var homeTemplate = template.Must(template.New("home").Parse(homeHTML))

// home is the first page, and takes its forms. It needs no script; sums are shown to those who may read them, and to
// everybody in the demo.
type home struct {
	store *store.Store
	api   http.Handler // does what the forms ask for; set before the first request
	demo  bool
	log   *slog.Logger

	mu   sync.Mutex
	rows []homeRow
	at   time.Time
}

// homeFresh is how old the sums on the page may be.
const homeFresh = 10 * time.Second

type homeRow struct {
	Month                         string
	Met, Refused, Findings, Other string
	Outcomes                      []string
	TallyRefused, TurnedAway      string
	PassedBy, Hours               string
}

// homePage is what the template writes. A part that is empty is left out.
type homePage struct {
	Demo, Failed  bool
	Name          string
	Role          thwart.AccessRole // of whoever is signed in
	Alert         string
	Setup, SignIn *form

	Trouble, Closed, NotForRole, Nothing bool

	Outcomes []string
	Rows     []homeRow
	Sum      *homeRow

	DemoAccounts []string
	DemoPassword string
}

// pages lists the page and its forms, by pattern of [http.ServeMux].
func (h *home) pages() map[string]http.Handler {
	all := map[string]http.Handler{
		"GET /{$}":       h,
		"POST /setup":    http.HandlerFunc(h.begin),
		"POST /sign-in":  http.HandlerFunc(h.enter),
		"POST /sign-out": http.HandlerFunc(h.leave),
		"GET /setup":     http.HandlerFunc(back),
		"GET /sign-in":   http.HandlerFunc(back),
		"GET /sign-out":  http.HandlerFunc(back),
	}
	maps.Copy(all, webui.Pages())
	return all
}

// shown is a page after a form was refused: the form with its problems, or a sentence. All are empty at a plain visit.
type shown struct {
	setup, signIn *form
	alert         string
}

func (h *home) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("Cache-Control", "private, no-cache")
	h.page(w, r, http.StatusOK, shown{})
}

func (h *home) page(w http.ResponseWriter, r *http.Request, status int, s shown) {
	ctx := r.Context()
	role, signedIn := api.RoleOf(ctx)
	needed := false
	if has, err := h.store.HasAccounts(ctx); err == nil {
		needed = !has
	}
	p := homePage{Demo: h.demo, Name: "An inspection programme", Role: role, Alert: s.alert, Outcomes: outcomeWords()}
	if name := h.name(ctx); name != "" {
		p.Name = name
	} else if h.demo {
		p.Name = demo.Name
	}
	switch {
	case needed:
		if p.Setup = s.setup; p.Setup == nil {
			p.Setup = setupForm()
		}
	case !signedIn || s.signIn != nil:
		if p.SignIn = s.signIn; p.SignIn == nil {
			p.SignIn = signInForm()
		}
		if h.demo {
			p.DemoPassword = demoPassword
			for _, d := range demoAccounts {
				p.DemoAccounts = append(p.DemoAccounts, d.login)
			}
		}
	}
	p.Failed = p.Alert != "" || p.Setup != nil && p.Setup.Failed || p.SignIn != nil && p.SignIn.Failed
	switch {
	case h.demo || signedIn && role.May(thwart.CanRead):
		rows, err := h.totals(ctx)
		if err != nil {
			h.log.ErrorContext(ctx, "the sums cannot be read", "error", err)
			p.Trouble = true
		} else if len(rows) > 0 {
			p.Rows, p.Sum = rows[:len(rows)-1], &rows[len(rows)-1]
		} else {
			p.Nothing = true
		}
	case signedIn:
		p.NotForRole = true
	case !needed:
		p.Closed = true
	}
	var b bytes.Buffer
	if err := homeTemplate.Execute(&b, p); err != nil {
		h.log.ErrorContext(ctx, "the page cannot be written", "error", err)
		http.Error(w, "the page cannot be written", http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	_, _ = w.Write(b.Bytes())
}

// name is what the programme calls itself; empty where it has not said so.
func (h *home) name(ctx context.Context) string {
	p, err := thwart.ProgrammeOf(ctx, h.store)
	if err != nil {
		return ""
	}
	return p.Name
}

// totals gives a row for each month and one for all of them; none where nothing was recorded.
func (h *home) totals(ctx context.Context) ([]homeRow, error) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.rows != nil && time.Since(h.at) < homeFresh {
		return h.rows, nil
	}
	rows, err := h.store.Totals(ctx, thwart.TotalsQuery{By: "month"})
	if err != nil {
		return nil, err
	}
	out := []homeRow{}
	sum := thwart.Total{Key: "All", ByOutcome: map[thwart.Outcome]int{}}
	for _, t := range rows {
		name := t.Key
		if m, err := time.Parse("2006-01", t.Key); err == nil {
			name = m.Format("January 2006")
		}
		out = append(out, rowOf(name, t))
		sum.Encounters += t.Encounters
		sum.Refused += t.Refused
		sum.Findings += t.Findings
		sum.PassedBy += t.PassedBy
		sum.TallyRefused += t.TallyRefused
		sum.TurnedAway += t.TurnedAway
		sum.Hours += max(t.Hours, 0)
		for o, n := range t.ByOutcome {
			sum.ByOutcome[o] += n
		}
	}
	if len(rows) > 0 {
		out = append(out, rowOf("All", sum))
	}
	h.rows, h.at = out, time.Now()
	return out, nil
}

func outcomeWords() []string {
	var words []string
	for _, o := range thwart.Outcomes {
		word := strings.ReplaceAll(string(o), "_", " ")
		words = append(words, strings.ToUpper(word[:1])+word[1:])
	}
	return words
}

func rowOf(name string, t thwart.Total) homeRow {
	r := homeRow{
		Month: name, Met: count(t.Encounters), Refused: count(t.Refused), Findings: count(t.Findings), PassedBy: count(t.PassedBy),
		TallyRefused: count(t.TallyRefused), TurnedAway: count(t.TurnedAway),
		Hours: "not known",
	}
	judged := 0
	for _, o := range thwart.Outcomes {
		r.Outcomes = append(r.Outcomes, count(t.ByOutcome[o]))
		judged += t.ByOutcome[o]
	}
	r.Other = count(t.Encounters - judged - t.Refused)
	if t.Hours >= 0 {
		r.Hours = count(int(t.Hours + 0.5))
	}
	return r
}

// count writes a whole number with a thin space between thousands.
func count(n int) string {
	if n < 1000 {
		return strconv.Itoa(n)
	}
	return fmt.Sprintf("%s\u202f%03d", count(n/1000), n%1000)
}
