package heat

import (
	"errors"
	"fmt"
	"math"

	"thwart/engine/num"
	"thwart/unit"
)

// Burner is the water heater of a wash unit.
//
// Flows are litres a minute of the cold water that enters, as a meter before the heater reads them; litres swell by 1.6 %
// on the way from 15 to 60 °C.
type Burner struct {
	// RatedKW is the heat in the fuel burned at full fire, as on the plate.
	RatedKW float64
	// Efficiency is the share of it that reaches the water, above 0 and at most 1. Soot and scale lower it.
	Efficiency float64
	// MinFlowLPerMin is the flow below which the heater shuts itself off; 0 when it has no such switch or it is not known.
	MinFlowLPerMin float64
	// MaxOutlet is where the thermostat holds the water at most; 0 when there is none below boiling.
	MaxOutlet unit.Celsius
}

// Validate names the fields that cannot be.
func (b Burner) Validate() error {
	return errors.Join(
		num.Positive("RatedKW", b.RatedKW),
		num.Positive("Efficiency", b.Efficiency),
		num.Within("Efficiency", b.Efficiency, 0, 1),
		num.NotNegative("MinFlowLPerMin", b.MinFlowLPerMin),
		num.Within("MaxOutlet in °C", float64(b.MaxOutlet), 0, float64(Boiling)),
	)
}

// NetKW is the heat that reaches the water at full fire.
func (b Burner) NetKW() float64 { return b.RatedKW * b.Efficiency }

func (b Burner) limit() unit.Celsius {
	if b.MaxOutlet == 0 {
		return Boiling
	}
	return b.MaxOutlet
}

// WeakBurner says that a burner cannot bring water to a temperature, and what it can do instead.
type WeakBurner struct {
	Target unit.Celsius
	// Outlet is the hottest it gives in the case asked about.
	Outlet unit.Celsius
	// FlowLPerMin is the flow at which it would reach the target, 0 when no flow it can run at would do.
	FlowLPerMin float64
	// Why is what stands in the way.
	Why string
}

func (e *WeakBurner) Error() string {
	s := fmt.Sprintf("burner gives %.1f °C, not %.1f °C: %s", float64(e.Outlet), float64(e.Target), e.Why)
	if e.FlowLPerMin > 0 {
		// Rounded down, because more flow would be too much for it.
		s += fmt.Sprintf("; turned down to %.1f L/min it would reach it", math.Floor(e.FlowLPerMin*10)/10)
	}
	return s
}

// NetKW returns the heat in kW that brings flowLPerMin of water, metered cold, from inlet to outlet: mass flow times the
// difference of enthalpy (IAPWS-IF97). A heater must burn that much divided by its efficiency. Water that is to leave
// colder than it came is refused.
func NetKW(flowLPerMin float64, inlet, outlet unit.Celsius) (float64, error) {
	if err := num.Positive("flowLPerMin", flowLPerMin); err != nil {
		return math.NaN(), err
	}
	perLitre, err := joulePerLitre(inlet, outlet)
	return flowLPerMin / 60 * perLitre / 1000, err
}

// joulePerLitre is the heat that takes one litre, measured at inlet, from there to outlet.
func joulePerLitre(inlet, outlet unit.Celsius) (float64, error) {
	cold, err := waterAt(inlet)
	if err != nil {
		return math.NaN(), err
	}
	hot, err := waterAt(outlet)
	if err != nil {
		return math.NaN(), err
	}
	if outlet < inlet {
		return math.NaN(), &num.RangeError{Field: "outlet in °C", Value: float64(outlet), Accepted: fmt.Sprintf("the inlet's %v °C or hotter", float64(inlet))}
	}
	return (hot.enthalpy - cold.enthalpy) / cold.volume / 1000, nil
}

// Outlet returns the temperature of the water leaving the heater at full fire, or at its thermostat's limit if that comes
// first. A flow at which water without a thermostat would boil, or below the minimum flow, is refused.
func (b Burner) Outlet(flowLPerMin float64, inlet unit.Celsius) (unit.Celsius, error) {
	if err := errors.Join(b.Validate(), num.Positive("flowLPerMin", flowLPerMin)); err != nil {
		return nanC, err
	}
	if flowLPerMin < b.MinFlowLPerMin {
		return nanC, &num.RangeError{Field: "flowLPerMin", Value: flowLPerMin, Accepted: fmt.Sprintf("%v or more, the heater's minimum flow", b.MinFlowLPerMin)}
	}
	cold, err := waterAt(inlet)
	if err != nil {
		return nanC, err
	}
	kgPerS := flowLPerMin / 60 / 1000 / cold.volume
	hot := waterWithEnthalpy(cold.enthalpy + b.NetKW()*1000/kgPerS)
	switch limit := b.limit(); {
	case hot <= limit:
		return hot, nil
	case b.MaxOutlet == 0:
		slowest, err := b.fullFireFlow(inlet, Boiling)
		if err != nil {
			return nanC, err
		}
		return nanC, &num.RangeError{Field: "flowLPerMin", Value: flowLPerMin, Accepted: fmt.Sprintf("%.3g or more, below that the water boils", slowest)}
	default:
		return max(limit, inlet), nil // hotter water than the thermostat wants just passes through
	}
}

// FlowFor returns the highest flow, in litres a minute metered cold, at which the heater still brings water from inlet to
// target: at full fire everything above it leaves colder. Turning the flow down to it is the first answer to a weak
// burner. A target the heater can reach at no flow it runs at gives a [*WeakBurner].
func (b Burner) FlowFor(inlet, target unit.Celsius) (float64, error) {
	if err := b.Validate(); err != nil {
		return math.NaN(), err
	}
	flow, err := b.fullFireFlow(inlet, target)
	switch {
	case err != nil:
		return math.NaN(), err
	case target > b.limit():
		return math.NaN(), &WeakBurner{Target: target, Outlet: b.limit(), Why: "its thermostat goes no higher"}
	case flow < b.MinFlowLPerMin:
		outlet, err := b.Outlet(b.MinFlowLPerMin, inlet)
		if err != nil {
			return math.NaN(), err
		}
		return math.NaN(), &WeakBurner{Target: target, Outlet: outlet, Why: fmt.Sprintf("it shuts off below %.1f L/min", b.MinFlowLPerMin)}
	}
	return flow, nil
}

func (b Burner) fullFireFlow(inlet, target unit.Celsius) (float64, error) {
	perLitre, err := joulePerLitre(inlet, target)
	if err != nil {
		return math.NaN(), err
	}
	if perLitre == 0 {
		return math.NaN(), &num.RangeError{Field: "target in °C", Value: float64(target), Accepted: fmt.Sprintf("above the inlet's %v °C; without heating there is no highest flow", float64(inlet))}
	}
	return b.NetKW() * 1000 * 60 / perLitre, nil
}

// Fuel is what the burner burns, by the unit it is sold in.
type Fuel struct {
	// MJPerUnit is the heat in one unit. Efficiency and heating value must be of one kind: a burner rated on gross (higher)
	// heating value goes with the fuel's gross value.
	MJPerUnit float64
	// Unit is "L" or "kg".
	Unit string
}

// Job is an amount of heating: Litres of water, metered cold, from Inlet to Outlet at FlowLPerMin.
type Job struct {
	Litres, FlowLPerMin float64
	Inlet, Outlet       unit.Celsius
}

// FuelFor returns how much fuel a job takes, in the fuel's own unit. A job hotter than the burner can do at that flow
// gives a [*WeakBurner] with the flow at which it could.
func (b Burner) FuelFor(j Job, f Fuel) (float64, error) {
	if err := errors.Join(
		num.NotNegative("Litres", j.Litres),
		num.Positive("MJPerUnit", f.MJPerUnit),
		fuelUnit(f.Unit),
	); err != nil {
		return math.NaN(), err
	}
	perLitre, err := joulePerLitre(j.Inlet, j.Outlet)
	if err != nil {
		return math.NaN(), err
	}
	if err := b.canDo(j); err != nil {
		return math.NaN(), err
	}
	return j.Litres * perLitre / 1e6 / b.Efficiency / f.MJPerUnit, nil
}

// canDo holds a job against power, thermostat and minimum flow.
func (b Burner) canDo(j Job) error {
	if err := b.Validate(); err != nil {
		return err
	}
	need, err := NetKW(j.FlowLPerMin, j.Inlet, j.Outlet)
	switch {
	case err != nil:
		return err
	// A job computed from the burner's own full power must not fail by the last digit.
	case need <= b.NetKW()*(1+1e-12) && j.Outlet <= b.limit() && j.FlowLPerMin >= b.MinFlowLPerMin:
		return nil
	}
	outlet, err := b.Outlet(j.FlowLPerMin, j.Inlet)
	if err != nil {
		return err
	}
	slower, err := b.FlowFor(j.Inlet, j.Outlet)
	if err != nil {
		return err
	}
	return &WeakBurner{
		Target: j.Outlet, Outlet: outlet, FlowLPerMin: slower,
		Why: fmt.Sprintf("%.3g L/min takes %.1f kW and it has %.1f kW", j.FlowLPerMin, need, b.NetKW()),
	}
}

func fuelUnit(u string) error {
	if u == "L" || u == "kg" {
		return nil
	}
	return fmt.Errorf("unit: %q is not a unit of fuel; accepted: L, kg", u)
}
