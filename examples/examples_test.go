// Package examples_test runs every example of this folder: what the program answers is compared with golden files, and
// apart from that with what a person of the trade expects.
//
//	go test ./examples/...            compare
//	go test ./examples/... -update    rewrite the golden files; read the difference before keeping it
package examples_test

import (
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"thwart"
	"thwart/advice"
	"thwart/engine/drying"
	"thwart/intake"
	"thwart/internal/cli"
	"thwart/refdata"
)

var update = flag.Bool("update", false, "rewrite the golden files")

// Each example is assessed, its answer kept, and its outcome held against what a person expects of it.
func TestCases(t *testing.T) {
	for i := range expectations {
		e := &expectations[i]
		t.Run(e.file, func(t *testing.T) {
			if e.source == "" || e.because == "" {
				t.Fatal("an expectation needs its reason and its source")
			}
			cs := readCase(t, e.file)
			a, err := advice.Assess(cs)
			if err != nil {
				t.Fatal(err)
			}
			checkExpected(t, e, &a)
			golden(t, e.file+".json", stable(t, struct {
				Verdict   thwart.Verdict    `json:"verdict"`
				Risk      thwart.Risk       `json:"risk"`
				Treatment *thwart.Treatment `json:"treatment,omitempty"`
			}{a.Verdict, a.Risk, a.Treatment}))
			golden(t, e.file+".txt", command(t, cli.ExitAnswered, "assess", casePath(e.file)))
		})
	}
}

func checkExpected(t *testing.T, e *expectation, a *advice.Assessment) {
	t.Helper()
	v := &a.Verdict
	if v.Outcome != e.outcome || v.Now != e.now {
		t.Errorf("now %s, then %s; expected now %s, then %s: %s (%s)", v.Now, v.Outcome, e.now, e.outcome, e.because, e.source)
	}
	for _, want := range e.named {
		code, place, _ := strings.Cut(want, "@")
		if !slices.ContainsFunc(v.Reasons, func(r thwart.Reason) bool {
			return r.Code == thwart.ReasonCode(code) && (place == "" || r.Place == place)
		}) {
			t.Errorf("%s is not among the reasons", want)
		}
	}
	if a.Treatment == nil {
		if e.earliest != "" || e.line != "" || e.instead != "" {
			t.Error("nothing is owed, where a treatment is expected")
		}
		return
	}
	if a.Treatment.Instead != e.instead {
		t.Errorf("instead %q, expected %q", a.Treatment.Instead, e.instead)
	}
	d := a.Treatment.Dry
	switch {
	case e.never && d != nil && d.Earliest != nil:
		t.Errorf("%s; expected no date at all", end(d))
	case e.earliest != "" && (d == nil || d.Earliest == nil || !d.Earliest.Equal(instant(t, e.earliest))):
		t.Errorf("%s; expected %s: %s (%s)", end(d), e.earliest, e.because, e.source)
	}
	if rule, last, ok := strings.Cut(e.line, " "); ok && !slices.ContainsFunc(linesOf(d), func(l thwart.DryLine) bool {
		return l.Rule == rule && l.Earliest != nil && l.Earliest.Equal(instant(t, last))
	}) {
		t.Errorf("no line %s that ends at %s (%s)", rule, last, e.source)
	}
}

// end says when a drying hold ends.
func end(d *thwart.DryHold) string {
	if d == nil || d.Earliest == nil {
		return "no date is given"
	}
	return "it may launch from " + d.Earliest.Format(time.RFC3339) + " (" + d.Decides + ")"
}

func linesOf(d *thwart.DryHold) []thwart.DryLine {
	if d == nil {
		return nil
	}
	return d.Lines
}

// The examples between them cover the trade: every outcome, most kinds of craft, many protocols, and nobody's name.
func TestCasesCoverTheTrade(t *testing.T) {
	files, err := filepath.Glob(casePath("*"))
	if err != nil || len(files) != len(expectations) {
		t.Fatalf("%d case files and %d expectations (%v)", len(files), len(expectations), err)
	}
	classes, outcomes, protocols := map[string]bool{}, map[thwart.Outcome]bool{}, map[string]bool{}
	steward := regexp.MustCompile(`^s-\d\d$`)
	for i := range expectations {
		e := &expectations[i]
		cs := readCase(t, e.file)
		in := &cs.Inspection
		classes[in.Setup.Class], outcomes[e.outcome] = true, true
		protocols[cs.ProtocolID] = true
		if !steward.MatchString(in.Steward) {
			t.Errorf("%s: steward %q, want an opaque id such as s-07", e.file, in.Steward)
		}
		if in.StartedAt.Year() != 2026 {
			t.Errorf("%s: %s", e.file, in.StartedAt)
		}
		if in.Note == "" {
			t.Errorf("%s: no note tells what it shows", e.file)
		}
		for _, w := range cs.Waters {
			if !slices.Contains([]string{"Brackenholt Lake", "Owlmere Reservoir", "Pikehollow Lake", "Fenwillow Lake", "Grindle Pond"}, w.Name) {
				t.Errorf("%s: %s is no water of the invented region", e.file, w.Name)
			}
		}
	}
	if len(classes) < 17 || len(protocols) < 15 || len(outcomes) != len(thwart.Outcomes) {
		t.Errorf("%d classes, %d protocols, %d outcomes", len(classes), len(protocols), len(outcomes))
	}
}

// workOrder ranks the kinds of step. Hot work is one rank: its own order is the protocol's.
var workOrder = map[thwart.StepKind]int{
	thwart.StepPrepare: 0, thwart.StepCall: 1, thwart.StepRemove: 2, thwart.StepDrain: 3, thwart.StepLook: 4,
	thwart.StepWipe: 5, thwart.StepWash: 5, thwart.StepFlush: 5, thwart.StepFillFlush: 5, thwart.StepEngine: 5, thwart.StepSoak: 5,
	thwart.StepChemical: 6, thwart.StepDry: 7, thwart.StepRelook: 8,
}

// Treatments read as a technician would write them: hands first, then water, then heat, and a second look at the end; no
// step without a source, no hot step without its warning, no amount out of all proportion.
func TestTreatmentsReadLikeWorkOrders(t *testing.T) {
	for i := range expectations {
		e := &expectations[i]
		t.Run(e.file, func(t *testing.T) {
			cs := readCase(t, e.file)
			a, err := advice.Assess(cs)
			if err != nil {
				t.Fatal(err)
			}
			if a.Treatment == nil {
				return
			}
			var minutes, litres float64
			last := 0
			outside := false
			for _, st := range a.Treatment.Steps {
				rank, known := workOrder[st.Kind]
				if !known || rank < last {
					t.Errorf("step %d, %s, comes too late", st.N, st.Kind)
				}
				last = rank
				minutes, litres = minutes+st.Minutes, litres+st.WaterL
				if st.Do == "" || st.Source == "" {
					t.Errorf("step %d, %s: %q, source %q", st.N, st.Kind, st.Do, st.Source)
				}
				if st.TargetC == 0 {
					continue
				}
				// Every published line asks for 120 or 140 °F; only the Swiss hull line asks for more.
				if f := st.TargetC.Fahrenheit(); math.Abs(f-120) > 1e-9 && math.Abs(f-140) > 1e-9 {
					t.Errorf("step %d asks for %.1f °F", st.N, f)
				}
				if !slices.ContainsFunc(st.Cautions, func(c string) bool { return strings.Contains(c, "burns skin") }) {
					t.Errorf("step %d, hot, does not warn of burns", st.N)
				}
				if st.Minutes <= 0 || st.WaterL <= 0 || st.Minutes > 240 || st.WaterL > 3000 {
					t.Errorf("step %d takes %.1f min and %.0f L", st.N, st.Minutes, st.WaterL)
				}
				isOutside := st.Part == thwart.PartHull || st.Part == thwart.PartTrailer
				if outside && !isOutside {
					t.Errorf("step %d, %s, comes after the hull; this protocol works from inside out", st.N, st.Part)
				}
				outside = outside || isOutside
			}
			if math.Abs(minutes-a.Treatment.Minutes) > 1e-6 || math.Abs(litres-a.Treatment.WaterL) > 1e-6 {
				t.Errorf("steps add up to %g min and %g L, the treatment says %g and %g", minutes, litres, a.Treatment.Minutes, a.Treatment.WaterL)
			}
		})
	}
}

// A craft that is held waits for the agency: what was found stays where it is, and no date is promised.
func TestHoldTouchesNothing(t *testing.T) {
	for i := range expectations {
		e := &expectations[i]
		if e.outcome != thwart.Hold {
			continue
		}
		t.Run(e.file, func(t *testing.T) {
			cs := readCase(t, e.file)
			a, err := advice.Assess(cs)
			if err != nil {
				t.Fatal(err)
			}
			if a.Treatment == nil {
				t.Fatal("nobody is called")
			}
			for _, st := range a.Treatment.Steps {
				for _, f := range cs.Inspection.Findings {
					if (st.Kind == thwart.StepRemove || st.Kind == thwart.StepWipe || st.Kind == thwart.StepDrain) && slices.Contains(st.Places, f.Place) {
						t.Errorf("step %d, %s, touches the finding at %s", st.N, st.Kind, f.Place)
					}
				}
			}
			if d := a.Treatment.Dry; d != nil && d.Earliest != nil {
				t.Errorf("held, and %s", end(d))
			}
			if cs.Inspection.Refused && slices.ContainsFunc(a.Treatment.Steps, func(st thwart.Step) bool { return st.Kind == thwart.StepLook || st.Kind == thwart.StepDrain }) {
				t.Error("the boater declined, and the steward is sent to open and drain the craft")
			}
		})
	}
}

// A date is a promise: a craft that is clean, drained and dry today and is told that it may launch from a day on may
// launch on that day if it has stayed dry in the air that was assumed.
func TestPromisedDatesHold(t *testing.T) {
	promised := 0
	for i := range expectations {
		e := &expectations[i]
		cs := readCase(t, e.file)
		a, err := advice.Assess(cs)
		if err != nil {
			t.Fatal(err)
		}
		met := !slices.ContainsFunc(a.Verdict.Standards, func(j thwart.Judged) bool { return j.Required && j.Met != thwart.Yes })
		if !met || a.Verdict.Outcome == thwart.Hold || a.Treatment == nil || a.Treatment.Dry == nil || a.Treatment.Dry.Earliest == nil {
			continue
		}
		promised++
		t.Run(e.file, func(t *testing.T) {
			at := a.Treatment.Dry.Earliest.Add(time.Minute)
			if at.Before(cs.Inspection.StartedAt) {
				at = cs.Inspection.StartedAt
			}
			b, err := advice.Assess(waitedUntil(cs, at))
			if err != nil {
				t.Fatal(err)
			}
			if b.Verdict.Outcome != thwart.Launch {
				t.Errorf("%s, and then: %s, %s", end(a.Treatment.Dry), b.Verdict.Outcome, b.Verdict.Reasons[0].Text)
			}
		})
	}
	if promised < 5 {
		t.Errorf("only %d dates were promised", promised)
	}
}

// waitedUntil is the same craft looked over again, just as clean, drained and dry.
func waitedUntil(cs thwart.Case, at time.Time) thwart.Case {
	was := cs.Inspection.StartedAt
	if cs.Inspection.CleanedAt == nil {
		cs.Inspection.CleanedAt = &was
	}
	if cs.Inspection.DryToTouchAt == nil {
		cs.Inspection.DryToTouchAt = &was
	}
	cs.Inspection.StartedAt = at
	left := at.Sub(was).Hours()
	weather := slices.Clone(cs.Weather)
	// Beyond the forecast the program takes cool damp air, and says so.
	for _, air := range append(slices.Clone(cs.Ahead), thwart.Air{Hours: left, TempC: 10, RHPct: 95}) {
		air.Hours = min(air.Hours, left)
		if air.Hours <= 0 {
			break
		}
		weather = append(weather, air)
		left -= air.Hours
	}
	cs.Weather, cs.Ahead = weather, nil
	return cs
}

// Each wash log is judged, its answer kept, and held against what a person reads off the log and the table.
func TestTraces(t *testing.T) {
	for i := range washExpectations {
		e := &washExpectations[i]
		t.Run(e.name, func(t *testing.T) {
			if e.source == "" || e.because == "" {
				t.Fatal("an expectation needs its reason and its source")
			}
			wanted := cli.ExitAnswered
			if e.want == "refused" {
				wanted = cli.ExitRefused
			}
			text := command(t, wanted, e.args()...)
			golden(t, e.name+".txt", text)
			proof, err := prove(e)
			if e.want == "refused" {
				if err == nil || !strings.Contains(err.Error(), e.says) {
					t.Errorf("%v; expected a refusal that says %q: %s", err, e.says, e.because)
				}
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			checkProof(t, e, &proof)
			golden(t, e.name+".json", stable(t, proof))
		})
	}
	files, _ := filepath.Glob(filepath.Join("traces", "*.csv"))
	for _, f := range files {
		if !slices.ContainsFunc(washExpectations, func(e washExpectation) bool { return e.file == filepath.Base(f) }) {
			t.Errorf("%s is judged by no example", f)
		}
	}
}

func checkProof(t *testing.T, e *washExpectation, p *thwart.Proof) {
	t.Helper()
	if p.Protocol != e.want {
		t.Errorf("%s %v; expected %s: %s (%s)", p.Protocol, p.Why, e.want, e.because, e.source)
	}
	if e.says != "" && !strings.Contains(strings.Join(p.Why, " "), e.says) {
		t.Errorf("%q does not say %q", p.Why, e.says)
	}
	if p.HeldS < e.heldLeastS || e.heldBelowS > 0 && p.HeldS >= e.heldBelowS {
		t.Errorf("held %g s; expected from %g to below %g: %s", p.HeldS, e.heldLeastS, e.heldBelowS, e.because)
	}
	if (len(p.Breaches) > 0) != e.breach {
		t.Errorf("limits passed: %q", p.Breaches)
	}
	for what, want := range e.lethal {
		organism, stage, _ := strings.Cut(what, " ")
		if !slices.ContainsFunc(p.Lethal, func(l thwart.Lethality) bool {
			return l.Organism == organism && l.Stage == stage && l.Answer == want
		}) {
			t.Errorf("%s: not %s in %+v", what, want, p.Lethal)
		}
	}
}

// prove takes a log the whole way: the file is read, turned into probes, and judged.
func prove(e *washExpectation) (thwart.Proof, error) {
	f, err := os.Open(filepath.Join("traces", e.file))
	if err != nil {
		return thwart.Proof{}, err
	}
	defer f.Close()
	file, err := intake.ParseTrace(f, intake.TraceOptions{})
	if err != nil {
		return thwart.Proof{}, err
	}
	protocol, err := advice.ProtocolByID(e.protocol)
	if err != nil {
		return thwart.Proof{}, err
	}
	claim := thwart.WashClaim{Part: e.part, Method: e.method, Measured: e.measured, Organisms: e.organisms}
	if e.plusMinus != "" {
		step, err := strconv.ParseFloat(strings.TrimSuffix(e.plusMinus, "C"), 64)
		if err != nil {
			return thwart.Proof{}, err
		}
		claim.PlusMinusC = &step
	}
	if e.inletMax != "" {
		c, err := intake.ParseTemp(e.inletMax)
		if err != nil {
			return thwart.Proof{}, err
		}
		claim.InletMaxC = &c
	}
	probes := make([][]thwart.Probe, len(file.Probes))
	for i, pr := range file.Probes {
		for _, r := range pr.Readings {
			probes[i] = append(probes[i], thwart.Probe{AtS: r.AtS, TempC: r.TempC})
		}
	}
	return advice.Prove(protocol, claim, probes...)
}

// args is the same claim on the command line.
func (e *washExpectation) args() []string {
	args := []string{
		"wash", "traces/" + e.file, "--protocol", e.protocol, "--part", string(e.part), "--method", string(e.method),
		"--measured", string(e.measured),
	}
	if e.plusMinus != "" {
		args = append(args, "--plus-minus", e.plusMinus)
	}
	if e.inletMax != "" {
		args = append(args, "--inlet-max", e.inletMax)
	}
	for _, o := range e.organisms {
		args = append(args, "--organism", o)
	}
	return args
}

// Some commands beside: all cases in one table, rounds, US units, another protocol, weather from files.
func TestCommands(t *testing.T) {
	all := []string{"assess", "--width", "160"}
	for i := range expectations {
		all = append(all, casePath(expectations[i].file))
	}
	for name, args := range map[string][]string{
		"all-cases.txt":               all,
		"round-canoe.txt":             {"round", casePath("01-clean-canoe-from-a-clean-lake")},
		"round-bass-boat.txt":         {"round", casePath("06-bass-boat-live-well-and-outboard-up")},
		"us-units.txt":                {"treat", casePath("02-wake-boat-from-mussel-water"), "--units", "us"},
		"another-protocol.txt":        {"verdict", casePath("23-runabout-washed-and-looked-at-again"), "--protocol", "idaho"},
		"dry-with-weather-files.txt":  {"dry", casePath("14-aluminium-boat-september-drying"), "--weather", "weather/september-past.csv", "--ahead", "weather/september-forecast.csv"},
		"dry-with-steady-weather.txt": {"dry", casePath("14-aluminium-boat-september-drying"), "--weather", "weather/september-past.csv", "--ahead", "18C/55%"},
		"risk-dinghy.txt":             {"risk", casePath("10-sailing-dinghy-places-out-of-reach")},
	} {
		t.Run(name, func(t *testing.T) { golden(t, name, command(t, cli.ExitAnswered, args...)) })
	}
}

// Weather moves a drying time the way it should: a shower starts the clock of the data again, a usual year stands in where
// there is no forecast, and none of it shortens the days of a rule.
func TestWeatherMovesDryingTimes(t *testing.T) {
	cs := readCase(t, "14-aluminium-boat-september-drying")
	at := cs.Inspection.StartedAt
	rule := instant(t, "2026-09-25T14:00:00-05:00") // Utah Admin. Code R657-60-2: 18 days from 7 September
	cs.Weather = fileWeather(t, "september-past.csv", at).before(at)

	ends := func(ahead []thwart.Air) time.Time {
		c := cs
		c.Ahead = ahead
		h, err := advice.DryClock(c)
		if err != nil {
			t.Fatal(err)
		}
		if h.Earliest == nil || !h.Earliest.Equal(rule) {
			t.Fatalf("%+v; the rule ends on %s whatever the weather", h, rule)
		}
		// Where no table has a line for the craft, the data decide, and the weather with them.
		own, err := advice.ProtocolByID("own-rules")
		if err != nil {
			t.Fatal(err)
		}
		c.ProtocolID, c.Protocol = "", &own
		if h, err = advice.DryClock(c); err != nil || h.Earliest == nil {
			t.Fatalf("%+v, %v", h, err)
		}
		return *h.Earliest
	}
	forecast := fileWeather(t, "september-forecast.csv", at).after(at)
	dry := slices.Clone(forecast)
	showers := 0
	for i := range dry {
		if dry[i].Wet {
			showers++
		}
		dry[i].Wet = false
	}
	if showers == 0 {
		t.Fatal("the forecast has no shower")
	}
	if wet, fair := ends(forecast), ends(dry); !wet.After(fair) {
		t.Errorf("with showers %s, without %s", wet, fair)
	}

	f, err := os.Open(filepath.Join("weather", "usual-year.csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	normals, notes, err := intake.ParseDailyNormals(f, intake.WeatherOptions{})
	if err != nil {
		t.Fatal(err, notes)
	}
	w := normals.Weather(at, at.AddDate(0, 0, 200), drying.Spell{})
	usual, unknown := ends(airOf(w.Between(at, at.AddDate(0, 0, 200)))), ends(nil)
	if usual.After(unknown) {
		t.Errorf("in a usual year %s, in unknown weather %s: the unknown is the slower", usual, unknown)
	}
	c := cs
	c.Ahead = airOf(w.Between(at, at.AddDate(0, 0, 200)))
	h, err := advice.DryClock(c)
	if err != nil {
		t.Fatal(err)
	}
	golden(t, "dry-in-a-usual-year.json", stable(t, h))
}

type weatherFile struct{ drying.Weather }

func fileWeather(t *testing.T, name string, at time.Time) weatherFile {
	t.Helper()
	f, err := os.Open(filepath.Join("weather", name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	w, notes, err := intake.ParseWeather(f, intake.WeatherOptions{Location: at.Location()})
	if err != nil {
		t.Fatal(err)
	}
	if len(notes) > 0 {
		t.Errorf("%s: %v", name, notes)
	}
	return weatherFile{w}
}

func (w weatherFile) before(at time.Time) []thwart.Air { return airOf(w.Between(w.Start, at)) }
func (w weatherFile) after(at time.Time) []thwart.Air  { return airOf(w.Between(at, w.End())) }

func airOf(list []drying.Spell) []thwart.Air {
	out := make([]thwart.Air, len(list))
	for i, s := range list {
		out[i] = thwart.Air{Hours: s.Hours, TempC: s.TempC, RHPct: s.RHPct, Wet: s.Wet}
	}
	return out
}

// The page for readers names every file there is.
func TestReadmeNamesEveryExample(t *testing.T) {
	page, err := os.ReadFile("README.md")
	if err != nil {
		t.Fatal(err)
	}
	for _, pattern := range []string{"cases/*.json", "traces/*.csv", "weather/*.csv"} {
		files, err := filepath.Glob(filepath.FromSlash(pattern))
		if err != nil || len(files) == 0 {
			t.Fatal(pattern, err)
		}
		for _, f := range files {
			if !bytes.Contains(page, []byte(filepath.ToSlash(f))) {
				t.Errorf("%s is not on the page", f)
			}
		}
	}
}

func casePath(name string) string { return "cases/" + name + ".json" }

func readCase(t *testing.T, name string) thwart.Case {
	t.Helper()
	f, err := os.Open(casePath(name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	cs, err := thwart.ReadCase(f)
	if err != nil {
		t.Fatal(err)
	}
	return cs
}

func instant(t *testing.T, s string) time.Time {
	t.Helper()
	at, err := time.Parse(time.RFC3339, s)
	if err != nil {
		t.Fatal(err)
	}
	return at
}

// command runs one command line and gives what it wrote. A refusal gives its message and exit code.
func command(t *testing.T, wanted int, args ...string) []byte {
	t.Helper()
	var out, errs bytes.Buffer
	code := cli.Main(t.Context(), append([]string{"--width", "96"}, args...), cli.Streams{In: strings.NewReader(""), Out: &out, Err: &errs}, "test")
	if code != wanted {
		t.Errorf("%s: exit code %d, want %d\n%s", strings.Join(args, " "), code, wanted, errs.String())
	}
	if code != cli.ExitAnswered {
		fmt.Fprintf(&errs, "exit code %d\n", code)
		return errs.Bytes()
	}
	if errs.Len() > 0 {
		t.Errorf("%s says beside its answer: %s", strings.Join(args, " "), errs.String())
	}
	text := strings.ReplaceAll(out.String(), refdata.Version(), sameLength(refdata.Version()))
	return []byte(strings.ReplaceAll(text, "engine "+advice.EngineVersion+",", "engine "+sameLength(advice.EngineVersion)+","))
}

// sameLength stands in for a version, so that a new version of the data changes no golden file in which no answer changed.
func sameLength(version string) string { return strings.Repeat("-", len(version)) }

// figures is how many digits of a number a golden file keeps: enough to see any change of an answer, too few to see the
// last bits in which processors differ.
const figures = 6

// stable writes an answer as JSON with rounded numbers, instants to the minute, and no version of engine or data.
func stable(t *testing.T, v any) []byte {
	t.Helper()
	b, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	d := json.NewDecoder(bytes.NewReader(b))
	d.UseNumber()
	var tree any
	if err := d.Decode(&tree); err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	e := json.NewEncoder(&out)
	e.SetEscapeHTML(false)
	e.SetIndent("", " ")
	if err := e.Encode(rounded(tree)); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func rounded(v any) any {
	switch v := v.(type) {
	case map[string]any:
		for k := range v {
			v[k] = rounded(v[k])
		}
		if _, ok := v["protocol"].(string); ok && v["engine"] != nil && v["data"] != nil {
			v["engine"], v["data"] = "-", "-"
		}
	case []any:
		for i := range v {
			v[i] = rounded(v[i])
		}
	case json.Number:
		x, err := v.Float64()
		if err != nil {
			return v
		}
		return json.Number(strconv.FormatFloat(x, 'g', figures, 64))
	case string:
		if at, err := time.Parse(time.RFC3339, v); err == nil {
			return at.Round(time.Minute).Format(time.RFC3339)
		}
	}
	return v
}

var used = map[string]bool{}

// golden compares an answer with the file that holds it, or rewrites the file with -update.
func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	used[name] = true
	path := filepath.Join("golden", name)
	if *update {
		if err := os.MkdirAll("golden", 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, got, 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatalf("%v; write it with: go test ./examples/... -update", err)
	}
	if bytes.Equal(got, want) {
		return
	}
	g, w := strings.Split(string(got), "\n"), strings.Split(string(want), "\n")
	for i := range max(len(g), len(w)) {
		a, b := lineOf(g, i), lineOf(w, i)
		if a != b {
			t.Errorf("%s, line %d is\n\t%s\nand was\n\t%s\n(read all of it with -update and the difference in version control)", path, i+1, a, b)
			return
		}
	}
}

func lineOf(lines []string, i int) string {
	if i < len(lines) {
		return lines[i]
	}
	return "(nothing)"
}

// Nothing lies in the folder of golden files that no example writes.
func TestNoStaleGoldenFile(t *testing.T) {
	if flag.Lookup("test.run").Value.String() != "" {
		t.Skip("only some of the examples ran")
	}
	files, err := os.ReadDir("golden")
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		if used[f.Name()] {
			continue
		}
		if !*update {
			t.Errorf("golden/%s belongs to no example", f.Name())
			continue
		}
		if err := os.Remove(filepath.Join("golden", f.Name())); err != nil {
			t.Error(err)
		}
	}
}
