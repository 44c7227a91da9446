package siting

import (
	"fmt"
	"math"
	"slices"
)

// HoursWish ends the words of the rule that bounds the hours of work of a season.
const HoursWish = "hours of work in the season"

// rules adds what the limits ask for.
func (b *Built) rules() {
	b.oneTeam()
	b.people()
	b.hours()
	b.wash()
	b.partners()
	b.fixed()
}

func (b *Built) rule(wish, unit string, lo, hi float64, parts []Part) {
	b.Problem.Rules = append(b.Problem.Rules, Rule{Wish: wish, Unit: unit, Lo: lo, Hi: hi, Parts: parts})
}

func (b *Built) fact(what, unit string, lo, hi float64, parts []Part) {
	b.rule(what, unit, lo, hi, parts)
	b.Problem.Rules[len(b.Problem.Rules)-1].Fact = true
}

// oneTeam: at most one team at a launch at a time.
func (b *Built) oneTeam() {
	s := b.Stations
	for l := range s.Launches {
		for cell := range s.Cells() {
			list := b.atCell[l*s.Cells()+cell]
			if len(list) < 2 {
				continue
			}
			parts := make([]Part, len(list))
			for i, m := range list {
				parts[i] = Part{m.choice, 1}
			}
			b.fact("one team at a time at "+s.Launches[l].Name+", "+s.CellName(cell), "teams", math.Inf(-1), 1, parts)
		}
	}
}

// people: so many on duty at once. Where teams move between launches everybody has one duty a day, so they are counted by day:
// by block, a team could leave one launch and be at another without the road between.
func (b *Built) people() {
	s := b.Stations
	if s.Limits.People == 0 && s.Limits.AtOnce == nil {
		return
	}
	for cell := range s.Cells() {
		most := s.Limits.People
		if s.Limits.AtOnce != nil {
			most = s.Limits.AtOnce[cell]
		}
		day, block := s.Split(cell)
		when := s.CellName(cell)
		if s.Moves {
			if block > 0 {
				continue
			}
			when = s.DayTypes[day].Name
		}
		var parts []Part
		for k, sh := range b.Shifts {
			if sh.People > 0 && s.busy(sh, cell, day) {
				parts = append(parts, Part{k, float64(sh.People)})
			}
		}
		b.rule(fmt.Sprintf("at most %d people at once, %s", most, when), "people", math.Inf(-1), float64(most), parts)
	}
}

// busy tells whether a choice takes people in a cell, or on its day where teams move.
func (s *Stations) busy(sh Shift, cell, day int) bool {
	cells := []int{sh.Cell}
	switch sh.Kind {
	case Duty:
		cells = cells[:0]
		for _, leg := range sh.Legs {
			cells = append(cells, leg.Cell)
		}
	case Open, Unit:
		return false
	}
	for _, c := range cells {
		if d, _ := s.Split(c); c == cell || s.Moves && d == day {
			return true
		}
	}
	return false
}

// hours: of everybody over the season, and at least so many at a launch.
func (b *Built) hours() {
	s := b.Stations
	if s.Limits.Hours > 0 {
		var parts []Part
		for k, sh := range b.Shifts {
			if sh.Hours > 0 {
				parts = append(parts, Part{k, sh.Hours})
			}
		}
		b.rule(fmt.Sprintf("at most %.6g ", s.Limits.Hours)+HoursWish, "hours", math.Inf(-1), s.Limits.Hours, parts)
	}
	for _, m := range s.Limits.Minimum {
		b.rule(fmt.Sprintf("at least %.4g hours on site at %s", m.Hours, s.Launches[m.Launch].Name), "hours", m.Hours, math.Inf(1), b.presence(func(l int) bool { return l == m.Launch }))
	}
}

// presence is the hours on site of each duty at the launches that are asked for, whatever the size of the team.
func (b *Built) presence(at func(launch int) bool) (parts []Part) {
	s := b.Stations
	for k, sh := range b.Shifts {
		if sh.Kind != Duty {
			continue
		}
		var hours float64
		for _, leg := range sh.Legs {
			if at(leg.Launch) {
				d, blk := s.Split(leg.Cell)
				hours += leg.Share * s.Blocks[blk].Hours * s.DayTypes[d].Days
			}
		}
		if hours > 0 {
			parts = append(parts, Part{k, hours})
		}
	}
	return parts
}

// wash: no more units than there are, and none gets more craft than it can wash.
func (b *Built) wash() {
	s, w := b.Stations, b.Stations.Washing
	if w == nil {
		return
	}
	var units []Part
	for k, sh := range b.Shifts {
		if sh.Kind == Unit {
			units = append(units, Part{k, 1})
		}
	}
	b.rule(fmt.Sprintf("at most %d wash units", w.Units), "units", math.Inf(-1), float64(w.Units), units)
	if w.PerHour <= 0 || w.Fail <= 0 {
		return
	}
	for _, site := range w.Sites {
		for cell := range s.Cells() {
			_, blk := s.Split(cell)
			var parts []Part
			for k, sh := range b.Shifts {
				if sh.Kind != Duty || sh.Site != site {
					continue
				}
				for _, leg := range sh.Legs {
					if leg.Cell == cell {
						t := s.Teams[sh.Team]
						seen := leg.Share * math.Min(s.Craft[leg.Launch][cell], t.PerHour*s.Blocks[blk].Hours)
						parts = append(parts, Part{k, seen * w.Fail * w.Goes(w.DetourKM[leg.Launch][site])})
					}
				}
			}
			if len(parts) > 0 {
				b.fact(fmt.Sprintf("the unit at %s washes what is sent, %s", s.Launches[site].Name, s.CellName(cell)), "craft", math.Inf(-1), w.PerHour*s.Blocks[blk].Hours, parts)
			}
		}
	}
}

// partners: contracts, and fairness.
func (b *Built) partners() {
	s := b.Stations
	of := func(name string) func(int) bool {
		return func(l int) bool { return s.Launches[l].Partner == name }
	}
	for _, c := range s.Limits.Partners {
		hi, words := math.Inf(1), fmt.Sprintf("at least %.4g hours for %s", c.Lo, c.Partner)
		if c.Hi > 0 {
			hi, words = c.Hi, fmt.Sprintf("%.4g to %.4g hours for %s", c.Lo, c.Hi, c.Partner)
		}
		b.rule(words, "hours", c.Lo, hi, b.presence(of(c.Partner)))
	}
	e := s.Limits.Even
	if e == nil {
		return
	}
	names := make([]string, 0, len(e.Share))
	for name := range e.Share {
		names = append(names, name)
	}
	slices.Sort(names)
	all := b.presence(func(l int) bool { _, ok := e.Share[s.Launches[l].Partner]; return ok })
	for _, name := range names {
		own := map[int]float64{}
		for _, t := range b.presence(of(name)) {
			own[t.Choice] = t.Amount
		}
		for _, side := range []float64{1, -1} {
			parts := make([]Part, len(all))
			for i, t := range all {
				parts[i] = Part{t.Choice, side*(own[t.Choice]-e.Share[name]*t.Amount) - e.Within*t.Amount}
			}
			word := "no more"
			if side < 0 {
				word = "no less"
			}
			wish := fmt.Sprintf("%s for %s than %.0f %% of the partners' hours, give or take %.0f %%", word, name, 100*e.Share[name], 100*e.Within)
			b.rule(wish, "hours", math.Inf(-1), 0, parts)
		}
	}
}

// fixed: cells decided by hand.
func (b *Built) fixed() {
	s := b.Stations
	for _, f := range s.Limits.Fixed {
		list := b.atCell[f.Launch*s.Cells()+f.Cell]
		where := s.Launches[f.Launch].Name + ", " + s.CellName(f.Cell)
		parts := make([]Part, len(list))
		for i, m := range list {
			parts[i] = Part{m.choice, 1}
			if !f.In {
				b.Problem.Choices[m.choice].Pin = Out
			}
		}
		if !f.In {
			b.rule("nobody at "+where+" (fixed by hand)", "teams", math.Inf(-1), 0, parts)
			continue
		}
		b.rule("somebody at "+where+" (fixed by hand)", "teams", 1, math.Inf(1), parts)
	}
}
