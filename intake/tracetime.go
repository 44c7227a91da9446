package intake

import (
	"math"
	"strconv"
	"strings"
	"time"
)

// stampKind says what a cell tells about time.
type stampKind uint8

const (
	notStamp   stampKind = iota
	numberTime           // seconds, minutes and so on since something
	clockTime            // time of day, or hours and minutes since the start
	dateOnly
	dateAndClock
)

// The two ways to read 07/04/2026.
const (
	monthFirst = iota
	dayFirst
)

// stamp is one cell of time, read but not yet interpreted.
type stamp struct {
	kind  stampKind
	value float64 // numberTime: the number as written
	whole int64   // numberTime: its whole part, exact even where value is not
	sec   int64   // clock: seconds, a two-part clock read as hours and minutes
	frac  float64 // fraction of a second, or of the number, 0 to 1
	zoneS int64   // seconds east of Greenwich
	zoned bool

	twoPart  bool // the clock is a:b, which may be hours and minutes or minutes and seconds
	minSec   bool // a:b.c can only be minutes and seconds
	halfDays bool // the clock has AM or PM

	day     [2]int64 // days since 1970-01-01, read month first and day first
	dayOK   [2]bool
	twoWays bool // the date can be read both ways with different results, or could have been on another day
}

// parseStamp reads one cell of time. comma allows a decimal comma.
func parseStamp(s string, comma bool) (stamp, bool) {
	s = strings.TrimSpace(s)
	if s == "" || len(s) > 64 {
		return stamp{}, false
	}
	if v, ok := parseNumber(s, comma); ok {
		return numberStamp(s, v)
	}
	var st stamp
	rest, dated := cutDate(s, &st)
	if !dated {
		st.kind = clockTime
		return st, parseClock(s, &st, false)
	}
	rest = strings.Trim(rest, " ,")
	if len(rest) > 1 && (rest[0] == 'T' || rest[0] == 't') {
		rest = rest[1:]
	}
	if rest == "" {
		st.kind = dateOnly
		return st, true
	}
	st.kind = dateAndClock
	return st, parseClock(rest, &st, true)
}

// numberStamp keeps whole and fractional part apart: seconds since 1970 with tenths do not fit a double to 1e-9 s.
func numberStamp(s string, v float64) (stamp, bool) {
	if math.Abs(v) > 1e15 {
		return stamp{}, false
	}
	st := stamp{kind: numberTime, value: v}
	digits := strings.TrimPrefix(s, "+")
	head, tail, _ := strings.Cut(strings.Replace(digits, ",", ".", 1), ".")
	whole, errWhole := strconv.ParseInt(head, 10, 64)
	frac, errFrac := strconv.ParseFloat("0."+tail+"0", 64)
	if errWhole == nil && errFrac == nil && v >= 0 && frac < 1 && !strings.ContainsAny(tail, "eE+-") {
		st.whole, st.frac = whole, frac
		return st, true
	}
	floor := math.Floor(v)
	st.whole, st.frac = int64(floor), v-floor
	return st, true
}

// cutDate reads a date at the head of s into st and returns what follows it.
func cutDate(s string, st *stamp) (rest string, ok bool) {
	a, i := wordAt(s, 0)
	sep1, i := separatorAt(s, i)
	b, i := wordAt(s, i)
	sep2, i := separatorAt(s, i)
	c, i := wordAt(s, i)
	if a == "" || b == "" || c == "" || sep1 == "" || sep2 == "" || i < len(s) && !strings.ContainsRune(" ,Tt", rune(s[i])) {
		return s, false
	}
	rest = s[i:]
	if m := monthNumber(b); m > 0 { // 4 Jul 2026, 04-Jul-26
		return rest, st.setDay(c, m, number(a), false)
	}
	if m := monthNumber(a); m > 0 { // Jul 4, 2026
		return rest, st.setDay(c, m, number(b), false)
	}
	if sep1 != sep2 || !strings.Contains("-/.", sep1) {
		return s, false
	}
	if len(a) == 4 { // 2026-07-04
		return rest, st.setDay(a, number(b), number(c), false)
	}
	if sep1 == "." { // 04.07.2026
		return rest, st.setDay(c, number(b), number(a), false)
	}
	return rest, st.setDay(c, number(a), number(b), true)
}

// setDay sets the date; with swap also the one with month and day exchanged. It reports whether either exists.
func (st *stamp) setDay(year string, month, day int, swap bool) bool {
	y := number(year)
	switch {
	case len(year) == 2 && y >= 0:
		y += 2000
	case len(year) != 4 || y < 1900 || y > 2200:
		return false
	}
	st.day[monthFirst], st.dayOK[monthFirst] = dayNumber(y, month, day)
	st.day[dayFirst], st.dayOK[dayFirst] = st.day[monthFirst], st.dayOK[monthFirst]
	if swap {
		st.day[dayFirst], st.dayOK[dayFirst] = dayNumber(y, day, month)
		st.twoWays = month != day
	}
	return st.dayOK[monthFirst] || st.dayOK[dayFirst]
}

// dayNumber counts days from 1970-01-01; false when the calendar has no such day.
func dayNumber(y, m, d int) (int64, bool) {
	if m < 1 || m > 12 || d < 1 || d > 31 {
		return 0, false
	}
	t := time.Date(y, time.Month(m), d, 0, 0, 0, 0, time.UTC)
	return t.Unix() / 86400, t.Day() == d
}

// wordAt reads a run of digits or a run of letters.
func wordAt(s string, i int) (string, int) {
	from := i
	for i < len(s) && s[i] >= '0' && s[i] <= '9' {
		i++
	}
	if i == from {
		for i < len(s) && (s[i]|0x20 >= 'a' && s[i]|0x20 <= 'z') {
			i++
		}
	}
	return s[from:i], i
}

// separatorAt reads one of - / . or any run of commas and blanks, which counts as a blank.
func separatorAt(s string, i int) (string, int) {
	if i < len(s) && strings.IndexByte("-/.", s[i]) >= 0 {
		return s[i : i+1], i + 1
	}
	from := i
	for i < len(s) && (s[i] == ' ' || s[i] == ',') {
		i++
	}
	if i > from {
		return " ", i
	}
	return "", i
}

func monthNumber(s string) int {
	if len(s) < 3 {
		return 0
	}
	if i := strings.Index("janfebmaraprmayjunjulaugsepoctnovdec", strings.ToLower(s[:3])); i >= 0 && i%3 == 0 {
		return i/3 + 1
	}
	return 0
}

// number reads up to six digits, and nothing else; -1 otherwise.
func number(s string) int {
	if s == "" || len(s) > 6 {
		return -1
	}
	n := 0
	for i := range len(s) {
		if s[i] < '0' || s[i] > '9' {
			return -1
		}
		n = 10*n + int(s[i]-'0')
	}
	return n
}

// parseClock reads 10:15:00.5, 10:15, 1:05.3, 10:15:00 AM, 10:15:00Z, 10:15:00+02:00 into st.
func parseClock(s string, st *stamp, dated bool) bool {
	s, half := cutHalfDay(s)
	s, ok := cutZone(s, st)
	if !ok {
		return false
	}
	parts := strings.Split(s, ":")
	if len(parts) < 2 || len(parts) > 3 {
		return false
	}
	last := &parts[len(parts)-1]
	if i := strings.IndexAny(*last, ".,"); i >= 0 {
		frac, err := strconv.ParseFloat("0."+(*last)[i+1:], 64)
		if err != nil || number((*last)[i+1:min(len(*last), i+7)]) < 0 || frac >= 1 {
			return false
		}
		st.frac, st.minSec = frac, len(parts) == 2
		*last = (*last)[:i]
	}
	var n [3]int64
	for i, p := range parts {
		n[i] = int64(number(p))
		if n[i] < 0 || i > 0 && (n[i] > 60 || len(p) != 2) { // a single digit is a line cut off
			return false
		}
	}
	h := n[0]
	st.twoPart = len(parts) == 2
	if st.halfDays = half != ""; st.halfDays {
		if h < 1 || h > 12 {
			return false
		}
		h %= 12
		if half == "p" {
			h += 12
		}
	}
	if dated && (h > 24 || st.minSec) {
		return false
	}
	st.sec = h*3600 + n[1]*60 + n[2]
	if dated || st.halfDays {
		st.twoPart = false
	}
	return true
}

// cutHalfDay takes AM or PM from the end and returns "a" or "p" for it.
func cutHalfDay(s string) (string, string) {
	for _, half := range []string{"a", "p"} {
		for _, form := range []string{half + "m", half + ".m."} {
			if cut, ok := cutSuffixFold(s, form); ok {
				return strings.TrimSpace(cut), half
			}
		}
	}
	return s, ""
}

// cutZone takes Z, UTC, GMT or an offset such as +02:00 or -0700 from the end.
func cutZone(s string, st *stamp) (string, bool) {
	for _, name := range []string{"Z", "UTC", "GMT"} {
		if cut, ok := cutSuffixFold(s, name); ok {
			st.zoned = true
			return strings.TrimSpace(cut), true
		}
	}
	i := strings.LastIndexAny(s, "+-")
	if i <= 0 {
		return s, true
	}
	offset := strings.Replace(s[i+1:], ":", "", 1)
	n := int64(number(offset))
	if n < 0 || len(offset) != 4 && len(offset) != 2 {
		return s, false
	}
	if len(offset) == 2 {
		n *= 100
	}
	st.zoneS = n/100*3600 + n%100*60
	if s[i] == '-' {
		st.zoneS = -st.zoneS
	}
	st.zoned = true
	return strings.TrimSpace(s[:i]), st.zoneS <= 15*3600 && st.zoneS >= -15*3600
}

// join puts a date and a clock from two cells together.
func (st stamp) join(clock stamp) stamp {
	clock.kind = dateAndClock
	clock.day, clock.dayOK, clock.twoWays = st.day, st.dayOK, st.twoWays
	clock.twoPart = false
	return clock
}

// timeline turns the stamps of a file, row after row, into seconds. Everything is kept relative to the first row, so
// that fractions of a second survive.
type timeline struct {
	kind   stampKind
	scaleS float64 // numberTime: seconds in one unit of the number
	milli  bool    // numberTime: the unit is a millisecond
	minSec bool    // a two-part clock is minutes and seconds

	atS    [2][]float64 // seconds from base, the date read month first and day first; the second only where they differ
	baseS  [2]int64
	ok     [2]bool
	split  bool  // the two ways differ so far, and atS[dayFirst] is kept
	days   int64 // midnights crossed by a clock without a date
	lastS  int64 // the clock at the row before
	zoned  bool
	cross  int // rows at which a midnight was crossed
	twoWay string
}

// add takes the stamp of the next row. It reports false when the stamp is of another kind than those before, or has no
// date that agrees with those before.
func (tl *timeline) add(st stamp, cell string) bool {
	if len(tl.atS[0]) == 0 {
		tl.kind, tl.zoned, tl.ok = st.kind, st.zoned, [2]bool{true, true}
	}
	if st.kind != tl.kind || st.minSec && !tl.minSec {
		return false
	}
	var sec [2]int64
	frac := st.frac
	switch st.kind {
	case numberTime:
		sec[0], frac = tl.scaled(st)
		sec[1] = sec[0]
	case clockTime:
		clock := st.sec
		if st.twoPart && tl.minSec {
			clock = st.sec / 60
		}
		// Back by more than half a day is taken for midnight. If the clock was reset instead, the step is half a day
		// long and counts as a gap either way.
		if len(tl.atS[0]) > 0 && clock < tl.lastS-43200 {
			tl.days++
			tl.cross++
		}
		tl.lastS = clock
		sec[0] = clock + tl.days*86400 - st.zoneS
		sec[1] = sec[0]
	default:
		for way := range sec {
			tl.ok[way] = tl.ok[way] && st.dayOK[way]
			sec[way] = st.day[way]*86400 + st.sec - st.zoneS
		}
		if !tl.ok[monthFirst] && !tl.ok[dayFirst] {
			return false
		}
	}
	if st.twoWays && !tl.split {
		tl.split, tl.twoWay = true, cell
		tl.atS[dayFirst] = append(tl.atS[dayFirst], tl.atS[monthFirst]...)
		tl.baseS[dayFirst] = tl.baseS[monthFirst]
	}
	if len(tl.atS[0]) == 0 {
		tl.baseS = sec
	}
	tl.atS[monthFirst] = append(tl.atS[monthFirst], float64(sec[0]-tl.baseS[0])+frac)
	if tl.split {
		tl.atS[dayFirst] = append(tl.atS[dayFirst], float64(sec[1]-tl.baseS[1])+frac)
	}
	return true
}

// repeat puts a row at the time of the row before.
func (tl *timeline) repeat() {
	for way, v := range tl.atS {
		if len(v) > 0 {
			tl.atS[way] = append(v, v[len(v)-1])
		}
	}
}

// scaled gives the seconds of a number, whole and fraction.
func (tl *timeline) scaled(st stamp) (int64, float64) {
	switch {
	case tl.milli:
		q := st.whole / 1000
		return q, (float64(st.whole-q*1000) + st.frac) / 1000
	case tl.scaleS == 1:
		return st.whole, st.frac
	}
	v := st.value * tl.scaleS
	floor := math.Floor(v)
	return int64(floor), v - floor
}

// settle chooses how dates are read and makes the earliest reading the zero of time. When both ways are possible, the
// one that keeps the record closer together is right: a record that runs past midnight goes on the next day, not the
// next month. sure is false when both ways give the same seconds, so that only the date of the start stays open.
func (tl *timeline) settle() (atS []float64, startS int64, sure bool) {
	way, sure := monthFirst, true
	if tl.split {
		lo0, hi0 := extent(tl.atS[monthFirst])
		lo1, hi1 := extent(tl.atS[dayFirst])
		switch {
		case !tl.ok[monthFirst]:
			way = dayFirst
		case !tl.ok[dayFirst]:
		case hi1-lo1 < hi0-lo0:
			way = dayFirst
		case hi1-lo1 == hi0-lo0:
			sure = false
		}
	}
	atS = tl.atS[way]
	earliest, _ := extent(atS)
	for i := range atS {
		atS[i] -= earliest
	}
	return atS, tl.baseS[way] + int64(math.Floor(earliest)), sure
}

func extent(v []float64) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, x := range v {
		lo, hi = min(lo, x), max(hi, x)
	}
	return lo, hi
}
