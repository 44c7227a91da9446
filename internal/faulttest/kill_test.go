package faulttest

import (
	"math/rand/v2"
	"net/http"
	"path/filepath"
	"testing"
	"time"

	"thwart/internal/faulttest/badline"
	"thwart/internal/store/storetest"
)

// kills is how often a server is killed while phones hand in records.
const kills = 200

func TestKilledWhileSyncing(t *testing.T) {
	if testing.Short() {
		t.Skip("takes a minute")
	}
	dir := t.TempDir()
	rng := rand.New(rand.NewPCG(1, 1))
	p := begin(t, filepath.Join(dir, "programme.db"), dir, 1)
	phones := p.phones(4)
	stop := p.handIn(phones)
	for range kills {
		time.Sleep(time.Duration(rng.IntN(120)) * time.Millisecond)
		p.servers[0].kill(t)
		p.servers[0].start(t)
	}
	stop()
	p.settle(phones)
}

// Of a hundred requests ten get no answer, half of them after they arrived; ten arrive twice, ten late, five in part.
func TestBadLine(t *testing.T) {
	if testing.Short() {
		t.Skip("takes a while")
	}
	dir := t.TempDir()
	p := begin(t, filepath.Join(dir, "programme.db"), dir, 1)
	phones := p.phones(6)
	var lines []*badline.Line
	for i, ph := range phones {
		l := (&badline.Line{Next: line.Transport, Lost: 5, Unanswered: 5, Twice: 10, Cut: 5, Late: 10, LateBy: time.Second}).Seed(uint64(i), 4)
		ph.line = &http.Client{Timeout: line.Timeout, Transport: l}
		lines = append(lines, l)
	}
	stop := p.handIn(phones)
	time.Sleep(15 * time.Second)
	stop()
	dropped, acked := int64(0), 0
	for i, ph := range phones {
		dropped += lines[i].Drops.Load()
		acked += len(ph.acked)
		ph.line = line
	}
	if dropped < 20 || acked < 500 {
		t.Errorf("%d requests were dropped and %d records acknowledged: too few to show anything", dropped, acked)
	}
	p.settle(phones)
}

// Two servers share one database; each is killed in turn while phones speak to either.
func TestTwoServersOneDatabase(t *testing.T) {
	if testing.Short() {
		t.Skip("takes half a minute")
	}
	rng := rand.New(rand.NewPCG(2, 1))
	p := begin(t, storetest.Postgres(t).DSN(t), t.TempDir(), 2)
	phones := p.phones(4)
	stop := p.handIn(phones)
	for i := range 40 {
		time.Sleep(time.Duration(rng.IntN(200)) * time.Millisecond)
		p.servers[i%2].kill(t)
		p.servers[i%2].start(t)
	}
	stop()
	p.settle(phones)
}
