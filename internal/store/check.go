package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"strings"

	"thwart"
)

// MaxFaults is how many faults a check lists before it only counts on.
const MaxFaults = 10000

// checkPage is about how many entries a check holds at a time.
const checkPage = 2000

// Check reads everything in one state of the database and compares: every entry with its sums and seal; every subject and
// every row of a list with what the entries say; every parent and every superseded entry with what is there; the number of
// entries and the fold of their sums with the ledger, so that a row that has gone altogether is missed too; refusals and the
// audit trail with their sums. A SQLite file is also checked by SQLite itself. Accounts, devices and invites carry no sums.
//
// Each fault names the id it is about. A correction or a part whose original has not arrived yet is reported as well: the
// records do not hold together until it does.
func (s *Store) Check(ctx context.Context) (thwart.CheckReport, error) {
	var c checker
	err := s.inRead(ctx, "checking", func(w work) error {
		c = checker{w: w, faults: []string{}}
		return c.all(ctx, s.d)
	})
	if err != nil {
		return thwart.CheckReport{}, err
	}
	if c.more > 0 {
		c.faults = append(c.faults, fmt.Sprintf("and %d more faults", c.more))
	}
	return thwart.CheckReport{Entries: c.entries, Subjects: c.subjects, Faults: c.faults}, nil
}

type checker struct {
	w                 work
	entries, subjects int64
	fold              int64
	faults            []string
	more              int
}

func (c *checker) fault(format string, a ...any) {
	if len(c.faults) >= MaxFaults {
		c.more++
		return
	}
	c.faults = append(c.faults, fmt.Sprintf(format, a...))
}

func (c *checker) all(ctx context.Context, d *dialect) error {
	if d == &sqliteDialect {
		if err := c.medium(ctx); err != nil {
			return err
		}
	}
	if err := c.byCursor(ctx); err != nil {
		return err
	}
	for after, done := "", false; !done; {
		var err error
		if after, done, err = c.page(ctx, after); err != nil {
			return err
		}
	}
	var l ledger
	err := c.w.row(ctx, "SELECT cursor, entries, fold FROM ledger WHERE id = 1").Scan(&l.cursor, &l.entries, &l.fold)
	switch {
	case errors.Is(err, sql.ErrNoRows):
		c.fault("ledger: its row is missing")
	case err != nil:
		return err
	default:
		if l.entries != c.entries || l.fold != c.fold {
			c.fault("ledger: it counts %d entries with fold %x, there are %d with fold %x", l.entries, uint64(l.fold), c.entries, uint64(c.fold)) // bits
		}
		var last int64
		if err := c.w.row(ctx, "SELECT COALESCE(MAX(cursor), 0) FROM entries").Scan(&last); err != nil {
			return err
		}
		if last > l.cursor {
			c.fault("ledger: its cursor %d is behind entry %d", l.cursor, last)
		}
	}
	if err := c.dangling(ctx); err != nil {
		return err
	}
	if err := c.checkPictures(ctx); err != nil {
		return err
	}
	return c.others(ctx)
}

// medium lets SQLite check its own file.
func (c *checker) medium(ctx context.Context) error {
	rows, err := c.w.query(ctx, "PRAGMA integrity_check")
	if err != nil {
		return err
	}
	return eachRow(rows, func(rows *sql.Rows) error {
		var text string
		err := rows.Scan(&text)
		if text != "ok" {
			c.fault("file: %s", text)
		}
		return err
	})
}

// byCursor counts without an index on subjects, which damage may have made miss rows.
func (c *checker) byCursor(ctx context.Context) error {
	var n int64
	if err := c.w.row(ctx, "SELECT COUNT(*) FROM entries WHERE cursor > -9223372036854775808").Scan(&n); err != nil {
		return err
	}
	c.entries = n
	return nil
}

// page checks the subjects that follow after, about a page of entries of them.
func (c *checker) page(ctx context.Context, after string) (last string, done bool, err error) {
	var rows []row
	for limit := checkPage; ; limit *= 4 {
		rows = rows[:0]
		r, err := c.w.query(ctx, fmt.Sprintf("SELECT %s FROM entries WHERE subject > $1 ORDER BY subject, cursor LIMIT %d", entryColumns, limit), after)
		if err != nil {
			return "", false, err
		}
		if err := eachRow(r, func(r *sql.Rows) error {
			var x row
			err := x.scan(r)
			rows = append(rows, x)
			return err
		}); err != nil {
			return "", false, err
		}
		if len(rows) < limit {
			done = true
			break
		}
		// The last subject may go on beyond the page: it is left for the next one, unless it is the only one.
		end := rows[len(rows)-1].Subject
		cut := slices.IndexFunc(rows, func(x row) bool { return x.Subject == end })
		if cut > 0 {
			rows = rows[:cut]
			break
		}
	}
	if len(rows) > 0 {
		last = rows[len(rows)-1].Subject
	}
	until := ""
	if !done {
		until = last
	}
	if err := c.compare(ctx, rows, after, until); err != nil {
		return "", false, err
	}
	return last, done, nil
}

// compare holds the entries of subjects after one id and up to another (empty: to the end) against the tables.
func (c *checker) compare(ctx context.Context, rows []row, after, until string) error {
	var want []standing
	var ask []string
	for i := 0; i < len(rows); {
		j := i
		var entries []thwart.Kept
		ids := map[string]bool{}
		for ; j < len(rows) && rows[j].Subject == rows[i].Subject; j++ {
			c.entry(&rows[j])
			entries = append(entries, rows[j].Kept)
			ids[rows[j].ID] = true
		}
		for _, e := range entries {
			if e.Supersedes != "" && !ids[e.Supersedes] {
				c.fault("entry %s: what it supersedes, %s, is not there", e.ID, e.Supersedes)
			}
		}
		st, err := stand(entries, nil)
		if err != nil {
			c.fault("subject %s: %v", rows[i].Subject, err)
			st = standing{subject: rows[i].Subject}
		} else if x := st.facts.enc; x != nil && !x.launchOwn {
			ask = append(ask, x.shift)
		}
		want = append(want, st)
		i = j
	}
	slices.Sort(ask)
	launches, err := shiftLaunches(ctx, c.w, slices.Compact(ask))
	if err != nil {
		return err
	}
	expected := map[string]map[string]string{"subjects": {}, "encounters": {}, "shifts": {}, "tallies": {}, "pairs": {}}
	unread := map[string]bool{}
	for i := range want {
		st := &want[i]
		if st.kind == "" {
			unread[st.subject] = true // reported; its rows cannot be compared
			continue
		}
		c.subjects++
		if x := st.facts.enc; x != nil {
			if !x.launchOwn {
				x.resolvedLaunch = launches[x.shift]
			}
			expected["encounters"][st.subject] = line(st.encounterArgs())
		}
		if st.facts.shift != nil {
			expected["shifts"][st.subject] = line(st.shiftArgs())
		}
		if st.facts.tally != nil {
			expected["tallies"][st.subject] = line(st.tallyArgs())
		}
		if st.facts.pair != nil {
			expected["pairs"][st.subject] = line(st.pairArgs())
		}
		expected["subjects"][st.subject] = line(st.args())
	}
	for _, t := range []struct{ name, columns string }{
		{"subjects", subjectColumns}, {"encounters", encounterColumns}, {"shifts", shiftColumns}, {"tallies", tallyColumns},
		{"pairs", pairColumns},
	} {
		q := "SELECT " + t.columns + " FROM " + t.name + " WHERE subject > $1"
		a := []any{after}
		if until != "" {
			q += " AND subject <= $2"
			a = append(a, until)
		}
		rows, err := c.w.query(ctx, q, a...)
		if err != nil {
			return err
		}
		width := strings.Count(t.columns, ",") + 1
		err = eachRow(rows, func(rows *sql.Rows) error {
			got := make([]any, width)
			dest := make([]any, width)
			for i := range got {
				dest[i] = &got[i]
			}
			if err := rows.Scan(dest...); err != nil {
				return err
			}
			id := fmt.Sprint(got[0])
			switch w, ok := expected[t.name][id]; {
			case unread[id]:
			case !ok:
				c.fault("%s %s: no entries say so", t.name, id)
			case w != line(got):
				c.fault("%s %s: the entries say otherwise", t.name, id)
			}
			delete(expected[t.name], id)
			return nil
		})
		if err != nil {
			return err
		}
		missing := make([]string, 0, len(expected[t.name]))
		for id := range expected[t.name] {
			missing = append(missing, id)
		}
		slices.Sort(missing)
		for _, id := range missing {
			c.fault("%s %s: the row is missing", t.name, id)
		}
	}
	return nil
}

// line writes the values of a row so that two rows can be compared, whichever types a driver gives.
func line(values []any) string {
	var b strings.Builder
	for _, v := range values {
		if t, ok := v.([]byte); ok {
			v = string(t)
		}
		fmt.Fprintf(&b, "%v\x1f", v)
	}
	return b.String()
}

func (c *checker) entry(r *row) {
	c.fold ^= foldOf(r.sum)
	want := r.sum
	if r.keptSum != "" {
		want = r.keptSum
	}
	switch {
	case r.Sum() != want:
		c.fault("entry %s (cursor %d): its content does not have its sum", r.ID, r.Cursor)
	case r.sealed() != r.seal:
		c.fault("entry %s (cursor %d): its times, its sums or the program's version were changed", r.ID, r.Cursor)
	}
	if err := r.Validate(); err != nil {
		c.fault("entry %s: %v", r.ID, err)
	}
}

// dangling finds parts of things that are not there.
func (c *checker) dangling(ctx context.Context) error {
	rows, err := c.w.query(ctx, "SELECT s.subject, s.kind, s.parent FROM subjects s LEFT JOIN subjects p ON p.subject = s.parent"+
		" WHERE s.parent <> '' AND p.subject IS NULL ORDER BY s.subject")
	if err != nil {
		return err
	}
	err = eachRow(rows, func(rows *sql.Rows) error {
		var id, kind, parent string
		err := rows.Scan(&id, &kind, &parent)
		c.fault("subject %s: the %s belongs to %s, which is not there", id, kind, parent)
		return err
	})
	return err
}

func (c *checker) others(ctx context.Context) error {
	rows, err := c.w.query(ctx, "SELECT "+refusalColumns+" FROM refusals ORDER BY id")
	if err != nil {
		return err
	}
	err = eachRow(rows, func(rows *sql.Rows) error {
		r, sum, err := scanRefusal(rows)
		if err != nil && r.ID != "" { // read, but its errors are no JSON
			c.fault("refusal %s: %v", r.ID, err)
			return nil
		}
		if err != nil {
			return err
		}
		if purged := r.SettledAt != nil && string(r.Raw) == "null"; rawSum(r.Device, r.Raw) != sum && !purged {
			c.fault("refusal %s: its content does not have its sum", r.ID)
		}
		return nil
	})
	if err != nil {
		return err
	}
	if rows, err = c.w.query(ctx, "SELECT "+auditColumns+" FROM audit ORDER BY at, id"); err != nil {
		return err
	}
	return eachRow(rows, func(rows *sql.Rows) error {
		a, seal, err := scanAudit(rows)
		if err == nil && auditSeal(a) != seal {
			c.fault("audit %s: the line was changed", a.ID)
		}
		return err
	})
}
