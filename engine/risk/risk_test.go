package risk_test

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"thwart/engine/num"
	"thwart/engine/risk"
)

// surely is a Beta so narrow that it stands for a known chance: its standard deviation is below 5e-5.
func surely(p float64) risk.Beta { return risk.Beta{A: p * 1e8, B: (1 - p) * 1e8} }

const known = 2e-4 // what the width of surely can move a chance by

func site(share float64) risk.Site {
	return risk.Site{Share: share, Done: 1, AliveLo: 1, AliveHi: 1, Left: -1}
}

func posterior(t *testing.T, hz []risk.Hazard, looks []risk.Beta) risk.Result {
	t.Helper()
	r, err := risk.Posterior(hz, looks, 400, 7)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// One site, everything known: Bayes' rule worked by hand.
func TestOneSiteByHand(t *testing.T) {
	for _, c := range []struct{ pi, found, alive, want float64 }{
		{0.05, 0.8, 1, 0.05 * 0.2 / (1 - 0.05*0.8)}, // 1.04 %
		{0.05, 1e-7, 1, 0.05},                       // nobody could see: nothing learnt
		{0.5, 0.9, 0.1, 0.5 * 0.1 / (1 - 0.5*0.9) * 0.1},
		{0.3, 1 - 1e-7, 1, 0},
	} {
		s := site(1)
		s.AliveLo, s.AliveHi = c.alive, c.alive
		r := posterior(t, []risk.Hazard{{Name: "a", Carry: surely(c.pi), Sites: []risk.Site{s}}}, []risk.Beta{surely(c.found)})
		if math.Abs(r.Any.Mid-c.want) > known {
			t.Errorf("%+v: %g, want %g", c, r.Any.Mid, c.want)
		}
	}
}

// Shares that sum to 1 give the craft's own chance back when nobody looked.
func TestSharesGiveTheChanceBack(t *testing.T) {
	var sites []risk.Site
	for range 8 {
		s := site(0.125)
		s.Done = 0
		sites = append(sites, s)
	}
	r := posterior(t, []risk.Hazard{{Name: "a", Carry: surely(0.23), Sites: sites}}, []risk.Beta{surely(0.9)})
	if math.Abs(r.Any.Mid-0.23) > known {
		t.Errorf("got %g, want 0.23", r.Any.Mid)
	}
}

// A second method: act the whole story out (carried? found? alive?) many times and keep the boats on which nothing was found.
func TestAgainstActingItOut(t *testing.T) {
	carry, looks := risk.Beta{A: 3, B: 20}, []risk.Beta{{A: 8, B: 2}, {A: 2, B: 3}}
	sites := []risk.Site{
		{Share: 0.5, Class: 0, Done: 1, AliveLo: 0.2, AliveHi: 0.6, Left: -1},
		{Share: 0.3, Class: 1, Done: 0.5, AliveLo: 1, AliveHi: 1, Left: -1},
		{Share: 0.2, Class: 1, Done: 0, AliveLo: 0.5, AliveHi: 0.5, Left: -1},
	}
	got, err := risk.Posterior([]risk.Hazard{{Name: "a", Carry: carry, Sites: sites}}, looks, 20000, 1)
	if err != nil {
		t.Fatal(err)
	}
	// Posterior weighs each draw of (π, d) alike: the middle of the belief before the look. Acting out per draw does the same.
	r := num.Stream(99, "act")
	const outer, inner = 3000, 400
	means := make([]float64, 0, outer)
	for range outer {
		pi := num.Beta(r, carry.A, carry.B)
		d := []float64{num.Beta(r, looks[0].A, looks[0].B), num.Beta(r, looks[1].A, looks[1].B)}
		u := r.Float64()
		unfound, alive := 0, 0
		for range inner {
			found, aboard := false, false
			for _, s := range sites {
				if r.Float64() >= 1-math.Pow(1-pi, s.Share) {
					continue
				}
				if r.Float64() < d[s.Class]*s.Done {
					found = true
				}
				if r.Float64() < s.AliveLo+(s.AliveHi-s.AliveLo)*u {
					aboard = true
				}
			}
			if !found {
				unfound++
				if aboard {
					alive++
				}
			}
		}
		if unfound > 0 {
			means = append(means, float64(alive)/float64(unfound))
		}
	}
	slices.Sort(means)
	// Both medians are noisy: the acted one by sqrt(p(1-p)/400) within and 3000 draws between.
	if mid := num.Quantile(means, 0.5); math.Abs(mid-got.Any.Mid) > 0.006 {
		t.Errorf("acted out %.4f, computed %.4f", mid, got.Any.Mid)
	}
}

func TestWhatWasFoundCountsByWhatIsLeft(t *testing.T) {
	s := site(1)
	s.Left = 0.35 // hand removal of small animals leaves 35 %
	r := posterior(t, []risk.Hazard{{Name: "a", Carry: surely(0.01), Sites: []risk.Site{s}}}, []risk.Beta{surely(0.8)})
	if math.Abs(r.Any.Mid-0.35) > 1e-12 {
		t.Errorf("got %g, want 0.35", r.Any.Mid)
	}
}

func genCase(t *rapid.T) ([]risk.Hazard, []risk.Beta) {
	share := rapid.Float64Range(0, 1)
	var hz []risk.Hazard
	for h := range rapid.IntRange(1, 4).Draw(t, "hazards") {
		z := risk.Hazard{Name: fmt.Sprint(h), Carry: risk.Beta{A: rapid.Float64Range(0.5, 9).Draw(t, "a"), B: rapid.Float64Range(1, 90).Draw(t, "b")}}
		for range rapid.IntRange(1, 6).Draw(t, "sites") {
			lo := share.Draw(t, "lo")
			z.Sites = append(z.Sites, risk.Site{
				Share: share.Draw(t, "share") / 6, Class: rapid.IntRange(0, 1).Draw(t, "class"), Done: share.Draw(t, "done"),
				AliveLo: lo, AliveHi: lo + (1-lo)*share.Draw(t, "hi"), Left: -1,
			})
		}
		hz = append(hz, z)
	}
	return hz, []risk.Beta{{A: 8, B: 2}, {A: 3, B: 3}}
}

func TestLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		hz, looks := genCase(t)
		run := func(hz []risk.Hazard) risk.Result {
			r, err := risk.Posterior(hz, looks, 100, 3)
			if err != nil {
				t.Fatal(err)
			}
			return r
		}
		base := run(hz)
		if !(0 <= base.Any.Lo && base.Any.Lo <= base.Any.Mid && base.Any.Mid <= base.Any.Hi && base.Any.Hi <= 1) {
			t.Fatalf("not an interval of a chance: %+v", base.Any)
		}
		// The order of a list means nothing, to the last bit.
		turned := slices.Clone(hz)
		for i := range turned {
			turned[i].Sites = slices.Clone(turned[i].Sites)
			slices.Reverse(turned[i].Sites)
		}
		if got := run(turned); got.Any != base.Any {
			t.Fatalf("reversed sites: %+v, want %+v", got.Any, base.Any)
		}
		// Looking less, and living longer, never lower the risk.
		h := rapid.IntRange(0, len(hz)-1).Draw(t, "which")
		i := rapid.IntRange(0, len(hz[h].Sites)-1).Draw(t, "where")
		worse := slices.Clone(hz)
		worse[h].Sites = slices.Clone(worse[h].Sites)
		worse[h].Sites[i].Done = 0
		worse[h].Sites[i].AliveHi = 1
		if got := run(worse); got.Any.Mid < base.Any.Mid-1e-12 || got.Any.Hi < base.Any.Hi-1e-12 {
			t.Fatalf("a worse look lowered the risk: %+v from %+v", got.Any, base.Any)
		}
		// Bits are not lost between the parts and the whole.
		for h := range base.ByHazard {
			if base.ByHazard[h].Hi > base.Any.Hi+1e-12 {
				t.Fatalf("hazard %d is above the whole", h)
			}
		}
	})
}

func TestRefusesNonsense(t *testing.T) {
	good := []risk.Hazard{{Carry: risk.Beta{A: 1, B: 9}, Sites: []risk.Site{site(1)}}}
	looks := []risk.Beta{{A: 8, B: 2}}
	for name, call := range map[string]func() error{
		"draws":      func() error { _, err := risk.Posterior(good, looks, 3, 1); return err },
		"empty beta": func() error { _, err := risk.Posterior(good, []risk.Beta{{}}, 100, 1); return err },
		"no class":   func() error { _, err := risk.Posterior(good, nil, 100, 1); return err },
		"share above": func() error {
			_, err := risk.Posterior([]risk.Hazard{{Carry: surely(.1), Sites: []risk.Site{site(1.5)}}}, looks, 100, 1)
			return err
		},
		"not a number": func() error {
			s := site(1)
			s.Done = math.NaN()
			_, err := risk.Posterior([]risk.Hazard{{Carry: surely(.1), Sites: []risk.Site{s}}}, looks, 100, 1)
			return err
		},
	} {
		if call() == nil {
			t.Errorf("%s: no error", name)
		}
	}
}

func ExamplePosterior() {
	// Chance 5 % that a craft from this water carries the animal; a full look finds 8 in 10; nothing was found.
	hazards := []risk.Hazard{{
		Name: "zebra mussel", Carry: risk.Beta{A: 5, B: 95},
		Sites: []risk.Site{{Share: 1, Done: 1, AliveLo: 1, AliveHi: 1, Left: -1}},
	}}
	r, _ := risk.Posterior(hazards, []risk.Beta{{A: 16, B: 4}}, 2000, 1)
	fmt.Printf("%.1f %% (%.1f to %.1f %%)\n", 100*r.Any.Mid, 100*r.Any.Lo, 100*r.Any.Hi)
	// Output: 0.9 % (0.2 to 2.8 %)
}

func BenchmarkPosterior(b *testing.B) {
	var hz []risk.Hazard
	for h := range 27 {
		z := risk.Hazard{Name: fmt.Sprint(h), Carry: risk.Beta{A: 1, B: 30}}
		for i := range 60 {
			z.Sites = append(z.Sites, risk.Site{Share: float64(1+i%5) / 200, Class: i % 3, Done: 1, AliveLo: 0.1, AliveHi: 0.4, Left: -1})
		}
		hz = append(hz, z)
	}
	looks := []risk.Beta{{A: 8, B: 2}, {A: 6, B: 4}, {A: 1, B: 9}}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := risk.Posterior(hz, looks, 256, 1); err != nil {
			b.Fatal(err)
		}
	}
}
