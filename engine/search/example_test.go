package search_test

import (
	"fmt"

	"thwart/engine/search"
)

// Three minutes for four places, at least ten seconds each.
func ExampleAllocate() {
	places := []search.Place{
		{Name: "anchor and line", Prior: 0.4, RatePerS: 0.020, FloorS: 10},
		{Name: "drive", Prior: 0.3, RatePerS: 0.015, FloorS: 10},
		{Name: "live well", Prior: 0.2, RatePerS: 0.008, FloorS: 10},
		{Name: "hull", Prior: 0.1, RatePerS: 0.010, FloorS: 10},
	}
	plan, err := search.Allocate(places, 180)
	if err != nil {
		fmt.Println(err)
		return
	}
	for i, p := range places {
		fmt.Printf("%s: %.0f s\n", p.Name, plan.Seconds[i])
	}
	left, err := search.Residual(0.05, plan.Detection)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("finds %.0f %%; a craft at 5 %% is at %.1f %% when nothing is found\n", 100*plan.Detection, 100*left)
	// Output:
	// anchor and line: 85 s
	// drive: 75 s
	// live well: 11 s
	// hull: 10 s
	// finds 55 %; a craft at 5 % is at 2.3 % when nothing is found
}

func ExampleTooShort() {
	_, err := search.Allocate([]search.Place{
		{Name: "drive", Prior: 0.6, RatePerS: 0.02, FloorS: 90},
		{Name: "trailer", Prior: 0.4, RatePerS: 0.02, FloorS: 60},
	}, 120)
	fmt.Println(err)
	// Output: budgetS: 120 s is 30 s short; accepted: at least the 150 s that the places' floors need
}

// Ten trials with a planted object, seven finds in 340 seconds of searching.
func ExampleEstimateRate() {
	rate, err := search.EstimateRate(7, 340, 0.95)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.1f finds a minute, 95 %% limits %.1f to %.1f\n", 60*rate.Mid, 60*rate.Lo, 60*rate.Hi)
	// Output: 1.2 finds a minute, 95 % limits 0.5 to 2.5
}

func ExampleDiscreteLooks() {
	steps, err := search.DiscreteLooks([]search.Look{
		{Name: "open the hatch", Prior: 0.7, Find: 0.6, CostS: 20},
		{Name: "feel the intake", Prior: 0.3, Find: 0.5, CostS: 5},
	}, 3)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, s := range steps {
		fmt.Printf("look %d, %.0f s, %.0f %% found\n", s.Look+1, s.ElapsedS, 100*s.Detection)
	}
	// Output:
	// look 2, 5 s, 15 % found
	// look 1, 25 s, 57 % found
	// look 2, 30 s, 64 % found
}
