// Package report makes the report of a season: one content, set as PDF for paper and as HTML for screens and for readers who
// listen. Numbers come from package figures and nowhere else, so that the report, the office's pages and the command line agree.
//
// Start with [Make], which gives a [Document]; [Document.PDF] and [Document.HTML] write it. The same inputs give the same bytes.
// A part whose inputs are missing says so, and why, instead of leaving a gap.
package report

import (
	"thwart/draw"
)

// Document is a report before it is set.
type Document struct {
	Title, Subtitle string
	Lang            string // BCP 47
	Letterhead      []string
	Colophon        []string // data cut, versions, rules, seed
	Sections        []Section
	// OnePage documents are set without a cover of their own and without a list of contents.
	OnePage bool
	Letter  bool // North American paper instead of A4
	made    string
	words   *tongue
	creator string
	demo    bool
}

// Section is a part of the report.
type Section struct {
	ID, Title string
	Blocks    []Block
	Break     bool // begins a page
}

// Block is a piece of a section: [Lead], [Para], [Numbers], [Picture], [Table], [Missing] or [List].
type Block interface{ block() }

// Lead is the sentence that a section comes down to.
type Lead struct{ Text string }

// Para is running text.
type Para struct{ Text string }

// Small is a note in smaller type.
type Small struct{ Text string }

// List is points in running text.
type List struct{ Items []string }

// Number is one large number with what it counts.
type Number struct{ Value, Label, Note string }

// Numbers stand side by side.
type Numbers struct{ Items []Number }

// Picture is a drawing with its caption. Alt says in words what it shows, for whoever cannot see it.
type Picture struct {
	Scene   *draw.Scene
	Caption string
	Alt     string
	Small   bool // may be set smaller where room is short
}

// Column of a [Table].
type Column struct {
	Head    string
	Numeric bool    // set to the right
	Share   float64 // of the width; 0 = what it needs
}

// Table is rows of cells. The first column names the row.
type Table struct {
	Caption string
	Columns []Column
	Rows    [][]string
	Note    string
	Tight   bool // smaller type, for the appendix
}

// Missing says that a part cannot be made, and what is needed for it.
type Missing struct{ Text string }

func (Lead) block()    {}
func (Para) block()    {}
func (Small) block()   {}
func (List) block()    {}
func (Numbers) block() {}
func (Picture) block() {}
func (Table) block()   {}
func (Missing) block() {}
