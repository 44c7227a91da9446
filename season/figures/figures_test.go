package figures_test

import (
	"context"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"thwart"
	"thwart/engine/num"
	"thwart/internal/demo"
	"thwart/internal/demo/demotest"
	"thwart/internal/refcheck"
	"thwart/internal/store"
	"thwart/season"
	"thwart/season/figures"
)

type fixture struct {
	world *demo.World
	store *store.Store
	book  *season.Book
}

var theSeason = sync.OnceValues(func() (*fixture, error) {
	dir, err := os.MkdirTemp("", "figures-test-*")
	if err != nil {
		return nil, err
	}
	s, err := store.Open(context.Background(), filepath.Join(dir, "season.db"), store.Options{})
	if err != nil {
		return nil, err
	}
	w, kept := demotest.Season(demo.Options{Seed: 11, Scale: 0.15})
	if err := demotest.Fill(context.Background(), s, kept); err != nil {
		return nil, err
	}
	book, err := season.Read(context.Background(), s, season.Options{Zone: time.LoadLocation})
	return &fixture{w, s, book}, err
})

func fix(t testing.TB) *fixture {
	t.Helper()
	f, err := theSeason()
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func whole(t testing.TB, q figures.Query) *figures.Season {
	t.Helper()
	s, err := figures.Of(fix(t).book, q, season.SummerHolidays())
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// The database sums the same records in its own way.
func TestFiguresAreThoseOfTheDatabase(t *testing.T) {
	f, s := fix(t), whole(t, figures.Query{})
	totals := func(by string) []thwart.Total {
		list, err := f.store.Totals(t.Context(), thwart.TotalsQuery{By: by})
		if err != nil {
			t.Fatal(err)
		}
		return list
	}
	same := func(what string, figs func(string) figures.Figure, want thwart.Total, hours bool) {
		t.Helper()
		if got := figs("met").Value; got != float64(want.Encounters) {
			t.Errorf("%s: met %v, the database %d", what, got, want.Encounters)
		}
		if got := figs("refused").X; got != want.Refused {
			t.Errorf("%s: refused %d, the database %d", what, got, want.Refused)
		}
		if !hours {
			return
		}
		if got := figs("steward_hours").Value; math.Abs(got-want.Hours) > 1e-6 {
			t.Errorf("%s: %v steward-hours, the database %v", what, got, want.Hours)
		}
		if got := figs("passed_by").Value; got != float64(want.PassedBy) {
			t.Errorf("%s: passed by %v, the database %d", what, got, want.PassedBy)
		}
	}
	same("season", s.Get, totals("")[0], true)
	for _, by := range []string{"launch", "month", "class", "outcome"} {
		list := totals(by)
		if got, want := len(s.Table(by).Rows), len(list); got != want {
			t.Errorf("%s: %d rows, the database %d", by, got, want)
		}
		for _, want := range list {
			tab := s.Table(by)
			row, ok := tab.Row(want.Key)
			if !ok {
				t.Errorf("%s: no row %q", by, want.Key)
				continue
			}
			same(by+" "+want.Key, row.Get, want, by != "class" && by != "outcome")
		}
	}
	sum := totals("")[0]
	for _, o := range thwart.Outcomes {
		row, _ := ptr(s.Table("outcome")).Row(string(o))
		if got := int(row.Get("met").Value); got != sum.ByOutcome[o] {
			t.Errorf("outcome %s: %d, the database %d", o, got, sum.ByOutcome[o])
		}
		if f := s.Get("outcome_" + string(o)); f.X != sum.ByOutcome[o] {
			t.Errorf("%d of %d craft left with %s, the database says %d", f.X, f.N, o, sum.ByOutcome[o])
		}
	}
}

func ptr[T any](v T) *T { return &v }

// What the season was made from is known, and the figures must find it.
func TestFiguresFindTheTruth(t *testing.T) {
	f, s := fix(t), whole(t, figures.Query{})
	truth := f.world.Truth
	if got := int(s.Get("passed_by").Value); got != truth.Met.PassedBy {
		t.Errorf("passed by %d, in truth %d", got, truth.Met.PassedBy)
	}
	if got := int(s.Get("turned_away").Value); got != truth.Met.TurnedAway {
		t.Errorf("turned away %d, in truth %d", got, truth.Met.TurnedAway)
	}
	var rushed figures.Doubt
	if alone, err := figures.Doubts(f.book, figures.Query{}, season.SummerHolidays()); err != nil || !reflect.DeepEqual(alone, s.Doubts) {
		t.Errorf("the doubts alone are others than those of the season: %v", err)
	}
	for _, d := range s.Doubts {
		if d.ID == "rushed" {
			rushed = d
		}
	}
	found := 0
	for _, id := range truth.Met.Rushed {
		if slices.Contains(rushed.Records, id) {
			found++
		}
	}
	if len(truth.Met.Rushed) == 0 || found < len(truth.Met.Rushed)*8/10 {
		t.Errorf("%d of %d rushed rounds were found", found, len(truth.Met.Rushed))
	}
	if wrong := len(rushed.Records) - found; wrong > found {
		t.Errorf("%d rounds are called rushed that were not", wrong)
	}
	plugs := s.Get("plugs_out")
	if p := 1 - truth.Habits.PlugIn; plugs.Interval == nil || !plugs.Interval.Contains(p) {
		t.Errorf("plugs out %v, in truth %v", plugs.Interval, p)
	}
}

// Every figure's address gives as many records as the figure counts.
func TestEveryFigureHasItsRecords(t *testing.T) {
	f, s := fix(t), whole(t, figures.Query{})
	check := func(fig figures.Figure, by, key string) {
		t.Helper()
		if fig.Records == "" {
			t.Errorf("%s %s %s: no way to its records", fig.ID, by, key)
			return
		}
		behind, err := figures.Records(f.book, figures.Query{}, season.Calendar{}, fig.ID, by, key, false)
		if err != nil {
			t.Fatal(err)
		}
		if got, known := madeOf(f.book, &fig, behind); known {
			if math.Abs(got-fig.Value) > 1e-6*fig.Value {
				t.Errorf("%s %s %s: its records make %v, the figure says %v", fig.ID, by, key, got, fig.Value)
			}
			return
		}
		hits := behind.IDs
		want := fig.X
		if fig.Unit == figures.UnitCount {
			want = int(fig.Value)
		}
		if len(hits) != want {
			t.Errorf("%s %s %s: %d records, the figure says %d", fig.ID, by, key, len(hits), want)
		}
		if fig.Unit == figures.UnitShare {
			base, err := figures.Records(f.book, figures.Query{}, season.Calendar{}, fig.ID, by, key, true)
			if err != nil || !base.Wider || len(base.IDs) != fig.N {
				t.Errorf("%s %s %s: a denominator of %d records, the figure says %d (%v)", fig.ID, by, key, len(base.IDs), fig.N, err)
			}
		}
	}
	for _, fig := range s.Figures {
		check(fig, "", "")
	}
	for _, by := range []string{"launch", "week", "last_water", "outcome"} {
		for _, row := range s.Table(by).Rows {
			for _, fig := range row.Figures {
				check(fig, by, row.Key)
			}
		}
	}
	if _, err := figures.Records(f.book, figures.Query{}, season.Calendar{}, "nothing", "", "", false); err == nil {
		t.Error("a figure that is none has records")
	}
}

// madeOf makes a figure again from the records behind it, where it is no count or share of them.
func madeOf(b *season.Book, fig *figures.Figure, behind figures.Behind) (value float64, ok bool) {
	shifts, washes := map[string]*season.Shift{}, map[string]*season.Wash{}
	for i := range b.Shifts {
		shifts[b.Shifts[i].Subject] = &b.Shifts[i]
	}
	for i := range b.Washes {
		washes[b.Washes[i].Subject] = &b.Washes[i]
	}
	var passed, refused, turned, personHours, water, fuel, met float64
	for _, id := range behind.IDs {
		if s := shifts[id]; s != nil && behind.Kind == thwart.KindShift {
			passed, refused, turned = passed+float64(s.PassedBy), refused+float64(s.Refused), turned+float64(s.TurnedAway)
			personHours += s.Hours() * float64(len(s.People))
		}
		if w := washes[id]; w != nil && behind.Kind == thwart.KindWash {
			water, fuel = water+float64(w.WaterL), fuel+float64(w.FuelL)
			for _, s := range w.Steps {
				if s.Outcome == "met" {
					met++
				}
			}
		}
	}
	n := float64(len(behind.IDs))
	switch fig.ID {
	case "passed_by":
		return passed, true
	case "refused_beside":
		return refused, true
	case "turned_away":
		return turned, true
	case "steward_hours":
		return personHours, true
	case "wash_water":
		return water, true
	case "wash_fuel":
		return fuel, true
	case "wash_steps_met":
		return met / max(1, float64(fig.N)), true // of the steps owed in washes without a met one too
	case "site_hours":
		if n == 0 && fig.Value > 0 {
			return 0, true
		}
		return fig.Value, true // shifts that overlap count once: the sum is the figure's own
	case "per_hour":
		return fig.Value * n / max(1, float64(fig.N)), true // N craft were met
	case "coverage":
		return fig.Value * n / max(1, float64(fig.X)), true
	case "seconds":
		return fig.Value * n / max(1, float64(fig.N)), true
	}
	return 0, false
}

// Parts of a whole that do not overlap add up to it.
func TestPartsAddUp(t *testing.T) {
	s := whole(t, figures.Query{})
	for _, by := range []string{"launch", "week", "month", "class", "last_water"} {
		var met, found float64
		for _, r := range s.Table(by).Rows {
			met += r.Get("met").Value
			found += float64(ptr(r).Get("found").X)
		}
		if met != s.Get("met").Value || found != float64(s.Get("found").X) {
			t.Errorf("%s: parts add up to %v met and %v found, the whole is %v and %d", by, met, found, s.Get("met").Value, s.Get("found").X)
		}
	}
	half := season.DayOf(2026, time.July, 15)
	a, b := whole(t, figures.Query{To: half}), whole(t, figures.Query{From: half + 1})
	if got := a.Get("met").Value + b.Get("met").Value; got != s.Get("met").Value {
		t.Errorf("two halves have %v, the whole %v", got, s.Get("met").Value)
	}
	flows := 0
	for _, f := range s.Flows {
		flows += f.Craft
	}
	if float64(flows) != s.Get("arriving").Value {
		t.Errorf("flows hold %d craft, %v arrived", flows, s.Get("arriving").Value)
	}
}

func TestShare(t *testing.T) {
	// One craft a group: the variance over groups is that of independent craft, n/(n-1) apart, so the limits are nearly Clopper and
	// Pearson's. 10 of 100: 0.0490047 to 0.1762226 (R 4.2.2, binom.test).
	var ones []num.Count
	for i := range 100 {
		x := 0
		if i < 10 {
			x = 1
		}
		ones = append(ones, num.Count{X: x, N: 1})
	}
	got, eff, ok := figures.Share(ones)
	if !ok {
		t.Fatal("no share")
	}
	const source = "R 4.2.2, binom.test(10, 100)"
	refcheck.Near(t, "lower", got.Lo, 0.0490047, 0.002, source)
	refcheck.Near(t, "upper", got.Hi, 0.1762226, 0.002, source)
	refcheck.Near(t, "effective", eff, 99, 1e-9, "n-1 groups of one: p(1-p)/(m/(m-1)·p(1-p)/m)")
	// All cases of a shift alike: ten shifts of ten carry the doubt of ten craft, less one.
	var alike []num.Count
	for i := range 10 {
		x := 0
		if i < 3 {
			x = 10
		}
		alike = append(alike, num.Count{X: x, N: 10})
	}
	_, eff, _ = figures.Share(alike)
	refcheck.Near(t, "effective of alike shifts", eff, 9, 1e-9, "the same with ten groups")
	if none, _, _ := figures.Share([]num.Count{{X: 0, N: 30}}); none.Lo != 0 || math.Abs(none.Hi-(1-math.Pow(0.025, 1.0/30))) > 1e-9 {
		t.Errorf("none of 30: %v, want an upper limit of 1-0.025^(1/30)", none)
	}
	if _, _, ok := figures.Share(nil); ok {
		t.Error("no craft have a share")
	}
}

func TestDifference(t *testing.T) {
	// Newcombe 1998, Stat. Med. 17:873-890, table II, row (a), method 10 on Wilson limits: 56/70 - 48/80 is 0.2000, 0.0524 to 0.3339.
	a := refcheck.Must[num.Interval](t)(num.Wilson(56, 70, 0.95))
	b := refcheck.Must[num.Interval](t)(num.Wilson(48, 80, 0.95))
	d := figures.Difference(a, b)
	const source = "Newcombe 1998, Stat. Med. 17:873-890, table II (from memory)"
	refcheck.Near(t, "lower", d.Lo, 0.0524, 5e-5, source)
	refcheck.Near(t, "upper", d.Hi, 0.3339, 5e-5, source)
}

func TestSeasonBefore(t *testing.T) {
	if s := whole(t, figures.Query{}); s.Compare != nil {
		t.Errorf("a season before is made up: %+v", s.Compare)
	}
	// The same records a year earlier and now: every figure is as before.
	var both []thwart.Kept
	for _, year := range []int{2025, 2026} {
		_, kept := demotest.Season(demo.Options{Seed: 3, Scale: 0.03, Year: year})
		both = append(both, kept...)
	}
	book := demotest.Read(both)
	s, err := figures.Of(book, figures.Query{From: season.DayOf(2026, time.May, 1), To: season.DayOf(2026, time.September, 30)}, season.SummerHolidays())
	if err != nil {
		t.Fatal(err)
	}
	if s.Compare == nil || s.Compare.From != season.DayOf(2025, time.May, 1) {
		t.Fatalf("compared with %+v", s.Compare)
	}
	f := s.Get("clean_drained_dry")
	if f.Before == nil || f.Before.Change == nil || math.Abs(f.Before.Change.Mid-(f.Value-f.Before.Value)) > 1e-12 {
		t.Errorf("clean, drained and dry before: %+v", f.Before)
	}
	latest, err1 := figures.Of(book, figures.Query{}, season.SummerHolidays())
	past, err2 := figures.Of(book, figures.Query{To: season.DayOf(2025, time.September, 30)}, season.SummerHolidays())
	if err1 != nil || err2 != nil {
		t.Fatal(err1, err2)
	}
	if latest.Get("met").Value != s.Get("met").Value || latest.From < season.DayOf(2026, time.May, 1) || latest.Compare == nil {
		t.Errorf("of two seasons the latest is %v to %v with %v craft, compared with %+v; want %v craft", latest.From, latest.To, latest.Get("met").Value,
			latest.Compare, s.Get("met").Value)
	}
	if past.From.Date().Year() != 2025 || past.Get("met").Value == 0 {
		t.Errorf("up to the end of 2025: %v to %v, %v craft", past.From, past.To, past.Get("met").Value)
	}
}

func TestQueriesThatCannotBe(t *testing.T) {
	for _, q := range []figures.Query{{Launch: "nowhere"}, {Partner: "nobody"}, {From: 20000, To: 19999}} {
		if _, err := figures.Of(fix(t).book, q, season.Calendar{}); err == nil || !strings.Contains(err.Error(), "accepted") {
			t.Errorf("%+v: %v", q, err)
		}
	}
}

func TestTheSameTwiceAsJSON(t *testing.T) {
	a, err := json.Marshal(whole(t, figures.Query{}))
	if err != nil {
		t.Fatal(err)
	}
	b, _ := json.Marshal(whole(t, figures.Query{}))
	if string(a) != string(b) {
		t.Error("two runs differ")
	}
	if strings.Contains(string(a), "NaN") || strings.Contains(string(a), "Inf") {
		t.Error("a number is none")
	}
}
