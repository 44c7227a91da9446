package practice

import (
	"encoding/json"
	"errors"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"thwart"
	"thwart/advice"
	"thwart/refdata"
)

var day = time.Date(2026, 7, 4, 9, 0, 0, 0, time.FixedZone("", -3*3600))

func order(seed uint64, class string, difficulty int) Order {
	s := thwart.Setup{Class: class, Drives: []thwart.Drive{thwart.DriveOutboard}, Trailer: thwart.TrailerBunk}
	if c, ok := refdata.CraftClassByID(class); ok && !slices.Contains(c.Drives, "outboard") {
		s.Drives = nil
		for _, d := range c.Drives {
			s.Drives = append(s.Drives, thwart.Drive(d))
		}
		s.Trailer = thwart.Trailer(c.Trailer)
	}
	return Order{Seed: seed, Setup: s, Difficulty: difficulty, ProtocolID: "regional-minimum", At: day}
}

func make1(t *testing.T, o Order) (DrillCraft, *sheet) {
	t.Helper()
	d, err := Make(o)
	if err != nil {
		t.Fatalf("%+v: %v", o, err)
	}
	s, err := d.unsealed()
	if err != nil {
		t.Fatal(err)
	}
	return d, s
}

// perfect is the turn of somebody who does everything and misses nothing.
func perfect(t *testing.T, d *DrillCraft, s *sheet) Turn {
	t.Helper()
	turn := Turn{PlugsOut: yesNo(!s.PlugsIn), DriveLowered: yesNo(!s.DriveUp), Findings: []thwart.Finding{}}
	for _, p := range d.Places {
		turn.Walk = append(turn.Walk, Stop{Place: p.ID, Acts: thwart.Tasks, Wet: s.wetness(p.ID), Seconds: p.Seconds})
	}
	for i := range s.Items {
		if !s.Items[i].Decoy {
			turn.Findings = append(turn.Findings, s.Items[i].finding())
		}
	}
	g := &grader{drill: d, sheet: s, turn: &turn, stops: map[string]*visit{}}
	g.walk()
	if err := g.verdicts(); err != nil {
		t.Fatal(err)
	}
	turn.Outcome = g.out.Verdict.Right
	if turn.Outcome == thwart.Launch {
		return turn
	}
	treat, err := advice.Treat(g.right)
	if err != nil {
		t.Fatal(err)
	}
	for _, st := range treat.Steps {
		if asked(st.Kind) {
			turn.Steps = append(turn.Steps, StepChosen{Kind: st.Kind, Part: st.Part})
		}
	}
	return turn
}

func TestPerfectTurn(t *testing.T) {
	seen := map[string]int{}
	for _, c := range refdata.CraftClasses() {
		for _, d := range Difficulties {
			for seed := range uint64(3) {
				drill, s := make1(t, order(seed, c.ID, d))
				turn := perfect(t, &drill, s)
				got, err := drill.Score(turn)
				if err != nil {
					t.Fatal(err)
				}
				if got.Found != got.Planted || got.FalseAlarms != 0 || !got.Verdict.Agrees || got.Path.Done != got.Path.Places || len(got.Path.Skipped) > 0 {
					t.Fatalf("%s %d seed %d: %+v", c.ID, d, seed, got)
				}
				if got.Verdict.FromRecord.Rank() < got.Verdict.Right.Rank() {
					t.Fatalf("%s seed %d: a full record gives %s, the craft %s", c.ID, seed, got.Verdict.FromRecord, got.Verdict.Right)
				}
				if tr := got.Treatment; tr != nil && (len(tr.Missing) > 0 || len(tr.Needless) > 0) {
					t.Fatalf("%s seed %d: treatment %+v", c.ID, seed, tr)
				}
				if got.Points() != 100 {
					t.Fatalf("%s seed %d: everything right gives %v points", c.ID, seed, got.Points())
				}
				rec := drill.Record(&turn, &got, nil, thwart.MakeID(day, [10]byte{}), day, day.Add(time.Minute))
				if err := rec.Validate(); err != nil {
					t.Fatalf("%s seed %d: the record is refused: %v", c.ID, seed, err)
				}
				for _, it := range s.Items {
					seen[string(it.Class)]++
					p := drill.place(it.Place)
					if p == nil || p.Hidden {
						t.Fatalf("%s seed %d: %+v lies where nobody can see", c.ID, seed, it)
					}
					if it.Decoy {
						seen["decoy"]++
						continue
					}
					if sight := s.sight(p, thwart.Tasks); len(sight.Signs) == 0 {
						t.Fatalf("%s seed %d: %+v shows nothing to any act", c.ID, seed, it)
					}
				}
				if len(s.Items) == 0 {
					seen["blank"]++
				}
			}
		}
	}
	for _, k := range []string{"plants_seen", "small_felt", "water_seen", "decoy", "blank"} {
		if seen[k] < 10 {
			t.Errorf("only %d drills with %s", seen[k], k)
		}
	}
}

func TestNothingDone(t *testing.T) {
	planted := 0
	for seed := range uint64(30) {
		d, _ := make1(t, order(seed, "runabout", 3))
		got, err := d.Score(Turn{Outcome: thwart.Launch})
		if err != nil {
			t.Fatal(err)
		}
		planted += got.Planted
		if got.Found != 0 || len(got.Path.Skipped) != got.Path.Places || got.Verdict.FromRecord == thwart.Launch {
			t.Errorf("seed %d: %+v", seed, got)
		}
		if !got.Verdict.Safe && got.Points() > 50 {
			t.Errorf("seed %d: %v points for a verdict that is not safe", seed, got.Points())
		}
		for _, it := range got.Items {
			if it.How != "not_visited" || it.Why == "" {
				t.Errorf("seed %d: %+v", seed, it)
			}
		}
		if got.Verdict.Right.Rank() > 0 && (got.Verdict.Agrees || got.Verdict.Safe) {
			t.Errorf("seed %d: to launch everything is called safe: %+v", seed, got.Verdict)
		}
		if len(got.Debrief) == 0 {
			t.Errorf("seed %d: no word of debrief", seed)
		}
	}
	if planted < 20 {
		t.Errorf("only %d things in 30 drills", planted)
	}
}

// What is on the craft must not be read off the drill.
func TestDrillTellsNothing(t *testing.T) {
	for seed := range uint64(40) {
		d, s := make1(t, order(seed, "bass_boat", 4))
		b, err := json.Marshal(d)
		if err != nil {
			t.Fatal(err)
		}
		for _, it := range s.Items {
			for _, text := range []string{it.Seen, it.Felt, it.Tell, `"decoy"`, `"items"`} {
				if len(text) > 4 && strings.Contains(string(b), text) {
					t.Errorf("seed %d: the drill shows %q", seed, text)
				}
			}
		}
		again, _ := make1(t, order(seed, "bass_boat", 4))
		if !reflect.DeepEqual(d, again) {
			t.Fatalf("seed %d: not the same twice", seed)
		}
		var back DrillCraft
		if err := json.Unmarshal(b, &back); err != nil {
			t.Fatal(err)
		}
		if _, err := back.unsealed(); err != nil {
			t.Errorf("seed %d: after a journey as JSON: %v", seed, err)
		}
		back.Sealed = back.Sealed[:len(back.Sealed)-2] + "AA"
		if _, err := back.unsealed(); back.Sealed != d.Sealed && err == nil {
			t.Errorf("seed %d: changed answers are taken", seed)
		}
	}
}

// A look shows only what the acts allow.
func TestLook(t *testing.T) {
	shut, feltOnly := 0, 0
	for seed := range uint64(300) {
		d, s := make1(t, order(seed, "bass_boat", 5))
		for _, it := range s.Items {
			p := d.place(it.Place)
			none, err := d.Look(it.Place, nil)
			if err != nil || len(none.Signs) != 0 || none.Wet != "" {
				t.Fatalf("doing nothing shows %+v (%v)", none, err)
			}
			look, _ := d.Look(it.Place, []thwart.Task{thwart.TaskLook})
			switch {
			case p.Asks(thwart.TaskOpen):
				shut++
				if len(look.Signs) > 0 || !slices.Contains(look.Shut, thwart.TaskOpen) {
					t.Errorf("a look at a shut %s shows %+v", p.ID, look)
				}
			case it.Seen == "":
				feltOnly++
				if len(look.Signs) > 0 {
					t.Errorf("a look shows what only a hand finds: %+v", look)
				}
				if felt, _ := d.Look(it.Place, []thwart.Task{thwart.TaskFeel}); len(felt.Signs) == 0 {
					t.Errorf("the hand does not find %+v", it)
				}
			}
		}
	}
	if shut < 10 || feltOnly < 10 {
		t.Errorf("%d things behind a lid, %d for the hand alone: too few to test with", shut, feltOnly)
	}
	d, _ := make1(t, order(1, "bass_boat", 5))
	if _, err := d.Look("no.such", nil); err == nil {
		t.Error("a place that is not there is taken")
	}
	if _, err := d.Look(d.Places[0].ID, []thwart.Task{"sniff"}); err == nil {
		t.Error("an act that is none is taken")
	}
}

// Why something was missed names the act that was lacking.
func TestMissedHow(t *testing.T) {
	how := map[string]int{}
	for seed := range uint64(150) {
		d, s := make1(t, order(seed, "bass_boat", 5))
		turn := Turn{Outcome: thwart.Hold}
		for _, p := range d.Places {
			turn.Walk = append(turn.Walk, Stop{Place: p.ID, Acts: []thwart.Task{thwart.TaskLook}, Seconds: 1})
		}
		got, err := d.Score(turn)
		if err != nil {
			t.Fatal(err)
		}
		for _, it := range got.Items {
			how[it.How]++
			var real *item
			for i := range s.Items {
				if s.Items[i].Place == it.Place && s.Items[i].What == it.What {
					real = &s.Items[i]
				}
			}
			p := d.place(it.Place)
			want := "not_marked"
			if p.Asks(thwart.TaskOpen) {
				want = "not_opened"
			} else if real.Seen == "" {
				want = "not_felt"
			}
			if it.How != want {
				t.Errorf("seed %d: %+v: want %s", seed, it, want)
			}
		}
		if got.Verdict.Yours == thwart.Hold && !got.Verdict.Safe {
			t.Errorf("seed %d: a hold is not safe", seed)
		}
	}
	for _, k := range []string{"not_marked", "not_opened", "not_felt"} {
		if how[k] < 5 {
			t.Errorf("%s came up %d times", k, how[k])
		}
	}
}

// Practice goes where this person misses, and still follows the library's weights.
func TestPlacedWhereSheMisses(t *testing.T) {
	count := func(weak []Weak) (trailer, all int) {
		for seed := range uint64(400) {
			o := order(seed, "open_aluminium_fishing", 3)
			o.Weak = weak
			d, s := make1(t, o)
			for _, it := range s.Items {
				if it.Class == "plants_seen" {
					all++
					if d.place(it.Place).Part == thwart.PartTrailer {
						trailer++
					}
				}
			}
		}
		return trailer, all
	}
	t0, n0 := count(nil)
	weak := []Weak{{Class: "plants_seen", Part: thwart.PartTrailer, Found: 2, Trials: 20}}
	for _, p := range thwart.Parts {
		if p != thwart.PartTrailer {
			weak = append(weak, Weak{Class: "plants_seen", Part: p, Found: 40, Trials: 40})
		}
	}
	t1, n1 := count(weak)
	before, after := float64(t0)/float64(n0), float64(t1)/float64(n1)
	if after < before+0.15 {
		t.Errorf("plants on the trailer: %.2f of all, %.2f for somebody who misses them there", before, after)
	}
	// Without anything known, places are drawn by the library's weights: the share of the trailer's weight among places that
	// take tangled plants.
	places, err := advice.Places(order(0, "open_aluminium_fishing", 3).Setup)
	if err != nil {
		t.Fatal(err)
	}
	var part, sum float64
	for _, p := range places {
		if p.Takes(thwart.CarriedTangled) && !p.Hidden {
			sum += p.Weight
			if p.Part == thwart.PartTrailer {
				part += p.Weight
			}
		}
	}
	if want := part / sum; before < want-0.1 || before > want+0.1 {
		t.Errorf("plants on the trailer in %.2f of drills, the library's weights give %.2f", before, want)
	}
}

func TestBadOrders(t *testing.T) {
	for field, o := range map[string]Order{
		"difficulty":    {Setup: thwart.Setup{Class: "runabout"}, At: day, Difficulty: 6, ProtocolID: "own-rules"},
		"at":            {Setup: thwart.Setup{Class: "runabout"}, Difficulty: 1, ProtocolID: "own-rules"},
		"weak[0].class": {Setup: thwart.Setup{Class: "runabout"}, At: day, Difficulty: 1, ProtocolID: "own-rules", Weak: []Weak{{Class: "moose"}}},
		"weak[0].found": {Setup: thwart.Setup{Class: "runabout"}, At: day, Difficulty: 1, ProtocolID: "own-rules", Weak: []Weak{{Class: "small_felt", Found: 3, Trials: 2}}},
		"setup.class":   {At: day, Difficulty: 1, ProtocolID: "own-rules"},
		"protocolId":    {Setup: thwart.Setup{Class: "runabout"}, At: day, Difficulty: 1, ProtocolID: "nowhere"},
		"setup.beamM":   {Setup: thwart.Setup{Class: "runabout", BeamM: 99}, At: day, Difficulty: 1, ProtocolID: "own-rules"},
		"setup.lengthM": {Setup: thwart.Setup{Class: "runabout", LengthM: 900}, At: day, Difficulty: 1, ProtocolID: "own-rules"},
		"weak[0].part":  {Setup: thwart.Setup{Class: "runabout"}, At: day, Difficulty: 1, ProtocolID: "own-rules", Weak: []Weak{{Class: "small_felt", Part: "sky"}}},
	} {
		_, err := Make(o)
		var fe thwart.FieldErrors
		if !errors.As(err, &fe) || fe[0].Field != field {
			t.Errorf("%s: %v", field, err)
		}
	}
	d, _ := make1(t, order(1, "runabout", 2))
	for field, turn := range map[string]Turn{
		"outcome":           {Outcome: "fine"},
		"walk[0].place":     {Outcome: thwart.Launch, Walk: []Stop{{Place: "x"}}},
		"walk[0].wet":       {Outcome: thwart.Launch, Walk: []Stop{{Place: d.Places[0].ID, Wet: "soaked"}}},
		"walk[0].seconds":   {Outcome: thwart.Launch, Walk: []Stop{{Place: d.Places[0].ID, Seconds: -1}}},
		"findings[0].place": {Outcome: thwart.Launch, Findings: []thwart.Finding{{Place: "x"}}},
	} {
		_, err := d.Score(turn)
		var fe thwart.FieldErrors
		if !errors.As(err, &fe) || fe[0].Field != field {
			t.Errorf("%s: %v", field, err)
		}
	}
	d.Version = 99
	if _, err := d.Score(Turn{Outcome: thwart.Launch}); err == nil {
		t.Error("a drill of an unknown version is scored")
	}
}
