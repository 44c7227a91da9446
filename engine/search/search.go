// Package search divides the time of an inspection among the places of a craft, and says what a search that found nothing
// still leaves open.
//
// The law of looking is the exponential one of random search (Koopman 1956, Oper. Res. 4:503-531; Stone 1975, Theory of
// Optimal Search): when something is at a place, t seconds of looking there find it with probability
//
//	b(t) = 1 - exp(-λ t)
//
// where λ is the place's detection rate. Start with [Allocate] when time is short, [Residual] after a search without
// finds, and [EstimateRate] to learn λ from timed trials with planted objects. [DiscreteLooks] is for looks that cannot
// be divided.
//
// A plan is the best one for the priors it was given and can be beaten where those are wrong. So give every place a
// floor it must not fall below, and learn the priors from findings. Nothing here decides whether a craft may launch.
package search

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"thwart/engine/num"
	"thwart/lean"
)

// Place is somewhere to look.
type Place struct {
	Name string
	// Prior is the weight of the thing being here, before looking: a probability, or any weight in proportion to it. The
	// answers are about something that is at one of the places, so only ratios of the priors matter.
	Prior float64
	// RatePerS is λ. A place where looking never finds anything has rate 0.
	RatePerS float64
	// CostPerS is what a second of looking here takes from the budget; 0 means 1. Above 1 where a second takes two people or
	// a climb.
	CostPerS float64
	// FloorS is the time this place gets whatever its odds. Places that must be looked at have one.
	FloorS float64
	// FullS is the time the full round gives it, which a short plan is measured against; 0 means all the time in the world.
	FullS float64
}

func (p Place) cost() float64 {
	if p.CostPerS == 0 {
		return 1
	}
	return p.CostPerS
}

// missed is the chance that something here is still unseen after t seconds of looking.
func (p Place) missed(t float64) float64 { return math.Exp(-p.RatePerS * t) }

// missedByFull is the same for the full round.
func (p Place) missedByFull() float64 {
	if p.FullS == 0 && p.RatePerS > 0 {
		return 0
	}
	return p.missed(p.FullS)
}

// Plan is how to divide a budget. Its slices run in the order of the places it was made for.
type Plan struct {
	// Seconds is the time for each place.
	Seconds []float64
	// Detection is the chance that something which is at one of the places is found.
	Detection float64
	// FullDetection is the same for the full round.
	FullDetection float64
	// GivenUp is how much of FullDetection is lost at each place. Their sum is FullDetection - Detection. It is below zero
	// where the plan looks longer than the full round does.
	GivenUp []float64
	// Multiplier is the detection that one more second of budget would buy.
	Multiplier float64
	// UsedS is the budget spent: all of it, unless looking longer would find nothing more anywhere.
	UsedS float64
}

// TooShort says that a budget does not cover the floors. Floors are never cut to fit: find the time, or send the craft
// to a station that has it.
type TooShort struct {
	BudgetS, FloorsS float64
	// MissingS is how much more the budget needs.
	MissingS float64
}

func (e *TooShort) Error() string {
	return fmt.Sprintf("budgetS: %.4g s is %.4g s short; accepted: at least the %.4g s that the places' floors need", e.BudgetS, e.MissingS, e.FloorsS)
}

// Allocate returns the plan that finds most:
//
//	maximise Σ p_i (1 - exp(-λ_i t_i))  subject to  Σ c_i t_i <= budgetS,  t_i >= floor_i
//
// with the priors p scaled to sum to 1. The solution is exact. By Lagrange's rule every place that gets more than its floor
// has the same return p_i λ_i exp(-λ_i t_i) / c_i = μ on its last second, and every other place would return less on
// its next one, so
//
//	t_i = max(floor_i, ln(p_i λ_i / (μ c_i)) / λ_i)
//
// and μ follows in closed form once the places are sorted by their return at the floor. With zero floors the plan for a
// longer budget continues the plan for a shorter one, so a search may be stopped at any time. The order of the places
// does not change the plan, to the last bit.
//
// It refuses places that cannot be (a [*num.RangeError], with the place named) and a budget below the floors
// ([*TooShort]).
func Allocate(places []Place, budgetS float64) (Plan, error) {
	if err := errors.Join(validate(places), num.NotNegative("budgetS", budgetS)); err != nil {
		return Plan{}, err
	}
	// The logarithm of the return on the first second above the floor, for each place.
	returns := make([]float64, len(places))
	for i, p := range places {
		returns[i] = math.Log(p.Prior*p.RatePerS/p.cost()) - p.RatePerS*p.FloorS
	}
	order := bestFirst(places, returns)
	spare, err := above(places, order, budgetS)
	if err != nil {
		return Plan{}, err
	}
	plan := Plan{Seconds: make([]float64, len(places))}
	level := fill(&plan, places, returns, order, spare)
	plan.describe(places, order, math.Exp(level))
	return plan, nil
}

// AllocateUpToFull is [Allocate] with no place getting more than its FullS: past its usual full time a look is taken to
// find nothing that it has not found. The plan is the best there is under that rule. Places that want more are held at
// their full time and what is left is shared anew among the others; that only raises the others' shares, so a place once
// held stays held.
func AllocateUpToFull(places []Place, budgetS float64) (Plan, error) {
	if err := errors.Join(validate(places), num.NotNegative("budgetS", budgetS)); err != nil {
		return Plan{}, err
	}
	returns := make([]float64, len(places))
	for i, p := range places {
		if p.FullS > 0 && p.FloorS > p.FullS {
			return Plan{}, fmt.Errorf("place %d %q: FloorS: %v is not accepted; accepted: at most FullS, %v", i+1, p.Name, p.FloorS, p.FullS)
		}
		returns[i] = math.Log(p.Prior*p.RatePerS/p.cost()) - p.RatePerS*p.FloorS
	}
	order := bestFirst(places, returns)
	spare, err := above(places, order, budgetS)
	if err != nil {
		return Plan{}, err
	}
	plan := Plan{Seconds: make([]float64, len(places))}
	open := slices.Clone(order)
	for {
		level := fill(&plan, places, returns, open, spare)
		wanting := func(i int) bool { return places[i].FullS > 0 && plan.Seconds[i] > places[i].FullS }
		if !slices.ContainsFunc(open, wanting) {
			plan.describe(places, order, math.Exp(level))
			return plan, nil
		}
		for _, i := range open {
			if wanting(i) {
				plan.Seconds[i] = places[i].FullS
				spare -= places[i].cost() * (places[i].FullS - places[i].FloorS)
			}
		}
		open = slices.DeleteFunc(open, func(i int) bool { return places[i].FullS > 0 && plan.Seconds[i] == places[i].FullS })
	}
}

// above returns what a budget leaves above the floors.
func above(places []Place, order []int, budgetS float64) (float64, error) {
	floors := 0.0
	for _, i := range order {
		floors += places[i].cost() * places[i].FloorS
	}
	spare := budgetS - floors
	if spare < 0 {
		// A budget computed as the sum of the floors must not fail by the last digit.
		if -spare > 1e-12*floors {
			return 0, &TooShort{BudgetS: budgetS, FloorsS: floors, MissingS: -spare}
		}
		spare = 0
	}
	return spare, nil
}

// fill gives the places in order their floors and shares the spare budget among them, and returns the logarithm of μ.
func fill(plan *Plan, places []Place, returns []float64, order []int, spare float64) float64 {
	level, active := waterLevel(places, returns, order, spare)
	for _, i := range order {
		plan.Seconds[i] = places[i].FloorS
	}
	for _, i := range order[:active] {
		plan.Seconds[i] += math.Max(0, (returns[i]-level)/places[i].RatePerS)
	}
	return level
}

// waterLevel returns the logarithm of μ and how many of the places, in the order of falling returns, rise above their
// floor. With k places above it the budget above the floors is Σ c_i (r_i - ln μ) / λ_i, which is solved for ln μ; the
// next place joins if its return is better than that.
func waterLevel(places []Place, returns []float64, order []int, spare float64) (level float64, active int) {
	var width, weighted float64 // Σ c/λ and Σ (c/λ) r over the places above their floor
	for _, i := range order {
		if math.IsInf(returns[i], -1) || (active > 0 && returns[i] <= level) {
			break
		}
		w := places[i].cost() / places[i].RatePerS
		width += w
		weighted += w * returns[i]
		level = (weighted - spare) / width
		active++
	}
	if active == 0 {
		level = math.Inf(-1)
	}
	return level, active
}

// describe fills in what a plan achieves. The order keeps the sums the same however the places were listed, and dividing
// sums taken in one order keeps every share within 0 and 1.
func (plan *Plan) describe(places []Place, order []int, multiplier float64) {
	var total, found, foundByFull float64
	for _, i := range order {
		p, t := places[i], plan.Seconds[i]
		total += p.Prior
		found += p.Prior * -math.Expm1(-p.RatePerS*t)
		foundByFull += p.Prior * (1 - p.missedByFull())
		plan.UsedS += p.cost() * t
	}
	plan.Detection, plan.FullDetection, plan.Multiplier = found/total, foundByFull/total, multiplier/total
	plan.GivenUp = make([]float64, len(places))
	for i, p := range places {
		plan.GivenUp[i] = p.Prior / total * (p.missed(plan.Seconds[i]) - p.missedByFull())
	}
}

// bestFirst returns the indices of the places by falling return, and places of equal return by what they are, not by
// where they stand in the list: every sum is then taken in the same order and comes out the same to the last bit. Places
// equal in every number are interchangeable.
func bestFirst(places []Place, returns []float64) []int {
	order := make([]int, len(places))
	for i := range order {
		order[i] = i
	}
	lean.Sort(order, func(a, b int) int {
		if c := cmp.Compare(returns[b], returns[a]); c != 0 {
			return c
		}
		p, q := places[a], places[b]
		return cmp.Or(
			cmp.Compare(p.Prior, q.Prior), cmp.Compare(p.RatePerS, q.RatePerS), cmp.Compare(p.cost(), q.cost()),
			cmp.Compare(p.FloorS, q.FloorS), cmp.Compare(p.FullS, q.FullS),
		)
	})
	return order
}

func validate(places []Place) error {
	if len(places) == 0 {
		return errors.New("places: none given; accepted: at least one")
	}
	somewhere := false
	for i, p := range places {
		if err := errors.Join(
			num.NotNegative("Prior", p.Prior),
			num.NotNegative("RatePerS", p.RatePerS),
			num.NotNegative("CostPerS", p.CostPerS),
			num.NotNegative("FloorS", p.FloorS),
			num.NotNegative("FullS", p.FullS),
		); err != nil {
			return fmt.Errorf("place %d %q: %w", i+1, p.Name, err)
		}
		somewhere = somewhere || p.Prior > 0
	}
	if !somewhere {
		return &num.RangeError{Field: "Prior", Value: 0, Accepted: "above 0 for at least one place"}
	}
	return nil
}

// Detection returns the chance that looking the given seconds at each place finds something which is at one of them:
// what a plan of any kind is worth, an inspector's habits included.
func Detection(places []Place, seconds []float64) (float64, error) {
	_, missed, total, err := unseen(places, seconds)
	if err != nil {
		return math.NaN(), err
	}
	return 1 - missed/total, nil
}

// Posterior returns how likely each place is to hold something that a search of the given seconds failed to find. The
// weights sum to 1.
func Posterior(places []Place, seconds []float64) ([]float64, error) {
	left, missed, _, err := unseen(places, seconds)
	if err != nil {
		return nil, err
	}
	if missed == 0 {
		return nil, errors.New("seconds: so long that nothing could be missed; accepted: a search that could fail")
	}
	for i := range left {
		left[i] /= missed
	}
	return left, nil
}

// unseen returns prior times chance of a miss for each place, their sum, and the sum of the priors.
func unseen(places []Place, seconds []float64) (left []float64, missed, total float64, err error) {
	if err := validate(places); err != nil {
		return nil, 0, 0, err
	}
	if len(seconds) != len(places) {
		return nil, 0, 0, fmt.Errorf("seconds: %d given for %d places; accepted: one for each", len(seconds), len(places))
	}
	left = make([]float64, len(places))
	for i, p := range places {
		if err := num.NotNegative("seconds", seconds[i]); err != nil {
			return nil, 0, 0, fmt.Errorf("place %d %q: %w", i+1, p.Name, err)
		}
		left[i] = p.Prior * p.missed(seconds[i])
		missed += left[i]
		total += p.Prior
	}
	return left, missed, total, nil
}

// Residual returns the chance that something is aboard after a search that would have found it with probability
// detection found nothing, when the chance was prior before. Bayes' rule:
//
//	prior (1 - detection) / (prior (1 - detection) + 1 - prior)
//
// Both must lie in [0, 1]. When it was certain to be there and certain to be found, yet was not found, something is
// wrong with the inputs and the answer is 1, the unsafe side.
func Residual(prior, detection float64) (float64, error) {
	if err := errors.Join(num.Within("prior", prior, 0, 1), num.Within("detection", detection, 0, 1)); err != nil {
		return math.NaN(), err
	}
	missed := prior * (1 - detection)
	if missed == 0 && prior == 1 {
		return 1, nil
	}
	return missed / (missed + 1 - prior), nil
}

// EstimateRate returns a detection rate per second from trials with planted objects: finds in totalS seconds of
// searching, the seconds of trials that ran out of time without a find included. Mid is the maximum-likelihood estimate
// finds/totalS. The limits hold at the given level: Poisson limits ([num.Garwood], chi-square with 2·finds and
// 2·finds + 2 degrees of freedom) over the time, which are on the wide side when trials are cut off at a time limit. Plan
// with Lo where it matters that nothing is missed.
func EstimateRate(finds int, totalS, level float64) (num.Interval, error) {
	if err := errors.Join(num.NotNegative("finds", float64(finds)), num.Positive("totalS", totalS)); err != nil {
		return num.Interval{}, err
	}
	count, err := num.Garwood(finds, level)
	return count.Scale(1 / totalS), err
}
