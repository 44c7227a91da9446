// Package refcheck holds the test helpers that compare a computed value with one from outside: each insists on a source.
package refcheck

import (
	"math"
	"testing"
)

// Near fails unless got lies within tol of want, and insists that a reference value says where it comes from.
func Near(t testing.TB, what string, got, want, tol float64, source string) {
	t.Helper()
	if source == "" {
		t.Fatalf("%s: the expected value %v names no source", what, want)
	}
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.10g, want %.10g within %g (%s)", what, got, want, tol, source)
	}
}

// Must unwraps an answer that the test needs.
func Must[T any](t testing.TB) func(v T, err error) T {
	return func(v T, err error) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}
