package flows_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"thwart/engine/flows"
	"thwart/engine/num"
	"thwart/engine/risk"
	"thwart/internal/refcheck"
)

func TestCarryAfterAPerfectLookIsBetaBinomial(t *testing.T) {
	// A look that finds everything and finds nothing else leaves the textbook posterior Beta(a+k, b+n−k).
	sure := risk.Beta{A: 1e5, B: 1e-2}
	for _, c := range []struct {
		prior risk.Beta
		k, n  int
	}{{risk.Beta{A: 1.6, B: 8.4}, 12, 100}, {risk.Beta{A: 1, B: 1}, 3, 20}, {risk.Beta{A: 0.62, B: 9.38}, 30, 2000}} {
		got, err := flows.CarryAfter(c.prior, sure, flows.Evidence{Found: c.k, Looked: c.n, LookedElse: 1_000_000})
		if err != nil {
			t.Fatal(err)
		}
		want := c.prior.Update(float64(c.k), float64(c.n-c.k))
		refcheck.Near(t, "mean", got.Mean(), want.Mean(), 0.004*want.Mean(), "conjugate posterior of a binomial")
		refcheck.Near(t, "weight", got.A+got.B, want.A+want.B, 0.05*(want.A+want.B), "conjugate posterior of a binomial")
	}
}

func TestCarryAfterFindsTheTruth(t *testing.T) {
	r := num.Stream(3, "looks")
	in := 0
	const reps, carry, find, anyway = 120, 0.15, 0.85, 0.045
	for range reps {
		e := flows.Evidence{Looked: 600, LookedElse: 2000}
		for range e.Looked {
			if r.Float64() < anyway || r.Float64() < carry*find {
				e.Found++
			}
		}
		for range e.LookedElse {
			if r.Float64() < anyway {
				e.FoundElse++
			}
		}
		b, err := flows.CarryAfter(risk.Beta{A: 1.6, B: 8.4}, risk.Beta{A: 17, B: 3}, e)
		if err != nil {
			t.Fatal(err)
		}
		lo, _ := num.BetaQuantile(0.025, b.A, b.B)
		hi, _ := num.BetaQuantile(0.975, b.A, b.B)
		if lo < carry && carry < hi {
			in++
		}
	}
	// The chance of finding is the same in all runs and known only as Beta(17, 3), so at least 95 % is expected.
	if in < 110 {
		t.Errorf("the true rate lies in %d of %d intervals", in, reps)
	}
	if _, err := flows.CarryAfter(risk.Beta{A: 1, B: 1}, risk.Beta{A: 1, B: 1}, flows.Evidence{Found: 3, Looked: 2}); err == nil {
		t.Error("three finds on two craft")
	}
}

// steady gives the same passages in every draw.
type steady [][]float64

func (s steady) Row(_, i int, _ *rand.Rand, row []float64) { copy(row, s[i]) }

func TestComputeByHand(t *testing.T) {
	exactly := func(p float64) risk.Beta { return risk.Beta{A: p * 1e8, B: (1 - p) * 1e8} }
	in := flows.Input{
		Passages: steady{{900, 100, 40}, {10, 900, 5}, {0, 0, 0}},
		Organisms: []flows.Organism{{
			Name: "weed", Infested: []float64{1, 0, 0.5}, Carry: exactly(0.1), AliveLo: 0.5, AliveHi: 0.5, Find: exactly(0.8),
		}},
		Met: []float64{0.3, 0.25, 0}, Draws: 50, Seed: 1, Top: 10,
	}
	got, err := flows.Compute(in)
	if err != nil {
		t.Fatal(err)
	}
	const hand = "by hand: 100 × 0.1 × 0.5 = 5 and 40 × 0.1 × 0.5 = 2 arrive; 5 × (1 − 0.25 × 0.8) + 2 = 6 get through"
	r := got[0]
	refcheck.Near(t, "arriving", r.Total.Arriving.Mid, 7, 1e-2, hand)
	refcheck.Near(t, "through", r.Total.Through.Mid, 6, 1e-2, hand)
	refcheck.Near(t, "into 1", r.Into[1].Through.Mid, 4, 1e-2, hand)
	refcheck.Near(t, "from 0", r.From[0].Arriving.Mid, 7, 1e-2, hand)
	if len(r.Pairs) != 2 || r.Pairs[0].To != 1 || math.Abs(r.Pairs[0].Passages-100) > 1e-9 {
		t.Errorf("pairs %+v", r.Pairs)
	}
	in.Organisms[0].Infested = []float64{1, 0}
	if _, err := flows.Compute(in); err == nil {
		t.Error("two chances for three waters")
	}
}

// Two pairs that share a source share its doubt: the interval of the sum is as wide as theirs together, and no narrower.
func TestSharedDoubtAddsUp(t *testing.T) {
	in := flows.Input{
		Passages:  steady{{0, 100, 100}, {0, 0, 0}, {0, 0, 0}},
		Organisms: []flows.Organism{{Name: "weed", Infested: []float64{1, 0, 0}, Carry: risk.Beta{A: 2, B: 20}, AliveLo: 1, AliveHi: 1, Find: risk.Beta{A: 1, B: 1}}},
		Met:       make([]float64, 3), Draws: 2000, Seed: 1, Top: 2,
	}
	got, err := flows.Compute(in)
	if err != nil {
		t.Fatal(err)
	}
	one, all := got[0].Into[1].Arriving, got[0].Total.Arriving
	if math.Abs((all.Hi-all.Lo)/(one.Hi-one.Lo)-2) > 1e-9 {
		t.Errorf("one %+v, both %+v", one, all)
	}
	lo, _ := num.BetaQuantile(0.025, 2, 20)
	hi, _ := num.BetaQuantile(0.975, 2, 20)
	refcheck.Near(t, "lower end", one.Lo, 100*lo, 0.3, "quantile of Beta(2, 20)")
	refcheck.Near(t, "upper end", one.Hi, 100*hi, 1.5, "quantile of Beta(2, 20)")
}
