package cli

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"thwart/advice"
	"thwart/unit"
)

// printer sets an answer as text: wrapped to a width, in one system of units, without colour.
type printer struct {
	w     io.Writer
	units unit.System
	width int
	full  bool     // name every place, not only the first few
	cited []string // sources, in the order they came up
}

// cite marks a statement with its source: a number that [printer.sources] explains at the end.
func (p *printer) cite(source string) string {
	text := advice.Cite(source)
	switch {
	case text == "" || strings.HasPrefix(text, "see "):
		return ""
	case strings.HasPrefix(text, "common practice"):
		return " [common practice]"
	}
	n := slices.Index(p.cited, text)
	if n < 0 {
		n = len(p.cited)
		p.cited = append(p.cited, text)
	}
	return fmt.Sprintf(" [%d]", n+1)
}

// sources lists what was cited.
func (p *printer) sources() {
	if len(p.cited) == 0 {
		return
	}
	p.head("Sources")
	for i, text := range p.cited {
		p.item(2, fmt.Sprintf("[%d]", i+1), text)
	}
}

// line writes one line as it stands.
func (p *printer) line(format string, args ...any) { fmt.Fprintf(p.w, format+"\n", args...) }

// head opens a section.
func (p *printer) head(format string, args ...any) {
	p.line("")
	p.hang(0, 2, fmt.Sprintf(format, args...))
}

// para writes a text wrapped to the width, indented.
func (p *printer) para(indent int, text string) { p.hang(indent, indent, text) }

// hang writes a text wrapped to the width: the first line indented by first, the others by rest.
func (p *printer) hang(first, rest int, text string) {
	at := first
	for _, l := range wrap(text, p.width-first, p.width-rest) {
		p.line("%s%s", strings.Repeat(" ", at), l)
		at = rest
	}
}

// item writes a text with a mark before it.
func (p *printer) item(indent int, mark, text string) {
	lead := strings.Repeat(" ", indent) + mark + " "
	rest := utf8.RuneCountInString(lead)
	for i, l := range wrap(text, p.width-rest, p.width-rest) {
		if i > 0 {
			lead = strings.Repeat(" ", rest)
		}
		p.line("%s%s", lead, l)
	}
}

// table lays rows out in columns. The last column takes what is left of the width and wraps.
func (p *printer) table(indent int, rows [][]string) {
	widths := columns(rows)
	for _, row := range rows {
		lead := leading(indent, widths, row)
		rest := utf8.RuneCountInString(lead)
		for _, l := range wrap(row[len(row)-1], max(p.width-rest, 24), max(p.width-rest, 24)) {
			p.line("%s", strings.TrimRight(lead+l, " "))
			lead = strings.Repeat(" ", rest)
		}
	}
}

// oneLine lays rows out in columns, each on one line: the last column is cut where the width ends.
func (p *printer) oneLine(rows [][]string) {
	widths := columns(rows)
	for _, row := range rows {
		line := []rune(leading(0, widths, row) + row[len(row)-1])
		if len(line) > p.width {
			line = append(line[:p.width-1], '…')
		}
		p.line("%s", strings.TrimRight(string(line), " "))
	}
}

// columns gives the width of every column but the last.
func columns(rows [][]string) []int {
	var widths []int
	for _, row := range rows {
		for i, cell := range row[:len(row)-1] {
			if i == len(widths) {
				widths = append(widths, 0)
			}
			widths[i] = max(widths[i], utf8.RuneCountInString(cell))
		}
	}
	return widths
}

// leading sets every cell but the last in its column.
func leading(indent int, widths []int, row []string) string {
	lead := strings.Repeat(" ", indent)
	for i, cell := range row[:len(row)-1] {
		lead += cell + strings.Repeat(" ", widths[i]-utf8.RuneCountInString(cell)+2)
	}
	return lead
}

// wrap breaks a text at spaces. A word longer than the line is left whole, so that an address can be copied.
func wrap(text string, first, rest int) []string {
	var lines []string
	line, room := "", first
	for _, word := range strings.Fields(text) {
		switch n := utf8.RuneCountInString(word); {
		case line == "":
			line = word
		case utf8.RuneCountInString(line)+1+n <= room:
			line += " " + word
		default:
			lines = append(lines, line)
			line, room = word, rest
		}
	}
	return append(lines, line)
}

// quantity finds the amounts in a sentence: a number or a range of them with a metric unit.
var quantity = regexp.MustCompile(`(±?)(-?\d[\d,]*(?:\.\d+)?)(?:( to | and |–|-)(\d[\d,]*(?:\.\d+)?))? (°C|L/min|bar|L|m)(\W|$)`)

// say puts a sentence of the engine into the reader's units. The engine speaks metric; a sentence that already gives
// degrees Fahrenheit is left alone.
func (p *printer) say(text string) string {
	if p.units != unit.US || strings.Contains(text, "°F") {
		return text
	}
	return quantity.ReplaceAllStringFunc(text, func(all string) string {
		m := quantity.FindStringSubmatch(all)
		to, ok := p.convert(m[2], m[5], m[1] == "±")
		if !ok {
			return all
		}
		if m[4] != "" {
			high, ok := p.convert(m[4], m[5], false)
			if !ok {
				return all
			}
			number, _, _ := strings.Cut(to, " ")
			to = number + m[3] + high
		}
		return m[1] + to + m[6]
	})
}

func (p *printer) convert(number, metric string, step bool) (string, bool) {
	v, err := strconv.ParseFloat(strings.ReplaceAll(number, ",", ""), 64)
	if err != nil {
		return "", false
	}
	switch metric {
	case "°C":
		if step {
			return p.units.TempStep(v), true
		}
		return p.units.Temp(unit.Celsius(v)), true
	case "L/min":
		return p.units.Flow(v), true
	case "bar":
		return p.units.Pressure(v), true
	case "L":
		return p.units.Volume(v), true
	}
	return p.units.Length(v), true
}

// The roundings of a figure that decides: a flow or a temperature that must not be passed is rounded down, one that has to
// be reached is rounded up, in the units that are shown.
func (p *printer) flowDown(lPerMin float64) string { return p.flow(lPerMin, math.Floor) }
func (p *printer) flowUp(lPerMin float64) string   { return p.flow(lPerMin, math.Ceil) }

func (p *printer) flow(lPerMin float64, round func(float64) float64) string {
	one := 1.0
	if p.units == unit.US {
		one = unit.LitresPerUSGallon
	}
	return p.units.Flow(round(lPerMin/one*10) / 10 * one)
}

func (p *printer) tempDown(c unit.Celsius) string { return p.units.Temp(p.tempStep(c, math.Floor)) }
func (p *printer) tempUp(c unit.Celsius) string   { return p.units.Temp(p.tempStep(c, math.Ceil)) }

func (p *printer) tempStep(c unit.Celsius, round func(float64) float64) unit.Celsius {
	const lastBit = 1e-9 // so that 60 is not made 59.9 or 60.1 by the conversion
	toward := lastBit
	if round(0.5) == 1 {
		toward = -lastBit
	}
	if p.units == unit.US {
		return unit.FromFahrenheit(round((c.Fahrenheit()+toward)*10) / 10)
	}
	return unit.Celsius(round((float64(c)+toward)*10) / 10)
}

// percent prints a chance or a share with two figures or so. It never rounds a chance away to none or up to certainty.
func percent(x float64) string {
	number := func(d int) string {
		s := strconv.FormatFloat(100*x, 'f', d, 64)
		if strings.Contains(s, ".") {
			s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
		}
		return s + " %"
	}
	switch {
	case x <= 0:
		return "0 %"
	case x < 0.0001:
		return "under 0.01 %"
	case x < 0.01:
		return number(2)
	case x < 0.1:
		return number(1)
	case x < 0.995:
		return number(0)
	case x < 1:
		return "over 99 %"
	}
	return "100 %"
}

// plural writes a count with its noun.
func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// stamp writes an instant as a person reads it, with its offset.
func stamp(t *time.Time) string {
	if t == nil {
		return "-"
	}
	return t.Format("Mon 2 Jan 2006 15:04 -0700")
}

// words joins the parts that are not empty.
func words(sep string, parts ...string) string {
	var kept []string
	for _, s := range parts {
		if s != "" {
			kept = append(kept, s)
		}
	}
	return strings.Join(kept, sep)
}

// plain turns a word of the records into English: fill_and_flush becomes fill and flush.
func plain[T ~string](w T) string { return strings.ReplaceAll(string(w), "_", " ") }

// writeJSON writes a value as JSON. Lists without members are written as [], so that a reader of the answer finds a list
// wherever the schema says list.
func (a *app) writeJSON(v any) error {
	e := json.NewEncoder(&a.out)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(listed(reflect.ValueOf(v)).Interface())
}

// listed copies a value with every nil slice in it replaced by an empty one.
func listed(v reflect.Value) reflect.Value {
	switch v.Kind() {
	case reflect.Pointer:
		if v.IsNil() {
			return v
		}
		out := reflect.New(v.Type().Elem())
		out.Elem().Set(listed(v.Elem()))
		return out
	case reflect.Slice:
		out := reflect.MakeSlice(v.Type(), v.Len(), v.Len())
		for i := range v.Len() {
			out.Index(i).Set(listed(v.Index(i)))
		}
		return out
	case reflect.Struct:
		out := reflect.New(v.Type()).Elem()
		out.Set(v)
		for i := range v.NumField() {
			if v.Type().Field(i).IsExported() {
				out.Field(i).Set(listed(v.Field(i)))
			}
		}
		return out
	}
	return v
}
