package siting

import (
	"cmp"
	"slices"
)

// Step is one choice more than a plan has, with what it needs, and what stands in its way.
type Step struct {
	Choice int
	Add    []int // the choice and those it needs that are not chosen yet
	Drop   []int // chosen ones that it would stand in place of, such as a smaller team there
	Gain   float64
	Cost   float64 // more than the plan, less what is dropped
	// What stands in its way. Nothing does where all three are left empty: then the plan is not the best.
	Short  float64 // money that is missing
	Breaks []int   // rules
	ByHand bool    // decided against by hand
}

// Fits tells whether nothing stands in the way of a step.
func (s *Step) Fits() bool { return s.Short == 0 && len(s.Breaks) == 0 && !s.ByHand }

// Steps lists each single choice that meets a passage and with which a plan would stop more, the cheapest first. Choices that exclude each other, such
// as teams of two sizes at one launch at a time, are tried in each other's place, unless something needs the one that would go.
//
// Where nothing can be added that stops more, whatever the rules, left is 0: no set of choices stops more than this one, because
// a passage is never stopped less by more choices. Otherwise left is how much more is stopped if every choice is taken, whatever the
// rules and the money.
func (p *Problem) Steps(chosen []bool) (steps []Step, left float64) {
	x := p.index()
	s := x.state(chosen)
	everything := slices.Repeat([]bool{true}, len(p.Choices))
	_, most := p.Worth(everything)
	tiny := 1e-9 * p.Total()
	if left = most - s.value; left <= tiny {
		return nil, 0
	}
	for k := range p.Choices {
		if chosen[k] || len(x.passages[k]) == 0 {
			continue
		}
		step := Step{Choice: k, Add: x.missing(chosen, k, nil)}
		for _, add := range step.Add {
			for _, part := range x.rules[add] {
				step.Drop = append(step.Drop, x.instead(chosen, part)...)
			}
		}
		slices.Sort(step.Drop)
		step.Drop = slices.Compact(step.Drop)
		if x.needs(chosen, &step) {
			continue
		}
		if step.Gain = x.gains(chosen, &step); step.Gain > tiny {
			x.inTheWay(s, &step)
			steps = append(steps, step)
		}
	}
	slices.SortStableFunc(steps, func(a, b Step) int { return cmp.Compare(a.Cost, b.Cost) })
	return steps, left
}

// missing adds a choice and what it needs that is not chosen.
func (x *index) missing(chosen []bool, k int, add []int) []int {
	if chosen[k] || slices.Contains(add, k) {
		return add
	}
	add = append(add, k)
	for _, n := range x.p.Choices[k].Needs {
		add = x.missing(chosen, n, add)
	}
	return add
}

// needs tells whether what a step drops is needed by what then stands.
func (x *index) needs(chosen []bool, step *Step) bool {
	for _, k := range step.Drop {
		for _, n := range x.needed[k] {
			if slices.Contains(step.Add, n) || chosen[n] && !slices.Contains(step.Drop, n) {
				return true
			}
		}
	}
	return false
}

// instead gives the chosen ones of a fact that takes one at a time.
func (x *index) instead(chosen []bool, part Part) (out []int) {
	if part.Choice >= len(x.p.Rules) { // money
		return nil
	}
	r := &x.p.Rules[part.Choice]
	if !r.Fact || r.Hi != 1 || part.Amount != 1 {
		return nil
	}
	for _, t := range r.Parts {
		if t.Amount == 1 && chosen[t.Choice] {
			out = append(out, t.Choice)
		}
	}
	return out
}

// gains is how much more is stopped after a step.
func (x *index) gains(chosen []bool, step *Step) (gain float64) {
	after := slices.Clone(chosen)
	var touched []int32
	for on, list := range map[bool][]int{true: step.Add, false: step.Drop} {
		for _, k := range list {
			after[k] = on
			touched = append(touched, x.passages[k]...)
		}
	}
	slices.Sort(touched)
	for _, i := range slices.Compact(touched) {
		g := &x.p.Passages[i]
		gain += g.Weight * (stopped(g.Meets, after) - stopped(g.Meets, chosen))
	}
	return gain
}

// inTheWay finds what a step would break that the plan keeps.
func (x *index) inTheWay(s *state, step *Step) {
	change := map[int]float64{}
	flip := func(k int, sign float64) {
		for _, part := range x.rules[k] {
			change[part.Choice] += sign * part.Amount
		}
		step.Cost += sign * x.p.Choices[k].Cost
	}
	for _, k := range step.Add {
		flip(k, 1)
		step.ByHand = step.ByHand || x.p.Choices[k].Pin == Out
	}
	for _, k := range step.Drop {
		flip(k, -1)
		step.ByHand = step.ByHand || x.p.Choices[k].Pin == In
	}
	for r, by := range change {
		row := &x.rows[r]
		miss := row.miss(s.sum[r] + by)
		switch {
		case miss == 0 || miss <= row.miss(s.sum[r]):
		case r == len(x.p.Rules):
			step.Short = miss
		default:
			step.Breaks = append(step.Breaks, r)
		}
	}
	slices.Sort(step.Breaks)
}
