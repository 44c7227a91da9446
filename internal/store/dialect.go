package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"strings"

	"github.com/jackc/pgx/v5/pgconn"
	"github.com/pressly/goose/v3"
	"modernc.org/sqlite" // driver "sqlite"
)

// dialect is all in which the two databases differ; the SQL of the package is one text for both.
type dialect struct {
	name     string // also the folder of its migrations
	rows     []int  // how many rows one statement adds, see chunks
	goose    goose.Dialect
	snapshot sql.TxOptions    // of a transaction that reads one state
	again    func(error) bool // the transaction lost a race and may be run again
	taken    func(error) bool // a unique value is taken
	broken   func(error) bool // the medium can no longer be trusted
	full     func(error) bool // no room left; undone cleanly
	tidy     string           // makes what a purge removed leave the medium
}

var sqliteDialect = dialect{
	name: "sqlite", rows: []int{1}, goose: goose.DialectSQLite3, tidy: "PRAGMA wal_checkpoint(TRUNCATE)",
	again:  func(err error) bool { c := sqliteCode(err); return c == 5 || c == 6 }, // SQLITE_BUSY, SQLITE_LOCKED
	taken:  sqliteTaken,
	full:   func(err error) bool { return sqliteCode(err) == 13 }, // SQLITE_FULL
	broken: func(err error) bool { c := sqliteCode(err); return c == 10 || c == 11 || c == 26 },
}

// sqliteCode gives the primary result code of SQLite (https://sqlite.org/rescode.html); 0 for other errors. 10 is IOERR, 11
// CORRUPT, 26 NOTADB.
func sqliteCode(err error) int {
	var e *sqlite.Error
	if errors.As(err, &e) {
		return e.Code() & 0xff
	}
	return 0
}

// sqliteTaken knows SQLITE_CONSTRAINT_PRIMARYKEY, _UNIQUE and _ROWID.
func sqliteTaken(err error) bool {
	var e *sqlite.Error
	return errors.As(err, &e) && (e.Code() == 1555 || e.Code() == 2067 || e.Code() == 2579)
}

var postgresDialect = dialect{
	name: "postgres", rows: chunks, goose: goose.DialectPostgres, tidy: "VACUUM entries, encounters, refusals, pictures",
	snapshot: sql.TxOptions{Isolation: sql.LevelRepeatableRead, ReadOnly: true},
	again:    func(err error) bool { c := sqlState(err); return c == "40001" || c == "40P01" }, // serialization, deadlock
	taken:    func(err error) bool { return sqlState(err) == "23505" },                         // unique_violation
	full:     func(err error) bool { return sqlState(err) == "53100" },                         // disk_full
	broken:   func(error) bool { return false },
}

func sqlState(err error) string {
	var e *pgconn.PgError
	if errors.As(err, &e) {
		return e.Code
	}
	return ""
}

// parseDSN tells a file from a server. path is the file of a SQLite database.
func parseDSN(dsn string) (d *dialect, path string, err error) {
	switch {
	case strings.HasPrefix(dsn, "postgres://"), strings.HasPrefix(dsn, "postgresql://"):
		return &postgresDialect, "", nil
	case strings.HasPrefix(dsn, "sqlite:"):
		path = strings.TrimPrefix(dsn, "sqlite:")
	case strings.Contains(dsn, "://"):
		scheme, _, _ := strings.Cut(dsn, "://")
		return nil, "", fmt.Errorf("the database address begins with %q; accepted: a file path, sqlite:path or postgres://…", scheme)
	default:
		path = dsn
	}
	if path == "" || strings.Contains(path, ":memory:") || strings.ContainsRune(path, 0) {
		return nil, "", fmt.Errorf("%q is no database address; accepted: a file path, sqlite:path or postgres://…", dsn)
	}
	return &sqliteDialect, path, nil
}

// sqliteURL writes the address of a file for the driver. Pragmas stand in it so that every pooled connection gets them.
func sqliteURL(path string, writes bool) string {
	q := url.Values{}
	q.Add("_pragma", "busy_timeout(10000)")
	q.Add("_pragma", "foreign_keys(1)")
	q.Add("_pragma", "cache_size(-32000)")
	if writes {
		q.Add("_pragma", "journal_mode(WAL)")
		q.Add("_pragma", "synchronous(FULL)")
		q.Add("_pragma", "secure_delete(1)") // what a purge removes is overwritten
	} else {
		q.Add("_pragma", "query_only(1)")
		q.Add("mode", "ro")
	}
	abs, err := filepath.Abs(path)
	if err != nil {
		abs = path
	}
	u := url.URL{Scheme: "file", Path: filepath.ToSlash(abs), RawQuery: q.Encode()}
	return u.String()
}

// openSQLite opens the one connection that writes and the pool that reads.
func openSQLite(ctx context.Context, path string, readOnly bool) (write, read *sql.DB, err error) {
	if readOnly {
		if _, err := os.Stat(path); err != nil {
			return nil, nil, err
		}
	} else {
		// Made before the driver does, so that only the owner can read it; opened for writing so that a read-only file or
		// folder is reported by its own name and not as "attempt to write a readonly database" in the middle of a shift.
		f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o600)
		if err != nil {
			return nil, nil, fmt.Errorf("the database file cannot be written: %w", err)
		}
		if err := f.Close(); err != nil {
			return nil, nil, err
		}
		if write, err = sql.Open("sqlite", sqliteURL(path, true)); err != nil {
			return nil, nil, err
		}
		write.SetMaxOpenConns(1)
		if err := write.PingContext(ctx); err != nil {
			_ = write.Close() // the error that matters is the one in hand
			return nil, nil, err
		}
	}
	address := sqliteURL(path, false)
	if readOnly {
		address, err = readable(ctx, path, address)
	}
	if err == nil {
		read, err = sql.Open("sqlite", address)
	}
	if err != nil {
		return write, nil, err
	}
	read.SetMaxOpenConns(8)
	read.SetMaxIdleConns(8)
	return write, read, nil
}

// readable gives the address under which a file can be read. On a medium that cannot be written SQLite cannot make the index
// of its log; where there is no log either, nobody is writing, and the file may be read as one that does not change.
func readable(ctx context.Context, path, address string) (string, error) {
	db, err := sql.Open("sqlite", address)
	if err != nil {
		return "", err
	}
	defer db.Close() // it only read
	var n int
	err = db.QueryRowContext(ctx, "SELECT COUNT(*) FROM sqlite_master").Scan(&n)
	if c := sqliteCode(err); c == 14 || c == 8 { // SQLITE_CANTOPEN; SQLITE_READONLY where the folder is not ours to write
		if _, err := os.Stat(path + "-wal"); errors.Is(err, os.ErrNotExist) {
			return address + "&immutable=1", nil
		}
	}
	return address, err
}
