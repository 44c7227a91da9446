package drying_test

import (
	"fmt"
	"time"

	"thwart/engine/drying"
)

// Fishing line was dry to the touch at ten. A trial found no egg of the spiny water flea alive after 6 h dry at 17 °C
// (Branstrator et al. 2013); the programme asks for twice that. It rained from noon to one.
func ExampleEarliestClear() {
	dry := time.Date(2026, time.July, 4, 10, 0, 0, 0, time.UTC)
	eggs := drying.Tested{Hours: 6, MinTempC: 17, MaxRHPct: 100, Margin: 2}
	weather := drying.Weather{
		Start: dry,
		Spells: []drying.Spell{
			{Hours: 2, TempC: 21, RHPct: 55},
			{Hours: 1, TempC: 18, RHPct: 95, Wet: true},
			{Hours: 30, TempC: 22, RHPct: 50},
		},
		Beyond: drying.Spell{TempC: 10, RHPct: 90},
	}
	c, err := drying.EarliestClear(dry, weather, dry.AddDate(0, 0, 14), eggs)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(c.State, c.At.Format("Mon 15:04"), "counted from", c.CountedFrom.Format("15:04"))
	// Output: clears Sun 01:00 counted from 13:00
}

// Large mussels on an open hull, by the fit to Ricciardi et al. 1995 and others.
func ExampleMussels_Assess() {
	evidence := drying.Evidence{RefTempC: 20, RefRHPct: 50, MinTempC: 5, MaxTempC: 30, MinVPDKPa: 0.02, MaxVPDKPa: 1.4}
	m := drying.Mussels{
		Central:  drying.WeibullSet{Name: "central", LambdaD: 3.8, BTPerC: 0.059, BV: 0.25, Shape: 3.25, AgeForClear: 1.8124, Evidence: evidence},
		Cautious: drying.WeibullSet{Name: "cautious", LambdaD: 4.2, BTPerC: 0.1, BV: 0.15, Shape: 2, AgeForClear: 2.6283, Evidence: evidence},
	}
	r, err := m.Assess([]drying.Spell{{Hours: 7 * 24, TempC: 20, RHPct: 50}})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("alive: %.2f %% (%.1f %% by the %s fit), cleared: %v\n", 100*r.Survival.Mid, 100*r.Survival.Hi, r.Decides, r.Cleared)
	// Output: alive: 0.07 % (6.2 % by the cautious fit), cleared: false
}

// Six days at 20 °C and 50 % meet both the dose and the clock of a plant (Mohit et al. 2023); hot dry air meets the dose in
// three and must wait for the clock.
func ExampleDose_Assess() {
	plant := drying.Dose{LastAliveKPaH: 67.3, ClearKPaH: 168, MinHours: 144}
	for _, s := range []drying.Spell{{Hours: 144, TempC: 20, RHPct: 50}, {Hours: 72, TempC: 30, RHPct: 30}} {
		r, err := plant.Assess([]drying.Spell{s})
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Printf("%.0f kPa·h in %.0f h: %s\n", r.KPaH, r.Hours, r.State)
	}
	// Output:
	// 168 kPa·h in 144 h: cleared
	// 214 kPa·h in 72 h: not shown dead
}

// A table by month: seven days in summer, eighteen in spring and autumn. A wait that begins in August and runs into
// September takes eighteen.
func ExampleEarliest() {
	table := []drying.Rule{
		{Profile: "lake table", Days: 7, Months: []time.Month{time.June, time.July, time.August}},
		{Profile: "lake table", Days: 18, Months: []time.Month{time.April, time.May, time.September, time.October}},
	}
	start := drying.Start{At: time.Date(2026, time.August, 28, 0, 0, 0, 0, time.UTC), DateOnly: true}
	r, err := drying.Earliest(table, start, drying.Site{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(r.State, r.At.Format(time.DateOnly))
	fmt.Println(r.Why)
	// Output:
	// from 2026-09-15
	// The rule asks 18 days from the start of its clock. The wait touches August and September, and the strictest of these counts.
}

func ExampleFreezingHours() {
	night := drying.Spell{Hours: 14, TempC: -4, RHPct: 85}
	noon := drying.Spell{Hours: 2, TempC: 1, RHPct: 70}
	fmt.Println(drying.FreezingHours([]drying.Spell{night, noon, night, night}))
	// Output: 28
}
