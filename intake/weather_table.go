package intake

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"thwart/unit"
)

// weatherColumn is where a field stands and in which unit.
type weatherColumn struct {
	index int
	unit  string // "c", "f", "mm", "in", "pct" or none
	name  string // as the file has it
}

type weatherTable struct {
	column  map[string]weatherColumn
	ignored []string
	utc     bool // the time column says it is in UTC
	comma   bool // decimal commas
	rows    []weatherRow
}

type weatherRow struct {
	table *weatherTable
	line  int
	cells []string
}

func (t *weatherTable) has(field string) bool { _, ok := t.column[field]; return ok }

func (t *weatherTable) need(fields ...string) error {
	var names []string
	for _, c := range t.column {
		names = append(names, c.name)
	}
	names = append(names, t.ignored...)
	slices.Sort(names)
	for _, f := range fields {
		if !t.has(f) {
			return &WeatherError{Line: 1, Field: "header", Value: strings.Join(names, ","), Accepted: "a header with a " + f + " column, such as " + weatherExample[f]}
		}
	}
	if len(t.rows) == 0 {
		return &WeatherError{Field: "readings", Value: "", Accepted: "one row or more below the header"}
	}
	return nil
}

var weatherExample = map[string]string{
	"time": "time", "temperature": "temp_c or temp_f", "humidity": "rh", "month": "month",
}

func (t *weatherTable) noteColumns(notes *weatherNotes) {
	if len(t.ignored) > 0 {
		notes.add("ignored", 0, 0, t.ignored...)
	}
}

// Names of columns, as weatherPlainName writes them and without their unit.
var (
	weatherHourly = map[string][]string{
		"time":        {"time", "datetime", "date_time", "timestamp", "valid", "valid_time", "local_time", "time_local"},
		"date":        {"date", "day"},
		"temperature": {"temp", "temperature", "t", "tair", "air_temp", "air_temperature", "airtemp", "temp_air", "dry_bulb", "drybulb", "dry_bulb_temperature", "temperature_2m", "temp_2m", "t2m", "tmp"},
		"humidity":    weatherHumidity,
		"rain":        {"rain", "rainfall", "precipitation", "precip", "prcp"},
		"wet":         {"wet"},
	}
	weatherMonthly = map[string][]string{
		"month":       {"month"},
		"minimum":     {"tmin", "t_min", "min", "min_temp", "temp_min", "temperature_min", "min_temperature", "low"},
		"maximum":     {"tmax", "t_max", "max", "max_temp", "temp_max", "temperature_max", "max_temperature", "high"},
		"temperature": {"tmean", "t_mean", "tavg", "t_avg", "mean", "mean_temp", "temp_mean", "mean_temperature", "temperature_mean", "temp", "temperature"},
		"humidity":    weatherHumidity,
	}
	weatherHumidity = []string{"rh", "humidity", "relative_humidity", "rel_humidity", "rel_hum", "relhum", "relh", "hum", "relative_humidity_2m", "rh_mean", "mean_rh", "rh2m"}
	weatherUnits    = map[string]string{
		"c": "c", "degc": "c", "deg_c": "c", "celsius": "c", "f": "f", "degf": "f", "deg_f": "f", "fahrenheit": "f",
		"pct": "pct", "percent": "pct", "mm": "mm", "in": "in", "inch": "in", "inches": "in", "utc": "utc", "gmt": "utc",
	}
	weatherUnitsOf = map[string]string{
		"time": "utc", "temperature": "c f", "minimum": "c f", "maximum": "c f", "humidity": "pct", "rain": "mm in",
	}
)

// weatherPlainName brings a column's name into small letters, digits and single underscores.
func weatherPlainName(s string) string {
	s = strings.NewReplacer("%", " pct ", "°", " ", "º", " ").Replace(strings.ToLower(s))
	words := strings.FieldsFunc(s, func(r rune) bool { return !(r >= 'a' && r <= 'z' || r >= '0' && r <= '9') })
	return strings.Join(words, "_")
}

// weatherField finds the field and the unit that a column's name stands for. A unit may follow with or without a gap.
func weatherField(name string, known map[string][]string) (field, u string, ok bool) {
	plain := weatherPlainName(name)
	for field, aliases := range known {
		for _, alias := range aliases {
			if plain == alias {
				return field, "", true
			}
			rest, found := strings.CutPrefix(plain, alias)
			if !found {
				continue
			}
			u := weatherUnits[strings.TrimPrefix(rest, "_")]
			if u != "" && slices.Contains(strings.Fields(weatherUnitsOf[field]), u) {
				return field, u, true
			}
		}
	}
	return "", "", false
}

func weatherRead(r io.Reader, opt WeatherOptions, known map[string][]string) (*weatherTable, error) {
	data, err := io.ReadAll(io.LimitReader(r, weatherMaxBytes+1))
	if err != nil {
		return nil, fmt.Errorf("weather: %w", err)
	}
	if len(data) > weatherMaxBytes {
		return nil, &WeatherError{Field: "file", Value: "larger than 64 MB", Accepted: "up to 64 MB; split it by years"}
	}
	data = bytes.TrimPrefix(data, []byte("\uFEFF"))
	in := csv.NewReader(bytes.NewReader(data))
	in.Comma = weatherSeparator(data)
	in.Comment = '#'
	in.TrimLeadingSpace = in.Comma != '\t'
	header, err := in.Read()
	if errors.Is(err, io.EOF) {
		return nil, &WeatherError{Field: "file", Value: "", Accepted: "a header line and one reading or more"}
	}
	if err != nil {
		return nil, weatherCSVError(err)
	}
	line, _ := in.FieldPos(0)
	table := &weatherTable{column: map[string]weatherColumn{}, comma: in.Comma != ','}
	for i, name := range header {
		if err := table.addColumn(i, name, line, opt, known); err != nil {
			return nil, err
		}
	}
	// A "date" column alone holds the whole time.
	if date, ok := table.column["date"]; ok && !table.has("time") {
		table.column["time"] = date
		delete(table.column, "date")
	}
	for {
		cells, err := in.Read()
		if errors.Is(err, io.EOF) {
			return table, nil
		}
		if err != nil {
			return nil, weatherCSVError(err)
		}
		line, _ := in.FieldPos(0)
		table.rows = append(table.rows, weatherRow{table: table, line: line, cells: cells})
	}
}

func (t *weatherTable) addColumn(i int, name string, line int, opt WeatherOptions, known map[string][]string) error {
	name = strings.TrimSpace(name)
	field, u, ok := weatherField(name, known)
	if !ok {
		t.ignored = append(t.ignored, name)
		return nil
	}
	if first, twice := t.column[field]; twice {
		return &WeatherError{Line: line, Field: "header", Value: name, Accepted: "one " + field + " column; the first is " + first.name}
	}
	if u == "utc" {
		t.utc = true
	}
	if strings.Contains(weatherUnitsOf[field], "c f") {
		asked := strings.ToLower(opt.Scale)
		if u == "" {
			u = asked
		}
		if u == "" {
			return &WeatherError{Line: line, Field: "header", Value: name, Accepted: "a temperature column that names its unit, such as temp_c or temp_f, or the unit given for the file"}
		}
		if asked != "" && asked != u {
			return &WeatherError{Line: line, Field: "header", Value: name, Accepted: "a column in °" + strings.ToUpper(asked) + ", the unit given for the file"}
		}
	}
	t.column[field] = weatherColumn{index: i, unit: u, name: name}
	return nil
}

// weatherSeparator is the one of comma, semicolon and tab that the header holds most of.
func weatherSeparator(data []byte) rune {
	lines := bufio.NewScanner(bytes.NewReader(data))
	lines.Buffer(nil, weatherMaxBytes+1)
	for lines.Scan() {
		header := lines.Text()
		if strings.TrimSpace(header) == "" || strings.HasPrefix(header, "#") {
			continue
		}
		best := ','
		for _, c := range ";\t" {
			if strings.Count(header, string(c)) > strings.Count(header, string(best)) {
				best = c
			}
		}
		return best
	}
	return ','
}

func weatherCSVError(err error) error {
	var p *csv.ParseError
	if errors.As(err, &p) {
		accepted := "as many cells as the header, quotes in pairs"
		return &WeatherError{Line: p.Line, Field: "row", Value: p.Err.Error(), Accepted: accepted}
	}
	return fmt.Errorf("weather: %w", err)
}

func (r weatherRow) cell(field string) string {
	return strings.TrimSpace(r.cells[r.table.column[field].index])
}

// weatherMissing lists how files say that there is no reading.
var weatherMissing = []string{"", "-", "--", "m", "na", "n/a", "nan", "null", "none", "missing"}

// number reads a cell and whether there is a reading in it.
func (r weatherRow) number(field string, lo, hi float64, in string) (float64, bool, error) {
	text := r.cell(field)
	if slices.Contains(weatherMissing, strings.ToLower(text)) {
		return 0, false, nil
	}
	plain := text
	if r.table.comma {
		plain = strings.Replace(plain, ",", ".", 1)
	}
	v, err := strconv.ParseFloat(plain, 64)
	if err != nil || !(v >= lo && v <= hi) {
		return 0, false, &WeatherError{
			Line: r.line, Field: r.table.column[field].name, Value: text,
			Accepted: fmt.Sprintf("%s to %s %s, or an empty cell where there is no reading", weatherNumber(lo), weatherNumber(hi), in),
		}
	}
	return v, true, nil
}

func weatherNumber(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

func (r weatherRow) temperature(field, scale string) (unit.Celsius, bool, error) {
	if r.table.column[field].unit != "f" {
		v, ok, err := r.number(field, weatherMinC, weatherMaxC, "°C")
		return unit.Celsius(v), ok, err
	}
	v, ok, err := r.number(field, unit.Celsius(weatherMinC).Fahrenheit(), unit.Celsius(weatherMaxC).Fahrenheit(), "°F")
	if !ok {
		return 0, false, err
	}
	// The conversion may overshoot the limit by a last bit.
	return min(max(unit.FromFahrenheit(v), weatherMinC), weatherMaxC), true, nil
}

func (r weatherRow) rain() (mm float64, ok bool, err error) {
	if strings.EqualFold(r.cell("rain"), "t") {
		return 0.05, true, nil // a trace: it wetted the gauge, and less than it can measure
	}
	const mmPerInch = 25.4 // exact: international inch
	if r.table.column["rain"].unit == "in" {
		inches, ok, err := r.number("rain", 0, weatherMaxRainMM/mmPerInch, "in")
		return inches * mmPerInch, ok, err
	}
	return r.number("rain", 0, weatherMaxRainMM, "mm")
}

func (r weatherRow) yes(field string) (yes, ok bool, err error) {
	text := strings.ToLower(r.cell(field))
	switch {
	case slices.Contains(weatherMissing, text):
		return false, false, nil
	case slices.Contains([]string{"yes", "y", "true", "1", "wet"}, text):
		return true, true, nil
	case slices.Contains([]string{"no", "n", "false", "0", "dry"}, text):
		return false, true, nil
	}
	return false, false, &WeatherError{Line: r.line, Field: r.table.column[field].name, Value: r.cell(field), Accepted: "yes or no, or an empty cell where nobody looked"}
}
