package pdf

import (
	"fmt"
	"slices"
	"unicode/utf16"
)

// Tag is the kind of a piece of a document's structure, by the standard types of ISO 32000-1, 14.8.4.
type Tag string

// Tags.
const (
	Section   Tag = "Sect"
	Heading1  Tag = "H1"
	Heading2  Tag = "H2"
	Paragraph Tag = "P"
	Bullets   Tag = "L"
	Bullet    Tag = "LI"
	Label     Tag = "Lbl"
	Body      Tag = "LBody"
	Figure    Tag = "Figure"
	Caption   Tag = "Caption"
	Grid      Tag = "Table"
	Row       Tag = "TR"
	HeadCell  Tag = "TH"
	Cell      Tag = "TD"
	Contents  Tag = "TOC"
	Entry     Tag = "TOCI"
	Reference Tag = "Link"
)

// groups hold other pieces and no marks of their own: what is drawn directly in one, such as the lines of a table, is decoration.
var groups = []Tag{"Document", Section, Bullets, Bullet, Grid, Row, Contents, Entry}

// Piece is a piece of a document's structure.
type Piece struct {
	tag     Tag
	alt     string
	scope   string     // of a head cell: Row or Column
	box     [4]float64 // of a figure, in points from the bottom left
	parent  *Piece
	kids    []kid
	objects int // its object in the file
}

// kid is a piece, a stretch of marked content on a page, or a link.
type kid struct {
	piece *Piece
	page  int // of marked content, from 1
	mark  int
	link  int // of a link: its number among all, from 1
}

// Open begins a piece of the structure inside the one that is open; what is drawn until [Doc.Close] belongs to it. What is drawn
// with no piece open is decoration, which readers who listen are not told. Documents that never call Open are not tagged.
func (d *Doc) Open(t Tag) *Piece {
	if d.root == nil {
		d.root = &Piece{tag: "Document"}
		d.open = d.root
	}
	p := &Piece{tag: t, parent: d.open}
	d.open.kids = append(d.open.kids, kid{piece: p})
	d.open = p
	return p
}

// OpenFigure begins a drawing; alt says in words what it shows.
func (d *Doc) OpenFigure(alt string) { d.Open(Figure).alt = alt }

// OpenHead begins a head cell of a table: of its column, or of its row.
func (d *Doc) OpenHead(column bool) {
	p := d.Open(HeadCell)
	if p.scope = "Row"; column {
		p.scope = "Column"
	}
}

// Close ends the piece that is open.
func (d *Doc) Close() {
	if d.open != nil && d.open.parent != nil {
		d.open = d.open.parent
	}
}

// Within draws into a piece that was opened before, such as a list of contents whose page numbers are known last.
func (d *Doc) Within(p *Piece, draw func()) {
	was := d.open
	d.open = p
	draw()
	d.open = was
}

// mark makes what is drawn next belong to the open piece.
func (d *Doc) mark() {
	if d.root == nil {
		return
	}
	page := d.f.PageNo()
	if d.markOf == d.open && d.markPage == page {
		return
	}
	d.unmark()
	d.markOf, d.markPage = d.open, page
	if slices.Contains(groups, d.open.tag) {
		d.f.RawWriteStr("/Artifact BMC")
		return
	}
	n := len(d.marks[page])
	d.marks[page] = append(d.marks[page], d.open)
	d.open.kids = append(d.open.kids, kid{page: page, mark: n})
	d.f.RawWriteStr(fmt.Sprintf("/%s <</MCID %d>> BDC", d.open.tag, n))
}

// unmark ends the stretch of content that mark began. Stretches do not go over pages.
func (d *Doc) unmark() {
	if d.markOf != nil {
		d.f.RawWriteStr("EMC")
		d.markOf = nil
	}
}

// linked notes a link on the page that is being written, in the order in which the library writes them.
func (d *Doc) linked() {
	page := d.f.PageNo()
	var of *Piece
	if d.open != nil && d.open.tag == Reference {
		d.links++
		of = d.open
		of.kids = append(of.kids, kid{page: page, link: d.links})
	}
	d.linksOf[page] = append(d.linksOf[page], link{of, d.links})
}

type link struct {
	of     *Piece
	number int
}

// textString writes a text as a PDF string in UTF-16.
func textString(s string) string {
	out := []byte("<FEFF")
	for _, u := range utf16.Encode([]rune(s)) {
		out = fmt.Appendf(out, "%04X", u)
	}
	return string(append(out, '>'))
}
