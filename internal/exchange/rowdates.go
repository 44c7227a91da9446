package exchange

import (
	"fmt"
	"slices"
	"strings"
	"time"
)

// start gives when the inspection began in the zone of the file, and whether a time of day was written.
func (rd *reader) start() (at time.Time, timed bool) {
	x, seconds, timed, ok := rd.date(FieldDate, LevelRefused)
	if !ok {
		return time.Time{}, false
	}
	if s := rd.told(FieldTime); s != "" {
		sec, good := parseClock(s)
		switch {
		case good:
			seconds, timed = sec, true
		case !timed:
			rd.say(LevelLeftOut, FieldTime, "a time of day such as 09:30 or 9:30 am", "noon stands until it is written in")
		}
	}
	if !timed {
		seconds = 12 * 3600
	}
	at = rd.moment(x, seconds)
	if !rd.o.Now.IsZero() && at.After(rd.o.Now.Add(24*time.Hour)) {
		rd.say(LevelRefused, FieldDate, "a date that has been", "")
	}
	return at, timed
}

// date reads a date, with the time of day where one is written behind it.
func (rd *reader) date(f Field, level Level) (x day, seconds int, timed, ok bool) {
	s := rd.told(f)
	const accepted = "a date such as 2026-07-04"
	if s == "" {
		if level == LevelRefused {
			rd.say(level, f, accepted, "")
		}
		return day{}, 0, false, false
	}
	styles := rd.m.Dates
	if len(styles) == 0 {
		styles = []string{"iso", "ymd", "text", "serial"}
	}
	if slices.Contains(styles, "serial") {
		if x, seconds, ok := serial(s, rd.from1904); ok {
			return x, seconds, seconds != 0, true
		}
	}
	// 2026-07-04T14:30:00Z and the like say their own offset: the moment counts, not the face of the clock.
	for _, layout := range []string{time.RFC3339, "2006-01-02 15:04:05Z07:00", "2006-01-02T15:04Z07:00"} {
		if at, err := time.Parse(layout, strings.ToUpper(s)); err == nil {
			at = at.In(rd.zone)
			x = day{at.Year(), int(at.Month()), at.Day()}
			return x, at.Hour()*3600 + at.Minute()*60 + at.Second(), true, x.ok()
		}
	}
	text := s
	if m := dateThen.FindStringSubmatch(strings.ToLower(s)); m != nil && m[3] == "" {
		if sec, good := parseClock(m[2]); good {
			text, seconds, timed = m[1], sec, true
		}
	}
	found := readings(text)
	for _, style := range styles {
		if x, ok := found[style]; ok {
			return x, seconds, timed, true
		}
	}
	mdy, a := found["mdy"]
	dmy, b := found["dmy"]
	asked := slices.Contains(styles, "mdy") || slices.Contains(styles, "dmy")
	switch {
	case !asked && (a && !b || a && mdy == dmy):
		return mdy, seconds, timed, true
	case !asked && b && !a:
		return dmy, seconds, timed, true
	case a && b:
		rd.say(level, f, accepted, fmt.Sprintf("%s if the month stands first, %s if the day does: put mdy or dmy into dates", mdy.text(), dmy.text()))
	case a:
		rd.say(level, f, accepted, fmt.Sprintf("%s if the month stands first: put mdy into dates, after dmy", mdy.text()))
	case b:
		rd.say(level, f, accepted, fmt.Sprintf("%s if the day stands first: put dmy into dates, after mdy", dmy.text()))
	default:
		rd.say(level, f, accepted, "")
	}
	return day{}, 0, false, false
}

// moment is a time of day, in seconds after midnight by the clock on the wall, in the zone of the file.
func (rd *reader) moment(x day, seconds int) time.Time {
	return time.Date(x.y, time.Month(x.m), x.d, 0, 0, seconds, 0, rd.zone)
}

func (x day) text() string {
	return time.Date(x.y, time.Month(x.m), x.d, 0, 0, 0, 0, time.UTC).Format("2 January 2006")
}

func (rd *reader) end(at time.Time) *time.Time {
	s := rd.told(FieldEnd)
	if s == "" {
		return nil
	}
	const accepted = "a time of day within 4 hours after the start"
	seconds, ok := parseClock(s)
	if !ok {
		rd.say(LevelLeftOut, FieldEnd, accepted, "")
		return nil
	}
	end := time.Date(at.Year(), at.Month(), at.Day(), 0, 0, seconds, 0, rd.zone)
	if d := end.Sub(at); d < 0 || d > 4*time.Hour {
		rd.say(LevelLeftOut, FieldEnd, accepted, "")
		return nil
	}
	return &end
}
