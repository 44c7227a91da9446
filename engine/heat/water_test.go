package heat

import (
	"fmt"
	"math"
	"testing"

	"thwart/internal/refcheck"
	"thwart/unit"
)

// The official program-verification values of the release, nine digits each.
func TestIF97CheckValues(t *testing.T) {
	const source = "IAPWS R7-97(2012), table 5 (from memory)"
	const lastDigit = 0.5e-8 // relative: nine significant digits, of which the first may be 1
	for _, r := range []struct{ kelvin, mpa, v, h, s, cp, w float64 }{
		{300, 3, 0.100215168e-2, 115.331273, 0.392294792, 4.17301218, 1507.73921},
		{300, 80, 0.971180894e-3, 184.142828, 0.368563852, 4.01008987, 1634.69054},
		{500, 3, 0.120241800e-2, 975.542239, 2.58041912, 4.65580682, 1240.71337},
	} {
		got := region1(r.kelvin, r.mpa)
		what := fmt.Sprintf("%v K, %v MPa: ", r.kelvin, r.mpa)
		refcheck.Near(t, what+"v", got.volume, r.v, lastDigit*r.v, source)
		refcheck.Near(t, what+"h", got.enthalpy/1000, r.h, lastDigit*r.h, source)
		refcheck.Near(t, what+"s", got.entropy/1000, r.s, lastDigit*r.s, source)
		refcheck.Near(t, what+"cp", got.heat/1000, r.cp, lastDigit*r.cp, source)
		refcheck.Near(t, what+"w", got.sound, r.w, lastDigit*r.w, source)
	}
}

func TestWaterAtAtmosphericPressure(t *testing.T) {
	const (
		if97    = "IAPWS-IF97, evaluated with the iapws 1.5 library"
		iapws95 = "IAPWS-95, evaluated with the iapws 1.5 library"
		// The package promises these distances from the scientific standard.
		densityApart = 0.00002
		heatApart    = 0.0006
	)
	for _, r := range []struct{ t, rho, cp, h, rho95, cp95 float64 }{
		{10, 999.7015, 4.19545, 42.1187, 999.7025, 4.19516},
		{15, 999.1011, 4.18909, 63.0790, 999.1026, 4.18846},
		{20, 998.2061, 4.18479, 84.0131, 998.2072, 4.18405},
		{25, 997.0480, 4.18190, 104.9293, 997.0476, 4.18131},
		{30, 995.6521, 4.18002, 125.8337, 995.6495, 4.17982},
		{40, 992.2243, 4.17855, 167.6243, 992.2164, 4.17941},
		{50, 988.0475, 4.17955, 209.4129, 988.0350, 4.18134},
		{55, 985.7070, 4.18089, 230.3138, 985.6931, 4.18296},
		{60, 983.2106, 4.18276, 251.2227, 983.1958, 4.18495},
		{65, 980.5659, 4.18517, 272.1423, 980.5508, 4.18732},
		{70, 977.7793, 4.18810, 293.0753, 977.7646, 4.19007},
		{80, 971.8029, 4.19552, 334.9916, 971.7904, 4.19675},
	} {
		rho := refcheck.Must[float64](t)(WaterDensity(unit.Celsius(r.t)))
		cp := refcheck.Must[float64](t)(WaterHeat(unit.Celsius(r.t))) / 1000
		h := refcheck.Must[float64](t)(WaterEnthalpy(unit.Celsius(r.t))) / 1000
		what := fmt.Sprintf("%v °C: ", r.t)
		refcheck.Near(t, what+"density", rho, r.rho, 0.5e-4+1e-9, if97)
		refcheck.Near(t, what+"heat capacity", cp, r.cp, 0.5e-5+1e-9, if97)
		refcheck.Near(t, what+"enthalpy", h, r.h, 0.5e-4+1e-9, if97)
		refcheck.Near(t, what+"density over IAPWS-95", rho/r.rho95, 1, densityApart, iapws95)
		refcheck.Near(t, what+"heat capacity over IAPWS-95", cp/r.cp95, 1, heatApart, iapws95)
		refcheck.Near(t, what+"heat per litre", refcheck.Must[float64](t)(WaterHeatPerLitre(unit.Celsius(r.t))), rho*cp, 1e-9, "product of the two above, kg/m³ times kJ/(kg K) is J/(L K)")
	}
}

// Heat capacity is the slope of enthalpy at constant pressure, and the inverse of enthalpy returns the temperature.
func TestWaterIsConsistent(t *testing.T) {
	for c := 1.0; c < 100; c += 7 {
		const step = 0.01
		up := refcheck.Must[float64](t)(WaterEnthalpy(unit.Celsius(c + step)))
		down := refcheck.Must[float64](t)(WaterEnthalpy(unit.Celsius(c - step)))
		cp := refcheck.Must[float64](t)(WaterHeat(unit.Celsius(c)))
		refcheck.Near(t, fmt.Sprintf("dh/dT at %v", c), (up-down)/(2*step), cp, 1e-3, "definition of heat capacity")
		refcheck.Near(t, fmt.Sprintf("inverse at %v", c), float64(waterWithEnthalpy(up)), c+step, 1e-9, "inverse function")
	}
}

func TestWaterRefusesIceAndSteam(t *testing.T) {
	for _, c := range []unit.Celsius{-0.01, 100.01, unit.Celsius(math.NaN())} {
		for _, f := range []func(unit.Celsius) (float64, error){WaterDensity, WaterHeat, WaterEnthalpy, WaterHeatPerLitre} {
			v, err := f(c)
			refusesField(t, err, "water temperature in °C")
			if !math.IsNaN(v) {
				t.Errorf("at %v a refused temperature still gave %v", c, v)
			}
		}
	}
}

func TestMix(t *testing.T) {
	got := refcheck.Must[unit.Celsius](t)(Mix(Portion{40, 60}, Portion{10, 15}))
	refcheck.Near(t, "40 L at 60 °C with 10 L at 15 °C", float64(got), 50.8843, 0.5e-4, "IAPWS-IF97 enthalpy and density, evaluated with the iapws 1.5 library")
	// The mean by volume, 51.0 °C, is what constant properties give: hotter, so not the cautious one.
	refcheck.Near(t, "against constant properties", float64(got), (40.0*60+10*15)/50, 0.13, "weighted mean; cold water is 1.6 % denser")
	if got >= 51 {
		t.Errorf("mix of %v °C is not below the mean by volume", got)
	}
	refcheck.Near(t, "one portion", float64(refcheck.Must[unit.Celsius](t)(Mix(Portion{3, 42}))), 42, 1e-9, "nothing to mix")
	_, err := Mix(Portion{-1, 20})
	refusesField(t, err, "litres")
	_, err = Mix()
	refusesField(t, err, "litres in all")
	_, err = Mix(Portion{1, 120})
	refusesField(t, err, "water temperature in °C")
}

func BenchmarkWaterEnthalpy(b *testing.B) {
	for b.Loop() {
		if _, err := WaterEnthalpy(60); err != nil {
			b.Fatal(err)
		}
	}
}
