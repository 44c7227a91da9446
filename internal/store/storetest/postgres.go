package storetest

import (
	"crypto/rand"
	"database/sql"
	"encoding/hex"
	"fmt"
	"net/url"
	"os"
	"testing"
)

// Server is a PostgreSQL server that tests may fill.
type Server struct{ address string }

// Postgres finds a server: the one that THWART_TEST_POSTGRES names, else one at 127.0.0.1:5432 that lets postgres in, else
// a private cluster made of installed binaries that lives as long as the test. Where there is none the test is skipped and
// says so; where CI is "true" it fails, because there it must run. The driver "pgx" is that of the store under test.
func Postgres(t testing.TB) Server {
	t.Helper()
	if a := os.Getenv("THWART_TEST_POSTGRES"); a != "" {
		if err := try(a); err != nil {
			t.Fatalf("THWART_TEST_POSTGRES=%s: %v", a, err)
		}
		return Server{a}
	}
	const local = "postgres://postgres@127.0.0.1:5432/postgres?sslmode=disable&connect_timeout=3"
	err := try(local)
	if err == nil {
		return Server{local}
	}
	c, err2 := cluster(t)
	if err2 == nil {
		return c.Server
	}
	text := fmt.Sprintf("NO POSTGRESQL, NOTHING OF IT IS TESTED. Set THWART_TEST_POSTGRES to an address. At 127.0.0.1:5432: %v. A cluster of its own: %v", err, err2)
	if os.Getenv("CI") == "true" {
		t.Fatal(text)
	}
	t.Skip(text)
	return Server{}
}

func try(address string) error {
	db, err := sql.Open("pgx", address)
	if err != nil {
		return err
	}
	defer db.Close() // nothing was written
	return db.PingContext(ctx)
}

// DSN gives the address of an empty schema, which goes when the test ends.
func (s Server) DSN(t testing.TB) string {
	t.Helper()
	b := make([]byte, 8)
	if _, err := rand.Read(b); err != nil {
		t.Fatal(err)
	}
	schema := "thwart_test_" + hex.EncodeToString(b)
	s.run(t, "CREATE SCHEMA "+schema)
	t.Cleanup(func() { s.run(t, "DROP SCHEMA "+schema+" CASCADE") })
	return s.in(t, schema)
}

// KeptDSN gives the address of a schema that outlives the test, made and filled where it is not there yet. It is given its name
// when it is full. Only a server that outlives the test keeps it.
func (s Server) KeptDSN(t testing.TB, schema string, fill func(dsn string)) string {
	t.Helper()
	db, err := sql.Open("pgx", s.address)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close() // nothing was written
	var n int
	if err := db.QueryRow("SELECT COUNT(*) FROM pg_namespace WHERE nspname = $1", schema).Scan(&n); err != nil {
		t.Fatal(err)
	}
	if n == 0 {
		part := schema + "_part"
		s.run(t, "DROP SCHEMA IF EXISTS "+part+" CASCADE")
		s.run(t, "CREATE SCHEMA "+part)
		fill(s.in(t, part))
		s.run(t, "ALTER SCHEMA "+part+" RENAME TO "+schema)
	}
	return s.in(t, schema)
}

// in gives the address of a schema.
func (s Server) in(t testing.TB, schema string) string {
	t.Helper()
	u, err := url.Parse(s.address)
	if err != nil {
		t.Fatal(err)
	}
	q := u.Query()
	q.Set("search_path", schema)
	u.RawQuery = q.Encode()
	return u.String()
}

func (s Server) run(t testing.TB, statement string) {
	t.Helper()
	db, err := sql.Open("pgx", s.address)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close() // the statement's own error is reported
	if _, err := db.ExecContext(ctx, statement); err != nil {
		t.Fatal(err)
	}
}
