package phone_test

import (
	"crypto/ed25519"
	"encoding/base64"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"thwart"
	"thwart/advice"
	"thwart/names"
	"thwart/phone"
	"thwart/receipt"
)

// ask calls an operation and gives its parts.
func ask(t *testing.T, e *phone.Engine, op string, in any) (out json.RawMessage, errs thwart.FieldErrors, failed string) {
	t.Helper()
	b, err := json.Marshal(map[string]any{"op": op, "in": in})
	if err != nil {
		t.Fatal(err)
	}
	var a struct {
		Out    json.RawMessage    `json:"out"`
		Errors thwart.FieldErrors `json:"errors"`
		Failed string             `json:"failed"`
	}
	reply := e.Call(b)
	if err := json.Unmarshal(reply, &a); err != nil {
		t.Fatalf("%s: the answer is not JSON: %v\n%s", op, err, reply)
	}
	return a.Out, a.Errors, a.Failed
}

func must[O any](t *testing.T, e *phone.Engine, op string, in any) O {
	t.Helper()
	out, errs, failed := ask(t, e, op, in)
	if errs != nil || failed != "" {
		t.Fatalf("%s: %v %s", op, errs, failed)
	}
	var o O
	if err := json.Unmarshal(out, &o); err != nil {
		t.Fatalf("%s: %v", op, err)
	}
	return o
}

func exampleCases(t *testing.T) map[string]json.RawMessage {
	t.Helper()
	files, err := filepath.Glob("../examples/cases/*.json")
	if err != nil || len(files) < 15 {
		t.Fatalf("%d example cases: %v", len(files), err)
	}
	cases := map[string]json.RawMessage{}
	for _, f := range files {
		b, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		cases[f] = b
	}
	return cases
}

// The bridge adds nothing and leaves nothing out: its assessment of every example is that of package advice.
func TestAssessIsAdvice(t *testing.T) {
	e := phone.New()
	for name, raw := range exampleCases(t) {
		cs, err := thwart.ReadCase(strings.NewReader(string(raw)))
		if err != nil {
			t.Fatal(err)
		}
		want, err := advice.Assess(cs)
		if err != nil {
			t.Fatal(err)
		}
		got := must[advice.Assessment](t, e, "assess", raw)
		if got.Verdict.Outcome != want.Verdict.Outcome || len(got.Verdict.Reasons) != len(want.Verdict.Reasons) || got.Risk.Chance != want.Risk.Chance {
			t.Errorf("%s: %s, want %s", name, got.Verdict.Outcome, want.Verdict.Outcome)
		}
	}
}

// Whatever is sent, the answer names what is wrong.
func TestRefusalsNameTheField(t *testing.T) {
	e := phone.New()
	for _, c := range []struct {
		op    string
		in    string
		field string
	}{
		{"nothing", `{}`, "op"},
		{"assess", `{"inspection":{"startedAt":"2026-07-04T09:30:00-05:00","setup":{"class":"canoo","drives":["hand"],"spaces":[]}},"waters":[],"protocolId":"utah"}`, "inspection.setup.class"},
		{"assess", `{"inspektion":{}}`, "inspektion"},
		{"setup", `{"class":"canoo"}`, "class"},
		{"round", `{"setup":{"class":"canoe","lengthM":700}}`, "lengthM"},
		{"proof", `{"protocolId":"utha","claim":{"part":"hull"},"probes":[]}`, "protocolId"},
		{"progress", `{"protocolId":"utah","claim":{"part":"wing"},"probes":[],"atS":0}`, "part"},
		{"readTrace", `{"file":"","unit":"K"}`, "unit"},
		{"cautions", `{"triggers":["dragons"]}`, "triggers[0]"},
		{"check", `{"kind":"tally","body":{"shift":"x"}}`, "shift"},
		{"check", `{"kind":"dragon","body":{}}`, "kind"},
		{"makeId", `{"at":"2026-07-04T09:30:00Z","random":"AAAA"}`, "random"},
		{"sheet", `{"text":"B-0000123-D"}`, "sheet"},
		{"mark", `{"registration":"MN 1","key":"AAAA"}`, "key"},
		{"waters.find", `{"query":"x"}`, "waters"},
		{"waters.find", `{"query":"x","limit":-1}`, "waters"},
	} {
		_, errs, failed := ask(t, e, c.op, json.RawMessage(c.in))
		if len(errs) == 0 || errs[0].Field != c.field || errs[0].Accepted == "" {
			t.Errorf("%s %s: %v %q, want field %s", c.op, c.in, errs, failed, c.field)
		}
	}
}

// A wash counts only where every heated step was shown to be met, was approved as an alternative, or was not needed.
func TestWashThatCounts(t *testing.T) {
	e := phone.New()
	const id = "01980d5e-6a00-7000-8000-00000000beef"
	at := time.Date(2026, 7, 4, 12, 0, 0, 0, time.UTC)
	met, notMet := &thwart.Proof{Protocol: "met"}, &thwart.Proof{Protocol: "not_met"}
	step := func(outcome string, p *thwart.Proof) thwart.WashStepDone {
		s := thwart.WashStepDone{Claim: thwart.WashClaim{Part: thwart.PartHull}, Outcome: outcome, Proof: p, Why: "a reason"}
		if outcome == "alternative" {
			s.Approvals = []string{"Ines", "Tobias"}
		}
		return s
	}
	for _, c := range []struct {
		name  string
		steps []thwart.WashStepDone
		want  bool
	}{
		{"every step met", []thwart.WashStepDone{step("met", met), step("met", met)}, true},
		{"one not needed", []thwart.WashStepDone{step("met", met), step("not_needed", nil)}, true},
		{"an alternative", []thwart.WashStepDone{step("met", met), step("alternative", notMet)}, true},
		{"one short", []thwart.WashStepDone{step("met", met), step("short", notMet)}, false},
		{"one not possible", []thwart.WashStepDone{step("met", met), step("not_possible", nil)}, false},
		{"called met without proof", []thwart.WashStepDone{step("met", nil)}, false},
		{"called met against its proof", []thwart.WashStepDone{step("met", notMet)}, false},
		{"nothing was needed", []thwart.WashStepDone{step("not_needed", nil)}, false},
		{"no step", nil, false},
	} {
		in := thwart.WashDone{Encounter: id, Kit: id, StartedAt: at, EndedAt: at.Add(time.Hour), Steps: c.steps}
		if got := must[phone.ClearsOut](t, e, "washClears", in).Clears; got != c.want {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}

func TestWashSoFar(t *testing.T) {
	e := phone.New()
	in := func(atS float64, probes ...thwart.Probe) map[string]any {
		return map[string]any{
			"protocolId": "regional-minimum", "atS": atS, "probes": [][]thwart.Probe{probes},
			"claim": map[string]any{"part": "hull", "method": "high_spray", "measured": "contact", "plusMinusC": 1},
		}
	}
	row := must[advice.WashProgress](t, e, "progress", map[string]any{
		"protocolId": "regional-minimum", "atS": 0, "probes": [][]thwart.Probe{}, "claim": map[string]any{"part": "hull"},
	})
	if row.State != "no_reading" || row.LeftS != row.NeedS || row.NeedS == 0 {
		t.Fatalf("nothing read: %+v", row)
	}
	hot, cold := row.TargetC+1.5, row.TargetC+0.5 // less ±1 °C: above and below the target
	for _, c := range []struct {
		name   string
		atS    float64
		probes []thwart.Probe
		state  string
		held   float64
	}{
		{"one hot reading", 1, []thwart.Probe{{AtS: 0, TempC: hot}}, "running", 0},
		{"hot for half the time", 5, []thwart.Probe{{AtS: 0, TempC: hot}, {AtS: row.NeedS / 2, TempC: hot}}, "running", row.NeedS / 2},
		{"hot for the time", row.NeedS, []thwart.Probe{{AtS: 0, TempC: hot}, {AtS: row.NeedS, TempC: hot}}, "met", row.NeedS},
		{"hot by the gauge, not less its uncertainty", row.NeedS, []thwart.Probe{{AtS: 0, TempC: cold}, {AtS: row.NeedS, TempC: cold}}, "cold", 0},
		{"a dip starts it again", row.NeedS, []thwart.Probe{{AtS: 0, TempC: hot}, {AtS: row.NeedS / 2, TempC: cold}, {AtS: row.NeedS, TempC: hot}}, "running", 0},
		{"not read for too long", 100, []thwart.Probe{{AtS: 0, TempC: hot}, {AtS: row.NeedS / 2, TempC: hot}}, "stale", 0},
		{"a gap in the readings", 100, []thwart.Probe{{AtS: 0, TempC: hot}, {AtS: 100, TempC: hot}}, "running", 0},
	} {
		got := must[advice.WashProgress](t, e, "progress", in(c.atS, c.probes...))
		if got.State != c.state || got.HeldS != c.held {
			t.Errorf("%s: %s, %g s held; want %s, %g", c.name, got.State, got.HeldS, c.state, c.held)
		}
		if met := got.Proof != nil && got.Proof.Protocol == "met"; met != (got.State == "met") {
			t.Errorf("%s: state %s, but the proof says %s", c.name, got.State, got.Proof.Protocol)
		}
	}
	nozzle := in(row.NeedS, thwart.Probe{AtS: 0, TempC: hot}, thwart.Probe{AtS: row.NeedS, TempC: hot})
	nozzle["claim"].(map[string]any)["measured"] = "nozzle"
	if got := must[advice.WashProgress](t, e, "progress", nozzle); got.State != "not_counting" {
		t.Errorf("read at the nozzle: %s, want not_counting", got.State)
	}
}

func TestReadTrace(t *testing.T) {
	e := phone.New()
	file := base64.StdEncoding.EncodeToString([]byte("time s,probe °C\n0,60.1\n1,\n2,60.4\n"))
	got := must[phone.TraceOut](t, e, "readTrace", map[string]any{"file": file})
	if len(got.Columns) != 1 || len(got.Columns[0].Readings) != 3 || got.Columns[0].Readings[1].TempC != -273.15 || len(got.Notes) == 0 {
		t.Errorf("%+v", got)
	}
	bad := base64.StdEncoding.EncodeToString([]byte("no table here"))
	if _, errs, failed := ask(t, e, "readTrace", map[string]any{"file": bad}); errs == nil && failed == "" {
		t.Error("a text without readings was taken")
	}
}

func TestWaterNames(t *testing.T) {
	e := phone.New()
	must[phone.LoadWatersOut](t, e, "waters.load", map[string]any{"waters": []map[string]any{
		{"id": "1", "name": "Brackenholt Lake", "at": []float64{-93, 45}}, {"id": "2", "name": "Owlmere Reservoir", "also": []string{"Old Mill Pond"}},
	}})
	got := must[phone.FindWatersOut](t, e, "waters.find", map[string]any{"query": "brakenholt", "near": []float64{-93, 45.1}})
	if len(got.Waters) != 1 || got.Waters[0].ID != "1" || got.Waters[0].ApartKM == nil || *got.Waters[0].ApartKM != 11.1 {
		t.Errorf("%+v", got)
	}
	got = must[phone.FindWatersOut](t, e, "waters.find", map[string]any{"query": "old mil"})
	if len(got.Waters) != 1 || got.Waters[0].Matched != "Old Mill Pond" {
		t.Errorf("%+v", got)
	}
	long := make([]map[string]string, names.MaxEntries+1)
	if _, errs, _ := ask(t, e, "waters.load", map[string]any{"waters": long}); len(errs) != 1 {
		t.Error("a list beyond all bounds was taken")
	}
}

// No list of an answer is null.
func TestListsAreLists(t *testing.T) {
	e := phone.New()
	for name, raw := range exampleCases(t) {
		for _, op := range []string{"assess", "verdict", "dry", "risk", "treat"} {
			out, _, _ := ask(t, e, op, raw)
			if strings.Contains(string(out), ":null") {
				t.Errorf("%s of %s holds a null", op, name)
			}
		}
	}
}

// A receipt made as a phone makes it, its key outside the engine, is read by another phone.
func TestReceipt(t *testing.T) {
	programme, device := ed25519.NewKeyFromSeed(make([]byte, 32)), ed25519.NewKeyFromSeed([]byte("a seed of thirty-two bytes, fine"))
	public := func(k ed25519.PrivateKey) []byte { return k.Public().(ed25519.PublicKey) }
	at := time.Date(2026, 7, 4, 12, 0, 30, 0, time.UTC)
	e := phone.New()
	const id = "01980d5e-6a00-7000-8000-00000000beef"
	made := must[phone.ReceiptToSign](t, e, "receipt.toSign", phone.ReceiptIn{
		Receipt: id, What: "washed", Outcome: thwart.Launch, IssuedAt: at, ValidH: 24, Public: public(device), Launch: id, Protocol: "utah@1", Seal: "A-17",
	})
	sealed := must[phone.ReceiptOut](t, e, "receipt.seal", phone.ReceiptSealIn{Facts: made.Facts, Signature: ed25519.Sign(device, made.Bytes), Public: public(device)})
	if !strings.Contains(sealed.Code.SVG, "<path") {
		t.Error("no code")
	}
	in := phone.ReadReceiptIn{Text: sealed.Text, Asked: receipt.Asked{Now: at.Add(time.Hour), Protocol: "utah@1", WaterSince: thwart.No}}
	if got := must[receipt.Reading](t, e, "receipt.read", in); got.State != receipt.Unknown {
		t.Errorf("without keys: %s", got.State)
	}
	loaded := must[phone.LoadKeysOut](t, e, "keys.load", phone.LoadKeysIn{Keys: []thwart.Key{
		{Use: thwart.KeyProgramme, KeyID: receipt.KeyIDOf(public(programme)), Public: public(programme), From: at.Add(-time.Hour)},
		receipt.Vouch(thwart.Key{Use: thwart.KeyDevice, Public: public(device), Device: id, From: at.Add(-time.Hour)}, programme),
	}})
	got := must[receipt.Reading](t, e, "receipt.read", in)
	if loaded.Count != 2 || got.State != receipt.Good || got.Seal == nil || got.SameProtocol != thwart.Yes {
		t.Errorf("%+v after %+v", got, loaded)
	}
}

// Orders and ends of washes go from phone to phone. What is signed by no key of the programme, altered, of another boat or order, or older
// than the verdict counts for nothing.
func TestOrderThereAndBack(t *testing.T) {
	programme := ed25519.NewKeyFromSeed(make([]byte, 32))
	ramp, pad := ed25519.NewKeyFromSeed([]byte("a seed of thirty-two bytes, fine")), ed25519.NewKeyFromSeed([]byte("another seed of thirty-two bytes"))
	public := func(k ed25519.PrivateKey) []byte { return k.Public().(ed25519.PublicKey) }
	at := time.Date(2026, 7, 4, 12, 0, 0, 0, time.UTC)
	const encounter, other = "01980d5e-6a00-7000-8000-00000000beef", "01980d5e-6a00-7000-8000-00000000dead"
	e := phone.New()
	vouched := func(k ed25519.PrivateKey) thwart.Key {
		return receipt.Vouch(thwart.Key{Use: thwart.KeyDevice, Public: public(k), Device: encounter, From: at.Add(-time.Hour)}, programme)
	}
	must[phone.LoadKeysOut](t, e, "keys.load", phone.LoadKeysIn{Keys: []thwart.Key{
		{Use: thwart.KeyProgramme, KeyID: receipt.KeyIDOf(public(programme)), Public: public(programme), From: at.Add(-time.Hour)}, vouched(ramp), vouched(pad),
	}})
	seal := func(k ed25519.PrivateKey, s phone.NoteToSign) string {
		return must[phone.ReceiptOut](t, e, "note.seal", phone.NoteSealIn{Note: s.Note, Signature: ed25519.Sign(k, s.Bytes), Public: public(k)}).Text
	}
	inspection := thwart.Inspection{
		StartedAt: at.Add(-5 * time.Minute), LastWaters: []thwart.Visit{},
		Setup:    thwart.Setup{Class: "runabout", Drives: []thwart.Drive{thwart.DriveSterndrive}, Spaces: []thwart.Space{}, Gear: []string{}},
		Findings: []thwart.Finding{{Place: "transom.face", Matter: thwart.MatterPlant}},
	}
	order := func(k ed25519.PrivateKey) string {
		return seal(k, must[phone.NoteToSign](t, e, "order.toSign", phone.OrderIn{Encounter: encounter, Inspection: inspection, Public: public(k), At: at}))
	}
	good := order(ramp)
	read := func(text string) phone.OrderOut {
		return must[phone.OrderOut](t, e, "order.read", phone.ReadOrderIn{Text: text, Now: at.Add(time.Minute), Waters: []string{}})
	}
	got := read(good)
	if got.State != "good" || got.Encounter != encounter || got.Inspection == nil || len(got.Inspection.Findings) != 1 {
		t.Fatalf("%+v", got)
	}
	stranger := ed25519.NewKeyFromSeed([]byte("a third seed of thirty-two bytes"))
	if got := read(order(stranger)); got.State != "unknown_issuer" || got.Inspection == nil {
		t.Errorf("a stranger's order: %+v", got)
	}
	altered := []byte(good)
	altered[len(altered)/2] = "0A"[boolInt(altered[len(altered)/2] == '0')]
	if got := read(string(altered)); got.State != "altered" || got.Inspection != nil {
		t.Errorf("altered: %+v", got)
	}
	if got := read("TW1:ABC"); got.State != "not_a_receipt" {
		t.Errorf("a receipt: %+v", got)
	}

	over := func(k ed25519.PrivateKey, encounter, sum string, ended time.Time, clears bool) string {
		in := phone.OverIn{Public: public(k), At: at.Add(30 * time.Minute)}
		in.Over.Encounter, in.Over.Order, in.Over.EndedAt, in.Over.Clears = encounter, sum, ended, clears
		return seal(k, must[phone.NoteToSign](t, e, "over.toSign", in))
	}
	ended := at.Add(30 * time.Minute)
	mended := inspection
	mended.Findings = nil
	for _, c := range []struct {
		name       string
		text       string
		inspection thwart.Inspection
		state      string
		clears     bool
	}{
		{"as it was ordered", over(pad, encounter, got.Sum, ended, true), inspection, "good", true},
		{"a step was short", over(pad, encounter, got.Sum, ended, false), inspection, "good", false},
		{"signed by nobody of the programme", over(stranger, encounter, got.Sum, ended, true), inspection, "unknown_issuer", false},
		{"another boat", over(pad, other, got.Sum, ended, true), inspection, phone.OtherBoat, false},
		{"by an order that nobody here gave", over(pad, encounter, "0123456789abcdef", ended, true), inspection, phone.OtherOrder, false},
		{"the boat has changed since", over(pad, encounter, got.Sum, ended, true), mended, phone.OtherOrder, false},
		{"the wash before this verdict", over(pad, encounter, got.Sum, at.Add(-time.Hour), true), inspection, phone.TooEarly, false},
		{"an order in place of its end", good, inspection, "not_a_receipt", false},
	} {
		out := must[phone.OverOut](t, e, "over.read", phone.ReadOverIn{Text: c.text, Now: ended.Add(time.Minute), Encounter: encounter, Inspection: c.inspection, Since: at})
		if out.State != c.state || out.Clears != c.clears || (out.EndedAt != nil) != (c.state == "good") {
			t.Errorf("%s: %+v, want %s, %v", c.name, out, c.state, c.clears)
		}
	}
}

func boolInt(b bool) int {
	if b {
		return 1
	}
	return 0
}

func FuzzCall(f *testing.F) {
	for _, op := range phone.Ops() {
		f.Add([]byte(`{"op":"` + op.Name + `","in":{}}`))
	}
	f.Add([]byte(`{"op":"round","in":{"setup":{"class":"canoe"}}}`))
	f.Fuzz(func(t *testing.T, b []byte) {
		reply := phone.New().Call(b)
		if !json.Valid(reply) || strings.Contains(string(reply), "a defect of its own") {
			t.Fatalf("%q: %s", b, reply)
		}
	})
}
