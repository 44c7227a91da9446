package cli

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"thwart/engine/heat"
	"thwart/refdata"
	"thwart/unit"
)

func (a *app) heatCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "heat",
		Short: "Can the machine do it? Heat balance of a burner, a tank and a spray",
		Long: "Heat answers what a wash unit can do before anyone tries: how hot at what flow, how long a compartment takes, how the" +
			" spray cools on its way. These are plans and never proof; what counts is a thermometer where the protocol wants it.\n\n" +
			"Temperatures are written 60, 60C or 140F, other amounts with their unit, such as 15L/min or 4gal/min. A bare number is" +
			" metric; with --units us it is refused, because it could be either.",
		Example: `  thwart heat burner --kw 60kW --in 12C --flow 15L/min
  thwart heat tank --water 150L --flow 15L/min --in 60C --start 12C --air 15C --target 49C --contact 130s
  thwart heat spray --near 0.1m=62C --far 0.5m=55C --air 18C --at 0.3m`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return nil
			}
			return unknownCommand(cmd, args[0])
		},
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(a.burnerCommand(), a.tankCommand(), a.sprayCommand())
	return cmd
}

// burnerAnswer is what a burner can do. Fields that were not asked for are absent.
type burnerAnswer struct {
	InletC      unit.Celsius  `json:"inletC"`
	NetKW       float64       `json:"netKW"` // heat that reaches the water at full fire
	FlowLPerMin float64       `json:"flowLPerMin,omitempty"`
	OutletC     *unit.Celsius `json:"outletC,omitempty"` // at that flow
	TargetC     *unit.Celsius `json:"targetC,omitempty"`
	MaxFlow     float64       `json:"maxFlowLPerMin,omitempty"` // highest flow at which the target is reached
	Reachable   *bool         `json:"reachable,omitempty"`      // the target, at the flow if one is given
	Why         string        `json:"why,omitempty"`            // why it is not
	Litres      float64       `json:"litres,omitempty"`
	Minutes     float64       `json:"minutes,omitempty"`
	Fuel        string        `json:"fuel,omitempty"`
	FuelL       float64       `json:"fuelL,omitempty"`
}

type burnerFlags struct{ kw, efficiency, in, flow, target, litres, fuel, minFlow, maxOut string }

func (a *app) burnerCommand() *cobra.Command {
	var f burnerFlags
	cmd := &cobra.Command{
		Use:   "burner",
		Short: "How hot at this flow, what flow for this temperature, how much fuel",
		Long: "Burner works out what a water heater gives at full fire: the temperature at a flow, the highest flow for a target, and" +
			" with --litres the minutes and the fuel. Flows are of the cold water that goes in.",
		Example: `  thwart heat burner --kw 60kW --in 12C --flow 15L/min
  thwart heat burner --kw 60kW --in 12C --target 60C
  thwart heat burner --kw 60kW --efficiency 0.85 --in 54F --flow 4gal/min --target 140F --litres 300L --fuel diesel`,
		Args: args(0, 0, "flags only"),
	}
	flags := cmd.Flags()
	flags.StringVar(&f.kw, "kw", "", "heat in the fuel burned at full fire, as on the plate, such as 60kW or 205000BTU/h")
	flags.StringVar(&f.efficiency, "efficiency", "0.8", "share of it that reaches the water (the default is an assumption)")
	flags.StringVar(&f.in, "in", "", "temperature of the cold water")
	flags.StringVar(&f.flow, "flow", "", "flow, such as 15L/min or 4gal/min")
	flags.StringVar(&f.target, "target", "", "temperature wanted at the outlet")
	flags.StringVar(&f.litres, "litres", "", "amount of hot water for the job, such as 300L or 80gal")
	flags.StringVar(&f.fuel, "fuel", "diesel", "fuel: "+fuels())
	flags.StringVar(&f.minFlow, "min-flow", "", "flow below which the heater shuts itself off")
	flags.StringVar(&f.maxOut, "max-out", "", "where the thermostat holds the water at most")
	a.jsonFlag(cmd)
	cmd.RunE = a.run(func(*cobra.Command, []string) error {
		answer, err := a.burner(&f)
		if err != nil {
			return err
		}
		if a.json {
			return a.writeJSON(answer)
		}
		printBurner(a.print(), &answer)
		return nil
	})
	return cmd
}

func fuels() string {
	var ids []string
	for _, f := range refdata.Fuels() {
		ids = append(ids, f.ID)
	}
	return strings.Join(ids, ", ")
}

func (a *app) burner(f *burnerFlags) (burnerAnswer, error) {
	r := amounts{units: a.units}
	r.need(f.kw != "", "kw", "the heat on the burner's plate, such as 60kW")
	r.need(f.in != "", "in", "the temperature of the cold water, such as 12C")
	r.need(f.flow != "" || f.target != "", "flow", "a flow, a --target, or both")
	b := heat.Burner{RatedKW: r.get(power, "kw", f.kw), Efficiency: r.share("efficiency", f.efficiency), MinFlowLPerMin: r.get(flow, "min-flow", f.minFlow)}
	in, target, maxOut := r.temp("in", f.in), r.temp("target", f.target), r.temp("max-out", f.maxOut)
	q, litres := r.get(flow, "flow", f.flow), r.get(volume, "litres", f.litres)
	if maxOut != nil {
		b.MaxOutlet = *maxOut
	}
	fuel, ok := refdata.FuelByID(f.fuel)
	if !ok {
		r.fail("fuel", f.fuel, fuels())
	}
	if err := r.err(); err != nil {
		return burnerAnswer{}, err
	}
	answer := burnerAnswer{InletC: *in, NetKW: b.NetKW(), FlowLPerMin: q, TargetC: target}
	if err := answer.heat(&b, q); err != nil {
		return answer, err
	}
	if litres > 0 {
		return answer, answer.job(&b, litres, heat.Fuel{MJPerUnit: fuel.MJPerL, Unit: "L"}, fuel.ID)
	}
	return answer, nil
}

// heat fills in temperature and flow.
func (w *burnerAnswer) heat(b *heat.Burner, q float64) error {
	var weak *heat.WeakBurner
	if q > 0 {
		out, err := b.Outlet(q, w.InletC)
		switch {
		case errors.As(err, &weak):
			w.no(weak.Why)
		case err != nil:
			return err
		default:
			w.OutletC = &out
		}
	}
	if w.TargetC == nil {
		return nil
	}
	most, err := b.FlowFor(w.InletC, *w.TargetC)
	switch {
	case errors.As(err, &weak):
		w.no(err.Error())
		return nil
	case err != nil:
		return err
	}
	w.MaxFlow = most
	if w.Reachable != nil {
		return nil
	}
	reached := q == 0 || q <= most
	w.Reachable = &reached
	if !reached {
		w.Why = "the flow is too high for the target"
	}
	return nil
}

func (w *burnerAnswer) no(why string) {
	no := false
	w.Reachable, w.Why = &no, why
}

// job fills in minutes and fuel for an amount of water: at the target, or where none is given, as hot as the flow leaves it.
func (w *burnerAnswer) job(b *heat.Burner, litres float64, f heat.Fuel, name string) error {
	w.Litres = litres
	out, q := w.TargetC, w.FlowLPerMin
	if out == nil {
		out = w.OutletC
	}
	if q == 0 {
		q = w.MaxFlow
	}
	if out == nil || q == 0 || w.Reachable != nil && !*w.Reachable {
		return nil
	}
	amount, err := b.FuelFor(heat.Job{Litres: litres, FlowLPerMin: q, Inlet: w.InletC, Outlet: *out}, f)
	if err != nil {
		return err
	}
	w.Minutes, w.Fuel, w.FuelL = litres/q, name, amount
	return nil
}

func printBurner(p *printer, w *burnerAnswer) {
	p.line("The burner puts %.1f kW into the water at full fire.", w.NetKW)
	if w.OutletC != nil {
		p.para(0, fmt.Sprintf("At %s, water going in at %s leaves at %s.", p.units.Flow(w.FlowLPerMin), p.units.Temp(w.InletC), p.tempDown(*w.OutletC)))
	}
	if w.MaxFlow > 0 {
		p.para(0, fmt.Sprintf("%s is reached at %s or less.", p.units.Temp(*w.TargetC), p.flowDown(w.MaxFlow)))
	}
	if w.Reachable != nil && !*w.Reachable {
		p.para(0, "CANNOT BE REACHED as asked: "+p.say(w.Why)+".")
	}
	if w.FuelL > 0 {
		p.para(0, fmt.Sprintf("%s takes %s and %s of %s.", p.units.Volume(w.Litres), unit.Duration(60*w.Minutes), p.units.Volume(w.FuelL), plain(w.Fuel)))
	}
	p.line("A plan, not proof: read the temperature where the protocol wants it.")
}

// share reads a number from 0 to 1.
func (r *amounts) share(flag, text string) float64 {
	v, err := strconv.ParseFloat(text, 64)
	if err != nil || !(v > 0 && v <= 1) {
		r.fail(flag, text, "a share above 0 and at most 1, such as 0.85")
		return 1
	}
	return v
}

// tankAnswer is how a hot flush of one compartment goes.
type tankAnswer struct {
	TargetC   unit.Celsius `json:"targetC"`
	ContactS  float64      `json:"contactS"`
	Reachable bool         `json:"reachable"`
	ReachS    float64      `json:"reachS,omitempty"` // until the exit is at the target
	TotalS    float64      `json:"totalS,omitempty"` // and the contact time after it
	UsedL     float64      `json:"usedL,omitempty"`  // hot water put in
	WasteL    float64      `json:"wasteL,omitempty"` // overflow to catch
	InsideL   float64      `json:"insideL,omitempty"`
	// Where it cannot be reached: where it settles, and what would do.
	SteadyC         *unit.Celsius `json:"steadyC,omitempty"`
	NeedInletC      *unit.Celsius `json:"needInletC,omitempty"`
	NeedFlowLPerMin *float64      `json:"needFlowLPerMin,omitempty"`
}

type tankFlags struct{ water, flow, in, start, air, target, contact, loss, structure string }

func (a *app) tankCommand() *cobra.Command {
	var f tankFlags
	cmd := &cobra.Command{
		Use:   "tank",
		Short: "How long until a compartment is hot enough, and what the flush takes",
		Long: "Tank follows a compartment that hot water flows through: minutes until the water leaving is at the target, the contact" +
			" time after that, litres used and waste to catch. Where the target cannot be reached it says what would do. The" +
			" compartment is taken as well stirred; a real one has corners that are not.",
		Example: `  thwart heat tank --water 150L --flow 15L/min --in 60C --start 12C --air 15C --target 49C --contact 130s
  thwart heat tank --water 40gal --flow 4gal/min --in 118F --start 60F --air 50F --target 120F --contact 130s --units us`,
		Args: args(0, 0, "flags only"),
	}
	flags := cmd.Flags()
	flags.StringVar(&f.water, "water", "", "water in the compartment, such as 150L or 40gal")
	flags.StringVar(&f.flow, "flow", "", "hot water in, such as 15L/min or 4gal/min")
	flags.StringVar(&f.in, "in", "", "temperature of the water where it enters the compartment")
	flags.StringVar(&f.start, "start", "", "temperature of the compartment before")
	flags.StringVar(&f.air, "air", "", "temperature of the air; left out, that of the compartment before")
	flags.StringVar(&f.target, "target", "", "temperature wanted of the water that leaves")
	flags.StringVar(&f.contact, "contact", "0s", "contact time after that, such as 130s")
	flags.StringVar(&f.loss, "loss", "0", "heat lost to the air, in W per °C above it (0 leaves it out)")
	flags.StringVar(&f.structure, "structure", "0", "heat the walls take up, in kJ per °C (0 leaves it out)")
	a.jsonFlag(cmd)
	cmd.RunE = a.run(func(*cobra.Command, []string) error {
		answer, err := a.tank(&f)
		if err != nil {
			return err
		}
		if a.json {
			return a.writeJSON(answer)
		}
		printTank(a.print(), &answer)
		return nil
	})
	return cmd
}

func (a *app) tank(f *tankFlags) (tankAnswer, error) {
	r := amounts{units: a.units}
	for _, flag := range []struct{ name, text, such string }{
		{"water", f.water, "150L"}, {"flow", f.flow, "15L/min"}, {"in", f.in, "60C"}, {"start", f.start, "12C"}, {"target", f.target, "49C"},
	} {
		r.need(flag.text != "", flag.name, "an amount such as "+flag.such)
	}
	t := heat.Tank{
		WaterL: r.get(volume, "water", f.water), FlowLPerMin: r.get(flow, "flow", f.flow),
		UAWPerK: r.number("loss", f.loss, 1e5), StructureJPerK: 1000 * r.number("structure", f.structure, 1e5),
	}
	in, start, target, air := r.temp("in", f.in), r.temp("start", f.start), r.temp("target", f.target), r.air("air", f.air)
	contact := r.get(seconds, "contact", f.contact)
	if err := r.err(); err != nil {
		return tankAnswer{}, err
	}
	t.Inlet, t.Start, t.Air = *in, *start, *start
	if air != nil {
		t.Air = *air
	}
	answer := tankAnswer{TargetC: *target, ContactS: contact}
	flush, err := t.Flush(*target, contact)
	var cannot *heat.Unreachable
	switch {
	case errors.As(err, &cannot):
		answer.SteadyC = &cannot.SteadyC
		if !math.IsInf(float64(cannot.NeedInletC), 1) {
			answer.NeedInletC = &cannot.NeedInletC
		}
		if !math.IsInf(cannot.NeedFlowLPerMin, 1) {
			answer.NeedFlowLPerMin = &cannot.NeedFlowLPerMin
		}
	case err != nil:
		return tankAnswer{}, err
	default:
		answer.Reachable = true
		answer.ReachS, answer.TotalS, answer.UsedL, answer.WasteL, answer.InsideL = flush.ReachS, flush.TotalS, flush.UsedL, flush.WasteL, flush.InsideL
	}
	return answer, nil
}

// number reads a number from 0 up to a limit.
func (r *amounts) number(flag, text string, most float64) float64 {
	v, err := strconv.ParseFloat(text, 64)
	if err != nil || !(v >= 0 && v <= most) {
		r.fail(flag, text, fmt.Sprintf("a number from 0 to %g", most))
	}
	return v
}

func printTank(p *printer, t *tankAnswer) {
	if t.Reachable {
		p.para(0, fmt.Sprintf("The water leaving is at %s after %s; hold it there for %s more: %s in all.", p.units.Temp(t.TargetC),
			unit.Duration(t.ReachS), unit.Duration(t.ContactS), unit.Duration(t.TotalS)))
		p.para(0, fmt.Sprintf("Hot water used: %s. Waste to catch: %s, and %s left inside to drain and catch.", p.units.Volume(t.UsedL),
			p.units.Volume(t.WasteL), p.units.Volume(t.InsideL)))
		p.line("A plan, not proof: the thermometer in the water that leaves decides.")
		return
	}
	p.para(0, fmt.Sprintf("CANNOT BE REACHED: it settles at %s and never holds %s.", p.units.Temp(*t.SteadyC), p.units.Temp(t.TargetC)))
	if t.NeedInletC != nil {
		p.para(0, fmt.Sprintf("At this flow the water going in would have to be hotter than %s.", p.tempUp(*t.NeedInletC)))
	}
	if t.NeedFlowLPerMin != nil {
		p.para(0, fmt.Sprintf("At this inlet temperature the flow would have to be more than %s.", p.flowUp(*t.NeedFlowLPerMin)))
	} else {
		p.line("No flow would do at this inlet temperature.")
	}
}

// sprayAnswer is how a spray cools on its way.
type sprayAnswer struct {
	LengthM *float64      `json:"lengthM,omitempty"` // over which it loses 63 % of its excess over the air; absent: no cooling measured
	AtM     float64       `json:"atM"`
	TempC   unit.Celsius  `json:"tempC"`
	LowC    unit.Celsius  `json:"lowC"` // judge by this one
	HighC   unit.Celsius  `json:"highC"`
	TargetC *unit.Celsius `json:"targetC,omitempty"`
	// NozzleC is how hot the water would have to leave the nozzle to arrive with the target; NozzleHighC covers the gauges' doubt.
	NozzleC     *unit.Celsius `json:"nozzleC,omitempty"`
	NozzleHighC *unit.Celsius `json:"nozzleHighC,omitempty"`
}

type sprayFlags struct{ near, far, air, at, plusMinus, target string }

func (a *app) sprayCommand() *cobra.Command {
	var f sprayFlags
	cmd := &cobra.Command{
		Use:   "spray",
		Short: "How hot at this distance? From two readings at measured distances",
		Long: "Spray lays the cooling of one machine's spray through two readings and answers between them, never beyond: wind, nozzle" +
			" and pressure decide how fast it cools. Judge by the low end, which allows for the thermometers' uncertainty.",
		Example: `  thwart heat spray --near 0.1m=62C --far 0.5m=55C --air 18C --at 0.3m
  thwart heat spray --near 4in=144F --far 20in=131F --air 65F --at 1ft --plus-minus 2F --target 140F --units us`,
		Args: args(0, 0, "flags only"),
	}
	flags := cmd.Flags()
	flags.StringVar(&f.near, "near", "", "reading near the nozzle, as distance=temperature, such as 0.1m=62C")
	flags.StringVar(&f.far, "far", "", "reading farther out, such as 0.5m=55C")
	flags.StringVar(&f.air, "air", "", "temperature of the air")
	flags.StringVar(&f.at, "at", "", "distance asked about, such as 0.3m or 12in")
	flags.StringVar(&f.plusMinus, "plus-minus", "1C", "uncertainty of the thermometer (the default is an assumption)")
	flags.StringVar(&f.target, "target", "", "temperature wanted at that distance")
	a.jsonFlag(cmd)
	cmd.RunE = a.run(func(*cobra.Command, []string) error {
		answer, err := a.spray(&f)
		if err != nil {
			return err
		}
		if a.json {
			return a.writeJSON(answer)
		}
		printSpray(a.print(), &answer)
		return nil
	})
	return cmd
}

func (a *app) spray(f *sprayFlags) (sprayAnswer, error) {
	r := amounts{units: a.units}
	r.need(f.near != "", "near", "distance=temperature, such as 0.1m=62C")
	r.need(f.far != "", "far", "distance=temperature, such as 0.5m=55C")
	r.need(f.air != "", "air", "the temperature of the air, such as 18C")
	r.need(f.at != "", "at", "a distance, such as 0.3m")
	gauge := r.step("plus-minus", f.plusMinus)
	near, far := r.reading("near", f.near), r.reading("far", f.far)
	air, target, at := r.air("air", f.air), r.temp("target", f.target), r.get(length, "at", f.at)
	if err := r.err(); err != nil {
		return sprayAnswer{}, err
	}
	if gauge != nil {
		near.PlusMinusK, far.PlusMinusK = *gauge, *gauge
	}
	curve, err := heat.CalibrateSpray(near, far, *air)
	if err != nil {
		return sprayAnswer{}, err
	}
	t, err := curve.At(at)
	if err != nil {
		return sprayAnswer{}, err
	}
	answer := sprayAnswer{AtM: at, TempC: unit.Celsius(t.Mid), LowC: unit.Celsius(t.Lo), HighC: unit.Celsius(t.Hi), TargetC: target}
	if l := curve.LengthM(); !math.IsInf(l, 1) {
		answer.LengthM = &l
	}
	if target != nil {
		n, err := curve.NozzleFor(*target, at)
		if err != nil {
			return sprayAnswer{}, err
		}
		mid, hi := unit.Celsius(n.Mid), unit.Celsius(n.Hi)
		answer.NozzleC, answer.NozzleHighC = &mid, &hi
	}
	return answer, nil
}

// reading reads distance=temperature.
func (r *amounts) reading(flag, text string) heat.SprayReading {
	if text == "" {
		return heat.SprayReading{}
	}
	d, t, ok := strings.Cut(text, "=")
	if !ok || d == "" || t == "" {
		r.fail(flag, text, "distance=temperature, such as 0.1m=62C or 4in=144F")
		return heat.SprayReading{}
	}
	out := heat.SprayReading{DistanceM: r.get(length, flag, d)}
	if c := r.temp(flag, t); c != nil {
		out.Temp = *c
	}
	return out
}

func printSpray(p *printer, s *sprayAnswer) {
	p.para(0, fmt.Sprintf("At %s the spray is at %s, between %s and %s. Judge by %s.", p.units.Length(s.AtM), p.units.Temp(s.TempC),
		p.tempDown(s.LowC), p.tempUp(s.HighC), p.tempDown(s.LowC)))
	if s.NozzleC != nil {
		p.para(0, fmt.Sprintf("To arrive with %s the water has to leave the nozzle at about %s; to be sure, at %s.", p.units.Temp(*s.TargetC),
			p.tempUp(*s.NozzleC), p.tempUp(*s.NozzleHighC)))
	}
	p.line("A plan, not proof: read the temperature at the surface or of the run-off.")
}
