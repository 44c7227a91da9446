package roster

import (
	"context"
	"fmt"
	"math"
	"slices"
	"time"

	"thwart/engine/mip"
)

// What things cost, in units of one kilometre of way: an unfilled place outweighs everything, a change to a kept roster
// outweighs way and fairness (house values, no source; only their order matters).
const (
	openCost    = 10000.0
	changeCost  = 300.0
	weekendCost = 40.0 // a free day more than the fewest
	foreignCost = 15.0 // somebody else's launch
)

// Make rosters all shifts. solver may be nil: then the greedy roster stands, unproved. perWeek is the time a week may take.
func (p *Problem) Make(ctx context.Context, solver mip.Solver, perWeek time.Duration, told func(done, weeks int)) (*Result, error) {
	if err := p.check(); err != nil {
		return nil, err
	}
	r := p.empty()
	r.Proved = solver != nil
	weeks := p.weeks()
	for n, shifts := range weeks {
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		w := &week{Problem: p, r: r, shifts: shifts}
		chosen := w.greedy()
		if solver != nil {
			better, proved, err := w.solve(ctx, solver, perWeek, chosen)
			if err != nil {
				return nil, err
			}
			chosen, r.Proved = better, r.Proved && proved
		}
		w.take(chosen)
		if told != nil {
			told(n+1, len(weeks))
		}
	}
	p.notes(r)
	return r, nil
}

// empty is a roster with nobody in it.
func (p *Problem) empty() *Result {
	r := &Result{Open: make([]int, len(p.Shifts)), Hours: make([]float64, len(p.People)), Weekends: make([]float64, len(p.People))}
	for i := range p.People {
		r.Weekends[i] = p.People[i].Weekends
	}
	return r
}

// Repair is [Problem.Make] with an earlier roster to keep: assignments change only where they have to.
func (p *Problem) Repair(ctx context.Context, solver mip.Solver, earlier []Assignment, perWeek time.Duration) (*Result, error) {
	q := *p
	q.Keep = earlier
	return q.Make(ctx, solver, perWeek, nil)
}

// weeks sorts shifts into weeks from Monday to Sunday, by time.
func (p *Problem) weeks() [][]int {
	order := make([]int, len(p.Shifts))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		x, y := &p.Shifts[a], &p.Shifts[b]
		if x.Day != y.Day {
			return x.Day - y.Day
		}
		return int(math.Copysign(1, x.From-y.From))
	})
	var out [][]int
	last := math.MinInt
	for _, s := range order {
		monday := p.monday(p.Shifts[s].Day)
		if monday != last {
			out = append(out, nil)
			last = monday
		}
		out[len(out)-1] = append(out[len(out)-1], s)
	}
	return out
}

type week struct {
	*Problem
	r      *Result
	shifts []int
}

// before are the shifts of the week before that are near enough to matter for rest.
func (w *week) before() (out []Assignment) {
	first := w.Shifts[w.shifts[0]].Day
	for i := len(w.r.Assigned) - 1; i >= 0; i-- {
		a := w.r.Assigned[i]
		if w.Shifts[a.Shift].Day < first-2 {
			break
		}
		out = append(out, a)
	}
	return out
}

func has(list []Assignment, shift, person int) bool {
	return slices.Contains(list, Assignment{shift, person})
}

// cost of putting a person to a shift.
func (w *week) cost(person, shift int) float64 {
	q, s := &w.People[person], &w.Shifts[shift]
	c := w.miles(person, s.Launch)
	if s.Partner != "" && q.Partner != "" && s.Partner != q.Partner {
		c += foreignCost
	}
	if w.FreeDay != nil && w.FreeDay(s.Day) {
		least := slices.Min(w.r.Weekends)
		c += weekendCost * (w.r.Weekends[person] - least)
	}
	if len(w.Keep) > 0 && !has(w.Keep, shift, person) {
		c += changeCost
	}
	return c
}

// fits tells whether a person can take a shift beside what was taken.
func (w *week) fits(person, shift int, taken, before []Assignment) bool {
	return none(w.beside(person, shift, before, taken))
}

// greedy fills fixed places, then the shifts worth most, with whom it costs least; experienced people first.
func (w *week) greedy() []Assignment {
	var taken []Assignment
	before := w.before()
	for _, f := range w.Fixed {
		if slices.Contains(w.shifts, f.Shift) {
			taken = append(taken, f)
		}
	}
	order := slices.Clone(w.shifts)
	slices.SortStableFunc(order, func(a, b int) int {
		switch x, y := w.Shifts[a].Worth, w.Shifts[b].Worth; {
		case x > y:
			return -1
		case x < y:
			return 1
		}
		return 0
	})
	for _, s := range order {
		n, guided := 0, false
		for _, a := range taken {
			if a.Shift == s {
				n++
				guided = guided || !w.People[a.Person].New
			}
		}
		for n < w.Shifts[s].People {
			best := -1
			for i := range w.People {
				if w.People[i].New && !guided || !w.can(i, s) || !w.fits(i, s, taken, before) {
					continue
				}
				if best < 0 || w.cost(i, s) < w.cost(best, s) {
					best = i
				}
			}
			if best < 0 {
				break
			}
			taken = append(taken, Assignment{s, best})
			guided = guided || !w.People[best].New
			n++
		}
	}
	return taken
}

// solve is the week as a mixed-integer programme.
func (w *week) solve(ctx context.Context, solver mip.Solver, limit time.Duration, start []Assignment) ([]Assignment, bool, error) {
	m := mip.New("week", false)
	var vars []Assignment
	at := map[Assignment]mip.Var{}
	before := w.before()
	for _, s := range w.shifts {
		for i := range w.People {
			a := Assignment{s, i}
			fixed := has(w.Fixed, s, i)
			if !fixed && !w.can(i, s) {
				continue
			}
			if !fixed && slices.ContainsFunc(before, func(b Assignment) bool { return b.Person == i && w.clashes(b.Shift, s) }) {
				continue
			}
			lo := 0.0
			if fixed {
				lo = 1
			}
			at[a] = m.Var(fmt.Sprintf("%s on %d", w.People[i].Name, s), lo, 1, w.cost(i, s), true)
			vars = append(vars, a)
		}
	}
	open := w.places(m, at)
	w.persons(m, at)
	x := make([]float64, len(m.Vars))
	filled := map[int]int{}
	for _, a := range start {
		if v, ok := at[a]; ok {
			x[v] = 1
			filled[a.Shift]++
		}
	}
	for s, v := range open {
		x[v] = math.Max(0, float64(w.Shifts[s].People-filled[s]))
	}
	sol, err := solver.Solve(ctx, m, mip.Options{Start: x, TimeLimit: limit, Gap: 1e-4})
	if err != nil {
		return start, false, err
	}
	if ctx.Err() != nil {
		return start, false, ctx.Err()
	}
	if !sol.HasPoint { // what was fixed by hand breaks a rule: the greedy roster, which lets it, stands
		return start, false, nil
	}
	var out []Assignment
	for _, a := range vars {
		if sol.On(at[a]) {
			out = append(out, a)
		}
	}
	return out, sol.Status == mip.Optimal, nil
}

// places: every shift has its people or says how many are missing; nobody new is alone.
func (w *week) places(m *mip.Model, at map[Assignment]mip.Var) map[int]mip.Var {
	open := map[int]mip.Var{}
	for _, s := range w.shifts {
		sh := &w.Shifts[s]
		open[s] = m.Var("open", 0, float64(sh.People), openCost*(1+sh.Worth), true)
		all, old := []mip.Term{{Var: open[s], Coef: 1}}, []mip.Term(nil)
		for i := range w.People {
			if v, ok := at[Assignment{s, i}]; ok {
				all = append(all, mip.Term{Var: v, Coef: 1})
				if !w.People[i].New {
					old = append(old, mip.Term{Var: v, Coef: 1})
				}
			}
		}
		m.Row("places", float64(sh.People), math.Max(float64(sh.People), float64(len(w.Fixed))), all...)
		for i := range w.People {
			if v, ok := at[Assignment{s, i}]; ok && w.People[i].New && !has(w.Fixed, s, i) {
				m.AtLeast("not alone", 0, append(slices.Clone(old), mip.Term{Var: v, Coef: -1})...)
			}
		}
	}
	return open
}

// persons: hours and days of a week, hours of a day, no two shifts at once or without rest.
func (w *week) persons(m *mip.Model, at map[Assignment]mip.Var) {
	for i := range w.People {
		var mine []int
		var hours []mip.Term
		byDay := map[int][]mip.Term{}
		for _, s := range w.shifts {
			v, ok := at[Assignment{s, i}]
			if !ok {
				continue
			}
			mine = append(mine, s)
			hours = append(hours, mip.Term{Var: v, Coef: w.Shifts[s].Hours()})
			byDay[w.Shifts[s].Day] = append(byDay[w.Shifts[s].Day], mip.Term{Var: v, Coef: w.Shifts[s].Hours()})
		}
		if len(mine) == 0 {
			continue
		}
		m.AtMost("hours a week", w.maxHours(i), hours...)
		var days []mip.Term
		for d := w.Shifts[mine[0]].Day; d <= w.Shifts[mine[len(mine)-1]].Day; d++ {
			if terms := byDay[d]; terms != nil {
				on := m.Binary("works", 0)
				days = append(days, mip.Term{Var: on, Coef: 1})
				m.AtMost("day", 0, append(slices.Clone(terms), mip.Term{Var: on, Coef: -longestDay})...)
			}
		}
		m.AtMost("days a week", float64(w.maxDays()), days...)
		for n, a := range mine {
			for _, b := range mine[n+1:] {
				if w.Shifts[b].Day > w.Shifts[a].Day+1 {
					break
				}
				if w.clashes(a, b) {
					m.AtMost("not both", 1, mip.Term{Var: at[Assignment{a, i}], Coef: 1}, mip.Term{Var: at[Assignment{b, i}], Coef: 1})
				}
			}
		}
	}
}

// take writes a week into the result.
func (w *week) take(chosen []Assignment) {
	slices.SortFunc(chosen, func(a, b Assignment) int {
		if a.Shift != b.Shift {
			return slices.Index(w.shifts, a.Shift) - slices.Index(w.shifts, b.Shift)
		}
		return a.Person - b.Person
	})
	filled := map[int]int{}
	seen := map[[2]int]bool{}
	for _, a := range chosen {
		s := &w.Shifts[a.Shift]
		filled[a.Shift]++
		w.r.Hours[a.Person] += s.Hours()
		w.r.KM += w.miles(a.Person, s.Launch)
		if key := [2]int{a.Person, s.Day}; w.FreeDay != nil && w.FreeDay(s.Day) && !seen[key] {
			seen[key] = true
			w.r.Weekends[a.Person]++
		}
		w.r.Assigned = append(w.r.Assigned, a)
	}
	for _, s := range w.shifts {
		w.r.Open[s] = max(0, w.Shifts[s].People-filled[s])
	}
}

// whyOpen is what a place that stays open lacks, by what lacks returns.
var whyOpen = [...]string{
	"nobody is certified for that work on that day",
	"nobody who is certified is free on that day",
	"all who are certified and free stand there already",
	"who else is certified and free has no hours, days or rest left, or would stand there new and alone",
}

// lacks tells what kept people from a shift: an index of whyOpen.
func (p *Problem) lacks(shift int, r *Result) int {
	s, why := &p.Shifts[shift], 0
	for i := range p.People {
		if may := p.People[i].May; may != nil && !may(s.Work, s.Day) {
			continue
		}
		switch {
		case !p.can(i, shift):
			why = max(why, 1)
		case slices.Contains(r.Assigned, Assignment{Shift: shift, Person: i}):
			why = 2
		default:
			return 3
		}
	}
	return why
}

// notes says what is open and what was given up.
func (p *Problem) notes(r *Result) {
	var open [len(whyOpen)]int
	for s, n := range r.Open {
		if n > 0 {
			open[p.lacks(s, r)] += n
		}
	}
	for why, n := range open {
		if n > 0 {
			r.Notes = append(r.Notes, fmt.Sprintf("%d open: %s.", n, whyOpen[why]))
		}
	}
	for _, a := range p.Keep {
		if !slices.Contains(r.Assigned, a) {
			r.Changed++
		}
	}
	for _, f := range p.Fixed {
		if !p.can(f.Person, f.Shift) {
			r.Notes = append(r.Notes, fmt.Sprintf("%s is fixed by hand on day %d although not certified or not free then.", p.People[f.Person].Name, p.Shifts[f.Shift].Day+1))
		}
	}
}
