package work_test

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"path/filepath"
	"sync/atomic"
	"testing"
	"time"

	"thwart"
	"thwart/internal/store"
	"thwart/internal/work"
)

var idN atomic.Int64

func newJob(kind, input string) thwart.Job {
	at := time.Now()
	return thwart.Job{ID: thwart.MakeID(at, [10]byte{9: byte(idN.Add(1))}), Kind: kind, By: "a", CreatedAt: at, Input: json.RawMessage(input)}
}

func openStore(t *testing.T) *store.Store {
	t.Helper()
	s, err := store.Open(t.Context(), filepath.Join(t.TempDir(), "s.db"), store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	return s
}

func start(t *testing.T, s *store.Store, reg *work.Registry) *work.Runner {
	t.Helper()
	r := work.Start(s, reg, nil, nil)
	t.Cleanup(func() {
		if err := r.Close(context.Background()); err != nil {
			t.Error(err)
		}
	})
	return r
}

func wait(t *testing.T, s *store.Store, id string, until func(thwart.Job) bool) thwart.Job {
	t.Helper()
	for end := time.Now().Add(20 * time.Second); ; {
		j, err := s.JobByID(t.Context(), id)
		if err != nil {
			t.Fatal(err)
		}
		if until(j) {
			return j
		}
		if time.Now().After(end) {
			t.Fatalf("still %+v", j)
		}
		time.Sleep(5 * time.Millisecond)
	}
}

func ended(j thwart.Job) bool { return j.State.Ended() }

func TestWhatBecomesOfAJob(t *testing.T) {
	reg := &work.Registry{}
	reg.Register("double", thwart.CanRead, func(_ context.Context, in json.RawMessage, progress func(float64, string)) (json.RawMessage, error) {
		var n int
		if err := json.Unmarshal(in, &n); err != nil {
			return nil, thwart.FieldErrors{{Field: "input", Value: string(in), Accepted: "a number"}}
		}
		progress(0.5, "doubling")
		switch n {
		case 0:
			return nil, errors.New("nothing to double")
		case 1:
			panic("no")
		}
		return json.RawMessage(fmt.Sprint(2 * n)), nil
	})
	s := openStore(t)
	r := start(t, s, reg)
	for _, c := range []struct {
		input, result string
		state         thwart.JobState
		fields        int
	}{
		{"21", "42", thwart.JobDone, 0}, {"0", "", thwart.JobFailed, 0}, {"1", "", thwart.JobFailed, 0}, {`"x"`, "", thwart.JobFailed, 1},
	} {
		j := newJob("double", c.input)
		if err := r.Add(t.Context(), j); err != nil {
			t.Fatal(err)
		}
		got := wait(t, s, j.ID, ended)
		if got.State != c.state || string(got.Result) != c.result || len(got.Errors) != c.fields || (got.Error == "") != (c.state == thwart.JobDone) {
			t.Errorf("%s: %+v", c.input, got)
		}
		if c.state == thwart.JobDone && (got.Fraction != 1 || got.Words != "doubling" || got.StartedAt == nil || got.EndedAt == nil) {
			t.Errorf("%s: %+v", c.input, got)
		}
	}
}

// Two jobs of one kind take turns, those of two kinds do not; a job that waits and one that runs can both be cancelled.
func TestTurnsAndCancelling(t *testing.T) {
	reg := &work.Registry{}
	var at, most atomic.Int64
	hold := make(chan struct{})
	slow := func(ctx context.Context, _ json.RawMessage, _ func(float64, string)) (json.RawMessage, error) {
		most.Store(max(most.Load(), at.Add(1)))
		defer at.Add(-1)
		select {
		case <-hold:
			return json.RawMessage("true"), nil
		case <-ctx.Done():
			return nil, ctx.Err()
		}
	}
	reg.Register("slow", thwart.CanRead, slow)
	reg.Register("quick", thwart.CanRead, func(context.Context, json.RawMessage, func(float64, string)) (json.RawMessage, error) {
		return json.RawMessage("1"), nil
	})
	s := openStore(t)
	r := start(t, s, reg)
	a, b, c, d := newJob("slow", "{}"), newJob("slow", "{}"), newJob("slow", "{}"), newJob("quick", "{}")
	for _, j := range []thwart.Job{a, b, c, d} {
		if err := r.Add(t.Context(), j); err != nil {
			t.Fatal(err)
		}
	}
	wait(t, s, a.ID, func(j thwart.Job) bool { return j.State == thwart.JobRunning })
	wait(t, s, d.ID, ended)
	if err := r.Cancel(t.Context(), b.ID); err != nil {
		t.Fatal(err)
	}
	if j := wait(t, s, b.ID, ended); j.State != thwart.JobCancelled || j.StartedAt != nil {
		t.Errorf("cancelled while it waited: %+v", j)
	}
	if err := r.Cancel(t.Context(), a.ID); err != nil {
		t.Fatal(err)
	}
	if j := wait(t, s, a.ID, ended); j.State != thwart.JobCancelled {
		t.Errorf("cancelled while it ran: %+v", j)
	}
	close(hold)
	if j := wait(t, s, c.ID, ended); j.State != thwart.JobDone {
		t.Errorf("the one after: %+v", j)
	}
	if most.Load() != 1 {
		t.Errorf("%d jobs of one kind ran at once", most.Load())
	}
	if err := r.Cancel(t.Context(), newJob("slow", "{}").ID); !errors.Is(err, thwart.ErrNotFound) {
		t.Errorf("cancelling no job: %v", err)
	}
}

// A server that goes down marks its job interrupted; one that was killed is found out by the next. What waited is run then.
func TestInterrupted(t *testing.T) {
	reg := &work.Registry{}
	reg.Register("long", thwart.CanRead, func(ctx context.Context, in json.RawMessage, _ func(float64, string)) (json.RawMessage, error) {
		if string(in) == "2" {
			return in, nil
		}
		<-ctx.Done()
		return nil, ctx.Err()
	})
	s := openStore(t)
	r := work.Start(s, reg, nil, nil)
	stopped, waiting, killed := newJob("long", "1"), newJob("long", "2"), newJob("killed", "1")
	for _, j := range []thwart.Job{stopped, waiting, killed} {
		if err := r.Add(t.Context(), j); err != nil {
			t.Fatal(err)
		}
	}
	wait(t, s, stopped.ID, func(j thwart.Job) bool { return j.State == thwart.JobRunning })
	if err := r.Close(t.Context()); err != nil {
		t.Fatal(err)
	}
	if j := wait(t, s, stopped.ID, ended); j.State != thwart.JobInterrupted || j.Error == "" || len(j.Result) != 0 {
		t.Errorf("%+v", j)
	}
	// A runner that was killed says nothing any more.
	past := time.Now().Add(-time.Minute)
	if _, err := s.ClaimJob(t.Context(), []string{"killed"}, "gone", past, past); err != nil {
		t.Fatal(err)
	}
	reg2 := &work.Registry{}
	reg2.Register("long", thwart.CanRead, func(_ context.Context, in json.RawMessage, _ func(float64, string)) (json.RawMessage, error) {
		return in, nil
	})
	reg2.Register("killed", thwart.CanRead, func(_ context.Context, in json.RawMessage, _ func(float64, string)) (json.RawMessage, error) {
		return in, nil
	})
	start(t, s, reg2)
	if j := wait(t, s, killed.ID, ended); j.State != thwart.JobInterrupted || j.Error == "" {
		t.Errorf("%+v", j)
	}
	if j := wait(t, s, waiting.ID, ended); j.State != thwart.JobDone || string(j.Result) != "2" {
		t.Errorf("%+v", j)
	}
	if _, err := s.BeatJob(t.Context(), killed.ID, "gone", time.Now(), 0.5, ""); !errors.Is(err, thwart.ErrConflict) {
		t.Errorf("the killed runner speaks again: %v", err)
	}
	if err := s.EndJob(t.Context(), killed.ID, "gone", thwart.JobEnd{State: thwart.JobDone, Result: []byte("1"), At: time.Now()}); !errors.Is(err, thwart.ErrConflict) {
		t.Errorf("the killed runner has a result: %v", err)
	}
}

func TestRegistry(t *testing.T) {
	reg := &work.Registry{}
	none := func(context.Context, json.RawMessage, func(float64, string)) (json.RawMessage, error) {
		return nil, nil
	}
	reg.Register("b", thwart.CanManage, none)
	reg.Register("a", thwart.CanRead, none)
	if got := fmt.Sprint(reg.Kinds(thwart.AccessBiologist), reg.Kinds(thwart.AccessManager), reg.Kinds(thwart.AccessSteward)); got != "[a] [a b] []" {
		t.Error(got)
	}
	defer func() {
		if recover() == nil {
			t.Error("a kind registered twice")
		}
	}()
	reg.Register("a", thwart.CanRead, none)
}
