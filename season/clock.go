package season

import (
	"fmt"
	"time"
)

// None is the index of what is not known.
const None = -1

// Moment is an instant, and how far the clock on the wall of the place was ahead of UTC. The zero Moment is no time at all.
type Moment struct {
	MS     int64 // Unix milliseconds
	OffMin int16 // minutes ahead of UTC
	Set    bool
}

func momentOf(t time.Time, zone *time.Location) Moment {
	if t.IsZero() {
		return Moment{}
	}
	if zone != nil {
		t = t.In(zone)
	}
	_, off := t.Zone()
	return Moment{MS: t.UnixMilli(), OffMin: int16(off / 60), Set: true}
}

// Time gives the instant with the offset of the place; the zero time of the zero Moment.
func (m Moment) Time() time.Time {
	if !m.Set {
		return time.Time{}
	}
	return time.UnixMilli(m.MS).In(time.FixedZone("", int(m.OffMin)*60))
}

func (m Moment) localMS() int64 { return m.MS + int64(m.OffMin)*60_000 }

// Day is the date on the wall of the place.
func (m Moment) Day() Day { return Day(floorDiv(m.localMS(), dayMS)) }

// HourOfDay is the time of day on the wall of the place, in hours from 0 to below 24.
func (m Moment) HourOfDay() float64 {
	return float64(m.localMS()-floorDiv(m.localMS(), dayMS)*dayMS) / hourMS
}

// HoursSince is the time from another moment to this one, in hours.
func (m Moment) HoursSince(o Moment) float64 { return float64(m.MS-o.MS) / hourMS }

const (
	hourMS = 3_600_000
	dayMS  = 24 * hourMS
)

func floorDiv(a, b int64) int64 {
	q := a / b
	if a%b < 0 {
		q--
	}
	return q
}

// Day is a date: days since 1970-01-01 in the Gregorian calendar.
type Day int32

// DayOf gives the Day of a date.
func DayOf(year int, month time.Month, day int) Day {
	return Day(floorDiv(time.Date(year, month, day, 0, 0, 0, 0, time.UTC).UnixMilli(), dayMS))
}

// Date gives the date at midnight UTC.
func (d Day) Date() time.Time { return time.Unix(int64(d)*86400, 0).UTC() }

// Month of the date.
func (d Day) Month() time.Month { return d.Date().Month() }

// Weekday of the date.
func (d Day) Weekday() time.Weekday { return time.Weekday((int64(d)%7 + 11) % 7) } // 1970-01-01 was a Thursday

func (d Day) String() string { return d.Date().Format(time.DateOnly) }

// MarshalText writes the date as 2026-07-04.
func (d Day) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// ParseDay reads a date such as 2026-07-04.
func ParseDay(s string) (Day, error) {
	t, err := time.Parse(time.DateOnly, s)
	if err != nil {
		return 0, fmt.Errorf("%q is no date; accepted: a date such as 2026-07-04", s)
	}
	return DayOf(t.Year(), t.Month(), t.Day()), nil
}

// DayType is how a day stands in the week.
type DayType uint8

// Day types.
const (
	Weekday DayType = iota
	Free            // Saturday, Sunday
	Holiday         // of the calendar, on whatever day of the week
)

// DayTypes is their number.
const DayTypes = 3

var dayTypeNames = [DayTypes]string{"weekday", "weekend", "holiday"}

func (t DayType) String() string { return dayTypeNames[t] }

// MarshalText writes weekday, weekend or holiday.
func (t DayType) MarshalText() ([]byte, error) { return []byte(t.String()), nil }

// Calendar knows which days are holidays. The zero Calendar knows none.
type Calendar struct {
	Days map[Day]bool // single dates
	// Rules are holidays that come every year.
	Rules []func(Day) bool
}

// Type tells what kind of day it is.
func (c Calendar) Type(d Day) DayType {
	if c.Days[d] {
		return Holiday
	}
	for _, rule := range c.Rules {
		if rule(d) {
			return Holiday
		}
	}
	if w := d.Weekday(); w == time.Saturday || w == time.Sunday {
		return Free
	}
	return Weekday
}

// SummerHolidays are the three holidays of the boating season in 5 U.S.C. 6103 (last Monday of May, 4 July, first Monday of
// September), with the day before and after the fourth of July, when people who go boating go boating (common practice, no
// source). A programme elsewhere names its own.
func SummerHolidays() Calendar {
	return Calendar{Rules: []func(Day) bool{func(d Day) bool {
		t := d.Date()
		switch {
		case t.Month() == time.May:
			return t.Weekday() == time.Monday && t.Day() > 24
		case t.Month() == time.July:
			return t.Day() >= 3 && t.Day() <= 5
		case t.Month() == time.September:
			return t.Weekday() == time.Monday && t.Day() <= 7
		}
		return false
	}}}
}

// UnmarshalText reads a date such as 2026-07-04.
func (d *Day) UnmarshalText(text []byte) (err error) {
	*d, err = ParseDay(string(text))
	return err
}
