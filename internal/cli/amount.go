package cli

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"thwart"
	"thwart/intake"
	"thwart/unit"
)

// amounts reads the amounts of flags: a number with its unit, such as 60C, 140F, 15L/min, 4gal/min, 6.5m, 21ft. A bare
// number is metric. In US units a bare number is refused, because it could be either. All that is wrong is told at once.
type amounts struct {
	units unit.System
	errs  []string
}

// kind is a kind of amount: its units, the metric one first, with what one of them is in metric units.
type kind struct {
	names []string
	in    map[string]float64
	lo    float64
	hi    float64
	likes string // an example in both systems
}

var (
	volume   = kind{[]string{"L", "gal"}, map[string]float64{"l": 1, "gal": unit.LitresPerUSGallon}, 0, 1e6, "150L or 40gal"}
	flow     = kind{[]string{"L/min", "gal/min"}, map[string]float64{"l/min": 1, "gal/min": unit.LitresPerUSGallon, "gpm": unit.LitresPerUSGallon}, 0, 500, "15L/min or 4gal/min"}
	length   = kind{[]string{"m", "ft"}, map[string]float64{"m": 1, "cm": 0.01, "ft": unit.MetresPerFoot, "in": unit.MetresPerFoot / 12}, 0, 100, "6.5m or 21ft"}
	pressure = kind{[]string{"bar", "psi"}, map[string]float64{"bar": 1, "psi": unit.BarPerPSI}, 0, 350, "3bar or 45psi"}
	power    = kind{[]string{"kW", "BTU/h"}, map[string]float64{"kw": 1, "btu/h": unit.WattsPerBTUPerH / 1000, "btuh": unit.WattsPerBTUPerH / 1000}, 0, 1000, "60kW or 205000BTU/h"}
	seconds  = kind{[]string{"s", "min"}, map[string]float64{"s": 1, "sec": 1, "min": 60}, 0, 4 * 3600, "130s or 2min"}
)

func (r *amounts) fail(flag, text, accepted string) {
	r.errs = append(r.errs, fmt.Sprintf("--%s: %q is not accepted; accepted: %s", flag, text, accepted))
}

// get reads an amount; empty text gives 0.
func (r *amounts) get(k kind, flag, text string) float64 {
	if text == "" {
		return 0
	}
	number, name := cutUnit(text)
	v, err := strconv.ParseFloat(number, 64)
	factor, known := k.in[strings.ToLower(name)]
	isTime := k.names[0] == "s"
	switch {
	case err != nil || name != "" && !known:
		r.fail(flag, text, "an amount with its unit, such as "+k.likes)
		return 0
	case name == "" && r.units == unit.US && !isTime:
		r.fail(flag, text, "with --units us a number with its unit, such as "+k.likes)
		return 0
	case name == "":
		factor = 1
	}
	v *= factor
	if !(v >= k.lo && v <= k.hi) {
		r.fail(flag, text, fmt.Sprintf("%g to %g %s", k.lo, k.hi, k.names[0]))
		return 0
	}
	return v
}

// temp reads the temperature of water; empty text gives nil.
func (r *amounts) temp(flag, text string) *unit.Celsius {
	if text == "" {
		return nil
	}
	if _, name := cutUnit(text); name == "" && r.units == unit.US {
		r.fail(flag, text, "with --units us a temperature with its scale, such as 60C or 140F")
		return nil
	}
	c, err := intake.ParseTemp(text)
	if err != nil {
		r.errs = append(r.errs, fmt.Sprintf("--%s: %v", flag, err))
		return nil
	}
	return &c
}

// air reads the temperature of air, which may be below freezing; empty text gives nil.
func (r *amounts) air(flag, text string) *unit.Celsius {
	if text == "" {
		return nil
	}
	number, name := cutUnit(text)
	v, err := strconv.ParseFloat(number, 64)
	c := unit.Celsius(v)
	switch scale := strings.ToUpper(strings.Trim(name, "° ")); {
	case scale == "F":
		c = unit.FromFahrenheit(v)
	case scale != "" && scale != "C", scale == "" && r.units == unit.US:
		err = strconv.ErrSyntax
	}
	if err != nil || !(c >= -50 && c <= 60) {
		r.fail(flag, text, "a temperature of air from -50 to 60 °C, such as 18C or 65F")
		return nil
	}
	return &c
}

// step reads a difference of temperature, such as a thermometer's plus-minus; empty text gives nil.
func (r *amounts) step(flag, text string) *float64 {
	if text == "" {
		return nil
	}
	number, name := cutUnit(text)
	v, err := strconv.ParseFloat(number, 64)
	switch scale := strings.ToUpper(strings.Trim(name, "° ")); {
	case scale == "F":
		v /= 1.8
	case scale != "" && scale != "C", scale == "" && r.units == unit.US:
		err = strconv.ErrSyntax
	}
	if err != nil || !(v >= 0 && v <= 10) {
		r.fail(flag, text, "a difference from 0 to 10 °C, such as 1C or 2F")
		return nil
	}
	return &v
}

// need refuses a flag that was left out.
func (r *amounts) need(given bool, flag, accepted string) {
	if !given {
		r.errs = append(r.errs, fmt.Sprintf("--%s is missing; accepted: %s", flag, accepted))
	}
}

// word refuses a word that is not in a vocabulary; unknown is written as such or left out, and gives the empty word.
func word[T ~string](r *amounts, flag, text string, accepted []T) T {
	if text == "" || text == "unknown" {
		return ""
	}
	for _, w := range accepted {
		if string(w) == text {
			return w
		}
	}
	r.fail(flag, text, oneOf(accepted)+", unknown")
	return ""
}

// err gives all that was wrong with the flags.
func (r *amounts) err() error {
	if len(r.errs) == 0 {
		return nil
	}
	return usage("%s", strings.Join(r.errs, "\n"))
}

// cutUnit splits an amount into its number and its unit.
func cutUnit(text string) (number, name string) {
	text = strings.TrimSpace(text)
	i := strings.LastIndexAny(text, "0123456789.")
	return text[:i+1], strings.TrimSpace(text[i+1:])
}

// spaces reads compartments written as kind, kind:count or kind:count:volume.
func (r *amounts) spaces(flag string, list []string) []thwart.Space {
	var out []thwart.Space
	for _, text := range list {
		parts := strings.Split(text, ":")
		s := thwart.Space{Kind: word(r, flag, parts[0], thwart.SpaceKinds), Count: 1}
		if len(parts) > 1 {
			n, err := strconv.Atoi(parts[1])
			switch {
			case parts[1] == "unknown":
				n = int(thwart.CountUnknown)
			case err != nil || n < 0 || n > thwart.MaxSpaces:
				r.fail(flag, text, fmt.Sprintf("a count from 0 to %d, or unknown, after the kind, such as ballast_tank:3:500L", thwart.MaxSpaces))
			}
			s.Count = thwart.Count(n)
		}
		if len(parts) > 2 {
			s.VolumeL = math.Max(0, r.get(volume, flag, parts[2]))
		}
		if len(parts) > 3 {
			r.fail(flag, text, "kind, kind:count or kind:count:volume, such as ballast_tank:3:500L")
		}
		out = append(out, s)
	}
	return out
}
