package heat

import (
	"errors"
	"fmt"
	"math"

	"thwart/engine/num"
	"thwart/unit"
)

// SprayReading is the temperature a thermometer shows in the spray at a distance from the nozzle.
type SprayReading struct {
	DistanceM  float64
	Temp       unit.Celsius
	PlusMinusK float64 // the gauge's uncertainty: the true temperature lies within Temp ± PlusMinusK
}

// SprayCurve is how the spray of one machine with one nozzle, pressure and air temperature cools on its way:
//
//	T(d) = Tair + (T0 - Tair) exp(-d/L)
//
// It is laid through two measured points and answers only between them, for wind, nozzle and pressure decide L and no
// published figure for it is good enough to judge a wash by. It is a plan: a reading at the surface or of the run-off is
// what counts.
type SprayCurve struct {
	near, far SprayReading
	air       unit.Celsius
}

// BeyondReadings says that a distance lies farther out than the curve was measured. Nothing is extrapolated there, since
// the spray can only be colder: measure farther out, or go nearer.
type BeyondReadings struct {
	DistanceM, FarthestM float64
}

func (e *BeyondReadings) Error() string {
	return fmt.Sprintf("distance: %v m is beyond the farthest measured point; accepted: up to %v m, or measure farther out", e.DistanceM, e.FarthestM)
}

// CalibrateSpray lays the curve through two readings in air of a known temperature. It refuses readings at one distance
// or in the wrong order, a far reading hotter than the near one by more than both gauges' uncertainty, and a temperature
// that, at the low end of its uncertainty, is not above the air's. A far reading hotter within the uncertainty is taken
// to equal the near one.
func CalibrateSpray(near, far SprayReading, air unit.Celsius) (SprayCurve, error) {
	if err := errors.Join(
		num.Finite("air in °C", float64(air)),
		near.validate("near", air),
		far.validate("far", air),
	); err != nil {
		return SprayCurve{}, err
	}
	if far.DistanceM <= near.DistanceM {
		return SprayCurve{}, &num.RangeError{Field: "far.DistanceM", Value: far.DistanceM, Accepted: fmt.Sprintf("more than the near reading's %v m", near.DistanceM)}
	}
	if excess := float64(far.Temp - near.Temp); excess > 0 {
		if doubt := near.PlusMinusK + far.PlusMinusK; excess > doubt {
			return SprayCurve{}, &num.RangeError{Field: "far.Temp in °C", Value: float64(far.Temp), Accepted: fmt.Sprintf("at most %.2f °C, the near reading with both uncertainties; spray does not warm on its way, so check the gauge", float64(near.Temp)+doubt)}
		}
		far.Temp = near.Temp
	}
	return SprayCurve{near: near, far: far, air: air}, nil
}

func (r SprayReading) validate(which string, air unit.Celsius) error {
	if err := errors.Join(
		num.NotNegative(which+".DistanceM", r.DistanceM),
		num.NotNegative(which+".PlusMinusK", r.PlusMinusK),
		num.Within(which+".Temp in °C", float64(r.Temp), float64(Freezing), float64(Boiling)),
	); err != nil {
		return err
	}
	if lowest := r.Temp - unit.Celsius(r.PlusMinusK); lowest <= air {
		return &num.RangeError{Field: which + ".Temp in °C", Value: float64(r.Temp), Accepted: fmt.Sprintf("more than %.2f °C, the air and the gauge's uncertainty", float64(air)+r.PlusMinusK)}
	}
	return nil
}

// LengthM is L, the distance over which the spray loses 63 % of its excess over the air; +Inf when no cooling was
// measured.
func (c SprayCurve) LengthM() float64 { return c.length(c.near.Temp, c.far.Temp) }

func (c SprayCurve) length(near, far unit.Celsius) float64 {
	if far >= near {
		return math.Inf(1)
	}
	return (c.far.DistanceM - c.near.DistanceM) / math.Log(float64((near-c.air)/(far-c.air)))
}

// At returns the spray's temperature in °C at a distance. Lo and Hi are what the two gauges' uncertainties leave open in
// the worst case, exactly, because the curve between the points rises with both readings: judge by Lo. Nearer than the
// near reading the answer is that reading, which is the cautious one. Farther than the far reading gives a
// [*BeyondReadings].
func (c SprayCurve) At(distanceM float64) (num.Interval, error) {
	if err := num.NotNegative("distanceM", distanceM); err != nil {
		return num.Interval{}, err
	}
	if distanceM > c.far.DistanceM {
		return num.Interval{}, &BeyondReadings{DistanceM: distanceM, FarthestM: c.far.DistanceM}
	}
	// Between the points the excess over the air is the geometric mean of the two, weighted by distance.
	w := math.Max(0, (distanceM-c.near.DistanceM)/(c.far.DistanceM-c.near.DistanceM))
	at := func(gauge float64) float64 {
		excess := func(r SprayReading) float64 { return float64(r.Temp-c.air) + gauge*r.PlusMinusK }
		return float64(c.air) + math.Pow(excess(c.near), 1-w)*math.Pow(excess(c.far), w)
	}
	return num.Interval{Lo: at(-1), Mid: at(0), Hi: at(1)}, nil
}

// NozzleFor returns the temperature in °C the water would need on leaving the nozzle to arrive at a distance with the
// target. For planning only: it says whether the machine can possibly do it, never that a surface was hot. Lo and Hi
// take the gauges' errors against each other, the gentlest and the steepest cooling that the readings allow: plan by Hi.
// Distances beyond the far reading give a [*BeyondReadings], and a target that would take boiling water is refused.
func (c SprayCurve) NozzleFor(target unit.Celsius, distanceM float64) (num.Interval, error) {
	if err := errors.Join(
		num.NotNegative("distanceM", distanceM),
		num.Within("target in °C", float64(target), float64(c.air), float64(Boiling)),
	); err != nil {
		return num.Interval{}, err
	}
	if distanceM > c.far.DistanceM {
		return num.Interval{}, &BeyondReadings{DistanceM: distanceM, FarthestM: c.far.DistanceM}
	}
	nozzle := func(gauge float64) float64 {
		length := c.length(c.near.Temp+unit.Celsius(gauge*c.near.PlusMinusK), c.far.Temp-unit.Celsius(gauge*c.far.PlusMinusK))
		return float64(c.air) + float64(target-c.air)*math.Exp(distanceM/length)
	}
	need := num.Interval{Lo: nozzle(-1), Mid: nozzle(0), Hi: nozzle(1)}
	if need.Mid > float64(Boiling) {
		return num.Interval{}, &num.RangeError{Field: "distanceM", Value: distanceM, Accepted: fmt.Sprintf("nearer: to arrive at %.1f °C the water would have to leave the nozzle at %.0f °C", float64(target), need.Mid)}
	}
	return need, nil
}
