package skill

import (
	"errors"
	"fmt"
	"math"

	"thwart/engine/num"
)

// Look is one look at a place where something was: how long, in any unit that all looks share, and whether it was found.
type Look struct {
	Time  float64
	Found bool
}

// Rate is how fast looking finds, per unit of time.
type Rate struct {
	// PerTime is the most likely λ of b(t) = 1 − exp(−λt), with its limits. Hi is +Inf where nothing was ever missed, Lo is 0
	// and so is Mid where nothing was found.
	PerTime num.Interval
	Level   float64
	Found   num.Count
}

// RateOfLooks gives the rate of exponential detection from looks of different length of which only the outcome is known: a
// find within t has the chance 1 − exp(−λt), a miss exp(−λt). The limits are those of the likelihood ratio. Where the time
// of each find was clocked, use engine/search.EstimateRate instead, which knows more.
//
// The time is what people chose to spend. Who looks longer where she suspects something makes time look better than it is.
func RateOfLooks(looks []Look, level float64) (Rate, error) {
	if err := num.Between("level", level, 0, 1); err != nil {
		return Rate{}, err
	}
	r := Rate{Level: level}
	var total float64
	for i, l := range looks {
		if !(l.Time > 0) || math.IsInf(l.Time, 1) {
			return Rate{}, fmt.Errorf("look %d: %w", i+1, num.Positive("time", l.Time))
		}
		total += l.Time
		r.Found.N++
		if l.Found {
			r.Found.X++
		}
	}
	if r.Found.N == 0 {
		return Rate{}, errors.Join(num.ErrNoTrials)
	}
	mean := total / float64(r.Found.N)
	lo, hi := 1e-9/mean, 1e3/mean
	switch r.Found.X {
	case 0:
		r.PerTime.Mid = 0
	case r.Found.N:
		r.PerTime.Mid = math.Inf(1)
	default: // the slope of the log likelihood falls in λ: one root
		r.PerTime.Mid = bisect(func(x float64) float64 { return slope(looks, x) }, lo, hi)
	}
	// Twice the fall of the log likelihood from its top is chi-square with one degree of freedom.
	z := math.Sqrt2 * math.Erfinv(level)
	top := logLikOf(looks, r.PerTime.Mid)
	fall := func(x float64) float64 { return 2*(top-logLikOf(looks, x)) - z*z }
	if r.Found.X > 0 {
		at := r.PerTime.Mid
		if math.IsInf(at, 1) {
			at = hi
		}
		r.PerTime.Lo = bisect(fall, lo, at)
	}
	r.PerTime.Hi = math.Inf(1)
	if r.Found.X < r.Found.N {
		r.PerTime.Hi = bisect(func(x float64) float64 { return -fall(x) }, math.Max(lo, r.PerTime.Mid), hi)
	}
	return r, nil
}

// FindsWithin is the chance of a find within a time, with the limits that those of the rate give.
func (r Rate) FindsWithin(time float64) num.Interval {
	at := func(rate float64) float64 { return -math.Expm1(-rate * time) }
	return num.Interval{Lo: at(r.PerTime.Lo), Mid: at(r.PerTime.Mid), Hi: at(r.PerTime.Hi)}
}

func logLikOf(looks []Look, rate float64) (sum float64) {
	for _, l := range looks {
		switch {
		case !l.Found:
			sum -= rate * l.Time
		case !math.IsInf(rate, 1):
			sum += math.Log(-math.Expm1(-rate * l.Time))
		}
	}
	return sum
}

func slope(looks []Look, rate float64) (sum float64) {
	for _, l := range looks {
		if l.Found {
			sum += l.Time / math.Expm1(rate*l.Time)
		} else {
			sum -= l.Time
		}
	}
	return sum
}

// bisect finds where a falling function crosses 0, on a scale of logarithms.
func bisect(f func(float64) float64, lo, hi float64) float64 {
	for range 200 {
		mid := math.Sqrt(lo * hi)
		if mid == lo || mid == hi {
			break
		}
		if f(mid) > 0 {
			lo = mid
		} else {
			hi = mid
		}
	}
	return math.Sqrt(lo * hi)
}
