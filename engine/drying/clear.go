package drying

import (
	"errors"
	"fmt"
	"iter"
	"math"
	"time"
)

// Model is one of [Mussels], [Dose], [Residual] and [Tested]: a rule that fills one or two gauges at a steady rate while
// the air is steady, and clears when all are full.
type Model interface {
	// Validate refuses parameters that would make drying go backwards or clear at once.
	Validate() error

	perHour(Spell) gauges // what one hour of this air adds; zero for air that is not plausible
	needed() gauges       // full
	restartsWhenWet() bool
}

// gauges are the levels, rates or limits of a model. One that a model does not use stays at 0, and so does its limit.
type gauges [2]float64

// guard lifts the limits that rest on exp and pow by a part in a thousand million. Processors may differ in the last bits;
// the craft that is truly short of its limit then clears on none of them. Limits on the clock need no guard: they have
// slackH the other way, since hours cut up and added again must still make the whole.
const guard = 1 + 1e-9

func (g gauges) plus(rate gauges, hours float64) gauges {
	return gauges{g[0] + earned(rate[0], hours), g[1] + earned(rate[1], hours)}
}

// earned keeps a refused length (NaN, endless or negative) from earning anything.
func earned(rate, hours float64) float64 {
	if rate > 0 && hours > 0 {
		return rate * hours
	}
	return 0
}

func (g gauges) reach(need gauges) bool { return g[0] >= need[0] && g[1] >= need[1] }

// hoursLeft is how long steady air needs to fill both gauges.
func (g gauges) hoursLeft(need, rate gauges) float64 {
	var h float64
	for i := range g {
		if g[i] < need[i] {
			h = max(h, (need[i]-g[i])/rate[i]) // +Inf at rate 0
		}
	}
	return h
}

func fill(m Model, spells []Spell) gauges {
	if m.restartsWhenWet() {
		spells = SpellsSinceWet(spells)
	}
	var g gauges
	for _, s := range spells {
		g = g.plus(m.perHour(s), s.Hours)
	}
	return g
}

// HoursToClear returns the hours from the start of the forecast to the first moment at which the model clears, exact
// within a spell. It is +Inf when the forecast ends before, and when the stage never clears.
func HoursToClear(m Model, forecast []Spell) (float64, error) {
	if err := errors.Join(m.Validate(), validateSpells(forecast)); err != nil {
		return math.NaN(), err
	}
	all := func(yield func(Spell, bool) bool) {
		for _, s := range forecast {
			if !yield(s, true) {
				return
			}
		}
	}
	c := firstClear(all, []Model{m}, func(h float64) float64 { return h })
	return c.hours, nil
}

// ClearState says whether a clearing time was found.
type ClearState string

// The states of a [Clearing].
const (
	ClearsAt      ClearState = "clears"
	BeyondHorizon ClearState = "not within the horizon"
	NeverByDrying ClearState = "never by drying"
)

// Clearing is the earliest instant at which drying clears a craft, and what it rests on.
type Clearing struct {
	State   ClearState
	At      time.Time // set only when State is ClearsAt; in the location of the start
	Horizon time.Time // how far ahead was looked
	Hours   float64   // from the start to At; +Inf when there is none
	// CountedFrom is the instant from which the counting hours run: the start, or the end of the last wet spell.
	CountedFrom time.Time
	Wettings    int     // wet spells between the start and At, or the horizon
	AssumedH    float64 // hours of the wait, or of the way to the horizon, whose weather was not known
	Last        int     // the model that clears last, or is furthest from it, as its place in the argument list
}

// EarliestClear walks the weather from start and returns the first instant at which every model clears at once. The
// instant is rounded up to a whole second after the start. Looking ends at the horizon; a craft that has not cleared by
// then has no clearing time.
//
// A start that is the zero Time is [ErrNotStarted]: a craft that is still wet has no clearing time at all.
func EarliestClear(start time.Time, w Weather, horizon time.Time, models ...Model) (Clearing, error) {
	if start.IsZero() {
		return Clearing{}, ErrNotStarted
	}
	if horizon.Before(start) {
		return Clearing{}, fmt.Errorf("horizon: %v is before the start; accepted: %v or later", horizon.Format(time.RFC3339), start.Format(time.RFC3339))
	}
	if len(models) == 0 {
		return Clearing{}, errors.New("drying models: none given; accepted: one or more")
	}
	if err := w.Validate(); err != nil {
		return Clearing{}, err
	}
	for _, m := range models {
		if err := m.Validate(); err != nil {
			return Clearing{}, err
		}
	}
	if whole := start.Truncate(time.Second); !whole.Equal(start) {
		start = whole.Add(time.Second)
	}
	c := firstClear(w.walk(start, horizon), models, wholeSeconds)
	r := Clearing{
		State: BeyondHorizon, Horizon: horizon, Hours: c.hours, CountedFrom: start.Add(hoursAsDuration(c.countedFrom)),
		Wettings: c.wettings, AssumedH: c.assumed, Last: c.last,
	}
	switch {
	case !math.IsInf(c.hours, 1):
		r.State, r.At = ClearsAt, start.Add(hoursAsDuration(c.hours))
	case c.never:
		r.State = NeverByDrying
	}
	return r, nil
}

func wholeSeconds(h float64) float64 { return math.Ceil(h*3600) / 3600 }

type crossing struct {
	hours       float64 // +Inf: none
	countedFrom float64
	wettings    int
	assumed     float64
	last        int
	never       bool
}

// firstClear finds the first hour, rounded up by roundUp, at which all models are full together. A moment that rounds
// into the next spell is left to that spell, which may be wet.
func firstClear(spells iter.Seq2[Spell, bool], models []Model, roundUp func(hours float64) float64) crossing {
	c := crossing{hours: math.Inf(1)}
	levels, rates := make([]gauges, len(models)), make([]gauges, len(models))
	for i, m := range models {
		if math.IsInf(m.needed()[0], 1) {
			c.never, c.last = true, i
			return c
		}
	}
	var elapsed float64
	for s, known := range spells {
		end := elapsed + s.Hours
		wait, restarted := -1.0, false
		for i, m := range models {
			if s.Wet && m.restartsWhenWet() {
				levels[i], rates[i] = gauges{}, gauges{}
				restarted = true
			} else {
				rates[i] = m.perHour(s)
			}
			if h := levels[i].hoursLeft(m.needed(), rates[i]); h > wait {
				wait, c.last = h, i
			}
		}
		if restarted {
			c.wettings++
			c.countedFrom = end
		}
		if at := roundUp(elapsed + wait); at <= end+slackH {
			c.hours = at
			if !known {
				c.assumed += at - elapsed
			}
			return c
		}
		for i := range levels {
			levels[i] = levels[i].plus(rates[i], s.Hours)
		}
		if !known {
			c.assumed += s.Hours
		}
		elapsed = end
	}
	return c
}
