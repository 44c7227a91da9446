package drying

import (
	"math"
	"testing"
)

func TestTestedClock(t *testing.T) {
	const source = "Branstrator et al. 2013, Limnol. Oceanogr. 58:2171-2184: no hatching after 6 h at 17 °C; margin of 2 is policy"
	eggs := restingEggs(2)
	near(t, "hours with the margin", eggs.NeedHours(), 12, 0, source)
	for _, c := range []struct {
		spells  string
		counted float64
		cleared bool
	}{
		{"12h@17C/50%", 12, true},
		{"11.9h@17C/50%", 11.9, false},
		{"12h@16.9C/50%", 0, false},
		{"4h@20C/50%;30h@10C/50%;8h@18C/60%", 12, true},
		{"40h@30C/20%", 40, true},
	} {
		got, err := eggs.Assess(readSpells(t, c.spells))
		if err != nil {
			t.Fatal(err)
		}
		near(t, c.spells, got.CountedHours, c.counted, 1e-12, source)
		if got.Cleared != c.cleared {
			t.Errorf("%s: cleared %v, want %v (%s)", c.spells, got.Cleared, c.cleared, source)
		}
	}
}

func TestTestedDamperThanTheTrial(t *testing.T) {
	trial := Tested{Hours: 6, MinTempC: 17, MaxRHPct: 50, Margin: 1}
	got, err := trial.Assess(readSpells(t, "20h@20C/51%;3h@20C/50%"))
	if err != nil {
		t.Fatal(err)
	}
	if got.CountedHours != 3 || got.IdleHours != 20 {
		t.Errorf("%v hours counted and %v idle, want 3 and 20", got.CountedHours, got.IdleHours)
	}
	trial.Surface = Surface{MinRHPct: 95}
	if got, err = trial.Assess(readSpells(t, "100h@20C/10%")); err != nil || got.CountedHours != 0 {
		t.Errorf("a surface that stays wet counted %v hours (error %v)", got.CountedHours, err)
	}
}

func TestTestedRefusals(t *testing.T) {
	for name, c := range map[string]Tested{
		"margin below 1":     {Hours: 6, MinTempC: 17, MaxRHPct: 50, Margin: 0.9},
		"no margin":          {Hours: 6, MinTempC: 17, MaxRHPct: 50},
		"no hours":           {MinTempC: 17, MaxRHPct: 50, Margin: 1},
		"humidity not known": {Hours: 6, MinTempC: 17, MaxRHPct: math.NaN(), Margin: 1},
		"temperature":        {Hours: 6, MinTempC: 170, MaxRHPct: 50, Margin: 1},
	} {
		if _, err := c.Assess(nil); err == nil {
			t.Errorf("%s: %+v was taken", name, c)
		}
	}
}
