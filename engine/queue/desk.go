package queue

import (
	"math"
	"slices"
)

// desk is a row of servers whose number changes by the hour: lane k is on duty in hours that have more than k. First come, first
// served, so each craft takes the lane that can begin with it soonest.
type desk struct {
	onDuty []int
	free   []float64 // when each lane has ended what it does
}

func newDesk(onDuty []int) *desk {
	return &desk{onDuty: onDuty, free: make([]float64, slices.Max(onDuty))}
}

// next is the lane that can begin soonest with a craft that is there from a moment, and when.
func (d *desk) next(from float64) (lane int, at float64) {
	at = math.Inf(1)
	for k, free := range d.free {
		if t := d.begin(k, math.Max(from, free)); t < at {
			lane, at = k, t
		}
	}
	return lane, at
}

// begin is the first moment from t on at which a lane is on duty. After the last hour the last crew stays.
func (d *desk) begin(lane int, t float64) float64 {
	last := len(d.onDuty) - 1
	for h := int(t); h < last; h++ {
		if d.onDuty[h] > lane {
			return math.Max(t, float64(h))
		}
	}
	if d.onDuty[last] > lane {
		return math.Max(t, float64(last))
	}
	return math.Inf(1)
}

func (d *desk) take(lane int, until float64) { d.free[lane] = until }

// byEnd lists craft that fail in the order their inspections ended.
func byEnd(boats []visit) []int {
	var order []int
	for i := range boats {
		if boats[i].Fate == "failed" {
			order = append(order, i)
		}
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch {
		case boats[a].Ended < boats[b].Ended:
			return -1
		case boats[a].Ended > boats[b].Ended:
			return 1
		}
		return 0
	})
	return order
}

// busyIn is the time between two moments that lies in hour h.
func busyIn(h int, from, to float64) float64 {
	return math.Max(0, math.Min(to, float64(h+1))-math.Max(from, float64(h)))
}
