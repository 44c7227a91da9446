package thwart_test

import (
	"encoding/json"
	"os"
	"testing"

	"thwart"
)

// TestSumsOfSealedTexts reads the same file as the phone's own test: both must find the same sum for the same bytes, or a
// phone would never believe that a record was sent. The sums in the file were made with sha256sum (GNU coreutils 9.1) over
// the lines that [thwart.Entry.Sum] describes, not by this program.
func TestSumsOfSealedTexts(t *testing.T) {
	b, err := os.ReadFile("testdata/sums.json")
	if err != nil {
		t.Fatal(err)
	}
	var cases []struct{ Name, Text, Sum string }
	if err := json.Unmarshal(b, &cases); err != nil {
		t.Fatal(err)
	}
	for _, c := range cases {
		var e thwart.Entry
		if err := json.Unmarshal([]byte(c.Text), &e); err != nil {
			t.Fatalf("%s: %v", c.Name, err)
		}
		if got := e.Sum(); got != c.Sum {
			t.Errorf("%s: sum %s, want %s", c.Name, got, c.Sum)
		}
	}
	if len(cases) < 5 {
		t.Errorf("%d cases", len(cases))
	}
}
