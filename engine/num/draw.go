package num

import (
	"math"
	"math/rand/v2"
)

// Gamma draws from the Gamma distribution with the given shape and scale 1; mean and variance are both shape. A shape that is
// not a positive finite number gives NaN.
func Gamma(r *rand.Rand, shape float64) float64 {
	if !(shape > 0) || math.IsInf(shape, 1) {
		return math.NaN()
	}
	x, logX := gamma(r, shape)
	return x * math.Exp(logX)
}

// Poisson draws a count with the given mean. Means below 12 are drawn by inversion, larger ones by transformed rejection
// (algorithm PTRS of Hörmann 1993, Insurance: Mathematics and Economics 12:39-45), whose cost does not grow with the mean. A
// mean that is not positive gives 0.
func Poisson(r *rand.Rand, mean float64) float64 {
	if !(mean > 0) {
		return 0
	}
	if mean < 12 {
		p := math.Exp(-mean)
		n, u := 0.0, r.Float64()
		for u > p && n < 1000 {
			u -= p
			n++
			p *= mean / n
		}
		return n
	}
	b := 0.931 + 2.53*math.Sqrt(mean)
	a := -0.059 + 0.02483*b
	inverse := 1.1239 + 1.1328/(b-3.4)
	v := 0.9277 - 3.6224/(b-2)
	logMean := math.Log(mean)
	for {
		u, w := r.Float64()-0.5, r.Float64()
		s := 0.5 - math.Abs(u)
		k := math.Floor((2*a/s+b)*u + mean + 0.43)
		if s >= 0.07 && w <= v {
			return k
		}
		if k < 0 || s < 0.013 && w > s {
			continue
		}
		lg, _ := math.Lgamma(k + 1)
		if math.Log(w*inverse/(a/(s*s)+b)) <= k*logMean-mean-lg {
			return k
		}
	}
}

// NegBin draws a count with the given mean and variance mean + mean²/θ: a Poisson count whose mean has luck of its own. θ =
// +Inf is the Poisson distribution.
func NegBin(r *rand.Rand, mean, theta float64) float64 {
	if math.IsInf(theta, 1) {
		return Poisson(r, mean)
	}
	return Poisson(r, mean*Gamma(r, theta)/theta)
}
