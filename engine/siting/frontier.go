package siting

import (
	"cmp"
	"context"
	"math"
	"runtime"
	"slices"
	"sync"

	"thwart/engine/num"
)

// chainLength is how many budgets are planned one from the other. Chains are computed side by side; where they begin depends on the
// budgets alone, so that the answer is the same on any machine.
const chainLength = 5

// Frontier plans for several budgets, from the least to the most, each from the plan and the prices of the one before it in its
// chain. told, if not nil, is called after each point. Values and limits never fall as money grows: a cheaper plan is a plan for
// more money too, and a limit for more money holds for less.
func (p *Problem) Frontier(ctx context.Context, budgets []float64, effort Effort, told func(done int)) ([]Plan, error) {
	q := *p
	q.Budget = math.Inf(1)
	if err := q.Check(); err != nil {
		return nil, err
	}
	order := make([]int, len(budgets))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(budgets[a], budgets[b]) })
	out := make([]Plan, len(budgets))
	chains := make(chan []int)
	var each sync.WaitGroup
	var mu sync.Mutex
	done := 0
	for range min(runtime.GOMAXPROCS(0), (len(order)+chainLength-1)/chainLength) {
		each.Go(func() {
			for chain := range chains {
				p.chain(ctx, budgets, chain, effort, out, func() {
					mu.Lock()
					defer mu.Unlock()
					if done++; told != nil {
						told(done)
					}
				})
			}
		})
	}
	for chain := range slices.Chunk(order, chainLength) {
		chains <- chain
	}
	close(chains)
	each.Wait()
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	for n := 1; n < len(order); n++ {
		if a, b := &out[order[n-1]], &out[order[n]]; a.Kept && a.Value > b.Value {
			keep := b.Bound
			*b = *a
			b.Bound = math.Max(keep, b.Value)
		}
	}
	for n := len(order) - 2; n >= 0; n-- {
		a, b := &out[order[n]], &out[order[n+1]]
		a.Bound = math.Max(a.Value, math.Min(a.Bound, b.Bound))
	}
	return out, nil
}

// chain plans for neighbouring budgets, each from the one before.
func (p *Problem) chain(ctx context.Context, budgets []float64, order []int, effort Effort, out []Plan, told func()) {
	q := *p
	var from []bool
	var warm *prices
	for _, i := range order {
		if ctx.Err() != nil {
			return
		}
		q.Budget = budgets[i]
		out[i], warm = q.index().search(ctx, effort.or(), from, warm)
		from = q.Set(out[i].Chosen)
		told()
	}
}

// Advance is the cost of the next useful step of a frontier: the cheapest point that stops more. Frontiers have flat pieces, where
// some more money buys nothing.
type Advance struct {
	Cost  float64 `json:"cost"`  // more money
	Value float64 `json:"value"` // more risk stopped
}

// NextStep gives the next useful step after a plan of a frontier; ok is false at its end.
func NextStep(frontier []Plan, at Plan) (step Advance, ok bool) {
	for _, p := range frontier {
		if p.Value > at.Value*(1+1e-9) && p.Cost > at.Cost && (!ok || p.Cost-at.Cost < step.Cost) {
			step, ok = Advance{Cost: p.Cost - at.Cost, Value: p.Value - at.Value}, true
		}
	}
	return step, ok
}

// Worth of a change, such as one more person: Mid is the difference between the plans found, and the best plans with and
// without lie no further apart than Lo to Hi, which the limits prove.
func Difference(with, without Plan) num.Interval {
	d := num.Interval{
		Lo: math.Max(0, with.Value-without.Bound), Mid: math.Max(0, with.Value-without.Value), Hi: math.Max(0, with.Bound-without.Value),
	}
	d.Mid = math.Min(math.Max(d.Mid, d.Lo), d.Hi)
	return d
}

// Loosened is the problem with one rule's upper limit raised, for what one more of something is worth.
func (p *Problem) Loosened(rule int, by float64) *Problem {
	q := *p
	q.Rules = slices.Clone(p.Rules)
	q.Rules[rule].Hi += by
	return &q
}
