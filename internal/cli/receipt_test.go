package cli

import (
	"crypto/ed25519"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"thwart"
	"thwart/internal/store"
	"thwart/receipt"
)

// A receipt is read from its text, a file and a pipe, with the answer that each state of it has, and its exit code.
func TestReceiptRead(t *testing.T) {
	dir := t.TempDir()
	at := time.Date(2026, 7, 4, 12, 0, 0, 0, time.UTC)
	key := func(b byte) ed25519.PrivateKey {
		return ed25519.NewKeyFromSeed([]byte(strings.Repeat(string(rune('a'+b)), ed25519.SeedSize)))
	}
	public := func(k ed25519.PrivateKey) []byte { return k.Public().(ed25519.PublicKey) }
	programme, phone, stranger, gone := key(0), key(1), key(2), key(3)
	keys := []thwart.Key{
		{Use: thwart.KeyProgramme, KeyID: receipt.KeyIDOf(public(programme)), Public: public(programme), From: at.Add(-time.Hour)},
		receipt.Vouch(thwart.Key{Use: thwart.KeyDevice, Public: public(phone), Device: "01980d5e-6a00-7000-8000-00000000beef", From: at.Add(-time.Hour)}, programme),
		receipt.Vouch(thwart.Key{Use: thwart.KeyDevice, Public: public(gone), Device: "01980d5e-6a00-7000-8000-00000000cafe", From: at.Add(-time.Hour)}, programme),
	}
	keys[2].RevokedAt = &at
	list := filepath.Join(dir, "keys.json")
	text, err := json.Marshal(keys)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(list, text, 0o600); err != nil {
		t.Fatal(err)
	}
	says := receipt.Facts{ID: "0123456789ab", What: receipt.Washed, Outcome: thwart.Launch, IssuedAt: at, ValidH: 24, Launch: "01234567", Protocol: "012345", Seal: "A-17"}
	issue := func(k ed25519.PrivateKey) string {
		code, err := receipt.Issue(says, k)
		if err != nil {
			t.Fatal(err)
		}
		return code
	}
	good := issue(phone)
	says.Outcome, says.ValidH = thwart.Wash, 0
	told := issue(phone)
	says.Outcome, says.ValidH = thwart.Launch, 24
	file := filepath.Join(dir, "receipt.txt")
	if err := os.WriteFile(file, []byte(good+"\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	last := byte('0')
	if good[len(good)-4] == last {
		last = '1'
	}
	altered := good[:len(good)-4] + string(last) + good[len(good)-3:]
	const soon, late = "2026-07-04T13:00:00Z", "2026-07-06T13:00:00Z"
	for _, c := range []struct {
		in, arg, at string
		more        []string
		first       string
		code        int
	}{
		{"", good, soon, nil, "good", ExitAnswered},
		{"", file, soon, nil, "good", ExitAnswered},
		{good, "-", soon, nil, "good", ExitAnswered},
		{"", altered, soon, nil, "altered", ExitNotMet},
		{"", good, late, nil, "expired", ExitNotMet},
		{"", told, soon, nil, "no pass", ExitNotMet},
		{"", issue(stranger), soon, nil, "unknown issuer", ExitNotMet},
		{"", issue(gone), soon, nil, "revoked", ExitNotMet},
		{"", good, "2026-07-04T09:00:00Z", nil, "not yet", ExitNotMet},
		{"", good, soon, []string{"--water-since", "yes"}, "in water since", ExitNotMet},
		{"", good, soon, []string{"--trust", receipt.KeyIDOf(public(programme))}, "good", ExitAnswered},
		{"", good, soon, []string{"--trust", "00000000"}, "unknown issuer", ExitNotMet},
		{"not a receipt", "-", soon, nil, "not a receipt", ExitNotMet},
	} {
		args := append([]string{"receipt", "read", c.arg, "--keys", list, "--at", c.at, "--strict"}, c.more...)
		code, out, errs := run(t, c.in, args...)
		if first, _, _ := strings.Cut(out, "\n"); code != c.code || first != c.first {
			t.Errorf("%s at %s %v: exit code %d, %q, %s; want %d, %q", c.arg[:min(len(c.arg), 12)], c.at, c.more, code, first, errs, c.code, c.first)
		}
	}
	for _, args := range [][]string{
		{"--keys", list, "--at", "yesterday"}, {"--keys", list, "--water-since", "perhaps"},
	} {
		if code, out, _ := run(t, "", append([]string{"receipt", "read", good}, args...)...); code != ExitUsage || out != "" {
			t.Errorf("%v: exit code %d, wrote %q", args, code, out)
		}
	}
	if code, out, _ := run(t, "", "receipt", "read", good, "--keys", file); code != ExitRefused || out != "" {
		t.Errorf("a list of keys that is none: exit code %d, wrote %q", code, out)
	}
}

// The programme's key is changed from the command line beside its records, and a reader who holds on to the old one follows.
func TestReceiptRotate(t *testing.T) {
	dir := t.TempDir()
	dsn := filepath.Join(dir, "p.db")
	s, err := store.Open(t.Context(), dsn, store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if code, _, _ := run(t, "", "receipt", "rotate", "--store", dsn, "--dir", dir); code != ExitRefused {
		t.Errorf("a folder without a key: exit code %d", code)
	}
	if err := os.WriteFile(filepath.Join(dir, "signing.key"), []byte(`{"programme":"`+strings.Repeat("A", 43)+`="}`), 0o600); err != nil {
		t.Fatal(err)
	}
	code, out, errs := run(t, "", "receipt", "rotate", "--store", dsn, "--dir", dir, "--json")
	var r struct{ Before, KeyID string }
	if err := json.Unmarshal([]byte(out), &r); err != nil || code != ExitAnswered || r.Before == r.KeyID || r.KeyID == "" {
		t.Fatalf("exit code %d, %s%s, %v", code, out, errs, err)
	}
	list := filepath.Join(dir, "keys.json")
	if code, _, errs := run(t, "", "receipt", "keys", list, "--store", dsn); code != ExitAnswered {
		t.Fatal(errs)
	}
	text, err := os.ReadFile(list)
	if err != nil || strings.Contains(string(text), "AAAAAAAAAA") {
		t.Errorf("the list of keys holds a secret, or is not there: %v", err)
	}
	var keys []thwart.Key
	if err := json.Unmarshal(text, &keys); err != nil || len(keys) == 0 {
		t.Fatal(err, len(keys))
	}
}

// Forms are printed with numbers from the records, which go on from one print to the next, and specimens without records.
func TestPaper(t *testing.T) {
	dir := t.TempDir()
	dsn := filepath.Join(dir, "p.db")
	for i, want := range []string{"B-0000001-", "B-0000004-"} {
		file := filepath.Join(dir, "b"+string(rune('0'+i))+".pdf")
		code, out, errs := run(t, "", "paper", "boat", file, "--class", "canoe_kayak", "--count", "3", "--store", dsn, "--made", "2026-04-20", "--json")
		if code != ExitAnswered || !strings.Contains(out, want) {
			t.Errorf("exit code %d, %s%s, want %s", code, out, errs, want)
		}
	}
	if code, out, _ := run(t, "", "paper", "wash", filepath.Join(dir, "w.pdf"), "--specimen", "--protocol", "regional-minimum", "--store", filepath.Join(dir, "none.db")); code != ExitAnswered || !strings.Contains(out, "specimen") {
		t.Errorf("exit code %d, %s", code, out)
	}
	if _, err := os.Stat(filepath.Join(dir, "none.db")); err == nil {
		t.Error("a specimen made records")
	}
	for _, args := range [][]string{
		{"paper", "boat", filepath.Join(dir, "x.pdf"), "--class", "zeppelin", "--store", dsn},
		{"paper", "boat", filepath.Join(dir, "b0.pdf"), "--class", "canoe_kayak", "--store", dsn},
	} {
		if code, out, _ := run(t, "", args...); code != ExitRefused || out != "" {
			t.Errorf("%v: exit code %d, %q", args, code, out)
		}
	}
}
