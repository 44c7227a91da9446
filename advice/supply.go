package advice

import (
	"errors"
	"math"

	"thwart"
	"thwart/engine/heat"
	"thwart/engine/lethal"
	"thwart/refdata"
	"thwart/tongue"
	"thwart/unit"
)

// What a wash is planned with where the unit's own figures are missing. Each marks the step as an estimate.
const (
	// unknownGaugeC is taken for a thermometer nobody has checked: the tolerance of a class 2 type K thermocouple
	// (IEC 60584-1, from memory).
	unknownGaugeC = 2.5
	// usualFlowLPerMin is about 4 US gal/min, usual for portable units (from memory).
	usualFlowLPerMin = 15.0
	// usualSupplyC is lake or tank water in early summer (assumption).
	usualSupplyC = unit.Celsius(15)
	// usualEfficiency of a burner, to be replaced by its plate (assumption).
	usualEfficiency = 0.8
	// usualPassM is the width one pass of the wand covers (assumption; measure it on a dry wall).
	usualPassM = 0.30
	usualFuel  = "diesel"
)

// supply is the hot water at hand, as far as it is known.
type supply struct {
	unit     *thwart.WashUnit
	flow     float64
	cold     unit.Celsius
	gauge    float64
	out      unit.Celsius // at the machine: read, or worked out from the burner
	read     bool         // out was read on a thermometer
	known    bool         // out is known at all
	burner   *heat.Burner
	assumed  bool // flow, supply or efficiency had to be assumed
	fuel     heat.Fuel
	passM    float64
	passOpen bool // the pass width was assumed
}

func supplyOf(u *thwart.WashUnit) supply {
	if u == nil { // a rule of the place may order a wash where no machine is noted: nothing is known of its water then
		u = &thwart.WashUnit{}
	}
	s := supply{unit: u, flow: u.FlowLPerMin, cold: usualSupplyC, gauge: unknownGaugeC, passM: u.PassWidthM}
	if s.flow == 0 {
		s.flow, s.assumed = usualFlowLPerMin, true
	}
	if u.SupplyC != nil {
		s.cold = *u.SupplyC
	} else {
		s.assumed = true
	}
	if u.GaugePlusMinusC != nil {
		s.gauge = *u.GaugePlusMinusC
	}
	if s.passM == 0 {
		s.passM, s.passOpen = usualPassM, true
	}
	if u.BurnerKW > 0 {
		b := heat.Burner{RatedKW: u.BurnerKW, Efficiency: u.Efficiency, MinFlowLPerMin: u.MinFlowLPerMin}
		if b.Efficiency == 0 {
			b.Efficiency, s.assumed = usualEfficiency, true
		}
		s.burner = &b
	}
	name := u.Fuel
	if name == "" {
		name = usualFuel
	}
	if f, ok := refdata.FuelByID(name); ok {
		s.fuel = heat.Fuel{MJPerUnit: f.MJPerL, Unit: "L"}
	}
	switch {
	case u.OutletC != nil:
		s.out, s.read, s.known = *u.OutletC, true, true
	case s.burner != nil:
		if t, err := s.burner.Outlet(s.flow, s.cold); err == nil {
			s.out, s.known = t, true
		}
	}
	return s
}

// proven is the temperature that the machine is shown to give: a reading less the thermometer's uncertainty.
func (s *supply) proven() unit.Celsius {
	if !s.read {
		return s.out
	}
	return lethal.Effective(s.out, s.gauge)
}

// judge says whether a wash line can be met with the water at hand, and if not, what else may be done.
func (s *supply) judge(row *thwart.WashRow) (possible, because string, choices []thwart.Choice) {
	if !s.known {
		return "unknown", tongue.Say("Nothing is known of the water's temperature. Read it {where} before the time counts.", whereRead(row.Measured)), nil
	}
	if s.proven() < row.TempC-1e-9 {
		return s.tooCold(row)
	}
	switch {
	case s.read && s.unit.ReadAt.Proves(row.Measured):
		return "yes", tongue.Say("{temperature} read {where}, {proven} after the thermometer's ±{doubt}.", temp(s.out), whereRead(row.Measured),
			temp(s.proven()), unit.Metric.TempStep(s.gauge)), nil
	case s.read:
		return "yes", tongue.Say("The machine gives {temperature}. What counts is read {where}.", temp(s.out), whereRead(row.Measured)), nil
	}
	return "yes", tongue.Say("The burner can give {temperature} at {flow} (worked out, not read). What counts is read {where}.",
		temp(s.out), unit.Metric.Flow(s.flow), whereRead(row.Measured)), nil
}

func (s *supply) tooCold(row *thwart.WashRow) (possible, because string, choices []thwart.Choice) {
	possible = "not_now"
	if s.read {
		because = tongue.Say("The water reads {temperature} with ±{doubt}, which proves {proven}. This step needs {need} {where}.", temp(s.out),
			unit.Metric.TempStep(s.gauge), temp(s.proven()), temp(row.TempC), whereRead(row.Measured))
	} else {
		because = tongue.Say("The burner gives {temperature} at {flow} (worked out). This step needs {need}.", temp(s.out), unit.Metric.Flow(s.flow), temp(row.TempC))
	}
	if s.burner != nil {
		q, err := s.burner.FlowFor(s.cold, row.TempC+unit.Celsius(s.gauge))
		var weak *heat.WeakBurner
		if err == nil && q < s.flow && !errors.As(err, &weak) {
			choices = append(choices, thwart.Choice{
				Code: "lower_flow",
				Text: tongue.Say("Turn the flow down to {flow} or less: the burner then gives {temperature}.", unit.Metric.Flow(q), temp(row.TempC+unit.Celsius(s.gauge))),
			})
		}
	}
	if spare := float64(s.out - row.TempC); s.read && spare > 0 && spare < s.gauge {
		choices = append(choices, thwart.Choice{
			Code: "better_thermometer",
			Text: tongue.Say("A thermometer good to ±{doubt} or better, read {where}, could prove it.", unit.Metric.TempStep(math.Floor(spare*10)/10), whereRead(row.Measured)),
		})
	}
	return possible, because, append(choices,
		thwart.Choice{Code: "repair", Text: tongue.Say("Mend the burner, mark the unit out of service until then, and list the craft washed since its last good reading for review.")},
		thwart.Choice{Code: "other_unit", Text: tongue.Say("Send the craft to another wash unit that is hot enough.")})
}

// alternative offers a wash by an exposure somebody tested, where the protocol lets two people approve it. Only a tested
// pair at or below the proven temperature counts; nothing is read between pairs.
func (s *supply) alternative(row *thwart.WashRow) (thwart.Choice, bool) {
	pair, ok := lethal.TestedAtOrBelow(testedPairs(row.Method.Immersed() || row.Method == thwart.MethodLowOrFlush), s.proven())
	if !ok {
		return thwart.Choice{}, false
	}
	return thwart.Choice{
		Code: "alternative", TempC: pair.TempC, ContactS: pair.ContactS, Approvals: 2, Source: pair.Source, NotProven: true,
		Text: tongue.Say("With two approvals, the exposure tested at {temperature}: at least {time} at each spot. It is recorded as an alternative,"+
			" not as the standard, and the receipt says so. Published trials disagree at such temperatures, so a dry hold is better.",
			temp(pair.TempC), unit.Duration(pair.ContactS)),
	}, true
}

// effort works out the fuel for an amount of hot water.
func (s *supply) fuelFor(litres float64, target unit.Celsius) (fuelL float64, estimate bool) {
	if s.known && s.out > target {
		target = s.out
	}
	b := heat.Burner{RatedKW: 1e6, Efficiency: usualEfficiency}
	estimate = true
	if s.burner != nil {
		b.Efficiency, estimate = s.burner.Efficiency, s.assumed
	}
	if target <= s.cold || s.fuel.MJPerUnit == 0 {
		return 0, estimate
	}
	f, err := b.FuelFor(heat.Job{Litres: litres, FlowLPerMin: s.flow, Inlet: s.cold, Outlet: target}, s.fuel)
	if err != nil {
		return 0, true
	}
	return f, estimate
}

// whereRead says where a temperature is read.
func whereRead(at thwart.MeasuredAt) string { return tongue.Say(measureWords[at]) }

var measureWords = map[thwart.MeasuredAt]tongue.Text{
	thwart.AtContact: "at the surface or in the run-off", thwart.AtExit: "in the water that leaves the craft",
	thwart.AtContactOrExit: "at the surface or in the water that leaves", thwart.AtSoak: "in the bath beside the gear",
	thwart.AtNozzle: "at the nozzle", thwart.AtInlet: "at the inlet", thwart.AtUnknown: "at a place nobody wrote down",
}
