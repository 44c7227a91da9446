package lethal_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"thwart/engine/lethal"
	"thwart/unit"
)

const comeau = "Comeau et al. 2011, Biofouling 27:267-274"

// quaggaSpray holds the four exposures of adult quagga mussels to hot spray in air that left none alive.
var quaggaSpray = []lethal.Pair{
	{TempC: 40, ContactS: 40, Source: comeau},
	{TempC: 50, ContactS: 20, Source: comeau},
	{TempC: 54, ContactS: 10, Source: comeau},
	{TempC: 60, ContactS: 5, Source: comeau},
}

func TestTestedAtOrBelow(t *testing.T) {
	for _, c := range []struct {
		temp unit.Celsius
		want float64 // seconds; 0: nothing tested covers it
	}{
		{39.9, 0}, {40, 40}, {48, 40}, {49, 40}, {49.999, 40}, {50, 20}, {53.9, 20}, {54, 10}, {59.9, 10}, {60, 5}, {95, 5},
	} {
		got, ok := lethal.TestedAtOrBelow(quaggaSpray, c.temp)
		if ok != (c.want > 0) || got.ContactS != c.want {
			t.Errorf("%v °C: %v s (%v), want %v s (%s)", c.temp, got.ContactS, ok, c.want, comeau)
		}
		if ok && got.Source != comeau {
			t.Errorf("%v °C: source %q", c.temp, got.Source)
		}
	}
}

// A burner fails and the gauge, good to 1 °C, reads 49: what is proven is 48 °C, and the exposure tested there is
// 40 s. A finer thermometer that reads 50.1 ± 0.1 proves 50 °C and 20 s.
func TestTestedAtOrBelowWithAGauge(t *testing.T) {
	for _, c := range []struct {
		reading     unit.Celsius
		uncertainty float64
		want        float64
	}{{49, 1, 40}, {50.1, 0.1, 20}, {50, 0.1, 40}, {40.5, 1, 0}} {
		got, ok := lethal.TestedAtOrBelow(quaggaSpray, lethal.Effective(c.reading, c.uncertainty))
		if ok != (c.want > 0) || got.ContactS != c.want {
			t.Errorf("%v ± %v °C: %v s (%v), want %v s (%s)", c.reading, c.uncertainty, got.ContactS, ok, c.want, comeau)
		}
	}
	if got, ok := lethal.TestedAtOrBelow(quaggaSpray, lethal.Effective(60, math.NaN())); ok {
		t.Errorf("gauge of unknown uncertainty: %v s, want not known", got.ContactS)
	}
}

// The least-squares line of log10(time) on temperature through the four exposures asks for 17.4 s at 49 °C, less than
// the 20 s tested at 50 °C. The staircase must nowhere ask for less than the nearest test at or below.
func TestFittedLineTrap(t *testing.T) {
	var n, sx, sy, sxx, sxy float64
	for _, p := range quaggaSpray {
		x, y := float64(p.TempC), math.Log10(p.ContactS)
		n, sx, sy, sxx, sxy = n+1, sx+x, sy+y, sxx+x*x, sxy+x*y
	}
	slope := (n*sxy - sx*sy) / (n*sxx - sx*sx)
	line := func(c float64) float64 { return math.Pow(10, (sy-slope*sx)/n+slope*c) }
	if got := line(49); math.Abs(got-17.4) > 0.05 {
		t.Fatalf("the line gives %.2f s at 49 °C, want 17.4 s (least squares on the four pairs of %s)", got, comeau)
	}
	if got, _ := lethal.TestedAtOrBelow(quaggaSpray, 49); got.ContactS != 40 {
		t.Errorf("the staircase gives %v s at 49 °C, want 40 s", got.ContactS)
	}
	below := 0
	for c := 40.0; c <= 80; c += 0.01 {
		got, ok := lethal.TestedAtOrBelow(quaggaSpray, unit.Celsius(c))
		if !ok {
			t.Fatalf("%v °C: not known", c)
		}
		if !slices.Contains(quaggaSpray, got) {
			t.Fatalf("%v °C: %v s was never tested", c, got.ContactS)
		}
		if line(c) < got.ContactS {
			below++
		}
	}
	if below == 0 {
		t.Error("the line is nowhere below the staircase: the trap is gone and this test shows nothing")
	}
}

// Lists that do not run shorter with heat, or are spoilt, must be read to the safe side.
func TestTestedAtOrBelowOddLists(t *testing.T) {
	const src = "constructed for the test"
	for _, c := range []struct {
		name  string
		pairs []lethal.Pair
		temp  unit.Celsius
		want  float64
	}{
		{"hotter test needed longer", []lethal.Pair{{40, 40, src}, {50, 20, src}, {54, 30, src}}, 52, 40},
		{"hotter test itself", []lethal.Pair{{40, 40, src}, {50, 20, src}, {54, 30, src}}, 54, 30},
		{"no colder test is long enough", []lethal.Pair{{50, 20, src}, {54, 30, src}}, 52, 0},
		{"two tests at one temperature", []lethal.Pair{{60, 5, src}, {60, 10, src}}, 60, 10},
		{"order does not matter", []lethal.Pair{{60, 5, src}, {40, 40, src}, {50, 20, src}}, 51, 20},
		{"zero seconds", []lethal.Pair{{40, 0, src}}, 45, 0},
		{"no source", []lethal.Pair{{40, 40, ""}}, 45, 0},
		{"not a number", []lethal.Pair{{40, math.NaN(), src}, {unit.Celsius(math.NaN()), 10, src}}, 45, 0},
		{"empty", nil, 45, 0},
		{"temperature not a number", quaggaSpray, unit.Celsius(math.NaN()), 0},
		{"infinite temperature", quaggaSpray, unit.Celsius(math.Inf(1)), 0},
	} {
		got, ok := lethal.TestedAtOrBelow(c.pairs, c.temp)
		if ok != (c.want > 0) || got.ContactS != c.want {
			t.Errorf("%s: %v s (%v), want %v s", c.name, got.ContactS, ok, c.want)
		}
	}
	err := lethal.Pair{TempC: 40, Source: src}.Validate()
	if err == nil || !strings.Contains(err.Error(), "ContactS = 0; accepted: seconds above 0") {
		t.Errorf("zero seconds: %v", err)
	}
}

func TestStaircaseProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pairs := make([]lethal.Pair, rapid.IntRange(0, 8).Draw(t, "n"))
		for i := range pairs {
			pairs[i] = lethal.Pair{
				TempC:    unit.Celsius(rapid.IntRange(30, 70).Draw(t, "temp")),
				ContactS: float64(rapid.IntRange(1, 100).Draw(t, "s")),
				Source:   "drawn",
			}
		}
		cold := unit.Celsius(rapid.Float64Range(25, 75).Draw(t, "cold"))
		got, ok := lethal.TestedAtOrBelow(pairs, cold)
		if !ok {
			return
		}
		if !slices.Contains(pairs, got) || got.TempC > cold+1e-9 {
			t.Fatalf("%v is not a pair at or below %v °C", got, cold)
		}
		for _, p := range pairs {
			nearest := p.TempC <= cold && !slices.ContainsFunc(pairs, func(q lethal.Pair) bool { return q.TempC <= cold && q.TempC > p.TempC })
			if nearest && got.ContactS < p.ContactS {
				t.Fatalf("%v s is shorter than the nearest test, %v s at %v °C", got.ContactS, p.ContactS, p.TempC)
			}
		}
		hot := cold + unit.Celsius(rapid.Float64Range(0, 30).Draw(t, "hotter by"))
		if after, ok := lethal.TestedAtOrBelow(pairs, hot); !ok || after.ContactS > got.ContactS {
			t.Fatalf("%v °C asks for %v s (%v), more than %v s at %v °C", hot, after.ContactS, ok, got.ContactS, cold)
		}
		shuffled := rapid.Permutation(pairs).Draw(t, "shuffled")
		if again, ok := lethal.TestedAtOrBelow(shuffled, cold); !ok || again != got {
			t.Fatalf("in another order: %v, want %v", again, got)
		}
	})
}

func TestAllDeadLimit(t *testing.T) {
	for _, r := range table(t, "all_dead_limit.csv") {
		got, known := lethal.AllDeadLimit(int(num(t, r["n"])), 0.95)
		if want := num(t, r["limit_95pct"]); !known || math.Abs(got-want) > 0.5e-4 { // printed to four decimals
			t.Errorf("n = %s: %.5f (%v), want %.4f (%s)", r["n"], got, known, want, r["source"])
		}
	}
	for _, c := range []struct {
		n     int
		level float64
	}{{0, 0.95}, {-3, 0.95}, {50, 0}, {50, 1}, {50, math.NaN()}} {
		if got, known := lethal.AllDeadLimit(c.n, c.level); known || got != 1 {
			t.Errorf("n = %d, level %v: %v (%v), want 1, not known", c.n, c.level, got, known)
		}
	}
}

func TestSurvivorLimitIsNeverZero(t *testing.T) {
	if got, known := lethal.SurvivorLimit(0.99, 1, 50, 0.95); known || got != 1 {
		t.Errorf("dose short of one: %v (%v), want 1, not known: no part credit", got, known)
	}
	if got, known := lethal.SurvivorLimit(3, 1, 0, 0.95); known || got != 1 {
		t.Errorf("sample size not known: %v (%v), want 1, not known", got, known)
	}
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 1_000_000_000).Draw(t, "n")
		dose := rapid.Float64Range(1, 1e9).Draw(t, "dose")
		got, known := lethal.SurvivorLimit(dose, 1, n, 0.95)
		if !known || got <= 0 || got >= 1 {
			t.Fatalf("n = %d: %v (%v), want a fraction between 0 and 1", n, got, known)
		}
	})
}
