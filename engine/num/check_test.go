package num

import (
	"math"
	"testing"
)

// near fails unless got lies within tol of want, and insists that a reference value says where it comes from.
func near(t *testing.T, what string, got, want, tol float64, source string) {
	t.Helper()
	if source == "" {
		t.Fatalf("%s: the expected value %v names no source", what, want)
	}
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.10g, want %.10g within %g (%s)", what, got, want, tol, source)
	}
}
