package practice

import (
	"fmt"
	"math"
	"slices"

	"thwart"
	"thwart/advice"
	"thwart/engine/num"
	"thwart/tongue"
)

// Turn is what a trainee did with a drill.
type Turn struct {
	// Walk is every stop in the order walked. A place visited twice stands twice.
	Walk         []Stop           `json:"walk"`
	Findings     []thwart.Finding `json:"findings"`
	PlugsOut     thwart.Answer    `json:"plugsOut,omitempty"`
	DriveLowered thwart.Answer    `json:"driveLowered,omitempty"`
	// Outcome is her verdict.
	Outcome thwart.Outcome `json:"outcome"`
	// Steps are the acts she would order, in her order; none = she was not asked for a treatment.
	Steps []StepChosen `json:"steps,omitempty"`
}

// Stop is one stop of the walk.
type Stop struct {
	Place   string         `json:"place"`
	Acts    []thwart.Task  `json:"acts"`
	Wet     thwart.Wetness `json:"wet,omitempty"` // as she noted it
	AtS     float64        `json:"atS"`           // seconds from the start
	Seconds float64        `json:"seconds"`       // spent there
}

// StepChosen is one act of a treatment. Part is for washing only.
type StepChosen struct {
	Kind thwart.StepKind `json:"kind"`
	Part thwart.Part     `json:"part,omitempty"`
}

// MaxStops is the longest walk that is taken.
const MaxStops = 2000

// Score is what came of a turn.
type Score struct {
	Drill   string `json:"drill"`
	Found   int    `json:"found"`
	Planted int    `json:"planted"` // things that matter, decoys not among them
	// ByClass and ByPart are for the record of what this person finds; they feed the next drill.
	ByClass map[string]num.Count `json:"byClass"`
	Weak    []Weak               `json:"weak"`
	Items   []ItemScore          `json:"items"` // of what mattered, missed ones first
	Decoys  []DecoyScore         `json:"decoys"`
	// FalseAlarms are findings where nothing that matters is: on decoys, and on nothing at all.
	FalseAlarms int          `json:"falseAlarms"`
	Alarms      []AlarmScore `json:"alarms"`
	Path        PathScore    `json:"path"`
	Verdict     VerdictScore `json:"verdict"`
	Treatment   *StepsScore  `json:"treatment,omitempty"` // absent where she was not asked for one
	Seconds     float64      `json:"seconds"`             // of looking
	Debrief     []string     `json:"debrief"`             // in words, most important first
}

// ItemScore is one thing that mattered.
type ItemScore struct {
	What    string        `json:"what"`
	Name    string        `json:"name"`
	Matter  thwart.Matter `json:"matter"`
	Class   string        `json:"class"`
	Part    thwart.Part   `json:"part"`
	Place   string        `json:"place"`
	At      string        `json:"at"` // name of the place
	Found   bool          `json:"found"`
	How     string        `json:"how"`           // found, found_beside, not_visited, not_looked, not_felt, not_opened, not_lowered, not_marked
	Why     string        `json:"why,omitempty"` // it matters, in words, where it was missed
	Seconds float64       `json:"seconds"`       // spent at the place
	X       float64       `json:"x"`
	Y       float64       `json:"y"`
}

// DecoyScore is one harmless thing.
type DecoyScore struct {
	Name  string `json:"name"`
	Place string `json:"place"`
	Taken bool   `json:"taken"` // she wrote it down as a finding
	Tell  string `json:"tell"`
}

// AlarmScore is one finding of hers with nothing behind it.
type AlarmScore struct {
	Place  string        `json:"place"`
	Matter thwart.Matter `json:"matter"`
	Words  string        `json:"words"`
}

// PathScore is how she went.
type PathScore struct {
	Stops   []string     `json:"stops"`   // places in the order walked
	Line    [][3]float64 `json:"line"`    // their x, y and z in metres
	Skipped []Skip       `json:"skipped"` // places never visited, in the order of the round
	Undone  []Skip       `json:"undone"`  // places visited without all that they ask for
	Places  int          `json:"places"`
	Done    int          `json:"done"` // places given all they ask for
	BackS   int          `json:"back"` // times she came back to a place
}

// Skip is a place that did not get what it asks for.
type Skip struct {
	Place string        `json:"place"`
	Name  string        `json:"name"`
	Tasks []thwart.Task `json:"tasks,omitempty"` // not done
}

// VerdictScore compares three verdicts: hers, the one her own record asks for, and the one the craft needed.
type VerdictScore struct {
	Yours      thwart.Outcome `json:"yours"`
	FromRecord thwart.Outcome `json:"fromRecord"`
	Right      thwart.Outcome `json:"right"`
	// Agrees: hers is the right one. Safe: hers is at least as strict.
	Agrees bool     `json:"agrees"`
	Safe   bool     `json:"safe"`
	Why    []string `json:"why"` // the reasons of the right one
	Says   string   `json:"says"`
}

// StepsScore compares the treatment ordered with the one the engine gives.
type StepsScore struct {
	Missing  []StepWords `json:"missing"`
	Needless []StepWords `json:"needless"`
	Right    []StepWords `json:"right"` // all that is owed, in order
	// Order is false where a step she chose comes before one that has to be done first.
	Order bool `json:"order"`
}

// StepWords is a step with what to do.
type StepWords struct {
	StepChosen
	Do string `json:"do,omitempty"`
}

func (t *Turn) check(d *DrillCraft) error {
	var errs thwart.FieldErrors
	fail := func(field string, value any, accepted string) {
		errs = append(errs, thwart.FieldError{Field: field, Value: fmt.Sprint(value), Accepted: accepted})
	}
	if len(t.Walk) > MaxStops {
		fail("walk", len(t.Walk), tongue.Say("at most {n} stops", tongue.Int(MaxStops)))
	}
	for i, w := range t.Walk[:min(len(t.Walk), MaxStops)] {
		at := fmt.Sprintf("walk[%d].", i)
		if d.place(w.Place) == nil {
			fail(at+"place", w.Place, "a place of this drill")
		}
		for k, a := range w.Acts {
			if !slices.Contains(thwart.Tasks, a) {
				fail(fmt.Sprintf("%sacts[%d]", at, k), a, fmt.Sprintf("one of %v", thwart.Tasks))
			}
		}
		if w.Wet != "" && !slices.Contains(thwart.Wetnesses, w.Wet) {
			fail(at+"wet", w.Wet, fmt.Sprintf("one of %v", thwart.Wetnesses))
		}
		if !(w.Seconds >= 0 && w.Seconds <= 14400) {
			fail(at+"seconds", w.Seconds, "0 to 14400 s")
		}
	}
	if len(t.Findings) > thwart.MaxFindings {
		fail("findings", len(t.Findings), tongue.Say("at most {n}", tongue.Int(thwart.MaxFindings)))
	}
	for i, f := range t.Findings {
		if d.place(f.Place) == nil {
			fail(fmt.Sprintf("findings[%d].place", i), f.Place, "a place of this drill")
		}
	}
	if t.Outcome.Rank() < 0 {
		fail("outcome", t.Outcome, fmt.Sprintf("one of %v", thwart.Outcomes))
	}
	if errs != nil {
		return errs
	}
	return nil
}

// Score judges a turn. What cannot be taken gives [thwart.FieldErrors].
func (d *DrillCraft) Score(t Turn) (Score, error) {
	s, err := d.unsealed()
	if err != nil {
		return Score{}, err
	}
	if err := t.check(d); err != nil {
		return Score{}, err
	}
	g := &grader{drill: d, sheet: s, turn: &t, stops: map[string]*visit{}}
	g.out = Score{
		Drill: d.ID, ByClass: map[string]num.Count{}, Weak: []Weak{}, Items: []ItemScore{}, Decoys: []DecoyScore{}, Alarms: []AlarmScore{}, Debrief: []string{},
	}
	g.walk()
	g.match()
	if err := g.verdicts(); err != nil {
		return Score{}, err
	}
	if err := g.steps(); err != nil {
		return Score{}, err
	}
	g.debrief()
	return g.out, nil
}

// visit is all that was done at one place.
type visit struct {
	acts    []thwart.Task
	wet     thwart.Wetness
	seconds float64
}

type grader struct {
	drill *DrillCraft
	sheet *sheet
	turn  *Turn
	stops map[string]*visit
	used  []bool // findings that something real stands behind
	right thwart.Case
	mine  thwart.Case
	out   Score
}

func (g *grader) walk() {
	p := &g.out.Path
	p.Stops, p.Line, p.Skipped, p.Undone = []string{}, [][3]float64{}, []Skip{}, []Skip{}
	for _, w := range g.turn.Walk {
		v := g.stops[w.Place]
		if v == nil {
			v = &visit{}
			g.stops[w.Place] = v
		} else if len(p.Stops) > 0 && p.Stops[len(p.Stops)-1] != w.Place {
			p.BackS++
		}
		v.acts = append(v.acts, w.Acts...)
		v.seconds += w.Seconds
		if w.Wet != "" {
			v.wet = w.Wet
		}
		g.out.Seconds += w.Seconds
		at := g.drill.place(w.Place)
		p.Stops = append(p.Stops, w.Place)
		p.Line = append(p.Line, [3]float64{at.XM, at.YM, at.ZM})
	}
	for i := range g.drill.Places {
		at := &g.drill.Places[i]
		p.Places++
		v := g.stops[at.ID]
		if v == nil {
			p.Skipped = append(p.Skipped, Skip{Place: at.ID, Name: at.Name, Tasks: at.Tasks})
			continue
		}
		if undone := v.undone(at); len(undone) > 0 {
			p.Undone = append(p.Undone, Skip{Place: at.ID, Name: at.Name, Tasks: undone})
			continue
		}
		p.Done++
	}
}

// undone lists what a place asks of the steward's own eyes and hands, and was not done.
func (v *visit) undone(p *thwart.Place) (tasks []thwart.Task) {
	for _, t := range []thwart.Task{thwart.TaskLook, thwart.TaskFeel, thwart.TaskOpen, thwart.TaskLower} {
		if p.Asks(t) && !slices.Contains(v.acts, t) {
			tasks = append(tasks, t)
		}
	}
	return tasks
}

// besideM is how far off a finding may be recorded and still count: the next place along the same hull.
const besideM = 1.2

// match pairs findings with things: first at the place itself, then beside it.
func (g *grader) match() {
	g.used = make([]bool, len(g.turn.Findings))
	found := make([]string, len(g.sheet.Items))
	for _, beside := range []bool{false, true} {
		for i := range g.sheet.Items {
			it := &g.sheet.Items[i]
			if found[i] != "" || it.Decoy {
				continue
			}
			for k := range g.turn.Findings {
				f := &g.turn.Findings[k]
				if g.used[k] || !takenFor(f.Matter, it.Matter) || !g.near(f.Place, it.Place, beside) {
					continue
				}
				g.used[k] = true
				found[i] = "found"
				if beside {
					found[i] = "found_beside"
				}
				break
			}
			if found[i] == "" && !beside && it.What == "water" && g.notedWater(it.Place) {
				found[i] = "found"
			}
		}
	}
	for i := range g.sheet.Items {
		it := &g.sheet.Items[i]
		if it.Decoy {
			g.decoy(it)
			continue
		}
		g.item(it, found[i])
	}
	slices.SortStableFunc(g.out.Items, func(a, b ItemScore) int { return boolInt(a.Found) - boolInt(b.Found) })
	for k, f := range g.turn.Findings {
		if !g.used[k] {
			g.out.FalseAlarms++
			g.out.Alarms = append(g.out.Alarms, AlarmScore{f.Place, f.Matter, g.alarmWords(&f)})
		}
	}
}

// notedWater: standing water may be noted as the wetness of the place, without a finding.
func (g *grader) notedWater(place string) bool {
	v := g.stops[place]
	return v != nil && v.wet == thwart.WetWater
}

func (g *grader) near(a, b string, beside bool) bool {
	if !beside {
		return a == b
	}
	p, q := g.drill.place(a), g.drill.place(b)
	return a != b && p.Part == q.Part && math.Hypot(math.Hypot(p.XM-q.XM, p.YM-q.YM), p.ZM-q.ZM) <= besideM
}

// takenFor reports whether a finding written as one matter may be the thing that is there. What nobody could tell apart
// counts: seeing it is the skill, naming it comes after.
func takenFor(written, there thwart.Matter) bool {
	switch written {
	case thwart.MatterUnknown, thwart.MatterOther:
		return there != thwart.MatterWater
	case thwart.MatterAttached, thwart.MatterLoose, thwart.MatterEgg:
		return there == thwart.MatterAttached || there == thwart.MatterLoose
	}
	return written == there
}

func (g *grader) item(it *item, how string) {
	p := g.drill.place(it.Place)
	s := ItemScore{
		What: it.What, Name: it.Name, Matter: it.Matter, Class: it.Class, Part: p.Part, Place: p.ID, At: p.Name, Found: how != "", How: how, X: it.X, Y: it.Y,
	}
	v := g.stops[it.Place]
	if v != nil {
		s.Seconds = v.seconds
	}
	if !s.Found {
		s.How = missedHow(it, p, v)
	}
	g.out.Planted++
	c := num.Count{N: 1}
	w := Weak{Class: it.Class, Part: p.Part, Trials: 1}
	if s.Found {
		g.out.Found++
		c.X, w.Found = 1, 1
	}
	g.out.ByClass[it.Class] = g.out.ByClass[it.Class].Plus(c)
	g.out.Weak = AddWeak(g.out.Weak, w)
	g.out.Items = append(g.out.Items, s)
}

// missedHow is the first thing that was lacking.
func missedHow(it *item, p *thwart.Place, v *visit) string {
	if v == nil {
		return "not_visited"
	}
	did := func(t thwart.Task) bool { return slices.Contains(v.acts, t) }
	switch {
	case p.Asks(thwart.TaskOpen) && !did(thwart.TaskOpen):
		return "not_opened"
	case it.Seen == "" && !did(thwart.TaskFeel):
		return "not_felt"
	case it.Seen != "" && !did(thwart.TaskLook) && !did(thwart.TaskFeel):
		return "not_looked"
	}
	return "not_marked"
}

func (g *grader) decoy(it *item) {
	s := DecoyScore{Name: it.Name, Place: it.Place, Tell: it.Tell}
	s.Taken = slices.ContainsFunc(g.turn.Findings, func(f thwart.Finding) bool { return f.Place == it.Place })
	g.out.Decoys = append(g.out.Decoys, s)
}

func (g *grader) alarmWords(f *thwart.Finding) string {
	name := g.drill.place(f.Place).Name
	for _, d := range g.out.Decoys {
		if d.Place == f.Place {
			return tongue.Say("{place}: that was {thing}. {tell}", name, d.Name, d.Tell)
		}
	}
	return tongue.Say("{place}: nothing is there.", name)
}

func boolInt(b bool) int {
	if b {
		return 1
	}
	return 0
}

// verdicts asks the advice engine twice: of the craft as it is, and of her record.
func (g *grader) verdicts() error {
	g.right, g.mine = g.drill.base(), g.drill.base()
	in := &g.right.Inspection
	for i := range g.drill.Places {
		p := &g.drill.Places[i]
		in.Checks = append(in.Checks, thwart.Check{
			Place: p.ID, Looked: thwart.Yes, Felt: thwart.Yes, Opened: thwart.Yes, RanDry: thwart.Yes, Wet: g.sheet.wetness(p.ID), Seconds: p.Seconds,
		})
	}
	in.PlugsOut, in.DriveLowered, in.StrainerOut = yesNo(!g.sheet.PlugsIn), yesNo(!g.sheet.DriveUp), thwart.Yes
	for i := range g.sheet.Items {
		if it := &g.sheet.Items[i]; !it.Decoy {
			in.Findings = append(in.Findings, it.finding())
		}
	}
	in = &g.mine.Inspection
	for i := range g.drill.Places {
		p := &g.drill.Places[i]
		v := g.stops[p.ID]
		if v == nil {
			continue
		}
		did := func(t thwart.Task) thwart.Answer { return yesNo(slices.Contains(v.acts, t)) }
		in.Checks = append(in.Checks, thwart.Check{
			Place: p.ID, Looked: did(thwart.TaskLook), Felt: did(thwart.TaskFeel), Opened: did(thwart.TaskOpen), RanDry: did(thwart.TaskRun),
			Wet: v.wet, Seconds: v.seconds,
		})
	}
	in.PlugsOut, in.DriveLowered, in.StrainerOut = g.turn.PlugsOut, g.turn.DriveLowered, thwart.Yes
	in.Findings = g.turn.Findings
	right, err := advice.Judge(g.right)
	if err != nil {
		return err
	}
	mine, err := advice.Judge(g.mine)
	if err != nil {
		return err
	}
	v := VerdictScore{
		Yours: g.turn.Outcome, FromRecord: mine.Outcome, Right: right.Outcome, Agrees: g.turn.Outcome == right.Outcome,
		Safe: g.turn.Outcome.Rank() >= right.Outcome.Rank(), Why: []string{}, Says: advice.Say(right.Outcome),
	}
	for _, r := range right.Reasons[:min(len(right.Reasons), 6)] {
		v.Why = append(v.Why, r.Text)
	}
	g.out.Verdict = v
	for i := range g.out.Items {
		if it := &g.out.Items[i]; !it.Found {
			it.Why = g.matters(it, &mine)
		}
	}
	return nil
}

// base is the case without what was seen.
func (d *DrillCraft) base() thwart.Case {
	o := &d.Order
	return thwart.Case{
		Inspection: thwart.Inspection{
			Water: d.Story.Here, Direction: "launching", StartedAt: o.At, Setup: o.Setup, OutOfRegion: thwart.No, LastWaters: d.Story.Visits,
		},
		Waters: d.Story.Waters, ProtocolID: o.ProtocolID, Protocol: o.Protocol, Unit: o.Unit, Seed: o.Seed,
	}
}

func (it *item) finding() thwart.Finding {
	f := thwart.Finding{Place: it.Place, Matter: it.Matter, Removed: thwart.RemovedNone}
	switch it.What {
	case "water", "mud", "plant":
		return f
	}
	f.Organism, f.Stage, f.Confidence = it.What, it.Stage, "certain"
	f.Vitality = thwart.VitalityAlive
	if it.Dead {
		f.Vitality = thwart.VitalityDead
	}
	return f
}
