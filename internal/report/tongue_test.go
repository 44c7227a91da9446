package report

import (
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"thwart/boater"
	"thwart/draw"
	"thwart/engine/num"
	"thwart/internal/pdf"
	"thwart/refdata"
	"thwart/season/skill"
	"thwart/season/spreading"
)

// keysInCode lists the English that the code asks the catalogue for: what is given to t, f and some, constants included.
func keysInCode(t *testing.T) []string {
	t.Helper()
	files := token.NewFileSet()
	consts := map[string]string{}
	var trees []*ast.File
	names, err := os.ReadDir(".")
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range names {
		if !strings.HasSuffix(n.Name(), ".go") || strings.HasSuffix(n.Name(), "_test.go") {
			continue
		}
		tree, err := parser.ParseFile(files, n.Name(), nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		trees = append(trees, tree)
	}
	text := func(e ast.Expr) (string, bool) {
		switch x := e.(type) {
		case *ast.BasicLit:
			s, err := strconv.Unquote(x.Value)
			return s, err == nil && x.Kind == token.STRING
		case *ast.Ident:
			s, ok := consts[x.Name]
			return s, ok
		}
		return "", false
	}
	for _, tree := range trees {
		ast.Inspect(tree, func(n ast.Node) bool {
			if v, ok := n.(*ast.ValueSpec); ok && len(v.Values) == 1 {
				if s, ok := text(v.Values[0]); ok {
					consts[v.Names[0].Name] = s
				}
			}
			return true
		})
	}
	var keys []string
	for _, tree := range trees {
		ast.Inspect(tree, func(n ast.Node) bool {
			call, ok := n.(*ast.CallExpr)
			if !ok {
				return true
			}
			sel, ok := call.Fun.(*ast.SelectorExpr)
			if !ok {
				return true
			}
			switch sel.Sel.Name {
			case "t", "f":
				if s, ok := text(call.Args[0]); ok {
					keys = append(keys, s)
				} else if id, ok := call.Args[0].(*ast.Ident); !ok || id.Name != "key" && id.Name != "s" && id.Name != "text" && id.Name != "name" {
					t.Errorf("%s: what is asked of the catalogue is no text that a test can read", files.Position(call.Pos()))
				}
			case "some":
				one, ok1 := text(call.Args[1])
				many, ok2 := text(call.Args[2])
				if !ok1 || !ok2 {
					t.Errorf("%s: what is counted is no text that a test can read", files.Position(call.Pos()))
				}
				keys = append(keys, one+"|"+many)
			}
			return true
		})
	}
	return keys
}

// namesOutside lists the names that a report takes from the data library and from other packages.
func namesOutside() []string {
	out := []string{spreading.AsWorked, bestForSameHours, "weekday", "weekend", "holiday"}
	for _, o := range refdata.Organisms() {
		out = append(out, o.Common)
	}
	for _, c := range refdata.CraftClasses() {
		out = append(out, c.Name)
	}
	for _, p := range refdata.PlaceRows() {
		out = append(out, p.Name)
	}
	for _, w := range skill.ClassWords {
		out = append(out, w)
	}
	for _, d := range []string{"weekday", "free day"} {
		out = append(out, d+"s")
	}
	return append(out, elsewhereEnglish...)
}

var places = regexp.MustCompile(`%(?:\[(\d+)\])?(?:\.\d)?([a-z%])`)

// values lists which values a text names, by place.
func values(text string) []int {
	var out []int
	next := 1
	for _, m := range places.FindAllStringSubmatch(text, -1) {
		if m[2] == "%" {
			continue
		}
		if m[1] != "" {
			next, _ = strconv.Atoi(m[1])
		}
		out = append(out, next)
		next++
	}
	slices.Sort(out)
	return slices.Compact(out)
}

func TestEverySentenceIsThereInEveryLanguage(t *testing.T) {
	asked := append(keysInCode(t), namesOutside()...)
	if len(asked) < 400 {
		t.Fatalf("only %d sentences were found in the code", len(asked))
	}
	for _, key := range asked {
		for _, lang := range Languages[1:] {
			p, ok := catalogue()[key][lang]
			if !ok {
				t.Errorf("%s: nothing for %q", lang, key)
				continue
			}
			if (p.forms != nil) != strings.Contains(key, "|") {
				t.Errorf("%s: %q has plural forms and is not counted, or the other way round", lang, key)
				continue
			}
			if p.forms != nil {
				for form, text := range map[string]string{"zero": p.forms.Zero, "one": p.forms.One, "other": p.forms.Other, "many": p.forms.Many} {
					if text == "" || (form == "other" || form == "many") != strings.Contains(text, "%s") {
						t.Errorf("%s: %q, form %s: %q", lang, key, form, text)
					}
				}
				continue
			}
			// Texts without values may hold a bare sign of percent, and are never formatted.
			if want, got := values(key), values(p.text); strings.Contains(key, "%s") || strings.Contains(key, "%d") {
				if !slices.Equal(want, got) {
					t.Errorf("%s: %q names the values %v, %q names %v", lang, key, want, p.text, got)
				}
			}
			if p.text == "" {
				t.Errorf("%s: %q is empty", lang, key)
			}
		}
	}
	for key, langs := range catalogue() {
		for lang := range langs {
			if !slices.Contains(Languages, lang) {
				t.Errorf("%q is in %s, which is no language of a report", key, lang)
			}
		}
	}
}

func TestNumbersOfThingsFollowEachLanguage(t *testing.T) {
	for lang, want := range map[string]map[int]string{
		"en": {0: "no craft", 1: "1 craft", 2: "2 craft", 1234: "1,234 craft", 12345: "12,345 craft", 1000000: "1,000,000 craft"},
		"es": {0: "ningún bote", 1: "1 bote", 2: "2 botes", 1234: "1234 botes", 12345: "12 345 botes", 1000000: "1 000 000 de botes", 1000001: "1 000 001 botes"},
		"fr": {0: "aucun bateau", 1: "1 bateau", 2: "2 bateaux", 1234: "1 234 bateaux", 12345: "12 345 bateaux", 1000000: "1 000 000 de bateaux", 1000001: "1 000 001 bateaux"},
	} {
		g := newTongue(lang)
		for n, words := range want {
			if got := strings.ReplaceAll(g.some(n, "craft", "craft"), nb, " "); got != words {
				t.Errorf("%s: %d is %q, want %q", lang, n, got, words)
			}
		}
	}
}

func TestNumbersAndDatesAreWrittenAsEachLanguageDoes(t *testing.T) {
	for lang, want := range map[string][]string{
		"en": {"1,234.5", "−0.25", "12 %", "0.5 to 12,000", "1 May 2026", "29 Sep"},
		"es": {"1234,5", "−0,25", "12 %", "0,5 a 12 000", "1 de mayo de 2026", "29 sept"},
		"fr": {"1 234,5", "−0,25", "12 %", "0,5 à 12 000", "1er mai 2026", "29 sept."},
	} {
		g := newTongue(lang)
		day := func(s string) time.Time {
			d, err := time.Parse(time.DateOnly, s)
			if err != nil {
				t.Fatal(err)
			}
			return d
		}
		got := []string{g.number("1,234.5"), g.fixed(-0.25, 2), g.percent(0.12), g.range2(num.Interval{Lo: 0.5, Hi: 12000}), g.dateOf(day("2026-05-01")), g.day(day("2026-09-29"))}
		for i, w := range want {
			if s := strings.ReplaceAll(got[i], nb, " "); s != w {
				t.Errorf("%s: %q, want %q", lang, s, w)
			}
		}
	}
	if got := newTongue("es").list([]string{"agua", "hielo", "islas"}); got != "agua, hielo e islas" {
		t.Errorf("%q", got)
	}
	if got := boater.MonthName("fr", time.August); got != "août" {
		t.Errorf("%q", got)
	}
}

func TestWhatAnotherPartSaysIsTranslatedOrQuoted(t *testing.T) {
	g := newTongue("es")
	for english, want := range map[string]string{
		"A shift is worked by one of these teams: 1 person, 8 craft an hour; 2 people, 14.5 craft an hour. Hours of work count every person of a team.": "Un turno lo trabaja uno de estos equipos: 1 persona, 8 botes por hora; 2 personas, 14,5 botes por hora. Las horas de trabajo cuentan a cada persona de un equipo.",
		"3 suspected waters count as sources.":    "3 aguas con sospecha cuentan como fuentes.",
		"One suspected water counts as a source.": "Un agua con sospecha cuenta como fuente.",
		"Nobody was at Alder Slip, Sallow Slip and Reed Cove: arrivals there are the region's, or a guess, with their spread.": "No hubo nadie en Alder Slip, Sallow Slip y Reed Cove: las llegadas allí son las de la región, o una conjetura, con su dispersión.",
		"Less than 8 hours were staffed at A, B, C, D, E and 12 more.":                                                         "Se atendieron menos de 8 horas en A, B, C, D, E y 12 más.",
		"Traffic could not be estimated from these records: no hours.":                                                         "El tráfico no se pudo estimar con estos registros: (El programa informático dice esto solo en inglés: «no hours»).",
		"What nobody has translated.": "(El programa informático dice esto solo en inglés: «What nobody has translated.»)",
	} {
		if got := g.said(english); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
	if len(g.lost) > 0 {
		t.Errorf("lost %q", g.lost)
	}
	if got := g.reworded("12.3 % (1,011 to 12,345.5 %)"); strings.ReplaceAll(got, nb, " ") != "12,3 % (1011 a 12 345,5 %)" {
		t.Errorf("%q", got)
	}
}

func TestAReportWithAHoleInItsLanguageIsNotGivenOut(t *testing.T) {
	g := newTongue("fr")
	if got := g.t("a sentence that nobody has translated"); got == "" || len(g.lost) != 1 {
		t.Errorf("%q, lost %q", got, g.lost)
	}
}

// The four states of a map's legend stand 160 apart, with a swatch of 34 before each.
func TestLegendsHaveRoomInEveryLanguage(t *testing.T) {
	for _, lang := range Languages {
		m := &maker{tongue: newTongue(lang)}
		l := m.legend()
		for _, words := range []string{l.Infested, l.Suspected, l.NotLooked, l.NoneKnown} {
			if w, _ := pdf.Measure(&draw.Text{Text: words, Size: 11}); w > 124 {
				t.Errorf("%s: %q is %.0f wide", lang, words, w)
			}
		}
	}
}
