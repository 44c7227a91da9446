package lethal

import (
	"fmt"
	"math"

	"thwart/unit"
)

// Pair is one exposure that was tried and left every animal dead.
type Pair struct {
	TempC    unit.Celsius
	ContactS float64
	Source   string
}

// Validate reports a pair that cannot be used, with what is accepted.
func (p Pair) Validate() error {
	switch {
	case !finite(float64(p.TempC)):
		return fmt.Errorf("tested pair: TempC = %g; accepted: a finite temperature in °C", float64(p.TempC))
	case !finite(p.ContactS) || p.ContactS <= 0:
		return fmt.Errorf("tested pair at %g °C: ContactS = %g; accepted: seconds above 0", float64(p.TempC), p.ContactS)
	case p.Source == "":
		return fmt.Errorf("tested pair %g °C, %g s: Source is empty; accepted: the published work", float64(p.TempC), p.ContactS)
	}
	return nil
}

// TestedAtOrBelow gives the exposure to ask for at tempC: the hottest pair at or below it. The times form a staircase.
// Nothing is interpolated, because a fitted line can ask for less than anyone tested: a least-squares line through the
// four exposures of quagga mussels to hot spray in Comeau et al. 2011 (Biofouling 27:267-274) gives 17.4 s at 49 °C,
// where the cooler test needed 40 s and even at 50 °C the test took 20 s.
//
// Pass the temperature that is proven, see [Effective]. All pairs must be of one organism, stage and application. A
// pair is passed over when some hotter pair asks for a longer time, so the answer never falls for colder water and is
// always an exposure from the list, with its source. Pairs that do not validate are passed over. Without any pair at or
// below tempC the answer is false: not known.
func TestedAtOrBelow(pairs []Pair, tempC unit.Celsius) (Pair, bool) {
	best, found := Pair{}, false
	if math.IsNaN(float64(tempC)) || math.IsInf(float64(tempC), 1) {
		return best, false
	}
	for _, p := range pairs {
		if p.Validate() != nil || p.TempC > tempC+toleranceK || outlasted(p, pairs) {
			continue
		}
		// Of two tests at one temperature the longer stands; outlasted has removed the shorter.
		if !found || p.TempC > best.TempC {
			best, found = p, true
		}
	}
	return best, found
}

// outlasted reports whether a test at the same or a hotter temperature needed longer than p.
func outlasted(p Pair, pairs []Pair) bool {
	for _, q := range pairs {
		if q.TempC >= p.TempC && q.ContactS > p.ContactS && q.Validate() == nil {
			return true
		}
	}
	return false
}

// AllDeadLimit gives the largest fraction of survivors that a test with n animals, all dead, still allows at a level of
// confidence such as 0.95: 1 - (1-level)^(1/n), the exact one-sided binomial limit for no events in n (Clopper and
// Pearson 1934, Biometrika 26:404-413; citation from memory). With 30 animals it is 9.5 %. Without a sample size (n
// below 1) or with a level outside 0 to 1 nothing is known: the limit is 1 and the answer false.
func AllDeadLimit(n int, level float64) (limit float64, known bool) {
	if n < 1 || !(level > 0 && level < 1) {
		return 1, false
	}
	return -math.Expm1(math.Log1p(-level) / float64(n)), true
}

// SurvivorLimit gives what may be said of the survivors after a dose: at most the limit that n tested animals allow
// when the dose is lethal, and otherwise 1, because results of "all dead" say nothing about exposures that fall short.
// The second value is false when no limit below 1 is known. The answer is never zero.
func SurvivorLimit(dose, safetyFactor float64, n int, level float64) (limit float64, known bool) {
	if !Lethal(dose, safetyFactor) {
		return 1, false
	}
	return AllDeadLimit(n, level)
}
