package demo

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"thwart"
	"thwart/advice"
)

// burner is a wash unit's heat as the simulation has it.
type burner struct {
	kw         float64
	efficiency float64
	flow       float64 // L/min
	setC       float64 // its thermostat
	lossC      float64 // between nozzle and surface
}

// litreKJ is the heat that warms a litre of water by one kelvin, near 40 °C: 0.9922 kg/L × 4.179 kJ/(kg·K) (IAPWS-IF97).
const litreKJ = 4.146

// outletC is what the burner gives at full flow: supply plus ηP/(flow·c), at most its thermostat.
func (b burner) outletC(supply float64) float64 {
	return math.Min(b.setC, supply+b.kw*b.efficiency/(b.flow/60*litreKJ))
}

// supplyC is the cold water of the region through the season (invented): 8 °C in spring to 19 °C in August.
func supplyC(day time.Time) float64 {
	return 13.5 - 5.5*math.Cos(2*math.Pi*(float64(day.YearDay())-36)/365)
}

// wash carries out a wash and writes it down: every part the table has a line for, in the order of the protocol.
func (s *shift) wash(encounter string, e *thwart.Encounter, c craft, done time.Time) {
	r, w := s.r, s.w
	k := &w.Kits[s.plan.kit]
	lag := between(r, 4, 25)
	if s.plan.kitKM > 0.5 {
		lag += s.plan.kitKM * 1.3
	}
	start := done.Add(minutes(lag)).Truncate(time.Second)
	supply := supplyC(start)
	outlet := k.heat.outletC(supply)
	var organisms []string
	for i := range e.Inspection.LastWaters {
		v := &e.Inspection.LastWaters[i]
		if at, ok := w.index[v.Water]; ok && v.OutAt != nil {
			b := w.Waters[at].Known(start).At(v.Water, *v.OutAt)
			for _, o := range demoOrganisms {
				if b.Of(o).AtRisk() {
					organisms = append(organisms, o)
				}
			}
		}
	}
	if len(organisms) == 0 {
		organisms = demoOrganisms
	}
	out := thwart.WashDone{Encounter: encounter, Kit: k.ID, People: []string{s.plan.crew.ID}}
	var took time.Duration
	heat := 0.0
	for _, part := range thwart.Parts {
		row := s.row(part)
		if row == nil || !c.has(part) {
			continue
		}
		// One step in forty is cut short or done with the lance too far off.
		slack := between(r, 1.08, 1.6)
		if chance(r, 0.025) {
			slack = between(r, 0.45, 0.9)
		}
		log := k.heat.log(row, outlet, supply, slack, r)
		claim := thwart.WashClaim{
			Part: part, Risk: "high", Method: doneBy(row.Method), Measured: readAt(row.Measured),
			PlusMinusC: k.Body.Unit.GaugePlusMinusC, PressureBar: pressure(row, r), Organisms: organisms,
		}
		proof, err := advice.Prove(w.expanded, claim, log)
		if err != nil {
			panic(fmt.Sprintf("demo: wash of %s: %v", part, err))
		}
		step := thwart.WashStepDone{Claim: claim, Probes: [][]thwart.Probe{log}, Proof: &proof, Outcome: "met"}
		if proof.Protocol != "met" {
			step.Outcome, step.Why = "short", "the line was not held"
			if len(proof.Why) > 0 {
				step.Why = proof.Why[0]
			}
		}
		out.Steps = append(out.Steps, step)
		spray := log[len(log)-1].AtS * spots(part, c)
		out.WaterL += spray / 60 * k.heat.flow
		heat += spray / 60 * k.heat.flow * litreKJ * (outlet - supply)
		took += seconds(spray + between(r, 30, 90))
	}
	if len(out.Steps) == 0 {
		return
	}
	start = w.slot(s.plan.kit, start, took)
	end := start.Add(took)
	out.StartedAt, out.EndedAt = start.Add(s.plan.crew.skewed), end.Add(s.plan.crew.skewed)
	out.WaterL = round(out.WaterL, 0)
	// Diesel gives about 38.3 MJ a litre: 137,381 Btu a US gallon (US Energy Information Administration).
	out.FuelL = round(heat/k.heat.efficiency/38290, 1)
	s.book.write(thwart.KindWash, "", end.Add(20*time.Second), s.plan.crew, &out, r)
}

// slot finds the first time from a moment on at which a unit is free for so long, and takes it.
func (w *World) slot(kit int, from time.Time, long time.Duration) time.Time {
	busy := w.washing[kit]
	for moved := true; moved; {
		moved = false
		for _, b := range busy {
			if from.Before(b[1]) && from.Add(long).After(b[0]) {
				from, moved = b[1].Add(2*time.Minute), true
			}
		}
	}
	w.washing[kit] = append(busy, [2]time.Time{from, from.Add(long)})
	return from
}

// spots is how many times the logged spot is repeated to cover a part.
func spots(part thwart.Part, c craft) float64 {
	switch part {
	case thwart.PartHull:
		return 2.2 * c.setup.LengthM
	case thwart.PartTrailer:
		return 4
	}
	return 1
}

func (c *craft) has(part thwart.Part) bool {
	for i := range c.round.places {
		if c.round.places[i].Part == part {
			return true
		}
	}
	return false
}

// row finds the protocol's line for a part of a craft from a water at risk.
func (s *shift) row(part thwart.Part) *thwart.WashRow {
	for i := range s.w.expanded.Wash {
		if r := &s.w.expanded.Wash[i]; r.Part == part && r.Risk != "low" {
			return r
		}
	}
	return nil
}

func doneBy(m thwart.Method) thwart.Method {
	if m == thwart.MethodLowOrFlush {
		return thwart.MethodFlush
	}
	return m
}

func readAt(m thwart.MeasuredAt) thwart.MeasuredAt {
	if m == thwart.AtContactOrExit {
		return thwart.AtExit
	}
	return m
}

func pressure(row *thwart.WashRow, r *rand.Rand) float64 {
	if row.PressureMaxBar == 0 {
		return 0
	}
	return round(row.PressureMaxBar*between(r, 0.5, 0.95), 1)
}

// log is what a thermometer writes while a line is worked off: the water warms up, is held for the contact time and a
// little longer, and the reading trembles.
//
// A space of volume V flushed at flow q follows dT/dt = (q/V)(T_in − T) − (T − T_air)·u, whose answer is an exponential
// towards T_end = (q/V·T_in + u·T_air)/(q/V + u) at the rate q/V + u. A surface under a spray does the same, faster.
func (b burner) log(row *thwart.WashRow, outlet, supply, slack float64, r *rand.Rand) []thwart.Probe {
	var rate, loss, in float64 // per second
	switch {
	case row.Method.Immersed() || row.Measured == thwart.AtExit || row.Method == thwart.MethodLowOrFlush:
		rate, loss, in = b.flow/60/between(r, 9, 16), 0.0006, outlet-1
		if row.TempC < 55 {
			in = math.Min(in, 58) // no need to run compartments hotter
		}
	default:
		rate, loss, in = 1/between(r, 5, 11), 0.002, outlet-b.lossC+between(r, 0.5, 2.5)
	}
	air := supply + 6
	end := (rate*in + loss*air) / (rate + loss)
	target := float64(row.TempC) + 0.9
	need := math.Max(row.ContactS, 20) * slack
	dt := 1.0
	if need > 60 {
		dt = 3
	}
	log := make([]thwart.Probe, 0, 200)
	held, drift := 0.0, 0.0
	for t := 0.0; t < 900 && held < need; t += dt {
		drift = 0.9*drift + 0.16*r.NormFloat64()
		c := end + (supply-end)*math.Exp(-(rate+loss)*t) + drift
		if c >= target {
			held += dt
		} else if t > 480 {
			break // it will not get there
		}
		log = append(log, thwart.Probe{AtS: t, TempC: celsius(round(c, 1))})
	}
	return append(log, thwart.Probe{AtS: log[len(log)-1].AtS + dt, TempC: log[len(log)-1].TempC})
}
