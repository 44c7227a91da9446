package thwart

import (
	"context"
	"encoding/json"
	"time"
)

// JobState is how far a long computation has come.
type JobState string

// States of a job. Interrupted means that the server running it went away; it can be started again from its input.
const (
	JobQueued      JobState = "queued"
	JobRunning     JobState = "running"
	JobDone        JobState = "done"
	JobFailed      JobState = "failed"
	JobCancelled   JobState = "cancelled"
	JobInterrupted JobState = "interrupted"
)

// JobStates lists them all.
var JobStates = []JobState{JobQueued, JobRunning, JobDone, JobFailed, JobCancelled, JobInterrupted}

// Ended reports whether nothing more will come of a job.
func (s JobState) Ended() bool { return s != JobQueued && s != JobRunning }

// Job is one long computation: what it was asked, how far it is, what came of it.
type Job struct {
	ID        string          `json:"id"`
	Kind      string          `json:"kind"`
	State     JobState        `json:"state"`
	By        string          `json:"by"`               // account
	Person    string          `json:"person,omitempty"` // subject
	Input     json.RawMessage `json:"input,omitempty"`
	Result    json.RawMessage `json:"result,omitempty"` // of a job that is done
	Error     string          `json:"error,omitempty"`  // of one that failed
	Errors    FieldErrors     `json:"errors,omitempty"` // of the input
	Fraction  float64         `json:"fraction"`         // 0 to 1
	Words     string          `json:"words,omitempty"`  // what it is doing
	CreatedAt time.Time       `json:"createdAt"`
	StartedAt *time.Time      `json:"startedAt,omitempty"`
	EndedAt   *time.Time      `json:"endedAt,omitempty"`
}

// JobEnd is what came of a job.
type JobEnd struct {
	State  JobState
	Result json.RawMessage
	Error  string
	Errors FieldErrors
	At     time.Time
}

// Jobs keeps long computations, so that a result survives a reload and a restart. It is implemented by the same stores as
// [Store]. Servers that share one database share one queue.
type Jobs interface {
	AddJob(ctx context.Context, j Job) error
	// JobByID gives a whole job.
	JobByID(ctx context.Context, id string) (Job, error)
	// ListJobs gives jobs of some kinds, the latest first, without input and result.
	ListJobs(ctx context.Context, kinds []string, after string, limit int) (Page[Job], error)
	// ClaimJob takes the oldest queued job of the kinds of which none is running, for a runner to work at; ErrNotFound where there
	// is none. Running jobs that no runner has spoken for since silent are marked interrupted first.
	ClaimJob(ctx context.Context, kinds []string, runner string, at, silent time.Time) (Job, error)
	// BeatJob says that a runner is at work and how far it is. cancel is set when somebody wants the job stopped; ErrConflict
	// means that the job is no longer this runner's.
	BeatJob(ctx context.Context, id, runner string, at time.Time, fraction float64, words string) (cancel bool, err error)
	// EndJob keeps what came of a job; ErrConflict where it is no longer this runner's.
	EndJob(ctx context.Context, id, runner string, end JobEnd) error
	// CancelJob ends a queued job and asks the runner of a running one to stop. Of one that has ended it changes nothing.
	CancelJob(ctx context.Context, id string, at time.Time) error
}
