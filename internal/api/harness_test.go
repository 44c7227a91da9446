package api_test

import (
	"bytes"
	"context"
	"crypto/ed25519"
	"encoding/json"
	"fmt"
	"image"
	"image/png"
	"io"
	"log/slog"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"thwart"
	"thwart/internal/api"
	"thwart/internal/store"
)

const setupCode = "SETUP-CODE1-23456"

var noon = time.Date(2026, 7, 4, 12, 0, 0, 0, time.UTC)

// clock is the server's, moved by hand.
type clock struct {
	mu sync.Mutex
	t  time.Time
}

func (c *clock) Now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	// Every look is a millisecond later, so that two ids are never made in one.
	c.t = c.t.Add(time.Millisecond)
	return c.t
}

func (c *clock) add(d time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.t = c.t.Add(d)
}

// generous rates are for tests that are not about rates.
var generous = api.Rates{
	Address: api.Rate{PerSecond: 1e6, Burst: 1e6}, Caller: api.Rate{PerSecond: 1e6, Burst: 1e6},
	SignIn: api.Rate{PerSecond: 1e6, Burst: 1e6}, PerLogin: api.Rate{PerSecond: 1e6, Burst: 1e6},
}

// world is a server over a real store in a file.
type world struct {
	t     testing.TB
	clock *clock
	store *store.Store
	api   *api.API
	srv   *httptest.Server
	log   *lockedBuffer
	key   []byte
}

type lockedBuffer struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *lockedBuffer) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

func (l *lockedBuffer) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.String()
}

func open(t testing.TB, dsn string, change func(*api.Config)) *world {
	t.Helper()
	w := &world{t: t, clock: &clock{t: noon}, log: &lockedBuffer{}, key: bytes.Repeat([]byte{7}, 32)}
	var err error
	if w.store, err = store.Open(context.Background(), dsn, store.Options{Now: w.clock.Now}); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = w.store.Close() })
	w.serve(change)
	return w
}

func (w *world) serve(change func(*api.Config)) {
	w.t.Helper()
	cfg := api.Config{
		Store: w.store, Accounts: w.store, SetupCode: setupCode, Key: w.key, Now: w.clock.Now, Rates: generous, Pictures: w.store, MarkKey: func(season string) ([]byte, error) { return []byte("the test programme's key of " + season), nil },
		Log: slog.New(slog.NewJSONHandler(w.log, nil)), EventPoll: 50 * time.Millisecond,
	}
	if change != nil {
		change(&cfg)
	}
	var err error
	if w.api, err = api.New(context.Background(), cfg); err != nil {
		w.t.Fatal(err)
	}
	w.srv = httptest.NewServer(w.api.Handler())
	w.t.Cleanup(w.srv.Close)
}

func newWorld(t testing.TB, change func(*api.Config)) *world {
	t.Helper()
	return open(t, filepath.Join(t.TempDir(), "p.db"), change)
}

// browser is a caller with a cookie jar.
type browser struct {
	w      *world
	http   *http.Client
	person string
	header http.Header
}

func (w *world) browser() *browser {
	jar, _ := cookiejar.New(nil)
	return &browser{w: w, http: &http.Client{Jar: jar}, header: http.Header{}}
}

type answer struct {
	status int
	header http.Header
	body   []byte
}

func (a answer) into(t testing.TB, v any) {
	t.Helper()
	if err := json.Unmarshal(a.body, v); err != nil {
		t.Fatalf("%v in %s", err, a.body)
	}
}

func (b *browser) do(method, path string, body any) answer {
	b.w.t.Helper()
	var r io.Reader
	switch v := body.(type) {
	case nil:
	case string:
		r = strings.NewReader(v)
	default:
		text, err := json.Marshal(v)
		if err != nil {
			b.w.t.Fatal(err)
		}
		r = bytes.NewReader(text)
	}
	req, err := http.NewRequest(method, b.w.srv.URL+path, r)
	if err != nil {
		b.w.t.Fatal(err)
	}
	if r != nil {
		req.Header.Set("Content-Type", "application/json")
	}
	for k, v := range b.header {
		req.Header[k] = v
	}
	res, err := b.http.Do(req)
	if err != nil {
		b.w.t.Fatal(err)
	}
	defer res.Body.Close()
	text, err := io.ReadAll(res.Body)
	if err != nil {
		b.w.t.Fatal(err)
	}
	return answer{res.StatusCode, res.Header, text}
}

func (b *browser) want(status int, method, path string, body any) answer {
	b.w.t.Helper()
	a := b.do(method, path, body)
	if a.status != status {
		b.w.t.Fatalf("%s %s: status %d, want %d: %s", method, path, a.status, status, a.body)
	}
	return a
}

type obj = map[string]any

const password = "otter hammock lantern"

// setup makes the manager and gives her browser.
func (w *world) setup() *browser {
	w.t.Helper()
	b := w.browser()
	var me api.SignedIn
	b.want(http.StatusCreated, "POST", "/api/setup", obj{"code": setupCode, "name": "Marit", "login": "marit", "password": password}).into(w.t, &me)
	b.person = me.Person
	return b
}

func (b *browser) create(kind thwart.Kind, body any) string {
	b.w.t.Helper()
	var s thwart.Subject
	b.want(http.StatusCreated, "POST", "/api/subjects", obj{"kind": kind, "body": body}).into(b.w.t, &s)
	return s.Kept.Subject
}

func (b *browser) addPerson(name string, role thwart.Role) string {
	b.w.t.Helper()
	return b.create(thwart.KindPerson, thwart.Person{Name: name, Roles: []thwart.Role{role}})
}

// account makes a person with a sign-in of a role and gives its browser.
func (b *browser) account(login string, role thwart.AccessRole) *browser {
	b.w.t.Helper()
	n := b.w.browser()
	n.person = b.addPerson(login, thwart.RoleSteward)
	b.want(http.StatusCreated, "POST", "/api/accounts", obj{"person": n.person, "login": login, "password": password, "role": role})
	n.want(http.StatusOK, "POST", "/api/sign-in", obj{"login": login, "password": password})
	return n
}

// phone is an enrolled device with a clock of its own.
type phone struct {
	w      *world
	id     string
	person string
	key    ed25519.PrivateKey
	http   *http.Client
	url    string
	ahead  time.Duration // of its clock
	seq    int64
	app    string
}

func (b *browser) enrol(person string, role thwart.AccessRole) *phone {
	b.w.t.Helper()
	var inv struct {
		Code string `json:"code"`
	}
	b.want(http.StatusCreated, "POST", "/api/invites", obj{"person": person, "role": role}).into(b.w.t, &inv)
	pub, key, err := ed25519.GenerateKey(nil)
	if err != nil {
		b.w.t.Fatal(err)
	}
	var d api.DeviceState
	b.w.browser().want(http.StatusCreated, "POST", "/api/enrol", obj{"code": inv.Code, "name": "phone", "publicKey": []byte(pub)}).into(b.w.t, &d)
	return &phone{w: b.w, id: d.Device, person: person, key: key, http: &http.Client{}, url: b.w.srv.URL, app: "1.0.0"}
}

func (p *phone) now() time.Time { return p.w.clock.Now().Add(p.ahead) }

// call signs and sends one request. err is what the line did to it.
func (p *phone) call(method, path string, body []byte) (answer, error) {
	req, err := http.NewRequest(method, p.url+path, bytes.NewReader(body))
	if err != nil {
		return answer{}, err
	}
	if len(body) > 0 {
		req.Header.Set("Content-Type", "application/json")
	}
	api.SignRequest(req, p.id, p.key, p.now(), body)
	res, err := p.http.Do(req)
	if err != nil {
		return answer{}, err
	}
	defer res.Body.Close()
	text, err := io.ReadAll(res.Body)
	return answer{res.StatusCode, res.Header, text}, err
}

func (p *phone) want(status int, method, path string, body []byte) answer {
	p.w.t.Helper()
	a, err := p.call(method, path, body)
	if err != nil {
		p.w.t.Fatal(err)
	}
	if a.status != status {
		p.w.t.Fatalf("%s %s: status %d, want %d: %s", method, path, a.status, status, a.body)
	}
	return a
}

func batchOf(t testing.TB, entries ...any) []byte {
	t.Helper()
	b, err := json.Marshal(obj{"app": "1.0.0", "entries": entries})
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func (p *phone) sync(entries ...any) api.SyncAnswer {
	p.w.t.Helper()
	var ans api.SyncAnswer
	p.want(http.StatusOK, "POST", "/api/sync", batchOf(p.w.t, entries...)).into(p.w.t, &ans)
	if len(ans.Answers) != len(entries) {
		p.w.t.Fatalf("%d answers for %d entries", len(ans.Answers), len(entries))
	}
	return ans
}

// entry makes one of this phone, by this phone's clock.
func (p *phone) entry(kind thwart.Kind, body any) thwart.Entry {
	p.w.t.Helper()
	text, err := json.Marshal(body)
	if err != nil {
		p.w.t.Fatal(err)
	}
	now := p.now()
	p.seq++
	e := thwart.Entry{
		ID: api.NewID(now), Kind: kind, MadeAt: now, Origin: thwart.OriginPhone, Person: p.person, Device: p.id, Seq: p.seq, App: p.app, Body: text,
	}
	e.Subject = e.ID
	return e
}

// season is what an encounter needs to be about.
type season struct{ mussels, clear, launch string }

func (b *browser) season() season {
	b.w.t.Helper()
	var s season
	since := time.Date(2024, 6, 1, 0, 0, 0, 0, time.UTC)
	s.mussels = b.create(thwart.KindWater, thwart.WaterBody{
		Name: "Owlmere Reservoir", Centre: thwart.Point{-39.5, 46.5}, Others: thwart.StatusNotFound,
		Statuses: []thwart.DatedStatus{{Organism: "zebra_mussel", Status: thwart.StatusInfested, From: since}},
	})
	s.clear = b.create(thwart.KindWater, thwart.WaterBody{Name: "Brackenholt Lake", Centre: thwart.Point{-39.6, 46.4}, Others: thwart.StatusNotFound})
	s.launch = b.create(thwart.KindLaunch, thwart.Ramp{Name: "Brackenholt East", Water: s.clear, At: thwart.Point{-39.6, 46.41}, Lanes: 1})
	return s
}

func (p *phone) shift(launch string) thwart.Entry {
	return p.entry(thwart.KindShift, thwart.Shift{Launch: launch, People: []string{p.person}, From: p.now().Add(-time.Hour)})
}

// canoe is an encounter with a clean canoe from a clear water, judged by nobody yet.
func (p *phone) canoe(s season, shift string) thwart.Encounter {
	start := p.now().Add(-5 * time.Minute)
	out := start.Add(-30 * 24 * time.Hour)
	return thwart.Encounter{
		Shift: shift, Protocol: "regional-minimum@1",
		Inspection: thwart.Inspection{
			Launch: s.launch, Water: s.clear, Direction: "launching", StartedAt: start,
			Setup:      thwart.Setup{Class: "canoe_kayak", LengthM: 5, Drives: []thwart.Drive{thwart.DriveHand}, Spaces: []thwart.Space{}, Trailer: thwart.TrailerNone},
			LastWaters: []thwart.Visit{{Water: s.clear, OutAt: &out, Stay: thwart.StayDay}},
			Others:     &thwart.Check{Looked: thwart.Yes, Felt: thwart.Yes, Opened: thwart.Yes, Wet: thwart.WetDry},
		},
	}
}

func problemOf(t testing.TB, a answer) api.Problem {
	t.Helper()
	if ct := a.header.Get("Content-Type"); ct != "application/problem+json" {
		t.Errorf("an error of type %q: %s", ct, a.body)
	}
	var p api.Problem
	a.into(t, &p)
	if p.Status != a.status || p.Title == "" || p.Detail == "" {
		t.Errorf("problem %+v for status %d", p, a.status)
	}
	return p
}

func hasField(p api.Problem, name string) bool {
	for _, e := range p.Errors {
		if e.Field == name && e.Accepted != "" {
			return true
		}
	}
	return false
}

func results(ans api.SyncAnswer) string {
	var s []string
	for _, a := range ans.Answers {
		s = append(s, string(a.Result))
	}
	return fmt.Sprint(s)
}

// onePixel is a PNG of one grey pixel.
var onePixel = func() []byte {
	var b bytes.Buffer
	if err := png.Encode(&b, image.NewGray(image.Rect(0, 0, 1, 1))); err != nil {
		panic(err)
	}
	return b.Bytes()
}()

// picture hands in a picture.
func (p *phone) picture(t testing.TB, b []byte) answer {
	t.Helper()
	return p.want(http.StatusCreated, "POST", "/api/pictures", b)
}
