package api

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"time"

	"thwart"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humago"

	"thwart/internal/exchange"
)

// maxUpload is of a table with its mapping; what is larger is no season of a programme.
const maxUpload = exchange.MaxCSVBytes + exchange.MaxMappingBytes + 1<<20

// uploadTime is how long sending a table, reading it and keeping it may take.
const uploadTime = 10 * time.Minute

func (a *API) routeImports() {
	const by = "The body is a form (multipart/form-data). table is a file that ends in .csv, .tsv, .txt or .xlsx; "
	const same = by + "mapping says which heading is which field, as guess-mapping proposes and `thwart import` takes it. The answer tells of every row that " +
		"is not taken, or not whole, and why. "
	routeForm(a, "read-headings", "/api/import/headings", "What heads the columns of a table, and what a column can be",
		by+"Below a heading of people's names or how to reach them, no cell is shown.", a.readHeadings, "table")
	routeForm(a, "guess-mapping", "/api/import/mapping", "A mapping guessed from a table's headings and rows, for a person to correct",
		by+"the time zone is never guessed, nor is day-first against month-first where the rows do not settle it.", a.guessMapping, "table")
	routeForm(a, "preview-import", "/api/import/preview", "Read a table of inspections without keeping anything", same, a.previewImport, "table", "mapping")
	routeForm(a, "import-table", "/api/import", "Read a table of inspections and keep what can be taken", same+
		"All of it is kept in one step, or, where that fails, nothing. Doing it again adds nothing twice; a row that says something else than the one kept is refused.",
		a.importTable, "table", "mapping")
}

// routeForm registers an operation that takes a form of files, all of which must be there.
func routeForm[O any](a *API, id, path, summary, words string, do func(context.Context, *upload) (*O, error), parts ...string) {
	body := &huma.RequestBody{Required: true}
	route(a, huma.Operation{OperationID: id, Method: http.MethodPost, Path: path, Tags: []string{"Data in"}, Summary: summary, Description: words, RequestBody: body,
		Errors: []int{http.StatusBadRequest, http.StatusRequestEntityTooLarge, http.StatusUnprocessableEntity}}, inOffice(thwart.CanManage), do)
	// Described only now: the library reads a body itself that it knows the form of.
	s := &huma.Schema{Type: huma.TypeObject, Properties: map[string]*huma.Schema{}, Required: parts}
	for _, p := range parts {
		s.Properties[p] = &huma.Schema{Type: huma.TypeString, Format: "binary"}
	}
	body.Content = map[string]*huma.MediaType{"multipart/form-data": {Schema: s}}
}

// upload is a form that the handler reads itself, part by part.
type upload struct{ hc huma.Context }

// Resolve is for the HTTP library.
func (u *upload) Resolve(hc huma.Context) []error {
	u.hc = hc
	return nil
}

// sent is what came in a form. The table lies in a temporary file.
type sent struct {
	table   *os.File
	bytes   int64
	name    string // of the table's file
	mapping []byte
}

func (s *sent) drop() {
	if s.table != nil {
		s.table.Close()           //nolint:errcheck // it is thrown away
		os.Remove(s.table.Name()) //nolint:errcheck // the system clears its temporary files
	}
}

// receive reads a form with a table and, where asked for, a mapping. Drop it also when there is an error.
func (u *upload) receive(mapped bool) (*sent, error) {
	r, w := humago.Unwrap(u.hc)
	control := http.NewResponseController(w)
	// A writer that knows no deadlines has none.
	_ = control.SetReadDeadline(time.Now().Add(uploadTime))
	_ = control.SetWriteDeadline(time.Now().Add(uploadTime))
	s := &sent{}
	if err := s.read(w, r); err != nil {
		var tooLarge *http.MaxBytesError
		if errors.As(err, &tooLarge) {
			p := field("body", "more than "+fmt.Sprint(tooLarge.Limit)+" bytes", fmt.Sprintf("a form of at most %d bytes", tooLarge.Limit))
			p.Status, p.Title = http.StatusRequestEntityTooLarge, http.StatusText(http.StatusRequestEntityTooLarge)
			return s, p
		}
		return s, err
	}
	switch {
	case s.table == nil:
		return s, field("table", "", "a file: the table")
	case mapped && s.mapping == nil:
		return s, field("mapping", "", "a file or a text: the mapping as JSON")
	}
	return s, nil
}

func (s *sent) read(w http.ResponseWriter, r *http.Request) error {
	r.Body = http.MaxBytesReader(w, r.Body, maxUpload)
	form, err := r.MultipartReader()
	if err != nil {
		return field("body", r.Header.Get("Content-Type"), "a form (multipart/form-data) with the parts table and mapping")
	}
	for {
		part, err := form.NextPart()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return brokenForm(err)
		}
		switch name := part.FormName(); {
		case name == "table" && s.table == nil:
			s.name = part.FileName()
			if s.table, err = os.CreateTemp("", "thwart-import-*"); err != nil {
				return err
			}
			if s.bytes, err = io.Copy(s.table, part); err == nil {
				_, err = s.table.Seek(0, io.SeekStart)
			}
		case name == "mapping" && s.mapping == nil:
			s.mapping, err = io.ReadAll(io.LimitReader(part, exchange.MaxMappingBytes+1))
		default:
			return field("body", name, "the parts table and mapping, each once")
		}
		if err != nil {
			return brokenForm(err)
		}
	}
}

func brokenForm(err error) error {
	var tooLarge *http.MaxBytesError
	var file *os.PathError
	if errors.As(err, &tooLarge) || errors.As(err, &file) {
		return err
	}
	return problem(http.StatusBadRequest, "the form broke off; send the request again")
}

// open opens the table.
func (s *sent) open(sheet string) (exchange.Table, error) {
	t, err := exchange.OpenTable(s.table, s.bytes, s.name, sheet)
	return t, s.blame(err)
}

// blame turns what is wrong with the table as a whole into a problem.
func (s *sent) blame(err error) error {
	var bad *exchange.TableError
	if errors.As(err, &bad) {
		return field("table", s.name, bad.Error())
	}
	return err
}

func (a *API) guessMapping(_ context.Context, in *upload) (*struct{ Body exchange.Mapping }, error) {
	s, err := in.receive(false)
	defer s.drop()
	if err != nil {
		return nil, err
	}
	t, err := s.open("")
	if err != nil {
		return nil, err
	}
	defer t.Close() //nolint:errcheck // it was only read
	m, err := exchange.GuessTable(t)
	return &struct{ Body exchange.Mapping }{m}, s.blame(err)
}

// TableHead is what heads the columns of a table, and what may be said of them in a mapping.
type TableHead struct {
	Headings []exchange.HeadingSeen `json:"headings"`
	Fields   []exchange.Field       `json:"fields" doc:"what a column can be"`
	Dates    []string               `json:"dates" doc:"how dates can be written"`
}

func (a *API) readHeadings(_ context.Context, in *upload) (*struct{ Body TableHead }, error) {
	s, err := in.receive(false)
	defer s.drop()
	if err != nil {
		return nil, err
	}
	t, err := s.open("")
	if err != nil {
		return nil, err
	}
	defer t.Close() //nolint:errcheck // it was only read
	seen, err := exchange.Headings(t)
	return &struct{ Body TableHead }{TableHead{seen, exchange.Fields, exchange.DateStyles}}, s.blame(err)
}

// ImportReport says, row by row, what reading a table came to.
type ImportReport exchange.Report

// ImportReceipt says what became of the entries made from a table.
type ImportReceipt exchange.Receipt

// ImportResult is what reading a table came to.
type ImportResult struct {
	Report ImportReport   `json:"report"`
	Kept   *ImportReceipt `json:"kept,omitempty" doc:"of what was kept; a preview keeps nothing"`
}

type importOut struct{ Body ImportResult }

func (a *API) previewImport(ctx context.Context, in *upload) (*importOut, error) {
	plan, err := a.planOf(ctx, in)
	return &importOut{ImportResult{Report: ImportReport(plan.Report)}}, err
}

func (a *API) importTable(ctx context.Context, in *upload) (*importOut, error) {
	plan, err := a.planOf(ctx, in)
	if err != nil {
		return nil, err
	}
	if err := a.audit(ctx, who(ctx).account, "import", "", plan.Report.Summary()); err != nil {
		return nil, err
	}
	kept, err := plan.Keep(ctx, a.cfg.Store, a.cfg.Now().UTC())
	if err != nil {
		return nil, err
	}
	a.wrote()
	return &importOut{ImportResult{ImportReport(plan.Report), (*ImportReceipt)(&kept)}}, nil
}

// planOf reads a table against the records of the programme. One is read at a time: a large one takes memory.
func (a *API) planOf(ctx context.Context, in *upload) (plan exchange.Plan, err error) {
	s, err := in.receive(true)
	defer s.drop()
	if err != nil {
		return plan, err
	}
	m, err := readMapping(s.mapping)
	if err != nil {
		return plan, err
	}
	o := exchange.Options{Now: a.cfg.Now()}
	if a.cfg.MarkKey != nil {
		o.Key = func(at time.Time) ([]byte, error) {
			k, err := a.keyOf(at)
			return k.Key, err
		}
	}
	if err := o.LearnNames(ctx, a.cfg.Store); err != nil {
		return plan, err
	}
	select {
	case a.importing <- struct{}{}:
		defer func() { <-a.importing }()
	case <-ctx.Done():
		return plan, ctx.Err()
	}
	t, err := s.open(m.Sheet)
	if err != nil {
		return plan, err
	}
	defer t.Close() //nolint:errcheck // it was only read
	plan, err = exchange.Read(ctx, t, m, o)
	if plan.Report.Lines == nil {
		plan.Report.Lines = []exchange.Line{}
	}
	return plan, s.blame(err)
}

// readMapping names fields as the form has them.
func readMapping(text []byte) (exchange.Mapping, error) {
	m, err := exchange.ReadMapping(bytes.NewReader(text))
	var fields thwart.FieldErrors
	switch {
	case errors.As(err, &fields):
		for i := range fields {
			fields[i].Field = "mapping." + fields[i].Field
		}
		return m, fields
	case err != nil:
		return m, field("mapping", fmt.Sprintf("%d bytes", len(text)), err.Error())
	}
	return m, nil
}
