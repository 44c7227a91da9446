package report

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"thwart"
	"thwart/draw/chart"
	"thwart/season/figures"
)

// book is the season book.
func (m *maker) book() {
	m.onePage()
	m.effort()
	m.craft()
	m.found()
	m.standards()
	m.washes()
	m.refusals()
	m.skill()
	m.risk()
	m.years()
	m.plan()
	m.methods()
	m.changes()
	m.appendix()
}

func (m *maker) headline() string {
	met, seen, org := m.n("met"), m.n("inspected"), m.get("organism")
	s := m.f("Stewards met %s at %s and looked over %s of them.", m.some(met, "craft", "craft"), m.some(len(m.s.Table("launch").Rows), "launch", "launches"), m.whole(float64(seen)))
	if org.Known && org.X > 0 {
		s += " " + m.f("On %s they found a listed organism: %s of craft inspected.", m.whole(float64(org.X)), m.share(org))
	} else if org.Known {
		s += " " + m.t("They found no listed organism.")
	}
	return s
}

func (m *maker) numbers() Numbers {
	hours, cdd, hold := m.get("steward_hours"), m.get("clean_drained_dry"), m.get("outcome_hold")
	return Numbers{[]Number{
		{m.whole(float64(m.n("met"))), m.t("craft met"), m.f("in %s steward-hours", m.whole(hours.Value))},
		{m.shareOnly(m.get("organism")), m.t("with a listed organism"), m.note(m.get("organism"))},
		{m.shareOnly(cdd), m.t("clean, drained and dry"), m.note(cdd)},
		{m.shareOnly(m.get("at_risk")), m.t("from a water at risk"), m.note(m.get("at_risk"))},
		{m.whole(float64(m.n("washes"))), m.t("washes"), m.f("%s of water", m.litres(m.get("wash_water").Value))},
		{m.whole(float64(hold.X)), m.t("held"), m.f("of %s %s", m.whole(float64(hold.N)), m.term(hold.Of))},
	}}
}

func (m *maker) shareOnly(f figures.Figure) string {
	if !f.Known {
		return "–"
	}
	if f.Interval == nil {
		return m.percent(f.Value)
	}
	return m.fixed(100*f.Value, decimals(100*(f.Interval.Hi-f.Interval.Lo))) + nb + "%"
}

func (m *maker) note(f figures.Figure) string {
	if !f.Known {
		return m.t("not known")
	}
	if f.Interval == nil {
		return m.of(f)
	}
	d := decimals(100 * (f.Interval.Hi - f.Interval.Lo))
	return m.between(f.Interval.Scale(100), d, "%")
}

func (m *maker) onePage() {
	var points []string
	if f := m.get("clean_drained_dry"); f.Known {
		points = append(points, m.f("Of craft on their way to launch for which it was settled, %s arrived clean, drained and dry. %s", m.share(f), m.before(f, m.t("the share that arrives clean, drained and dry"))))
	}
	if f := m.get("at_risk"); f.Known {
		points = append(points, first(m.f("%s came from a water at risk, a water nobody could name included.", m.share(f))))
	}
	points = append(points, m.f("%s; %s. %s", first(m.some(m.n("washes"), "craft was washed", "craft were washed")), m.some(m.n("refused"), "boater declined", "boaters declined"), m.coverage()))
	if len(m.in.Risks) > 0 {
		points = append(points, m.riskSentence(m.in.Risks[0]))
	}
	m.section("season", m.t("The season in one page"), false, Lead{m.headline()}, m.numbers(), m.weeks(), List{points})
}

// before says how a share stands to the season before, or why it cannot be said.
func (m *maker) before(f figures.Figure, what string) string {
	if c := m.change(f, what); c != "" {
		return c
	}
	return m.t("There are no records of the season before to hold it against.")
}

func (m *maker) coverage() string {
	c := m.get("coverage")
	if !c.Known {
		return ""
	}
	return m.f("While somebody was on site, %s of craft that were seen were met; %s.", m.percent(c.Value), m.some(m.n("passed_by"), "craft was not stopped", "craft were not stopped"))
}

func (m *maker) weeks() Block {
	rows := m.s.Table("week").Rows
	if len(rows) < 2 {
		return nil
	}
	var list []chart.Week
	for i := range rows {
		r := &rows[i]
		f := r.Get("found")
		w := chart.Week{Count: r.Get("met").Value, Hours: r.Get("steward_hours").Value, Known: f.Known && f.Interval != nil}
		if w.Known {
			w.Share, w.Lo, w.Hi = f.Value, f.Interval.Lo, f.Interval.Hi
		}
		if i%3 == 0 {
			w.Label = m.weekLabel(r.Key)
		}
		list = append(list, w)
	}
	o := chart.WeekOptions{Title: m.t("Craft met, hours on site and the share with anything found, week by week"), Counts: m.t("Craft met a week (bars)"), Hours: m.t("steward-hours (dashed)"), Shares: m.t("Share of craft inspected with anything found, with its interval")}
	busiest := slices.MaxFunc(rows, func(a, b figures.Row) int { return cmp.Compare(a.Get("met").Value, b.Get("met").Value) })
	beyond := ""
	if top, n := chart.Beyond(list); n > 0 {
		end, weeks := m.percent(top), m.some(n, "week", "weeks")
		beyond = " " + m.f("An arrowhead says that an interval goes on above the axis, which ends at %s (%s).", end, weeks)
		o.Beyond = m.f("arrowhead: goes on above %s (%s)", end, weeks) // a page short of room keeps the first sentence of a caption alone
	}
	return Picture{Scene: chart.Weeks(list, o), Caption: m.t("Week by week: craft met (bars), steward-hours (dashed line), and the share of craft inspected on which anything was found, with its interval at 95 %.") + beyond,
		Alt: m.f("Bars of craft met in each of %d weeks; the busiest week was %s with %s. The numbers are in the table of weeks.", len(rows), m.weekLabel(busiest.Key), m.some(int(busiest.Get("met").Value), "craft", "craft")) + beyond}
}

// weekLabel names an ISO week by its Monday.
func (m *maker) weekLabel(key string) string {
	var y, w int
	if _, err := fmt.Sscanf(key, "%d-W%d", &y, &w); err != nil {
		return key
	}
	d := time.Date(y, time.January, 4, 0, 0, 0, 0, time.UTC) // always in week 1
	d = d.AddDate(0, 0, (w-1)*7-(int(d.Weekday())+6)%7)
	return m.day(d)
}

func (m *maker) effort() {
	rate := m.get("per_hour")
	text := m.f("%s hours with somebody on site at %s, in %s. %s", m.whole(m.get("site_hours").Value), m.some(len(m.s.Table("launch").Rows), "launch", "launches"), m.some(m.n("shifts"), "shift", "shifts"), m.coverage())
	if rate.Known && rate.Interval != nil {
		d := decimals(rate.Interval.Hi - rate.Interval.Lo)
		text += " " + m.f("An hour on site met %s craft (%s).", m.fixed(rate.Value, d), m.between(*rate.Interval, d, ""))
	}
	m.section("effort", m.t("Effort and coverage"), true, Lead{first(m.f("%s on site.", m.some(int(m.get("steward_hours").Value+0.5), "steward-hour", "steward-hours")))}, Para{text},
		m.hours(), Para{m.t("Hours and launches were chosen, not drawn by lot. What was found while somebody stood there says little of the hours that are hatched.")}, m.launchMap(), m.launchTable())
}

var dayRows = []string{"weekday", "weekend", "holiday"}

func (m *maker) hours() Block {
	var cells []chart.Hour
	from, to := 24, 0
	for _, c := range m.s.Hours {
		cells = append(cells, chart.Hour{Row: slices.Index(dayRows, c.Day), Hour: c.Hour, Staffed: c.Staffed, Craft: float64(c.Craft)})
		from, to = min(from, c.Hour), max(to, c.Hour+1)
	}
	if len(cells) == 0 {
		return Missing{m.t("No shift has an end, so hours on site cannot be drawn.")}
	}
	from, to = max(0, from-1), min(24, to+1)
	return Picture{Scene: chart.Hours(cells, []string{m.t("Weekdays"), m.t("Weekends"), m.t("Holidays")}, from, to, m.t("Hours staffed by time of day and type of day, with craft met per staffed hour"), m.t("Hours with somebody there"), m.t("craft met an hour")),
		Caption: m.t("When somebody stood at a launch. The darker a cell, the more hours; the dot has the area of craft met per staffed hour. Nothing is known of cells that are hatched."),
		Alt:     m.hoursAlt()}
}

func (m *maker) hoursAlt() string {
	best := slices.MaxFunc(m.s.Hours, func(a, b figures.HourCell) int { return cmp.Compare(a.Staffed, b.Staffed) })
	return m.f("A grid of hours of the day for weekdays, weekends and holidays. Most hours were staffed at %d o'clock on a %s: %s.", best.Hour, m.term(best.Day), m.some(int(best.Staffed+0.5), "hour", "hours"))
}

// stateOf is the worst that is known of a water.
func stateOf(w *thwart.WaterBody, at time.Time) chart.State {
	state, looked := chart.NoneKnown, false
	for _, s := range w.At("", at).Status {
		switch s {
		case thwart.StatusInfested:
			return chart.Infested
		case thwart.StatusPositive, thwart.StatusSuspect:
			state = chart.Suspected
		case thwart.StatusNotFound, thwart.StatusEradicated:
			looked = true
		}
	}
	if state == chart.NoneKnown && !looked && w.Others != thwart.StatusNotFound {
		return chart.NotLooked
	}
	return state
}

func (m *maker) waters() []chart.Water {
	var out []chart.Water
	for i := range m.in.Book.Waters {
		w := &m.in.Book.Waters[i]
		c := chart.Water{ID: w.Subject, Name: w.Body.Name, Centre: w.Body.Centre, State: stateOf(&w.Body, m.s.To.Date()), Faint: w.Body.Outside}
		for _, ring := range w.Body.Outline {
			var pts [][2]float64
			for _, p := range thin(ring) {
				pts = append(pts, p)
			}
			c.Rings = append(c.Rings, pts)
		}
		out = append(out, c)
	}
	return out
}

// thin leaves out points of a long shore: a printed map shows no more than a few hundred of them.
func thin(ring []thwart.Point) []thwart.Point {
	const most = 160
	if len(ring) <= most {
		return ring
	}
	var out []thwart.Point
	for i := range most {
		out = append(out, ring[i*(len(ring)-1)/most])
	}
	return append(out, ring[len(ring)-1])
}

func (m *maker) legend() chart.Legend {
	return chart.Legend{Infested: m.t("an invader lives there"), Suspected: m.t("found once or suspected"), NotLooked: m.t("nobody has looked"), NoneKnown: m.t("looked for, not found")}
}

func (m *maker) launchMap() Block {
	legend := m.legend()
	legend.Spot = m.t("launch, by craft met")
	c := chart.Map{Title: m.t("Waters of the region and launches"), Waters: m.waters(), Legend: legend, Labels: true, Height: 430}
	tab := m.s.Table("launch")
	for i := range m.in.Book.Launches {
		l := &m.in.Book.Launches[i]
		row, _ := tab.Row(l.Subject)
		c.Spots = append(c.Spots, chart.Spot{ID: l.Subject, Name: l.Body.Name, At: l.Body.At, Amount: row.Get("met").Value})
	}
	if len(c.Spots) == 0 {
		return Missing{m.t("The programme keeps no launches, so there is no map.")}
	}
	n := map[chart.State]int{}
	for _, w := range c.Waters {
		if !w.Faint {
			n[w.State]++
		}
	}
	return Picture{Scene: c.Draw(m.in.Measure), Caption: m.t("Waters by what is known of them at the end of the season, and launches by craft met. A hatch, not a colour, tells what is known; a water nobody has looked at is not drawn as clean."),
		Alt: m.f("Map of the region: %s where an invader lives, %s suspected, %s where nobody has looked, %s looked for and not found, and %s.",
			m.some(n[chart.Infested], "water", "waters"), m.some(n[chart.Suspected], "water", "waters"), m.some(n[chart.NotLooked], "water", "waters"), m.some(n[chart.NoneKnown], "water", "waters"), m.some(len(c.Spots), "launch", "launches"))}
}

// counted gives counts of a table's column.
func counted(rows []figures.Row, id string) []int {
	out := make([]int, len(rows))
	for i := range rows {
		f := rows[i].Get(id)
		out[i] = f.X
		if f.Unit == figures.UnitCount {
			out[i] = int(f.Value)
		}
	}
	return out
}

const mostRows = 14

func (m *maker) launchTable() Block {
	all := m.s.Table("launch").Rows
	if len(all) == 0 {
		return nil
	}
	met, refused := m.cells(counted(all, "met")), m.cells(counted(all, "refused"))
	t := Table{Caption: m.t("Launches, the most craft first"), Columns: []Column{{Head: m.t("Launch")}, {Head: m.t("Steward-hours"), Numeric: true}, {Head: m.t("Craft met"), Numeric: true}, {Head: m.t("Anything found"), Numeric: true}, {Head: m.t("Declined"), Numeric: true}}}
	for i := range all {
		if i == mostRows {
			t.Note = first(m.some(len(all)-i, "launch more are in the data that go with this report.", "launches more are in the data that go with this report."))
			break
		}
		r := &all[i]
		t.Rows = append(t.Rows, []string{r.Name, m.whole(r.Get("steward_hours").Value), met[i], m.shareCell(r.Get("found"), false), refused[i]})
	}
	t.Note = strings.TrimSpace(t.Note + " " + m.t("Counts below 5 are not shown, nor what they could be had from."))
	return t
}

func (m *maker) craft() {
	arriving := m.n("arriving")
	lead := first(m.some(arriving, "craft was met on their way to launch.", "craft were met on their way to launch."))
	known, risk := m.get("last_known"), m.get("at_risk")
	text := ""
	if known.Known {
		text = m.f("For %s the last water is one of the programme's register.", m.share(known)) + " "
	}
	if risk.Known {
		text += first(m.f("%s are judged to come from a water at risk.", m.share(risk))) + " "
		text += m.before(risk, m.t("the share from waters at risk"))
	}
	m.section("craft", m.t("Craft, and where they came from"), false, Lead{lead}, Para{text}, m.classes(), m.flowMap(), m.lastWaters())
}

func (m *maker) flowMap() Block {
	c := chart.Map{Title: m.t("Craft met by last water and by the water they were launched into"), Waters: m.waters(), Labels: false, Height: 420}
	c.Legend = m.legend()
	c.Legend.Stream, c.Legend.Risky = m.t("craft met"), m.t("from a water at risk")
	type key struct{ from, to string }
	sums := map[key]*chart.Stream{}
	at := map[string][2]float64{}
	for _, w := range c.Waters {
		at[w.ID] = w.Centre
	}
	into := map[string]string{}
	for i := range m.in.Book.Launches {
		into[m.in.Book.Launches[i].Subject] = m.in.Book.Launches[i].Body.Water
	}
	back := 0
	risky := map[key]int{}
	for _, f := range m.s.Flows {
		to := into[f.Launch]
		if f.Water == "" || to == "" {
			continue
		}
		if f.Water == to {
			back += f.Craft
			continue
		}
		k := key{f.Water, to}
		if sums[k] == nil {
			sums[k] = &chart.Stream{From: at[f.Water], To: at[to]}
		}
		sums[k].Amount += float64(f.Craft)
		risky[k] += f.AtRisk
	}
	keys := make([]key, 0, len(sums))
	for k := range sums {
		keys = append(keys, k)
	}
	slices.SortFunc(keys, func(a, b key) int {
		return cmp.Or(cmp.Compare(sums[b].Amount, sums[a].Amount), strings.Compare(a.from, b.from), strings.Compare(a.to, b.to))
	})
	const shown = 40
	most, all := 0.0, 0.0
	for i, k := range keys {
		s := sums[k]
		all += s.Amount
		if i < shown && s.Amount >= 5 {
			s.Risky = 2*risky[k] > int(s.Amount)
			// A count of n has a standard error of about √n (Poisson), so its interval is about 2/√n of it to either side.
			s.Doubt = 2 / sqrt(s.Amount)
			c.Streams = append(c.Streams, *s)
			most += s.Amount
		}
	}
	if len(c.Streams) == 0 {
		return Missing{m.t("Fewer than five craft were met between any two waters, so there is no map of where craft came from.")}
	}
	return Picture{Scene: c.Draw(m.in.Measure), Caption: m.f("Craft met that came from another water: the %d largest streams, %s of %s. Width is craft met; paler streams rest on fewer. %s These are craft met and not all craft: hours on site differ between launches.",
		len(c.Streams), m.whole(most), m.some(int(all), "craft", "craft"), first(m.some(back, "craft came back to the water they had left and are not drawn.", "craft came back to the water they had left and are not drawn."))),
		Alt: m.f("Map of streams of craft between waters. The largest is of %s. The table of last waters has the numbers.", m.some(int(c.Streams[0].Amount), "craft", "craft"))}
}

func (m *maker) classes() Block {
	rows := m.s.Table("class").Rows
	t := Table{Caption: m.t("Craft by class"), Columns: []Column{{Head: m.t("Class")}, {Head: m.t("Craft met"), Numeric: true}, {Head: m.t("Anything found"), Numeric: true}, {Head: m.t("Clean, drained, dry"), Numeric: true}}}
	met := m.cells(counted(rows, "met"))
	for i := range rows {
		if i == 12 {
			break
		}
		r := &rows[i]
		t.Rows = append(t.Rows, []string{m.className(r.Key), met[i], m.shareCell(r.Get("found"), false), m.shareCell(r.Get("clean_drained_dry"), false)})
	}
	return t
}

func (m *maker) lastWaters() Block {
	rows := m.s.Table("last_water").Rows
	t := Table{Caption: m.t("Last waters, the most craft first"), Columns: []Column{{Head: m.t("Last water")}, {Head: m.t("Craft met"), Numeric: true}, {Head: m.t("Anything found"), Numeric: true}, {Head: m.t("A listed organism"), Numeric: true}}}
	met := m.cells(counted(rows, "met"))
	for i := range rows {
		if i == 12 {
			t.Note = first(m.some(len(rows)-i, "water more are in the data that go with this report.", "waters more are in the data that go with this report."))
			break
		}
		r := &rows[i]
		t.Rows = append(t.Rows, []string{r.Name, met[i], m.shareCell(r.Get("found"), false), m.shareCell(r.Get("organism"), false)})
	}
	return t
}
