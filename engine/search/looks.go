package search

import (
	"errors"
	"fmt"

	"thwart/engine/num"
)

// Look is a look at a place that is taken whole or not at all, and can be repeated: a hatch opened, a mirror held under
// an axle.
type Look struct {
	Name  string
	Prior float64 // weight of the thing being here; only ratios matter
	Find  float64 // chance that one look finds it when it is here, above 0 and at most 1
	CostS float64 // seconds for one look; 0 means 1
}

// Step is one look of a sequence.
type Step struct {
	Look      int     // index of the look taken
	Detection float64 // chance found by now, given that it is at one of the places
	ElapsedS  float64 // seconds used by now
}

// DiscreteLooks returns the first n looks of the best sequence: always the one with the largest chance of a find per
// second, p (1-α)^k α / τ for the look taken k times before. That finds the thing soonest on average (Black 1965, Oper.
// Res. 13:90-103; Chew 1967, Ann. Math. Stat. 38:494-502), and whenever it is stopped no other choice of looks within
// the time used finds more. Of equal looks the one listed first goes first.
func DiscreteLooks(looks []Look, n int) ([]Step, error) {
	if n < 0 {
		return nil, &num.RangeError{Field: "n", Value: float64(n), Accepted: "0 or more looks"}
	}
	total := 0.0
	for i, l := range looks {
		if err := errors.Join(
			num.NotNegative("Prior", l.Prior),
			num.Positive("Find", l.Find),
			num.Within("Find", l.Find, 0, 1),
			num.NotNegative("CostS", l.CostS),
		); err != nil {
			return nil, fmt.Errorf("look %d %q: %w", i+1, l.Name, err)
		}
		total += l.Prior
	}
	if err := num.Positive("Prior of all looks", total); err != nil {
		return nil, err
	}
	here := make([]float64, len(looks)) // chance that it is here and unseen so far
	cost := make([]float64, len(looks))
	for i, l := range looks {
		here[i], cost[i] = l.Prior/total, l.CostS
		if l.CostS == 0 {
			cost[i] = 1
		}
	}
	steps := make([]Step, 0, n)
	var found, elapsed float64
	for range n {
		best := 0
		for i := range looks {
			if here[i]*looks[i].Find/cost[i] > here[best]*looks[best].Find/cost[best] {
				best = i
			}
		}
		gain := here[best] * looks[best].Find
		here[best] -= gain
		found += gain
		elapsed += cost[best]
		steps = append(steps, Step{Look: best, Detection: found, ElapsedS: elapsed})
	}
	return steps, nil
}
