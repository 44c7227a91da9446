package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"thwart/advice"
	"thwart/internal/cli"
	"thwart/refdata"
	"thwart/unit"
)

// pages are the reference pages by file name.
var pages = map[string]func() string{
	"commands.md":   commandsPage,
	"exit-codes.md": exitCodesPage,
	"organisms.md":  organismsPage,
	"heat.md":       heatPage,
	"drying.md":     dryingPage,
	"risk.md":       riskPage,
	"craft.md":      craftPage,
	"protocols.md":  protocolsPage,
	"cautions.md":   cautionsPage,
	"sources.md":    sourcesPage,
}

const markers = "A row without a marker was read in a published source. **common practice** is what people of the trade do, with no" +
	" published source. **from memory** was recalled and not read again: it may be shown, it may make an answer stricter, it never" +
	" clears a craft. An empty cell means that nobody is known to have measured it; whatever is absent counts as unsafe."

func commandsPage() string {
	p := newPage("Commands", "Every command answers `--help` with the text below. Words on the command line are those of the trade."+
		" Exit codes have [their own page](exit-codes.md).")
	root := cli.Root()
	p.text("Flags that every command takes:")
	p.flags(root.PersistentFlags())
	for _, name := range cli.Names() {
		cmd, _, err := root.Find(strings.Fields(name))
		if err != nil {
			panic(err)
		}
		p.command(cmd)
	}
	for _, cmd := range root.Commands() {
		if cmd.IsAdditionalHelpTopicCommand() && cmd.Name() != "exit-codes" {
			p.head(cmd.Short)
			p.text(cmd.Long)
		}
	}
	return p.String()
}

func (p *page) command(cmd *cobra.Command) {
	p.head(cmd.CommandPath())
	p.text(cmd.Short + ".")
	p.text("    " + strings.TrimSuffix(cmd.UseLine(), " [flags]"))
	p.text(unfold(cmd.Long))
	p.flags(cmd.LocalFlags())
	if cmd.Example != "" {
		p.text("```sh\n" + unindent(cmd.Example) + "\n```")
	}
}

func (p *page) flags(flags *pflag.FlagSet) {
	var rows [][]string
	flags.VisitAll(func(f *pflag.Flag) {
		if f.Hidden || f.Name == "help" || f.Name == "version" {
			return
		}
		value := f.DefValue
		if value == "[]" || value == "false" {
			value = ""
		}
		rows = append(rows, []string{"`--" + f.Name + "`", f.Usage, code(value)})
	})
	if len(rows) > 0 {
		p.table([]string{"flag", "meaning", "default"}, rows)
	}
}

func unindent(text string) string {
	lines := strings.Split(text, "\n")
	for i := range lines {
		lines[i] = strings.TrimPrefix(lines[i], "  ")
	}
	return strings.Join(lines, "\n")
}

// unfold joins the wrapped lines of a help text into paragraphs.
func unfold(text string) string {
	paragraphs := strings.Split(text, "\n\n")
	for i := range paragraphs {
		paragraphs[i] = strings.ReplaceAll(paragraphs[i], "\n", " ")
	}
	return strings.Join(paragraphs, "\n\n")
}

func exitCodesPage() string {
	p := newPage("Exit codes", "The answer goes to standard output, whole or not at all; messages go to standard error.")
	var rows [][]string
	for _, c := range cli.ExitCodes {
		rows = append(rows, []string{fmt.Sprint(c.Code), c.Means, c.Example})
	}
	p.table([]string{"code", "meaning", "for example"}, rows)
	return p.String()
}

func organismsPage() string {
	p := newPage("Organisms", "What craft are looked over for, and for each stage how it travels, whether a person can find it, and what may clear it."+
		" A dash means that nothing published is shown to kill it that way. Figures: [heat](heat.md), [drying](drying.md).")
	p.text(markers)
	var rows [][]string
	for _, o := range refdata.Organisms() {
		rows = append(rows, []string{code(o.ID), o.Common, join(" ", "_"+o.Scientific+"_", o.Authority), strings.Join(o.Synonyms, "; "), plain(o.Group),
			key(o.GBIFKey, o.GBIFKnown), key(o.ITISTSN, o.ITISKnown), from(o.Provenance)})
	}
	p.table([]string{"id", "name", "scientific name", "also called", "group", "GBIF key", "ITIS number", "source"}, rows)
	p.head("Stages")
	rows = nil
	for _, o := range refdata.Organisms() {
		for _, s := range refdata.Stages(o.ID) {
			seen := map[refdata.Seen]string{refdata.SeenYes: "seen", refdata.SeenHard: "hard to see", refdata.SeenNo: "not seen"}[s.Seen]
			if s.Felt {
				seen += ", felt"
			}
			rows = append(rows, []string{o.Common, plain(s.Name), plains(s.Carried), seen, dash(s.HeatSpray), dash(s.HeatImmersion), basis(s.HeatBasis),
				model(s.Drying), basis(s.DryingBasis), model(s.WaterLeft), yes(s.HandRemoval), from(s.Provenance)})
		}
	}
	p.table([]string{"organism", "stage", "rides", "found by", "hot spray", "hot immersion", "heat rests on", "drying", "drying rests on",
		"in water left aboard", "comes off by hand", "source"}, rows)
	return p.String()
}

func key(id int, known refdata.Known) string {
	if id == 0 {
		return ""
	}
	if known != refdata.Published {
		return fmt.Sprintf("%d (%s)", id, known)
	}
	return fmt.Sprint(id)
}

func dash(id string) string {
	if id == "" {
		return "–"
	}
	return code(id)
}

func basis(b refdata.Basis) string { return join(": ", string(b.Kind), plain(b.Of)) }

func model(m refdata.Model) string { return join(" ", plain(m.Kind), code(m.ID)) }

func heatPage() string {
	p := newPage("Heat", "Bounds on the time at a temperature that has killed all, and the trials behind them. The temperature is that at the"+
		" organism, not at the nozzle. Spray and immersion are never mixed.")
	p.text(markers)
	p.head("Profiles")
	p.text("With T in °C and t in seconds: no credit below the lowest temperature; below the reference t = t_ref · 10^((T_ref − T)/z_below);" +
		" above it t = max(floor, t_ref · 10^(−(T − T_ref)/z_above)). Without z_below nothing is credited below the reference, without z_above" +
		" the time stays as it is. Grades: A several sources that were read agree, B one source that was read, C guidance or borrowed, D hardly any data.")
	var rows [][]string
	for _, h := range refdata.HeatProfiles() {
		limits := ""
		if h.MaxSourceWaterC != nil {
			limits = "only for animals from water at " + temps(*h.MaxSourceWaterC) + " or colder"
		}
		rows = append(rows, []string{code(h.ID), organism(h.Organism) + ", " + plain(h.Stage), plain(h.Application), temps(h.RefTempC), unit.Duration(h.RefTimeS),
			num(h.ZBelowK), num(h.ZAboveK), temps(h.MinTempC), unit.Duration(h.FloorS), string(h.Use), fig(h.MinFactor), string(h.Grade),
			join(". ", h.Basis, limits), strings.Join(h.EvidenceIDs, " "), from(h.Provenance)})
	}
	p.table([]string{"profile", "of", "by", "T_ref", "t_ref", "z_below, °C", "z_above, °C", "lowest", "floor", "for", "least factor", "grade", "rests on",
		"trials", "source"}, rows)
	p.head("Trials")
	rows = nil
	for _, e := range refdata.HeatEvidences() {
		rows = append(rows, []string{e.ID, join(", ", e.Subject, plain(e.Stage), e.StageDetail), join(", ", plain(e.Application), e.Setting),
			bounded(e.TempBound, tempOrNone(e.TempC)), bounded(e.ExposureBound, span(e.ExposureS)), plain(e.Result), join(" ", share(e.Mortality), e.MortalityText),
			e.Acclimation, e.Sample, e.Refused, from(e.Provenance)})
	}
	p.table([]string{"id", "of", "by", "temperature", "time", "result", "died", "from water at", "sample", "not used because", "source"}, rows)
	return p.String()
}

func share(v *float64) string {
	if v == nil {
		return ""
	}
	return fig(*v*100) + " %"
}

func organism(id string) string {
	if o, ok := refdata.OrganismByID(id); ok {
		return o.Common
	}
	return plain(id)
}

func dryingPage() string {
	p := newPage("Drying", "What kills in air, and for how long larvae live in water left aboard.")
	p.text(markers)
	p.head("Mussels: two curves")
	p.text("With T in °C, e(T) = 0.6108 · exp(17.27 T/(T + 237.3)) kPa and D the vapour-pressure deficit e(T)(1 − RH/100) held between its limits:" +
		" λ = λ_ref · exp(−b (min(T, T_max) − T_ref)) · (D/D_ref)^(−v) days; A = Σ dt/λ, no time counted below T_min; alive = exp(−A^shape)." +
		" A craft passes only when every curve for release reaches its A.")
	var rows [][]string
	for _, s := range refdata.DryingSets() {
		rows = append(rows, []string{code(s.ID), yes(s.Display), yes(s.Release), fig(s.TempSlopePerK), fig(s.VPDExponent), fig(s.Shape), fig(s.LargeD), fig(s.SmallD),
			fig(s.JuvenileD), fig(s.ClearA), temps(s.RefTempC) + ", " + fig(s.RefRHPct) + " %", temps(s.MinTempC) + " to " + temps(s.MaxTempC),
			fig(s.MinVPDKPa) + " to " + fig(s.MaxVPDKPa), fig(s.WetRHPct), string(s.Grade), s.Basis, from(s.Provenance)})
	}
	p.table([]string{"curve", "shown", "for release", "b, per °C", "v", "shape", "λ large, d", "λ small, d", "λ juvenile, d", "A to clear", "reference air",
		"temperatures", "D, kPa", "humidity where it stays wet, %", "grade", "rests on", "source"}, rows)
	p.text("How far the answer hangs on what was assumed, in days to one in a thousand alive:")
	rows = nil
	for _, f := range refdata.DryingRefits() {
		rows = append(rows, []string{f.Variant, fig(f.Cost), fig(f.Shape), fig(f.Large20C50D), fig(f.Large10C95D), fig(f.Large5C80D), fig(f.Large30CDryD),
			fig(f.Small20C50D), fig(f.Juvenile20C50D), fig(f.Juvenile10C95D), from(f.Provenance)})
	}
	p.table([]string{"fit", "cost", "shape", "large, 20 °C 50 %", "large, 10 °C 95 %", "large, 5 °C 80 %", "large, 30 °C dry", "small, 20 °C 50 %",
		"juvenile, 20 °C 50 %", "juvenile, 10 °C 95 %", "source"}, rows)
	p.head("The others: a drying dose")
	p.text("The vapour-pressure deficit summed over open drying, in kPa·h, and a least time on the clock. Both must be met; between the last dose" +
		" at which anything was alive and the clearing one the answer is \"not shown dead\".")
	rows = nil
	for _, d := range refdata.DryingDoses() {
		clear := num(d.ClearKPaH)
		if d.ClearKPaH == nil {
			clear = "none clears it"
		}
		rows = append(rows, []string{code(d.ID), organism(d.Organism) + ", " + plain(d.Stage), num(d.LastAliveKPaH), clear, num(d.MinH), string(d.Grade), d.Basis,
			strings.Join(d.EvidenceIDs, " "), from(d.Provenance)})
	}
	p.table([]string{"dose", "of", "last alive, kPa·h", "clears, kPa·h", "at least, h", "grade", "rests on", "trials", "source"}, rows)
	p.head("In water left aboard")
	p.text("Days after which none are expected alive: exp(a − b·T), T held between its limits.")
	rows = nil
	for _, m := range refdata.ResidualModels() {
		rows = append(rows, []string{code(m.ID), organism(m.Organism) + ", " + plain(m.Stage), fig(m.LnDaysAt0C), fig(m.SlopePerK),
			temps(m.MinTempC) + " to " + temps(m.MaxTempC), string(m.Grade), m.Basis, from(m.Provenance)})
	}
	p.table([]string{"model", "of", "a", "b, per °C", "temperatures", "grade", "rests on", "source"}, rows)
	rows = nil
	for _, e := range refdata.ResidualEvidences() {
		rows = append(rows, []string{e.ID, join(", ", e.Subject, plain(e.Stage), e.StageDetail), tempOrNone(e.TempC), e.Setting, num(e.Days), plain(e.Kind), from(e.Provenance)})
	}
	p.table([]string{"id", "of", "temperature", "in", "days", "result", "source"}, rows)
	p.head("Trials in air")
	rows = nil
	for _, e := range refdata.DryingEvidences() {
		rows = append(rows, []string{e.ID, join(", ", e.Subject, plain(e.Stage), e.StageDetail), tempOrNone(e.TempC), join(" ", num(e.RHPct), e.Humidity),
			upTo(e.TimeH, e.TimeToH), join(" ", share(e.Survival), e.SurvivalText), plain(e.Outcome), plain(e.Kind), e.Condition, from(e.Provenance)})
	}
	p.table([]string{"id", "of", "temperature", "humidity, %", "hours", "alive", "says", "form", "condition", "source"}, rows)
	p.head("Chemicals and frost")
	p.text("Published results, for reading. Labels, law and materials come first, and no agent is ever proposed unless the programme's own protocol allows it.")
	rows = nil
	for _, t := range refdata.AgentTrials() {
		rows = append(rows, []string{t.ID, join(", ", t.Subject, plain(t.Stage), t.StageDetail), t.Agent, t.Strength, tempOrNone(t.TempC),
			join(" to ", span(t.TimeS), span(t.TimeToS)), join(" ", share(t.Mortality), t.MortalityText), from(t.Provenance)})
	}
	p.table([]string{"id", "of", "agent", "strength", "temperature", "time", "died", "source"}, rows)
	return p.String()
}

func riskPage() string {
	p := newPage("Risk", "What is known, before a programme has findings of its own, of carrying and finding: the numbers behind the risk of one craft.")
	p.text(markers)
	p.head("Carrying")
	p.text("The chance that a craft leaving an infested water carries the organism: Beta(α, β), wide on purpose.")
	var rows [][]string
	for _, c := range refdata.CarryingPriors() {
		rows = append(rows, []string{code(c.Scope), plain(c.Exposure), fig(c.Alpha), fig(c.Beta), yes(c.Assumption), c.Derivation, from(c.Provenance)})
	}
	p.table([]string{"of", "craft", "α", "β", "assumption", "derivation", "source"}, rows)
	p.head("Finding")
	p.text("The chance that a full look finds what is there: Beta(α, β).")
	rows = nil
	for _, d := range refdata.DetectionPriors() {
		rows = append(rows, []string{plain(d.Class), plain(d.Who), fig(d.Alpha), fig(d.Beta), yes(d.Assumption), d.Derivation, from(d.Provenance)})
	}
	p.table([]string{"what", "who", "α", "β", "assumption", "derivation", "source"}, rows)
	rows = nil
	for _, d := range refdata.DetectionResults() {
		rows = append(rows, []string{d.Who, d.Target, share(d.Share), upTo(d.Low, d.High), num(d.N), d.Design, from(d.Provenance)})
	}
	p.table([]string{"who", "what", "found or removed", "interval", "n", "design", "source"}, rows)
	p.head("Taking off")
	rows = nil
	for _, r := range refdata.Removals() {
		rows = append(rows, []string{r.ID, plain(r.Method), plain(r.Target), share(r.Mean), share(r.SE), r.Sample, r.ResultText, from(r.Provenance)})
	}
	p.table([]string{"id", "method", "what", "share", "standard error", "sample", "result", "source"}, rows)
	p.head("What rides where")
	rows = nil
	for _, l := range refdata.Loads() {
		rows = append(rows, []string{l.ID, l.Where, l.What, join(" ", bounded(l.Bound, upTo(l.Value, l.ValueTo)), l.ValueText), l.Unit, from(l.Provenance)})
	}
	p.table([]string{"id", "where", "what", "value", "unit", "source"}, rows)
	p.head("Seasons to hold one's own against")
	rows = nil
	for _, s := range refdata.SeasonChecks() {
		rows = append(rows, []string{s.Programme, s.Period, num(s.Inspections), s.What, num(s.Count), upTo(s.ShareLowPct, s.ShareHighPct), from(s.Provenance)})
	}
	p.table([]string{"programme", "period", "inspections", "what", "count", "% of inspections", "source"}, rows)
	return p.String()
}

func craftPage() string {
	p := newPage("Craft", "The words a setup may use, and every place that is looked at. What a setup leaves out of its own is taken as usual for the class.")
	p.text(markers)
	p.head("Classes")
	var rows [][]string
	for _, c := range refdata.CraftClasses() {
		var spaces []string
		for _, u := range c.Spaces {
			n := fmt.Sprint(u.Count)
			if u.Count == refdata.CountNotKnown {
				n = "?"
			}
			text := n + " " + plain(u.Kind)
			if u.VolumeL > 0 {
				text += " of " + fig(u.VolumeL) + " L"
			}
			spaces = append(spaces, text)
		}
		rows = append(rows, []string{code(c.ID), c.Name, strings.Join(c.Words, "; "), plain(c.Complexity),
			fmt.Sprintf("%s (%s to %s)", fig(c.LengthM), fig(c.MinLengthM), fig(c.MaxLengthM)), fig(c.BeamM), plains(c.Drives), strings.Join(spaces, "; "),
			c.Trailer, plains(c.Gear), from(c.Provenance)})
	}
	p.table([]string{"class", "name", "also called", "kind", "length, m", "beam, m", "drives", "compartments", "trailer", "gear", "source"}, rows)
	p.head("Drives")
	rows = nil
	for _, d := range refdata.DriveFactsList() {
		rows = append(rows, []string{code(d.ID), d.Name, yes(d.TakesWaterIn), d.CoolingPath, d.WhereWaterStays, d.Drain, d.FlushBy, d.Caution, from(d.Provenance)})
	}
	p.table([]string{"drive", "name", "takes water in", "cooling", "water stays in", "drain", "flush by", "caution", "source"}, rows)
	p.head("Compartments")
	rows = nil
	for _, s := range refdata.SpaceFactsList() {
		rows = append(rows, []string{code(s.ID), s.Name, yes(s.Hidden), s.EmptyBy, upTo(s.TogetherLowL, s.TogetherHighL), num(s.ResidualL), from(s.Provenance)})
	}
	p.table([]string{"compartment", "name", "cannot be seen into", "empty by", "all together, L", "left after draining, L", "source"}, rows)
	p.head("Gear")
	rows = nil
	for _, g := range refdata.GearKinds() {
		rows = append(rows, []string{code(g.ID), g.Name, strings.Join(g.Words, "; "), yes(g.Cloth), from(g.Provenance)})
	}
	p.table([]string{"gear", "name", "also called", "rope, mesh or cloth", "source"}, rows)
	p.head("Places")
	p.text("A craft has the places that its class, drives, compartments, trailer and gear give it; `thwart round` lists those of one craft. The weight" +
		" is the share of what rides along that is expected there, relative to the others; the seconds are an assumption.")
	rows = nil
	for _, r := range refdata.PlaceRows() {
		secs := fig(r.Seconds)
		if r.SecondsPM > 0 {
			secs += " + " + fig(r.SecondsPM) + " per m"
		}
		rows = append(rows, []string{code(r.ID), r.Name, plain(r.Zone), plain(r.Part), plain(r.Posture), plains(r.Tasks), plain(r.Holds), yes(r.Hidden), plains(r.Carries),
			fig(r.Weight), secs, r.Say, r.Why, from(r.Provenance)})
	}
	p.table([]string{"place", "name", "zone", "part", "posture", "tasks", "holds water", "cannot be seen into", "carries", "weight", "seconds", "what to do", "why", "source"}, rows)
	return p.String()
}

func protocolsPage() string {
	p := newPage("Protocols", "Snapshots of rules as far as they could be read, with their dates. **None is confirmed**: a person of the programme has to"+
		" check a protocol against the law in force before it is more than practice. `thwart protocols <id>` says one in words.")
	p.text(markers)
	var rows [][]string
	for _, pr := range advice.Protocols() {
		rows = append(rows, []string{code(pr.ID), pr.Title, pr.TextDate, pr.Summary, code(pr.WashTable), codes(pr.DryTables), links(pr.Sources)})
	}
	p.table([]string{"protocol", "title", "text of", "in short", "wash table", "drying tables", "sources"}, rows)
	p.head("Wash tables")
	rows = nil
	for _, name := range refdata.WashTables() {
		for _, w := range refdata.WashTable(name) {
			contact := span(w.ContactS)
			if w.UntilExit {
				contact = "until it leaves hot"
			}
			limits := ""
			if w.PressureMaxBar != nil {
				limits = "at most " + unit.Metric.Pressure(*w.PressureMaxBar)
			}
			if w.MaxInletC != nil {
				limits = join(", ", limits, "going in at "+unit.Metric.Temp(*w.MaxInletC)+" at most")
			}
			rows = append(rows, []string{code(name), string(w.Kind), w.Place, w.Part, w.Risk, join(" ", tempOrNone(w.TempC)), w.Printed, plain(w.Measured), contact,
				plain(w.Method), limits, notUsed(w.Usable(), w.Adopts), from(w.Provenance)})
		}
	}
	p.table([]string{"table", "kind", "place", "part", "risk", "temperature", "as printed", "read", "for", "by", "limits", "as a rule", "source"}, rows)
	p.head("Drying tables")
	rows = nil
	for _, name := range refdata.DryProfiles() {
		for _, d := range refdata.DryRules(name) {
			time := num(d.Days) + " days"
			switch {
			case d.Never:
				time = "may not launch here"
			case d.NotAccepted:
				time = "no drying is accepted"
			case d.FreezingH != nil:
				time = num(d.FreezingH) + " h below freezing"
			case d.Days == nil:
				time = ""
			}
			var months []string
			for _, m := range d.Months {
				months = append(months, m.String()[:3])
			}
			rows = append(rows, []string{code(name), string(d.Kind), plain(d.Applies), strings.Join(months, " "), time, d.UsedIn, plain(d.From), d.Condition,
				notUsed(d.Usable(), ""), from(d.Provenance)})
		}
	}
	p.table([]string{"table", "kind", "for", "months", "time", "used in", "clock from", "only in", "as a rule", "source"}, rows)
	p.head("Who may do what")
	rows = nil
	for _, w := range refdata.Authorities() {
		rows = append(rows, []string{w.Place, w.InspectorMay, w.NeedsOfficer, w.ConsentOrNotice, from(w.Provenance)})
	}
	p.table([]string{"place", "an inspector may", "takes an officer", "consent and notice", "source"}, rows)
	p.head("Proof that travels with a craft")
	rows = nil
	for _, s := range refdata.SealKinds() {
		rows = append(rows, []string{code(s.ID), s.Form, s.Meaning, s.FittedBy, s.Ends, from(s.Provenance)})
	}
	p.table([]string{"kind", "form", "means", "fitted by", "ends", "source"}, rows)
	p.head("Conflicts, gaps and warnings")
	rows = nil
	for _, n := range refdata.RuleNotes() {
		rows = append(rows, []string{n.Topic, n.Text, from(n.Provenance)})
	}
	p.table([]string{"topic", "what", "source"}, rows)
	p.head("Prices and settings")
	p.text("For scale, never a default: money is a local input.")
	rows = nil
	for _, list := range [][]refdata.Figure{refdata.Equipment(), refdata.Costs()} {
		for _, f := range list {
			rows = append(rows, []string{f.Item, upTo(f.Low, f.High), f.Unit, f.Year, from(f.Provenance)})
		}
	}
	p.table([]string{"item", "value", "unit", "year", "source"}, rows)
	return p.String()
}

func notUsed(usable bool, adopts string) string {
	if usable {
		return ""
	}
	return join(", ", "not used", adopts)
}

func codes(list []string) string {
	out := make([]string, len(list))
	for i, s := range list {
		out[i] = code(s)
	}
	return strings.Join(out, ", ")
}

func links(sources []string) string {
	return from(refdata.Provenance{SourceIDs: sources, Known: refdata.Published})
}

func cautionsPage() string {
	p := newPage("Cautions", "What can hurt a person or a craft, in the words that stand beside the step. Local law, makers' manuals and licensed"+
		" practice come before all of them.")
	p.text(markers)
	p.head("At the wash")
	var rows [][]string
	for _, c := range refdata.Cautions() {
		called := plains(c.Triggers)
		if c.MinTempC != nil {
			called = join(", ", called, "water of "+temps(*c.MinTempC)+" or more")
		}
		rows = append(rows, []string{c.Hazard, c.Text, called, c.DeferTo, from(c.Provenance)})
	}
	p.table([]string{"hazard", "words", "called up by", "whose word counts", "source"}, rows)
	p.head("On the round")
	rows = nil
	for _, c := range roundCautions() {
		rows = append(rows, []string{c.Text, from(c.Provenance)})
	}
	p.table([]string{"words", "source"}, rows)
	p.head("How long hot water takes to burn")
	rows = nil
	for _, s := range refdata.ScaldTimes() {
		rows = append(rows, []string{temps(s.TempC), s.Person, span(s.SecondDegreeS), span(s.ThirdDegreeS), from(s.Provenance)})
	}
	p.table([]string{"water", "person", "second degree", "third degree", "source"}, rows)
	p.head("What parts of a craft bear")
	p.text("No limit published is no leave to go higher.")
	rows = nil
	for _, m := range refdata.MaterialLimits() {
		rows = append(rows, []string{m.Item, m.Quantity, num(m.Min), num(m.Max), m.Unit, plain(m.Avoid), from(m.Provenance)})
	}
	p.table([]string{"part", "what", "at least", "at most", "unit", "keep off", "source"}, rows)
	return p.String()
}

// roundCautions gathers the cautions that places call up, in the order they first come up, and those of a whole round.
func roundCautions() []refdata.RoundCaution {
	var list []refdata.RoundCaution
	seen := map[string]bool{}
	add := func(id string) {
		if c, ok := refdata.RoundCautionByID(id); ok && !seen[id] {
			seen[id] = true
			list = append(list, c)
		}
	}
	for _, id := range []string{"chocks", "key_out", "ask_first", "board"} {
		add(id)
	}
	for _, r := range refdata.PlaceRows() {
		for _, id := range r.Cautions {
			add(id)
		}
	}
	return list
}

func sourcesPage() string {
	p := newPage("Sources", "Every paper, rule, page and account that the library cites, and how each was read. A source marked from memory was not"+
		" read: its numbers are recalled and clear nothing.")
	var rows [][]string
	for _, s := range refdata.Sources() {
		known := ""
		if s.Known != refdata.Published {
			known = string(s.Known)
		}
		rows = append(rows, []string{anchor(s.ID), s.Citation, s.Where, s.Seen, join(". ", known, s.Note)})
	}
	p.table([]string{"id", "citation", "where", "read", "note"}, rows)
	return p.String()
}

func anchor(id string) string { return fmt.Sprintf(`<a id="%s"></a>%s`, strings.ToLower(id), id) }
