package season_test

import (
	"math/rand/v2"
	"os"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"thwart"
	"thwart/internal/demo"
	"thwart/internal/demo/demotest"
	"thwart/season"
)

// demoSeason is a small demo season as a store would hold it. The slice is the caller's own.
func demoSeason() (*demo.World, []thwart.Kept) {
	return demotest.Season(demo.Options{Seed: 5, Scale: 0.04})
}

func TestOrderAndCopiesMeanNothing(t *testing.T) {
	_, all := demoSeason()
	want := demotest.Read(all)
	r := rand.New(rand.NewPCG(1, 2))
	for range 3 {
		r.Shuffle(len(all), func(i, j int) { all[i], all[j] = all[j], all[i] })
		got := demotest.Read(append(slices.Clone(all), all[:len(all)/3]...))
		if d := cmp.Diff(want, got, cmpopts.IgnoreUnexported(season.Book{})); d != "" {
			t.Fatalf("another order gives another book (-first +second):\n%.2000s", d)
		}
	}
}

// The counts are taken from the entries here in the plainest way: the last correction of each subject stands, as the demo's
// corrections form chains.
func TestBookHoldsTheSeason(t *testing.T) {
	w, all := demoSeason()
	book := demotest.Read(all)
	last := map[string]thwart.Kept{}
	for _, k := range all {
		last[k.Subject] = k
	}
	n := map[thwart.Kind]int{}
	tests, refused, findings := 0, 0, 0
	for _, k := range last {
		if k.Removed {
			continue
		}
		n[k.Kind]++
		if body, err := k.Decode(); err != nil {
			t.Fatal(err)
		} else if e, ok := body.(*thwart.Encounter); ok {
			tests += one(e.Test)
			refused += one(e.Inspection.Refused)
			findings += len(e.Inspection.Findings)
		}
	}
	got := map[thwart.Kind]int{
		thwart.KindWater: len(book.Waters), thwart.KindLaunch: len(book.Launches), thwart.KindUnit: len(book.Units), thwart.KindPerson: len(book.People),
		thwart.KindShift: len(book.Shifts), thwart.KindInspection: len(book.Encounters), thwart.KindWash: len(book.Washes),
		thwart.KindTally: len(book.Tallies), thwart.KindTrial: len(book.Trials),
	}
	for kind, have := range got {
		if have != n[kind] || have == 0 {
			t.Errorf("%s: %d in the book, %d in the entries", kind, have, n[kind])
		}
	}
	gotTests, gotRefused, gotFindings := 0, 0, 0
	for i := range book.Encounters {
		e := &book.Encounters[i]
		gotTests += one(e.Test)
		gotRefused += one(e.Refused)
		gotFindings += len(e.Findings)
		if e.Test == e.Counts() {
			t.Fatalf("%s: planted %t and counts %t", e.Subject, e.Test, e.Counts())
		}
		if e.Launch == season.None || e.Shift == season.None || e.Steward == season.None || e.Water == season.None {
			t.Fatalf("%s: launch %d, shift %d, steward %d, water %d", e.Subject, e.Launch, e.Shift, e.Steward, e.Water)
		}
		s := &book.Shifts[e.Shift]
		if s.Launch != e.Launch || e.At.MS < s.From.MS || e.At.MS > s.To.MS {
			t.Fatalf("%s lies outside its shift: %v, shift %v to %v", e.Subject, e.At.Time(), s.From.Time(), s.To.Time())
		}
		if h := e.At.HourOfDay(); h < 4 || h > 22 {
			t.Fatalf("%s at %.1f h: the hour is not the launch's", e.Subject, h)
		}
	}
	if gotTests != tests || gotRefused != refused || gotFindings != findings || tests == 0 || findings == 0 {
		t.Errorf("tests %d of %d, refused %d of %d, findings %d of %d", gotTests, tests, gotRefused, refused, gotFindings, findings)
	}
	passed, turned := 0, 0
	for i := range book.Shifts {
		passed += int(book.Shifts[i].PassedBy)
		turned += int(book.Shifts[i].TurnedAway)
	}
	if passed != w.Truth.Met.PassedBy || turned != w.Truth.Met.TurnedAway {
		t.Errorf("passed by %d and turned away %d; the truth is %d and %d", passed, turned, w.Truth.Met.PassedBy, w.Truth.Met.TurnedAway)
	}
	if first, end, ok := book.Span(); !ok || first < season.DayOf(2026, time.May, 1) || end > season.DayOf(2026, time.September, 30) {
		t.Errorf("the season runs from %v to %v", first, end)
	}
}

func one(b bool) int {
	if b {
		return 1
	}
	return 0
}

func TestASkewedClockIsSetRight(t *testing.T) {
	w, all := demoSeason()
	if len(w.Truth.ClockSkewMS) == 0 {
		t.Fatal("no clock of the demo is wrong: this test sees nothing")
	}
	book := demotest.Read(all)
	for i := range all {
		all[i].SkewMS = 0
	}
	raw := demotest.Read(all)
	moved := 0
	for i := range book.Encounters {
		e := &book.Encounters[i]
		if j := raw.Index(e.Subject); raw.Encounters[j].At.MS != e.At.MS {
			moved++
		}
	}
	if moved == 0 {
		t.Error("no encounter was moved")
	}
}

func TestFaultsAreKeptAndStopNothing(t *testing.T) {
	_, all := demoSeason()
	i := slices.IndexFunc(all, func(k thwart.Kept) bool { return k.Kind == thwart.KindInspection })
	all[i].Body = []byte(`{"shift": 7}`)
	b := season.New(season.Options{})
	errs := 0
	for _, k := range all {
		if err := b.Add(k); err != nil {
			errs++
			if !strings.Contains(err.Error(), k.ID) {
				t.Errorf("%v does not name the entry", err)
			}
		}
	}
	book := b.Book()
	if errs != 1 || book.Faulty != 1 || book.Faults[0].Entry != all[i].ID || len(book.Encounters) == 0 {
		t.Errorf("%d errors, %d faults, %d encounters", errs, book.Faulty, len(book.Encounters))
	}
}

func TestStaffedHours(t *testing.T) {
	b := season.New(season.Options{})
	at := func(h, m int) time.Time { return time.Date(2026, 7, 3, h, m, 0, 0, time.FixedZone("", -5*3600)) } // a Friday
	id := func(n int) string { return thwart.MakeID(at(0, 0), [10]byte{9: byte(n)}) }
	water, launch, person := id(1), id(2), id(3)
	add := func(n int, kind thwart.Kind, body string) {
		if err := b.Add(thwart.Kept{Entry: thwart.Entry{ID: id(n), Subject: id(n), Kind: kind, MadeAt: at(1, 0), Body: []byte(body)}}); err != nil {
			t.Fatal(err)
		}
	}
	shift := func(n int, from, to time.Time, people string) {
		body := `{"launch":"` + launch + `","people":[` + people + `],"from":"` + from.Format(time.RFC3339) + `"`
		if !to.IsZero() {
			body += `,"to":"` + to.Format(time.RFC3339) + `"`
		}
		add(n, thwart.KindShift, body+"}")
	}
	add(1, thwart.KindWater, `{"name":"Otterlow","centre":[-93,45]}`)
	add(2, thwart.KindLaunch, `{"name":"North ramp","water":"`+water+`","at":[-93,45],"lanes":1}`)
	p := `"` + person + `"`
	shift(4, at(8, 30), at(11, 0), p)
	shift(5, at(10, 0), at(12, 15), p+","+p) // overlaps the first by an hour
	shift(6, at(23, 30), at(24, 30), p)      // over midnight, into the 4th
	shift(7, at(13, 0), time.Time{}, p)      // still runs
	book := b.Book()
	rows, open := book.Staffed()
	type row struct {
		day           string
		hour          int8
		share, people float32
	}
	want := []row{
		{"2026-07-03", 8, 0.5, 0.5}, {"2026-07-03", 9, 1, 1}, {"2026-07-03", 10, 1, 3}, {"2026-07-03", 11, 1, 2}, {"2026-07-03", 12, 0.25, 0.5},
		{"2026-07-03", 23, 0.5, 0.5}, {"2026-07-04", 0, 0.5, 0.5},
	}
	var got []row
	for _, r := range rows {
		got = append(got, row{r.Day.String(), r.Hour, r.Share, r.People})
	}
	if open != 1 || !slices.Equal(got, want) {
		t.Errorf("%d open; rows\n%v\nwant\n%v", open, got, want)
	}
	e := book.Effort(season.Calendar{})
	if e.Total(0) != 4.75 || e.Hours[0][0][season.Free] != 0.5 || e.Hours[0][9][season.Weekday] != 1 {
		t.Errorf("effort %v", e.Hours[0])
	}
	if e = book.Effort(season.SummerHolidays()); e.Hours[0][9][season.Holiday] != 1 {
		t.Error("3 July is a holiday of the calendar")
	}
}

func TestDays(t *testing.T) {
	for _, c := range []struct {
		date string
		day  time.Weekday
		kind season.DayType
	}{
		{"1970-01-01", time.Thursday, season.Weekday}, {"1969-12-31", time.Wednesday, season.Weekday}, {"2026-07-04", time.Saturday, season.Holiday},
		{"2026-05-25", time.Monday, season.Holiday}, {"2026-09-07", time.Monday, season.Holiday}, {"2026-08-15", time.Saturday, season.Free},
		{"2024-02-29", time.Thursday, season.Weekday},
	} {
		d, err := season.ParseDay(c.date)
		if err != nil || d.String() != c.date || d.Weekday() != c.day || season.SummerHolidays().Type(d) != c.kind {
			t.Errorf("%s: %v, %v, %v, %v", c.date, err, d, d.Weekday(), season.SummerHolidays().Type(d))
		}
	}
	if _, err := season.ParseDay("4 July"); err == nil || !strings.Contains(err.Error(), "2026-07-04") {
		t.Errorf("%v names no accepted form", err)
	}
}

// many repeats a season's encounters under new ids until there are n.
func many(b *testing.B, n int) []thwart.Kept {
	_, all := demotest.Season(demo.Options{Seed: 3, Scale: 0.1})
	var seen []thwart.Kept
	for _, k := range all {
		if k.Kind == thwart.KindInspection && k.Supersedes == "" {
			seen = append(seen, k)
		}
	}
	for i := len(seen); i < n; i++ {
		k := seen[i%len(seen)]
		var rest [10]byte
		rest[0], rest[1], rest[2], rest[3] = byte(i>>24), byte(i>>16), byte(i>>8), byte(i)
		k.ID = thwart.MakeID(k.MadeAt, rest)
		k.Subject, k.Cursor = k.ID, int64(i)
		all = append(all, k)
	}
	return all
}

func benchmark(b *testing.B, n int) {
	all := many(b, n)
	b.ReportAllocs()
	for b.Loop() {
		var before, after runtime.MemStats
		runtime.GC()
		runtime.ReadMemStats(&before)
		maker := season.New(season.Options{Zone: time.LoadLocation})
		for _, k := range all {
			if err := maker.Add(k); err != nil {
				b.Fatal(err)
			}
		}
		book := maker.Book()
		runtime.GC()
		runtime.ReadMemStats(&after)
		b.ReportMetric(float64(after.HeapAlloc-before.HeapAlloc)/1e6, "MB-kept")
		b.ReportMetric(float64(len(book.Encounters)), "encounters")
		runtime.KeepAlive(book)
		runtime.KeepAlive(maker)
	}
}

func BenchmarkBook15000(b *testing.B)  { benchmark(b, 15_000) }
func BenchmarkBook150000(b *testing.B) { benchmark(b, 150_000) }

// BenchmarkBook1000000 takes minutes and a few gigabytes, its entries included; it runs where THWART_HEAVY is set.
func BenchmarkBook1000000(b *testing.B) {
	if os.Getenv("THWART_HEAVY") == "" {
		b.Skip("set THWART_HEAVY")
	}
	benchmark(b, 1_000_000)
}

func TestACraftRecordedTwiceCountsOnce(t *testing.T) {
	w, all := demoSeason()
	book := demotest.Read(all)
	pairs := 0
	a, b, c := &book.Encounters[3], &book.Encounters[1], &book.Encounters[2]
	for i, p := range [][3]string{{a.Subject, b.Subject, thwart.PairSame}, {c.Subject, a.Subject, thwart.PairSame}, {b.Subject, book.Encounters[9].Subject, thwart.PairDifferent}} {
		id := thwart.MakeID(w.First, [10]byte{1, byte(i)})
		all = append(all, thwart.Kept{Entry: thwart.Entry{ID: id, Subject: id, Kind: thwart.KindPairing, MadeAt: w.First,
			Body: []byte(`{"a":"` + p[0] + `","b":"` + p[1] + `","decision":"` + p[2] + `"}`)}})
	}
	book = demotest.Read(all)
	for i := range book.Encounters {
		if e := &book.Encounters[i]; e.Twin != season.None {
			pairs++
			if e.Counts() || e.Twin >= int32(i) {
				t.Errorf("encounter %d is a twin of %d and counts %t", i, e.Twin, e.Counts())
			}
		}
	}
	if pairs != 2 || book.Encounters[1].Twin != season.None || len(book.Pairings) != 3 {
		t.Errorf("%d second records of one craft recorded three times; want 2, the earliest counts", pairs)
	}
}

// A look at the desk counts until it is undone or taken back, and counts again when the taking back is itself taken out.
func TestLooksAtTheDeskAreTakenBack(t *testing.T) {
	at := time.Date(2026, 7, 4, 12, 0, 0, 0, time.UTC)
	n := byte(0)
	id := func() string {
		n++
		at = at.Add(time.Minute)
		return thwart.MakeID(at, [10]byte{n})
	}
	first := id()
	entry := func(supersedes, body string, origin thwart.Origin) thwart.Kept {
		k := thwart.Kept{Entry: thwart.Entry{ID: id(), Kind: thwart.KindWater, Subject: first, Supersedes: supersedes, MadeAt: at, Origin: origin, Body: []byte(body)}}
		if supersedes == "" {
			k.ID = first
		} else {
			k.Why = "a reason"
		}
		return k
	}
	taking := func(of string) thwart.Kept {
		own := id()
		return thwart.Kept{Entry: thwart.Entry{ID: own, Kind: thwart.KindReopening, Subject: own, MadeAt: at, Origin: thwart.OriginOffice,
			Body: []byte(`{"record":"` + first + `","entry":"` + of + `","why":"asked again"}`)}}
	}
	takenOut := func(of thwart.Kept) thwart.Kept {
		return thwart.Kept{Entry: thwart.Entry{ID: id(), Kind: of.Kind, Subject: of.Subject, Supersedes: of.ID, Removed: true, Why: "right after all", MadeAt: at, Origin: thwart.OriginOffice}}
	}
	const as, other = `{"name":"A"}`, `{"name":"B"}`
	phone := entry("", as, thwart.OriginPhone)
	looked := entry(first, as, thwart.OriginOffice)
	reopened := taking(looked.ID)
	lookedAgain := entry(looked.ID, as, thwart.OriginOffice)
	mended := entry(looked.ID, other, thwart.OriginOffice)
	undone := entry(mended.ID, as, thwart.OriginOffice)
	confirmedMend := entry(mended.ID, other, thwart.OriginOffice)
	circle := []thwart.Kept{entry(first, as, thwart.OriginOffice), entry(first, other, thwart.OriginOffice)}
	circle[0].Supersedes, circle[1].Supersedes = circle[1].ID, circle[0].ID
	circle = append(circle, taking(circle[0].ID), taking(circle[1].ID))
	for _, c := range []struct {
		name    string
		entries []thwart.Kept
		seen    bool
	}{
		{"as the phone sent it", []thwart.Kept{phone}, false},
		{"kept as it was", []thwart.Kept{phone, looked}, true},
		{"taken back", []thwart.Kept{phone, looked, reopened}, false},
		{"the taking back taken out", []thwart.Kept{phone, looked, reopened, takenOut(reopened)}, true},
		{"taken back, then kept again", []thwart.Kept{phone, looked, reopened, lookedAgain}, true},
		{"a mend undone leaves the look before it", []thwart.Kept{phone, looked, mended, undone}, true},
		{"a mend undone leaves a look that was taken back", []thwart.Kept{phone, looked, reopened, mended, undone}, false},
		{"a look at a mend taken back leaves the mend", []thwart.Kept{phone, looked, mended, confirmedMend, taking(confirmedMend.ID)}, true},
		{"a look at nothing that is known taken back", []thwart.Kept{phone, looked, taking(id())}, true},
		{"versions that supersede each other in a circle", circle, false},
	} {
		for _, backwards := range []bool{false, true} {
			all := slices.Clone(c.entries)
			if backwards {
				slices.Reverse(all)
			}
			b := season.New(season.Options{})
			for i := range all {
				all[i].Cursor = int64(i + 1)
				if err := b.Add(all[i]); err != nil {
					t.Fatal(err)
				}
			}
			if book := b.Book(); len(book.Waters) != 1 || book.Waters[0].Seen != c.seen {
				t.Errorf("%s, backwards %t: %d waters, seen %t", c.name, backwards, len(book.Waters), !c.seen)
			}
		}
	}
}

func TestLatestSeason(t *testing.T) {
	day := func(text string) season.Day {
		d, err := season.ParseDay(text)
		if err != nil {
			t.Fatal(err)
		}
		return d
	}
	at := func(text string, hour int64) season.Moment {
		return season.Moment{MS: int64(day(text))*86_400_000 + hour*3_600_000, Set: true}
	}
	for _, c := range []struct {
		name   string
		shifts []string
		craft  []string
		own    [2]string // the season as the programme has written it down
		first  string
		last   string
	}{
		{name: "one", shifts: []string{"2026-05-01", "2026-07-15", "2026-09-30"}, first: "2026-05-01", last: "2026-09-30"},
		{name: "two with a winter between", shifts: []string{"2025-05-10", "2025-07-01", "2025-09-20", "2026-05-02", "2026-06-30"}, first: "2026-05-02", last: "2026-06-30"},
		{name: "a rest of ninety days", shifts: []string{"2026-05-01", "2026-07-30"}, first: "2026-05-01", last: "2026-07-30"},
		{name: "a rest of a day more", shifts: []string{"2026-05-01", "2026-07-31"}, first: "2026-07-31", last: "2026-07-31"},
		{name: "all year round", shifts: []string{"2025-03-01", "2025-05-01", "2025-07-01", "2025-09-01", "2025-11-01", "2026-01-01", "2026-03-01", "2026-04-01"},
			first: "2025-05-01", last: "2026-04-01"},
		{name: "all year round, written down", shifts: []string{"2025-03-01", "2025-05-01", "2025-07-01", "2025-09-01", "2025-11-01", "2026-01-01", "2026-03-01"},
			own: [2]string{"2026-01-01", "2026-12-31"}, first: "2026-01-01", last: "2026-03-01"},
		{name: "written down for another year", shifts: []string{"2026-05-01", "2026-07-01"}, own: [2]string{"2025-06-01", "2025-12-31"}, first: "2026-05-01", last: "2026-07-01"},
		{name: "craft without shifts", craft: []string{"2024-07-01", "2026-07-01", "2026-06-01"}, first: "2026-06-01", last: "2026-07-01"},
	} {
		b := &season.Book{}
		for _, s := range c.shifts {
			b.Shifts = append(b.Shifts, season.Shift{From: at(s, 8), To: at(s, 16)})
		}
		for _, s := range c.craft {
			b.Encounters = append(b.Encounters, season.Encounter{At: at(s, 12)})
		}
		if c.own[0] != "" {
			b.Programmes = append(b.Programmes, season.Record[thwart.Programme]{Body: thwart.Programme{SeasonFrom: c.own[0], SeasonTo: c.own[1]}})
		}
		if first, last, ok := b.LatestSeason(); !ok || first.String() != c.first || last.String() != c.last {
			t.Errorf("%s: %v to %v, %v; want %s to %s", c.name, first, last, ok, c.first, c.last)
		}
	}
	if _, _, ok := (&season.Book{}).LatestSeason(); ok {
		t.Error("no records, and a season")
	}
}
