package store

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"sync"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/stdlib" // also registers the driver "pgx"
	"github.com/pressly/goose/v3"

	"thwart"
)

// Options of a store.
type Options struct {
	// ReadOnly opens without writing, migrating or creating anything; every call that writes fails.
	ReadOnly bool
	// Now is the clock, for entries that come without a time of arrival; time.Now where it is nil.
	Now func() time.Time
	// PurgeNotes is the file in which orders to purge are noted, see [Store.Reapply]; empty = the database file's name with
	// ".purges" for SQLite, none for PostgreSQL.
	PurgeNotes string
}

// Store is a programme's records in one database. All methods are safe for concurrent use.
type Store struct {
	d        *dialect
	path     string // of a SQLite file
	purges   string // where orders to purge are noted
	readOnly bool
	now      func() time.Time
	read     *sql.DB
	write    *sql.DB // of PostgreSQL the same pool as read

	// The writer of SQLite: one connection with its statements, held by whoever has the token.
	token chan struct{}
	conn  *sql.Conn
	stmts map[string]*sql.Stmt

	mu     sync.Mutex
	closed bool
	sick   error // why nothing is written any more
	full   error // why the last write failed, where it was for want of room

	commitFault func() error // set by tests: stands for a failing COMMIT
}

var (
	_ thwart.Store    = (*Store)(nil)
	_ thwart.Accounts = (*Store)(nil)
	_ thwart.Jobs     = (*Store)(nil)
	_ thwart.Pictures = (*Store)(nil)
)

//go:embed migrations
var migrations embed.FS

// Open opens the database at dsn (a file path, sqlite:path or postgres://…), creates it where there is none, and brings it
// to the version of this program. A database of a newer program is refused. Close the store when done.
func Open(ctx context.Context, dsn string, opts Options) (*Store, error) {
	d, path, err := parseDSN(dsn)
	if err != nil {
		return nil, err
	}
	s := &Store{d: d, path: path, readOnly: opts.ReadOnly, now: opts.Now, purges: purgeNotes(d, path, opts.PurgeNotes)}
	if s.now == nil {
		s.now = time.Now
	}
	if err := s.open(ctx, dsn); err != nil {
		_ = s.Close() // the error that matters is the one in hand
		return nil, fmt.Errorf("opening the database: %w: %w", thwart.ErrStorage, err)
	}
	return s, nil
}

func (s *Store) open(ctx context.Context, dsn string) (err error) {
	if s.d == &sqliteDialect {
		if s.write, s.read, err = openSQLite(ctx, s.path, s.readOnly); err != nil {
			return err
		}
	} else {
		cfg, err := pgx.ParseConfig(dsn)
		if err != nil {
			return err
		}
		// Statements are planned every time. A plan kept from the days when the tables were empty walks through all of them,
		// and is thrown away only when the server next takes statistics.
		cfg.DefaultQueryExecMode = pgx.QueryExecModeCacheDescribe
		s.read = stdlib.OpenDB(*cfg)
		s.read.SetMaxOpenConns(16)
		s.read.SetMaxIdleConns(8)
		s.read.SetConnMaxIdleTime(5 * time.Minute)
		if err := s.read.PingContext(ctx); err != nil {
			return err
		}
		s.write = s.read
	}
	if s.readOnly {
		return s.atHead(ctx)
	}
	if err := s.migrate(ctx, 0); err != nil {
		return err
	}
	if s.d == &sqliteDialect {
		s.token = make(chan struct{}, 1)
		s.stmts = map[string]*sql.Stmt{}
		if s.conn, err = s.write.Conn(ctx); err != nil {
			return err
		}
	}
	return nil
}

func (s *Store) provider(db *sql.DB) (*goose.Provider, error) {
	files, err := fs.Sub(migrations, "migrations/"+s.d.name)
	if err != nil {
		return nil, err
	}
	return goose.NewProvider(s.d.goose, db, files, goose.WithDisableGlobalRegistry(true))
}

// migrate brings the tables to a version; 0 is the newest. Two servers that start at one moment race for it without a lock:
// the one that comes second fails whole, waits, and finds the work done.
func (s *Store) migrate(ctx context.Context, to int64) error {
	p, err := s.provider(s.write)
	if err != nil {
		return err
	}
	for try := 1; ; try++ {
		err := func() error {
			have, newest, err := p.GetVersions(ctx)
			if err != nil {
				return err
			}
			if have > newest {
				return fmt.Errorf("the database is of version %d and this program knows %d at most; use a newer program", have, newest)
			}
			if to == 0 {
				_, err = p.Up(ctx)
			} else {
				_, err = p.UpTo(ctx, to)
			}
			return err
		}()
		if err == nil || try == 5 || ctx.Err() != nil {
			return err
		}
		if err := pause(ctx, try); err != nil {
			return err
		}
	}
}

func (s *Store) atHead(ctx context.Context) error {
	have, err := s.version(ctx)
	if err != nil {
		return err
	}
	newest, err := s.newest()
	if err != nil {
		return err
	}
	if have != newest {
		return fmt.Errorf("the database is of version %d and this program reads %d; open it once for writing", have, newest)
	}
	return nil
}

// version reads the version of the tables. goose keeps one row per step.
func (s *Store) version(ctx context.Context) (v int64, err error) {
	err = s.read.QueryRowContext(ctx, "SELECT MAX(version_id) FROM goose_db_version WHERE is_applied").Scan(&v)
	if err != nil {
		return 0, fmt.Errorf("the version of the tables cannot be read, perhaps this is no database of the program: %w", err)
	}
	return v, nil
}

func (s *Store) newest() (int64, error) {
	p, err := s.provider(s.read)
	if err != nil {
		return 0, err
	}
	all := p.ListSources()
	return all[len(all)-1].Version, nil
}

// Close lets go of the database. For SQLite the write-ahead log is folded into the file.
func (s *Store) Close() error {
	s.mu.Lock()
	closed := s.closed
	s.closed = true
	s.mu.Unlock()
	if closed {
		return nil
	}
	var errs []error
	if s.token != nil {
		s.token <- struct{}{} // waits for a write under way and keeps later ones out
		for _, st := range s.stmts {
			errs = append(errs, st.Close())
		}
		if s.conn != nil {
			errs = append(errs, s.conn.Close())
		}
		s.mu.Lock()
		s.sick = errors.New("the store is closed")
		s.mu.Unlock()
		<-s.token
	}
	if s.read != nil {
		errs = append(errs, s.read.Close())
	}
	if s.write != nil && s.write != s.read {
		errs = append(errs, s.write.Close())
	}
	return errors.Join(errs...)
}

// Healthy says why entries cannot be taken at present; nil where they can, as far as is known without trying. A store that
// failed to commit or flush stays unhealthy until it is opened again; one that ran out of room until a write succeeds.
func (s *Store) Healthy() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	switch {
	case s.sick != nil:
		return fmt.Errorf("%w: nothing is written until the database is opened again: %w", thwart.ErrStorage, s.sick)
	case s.full != nil:
		return fmt.Errorf("%w: no room left: %w", thwart.ErrStorage, s.full)
	}
	return nil
}

// work is a transaction under way.
type work interface {
	exec(ctx context.Context, q string, args ...any) (sql.Result, error)
	query(ctx context.Context, q string, args ...any) (*sql.Rows, error)
	row(ctx context.Context, q string, args ...any) *sql.Row
	rows() []int // see chunks
}

// txWork is a transaction of database/sql. pgx keeps what it knows of statements by their text.
type txWork struct {
	tx *sql.Tx
	d  *dialect
}

func (w txWork) rows() []int { return w.d.rows }

func (w txWork) exec(ctx context.Context, q string, args ...any) (sql.Result, error) {
	return w.tx.ExecContext(ctx, q, args...)
}
func (w txWork) query(ctx context.Context, q string, args ...any) (*sql.Rows, error) {
	return w.tx.QueryContext(ctx, q, args...)
}
func (w txWork) row(ctx context.Context, q string, args ...any) *sql.Row {
	return w.tx.QueryRowContext(ctx, q, args...)
}

// liteWork is a transaction on SQLite's one writing connection. Statements are prepared once: the texts of the package are
// few, because lists have fixed lengths (see chunks).
type liteWork struct{ s *Store }

func (w liteWork) rows() []int { return w.s.d.rows }

func (w liteWork) stmt(ctx context.Context, q string) (*sql.Stmt, error) {
	if st := w.s.stmts[q]; st != nil {
		return st, nil
	}
	st, err := w.s.conn.PrepareContext(ctx, q)
	if err != nil {
		return nil, err
	}
	w.s.stmts[q] = st
	return st, nil
}
func (w liteWork) exec(ctx context.Context, q string, args ...any) (sql.Result, error) {
	st, err := w.stmt(ctx, q)
	if err != nil {
		return nil, err
	}
	return st.ExecContext(ctx, args...)
}
func (w liteWork) query(ctx context.Context, q string, args ...any) (*sql.Rows, error) {
	st, err := w.stmt(ctx, q)
	if err != nil {
		return nil, err
	}
	return st.QueryContext(ctx, args...)
}
func (w liteWork) row(ctx context.Context, q string, args ...any) *sql.Row {
	st, err := w.stmt(ctx, q)
	if err != nil {
		return w.s.conn.QueryRowContext(ctx, q, args...) // reports the same error through Scan
	}
	return st.QueryRowContext(ctx, args...)
}

const tries = 8

// inWrite runs fn in one writing transaction and commits. fn is run again where the database asks for it, so it must set
// its results anew each time. When inWrite returns nil, what fn wrote is on the medium.
func (s *Store) inWrite(ctx context.Context, doing string, fn func(ctx context.Context, w work) error) error {
	if s.readOnly {
		return fmt.Errorf("%s: %w: the database is open for reading only", doing, thwart.ErrStorage)
	}
	for try := 1; ; try++ {
		err := s.once(ctx, fn)
		if err == nil {
			s.noteWritten()
			return nil
		}
		if try == tries || !s.d.again(err) {
			return s.fault(doing, err)
		}
		if err := pause(ctx, try); err != nil {
			return fmt.Errorf("%s: %w", doing, err)
		}
	}
}

func (s *Store) once(ctx context.Context, fn func(ctx context.Context, w work) error) error {
	s.mu.Lock()
	sick := s.sick
	s.mu.Unlock()
	if sick != nil {
		return s.Healthy()
	}
	if s.d == &sqliteDialect {
		return s.onceSQLite(ctx, fn)
	}
	tx, err := s.write.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer tx.Rollback() // after a commit it does nothing; after an error the server has undone already
	if err := fn(ctx, txWork{tx, s.d}); err != nil {
		return err
	}
	if s.commitFault != nil {
		if err := s.commitFault(); err != nil {
			return err
		}
	}
	return tx.Commit()
}

// onceSQLite holds the one writing connection. Once the transaction has begun, the call no longer listens to being cancelled:
// it takes milliseconds, and an interrupted COMMIT would leave open whether it happened.
func (s *Store) onceSQLite(ctx context.Context, fn func(ctx context.Context, w work) error) (err error) {
	select {
	case s.token <- struct{}{}:
	case <-ctx.Done():
		return ctx.Err()
	}
	defer func() { <-s.token }()
	s.mu.Lock()
	sick := s.sick
	s.mu.Unlock()
	if sick != nil {
		return s.Healthy()
	}
	_, err = s.conn.ExecContext(ctx, "BEGIN IMMEDIATE") // may wait for another process
	ctx = context.WithoutCancel(ctx)
	done := false
	defer func() {
		if !done { // an error, a cancelled BEGIN or a panic; where nothing is open any more this says so and does no harm
			_, _ = s.conn.ExecContext(ctx, "ROLLBACK")
		}
	}()
	if err != nil {
		return err
	}
	if err := fn(ctx, liteWork{s}); err != nil {
		return err
	}
	if s.commitFault != nil {
		err = s.commitFault()
	}
	if err == nil {
		_, err = s.conn.ExecContext(ctx, "COMMIT")
	}
	if err != nil {
		if !s.d.full(err) && !s.d.again(err) {
			s.setSick(err)
		}
		return err
	}
	done = true
	return nil
}

func (s *Store) setSick(err error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.sick == nil {
		s.sick = err
	}
}

func (s *Store) noteWritten() {
	s.mu.Lock()
	s.full = nil
	s.mu.Unlock()
}

// fault says what failed. Errors of the contracts and of the caller pass; everything else is the medium's.
func (s *Store) fault(doing string, err error) error {
	var fields thwart.FieldErrors
	switch {
	case err == nil:
		return nil
	case errors.Is(err, thwart.ErrNotFound), errors.Is(err, thwart.ErrConflict), errors.Is(err, thwart.ErrStorage),
		errors.Is(err, context.Canceled), errors.Is(err, context.DeadlineExceeded), errors.As(err, &fields):
		return fmt.Errorf("%s: %w", doing, err)
	case s.d.broken(err):
		s.setSick(err)
	case s.d.full(err):
		s.mu.Lock()
		s.full = err
		s.mu.Unlock()
	}
	return fmt.Errorf("%s: %w: %w", doing, thwart.ErrStorage, err)
}

// inRead runs fn over one state of the database.
func (s *Store) inRead(ctx context.Context, doing string, fn func(w work) error) error {
	for try := 1; ; try++ {
		err := func() error {
			tx, err := s.read.BeginTx(ctx, &s.d.snapshot)
			if err != nil {
				return err
			}
			defer tx.Rollback() // nothing was written
			return fn(txWork{tx, s.d})
		}()
		if err == nil {
			return nil
		}
		if try == tries || !s.d.again(err) {
			return s.fault(doing, err)
		}
		if err := pause(ctx, try); err != nil {
			return fmt.Errorf("%s: %w", doing, err)
		}
	}
}

// pause waits a little longer after every try, by chance, so that two who collided do not collide again.
func pause(ctx context.Context, try int) error {
	wait := time.Duration(rand.Int64N(int64(10*time.Millisecond) << min(try, 6)))
	t := time.NewTimer(wait)
	defer t.Stop()
	select {
	case <-t.C:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}
