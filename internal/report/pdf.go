package report

import (
	"fmt"
	"io"
	"math"
	"strings"
	"time"

	"thwart/internal/pdf"
)

// Colours and sizes of print.
var (
	ink    = pdf.Hex("#14202B")
	slate  = pdf.Hex("#4A5A66")
	faint  = pdf.Hex("#C9CFD0")
	madder = pdf.Hex("#9C2B4E")
	tint   = pdf.Hex("#F1F4F3")
)

const (
	sideMM   = 25.0 // margin left and right
	topMM    = 26.0
	bottomMM = 24.0
	indentMM = 34.0 // running text stands in from the margin, captions too
	bodyPt   = 10.2
	bodyMM   = 5.05 // from line to line
)

const invented = "A demonstration: region, people and records are invented."

// setter sets a document.
type setter struct {
	d        *pdf.Doc
	doc      *Document
	w, h     float64
	y        float64
	sections []placed
	toc      *pdf.Piece
}

// tagged draws a piece of the structure.
func (s *setter) tagged(t pdf.Tag, draw func()) {
	s.d.Open(t)
	draw()
	s.d.Close()
}

type placed struct {
	title  string
	anchor string
	page   int
}

// PDF writes the document as PDF. made is its date, which is part of the file.
func (doc *Document) PDF(w io.Writer, made time.Time) error {
	size := pdf.A4
	if doc.Letter {
		size = pdf.Letter
	}
	s := &setter{doc: doc, w: size.WidthMM, h: size.HeightMM}
	s.d = pdf.New(pdf.Info{Title: doc.Title + ": " + doc.Subtitle, Author: doc.Title, Subject: doc.Subtitle, Lang: doc.Lang, Creator: doc.creator, Made: made}, size)
	s.page()
	if doc.OnePage {
		s.head()
	} else {
		s.cover()
	}
	for i := range doc.Sections {
		s.tagged(pdf.Section, func() { s.section(&doc.Sections[i], i) })
	}
	s.folios()
	if !doc.OnePage {
		s.contents()
	}
	return s.d.Write(w)
}

func (s *setter) page() {
	s.d.Page()
	s.y = topMM
}

func (s *setter) bottom() float64 { return s.h - bottomMM }
func (s *setter) width() float64  { return s.w - 2*sideMM }

// need begins a page where less than h is left.
func (s *setter) need(h float64) {
	if s.y+h > s.bottom() {
		s.page()
	}
}

// glyph draws the hull in plan with its thwart, the bar across.
func (s *setter) glyph(x, y, length float64) {
	n := 40
	half := length * 0.19
	point := func(t float64) (float64, float64) {
		a := t * math.Pi
		return x + length*(1-math.Cos(a))/2, half * math.Pow(math.Sin(a), 1.25)
	}
	for side := -1.0; side <= 1; side += 2 {
		px, py := point(0)
		for i := 1; i <= n; i++ {
			qx, qy := point(float64(i) / float64(n))
			s.d.Line(px, y+side*py, qx, y+side*qy, length*0.014, ink)
			px, py = qx, qy
		}
	}
	s.d.Line(x+length*0.52, y-half*1.02, x+length*0.52, y+half*1.02, length*0.03, ink)
}

func (s *setter) letterhead(y float64) float64 {
	s.d.Open(pdf.Paragraph)
	defer s.d.Close()
	for i, l := range s.doc.Letterhead {
		style := pdf.Style{Font: pdf.Sans, SizePt: 9, Color: slate, Align: pdf.Right}
		if i == 0 {
			style.Font, style.Color = pdf.SansBold, ink
		}
		s.d.Text(s.w-sideMM, y, l, style)
		y += 4.4
	}
	return y
}

// cover is the first page of a book: whose it is, what it is, what is in it, what it was made from.
func (s *setter) cover() {
	s.glyph(sideMM, 24, 26)
	s.letterhead(20)
	y := 92.0
	lines := func(tag pdf.Tag, list []string, style pdf.Style, step float64) {
		s.tagged(tag, func() {
			for _, l := range list {
				s.d.Text(sideMM, y, l, style)
				y += step
			}
		})
	}
	lines(pdf.Heading1, pdf.Wrap(pdf.SansBold, 30, s.width(), s.doc.Title), pdf.Style{Font: pdf.SansBold, SizePt: 30, Color: ink}, 12.5)
	y += 1
	lines(pdf.Paragraph, pdf.Wrap(pdf.Serif, 14, s.width(), s.doc.Subtitle), pdf.Style{Font: pdf.Serif, SizePt: 14, Color: slate}, 6.5)
	if s.doc.demo {
		y += 3
		lines(pdf.Paragraph, []string{s.doc.words.t(invented)}, pdf.Style{Font: pdf.SansBold, SizePt: 10, Color: madder}, 0)
	}
	s.toc = s.d.Open(pdf.Contents)
	s.d.Close()
	var colophon [][]string
	y = s.bottom() + 4
	for _, c := range s.doc.Colophon {
		l := pdf.Wrap(pdf.Sans, 8, s.width(), c)
		colophon = append(colophon, l)
		y -= 4 * float64(len(l))
	}
	for _, l := range colophon {
		lines(pdf.Paragraph, l, pdf.Style{Font: pdf.Sans, SizePt: 8, Color: slate}, 4)
	}
}

// contents goes back to the cover with the pages, which are known by now.
func (s *setter) contents() {
	s.d.OnPage(1)
	y := 146.0
	s.d.Line(sideMM, y-6.5, s.w-sideMM, y-6.5, 0.3, ink)
	s.d.Within(s.toc, func() {
		for _, p := range s.sections {
			s.tagged(pdf.Entry, func() {
				s.tagged(pdf.Reference, func() {
					s.d.Text(sideMM, y, p.title, pdf.Style{Font: pdf.Serif, SizePt: 11, Color: ink})
					s.d.Text(s.w-sideMM, y, fmt.Sprint(p.page), pdf.Style{Font: pdf.Serif, SizePt: 11, Color: ink, Align: pdf.Right})
					s.d.LinkTo(sideMM, y-4.5, s.width(), 6, p.anchor)
				})
			})
			y += 6.8
		}
	})
}

// head is the top of a document without a cover.
func (s *setter) head() {
	s.glyph(sideMM, 19, 18)
	s.letterhead(16)
	s.y = 34
	line := func(tag pdf.Tag, text string, style pdf.Style) {
		s.tagged(tag, func() { s.d.Text(sideMM, s.y, text, style) })
	}
	line(pdf.Heading1, s.doc.Title, pdf.Style{Font: pdf.SansBold, SizePt: 20, Color: ink})
	s.y += 6.5
	line(pdf.Paragraph, s.doc.Subtitle, pdf.Style{Font: pdf.Serif, SizePt: 11.5, Color: slate})
	s.y += 4
	if s.doc.demo {
		s.y += 2
		line(pdf.Paragraph, s.doc.words.t(invented), pdf.Style{Font: pdf.SansBold, SizePt: 8.5, Color: madder})
		s.y += 4
	}
	s.y += 5
}

func (s *setter) folios() {
	n := s.d.Pages()
	first := 2
	if s.doc.OnePage {
		first = 1
	}
	style := pdf.Style{Font: pdf.Sans, SizePt: 8, Color: slate}
	for p := first; p <= n; p++ {
		s.d.OnPage(p)
		y := s.h - 12
		s.d.Text(sideMM, y, s.doc.Title+" · "+s.doc.Subtitle, style)
		right := style
		right.Align = pdf.Right
		s.d.Text(s.w-sideMM, y, s.doc.words.f("%d of %d", p, n), right)
	}
	s.d.OnPage(n)
}

func (s *setter) section(x *Section, i int) {
	switch {
	case i == 0 && !s.doc.OnePage, x.Break && i > 0:
		s.page()
	case i > 0:
		s.y += 11
		if s.doc.OnePage {
			s.y -= 5
		}
		s.need(34)
	}
	anchor := "s-" + x.ID
	s.d.Anchor(anchor, s.y-8)
	s.d.Bookmark(x.Title, 0, s.y-8)
	s.sections = append(s.sections, placed{x.Title, anchor, s.d.Pages()})
	if !s.doc.OnePage || i > 0 {
		s.d.Line(sideMM, s.y-5.5, s.w-sideMM, s.y-5.5, 0.35, ink)
		s.tagged(pdf.Heading2, func() { s.d.Text(sideMM, s.y+2.2, x.Title, pdf.Style{Font: pdf.SansBold, SizePt: 15, Color: ink}) })
		s.y += 11
	}
	for _, b := range x.Blocks {
		s.block(b)
	}
}

func (s *setter) block(b Block) {
	switch x := b.(type) {
	case Lead:
		s.text(x.Text, sideMM, s.width()-12, pdf.Style{Font: pdf.Serif, SizePt: 14, Color: ink}, 6.6)
		s.y += 3.2
	case Para:
		s.text(x.Text, sideMM+indentMM, s.width()-indentMM, pdf.Style{Font: pdf.Serif, SizePt: bodyPt, Color: ink}, bodyMM)
		s.y += 2.6
	case Small:
		s.text(x.Text, sideMM+indentMM, s.width()-indentMM, pdf.Style{Font: pdf.Sans, SizePt: 8.2, Color: slate}, 4)
		s.y += 2.4
	case Missing:
		s.missing(x.Text)
	case List:
		s.tagged(pdf.Bullets, func() { s.list(x.Items) })
		if !s.doc.OnePage {
			s.y += 2
		}
	case Numbers:
		s.numbers(x)
	case Picture:
		s.picture(x)
	case Table:
		s.table(&x)
	}
}

func (s *setter) list(items []string) {
	for _, item := range items {
		if item == "" {
			continue
		}
		s.need(2 * bodyMM)
		s.tagged(pdf.Bullet, func() {
			s.tagged(pdf.Label, func() {
				s.d.Text(sideMM+indentMM-4.5, s.y, "–", pdf.Style{Font: pdf.Serif, SizePt: bodyPt, Color: slate})
			})
			s.piece(pdf.Body, item, sideMM+indentMM, s.width()-indentMM, pdf.Style{Font: pdf.Serif, SizePt: bodyPt, Color: ink}, bodyMM)
		})
		s.y += 1.3
	}
}

// text sets a paragraph.
func (s *setter) text(text string, x, width float64, style pdf.Style, step float64) {
	s.piece(pdf.Paragraph, text, x, width, style, step)
}

// piece sets lines from the baseline at y and leaves y below them. No page begins or ends with a line of its own where it can be
// helped.
func (s *setter) piece(tag pdf.Tag, text string, x, width float64, style pdf.Style, step float64) {
	s.d.Open(tag)
	defer s.d.Close()
	lines := pdf.Wrap(style.Font, style.SizePt, width, text)
	if len(lines) <= 3 {
		s.need(float64(len(lines)) * step)
	}
	for i, l := range lines {
		if left := len(lines) - i; left == 2 {
			s.need(2 * step)
		} else {
			s.need(step)
		}
		s.d.Text(x, s.y, l, style)
		s.y += step
	}
}

// missing says in a box that a part is not there, and why.
func (s *setter) missing(text string) {
	style := pdf.Style{Font: pdf.Sans, SizePt: 9, Color: ink}
	x, width := sideMM+indentMM, s.width()-indentMM
	lines := pdf.Wrap(style.Font, style.SizePt, width-8, text)
	h := float64(len(lines))*4.4 + 6
	s.need(h + 4)
	s.d.Box(x, s.y-4, width, h, tint)
	s.d.Line(x, s.y-4, x, s.y-4+h, 0.8, slate)
	y := s.y + 1.2
	s.tagged(pdf.Paragraph, func() {
		for _, l := range lines {
			s.d.Text(x+4, y, l, style)
			y += 4.4
		}
	})
	s.y += h + 2.5
}

func (s *setter) numbers(n Numbers) {
	const across, rowH = 3, 25.0
	col := s.width() / across
	rows := (len(n.Items) + across - 1) / across
	s.need(float64(rows)*rowH + 2)
	s.y += 2
	s.d.Open(pdf.Bullets)
	for i, item := range n.Items {
		x := sideMM + col*float64(i%across)
		y := s.y + rowH*float64(i/across)
		s.d.Line(x, y-3, x+col-7, y-3, 0.25, faint)
		s.d.Open(pdf.Bullet)
		s.tagged(pdf.Body, func() {
			s.d.Text(x, y+8, item.Value, pdf.Style{Font: pdf.SansBold, SizePt: 25, Color: ink})
			s.d.Text(x, y+13, item.Label, pdf.Style{Font: pdf.Sans, SizePt: 9, Color: ink})
			s.d.Text(x, y+17, cut(item.Note, pdf.Sans, 8, col-5), pdf.Style{Font: pdf.Sans, SizePt: 8, Color: slate})
		})
		s.d.Close()
	}
	s.d.Close()
	s.y += float64(rows)*rowH - 1
}

func cut(text string, f pdf.Font, size, width float64) string {
	lines := pdf.Wrap(f, size, width, text)
	if len(lines) < 2 {
		return text
	}
	return lines[0] + " …"
}

func (s *setter) picture(p Picture) {
	if p.Scene == nil {
		return
	}
	width, words := s.width(), p.Caption
	if s.doc.OnePage { // room is short: a smaller drawing, and of its caption what it shows
		width *= 0.8
		if p.Small {
			width *= 0.75
		}
		if first, _, more := strings.Cut(words, ". "); more {
			words = first + "."
		}
	}
	h := p.Scene.Height * width / p.Scene.Width
	caption := pdf.Wrap(pdf.Sans, 8.2, s.width()-indentMM, words)
	s.need(h + float64(len(caption))*4 + 8)
	s.y += 1
	s.d.OpenFigure(p.Alt)
	s.d.Scene(p.Scene, pdf.White, sideMM+(s.width()-width)/2, s.y-3, width)
	s.d.Close()
	s.y += h + 2.5
	s.tagged(pdf.Caption, func() {
		for _, l := range caption {
			s.d.Text(sideMM+indentMM, s.y, l, pdf.Style{Font: pdf.Sans, SizePt: 8.2, Color: slate})
			s.y += 4
		}
	})
	s.y += 5
}
