package siting_test

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"thwart/engine/mip"
	"thwart/engine/num"
	"thwart/engine/siting"
	"thwart/internal/refcheck"
)

func TestCollidingWishesInWords(t *testing.T) {
	s := fiveLaunches(.05)
	s.Moves = false
	s.Teams[0].Cost = 20
	s.Limits = siting.Limits{
		Money: 100, Hours: 12, People: 1,
		Minimum: []siting.Presence{{Launch: 0, Hours: 8}, {Launch: 4, Hours: 8}},
		Fixed:   []siting.Fixed{{Launch: 1, Cell: 0, In: false}},
	}
	b := build(t, s)
	c, err := b.Problem.Explain(context.Background(), engine)
	if err != nil {
		t.Fatal(err)
	}
	if c == nil {
		t.Fatal("16 hours at two launches were found in 12, with one person")
	}
	t.Log(c.Words)
	if len(c.Wishes) < 2 || !strings.Contains(c.Words, "cannot all be kept") {
		t.Errorf("%q", c.Words)
	}
	// Any one wish of the set given up, the others can be kept: by listing every plan with only those rules.
	for _, drop := range c.Wishes {
		q := *b.Problem
		q.Budget = math.Inf(1)
		q.Rules = nil
		for _, r := range b.Problem.Rules {
			if r.Fact || r.Wish != drop && slices.Contains(c.Wishes, r.Wish) {
				q.Rules = append(q.Rules, r)
			}
		}
		if strings.Contains(strings.Join(c.Wishes, " "), "money") && !strings.Contains(drop, "money") {
			q.Budget = b.Problem.Budget
		}
		if plan := prove(t, &q); !plan.Kept {
			t.Errorf("without %q the others still collide", drop)
		}
	}
	s.Limits = siting.Limits{Money: math.Inf(1)}
	if c, err := build(t, s).Problem.Explain(context.Background(), engine); c != nil || err != nil {
		t.Errorf("a plan without limits collides: %v, %v", c, err)
	}
	s.Limits = siting.Limits{Money: math.Inf(1), Fixed: []siting.Fixed{{Launch: 1, Cell: 0, In: false}}, Minimum: []siting.Presence{{Launch: 1, Hours: 8}}}
	c, err = build(t, s).Problem.Explain(context.Background(), engine)
	if err != nil || c == nil || !strings.Contains(c.Words, "nobody at Bittern Landing") || !strings.Contains(c.Words, "at least 8 hours on site at Bittern Landing") {
		t.Errorf("%+v, %v", c, err)
	}
}

// washing is three launches in a row, and one unit that can stand at the first or the last.
func washing() *siting.Stations {
	s := &siting.Stations{
		DayTypes: []siting.DayType{{Name: "Saturday", Days: 10}}, Blocks: []siting.Block{{Name: "morning", Hours: 4}},
		Teams:  []siting.Team{{People: 1, Find: .8, PerHour: 20, Cost: 20}},
		Policy: siting.Arrival, Organisms: []string{"mussel"}, Weights: []float64{1},
		Washing: &siting.Washing{
			ByHand: .3, Fail: .1, Sites: []int{0, 2}, Units: 1, Cost: 500, HourCost: 30, People: 2, PerHour: 2, HalfKM: 10, ReachKM: 40, HereChance: .9,
			DetourKM: [][]float64{{0, 10, 30}, {10, 0, 20}, {30, 20, 0}},
		},
		Limits: siting.Limits{Money: math.Inf(1)},
	}
	for l, risky := range []float64{4, 2, 3} {
		s.Launches = append(s.Launches, siting.Launch{Name: fmt.Sprint("ramp ", l)})
		s.Craft = append(s.Craft, []float64{30})
		s.Flows = append(s.Flows, siting.Flow{From: -1, To: l, Arrive: []float64{300}, Risk: []float64{risky / 300}})
	}
	return s
}

func TestUnitsAndStationsTogether(t *testing.T) {
	plan := func(s *siting.Stations) float64 { return prove(t, build(t, s).Problem).Value }
	s := washing()
	// By hand: each ramp staffed stops 0.8·(0.3 + 0.7·0.9·2^(−detour/10)) of its risk. At the first ramp: detours 0, 10, 30 km.
	at := func(km ...float64) (v float64) {
		for l, d := range km {
			v += []float64{4, 2, 3}[l] * .8 * (.3 + .7*.9*math.Exp2(-d/10))
		}
		return v
	}
	refcheck.Near(t, "one unit", plan(s), math.Max(at(0, 10, 30), at(30, 20, 0)), 1e-9, "both sites worked out by hand")
	s.Washing.Units = 2
	refcheck.Near(t, "two units", plan(s), at(0, 10, 0), 1e-9, "each ramp to its nearer unit, by hand")
	s.Washing.Units = 0
	refcheck.Near(t, "no unit", plan(s), .8*.3*9, 1e-9, "hand removal alone")
	s.Washing.Units, s.Limits.Money = 2, 2400+1000+1200
	refcheck.Near(t, "money for one unit and all ramps", plan(s), math.Max(at(0, 10, 30), at(30, 20, 0)), 1e-9, "three teams 800 each, a unit 500 and 1,200 for its crew")
	s.Limits.Money = math.Inf(1)
	s.Washing.PerHour = 0.5 // two craft a morning; each ramp sends 30·0.1·goes: 2.7 from where it stands alone is too much
	if got, free := plan(s), at(0, 10, 0); !(got < free) {
		t.Errorf("a unit that can wash two craft a morning washes all: %v", got)
	}
}

func TestFrontierIsMonotone(t *testing.T) {
	b := build(t, season(77, 6))
	b.Problem.Rules = nil
	var budgets []float64
	for i := range 12 {
		budgets = append(budgets, float64(i*100))
	}
	plans, err := b.Problem.Frontier(context.Background(), budgets, siting.Effort{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	for i, p := range plans {
		if p.Cost > budgets[i]+1e-9 || p.Bound < p.Value || i > 0 && (p.Value < plans[i-1].Value || p.Bound < plans[i-1].Bound-1e-9) {
			t.Errorf("budget %v: %+v after %+v", budgets[i], p, plans[max(i-1, 0)])
		}
		q := *b.Problem
		q.Budget = budgets[i]
		if best, _ := listed(&q); p.Value > best*(1+1e-9) || p.Bound < best*(1-1e-9) {
			t.Errorf("budget %v: %v ≤ %v ≤ %v does not hold", budgets[i], p.Value, best, p.Bound)
		}
	}
	step, ok := siting.NextStep(plans, plans[0])
	if !ok || step.Cost <= 0 || step.Value <= 0 {
		t.Errorf("no next step after nothing: %+v", step)
	}
	d := siting.Difference(plans[8], plans[4])
	if !(d.Lo <= d.Mid && d.Mid <= d.Hi) {
		t.Errorf("difference %+v", d)
	}
}

// Two launches, two kinds of season: guarding either alone leaves nothing in the other kind. Half of each is the best mixture,
// and with both affordable only one at a time the worst half is what decides.
func TestRobustPlansLookAtTheWorst(t *testing.T) {
	p := &siting.Problem{Budget: 1}
	for i := range 3 {
		p.Choices = append(p.Choices, siting.Choice{Name: fmt.Sprint("launch ", i), Cost: 1})
		p.Passages = append(p.Passages, siting.Passage{Weight: 1, Meets: []siting.Meet{{Choice: i, Q: 1}}})
	}
	r := num.Stream(4, "samples")
	var samples [][]float64
	for range 200 {
		a := 20 * r.Float64() // the first launch is better on average and empty in bad seasons; the third is steady
		if r.IntN(2) == 0 {
			a = 0
		}
		samples = append(samples, []float64{a, 1, 4})
	}
	got, err := p.SearchRobust(context.Background(), samples, .1, siting.Effort{})
	if err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(got.Plan.Chosen, []int{2}) || got.Worst != 4 || got.WorstOfMean != 0 || got.Plan.Bound < 4 {
		t.Errorf("%+v: want the steady launch, 4 in the worst tenth, against 0 for the plan of the mean", got)
	}
	if _, err := p.SearchRobust(context.Background(), samples, 0, siting.Effort{}); err == nil {
		t.Error("a share of 0 was taken")
	}
}

// Greedy under a number of stations reaches at least 1 − 1/e of the best (Nemhauser, Wolsey & Fisher 1978), and the search is
// never worse than it; its limit is never below the best.
func TestSearchNearBest(t *testing.T) {
	for seed := range uint64(60) {
		b := build(t, season(1000+seed, 5))
		b.Problem.Rules = nil
		plan := search(t, b.Problem)
		best, _ := listed(b.Problem)
		if !plan.Kept || plan.Value < (1-1/math.E)*best-1e-9 || plan.Bound < best*(1-1e-9) {
			t.Errorf("seed %d: %v of %v, limit %v", seed, plan.Value, best, plan.Bound)
		}
	}
}

// The limit by prices is that of the relaxation, which the solver finds by another road: never below it, and hardly above. The
// search keeps rules that pull against each other.
func TestLimitIsThatOfTheRelaxation(t *testing.T) {
	days := []siting.DayType{{Name: "weekday", Days: 90}, {Name: "free day", Days: 45}}
	blocks := []siting.Block{{Name: "morning", Hours: 5}, {Name: "afternoon", Hours: 5}}
	for seed := range uint64(6) {
		s := region(40, 400, days, blocks, 50+seed)
		sideConditions(s, 6000)
		s.Limits.People, s.Limits.Minimum = 8, s.Limits.Minimum[:4]
		if seed%2 == 1 { // no cut is needed, and money is no matter
			s.Policy, s.Limits.Money = siting.Arrival, math.Inf(1)
		}
		p := build(t, s).Problem
		relaxed, err := engine.Solve(context.Background(), p.Model(), mip.Options{Relax: true})
		if err != nil || relaxed.Status != mip.Optimal {
			t.Fatal(relaxed.Status, err)
		}
		plan, err := p.Search(context.Background(), siting.Effort{Rounds: 1500, Enough: 1e-9})
		if err != nil {
			t.Fatal(err)
		}
		if plan.Bound < relaxed.Objective*(1-1e-7) || plan.Bound > relaxed.Objective*(1+1e-3) {
			t.Errorf("seed %d: limit %v, the relaxation's is %v", seed, plan.Bound, relaxed.Objective)
		}
		if !plan.Kept { // fairness among eight partners with thirty duties: there are plans, and greed alone finds none
			t.Errorf("seed %d: the plan breaks %v", seed, p.Broken(p.Set(plan.Chosen)))
		}
		t.Logf("seed %d: limit %v, relaxation %v, plan %v", seed, plan.Bound, relaxed.Objective, plan.Value)
	}
}
