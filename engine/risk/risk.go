// Package risk computes the chance that something alive is still aboard a craft after it has been looked over.
//
// For one organism and stage (a [Hazard]) and one spot where it can ride (a [Site]) three things are chained:
//
//	p  the chance that it is carried there at all: 1 − (1 − π)^w, where π is the chance that a craft leaving such a water
//	   carries it anywhere and w the share of the carrying that this site takes (the shares of a hazard sum to 1, so
//	   that the sites together give π back);
//	m  the chance that the look missed it: 1 − d·done, where d is the chance that a full look finds what is there and
//	   done the part of a full look that was given;
//	s  the share still alive by now.
//
// Nothing having been found, the chance that it is there all the same is q = p·m / (1 − p·(1 − m)) (Bayes' rule), and
// the chance that it is there alive is q·s. Sites and organisms are taken as independent given π and d, so the chance of
// anything alive aboard is 1 − Π(1 − q·s).
//
// π and d are known only roughly. Both are Beta distributed and drawn together, d once per draw for all sites of a class,
// because a steward who misses grit by feel misses it everywhere. The answer is the middle and the 2.5 % and 97.5 % points
// over the draws; it is reproducible from the seed.
//
// The package holds no data. It knows nothing of protocols: a risk informs, it overrules nothing.
package risk

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"thwart/engine/num"
	"thwart/lean"
)

// Beta is a Beta(A, B) distribution of a chance.
type Beta struct{ A, B float64 }

// Mean of the distribution.
func (b Beta) Mean() float64 { return b.A / (b.A + b.B) }

// Update adds successes and failures that were counted.
func (b Beta) Update(successes, failures float64) Beta { return Beta{b.A + successes, b.B + failures} }

// Site is a spot where a hazard can ride.
type Site struct {
	Share float64 // of the hazard's carrying, 0..1
	Class int     // index of the detection class in the looks given to Posterior
	Done  float64 // part of a full look that was given, 0..1
	// AliveLo and AliveHi bound the share still alive; equal where one number is known, 0 and 1 where nothing is.
	AliveLo, AliveHi float64
	// Left is the chance that something is left of what was found here, 0..1; negative where nothing was found.
	Left float64
}

// Hazard is one organism and stage. Its name chooses its random numbers, so that the order of a list means nothing.
type Hazard struct {
	Name  string
	Carry Beta
	Sites []Site
}

// Result holds the chances over all draws.
type Result struct {
	Any      num.Interval   // something alive of any hazard
	ByHazard []num.Interval // in the order given
	// Site[h][i] is the mean chance that hazard h is alive at its site i.
	Site [][]float64
}

// Level is the level of the intervals of a [Result].
const Level = 0.95

// Posterior runs the draws. looks gives the chance that a full look finds what is there, one Beta per detection class.
//
// It returns an error naming the argument when a share, a part or a Beta parameter is not a number it can use.
func Posterior(hazards []Hazard, looks []Beta, draws int, seed uint64) (Result, error) {
	if err := validate(hazards, looks, draws); err != nil {
		return Result{}, err
	}
	r := Result{ByHazard: make([]num.Interval, len(hazards)), Site: make([][]float64, len(hazards))}
	// One matrix of draws: the skill of the looker first, so that every hazard meets the same looker in the same draw.
	found := make([]float64, draws*len(looks))
	stream := num.Stream(seed, "look")
	for k := range draws {
		for c, l := range looks {
			found[k*len(looks)+c] = num.Beta(stream, l.A, l.B)
		}
	}
	none := make([]float64, draws) // chance that nothing alive of any hazard is aboard
	for k := range none {
		none[k] = 1
	}
	some := make([]float64, draws)
	var groups []group
	var of []int
	for h := range hazards {
		hz := &hazards[h]
		groups, of = groupSites(hz.Sites, groups[:0], of[:0])
		stream := num.Stream(seed, hz.Name)
		for k := range draws {
			pi := num.Beta(stream, hz.Carry.A, hz.Carry.B)
			logNot := math.Log1p(-math.Min(pi, 1-1e-12))
			u := stream.Float64()
			free := 1.0
			for g := range groups {
				a := groups[g].alive(logNot, u, found[k*len(looks):(k+1)*len(looks)])
				groups[g].sum += a
				free *= power(1-a, groups[g].n)
			}
			some[k] = 1 - free
			none[k] *= free
		}
		r.ByHazard[h] = interval(some)
		r.Site[h] = make([]float64, len(hz.Sites))
		for i := range hz.Sites {
			g := &groups[of[i]]
			r.Site[h][i] = g.sum / float64(draws)
			if g.Share > 0 && g.Left < 0 {
				r.Site[h][i] *= hz.Sites[i].Share / g.Share
			}
		}
	}
	for k := range none {
		some[k] = 1 - none[k]
	}
	r.Any = interval(some)
	return r, nil
}

// group is n sites that are alike in everything but their share, of which it keeps the mean.
//
// Computing n like sites at their mean share instead of each at its own is exact where nobody looked or nothing dies, since
// only the sum of the shares counts there, and otherwise right to second order: the error is of the order of share² × the
// squared spread of the shares, below 1 % of the chance for any craft with more than a handful of places. It makes the
// work depend on the number of kinds of site instead of the number of sites.
type group struct {
	Site
	n      int
	first  int // its number before the groups were put in order
	shares int64
	sum    float64
}

// groupSites gathers like sites, in an order of their own so that sums and products do not depend on the caller's, and
// says for every site which group it is in.
func groupSites(sites []Site, groups []group, of []int) ([]group, []int) {
	g := -1
	for i := range sites {
		s := &sites[i]
		if g < 0 || !groups[g].like(s) { // neighbours are often alike
			g = findGroup(groups, s)
		}
		if g < 0 {
			g = len(groups)
			groups = append(groups, group{Site: *s, first: g})
			groups[g].Share = 0
		}
		groups[g].n++
		// Shares are added as whole multiples of 2^-50: exact, so that the last bit does not depend on the order.
		groups[g].shares += int64(math.Round(s.Share * shareUnit))
		of = append(of, g)
	}
	lean.Sort(groups, func(a, b group) int {
		return cmp.Or(
			cmp.Compare(a.Class, b.Class), cmp.Compare(a.Done, b.Done),
			cmp.Compare(a.AliveLo, b.AliveLo), cmp.Compare(a.AliveHi, b.AliveHi), cmp.Compare(a.Left, b.Left),
		)
	})
	at := make([]int, len(groups))
	for g := range groups {
		groups[g].Share = float64(groups[g].shares) / shareUnit / float64(groups[g].n)
		at[groups[g].first] = g
	}
	for i := range of {
		of[i] = at[of[i]]
	}
	return groups, of
}

const shareUnit = 1 << 50

func findGroup(groups []group, s *Site) int {
	for i := range groups {
		if groups[i].like(s) {
			return i
		}
	}
	return -1
}

func (g *group) like(s *Site) bool {
	return g.Class == s.Class && g.Done == s.Done && g.AliveLo == s.AliveLo && g.AliveHi == s.AliveHi && g.Left == s.Left
}

// alive is the chance that the hazard is alive at one site of the group, in one draw.
func (g *group) alive(logNot, u float64, found []float64) float64 {
	s := g.AliveLo + (g.AliveHi-g.AliveLo)*u
	if g.Left >= 0 {
		return g.Left * s
	}
	p := oneMinusExp(g.Share * logNot)
	m := 1 - found[g.Class]*g.Done
	return p * m / (1 - p*(1-m)) * s
}

// power is x^n by squaring.
func power(x float64, n int) float64 {
	r := 1.0
	for ; n > 0; n >>= 1 {
		if n&1 == 1 {
			r *= x
		}
		x *= x
	}
	return r
}

// oneMinusExp is 1 − e^x for x ≤ 0. Nearly all of a run's time is spent here, and nearly always with a tiny x, for which
// four terms of the series are right to x⁵/120: below 3e-9 where they are used.
func oneMinusExp(x float64) float64 {
	if x > -0.05 {
		return -x * (1 + x/2*(1+x/3*(1+x/4)))
	}
	return -math.Expm1(x)
}

// interval sorts the draws in place.
func interval(draws []float64) num.Interval {
	slices.Sort(draws)
	tail := (1 - Level) / 2
	return num.Interval{Lo: num.Quantile(draws, tail), Mid: num.Quantile(draws, 0.5), Hi: num.Quantile(draws, 1-tail)}
}

func validate(hazards []Hazard, looks []Beta, draws int) error {
	if draws < 20 || draws > 1_000_000 {
		return fmt.Errorf("draws: %d; accepted: 20 to 1000000", draws)
	}
	good := func(b Beta) bool { return b.A > 0 && b.B > 0 && b.A < 1e9 && b.B < 1e9 }
	for c, l := range looks {
		if !good(l) {
			return fmt.Errorf("looks[%d]: Beta(%g, %g); accepted: both above 0", c, l.A, l.B)
		}
	}
	unit := func(x float64) bool { return x >= 0 && x <= 1 }
	for h, hz := range hazards {
		if !good(hz.Carry) {
			return fmt.Errorf("hazards[%d].carry: Beta(%g, %g); accepted: both above 0", h, hz.Carry.A, hz.Carry.B)
		}
		for i := range hz.Sites {
			s := &hz.Sites[i]
			switch {
			case !unit(s.Share), !unit(s.Done), !unit(s.AliveLo), !unit(s.AliveHi), s.AliveLo > s.AliveHi, s.Left > 1, math.IsNaN(s.Left):
				return fmt.Errorf("hazards[%d].sites[%d]: %+v; accepted: shares from 0 to 1, aliveLo not above aliveHi", h, i, *s)
			case s.Class < 0 || s.Class >= len(looks):
				return fmt.Errorf("hazards[%d].sites[%d].class: %d; accepted: 0 to %d", h, i, s.Class, len(looks)-1)
			}
		}
	}
	return nil
}
