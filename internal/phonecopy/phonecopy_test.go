package phonecopy_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"os"
	"strings"
	"testing"

	"thwart"
	"thwart/internal/phonecopy"
)

// testdata/copy.json was written by the phone's own code (web/app/test/copy.test.ts), which Node's OpenSSL has opened too.
const passphrase = "otter hammock lantern"

func readCopy(t testing.TB) []byte {
	t.Helper()
	b, err := os.ReadFile("testdata/copy.json")
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func TestOpen(t *testing.T) {
	c, err := phonecopy.Open(bytes.NewReader(readCopy(t)), passphrase)
	if err != nil {
		t.Fatal(err)
	}
	if len(c.Records) != 2 || len(c.Drafts) != 1 || len(c.Photos) != 0 {
		t.Fatalf("%d records, %d drafts, %d photos", len(c.Records), len(c.Drafts), len(c.Photos))
	}
	for i, want := range []thwart.Tally{{PassedBy: 3}, {Refused: 1}} {
		r := c.Records[i]
		if r.Damaged != "" || r.Entry.Seq != int64(i+1) || r.Entry.Device != c.Device || r.Entry.Person != c.Person {
			t.Errorf("record %d: %+v", i, r)
		}
		body, err := r.Entry.Decode()
		if err != nil {
			t.Fatal(err)
		}
		got := *body.(*thwart.Tally)
		if got.PassedBy != want.PassedBy || got.Refused != want.Refused {
			t.Errorf("record %d says %+v", i, got)
		}
	}
	var draft struct {
		Stop int
		Note string
	}
	if err := json.Unmarshal(c.Drafts[0].Value, &draft); err != nil || draft.Stop != 4 || draft.Note != "żółw" {
		t.Errorf("draft %s: %v", c.Drafts[0].Value, err)
	}
}

func TestOpenRefuses(t *testing.T) {
	whole := readCopy(t)
	var f map[string]any
	if err := json.Unmarshal(whole, &f); err != nil {
		t.Fatal(err)
	}
	data := f["data"].(string)
	swap := map[byte]byte{'A': 'B'}
	flip := func(at int) []byte {
		b := []byte(data)
		if b[at] = swap[b[at]]; b[at] == 0 {
			b[at] = 'A'
		}
		return bytes.Replace(whole, []byte(data), b, 1)
	}
	for name, b := range map[string][]byte{"first byte": flip(0), "middle": flip(len(data) / 2), "tag": flip(len(data) - 4)} {
		if _, err := phonecopy.Open(bytes.NewReader(b), passphrase); !errors.Is(err, phonecopy.ErrPassphrase) {
			t.Errorf("one changed letter, %s: %v", name, err)
		}
	}
	if _, err := phonecopy.Open(bytes.NewReader(whole), passphrase+" "); !errors.Is(err, phonecopy.ErrPassphrase) {
		t.Errorf("another passphrase: %v", err)
	}
	for field, change := range map[string]string{
		"format":         `"format":"thwart-copy-1"→"format":"thwart-copy-9"`,
		"kdf.iterations": `"iterations":600000→"iterations":1`,
		"kdf.name":       `PBKDF2-HMAC-SHA-256→none`,
		"cipher.name":    `AES-256-GCM→AES-256-CBC`,
	} {
		from, to, _ := strings.Cut(change, "→")
		_, err := phonecopy.Open(strings.NewReader(strings.Replace(string(whole), from, to, 1)), passphrase)
		var fields thwart.FieldErrors
		if !errors.As(err, &fields) || fields[0].Field != field {
			t.Errorf("%s: %v", field, err)
		}
	}
}

func FuzzOpen(f *testing.F) {
	f.Add(string(readCopy(f)))
	f.Add(`{"format":"thwart-copy-1"}`)
	f.Fuzz(func(t *testing.T, text string) {
		// A file may ask for many turns; what it costs is bounded, but not worth fuzzing.
		if strings.Contains(text, `"iterations"`) && !strings.Contains(text, `"iterations":600000`) {
			t.Skip()
		}
		if c, err := phonecopy.Open(strings.NewReader(text), passphrase); err == nil && c == nil {
			t.Error("neither a copy nor an error")
		}
	})
}
