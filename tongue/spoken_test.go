package tongue_test

import (
	"bytes"
	"crypto/ed25519"
	"encoding/base64"
	"encoding/json"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"thwart"
	"thwart/internal/casegen"
	"thwart/phone"
	"thwart/practice"
	"thwart/receipt"
	"thwart/tongue"
)

// A language in which every piece of every message stands in marks: what the engine then says outside of marks was never a message. Values
// are filled in between the marks, so that a word which is no message shows inside a sentence that is one.
const opened, closed = "⟦", "⟧"

// mark puts the plain pieces of a message into marks, those inside the forms of a plural too.
func mark(s string) string {
	var out strings.Builder
	piece := func(p string) {
		if strings.ContainsFunc(p, letter) {
			p = opened + p + closed
		}
		out.WriteString(p)
	}
	for s != "" {
		i := strings.IndexByte(s, '{')
		if i < 0 {
			piece(s)
			break
		}
		piece(s[:i])
		end := i + closing(s[i:])
		hole := s[i:end]
		s = s[end:]
		if !strings.Contains(hole, ",") {
			out.WriteString(hole)
			continue
		}
		head := strings.Index(hole, "plural,") + len("plural,")
		out.WriteString(hole[:head])
		for forms := hole[head : len(hole)-1]; forms != ""; {
			k := strings.IndexByte(forms, '{')
			if k < 0 {
				break
			}
			till := k + closing(forms[k:])
			out.WriteString(forms[:k] + "{" + mark(forms[k+1:till-1]) + "}")
			forms = forms[till:]
		}
		out.WriteString("}")
	}
	return out.String()
}

// closing gives the place behind the brace that closes the one a text begins with.
func closing(s string) int {
	depth := 0
	for i, c := range s {
		switch c {
		case '{':
			depth++
		case '}':
			if depth--; depth == 0 {
				return i + 1
			}
		}
	}
	return len(s)
}

func letter(r rune) bool { return r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' }

func TestMark(t *testing.T) {
	for in, want := range map[string]string{
		"{a}: wet {b}.": "{a}⟦: wet ⟧{b}.", "{a}, {b}": "{a}, {b}", "": "",
		"{n, plural, one {# day} other {# days}} left": "{n, plural, one {⟦# day⟧} other {⟦# days⟧}}⟦ left⟧",
	} {
		if got := mark(in); got != want {
			t.Errorf("%q: %q, want %q", in, got, want)
		}
	}
}

// marked is the book of that language, made of the translators' list.
func marked(t *testing.T) tongue.Book {
	t.Helper()
	text, err := os.ReadFile("../web/app/src/messages/engine.en.json")
	if err != nil {
		t.Fatal(err)
	}
	var list []struct{ Text string }
	if err := json.Unmarshal(text, &list); err != nil {
		t.Fatal(err)
	}
	b := tongue.Book{Words: map[string]string{}, Decimal: ","}
	for _, m := range list {
		b.Words[m.Text] = mark(m.Text)
	}
	for range 200 {
		b.Whole, b.Broken = append(b.Whole, "other"), append(b.Broken, "other")
	}
	return b
}

// wire are the keys under which an answer has words of the wire and no sentence: ids, states and vocabularies, which screens have words of
// their own for, citations, an authority's own words, and what was put in.
var wire = map[string]bool{}

func init() {
	for _, k := range strings.Fields(`id code class place places organism stage stages state outcome now standard kind part parts zone posture
		holds method measured source sources known engine data protocol version versions field tasks carries drives trailer direction possible
		instead answer met group triggers complexity profile ref rule matter how what yours from fromRecord start skipped form topic shut wet sealed order
		language driveLowered plugsOut rejected keyId launch seal edition scientific unit unitFrom shown usual setup visits waters here acts
		stations localWord person drill quiz verdictRight verdictGiven stops.place path.stops verdict.right verdict.decides columns.name`) {
		wire[k] = true
	}
}

// silent reports whether what stands at a path is of the wire: by its key, or by its key and the one before.
func silent(path string) bool {
	parts := strings.Split(path, ".")
	last := len(parts) - 1
	return wire[parts[last]] || wire[parts[last-1]+"."+parts[last]]
}

// leaks finds letters outside of marks.
func leaks(s string) bool {
	depth := 0
	for _, r := range s {
		switch {
		case string(r) == opened:
			depth++
		case string(r) == closed:
			depth--
		case depth == 0 && letter(r):
			return true
		}
	}
	return false
}

var (
	times = regexp.MustCompile(`^\d{4}-\d\d-\d\d(T[\d:.]+(Z|[+-]\d\d:\d\d))?$`)
	spoke = regexp.MustCompile(`<(?:title|desc|text)[^>]*>([^<]*)`)
	// given are parts of a sentence that repeat what was put in: in quotes, an id of a protocol, or the name of a logger's column.
	given = regexp.MustCompile(`"[^"]*"|own-rules|run-off \(°C\)|time_s|temp_c`)
)

// listener walks answers and notes what leaks, by where it stands.
type listener struct {
	t     *testing.T
	e     *phone.Engine
	said  int // texts heard, so that a test that hears nothing fails
	found map[string]string
}

func (l *listener) walk(at string, v any) {
	switch x := v.(type) {
	case map[string]any:
		for k, in := range x {
			if !silent(at + "." + k) {
				l.walk(at+"."+k, in)
			}
		}
	case []any:
		for _, in := range x {
			l.walk(at, in)
		}
	case string:
		if strings.HasSuffix(at, ".svg") {
			for _, m := range spoke.FindAllStringSubmatch(x, -1) {
				l.hear(at, m[1])
			}
			return
		}
		l.hear(at, x)
	}
}

func (l *listener) hear(at, s string) {
	if s == "" || times.MatchString(s) {
		return
	}
	l.said++
	if leaks(given.ReplaceAllString(s, "")) && l.found[at] == "" {
		l.found[at] = s
	}
}

// ask calls an operation, listens to the answer, and gives it.
func (l *listener) ask(op string, in any) json.RawMessage {
	l.t.Helper()
	b, err := json.Marshal(map[string]any{"op": op, "in": in})
	if err != nil {
		l.t.Fatal(err)
	}
	var a struct {
		Out    json.RawMessage `json:"out"`
		Errors []struct{ Field, Value, Accepted string }
		Failed string
	}
	if err := json.Unmarshal(l.e.Call(b), &a); err != nil {
		l.t.Fatal(err)
	}
	for _, e := range a.Errors {
		if strings.Contains(e.Accepted, " ") {
			l.hear(op+" accepts", e.Accepted)
		}
	}
	l.hear(op+" failed", a.Failed)
	var v any
	if a.Out != nil {
		if err := json.Unmarshal(a.Out, &v); err != nil {
			l.t.Fatal(err)
		}
	}
	l.walk(op, v)
	return a.Out
}

func listen(t *testing.T) *listener {
	l := &listener{t: t, e: phone.New(), found: map[string]string{}}
	book := marked(t)
	l.ask("tongue.load", book)
	t.Cleanup(func() {
		tongue.Use(nil)
		for at, s := range l.found {
			t.Errorf("%s is said in no language but English: %q", at, s)
		}
		t.Logf("%d texts heard", l.said)
	})
	return l
}

// craft asks everything that a phone asks of one craft.
func (l *listener) craft(cs thwart.Case) {
	for i := range cs.Waters { // names of waters are the programme's
		cs.Waters[i].Name = opened + cs.Waters[i].Name + closed
	}
	if cs.Protocol != nil { // and so is the title of its own rules
		cs.Protocol.Title = opened + cs.Protocol.Title + closed
	}
	for _, op := range []string{"verdict", "treat", "dry", "assess"} {
		l.ask(op, cs)
	}
	l.ask("shortOfTime", map[string]any{"case": cs, "budgetS": 90})
	setup := map[string]any{"setup": cs.Inspection.Setup}
	var walk struct{ Round any }
	if out := l.ask("round", setup); out != nil {
		if err := json.Unmarshal(out, &walk); err != nil {
			l.t.Fatal(err)
		}
		for _, view := range []string{"plan", "side", "under"} {
			l.ask("draw.craft", map[string]any{"setup": cs.Inspection.Setup, "options": map[string]any{"view": view, "round": walk.Round}})
		}
	}
}

func TestEveryExampleIsSaidInAnotherLanguage(t *testing.T) {
	l := listen(t)
	files, err := filepath.Glob("../examples/cases/*.json")
	if err != nil || len(files) < 15 {
		t.Fatalf("%d example cases: %v", len(files), err)
	}
	for _, f := range files {
		text, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		cs, err := thwart.ReadCase(bytes.NewReader(text))
		if err != nil {
			t.Fatal(err)
		}
		l.craft(cs)
	}
	l.ask("library", nil)
	l.ask("protocols", nil)
	l.ask("cautions", map[string]any{"triggers": []string{"burner", "remove", "drain", "alone"}, "hottestC": 60})
	if l.said < 5000 {
		t.Errorf("only %d texts were heard", l.said)
	}
}

func TestThousandsOfCraftAreSaidInAnotherLanguage(t *testing.T) {
	l := listen(t)
	n := 3000
	if testing.Short() {
		n = 200
	}
	for i := range n {
		cs := casegen.Draw(casegen.Rand(i))
		for k := range cs.Waters {
			cs.Waters[k].Name = opened + cs.Waters[k].Name + closed
		}
		l.ask("verdict", cs)
		l.ask("treat", cs)
		if i%20 == 0 {
			l.craft(cs)
		}
	}
}

// Every answer that the reading of a receipt may give.
func TestReceiptsAreSaidInAnotherLanguage(t *testing.T) {
	l := listen(t)
	noon := time.Date(2026, 7, 4, 12, 0, 0, 0, time.UTC)
	key := func(n byte) ed25519.PrivateKey { return ed25519.NewKeyFromSeed(bytes.Repeat([]byte{n}, 32)) }
	public := func(k ed25519.PrivateKey) []byte { return k.Public().(ed25519.PublicKey) }
	subject := "01980d5e-6a00-7000-8000-00000000beef"
	issue := func(k ed25519.PrivateKey) string {
		text, err := receipt.Issue(receipt.Facts{
			ID: receipt.IDOf(subject), What: receipt.Washed, Outcome: thwart.Launch, IssuedAt: noon, ValidH: 24,
			Launch: receipt.Short(subject), Protocol: receipt.Edition("utah@1"),
		}, k)
		if err != nil {
			t.Fatal(err)
		}
		return text
	}
	good, hour := issue(key(2)), noon.Add(time.Hour)
	early, start := noon.Add(-time.Hour), noon.AddDate(0, -2, 0)
	keys := func(change func(k *thwart.Key)) []thwart.Key {
		device := receipt.Vouch(thwart.Key{Use: thwart.KeyDevice, Public: public(key(2)), Device: "01980d5e-6a00-7000-8000-0000000000aa", From: start}, key(1))
		change(&device)
		return []thwart.Key{{Use: thwart.KeyProgramme, KeyID: receipt.KeyIDOf(public(key(1))), Public: public(key(1)), From: start}, device}
	}
	whole := keys(func(*thwart.Key) {})
	states := map[string]bool{}
	for _, c := range []struct {
		keys  []thwart.Key
		text  string
		asked receipt.Asked
	}{
		{whole, good, receipt.Asked{Now: hour}}, {whole, good, receipt.Asked{Now: hour, WaterSince: thwart.No}},
		{whole, good, receipt.Asked{Now: hour, WaterSince: thwart.Yes}}, {whole, good, receipt.Asked{Now: noon.AddDate(0, 0, 3)}},
		{whole, good, receipt.Asked{Now: early}}, {nil, good, receipt.Asked{Now: hour}}, {whole, issue(key(9)), receipt.Asked{Now: hour}},
		{keys(func(k *thwart.Key) { k.RevokedAt = &hour }), good, receipt.Asked{Now: hour}},
		{keys(func(k *thwart.Key) { k.Until = &early }), good, receipt.Asked{Now: hour}},
		{append(whole[:2:2], thwart.Key{Use: thwart.KeyRevokedReceipt, Receipt: subject, From: hour, RevokedAt: &hour}), good, receipt.Asked{Now: hour}},
		{whole, "", receipt.Asked{Now: hour}}, {whole, good[:40], receipt.Asked{Now: hour}},
	} {
		l.ask("keys.load", map[string]any{"keys": c.keys})
		var r receipt.Reading
		if err := json.Unmarshal(l.ask("receipt.read", map[string]any{"text": c.text, "asked": c.asked}), &r); err != nil {
			t.Fatal(err)
		}
		states[string(r.State)] = true
	}
	if len(states) != 8 {
		t.Errorf("only the states %v were read", states)
	}
	l.ask("qr", map[string]any{"text": "B-0001"})
	l.ask("qr", map[string]any{"text": "small letters"})
}

// Practice craft of every class, looked at and scored well and badly, and questions on every protocol.
func TestPracticeIsSaidInAnotherLanguage(t *testing.T) {
	l := listen(t)
	at, seeds := "2026-07-04T09:00:00-03:00", 5
	if testing.Short() {
		seeds = 2
	}
	for i, class := range []string{"runabout", "wake_boat", "canoe_kayak", "open_aluminium_fishing"} {
		for seed := range seeds {
			out := l.ask("drill", map[string]any{"seed": 10*i + seed, "difficulty": 1 + seed%5, "protocolId": "own-rules", "at": at, "setup": map[string]any{"class": class}})
			var d practice.DrillCraft
			if err := json.Unmarshal(out, &d); err != nil {
				t.Fatalf("%s: %v", class, err)
			}
			turn := practice.Turn{Outcome: thwart.Outcomes[seed%len(thwart.Outcomes)], Findings: []thwart.Finding{}}
			for k, p := range d.Places {
				var s practice.Sight
				if err := json.Unmarshal(l.ask("drill.look", map[string]any{"drill": d, "place": p.ID, "acts": p.Tasks}), &s); err != nil {
					t.Fatal(err)
				}
				l.ask("drill.look", map[string]any{"drill": d, "place": p.ID, "acts": p.Tasks[:1]})
				if (k+seed)%3 == 0 {
					continue
				}
				turn.Walk = append(turn.Walk, practice.Stop{Place: p.ID, Acts: p.Tasks[:1+k%len(p.Tasks)], Wet: s.Wet, Seconds: 2})
				if len(s.Signs) > 0 && seed%2 == 0 || k == 4 {
					turn.Findings = append(turn.Findings, thwart.Finding{Place: p.ID, Matter: thwart.MatterUnknown, Removed: thwart.RemovedNone})
				}
			}
			if seed%2 == 0 {
				turn.Steps = []practice.StepChosen{{Kind: thwart.StepDry}, {Kind: thwart.StepWash, Part: thwart.PartHull}, {Kind: thwart.StepDrain}}
			}
			l.ask("drill.score", map[string]any{"drill": d, "turn": turn, "person": "01980d5e-6a00-7000-8000-000000000002", "startedAt": at, "endedAt": "2026-07-04T09:04:00-03:00"})
		}
	}
	var list phone.ProtocolsOut
	if err := json.Unmarshal(l.ask("protocols", nil), &list); err != nil {
		t.Fatal(err)
	}
	for _, p := range list.Protocols {
		for seed := range 3 {
			var q practice.Quiz
			out := l.ask("questions", map[string]any{"seed": seed, "count": 16, "protocolId": p.ID, "at": at, "us": seed == 1})
			if err := json.Unmarshal(out, &q); err != nil {
				t.Fatal(err)
			}
			l.ask("questions.mark", map[string]any{"quiz": q, "chosen": slices.Repeat([]int{0}, len(q.Questions))})
		}
	}
	l.ask("drill", map[string]any{"difficulty": 9})
}

// Files of loggers, good and broken, and what a wash step's log proves.
func TestLogsAreSaidInAnotherLanguage(t *testing.T) {
	l := listen(t)
	files, err := filepath.Glob("../examples/traces/*")
	if err != nil || len(files) == 0 {
		t.Fatalf("no logs: %v", err)
	}
	read := func(text string) json.RawMessage {
		return l.ask("readTrace", map[string]any{"file": base64.StdEncoding.EncodeToString([]byte(text))})
	}
	for _, f := range files {
		text, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		var out phone.TraceOut
		if json.Unmarshal(read(string(text)), &out) != nil || len(out.Columns) == 0 {
			continue
		}
		for _, measured := range []thwart.MeasuredAt{thwart.AtContact, thwart.AtNozzle, thwart.AtUnknown} {
			for _, part := range thwart.Parts {
				l.ask("proof", map[string]any{
					"protocolId": "own-rules", "claim": map[string]any{"part": part, "measured": measured, "inletMaxC": 70, "pressureBar": 300}, "probes": [][]thwart.Probe{out.Columns[0].Readings},
				})
			}
		}
	}
	for _, text := range []string{
		"", "nothing here", "time_s,temp_c\n0,60\n5,x\n", "time_s,temp_c\n0,60\n1,\n40,61\n39,61\n39,60\n50,400\n", "time_s,t\n0,30\n1,40\n", "t,temp\n0,150\n1,151\n",
		"a,b,c\n1,2,3\n", "time_s,temp_c\n0,\n1,\n", "date,temp_c\n1/2/2026 10:00,60\n2/2/2026 10:00,60\n", "time,temp_c\n00:30,60\n00:31,61 F\n",
	} {
		read(text)
	}
	l.ask("proof", map[string]any{"protocolId": "own-rules", "claim": map[string]any{"part": "hull"}, "probes": [][]thwart.Probe{}})
}
