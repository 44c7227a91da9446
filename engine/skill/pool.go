package skill

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mathext"

	"thwart/engine/num"
)

// Hyper is what is known of people in general before anybody's trials: the chance to find has a mean m over people and a
// weight s, as Beta(m·s, (1−m)·s). A weight of s is worth s trials: large where people are alike.
type Hyper struct {
	// MeanA and MeanB give m its prior, Beta(MeanA, MeanB). 1 and 1 know nothing.
	MeanA, MeanB float64
	// The weight has the density s^(−3/2) between MinWeight and MaxWeight. With m uniform this is the (a+b)^(−5/2) of Gelman
	// et al., Bayesian Data Analysis, 3rd ed., section 5.3. It needs ends: where everybody found everything the data do
	// not bound s from below.
	MinWeight, MaxWeight float64
}

// Vague knows nothing of the mean and lets people be worth between two trials (they differ as much as can be) and two thousand
// (they are alike).
var Vague = Hyper{MeanA: 1, MeanB: 1, MinWeight: 2, MaxWeight: 2000}

func (h Hyper) validate() error {
	err := errors.Join(num.Positive("meanA", h.MeanA), num.Positive("meanB", h.MeanB), num.Positive("minWeight", h.MinWeight))
	if err == nil && !(h.MaxWeight > h.MinWeight && h.MaxWeight <= 1e6) {
		err = &num.RangeError{Field: "maxWeight", Value: h.MaxWeight, Accepted: fmt.Sprintf("above minWeight, %v, and at most 1e6", h.MinWeight)}
	}
	return err
}

// logPrior is the density in the coordinates logit m and ln s, up to a constant.
func (h Hyper) logPrior(m, s float64) float64 {
	return h.MeanA*math.Log(m) + h.MeanB*math.Log1p(-m) - 0.5*math.Log(s)
}

// LogLik is the logarithm of the chance of the counts when everybody's chance is drawn from Beta(a, b), without the binomial
// coefficients: the sum of ln B(a+x, b+n−x) − ln B(a, b).
func LogLik(counts []num.Count, a, b float64) float64 {
	var sum float64
	base := mathext.Lbeta(a, b)
	for _, c := range counts {
		if c.N > 0 {
			sum += mathext.Lbeta(a+float64(c.X), b+float64(c.N-c.X)) - base
		}
	}
	return sum
}

// node is one pair of mean and weight, as the Beta it stands for, with its share of the posterior.
type node struct{ a, b, weight float64 }

// Pool is what the trials of all people together say of people in general.
type Pool struct {
	// Mean is the mean chance over people: the posterior mean with its 95 % limits. Weight is the same for the weight s.
	Mean, Weight num.Interval
	// People and Trials are what it rests on.
	People, Trials int

	nodes []node
}

// Estimate is a chance with its doubt.
type Estimate struct {
	num.Count
	Mean float64 `json:"mean"` // of the posterior
	SD   float64 `json:"sd"`
	Lo   float64 `json:"lo"` // equal-tailed limits at Level
	Hi   float64 `json:"hi"`
	// Level of the limits, such as 0.95.
	Level float64 `json:"level"`
}

// Fit learns from the counts of people who each looked for the same kind of thing. Nobody's counts at all leaves the prior.
// The posterior of mean and weight is summed on a grid laid over the part of it that matters, so that the doubt about how
// alike people are reaches every answer; a plug-in estimate would leave it out and give intervals that are too short.
//
// It refuses counts that cannot be, naming the person by number.
func Fit(counts []num.Count, prior Hyper) (*Pool, error) {
	if err := prior.validate(); err != nil {
		return nil, err
	}
	for i, c := range counts {
		if err := c.Validate(); err != nil {
			return nil, fmt.Errorf("person %d: %w", i+1, err)
		}
	}
	p := &Pool{nodes: nodesOf(tallied(counts), prior)}
	for _, c := range counts {
		p.Trials += c.N
		if c.N > 0 {
			p.People++
		}
	}
	p.describe()
	return p, nil
}

// The grid: so many weights, and so many means for each. Doubling both moves no estimate of the tests by more than 0.0005.
const (
	weightNodes = 32
	meanNodes   = 24
)

// negligible is how far below its top the log posterior is cut: e^-14 is a millionth.
const negligible = 14

// nodesOf sums the posterior on a grid. Every weight has its own row of means, since the mean is known the better the more
// alike people are. The weights are first gone over roughly, then between those that matter.
func nodesOf(t tallies, prior Hyper) []node {
	lo, hi := math.Log(prior.MinWeight), math.Log(prior.MaxWeight)
	rough := rows(t, prior, lo, hi, weightNodes, 8)
	first, last := math.Inf(1), math.Inf(-1)
	for _, x := range rough {
		s := math.Log(x.a + x.b)
		first, last = math.Min(first, s), math.Max(last, s)
	}
	cell := (hi - lo) / weightNodes
	return rows(t, prior, math.Max(lo, first-cell), math.Min(hi, last+cell), weightNodes, meanNodes)
}

// rows evaluates the posterior at the middles of cells: n weights between the logarithms lo and hi, k means each.
func rows(t tallies, prior Hyper, lo, hi float64, n, k int) []node {
	list := make([]node, 0, n*k)
	best := math.Inf(-1)
	for i := range n {
		s := math.Exp(lo + (float64(i)+0.5)/float64(n)*(hi-lo))
		f := func(logit float64) float64 {
			m := logistic(logit)
			return t.logLik(m*s, (1-m)*s) + prior.logPrior(m, s)
		}
		from, to := spread(f)
		cell := (to - from) / float64(k)
		for j := range k {
			logit := from + (float64(j)+0.5)*cell
			m := logistic(logit)
			x := node{m * s, (1 - m) * s, f(logit) + math.Log(cell)}
			best = math.Max(best, x.weight)
			list = append(list, x)
		}
	}
	list = slices.DeleteFunc(list, func(x node) bool { return x.weight < best-negligible })
	var sum float64
	for i := range list {
		list[i].weight = math.Exp(list[i].weight - best)
		sum += list[i].weight
	}
	for i := range list {
		list[i].weight /= sum
	}
	return list
}

// spread gives where a function with one top, between logits of -12 and 12, is not negligible.
func spread(f func(float64) float64) (from, to float64) {
	const end = 12.0
	lo, hi := -end, end
	for hi-lo > 1e-3 {
		a, b := lo+(hi-lo)*0.382, lo+(hi-lo)*0.618
		if f(a) < f(b) {
			lo = a
		} else {
			hi = b
		}
	}
	top := (lo + hi) / 2
	floor := f(top) - negligible
	edge := func(sign float64) float64 {
		step := 0.02
		for step < 2*end && f(top+sign*step) > floor {
			step *= 1.25
		}
		return top + sign*step
	}
	return math.Max(-end, edge(-1)), math.Min(end, edge(1))
}

// tallies counts how often each count occurs, so that a thousand people cost no more than the different results they have.
type tallies []struct {
	c num.Count
	n float64
}

func tallied(counts []num.Count) (out tallies) {
	at := map[num.Count]int{}
	for _, c := range counts {
		if c.N == 0 {
			continue
		}
		i, ok := at[c]
		if !ok {
			i = len(out)
			at[c] = i
			out = append(out, struct {
				c num.Count
				n float64
			}{c: c})
		}
		out[i].n++
	}
	return out
}

func (t tallies) logLik(a, b float64) float64 {
	var sum float64
	base := mathext.Lbeta(a, b)
	for i := range t {
		c := t[i].c
		sum += t[i].n * (mathext.Lbeta(a+float64(c.X), b+float64(c.N-c.X)) - base)
	}
	return sum
}

func (p *Pool) describe() {
	of := func(value func(node) float64) num.Interval {
		list := slices.Clone(p.nodes)
		slices.SortFunc(list, func(x, y node) int {
			if value(x) < value(y) {
				return -1
			}
			return 1
		})
		out := num.Interval{Lo: math.NaN()}
		var below float64
		for _, x := range list {
			out.Mid += x.weight * value(x)
			below += x.weight
			if math.IsNaN(out.Lo) && below >= 0.025 {
				out.Lo = value(x)
			}
			if below <= 0.975+1e-12 || out.Hi == 0 {
				out.Hi = value(x)
			}
		}
		return out
	}
	p.Mean = of(func(x node) float64 { return x.a / (x.a + x.b) })
	p.Weight = of(func(x node) float64 { return x.a + x.b })
}

// Person gives the chance of a person whose count was among those fitted. The level of the limits lies between 0 and 1; a
// count without trials gives what is expected of a newcomer.
func (p *Pool) Person(c num.Count, level float64) (Estimate, error) {
	if err := errors.Join(c.Validate(), num.Between("level", level, 0, 1)); err != nil {
		return Estimate{}, err
	}
	e := Estimate{Count: c, Level: level}
	var second float64
	for _, x := range p.nodes {
		a, b := x.a+float64(c.X), x.b+float64(c.N-c.X)
		m := a / (a + b)
		e.Mean += x.weight * m
		second += x.weight * m * (a + 1) / (a + b + 1)
	}
	e.SD = math.Sqrt(math.Max(0, second-e.Mean*e.Mean))
	d := p.density(c)
	tail := (1 - level) / 2
	e.Lo, e.Hi = d.quantile(tail), d.quantile(1-tail)
	return e, nil
}

// Below is the chance that a person's own chance of finding lies under a target: what decides who practises, instead of raw
// rates.
func (p *Pool) Below(c num.Count, target float64) (float64, error) {
	if err := errors.Join(c.Validate(), num.Within("target", target, 0, 1)); err != nil {
		return math.NaN(), err
	}
	var sum float64
	for _, x := range p.nodes {
		sum += x.weight * mathext.RegIncBeta(x.a+float64(c.X), x.b+float64(c.N-c.X), target)
	}
	return sum, nil
}

// Beta gives the Beta distribution with the mean and the standard deviation of a person's posterior: what a calculation that
// takes a Beta is fed with.
func (p *Pool) Beta(c num.Count) (a, b float64, err error) {
	e, err := p.Person(c, 0.95)
	if err != nil {
		return 0, 0, err
	}
	weight := e.Mean*(1-e.Mean)/(e.SD*e.SD) - 1
	return e.Mean * weight, (1 - e.Mean) * weight, nil
}

// mixture is the distribution function of a person's posterior at the corners of equal steps of an angle, which puts more
// points near 0 and 1, where a posterior can be steep.
type mixture struct{ x, below []float64 }

const mixtureSteps = 600

func (p *Pool) density(c num.Count) mixture {
	type beta struct{ a, b, lead float64 }
	parts := make([]beta, len(p.nodes))
	for i, x := range p.nodes {
		a, b := x.a+float64(c.X), x.b+float64(c.N-c.X)
		parts[i] = beta{a, b, math.Log(x.weight) - mathext.Lbeta(a, b)}
	}
	m := mixture{x: make([]float64, mixtureSteps+1), below: make([]float64, mixtureSteps+1)}
	step := math.Pi / 2 / mixtureSteps
	for i := range mixtureSteps {
		sin, cos := math.Sincos((float64(i) + 0.5) * step)
		ls, lc := 2*math.Log(sin), 2*math.Log(cos)
		var mass float64
		for k := range parts {
			// The density times dx/dangle = 2 sin cos.
			if e := parts[k].lead + (parts[k].a-0.5)*ls + (parts[k].b-0.5)*lc; e > -40 {
				mass += math.Exp(e)
			}
		}
		top := math.Sin(float64(i+1) * step)
		m.x[i+1] = top * top
		m.below[i+1] = m.below[i] + mass
	}
	for i := range m.below {
		m.below[i] /= m.below[mixtureSteps]
	}
	return m
}

func (m mixture) quantile(q float64) float64 {
	i, _ := slices.BinarySearch(m.below, q)
	if i == 0 {
		return m.x[0]
	}
	return m.x[i-1] + (m.x[i]-m.x[i-1])*(q-m.below[i-1])/(m.below[i]-m.below[i-1])
}

func logistic(x float64) float64 { return 1 / (1 + math.Exp(-x)) }
