package exchange

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io"
	"strings"

	"thwart"
)

// Level says what became of a cell or row that a report speaks of.
type Level string

// Levels, gravest first.
const (
	LevelRefused   Level = "refused"   // the row is not taken
	LevelDuplicate Level = "duplicate" // the row is there already, further up
	LevelLeftOut   Level = "left_out"  // the row is taken without this value, as not known
	LevelLook      Level = "look"      // taken, but somebody should look
)

// Line is one thing a report has to say.
type Line struct {
	Row      int    `json:"row"`
	Level    Level  `json:"level"`
	Field    Field  `json:"field,omitempty"`
	Value    string `json:"value,omitempty"` // as written; of a registration, nothing
	Accepted string `json:"accepted"`
	Fix      string `json:"fix,omitempty"` // what would make it right
}

// NameAsked is a name that the programme does not know, with the names it may be meant for.
type NameAsked struct {
	Kind string   `json:"kind"` // waters, launches or people: the part of the mapping it belongs in
	Name string   `json:"name"`
	Rows int      `json:"rows"`
	Near []string `json:"near,omitempty"` // names the programme knows, nearest first
	IDs  []string `json:"ids,omitempty"`  // their ids
}

// MaxLines is the most lines a report holds; what is beyond is counted.
const MaxLines = 20_000

// Report says what reading a table came to. Rows = Taken + Refused + Duplicates.
type Report struct {
	Rows       int                     `json:"rows"` // with something in them, the headings not counted
	Taken      int                     `json:"taken"`
	Refused    int                     `json:"refused"`
	Duplicates int                     `json:"duplicates"`
	Shifts     int                     `json:"shifts"` // days of one person at one launch
	NoTime     int                     `json:"noTime"` // rows taken with a date and no time: noon stands
	Counts     map[Field]map[Level]int `json:"counts"` // lines by field, those beyond MaxLines too; field empty = the row
	Lines      []Line                  `json:"lines"`
	LinesLeft  int                     `json:"linesLeft,omitempty"` // beyond MaxLines
	Names      []NameAsked             `json:"names,omitempty"`     // most rows first
	Unused     []string                `json:"unused,omitempty"`    // headings without a field that are not in Ignore
}

func clipList(list []string) string {
	var out []string
	for i, s := range list {
		if i == 40 {
			out = append(out, "…")
			break
		}
		out = append(out, clip(s))
	}
	return strings.Join(out, ", ")
}

func (rd *reader) say(level Level, f Field, accepted, fix string) {
	r := &rd.plan.Report
	if r.Counts[f] == nil {
		r.Counts[f] = map[Level]int{}
	}
	r.Counts[f][level]++
	rd.refused = rd.refused || level == LevelRefused
	if len(r.Lines) >= MaxLines {
		r.LinesLeft++
		return
	}
	line := Line{Row: rd.row.Number, Level: level, Field: f, Accepted: accepted, Fix: fix}
	if f != FieldRegistration {
		line.Value = clip(rd.cell(f))
	}
	r.Lines = append(r.Lines, line)
}

func (rd *reader) sayInvalid(err error) {
	var fields thwart.FieldErrors
	if !errors.As(err, &fields) {
		rd.say(LevelRefused, "", err.Error(), "")
		return
	}
	for _, f := range fields {
		rd.say(LevelRefused, "", f.Error(), "")
	}
}

// hideLast takes the value out of the line said last, because it is what was to be hidden.
func (rd *reader) hideLast() {
	if n := len(rd.plan.Report.Lines); n > 0 && rd.plan.Report.Lines[n-1].Row == rd.row.Number && rd.plan.Report.Lines[n-1].Field == FieldNote {
		rd.plan.Report.Lines[n-1].Value = ""
	}
}

// Summary says in a line how many rows there were and what became of them.
func (r *Report) Summary() string {
	return fmt.Sprintf("%d rows: %d taken, %d refused, %d duplicates", r.Rows, r.Taken, r.Refused, r.Duplicates)
}

// WriteText prints a report for a person.
func (r *Report) WriteText(w io.Writer) error {
	var b bytes.Buffer
	fmt.Fprintf(&b, "%s; %d days on site\n", r.Summary(), r.Shifts)
	if r.NoTime > 0 {
		fmt.Fprintf(&b, "%d rows have a date and no time of day; noon stands for it\n", r.NoTime)
	}
	if len(r.Unused) > 0 {
		fmt.Fprintf(&b, "columns left out: %s\n", clipList(r.Unused))
	}
	for _, f := range append([]Field{""}, Fields...) {
		for _, level := range []Level{LevelRefused, LevelDuplicate, LevelLeftOut, LevelLook} {
			if n := r.Counts[f][level]; n > 0 {
				fmt.Fprintf(&b, "  %-12s %-10s %d\n", cmp.Or(f, "(row)"), level, n)
			}
		}
	}
	for _, n := range r.Names {
		fmt.Fprintf(&b, "not known to the programme (%s): %q in %d rows", n.Kind, n.Name, n.Rows)
		if len(n.Near) > 0 {
			fmt.Fprintf(&b, "; meant for %s?", strings.Join(n.Near, " or "))
		}
		b.WriteByte('\n')
	}
	for _, l := range r.Lines {
		fmt.Fprintf(&b, "row %d", l.Row)
		if l.Field != "" {
			fmt.Fprintf(&b, ", %s", l.Field)
		}
		if l.Value != "" {
			fmt.Fprintf(&b, " %q", l.Value)
		}
		fmt.Fprintf(&b, ": %s; accepted: %s", strings.ReplaceAll(string(l.Level), "_", " "), l.Accepted)
		if l.Fix != "" {
			fmt.Fprintf(&b, " — %s", l.Fix)
		}
		b.WriteByte('\n')
	}
	if r.LinesLeft > 0 {
		fmt.Fprintf(&b, "and %d lines more\n", r.LinesLeft)
	}
	_, err := w.Write(b.Bytes())
	return err
}
