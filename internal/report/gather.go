package report

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"thwart/engine/num"
	"thwart/season/flows"
	"thwart/season/skill"
)

// GatherOptions of [Gather].
type GatherOptions struct {
	Seed uint64
	// Progress is told how far it is; nil = nobody.
	Progress func(fraction float64, words string)
}

// Gather adds what other parts of the product estimate: traffic and risk, what stewards find, plans for next season and what becomes
// of the waters over the years. They are the computations of the office's pages, with the same defaults. What cannot be estimated
// from these records leaves its reason.
func Gather(ctx context.Context, in Inputs, o GatherOptions) (Inputs, error) {
	tell := o.Progress
	if tell == nil {
		tell = func(float64, string) {}
	}
	in.Seed = o.Seed
	tell(0.1, "estimating traffic")
	in.PlanMissing = "What more or fewer hours would buy is not told: without an estimate of risk there is no plan."
	in.YearsMissing = "How many infestations to expect is not told: without an estimate of risk there is no forecast."
	if m := in.traffic(o.Seed); m != nil && len(in.Risks) > 0 {
		if err := in.plans(ctx, m, func(f float64, words string) { tell(0.3+0.3*f, words) }); err != nil {
			return in, err
		}
		if err := in.years(ctx, m, func(f float64, words string) { tell(0.6+0.2*f, words) }); err != nil {
			return in, err
		}
	}
	if err := ctx.Err(); err != nil {
		return in, err
	}
	tell(0.8, "what stewards find")
	in.skill()
	return in, ctx.Err()
}

func (in *Inputs) traffic(seed uint64) *flows.Model {
	in.TrafficMissing, in.RisksMissing = "", ""
	m, err := flows.New(in.Book, flows.Options{Seed: seed})
	if err != nil {
		in.TrafficMissing = "Traffic could not be estimated from these records: " + err.Error() + "."
		in.RisksMissing = "Without an estimate of traffic there is none of risk."
		return nil
	}
	t := &Traffic{Arrivals: m.Arrivals().Total}
	fl, err := m.Flows(1)
	if err != nil {
		in.TrafficMissing = fmt.Sprintf("Passages between waters could not be estimated from these records: %v.", err)
		in.RisksMissing = "Without an estimate of traffic there is none of risk."
		return nil
	}
	t.Between = fl.Total
	for _, w := range fl.Warnings {
		t.Warnings = append(t.Warnings, w.Text)
	}
	in.Traffic = t
	r, err := m.Risk(flows.RiskOptions{Top: 1})
	if err != nil {
		in.RisksMissing = "Risk could not be estimated from these records: " + err.Error() + "."
		return m
	}
	for _, x := range r.Organisms {
		if x.Total.Arriving.Mid > 0 {
			in.Risks = append(in.Risks, Risk{Organism: x.Organism, Arriving: x.Total.Arriving, Through: x.Total.Through, NotLooked: x.NotLooked})
		}
	}
	slices.SortStableFunc(in.Risks, func(a, b Risk) int {
		switch {
		case a.Arriving.Mid > b.Arriving.Mid:
			return -1
		case a.Arriving.Mid < b.Arriving.Mid:
			return 1
		}
		return strings.Compare(a.Organism, b.Organism)
	})
	if len(in.Risks) == 0 {
		in.RisksMissing = "No water of the register holds an invader, so there is no risk to estimate."
	}
	return m
}

func (in *Inputs) skill() {
	in.Skills, in.SkillsMissing = nil, ""
	r, err := skill.Of(in.Book, skill.Options{Now: in.Made})
	if err != nil {
		in.SkillsMissing = "What stewards find could not be estimated from these records: " + err.Error() + "."
		return
	}
	for _, c := range r.Classes {
		if c.Trials == 0 {
			continue
		}
		in.Skills = append(in.Skills, Skill{Class: c.Words, Found: c.Found, Trials: c.Trials, People: c.People, Published: c.Published,
			Mean: num.Interval{Lo: c.Mean.Lo, Mid: c.Mean.Mid, Hi: c.Mean.Hi}})
	}
	if len(in.Skills) == 0 {
		in.SkillsMissing = "No object was planted on a craft and no craft was looked at twice, so nothing is known of what stewards find."
	}
}
