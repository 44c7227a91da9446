package plan_test

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"slices"
	"strings"
	"sync"
	"testing"

	"thwart"
	"thwart/engine/siting"
	"thwart/internal/demo"
	"thwart/internal/demo/demotest"
	"thwart/season"
	"thwart/season/flows"
	"thwart/season/plan"
	"thwart/solver"
	"thwart/solver/solvertest"
)

var engine *solver.Engine

func TestMain(m *testing.M) { solvertest.Main(m, &engine) }

// demoScale is the share of the demo's shifts that were worked: all of them in the heavy run that makes the table of the
// documentation.
var demoScale = map[bool]float64{true: 1, false: 0.25}[os.Getenv("THWART_WHOLE_DEMO") != ""]

func theDemo() (*demo.World, *season.Book) {
	return demotest.Book(demo.Options{Seed: 1, Scale: demoScale})
}

var theInput = sync.OnceValue(func() *plan.Input {
	w, book := theDemo()
	at := map[string]int{}
	for i := range w.Waters {
		at[w.Waters[i].ID] = i
	}
	m, err := flows.New(book, flows.Options{Seed: 1, Draws: 60, RoadKM: func(a, b string) (float64, bool) {
		i, ok1 := at[a]
		j, ok2 := at[b]
		if !ok1 || !ok2 {
			return 0, false
		}
		return w.RoadKM[i][j], true
	}})
	if err != nil {
		panic(err)
	}
	in, err := plan.FromModel(book, m)
	if err != nil {
		panic(err)
	}
	return in
})

// truth is the demo's own traffic in the form of an input, for the launches and organisms of another.
func truth(w *demo.World, like *plan.Input) *plan.Input {
	t := &w.Truth
	in := &plan.Input{Organisms: like.Organisms, Find: like.Find, Launches: slices.Clone(like.Launches), KM: like.KM}
	for d := range t.FreeDay {
		in.Days[map[bool]int{true: 1, false: 0}[t.FreeDay[d]]]++
	}
	for i := range in.Launches {
		l := slices.Index(t.Launches, in.Launches[i].ID)
		in.Launches[i].Season = t.Arrivals[l]
		in.Launches[i].PerHour = [2][24]float64{}
		for d := range t.FreeDay {
			k := map[bool]int{true: 1, false: 0}[t.FreeDay[d]]
			for h := range 24 {
				in.Launches[i].PerHour[k][h] += t.Rate(l, d, h) / in.Days[k]
			}
		}
		in.Refuse += t.Refusal[l] / float64(len(in.Launches))
	}
	carry := map[string]float64{}
	for _, c := range t.Carrying {
		carry[c.Organism] = c.DayUse*(1-t.Habits.Moored) + c.Moored*t.Habits.Moored
	}
	for i, from := range t.Waters {
		risk := make([]float64, len(in.Organisms))
		any := false
		for _, x := range t.Infested {
			if o := slices.Index(in.Organisms, x.Organism); o >= 0 && x.Water == from {
				risk[o], any = carry[x.Organism], true
			}
		}
		if !any {
			continue
		}
		for j, to := range t.Waters {
			if i == j || t.Passages[i][j] == 0 {
				continue
			}
			p := plan.Pair{From: from, To: to, Risk: make([]float64, len(risk))}
			for o, c := range risk {
				if !slices.ContainsFunc(t.Infested, func(x demo.Infestation) bool { return x.Water == to && x.Organism == in.Organisms[o] }) {
					p.Risk[o] = c * t.Passages[i][j]
				}
			}
			in.Pairs = append(in.Pairs, p)
		}
	}
	return in
}

// Where an organism lives already, one more craft with it infests nothing; out of such a water all of it counts. The demo's
// truth counts so too.
func TestRiskIsToWatersThatDoNotHoldIt(t *testing.T) {
	w, book := theDemo()
	in := theInput()
	_, last, _ := book.Span()
	end := season.Moment{MS: (last + 1).Date().UnixMilli(), Set: true}
	status := func(water, organism string) thwart.WaterStatus {
		for i := range book.Waters {
			if book.Waters[i].Subject == water {
				return book.WaterAt(int32(i), end).Of(organism)
			}
		}
		t.Fatalf("no water %s", water)
		return ""
	}
	into, clear, out, half := 0, 0, 0.0, 0
	for o, organism := range in.Organisms {
		for _, p := range in.Pairs {
			switch status(p.To, organism) {
			case thwart.StatusInfested, thwart.StatusPositive:
				into++
				if p.Risk[o] != 0 {
					t.Errorf("%s from %s to %s, which holds it: %v", organism, p.From, p.To, p.Risk[o])
				}
			case thwart.StatusSuspect:
				half++
			default:
				clear++
				if s := status(p.From, organism); s == thwart.StatusInfested || s == thwart.StatusPositive {
					out += p.Risk[o]
					if p.Risk[o] == 0 {
						t.Errorf("%s from %s, which holds it, to %s, which does not: no risk", organism, p.From, p.To)
					}
				}
			}
		}
	}
	if into == 0 || clear == 0 || out == 0 {
		t.Errorf("%d pairs into waters that hold the organism, %d others, %v out: the test has lost its point", into, clear, out)
	}
	real := truth(w, in)
	for _, p := range real.Pairs {
		for o, organism := range in.Organisms {
			if p.Risk[o] != 0 && slices.ContainsFunc(w.Truth.Infested, func(x demo.Infestation) bool { return x.Water == p.To && x.Organism == organism }) {
				t.Errorf("the truth counts %s into %s, which holds it", organism, p.To)
			}
		}
	}
}

// The plan made from the records must beat, on the traffic that made them, what people do without computing. The table of the
// documentation is what this prints with THWART_WHOLE_DEMO=1.
func TestPlanOnTheTrueTraffic(t *testing.T) {
	w, _ := theDemo()
	in := theInput()
	maker := &plan.Maker{Solver: engine}
	for _, hours := range []float64{4000, 8000} {
		r, err := maker.Make(context.Background(), in, plan.PlanWishes{Hours: hours, Seconds: 20})
		if err != nil {
			t.Fatal(err)
		}
		if !r.Made || r.Better > 0.05 {
			t.Fatalf("made %v, could be %v better: %+v", r.Made, r.Better, r.Clash)
		}
		real := truth(w, in)
		value := func(staffed [][]float64) float64 {
			v, err := real.Worth(&r.Wishes, staffed)
			if err != nil {
				t.Fatal(err)
			}
			return v
		}
		best := value(r.Staffed)
		all := real.All(&r.Wishes)
		t.Logf("| %.0f | the plan | %.0f | %.1f %% | 1 | %d shifts, %.0f hours, at most %.2f %% better (%s)", hours, best, 100*best/all, len(r.Shifts), r.Hours, 100*r.Better, r.Method)
		for _, a := range r.Alternatives {
			v := value(a.Staffed)
			t.Logf("| %.0f | %s | %.0f | %.1f %% | %.2f | %.0f hours; on the estimated traffic the plan has %.2f times as much", hours, a.Name, v, 100*v/all, best/v, a.Hours, r.Value/a.Value)
			if v >= best {
				t.Errorf("%v hours: on the true traffic %s stops %v, the plan %v", hours, a.Name, v, best)
			}
		}
		for _, s := range r.Why {
			t.Log(s)
		}
		if text, err := json.Marshal(r); err != nil || len(text) < 1000 {
			t.Errorf("as JSON: %d bytes, %v", len(text), err)
		}
	}
}

func TestWishesAreKept(t *testing.T) {
	in := theInput()
	maker := &plan.Maker{Solver: engine}
	money := 120000.0
	busy := slices.MaxFunc(in.Launches, func(a, b plan.Launch) int { return int(a.Season - b.Season) })
	quiet := slices.MinFunc(in.Launches, func(a, b plan.Launch) int { return int(a.Season - b.Season) })
	r, err := maker.Make(context.Background(), in, plan.PlanWishes{
		Money: &money, Policy: "both", People: 6, Teams: []plan.TeamSize{{People: 1, PerHour: 8}, {People: 2, PerHour: 15}}, Seconds: 4, Gap: .05,
		Minimum:  []plan.PresenceWish{{Launch: quiet.ID, Hours: 100}},
		Fixed:    []plan.FixedShift{{Launch: busy.ID, Day: "free day", Block: "morning", In: true}, {Launch: busy.ID, Day: "weekday", Block: "morning", In: false}},
		Units:    &plan.UnitWishes{Count: 2, Cost: 8000, HourCost: 20, Sites: []string{busy.ID, in.Launches[0].ID, in.Launches[5].ID}},
		Frontier: 5,
	})
	if err != nil {
		t.Fatal(err)
	}
	if !r.Made || r.Cost > money || len(r.Units) > 2 || r.Bound < r.Value {
		t.Fatalf("%v, cost %v, %d units, clash %+v", r.Made, r.Cost, len(r.Units), r.Clash)
	}
	var here float64
	in6 := map[string]int{}
	fixed := false
	for _, s := range r.Shifts {
		in6[s.Day+s.Block] += s.People
		if s.Launch == quiet.ID {
			here += s.Hours / float64(s.People)
		}
		if s.Launch == busy.ID && s.Block == "morning" {
			if s.Day == "weekday" {
				t.Error("somebody stands where nobody was to")
			}
			fixed = true
		}
	}
	if here < 100 || !fixed {
		t.Errorf("%v hours where 100 were asked for; fixed shift there: %v", here, fixed)
	}
	for cell, n := range in6 {
		if n > 6 {
			t.Errorf("%s: %d people of 6", cell, n)
		}
	}
	if len(r.Frontier) < 3 || len(r.Frontier) > 5 || len(r.More) == 0 {
		t.Errorf("frontier %d, more %d", len(r.Frontier), len(r.More))
	}
	if said := strings.Join(r.Assumed, " "); !strings.Contains(said, "1 person, 8 craft an hour; 2 people, 15 craft an hour") || strings.Contains(said, "No teams were given") {
		t.Errorf("the teams are not among what was assumed: %s", said)
	}
	for _, m := range r.More {
		t.Log(m.Words)
		if m.Worth.Lo > m.Worth.Mid || m.Worth.Mid > m.Worth.Hi {
			t.Errorf("%+v", m)
		}
	}
}

// Where one more wash unit would go: every place without one is held against the others, with what it costs.
func TestWhereOneMoreUnitWouldGo(t *testing.T) {
	in := theInput()
	var sites []string
	for i := range 5 {
		sites = append(sites, in.Launches[7*i].ID)
	}
	wishes := plan.PlanWishes{Hours: 4000, Units: &plan.UnitWishes{Count: 1, Cost: 8000, HourCost: 20, Sites: sites}}
	r, err := (&plan.Maker{}).Make(context.Background(), in, wishes)
	if err != nil || !r.Made {
		t.Fatal(err, r)
	}
	if said := strings.Join(r.Assumed, " "); !strings.Contains(said, "1 person, 8 craft an hour.") || !strings.Contains(said, "No teams were given") {
		t.Errorf("the team that was taken is not among what was assumed: %s", said)
	}
	more := r.More[len(r.More)-1]
	t.Log(more.Words)
	if len(r.Units)+len(more.Rivals) != len(sites) || len(more.Rivals) < 4 {
		t.Fatalf("%d units and %d rivals at %d places", len(r.Units), len(more.Rivals), len(sites))
	}
	for i, v := range more.Rivals {
		if !slices.Contains(sites, v.Launch) || slices.ContainsFunc(r.Units, func(u plan.UnitPlace) bool { return u.Launch == v.Launch }) {
			t.Errorf("%s is no place for one more", v.Name)
		}
		if want := 8000 + 20*v.Hours; math.Abs(v.Cost-want) > 1e-6*want || v.PlanCost < v.Cost || (v.Hours > 0) != (len(v.Works) > 0) {
			t.Errorf("%s: %v of %v for %v hours in %v, want %v", v.Name, v.Cost, v.PlanCost, v.Hours, v.Works, want)
		}
		if v.Worth.Lo > v.Worth.Mid || v.Worth.Mid > v.Worth.Hi || i > 0 && v.Worth.Mid > more.Rivals[i-1].Worth.Mid {
			t.Errorf("%s: %+v in place %d", v.Name, v.Worth, i+1)
		}
	}
	if best := more.Rivals[0]; best.Worth.Mid <= 0 || !strings.Contains(more.Words, best.Name) || more.Rivals[1].Worth.Mid > 0 && !strings.Contains(more.Words, more.Rivals[1].Name) {
		t.Errorf("%q does not name %+v and what comes next", more.Words, best)
	}

	// The best rival's worth must be there: a plan held to that place reaches it.
	wishes.Units.Count, wishes.Units.Sites = len(r.Units)+1, []string{more.Rivals[0].Launch}
	for _, u := range r.Units {
		wishes.Units.Sites = append(wishes.Units.Sites, u.Launch)
	}
	again, err := (&plan.Maker{}).Make(context.Background(), in, wishes)
	if err != nil || again.Bound < r.Value+more.Rivals[0].Worth.Mid*(1-1e-6) {
		t.Errorf("%v: with a unit at %s no plan stops more than %v, but it was to stop %v", err, more.Rivals[0].Name, again.Bound, r.Value+more.Rivals[0].Worth.Mid)
	}
}

func TestCollidingWishesAreAnAnswer(t *testing.T) {
	in := theInput()
	r, err := (&plan.Maker{Solver: engine}).Make(context.Background(), in, plan.PlanWishes{
		Hours: 700, Minimum: []plan.PresenceWish{{Launch: in.Launches[0].ID, Hours: 400}, {Launch: in.Launches[1].ID, Hours: 400}},
	})
	if err != nil {
		t.Fatal(err)
	}
	if r.Made || r.Clash == nil || !strings.Contains(r.Clash.Words, in.Launches[0].Name) || !strings.Contains(r.Clash.Words, "at most 700 hours") {
		t.Errorf("%+v", r.Clash)
	}
}

// Lists of a plan are lists for whoever reads its JSON, empty ones too: made or not, and where the records give no warning.
func TestListsOfAPlanAreNeverNull(t *testing.T) {
	in := *theInput()
	in.Warnings = nil
	money, never := 20_000.0, []plan.PresenceWish{{Launch: in.Launches[0].ID, Hours: 400}}
	for _, w := range []plan.PlanWishes{{Money: &money}, {Hours: 100, Minimum: never}} {
		r, err := (&plan.Maker{Solver: engine}).Make(context.Background(), &in, w)
		if err != nil {
			t.Fatal(err)
		}
		text, err := json.Marshal(r)
		if err != nil {
			t.Fatal(err)
		}
		var fields map[string]any
		if err := json.Unmarshal(text, &fields); err != nil {
			t.Fatal(err)
		}
		for name, value := range fields {
			if value == nil {
				t.Errorf("%+v: %s is null", w, name)
			}
		}
	}
}

func TestWishesRefused(t *testing.T) {
	in := theInput()
	for field, w := range map[string]plan.PlanWishes{
		"policy":            {Policy: "never"},
		"blocks[0]":         {Blocks: []plan.DayBlock{{Name: "night", From: 20, To: 6}}},
		"teams[0]":          {Teams: []plan.TeamSize{{People: 0, PerHour: 8}}},
		"hours":             {Hours: -1},
		"minimum[0].launch": {Minimum: []plan.PresenceWish{{Launch: "nowhere", Hours: 1}}},
		"fixed[0].day":      {Fixed: []plan.FixedShift{{Launch: in.Launches[0].ID, Day: "Sunday", Block: "morning"}}},
		"weights.unicorn":   {Weights: map[string]float64{"unicorn": 1}},
		"units.fail":        {Units: &plan.UnitWishes{Fail: 2}},
		"frontier":          {Frontier: 1000},
		"even":              {Even: &plan.EvenShares{Share: map[string]float64{in.Launches[0].Partner: .4}, Within: .1}},
	} {
		_, err := (&plan.Maker{}).Make(context.Background(), in, w)
		var errs thwart.FieldErrors
		if !errors.As(err, &errs) || !slices.ContainsFunc(errs, func(e thwart.FieldError) bool { return e.Field == field }) {
			t.Errorf("%s: %v", field, err)
		}
	}
}

func TestSameWishesSamePlan(t *testing.T) {
	in := theInput()
	make := func() string {
		r, err := (&plan.Maker{}).Make(context.Background(), in, plan.PlanWishes{Hours: 3000, Seed: 5})
		if err != nil {
			t.Fatal(err)
		}
		return fmt.Sprintf("%v %v %+v", r.Value, r.Bound, r.Shifts)
	}
	if a, b := make(), make(); a != b {
		t.Error("another plan for the same wishes and seed")
	}
}

func TestCancelled(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := (&plan.Maker{Solver: engine}).Make(ctx, theInput(), plan.PlanWishes{Hours: 3000}); !errors.Is(err, context.Canceled) {
		t.Errorf("%v", err)
	}
}

// BenchmarkDemoFrontier: 25 points of money against risk on the demo.
func BenchmarkDemoFrontier(b *testing.B) {
	in := theInput()
	w := plan.PlanWishes{Hours: 8000}
	problem, err := in.Problem(&w)
	if err != nil {
		b.Fatal(err)
	}
	problem.Rules = slices.DeleteFunc(problem.Rules, func(r siting.Rule) bool { return r.Unit == "hours" })
	var budgets []float64
	for i := range 25 {
		budgets = append(budgets, float64(i)*12500)
	}
	for b.Loop() {
		plans, err := problem.Frontier(context.Background(), budgets, siting.Effort{}, nil)
		if err != nil {
			b.Fatal(err)
		}
		worst := 0.0
		for _, p := range plans {
			if p.Value > 0 {
				worst = math.Max(worst, p.Better())
			}
		}
		b.ReportMetric(100*worst, "%could-be-better")
	}
}

// A plan for the worst seasons is judged on the samples: never worse in them than the plan for the mean season, never better in the
// mean season than its limit.
func TestPlanForTheWorstSeasons(t *testing.T) {
	in := theInput()
	wishes := plan.PlanWishes{Hours: 2500, Seed: 3}
	mean, err := (&plan.Maker{}).Make(t.Context(), in, wishes)
	if err != nil {
		t.Fatal(err)
	}
	wishes.Robust = 0.2
	r, err := (&plan.Maker{}).Make(t.Context(), in, wishes)
	if err != nil {
		t.Fatal(err)
	}
	w := r.Robust
	if w == nil || w.Samples < 20 || w.Worst < w.WorstOfMean || w.Worst > w.Bound*(1+1e-9) || w.Worst > w.Values.Mid {
		t.Fatalf("%+v", w)
	}
	if r.Value > r.Bound*(1+1e-9) || r.Value > mean.Bound*(1+1e-9) || r.Hours > 2500 {
		t.Errorf("stops %v of at most %v in %v hours; for the mean season %v", r.Value, r.Bound, r.Hours, mean.Value)
	}
	seasons, err := in.Sample()
	if err != nil {
		t.Fatal(err)
	}
	// Samples scatter about the means that plans are made for.
	var sampled, means float64
	for k, p := range in.Pairs {
		for o, v := range p.Risk {
			means += v
			for _, s := range seasons {
				sampled += s[k][o] / float64(len(seasons))
			}
		}
	}
	if math.Abs(sampled/means-1) > 1e-6 {
		t.Errorf("sampled seasons have %v risky craft on average, the mean season %v", sampled, means)
	}
	if !slices.ContainsFunc(r.Why, func(s string) bool { return strings.Contains(s, "worst 20 %") }) {
		t.Errorf("the worst seasons are not told: %q", r.Why)
	}
}

// A shift that was decided by hand, however poor, is no reason to call a better launch poor.
func TestReasonsDoNotContradictWhatWasPinned(t *testing.T) {
	in := theInput()
	quiet := slices.MinFunc(in.Launches, func(a, b plan.Launch) int { return cmp.Compare(a.Season, b.Season) })
	r, err := (&plan.Maker{}).Make(t.Context(), in, plan.PlanWishes{Hours: 2500, Fixed: []plan.FixedShift{{Launch: quiet.ID, Day: "weekday", Block: "morning", In: true}}})
	if err != nil {
		t.Fatal(err)
	}
	busy := 0
	for _, l := range r.Left {
		if !l.BusiestOne {
			continue
		}
		busy++
		for _, s := range r.Why {
			if strings.Contains(s, "Nobody at "+l.Name+",") && strings.Contains(s, "little of what comes there is risky") && l.PerHour > l.PlanWorst {
				t.Errorf("%s: %v per 1,000 hours there, %v in the plan", s, l.PerHour, l.PlanWorst)
			}
		}
	}
	pinned := slices.IndexFunc(r.Shifts, func(s plan.PlanShift) bool { return s.Launch == quiet.ID })
	if pinned < 0 || busy == 0 {
		t.Fatalf("pinned shift %d, %d busy launches without anybody", pinned, busy)
	}
	if s := r.Shifts[pinned]; 1000*s.Stops/s.Hours >= r.Left[0].PlanWorst {
		t.Errorf("the pinned shift is not the poorest here, so nothing was tried: %+v", s)
	}
}
