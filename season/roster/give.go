package roster

import (
	"fmt"
	"slices"
	"strings"

	"thwart/engine/roster"
	"thwart/season"
	"thwart/season/skill"
)

// RosterPlace is one place of a shift in a roster.
type RosterPlace struct {
	Launch string  `json:"launch" doc:"id"`
	Day    string  `json:"day" doc:"such as 2026-06-06"`
	From   float64 `json:"from" doc:"hour at which the shift begins"`
	Holder string  `json:"holder,omitempty" doc:"id of whoever has the place; left out: one that is open"`
}

// PlaceGiven gives a place to somebody.
type PlaceGiven struct {
	RosterPlace
	Person string `json:"person" doc:"id of whoever gets it"`
}

// PlaceChoices is who could have a place.
type PlaceChoices struct {
	Row    RosterRow     `json:"row" doc:"the shift as it stands"`
	Holder *RosterPerson `json:"holder,omitempty" doc:"who has the place; left out where it is open"`
	People []PlaceChoice `json:"people" doc:"who may have it, those first who leave nothing for it; then who may not"`
}

// PlaceChoice is what giving a place to one person would mean.
type PlaceChoice struct {
	RosterPerson
	May     bool     `json:"may"`
	Hours   float64  `json:"hours" doc:"of the person in that week, with the place and without the shifts left for it"`
	Against []string `json:"against" doc:"why not; of somebody who may: what has to be left for it"`
	Breaks  []string `json:"breaks" doc:"what giving it breaks elsewhere"`
}

// Changing asks for a roster that changes an earlier one: everybody is kept where it has them.
func (a RosterAsk) Changing(id string, was *SeasonRoster) RosterAsk {
	a.Of, a.Give, a.Keep = id, nil, nil
	for i := range was.Rows {
		r := &was.Rows[i]
		for _, p := range r.People {
			a.Keep = append(a.Keep, ByHand{Person: p.ID, Launch: r.Launch, Day: r.Day, From: r.From})
		}
	}
	return a
}

// Repairing asks for an earlier roster repaired around absences.
func (a RosterAsk) Repairing(id string, was *SeasonRoster, absent []ByHand) RosterAsk {
	a = a.Changing(id, was)
	a.Barred = append(slices.Clone(a.Barred), absent...)
	return a
}

// Giving asks for an earlier roster with one place given to somebody. What is given by hand stands in every later change, as long
// as the person may stand there.
func (a RosterAsk) Giving(id string, was *SeasonRoster, g PlaceGiven) RosterAsk {
	a = a.Changing(id, was)
	a.Give = &g
	on := ByHand{Person: g.Holder, Launch: g.Launch, Day: g.Day, From: g.From}
	a.Given = slices.DeleteFunc(slices.Clone(a.Given), func(h ByHand) bool { return h == on })
	on.Person = g.Person
	a.Given = append(a.Given, on)
	return a
}

// Choices says who could have one place of a roster, on the records as they stand. Its ask is that of the roster, [RosterAsk.Changing].
func Choices(book *season.Book, ask RosterAsk, at RosterPlace) (*PlaceChoices, error) {
	m, err := begun(book, ask)
	if err != nil {
		return nil, err
	}
	place, err := m.place("", at)
	if err != nil {
		return nil, err
	}
	list, err := m.p.Choices(m.p.Keep, place)
	if err != nil {
		return nil, m.noPlace("", at)
	}
	out := &PlaceChoices{Row: m.list[place.Shift], People: []PlaceChoice{}}
	out.Row.People = []RosterPerson{}
	for _, a := range m.p.Keep {
		if a.Shift == place.Shift {
			out.Row.People = append(out.Row.People, m.named(a.Person))
		}
	}
	out.Row.Open = max(0, m.shifts[place.Shift].People-len(out.Row.People))
	if place.Holder >= 0 {
		h := m.named(place.Holder)
		out.Holder = &h
	}
	for i := range list {
		c := PlaceChoice{RosterPerson: m.named(list[i].Person), May: list[i].May(), Hours: list[i].Hours, Against: []string{}, Breaks: []string{}}
		for _, h := range list[i].Against {
			c.Against = append(c.Against, m.against(list[i].Person, place.Shift, h))
		}
		for _, b := range list[i].Breaks {
			c.Breaks = append(c.Breaks, m.breaks(b))
		}
		out.People = append(out.People, c)
	}
	rank := func(c *PlaceChoice) int {
		switch {
		case !c.May:
			return 2
		case len(c.Breaks) > 0:
			return 1
		}
		return 0
	}
	slices.SortStableFunc(out.People, func(a, b PlaceChoice) int {
		if by := rank(&a) - rank(&b); by != 0 {
			return by
		}
		return strings.Compare(a.Name, b.Name)
	})
	return out, nil
}

// given is what was kept with one place given to somebody.
func (m *maker) given(g PlaceGiven) (*SeasonRoster, error) {
	place, err := m.place("give.", g.RosterPlace)
	if err != nil {
		return nil, err
	}
	to := m.person(g.Person)
	if to < 0 {
		m.fail("give.person", g.Person, aPerson)
		return nil, m.errs
	}
	list, err := m.p.Choices(m.p.Keep, place)
	if err != nil {
		return nil, m.noPlace("give.", g.RosterPlace)
	}
	at := slices.IndexFunc(list, func(c roster.Choice) bool { return c.Person == to })
	if at < 0 {
		m.fail("give.person", g.Person, "somebody else than whoever has the place")
		return nil, m.errs
	}
	if c := &list[at]; !c.May() {
		m.fail("give.person", m.named(to).Name, "somebody who may stand there: "+m.against(to, place.Shift, c.Against[0]))
		return nil, m.errs
	}
	r, err := m.p.Give(m.p.Keep, place, to)
	if err != nil {
		return nil, err
	}
	m.lapsed(r)
	return m.answer(r), nil
}

// lapsed notes who stands in a roster that is kept as it is but may not any more.
func (m *maker) lapsed(r *roster.Result) {
	for _, a := range r.Assigned {
		if why := m.unable(a.Person, a.Shift); why != "" {
			m.notes = append(m.notes, fmt.Sprintf("%s stands at %s and may not any more: %s", m.named(a.Person).Name, m.shiftWords(a.Shift), why))
		}
	}
}

// stillGiven fixes what was given by hand in earlier rosters, and notes what cannot stand any more.
func (m *maker) stillGiven() {
	for _, h := range m.ask.Given {
		person, shift := m.person(h.Person), m.shift(h.Launch, h.Day, h.From)
		if person < 0 || shift < 0 {
			m.notes = append(m.notes, fmt.Sprintf("A place was given by hand on %s, but the shift or the person is not there any more.", h.Day))
			continue
		}
		if why := m.unable(person, shift); why != "" {
			m.notes = append(m.notes, fmt.Sprintf("%s was given %s by hand and may not stand there any more: %s", m.named(person).Name, m.shiftWords(shift), why))
			continue
		}
		m.p.Fixed = append(m.p.Fixed, roster.Assignment{Shift: shift, Person: person})
	}
}

// place finds a place; prefix begins the names of its fields.
func (m *maker) place(prefix string, at RosterPlace) (roster.Place, error) {
	p := roster.Place{Shift: m.shift(at.Launch, at.Day, at.From), Holder: -1}
	if p.Shift < 0 {
		m.fail(prefix+"from", fmt.Sprintf("%s %s %g", at.Launch, at.Day, at.From), aShift)
		return p, m.errs
	}
	if at.Holder == "" {
		return p, nil
	}
	if p.Holder = m.person(at.Holder); p.Holder < 0 {
		m.fail(prefix+"holder", at.Holder, aPerson)
		return p, m.errs
	}
	return p, nil
}

// noPlace is the error for a place that the roster has not.
func (m *maker) noPlace(prefix string, at RosterPlace) error {
	if at.Holder == "" {
		m.fail(prefix+"holder", "", "whoever has the place: none of the shift is open")
	} else {
		m.fail(prefix+"holder", at.Holder, "somebody who stands there")
	}
	return m.errs
}

// against says in words what keeps a person from a shift.
func (m *maker) against(person, shift int, h roster.Hindrance) string {
	switch h.Rule {
	case roster.Certificate, roster.Availability, roster.ByHand:
		return m.unable(person, shift)
	case roster.There:
		return "Stands there already."
	case roster.Overlap:
		return fmt.Sprintf("Works at the same time: %s.", m.shiftWords(h.Other))
	case roster.Rest:
		return fmt.Sprintf("Would rest %g hours, at least %g are due: %s.", h.Got, h.Limit, m.shiftWords(h.Other))
	case roster.LongDay:
		return fmt.Sprintf("Would work %g hours that day, at most %g are allowed: %s.", h.Got, h.Limit, m.shiftWords(h.Other))
	case roster.WeekHours:
		return fmt.Sprintf("Would work %g hours that week, at most %g are allowed.", h.Got, h.Limit)
	case roster.WeekDays:
		return fmt.Sprintf("Would work on %g days that week, at most %g are allowed.", h.Got, h.Limit)
	}
	return "Is new, and nobody experienced stands there."
}

// unable says what keeps a person from a shift whatever else they work; "" where nothing does.
func (m *maker) unable(person, shift int) string {
	s := &m.shifts[shift]
	if slices.Contains(m.p.Barred, roster.Assignment{Shift: shift, Person: person}) {
		return "Was said not to be able to come to this shift."
	}
	if !m.certified(m.persons[person], s.Work, s.Day) {
		from, to := m.dayOf(s.Day)
		_, why := skill.May(m.book, m.persons[person], s.Work, from, to)
		return why
	}
	switch can, away := m.comes[person](s.Day); {
	case away:
		return "Is absent that day."
	case !can:
		return "Has written down other days."
	}
	return ""
}

// breaks says in words what a shift lacks that somebody leaves.
func (m *maker) breaks(b roster.Break) string {
	text := fmt.Sprintf("Leaves %s; missing there then: %d of %d", m.shiftWords(b.Shift), b.Missing, m.shifts[b.Shift].People)
	if len(b.Alone) > 0 {
		var names []string
		for _, i := range b.Alone {
			names = append(names, m.named(i).Name)
		}
		text += fmt.Sprintf("; nobody experienced then stands beside %s", strings.Join(names, ", "))
	}
	return text + "."
}

// shiftWords names a shift.
func (m *maker) shiftWords(shift int) string {
	r := &m.list[shift]
	clock := func(hour float64) string {
		minutes := int(hour*60 + 0.5)
		return fmt.Sprintf("%02d:%02d", minutes/60, minutes%60)
	}
	from, _ := m.dayOf(m.shifts[shift].Day)
	return fmt.Sprintf("%s, %s, %s–%s", r.Name, from.Format("2 January"), clock(r.From), clock(r.To))
}
