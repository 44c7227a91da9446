// Package cut finds where stations should stand for one organism when every station costs something and meets every craft:
// which waters to watch so that the most risky passages are stopped for a budget.
//
// Risky passages go from infested waters to clean ones, so they form a bipartite graph, and with a price μ on money
//
//	max Σ n_ij·min(1, x_i + x_j) − μ·Σ c_i·x_i
//
// is a minimum cut: source → i with capacity μ·c_i for infested i, i → j with n_ij, j → sink with μ·c_j for clean j; an
// infested water is watched when it lies on the sink's side, a clean one when it lies on the source's. So every corner of the
// concave hull of (cost, passages stopped) is found exactly, and between corners the hull is an upper limit that no choice of
// stations beats. Gallo, Grigoriadis & Tarjan (SIAM J. Comput. 18 (1989) 30-55) treat such families of cuts; here both
// boundaries move with the price, so cuts are not nested and each is found anew, going on from the flow of a lower price.
//
// Start with [New] and [Graph.At]. Several organisms at once, uneven detection, hours and side conditions are the matter of
// package siting.
package cut

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"thwart/engine/num"
)

// Arc is the passages from one water to another that would carry the organism where it is not.
type Arc struct {
	From, To int
	Weight   float64 // passages, or passages times chance and harm
}

// Graph is a problem of one organism. It keeps what it has learnt of the frontier; it is not for use by several goroutines.
type Graph struct {
	cost  []float64 // by water
	arcs  []Arc     // merged, sorted
	total float64
	costs float64 // of the cheaper whole side: every passage is stopped

	nodes  []int // waters by node of the network: infested ones first
	place  []int // node of a water, -1 if no arc touches it
	flow   *flow
	scale  float64
	slack  float64 // by how much rounding may have lowered a flow, in weight
	points []point // of the frontier so far, by rising cost
	calls  int
}

// point is a solution that is known, and the price at which it was found.
type point struct {
	cost, value, price float64
	chosen             []bool // by node
	flow               *snapshot
	closed             bool    // no corner lies between it and the next point
	bound              float64 // then: price of the edge to the next point …
	limit              float64 // … and value − price·cost that nothing exceeds
}

// Plan is stations for a budget.
type Plan struct {
	Waters  []int   `json:"waters"` // indices, ascending
	Cost    float64 `json:"cost"`
	Stopped float64 `json:"stopped"`
	// Bound is what no choice of stations within the budget exceeds: proved by a cut.
	Bound float64 `json:"bound"`
}

// Better is the share by which a better plan could at most exceed this one: 0 when proved best.
func (p Plan) Better() float64 {
	if p.Stopped <= 0 {
		if p.Bound <= 0 {
			return 0
		}
		return math.Inf(1)
	}
	return math.Max(0, p.Bound/p.Stopped-1)
}

// scaleBits is the size of all weights together once they are whole numbers: 2^52, so that rounding loses one part in 10^10
// at a million passages and sums stay far from the end of int64.
const scaleBits = 52

// New makes a graph from the cost of watching each water and the arcs. An arc from a water to itself, a water that has arcs
// both in and out (it is infested and clean), a cost that is not positive and a negative weight are refused.
func New(cost []float64, arcs []Arc) (*Graph, error) {
	g := &Graph{cost: cost, place: make([]int, len(cost))}
	for i, c := range cost {
		if err := num.Positive(fmt.Sprintf("cost of water %d", i), c); err != nil {
			return nil, err
		}
		g.place[i] = -1
	}
	for k, a := range arcs {
		if a.From < 0 || a.From >= len(cost) || a.To < 0 || a.To >= len(cost) || a.From == a.To {
			return nil, fmt.Errorf("arc %d from %d to %d: accepted are two different waters, 0 to %d", k, a.From, a.To, len(cost)-1)
		}
		if err := num.NotNegative(fmt.Sprintf("weight of arc %d", k), a.Weight); err != nil {
			return nil, err
		}
		if a.Weight > 0 {
			g.arcs = append(g.arcs, a)
		}
	}
	g.merge()
	return g, g.build()
}

func (g *Graph) merge() {
	slices.SortFunc(g.arcs, func(a, b Arc) int { return cmp.Or(cmp.Compare(a.From, b.From), cmp.Compare(a.To, b.To)) })
	out := g.arcs[:0]
	for _, a := range g.arcs {
		if n := len(out); n > 0 && out[n-1].From == a.From && out[n-1].To == a.To {
			out[n-1].Weight += a.Weight
			continue
		}
		out = append(out, a)
	}
	g.arcs = out
}

func (g *Graph) build() error {
	side := make([]int8, len(g.cost))
	for _, a := range g.arcs {
		if side[a.From] == 2 || side[a.To] == 1 {
			return fmt.Errorf("passages from %d to %d: a water cannot be infested and clean of the same organism", a.From, a.To)
		}
		side[a.From], side[a.To] = 1, 2
		g.total += a.Weight
	}
	var sum [3]float64
	left := 0
	for s := int8(1); s <= 2; s++ {
		for i := range side {
			if side[i] == s {
				g.place[i] = len(g.nodes)
				g.nodes = append(g.nodes, i)
				sum[s] += g.cost[i]
			}
		}
		if s == 1 {
			left = len(g.nodes)
		}
	}
	whole := 1 // the cheaper side, watched whole, stops everything
	if sum[2] < sum[1] {
		whole = 2
	}
	g.costs = sum[whole]
	g.network(left)
	all := point{cost: g.costs, value: g.total, chosen: make([]bool, len(g.nodes))}
	for v := range g.nodes {
		all.chosen[v] = side[g.nodes[v]] == int8(whole)
	}
	g.points = []point{{price: math.Inf(1), chosen: make([]bool, len(g.nodes))}}
	if g.total > 0 {
		g.points = append(g.points, all)
	}
	return nil
}

func (g *Graph) network(left int) {
	n := len(g.arcs)
	tail, head, capacity := make([]int32, n), make([]int32, n), make([]int64, n)
	if g.total > 0 {
		g.scale = math.Exp2(scaleBits) / g.total
	}
	for k, a := range g.arcs {
		tail[k], head[k] = int32(g.place[a.From]), int32(g.place[a.To])
		capacity[k] = int64(a.Weight * g.scale) // rounded down: a flow within it is one within the true capacities
	}
	g.slack = float64(n+len(g.nodes)) / math.Max(g.scale, 1e-300)
	g.flow = newFlow(left, len(g.nodes)-left, tail, head, capacity)
}

// Total is the weight of all passages.
func (g *Graph) Total() float64 { return g.total }

// Cuts is how many cuts have been computed so far.
func (g *Graph) Cuts() int { return g.calls }

// solve finds the best choice at a price, beginning from a flow of a lower price. limit is proved: no choice has a larger
// value − price·cost.
func (g *Graph) solve(price float64, from *snapshot) (p point, limit float64) {
	g.calls++
	outside := make([]int64, len(g.nodes))
	for v, i := range g.nodes {
		outside[v] = int64(math.Min(price*g.cost[i]*g.scale, math.Exp2(60)/float64(len(g.nodes))))
	}
	g.flow.load(from)
	through := g.flow.run(outside)
	p = point{price: price, chosen: make([]bool, len(g.nodes)), flow: g.flow.save()}
	for v := range p.chosen {
		p.chosen[v] = g.flow.toSink(v) == (v < g.flow.left)
	}
	p.cost, p.value = g.worth(p.chosen)
	// Weak duality: every cut is at least as large as every flow. Rounding lowered the flow, which can only raise the limit.
	return p, g.total - float64(through)/g.scale
}

// worth is the cost and value of a choice, summed anew.
func (g *Graph) worth(chosen []bool) (cost, value float64) {
	for v, on := range chosen {
		if on {
			cost += g.cost[g.nodes[v]]
		}
	}
	for k := range g.arcs {
		if chosen[g.flow.tail[k]] || chosen[g.flow.head[k]] {
			value += g.arcs[k].Weight
		}
	}
	return cost, value
}
