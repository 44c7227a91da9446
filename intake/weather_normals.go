package intake

import (
	"io"
	"strconv"
	"strings"
	"time"

	"thwart/engine/air"
	"thwart/engine/drying"
	"thwart/unit"
)

// MonthNormal is the usual air of a month. MinC equals MeanC where the file has only a mean.
type MonthNormal struct {
	Known       bool
	MinC, MeanC unit.Celsius
	RHPct       float64 // at the mean temperature
}

// DailyNormals are usual days of the year's months, for a place without a weather file. They hold no rain and no cold
// snap: a drying time from them is an estimate of an ordinary year, not a forecast.
type DailyNormals struct {
	Month [12]MonthNormal // January first
}

// ParseDailyNormals reads usual days by month as CSV with a header: month (1 to 12, or its English name), tmin and tmax or
// tmean with their unit, and rh. Only opt.Scale is read of the options. Months without a row, and rows with an empty cell,
// count as unknown and are noted.
func ParseDailyNormals(r io.Reader, opt WeatherOptions) (DailyNormals, []WeatherNote, error) {
	var none DailyNormals
	if err := opt.weatherCheck(); err != nil {
		return none, nil, err
	}
	table, err := weatherRead(r, opt, weatherMonthly)
	if err != nil {
		return none, nil, err
	}
	fields := []string{"month", "humidity", "temperature"}
	if table.has("minimum") && table.has("maximum") {
		fields = fields[:2]
	}
	if err := table.need(fields...); err != nil {
		return none, nil, err
	}
	var (
		notes   weatherNotes
		normals DailyNormals
		given   [12]bool
	)
	table.noteColumns(&notes)
	if !table.has("minimum") {
		notes.add("mean only", 0, 0)
	}
	for _, row := range table.rows {
		month, err := row.month()
		if err != nil {
			return none, nil, err
		}
		if given[month-1] {
			return none, nil, &WeatherError{Line: row.line, Field: "month", Value: row.cell("month"), Accepted: "each month once"}
		}
		given[month-1] = true
		if normals.Month[month-1], err = row.normal(opt.Scale); err != nil {
			return none, nil, err
		}
	}
	damp, known := 0.0, false
	for i, m := range normals.Month {
		if m.Known {
			damp, known = max(damp, m.RHPct), true
		} else {
			notes.add("no month", 0, 0, time.Month(i+1).String())
		}
	}
	if known {
		if err := table.refuseFractions(damp); err != nil {
			return none, nil, err
		}
	}
	return normals, notes.list(), nil
}

func (r weatherRow) month() (time.Month, error) {
	text := strings.ToLower(r.cell("month"))
	if n, err := strconv.Atoi(text); err == nil && n >= 1 && n <= 12 {
		return time.Month(n), nil
	}
	for m := time.January; m <= time.December; m++ {
		if name := strings.ToLower(m.String()); text == name || text == name[:3] {
			return m, nil
		}
	}
	return 0, &WeatherError{Line: r.line, Field: "month", Value: r.cell("month"), Accepted: "1 to 12, or a name such as July or Jul"}
}

func (r weatherRow) normal(scale string) (MonthNormal, error) {
	rh, known, err := r.number("humidity", 0, 100, "%")
	if err != nil {
		return MonthNormal{}, err
	}
	n := MonthNormal{RHPct: rh}
	read := func(field string) unit.Celsius {
		if err != nil {
			return 0
		}
		var t unit.Celsius
		var ok bool
		t, ok, err = r.temperature(field, scale)
		known = known && ok
		return t
	}
	switch {
	case r.table.has("minimum") && r.table.has("maximum"):
		lo, hi := read("minimum"), read("maximum")
		if err == nil && known && lo > hi {
			err = &WeatherError{Line: r.line, Field: r.table.column["minimum"].name, Value: r.cell("minimum"), Accepted: "no more than the maximum of " + r.cell("maximum")}
		}
		n.MinC, n.MeanC = lo, (lo+hi)/2
		if r.table.has("temperature") {
			mean := read("temperature")
			if err == nil && known && (mean < lo || mean > hi) {
				err = &WeatherError{Line: r.line, Field: r.table.column["temperature"].name, Value: r.cell("temperature"), Accepted: "between the minimum and the maximum"}
			}
			n.MeanC = min(n.MeanC, mean)
		}
	case r.table.has("minimum"):
		n.MinC, n.MeanC = read("minimum"), read("temperature")
		if err == nil && known && n.MinC > n.MeanC {
			err = &WeatherError{Line: r.line, Field: r.table.column["minimum"].name, Value: r.cell("minimum"), Accepted: "no more than the mean of " + r.cell("temperature")}
		}
	default:
		n.MeanC = read("temperature")
		n.MinC = n.MeanC
	}
	if err != nil || !known {
		return MonthNormal{}, err
	}
	n.Known = true
	return n, nil
}

// The half of the day that is cooler than its mean, when air is coolest towards three in the morning and warmest at three
// in the afternoon. Common practice, no source; over whole days it does not matter which twelve hours these are.
const weatherWarmFromHour, weatherCoolFromHour = 9, 21

// Weather expands the normals between two instants, in the time zone of the first: each day twelve hours at the minimum
// and twelve at the mean. That is slower drying than any day between minimum and maximum that is cooler than its mean for
// half of the time, since no hour gets more than it could have had. The air keeps its moisture, so the cool half is damper.
// Months that are not known get the unknown air, whose zero value is air in which nothing dries; so does all that lies
// beyond. Spans of more than ten years are cut off.
func (n DailyNormals) Weather(from, to time.Time, unknown drying.Spell) drying.Weather {
	unknown = unknown.OrNothingDries()
	w := drying.Weather{Start: from, Beyond: unknown}
	if limit := from.AddDate(10, 0, 0); to.After(limit) {
		to = limit
	}
	for at := from; at.Before(to); {
		end := weatherNextHalf(at)
		if end.After(to) {
			end = to
		}
		s := n.half(at, unknown)
		s.Hours = end.Sub(at).Hours()
		w.Spells = append(w.Spells, s)
		at = end
	}
	return w
}

func (n DailyNormals) half(at time.Time, unknown drying.Spell) drying.Spell {
	m := n.Month[at.Month()-1]
	switch {
	case !m.Known:
		return unknown
	case at.Hour() >= weatherWarmFromHour && at.Hour() < weatherCoolFromHour:
		return drying.Spell{TempC: m.MeanC, RHPct: m.RHPct}
	}
	vapourKPa := air.SaturationKPa(m.MeanC) * m.RHPct / 100
	rh := 100 * vapourKPa / air.SaturationKPa(m.MinC)
	if !(rh < 100) { // also where the formula ends, at -45 °C
		rh = 100
	}
	return drying.Spell{TempC: m.MinC, RHPct: rh}
}

// weatherNextHalf is the next 09:00, 21:00 or start of a month.
func weatherNextHalf(at time.Time) time.Time {
	y, m, d := at.Date()
	candidates := []time.Time{
		time.Date(y, m, d, weatherWarmFromHour, 0, 0, 0, at.Location()),
		time.Date(y, m, d, weatherCoolFromHour, 0, 0, 0, at.Location()),
		time.Date(y, m, d+1, weatherWarmFromHour, 0, 0, 0, at.Location()),
	}
	if midnight := time.Date(y, m, d+1, 0, 0, 0, 0, at.Location()); midnight.Month() != m {
		candidates = append(candidates, midnight)
	}
	next := candidates[2]
	for _, c := range candidates {
		if c.After(at) && c.Before(next) {
			next = c
		}
	}
	return next
}
