// Package queue answers how long craft wait at a launch or at a wash pad, and how many people or wash bays are enough.
//
// Three ways, each for its own question:
//
//   - closed forms for a steady stream: [ErlangB], [ErlangC], [MMC] with its tails, [ErlangA] for people who drive away,
//     [MMCK] for a yard that fills up, [PollaczekKhinchine] and [AllenCunneen] for service times that are not exponential;
//   - [Day], exact for a stream and a crew that change by the hour, where service is exponential: the birth-death (Kolmogorov)
//     equations integrated by uniformisation;
//   - [Ramp], a simulation of a launch with its wash pad: any service time by class of craft, patience, a yard that fills up,
//     overtime.
//
// [SmallestCrew] and [SmallestCrews] look for the fewest people that keep a share of the waits under a target.
//
// Rates are per hour and times are in hours, as the names say; a wait is the time before service begins. The package does no
// input or output and holds no data.
package queue

import (
	"errors"
	"fmt"
	"math"

	"thwart/engine/num"
)

// ErrGrows says that more craft arrive than can be served, so that there is no steady wait: the queue grows without limit.
var ErrGrows = errors.New("queue grows without limit")

// Grows is [ErrGrows] with the numbers behind it.
type Grows struct {
	Utilisation float64 // arrivals over what the crew can serve; 1 or more
}

func (g *Grows) Error() string {
	return fmt.Sprintf("%s: arrivals are %.0f %% of what can be served", ErrGrows, 100*g.Utilisation)
}

// Unwrap makes errors.Is(err, [ErrGrows]) hold.
func (g *Grows) Unwrap() error { return ErrGrows }

// MaxServers and MaxPlaces bound what is computed.
const (
	MaxServers = 1000
	MaxPlaces  = 2000
)

func wholeWithin(field string, v, lo, hi int) error {
	return num.Within(field, float64(v), float64(lo), float64(hi))
}

func share(field string, p float64) error { return num.Between(field, p, 0, 1) }

// normal density and distribution.
func density(x float64) float64      { return math.Exp(-x*x/2) / math.Sqrt(2*math.Pi) }
func distribution(x float64) float64 { return math.Erfc(-x/math.Sqrt2) / 2 }
