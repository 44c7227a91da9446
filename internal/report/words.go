package report

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"thwart/engine/num"
	"thwart/refdata"
	"thwart/season/figures"
	"thwart/unit"
)

// nb is a blank at which no line is broken, between a number and its unit.
const nb = "\u00a0"

// whole writes a count with thousands apart: 15,204.
func (g *tongue) whole(n float64) string {
	s := strconv.FormatFloat(math.Round(math.Abs(n)), 'f', 0, 64)
	if !g.english() {
		if n < 0 && s != "0" {
			return "−" + g.number(s)
		}
		return g.number(s)
	}
	var b strings.Builder
	for i, r := range s {
		if i > 0 && (len(s)-i)%3 == 0 {
			b.WriteByte(',')
		}
		b.WriteRune(r)
	}
	if n < 0 && s != "0" {
		return "−" + b.String()
	}
	return b.String()
}

// round rounds to so many significant digits.
func round(x float64, digits int) float64 {
	if x == 0 || math.IsNaN(x) || math.IsInf(x, 0) {
		return x
	}
	p := math.Pow(10, float64(digits-1)-math.Floor(math.Log10(math.Abs(x))))
	return math.Round(x*p) / p
}

// about writes an amount whose doubt is known only roughly, with two or three digits that mean something.
func (g *tongue) about(x float64) string {
	r := round(x, 3)
	if math.Abs(r) >= 100 {
		return g.whole(r)
	}
	return g.number(strconv.FormatFloat(round(x, 2), 'f', -1, 64))
}

// decimals says how many decimals a number deserves whose interval is so wide: its half-width keeps one or two digits.
func decimals(width float64) int {
	switch {
	case width >= 3 || !(width > 0):
		return 0
	case width >= 0.3:
		return 1
	case width >= 0.03:
		return 2
	}
	return 3
}

func (g *tongue) fixed(x float64, d int) string {
	s := strconv.FormatFloat(x, 'f', d, 64)
	if strings.Trim(s, "-0.") == "" {
		s = strings.TrimPrefix(s, "-")
	}
	return strings.Replace(g.number(s), "-", "−", 1)
}

// percent writes a share of which nothing is in doubt.
func (g *tongue) percent(x float64) string {
	d := 0
	if x < 0.1 {
		d = 1
	}
	return g.fixed(100*x, d) + nb + "%"
}

// share writes a share rounded as its interval allows: 2.1 % (1.9 to 2.4 %).
func (g *tongue) share(f figures.Figure) string {
	if !f.Known {
		return g.t("not known")
	}
	if f.Interval == nil {
		return g.percent(f.Value)
	}
	d := decimals(100 * (f.Interval.Hi - f.Interval.Lo))
	return fmt.Sprintf("%s"+nb+"%% (%s)", g.fixed(100*f.Value, d), g.between(f.Interval.Scale(100), d, "%"))
}

// between writes an interval: 1.9 to 2.4 %.
func (g *tongue) between(i num.Interval, d int, unitWord string) string {
	s := g.f("%s to %s", g.fixed(i.Lo, d), g.fixed(i.Hi, d))
	if unitWord != "" {
		s += nb + unitWord
	}
	return s
}

// range2 writes an interval of an amount: 120 to 310.
func (g *tongue) range2(i num.Interval) string { return g.f("%s to %s", g.about(i.Lo), g.about(i.Hi)) }

// of writes the cases and the denominator of a share: 312 of 14,800 craft inspected.
func (g *tongue) of(f figures.Figure) string {
	return g.f("%s of %s %s", g.whole(float64(f.X)), g.whole(float64(f.N)), g.term(f.Of))
}

// change writes how a share stands to the season before, without saying why.
func (g *tongue) change(f figures.Figure, what string) string {
	b := f.Before
	if b == nil || b.Change == nil {
		return ""
	}
	d := decimals(100 * (b.Change.Hi - b.Change.Lo))
	points := b.Change.Scale(100)
	size := g.fixed(math.Abs(points.Mid), d)
	if !b.Differs {
		return g.f("The records do not tell %s apart from the season before (%s percentage points).", what, g.between(points, d, ""))
	}
	if points.Mid < 0 {
		return g.f("That is %s percentage points less than in the season before (%s).", size, g.between(points, d, "")) + " " + g.t(differed)
	}
	return g.f("That is %s percentage points more than in the season before (%s).", size, g.between(points, d, "")) + " " + g.t(differed)
}

const differed = "Who was met, where and at which hours differed too, so this is no measure of what the programme did."

// litres writes a volume in the reader's units.
func (m *maker) litres(l float64) string {
	if m.in.Units == unit.US {
		return m.about(l/unit.LitresPerUSGallon) + nb + "gal"
	}
	return m.about(l) + nb + "L"
}

func (m *maker) money(x float64) string {
	return m.in.Programme.Costs.Currency + nb + m.about(x)
}

func (g *tongue) organismName(id string) string {
	if o, ok := refdata.OrganismByID(id); ok {
		return g.term(o.Common)
	}
	return strings.ReplaceAll(id, "_", " ")
}

func (g *tongue) className(id string) string {
	if c, ok := refdata.CraftClassByID(id); ok {
		return g.term(c.Name)
	}
	return strings.ReplaceAll(id, "_", " ")
}

func (g *tongue) placeName(id string) string {
	if r := refdata.PlaceRowOf(id); r != nil {
		return g.term(r.Name)
	}
	return strings.NewReplacer("_", " ", ".", ": ").Replace(id)
}

// list joins words: a, b and c.
func (g *tongue) list(words []string) string {
	switch len(words) {
	case 0:
		return ""
	case 1:
		return words[0]
	}
	last := words[len(words)-1]
	if g.tag() == "es" && (strings.HasPrefix(strings.ToLower(last), "i") || strings.HasPrefix(strings.ToLower(last), "hi") && !strings.HasPrefix(strings.ToLower(last), "hie")) {
		return strings.Join(words[:len(words)-1], ", ") + " e " + last // y becomes e before the sound of i
	}
	return g.f("%s and %s", strings.Join(words[:len(words)-1], ", "), last)
}

// first makes a sentence begin with a capital letter.
func first(s string) string {
	if s == "" {
		return s
	}
	r, n := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(r)) + s[n:]
}

// lower makes words go on inside a sentence.
func lower(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	return string(unicode.ToLower(r)) + s[n:]
}
