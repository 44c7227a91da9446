package report

import (
	"slices"
	"strings"

	"thwart"
	"thwart/season"
	"thwart/season/figures"
)

// agencyRole is the role of the office of the programme's contacts that is called when a craft is held.
const agencyRole = "agency"

// agencyCalls counts the incidents of the report's days and launches whose log holds a call to the agency. That a craft was held says
// nothing of a call: only what was written down counts.
func (in *Inputs) agencyCalls() int {
	day := map[string]season.Day{} // of the encounters that the report is about
	for i := range in.Book.Encounters {
		e := &in.Book.Encounters[i]
		if q := in.Season.Query; q != (figures.QueryWords{}) {
			if e.Launch == season.None {
				continue
			}
			l := &in.Book.Launches[e.Launch]
			if q.Launch != "" && l.Subject != q.Launch || q.Partner != "" && l.Body.Partner != q.Partner {
				continue
			}
		}
		day[e.Subject] = e.At.Day()
	}
	n := 0
	for i := range in.Book.Incidents {
		x := &in.Book.Incidents[i].Body
		at, ours := day[x.Encounter]
		if !ours && x.Encounter == "" && in.Season.Query == (figures.QueryWords{}) {
			at, ours = season.DayOf(x.OpenedAt.Date()), true
		}
		if ours && at >= in.Season.From && at <= in.Season.To && slices.ContainsFunc(x.Called, func(c thwart.Call) bool { return strings.EqualFold(strings.TrimSpace(c.Role), agencyRole) }) {
			n++
		}
	}
	return n
}

// page is one page for a launch or for a partner.
func (m *maker) page() {
	name := m.s.Query.Partner
	if id := m.s.Query.Launch; id != "" {
		if i := m.in.Book.Index(id); i >= 0 {
			name = m.in.Book.Launches[i].Body.Name
		}
	}
	m.doc.Title = name
	m.doc.Subtitle = m.f("%s, %s to %s", m.in.Programme.Name, m.date(m.s.From), m.date(m.s.To))
	var points []string
	for _, id := range []string{"found", "organism", "clean_drained_dry", "at_risk", "refused"} {
		f := m.get(id)
		if !f.Known {
			continue
		}
		if f.X < 5 {
			points = append(points, m.f("%s: fewer than 5 of %s %s.", m.term(f.Label), m.whole(float64(f.N)), m.term(f.Of)))
			continue
		}
		points = append(points, m.f("%s: %s, %s.", m.term(f.Label), m.share(f), m.of(f)))
	}
	m.section("page", name, false, Lead{m.pageLead()}, m.pageNumbers(), m.weeks(), m.hours(), List{points}, Small{m.doc.Colophon[0] + " " + m.t("Counts below 5 are not told. Intervals at 95 %, for craft such as those that were met.")})
}

func (m *maker) pageLead() string {
	return m.f("Stewards met %s in %s here and looked over %s.", m.some(m.n("met"), "craft", "craft"), m.some(int(m.get("steward_hours").Value+0.5), "steward-hour", "steward-hours"), m.whole(float64(m.n("inspected"))))
}

func (m *maker) pageNumbers() Numbers {
	small := func(id, label string) Number {
		f := m.get(id)
		if f.Unit == figures.UnitShare && f.X < 5 {
			return Number{"< 5", label, m.f("of %s %s", m.whole(float64(f.N)), m.term(f.Of))}
		}
		if f.Unit == figures.UnitShare {
			return Number{m.shareOnly(f), label, m.note(f)}
		}
		if f.Value < 5 {
			return Number{"< 5", label, ""}
		}
		return Number{m.whole(f.Value), label, ""}
	}
	return Numbers{[]Number{small("met", m.t("craft met")), small("found", m.t("with anything found")), small("clean_drained_dry", m.t("clean, drained and dry"))}}
}

// board is two pages: one sentence of result, one picture, what was done, what was not seen, what it cost, three choices, how we
// know.
func (m *maker) board() {
	m.section("result", m.t("What the season came to"), false, Lead{m.headline()}, m.numbers(), m.weeks())
	done := []string{
		m.f("%s on site at %s, %s.", first(m.some(int(m.get("steward_hours").Value+0.5), "steward-hour", "steward-hours")), m.some(len(m.s.Table("launch").Rows), "launch", "launches"), m.some(m.n("washes"), "wash", "washes")),
		first(m.some(m.n("outcome_hold"), "craft was held.", "craft were held.")),
	}
	if n := m.in.agencyCalls(); n > 0 {
		done = append(done, first(m.some(n, "incident has a call to the agency in its log.", "incidents have a call to the agency in their log.")))
	}
	m.section("done", m.t("What we did"), false, List{done})
	unseen := []string{m.coverage(), m.t("Nobody knows what came at launches and hours where nobody stood."), m.t("A look misses some of what is there; unknown counts as unsafe.")}
	if len(m.in.Risks) > 0 {
		unseen = append(unseen, m.riskSentence(m.in.Risks[0]))
	}
	m.section("unseen", m.t("What we did not see"), false, List{unseen})
	m.section("cost", m.t("What it cost"), false, m.costs())
	m.choices()
	m.section("know", m.t("How we know"), false, Para{m.t("Every number rests on records that can be looked at one by one; intervals are at 95 % and hold for craft such as those that were met. Launches and hours were chosen, not drawn by lot.")}, Small{strings.Join(m.doc.Colophon, " ")})
}
