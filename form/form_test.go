package form_test

import (
	"math"
	"regexp"
	"testing"

	"pgregory.net/rapid"

	"thwart/form"
)

// The regular expressions that the sets stand for, as the other method.
func TestAgreesWithRegularExpressions(t *testing.T) {
	for _, c := range []struct {
		set, pattern string
		least, most  int
	}{
		{"0-9a-f", `^[0-9a-f]{4}$`, 4, 4},
		{"A-Z0-9", `^[A-Z0-9]{0,3}$`, 0, 3},
		{"A-Za-z0-9_+-", `^[A-Za-z0-9_+-]+$`, 1, math.MaxInt},
		{"0-9 ()./-", `^[0-9 ()./-]{2,9}$`, 2, 9},
	} {
		re, set := regexp.MustCompile(c.pattern), form.Chars(c.set)
		rapid.Check(t, func(t *rapid.T) {
			s := rapid.OneOf(rapid.StringMatching(`[0-9a-fA-Z_+. ()/-]{0,10}`), rapid.String()).Draw(t, "text")
			if got, want := set.All(s, c.least, c.most), re.MatchString(s); got != want {
				t.Fatalf("%q of %s: %t, want %t", s, c.set, got, want)
			}
		})
	}
}

func TestParts(t *testing.T) {
	word := func(s string) bool { return form.Chars("a-z").All(s, 1, 3) }
	digits := func(s string) bool { return form.Chars("0-9").All(s, 1, 3) }
	for text, want := range map[string]bool{"ab": true, "ab-1": true, "ab-1-22": true, "ab-1-2-3": false, "ab-": false, "": false, "1-ab": false, "ab--1": false} {
		if got := form.Parts(text, "-", 3, word, digits); got != want {
			t.Errorf("%q: %t, want %t", text, got, want)
		}
	}
}

func TestCutSplitsNoLetter(t *testing.T) {
	for _, c := range []struct {
		text string
		most int
		want string
	}{
		{"", 3, ""}, {"hull", 4, "hull"}, {"hull", 2, "hu"}, {"été", 3, "ét"}, {"été", 4, "ét"}, {"été", 5, "été"}, {"é", 1, ""},
		{"a𝄞b", 4, "a"}, {"a𝄞b", 5, "a𝄞"}, {"hull", 0, ""}, {"\x80\x80", 1, ""},
	} {
		if got := form.Cut(c.text, c.most); got != c.want {
			t.Errorf("%q to %d: %q, want %q", c.text, c.most, got, c.want)
		}
	}
}
