package heat

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"thwart/internal/refcheck"
	"thwart/unit"
)

// A live well flushed with hot water, with the heat capacity of water given.
var livewell = Tank{WaterL: 20, FlowLPerMin: 10, Inlet: 60, Air: 20, Start: 15, UAWPerK: 50, WaterJPerLK: 4138.2}

func TestStirredTank(t *testing.T) {
	const source = "closed form T = Tss + (T0 - Tss) exp(-t/tau), tau = V rho c / (q rho c + UA), evaluated independently"
	refcheck.Near(t, "steady", float64(refcheck.Must[unit.Celsius](t)(livewell.Steady())), 57.2962012, 0.5e-7, source)
	for _, r := range []struct{ s, want float64 }{
		{0, 15}, {30, 24.94751}, {60, 32.55550}, {120, 42.82440}, {180, 48.83108}, {300, 54.39983}, {600, 57.09786},
	} {
		refcheck.Near(t, fmt.Sprintf("after %v s", r.s), float64(refcheck.Must[unit.Celsius](t)(livewell.At(r.s))), r.want, 0.5e-5+1e-9, source)
	}
	refcheck.Near(t, "seconds to 50 °C", refcheck.Must[float64](t)(livewell.SecondsTo(50)), 196.62670, 0.5e-5+1e-9, source)
	// One time constant leaves 1/e of the way.
	refcheck.Near(t, "after tau", float64(refcheck.Must[unit.Celsius](t)(livewell.At(111.8886035))), 57.2962012+(15-57.2962012)/math.E, 1e-6, source)
}

func TestStandingTankCools(t *testing.T) {
	const source = "closed form, tau = V rho c / UA with rho c 4138.2 J/(L K), evaluated independently"
	soak := Tank{WaterL: 30, Start: 60, Air: 20, UAWPerK: 15, WaterJPerLK: 4138.2}
	for _, r := range []struct{ min, want float64 }{{10, 57.20281}, {30, 52.18156}, {60, 45.89132}, {120, 36.75901}} {
		refcheck.Near(t, fmt.Sprintf("after %v min", r.min), float64(refcheck.Must[unit.Celsius](t)(soak.At(r.min*60))), r.want, 0.5e-5+1e-9, source)
		refcheck.Near(t, "time above it", refcheck.Must[float64](t)(soak.SecondsAbove(unit.Celsius(r.want)))/60, r.min, 1e-4, source)
	}
	refcheck.Near(t, "settles at the air's", float64(refcheck.Must[unit.Celsius](t)(soak.Steady())), 20, 0, "no flow")
	refcheck.Near(t, "hot enough now", refcheck.Must[float64](t)(soak.SecondsTo(50)), 0, 0, "starts above the target")
}

// The brine tank of the differential-equation textbooks is the same equation: concentration for temperature, no loss.
func TestTextbookBrineTanks(t *testing.T) {
	// Boyce & DiPrima: 100 gal, 1/4 lb/gal entering at 3 gal/min, so that 25 lb settle; from twice that, within 2 % after
	// ln(50)/0.03 = 130.4 min. Read a pound as a degree and a gallon as a litre.
	const boyce = "Boyce & DiPrima, Elementary Differential Equations, section 2.3 example 1 (textbook, from memory)"
	brine := Tank{WaterL: 100, FlowLPerMin: 3, Inlet: 25, Start: 50, WaterJPerLK: 1}
	refcheck.Near(t, "minutes to within 2 %", refcheck.Must[float64](t)(brine.SecondsAbove(25.5))/60, 130.4, 0.05, boyce)
	brine.Start = 0
	refcheck.Near(t, "minutes from fresh water", refcheck.Must[float64](t)(brine.SecondsTo(24.5))/60, 130.4, 0.05, boyce+", mirrored")

	// Nagle, Saff & Snider: 1000 L of water, brine of 0.1 kg/L at 6 L/min, so 0.05 kg/L after 500 ln 2 / 3 = 115.52 min.
	const nagle = "Nagle, Saff & Snider, Fundamentals of Differential Equations, section 3.2 example 1 (textbook, from memory)"
	big := Tank{WaterL: 1000, FlowLPerMin: 6, Inlet: 0.1, WaterJPerLK: 1}
	refcheck.Near(t, "minutes to half strength", refcheck.Must[float64](t)(big.SecondsTo(0.05))/60, 115.52, 0.005, nagle)
}

// rungeKutta integrates dT/dt = slope(T) by the classical fourth-order rule.
func rungeKutta(from, seconds float64, steps int, slope func(float64) float64) float64 {
	h, temp := seconds/float64(steps), from
	for range steps {
		k1 := slope(temp)
		k2 := slope(temp + h/2*k1)
		k3 := slope(temp + h/2*k2)
		k4 := slope(temp + h*k3)
		temp += h / 6 * (k1 + 2*k2 + 2*k3 + k4)
	}
	return temp
}

func TestClosedFormAgainstRungeKutta(t *testing.T) {
	cases := 0
	for _, water := range []float64{0, 2, 35, 900} {
		for _, structure := range []float64{0, 8000, 2e5} {
			for _, flow := range []float64{0, 3, 18} {
				for _, ua := range []float64{0, 12, 150} {
					for _, temps := range [][3]unit.Celsius{{60, 20, 12}, {70, -10, 4}, {48, 35, 55}} {
						tank := Tank{WaterL: water, StructureJPerK: structure, FlowLPerMin: flow, UAWPerK: ua, Inlet: temps[0], Air: temps[1], Start: temps[2], WaterJPerLK: 4150}
						if water+structure == 0 {
							continue
						}
						capacity := 4150*water + structure
						drive := 4150*flow/60 + ua
						slope := func(temp float64) float64 {
							return (4150*flow/60*(float64(tank.Inlet)-temp) - ua*(temp-float64(tank.Air))) / capacity
						}
						// Two time constants, or ten minutes where there is none; 400 steps leave 1e-10 of the range.
						seconds := 600.0
						if drive > 0 {
							seconds = 2 * capacity / drive
						}
						want := rungeKutta(float64(tank.Start), seconds, 400, slope)
						refcheck.Near(t, fmt.Sprintf("%+v after %.0f s", tank, seconds), float64(refcheck.Must[unit.Celsius](t)(tank.At(seconds))), want, 1e-7, "Runge-Kutta 4, 400 steps")
						cases++
					}
				}
			}
		}
	}
	if cases < 200 {
		t.Errorf("only %d cases", cases)
	}
}

// The doc comment promises what constant properties cost. The honest balance: hot water of density rho(Tin) enters, the
// volume stays, and enthalpy is what is conserved.
func TestConstantPropertiesAreCloseEnough(t *testing.T) {
	const (
		colderK, hotterK = 0.4, 0.01   // than the honest balance
		later, sooner    = 0.03, 0.001 // as a share of the time
		source           = "Runge-Kutta on the enthalpy balance with IAPWS-IF97 properties"
	)
	worst := 0.0
	for _, inlet := range []unit.Celsius{45, 60, 70} {
		for _, start := range []unit.Celsius{0, 15, 25} {
			for _, ua := range []float64{0, 60} {
				tank := Tank{WaterL: 40, FlowLPerMin: 12, Inlet: inlet, Air: start, Start: start, UAWPerK: ua}
				in := region1(inlet.Kelvin(), atmosphereMPa)
				massIn := tank.FlowLPerMin / 60 / 1000 / in.volume
				slope := func(c float64) float64 {
					w := region1(c+273.15, atmosphereMPa)
					return (massIn*(in.enthalpy-w.enthalpy) - ua*(c-float64(start))) / (tank.WaterL / 1000 / w.volume * w.heat)
				}
				honest := float64(start)
				for s := 30.0; s <= 600; s += 30 {
					honest = rungeKutta(honest, 30, 10, slope)
					what := fmt.Sprintf("from %v to %v °C, UA %v, after %v s", start, inlet, ua, s)
					got := float64(refcheck.Must[unit.Celsius](t)(tank.At(s)))
					refcheck.Near(t, what, got, honest+(hotterK-colderK)/2, (hotterK+colderK)/2, source)
					worst = math.Max(worst, honest-got)
					if float64(inlet)-honest > 0.05*float64(inlet-start) { // near the end the clock says little
						refcheck.Near(t, what+", seconds", refcheck.Must[float64](t)(tank.SecondsTo(unit.Celsius(honest)))/s, 1+(later-sooner)/2, (later+sooner)/2, source)
					}
				}
			}
		}
	}
	if worst < colderK/2 {
		t.Errorf("the promise of %v K is loose: the worst case is %v K", colderK, worst)
	}
}

func TestUnreachable(t *testing.T) {
	_, err := livewell.SecondsTo(58)
	var e *Unreachable
	if !errors.As(err, &e) {
		t.Fatalf("58 °C from a tank that settles at 57.3: %v", err)
	}
	refcheck.Near(t, "where it settles", float64(e.SteadyC), 57.2962012, 1e-7, "Steady")
	// At the stated limits the tank settles exactly at the target; a little beyond, it gets there.
	for _, better := range []func(Tank, float64) Tank{
		func(tank Tank, more float64) Tank { tank.Inlet = e.NeedInletC * unit.Celsius(more); return tank },
		func(tank Tank, more float64) Tank { tank.FlowLPerMin = e.NeedFlowLPerMin * more; return tank },
	} {
		refcheck.Near(t, "settles at the limit", float64(refcheck.Must[unit.Celsius](t)(better(livewell, 1).Steady())), 58, 1e-9, "definition of the limit")
		if _, err := better(livewell, 1.001).SecondsTo(58); err != nil {
			t.Errorf("just beyond what the error asks for: %v", err)
		}
		if _, err := better(livewell, 0.999).SecondsTo(58); err == nil {
			t.Error("just short of what the error asks for, yet reached")
		}
	}
	if s := err.Error(); !strings.Contains(s, "57.3 °C") || !strings.Contains(s, "°C, or a flow above") {
		t.Errorf("message %q", s)
	}

	_, err = livewell.SecondsTo(61)
	if !errors.As(err, &e) || !math.IsInf(e.NeedFlowLPerMin, 1) {
		t.Errorf("hotter than the inlet: %v", err)
	}
	_, err = Tank{WaterL: 30, Start: 20, Air: 20, UAWPerK: 15, Inlet: 60}.SecondsTo(50)
	if !errors.As(err, &e) || !math.IsInf(float64(e.NeedInletC), 1) || e.NeedFlowLPerMin <= 0 {
		t.Errorf("a tank without flow: %+v %v", e, err)
	}
	// The steady temperature itself is approached for ever.
	_, err = Tank{WaterL: 30, Start: 20, FlowLPerMin: 10, Inlet: 60}.SecondsTo(60)
	if !errors.As(err, &e) {
		t.Errorf("the steady temperature: %v", err)
	}
}

func TestFlush(t *testing.T) {
	got := refcheck.Must[Flush](t)(livewell.Flush(50, 130))
	const source = "196.62670 s to 50 °C by the closed form, then 130 s, at 10 L/min"
	refcheck.Near(t, "reach", got.ReachS, 196.62670, 1e-5, source)
	refcheck.Near(t, "total", got.TotalS, 326.62670, 1e-5, source)
	refcheck.Near(t, "litres", got.UsedL, 326.62670/6, 1e-5, source)
	refcheck.Near(t, "waste", got.WasteL, got.UsedL, 0, "what goes in comes out")
	refcheck.Near(t, "inside", got.InsideL, 20, 0, "the compartment stays full")

	// Hot already, and cooling: the hold must last to the end.
	soak := Tank{WaterL: 30, Start: 60, Air: 20, UAWPerK: 15, WaterJPerLK: 4138.2}
	above := refcheck.Must[float64](t)(soak.SecondsAbove(55))
	if short, err := soak.Flush(55, above-1); err != nil || short.UsedL != 0 || short.ReachS != 0 {
		t.Errorf("a soak that stays hot long enough: %+v, %v", short, err)
	}
	var e *Unreachable
	if _, err := soak.Flush(55, above+1); !errors.As(err, &e) {
		t.Errorf("a soak that cools too soon: %v", err)
	}
	_, err := livewell.Flush(50, -1)
	refusesField(t, err, "holdS")
}

func TestTankEdges(t *testing.T) {
	// No flow, no loss: nothing changes, ever.
	still := Tank{WaterL: 10, Start: 52, Inlet: 60}
	refcheck.Near(t, "after a day", float64(refcheck.Must[unit.Celsius](t)(still.At(86400))), 52, 0, "perfect insulation")
	if s := refcheck.Must[float64](t)(still.SecondsAbove(52)); !math.IsInf(s, 1) {
		t.Errorf("stays above for %v s, want for ever", s)
	}
	if s := refcheck.Must[float64](t)(still.SecondsAbove(53)); s != 0 {
		t.Errorf("never above, yet for %v s", s)
	}
	cooling := Tank{WaterL: 10, Start: 52, Air: 10, UAWPerK: 5}
	if s := refcheck.Must[float64](t)(cooling.SecondsAbove(52)); s != 0 {
		t.Errorf("cooling from 52 °C stays at it for %v s", s)
	}
	var e *Unreachable
	if _, err := still.SecondsTo(55); !errors.As(err, &e) || e.SteadyC != 52 {
		t.Errorf("standing and insulated: %v", err)
	}
	// Structure only.
	wall := Tank{StructureJPerK: 9000, FlowLPerMin: 6, Inlet: 60, Start: 10, WaterJPerLK: 4150}
	refcheck.Near(t, "rinsed wall", refcheck.Must[float64](t)(wall.SecondsTo(35)), 9000/(4150*6/60.0)*math.Ln2, 1e-9, "half way after tau ln 2")
	// Structure slows the warming of the water.
	heavy := livewell
	heavy.StructureJPerK = 40000
	if refcheck.Must[float64](t)(heavy.SecondsTo(50)) <= refcheck.Must[float64](t)(livewell.SecondsTo(50)) {
		t.Error("walls that must be warmed too cost no time")
	}
}

func TestTankValidate(t *testing.T) {
	for field, spoil := range map[string]func(*Tank){
		"WaterL":         func(k *Tank) { k.WaterL = -1 },
		"StructureJPerK": func(k *Tank) { k.StructureJPerK = math.NaN() },
		"FlowLPerMin":    func(k *Tank) { k.FlowLPerMin = math.Inf(1) },
		"Inlet in °C":    func(k *Tank) { k.Inlet = 140 },
		"Air in °C":      func(k *Tank) { k.Air = 104 },
		"Start in °C":    func(k *Tank) { k.Start = -4 },
		"UAWPerK":        func(k *Tank) { k.UAWPerK = -2 },
		"WaterJPerLK":    func(k *Tank) { k.WaterJPerLK = -4138 },
	} {
		tank := livewell
		spoil(&tank)
		refusesField(t, tank.Validate(), field)
		_, err := tank.Flush(50, 10)
		refusesField(t, err, field)
	}
	empty := livewell
	empty.WaterL = 0
	refusesField(t, empty.Validate(), "WaterL")
	_, err := livewell.At(-1)
	refusesField(t, err, "seconds")
	_, err = livewell.SecondsTo(unit.Celsius(math.NaN()))
	refusesField(t, err, "target in °C")
}

func BenchmarkTankFlush(b *testing.B) {
	tank := livewell
	tank.WaterJPerLK = 0
	for b.Loop() {
		if _, err := tank.Flush(50, 130); err != nil {
			b.Fatal(err)
		}
	}
}
