package siting

import (
	"context"
	"math"
	"slices"

	"thwart/engine/num"
)

// Robust is a plan for traffic that is not known well.
type Robust struct {
	Plan Plan `json:"plan"` // Value and Bound are of the worst seasons, see Worst
	// Worst is the mean over the worst share of the samples that was asked for, of this plan and of the plan for the mean.
	Worst        float64      `json:"worst"`
	WorstOfMean  float64      `json:"worstOfMean"`
	Values       num.Interval `json:"values"` // of this plan over the samples: 2.5 %, median, 97.5 %
	ValuesOfMean num.Interval `json:"valuesOfMean"`
}

// SearchRobust plans for samples of the passages' weights (samples[s][passage]) so that the mean over the worst share of them
// is as good as possible: the conditional value at risk (Rockafellar & Uryasev 2000, J. Risk 2:21-41).
//
// That is the largest value that the least favourable mixture of samples leaves, so each mixture's limit is a limit of the
// whole. Mixtures lean, round by round, to the samples that the plans so far did badly on; every plan is judged on all samples.
func (p *Problem) SearchRobust(ctx context.Context, samples [][]float64, share float64, effort Effort) (Robust, error) {
	if err := num.Within("share of worst samples", share, 1e-3, 1); err != nil {
		return Robust{}, err
	}
	if err := p.Check(); err != nil {
		return Robust{}, err
	}
	n := len(samples)
	mix := make([]float64, n)
	for i := range mix {
		mix[i] = 1 / float64(n)
	}
	limit := math.Inf(1)
	var best Robust
	var from []bool
	var warm *prices
	const rounds = 8
	average := make([]float64, n)
	for round := range rounds {
		if ctx.Err() != nil {
			break
		}
		q := p.mixed(samples, mix)
		var plan Plan
		plan, warm = q.index().search(ctx, effort.or(), from, warm)
		from = q.Set(plan.Chosen)
		limit = math.Min(limit, plan.Bound)
		values := p.over(samples, from)
		worst := tail(values, share)
		if round == 0 {
			best.WorstOfMean, best.ValuesOfMean = worst, spread(values)
		}
		if plan.Kept && (round == 0 || worst > best.Worst) {
			best.Plan, best.Worst, best.Values = plan, worst, spread(values)
		}
		for i := range average {
			average[i] += values[i]
		}
		mix = worstMixture(average, share)
	}
	best.Plan.Value, best.Plan.Bound = best.Worst, math.Max(limit, best.Worst)
	best.Plan.Method = "search over samples"
	return best, nil
}

// mixed is the problem with the weights of a mixture of samples.
func (p *Problem) mixed(samples [][]float64, mix []float64) *Problem {
	q := *p
	q.Passages = slices.Clone(p.Passages)
	for i := range q.Passages {
		q.Passages[i].Weight = 0
		for s, w := range mix {
			if w > 0 {
				q.Passages[i].Weight += w * samples[s][i]
			}
		}
	}
	return &q
}

// over is what a plan stops in each sample.
func (p *Problem) over(samples [][]float64, chosen []bool) []float64 {
	out := make([]float64, len(samples))
	for i := range p.Passages {
		if share := stopped(p.Passages[i].Meets, chosen); share > 0 {
			for s := range samples {
				out[s] += share * samples[s][i]
			}
		}
	}
	return out
}

// worstMixture spreads all weight over the worst share of the samples: what the mean over them weighs.
func worstMixture(values []float64, share float64) []float64 {
	order := make([]int, len(values))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch {
		case values[a] < values[b]:
			return -1
		case values[a] > values[b]:
			return 1
		}
		return 0
	})
	out := make([]float64, len(values))
	left := 1.0
	most := 1 / (share * float64(len(values)))
	for _, i := range order {
		w := math.Min(left, most)
		out[i] = w
		left -= w
	}
	return out
}

// tail is the mean of the lowest share of values.
func tail(values []float64, share float64) (sum float64) {
	for i, w := range worstMixture(values, share) {
		if w > 0 {
			sum += w * values[i]
		}
	}
	return sum
}

func spread(values []float64) num.Interval {
	v := slices.Clone(values)
	slices.Sort(v)
	return num.Interval{Lo: num.Quantile(v, .025), Mid: num.Quantile(v, .5), Hi: num.Quantile(v, .975)}
}
