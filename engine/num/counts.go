package num

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mathext"
)

// ErrNoTrials is returned when a proportion is asked of no trials at all. There is no number to show then: say that it is
// not known.
var ErrNoTrials = errors.New("n: no trials, so the proportion is not known; accepted: at least 1")

// Count is X cases seen in N trials: misses among planted objects, fouled boats among those looked at.
type Count struct {
	X int `json:"x"`
	N int `json:"n"`
}

// Plus pools two counts of the same thing.
func (c Count) Plus(d Count) Count { return Count{X: c.X + d.X, N: c.N + d.N} }

// Rate is the observed proportion X/N, NaN when there were no trials.
func (c Count) Rate() float64 { return float64(c.X) / float64(c.N) }

// Validate reports a count that cannot be: fewer than zero cases, or more cases than trials.
func (c Count) Validate() error {
	switch {
	case c.N < 0:
		return &RangeError{Field: "n", Value: float64(c.N), Accepted: "0 or more trials"}
	case c.X < 0 || c.X > c.N:
		return &RangeError{Field: "x", Value: float64(c.X), Accepted: fmt.Sprintf("0 to n = %d", c.N)}
	}
	return nil
}

// BetaQuantile returns the x below which a fraction p of the Beta(a, b) distribution lies: the inverse of the regularised
// incomplete beta function I_x(a, b) = p, with a, b > 0 and p in [0, 1].
//
// Within two spacings of floats at x = 1, I_x(a, b) = p holds to 1e-9 of the nearer tail (tested for a and b from 0.5 to
// 5000 and p from 0.0001 to 0.9999).
func BetaQuantile(p, a, b float64) (float64, error) {
	if err := errors.Join(Within("p", p, 0, 1), Positive("a", a), Positive("b", b)); err != nil {
		return math.NaN(), err
	}
	return mathext.InvRegIncBeta(a, b, p), nil
}

// ClopperPearson returns the observed proportion x/n (Mid) with its exact limits at the given level (0.95, say): the
// proportions which x or more, and x or fewer, cases in n trials just fail to contradict. It never covers less than the
// level, and is wide for it. Clopper & Pearson 1934, Biometrika 26:404-413.
func ClopperPearson(x, n int, level float64) (Interval, error) {
	if err := checkTrials(x, n, level); err != nil {
		return Interval{}, err
	}
	tail := (1 - level) / 2
	i := Interval{Lo: 0, Mid: float64(x) / float64(n), Hi: 1}
	if x > 0 {
		i.Lo = mathext.InvRegIncBeta(float64(x), float64(n-x+1), tail)
	}
	if x < n {
		i.Hi = mathext.InvRegIncBeta(float64(x+1), float64(n-x), 1-tail)
	}
	return i, nil
}

// Jeffreys returns the equal-tailed interval of the posterior Beta(x+1/2, n-x+1/2), with the posterior median as Mid. The
// lower limit is 0 when x = 0 and the upper is 1 when x = n, as Brown, Cai & DasGupta 2001 (Stat. Sci. 16:101-133)
// propose; they recommend it, or [Wilson], for small n.
func Jeffreys(x, n int, level float64) (Interval, error) {
	if err := checkTrials(x, n, level); err != nil {
		return Interval{}, err
	}
	a, b, tail := float64(x)+0.5, float64(n-x)+0.5, (1-level)/2
	i := Interval{Lo: 0, Mid: mathext.InvRegIncBeta(a, b, 0.5), Hi: 1}
	if x > 0 {
		i.Lo = mathext.InvRegIncBeta(a, b, tail)
	}
	if x < n {
		i.Hi = mathext.InvRegIncBeta(a, b, 1-tail)
	}
	return i, nil
}

// Wilson returns the observed proportion x/n (Mid) with Wilson's score limits (Wilson 1927, J. Am. Stat. Assoc.
// 22:209-212): they cover about the level on average, sometimes less.
func Wilson(x, n int, level float64) (Interval, error) {
	if err := checkTrials(x, n, level); err != nil {
		return Interval{}, err
	}
	p, m, z := float64(x)/float64(n), float64(n), normalTwoSided(level)
	zz := z * z
	centre := p + zz/(2*m)
	half := z * math.Sqrt(p*(1-p)/m+zz/(4*m*m))
	i := Interval{Lo: (centre - half) / (1 + zz/m), Mid: p, Hi: (centre + half) / (1 + zz/m)}
	if x == 0 { // exact here; the subtraction above leaves a rounding error of either sign
		i.Lo = 0
	}
	if x == n {
		i.Hi = 1
	}
	return i, nil
}

// AgrestiCoull returns the observed proportion x/n (Mid) with the limits of Agresti & Coull 1998 (Am. Stat. 52:119-126):
// the textbook formula with z² trials added, half of them cases. As published the limits can leave [0, 1]; here they are
// cut at 0 and 1. Meant for n of 40 and more.
func AgrestiCoull(x, n int, level float64) (Interval, error) {
	if err := checkTrials(x, n, level); err != nil {
		return Interval{}, err
	}
	z := normalTwoSided(level)
	trials := float64(n) + z*z
	centre := (float64(x) + z*z/2) / trials
	half := z * math.Sqrt(centre*(1-centre)/trials)
	return Interval{Lo: math.Max(0, centre-half), Mid: float64(x) / float64(n), Hi: math.Min(1, centre+half)}, nil
}

// Garwood returns the observed count x (Mid) with the exact limits of a Poisson mean at the given level (Garwood 1936,
// Biometrika 28:437-442): half the chi-square quantiles with 2x and 2x+2 degrees of freedom. The lower limit is 0 when
// x = 0. Divide by the effort behind the count for limits of a rate.
func Garwood(x int, level float64) (Interval, error) {
	if x < 0 {
		return Interval{}, &RangeError{Field: "x", Value: float64(x), Accepted: "0 or more"}
	}
	if err := Between("level", level, 0, 1); err != nil {
		return Interval{}, err
	}
	// A chi-square with 2k degrees of freedom is twice a Gamma of shape k, so the halves cancel.
	tail := (1 - level) / 2
	i := Interval{Lo: 0, Mid: float64(x), Hi: mathext.GammaIncRegCompInv(float64(x)+1, tail)}
	if x > 0 {
		i.Lo = mathext.GammaIncRegInv(float64(x), tail)
	}
	return i, nil
}

// AllDeadUpper returns the largest surviving fraction that a trial of n animals, all of which died, leaves open at the
// given one-sided level: the s with (1-s)^n = 1-level, so s = 1 - (1-level)^(1/n). "All dead" is a bound, never zero:
// twenty dead of twenty still allow 14 % alive at 0.95. Without animals, or with a level outside (0, 1), nothing is shown
// and the answer is 1.
func AllDeadUpper(n int, level float64) float64 {
	if n < 1 || !(level > 0 && level < 1) {
		return 1
	}
	return -math.Expm1(math.Log1p(-level) / float64(n))
}

// checkTrials is the door of every interval for a proportion.
func checkTrials(x, n int, level float64) error {
	if err := (Count{X: x, N: n}).Validate(); err != nil {
		return err
	}
	if n == 0 {
		return ErrNoTrials
	}
	return Between("level", level, 0, 1)
}

// normalTwoSided is the z between whose negative and itself a standard normal falls with the given probability.
func normalTwoSided(level float64) float64 { return math.Sqrt2 * math.Erfinv(level) }
