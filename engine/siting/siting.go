// Package siting chooses where and when to stand: shifts, teams and wash units that stop the most risk for the money, people
// and hours there are, with a proof of how far from the best the choice can be.
//
// Two layers. [Stations] describes a season in the trade's terms (launches, day types, parts of the day, teams, wash units,
// passages) and makes a [Problem] of it. A Problem is choices, passages that choices can stop, and rules. It is solved by
// [Problem.Search] (greedy, exchanges, and a Lagrangian limit; milliseconds to seconds, pure) and by [Problem.Prove] (a
// mixed-integer solver, begun from that answer). Every [Plan] carries the limit that nothing exceeds.
//
// One organism, stations that meet everybody, no hours: package cut has the whole frontier, exactly.
package siting

import (
	"fmt"
	"math"

	"thwart/engine/num"
)

// Pin fixes a choice by hand.
type Pin int8

// Fixed in, fixed out, or free.
const (
	Free Pin = iota
	In
	Out
)

// Choice is something that can be decided on: a shift, a site to open, a wash unit at a place.
type Choice struct {
	Name  string
	Cost  float64 // money
	Needs []int   // choices without which this one is not possible
	Pin   Pin
}

// Meet says that a choice can stop a passage.
type Meet struct {
	Choice int
	// Place tells chances apart that are independent: 0 on leaving, 1 on arriving. At the same place the best chosen chance
	// counts, at different places a craft missed at one may be stopped at the other.
	Place int
	Q     float64 // chance that the choice stops it, in [0, 1]
}

// Places is the largest number of places at which one passage can be met.
const Places = 2

// Passage is traffic that goes the same way and can be met by the same choices.
type Passage struct {
	Weight float64 // risk that passes if nobody stands anywhere
	Meets  []Meet
}

// Part is an amount that a choice takes of a rule.
type Part struct {
	Choice int
	Amount float64
}

// Rule is a condition Lo ≤ Σ amount·chosen ≤ Hi, with the wish in words.
type Rule struct {
	Wish   string
	Lo, Hi float64
	Parts  []Part
	Unit   string // of the amounts, for words: "hours", "people"
	// Fact says that this is how the world is, such as that a launch takes one team at a time; no explanation asks to give it up.
	Fact bool
}

// Problem is what can be chosen, what it stops and what must hold.
type Problem struct {
	Choices  []Choice
	Passages []Passage
	Rules    []Rule
	Budget   float64 // money; math.Inf(1) when it is no matter
}

// Check refuses indices, chances and weights that mean nothing.
func (p *Problem) Check() error {
	for i, c := range p.Choices {
		if err := num.NotNegative(fmt.Sprintf("cost of %q", c.Name), c.Cost); err != nil {
			return err
		}
		for _, n := range c.Needs {
			if n < 0 || n >= len(p.Choices) || n == i {
				return fmt.Errorf("choice %q needs %d: accepted is another choice, 0 to %d", c.Name, n, len(p.Choices)-1)
			}
		}
	}
	for i, g := range p.Passages {
		if err := num.NotNegative(fmt.Sprintf("weight of passage %d", i), g.Weight); err != nil {
			return err
		}
		for _, m := range g.Meets {
			if m.Choice < 0 || m.Choice >= len(p.Choices) || m.Place < 0 || m.Place >= Places {
				return fmt.Errorf("passage %d is met by choice %d at place %d: no such choice or place", i, m.Choice, m.Place)
			}
			if err := num.Within(fmt.Sprintf("chance of passage %d", i), m.Q, 0, 1); err != nil {
				return err
			}
		}
	}
	for _, r := range p.Rules {
		if math.IsNaN(r.Lo) || math.IsNaN(r.Hi) || r.Lo > r.Hi {
			return fmt.Errorf("rule %q: limits %v to %v are not accepted", r.Wish, r.Lo, r.Hi)
		}
		for _, t := range r.Parts {
			if t.Choice < 0 || t.Choice >= len(p.Choices) || math.IsNaN(t.Amount) || math.IsInf(t.Amount, 0) {
				return fmt.Errorf("rule %q: amount %v of choice %d is not accepted", r.Wish, t.Amount, t.Choice)
			}
		}
	}
	if math.IsNaN(p.Budget) || p.Budget < 0 {
		return &num.RangeError{Field: "budget", Value: p.Budget, Accepted: "0 or more"}
	}
	return nil
}

// Plan is a set of choices and what is known of it.
type Plan struct {
	Chosen []int   `json:"chosen"` // ascending
	Cost   float64 `json:"cost"`
	Value  float64 `json:"value"` // risk stopped
	// Bound is proved: no plan that keeps the rules stops more.
	Bound float64 `json:"bound"`
	// Kept is false when the rules could not all be kept; then Value and Bound mean little.
	Kept   bool   `json:"kept"`
	Method string `json:"method"` // search, or the solver's name with how it ended
}

// Better is the share by which a better plan could at most exceed this one: 0 when proved best, +Inf when nothing is stopped.
func (p *Plan) Better() float64 {
	if p.Bound <= p.Value {
		return 0
	}
	if p.Value <= 0 {
		return math.Inf(1)
	}
	return p.Bound/p.Value - 1
}

// Total is the weight of all passages.
func (p *Problem) Total() (sum float64) {
	for i := range p.Passages {
		sum += p.Passages[i].Weight
	}
	return sum
}

// stopped is the chance that a passage is stopped by what is chosen.
func stopped(meets []Meet, chosen []bool) float64 {
	var best [Places]float64
	for _, m := range meets {
		if chosen[m.Choice] && m.Q > best[m.Place] {
			best[m.Place] = m.Q
		}
	}
	return 1 - (1-best[0])*(1-best[1])
}

// Worth is the cost of a set of choices and the risk it stops.
func (p *Problem) Worth(chosen []bool) (cost, value float64) {
	for i, on := range chosen {
		if on {
			cost += p.Choices[i].Cost
		}
	}
	for i := range p.Passages {
		value += p.Passages[i].Weight * stopped(p.Passages[i].Meets, chosen)
	}
	return cost, value
}

// Set turns indices into the form that [Problem.Worth] takes.
func (p *Problem) Set(chosen []int) []bool {
	out := make([]bool, len(p.Choices))
	for _, i := range chosen {
		out[i] = true
	}
	return out
}

// ruleSlack is how much of a rule may be missing from rounding alone.
const ruleSlack = 1e-6

// Broken gives the wishes that a set of choices does not keep, money and needs included.
func (p *Problem) Broken(chosen []bool) (wishes []string) {
	cost := 0.0
	for i, on := range chosen {
		c := &p.Choices[i]
		if on {
			cost += c.Cost
			for _, n := range c.Needs {
				if !chosen[n] {
					wishes = append(wishes, fmt.Sprintf("%s needs %s", c.Name, p.Choices[n].Name))
				}
			}
		}
		if on && c.Pin == Out || !on && c.Pin == In {
			wishes = append(wishes, "fixed by hand: "+c.Name)
		}
	}
	if cost > p.Budget+ruleSlack*math.Max(1, p.Budget) {
		wishes = append(wishes, fmt.Sprintf("money: at most %g", p.Budget))
	}
	for _, r := range p.Rules {
		var sum float64
		for _, t := range r.Parts {
			if chosen[t.Choice] {
				sum += t.Amount
			}
		}
		if r.miss(sum) > 0 {
			wishes = append(wishes, r.Wish)
		}
	}
	return wishes
}

// miss is by how much a sum breaks a rule, beyond rounding.
func (r *Rule) miss(sum float64) float64 {
	if d := sum - r.Hi; d > slack(r.Hi) {
		return d
	}
	if d := r.Lo - sum; d > slack(r.Lo) {
		return d
	}
	return 0
}

func slack(limit float64) float64 { return ruleSlack * math.Max(1, math.Abs(limit)) }
