package round

import (
	"cmp"
	"math"
	"slices"

	"thwart/lean"
)

// node is a spot that the steward has to come to in a posture. The start corner and the door are nodes without one.
type node struct {
	at      Point
	posture int // noPosture fits all
}

const noPosture = -1 << 31

// lowerBound is a time for walking and changing posture that no order can beat, if it starts at the start corner c, looks
// at every stop from its stand, boards only over the door b, and ends off the craft. It costs 1/v seconds a metre and
// k = PostureChangeS between two stops that follow each other in different postures.
//
// Proof. Take any such order as a walk through nodes, a node being a stand (or a place aboard, or a piece of gear) with
// the posture it is looked at in. Cut the walk at the door. What lies aboard is one or more closed walks from b; joined,
// they are one closed walk W1 through the nodes aboard and b. What is left joins up to one walk W0 on the ground, from c
// through all nodes of the ground and b. Every move is at least as long as the straight line, and a move between nodes of
// unlike posture costs k more; moves to and from c and b, which have no posture, are charged for their length alone.
//
//  1. Each walk connects its nodes, so it costs no less than the minimum spanning tree under the cost
//     |xy|/v + k·[both have a posture, and they differ].
//  2. A closed curve is at least as long as the boundary of the convex hull of its points (Cauchy: the perimeter of a
//     convex set is the mean over all directions of π times its width, and the curve covers each width twice). So
//     v·W1 ≥ hull aboard; and W0, closed by the straight line from its end e to c, gives v·W0 ≥ hull on the ground - |ec|,
//     where |ec| is at most the distance from c to the farthest node.
//  3. Let no posture be used both on the ground and aboard. Then every crossing of the door between two stops is a change
//     of posture. With g postures on the ground, a aboard, m stays aboard and p pieces of ground walk between them, the
//     ground sees at least g - p changes, the deck a - m, the door p + m - 1. Since p, m ≥ 1, ground and door together
//     see at least g, deck and door at least a, and all three at least g + a - 1. So g - 1 may be added to the hull on the
//     ground, a - 1 to the hull aboard, and k for the door on top of either kind of bound: a tree charges nothing for the
//     door. Where there is no deck, the ground sees g - 1 changes. Where a posture is used on both sides, none of this is
//     added.
//
// The bound takes the larger of 1 and of 2 with 3, on the ground and aboard, and adds the door.
func lowerBound(stations []station, line path, door Point, board, laid []Stop, o Options) float64 {
	start := line.at(0)
	ground := []node{{start, noPosture}}
	for i := range stations {
		at := line.at(stations[i].stand)
		for j, s := range stations[i].stops {
			if j == 0 || s.Posture != stations[i].stops[j-1].Posture { // the stops of a station are sorted by posture
				ground = append(ground, node{at, s.Posture})
			}
		}
	}
	for _, s := range laid {
		ground = append(ground, node{Point{s.XM, s.YM}, s.Posture})
	}
	var deck []node
	if len(board) > 0 {
		ground, deck = append(ground, node{door, noPosture}), append(deck, node{door, noPosture})
	}
	for _, s := range board {
		deck = append(deck, node{Point{s.XM, s.YM}, s.Posture})
	}
	far := 0.0
	for _, n := range ground {
		far = max(far, distance(start, n.at))
	}
	cost := func(a, b node) float64 {
		c := distance(a.at, b.at) / o.WalkMPerS
		if a.posture != noPosture && b.posture != noPosture && a.posture != b.posture {
			c += o.PostureChangeS
		}
		return c
	}
	below, above := posturesOf(ground), posturesOf(deck)
	apart := disjoint(below, above)
	changes := func(postures map[int]bool) float64 {
		if !apart {
			return 0
		}
		return o.PostureChangeS * float64(max(0, len(postures)-1))
	}
	bound := max(spanningTree(ground, cost), (hullPerimeter(ground)-far)/o.WalkMPerS+changes(below))
	bound += max(spanningTree(deck, cost), hullPerimeter(deck)/o.WalkMPerS+changes(above))
	if apart && len(below) > 0 && len(above) > 0 {
		bound += o.PostureChangeS
	}
	return bound
}

func posturesOf(nodes []node) map[int]bool {
	seen := map[int]bool{}
	for _, n := range nodes {
		if n.posture != noPosture {
			seen[n.posture] = true
		}
	}
	return seen
}

func disjoint(a, b map[int]bool) bool {
	for k := range a {
		if b[k] {
			return false
		}
	}
	return true
}

// spanningTree is the cost of the minimum spanning tree, by Prim's method in O(n²).
func spanningTree(nodes []node, cost func(a, b node) float64) float64 {
	if len(nodes) == 0 {
		return 0
	}
	gap := make([]float64, len(nodes)) // from the tree to each node outside it; negative once it is inside
	for i := range gap {
		gap[i] = math.Inf(1)
	}
	total, last := 0.0, 0
	gap[0] = -1
	for range len(nodes) - 1 {
		next := -1
		for i := range nodes {
			if gap[i] < 0 {
				continue
			}
			gap[i] = min(gap[i], cost(nodes[last], nodes[i]))
			if next < 0 || gap[i] < gap[next] {
				next = i
			}
		}
		total += gap[next]
		gap[next], last = -1, next
	}
	return total
}

// hullPerimeter is the boundary length of the convex hull (Andrew's monotone chain); of points on one line it is twice
// their extent.
func hullPerimeter(nodes []node) float64 {
	if len(nodes) < 2 {
		return 0
	}
	p := make([]Point, len(nodes))
	for i := range nodes {
		p[i] = nodes[i].at
	}
	lean.Sort(p, func(a, b Point) int { return cmp.Or(cmp.Compare(a.XM, b.XM), cmp.Compare(a.YM, b.YM)) })
	length := half(p)
	slices.Reverse(p)
	return length + half(p)
}

// half is the length of the hull's chain from the first to the last of the sorted points, all points on its left.
func half(p []Point) float64 {
	chain := make([]Point, 0, len(p))
	for _, q := range p {
		for len(chain) >= 2 {
			a, b := chain[len(chain)-2], chain[len(chain)-1]
			if (b.XM-a.XM)*(q.YM-a.YM)-(b.YM-a.YM)*(q.XM-a.XM) > 0 {
				break
			}
			chain = chain[:len(chain)-1]
		}
		chain = append(chain, q)
	}
	length := 0.0
	for i := 1; i < len(chain); i++ {
		length += distance(chain[i-1], chain[i])
	}
	return length
}
