package skill

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/mathext"

	"thwart/engine/num"
	"thwart/internal/refcheck"
)

// With one node the mixture is a Beta, whose limits are known.
func TestMixtureQuantiles(t *testing.T) {
	for _, s := range [][2]float64{{0.5, 0.5}, {1, 1}, {8, 2}, {300, 20}, {2, 700}} {
		p := &Pool{nodes: []node{{s[0], s[1], 1}}}
		for _, c := range []num.Count{{X: 0, N: 0}, {X: 9, N: 10}, {X: 40, N: 40}} {
			e, err := p.Person(c, 0.9)
			if err != nil {
				t.Fatal(err)
			}
			want, err := Update(s[0], s[1], c, 0.9)
			if err != nil {
				t.Fatal(err)
			}
			what := fmt.Sprintf("Beta(%v, %v) after %+v", s[0], s[1], c)
			refcheck.Near(t, what+" mean", e.Mean, want.Mean, 1e-12, "conjugate update")
			refcheck.Near(t, what+" sd", e.SD, want.SD, 1e-9, "conjugate update")
			refcheck.Near(t, what+" lower", e.Lo, want.Lo, 2e-4, "inverse incomplete beta")
			refcheck.Near(t, what+" upper", e.Hi, want.Hi, 2e-4, "inverse incomplete beta")
			below, err := p.Below(c, e.Lo)
			if err != nil {
				t.Fatal(err)
			}
			refcheck.Near(t, what+" below the lower limit", below, 0.05, 2e-3, "definition")
		}
	}
}

func TestFewTrialsSayLittle(t *testing.T) {
	counts := []num.Count{{X: 14, N: 20}, {X: 16, N: 20}, {X: 12, N: 20}, {X: 15, N: 20}, {X: 1, N: 1}, {X: 0, N: 1}, {X: 0, N: 0}}
	p, err := Fit(counts, Hyper{MeanA: 6.5, MeanB: 3.5, MinWeight: 2, MaxWeight: 2000})
	if err != nil {
		t.Fatal(err)
	}
	at := func(i int) Estimate {
		e, err := p.Person(counts[i], 0.95)
		if err != nil {
			t.Fatal(err)
		}
		return e
	}
	once, never, nothing, many := at(4), at(5), at(6), at(0)
	if once.Mean-never.Mean > 0.12 || !(once.Mean > nothing.Mean && nothing.Mean > never.Mean) {
		t.Errorf("one trial moved the estimate from %v to %v or %v", nothing.Mean, never.Mean, once.Mean)
	}
	if once.Hi-once.Lo < many.Hi-many.Lo {
		t.Errorf("one trial is narrower than twenty: %+v, %+v", once, many)
	}
	if Apart(once, never) {
		t.Error("one trial each tells two people apart")
	}
	a, b, err := p.Beta(counts[0])
	if err != nil {
		t.Fatal(err)
	}
	refcheck.Near(t, "mean of the matched Beta", a/(a+b), many.Mean, 1e-9, "moments")
	refcheck.Near(t, "sd of the matched Beta", math.Sqrt(a*b/((a+b)*(a+b)*(a+b+1))), many.SD, 1e-9, "moments")
}

// People who found everything: nothing bounds their likeness from below, and the answer must stay a number below 1.
func TestEverybodyPerfect(t *testing.T) {
	counts := []num.Count{{X: 5, N: 5}, {X: 8, N: 8}, {X: 3, N: 3}}
	p, err := Fit(counts, Vague)
	if err != nil {
		t.Fatal(err)
	}
	e, err := p.Person(counts[2], 0.95)
	if err != nil || !(e.Mean > 0.8 && e.Mean < 0.99 && e.Lo < 0.85 && e.Hi > 0.99 && e.Hi <= 1) {
		t.Errorf("%+v, %v", e, err)
	}
}

func TestOrderMeansNothing(t *testing.T) {
	a := []num.Count{{X: 3, N: 9}, {X: 8, N: 10}, {X: 30, N: 31}}
	b := []num.Count{a[2], a[0], a[1], {}}
	p, err := Fit(a, Vague)
	if err != nil {
		t.Fatal(err)
	}
	q, err := Fit(b, Vague)
	if err != nil {
		t.Fatal(err)
	}
	refcheck.Near(t, "mean", p.Mean.Mid, q.Mean.Mid, 1e-12, "exchangeable people")
	refcheck.Near(t, "weight", p.Weight.Mid, q.Weight.Mid, 1e-9, "exchangeable people")
	if !p.Mean.Contains(p.Mean.Mid) || !p.Weight.Contains(p.Weight.Mid) {
		t.Errorf("mean %+v weight %+v", p.Mean, p.Weight)
	}
}

// A far finer grid over all weights gives the same answers.
func TestGridIsFineEnough(t *testing.T) {
	for name, counts := range map[string][]num.Count{
		"few": {{X: 2, N: 3}, {X: 9, N: 12}, {X: 5, N: 5}}, "rats": rats(), "alike": {{X: 700, N: 1000}, {X: 705, N: 1000}, {X: 698, N: 1000}},
		"unlike": {{X: 1, N: 40}, {X: 39, N: 40}, {X: 20, N: 40}, {X: 3, N: 40}},
	} {
		lo, hi := math.Log(Vague.MinWeight), math.Log(Vague.MaxWeight)
		fine, err := Fit(counts, Vague)
		if err != nil {
			t.Fatal(err)
		}
		double := &Pool{nodes: rows(tallied(counts), Vague, lo, hi, 6*weightNodes, 3*meanNodes)}
		for _, c := range append(counts[:2:2], num.Count{}) {
			x, err := fine.Person(c, 0.95)
			if err != nil {
				t.Fatal(err)
			}
			y, err := double.Person(c, 0.95)
			if err != nil {
				t.Fatal(err)
			}
			refcheck.Near(t, name+" mean", x.Mean, y.Mean, 5e-4, "finer grid")
			refcheck.Near(t, name+" lower", x.Lo, y.Lo, 2e-3, "finer grid")
			refcheck.Near(t, name+" upper", x.Hi, y.Hi, 2e-3, "finer grid")
		}
	}
}

func TestLogLikIsABinomialMixture(t *testing.T) {
	// The integral of x^X (1-x)^(N-X) over Beta(2, 3), by Simpson's rule.
	const a, b, steps = 2.0, 3.0, 2000
	c := num.Count{X: 3, N: 7}
	var sum float64
	for i := 0; i <= steps; i++ {
		x := float64(i) / steps
		w := 2.0 + 2*float64(i%2)
		if i == 0 || i == steps {
			w = 1
		}
		sum += w * math.Pow(x, float64(c.X)+a-1) * math.Pow(1-x, float64(c.N-c.X)+b-1)
	}
	want := math.Log(sum/(3*steps)) - mathext.Lbeta(a, b)
	refcheck.Near(t, "log likelihood", LogLik([]num.Count{c, {}}, a, b), want, 1e-9, "Simpson's rule")
}

func TestRateOfLooks(t *testing.T) {
	// All looks equally long: then the finds are binomial and the rate is -ln(1-p)/t.
	looks := make([]Look, 40)
	for i := range looks {
		looks[i] = Look{Time: 20, Found: i < 28}
	}
	r, err := RateOfLooks(looks, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	refcheck.Near(t, "rate", r.PerTime.Mid, -math.Log(1-0.7)/20, 1e-9, "closed form for equal times")
	refcheck.Near(t, "in 20", r.FindsWithin(20).Mid, 0.7, 1e-9, "the share found")
	// Likelihood-ratio limits of 28 of 40: 2(l(p^) - l(p)) = 3.841459.
	for _, p := range []float64{r.FindsWithin(20).Lo, r.FindsWithin(20).Hi} {
		fall := 2 * (28*math.Log(0.7/p) + 12*math.Log(0.3/(1-p)))
		refcheck.Near(t, "fall of the likelihood", fall, 3.841458820694124, 1e-6, "chi-square with 1 degree of freedom, 0.95")
	}
	// Unequal times: the slope of the likelihood is 0 at the answer, seen by differences.
	mixed := []Look{{5, false}, {10, false}, {10, true}, {30, true}, {60, true}, {45, false}, {25, true}}
	if r, err = RateOfLooks(mixed, 0.9); err != nil {
		t.Fatal(err)
	}
	h := r.PerTime.Mid * 1e-4
	refcheck.Near(t, "slope", (logLikOf(mixed, r.PerTime.Mid+h)-logLikOf(mixed, r.PerTime.Mid-h))/(2*h), 0, 1e-3, "differences of the likelihood")
	for found, want := range map[bool][2]bool{true: {false, true}, false: {true, false}} {
		r, err := RateOfLooks([]Look{{10, found}, {20, found}}, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		if (r.PerTime.Lo == 0) != want[0] || math.IsInf(r.PerTime.Hi, 1) != want[1] {
			t.Errorf("found %v throughout: %+v", found, r.PerTime)
		}
	}
	if _, err := RateOfLooks([]Look{{0, true}}, 0.95); err == nil {
		t.Error("a look of no time is taken")
	}
	if _, err := RateOfLooks(nil, 0.95); err == nil {
		t.Error("no looks give a rate")
	}
}

func TestRefusals(t *testing.T) {
	if _, err := Fit([]num.Count{{X: 3, N: 2}}, Vague); err == nil {
		t.Error("3 of 2 is taken")
	}
	if _, err := Fit(nil, Hyper{MeanA: 1, MeanB: 1, MinWeight: 5, MaxWeight: 5}); err == nil {
		t.Error("an empty range of weights is taken")
	}
	p, err := Fit(nil, Vague)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := p.Person(num.Count{X: -1, N: 2}, 0.95); err == nil {
		t.Error("-1 of 2 is taken")
	}
	if e, err := p.Person(num.Count{}, 0.95); err != nil || math.Abs(e.Mean-0.5) > 0.01 || e.Lo > 0.05 || e.Hi < 0.95 {
		t.Errorf("knowing nothing: %+v, %v", e, err)
	}
}

func BenchmarkFit(b *testing.B) {
	counts := rats()
	for b.Loop() {
		p, err := Fit(counts, Vague)
		if err != nil {
			b.Fatal(err)
		}
		for _, c := range counts[:24] {
			if _, err := p.Person(c, 0.95); err != nil {
				b.Fatal(err)
			}
		}
	}
}
