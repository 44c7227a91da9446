package practice

import (
	"slices"
	"strings"

	"thwart"
	"thwart/advice"
	"thwart/refdata"
	"thwart/tongue"
)

// matters says why a missed thing mattered: what it would have changed, and what it does when it gets through.
func (g *grader) matters(it *ItemScore, mine *thwart.Verdict) string {
	var out []string
	for i := range g.sheet.Items {
		if real := &g.sheet.Items[i]; real.Place == it.Place && real.What == it.What {
			with := g.mine
			with.Inspection.Findings = append(slices.Clone(with.Inspection.Findings), real.finding())
			if v, err := advice.Judge(with); err == nil && v.Outcome != mine.Outcome {
				out = append(out, tongue.Say("With it your own record asks for {with} instead of {without}.", advice.Plate(v.Outcome), advice.Plate(mine.Outcome)))
			}
		}
	}
	if p := g.drill.place(it.Place); p.Why != "" {
		out = append(out, p.Why)
	}
	return strings.Join(append(out, groupMatters(it)), " ")
}

// groupMatters says what a kind of thing does that gets through. The drying and heat figures stand in the library; this is
// the plain sentence.
func groupMatters(it *ItemScore) string {
	switch it.What {
	case "water":
		return tongue.Say("Larvae too small to see live in water left aboard.")
	case "mud":
		return tongue.Say("Mud keeps seeds, tubers and small snails damp and alive.")
	case "plant":
		return tongue.Say("A piece of a plant nobody has named may be one that spreads, and mussels ride on it.")
	}
	o, _ := refdata.OrganismByID(it.What)
	switch o.Group {
	case refdata.GroupMussel:
		return tongue.Say("One mussel found means others are likely: this craft is the agency's.")
	case refdata.GroupWaterFlea:
		return tongue.Say("Its resting eggs outlast drying that kills the animal.")
	case refdata.GroupPlant, refdata.GroupAlga:
		return tongue.Say("One fragment is enough to grow a new stand.")
	}
	return tongue.Say("It lives for days out of water where it stays damp.")
}

var missedWords = map[string]tongue.Text{
	"not_visited": "You did not stop there.", "not_opened": "You stopped there but it was not opened.",
	"not_felt": "You looked, but this one only the hand finds: feel again.", "not_looked": "You stopped there without looking.",
	"not_marked": "It was in front of you and you went on. Look longer there, close, from two sides.",
}

// debrief puts the lesson into words, what endangers a water first.
func (g *grader) debrief() {
	say := func(t tongue.Text, values ...string) { g.out.Debrief = append(g.out.Debrief, tongue.Say(t, values...)) }
	v := &g.out.Verdict
	switch {
	case v.Agrees:
		say("Your verdict, {yours}, is the right one.", advice.Plate(v.Yours))
	case v.Safe:
		say("Your verdict, {yours}, is stricter than the rules ask for: {right}. No water suffers, but a boater does.", advice.Plate(v.Yours), advice.Plate(v.Right))
	case v.Yours.Rank() < v.FromRecord.Rank():
		say("Your verdict, {yours}, is milder than your own record asks for: {record}. The craft needed {right}.", advice.Plate(v.Yours), advice.Plate(v.FromRecord), advice.Plate(v.Right))
	default:
		say("You gave {yours}. The craft needed {right}.", advice.Plate(v.Yours), advice.Plate(v.Right))
	}
	for i := range g.out.Items {
		if it := &g.out.Items[i]; !it.Found {
			say("Missed: {thing}, {place}. {how} {why}", it.Name, lowerFirst(it.At), tongue.Say(missedWords[it.How]), it.Why)
		}
	}
	switch {
	case g.out.Planted == 0 && g.out.FalseAlarms == 0:
		say("Nothing was aboard, as on most craft, and you said so.")
	case g.out.Planted > 0 && g.out.Found == g.out.Planted:
		say("You found all that was there: {n} of {all}.", tongue.Int(g.out.Found), tongue.Int(g.out.Planted))
	case g.out.Planted > 0:
		say("You found {n} of {all}. One drill says little; what counts is where misses gather over many.", tongue.Int(g.out.Found), tongue.Int(g.out.Planted))
	}
	for _, a := range g.out.Alarms {
		g.out.Debrief = append(g.out.Debrief, a.Words)
	}
	p := &g.out.Path
	if n := len(p.Skipped); n > 0 {
		say("{n} of {all} places were never visited, among them: {places}.", tongue.Int(n), tongue.Int(p.Places), names(p.Skipped))
	}
	if n := len(p.Undone); n > 0 {
		say("{n} places did not get all they ask for: {places}.", tongue.Int(n), undoneWords(p.Undone))
	}
	if t := g.out.Treatment; t != nil {
		for _, m := range t.Missing {
			say("Your treatment leaves out: {step}", stepSays(m))
		}
		for _, m := range t.Needless {
			say("Not needed here: {step}.", kindWords(m.StepChosen))
		}
		if !t.Order {
			say("Mind the order: what is inside drains and comes off first, washing follows, and the last look comes after.")
		}
	}
}

func names(list []Skip) string {
	var out []string
	for _, s := range list[:min(len(list), 4)] {
		out = append(out, lowerFirst(s.Name))
	}
	return strings.Join(out, "; ")
}

func undoneWords(list []Skip) string {
	var out []string
	for _, s := range list[:min(len(list), 4)] {
		var tasks []string
		for _, t := range s.Tasks {
			tasks = append(tasks, tongue.Say(taskWords[t]))
		}
		out = append(out, tongue.Say("{place} ({tasks})", lowerFirst(s.Name), strings.Join(tasks, ", ")))
	}
	return strings.Join(out, "; ")
}

func lowerFirst(s string) string {
	if len(s) > 1 && s[1] >= 'A' && s[1] <= 'Z' { // letters that stand for words
		return s
	}
	return tongue.Small(s)
}

// steps compares treatments where she was asked for one.
func (g *grader) steps() error {
	if len(g.turn.Steps) == 0 {
		return nil
	}
	var t thwart.Treatment // none is owed by a craft that may launch
	if g.out.Verdict.Right != thwart.Launch {
		var err error
		if t, err = advice.Treat(g.right); err != nil {
			return err
		}
	}
	s := &StepsScore{Missing: []StepWords{}, Needless: []StepWords{}, Right: []StepWords{}, Order: true}
	for _, step := range t.Steps {
		if !asked(step.Kind) {
			continue
		}
		c := StepChosen{Kind: step.Kind}
		if needsPart(step.Kind) {
			c.Part = step.Part
		}
		if !slices.ContainsFunc(s.Right, func(x StepWords) bool { return x.StepChosen == c }) {
			s.Right = append(s.Right, StepWords{c, step.Do})
		}
	}
	at := func(list []StepWords, c StepChosen) int {
		return slices.IndexFunc(list, func(x StepWords) bool { return x.StepChosen == c })
	}
	var turn []StepWords
	for _, c := range g.turn.Steps {
		if !needsPart(c.Kind) {
			c.Part = ""
		}
		turn = append(turn, StepWords{StepChosen: c})
		if at(s.Right, c) < 0 {
			s.Needless = append(s.Needless, StepWords{StepChosen: c})
		}
	}
	last := -1
	for _, x := range turn {
		k := at(s.Right, x.StepChosen)
		if k < 0 {
			continue
		}
		if stage(x.Kind) < last {
			s.Order = false
		}
		last = max(last, stage(x.Kind))
	}
	for _, r := range s.Right {
		if at(turn, r.StepChosen) < 0 {
			s.Missing = append(s.Missing, r)
		}
	}
	g.out.Treatment = s
	return nil
}

// asked leaves out what a drill does not ask for: preparing the place of work and what the wash table adds by itself.
func asked(k thwart.StepKind) bool { return k != thwart.StepPrepare && k != thwart.StepWipe }

func needsPart(k thwart.StepKind) bool {
	switch k {
	case thwart.StepWash, thwart.StepFlush, thwart.StepFillFlush, thwart.StepSoak:
		return true
	}
	return false
}

// stage orders kinds of step that may not change places: draining and removing, then hot water, then drying or the last look.
func stage(k thwart.StepKind) int {
	switch k {
	case thwart.StepRemove, thwart.StepDrain, thwart.StepLook:
		return 0
	case thwart.StepWash, thwart.StepFlush, thwart.StepFillFlush, thwart.StepEngine, thwart.StepSoak, thwart.StepChemical:
		return 1
	}
	return 2
}

func stepSays(s StepWords) string {
	if s.Do != "" {
		return s.Do
	}
	return kindWords(s.StepChosen) + "."
}

func kindWords(c StepChosen) string {
	if c.Part == "" {
		return tongue.Say(stepWords[c.Kind])
	}
	return tongue.Say("{step} of the {part}", tongue.Say(stepWords[c.Kind]), tongue.Say(partNames[c.Part]))
}

var taskWords = map[thwart.Task]tongue.Text{
	thwart.TaskLook: "look", thwart.TaskFeel: "feel", thwart.TaskOpen: "open", thwart.TaskDrain: "drain", thwart.TaskLower: "lower",
	thwart.TaskRun: "run", thwart.TaskTip: "tip", thwart.TaskAsk: "ask",
}

var stepWords = map[thwart.StepKind]tongue.Text{
	thwart.StepPrepare: "prepare", thwart.StepRemove: "remove", thwart.StepDrain: "drain", thwart.StepLook: "look",
	thwart.StepWipe: "wipe", thwart.StepWash: "wash", thwart.StepFlush: "flush", thwart.StepFillFlush: "fill and flush",
	thwart.StepEngine: "engine flush", thwart.StepSoak: "soak", thwart.StepChemical: "chemical", thwart.StepDry: "dry",
	thwart.StepRelook: "look again", thwart.StepCall: "call",
}

var partNames = map[thwart.Part]tongue.Text{
	thwart.PartHull: "hull", thwart.PartTrailer: "trailer", thwart.PartGimbal: "gimbal", thwart.PartEngine: "engine", thwart.PartBallast: "ballast",
	thwart.PartWell: "well", thwart.PartBilge: "bilge", thwart.PartGear: "gear", thwart.PartInside: "inside",
}
