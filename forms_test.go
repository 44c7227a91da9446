package thwart

import (
	"regexp"
	"testing"

	"pgregory.net/rapid"
)

// The forms agree with the regular expressions they stand for, on texts near them and on any text.
func TestForms(t *testing.T) {
	for _, c := range []struct {
		name, pattern string
		is            func(string) bool
	}{
		{"UUID version 7", `^[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$`, isUUID7},
		{"time zone", `^[A-Za-z][A-Za-z0-9_+-]*(/[A-Za-z0-9_+-]+){0,2}$`, isZone},
		{"language", `^[a-z]{2,3}(-[A-Za-z0-9]{2,8})*$`, isLanguage},
		{"currency", `^[A-Z]{3}$`, isCurrency},
		{"telephone", `^\+?[0-9][0-9 ()./-]{2,30}$`, isPhone},
		{"protocol", `^[^@\s]{1,100}@[^@\s]{1,100}$`, isProtocolRef},
	} {
		re := regexp.MustCompile(c.pattern)
		rapid.Check(t, func(t *rapid.T) {
			s := rapid.OneOf(rapid.StringMatching(c.pattern), rapid.String(), rapid.StringMatching(`[a-zA-Z0-9@/+ -]{0,40}`)).Draw(t, "text")
			if rapid.Bool().Draw(t, "spoil") && s != "" {
				k := rapid.IntRange(0, len(s)-1).Draw(t, "at")
				s = s[:k] + rapid.SampledFrom([]string{"", "-", "@", "/", "Z", "8", " ", "é"}).Draw(t, "with") + s[k+1:]
			}
			if got, want := c.is(s), re.MatchString(s); got != want {
				t.Fatalf("%s %q: %t, want %t", c.name, s, got, want)
			}
		})
	}
}
