package intake

import (
	"fmt"
	"math"
	"strings"

	"thwart/tongue"
	"thwart/unit"
)

// settleUnits finds the scale of each column, or refuses.
func (p *traceParser) settleUnits() error {
	if err := p.unitsWritten(); err != nil {
		return err
	}
	if err := p.unitsFromValues(); err != nil {
		return err
	}
	for k := range p.probes {
		if err := p.checkRange(k); err != nil {
			return err
		}
	}
	return nil
}

// unitsWritten takes the scales that cells, header, caller or preamble name, and refuses a contradiction.
func (p *traceParser) unitsWritten() error {
	// A bare letter names a scale only if it does so for every column: probe_a, probe_b and probe_c are three probes.
	weak := true
	for _, c := range p.temps {
		mark, _ := unitMark(p.names[c])
		weak = weak && mark != UnitUnknown
	}
	preamble := preambleUnit(p.preamble)
	some := false
	for k, c := range p.temps {
		q := &p.probes[k]
		mark, strong := unitMark(p.names[c])
		if !strong && !weak {
			mark = UnitUnknown
		}
		if q.mark != UnitUnknown && mark != UnitUnknown && q.mark != mark {
			return p.contradiction(q.name, tongue.Say("its cells say {unit}", "°"+string(q.mark)), mark)
		}
		written, from := mark, UnitFromHeader
		if q.mark != UnitUnknown {
			written, from = q.mark, UnitFromCells
		}
		switch {
		case written != UnitUnknown:
			if p.opt.Unit != UnitUnknown && p.opt.Unit != written {
				return p.contradiction(q.name, tongue.Say("the unit given is {unit}", "°"+string(p.opt.Unit)), written)
			}
			q.unit, q.unitFrom = written, from
		case p.opt.Unit != UnitUnknown:
			q.unit, q.unitFrom = p.opt.Unit, UnitFromOption
		case preamble != UnitUnknown:
			q.unit, q.unitFrom = preamble, UnitFromHeader
		case q.count == 0:
			q.unitFrom = UnitFromNoValues
		}
		some = some || q.count > 0
	}
	if !some {
		return fmt.Errorf("%w: %s", ErrNoReadings, tongue.Say("{n} rows, and no temperature in any", tongue.Int(len(p.rows))))
	}
	return nil
}

func (p *traceParser) contradiction(name, other string, written TempUnit) error {
	return &RowError{Column: name, Value: "°" + string(written), Accepted: tongue.Say("one unit for a column, but {other}", other),
		Hint: "leave out the unit, or correct the header"}
}

// preambleUnit finds a line such as "Units: Fahrenheit" above the table. A bare letter is not enough: "Unit C" may be
// the name of a wash unit.
func preambleUnit(lines []string) TempUnit {
	found := UnitUnknown
	for _, text := range lines {
		words := nameWords(strings.ToLower(text))
		mark, strong := unitMark(text)
		if !strong || len(words) > 6 || !has(words, "unit") && !has(words, "units") {
			continue
		}
		if found != UnitUnknown && mark != found {
			return UnitUnknown
		}
		found = mark
	}
	return found
}

// Numbers that could be a temperature of wash water on the Fahrenheit scale, and cannot be one on the Celsius scale.
const (
	boilingC    = 100
	hottestF    = 230 // 110 °C, trace.HighestC
	coolestF    = -40
	fewTooHot   = 100 // at most one reading in so many may be a fault
	doubtfullyF = 100 // a wash that never gets above 100 °F (38 °C) is probably in °C
)

// unitsFromValues decides columns whose scale nothing names. They are decided together: one setting of the logger made
// them all.
func (p *traceParser) unitsFromValues() error {
	lo, hi := math.Inf(1), math.Inf(-1)
	open := false
	for _, q := range p.probes {
		if q.unitFrom != "" {
			continue
		}
		open = true
		for _, v := range q.values {
			if v >= coolestF && v <= hottestF {
				lo, hi = min(lo, v), max(hi, v)
			}
		}
	}
	switch {
	case !open:
		return nil
	case hi <= boilingC && hi >= lo:
		return fmt.Errorf("%w: %s", ErrUnitUnknown, tongue.Say("the file does not say, and values from {lowest} to {highest} could be °C or °F; give the unit (C or F),"+
			" or name it in the header, for example temp_c", short(lo), short(hi)))
	case hi < lo:
		return fmt.Errorf("%w: %s", ErrUnitUnknown, tongue.Say("the file does not say, and no value could be of water on either scale; give the unit (C or F)"))
	}
	for k := range p.probes {
		if q := &p.probes[k]; q.unitFrom == "" {
			q.unit, q.unitFrom = DegF, UnitFromValues
		}
	}
	p.note(NoteUnitFromValues, 0, "no unit given; values from {lowest} to {highest} cannot all be °C in water that does not boil, so they are read as °F ({low} to {high} °C)",
		short(lo), short(hi), short(float64(unit.FromFahrenheit(lo))), short(float64(unit.FromFahrenheit(hi))))
	return nil
}

// checkRange compares the values of a column with its scale.
func (p *traceParser) checkRange(k int) error {
	q := &p.probes[k]
	tooHot, first, hottest := 0, -1, math.Inf(-1)
	for i, v := range q.values {
		if v > boilingC && v <= hottestF {
			if tooHot++; first < 0 {
				first = i
			}
		}
		if v <= hottestF {
			hottest = max(hottest, v)
		}
	}
	switch {
	case q.unit == DegC && tooHot*fewTooHot > q.count:
		v := q.values[first]
		return &RowError{Line: p.rows[first], Column: q.name, Value: short(v), Accepted: "at most 100 in a column of °C",
			Hint: tongue.Say("did you mean {celsius} °C ({fahrenheit} °F)? then give F as the unit, and correct a header that says °C", short(float64(unit.FromFahrenheit(v))), short(v))}
	case q.unit == DegC && tooHot > 0:
		p.note(NoteTooHot, p.rows[first], "{column}: readings above 100 °C: {n}, too few to doubt the unit; they are left to cleaning", q.name, tongue.Int(tooHot))
	case q.unit == DegF && q.unitFrom != UnitFromValues && hottest <= doubtfullyF && q.count > 0:
		p.note(NoteUnitDoubtful, 0, "{column}: the hottest reading is {fahrenheit} °F ({celsius} °C); if the logger records °C, give C as the unit",
			q.name, short(hottest), short(float64(unit.FromFahrenheit(hottest))))
	}
	return nil
}
