package siting_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"thwart/engine/siting"
)

// stepsProblem is a small problem with everything that can stand in the way of a step.
func stepsProblem(r *rand.Rand) *siting.Problem {
	p := &siting.Problem{Budget: 3 + 6*r.Float64()}
	n := 7
	for k := range n {
		c := siting.Choice{Name: fmt.Sprint("choice ", k), Cost: float64(r.IntN(4)), Pin: siting.Pin(max(0, r.IntN(7)-4))}
		if k > 0 && r.IntN(4) == 0 {
			c.Needs = []int{r.IntN(k)}
		}
		p.Choices = append(p.Choices, c)
	}
	for range 5 {
		g := siting.Passage{Weight: r.Float64()}
		for k := range n {
			if r.IntN(2) == 0 {
				g.Meets = append(g.Meets, siting.Meet{Choice: k, Place: r.IntN(2), Q: float64(r.IntN(3)) / 2})
			}
		}
		p.Passages = append(p.Passages, g)
	}
	p.Rules = []siting.Rule{
		{Wish: "one of two", Fact: true, Unit: "teams", Lo: math.Inf(-1), Hi: 1, Parts: []siting.Part{{Choice: 1, Amount: 1}, {Choice: 2, Amount: 1}}},
		{Wish: "hours", Unit: "hours", Lo: math.Inf(-1), Hi: float64(2 + r.IntN(6)), Parts: []siting.Part{{Choice: 3, Amount: 2}, {Choice: 4, Amount: 1}, {Choice: 5, Amount: 3}}},
		{Wish: "enough", Unit: "hours", Lo: float64(r.IntN(2)), Hi: math.Inf(1), Parts: []siting.Part{{Choice: 1, Amount: 1}, {Choice: 6, Amount: 1}}},
	}
	return p
}

// Each step is what it says when it is taken: it gains what is told, costs what is told, and breaks something exactly where
// something is said to stand in its way.
func TestStepsAreWhatTheySay(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	fit, blocked := 0, 0
	for trial := range 400 {
		p := stepsProblem(r)
		if err := p.Check(); err != nil {
			t.Fatal(err)
		}
		plan := search(t, p)
		if !plan.Kept {
			continue
		}
		chosen := p.Set(plan.Chosen)
		cost, value := p.Worth(chosen)
		steps, left := p.Steps(chosen)
		listed := map[int]bool{}
		before := math.Inf(-1)
		for _, step := range steps {
			listed[step.Choice] = true
			after := slices.Clone(chosen)
			for _, k := range step.Add {
				after[k] = true
			}
			for _, k := range step.Drop {
				after[k] = false
			}
			c, v := p.Worth(after)
			if math.Abs(c-cost-step.Cost) > 1e-9 || math.Abs(v-value-step.Gain) > 1e-9 || step.Gain <= 0 || step.Cost < before {
				t.Fatalf("trial %d: %+v costs %v and gains %v", trial, step, c-cost, v-value)
			}
			before = step.Cost
			if broken := p.Broken(after); step.Fits() != (broken == nil) {
				t.Fatalf("trial %d: %+v, and taken it breaks %q", trial, step, broken)
			}
			if short := c - p.Budget; (short > 1e-5) != (step.Short > 0) || step.Short > 0 && math.Abs(short-step.Short) > 1e-9 {
				t.Fatalf("trial %d: %v short, told as %v", trial, short, step.Short)
			}
			if step.Fits() {
				fit++
			} else {
				blocked++
			}
		}
		// Whatever is not listed gains nothing, alone and with what it needs.
		best := value
		for set := range 1 << len(p.Choices) {
			one := make([]bool, len(p.Choices))
			for k := range one {
				one[k] = set>>k&1 == 1
			}
			_, v := p.Worth(one)
			best = max(best, v)
		}
		if math.Abs(best-value-left) > 1e-9 {
			t.Fatalf("trial %d: %v more by any set, told as %v", trial, best-value, left)
		}
		for k := range p.Choices {
			meets := slices.ContainsFunc(p.Passages, func(g siting.Passage) bool {
				return slices.ContainsFunc(g.Meets, func(m siting.Meet) bool { return m.Choice == k && m.Q > 0 })
			})
			if chosen[k] || listed[k] || !meets {
				continue
			}
			after := slices.Clone(chosen)
			after[k] = true
			if k == 1 || k == 2 {
				after[3-k] = false
			}
			for range p.Choices { // needs of needs
				for i, c := range p.Choices {
					for _, n := range c.Needs {
						after[n] = after[n] || after[i]
					}
				}
			}
			if after[1] && after[2] {
				continue // what it needs and what it excludes are one
			}
			if _, v := p.Worth(after); v > value+1e-9 {
				t.Fatalf("trial %d: choice %d gains %v and is not told", trial, k, v-value)
			}
		}
	}
	if blocked < 100 {
		t.Errorf("%d steps with something in their way and %d without: too few to tell", blocked, fit)
	}
}
