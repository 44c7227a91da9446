package main

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"thwart/internal/casegen"
	"thwart/phone"
)

// The browser's engine and the desk's give the same answers: the same verdicts, reasons, treatments and words to the letter,
// and numbers within tolerance. WebAssembly may round a fused multiplication otherwise (Go specification, floating-point
// operators), which is the only difference allowed for.
const tolerance = 1e-9

// parityCases is how many seeded cases are compared each time. THWART_PARITY asks for another number, such as 10000; what that
// came to stands in docs/decisions/0022-one-engine-on-the-phone.md.
const parityCases = 1000

func TestSameAnswersAsOnADesk(t *testing.T) {
	n := parityCases
	if s := os.Getenv("THWART_PARITY"); s != "" {
		var err error
		if n, err = strconv.Atoi(s); err != nil {
			t.Fatal(err)
		}
	}
	var calls []string
	files, err := filepath.Glob(filepath.Join(root, "examples", "cases", "*.json"))
	if err != nil || len(files) < 15 {
		t.Fatalf("%d examples: %v", len(files), err)
	}
	for _, f := range files {
		b, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		calls = append(calls, oneLine(t, "assess", json.RawMessage(b)))
	}
	for i := range n {
		calls = append(calls, oneLine(t, "assess", casegen.Draw(casegen.Rand(i))))
	}
	desk, outcomes, differ := phone.New(), map[string]int{}, 0
	for i, got := range inBrowser(t, "engine.wasm", calls) {
		want := desk.Call([]byte(calls[i]))
		var a, b any
		if json.Unmarshal([]byte(got), &a) != nil || json.Unmarshal(want, &b) != nil {
			t.Fatalf("case %d: not JSON", i)
		}
		if path := difference("", a, b); path != "" {
			if differ++; differ < 5 {
				t.Errorf("case %d differs at %s\n%.400s", i-len(files), path, calls[i])
			}
		}
		outcomes[fmt.Sprint(pathOf(b, "out", "verdict", "outcome"))]++
	}
	t.Logf("%d cases, outcomes %v, %d differ", len(calls), outcomes, differ)
	for _, o := range []string{"launch", "fix_here", "wash", "dry", "hold"} {
		if outcomes[o] == 0 {
			t.Errorf("no case comes to %s: the comparison says nothing of it", o)
		}
	}
}

func oneLine(t *testing.T, op string, in any) string {
	t.Helper()
	b, err := json.Marshal(map[string]any{"op": op, "in": in})
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

func pathOf(v any, path ...string) any {
	for _, p := range path {
		m, _ := v.(map[string]any)
		v = m[p]
	}
	return v
}

// difference names the first place where two answers differ beyond tolerance; empty = nowhere.
func difference(at string, a, b any) string {
	switch x := a.(type) {
	case map[string]any:
		y, ok := b.(map[string]any)
		if !ok || len(x) != len(y) {
			return at + " (fields)"
		}
		for k := range x {
			if d := difference(at+"."+k, x[k], y[k]); d != "" {
				return d
			}
		}
	case []any:
		y, ok := b.([]any)
		if !ok || len(x) != len(y) {
			return at + " (length)"
		}
		for i := range x {
			if d := difference(fmt.Sprintf("%s[%d]", at, i), x[i], y[i]); d != "" {
				return d
			}
		}
	case float64:
		y, ok := b.(float64)
		if !ok || math.Abs(x-y) > tolerance*math.Max(math.Abs(x), math.Abs(y)) {
			return fmt.Sprintf("%s: %v and %v", at, a, b)
		}
	default:
		if a != b {
			return fmt.Sprintf("%s: %v and %v", at, a, b)
		}
	}
	return ""
}

// The comparison itself sees a difference.
func TestDifference(t *testing.T) {
	one := map[string]any{"a": []any{1.0, "x"}, "b": true}
	for i, two := range []any{
		map[string]any{"a": []any{1.0 + 1e-8, "x"}, "b": true}, map[string]any{"a": []any{1.0, "y"}, "b": true},
		map[string]any{"a": []any{1.0}, "b": true}, map[string]any{"a": []any{1.0, "x"}}, nil,
	} {
		if difference("", one, two) == "" {
			t.Errorf("%d: no difference seen", i)
		}
	}
	if d := difference("", one, map[string]any{"a": []any{1 + 1e-10, "x"}, "b": true}); d != "" {
		t.Error(d)
	}
}
