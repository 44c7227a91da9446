package flows

import (
	"fmt"
	"strings"
)

// Caveat is something a reader has to know before using a number.
type Caveat struct {
	Code  string   `json:"code"`
	Names []string `json:"names,omitempty" doc:"of the waters, launches or organisms it is about"`
	Text  string   `json:"text"`
}

func (m *Model) say(code string, names []string, format string, args ...any) {
	m.warnings = append(m.warnings, Caveat{Code: code, Names: names, Text: sentence(fmt.Sprintf(format, args...))})
}

// count says how many there are of something, one in the words that fit one.
func (m *Model) count(code string, n int, one, more string) {
	if n == 1 {
		m.say(code, nil, "%s", one)
		return
	}
	m.say(code, nil, more, n)
}

func sentence(s string) string {
	if s == "" {
		return s
	}
	s = strings.ToUpper(s[:1]) + s[1:]
	if !strings.HasSuffix(s, ".") {
		s += "."
	}
	return s
}

// listed names a few and counts the rest.
func listed(names []string) string {
	const most = 5
	switch n := len(names); {
	case n == 1:
		return names[0]
	case n <= most:
		return strings.Join(names[:n-1], ", ") + " and " + names[n-1]
	default:
		return fmt.Sprintf("%s and %d more", strings.Join(names[:most], ", "), n-most)
	}
}

func pick(names []string, one, many string) string {
	if len(names) == 1 {
		return one
	}
	return many
}

func has(names []string) string  { return pick(names, "has", "have") }
func them(names []string) string { return pick(names, "it", "them") }
func lies(names []string) string { return pick(names, "it lies", "they lie") }

// Limits of data below which a number is shown with a warning; common practice, no source.
const (
	thinCraft  = 50  // from other waters
	thinPairs  = 20  // with a count
	thinWaters = 5   // staffed
	thinHours  = 8   // at one launch
	thinShare  = 0.6 // of craft met that said where they came from
)

// warn says what is thin.
func (m *Model) warn() {
	u := &m.use
	if m.earlier > 0 {
		m.say("latest_season", nil, "the records hold %d craft met before %v; this is the traffic of the latest season alone", m.earlier, m.first)
	}
	if m.why != nil {
		m.say("no_flows", nil, "flows between waters could not be estimated: %v", m.why)
	}
	if f := m.fit; f != nil {
		if f.Craft < thinCraft {
			m.say("few_craft", nil, "only %.0f craft were met that came from another water; take every flow as a guess until there are %d", f.Craft, thinCraft)
		}
		if f.Positive < thinPairs {
			m.count("few_pairs", f.Positive, "craft were met on only one pair of waters; what distance and size do rests on it",
				"craft were met on only %d pairs of waters; what distance and size do rests on few places")
		}
		if f.ReturnWhy != "" {
			m.say("no_returns", nil, "%s", f.ReturnWhy)
		}
		if g := f.Coef[3]; g < 0 {
			m.say("far_preferred", nil, "the fit has craft come rather from far than from near (distance %.2f), which no published fit has: look at which launches were staffed, and at the names of waters", g)
		}
	}
	if u.WatersMet < thinWaters {
		m.count("few_waters", u.WatersMet, "only one water was staffed; the others are predicted from it", "only %d waters were staffed; the others are predicted from so few")
	}
	var none, few []string
	for l := range m.book.Launches {
		switch r := m.arrived.Launches[l]; {
		case r.Hours == 0:
			none = append(none, m.book.Launches[l].Body.Name)
		case r.Hours < thinHours:
			few = append(few, m.book.Launches[l].Body.Name)
		}
	}
	if len(none) > 0 {
		m.say("unstaffed", none, "nobody was at %s: arrivals there are the region's, or a guess, with their spread", listed(none))
	}
	if len(few) > 0 {
		m.say("few_hours", few, "less than %d hours were staffed at %s", thinHours, listed(few))
	}
	if u.Arriving > 0 && float64(u.FromKnown) < thinShare*float64(u.Arriving) {
		m.say("origin_unknown", nil, "only %d of %d craft said where they came from; those that did not may come from elsewhere than those that did", u.FromKnown, u.Arriving)
	}
	if u.NoHours > 0 {
		m.count("no_hours", u.NoHours, "one craft was recorded in an hour without a finished shift and is not used: counts without hours say nothing of traffic",
			"%d craft were recorded in hours without a finished shift and are not used: counts without hours say nothing of traffic")
	}
	if u.OpenShifts > 0 {
		m.count("open_shifts", u.OpenShifts, "one shift has not ended and is not used", "%d shifts have not ended and are not used")
	}
	if m.book.Faulty > 0 {
		m.count("unread", m.book.Faulty, "one entry could not be read and is not used", "%d entries could not be read and are not used")
	}
	for _, note := range m.arrived.Notes {
		m.say("arrivals", nil, "%s", note)
	}
}

// cannotSay lists what models of this kind are known not to do, with the source. It stands on every card.
var cannotSay = []string{
	"Where craft go is not where an organism settles. A gravity model fitted on the colonisations of 1,803 Wisconsin lakes in 1990-1999 gave, for the 200 lakes it held most at risk, chances that did not go with which lakes were colonised in 2000-2006 (Rothlisberger & Lodge 2011, Conservation Biology).",
	"Short hops may matter more than busy roads: the genetics of 2,047 zebra mussels did not bear out spread from much-visited lakes in Minnesota (Mallez & McCartney 2018, Biological Invasions 20:2461-2484).",
	"Only craft that come by trailer to a launch are counted. Downstream drift, gear, bait, floatplanes, docks and lifts that are moved are not in it.",
	"Where people went in this season is taken to hold for the whole season. A new launch, a closed road or a price of petrol is not in it.",
	"Craft that would not say where they came from are taken to come from where the others do.",
}
