package plan

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"thwart/engine/siting"
)

// HoursBudget is the hours of work that a plan could use, and what became of them.
type HoursBudget struct {
	Hours   float64 `json:"hours" doc:"of work that the plan could use, every person counted"`
	From    string  `json:"from" enum:"asked,last season" doc:"asked, or as many as were worked in the latest season of the records"`
	Unspent float64 `json:"unspent" doc:"hours of these that the plan does not use"`
	// Shortest and Why are for hours that stay unspent.
	Shortest float64 `json:"shortest,omitempty" doc:"hours of work more of the least single step that would stop more and that nothing but these hours is against: a shift, with a wash unit's crew where it needs one, or a larger team in place of another"`
	Why      string  `json:"why,omitempty" doc:"why hours stay unspent"`
}

// WorkedSeason is the latest season of the records, valued as plans are.
type WorkedSeason struct {
	Hours float64 `json:"hours" doc:"of work, every person counted: the season figures' steward-hours"`
	Site  float64 `json:"site" doc:"hours with somebody on site, however many people"`
	Cost  float64 `json:"cost" doc:"of these hours of work, at the plan's money for an hour"`
	Value float64 `json:"value" doc:"risk stopped by them where and when they were worked, within the plan's parts of the day, each as a team of the first size"`
}

// spent says what became of the hours, by the steps that would stop more than the plan.
func (r *SeasonPlan) spent(b *siting.Built, steps []siting.Step) {
	if r.Wishes.Hours == 0 {
		return
	}
	x := &HoursBudget{Hours: r.Wishes.Hours, From: FromWishes, Unspent: math.Max(0, r.Wishes.Hours-r.Hours)}
	if r.Wishes.hoursLeftOut {
		x.From = FromLastSeason
	}
	r.Budget = x
	if math.Round(x.Unspent) == 0 {
		return
	}
	for i := range steps {
		if hours := hoursOf(b, &steps[i]); r.onlyHours(b, &steps[i]) && (x.Shortest == 0 || hours < x.Shortest) {
			x.Shortest = hours
		}
	}
	switch {
	case slices.ContainsFunc(steps, func(s siting.Step) bool { return s.Fits() }):
		x.Why = "The search ended before it had used them; give it more seconds."
	case x.Shortest > 0:
		x.Why = fmt.Sprintf("A shift is worked all season, and the shortest that would stop more takes %.0f hours.", x.Shortest)
	case len(steps) > 0:
		x.Why = "What would stop more does not fit with the other wishes."
	default:
		x.Why = "No shift that is left would stop more."
	}
}

// onlyHours tells whether nothing but the limit of hours is in the way of a step.
func (r *SeasonPlan) onlyHours(b *siting.Built, step *siting.Step) bool {
	return step.Short == 0 && !step.ByHand && len(step.Breaks) > 0 &&
		!slices.ContainsFunc(step.Breaks, func(k int) bool { return r.limit(&b.Problem.Rules[k]) != hoursLimit })
}

// words says which hours were there and what became of them.
func (x *HoursBudget) words() string {
	text := fmt.Sprintf("It may use %.0f hours of work, as many as were asked for", x.Hours)
	if x.From == FromLastSeason {
		text = fmt.Sprintf("It may use %.0f hours of work, as many as were worked last season (the length of each shift times its people)", x.Hours)
	}
	if x.Why == "" {
		return text + ", and uses them."
	}
	return text + fmt.Sprintf("; %.0f of them are unspent. %s", x.Unspent, x.Why)
}

// worked values the season that was worked.
func (r *SeasonPlan) worked(in *Input, b *siting.Built) {
	if in.StewardHours == 0 {
		return
	}
	cells, _ := in.lastYear(b.Stations, &r.Wishes)
	r.Worked = &WorkedSeason{Hours: in.StewardHours, Site: in.workedHours(), Cost: in.StewardHours * r.Wishes.HourCost}
	r.Worked.Value, _ = b.WorthOfShares(sharesOf(b.Stations, cells, 1), 0)
}

// money writes an amount in the programme's currency.
func (r *SeasonPlan) money(v float64) string {
	return strings.TrimSpace(fmt.Sprintf("%s %.0f", r.Currency, v))
}
