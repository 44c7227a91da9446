package handover_test

import (
	"bytes"
	"compress/flate"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"reflect"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"thwart"
	"thwart/advice"
	"thwart/handover"
	"thwart/internal/casegen"
	"thwart/receipt"
	"thwart/refdata"
)

const encounter = "01980d5e-6a00-7000-8000-00000000beef"

func written(t *testing.T, in thwart.Inspection) []byte {
	t.Helper()
	b, err := handover.Order{Encounter: encounter, Inspection: in}.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// The treatment that the technician's engine works out of an order is the one that the steward's worked out of the inspection, for cases
// from a seed. Cases hold their times to the minute, as an order does.
func TestTreatmentOfAnOrder(t *testing.T) {
	for n := range 600 {
		cs := casegen.Draw(casegen.Rand(n))
		cs.Inspection.Seal, cs.Inspection.CleanedAt, cs.Inspection.DryToTouchAt = nil, nil, nil // no phone notes them
		cs.Seed = 1
		want, err := advice.Assess(cs)
		if err != nil {
			t.Fatal(err)
		}
		var subjects []string
		for _, w := range cs.Waters {
			subjects = append(subjects, w.ID)
		}
		o, err := handover.Read(written(t, cs.Inspection), subjects)
		if err != nil {
			t.Fatalf("case %d: %v", n, err)
		}
		cs.Inspection = o.Inspection
		got, err := advice.Assess(cs)
		if err != nil {
			t.Fatalf("case %d as read: %v", n, err)
		}
		if got.Verdict.Outcome != want.Verdict.Outcome || !reflect.DeepEqual(got.Treatment, want.Treatment) {
			t.Errorf("case %d: %s, want %s", n, got.Verdict.Outcome, want.Verdict.Outcome)
		}
	}
}

// Whatever is not known well never becomes better by travelling.
func TestTimesGiveNoCredit(t *testing.T) {
	start := time.Date(2026, 7, 4, 9, 30, 59, 900e6, time.FixedZone("", 5*3600+1800))
	out := start.Add(-49*time.Hour - 30*time.Second)
	in := thwart.Inspection{
		StartedAt: start, Setup: thwart.Setup{Class: "runabout", Drives: []thwart.Drive{thwart.DriveSterndrive}, Spaces: []thwart.Space{}},
		LastWaters: []thwart.Visit{{Water: encounter, OutAt: &out, Stay: thwart.StayMoored}},
	}
	o, err := handover.Read(written(t, in), nil)
	if err != nil {
		t.Fatal(err)
	}
	got := o.Inspection
	if dry, was := got.StartedAt.Sub(*got.LastWaters[0].OutAt), start.Sub(out); dry > was || dry < was-time.Minute-time.Second {
		t.Errorf("out for %v, was %v", dry, was)
	}
	if _, offset := got.StartedAt.Zone(); offset != 5*3600+1800 {
		t.Errorf("offset %d s", offset)
	}
	if w := got.LastWaters[0].Water; w == encounter || w == "" {
		t.Errorf("a water that the reader does not know became %q", w)
	}
	if len(got.Checks) != 0 || got.Others != nil {
		t.Errorf("places nobody looked at have checks: %+v", got.Checks)
	}
}

// A word that is longer than an order carries is cut between letters: what arrives is text, and the beginning of what was sent.
func TestLongWordsAreCutBetweenLetters(t *testing.T) {
	for _, long := range []string{strings.Repeat("é", 150), "x" + strings.Repeat("é", 150), strings.Repeat("moule ", 50)} {
		in := thwart.Inspection{
			StartedAt: time.Date(2026, 7, 4, 9, 30, 0, 0, time.UTC), Setup: thwart.Setup{Class: "runabout"},
			Findings: []thwart.Finding{{Place: "hull.keel", Matter: thwart.MatterAttached, Organism: long}},
		}
		o, err := handover.Read(written(t, in), nil)
		if err != nil {
			t.Fatal(err)
		}
		got := o.Inspection.Findings[0].Organism
		if !utf8.ValidString(got) || !strings.HasPrefix(long, got) || len(got) < thwart.MaxLine-1 || len(got) > thwart.MaxLine {
			t.Errorf("%q became %q", long, got)
		}
	}
}

// crowded is the largest order a steward is likely to hand over: a craft of its class with all its usual outfit, walked whole, every fourth
// place wet in another way, one in nine out of reach, two waters and three findings.
func crowded(t *testing.T, class string) thwart.Inspection {
	t.Helper()
	setup, err := advice.UsualSetup(class)
	if err != nil {
		t.Fatal(err)
	}
	places, err := advice.Places(setup)
	if err != nil {
		t.Fatal(err)
	}
	day := time.Date(2026, 7, 2, 18, 0, 0, 0, time.UTC)
	in := thwart.Inspection{
		StartedAt: time.Date(2026, 7, 4, 9, 30, 12, 0, time.UTC), Setup: setup, Direction: "launching", Water: encounter,
		PlugsOut: thwart.Yes, DriveLowered: thwart.Yes,
		LastWaters: []thwart.Visit{{Water: encounter, OutAt: &day, Stay: thwart.StayMoored}, {Water: encounter[:35] + "0", OutAt: &day}},
	}
	wet := []thwart.Wetness{thwart.WetDamp, thwart.WetFilm, thwart.WetWater}
	for i, p := range places {
		k := thwart.Check{Place: p.ID, Looked: thwart.Yes, Wet: thwart.WetDry, Seconds: 3.4}
		if p.Asks(thwart.TaskFeel) {
			k.Felt = thwart.Yes
		}
		if i%4 == 0 {
			k.Wet = wet[i/4%3]
		}
		if i%9 == 5 {
			k.Looked, k.Wet, k.Reason = thwart.No, "", "Out of reach"
		}
		in.Checks = append(in.Checks, k)
	}
	for i := range min(3, len(places)) {
		in.Findings = append(in.Findings, thwart.Finding{
			ID: encounter, Place: places[len(places)/2+i].ID, Matter: thwart.MatterPlant, Organism: "eurasian_watermilfoil", Stage: "fragment",
			Confidence: "likely", Amount: "2-10", Vitality: thwart.VitalityAlive, Removed: thwart.RemovedAll,
		})
	}
	return in
}

// A code stays within version 10 (57 modules a side, ISO/IEC 18004): with its margin 65 modules, which a screen of 320 px by 0.1588 mm (160
// to the inch) shows at 0.78 mm each, no less than the 0.75 mm that receipts are shown at.
func TestCodesThatCheapCamerasRead(t *testing.T) {
	const widest = 57
	for _, c := range refdata.CraftClasses() {
		body := written(t, crowded(t, c.ID))
		text := receipt.NotePrefix + strings.Repeat("A", textLen(1+1+4+4+len(body)+64))
		code, err := receipt.ScreenCode(text)
		if err != nil {
			t.Fatal(err)
		}
		t.Logf("%-24s %3d bytes, %d modules; as packed JSON %d characters", c.ID, len(body), code.Size, packed(t, crowded(t, c.ID)))
		if code.Size > widest {
			t.Errorf("%s: %d modules a side, want at most %d", c.ID, code.Size, widest)
		}
	}
}

// textLen is the length of base45 (RFC 9285): three characters for two bytes, two for a last one.
func textLen(bytes int) int { return bytes/2*3 + bytes%2*2 }

// packed is how long the same facts are as JSON, deflated and in base 32.
func packed(t *testing.T, in thwart.Inspection) int {
	raw, err := json.Marshal(in)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	w, _ := flate.NewWriter(&b, flate.BestCompression)
	_, _ = w.Write(raw)
	_ = w.Close()
	return int(math.Ceil(float64(b.Len()) * 8 / 5))
}

// The numbers of words never change: the first of them are held by their sum. A word of the library that has no number travels in letters,
// which only costs room; it is put at the end of the list.
func TestWordsKeepTheirNumbers(t *testing.T) {
	list := handover.Words()
	if len(list) < 127 {
		t.Fatalf("%d words: some were taken away", len(list))
	}
	sum := sha256.Sum256([]byte(strings.Join(list[:127], "\n")))
	if got := hex.EncodeToString(sum[:8]); got != "141c73f8ad326e00" {
		t.Errorf("the first 127 words have the sum %s: a number means something else now", got)
	}
	seen := map[string]bool{}
	for _, w := range list {
		if seen[w] {
			t.Errorf("%s twice", w)
		}
		seen[w] = true
	}
	need := func(w string) {
		if w != "" && !seen[w] {
			t.Errorf("%s has no number: put it at the end of the list", w)
		}
	}
	for _, c := range refdata.CraftClasses() {
		need(c.ID)
	}
	for _, g := range refdata.GearKinds() {
		need(g.ID)
	}
	for _, o := range refdata.Organisms() {
		need(o.ID)
	}
	for _, w := range thwart.Drives {
		need(string(w))
	}
	for _, w := range thwart.SpaceKinds {
		need(string(w))
	}
	for _, w := range thwart.Matters {
		need(string(w))
	}
	for _, w := range thwart.Vitalities {
		need(string(w))
	}
	for _, w := range thwart.Trailers {
		need(string(w))
	}
}

// An order that names a word in letters is read back as it was.
func TestAWordWithoutANumber(t *testing.T) {
	in := crowded(t, "runabout")
	in.Findings[0].Stage = "a stage that nobody has named"
	o, err := handover.Read(written(t, in), nil)
	if err != nil || o.Inspection.Findings[0].Stage != in.Findings[0].Stage {
		t.Errorf("%+v, %v", o.Inspection.Findings, err)
	}
}

// Places are named by their number in the craft's list. A phone whose list is another one refuses, rather than wash the wrong place.
func TestAnotherListOfPlaces(t *testing.T) {
	in := crowded(t, "runabout")
	body := written(t, in)
	places, err := advice.Places(in.Setup)
	if err != nil {
		t.Fatal(err)
	}
	h := sha256.New()
	for _, p := range places {
		fmt.Fprintln(h, p.ID)
	}
	sum := h.Sum(nil)[:3]
	at := bytes.Index(body, sum)
	if at < 0 {
		t.Fatal("the order does not hold the sum of its places")
	}
	body[at] ^= 1
	if _, err := handover.Read(body, nil); !errors.Is(err, handover.ErrOther) {
		t.Errorf("%v", err)
	}
}

func TestOver(t *testing.T) {
	want := handover.Over{Encounter: encounter, Order: "0123456789abcdef", EndedAt: time.Date(2026, 7, 4, 10, 15, 7, 0, time.UTC), Clears: true}
	b, err := want.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	if got, err := handover.ReadOver(b); err != nil || got != want {
		t.Errorf("%+v, %v", got, err)
	}
	for _, bad := range []handover.Over{{Encounter: "x", Order: want.Order, EndedAt: want.EndedAt}, {Encounter: encounter, Order: "x", EndedAt: want.EndedAt}, {Encounter: encounter, Order: want.Order}} {
		if _, err := bad.Bytes(); err == nil {
			t.Errorf("%+v was written", bad)
		}
	}
}

// Whatever bytes are read, nothing panics, and what is read can be written again.
func FuzzRead(f *testing.F) {
	for n := range 20 {
		cs := casegen.Draw(casegen.Rand(n))
		b, err := handover.Order{Encounter: encounter, Inspection: cs.Inspection}.Bytes()
		if err != nil {
			f.Fatal(err)
		}
		f.Add(b)
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		_, _ = handover.ReadOver(b)
		o, err := handover.Read(b, nil)
		if err != nil {
			return
		}
		again, err := o.Bytes()
		if err != nil {
			t.Fatalf("read, and not to be written: %v", err)
		}
		if _, err := handover.Read(again, nil); err != nil {
			t.Fatalf("written, and not to be read: %v", err)
		}
	})
}
