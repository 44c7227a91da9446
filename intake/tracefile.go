package intake

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf16"
	"unicode/utf8"

	"thwart/tongue"
)

// lineReader gives the lines of a text file one by one, in UTF-8.
type lineReader struct {
	scan *bufio.Scanner
	text string
	n    int // number of the line, from 1
}

func newLineReader(r io.Reader) *lineReader {
	buffered := bufio.NewReader(r)
	if mark, _ := buffered.Peek(2); len(mark) == 2 {
		switch {
		case mark[0] == 0xff && mark[1] == 0xfe:
			r = &utf16Reader{in: buffered, low: 0, high: 1}
		case mark[0] == 0xfe && mark[1] == 0xff:
			r = &utf16Reader{in: buffered, low: 1, high: 0}
		default:
			r = buffered
		}
	} else {
		r = buffered
	}
	scan := bufio.NewScanner(r)
	scan.Buffer(make([]byte, 0, 4096), maxLineBytes)
	scan.Split(splitLines)
	return &lineReader{scan: scan}
}

// splitLines is a bufio.SplitFunc for lines that end in LF, CR LF or CR.
func splitLines(data []byte, atEOF bool) (advance int, token []byte, err error) {
	i := bytes.IndexAny(data, "\r\n")
	switch {
	case i < 0 && atEOF && len(data) > 0:
		return len(data), data, nil
	case i < 0:
		return 0, nil, nil
	case data[i] == '\n' || i+1 < len(data) && data[i+1] != '\n':
		return i + 1, data[:i], nil
	case i+1 < len(data):
		return i + 2, data[:i], nil
	case atEOF:
		return len(data), data[:i], nil
	}
	return 0, nil, nil // CR is the last byte so far: LF may follow
}

func (l *lineReader) next() bool {
	if !l.scan.Scan() {
		return false
	}
	l.n++
	l.text = l.scan.Text()
	if !utf8.ValidString(l.text) {
		l.text = fromLatin1(l.text)
	}
	if l.n == 1 {
		l.text = strings.TrimPrefix(l.text, "\ufeff")
	}
	return true
}

func (l *lineReader) err() error {
	err := l.scan.Err()
	switch {
	case err == nil:
		return nil
	case errors.Is(err, bufio.ErrTooLong):
		return &RowError{Line: l.n + 1, Column: "line", Value: tongue.Say("a longer line"), Accepted: tongue.Say("lines of less than {n} bytes", tongue.Int(maxLineBytes)),
			Hint: "is this a text file?"}
	}
	return fmt.Errorf("%s: %w", tongue.Say("reading line {n}", tongue.Int(l.n+1)), err)
}

// fromLatin1 reads bytes that are not UTF-8 one by one, which gets the degree sign of older programs right.
func fromLatin1(s string) string {
	runes := make([]rune, len(s))
	for i := range len(s) {
		runes[i] = rune(s[i])
	}
	return string(runes)
}

// utf16Reader turns UTF-16 into UTF-8. A surrogate without its partner becomes the replacement character.
type utf16Reader struct {
	in        *bufio.Reader
	low, high int    // place of the two bytes of a unit
	out       []byte // converted and not yet handed out
	held      rune   // a high surrogate waiting for its partner
}

// Read converts as much as it can without waiting, and hands out what fits.
func (u *utf16Reader) Read(p []byte) (int, error) {
	for len(u.out) == 0 || len(u.out) < len(p) && u.in.Buffered() >= 2 {
		var b [2]byte
		if _, err := io.ReadFull(u.in, b[:]); err != nil {
			if len(u.out) > 0 {
				break
			}
			if errors.Is(err, io.ErrUnexpectedEOF) {
				err = io.EOF // half a unit at the end is no character
			}
			return 0, err
		}
		u.unit(rune(b[u.low]) | rune(b[u.high])<<8)
	}
	n := copy(p, u.out)
	u.out = u.out[:copy(u.out, u.out[n:])]
	return n, nil
}

// unit takes one 16-bit unit.
func (u *utf16Reader) unit(r rune) {
	if u.held != 0 {
		both := utf16.DecodeRune(u.held, r)
		u.out = utf8.AppendRune(u.out, both)
		u.held = 0
		if both != utf8.RuneError {
			return
		}
	}
	if r >= 0xd800 && r < 0xdc00 {
		u.held = r
		return
	}
	u.out = utf8.AppendRune(u.out, r)
}

// splitFields splits a line at the delimiter. A field may stand in double quotes, within which the delimiter is text
// and two quotes are one. ok is false when a quote is left open.
func splitFields(line string, delim byte) (fields []string, ok bool) {
	fields = make([]string, 0, 8)
	for {
		start := strings.TrimLeft(line, " ")
		if start == "" || start[0] != '"' {
			i := strings.IndexByte(line, delim)
			if i < 0 {
				return append(fields, line), true
			}
			fields = append(fields, line[:i])
			line = line[i+1:]
			continue
		}
		value, rest, closed := cutQuoted(start[1:])
		if !closed {
			return append(fields, line), false
		}
		i := strings.IndexByte(rest, delim)
		if i < 0 {
			return append(fields, value+rest), true
		}
		fields = append(fields, value+rest[:i])
		line = rest[i+1:]
	}
}

// cutQuoted reads up to the closing quote; s begins behind the opening one.
func cutQuoted(s string) (value, rest string, closed bool) {
	from := 0
	for {
		i := strings.IndexByte(s[from:], '"')
		if i < 0 {
			return s, "", false
		}
		end := from + i
		if end+1 < len(s) && s[end+1] == '"' {
			from = end + 2
			continue
		}
		value = s[:end]
		if from > 0 {
			value = strings.ReplaceAll(value, `""`, `"`)
		}
		return value, s[end+1:], true
	}
}

// role is what a column's name says of time.
type role uint8

const (
	roleOther role = iota
	roleTime
	roleDate
	roleTimeUnit // nothing but a unit, such as "s"; a weaker sign
)

// timeUnits are the names of units of time, in seconds.
var timeUnits = map[string]float64{
	"ms": 0.001, "msec": 0.001, "millis": 0.001, "millisecond": 0.001, "milliseconds": 0.001,
	"s": 1, "sec": 1, "secs": 1, "second": 1, "seconds": 1,
	"min": 60, "mins": 60, "minute": 60, "minutes": 60,
	"h": 3600, "hr": 3600, "hrs": 3600, "hour": 3600, "hours": 3600,
	"d": 86400, "day": 86400, "days": 86400,
}

func timeRole(name string) role {
	lower := strings.ToLower(name)
	words := nameWords(lower)
	if len(words) == 0 || strings.Contains(lower, "temp") || has(words, "zone") {
		return roleOther
	}
	date, clock, units := false, false, true
	for _, w := range words {
		switch w {
		case "date", "datum", "fecha", "dato":
			date = true
		case "datetime", "elapsed", "clock", "epoch", "unix", "zeit", "uhrzeit", "zeitstempel", "hora", "heure", "tid", "tijd":
			clock = true
		}
		clock = clock || strings.HasPrefix(w, "time") && w != "timezone" && w != "timer"
		_, isUnit := timeUnits[w]
		units = units && isUnit
	}
	switch {
	case clock:
		return roleTime
	case date:
		return roleDate
	case units:
		return roleTimeUnit
	}
	return roleOther
}

// otherQuantities are words in the names of columns that hold no temperature of the water, or only a wish for one.
var otherQuantities = map[string]bool{
	"humidity": true, "rh": true, "hum": true, "dew": true, "dewpoint": true, "battery": true, "batt": true, "volt": true, "volts": true, "voltage": true,
	"mv": true, "pressure": true, "psi": true, "bar": true, "flow": true, "gpm": true, "lpm": true, "setpoint": true, "set": true, "target": true,
	"alarm": true, "alert": true, "threshold": true, "limit": true, "lux": true, "light": true, "co2": true, "event": true, "status": true, "state": true,
	"count": true, "index": true, "record": true, "rec": true, "no": true, "id": true, "serial": true, "lat": true, "lon": true, "latitude": true,
	"longitude": true, "note": true, "notes": true, "comment": true, "host": true, "button": true, "stopped": true, "eof": true,
}

func isOtherQuantity(name string) bool {
	return strings.Contains(name, "%") || slices.ContainsFunc(nameWords(strings.ToLower(name)), func(w string) bool { return otherQuantities[w] })
}

// temperatureWords name temperature columns, with or without a number behind.
var temperatureWords = map[string]bool{
	"probe": true, "channel": true, "ch": true, "sensor": true, "thermocouple": true, "tc": true, "thermistor": true, "rtd": true, "t": true,
	"inlet": true, "outlet": true, "exit": true, "surface": true, "water": true, "nozzle": true,
}

func isTemperatureName(name string) bool {
	if isOtherQuantity(name) {
		return false
	}
	lower := strings.ToLower(name)
	if mark, _ := unitMark(name); mark != UnitUnknown || strings.Contains(lower, "temp") || hasDegreeMark(lower, 'c') || hasDegreeMark(lower, 'f') {
		return true
	}
	return slices.ContainsFunc(nameWords(lower), func(w string) bool { return temperatureWords[strings.TrimRight(w, "0123456789")] })
}

// isCounterName reports a column that numbers the rows.
func isCounterName(name string) bool {
	name = strings.ToLower(strings.TrimSpace(name))
	return slices.Contains([]string{"#", "no", "no.", "nr", "nr.", "n", "index", "record", "rec", "sample", "id", "row", "line", "point", "scan", "reading"}, name)
}

// isUnitsRow reports a line that holds nothing but units, as some loggers write below the header.
func isUnitsRow(fields []string) bool {
	found := false
	for _, f := range fields {
		f = strings.ToLower(strings.Trim(f, " ()[]"))
		if f == "" {
			continue
		}
		_, isTime := timeUnits[f]
		rest, mark := cutUnit(f)
		if !isTime && !(mark != UnitUnknown && rest == "") && !slices.Contains([]string{"%", "%rh", "rh", "v", "hh:mm:ss", "hh:mm", "mm:ss"}, f) {
			return false
		}
		found = true
	}
	return found
}

func has(words []string, w string) bool { return slices.Contains(words, w) }
