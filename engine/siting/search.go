package siting

import (
	"context"
	"math"
	"slices"

	"thwart/engine/num"
)

// Effort bounds a search by counts, never by the clock: the same problem gives the same plan on every machine.
type Effort struct {
	Exchanges int     // rounds of exchanges; 0 means 12
	Rounds    int     // of the limit's prices; 0 means 300
	Shakes    int     // times a part of the plan is torn up and made anew; 0 means 400
	Seed      uint64  // of the luck in that
	Enough    float64 // stop exchanging when at most this share better is possible; 0 means 0.0005
}

func (e Effort) or() Effort {
	if e.Exchanges == 0 {
		e.Exchanges = 12
	}
	if e.Rounds == 0 {
		e.Rounds = 300
	}
	if e.Shakes == 0 {
		e.Shakes = 400
	}
	if e.Enough == 0 {
		e.Enough = 0.0005
	}
	return e
}

// Search plans by a greedy beginning, exchanges, and prices that say both what to try and how much better any plan can be. A
// plan whose rules it could not keep has Kept false: that does not prove that there is none, [Problem.Explain] does. A
// cancelled context ends it early with the best so far.
func (p *Problem) Search(ctx context.Context, effort Effort) (Plan, error) {
	if err := p.Check(); err != nil {
		return Plan{}, err
	}
	x := p.index()
	plan, _ := x.search(ctx, effort.or(), nil, nil)
	return plan, nil
}

// search plans from a warm start: a set of choices and prices of a neighbouring problem, or nothing.
func (x *index) search(ctx context.Context, e Effort, from []bool, warm *prices) (Plan, *prices) {
	l := x.limiter()
	best := x.construct(from, nil)
	p := warm
	if p == nil {
		p = l.begin()
		p.rule[len(x.rows)-1] = x.lastRatio(best)
	} else {
		p = p.clone()
		p.bound = math.Inf(1)
	}
	known := func() float64 {
		if best.missed() > 0 {
			return 0
		}
		return best.value
	}
	enough := func() bool { return ctx.Err() != nil || p.bound <= known()*(1+e.Enough) }
	p = l.limit(p, known(), e.Rounds)
	for _, start := range [][]bool{nil, p.above(0.99), p.above(0.5), p.above(0.1)} {
		if enough() {
			break
		}
		if again := x.construct(start, p); better(again, best) {
			best = again
		}
	}
	dear := x.dear(p)
	for i := range e.Exchanges {
		if enough() || !best.exchange(ctx, dear) {
			break
		}
		if i == 2 {
			p = l.limit(p, known(), e.Rounds)
		}
	}
	if !enough() {
		best = x.shake(ctx, best, dear, e, func(v float64) bool { return p.bound <= v*(1+e.Enough) })
	}
	if ctx.Err() == nil && p.bound > known()*(1+1e-9) {
		p = l.limit(p, known(), e.Rounds)
	}
	plan := best.plan("search")
	plan.Bound = math.Max(math.Min(p.bound, x.p.Total()), plan.Value)
	return plan, p
}

// better compares two sets: fewer broken rules first, then value.
func better(a, b *state) bool {
	ma, mb := a.missed(), b.missed()
	if ma != mb {
		return ma < mb
	}
	return a.value > b.value*(1+1e-12)
}

// construct builds a plan: what is fixed, then what the rules ask for, then the best per money. With prices given, money is
// replaced by all that is scarce at those prices.
func (x *index) construct(from []bool, p *prices) *state {
	start := make([]bool, len(x.p.Choices))
	if from != nil {
		copy(start, from)
	}
	for k, c := range x.p.Choices {
		if c.Pin == Out {
			start[k] = false
		}
	}
	s := x.state(start)
	for k, c := range x.p.Choices {
		if c.Pin == In && !s.chosen[k] {
			for _, n := range s.with(k) {
				s.flip(n)
			}
		}
	}
	s.dropOrphans()
	dear := x.dear(p)
	s.settle(dear, x.balancing())
	return s
}

// settle repairs and fills, with rows that weigh choices against each other allowed to be missed by less and less.
func (s *state) settle(dear, allow []float64) {
	if allow != nil {
		s.allow = make([]float64, len(allow))
		for _, share := range []float64{1, 0.5, 0.25, 0.12} {
			for r, a := range allow {
				s.allow[r] = share * a
			}
			s.repair(dear)
			s.fill(dear, -1)
		}
		s.allow = nil
	}
	s.repair(dear)
	s.fill(dear, -1)
}

// dropOrphans takes out choices that need something that is not chosen.
func (s *state) dropOrphans() {
	for changed := true; changed; {
		changed = false
		for k, on := range s.chosen {
			if on && s.p.Choices[k].Pin != In && len(s.with(k)) != 1 {
				s.flip(k)
				changed = true
			}
		}
	}
}

// dear is what each choice takes of all that is scarce: money alone, or every row at its price.
func (x *index) dear(p *prices) []float64 {
	out := make([]float64, len(x.p.Choices))
	for k, c := range x.p.Choices {
		out[k] = c.Cost
		if p != nil {
			out[k] = 0
			for _, t := range x.rules[k] {
				out[k] += math.Max(0, p.rule[t.Choice]*t.Amount)
			}
		}
	}
	sum := 0.0
	for _, v := range out {
		sum += v
	}
	floor := math.Max(1e-9, 1e-3*sum/math.Max(1, float64(len(out)))) // what costs nothing is not infinitely good
	for k := range out {
		out[k] = math.Max(out[k], floor)
	}
	return out
}

// price is what a choice takes with what it needs and is not chosen yet; +Inf when it is fixed out or needs something that is.
func (s *state) price(k int, dear []float64) float64 {
	if s.p.Choices[k].Pin == Out {
		return math.Inf(1)
	}
	if s.ready(k) {
		return dear[k]
	}
	flips := s.with(k)
	if flips == nil {
		return math.Inf(1)
	}
	var sum float64
	for _, n := range flips {
		sum += dear[n]
	}
	return sum
}

// candidate of a greedy step.
type candidate struct {
	choice int
	ratio  float64
}

// queue is a heap, the best ratio first; equal ratios in the order of choices.
type queue []candidate

func (q queue) less(i, j int) bool {
	if q[i].ratio != q[j].ratio {
		return q[i].ratio > q[j].ratio
	}
	return q[i].choice < q[j].choice
}

func (q queue) down(i int) {
	for {
		c := 2*i + 1
		if c >= len(q) {
			return
		}
		if c+1 < len(q) && q.less(c+1, c) {
			c++
		}
		if !q.less(c, i) {
			return
		}
		q[i], q[c] = q[c], q[i]
		i = c
	}
}

// fill adds the best per price as long as something can be added without breaking a rule; not is left out. Gains only shrink
// as more is chosen (the share stopped is submodular), so a candidate whose ratio is out of date is looked at again only when
// it comes up (Minoux 1978). What an opening makes cheaper is put in anew.
func (s *state) fill(dear []float64, not int) {
	q := s.heap[:0]
	floor := 1e-12 * s.value
	put := func(k int) {
		if !s.chosen[k] && k != not && s.gain[k] > floor {
			if p := s.price(k, dear); !math.IsInf(p, 1) {
				q = append(q, candidate{k, s.gain[k] / p})
			}
		}
	}
	if s.noise != nil {
		plain := put
		put = func(k int) {
			if n := len(q); !s.chosen[k] {
				if plain(k); len(q) > n {
					q[n].ratio *= 1 + 0.2*s.noise.Float64()
				}
			}
		}
	}
	build := func() {
		q = q[:0]
		for k := range s.chosen {
			put(k)
		}
		for i := len(q)/2 - 1; i >= 0; i-- {
			q.down(i)
		}
	}
	build()
	for len(q) > 0 {
		c := q[0]
		now := math.Inf(-1)
		if s.gain[c.choice] > floor {
			now = s.gain[c.choice] / s.price(c.choice, dear)
		}
		if s.noise == nil && now < c.ratio*(1-1e-12) && !math.IsInf(now, -1) {
			q[0].ratio = now
			q.down(0)
			continue
		}
		q[0] = q[len(q)-1]
		q = q[:len(q)-1]
		q.down(0)
		if math.IsInf(now, -1) {
			continue
		}
		flips := s.with(c.choice)
		if s.harm(flips) > 0 {
			continue // rules only fill up, so it stays out of reach
		}
		for _, n := range flips {
			s.flip(n)
		}
		if len(flips) > 1 {
			build()
		}
	}
	s.heap = q
}

// repair adds and takes away, what loses least for its help first, until every rule is kept or nothing helps. With dear in
// units of value (from prices) that is the loss of value; with money it is money less value, a makeshift before prices are
// known.
func (s *state) repair(dear []float64) {
	for range 4 * len(s.chosen) {
		if s.missed() == 0 {
			return
		}
		best, least := []int(nil), 0.0
		for k := range s.chosen {
			flips, loss := []int(nil), 0.0
			if s.chosen[k] {
				flips, loss = s.without(k), s.gain[k]-dear[k]
			} else {
				flips, loss = s.with(k), s.price(k, dear)-s.gain[k]
			}
			if flips == nil {
				continue
			}
			if h := -s.harm(flips); h > 1e-9 {
				if rank := loss / h; best == nil || rank < least {
					best, least = flips, rank
				}
			}
		}
		if best == nil {
			return
		}
		for _, n := range best {
			s.flip(n)
		}
	}
}

// exchange tries, for the poorest chosen ones, to do without, and for the best others, to make room. It keeps what is better.
func (s *state) exchange(ctx context.Context, dear []float64) (improved bool) {
	missed := s.missed()
	s.log = s.log[:0]
	try := func(change func() bool) {
		mark, value := len(s.log), s.value
		if change() {
			if m := s.missed(); m < missed || m == missed && s.value > value*(1+1e-10) {
				missed, improved = m, true
				return
			}
		}
		s.undo(mark)
		s.value = value
	}
	for _, k := range s.order(true, dear) {
		if ctx.Err() != nil {
			return improved
		}
		if s.chosen[k] {
			try(func() bool { return s.replace(k, dear) })
		}
	}
	for _, k := range s.order(false, dear) {
		if ctx.Err() != nil {
			return improved
		}
		if !s.chosen[k] {
			try(func() bool { return s.insert(k, dear) })
		}
	}
	return improved
}

// tries is how many choices of each kind one round of exchanges looks at.
const tries = 150

// order lists chosen ones by what they give per price, the poorest first; or others by what they would give, the best first.
func (s *state) order(chosen bool, dear []float64) []int {
	var out []int
	for k, on := range s.chosen {
		if on == chosen && (on || s.gain[k] > 0 || len(s.needed[k]) > 0) {
			out = append(out, k)
		}
	}
	ratio := func(k int) float64 { return s.gain[k] / dear[k] }
	slices.SortStableFunc(out, func(a, b int) int {
		switch ra, rb := ratio(a), ratio(b); {
		case ra == rb:
			return 0
		case ra < rb == chosen:
			return -1
		}
		return 1
	})
	if !chosen { // openings first: they give nothing by themselves
		slices.SortStableFunc(out, func(a, b int) int { return num.FalseFirst(len(s.needed[a]) == 0, len(s.needed[b]) == 0) })
	}
	return out[:min(len(out), tries)]
}

// replace does without a choice and fills up.
func (s *state) replace(k int, dear []float64) bool {
	flips := s.without(k)
	if flips == nil {
		return false
	}
	for _, n := range flips {
		s.flip(n)
	}
	s.repair(dear)
	s.fill(dear, k)
	s.fill(dear, -1)
	return true
}

// insert takes a choice in and makes room: first what shares a rule of few with it, then what gives least per price.
func (s *state) insert(k int, dear []float64) bool {
	flips := s.with(k)
	if flips == nil {
		return false
	}
	for _, n := range flips {
		s.flip(n)
	}
	keep := func(n int) bool { return slices.Contains(flips, n) }
	for _, n := range flips {
		if !s.makeRoom(n, keep, dear) {
			return false
		}
	}
	s.fill(dear, -1)
	return true
}

// makeRoom takes out the poorest choices of each rule that an added one broke.
func (s *state) makeRoom(k int, keep func(int) bool, dear []float64) bool {
	for _, t := range s.rules[k] {
		row := &s.rows[t.Choice]
		for row.miss(s.sum[t.Choice]) > 0 {
			if s.sum[t.Choice] < row.Lo {
				return false
			}
			worst := -1
			for _, o := range row.Parts {
				if !s.chosen[o.Choice] || keep(o.Choice) || o.Amount <= 0 {
					continue
				}
				if worst < 0 || s.gain[o.Choice]*dear[worst] < s.gain[worst]*dear[o.Choice] {
					worst = o.Choice
				}
			}
			if worst < 0 {
				return false
			}
			out := s.without(worst)
			if out == nil || slices.ContainsFunc(out, keep) {
				return false
			}
			for _, n := range out {
				s.flip(n)
			}
		}
	}
	return true
}

// lastRatio is what the last money of a plan bought: the poorest gain per cost among the chosen.
func (x *index) lastRatio(s *state) float64 {
	worst := math.Inf(1)
	for k, on := range s.chosen {
		if c := x.p.Choices[k].Cost; on && c > 0 {
			worst = math.Min(worst, s.gain[k]/c)
		}
	}
	if math.IsInf(worst, 1) || math.IsInf(x.p.Budget, 1) {
		return 0
	}
	return worst
}
