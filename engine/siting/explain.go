package siting

import (
	"context"
	"fmt"
	"math"
	"strings"

	"thwart/engine/mip"
)

// Clash says which wishes cannot all be kept.
type Clash struct {
	// Wishes is a set that collides and of which no part does: give up any one and the others of the set can be kept.
	Wishes []string `json:"wishes"`
	// Give says, for each wish by which giving way alone would be enough to keep all others, how far.
	Give  []Giving `json:"give"`
	Words string   `json:"words"`
}

// Giving is by how much one wish would have to give way.
type Giving struct {
	Wish string  `json:"wish"`
	By   float64 `json:"by"`
	Unit string  `json:"unit"`
}

// wish is a row that somebody asked for.
type wish struct {
	row  Rule
	give mip.Var // by how much it may be missed
}

// Explain finds out why no plan keeps the rules: nil when one does. It lets every wish be missed at a price, then drops wishes
// one at a time and keeps out those without which the rest still collides (the deletion filter of Chinneck & Dravnieks 1991,
// ORSA J. Comput. 3:157-168). What is left is a smallest colliding set, though not always the only one.
func (p *Problem) Explain(ctx context.Context, s mip.Solver) (*Clash, error) {
	if err := p.Check(); err != nil {
		return nil, err
	}
	m, wishes := p.elastic()
	possible := func(hard func(i int) bool, cost func(i int) float64) (bool, float64, error) {
		for i, w := range wishes {
			v := &m.Vars[w.give]
			v.Hi, v.Cost = mip.Inf, cost(i)
			if hard(i) {
				v.Hi = 0
			}
		}
		sol, err := s.Solve(ctx, m, mip.Options{Gap: 1e-6})
		if err == nil && ctx.Err() != nil {
			err = ctx.Err()
		}
		return sol.HasPoint, sol.Objective, err
	}
	none := func(int) float64 { return 0 }
	kept := make([]bool, len(wishes))
	for i := range kept {
		kept[i] = true
	}
	ok, _, err := possible(func(i int) bool { return kept[i] }, none)
	if ok || err != nil {
		return nil, err
	}
	c := &Clash{}
	for i := range wishes {
		kept[i] = false
		ok, _, err := possible(func(j int) bool { return kept[j] }, none)
		if err != nil {
			return nil, err
		}
		kept[i] = ok // possible without it: it is part of the clash
	}
	for i, w := range wishes {
		if !kept[i] {
			continue
		}
		c.Wishes = append(c.Wishes, w.row.Wish)
		ok, by, err := possible(func(j int) bool { return j != i }, func(j int) float64 {
			if j == i {
				return 1
			}
			return 0
		})
		if err != nil {
			return nil, err
		}
		if ok && by > ruleSlack {
			c.Give = append(c.Give, Giving{w.row.Wish, by, w.row.Unit})
		}
	}
	c.Words = c.words()
	return c, nil
}

// elastic is the problem's conditions without its passages, every wish with a variable by which it may be missed.
func (p *Problem) elastic() (*mip.Model, []wish) {
	m := mip.New("wishes", false)
	zero := map[int]bool{} // fixed out by a row of their own
	for _, r := range p.Rules {
		if r.Hi == 0 && math.IsInf(r.Lo, -1) && !r.Fact {
			for _, t := range r.Parts {
				zero[t.Choice] = true
			}
		}
	}
	rows := append([]Rule(nil), p.Rules...)
	for k, c := range p.Choices {
		m.Var(c.Name, 0, 1, 0, true)
		switch {
		case c.Pin == In:
			rows = append(rows, Rule{Wish: c.Name + " (fixed by hand)", Lo: 1, Hi: math.Inf(1), Parts: []Part{{k, 1}}})
		case c.Pin == Out && !zero[k]:
			rows = append(rows, Rule{Wish: "not " + c.Name + " (fixed by hand)", Lo: math.Inf(-1), Hi: 0, Parts: []Part{{k, 1}}})
		}
	}
	money := Rule{Wish: fmt.Sprintf("at most %.6g of money", p.Budget), Unit: "money", Lo: math.Inf(-1), Hi: p.Budget}
	for k, c := range p.Choices {
		money.Parts = append(money.Parts, Part{k, c.Cost})
		for _, n := range c.Needs {
			m.AtMost("needs", 0, mip.Term{Var: mip.Var(k), Coef: 1}, mip.Term{Var: mip.Var(n), Coef: -1})
		}
	}
	rows = append(rows, money)
	var wishes []wish
	for _, r := range rows {
		if r.Fact {
			m.Row(r.Wish, r.Lo, r.Hi, r.terms()...)
			continue
		}
		give := m.Var("give "+r.Wish, 0, 0, 0, false)
		if !math.IsInf(r.Hi, 1) {
			m.AtMost(r.Wish, r.Hi, append(r.terms(), mip.Term{Var: give, Coef: -1})...)
		}
		if !math.IsInf(r.Lo, -1) {
			m.AtLeast(r.Wish, r.Lo, append(r.terms(), mip.Term{Var: give, Coef: 1})...)
		}
		wishes = append(wishes, wish{r, give})
	}
	return m, wishes
}

func (c *Clash) words() string {
	var b strings.Builder
	switch len(c.Wishes) {
	case 0:
		return "What is asked cannot be done whatever is wished for."
	case 1:
		fmt.Fprintf(&b, "This wish cannot be kept: %s.", c.Wishes[0])
	default:
		fmt.Fprintf(&b, "These wishes cannot all be kept: %s. Without any one of them the others can.", strings.Join(c.Wishes, "; "))
	}
	for i, g := range c.Give {
		if i == 0 {
			b.WriteString(" It would be enough to give way in one: ")
		} else {
			b.WriteString(", or ")
		}
		fmt.Fprintf(&b, "%q by %.4g %s", g.Wish, g.By, g.Unit)
	}
	if len(c.Give) > 0 {
		b.WriteString(".")
	}
	return b.String()
}
