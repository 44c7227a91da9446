package server

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"log/slog"
	"math"
	"net/http"
	"net/http/cookiejar"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"thwart"
	"thwart/internal/store"
	"thwart/season/figures"
)

type terminal struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (o *terminal) Write(p []byte) (int, error) {
	o.mu.Lock()
	defer o.mu.Unlock()
	return o.b.Write(p)
}

func (o *terminal) String() string {
	o.mu.Lock()
	defer o.mu.Unlock()
	return o.b.String()
}

// start runs a server until the test ends or stop is called, which gives what Run returned.
func start(t *testing.T, c Config) (url string, out *terminal, stop func() error) {
	t.Helper()
	out = &terminal{}
	ctx, cancel := context.WithCancel(context.Background())
	ready, done := make(chan string, 1), make(chan error, 1)
	c.Addr, c.Out, c.Log = "127.0.0.1:0", out, slog.New(slog.DiscardHandler)
	c.Ready = func(u string) { ready <- u }
	go func() { done <- Run(ctx, c) }()
	stop = sync.OnceValue(func() error { cancel(); return <-done })
	t.Cleanup(func() { _ = stop() })
	select {
	case url = <-ready:
	case err := <-done:
		done <- err
		t.Fatalf("the server did not start: %v", err)
	case <-time.After(time.Minute):
		t.Fatal("the server did not start within a minute")
	}
	return url, out, stop
}

func get(t *testing.T, client *http.Client, url string) (*http.Response, string) {
	t.Helper()
	res, err := client.Get(url)
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	b, err := io.ReadAll(res.Body)
	if err != nil {
		t.Fatal(err)
	}
	return res, string(b)
}

func post(t *testing.T, client *http.Client, url string, body any) (int, string) {
	t.Helper()
	b, err := json.Marshal(body)
	if err != nil {
		t.Fatal(err)
	}
	res, err := client.Post(url, "application/json", bytes.NewReader(b))
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	text, err := io.ReadAll(res.Body)
	if err != nil {
		t.Fatal(err)
	}
	return res.StatusCode, string(text)
}

type obj = map[string]any

func TestProgrammeFromFirstRunToRestart(t *testing.T) {
	dir := t.TempDir()
	url, out, stop := start(t, Config{Dir: dir, Fresh: true})
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	me := &http.Client{Jar: jar}
	res, page := get(t, me, url)
	if res.StatusCode != 200 || !strings.Contains(page, "Not set up yet") || strings.Contains(page, "Demo") || res.Header.Get("X-Thwart-Demo") != "" {
		t.Errorf("status %d: %s", res.StatusCode, page)
	}
	code := regexp.MustCompile(`(?m)^ {4}(\S+)$`).FindStringSubmatch(out.String())
	if code == nil {
		t.Fatalf("no code on the terminal: %q", out)
	}
	account := obj{"code": code[1], "name": "Marit", "login": "marit", "password": "otter hammock lantern"}
	if status, text := post(t, me, url+"/api/setup", account); status != http.StatusCreated {
		t.Fatalf("set-up: %d %s", status, text)
	}
	if _, page := get(t, me, url); !strings.Contains(page, "Nothing has been recorded yet") {
		t.Errorf("signed in: %s", page)
	}
	if _, page := get(t, http.DefaultClient, url); !strings.Contains(page, "people of the programme") {
		t.Errorf("a stranger's page: %s", page)
	}
	if err := stop(); err != nil {
		t.Fatalf("stopping: %v", err)
	}

	// Started again it is the same programme, with the same sessions and no code.
	url2, out2, stop2 := start(t, Config{Dir: dir})
	for _, c := range jar.Cookies(mustParse(t, url)) {
		req, err := http.NewRequest("GET", url2+"/api/me", nil)
		if err != nil {
			t.Fatal(err)
		}
		req.AddCookie(c)
		res, err := http.DefaultClient.Do(req)
		if err != nil {
			t.Fatal(err)
		}
		res.Body.Close()
		if res.StatusCode != http.StatusOK {
			t.Errorf("after the restart: status %d", res.StatusCode)
		}
	}
	if strings.Contains(out2.String(), "code") {
		t.Errorf("a code was printed for a programme that has an account: %q", out2)
	}
	if status, _ := post(t, me, url2+"/api/setup", account); status != http.StatusConflict {
		t.Errorf("set up again: %d", status)
	}
	if err := stop2(); err != nil {
		t.Fatal(err)
	}
	// Neither a demo nor a fresh programme may take its place.
	for name, c := range map[string]Config{
		"demo":  {Dir: dir, Demo: true, DSN: filepath.Join(dir, "programme.db")},
		"fresh": {Dir: dir, Fresh: true},
	} {
		c.Out, c.Log, c.Addr = io.Discard, slog.New(slog.DiscardHandler), "127.0.0.1:0"
		if err := Run(t.Context(), c); err == nil || !strings.Contains(err.Error(), "folder of its own") {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestDemo(t *testing.T) {
	dir := t.TempDir()
	c := Config{Dir: dir, Demo: true, DemoScale: 0.02}
	url, out, stop := start(t, c)
	for _, word := range []string{"DEMO", "marit", "auditor", demoPassword, url} {
		if !strings.Contains(out.String(), word) {
			t.Errorf("the terminal lacks %q: %s", word, out)
		}
	}
	res, page := get(t, http.DefaultClient, url)
	if res.Header.Get("X-Thwart-Demo") == "" {
		t.Error("no X-Thwart-Demo")
	}
	for _, part := range []string{`<p class="demo" role="note"><strong>Demo.</strong>`, "<title>Demo: ", "Withy Lakes", "July 2026", `<html lang="en">`, "<caption>", `<th scope="row">All</th>`} {
		if !strings.Contains(page, part) {
			t.Errorf("the page lacks %q", part)
		}
	}
	if strings.Contains(page, "<script") || strings.Contains(page, "style=") {
		t.Error("the page needs more than HTML and its style sheet")
	}
	for _, d := range demoAccounts {
		jar, err := cookiejar.New(nil)
		if err != nil {
			t.Fatal(err)
		}
		b := &http.Client{Jar: jar}
		if status, text := post(t, b, url+"/api/sign-in", obj{"login": d.login, "password": demoPassword}); status != 200 || !strings.Contains(text, string(d.role)) || !strings.Contains(text, `"demo":true`) {
			t.Errorf("%s: %d %s", d.login, status, text)
		}
	}
	if err := stop(); err != nil {
		t.Fatal(err)
	}
	before := count0(t, filepath.Join(dir, "demo.db"))
	// A second start adds nothing, and an interrupted first one is gone on with to the same state.
	_, _, stop = start(t, c)
	if err := stop(); err != nil {
		t.Fatal(err)
	}
	if after := count0(t, filepath.Join(dir, "demo.db")); after != before {
		t.Errorf("%d entries after a second start, %d before", after, before)
	}
	other := t.TempDir()
	cut, cancel := context.WithCancel(t.Context())
	s, err := store.Open(cut, filepath.Join(other, "demo.db"), store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	time.AfterFunc(150*time.Millisecond, cancel)
	part := c
	part.DemoSeed, part.Log = 1, slog.New(slog.DiscardHandler)
	cutErr := part.fillDemo(cut, s)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	c.Dir = other
	_, _, stop = start(t, c)
	if err := stop(); err != nil {
		t.Fatal(err)
	}
	if got := count0(t, filepath.Join(other, "demo.db")); got != before {
		t.Errorf("%d entries after a start that was cut off (%v), %d without", got, cutErr, before)
	}
	if err := Run(t.Context(), Config{Dir: dir, DSN: filepath.Join(dir, "demo.db"), Out: io.Discard, Log: slog.New(slog.DiscardHandler)}); err == nil || !strings.Contains(err.Error(), "invented") {
		t.Errorf("the demo opened as a programme: %v", err)
	}
}

// count0 counts entries and insists that everything holds together.
func count0(t *testing.T, path string) int64 {
	t.Helper()
	s, err := store.Open(t.Context(), path, store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	rep, err := s.Check(t.Context())
	if err != nil || len(rep.Faults) > 0 {
		t.Errorf("check: %d faults, %.300q, %v", len(rep.Faults), rep.Faults, err)
	}
	return rep.Entries
}

func TestUnsafeSettingsAreRefused(t *testing.T) {
	dir := t.TempDir()
	open := filepath.Join(dir, "open")
	if err := os.MkdirAll(open, 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(open, "server.key"), make([]byte, 32), 0o644); err != nil { //nolint:gosec // the fault under test
		t.Fatal(err)
	}
	short := filepath.Join(dir, "short")
	if err := os.MkdirAll(short, 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(short, "server.key"), []byte("x"), 0o600); err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		config Config
		says   string
	}{
		"every network, no encryption": {Config{Addr: ":0", Dir: dir}, "addr"},
		"a network, no encryption":     {Config{Addr: "192.0.2.7:80", Dir: dir}, "addr"},
		"a name of a network":          {Config{Addr: "ramp.example:80", Dir: dir}, "addr"},
		"no port":                      {Config{Addr: "localhost", Dir: dir}, "addr"},
		"a certificate without key":    {Config{TLSCert: "x.pem", Dir: dir}, "tls"},
		"demo and fresh":               {Config{Demo: true, Fresh: true, Dir: dir}, "fresh"},
		"a weak key":                   {Config{Key: []byte("secret"), Dir: dir}, "key"},
		"a key that others can read":   {Config{Dir: open}, "chmod 600"},
		"a key file that is too short": {Config{Dir: short}, "32 secret bytes"},
		"a database of another kind":   {Config{Dir: dir, DSN: "mysql://x"}, "accepted"},
	} {
		c.config.Out, c.config.Log = io.Discard, slog.New(slog.DiscardHandler)
		if err := Run(t.Context(), c.config); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v does not say %q", name, err, c.says)
		}
	}
}

func TestKeyFileIsPrivateAndKept(t *testing.T) {
	path := filepath.Join(t.TempDir(), "server.key")
	one, err := readKey(path)
	if err != nil {
		t.Fatal(err)
	}
	two, err := readKey(path)
	if err != nil || !bytes.Equal(one, two) || len(one) != 32 {
		t.Errorf("%d bytes, kept: %t, %v", len(one), bytes.Equal(one, two), err)
	}
	info, err := os.Stat(path)
	if err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("mode %v, %v", info.Mode(), err)
	}
}

// TestShutdownLetsRequestsFinish stops the server while a sign-in is being hashed.
func TestShutdownLetsRequestsFinish(t *testing.T) {
	url, _, stop := start(t, Config{Dir: t.TempDir()})
	began := make(chan struct{})
	got := make(chan int, 1)
	go func() {
		r, w := io.Pipe()
		go func() {
			_, _ = io.WriteString(w, `{"login":"nobody",`)
			close(began)
			time.Sleep(200 * time.Millisecond)
			_, _ = io.WriteString(w, `"password":"wrong wrong wrong"}`)
			_ = w.Close()
		}()
		res, err := http.Post(url+"/api/sign-in", "application/json", r)
		if err != nil {
			t.Error(err)
			got <- 0
			return
		}
		res.Body.Close()
		got <- res.StatusCode
	}()
	<-began
	time.Sleep(50 * time.Millisecond)
	if err := stop(); err != nil {
		t.Errorf("stopping: %v", err)
	}
	if status := <-got; status != http.StatusUnauthorized {
		t.Errorf("the request in hand was answered %d", status)
	}
	if _, err := http.Get(url + "/healthz"); err == nil {
		t.Error("the server still answers")
	}
}

func TestCountsAreReadable(t *testing.T) {
	for n, want := range map[int]string{0: "0", 999: "999", 1000: "1\u202f000", 15234: "15\u202f234", 1000007: "1\u202f000\u202f007"} {
		if got := count(n); got != want {
			t.Errorf("count(%d) = %q, want %q", n, got, want)
		}
	}
	r := rowOf("x", thwart.Total{Encounters: 5, ByOutcome: map[thwart.Outcome]int{thwart.Wash: 2}, Refused: 1, Hours: -1})
	if r.Hours != "not known" || r.Other != "2" || r.Refused != "1" {
		t.Errorf("%+v", r)
	}
}

// TestHoldIsOneNumber: the first page, the totals, the ledger and the season book count the same craft as held, refusals among none.
func TestHoldIsOneNumber(t *testing.T) {
	url, _, _ := start(t, Config{Dir: t.TempDir(), Demo: true, DemoScale: 0.3})
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	b := &http.Client{Jar: jar}
	post(t, b, url+"/api/sign-in", obj{"login": demoAccounts[0].login, "password": demoPassword})
	read := func(path string, into any) {
		t.Helper()
		if _, text := get(t, b, url+path); json.Unmarshal([]byte(text), into) != nil {
			t.Fatalf("%s: %.300s", path, text)
		}
	}
	var season figures.Season
	var totals, byOutcome struct{ Items []thwart.Total }
	var ledger struct{ Encounters int }
	var behind figures.Behind
	read("/api/season", &season)
	read("/api/totals", &totals)
	read("/api/totals?by=outcome", &byOutcome)
	read("/api/encounters/count?outcome=hold", &ledger)
	read("/api/season/records?figure=outcome_hold", &behind)
	hold, sum := season.Get("outcome_hold").X, totals.Items[0]
	if hold == 0 || sum.Refused == 0 {
		t.Fatalf("%d held and %d refused: nothing is told apart", hold, sum.Refused)
	}
	row := sum.Encounters - sum.Refused
	for _, o := range thwart.Outcomes {
		row -= sum.ByOutcome[o]
	}
	if got, want := season.Get("stopped").X, sum.Encounters-sum.Refused-row-sum.ByOutcome[thwart.Launch]; got != want {
		t.Errorf("%d stopped, the totals %d", got, want)
	}
	_, page := get(t, b, url)
	cells := regexp.MustCompile(`<th scope="row">All</th>((?:<td class="n">[^<]*</td>)*)`).FindStringSubmatch(page)
	shown := regexp.MustCompile(`<td class="n">([^<]*)</td>`).FindAllStringSubmatch(cells[1], -1)
	byKey := map[string]int{}
	for _, r := range byOutcome.Items {
		byKey[r.Key] = r.Encounters
	}
	for where, got := range map[string]int{
		"totals": sum.ByOutcome[thwart.Hold], "totals by outcome": byKey["hold"], "the ledger's filter": ledger.Encounters, "the records behind the figure": len(behind.IDs),
	} {
		if got != hold {
			t.Errorf("%s: %d held, the season book %d", where, got, hold)
		}
	}
	if byKey[thwart.TotalRefused] != sum.Refused || byKey[""] != row {
		t.Errorf("by outcome %v; %d refused, %d not judged", byKey, sum.Refused, row)
	}
	for i, want := range map[int]int{5: hold, 6: row, 7: sum.Refused} {
		if shown[i][1] != count(want) {
			t.Errorf("the first page's cell %d says %s, want %s", i, shown[i][1], count(want))
		}
	}
}

// TestColoursCanBeRead recomputes the contrast of the page's text colours on its paper by WCAG 2.2, definition of contrast
// ratio (https://www.w3.org/TR/WCAG22/#dfn-contrast-ratio); AA asks 4.5 of text.
func TestColoursCanBeRead(t *testing.T) {
	css, err := os.ReadFile("../api/paper.css")
	if err != nil {
		t.Fatal(err)
	}
	colour := map[string]string{}
	for _, m := range regexp.MustCompile(`--(\w+): (#[0-9A-F]{6})`).FindAllStringSubmatch(string(css), -1) {
		colour[m[1]] = m[2]
	}
	for name, want := range map[string]float64{"ink": 15.8, "lake": 7.1, "madder": 7.0, "slate": 6.8} {
		got := (luminance(t, colour["paper"]) + 0.05) / (luminance(t, colour[name]) + 0.05)
		if math.Abs(got-want) > 0.06 || got < 4.5 {
			t.Errorf("%s on paper %.2f, want %.1f as the style sheet says", name, got, want)
		}
	}
}

func luminance(t *testing.T, hex string) float64 {
	t.Helper()
	n, err := strconv.ParseUint(strings.TrimPrefix(hex, "#"), 16, 32)
	if err != nil {
		t.Fatal(err)
	}
	linear := func(c uint64) float64 {
		s := float64(c&0xff) / 255
		if s <= 0.04045 {
			return s / 12.92
		}
		return math.Pow((s+0.055)/1.055, 2.4)
	}
	return 0.2126*linear(n>>16) + 0.7152*linear(n>>8) + 0.0722*linear(n)
}
