package store

import (
	"context"
	"database/sql"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"thwart"
	"thwart/internal/store/storetest"
)

// benchRows is how many encounters the season of the benchmarks has.
func benchRows(b *testing.B) int {
	text := os.Getenv("THWART_BENCH_ROWS")
	if text == "" {
		return 100_000
	}
	n, err := strconv.Atoi(text)
	if err != nil || n < 1000 {
		b.Fatalf("THWART_BENCH_ROWS=%q: accepted: a number from 1000", text)
	}
	return n
}

func bothB(b *testing.B, run func(b *testing.B, dsn string)) {
	b.Run("sqlite", func(b *testing.B) { run(b, filepath.Join(b.TempDir(), "a.db")) })
	b.Run("postgres", func(b *testing.B) { run(b, storetest.Postgres(b).DSN(b)) })
}

// feeder makes a season of encounters as large as phones send them, one after the other, spread over many days.
type feeder struct {
	w     *storetest.World
	shift string
	left  int
}

func newFeeder(seed uint64) *feeder {
	f := &feeder{w: storetest.NewWorld(seed)}
	f.w.Places(200, 200, 100)
	return f
}

func (f *feeder) places() []thwart.Kept { return f.w.Entries }

// next gives one encounter, with its shift before it where a new one begins.
func (f *feeder) next(out []thwart.Kept) []thwart.Kept {
	if f.left == 0 {
		s := f.w.Raw(thwart.KindShift, f.w.ShiftBody())
		f.shift, f.left = s.ID, 12
		out = append(out, s)
	}
	f.left--
	e := f.w.EncounterBody(f.shift)
	for i := range 12 {
		e.Inspection.Checks = append(e.Inspection.Checks, thwart.Check{
			Place: fmt.Sprint("place-", i), Looked: thwart.Yes, Felt: thwart.Yes, Wet: thwart.WetDry, Seconds: float64(i),
		})
	}
	if e.Verdict != nil {
		for i := range 4 {
			e.Verdict.Reasons = append(e.Verdict.Reasons, thwart.Reason{
				Code: thwart.ReasonHiddenWet, Outcome: e.Verdict.Outcome, Place: fmt.Sprint("place-", i),
				Text: "It cannot be seen into and held water: it counts as wet until it has been dried.",
			})
		}
	}
	return append(out, f.w.Raw(thwart.KindInspection, e))
}

const benchBatch = 100 // what a phone sends at once

// BenchmarkPut keeps batches of 100, and then writes the very same rows into the same tables with the same indexes, batch by
// batch in transactions of the same length, through the same driver: once row by row with prepared statements, once with
// up to 64 rows in a statement. The share is raw time over the store's time.
func BenchmarkPut(b *testing.B) {
	bothB(b, func(b *testing.B, dsn string) {
		ctx := context.Background()
		s := openTest(b, dsn)
		f := newFeeder(1)
		storetest.MustPut(b, s, f.places()...)
		var batches [][]thwart.Kept
		for range max(b.N/benchBatch, 20) {
			var batch []thwart.Kept
			for len(batch) < benchBatch {
				batch = f.next(batch)
			}
			batches = append(batches, batch)
		}
		n := 0
		b.ResetTimer()
		start := time.Now()
		for _, batch := range batches {
			if _, err := s.Put(ctx, batch); err != nil {
				b.Fatal(err)
			}
			n += len(batch)
		}
		ours := time.Since(start)
		b.StopTimer()
		b.ReportMetric(float64(n)/ours.Seconds(), "entries/s")
		b.ReportMetric(float64(ours.Nanoseconds())/float64(n), "ns/entry")
		start = time.Now()
		for _, batch := range batches {
			if _, err := s.Put(ctx, batch); err != nil {
				b.Fatal(err)
			}
		}
		b.ReportMetric(float64(n)/time.Since(start).Seconds(), "again/s")

		rows := readBatches(b, s, batches)
		for name, many := range map[string]bool{"share_of_row_by_row": false, "share_of_many_rows": true} {
			other := filepath.Join(b.TempDir(), "raw.db")
			if s.d == &postgresDialect {
				other = storetest.Postgres(b).DSN(b)
			}
			r := openTest(b, other)
			storetest.MustPut(b, r, f.places()...)
			start := time.Now()
			for _, batch := range rows {
				if err := r.inWrite(ctx, "raw", func(ctx context.Context, w work) error { return writeRaw(ctx, w, batch, many) }); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(time.Since(start).Seconds()/ours.Seconds(), name)
		}
	})
}

var rawTables = []struct {
	into    table
	name    string
	columns string
}{
	{intoEntries, "entries", entryColumns}, {intoSubjects, "subjects", subjectColumns}, {intoEncounters, "encounters", encounterColumns},
	{intoShifts, "shifts", shiftColumns},
}

// readBatches gives the rows that batches became, table by table.
func readBatches(b *testing.B, s *Store, batches [][]thwart.Kept) [][4][]any {
	rows := make([][4][]any, len(batches))
	for i, batch := range batches {
		var ids []string
		for _, k := range batch {
			ids = append(ids, k.ID)
		}
		err := s.inRead(context.Background(), "benchmark", func(w work) error {
			for t, table := range rawTables {
				key, order := "subject", ""
				if table.name == "entries" {
					key, order = "id", " ORDER BY cursor"
				}
				n := table.into.width
				err := inList(context.Background(), w, "SELECT "+table.columns+" FROM "+table.name+" WHERE "+key, ids, order, func(r *sql.Rows) error {
					values, dest := make([]any, n), make([]any, n)
					for i := range values {
						dest[i] = &values[i]
					}
					err := r.Scan(dest...)
					rows[i][t] = append(rows[i][t], values...)
					return err
				})
				if err != nil {
					return err
				}
			}
			return nil
		})
		if err != nil {
			b.Fatal(err)
		}
	}
	return rows
}

func writeRaw(ctx context.Context, w work, batch [4][]any, many bool) error {
	for t, table := range rawTables {
		if many {
			if err := table.into.add(ctx, manyRows{w}, batch[t]); err != nil {
				return err
			}
			continue
		}
		for row := range slices.Chunk(batch[t], table.into.width) {
			if _, err := w.exec(ctx, table.into.texts[1], row...); err != nil {
				return err
			}
		}
	}
	return nil
}

// manyRows adds many rows in one statement, whatever the database.
type manyRows struct{ work }

func (manyRows) rows() []int { return chunks }

// BenchmarkSeason asks a season of THWART_BENCH_ROWS encounters (100,000 where it is not set) what an office asks.
func BenchmarkSeason(b *testing.B) {
	bothB(b, func(b *testing.B, dsn string) {
		ctx := context.Background()
		n := benchRows(b)
		s := openTest(b, dsn)
		f := newFeeder(2)
		storetest.MustPut(b, s, f.places()...)
		var subjects []string
		first := f.w.Raw(thwart.KindTrial, nil).MadeAt
		start := time.Now()
		for done := 0; done < n; {
			var batch []thwart.Kept
			for range 500 {
				batch = f.next(batch)
			}
			done += 500
			if _, err := s.Put(ctx, batch); err != nil {
				b.Fatal(err)
			}
			subjects = append(subjects, batch[len(batch)-1].ID)
		}
		b.Logf("%d encounters put in %v", n, time.Since(start).Round(time.Millisecond))
		last := f.w.Raw(thwart.KindTrial, nil).MadeAt
		if s.d == &postgresDialect {
			if _, err := s.read.Exec("ANALYZE"); err != nil {
				b.Fatal(err)
			}
		}
		size := size(b, s)
		start = time.Now()
		storetest.MustBeWhole(b, s)
		b.Logf("checked in %v", time.Since(start).Round(time.Millisecond))
		start = time.Now()
		if _, err := s.Backup(ctx, filepath.Join(b.TempDir(), "backup")); err != nil {
			b.Fatal(err)
		}
		b.Logf("backed up and verified in %v", time.Since(start).Round(time.Millisecond))
		if len(f.w.Launches) == 0 || !last.After(first) {
			b.Fatal("no season")
		}
		rng := rand.New(rand.NewPCG(1, 1))
		pick := func(list []string) string { return list[rng.IntN(len(list))] }
		sometime := func() time.Time { return first.Add(time.Duration(rng.Int64N(int64(last.Sub(first))))) }
		for name, ask := range map[string]func() error{
			"page/at": func() error {
				_, err := s.Encounters(ctx, thwart.EncounterQuery{To: sometime()})
				return err
			},
			"page/launch": func() error {
				_, err := s.Encounters(ctx, thwart.EncounterQuery{Launch: pick(f.w.Launches), To: sometime()})
				return err
			},
			"page/steward": func() error {
				_, err := s.Encounters(ctx, thwart.EncounterQuery{Steward: pick(f.w.People)})
				return err
			},
			"page/outcome": func() error {
				_, err := s.Encounters(ctx, thwart.EncounterQuery{Outcome: thwart.Hold, To: sometime()})
				return err
			},
			"page/flagged":      func() error { _, err := s.Encounters(ctx, thwart.EncounterQuery{Flagged: true}); return err },
			"page/sort_outcome": func() error { _, err := s.Encounters(ctx, thwart.EncounterQuery{Sort: "-outcome"}); return err },
			"page/sort_seconds": func() error { _, err := s.Encounters(ctx, thwart.EncounterQuery{Sort: "-seconds"}); return err },
			"page/sort_class":   func() error { _, err := s.Encounters(ctx, thwart.EncounterQuery{Sort: "class"}); return err },
			"page/sort_launch":  func() error { _, err := s.Encounters(ctx, thwart.EncounterQuery{Sort: "launch"}); return err },
			"subject":           func() error { _, err := s.Subject(ctx, pick(subjects)); return err },
			"changes/places": func() error {
				_, _, err := s.Changes(ctx, []thwart.Kind{thwart.KindWater, thwart.KindLaunch, thwart.KindPerson}, 0, 100)
				return err
			},
			"totals/season":  func() error { _, err := s.Totals(ctx, thwart.TotalsQuery{}); return err },
			"totals/launch":  func() error { _, err := s.Totals(ctx, thwart.TotalsQuery{By: "launch"}); return err },
			"totals/day":     func() error { _, err := s.Totals(ctx, thwart.TotalsQuery{By: "day"}); return err },
			"totals/steward": func() error { _, err := s.Totals(ctx, thwart.TotalsQuery{By: "steward"}); return err },
			"totals/outcome": func() error { _, err := s.Totals(ctx, thwart.TotalsQuery{By: "outcome"}); return err },
			"totals/month_of_launches": func() error {
				from := sometime()
				_, err := s.Totals(ctx, thwart.TotalsQuery{By: "launch", From: from, To: from.AddDate(0, 1, 0)})
				return err
			},
		} {
			b.Run(name, func(b *testing.B) {
				var took []time.Duration
				for b.Loop() {
					start := time.Now()
					if err := ask(); err != nil {
						b.Fatal(err)
					}
					took = append(took, time.Since(start))
				}
				slices.Sort(took)
				b.ReportMetric(float64(took[len(took)*95/100].Microseconds())/1000, "p95_ms")
				if strings.HasPrefix(name, "totals/season") {
					b.ReportMetric(float64(size)/float64(n)*1000/1e6, "MB/1000")
				}
			})
		}
	})
}

func size(b *testing.B, s *Store) (n int64) {
	if s.d == &sqliteDialect {
		if _, err := s.tidyUp(context.Background()); err != nil {
			b.Fatal(err)
		}
		info, err := os.Stat(s.path)
		if err != nil {
			b.Fatal(err)
		}
		return info.Size()
	}
	err := s.read.QueryRow("SELECT SUM(pg_total_relation_size(c.oid)) FROM pg_class c JOIN pg_namespace n ON n.oid = c.relnamespace" +
		" WHERE n.nspname = current_schema() AND c.relkind = 'r'").Scan(&n)
	if err != nil {
		b.Fatal(err)
	}
	return n
}
