package air

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"thwart/engine/num"
	"thwart/internal/refcheck"
	"thwart/unit"
)

func TestFAO56Tables(t *testing.T) {
	const source = "FAO-56 (Allen et al. 1998) Annex 2 table 2.3 and examples 3 and 5 (from memory)"
	const lastDigit = 0.5e-3 + 1e-9
	for _, r := range []struct {
		t    unit.Celsius
		want float64
	}{
		{1, 0.657}, {10, 1.228}, {15, 1.705}, {18, 2.064}, {20, 2.338}, {24.5, 3.075}, {25, 3.168}, {30, 4.243}, {40, 7.376},
	} {
		refcheck.Near(t, fmt.Sprintf("saturation at %v", r.t), SaturationKPa(r.t), r.want, lastDigit, source)
	}
	// Example 5: 18 to 25 °C, 82 to 54 % humidity: actual pressure 1.70, deficit of the day 0.91 kPa.
	actual := (SaturationKPa(18)*0.82 + SaturationKPa(25)*0.54) / 2
	refcheck.Near(t, "example 5 actual pressure", actual, 1.70, 0.5e-2, source)
	refcheck.Near(t, "example 5 deficit", (SaturationKPa(18)+SaturationKPa(25))/2-actual, 0.91, 0.5e-2, source)
}

func TestWMOAndBuck(t *testing.T) {
	const source = "formulas of WMO No. 8 Annex 4.B and Buck 1996, evaluated independently"
	const lastDigit = 0.5e-6 + 1e-12 // the tables are in hPa with five decimals
	for _, r := range []struct {
		t              unit.Celsius
		wmoHPa, buckHP float64
	}{
		{-10, 2.87031, 2.86560}, {0, 6.11200, 6.11210}, {10, 12.26030, 12.27860}, {15, 17.01672, 17.05173},
		{20, 23.32596, 23.38340}, {25, 31.60057, 31.68531}, {30, 42.33724, 42.45126}, {35, 56.12842, 56.26752},
		{40, 73.67458, 73.82360},
	} {
		refcheck.Near(t, fmt.Sprintf("WMO at %v", r.t), SaturationWMOKPa(r.t), r.wmoHPa/10, lastDigit, source)
		refcheck.Near(t, fmt.Sprintf("Buck at %v", r.t), SaturationBuckKPa(r.t), r.buckHP/10, lastDigit, source)
	}
}

// The package comment promises how far each formula stays below the international standard.
func TestDisagreementWithIAPWS(t *testing.T) {
	const (
		tetensBelow = 0.0015
		wmoBelow    = 0.0035
		buckBelow   = 0.0005
		source      = "IAPWS-IF97 saturation line, evaluated with the iapws 1.5 library"
	)
	for _, r := range []struct {
		t   unit.Celsius
		kPa float64
	}{{10, 1.22818}, {15, 1.70574}, {20, 2.33921}, {25, 3.16975}, {30, 4.24669}, {40, 7.38443}} {
		for name, f := range map[string]struct {
			kPa   func(unit.Celsius) float64
			below float64
		}{"Tetens": {SaturationKPa, tetensBelow}, "WMO": {SaturationWMOKPa, wmoBelow}, "Buck": {SaturationBuckKPa, buckBelow}} {
			refcheck.Near(t, fmt.Sprintf("%s over IAPWS at %v", name, r.t), f.kPa(r.t)/r.kPa, 1-f.below/2, f.below/2, source)
		}
	}
}

func TestDewPointAndDeficit(t *testing.T) {
	const source = "WMO No. 8 Annex 4.B and its inverse, evaluated independently"
	// The deficits of this table are by the WMO form. Ours uses Tetens; between 15 and 30 °C the two forms of the
	// saturation pressure differ by at most this share.
	const tetensOverWMO = 0.003
	for _, r := range []struct {
		t                  unit.Celsius
		rhPct, dew, vpdHPa float64
	}{{20, 50, 9.2552, 11.66298}, {25, 60, 16.6931, 12.64023}, {30, 40, 14.9251, 25.40234}, {15, 80, 11.5755, 3.40334}} {
		what := fmt.Sprintf("%v °C, %v %%", r.t, r.rhPct)
		dew, err := DewPoint(r.t, r.rhPct)
		if err != nil {
			t.Fatal(err)
		}
		refcheck.Near(t, what+" dew point", float64(dew), r.dew, 0.5e-4+1e-9, source)
		refcheck.Near(t, what+" WMO deficit", SaturationWMOKPa(r.t)*(1-r.rhPct/100), r.vpdHPa/10, 0.5e-6+1e-9, source)
		vpd, err := VPDKPa(r.t, r.rhPct)
		if err != nil {
			t.Fatal(err)
		}
		refcheck.Near(t, what+" deficit", vpd, r.vpdHPa/10, tetensOverWMO*r.vpdHPa/10, source)
	}
	vpd, err := VPDKPa(20, 50)
	if err != nil {
		t.Fatal(err)
	}
	refcheck.Near(t, "deficit at 20 °C and 50 %", vpd, 1.169141, 0.5e-6, "0.6108 exp(17.27·20/257.3)/2 by hand")
}

func TestDewPointInvertsSaturation(t *testing.T) {
	for temp := unit.Celsius(-20); temp <= 60; temp += 4 {
		for _, rh := range []float64{15, 40, 77, 100} {
			dew, err := DewPoint(temp, rh)
			if err != nil {
				t.Fatal(err)
			}
			refcheck.Near(t, "pressure at the dew point", SaturationWMOKPa(dew), SaturationWMOKPa(temp)*rh/100, 1e-12, "definition of the dew point")
			if rh == 100 {
				refcheck.Near(t, "saturated air", float64(dew), float64(temp), 1e-10, "saturated air dews where it is")
			}
		}
	}
}

func TestDeficitFallsWithHumidity(t *testing.T) {
	last := math.Inf(1)
	for rh := 0.0; rh <= 100; rh += 5 {
		vpd, err := VPDKPa(25, rh)
		if err != nil {
			t.Fatal(err)
		}
		if vpd >= last {
			t.Errorf("deficit %v at %v %% is not below %v", vpd, rh, last)
		}
		last = vpd
	}
	if last != 0 {
		t.Errorf("saturated air lacks %v kPa", last)
	}
}

func TestRefusals(t *testing.T) {
	type input struct {
		t     unit.Celsius
		rhPct float64
		field string
	}
	bad := []input{
		{20, -1, "rhPct"}, {20, 100.5, "rhPct"}, {20, math.NaN(), "rhPct"},
		{-46, 50, "air temperature in °C"}, {61, 50, "air temperature in °C"}, {unit.Celsius(math.NaN()), 50, "air temperature in °C"},
	}
	for _, in := range bad {
		v, err := VPDKPa(in.t, in.rhPct)
		d, dewErr := DewPoint(in.t, in.rhPct)
		for _, e := range []error{err, dewErr} {
			var out *num.RangeError
			if !errors.As(e, &out) || out.Field != in.field {
				t.Errorf("%+v: error %v, want one that names %s", in, e, in.field)
			}
		}
		if !math.IsNaN(v) || !math.IsNaN(float64(d)) {
			t.Errorf("%+v: a refused input still gave %v and %v", in, v, d)
		}
	}
	for _, rh := range []float64{0, 0.1} {
		if d, err := DewPoint(20, rh); err == nil {
			t.Errorf("dew point of air at %v %% given as %v", rh, d)
		}
	}
	for name, f := range map[string]func(unit.Celsius) float64{"Tetens": SaturationKPa, "WMO": SaturationWMOKPa, "Buck": SaturationBuckKPa} {
		for _, temp := range []unit.Celsius{Coldest - 1, Warmest + 1, -237.3, unit.Celsius(math.NaN())} {
			if v := f(temp); !math.IsNaN(v) {
				t.Errorf("%s at %v gave %v, want NaN", name, temp, v)
			}
		}
	}
}

func BenchmarkVPD(b *testing.B) {
	for b.Loop() {
		if _, err := VPDKPa(20, 50); err != nil {
			b.Fatal(err)
		}
	}
}
