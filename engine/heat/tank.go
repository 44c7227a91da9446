package heat

import (
	"errors"
	"fmt"
	"math"

	"thwart/engine/num"
	"thwart/unit"
)

// Tank is a compartment that keeps its volume of water while hot water flows in, mixes and overflows: a live well, a
// ballast tank, a cooling circuit, a bilge. It is taken as well stirred, with the structure as hot as the water:
//
//	(H V + C) dT/dt = H Q (Tin - T) - UA (T - Tair)
//
// where H is the heat capacity of a litre of water. The exit then shows the temperature inside. A real compartment has
// corners that stir badly; the exit thermometer and the contact time decide, not this clock.
//
// With no flow it is a standing tank that cools; with no water, a wet wall being rinsed.
type Tank struct {
	WaterL         float64      // V: water in the compartment, constant while it overflows
	StructureJPerK float64      // C: heat capacity of the walls that warm with it; 0 leaves them out
	FlowLPerMin    float64      // Q: hot water in, equal to the overflow
	Inlet          unit.Celsius // Tin: where the water enters, not at the burner
	Air            unit.Celsius // Tair
	Start          unit.Celsius // water and structure when the flow begins
	UAWPerK        float64      // UA: heat lost to the air per degree above it
	// WaterJPerLK is H, one value for all the water. Zero takes the water's own ([WaterHeatPerLitre]): as it is at Inlet for
	// what flows in and as it is at Start for what is inside. Against a balance whose properties change as the water warms,
	// that errs to the cold side, by at most 0.4 K and 3 % of the time for starts of 0 to 25 °C and inlets of 45 to 70 °C
	// (to the hot side by 0.01 K); a single value errs as much to the hot side.
	WaterJPerLK float64
}

// Validate names the fields that cannot be.
func (t Tank) Validate() error {
	if err := errors.Join(
		num.NotNegative("WaterL", t.WaterL),
		num.NotNegative("StructureJPerK", t.StructureJPerK),
		num.NotNegative("FlowLPerMin", t.FlowLPerMin),
		num.Within("Inlet in °C", float64(t.Inlet), float64(Freezing), float64(Boiling)),
		num.Within("Air in °C", float64(t.Air), -60, 60),
		num.Within("Start in °C", float64(t.Start), float64(Freezing), float64(Boiling)),
		num.NotNegative("UAWPerK", t.UAWPerK),
		num.NotNegative("WaterJPerLK", t.WaterJPerLK),
	); err != nil {
		return err
	}
	if t.WaterL == 0 && t.StructureJPerK == 0 {
		return &num.RangeError{Field: "WaterL", Value: 0, Accepted: "above 0, or StructureJPerK above 0: there is nothing here to warm"}
	}
	return nil
}

// solved is the closed form T(s) = steady + (start - steady) exp(-s·rate).
type solved struct {
	steady, start unit.Celsius
	rate          float64 // 1/s; 0 when nothing flows and nothing is lost
	wPerKPerFlow  float64 // watts per degree that each litre a minute brings
}

func (t Tank) solve() (solved, error) {
	if err := t.Validate(); err != nil {
		return solved{}, err
	}
	entering, inside := t.WaterJPerLK, t.WaterJPerLK
	if t.WaterJPerLK == 0 {
		// Both temperatures have been validated, so neither call can fail.
		entering, _ = WaterHeatPerLitre(t.Inlet)
		inside, _ = WaterHeatPerLitre(t.Start)
	}
	s := solved{steady: t.Start, start: t.Start, wPerKPerFlow: entering / 60}
	flow := s.wPerKPerFlow * t.FlowLPerMin
	if drive := flow + t.UAWPerK; drive > 0 {
		// In this form a tank without loss settles at the inlet's temperature to the last digit.
		s.steady = t.Inlet - (t.Inlet-t.Air)*unit.Celsius(t.UAWPerK/drive)
		s.rate = drive / (inside*t.WaterL + t.StructureJPerK)
	}
	return s, nil
}

func (s solved) at(seconds float64) unit.Celsius {
	return s.steady + (s.start-s.steady)*unit.Celsius(math.Exp(-s.rate*seconds))
}

// secondsTo is when a temperature strictly between start and steady is passed.
func (s solved) secondsTo(t unit.Celsius) float64 {
	return math.Log(float64((s.start-s.steady)/(t-s.steady))) / s.rate
}

// At returns the temperature after the given seconds of flow.
func (t Tank) At(seconds float64) (unit.Celsius, error) {
	if err := num.NotNegative("seconds", seconds); err != nil {
		return nanC, err
	}
	s, err := t.solve()
	if err != nil {
		return nanC, err
	}
	return s.at(seconds), nil
}

// Steady returns the temperature the tank tends to and never quite reaches: the inlet's less what the walls lose, the
// air's when nothing flows, the start's when nothing is lost either.
func (t Tank) Steady() (unit.Celsius, error) {
	s, err := t.solve()
	if err != nil {
		return nanC, err
	}
	return s.steady, nil
}

// Unreachable says that a compartment will not get, or not stay, as hot as asked, and what would change that.
type Unreachable struct {
	Target unit.Celsius
	// SteadyC is where the temperature settles.
	SteadyC unit.Celsius
	// NeedInletC is the inlet temperature at this flow above which the target is reached; +Inf when nothing flows in.
	NeedInletC unit.Celsius
	// NeedFlowLPerMin is the flow at this inlet temperature above which the target is reached; +Inf when the inlet itself is
	// no hotter than the target, so that no flow would do.
	NeedFlowLPerMin float64
}

func (e *Unreachable) Error() string {
	s := fmt.Sprintf("%.1f °C is out of reach: the compartment settles at %.1f °C", float64(e.Target), float64(e.SteadyC))
	hotter := !math.IsInf(float64(e.NeedInletC), 1) && e.NeedInletC <= Boiling
	faster := !math.IsInf(e.NeedFlowLPerMin, 1)
	// Both are bounds that must be exceeded, so they are rounded up.
	inlet := fmt.Sprintf("water entering above %.1f °C", math.Ceil(float64(e.NeedInletC)*10)/10)
	flow := fmt.Sprintf("a flow above %.1f L/min", math.Ceil(e.NeedFlowLPerMin*10)/10)
	switch {
	case hotter && faster:
		return s + "; it takes " + inlet + ", or " + flow
	case hotter:
		return s + "; it takes " + inlet + ", and no flow makes up for that"
	case faster:
		return s + "; it takes " + flow
	}
	return s + "; neither more flow nor hotter water alone would do"
}

func (t Tank) unreachable(s solved, target unit.Celsius) *Unreachable {
	lost := t.UAWPerK * float64(target-t.Air)
	e := &Unreachable{Target: target, SteadyC: s.steady, NeedInletC: unit.Celsius(math.Inf(1)), NeedFlowLPerMin: math.Inf(1)}
	if t.FlowLPerMin > 0 {
		e.NeedInletC = target + unit.Celsius(lost/(s.wPerKPerFlow*t.FlowLPerMin))
	}
	if t.Inlet > target {
		e.NeedFlowLPerMin = lost / (s.wPerKPerFlow * float64(t.Inlet-target))
	}
	return e
}

// SecondsTo returns how long it takes until the tank is at the target or hotter: 0 when it starts there. A target it
// never reaches, the steady temperature included, gives an [*Unreachable].
func (t Tank) SecondsTo(target unit.Celsius) (float64, error) {
	s, err := t.solve()
	if err := errors.Join(err, num.Finite("target in °C", float64(target))); err != nil {
		return math.NaN(), err
	}
	switch {
	case s.start >= target:
		return 0, nil
	case s.steady > target:
		return s.secondsTo(target), nil
	}
	return math.NaN(), t.unreachable(s, target)
}

// SecondsAbove returns how long a tank that starts at the target or hotter stays so: a soak standing and cooling. It is
// +Inf when it never falls below, and 0 when it starts below.
func (t Tank) SecondsAbove(target unit.Celsius) (float64, error) {
	s, err := t.solve()
	if err := errors.Join(err, num.Finite("target in °C", float64(target))); err != nil {
		return math.NaN(), err
	}
	switch {
	case s.start < target:
		return 0, nil
	case s.steady >= target || s.rate == 0:
		return math.Inf(1), nil
	case s.start == target:
		return 0, nil
	}
	return s.secondsTo(target), nil
}

// Flush is a hot flush of a compartment, from opening the valve to closing it.
type Flush struct {
	ReachS  float64 // seconds until the exit is at the target
	TotalS  float64 // those and the contact time after them
	UsedL   float64 // hot water put in
	WasteL  float64 // what overflows meanwhile and must be caught: as much as was put in
	InsideL float64 // what is still in the compartment afterwards, to be drained and caught too
}

// Flush returns how long and how much water it takes to bring the exit to the target and hold it there for holdS seconds
// without a break. It gives an [*Unreachable] when the target is not reached, or when a compartment that starts hot
// would fall below it before the time is up.
func (t Tank) Flush(target unit.Celsius, holdS float64) (Flush, error) {
	if err := num.NotNegative("holdS", holdS); err != nil {
		return Flush{}, err
	}
	reach, err := t.SecondsTo(target)
	if err != nil {
		return Flush{}, err
	}
	s, err := t.solve()
	if err != nil {
		return Flush{}, err
	}
	total := reach + holdS
	// The temperature runs one way only, so it holds throughout if it heats, or is still there at the end.
	if s.steady < target && s.at(total) < target {
		return Flush{}, t.unreachable(s, target)
	}
	litres := t.FlowLPerMin / 60 * total
	return Flush{ReachS: reach, TotalS: total, UsedL: litres, WasteL: litres, InsideL: t.WaterL}, nil
}
