package drying

import (
	"errors"
	"math"

	"thwart/engine/num"
	"thwart/unit"
)

// Dose is the drying of a plant, water flea or snail counted in kPa·h, the vapour-pressure deficit times the hours of open
// drying. Water lost, not time gone by, decides whether plant fragments live (Barnes et al. 2013, Invasive Plant Sci.
// Manage. 6:320-325), and the deficit drives the loss (Coughlan et al. 2018). That the same kPa·h kill in another climate
// is an assumption no trial has tested; hence the clock, which must be met as well.
//
// Unlike in [Mussels] the deficit is not capped.
type Dose struct {
	LastAliveKPaH float64 // the highest dose at which live material is on record; NaN where none is
	ClearKPaH     float64 // the dose that counts as dead; +Inf where no drying is known to kill the stage
	MinHours      float64 // the clock; not read when ClearKPaH is +Inf
	// MinTempC is the coldest air that counts, for dose and clock. The zero value, 0 °C, is what the evidence bears: no
	// trial dried anything frozen, and over ice the deficit is smaller than the formula says.
	MinTempC unit.Celsius
	Surface  Surface
}

// Validate refuses a dose that would clear at once, and a clock that is not known.
func (d Dose) Validate() error {
	if d.Never() {
		return d.Surface.validate()
	}
	err := errors.Join(
		num.Positive("clearing dose in kPa·h (+Inf where none clears)", d.ClearKPaH),
		num.NotNegative("shortest drying time in hours", d.MinHours),
		num.Within("coldest air that counts in °C", float64(d.MinTempC), float64(Coldest), float64(Warmest)),
		d.Surface.validate(),
	)
	if d.LastAliveKPaH > d.ClearKPaH {
		err = errors.Join(err, num.Within("dose last seen alive in kPa·h", d.LastAliveKPaH, 0, d.ClearKPaH))
	}
	return err
}

// Never reports whether no drying time clears the stage.
func (d Dose) Never() bool { return math.IsInf(d.ClearKPaH, 1) }

func (d Dose) perHour(s Spell) gauges {
	s = d.Surface.under(s)
	if !s.plausible() || s.TempC < d.MinTempC {
		return gauges{}
	}
	return gauges{s.vpdKPa(), 1}
}

func (d Dose) needed() gauges {
	if d.Never() {
		return gauges{math.Inf(1), 0}
	}
	return gauges{d.ClearKPaH * guard, d.MinHours - slackH}
}

func (Dose) restartsWhenWet() bool { return true }

// DoseState is where a dose stands against the record.
type DoseState string

// The states, worst first.
const (
	NeverClears   DoseState = "never cleared by drying"
	AliveOnRecord DoseState = "alive on record"
	NotShownDead  DoseState = "not shown dead"
	DoseCleared   DoseState = "cleared"
)

// DoseResult is the dose of the spells since the last wet one.
type DoseResult struct {
	State      DoseState
	KPaH       float64
	Hours      float64 // on the clock
	ShortKPaH  float64 // still to come; +Inf when the stage never clears
	ShortHours float64
}

// Assess says where the dose stands. Cleared takes both the dose and the clock. A dose no larger than the largest survived
// one is "alive on record"; anything between is "not shown dead", which is not a pass.
func (d Dose) Assess(spells []Spell) (DoseResult, error) {
	if err := errors.Join(d.Validate(), validateSpells(spells)); err != nil {
		return DoseResult{}, err
	}
	got, need := fill(d, spells), d.needed()
	r := DoseResult{State: NotShownDead, KPaH: got[0], Hours: got[1], ShortKPaH: math.Inf(1)}
	switch {
	case d.Never():
		r.State = NeverClears
		return r, nil
	case got.reach(need):
		r.State = DoseCleared
	case got[0] <= d.LastAliveKPaH:
		r.State = AliveOnRecord
	}
	r.ShortKPaH, r.ShortHours = max(0, d.ClearKPaH-got[0]), max(0, d.MinHours-got[1])
	return r, nil
}
