package exchange

import (
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"thwart"
)

// PlaceNotTold stands for the place of a finding of which a table says only that it was made.
const PlaceNotTold = "not_told"

// ProtocolNotKnown stands for the protocol of an inspection of which nobody wrote down under which it was made.
const ProtocolNotKnown = "not_known@0"

// Options are what reading needs besides the file and its mapping.
type Options struct {
	Waters, Launches, People []Name // of the programme, to find ids by
	// Key gives the key to hash the registrations of craft met at a time with; needed where the mapping has a column of them.
	// Another key makes other records of the same rows. See [OneKey].
	Key func(at time.Time) ([]byte, error)
	// Now is the latest time an inspection can have; zero does not check.
	Now time.Time
}

// OneKey hashes every registration with one key; a key that is too short counts as none.
func OneKey(key []byte) func(time.Time) ([]byte, error) {
	if len(key) < thwart.MinKeyBytes {
		return nil
	}
	return func(time.Time) ([]byte, error) { return key, nil }
}

// Plan is what a table would add. Nothing of it is kept until the caller puts the entries; shifts come before what belongs
// to them.
type Plan struct {
	Entries []thwart.Entry `json:"-"`
	Report  Report         `json:"report"`
}

// HeaderOf reads a table down to its headings and gives them.
func HeaderOf(t Table, headerRow int) ([]string, error) {
	for {
		row, err := t.Next()
		if errors.Is(err, io.EOF) {
			return nil, &TableError{"has no row of headings", fmt.Sprintf("headings in row %d", max(headerRow, 1))}
		}
		if err != nil {
			return nil, err
		}
		if row.Number < max(headerRow, 1) {
			continue
		}
		if row.Empty() {
			return nil, &TableError{fmt.Sprintf("has nothing in row %d", row.Number), "the number of the row with the headings in headerRow"}
		}
		return row.Cells, nil
	}
}

// Read turns a table into a plan. It writes nothing and gives the same plan for the same table, mapping and options.
//
// A row becomes an inspection where date, launch and person are sure. Everything else that cannot be read is left out as
// not known, which is always the unsafe side, and said so. A craft class that is not known becomes "other". What was found
// but not understood is kept as a finding of unknown matter.
//
// The id of an inspection comes from its launch, its time and, where the mapping has a key column, the key; otherwise from
// what the cells of class, length, registration, waters, direction, outcome and steward say. Reading the same row again, from
// this file or another, gives the same id. Two rows of one id are one craft: the second is reported and left out. Days on
// site become shifts of no length, because a table of craft says nothing of hours.
//
// The error is of the file or the mapping as a whole; then there is no plan.
func Read(ctx context.Context, t Table, m Mapping, o Options) (Plan, error) {
	if err := m.Validate(); err != nil {
		return Plan{}, err
	}
	if m.Columns[FieldRegistration] != "" && o.Key == nil {
		return Plan{}, thwart.FieldErrors{{Field: "columns.registration", Value: m.Columns[FieldRegistration],
			Accepted: fmt.Sprintf("a key of the programme of at least %d bytes to hash registrations with, or no such column", thwart.MinKeyBytes)}}
	}
	zone, err := time.LoadLocation(m.Zone)
	if err != nil {
		return Plan{}, err
	}
	header, err := HeaderOf(t, m.HeaderRow)
	if err != nil {
		return Plan{}, err
	}
	rd := &reader{
		m: m, o: o, zone: zone, from1904: t.Serial1904(), column: map[Field]int{}, rows: map[string]seenRow{}, shifts: map[string]bool{},
		waters: newBook("waters", m.Waters, o.Waters), launches: newBook("launches", m.Launches, o.Launches),
		people: newBook("people", m.People, o.People),
	}
	rd.plan.Report.Counts = map[Field]map[Level]int{}
	if err := rd.findColumns(header); err != nil {
		return Plan{}, err
	}
	for {
		row, err := t.Next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err == nil {
			err = ctx.Err()
		}
		if err != nil {
			return Plan{}, err
		}
		if !row.Empty() {
			rd.read(row)
		}
		if rd.err != nil {
			return Plan{}, rd.err
		}
	}
	for _, b := range []*book{rd.waters, rd.launches, rd.people} {
		for _, asked := range b.asked {
			rd.plan.Report.Names = append(rd.plan.Report.Names, *asked)
		}
	}
	slices.SortFunc(rd.plan.Report.Names, func(a, b NameAsked) int {
		return cmp.Or(-cmp.Compare(a.Rows, b.Rows), strings.Compare(a.Kind, b.Kind), strings.Compare(a.Name, b.Name))
	})
	return rd.plan, nil
}

type seenRow struct {
	number int
	sum    [32]byte
}

type reader struct {
	m        Mapping
	o        Options
	zone     *time.Location
	from1904 bool
	column   map[Field]int
	rows     map[string]seenRow
	shifts   map[string]bool
	waters   *book
	launches *book
	people   *book
	plan     Plan

	row     Row
	refused bool
	err     error // of the key; ends the reading
}

func (rd *reader) findColumns(header []string) error {
	var errs thwart.FieldErrors
	used := map[string]bool{}
	for f, want := range rd.m.Columns {
		for i, h := range header {
			if _, had := rd.column[f]; plain(h) == plain(want) && !had {
				rd.column[f] = i
			}
		}
		if _, ok := rd.column[f]; !ok {
			errs = append(errs, thwart.FieldError{Field: "columns." + string(f), Value: clip(want), Accepted: "one of the headings: " + clipList(header)})
		}
		used[plain(want)] = true
	}
	if len(errs) > 0 {
		slices.SortFunc(errs, func(a, b thwart.FieldError) int { return strings.Compare(a.Field, b.Field) })
		return errs
	}
	for _, h := range rd.m.Ignore {
		used[plain(h)] = true
	}
	for _, h := range header {
		if !used[plain(h)] {
			rd.plan.Report.Unused = append(rd.plan.Report.Unused, clip(h))
		}
	}
	return nil
}

func (rd *reader) cell(f Field) string {
	if i, ok := rd.column[f]; ok && i < len(rd.row.Cells) {
		return rd.row.Cells[i]
	}
	return ""
}

// told gives a cell, empty where it says that nobody knows.
func (rd *reader) told(f Field) string {
	s := rd.cell(f)
	if notSaid[plain(s)] {
		return ""
	}
	return s
}

// read takes one row: all of it, or nothing.
func (rd *reader) read(row Row) {
	rd.row, rd.refused = row, false
	rd.plan.Report.Rows++
	rd.take()
	if rd.refused {
		rd.plan.Report.Refused++
	}
}

func (rd *reader) take() {
	r := &rd.plan.Report
	for _, fault := range rd.row.Faults {
		rd.say(LevelRefused, "", "a row that can be read: "+fault, "mend the row in the spreadsheet")
	}
	if rd.refused {
		return
	}
	launch := rd.launch()
	local, timed := rd.start()
	steward := rd.steward()
	if rd.refused {
		return
	}
	e := rd.encounter(launch, steward, local)
	at := local.Truncate(time.Second)
	midnight := time.Date(local.Year(), local.Month(), local.Day(), 0, 0, 0, 0, rd.zone)
	e.Shift = madeID(midnight, "shift", launch, midnight.Format(time.DateOnly), steward)
	if err := e.Validate(); err != nil {
		rd.sayInvalid(err)
		return
	}
	body := rd.json(e)
	id := madeID(at, append([]string{"inspection", launch, at.UTC().Format(time.RFC3339)}, rd.identity(&e)...)...)
	if rd.refused || rd.again(id, sha256.Sum256(body)) {
		return
	}
	if !rd.shifts[e.Shift] {
		shift := rd.json(thwart.Shift{
			Launch: launch, People: []string{steward}, From: midnight, To: &midnight,
			Note: "Made by an import: the hours on site are not known.",
		})
		if rd.refused {
			return
		}
		rd.shifts[e.Shift] = true
		r.Shifts++
		rd.plan.Entries = append(rd.plan.Entries, entryOf(thwart.KindShift, e.Shift, midnight, steward, shift))
	}
	rd.plan.Entries = append(rd.plan.Entries, entryOf(thwart.KindInspection, id, at, steward, body))
	r.Taken++
	if !timed {
		r.NoTime++
	}
}

// json writes a body; where it cannot be written the row is refused.
func (rd *reader) json(body any) []byte {
	text, err := json.Marshal(body)
	if err != nil {
		rd.say(LevelRefused, "", "values that can be written as JSON: "+err.Error(), "")
	}
	return text
}

// again says whether a craft was there further up, and reports it.
func (rd *reader) again(id string, sum [32]byte) bool {
	old, had := rd.rows[id]
	switch {
	case !had:
		rd.rows[id] = seenRow{rd.row.Number, sum}
	case old.sum == sum:
		rd.say(LevelDuplicate, "", fmt.Sprintf("each craft once; row %d is the same", old.number),
			"nothing to do; if these are two craft, map a column that tells them apart to key")
		rd.plan.Report.Duplicates++
	default:
		rd.say(LevelRefused, "", fmt.Sprintf("each craft once; row %d is of the same craft and time and says something else", old.number),
			"take out the wrong row; if these are two craft, map a column that tells them apart to key")
	}
	return had
}

func entryOf(kind thwart.Kind, id string, at time.Time, person string, body []byte) thwart.Entry {
	return thwart.Entry{ID: id, Kind: kind, Subject: id, MadeAt: at, Origin: thwart.OriginImport, Person: person, Body: body}
}
