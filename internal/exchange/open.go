package exchange

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"

	"thwart"
)

// File is a table as a file, an upload or a buffer hold it.
type File interface {
	io.Reader
	io.ReaderAt
}

// OpenTable opens a table by the ending of its name. sheet is of a workbook; empty = the first.
func OpenTable(f File, size int64, name, sheet string) (Table, error) {
	switch ending := strings.ToLower(filepath.Ext(name)); ending {
	case ".csv", ".tsv", ".txt":
		return OpenCSV(f)
	case ".xlsx":
		return OpenXLSX(f, size, sheet)
	default:
		return nil, &TableError{fmt.Sprintf("has the ending %q, which is not known", clip(ending)), ".csv, .tsv, .txt, .xlsx"}
	}
}

// sampleEvery spreads the rows that a mapping is guessed from over the whole table.
const sampleEvery = 25

// GuessTable proposes a mapping for a table, to be corrected by a person, see [Guess].
func GuessTable(t Table) (Mapping, error) {
	header, err := HeaderOf(t, 0)
	if err != nil {
		return Mapping{}, err
	}
	var sample []Row
	for n := 0; ; n++ {
		row, err := t.Next()
		if errors.Is(err, io.EOF) {
			return Guess(header, sample), nil
		}
		if err != nil {
			return Mapping{}, err
		}
		if n < sampleEvery || n%sampleEvery == 0 {
			sample = append(sample, row)
		}
	}
}

// HeadingSeen is a heading of a table with what stands below it.
type HeadingSeen struct {
	Heading string   `json:"heading"`
	Samples []string `json:"samples"` // at most three different cells of the first rows; none under a heading of people's names or how to reach them
}

// Headings reads what heads the columns of a table, for a person who says which field each of them is.
func Headings(t Table) ([]HeadingSeen, error) {
	header, err := HeaderOf(t, 0)
	if err != nil {
		return nil, err
	}
	seen := make([]HeadingSeen, len(header))
	for i, h := range header {
		seen[i] = HeadingSeen{Heading: h, Samples: []string{}}
	}
	for range sampleEvery {
		row, err := t.Next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, err
		}
		for i := range min(len(seen), len(row.Cells)) {
			s, cell := &seen[i], clip(row.Cells[i])
			if cell != "" && len(s.Samples) < 3 && !slices.Contains(s.Samples, cell) && !ofPerson(header[i]) {
				s.Samples = append(s.Samples, cell)
			}
		}
	}
	return seen, nil
}

// LearnNames fills in what a programme calls its waters, launches and people.
func (o *Options) LearnNames(ctx context.Context, s thwart.Store) (err error) {
	if o.Waters, err = namesOf(ctx, s, thwart.KindWater, func(w thwart.WaterBody) []string { return append([]string{w.Name}, w.Also...) }); err != nil {
		return err
	}
	if o.Launches, err = namesOf(ctx, s, thwart.KindLaunch, func(r thwart.Ramp) []string { return []string{r.Name} }); err != nil {
		return err
	}
	o.People, err = namesOf(ctx, s, thwart.KindPerson, func(p thwart.Person) []string { return []string{p.Name} })
	return err
}

func namesOf[T any](ctx context.Context, s thwart.Store, kind thwart.Kind, called func(T) []string) ([]Name, error) {
	var out []Name
	for q := (thwart.SubjectQuery{Kind: kind, Limit: 1000}); ; {
		page, err := s.Subjects(ctx, q)
		if err != nil {
			return nil, err
		}
		for _, one := range page.Items {
			var body T
			if err := json.Unmarshal(one.Body, &body); err != nil {
				return nil, fmt.Errorf("%s %s: %w", kind, one.Subject, err)
			}
			out = append(out, Name{ID: one.Subject, Names: called(body)})
		}
		if q.After = page.Next; q.After == "" {
			return out, nil
		}
	}
}
