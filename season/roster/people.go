package roster

import (
	"fmt"
	"slices"

	"thwart"
	"thwart/engine/roster"
	"thwart/season"
)

// people lists who can be asked: everybody with a role on site who has not left before the first day.
func (m *maker) people() {
	for i := range m.book.People {
		b := &m.book.People[i].Body
		if b.Left != nil && b.Left.Before(m.first.Date()) {
			continue
		}
		if slices.Contains(b.Roles, thwart.RoleSteward) || slices.Contains(b.Roles, thwart.RoleTechnician) {
			m.persons = append(m.persons, int32(i))
		}
	}
}

// history is what the records say of a person's work so far.
type history struct {
	shifts int
	base   int // launch worked at most often, -1 for none
}

func (m *maker) history() map[int32]history {
	count := map[int32]map[int32]int{}
	for i := range m.book.Shifts {
		s := &m.book.Shifts[i]
		if s.Launch == season.None || s.From.Set && s.From.Day() >= m.first {
			continue
		}
		for _, p := range s.People {
			if count[p] == nil {
				count[p] = map[int32]int{}
			}
			count[p][s.Launch]++
		}
	}
	out := map[int32]history{}
	for p, launches := range count {
		h := history{base: -1}
		for l := range int32(len(m.book.Launches)) {
			n := launches[l]
			h.shifts += n
			if n > 0 && (h.base < 0 || n > launches[int32(h.base)]) {
				h.base = int(l)
			}
		}
		out[p] = h
	}
	return out
}

// problem writes people, shifts and what was decided by hand.
func (m *maker) problem() {
	m.p = &roster.Problem{
		Shifts: m.shifts, MaxHours: m.ask.MaxHours, MaxDays: m.ask.MaxDays, RestH: m.ask.RestH,
		Weekday: func(d int) int { return (int((m.first + season.Day(d)).Weekday()) + 6) % 7 },
		FreeDay: func(d int) bool { return m.calendar.Type(m.first+season.Day(d)) != season.Weekday },
	}
	below := 5
	if m.ask.NewBelow != nil {
		below = *m.ask.NewBelow
	}
	past := m.history()
	old := 0
	for _, i := range m.persons {
		b := &m.book.People[i].Body
		h, known := past[i]
		if !known {
			h.base = -1
		}
		comes, hours := m.availability(i)
		m.comes = append(m.comes, comes)
		q := roster.Person{Name: b.Name, Partner: b.Partner, New: h.shifts < below, MaxHours: hours}
		q.Free = func(day int) bool { can, _ := comes(day); return can }
		q.May = func(work string, day int) bool { return m.certified(i, work, day) }
		if base := h.base; base >= 0 {
			q.KM = func(launch int) float64 { return m.distance(base, launch) }
		}
		if !q.New {
			old++
		}
		m.p.People = append(m.p.People, q)
	}
	if old == 0 && len(m.p.People) > 0 {
		for i := range m.p.People {
			m.p.People[i].New = false
		}
		m.notes = append(m.notes, fmt.Sprintf("Nobody has worked %d shifts yet, so nobody could be beside the new ones: the rule that new people are never alone was left out.", below))
	}
	m.notes = append(m.notes, "Ways are counted from the launch where a person worked most; who has worked nowhere counts none. Who has written down no days counts as free on all.")
	m.p.Fixed = m.byHand("fixed", m.ask.Fixed)
	m.p.Barred = m.byHand("barred", m.stillThere(m.ask.Barred))
	m.p.Keep = m.byHand("keep", m.stillThere(m.ask.Keep))
	m.stillGiven()
	if m.ask.Of != "" {
		return // whom the records had there is in the earlier roster, as far as it was kept
	}
	for s, people := range m.kept {
		for _, i := range people {
			if at := slices.Index(m.persons, i); at >= 0 {
				m.p.Keep = append(m.p.Keep, roster.Assignment{Shift: s, Person: at})
			}
		}
	}
}

// availability is the days a person can come, those on which they are away, and the hours a week. Who has written down days comes
// on no others.
func (m *maker) availability(person int32) (comes func(day int) (can, away bool), hours float64) {
	type span struct {
		from, to season.Day
		body     *thwart.Availability
	}
	var spans []span
	told := false
	for i := range m.book.Availability {
		a := &m.book.Availability[i].Body
		if m.book.Index(a.Person) != person || m.book.People[person].Subject != a.Person {
			continue
		}
		from, err1 := season.ParseDay(a.From)
		to, err2 := season.ParseDay(a.To)
		if err1 != nil || err2 != nil {
			continue
		}
		spans = append(spans, span{from, to, a})
		told = told || !a.Away
		if a.MaxHours > 0 && from <= m.last && to >= m.first && (hours == 0 || a.MaxHours < hours) {
			hours = a.MaxHours
		}
	}
	return func(day int) (can, away bool) {
		d := m.first + season.Day(day)
		can = !told
		for _, s := range spans {
			if d < s.from || d > s.to {
				continue
			}
			if s.body.Away {
				return false, true
			}
			name := thwart.Weekdays[(int(d.Weekday())+6)%7]
			can = can || len(s.body.Days) == 0 || slices.Contains(s.body.Days, name)
		}
		return can, false
	}, hours
}

// What fields that name a person or a shift accept.
const (
	aPerson = "the id of a steward or technician who has not left"
	aShift  = "launch, day and first hour of a shift that is rostered"
)

// person finds a person of the problem by id; -1 where there is none.
func (m *maker) person(id string) int {
	return slices.IndexFunc(m.persons, func(p int32) bool { return m.book.People[p].Subject == id })
}

// shift finds a shift of the problem; -1 where there is none.
func (m *maker) shift(launch, day string, from float64) int {
	return slices.IndexFunc(m.list, func(r RosterRow) bool { return r.Launch == launch && r.Day == day && r.From == from })
}

// stillThere leaves out what an earlier roster says of shifts and people that are not in the records any more, and notes how much:
// a shift that was moved since must not keep the others from being changed.
func (m *maker) stillThere(list []ByHand) []ByHand {
	if m.ask.Of == "" {
		return list
	}
	still := slices.DeleteFunc(slices.Clone(list), func(h ByHand) bool {
		return m.person(h.Person) < 0 || m.shift(h.Launch, h.Day, h.From) < 0
	})
	if n := len(list) - len(still); n > 0 {
		m.notes = append(m.notes, fmt.Sprintf("Left out of the earlier roster, because the shift or the person is not there any more: %d.", n))
	}
	return still
}

// byHand finds the shifts and people that decisions name.
func (m *maker) byHand(field string, list []ByHand) (out []roster.Assignment) {
	for i, h := range list {
		person := m.person(h.Person)
		if person < 0 {
			m.fail(fmt.Sprintf("%s[%d].person", field, i), h.Person, aPerson)
			continue
		}
		shift := m.shift(h.Launch, h.Day, h.From)
		if shift < 0 {
			m.fail(fmt.Sprintf("%s[%d]", field, i), fmt.Sprintf("%s %s %g", h.Launch, h.Day, h.From), aShift)
			continue
		}
		if s := &m.shifts[shift]; field == "fixed" && !m.certified(m.persons[person], s.Work, s.Day) {
			m.fail(fmt.Sprintf("%s[%d].person", field, i), h.Person, fmt.Sprintf("somebody whose certificate to %s covers %s", s.Work, h.Day))
			continue
		}
		out = append(out, roster.Assignment{Shift: shift, Person: person})
	}
	return out
}
