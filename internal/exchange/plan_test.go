package exchange_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"thwart"
	"thwart/internal/exchange"
	"thwart/internal/store"
)

func openCSV(t testing.TB, text string) exchange.Table {
	t.Helper()
	table, err := exchange.OpenCSV(strings.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	return table
}

func openStore(t testing.TB) *store.Store {
	t.Helper()
	s, err := store.Open(t.Context(), filepath.Join(t.TempDir(), "season.db"), store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	return s
}

func ids(p exchange.Plan) []string {
	var out []string
	for _, e := range p.Entries {
		out = append(out, e.ID)
	}
	return out
}

// A newcomer's table of 5,000 rows, as CSV and as a workbook: every row is accounted for, everything that was made wrong is
// reported as often as it was made wrong, both files give the same entries, and keeping them twice keeps them once.
func TestMessyTable(t *testing.T) {
	m := makeMessy(4808) // with its duplicates, 5,000 rows and a few
	if len(m.rows) < 5000 {
		t.Fatalf("%d rows", len(m.rows))
	}
	book := m.xlsx(t)
	sheet, err := exchange.OpenXLSX(bytes.NewReader(book), int64(len(book)), "")
	if err != nil {
		t.Fatal(err)
	}
	plans := map[string]exchange.Plan{}
	for name, table := range map[string]exchange.Table{"csv": openCSV(t, string(m.csv(t))), "xlsx": sheet} {
		t.Run(name, func(t *testing.T) {
			begin := time.Now()
			p, err := exchange.Read(t.Context(), table, messyMapping, names)
			if err != nil {
				t.Fatal(err)
			}
			r := p.Report
			t.Logf("%d rows in %s: %d taken, %d refused, %d duplicates, %d lines", r.Rows, time.Since(begin).Round(time.Millisecond),
				r.Taken, r.Refused, r.Duplicates, len(r.Lines))
			if err := table.Close(); err != nil {
				t.Error(err)
			}
			plans[name] = p
			if r.Rows != len(m.rows) || r.Taken != m.taken || r.Refused != m.refused || r.Duplicates != m.duplicates {
				t.Errorf("rows %d, taken %d, refused %d, duplicates %d; want %d, %d, %d, %d",
					r.Rows, r.Taken, r.Refused, r.Duplicates, len(m.rows), m.taken, m.refused, m.duplicates)
			}
			if r.Taken+r.Refused+r.Duplicates != r.Rows {
				t.Error("the rows do not add up")
			}
			if n := len(p.Entries); n != r.Taken+r.Shifts {
				t.Errorf("%d entries for %d inspections and %d shifts", n, r.Taken, r.Shifts)
			}
			left, look := map[exchange.Field]int{}, map[exchange.Field]int{}
			for f, by := range r.Counts {
				if by[exchange.LevelLeftOut] > 0 {
					left[f] = by[exchange.LevelLeftOut]
				}
				if by[exchange.LevelLook] > 0 {
					look[f] = by[exchange.LevelLook]
				}
			}
			if d := cmp.Diff(m.left, left); d != "" {
				t.Errorf("left out (-want +got)\n%s", d)
			}
			if d := cmp.Diff(m.look, look); d != "" {
				t.Errorf("to look at (-want +got)\n%s", d)
			}
			asked := map[string]int{}
			for _, n := range r.Names {
				asked[n.Kind] += n.Rows
				if strings.HasPrefix(n.Name, "Fen") && !slices.Contains(n.Near, "Fenwillow Lake") {
					t.Errorf("%q: near %q, want Fenwillow Lake", n.Name, n.Near)
				}
			}
			if asked["waters"] != m.unknownWater || asked["launches"] != m.unknownLaunch {
				t.Errorf("names asked for in %v rows; want %d waters, %d launches", asked, m.unknownWater, m.unknownLaunch)
			}
			if d := cmp.Diff([]string{"Weather"}, r.Unused); d != "" {
				t.Error(d)
			}
			checkNothingPersonal(t, p, m)
			for _, e := range p.Entries {
				if _, err := e.Decode(); err != nil || e.Validate() != nil {
					t.Fatalf("%s: %v, %v", e.ID, err, e.Validate())
				}
			}
		})
	}
	if d := cmp.Diff(ids(plans["csv"]), ids(plans["xlsx"])); d != "" {
		t.Errorf("the two files give other entries (-csv +xlsx)\n%s", d)
	}

	s := openStore(t)
	p := plans["csv"]
	received := time.Date(2026, 11, 1, 9, 0, 0, 0, time.UTC)
	first, err := p.Keep(t.Context(), s, received)
	if err != nil || first.Stored != int64(len(p.Entries)) || first.Refused != 0 {
		t.Fatalf("%+v, %v; want %d stored", first, err, len(p.Entries))
	}
	p = plans["xlsx"]
	second, err := p.Keep(t.Context(), s, received.Add(time.Hour))
	if err != nil || second.Stored != 0 || second.Had != int64(len(p.Entries)) {
		t.Fatalf("again: %+v, %v; want all had", second, err)
	}
	totals, err := s.Totals(t.Context(), thwart.TotalsQuery{})
	if err != nil || len(totals) != 1 || totals[0].Encounters != m.taken || totals[0].Hours != 0 {
		t.Errorf("%+v, %v; want %d encounters and no hours that nobody wrote down", totals, err, m.taken)
	}
}

func checkNothingPersonal(t *testing.T, p exchange.Plan, m messy) {
	t.Helper()
	var text bytes.Buffer
	for _, e := range p.Entries {
		text.Write(e.Body)
	}
	report, err := json.Marshal(p.Report)
	if err != nil {
		t.Fatal(err)
	}
	text.Write(report)
	if err := p.Report.WriteText(&text); err != nil {
		t.Fatal(err)
	}
	all := text.String()
	for _, s := range append([]string{"Somebody Private", "555-0100", "867-5309"}, m.registrations[:200]...) {
		if strings.Contains(all, s) {
			t.Fatalf("%q is in the plan or the report", s)
		}
	}
}

func TestReadRow(t *testing.T) {
	const header = "date,time,launch,steward,class,length,last,out,days,found,water,outcome,refused,direction,key\n"
	m := exchange.Mapping{Zone: zone, Dates: []string{"iso"}, Columns: map[exchange.Field]string{
		exchange.FieldDate: "date", exchange.FieldTime: "time", exchange.FieldLaunch: "launch", exchange.FieldSteward: "steward", exchange.FieldClass: "class",
		exchange.FieldLength: "length", exchange.FieldLastWater: "last", exchange.FieldLastOut: "out", exchange.FieldDaysOut: "days",
		exchange.FieldFound: "found", exchange.FieldWaterFound: "water", exchange.FieldOutcome: "outcome", exchange.FieldRefused: "refused",
		exchange.FieldDirection: "direction", exchange.FieldKey: "key",
	}}
	p, err := exchange.Read(t.Context(), openCSV(t, header+
		"2026-07-04,9:30 am,Alder Point,T. Reed,wakeboat,23 ft,Osprey,2026-06-30,,mud & weeds,2 gal,decon,no,in,7\n"+
		"2026-07-04,,Alder Point,T. Reed,canoe,,unknown,,4,yes,,,yes,,8\n"+
		"2026-01-04,09:30,Alder Point,T. Reed,canoe,,Osprey,2026-01-04,,,,,,,9\n"), m, names)
	if err != nil {
		t.Fatal(err)
	}
	var got []thwart.Encounter
	for _, e := range p.Entries {
		if e.Kind != thwart.KindInspection {
			continue
		}
		var x thwart.Encounter
		if err := json.Unmarshal(e.Body, &x); err != nil {
			t.Fatal(err)
		}
		got = append(got, x)
	}
	if len(got) != 3 {
		var b strings.Builder
		t.Fatalf("%d inspections\n%v %s", len(got), p.Report.WriteText(&b), b.String())
	}
	a := got[0]
	// 23 ft and 2 US gal by the definitions of 1959 and 1893: 7.0104 m, 7.570823568 L.
	if in := a.Inspection; in.Setup.Class != "wake_boat" || math.Abs(in.Setup.LengthM-7.0104) > 1e-12 || in.Direction != "launching" ||
		!in.StartedAt.Equal(time.Date(2026, 7, 4, 14, 30, 0, 0, time.UTC)) || a.Given() != thwart.Wash {
		t.Errorf("%+v", a)
	}
	// A day without a time ends at its end: the unsafe side, 30 June 23:59:59 in Chicago, five hours behind.
	if v := a.Inspection.LastWaters; len(v) != 1 || v[0].Water != id(2) || !v[0].OutAt.Equal(time.Date(2026, 7, 1, 4, 59, 59, 0, time.UTC)) {
		t.Errorf("last waters %+v", v)
	}
	if f := a.Inspection.Findings; len(f) != 3 || f[0].Matter != thwart.MatterMud || f[1].Matter != thwart.MatterPlant || f[2].VolumeL != 2*3.785411784 {
		t.Errorf("findings %+v", f)
	}
	b := got[1]
	if !b.Inspection.Refused || b.Given() != thwart.Hold || b.Inspection.StartedAt.Hour() != 12 {
		t.Errorf("%+v: a refusal is a hold, a day without a time is noon", b)
	}
	if f := b.Inspection.Findings; len(f) != 1 || f[0].Matter != thwart.MatterUnknown {
		t.Errorf("findings %+v: a find of nobody knows what is one", f)
	}
	// Out and inspected on one day: it came out no later than the inspection, and counts as just then.
	if v := got[2].Inspection.LastWaters; len(v) != 1 || !v[0].OutAt.Equal(got[2].Inspection.StartedAt) {
		t.Errorf("last waters %+v", v)
	}
	for _, sp := range a.Inspection.Setup.Spaces {
		if sp.Count != thwart.CountUnknown {
			t.Errorf("%+v: nobody counted", sp)
		}
	}
}

func TestDates(t *testing.T) {
	for _, c := range []struct {
		cell   string
		styles []string
		want   string // in UTC; empty = refused
	}{
		{"2026-07-04", []string{"iso"}, "2026-07-04"},
		{"7/4/2026", []string{"mdy"}, "2026-07-04"},
		{"7/4/2026", []string{"dmy"}, "2026-04-07"},
		{"7/4/2026", []string{"iso"}, ""}, // July or April: asked, not guessed
		{"7/7/2026", []string{"iso"}, "2026-07-07"},
		{"25/12/2025", []string{"iso"}, "2025-12-25"}, // can only be one thing
		{"25/12/2025", []string{"mdy"}, ""},           // says that the file is not all month first
		{"25/12/2025", []string{"mdy", "dmy"}, "2025-12-25"},
		{"4.7.26", []string{"dmy"}, "2026-07-04"},
		{"Sat, 4 Jul 2026", []string{"text"}, "2026-07-04"},
		{"July 4th, 2026", []string{"text"}, "2026-07-04"},
		{"4-Jul-26", []string{"text"}, "2026-07-04"},
		{"20260704", []string{"ymd"}, "2026-07-04"},
		{"2026/7/4", []string{"ymd"}, "2026-07-04"},
		{"46207", []string{"serial"}, "2026-07-04"}, // 46207 days after 30 December 1899
		{"46207", []string{"iso"}, ""},
		{"31/2/2026", []string{"dmy"}, ""},
		{"2/29/2026", []string{"mdy"}, ""},
		{"2/29/2024", []string{"mdy"}, "2024-02-29"},
		{"1/1/1900", []string{"mdy"}, ""},
		{"2026-07-04T23:30:00Z", []string{"iso"}, "2026-07-04"},
		{"2026-07-04 14:15", []string{"iso"}, "2026-07-04"},
		{"7/4/2026 2:15 PM", []string{"mdy"}, "2026-07-04"},
		{"soon", []string{"iso", "text", "mdy"}, ""},
		{strings.Repeat("9", 5000), []string{"serial", "ymd"}, ""},
	} {
		m := exchange.Mapping{Zone: "UTC", Dates: c.styles, Launch: id(11), Steward: id(21), Columns: map[exchange.Field]string{exchange.FieldDate: "d"}}
		p, err := exchange.Read(t.Context(), openCSV(t, "d\n\""+c.cell+"\"\n"), m, exchange.Options{})
		if err != nil {
			t.Fatal(err)
		}
		got := ""
		if p.Report.Taken == 1 {
			got = p.Entries[len(p.Entries)-1].MadeAt.Format(time.DateOnly)
		}
		if got != c.want {
			t.Errorf("%q as %v: %q, want %q; %+v", c.cell, c.styles, got, c.want, p.Report.Lines)
		}
	}
}

func TestIdentity(t *testing.T) {
	m := exchange.Mapping{Zone: "UTC", Dates: []string{"iso"}, Launch: id(11), Steward: id(21), Columns: map[exchange.Field]string{
		exchange.FieldDate: "d", exchange.FieldClass: "c", exchange.FieldLength: "l", exchange.FieldNote: "n",
	}}
	read := func(m exchange.Mapping, text string) exchange.Plan {
		p, err := exchange.Read(t.Context(), openCSV(t, text), m, exchange.Options{})
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
	one := read(m, "d,c,l,n\n2026-07-04,canoe,4.5,\n2026-07-04,canoe,4.6,\n")
	// The same rows from another file: other order of rows and columns, other case, other writing of a number.
	other := read(m, "n;L;C;D\n;4,60;CANOE;2026-07-04\n;4.50;canoe ;2026-07-04\n")
	a, b := ids(one), ids(other)
	slices.Sort(a)
	slices.Sort(b)
	if d := cmp.Diff(a, b); d != "" || len(a) != 3 {
		t.Errorf("%d entries\n%s", len(a), d)
	}
	twice := read(m, "d,c,l,n\n2026-07-04,canoe,4.5,\n2026-07-04,canoe,4.5,\n2026-07-04,canoe,4.5,green\n")
	if r := twice.Report; r.Taken != 1 || r.Duplicates != 1 || r.Refused != 1 || !strings.Contains(r.Lines[0].Accepted, "row 2") {
		t.Errorf("%+v", r)
	}
	m.Columns[exchange.FieldKey] = "k"
	keyed := read(m, "k,d,c,l,n\n1,2026-07-04,canoe,4.5,\n2,2026-07-04,canoe,4.5,\n1,2026-07-04,canoe,4.5,\n")
	if r := keyed.Report; r.Taken != 2 || r.Duplicates != 1 {
		t.Errorf("%+v", r)
	}
	for _, x := range keyed.Entries {
		if !thwart.IsID(x.ID) {
			t.Errorf("%s is no UUID version 7", x.ID)
		}
	}
}

func TestReadRefusesTheWhole(t *testing.T) {
	good := exchange.Mapping{Zone: "UTC", Launch: id(11), Steward: id(21), Columns: map[exchange.Field]string{exchange.FieldDate: "d"}}
	for _, c := range []struct {
		name   string
		change func(*exchange.Mapping)
		text   string
		says   string
	}{
		{"no such column", func(m *exchange.Mapping) { m.Columns[exchange.FieldClass] = "kind" }, "d\n", "columns.class"},
		{"registrations without a key", func(m *exchange.Mapping) { m.Columns[exchange.FieldRegistration] = "d" }, "d\n", "columns.registration"},
		{"no zone", func(m *exchange.Mapping) { m.Zone = "" }, "d\n", "zone"},
		{"nowhere", func(m *exchange.Mapping) { m.Zone = "Nowhere/Town" }, "d\n", "Nowhere/Town"},
		{"no launch", func(m *exchange.Mapping) { m.Launch = "" }, "d\n", "launch"},
		{"a word that is none of ours", func(m *exchange.Mapping) {
			m.Words = map[exchange.Field]map[string]string{exchange.FieldOutcome: {"ok": "fine"}}
		}, "d\n", "words.outcome"},
		{"an empty file", func(*exchange.Mapping) {}, "", "no row of headings"},
		{"headings further down than the file", func(m *exchange.Mapping) { m.HeaderRow = 9 }, "d\n1\n", "no row of headings"},
	} {
		t.Run(c.name, func(t *testing.T) {
			m := good
			m.Columns = map[exchange.Field]string{exchange.FieldDate: "d"}
			c.change(&m)
			p, err := exchange.Read(t.Context(), openCSV(t, c.text), m, exchange.Options{})
			if err == nil || !strings.Contains(err.Error(), c.says) || len(p.Entries) != 0 {
				t.Errorf("%v, %d entries; want an error that says %s", err, len(p.Entries), c.says)
			}
		})
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := exchange.Read(ctx, openCSV(t, "d\n2026-07-04\n"), good, exchange.Options{}); !errors.Is(err, context.Canceled) {
		t.Errorf("%v", err)
	}
}

func TestGuess(t *testing.T) {
	m := makeMessy(3000)
	table := openCSV(t, string(m.csv(t)))
	header, err := exchange.HeaderOf(table, 0)
	if err != nil {
		t.Fatal(err)
	}
	var sample []exchange.Row
	for {
		row, err := table.Next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		sample = append(sample, row)
	}
	g := exchange.Guess(header, sample)
	for f, want := range messyMapping.Columns {
		if g.Columns[f] != want {
			t.Errorf("%s: %q, want %q", f, g.Columns[f], want)
		}
	}
	if d := cmp.Diff([]string{"Owner Name", "Phone"}, g.Ignore); d != "" {
		t.Error(d)
	}
	if g.Units.Length != "ft" || !slices.Contains(g.Dates, "mdy") || slices.Contains(g.Dates, "dmy") {
		t.Errorf("%+v", g)
	}
	// In the first rows every date can be read both ways but for a few that cannot be month first: no order is proposed.
	if d := exchange.Guess(header, sample[:100]).Dates; slices.Contains(d, "mdy") || slices.Contains(d, "dmy") {
		t.Errorf("%v from a hundred rows of one week", d)
	}
	// A guess is a file like any other.
	if g.Zone != "" || g.Validate() == nil {
		t.Errorf("zone %q: a table does not say where its clock hung", g.Zone)
	}
	g.Zone = zone
	b, err := json.Marshal(g)
	if err != nil {
		t.Fatal(err)
	}
	if again, err := exchange.ReadMapping(bytes.NewReader(b)); err != nil || !cmp.Equal(again.Columns, g.Columns) {
		t.Errorf("%+v, %v", again, err)
	}
	if _, err := exchange.ReadMapping(strings.NewReader(`{"columns":{"date":"d"},"zone":"UTC","lunch":"x"}`)); err == nil {
		t.Error("a slip of the pen passed")
	}
	if _, err := exchange.ReadMapping(io.LimitReader(bytes.NewReader(b), 10)); err == nil {
		t.Error("half a file passed")
	}
}
