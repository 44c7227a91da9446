package cli

import (
	"math"
	"strings"
	"testing"

	"thwart/unit"
)

// Factors are exact by definition (NIST SP 811, appendix B).
func TestAmounts(t *testing.T) {
	for _, c := range []struct {
		text string
		kind kind
		want float64
	}{
		{"15", flow, 15}, {"15L/min", flow, 15}, {"4 gal/min", flow, 4 * 3.785411784}, {"4gpm", flow, 4 * 3.785411784},
		{"6.5m", length, 6.5}, {"21ft", length, 21 * 0.3048}, {"12in", length, 0.3048}, {"30cm", length, 0.3},
		{"150 L", volume, 150}, {"40gal", volume, 40 * 3.785411784}, {"45psi", pressure, 45 * 0.0689475729317831},
		{"60kW", power, 60}, {"205000BTU/h", power, 205000 * 0.2930710701722222 / 1000},
		{"130s", seconds, 130}, {"2min", seconds, 120}, {"90", seconds, 90},
	} {
		r := amounts{units: unit.Metric}
		if got := r.get(c.kind, "flag", c.text); r.err() != nil || math.Abs(got-c.want) > 1e-9 {
			t.Errorf("%q is %g (%v), want %g", c.text, got, r.err(), c.want)
		}
	}
}

func TestAmountsRefused(t *testing.T) {
	for _, c := range []struct {
		name  string
		units unit.System
		read  func(*amounts)
		says  string
	}{
		{"a bare number in US units", unit.US, func(r *amounts) { r.get(flow, "flow", "4") }, "with --units us a number with its unit"},
		{"a bare temperature in US units", unit.US, func(r *amounts) { r.temp("in", "54") }, "such as 60C or 140F"},
		{"a bare air temperature in US units", unit.US, func(r *amounts) { r.air("air", "54") }, "a temperature of air"},
		{"a bare difference in US units", unit.US, func(r *amounts) { r.step("plus-minus", "1") }, "such as 1C or 2F"},
		{"Fahrenheit without its letter", unit.Metric, func(r *amounts) { r.temp("in", "140") }, "did you mean 60 °C"},
		{"another unit", unit.Metric, func(r *amounts) { r.get(length, "length", "3 fathoms") }, "such as 6.5m or 21ft"},
		{"no number", unit.Metric, func(r *amounts) { r.get(volume, "water", "much") }, "such as 150L or 40gal"},
		{"not a number", unit.Metric, func(r *amounts) { r.get(volume, "water", "NaN") }, "such as 150L or 40gal"},
		{"below nothing", unit.Metric, func(r *amounts) { r.get(volume, "water", "-5L") }, "0 to 1e+06 L"},
		{"a difference too large", unit.Metric, func(r *amounts) { r.step("plus-minus", "40") }, "0 to 10 °C"},
		{"a share above one", unit.Metric, func(r *amounts) { r.share("efficiency", "85") }, "at most 1"},
		{"a word outside the vocabulary", unit.Metric, func(r *amounts) { word(r, "corner", "bow", []string{"port", "starboard"}) }, "port, starboard, unknown"},
		{"a space with a strange count", unit.Metric, func(r *amounts) { r.spaces("space", []string{"bilge:many"}) }, "a count from 0 to 20"},
		{"a reading without its distance", unit.Metric, func(r *amounts) { r.reading("near", "62C") }, "distance=temperature"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := amounts{units: c.units}
			c.read(&r)
			if err := r.err(); err == nil || !strings.Contains(err.Error(), c.says) {
				t.Errorf("got %v, want a message with %q", err, c.says)
			}
		})
	}
}

func TestTemperaturesOfAir(t *testing.T) {
	for text, want := range map[string]unit.Celsius{"-5C": -5, "-5": -5, "14F": -10, "65F": 18.333333333333332, "20 °C": 20} {
		r := amounts{units: unit.Metric}
		if got := r.air("air", text); got == nil || math.Abs(float64(*got-want)) > 1e-9 {
			t.Errorf("%q is %v (%v), want %v", text, got, r.err(), want)
		}
	}
}
