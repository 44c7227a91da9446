package server

import (
	"bytes"
	"os"
	"path/filepath"
	"sync"
	"testing"
)

// Many servers that ask at once are given one key for a season, another for the next, and the same after a restart.
func TestMarkKeys(t *testing.T) {
	path := filepath.Join(t.TempDir(), "marks.key")
	var wg sync.WaitGroup
	got := make([][]byte, 16)
	for i := range got {
		wg.Add(1)
		go func() {
			defer wg.Done()
			k, err := (&markKeys{path: path}).of([]string{"2026", "2027"}[i%2])
			if err != nil {
				t.Error(err)
			}
			got[i] = k
		}()
	}
	wg.Wait()
	for i := range got {
		if len(got[i]) != 32 || !bytes.Equal(got[i], got[i%2]) {
			t.Errorf("server %d was given another key", i)
		}
	}
	if bytes.Equal(got[0], got[1]) {
		t.Error("two seasons have one key")
	}
	info, err := os.Stat(path)
	if err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("%v, %v", info.Mode(), err)
	}
	if err := os.Chmod(path, 0o644); err != nil {
		t.Fatal(err)
	}
	if _, err := (&markKeys{path: path}).of("2026"); err == nil {
		t.Error("a file that others can read was taken")
	}
	if _, err := (&markKeys{path: path}).of("../x"); err == nil {
		t.Error("that is no season")
	}
}
