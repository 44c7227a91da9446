package drying

import (
	"errors"
	"math"

	"thwart/engine/num"
	"thwart/unit"
)

// Tested is a drying time somebody tried, with the air it was tried in, times a margin the programme chose. Nothing is
// read between or beyond the trials: an hour cooler or damper than the trial does not count, and a hotter or drier one
// counts as an hour. The clock starts when the thing itself is dry to the touch, not when it left the water.
type Tested struct {
	Hours    float64      // the shortest tried time after which nothing lived
	MinTempC unit.Celsius // of the trial
	MaxRHPct float64      // of the trial; 100 where the trial set no limit
	Margin   float64      // 1 or more
	Surface  Surface
}

// NeedHours is the tested time with its margin.
func (t Tested) NeedHours() float64 { return t.Hours * t.Margin }

// Validate refuses a margin below 1, which would promise more than was tried.
func (t Tested) Validate() error {
	return errors.Join(
		num.Positive("tested drying time in hours", t.Hours),
		num.Within("temperature of the trial in °C", float64(t.MinTempC), float64(Coldest), float64(Warmest)),
		num.Within("humidity of the trial in % (100 where it set no limit)", t.MaxRHPct, 0, 100),
		num.Within("margin on the tested time", t.Margin, 1, math.MaxFloat64),
		t.Surface.validate(),
	)
}

func (t Tested) perHour(s Spell) gauges {
	s = t.Surface.under(s)
	if !s.plausible() || s.TempC < t.MinTempC || s.RHPct > t.MaxRHPct {
		return gauges{}
	}
	return gauges{1}
}

func (t Tested) needed() gauges      { return gauges{t.NeedHours() - slackH} }
func (Tested) restartsWhenWet() bool { return true }

// TestedResult is the clock of a tested drying time since the last wet spell.
type TestedResult struct {
	CountedHours float64
	NeedHours    float64
	IdleHours    float64 // dry, but cooler or damper than the trial
	Cleared      bool
}

// Assess says how far the clock has run.
func (t Tested) Assess(spells []Spell) (TestedResult, error) {
	if err := errors.Join(t.Validate(), validateSpells(spells)); err != nil {
		return TestedResult{}, err
	}
	counted := fill(t, spells)
	r := TestedResult{CountedHours: counted[0], NeedHours: t.NeedHours(), Cleared: counted.reach(t.needed())}
	for _, s := range SpellsSinceWet(spells) {
		if t.perHour(s)[0] == 0 {
			r.IdleHours += s.Hours
		}
	}
	return r, nil
}
