package num

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// GammaInterval is a gamma distribution by shape and rate: its mean, and the two points between which it lies with the given
// level of probability, equal tails. It is what is believed of a Poisson rate after counting: a prior Gamma(a, b) and n counts
// in an exposure t leave Gamma(a+n, b+t). A shape or rate that is not positive gives NaN.
func GammaInterval(shape, rate, level float64) Interval {
	if !(shape > 0 && rate > 0 && level > 0 && level < 1) {
		return Interval{Lo: math.NaN(), Mid: math.NaN(), Hi: math.NaN()}
	}
	mean := shape / rate
	if shape > 1e5 { // the normal distribution to more digits than anybody shows
		half := normalTwoSided(level) * math.Sqrt(shape) / rate
		return Interval{Lo: mean - half, Mid: mean, Hi: mean + half}
	}
	tail := (1 - level) / 2
	return Interval{Lo: mathext.GammaIncRegInv(shape, tail) / rate, Mid: mean, Hi: mathext.GammaIncRegInv(shape, 1-tail) / rate}
}
