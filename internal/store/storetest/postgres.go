package storetest

import (
	"crypto/rand"
	"database/sql"
	"encoding/hex"
	"fmt"
	"net"
	"net/url"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"strconv"
	"testing"
	"time"
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
	address, err2 := cluster(t)
	if err2 == nil {
		return Server{address}
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

// cluster makes a server of its own from installed binaries. It flushes nothing, which is fine for what a test promises.
func cluster(t testing.TB) (string, error) {
	found, err := filepath.Glob("/usr/lib/postgresql/*/bin/initdb")
	if err != nil || len(found) == 0 {
		return "", fmt.Errorf("no initdb under /usr/lib/postgresql")
	}
	bin := filepath.Dir(found[len(found)-1])
	dir, err := os.MkdirTemp("", "thwart-pg-")
	if err != nil {
		return "", err
	}
	t.Cleanup(func() { _ = os.RemoveAll(dir) }) // scratch
	as := func(name string, args ...string) *exec.Cmd { return exec.Command(filepath.Join(bin, name), args...) }
	if os.Geteuid() == 0 { // the server refuses to run as root
		u, err := user.Lookup("postgres")
		if err != nil {
			if u, err = user.Lookup("nobody"); err != nil {
				return "", err
			}
		}
		uid, err := strconv.Atoi(u.Uid)
		if err != nil {
			return "", err
		}
		if err := os.Chown(dir, uid, -1); err != nil {
			return "", err
		}
		as = func(name string, args ...string) *exec.Cmd {
			return exec.Command("runuser", append([]string{"-u", u.Username, "--", filepath.Join(bin, name)}, args...)...)
		}
	}
	data := filepath.Join(dir, "data")
	if out, err := as("initdb", "-D", data, "-U", "postgres", "-A", "trust", "-N", "-E", "UTF8", "--locale=C").CombinedOutput(); err != nil {
		return "", fmt.Errorf("initdb: %w: %s", err, out)
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return "", err
	}
	port := l.Addr().(*net.TCPAddr).Port
	if err := l.Close(); err != nil {
		return "", err
	}
	server := as("postgres", "-D", data, "-p", strconv.Itoa(port), "-k", dir, "-c", "listen_addresses=127.0.0.1", "-F")
	if err := server.Start(); err != nil {
		return "", err
	}
	t.Cleanup(func() {
		_ = as("pg_ctl", "-D", data, "-m", "immediate", "stop").Run() // it may be gone already
		_ = server.Wait()
	})
	address := fmt.Sprintf("postgres://postgres@127.0.0.1:%d/postgres?sslmode=disable&connect_timeout=3", port)
	for range 100 {
		if err = try(address); err == nil {
			return address, nil
		}
		time.Sleep(100 * time.Millisecond)
	}
	return "", err
}
