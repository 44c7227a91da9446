package plan_test

import (
	"errors"
	"math"
	"slices"
	"testing"

	"thwart"
	"thwart/season/flows"
	"thwart/season/plan"
)

// What a list of watched waters meets, added up pair by pair without any cut, is what the report says; nothing found by going
// through single waters is better than the first step, and no point lies above its limit.
func TestWatchedWatersAddUp(t *testing.T) {
	_, book := theDemo()
	m, err := flows.New(book, flows.Options{Seed: 1, Draws: 60})
	if err != nil {
		t.Fatal(err)
	}
	const organism = "eurasian_watermilfoil"
	r, err := plan.Watch(m, plan.WatchAsk{Organism: organism, Points: 9})
	if err != nil {
		t.Fatal(err)
	}
	own, err := plan.Watch(m, plan.WatchAsk{Organism: organism, Points: 9, HourCost: book.Programmes[0].Body.Costs.PerStewardHour})
	if err != nil {
		t.Fatal(err)
	}
	for i, x := range r.Points {
		if x.Cost != own.Points[i].Cost {
			t.Errorf("an hour's cost left out makes %v, the programme's own %v", x.Cost, own.Points[i].Cost)
		}
	}
	type pair struct {
		from, to int
		risky    float64
	}
	var pairs []pair
	c, err := m.Carried(organism, func(from, to int, _, risky float64) { pairs = append(pairs, pair{from, to, risky}) })
	if err != nil {
		t.Fatal(err)
	}
	pairs = slices.DeleteFunc(pairs, func(p pair) bool { return flows.Infested(c.Status[p.from]) == 0 || flows.Infested(c.Status[p.to]) > 0 })
	var all float64
	for i := range pairs {
		pairs[i].risky *= flows.Infested(c.Status[pairs[i].from])
		all += pairs[i].risky
	}
	if math.Abs(r.All-all) > 1e-6*all || r.Pairs == 0 {
		t.Errorf("%v risky craft, want %v", r.All, all)
	}
	met := func(watched []flows.Site) (sum float64) {
		on := func(water int) bool {
			return slices.ContainsFunc(watched, func(s flows.Site) bool { return s.ID == c.Waters[water].ID })
		}
		for _, p := range pairs {
			if on(p.from) || on(p.to) {
				sum += p.risky
			}
		}
		return sum
	}
	last := r.Points[len(r.Points)-1]
	for i, x := range r.Points {
		if got := met(x.Waters); math.Abs(got-x.Stopped) > 1e-6*all {
			t.Errorf("budget %.0f: the waters meet %v, the report says %v", x.Money, got, x.Stopped)
		}
		if x.Cost > x.Money*(1+1e-9) || x.Bound < x.Stopped || i > 0 && x.Bound < r.Points[i-1].Stopped {
			t.Errorf("%+v after %+v", x, r.Points[max(0, i-1)])
		}
		for _, w := range last.Waters { // any water of the whole that one budget can pay is a choice that the limit holds for
			if one := []flows.Site{w}; i == 1 && met(one) > x.Bound*(1+1e-9) && len(x.Waters) > 0 {
				t.Errorf("%s alone meets %v, above the limit %v", w.Name, met(one), x.Bound)
			}
		}
	}
	if last.Stopped < 0.999*all || last.Better > 1e-6 {
		t.Errorf("all the money meets %v of %v", last.Stopped, all)
	}
}

func TestWatchRefuses(t *testing.T) {
	for field, q := range map[string]plan.WatchAsk{
		"organism": {Organism: "unicorn"},
		"hoursDay": {Organism: "zebra_mussel", HoursDay: 30},
		"points":   {Organism: "zebra_mussel", Points: 1000},
	} {
		_, err := plan.Watch(nil, q)
		var errs thwart.FieldErrors
		if !errors.As(err, &errs) || errs[0].Field != field {
			t.Errorf("%s: %v", field, err)
		}
	}
}
