package intake

import (
	"fmt"
	"strings"

	"thwart/tongue"
)

// layout is where the table begins and what its columns are.
type layout struct {
	delim    byte
	header   string // the header line, to know it again; empty without one
	names    []string
	timeCol  int
	dateCol  int // -1 when date and time are not in two columns
	temps    []int
	first    int // index of the first line of readings
	firstRow stamp
	cell0    string // the time of the first reading as written
}

// findTable looks for the first header that is followed by a line of readings, and failing that for the first line of
// readings.
func findTable(head []string) (layout, error) {
	delims := []byte{'\t', ';', ','}
	var timeless error // a table whose header names no time
	for _, delim := range delims {
		for i, text := range head {
			lay, ok, err := tableAt(head, i, text, delim)
			if ok {
				return lay, nil
			}
			if timeless == nil {
				timeless = err
			}
		}
	}
	if timeless != nil {
		return layout{}, timeless
	}
	for _, delim := range delims {
		for i, text := range head {
			lay, ok, err := bareTableAt(text, i, delim)
			if ok || err != nil {
				return lay, err
			}
		}
	}
	if len(head) == 0 {
		return layout{}, fmt.Errorf("%w: %s", ErrNoReadings, tongue.Say("the file is empty"))
	}
	return layout{}, fmt.Errorf("%w: %s", ErrNoReadings, tongue.Say("in the first {n} lines there is none with a time and a temperature; accepted: columns separated by commas,"+
		" semicolons or tabs, for example a header time_s,temp_c and below it 0,60.1", tongue.Int(len(head))))
}

// tableAt reads line i as a header, if it is one. An error tells that it would be one if it named a time.
func tableAt(head []string, i int, text string, delim byte) (layout, bool, error) {
	names, ok := splitFields(text, delim)
	if !ok || len(names) < 2 {
		return layout{}, false, nil
	}
	lay := layout{delim: delim, header: strings.TrimSpace(text), names: names, dateCol: -1, timeCol: -1}
	strongTime := false
	for c, name := range names {
		switch role := timeRole(name); {
		case role == roleDate && lay.dateCol < 0:
			lay.dateCol = c
		case role == roleTime && !strongTime:
			lay.timeCol, strongTime = c, true
		case role == roleTimeUnit && lay.timeCol < 0:
			lay.timeCol = c
		}
	}
	if lay.timeCol < 0 && lay.dateCol >= 0 {
		lay.timeCol, lay.dateCol = lay.dateCol, -1
	}
	named := lay.timeCol >= 0
	for c, name := range names {
		if c != lay.timeCol && c != lay.dateCol && timeRole(name) == roleOther && isTemperatureName(name) {
			lay.temps = append(lay.temps, c)
		}
	}
	if !named {
		if len(lay.temps) == 0 || lay.temps[0] == 0 || isCounterName(names[0]) {
			return layout{}, false, nil
		}
		lay.timeCol = 0
	}
	units := false
	for j := i + 1; j < len(head); j++ {
		if skippable(head[j]) {
			continue
		}
		fields, ok := splitFields(head[j], delim)
		if !ok {
			return layout{}, false, nil
		}
		if !units && isUnitsRow(fields) {
			units = true
			for c := range min(len(fields), len(names)) {
				u := strings.Trim(fields[c], " ()[]")
				if _, mark := cutUnit(u); mark != UnitUnknown {
					u = "°" + string(mark)
				}
				if u != "" {
					names[c] = strings.TrimSpace(names[c]) + " (" + u + ")"
				}
			}
			continue
		}
		lay.first = j
		ok = lay.acceptFirst(fields)
		if ok && !named && lay.firstRow.kind == numberTime {
			// Numbers under a foreign name may count rows, litres or anything else.
			return layout{}, false, &RowError{Line: i + 1, Column: "header", Value: lay.header,
				Accepted: "a column for the time, named for example time_s, elapsed, date or timestamp"}
		}
		return lay, ok, nil
	}
	return layout{}, false, nil
}

// acceptFirst settles the columns on the first line of readings. It reports whether this is one.
func (lay *layout) acceptFirst(fields []string) bool {
	if lay.dateCol >= 0 {
		date, okDate := lay.stampAt(fields, lay.dateCol)
		clock, okClock := lay.stampAt(fields, lay.timeCol)
		switch {
		case okDate && okClock && date.kind == dateOnly && clock.kind == clockTime:
			// date and clock in two columns
		case okDate && date.kind == dateAndClock:
			lay.timeCol, lay.dateCol = lay.dateCol, -1
		default:
			lay.dateCol = -1
		}
	}
	st, ok := lay.stamp(fields)
	if !ok || len(fields) < 2 {
		return false
	}
	for c := len(lay.names); c < len(fields); c++ {
		if strings.TrimSpace(fields[c]) != "" {
			return false // a line with more columns than the header has names belongs to another table
		}
	}
	lay.firstRow, lay.cell0 = st, strings.TrimSpace(fields[lay.timeCol])
	if len(lay.temps) == 0 {
		// No name tells a temperature. A single column of numbers must be it; among several one might be a count that
		// passes for heat.
		for c := lay.timeCol + 1; c < min(len(fields), len(lay.names)); c++ {
			name := lay.names[c]
			if lay.temperature(fields[c]).ok && !isOtherQuantity(name) && !isCounterName(name) && timeRole(name) == roleOther {
				lay.temps = append(lay.temps, c)
			}
		}
		return len(lay.temps) == 1
	}
	return true
}

// bareTableAt reads line i as a line of readings without a header.
func bareTableAt(text string, i int, delim byte) (layout, bool, error) {
	fields, ok := splitFields(text, delim)
	if !ok || len(fields) < 2 || skippable(text) {
		return layout{}, false, nil
	}
	lay := layout{delim: delim, first: i, dateCol: -1, names: make([]string, len(fields))}
	kindAt := func(c int) stampKind {
		st, ok := lay.stampAt(fields, c)
		if !ok {
			return notStamp
		}
		return st.kind
	}
	first := kindAt(0)
	if first == numberTime && kindAt(1) != numberTime && kindAt(1) != notStamp {
		lay.timeCol = 1 // the first column only counts
	}
	if kindAt(lay.timeCol) == dateOnly && kindAt(lay.timeCol+1) == clockTime {
		lay.dateCol = lay.timeCol
		lay.timeCol++
	}
	if first == notStamp {
		return layout{}, false, nil
	}
	for c := lay.timeCol + 1; c < len(fields); c++ {
		if lay.temperature(fields[c]).ok {
			lay.temps = append(lay.temps, c)
		}
	}
	if len(lay.temps) == 0 {
		return layout{}, false, nil
	}
	if kindAt(lay.timeCol) == numberTime && len(lay.temps) > 1 {
		return layout{}, false, &RowError{Line: i + 1, Column: "columns", Value: strings.TrimSpace(text),
			Accepted: "with more than two columns of numbers, a header that names time and temperatures, for example time_s,probe1_c,probe2_c",
			Hint:     "without one a column of times could pass for temperatures"}
	}
	return lay, lay.acceptFirst(fields), nil
}

func (lay *layout) comma() bool { return lay.delim != ',' }

func (lay *layout) stampAt(fields []string, c int) (stamp, bool) {
	if c >= len(fields) {
		return stamp{}, false
	}
	return parseStamp(fields[c], lay.comma())
}

// stamp reads the time of a line.
func (lay *layout) stamp(fields []string) (stamp, bool) {
	st, ok := lay.stampAt(fields, lay.timeCol)
	if !ok || lay.dateCol < 0 {
		return st, ok
	}
	date, ok := lay.stampAt(fields, lay.dateCol)
	if !ok || date.kind != dateOnly || st.kind != clockTime {
		return stamp{}, false
	}
	return date.join(st), true
}

// columnName is the header's text of a column, or its number.
func (lay *layout) columnName(c int) string {
	if c < len(lay.names) {
		if name := strings.TrimSpace(lay.names[c]); name != "" {
			return name
		}
	}
	return tongue.Say("column {n}", tongue.Int(c+1))
}
