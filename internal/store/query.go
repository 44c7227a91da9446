package store

import (
	"context"
	"database/sql"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"thwart"
)

// Limits of lists.
const (
	DefaultLimit = 100
	MaxLimit     = 1000
)

func limitOf(n int) (int, error) {
	switch {
	case n == 0:
		return DefaultLimit, nil
	case n < 0 || n > MaxLimit:
		return 0, thwart.FieldErrors{{Field: "limit", Value: strconv.Itoa(n), Accepted: fmt.Sprintf("1 to %d", MaxLimit)}}
	}
	return n, nil
}

// cursor says where a page ended: under which order, and the keys of its last row. Keys and not an offset, so that rows
// that come or go in the meantime make no row be skipped or shown twice.
type cursor struct {
	Order string `json:"o"`
	Keys  []any  `json:"k"`
}

func (c cursor) String() string {
	b, err := json.Marshal(c)
	if err != nil {
		panic(err) // strings and numbers always marshal; NaN cannot be in a table
	}
	return base64.RawURLEncoding.EncodeToString(b)
}

// parseCursor reads the keys of a page; want is a sample of their types.
func parseCursor(text, order string, want ...any) ([]any, error) {
	bad := thwart.FieldErrors{{Field: "after", Value: text[:min(60, len(text))], Accepted: "the next of a page in the same order, unchanged"}}
	b, err := base64.RawURLEncoding.DecodeString(text)
	if err != nil {
		return nil, bad
	}
	var raw struct {
		Order string            `json:"o"`
		Keys  []json.RawMessage `json:"k"`
	}
	if json.Unmarshal(b, &raw) != nil || raw.Order != order || len(raw.Keys) != len(want) {
		return nil, bad
	}
	keys := make([]any, len(want))
	for i, k := range raw.Keys {
		switch want[i].(type) {
		case int64:
			var n int64
			err = json.Unmarshal(k, &n)
			keys[i] = n
		case float64:
			var n float64
			err = json.Unmarshal(k, &n)
			keys[i] = n
		default:
			var t string
			err = json.Unmarshal(k, &t)
			if strings.ContainsRune(t, 0) {
				err = bad
			}
			keys[i] = t
		}
		if err != nil || string(k) == "null" {
			return nil, bad
		}
	}
	return keys, nil
}

// prefixed writes a list of columns with the name of their table.
func prefixed(table, columns string) string {
	return table + "." + strings.ReplaceAll(columns, ", ", ", "+table+".")
}

// Subject gives a thing as it stands.
func (s *Store) Subject(ctx context.Context, id string) (thwart.Subject, error) {
	if !thwart.IsID(id) {
		return thwart.Subject{}, fmt.Errorf("subject %.60q: %w", id, thwart.ErrNotFound)
	}
	var sub thwart.Subject
	var r row
	var conflict int64
	q := "SELECT " + prefixed("e", entryColumns) + ", s.conflict, s.versions FROM subjects s JOIN entries e ON e.cursor = s.head WHERE s.subject = $1"
	err := r.scan(s.read.QueryRowContext(ctx, q, id), &conflict, &sub.Versions)
	if errors.Is(err, sql.ErrNoRows) {
		return sub, fmt.Errorf("subject %s: %w", id, thwart.ErrNotFound)
	}
	if err != nil {
		return sub, s.fault("reading a subject", err)
	}
	sub.Kept, sub.Conflict = r.Kept, conflict != 0
	return sub, nil
}

// History gives every entry of a subject in the order of arrival.
func (s *Store) History(ctx context.Context, subject string) ([]thwart.Kept, error) {
	if !thwart.IsID(subject) {
		return nil, fmt.Errorf("subject %.60q: %w", subject, thwart.ErrNotFound)
	}
	out, err := s.entries(ctx, "SELECT "+entryColumns+" FROM entries WHERE subject = $1 ORDER BY cursor", subject)
	if err != nil {
		return nil, s.fault("reading a history", err)
	}
	if len(out) == 0 {
		return nil, fmt.Errorf("subject %s: %w", subject, thwart.ErrNotFound)
	}
	return out, nil
}

func (s *Store) entries(ctx context.Context, q string, args ...any) (out []thwart.Kept, err error) {
	rows, err := s.read.QueryContext(ctx, q, args...)
	if err != nil {
		return nil, err
	}
	err = eachRow(rows, func(rows *sql.Rows) error {
		var r row
		err := r.scan(rows)
		out = append(out, r.Kept)
		return err
	})
	return out, err
}

// Subjects lists things of one kind, by subject id.
func (s *Store) Subjects(ctx context.Context, q thwart.SubjectQuery) (page thwart.Page[thwart.Subject], err error) {
	limit, err := limitOf(q.Limit)
	if err != nil {
		return page, err
	}
	if !slices.Contains(thwart.Kinds, q.Kind) {
		return page, thwart.FieldErrors{{Field: "kind", Value: string(q.Kind), Accepted: fmt.Sprint(thwart.Kinds)}}
	}
	var a args
	where := "s.kind = " + a.add(string(q.Kind))
	if q.Parent != "" {
		if !thwart.IsID(q.Parent) {
			return page, thwart.FieldErrors{{Field: "parent", Value: q.Parent, Accepted: "the id of a subject"}}
		}
		where += " AND s.parent <> '' AND s.parent = " + a.add(q.Parent)
	}
	if len(q.Parents) > 0 {
		in, err := among(&a, q.Parents, MaxLimit)
		if err != nil {
			return page, err
		}
		where += " AND s.parent <> '' AND s.parent IN " + in
	}
	if len(q.IDs) > 0 {
		in, err := among(&a, q.IDs, MaxLimit)
		if err != nil {
			return page, err
		}
		where += " AND s.subject IN " + in
	}
	if !q.Removed {
		where += " AND s.removed = 0"
	}
	if q.After != "" {
		keys, err := parseCursor(q.After, "subject", "")
		if err != nil {
			return page, err
		}
		where += " AND s.subject > " + a.add(keys[0])
	}
	text := "SELECT " + prefixed("e", entryColumns) + ", s.conflict, s.versions FROM subjects s JOIN entries e ON e.cursor = s.head WHERE " +
		where + " ORDER BY s.subject LIMIT " + strconv.Itoa(limit+1)
	rows, err := s.read.QueryContext(ctx, text, a...)
	if err != nil {
		return page, s.fault("listing subjects", err)
	}
	page.Items = []thwart.Subject{}
	err = eachRow(rows, func(rows *sql.Rows) error {
		var r row
		var sub thwart.Subject
		var conflict int64
		err := r.scan(rows, &conflict, &sub.Versions)
		sub.Kept, sub.Conflict = r.Kept, conflict != 0
		page.Items = append(page.Items, sub)
		return err
	})
	if err != nil {
		return page, s.fault("listing subjects", err)
	}
	if len(page.Items) > limit {
		page.Items = page.Items[:limit]
		page.Next = cursor{"subject", []any{page.Items[limit-1].Subject}}.String()
	}
	return page, nil
}

// among writes a list of ids; nothing is in an empty one.
func among(a *args, ids []string, most int) (string, error) {
	if len(ids) > most {
		return "", thwart.FieldErrors{{Field: "ids", Value: fmt.Sprint(len(ids), " ids"), Accepted: fmt.Sprintf("at most %d ids", most)}}
	}
	if len(ids) == 0 {
		return "(NULL)", nil
	}
	marks := make([]string, len(ids))
	for i, id := range ids {
		if !thwart.IsID(id) {
			return "", thwart.FieldErrors{{Field: "ids", Value: id, Accepted: "ids of subjects"}}
		}
		marks[i] = a.add(id)
	}
	return "(" + strings.Join(marks, ", ") + ")", nil
}

// Changes gives entries of the kinds that arrived after a cursor. All is read in one statement, and so from one state: a
// cursor handed out never runs past an entry that was not yet visible.
func (s *Store) Changes(ctx context.Context, kinds []thwart.Kind, after int64, limit int) ([]thwart.Kept, int64, error) {
	limit, err := limitOf(limit)
	if err != nil {
		return nil, after, err
	}
	var a args
	var text string
	if len(kinds) == 0 {
		text = "SELECT " + entryColumns + " FROM entries WHERE cursor > " + a.add(after) + " ORDER BY cursor LIMIT " + strconv.Itoa(limit)
	} else {
		// One short walk along the index for each kind; a filter over all entries would walk past every inspection of the
		// season to find the next water.
		kinds = slices.Compact(slices.Sorted(slices.Values(kinds)))
		parts := make([]string, len(kinds))
		for i, k := range kinds {
			if !slices.Contains(thwart.Kinds, k) {
				return nil, after, thwart.FieldErrors{{Field: "kinds", Value: string(k), Accepted: fmt.Sprint(thwart.Kinds)}}
			}
			parts[i] = fmt.Sprintf("SELECT cursor FROM (SELECT cursor FROM entries WHERE kind = %s AND cursor > %s ORDER BY cursor LIMIT %d) AS k%d",
				a.add(string(k)), a.add(after), limit, i)
		}
		// The cursors are cut to size before a row is read. Joined instead, SQLite reads and sorts as many whole rows of every kind.
		text = "SELECT " + entryColumns + " FROM entries WHERE cursor IN (SELECT cursor FROM (" + strings.Join(parts, " UNION ALL ") +
			") AS c ORDER BY cursor LIMIT " + strconv.Itoa(limit) + ") ORDER BY cursor"
	}
	out, err := s.entries(ctx, text, a...)
	if err != nil {
		return nil, after, s.fault("listing changes", err)
	}
	if len(out) > 0 {
		after = out[len(out)-1].Cursor
	}
	return out, after, nil
}

// sorts gives the columns behind each order of encounters. The time and the id make every order total.
var sorts = map[string]string{"at": "at", "outcome": "given_rank", "class": "class", "launch": "launch", "seconds": "seconds"}

// Encounters lists encounters. Sorted by outcome, the mildest comes first.
func (s *Store) Encounters(ctx context.Context, q thwart.EncounterQuery) (page thwart.Page[thwart.EncounterRow], err error) {
	limit, err := limitOf(q.Limit)
	if err != nil {
		return page, err
	}
	order := q.Sort
	if order == "" {
		order = "-at"
	}
	name, descending := strings.CutPrefix(order, "-")
	column, ok := sorts[name]
	if !ok {
		return page, thwart.FieldErrors{{
			Field: "sort", Value: q.Sort, Accepted: strings.Join(thwart.EncounterSorts, ", ") + ", with - in front for descending",
		}}
	}
	var a args
	where, err := encounterFilter(q, &a)
	if err != nil {
		return page, err
	}
	columns, sample := []string{column, "at", "subject"}, []any{any(int64(0)), int64(0), ""}
	switch name {
	case "at":
		columns, sample = columns[1:], sample[1:]
	case "class", "launch":
		sample[0] = ""
	case "seconds":
		sample[0] = float64(0)
	}
	than, direction := ">", ""
	if descending {
		than, direction = "<", " DESC"
	}
	if q.After != "" {
		keys, err := parseCursor(q.After, order, sample...)
		if err != nil {
			return page, err
		}
		marks := make([]string, len(keys))
		for i, k := range keys {
			marks[i] = a.add(k)
		}
		where = append(where, "("+strings.Join(columns, ", ")+") "+than+" ("+strings.Join(marks, ", ")+")")
	}
	text := "SELECT " + encounterColumns + " FROM encounters"
	if len(where) > 0 {
		text += " WHERE " + strings.Join(where, " AND ")
	}
	text += " ORDER BY " + strings.Join(columns, direction+", ") + direction + " LIMIT " + strconv.Itoa(limit+1)
	rows, err := s.read.QueryContext(ctx, text, a...)
	if err != nil {
		return page, s.fault("listing encounters", err)
	}
	page.Items = []thwart.EncounterRow{}
	var last []any
	err = eachRow(rows, func(rows *sql.Rows) error {
		r, rank, err := scanEncounter(rows)
		if err != nil {
			return err
		}
		page.Items = append(page.Items, r)
		if len(page.Items) == limit {
			last = []any{ms(r.At), r.Subject}
			switch name {
			case "outcome":
				last = append([]any{rank}, last...)
			case "class":
				last = append([]any{r.Class}, last...)
			case "launch":
				last = append([]any{r.Launch}, last...)
			case "seconds":
				last = append([]any{r.Seconds}, last...)
			}
		}
		return nil
	})
	if err != nil {
		return page, s.fault("listing encounters", err)
	}
	if len(page.Items) > limit {
		page.Items = page.Items[:limit]
		page.Next = cursor{order, last}.String()
	}
	return page, s.sameCraft(ctx, page.Items)
}

// CountEncounters counts the rows that fit a filter.
func (s *Store) CountEncounters(ctx context.Context, q thwart.EncounterQuery) (n int, err error) {
	var a args
	where, err := encounterFilter(q, &a)
	if err != nil {
		return 0, err
	}
	text := "SELECT COUNT(*) FROM encounters"
	if len(where) > 0 {
		text += " WHERE " + strings.Join(where, " AND ")
	}
	if err := s.read.QueryRowContext(ctx, text, a...).Scan(&n); err != nil {
		return 0, s.fault("counting encounters", err)
	}
	return n, nil
}

func scanEncounter(rows *sql.Rows) (r thwart.EncounterRow, rank int64, err error) {
	var at, ended, day, own, refused, test, conflict int64
	err = rows.Scan(&r.Subject, &at, &ended, &day, &r.Shift, &r.Launch, &own, &r.Steward, &r.Class, &r.LastWater, &r.NextWater,
		(*string)(&r.Computed), (*string)(&r.Given), &rank, &refused, &test, &r.Findings, &r.Seconds, &r.Mark, &conflict)
	r.At, r.Refused, r.Test, r.Conflict = fromMS(at), refused != 0, test != 0, conflict != 0
	return r, rank, err
}

func encounterFilter(q thwart.EncounterQuery, a *args) (where []string, err error) {
	if !q.From.IsZero() {
		where = append(where, "at >= "+a.add(ms(q.From)))
	}
	if !q.To.IsZero() {
		where = append(where, "at < "+a.add(ms(q.To)))
	}
	// Class and outcome leave a large part of a season each. Beside a filter that leaves little they are no way to the rows: SQLite
	// takes any index with the wanted order for as good as another, so they are written as what no index holds.
	class, rank := "class", "given_rank"
	if q.Launch+q.Steward+q.LastWater+q.NextWater+q.Mark != "" || q.IDs != nil {
		class, rank = "class || ''", "given_rank + 0"
	}
	for _, f := range []struct{ field, column, value string }{
		{"launch", "launch", q.Launch}, {"steward", "steward", q.Steward}, {"lastWater", "last_water", q.LastWater},
		{"nextWater", "next_water", q.NextWater}, {"mark", "mark", q.Mark}, {"class", class, q.Class},
	} {
		if f.value == "" {
			continue
		}
		if strings.IndexByte(f.value, 0) >= 0 {
			return nil, thwart.FieldErrors{{Field: f.field, Value: "NUL", Accepted: "text without NUL"}}
		}
		where = append(where, f.column+" = "+a.add(f.value))
	}
	if q.IDs != nil {
		in, err := among(a, q.IDs, thwart.MostEncounterIDs)
		if err != nil {
			return nil, err
		}
		where = append(where, "subject IN "+in)
	}
	if q.Mark != "" {
		where = append(where, "mark <> ''") // said once more, because the index of marks holds only encounters that have one
	}
	if q.Outcome != "" {
		if q.Outcome.Rank() < 0 {
			return nil, thwart.FieldErrors{{Field: "outcome", Value: string(q.Outcome), Accepted: fmt.Sprint(thwart.Outcomes)}}
		}
		where = append(where, rank+" = "+a.add(int64(q.Outcome.Rank())), "refused = 0") // as thwart.LeftWith counts
	}
	for _, f := range []struct {
		field   string
		asked   thwart.Answer
		yes, no string
	}{{"refused", q.Refused, "refused = 1", "refused = 0"}, {"found", q.Found, "findings > 0", "findings = 0"}} {
		switch f.asked {
		case thwart.Yes:
			where = append(where, f.yes)
		case thwart.No:
			where = append(where, f.no)
		case thwart.Unknown:
		default:
			return nil, thwart.FieldErrors{{Field: f.field, Value: string(f.asked), Accepted: "yes, no, or nothing"}}
		}
	}
	if !q.WithTests {
		where = append(where, "test = 0")
	}
	if q.Flagged {
		where = append(where, "conflict = 1")
	}
	return where, nil
}
