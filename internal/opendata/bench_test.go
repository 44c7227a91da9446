package opendata

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"sync/atomic"
	"testing"
	"time"

	"thwart"
	"thwart/internal/demo"
)

// many hands out a season's records again and again under new ids and in later years until there are n inspections: a store
// of any size without its disk. Bodies are given typed, so reading JSON is not part of what is measured.
type many struct {
	n    int
	pool map[thwart.Kind][]thwart.Entry
}

func newMany(t testing.TB, n int) *many {
	t.Helper()
	_, entries, err := demo.Generate(demo.Options{Seed: 7, Scale: 0.3})
	if err != nil {
		t.Fatal(err)
	}
	m := &many{n: n, pool: map[thwart.Kind][]thwart.Entry{}}
	last := map[string]int{}
	for e := range entries {
		if i, ok := last[e.Subject]; ok {
			m.pool[e.Kind][i] = e
			continue
		}
		last[e.Subject] = len(m.pool[e.Kind])
		m.pool[e.Kind] = append(m.pool[e.Kind], e)
	}
	return m
}

func (m *many) Each(_ context.Context, kind thwart.Kind, do func(*thwart.Subject, thwart.Body) error) error {
	pool := m.pool[kind]
	bodies := make([]thwart.Body, 0, len(pool))
	kept := make([]thwart.Subject, 0, len(pool))
	for _, e := range pool {
		if e.Removed {
			continue
		}
		b := thwart.NewBody(kind)
		if err := json.Unmarshal(e.Body, b); err != nil {
			return err
		}
		bodies = append(bodies, b)
		kept = append(kept, thwart.Subject{Kept: thwart.Kept{Entry: e}})
	}
	times := 1
	if !kind.Reference() {
		times = m.n/len(m.pool[thwart.KindInspection]) + 1
	}
	done := 0
	for k := range times {
		name := func(id string) string { return fmt.Sprintf("%08x%s", k, id[8:]) }
		for i := range bodies {
			s := kept[i]
			body := bodies[i]
			if k > 0 {
				s.Kept.Subject = name(s.Kept.Subject)
				switch b := body.(type) {
				case *thwart.Encounter:
					c := *b
					c.Shift = name(c.Shift)
					c.Inspection.StartedAt = c.Inspection.StartedAt.AddDate(k%20, 0, 0)
					if c.Inspection.EndedAt != nil {
						end := c.Inspection.EndedAt.AddDate(k%20, 0, 0)
						c.Inspection.EndedAt = &end
					}
					body = &c
				case *thwart.Shift:
					c := *b
					c.From = c.From.AddDate(k%20, 0, 0)
					if c.To != nil {
						end := c.To.AddDate(k%20, 0, 0)
						c.To = &end
					}
					body = &c
				case *thwart.WashDone:
					c := *b
					c.Encounter = name(c.Encounter)
					body = &c
				case *thwart.Tally:
					c := *b
					c.Shift = name(c.Shift)
					body = &c
				}
			}
			if kind == thwart.KindInspection {
				if done++; done > m.n {
					return nil
				}
			}
			if err := do(&s, body); err != nil {
				return err
			}
		}
	}
	return nil
}

// peak samples how much memory is in use until it is stopped.
func peak() (stop func() float64) {
	var most atomic.Uint64
	quit := make(chan struct{})
	go func() {
		for {
			select {
			case <-quit:
				return
			case <-time.After(50 * time.Millisecond):
				var m runtime.MemStats
				runtime.ReadMemStats(&m)
				most.Store(max(most.Load(), m.HeapInuse))
			}
		}
	}()
	return func() float64 { close(quit); return float64(most.Load()) / (1 << 20) }
}

// BenchmarkPublish writes and checks copies of a million inspections, or of THWART_INSPECTIONS.
func BenchmarkPublish(b *testing.B) {
	n := 1_000_000
	if v := os.Getenv("THWART_INSPECTIONS"); v != "" {
		fmt.Sscan(v, &n) //nolint:errcheck // a number or the default
	}
	src := newMany(b, n)
	for _, c := range Copies {
		for _, f := range []Form{DarwinCore, CSV, Parquet} {
			b.Run(fmt.Sprintf("%s/%s", c, f), func(b *testing.B) {
				for b.Loop() {
					name := filepath.Join(b.TempDir(), "out.zip")
					out, err := os.Create(name)
					if err != nil {
						b.Fatal(err)
					}
					runtime.GC()
					stop := peak()
					r, err := Publish(b.Context(), src, options(f, c), out)
					if err != nil {
						b.Fatal(err)
					}
					b.ReportMetric(stop(), "peak-MB")
					info, _ := out.Stat()
					b.ReportMetric(float64(info.Size())/(1<<20), "zip-MB")
					b.ReportMetric(float64(r.Counts.Inspections), "inspections")
					out.Close()     //nolint:errcheck // it is thrown away
					os.Remove(name) //nolint:errcheck // likewise
				}
			})
		}
	}
}
