package advice

import (
	"math"
	"slices"
	"strings"

	"thwart"
	"thwart/engine/heat"
	"thwart/lean"
	"thwart/tongue"
	"thwart/unit"
)

// Sizes a wash is planned with where the craft's own are not known. Each marks the step as an estimate.
const (
	// hullShape is wetted surface as a share of length × (beam + freeboard strip) (assumption: a V hull on its trailer).
	hullShape = 0.85
	// sideStripM is the band above the waterline that is washed too, both sides together (assumption).
	sideStripM = 0.6
	// tankL is a built-in ballast tank or bag whose size nobody knows. Trade press gives 1,130-2,500 L for whole sets of
	// three or so (assumption from it).
	usualBallastL = 500.0
	usualWellL    = 60.0 // a live well (from memory: 10-25 US gal)
	usualBilgeL   = 20.0 // what a bilge is flushed with (assumption)
	// residualL is the water left in a ballast tank after draining: 31.9 L on average (Campbell et al. 2016, from memory).
	residualL = 32.0
	// engineMinutes is what a flush of cooling passages takes at least: one outboard maker asks for 5 min at idle
	// (manufacturer's manual, as cited under material limits).
	engineMinutes = 5.0
	// hotEnoughK is how much hotter than the target a unit runs once it is hot enough (assumption).
	hotEnoughK = 15.0
)

// wash writes the hot steps: the whole craft when it comes from a water at risk or carried attached life, otherwise the
// parts that failed.
func (b *builder) wash() {
	hot := supplyOf(b.unit)
	parts, of := partsPresent(b.places)
	washOrder(parts, b.protocol)
	whole := b.atRisk() || b.has(thwart.ReasonDeadMussel, thwart.ReasonLiveMussel, thwart.ReasonAlways)
	for _, part := range parts {
		if !whole && !b.failed(part) {
			continue
		}
		ids := make([]string, 0, len(of[part]))
		for _, i := range of[part] {
			ids = append(ids, b.places[i].ID)
		}
		row := washRow(b.protocol, part, b.riskClass())
		if row == nil {
			b.add(thwart.Step{
				Kind: thwart.StepWipe, Part: part, Places: ids, Minutes: 0.5 * float64(len(ids)),
				Do:     tongue.Say("The wash table has no line for these places: empty, clean by hand and towel them dry."),
				Source: commonPractice(),
			})
			continue
		}
		b.washPart(&hot, row, ids)
	}
}

// washOrder puts parts into the order that the protocol washes them in; it keeps the order within inside and outside.
func washOrder(parts []thwart.Part, p *thwart.Protocol) {
	if p.WashOrder != "outside_first" {
		return
	}
	outside := func(p thwart.Part) int {
		if p == thwart.PartHull || p == thwart.PartTrailer {
			return 0
		}
		return 1
	}
	lean.SortStable(parts, func(x, y thwart.Part) int { return outside(x) - outside(y) })
}

// WashCard lists the lines of a protocol's wash table that a wash may follow, in the order in which parts are washed: for each
// part the line that holds for every craft, or the two that hold for low and high risk. The protocol's tables are filled in.
func WashCard(p *thwart.Protocol) []thwart.WashRow {
	parts := slices.Clone(thwart.Parts)
	washOrder(parts, p)
	var rows []thwart.WashRow
	for _, part := range parts {
		low, high := washRow(p, part, "low"), washRow(p, part, "high")
		if low != nil {
			rows = append(rows, *low)
		}
		if high != nil && high != low {
			rows = append(rows, *high)
		}
	}
	return rows
}

// riskClass picks the line of a wash table that goes by risk. Only a craft from no water at risk takes the milder one.
func (b *builder) riskClass() string {
	if b.history.atRisk {
		return "high"
	}
	return "low"
}

func (b *builder) failed(part thwart.Part) bool {
	return slices.ContainsFunc(b.verdict.Reasons, func(r thwart.Reason) bool {
		p := b.placeByID(r.Place)
		return p != nil && p.Part == part && r.Outcome == thwart.Wash
	})
}

// washRow finds the line for a part: the protocol's own lines first, then its table's.
func washRow(p *thwart.Protocol, part thwart.Part, risk string) *thwart.WashRow {
	for i := range p.Wash {
		if r := &p.Wash[i]; r.Part == part && (r.Risk == "" || r.Risk == risk) {
			return r
		}
	}
	return nil
}

func (b *builder) washPart(hot *supply, row *thwart.WashRow, ids []string) {
	st := thwart.Step{
		Part: row.Part, Places: ids, TargetC: row.TempC, Measured: row.Measured, ContactS: row.ContactS, Method: row.Method,
		PressureMaxBar: row.PressureMaxBar, MaxInletC: row.MaxInletC, Source: row.Source,
	}
	st.Possible, st.Because, st.Choices = hot.judge(row)
	if st.Possible == "not_now" {
		b.out.Possible = false
		if b.protocol.Alternative {
			if c, ok := hot.alternative(row); ok {
				st.Choices = append(st.Choices, c)
			}
		}
		st.Choices = append(st.Choices, thwart.Choice{Code: "dry", Text: tongue.Say("Clean by hand and let it dry instead: see the drying clock.")})
	}
	st.Species = b.speciesNeeds(row)
	var seconds, litres float64
	switch row.Method {
	case thwart.MethodEngineFlush:
		st.Kind = thwart.StepEngine
		seconds, litres = b.engineFlush(&st, hot)
	case thwart.MethodFlush, thwart.MethodFillFlush, thwart.MethodLowOrFlush:
		st.Kind = thwart.StepFlush
		if row.Method == thwart.MethodFillFlush {
			st.Kind = thwart.StepFillFlush
		}
		seconds, litres = b.compartments(&st, hot, row)
	case thwart.MethodSoak:
		st.Kind = thwart.StepSoak
		seconds, litres = row.ContactS, usualWellL
		st.Estimate = true
	default:
		st.Kind = thwart.StepWash
		seconds, litres = b.spray(&st, hot, row)
	}
	st.Minutes, st.WaterL = seconds/60, litres
	var guess bool
	st.FuelL, guess = hot.fuelFor(litres, row.TempC)
	st.Estimate = st.Estimate || guess || hot.assumed
	st.Do = washWords(&st, row, b.in.Setup.Paint)
	b.add(st)
}

// spray times a hot spray so that every spot gets its contact time. A spot under the spray is as long as the pass is wide,
// so a pass moves at width over contact time, and takes contact time over width for each metre.
func (b *builder) spray(st *thwart.Step, hot *supply, row *thwart.WashRow) (seconds, litres float64) {
	st.Estimate = st.Estimate || hot.passOpen
	if row.Part == thwart.PartHull {
		length, beam := b.size()
		girth := hullShape * (beam + sideStripM)
		st.SecondsPerM = row.ContactS / hot.passM
		st.Passes = int(math.Ceil(girth / hot.passM))
		seconds = float64(st.Passes) * length * st.SecondsPerM
	} else {
		seconds = float64(len(st.Places)) * row.ContactS
	}
	return seconds, seconds / 60 * hot.flow
}

// compartments times the flushing of each compartment: filling where the line asks for it, then hot water through it until
// the exit is at temperature, then the contact time.
func (b *builder) compartments(st *thwart.Step, hot *supply, row *thwart.WashRow) (seconds, litres float64) {
	for _, id := range st.Places {
		p := b.placeByID(id)
		volume := p.VolumeL
		if !isSpace(p) && slices.ContainsFunc(st.Places, func(id string) bool { return isSpace(b.placeByID(id)) }) {
			continue // plugs, pumps and pipes are flushed with the spaces they serve
		}
		if volume == 0 {
			st.Estimate = true
			volume = map[thwart.Part]float64{
				thwart.PartBallast: usualBallastL, thwart.PartWell: usualWellL, thwart.PartBilge: usualBilgeL,
			}[row.Part]
		}
		left := math.Min(residualL, volume/4)
		inlet := hot.out
		if !hot.known || inlet < row.TempC {
			inlet = row.TempC + hotEnoughK // planning only: what it would take once the water is hot enough
		}
		if row.MaxInletC > 0 {
			inlet = min(inlet, row.MaxInletC)
		}
		fill := 0.0
		start := hot.cold
		if row.Method == thwart.MethodFillFlush {
			fill = volume - left
			if mixed, err := heat.Mix(heat.Portion{Litres: left, Temp: hot.cold}, heat.Portion{Litres: fill, Temp: inlet}); err == nil {
				start = mixed
			}
			left = volume
		}
		tank := heat.Tank{WaterL: left, FlowLPerMin: hot.flow, Inlet: inlet, Air: hot.cold, Start: start}
		f, err := tank.Flush(row.TempC, row.ContactS)
		if err != nil {
			// Without loss to the air the inlet is always reached in the end, so only a nonsensical unit comes here.
			st.Estimate = true
			f = heat.Flush{TotalS: row.ContactS, UsedL: row.ContactS / 60 * hot.flow}
		}
		seconds += fill/hot.flow*60 + f.TotalS
		litres += fill + f.UsedL
	}
	return seconds, litres
}

// engineFlush times a flush that has no fixed time and says plainly where the line cannot be met as written.
func (b *builder) engineFlush(st *thwart.Step, hot *supply) (seconds, litres float64) {
	st.Estimate = true
	if st.MaxInletC > 0 && st.MaxInletC <= st.TargetC && st.Possible != "not_now" {
		st.Because += " " + tongue.Say("Water may not go in above {limit} and has to come out at {need}: only the warmth of an engine the owner runs closes"+
			" that gap. If the exit stays below, this line is not met: dry it, or ask the agency.", temp(st.MaxInletC), temp(st.TargetC))
	}
	engines := 0
	for _, id := range st.Places {
		if p := b.placeByID(id); p.Hidden {
			engines++
		}
	}
	seconds = engineMinutes * 60 * float64(max(engines, 1))
	return seconds, seconds / 60 * hot.flow
}

// isSpace reports whether a place is a compartment itself rather than the plumbing around it: compartments are numbered
// places of a kind of space.
func isSpace(p *thwart.Place) bool {
	kind, _, _ := strings.Cut(p.ID, ".")
	return contains(thwart.SpaceKinds, thwart.SpaceKind(kind))
}

func (b *builder) size() (lengthM, beamM float64) { return sizeOf(b.in.Setup) }

// washWords says a wash step aloud.
func washWords(st *thwart.Step, row *thwart.WashRow, paint thwart.Paint) string {
	at := tongue.Say("{temperature}, read {where}", temp(row.TempC), whereRead(row.Measured))
	switch st.Kind {
	case thwart.StepEngine:
		return tongue.Say("Flush the cooling passages until the water coming out is at {temperature}. Never put water in hotter than {limit}. The owner runs"+
			" and stops the engine, by its manual.", at, temp(row.MaxInletC))
	case thwart.StepFlush:
		return tongue.Say("Flush each until the water is at {temperature}, then hold it there for {time} without a break.", at, unit.Duration(row.ContactS))
	case thwart.StepFillFlush:
		return tongue.Say("Empty, fill with hot water, and flush through the craft's own pumps until the water is at {temperature}; hold it there for {time}"+
			" without a break. Each tank and bag on its own.", at, unit.Duration(row.ContactS))
	case thwart.StepSoak:
		return tongue.Say("Soak in water at {temperature} for {time}, all under water.", at, unit.Duration(row.ContactS))
	}
	pressure := tongue.Text("Low pressure, no nozzle")
	switch {
	case row.Method == thwart.MethodHighSpray && paint != thwart.PaintNone:
		pressure = "Low pressure and close to. High pressure after, to clear, only where the wash water is caught: the bottom is painted with antifouling, or nobody knows"
	case row.Method == thwart.MethodHighSpray:
		pressure = "Hot water at low pressure and close to first, to kill; high pressure after, to clear"
	}
	words := tongue.Say("{pressure}: {temperature} for {time} on every spot.", tongue.Say(pressure), at, unit.Duration(row.ContactS))
	if st.SecondsPerM > 0 {
		words += " " + tongue.Say("Top to bottom, bow to stern, in overlapping passes: about {time} for each metre of a pass, {n} passes.",
			unit.Duration(st.SecondsPerM), tongue.Int(st.Passes))
	}
	return words
}
