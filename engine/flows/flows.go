// Package flows turns passages between waters into risk: how many craft arrive in a season with something alive aboard, from
// which water, and how many of them nobody stops.
//
// For one organism and one pair of waters the expected risky passages are
//
//	passages × chance that the source is infested × chance of carrying × share alive on arrival
//
// and those that get through are these × (1 − share stopped at the arrival). Each factor is known only roughly and is drawn
// anew for each of many draws, the same draw for all pairs, so that sums over pairs keep the doubt they share.
//
// [CarryAfter] updates a published carrying rate by what a programme found, taking into account what its look misses and what
// is found on any craft.
//
// The package holds no data.
package flows

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"thwart/engine/num"
	"thwart/engine/risk"
)

// Level is the level of all intervals.
const Level = 0.95

// Evidence is what looks found, of one organism.
type Evidence struct {
	Found, Looked         int // craft from waters where it lives: with a find that may be it, and all that were looked over
	FoundElse, LookedElse int // craft from waters where it is not known to live
}

// CarryAfter is the chance of carrying after the evidence, as the Beta distribution with the mean and variance of the exact
// posterior. A look finds what is there with a chance find, and something that may be it anyway with a chance that craft from
// elsewhere show: P(found) = b + (1 − b)·carry·find. Both are integrated out over their own distributions.
func CarryAfter(prior, find risk.Beta, e Evidence) (risk.Beta, error) {
	for _, b := range []risk.Beta{prior, find} {
		if !(b.A > 0 && b.B > 0) {
			return risk.Beta{}, fmt.Errorf("chance: Beta(%g, %g); accepted: both above 0", b.A, b.B)
		}
	}
	if e.Found < 0 || e.Found > e.Looked || e.FoundElse < 0 || e.FoundElse > e.LookedElse {
		return risk.Beta{}, fmt.Errorf("evidence: %d of %d and %d of %d; accepted: finds from 0 to the craft looked over", e.Found, e.Looked, e.FoundElse, e.LookedElse)
	}
	if e.Looked == 0 {
		return prior, nil
	}
	const fine, coarse = 400, 12
	carry, err := quantiles(prior, fine)
	if err != nil {
		return risk.Beta{}, err
	}
	seen, err := quantiles(find, coarse)
	if err != nil {
		return risk.Beta{}, err
	}
	// Jeffreys' prior for what is found anyway.
	anyway, err := quantiles(risk.Beta{A: float64(e.FoundElse) + 0.5, B: float64(e.LookedElse-e.FoundElse) + 0.5}, coarse)
	if err != nil {
		return risk.Beta{}, err
	}
	k, n := float64(e.Found), float64(e.Looked)
	// The prior's quantiles are too coarse where many craft were looked over: the grid is that of the data then, weighted by
	// the prior.
	weight := make([]float64, fine)
	lo, hi := span(carry, k, n)
	logs := make([]float64, 0, fine*coarse*coarse)
	grid := make([]float64, fine)
	for i := range fine {
		grid[i] = lo + (hi-lo)*(float64(i)+0.5)/fine
	}
	top := math.Inf(-1)
	for _, c := range grid {
		lp := (prior.A-1)*math.Log(c) + (prior.B-1)*math.Log1p(-c)
		for _, d := range seen {
			for _, b := range anyway {
				p := b + (1-b)*c*d
				l := lp + k*math.Log(p) + (n-k)*math.Log1p(-p)
				logs = append(logs, l)
				top = math.Max(top, l)
			}
		}
	}
	total, mean, square := 0.0, 0.0, 0.0
	for i, c := range grid {
		for _, l := range logs[i*coarse*coarse : (i+1)*coarse*coarse] {
			weight[i] += math.Exp(l - top)
		}
		total += weight[i]
		mean += weight[i] * c
		square += weight[i] * c * c
	}
	mean /= total
	v := math.Max(square/total-mean*mean, 1e-12)
	strength := mean*(1-mean)/v - 1
	return risk.Beta{A: mean * strength, B: (1 - mean) * strength}, nil
}

// span is where the carrying chance may lie: all of the prior, no more than what so many finds allow if few of them are found.
func span(prior []float64, k, n float64) (lo, hi float64) {
	most := (k + 10*math.Sqrt(k+1) + 10) / n / 0.1
	return 1e-9, math.Min(1-1e-9, math.Max(math.Min(prior[len(prior)-1], most), 1e-6))
}

// quantiles at the middles of n equal parts.
func quantiles(b risk.Beta, n int) ([]float64, error) {
	out := make([]float64, n)
	for i := range n {
		q, err := num.BetaQuantile((float64(i)+0.5)/float64(n), b.A, b.B)
		if err != nil {
			return nil, err
		}
		out[i] = math.Min(math.Max(q, 1e-12), 1-1e-12)
	}
	return out, nil
}

// Organism is what is known of one organism over all waters.
type Organism struct {
	Name     string
	Infested []float64 // per water: the chance that it lives there, 0 to 1
	Carry    risk.Beta
	// AliveLo and AliveHi bound the share alive on arrival.
	AliveLo, AliveHi float64
	Find             risk.Beta // that a look finds it
}

// Passages gives the passages of a draw.
type Passages interface {
	// Row fills the passages of a season from water i to every water in one draw. r is the pair's own luck.
	Row(draw, i int, r *rand.Rand, row []float64)
}

// Input of [Compute].
type Input struct {
	Passages  Passages
	Organisms []Organism
	Met       []float64 // per water: the share of arrivals that is met and looked over, 0 to 1
	Draws     int       // 20 to 10000
	Seed      uint64
	Top       int // how many pairs are listed for each organism
	// Each, if not nil, is told every pair of every draw: what arrives, by the organism's place in the list.
	Each func(draw, organism, from, to int, arriving float64)
}

// Amount is risky passages of a season.
type Amount struct {
	Arriving num.Interval // that reach the ramp; Mid is the mean of the draws
	Through  num.Interval // that nobody finds there
}

// Pair is the flow between two waters.
type Pair struct {
	From, To int
	Passages float64 // mean
	Amount
}

// Result is the risk of one organism.
type Result struct {
	Organism string
	Total    Amount
	Into     []Amount // per water
	From     []Amount // per water
	Pairs    []Pair   // the largest by what gets through
}

// Compute chains the factors.
func Compute(in Input) ([]Result, error) {
	n := len(in.Met)
	if in.Draws < 20 || in.Draws > 10000 {
		return nil, fmt.Errorf("draws: %d; accepted: 20 to 10000", in.Draws)
	}
	for j, m := range in.Met {
		if err := num.Within(fmt.Sprintf("met[%d]", j), m, 0, 1); err != nil {
			return nil, err
		}
	}
	for _, o := range in.Organisms {
		if len(o.Infested) != n {
			return nil, fmt.Errorf("%s: %d chances; accepted: one for each of the %d waters", o.Name, len(o.Infested), n)
		}
		for i, p := range o.Infested {
			if err := num.Within(fmt.Sprintf("%s: infested[%d]", o.Name, i), p, 0, 1); err != nil {
				return nil, err
			}
		}
		if !(o.AliveLo >= 0 && o.AliveLo <= o.AliveHi && o.AliveHi <= 1) {
			return nil, fmt.Errorf("%s: alive %g to %g; accepted: 0 to 1, the lower first", o.Name, o.AliveLo, o.AliveHi)
		}
	}
	c := newChain(&in, n)
	for d := range in.Draws {
		c.draw(d)
	}
	return c.results(), nil
}

// tally gathers draws of one amount.
type tally struct{ arriving, through []float64 }

func (t *tally) amount() Amount { return Amount{interval(t.arriving), interval(t.through)} }

func interval(draws []float64) num.Interval {
	mean := 0.0
	for _, x := range draws {
		mean += x
	}
	s := slices.Clone(draws)
	slices.Sort(s)
	tail := (1 - Level) / 2
	return num.Interval{Lo: num.Quantile(s, tail), Mid: mean / float64(max(1, len(draws))), Hi: num.Quantile(s, 1-tail)}
}

// moments of one pair: its draws are too many to keep.
type moments struct{ passages, a, aa, t, tt float64 }

type chain struct {
	in      *Input
	n       int
	sources []int // waters that any organism may live in
	row     []float64
	total   []tally
	into    [][]tally
	from    [][]tally
	pairs   []map[[2]int32]*moments
}

func newChain(in *Input, n int) *chain {
	c := &chain{in: in, n: n, row: make([]float64, n), total: make([]tally, len(in.Organisms))}
	for i := range n {
		if slices.ContainsFunc(in.Organisms, func(o Organism) bool { return o.Infested[i] > 0 }) {
			c.sources = append(c.sources, i)
		}
	}
	for o := range in.Organisms {
		c.into, c.from = append(c.into, make([]tally, n)), append(c.from, make([]tally, n))
		c.pairs = append(c.pairs, map[[2]int32]*moments{})
		c.total[o] = tally{make([]float64, in.Draws), make([]float64, in.Draws)}
		for i := range n {
			c.into[o][i] = tally{make([]float64, in.Draws), make([]float64, in.Draws)}
			if in.Organisms[o].Infested[i] > 0 {
				c.from[o][i] = tally{make([]float64, in.Draws), make([]float64, in.Draws)}
			}
		}
	}
	return c
}

// draw does all pairs once.
func (c *chain) draw(d int) {
	type factor struct{ risky, find float64 }
	factors := make([]factor, len(c.in.Organisms))
	for o := range c.in.Organisms {
		org := &c.in.Organisms[o]
		r := num.Stream(c.in.Seed, fmt.Sprintf("%s %d", org.Name, d))
		carry := num.Beta(r, org.Carry.A, org.Carry.B)
		alive := org.AliveLo + (org.AliveHi-org.AliveLo)*r.Float64()
		factors[o] = factor{carry * alive, num.Beta(r, org.Find.A, org.Find.B)}
	}
	for _, i := range c.sources {
		c.in.Passages.Row(d, i, num.Stream(c.in.Seed, fmt.Sprintf("water %d draw %d", i, d)), c.row)
		for o := range c.in.Organisms {
			p := c.in.Organisms[o].Infested[i]
			if p == 0 {
				continue
			}
			f := factors[o]
			for j, passages := range c.row {
				if passages == 0 || j == i {
					continue
				}
				a := passages * p * f.risky
				t := a * (1 - c.in.Met[j]*f.find)
				if c.in.Each != nil {
					c.in.Each(d, o, i, j, a)
				}
				c.total[o].arriving[d] += a
				c.total[o].through[d] += t
				c.into[o][j].arriving[d] += a
				c.into[o][j].through[d] += t
				c.from[o][i].arriving[d] += a
				c.from[o][i].through[d] += t
				m := c.pairs[o][[2]int32{int32(i), int32(j)}]
				if m == nil {
					m = &moments{}
					c.pairs[o][[2]int32{int32(i), int32(j)}] = m
				}
				m.passages += passages
				m.a += a
				m.aa += a * a
				m.t += t
				m.tt += t * t
			}
		}
	}
}

func (c *chain) results() []Result {
	out := make([]Result, len(c.in.Organisms))
	for o := range out {
		r := &out[o]
		r.Organism, r.Total = c.in.Organisms[o].Name, c.total[o].amount()
		r.Into, r.From = make([]Amount, c.n), make([]Amount, c.n)
		for i := range c.n {
			r.Into[i] = c.into[o][i].amount()
			if c.from[o][i].arriving != nil {
				r.From[i] = c.from[o][i].amount()
			}
		}
		n := float64(c.in.Draws)
		for key, m := range c.pairs[o] {
			r.Pairs = append(r.Pairs, Pair{From: int(key[0]), To: int(key[1]), Passages: m.passages / n, Amount: Amount{byMoments(m.a/n, m.aa/n), byMoments(m.t/n, m.tt/n)}})
		}
		slices.SortFunc(r.Pairs, func(a, b Pair) int {
			switch {
			case a.Through.Mid != b.Through.Mid && a.Through.Mid > b.Through.Mid:
				return -1
			case a.Through.Mid != b.Through.Mid:
				return 1
			case a.From != b.From:
				return a.From - b.From
			}
			return a.To - b.To
		})
		r.Pairs = r.Pairs[:min(len(r.Pairs), c.in.Top)]
	}
	return out
}

// byMoments is the gamma distribution with a mean and a mean square.
func byMoments(mean, square float64) num.Interval {
	v := square - mean*mean
	if !(mean > 0) || v < 1e-12*square {
		return num.Exactly(mean)
	}
	return num.GammaInterval(mean*mean/v, mean/v, Level)
}
