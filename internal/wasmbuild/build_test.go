package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"thwart/phone"
)

const root = "../.."

// MaxServed is the most bytes a phone may have to load for the engine, compressed with brotli. Practice craft and questions,
// which have to work without a network, are about 75,000 of them.
const MaxServed = 1_400_000

var (
	once    sync.Once
	dir     string
	builtBy error
)

func TestMain(m *testing.M) {
	code := m.Run()
	if dir != "" {
		os.RemoveAll(dir)
	}
	os.Exit(code)
}

// built compiles the engine once for all tests, or skips where there is no Node to run it.
func built(t *testing.T) string {
	t.Helper()
	if testing.Short() {
		t.Skip("compiles a whole program")
	}
	if _, err := exec.LookPath("node"); err != nil {
		t.Skip("NOT CHECKED: node is not installed, so the engine cannot be run or measured as a phone has it")
	}
	once.Do(func() {
		if dir, builtBy = os.MkdirTemp("", "engine"); builtBy == nil {
			builtBy = build(root, dir)
		}
	})
	if builtBy != nil {
		t.Fatal(builtBy)
	}
	return dir
}

func TestServedSize(t *testing.T) {
	dir := built(t)
	out, err := exec.Command("node", "testdata/brotli.mjs", filepath.Join(dir, "engine.wasm")).CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	var raw, gzip, brotli int
	if _, err := fmt.Sscan(string(out), &raw, &gzip, &brotli); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	t.Logf("engine.wasm: %d bytes, gzip %d, brotli %d", raw, gzip, brotli)
	if brotli > MaxServed {
		t.Errorf("the engine is %d bytes as served; at most %d", brotli, MaxServed)
	}
}

// inBrowser answers calls by the compiled engine.
func inBrowser(t *testing.T, program string, calls []string) []string {
	t.Helper()
	cmd := exec.Command("node", "testdata/call.mjs", built(t), program)
	cmd.Stdin = strings.NewReader(strings.Join(calls, "\n") + "\n")
	var failed bytes.Buffer
	cmd.Stderr = &failed
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%v\n%s", err, failed.String())
	}
	lines := strings.Split(strings.TrimSuffix(string(out), "\n"), "\n")
	if len(lines) != len(calls) {
		t.Fatalf("%d answers to %d calls\n%s", len(lines), len(calls), failed.String())
	}
	return lines
}

// The compiled engine knows the same operations and answers the simple ones to the letter as the one on a desk; so it does
// where the call cannot be taken.
func TestAnswersAsOnADesk(t *testing.T) {
	calls := []string{`{"op":"library"}`, `{"op":"protocols"}`, `{"op":"nothing"}`, `not JSON`, ``, `{"op":"setup","in":{"class":"canoo"}}`}
	for _, class := range []string{"canoe", "wake_boat", "pontoon"} {
		calls = append(calls, `{"op":"setup","in":{"class":"`+class+`"}}`)
	}
	for _, op := range phone.Ops() {
		b, _ := json.Marshal(map[string]any{"op": op.Name})
		calls = append(calls, string(b), strings.Replace(string(b), "}", `,"in":{"noSuchField":1}}`, 1))
	}
	desk := phone.New()
	for i, got := range inBrowser(t, "practice.wasm", calls) {
		if want := string(desk.Call([]byte(calls[i]))); got != want {
			t.Errorf("%s\n browser %.300s\n desk    %.300s", calls[i], got, want)
		}
	}
}

// What every phone loads leaves out practice, and nothing else.
func TestRampLeavesOutPracticeAlone(t *testing.T) {
	var calls []string
	for _, op := range phone.Ops() {
		calls = append(calls, `{"op":"`+op.Name+`","in":{"noSuchField":1}}`)
	}
	for i, got := range inBrowser(t, "engine.wasm", calls) {
		name := phone.Ops()[i].Name
		missing, practice := strings.Contains(got, `"field":"op"`), strings.HasPrefix(name, "drill") || strings.HasPrefix(name, "questions")
		if missing != practice {
			t.Errorf("%s: left out of the ramp's program: %t", name, missing)
		}
	}
}

func TestSlimRefusesWhatItDoesNotKnow(t *testing.T) {
	for name, b := range map[string][]byte{
		"nothing": nil, "text": []byte("a text that is no program"), "cut off": []byte("\x00asm\x01\x00\x00\x00\x0b\xff"),
		"no data": []byte("\x00asm\x01\x00\x00\x00"), "no table": []byte("\x00asm\x01\x00\x00\x00\x0b\x07\x01\x00\x41\x00\x0b\x01x"),
	} {
		before := bytes.Clone(b)
		if _, err := Slim(b); err == nil {
			t.Errorf("%s was taken for a program", name)
		}
		if !bytes.Equal(before, b) {
			t.Errorf("%s was changed", name)
		}
	}
}
