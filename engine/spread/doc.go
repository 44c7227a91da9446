// Package spread simulates how an organism goes from water to water with boats, year by year, and what a plan changes about it.
//
// A [Network] holds the risky passages of a year between waters: craft that arrive with the organism alive aboard if their water
// holds it. A clear water j that gets N risky passages in a year from infested waters is infested at the end of that year with
// the chance 1 - exp(-(αN)^c): [Establishment]. c = 1 says that every passage has its own luck, p = 1 - exp(-α); c above 1 is an
// Allee effect, by which few animals almost never found a stand. The form is that of Leung, Drake & Lodge 2004, Ecology
// 85:1651-1660 (from memory). N counts the passages of one year; years do not add up in it. What is infested stays infested.
//
// [Run] repeats the years many times, with and without a plan on the same luck, so that the difference between the two is known
// far better than either. [Fit] estimates α and c from waters with known yearly N and the year they were found infested.
//
// The package does no input or output and holds no data.
package spread

import (
	"errors"
	"fmt"
	"math"

	"thwart/engine/num"
)

// Establishment is the chance that n risky passages in a year infest a clear water.
func Establishment(alpha, c, n float64) float64 {
	if n <= 0 {
		return 0
	}
	return -math.Expm1(-math.Pow(alpha*n, c))
}

// HalfChance is the number of risky passages a year that infests a clear water with the chance one half, (ln 2)^(1/c)/α.
func HalfChance(alpha, c float64) float64 { return math.Pow(math.Ln2, 1/c) / alpha }

// Network is the risky passages of a year in compressed sparse rows: those out of water i stand at Start[i] to Start[i+1]-1.
type Network struct {
	Start []int32   // one more than there are waters
	To    []int32   // water that the passages reach
	Risky []float32 // passages a year with the organism alive aboard, if the water they leave holds it
	// Stopped is the share of them, 0 to 1, that the plan stops where everybody complies; nil = there is no plan.
	Stopped []float32
}

// Waters is how many waters there are.
func (n *Network) Waters() int { return len(n.Start) - 1 }

// Options of [Run].
type Options struct {
	Infested []bool // at the start
	// Suits multiplies α by water: how well the organism would do there; nil = 1 everywhere.
	Suits      []float64
	Alpha, C   float64
	Compliance float64 // share of what the plan could stop that it does stop, 0 to 1
	Years      int
	Runs       int
	// Prior varies α and c from run to run. Nil: they are taken as known.
	Prior   *Prior
	Seed    uint64
	Workers int // 0 = as many as there are processors; the answer is the same for any number
	// Tell is told the share of runs that are done, from one goroutine at a time; may be nil.
	Tell func(float64)
}

// Prior is doubt about α and c: α is log-normal about its value, c uniform about its own but never below 0.1.
type Prior struct {
	AlphaFactor float64 // 95 % of α lie between α/AlphaFactor and α×AlphaFactor; 1 or more
	CHalf       float64 // c lies within this of its value
}

func (n *Network) check() error {
	waters := n.Waters()
	if waters < 1 || n.Start[0] != 0 || int(n.Start[waters]) != len(n.To) || len(n.Risky) != len(n.To) || n.Stopped != nil && len(n.Stopped) != len(n.To) {
		return errors.New("network: rows, passages and shares must be of one length; accepted: compressed sparse rows")
	}
	for i := range waters {
		if n.Start[i+1] < n.Start[i] {
			return fmt.Errorf("network: row %d ends before it begins; accepted: compressed sparse rows", i)
		}
	}
	for k, to := range n.To {
		if to < 0 || int(to) >= waters {
			return &num.RangeError{Field: fmt.Sprintf("network.to[%d]", k), Value: float64(to), Accepted: fmt.Sprintf("a water, 0 to %d", waters-1)}
		}
		if x := float64(n.Risky[k]); !(x >= 0 && x < 1e9) {
			return &num.RangeError{Field: fmt.Sprintf("network.risky[%d]", k), Value: x, Accepted: "0 to 1e9 passages a year"}
		}
		if n.Stopped != nil && !(n.Stopped[k] >= 0 && n.Stopped[k] <= 1) {
			return &num.RangeError{Field: fmt.Sprintf("network.stopped[%d]", k), Value: float64(n.Stopped[k]), Accepted: "0 to 1"}
		}
	}
	return nil
}

func (o *Options) check(n *Network) error {
	errs := []error{
		n.check(), num.Within("alpha", o.Alpha, 1e-12, 1e3), num.Within("c", o.C, 0.1, 10), num.Within("compliance", o.Compliance, 0, 1),
		num.Within("years", float64(o.Years), 1, 100), num.Within("runs", float64(o.Runs), 2, 1_000_000), num.Within("workers", float64(o.Workers), 0, 1024),
	}
	if len(n.Start) > 0 && len(o.Infested) != n.Waters() {
		errs = append(errs, &num.RangeError{Field: "infested", Value: float64(len(o.Infested)), Accepted: fmt.Sprintf("one for each of %d waters", n.Waters())})
	}
	if o.Suits != nil && len(o.Suits) != len(o.Infested) {
		errs = append(errs, &num.RangeError{Field: "suits", Value: float64(len(o.Suits)), Accepted: "one for each water"})
	}
	for _, s := range o.Suits {
		errs = append(errs, num.Within("suits", s, 0, 1e6))
	}
	if p := o.Prior; p != nil {
		errs = append(errs, num.Within("alpha: factor of doubt", p.AlphaFactor, 1, 1e4), num.Within("c: half width of doubt", p.CHalf, 0, 5))
	}
	return errors.Join(errs...)
}
