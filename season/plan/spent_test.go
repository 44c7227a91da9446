package plan_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"thwart/season/plan"
)

// workedBy sums the shifts of the latest season by hand: hours times people, and hours whoever was there.
func workedBy(t *testing.T) (steward, site float64) {
	t.Helper()
	_, book := theDemo()
	first, last, ok := book.LatestSeason()
	if !ok {
		t.Fatal("no season")
	}
	for _, s := range book.Shifts {
		if d := s.From.Day(); d < first || d > last {
			continue
		}
		if !s.To.Set {
			t.Fatal("the demo has an open shift: count it too")
		}
		h := float64(s.To.MS-s.From.MS) / 3.6e6
		steward += h * float64(len(s.People))
		site += h
	}
	return steward, site
}

// Hours left out are as many as people worked last season: a team of two counts double there, as it does in the limit.
func TestHoursLeftOutAreThoseOfEveryPerson(t *testing.T) {
	steward, site := workedBy(t)
	if steward < site+1 {
		t.Fatalf("%v hours of work in %v on site: no shift of two, so nothing is tested", steward, site)
	}
	in := theInput()
	two := []plan.TeamSize{{People: 2, PerHour: 12}}
	for name, w := range map[string]plan.PlanWishes{"one": {Seed: 1}, "two": {Seed: 1, Teams: two}} {
		r, err := (&plan.Maker{}).Make(t.Context(), in, w)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(r.Wishes.Hours-steward) > 0.5 {
			t.Errorf("%s: %v hours, worked were %v", name, r.Wishes.Hours, steward)
		}
		b := r.Budget
		if b == nil || b.From != plan.FromLastSeason || b.Hours != r.Wishes.Hours {
			t.Fatalf("%s: %+v", name, b)
		}
		var used float64
		for _, s := range r.Shifts {
			used += s.Days * float64(s.To-s.From) * float64(s.People)
		}
		if used > b.Hours+1e-6 || math.Abs(b.Hours-used-b.Unspent) > 1e-6 {
			t.Errorf("%s: %v hours used, %v of %v unspent", name, used, b.Unspent, b.Hours)
		}
		said := strings.Join(r.Why, "\n")
		if !strings.Contains(said, fmt.Sprintf("%.0f hours of work, as many as were worked last season", steward)) {
			t.Errorf("%s: the hours and where they come from are not told:\n%s", name, said)
		}
		if math.Round(b.Unspent) > 0 && (b.Why == "" || !strings.Contains(said, fmt.Sprintf("%.0f of them are unspent. %s", b.Unspent, b.Why))) {
			t.Errorf("%s: %+v, told:\n%s", name, b, said)
		}
		if b.Shortest > 0 && b.Shortest <= b.Unspent {
			t.Errorf("%s: a shift of %v hours fits in the %v that are unspent", name, b.Shortest, b.Unspent)
		}
		if w := r.Worked; w == nil || math.Abs(w.Hours-steward) > 1e-6 || w.Site > site+1e-3 || math.Abs(w.Cost-steward*r.Wishes.HourCost) > 1e-3 || !(w.Value > 0 && w.Value <= r.All) {
			t.Errorf("%s: last season is %+v", name, r.Worked)
		}
	}
	r, err := (&plan.Maker{}).Make(t.Context(), in, plan.PlanWishes{Hours: 700, Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	if r.Budget.Hours != 700 || r.Budget.From != plan.FromWishes {
		t.Errorf("%+v", r.Budget)
	}
	money := 20000.0
	if r, err = (&plan.Maker{}).Make(t.Context(), in, plan.PlanWishes{Money: &money, Seed: 1}); err != nil || r.Budget != nil {
		t.Errorf("money alone limits, and there is a budget of hours: %+v, %v", r.Budget, err)
	}
}

// An hour costs what was asked, else what the programme's record says, else the default; and the plan says which.
func TestAnHourCostsWhatTheProgrammeSays(t *testing.T) {
	_, book := theDemo()
	own := book.Programmes[0].Body.Costs
	if own.PerStewardHour == 0 || own.PerStewardHour == plan.DefaultHourCost || own.Currency == "" {
		t.Fatalf("%+v tells nothing apart", own)
	}
	silent := *theInput()
	silent.HourCost = 0
	for _, c := range []struct {
		in   *plan.Input
		ask  float64
		want float64
		from string
		says string
	}{
		{theInput(), 0, own.PerStewardHour, plan.FromProgramme, "as the programme's record has it"},
		{theInput(), 19, 19, plan.FromWishes, "as was asked"},
		{&silent, 0, plan.DefaultHourCost, plan.FromDefault, "an assumption (common practice, no source)"},
	} {
		r, err := (&plan.Maker{}).Make(t.Context(), c.in, plan.PlanWishes{Hours: 1500, HourCost: c.ask, Seed: 1})
		if err != nil {
			t.Fatal(err)
		}
		if r.Wishes.HourCost != c.want || r.HourCostFrom != c.from || r.Currency != own.Currency || math.Abs(r.Cost-c.want*r.Hours) > 1e-6 {
			t.Errorf("%s: %v hours cost %s %v at %v from %s", c.from, r.Hours, r.Currency, r.Cost, r.Wishes.HourCost, r.HourCostFrom)
		}
		words := fmt.Sprintf("costs %s %g", own.Currency, c.want)
		if !slices.ContainsFunc(r.Assumed, func(s string) bool { return strings.Contains(s, words) && strings.Contains(s, c.says) }) {
			t.Errorf("%s: %q is not told: %q", c.from, words, r.Assumed)
		}
	}
}

// The crew of a wash unit costs what was asked, else as much as its people do elsewhere; and the plan says which.
func TestACrewCostsWhatItsPeopleDo(t *testing.T) {
	few := *theInput()
	few.Launches = few.Launches[:6]
	in := &few
	const unit = 8000.0
	plenty := 1e8
	for _, c := range []struct {
		people    int
		hour, ask float64 // of one person, of the crew
		want      float64 // of the crew
		from, say string
	}{
		{1, 0, 0, in.HourCost, plan.FromPerson, "each of them as much as an hour of one person"},
		{2, 19, 0, 38, plan.FromPerson, "crew of 2 costs " + in.Currency + " 38, each of them"},
		{2, 19, 50, 50, plan.FromWishes, "as was asked"},
	} {
		r, err := (&plan.Maker{}).Make(t.Context(), in, plan.PlanWishes{
			Money: &plenty, HourCost: c.hour, Seed: 1,
			Units: &plan.UnitWishes{Count: 1, Cost: unit, HourCost: c.ask, People: c.people, Sites: []string{in.Launches[0].ID}},
		})
		if err != nil {
			t.Fatal(err)
		}
		if len(r.Units) == 0 || len(r.Units[0].Works) == 0 {
			t.Fatalf("no unit works, so nothing is tested: %+v", r.Units)
		}
		var stands float64 // hours of work of the stations; the rest is of the crew, every person counted
		for _, s := range r.Shifts {
			stands += s.Hours
		}
		want := stands*r.Wishes.HourCost + unit + (r.Hours-stands)/float64(c.people)*c.want
		if r.Wishes.Units.HourCost != c.want || r.CrewCostFrom != c.from || math.Abs(r.Cost-want) > 1e-6 {
			t.Errorf("%+v: costs %v, want %v; the crew's hour %v from %s", c, r.Cost, want, r.Wishes.Units.HourCost, r.CrewCostFrom)
		}
		if !slices.ContainsFunc(r.Assumed, func(s string) bool { return strings.Contains(s, "crew of") && strings.Contains(s, c.say) }) {
			t.Errorf("%q is not told: %q", c.say, r.Assumed)
		}
	}
	if r, err := (&plan.Maker{}).Make(t.Context(), in, plan.PlanWishes{Hours: 700, Seed: 1}); err != nil || r.CrewCostFrom != "" || slices.ContainsFunc(r.Assumed, func(s string) bool { return strings.Contains(s, "crew of") }) {
		t.Errorf("a crew is told of where no unit was asked for: %v", err)
	}
}

// Hours and money stay unspent for the same steps: a larger team in place of one, a shift with the crew that it needs, and what was
// decided against by hand are steps for both.
func TestHoursAndMoneyStayUnspentForTheSameReasons(t *testing.T) {
	in := theInput()
	var all []plan.FixedShift
	for _, l := range in.Launches {
		for _, day := range []string{"weekday", "free day"} {
			for _, block := range []string{"morning", "afternoon"} {
				all = append(all, plan.FixedShift{Launch: l.ID, Day: day, Block: block})
			}
		}
	}
	sites := []string{in.Launches[0].ID, in.Launches[5].ID}
	plenty := 1e8
	reasons := map[string]bool{}
	for name, w := range map[string]plan.PlanWishes{
		"by hand": {Hours: 1500, Fixed: all[1:]},
		"teams":   {Hours: 1500, Teams: []plan.TeamSize{{People: 1, PerHour: 2}, {People: 2, PerHour: 4}, {People: 3, PerHour: 6}}},
		"crew":    {Hours: 5000, Units: &plan.UnitWishes{Count: 1, Cost: 8000, Sites: sites}},
		"crews":   {Hours: 9000, Units: &plan.UnitWishes{Count: 2, Cost: 8000, People: 3, Sites: sites}},
		"people":  {Hours: 60000, People: 1},
	} {
		w.Money, w.Seed = &plenty, 1
		r, err := (&plan.Maker{}).Make(t.Context(), in, w)
		if err != nil {
			t.Fatal(err)
		}
		b, u := r.Budget, r.Unspent
		if math.Round(b.Unspent) == 0 || u == nil {
			continue
		}
		t.Logf("%s: %.0f unspent, at least %.0f: %s", name, b.Unspent, b.Shortest, b.Why)
		reasons[name] = true
		if b.Shortest > 0 && b.Shortest <= b.Unspent {
			t.Errorf("%s: a step of %v hours fits in the %v that are unspent", name, b.Shortest, b.Unspent)
		}
		if none := strings.Contains(b.Why, "No shift that is left"); none != (u.Steps == 0) {
			t.Errorf("%s: %q, with %d steps of which the money says %q", name, b.Why, u.Steps, u.Why)
		}
	}
	if !reasons["by hand"] || !reasons["teams"] || !reasons["crew"] {
		t.Errorf("too little was tried: %v", reasons)
	}
}
