package round

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"thwart/engine/num"
	"thwart/lean"
)

// sorted copies the stops in order of their ids and refuses what cannot be laid out.
func sorted(stops []Stop) ([]Stop, error) {
	own := slices.Clone(stops)
	lean.Sort(own, func(a, b Stop) int { return cmp.Compare(a.ID, b.ID) })
	for i := range own {
		s := &own[i]
		if s.ID == "" {
			return nil, errors.New("a stop has no id; accepted: a unique id for each stop")
		}
		if i > 0 && own[i-1].ID == s.ID {
			return nil, fmt.Errorf("stop %q is there twice; accepted: each stop once", s.ID)
		}
		if s.Group > LaidOut {
			return nil, fmt.Errorf("stop %q: group %d is not accepted; accepted: outside, on board, laid out", s.ID, s.Group)
		}
		for _, c := range [3]float64{s.XM, s.YM, s.ZM} {
			if err := num.Within(s.ID+" position", c, -farM, farM); err != nil {
				return nil, err
			}
		}
		if err := num.NotNegative(s.ID+" lookS", s.LookS); err != nil {
			return nil, err
		}
	}
	return own, nil
}

// farM is the largest coordinate accepted, m; beyond it the entry is a slip of the unit.
const farM = 1000

// station is a stretch of the path no longer than the reach, the stand in its middle, and the stops seen from there.
type station struct {
	stand float64
	stops []Stop
}

// stationsOf groups outside stops into the fewest stretches of path no longer than the reach: walk on to the first stop
// not yet covered, open a stretch there, take in everything up to its end, repeat (the greedy cover of points on a line
// by intervals of one length, which is optimal).
func stationsOf(outside []Stop, line path, reachM float64) []station {
	type seen struct {
		stop Stop
		s    float64
	}
	along := make([]seen, len(outside))
	for i, s := range outside {
		along[i] = seen{s, line.nearest(s.XM, s.YM)}
	}
	lean.SortStable(along, func(a, b seen) int { return cmp.Compare(a.s, b.s) })
	var stations []station
	for len(along) > 0 {
		n := 1
		for n < len(along) && along[n].s-along[0].s <= reachM {
			n++
		}
		st := station{stand: (along[0].s + along[n-1].s) / 2, stops: make([]Stop, n)}
		for i := range st.stops {
			st.stops[i] = along[i].stop
		}
		stations = append(stations, st)
		along = along[n:]
	}
	return stations
}

// orderPostures sorts every station from high to low or from low to high so that posture changes on the whole round are
// fewest. Within a station either way costs one change less than it has postures; what can be saved is the change between
// one station's last posture and the next one's first. cost[i][way] is the least number of changes from station i to the
// end when it is worked in that way. Equal plans go to high-to-low, at the earliest station first.
func orderPostures(stations []station) {
	const down, up = 0, 1
	n := len(stations)
	if n == 0 {
		return
	}
	cost := make([][2]int, n)
	for i := n - 2; i >= 0; i-- {
		hereHigh, hereLow := stations[i].postures()
		nextHigh, nextLow := stations[i+1].postures()
		change := func(last, first, then int) int {
			if last != first {
				then++
			}
			return then
		}
		cost[i][down] = min(change(hereLow, nextHigh, cost[i+1][down]), change(hereLow, nextLow, cost[i+1][up]))
		cost[i][up] = min(change(hereHigh, nextHigh, cost[i+1][down]), change(hereHigh, nextLow, cost[i+1][up]))
	}
	last := -1
	for i := range stations {
		high, low := stations[i].postures()
		viaDown, viaUp := cost[i][down], cost[i][up]
		if i > 0 && last != high {
			viaDown++
		}
		if i > 0 && last != low {
			viaUp++
		}
		way := down
		last = low
		if viaUp < viaDown {
			way, last = up, high
		}
		stations[i].sort(way == down)
	}
}

// postures gives the highest (smallest number) and lowest posture of the station.
func (st *station) postures() (high, low int) {
	high, low = math.MaxInt, math.MinInt
	for i := range st.stops {
		high, low = min(high, st.stops[i].Posture), max(low, st.stops[i].Posture)
	}
	return high, low
}

// sort puts the stops of one station in working order: by posture, what drains last within one posture, by zone, then
// by height in the direction of work.
func (st *station) sort(down bool) {
	way := 1
	if !down {
		way = -1
	}
	lean.Sort(st.stops, func(a, b Stop) int {
		return cmp.Or(
			way*cmp.Compare(a.Posture, b.Posture),
			num.FalseFirst(a.Drains, b.Drains),
			cmp.Compare(a.Zone, b.Zone),
			way*cmp.Compare(b.ZM, a.ZM),
			cmp.Compare(a.ID, b.ID),
		)
	})
}

// thereAndBack orders the stops aboard along the shortest tour from the door that goes forward once and comes back once,
// so that nobody climbs back and forth; places abreast count as lying one behind the other from port to starboard. Of its two directions the one is taken in which draining places come later.
//
// It is the bitonic tour of Bentley (Cormen, Leiserson, Rivest & Stein, Introduction to Algorithms, problem 15-3), in
// O(n²) time. With the points numbered from the door forward and L(i..j) the length of the chain i, i+1 … j, the shortest
// pair of chains from the door that ends in j-1 and j and holds every point up to j is
//
//	f(1) = d(0,1),  f(j) = min over k < j-1 of f(k+1) + L(k+1..j-1) + d(k,j),
//
// and the tour closes with d(n-1,n).
func thereAndBack(door Point, board []Stop) []Stop {
	n := len(board)
	stops := slices.Clone(board)
	lean.Sort(stops, func(a, b Stop) int {
		return cmp.Or(cmp.Compare(b.XM, a.XM), cmp.Compare(a.YM, b.YM), cmp.Compare(a.ID, b.ID))
	})
	if n < 2 {
		return stops
	}
	at := make([]Point, n+1)
	at[0] = door
	for i, s := range stops {
		at[i+1] = Point{s.XM, s.YM}
	}
	chain := make([]float64, n+1) // length of 0, 1 … j
	for j := 1; j <= n; j++ {
		chain[j] = chain[j-1] + distance(at[j-1], at[j])
	}
	f := make([]float64, n+1)
	via := make([]int, n+1)
	f[1] = chain[1]
	for j := 2; j <= n; j++ {
		f[j] = math.Inf(1)
		for k := 0; k < j-1; k++ {
			if d := f[k+1] + (chain[j-1] - chain[k+1]) + distance(at[k], at[j]); d < f[j] {
				f[j], via[j] = d, k
			}
		}
	}
	// Unwind: side[i] is the chain point i belongs to. j stands at the end of one chain and j-1 at the end of the other.
	var ahead, back []int
	for j := n; j > 0; {
		if j == 1 {
			ahead = append(ahead, 1)
			break
		}
		k := via[j]
		ahead = append(ahead, j)
		for i := j - 1; i > k+1; i-- {
			back = append(back, i)
		}
		// Point k+1 ends the chain of j-1; the chain of j goes on at k. In the state (k, k+1) the roles change.
		ahead, back = back, ahead
		j = k + 1
	}
	// Both chains were gathered from the far end to the door; the tour runs out along one and home along the other.
	order := make([]Stop, 0, n)
	slices.Reverse(back)
	for _, i := range append(back, ahead...) {
		order = append(order, stops[i-1])
	}
	if late, early := drainTurns(order); early > late {
		slices.Reverse(order)
	}
	return order
}

// drainTurns sums the turns of the draining stops, counted from the front and from the back of the order.
func drainTurns(order []Stop) (front, back int) {
	for i := range order {
		if order[i].Drains {
			front += i
			back += len(order) - 1 - i
		}
	}
	return front, back
}

// nextRow sorts the gear by distance astern and gives its first row, ordered from port to starboard.
func nextRow(laid []Stop) []Stop {
	lean.Sort(laid, func(a, b Stop) int { return cmp.Or(cmp.Compare(a.XM, b.XM), cmp.Compare(a.ID, b.ID)) })
	n := 1
	for n < len(laid) && laid[n].XM-laid[0].XM <= rowM {
		n++
	}
	row := laid[:n]
	lean.Sort(row, func(a, b Stop) int {
		return cmp.Or(cmp.Compare(a.YM, b.YM), cmp.Compare(a.XM, b.XM), cmp.Compare(a.ID, b.ID))
	})
	return row
}

// starts lists the draining tasks from the stern forward, those on the ground before those on deck.
func starts(steps []Step) []Start {
	var at []Step
	for i := range steps {
		if steps[i].Drains {
			at = append(at, steps[i])
		}
	}
	lean.Sort(at, func(a, b Step) int {
		return cmp.Or(
			cmp.Compare(a.Group, b.Group), cmp.Compare(b.XM, a.XM), cmp.Compare(a.YM, b.YM), cmp.Compare(a.ID, b.ID))
	})
	first := make([]Start, len(at))
	for i, s := range at {
		first[i] = Start{ID: s.ID, Number: s.Number}
	}
	return first
}
