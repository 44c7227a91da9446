package refdata

import (
	"slices"
	"strings"

	"thwart/lean"
	"thwart/tongue"
)

// Known says how a fact is known.
type Known string

// The three markers.
const (
	// Published: read in a published source, often its abstract; see how the source was seen.
	Published Known = "published"
	// CommonPractice: what people of the trade do and know, with no published source. Never a number that clears a craft.
	CommonPractice Known = "common practice"
	// FromMemory: recalled and not read again. It may be shown, and may make an answer stricter, but clears nothing.
	FromMemory Known = "from memory"
)

// KnownMarkers lists the markers, best first.
var KnownMarkers = []Known{Published, CommonPractice, FromMemory}

// Provenance is where a row comes from.
type Provenance struct {
	// SourceIDs name rows of [Sources]. Empty: no source can be named, or none was found.
	SourceIDs []string
	// NoneFound: the value was looked for, and nobody is known to have measured it.
	NoneFound bool
	Known     Known
	Note      string
}

// Cite writes the sources out for a reader, with the marker where it is not published.
func (p Provenance) Cite() string {
	switch {
	case p.NoneFound:
		return tongue.Say(noneFound)
	case len(p.SourceIDs) == 0:
		return tongue.Say(noSource)
	}
	var c []string
	for _, id := range p.SourceIDs {
		s, _ := SourceByID(id)
		c = append(c, s.Citation)
	}
	text := strings.Join(c, "; ")
	if p.Known != Published {
		text += " (" + tongue.Data(string(p.Known)) + ")"
	}
	return text
}

// Grade says how far a model may be trusted.
type Grade string

// Grades. No model of the library earns an A.
const (
	GradeA Grade = "A" // several sources that were read agree
	GradeB Grade = "B" // one source that was read
	GradeC Grade = "C" // guidance, borrowed from another stage, or conditions that had to be assumed
	GradeD Grade = "D" // hardly any data
)

// Grades lists the grades, best first.
var Grades = []Grade{GradeA, GradeB, GradeC, GradeD}

// Source is a paper, rule, page or account that rows cite.
type Source struct {
	ID       string // such as S01 (biology) or P02 (protocols and practice)
	Citation string
	Where    string // DOI, address or archive; "as cited" where the citation is all
	Seen     string // how it was read: abstract, page, press, not seen
	Known    Known  // published: read, at least in part; from memory: not
	Note     string
}

var sourceTable = lean.Once2(func() ([]Source, error) {
	rows, err := readTable(dataFS, "data/sources.csv", []string{"id", "citation", "where", "seen", "known", "note"}, nil,
		func(r *row) Source {
			return Source{
				ID:       r.text("id"),
				Citation: r.text("citation"),
				Where:    r.text("where"),
				Seen:     r.text("seen"),
				Known:    word(r, "known", []Known{Published, FromMemory}),
				Note:     r.optText("note"),
			}
		})
	return rows, err
})

var sourceIndex = lean.Once2(func() (map[string]Source, error) {
	rows, err := sourceTable()
	if err != nil {
		return nil, err
	}
	return byKey("sources.csv", rows, func(s Source) string { return s.ID })
})

// sourceMarkers gives what [row.provenance] checks source cells against.
var sourceMarkers = lean.Once2(func() (map[string]Known, error) {
	index, err := sourceIndex()
	if err != nil {
		return nil, err
	}
	m := make(map[string]Known, len(index))
	for id, s := range index {
		m[id] = s.Known
	}
	return m, nil
})

// Sources lists every source the library cites.
func Sources() []Source { return slices.Clone(must(sourceTable())) }

// SourceByID finds one source.
func SourceByID(id string) (Source, bool) {
	s, ok := must(sourceIndex())[id]
	return s, ok
}
