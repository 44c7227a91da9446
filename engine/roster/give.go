package roster

import (
	"fmt"
	"slices"
)

// Place is one place of a shift in a roster that stands.
type Place struct {
	Shift  int
	Holder int // who has it; -1 for one that is open
}

// Choice is what giving a place to one person would mean.
type Choice struct {
	Person  int
	Against []Hindrance // every rule against it
	// Leaves are the shifts the person would have to leave for it, where nothing but these is against it. A shift that was fixed by
	// hand is never left.
	Leaves []int
	Breaks []Break // what leaving them does
	Hours  float64 // of the person in the week of the place, with it and without the shifts left
}

// May tells whether the person can be given the place.
func (c *Choice) May() bool { return len(c.Against) == 0 || len(c.Leaves) > 0 }

// Break is a shift that is worse off than before: one person fewer, and perhaps somebody new alone.
type Break struct {
	Shift   int
	Missing int   // people then missing
	Alone   []int // new people then without anybody experienced
}

// Choices says of everybody but the holder what giving them a place of a roster would mean, in the order of the people.
func (p *Problem) Choices(assigned []Assignment, at Place) ([]Choice, error) {
	rest, err := p.without(assigned, at)
	if err != nil {
		return nil, err
	}
	var out []Choice
	for i := range p.People {
		if i != at.Holder {
			out = append(out, p.choice(rest, at.Shift, i))
		}
	}
	return out, nil
}

// Give puts a person on a place of a roster. Nothing else is changed but the shifts that the person has to leave. A person who may
// not is an error.
func (p *Problem) Give(assigned []Assignment, at Place, person int) (*Result, error) {
	rest, err := p.without(assigned, at)
	if err != nil {
		return nil, err
	}
	if person < 0 || person >= len(p.People) || person == at.Holder {
		return nil, fmt.Errorf("person %d: accepted is another of %d people", person, len(p.People))
	}
	c := p.choice(rest, at.Shift, person)
	if !c.May() {
		return nil, fmt.Errorf("person %d on shift %d: rule %d is against it", person, at.Shift, c.Against[0].Rule)
	}
	for _, s := range c.Leaves {
		rest = slices.DeleteFunc(rest, func(a Assignment) bool { return a == Assignment{s, person} })
	}
	q := *p
	q.Keep = assigned
	return q.stand(append(rest, Assignment{at.Shift, person})), nil
}

// without is a roster with a place emptied.
func (p *Problem) without(assigned []Assignment, at Place) ([]Assignment, error) {
	if err := p.check(); err != nil {
		return nil, err
	}
	if at.Shift < 0 || at.Shift >= len(p.Shifts) {
		return nil, fmt.Errorf("shift %d: accepted are %d shifts", at.Shift, len(p.Shifts))
	}
	if at.Holder < 0 {
		if p.on(assigned, at.Shift) >= p.Shifts[at.Shift].People {
			return nil, fmt.Errorf("shift %d: no place is open", at.Shift)
		}
		return slices.Clone(assigned), nil
	}
	held := Assignment{at.Shift, at.Holder}
	if !slices.Contains(assigned, held) {
		return nil, fmt.Errorf("person %d is not on shift %d", at.Holder, at.Shift)
	}
	return slices.DeleteFunc(slices.Clone(assigned), func(a Assignment) bool { return a == held }), nil
}

// choice weighs a person for a shift that has a place, beside the rest of a roster.
func (p *Problem) choice(rest []Assignment, shift, person int) Choice {
	c := Choice{Person: person}
	leave := map[int]bool{}
	fixed := false
	for h := range p.unable(person, shift) {
		c.Against = append(c.Against, h)
		fixed = true
	}
	for h := range p.beside(person, shift, rest) {
		c.Against = append(c.Against, h)
		if h.Other >= 0 {
			leave[h.Other] = true
			fixed = fixed || has(p.Fixed, h.Other, person)
		}
	}
	if p.People[person].New && !p.guided(rest, shift) {
		c.Against = append(c.Against, Hindrance{Rule: NewAlone, Other: -1})
		fixed = true
	}
	left := rest
	if !fixed && len(leave) > 0 {
		left = slices.DeleteFunc(slices.Clone(rest), func(a Assignment) bool { return a.Person == person && leave[a.Shift] })
		if none(p.beside(person, shift, left)) {
			for _, a := range rest {
				if a.Person == person && leave[a.Shift] {
					c.Leaves = append(c.Leaves, a.Shift)
					c.Breaks = append(c.Breaks, p.broken(left, a.Shift))
				}
			}
		} else {
			left = rest
		}
	}
	c.Hours = p.Shifts[shift].Hours()
	for _, a := range left {
		if a.Person == person && a.Shift != shift && p.monday(p.Shifts[a.Shift].Day) == p.monday(p.Shifts[shift].Day) {
			c.Hours += p.Shifts[a.Shift].Hours()
		}
	}
	return c
}

// broken is how a shift stands once somebody has left it.
func (p *Problem) broken(left []Assignment, shift int) Break {
	b := Break{Shift: shift, Missing: max(0, p.Shifts[shift].People-p.on(left, shift))}
	if !p.guided(left, shift) {
		for _, a := range left {
			if a.Shift == shift {
				b.Alone = append(b.Alone, a.Person)
			}
		}
	}
	return b
}

// on counts the people on a shift.
func (p *Problem) on(assigned []Assignment, shift int) (n int) {
	for _, a := range assigned {
		if a.Shift == shift {
			n++
		}
	}
	return n
}

// guided tells whether somebody experienced is on a shift.
func (p *Problem) guided(assigned []Assignment, shift int) bool {
	return slices.ContainsFunc(assigned, func(a Assignment) bool { return a.Shift == shift && !p.People[a.Person].New })
}

// stand is the result of a roster that is given whole.
func (p *Problem) stand(assigned []Assignment) *Result {
	r := p.empty()
	for _, shifts := range p.weeks() {
		w := &week{Problem: p, r: r, shifts: shifts}
		w.take(slices.DeleteFunc(slices.Clone(assigned), func(a Assignment) bool { return !slices.Contains(shifts, a.Shift) }))
	}
	p.notes(r)
	return r
}
