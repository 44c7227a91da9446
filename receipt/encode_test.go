package receipt

import (
	"bytes"
	"encoding/hex"
	"testing"
	"time"

	"github.com/fxamacker/cbor/v2"
	"pgregory.net/rapid"

	"thwart"
)

// RFC 9285, section 4.3 and 4.4: "AB" is BB8, "Hello!!" is %69 VD92EX0, "base-45" is UJCLQE7W581, and QED8WEX0 is "ietf!".
func TestBase45Vectors(t *testing.T) {
	for plain, coded := range map[string]string{"AB": "BB8", "Hello!!": "%69 VD92EX0", "base-45": "UJCLQE7W581", "ietf!": "QED8WEX0", "": ""} {
		if got := encode45([]byte(plain)); got != coded {
			t.Errorf("%q: %q, want %q", plain, got, coded)
		}
		if got, err := decode45(coded); err != nil || string(got) != plain {
			t.Errorf("%q: %q %v, want %q", coded, got, err, plain)
		}
	}
	// RFC 9285, section 6: values out of range must be refused; FGW is 65535, the last that is not.
	for _, bad := range []string{"GGX", ":::", "0", "a00", "::", "AB\x00"} {
		if got, err := decode45(bad); err == nil {
			t.Errorf("%q gave %x", bad, got)
		}
	}
	if got, err := decode45("FGW"); err != nil || !bytes.Equal(got, []byte{0xff, 0xff}) {
		t.Errorf("FGW: %x %v", got, err)
	}
}

func TestBase45ThereAndBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := rapid.SliceOf(rapid.Byte()).Draw(t, "bytes")
		if got, err := decode45(encode45(b)); err != nil || !bytes.Equal(got, b) {
			t.Fatalf("%x: %x %v", b, got, err)
		}
	})
}

// RFC 8949, appendix A, for the items a receipt is made of.
func TestCBORVectors(t *testing.T) {
	for _, c := range []struct {
		major byte
		n     uint64
		want  string
	}{
		{0, 0, "00"}, {0, 1, "01"}, {0, 10, "0a"}, {0, 23, "17"}, {0, 24, "1818"}, {0, 25, "1819"}, {0, 100, "1864"}, {0, 1000, "1903e8"},
		{0, 1000000, "1a000f4240"}, {0, 1000000000000, "1b000000e8d4a51000"}, {0, 18446744073709551615, "1bffffffffffffffff"},
		{2, 4, "44"}, {3, 4, "64"}, {4, 3, "83"}, {4, 25, "9819"},
	} {
		if got := hex.EncodeToString(cborHead(nil, c.major, c.n)); got != c.want {
			t.Errorf("%d of %d: %s, want %s", c.major, c.n, got, c.want)
		}
		r := cborReader{b: cborHead(nil, c.major, c.n)}
		if got := r.head(c.major); got != c.n || r.bad || len(r.b) != 0 {
			t.Errorf("%s read as %d", c.want, got)
		}
	}
	for _, bad := range []string{"", "1c", "1f", "18", "1903", "20"} {
		raw, _ := hex.DecodeString(bad)
		r := cborReader{b: raw}
		if r.head(0); !r.bad {
			t.Errorf("%s was read", bad)
		}
	}
}

// Another implementation (fxamacker/cbor) reads the facts and, told to write core deterministic encoding, writes the same bytes.
func TestFactsAgainstAnotherImplementation(t *testing.T) {
	mode, err := cbor.CoreDetEncOptions().EncMode()
	if err != nil {
		t.Fatal(err)
	}
	f := Facts{
		ID: "00000000beef", What: Dried, Outcome: thwart.Hold, IssuedAt: time.Date(2026, 7, 4, 12, 0, 0, 0, time.UTC), ValidH: 500,
		KeyID: "01234567", Launch: "89abcdef", Protocol: "012345", Seal: "A-1",
	}
	var list []any
	if err := cbor.Unmarshal(f.bytes(), &list); err != nil || len(list) != 9 {
		t.Fatalf("%v %v", list, err)
	}
	again, err := mode.Marshal(list)
	if err != nil || !bytes.Equal(again, f.bytes()) {
		t.Errorf("%x, want %x (%v)", again, f.bytes(), err)
	}
	// Days from 2020-01-01 to 2026-07-04: 6 years of 365, leap days of 2020 and 2024, and 184 days: 2376; with half a day, in minutes.
	if want := uint64(2376*1440 + 720); list[3] != want {
		t.Errorf("minutes: %v, want %d", list[3], want)
	}
}
