package opendata

import (
	"encoding/csv"
	"fmt"
	"io"
	"strconv"

	"thwart"
	"thwart/internal/exchange"
)

// rowWriter takes the rows of one table.
type rowWriter interface {
	write(cells []string) error
	close() error
}

// tabular writes the tables of a copy, each through a writer of its own.
type tabular struct {
	copy   Copy
	tables []table
	out    []rowWriter
	parts  []*part
}

// Tables, in the order of [tablesOf].
const (
	inInspections = iota
	inFindings
	inSessions
	inWashes
	inWaters
	inLaunches
)

func (w *walker) openTables(p *pack, ending string, open func(table, io.Writer) (rowWriter, error)) (*tabular, error) {
	t := &tabular{copy: w.opt.Copy, tables: tablesOf(w.opt.Copy)}
	for _, one := range t.tables {
		x, err := p.create(one.name + ending)
		if err != nil {
			return nil, err
		}
		out, err := open(one, x)
		if err != nil {
			return nil, err
		}
		t.parts, t.out = append(t.parts, x), append(t.out, out)
	}
	return t, nil
}

func (t *tabular) add(at int, cells []string) error {
	t.parts[at].Rows++
	return t.out[at].write(cells)
}

func (t *tabular) look(l *look) error {
	if err := t.add(inInspections, l.row(t.copy)); err != nil {
		return err
	}
	for i := range l.Findings {
		if err := t.add(inFindings, l.findingRow(i)); err != nil {
			return err
		}
	}
	return nil
}

func (t *tabular) wash(id, inspection string, w *thwart.WashDone) error {
	return t.add(inWashes, []string{id, inspection, strconv.Itoa(len(w.Steps)), strconv.Itoa(stepsMet(w)), number(w.WaterL)})
}

func (t *tabular) session(s *session) error { return t.add(inSessions, s.row(t.copy)) }

func (t *tabular) place(waters bool, id string, r *region) error {
	if waters {
		return t.add(inWaters, waterRow(id, r.waters[id]))
	}
	return t.add(inLaunches, launchRow(id, r.launches[id]))
}

func (t *tabular) close() error {
	for i, out := range t.out {
		if err := out.close(); err != nil {
			return err
		}
		if err := t.parts[i].close(); err != nil {
			return err
		}
	}
	return nil
}

// csvRows writes RFC 4180.
type csvRows struct {
	out   *csv.Writer
	guard []bool // columns in which a formula is made harmless
}

func openCSV(safe bool) func(table, io.Writer) (rowWriter, error) {
	return func(t table, w io.Writer) (rowWriter, error) {
		x := &csvRows{out: csv.NewWriter(w), guard: make([]bool, len(t.columns))}
		x.out.UseCRLF = true
		head := make([]string, len(t.columns))
		for i, c := range t.columns {
			head[i] = c.Name
			x.guard[i] = safe && c.Text
		}
		return x, x.out.Write(head)
	}
}

func (x *csvRows) write(cells []string) error {
	for i := range cells {
		if x.guard[i] {
			cells[i] = exchange.Guard(cells[i])
		}
	}
	return x.out.Write(cells)
}

func (x *csvRows) close() error {
	x.out.Flush()
	return x.out.Error()
}

// cellError says which cell is not of its column's type.
func cellError(t, column, value, kind string) error {
	return fmt.Errorf("table %s: %s: %q is no %s", t, column, value, kind)
}
