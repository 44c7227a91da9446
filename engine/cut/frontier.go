package cut

import (
	"math"
	"slices"
)

// Corner is a point of the frontier that no mixture of others reaches: the most that its money can stop, proved.
type Corner struct {
	Cost    float64 `json:"cost"`
	Stopped float64 `json:"stopped"`
	Waters  []int   `json:"waters"`
	// Price is what the next unit of money buys here, in passages: the slope to the next corner.
	Price float64 `json:"price"`
}

// tolerance is how far above an edge a new corner must lie, as a share of all passages, to count as one.
const tolerance = 1e-9

// keepFlows is how many flows are kept to go on from; each takes as much memory as the arcs.
const keepFlows = 12

// split looks for a corner between two neighbouring points. It reports whether there was one, and otherwise closes the edge.
func (g *Graph) split(i int) bool {
	a, b := &g.points[i], &g.points[i+1]
	if a.closed {
		return false
	}
	price := (b.value - a.value) / (b.cost - a.cost)
	p, limit := g.solve(price, g.below(price))
	line := a.value - price*a.cost
	eps := tolerance*g.total + g.slack
	if p.value-price*p.cost <= line+eps || p.cost <= a.cost || p.cost >= b.cost && p.value <= b.value {
		a.closed, a.bound, a.limit = true, price, math.Max(limit, line)
		if b.flow == nil {
			b.flow = p.flow
			b.price = price
		}
		g.forget()
		return false
	}
	// What the new point makes worthless goes: dearer and no better.
	keep := g.points[: i+1 : i+1]
	rest := slices.Clone(g.points[i+1:])
	keep = append(keep, p)
	for _, q := range rest {
		if q.value > p.value+eps || q.cost < p.cost {
			keep = append(keep, q)
		}
	}
	g.points = keep
	g.forget()
	return true
}

// below gives the flow of the nearest price that is not higher.
func (g *Graph) below(price float64) *snapshot {
	best, at := -1.0, (*snapshot)(nil)
	for i := range g.points {
		if p := &g.points[i]; p.flow != nil && p.price <= price && p.price > best {
			best, at = p.price, p.flow
		}
	}
	return at
}

// forget drops flows beyond the last few, those of high prices first: they are the ones least gone on from.
func (g *Graph) forget() {
	n := 0
	for i := len(g.points) - 1; i >= 0; i-- {
		if g.points[i].flow != nil {
			if n++; n > keepFlows {
				g.points[i].flow = nil
			}
		}
	}
}

// edge finds the two neighbouring corners around a budget and returns the index of the left one.
func (g *Graph) edge(budget float64) int {
	for {
		i := len(g.points) - 1
		for i > 0 && g.points[i].cost > budget {
			i--
		}
		if i == len(g.points)-1 || !g.split(i) {
			return i
		}
	}
}

// Corners gives every corner up to a budget (math.Inf(1): all of them), the empty plan first.
func (g *Graph) Corners(budget float64) []Corner {
	for i := 0; i+1 < len(g.points) && g.points[i].cost <= budget; {
		if !g.split(i) {
			i++
		}
	}
	var out []Corner
	for i, p := range g.points {
		if p.cost > budget {
			break
		}
		c := Corner{Cost: p.cost, Stopped: p.value, Waters: g.waters(p.chosen)}
		if i+1 < len(g.points) {
			c.Price = p.bound
		}
		out = append(out, c)
	}
	return out
}

// At plans for a budget: the best corner within it, what the rest of the money buys, and the limit that no plan exceeds.
func (g *Graph) At(budget float64) Plan {
	if g.total == 0 || budget < 0 {
		return Plan{}
	}
	i := g.edge(budget)
	p := g.points[i]
	bound := p.value
	if i+1 < len(g.points) && budget > p.cost {
		bound = math.Min(p.limit+p.bound*budget, g.total)
	}
	chosen := slices.Clone(p.chosen)
	best := g.improve(chosen, budget)
	if i+1 < len(g.points) && best.value < bound*(1-tolerance) {
		for _, start := range [][]bool{g.points[i+1].chosen, make([]bool, len(g.nodes))} {
			if q := g.improve(slices.Clone(start), budget); q.value > best.value {
				best = q
			}
		}
	}
	return Plan{Waters: g.waters(best.chosen), Cost: best.cost, Stopped: best.value, Bound: math.Max(bound, best.value)}
}

// Frontier plans for several budgets, the dearest first because a flow of a low price is a start for a higher one; plans come
// back in the order of the budgets.
func (g *Graph) Frontier(budgets []float64) []Plan {
	order := make([]int, len(budgets))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		if budgets[a] > budgets[b] {
			return -1
		}
		return 1
	})
	out := make([]Plan, len(budgets))
	for _, i := range order {
		out[i] = g.At(budgets[i])
	}
	return out
}

func (g *Graph) waters(chosen []bool) []int {
	out := []int{}
	for v, on := range chosen {
		if on {
			out = append(out, g.nodes[v])
		}
	}
	slices.Sort(out)
	return out
}
