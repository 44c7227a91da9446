package store

import (
	"context"
	"database/sql"
	"fmt"
	"slices"
	"strings"
	"time"

	"thwart"
)

// splits gives the column of encounters behind each split, and whether shifts and tallies can be split so too.
var splits = map[string]struct {
	column string
	effort string // column of shifts; empty where hours cannot be split so
}{
	"": {"''", "''"}, "launch": {"launch", "launch"},
	"day": {"day", "day"}, "week": {"day", "day"}, "month": {"day", "day"},
	"class": {"class", ""}, "outcome": {"given_rank", ""}, "last_water": {"last_water", ""}, "steward": {"steward", ""},
}

// Totals sums a season. Planted craft are left out of every count of craft.
//
// Days, weeks and months are those of the wall clock at the launch: keys read 2026-07-04, 2026-W27 (ISO 8601) and 2026-07. A
// shift counts whole on the day it began and where From and To include its beginning. Steward-hours are its length times its
// people; a shift that is still open runs to the end of its last encounter, planted craft included. Refused counts
// encounters, which are under no outcome, as [thwart.LeftWith] says; PassedBy, TallyRefused and TurnedAway come from tallies and, like hours, are split by launch and time only. Craft
// that were never judged are in Encounters and in no outcome. Encounters that a person has decided were one craft count once,
// as [thwart.Total.Doubles] says.
func (s *Store) Totals(ctx context.Context, q thwart.TotalsQuery) ([]thwart.Total, error) {
	split, ok := splits[q.By]
	if !ok {
		return nil, thwart.FieldErrors{{Field: "by", Value: q.By, Accepted: strings.Join(thwart.TotalsBys[1:], ", ") + ", or nothing for one row"}}
	}
	var sums summer
	err := s.inRead(ctx, "summing", func(w work) error {
		sums = summer{by: q.By, rows: map[string]*thwart.Total{}, effort: split.effort != ""}
		if q.By == "" {
			sums.at("")
		}
		if err := sums.encounters(ctx, w, split.column, q); err != nil {
			return err
		}
		if err := sums.joinPairs(ctx, w, q); err != nil {
			return err
		}
		if split.effort == "" {
			return nil
		}
		if err := sums.hours(ctx, w, split.effort, q); err != nil {
			return err
		}
		return sums.tallies(ctx, w, split.effort, q)
	})
	if err != nil {
		return nil, err
	}
	out := make([]thwart.Total, 0, len(sums.rows))
	for _, t := range sums.rows {
		if sums.effort {
			t.Hours = float64(sums.msOf[t.Key]) / 3.6e6
		}
		out = append(out, *t)
	}
	slices.SortFunc(out, func(a, b thwart.Total) int { return strings.Compare(a.Key, b.Key) })
	return out, nil
}

type summer struct {
	by     string
	effort bool
	rows   map[string]*thwart.Total
	msOf   map[string]int64 // steward-milliseconds, so that no sum depends on its order
}

func (x *summer) at(key string) *thwart.Total {
	t := x.rows[key]
	if t == nil {
		t = &thwart.Total{Key: key, ByOutcome: map[thwart.Outcome]int{}, Hours: -1}
		x.rows[key] = t
	}
	return t
}

// key turns what the database grouped by into the key of a row.
func (x *summer) key(grouped any) (string, error) {
	switch v := grouped.(type) {
	case string:
		return v, nil
	case []byte:
		return string(v), nil
	case int64:
		if x.by == "outcome" {
			if v >= 0 && v < int64(len(thwart.Outcomes)) {
				return string(thwart.Outcomes[v]), nil
			}
			return "", nil // not judged, or counted by its own word
		}
		d := time.Unix(v*86400, 0).UTC()
		switch x.by {
		case "week":
			y, w := d.ISOWeek()
			return fmt.Sprintf("%04d-W%02d", y, w), nil
		case "month":
			return d.Format("2006-01"), nil
		}
		return d.Format(time.DateOnly), nil
	}
	return "", fmt.Errorf("a sum was grouped by %T", grouped)
}

func window(column string, q thwart.TotalsQuery, a *args) string {
	w := ""
	if !q.From.IsZero() {
		w += " AND " + column + " >= " + a.add(ms(q.From))
	}
	if !q.To.IsZero() {
		w += " AND " + column + " < " + a.add(ms(q.To))
	}
	return w
}

func (x *summer) encounters(ctx context.Context, w work, column string, q thwart.TotalsQuery) error {
	var a args
	where := "test = 0" + window("at", q, &a)
	text := "SELECT " + column + " AS k, COUNT(*)"
	for i := range thwart.Outcomes {
		text += fmt.Sprintf(", COUNT(*) FILTER (WHERE refused = 0 AND given_rank = %d)", i) // a row that is left out costs less than one that adds nothing
	}
	text += ", COUNT(*) FILTER (WHERE refused = 1), COUNT(*) FILTER (WHERE findings > 0), COUNT(*) FILTER (WHERE refused = 1 AND findings > 0)" +
		" FROM encounters WHERE " + where
	if column != "''" {
		text += " GROUP BY " + column
	}
	rows, err := w.query(ctx, text, a...)
	if err != nil {
		return err
	}
	err = eachRow(rows, func(rows *sql.Rows) error {
		var grouped any
		var n, refused, findings, both int
		outcomes := make([]int, len(thwart.Outcomes))
		dest := []any{&grouped, &n}
		for i := range outcomes {
			dest = append(dest, &outcomes[i])
		}
		if err := rows.Scan(append(dest, &refused, &findings, &both)...); err != nil {
			return err
		}
		if x.by == "outcome" && refused > 0 { // of a rank some were refused; they are a row of their own
			t := x.at(thwart.TotalRefused)
			t.Encounters += refused
			t.Refused += refused
			t.Findings += both
			if n, refused, findings = n-refused, 0, findings-both; n == 0 {
				return nil
			}
		}
		key, err := x.key(grouped)
		if err != nil {
			return err
		}
		t := x.at(key)
		t.Encounters += n
		t.Refused += refused
		t.Findings += findings
		for i, m := range outcomes {
			if m > 0 {
				t.ByOutcome[thwart.Outcomes[i]] += m
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	// Outcomes that this program does not know, of a newer one.
	text = "SELECT " + column + " AS k, given, COUNT(*), SUM(CASE WHEN findings > 0 THEN 1 ELSE 0 END) FROM encounters" +
		" WHERE given_rank = -1 AND given <> '' AND refused = 0 AND " + where + " GROUP BY given"
	if column != "''" {
		text += ", " + column
	}
	rows, err = w.query(ctx, text, a...)
	if err != nil {
		return err
	}
	return eachRow(rows, func(rows *sql.Rows) error {
		var grouped any
		var given string
		var n, findings int
		if err := rows.Scan(&grouped, &given, &n, &findings); err != nil {
			return err
		}
		key, err := x.key(grouped)
		if err != nil {
			return err
		}
		if x.by == "outcome" { // these were counted among those not judged
			none := x.at("")
			none.Encounters -= n
			none.Findings -= findings
			if none.Encounters == 0 {
				delete(x.rows, "")
			}
			own := x.at(given)
			own.Encounters += n
			own.Findings += findings
			key = given
		}
		x.at(key).ByOutcome[thwart.Outcome(given)] += n
		return nil
	})
}

func (x *summer) hours(ctx context.Context, w work, column string, q thwart.TotalsQuery) error {
	var a args
	x.msOf = map[string]int64{}
	text := "SELECT " + column + " AS k, SUM(people * (COALESCE(to_at, (SELECT MAX(e.ended_at) FROM encounters e" +
		" WHERE e.shift = shifts.subject AND e.at >= shifts.from_at), from_at) - from_at)) FROM shifts WHERE from_at >= -9223372036854775807" +
		window("from_at", q, &a)
	if column != "''" {
		text += " GROUP BY " + column
	}
	rows, err := w.query(ctx, text, a...)
	if err != nil {
		return err
	}
	return eachRow(rows, func(rows *sql.Rows) error {
		var grouped any
		var n sql.NullInt64
		if err := rows.Scan(&grouped, &n); err != nil || !n.Valid {
			return err
		}
		key, err := x.key(grouped)
		x.at(key)
		x.msOf[key] += n.Int64
		return err
	})
}

func (x *summer) tallies(ctx context.Context, w work, column string, q thwart.TotalsQuery) error {
	var a args
	group := column
	switch column {
	case "launch":
		group = "COALESCE(s.launch, '')"
	case "day":
		group = "t.day"
	}
	text := "SELECT " + group + " AS k, SUM(t.passed_by), SUM(t.refused), SUM(t.turned_away) FROM tallies t LEFT JOIN shifts s ON s.subject = t.shift WHERE t.passed_by >= 0" +
		window("t.at", q, &a)
	if column != "''" {
		text += " GROUP BY " + group
	}
	rows, err := w.query(ctx, text, a...)
	if err != nil {
		return err
	}
	return eachRow(rows, func(rows *sql.Rows) error {
		var grouped any
		var passed, refused, turned sql.NullInt64
		if err := rows.Scan(&grouped, &passed, &refused, &turned); err != nil || !passed.Valid {
			return err
		}
		key, err := x.key(grouped)
		t := x.at(key)
		t.PassedBy += int(passed.Int64)
		t.TallyRefused += int(refused.Int64)
		t.TurnedAway += int(turned.Int64)
		return err
	})
}
