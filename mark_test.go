package thwart_test

import (
	"regexp"
	"testing"

	"thwart"
)

var markKey = []byte("a key of the test programme")

func TestMarkOf(t *testing.T) {
	// HMAC-SHA-256 of "MN1234AB" under the key, computed apart: printf MN1234AB | openssl dgst -sha256 -hmac "a key of the test programme"
	const want = "970a1c69b19cce0b93d03993c1f5104b"
	for _, s := range []string{"MN1234AB", "mn 1234 ab", " MN-1234-AB ", "mn.1234/ab"} {
		if m := thwart.MarkOf(s, markKey); m.Hash != want || m.Prefix != "MN" {
			t.Errorf("%q: %+v, want %s", s, m, want)
		}
	}
	for _, c := range []struct{ in, prefix string }{{"A1", "A"}, {"ABC123", "AB"}, {"123AB", ""}, {"Ö123", ""}, {"B-123", "B"}} {
		m := thwart.MarkOf(c.in, markKey)
		if m.Prefix != c.prefix || !regexp.MustCompile(`^[0-9a-f]{32}$`).MatchString(m.Hash) {
			t.Errorf("%q: %+v, want prefix %q", c.in, m, c.prefix)
		}
	}
	if a, b := thwart.MarkOf("MN1234AB", markKey), thwart.MarkOf("MN1234AB", []byte("another key of the same programme")); a.Hash == b.Hash {
		t.Error("the key makes no difference")
	}
	for _, m := range []thwart.Mark{thwart.MarkOf("", markKey), thwart.MarkOf(" -- ", markKey), thwart.MarkOf("MN1234AB", []byte("short"))} {
		if m != (thwart.Mark{}) {
			t.Errorf("%+v", m)
		}
	}
}
