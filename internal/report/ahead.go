package report

import (
	"context"
	"encoding/json"

	"thwart/season/flows"
	"thwart/season/plan"
	"thwart/season/spreading"
)

// How much of the future a report computes: what the office's pages compute when nothing else is asked.
const (
	frontierPoints = 7
	aheadYears     = 10
	aheadRuns      = 1000
)

// plans makes the plans that next season is chosen from. Wishes are the defaults of the plan's page, so at the programme's own cost
// of an hour.
func (in *Inputs) plans(ctx context.Context, m *flows.Model, tell func(float64, string)) error {
	in.PlanMissing = ""
	from, err := plan.FromModel(in.Book, m)
	if err == nil {
		maker := &plan.Maker{Progress: tell}
		in.Choices, err = maker.Choices(ctx, from, plan.PlanWishes{Frontier: frontierPoints, Seed: in.Seed})
	}
	if ctx.Err() != nil {
		return ctx.Err()
	}
	if err != nil {
		in.PlanMissing = "What more or fewer hours would buy could not be computed from these records: " + err.Error() + "."
	}
	in.chosen()
	return nil
}

// chosen finds the newest plan that the programme has chosen.
func (in *Inputs) chosen() {
	for i := range in.Book.Plans {
		p := &in.Book.Plans[i].Body
		var r plan.SeasonPlan
		if !p.Chosen || json.Unmarshal(p.Result, &r) != nil || len(r.Shifts) == 0 || p.Value == nil || p.Bound == nil {
			continue
		}
		r.Value, r.Bound = *p.Value, *p.Bound // the record's own, beside its summary
		in.Chosen, in.ChosenName = &r, p.Name
	}
}

// bestForSameHours is what a plan is called that nobody has chosen.
const bestForSameHours = "the best plan found for the same hours"

// next is the plan for next season: the one chosen, else the best found for as many hours as last season.
func (in *Inputs) next() (*plan.SeasonPlan, string) {
	if in.Chosen != nil {
		return in.Chosen, in.ChosenName
	}
	for _, c := range in.Choices {
		if c.Times == 1 {
			return c.Plan, bestForSameHours
		}
	}
	return nil, ""
}

// years forecasts the organism that most risk comes with.
func (in *Inputs) years(ctx context.Context, m *flows.Model, tell func(float64, string)) error {
	in.YearsMissing = ""
	questions := []spreading.Question{{}}
	if p, name := in.next(); p != nil {
		q := spreading.Question{PlanName: name}
		for _, s := range p.Shifts {
			q.Shifts = append(q.Shifts, spreading.Shift{Launch: s.Launch, Day: s.Day, From: s.From, To: s.To})
		}
		questions = append(questions, q)
	}
	for i, q := range questions {
		q.Organism, q.Years, q.Runs, q.Seed = in.Risks[0].Organism, aheadYears, aheadRuns, in.Seed
		r, err := spreading.Forecast(ctx, m, q, func(f float64, words string) { tell((float64(i)+f)/float64(len(questions)), words) })
		if ctx.Err() != nil {
			return ctx.Err()
		}
		if err != nil {
			in.YearsMissing = "How many infestations to expect could not be computed from these records: " + err.Error() + "."
			return nil
		}
		in.Years = append(in.Years, r)
	}
	return nil
}
