package siting_test

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"thwart/engine/num"
	"thwart/engine/siting"
	"thwart/internal/refcheck"
	"thwart/solver"
	"thwart/solver/solvertest"
)

var engine *solver.Engine

func TestMain(m *testing.M) { solvertest.Main(m, &engine) }

func prove(t testing.TB, p *siting.Problem) siting.Plan {
	t.Helper()
	plan, err := p.Prove(context.Background(), engine, siting.Proof{})
	if err != nil {
		t.Fatal(err)
	}
	if plan.Kept {
		if broken := p.Broken(p.Set(plan.Chosen)); broken != nil {
			t.Fatalf("the plan breaks: %s", strings.Join(broken, "; "))
		}
	}
	return plan
}

func search(t testing.TB, p *siting.Problem) siting.Plan {
	t.Helper()
	plan, err := p.Search(context.Background(), siting.Effort{})
	if err != nil {
		t.Fatal(err)
	}
	return plan
}

func build(t testing.TB, s *siting.Stations) *siting.Built {
	t.Helper()
	b, err := s.Build()
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func names(p *siting.Problem, plan siting.Plan) (out []string) {
	for _, k := range plan.Chosen {
		out = append(out, p.Choices[k].Name)
	}
	slices.Sort(out)
	return out
}

// fiveLaunches is two stewards on one day with a morning and an afternoon of four hours: craft per block, share of them risky,
// and what the waters behind are worth.
func fiveLaunches(alderRisk float64) *siting.Stations {
	rows := []struct {
		name               string
		morning, afternoon float64
		risky, weight      float64
	}{
		{"Alder Point", 60, 40, alderRisk, 1}, {"Bittern Landing", 20, 24, .30, .6}, {"Cobble Cove", 12, 30, .20, 1},
		{"Drumlin Ramp", 45, 20, .08, .3}, {"Esker Beach", 8, 10, .50, 1},
	}
	s := &siting.Stations{
		DayTypes: []siting.DayType{{Name: "Saturday", Days: 1}}, Blocks: []siting.Block{{Name: "morning", Hours: 4}, {Name: "afternoon", Hours: 4}},
		Teams:  []siting.Team{{People: 1, Find: .79, PerHour: 51.0 / 4}},
		Policy: siting.Arrival, Organisms: []string{"risk"}, Weights: []float64{1}, Moves: true, MoveLoss: 1.0 / 8, LongestDuty: 2,
		Limits: siting.Limits{Money: math.Inf(1), People: 2},
	}
	for l, r := range rows {
		s.Launches = append(s.Launches, siting.Launch{Name: r.name})
		s.Craft = append(s.Craft, []float64{r.morning, r.afternoon})
		s.Flows = append(s.Flows, siting.Flow{From: -1, To: l, Arrive: []float64{r.morning, r.afternoon}, Risk: []float64{r.risky * r.weight}})
	}
	return s
}

func TestTwoStewardsFiveLaunches(t *testing.T) {
	const source = "every pair of a morning and an afternoon for two stewards listed by hand: 0.79·min(boats·f, 51·f)·risky·weight, f = 7/8 after a move"
	b := build(t, fiveLaunches(.05))
	plan := prove(t, b.Problem)
	refcheck.Near(t, "best", plan.Value, 14.1015, 1e-9, source)
	refcheck.Near(t, "bound", plan.Bound, 14.1015, 1e-6, source)
	// Only whole days are alternatives to a board, so single blocks are left out of the list of further plans.
	for k, sh := range b.Shifts {
		if len(sh.Legs) == 1 {
			b.Problem.Choices[k].Pin = siting.Out
		}
	}
	var among []int
	for k := range b.Problem.Choices {
		among = append(among, k)
	}
	plans, err := b.Problem.Next(context.Background(), engine, 4, among)
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []float64{14.1015, 13.746, 13.60775, 13.5643} {
		if i >= len(plans) {
			t.Fatalf("only %d plans", len(plans))
		}
		t.Log(plans[i].Value, names(b.Problem, plans[i]))
		refcheck.Near(t, fmt.Sprintf("plan %d", i+1), plans[i].Value, want, 1e-3, source)
	}
	got := strings.Join(names(b.Problem, plans[0]), " | ")
	if want := "Bittern Landing, Saturday morning, then Cobble Cove, Saturday afternoon | Esker Beach, Saturday morning, then Esker Beach, Saturday afternoon"; got != want {
		t.Errorf("plan %s, want %s", got, want)
	}
	var busiest []bool
	for _, c := range b.Problem.Choices {
		busiest = append(busiest, c.Name == "Alder Point, Saturday morning, then Alder Point, Saturday afternoon" || c.Name == "Drumlin Ramp, Saturday morning, then Drumlin Ramp, Saturday afternoon")
	}
	_, value := b.Problem.Worth(busiest)
	refcheck.Near(t, "the two busiest", value, 4.827, 1e-3, source)
	// With three times the risk at Alder Point a steward stands there all day.
	risky := build(t, fiveLaunches(.15))
	var found bool
	for _, n := range names(risky.Problem, prove(t, risky.Problem)) {
		found = found || strings.HasPrefix(n, "Alder Point")
	}
	if !found {
		t.Error("nobody at Alder Point although its share of risky craft tripled")
	}
}

// Twelve blocks of two hours, shifts of four blocks, four routes; 80 % comply and a craft counts once.
func routesAndHours() (*siting.Problem, [][2]int) {
	profile := []float64{0, 0, 1, 4, 9, 14, 16, 17, 16, 12, 8, 3}
	const blocks, long = 12, 4
	p := &siting.Problem{}
	site := map[string]int{}
	for _, n := range []string{"X", "Y", "Z"} {
		site[n] = len(p.Choices)
		p.Choices = append(p.Choices, siting.Choice{Name: n, Cost: 2})
	}
	shift := map[[2]int]int{} // site and first block
	var kinds [][2]int
	for i, n := range []string{"X", "Y", "Z"} {
		var parts []siting.Part
		for from := 0; from+long <= blocks; from++ {
			k := len(p.Choices)
			p.Choices = append(p.Choices, siting.Choice{Name: fmt.Sprintf("%s:%d", n, from), Cost: 3, Needs: []int{site[n]}})
			shift[[2]int{i, from}] = k
			kinds = append(kinds, [2]int{i, from})
			parts = append(parts, siting.Part{Choice: k, Amount: 1})
		}
		p.Rules = append(p.Rules, siting.Rule{Wish: "two shifts at most at " + n, Lo: math.Inf(-1), Hi: 2, Parts: parts})
		for b := range blocks {
			var over []siting.Part
			for from := max(0, b-long+1); from <= b && from+long <= blocks; from++ {
				over = append(over, siting.Part{Choice: shift[[2]int{i, from}], Amount: 1})
			}
			p.Rules = append(p.Rules, siting.Rule{Wish: "no overlap at " + n, Lo: math.Inf(-1), Hi: 1, Parts: over})
		}
	}
	for _, r := range []struct {
		boats float64
		stops [][2]int // site, lag
	}{{60, [][2]int{{0, 0}}}, {45, [][2]int{{0, 0}, {1, 1}}}, {30, [][2]int{{1, 0}, {2, 1}}}, {25, [][2]int{{2, 0}}}} {
		for t, share := range profile {
			g := siting.Passage{Weight: r.boats * share / 100 * 0.8}
			for place, stop := range r.stops {
				for from := range blocks - long + 1 {
					if b := t + stop[1]; b >= from && b < from+long {
						g.Meets = append(g.Meets, siting.Meet{Choice: shift[[2]int{stop[0], from}], Place: place, Q: 1})
					}
				}
			}
			p.Passages = append(p.Passages, g)
		}
	}
	return p, kinds
}

func TestRoutesAndHours(t *testing.T) {
	p, _ := routesAndHours()
	for budget, want := range map[float64]float64{5: 52.92, 8: 80.64, 10: 80.64, 13: 107.96, 16: 122.68, 18: 122.68, 21: 123.88} {
		p.Budget = budget
		plan := prove(t, p)
		refcheck.Near(t, fmt.Sprintf("budget %v", budget), plan.Value, want, 1e-6, "a full integer model solved by SciPy's HiGHS")
		if plan.Cost > budget || plan.Better() > 1e-6 {
			t.Errorf("budget %v: cost %v, could be %v better", budget, plan.Cost, plan.Better())
		}
	}
}

// season is a random season of few launches with everything in it: teams, both ends, refusals, queues, set-ups, rules.
func season(seed uint64, launches int) *siting.Stations {
	r := num.Stream(seed, "season")
	s := &siting.Stations{
		DayTypes: []siting.DayType{{Name: "weekday", Days: 5}}, Blocks: []siting.Block{{Name: "morning", Hours: 5}},
		Teams:     []siting.Team{{People: 1, Find: .7, PerHour: 6, Cost: 20}},
		Policy:    []siting.Policy{siting.Arrival, siting.Departure, siting.Both}[r.IntN(3)],
		Organisms: []string{"mussel", "plant"}, Weights: []float64{1, float64(r.IntN(3))},
	}
	if launches <= 4 {
		s.DayTypes = append(s.DayTypes, siting.DayType{Name: "free day", Days: 2})
	}
	if launches <= 3 {
		s.Teams = append(s.Teams, siting.Team{People: 2, Find: .85, PerHour: 11, Cost: 38})
	}
	for l := range launches {
		at := siting.Launch{Name: fmt.Sprint("launch ", l), Partner: []string{"north", "south"}[l%2], Refuse: .1 * r.Float64()}
		if r.IntN(3) == 0 && launches <= 4 {
			at.Setup = float64(50 * r.IntN(5))
		}
		s.Launches = append(s.Launches, at)
		var craft []float64
		for range s.Cells() {
			craft = append(craft, float64(r.IntN(60)))
		}
		s.Craft = append(s.Craft, craft)
	}
	for range 3 * launches {
		f := siting.Flow{From: r.IntN(launches+1) - 1, To: r.IntN(launches), Risk: []float64{r.Float64(), r.Float64()}}
		for range s.Cells() {
			f.Arrive = append(f.Arrive, float64(r.IntN(40)))
		}
		if r.IntN(2) == 0 {
			f.Leave = make([]float64, s.Cells())
			for c := range f.Leave {
				f.Leave[c] = 1 / float64(s.Cells())
			}
		}
		s.Flows = append(s.Flows, f)
	}
	s.Limits.Money = float64(200 + 100*r.IntN(20))
	limits(r, s)
	return s
}

// limits adds some rules by luck.
func limits(r *rand.Rand, s *siting.Stations) {
	if r.IntN(2) == 0 {
		s.Limits.People = 1 + r.IntN(4)
	}
	if r.IntN(3) == 0 {
		s.Limits.Hours = float64(20 * (1 + r.IntN(6)))
	}
	if r.IntN(4) == 0 {
		s.Limits.Minimum = []siting.Presence{{Launch: r.IntN(len(s.Launches)), Hours: 10}}
	}
	if r.IntN(4) == 0 {
		s.Limits.Partners = []siting.Contract{{Partner: "south", Lo: 10, Hi: 60}}
	}
	if r.IntN(5) == 0 {
		s.Limits.Even = &siting.Even{Share: map[string]float64{"north": .5, "south": .5}, Within: .2}
	}
	if r.IntN(5) == 0 {
		s.Limits.Fixed = []siting.Fixed{{Launch: r.IntN(len(s.Launches)), Cell: r.IntN(s.Cells()), In: r.IntN(2) == 0}}
	}
}

// listed finds the best by going through every set of choices. Its value is computed here, from the definition.
func listed(p *siting.Problem) (best float64, any bool) {
	n := len(p.Choices)
	chosen := make([]bool, n)
	for set := range 1 << n {
		for k := range chosen {
			chosen[k] = set>>k&1 == 1
		}
		if len(p.Broken(chosen)) > 0 {
			continue
		}
		var v float64
		for _, g := range p.Passages {
			miss := [siting.Places]float64{1, 1}
			for _, m := range g.Meets {
				if chosen[m.Choice] {
					miss[m.Place] = math.Min(miss[m.Place], 1-m.Q)
				}
			}
			v += g.Weight * (1 - miss[0]*miss[1])
		}
		best, any = math.Max(best, v), true
	}
	return best, any
}

// The solver's plan must equal the best of all plans on every one of 500 seasons of up to six launches; the search's plan
// must lie below it and its limit above.
func TestSmallSeasonsAgainstListing(t *testing.T) {
	kept, exact, worst := 0, 0, 0.0
	for seed := range uint64(500) {
		b := build(t, season(seed, 2+int(seed%5)))
		if len(b.Problem.Choices) > 16 {
			t.Fatalf("seed %d: %d choices are too many to list", seed, len(b.Problem.Choices))
		}
		want, any := listed(b.Problem)
		plan, quick := prove(t, b.Problem), search(t, b.Problem)
		if plan.Kept != any {
			t.Fatalf("seed %d: kept %v (%s), but listing says %v", seed, plan.Kept, plan.Method, any)
		}
		if !any {
			if quick.Kept {
				t.Fatalf("seed %d: the search keeps rules that nothing keeps", seed)
			}
			continue
		}
		kept++
		if math.Abs(plan.Value-want) > 1e-6*math.Max(1, want) {
			t.Errorf("seed %d: %v, best is %v (%s)", seed, plan.Value, want, plan.Method)
		}
		if plan.Bound < want*(1-1e-9) || quick.Bound < want*(1-1e-9) {
			t.Errorf("seed %d: limits %v and %v lie below the best, %v", seed, plan.Bound, quick.Bound, want)
		}
		if quick.Kept {
			worst = math.Max(worst, 1-quick.Value/math.Max(want, 1e-12))
			if math.Abs(quick.Value-want) < 1e-9*math.Max(1, want) {
				exact++
			}
		}
	}
	t.Logf("%d of 500 have a plan; the search alone found the best of %d of them, at worst %.1f %% below", kept, exact, 100*worst)
	if kept < 300 {
		t.Errorf("only %d instances have a plan: the test has lost its point", kept)
	}
}

func TestSameProblemSamePlan(t *testing.T) {
	b := build(t, season(11, 6))
	first := search(t, b.Problem)
	for range 3 {
		if again := search(t, b.Problem); !slices.Equal(again.Chosen, first.Chosen) || again.Bound != first.Bound {
			t.Fatalf("another plan for the same problem: %v, %v", again, first)
		}
	}
}
