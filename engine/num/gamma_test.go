package num_test

import (
	"math"
	"testing"

	"thwart/engine/num"
	"thwart/internal/refcheck"
)

func TestGammaInterval(t *testing.T) {
	// Prior Gamma(2, 1/h), 7 craft in 4 h.
	got := num.GammaInterval(9, 5, 0.95)
	const source = "R 4.2.2 qgamma"
	refcheck.Near(t, "mean", got.Mid, 1.8, 1e-12, source)
	refcheck.Near(t, "2.5 %", got.Lo, 0.82307462, 1e-8, source)
	refcheck.Near(t, "97.5 %", got.Hi, 3.15263784, 1e-8, source)
	a, b := num.GammaInterval(0.99999e5, 3, 0.95), num.GammaInterval(1.00001e5, 3, 0.95)
	refcheck.Near(t, "across the switch", b.Lo-a.Lo, 2.0/3/3, 0.5, "both branches meet")
	if !math.IsNaN(num.GammaInterval(0, 1, 0.95).Mid) {
		t.Error("a shape of zero was taken")
	}
}
