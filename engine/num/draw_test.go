package num_test

import (
	"math"
	"testing"

	"thwart/engine/num"
)

// Frequencies against the distribution itself, by Pearson's chi-square over single counts; the limit is the 0.1 % point of the
// chi-square distribution, and the seeds are fixed.
func TestCountsFollowTheirDistribution(t *testing.T) {
	const n = 40000
	logP := func(k, mean, theta float64) float64 {
		lg := func(x float64) float64 { v, _ := math.Lgamma(x); return v }
		if math.IsInf(theta, 1) {
			return k*math.Log(mean) - mean - lg(k+1)
		}
		return lg(k+theta) - lg(theta) - lg(k+1) + theta*math.Log(theta/(theta+mean)) + k*math.Log(mean/(theta+mean))
	}
	for i, c := range []struct{ mean, theta float64 }{
		{0.3, math.Inf(1)}, {4, math.Inf(1)}, {11.9, math.Inf(1)}, {12.1, math.Inf(1)}, {45, math.Inf(1)}, {900, math.Inf(1)}, {3, 0.6}, {30, 4},
	} {
		r := num.Stream(uint64(i), "counts")
		seen := map[float64]float64{}
		for range n {
			seen[num.NegBin(r, c.mean, c.theta)]++
		}
		chi, cells, restSeen, restWant := 0.0, 0.0, float64(n), float64(n)
		for k := 0.0; k < 2000; k++ {
			if want := n * math.Exp(logP(k, c.mean, c.theta)); want >= 10 {
				chi += (seen[k] - want) * (seen[k] - want) / want
				restSeen -= seen[k]
				restWant -= want
				cells++
			}
		}
		if restWant > 10 {
			chi += (restSeen - restWant) * (restSeen - restWant) / restWant
		}
		// Wilson & Hilferty 1931: the cube root of chi²/k is nearly normal; 3.09 is the 0.1 % point.
		limit := cells * math.Pow(1-2/(9*cells)+3.09*math.Sqrt(2/(9*cells)), 3)
		if chi > limit || cells < 3 {
			t.Errorf("mean %g, θ %g: chi-square %.1f over %.0f counts, limit %.1f", c.mean, c.theta, chi, cells, limit)
		}
	}
}

func TestGammaMoments(t *testing.T) {
	for _, shape := range []float64{0.2, 1, 6} {
		r := num.Stream(7, "gamma")
		var s, s2 float64
		const n = 100000
		for range n {
			x := num.Gamma(r, shape)
			s += x
			s2 += x * x
		}
		mean := s / n
		if math.Abs(mean-shape) > 4*math.Sqrt(shape/n) || math.Abs(s2/n-mean*mean-shape) > 0.05*shape+0.02 {
			t.Errorf("shape %g: mean %g, variance %g", shape, mean, s2/n-mean*mean)
		}
	}
	if !math.IsNaN(num.Gamma(num.Stream(1, "x"), -1)) || num.Poisson(num.Stream(1, "x"), -1) != 0 {
		t.Error("shapes and means that make no sense")
	}
}
