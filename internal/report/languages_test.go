package report_test

import (
	"flag"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"thwart/draw"
	"thwart/internal/pdf"
	"thwart/internal/pdf/pdftest"
	"thwart/internal/report"
	"thwart/season/figures"
)

var update = flag.Bool("update", false, "write the recorded words of the English reports anew")

// inLanguage makes every edition in one language, those of a whole programme with all estimates.
func inLanguage(t *testing.T, lang string) map[report.Edition]*report.Document {
	t.Helper()
	in, err := gathered()
	if err != nil {
		t.Fatal(err)
	}
	out := map[report.Edition]*report.Document{}
	for _, e := range []report.Edition{report.Whole, report.Board} {
		in.Edition, in.Language = e, lang
		out[e] = makeDoc(t, in)
	}
	book := small()
	page := inputs(t, book, report.Launch, figures.Query{Launch: book.Launches[0].Subject})
	page.Language = lang
	out[report.Launch] = makeDoc(t, page)
	return out
}

// wordsOf gives what a block says, each piece by itself.
func wordsOf(b report.Block) []string {
	switch x := b.(type) {
	case report.Lead:
		return []string{x.Text}
	case report.Para:
		return []string{x.Text}
	case report.Small:
		return []string{x.Text}
	case report.Missing:
		return []string{x.Text}
	case report.List:
		return x.Items
	case report.Numbers:
		var out []string
		for _, n := range x.Items {
			out = append(out, n.Value, n.Label, n.Note)
		}
		return out
	case report.Picture:
		out := []string{x.Scene.Title, x.Caption, x.Alt}
		for _, i := range x.Scene.Items {
			if t, ok := i.(draw.Text); ok {
				out = append(out, t.Text)
			}
		}
		return out
	case report.Table:
		out := []string{x.Caption, x.Note}
		for _, c := range x.Columns {
			out = append(out, c.Head)
		}
		for _, r := range x.Rows {
			out = append(out, r...)
		}
		return out
	}
	return nil
}

// all gives what a document says, with its headings.
func all(doc *report.Document) []string {
	out := append([]string{doc.Title, doc.Subtitle}, doc.Colophon...)
	for _, s := range doc.Sections {
		out = append(out, "# "+s.Title)
		for _, b := range s.Blocks {
			out = append(out, wordsOf(b)...)
		}
	}
	return out
}

// The English report says what it said before it had other languages beside it. What rests on estimates is recorded without its
// numbers, which a better model may change.
func TestEnglishIsAsRecorded(t *testing.T) {
	book := small()
	for e, q := range map[report.Edition]figures.Query{report.Whole: {}, report.Board: {}, report.Launch: {Launch: book.Launches[0].Subject}} {
		recorded(t, "english-"+string(e)+".txt", all(makeDoc(t, inputs(t, book, e, q))))
	}
	var estimated []string
	for e, doc := range inLanguage(t, "en") {
		for _, s := range doc.Sections {
			if e == report.Whole && slices.Contains([]string{"risk", "years", "plan"}, s.ID) {
				for _, b := range s.Blocks {
					if table, ok := b.(report.Table); ok {
						table.Rows = nil
						b = table
					}
					for _, w := range wordsOf(b) {
						estimated = append(estimated, englishNumber.ReplaceAllString(w, "#"))
					}
				}
			}
		}
	}
	recorded(t, "english-estimates.txt", slices.Compact(estimated))
}

// recorded compares what is said with what was said.
func recorded(t *testing.T, name string, said []string) {
	t.Helper()
	path := filepath.Join("testdata", name)
	got := strings.Join(said, "\n") + "\n"
	if *update {
		if err := os.WriteFile(path, []byte(got), 0o600); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	a, b := strings.Split(got, "\n"), strings.Split(string(want), "\n")
	for i := range max(len(a), len(b)) {
		if i >= len(a) || i >= len(b) || a[i] != b[i] {
			t.Errorf("line %d differs from %s; read it, then record it with -update:\n%.300q", i+1, path, a[min(i, len(a)-1)])
			return
		}
	}
}

var (
	englishNumber = regexp.MustCompile(`\d+(?:,\d{3})*(?:\.\d+)?`)
	otherNumber   = regexp.MustCompile("\\d{1,3}(?:\u00a0\\d{3})+(?:,\\d+)?|\\d+(?:,\\d+)?")
)

// ids are names with numbers in them, which no language changes.
var ids = regexp.MustCompile(`\S*@\S+|CC0-1\.0`)

// numbersIn gives the numbers of texts, in no order, since the order of words differs.
func numbersIn(t *testing.T, lang string, texts []string) []float64 {
	var out []float64
	for _, s := range texts {
		s = ids.ReplaceAllString(s, "")
		found := otherNumber.FindAllString(s, -1)
		if lang == "en" {
			found = englishNumber.FindAllString(s, -1)
		}
		for _, n := range found {
			if lang == "en" {
				n = strings.ReplaceAll(n, ",", "")
			} else {
				n = strings.ReplaceAll(strings.ReplaceAll(n, "\u00a0", ""), ",", ".")
			}
			v, err := strconv.ParseFloat(n, 64)
			if err != nil {
				t.Fatal(err)
			}
			out = append(out, v)
		}
	}
	slices.Sort(out)
	return out
}

func TestEveryLanguageHasTheSameNumbers(t *testing.T) {
	english := inLanguage(t, "en")
	for _, lang := range report.Languages[1:] {
		tried := 0
		for e, doc := range inLanguage(t, lang) {
			if len(doc.Sections) != len(english[e].Sections) {
				t.Fatalf("%s, %s: %d sections of %d", lang, e, len(doc.Sections), len(english[e].Sections))
			}
			for i, s := range doc.Sections {
				for j, b := range s.Blocks {
					want := numbersIn(t, "en", wordsOf(english[e].Sections[i].Blocks[j]))
					got := numbersIn(t, lang, wordsOf(b))
					tried += len(want)
					if !slices.Equal(got, want) {
						t.Errorf("%s, %s, section %s, block %d:\n%v\nEnglish:\n%v\n%.400q", lang, e, s.ID, j, got, want, wordsOf(b))
					}
				}
			}
		}
		if tried < 1000 {
			t.Errorf("%s: only %d numbers were compared", lang, tried)
		}
	}
}

var (
	loose       = regexp.MustCompile(`NaN|\bInf\b|%!|<nil>`)
	leftEnglish = regexp.MustCompile(`(?i)\b(the|of|and|were|was|with|from|which|that|is|are|craft|by|to)\b`)
	// What stays as it is: quotations, commands, what a programme has written of itself.
	stays = regexp.MustCompile(`«[^»]*»|thwart season --records ID|thwart spread fit|invented records for trying the program out`)
)

func TestNoEnglishIsLeft(t *testing.T) {
	for _, lang := range report.Languages[1:] {
		for e, doc := range inLanguage(t, lang) {
			for _, s := range all(doc) {
				if m := leftEnglish.FindString(stays.ReplaceAllString(s, "")); m != "" {
					t.Errorf("%s, %s: %q in %q", lang, e, m, s)
				}
				if strings.Contains(s, "«") {
					t.Errorf("%s, %s: the invented season has a sentence that nobody has translated: %q", lang, e, s)
				}
				if m := loose.FindString(s); m != "" || strings.Contains(s, "  ") || strings.Contains(s, "..") {
					t.Errorf("%s, %s: loose in %q", lang, e, s)
				}
			}
		}
	}
}

func TestEveryLanguageIsSetWhole(t *testing.T) {
	for lang, heading := range map[string]string{"es": "Apéndice: todos los números", "fr": "Annexe : tous les chiffres"} {
		for e, doc := range inLanguage(t, lang) {
			pictures := 0
			for _, s := range doc.Sections {
				for _, b := range s.Blocks {
					if p, ok := b.(report.Picture); ok {
						pictures++
						for _, f := range p.Scene.Check(pdf.Measure) {
							t.Errorf("%s, %s, %s: %s: %s", lang, e, s.ID, p.Scene.Title, f)
						}
					}
				}
			}
			if pictures == 0 {
				t.Errorf("%s, %s: no pictures", lang, e)
			}
			if h := htmlOf(t, doc); !strings.Contains(h, `<html lang="`+lang+`">`) || strings.Contains(h, "Skip to") || strings.Contains(h, `"Contents"`) {
				t.Errorf("%s, %s: the page's frame is not in its language", lang, e)
			}
			b := pdfOf(t, doc)
			if !strings.Contains(string(b), "/Lang ("+lang+")") {
				t.Errorf("%s, %s: the PDF does not say its language", lang, e)
			}
			pages := regexp.MustCompile(`Pages:\s+(\d+)`).FindStringSubmatch(pdftest.Tool(t, b, "pdfinfo", "FILE"))
			want := map[report.Edition]string{report.Board: "2", report.Launch: "1"}[e]
			if want != "" && pages[1] != want {
				t.Errorf("%s, %s: %s pages, want %s", lang, e, pages[1], want)
			}
			if e == report.Whole {
				text := squeezed(pdftest.Tool(t, b, "pdftotext", "-raw", "FILE", "-"))
				if !strings.Contains(text, heading) || strings.Contains(text, "continued") {
					t.Errorf("%s: %q is not in the PDF, or English is", lang, heading)
				}
			}
		}
	}
}

func TestALanguageThatIsNotThereIsRefused(t *testing.T) {
	in := inputs(t, small(), report.Board, figures.Query{})
	in.Language = "de"
	if _, err := report.Make(in); err == nil || !strings.Contains(err.Error(), `"de"`) || !strings.Contains(err.Error(), "en, es, fr") {
		t.Errorf("%v", err)
	}
}
