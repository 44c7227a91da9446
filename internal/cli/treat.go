package cli

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"thwart"
	"thwart/advice"
	"thwart/unit"
)

// stepWords names the kinds of step.
var stepWords = map[thwart.StepKind]string{
	thwart.StepPrepare: "Prepare", thwart.StepRemove: "Take off by hand", thwart.StepDrain: "Drain", thwart.StepLook: "Look and feel",
	thwart.StepWipe: "Wipe dry", thwart.StepWash: "Hot spray", thwart.StepFlush: "Hot flush", thwart.StepFillFlush: "Fill and flush",
	thwart.StepEngine: "Flush the engine", thwart.StepSoak: "Soak", thwart.StepChemical: "Chemical", thwart.StepDry: "Dry",
	thwart.StepRelook: "Look again", thwart.StepCall: "Call",
}

func printTreatment(p *printer, t *thwart.Treatment, names map[string]string) {
	if t.Minutes == 0 {
		p.head("What it is owed")
	} else {
		p.head("What it is owed: %s", cost(p, t.Minutes, t.WaterL, t.FuelL, t.Estimate))
	}
	if t.WasteL > 0 {
		p.line("  Waste water to catch and keep from the lake: %s.", p.units.Volume(t.WasteL))
	}
	if t.BoatsLeft != nil && *t.BoatsLeft > 0 {
		p.line("  The tank serves %d craft like this, this one included.", *t.BoatsLeft)
	}
	if !t.Possible {
		p.hang(2, 2, "Not all of it can be done now; until it can, the outcome is "+advice.Plate(t.Instead)+".")
	}
	for _, n := range t.Notes {
		p.item(2, "-", p.say(n))
	}
	var said []string
	for i := range t.Steps {
		printStep(p, &t.Steps[i], names)
		said = printCautions(p, t.Steps[i].Cautions, said)
	}
	printChoices(p, t)
}

// printCautions prints what can hurt at the step where it can, in full the first time and by its letter after that.
func printCautions(p *printer, cautions, said []string) []string {
	const in = 5
	var again []string
	for _, c := range cautions {
		if i := slices.Index(said, c); i >= 0 {
			again = append(again, "("+caution(i)+")")
			continue
		}
		p.item(in, "! ("+caution(len(said))+")", p.say(c))
		said = append(said, c)
	}
	if len(again) > 0 {
		p.hang(in, in+2, "! As said: "+strings.Join(again, " ")+".")
	}
	return said
}

// printChoices lists the ways out of the steps that cannot be done now, each once with the steps it is for.
func printChoices(p *printer, t *thwart.Treatment) {
	type way struct {
		choice *thwart.Choice
		steps  []string
	}
	var ways []*way
	for i := range t.Steps {
		for k := range t.Steps[i].Choices {
			c := &t.Steps[i].Choices[k]
			n := slices.IndexFunc(ways, func(w *way) bool { return w.choice.Text == c.Text })
			if n < 0 {
				n = len(ways)
				ways = append(ways, &way{choice: c})
			}
			ways[n].steps = append(ways[n].steps, fmt.Sprint(t.Steps[i].N))
		}
	}
	if len(ways) == 0 {
		return
	}
	p.head("What else may be done")
	for _, w := range ways {
		step := "step "
		if len(w.steps) > 1 {
			step = "steps "
		}
		p.item(2, "-", p.say(w.choice.Text)+p.cite(w.choice.Source)+" ("+step+list(w.steps, "and")+")")
	}
}

// caution letters the cautions: a to z, then aa.
func caution(i int) string {
	if i < 26 {
		return string(rune('a' + i))
	}
	return "a" + caution(i-26)
}

// minutesOf says how long work takes, in whole minutes up to two hours.
func minutesOf(m float64) string {
	if m >= 120 {
		return unit.Duration(60 * m)
	}
	return fmt.Sprintf("%.0f min", math.Ceil(m))
}

func cost(p *printer, minutes, waterL, fuelL float64, estimate bool) string {
	parts := []string{minutesOf(minutes)}
	if waterL > 0 {
		parts = append(parts, p.units.Volume(waterL)+" of hot water")
	}
	if fuelL > 0 {
		parts = append(parts, p.units.Volume(fuelL)+" of fuel")
	}
	text := strings.Join(parts, ", ")
	if estimate {
		text += " (estimate: a size or a flow had to be assumed)"
	}
	return text
}

func printStep(p *printer, s *thwart.Step, names map[string]string) {
	p.line("")
	title := stepWords[s.Kind]
	if s.Part != "" {
		title += ": " + string(s.Part)
	}
	if s.Minutes > 0 {
		takes := cost(p, s.Minutes, s.WaterL, s.FuelL, false)
		if s.Estimate {
			takes += ", estimate"
		}
		title += " (" + takes + ")"
	}
	p.item(1, fmt.Sprintf("%2d ", s.N), title)
	const in = 5
	do := p.say(s.Do)
	if s.SecondsPerM > 0 && p.units == unit.US {
		do += fmt.Sprintf(" That is %s for each foot.", unit.Duration(s.SecondsPerM*unit.MetresPerFoot))
	}
	if s.PressureMaxBar > 0 {
		do += " At most " + p.units.Pressure(s.PressureMaxBar) + "."
	}
	p.para(in, do+p.cite(s.Source))
	if len(s.Places) > 0 {
		p.hang(in, in+2, "At: "+p.some(placeList(names, s.Places))+".")
	}
	switch s.Possible {
	case "yes":
		p.hang(in, in+2, "Can be done: "+p.say(s.Because))
	case "not_now":
		p.hang(in, in+2, "CANNOT BE DONE NOW: "+p.say(s.Because)+" See below what else may be done.")
	case "unknown":
		p.hang(in, in+2, "Not known whether it can be done: "+p.say(s.Because))
	}
	printNeeds(p, in, s.Species)
}

// needWords say how far a step's line serves an organism by the published data.
var needWords = map[string]string{"yes": "shown to kill", "longer": "not enough", "no": "not enough", "not_known": "not known"}

// manyNeeds is how many lines of published data a step may have before they are summed up, unless all are asked for.
const manyNeeds = 4

// printNeeds tells what the published data say of a step, apart from the protocol.
func printNeeds(p *printer, in int, needs []thwart.SpeciesNeed) {
	if len(needs) == 0 {
		return
	}
	if len(needs) > manyNeeds && !p.full {
		p.para(in, "By the published data, apart from the protocol: "+sumNeeds(p, needs))
		return
	}
	p.para(in, "By the published data, apart from the protocol:")
	for _, n := range needs {
		p.item(in+2, needWords[n.Shown]+":", p.say(n.Text)+p.cite(n.Source))
	}
}

// sumNeeds says how many groups the line is shown to kill, for how many it is not enough and which of those asks for most.
func sumNeeds(p *printer, needs []thwart.SpeciesNeed) string {
	count := map[string]int{}
	var most *thwart.SpeciesNeed
	for i := range needs {
		n := &needs[i]
		count[needWords[n.Shown]]++
		if n.Shown == "longer" && (most == nil || n.ContactS > most.ContactS) {
			most = n
		}
	}
	text := fmt.Sprintf("of %d groups of organisms it is shown to kill %d, is not enough for %d, and is not known for %d (--full lists them).",
		len(needs), count["shown to kill"], count["not enough"], count["not known"])
	if most != nil {
		text += fmt.Sprintf(" The longest is asked for by %s: %s at %s.", organismStage(most.Organism, most.Stage),
			unit.Duration(most.ContactS), p.units.Temp(most.TempC))
	}
	return text
}

// stateWords says how far a drying clock is.
var stateWords = map[string]string{
	"met": "over", "running": "runs", "not_started": "not started", "not_shown": "not shown", "never": "never", "not_accepted": "not accepted",
}

func printDry(p *printer, h *thwart.DryHold) {
	if h.Earliest != nil {
		p.head("If it dries: it may launch from %s. Decided by: %s.", stamp(h.Earliest), h.Decides)
	} else {
		p.head("If it dries: no time can be given. Decided by: %s.", h.Decides)
	}
	p.hang(2, 2, p.say(h.Weather))
	for i := range h.Lines {
		l := &h.Lines[i]
		mark := "*"
		if !l.Binding {
			mark = "-"
		}
		text := l.Title + ": " + stateWords[l.State]
		if l.Earliest != nil {
			text += " until " + stamp(l.Earliest)
			if l.State == "met" {
				text = strings.Replace(text, "over until", "over since", 1)
			}
		}
		if l.Start != nil {
			text += " (from " + plain(l.From) + ", " + stamp(l.Start) + ")"
		}
		text += "."
		if l.Survival != nil {
			text += " Expected alive now: " + interval(*l.Survival) + "."
		}
		if l.Note != "" {
			text += " " + p.say(l.Note)
		}
		p.item(2, mark, text+p.cite(l.Source))
	}
	if len(h.Lines) > 0 {
		p.line("  (* counts for the launch, - is shown beside it)")
	}
	shown := map[string]bool{}
	for i := range h.Lines {
		shown[h.Lines[i].Note] = true
	}
	for _, n := range h.Notes {
		if !shown[n] {
			p.item(2, "-", p.say(n))
		}
	}
}
