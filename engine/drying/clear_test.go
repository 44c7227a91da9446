package drying

import (
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"thwart/unit"
)

var (
	mild    = Spell{Hours: 1, TempC: 20, RHPct: 50}
	unknown = Spell{TempC: 10, RHPct: 90} // a cool, damp day
)

func hourly(n int, s Spell) []Spell {
	spells := make([]Spell, n)
	for i := range spells {
		spells[i] = s
	}
	return spells
}

func clears(t testing.TB, start time.Time, w Weather, days float64, models ...Model) Clearing {
	t.Helper()
	c, err := EarliestClear(start, w, start.Add(hoursAsDuration(24*days)), models...)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// Resting eggs of a water flea: no hatching after 6 h dry at 17 °C (Branstrator et al. 2013), margin 2, gear dry to the
// touch at 10:00. It may go at 22:00 of the same day; while it is damp there is no time at all.
func TestEarliestClearOfATestedTime(t *testing.T) {
	start := clock(t, "2026-07-04T10:00", time.UTC)
	w := Weather{Start: start, Spells: hourly(48, mild), Beyond: unknown}
	c := clears(t, start, w, 5, restingEggs(2))
	if want := clock(t, "2026-07-04T22:00", time.UTC); c.State != ClearsAt || !c.At.Equal(want) {
		t.Errorf("%s at %v, want %v", c.State, c.At, want)
	}
	if _, err := EarliestClear(time.Time{}, w, start, restingEggs(2)); !errors.Is(err, ErrNotStarted) {
		t.Errorf("still damp: error %v, want ErrNotStarted", err)
	}
	damp := Weather{Start: start, Beyond: Spell{TempC: 20, RHPct: 50, Wet: true}}
	if c := clears(t, start, damp, 5, restingEggs(2)); c.State != BeyondHorizon || !c.At.IsZero() {
		t.Errorf("damp for good: %s at %v", c.State, c.At)
	}
}

func TestEarliestClearStartsAgainWhenWet(t *testing.T) {
	start := clock(t, "2026-07-04T10:00", time.UTC)
	spells := hourly(48, mild)
	spells[7].Wet, spells[8].Wet = true, true // 17:00 to 19:00
	c := clears(t, start, Weather{Start: start, Spells: spells, Beyond: unknown}, 5, restingEggs(2))
	if got := c.At.Format("02 15:04"); got != "05 07:00" {
		t.Errorf("clears %s, want 12 h after 19:00", got)
	}
	if c.Wettings != 2 || c.CountedFrom.Format("15:04") != "19:00" || c.AssumedH != 0 {
		t.Errorf("%d wettings, counted from %v, %v h assumed", c.Wettings, c.CountedFrom, c.AssumedH)
	}
	// Rain after the craft cleared does not matter any more; rain as the last minute ends does not either.
	for _, hour := range []int{12, 13} {
		spells = hourly(48, mild)
		spells[hour].Wet = true
		c = clears(t, start, Weather{Start: start, Spells: spells, Beyond: unknown}, 5, restingEggs(2))
		if c.Hours != 12 {
			t.Errorf("rain in hour %d: clears after %v h, want 12", hour, c.Hours)
		}
	}
	spells = hourly(48, mild)
	spells[11].Wet = true
	if c = clears(t, start, Weather{Start: start, Spells: spells, Beyond: unknown}, 5, restingEggs(2)); c.Hours != 24 {
		t.Errorf("rain in the twelfth hour: clears after %v h, want 24", c.Hours)
	}
}

// The whole second to which the moment is rounded up lies in the rain: the craft got wet first.
func TestEarliestClearRoundsIntoRain(t *testing.T) {
	start := clock(t, "2026-07-04T10:00", time.UTC)
	m := mussels("large adult")
	h, err := HoursToClear(m, []Spell{{Hours: 1000, TempC: 20, RHPct: 50}})
	if err != nil {
		t.Fatal(err)
	}
	if h*3600 == math.Trunc(h*3600) {
		t.Fatal("the moment is a whole second; the test shows nothing")
	}
	spells := []Spell{{Hours: h, TempC: 20, RHPct: 50}, {Hours: 1, TempC: 20, RHPct: 95, Wet: true}, {Hours: 1000, TempC: 20, RHPct: 50}}
	if c := clears(t, start, Weather{Start: start, Spells: spells}, 60, m); math.Abs(c.Hours-(2*h+1)) > 1.0/3600 {
		t.Errorf("clears after %v h, want %v", c.Hours, 2*h+1)
	}
}

func TestEarliestClearBeyondKnownWeather(t *testing.T) {
	start := clock(t, "2026-07-04T10:00", time.UTC)
	warm := Spell{TempC: 18, RHPct: 60}
	c := clears(t, start, Weather{Start: start.Add(-3 * time.Hour), Spells: hourly(9, mild), Beyond: warm}, 5, restingEggs(2))
	if c.Hours != 12 || c.AssumedH != 6 {
		t.Errorf("clears after %v h, %v of them assumed; want 12 and 6", c.Hours, c.AssumedH)
	}
	// The first two hours are before anything is known.
	c = clears(t, start, Weather{Start: start.Add(2 * time.Hour), Spells: hourly(48, mild), Beyond: unknown}, 5, restingEggs(2))
	if c.Hours != 14 || c.AssumedH != 2 {
		t.Errorf("clears after %v h, %v of them assumed; want 14 and 2", c.Hours, c.AssumedH)
	}
	// Nobody said what to assume: nothing dries, whichever model asks.
	for _, m := range []Model{restingEggs(1), mussels("settled juvenile"), doses(t)["mudsnail"]} {
		if c := clears(t, start, Weather{}, 4000, m); c.State != BeyondHorizon || !math.IsInf(c.Hours, 1) || c.AssumedH != 96000 {
			t.Errorf("%T cleared in weather nobody knows: %+v", m, c)
		}
	}
}

func TestEarliestClearOfSeveral(t *testing.T) {
	start := clock(t, "2026-07-04T10:00", time.UTC)
	w := Weather{Start: start, Spells: []Spell{{Hours: 2000, TempC: 20, RHPct: 50}}}
	plants := doses(t)["watermilfoil coiled clump"]
	c := clears(t, start, w, 60, restingEggs(2), mussels("large adult"), plants, larvae)
	alone := clears(t, start, w, 60, larvae)
	if c.Last != 3 || !c.At.Equal(alone.At) {
		t.Errorf("model %d is last at %v; want larvae (3) at %v", c.Last, c.At, alone.At)
	}
	never := clears(t, start, w, 60, restingEggs(2), doses(t)["hydrilla tuber"])
	if never.State != NeverByDrying || never.Last != 1 || !never.At.IsZero() {
		t.Errorf("tubers: %+v", never)
	}
	// Larvae in a tank keep their clock in the rain that starts the others again.
	wet := Weather{Start: start, Spells: []Spell{{Hours: 24, TempC: 20, RHPct: 50}, {Hours: 6, TempC: 20, RHPct: 95, Wet: true}, {Hours: 2000, TempC: 20, RHPct: 50}}}
	if c := clears(t, start, wet, 60, larvae); !c.At.Equal(alone.At) || c.Wettings != 0 {
		t.Errorf("larvae clear at %v after %d wettings, want %v", c.At, c.Wettings, alone.At)
	}
}

func TestEarliestClearAcrossClockChangesAndBorders(t *testing.T) {
	denver, chicago := zone(t, "America/Denver"), zone(t, "America/Chicago")
	for _, c := range []struct {
		name, start, want string
		hours             float64
	}{
		{"clocks go forward", "2026-03-07T20:00", "2026-03-08T09:00-06:00", 12},
		{"clocks go back", "2026-10-31T20:00", "2026-11-01T07:00-07:00", 12},
		{"over both", "2026-03-01T00:00", "2026-11-06T00:00-07:00", 6000},
	} {
		start := clock(t, c.start, denver)
		w := Weather{Start: start.UTC(), Beyond: Spell{TempC: 20, RHPct: 50}}
		model := Tested{Hours: c.hours, MinTempC: 15, MaxRHPct: 60, Margin: 1}
		got := clears(t, start, w, 400, model)
		if s := got.At.Format("2006-01-02T15:04-07:00"); s != c.want || got.Hours != c.hours {
			t.Errorf("%s: %s after %v h, want %s after %v h", c.name, s, got.Hours, c.want, c.hours)
		}
		if east := clears(t, start.In(chicago), w, 400, model); !east.At.Equal(got.At) {
			t.Errorf("%s: the other side of the border clears at another instant", c.name)
		}
	}
}

func TestEarliestClearRounding(t *testing.T) {
	start := time.Date(2026, 7, 4, 10, 0, 0, 300, time.UTC)
	third := hourly(100, Spell{Hours: 1.0 / 3, TempC: 20, RHPct: 50})
	c := clears(t, start, Weather{Start: start, Spells: third, Beyond: Spell{TempC: 20, RHPct: 50}}, 5, restingEggs(2))
	if want := time.Date(2026, 7, 4, 22, 0, 1, 0, time.UTC); !c.At.Equal(want) {
		t.Errorf("clears %v, want %v: a start within a second counts from the next", c.At, want)
	}
	if h, err := HoursToClear(restingEggs(2), third); err != nil || math.Abs(h-12) > 2*slackH {
		t.Errorf("36 thirds of an hour make %v h, error %v", h, err)
	}
}

// At a limit that rests on exp the last bit decides, and processors differ in it: exactly at the limit is not yet clear.
// Hours are counted, so exactly the hours asked are enough.
func TestExactlyAtTheLimit(t *testing.T) {
	day := Residual{} // exp(0) = 1 day
	got, err := day.Assess([]Spell{{Hours: 24, TempC: 20, RHPct: 50}})
	if err != nil {
		t.Fatal(err)
	}
	if got.Share != 1 || got.Cleared {
		t.Errorf("share %v, cleared %v; want 1 and not yet", got.Share, got.Cleared)
	}
	start := clock(t, "2026-07-04T10:00", time.UTC)
	if c := clears(t, start, Weather{Beyond: mild}, 5, day); c.At.Sub(start) != 24*time.Hour+time.Second {
		t.Errorf("clears after %v, want the next second after 24 h", c.At.Sub(start))
	}
	eggs, err := restingEggs(1).Assess(hourly(6, mild))
	if err != nil {
		t.Fatal(err)
	}
	if !eggs.Cleared {
		t.Error("six hours of six are not enough")
	}
}

func TestHoursToClear(t *testing.T) {
	if h, err := HoursToClear(restingEggs(1), hourly(5, mild)); err != nil || !math.IsInf(h, 1) {
		t.Errorf("a forecast shorter than the test gives %v, error %v", h, err)
	}
	if h, err := HoursToClear(doses(t)["curly-leaf pondweed turion"], hourly(5, mild)); err != nil || !math.IsInf(h, 1) {
		t.Errorf("turions clear after %v, error %v", h, err)
	}
	if _, err := HoursToClear(restingEggs(0.5), hourly(5, mild)); err == nil {
		t.Error("a margin below 1 was taken")
	}
	if _, err := HoursToClear(restingEggs(1), []Spell{{Hours: -1}}); err == nil {
		t.Error("a negative hour was taken")
	}
}

func TestEarliestClearRefusals(t *testing.T) {
	start := clock(t, "2026-07-04T10:00", time.UTC)
	good := Weather{Start: start, Spells: hourly(3, mild), Beyond: unknown}
	for name, f := range map[string]func() error{
		"horizon: ":    func() error { _, err := EarliestClear(start, good, start.Add(-1), restingEggs(1)); return err },
		"models: none": func() error { _, err := EarliestClear(start, good, start.Add(1)); return err },
		"margin":       func() error { _, err := EarliestClear(start, good, start.Add(1), restingEggs(0)); return err },
		"spell 0: relative humidity": func() error {
			_, err := EarliestClear(start, Weather{Spells: []Spell{{Hours: 1, RHPct: 140}}}, start.Add(1), restingEggs(1))
			return err
		},
		"unknown weather: ": func() error {
			_, err := EarliestClear(start, Weather{Beyond: Spell{TempC: unit.Celsius(math.NaN()), RHPct: 50}}, start.Add(1), restingEggs(1))
			return err
		},
	} {
		if err := f(); err == nil || !strings.Contains(err.Error(), name) {
			t.Errorf("error %v, want one with %q", err, name)
		}
	}
}

func TestSpellsSinceWet(t *testing.T) {
	rain := Spell{Hours: 1, TempC: 15, RHPct: 99, Wet: true}
	for _, c := range []struct {
		spells []Spell
		want   int
	}{
		{nil, 0}, {[]Spell{mild, mild}, 2}, {[]Spell{mild, rain}, 0}, {[]Spell{rain, mild, rain, mild, mild}, 2}, {[]Spell{rain}, 0},
	} {
		if got := SpellsSinceWet(c.spells); len(got) != c.want {
			t.Errorf("%+v: %d spells count, want %d", c.spells, len(got), c.want)
		}
	}
}

func TestFreezingHours(t *testing.T) {
	frost := func(h float64) Spell { return Spell{Hours: h, TempC: -2, RHPct: 80} }
	thaw := Spell{Hours: 1, TempC: 0, RHPct: 80}
	snow := Spell{Hours: 1, TempC: -1, RHPct: 99, Wet: true}
	for name, c := range map[string]struct {
		spells []Spell
		want   float64
	}{
		"none":                    {[]Spell{mild}, 0},
		"one run":                 {[]Spell{frost(30), frost(42)}, 72},
		"broken at 0 °C":          {[]Spell{frost(40), thaw, frost(50)}, 50},
		"the longer was first":    {[]Spell{frost(60), thaw, frost(50)}, 60},
		"wetted since":            {[]Spell{frost(80), snow, frost(10)}, 10},
		"reading that is no air":  {[]Spell{frost(10), {Hours: 100, TempC: -9999, RHPct: 80}, frost(5)}, 10},
		"reading that is missing": {[]Spell{frost(10), {Hours: 100, TempC: unit.Celsius(math.NaN()), RHPct: 80}}, 10},
	} {
		if got := FreezingHours(c.spells); got != c.want {
			t.Errorf("%s: %v hours, want %v", name, got, c.want)
		}
	}
}

func TestWeatherBetween(t *testing.T) {
	start := clock(t, "2026-07-04T10:00", time.UTC)
	w := Weather{Start: start, Spells: []Spell{{Hours: 2, TempC: 20, RHPct: 50}, {Hours: 3, TempC: 15, RHPct: 60}}, Beyond: unknown}
	for _, c := range []struct {
		from, to time.Duration
		want     []float64
	}{
		{0, 5 * time.Hour, []float64{2, 3}},
		{time.Hour, 4 * time.Hour, []float64{1, 2}},
		{-time.Hour, 6 * time.Hour, []float64{1, 2, 3, 1}},
		{-3 * time.Hour, -time.Hour, []float64{2}},
		{7 * time.Hour, 9 * time.Hour, []float64{2}},
		{time.Hour, time.Hour, nil},
		{time.Hour, 0, nil},
	} {
		got := w.Between(start.Add(c.from), start.Add(c.to))
		if len(got) != len(c.want) {
			t.Errorf("%v to %v: %+v, want lengths %v", c.from, c.to, got, c.want)
			continue
		}
		for i := range got {
			if got[i].Hours != c.want[i] {
				t.Errorf("%v to %v: %+v, want lengths %v", c.from, c.to, got, c.want)
			}
		}
	}
	if end := w.End(); !end.Equal(start.Add(5 * time.Hour)) {
		t.Errorf("ends %v", end)
	}
}

// A remainder of a millisecond is a rounding of the hours, not weather.
func TestWeatherBetweenDropsSlivers(t *testing.T) {
	start := clock(t, "2026-07-04T10:00", time.UTC)
	rain := Spell{Hours: 1, TempC: 15, RHPct: 99, Wet: true}
	w := Weather{Start: start, Spells: []Spell{mild, rain, mild}}
	if got := w.Between(start, start.Add(time.Hour+time.Millisecond)); len(got) != 1 {
		t.Errorf("a millisecond of rain came in: %+v", got)
	}
	if got := w.Between(start.Add(2*time.Hour-time.Millisecond), start.Add(3*time.Hour)); len(got) != 1 || got[0].Wet {
		t.Errorf("a millisecond of rain came in: %+v", got)
	}
}

func BenchmarkMusselsAssess90Days(b *testing.B) {
	m, spells := mussels("large adult"), hourly(90*24, Spell{Hours: 1, TempC: 6, RHPct: 90})
	b.ReportAllocs()
	for b.Loop() {
		if _, err := m.Assess(spells); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkEarliestClear90Days(b *testing.B) {
	start := clock(b, "2026-01-01T10:00", time.UTC)
	w := Weather{Start: start, Spells: hourly(90*24, Spell{Hours: 1, TempC: 6, RHPct: 90})}
	m, d := mussels("large adult"), doses(b)["watermilfoil coiled clump"]
	b.ReportAllocs()
	for b.Loop() {
		if _, err := EarliestClear(start, w, start.AddDate(0, 0, 90), m, d, larvae); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkCurve90Days(b *testing.B) {
	m, spells := mussels("large adult"), hourly(90*24, Spell{Hours: 1, TempC: 6, RHPct: 90})
	b.ReportAllocs()
	for b.Loop() {
		if _, err := m.Curve(spells, 6); err != nil {
			b.Fatal(err)
		}
	}
}
