package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"thwart"
	"thwart/internal/store/storetest"
)

// both runs a test on an empty store of each database.
func both(t *testing.T, run func(t *testing.T, dsn string)) {
	t.Run("sqlite", func(t *testing.T) { run(t, filepath.Join(t.TempDir(), "a.db")) })
	t.Run("postgres", func(t *testing.T) { run(t, storetest.Postgres(t).DSN(t)) })
}

func openTest(t testing.TB, dsn string) *Store {
	t.Helper()
	s, err := Open(context.Background(), dsn, Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	return s
}

// season fills a store and gives what it was filled with.
func season(t testing.TB, s *Store, seed uint64, shifts int) *storetest.World {
	t.Helper()
	w := storetest.NewWorld(seed)
	w.Places(4, 4, 4)
	w.Season(shifts, 6)
	storetest.MustPut(t, s, w.Entries...)
	ctx := context.Background()
	at := w.Entries[0].MadeAt
	for i := range 5 {
		id := fmt.Sprint("x", i)
		line := fmt.Sprintf("%s-%x", id, i*i*7919)
		for _, err := range []error{
			s.AddAudit(ctx, thwart.Audit{ID: line, At: at, Who: "a", What: "sign_in"}),
			s.Refuse(ctx, thwart.Refusal{ID: line, Raw: []byte(id + "\x00\xff"), Errors: thwart.FieldErrors{{Field: "id"}}, ReceivedAt: at}),
			s.CreateAccount(ctx, thwart.Account{ID: id, Login: id, CreatedAt: at}),
			s.CreateInvite(ctx, thwart.Invite{ID: id, CodeHash: []byte(id), CreatedAt: at, ExpiresAt: at.AddDate(1, 0, 0)}),
		} {
			if err != nil {
				t.Fatal(err)
			}
		}
	}
	if _, err := s.UseInvite(ctx, []byte("x0"), thwart.Device{ID: "d", PublicKey: []byte{0, 1}, EnrolledAt: at}, at); err != nil {
		t.Fatal(err)
	}
	return w
}

// raw runs a statement past the store's own rules, as damage would.
func raw(t testing.TB, s *Store, statement string, args ...any) int64 {
	t.Helper()
	res, err := s.conn.ExecContext(context.Background(), statement, args...)
	if err != nil {
		t.Fatalf("%s: %v", statement, err)
	}
	n, err := res.RowsAffected()
	if err != nil {
		t.Fatal(err)
	}
	return n
}

// TestCheckFindsEveryChange changes one value of one row at a time: any column of any table that carries records. Every
// change must be found, and be named by the id of its row.
func TestCheckFindsEveryChange(t *testing.T) {
	t.Parallel()
	s := openTest(t, filepath.Join(t.TempDir(), "a.db"))
	season(t, s, 1, 5)
	if rep, err := s.Purge(context.Background(), thwart.PurgeOrder{MarksBefore: s.now(), NotesBefore: s.now(), At: s.now()}); err != nil || len(rep.Removed) == 0 {
		t.Fatal(rep, err)
	}
	storetest.MustBeWhole(t, s)
	raw(t, s, "DROP TRIGGER entries_same; DROP TRIGGER entries_keep; DROP TRIGGER audit_same; DROP TRIGGER audit_keep; PRAGMA foreign_keys = 0")
	rng := rand.New(rand.NewPCG(1, 2))
	tried := 0
	for _, x := range []struct{ table, key, columns string }{
		{"entries", "id", entryColumns}, {"subjects", "subject", subjectColumns}, {"encounters", "subject", encounterColumns},
		{"shifts", "subject", shiftColumns}, {"tallies", "subject", tallyColumns}, {"refusals", "id", "raw, raw_sum, device"},
		{"audit", "id", auditColumns},
	} {
		for _, column := range strings.Split(x.columns, ", ") {
			for range 3 {
				var id, kind, old string
				q := fmt.Sprintf("SELECT %s, typeof(%s), %s FROM %s ORDER BY %s LIMIT 1 OFFSET ABS(RANDOM()) %% (SELECT COUNT(*) FROM %s)",
					x.key, column, column, x.table, x.key, x.table)
				var value any
				if err := s.read.QueryRow(q).Scan(&id, &kind, &value); err != nil {
					t.Fatal(err)
				}
				old = fmt.Sprint(value)
				var change any
				switch v := value.(type) {
				case int64:
					if change = v ^ 1<<rng.IntN(20); column == "removed" || column == "refused" || column == "test" || column == "conflict" || column == "launch_own" {
						change = 1 - v
						if x.table == "tallies" {
							change = v + 1
						}
					}
				case float64:
					change = v + 1
				case nil:
					change = int64(5)
				case []byte:
					change = flip(v, rng)
				case string:
					change = string(flip([]byte(v), rng))
				}
				// The bytes of a text may be no UTF-8 after a flip; STRICT tables take them all the same.
				where := fmt.Sprintf(" WHERE %s = $2", x.key)
				n := raw(t, s, "UPDATE "+x.table+" SET "+column+" = $1"+where, change, id)
				if n != 1 {
					t.Fatalf("%s.%s of %s: %d rows changed", x.table, column, id, n)
				}
				tried++
				rep, err := s.Check(context.Background())
				if err != nil {
					t.Errorf("%s.%s of %s: %v", x.table, column, id, err)
				} else {
					found := slices.ContainsFunc(rep.Faults, func(f string) bool {
						return strings.Contains(f, id) || strings.Contains(f, fmt.Sprint(change))
					})
					if !found {
						t.Errorf("%s.%s of %s (%s) was %q and is %q: faults %q", x.table, column, id, kind, old, change, rep.Faults)
					}
				}
				key := id
				if column == x.key {
					key = change.(string)
				}
				if n := raw(t, s, "UPDATE "+x.table+" SET "+column+" = $1"+where, value, key); n != 1 {
					t.Fatalf("%s.%s of %s: could not be put back", x.table, column, id)
				}
			}
		}
	}
	for _, c := range []struct{ statement, undo string }{
		{"CREATE TABLE keep AS SELECT * FROM entries ORDER BY cursor DESC LIMIT 1; DELETE FROM entries WHERE cursor = (SELECT cursor FROM keep)", "INSERT INTO entries SELECT * FROM keep; DROP TABLE keep"},
		{"CREATE TABLE keep AS SELECT * FROM subjects WHERE kind = 'photo' LIMIT 1; DELETE FROM subjects WHERE subject = (SELECT subject FROM keep)", "INSERT INTO subjects SELECT * FROM keep; DROP TABLE keep"},
		{"CREATE TABLE keep AS SELECT * FROM encounters LIMIT 1; DELETE FROM encounters WHERE subject = (SELECT subject FROM keep)", "INSERT INTO encounters SELECT * FROM keep; DROP TABLE keep"},
		{"UPDATE ledger SET entries = entries + 1", "UPDATE ledger SET entries = entries - 1"},
		{"UPDATE ledger SET cursor = 1", "UPDATE ledger SET cursor = (SELECT MAX(cursor) FROM entries)"},
		// A thing gone with everything that speaks of it: only the ledger remembers.
		{"CREATE TABLE keep AS SELECT * FROM entries WHERE kind = 'photo' LIMIT 1; CREATE TABLE keep2 AS SELECT * FROM subjects WHERE subject = (SELECT subject FROM keep);" +
			"DELETE FROM subjects WHERE subject = (SELECT subject FROM keep); DELETE FROM entries WHERE cursor = (SELECT cursor FROM keep)", "INSERT INTO entries SELECT * FROM keep; INSERT INTO subjects SELECT * FROM keep2; DROP TABLE keep; DROP TABLE keep2"},
	} {
		raw(t, s, c.statement)
		rep, err := s.Check(context.Background())
		if err != nil || len(rep.Faults) == 0 {
			t.Errorf("%s: faults %q, error %v", c.statement, rep.Faults, err)
		}
		raw(t, s, c.undo)
		tried++
	}
	storetest.MustBeWhole(t, s)
	t.Logf("%d changes, all of them found", tried)
}

// flip changes one bit such that the text stays one a database takes (no NUL).
func flip(b []byte, rng *rand.Rand) []byte {
	if len(b) == 0 {
		return []byte("x")
	}
	out := slices.Clone(b)
	for {
		i := rng.IntN(len(out))
		out[i] ^= 1 << rng.IntN(7)
		if out[i] != 0 {
			return out
		}
		out[i] = b[i]
	}
}

// TestAppendOnly: the database itself refuses to change or delete what was kept.
func TestAppendOnly(t *testing.T) {
	t.Parallel()
	both(t, func(t *testing.T, dsn string) {
		s := openTest(t, dsn)
		season(t, s, 2, 2)
		for _, q := range []string{
			"DELETE FROM entries WHERE cursor = 1", "UPDATE entries SET body = '{}' WHERE cursor = 1", "UPDATE entries SET why = 'x' WHERE cursor = 1",
			"UPDATE entries SET why = 'x', kept_sum = 'x' WHERE cursor = 1",
			"UPDATE entries SET person = '', device = '', seq = 0, kept_sum = 'x' WHERE kind = 'inspection' AND person <> ''", "DELETE FROM audit", "UPDATE audit SET who = 'nobody'",
		} {
			if _, err := s.inWriteExec(q); err == nil || !strings.Contains(err.Error(), "never") {
				t.Errorf("%s: %v", q, err)
			}
		}
		storetest.MustBeWhole(t, s)
	})
}

// TestMigrateFromEveryVersion fills the tables of each earlier version with rows that its program would have written, and
// opens them with this one.
func TestMigrateFromEveryVersion(t *testing.T) {
	t.Parallel()
	full := openTest(t, filepath.Join(t.TempDir(), "full.db"))
	w := season(t, full, 3, 10)
	newest, err := full.newest()
	if err != nil {
		t.Fatal(err)
	}
	for version := int64(1); version < newest; version++ {
		t.Run(fmt.Sprint("version", version), func(t *testing.T) {
			both(t, func(t *testing.T, dsn string) {
				fillOld(t, dsn, version, full)
				if _, err := Open(context.Background(), dsn, Options{ReadOnly: true}); err == nil || !strings.Contains(err.Error(), fmt.Sprint("version ", version)) {
					t.Errorf("an old database opened for reading: %v", err)
				}
				s := openTest(t, dsn)
				storetest.Compare(t, s, w)
				if rep, err := s.Purge(context.Background(), thwart.PurgeOrder{MarksBefore: s.now(), At: s.now()}); err != nil || rep.Removed["mark"] == 0 {
					t.Errorf("purging what version %d kept: %+v, %v", version, rep, err)
				}
				storetest.MustBeWhole(t, s)
				if v, err := s.version(context.Background()); err != nil || v != newest {
					t.Errorf("version %d, %v", v, err)
				}
			})
		})
	}
}

// fillOld makes the tables of an earlier version at dsn and copies into them the rows of a store, as far as that version
// had tables and columns for them.
func fillOld(t *testing.T, dsn string, version int64, from *Store) {
	t.Helper()
	ctx := context.Background()
	old := &Store{d: mustDialect(t, dsn), now: from.now}
	var err error
	if _, old.path, err = parseDSN(dsn); err != nil {
		t.Fatal(err)
	}
	if old.d == &sqliteDialect {
		old.write, old.read, err = openSQLite(ctx, old.path, false)
	} else {
		old.write, err = sql.Open("pgx", dsn)
		old.read = old.write
	}
	if err != nil {
		t.Fatal(err)
	}
	if err := old.migrate(ctx, version); err != nil {
		t.Fatal(err)
	}
	tx, err := old.write.Begin()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := tx.Exec("DELETE FROM ledger"); err != nil {
		t.Fatal(err)
	}
	for _, table := range dumpTables {
		if table.since > version {
			continue
		}
		columns := table.columns
		if version < 2 { // which brought this column
			columns = strings.TrimSuffix(columns, ", kept_sum")
		}
		rows, err := from.read.Query("SELECT " + columns + " FROM " + table.name)
		if err != nil {
			t.Fatal(err)
		}
		n := strings.Count(columns, ",") + 1
		insert := "INSERT INTO " + table.name + " (" + columns + ") VALUES " + places(1, n)
		err = eachRow(rows, func(rows *sql.Rows) error {
			values, dest := make([]any, n), make([]any, n)
			for i := range values {
				dest[i] = &values[i]
			}
			if err := rows.Scan(dest...); err != nil {
				return err
			}
			_, err := tx.Exec(insert, values...)
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := errors.Join(tx.Commit(), old.Close()); err != nil {
		t.Fatal(err)
	}
}

func mustDialect(t *testing.T, dsn string) *dialect {
	d, _, err := parseDSN(dsn)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// TestSameTables: both databases have the same tables with the same columns.
func TestSameTables(t *testing.T) {
	t.Parallel()
	lite := openTest(t, filepath.Join(t.TempDir(), "a.db"))
	pg := openTest(t, storetest.Postgres(t).DSN(t))
	columns := func(s *Store, q string) (out []string) {
		rows, err := s.read.Query(q)
		if err != nil {
			t.Fatal(err)
		}
		if err := eachRow(rows, func(rows *sql.Rows) error {
			var text string
			err := rows.Scan(&text)
			out = append(out, text)
			return err
		}); err != nil {
			t.Fatal(err)
		}
		slices.Sort(out)
		return out
	}
	a := columns(lite, "SELECT m.name || '.' || p.name || CASE p.\"notnull\" + p.pk WHEN 0 THEN '?' ELSE '' END FROM sqlite_master m JOIN pragma_table_info(m.name) p"+
		" WHERE m.type = 'table' AND m.name NOT LIKE 'goose%' AND m.name NOT LIKE 'sqlite%'")
	b := columns(pg, "SELECT table_name || '.' || column_name || CASE is_nullable WHEN 'YES' THEN '?' ELSE '' END FROM information_schema.columns"+
		" WHERE table_schema = current_schema() AND table_name NOT LIKE 'goose%'")
	if !slices.Equal(a, b) {
		t.Errorf("SQLite has\n%v\nPostgreSQL has\n%v", a, b)
	}
	ia := columns(lite, "SELECT name FROM sqlite_master WHERE type = 'index' AND sql IS NOT NULL")
	ib := columns(pg, "SELECT indexname FROM pg_indexes WHERE schemaname = current_schema() AND indexname NOT LIKE '%key' AND indexname NOT LIKE '%pkey' AND indexname NOT LIKE 'goose%'")
	if !slices.Equal(ia, ib) {
		t.Errorf("SQLite has the indexes\n%v\nPostgreSQL has\n%v", ia, ib)
	}
	listed := 0
	for _, d := range dumpTables {
		for _, c := range strings.Split(d.columns, ", ") {
			if !slices.Contains(a, d.name+"."+c) && !slices.Contains(a, d.name+"."+c+"?") {
				t.Errorf("the dump lists %s.%s, which is not there", d.name, c)
			}
			listed++
		}
	}
	if listed != len(a) {
		t.Errorf("the dump lists %d columns of %d", listed, len(a))
	}
}

// TestNewerDatabase: a database of a newer program is left alone.
func TestNewerDatabase(t *testing.T) {
	t.Parallel()
	both(t, func(t *testing.T, dsn string) {
		s := openTest(t, dsn)
		if _, err := s.inWriteExec("INSERT INTO goose_db_version (version_id, is_applied) VALUES (99, $1)", true); err != nil {
			t.Fatal(err)
		}
		for _, ro := range []bool{false, true} {
			if _, err := Open(context.Background(), dsn, Options{ReadOnly: ro}); err == nil || !errors.Is(err, thwart.ErrStorage) || !strings.Contains(err.Error(), "99") {
				t.Errorf("read only %t: %v", ro, err)
			}
		}
	})
}

func (s *Store) inWriteExec(q string, args ...any) (res sql.Result, err error) {
	err = s.inWrite(context.Background(), "testing", func(ctx context.Context, w work) error {
		res, err = w.exec(ctx, q, args...)
		return err
	})
	return res, err
}

// TestFailedCommit: after a commit that failed nothing is acknowledged until the store is opened again.
func TestFailedCommit(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "a.db")
	s := openTest(t, path)
	w := storetest.NewWorld(4)
	a, b := w.Raw(thwart.KindWater, map[string]string{"name": "A"}), w.Raw(thwart.KindWater, map[string]string{"name": "B"})
	storetest.MustPut(t, s, a)
	if err := s.Healthy(); err != nil {
		t.Fatal(err)
	}
	s.commitFault = func() error { return errors.New("flush failed") }
	if answers, err := s.Put(context.Background(), []thwart.Kept{b}); !errors.Is(err, thwart.ErrStorage) || answers != nil {
		t.Fatalf("%v, %v", answers, err)
	}
	s.commitFault = nil
	if err := s.Healthy(); !errors.Is(err, thwart.ErrStorage) || !strings.Contains(err.Error(), "flush failed") {
		t.Errorf("healthy: %v", err)
	}
	for _, k := range []thwart.Kept{a, b} { // not even what it has
		if answers, err := s.Put(context.Background(), []thwart.Kept{k}); !errors.Is(err, thwart.ErrStorage) || answers != nil {
			t.Errorf("%v, %v", answers, err)
		}
	}
	if err := s.AddAudit(context.Background(), thwart.Audit{ID: "x"}); !errors.Is(err, thwart.ErrStorage) {
		t.Errorf("%v", err)
	}
	if _, err := s.Subject(context.Background(), a.ID); err != nil {
		t.Errorf("reading: %v", err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	again := openTest(t, path)
	for i, want := range []thwart.PutResult{thwart.Had, thwart.Stored} {
		if got := storetest.MustPut(t, again, []thwart.Kept{a, b}[i]); got[0].Result != want {
			t.Errorf("%d: %+v", i, got)
		}
	}
	storetest.MustBeWhole(t, again)
	if err := again.Close(); err != nil {
		t.Fatal(err)
	}
	if _, err := again.Put(context.Background(), []thwart.Kept{a}); !errors.Is(err, thwart.ErrStorage) {
		t.Errorf("a closed store: %v", err)
	}
}

// TestEveryWriteFails makes the n-th statement of a batch fail, for every n until it passes: nothing is acknowledged and
// nothing half kept.
func TestEveryWriteFails(t *testing.T) {
	t.Parallel()
	s := openTest(t, filepath.Join(t.TempDir(), "a.db"))
	w := season(t, s, 5, 4)
	more := len(w.Entries)
	w.Season(4, 6)
	for n := 1; ; n++ {
		count := 0
		broken := errors.New("no")
		var answers []thwart.PutAnswer
		err := s.inWrite(context.Background(), "testing", func(ctx context.Context, inner work) error {
			var known = map[string]facts{}
			var fresh = map[string][]thwart.Kept{}
			f := failing{inner, func() error {
				if count++; count == n {
					return broken
				}
				return nil
			}}
			l, err := takeLedger(ctx, f, 1000)
			if err != nil {
				return err
			}
			var rows []any
			var order []string
			for _, k := range w.Entries[more:] {
				r := row{Kept: k}
				if e := refuse(&r, known); e != nil {
					return e
				}
				r.Cursor = l.next()
				r.seal = r.sealed()
				l.count(r.sum)
				rows = append(rows, r.args()...)
				if fresh[r.Subject] == nil {
					order = append(order, r.Subject)
				}
				fresh[r.Subject] = append(fresh[r.Subject], r.Kept)
			}
			if err := intoEntries.add(ctx, f, rows); err != nil {
				return err
			}
			if err := l.write(ctx, f); err != nil {
				return err
			}
			return restand(ctx, f, order, fresh, known)
		})
		if err == nil {
			if n < 10 {
				t.Errorf("only %d statements", n-1)
			}
			break
		}
		if !errors.Is(err, broken) && count >= n || answers != nil {
			t.Fatalf("statement %d: %v", n, err)
		}
		if rep := storetest.MustBeWhole(t, s); int(rep.Entries) != more {
			t.Fatalf("statement %d failed and %d entries are kept, not %d", n, rep.Entries, more)
		}
	}
	storetest.Compare(t, s, w)
}

// failing is a transaction whose statements fail as told.
type failing struct {
	work
	fail func() error
}

func (f failing) exec(ctx context.Context, q string, args ...any) (sql.Result, error) {
	if err := f.fail(); err != nil {
		return nil, err
	}
	return f.work.exec(ctx, q, args...)
}

func (f failing) query(ctx context.Context, q string, args ...any) (*sql.Rows, error) {
	if err := f.fail(); err != nil {
		return nil, err
	}
	return f.work.query(ctx, q, args...)
}

// TestTwoServers lets two stores write one database at once, having opened it empty at one moment.
func TestTwoServers(t *testing.T) {
	t.Parallel()
	both(t, func(t *testing.T, dsn string) {
		stores := make([]*Store, 3)
		errs := make([]error, len(stores))
		var wg sync.WaitGroup
		for i := range stores {
			wg.Go(func() { stores[i], errs[i] = Open(context.Background(), dsn, Options{}) })
		}
		wg.Wait()
		for i, s := range stores {
			if errs[i] != nil {
				t.Fatal(errs[i])
			}
			t.Cleanup(func() { _ = s.Close() })
		}
		w := storetest.NewWorld(6)
		w.Places(3, 3, 3)
		w.Season(15, 6)
		stored := make([]int, len(stores))
		for i, s := range stores {
			wg.Go(func() {
				list := slices.Clone(w.Entries)
				rng := rand.New(rand.NewPCG(uint64(i), 9)) // small
				rng.Shuffle(len(list), func(a, b int) { list[a], list[b] = list[b], list[a] })
				for batch := range slices.Chunk(list, 11) {
					answers, err := s.Put(context.Background(), batch)
					if err != nil {
						errs[i] = err
						return
					}
					for _, a := range answers {
						if a.Result == thwart.Stored {
							stored[i]++
						}
					}
				}
			})
		}
		wg.Wait()
		sum := 0
		for i := range stores {
			if errs[i] != nil {
				t.Fatal(errs[i])
			}
			sum += stored[i]
		}
		if sum != len(w.Entries) {
			t.Errorf("%d stored, of %d", sum, len(w.Entries))
		}
		storetest.Compare(t, stores[1], w)
	})
}

// TestBackup copies a store in use, restores the copy, and finds everything in it.
func TestBackup(t *testing.T) {
	t.Parallel()
	both(t, func(t *testing.T, dsn string) {
		ctx := context.Background()
		s := openTest(t, dsn)
		w := season(t, s, 7, 10)
		if _, err := s.Purge(ctx, thwart.PurgeOrder{NotesBefore: w.Entries[len(w.Entries)/2].MadeAt, At: s.now()}); err != nil {
			t.Fatal(err)
		}
		dir := t.TempDir()
		rows := func(s *Store) string {
			t.Helper()
			var b strings.Builder
			for _, table := range dumpTables {
				r, err := s.read.Query("SELECT " + table.columns + " FROM " + table.name + " ORDER BY " + table.orderOf())
				if err != nil {
					t.Fatal(err)
				}
				n := strings.Count(table.columns, ",") + 1
				if err := eachRow(r, func(r *sql.Rows) error {
					values, dest := make([]any, n), make([]any, n)
					for i := range values {
						dest[i] = &values[i]
					}
					err := r.Scan(dest...)
					b.WriteString(line(values) + "\n")
					return err
				}); err != nil {
					t.Fatal(err)
				}
			}
			return b.String()
		}
		want := rows(s)
		backup, dump := filepath.Join(dir, "backup"), filepath.Join(dir, "dump")
		for path, make := range map[string]func(context.Context, string) (Report, error){backup: s.Backup, dump: s.Dump} {
			rep, err := make(ctx, path)
			if err != nil {
				t.Fatal(err)
			}
			if int(rep.Check.Entries) != len(w.Entries) || len(rep.Check.Faults) != 0 || rep.Rows["accounts"] != 5 || rep.Bytes == 0 {
				t.Errorf("%+v", rep)
			}
			if info, err := os.Stat(path); err != nil || info.Mode().Perm() != 0o600 {
				t.Errorf("%v, %v", info, err)
			}
			if _, err := make(ctx, path); err == nil {
				t.Errorf("%s was written over", path)
			}
		}
		targets := map[string]string{"dump to file": filepath.Join(dir, "c.db"), "dump to server": storetest.Postgres(t).DSN(t)}
		if s.d == &sqliteDialect {
			targets["file to file"] = filepath.Join(dir, "b.db")
		}
		for name, target := range targets {
			from := dump
			if name == "file to file" {
				from = backup
			}
			rep, err := Restore(ctx, from, target, "")
			if err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			if int(rep.Check.Entries) != len(w.Entries) {
				t.Errorf("%s: %+v", name, rep)
			}
			if _, err := Restore(ctx, from, target, ""); err == nil {
				t.Errorf("%s: restored over what is there", name)
			}
			r := openTest(t, target)
			if got := rows(r); got != want {
				t.Errorf("%s: the rows are not the same", name)
			}
			storetest.MustPut(t, r, w.Raw(thwart.KindWater, map[string]string{"name": "after"}))
			storetest.MustBeWhole(t, r)
		}
		left, err := filepath.Glob(filepath.Join(dir, ".*"))
		if err != nil || len(left) > 0 {
			t.Errorf("left behind: %v, %v", left, err)
		}
	})
}

// TestDamagedBackup flips bits of backups: none of them is restored, and no half of one is left.
func TestDamagedBackup(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	s := openTest(t, filepath.Join(t.TempDir(), "a.db"))
	season(t, s, 8, 4)
	dir := t.TempDir()
	dump := filepath.Join(dir, "dump")
	if _, err := s.Dump(ctx, dump); err != nil {
		t.Fatal(err)
	}
	good, err := os.ReadFile(dump)
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(3, 4))
	target := filepath.Join(dir, "target.db")
	for i := range 40 {
		bad := slices.Clone(good)
		switch {
		case i%4 == 0:
			bad = bad[:rng.IntN(len(bad))]
		default: // past the header of gzip, of which some bytes mean nothing
			bad[10+rng.IntN(len(bad)-10)] ^= 1 << rng.IntN(8)
		}
		if err := os.WriteFile(dump, bad, 0o600); err != nil {
			t.Fatal(err)
		}
		if _, err := Restore(ctx, dump, target, ""); err == nil {
			t.Fatalf("case %d was restored", i)
		}
		if left, _ := filepath.Glob(target + "*"); len(left) > 0 {
			t.Fatalf("case %d: %v left behind", i, left)
		}
	}
	for _, text := range []string{"", "hello, this is no backup", "SQLite format 3\x00 and then nothing"} {
		if err := os.WriteFile(dump, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		if _, err := Restore(ctx, dump, target, ""); err == nil {
			t.Errorf("%q was restored", text)
		}
	}
	// A database that does not hold together is not backed up as if it did.
	raw(t, s, "DROP TRIGGER entries_same; UPDATE entries SET why = 'x' WHERE cursor = 3")
	for name, write := range map[string]func(context.Context, string) (Report, error){"b": s.Backup, "d": s.Dump} {
		if _, err := write(ctx, filepath.Join(dir, name)); !errors.Is(err, ErrFaulty) {
			t.Errorf("a damaged store: %v", err)
		}
		if _, err := os.Stat(filepath.Join(dir, name)); err == nil {
			t.Error("the copy was kept")
		}
	}
}

func TestAddresses(t *testing.T) {
	t.Parallel()
	for _, dsn := range []string{"", "sqlite:", ":memory:", "mysql://x/y", "a\x00b"} {
		if _, err := Open(context.Background(), dsn, Options{}); err == nil || !strings.Contains(err.Error(), "accepted") {
			t.Errorf("%q: %v", dsn, err)
		}
	}
	s, err := Open(context.Background(), "sqlite:"+filepath.Join(t.TempDir(), "a b?c.db"), Options{})
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if _, err := Open(context.Background(), filepath.Join(t.TempDir(), "none.db"), Options{ReadOnly: true}); !errors.Is(err, thwart.ErrStorage) {
		t.Errorf("%v", err)
	}
}
