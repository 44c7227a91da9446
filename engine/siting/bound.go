package siting

import "math"

// prices are the multipliers of a Lagrangian relaxation, and the fractional plan that goes with them.
//
// The share stopped of passage g is z_g = a + b - ab for the chances a on leaving and b on arriving, of which no more than Σ q·x of
// what is chosen there and no more than the best chances A and B. So z_g lies below each of these cuts: a + b;
// AB + (1-B)a + (1-A)b, which is the rest of its concave envelope (McCormick 1976, Math. Program. 10:147-175); and, where
// more than one choice may be made at a place, A + (1-A)b, B + (1-B)a and A + B - AB, the submodular inequalities of
// [Problem.Model]. Any weighting of the cuts of a passage that adds up to 1 is a limit of z_g. With every rule and every need
// x_k ≤ x_n at a price too, what is left falls apart into single choices, and its optimum is an upper limit of every plan: Fisher
// 1981 (Management Science 27:1-18). Rules of the kind "one of these at most" are kept, so the best of each such group counts
// once. The limit holds for whatever multipliers; how they are found ([limiter.limit]) only decides how low it is.
type prices struct {
	cut  []float64 // weight of each cut but the first of its passage, which has the rest
	rule []float64 // by row: > 0 presses against Hi, < 0 against Lo
	need []float64 // by choice and its needs, one after the other

	bound  float64
	x      []float64 // by choice
	weight float64   // of steps of prices against those of choices
}

// meeting is a choice that can stop a passage.
type meeting struct {
	choice int32
	place  int32
	q      float64
}

// plane is a cut as what it lies below a + b: at - off[0]·a - off[1]·b.
type plane struct {
	at  float64
	off [Places]float64
}

// limiter computes the limit.
type limiter struct {
	*index
	weight []float64 // of passages that count
	meets  []meeting // of passage i from firstMeet[i] to firstMeet[i+1]
	cuts   []plane   // the same with firstCut
	needs  [][2]int32
	groups [][]int // "one at most"
	alone  []int   // choices in no group
	group  []int   // of a choice, -1 for none
	rowIn  []bool  // rows that are kept, as groups
	inRows [][]Part

	firstMeet, firstCut []int32

	reduce   []float64 // by choice: what it gives at the prices
	tau      []float64 // steps of choices
	sigma    []float64 // steps of cuts by passage
	sigmaR   []float64 // of rows
	sigmaN   float64   // of needs
	unit     []float64 // by row: what one of its amount is about worth
	needUnit float64   // the same of needs
	act      []float64 // by row
	spare    []float64 // another reduce
	few      []float64
}

func (x *index) limiter() *limiter {
	l := &limiter{index: x, rowIn: make([]bool, len(x.rows)), group: make([]int, len(x.p.Choices)), act: make([]float64, len(x.rows))}
	for i := range l.group {
		l.group[i] = -1
	}
	for r := range x.rows {
		if l.disjoint(r) {
			var members []int
			for _, t := range x.rows[r].Parts {
				l.group[t.Choice] = len(l.groups)
				members = append(members, t.Choice)
			}
			l.rowIn[r] = true
			l.groups = append(l.groups, members)
		}
	}
	l.inRows = make([][]Part, len(x.p.Choices))
	for k, c := range x.p.Choices {
		if l.group[k] < 0 {
			l.alone = append(l.alone, k)
		}
		for _, t := range x.rules[k] {
			if !l.rowIn[t.Choice] {
				l.inRows[k] = append(l.inRows[k], t)
			}
		}
		for _, n := range c.Needs {
			l.needs = append(l.needs, [2]int32{int32(k), int32(n)})
		}
	}
	for i := range x.p.Passages {
		l.passage(&x.p.Passages[i])
	}
	l.firstMeet, l.firstCut = append(l.firstMeet, int32(len(l.meets))), append(l.firstCut, int32(len(l.cuts)))
	l.reduce, l.spare = make([]float64, len(x.p.Choices)), make([]float64, len(x.p.Choices))
	l.steps()
	return l
}

// disjoint tells whether a row says "one of these at most" of choices that are in no group yet.
func (l *limiter) disjoint(r int) bool {
	row := &l.rows[r]
	if row.Hi != 1 || row.Lo > 0 || len(row.Parts) == 0 {
		return false
	}
	for _, t := range row.Parts {
		if t.Amount != 1 || l.group[t.Choice] >= 0 || l.p.Choices[t.Choice].Pin == In {
			return false
		}
	}
	return true
}

// passage adds a passage that something can stop, with its cuts.
func (l *limiter) passage(g *Passage) {
	if g.Weight == 0 {
		return
	}
	var top [Places]float64
	one := [Places]bool{true, true} // at most one choice is made there
	first := [Places]int{-1, -1}
	from := len(l.meets)
	for _, m := range g.Meets {
		if m.Q == 0 || l.p.Choices[m.Choice].Pin == Out {
			continue
		}
		l.meets = append(l.meets, meeting{int32(m.Choice), int32(m.Place), m.Q})
		top[m.Place] = math.Max(top[m.Place], m.Q)
		switch f := first[m.Place]; {
		case f < 0:
			first[m.Place] = m.Choice
		case f == m.Choice || l.group[f] < 0 || l.group[f] != l.group[m.Choice]:
			one[m.Place] = false
		}
	}
	if len(l.meets) == from {
		return
	}
	l.weight = append(l.weight, g.Weight)
	l.firstMeet, l.firstCut = append(l.firstMeet, int32(from)), append(l.firstCut, int32(len(l.cuts)))
	a, b := top[0], top[1]
	if a > 0 && b > 0 {
		l.cuts = append(l.cuts, plane{a * b, [Places]float64{b, a}})
	}
	if !one[0] && b > 0 {
		l.cuts = append(l.cuts, plane{a, [Places]float64{1, a}})
	}
	if !one[1] && a > 0 {
		l.cuts = append(l.cuts, plane{b, [Places]float64{b, 1}})
	}
	if !one[0] || !one[1] {
		l.cuts = append(l.cuts, plane{a + b - a*b, [Places]float64{1, 1}})
	}
}

func (l *limiter) begin() *prices {
	p := &prices{
		cut: make([]float64, len(l.cuts)), rule: make([]float64, len(l.rows)), need: make([]float64, len(l.needs)), x: make([]float64, len(l.p.Choices)), bound: math.Inf(1), weight: 4,
	}
	return p
}

// price computes what every choice gives at the prices into l.reduce, and the limit.
func (l *limiter) price(p *prices) float64 {
	clear(l.reduce)
	var total float64
	for i, w := range l.weight {
		keep := [Places]float64{w, w}
		cuts := l.cuts[l.firstCut[i]:l.firstCut[i+1]]
		for n, v := range p.cut[l.firstCut[i]:l.firstCut[i+1]] {
			v *= w
			total += v * cuts[n].at
			keep[0] -= v * cuts[n].off[0]
			keep[1] -= v * cuts[n].off[1]
		}
		for _, m := range l.meets[l.firstMeet[i]:l.firstMeet[i+1]] {
			l.reduce[m.choice] += keep[m.place] * m.q
		}
	}
	return total + l.priceRows(p)
}

// priceRows takes the prices of rules and needs off l.reduce and gives what they add to the limit with all choices that pay.
func (l *limiter) priceRows(p *prices) (total float64) {
	for r, price := range p.rule {
		switch row := &l.rows[r]; {
		case price > 0:
			total += price * row.Hi
		case price < 0:
			total += price * row.Lo
		}
	}
	for k := range l.reduce {
		for _, t := range l.inRows[k] {
			l.reduce[k] -= p.rule[t.Choice] * t.Amount
		}
	}
	for i, n := range l.needs {
		l.reduce[n[0]] -= p.need[i]
		l.reduce[n[1]] += p.need[i]
	}
	return total + l.take()
}

// take is what all that pays gives: every free choice above zero, the best of each group.
func (l *limiter) take() (total float64) {
	for _, k := range l.alone {
		switch l.p.Choices[k].Pin {
		case In:
			total += l.reduce[k]
		case Free:
			total += math.Max(0, l.reduce[k])
		}
	}
	for _, members := range l.groups {
		best := 0.0
		for _, k := range members {
			if l.p.Choices[k].Pin != Out {
				best = math.Max(best, l.reduce[k])
			}
		}
		total += best
	}
	return total
}

func (p *prices) clone() *prices {
	q := *p
	q.cut, q.rule = append([]float64(nil), p.cut...), append([]float64(nil), p.rule...)
	q.need, q.x = append([]float64(nil), p.need...), append([]float64(nil), p.x...)
	return &q
}

// copyFrom makes p what q is.
func (p *prices) copyFrom(q *prices) {
	copy(p.cut, q.cut)
	copy(p.rule, q.rule)
	copy(p.need, q.need)
	copy(p.x, q.x)
	p.bound = q.bound
}

// above is the set of choices that the fractional plan makes by more than a share.
func (p *prices) above(share float64) []bool {
	out := make([]bool, len(p.x))
	for k, v := range p.x {
		out[k] = v > share
	}
	return out
}
