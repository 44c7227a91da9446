package plan

import (
	"context"
	"slices"
)

// Choice is one amount of hours of work for next season, with the best plan found for it.
type Choice struct {
	Times float64 // of the hours asked for
	Plan  *SeasonPlan
	Empty int // launches without anybody
}

// ChoiceTimes are the amounts that [Maker.Choices] plans for: fewer hours, the same, and more.
var ChoiceTimes = []float64{0.5, 1, 1.5}

// Choices plans for half of the hours of the wishes, all of them and half as much again, with the frontier of money beside the
// middle one. Hours left out are those worked last season. Limits of money are lifted: hours are what is chosen between.
func (m *Maker) Choices(ctx context.Context, in *Input, wishes PlanWishes) ([]Choice, error) {
	wishes.Money = nil
	w, err := wishes.full(in)
	if err != nil {
		return nil, err
	}
	var out []Choice
	for i, times := range ChoiceTimes {
		q := wishes
		if times != 1 {
			q.Hours, q.Frontier = times*w.Hours, 0
		}
		one := &Maker{Solver: m.Solver, Progress: func(f float64, words string) { m.tell((float64(i)+f)/float64(len(ChoiceTimes)), words) }}
		r, err := one.Make(ctx, in, q)
		if err != nil {
			return nil, err
		}
		if !r.Made {
			continue
		}
		out = append(out, Choice{Times: times, Plan: r, Empty: len(r.Left)})
	}
	return out, nil
}

// Alternative finds another way to spend the plan's hours by its name.
func (r *SeasonPlan) Alternative(name string) (Alternative, bool) {
	if i := slices.IndexFunc(r.Alternatives, func(a Alternative) bool { return a.Name == name }); i >= 0 {
		return r.Alternatives[i], true
	}
	return Alternative{}, false
}

// LastYear names the hours as they were worked among a plan's alternatives.
const LastYear = "last year"
