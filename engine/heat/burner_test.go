package heat

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"thwart/internal/refcheck"
	"thwart/unit"
)

// The trade's tables take 4.186 kJ a litre and kelvin, metered anywhere; IAPWS with water metered cold stays within this
// share of them.
const constantWater = 0.01

func TestNetKW(t *testing.T) {
	const iapws = "IAPWS-IF97 enthalpy and density, evaluated with the iapws 1.5 library"
	for _, r := range []struct{ flow, kW float64 }{{5, 15.66455}, {10, 31.32910}, {15, 46.99365}} {
		refcheck.Near(t, fmt.Sprintf("%v L/min from 15 to 60 °C", r.flow), refcheck.Must[float64](t)(NetKW(r.flow, 15, 60)), r.kW, 0.5e-5+1e-9, iapws)
	}
	const rule = "kW = L/min / 60 x 4.186 x rise in K"
	for _, r := range []struct{ flow, in, out, kW float64 }{
		{15.14, 10, 60, 52.8}, {15.14, 10, 48.9, 41.1}, {18.93, 15, 68.3, 70.4}, {7.57, 20, 60, 21.1},
	} {
		got := refcheck.Must[float64](t)(NetKW(r.flow, unit.Celsius(r.in), unit.Celsius(r.out)))
		refcheck.Near(t, fmt.Sprintf("%v L/min from %v to %v °C", r.flow, r.in, r.out), got, r.kW, constantWater*r.kW, rule)
	}
	for _, r := range []struct{ in, gpm, out, net, gross float64 }{
		{5, 3, 48.9, 34.8, 148}, {5, 3, 60.0, 43.6, 186}, {5, 4, 60.0, 58.1, 248}, {5, 4, 68.3, 66.9, 285},
		{10, 2, 60.0, 26.4, 113}, {10, 3, 60.0, 39.6, 169}, {10, 4, 48.9, 41.1, 175}, {10, 4, 60.0, 52.8, 225},
		{10, 4, 68.3, 61.6, 263}, {10, 5, 60.0, 66.0, 282}, {15, 4, 60.0, 47.5, 203}, {15, 5, 68.3, 70.4, 300},
		{20, 4, 48.9, 30.5, 130}, {20, 4, 60.0, 42.3, 180}, {20, 5, 60.0, 52.8, 225},
	} {
		got := refcheck.Must[float64](t)(NetKW(r.gpm*unit.LitresPerUSGallon, unit.Celsius(r.in), unit.Celsius(r.out)))
		what := fmt.Sprintf("%v gal/min from %v to %v °C", r.gpm, r.in, r.out)
		refcheck.Near(t, what, got, r.net, constantWater*r.net, rule)
		gross := got / 0.8 / (unit.WattsPerBTUPerH) // kW over W per BTU/h is kBTU/h
		refcheck.Near(t, what+" at 80 %", gross, r.gross, constantWater*r.gross, rule+", efficiency 0.8, 1 kW = 3.412 kBTU/h")
	}
}

// A machine that gives only 48.9 °C at 4 gal/min from 10 °C water reaches 60 °C at about 3.1 gal/min.
func TestTurningTheFlowDown(t *testing.T) {
	const source = "4 gal/min x 38.9 K / 50 K"
	fourGallons := 4 * unit.LitresPerUSGallon
	weak := Burner{RatedKW: refcheck.Must[float64](t)(NetKW(fourGallons, 10, 48.9)) / 0.8, Efficiency: 0.8}
	refcheck.Near(t, "its outlet at 4 gal/min", float64(refcheck.Must[unit.Celsius](t)(weak.Outlet(fourGallons, 10))), 48.9, 1e-9, "how the burner was made")
	flow := refcheck.Must[float64](t)(weak.FlowFor(10, 60))
	refcheck.Near(t, "flow for 60 °C in gal/min", flow/unit.LitresPerUSGallon, 4*38.9/50, 0.01, source)
	refcheck.Near(t, "outlet at that flow", float64(refcheck.Must[unit.Celsius](t)(weak.Outlet(flow, 10))), 60, 1e-9, "inverse function")

	_, err := weak.FuelFor(Job{Litres: 100, FlowLPerMin: fourGallons, Inlet: 10, Outlet: 60}, Fuel{MJPerUnit: 36, Unit: "L"})
	var e *WeakBurner
	if !errors.As(err, &e) {
		t.Fatalf("job beyond the burner: %v, want a WeakBurner", err)
	}
	refcheck.Near(t, "flow the error advises", e.FlowLPerMin, flow, 1e-9, "FlowFor")
	refcheck.Near(t, "outlet the error states", float64(e.Outlet), 48.9, 1e-9, "Outlet")
}

func TestOutletFallsWithFlow(t *testing.T) {
	b := Burner{RatedKW: 60, Efficiency: 0.85, MaxOutlet: 90}
	last := 200.0
	for flow := 2.0; flow < 60; flow += 0.5 {
		out := float64(refcheck.Must[unit.Celsius](t)(b.Outlet(flow, 12)))
		if out > last || out > 90 || (out == last && out != 90) {
			t.Errorf("outlet %v at %v L/min after %v", out, flow, last)
		}
		if out < 90 {
			refcheck.Near(t, "heat balance", refcheck.Must[float64](t)(NetKW(flow, 12, unit.Celsius(out))), b.NetKW(), 1e-9, "all net power is in the water")
		}
		last = out
	}
}

func TestBurnerLimits(t *testing.T) {
	b := Burner{RatedKW: 60, Efficiency: 0.8, MinFlowLPerMin: 8, MaxOutlet: 65}
	refcheck.Near(t, "thermostat", float64(refcheck.Must[unit.Celsius](t)(b.Outlet(8, 20))), 65, 0, "MaxOutlet")
	refcheck.Near(t, "hotter feed passes", float64(refcheck.Must[unit.Celsius](t)(b.Outlet(8, 70))), 70, 0, "a heater does not cool")

	var weak *WeakBurner
	if _, err := b.FlowFor(20, 70); !errors.As(err, &weak) || weak.Outlet != 65 || weak.FlowLPerMin != 0 {
		t.Errorf("above the thermostat: %v", err)
	}
	small := Burner{RatedKW: 20, Efficiency: 0.8, MinFlowLPerMin: 8}
	if _, err := small.FlowFor(10, 60); !errors.As(err, &weak) {
		t.Errorf("below the minimum flow: %v", err)
	} else {
		refcheck.Near(t, "what it gives at minimum flow", float64(weak.Outlet), float64(refcheck.Must[unit.Celsius](t)(small.Outlet(8, 10))), 0, "Outlet")
	}

	_, err := b.Outlet(7, 20)
	refusesField(t, err, "flowLPerMin")
	_, err = Burner{RatedKW: 60, Efficiency: 0.8}.Outlet(2, 20)
	refusesField(t, err, "flowLPerMin")
	_, err = b.FlowFor(60, 60)
	refusesField(t, err, "target in °C")
	_, err = b.FlowFor(60, 50)
	refusesField(t, err, "outlet in °C")
	_, err = NetKW(0, 10, 60)
	refusesField(t, err, "flowLPerMin")
	_, err = NetKW(10, -1, 60)
	refusesField(t, err, "water temperature in °C")
}

func TestBurnerValidate(t *testing.T) {
	good := Burner{RatedKW: 60, Efficiency: 0.8}
	if err := good.Validate(); err != nil {
		t.Fatal(err)
	}
	for field, b := range map[string]Burner{
		"RatedKW":         {RatedKW: 0, Efficiency: 0.8},
		"Efficiency":      {RatedKW: 60, Efficiency: 80},
		"MinFlowLPerMin":  {RatedKW: 60, Efficiency: 1, MinFlowLPerMin: math.NaN()},
		"MaxOutlet in °C": {RatedKW: 60, Efficiency: 1, MaxOutlet: 140},
	} {
		refusesField(t, b.Validate(), field)
		_, err := b.FlowFor(10, 60)
		refusesField(t, err, field)
	}
	refusesField(t, Burner{RatedKW: 60}.Validate(), "Efficiency")
}

func TestFuelFor(t *testing.T) {
	b := Burner{RatedKW: 70, Efficiency: 0.8}
	job := Job{Litres: 200, FlowLPerMin: 15, Inlet: 15, Outlet: 60}
	// 200 L take 188.1437 kJ/kg x 199.82022 kg = 37.5949 MJ in the water, 46.9936 MJ in the fuel.
	got := refcheck.Must[float64](t)(b.FuelFor(job, Fuel{MJPerUnit: 36, Unit: "L"}))
	refcheck.Near(t, "litres of fuel", got, 46.99363/36, 1e-5, "by hand from IAPWS-IF97 enthalpies 251.2227 and 63.0790 kJ/kg and density 999.1011 kg/m³")
	// The same heat by power and time: 13 min 20 s of the burner's gross share.
	seconds := job.Litres / job.FlowLPerMin * 60
	kW := refcheck.Must[float64](t)(NetKW(15, 15, 60))
	refcheck.Near(t, "by power and time", got*36*0.8, kW*seconds/1000, 1e-9, "energy is power times time")

	if _, err := b.FuelFor(job, Fuel{MJPerUnit: 36, Unit: "gal"}); err == nil {
		t.Error("fuel by the gallon was taken")
	}
	_, err := b.FuelFor(job, Fuel{Unit: "kg"})
	refusesField(t, err, "MJPerUnit")
	_, err = b.FuelFor(Job{Litres: -1, FlowLPerMin: 15, Inlet: 15, Outlet: 60}, Fuel{MJPerUnit: 36, Unit: "kg"})
	refusesField(t, err, "Litres")
	// A job at exactly full power is not beyond the burner.
	flow := refcheck.Must[float64](t)(b.FlowFor(15, 60))
	refcheck.Must[float64](t)(b.FuelFor(Job{Litres: 1, FlowLPerMin: flow, Inlet: 15, Outlet: 60}, Fuel{MJPerUnit: 36, Unit: "L"}))
}
