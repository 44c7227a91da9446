// Package num holds the small numerical tools which every model of the engine shares: an interval, exact and approximate
// limits for counts, named streams of random numbers, and the checks that turn a bad input into an error a person can
// act on.
//
// Start with [Interval] for any answer that carries doubt, [ClopperPearson] or [Jeffreys] for a proportion seen in trials,
// [AllDeadUpper] for a trial in which nothing survived, and [Stream] for random numbers. The package holds no data and
// knows nothing of boats.
package num

import (
	"fmt"
	"math"
)

// Interval is a quantity with its lower and upper limit. The function that returns one says at which level the limits
// hold, and what Mid is: a point estimate or a median. All three share the quantity's unit.
type Interval struct {
	Lo  float64 `json:"lo"`
	Mid float64 `json:"mid"`
	Hi  float64 `json:"hi"`
}

// Exactly is the interval of a quantity taken as known.
func Exactly(v float64) Interval { return Interval{Lo: v, Mid: v, Hi: v} }

// Contains reports whether v lies in the interval, limits included. NaN lies in no interval.
func (i Interval) Contains(v float64) bool { return i.Lo <= v && v <= i.Hi }

// Scale multiplies the quantity by a factor known exactly, as a change of unit does. A negative factor swaps the limits.
func (i Interval) Scale(factor float64) Interval {
	s := Interval{Lo: i.Lo * factor, Mid: i.Mid * factor, Hi: i.Hi * factor}
	if factor < 0 {
		s.Lo, s.Hi = s.Hi, s.Lo
	}
	return s
}

// Quantile returns the q-quantile of values sorted in ascending order: the linear interpolation at position (n-1)q that
// Hyndman & Fan (1996, Am. Stat. 50:361-365) number 7 and R uses by default. It is NaN when there are no values or when
// q is not in [0, 1]. The caller sorts; an unsorted slice gives a meaningless number.
func Quantile(sorted []float64, q float64) float64 {
	if len(sorted) == 0 || !(q >= 0 && q <= 1) {
		return math.NaN()
	}
	at := q * float64(len(sorted)-1)
	below := int(at)
	if below == len(sorted)-1 {
		return sorted[below]
	}
	weight := at - float64(below)
	lo, hi := sorted[below], sorted[below+1]
	if lo == hi { // also keeps two equal infinities from becoming NaN
		return lo
	}
	return lo + weight*(hi-lo)
}

// RangeError says that an input lies outside what a model accepts.
type RangeError struct {
	Field    string  // the input as the caller knows it, unit included
	Value    float64 // what was given
	Accepted string  // what would have been taken
}

func (e *RangeError) Error() string {
	return fmt.Sprintf("%s: %v is not accepted; accepted: %s", e.Field, e.Value, e.Accepted)
}

// Within returns a [*RangeError] unless lo <= v <= hi. NaN is refused.
func Within(field string, v, lo, hi float64) error {
	if v >= lo && v <= hi {
		return nil
	}
	return &RangeError{Field: field, Value: v, Accepted: fmt.Sprintf("%v to %v", lo, hi)}
}

// Positive returns a [*RangeError] unless v is a finite number above zero.
func Positive(field string, v float64) error {
	if v > 0 && !math.IsInf(v, 1) {
		return nil
	}
	return &RangeError{Field: field, Value: v, Accepted: "a finite number above 0"}
}

// NotNegative returns a [*RangeError] unless v is zero or a finite number above it.
func NotNegative(field string, v float64) error {
	if v >= 0 && !math.IsInf(v, 1) {
		return nil
	}
	return &RangeError{Field: field, Value: v, Accepted: "0 or a finite number above"}
}

// Finite returns a [*RangeError] for NaN and for the infinities.
func Finite(field string, v float64) error {
	if !math.IsNaN(v) && !math.IsInf(v, 0) {
		return nil
	}
	return &RangeError{Field: field, Value: v, Accepted: "a finite number"}
}

// Between returns a [*RangeError] unless v lies strictly between lo and hi, as a level of confidence must.
func Between(field string, v, lo, hi float64) error {
	if v > lo && v < hi {
		return nil
	}
	return &RangeError{Field: field, Value: v, Accepted: fmt.Sprintf("above %v and below %v", lo, hi)}
}

// FalseFirst orders truths for sorting: false before true. It answers as [cmp.Compare] does.
func FalseFirst(a, b bool) int {
	switch {
	case a == b:
		return 0
	case b:
		return -1
	}
	return 1
}

// Peak gives the place of the top of a function that rises to one top between lo and hi and falls after it, by golden sections
// (Kiefer 1953): each step keeps 0.618 of the interval, so the answer is within (hi−lo)·0.618^steps of the top. Of a function
// with several tops it gives one of them. value is asked steps+2 times.
func Peak(lo, hi float64, steps int, value func(float64) float64) float64 {
	const golden = 0.6180339887498949 // (√5−1)/2
	a, b := hi-golden*(hi-lo), lo+golden*(hi-lo)
	va, vb := value(a), value(b)
	for range steps {
		if va > vb {
			hi, b, vb = b, a, va
			a = hi - golden*(hi-lo)
			va = value(a)
		} else {
			lo, a, va = a, b, vb
			b = lo + golden*(hi-lo)
			vb = value(b)
		}
	}
	return (lo + hi) / 2
}
