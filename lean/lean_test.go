package lean_test

import (
	"cmp"
	"errors"
	"slices"
	"sync"
	"testing"

	"pgregory.net/rapid"

	"thwart/lean"
)

// The answers are those of package slices.
func TestSortsAsSlicesDo(t *testing.T) {
	type row struct{ key, place int }
	rapid.Check(t, func(t *rapid.T) {
		keys := rapid.SliceOf(rapid.IntRange(0, 9)).Draw(t, "keys")
		list := make([]row, len(keys))
		for i, k := range keys {
			list[i] = row{k, i}
		}
		byKey := func(a, b row) int { return cmp.Compare(a.key, b.key) }
		for name, sorts := range map[string][2]func([]row, func(a, b row) int){
			"sort":   {lean.Sort[[]row], slices.SortFunc[[]row]},
			"stable": {lean.SortStable[[]row], slices.SortStableFunc[[]row]},
		} {
			got, want := slices.Clone(list), slices.Clone(list)
			sorts[0](got, byKey)
			sorts[1](want, byKey)
			if !slices.Equal(got, want) {
				t.Fatalf("%s: %v, want %v", name, got, want)
			}
		}
	})
}

func TestOnce(t *testing.T) {
	n := 0
	one := lean.Once(func() int { n++; return 7 })
	two := lean.Once2(func() (string, error) { n++; return "x", errors.New("no") })
	var wg sync.WaitGroup
	for range 8 {
		wg.Go(func() {
			if one() != 7 {
				t.Error("not 7")
			}
			if v, err := two(); v != "x" || err == nil {
				t.Error(v, err)
			}
		})
	}
	wg.Wait()
	if n != 2 {
		t.Errorf("worked out %d times", n)
	}
}
