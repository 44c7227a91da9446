// Package roster puts people to shifts: who is certified, who is free, who has hours left, nobody new alone, weekends fairly,
// short ways. What cannot be filled stays open and is said, never hidden.
//
// [Problem.Make] solves week by week, the latest weekend counts carried on; each week is a mixed-integer programme begun from
// a greedy roster. [Problem.Repair] keeps what stands and changes as little as it can around what a person changed by hand.
// [Problem.Choices] says who could have one place of a roster that stands, and what is against the others; [Problem.Give] gives it.
package roster

import (
	"fmt"

	"thwart/engine/num"
)

// Person can be put to shifts.
type Person struct {
	Name string
	// May says on which days (index of day) the person may do which work; a nil function means always.
	May func(work string, day int) bool
	// Free says on which days the person can come.
	Free func(day int) bool
	// MaxHours is a week's hours; 0 means the problem's.
	MaxHours float64
	New      bool   // not alone on a shift with the public: beside somebody experienced
	Partner  string // an association; its people are asked for its launches first
	KM       func(launch int) float64
	Weekends float64 // free days worked before the first day of this roster, for fairness
}

// Shift is work that needs people.
type Shift struct {
	Launch   int
	Day      int     // index from the first day of the roster
	From, To float64 // hours of the day
	People   int
	Work     string // inspect, wash
	Partner  string // whose launch it is
	Worth    float64
}

// Hours of the shift for one person.
func (s *Shift) Hours() float64 { return s.To - s.From }

// Assignment is one person on one shift.
type Assignment struct{ Shift, Person int }

// Problem is people, shifts and house rules.
type Problem struct {
	People  []Person
	Shifts  []Shift
	Weekday func(day int) int // 0 Monday … 6 Sunday; weeks begin on Monday
	FreeDay func(day int) bool
	// MaxHours a week, MaxDays worked in a week and RestH hours between two shifts hold for everybody; 0 means 40, 5, 11.
	MaxHours float64
	MaxDays  int
	RestH    float64
	Fixed    []Assignment // by hand: these stand
	Barred   []Assignment // by hand: these never
	Keep     []Assignment // of an earlier roster, kept where possible
}

// Result is who works where.
type Result struct {
	Assigned []Assignment
	Open     []int     // people missing, by shift
	Weekends []float64 // free days worked, by person, those before included
	Hours    []float64 // by person
	KM       float64   // one way, all shifts
	Proved   bool      // every week's roster is proved best for its week
	Changed  int       // assignments of Keep that were given up
	Notes    []string  // what could not be kept, in words
}

func (p *Problem) check() error {
	for i, s := range p.Shifts {
		if s.People < 1 || s.People > 20 || s.Day < 0 || !(s.To > s.From) || s.Hours() > 24 {
			return fmt.Errorf("shift %d: %d people on day %d from %g to %g; accepted: 1 to 20 people, to after from", i, s.People, s.Day, s.From, s.To)
		}
	}
	for _, list := range [][]Assignment{p.Fixed, p.Barred, p.Keep} {
		for _, a := range list {
			if a.Shift < 0 || a.Shift >= len(p.Shifts) || a.Person < 0 || a.Person >= len(p.People) {
				return fmt.Errorf("person %d on shift %d: accepted are %d people and %d shifts", a.Person, a.Shift, len(p.People), len(p.Shifts))
			}
		}
	}
	if err := num.Within("hours a week", p.MaxHours, 0, 168); err != nil {
		return err
	}
	return num.Within("days a week", float64(p.MaxDays), 0, 7)
}

func (p *Problem) maxHours(i int) float64 {
	switch {
	case p.People[i].MaxHours > 0:
		return p.People[i].MaxHours
	case p.MaxHours > 0:
		return p.MaxHours
	}
	return 40
}

func (p *Problem) maxDays() int {
	if p.MaxDays > 0 {
		return p.MaxDays
	}
	return 5
}

func (p *Problem) rest() float64 {
	if p.RestH > 0 {
		return p.RestH
	}
	return 11
}
