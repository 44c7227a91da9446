package demo

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"thwart"
	"thwart/advice"
	"thwart/engine/heat"
	"thwart/refdata"
	"thwart/unit"
)

// burner is a wash unit's heat as the simulation has it. Its laws are those of package heat.
type burner struct {
	heat.Burner
	flow  float64 // L/min
	lossC float64 // between nozzle and surface
}

// outlet is what the burner gives at full flow.
func (b burner) outlet(supply unit.Celsius) unit.Celsius { return must(b.Outlet(b.flow, supply)) }

// must is for laws of package heat: the demo asks nothing of them that cannot be.
func must[T any](x T, err error) T {
	if err != nil {
		panic(fmt.Sprintf("demo: %v", err))
	}
	return x
}

// supplyC is the cold water of the region through the season (invented): 8 °C in spring to 19 °C in August.
func supplyC(day time.Time) unit.Celsius {
	return unit.Celsius(13.5 - 5.5*math.Cos(2*math.Pi*(float64(day.YearDay())-36)/365))
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
	outlet := k.heat.outlet(supply)
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
		took += seconds(spray + between(r, 30, 90))
	}
	if len(out.Steps) == 0 {
		return
	}
	start = w.slot(s.plan.kit, start, took)
	end := start.Add(took)
	out.StartedAt, out.EndedAt = start.Add(s.plan.crew.skewed), end.Add(s.plan.crew.skewed)
	out.FuelL = round(must(k.heat.FuelFor(heat.Job{Litres: out.WaterL, FlowLPerMin: k.heat.flow, Inlet: supply, Outlet: outlet}, fuelOf(k))), 1)
	out.WaterL = round(out.WaterL, 0)
	s.book.write(thwart.KindWash, "", end.Add(20*time.Second), s.plan.crew, &out, r)
}

func fuelOf(k *Kit) heat.Fuel {
	f, ok := refdata.FuelByID(k.Body.Unit.Fuel)
	if !ok {
		panic("demo: a unit burns " + k.Body.Unit.Fuel)
	}
	return heat.Fuel{MJPerUnit: f.MJPerL, Unit: "L"}
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
func (b burner) log(row *thwart.WashRow, outlet, supply unit.Celsius, slack float64, r *rand.Rand) []thwart.Probe {
	spot := b.warming(row, outlet, supply, r)
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
		c := float64(must(spot.At(t))) + drift
		if c >= target {
			held += dt
		} else if t > 480 {
			break // it will not get there
		}
		log = append(log, thwart.Probe{AtS: t, TempC: celsius(round(c, 1))})
	}
	return append(log, thwart.Probe{AtS: log[len(log)-1].AtS + dt, TempC: log[len(log)-1].TempC})
}

// warming is what a line heats: a compartment that is flushed, or a spot of a surface under the spray. How large they are and what
// they lose is invented.
func (b burner) warming(row *thwart.WashRow, outlet, supply unit.Celsius, r *rand.Rand) heat.Tank {
	t := heat.Tank{FlowLPerMin: b.flow, Air: supply + 6, Start: supply}
	if row.Method.Immersed() || row.Measured == thwart.AtExit || row.Method == thwart.MethodLowOrFlush {
		t.WaterL, t.Inlet = between(r, 9, 16), outlet-1
		t.UAWPerK = 2.5 * t.WaterL
		if row.TempC < 55 {
			t.Inlet = min(t.Inlet, 58) // no need to run compartments hotter
		}
		return t
	}
	followsS := between(r, 5, 11)
	t.Inlet = outlet - unit.Celsius(b.lossC-between(r, 0.5, 2.5))
	t.StructureJPerK = must(heat.WaterHeatPerLitre(t.Inlet)) * b.flow / 60 * followsS
	t.UAWPerK = 0.002 * t.StructureJPerK
	return t
}
