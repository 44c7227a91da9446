package api_test

import (
	"net/http"
	"os"
	"runtime"
	"strconv"
	"strings"
	"testing"
	"time"

	"thwart/internal/api"
	"thwart/internal/demo"
	"thwart/internal/demo/demotest"
)

// BenchmarkOffice asks a server for what the office's pages show of THWART_BENCH_ROWS encounters, one season where it is not set:
// each once when nothing is computed yet, and again. What stands in the way of the first page of all, reading the records, is
// measured by itself; a server does it when it starts.
func BenchmarkOffice(b *testing.B) {
	n := 15_000
	if text := os.Getenv("THWART_BENCH_ROWS"); text != "" {
		var err error
		if n, err = strconv.Atoi(text); err != nil {
			b.Fatal(err)
		}
	}
	live := api.NewLiveBook(demotest.NewDecade(demo.Options{Seed: 7, Scale: 1}, n), nil)
	w := newWorld(b, func(c *api.Config) { c.Live = live })
	m := w.setup()
	start := time.Now()
	book, err := live.Current(b.Context())
	if err != nil {
		b.Fatal(err)
	}
	took := time.Since(start)
	runtime.GC()
	var mem runtime.MemStats
	runtime.ReadMemStats(&mem)
	b.Logf("%d encounters and %d faults read in %v, %d MB in use", len(book.Encounters), len(book.Faults), took.Round(time.Millisecond), mem.HeapInuse>>20)
	launch := book.Launches[0].Subject
	for _, path := range []string{
		"/api/season", "/api/season?from=2026-05-01&to=2026-09-30", "/api/season?launch=" + launch,
		"/api/season/records?figure=refused", "/api/morning?at=2026-07-04T18:00:00Z", "/api/morning?at=2026-07-05T18:00:00Z", "/api/traffic/arrivals", "/api/traffic/flows", "/api/traffic/risk",
		"/api/traffic/card", "/api/waits", "/api/skill",
	} {
		b.Run(strings.ReplaceAll(strings.TrimPrefix(path, "/api/"), "/", "."), func(b *testing.B) {
			var first, again time.Duration
			ask := func() time.Duration {
				start := time.Now()
				if a := m.do("GET", path, nil); a.status == http.StatusUnprocessableEntity {
					b.Skipf("cannot be asked of so much: %s", a.body) // traffic is of a season or two
				} else if a.status != http.StatusOK {
					b.Fatalf("%s: status %d: %.300s", path, a.status, a.body)
				}
				return time.Since(start)
			}
			for b.Loop() {
				if first == 0 {
					first = ask()
				}
				again = ask()
			}
			b.ReportMetric(float64(first.Milliseconds()), "first_ms")
			b.ReportMetric(float64(again.Milliseconds()), "again_ms")
		})
	}
}
