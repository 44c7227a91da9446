package drying

import (
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"thwart/unit"
)

// exact is how far sums of at most forty rounded products may differ when they are added in another order.
const exact = 1e-12

func drawSpell(t *rapid.T, wet bool) Spell {
	s := Spell{
		Hours: float64(rapid.IntRange(1, 400).Draw(t, "quarter hours")) / 4,
		TempC: unit.Celsius(rapid.Float64Range(-15, 42).Draw(t, "°C")),
		RHPct: rapid.Float64Range(0, 100).Draw(t, "%"),
	}
	if wet {
		s.Wet = rapid.IntRange(0, 5).Draw(t, "rain") == 0
	}
	return s
}

func drawSpells(t *rapid.T, wet bool) []Spell {
	spells := make([]Spell, rapid.IntRange(0, 20).Draw(t, "spells"))
	for i := range spells {
		spells[i] = drawSpell(t, wet)
	}
	return spells
}

func models(t *testing.T) map[string]Model {
	carpet := mussels("small adult")
	carpet.Surface = Surface{MinRHPct: 95}
	return map[string]Model{
		"large mussels": mussels("large adult"), "small mussels on carpet": carpet, "plants": doses(t)["watermilfoil coiled clump"],
		"snails": doses(t)["mudsnail"], "larvae": larvae, "eggs": restingEggs(2),
		"a trial in dry air": Tested{Hours: 20, MinTempC: 15, MaxRHPct: 60, Margin: 1.5},
	}
}

func TestLongerNeverLowers(t *testing.T) {
	for name, m := range models(t) {
		rapid.Check(t, func(t *rapid.T) {
			spells := drawSpells(t, true)
			before := fill(m, spells)
			after := fill(m, append(spells, drawSpell(t, false)))
			if after[0] < before[0] || after[1] < before[1] {
				t.Fatalf("%s: a further dry spell took the gauges from %v to %v", name, before, after)
			}
		})
	}
}

func TestHotterOrDrierNeverLowers(t *testing.T) {
	for name, m := range models(t) {
		rapid.Check(t, func(t *rapid.T) {
			a := drawSpell(t, false)
			b := a
			b.TempC = min(a.TempC+unit.Celsius(rapid.Float64Range(0, 10).Draw(t, "warmer")), Warmest)
			b.RHPct = max(a.RHPct-rapid.Float64Range(0, 50).Draw(t, "drier"), 0)
			x, y := m.perHour(a), m.perHour(b)
			if y[0] < x[0] || y[1] < x[1] {
				t.Fatalf("%s: %+v earns %v, the better %+v only %v", name, a, x, b, y)
			}
		})
	}
}

func TestSplittingASpellChangesNothing(t *testing.T) {
	for name, m := range models(t) {
		rapid.Check(t, func(t *rapid.T) {
			spells := append(drawSpells(t, true), drawSpell(t, true))
			i := rapid.IntRange(0, len(spells)-1).Draw(t, "spell to split")
			share := rapid.Float64Range(0, 1).Draw(t, "where")
			var split []Spell
			for j, s := range spells {
				if j == i {
					first, second := s, s
					first.Hours = share * s.Hours
					second.Hours = s.Hours - first.Hours
					split = append(split, first, second)
				} else {
					split = append(split, s)
				}
			}
			a, b := fill(m, spells), fill(m, split)
			for k := range a {
				if math.Abs(a[k]-b[k]) > exact*max(a[k], 1) {
					t.Fatalf("%s: %v in one piece, %v in two", name, a, b)
				}
			}
			x, y := FreezingHours(spells), FreezingHours(split)
			if math.Abs(x-y) > exact*max(x, 1) {
				t.Fatalf("freezing: %v hours in one piece, %v in two", x, y)
			}
		})
	}
}

// The air assumed for an unknown day is cooler and damper than every known day in its bounds; so it never clears first.
func TestUnknownWeatherIsNeverEarlier(t *testing.T) {
	start := time.Date(2026, 5, 1, 8, 0, 0, 0, time.UTC)
	horizon := start.AddDate(1, 0, 0)
	for name, m := range models(t) {
		rapid.Check(t, func(t *rapid.T) {
			beyond := drawSpell(t, false)
			known := drawSpells(t, false)
			for i := range known {
				known[i].TempC, known[i].RHPct = max(known[i].TempC, beyond.TempC), min(known[i].RHPct, beyond.RHPct)
			}
			a, err := EarliestClear(start, Weather{Start: start, Spells: known, Beyond: beyond}, horizon, m)
			if err != nil {
				t.Fatal(err)
			}
			b, err := EarliestClear(start, Weather{Beyond: beyond}, horizon, m)
			if err != nil {
				t.Fatal(err)
			}
			if b.Hours < a.Hours-2.0/3600 { // each is rounded up to a second
				t.Fatalf("%s: unknown weather clears after %v h, known after %v h", name, b.Hours, a.Hours)
			}
		})
	}
}

// The clearing time against the plain sum: at the instant given the gauges are full, a second before they are not, and at
// no whole hour before.
func TestEarliestClearAgainstTheSum(t *testing.T) {
	start := time.Date(2026, 5, 1, 8, 0, 0, 0, time.UTC)
	for name, m := range models(t) {
		rapid.Check(t, func(t *rapid.T) {
			w := Weather{
				Start:  start.Add(time.Duration(rapid.IntRange(-50, 50).Draw(t, "weather starts")) * time.Hour),
				Spells: drawSpells(t, true), Beyond: drawSpell(t, false),
			}
			horizon := start.AddDate(0, 3, 0)
			c, err := EarliestClear(start, w, horizon, m)
			if err != nil {
				t.Fatal(err)
			}
			full := func(at time.Time) bool { return fill(m, w.Between(start, at)).reach(m.needed()) }
			if c.State != ClearsAt {
				if full(horizon) {
					t.Fatalf("%s: full at the horizon, but %s", name, c.State)
				}
				c.At = horizon
			} else {
				if !full(c.At) && !full(c.At.Add(time.Second)) {
					t.Fatalf("%s: not full at %v, nor a second on", name, c.At)
				}
				if c.At.Sub(start) > 2*time.Second && full(c.At.Add(-2*time.Second)) {
					t.Fatalf("%s: full before %v", name, c.At)
				}
			}
			for at := start; at.Before(c.At.Add(-time.Second)); at = at.Add(7 * time.Hour) {
				if full(at) {
					t.Fatalf("%s: full already at %v, given %v", name, at, c.At)
				}
			}
		})
	}
}

func TestCurveAgreesWithAssess(t *testing.T) {
	m := mussels("small adult")
	start := time.Date(2026, 5, 1, 8, 0, 0, 0, time.UTC)
	rapid.Check(t, func(t *rapid.T) {
		spells := append(drawSpells(t, true), drawSpell(t, true))
		points, err := m.Curve(spells, 5)
		if err != nil {
			t.Fatal(err)
		}
		w := Weather{Start: start, Spells: spells}
		last := 0.0
		for _, p := range points {
			if p.Hours < last {
				t.Fatalf("the line runs back from %v to %v h", last, p.Hours)
			}
			last = p.Hours
			if p.Survival.Lo > p.Survival.Mid || p.Survival.Mid > p.Survival.Hi || p.Survival.Hi > 1 || p.Survival.Lo < 0 {
				t.Fatalf("survival %+v", p.Survival)
			}
			r, err := m.Assess(w.Between(start, start.Add(hoursAsDuration(p.Hours))))
			if err != nil {
				t.Fatal(err)
			}
			// Where rain begins or ends the sum and the line may look at either side of the step.
			if math.Abs(r.Survival.Mid-p.Survival.Mid) > 1e-9 && p.Survival.Mid != 1 && r.Survival.Mid != 1 {
				t.Fatalf("at %v h the line has %v, Assess %v", p.Hours, p.Survival.Mid, r.Survival.Mid)
			}
		}
	})
}

func TestEarliestNeverTooSoon(t *testing.T) {
	zones := []string{"UTC", "America/Denver", "America/Phoenix", "Australia/Lord_Howe", "America/Santiago", "Pacific/Auckland"}
	rapid.Check(t, func(rt *rapid.T) {
		home, away := zone(t, rapid.SampledFrom(zones).Draw(rt, "start zone")), zone(t, rapid.SampledFrom(zones).Draw(rt, "launch zone"))
		at := time.Unix(rapid.Int64Range(0, 4_000_000_000).Draw(rt, "start"), 0).In(home)
		days := rapid.IntRange(1, 400).Draw(rt, "days")
		rules := []Rule{{Profile: "p", Days: float64(days)}}
		r := earliest(t, rules, Start{At: at}, Site{Zone: away})
		waited := r.At.Sub(at) - time.Duration(days)*24*time.Hour
		if waited < 0 || waited > 2*time.Hour {
			rt.Fatalf("%v + %d days gives %v, %v more than 24 h a day", at, days, r.At, waited)
		}
		longer := earliest(t, []Rule{{Profile: "p", Days: float64(days + 1)}}, Start{At: at}, Site{Zone: away})
		if !longer.At.After(r.At) {
			rt.Fatalf("a day more gives %v after %v", longer.At, r.At)
		}
		dated := earliest(t, rules, Start{At: at, DateOnly: true}, Site{Zone: home})
		want := civilDate(at).AddDate(0, 0, days)
		if !civilDate(dated.At).Equal(want) || !dated.DateOnly {
			rt.Fatalf("date %v + %d days gives %v", civilDate(at), days, dated.At)
		}
		// By month: never sooner than the same days would be in the mildest or strictest row throughout.
		utah := earliest(t, published["utah simple"], Start{At: at}, Site{Zone: away})
		for _, m := range utah.Months {
			for _, row := range published["utah simple"] {
				if row.FreezingH == 0 && row.holdsIn(m) && row.Days > utah.Rule.Days {
					rt.Fatalf("wait of %v days touches %v, which asks %v", utah.Rule.Days, m, row.Days)
				}
			}
		}
	})
}
