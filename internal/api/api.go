// Package api is the programme's server as phones and browsers meet it: HTTP and JSON over the contracts [thwart.Store] and
// [thwart.Accounts]. It knows no SQL and reads no flags; package server gives it both.
//
// Start with [New] and [API.Handler]. The operations are described by an OpenAPI 3.1 document that is made from the Go types
// (/api/openapi.json) and by a page for people (/api). Every operation is registered through one function that also says who
// may call it; an operation that says nothing may be called by nobody.
//
// Two kinds of caller exist. A browser signs in with a password and holds a cookie. A phone is enrolled once with an invite
// and from then on signs each request with its own Ed25519 key (see [SignRequest]), so that a shift needs no sign-in and a
// stolen request is worth nothing but its repetition, which changes nothing.
package api

import (
	"bytes"
	"context"
	"crypto/ed25519"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humago"

	"thwart"
	"thwart/internal/basemap"
	"thwart/internal/work"
)

// Config is what the API is built from.
type Config struct {
	Store    thwart.Store
	Accounts thwart.Accounts
	// Jobs and Work run long computations; without them there are none.
	Jobs thwart.Jobs
	Work *work.Runner
	// Live is the season that pages, and the jobs of Work, compute with; nil = one of this API's own.
	Live *LiveBook
	// MarkKey gives the key that registrations of a season (a year) are hashed with; nil = there is none.
	MarkKey func(season string) ([]byte, error)
	// SigningKey gives the programme's own key, by which it vouches for its phones' keys; nil = receipts of this programme cannot
	// be read by other phones.
	SigningKey func() (ed25519.PrivateKey, error)
	// NextKey makes the programme a new signing key, keeps it, and gives the one before and the new one; nil = it cannot be changed
	// here. PreviousKey gives the one before, nil where there was none.
	NextKey     func() (before, next ed25519.PrivateKey, err error)
	PreviousKey func() (ed25519.PrivateKey, error)
	// Pictures keeps what photos are of; nil = no pictures are taken.
	Pictures thwart.Pictures
	// Basemap is what the office's maps are drawn over; nil = nothing.
	Basemap *basemap.File
	// Healthy says whether the store can be reached; nil means that it always can.
	Healthy func(context.Context) error
	Version string
	Demo    bool // the records are invented: said in every answer
	// SetupCode lets whoever can read the server's terminal, and nobody else, make the first account.
	SetupCode string
	// Key signs sessions: at least 32 secret bytes, the same on every server of one programme and kept over restarts.
	Key        []byte
	Log        *slog.Logger
	Now        func() time.Time // nil = time.Now
	TrustProxy bool             // the caller's address and scheme are taken from the last X-Forwarded-For and X-Forwarded-Proto
	Rates      Rates
	// EventPoll is how often an event stream looks for entries that another server took; 0 = 2 s.
	EventPoll time.Duration
	Pages     map[string]http.Handler // further pages, by pattern of [http.ServeMux]
}

// Sizes that a request may not pass.
const (
	MaxBatchBytes   = 8 << 20 // of a sync request
	MaxBatchEntries = 500
	MaxBodyBytes    = 1 << 20 // of any other request
	MaxPage         = 1000    // rows of a list
)

// Times that sessions and leases last. The session's two follow the 12 hours and 30 idle minutes that NIST SP 800-63B (2017,
// with updates of 2020), section 4.2.3, asks at its second level; the lease is a week of shifts and is an assumption.
const (
	SessionMax  = 12 * time.Hour
	SessionIdle = 30 * time.Minute
	Lease       = 7 * 24 * time.Hour
	InviteLife  = 72 * time.Hour
)

// API answers requests. It is safe for concurrent use.
type API struct {
	cfg       Config
	mux       *http.ServeMux
	huma      huma.API
	needs     map[string]need
	spec      []byte
	described *described
	metrics   *metrics
	limits    limits
	out       signedOut
	hub       hub
	streams   atomic.Int64
	hashing   chan struct{} // argon2id takes 19 MiB a turn: few at a time
	dummyHash string
	setup     sync.Mutex
	vouching  sync.Mutex     // two phones that enrol at once make one record of the programme's key
	heads     [64]sync.Mutex // corrections of one subject take turns
	joining   sync.Mutex     // a card and its boat are brought together once
	changing  sync.Mutex     // a roster is changed once
	assessing chan struct{}
	importing chan struct{}
	draining  atomic.Bool
	handler   http.Handler
}

// New builds the API. It reads the sign-outs of the last hours from the store, so that a session that was ended stays ended.
func New(ctx context.Context, cfg Config) (*API, error) {
	if cfg.Store == nil || cfg.Accounts == nil {
		return nil, errors.New("api: a store and accounts are needed")
	}
	if len(cfg.Key) < 32 {
		return nil, fmt.Errorf("api: the key has %d bytes; accepted: at least 32 secret bytes", len(cfg.Key))
	}
	if (cfg.Jobs == nil) != (cfg.Work == nil) {
		return nil, errors.New("api: a runner and its queue are given both or neither")
	}
	if cfg.Now == nil {
		cfg.Now = time.Now
	}
	if cfg.Log == nil {
		cfg.Log = slog.New(slog.DiscardHandler)
	}
	if cfg.Version == "" {
		cfg.Version = "dev"
	}
	if cfg.EventPoll <= 0 {
		cfg.EventPoll = 2 * time.Second
	}
	if cfg.Live == nil {
		cfg.Live = NewLiveBook(cfg.Store, cfg.Now)
	}
	a := &API{
		cfg: cfg, mux: http.NewServeMux(), needs: map[string]need{}, metrics: newMetrics(),
		limits: newLimits(cfg.Rates), hashing: make(chan struct{}, 4), assessing: make(chan struct{}, 4), importing: make(chan struct{}, 1),
	}
	a.out.until = map[string]time.Time{}
	a.hub.kick = make(chan struct{})
	var err error
	if a.dummyHash, err = hashPassword("no account has this password"); err != nil {
		return nil, err
	}
	if err := a.readSignOuts(ctx); err != nil {
		return nil, err
	}

	hc := huma.DefaultConfig("Thwart", cfg.Version)
	// No links to schemas in bodies: they cost bytes on a phone and change with the host.
	hc.CreateHooks = nil
	// The document is made once below; the library makes it at the first request, without a lock.
	hc.OpenAPIPath, hc.DocsPath, hc.SchemasPath = "", "", ""
	hc.RejectUnknownQueryParameters = true
	hc.Info.Description = "The records of one programme of inspection and decontamination. Times are RFC 3339 with an offset; " +
		"ids are UUID version 7 in lower case. Errors are problem details (RFC 9457) whose errors name the field, the value and " +
		"what is accepted. Lists go on at next, given as after."
	hc.Components.SecuritySchemes = map[string]*huma.SecurityScheme{
		"session": {Type: "apiKey", In: "cookie", Name: cookieName, Description: "The cookie that POST /api/sign-in sets."},
		"device": {Type: "apiKey", In: "header", Name: HeaderSignature, Description: "Ed25519 signature of an enrolled phone, with " +
			HeaderDevice + " and " + HeaderNow + ", over the lines: " + signedPrefix + ", method, path with query, SHA-256 of the body in hexadecimal, the time as sent."},
	}
	a.huma = humago.New(a.mux, hc)
	a.huma.UseMiddleware(a.withRequest)
	a.routeSync()
	a.routeRead()
	a.routeCorrect()
	a.routeBulk()
	a.routeDrawing()
	a.routeAccounts()
	a.routeEvents()
	a.routeOpenData()
	a.routeSeason()
	a.routeReport()
	a.routeMorning()
	a.routeTraffic()
	a.routeForecasts()
	a.routeWhatIf()
	a.routeJobs()
	a.routePlanning()
	a.routePictures()
	a.routeExport()
	a.routeImports()
	a.routeMarks()
	a.routeKeys()
	a.routeSheets()
	a.routeSkill()
	a.routePractice()
	a.routeCraft()
	a.routeOrganisms()
	a.routeHandbook()
	a.routeBasemap()
	speak(a.huma.OpenAPI().Components.Schemas)
	doc, components := *a.huma.OpenAPI(), *a.huma.OpenAPI().Components
	a.described = describe(components.Schemas)
	components.Schemas, doc.Components = a.described, &components
	if a.spec, err = json.MarshalIndent(&doc, "", " "); err != nil {
		return nil, err
	}
	if err := a.routePages(); err != nil {
		return nil, err
	}
	for pattern, h := range cfg.Pages {
		a.mux.Handle(pattern, named("page", h))
	}
	a.mux.HandleFunc("/", a.nothingHere)

	protect := http.NewCrossOriginProtection()
	protect.SetDenyHandler(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		writeProblem(w, problem(http.StatusForbidden, "a page of another site may not change anything here"))
	}))
	a.handler = a.observe(a.headers(a.limitAddress(protect.Handler(a.authenticate(withETag(a.mux))))))
	return a, nil
}

// Handler gives the API with everything round it: logs, metrics, headers, limits, sign-in.
func (a *API) Handler() http.Handler { return a.handler }

// Drain makes /readyz answer no and ends the event streams, so that a balancer and the pages turn to another server.
func (a *API) Drain() {
	a.draining.Store(true)
	a.hub.notify()
}

// wrote tells whoever waits for news, and has the next page computed with what the office has just written.
func (a *API) wrote() {
	a.cfg.Live.written()
	a.hub.notify()
}

// Operations lists the ids of all registered operations, sorted.
func (a *API) Operations() []string {
	var ids []string
	for id := range a.needs {
		ids = append(ids, id)
	}
	slices.Sort(ids)
	return ids
}

// OpenAPI gives the description of the API as JSON.
func (a *API) OpenAPI() []byte { return bytes.Clone(a.spec) }

// nothingHere answers for every path that has no handler. It tells a wrong method from a wrong path.
func (a *API) nothingHere(w http.ResponseWriter, r *http.Request) {
	setRoute(r.Context(), "none")
	var allow []string
	for _, m := range []string{http.MethodGet, http.MethodPost, http.MethodPut, http.MethodPatch, http.MethodDelete} {
		probe := &http.Request{Method: m, URL: r.URL, Host: r.Host}
		if _, pattern := a.mux.Handler(probe); pattern != "/" && pattern != "" {
			allow = append(allow, m)
		}
	}
	if len(allow) == 0 {
		writeProblem(w, problem(http.StatusNotFound, "there is nothing at this path; /api lists what there is"))
		return
	}
	w.Header().Set("Allow", strings.Join(allow, ", "))
	writeProblem(w, problem(http.StatusMethodNotAllowed, "accepted here: "+strings.Join(allow, ", ")))
}

// readLimited reads a whole body of at most limit bytes.
func readLimited(w http.ResponseWriter, r *http.Request, limit int64) ([]byte, error) {
	b, err := io.ReadAll(http.MaxBytesReader(w, r.Body, limit))
	var tooLarge *http.MaxBytesError
	switch {
	case errors.As(err, &tooLarge):
		p := problem(http.StatusRequestEntityTooLarge, fmt.Sprintf("the body is too large; accepted: at most %d bytes", limit))
		p.Errors = thwart.FieldErrors{{Field: "body", Value: "more than " + fmt.Sprint(limit) + " bytes", Accepted: fmt.Sprintf("at most %d bytes", limit)}}
		return nil, p
	case err != nil:
		return nil, problem(http.StatusBadRequest, "the body broke off; send the request again")
	}
	return b, nil
}
