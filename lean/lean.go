// Package lean does in one piece of code what the generic functions of the standard library do in one piece for each type.
//
// A phone loads the engine over the air, and dozens of copies of a sort and of a once-only loader, each with the name of its
// type spelt out, were a sixth of it. The answers are those of package slices and of sync.OnceValues.
package lean

import (
	"sort"
	"sync"
)

// Sort puts a list in the order of cmp, as slices.SortFunc does: equals may change places.
func Sort[S ~[]T, T any](list S, cmp func(a, b T) int) {
	sort.Slice(list, func(i, k int) bool { return cmp(list[i], list[k]) < 0 })
}

// SortStable puts a list in the order of cmp, as slices.SortStableFunc does: equals keep their places.
func SortStable[S ~[]T, T any](list S, cmp func(a, b T) int) {
	sort.SliceStable(list, func(i, k int) bool { return cmp(list[i], list[k]) < 0 })
}

// Once gives a function that works a value out at its first call and remembers it. It may be called from anywhere. A panic of
// f is not remembered: the value stays zero.
func Once[T any](f func() T) func() T {
	var once sync.Once
	var v T
	return func() T {
		once.Do(func() { v = f() })
		return v
	}
}

// Once2 is [Once] for a value and an error.
func Once2[T any](f func() (T, error)) func() (T, error) {
	var once sync.Once
	var v T
	var err error
	return func() (T, error) {
		once.Do(func() { v, err = f() })
		return v, err
	}
}
