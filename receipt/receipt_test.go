package receipt_test

import (
	"bytes"
	"crypto/ed25519"
	"encoding/hex"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"thwart"
	"thwart/receipt"
)

func key(n byte) ed25519.PrivateKey { return ed25519.NewKeyFromSeed(bytes.Repeat([]byte{n}, 32)) }

func public(k ed25519.PrivateKey) []byte { return k.Public().(ed25519.PublicKey) }

var (
	noon      = time.Date(2026, 7, 4, 12, 0, 0, 0, time.UTC)
	start     = time.Date(2026, 4, 1, 0, 0, 0, 0, time.UTC)
	programme = key(1)
	phone     = key(2)
	device    = "01980d5e-6a00-7000-8000-0000000000aa"
	subject   = "01980d5e-6a00-7000-8000-00000000beef"
	launch    = "01980d5e-6a00-7000-8000-0000000000cc"
)

func facts() receipt.Facts {
	return receipt.Facts{
		ID: receipt.IDOf(subject), What: receipt.Washed, Outcome: thwart.Launch, IssuedAt: noon, ValidH: 24,
		Launch: receipt.Short(launch), Protocol: receipt.Edition("utah@1"), Seal: "A-104233",
	}
}

func keys() []thwart.Key {
	return []thwart.Key{
		{Use: thwart.KeyProgramme, KeyID: receipt.KeyIDOf(public(programme)), Public: public(programme), From: start},
		receipt.Vouch(thwart.Key{Use: thwart.KeyDevice, Public: public(phone), Device: device, From: start}, programme),
	}
}

func issue(t *testing.T, f receipt.Facts, k ed25519.PrivateKey) string {
	t.Helper()
	text, err := receipt.Issue(f, k)
	if err != nil {
		t.Fatal(err)
	}
	return text
}

func TestEveryAnswer(t *testing.T) {
	good := issue(t, facts(), phone)
	owed := facts()
	owed.Outcome, owed.ValidH = thwart.Wash, 0
	noPass := issue(t, owed, phone)
	soon := noon.Add(time.Hour)
	revokedKey := keys()
	revokedKey[1].RevokedAt = &soon
	late := noon.Add(-time.Hour)
	ended := keys()
	ended[1].Until = &late
	for _, c := range []struct {
		name  string
		text  string
		keys  []thwart.Key
		asked receipt.Asked
		want  receipt.State
	}{
		{"as issued", good, keys(), receipt.Asked{Now: soon}, receipt.Good},
		{"with blanks round it", "  " + good + "\n", keys(), receipt.Asked{Now: soon}, receipt.Good},
		{"the last minute", good, keys(), receipt.Asked{Now: noon.Add(24*time.Hour - 1)}, receipt.Good},
		{"a day later", good, keys(), receipt.Asked{Now: noon.Add(24 * time.Hour)}, receipt.Expired},
		{"what was never a pass", noPass, keys(), receipt.Asked{Now: soon}, receipt.NoPass},
		{"never a pass, and in the water since", noPass, keys(), receipt.Asked{Now: soon, WaterSince: thwart.Yes}, receipt.InWater},
		{"before it was issued", good, keys(), receipt.Asked{Now: noon.Add(-time.Hour)}, receipt.NotYet},
		{"two clocks a little apart", good, keys(), receipt.Asked{Now: noon.Add(-5 * time.Minute)}, receipt.Good},
		{"in the water since", good, keys(), receipt.Asked{Now: soon, WaterSince: thwart.Yes}, receipt.InWater},
		{"not in the water since", good, keys(), receipt.Asked{Now: soon, WaterSince: thwart.No}, receipt.Good},
		{"no keys", good, nil, receipt.Asked{Now: soon}, receipt.Unknown},
		{"another phone's key", issue(t, facts(), key(9)), keys(), receipt.Asked{Now: soon}, receipt.Unknown},
		{"a lost phone", good, revokedKey, receipt.Asked{Now: soon}, receipt.Revoked},
		{"a key no longer in use then", good, ended, receipt.Asked{Now: soon}, receipt.Revoked},
		{"a receipt taken back", good, append(keys(), thwart.Key{Use: thwart.KeyRevokedReceipt, Receipt: subject, From: soon, RevokedAt: &soon}), receipt.Asked{Now: soon}, receipt.Revoked},
		{"another text", "HTTPS://EXAMPLE.ORG", keys(), receipt.Asked{Now: soon}, receipt.NoReceipt},
		{"nothing", "", keys(), receipt.Asked{Now: soon}, receipt.NoReceipt},
		{"cut short", good[:40], keys(), receipt.Asked{Now: soon}, receipt.Altered},
		{"in small letters", receipt.Prefix + strings.ToLower(good[4:]), keys(), receipt.Asked{Now: soon}, receipt.Altered},
	} {
		ring, _ := receipt.NewRing(c.keys, nil)
		got := ring.Read(c.text, c.asked)
		if strings.Contains(got.Why, "UTC") || strings.Contains(got.Why, noon.Format("15:04")) {
			t.Errorf("%s: a time beside the receipt's own, which whoever shows it says by the clock of the place: %s", c.name, got.Why)
		}
		if got.State != c.want || got.Why == "" {
			t.Errorf("%s: %s (%s), want %s", c.name, got.State, got.Why, c.want)
		}
		if (got.Seal != nil) != (got.State == receipt.Good) {
			t.Errorf("%s: a seal is handed on: %v", c.name, got.Seal)
		}
		if got.State == receipt.Good && got.AskWater != (c.asked.WaterSince == thwart.Unknown) {
			t.Errorf("%s: whether it was in the water must be asked until it is known", c.name)
		}
	}
}

func TestFactsComeBack(t *testing.T) {
	ring, rejected := receipt.NewRing(keys(), []string{receipt.KeyIDOf(public(programme))})
	if rejected != nil {
		t.Fatal(rejected)
	}
	rapid.Check(t, func(t *rapid.T) {
		f := receipt.Facts{
			ID: rapid.StringMatching(`[0-9a-f]{12}`).Draw(t, "id"), What: rapid.SampledFrom([]string{"inspected", "washed", "dried"}).Draw(t, "what"),
			Outcome: rapid.SampledFrom(thwart.Outcomes).Draw(t, "outcome"), ValidH: rapid.IntRange(1, receipt.MaxValidH).Draw(t, "valid"),
			IssuedAt: start.Add(time.Duration(rapid.IntRange(0, 1e6).Draw(t, "minutes")) * time.Minute),
			Launch:   rapid.StringMatching(`[0-9a-f]{8}`).Draw(t, "launch"), Protocol: rapid.StringMatching(`[0-9a-f]{6}`).Draw(t, "protocol"),
			Seal: rapid.StringMatching(`[A-Z0-9-]{0,20}`).Draw(t, "seal"),
		}
		text, err := receipt.Issue(f, phone)
		if err != nil {
			t.Fatal(err)
		}
		f.KeyID = receipt.KeyIDOf(public(phone))
		got := ring.Read(text, receipt.Asked{Now: f.IssuedAt})
		if got.State != receipt.Good || *got.Facts != f {
			t.Fatalf("%+v, want %+v", got, f)
		}
	})
}

// Any one character that is changed, left out, doubled or exchanged is seen.
func TestAnyChangeIsSeen(t *testing.T) {
	ring, _ := receipt.NewRing(keys(), nil)
	text := issue(t, facts(), phone)
	const all = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:az\x00é"
	seen := 0
	check := func(changed string) {
		seen++
		if changed != text && ring.Read(changed, receipt.Asked{Now: noon}).State == receipt.Good && strings.TrimSpace(changed) != text {
			t.Fatalf("a change was not seen:\n%s\n%s", text, changed)
		}
	}
	for i := range text {
		for _, r := range all {
			check(text[:i] + string(r) + text[i+1:])
		}
		check(text[:i] + text[i+1:])
		check(text[:i] + text[i:i+1] + text[i:])
		if i > 0 {
			check(text[:i-1] + text[i:i+1] + text[i-1:i] + text[i+1:])
		}
	}
	t.Logf("%d changes", seen)
}

func FuzzRead(f *testing.F) {
	ring, _ := receipt.NewRing(keys(), nil)
	text, _ := receipt.Issue(facts(), phone)
	f.Add(text)
	f.Add(receipt.Prefix)
	f.Fuzz(func(t *testing.T, s string) {
		if got := ring.Read(s, receipt.Asked{Now: noon}); got.State == receipt.Good && strings.TrimSpace(s) != text {
			t.Fatalf("%q was taken as good", s)
		}
	})
}

// Rotation: the old key vouches for the next, and phones that know only the old one follow. A key nobody vouches for, one with
// a false name, and a phone's key vouched for by a phone do not count.
func TestKeyChain(t *testing.T) {
	next, stranger := key(3), key(4)
	all := append(keys(),
		receipt.Vouch(thwart.Key{Use: thwart.KeyProgramme, Public: public(next), From: noon}, programme),
		receipt.Vouch(thwart.Key{Use: thwart.KeyDevice, Public: public(key(5)), Device: device, From: noon}, next),
		receipt.Vouch(thwart.Key{Use: thwart.KeyDevice, Public: public(key(6)), Device: device, From: noon}, stranger),
		receipt.Vouch(thwart.Key{Use: thwart.KeyDevice, Public: public(key(7)), Device: device, From: noon}, phone),
		thwart.Key{Use: thwart.KeyProgramme, KeyID: receipt.KeyIDOf(public(stranger)), Public: public(stranger), From: start},
	)
	ring, rejected := receipt.NewRing(all, []string{receipt.KeyIDOf(public(programme))})
	f := facts()
	f.IssuedAt = noon.Add(time.Hour)
	for n, want := range map[byte]receipt.State{2: receipt.Good, 5: receipt.Good, 6: receipt.Unknown, 7: receipt.Unknown} {
		if got := ring.Read(issue(t, f, key(n)), receipt.Asked{Now: noon.Add(2 * time.Hour)}); got.State != want {
			t.Errorf("key %d: %s, want %s", n, got.State, want)
		}
	}
	if len(rejected) != 3 {
		t.Errorf("rejected %v, want the stranger and the two keys nobody vouches for", rejected)
	}
	changed := keys()
	changed[1].Device = "01980d5e-6a00-7000-8000-0000000000ab"
	if ring, _ := receipt.NewRing(changed, nil); ring.Read(issue(t, facts(), phone), receipt.Asked{Now: noon}).State != receipt.Unknown {
		t.Error("a certificate for another phone was taken")
	}
}

func TestBadFactsAreNamed(t *testing.T) {
	for field, change := range map[string]func(*receipt.Facts){
		"id": func(f *receipt.Facts) { f.ID = "x" }, "what": func(f *receipt.Facts) { f.What = "blessed" }, "outcome": func(f *receipt.Facts) { f.Outcome = "" },
		"issuedAt": func(f *receipt.Facts) { f.IssuedAt = time.Time{} }, "validH": func(f *receipt.Facts) { f.ValidH = -1 },
		"launch": func(f *receipt.Facts) { f.Launch = "XYZ" }, "protocol": func(f *receipt.Facts) { f.Protocol = "" },
		"seal": func(f *receipt.Facts) { f.Seal = strings.Repeat("9", 21) },
	} {
		f := facts()
		change(&f)
		if _, err := receipt.Issue(f, phone); err == nil || !strings.HasPrefix(err.Error(), field) {
			t.Errorf("%s: %v", field, err)
		}
	}
	f := facts()
	f.KeyID = receipt.KeyIDOf(public(phone))
	if _, err := receipt.Seal(f, make([]byte, 64), public(phone)); err == nil {
		t.Error("a signature that does not fit was sealed")
	}
}

// At most 106 bytes, the room of a version 6 code at level M; as text in a code of version 6 to 8.
func TestSize(t *testing.T) {
	for _, seal := range []string{"", "A-104233", strings.Repeat("9", receipt.MaxSeal)} {
		f := facts()
		f.Seal = seal
		text := issue(t, f, phone)
		n := (len(text) - len(receipt.Prefix)) * 2 / 3
		c, err := receipt.Code(text, false)
		if err != nil {
			t.Fatal(err)
		}
		t.Logf("seal %q: %d bytes, %d characters, %d modules", seal, n, len(text), c.Size)
		if len(seal) <= 8 && n > 106 {
			t.Errorf("%d bytes with seal %q, want at most 106", n, seal)
		}
		if version := (c.Size - 17) / 4; version < 6 || version > 8 {
			t.Errorf("version %d with seal %q", version, seal)
		}
	}
}

// zbar, which shares no code with this program, reads the code back.
func TestCodeIsReadByAnother(t *testing.T) {
	if _, err := exec.LookPath("zbarimg"); err != nil {
		t.Skip("NOT CHECKED: zbarimg is not installed (Debian: zbar-tools)")
	}
	for _, wet := range []bool{false, true} {
		text := issue(t, facts(), phone)
		c, err := receipt.Code(text, wet)
		if err != nil {
			t.Fatal(err)
		}
		const px = 6
		img := image.NewGray(image.Rect(0, 0, (c.Size+8)*px, (c.Size+8)*px))
		for y := range img.Rect.Dy() {
			for x := range img.Rect.Dx() {
				v := color.Gray{Y: 255}
				if mx, my := x/px-receipt.Quiet, y/px-receipt.Quiet; mx >= 0 && my >= 0 && mx < c.Size && my < c.Size && c.Black(mx, my) {
					v.Y = 0
				}
				img.SetGray(x, y, v)
			}
		}
		name := filepath.Join(t.TempDir(), "code.png")
		f, err := os.Create(name)
		if err != nil {
			t.Fatal(err)
		}
		if err := png.Encode(f, img); err != nil {
			t.Fatal(err)
		}
		f.Close()
		out, err := exec.Command("zbarimg", "--raw", "-q", name).Output()
		if got := strings.TrimSuffix(string(out), "\n"); err != nil || got != text {
			t.Errorf("wet %t: read %q (%v), want %q", wet, got, err, text)
		}
	}
}

// RFC 8032, section 7.1, tests 1 to 3: secret key, message, signature.
func TestEd25519Vectors(t *testing.T) {
	for i, v := range [][3]string{
		{"9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60", "",
			"e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b"},
		{"4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb", "72",
			"92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00"},
		{"c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7", "af82",
			"6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290ae67f760984dc6594a7c15e9716ed28dc027beceea1ec40a"},
	} {
		raw := func(s string) []byte { b, _ := hex.DecodeString(s); return b }
		if got := ed25519.Sign(ed25519.NewKeyFromSeed(raw(v[0])), raw(v[1])); hex.EncodeToString(got) != v[2] {
			t.Errorf("test %d: %x", i+1, got)
		}
	}
}

func ExampleRing_Read() {
	ring, _ := receipt.NewRing(keys(), nil)
	text, _ := receipt.Issue(facts(), phone)
	fmt.Println(ring.Read(text, receipt.Asked{Now: noon.Add(time.Hour)}).Why)
	// Output: It is as it was issued. Ask whether the craft has been in any water since. Inspect as always unless the protocol says otherwise.
}
