package storetest

import (
	"fmt"
	"net"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"strconv"
	"testing"
	"time"
)

// Cluster is a PostgreSQL server of a test's own, which may be stopped and started.
type Cluster struct {
	Server
	as   func(name string, args ...string) *exec.Cmd
	dir  string
	port int
	cmd  *exec.Cmd
}

// OwnCluster makes a server from installed binaries that lives as long as the test. Where there are none the test is skipped
// and says so; where CI is "true" it fails.
func OwnCluster(t testing.TB) *Cluster {
	t.Helper()
	c, err := cluster(t)
	switch {
	case err == nil:
		return c
	case os.Getenv("CI") == "true":
		t.Fatalf("a PostgreSQL cluster of the test's own: %v", err)
	}
	t.Skipf("NO POSTGRESQL BINARIES, NOTHING OF A SERVER THAT STOPS IS TESTED: %v", err)
	return nil
}

// cluster flushes nothing, which is fine for what a test promises: the machine itself does not fail.
func cluster(t testing.TB) (*Cluster, error) {
	found, err := filepath.Glob("/usr/lib/postgresql/*/bin/initdb")
	if err != nil || len(found) == 0 {
		return nil, fmt.Errorf("no initdb under /usr/lib/postgresql")
	}
	bin := filepath.Dir(found[len(found)-1])
	c := &Cluster{as: func(name string, args ...string) *exec.Cmd { return exec.Command(filepath.Join(bin, name), args...) }}
	if c.dir, err = os.MkdirTemp("", "thwart-pg-"); err != nil {
		return nil, err
	}
	t.Cleanup(func() { _ = os.RemoveAll(c.dir) }) // scratch
	if os.Geteuid() == 0 {                        // the server refuses to run as root
		u, err := user.Lookup("postgres")
		if err != nil {
			if u, err = user.Lookup("nobody"); err != nil {
				return nil, err
			}
		}
		uid, err := strconv.Atoi(u.Uid)
		if err != nil {
			return nil, err
		}
		if err := os.Chown(c.dir, uid, -1); err != nil {
			return nil, err
		}
		c.as = func(name string, args ...string) *exec.Cmd {
			return exec.Command("runuser", append([]string{"-u", u.Username, "--", filepath.Join(bin, name)}, args...)...)
		}
	}
	if out, err := c.as("initdb", "-D", c.data(), "-U", "postgres", "-A", "trust", "-N", "-E", "UTF8", "--locale=C").CombinedOutput(); err != nil {
		return nil, fmt.Errorf("initdb: %w: %s", err, out)
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return nil, err
	}
	c.port = l.Addr().(*net.TCPAddr).Port
	if err := l.Close(); err != nil {
		return nil, err
	}
	c.address = fmt.Sprintf("postgres://postgres@127.0.0.1:%d/postgres?sslmode=disable&connect_timeout=3", c.port)
	t.Cleanup(c.stop)
	return c, c.start()
}

func (c *Cluster) data() string { return filepath.Join(c.dir, "data") }

func (c *Cluster) start() (err error) {
	c.cmd = c.as("postgres", "-D", c.data(), "-p", strconv.Itoa(c.port), "-k", c.dir, "-c", "listen_addresses=127.0.0.1", "-F")
	if err := c.cmd.Start(); err != nil {
		return err
	}
	for range 200 {
		if err = try(c.address); err == nil {
			return nil
		}
		time.Sleep(100 * time.Millisecond)
	}
	return err
}

// stop ends the server as a crash would: it says goodbye to nobody and recovers from its log when it starts again.
func (c *Cluster) stop() {
	_ = c.as("pg_ctl", "-D", c.data(), "-m", "immediate", "stop").Run() // it may be gone already
	_ = c.cmd.Wait()
}

// Restart stops the whole server at once, leaves it down for a while, and starts it again.
func (c *Cluster) Restart(t testing.TB, down time.Duration) {
	t.Helper()
	c.stop()
	time.Sleep(down)
	if err := c.start(); err != nil {
		t.Fatal(err)
	}
}
