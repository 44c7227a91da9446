package report_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"thwart"
	"thwart/draw"
	"thwart/internal/demo"
	"thwart/internal/demo/demotest"
	"thwart/internal/pdf"
	"thwart/internal/pdf/pdftest"
	"thwart/internal/report"
	"thwart/season"
	"thwart/season/figures"
	"thwart/season/flows"
	"thwart/season/plan"
	"thwart/season/spreading"
	"thwart/unit"
)

var made = time.Date(2026, 10, 12, 9, 0, 0, 0, time.UTC)

func bookOf(scale float64) *season.Book {
	_, b := demotest.Book(demo.Options{Seed: 1, Scale: scale})
	return b
}

func small() *season.Book { return bookOf(0.2) }

func inputs(t testing.TB, book *season.Book, e report.Edition, q figures.Query) report.Inputs {
	t.Helper()
	s, err := figures.Of(book, q, season.SummerHolidays())
	if err != nil {
		t.Fatal(err)
	}
	in := report.Inputs{
		Season: s, Book: book, Edition: e, Units: unit.Metric, Demo: true, Made: made, App: "test", Data: "0123456789ab", Seed: 1, Measure: pdf.Measure,
		TrafficMissing: "Traffic was not estimated.", RisksMissing: "Risk was not estimated.", SkillsMissing: "Skill was not estimated.", PlanMissing: "No plan was computed.", YearsMissing: "No years were run.",
	}
	if len(book.Programmes) > 0 {
		in.Programme = book.Programmes[0].Body
		in.Licence, in.Citation = in.Programme.Licence, in.Programme.Citation
	}
	return in
}

func makeDoc(t testing.TB, in report.Inputs) *report.Document {
	t.Helper()
	doc, err := report.Make(in)
	if err != nil {
		t.Fatal(err)
	}
	return doc
}

func pdfOf(t testing.TB, doc *report.Document) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := doc.PDF(&b, made); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func htmlOf(t testing.TB, doc *report.Document) string {
	t.Helper()
	var b bytes.Buffer
	if err := doc.HTML(&b); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// editions makes one of each.
func editions(t testing.TB) map[report.Edition]*report.Document {
	book := small()
	launch := figures.Query{Launch: book.Launches[0].Subject}
	out := map[report.Edition]*report.Document{}
	for e, q := range map[report.Edition]figures.Query{report.Whole: {}, report.Board: {}, report.Launch: launch} {
		out[e] = makeDoc(t, inputs(t, book, e, q))
	}
	return out
}

// squeezed joins blanks of every kind into one.
func squeezed(s string) string { return strings.Join(strings.Fields(s), " ") }

func TestPDFHoldsTheNumbers(t *testing.T) {
	in := inputs(t, small(), report.Whole, figures.Query{})
	b := pdfOf(t, makeDoc(t, in))
	text := squeezed(pdftest.Tool(t, b, "pdftotext", "-raw", "FILE", "-"))
	for _, id := range []string{"met", "inspected", "arriving"} {
		if want := fmt.Sprintf("%.0f", in.Season.Get(id).Value); !strings.Contains(strings.ReplaceAll(text, ",", ""), want) {
			t.Errorf("%s = %s is not in the PDF", id, want)
		}
	}
	for _, s := range []string{"The season in one page", "Effort and coverage", "What was found", "Methods and limits", "Appendix: every number", "Risk was not estimated.", "Skill was not estimated."} {
		if !strings.Contains(text, s) {
			t.Errorf("%q is not in the PDF", s)
		}
	}
	for _, l := range strings.Split(strings.TrimSpace(pdftest.Tool(t, b, "pdffonts", "FILE")), "\n")[2:] {
		if f := strings.Fields(l); len(f) < 6 || f[len(f)-5] != "yes" {
			t.Errorf("not embedded: %s", l)
		}
	}
	if out := pdftest.Tool(t, b, "qpdf", "--check", "FILE"); !strings.Contains(out, "No syntax or stream encoding errors") {
		t.Error(out)
	}
}

func TestLengths(t *testing.T) {
	for e, most := range map[report.Edition]int{report.Launch: 1, report.Board: 2, report.Whole: 16} {
		doc := editions(t)[e]
		if in, err := gathered(); err != nil {
			t.Fatal(err)
		} else if e != report.Launch {
			in.Edition = e
			doc = makeDoc(t, in)
		}
		out := pdftest.Tool(t, pdfOf(t, doc), "pdfinfo", "FILE")
		i := strings.Index(out, "Pages:")
		n, err := strconv.Atoi(strings.Fields(out[i:])[1])
		if err != nil || n > most {
			t.Errorf("%s has %d pages, at most %d are meant (%v)", e, n, most, err)
		}
	}
}

// nilTB fails by panic: what it is given to is made once for all tests.
type nilTB struct{ testing.TB }

func (nilTB) Helper()           {}
func (nilTB) Fatal(args ...any) { panic(args) }

// gathered is a season with everything that other parts of the product estimate.
var gathered = sync.OnceValues(func() (report.Inputs, error) {
	in := inputs(nilTB{}, small(), report.Whole, figures.Query{})
	return report.Gather(context.Background(), in, report.GatherOptions{Seed: 1})
})

// What is ahead is what the office's pages and the command line compute: the same plans, the same years.
func TestWhatIsAheadIsTheOfficesOwn(t *testing.T) {
	in, err := gathered()
	if err != nil {
		t.Fatal(err)
	}
	m, err := flows.New(in.Book, flows.Options{Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	years, err := spreading.Forecast(t.Context(), m, spreading.Question{Organism: in.Risks[0].Organism, Runs: 1000, Seed: 1}, nil)
	if err != nil {
		t.Fatal(err)
	}
	from, err := plan.FromModel(in.Book, m)
	if err != nil {
		t.Fatal(err)
	}
	next, err := (&plan.Maker{}).Make(t.Context(), from, plan.PlanWishes{HourCost: in.Programme.Costs.PerStewardHour, Frontier: 7, Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range []report.Edition{report.Whole, report.Board} {
		in.Edition = e
		words := strings.Join(everyWord(makeDoc(t, in)), "\n")
		for _, want := range []string{years.Sentence, "The same hours, moved.", fmt.Sprintf("about %.2g", next.Value), "Fewer hours.", "More hours."} {
			if !strings.Contains(words, want) {
				t.Errorf("%s: %q is not told", e, want)
			}
		}
	}
	if p := in.Choices[1].Plan; p.Value != next.Value || p.Bound != next.Bound || len(p.Frontier) != len(next.Frontier) {
		t.Errorf("the report's plan stops %v of %v, the office's %v of %v", p.Value, p.Bound, next.Value, next.Bound)
	}
	for i := 1; i < len(in.Choices); i++ {
		if a, b := in.Choices[i-1].Plan, in.Choices[i].Plan; b.Value < a.Value || b.Hours < a.Hours {
			t.Errorf("more hours stop less: %v then %v", a.Value, b.Value)
		}
	}
	if a, b := in.Years[0], in.Years[1]; a.Years[9].Without != b.Years[9].Without {
		t.Error("the two courses are not on the same luck")
	}
}

// Headings, tables and what drawings show are in the file's structure, for readers who listen.
func TestPDFIsTagged(t *testing.T) {
	for e, doc := range editions(t) {
		b := pdfOf(t, doc)
		if out := pdftest.Tool(t, b, "pdfinfo", "FILE"); !strings.Contains(out, "Tagged:          yes") {
			t.Error(out)
		}
		how := "-struct-text"
		if e == report.Whole {
			how = "-struct" // with its text a long document takes a minute
		}
		tree := pdftest.Tool(t, b, "pdfinfo", how, "FILE")
		heads, tables, figures := strings.Count(tree, "H2 (block)"), 0, 0
		for i, s := range doc.Sections {
			if i > 0 && doc.OnePage && !strings.Contains(tree, `"`+s.Title+`"`) {
				t.Errorf("%s: %q is no heading of the tree", e, s.Title)
			}
			for _, b := range s.Blocks {
				switch b.(type) {
				case report.Table:
					tables++
				case report.Picture:
					figures++
				}
			}
		}
		if e == report.Whole && heads != len(doc.Sections) || strings.Count(tree, "Table (block)") != tables || strings.Count(tree, "Figure") != figures {
			t.Errorf("%s: %d headings of %d, %d tables of %d, %d figures of %d", e, heads, len(doc.Sections), strings.Count(tree, "Table (block)"), tables, strings.Count(tree, "Figure"), figures)
		}
	}
}

func TestTheSameBytesTwice(t *testing.T) {
	in := inputs(t, small(), report.Whole, figures.Query{})
	a, b := makeDoc(t, in), makeDoc(t, in)
	if !bytes.Equal(pdfOf(t, a), pdfOf(t, b)) || htmlOf(t, a) != htmlOf(t, b) {
		t.Error("two runs differ")
	}
}

// No word of a drawing runs out of it or over another.
func TestNoLabelIsClipped(t *testing.T) {
	n := 0
	for e, doc := range editions(t) {
		for _, s := range doc.Sections {
			for _, b := range s.Blocks {
				p, ok := b.(report.Picture)
				if !ok {
					continue
				}
				n++
				if p.Alt == "" || p.Caption == "" {
					t.Errorf("%s %s: a picture without words for whoever cannot see it", e, s.ID)
				}
				for _, f := range p.Scene.Check(pdf.Measure) {
					t.Errorf("%s %s: %s: %s", e, s.ID, p.Scene.Title, f)
				}
			}
		}
	}
	if n < 8 {
		t.Errorf("only %d pictures", n)
	}
}

// everyWord gives all that a document says.
func everyWord(doc *report.Document) []string {
	var out []string
	for _, s := range doc.Sections {
		for _, b := range s.Blocks {
			switch x := b.(type) {
			case report.Lead:
				out = append(out, x.Text)
			case report.Para:
				out = append(out, x.Text)
			case report.Small:
				out = append(out, x.Text)
			case report.Missing:
				out = append(out, x.Text)
			case report.List:
				out = append(out, x.Items...)
			case report.Picture:
				out = append(out, x.Caption, x.Alt)
			case report.Table:
				out = append(out, x.Caption, x.Note)
			}
		}
	}
	return out
}

var (
	badPlural = regexp.MustCompile(`(^|[^0-9,.])1 (washes|launches|boaters|shifts|findings|waters|weeks|entries|steward-hours|craft were)\b`)
	badOne    = regexp.MustCompile(`([02-9]|[0-9]{2,}) (wash|launch|boater|shift|water|craft was|steward-hour) `)
	causal    = regexp.MustCompile(`(?i)\b(caused?|because of (us|the programme)|thanks to|led to|due to the programme|as a result of|prevented|reduced by the)\b`)
	notNumber = regexp.MustCompile(`NaN|Inf|%!|<nil>`)
)

func TestSentencesAreSound(t *testing.T) {
	for _, scale := range []float64{0.003, 0.01, 0.2} {
		book := small()
		if scale < 0.2 {
			book = bookOf(scale)
		}
		for _, e := range []report.Edition{report.Whole, report.Board} {
			in := inputs(t, book, e, figures.Query{})
			if scale == 0.2 {
				var err error
				if in, err = gathered(); err != nil {
					t.Fatal(err)
				}
				in.Edition = e
			}
			for _, s := range everyWord(makeDoc(t, in)) {
				for what, re := range map[string]*regexp.Regexp{"one of many": badPlural, "many of one": badOne, "a cause": causal, "no number": notNumber} {
					if m := re.FindString(s); m != "" {
						t.Errorf("%s in %q: %q", what, s, m)
					}
				}
				if strings.Contains(s, "  ") || strings.Contains(s, "..") {
					t.Errorf("loose marks in %q", s)
				}
			}
		}
	}
}

func TestSmallCellsAreHidden(t *testing.T) {
	doc := editions(t)[report.Whole]
	hidden := 0
	for _, s := range doc.Sections {
		for _, b := range s.Blocks {
			table, ok := b.(report.Table)
			if !ok || table.Tight || s.ID == "standards" || s.ID == "skill" || s.ID == "risk" || s.ID == "changes" {
				continue
			}
			for _, row := range table.Rows {
				for i, c := range row[1:] {
					if n, err := strconv.Atoi(c); err == nil && n < 5 && table.Columns[i+1].Head != "Steward-hours" {
						t.Errorf("%s: %s shows %d", table.Caption, row[0], n)
					}
					if c == "< 5" {
						hidden++
					}
				}
			}
		}
	}
	if hidden == 0 {
		t.Error("nothing was hidden, so nothing was tried")
	}
}

// The appendix prints every figure as the office's pages and the command line have it.
func TestAppendixIsTheFigures(t *testing.T) {
	in := inputs(t, small(), report.Whole, figures.Query{})
	doc := makeDoc(t, in)
	last := doc.Sections[len(doc.Sections)-1]
	rows := map[string][]string{}
	for _, b := range last.Blocks {
		if table, ok := b.(report.Table); ok {
			for _, r := range table.Rows {
				rows[r[4]] = r
			}
		}
	}
	if len(rows) != len(in.Season.Figures) {
		t.Errorf("%d rows for %d figures", len(rows), len(in.Season.Figures))
	}
	for _, f := range in.Season.Figures {
		r := rows[f.ID]
		if r == nil || r[0] != f.Label {
			t.Errorf("%s is not in the appendix", f.ID)
			continue
		}
		digits := strings.ReplaceAll(r[1]+r[2], ",", "")
		want := strconv.Itoa(f.X)
		if f.Unit == figures.UnitCount {
			want = fmt.Sprintf("%.0f", f.Value)
		} else if f.Unit != figures.UnitShare {
			continue
		}
		if f.Known && !strings.Contains(digits, want) {
			t.Errorf("%s: %q does not hold %s", f.ID, r, want)
		}
	}
}

func TestChangesAreTold(t *testing.T) {
	in := inputs(t, small(), report.Whole, figures.Query{})
	then := report.Publish(in)
	var b bytes.Buffer
	if err := then.Write(&b); err != nil {
		t.Fatal(err)
	}
	earlier, err := report.ReadPublished(&b)
	if err != nil {
		t.Fatal(err)
	}
	if c := report.Changes(earlier, report.Publish(in)); len(c) != 0 {
		t.Errorf("changes where nothing changed: %+v", c)
	}
	earlier.Figures[0].Words = "12"
	in.Earlier = earlier
	c := report.Changes(earlier, report.Publish(in))
	if len(c) != 1 || c[0].ID != "met" || c[0].Then != "12" {
		t.Errorf("changes: %+v", c)
	}
	if !strings.Contains(htmlOf(t, makeDoc(t, in)), "Changes to published numbers") {
		t.Error("the report does not tell of the change")
	}
	if _, err := report.ReadPublished(strings.NewReader("[]")); err == nil {
		t.Error("what is no report's numbers was taken")
	}
}

func TestHTMLHasItsStructure(t *testing.T) {
	h := htmlOf(t, editions(t)[report.Whole])
	for _, want := range []string{"<!doctype html>", `<html lang="en">`, "<h1>", `<main id="main">`, `<nav aria-label="Contents">`, `scope="col"`, `scope="row"`} {
		if !strings.Contains(h, want) {
			t.Errorf("no %q", want)
		}
	}
	if a, b := strings.Count(h, "<table>"), strings.Count(h, "<caption>"); a == 0 || a != b {
		t.Errorf("%d tables and %d captions", a, b)
	}
	if a, b, c := strings.Count(h, "<svg "), strings.Count(h, "<desc>"), strings.Count(h, "<figcaption>"); a == 0 || a != b || a != c {
		t.Errorf("%d drawings, %d descriptions, %d captions", a, b, c)
	}
	for _, m := range regexp.MustCompile(`href="#([a-z]+)"`).FindAllStringSubmatch(h, -1) {
		if !strings.Contains(h, `id="`+m[1]+`"`) {
			t.Errorf("a link leads to %s, which is not there", m[1])
		}
	}
	if strings.Contains(h, "http") && strings.Contains(h, "src=") {
		t.Error("the page asks for something from elsewhere")
	}
}

func TestOrdersThatCannotBe(t *testing.T) {
	for want, o := range map[string]report.Order{
		"edition": {Edition: "weekly"}, "from": {From: "May"}, "launch": {Edition: report.Launch}, "partner": {Edition: report.Partner},
		"units": {Units: "stone"}, "language": {Language: "de"}, "to": {From: "2026-07-02", To: "2026-07-01"},
	} {
		_, err := report.Prepare(t.Context(), small(), o, "test", true, made, nil)
		var fields thwart.FieldErrors
		if !errors.As(err, &fields) || fields[0].Field != want {
			t.Errorf("%+v: %v", o, err)
		}
	}
}

// The whole way, with what other parts estimate.
func TestWholeReportWithEstimates(t *testing.T) {
	in, err := report.Prepare(t.Context(), small(), report.Order{Seed: 3}, "test", true, made, nil)
	if err != nil {
		t.Fatal(err)
	}
	if in.Traffic == nil || len(in.Risks) == 0 || len(in.Skills) == 0 {
		t.Fatalf("estimates are missing: %q %q %q", in.TrafficMissing, in.RisksMissing, in.SkillsMissing)
	}
	out, err := report.Write(in)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"alive aboard", "stopped about", "the season’s work cost"} {
		want = strings.ReplaceAll(want, "’", "&#39;")
		if !strings.Contains(out.HTML, want) {
			t.Errorf("no %q", want)
		}
	}
	for _, s := range everyWord(makeDoc(t, in)) {
		if m := causal.FindString(s); m != "" {
			t.Errorf("a cause in %q", s)
		}
	}
}

func BenchmarkReport(b *testing.B) {
	book := bookOf(1)
	b.ResetTimer()
	for b.Loop() {
		in, err := report.Prepare(b.Context(), book, report.Order{Seed: 1}, "bench", true, made, nil)
		if err != nil {
			b.Fatal(err)
		}
		if _, err := report.Write(in); err != nil {
			b.Fatal(err)
		}
		b.ReportMetric(in.Season.Get("met").Value, "craft")
	}
}

func TestLook(t *testing.T) {
	dir := os.Getenv("THWART_LOOK")
	if dir == "" {
		t.Skip("pages are written for eyes only where THWART_LOOK names a folder")
	}
	in := inputs(t, bookOf(1), report.Whole, figures.Query{})
	in, err := report.Gather(context.Background(), in, report.GatherOptions{Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	write(t, in, filepath.Join(dir, "report"))
	in.Edition = report.Board
	write(t, in, filepath.Join(dir, "board"))
	one := inputs(t, in.Book, report.Launch, figures.Query{Launch: in.Season.Table("launch").Rows[0].Key})
	write(t, one, filepath.Join(dir, "launch"))
	partner := inputs(t, in.Book, report.Partner, figures.Query{Partner: in.Book.Launches[0].Body.Partner})
	write(t, partner, filepath.Join(dir, "partner"))
}

func write(t *testing.T, in report.Inputs, name string) {
	t.Helper()
	doc, err := report.Make(in)
	if err != nil {
		t.Fatal(err)
	}
	p, err := os.Create(name + ".pdf")
	if err != nil {
		t.Fatal(err)
	}
	if err := doc.PDF(p, made); err != nil {
		t.Fatal(err)
	}
	h, err := os.Create(name + ".html")
	if err != nil {
		t.Fatal(err)
	}
	if err := doc.HTML(h); err != nil {
		t.Fatal(err)
	}
	if err := p.Close(); err != nil {
		t.Fatal(err)
	}
	if err := h.Close(); err != nil {
		t.Fatal(err)
	}
}

// An interval that the chart of weeks has no room for is told in the chart itself, because a page short of room cuts its caption, in the
// caption, and to whoever cannot see the chart.
func TestIntervalsBeyondTheAxisAreTold(t *testing.T) {
	for _, e := range []report.Edition{report.Board, report.Whole} {
		found := false
		for _, s := range makeDoc(t, inputs(t, small(), e, figures.Query{})).Sections {
			for _, b := range s.Blocks {
				p, ok := b.(report.Picture)
				if !ok || p.Scene == nil || !strings.HasPrefix(p.Caption, "Week by week") {
					continue
				}
				found = true
				marked, told := false, false
				for _, it := range p.Scene.Items {
					switch x := it.(type) {
					case draw.Mark:
						marked = marked || x.Shape == draw.Up
					case draw.Text:
						told = told || strings.HasPrefix(x.Text, "arrowhead: ")
					}
				}
				if !marked || !told || !strings.Contains(p.Caption, "arrowhead") || !strings.Contains(p.Alt, "arrowhead") {
					t.Errorf("%v: an arrowhead is drawn: %t, told: %t; %q; %q", e, marked, told, p.Caption, p.Alt)
				}
			}
		}
		if !found {
			t.Errorf("%v has no chart of weeks", e)
		}
	}
}

// That craft were held is on record; that anybody was called is only where an incident's log says so.
func TestCallsToTheAgencyAreThoseOnRecord(t *testing.T) {
	whole := inputs(t, small(), report.Board, figures.Query{})
	book := *whole.Book
	in := whole
	in.Book = &book
	book.Incidents = nil
	if s := strings.Join(everyWord(makeDoc(t, in)), "\n"); strings.Contains(s, "agency") || !strings.Contains(s, fmt.Sprintf("%d craft were held.", in.Season.Get("outcome_hold").X)) {
		t.Errorf("with no call on record the report says:\n%s", s)
	}
	inside := book.Encounters[0].Subject
	at := book.Encounters[0].At.Time()
	agency := []thwart.Call{{At: at, Role: "lead"}, {At: at, Role: "agency"}, {At: at, Role: "agency"}}
	for _, x := range []thwart.Incident{
		{What: "held", Encounter: inside, OpenedAt: at, State: thwart.IncidentOpen, Called: agency},
		{What: "a find in a water", OpenedAt: at, State: thwart.IncidentOpen, Called: agency[1:2]},
		{What: "only the lead", Encounter: inside, OpenedAt: at, State: thwart.IncidentOpen, Called: agency[:1]},
		{What: "another year", OpenedAt: at.AddDate(-2, 0, 0), State: thwart.IncidentOpen, Called: agency},
	} {
		book.Incidents = append(book.Incidents, season.Record[thwart.Incident]{Body: x})
	}
	if s := strings.Join(everyWord(makeDoc(t, in)), "\n"); !strings.Contains(s, "2 incidents have a call to the agency in their log.") {
		t.Errorf("two incidents of the season have a call to the agency, the report says:\n%s", s)
	}
}

// The three choices are half of last season's steward-hours, as many, and half as many again; what the season's work is told to have
// been is what the choices start from, and the mark of the chart stands at what those hours cost.
func TestChoicesAreOfTheSeasonsStewardHours(t *testing.T) {
	in, err := gathered()
	if err != nil {
		t.Fatal(err)
	}
	in.Edition = report.Board
	hours := in.Season.Get("steward_hours").Value
	cost := hours * in.Programme.Costs.PerStewardHour
	doc := makeDoc(t, in)
	words := squeezed(strings.Join(everyWord(doc), "\n"))
	for i, times := range []float64{0.5, 1, 1.5} {
		p := in.Choices[i].Plan
		if p.Budget == nil || math.Abs(p.Budget.Hours-times*hours) > 1 || p.Hours > p.Budget.Hours {
			t.Errorf("%g times %v steward-hours: %+v, used %v", times, hours, p.Budget, p.Hours)
		}
		if want := fmt.Sprintf("Of %s steward-hours", thousands(p.Budget.Hours)); !strings.Contains(words, want) {
			t.Errorf("%q is not told in:\n%s", want, words)
		}
		if math.Abs(p.Cost-p.Hours*in.Programme.Costs.PerStewardHour) > 1e-6 {
			t.Errorf("%v hours cost %v", p.Hours, p.Cost)
		}
	}
	same := in.Choices[1].Plan
	if !strings.Contains(words, "Of "+thousands(hours)+" steward-hours, as many as last season, "+thousands(same.Hours)) {
		t.Errorf("last season's %v hours are not those of:\n%s", hours, words)
	}
	if left := math.Round(hours) - same.Hours; math.Round(left) > 0 && !strings.Contains(words, thousands(left)+" hours stay unspent. "+same.Budget.Why) {
		t.Errorf("%v hours are unspent, which is not told in:\n%s", left, words)
	}
	marks := 0
	for _, s := range doc.Sections {
		for _, b := range s.Blocks {
			p, ok := b.(report.Picture)
			if !ok || s.ID != "choices" {
				continue
			}
			var ticks []draw.Text
			for _, item := range p.Scene.Items {
				if x, ok := item.(draw.Text); ok && x.Anchor == draw.Middle {
					ticks = append(ticks, x)
				}
			}
			a, z := ticks[0], ticks[len(ticks)-1]
			last, err := strconv.ParseFloat(strings.ReplaceAll(z.Text, ",", ""), 64)
			if err != nil || a.Text != "0" {
				t.Fatalf("the axis runs from %q to %q", a.Text, z.Text)
			}
			for _, item := range p.Scene.Items {
				if x, ok := item.(draw.Mark); ok && x.Shape == draw.Diamond {
					marks++
					if money := (x.At.X - a.At.X) / (z.At.X - a.At.X) * last; math.Abs(money-cost) > last/1000 {
						t.Errorf("last season stands at %v, its hours cost %v", money, cost)
					}
				}
			}
		}
	}
	if marks != 1 {
		t.Errorf("%d marks of last season", marks)
	}
}

// thousands writes a whole number as the English report does.
func thousands(v float64) string {
	s := fmt.Sprintf("%.0f", math.Round(v))
	if len(s) > 3 {
		return s[:len(s)-3] + "," + s[len(s)-3:]
	}
	return s
}
