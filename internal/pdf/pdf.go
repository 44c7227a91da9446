// Package pdf writes pages of text and drawings as PDF. It embeds its fonts, takes lengths in millimetres from the top left
// corner of the page and sizes of type in points, and gives the same bytes for the same calls: times are arguments.
//
// Start with [New], then [Doc.Page] and what draws on it, and end with [Doc.Write]. A document whose parts are opened and closed
// ([Doc.Open]) is tagged: readers who listen are told headings, tables and what drawings show.
package pdf

import (
	"bytes"
	"fmt"
	"io"
	"time"

	"codeberg.org/go-pdf/fpdf"
)

// Size is a size of paper.
type Size struct{ WidthMM, HeightMM float64 }

// Sizes of paper: ISO 216 A4 and A5, and North American letter.
var (
	A4     = Size{210, 297}
	A5     = Size{148, 210}
	Letter = Size{215.9, 279.4}
)

// Turned gives the paper on its side.
func (s Size) Turned() Size { return Size{s.HeightMM, s.WidthMM} }

// Info describes a document.
type Info struct {
	Title, Author, Subject, Keywords string
	Lang                             string // BCP 47
	Creator                          string // the program and its version
	Made                             time.Time
}

// Color is red, green and blue, 0 to 255.
type Color struct{ R, G, B uint8 }

// Hex reads a colour such as #14202B; black for what is none.
func Hex(s string) (c Color) {
	if _, err := fmt.Sscanf(s, "#%02x%02x%02x", &c.R, &c.G, &c.B); err != nil {
		return Color{}
	}
	return c
}

// Align is where a text stands to its point.
type Align int

// Alignments.
const (
	Left Align = iota
	Middle
	Right
)

// Style is how a text looks.
type Style struct {
	Font   Font
	SizePt float64
	Color  Color
	Align  Align
}

// Doc is a document being written. Its methods do not fail; [Doc.Write] tells of the first thing that went wrong.
type Doc struct {
	f       *fpdf.Fpdf
	size    Size
	pages   int
	anchors map[string]int

	root, open *Piece // of the structure; nil: not tagged
	markOf     *Piece // whose marked content is being written
	markPage   int
	marks      map[int][]*Piece // of each page, by number of mark
	links      int
	linksOf    map[int][]link
}

// New begins a document.
func New(info Info, size Size) *Doc {
	f := fpdf.NewCustom(&fpdf.InitType{UnitStr: "mm", Size: fpdf.SizeType{Wd: size.WidthMM, Ht: size.HeightMM}})
	f.SetCatalogSort(true)
	f.SetCreationDate(info.Made.UTC())
	f.SetModificationDate(info.Made.UTC())
	f.SetTitle(info.Title, true)
	f.SetAuthor(info.Author, true)
	f.SetSubject(info.Subject, true)
	f.SetKeywords(info.Keywords, true)
	f.SetCreator(info.Creator, true)
	f.SetProducer("thwart", true)
	if info.Lang != "" {
		f.SetLang(info.Lang)
	}
	f.SetMargins(0, 0, 0)
	f.SetAutoPageBreak(false, 0)
	f.SetCellMargin(0)
	for _, name := range Fonts {
		f.AddUTF8FontFromBytes(string(name), "", loadedFonts()[name].bytes)
	}
	return &Doc{f: f, size: size, anchors: map[string]int{}, marks: map[int][]*Piece{}, linksOf: map[int][]link{}}
}

// Page begins a page of the document's size.
func (d *Doc) Page() { d.PageOf(d.size) }

// PageOf begins a page of a size of its own.
func (d *Doc) PageOf(s Size) {
	d.unmark()
	if d.pages > 0 {
		d.f.SetPage(d.pages)
	}
	d.pages++
	d.f.AddPageFormat("P", fpdf.SizeType{Wd: s.WidthMM, Ht: s.HeightMM})
}

// Pages is how many pages there are.
func (d *Doc) Pages() int { return d.pages }

// OnPage goes back to a page, from 1, to add to it.
func (d *Doc) OnPage(n int) {
	d.unmark()
	d.f.SetPage(n)
}

// Text writes one line with its baseline at y and gives its width.
func (d *Doc) Text(x, y float64, text string, s Style) float64 {
	d.mark()
	w := Width(s.Font, s.SizePt, text)
	switch s.Align {
	case Middle:
		x -= w / 2
	case Right:
		x -= w
	}
	d.f.SetTextColor(int(s.Color.R), int(s.Color.G), int(s.Color.B))
	at := x
	for _, r := range runs(s.Font, text) {
		d.f.SetFont(string(r.font), "", s.SizePt)
		d.f.Text(at, y, r.text)
		at += Width(r.font, s.SizePt, r.text)
	}
	return w
}

// Turned writes a line turned by degrees counter-clockwise about its point.
func (d *Doc) Turned(x, y, degrees float64, text string, s Style) {
	d.mark()
	d.f.TransformBegin()
	d.f.TransformRotate(degrees, x, y)
	d.Text(x, y, text, s)
	d.f.TransformEnd()
	d.forget()
}

// forget makes the library set font and colours again: after a saved state is put back they are the ones of before, but the library
// thinks they are the last ones set.
func (d *Doc) forget() {
	d.f.SetFont(string(Mono), "", 0.5)
	d.f.SetFillColor(1, 2, 3)
	d.f.SetDrawColor(1, 2, 3)
}

// Line draws a straight line.
func (d *Doc) Line(x1, y1, x2, y2, widthMM float64, c Color) {
	d.mark()
	d.stroke(widthMM, c)
	d.f.Line(x1, y1, x2, y2)
}

// Box fills a rectangle.
func (d *Doc) Box(x, y, w, h float64, c Color) {
	d.mark()
	d.f.SetFillColor(int(c.R), int(c.G), int(c.B))
	d.f.Rect(x, y, w, h, "F")
}

// Frame draws the outline of a rectangle.
func (d *Doc) Frame(x, y, w, h, widthMM float64, c Color) {
	d.stroke(widthMM, c)
	d.f.Rect(x, y, w, h, "D")
}

// Dashed draws a straight line of dashes, such as one to cut along.
func (d *Doc) Dashed(x1, y1, x2, y2, widthMM float64, c Color) {
	d.f.SetDashPattern([]float64{2, 1.5}, 0)
	d.Line(x1, y1, x2, y2, widthMM, c)
	d.f.SetDashPattern(nil, 0)
}

func (d *Doc) stroke(widthMM float64, c Color) {
	d.f.SetDrawColor(int(c.R), int(c.G), int(c.B))
	d.f.SetLineWidth(widthMM)
}

// Link makes a rectangle lead to an address.
func (d *Doc) Link(x, y, w, h float64, url string) {
	d.linked()
	d.f.LinkString(x, y, w, h, url)
}

func (d *Doc) anchor(name string) int {
	id, ok := d.anchors[name]
	if !ok {
		id = d.f.AddLink()
		d.anchors[name] = id
	}
	return id
}

// LinkTo makes a rectangle lead to an anchor, which may be set later.
func (d *Doc) LinkTo(x, y, w, h float64, anchor string) {
	d.linked()
	d.f.Link(x, y, w, h, d.anchor(anchor))
}

// Anchor names a height on the page that is being written.
func (d *Doc) Anchor(name string, y float64) { d.f.SetLink(d.anchor(name), y, d.f.PageNo()) }

// Bookmark adds a line to the document's outline; level 0 is the highest.
func (d *Doc) Bookmark(title string, level int, y float64) { d.f.Bookmark(title, level, y) }

// Write ends the document and writes it.
func (d *Doc) Write(w io.Writer) error {
	d.unmark()
	if d.pages > 0 {
		d.f.SetPage(d.pages) // the library writes up to the page it is on
	}
	if d.root == nil {
		if err := d.f.Output(w); err != nil {
			return fmt.Errorf("pdf: %w", err)
		}
		return nil
	}
	var file bytes.Buffer
	if err := d.f.Output(&file); err != nil {
		return fmt.Errorf("pdf: %w", err)
	}
	tagged, err := d.structure(file.Bytes())
	if err != nil {
		return fmt.Errorf("pdf: tags: %w", err)
	}
	_, err = w.Write(tagged)
	return err
}
