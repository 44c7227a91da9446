package skill

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"time"

	"thwart"
	"thwart/season"
)

// SoonDays is how long before its end a certificate is spoken of.
const SoonDays = 14

// Standing is one person's certificates and how far each curriculum is done.
type Standing struct {
	Person       string          `json:"person"`
	Name         string          `json:"name"`
	Certificates []Held          `json:"certificates"` // the one that lasts longest for each purpose
	Curricula    []CurriculumNow `json:"curricula"`
}

// Held is a certificate.
type Held struct {
	For        string     `json:"for"` // inspect, wash, train
	From       *time.Time `json:"from,omitempty"`
	Expires    *time.Time `json:"expires,omitempty"`
	By         string     `json:"by,omitempty"`
	Curriculum string     `json:"curriculum,omitempty"` // name; empty = brought from elsewhere
	// State is valid, soon (ends within 14 days), ended, not_yet or none.
	State string `json:"state"`
	Says  string `json:"says"`
}

// CurriculumNow is a curriculum as far as one person has done it.
type CurriculumNow struct {
	Curriculum string    `json:"curriculum"` // subject
	Name       string    `json:"name"`
	For        string    `json:"for"`
	Parts      []PartNow `json:"parts"`
	Done       int       `json:"done"`
	Complete   bool      `json:"complete"` // all parts are done and count today: a certificate may be written
}

// PartNow is one part of it.
type PartNow struct {
	Name  string     `json:"name"`
	What  string     `json:"what"`
	Words string     `json:"words,omitempty"`
	Have  int        `json:"have"` // drills in a row to the standard, craft observed, or 1 for what was read
	Need  int        `json:"need"`
	Done  bool       `json:"done"`
	Until *time.Time `json:"until,omitempty"` // when it must be done again; absent = as long as the whole
	// Evidence lists subjects of drills and inspections that count.
	Evidence []string `json:"evidence,omitempty"`
	Says     string   `json:"says"`
}

// Purposes are what certificates are for.
var Purposes = []string{"inspect", "wash", "train"}

// purposesOf are those that somebody's roles ask for.
func purposesOf(p *thwart.Person) (list []string) {
	if slices.Contains(p.Roles, thwart.RoleSteward) || slices.Contains(p.Roles, thwart.RoleTechnician) {
		list = append(list, "inspect")
	}
	if slices.Contains(p.Roles, thwart.RoleTechnician) {
		list = append(list, "wash")
	}
	return list
}

// Standings gives everybody who inspects or washes and has not left, by name.
func Standings(b *season.Book, now time.Time) []Standing {
	out := []Standing{}
	for i := range b.People {
		p := &b.People[i].Body
		purposes := purposesOf(p)
		if len(purposes) == 0 || p.Left != nil && !p.Left.After(now) {
			continue
		}
		out = append(out, StandingOf(b, int32(i), now))
	}
	slices.SortFunc(out, func(x, y Standing) int { return cmp.Or(cmp.Compare(x.Name, y.Name), cmp.Compare(x.Person, y.Person)) })
	return out
}

// StandingOf gives one person's, by index in [season.Book.People].
func StandingOf(b *season.Book, person int32, now time.Time) Standing {
	p := &b.People[person]
	s := Standing{Person: p.Subject, Name: p.Body.Name, Certificates: []Held{}, Curricula: []CurriculumNow{}}
	purposes := purposesOf(&p.Body)
	for _, purpose := range Purposes {
		h := held(b, person, purpose, now)
		if h.State != "none" || slices.Contains(purposes, purpose) {
			s.Certificates = append(s.Certificates, h)
		}
	}
	for i := range b.Curricula {
		c := &b.Curricula[i]
		if slices.Contains(purposes, c.Body.For) || begun(b, person, c.Subject) {
			s.Curricula = append(s.Curricula, curriculum(b, person, c, now))
		}
	}
	slices.SortFunc(s.Curricula, func(x, y CurriculumNow) int {
		return cmp.Or(cmp.Compare(x.Name, y.Name), cmp.Compare(x.Curriculum, y.Curriculum))
	})
	return s
}

// begun reports whether somebody has begun a curriculum that her roles do not ask for.
func begun(b *season.Book, person int32, curriculum string) bool {
	return slices.ContainsFunc(b.Certificates, func(c season.Record[thwart.Certified]) bool {
		return c.Body.Person == b.People[person].Subject && c.Body.Curriculum == curriculum
	})
}

// all lists the certificates of a person for a purpose: those brought from elsewhere and those of the programme for the whole
// of a curriculum.
func all(b *season.Book, person int32, purpose string) (list []thwart.Certificate, names []string) {
	p := &b.People[person]
	for _, c := range p.Body.Certificates {
		if c.For == purpose {
			list, names = append(list, c), append(names, "")
		}
	}
	for i := range b.Certificates {
		c := &b.Certificates[i].Body
		if c.Person == p.Subject && c.Part == "" && c.For == purpose {
			name := c.Curriculum
			if k := slices.IndexFunc(b.Curricula, func(x season.Record[thwart.Curriculum]) bool { return x.Subject == c.Curriculum }); k >= 0 {
				name = b.Curricula[k].Body.Name
			}
			list, names = append(list, c.Certificate), append(names, name)
		}
	}
	return list, names
}

func held(b *season.Book, person int32, purpose string, now time.Time) Held {
	out := Held{For: purpose, State: "none", Says: fmt.Sprintf("No certificate to %s.", purpose)}
	list, names := all(b, person, purpose)
	best := -1
	for i := range list {
		begun, bestBegun := !list[i].From.After(now), best >= 0 && !list[best].From.After(now)
		if best < 0 || begun && !bestBegun || begun == bestBegun && list[i].Expires.After(list[best].Expires) {
			best = i
		}
	}
	if best < 0 {
		return out
	}
	c := list[best]
	out.From, out.Expires, out.By, out.Curriculum = &c.From, &c.Expires, c.By, names[best]
	left := c.Expires.Sub(now).Hours() / 24
	switch {
	case c.From.After(now):
		out.State, out.Says = "not_yet", fmt.Sprintf("Counts from %s.", day(c.From))
	case left <= 0:
		out.State, out.Says = "ended", fmt.Sprintf("Ended on %s.", day(c.Expires))
	case left <= SoonDays:
		out.State, out.Says = "soon", fmt.Sprintf("Ends on %s, in %.0f days.", day(c.Expires), left)
	default:
		out.State, out.Says = "valid", fmt.Sprintf("Counts until %s.", day(c.Expires))
	}
	return out
}

func day(t time.Time) string { return t.Format("2 January 2006") }

func curriculum(b *season.Book, person int32, c *season.Record[thwart.Curriculum], now time.Time) CurriculumNow {
	out := CurriculumNow{Curriculum: c.Subject, Name: c.Body.Name, For: c.Body.For, Parts: []PartNow{}}
	for _, p := range c.Body.Parts {
		n := partNow(b, person, c, &p, now)
		if n.Done {
			out.Done++
		}
		out.Parts = append(out.Parts, n)
	}
	out.Complete = out.Done == len(out.Parts)
	return out
}

// partNow is a part as it stands: done where a trainer has certified it and that still counts, or where the drills on record
// reach the standard.
func partNow(b *season.Book, person int32, c *season.Record[thwart.Curriculum], p *thwart.CurriculumPart, now time.Time) PartNow {
	n := PartNow{Name: p.Name, What: p.What, Words: p.Words, Need: 1}
	switch p.What {
	case thwart.PartDrills:
		n.Need = p.Drills
		n.Have, n.Evidence = inARow(b, person, p)
		n.Done = n.Have >= n.Need
	case thwart.PartObserved:
		n.Need = p.Boats
	}
	for i := range b.Certificates {
		x := &b.Certificates[i].Body
		if x.Person != b.People[person].Subject || x.Curriculum != c.Subject || x.Part != p.Name || x.From.After(now) {
			continue
		}
		until := x.Expires
		if p.Months > 0 {
			if again := x.From.AddDate(0, p.Months, 0); again.Before(until) {
				until = again
			}
		}
		if n.Until == nil || until.After(*n.Until) {
			n.Until, n.Evidence = &until, x.Evidence
		}
		if until.After(now) {
			n.Done, n.Have = true, max(n.Have, n.Need)
		} else if p.What == thwart.PartObserved {
			n.Have = max(n.Have, min(len(x.Evidence), n.Need))
		}
	}
	switch {
	case n.Done && n.Until != nil && n.Until.Sub(now).Hours() <= SoonDays*24:
		n.Says = fmt.Sprintf("Done, and to be done again by %s.", day(*n.Until))
	case n.Done:
		n.Says = "Done."
	case n.Until != nil:
		n.Says = fmt.Sprintf("Was done until %s.", day(*n.Until))
	default:
		n.Says = fmt.Sprintf("%d of %d.", n.Have, n.Need)
	}
	return n
}

// inARow counts the latest drills without a break that reach the standard, up to what is needed.
func inARow(b *season.Book, person int32, p *thwart.CurriculumPart) (have int, evidence []string) {
	var drills []*season.Drill
	for i := range b.Drills {
		if d := &b.Drills[i]; d.Person == person && len(d.Body.Places) > 0 && hard(d.Body.Difficulty) >= hard(p.Difficulty) {
			drills = append(drills, d)
		}
	}
	slices.SortFunc(drills, func(x, y *season.Drill) int {
		return cmp.Or(cmp.Compare(y.At.MS, x.At.MS), cmp.Compare(x.Subject, y.Subject))
	})
	for _, d := range drills {
		if d.Body.Score < p.Score || have == p.Drills {
			break
		}
		have++
		evidence = append(evidence, d.Subject)
	}
	return have, evidence
}

// hard is a difficulty as a number; 0 for one that is none, which every drill reaches.
func hard(difficulty string) int {
	n, err := strconv.Atoi(difficulty)
	if err != nil {
		return 0
	}
	return n
}

// May reports whether a person may be put on a shift for a purpose: a certificate has to count from its begin to its end. why
// says what is lacking.
func May(b *season.Book, person int32, purpose string, from, to time.Time) (ok bool, why string) {
	if person < 0 || int(person) >= len(b.People) {
		return false, "Nobody of that id is on record."
	}
	p := &b.People[person].Body
	if p.Left != nil && !p.Left.After(to) {
		return false, fmt.Sprintf("%s has left the programme.", p.Name)
	}
	list, _ := all(b, person, purpose)
	var latest time.Time
	for _, c := range list {
		if !c.From.After(from) && !c.Expires.Before(to) {
			return true, ""
		}
		if c.Expires.After(latest) {
			latest = c.Expires
		}
	}
	if latest.IsZero() {
		return false, fmt.Sprintf("%s has no certificate to %s.", p.Name, purpose)
	}
	return false, fmt.Sprintf("The certificate of %s to %s ends on %s, or does not cover the shift.", p.Name, purpose, day(latest))
}
