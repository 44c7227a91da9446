package drying

import (
	"errors"
	"math"

	"thwart/engine/num"
	"thwart/unit"
)

// Residual is how long larvae live in water left aboard, by its temperature:
//
//	T100 = exp(A - BPerC · min(max(T, MinC), MaxC))    days to the last one seen alive
//	R    = Σ Δt / T100(T)                              share of that time gone by; R ≥ 1 clears
//
// Humidity plays no part, and rain starts nothing again, since the larvae were in water all along; taking on new water
// does, and is the caller's to notice. Use the water's temperature where somebody measured it: water in a hull lags behind
// warm air. How many live on before T100 is not known.
type Residual struct {
	A          float64
	BPerC      float64
	MinC, MaxC unit.Celsius // edges of the evidence; colder and hotter water count as these
}

// Validate refuses a line that falls the wrong way.
func (r Residual) Validate() error {
	return errors.Join(
		num.Finite("intercept of larval survival", r.A),
		num.NotNegative("slope of larval survival per °C", r.BPerC),
		num.Within("coldest water in °C", float64(r.MinC), float64(Coldest), float64(Warmest)),
		num.Within("hottest water in °C", float64(r.MaxC), float64(r.MinC), float64(Warmest)),
	)
}

// T100Days returns the days after which no larva is left alive in water at t; NaN for NaN.
func (r Residual) T100Days(t unit.Celsius) float64 {
	return math.Exp(r.A - r.BPerC*float64(min(max(t, r.MinC), r.MaxC)))
}

// Share returns R over the spells. A spell that Validate refuses adds nothing.
func (r Residual) Share(spells []Spell) float64 { return fill(r, spells)[0] }

func (r Residual) perHour(s Spell) gauges {
	if !s.plausible() {
		return gauges{}
	}
	return gauges{1 / (24 * r.T100Days(s.TempC))}
}

func (Residual) needed() gauges        { return gauges{guard} }
func (Residual) restartsWhenWet() bool { return false }

// ResidualResult is the share R and whether it clears.
type ResidualResult struct {
	Share   float64
	Cleared bool
}

// Assess says how much of the larvae's longest life has gone by.
func (r Residual) Assess(spells []Spell) (ResidualResult, error) {
	if err := errors.Join(r.Validate(), validateSpells(spells)); err != nil {
		return ResidualResult{}, err
	}
	share := fill(r, spells)
	return ResidualResult{Share: share[0], Cleared: share.reach(r.needed())}, nil
}
