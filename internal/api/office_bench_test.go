package api_test

import (
	"context"
	"net/http"
	"os"
	"regexp"
	"runtime"
	"strconv"
	"strings"
	"testing"
	"time"

	"thwart"
	"thwart/internal/api"
	"thwart/internal/demo"
	"thwart/internal/demo/demotest"
)

// decade is a store's entries of ten years made of one season: what was made in the field comes again, under new ids, in every year
// and so often in each that there are n encounters. Nothing of it lies anywhere; every entry is written when it is asked for.
type decade struct {
	reference, field []thwart.Kept
	ours             map[string]bool // subjects and entries of the field
	times            int
}

func newDecade(n int) *decade {
	_, all := demotest.Season(demo.Options{Seed: 7, Scale: 1})
	d := &decade{ours: map[string]bool{}}
	encounters := 0
	for _, k := range all {
		if k.Kind.Reference() {
			d.reference = append(d.reference, k)
			continue
		}
		if k.Kind == thwart.KindInspection && k.Supersedes == "" {
			encounters++
		}
		d.ours[k.ID] = true
		d.field = append(d.field, k)
	}
	d.times = max(1, (n+encounters/2)/encounters)
	return d
}

var aUUID = regexp.MustCompile(`[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[0-9a-f]{4}-[0-9a-f]{12}`)

// at gives the entry of a place in the order of arrival.
func (d *decade) at(i int) thwart.Kept {
	if i < len(d.reference) {
		k := d.reference[i]
		k.Cursor = int64(i + 1)
		return k
	}
	copied := (i - len(d.reference)) / len(d.field)
	k := d.field[(i-len(d.reference))%len(d.field)]
	k.Cursor = int64(i + 1)
	if copied == 0 {
		return k
	}
	years := copied % 10
	tag := strconv.FormatInt(int64(0x100000+copied), 16)
	name := func(id string) string {
		if !d.ours[id] {
			return id
		}
		return id[:24] + tag + id[30:]
	}
	k.ID, k.Subject, k.Supersedes = name(k.ID), name(k.Subject), name(k.Supersedes)
	k.MadeAt, k.ReceivedAt = k.MadeAt.AddDate(-years, 0, 0), k.ReceivedAt.AddDate(-years, 0, 0)
	body := aUUID.ReplaceAllStringFunc(string(k.Body), name)
	k.Body = []byte(strings.ReplaceAll(body, `"2026-`, `"`+strconv.Itoa(2026-years)+"-"))
	return k
}

func (d *decade) Changes(_ context.Context, kinds []thwart.Kind, after int64, limit int) (out []thwart.Kept, next int64, err error) {
	next = after
	for i := int(after); i < len(d.reference)+d.times*len(d.field) && len(out) < limit; i++ {
		k := d.at(i)
		next = k.Cursor
		out = append(out, k)
	}
	return out, next, nil
}

func (d *decade) Purges(context.Context) ([]thwart.PurgeReport, error) { return nil, nil }

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
	live := api.NewLiveBook(newDecade(n), nil)
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
