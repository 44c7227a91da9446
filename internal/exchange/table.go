package exchange

import (
	"archive/zip"
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"path"
	"strings"
	"unicode/utf8"

	"github.com/xuri/excelize/v2"
)

// Limits of a table. They bound memory and time, and are far above any season of a programme.
const (
	MaxRows      = 200_000
	MaxColumns   = 256
	MaxCellBytes = 16 << 10 // longer cells are cut and their row is refused
	MaxCSVBytes  = 128 << 20
	MaxXLSXBytes = 64 << 20
	// MaxXLSXUnpacked is what the parts of a workbook may come to when unpacked, and MaxXLSXRatio by how much one part may
	// grow; sheets of real records grow by 5 to 30.
	MaxXLSXUnpacked = 512 << 20
	MaxXLSXRatio    = 200
	maxXLSXParts    = 2000
	maxInMemory     = 16 << 20 // larger parts of a workbook go through a temporary file
)

// TableError says what is wrong with a file as a whole.
type TableError struct {
	What     string // of the file
	Accepted string
}

// Error gives the message a person acts on.
func (e *TableError) Error() string {
	return fmt.Sprintf("the table %s; accepted: %s", e.What, e.Accepted)
}

// Row is one row of a table. Cells are text as it stands, without the blanks around it.
type Row struct {
	Number int // in the file, counting from 1, as a spreadsheet shows it
	Cells  []string
	// Faults says what is wrong with the row as a whole, such as a cell that is too long; empty = nothing.
	Faults []string
}

// Empty reports whether nothing stands in the row.
func (r Row) Empty() bool {
	for _, c := range r.Cells {
		if c != "" {
			return false
		}
	}
	return len(r.Faults) == 0
}

// Table gives rows one after the other.
type Table interface {
	// Next gives the next row, io.EOF after the last. The row is the caller's to keep.
	Next() (Row, error)
	// Serial1904 reports that bare numbers of days count from 1904 rather than 1900.
	Serial1904() bool
	Close() error
}

// OpenCSV reads comma, semicolon or tab separated text in UTF-8 (a byte order mark is passed over). It takes what
// spreadsheets and people make of RFC 4180: any mix of line ends, quotes in the middle of a cell, rows of unequal length.
// Bytes that are not UTF-8 are read as Latin-1, zero bytes are dropped; both are noted as faults of the row only where the
// row cannot be read without guessing, which is never the case for these two.
func OpenCSV(r io.Reader) (Table, error) {
	in := bufio.NewReaderSize(&capped{r: r, left: MaxCSVBytes}, 64<<10)
	head, err := in.Peek(4096)
	if err != nil && !errors.Is(err, io.EOF) && !errors.Is(err, bufio.ErrBufferFull) {
		return nil, err
	}
	switch {
	case bytes.HasPrefix(head, []byte("PK\x03\x04")):
		return nil, &TableError{"is a workbook or a zip file, not text", "CSV; open a workbook as XLSX"}
	case bytes.HasPrefix(head, []byte{0xFF, 0xFE}), bytes.HasPrefix(head, []byte{0xFE, 0xFF}):
		return nil, &TableError{"is UTF-16 text", "CSV in UTF-8: save it as \"CSV UTF-8\""}
	case bytes.HasPrefix(head, []byte("\xEF\xBB\xBF")):
		if _, err := in.Discard(3); err != nil {
			return nil, err
		}
		head = head[3:]
	}
	return &csvTable{in: in, comma: separator(head)}, nil
}

// separator is the mark that stands most often outside quotes in the first line.
func separator(head []byte) byte {
	best, most := byte(','), 0
	for _, mark := range []byte{',', ';', '\t'} {
		n, quoted, some := 0, false, false
		for _, b := range head {
			if b == '"' {
				quoted = !quoted
			}
			if b != '\n' && b != '\r' {
				some = true
			} else if some && !quoted {
				break
			}
			if b == mark && !quoted {
				n++
			}
		}
		if n > most {
			best, most = mark, n
		}
	}
	return best
}

// capped fails once more than left bytes were read.
type capped struct {
	r    io.Reader
	left int64
}

func (c *capped) Read(p []byte) (int, error) {
	n, err := c.r.Read(p)
	if c.left -= int64(n); c.left < 0 {
		return 0, &TableError{"is too large", fmt.Sprintf("at most %d MB; split it by season", MaxCSVBytes>>20)}
	}
	return n, err
}

type csvTable struct {
	in    *bufio.Reader
	comma byte
	row   int
}

func (t *csvTable) Serial1904() bool { return false }

func (t *csvTable) Close() error { return nil }

// Next reads a row byte by byte, so that an endless cell never takes more than MaxCellBytes.
func (t *csvTable) Next() (Row, error) {
	const (
		start  = iota // of a cell
		plain         // in a cell without quotes
		quoted        // between quotes
		closed        // after a quote within a quoted cell
	)
	var (
		row         Row
		cell        []byte
		state       = start
		long, many  bool
		any, broken bool
	)
	end := func() {
		if len(row.Cells) == MaxColumns {
			many = many || len(bytes.TrimSpace(cell)) > 0
		} else {
			row.Cells = append(row.Cells, cleanCell(cell))
		}
		cell, state = cell[:0], start
	}
	add := func(b byte) {
		if len(cell) >= MaxCellBytes {
			long = true
			return
		}
		cell = append(cell, b)
	}
	for {
		b, err := t.in.ReadByte()
		if err != nil {
			if !errors.Is(err, io.EOF) {
				return Row{}, err
			}
			if !any {
				return Row{}, io.EOF
			}
			broken = state == quoted
			end()
			break
		}
		any = true
		if state == quoted {
			if b == '"' {
				state = closed
			} else {
				add(b)
			}
			continue
		}
		switch {
		case b == t.comma:
			end()
			continue
		case b == '\r':
			if next, err := t.in.Peek(1); err == nil && next[0] == '\n' {
				_, _ = t.in.Discard(1) // it was peeked, so it is there
			}
			end()
		case b == '\n':
			end()
		case b == '"' && state == start && len(bytes.TrimSpace(cell)) == 0:
			cell, state = cell[:0], quoted
			continue
		case b == '"' && state == closed: // a doubled quote is a quote
			add('"')
			state = quoted
			continue
		default:
			add(b)
			if b != ' ' && b != 0 || state == closed {
				state = plain
			}
			continue
		}
		break
	}
	if t.row++; t.row > MaxRows+1 {
		return Row{}, &TableError{"has too many rows", fmt.Sprintf("at most %d; split it by season", MaxRows)}
	}
	row.Number = t.row
	row.judge(long, many, broken)
	return row, nil
}

func (r *Row) judge(long, many, broken bool) {
	if broken {
		r.Faults = append(r.Faults, "a quotation mark is opened and never closed")
	}
	if long {
		r.Faults = append(r.Faults, fmt.Sprintf("a cell is longer than %d bytes", MaxCellBytes))
	}
	if many {
		r.Faults = append(r.Faults, fmt.Sprintf("there are more than %d columns", MaxColumns))
	}
}

// cleanCell makes readable text of a cell: no zero bytes or other controls except line breaks, no bytes that are not UTF-8,
// no blanks around it.
func cleanCell(cell []byte) string {
	s := string(cell)
	if !utf8.Valid(cell) {
		var b strings.Builder
		for len(cell) > 0 {
			r, n := utf8.DecodeRune(cell)
			if r == utf8.RuneError && n == 1 {
				r = rune(cell[0]) // Latin-1
			}
			b.WriteRune(r)
			cell = cell[n:]
		}
		s = b.String()
	}
	s = strings.Map(func(r rune) rune {
		switch {
		case r == '\r' || r == '\t':
			return ' '
		case r < ' ' && r != '\n', r >= 0x7F && r < 0xA0: // controls
			return -1
		case r >= 0x202A && r <= 0x202E, r >= 0x2066 && r <= 0x2069, r == 0xFEFF: // hidden changes of direction, stray mark
			return -1
		case r == 0xA0, r == 0x202F: // blanks that do not break
			return ' '
		}
		return r
	}, s)
	return strings.TrimSpace(s)
}

// OpenXLSX reads one sheet of a workbook; sheet empty is the first. The workbook is looked through before it is opened, so
// that one made to swell is refused by what it says of itself and again while it is unpacked.
func OpenXLSX(r io.ReaderAt, size int64, sheet string) (Table, error) {
	if size > MaxXLSXBytes {
		return nil, &TableError{fmt.Sprintf("is %d MB", size>>20), fmt.Sprintf("a workbook of at most %d MB", MaxXLSXBytes>>20)}
	}
	if err := checkWorkbook(r, size); err != nil {
		return nil, err
	}
	f, err := excelize.OpenReader(io.NewSectionReader(r, 0, size), excelize.Options{
		RawCellValue: true, UnzipSizeLimit: MaxXLSXUnpacked, UnzipXMLSizeLimit: maxInMemory,
	})
	if err != nil {
		return nil, notAWorkbook(err)
	}
	fail := func(err error) (Table, error) { return nil, errors.Join(err, f.Close()) }
	if sheet == "" {
		names := f.GetSheetList()
		if len(names) == 0 {
			return fail(&TableError{"has no sheet", "a workbook with a sheet of records"})
		}
		sheet = names[0]
	}
	rows, err := f.Rows(sheet)
	if err != nil {
		return fail(&TableError{fmt.Sprintf("has no readable sheet %q", sheet), "one of " + strings.Join(f.GetSheetList(), ", ")})
	}
	props, err := f.GetWorkbookProps()
	if err != nil {
		return fail(notAWorkbook(err))
	}
	return &xlsxTable{f: f, rows: rows, from1904: props.Date1904 != nil && *props.Date1904}, nil
}

func notAWorkbook(err error) error {
	return &TableError{"cannot be read as a workbook (" + err.Error() + ")", "XLSX without a password; old XLS files saved as XLSX"}
}

func checkWorkbook(r io.ReaderAt, size int64) error {
	z, err := zip.NewReader(r, size)
	if err != nil {
		return notAWorkbook(err)
	}
	if len(z.File) > maxXLSXParts {
		return &TableError{fmt.Sprintf("has %d parts", len(z.File)), fmt.Sprintf("a workbook of at most %d parts", maxXLSXParts)}
	}
	var sum uint64
	for _, p := range z.File {
		name := strings.ReplaceAll(p.Name, `\`, "/")
		if path.IsAbs(name) || strings.HasPrefix(path.Clean(name), "..") {
			return &TableError{fmt.Sprintf("has a part named %q", clip(p.Name)), "parts inside the workbook"}
		}
		switch strings.ToLower(path.Ext(name)) {
		case ".zip", ".gz", ".7z", ".xlsx", ".xlsm", ".rar", ".bz2", ".xz":
			return &TableError{fmt.Sprintf("has another archive inside, %q", clip(p.Name)), "a workbook without embedded files"}
		}
		sum += p.UncompressedSize64
		swells := p.UncompressedSize64 > 1<<20 && p.UncompressedSize64/MaxXLSXRatio > p.CompressedSize64
		if swells || sum > MaxXLSXUnpacked {
			return &TableError{"swells when unpacked", fmt.Sprintf("at most %d MB unpacked, no part more than %d times its packed size",
				MaxXLSXUnpacked>>20, MaxXLSXRatio)}
		}
	}
	return nil
}

type xlsxTable struct {
	f        *excelize.File
	rows     *excelize.Rows
	row      int
	from1904 bool
}

func (t *xlsxTable) Serial1904() bool { return t.from1904 }

func (t *xlsxTable) Close() error { return errors.Join(t.rows.Close(), t.f.Close()) }

func (t *xlsxTable) Next() (Row, error) {
	if !t.rows.Next() {
		if err := t.rows.Error(); err != nil {
			return Row{}, notAWorkbook(err)
		}
		return Row{}, io.EOF
	}
	if t.row++; t.row > MaxRows+1 {
		return Row{}, &TableError{"has too many rows", fmt.Sprintf("at most %d; split it by season", MaxRows)}
	}
	cells, err := t.rows.Columns()
	if err != nil {
		return Row{}, notAWorkbook(err)
	}
	row := Row{Number: t.row}
	var long, many bool
	for i, c := range cells {
		if i == MaxColumns {
			many = true
			break
		}
		if len(c) > MaxCellBytes {
			c, long = c[:MaxCellBytes], true
		}
		row.Cells = append(row.Cells, cleanCell([]byte(c)))
	}
	row.judge(long, many, false)
	return row, nil
}

// clip shortens text for a message.
func clip(s string) string {
	if r := []rune(s); len(r) > 80 {
		return string(r[:80]) + "…"
	}
	return s
}
