package intake_test

import (
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"slices"
	"strings"
	"testing"
	"testing/iotest"
	"time"
	"unicode/utf16"
	"unicode/utf8"

	"thwart/engine/trace"
	"thwart/intake"
	"thwart/unit"
)

// row is a reading as a test writes it: seconds and degrees Celsius.
type row struct {
	atS float64
	c   unit.Celsius
}

const none = trace.NoReading

func parse(t testing.TB, text string, declared intake.TempUnit) intake.TraceFile {
	t.Helper()
	file, err := intake.ParseTrace(strings.NewReader(text), intake.TraceOptions{Unit: declared})
	if err != nil {
		t.Fatalf("%q: %v", text, err)
	}
	return file
}

func same(readings []trace.Reading, want []row) bool {
	if len(readings) != len(want) {
		return false
	}
	for i, r := range readings {
		if math.Abs(r.AtS-want[i].atS) > 1e-9 || math.Abs(float64(r.TempC-want[i].c)) > 1e-9 {
			return false
		}
	}
	return true
}

// noted lists the kinds of note, sorted, each once.
func noted(file intake.TraceFile) []intake.TraceNoteKind {
	var kinds []intake.TraceNoteKind
	for _, n := range file.Notes {
		if !slices.Contains(kinds, n.Kind) {
			kinds = append(kinds, n.Kind)
		}
	}
	slices.Sort(kinds)
	return kinds
}

func TestParseTraceLayouts(t *testing.T) {
	plain := []row{{0, 60}, {1, 60.5}, {2, 61}}
	for _, c := range []struct {
		name, text string
		unit       intake.TempUnit
		want       []row
		notes      []intake.TraceNoteKind
	}{
		{"comma and header", "time_s,temp_c\n0,60\n1,60.5\n2,61\n", "", plain, nil},
		{"semicolon and decimal comma", "Zeit (s);Temperatur °C\n0;60\n1;60,5\n2;61\n", "", plain, nil},
		{"decimal comma in the time too", "s;°C\n0,5;60\n1,5;60,5\n2,5;61\n", "", plain, nil},
		{"tab", "elapsed sec\tTemp (C)\n0\t60\n1\t60.5\n2\t61", "", plain, nil},
		{"no header", "0,60\n1,60.5\n2,61\n", intake.DegC, plain, []intake.TraceNoteKind{intake.NoteTimeUnit}},
		{"no header, dates", "2026-07-04 10:00:00,60\n2026-07-04 10:00:01,60.5\n2026-07-04 10:00:02,61\n", intake.DegC, plain, nil},
		{"no header, counter and dates", "1,2026-07-04 10:00:00,60\n2,2026-07-04 10:00:01,60.5\n3,2026-07-04 10:00:02,61\n", intake.DegC, plain, nil},
		{"no header, counter, date, time", "1,2026-07-04,10:00:00,60\n2,2026-07-04,10:00:01,60.5\n3,2026-07-04,10:00:02,61\n", intake.DegC, plain, nil},
		{"metadata, blank lines, remarks", "Logger model,X\nSerial,12345\nInterval,10\n\n# a remark\nTime (s),Temp (°C)\n\n0,60\n# another\n1,60.5\n\n2,61\n", "", plain, nil},
		{"byte order mark and CR LF", "\ufefftime_s,temp_c\r\n0,60\r\n1,60.5\r\n2,61\r\n", "", plain, nil},
		{"CR alone", "time_s,temp_c\r0,60\r1,60.5\r2,61", "", plain, nil},
		{"quoted cells", "\"Time (s)\",\"Temp, (°C)\"\n\"0\",\"60\"\n\"1\",\"60.5\"\n\"2\",\"61\"\n", "", plain, nil},
		{"Latin-1 degree sign", "Time (s),Temp (\xb0C)\n0,60\n1,60.5\n2,61\n", "", plain, nil},
		{"degree sign lost in conversion", "Time (s),Temp (?C)\n0,60\n1,60.5\n2,61\n", "", plain, nil},
		{"counter column", "#,Date Time,\"Temp, °C\"\n1,07/04/26 10:00:00 AM,60\n2,07/04/26 10:00:01 AM,60.5\n3,07/04/26 10:00:02 AM,61\n", "", plain, []intake.TraceNoteKind{intake.NoteDateOrder}},
		{"units row", "Time,Temp\ns,°C\n0,60\n1,60.5\n2,61\n", "", plain, nil},
		{"unit in the metadata", "Units: Celsius\nTime (s),Temp\n0,60\n1,60.5\n2,61\n", "", plain, nil},
		{"unit in the cells", "Time (s),Temp\n0,60 °C\n1,60.5 °C\n2,61 °C\n", "", plain, nil},
		{"metadata like a table without a time", "Serial,Temp offset\n12345,0.1\ntime_s,temp_c\n0,60\n1,60.5\n2,61\n", "", plain, nil},
		{"empty columns at the end", "time_s,temp_c\n0,60,,\n1,60.5,,\n2,61,,\n", "", plain, nil},
		{"a count beside an unnamed temperature", "time_s,scan,value\n0,100,60\n1,101,60.5\n2,102,61\n", intake.DegC, plain, nil},
		{"unnamed time column", ",temp_c\n10:00:00,60\n10:00:01,60.5\n10:00:02,61\n", "", plain, nil},
		{"unnamed temperature column", "Time (s),Value\n0,60\n1,60.5\n2,61\n", intake.DegC, plain, nil},
		{"humidity is not a temperature", "Time (s),RH %,Temp °C\n0,80,60\n1,81,60.5\n2,82,61\n", "", plain, nil},
		{"time not first", "temp_c,time_s\n60,0\n60.5,1\n61,2\n", "", plain, nil},
		{"Fahrenheit by header", "time_s,temp_f\n0,140\n1,140.9\n2,141.8\n", "", plain, nil},
		{"Fahrenheit declared", "time_s,temp\n0,140\n1,140.9\n2,141.8\n", intake.DegF, plain, nil},
		{"Fahrenheit by values", "time_s,temp\n0,140\n1,140.9\n2,141.8\n", "", plain, []intake.TraceNoteKind{intake.NoteUnitFromValues}},
		{"starts late", "time_s,temp_c\n100,60\n101,60.5\n102,61\n", "", plain, nil},
		{"out of order stays so", "time_s,temp_c\n1,60.5\n0,60\n2,61\n", "", []row{{1, 60.5}, {0, 60}, {2, 61}}, nil},
		{"empty cells", "time_s,temp_c\n0,60\n1,\n2,--\n3,NaN\n4,61\n", "", []row{{0, 60}, {1, none}, {2, none}, {3, none}, {4, 61}}, []intake.TraceNoteKind{intake.NoteEmptyCells}},
		{"line cut off", "time_s,temp_c\n0,60\n1,60.5\n2", "", []row{{0, 60}, {1, 60.5}, {2, none}}, []intake.TraceNoteKind{intake.NoteEmptyCells}},
		{"remarks at the end", "time_s,temp_c\n0,60\n1,60.5\n2,61\nEnd of file\nRecords: 3\n", "", plain, []intake.TraceNoteKind{intake.NoteFooter}},
		{"NUL at the end", "time_s,temp_c\n0,60\n1,60.5\n2,61\n\x00\x00\x00\x00", "", plain, nil},
		{"header comes again", "time_s,temp_c\n0,60\n1,60.5\ntime_s,temp_c\n2,61\n", "", []row{{0, 60}, {1, 60.5}, {1, none}, {2, 61}}, []intake.TraceNoteKind{intake.NoteRepeatedHeader}},
		{"broken wire now and then", "time_s,temp_c\n0,60\n1,9999\n2,-300\n", "", []row{{0, 60}, {1, 9999}, {2, -300}}, nil},
		{"exponent and signs", "time_s,temp_c\n0,+6.0e1\n1,60.5\n2,6.1E+01\n", "", plain, nil},
	} {
		file := parse(t, c.text, c.unit)
		if len(file.Probes) != 1 {
			t.Errorf("%s: %d probes, want 1", c.name, len(file.Probes))
			continue
		}
		if got := file.Probes[0].Readings; !same(got, c.want) {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
		if file.Rows != len(c.want) {
			t.Errorf("%s: %d rows, want %d", c.name, file.Rows, len(c.want))
		}
		if got := noted(file); !slices.Equal(got, c.notes) {
			t.Errorf("%s: notes %v, want %v", c.name, file.Notes, c.notes)
		}
	}
}

func TestParseTraceTimes(t *testing.T) {
	for _, c := range []struct {
		name, header string
		times        []string
		want         []float64
		start        string // RFC 3339, empty when not known
		zone         bool
		notes        []intake.TraceNoteKind
	}{
		{"seconds", "time (s)", []string{"0", "0.1", "10.1"}, []float64{0, 0.1, 10.1}, "", false, nil},
		{"minutes", "elapsed (min)", []string{"0", "0.5", "2"}, []float64{0, 30, 120}, "", false, nil},
		{"hours", "hours", []string{"1", "1.5"}, []float64{0, 1800}, "", false, nil},
		{"milliseconds", "time_ms", []string{"500", "750", "2500"}, []float64{0, 0.25, 2}, "", false, nil},
		{"no unit: seconds", "time", []string{"0", "60"}, []float64{0, 60}, "", false, []intake.TraceNoteKind{intake.NoteTimeUnit}},
		{"seconds since 1970, tenths exact", "timestamp (s)", []string{"1783159200.1", "1783159200.2", "1783159210.1"}, []float64{0, 0.1, 10}, "2026-07-04T10:00:00Z", true, nil},
		{"milliseconds since 1970", "timestamp", []string{"1783159200100", "1783159200200"}, []float64{0, 0.1}, "2026-07-04T10:00:00Z", true, []intake.TraceNoteKind{intake.NoteTimeUnit}},
		{"spreadsheet days", "date", []string{"46207.5", "46207.5625"}, []float64{0, 5400}, "", false, []intake.TraceNoteKind{intake.NoteTimeUnit}},
		{"clock", "time", []string{"10:15:00", "10:15:30", "10:16:00.5"}, []float64{0, 30, 60.5}, "", false, nil},
		{"back a little is not midnight", "time", []string{"10:15:05", "10:15:03", "10:15:06"}, []float64{2, 0, 3}, "", false, nil},
		{"clock with a zone", "time", []string{"10:15:00+02:00", "10:15:00+01:00"}, []float64{0, 3600}, "", false, nil},
		{"last line cut off in the time", "time", []string{"10:15:00", "10:15:20", "10:15:2"}, []float64{0, 20}, "", false, []intake.TraceNoteKind{intake.NoteFooter}},
		{"elapsed over a day", "elapsed", []string{"23:59:50", "24:00:10", "100:00:00"}, []float64{0, 20, 273610}, "", false, nil},
		{"past midnight", "time", []string{"23:59:50", "00:00:10", "00:00:20"}, []float64{0, 20, 30}, "", false, []intake.TraceNoteKind{intake.NoteMidnight}},
		{"past midnight, AM and PM", "time", []string{"11:59:50 PM", "12:00:10 AM"}, []float64{0, 20}, "", false, []intake.TraceNoteKind{intake.NoteMidnight}},
		{"noon", "time", []string{"11:59:50 a.m.", "12:00:10 p.m.", "1:00:10 pm"}, []float64{0, 20, 3620}, "", false, nil},
		{"two parts are hours and minutes", "time", []string{"10:15", "10:16"}, []float64{0, 60}, "", false, []intake.TraceNoteKind{intake.NoteTimeUnit}},
		{"unless the header says otherwise", "time (mm:ss)", []string{"10:15", "10:16", "90:00"}, []float64{0, 1, 4785}, "", false, nil},
		{"or a fraction shows it", "time", []string{"0:59.5", "1:00.5"}, []float64{0, 1}, "", false, nil},
		{"ISO 8601", "timestamp", []string{"2026-07-04T10:15:00Z", "2026-07-04T10:15:01.25Z"}, []float64{0, 1.25}, "2026-07-04T10:15:00Z", true, nil},
		{"offset", "timestamp", []string{"2026-07-04T10:15:00-06:00", "2026-07-04T10:15:01-0600"}, []float64{0, 1}, "2026-07-04T16:15:00Z", true, nil},
		{"offset changes in autumn", "timestamp", []string{"2026-11-01T01:59:50-06:00", "2026-11-01T01:00:10-07:00"}, []float64{0, 20}, "2026-11-01T07:59:50Z", true, nil},
		{"space, no zone", "timestamp", []string{"2026-07-04 10:15:00", "2026-07-04 10:15:05"}, []float64{0, 5}, "2026-07-04T10:15:00Z", false, nil},
		{"slashes, year first, no seconds", "timestamp", []string{"2026/07/04 10:15", "2026/07/04 10:16"}, []float64{0, 60}, "2026-07-04T10:15:00Z", false, nil},
		{"dots, day first", "Datum Uhrzeit", []string{"04.07.2026 10:15:00", "04.07.2026 10:15:05"}, []float64{0, 5}, "2026-07-04T10:15:00Z", false, nil},
		{"month in letters", "date", []string{"04-Jul-2026 10:15:00", "4 July 2026 10:15:05"}, []float64{0, 5}, "2026-07-04T10:15:00Z", false, nil},
		{"month in letters first", "date", []string{"Jul 4 2026 10:15:00", "Jul 4 2026 10:15:05"}, []float64{0, 5}, "2026-07-04T10:15:00Z", false, nil},
		{"AM and PM", "date", []string{"12/25/2026 11:59:59 AM", "12/25/2026 12:00:04 PM"}, []float64{0, 5}, "2026-12-25T11:59:59Z", false, nil},
		{"day first, shown by the day", "date", []string{"25/12/2026 10:00:00", "25/12/2026 10:00:05"}, []float64{0, 5}, "2026-12-25T10:00:00Z", false, nil},
		{"day first, shown by a later row", "date", []string{"12/07/2026 23:59:58", "13/07/2026 00:00:03"}, []float64{0, 5}, "2026-07-12T23:59:58Z", false, nil},
		{"either way, one day: date open", "date", []string{"07/04/2026 10:00:00", "07/04/2026 10:00:05"}, []float64{0, 5}, "", false, []intake.TraceNoteKind{intake.NoteDateOrder}},
		{"either way, past midnight, month first", "date", []string{"07/04/2026 23:59:58", "07/05/2026 00:00:03"}, []float64{0, 5}, "2026-07-04T23:59:58Z", false, []intake.TraceNoteKind{intake.NoteDateOrder}},
		{"either way, past midnight, day first", "date", []string{"04/07/2026 23:59:58", "05/07/2026 00:00:03"}, []float64{0, 5}, "2026-07-04T23:59:58Z", false, []intake.TraceNoteKind{intake.NoteDateOrder}},
		{"same both ways", "date", []string{"07/07/2026 10:00:00", "07/07/2026 10:00:05"}, []float64{0, 5}, "2026-07-07T10:00:00Z", false, nil},
		{"leap day", "date", []string{"2028-02-29 10:00:00", "2028-03-01 10:00:00"}, []float64{0, 86400}, "2028-02-29T10:00:00Z", false, nil},
		{"clock set again", "timestamp", []string{"2026-07-04 10:15:00", "1970-01-01 00:00:00"}, []float64{1783160100, 0}, "1970-01-01T00:00:00Z", false, nil},
	} {
		var b strings.Builder
		fmt.Fprintf(&b, "%s;temp_c\n", c.header)
		for _, at := range c.times {
			fmt.Fprintf(&b, "%s;60\n", at)
		}
		file := parse(t, b.String(), "")
		var want []row
		for _, at := range c.want {
			want = append(want, row{at, 60})
		}
		if got := file.Probes[0].Readings; !same(got, want) {
			t.Errorf("%s: %v, want %v", c.name, got, want)
		}
		start := ""
		if !file.Start.IsZero() {
			start = file.Start.Format(time.RFC3339)
		}
		if start != c.start || file.ZoneKnown != c.zone {
			t.Errorf("%s: start %q, zone known %v; want %q, %v", c.name, start, file.ZoneKnown, c.start, c.zone)
		}
		if got := noted(file); !slices.Equal(got, c.notes) {
			t.Errorf("%s: notes %v, want %v", c.name, file.Notes, c.notes)
		}
	}
}

func TestParseTraceDateAndTimeApart(t *testing.T) {
	file := parse(t, "Date,Time,Temp (C)\n2026-07-04,23:59:58,60\n2026-07-05,00:00:03,61\n", "")
	if got := file.Probes[0].Readings; !same(got, []row{{0, 60}, {5, 61}}) {
		t.Errorf("%v", got)
	}
	if got := file.Start.Format(time.RFC3339); got != "2026-07-04T23:59:58Z" {
		t.Errorf("start %v", got)
	}
	// A date beside an elapsed time: the elapsed time counts.
	file = parse(t, "Date,Elapsed (s),Temp (C)\n2026-07-04,0,60\n2026-07-04,5,61\n", "")
	if got := file.Probes[0].Readings; !same(got, []row{{0, 60}, {5, 61}}) {
		t.Errorf("%v", got)
	}
}

func TestParseTraceProbes(t *testing.T) {
	file := parse(t, "time_s,Inlet (°C),RH (%),Outlet (°F),Alarm temp (°C),Battery (V)\n0,60,80,122,99,3.1\n1,61,80,,99,3.1\n", "")
	if len(file.Probes) != 2 {
		t.Fatalf("%d probes, want inlet and outlet", len(file.Probes))
	}
	inlet, outlet := file.Probes[0], file.Probes[1]
	if inlet.Name != "Inlet (°C)" || inlet.Column != 2 || inlet.Unit != intake.DegC || inlet.UnitFrom != intake.UnitFromHeader || !same(inlet.Readings, []row{{0, 60}, {1, 61}}) {
		t.Errorf("inlet: %+v", inlet)
	}
	if outlet.Name != "Outlet (°F)" || outlet.Column != 4 || outlet.Unit != intake.DegF || !same(outlet.Readings, []row{{0, 50}, {1, none}}) {
		t.Errorf("outlet: %+v", outlet)
	}
	if inlet.Readings[1].Row != 3 {
		t.Errorf("row %d, want line 3", inlet.Readings[1].Row)
	}
	// A channel nothing is plugged into stays, and is told of: a dead probe must not vanish.
	file = parse(t, "time_s,ch1 (°C),ch2 (°C)\n0,60,\n1,61,\n", "")
	if len(file.Probes) != 2 || !slices.Equal(noted(file), []intake.TraceNoteKind{intake.NoteEmptyColumn}) {
		t.Errorf("%d probes, notes %v", len(file.Probes), file.Notes)
	}
}

func TestParseTraceUnits(t *testing.T) {
	for _, c := range []struct {
		name, text string
		declared   intake.TempUnit
		unit       intake.TempUnit
		from       intake.UnitSource
		notes      []intake.TraceNoteKind
	}{
		{"cells", "time_s,temp\n0,140 F\n", "", intake.DegF, intake.UnitFromCells, nil},
		{"cells agree with header", "time_s,temp (F)\n0,140°F\n", "", intake.DegF, intake.UnitFromCells, nil},
		{"header, word", "time_s,Water Fahrenheit\n0,140\n", "", intake.DegF, intake.UnitFromHeader, nil},
		{"header, camel", "time_s,tempF\n0,140\n", "", intake.DegF, intake.UnitFromHeader, nil},
		{"header, deg", "time_s,deg F\n0,140\n", "", intake.DegF, intake.UnitFromHeader, nil},
		{"header, underscore", "time_s,inlet_f\n0,140\n", "", intake.DegF, intake.UnitFromHeader, nil},
		{"header agrees with option", "time_s,temp_c\n0,60\n", intake.DegC, intake.DegC, intake.UnitFromHeader, nil},
		{"option", "time_s,temp\n0,60\n", intake.DegC, intake.DegC, intake.UnitFromOption, nil},
		{"metadata", "Units,Fahrenheit\ntime_s,temp\n0,140\n", "", intake.DegF, intake.UnitFromHeader, nil},
		{"metadata against option", "Units,Fahrenheit\ntime_s,temp\n0,60\n", intake.DegC, intake.DegC, intake.UnitFromOption, nil},
		{"brackets", "time_s,Temp (C)\n0,60\n", "", intake.DegC, intake.UnitFromHeader, nil},
		{"units row, bare letter", "time,probe\ns,C\n0,60\n", "", intake.DegC, intake.UnitFromHeader, nil},
		{"numbered probe", "time_s,probe1_c\n0,60\n", "", intake.DegC, intake.UnitFromHeader, nil},
		{"header of two scales tells nothing", "time_s,temp (°C/°F)\n0,60\n", intake.DegC, intake.DegC, intake.UnitFromOption, nil},
		{"cool Fahrenheit is doubtful", "time_s,temp_f\n0,60\n", "", intake.DegF, intake.UnitFromHeader, []intake.TraceNoteKind{intake.NoteUnitDoubtful}},
		{"values", "time_s,temp\n0,118\n1,141\n", "", intake.DegF, intake.UnitFromValues, []intake.TraceNoteKind{intake.NoteUnitFromValues}},
		{"values with a broken wire", "time_s,temp\n0,118\n1,9999\n", "", intake.DegF, intake.UnitFromValues, []intake.TraceNoteKind{intake.NoteUnitFromValues}},
	} {
		file := parse(t, c.text, c.declared)
		if got := file.Probes[0]; got.Unit != c.unit || got.UnitFrom != c.from {
			t.Errorf("%s: °%s from %s, want °%s from %s", c.name, got.Unit, got.UnitFrom, c.unit, c.from)
		}
		if got := noted(file); !slices.Equal(got, c.notes) {
			t.Errorf("%s: notes %v, want %v", c.name, file.Notes, c.notes)
		}
	}
}

// Three probes A, B and C share one scale: the letter C is no degree Celsius, even where only the others are too hot for
// that.
func TestParseTraceLetteredProbes(t *testing.T) {
	for _, p := range parse(t, "time_s,Temp (A),Temp (B),Temp (C)\n0,140,139,99\n", "").Probes {
		if p.Unit != intake.DegF || p.UnitFrom != intake.UnitFromValues {
			t.Errorf("%s: °%s from %s, want °F from values", p.Name, p.Unit, p.UnitFrom)
		}
	}
}

// An unknown scale must be refused: 60 °F taken for 60 °C would pass cold water as hot.
func TestParseTraceUnitUnknown(t *testing.T) {
	for _, text := range []string{
		"time_s,temp\n0,60\n1,61\n",
		"time_s,temp\n0,40\n1,100\n",
		"0,60\n1,61\n",
		"time_s,temp\n0,9999\n",
		"time_s,probe_a,probe_b,probe_c\n0,60,60,60\n", // probe C, not °C
		"time_s,temp_c,channel 2\n0,60,60\n",
		"time_s,Temp (A),Temp (B),Temp (C)\n0,60,60,60\n",
		"time_s,Probe C\n0,60\n",
		"time_s,probe_c\n0,60\n",
		"time_s,Probe (C)\n0,60\n",
		"Wash unit C\ntime_s,temp\n0,60\n",
		"Unit,C\ntime_s,temp\n0,60\n",
		"Units,Celsius\nUnits,Fahrenheit\ntime_s,temp\n0,60\n",
	} {
		_, err := intake.ParseTrace(strings.NewReader(text), intake.TraceOptions{})
		if !errors.Is(err, intake.ErrUnitUnknown) || !strings.Contains(err.Error(), "give the unit (C or F)") {
			t.Errorf("%q: %v, want the unit to be asked for", text, err)
		}
	}
}

// A hundred-odd in a column of °C is a wrong scale, unless it is one odd reading among many.
func TestParseTraceWrongScale(t *testing.T) {
	_, err := intake.ParseTrace(strings.NewReader("time_s,temp\n0,60\n1,140\n"), intake.TraceOptions{Unit: intake.DegC})
	var row *intake.RowError
	if !errors.As(err, &row) || row.Line != 3 || row.Column != "temp" || row.Value != "140" || !strings.Contains(row.Hint, "did you mean 60 °C (140 °F)?") {
		t.Errorf("%v", err)
	}
	text := func(rows int) string {
		return "time_s,temp_c\n0,140\n" + strings.Repeat("1,60\n", rows-1)
	}
	if _, err := intake.ParseTrace(strings.NewReader(text(99)), intake.TraceOptions{}); err == nil {
		t.Error("1 reading in 99 above boiling: want an error")
	}
	if file := parse(t, text(100), ""); !slices.Equal(noted(file), []intake.TraceNoteKind{intake.NoteTooHot}) {
		t.Errorf("1 reading in 100 above boiling: notes %v", file.Notes)
	}
}

func TestParseTraceErrors(t *testing.T) {
	for _, c := range []struct {
		name, text string
		declared   intake.TempUnit
		want       string
	}{
		{"empty", "", "", "no readings: the file is empty"},
		{"prose", "Dear all,\nthe logger was lost.\n", "", "no readings: in the first 2 lines there is none with a time and a temperature; accepted: columns separated by commas, semicolons or tabs"},
		{"header only", "time_s,temp_c\n", "", "no readings"},
		{"no temperature in any cell", "time_s,temp_c\n0,\n1,ERR\n", "", "no readings: 2 rows, and no temperature in any"},
		{"unit", "time_s,temp\n0,60\n", "K", `unit: "K" is not accepted; accepted: C or F`},
		{"word in a cell", "time_s,temp_c\n0,60\n1,hot\n2,61\n", "", `line 3, temp_c: "hot" is not accepted; accepted: a number with a decimal point, or an empty cell`},
		{"comma in a comma file", "time_s,temp_c\n0,\"60,5\"\n", "", `line 2, temp_c: "60,5" is not accepted; accepted: a number with a decimal point`},
		{"line numbers with CR LF", "time_s,temp_c\r\n0,60\r\n1,hot\r\n", "", `line 3, temp_c: "hot" is not accepted`},
		{"hexadecimal", "time_s,temp_c\n0,0x40\n", "", `line 2, temp_c: "0x40" is not accepted`},
		{"formula", "time_s,temp_c\n0,=60+1\n", "", `line 2, temp_c: "=60+1" is not accepted`},
		{"line without a time amid readings", "time_s,temp_c\n0,60\nx,61\n2,61\n", "", `line 3, time_s: "x" is not accepted; accepted: a time written like the first one, "0"`},
		{"another kind of time", "time_s,temp_c\n0,60\n10:00:00,61\n2,61\n", "", `line 3, time_s: "10:00:00" is not accepted`},
		{"no such day", "time,temp_c\n2026-07-04 10:00:00,60\n2026-02-30 10:00:01,61\n2026-07-04 10:00:02,61\n", "", `line 3, time: "2026-02-30 10:00:01" is not accepted`},
		{"no such day either way", "time,temp_c\n25/07/2026 10:00:00,60\n07/25/2026 10:00:01,61\n", "", `line 3, time: "07/25/2026 10:00:01" is not accepted`},
		{"quote left open", "time_s,temp_c\n0,60\n\"1,61\n2,61\n", "", `line 3, line: "\"1,61" is not accepted; accepted: quotes in pairs`},
		{"numbers without a header", "0,60,61\n1,60,61\n", intake.DegC, `line 1, columns: "0,60,61" is not accepted; accepted: with more than two columns of numbers, a header`},
		{"metadata that passes for a header", "Sample time,10\n1,0,60\n2,1,60\n", intake.DegC, `line 2, columns: "1,0,60" is not accepted; accepted: with more than two columns of numbers, a header`},
		{"several columns of unknown meaning", "time_s,alpha,beta\n0,120,60\n1,121,60\n", intake.DegC, `line 2, columns: "0,120,60" is not accepted; accepted: with more than two columns of numbers, a header`},
		{"header without a time", "x,temp_c\n0,60\n1,60\n", "", `line 1, header: "x,temp_c" is not accepted; accepted: a column for the time`},
		{"cells of two scales", "time_s,temp\n0,60 C\n1,140 F\n", "", `line 3, temp: "140 F" is not accepted; accepted: the same unit in every cell`},
		{"header against option", "time_s,temp_f\n0,140\n", intake.DegC, `temp_f: "°F" is not accepted; accepted: one unit for a column, but the unit given is °C`},
		{"header against cells", "time_s,temp (F)\n0,60 C\n", "", `temp (F): "°F" is not accepted; accepted: one unit for a column, but its cells say °C`},
		{"long line", "time_s,temp_c\n0,60\n1," + strings.Repeat("9", 70_000) + "\n", "", `line 3, line: "a longer line" is not accepted; accepted: lines of less than 65536 bytes`},
		{"many columns", "time_s" + strings.Repeat(",temp_c", 65) + "\n0" + strings.Repeat(",60", 65) + "\n", "", `line 2, columns: "65 temperatures" is not accepted; accepted: at most 64`},
	} {
		file, err := intake.ParseTrace(strings.NewReader(c.text), intake.TraceOptions{Unit: c.declared})
		if err == nil || !strings.HasPrefix(err.Error(), c.want) {
			t.Errorf("%s: error %q, want %q", c.name, fmt.Sprint(err), c.want)
		}
		if len(file.Probes) != 0 {
			t.Errorf("%s: readings beside an error", c.name)
		}
	}
}

func TestParseTraceReaderFails(t *testing.T) {
	broken := errors.New("cable pulled")
	for _, head := range []string{"", "time_s,temp_c\n0,60\n", "time_s,temp_c\n" + strings.Repeat("0,60\n", 5000)} {
		_, err := intake.ParseTrace(io.MultiReader(strings.NewReader(head), iotest.ErrReader(broken)), intake.TraceOptions{})
		if !errors.Is(err, broken) {
			t.Errorf("after %d bytes: %v, want the reader's error", len(head), err)
		}
	}
	// A reader that gives a byte at a time changes nothing.
	text := "time_s,temp_c\r\n0,60\r\n1,61\r\n"
	file, err := intake.ParseTrace(iotest.OneByteReader(strings.NewReader(text)), intake.TraceOptions{})
	if err != nil || !same(file.Probes[0].Readings, []row{{0, 60}, {1, 61}}) {
		t.Errorf("byte by byte: %v, %v", file.Probes, err)
	}
}

func TestParseTraceUTF16(t *testing.T) {
	text := "Time (s)\tTemp (°C) 😀\n0\t60\n1\t61\n"
	for name, order := range map[string][2]int{"little-endian": {0, 8}, "big-endian": {8, 0}} {
		var b strings.Builder
		for _, u := range append([]uint16{0xfeff}, utf16.Encode([]rune(text))...) {
			b.WriteByte(byte(u >> order[0]))
			b.WriteByte(byte(u >> order[1]))
		}
		file := parse(t, b.String(), "")
		if got := file.Probes[0]; got.Name != "Temp (°C) 😀" || !same(got.Readings, []row{{0, 60}, {1, 61}}) {
			t.Errorf("%s: %+v", name, got)
		}
	}
}

func TestParseTraceLimits(t *testing.T) {
	text := "time_s,temp_c\n0,60\n1,61\n2,62\n"
	if _, err := intake.ParseTrace(strings.NewReader(text), intake.TraceOptions{MaxRows: 3}); err != nil {
		t.Errorf("three rows of three: %v", err)
	}
	_, err := intake.ParseTrace(strings.NewReader(text), intake.TraceOptions{MaxRows: 2})
	if err == nil || !strings.Contains(err.Error(), "at most 2 rows") {
		t.Errorf("three rows of two: %v", err)
	}
}

// A file from a wash, through parsing and cleaning to the hold.
func TestParseTraceToHold(t *testing.T) {
	f, err := os.Open("testdata/livewell.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	file, err := intake.ParseTrace(f, intake.TraceOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if len(file.Probes) != 2 {
		t.Fatalf("%d probes, want 2", len(file.Probes))
	}
	var cleaned []trace.Trace
	for _, p := range file.Probes {
		tr, _ := trace.Clean(p.Readings, trace.Options{})
		cleaned = append(cleaned, tr)
	}
	// The file was made so: the outlet is at 120.2 °F or more from 60 s to 200 s, except for an empty cell at 90 s; the
	// inlet is hotter throughout.
	hold := trace.Coldest(cleaned...).LongestHold(unit.FromFahrenheit(120), 0.1)
	if hold.FromS != 100 || hold.ToS != 200 {
		t.Errorf("hold %+v, want 100 s to 200 s", hold)
	}
}

func TestRowErrorIsSafeToPrint(t *testing.T) {
	err := &intake.RowError{Line: 7, Column: "temp", Value: "\x00\u202e\xff" + strings.Repeat("x", 1000), Accepted: "a number"}
	if s := err.Error(); len(s) > 200 || !utf8.ValidString(s) || strings.ContainsAny(s, "\x00\u202e\n") {
		t.Errorf("%q", s)
	}
}

// checkFile is what must hold of any file that was accepted.
func checkFile(t *testing.T, file intake.TraceFile) {
	t.Helper()
	if len(file.Probes) == 0 || file.Rows == 0 {
		t.Fatal("accepted without a probe or a row")
	}
	for _, p := range file.Probes {
		if len(p.Readings) != file.Rows {
			t.Fatalf("%s: %d readings in %d rows", p.Name, len(p.Readings), file.Rows)
		}
		if p.Name == "" || !utf8.ValidString(p.Name) || strings.ContainsAny(p.Name, "\n\r\x00") {
			t.Fatalf("name %q", p.Name)
		}
		earliest := math.Inf(1)
		for _, r := range p.Readings {
			if math.IsNaN(r.AtS) || math.IsInf(r.AtS, 0) || r.AtS < 0 || math.IsNaN(float64(r.TempC)) || math.IsInf(float64(r.TempC), 0) || r.Row < 1 {
				t.Fatalf("%s: reading %+v", p.Name, r)
			}
			if p.Unit == intake.UnitUnknown && r.TempC != none {
				t.Fatalf("%s: a temperature without a scale", p.Name)
			}
			earliest = min(earliest, r.AtS)
		}
		if earliest != 0 {
			t.Fatalf("%s: the earliest reading is at %v s", p.Name, earliest)
		}
		tr, _ := trace.Clean(p.Readings, trace.Options{})
		if h := tr.LongestHold(40, 0.5); math.IsNaN(h.Seconds) || h.Seconds < 0 {
			t.Fatalf("%s: hold %+v", p.Name, h)
		}
	}
	for _, n := range file.Notes {
		if n.Kind == "" || n.Text == "" || !utf8.ValidString(n.Text) {
			t.Fatalf("note %+v", n)
		}
	}
}

func FuzzParseTrace(f *testing.F) {
	for _, seed := range []string{
		"time_s,temp_c\n0,60\n1,60.5\n",
		"\ufefftime_s;temp °C\r\n0,5;60,1\r\n1,5;60,2\r\n",
		"\xff\xfet\x00,\x00T\x00\n\x00",
		"\xfe\xff\xd8\x00\x00,\xdc\x00",
		"time_s,temp_c\n0,\x0060\n\x00\x00\x00\n",
		"time_s,\xed\xa0\x80temp_c\n0,60\n",
		"\"ti\"\"me\",\"te\"\"\"\"mp_c\"\n\"0\",\"60\"\n\"1,6\n",
		"time,temp\n10:15,60 °C\n10:16,61 °C\n",
		"Date,Time,Temp (F)\n07/04/2026,11:59:59 PM,140\n07/05/2026,12:00:01 AM,141\n",
		"#,Date Time,\"Temp, °C\"\n1,07/04/26 10:00:00 AM,60\n",
		"1,2026-07-04 10:00:00,60\n",
		"Unit,F\ntime,temp\ns,\n0,140\n",
		"time_s,temp_c\n0,60\ntime_s,temp_c\n1,61\nEnd\n",
		"time,temp\n46207.5,140\n",
		"timestamp,temp_f\n1783159200100,140\n-1e15,141\n",
		"time_s,temp_c\n0,=cmd|' /C calc'!A0\n",
		"time_s,temp_c\n1e308,1e308\n-1e308,-1e308\n",
		"temp_c\u202e,time_s\n60,0\n",
		strings.Repeat("a,", 500) + "\n",
		"time_s,temp_c\n0," + strings.Repeat("6", 70_000),
	} {
		f.Add([]byte(seed), "")
		f.Add([]byte(seed), "C")
	}
	f.Fuzz(func(t *testing.T, data []byte, declared string) {
		file, err := intake.ParseTrace(strings.NewReader(string(data)), intake.TraceOptions{Unit: intake.TempUnit(declared), MaxRows: 10_000})
		if err != nil {
			if s := err.Error(); s == "" || !utf8.ValidString(s) {
				t.Fatalf("error text %q", s)
			}
			return
		}
		checkFile(t, file)
	})
}

// TestUglyFiles runs through inputs too large for the fuzzing corpus. Each must be refused, or read by the rules.
func TestUglyFiles(t *testing.T) {
	for name, text := range map[string]string{
		"10 MB cell":        "time_s,temp_c\n0,\"" + strings.Repeat("x", 10<<20) + "\"\n",
		"10 MB of quotes":   strings.Repeat("\"", 10<<20),
		"10 MB of commas":   strings.Repeat(",", 10<<20),
		"10 MB of newlines": strings.Repeat("\n", 10<<20),
		"10 MB of CR":       strings.Repeat("\r", 10<<20),
		"10 MB of NUL":      strings.Repeat("\x00", 10<<20),
		"5 MB of UTF-16":    "\xff\xfe" + strings.Repeat("a\x00", 5<<20),
		"million headers":   strings.Repeat("time_s,temp_c\n", 1_000_000),
	} {
		file, err := intake.ParseTrace(strings.NewReader(text), intake.TraceOptions{})
		if err == nil {
			t.Errorf("%s: accepted %d rows, want an error", name, file.Rows)
		} else if len(err.Error()) > 500 {
			t.Errorf("%s: an error of %d bytes", name, len(err.Error()))
		}
	}
}

func BenchmarkParseTrace36000(b *testing.B) {
	var text strings.Builder
	text.WriteString("timestamp,temp_c\n")
	start := time.Date(2026, 7, 4, 8, 0, 0, 0, time.UTC)
	for i := range 36000 {
		fmt.Fprintf(&text, "%s,%.1f\n", start.Add(time.Duration(i)*time.Second).Format("2006-01-02 15:04:05"), 45+float64(i%200)/10)
	}
	b.SetBytes(int64(text.Len()))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := intake.ParseTrace(strings.NewReader(text.String()), intake.TraceOptions{}); err != nil {
			b.Fatal(err)
		}
	}
}

func ExampleParseTrace() {
	text := "Elapsed (s);Exit temp\n0;141,2\n5;140,9\n10;139,8\n"
	file, err := intake.ParseTrace(strings.NewReader(text), intake.TraceOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, n := range file.Notes {
		fmt.Println("note:", n.Text)
	}
	for _, r := range file.Probes[0].Readings {
		fmt.Printf("%g s: %.2f °C\n", r.AtS, float64(r.TempC))
	}
	// Output:
	// note: no unit given; values from 139.8 to 141.2 cannot all be °C in water that does not boil, so they are read as °F (59.9 to 60.7 °C)
	// 0 s: 60.67 °C
	// 5 s: 60.50 °C
	// 10 s: 59.89 °C
}
