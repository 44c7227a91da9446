package plan

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"thwart/engine/siting"
)

// alternatives holds the plan beside three that people make without computing, each with the plan's own hours and teams of the
// first size.
func (r *SeasonPlan) alternatives(in *Input, b *siting.Built) {
	s := b.Stations
	hours := 0.0 // of presence, whatever the size of the teams
	for l := range r.Staffed {
		for c, v := range r.Staffed[l] {
			hours += math.Min(1, v) * cellHours(s, c)
		}
	}
	add := func(name, words string, staffed [][]float64) {
		v, _ := b.WorthOfShares(staffed, 0)
		var h float64
		for l := range staffed {
			for c, x := range staffed[l] {
				h += x * cellHours(s, c)
			}
		}
		a := Alternative{Name: name, Words: words, Hours: h, Value: v, Staffed: staffed}
		if r.All > 0 {
			a.Share = v / r.All
		}
		r.Alternatives = append(r.Alternatives, a)
	}
	add("busiest", "stand where and when most craft come", in.busiest(s, hours))
	add("equal", "the same hours at every launch, at all times", equal(s, hours))
	if cells, inside := in.lastYear(s, &r.Wishes); inside > 0 {
		add(LastYear, "the hours as they were worked last season, as many as the plan has", sharesOf(s, cells, hours/inside))
	}
}

func cellHours(s *siting.Stations, cell int) float64 {
	d, b := s.Split(cell)
	return s.DayTypes[d].Days * s.Blocks[b].Hours
}

func grid(s *siting.Stations) [][]float64 {
	out := make([][]float64, len(s.Launches))
	for l := range out {
		out[l] = make([]float64, s.Cells())
	}
	return out
}

// busiest fills cells in the order of craft an hour until the hours are spent; the last one in part.
func (in *Input) busiest(s *siting.Stations, hours float64) [][]float64 {
	out := grid(s)
	type cell struct {
		l, c int
		rate float64
	}
	var all []cell
	for l := range out {
		for c := range out[l] {
			_, b := s.Split(c)
			all = append(all, cell{l, c, s.Craft[l][c] / s.Blocks[b].Hours})
		}
	}
	slices.SortStableFunc(all, func(a, b cell) int { return cmp.Compare(b.rate, a.rate) })
	for _, x := range all {
		h := cellHours(s, x.c)
		if hours <= 0 || h == 0 {
			break
		}
		out[x.l][x.c] = math.Min(1, hours/h)
		hours -= h
	}
	return out
}

func equal(s *siting.Stations, hours float64) [][]float64 {
	out := grid(s)
	var all float64
	for l := range out {
		for c := range out[l] {
			all += cellHours(s, c)
		}
	}
	for l := range out {
		for c := range out[l] {
			out[l][c] = math.Min(1, hours/all)
		}
	}
	return out
}

// lastYear is the hours with somebody on site last season, by launch and cell, and their sum. Hours outside the parts of the day of
// the wishes are not in it.
func (in *Input) lastYear(s *siting.Stations, w *PlanWishes) (out [][]float64, all float64) {
	out = grid(s)
	for l := range out {
		for k := range kindNames {
			for b, block := range w.Blocks {
				for h := block.From; h < block.To; h++ {
					out[l][s.Cell(k, b)] += in.Launches[l].Worked[k][h]
				}
				all += out[l][s.Cell(k, b)]
			}
		}
	}
	return out, all
}

// sharesOf turns so many times some hours by launch and cell into shares of days.
func sharesOf(s *siting.Stations, hours [][]float64, times float64) [][]float64 {
	out := grid(s)
	for l := range out {
		for c := range out[l] {
			if h := cellHours(s, c); h > 0 {
				out[l][c] = math.Min(1, hours[l][c]*times/h)
			}
		}
	}
	return out
}

// thousand hours: the unit in which shifts are compared, so that numbers are readable.
const thousand = 1000

// left lists launches without anybody and what standing there would add.
func (r *SeasonPlan) left(in *Input, b *siting.Built, plan siting.Plan) {
	s := b.Stations
	chosen := b.Problem.Set(plan.Chosen)
	gains := b.Problem.Gains(chosen)
	// What was decided by hand, or is owed to a launch in any case, is no measure of what the plan thinks worth its hours.
	worst := math.Inf(1)
	for _, sh := range r.Shifts {
		if !r.Wishes.pins(sh.Launch, sh.Day, sh.Block, true) && !r.Wishes.owes(sh.Launch) {
			worst = math.Min(worst, thousand*sh.Stops/sh.Hours)
		}
	}
	risk := make([]float64, len(in.Launches))
	for _, f := range s.Flows {
		if f.To >= 0 {
			for o, v := range f.Risk {
				if in.Find[o] > 0 {
					risk[f.To] += s.Weights[o] * v / in.Find[o]
				}
			}
		}
	}
	for l := range in.Launches {
		if slices.Max(r.Staffed[l]) > 0 {
			continue
		}
		out := LeftOut{Launch: in.Launches[l].ID, Name: in.Launches[l].Name, Season: in.Launches[l].Season, Risk: risk[l]}
		out.ByHand = r.Wishes.pins(out.Launch, "", "", false)
		if !math.IsInf(worst, 1) {
			out.PlanWorst = worst
		}
		for k, sh := range b.Shifts {
			if sh.Kind == siting.Duty && sh.Legs[0].Launch == l && sh.Hours > 0 && b.Problem.Choices[k].Pin != siting.Out {
				if v := thousand * gains[k] / sh.Hours; v > out.PerHour {
					out.PerHour, out.WouldStop = v, gains[k]
				}
			}
		}
		r.Left = append(r.Left, out)
	}
	slices.SortStableFunc(r.Left, func(a, b LeftOut) int { return cmp.Compare(b.Season, a.Season) })
	seasons := make([]float64, 0, len(in.Launches))
	for _, l := range in.Launches {
		seasons = append(seasons, l.Season)
	}
	slices.Sort(seasons)
	busy := seasons[max(0, len(seasons)-max(2, len(r.Shifts)/2))]
	for i := range r.Left {
		r.Left[i].BusiestOne = r.Left[i].Season >= busy
	}
}

// frontier computes money against risk stopped, from nothing to half as much again as the plan costs, and
// at least to what last season's hours cost. Hours stay free: it says
// what money would buy.
func (m *Maker) frontier(ctx context.Context, b *siting.Built, r *SeasonPlan) error {
	n := r.Wishes.Frontier
	if n < 2 || r.Cost == 0 {
		return nil
	}
	p := *b.Problem
	p.Rules = slices.DeleteFunc(slices.Clone(p.Rules), func(x siting.Rule) bool { return strings.HasPrefix(x.Wish, "at most") && x.Unit == "hours" })
	var budgets []float64
	most := 1.5 * r.Cost
	if r.Worked != nil { // so that the curve lies beside what is done now
		most = math.Max(most, r.Worked.Cost)
	}
	for i := range n {
		budgets = append(budgets, most*float64(i)/float64(n-1))
	}
	plans, err := p.Frontier(ctx, budgets, siting.Effort{Seed: r.Wishes.Seed, Shakes: 60, Rounds: 200}, func(done int) {
		m.tell(0.62+0.28*float64(done)/float64(n), fmt.Sprintf("money against risk: %d of %d", done, n))
	})
	if err != nil {
		return err
	}
	for i, q := range plans {
		if q.Kept {
			r.Frontier = append(r.Frontier, FrontierPoint{budgets[i], q.Cost, q.Value, q.Bound, finite(q.Better())})
		}
	}
	at := siting.Plan{Cost: r.Cost, Value: r.Value}
	if step, ok := siting.NextStep(plans, at); ok {
		r.Next = &step
	}
	return nil
}

// finite replaces what JSON cannot carry: with nothing stopped, no share can be given.
func finite(v float64) float64 {
	if math.IsInf(v, 0) || math.IsNaN(v) {
		return 0
	}
	return v
}

// reason says why nobody stands at a busy launch: by hand, because little there is risky, or because something else binds.
func (l *LeftOut) reason() string {
	text := fmt.Sprintf("Nobody at %s, though %.0f craft come in a season: ", l.Name, l.Season)
	switch {
	case l.ByHand && l.PerHour == 0:
		return text + "that was decided by hand."
	case l.PlanWorst == 0:
		return text + fmt.Sprintf("the hours are spent on what was decided by hand. The best shift there would stop %.2g per 1,000 hours.", l.PerHour)
	case l.PerHour <= l.PlanWorst:
		return text + fmt.Sprintf("little of what comes there is risky. The best shift there would stop %.2g per 1,000 hours; the least good one that the plan chose stops %.2g.", l.PerHour, l.PlanWorst)
	}
	return text + fmt.Sprintf("the best shift there would stop %.2g per 1,000 hours, more than the least good one that the plan chose (%.2g), but does not fit with the other wishes, or only in place of more.", l.PerHour, l.PlanWorst)
}

// why says in words what the plan does and why the busiest launches may be left out.
func (r *SeasonPlan) why() {
	worst := r.Why // of a plan for the worst seasons
	r.Why = nil
	say := func(format string, args ...any) { r.Why = append(r.Why, fmt.Sprintf(format, args...)) }
	switch {
	case r.Value == 0 && r.Bound > 0:
		say("The plan stops nothing, with %.0f hours of work. No plan under these wishes stops more than %.3g of %.4g risky craft, weighted.", r.Hours, r.Bound, r.All)
	case r.All > 0:
		say("The plan stops %.0f %% of the risk (%.3g of %.4g risky craft, weighted) with %.0f hours of work. At most %.1f %% better is possible.", 100*r.Value/r.All, r.Value, r.All, r.Hours, 100*r.Better)
	}
	if r.Budget != nil {
		r.Why = append(r.Why, r.Budget.words())
	}
	r.Why = append(r.Why, worst...)
	if w := r.Worked; w != nil {
		say("Last season’s %.0f hours of work, where and when they were worked, stop %.3g and cost %s; somebody was on site in %.0f hours.", w.Hours, w.Value, r.money(w.Cost), w.Site)
	}
	for _, a := range r.Alternatives {
		switch {
		case a.Value <= 0:
			say("%s: %s, in as many hours: stops nothing.", a.Name, a.Words)
		default:
			say("%s (%s): stops %.3g in %.0f hours on site; the plan stops %.2f times as much.", a.Name, a.Words, a.Value, a.Hours, r.Value/a.Value)
		}
	}
	told := 0
	for _, l := range r.Left {
		if l.BusiestOne && told < 3 {
			told++
			say("%s", l.reason())
		}
	}
	if r.Next != nil {
		say("The next useful step costs %s more and stops %.2g more.", r.money(r.Next.Cost), r.Next.Value)
	}
}
