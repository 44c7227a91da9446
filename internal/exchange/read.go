package exchange

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"time"
	"unicode"

	"thwart/unit"
)

// DateStyles lists the styles of dates that can be read; see [Mapping.Dates].
var DateStyles = []string{"iso", "ymd", "mdy", "dmy", "text", "serial"}

// Years outside these are slips of the pen.
const (
	minYear = 1980
	maxYear = 2199
)

var (
	isoDate   = regexp.MustCompile(`^(\d{4})-(\d{2})-(\d{2})$`)
	ymdDate   = regexp.MustCompile(`^(\d{4})[./ -](\d{1,2})[./ -](\d{1,2})$`)
	plainYMD  = regexp.MustCompile(`^(\d{4})(\d{2})(\d{2})$`)
	slashDate = regexp.MustCompile(`^(\d{1,2})[./-](\d{1,2})[./-](\d{4}|\d{2})$`)
	dayFirst  = regexp.MustCompile(`^(\d{1,2})(?:st|nd|rd|th)?[ .-]+([a-z]{3,9})\.?,?[ -]+(\d{4}|\d{2})$`)
	monFirst  = regexp.MustCompile(`^([a-z]{3,9})\.?[ -]+(\d{1,2})(?:st|nd|rd|th)?,?[ -]+(\d{4}|\d{2})$`)
	weekday   = regexp.MustCompile(`^(mon|tue|tues|wed|wednes|thu|thur|thurs|fri|sat|satur|sun)(day)?[.,]? +`)
	clock     = regexp.MustCompile(`^(\d{1,2})(?:[:.h](\d{2}))?(?::(\d{2})(?:\.\d+)?)? ?([ap])?\.?m?\.?$`)
	fourClock = regexp.MustCompile(`^(\d{1,2})(\d{2}) ?(?:h|hrs|hours)?$`)
	dateThen  = regexp.MustCompile(`^(.*\d)(?:t| +|, *)(\d{1,2}(?::\d{2}){1,2}(?:\.\d+)? ?(?:[ap]\.?m\.?)?)(z|[+-]\d{2}:?\d{2})?$`)
)

var months = []string{"jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"}

type day struct{ y, m, d int }

func (x day) ok() bool {
	t := time.Date(x.y, time.Month(x.m), x.d, 0, 0, 0, 0, time.UTC)
	return x.y >= minYear && x.y <= maxYear && t.Year() == x.y && int(t.Month()) == x.m && t.Day() == x.d
}

func year(s string) int {
	y := atoi(s)
	if len(s) == 2 {
		y += 2000
	}
	return y
}

// atoi reads digits that a pattern has already found.
func atoi(s string) int {
	n, err := strconv.Atoi(s)
	if err != nil {
		return -1
	}
	return n
}

// readings gives what a text means as a date in each style in which it means anything.
func readings(s string) map[string]day {
	s = weekday.ReplaceAllString(strings.ToLower(s), "")
	out := map[string]day{}
	put := func(style string, x day) {
		if x.ok() {
			out[style] = x
		}
	}
	if m := isoDate.FindStringSubmatch(s); m != nil {
		put("iso", day{atoi(m[1]), atoi(m[2]), atoi(m[3])})
	}
	if m := ymdDate.FindStringSubmatch(s); m != nil {
		put("ymd", day{atoi(m[1]), atoi(m[2]), atoi(m[3])})
	}
	if m := plainYMD.FindStringSubmatch(s); m != nil {
		put("ymd", day{atoi(m[1]), atoi(m[2]), atoi(m[3])})
	}
	if m := slashDate.FindStringSubmatch(s); m != nil {
		put("mdy", day{year(m[3]), atoi(m[1]), atoi(m[2])})
		put("dmy", day{year(m[3]), atoi(m[2]), atoi(m[1])})
	}
	named := func(d, mon, y string) {
		for i, name := range months {
			if strings.HasPrefix(mon, name) {
				put("text", day{year(y), i + 1, atoi(d)})
			}
		}
	}
	if m := dayFirst.FindStringSubmatch(s); m != nil {
		named(m[1], m[2], m[3])
	}
	if m := monFirst.FindStringSubmatch(s); m != nil {
		named(m[2], m[1], m[3])
	}
	return out
}

// serial reads days as a spreadsheet counts them: 1 January 1900 is 1, with the 29 February 1900 that never was, or 1
// January 1904 is 0. Only days from 1980 on are taken for dates.
func serial(s string, from1904 bool) (x day, seconds int, ok bool) {
	f, err := strconv.ParseFloat(s, 64)
	if err != nil || f < 1 || f > 200_000 {
		return day{}, 0, false
	}
	epoch := time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC)
	if from1904 {
		epoch = time.Date(1904, 1, 1, 0, 0, 0, 0, time.UTC)
	}
	whole, part := math.Modf(f)
	t := epoch.AddDate(0, 0, int(whole)).Add(time.Duration(math.Round(part*unit.SecondsPerDay)) * time.Second)
	x = day{t.Year(), int(t.Month()), t.Day()}
	return x, t.Hour()*3600 + t.Minute()*60 + t.Second(), x.ok()
}

// parseClock reads a time of day in seconds: 9:30, 09:30:15, 9.30 am, 0930, 2 PM, or the part of a day as a spreadsheet
// keeps it (0.3958).
func parseClock(s string) (seconds int, ok bool) {
	s = strings.ToLower(strings.TrimSpace(s))
	if f, err := strconv.ParseFloat(s, 64); err == nil && f >= 0 && f < 1 && strings.Contains(s, ".") {
		return int(math.Round(f*unit.SecondsPerDay)) % 86400, true
	}
	var h, m, sec int
	var half string
	if x := clock.FindStringSubmatch(s); x != nil && (x[2] != "" || x[4] != "") {
		h, half = atoi(x[1]), x[4]
		if x[2] != "" {
			m = atoi(x[2])
		}
		if x[3] != "" {
			sec = atoi(x[3])
		}
	} else if x := fourClock.FindStringSubmatch(s); x != nil {
		h, m = atoi(x[1]), atoi(x[2])
	} else {
		return 0, false
	}
	if half != "" {
		if h < 1 || h > 12 {
			return 0, false
		}
		h %= 12
		if half == "p" {
			h += 12
		}
	}
	if h > 23 || m > 59 || sec > 59 {
		return 0, false
	}
	return h*3600 + m*60 + sec, true
}

// guessDates lists the styles, and of the two orders of day and month the one that the dates speak for. An order is listed
// where at least a fifth of the dates written with strokes can only be read so, as three in five can in a whole month, and
// at most a tenth of those the other way round. Otherwise neither is, and such dates are asked about instead of guessed.
func guessDates(values []string) []string {
	var mdy, dmy, both int
	for _, v := range values {
		if m := dateThen.FindStringSubmatch(strings.ToLower(v)); m != nil {
			v = m[1]
		}
		r := readings(v)
		_, a := r["mdy"]
		_, b := r["dmy"]
		switch {
		case a && !b:
			mdy++
		case b && !a:
			dmy++
		case a && b:
			both++
		}
	}
	strokes := mdy + dmy + both
	styles := []string{"iso", "ymd", "text", "serial"}
	switch {
	case mdy > 9*dmy && 5*mdy >= strokes:
		styles = append(styles, "mdy")
	case dmy > 9*mdy && 5*dmy >= strokes:
		styles = append(styles, "dmy")
	}
	return styles
}

var (
	numberText = regexp.MustCompile(`^([<>~≈]|about|approx\.?|ca\.?)? *([+-]?[0-9][0-9.,]*) *([a-z°'"′″]*)\.?$`)
	feetInches = regexp.MustCompile(`^(\d{1,3}) *(?:'|′|ft|feet) *(\d{1,2}(?:\.\d+)?) *(?:"|″|in|inches|'')?$`)
)

// number reads a number with its unit: 5.4, 5,4, 1,200, 18 ft, 18' 6", 140°F. The unit is m, ft, C, F, L, gal or empty.
func number(s string) (x float64, unitSaid string, ok bool) {
	s = strings.ToLower(strings.TrimSpace(s))
	if m := feetInches.FindStringSubmatch(s); m != nil {
		in, err := strconv.ParseFloat(m[2], 64)
		return float64(atoi(m[1])) + in/12, "ft", err == nil && in < 12
	}
	m := numberText.FindStringSubmatch(s)
	if m == nil {
		return 0, "", false
	}
	digits := m[2]
	switch comma, point := strings.LastIndex(digits, ","), strings.LastIndex(digits, "."); {
	case comma >= 0 && point >= 0 && comma > point: // 1.200,5
		digits = strings.Replace(strings.ReplaceAll(digits, ".", ""), ",", ".", 1)
	case comma >= 0 && point < 0 && (len(digits)-comma != 4 || strings.HasPrefix(digits, "0")): // 5,4
		digits = strings.Replace(digits, ",", ".", 1)
	default: // 1,200.5 and 1,200
		digits = strings.ReplaceAll(digits, ",", "")
	}
	x, err := strconv.ParseFloat(digits, 64)
	if err != nil || math.IsInf(x, 0) {
		return 0, "", false
	}
	switch m[3] {
	case "":
	case "m", "metre", "metres", "meter", "meters":
		unitSaid = "m"
	case "ft", "feet", "foot", "'", "′":
		unitSaid = "ft"
	case "c", "°c", "celsius":
		unitSaid = "C"
	case "f", "°f", "fahrenheit":
		unitSaid = "F"
	case "deg", "°": // of which scale is not said
	case "l", "litre", "litres", "liter", "liters":
		unitSaid = "L"
	case "gal", "gallon", "gallons", "gals":
		unitSaid = "gal"
	default:
		return 0, "", false
	}
	return x, unitSaid, true
}

// metric turns a number of a unit into metres, degrees Celsius or litres.
func metric(x float64, from string) float64 {
	switch from {
	case "ft":
		return x * unit.MetresPerFoot
	case "F":
		return float64(unit.FromFahrenheit(x))
	case "gal":
		return x * unit.LitresPerUSGallon
	}
	return x
}

// plain gives a word without case, marks and double blanks, for comparing.
func plain(s string) string {
	return strings.Join(strings.FieldsFunc(strings.ToLower(s), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) }), " ")
}

// slips counts the letters to insert, drop, change or swap with their neighbour to turn a into b (optimal string
// alignment distance). It gives up beyond 60 letters.
func slips(a, b string) int {
	s, t := []rune(a), []rune(b)
	if len(s) > 60 || len(t) > 60 {
		return 60
	}
	before, last, now := make([]int, len(t)+1), make([]int, len(t)+1), make([]int, len(t)+1)
	for j := range last {
		last[j] = j
	}
	for i := range s {
		now[0] = i + 1
		for j := range t {
			change := 0
			if s[i] != t[j] {
				change = 1
			}
			now[j+1] = min(last[j]+change, last[j+1]+1, now[j]+1)
			if i > 0 && j > 0 && s[i] == t[j-1] && s[i-1] == t[j] {
				now[j+1] = min(now[j+1], before[j-1]+1)
			}
		}
		before, last, now = last, now, before
	}
	return last[len(t)]
}
