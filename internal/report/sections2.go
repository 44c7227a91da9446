package report

import (
	"math"
	"slices"
	"strings"

	"thwart/draw/chart"
	"thwart/refdata"
	"thwart/season/figures"
)

func sqrt(x float64) float64 { return math.Sqrt(x) }

func (m *maker) found() {
	f := m.get("found")
	lead := m.t("Nothing was found.")
	if f.Known && f.X > 0 {
		lead = m.f("Something was found on %s of craft inspected.", m.share(f))
	}
	var kinds []string
	for _, k := range []struct{ id, words string }{{"plant", m.t("plants")}, {"water", m.t("standing water")}, {"mud", m.t("mud")}, {"animal", m.t("attached animals")}} {
		if g := m.get(k.id); g.Known && g.X > 0 {
			kinds = append(kinds, m.f("%s on %s", k.words, m.share(g)))
		}
	}
	text := ""
	if len(kinds) > 0 {
		text = first(m.list(kinds)) + ". " + m.t("A craft may carry several.") + " "
	}
	text += m.t("What is found on a craft out of the water says nothing of the water at the launch. Stewards' names of organisms are taken as written, and a look misses some of what is there, so true shares are larger.")
	m.section("found", m.t("What was found"), true, Lead{lead}, Para{text}, m.organisms(), m.places(), m.placeTable(), m.foundByLaunch())
}

func (m *maker) organisms() Block {
	rows := m.s.Table("organism").Rows
	if len(rows) == 0 {
		return Para{m.t("No finding was named as an organism of the library.")}
	}
	var bars []chart.Bar
	for i := range rows {
		g := rows[i].Get("found")
		if _, listed := refdata.OrganismByID(rows[i].Key); !listed || !g.Known || g.Interval == nil {
			continue
		}
		d := decimals(100 * (g.Interval.Hi - g.Interval.Lo))
		bars = append(bars, chart.Bar{Label: m.organismName(rows[i].Key), Value: g.Value * 100, Lo: g.Interval.Lo * 100, Hi: g.Interval.Hi * 100,
			Words: m.f("%s: %s", m.some(g.X, "craft", "craft"), m.between(g.Interval.Scale(100), d, "%"))})
	}
	if len(bars) == 0 {
		return Para{m.t("No finding was named as an organism of the library.")}
	}
	return Picture{Scene: chart.Bars(bars, chart.BarOptions{Title: m.t("Share of craft inspected with each organism"), Axis: m.t("% of craft inspected, interval at 95 %")}, m.in.Measure),
		Caption: m.t("Craft with each organism, as named by stewards, of craft inspected. The bar is the interval for craft such as those that were met."),
		Alt:     m.f("%s; the most frequent was %s: %s.", first(m.some(len(bars), "organism was named", "organisms were named")), bars[0].Label, bars[0].Words)}
}

// places joins the places of one row, numbered and mirrored, and draws them on a craft in plan.
func (m *maker) places() Block {
	sums := map[string]float64{}
	for _, r := range m.s.Table("place").Rows {
		key := r.Key
		if row := refdata.PlaceRowOf(r.Key); row != nil {
			key = row.ID
		}
		sums[key] += ptr(r).Get("findings").Value
	}
	var dots []chart.PlaceDot
	for _, row := range refdata.PlaceRows() {
		if n := sums[row.ID]; n > 0 {
			dots = append(dots, chart.PlaceDot{Name: m.placeName(row.ID), Along: row.X + row.DXM/usualLengthM, Across: row.Y, Mirror: row.Mirror, Amount: n})
		}
	}
	if len(dots) == 0 {
		return nil
	}
	slices.SortStableFunc(dots, func(a, b chart.PlaceDot) int { return int(b.Amount - a.Amount) })
	return Picture{Scene: chart.Places(dots, m.t("Where on the craft things were found, seen from above"), m.in.Measure), Caption: m.t("Where things were found, on a craft and its trailer seen from above, bow to the left. Dots have the area of findings; places on both sides are joined, and numbers are those of the table. Craft differ, so places lie only about where they are."),
		Alt: m.f("Plan of a craft on its trailer. Most findings were at: %s.", strings.ToLower(dots[0].Name))}
}

// usualLengthM turns metres aft into shares of a craft's length: that of a runabout.
const usualLengthM = 5.8

func ptr[T any](v T) *T { return &v }

func (m *maker) placeTable() Block {
	type sum struct {
		name  string
		found int
	}
	sums := map[string]*sum{}
	for _, r := range m.s.Table("place").Rows {
		key := r.Key
		if row := refdata.PlaceRowOf(r.Key); row != nil {
			key = row.ID
		}
		if sums[key] == nil {
			sums[key] = &sum{name: m.placeName(key)}
		}
		sums[key].found += int(ptr(r).Get("findings").Value)
	}
	var rows []*sum
	for _, k := range sortedKeys(sums) {
		rows = append(rows, sums[k])
	}
	slices.SortStableFunc(rows, func(a, b *sum) int { return b.found - a.found })
	counts := make([]int, len(rows))
	all := 0
	for i, r := range rows {
		counts[i] = r.found
		all += r.found
	}
	shown := m.cells(counts)
	t := Table{Caption: m.t("Places where most was found"), Columns: []Column{{Head: m.t("Place")}, {Head: m.t("Findings"), Numeric: true}, {Head: m.t("Share of all findings"), Numeric: true}}}
	for i, r := range rows {
		if i == 8 {
			break
		}
		part := "–"
		if r.found >= 5 {
			part = m.percent(float64(r.found) / float64(all))
		}
		t.Rows = append(t.Rows, []string{m.f("%d. %s", i+1, r.name), shown[i], part})
	}
	if len(t.Rows) == 0 {
		return nil
	}
	return t
}

func (m *maker) foundByLaunch() Block {
	all := m.s.Table("launch").Rows
	var bars []chart.Bar
	for i := range all {
		g := all[i].Get("found")
		if !g.Known || g.Interval == nil || g.X < 5 || g.N-g.X < 5 {
			continue
		}
		d := decimals(100 * (g.Interval.Hi - g.Interval.Lo))
		bars = append(bars, chart.Bar{Label: all[i].Name, Value: g.Value * 100, Lo: g.Interval.Lo * 100, Hi: g.Interval.Hi * 100, Words: m.between(g.Interval.Scale(100), d, "%")})
	}
	if len(bars) < 2 {
		return nil
	}
	bars = bars[:min(len(bars), 12)]
	return Picture{Scene: chart.Bars(bars, chart.BarOptions{Title: m.t("Share of craft with anything found, by launch"), Axis: m.t("% of craft inspected, interval at 95 %")}, m.in.Measure),
		Caption: m.t("Anything found, by launch, the launches with most craft first. Where intervals overlap much, the records do not tell launches apart. Launches with fewer than five such craft are left out."),
		Alt:     m.t("Shares and intervals by launch; the numbers stand at the end of each row.")}
}

func sortedKeys[V any](m map[string]V) []string {
	var out []string
	for k := range m {
		out = append(out, k)
	}
	slices.Sort(out)
	return out
}

func (m *maker) standards() {
	f := m.get("clean_drained_dry")
	lead := m.t("Whether craft arrived clean, drained and dry was not settled for any.")
	if f.Known {
		lead = first(m.f("%s arrived clean, drained and dry.", m.share(f)))
	}
	t := Table{Caption: m.t("How craft arrived"), Columns: []Column{{Head: m.t("Standard")}, {Head: m.t("Met"), Numeric: true}, {Head: m.t("Of craft for which it was settled"), Numeric: true}, {Head: m.t("Season before"), Numeric: true}, {Head: m.t("Change, points"), Numeric: true}}}
	for _, id := range []string{"clean", "drained", "dry", "clean_drained_dry", "plugs_out"} {
		g := m.get(id)
		before, points := m.t("no records"), "–"
		if b := g.Before; b != nil {
			before = m.percent(b.Value)
			if b.Change != nil {
				d := decimals(100 * (b.Change.Hi - b.Change.Lo))
				points = m.fixed(100*b.Change.Mid, d) + " (" + m.between(b.Change.Scale(100), d, "") + ")"
			}
		}
		t.Rows = append(t.Rows, []string{m.term(g.Label), m.share(g), m.whole(float64(g.N)), before, points})
	}
	m.section("standards", m.t("Clean, drained, dry"), false, Lead{lead}, Para{m.before(f, m.t("the share that arrives clean, drained and dry"))}, t,
		Small{m.t("As judged by the rules in force. Craft for which it was not settled are in neither number.")}, m.outcomes())
}

func (m *maker) outcomes() Block {
	var bars []chart.Bar
	for _, f := range m.s.Figures {
		if !strings.HasPrefix(f.ID, "outcome_") || !f.Known || f.Interval == nil {
			continue
		}
		bars = append(bars, chart.Bar{Label: strings.TrimPrefix(m.term(f.Label), m.term("Left with: ")), Value: 100 * f.Value, Lo: 100 * f.Interval.Lo, Hi: 100 * f.Interval.Hi,
			Words: m.f("%s: %s", m.whole(float64(f.X)), m.shareOnly(f))})
	}
	if len(bars) == 0 {
		return nil
	}
	return Picture{Scene: chart.Bars(bars, chart.BarOptions{Title: m.t("What craft left with"), Axis: m.t("% of craft judged, interval at 95 %")}, m.in.Measure), Caption: m.t("What craft left with, of craft judged."),
		Alt: m.t("Shares of craft judged by outcome; the numbers stand at the end of each row.")}
}

func (m *maker) washes() {
	w, met, whole2 := m.n("washes"), m.get("wash_steps_met"), m.get("washes_met")
	if w == 0 {
		m.section("washes", m.t("Washes"), false, Lead{m.t("No craft was washed.")})
		return
	}
	water, fuel := m.get("wash_water"), m.get("wash_fuel")
	text := ""
	if water.Known {
		text = first(m.f("%s noted their water: %s in all, %s a wash.", m.some(water.N, "wash", "washes"), m.litres(water.Value), m.litres(water.Value/float64(water.N)))) + " "
	}
	if fuel.Known {
		text += first(m.f("%s noted their fuel: %s.", m.some(fuel.N, "wash", "washes"), m.litres(fuel.Value))) + " "
	}
	if met.Known {
		text += m.f("Of the steps that were owed, %s were done as the rules ask, temperature and time as logged; %s of washes met every step.", m.share(met), m.share(whole2))
	}
	m.section("washes", m.t("Washes, water and temperatures met"), false, Lead{first(m.some(w, "craft was washed", "craft were washed")) + "."}, Para{text},
		Small{m.t("A step that met the rules is a step done as the rules ask. Whether it kills every organism is another question, which the programme answers wash by wash.")})
}

func (m *maker) refusals() {
	f := m.get("refused")
	lead := m.t("No boater declined.")
	if f.X > 0 {
		lead = m.f("%s: %s of craft met.", first(m.some(f.X, "boater declined", "boaters declined")), m.share(f))
	}
	rows := m.s.Table("launch").Rows
	var names []string
	for i := range rows {
		if g := rows[i].Get("refused"); g.X >= 5 {
			names = append(names, rows[i].Name+" "+m.share(g))
		}
	}
	text := ""
	if len(names) > 0 {
		text = m.f("Five or more declined at %s. Elsewhere there were fewer than five, which is not told by launch.", m.list(names))
	}
	beside := m.n("refused_beside")
	if beside > 0 {
		text += " " + first(m.some(beside, "more was counted without a record of their own.", "more were counted without a record of their own."))
	}
	m.section("refusals", m.t("Boaters who declined"), false, Lead{lead}, Para{strings.TrimSpace(text)}, Small{m.t("A refusal is written down and never argued with, and never counts as a pass.")})
}

func (m *maker) skill() {
	if len(m.in.Skills) == 0 {
		m.section("skill", m.t("What stewards find"), false, Missing{m.said(m.in.SkillsMissing)})
		return
	}
	t := Table{Caption: m.t("Objects planted on craft, and things found by a second look"), Columns: []Column{{Head: m.t("Kind")}, {Head: m.t("Found"), Numeric: true}, {Head: m.t("Of"), Numeric: true}, {Head: m.t("Chance of the average person"), Numeric: true}, {Head: m.t("Published"), Numeric: true}}}
	var says []string
	for _, s := range m.in.Skills {
		d := decimals(100 * (s.Mean.Hi - s.Mean.Lo))
		row := []string{m.term(s.Class), m.whole(float64(s.Found)), m.whole(float64(s.Trials)), m.t("fewer than 10 objects"), "–"}
		if s.Trials >= 10 {
			row[3] = m.fixed(100*s.Mean.Mid, d) + nb + "% (" + m.between(s.Mean.Scale(100), d, "%") + ")"
			says = append(says, m.f("%s %s %%", m.term(s.Class), m.between(s.Mean.Scale(100), d, "")))
		}
		if s.Published > 0 {
			row[4] = m.percent(s.Published)
		}
		t.Rows = append(t.Rows, row)
	}
	lead := m.t("Too few objects were planted to say what stewards find.")
	if len(says) > 0 {
		lead = m.f("Of what is there, the average steward finds: %s.", m.list(says))
	}
	m.section("skill", m.t("What stewards find"), false, Lead{lead}, t, Small{m.t("Trials are for practice. They are never a table of merit, and no person is named or can be told from this page.")})
}

func (m *maker) riskSentence(r Risk) string {
	st := r.stopped()
	name := m.organismName(r.Organism)
	return m.f("An estimated %s craft arrived with %s alive aboard (%s); stewards are estimated to have stopped about %s of them (%s).", m.about(r.Arriving.Mid), name, m.range2(r.Arriving), m.about(st.Mid), m.range2(st))
}

func (m *maker) risk() {
	blocks := []Block{}
	if t := m.in.Traffic; t != nil {
		s := m.f("The season is estimated to have had %s arrivals at all launches, met or not", m.about(t.Arrivals.Mid))
		if t.Arrivals.Hi > t.Arrivals.Lo {
			s += " (" + m.range2(t.Arrivals) + ")"
		}
		s += m.f(", and about %s passages between waters. Hours on site are taken into account; where nobody stood, traffic is borrowed from launches and waters like it.", m.about(t.Between))
		blocks = append(blocks, Para{s})
	} else {
		blocks = append(blocks, Missing{m.said(m.in.TrafficMissing)})
	}
	if len(m.in.Risks) == 0 {
		m.section("risk", m.t("Passages and risk"), true, append(blocks, Missing{m.said(m.in.RisksMissing)})...)
		return
	}
	t := Table{Caption: m.t("Craft that arrive with an organism alive aboard, over the season"), Columns: []Column{{Head: m.t("Organism")}, {Head: m.t("Arriving"), Numeric: true}, {Head: m.t("Not found by anyone"), Numeric: true}, {Head: m.t("Stopped"), Numeric: true}}}
	for _, r := range m.in.Risks {
		cell := func(x string, i string) string { return x + " (" + i + ")" }
		st := r.stopped()
		t.Rows = append(t.Rows, []string{m.organismName(r.Organism), cell(m.about(r.Arriving.Mid), m.range2(r.Arriving)), cell(m.about(r.Through.Mid), m.range2(r.Through)), cell(m.about(st.Mid), m.range2(st))})
	}
	t.Note = m.t("Intervals at 95 %. For what was stopped, the share that is stopped is taken as known and the number arriving as not.")
	blocks = append([]Block{Lead{m.riskSentence(m.in.Risks[0])}}, blocks...)
	blocks = append(blocks, t, m.costs())
	if t := m.in.Traffic; t != nil && len(t.Warnings) > 0 {
		blocks = append(blocks, Small{m.f("What the model warns of: %s", m.saidAll(t.Warnings))})
	}
	m.section("risk", m.t("Passages and risk"), true, blocks...)
}

func (m *maker) costs() Block {
	c := m.in.Programme.Costs
	if c.PerStewardHour == 0 {
		return Missing{m.t("What a craft met and a risk stopped cost is not told: the programme's record names no cost of a steward-hour.")}
	}
	hours, washes := m.get("steward_hours").Value, float64(m.n("washes"))
	cost := hours*c.PerStewardHour + washes*c.PerWash
	text := m.f("At %s a steward-hour and %s a wash, as the programme's record has them, the season's work cost %s: %s a craft met.", m.money(c.PerStewardHour), m.money(c.PerWash), m.money(cost), m.money(cost/math.Max(1, float64(m.n("met")))))
	var stopped num3
	for _, r := range m.in.Risks {
		s := r.stopped()
		stopped.lo, stopped.mid, stopped.hi = stopped.lo+s.Lo, stopped.mid+s.Mid, stopped.hi+s.Hi
	}
	if stopped.lo > 0 {
		text += " " + m.f("For each craft stopped with an invader alive aboard that is about %s (%s to %s, from the doubt about how many arrive). Travel, training and the office are not in it.", m.money(cost/stopped.mid), m.money(cost/stopped.hi), m.money(cost/stopped.lo))
	}
	return Para{text}
}

type num3 struct{ lo, mid, hi float64 }

func (m *maker) methods() {
	cal := m.t("Numbers come from one computation, which the office's pages and the command line share. Each has its records and its denominator in the appendix.")
	doubts := []string{}
	for _, d := range m.s.Doubts {
		if d.Count > 0 {
			doubts = append(doubts, m.f("%s: %d of %s looked through", lower(m.term(d.Label)), d.Count, m.whole(float64(d.Of))))
		}
	}
	points := []string{
		m.t("An interval is for craft such as those that were met, at the hours that were staffed. It is no interval for all craft: launches and hours were chosen. Craft of one shift are alike, so intervals rest on the effective number of craft (Korn and Graubard's, on Clopper and Pearson's limits)."),
		m.t("Where two seasons are compared the limits are Newcombe's. A difference says that records differ, not why."),
		m.t("Planted craft, and second records of one craft that a person has joined, are left out of every count. Records as corrected are used; what they said before is kept."),
		m.t("In tables by launch, class or water, counts below 5 are not shown, nor one more where it could be had by taking away. Totals of the whole season are shown."),
		m.t("Unknown counts as unsafe: a water nobody could name counts as one at risk."),
	}
	if len(doubts) > 0 {
		points = append(points, m.f("Records that look wrong and are still in the numbers: %s.", m.list(doubts)))
	}
	if m.s.Faults > 0 {
		points = append(points, first(m.some(m.s.Faults, "entry could not be read and are in no number.", "entries could not be read and are in no number.")))
	}
	blocks := []Block{Para{cal}, List{points}, List{m.doc.Colophon}}
	if m.in.Licence != "" {
		blocks = append(blocks, Para{m.f("The data are given to others under %s. Cite them as: %s.", m.in.Licence, m.in.Citation)})
	}
	m.section("methods", m.t("Methods and limits"), true, blocks...)
}

func (m *maker) changes() {
	if m.in.Earlier == nil {
		return
	}
	list := Changes(m.in.Earlier, Publish(m.in))
	if len(list) == 0 {
		m.section("changes", m.t("Changes to published numbers"), false, Para{m.f("No number of the report of %s has changed.", m.printed(m.in.Earlier.Made))})
		return
	}
	t := Table{Caption: m.f("Numbers that differ from the report of %s", m.printed(m.in.Earlier.Made)), Columns: []Column{{Head: m.t("Number")}, {Head: m.t("Then"), Numeric: true}, {Head: m.t("Now"), Numeric: true}}}
	for _, c := range list {
		t.Rows = append(t.Rows, []string{m.term(c.Label), m.reworded(c.Then), m.reworded(c.Now)})
	}
	m.section("changes", m.t("Changes to published numbers"), false, Para{m.t("Records were corrected, or arrived, after an earlier report. These published numbers are now otherwise:")}, t)
}

func (m *maker) appendix() {
	t := Table{Caption: m.t("Every number, how it was computed and from how many"), Tight: true, Columns: []Column{{Head: m.t("Number"), Share: 0.2}, {Head: m.t("Value"), Share: 0.16}, {Head: m.t("Of"), Share: 0.19}, {Head: m.t("How"), Share: 0.33}, {Head: m.t("Id"), Share: 0.12}}}
	for _, f := range m.s.Figures {
		t.Rows = append(t.Rows, []string{m.term(f.Label), m.valueWords(f), m.denominator(f), m.term(f.How), f.ID})
	}
	t.Note = m.t("The records behind a number: /api/season/records?figure=ID at the programme's server, or thwart season --records ID; with all, its denominator. Ids are broken here where they are long; they hold no blanks.")
	m.section("appendix", m.t("Appendix: every number"), true, t)
}

func (g *tongue) denominator(f figures.Figure) string {
	if f.Unit == figures.UnitShare {
		return g.of(f)
	}
	if f.N > 0 && f.Of != "" {
		return g.whole(float64(f.N)) + " " + g.term(f.Of)
	}
	return ""
}

// valueWords writes any figure.
func (g *tongue) valueWords(f figures.Figure) string {
	switch {
	case !f.Known:
		return g.t("not known")
	case f.Unit == figures.UnitShare:
		return g.share(f)
	case f.Unit == figures.UnitCount:
		return g.whole(f.Value)
	case f.Interval != nil:
		d := decimals(f.Interval.Hi - f.Interval.Lo)
		return g.fixed(f.Value, d) + " " + g.term(f.Unit) + " (" + g.between(*f.Interval, d, "") + ")"
	}
	return g.whole(f.Value) + " " + g.term(f.Unit)
}
