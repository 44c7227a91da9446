package store

import (
	"bufio"
	"bytes"
	"compress/gzip"
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"hash"
	"io"
	"os"
	"path/filepath"
	"strings"

	"thwart"
)

// A backup of SQLite is a database file of its own. A backup of PostgreSQL is a dump: JSON Lines under gzip, first a
// header, then every row of every table, last a trailer with the number of rows of each table and the SHA-256 of all lines
// before it. A dump can be made of and restored into either database, and so also moves a programme from one to the other.

const (
	dumpFormat = "thwart-store-dump"
	maxLine    = 64 << 20 // of a dump; an entry's body is 1 MiB at most, a refusal's raw text may be more
)

// dumpTable lists the columns of a table in a dump, with blobs named, since JSON has none.
type dumpTable struct {
	name, columns string
	blobs         []string
	since         int64 // version that brought the table
}

var dumpTables = []dumpTable{
	{name: "ledger", columns: "id, cursor, entries, fold", since: 1},
	{name: "entries", columns: entryColumns, since: 1},
	{name: "subjects", columns: subjectColumns, since: 1},
	{name: "encounters", columns: encounterColumns, since: 1},
	{name: "shifts", columns: shiftColumns, since: 1},
	{name: "tallies", columns: tallyColumns, since: 1},
	{name: "refusals", columns: refusalColumns, blobs: []string{"raw"}, since: 1},
	{name: "accounts", columns: accountColumns, since: 1},
	{name: "devices", columns: deviceColumns, blobs: []string{"public_key"}, since: 1},
	{name: "invites", columns: inviteColumns, blobs: []string{"code_hash"}, since: 1},
	{name: "audit", columns: auditColumns, since: 1},
	{name: "purges", columns: "id, at, who, report", since: 2},
	{name: "pairs", columns: pairColumns, since: 4},
	{name: "pictures", columns: pictureColumns, blobs: []string{"data"}, since: 4},
	{name: "jobs", columns: jobColumns, since: 4},
}

// orderOf gives the first column, by which the rows of a dump are ordered: two dumps of one state are the same.
func (t dumpTable) orderOf() string { first, _, _ := strings.Cut(t.columns, ","); return first }

type dumpHeader struct {
	Format  string              `json:"format"`
	Version int64               `json:"version"` // of the tables
	Columns map[string][]string `json:"columns"`
}

type dumpRow struct {
	Table string `json:"t"`
	Row   []any  `json:"r"`
}

type dumpTrailer struct {
	Rows   map[string]int64 `json:"rows"`
	SHA256 string           `json:"sha256"`
}

// Report of a backup or a restore that was verified.
type Report struct {
	Path  string             `json:"path"`
	Bytes int64              `json:"bytes"`
	Rows  map[string]int64   `json:"rows"` // of each table
	Check thwart.CheckReport `json:"check"`
	// Purged are the certificates of purges that were carried out again on what was restored.
	Purged []thwart.PurgeReport `json:"purged,omitempty"`
}

// ErrFaulty says that a copy does not hold together; the report of the check is with it.
var ErrFaulty = errors.New("the copy does not hold together")

// Backup writes a verified copy while the store is in use: of a SQLite database a database file, of PostgreSQL a dump. It
// never overwrites a file; the file appears under its name only when it has been read back, checked and flushed.
func (s *Store) Backup(ctx context.Context, path string) (Report, error) {
	if s.d == &sqliteDialect {
		return s.publish(ctx, path, func(temp string) (Report, error) {
			db, err := sql.Open("sqlite", strings.Replace(sqliteURL(s.path, false), "query_only%281%29", "query_only%280%29", 1))
			if err != nil {
				return Report{}, err
			}
			defer db.Close() // it only read
			if _, err := db.ExecContext(ctx, "VACUUM INTO $1", temp); err != nil {
				return Report{}, err
			}
			return verifyFile(ctx, temp)
		})
	}
	return s.Dump(ctx, path)
}

// Dump writes a verified dump, of either database.
func (s *Store) Dump(ctx context.Context, path string) (Report, error) {
	return s.publish(ctx, path, func(temp string) (Report, error) {
		f, err := os.OpenFile(temp, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
		if err != nil {
			return Report{}, err
		}
		rows, err := s.dump(ctx, f)
		if err2 := f.Close(); err == nil {
			err = err2
		}
		if err != nil {
			return Report{}, err
		}
		// The proof of a dump is that a database made of it holds together.
		dir, err := os.MkdirTemp(filepath.Dir(temp), ".verify-")
		if err != nil {
			return Report{}, err
		}
		defer os.RemoveAll(dir) // scratch
		rep, err := Restore(ctx, temp, filepath.Join(dir, "copy.db"), "")
		if err != nil {
			return Report{}, err
		}
		return rep, sameRows(rows, rep.Rows)
	})
}

// publish has a copy written beside its place, flushed, and then given its name.
func (s *Store) publish(ctx context.Context, path string, write func(temp string) (Report, error)) (rep Report, err error) {
	defer func() {
		if err != nil && !errors.Is(err, ErrFaulty) {
			err = s.fault("backing up", err)
		}
	}()
	if _, err := os.Lstat(path); !errors.Is(err, os.ErrNotExist) {
		return rep, fmt.Errorf("%s is there already; a backup is never written over another file", path)
	}
	dir, err := os.MkdirTemp(filepath.Dir(path), ".backup-")
	if err != nil {
		return rep, err
	}
	defer os.RemoveAll(dir) // what is left in it is no backup
	temp := filepath.Join(dir, "copy")
	if rep, err = write(temp); err != nil {
		return rep, err
	}
	if err := flush(temp); err != nil {
		return rep, err
	}
	// A link and not a rename: it fails where a file has appeared under the name in the meantime. Some file systems know no
	// links; there a rename has to do.
	if err := os.Link(temp, path); err != nil {
		if errors.Is(err, os.ErrExist) {
			return rep, err
		}
		if err := os.Rename(temp, path); err != nil {
			return rep, err
		}
	}
	if err := flush(filepath.Dir(path)); err != nil {
		return rep, err
	}
	info, err := os.Stat(path)
	if err != nil {
		return rep, err
	}
	rep.Path, rep.Bytes = path, info.Size()
	return rep, nil
}

// flush brings a file or a folder to the medium.
func flush(path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	err = f.Sync()
	return errors.Join(err, f.Close())
}

// verifyFile opens a copy of a SQLite database for reading and checks it.
func verifyFile(ctx context.Context, path string) (rep Report, err error) {
	if err := os.Chmod(path, 0o600); err != nil {
		return rep, err
	}
	c, err := Open(ctx, path, Options{ReadOnly: true})
	if err != nil {
		return rep, err
	}
	rep, err = c.verify(ctx)
	return rep, errors.Join(err, c.Close())
}

// verify checks a store and counts its rows.
func (s *Store) verify(ctx context.Context) (rep Report, err error) {
	if rep.Check, err = s.Check(ctx); err != nil {
		return rep, err
	}
	rep.Rows = map[string]int64{}
	for _, t := range dumpTables {
		var n int64
		if err := s.read.QueryRowContext(ctx, "SELECT COUNT(*) FROM "+t.name).Scan(&n); err != nil {
			return rep, err
		}
		rep.Rows[t.name] = n
	}
	// What was faulty before it was copied is faulty in the copy. The copy is kept back all the same: a backup that is
	// known to be bad must not push out a good one unseen.
	if len(rep.Check.Faults) > 0 && !onlyMissing(rep.Check.Faults) {
		return rep, fmt.Errorf("%w: %d faults, the first: %s", ErrFaulty, len(rep.Check.Faults), rep.Check.Faults[0])
	}
	return rep, nil
}

// onlyMissing reports whether faults are all of things that have not arrived yet, which a copy cannot help.
func onlyMissing(faults []string) bool {
	for _, f := range faults {
		if !strings.HasSuffix(f, "is not there") {
			return false
		}
	}
	return true
}

func sameRows(want, got map[string]int64) error {
	for t, n := range want {
		if got[t] != n {
			return fmt.Errorf("%w: %s has %d rows, %d were copied", ErrFaulty, t, n, got[t])
		}
	}
	return nil
}

// dump writes all tables as they are at one moment.
func (s *Store) dump(ctx context.Context, to io.Writer) (map[string]int64, error) {
	z := gzip.NewWriter(to)
	sum := sha256.New()
	buf := bufio.NewWriterSize(io.MultiWriter(z, sum), 1<<20)
	enc := json.NewEncoder(buf)
	enc.SetEscapeHTML(false)
	version, err := s.version(ctx)
	if err != nil {
		return nil, err
	}
	head := dumpHeader{Format: dumpFormat, Version: version, Columns: map[string][]string{}}
	for _, t := range dumpTables {
		head.Columns[t.name] = strings.Split(t.columns, ", ")
	}
	if err := enc.Encode(head); err != nil {
		return nil, err
	}
	counts := map[string]int64{}
	err = s.inRead(ctx, "dumping", func(w work) error {
		for _, t := range dumpTables {
			counts[t.name] = 0
			rows, err := w.query(ctx, "SELECT "+t.columns+" FROM "+t.name+" ORDER BY "+t.orderOf())
			if err != nil {
				return err
			}
			values := make([]any, len(head.Columns[t.name]))
			dest := make([]any, len(values))
			for i := range values {
				dest[i] = &values[i]
			}
			err = eachRow(rows, func(rows *sql.Rows) error {
				if err := rows.Scan(dest...); err != nil {
					return err
				}
				counts[t.name]++
				return enc.Encode(dumpRow{t.name, values}) // bytes become base64
			})
			if err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	if err := buf.Flush(); err != nil {
		return nil, err
	}
	end, err := json.Marshal(dumpTrailer{Rows: counts, SHA256: hex.EncodeToString(sum.Sum(nil))})
	if err != nil {
		return nil, err
	}
	if _, err := z.Write(append(end, '\n')); err != nil {
		return nil, err
	}
	return counts, z.Close()
}

// Restore makes a database at dsn of a backup at from: a new file, or an empty PostgreSQL database. It refuses to write over
// anything that is there, verifies what it has written, and removes a file that fails. A backup of an older version is
// brought to this program's.
//
// Orders to purge that are noted beside the place that is restored to (purgeNotes, where the default is not meant, see
// [Options]) are carried out again before the copy is verified.
func Restore(ctx context.Context, from, dsn, purgeNotes string) (Report, error) {
	rep, err := restore(ctx, from, dsn, purgeNotes)
	if err != nil {
		return rep, fmt.Errorf("restoring %s: %w", from, err)
	}
	return rep, nil
}

func restore(ctx context.Context, from, dsn, notes string) (rep Report, err error) {
	d, path, err := parseDSN(dsn)
	if err != nil {
		return rep, err
	}
	dump, err := isDump(from)
	if err != nil {
		return rep, err
	}
	if d == &sqliteDialect {
		for _, p := range []string{path, path + "-wal", path + "-shm"} {
			if _, err := os.Lstat(p); !errors.Is(err, os.ErrNotExist) {
				return rep, fmt.Errorf("%s is there already; a backup is only restored to a new file", p)
			}
		}
		defer func() {
			if err != nil {
				for _, p := range []string{path, path + "-wal", path + "-shm"} {
					_ = os.Remove(p) // made by this call; the error that matters is the one in hand
				}
			}
		}()
		if !dump {
			if info, err := os.Stat(from + "-wal"); err == nil && info.Size() > 0 {
				return rep, fmt.Errorf("%s is a database in use (%s-wal is not empty); restore a backup of it", from, from)
			}
			if err := copyFile(from, path); err != nil {
				return rep, err
			}
		}
	} else if !dump {
		return rep, errors.New("a database file can be restored to a file only; make a dump of it for PostgreSQL")
	}
	var s *Store
	if dump {
		s, err = loadDump(ctx, from, dsn, notes)
	} else {
		s, err = Open(ctx, dsn, Options{PurgeNotes: notes})
	}
	if err != nil {
		return rep, err
	}
	again, err := s.Reapply(ctx)
	if err != nil {
		return rep, errors.Join(err, s.Close())
	}
	rep, err = s.verify(ctx)
	rep.Purged = again
	if err = errors.Join(err, s.Close()); err != nil {
		return rep, err
	}
	rep.Path = dsn
	if d == &sqliteDialect {
		if err := errors.Join(flush(path), flush(filepath.Dir(path))); err != nil {
			return rep, err
		}
		info, err := os.Stat(path)
		if err != nil {
			return rep, err
		}
		rep.Path, rep.Bytes = path, info.Size()
	}
	return rep, nil
}

func isDump(path string) (bool, error) {
	f, err := os.Open(path)
	if err != nil {
		return false, err
	}
	defer f.Close() // it was only read
	var b [16]byte
	n, err := io.ReadFull(f, b[:])
	switch {
	case err != nil && !errors.Is(err, io.ErrUnexpectedEOF):
		return false, fmt.Errorf("the file is no backup: %w", err)
	case bytes.HasPrefix(b[:n], []byte{0x1f, 0x8b}):
		return true, nil
	case string(b[:n]) == "SQLite format 3\x00":
		return false, nil
	}
	return false, errors.New("the file is no backup: it is neither a database file nor a dump")
}

func copyFile(from, to string) (err error) {
	in, err := os.Open(from)
	if err != nil {
		return err
	}
	defer in.Close() // it was only read
	out, err := os.OpenFile(to, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return err
	}
	_, err = io.Copy(out, in)
	return errors.Join(err, out.Sync(), out.Close())
}

// loadDump fills an empty database, in one transaction, at the version the dump was made of, and then brings it on.
func loadDump(ctx context.Context, from, dsn, notes string) (s *Store, err error) {
	f, err := os.Open(from)
	if err != nil {
		return nil, err
	}
	defer f.Close() // it was only read
	z, err := gzip.NewReader(bufio.NewReaderSize(f, 1<<20))
	if err != nil {
		return nil, err
	}
	in := bufio.NewReaderSize(z, 1<<20)
	sum := sha256.New()
	first, err := readLine(in)
	if err != nil {
		return nil, fmt.Errorf("the dump has no header: %w", err)
	}
	sum.Write(first)
	var head dumpHeader
	if json.Unmarshal(first, &head) != nil || head.Format != dumpFormat || head.Version < 1 {
		return nil, fmt.Errorf("the file is no dump of this program: its header reads %.80q", first)
	}
	s, err = Open(ctx, dsn, Options{PurgeNotes: notes})
	if err != nil {
		return nil, err
	}
	defer func() {
		if err != nil {
			_ = s.Close() // the error that matters is the one in hand
		}
	}()
	newest, err := s.newest()
	if err != nil {
		return nil, err
	}
	if head.Version > newest {
		return nil, fmt.Errorf("the dump is of version %d and this program knows %d at most; use a newer program", head.Version, newest)
	}
	err = s.inWrite(ctx, "loading a dump", func(ctx context.Context, w work) error {
		if err := mustBeEmpty(ctx, w); err != nil {
			return err
		}
		return loadRows(ctx, w, in, sum, head)
	})
	return s, err
}

func mustBeEmpty(ctx context.Context, w work) error {
	if _, err := takeLedger(ctx, w, 0); err != nil {
		return err
	}
	for _, t := range dumpTables[1:] {
		var n int64
		if err := w.row(ctx, "SELECT COUNT(*) FROM "+t.name).Scan(&n); err != nil {
			return err
		}
		if n > 0 {
			return fmt.Errorf("the database is not empty: %s has %d rows: %w", t.name, n, thwart.ErrConflict)
		}
	}
	_, err := w.exec(ctx, "DELETE FROM ledger")
	return err
}

func readLine(in *bufio.Reader) ([]byte, error) {
	var out []byte
	for {
		part, err := in.ReadSlice('\n')
		out = append(out, part...)
		switch {
		case err == nil:
			return out, nil
		case !errors.Is(err, bufio.ErrBufferFull):
			if len(out) > 0 && errors.Is(err, io.EOF) {
				err = io.ErrUnexpectedEOF
			}
			return nil, err
		case len(out) > maxLine:
			return nil, fmt.Errorf("a line is longer than %d bytes", maxLine)
		}
	}
}

// loadRows adds rows until the trailer, and holds them against it.
func loadRows(ctx context.Context, w work, in *bufio.Reader, sum hash.Hash, head dumpHeader) error {
	blobs := map[string]map[int]bool{}
	known := map[string]table{}
	for _, t := range dumpTables {
		columns := head.Columns[t.name]
		if len(columns) == 0 {
			if t.since <= head.Version {
				return fmt.Errorf("the dump does not say which columns %s has", t.name)
			}
			continue
		}
		blobs[t.name] = map[int]bool{}
		for i, c := range columns {
			if !strings.Contains(", "+t.columns+",", ", "+c+",") {
				return fmt.Errorf("the dump has a column %.40q of %s that this program does not know", c, t.name)
			}
			for _, b := range t.blobs {
				blobs[t.name][i] = blobs[t.name][i] || b == c
			}
		}
		known[t.name] = newTable(t.name, strings.Join(columns, ", "), "")
	}
	counts := map[string]int64{}
	name, pending := "", []any{}
	send := func() error {
		err := known[name].add(ctx, w, pending)
		pending = pending[:0]
		return err
	}
	for {
		text, err := readLine(in)
		if err != nil {
			return fmt.Errorf("the dump breaks off: %w", err)
		}
		if bytes.HasPrefix(text, []byte(`{"rows":`)) {
			if len(pending) > 0 {
				if err := send(); err != nil {
					return err
				}
			}
			var end dumpTrailer
			if err := json.Unmarshal(text, &end); err != nil {
				return fmt.Errorf("the dump's last line cannot be read: %w", err)
			}
			if got := hex.EncodeToString(sum.Sum(nil)); got != end.SHA256 {
				return fmt.Errorf("the dump is damaged: its SHA-256 is %s and its last line says %s", got, end.SHA256)
			}
			return sameRows(end.Rows, counts)
		}
		sum.Write(text)
		table, values, err := readRow(text, blobs, known)
		if err != nil {
			return err
		}
		if table != name || len(pending) >= 64*len(values) {
			if name != "" {
				if err := send(); err != nil {
					return err
				}
			}
			name = table
		}
		pending = append(pending, values...)
		counts[table]++
	}
}

func readRow(text []byte, blobs map[string]map[int]bool, known map[string]table) (string, []any, error) {
	d := json.NewDecoder(bytes.NewReader(text))
	d.UseNumber()
	var r dumpRow
	if err := d.Decode(&r); err != nil {
		return "", nil, fmt.Errorf("a line of the dump cannot be read: %w", err)
	}
	t, ok := known[r.Table]
	if !ok || len(r.Row) != t.width {
		return "", nil, fmt.Errorf("the dump has a row of %.40q with %d columns", r.Table, len(r.Row))
	}
	for i, v := range r.Row {
		switch v := v.(type) {
		case json.Number:
			if n, err := v.Int64(); err == nil {
				r.Row[i] = n
				continue
			}
			f, err := v.Float64()
			if err != nil {
				return "", nil, err
			}
			r.Row[i] = f
		case string:
			if blobs[r.Table][i] {
				b, err := base64.StdEncoding.DecodeString(v)
				if err != nil {
					return "", nil, err
				}
				r.Row[i] = b
			}
		}
	}
	return r.Table, r.Row, nil
}
