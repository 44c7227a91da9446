// Package work runs long computations apart from the requests that ask for them: fits, plans, reports. Each kind of computation
// is registered once with what an account must be allowed to do for it ([Registry.Register]); a [Runner] takes jobs from the
// store's queue, one at a time of each kind, and keeps what comes of them.
//
// A job whose server goes away is marked interrupted, and nothing of it is taken for a result. Servers that share one database
// share one queue.
package work

import (
	"context"
	"crypto/rand"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"runtime/debug"
	"slices"
	"sync"
	"time"

	"thwart"
)

// Do computes. It must return soon after ctx ends. progress may be called from any goroutine, as often as wanted: fraction is
// 0 to 1, words say what is being done. An error that is [thwart.FieldErrors] is told field by field; of any other error the
// text is told to who asked, so it must hold nothing secret.
type Do func(ctx context.Context, input json.RawMessage, progress func(fraction float64, words string)) (json.RawMessage, error)

// Limits of a job.
const (
	MaxInput  = 1 << 20
	MaxResult = 32 << 20
	maxWords  = 200
)

// Times of a runner.
const (
	beatEvery = time.Second
	// silentFor is how long a runner may say nothing before its job counts as interrupted.
	silentFor = 15 * time.Second
)

type kind struct {
	needs thwart.Capability
	do    Do
}

// Registry lists the kinds of computation. Register everything before a [Runner] is made.
type Registry struct{ kinds map[string]kind }

// Register adds a kind. It panics on a kind that is there already, which is a mistake in the program.
func (r *Registry) Register(name string, needs thwart.Capability, do Do) {
	if name == "" || needs == "" || do == nil {
		panic("work: a kind needs a name, a capability and a function")
	}
	if r.kinds == nil {
		r.kinds = map[string]kind{}
	}
	if _, twice := r.kinds[name]; twice {
		panic("work: two kinds are called " + name)
	}
	r.kinds[name] = kind{needs, do}
}

// Needs gives what an account must be allowed to do for a kind.
func (r *Registry) Needs(name string) (c thwart.Capability, ok bool) {
	k, ok := r.kinds[name]
	return k.needs, ok
}

// Kinds lists the kinds that a role may run, in order.
func (r *Registry) Kinds(role thwart.AccessRole) []string {
	out := []string{}
	for name, k := range r.kinds {
		if role.May(k.needs) {
			out = append(out, name)
		}
	}
	slices.Sort(out)
	return out
}

func (r *Registry) all() (out []string) {
	for name := range r.kinds {
		out = append(out, name)
	}
	slices.Sort(out)
	return out
}

// Runner works at jobs until it is closed. It is safe for concurrent use.
type Runner struct {
	jobs  thwart.Jobs
	reg   *Registry
	log   *slog.Logger
	now   func() time.Time
	name  string
	poll  time.Duration
	wake  chan struct{}
	stop  context.CancelFunc
	ended chan struct{}

	mu      sync.Mutex
	running map[string]context.CancelCauseFunc // by job
	work    sync.WaitGroup
}

var (
	errCancelled = errors.New("cancelled")
	errStopping  = errors.New("the server that ran it stopped; start it again")
)

// Start begins to work at jobs of all registered kinds. now may be nil. Close the runner before the store.
func Start(jobs thwart.Jobs, reg *Registry, log *slog.Logger, now func() time.Time) *Runner {
	if log == nil {
		log = slog.New(slog.DiscardHandler)
	}
	if now == nil {
		now = time.Now
	}
	var name [8]byte
	rand.Read(name[:])
	ctx, stop := context.WithCancel(context.Background())
	r := &Runner{
		jobs: jobs, reg: reg, log: log, now: now, name: hex.EncodeToString(name[:]), poll: 2 * time.Second, wake: make(chan struct{}, 1),
		stop: stop, ended: make(chan struct{}), running: map[string]context.CancelCauseFunc{},
	}
	go r.loop(ctx)
	return r
}

// Registry gives the kinds that are run.
func (r *Runner) Registry() *Registry { return r.reg }

// Add puts a job in the queue.
func (r *Runner) Add(ctx context.Context, j thwart.Job) error {
	if err := r.jobs.AddJob(ctx, j); err != nil {
		return err
	}
	r.Wake()
	return nil
}

// Wake makes the runner look at the queue now.
func (r *Runner) Wake() {
	select {
	case r.wake <- struct{}{}:
	default: // it is about to look anyway
	}
}

// Cancel ends a job that waits and stops one that runs, here or on another server.
func (r *Runner) Cancel(ctx context.Context, id string) error {
	if err := r.jobs.CancelJob(ctx, id, r.now()); err != nil {
		return err
	}
	r.mu.Lock()
	stop := r.running[id]
	r.mu.Unlock()
	if stop != nil {
		stop(errCancelled)
	}
	return nil
}

// Close stops what is running, which is marked interrupted, and waits until it has ended or ctx does.
func (r *Runner) Close(ctx context.Context) error {
	r.stop()
	done := make(chan struct{})
	go func() {
		<-r.ended
		r.work.Wait()
		close(done)
	}()
	select {
	case <-done:
		return nil
	case <-ctx.Done():
		return fmt.Errorf("a computation did not stop: %w", ctx.Err())
	}
}

func (r *Runner) loop(ctx context.Context) {
	defer close(r.ended)
	tick := time.NewTicker(r.poll)
	defer tick.Stop()
	for {
		for r.next(ctx) {
		}
		select {
		case <-ctx.Done():
			return
		case <-r.wake:
		case <-tick.C:
		}
	}
}

// next begins one job, if there is one to begin.
func (r *Runner) next(ctx context.Context) bool {
	if ctx.Err() != nil {
		return false
	}
	now := r.now()
	j, err := r.jobs.ClaimJob(ctx, r.reg.all(), r.name, now, now.Add(-silentFor))
	if err != nil {
		if !errors.Is(err, thwart.ErrNotFound) && ctx.Err() == nil {
			r.log.Warn("looking for a job", "error", err)
		}
		return false
	}
	jctx, stop := context.WithCancelCause(ctx)
	r.mu.Lock()
	r.running[j.ID] = stop
	r.mu.Unlock()
	r.work.Add(1)
	go func() {
		defer r.work.Done()
		r.run(jctx, stop, &j)
		r.mu.Lock()
		delete(r.running, j.ID)
		r.mu.Unlock()
		stop(nil)
		r.Wake()
	}()
	return true
}

// progress is how far a job said it is.
type progress struct {
	mu       sync.Mutex
	fraction float64
	words    string
}

func (p *progress) set(fraction float64, words string) {
	if len(words) > maxWords {
		words = words[:maxWords]
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	p.fraction, p.words = min(max(fraction, 0), 1), words
}

func (p *progress) get() (float64, string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.fraction, p.words
}

func (r *Runner) run(ctx context.Context, stop context.CancelCauseFunc, j *thwart.Job) {
	began := r.now()
	var p progress
	beats := make(chan struct{})
	var beating sync.WaitGroup
	beating.Add(1)
	go func() {
		defer beating.Done()
		r.beat(ctx, stop, j.ID, &p, beats)
	}()
	result, err := r.compute(ctx, j, p.set)
	close(beats)
	beating.Wait()

	end := thwart.JobEnd{State: thwart.JobDone, Result: result, At: r.now()}
	var fields thwart.FieldErrors
	switch cause := context.Cause(ctx); {
	case errors.Is(cause, errCancelled):
		end = thwart.JobEnd{State: thwart.JobCancelled, At: end.At}
	case errors.Is(cause, thwart.ErrConflict):
		return // it counts as interrupted already
	case cause != nil:
		end = thwart.JobEnd{State: thwart.JobInterrupted, Error: errStopping.Error(), At: end.At}
	case errors.As(err, &fields):
		end = thwart.JobEnd{State: thwart.JobFailed, Error: "some fields cannot be taken", Errors: fields, At: end.At}
	case err != nil:
		end = thwart.JobEnd{State: thwart.JobFailed, Error: err.Error(), At: end.At}
	case len(result) > MaxResult:
		end = thwart.JobEnd{State: thwart.JobFailed, Error: fmt.Sprintf("the result has %d bytes; at most %d are kept", len(result), MaxResult), At: end.At}
	case !json.Valid(result):
		end = thwart.JobEnd{State: thwart.JobFailed, Error: "the result is no JSON", At: end.At}
	}
	// The end is kept even when the server is going down.
	keep, cancel := context.WithTimeout(context.WithoutCancel(ctx), 10*time.Second)
	defer cancel()
	if end.State == thwart.JobDone {
		_, words := p.get()
		if _, err := r.jobs.BeatJob(keep, j.ID, r.name, end.At, 1, words); err != nil {
			r.log.Warn("noting progress", "job", j.ID, "error", err)
		}
	}
	if err := r.jobs.EndJob(keep, j.ID, r.name, end); err != nil {
		r.log.Error("a job's end was not kept", "job", j.ID, "kind", j.Kind, "error", err)
		return
	}
	r.log.Info("job", "kind", j.Kind, "job", j.ID, "state", string(end.State), "seconds", end.At.Sub(began).Seconds())
}

// compute runs the function; a panic in it is a failure of the job and not of the server.
func (r *Runner) compute(ctx context.Context, j *thwart.Job, set func(float64, string)) (result json.RawMessage, err error) {
	defer func() {
		if x := recover(); x != nil {
			r.log.Error("a computation broke down", "job", j.ID, "kind", j.Kind, "panic", fmt.Sprint(x), "stack", string(debug.Stack()))
			result, err = nil, errors.New("the computation broke down; what happened is in the server's log")
		}
	}()
	return r.reg.kinds[j.Kind].do(ctx, j.Input, set)
}

// beat tells the store how far a job is until it ends, and stops it when somebody asks for that.
func (r *Runner) beat(ctx context.Context, stop context.CancelCauseFunc, id string, p *progress, done <-chan struct{}) {
	t := time.NewTicker(beatEvery)
	defer t.Stop()
	for {
		select {
		case <-done:
			return
		case <-ctx.Done():
			return
		case <-t.C:
		}
		fraction, words := p.get()
		cancel, err := r.jobs.BeatJob(ctx, id, r.name, r.now(), fraction, words)
		switch {
		case errors.Is(err, thwart.ErrConflict):
			stop(fmt.Errorf("%w", err))
			return
		case err != nil && ctx.Err() == nil:
			r.log.Warn("noting progress", "job", id, "error", err) // tried again at the next beat
		case cancel:
			stop(errCancelled)
			return
		}
	}
}
