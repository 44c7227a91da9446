package siting

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// Built is a season as a problem, with what each choice stands for.
type Built struct {
	Stations *Stations
	Problem  *Problem
	Shifts   []Shift // by choice
	// Organisms' parts of each passage's weight.
	ByOrganism [][]float64

	atCell [][]meetAt // duties by launch and cell
	opens  []int      // choice that sets a launch up, -1 for none
	work   map[[2]int]int
}

type meetAt struct {
	choice int
	q      float64
}

// Build makes a problem of a season.
func (s *Stations) Build() (*Built, error) {
	if err := s.check(); err != nil {
		return nil, err
	}
	b := &Built{
		Stations: s, Problem: &Problem{Budget: s.Limits.Money}, opens: make([]int, len(s.Launches)),
		atCell: make([][]meetAt, len(s.Launches)*s.Cells()), work: map[[2]int]int{},
	}
	b.openings()
	b.units()
	for _, legs := range s.duties() {
		for t := range s.Teams {
			b.duty(legs, t, -1)
			for _, site := range b.sitesFor(legs) {
				b.duty(legs, t, site)
			}
		}
	}
	b.passages()
	b.rules()
	return b, b.Problem.Check()
}

func (b *Built) add(c Choice, s Shift) int {
	b.Problem.Choices = append(b.Problem.Choices, c)
	b.Shifts = append(b.Shifts, s)
	return len(b.Shifts) - 1
}

func (b *Built) openings() {
	for l, at := range b.Stations.Launches {
		b.opens[l] = -1
		if at.Setup > 0 {
			b.opens[l] = b.add(Choice{Name: "set up " + at.Name, Cost: at.Setup}, Shift{Kind: Open, Legs: []Leg{{Launch: l}}, Site: -1})
		}
	}
}

// units adds the placing of a wash unit and its working hours.
func (b *Built) units() {
	s, w := b.Stations, b.Stations.Washing
	if w == nil {
		return
	}
	for _, site := range w.Sites {
		name := s.Launches[site].Name
		u := b.add(Choice{Name: "wash unit at " + name, Cost: w.Cost}, Shift{Kind: Unit, Site: site})
		for cell := range s.Cells() {
			d, blk := s.Split(cell)
			hours := s.Blocks[blk].Hours * s.DayTypes[d].Days
			b.work[[2]int{site, cell}] = b.add(
				Choice{Name: "washing at " + name + ", " + s.CellName(cell), Cost: hours * w.HourCost, Needs: []int{u}},
				Shift{Kind: Washes, Site: site, Cell: cell, Hours: hours * float64(w.People), People: w.People},
			)
		}
	}
}

// duties lists the ways a team can spend a day.
func (s *Stations) duties() [][]Leg {
	var out [][]Leg
	longest := max(1, s.LongestDuty)
	for d := range s.DayTypes {
		for from := range s.Blocks {
			for l := range s.Launches {
				for n := 1; n <= longest && from+n <= len(s.Blocks); n++ {
					legs := make([]Leg, n)
					for i := range legs {
						legs[i] = Leg{Launch: l, Cell: s.Cell(d, from+i), Share: 1}
					}
					out = append(out, legs)
				}
				if s.Moves && from+1 < len(s.Blocks) {
					for m := range s.Launches {
						if m != l {
							out = append(out, []Leg{{l, s.Cell(d, from), 1}, {m, s.Cell(d, from+1), 1 - s.MoveLoss}})
						}
					}
				}
			}
		}
	}
	return out
}

// sitesFor lists the wash sites that at least one leg of a duty can send craft to.
func (b *Built) sitesFor(legs []Leg) (out []int) {
	w := b.Stations.Washing
	if w == nil {
		return nil
	}
	for _, site := range w.Sites {
		for _, leg := range legs {
			if w.Goes(w.DetourKM[leg.Launch][site]) > 0 {
				out = append(out, site)
				break
			}
		}
	}
	return out
}

// duty adds a team's day; site is where craft are sent to be washed, -1 for nowhere.
func (b *Built) duty(legs []Leg, team, site int) {
	s := b.Stations
	t := s.Teams[team]
	var names []string
	var hours float64
	c := Choice{}
	for _, leg := range legs {
		d, blk := s.Split(leg.Cell)
		hours += s.Blocks[blk].Hours * s.DayTypes[d].Days
		names = append(names, s.Launches[leg.Launch].Name+", "+s.CellName(leg.Cell))
		if o := b.opens[leg.Launch]; o >= 0 && !slices.Contains(c.Needs, o) {
			c.Needs = append(c.Needs, o)
		}
		if site >= 0 {
			c.Needs = append(c.Needs, b.work[[2]int{site, leg.Cell}])
		}
	}
	c.Cost = hours * t.Cost
	c.Name = strings.Join(names, ", then ")
	if len(s.Teams) > 1 {
		c.Name += fmt.Sprintf(", team of %d", t.People)
	}
	if site >= 0 {
		c.Name += ", washing at " + s.Launches[site].Name
	}
	k := b.add(c, Shift{Kind: Duty, Legs: legs, Team: team, Site: site, Hours: hours * float64(t.People), People: t.People})
	for _, leg := range legs {
		at := leg.Launch*s.Cells() + leg.Cell
		b.atCell[at] = append(b.atCell[at], meetAt{k, s.chance(leg, t, site)})
	}
}

// chance is the chance that a risky craft passing a leg is stopped: on site, inspected (a team gets through so many), not
// declined, found, and made safe by hand or by a wash.
func (s *Stations) chance(leg Leg, t Team, site int) float64 {
	_, blk := s.Split(leg.Cell)
	q := leg.Share * t.Find * (1 - s.Launches[leg.Launch].Refuse)
	if craft := s.Craft[leg.Launch][leg.Cell]; craft > 0 {
		q *= math.Min(1, t.PerHour*s.Blocks[blk].Hours/craft)
	}
	if w := s.Washing; w != nil {
		safe := w.ByHand
		if site >= 0 {
			safe += (1 - w.ByHand) * w.Goes(w.DetourKM[leg.Launch][site])
		}
		q *= safe
	}
	return q
}

// passages turns flows into passages. Those met by the same choices are added up, which for craft met on arrival alone
// leaves one passage for each launch and cell.
func (b *Built) passages() {
	s := b.Stations
	c := s.Cells()
	type key struct{ leave, arrive int }
	sums := map[key][]float64{}
	var order []key
	add := func(leave, arrive int, craft float64, risk []float64) {
		k := key{leave, arrive}
		v := sums[k]
		if v == nil {
			v = make([]float64, len(risk))
			sums[k] = v
			order = append(order, k)
		}
		for i, r := range risk {
			v[i] += craft * r
		}
	}
	for _, f := range s.Flows {
		for cell, craft := range f.Arrive {
			if craft == 0 {
				continue
			}
			arrive := -1
			if f.To >= 0 && s.Policy != Departure {
				arrive = f.To*c + cell
			}
			if f.From < 0 || s.Policy == Arrival {
				add(-1, arrive, craft, f.Risk)
				continue
			}
			if f.Leave == nil {
				add(f.From*c+cell, arrive, craft, f.Risk)
				continue
			}
			for from, share := range f.Leave {
				if share > 0 {
					add(f.From*c+from, arrive, craft*share, f.Risk)
				}
			}
		}
	}
	for _, k := range order {
		var g Passage
		for i, v := range sums[k] {
			g.Weight += s.Weights[i] * v
		}
		for place, at := range [Places]int{k.leave, k.arrive} {
			if at < 0 {
				continue
			}
			for _, m := range b.atCell[at] {
				if m.q > 0 {
					g.Meets = append(g.Meets, Meet{Choice: m.choice, Place: place, Q: m.q})
				}
			}
		}
		b.Problem.Passages = append(b.Problem.Passages, g)
		b.ByOrganism = append(b.ByOrganism, sums[k])
	}
}

// WeightsOf gives the weights of the problem's passages if the flows had these risks instead, by flow and organism: a sample of what
// the traffic may be. Everything else stays.
func (b *Built) WeightsOf(risks [][]float64) []float64 {
	s := *b.Stations
	s.Flows = slices.Clone(s.Flows)
	for i := range s.Flows {
		s.Flows[i].Risk = risks[i]
	}
	other := &Built{Stations: &s, Problem: &Problem{}, atCell: b.atCell}
	other.passages()
	out := make([]float64, len(other.Problem.Passages))
	for i := range out {
		out[i] = other.Problem.Passages[i].Weight
	}
	return out
}

// Stopped is the risk that a set of choices stops, by organism, and all there is.
func (b *Built) Stopped(chosen []bool) (stoppedRisk, all []float64) {
	n := len(b.Stations.Organisms)
	stoppedRisk, all = make([]float64, n), make([]float64, n)
	for i := range b.Problem.Passages {
		share := stopped(b.Problem.Passages[i].Meets, chosen)
		for o, v := range b.ByOrganism[i] {
			stoppedRisk[o] += share * v
			all[o] += v
		}
	}
	return stoppedRisk, all
}
