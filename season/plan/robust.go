package plan

import (
	"context"
	"fmt"

	"thwart/engine/num"
	"thwart/engine/siting"
)

// WorstSeasons tells how a plan does when traffic and carrying are not what they are on average.
type WorstSeasons struct {
	Share   float64 `json:"share" doc:"of the sampled seasons, the worst of them"`
	Samples int     `json:"samples"`
	// Worst is what the plan stops in them on average, WorstOfMean what the plan for the mean season would.
	Worst       float64      `json:"worst" doc:"stopped in these seasons on average"`
	WorstOfMean float64      `json:"worstOfMean" doc:"stopped in them by the plan for the mean season"`
	Bound       float64      `json:"bound" doc:"no plan stops more in its own worst seasons"`
	Values      num.Interval `json:"values" doc:"stopped by this plan over all samples: 2.5 %, median, 97.5 %"`
}

// robust replaces the plan for the mean season by one for the worst share of sampled seasons, if that was wished.
func (m *Maker) robust(ctx context.Context, in *Input, b *siting.Built, r *SeasonPlan, mean siting.Plan) (siting.Plan, error) {
	share := r.Wishes.Robust
	if share == 0 || !mean.Kept {
		return mean, nil
	}
	if in.Sample == nil {
		r.Warnings = append(r.Warnings, "The traffic is taken as exact here, so there are no worse seasons to plan for.")
		return mean, nil
	}
	m.tell(0.5, "drawing seasons that may be")
	seasons, err := in.Sample()
	if err != nil {
		return mean, err
	}
	samples := make([][]float64, len(seasons))
	for d, pairs := range seasons {
		samples[d] = b.WeightsOf(in.flowRisks(&r.Wishes, pairs))
	}
	m.tell(0.55, "planning for the worst of them")
	found, err := b.Problem.SearchRobust(ctx, samples, share, siting.Effort{Seed: r.Wishes.Seed, Shakes: 60, Rounds: 200})
	if err == nil {
		err = ctx.Err()
	}
	if err != nil {
		return mean, err
	}
	plan := found.Plan
	r.Robust = &WorstSeasons{Share: share, Samples: len(samples), Worst: found.Worst, WorstOfMean: found.WorstOfMean, Bound: plan.Bound, Values: found.Values}
	// In the mean season the plan is worth what it is, and the limit is that of the plan for it.
	_, plan.Value = b.Problem.Worth(b.Problem.Set(plan.Chosen))
	plan.Bound = max(mean.Bound, plan.Value)
	r.Why = append(r.Why, fmt.Sprintf("In the worst %.0f %% of %d sampled seasons the plan stops %.3g on average, at most %.3g by any plan; the best plan found for the mean season stops %.3g in its own worst. Over all samples the plan stops %.3g to %.3g (95 %%).",
		100*share, len(samples), found.Worst, r.Robust.Bound, found.WorstOfMean, found.Values.Lo, found.Values.Hi))
	return plan, nil
}

// flowRisks are the risks of the flows that the pairs of one sampled season make, in the order of the flows.
func (in *Input) flowRisks(w *PlanWishes, pairs [][]float64) [][]float64 {
	season := *in
	season.Pairs = make([]Pair, len(in.Pairs))
	for k, p := range in.Pairs {
		season.Pairs[k] = Pair{From: p.From, To: p.To, Risk: pairs[k]}
	}
	s := &siting.Stations{Policy: siting.Policy(w.Policy)}
	season.flows(s, w)
	out := make([][]float64, len(s.Flows))
	for i := range out {
		out[i] = s.Flows[i].Risk
	}
	return out
}
