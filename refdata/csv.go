package refdata

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"slices"
	"strconv"
	"strings"

	"thwart/unit"
)

// load reads data/name, whose header must be exactly columns, and turns each row into a T. Every table read this way has
// the columns source and known, normally also note, read by [row.provenance].
func load[T any](name string, columns []string, parse func(*row) T) ([]T, error) {
	known, err := markersFor(name, columns)
	if err != nil {
		return nil, err
	}
	return readTable(dataFS, "data/"+name, columns, known, parse)
}

func markersFor(name string, columns []string) (map[string]Known, error) {
	for _, must := range []string{"source", "known"} {
		if !slices.Contains(columns, must) {
			return nil, fmt.Errorf("%s: the loader lists no column %s; every table has one", name, must)
		}
	}
	return sourceMarkers()
}

// readTable reads one table strictly: the header is the one asked for, in that order; no cell starts or ends with a space
// or stands for "nothing" by a sign of its own; every column is used by parse; and every error names file, line, column,
// value and what is accepted. All errors of a table are reported, not the first alone. sources maps the ids that a source
// cell may name to how each is known.
func readTable[T any](fsys fs.FS, name string, columns []string, sources map[string]Known, parse func(*row) T) ([]T, error) {
	var rows []T
	err := eachRow(fsys, name, columns, sources, func(r *row) { rows = append(rows, parse(r)) })
	if err != nil {
		return nil, err
	}
	return rows, nil
}

// eachRow does the work of [readTable] once for all kinds of row: the phone loads this program over the air, and fifty copies
// of the loop would be a tenth of it.
func eachRow(fsys fs.FS, name string, columns []string, sources map[string]Known, parse func(*row)) error {
	f, err := fsys.Open(name)
	if err != nil {
		return fmt.Errorf("reading table: %w", err)
	}
	defer f.Close()
	cr := csv.NewReader(f)
	header, err := cr.Read()
	if err != nil {
		return fmt.Errorf("%s: header: %w", name, err)
	}
	if !slices.Equal(header, columns) {
		return fmt.Errorf("%s:1: header is %q; accepted: exactly %q", name, strings.Join(header, ","), strings.Join(columns, ","))
	}
	n := 0
	var errs []error
	for {
		cells, err := cr.Read()
		if err == io.EOF {
			break
		}
		if err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
		line, _ := cr.FieldPos(0)
		r := &row{file: name, line: line, sources: sources, cells: make(map[string]string, len(cells)), read: map[string]bool{}}
		for i, c := range cells {
			r.cells[columns[i]] = c
			r.tidy(columns[i], c)
		}
		parse(r)
		n++
		for _, c := range columns {
			if !r.read[c] {
				r.errs = append(r.errs, fmt.Errorf("%s:%d: %s: the loader never reads this column", name, line, c))
			}
		}
		errs = append(errs, r.errs...)
	}
	if n == 0 {
		errs = append(errs, fmt.Errorf("%s: no rows; accepted: at least one", name))
	}
	return errors.Join(errs...)
}

// row is one line of a table. Its methods hand out cells as values and gather what is wrong with them.
type row struct {
	file    string
	line    int
	sources map[string]Known
	cells   map[string]string
	read    map[string]bool
	errs    []error
}

func (r *row) fail(column, value, accepted string) {
	r.errs = append(r.errs, fmt.Errorf("%s:%d: %s: %q; accepted: %s", r.file, r.line, column, value, accepted))
}

// placeholders are ways of writing "nothing here" that would be taken for text or for a value.
var placeholders = []string{"-", "--", "?", "n/a", "nan", "n.f.", "nf", "tbd"}

func (r *row) tidy(column, cell string) {
	switch {
	case cell != strings.TrimSpace(cell):
		r.fail(column, cell, "no space at either end")
	case slices.Contains(placeholders, strings.ToLower(cell)):
		r.fail(column, cell, "an empty cell where there is no value")
	}
}

func (r *row) cell(column string) string {
	c, ok := r.cells[column]
	if !ok {
		r.errs = append(r.errs, fmt.Errorf("%s:%d: the loader asks for a column %s that the table does not have", r.file, r.line, column))
	}
	r.read[column] = true
	return c
}

// text is a cell that must not be empty.
func (r *row) text(column string) string {
	c := r.cell(column)
	if c == "" {
		r.fail(column, c, "some text")
	}
	return c
}

// optText is a cell that may be empty.
func (r *row) optText(column string) string { return r.cell(column) }

// number is a required number from lo to hi.
func (r *row) number(column string, lo, hi float64) float64 {
	if v := r.optNumber(column, lo, hi); v != nil {
		return *v
	}
	if r.cells[column] == "" {
		r.fail(column, "", fmt.Sprintf("a number from %g to %g", lo, hi))
	}
	return math.NaN()
}

// optNumber is a number from lo to hi, or nil for an empty cell.
func (r *row) optNumber(column string, lo, hi float64) *float64 {
	c := r.cell(column)
	if c == "" {
		return nil
	}
	v, err := strconv.ParseFloat(c, 64)
	if err != nil || !(v >= lo && v <= hi) {
		r.fail(column, c, fmt.Sprintf("a number from %g to %g", lo, hi))
		return nil
	}
	return &v
}

// Coldest and hottest temperatures a table may hold: deep frost, and steam at the pressure of the open air.
const coldestC, hottestC = -60, 100

// celsius is a required temperature.
func (r *row) celsius(column string) unit.Celsius {
	return unit.Celsius(r.number(column, coldestC, hottestC))
}

// optCelsius is a temperature, or nil for an empty cell.
func (r *row) optCelsius(column string) *unit.Celsius {
	v := r.optNumber(column, coldestC, hottestC)
	if v == nil {
		return nil
	}
	c := unit.Celsius(*v)
	return &c
}

// optID is a positive whole number that names something elsewhere, or 0 for an empty cell.
func (r *row) optID(column string) int {
	c := r.cell(column)
	if c == "" {
		return 0
	}
	v, err := strconv.Atoi(c)
	if err != nil || v <= 0 {
		r.fail(column, c, "a positive whole number")
	}
	return v
}

// yes is a cell that says yes or no.
func (r *row) yes(column string) bool {
	c := r.cell(column)
	if c != "yes" && c != "no" {
		r.fail(column, c, "yes, no")
	}
	return c == "yes"
}

// list is a cell of parts separated by semicolons, each once; empty gives nil.
func (r *row) list(column string) []string {
	c := r.cell(column)
	if c == "" {
		return nil
	}
	parts := strings.Split(c, ";")
	for i, p := range parts {
		if p == "" || p != strings.TrimSpace(p) || slices.Contains(parts[:i], p) {
			r.fail(column, c, "parts separated by a semicolon, without spaces around it, each part once")
			break
		}
	}
	return parts
}

// word is a cell that must be one of the accepted words.
func word[S ~string](r *row, column string, accepted []S) S {
	c := S(r.cell(column))
	if !slices.Contains(accepted, c) {
		r.fail(column, string(c), joinWords(accepted))
	}
	return c
}

// optWord is an empty cell or one of the accepted words.
func optWord[S ~string](r *row, column string, accepted []S) S {
	if r.cell(column) == "" {
		return ""
	}
	return word(r, column, accepted)
}

// words is a list of at least one of the accepted words.
func words[S ~string](r *row, column string, accepted []S) []S {
	var out []S
	for _, p := range r.list(column) {
		if !slices.Contains(accepted, S(p)) {
			r.fail(column, p, joinWords(accepted))
		}
		out = append(out, S(p))
	}
	if out == nil {
		r.fail(column, "", "one or more of "+joinWords(accepted))
	}
	return out
}

func joinWords[S ~string](words []S) string {
	s := make([]string, len(words))
	for i, w := range words {
		s[i] = string(w)
	}
	return strings.Join(s, ", ")
}

// What stands in a source cell where there is no source to name.
const (
	noSource  = "common practice, no source"
	noneFound = "none found" // looked for in the literature; nobody is known to have measured it
)

// provenance reads the columns source, known and note. A row marked published must name at least one source that was
// read.
func (r *row) provenance() Provenance {
	p := Provenance{Known: word(r, "known", KnownMarkers), Note: r.optText("note")}
	switch source := r.text("source"); source {
	case noSource:
		if p.Known == Published {
			r.fail("known", string(p.Known), string(CommonPractice)+" or "+string(FromMemory)+", where the source is "+noSource)
		}
	case noneFound:
		p.NoneFound = true
		if p.Known != FromMemory {
			r.fail("known", string(p.Known), string(FromMemory)+", where the source is "+noneFound)
		}
	default:
		p.SourceIDs = r.list("source")
		read := false
		for _, id := range p.SourceIDs {
			k, ok := r.sources[id]
			if !ok {
				r.fail("source", id, fmt.Sprintf("an id of sources.csv, %q or %q", noSource, noneFound))
			}
			read = read || k == Published
		}
		if p.Known == Published && !read {
			r.fail("known", string(p.Known), string(FromMemory)+", since no source of the row was read")
		}
	}
	return p
}

// byKey indexes rows by a key that must not repeat.
func byKey[K comparable, T any](table string, rows []T, key func(T) K) (map[K]T, error) {
	m := make(map[K]T, len(rows))
	var errs []error
	for _, t := range rows {
		k := key(t)
		if _, twice := m[k]; twice {
			errs = append(errs, fmt.Errorf("%s: %v stands twice; accepted: each once", table, k))
		}
		m[k] = t
	}
	return m, errors.Join(errs...)
}

// must hands on the rows of a table, or panics: the tables are compiled in, so an error is a mistake of the build.
func must[T any](v T, err error) T {
	if err != nil {
		panic("refdata: " + err.Error())
	}
	return v
}
