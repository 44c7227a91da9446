package receipt_test

import (
	"strings"
	"testing"

	"thwart/receipt"
)

// The capacity of version 3 at level M in byte mode is 42 characters and of version 4 it is 62 (ISO/IEC 18004, table 7); a
// code of version v has 17 + 4v modules a side.
func TestLinkTakesTheSmallestVersion(t *testing.T) {
	for length, modules := range map[int]float64{42: 29, 43: 33, 62: 33, 63: 37} {
		scene, err := receipt.Link("https://example.org/ramp/#" + strings.Repeat("x", length-26))
		if err != nil || scene.Width != modules+2*receipt.Quiet {
			t.Errorf("%d characters: %v wide, want %v modules and the margin; %v", length, scene.Width, modules, err)
		}
	}
	if _, err := receipt.Link(strings.Repeat("x", 5000)); err == nil {
		t.Error("a text that no code holds")
	}
}
