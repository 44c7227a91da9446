package roster

import (
	"iter"
	"math"
	"math/bits"
	"slices"
)

// Rule is something that can keep a person from a shift.
type Rule int

// Rules.
const (
	Certificate Rule = iota // not certified for the work on the day
	Availability
	ByHand  // ruled out by hand
	There   // stands there already
	Overlap // works another shift at the same time
	Rest    // too few hours between two shifts
	LongDay // too many hours in one day
	WeekHours
	WeekDays
	NewAlone // new, with nobody experienced beside
)

// Hindrance is one rule that keeps a person from a shift.
type Hindrance struct {
	Rule Rule
	// Other is the shift of the same person that it is about: of Overlap, Rest and LongDay; -1 for the other rules.
	Other int
	// Got is what there would be and Limit what is allowed: hours of Rest, LongDay and WeekHours, days of WeekDays.
	Got, Limit float64
}

// unable yields what keeps a person from a shift whatever else they work.
func (p *Problem) unable(person, shift int) iter.Seq[Hindrance] {
	return func(yield func(Hindrance) bool) {
		q, s := &p.People[person], &p.Shifts[shift]
		if slices.Contains(p.Barred, Assignment{shift, person}) && !yield(Hindrance{Rule: ByHand, Other: -1}) {
			return
		}
		if q.May != nil && !q.May(s.Work, s.Day) && !yield(Hindrance{Rule: Certificate, Other: -1}) {
			return
		}
		if q.Free != nil && !q.Free(s.Day) {
			yield(Hindrance{Rule: Availability, Other: -1})
		}
	}
}

// beside yields what keeps a person from a shift because of the others they work. The lists together hold the person's shifts of
// the week and those near enough to matter for rest; who else works them does not matter.
func (p *Problem) beside(person, shift int, lists ...[]Assignment) iter.Seq[Hindrance] {
	return func(yield func(Hindrance) bool) {
		s := &p.Shifts[shift]
		week := p.monday(s.Day)
		hours, dayHours, sameDay := s.Hours(), s.Hours(), -1
		days := uint8(1) << (s.Day - week)
		for _, taken := range lists {
			for _, a := range taken {
				if a.Person != person {
					continue
				}
				if a.Shift == shift {
					if !yield(Hindrance{Rule: There, Other: -1}) {
						return
					}
					continue
				}
				if h, clash := p.clash(a.Shift, shift); clash && !yield(h) {
					return
				}
				if other := &p.Shifts[a.Shift]; p.monday(other.Day) == week {
					hours += other.Hours()
					days |= 1 << (other.Day - week)
					if other.Day == s.Day {
						dayHours += other.Hours()
						sameDay = a.Shift
					}
				}
			}
		}
		if dayHours > longestDay && !yield(Hindrance{LongDay, sameDay, dayHours, longestDay}) {
			return
		}
		if limit := p.maxHours(person); hours > limit+1e-9 && !yield(Hindrance{WeekHours, -1, hours, limit}) {
			return
		}
		if n := bits.OnesCount8(days); n > p.maxDays() {
			yield(Hindrance{WeekDays, -1, float64(n), float64(p.maxDays())})
		}
	}
}

// can tells whether a person may be put to a shift at all.
func (p *Problem) can(person, shift int) bool { return none(p.unable(person, shift)) }

func none(hindrances iter.Seq[Hindrance]) bool {
	for range hindrances {
		return false
	}
	return true
}

// clash is what keeps whoever works another shift from this one: they overlap, or there is no rest between them.
func (p *Problem) clash(other, shift int) (Hindrance, bool) {
	x, y := &p.Shifts[other], &p.Shifts[shift]
	start := func(s *Shift) float64 { return 24*float64(s.Day) + s.From }
	end := func(s *Shift) float64 { return 24*float64(s.Day) + s.To }
	if start(y) < start(x) {
		x, y = y, x
	}
	if x.Day == y.Day && x.Launch == y.Launch && start(y) >= end(x) {
		return Hindrance{}, false // one after the other at one launch is one long day
	}
	switch gap := start(y) - end(x); {
	case gap < 0:
		return Hindrance{Rule: Overlap, Other: other}, true
	case gap < p.rest():
		return Hindrance{Rest, other, gap, p.rest()}, true
	}
	return Hindrance{}, false
}

// clashes tells whether nobody can work both shifts.
func (p *Problem) clashes(a, b int) bool {
	_, clash := p.clash(a, b)
	return clash
}

// longestDay is the hours of one person's day at most (common practice, no source).
const longestDay = 12

// monday is the first day of a day's week.
func (p *Problem) monday(day int) int {
	if p.Weekday != nil {
		return day - p.Weekday(day)
	}
	return day - day%7
}

// miles is the way to a launch; 0 where it is not known.
func (p *Problem) miles(person, launch int) float64 {
	if p.People[person].KM == nil {
		return 0
	}
	return math.Max(0, p.People[person].KM(launch))
}
