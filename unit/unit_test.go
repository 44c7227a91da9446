package unit_test

import (
	"fmt"
	"math"
	"testing"

	"thwart/unit"
)

// Fixed points of the two scales and the exact factors of NIST SP 811 (2008), appendix B.
func TestConversions(t *testing.T) {
	for _, c := range []struct{ f, c float64 }{{32, 0}, {212, 100}, {140, 60}, {120, 48.888888888888886}, {-40, -40}, {98.6, 37}} {
		if got := unit.FromFahrenheit(c.f); math.Abs(float64(got)-c.c) > 1e-12 {
			t.Errorf("%g °F = %v °C, want %g", c.f, got, c.c)
		}
		if got := unit.Celsius(c.c).Fahrenheit(); math.Abs(got-c.f) > 1e-12 {
			t.Errorf("%g °C = %g °F, want %g", c.c, got, c.f)
		}
	}
	if got := unit.Celsius(0).Kelvin(); got != 273.15 {
		t.Errorf("0 °C = %g K", got)
	}
	for name, c := range map[string][2]float64{
		"US gallon in litres, 231 cubic inches": {unit.LitresPerUSGallon, 231 * 0.0254 * 0.0254 * 0.0254 * 1000},
		"foot in metres, 12 inches":             {unit.MetresPerFoot, 12 * 0.0254},
		"psi in bar, lbf over square inch":      {unit.BarPerPSI, 0.45359237 * 9.80665 / (0.0254 * 0.0254) / 1e5},
		"Btu an hour in watts":                  {unit.WattsPerBTUPerH, 1055.05585262 / 3600},
	} {
		if math.Abs(c[0]/c[1]-1) > 1e-12 {
			t.Errorf("%s: %v, want %v (NIST SP 811)", name, c[0], c[1])
		}
	}
}

func TestPrinting(t *testing.T) {
	for want, got := range map[string]string{
		"60 °C":      unit.Metric.Temp(60),
		"48.9 °C":    unit.Metric.Temp(unit.FromFahrenheit(120)),
		"120 °F":     unit.US.Temp(unit.FromFahrenheit(120)),
		"0 °C":       unit.Metric.Temp(-0.01),
		"1.8 °F":     unit.US.TempStep(1),
		"33 L":       unit.Metric.Volume(32.8),
		"8.7 gal":    unit.US.Volume(32.8),
		"0.25 L":     unit.Metric.Volume(0.25),
		"22 ft":      unit.US.Length(6.7),
		"60 psi":     unit.US.Pressure(4.136854),
		"15 L/min":   unit.Metric.Flow(15),
		"4 gal/min":  unit.US.Flow(15.14),
		"130 s":      unit.Duration(130),
		"10 min":     unit.Duration(600),
		"3 h 20 min": unit.Duration(12000),
		"12 h":       unit.Duration(43200),
		"18 days":    unit.Duration(18 * unit.SecondsPerDay),
		"never":      unit.Duration(math.Inf(1)),
		"unknown":    unit.Duration(math.NaN()),
	} {
		if got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

func TestParseSystem(t *testing.T) {
	for in, want := range map[string]unit.System{"metric": unit.Metric, "SI": unit.Metric, "": unit.Metric, " US ": unit.US} {
		if got, err := unit.ParseSystem(in); err != nil || got != want {
			t.Errorf("%q: %q, %v", in, got, err)
		}
	}
	if _, err := unit.ParseSystem("imperial"); err == nil {
		t.Error("imperial: no error")
	}
}

func ExampleSystem_Temp() {
	hot := unit.FromFahrenheit(140)
	fmt.Println(unit.Metric.Temp(hot), "is", unit.US.Temp(hot))
	// Output: 60 °C is 140 °F
}
