package siting

import "math"

// WorthOfShares values staffing that is not all or nothing: share[launch][cell] of the days have the given team there, each
// day by its own luck. It is how plans made otherwise, or what was really worked, are held beside a plan: in the unit of value,
// and by organism.
func (b *Built) WorthOfShares(share [][]float64, team int) (value float64, byOrganism []float64) {
	s := b.Stations
	t := s.Teams[team]
	q := make([][]float64, len(s.Launches))
	for l := range q {
		q[l] = make([]float64, s.Cells())
		for c := range q[l] {
			if v := share[l][c]; v > 0 {
				q[l][c] = math.Min(1, v) * s.chance(Leg{l, c, 1}, t, -1)
			}
		}
	}
	byOrganism = make([]float64, len(s.Organisms))
	for _, f := range s.Flows {
		for cell, craft := range f.Arrive {
			if craft == 0 {
				continue
			}
			miss := 1.0
			if f.To >= 0 && s.Policy != Departure {
				miss = 1 - q[f.To][cell]
			}
			if f.From >= 0 && s.Policy != Arrival {
				if f.Leave == nil {
					miss *= 1 - q[f.From][cell]
				} else {
					var leave float64
					for c, p := range f.Leave {
						leave += p * q[f.From][c]
					}
					miss *= 1 - leave
				}
			}
			for o, r := range f.Risk {
				byOrganism[o] += craft * r * (1 - miss)
			}
		}
	}
	for o, v := range byOrganism {
		value += s.Weights[o] * v
	}
	return value, byOrganism
}

// SharesOf is the staffing of a set of choices: 1 in every cell with a team, less where a duty has a part of it.
func (b *Built) SharesOf(chosen []bool) [][]float64 {
	out := make([][]float64, len(b.Stations.Launches))
	for l := range out {
		out[l] = make([]float64, b.Stations.Cells())
	}
	for k, sh := range b.Shifts {
		if chosen[k] && sh.Kind == Duty {
			for _, leg := range sh.Legs {
				out[leg.Launch][leg.Cell] += leg.Share
			}
		}
	}
	return out
}

// Gains is, for every choice, what it would add to a set (free) or what the set would lose without it (chosen).
func (p *Problem) Gains(chosen []bool) []float64 { return p.index().state(chosen).gain }
