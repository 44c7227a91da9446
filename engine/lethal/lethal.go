// Package lethal judges heat against published laboratory results: how long water of a given temperature must touch an
// animal or plant before the published work says that all of them die.
//
// Start with [Profile]: one organism, one stage and one way of application, as a conservative thermal-death curve.
// [Profile.Dose] adds up a logged trace against it, [Lethal] compares the sum with a safety factor. [TestedAtOrBelow]
// answers the narrower question "which exposure that somebody really tried covers this temperature?" without any curve.
//
// The published results are bounds ("all dead at 60 °C after 5 s"), not rates. So there is no part credit below a dose
// of one, nothing is extrapolated beyond the temperatures tried, and a lethal dose never means "no survivors": the
// sample behind the result allows at most an upper limit, see [AllDeadLimit].
//
// Spray and immersion differ (a closed, wet shell has to warm up first under a spray) and must not share a profile.
// The package holds no biological numbers. They come in as parameters, with their sources kept by the caller. It does
// not clean a trace either: package trace does that.
package lethal

import (
	"fmt"
	"math"

	"thwart/unit"
)

// toleranceK forgives the rounding of binary numbers when temperatures are compared: 40.3 - 0.1 is not exactly 40.2.
// It is ten million times finer than any field thermometer reads.
const toleranceK = 1e-9

// doseTolerance is the relative rounding forgiven when a dose is compared. Adding 2,000,000 steps in double precision
// errs by at most 2e6 * 2^-53, about 2e-10.
const doseTolerance = 1e-9

// Profile is a conservative thermal-death curve for one organism, stage and way of application. It gives t100(T), the
// seconds at T degrees Celsius that meet the published all-dead bounds:
//
//	T < MinC           no credit at all (t100 is infinite)
//	MinC <= T < RefC   t100 = RefS * 10^((RefC-T)/ZLowC), or no credit when ZLowC is 0
//	T >= RefC          t100 = max(FloorS, RefS * 10^(-(T-RefC)/ZHighC)), or RefS when ZHighC is 0
//
// The shape is the classical thermal-death-time line (Bigelow 1921, J. Infect. Dis. 29:528-536; citation from memory)
// cut off at both ends, because a line is evidence only between the temperatures that were tried.
type Profile struct {
	Name   string       // organism, stage and application, for messages
	RefC   unit.Celsius // reference temperature
	RefS   float64      // seconds needed at RefC
	ZLowC  float64      // kelvin below RefC for a tenfold longer time; 0: no credit below RefC
	ZHighC float64      // kelvin above RefC for a tenfold shorter time; 0: flat above RefC
	MinC   unit.Celsius // lowest temperature with evidence behind it; equal to RefC when ZLowC is 0
	FloorS float64      // shortest time anyone tested: never ask for less
}

// Validate reports the first field that cannot be used, with what is accepted. Every method treats a profile that does
// not validate as one that gives no credit, because a zero time would otherwise call any water lethal.
func (p Profile) Validate() error {
	bad := func(field string, value float64, accepted string) error {
		return fmt.Errorf("lethal profile %q: %s = %g; accepted: %s", p.Name, field, value, accepted)
	}
	switch {
	case !finite(float64(p.RefC)):
		return bad("RefC", float64(p.RefC), "a finite temperature in °C")
	case !finite(p.RefS) || p.RefS <= 0:
		return bad("RefS", p.RefS, "seconds above 0")
	case !finite(p.ZLowC) || p.ZLowC < 0:
		return bad("ZLowC", p.ZLowC, "kelvin above 0, or 0 for no credit below RefC")
	case !finite(p.ZHighC) || p.ZHighC < 0:
		return bad("ZHighC", p.ZHighC, "kelvin above 0, or 0 for flat above RefC")
	case !finite(float64(p.MinC)) || p.MinC > p.RefC:
		return bad("MinC", float64(p.MinC), fmt.Sprintf("a temperature at or below RefC (%g °C)", float64(p.RefC)))
	case p.ZLowC == 0 && p.MinC != p.RefC:
		return bad("MinC", float64(p.MinC), fmt.Sprintf("RefC (%g °C), because ZLowC is 0", float64(p.RefC)))
	case !finite(p.FloorS) || p.FloorS <= 0 || p.FloorS > p.RefS:
		return bad("FloorS", p.FloorS, fmt.Sprintf("seconds above 0 and at most RefS (%g s)", p.RefS))
	}
	return nil
}

// T100S gives t100(t) in seconds; +Inf means that no time at this temperature earns anything. It never grows with
// temperature. A temperature that is not a finite number is no reading, and earns nothing.
func (p Profile) T100S(t unit.Celsius) float64 {
	if p.Validate() != nil {
		return math.Inf(1)
	}
	return p.t100(float64(t))
}

// t100 is T100S for a profile known to validate.
func (p *Profile) t100(t float64) float64 {
	ref := float64(p.RefC)
	if !(t >= float64(p.MinC)-toleranceK && t <= math.MaxFloat64) { // the negation also catches NaN
		return math.Inf(1)
	}
	if t >= ref-toleranceK {
		if p.ZHighC == 0 {
			return p.RefS
		}
		return max(p.FloorS, p.RefS*pow10(-max(0, t-ref)/p.ZHighC))
	}
	if p.ZLowC == 0 {
		return math.Inf(1)
	}
	return p.RefS * pow10((ref-t)/p.ZLowC)
}

// pow10 is 10^x. The exponential is three times as fast as math.Pow, and exact to about 1e-15*(1+|x|).
func pow10(x float64) float64 { return math.Exp(x * math.Ln10) }

// Sample is one reading of a trace.
type Sample struct {
	AtS   float64 // seconds on any clock that only runs forward
	TempC unit.Celsius
}

// Dose adds up a trace: L = sum of dt_i / t100(min(T_i, T_i+1)). Each step counts at the colder of its two ends, so
// nothing between readings is guessed on the warm side. A dose of 1 meets the published bound once.
//
// A step longer than maxGapS is a gap and counts as cold; 0 sets no limit. Samples should be in order of time. A step
// that does not run forward earns nothing, and a stretch of the clock that was counted is never counted again. A
// sample that is not a finite number earns nothing on either side, nor does a negative limit or a profile that does
// not validate. Within those rules a longer or hotter trace never has a lower dose. Dose does not allocate.
func (p Profile) Dose(samples []Sample, maxGapS float64) float64 {
	if len(samples) < 2 || !(maxGapS >= 0) || p.Validate() != nil {
		return 0
	}
	dose, counted := 0.0, math.Inf(-1) // counted: the latest second of the clock that has had its turn
	if finite(samples[0].AtS) {
		counted = samples[0].AtS
	}
	for i := 1; i < len(samples); i++ {
		a, b := &samples[i-1], &samples[i]
		if !finite(b.AtS) {
			continue
		}
		if finite(a.AtS) && (maxGapS == 0 || b.AtS-a.AtS <= maxGapS) {
			dose += p.step(b.AtS-counted, float64(min(a.TempC, b.TempC)))
		}
		counted = max(counted, b.AtS)
	}
	return dose
}

// step is the dose of dtS seconds at lowerC; a duration that is not a positive finite number earns nothing.
func (p *Profile) step(dtS, lowerC float64) float64 {
	if !(dtS > 0 && dtS <= math.MaxFloat64) {
		return 0
	}
	return dtS / p.t100(lowerC)
}

// Lethal reports whether a dose meets the published bound safetyFactor times over. The factor is a policy of the
// protocol, not biology. A factor below 1 would accept less than the published exposure: it is never met. Rounding is
// forgiven to one part in 10^9.
func Lethal(dose, safetyFactor float64) bool {
	return finite(dose) && safetyFactor >= 1 && dose >= safetyFactor*(1-doseTolerance)
}

// Effective is the temperature a reading proves: the reading less the uncertainty of the thermometer, in kelvin. When
// either is unknown (not a finite number, or a negative uncertainty) the answer is minus infinity, which is below any
// threshold, whichever way round the comparison is written.
func Effective(reading unit.Celsius, uncertaintyK float64) unit.Celsius {
	if !finite(float64(reading)) || !finite(uncertaintyK) || uncertaintyK < 0 {
		return unit.Celsius(math.Inf(-1))
	}
	return reading - unit.Celsius(uncertaintyK)
}

// finite is false for NaN too, because no comparison with NaN holds.
func finite(v float64) bool { return math.Abs(v) <= math.MaxFloat64 }
