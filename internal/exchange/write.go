package exchange

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"thwart"
)

// Order says what is to go out.
type Order struct {
	What    string // one of [Exports]
	Edition Edition
	// Planted lets encounters with a planted object out too; the archive and the lines always hold them.
	Planted bool
	At      time.Time // written into an archive
	App     string    // likewise
}

// Exports lists what can go out.
var Exports = append([]string{"archive", "lines", "water-map", "launch-map", "description"}, Tables...)

// Whole reports whether an export holds everything: people, marks and planted objects too.
func Whole(what string) bool { return what == "archive" || what == "lines" }

// FileName gives a name for a file of an export, and its media type.
func FileName(what string) (name, media string) {
	switch what {
	case "archive":
		return "programme.zip", "application/zip"
	case "lines":
		return "entries.jsonl", "application/jsonl"
	case "water-map":
		return "waters.geojson", "application/geo+json"
	case "launch-map":
		return "launches.geojson", "application/geo+json"
	case "description":
		return "datapackage.json", "application/json"
	}
	return what + ".csv", "text/csv; charset=utf-8"
}

// Check says whether an order can be carried out.
func (o Order) Check() error {
	var errs thwart.FieldErrors
	if !slices.Contains(Exports, o.What) {
		errs = append(errs, thwart.FieldError{Field: "what", Value: o.What, Accepted: strings.Join(Exports, ", ")})
	}
	if o.Edition != "" && o.Edition != EditionExchange && o.Edition != EditionSpreadsheet {
		errs = append(errs, thwart.FieldError{Field: "edition", Value: string(o.Edition), Accepted: "exchange, spreadsheet"})
	}
	if len(errs) > 0 {
		return errs
	}
	return nil
}

// Write writes one export and says in words how much it was. It streams: memory does not grow with the records.
func Write(ctx context.Context, w io.Writer, store Keeper, o Order) (said string, err error) {
	if err := o.Check(); err != nil {
		return "", err
	}
	if o.Edition == "" {
		o.Edition = EditionExchange
	}
	counted := func(n int, err error) (string, error) { return fmt.Sprintf("%d rows", n), err }
	var from thwart.Store = store
	if !o.Planted {
		from = unplanted{store}
	}
	switch o.What {
	case "archive":
		m, err := WriteArchive(ctx, w, store, o.At, o.App)
		said = fmt.Sprintf("%d entries", m.Entries)
		if m.Pictures > 0 {
			said += fmt.Sprintf(", %d pictures", m.Pictures)
		}
		return said, err
	case "lines":
		n, err := WriteLines(ctx, w, store)
		return fmt.Sprintf("%d entries", n), err
	case "water-map":
		return counted(WriteWaters(ctx, w, from))
	case "launch-map":
		return counted(WriteLaunches(ctx, w, from))
	case "description":
		return "columns of the tables", WriteDictionary(w)
	}
	return counted(WriteTable(ctx, w, from, o.What, o.Edition))
}

// unplanted is a store whose lists of encounters leave out those with a planted object.
type unplanted struct{ thwart.Store }

// Subjects lists things of one kind.
func (u unplanted) Subjects(ctx context.Context, q thwart.SubjectQuery) (thwart.Page[thwart.Subject], error) {
	page, err := u.Store.Subjects(ctx, q)
	if q.Kind == thwart.KindInspection {
		page.Items = slices.DeleteFunc(page.Items, func(s thwart.Subject) bool {
			var b struct{ Test bool }
			return json.Unmarshal(s.Body, &b) == nil && b.Test
		})
	}
	return page, err
}
