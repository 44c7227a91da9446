// Package trace turns the raw readings of a temperature logger into a record that can be judged, and judges whether a
// temperature was held.
//
// Use [Clean] first: it puts readings in order, finds gaps, restarts and readings that cannot be true, and says what it
// did in notes. Then ask the [Trace]: [Trace.LongestHold] for an unbroken time at temperature, [Standard.Judge] for a
// published exposure, [Trace.Dose] for the lethal dose. [Coldest] joins several probes into one record.
//
// One rule governs every repair: it goes to the cold side. No repair lengthens a hold or raises a dose above what the
// raw readings prove, and a stretch of time about which nothing certain is known counts as cold. Whether a held
// temperature kills a given organism is the business of package lethal.
package trace

import (
	"math"

	"thwart/engine/lethal"
	"thwart/unit"
)

// Tolerances of comparison. They forgive the rounding of binary numbers and nothing else: a threshold published as
// 120 °F is 48.888... °C, so a reading of 48.88 °C is below it and one of 48.89 °C above.
const (
	toleranceK = 1e-9
	toleranceS = 1e-9
)

// NoReading stands for a reading that the logger owed and did not give, such as an empty cell. It is absolute zero,
// finite so that it can be stored and sent, and below anything a probe can read: [Clean] makes a gap of it, and code
// that skips Clean sees cold.
const NoReading unit.Celsius = -273.15

// Reading is one raw reading.
type Reading struct {
	AtS   float64      // seconds from the first reading, by the logger's clock
	TempC unit.Celsius // NoReading where the logger gave none
	Row   int          // line in the source, from 1; the order in which the logger wrote. 0: not known
}

// Point is a reading that was kept.
type Point struct {
	AtS   float64
	TempC unit.Celsius
	Gap   bool // nothing certain is known between the previous point and this one: it counts as cold
}

// Trace is a cleaned record: points in order of time, each time once. The zero value is a record of nothing, and
// proves nothing.
type Trace struct {
	Points []Point
}

// step gives the length and the colder end of the step that leads to point i. A gap has no length.
func (t Trace) step(i int) (dtS float64, lowC unit.Celsius) {
	a, b := &t.Points[i-1], &t.Points[i]
	if b.Gap {
		return 0, NoReading
	}
	return b.AtS - a.AtS, min(a.TempC, b.TempC)
}

// Hold is an unbroken stretch at temperature. Seconds is 0 when there was none.
type Hold struct {
	FromS, ToS float64
	Seconds    float64
	LowestC    unit.Celsius // lowest reading in the stretch, before the uncertainty is taken off
}

// eachHold calls yield with every hold in order of time.
func (t Trace) eachHold(target unit.Celsius, uncertaintyK float64, yield func(Hold)) {
	var h Hold
	for i := 1; i < len(t.Points); i++ {
		dt, low := t.step(i)
		if !(dt > 0) || !(lethal.Effective(low, uncertaintyK) >= target-toleranceK) {
			if h.Seconds > 0 {
				yield(h)
			}
			h = Hold{}
			continue
		}
		if h.Seconds == 0 {
			h = Hold{FromS: t.Points[i-1].AtS, LowestC: low}
		}
		h.ToS = t.Points[i].AtS
		h.Seconds = h.ToS - h.FromS
		h.LowestC = min(h.LowestC, low)
	}
	if h.Seconds > 0 {
		yield(h)
	}
}

// Holds lists every stretch through which the temperature was proven to be at or above target: each step counts at the
// colder of its ends, less the thermometer's uncertainty in kelvin. A gap ends a stretch. An uncertainty that is not
// known (negative, or not a finite number) proves nothing.
//
// Give target in its published unit, for example unit.FromFahrenheit(120), not its rounded twin.
func (t Trace) Holds(target unit.Celsius, uncertaintyK float64) []Hold {
	var all []Hold
	t.eachHold(target, uncertaintyK, func(h Hold) { all = append(all, h) })
	return all
}

// LongestHold gives the longest of [Trace.Holds], the earliest where two are equal. Two passes over a surface are two
// holds: they do not add up.
func (t Trace) LongestHold(target unit.Celsius, uncertaintyK float64) Hold {
	var longest Hold
	t.eachHold(target, uncertaintyK, func(h Hold) {
		if h.Seconds > longest.Seconds {
			longest = h
		}
	})
	return longest
}

// CumulativeS adds up the seconds of all holds. It is information: it proves a standard only where the protocol says
// that broken time counts.
func (t Trace) CumulativeS(target unit.Celsius, uncertaintyK float64) float64 {
	sum := 0.0
	t.eachHold(target, uncertaintyK, func(h Hold) { sum += h.Seconds })
	return sum
}

// Dose adds up the lethal dose of the trace by the profile, each step at its colder end less the thermometer's
// uncertainty in kelvin. Gaps earn nothing. Dose does not allocate.
func (t Trace) Dose(p lethal.Profile, uncertaintyK float64) float64 {
	// The samples go to the profile in batches, each starting with the last sample of the batch before.
	var batch [128]lethal.Sample
	dose, n := 0.0, 0
	for i, q := range t.Points {
		if n > len(batch)-2 {
			dose += p.Dose(batch[:n], 0)
			batch[0], n = batch[n-1], 1
		}
		if i > 0 && q.Gap {
			batch[n] = lethal.Sample{AtS: t.Points[i-1].AtS, TempC: NoReading}
			n++
		}
		batch[n] = lethal.Sample{AtS: q.AtS, TempC: lethal.Effective(q.TempC, uncertaintyK)}
		n++
	}
	return dose + p.Dose(batch[:n], 0)
}

// Highest gives the point with the highest temperature, the earliest where several are equal; false for an empty
// trace. Clean lowers spikes and drops what cannot be true, so a look for damage by heat belongs on the raw readings.
func (t Trace) Highest() (Point, bool) {
	if len(t.Points) == 0 {
		return Point{}, false
	}
	highest := t.Points[0]
	for _, p := range t.Points[1:] {
		if p.TempC > highest.TempC {
			highest = p
		}
	}
	return highest, true
}

// Met reports whether a hold lasts as long as a protocol's contact time. A hold of no length meets nothing, not even a
// contact time of 0, which some protocols use for "until the water leaving is at temperature".
func Met(h Hold, contactS float64) bool {
	return longEnough(h.Seconds, contactS)
}

func longEnough(seconds, contactS float64) bool {
	return seconds > 0 && contactS >= 0 && seconds >= contactS-toleranceS
}

// Standard is one line of a protocol's table: hold this temperature for that long.
type Standard struct {
	TargetC    unit.Celsius
	ContactS   float64
	Cumulative bool // the protocol says in words that broken time adds up; otherwise one unbroken hold is asked for
}

// Judgement is how a trace stands against a standard.
type Judgement struct {
	Met         bool
	Longest     Hold
	CumulativeS float64
	ShortS      float64 // seconds that were missing; 0 when met
}

// Judge holds a trace against the standard. A standard that asks for nothing (a contact time or a temperature that is
// not a finite number, or a negative time) is never met, and ShortS is then +Inf.
func (s Standard) Judge(t Trace, uncertaintyK float64) Judgement {
	j := Judgement{
		Longest:     t.LongestHold(s.TargetC, uncertaintyK),
		CumulativeS: t.CumulativeS(s.TargetC, uncertaintyK),
	}
	if !(s.ContactS >= 0) || math.IsInf(s.ContactS, 1) || math.IsNaN(float64(s.TargetC)) || math.IsInf(float64(s.TargetC), 0) {
		j.ShortS = math.Inf(1)
		return j
	}
	seconds := j.Longest.Seconds
	if s.Cumulative {
		seconds = j.CumulativeS
	}
	j.Met = longEnough(seconds, s.ContactS)
	if !j.Met {
		j.ShortS = s.ContactS - seconds
	}
	return j
}

// Coldest joins the records of several probes in one place into the coldest of them, time by time. The records must
// share their zero of time. Between its own readings a probe counts at the colder of the two. While any probe has a
// gap, has not started or has stopped, the joint record has a gap, because the missing probe might be the cold one.
// Without any trace the result is empty.
func Coldest(traces ...Trace) Trace {
	if len(traces) == 0 {
		return Trace{}
	}
	longest := 0
	for _, t := range traces {
		longest = max(longest, len(t.Points))
	}
	joint := make([]Point, 0, longest)
	next := make([]int, len(traces)) // first point of each trace that is not yet behind us
	for {
		at := math.Inf(1)
		for k, t := range traces {
			if next[k] < len(t.Points) && t.Points[next[k]].AtS < at {
				at = t.Points[next[k]].AtS
			}
		}
		if math.IsInf(at, 1) {
			return Trace{Points: joint}
		}
		p := Point{AtS: at, TempC: unit.Celsius(math.Inf(1))}
		for k, t := range traces {
			i := next[k]
			// Gap speaks of the step that ends here, so a step of this probe must cover the time before it. Written so
			// that a time which is not a number covers nothing.
			if i == 0 || i == len(t.Points) || t.Points[i].Gap || !(t.Points[i].AtS >= at) {
				p.Gap = true
			}
			switch {
			case i < len(t.Points) && t.Points[i].AtS == at:
				p.TempC = min(p.TempC, t.Points[i].TempC)
				next[k]++
			case i > 0 && i < len(t.Points):
				p.TempC = min(p.TempC, t.Points[i-1].TempC, t.Points[i].TempC)
			}
		}
		if len(joint) == 0 {
			p.Gap = false // no step leads to the first point
		}
		joint = append(joint, p)
	}
}
