package report

import (
	_ "embed"
	"encoding/json"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"thwart/boater"
	"thwart/draw"
)

// Languages are those that a report can be made in. English is what the sentences in the code are written in; the others have a
// translation of every one of them in words.json.
var Languages = []string{"en", "es", "fr"}

// phrase is one entry of the catalogue in one language: one text, or one for each plural form of the language.
type phrase struct {
	text  string
	forms *forms
}

// forms are the texts for numbers of things. Zero is for none at all and is not a form of CLDR; many is, in Spanish and French, for
// whole millions.
type forms struct{ Zero, One, Other, Many string }

func (p *phrase) UnmarshalJSON(b []byte) error {
	if len(b) > 0 && b[0] == '"' {
		return json.Unmarshal(b, &p.text)
	}
	p.forms = &forms{}
	return json.Unmarshal(b, p.forms)
}

//go:embed words.json
var catalogueJSON []byte

// catalogue holds the phrases by their English, then by language. The English of a plural is its two forms with a bar between.
var catalogue = sync.OnceValue(func() map[string]map[string]phrase {
	var c map[string]map[string]phrase
	if err := json.Unmarshal(catalogueJSON, &c); err != nil {
		panic(fmt.Sprintf("words.json: %v", err)) // the file is part of the program
	}
	return c
})

// tongue is the language of one document. A nil one is English.
type tongue struct {
	lang string
	lost []string // English of what the catalogue lacks: a document with any is not given out
}

func newTongue(lang string) *tongue { return &tongue{lang: lang} }

func (g *tongue) english() bool { return g == nil || g.lang == "" || g.lang == "en" }

func (g *tongue) find(key string) phrase {
	p, ok := catalogue()[key][g.lang]
	if !ok {
		g.lost = append(g.lost, key)
		p.text = key
	}
	return p
}

// t gives a text without numbers.
func (g *tongue) t(key string) string {
	if g.english() {
		return key
	}
	return g.spaced(g.find(key).text)
}

// term gives a short text of another package, such as the label of a figure.
func (g *tongue) term(key string) string {
	if key == "" {
		return ""
	}
	return g.t(key)
}

// f gives a text with values in it. Translations name values by their place, so that their order is free.
func (g *tongue) f(key string, args ...any) string {
	if g.english() {
		return fmt.Sprintf(key, args...)
	}
	return g.spaced(fmt.Sprintf(g.find(key).text, args...))
}

// some writes a number of things: no washes, 1 wash, 12 washes.
func (g *tongue) some(n int, one, many string) string {
	if g.english() {
		switch n {
		case 0:
			return "no " + many
		case 1:
			return "1 " + one
		}
		return g.whole(float64(n)) + " " + many
	}
	p := g.find(one + "|" + many)
	if p.forms == nil {
		return p.text
	}
	return g.spaced(strings.ReplaceAll(p.forms.of(n), "%s", g.whole(float64(n))))
}

// of chooses by the plural rules of the Unicode CLDR, version 42 and later, for whole numbers in Spanish and French: whole millions
// are "many", and one is one. None at all has words of its own here, so that it makes no difference that it counts as one in French.
func (f *forms) of(n int) string {
	switch {
	case n == 0:
		return f.Zero
	case n == 1:
		return f.One
	case n%1_000_000 == 0:
		return f.Many
	}
	return f.Other
}

// spaced sets the blanks that a language wants before its signs; none of them breaks a line.
func (g *tongue) spaced(s string) string {
	if g.lang != "fr" {
		return strings.ReplaceAll(s, " %", nb+"%")
	}
	return frenchBlanks.Replace(s)
}

var frenchBlanks = strings.NewReplacer(" :", nb+":", " ;", nb+";", " ?", nb+"?", " !", nb+"!", " %", nb+"%", "« ", "«"+nb, " »", nb+"»")

// number turns a number as Go writes it, with a point and commas, into the language's.
func (g *tongue) number(s string) string {
	if g.english() {
		return s
	}
	whole, part, has := strings.Cut(strings.ReplaceAll(s, ",", ""), ".")
	digits := strings.TrimLeft(whole, "-−")
	// Spanish sets no blank into four digits (Real Academia Española, Ortografía 2010, VIII 2.3.1). Both languages ask for a thin
	// blank; the fonts of the document have none, so a common one is set at which no line breaks.
	if len(digits) > 4 || len(digits) == 4 && g.lang != "es" {
		var b strings.Builder
		for i, r := range digits {
			if i > 0 && (len(digits)-i)%3 == 0 {
				b.WriteString(nb)
			}
			b.WriteRune(r)
		}
		whole = strings.TrimSuffix(whole, digits) + b.String()
	}
	if has {
		whole += "," + part
	}
	return whole
}

var numeral = regexp.MustCompile(`\d+(,\d{3})*(\.\d+)?`)

// reworded turns numbers in print, as the English report has them, into the language's.
func (g *tongue) reworded(s string) string {
	if g.english() {
		return s
	}
	if _, ok := catalogue()[s]; ok {
		return g.t(s)
	}
	parts := strings.Split(s, " to ")
	for i, p := range parts {
		parts[i] = numeral.ReplaceAllStringFunc(p, g.number)
	}
	s = parts[0]
	for _, p := range parts[1:] {
		s = g.f("%s to %s", s, p)
	}
	return s
}

func (g *tongue) dateOf(t time.Time) string {
	t = t.UTC()
	month := boater.MonthName(g.tag(), t.Month())
	switch {
	case g.english():
		return t.Format("2 January 2006")
	case g.lang == "es":
		return fmt.Sprintf("%d de %s de %d", t.Day(), month, t.Year())
	case t.Day() == 1:
		return fmt.Sprintf("1er"+nb+"%s %d", month, t.Year())
	}
	return fmt.Sprintf("%d"+nb+"%s %d", t.Day(), month, t.Year())
}

// printed turns a date as an earlier report printed it into the language's.
func (g *tongue) printed(date string) string {
	t, err := time.Parse("2 January 2006", date)
	if err != nil || g.english() {
		return date
	}
	return g.dateOf(t)
}

var shortMonths = map[string][]string{
	"es": {"ene", "feb", "mar", "abr", "may", "jun", "jul", "ago", "sept", "oct", "nov", "dic"},
	"fr": {"janv.", "févr.", "mars", "avr.", "mai", "juin", "juil.", "août", "sept.", "oct.", "nov.", "déc."},
}

// day writes a day of a season in few letters.
func (g *tongue) day(t time.Time) string {
	if g.english() {
		return t.Format("2 Jan")
	}
	return strconv.Itoa(t.Day()) + " " + shortMonths[g.lang][t.Month()-1]
}

func (g *tongue) tag() string {
	if g.english() {
		return "en"
	}
	return g.lang
}

// planName gives the name of a plan. A programme's own names stay as they are.
func (g *tongue) planName(name string) string {
	if _, ok := catalogue()[name]; ok {
		return g.t(name)
	}
	return name
}

// said gives a sentence that another package wrote in English. One that is not known is quoted as English, never passed off.
func (g *tongue) said(text string) string {
	if g.english() || text == "" {
		return text
	}
	if _, ok := catalogue()[text]; ok {
		return g.t(text)
	}
	if s, ok := g.recognised(text); ok {
		return s
	}
	return g.f("(The program says this in English only: “%s”)", text)
}

// recognised says anew what has the form of a sentence of another package.
func (g *tongue) recognised(text string) (string, bool) {
	for _, e := range elsewhere() {
		m := e.shape.FindStringSubmatch(text)
		if m == nil {
			continue
		}
		args := make([]any, len(e.verbs))
		for i, v := range e.verbs {
			args[i] = g.captured(v, m[i+1])
		}
		return g.spaced(fmt.Sprintf(g.find(e.english).text, args...)), true
	}
	return "", false
}

func (g *tongue) saidAll(texts []string) string {
	out := make([]string, len(texts))
	for i, t := range texts {
		out[i] = g.said(t)
	}
	return strings.Join(out, " ")
}

// captured gives a value out of an English sentence: a number, a sentence in the sentence (%v), or names.
func (g *tongue) captured(verb byte, s string) string {
	switch {
	case verb == 'v':
		return g.said(s)
	case verb != 's':
		return g.number(s)
	}
	if _, ok := catalogue()[s]; ok {
		return g.t(s)
	}
	parts, all := strings.Split(s, "; "), true
	for i, p := range parts {
		var ok bool
		parts[i], ok = g.recognised(p)
		all = all && ok
	}
	if all {
		if g.lang == "fr" {
			return strings.Join(parts, nb+"; ")
		}
		return strings.Join(parts, "; ")
	}
	if m := andMore.FindStringSubmatch(s); m != nil {
		return g.f("%s and %s more", m[1], m[2])
	}
	if i := strings.LastIndex(s, " and "); i > 0 {
		return g.list(append(strings.Split(s[:i], ", "), s[i+5:]))
	}
	return s
}

var andMore = regexp.MustCompile(`^(.+) and (\d+) more$`)

// drawn turns the numbers and the few words that charts set of themselves into the language's.
func (g *tongue) drawn(s *draw.Scene) *draw.Scene {
	if g.english() || s == nil {
		return s
	}
	out := *s
	out.Items = slices.Clone(s.Items)
	for i, item := range out.Items {
		if t, ok := item.(draw.Text); ok {
			t.Text = g.tick(t.Text)
			out.Items[i] = t
		}
	}
	return &out
}

var (
	onlyNumber = regexp.MustCompile(`^-?(\d+|\d{1,3}(?:,\d{3})+)(\.\d+)?$`)
	upTo       = regexp.MustCompile(`^(?:(.+), )?to (\d[\d,.]*)$`)
)

func (g *tongue) tick(s string) string {
	number, percent := strings.CutSuffix(s, " %")
	switch {
	case onlyNumber.MatchString(number):
		if s = g.number(number); percent {
			s += nb + "%"
		}
	case s == "nobody there" || s == "bow to the left":
		s = g.t(s)
	default:
		m := upTo.FindStringSubmatch(s)
		switch {
		case m == nil:
		case m[1] == "":
			s = g.f("to %s", g.number(m[2]))
		default:
			s = g.f("%s, to %s", m[1], g.number(m[2]))
		}
	}
	return s
}
