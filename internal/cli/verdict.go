package cli

import (
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"thwart"
	"thwart/advice"
	"thwart/refdata"
	"thwart/unit"
)

// edges are the patterns beside the verdict's word: they tell outcomes apart without colour, heavier as more must happen.
var edges = map[thwart.Outcome]string{
	thwart.Launch: "  ", thwart.FixHere: "==", thwart.Wash: "//", thwart.DryOut: "..", thwart.Hold: "##",
}

// printPlate writes the verdict's plate: the word for what to do now, what follows, what to say to the owner, and what
// stands while a wash cannot be done.
func printPlate(p *printer, v *thwart.Verdict, t *thwart.Treatment) {
	edge := edges[v.Now]
	width := min(p.width, 72)
	rule := strings.Repeat(edge, width/2)
	if v.Now == thwart.Launch {
		rule = strings.Repeat("-", width)
	}
	word := advice.Plate(v.Now)
	if v.Now != v.Outcome {
		word += " now, then " + advice.Plate(v.Outcome)
	}
	if v.LocalWord != "" {
		word += "   (here: " + v.LocalWord + ")"
	}
	p.line("%s", rule)
	texts := []string{word, advice.SayVerdict(v)}
	if text := plateTime(v, t); text != "" {
		texts = append(texts, text)
	}
	for _, text := range texts {
		for _, l := range wrap(text, width-8, width-8) {
			room := strings.Repeat(" ", max(width-8-utf8.RuneCountInString(l), 0))
			p.line("%s", strings.TrimRight(edge+"  "+l+room+"  "+edge, " "))
		}
	}
	p.line("%s", rule)
}

// plateTime says how long the work takes or until when it dries, or that it cannot be done now.
func plateTime(v *thwart.Verdict, t *thwart.Treatment) string {
	switch {
	case t == nil:
		return ""
	case !t.Possible:
		return "With what is at hand it cannot be done. Until it can: " + advice.Plate(t.Instead) + "."
	case v.Outcome == thwart.Wash:
		return "That takes about " + minutesOf(t.Minutes) + "."
	case v.Outcome == thwart.DryOut && t.Dry != nil && t.Dry.Earliest != nil:
		return "It may launch from " + stamp(t.Dry.Earliest) + ", if it stays dry."
	}
	return ""
}

func printVerdict(p *printer, cs *thwart.Case, v *thwart.Verdict, names map[string]string) {
	p.para(0, words(", ", craftWords(p, &cs.Inspection.Setup), fmt.Sprintf("%d of %d places settled", v.Settled, v.Places), origin(cs, v)))
	if v.Unconfirmed {
		p.para(0, fmt.Sprintf("Protocol %s: not confirmed, practice only. The programme has to check it against the law in force first.", v.Versions.Protocol))
	} else {
		p.para(0, "Protocol "+v.Versions.Protocol+".")
	}
	p.head("Standards")
	var rows [][]string
	for _, s := range v.Standards {
		need := "not asked for here"
		if s.Required {
			need = "required"
		}
		rows = append(rows, []string{string(s.Standard), met(s.Met), need})
	}
	p.table(2, rows)
	p.head("Why")
	printReasons(p, v.Reasons, names)
	p.head("Who decides: %s.", roles(v.Decides))
}

func met(a thwart.Answer) string {
	switch a {
	case thwart.Yes:
		return "met"
	case thwart.No:
		return "not met"
	}
	return "not known"
}

func roles(list []thwart.Role) string {
	out := make([]string, len(list))
	for i, r := range list {
		out[i] = string(r)
	}
	if len(out) == 0 {
		return "the agency alone"
	}
	return strings.Join(out, ", ")
}

func craftWords(p *printer, s *thwart.Setup) string {
	name := plain(s.Class)
	if c, ok := refdata.CraftClassByID(s.Class); ok {
		name = c.Name
	}
	if s.LengthM > 0 {
		name += ", " + p.units.Length(s.LengthM)
	}
	return strings.ToUpper(name[:1]) + name[1:]
}

func origin(cs *thwart.Case, v *thwart.Verdict) string {
	text := "counts as from no water at risk"
	if v.AtRisk {
		text = "from a water at risk"
	}
	var waters []string
	for _, visit := range cs.Inspection.LastWaters {
		name := "a water nobody named"
		for _, w := range cs.Waters {
			if w.ID == visit.Water && w.ID != "" {
				name = w.ID
				if w.Name != "" {
					name = w.Name
				}
			}
		}
		if !slices.Contains(waters, name) {
			waters = append(waters, name)
		}
	}
	if len(waters) == 0 {
		waters = []string{"a water nobody named"}
	}
	text += " (" + strings.Join(waters, ", ") + ")"
	if v.DaysOut == nil {
		return text + ", time out not known"
	}
	return text + ", out for " + unit.Duration(*v.DaysOut*unit.SecondsPerDay)
}

// printReasons writes the reasons strictest first. Reasons of one kind at many places share a sentence, so that twenty
// places nobody looked at do not push the finding off the screen.
func printReasons(p *printer, reasons []thwart.Reason, names map[string]string) {
	type group struct {
		first  *thwart.Reason
		places []string
	}
	var groups []*group
	for i := range reasons {
		r := &reasons[i]
		k := slices.IndexFunc(groups, func(g *group) bool {
			return g.first.Code == r.Code && g.first.Outcome == r.Outcome && r.Place != "" && r.Finding == 0 && g.first.Finding == 0
		})
		if k < 0 {
			groups = append(groups, &group{first: r})
			continue
		}
		groups[k].places = append(groups[k].places, placeName(names, r.Place))
	}
	var rows [][]string
	for _, g := range groups {
		text := p.say(g.first.Text)
		if len(g.places) > 0 {
			text += fmt.Sprintf(" The same at %s: %s.", plural(len(g.places), "more place", "more places"), p.some(g.places))
		}
		rows = append(rows, []string{advice.Plate(g.first.Outcome), text + p.cite(g.first.Source)})
	}
	p.table(2, rows)
}

func placeName(names map[string]string, id string) string {
	if n := names[id]; n != "" {
		return n
	}
	return id
}

func placeList(names map[string]string, ids []string) []string {
	out := make([]string, len(ids))
	for i, id := range ids {
		out[i] = placeName(names, id)
	}
	return out
}

// fewPlaces is how many places of one step or reason are named unless all are asked for.
const fewPlaces = 6

// some names places: all of them with --full, otherwise the first few and how many more there are.
func (p *printer) some(names []string) string {
	if p.full || len(names) <= fewPlaces+1 {
		return strings.Join(names, "; ")
	}
	return fmt.Sprintf("%s; and %d more (--full names them)", strings.Join(names[:fewPlaces], "; "), len(names)-fewPlaces)
}

func organismName(id string) string {
	if o, ok := refdata.OrganismByID(id); ok {
		return o.Common
	}
	return plain(id)
}

func organismStage(organism, stage string) string {
	if organism == "" {
		return ""
	}
	return words(", ", organismName(organism), plain(stage))
}

func interval(r thwart.Range) string {
	return fmt.Sprintf("%s (%s to %s)", percent(r.Mid), percent(r.Lo), percent(r.Hi))
}

func printRisk(p *printer, r *thwart.Risk, names map[string]string) {
	if len(r.ByOrganism) == 0 {
		p.head("Risk that something alive is still aboard: not worked out.")
		for _, n := range r.Notes {
			p.item(2, "-", p.say(n))
		}
		return
	}
	p.head("Risk that something alive is still aboard: %s, %.0f %% interval",
		interval(r.Chance), 100*r.Level)
	var rows [][]string
	for i, o := range r.ByOrganism {
		if i == topRisks {
			rows = append(rows, []string{"", fmt.Sprintf("and %d more, each %s or less", len(r.ByOrganism)-i, percent(o.Chance.Mid))})
			break
		}
		rows = append(rows, []string{organismName(o.Organism), interval(o.Chance)})
	}
	p.table(2, rows)
	if len(r.Contributors) > 0 {
		p.line("  What adds most:")
		rows = nil
		for _, c := range r.Contributors[:min(len(r.Contributors), topRisks)] {
			rows = append(rows, []string{percent(c.Share), organismStage(c.Organism, c.Stage), placeName(names, c.Place)})
		}
		p.table(4, rows)
	}
	for _, n := range r.Notes {
		p.item(2, "-", p.say(n))
	}
}

// topRisks is how many organisms and contributors the text shows; --json gives all.
const topRisks = 6

// printFoot lists the sources and pins what the answer was computed with.
func printFoot(p *printer, v thwart.Versions) {
	p.sources()
	p.line("")
	p.para(0, words(", ", "engine "+v.Engine, "data "+v.Data, "protocol "+v.Protocol)+".")
}
