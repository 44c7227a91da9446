package siting

import (
	"math"
	"math/rand/v2"
	"slices"
)

// index is the problem by choice: which passages it meets, which rules it takes part in, who needs it.
type index struct {
	p        *Problem
	passages [][]int32 // by choice
	rules    [][]Part  // by choice: Choice is the rule's index
	needed   [][]int   // by choice: who needs it
	rows     []Rule    // the rules, and money as the last one
	limits   []limits  // of the rows
	self     []int     // every choice by its number: a list of one needs no memory of its own
}

// limits of a row, and where sums begin to break them beyond rounding.
type limits struct{ lo, hi, below, above float64 }

func (p *Problem) index() *index {
	x := &index{p: p, passages: make([][]int32, len(p.Choices)), rules: make([][]Part, len(p.Choices)), needed: make([][]int, len(p.Choices))}
	for i := range p.Passages {
		if p.Passages[i].Weight == 0 {
			continue
		}
		for _, m := range p.Passages[i].Meets {
			if l := x.passages[m.Choice]; m.Q > 0 && (len(l) == 0 || l[len(l)-1] != int32(i)) {
				x.passages[m.Choice] = append(l, int32(i))
			}
		}
	}
	for _, r := range p.Rules {
		x.rows = append(x.rows, r.tight())
	}
	money := Rule{Wish: "money", Lo: math.Inf(-1), Hi: p.Budget}
	for i, c := range p.Choices {
		x.self = append(x.self, i)
		if c.Cost > 0 {
			money.Parts = append(money.Parts, Part{i, c.Cost})
		}
		for _, n := range c.Needs {
			x.needed[n] = append(x.needed[n], i)
		}
	}
	x.rows = append(x.rows, money)
	for r := range x.rows {
		row := &x.rows[r]
		x.limits = append(x.limits, limits{row.Lo, row.Hi, row.Lo - slack(row.Lo), row.Hi + slack(row.Hi)})
		for _, t := range row.Parts {
			x.rules[t.Choice] = append(x.rules[t.Choice], Part{r, t.Amount})
		}
	}
	return x
}

// tight is the rule with no amount larger than what is asked for: where one choice alone is enough, more of it is not more
// than enough. Whole choices keep the one exactly when they keep the other, but the limits of a relaxation come out lower.
func (r Rule) tight() Rule {
	if !math.IsInf(r.Hi, 1) || math.IsInf(r.Lo, -1) || r.Lo <= 0 {
		return r
	}
	parts := make([]Part, len(r.Parts))
	for i, t := range r.Parts {
		if t.Amount < 0 {
			return r
		}
		parts[i] = Part{t.Choice, math.Min(t.Amount, r.Lo)}
	}
	r.Parts = parts
	return r
}

// state is a set of choices under change. gain holds, for each choice, by how much the value changes when it alone is flipped:
// what a free one would add, what a chosen one would take.
type state struct {
	*index
	chosen []bool
	sum    []float64 // by rule
	gain   []float64
	value  float64
	log    []int // flips so far, to be undone

	// allow is how much of each row may be missing for the moment. Rows that weigh choices against each other, as fairness
	// does, cannot be kept by the first choice of all: something has to be allowed on the way.
	allow []float64

	change  []float64 // scratch of harm
	touched []int
	heap    queue      // scratch of fill
	noise   *rand.Rand // blurs the order of filling, if any
}

func (x *index) state(chosen []bool) *state {
	s := &state{index: x, chosen: slices.Clone(chosen), sum: make([]float64, len(x.rows)), gain: make([]float64, len(x.p.Choices))}
	for i, on := range chosen {
		if on {
			for _, t := range x.rules[i] {
				s.sum[t.Choice] += t.Amount
			}
		}
	}
	for i := range x.p.Passages {
		g := &x.p.Passages[i]
		s.value += g.Weight * stopped(g.Meets, s.chosen)
		s.addGains(g, 1)
	}
	return s
}

// addGains adds (or, with sign -1, takes away) one passage's part of the gain of every choice that meets it.
func (s *state) addGains(g *Passage, sign float64) {
	if g.Weight == 0 {
		return
	}
	// The best and the second best chosen chance per place tell what each choice adds or takes.
	var best, second [Places]float64
	top := [Places]int{-1, -1}
	for _, m := range g.Meets {
		if !s.chosen[m.Choice] {
			continue
		}
		if m.Q > best[m.Place] {
			second[m.Place], best[m.Place], top[m.Place] = best[m.Place], m.Q, m.Choice
		} else if m.Q > second[m.Place] {
			second[m.Place] = m.Q
		}
	}
	w := sign * g.Weight
	for _, m := range g.Meets {
		rest := w * (1 - best[1-m.Place])
		switch {
		case !s.chosen[m.Choice]:
			if m.Q > best[m.Place] {
				s.gain[m.Choice] += rest * (m.Q - best[m.Place])
			}
		case m.Choice == top[m.Place]:
			s.gain[m.Choice] += rest * (best[m.Place] - second[m.Place])
		}
	}
}

// flip decides for or against a choice.
func (s *state) flip(k int) {
	s.log = append(s.log, k)
	sign := 1.0
	if s.chosen[k] {
		sign = -1
	}
	s.value += sign * s.gain[k]
	for _, i := range s.passages[k] {
		s.addGains(&s.p.Passages[i], -1)
	}
	s.chosen[k] = !s.chosen[k]
	for _, i := range s.passages[k] {
		s.addGains(&s.p.Passages[i], 1)
	}
	for _, t := range s.rules[k] {
		s.sum[t.Choice] += sign * t.Amount
	}
}

// with lists a choice and what it needs and is not chosen yet; nil when something needed is fixed out.
func (s *state) with(k int) []int {
	if s.p.Choices[k].Pin == Out {
		return nil
	}
	out := s.self[k : k+1 : k+1]
	if s.ready(k) {
		return out
	}
	for i := 0; i < len(out); i++ {
		for _, n := range s.p.Choices[out[i]].Needs {
			if s.chosen[n] || slices.Contains(out, n) {
				continue
			}
			if s.p.Choices[n].Pin == Out {
				return nil
			}
			out = append(out, n)
		}
	}
	return out
}

// ready tells whether all that a choice needs is chosen.
func (s *state) ready(k int) bool {
	for _, n := range s.p.Choices[k].Needs {
		if !s.chosen[n] {
			return false
		}
	}
	return true
}

// without lists a chosen choice and the chosen ones that need it; nil when one of them is fixed in.
func (s *state) without(k int) []int {
	if s.p.Choices[k].Pin == In {
		return nil
	}
	out := s.self[k : k+1 : k+1]
	for i := 0; i < len(out); i++ {
		for _, n := range s.needed[out[i]] {
			if !s.chosen[n] || slices.Contains(out, n) {
				continue
			}
			if s.p.Choices[n].Pin == In {
				return nil
			}
			out = append(out, n)
		}
	}
	return out
}

// miss is by how much a sum breaks a row beyond what is allowed for the moment.
func (s *state) miss(r int, sum float64) float64 {
	var m float64
	switch l := &s.limits[r]; {
	case sum > l.above:
		m = sum - l.hi
	case sum < l.below:
		m = l.lo - sum
	default:
		return 0
	}
	if s.allow != nil {
		m = max(0, m-s.allow[r])
	}
	return m
}

// balancing gives, for rows that weigh choices against each other, twice their largest amount, and 0 for others; nil when there
// are none.
func (x *index) balancing() (allow []float64) {
	for r := range x.rows {
		var lo, hi float64
		for _, t := range x.rows[r].Parts {
			lo, hi = math.Min(lo, t.Amount), math.Max(hi, t.Amount)
		}
		if lo < 0 && hi > 0 {
			if allow == nil {
				allow = make([]float64, len(x.rows))
			}
			allow[r] = 2 * math.Max(hi, -lo)
		}
	}
	return allow
}

// missed is by how much all rules together are broken.
func (s *state) missed() (sum float64) {
	allow := s.allow
	s.allow = nil
	for r := range s.rows {
		sum += s.miss(r, s.sum[r])
	}
	s.allow = allow
	return sum
}

// harm is by how much more the rules would be broken if these were flipped. It looks only at rules they take part in.
func (s *state) harm(flips []int) (by float64) {
	if len(flips) == 1 {
		k := flips[0]
		for _, t := range s.rules[k] {
			by += s.miss(t.Choice, s.sum[t.Choice]+s.signed(k, t.Amount)) - s.miss(t.Choice, s.sum[t.Choice])
		}
		return by
	}
	if s.change == nil {
		s.change = make([]float64, len(s.rows))
	}
	touched := s.touched[:0]
	for _, k := range flips {
		for _, t := range s.rules[k] {
			if s.change[t.Choice] == 0 {
				touched = append(touched, t.Choice)
			}
			s.change[t.Choice] += s.signed(k, t.Amount)
		}
	}
	for _, r := range touched {
		if s.change[r] != 0 {
			by += s.miss(r, s.sum[r]+s.change[r]) - s.miss(r, s.sum[r])
			s.change[r] = 0
		}
	}
	s.touched = touched
	return by
}

func (s *state) signed(k int, amount float64) float64 {
	if s.chosen[k] {
		return -amount
	}
	return amount
}

// undo takes back every flip after a mark of the log.
func (s *state) undo(mark int) {
	for i := len(s.log) - 1; i >= mark; i-- {
		k := s.log[i]
		s.flip(k)
	}
	s.log = s.log[:mark]
}

func (s *state) plan(method string) Plan {
	p := Plan{Kept: len(s.p.Broken(s.chosen)) == 0, Method: method, Chosen: []int{}}
	p.Cost, p.Value = s.p.Worth(s.chosen)
	for k, on := range s.chosen {
		if on {
			p.Chosen = append(p.Chosen, k)
		}
	}
	return p
}
