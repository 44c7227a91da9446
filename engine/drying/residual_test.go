package drying

import (
	"math"
	"testing"

	"thwart/unit"
)

func TestResidualT100(t *testing.T) {
	for _, r := range reference(t, "residual_t100.csv") {
		printed(t, r["temp_c"]+" °C", larvae.T100Days(unit.Celsius(number(t, r["temp_c"]))), r["days"], r["source"])
	}
}

func TestResidualShare(t *testing.T) {
	for _, r := range reference(t, "residual.csv") {
		got, err := larvae.Assess(readSpells(t, r["spells"]))
		if err != nil {
			t.Fatal(err)
		}
		printed(t, r["spells"], got.Share, r["share"], r["source"])
		printed(t, r["spells"], larvae.Share(readSpells(t, r["spells"])), r["share"], r["source"])
		if got.Cleared != (r["cleared"] == "yes") {
			t.Errorf("%s: cleared %v, want %s (%s)", r["spells"], got.Cleared, r["cleared"], r["source"])
		}
	}
}

func TestResidualKeepsItsClockInRain(t *testing.T) {
	dry := []Spell{{Hours: 48, TempC: 20, RHPct: 50}, {Hours: 6, TempC: 15, RHPct: 98}}
	rain := []Spell{dry[0], dry[1]}
	rain[1].Wet = true
	if a, b := larvae.Share(dry), larvae.Share(rain); a != b || a == 0 {
		t.Errorf("share %v without rain and %v with it; larvae in a tank do not notice", a, b)
	}
}

func TestResidualRefusals(t *testing.T) {
	for name, r := range map[string]Residual{
		"intercept":  {A: math.NaN(), BPerC: 0.08, MaxC: 30},
		"slope":      {A: 4, BPerC: -0.08, MaxC: 30},
		"edges":      {A: 4, BPerC: 0.08, MinC: 30, MaxC: 10},
		"hot edge":   {A: 4, BPerC: 0.08, MaxC: 200},
		"empty line": {A: math.Inf(1)},
	} {
		if _, err := r.Assess(nil); err == nil {
			t.Errorf("%s: %+v was taken", name, r)
		}
	}
	if s := larvae.Share([]Spell{{Hours: 24, TempC: unit.Celsius(math.NaN()), RHPct: 50}}); s != 0 {
		t.Errorf("a day of unknown temperature earned %v", s)
	}
}
