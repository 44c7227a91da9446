// Package unit holds the quantities Thwart computes with and the words it prints them in.
//
// Inside the program everything is SI or a named metric unit (degrees Celsius, seconds, litres, metres, bar), with the
// unit in the name of the field or in its type. Temperature has a type of its own, because reading one scale for the
// other scalds people or lets mussels live. People choose a [System] only for what they see.
package unit

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"thwart/tongue"
)

// Celsius is a temperature in degrees Celsius.
type Celsius float64

// FromFahrenheit converts a Fahrenheit reading: C = (F - 32) / 1.8, exact by definition.
func FromFahrenheit(f float64) Celsius { return Celsius((f - 32) / 1.8) }

// Fahrenheit gives the same temperature on the Fahrenheit scale.
func (c Celsius) Fahrenheit() float64 { return float64(c)*1.8 + 32 }

// Kelvin gives the same temperature on the thermodynamic scale.
func (c Celsius) Kelvin() float64 { return float64(c) + 273.15 }

// Conversion factors. Each is exact by definition: the international yard and pound agreement of 1959 fixes the foot,
// NIST SP 811 (2008) appendix B lists the rest.
const (
	LitresPerUSGallon = 3.785411784
	MetresPerFoot     = 0.3048
	BarPerPSI         = 0.06894757293168361
	WattsPerBTUPerH   = 0.2930710701722222
	SecondsPerDay     = 86400.0
)

// System is the household of units a person reads in.
type System string

// The two systems. Everything is stored and computed in metric units, whichever is shown.
const (
	Metric System = "metric"
	US     System = "us"
)

// ParseSystem reads a system's name.
func ParseSystem(s string) (System, error) {
	switch System(strings.ToLower(strings.TrimSpace(s))) {
	case Metric, "si", "":
		return Metric, nil
	case US:
		return US, nil
	}
	return "", fmt.Errorf("units: %q is not a system of units; accepted: metric, us", s)
}

// Temp prints a temperature, with at most one decimal.
func (s System) Temp(c Celsius) string {
	if s == US {
		return tongue.Say("{n} °F", number(c.Fahrenheit(), 1))
	}
	return tongue.Say("{n} °C", number(float64(c), 1))
}

// TempStep prints a difference of temperature.
func (s System) TempStep(k float64) string {
	if s == US {
		return tongue.Say("{n} °F", number(k*1.8, 1))
	}
	return tongue.Say("{n} °C", number(k, 1))
}

// Volume prints litres or US gallons.
func (s System) Volume(l float64) string {
	if s == US {
		return tongue.Say("{n} gal", sensible(l/LitresPerUSGallon))
	}
	return tongue.Say("{n} L", sensible(l))
}

// Length prints metres or feet.
func (s System) Length(m float64) string {
	if s == US {
		return tongue.Say("{n} ft", sensible(m/MetresPerFoot))
	}
	return tongue.Say("{n} m", sensible(m))
}

// Pressure prints bar or pounds per square inch.
func (s System) Pressure(bar float64) string {
	if s == US {
		return tongue.Say("{n} psi", number(bar/BarPerPSI, 0))
	}
	return tongue.Say("{n} bar", sensible(bar))
}

// Flow prints litres or US gallons a minute.
func (s System) Flow(lPerMin float64) string {
	if s == US {
		return tongue.Say("{n} gal/min", number(lPerMin/LitresPerUSGallon, 1))
	}
	return tongue.Say("{n} L/min", number(lPerMin, 1))
}

// Duration prints seconds the way a person at a ramp says them: 45 s, 12 min, 3 h 20 min, 18 days.
func Duration(s float64) string {
	switch {
	case math.IsInf(s, 1):
		return tongue.Say("never")
	case math.IsNaN(s) || s < 0:
		return tongue.Say("unknown")
	case s < 180:
		return tongue.Say("{n} s", number(s, 0))
	case s < 2*3600:
		return tongue.Say("{n} min", number(s/60, 0))
	case s < 48*3600:
		minutes := math.Round(s / 60)
		h, m := int(minutes)/60, int(minutes)%60
		if m == 0 {
			return tongue.Say("{n} h", strconv.Itoa(h))
		}
		return tongue.Say("{h} h {m} min", strconv.Itoa(h), strconv.Itoa(m))
	}
	return tongue.Say("{n} days", number(s/SecondsPerDay, 1))
}

// number prints with at most d decimals and no trailing zeros.
func number(v float64, d int) string {
	s := strconv.FormatFloat(v, 'f', d, 64)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if s == "-0" {
		return "0"
	}
	return tongue.Decimal(s)
}

// sensible keeps about two or three figures, as a person would say the amount.
func sensible(v float64) string {
	switch a := math.Abs(v); {
	case a >= 100:
		return number(v, 0)
	case a >= 10:
		return number(v, 0)
	case a >= 1:
		return number(v, 1)
	}
	return number(v, 2)
}
