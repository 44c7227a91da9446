package roster_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"thwart/engine/roster"
)

// Whoever may have a place can be given it and no rule is broken; whoever may not would break one, as a check written apart sees it.
func TestChoicesAreTheHouseRules(t *testing.T) {
	var may, leave, not int
	for seed := range uint64(4) {
		p := random(seed, 2, 10)
		r, err := p.Make(t.Context(), nil, 0, nil)
		if err != nil {
			t.Fatal(err)
		}
		var places []roster.Place
		for s, n := range r.Open {
			if n > 0 {
				places = append(places, roster.Place{Shift: s, Holder: -1})
			}
		}
		for i := 0; i < len(r.Assigned); i += 3 {
			places = append(places, roster.Place{Shift: r.Assigned[i].Shift, Holder: r.Assigned[i].Person})
		}
		for _, at := range places {
			choices, err := p.Choices(r.Assigned, at)
			if err != nil {
				t.Fatal(err)
			}
			for _, c := range choices {
				given, err := p.Give(r.Assigned, at, c.Person)
				if c.May() != (err == nil) {
					t.Fatalf("seed %d, %+v to %d: may %v, given %v", seed, at, c.Person, c.May(), err)
				}
				if !c.May() {
					not++
					forced := slices.DeleteFunc(slices.Clone(r.Assigned), func(a roster.Assignment) bool { return a == roster.Assignment{Shift: at.Shift, Person: at.Holder} })
					forced = append(forced, roster.Assignment{Shift: at.Shift, Person: c.Person})
					stands := slices.Contains(r.Assigned, roster.Assignment{Shift: at.Shift, Person: c.Person})
					if !stands && broken(p, &roster.Result{Assigned: forced, Open: make([]int, len(p.Shifts))}) == nil {
						t.Errorf("seed %d, %+v: %d may not (%+v), but nothing would be broken", seed, at, c.Person, c.Against)
					}
					continue
				}
				may++
				alone := slices.ContainsFunc(c.Breaks, func(b roster.Break) bool { return len(b.Alone) > 0 })
				for _, b := range broken(p, given) {
					if !alone || !strings.HasSuffix(b, "only new people") {
						t.Errorf("seed %d, %+v to %d: %s", seed, at, c.Person, b)
					}
				}
				leave += len(c.Leaves)
				changed := len(c.Leaves)
				if at.Holder >= 0 {
					changed++
				}
				if given.Changed != changed || len(given.Assigned) != len(r.Assigned)+1-changed {
					t.Errorf("seed %d, %+v to %d: %d changed, want %d; %d assigned of %d", seed, at, c.Person, given.Changed, changed, len(given.Assigned), len(r.Assigned))
				}
			}
		}
	}
	if may == 0 || leave == 0 || not == 0 {
		t.Errorf("%d may, %d shifts are left, %d may not: too little was tried", may, leave, not)
	}
}

// Each rule keeps one person from a shift on Tuesday at launch 0, and says by how much.
func TestWhyNot(t *testing.T) {
	day := func(d int, launch int, from, to float64) roster.Shift {
		return roster.Shift{Launch: launch, Day: d, From: from, To: to, People: 1, Work: "inspect"}
	}
	p := &roster.Problem{Weekday: weekday, FreeDay: freeDay, MaxHours: 30, MaxDays: 3, Shifts: []roster.Shift{
		{Launch: 0, Day: 1, From: 8, To: 14, People: 3, Work: "inspect"},
		day(1, 1, 6, 12), day(0, 1, 14, 22), day(1, 0, 14, 22), day(2, 1, 6, 14), day(3, 1, 6, 17), day(4, 1, 6, 17), day(0, 2, 6, 11), day(3, 2, 6, 8), day(4, 2, 6, 8),
	}}
	p.People = []roster.Person{
		{Name: "holder"}, {Name: "lapsed", May: func(string, int) bool { return false }}, {Name: "away", Free: func(d int) bool { return d != 1 }}, {Name: "barred"},
		{Name: "elsewhere"}, {Name: "late"}, {Name: "long"}, {Name: "early"}, {Name: "full"}, {Name: "days"}, {Name: "new", New: true}, {Name: "free"},
	}
	who := func(name string) int {
		return slices.IndexFunc(p.People, func(q roster.Person) bool { return q.Name == name })
	}
	p.Barred = []roster.Assignment{{Shift: 0, Person: who("barred")}}
	assigned := []roster.Assignment{
		{Shift: 0, Person: who("holder")}, {Shift: 1, Person: who("elsewhere")}, {Shift: 2, Person: who("late")}, {Shift: 3, Person: who("long")},
		{Shift: 5, Person: who("full")}, {Shift: 6, Person: who("full")}, {Shift: 7, Person: who("full")},
		{Shift: 4, Person: who("days")}, {Shift: 8, Person: who("days")}, {Shift: 9, Person: who("days")},
	}
	choices, err := p.Choices(assigned, roster.Place{Shift: 0, Holder: who("holder")})
	if err != nil {
		t.Fatal(err)
	}
	want := map[string][]roster.Hindrance{
		"lapsed": {{Rule: roster.Certificate, Other: -1}}, "away": {{Rule: roster.Availability, Other: -1}}, "barred": {{Rule: roster.ByHand, Other: -1}},
		"elsewhere": {{Rule: roster.Overlap, Other: 1}}, "late": {{Rule: roster.Rest, Other: 2, Got: 10, Limit: 11}},
		"long": {{Rule: roster.LongDay, Other: 3, Got: 14, Limit: 12}},
		"full": {{Rule: roster.WeekHours, Other: -1, Got: 33, Limit: 30}, {Rule: roster.WeekDays, Other: -1, Got: 4, Limit: 3}},
		"days": {{Rule: roster.WeekDays, Other: -1, Got: 4, Limit: 3}},
		"new":  {{Rule: roster.NewAlone, Other: -1}}, "early": nil, "free": nil,
	}
	if len(choices) != len(want) {
		t.Errorf("%d choices, want %d", len(choices), len(want))
	}
	for _, c := range choices {
		name := p.People[c.Person].Name
		if !slices.Equal(c.Against, want[name]) {
			t.Errorf("%s: %+v, want %+v", name, c.Against, want[name])
		}
		leaves := map[string][]int{"elsewhere": {1}, "late": {2}, "long": {3}}[name]
		if !slices.Equal(c.Leaves, leaves) || c.May() != (len(want[name]) == 0 || leaves != nil) {
			t.Errorf("%s leaves %v, may %v", name, c.Leaves, c.May())
		}
		for i, b := range c.Breaks {
			if b.Shift != c.Leaves[i] || b.Missing != 1 || b.Alone != nil {
				t.Errorf("%s: %+v", name, b)
			}
		}
	}
	p.Fixed = []roster.Assignment{{Shift: 1, Person: who("elsewhere")}}
	choices, err = p.Choices(assigned, roster.Place{Shift: 0, Holder: -1})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range choices {
		switch p.People[c.Person].Name {
		case "elsewhere":
			if c.May() {
				t.Error("a shift that was fixed by hand is left")
			}
		case "new":
			if !c.May() {
				t.Errorf("somebody new may stand beside the holder: %+v", c.Against)
			}
		case "holder":
			if !slices.Equal(c.Against, []roster.Hindrance{{Rule: roster.There, Other: -1}}) || c.Hours != 6 {
				t.Errorf("whoever stands there: %+v", c)
			}
		}
	}
}

func TestPlacesThatAreNotThere(t *testing.T) {
	p := &roster.Problem{People: []roster.Person{{Name: "A"}, {Name: "B"}}, Shifts: []roster.Shift{{From: 6, To: 12, People: 1, Work: "inspect"}}}
	assigned := []roster.Assignment{{Shift: 0, Person: 0}}
	for at, want := range map[roster.Place]string{
		{Shift: 1, Holder: -1}: "shift 1", {Shift: 0, Holder: 1}: "person 1 is not on shift 0", {Shift: 0, Holder: -1}: "no place is open",
	} {
		if _, err := p.Choices(assigned, at); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%+v: %v", at, err)
		}
	}
	for _, to := range []int{-1, 0, 2} {
		if _, err := p.Give(assigned, roster.Place{Shift: 0, Holder: 0}, to); err == nil || !strings.Contains(err.Error(), fmt.Sprint("person ", to)) {
			t.Errorf("to %d: %v", to, err)
		}
	}
}
