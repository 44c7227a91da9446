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

// benchPut is how many encounters a benchmark puts through the store. A larger season is these over and over, a season later each
// time, copied inside the database: the rows and the indexes are as putting would make them, in minutes and not in an hour.
const benchPut = 100_000

// multiply copies the shifts and encounters of a store. Each copy has ids and cursors of its own and comes a season later; sums and
// seals are those of the originals, so that such a store does not pass a check.
func multiply(b *testing.B, s *Store, copies int, season time.Duration) {
	b.Helper()
	if copies > 250 { // the first two digits of an id, always 01, tell the copies apart
		b.Fatalf("%d copies; accepted: at most 250", copies)
	}
	tag := "printf('%%02x', %d)"
	if s.d == &postgresDialect {
		tag = "lpad(to_hex(%d), 2, '0')"
	}
	var cursor int64
	if err := s.read.QueryRow("SELECT MAX(cursor) FROM entries").Scan(&cursor); err != nil {
		b.Fatal(err)
	}
	days := int64(season/(24*time.Hour)) + 1
	for c := int64(1); c <= int64(copies); c++ {
		id := func(column string) string {
			return fmt.Sprintf(tag, c+1) + " || substr(" + column + ", 3) AS " + column
		}
		plus := func(column string, n int64) string { return fmt.Sprintf("%s + %d AS %s", column, c*n, column) }
		later := func(column string) string { return plus(column, days*86_400_000) }
		const made = " WHERE kind IN ('shift', 'inspection') AND "
		for _, t := range []struct {
			into, columns, where string
			as                   map[string]string
		}{
			{"entries", entryColumns, made + fmt.Sprint("cursor <= ", cursor), map[string]string{
				"cursor": plus("cursor", cursor), "id": id("id"), "subject": id("subject"), "made_at": later("made_at"), "received_at": later("received_at")}},
			{"subjects", subjectColumns, made + fmt.Sprint("head <= ", cursor), map[string]string{
				"subject": id("subject"), "head": plus("head", cursor), "parent": "CASE WHEN kind = 'shift' THEN parent ELSE " + strings.TrimSuffix(id("parent"), " AS parent") + " END AS parent"}},
			{"encounters", encounterColumns, " WHERE subject LIKE '01%'", map[string]string{
				"subject": id("subject"), "shift": id("shift"), "at": later("at"), "ended_at": later("ended_at"), "day": plus("day", days)}},
			{"shifts", shiftColumns, " WHERE subject LIKE '01%'", map[string]string{
				"subject": id("subject"), "from_at": later("from_at"), "to_at": later("to_at"), "day": plus("day", days)}},
		} {
			var from []string
			for name := range strings.SplitSeq(t.columns, ",") {
				name = strings.TrimSpace(name)
				if as, ok := t.as[name]; ok {
					name = as
				}
				from = append(from, name)
			}
			if _, err := s.inWriteExec("INSERT INTO " + t.into + " (" + t.columns + ") SELECT " + strings.Join(from, ", ") + " FROM " + t.into + t.where); err != nil {
				b.Fatal(t.into, err)
			}
		}
	}
}

// benchSeasonAt gives the database of the season of the benchmarks. Where THWART_BENCH_DIR names a folder, the season is kept, a
// file there or a schema of the PostgreSQL server, and used again: filling it takes longer than asking it. A fill that was broken
// off is not taken for a season.
func benchSeasonAt(b *testing.B, sqlite bool, n int) string {
	b.Helper()
	dir := os.Getenv("THWART_BENCH_DIR")
	switch {
	case dir == "" && sqlite:
		dsn := filepath.Join(b.TempDir(), "a.db")
		fill(b, dsn, n)
		return dsn
	case dir == "":
		dsn := storetest.Postgres(b).DSN(b)
		fill(b, dsn, n)
		return dsn
	case sqlite:
		whole := filepath.Join(dir, fmt.Sprintf("season-%d.db", n))
		if _, err := os.Stat(whole); err == nil {
			return whole
		}
		part := whole + ".part"
		if err := os.RemoveAll(part); err != nil {
			b.Fatal(err)
		}
		fill(b, part, n)
		if err := os.Rename(part, whole); err != nil {
			b.Fatal(err)
		}
		return whole
	}
	return storetest.Postgres(b).KeptDSN(b, fmt.Sprint("thwart_bench_", n), func(dsn string) { fill(b, dsn, n) })
}

// fill puts a season of n encounters into a database.
func fill(b *testing.B, dsn string, n int) {
	b.Helper()
	ctx := context.Background()
	s, err := Open(ctx, dsn, Options{})
	if err != nil {
		b.Fatal(err)
	}
	defer func() {
		if err := s.Close(); err != nil {
			b.Error(err)
		}
	}()
	f := newFeeder(2)
	storetest.MustPut(b, s, f.places()...)
	first := f.w.Raw(thwart.KindTrial, nil).MadeAt
	start := time.Now()
	put := min(n, benchPut)
	for done := 0; done < put; {
		var batch []thwart.Kept
		for range 500 {
			batch = f.next(batch)
		}
		done += 500
		if _, err := s.Put(ctx, batch); err != nil {
			b.Fatal(err)
		}
	}
	b.Logf("%d encounters put in %v", put, time.Since(start).Round(time.Millisecond))
	if n > put {
		start = time.Now()
		copies := (n - 1) / put // and the original
		multiply(b, s, copies, f.w.Raw(thwart.KindTrial, nil).MadeAt.Sub(first))
		b.Logf("%d copies of them made in %v", copies, time.Since(start).Round(time.Millisecond))
	}
	if s.d == &postgresDialect { // as the server does by itself some minutes after such a load
		if _, err := s.read.Exec("VACUUM (ANALYZE)"); err != nil {
			b.Fatal(err)
		}
	}
	if n > benchPut { // sums and seals of copies are not their own
		return
	}
	start = time.Now()
	storetest.MustBeWhole(b, s)
	b.Logf("checked in %v", time.Since(start).Round(time.Millisecond))
	start = time.Now()
	if _, err := s.Backup(ctx, filepath.Join(b.TempDir(), "backup")); err != nil {
		b.Fatal(err)
	}
	b.Logf("backed up and verified in %v", time.Since(start).Round(time.Millisecond))
}

// asked is what a benchmark asks a season about.
type asked struct {
	launches, people, waters, subjects, latest []string
	first, last                                time.Time
}

func askAbout(b *testing.B, s *Store) (a asked) {
	b.Helper()
	list := func(text string) (out []string) {
		rows, err := s.read.Query(text)
		if err != nil {
			b.Fatal(err)
		}
		err = eachRow(rows, func(rows *sql.Rows) error {
			out = append(out, "")
			return rows.Scan(&out[len(out)-1])
		})
		if err != nil || len(out) == 0 {
			b.Fatalf("%s: %d rows, %v", text, len(out), err)
		}
		return out
	}
	of := func(k thwart.Kind) []string {
		return list("SELECT subject FROM subjects WHERE kind = '" + string(k) + "' ORDER BY subject")
	}
	a.launches, a.people, a.waters = of(thwart.KindLaunch), of(thwart.KindPerson), of(thwart.KindWater)
	a.subjects = list("SELECT subject FROM encounters ORDER BY at LIMIT 1000")
	a.latest = list("SELECT subject FROM encounters ORDER BY at DESC LIMIT " + strconv.Itoa(thwart.MostEncounterIDs))
	var first, last int64
	if err := s.read.QueryRow("SELECT MIN(at), MAX(at) FROM encounters").Scan(&first, &last); err != nil {
		b.Fatal(err)
	}
	a.first, a.last = fromMS(first), fromMS(last)
	if !a.last.After(a.first) {
		b.Fatal("no season")
	}
	return a
}

// BenchmarkSeason asks a season of THWART_BENCH_ROWS encounters (100,000 where it is not set) what an office asks.
func BenchmarkSeason(b *testing.B) {
	for _, name := range []string{"sqlite", "postgres"} {
		b.Run(name, func(b *testing.B) { benchSeason(b, name == "sqlite") })
	}
}

func benchSeason(b *testing.B, sqlite bool) {
	ctx := context.Background()
	n := benchRows(b)
	s := openTest(b, benchSeasonAt(b, sqlite, n))
	size := size(b, s)
	about := askAbout(b, s)
	rng := rand.New(rand.NewPCG(1, 1))
	pick := func(list []string) string { return list[rng.IntN(len(list))] }
	sometime := func() time.Time {
		return about.first.Add(time.Duration(rng.Int64N(int64(about.last.Sub(about.first)))))
	}
	for name, ask := range map[string]func() error{
		"page/at": func() error {
			_, err := s.Encounters(ctx, thwart.EncounterQuery{To: sometime()})
			return err
		},
		"page/launch": func() error {
			_, err := s.Encounters(ctx, thwart.EncounterQuery{Launch: pick(about.launches), To: sometime()})
			return err
		},
		"page/steward": func() error {
			_, err := s.Encounters(ctx, thwart.EncounterQuery{Steward: pick(about.people)})
			return err
		},
		"page/outcome": func() error {
			_, err := s.Encounters(ctx, thwart.EncounterQuery{Outcome: thwart.Hold, To: sometime()})
			return err
		},
		"page/found": func() error { _, err := s.Encounters(ctx, thwart.EncounterQuery{Found: thwart.Yes}); return err },
		"page/found_sort_seconds": func() error {
			_, err := s.Encounters(ctx, thwart.EncounterQuery{Found: thwart.Yes, Sort: "-seconds"})
			return err
		},
		"page/found_next_water": func() error {
			_, err := s.Encounters(ctx, thwart.EncounterQuery{Found: thwart.Yes, NextWater: pick(about.waters)})
			return err
		},
		"page/found_launched": func() error {
			_, err := s.Encounters(ctx, thwart.EncounterQuery{Found: thwart.Yes, Outcome: thwart.Launch, Class: "canoe"})
			return err
		},
		"count/found": func() error { _, err := s.CountEncounters(ctx, thwart.EncounterQuery{Found: thwart.Yes}); return err },
		"page/named_5000": func() error {
			_, err := s.Encounters(ctx, thwart.EncounterQuery{IDs: about.latest[:min(5000, len(about.latest))]})
			return err
		},
		"page/named_30000": func() error {
			_, err := s.Encounters(ctx, thwart.EncounterQuery{IDs: about.latest, Sort: "-seconds"})
			return err
		},
		"page/flagged":      func() error { _, err := s.Encounters(ctx, thwart.EncounterQuery{Flagged: true}); return err },
		"page/sort_outcome": func() error { _, err := s.Encounters(ctx, thwart.EncounterQuery{Sort: "-outcome"}); return err },
		"page/sort_seconds": func() error { _, err := s.Encounters(ctx, thwart.EncounterQuery{Sort: "-seconds"}); return err },
		"page/sort_class":   func() error { _, err := s.Encounters(ctx, thwart.EncounterQuery{Sort: "class"}); return err },
		"page/sort_launch":  func() error { _, err := s.Encounters(ctx, thwart.EncounterQuery{Sort: "launch"}); return err },
		"page/last_water": func() error {
			_, err := s.Encounters(ctx, thwart.EncounterQuery{LastWater: pick(about.waters)})
			return err
		},
		"page/next_water": func() error {
			_, err := s.Encounters(ctx, thwart.EncounterQuery{NextWater: pick(about.waters)})
			return err
		},
		"page/launch_sort_seconds": func() error {
			_, err := s.Encounters(ctx, thwart.EncounterQuery{Launch: pick(about.launches), Sort: "-seconds"})
			return err
		},
		"page/water_sort_outcome": func() error {
			_, err := s.Encounters(ctx, thwart.EncounterQuery{LastWater: pick(about.waters), Sort: "-outcome"})
			return err
		},
		"page/hold_sort_seconds": func() error {
			_, err := s.Encounters(ctx, thwart.EncounterQuery{Outcome: thwart.Hold, Sort: "-seconds"})
			return err
		},
		"page/water_outcome_class": func() error {
			_, err := s.Encounters(ctx, thwart.EncounterQuery{NextWater: pick(about.waters), Outcome: thwart.Hold, Class: "canoe"})
			return err
		},
		"subject": func() error { _, err := s.Subject(ctx, pick(about.subjects)); return err },
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
