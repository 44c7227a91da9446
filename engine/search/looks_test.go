package search

import (
	"fmt"
	"math"
	"testing"

	"thwart/engine/num"
	"thwart/internal/refcheck"
)

func TestDiscreteLooks(t *testing.T) {
	const source = "Black 1965 / Chew 1967 rule by hand: p (1-α)^k α for p 0.5, 0.3, 0.2 and α 0.5, 0.7, 0.9"
	looks := []Look{{Prior: 0.5, Find: 0.5}, {Prior: 0.3, Find: 0.7}, {Prior: 0.2, Find: 0.9}}
	steps := refcheck.Must[[]Step](t)(DiscreteLooks(looks, 10))
	order := []int{1, 2, 3, 1, 2, 1, 1, 2, 3, 1}
	found := []float64{0.25, 0.46, 0.64, 0.765, 0.828, 0.8905, 0.92175, 0.94065, 0.95865, 0.974275}
	for i, s := range steps {
		if s.Look != order[i]-1 {
			t.Errorf("look %d is at %d, want %d (%s)", i+1, s.Look+1, order[i], source)
		}
		refcheck.Near(t, fmt.Sprintf("found after %d looks", i+1), s.Detection, found[i], 1e-12, source)
		refcheck.Near(t, "elapsed", s.ElapsedS, float64(i+1), 0, "one second a look")
	}
}

// Whenever the sequence is stopped, no other numbers of looks that fit into the time used find more.
func TestDiscreteLooksAgainstBruteForce(t *testing.T) {
	r := num.Stream(16, "looks")
	for trial := range 100 {
		looks := make([]Look, 3)
		total := 0.0
		for i := range looks {
			looks[i] = Look{Prior: 0.1 + r.Float64(), Find: 0.1 + 0.9*r.Float64(), CostS: 0.5 + 3*r.Float64()}
			total += looks[i].Prior
		}
		for _, s := range refcheck.Must[[]Step](t)(DiscreteLooks(looks, 8)) {
			best := 0.0
			counts := [3]int{}
			limit := func(i int) int { return int(s.ElapsedS/looks[i].CostS + 1e-9) }
			for counts[0] = 0; counts[0] <= limit(0); counts[0]++ {
				for counts[1] = 0; counts[1] <= limit(1); counts[1]++ {
					for counts[2] = 0; counts[2] <= limit(2); counts[2]++ {
						used, d := 0.0, 0.0
						for i, l := range looks {
							used += float64(counts[i]) * l.CostS
							d += l.Prior / total * (1 - math.Pow(1-l.Find, float64(counts[i])))
						}
						if used <= s.ElapsedS+1e-9 {
							best = math.Max(best, d)
						}
					}
				}
			}
			refcheck.Near(t, fmt.Sprintf("trial %d after %.2f s", trial, s.ElapsedS), s.Detection, best, 1e-12, "every combination of looks that fits the time")
		}
	}
}

func TestDiscreteLooksRefuses(t *testing.T) {
	for field, l := range map[string]Look{
		"Prior":              {Name: "hatch", Prior: -1, Find: 0.5},
		"Find":               {Name: "hatch", Prior: 1, Find: 1.5},
		"CostS":              {Name: "hatch", Prior: 1, Find: 0.5, CostS: -2},
		"Prior of all looks": {Name: "hatch", Find: 0.5},
	} {
		_, err := DiscreteLooks([]Look{l}, 3)
		refusesField(t, err, field)
	}
	_, err := DiscreteLooks([]Look{{Prior: 1}}, 3)
	refusesField(t, err, "Find")
	_, err = DiscreteLooks([]Look{{Prior: 1, Find: 0.5}}, -1)
	refusesField(t, err, "n")
	if _, err := DiscreteLooks(nil, 1); err == nil {
		t.Error("no looks were taken")
	}
}
