package plan

import (
	"math"

	"thwart/engine/siting"
)

// stations writes input and wishes as a season to be planned.
func (in *Input) stations(w *PlanWishes) *siting.Stations {
	s := &siting.Stations{
		Policy: siting.Policy(w.Policy), Organisms: in.Organisms,
		Limits: siting.Limits{Money: math.Inf(1), Hours: w.Hours, People: w.People},
	}
	if w.Money != nil {
		s.Limits.Money = *w.Money
	}
	for _, o := range in.Organisms {
		weight, ok := w.Weights[o]
		if !ok {
			weight = 1
		}
		s.Weights = append(s.Weights, weight)
	}
	for k, name := range kindNames {
		s.DayTypes = append(s.DayTypes, siting.DayType{Name: name, Days: in.Days[k]})
	}
	for _, b := range w.Blocks {
		s.Blocks = append(s.Blocks, siting.Block{Name: b.Name, Hours: float64(b.To - b.From)})
	}
	for _, t := range w.Teams {
		// What a look finds is in the risk, by organism; a larger team gets through more craft and finds no more on each.
		s.Teams = append(s.Teams, siting.Team{People: t.People, Find: 1, PerHour: t.PerHour, Cost: w.HourCost * float64(t.People)})
	}
	in.places(s, w)
	in.flows(s, w)
	in.limits(s, w)
	in.washing(s, w)
	return s
}

// places adds launches with the craft that come to them. Where craft are met leaving too, as many leave as come.
func (in *Input) places(s *siting.Stations, w *PlanWishes) {
	twice := 1.0
	if s.Policy == siting.Both {
		twice = 2
	}
	for _, l := range in.Launches {
		s.Launches = append(s.Launches, siting.Launch{Name: l.Name, Partner: l.Partner, Refuse: in.Refuse})
		craft := make([]float64, s.Cells())
		for k := range kindNames {
			for b, block := range w.Blocks {
				for h := block.From; h < block.To; h++ {
					craft[s.Cell(k, b)] += twice * l.PerHour[k][h]
				}
			}
		}
		s.Craft = append(s.Craft, craft)
	}
}

// profile is the share of a launch's season that comes in each cell. What comes at other hours is left out, so shares add up to
// less than 1.
func (in *Input) profile(l int, w *PlanWishes) []float64 {
	var all float64
	out := make([]float64, len(kindNames)*len(w.Blocks))
	for k := range kindNames {
		for h, n := range in.Launches[l].PerHour[k] {
			all += n * in.Days[k]
			for b, block := range w.Blocks {
				if h >= block.From && h < block.To {
					out[k*len(w.Blocks)+b] += n * in.Days[k]
				}
			}
		}
	}
	for c := range out {
		if all > 0 {
			out[c] /= all
		}
	}
	return out
}

// flows divides the traffic between waters over their launches, as craft do, and over the parts of the week. Craft leave when
// they come, as far as anybody knows; the day on which one leaves says nothing of the day on which it comes elsewhere.
func (in *Input) flows(s *siting.Stations, w *PlanWishes) {
	profiles := make([][]float64, len(in.Launches))
	for l := range profiles {
		profiles[l] = in.profile(l, w)
	}
	type ends struct{ from, to int }
	sums := map[ends][]float64{}
	var order []ends
	for _, p := range in.Pairs {
		to, shareTo := in.atWater(p.To)
		from, shareFrom := []int{-1}, []float64{1}
		if s.Policy != siting.Arrival {
			if at, share := in.atWater(p.From); len(at) > 0 {
				from, shareFrom = at, share
			}
		}
		for a, f := range from {
			for b, t := range to {
				key := ends{f, t}
				if sums[key] == nil {
					sums[key] = make([]float64, len(in.Organisms))
					order = append(order, key)
				}
				for o, r := range p.Risk {
					sums[key][o] += r * in.Find[o] * shareFrom[a] * shareTo[b]
				}
			}
		}
	}
	for _, key := range order {
		f := siting.Flow{From: key.from, To: key.to, Arrive: profiles[key.to], Risk: sums[key]}
		if key.from >= 0 {
			f.Leave = profiles[key.from]
		}
		s.Flows = append(s.Flows, f)
	}
}

func (in *Input) limits(s *siting.Stations, w *PlanWishes) {
	for _, m := range w.Minimum {
		s.Limits.Minimum = append(s.Limits.Minimum, siting.Presence{Launch: in.launchIndex(m.Launch), Hours: m.Hours})
	}
	for _, c := range w.Partners {
		s.Limits.Partners = append(s.Limits.Partners, siting.Contract{Partner: c.Partner, Lo: c.Lo, Hi: c.Hi})
	}
	if w.Even != nil {
		s.Limits.Even = &siting.Even{Share: w.Even.Share, Within: w.Even.Within}
	}
	for _, f := range w.Fixed {
		for k, name := range kindNames {
			for b, block := range w.Blocks {
				if name == f.Day && block.Name == f.Block {
					s.Limits.Fixed = append(s.Limits.Fixed, siting.Fixed{Launch: in.launchIndex(f.Launch), Cell: s.Cell(k, b), In: f.In})
				}
			}
		}
	}
}

func (in *Input) washing(s *siting.Stations, w *PlanWishes) {
	u := w.Units
	if u == nil {
		return
	}
	s.Washing = &siting.Washing{
		ByHand: u.ByHand, Fail: u.Fail, Units: u.Count, Cost: u.Cost, HourCost: u.HourCost, People: u.People, PerHour: 60 / u.Minutes,
		HalfKM: u.HalfKM, ReachKM: u.ReachKM, HereChance: u.HereChance,
	}
	for _, id := range u.Sites {
		s.Washing.Sites = append(s.Washing.Sites, in.launchIndex(id))
	}
	for a := range in.Launches {
		row := make([]float64, len(in.Launches))
		for b := range row {
			if a != b {
				row[b] = in.KM(a, b)
			}
		}
		s.Washing.DetourKM = append(s.Washing.DetourKM, row)
	}
}
