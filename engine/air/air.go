// Package air gives the moisture of air: how much water vapour it can hold, how far from that it is, and when it dews.
// Drying is paced by the vapour-pressure deficit, so start with [VPDKPa].
//
// Three published forms of the saturation pressure over liquid water are kept apart on purpose, because published drying
// models were fitted with one of them in particular: use the form the model was made with. [SaturationKPa] is the one of
// crop science and of [VPDKPa]; [SaturationWMOKPa] is the meteorologists', and [DewPoint] inverts it;
// [SaturationBuckKPa] is the closest of the three to the international standard for water (IAPWS). Between 10 and 40 °C
// they stay below that standard by up to this much:
//
//	SaturationKPa      0.15 %
//	SaturationWMOKPa   0.35 %
//	SaturationBuckKPa  0.05 %
//
// All three are for a surface of liquid water, below 0 °C too. Over ice the pressure is lower (by nearly a tenth at
// -10 °C), so below freezing a deficit from here makes drying look faster than it is.
package air

import (
	"errors"
	"fmt"
	"math"

	"thwart/engine/num"
	"thwart/unit"
)

// Coldest and Warmest bound the temperatures this package answers for: the range the World Meteorological Organization
// states for its formula over water (WMO No. 8, Annex 4.B; from memory). The other two formulas are held to it as well.
const (
	Coldest unit.Celsius = -45
	Warmest unit.Celsius = 60
)

// SaturationKPa returns the saturation vapour pressure in kPa over water at t, in Tetens' form with the coefficients of
// FAO-56 (Allen, Pereira, Raes & Smith 1998, FAO Irrigation and Drainage Paper 56, eq. 11):
//
//	e = 0.6108 exp(17.27 t / (t + 237.3))
//
// NaN outside [Coldest] to [Warmest].
func SaturationKPa(t unit.Celsius) float64 { return magnus(t, 0.6108, 17.27, 237.3) }

// The Magnus coefficients of WMO No. 8, Guide to Instruments and Methods of Observation, Annex 4.B (from memory), with
// the pressure in kPa.
const wmoKPa, wmoFactor, wmoOffset = 0.6112, 17.62, 243.12

// SaturationWMOKPa returns the saturation vapour pressure in kPa over water at t by the formula of WMO No. 8, Annex 4.B:
//
//	e = 0.6112 exp(17.62 t / (243.12 + t))
//
// NaN outside [Coldest] to [Warmest].
func SaturationWMOKPa(t unit.Celsius) float64 { return magnus(t, wmoKPa, wmoFactor, wmoOffset) }

// SaturationBuckKPa returns the saturation vapour pressure in kPa over water at t by Buck's equation of 1996 (Buck
// Research CR-1A manual; the 1981 form is in J. Appl. Meteorol. 20:1527-1532):
//
//	e = 0.61121 exp((18.678 - t/234.5) t / (257.14 + t))
//
// NaN outside [Coldest] to [Warmest].
func SaturationBuckKPa(t unit.Celsius) float64 {
	return magnus(t, 0.61121, 18.678-float64(t)/234.5, 257.14)
}

func magnus(t unit.Celsius, atZeroKPa, factor, offset float64) float64 {
	if !(t >= Coldest && t <= Warmest) {
		return math.NaN()
	}
	return atZeroKPa * math.Exp(factor*float64(t)/(offset+float64(t)))
}

// VPDKPa returns the vapour-pressure deficit in kPa of air at temperature t and relative humidity rhPct: what is missing
// to saturation, by [SaturationKPa]. Nothing is clamped; a model that gives no credit for very dry air does that itself.
//
// A temperature outside [Coldest] to [Warmest] or a humidity outside 0 to 100 % is refused with a [*num.RangeError].
func VPDKPa(t unit.Celsius, rhPct float64) (float64, error) {
	if err := check(t, rhPct); err != nil {
		return math.NaN(), err
	}
	return SaturationKPa(t) * (1 - rhPct/100), nil
}

// DewPoint returns the temperature at which air of temperature t and relative humidity rhPct begins to dew, by inverting
// [SaturationWMOKPa]. A surface colder than this gets wet, whatever the drying clock says.
//
// Inputs are refused as in [VPDKPa]; so is air so dry that its dew point lies below [Coldest].
func DewPoint(t unit.Celsius, rhPct float64) (unit.Celsius, error) {
	if err := check(t, rhPct); err != nil {
		return unit.Celsius(math.NaN()), err
	}
	log := math.Log(SaturationWMOKPa(t) / wmoKPa * rhPct / 100)
	dew := unit.Celsius(wmoOffset * log / (wmoFactor - log))
	// Perfectly dry air gives log = -Inf and dew = NaN.
	if !(dew >= Coldest) {
		driest := 100 * SaturationWMOKPa(Coldest) / SaturationWMOKPa(t)
		return unit.Celsius(math.NaN()), &num.RangeError{
			Field: "rhPct", Value: rhPct,
			Accepted: fmt.Sprintf("%.2g or more at %v °C, for a dew point of %v °C or above", driest, float64(t), float64(Coldest)),
		}
	}
	return dew, nil
}

func check(t unit.Celsius, rhPct float64) error {
	return errors.Join(
		num.Within("air temperature in °C", float64(t), float64(Coldest), float64(Warmest)),
		num.Within("rhPct", rhPct, 0, 100),
	)
}
