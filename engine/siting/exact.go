package siting

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"time"

	"thwart/engine/mip"
)

// Proof steers [Problem.Prove].
type Proof struct {
	Effort
	Gap       float64 // stop when at most this share better is possible; 0: prove the optimum
	TimeLimit time.Duration
	Progress  func(mip.Progress)
}

// Model writes the problem as a mixed-integer programme: variable k < len(Choices) is choice k.
//
// The share stopped of a passage is a submodular function of the choices; the rows are its submodular inequalities (Nemhauser
// & Wolsey 1981), those of the empty set, of single choices and, where several may be chosen at both places, of pairs: with two places
// they describe it exactly at whole numbers. One more row, of the best at both places, closes the relaxation (see prices).
func (p *Problem) Model() *mip.Model {
	m := mip.New("plan", true)
	for _, c := range p.Choices {
		lo, hi := 0.0, 1.0
		switch c.Pin {
		case In:
			lo = 1
		case Out:
			hi = 0
		}
		m.Var(c.Name, lo, hi, 0, true)
	}
	p.conditions(m)
	group := p.groups()
	for i := range p.Passages {
		p.passage(m, i, group)
	}
	return m
}

// groups numbers, for each choice, a rule "one of these at most" that it takes part in; -1 for none.
func (p *Problem) groups() []int {
	out := make([]int, len(p.Choices))
	for k := range out {
		out[k] = -1
	}
	for r, row := range p.Rules {
		one := row.Hi == 1
		for _, t := range row.Parts {
			one = one && t.Amount == 1
		}
		if !one {
			continue
		}
		for _, t := range row.Parts {
			if out[t.Choice] < 0 {
				out[t.Choice] = r
			}
		}
	}
	return out
}

// conditions adds needs, money and rules.
func (p *Problem) conditions(m *mip.Model) {
	var money []mip.Term
	for k, c := range p.Choices {
		for _, n := range c.Needs {
			m.AtMost(c.Name+" needs "+p.Choices[n].Name, 0, mip.Term{Var: mip.Var(k), Coef: 1}, mip.Term{Var: mip.Var(n), Coef: -1})
		}
		if c.Cost > 0 {
			money = append(money, mip.Term{Var: mip.Var(k), Coef: c.Cost})
		}
	}
	if !math.IsInf(p.Budget, 1) && len(money) > 0 {
		m.AtMost("money", p.Budget, money...)
	}
	for _, r := range p.Rules {
		r = r.tight()
		m.Row(r.Wish, r.Lo, r.Hi, r.terms()...)
	}
}

func (r *Rule) terms() []mip.Term {
	out := make([]mip.Term, len(r.Parts))
	for i, t := range r.Parts {
		out[i] = mip.Term{Var: mip.Var(t.Choice), Coef: t.Amount}
	}
	return out
}

// passage adds one passage: a variable for the share stopped, and what limits it.
func (p *Problem) passage(m *mip.Model, i int, group []int) {
	g := &p.Passages[i]
	var meets []Meet
	var most [Places]float64
	for _, t := range g.Meets {
		if t.Q > 0 && p.Choices[t.Choice].Pin != Out {
			meets = append(meets, t)
			most[t.Place] = math.Max(most[t.Place], t.Q)
		}
	}
	if len(meets) == 0 || g.Weight == 0 {
		return
	}
	z := m.Var(fmt.Sprintf("stopped %d", i), 0, 1-(1-most[0])*(1-most[1]), g.Weight, false)
	terms := []mip.Term{{Var: z, Coef: -1}}
	for _, t := range meets {
		terms = append(terms, mip.Term{Var: mip.Var(t.Choice), Coef: t.Q})
	}
	m.AtLeast(fmt.Sprintf("passage %d", i), 0, terms...)
	even, alone := true, [Places]bool{true, true}
	first := [Places]int{-1, -1}
	for n, t := range meets {
		even = even && t.Q == most[t.Place]
		switch f := first[t.Place]; {
		case f < 0:
			first[t.Place] = n
		case group[t.Choice] < 0 || group[t.Choice] != group[meets[f].Choice]:
			alone[t.Place] = false
		}
	}
	if most[0] > 0 && most[1] > 0 {
		terms := []mip.Term{{Var: z, Coef: -1}}
		for _, t := range meets {
			terms = append(terms, mip.Term{Var: mip.Var(t.Choice), Coef: (1 - most[1-t.Place]) * t.Q})
		}
		m.AtLeast(fmt.Sprintf("passage %d at both places", i), -most[0]*most[1], terms...)
	}
	if even && alone[0] && alone[1] {
		return // then these two rows are exact
	}
	for _, t := range different(meets) {
		p.beyond(m, i, z, meets, []Meet{t})
	}
	if alone[0] || alone[1] || first[0] < 0 || first[1] < 0 {
		return
	}
	for _, a := range different(meets) {
		for _, b := range different(meets) {
			if a.Place == 0 && b.Place == 1 {
				p.beyond(m, i, z, meets, []Meet{a, b})
			}
		}
	}
}

// different keeps one meet of each place and chance.
func different(meets []Meet) []Meet {
	seen := map[[2]float64]bool{}
	var out []Meet
	for _, t := range meets {
		if key := [2]float64{float64(t.Place), t.Q}; !seen[key] {
			seen[key] = true
			out = append(out, t)
		}
	}
	return out
}

// beyond adds z ≤ what the base stops + Σ over all others of what each adds to it.
func (p *Problem) beyond(m *mip.Model, i int, z mip.Var, meets, base []Meet) {
	var best [Places]float64
	for _, t := range base {
		best[t.Place] = t.Q
	}
	have := 1 - (1-best[0])*(1-best[1])
	terms := []mip.Term{{Var: z, Coef: -1}}
	for _, o := range meets {
		if add := (1 - best[1-o.Place]) * math.Max(0, o.Q-best[o.Place]); add > 0 {
			terms = append(terms, mip.Term{Var: mip.Var(o.Choice), Coef: add})
		}
	}
	m.AtLeast(fmt.Sprintf("passage %d beyond %.3g", i, have), -have, terms...)
}

// point is a set of choices as a point of the model.
func (p *Problem) point(m *mip.Model, chosen []bool) []float64 {
	x := make([]float64, len(m.Vars))
	for k, on := range chosen {
		if on {
			x[k] = 1
		}
	}
	v := len(p.Choices)
	for i := range p.Passages {
		g := &p.Passages[i]
		if v < len(m.Vars) && m.Vars[v].Name == fmt.Sprintf("stopped %d", i) {
			x[v] = math.Min(stopped(g.Meets, chosen), m.Vars[v].Hi)
			v++
		}
	}
	return x
}

// Prove searches, and lets a solver go on from there until the gap is closed, the time is up or the context ends. The plan
// is the better of both answers and its bound the lower of both limits. When no plan keeps the rules, Kept is false and the
// method says that this is proved or that none was found; [Problem.Explain] says why. When the solver breaks down the search's
// plan stands and the error says so.
func (p *Problem) Prove(ctx context.Context, s mip.Solver, opt Proof) (Plan, error) {
	if err := p.Check(); err != nil {
		return Plan{}, err
	}
	x := p.index()
	plan, _ := x.search(ctx, opt.Effort.or(), nil, nil)
	return p.prove(ctx, s, opt, plan)
}

func (p *Problem) prove(ctx context.Context, s mip.Solver, opt Proof, plan Plan) (Plan, error) {
	if plan.Kept && plan.Better() <= math.Max(opt.Gap, 1e-9) || ctx.Err() != nil {
		return plan, nil
	}
	m := p.Model()
	o := mip.Options{Gap: opt.Gap, TimeLimit: opt.TimeLimit, Progress: opt.Progress}
	if plan.Kept {
		o.Start = p.point(m, p.Set(plan.Chosen))
	}
	sol, err := s.Solve(ctx, m, o)
	if err != nil {
		return plan, err
	}
	switch {
	case sol.HasPoint:
		chosen := make([]bool, len(p.Choices))
		for k := range chosen {
			chosen[k] = sol.Values[k] > 0.5
		}
		st := p.index().state(chosen)
		if q := st.plan("solver"); q.Kept && (!plan.Kept || q.Value > plan.Value*(1+1e-12)) {
			q.Bound = plan.Bound
			plan = q
		}
	case sol.Status == mip.Infeasible:
		return Plan{Chosen: []int{}, Method: "solver: proved that no plan keeps every rule"}, nil
	}
	if sol.Bound < plan.Bound {
		plan.Bound = math.Max(sol.Bound, plan.Value)
	}
	if sol.Status == mip.Optimal {
		plan.Method = "solver: proved"
	} else {
		plan.Method = fmt.Sprintf("solver: %s", cmp.Or(sol.Why, string(sol.Status)))
	}
	return plan, nil
}

// Next finds further plans, the best first, each different from all before in what of the given choices it holds: for boards
// that ask what else was considered. It stops early when no other plan is left.
func (p *Problem) Next(ctx context.Context, s mip.Solver, n int, among []int) ([]Plan, error) {
	m := p.Model()
	var out []Plan
	for len(out) < n && ctx.Err() == nil {
		sol, err := s.Solve(ctx, m, mip.Options{})
		if err != nil {
			return out, err
		}
		if !sol.HasPoint || sol.Status != mip.Optimal {
			break
		}
		chosen := make([]bool, len(p.Choices))
		for k := range chosen {
			chosen[k] = sol.Values[k] > 0.5
		}
		plan := p.index().state(chosen).plan("solver: proved")
		plan.Bound = math.Max(plan.Value, sol.Bound)
		out = append(out, plan)
		var terms []mip.Term // at least one of them otherwise
		differ := 1.0
		for _, k := range among {
			if chosen[k] {
				terms, differ = append(terms, mip.Term{Var: mip.Var(k), Coef: -1}), differ-1
			} else {
				terms = append(terms, mip.Term{Var: mip.Var(k), Coef: 1})
			}
		}
		m.AtLeast(fmt.Sprintf("other than plan %d", len(out)), differ, terms...)
	}
	slices.SortStableFunc(out, func(a, b Plan) int { return cmp.Compare(b.Value, a.Value) })
	return out, nil
}
