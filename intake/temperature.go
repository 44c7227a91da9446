package intake

import (
	"strconv"
	"strings"
	"unicode"

	"thwart/tongue"
	"thwart/unit"
)

// TempUnit is the scale a temperature was written in.
type TempUnit string

// The two scales, and the lack of one.
const (
	UnitUnknown TempUnit = ""
	DegC        TempUnit = "C"
	DegF        TempUnit = "F"
)

// ParseTempUnit reads the name of a scale: C, °C, Celsius, F, °F, Fahrenheit, in any case. Empty text is UnitUnknown.
func ParseTempUnit(s string) (TempUnit, error) {
	name := strings.ToLower(strings.TrimSpace(s))
	for _, degree := range degreeSigns {
		name = strings.TrimPrefix(name, degree)
	}
	switch strings.TrimSpace(name) {
	case "":
		if strings.TrimSpace(s) == "" {
			return UnitUnknown, nil
		}
	case "c", "celsius", "centigrade":
		return DegC, nil
	case "f", "fahrenheit":
		return DegF, nil
	}
	return UnitUnknown, &RowError{Column: "unit", Value: s, Accepted: "C or F"}
}

// celsius converts a number on scale u. A number of unknown scale must not get here.
func (u TempUnit) celsius(v float64) unit.Celsius {
	if u == DegF {
		return unit.FromFahrenheit(v)
	}
	return unit.Celsius(v)
}

// Temperatures of wash water that are accepted, in °C. Water under no pressure cannot be hotter or colder.
const (
	minWaterC = 0
	maxWaterC = 100
)

// ParseTemp reads a temperature of wash water: "60", "60 C", "60 °C", "140F", "140 °F". A bare number is degrees
// Celsius. Accepted are 0 to 100 °C (32 to 212 °F); outside them the error asks whether the other scale was meant. A
// decimal comma is read as a point.
func ParseTemp(s string) (unit.Celsius, error) {
	const accepted = "0 to 100 °C, or a number with F from 32 to 212"
	refuse := func(hint string) (unit.Celsius, error) {
		return 0, &RowError{Column: "temperature", Value: s, Accepted: accepted, Hint: hint}
	}
	number, mark := cutUnit(strings.TrimSpace(s))
	v, ok := parseNumber(number, true)
	if !ok {
		return refuse("")
	}
	c := mark.celsius(v)
	if c >= minWaterC && c <= maxWaterC {
		return c, nil
	}
	hint := ""
	if other := unit.FromFahrenheit(v); mark != DegF && other >= minWaterC && other <= maxWaterC {
		hint = tongue.Say("did you mean {celsius} °C ({fahrenheit} °F)?", short(float64(other)), short(v))
	} else if mark == DegF && v >= minWaterC && v <= maxWaterC {
		hint = tongue.Say("did you mean {celsius} °C ({fahrenheit} °F)?", short(v), short(unit.Celsius(v).Fahrenheit()))
	}
	return refuse(hint)
}

// short prints a number with at most one decimal.
func short(v float64) string {
	return tongue.Decimal(strings.TrimSuffix(strconv.FormatFloat(v, 'f', 1, 64), ".0"))
}

// degreeSigns are the characters people and machines write for "degree": the sign itself, the ordinal indicator, the
// ring, and the replacement character that is left of it after a wrong conversion.
var degreeSigns = []string{"°", "º", "˚", "\ufffd", "degrees", "degree", "deg.", "deg"}

// cutUnit splits a trailing scale from a number: "60.1 °C" gives "60.1" and DegC. Without one the scale is unknown.
func cutUnit(s string) (string, TempUnit) {
	mark := UnitUnknown
	switch lower := strings.ToLower(s); {
	case strings.HasSuffix(lower, "℃"):
		return strings.TrimSpace(s[:len(s)-len("℃")]), DegC
	case strings.HasSuffix(lower, "℉"):
		return strings.TrimSpace(s[:len(s)-len("℉")]), DegF
	case strings.HasSuffix(lower, "celsius"):
		mark, s = DegC, s[:len(s)-len("celsius")]
	case strings.HasSuffix(lower, "fahrenheit"):
		mark, s = DegF, s[:len(s)-len("fahrenheit")]
	case strings.HasSuffix(lower, "c"):
		mark, s = DegC, s[:len(s)-1]
	case strings.HasSuffix(lower, "f"):
		mark, s = DegF, s[:len(s)-1]
	default:
		return s, UnitUnknown
	}
	s = strings.TrimSpace(s)
	for _, degree := range degreeSigns {
		if cut, ok := cutSuffixFold(s, degree); ok {
			return strings.TrimSpace(strings.TrimSuffix(cut, "Â")), mark // "Â°" is the sign in the wrong encoding
		}
	}
	return s, mark
}

// cutSuffixFold is strings.CutSuffix without regard to case, for a suffix whose two cases have equal length.
func cutSuffixFold(s, suffix string) (string, bool) {
	if len(s) >= len(suffix) && strings.EqualFold(s[len(s)-len(suffix):], suffix) {
		return s[:len(s)-len(suffix)], true
	}
	return s, false
}

// parseNumber reads a plain decimal number: sign, digits, one point, an exponent. Where comma is true a single comma
// stands for the point. Hexadecimal, infinities, digit groups and anything past the range of a double are refused.
func parseNumber(s string, comma bool) (float64, bool) {
	if s == "" || len(s) > 64 {
		return 0, false
	}
	if rest, ok := strings.CutPrefix(s, "−"); ok {
		s = "-" + rest
	}
	points, digits := 0, 0
	for i := range len(s) {
		switch c := s[i]; {
		case c >= '0' && c <= '9':
			digits++
		case c == '.' || c == ',' && comma:
			points++
		case c == '+', c == '-', (c == 'e' || c == 'E') && digits > 0:
		default:
			return 0, false
		}
	}
	if digits == 0 || points > 1 {
		return 0, false
	}
	v, err := strconv.ParseFloat(strings.Replace(s, ",", ".", 1), 64)
	return v, err == nil
}

// unitMark finds the scale named in a column's header. A strong mark has the word or a degree sign, as in "Temp (°C)"; a
// weak one is a letter by itself, as in "temp_c" or "Temp (C)", which could also be the third of the probes A, B and C.
func unitMark(name string) (mark TempUnit, strong bool) {
	lower := strings.ToLower(name)
	c, f := hasDegreeMark(lower, 'c', "celsius", "centigrade", "℃"), hasDegreeMark(lower, 'f', "fahrenheit", "℉")
	switch {
	case c && f:
		return UnitUnknown, false // "°C/°F" tells nothing
	case c:
		return DegC, true
	case f:
		return DegF, true
	}
	words := nameWords(lower)
	if len(words) == 0 {
		return UnitUnknown, false
	}
	last := words[len(words)-1]
	inside := strings.TrimRight(lower, " )]}")
	before := strings.TrimRight(strings.TrimSuffix(inside, last), " ?") // "?" is a degree sign lost on the way
	bracketed := strings.HasSuffix(inside, last) && before != "" && strings.ContainsAny(before[len(before)-1:], "([{")
	bare := len(words) > 1 && (strings.Contains(lower, "temp") || strings.HasSuffix(lower, "_"+last) || bracketed)
	if len(words) == 2 && labelled[words[0]] {
		bare = false // "Probe C" is a probe; "probe1_c" has its label already
	}
	switch {
	case bare && last == "c", last == "tempc":
		return DegC, false
	case bare && last == "f", last == "tempf":
		return DegF, false
	}
	return UnitUnknown, false
}

// labelled are words that a single letter behind them numbers.
var labelled = map[string]bool{
	"probe": true, "channel": true, "ch": true, "sensor": true, "thermocouple": true, "tc": true, "thermistor": true, "rtd": true, "unit": true,
}

// hasDegreeMark looks in lower-case text for one of the words, or for a degree sign before the letter.
func hasDegreeMark(lower string, letter byte, words ...string) bool {
	for _, w := range words {
		if strings.Contains(lower, w) {
			return true
		}
	}
	for i := range len(lower) {
		if lower[i] != letter || i+1 < len(lower) && isLetter(lower[i+1]) {
			continue
		}
		before := strings.TrimRight(lower[:i], " _")
		for _, degree := range degreeSigns {
			if strings.HasSuffix(before, degree) {
				return true
			}
		}
	}
	return false
}

func isLetter(b byte) bool { return b >= 'a' && b <= 'z' || b >= 0x80 }

// nameWords splits a column's name at everything that is neither letter nor digit.
func nameWords(lower string) []string {
	return strings.FieldsFunc(lower, func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
}
