package store

import (
	"bufio"
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/jackc/pgx/v5/pgconn"

	"thwart"
	"thwart/internal/store/storetest"
)

var kills = flag.Int("kills", 60, "how many times TestKilled kills a writer")

// TestMain also is the writer that TestKilled kills.
func TestMain(m *testing.M) {
	if dsn := os.Getenv("THWART_STORE_CHILD"); dsn != "" {
		seed, err := strconv.ParseUint(os.Getenv("THWART_STORE_SEED"), 10, 64)
		if err == nil {
			err = writeUntilKilled(dsn, seed)
		}
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	os.Exit(m.Run())
}

func killedWorld(seed uint64) *storetest.World {
	w := storetest.NewWorld(1000 + seed)
	w.Places(3, 3, 3)
	w.Season(30, 6)
	return w
}

// writeUntilKilled sends a season batch by batch, over and over, and prints the ids of each batch once it is acknowledged.
func writeUntilKilled(dsn string, seed uint64) error {
	s, err := Open(context.Background(), dsn, Options{})
	if err != nil {
		return err
	}
	fmt.Println("open")
	w := killedWorld(seed)
	for batch := range slices.Chunk(w.Entries, 7) {
		answers, err := s.Put(context.Background(), batch)
		if err != nil {
			return err
		}
		line := "ack"
		for _, a := range answers {
			if a.Result == thwart.Refused {
				return fmt.Errorf("%+v", a)
			}
			line += " " + a.ID
		}
		if _, err := fmt.Println(line); err != nil { // one write: the pipe has the whole line or nothing
			return err
		}
	}
	fmt.Println("end")
	time.Sleep(time.Hour) // waits for its end; a bare select would be taken for a deadlock
	return errors.New("nobody killed this writer")
}

// TestKilled kills writers, two at a time on one database, at random moments. Whatever a writer was told is kept must be
// there, once; what it was not told may be there or not, and sending everything again must complete it.
func TestKilled(t *testing.T) {
	t.Parallel()
	for name, share := range map[string]int{"sqlite": 1, "postgres": 4} {
		t.Run(name, func(t *testing.T) {
			dsn := filepath.Join(t.TempDir(), "a.db")
			if name == "postgres" {
				dsn = storetest.Postgres(t).DSN(t)
			}
			openTest(t, dsn) // makes the tables
			rng := rand.New(rand.NewPCG(5, uint64(time.Now().UnixNano())))
			total, acked, cut := 0, 0, 0
			rounds := max(*kills/share/2, 1)
			for round := range rounds {
				var wg sync.WaitGroup
				got := make([][]string, 2)
				errs := make([]error, 2)
				for i := range got {
					seed := uint64(2*round + i) // small
					wait := time.Duration(rng.Int64N(int64(120 * time.Millisecond)))
					wg.Go(func() { got[i], errs[i] = runAndKill(dsn, seed, wait) })
				}
				wg.Wait()
				s, err := Open(context.Background(), dsn, Options{})
				if err != nil {
					t.Fatalf("round %d: the database does not open: %v", round, err)
				}
				for i := range got {
					if errs[i] != nil {
						t.Fatal(errs[i])
					}
					w := killedWorld(uint64(2*round + i)) // small
					total += len(w.Entries)
					acked += len(got[i])
					if len(got[i]) < len(w.Entries) {
						cut++
					}
					for k, a := range storetest.MustPut(t, s, w.Entries...) {
						if told := k < len(got[i]) && got[i][k] == a.ID; told && a.Result != thwart.Had {
							t.Fatalf("round %d: %s was acknowledged and is lost", round, a.ID)
						}
					}
				}
				if err := s.Close(); err != nil {
					t.Fatal(err)
				}
			}
			s := openTest(t, dsn)
			if rep := storetest.MustBeWhole(t, s); int(rep.Entries) != total {
				t.Errorf("%d entries are kept, %d were sent", rep.Entries, total)
			}
			t.Logf("%d kills, %d of them before the end; %d entries acknowledged before a kill, all kept once", 2*rounds, cut, acked)
			if acked == 0 || cut == 0 {
				t.Error("no writer was killed while it wrote")
			}
		})
	}
}

// runAndKill starts a writer, lets it run for a while after it has opened the database (a tenth of them is not given the
// time to), kills it, and gives the ids it acknowledged.
func runAndKill(dsn string, seed uint64, wait time.Duration) (ids []string, err error) {
	c := exec.Command(os.Args[0], "-test.run=^$") // this test's own binary
	c.Env = append(os.Environ(), "THWART_STORE_CHILD="+dsn, fmt.Sprint("THWART_STORE_SEED=", seed))
	var stderr strings.Builder
	c.Stderr = &stderr
	out, err := c.StdoutPipe()
	if err != nil {
		return nil, err
	}
	if err := c.Start(); err != nil {
		return nil, err
	}
	kill := func() { _ = c.Process.Kill() } // it may have ended
	if seed%10 == 0 {
		time.AfterFunc(wait, kill)
	}
	in := bufio.NewReader(out)
	for {
		line, err := in.ReadString('\n')
		if err != nil {
			if !errors.Is(err, io.EOF) && !errors.Is(err, os.ErrClosed) {
				return nil, err
			}
			break // a line that breaks off was not received
		}
		switch f := strings.Fields(line); f[0] {
		case "open":
			time.AfterFunc(wait, kill)
		case "ack":
			ids = append(ids, f[1:]...)
		}
	}
	_ = c.Wait() // killed
	if stderr.Len() > 0 {
		return nil, errors.New(stderr.String())
	}
	return ids, nil
}

// fillUp puts batches until one fails, and gives how many entries were acknowledged.
func fillUp(t *testing.T, s *Store, w *storetest.World) (acked int, failed []thwart.Kept) {
	t.Helper()
	w.Places(2, 2, 2)
	w.Season(400, 8)
	for batch := range slices.Chunk(w.Entries, 50) {
		answers, err := s.Put(context.Background(), batch)
		if err == nil {
			acked += len(answers)
			continue
		}
		if !errors.Is(err, thwart.ErrStorage) || answers != nil {
			t.Fatalf("%v, %v", answers, err)
		}
		return acked, batch
	}
	t.Fatal("it all fitted in")
	return 0, nil
}

// TestDiskFull: without room a batch fails whole, what was acknowledged stays, and with room again the store goes on.
func TestDiskFull(t *testing.T) {
	t.Parallel()
	full := func(t *testing.T, path string, s *Store, makeRoom func()) {
		w := storetest.NewWorld(20)
		acked, failed := fillUp(t, s, w)
		if err := s.Healthy(); !errors.Is(err, thwart.ErrStorage) {
			t.Errorf("healthy: %v", err)
		}
		for range 3 {
			if _, err := s.Put(context.Background(), failed); !errors.Is(err, thwart.ErrStorage) {
				t.Fatalf("%v", err)
			}
		}
		makeRoom()
		if _, err := s.Put(context.Background(), failed); err != nil {
			t.Logf("goes on after being opened again: %v", err)
			if err := s.Close(); err != nil {
				t.Logf("closing: %v", err)
			}
			s = openTest(t, path)
		}
		if err := s.Healthy(); err != nil {
			t.Error(err)
		}
		rest := w.Entries[:acked+len(failed)]
		for i, a := range storetest.MustPut(t, s, rest...) {
			if i < acked && a.Result != thwart.Had {
				t.Fatalf("%s was acknowledged and is lost", a.ID)
			}
		}
		storetest.MustPut(t, s, w.Entries...)
		storetest.Compare(t, s, w)
		t.Logf("%d entries acknowledged before there was no room", acked)
	}
	t.Run("pages", func(t *testing.T) {
		path := filepath.Join(t.TempDir(), "a.db")
		s := openTest(t, path)
		limit := func(n int) {
			if _, err := s.conn.ExecContext(context.Background(), fmt.Sprint("PRAGMA max_page_count = ", n)); err != nil {
				t.Fatal(err)
			}
		}
		limit(200)
		full(t, path, s, func() { limit(1 << 30) })
	})
	t.Run("disk", func(t *testing.T) {
		dir := smallDisk(t, "3m")
		path := filepath.Join(dir, "a.db")
		s := openTest(t, path)
		full(t, path, s, func() { remount(t, dir, "size=256m") })
	})
}

// smallDisk mounts a file system in memory, which only root may.
func smallDisk(t *testing.T, size string) string {
	t.Helper()
	dir := t.TempDir()
	if out, err := exec.Command("mount", "-t", "tmpfs", "-o", "size="+size, "tmpfs", dir).CombinedOutput(); err != nil {
		t.Skipf("no file system of %s can be mounted: %v: %s", size, err, out)
	}
	t.Cleanup(func() {
		if out, err := exec.Command("umount", "-l", dir).CombinedOutput(); err != nil {
			t.Errorf("%v: %s", err, out)
		}
	})
	return dir
}

func remount(t *testing.T, dir, option string) {
	t.Helper()
	if out, err := exec.Command("mount", "-o", "remount,"+option, dir).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
}

// TestReadOnlyFile: a file that cannot be written is reported when it is opened, by its name; reading it is possible.
func TestReadOnlyFile(t *testing.T) {
	t.Parallel()
	check := func(t *testing.T, dir string, close func()) {
		path := filepath.Join(dir, "a.db")
		s := openTest(t, path)
		w := season(t, s, 21, 3)
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
		close()
		_, err := Open(context.Background(), path, Options{})
		if !errors.Is(err, thwart.ErrStorage) || !strings.Contains(err.Error(), path) || !strings.Contains(err.Error(), "cannot be written") {
			t.Errorf("%v", err)
		}
		r, err := Open(context.Background(), path, Options{ReadOnly: true})
		if err != nil {
			t.Fatal(err)
		}
		defer r.Close() // test
		storetest.Compare(t, r, w)
		if _, err := r.Put(context.Background(), w.Entries[:1]); !errors.Is(err, thwart.ErrStorage) || !strings.Contains(err.Error(), "reading only") {
			t.Errorf("%v", err)
		}
	}
	t.Run("file system", func(t *testing.T) {
		dir := smallDisk(t, "64m")
		check(t, dir, func() { remount(t, dir, "ro") })
	})
	t.Run("permission", func(t *testing.T) {
		if os.Geteuid() == 0 {
			t.Skip("root may write everything; the other case stands for this one")
		}
		dir := t.TempDir()
		check(t, dir, func() {
			if err := os.Chmod(filepath.Join(dir, "a.db"), 0o400); err != nil {
				t.Fatal(err)
			}
		})
	})
	t.Run("folder", func(t *testing.T) {
		if _, err := Open(context.Background(), t.TempDir(), Options{}); !errors.Is(err, thwart.ErrStorage) {
			t.Errorf("%v", err)
		}
		if _, err := Open(context.Background(), filepath.Join(t.TempDir(), "none", "a.db"), Options{}); !errors.Is(err, os.ErrNotExist) {
			t.Errorf("%v", err)
		}
	})
}

// TestRunAgain: a transaction that lost a race is run again, a few times; any other failure is not.
func TestRunAgain(t *testing.T) {
	s := openTest(t, storetest.Postgres(t).DSN(t))
	for _, c := range []struct {
		code      string
		fail, ran int
		kept      bool
	}{{"40001", 3, 4, true}, {"40P01", 1, 2, true}, {"40001", 1000, tries, false}, {"53100", 1000, 1, false}} {
		ran := 0
		err := s.inWrite(context.Background(), "testing", func(ctx context.Context, w work) error {
			if _, err := w.exec(ctx, "UPDATE ledger SET cursor = cursor + 1"); err != nil {
				return err
			}
			if ran++; ran <= c.fail {
				return &pgconn.PgError{Code: c.code}
			}
			return nil
		})
		if ran != c.ran || (err == nil) != c.kept || err != nil && !errors.Is(err, thwart.ErrStorage) {
			t.Errorf("%s: ran %d times, error %v", c.code, ran, err)
		}
	}
	var cursor int64
	if err := s.read.QueryRow("SELECT cursor FROM ledger").Scan(&cursor); err != nil || cursor != 2 {
		t.Errorf("two of the transactions came through, the ledger counts %d, %v", cursor, err)
	}
}

// TestServerGone: a call on a connection that broke fails, and the next one connects anew.
func TestServerGone(t *testing.T) {
	t.Parallel()
	s := openTest(t, storetest.Postgres(t).DSN(t))
	w := season(t, s, 22, 5)
	for round := range 5 {
		k := w.Add(thwart.KindWater, map[string]string{"name": fmt.Sprint(round)})
		err := s.inWrite(context.Background(), "testing", func(ctx context.Context, inner work) error {
			var pid int
			if err := inner.row(ctx, "SELECT pg_backend_pid()").Scan(&pid); err != nil {
				return err
			}
			if _, err := s.read.Exec("SELECT pg_terminate_backend($1)", pid); err != nil {
				return err
			}
			_, err := takeLedger(ctx, inner, 1)
			return err
		})
		if !errors.Is(err, thwart.ErrStorage) {
			t.Fatalf("%v", err)
		}
		storetest.MustPut(t, s, k)
	}
	if err := s.Healthy(); err != nil {
		t.Error(err)
	}
	storetest.Compare(t, s, w)
}
