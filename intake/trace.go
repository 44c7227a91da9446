package intake

import (
	"fmt"
	"io"
	"math"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"thwart/engine/trace"
	"thwart/tongue"
)

// Limits on a logger's file. A reading every second for three weeks stays below the first.
const (
	MaxTraceRows     = 2_000_000 // rows
	MaxTraceReadings = 4_000_000 // rows times temperature columns
	maxLineBytes     = 64 << 10
	maxHeadLines     = 1000    // lines searched for the first reading
	maxHeadBytes     = 1 << 20 // bytes searched for the first reading
	maxProbes        = 64
)

// Errors about a file as a whole.
var (
	// ErrUnitUnknown: nothing tells whether the numbers are °C or °F. Say which in TraceOptions.Unit.
	ErrUnitUnknown error = tongue.Error("temperature unit not known")
	// ErrNoReadings: no line with a time and a temperature.
	ErrNoReadings error = tongue.Error("no readings")
)

// RowError is a value that cannot be used, with its place and what is accepted.
type RowError struct {
	Line     int // from 1; 0 when the value did not come from a file
	Column   string
	Value    string
	Accepted string
	Hint     string // what was probably meant, or what to do; may be empty
}

func (e *RowError) Error() string {
	var b strings.Builder
	if e.Line > 0 {
		b.WriteString(tongue.Say("line {n}, ", tongue.Int(e.Line)))
	}
	b.WriteString(tongue.Say("{column}: {given} is not accepted; accepted: {accepted}", e.Column, quoteShort(e.Value), tongue.Data(e.Accepted)))
	if e.Hint != "" {
		b.WriteString("; " + tongue.Data(e.Hint))
	}
	return b.String()
}

// quoteShort quotes a value so that it prints on one line, whatever it holds.
func quoteShort(s string) string {
	const most = 40
	if utf8.RuneCountInString(s) > most {
		s = string([]rune(s)[:most]) + "…"
	}
	return fmt.Sprintf("%q", s)
}

// TraceOptions say what the file may not.
type TraceOptions struct {
	Unit    TempUnit // scale of columns that do not name theirs; UnitUnknown: find out, or refuse
	MaxRows int      // 0, or anything beyond it, means MaxTraceRows
}

// UnitSource tells how the scale of a column was found.
type UnitSource string

// The ways to find a scale, surest first.
const (
	UnitFromCells    UnitSource = "cells"    // the values carry it, as in "60.1 °C"
	UnitFromHeader   UnitSource = "header"   // the column's name, or a unit line above the table
	UnitFromOption   UnitSource = "declared" // TraceOptions.Unit
	UnitFromValues   UnitSource = "values"   // too hot for water in °C, so °F
	UnitFromNoValues UnitSource = "none"     // the column holds no value
)

// TraceNoteKind says what a note is about.
type TraceNoteKind string

// The kinds of note.
const (
	NoteUnitFromValues TraceNoteKind = "unit from values"    // no unit given; the values can only be °F
	NoteUnitDoubtful   TraceNoteKind = "unit doubtful"       // the values would suit the other unit better
	NoteTooHot         TraceNoteKind = "too hot"             // a few values above boiling, left for cleaning
	NoteEmptyCells     TraceNoteKind = "empty cells"         // cells without a reading; each is a gap
	NoteEmptyColumn    TraceNoteKind = "empty column"        // a temperature column without any reading
	NoteFooter         TraceNoteKind = "lines after the end" // lines after the last reading were not read
	NoteRepeatedHeader TraceNoteKind = "repeated header"     // the logger began anew; a gap
	NoteMidnight       TraceNoteKind = "midnight"            // a clock without a date passed midnight
	NoteDateOrder      TraceNoteKind = "date order"          // day and month could be either way round
	NoteTimeUnit       TraceNoteKind = "time unit"           // the unit of a time was assumed
)

// TraceNote tells what was skipped or assumed.
type TraceNote struct {
	Kind TraceNoteKind
	Line int // first line concerned; 0 for the file as a whole
	Text string
}

// Probe is one temperature column.
type Probe struct {
	Name     string // the header's text, or "column 2"
	Column   int    // from 1
	Unit     TempUnit
	UnitFrom UnitSource
	Readings []trace.Reading // in the order of the file
}

// TraceFile is a logger's file. All probes have a reading for each row, trace.NoReading where a cell was empty, and
// share their zero of time, the earliest time in the file.
type TraceFile struct {
	Probes    []Probe
	Rows      int
	Start     time.Time // of the earliest reading; zero when the file tells no date, or not for certain
	ZoneKnown bool      // false: Start is the logger's own clock, written as if it were UTC
	Notes     []TraceNote
}

// ParseTrace reads the table of a temperature logger: lines of text with a time and one or more temperatures.
//
// Delimiter (tab, semicolon, comma), lines of metadata ahead of the table, a header, a line of units, byte order marks,
// UTF-8, UTF-16 and Latin-1, line ends of every kind and trailing remarks are dealt with. With semicolons or tabs a
// decimal comma is read as a point.
//
// The time is the column named time, date, elapsed or the like. Without such a name, or without a header, the first
// column is taken if it holds clocks or dates, or if the file is just two columns of numbers. A date and a time may
// stand in two columns. A time may be a number (seconds, or the unit that the header names), a clock, or a date with a
// clock, in ISO 8601 or with day and month in either order, with AM or PM, with or without a zone. Where it has two
// readings, the one that earns less heat is taken: 10:15 is hours and minutes, numbers without a unit are seconds.
//
// Temperatures are all columns named temp, probe, channel, °C, °F or the like; without such names, the only column of
// numbers after the time. Their scale comes from the cells, the header or opt.Unit. Without any of these, values that
// water cannot have in °C are read as °F, with a note. Otherwise the scale is not known and the file is refused with
// ErrUnitUnknown: 60 °F taken for 60 °C would pass cold water as hot. Values above 100 in a column said to be °C are
// refused too, unless they are a few readings in many: those are a fault of the probe, and package trace drops them.
//
// An empty cell, or one with NaN, ERR or the like, is trace.NoReading. Any other text in a cell is a RowError, as is a
// line in the middle of the table without a time. A file without a header and with several columns of numbers is
// refused, because a column of times could pass for temperatures. Errors of r are returned wrapped.
func ParseTrace(r io.Reader, opt TraceOptions) (TraceFile, error) {
	switch opt.Unit {
	case UnitUnknown, DegC, DegF:
	default:
		return TraceFile{}, &RowError{Column: "unit", Value: string(opt.Unit), Accepted: "C or F"}
	}
	if opt.MaxRows <= 0 || opt.MaxRows > MaxTraceRows {
		opt.MaxRows = MaxTraceRows
	}
	lines := newLineReader(r)
	var head []string
	for size := 0; len(head) < maxHeadLines && size < maxHeadBytes && lines.next(); {
		head = append(head, lines.text)
		size += len(lines.text)
	}
	if err := lines.err(); err != nil {
		return TraceFile{}, err
	}
	lay, err := findTable(head)
	if err != nil {
		return TraceFile{}, err
	}
	if len(lay.temps) > maxProbes {
		return TraceFile{}, &RowError{Line: lay.first + 1, Column: "columns", Value: fmt.Sprint(len(lay.temps), " temperatures"),
			Accepted: tongue.Say("at most {n} temperature columns", tongue.Int(maxProbes))}
	}
	p := traceParser{layout: lay, opt: opt, preamble: head[:lay.first]}
	p.begin()
	for n := lay.first; n < len(head); n++ {
		if err := p.line(n+1, head[n]); err != nil {
			return TraceFile{}, err
		}
	}
	for lines.next() {
		if err := p.line(lines.n, lines.text); err != nil {
			return TraceFile{}, err
		}
	}
	if err := lines.err(); err != nil {
		return TraceFile{}, err
	}
	return p.finish()
}

// cell is a temperature cell: a value, a cell without a reading, or neither.
type cell struct {
	value float64
	mark  TempUnit
	ok    bool
	empty bool
}

// noReadingWords are what loggers write when a probe gives nothing.
var noReadingWords = map[string]bool{
	"": true, "-": true, "--": true, "---": true, "nan": true, "null": true, "nil": true, "none": true, "n/a": true, "na": true, "#n/a": true,
	"err": true, "error": true, "#error": true, "ol": true, "-ol": true, "+ol": true, "open": true, "short": true, "fault": true, "fail": true,
	"over": true, "under": true, "inf": true, "-inf": true, "+inf": true, "no data": true, "nodata": true, "missing": true, "disconnected": true,
}

func (lay *layout) temperature(s string) cell {
	s = strings.TrimSpace(s)
	if len(s) <= 16 && noReadingWords[strings.ToLower(s)] {
		return cell{empty: true}
	}
	number, mark := cutUnit(s)
	v, ok := parseNumber(number, lay.comma())
	return cell{value: v, mark: mark, ok: ok}
}

// traceParser takes the lines of a table one by one.
type traceParser struct {
	layout
	opt      TraceOptions
	preamble []string

	time    timeline
	probes  []probeColumn
	rows    []int // line of each row
	pending error // a line that could not be read: an error only if readings follow it
	notes   []TraceNote
	trailer [2]int // first line from the pending one on, and how many
	anew    [2]int // first line where the header came again, and how often
}

// probeColumn is a temperature column before its scale is known.
type probeColumn struct {
	name     string
	values   []float64 // NaN where the cell held no reading
	count    int       // of values that are numbers
	mark     TempUnit  // scale carried by the cells
	empty    int
	emptyRow int // line of the first empty cell
	unit     TempUnit
	unitFrom UnitSource
}

func (p *traceParser) begin() {
	for _, c := range p.temps {
		name := printable(p.columnName(c))
		p.probes = append(p.probes, probeColumn{name: name})
	}
	p.time.scaleS = 1
	header := strings.ToLower(p.names[p.timeCol])
	words := nameWords(header)
	switch p.firstRow.kind {
	case clockTime:
		p.time.minSec = p.firstRow.minSec || p.firstRow.twoPart && has(words, "mm") && has(words, "ss") && !has(words, "h") && !has(words, "hh")
		if p.firstRow.twoPart && !p.time.minSec && !has(words, "hh") {
			p.note(NoteTimeUnit, p.first+1, "times such as {given} are read as hours and minutes; write 0:{time} if they are minutes and seconds",
				quoteShort(p.cell0), p.cell0)
		}
	case numberTime:
		p.numberUnit(words)
	}
}

// numberUnit finds the unit of times that are plain numbers.
func (p *traceParser) numberUnit(words []string) {
	scale, named := math.Inf(1), false
	for _, w := range words {
		if s, ok := timeUnits[w]; ok {
			scale, named = min(scale, s), true
		}
	}
	v := p.firstRow.value
	switch {
	case named && scale == timeUnits["ms"], !named && v > 1e11:
		p.time.milli = true
		if !named {
			p.note(NoteTimeUnit, p.first+1, "times such as {given} are read as milliseconds", tongue.Num(v, 'f', 0))
		}
	case named:
		p.time.scaleS = scale
	case v >= 20000 && v < 80000 && (has(words, "date") || has(words, "datetime")):
		p.time.scaleS = 86400
		p.note(NoteTimeUnit, p.first+1, "times such as {given} are read as days, as spreadsheets count them", tongue.Short(v))
	default:
		p.note(NoteTimeUnit, p.first+1, "no unit given for the time; read as seconds")
	}
}

// line takes one line of the table.
func (p *traceParser) line(n int, text string) error {
	if p.header != "" && strings.TrimSpace(text) == p.header {
		p.repeatedHeader(n)
		return nil
	}
	if skippable(text) {
		return nil
	}
	fields, closed := splitFields(text, p.delim)
	st, ok := p.stamp(fields)
	if !closed || !ok || st.kind != p.firstRow.kind {
		p.unreadable(n, fields, closed)
		return nil
	}
	if p.pending != nil {
		return p.pending
	}
	if len(p.rows) >= p.opt.MaxRows || len(p.rows)*len(p.probes) >= MaxTraceReadings {
		return &RowError{Line: n, Column: "rows", Value: fmt.Sprint("row ", len(p.rows)+1),
			Accepted: tongue.Say("at most {rows} rows and {readings} readings", tongue.Int(p.opt.MaxRows), tongue.Int(MaxTraceReadings)), Hint: "split the file"}
	}
	dated := p.timeCol
	if p.dateCol >= 0 {
		dated = p.dateCol
	}
	if !p.time.add(st, strings.TrimSpace(fields[dated])) {
		return p.badTime(n, fields)
	}
	p.rows = append(p.rows, n)
	for k, c := range p.temps {
		if err := p.probes[k].add(p, n, c, fields); err != nil {
			return err
		}
	}
	return nil
}

// add takes the cell of one row.
func (q *probeColumn) add(p *traceParser, n, column int, fields []string) error {
	text := ""
	if column < len(fields) {
		text = fields[column]
	}
	cell := p.temperature(text)
	switch {
	case cell.empty:
		if q.empty == 0 {
			q.emptyRow = n
		}
		q.empty++
		q.values = append(q.values, math.NaN())
		return nil
	case !cell.ok:
		accepted := tongue.Text("a number, or an empty cell where there is no reading")
		if !p.comma() {
			accepted = "a number with a decimal point, or an empty cell where there is no reading"
		}
		return &RowError{Line: n, Column: q.name, Value: strings.TrimSpace(text), Accepted: tongue.Say(accepted)}
	case q.count > 0 && cell.mark != q.mark:
		return &RowError{Line: n, Column: q.name, Value: strings.TrimSpace(text), Accepted: "the same unit in every cell of a column, or none in any"}
	}
	q.mark = cell.mark
	q.count++
	q.values = append(q.values, cell.value)
	return nil
}

// unreadable remembers a line whose time cannot be read. Loggers end their files with remarks; but readings after such a
// line mean that something is wrong.
func (p *traceParser) unreadable(n int, fields []string, closed bool) {
	if p.trailer[1]++; p.pending != nil {
		return
	}
	p.trailer[0] = n
	p.pending = p.badTime(n, fields)
	if !closed {
		p.pending = &RowError{Line: n, Column: "line", Value: strings.Join(fields, string(p.delim)), Accepted: "quotes in pairs"}
	}
}

func (p *traceParser) badTime(n int, fields []string) error {
	value := ""
	if p.timeCol < len(fields) {
		value = strings.TrimSpace(fields[p.timeCol])
	}
	if p.dateCol >= 0 && p.dateCol < len(fields) {
		value = strings.TrimSpace(fields[p.dateCol]) + " " + value
	}
	return &RowError{Line: n, Column: printable(p.columnName(p.timeCol)), Value: value,
		Accepted: tongue.Say("a time written like the first one, {first}, and a date that exists", quoteShort(p.cell0))}
}

// repeatedHeader breaks the record where the logger wrote its header again: a row without readings, at the time of the
// row before, makes a gap.
func (p *traceParser) repeatedHeader(n int) {
	if len(p.rows) == 0 || len(p.rows)*len(p.probes) >= MaxTraceReadings {
		return
	}
	if p.anew[1]++; p.anew[1] == 1 {
		p.anew[0] = n
	}
	p.time.repeat()
	p.rows = append(p.rows, n)
	for k := range p.probes {
		p.probes[k].values = append(p.probes[k].values, math.NaN())
	}
}

func (p *traceParser) note(kind TraceNoteKind, line int, t tongue.Text, values ...string) {
	p.notes = append(p.notes, TraceNote{Kind: kind, Line: line, Text: tongue.Say(t, values...)})
}

// finish finds the scales and puts the file together.
func (p *traceParser) finish() (TraceFile, error) {
	if err := p.settleUnits(); err != nil {
		return TraceFile{}, err
	}
	atS, startS, sure := p.time.settle()
	file := TraceFile{Rows: len(p.rows)}
	switch {
	case p.time.kind == dateOnly || p.time.kind == dateAndClock:
		if sure {
			file.Start, file.ZoneKnown = time.Unix(startS, 0).UTC(), p.time.zoned
		}
	case p.time.kind == numberTime && p.time.scaleS == 1 && startS > 1e9: // seconds since 1970: no logger counts 30 years
		file.Start, file.ZoneKnown = time.Unix(startS, 0).UTC(), true
	}
	p.closingNotes(sure)
	for k, q := range p.probes {
		probe := Probe{Name: q.name, Column: p.temps[k] + 1, Unit: q.unit, UnitFrom: q.unitFrom, Readings: make([]trace.Reading, len(p.rows))}
		for i, v := range q.values {
			r := trace.Reading{AtS: atS[i], TempC: trace.NoReading, Row: p.rows[i]}
			if !math.IsNaN(v) {
				r.TempC = q.unit.celsius(v)
			}
			probe.Readings[i] = r
		}
		file.Probes = append(file.Probes, probe)
		p.probes[k].values = nil // so that a large file is not held twice
	}
	file.Notes = p.notes
	return file, nil
}

func (p *traceParser) closingNotes(sure bool) {
	for _, q := range p.probes {
		switch {
		case q.count == 0:
			p.note(NoteEmptyColumn, 0, "{column} holds no reading at all", q.name)
		case q.empty > 0:
			p.note(NoteEmptyCells, q.emptyRow, "{column}: cells without a reading: {n}; each counts as a gap", q.name, tongue.Int(q.empty))
		}
	}
	if p.anew[1] > 0 {
		p.note(NoteRepeatedHeader, p.anew[0], "the header comes again, {n} times: the logger began anew, which counts as a gap", tongue.Int(p.anew[1]))
	}
	if p.trailer[1] > 0 {
		p.note(NoteFooter, p.trailer[0], "lines after the last reading that were not read: {n}", tongue.Int(p.trailer[1]))
	}
	if p.time.cross > 0 {
		p.note(NoteMidnight, 0, "the clock passed midnight; without dates the day after is assumed")
	}
	if p.time.split && p.time.ok[monthFirst] && p.time.ok[dayFirst] {
		if sure {
			p.note(NoteDateOrder, 0, "dates such as {given} could have day and month either way; read so that the record stays together", quoteShort(p.time.twoWay))
		} else {
			p.note(NoteDateOrder, 0, "dates such as {given} could have day and month either way; the times do not depend on it, and the date is left open", quoteShort(p.time.twoWay))
		}
	}
}

// printable makes text from a file safe to show: valid UTF-8, one line, no control or direction characters, 80 runes.
func printable(s string) string {
	s = strings.Map(func(r rune) rune {
		if !unicode.IsPrint(r) {
			return -1
		}
		return r
	}, strings.ToValidUTF8(s, ""))
	if runes := []rune(s); len(runes) > 80 {
		s = string(runes[:80])
	}
	return s
}

// skippable reports a line that holds nothing, or a remark.
func skippable(text string) bool {
	text = strings.TrimLeft(text, " \t\x00")
	return strings.Trim(text, " \t\x00,;\"") == "" || text[0] == '#'
}
