package faulttest

import (
	"math/rand/v2"
	"path/filepath"
	"testing"
	"time"

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
