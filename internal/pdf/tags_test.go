package pdf

import (
	"bytes"
	"strings"
	"testing"

	"thwart/draw"
	"thwart/internal/pdf/pdftest"
)

func tagged(t testing.TB) []byte {
	t.Helper()
	d := New(Info{Title: "A page (with brackets)", Lang: "en", Creator: "thwart test", Made: made}, A4)
	say := func(tag Tag, x, y float64, text string) {
		d.Open(tag)
		d.Text(x, y, text, Style{Font: Serif, SizePt: 11})
		d.Close()
	}
	d.Page()
	say(Heading1, 20, 20, "Season report")
	toc := d.Open(Contents)
	d.Close()
	d.Page()
	d.Open(Section)
	say(Heading2, 20, 20, "Washes")
	d.Anchor("washes", 20)
	d.Open(Paragraph)
	d.Text(20, 290, "begins on one page", Style{Font: Serif, SizePt: 11})
	d.Page()
	d.Text(20, 20, "and ends on the next", Style{Font: Serif, SizePt: 11})
	d.Close()
	d.Open(Grid)
	d.Line(20, 30, 100, 30, 0.2, Hex("#14202B"))
	d.Open(Row)
	d.OpenHead(true)
	d.Text(20, 40, "Launch", Style{Font: SansBold, SizePt: 9})
	d.Close()
	d.Close()
	d.Open(Row)
	say(Cell, 20, 50, "Alder Point")
	d.Close()
	d.Close()
	s := draw.New(100, 50, "a line")
	s.Add(draw.Text{At: draw.Point{X: 10, Y: 10}, Text: "turned", Size: 9, Turn: -90, Role: draw.Ink})
	d.OpenFigure("A curve that falls (łódź)")
	d.Scene(s, White, 20, 60, 80)
	d.Close()
	d.Close()
	d.OnPage(1)
	d.Within(toc, func() {
		d.Open(Entry)
		d.Open(Reference)
		d.Text(20, 40, "Washes … 2", Style{Font: Serif, SizePt: 11})
		d.LinkTo(20, 36, 60, 6, "washes")
		d.Close()
		d.Close()
	})
	d.Link(20, 80, 10, 4, "https://withy.example/?a=(b)")
	d.Text(190, 290, "1 of 3", Style{Font: Sans, SizePt: 8})
	var out bytes.Buffer
	if err := d.Write(&out); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func TestTagsAreReadByAnotherProgram(t *testing.T) {
	file := tagged(t)
	if !bytes.Equal(file, tagged(t)) {
		t.Error("two runs differ")
	}
	info := pdftest.Tool(t, file, "pdfinfo", "FILE")
	for _, want := range []string{"Tagged:          yes", "PDF version:     1.7", "Pages:           3", "A page (with brackets)"} {
		if !strings.Contains(info, want) {
			t.Errorf("pdfinfo lacks %q:\n%s", want, info)
		}
	}
	tree := pdftest.Tool(t, file, "pdfinfo", "-struct-text", "FILE")
	last := 0
	for _, want := range []string{"Document", "H1", `"Season report"`, "TOC", "TOCI", "Link", `"Washes … 2"`, "Sect", "H2", `"Washes"`, "P (block)", `"begins on one page`, "and ends on the next",
		"Table", "TR", "TH", `"Launch"`, "TD", `"Alder Point"`, "Figure", `"turned"`} {
		i := strings.Index(tree[last:], want)
		if i < 0 {
			t.Fatalf("the tree has no %q in its place:\n%s", want, tree)
		}
		last += i
	}
	if strings.Contains(tree, "1 of 3") {
		t.Error("the number of the page is told as if it were text")
	}
	if out := pdftest.Tool(t, file, "pdfinfo", "-struct", "FILE"); !strings.Contains(out, "Figure") {
		t.Error(out)
	}
}

func TestTaggedFileIsSound(t *testing.T) {
	if out := pdftest.Tool(t, tagged(t), "qpdf", "--check", "FILE"); !strings.Contains(out, "No syntax or stream encoding errors") {
		t.Error(out)
	}
	// Content is marked once: as many stretches end as begin, and each points back to its piece.
	out := pdftest.Tool(t, tagged(t), "qpdf", "--qdf", "--object-streams=disable", "FILE", "-")
	if b, e := strings.Count(out, " BDC")+strings.Count(out, " BMC"), strings.Count(out, "\nEMC"); b == 0 || b != e {
		t.Errorf("%d stretches begin and %d end", b, e)
	}
	for _, want := range []string{"/ParentTree", "/StructParents 0", "/StructParent 3", "/Scope /Column", "/BBox", "/DisplayDocTitle true", "/Lang (en)"} {
		if !strings.Contains(out, want) {
			t.Errorf("the file has no %s", want)
		}
	}
}

func TestDocumentsWithoutPiecesAreNotTagged(t *testing.T) {
	if out := pdftest.Tool(t, sample(t), "pdfinfo", "FILE"); !strings.Contains(out, "Tagged:          no") {
		t.Error(out)
	}
}
