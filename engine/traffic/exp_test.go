package traffic

import (
	"math"
	"testing"

	"thwart/engine/num"
)

// The quick functions against the library's, over all that a predictor can be.
func TestQuickFunctions(t *testing.T) {
	r := num.Stream(1, "exp")
	for range 200_000 {
		x := 60 * (2*r.Float64() - 1)
		if got, want := exp(x), math.Exp(x); math.Abs(got/want-1) > 5e-16 {
			t.Fatalf("exp(%v) = %v, want %v", x, got, want)
		}
		if got, want := log1p(math.Exp(x)), math.Log1p(math.Exp(x)); math.Abs(got/want-1) > 2e-14 {
			t.Fatalf("log1p(%v) = %v, want %v", math.Exp(x), got, want)
		}
	}
	for _, x := range []float64{0, 1, -1, 699.9, -699.9, 700, -700, 710, -745, math.Inf(1), math.Inf(-1)} {
		if got, want := exp(x), math.Exp(x); got != want && math.Abs(got/want-1) > 5e-16 {
			t.Errorf("exp(%v) = %v, want %v", x, got, want)
		}
	}
	if !math.IsNaN(exp(math.NaN())) {
		t.Error("exp of no number is one")
	}
	if log1p(0) != 0 {
		t.Error("log1p(0) is not 0")
	}
}
