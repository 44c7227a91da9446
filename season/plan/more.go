package plan

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"thwart/engine/siting"
)

// more asks what one more of each scarce thing would be worth.
func (m *Maker) more(ctx context.Context, in *Input, b *siting.Built, r *SeasonPlan, plan siting.Plan) error {
	ask := func(what, unit, prefix string, by float64) error {
		for i, rule := range b.Problem.Rules {
			if rule.Unit != unit || !strings.HasPrefix(rule.Wish, prefix) {
				continue
			}
			p := b.Problem.Loosened(i, by)
			if unit == "people" { // one more person is there in every part of the week
				for k := range p.Rules {
					if k != i && p.Rules[k].Unit == unit {
						p.Rules[k].Hi += by
					}
				}
			}
			with, err := p.Search(ctx, siting.Effort{Seed: r.Wishes.Seed, Shakes: 100})
			if err != nil {
				return err
			}
			if with.Value < plan.Value {
				with.Value = plan.Value // the plan itself keeps the looser rule
			}
			d := siting.Difference(with, plan)
			words := fmt.Sprintf("%s would stop %.3g more of %.4g (between %.3g and %.3g).", what, d.Mid, r.All, d.Lo, d.Hi)
			if d.Lo == 0 {
				words += " The lower end is nothing: neither plan is proved close enough to the best to tell."
			}
			r.More = append(r.More, WorthMore{What: what, Worth: d, Words: words})
			return nil
		}
		return nil
	}
	m.tell(0.92, "what one more of everything would be worth")
	if err := ask("One more person", "people", "at most", 1); err != nil {
		return err
	}
	if err := ask("A tenth more hours", "hours", "at most", r.Wishes.Hours/10); err != nil {
		return err
	}
	what := "One more wash unit"
	if u := r.Wishes.Units; u != nil {
		what = fmt.Sprintf("A %s wash unit", nth(u.Count+1))
	}
	if err := ask(what, "units", "at most", 1); err != nil || r.Wishes.Units == nil {
		return err
	}
	return m.rivals(ctx, in, b, r, plan)
}

// mostRivals bounds how many places for one more unit are tried; each is a plan of its own.
const mostRivals = 8

// rivals tries one more wash unit at each place that has none, with the plan's units left where they are, and says in the last answer
// where it would go, what that costs, and what the next best are.
func (m *Maker) rivals(ctx context.Context, in *Input, b *siting.Built, r *SeasonPlan, plan siting.Plan) error {
	chosen := b.Problem.Set(plan.Chosen)
	rule := slices.IndexFunc(b.Problem.Rules, func(x siting.Rule) bool { return x.Unit == "units" })
	var places []int // choices
	for k, sh := range b.Shifts {
		if sh.Kind == siting.Unit && !chosen[k] {
			places = append(places, k)
		}
	}
	if rule < 0 || len(places) == 0 || len(r.More) == 0 {
		return nil
	}
	slices.SortStableFunc(places, func(x, y int) int {
		return cmp.Compare(in.Launches[b.Shifts[y].Site].Season, in.Launches[b.Shifts[x].Site].Season)
	})
	untried := max(0, len(places)-mostRivals)
	places = places[:len(places)-untried]
	answer := &r.More[len(r.More)-1]
	for i, at := range places {
		m.tell(0.94+0.05*float64(i)/float64(len(places)), fmt.Sprintf("where one more wash unit would go: %d of %d", i+1, len(places)))
		p := b.Problem.Loosened(rule, 1)
		p.Choices = slices.Clone(p.Choices)
		for k, sh := range b.Shifts {
			if sh.Kind == siting.Unit {
				p.Choices[k].Pin = siting.Out
				if k == at || chosen[k] {
					p.Choices[k].Pin = siting.In
				}
			}
		}
		with, err := p.Search(ctx, siting.Effort{Seed: r.Wishes.Seed, Shakes: 60})
		if err = errors.Join(err, ctx.Err()); err != nil {
			return err
		}
		if !with.Kept {
			continue // such as where there is no money for it
		}
		site := b.Shifts[at].Site
		rival := UnitRival{Launch: in.Launches[site].ID, Name: in.Launches[site].Name, Worth: siting.Difference(with, plan), PlanCost: with.Cost, Works: []string{}}
		for _, k := range with.Chosen {
			if sh := b.Shifts[k]; sh.Site == site && (sh.Kind == siting.Unit || sh.Kind == siting.Washes) {
				rival.Cost += b.Problem.Choices[k].Cost
				rival.Hours += sh.Hours
				if sh.Kind == siting.Washes {
					rival.Works = append(rival.Works, b.Stations.CellName(sh.Cell))
				}
			}
		}
		answer.Rivals = append(answer.Rivals, rival)
	}
	slices.SortStableFunc(answer.Rivals, func(x, y UnitRival) int {
		return cmp.Or(cmp.Compare(y.Worth.Mid, x.Worth.Mid), cmp.Compare(x.Cost, y.Cost))
	})
	answer.Words += r.placed(answer.Rivals)
	if untried == 1 {
		answer.Words += " One place with fewer craft was not tried."
	} else if untried > 1 {
		answer.Words += fmt.Sprintf(" %d places with fewer craft were not tried.", untried)
	}
	return nil
}

// placed says where one more unit would go.
func (r *SeasonPlan) placed(rivals []UnitRival) string {
	if len(rivals) == 0 {
		return " It fits nowhere under these wishes."
	}
	first := rivals[0]
	if first.Worth.Mid == 0 {
		return " With the others left where they are, it would stop nothing more anywhere."
	}
	text := fmt.Sprintf(" With the others left where they are, it would go to %s: %.3g more for %s.", first.Name, first.Worth.Mid, r.money(first.Cost))
	switch {
	case len(rivals) > 1 && rivals[1].Worth.Mid == 0:
		text += " At no other place that was tried would it stop anything more."
	case len(rivals) > 1:
		text += fmt.Sprintf(" Next best is %s: %.3g more for %s.", rivals[1].Name, rivals[1].Worth.Mid, r.money(rivals[1].Cost))
		if rivals[1].Worth.Hi > first.Worth.Lo {
			text += " Their proved limits overlap, so the order of the two is what was found, not proved."
		}
	}
	return text
}

// nth writes an ordinal: first, second, third, 4th.
func nth(n int) string {
	if n >= 1 && n <= 3 {
		return []string{"first", "second", "third"}[n-1]
	}
	suffix := "th"
	if n%100 < 11 || n%100 > 13 {
		if k := n % 10; k >= 1 && k <= 3 {
			suffix = []string{"st", "nd", "rd"}[k-1]
		}
	}
	return fmt.Sprint(n, suffix)
}
