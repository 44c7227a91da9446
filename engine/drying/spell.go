package drying

import (
	"errors"
	"iter"
	"math"
	"time"

	"thwart/engine/air"
	"thwart/engine/num"
	"thwart/unit"
)

// Coldest and Warmest bound the air a spell may hold: colder than the coldest and hotter than the hottest surface air on
// record, -89.2 °C and 56.7 °C (World Meteorological Organization, Weather and Climate Extremes Archive; from memory). A
// reading beyond them is a fault or a missing-value code.
const (
	Coldest unit.Celsius = -90
	Warmest unit.Celsius = 60
)

// slackH is the length, 3.6 ms, below which two moments count as one. Hours cut into fractions and added again miss their
// sum by far less; no clock or rule here is finer than a second.
const slackH = 1e-6

// Spell is a stretch of steady air around a craft out of the water.
type Spell struct {
	Hours float64
	TempC unit.Celsius
	RHPct float64 // relative humidity, 0 to 100
	Wet   bool    // rain, a splash, a wash, or still wet: the drying clock starts when the spell ends
}

// Validate refuses a spell with a negative or endless length, or with air no thermometer or hygrometer shows. The errors
// are of type [*num.RangeError].
func (s Spell) Validate() error {
	if s.plausible() {
		return nil
	}
	return errors.Join(num.NotNegative("hours", s.Hours), s.validateAir())
}

func (s Spell) validateAir() error {
	return errors.Join(
		num.Within("air temperature in °C", float64(s.TempC), float64(Coldest), float64(Warmest)),
		num.Within("relative humidity in %", s.RHPct, 0, 100),
	)
}

// plausible is Validate without the words, for the inner loops.
func (s Spell) plausible() bool {
	return s.Hours >= 0 && !math.IsInf(s.Hours, 1) && s.TempC >= Coldest && s.TempC <= Warmest && s.RHPct >= 0 && s.RHPct <= 100
}

// vpdKPa is the vapour-pressure deficit, 0 in air colder than the saturation formula reaches: nothing dries there that
// this package would give credit for.
func (s Spell) vpdKPa() float64 {
	v, err := air.VPDKPa(s.TempC, s.RHPct)
	if err != nil {
		return 0
	}
	return v
}

// OrNothingDries reads a Spell nobody filled in as air in which nothing dries, 100 % humidity at 0 °C. Taken literally the
// zero value would be bone-dry air, and would count in a craft's favour.
func (s Spell) OrNothingDries() Spell {
	if s.TempC == 0 && s.RHPct == 0 {
		s.RHPct = 100
	}
	return s
}

func validateSpells(spells []Spell) error {
	for i, s := range spells {
		if err := s.Validate(); err != nil {
			return &SpellError{Index: i, Err: err}
		}
	}
	return nil
}

// Surface is what a creature clings to, as far as drying goes. The zero value is a bare surface in open air.
type Surface struct {
	// MinRHPct is the humidity next to a surface that stays wet (carpet, bunks, bilge, tubing): drier air does not reach
	// it and is counted as this humid.
	MinRHPct float64
}

func (f Surface) under(s Spell) Spell {
	s.RHPct = max(s.RHPct, f.MinRHPct) // NaN stays NaN, and earns nothing
	return s
}

func (f Surface) validate() error {
	return num.Within("humidity at the surface in %", f.MinRHPct, 0, 100)
}

// SpellsSinceWet returns the spells after the last wet one, which are all that count; the whole slice when none is wet.
// The result shares its memory with the argument.
func SpellsSinceWet(spells []Spell) []Spell {
	for i := len(spells) - 1; i >= 0; i-- {
		if spells[i].Wet {
			return spells[i+1:]
		}
	}
	return spells
}

// FreezingHours returns the longest unbroken run of hours in air colder than 0 °C since the last wet spell, for a rule
// that accepts, say, 72 consecutive hours below freezing. Air at exactly 0 °C breaks the run, and so does a spell that
// Validate refuses.
func FreezingHours(spells []Spell) float64 {
	longest, run := 0.0, 0.0
	for _, s := range SpellsSinceWet(spells) {
		if !s.freezing() {
			run = 0
			continue
		}
		run += s.Hours
		longest = max(longest, run)
	}
	return longest
}

func (s Spell) freezing() bool { return s.plausible() && !s.Wet && s.TempC < 0 }

// Weather is known air from an instant on, and what to assume before and after.
type Weather struct {
	Start  time.Time
	Spells []Spell
	// Beyond is the air assumed where nothing is known, before Start and after the last spell. Choose it cool and damp, so
	// that an unknown day never clears a craft sooner than a known one; its Hours are not used. The zero value is air in
	// which nothing dries.
	Beyond Spell
}

// Validate refuses weather with a spell that [Spell.Validate] refuses.
func (w Weather) Validate() error {
	if err := w.Beyond.OrNothingDries().validateAir(); err != nil {
		return &SpellError{Index: -1, Err: err}
	}
	return validateSpells(w.Spells)
}

// End is the instant at which the known weather ends.
func (w Weather) End() time.Time {
	var hours float64
	for _, s := range w.Spells {
		hours += s.Hours
	}
	return w.Start.Add(hoursAsDuration(hours))
}

// Between returns the spells from one instant to another, with Beyond filling what is not known; nothing when the second
// is not after the first.
func (w Weather) Between(from, to time.Time) []Spell {
	var spells []Spell
	for s := range w.walk(from, to) {
		spells = append(spells, s)
	}
	return spells
}

// walk yields the spells between two instants and whether each is known. Remainders shorter than slackH are dropped: the
// rounding of a fraction of an hour must not let the rain of the next spell in.
func (w Weather) walk(from, to time.Time) iter.Seq2[Spell, bool] {
	return func(yield func(Spell, bool) bool) {
		left := to.Sub(from).Hours()
		give := func(s Spell, known bool) bool {
			if s.Hours <= slackH {
				return true
			}
			s.Hours = min(s.Hours, left)
			left -= s.Hours
			return yield(s, known) && left > slackH
		}
		if left <= slackH {
			return
		}
		unknown := w.Beyond.OrNothingDries()
		skip := from.Sub(w.Start).Hours()
		if skip < 0 {
			unknown.Hours = -skip
			if !give(unknown, false) {
				return
			}
			skip = 0
		}
		for _, s := range w.Spells {
			if s.Hours <= skip {
				skip -= s.Hours
				continue
			}
			s.Hours -= skip
			skip = 0
			if !give(s, true) {
				return
			}
		}
		unknown.Hours = left
		give(unknown, false)
	}
}

// hoursAsDuration rounds to the nanosecond and holds at the longest Duration there is, about 292 years.
func hoursAsDuration(h float64) time.Duration {
	ns := math.Round(h * float64(time.Hour))
	if ns >= math.MaxInt64 {
		return math.MaxInt64
	}
	return time.Duration(ns)
}
