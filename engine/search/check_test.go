package search

import (
	"errors"
	"math"
	"testing"

	"thwart/engine/num"
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

// must unwraps an answer that the test needs.
func must[T any](t *testing.T) func(v T, err error) T {
	return func(v T, err error) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

// refusesField fails unless err is a RangeError that names the field.
func refusesField(t *testing.T, err error, field string) {
	t.Helper()
	var out *num.RangeError
	if !errors.As(err, &out) || out.Field != field {
		t.Errorf("error %v, want one that names %s", err, field)
	}
}
