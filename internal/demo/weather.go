package demo

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"thwart"
	"thwart/engine/num"
	"thwart/unit"
)

// Sky is the weather of the season's days and what it says of their arrivals: of all days of the demo's law, the best straight line for
// the logarithm of a day's factor is
//
//	PerDegree · (AirC − the usual air of the month) + Wet · (1 on a wet day) + a constant
//
// What is left is luck that has nothing to do with the weather.
type Sky struct {
	PerDegree float64   `json:"perDegree"` // of the logarithm of a day's factor, for 1 °C warmer
	Wet       float64   `json:"wet"`       // of the logarithm of a day's factor, on a wet day
	AirC      []float64 `json:"airC"`      // per day, over the region
	WetDay    []bool    `json:"wetDay"`
}

// The weather of the region is invented, and so is how it goes with arrivals. A month has one usual air, as it has one level of
// traffic.
const (
	wetLogOdds = -1.8 // of a day of no luck either way
	wetByLuck  = -8   // of the log odds, for 1 more of the logarithm of a day's factor
	wetCooler  = 3.0  // °C that a wet day is cooler
	warmByLuck = 6.0  // °C, for 1 more of the logarithm of a day's factor
	airSD      = 3.2  // °C, that has nothing to do with either
)

var usualAirC = map[time.Month]float64{time.May: 14, time.June: 19, time.July: 22.5, time.August: 21.5, time.September: 16}

func wetChance(luck float64) float64 { return 1 / (1 + math.Exp(-wetLogOdds-wetByLuck*luck)) }

// drawSky draws the weather of each day given the luck of its arrivals, the logarithm of its factor. The luck, and with it every craft of
// the season, stays what it was drawn to be: a warm and dry day is likelier where more craft came.
func drawSky(r *rand.Rand, months []time.Month, luck []float64) Sky {
	var s Sky
	s.PerDegree, s.Wet = skyEffects()
	for d, u := range luck {
		wet := chance(r, wetChance(u))
		air := usualAirC[months[d]] + warmByLuck*u + airSD*r.NormFloat64()
		if wet {
			air -= wetCooler
		}
		s.AirC, s.WetDay = append(s.AirC, air), append(s.WetDay, wet)
	}
	return s
}

// skyEffects works out the regression of luck on weather that the draws imply. Luck u is normal; with p the mean of the chance q(u) of
// a wet day and c the mean of u·q(u), both by the trapezoid rule, every mean square and product follows.
func skyEffects() (perDegree, wet float64) {
	var p, c float64
	const steps = 4000
	for k := range steps + 1 {
		z := 16 * (float64(k)/steps - 0.5)
		weight := math.Exp(-z*z/2) / math.Sqrt(2*math.Pi) * 16 / steps
		p += weight * wetChance(weatherSD*z)
		c += weight * weatherSD * z * wetChance(weatherSD*z)
	}
	ww := p * (1 - p)
	aw := -wetCooler*ww + warmByLuck*c
	aa := wetCooler*wetCooler*ww - 2*wetCooler*warmByLuck*c + warmByLuck*warmByLuck*weatherSD*weatherSD + airSD*airSD
	au := -wetCooler*c + warmByLuck*weatherSD*weatherSD
	det := aa*ww - aw*aw
	return (au*ww - c*aw) / det, (c*aa - au*aw) / det
}

// saidAirs are the airs that the phone has a steward choose from.
var saidAirs = []struct {
	airC  unit.Celsius
	rhPct float64
}{{5, 80}, {12, 70}, {18, 60}, {24, 55}, {30, 50}}

// What a steward says of the day's weather (invented): not every one says it, the launch has an air of its own, a wet day has dry hours,
// and a dry one a shower.
const (
	saysWeather  = 0.85
	launchAirSD  = 1.5 // °C
	wetOnWetDay  = 0.88
	wetOnADryDay = 0.05
)

// sayWeather is the weather that is written down when a shift begins, nil where it is not. It has luck of its own: nothing else of
// the season hangs on it.
func (w *World) sayWeather(p *shiftPlan) *thwart.Weather {
	r := num.Stream(w.Seed, fmt.Sprintf("said weather %d", p.n))
	sky := &w.Truth.Weather
	air := sky.AirC[p.day] + launchAirSD*r.NormFloat64()
	rain := wetOnADryDay
	if sky.WetDay[p.day] {
		rain = wetOnWetDay
	}
	wet := chance(r, rain)
	if !chance(r, saysWeather) {
		return nil
	}
	said := saidAirs[0]
	for _, a := range saidAirs {
		if math.Abs(float64(a.airC)-air) < math.Abs(float64(said.airC)-air) {
			said = a
		}
	}
	return &thwart.Weather{AirC: &said.airC, RHPct: &said.rhPct, Wet: &wet}
}
