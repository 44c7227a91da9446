package solver_test

import (
	"context"
	"errors"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"thwart/engine/mip"
	"thwart/engine/num"
	"thwart/internal/refcheck"
	"thwart/solver"
)

var (
	engine   *solver.Engine
	cacheDir = filepath.Join(os.TempDir(), "thwart-solver-cache")
)

func TestMain(m *testing.M) {
	ctx := context.Background()
	var err error
	if engine, err = solver.Open(ctx, solver.Settings{CacheDir: cacheDir}); err != nil {
		panic(err)
	}
	code := m.Run()
	if err := engine.Close(ctx); err != nil {
		panic(err)
	}
	os.Exit(code)
}

func solve(t testing.TB, m *mip.Model, opt mip.Options) mip.Solution {
	t.Helper()
	s, err := engine.Solve(context.Background(), m, opt)
	if err != nil {
		t.Fatal(err)
	}
	if s.HasPoint && !opt.Relax {
		if by, where := m.Violation(s.Values); by > 1e-6 {
			t.Fatalf("%s: the point breaks %s by %g", m.Name, where, by)
		}
	}
	return s
}

// A linear programme with a dual: max 3x + 5y, x ≤ 4, 2y ≤ 12, 3x + 2y ≤ 18 is 36 at (2, 6) with prices 0, 3/2, 1.
func TestLinear(t *testing.T) {
	m := mip.New("glass", true)
	x, y := m.Var("x", 0, mip.Inf, 3, false), m.Var("y", 0, mip.Inf, 5, false)
	m.AtMost("plant 1", 4, mip.Term{Var: x, Coef: 1})
	m.AtMost("plant 2", 12, mip.Term{Var: y, Coef: 2})
	m.AtMost("plant 3", 18, mip.Term{Var: x, Coef: 3}, mip.Term{Var: y, Coef: 2})
	s := solve(t, m, mip.Options{})
	const source = "Hillier & Lieberman, Introduction to Operations Research, the glass company (from memory)"
	refcheck.Near(t, "objective", s.Objective, 36, 1e-9, source)
	refcheck.Near(t, "bound", s.Bound, 36, 1e-9, source)
	refcheck.Near(t, "x", s.Values[x], 2, 1e-9, source)
	refcheck.Near(t, "y", s.Values[y], 6, 1e-9, source)
	for i, want := range []float64{0, 1.5, 1} {
		refcheck.Near(t, "price", s.Duals[i], want, 1e-9, source)
	}
	if s.Status != mip.Optimal || s.Gap() != 0 {
		t.Errorf("status %s, gap %v", s.Status, s.Gap())
	}
}

// knapsack is a seeded 0-1 knapsack with its optimum by dynamic programming over weights.
func knapsack(n int, seed uint64) (*mip.Model, float64) {
	r := num.Stream(seed, "knapsack")
	m := mip.New("knapsack", true)
	const room = 400
	best := make([]float64, room+1)
	var terms []mip.Term
	for range n {
		w, v := 10+r.IntN(60), float64(10+r.IntN(90))
		terms = append(terms, mip.Term{Var: m.Binary("item", v), Coef: float64(w)})
		for c := room; c >= w; c-- {
			best[c] = math.Max(best[c], best[c-w]+v)
		}
	}
	m.AtMost("room", room, terms...)
	return m, best[room]
}

func TestKnapsacks(t *testing.T) {
	for seed := range uint64(12) {
		m, want := knapsack(40, seed)
		refcheck.Near(t, "knapsack", solve(t, m, mip.Options{}).Objective, want, 1e-6, "dynamic programming over weights, exact")
	}
}

func TestMinimiseWithOffset(t *testing.T) {
	m := mip.New("cover", false)
	m.Offset = 10
	var v [3]mip.Var
	for i := range v {
		v[i] = m.Binary("set", float64(i+2))
	}
	for i := range v { // each pair needs one: an odd cycle, best 2+3
		m.AtLeast("edge", 1, mip.Term{Var: v[i], Coef: 1}, mip.Term{Var: v[(i+1)%3], Coef: 1})
	}
	s := solve(t, m, mip.Options{})
	refcheck.Near(t, "objective", s.Objective, 15, 1e-9, "by hand: two cheapest corners of a triangle, 2 + 3, and the offset 10")
	refcheck.Near(t, "bound", s.Bound, 15, 1e-6, "the same")
	relaxed := solve(t, m, mip.Options{Relax: true})
	refcheck.Near(t, "relaxed", relaxed.Objective, 14.5, 1e-9, "by hand: one half of each, 4.5, and the offset 10")
}

func TestNoPoint(t *testing.T) {
	m := mip.New("clash", true)
	x := m.Binary("x", 1)
	m.AtLeast("two", 2, mip.Term{Var: x, Coef: 1})
	if s := solve(t, m, mip.Options{}); s.Status != mip.Infeasible || s.HasPoint {
		t.Errorf("got %s with point %v", s.Status, s.HasPoint)
	}
	m = mip.New("open", true)
	m.Var("x", 0, mip.Inf, 1, false)
	if s := solve(t, m, mip.Options{}); s.Status != mip.Unbounded {
		t.Errorf("got %s, want unbounded", s.Status)
	}
	if s := solve(t, mip.New("empty", true), mip.Options{}); s.Status != mip.Optimal || !s.HasPoint {
		t.Errorf("empty model: %s", s.Status)
	}
}

// hard is a market-split model after Cornuéjols & Dawande 1999: equalities with large coefficients, slack to be made small.
// At this size branch and bound does not close it in any time a test would wait.
func hard(seed uint64) *mip.Model {
	r := num.Stream(seed, "hard")
	const rows, cols = 6, 50
	m := mip.New("market split", false)
	x := make([]mip.Var, cols)
	for i := range x {
		x[i] = m.Binary("x", 0)
	}
	for range rows {
		var terms []mip.Term
		sum := 0
		for _, v := range x {
			a := r.IntN(100)
			sum += a
			terms = append(terms, mip.Term{Var: v, Coef: float64(a)})
		}
		over, under := m.Var("over", 0, mip.Inf, 1, false), m.Var("under", 0, mip.Inf, 1, false)
		terms = append(terms, mip.Term{Var: over, Coef: -1}, mip.Term{Var: under, Coef: 1})
		m.Row("split", float64(sum/2), float64(sum/2), terms...)
	}
	return m
}

func TestTimeLimitHandsOverTheBestSoFar(t *testing.T) {
	s := solve(t, hard(1), mip.Options{TimeLimit: time.Second})
	if s.Status != mip.Stopped || !s.HasPoint || s.Why == "" || s.Bound > s.Objective {
		t.Errorf("%s, point %v, %q, bound %v of %v", s.Status, s.HasPoint, s.Why, s.Bound, s.Objective)
	}
}

func TestCancelHandsOverTheBestSoFar(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	seen := 0
	s, err := engine.Solve(ctx, hard(2), mip.Options{Progress: func(p mip.Progress) {
		if seen++; p.HasPoint && seen > 2 {
			cancel()
		}
	}})
	if err != nil {
		t.Fatal(err)
	}
	if s.Status != mip.Stopped || !s.HasPoint || seen < 3 {
		t.Errorf("%s, point %v, progress told %d times", s.Status, s.HasPoint, seen)
	}
	done, cancelled := context.WithCancel(context.Background())
	cancelled()
	if s, err := engine.Solve(done, hard(2), mip.Options{}); err != nil || s.Status != mip.Stopped {
		t.Errorf("cancelled before the start: %v, %v", s.Status, err)
	}
}

func TestStartIsTaken(t *testing.T) {
	m, want := knapsack(40, 3)
	first := solve(t, m, mip.Options{})
	var log []string
	again := solve(t, m, mip.Options{Start: first.Values, Log: func(s string) { log = append(log, s) }})
	refcheck.Near(t, "objective", again.Objective, want, 1e-6, "dynamic programming over weights, exact")
	if text := strings.Join(log, "\n"); !strings.Contains(text, "MIP start solution is feasible") {
		t.Errorf("the solver did not say that it took the start:\n%s", text)
	}
	wrong := make([]float64, len(m.Vars))
	for i := range wrong {
		wrong[i] = 1 // does not fit
	}
	refcheck.Near(t, "from a start that breaks a row", solve(t, m, mip.Options{Start: wrong}).Objective, want, 1e-6, "the same")
	if _, err := engine.Solve(context.Background(), m, mip.Options{Start: []float64{1}}); err == nil {
		t.Error("a start of the wrong length was taken")
	}
}

func TestTooLittleMemoryIsAnError(t *testing.T) {
	ctx := context.Background()
	small, err := solver.Open(ctx, solver.Settings{MemoryMB: 64, CacheDir: cacheDir})
	if err != nil {
		t.Fatal(err)
	}
	defer small.Close(ctx)
	m := mip.New("large", true)
	var terms []mip.Term
	for range 300000 {
		terms = append(terms, mip.Term{Var: m.Binary("x", 1), Coef: 1})
	}
	for range 12 {
		m.AtMost("row", 1000, terms...)
	}
	_, err = small.Solve(ctx, m, mip.Options{})
	if !errors.Is(err, mip.ErrSolver) || !strings.Contains(err.Error(), "memory") {
		t.Fatalf("got %v, want an error about memory", err)
	}
	ok, want := knapsack(20, 1)
	s, err := small.Solve(ctx, ok, mip.Options{})
	if err != nil {
		t.Fatalf("after a breakdown: %v", err)
	}
	refcheck.Near(t, "after a breakdown", s.Objective, want, 1e-6, "dynamic programming over weights, exact")
}

func TestSettingsRefused(t *testing.T) {
	if _, err := solver.Open(context.Background(), solver.Settings{MemoryMB: 5000}); err == nil {
		t.Error("5000 MB was taken")
	}
	bad := mip.New("bad", true)
	bad.Var("x", 2, 1, 1, false)
	if _, err := engine.Solve(context.Background(), bad, mip.Options{}); err == nil || !strings.Contains(err.Error(), "x") {
		t.Errorf("limits the wrong way round: %v", err)
	}
}
