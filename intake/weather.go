package intake

import (
	"cmp"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"thwart/engine/drying"
	"thwart/lean"
	"thwart/unit"
)

// Limits of what a weather file may hold. Air and humidity are wider than any launch sees, so that a reading beyond them is
// a fault or a missing-value code; the heaviest hour of rain on record is 305 mm (World Meteorological Organization; from
// memory).
const (
	weatherMinC, weatherMaxC = -50.0, 60.0
	weatherMaxRainMM         = 500.0
	weatherMaxBytes          = 64 << 20
)

// WeatherOptions are what a weather file does not say itself.
type WeatherOptions struct {
	// Location is where clock times without an offset belong; nil refuses them. A logger that stays on standard time all
	// year takes a fixed zone.
	Location *time.Location
	// Scale is "C" or "F" for a temperature column whose header does not say. There is no default: read on the wrong scale
	// a cool day looks hot enough to kill.
	Scale string
	// Unknown is the air of hours without a reading; the zero value is air in which nothing dries. Set Wet in it where
	// unseen rain must be feared. The same air is assumed beyond the file.
	Unknown drying.Spell
	// WetMM is the rain of one reading that counts as wetting; 0 takes any rain, and a trace.
	WetMM float64
	// HoldH is how many hours a reading stands for when the next one is late; 0 is one hour. A reading half as late again is
	// not a gap.
	HoldH float64
}

// WeatherNote is something the reader of a weather file should know though it could be used: what was left out, put in
// order, or counted as unknown.
type WeatherNote struct {
	Line int // of the file, from 1; 0 for the file as a whole
	Text string
}

func (n WeatherNote) String() string {
	if n.Line == 0 {
		return n.Text
	}
	return fmt.Sprintf("line %d: %s", n.Line, n.Text)
}

// WeatherError says which cell of a weather file cannot be used.
type WeatherError struct {
	Line     int // from 1; 0 where there is no line
	Field    string
	Value    string
	Accepted string
}

func (e *WeatherError) Error() string {
	what := fmt.Sprintf("%s: %q is not accepted; accepted: %s", e.Field, e.Value, e.Accepted)
	if e.Line == 0 {
		return "weather: " + what
	}
	return fmt.Sprintf("weather, line %d: %s", e.Line, what)
}

// ParseWeather reads a table of air temperature and relative humidity over time, hourly or finer, as CSV with a header.
//
// Columns are found by name, in any order and case: a time (time, datetime, timestamp, valid, or date and time apart), a
// temperature with its unit (temp_c, "Temperature (°F)", temperature_2m ...), a humidity (rh, relative_humidity ...), and
// where there are any, rain (rain_mm, precipitation, precip_in ...) and wet (yes or no). Times are ISO 8601. Separators may
// be commas, semicolons or tabs; with the last two a decimal comma is read.
//
// A reading stands for the time until the next. Where the next is late, where a cell is empty or where two readings for one
// time differ, the hours count as opt.Unknown. The weather begins with the first reading; notes tell what was done. A cell
// that holds something, but no possible reading, is a [*WeatherError]: a file with one such value may hold others that
// happen to look possible.
func ParseWeather(r io.Reader, opt WeatherOptions) (drying.Weather, []WeatherNote, error) {
	if err := opt.weatherCheck(); err != nil {
		return drying.Weather{}, nil, err
	}
	table, err := weatherRead(r, opt, weatherHourly)
	if err != nil {
		return drying.Weather{}, nil, err
	}
	if err := table.need("time", "temperature", "humidity"); err != nil {
		return drying.Weather{}, nil, err
	}
	var (
		notes    weatherNotes
		readings []weatherReading
		clock    = weatherClock{location: opt.Location, seen: map[int64]bool{}}
	)
	table.noteColumns(&notes)
	if !table.has("rain") && !table.has("wet") {
		notes.add("no rain column", 0, 0)
	}
	if c := table.column["rain"]; table.has("rain") && c.unit == "" {
		notes.add("rain unit", 0, 0)
	}
	if table.utc {
		clock.location = time.UTC
	}
	for _, row := range table.rows {
		reading, err := row.reading(&clock, opt)
		if err != nil {
			return drying.Weather{}, nil, err
		}
		if !reading.known {
			notes.add("missing", reading.line, 0)
		}
		readings = append(readings, reading)
	}
	if err := weatherPlausible(table, readings, &notes); err != nil {
		return drying.Weather{}, nil, err
	}
	w := drying.Weather{Beyond: opt.Unknown.OrNothingDries()}
	readings = weatherInOrder(readings, &notes)
	w.Start = readings[0].at
	w.Spells = weatherSpells(readings, opt, &notes)
	return w, notes.list(), nil
}

func (o WeatherOptions) weatherCheck() error {
	switch strings.ToUpper(o.Scale) {
	case "", "C", "F":
	default:
		return &WeatherError{Field: "temperature scale", Value: o.Scale, Accepted: "C or F"}
	}
	if !(o.WetMM >= 0) || math.IsInf(o.WetMM, 1) {
		return &WeatherError{Field: "rain that wets, in mm", Value: fmt.Sprint(o.WetMM), Accepted: "0 or more"}
	}
	if !(o.HoldH >= 0 && o.HoldH <= 24) {
		return &WeatherError{Field: "hours a reading stands for", Value: fmt.Sprint(o.HoldH), Accepted: "0 to 24, where 0 is one hour"}
	}
	unknown := o.Unknown
	unknown.Hours = 0
	if err := unknown.Validate(); err != nil {
		return fmt.Errorf("weather: air of unknown hours: %w", err)
	}
	return nil
}

// weatherReading is one row: the air from an instant on.
type weatherReading struct {
	line  int
	at    time.Time
	spell drying.Spell // without its length
	known bool         // no cell was empty
}

func (r weatherRow) reading(clock *weatherClock, opt WeatherOptions) (weatherReading, error) {
	at, err := clock.read(r)
	if err != nil {
		return weatherReading{}, err
	}
	temp, hasTemp, err := r.temperature("temperature", opt.Scale)
	if err != nil {
		return weatherReading{}, err
	}
	rh, hasRH, err := r.number("humidity", 0, 100, "%")
	if err != nil {
		return weatherReading{}, err
	}
	reading := weatherReading{line: r.line, at: at, known: hasTemp && hasRH, spell: drying.Spell{TempC: temp, RHPct: rh}}
	if r.table.has("rain") {
		mm, hasRain, err := r.rain()
		if err != nil {
			return weatherReading{}, err
		}
		reading.known = reading.known && hasRain
		reading.spell.Wet = mm > 0 && mm >= opt.WetMM
	}
	if r.table.has("wet") {
		wet, hasWet, err := r.yes("wet")
		if err != nil {
			return weatherReading{}, err
		}
		reading.known = reading.known && hasWet
		reading.spell.Wet = reading.spell.Wet || wet
	}
	return reading, nil
}

// weatherPlausible looks at the file as a whole for the two mistakes that single cells do not show and that make air look
// deadlier than it was: humidity given as a fraction, and °F under a header that says °C.
func weatherPlausible(table *weatherTable, readings []weatherReading, notes *weatherNotes) error {
	var temps, humidities []float64
	for _, r := range readings {
		if r.known {
			temps, humidities = append(temps, float64(r.spell.TempC)), append(humidities, r.spell.RHPct)
		}
	}
	if len(temps) == 0 {
		return nil
	}
	if err := table.refuseFractions(slices.Max(humidities)); err != nil {
		return err
	}
	// Warmer than any month on record anywhere (about 42 °C; from memory).
	const hottestMonthC = 45
	slices.Sort(temps)
	if temps[len(temps)/2] > hottestMonthC {
		notes.add("scale", 0, 0)
	}
	return nil
}

func (t *weatherTable) refuseFractions(maxRHPct float64) error {
	if maxRHPct > 1 {
		return nil
	}
	return &WeatherError{
		Field: t.column["humidity"].name, Value: "nothing above " + weatherNumber(maxRHPct),
		Accepted: "percent, 0 to 100; a column of fractions must be multiplied by 100",
	}
}

// weatherInOrder sorts the readings and leaves one for each instant. Two that differ make it unknown: the cooler one would
// be the safe one for drying, the warmer one for a rule on freezing.
func weatherInOrder(readings []weatherReading, notes *weatherNotes) []weatherReading {
	for i := range readings[1:] {
		if readings[i+1].at.Before(readings[i].at) {
			notes.add("order", readings[i+1].line, 0)
		}
	}
	lean.SortStable(readings, func(a, b weatherReading) int { return a.at.Compare(b.at) })
	kept := readings[:1]
	for _, r := range readings[1:] {
		last := &kept[len(kept)-1]
		switch {
		case !r.at.Equal(last.at):
			kept = append(kept, r)
		case r.known == last.known && r.spell == last.spell:
			notes.add("repeated", r.line, 0)
		default:
			// What got the craft wet stays: unknown hours may be set to count as dry.
			last.known, last.spell.Wet = false, last.spell.Wet || r.spell.Wet
			notes.add("contradiction", r.line, 0)
		}
	}
	return kept
}

func weatherSpells(readings []weatherReading, opt WeatherOptions, notes *weatherNotes) []drying.Spell {
	hold := cmp.Or(opt.HoldH, 1)
	const late = 1.5
	unknown := opt.Unknown.OrNothingDries()
	var spells []drying.Spell
	for i, r := range readings {
		stands, gap := hold, 0.0
		if i+1 < len(readings) {
			stands = readings[i+1].at.Sub(r.at).Hours()
			if stands > late*hold {
				stands, gap = hold, stands-hold
			}
		} else if i > 0 {
			// The last reading stands as long as the one before it did, so that minute data do not end with an hour.
			stands = min(hold, r.at.Sub(readings[i-1].at).Hours())
		}
		s := r.spell
		if !r.known {
			s = unknown
			s.Wet = s.Wet || r.spell.Wet
		}
		s.Hours = stands
		spells = append(spells, s)
		if gap > 0 {
			notes.add("gap", r.line, gap)
			s = unknown
			s.Hours = gap
			spells = append(spells, s)
		}
	}
	return spells
}

// weatherNotes gathers what happened by kind: a file with ten thousand gaps gets one note about gaps.
type weatherNotes struct {
	kinds []weatherNoteKind
}

type weatherNoteKind struct {
	kind  string
	line  int // first
	count int
	hours float64
	names []string
}

func (n *weatherNotes) add(kind string, line int, hours float64, names ...string) {
	i := slices.IndexFunc(n.kinds, func(k weatherNoteKind) bool { return k.kind == kind })
	if i < 0 {
		n.kinds = append(n.kinds, weatherNoteKind{kind: kind, line: line})
		i = len(n.kinds) - 1
	}
	k := &n.kinds[i]
	k.count++
	k.hours += hours
	k.names = append(k.names, names...)
}

func (n *weatherNotes) list() []WeatherNote {
	var notes []WeatherNote
	for _, k := range n.kinds {
		text := ""
		switch k.kind {
		case "gap":
			text = fmt.Sprintf("%s without a reading, %s h in all, the first after this line: counted as unknown weather", weatherCount(k.count, "stretch", "stretches"), strconv.FormatFloat(k.hours, 'f', -1, 64))
		case "missing":
			text = fmt.Sprintf("%s with an empty cell, this the first: counted as unknown weather", weatherCount(k.count, "reading", "readings"))
		case "order":
			text = fmt.Sprintf("out of order at %s, this the first: put in order", weatherCount(k.count, "place", "places"))
		case "repeated":
			text = fmt.Sprintf("%s given twice, this the first: left out once", weatherCount(k.count, "reading", "readings"))
		case "contradiction":
			text = fmt.Sprintf("%s for a time that has another, this the first: counted as unknown weather", weatherCount(k.count, "reading", "readings"))
		case "no rain column":
			text = "no rain column: rain is not known, and does not start the clock again"
		case "rain unit":
			text = "rain without a unit: read as mm"
		case "scale":
			text = "half of the temperatures are above 45 °C: is the column in °F?"
		case "ignored":
			text = "columns not used: " + strings.Join(k.names, ", ")
		case "no month":
			text = "no row for " + strings.Join(k.names, ", ") + ": counted as unknown weather"
		case "mean only":
			text = "only a mean temperature: nights cooler than the mean are not seen"
		}
		notes = append(notes, WeatherNote{Line: k.line, Text: text})
	}
	return notes
}

func weatherCount(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// weatherClock reads times. In the hour that clocks show twice, the first row with a time gets the first of the two
// instants and the second row the other.
type weatherClock struct {
	location *time.Location
	seen     map[int64]bool // first instants of doubled clock times already given away
}

var weatherTimeLayouts = []string{"2006-01-02T15:04:05", "2006-01-02T15:04", "2006-01-02T15"}

const weatherTimeAccepted = "an ISO 8601 time such as 2026-07-04T10:00Z or 2026-07-04T10:00-06:00, years 1970 to 2200"

func (c *weatherClock) read(r weatherRow) (time.Time, error) {
	text := r.cell("time")
	if r.table.has("date") {
		text = r.cell("date") + "T" + text
	}
	refuse := func(accepted string) (time.Time, error) {
		return time.Time{}, &WeatherError{Line: r.line, Field: "time", Value: text, Accepted: accepted}
	}
	iso := strings.ReplaceAll(strings.Replace(text, " ", "T", 1), " ", "")
	for _, layout := range weatherTimeLayouts {
		for _, offset := range []string{"Z07:00", "Z0700", "Z07"} {
			if at, err := time.Parse(layout+offset, iso); err == nil {
				if weatherYear(at) {
					return at, nil
				}
				return refuse(weatherTimeAccepted)
			}
		}
		wall, err := time.Parse(layout, iso)
		if err != nil {
			continue
		}
		if !weatherYear(wall) {
			return refuse(weatherTimeAccepted)
		}
		if c.location == nil {
			return refuse("a time with its offset, such as 2026-07-04T10:00-06:00, or a zone given for the file")
		}
		instants := weatherInstants(wall, c.location)
		switch {
		case len(instants) == 0:
			return refuse(fmt.Sprintf("a clock time that exists in %v; a logger kept on standard time needs a fixed zone", c.location))
		case len(instants) > 1 && c.seen[instants[0].UnixNano()]:
			return instants[1], nil
		case len(instants) > 1:
			c.seen[instants[0].UnixNano()] = true
		}
		return instants[0], nil
	}
	return refuse(weatherTimeAccepted)
}

func weatherYear(t time.Time) bool { return t.Year() >= 1970 && t.Year() <= 2200 }

// weatherInstants lists the instants at which clocks in a zone show a time, given in UTC: one as a rule, none in the hour
// that is skipped in spring, two in the hour that comes twice in autumn.
func weatherInstants(wall time.Time, zone *time.Location) []time.Time {
	var instants []time.Time
	y, m, d := wall.Date()
	near := time.Date(y, m, d, wall.Hour(), wall.Minute(), wall.Second(), wall.Nanosecond(), zone)
	for _, at := range []time.Time{near.AddDate(0, 0, -2), near.AddDate(0, 0, 2)} {
		_, offset := at.Zone()
		t := wall.Add(-time.Duration(offset) * time.Second).In(zone)
		if _, now := t.Zone(); now == offset && !slices.ContainsFunc(instants, t.Equal) {
			instants = append(instants, t)
		}
	}
	return instants
}

// ParseSteady reads steady air written as temperature/humidity, such as 20C/50% or 68F/50%, with or without "steady:" in
// front. The spell has no length; it serves as [drying.Weather.Beyond] or gets its hours from the caller.
func ParseSteady(s string) (drying.Spell, error) {
	const accepted = "a temperature from -50 to 60 °C (or -58 to 140 °F) and a humidity from 0 to 100 %, such as 20C/50% or 68F/50%"
	refuse := func() (drying.Spell, error) {
		return drying.Spell{}, &WeatherError{Field: "steady air", Value: s, Accepted: accepted}
	}
	text := strings.ToLower(strings.Join(strings.Fields(s), ""))
	text = strings.TrimPrefix(text, "steady:")
	tempText, rhText, ok := strings.Cut(text, "/")
	if !ok || len(tempText) < 2 {
		return refuse()
	}
	scale := tempText[len(tempText)-1]
	temp, err := strconv.ParseFloat(strings.TrimSuffix(tempText[:len(tempText)-1], "°"), 64)
	rh, rhErr := strconv.ParseFloat(strings.TrimSuffix(rhText, "%"), 64)
	c := unit.Celsius(temp)
	if scale == 'f' {
		c = unit.FromFahrenheit(temp)
	} else if scale != 'c' {
		return refuse()
	}
	const lastBit = 1e-9
	if err != nil || rhErr != nil || !(c >= weatherMinC-lastBit && c <= weatherMaxC+lastBit) || !(rh >= 0 && rh <= 100) {
		return refuse()
	}
	if rh <= 1 && !strings.HasSuffix(rhText, "%") { // 0.5 may mean a half
		return refuse()
	}
	return drying.Spell{TempC: min(max(c, weatherMinC), weatherMaxC), RHPct: rh}, nil
}
