package plan

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"thwart/engine/siting"
)

// UnspentMoney is money that a plan leaves over, with what stands in the way of spending it.
type UnspentMoney struct {
	Money   float64  `json:"money"`
	Nothing bool     `json:"nothing,omitempty" doc:"no shift or wash unit would stop more, whatever it costs"`
	Steps   int      `json:"steps" doc:"single steps that would each stop more: one more shift, another team in place of one, or a shift with a wash unit and its crew"`
	Why     []string `json:"why"`
}

// unspent says why money is left. It is given every single step beyond the plan, and looks for each at everything that it would
// break. Of several steps at once, or one in place of another, no more is known than how much better any plan can be.
func (r *SeasonPlan) unspent(b *siting.Built, plan siting.Plan, steps []siting.Step, left float64) {
	if r.Wishes.Money == nil || math.Round(*r.Wishes.Money-plan.Cost) < 1 {
		return
	}
	u := &UnspentMoney{Money: *r.Wishes.Money - plan.Cost}
	r.Unspent = u
	say := func(format string, args ...any) { u.Why = append(u.Why, fmt.Sprintf(format, args...)) }
	u.Steps, u.Nothing = len(steps), left == 0
	switch {
	case u.Nothing:
		say("Nothing is left to gain: no further shift or wash unit would stop more, whatever it costs.")
		return
	case len(steps) == 0:
		say("No single step would stop more: another team would only stand in place of one that stops as much.")
		return
	case len(steps) == 1:
		say("One single step would stop more than the plan.")
	default:
		kinds := []string{"one more shift"}
		if len(r.Wishes.Teams) > 1 {
			kinds = append(kinds, "another size of team in place of one")
		}
		if r.Wishes.Units != nil {
			kinds = append(kinds, "a shift that sends craft to a wash unit, with the unit and its crew")
		}
		say("%d single steps would each stop more than the plan: %s.", len(steps), strings.Join(kinds, ", or "))
	}
	for _, o := range r.obstacles(b, steps) {
		say("%s %s.", ofSteps(o.n, len(steps)), o.words)
	}
	fits := slices.IndexFunc(steps, func(s siting.Step) bool { return s.Fits() })
	switch {
	case fits >= 0:
		step := &steps[fits]
		say("%s would still fit: it costs %.0f and stops %.2g more. The plan is the best that was found, not proved the best: at most %.1f %% better is possible.",
			b.Problem.Choices[step.Choice].Name, step.Cost, step.Gain, 100*r.Better)
	case r.Bound <= r.Value:
		say("No other plan under these wishes stops more: that is proved.")
	case r.Value == 0:
		say("Of plans with several steps at once no more is known than that none under these wishes stops more than %.3g.", r.Bound)
	default:
		say("Of plans with several steps at once, or with some in place of others, no more is known than that none under these wishes is better by more than %.1f %%.", 100*r.Better)
	}
	if r.Robust != nil {
		say("What steps stop is counted in the mean season, while this plan is for the worst ones.")
	}
}

// ofSteps begins a sentence on some of the steps; what follows fits one and many.
func ofSteps(n, all int) string {
	switch {
	case all == 1:
		return "It"
	case n == all && all == 2:
		return "Both of them"
	case n == all:
		return fmt.Sprintf("All %d", all)
	case n == 1:
		return "One of them"
	}
	return fmt.Sprintf("%d of them", n)
}

// obstacle is something that stands in the way of steps.
type obstacle struct {
	words string
	n     int
}

// obstacles counts what stands in the way of steps: money first, then the wishes in the order of the problem's rules, then what was
// decided by hand. A step that more than one thing stands in the way of counts with each.
func (r *SeasonPlan) obstacles(b *siting.Built, steps []siting.Step) (out []obstacle) {
	var short []*siting.Step // the cheapest first, as steps are
	var byHand int
	broken := map[string]int{}
	least := math.Inf(1) // hours of the steps that the limit of hours is in the way of
	for i := range steps {
		step := &steps[i]
		if step.Short > 0 {
			short = append(short, step)
		}
		if step.ByHand {
			byHand++
		}
		told := map[string]bool{}
		for _, k := range step.Breaks {
			words := r.limit(&b.Problem.Rules[k])
			if words == hoursLimit {
				least = math.Min(least, hoursOf(b, step))
			}
			if !told[words] {
				told[words] = true
				broken[words]++
			}
		}
	}
	if len(short) > 0 {
		at := b.Problem.Choices[short[0].Choice].Name
		words := fmt.Sprintf("would cost more than the %.0f that are left; the cheapest of these is %s, for %.0f", r.Unspent.Money, at, short[0].Cost)
		if len(steps) == 1 {
			words = fmt.Sprintf("would cost more than the %.0f that are left: %s, for %.0f", r.Unspent.Money, at, short[0].Cost)
		}
		out = append(out, obstacle{words, len(short)})
	}
	for k := range b.Problem.Rules {
		words := r.limit(&b.Problem.Rules[k])
		n := broken[words]
		if n == 0 {
			continue
		}
		delete(broken, words) // rules of one limit, such as of people in each part of the week, are told once
		switch words {
		case handLimit:
			continue // counted by what was decided on
		case hoursLimit:
			out = append(out, obstacle{fmt.Sprintf("would go over the %.0f hours of work: the plan works %.0f, and the shortest of these takes %.0f more", r.Wishes.Hours, r.Hours, least), n})
		default:
			out = append(out, obstacle{"would not keep a limit: " + words, n})
		}
	}
	if byHand > 0 {
		out = append(out, obstacle{"would go against what was decided by hand", byHand})
	}
	return out
}

// Limits that are told in words of their own.
const (
	hoursLimit = "hours"
	handLimit  = "by hand"
)

// limit is a rule in the words of the wish that it stands for, without the part of the week.
func (r *SeasonPlan) limit(rule *siting.Rule) string {
	switch {
	case strings.HasSuffix(rule.Wish, siting.HoursWish):
		return hoursLimit
	case strings.HasSuffix(rule.Wish, "(fixed by hand)"):
		return handLimit
	case rule.Unit == "people":
		if r.Wishes.People == 1 {
			return "at most 1 person on duty at once"
		}
		return fmt.Sprintf("at most %d people on duty at once", r.Wishes.People)
	case rule.Unit == "units" && r.Wishes.Units.Count == 1:
		return "at most 1 wash unit"
	case rule.Unit == "craft":
		return "a wash unit gets through no more craft"
	}
	return rule.Wish
}

// hoursOf is how many hours of work a step adds.
func hoursOf(b *siting.Built, step *siting.Step) (hours float64) {
	for _, k := range step.Add {
		hours += b.Shifts[k].Hours
	}
	for _, k := range step.Drop {
		hours -= b.Shifts[k].Hours
	}
	return hours
}
