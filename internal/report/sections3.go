package report

import (
	"math"
	"strings"

	"thwart/draw/chart"
	"thwart/engine/num"
	"thwart/season/plan"
	"thwart/season/spreading"
)

// years tells how many waters are expected to be infested with and without the programme.
func (m *maker) years() {
	if len(m.in.Years) == 0 {
		m.section("years", m.t("What becomes of the waters"), false, Missing{m.said(m.in.YearsMissing)})
		return
	}
	r := m.in.Years[0]
	name := m.organismName(r.Organism)
	if r.Clear == 0 {
		m.section("years", m.t("What becomes of the waters"), false, Missing{m.f("How many infestations to expect is not told: %s", lower(m.said(r.Warnings[len(r.Warnings)-1])))})
		return
	}
	half := len(r.Years) / 2
	cell := func(mean num.Interval, runs num.Interval) string {
		return m.fixed(mean.Mid, decimalsOfMean(mean)) + " (" + m.between(runs, 0, "") + ")"
	}
	t := Table{Caption: m.f("Waters newly infested with %s, of %s that are clear now", name, m.some(r.Clear, "water", "waters")),
		Columns: []Column{{Head: ""}, {Head: m.f("After %d years", r.Years[half-1].Year), Numeric: true}, {Head: m.f("After %d years", len(r.Years)), Numeric: true}, {Head: m.f("Fewer after %d years", len(r.Years)), Numeric: true}}}
	mid, last := r.Years[half-1], r.Years[len(r.Years)-1]
	t.Rows = append(t.Rows, []string{m.t("Nobody stands anywhere"), cell(mid.Without, mid.Range), cell(last.Without, last.Range), "–"})
	for _, x := range m.in.Years {
		mid, last := x.Years[half-1], x.Years[len(x.Years)-1]
		t.Rows = append(t.Rows, []string{first(m.planName(x.PlanName)), cell(mid.With, mid.RangeW), cell(last.With, last.RangeW), cell(last.Spared, last.RangeD)})
	}
	t.Note = m.f("Means of %s on the same luck; in brackets what 95 %% of them lie within. %s.", m.some(r.Runs, "run", "runs"), m.doubtWords(r))
	notes := append(append([]string{}, r.Warnings...), r.Assumed...)
	m.section("years", m.t("What becomes of the waters"), false, Lead{m.said(r.Sentence)}, t, m.yearsPicture(r), Small{m.saidAll(notes)})
}

// doubtWords tells how far the assumptions go from run to run.
func (m *maker) doubtWords(r *spreading.SpreadReport) string {
	if strings.HasPrefix(r.Doubt, "taken") {
		return m.f("The chance of a passage is %s", m.said(r.Doubt))
	}
	return m.f("The chance of a passage varies from run to run: %s", m.said(r.Doubt))
}

// decimalsOfMean keeps the digits of a mean that its own error leaves.
func decimalsOfMean(i num.Interval) int { return min(1, decimals(i.Hi-i.Lo)) }

func (m *maker) yearsPicture(r *spreading.SpreadReport) Block {
	series := []chart.Series{{Name: m.t("nobody stands anywhere")}}
	for _, y := range r.Years {
		series[0].Values = append(series[0].Values, y.Without.Mid)
	}
	for _, x := range m.in.Years {
		s := chart.Series{Name: m.planName(x.PlanName)}
		for _, y := range x.Years {
			s.Values = append(s.Values, y.With.Mid)
		}
		series = append(series, s)
	}
	return Picture{Scene: chart.Years(series, chart.YearsOptions{Title: m.t("Waters newly infested by the end of each year"), X: m.t("year"), Y: m.t("waters newly infested by then, mean of the runs")}, m.in.Measure),
		Caption: m.t("Waters newly infested by the end of each year, mean of the runs. The runs of one course spread far wider than the courses lie apart; the table has how far."),
		Alt:     m.f("Rising curves, the highest where nobody stands anywhere. %s", m.said(r.Sentence))}
}

// choiceWords are the three choices with their numbers.
func (m *maker) choiceWords() []string {
	var out []string
	var same *plan.SeasonPlan
	for _, c := range m.in.Choices {
		if c.Times == 1 {
			same = c.Plan
		}
	}
	for i, c := range m.in.Choices {
		p := c.Plan
		spent := m.whole(p.Hours)
		if m.in.Programme.Costs.PerStewardHour > 0 {
			spent += " (" + m.money(p.Cost) + ")"
		}
		could := m.whole(p.Wishes.Hours)
		stops := m.f("about %s of %s risky craft (%s), at most %s by any plan", m.about(p.Value), m.about(p.All), m.percent(p.Value/p.All), m.about(p.Bound))
		if i > 0 { // of as many as before
			stops = m.f("about %s (%s), at most %s by any plan", m.about(p.Value), m.percent(p.Value/p.All), m.about(p.Bound))
		}
		switch {
		case c.Times < 1:
			out = append(out, m.f("Fewer hours. Of %s steward-hours, half of last season's, %s at the best launches and times stop %s. %s", could, spent, stops, first(m.some(c.Empty, "launch has nobody, and nothing is known of what arrives there.", "launches have nobody, and nothing is known of what arrives there."))))
		case c.Times == 1:
			text := m.f("The same hours, moved. Of %s steward-hours, as many as last season, %s stop %s.", could, spent, stops) + m.unspent(p)
			if w := p.Worked; w != nil {
				text += " " + m.f("As they were worked last season, all of them stop about %s.", m.about(w.Value))
			}
			out = append(out, text)
		default:
			text := m.f("More hours. Of %s steward-hours, half as many again as last season, %s stop %s", could, spent, stops)
			if same != nil {
				more := m.about(math.Max(0, p.Value-same.Value))
				if p.Hours > same.Hours && (p.Value-same.Value)/(p.Hours-same.Hours) >= same.Value/same.Hours {
					text += m.f(": about %s more than the same hours", more)
				} else {
					text += m.f(": about %s more than the same hours, so each further hour stops less", more)
				}
			}
			out = append(out, text+".")
		}
	}
	return out
}

// unspent says how many of its hours a plan does not use, and why; nothing where it uses them.
func (m *maker) unspent(p *plan.SeasonPlan) string {
	if p.Budget == nil || p.Budget.Why == "" {
		return ""
	}
	return " " + first(m.some(int(math.Round(p.Budget.Unspent)), "hour stays unspent.", "hours stay unspent.")) + " " + m.said(p.Budget.Why)
}

func (m *maker) choices() {
	if len(m.in.Choices) == 0 {
		m.section("choices", m.t("Three choices"), false, Missing{m.said(m.in.PlanMissing)})
		return
	}
	words := m.choiceWords()
	if len(m.in.Years) > 0 && m.in.Years[0].Clear > 0 {
		words = append(words, m.said(m.in.Years[0].Sentence))
	}
	m.section("choices", m.t("Three choices"), false, List{words}, m.frontier())
}

// oneEach says what hours are, of a plan and of the season.
const oneEach = "Hours of a plan and of last season are steward-hours: everybody who stands there counts."

const mostShifts = 8

func (m *maker) plan() {
	p, name := m.in.next()
	if p == nil {
		m.section("plan", m.t("A plan for next year"), false, Missing{m.said(m.in.PlanMissing)})
		return
	}
	lead := m.f("%s stops about %s of %s risky craft (%s) in %s steward-hours.", first(m.planName(name)), m.about(p.Value), m.about(p.All), m.percent(p.Value/p.All), m.whole(p.Hours))
	t := Table{Caption: m.t("Its shifts, those that stop most per hour first"), Columns: []Column{{Head: m.t("Launch")}, {Head: m.t("Days")}, {Head: m.t("From and to")}, {Head: m.t("People"), Numeric: true}, {Head: m.t("Hours a season"), Numeric: true}, {Head: m.t("Risky craft it stops"), Numeric: true}}}
	for i, s := range p.Shifts {
		if i == mostShifts {
			t.Note = first(m.some(len(p.Shifts)-i, "more shift is in the office's plan.", "more shifts are in the office's plan."))
			break
		}
		t.Rows = append(t.Rows, []string{s.Name, m.term(s.Day + "s"), m.f("%d to %d o'clock", s.From, s.To), m.whole(float64(s.People)), m.whole(s.Hours), m.about(s.Stops)})
	}
	blocks := []Block{Lead{lead}, Para{m.f("No plan of these hours stops more than %s: at most %s better is possible.", m.about(p.Bound), m.percent(p.Better))}}
	if len(m.in.Choices) > 0 {
		blocks = append(blocks, Para{m.t("Three amounts of hours, each at its best launches and times:")}, List{m.choiceWords()})
	}
	m.section("plan", m.t("A plan for next year"), false, append(blocks, m.frontier(), t, Small{m.t(oneEach) + " " + m.saidAll(p.Assumed)})...)
}

// frontier draws what more money for hours would buy.
func (m *maker) frontier() Block {
	for _, c := range m.in.Choices {
		if len(c.Plan.Frontier) < 2 {
			continue
		}
		var pts []chart.Point
		for _, x := range c.Plan.Frontier {
			left := math.Max(0, c.Plan.All-x.Value)
			pts = append(pts, chart.Point{X: x.Money, Y: left, Lo: math.Max(0, c.Plan.All-x.Bound), Hi: left})
		}
		o := chart.FrontierOptions{Title: m.t("Risk left over against money spent on hours"), X: m.t("money for hours in a season") + ", " + m.in.Programme.Costs.Currency, Y: m.t("risky craft that get through")}
		if w := c.Plan.Worked; w != nil {
			o.Now, o.NowWords = &chart.Point{X: w.Cost, Y: math.Max(0, c.Plan.All-w.Value)}, m.t("last season's steward-hours, as worked")
		}
		return Picture{Scene: chart.Frontier(pts, o), Small: true, Caption: m.t("Risky craft that get through by the best plan found for each amount of money spent on hours. No plan lies below the band. The diamond is last season's steward-hours, as worked."),
			Alt: m.f("A falling curve from %s risky craft that get through with no hours to %s with %s.", m.about(pts[0].Y), m.about(pts[len(pts)-1].Y), m.about(pts[len(pts)-1].X))}
	}
	return nil
}
