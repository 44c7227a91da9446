package plan_test

import (
	"encoding/json"
	"slices"
	"strings"
	"testing"

	"thwart/season/plan"
)

// Money that stays unspent has its reason, whichever it is.
func TestWhyMoneyStaysUnspent(t *testing.T) {
	in := theInput()
	busy := in.Launches[0]
	for _, l := range in.Launches {
		if l.Season > busy.Season {
			busy = l
		}
	}
	plenty, little, none := 1e8, 20000.0, 60.0
	for _, c := range []struct {
		name    string
		wishes  plan.PlanWishes
		nothing bool
		want    []string
		never   []string
	}{
		{"nothing is left to gain", plan.PlanWishes{Money: &plenty}, true, []string{"Nothing is left to gain"}, []string{"cost more", "limit"}},
		{"hours", plan.PlanWishes{Money: &plenty, Hours: 1500}, false,
			[]string{"would go over the 1500 hours of work: the plan works "}, []string{"cost more", "by hand", "would still fit"}},
		{"people", plan.PlanWishes{Money: &plenty, People: 1}, false,
			[]string{"would not keep a limit: at most 1 person on duty at once"}, []string{"cost more", "hours of work", "would still fit"}},
		{"the next step costs too much", plan.PlanWishes{Money: &little}, false,
			[]string{"would cost more than the ", "; the cheapest of these is "}, []string{"hours of work", "by hand", "would still fit"}},
		{"every step costs too much", plan.PlanWishes{Money: &none}, false, []string{"would cost more than the 60 that are left", "none under these wishes stops more than "}, []string{"would still fit", "Inf"}},
		{"by hand", plan.PlanWishes{Money: &plenty, Fixed: []plan.FixedShift{{Launch: busy.ID, Day: "weekday", Block: "morning"}}}, false,
			[]string{"One single step would stop more", "It would go against what was decided by hand."}, []string{"cost more", "(fixed by hand)"}},
		{"no wash unit more", plan.PlanWishes{Money: &plenty, Units: &plan.UnitWishes{Count: 1, Cost: 8000, HourCost: 20, Sites: []string{in.Launches[0].ID, in.Launches[5].ID}}}, false,
			[]string{"would not keep a limit: at most 1 wash unit."}, []string{"cost more"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			r, err := (&plan.Maker{}).Make(t.Context(), in, c.wishes)
			if err != nil {
				t.Fatal(err)
			}
			u := r.Unspent
			if !r.Made || u == nil {
				t.Fatalf("made %v, unspent %+v of %v with %v spent", r.Made, u, *c.wishes.Money, r.Cost)
			}
			t.Log(strings.Join(u.Why, "\n"))
			if u.Money != *c.wishes.Money-r.Cost || u.Nothing != c.nothing || u.Nothing != (u.Steps == 0) {
				t.Errorf("%+v, with %v of %v spent", u, r.Cost, *c.wishes.Money)
			}
			if _, err := json.Marshal(r); err != nil {
				t.Error(err)
			}
			if said := strings.Join(r.Why, " "); strings.Contains(said, "Inf") {
				t.Error(said)
			}
			all := strings.Join(u.Why, " ")
			for _, w := range c.want {
				if !strings.Contains(all, w) {
					t.Errorf("%q is not said: %s", w, all)
				}
			}
			if i := slices.IndexFunc(c.never, func(w string) bool { return strings.Contains(all, w) }); i >= 0 {
				t.Errorf("%q is said: %s", c.never[i], all)
			}
		})
	}
}

// Where no money is given, or it is spent to the last, nothing is said of it.
func TestNothingIsSaidOfMoneyThatIsNotThere(t *testing.T) {
	in := theInput()
	r, err := (&plan.Maker{}).Make(t.Context(), in, plan.PlanWishes{Hours: 1500})
	if err != nil {
		t.Fatal(err)
	}
	if r.Unspent != nil {
		t.Errorf("no money was given: %+v", r.Unspent)
	}
	spent := r.Cost
	if r, err = (&plan.Maker{}).Make(t.Context(), in, plan.PlanWishes{Money: &spent, Hours: 1500}); err != nil {
		t.Fatal(err)
	}
	if left := spent - r.Cost; (r.Unspent != nil) != (left >= 0.5) {
		t.Errorf("%v left, told as %+v", left, r.Unspent)
	}
}
