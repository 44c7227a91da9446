package heat

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"thwart/engine/num"
	"thwart/internal/refcheck"
	"thwart/unit"
)

func TestSprayCurve(t *testing.T) {
	// Excess over the air 40 K at 0.1 m and 20 K at 0.3 m: half in 0.2 m, so L = 0.2/ln 2, and 20·√2 K half way.
	c := refcheck.Must[SprayCurve](t)(CalibrateSpray(SprayReading{0.1, 60, 0}, SprayReading{0.3, 40, 0}, 20))
	const source = "halving of the excess over 0.2 m, by hand"
	refcheck.Near(t, "L", c.LengthM(), 0.2/math.Ln2, 1e-12, source)
	for _, r := range []struct{ d, want float64 }{{0, 60}, {0.05, 60}, {0.1, 60}, {0.2, 20 + 20*math.Sqrt2}, {0.3, 40}} {
		got := refcheck.Must[num.Interval](t)(c.At(r.d))
		refcheck.Near(t, fmt.Sprintf("at %v m", r.d), got.Mid, r.want, 1e-9, source)
		refcheck.Near(t, "width without uncertainty", got.Hi-got.Lo, 0, 1e-9, "perfect gauges")
	}
	// The stated equation, between the points.
	t0 := 20 + 40*math.Exp(0.1/c.LengthM())
	for d := 0.1; d <= 0.3; d += 0.025 {
		got := refcheck.Must[num.Interval](t)(c.At(d))
		refcheck.Near(t, "equation", got.Mid, 20+(t0-20)*math.Exp(-d/c.LengthM()), 1e-9, "T = Tair + (T0 - Tair) exp(-d/L)")
	}
	refcheck.Near(t, "nozzle for 40 °C at 0.3 m", refcheck.Must[num.Interval](t)(c.NozzleFor(40, 0.3)).Mid, t0, 1e-9, "same curve")
}

func TestSprayIsNotExtrapolated(t *testing.T) {
	c := refcheck.Must[SprayCurve](t)(CalibrateSpray(SprayReading{0.1, 60, 1}, SprayReading{0.3, 45, 1}, 15))
	var beyond *BeyondReadings
	if _, err := c.At(0.301); !errors.As(err, &beyond) || beyond.FarthestM != 0.3 {
		t.Errorf("beyond the far point: %v", err)
	}
	if _, err := c.NozzleFor(40, 0.31); !errors.As(err, &beyond) {
		t.Errorf("nozzle for beyond the far point: %v", err)
	}
	_, err := c.At(-0.1)
	refusesField(t, err, "distanceM")
	_, err = c.NozzleFor(90, 0.3)
	refusesField(t, err, "distanceM")
	_, err = c.NozzleFor(10, 0.2)
	refusesField(t, err, "target in °C")
}

// Every pair of true temperatures that the gauges allow must give a curve inside the stated limits, and the limits must
// be reached.
func TestSprayUncertainty(t *testing.T) {
	first, second := SprayReading{0.1, 62, 1.5}, SprayReading{0.4, 48, 0.8}
	const air = 12
	c := refcheck.Must[SprayCurve](t)(CalibrateSpray(first, second, air))
	for d := 0.0; d <= 0.4; d += 0.05 {
		got := refcheck.Must[num.Interval](t)(c.At(d))
		lo, hi := math.Inf(1), math.Inf(-1)
		nozzleHi := math.Inf(-1)
		for i := -4; i <= 4; i++ {
			for j := -4; j <= 4; j++ {
				a := SprayReading{0.1, first.Temp + unit.Celsius(1.5*float64(i)/4), 0}
				b := SprayReading{0.4, second.Temp + unit.Celsius(0.8*float64(j)/4), 0}
				one := refcheck.Must[SprayCurve](t)(CalibrateSpray(a, b, air))
				v := refcheck.Must[num.Interval](t)(one.At(d)).Mid
				lo, hi = math.Min(lo, v), math.Max(hi, v)
				nozzleHi = math.Max(nozzleHi, refcheck.Must[num.Interval](t)(one.NozzleFor(45, d)).Mid)
			}
		}
		const source = "81 pairs of true temperatures within the gauges' limits"
		refcheck.Near(t, fmt.Sprintf("lowest at %v m", d), got.Lo, lo, 1e-9, source)
		refcheck.Near(t, fmt.Sprintf("highest at %v m", d), got.Hi, hi, 1e-9, source)
		refcheck.Near(t, "nozzle, steepest cooling", refcheck.Must[num.Interval](t)(c.NozzleFor(45, d)).Hi, nozzleHi, 1e-9, source)
	}
}

func TestSprayWithoutMeasurableCooling(t *testing.T) {
	c := refcheck.Must[SprayCurve](t)(CalibrateSpray(SprayReading{0.1, 60, 1}, SprayReading{0.3, 61.5, 1}, 20))
	if !math.IsInf(c.LengthM(), 1) {
		t.Errorf("L = %v, want +Inf", c.LengthM())
	}
	got := refcheck.Must[num.Interval](t)(c.At(0.3))
	refcheck.Near(t, "far reading held to the near one", got.Mid, 60, 1e-9, "spray does not warm")
	refcheck.Near(t, "its lower limit", got.Lo, 59, 1e-9, "near reading less uncertainty")
}

func TestSprayRefusesNonsense(t *testing.T) {
	ok := SprayReading{0.1, 60, 0.5}
	for _, r := range []struct {
		name      string
		near, far SprayReading
		air       unit.Celsius
		field     string
	}{
		{"far hotter", ok, SprayReading{0.3, 62, 0.5}, 20, "far.Temp in °C"},
		{"equal distances", ok, SprayReading{0.1, 50, 0.5}, 20, "far.DistanceM"},
		{"order", ok, SprayReading{0.05, 50, 0.5}, 20, "far.DistanceM"},
		{"colder than air", ok, SprayReading{0.3, 18, 0.5}, 20, "far.Temp in °C"},
		{"perhaps colder than air", ok, SprayReading{0.3, 20.4, 0.5}, 20, "far.Temp in °C"},
		{"boiling", SprayReading{0.1, 140, 0.5}, SprayReading{0.3, 50, 0.5}, 20, "near.Temp in °C"},
		{"uncertainty below zero", SprayReading{0.1, 60, -1}, SprayReading{0.3, 50, 0.5}, 20, "near.PlusMinusK"},
		{"distance below zero", SprayReading{-0.1, 60, 1}, SprayReading{0.3, 50, 0.5}, 20, "near.DistanceM"},
		{"no air temperature", ok, SprayReading{0.3, 50, 0.5}, unit.Celsius(math.NaN()), "air in °C"},
	} {
		t.Run(r.name, func(t *testing.T) {
			_, err := CalibrateSpray(r.near, r.far, r.air)
			refusesField(t, err, r.field)
		})
	}
}
