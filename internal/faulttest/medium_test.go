package faulttest

import (
	"bytes"
	"context"
	"math/rand/v2"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"
	"testing"
	"time"

	"thwart/internal/store"
	"thwart/internal/store/storetest"
)

// The whole database server goes away under load, again and again, as for a restart or a crash. The program's own processes stay
// up, answer that nothing is to be taken as kept, and go on by themselves when it is back.
func TestDatabaseRestartedUnderLoad(t *testing.T) {
	if testing.Short() {
		t.Skip("takes half a minute")
	}
	c := storetest.OwnCluster(t)
	rng := rand.New(rand.NewPCG(3, 1))
	p := begin(t, c.DSN(t), t.TempDir(), 2)
	phones := p.phones(4)
	stop := p.handIn(phones)
	for range 8 {
		time.Sleep(time.Duration(500+rng.IntN(700)) * time.Millisecond)
		c.Restart(t, time.Duration(rng.IntN(300))*time.Millisecond)
	}
	time.Sleep(time.Second)
	stop()
	for _, s := range p.servers {
		if s.cmd.ProcessState != nil {
			t.Errorf("the server at %s ended: %s", s.url, s.log.String())
		}
	}
	p.settle(phones)
}

// small mounts a file system of a few megabytes. That takes rights that a test seldom has; without them the test is skipped and
// says so (that a full disk is told from a broken one is tested at the store as well).
func small(t *testing.T, size string) string {
	t.Helper()
	dir := t.TempDir()
	if out, err := exec.Command("mount", "-t", "tmpfs", "-o", "size="+size, "tmpfs", dir).CombinedOutput(); err != nil {
		t.Skipf("NO SMALL DISK, A FULL ONE IS NOT TESTED ON THE PROGRAM: %v: %s", err, out)
	}
	t.Cleanup(func() {
		if out, err := exec.Command("umount", "-l", dir).CombinedOutput(); err != nil {
			t.Errorf("%v: %s", err, out)
		}
	})
	return dir
}

func health(url string) int {
	res, err := line.Get(url + "/healthz")
	if err != nil {
		return 0
	}
	_ = res.Body.Close()
	return res.StatusCode
}

// The disk fills up while phones hand in records, and is given room again. In between nothing is acknowledged that is not
// kept, the server says that it is not well, and afterwards it goes on without being started again.
func TestDiskFull(t *testing.T) {
	if testing.Short() {
		t.Skip("takes a while")
	}
	disk := small(t, "12m")
	p := begin(t, filepath.Join(disk, "programme.db"), t.TempDir(), 1)
	phones := p.phones(3)
	stop := p.handIn(phones)
	time.Sleep(time.Second)
	ballast := filepath.Join(disk, "ballast")
	for round := range 3 {
		lost := p.lost.Load()
		f, err := os.Create(ballast)
		if err != nil {
			t.Fatal(err)
		}
		for err == nil {
			_, err = f.Write(make([]byte, 4096))
		}
		_ = f.Close()
		sick := false
		for end := time.Now().Add(20 * time.Second); !(sick && p.lost.Load() > lost) && time.Now().Before(end); time.Sleep(20 * time.Millisecond) {
			sick = sick || health(p.servers[0].url) == http.StatusServiceUnavailable
		}
		if !sick || p.lost.Load() == lost {
			t.Errorf("round %d: the disk is full, seen by /healthz: %t, requests refused: %d", round, sick, p.lost.Load()-lost)
		}
		if err := os.Remove(ballast); err != nil {
			t.Fatal(err)
		}
		for end := time.Now().Add(20 * time.Second); health(p.servers[0].url) != http.StatusOK; time.Sleep(20 * time.Millisecond) {
			if time.Now().After(end) {
				t.Fatalf("round %d: there is room again and the server does not go on: %s", round, p.servers[0].log.String())
			}
		}
	}
	stop()
	p.settle(phones)
}

// A database file that cannot be written stops the server from starting, by name, and is left as it is; what only reads, reads.
func TestReadOnlyFile(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("rights of files are told otherwise there")
	}
	dir := t.TempDir()
	path := filepath.Join(dir, "records.db")
	s, err := store.Open(context.Background(), path, store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if err := os.Chmod(path, 0o444); err != nil {
		t.Fatal(err)
	}
	before, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	keys := t.TempDir()
	run := func(args ...string) (string, error) {
		ctx, cancel := context.WithTimeout(context.Background(), 20*time.Second)
		defer cancel()
		cmd := exec.CommandContext(ctx, binary, args...)
		if os.Geteuid() == 0 { // whom no right of a file stops
			const nobody = 65534
			for d := dir; d != filepath.Dir(d) && d != os.TempDir(); d = filepath.Dir(d) {
				if err := os.Chmod(d, 0o755); err != nil {
					t.Fatal(err)
				}
			}
			for _, d := range []string{filepath.Dir(binary), keys, filepath.Dir(keys)} {
				if err := os.Chmod(d, 0o755); err != nil {
					t.Fatal(err)
				}
			}
			if err := os.Chown(keys, nobody, nobody); err != nil {
				t.Fatal(err)
			}
			cmd.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: nobody, Gid: nobody}}
		}
		out, err := cmd.CombinedOutput()
		return string(out), err
	}
	out, err := run("serve", "--dir", keys, "--addr", "127.0.0.1:0", "--store", path)
	if err == nil || !strings.Contains(out, path) || !strings.Contains(out, "cannot be written") {
		t.Errorf("serving a file that cannot be written: %v, %s", err, out)
	}
	if out, err := run("check", "--strict", "--store", path); err != nil {
		t.Errorf("checking it: %v, %s", err, out)
	}
	if after, err := os.ReadFile(path); err != nil || !bytes.Equal(before, after) {
		t.Errorf("the file was changed (%v)", err)
	}
}
