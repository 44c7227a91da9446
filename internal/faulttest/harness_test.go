package faulttest

import (
	"bufio"
	"bytes"
	"context"
	"crypto/ed25519"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"net"
	"net/http"
	"net/http/cookiejar"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"thwart"
	"thwart/internal/api"
	"thwart/internal/store"
)

var binary string // the program as it is shipped

func TestMain(m *testing.M) {
	os.Exit(func() int {
		dir, err := os.MkdirTemp("", "thwart-fault-")
		if err != nil {
			fmt.Fprintln(os.Stderr, err)
			return 1
		}
		defer os.RemoveAll(dir) //nolint:errcheck // scratch
		binary = filepath.Join(dir, "thwart")
		build := exec.Command("go", "build", "-o", binary, "thwart/cmd/thwart")
		if out, err := build.CombinedOutput(); err != nil {
			fmt.Fprintf(os.Stderr, "%v: %s\n", err, out)
			return 1
		}
		return m.Run()
	}())
}

// server is one process of the program at an address of its own that it keeps when it is started again.
type server struct {
	url  string
	args []string
	cmd  *exec.Cmd
	log  bytes.Buffer
	code string // for the first account, where there is none yet
}

var codeLine = regexp.MustCompile(`^ {4}(\S+)$`)

// start runs the process and waits until it answers.
func (s *server) start(t testing.TB) {
	t.Helper()
	s.cmd = exec.Command(binary, s.args...)
	s.cmd.Stderr = &s.log
	out, err := s.cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := s.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	for lines := bufio.NewScanner(out); lines.Scan(); {
		if m := codeLine.FindStringSubmatch(lines.Text()); m != nil {
			s.code = m[1]
		}
		if strings.HasPrefix(lines.Text(), "Open ") {
			go io.Copy(io.Discard, out) //nolint:errcheck // ends with the process
			return
		}
	}
	t.Fatalf("the server did not start: %v: %s", s.cmd.Wait(), s.log.String())
}

// kill ends the process as a power cut would, from the process's point of view: with nothing said beforehand.
func (s *server) kill(t testing.TB) {
	t.Helper()
	if err := s.cmd.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	_ = s.cmd.Wait() // says that it was killed
}

// programme is what phones hand records to: one or more servers over one store.
type programme struct {
	t       testing.TB
	dsn     string
	servers []*server
	office  *http.Client
	launch  string
	lost    atomic.Int64 // requests without an answer
}

// begin sets a programme up at an empty store: the manager's account, a water and a launch.
func begin(t testing.TB, dsn, dir string, servers int) *programme {
	t.Helper()
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	p := &programme{t: t, dsn: dsn, office: &http.Client{Jar: jar}}
	for range servers {
		l, err := net.Listen("tcp", "127.0.0.1:0")
		if err != nil {
			t.Fatal(err)
		}
		addr := l.Addr().String()
		if err := l.Close(); err != nil {
			t.Fatal(err)
		}
		s := &server{url: "http://" + addr, args: []string{"serve", "--addr", addr, "--dir", dir, "--store", dsn, "--log", "error"}}
		p.servers = append(p.servers, s)
		s.start(t)
		t.Cleanup(func() { s.kill(t) })
	}
	// A server that started on the empty store knows a code; the account made with one ends the other's.
	p.ask("/api/setup", map[string]any{"code": p.servers[0].code, "name": "Marit", "login": "marit", "password": "otter hammock lantern"}, nil)
	water := p.subject(thwart.KindWater, thwart.WaterBody{Name: "Brackenholt Lake", Centre: thwart.Point{-39.6, 46.4}, Others: thwart.StatusNotFound})
	p.launch = p.subject(thwart.KindLaunch, thwart.Ramp{Name: "Brackenholt East", Water: water, At: thwart.Point{-39.6, 46.41}, Lanes: 1})
	return p
}

func (p *programme) ask(path string, body, answer any) {
	p.t.Helper()
	text, err := json.Marshal(body)
	if err != nil {
		p.t.Fatal(err)
	}
	res, err := p.office.Post(p.servers[0].url+path, "application/json", bytes.NewReader(text))
	if err != nil {
		p.t.Fatal(err)
	}
	defer res.Body.Close() //nolint:errcheck // it was read
	said, err := io.ReadAll(res.Body)
	if err != nil || res.StatusCode != http.StatusCreated {
		p.t.Fatalf("%s: %v, status %d: %s", path, err, res.StatusCode, said)
	}
	if answer != nil {
		if err := json.Unmarshal(said, answer); err != nil {
			p.t.Fatal(err)
		}
	}
}

func (p *programme) subject(kind thwart.Kind, body any) string {
	p.t.Helper()
	var s thwart.Subject
	p.ask("/api/subjects", map[string]any{"kind": kind, "body": body}, &s)
	return s.Kept.Subject
}

// phone is an enrolled device that keeps what it has made until it was told that it is kept.
type phone struct {
	id, person, shift string
	key               ed25519.PrivateKey
	rng               *rand.Rand
	seq               int64
	line              *http.Client
	outbox            []thwart.Entry
	acked             []thwart.Entry
}

func (p *programme) phones(n int) []*phone {
	p.t.Helper()
	var out []*phone
	for i := range n {
		ph := &phone{line: line, rng: rand.New(rand.NewPCG(uint64(i), 7))}
		ph.person = p.subject(thwart.KindPerson, thwart.Person{Name: fmt.Sprintf("Steward %d", i), Roles: []thwart.Role{thwart.RoleSteward}})
		var invite struct {
			Code string `json:"code"`
		}
		p.ask("/api/invites", map[string]any{"person": ph.person, "role": thwart.AccessSteward}, &invite)
		pub, key, err := ed25519.GenerateKey(nil)
		if err != nil {
			p.t.Fatal(err)
		}
		ph.key = key
		var d api.DeviceState
		p.ask("/api/enrol", map[string]any{"code": invite.Code, "name": "phone", "publicKey": []byte(pub)}, &d)
		ph.id = d.Device
		ph.shift = ph.entry(p.t, thwart.KindShift, thwart.Shift{Launch: p.launch, People: []string{ph.person}, From: time.Now().Add(-time.Hour)})
		out = append(out, ph)
	}
	return out
}

// entry makes a record and puts it into the outbox.
func (ph *phone) entry(t testing.TB, kind thwart.Kind, body any) string {
	text, err := json.Marshal(body)
	if err != nil {
		t.Error(err)
	}
	now := time.Now()
	ph.seq++
	id := api.NewID(now)
	ph.outbox = append(ph.outbox, thwart.Entry{
		ID: id, Kind: kind, Subject: id, MadeAt: now, Origin: thwart.OriginPhone, Person: ph.person, Device: ph.id, Seq: ph.seq, App: "1", Body: text,
	})
	return id
}

// line is how phones reach the servers: a connection a request, as after a dead spot.
var line = &http.Client{Timeout: 10 * time.Second, Transport: &http.Transport{DisableKeepAlives: true}}

// send hands in what is waiting, sometimes with what was acknowledged before, in any order. Whatever was not acknowledged
// stays in the outbox.
func (ph *phone) send(t testing.TB, url string) error {
	batch := slices.Clone(ph.outbox[:min(len(ph.outbox), 40)])
	if len(ph.acked) > 0 && ph.rng.IntN(3) == 0 {
		batch = append(batch, ph.acked[ph.rng.IntN(len(ph.acked))])
	}
	if ph.rng.IntN(3) == 0 {
		ph.rng.Shuffle(len(batch), func(i, j int) { batch[i], batch[j] = batch[j], batch[i] })
	}
	now := time.Now()
	body, err := json.Marshal(map[string]any{"app": "1", "entries": batch})
	if err != nil {
		return err
	}
	req, err := http.NewRequest(http.MethodPost, url+"/api/sync", bytes.NewReader(body))
	if err != nil {
		return err
	}
	req.Header.Set("Content-Type", "application/json")
	api.SignRequest(req, ph.id, ph.key, now, body)
	res, err := ph.line.Do(req)
	if err != nil {
		return err
	}
	defer res.Body.Close() //nolint:errcheck // it was read
	said, err := io.ReadAll(res.Body)
	if err != nil {
		return err
	}
	switch {
	case res.StatusCode == http.StatusTooManyRequests, res.StatusCode >= 500:
		return fmt.Errorf("status %d: %s", res.StatusCode, said)
	case res.StatusCode != http.StatusOK:
		t.Errorf("a batch met status %d: %s", res.StatusCode, said)
		return errors.New("refused")
	}
	var ans api.SyncAnswer
	if err := json.Unmarshal(said, &ans); err != nil {
		return err
	}
	for i, a := range ans.Answers {
		if a.Result != thwart.Stored && a.Result != thwart.Had {
			t.Errorf("an entry was refused: %+v", a)
			continue
		}
		if at := slices.IndexFunc(ph.outbox, func(e thwart.Entry) bool { return e.ID == batch[i].ID }); at >= 0 {
			ph.acked = append(ph.acked, ph.outbox[at])
			ph.outbox = slices.Delete(ph.outbox, at, at+1)
		}
	}
	return nil
}

// handIn lets all phones work at once until stop is called.
func (p *programme) handIn(phones []*phone) (stop func()) {
	ctx, cancel := context.WithCancel(context.Background())
	var all sync.WaitGroup
	for _, ph := range phones {
		all.Go(func() {
			for ctx.Err() == nil {
				for range 1 + ph.rng.IntN(12) {
					ph.entry(p.t, thwart.KindTally, thwart.Tally{Shift: ph.shift, At: time.Now(), PassedBy: 1 + ph.rng.IntN(4)})
				}
				if err := ph.send(p.t, p.servers[ph.rng.IntN(len(p.servers))].url); err != nil {
					p.lost.Add(1)
				}
				time.Sleep(time.Duration(ph.rng.IntN(100)) * time.Millisecond)
			}
		})
	}
	return func() { cancel(); all.Wait() }
}

// settle hands in what is left, then looks at the store itself: every acknowledged record once, as it was sent, no other, and
// everything that is read off them in agreement.
func (p *programme) settle(phones []*phone) {
	p.t.Helper()
	want := map[string]string{}
	for _, ph := range phones {
		for failed := 0; len(ph.outbox) > 0; { // in a row: a long outbox is also told to wait its turn now and then
			err := ph.send(p.t, p.servers[0].url)
			if err == nil {
				failed = 0
				continue
			}
			if failed++; failed > 100 {
				p.t.Fatal(err)
			}
			time.Sleep(100 * time.Millisecond)
		}
		for _, e := range ph.acked {
			want[e.ID] = e.Sum()
		}
	}
	ctx := context.Background()
	s, err := store.Open(ctx, p.dsn, store.Options{ReadOnly: true})
	if err != nil {
		p.t.Fatal(err)
	}
	defer s.Close() //nolint:errcheck // it was only read
	found := map[string]int{}
	var after int64
	for {
		page, next, err := s.Changes(ctx, []thwart.Kind{thwart.KindTally, thwart.KindShift}, after, 1000)
		if err != nil {
			p.t.Fatal(err)
		}
		for _, k := range page {
			found[k.ID]++
			if sum, ok := want[k.ID]; !ok || sum != k.Sum() {
				p.t.Errorf("%s %s is kept and was not sent so", k.Kind, k.ID)
			}
		}
		if len(page) == 0 {
			break
		}
		after = next
	}
	for id := range want {
		if found[id] != 1 {
			p.t.Errorf("%s was acknowledged and is kept %d times", id, found[id])
		}
	}
	report, err := s.Check(ctx)
	if err != nil || len(report.Faults) > 0 {
		p.t.Errorf("check: %v %v", err, report.Faults)
	}
	p.t.Logf("%d records acknowledged, %d requests without an answer", len(want), p.lost.Load())
	if len(want) < 100 || p.lost.Load() == 0 {
		p.t.Error("too little happened for this to say anything")
	}
}
