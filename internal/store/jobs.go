package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"thwart"
)

const (
	jobColumns = "id, kind, state, account, person, input, result, error, errors, fraction, words, runner, beat_at, cancel, " +
		"created_at, started_at, ended_at"
	// jobLife is how long a job that has ended is kept.
	jobLife = 180 * 24 * time.Hour
)

func jobErrors(errs thwart.FieldErrors) (string, error) {
	if len(errs) == 0 {
		return "", nil
	}
	b, err := json.Marshal(errs)
	return string(b), err
}

// AddJob puts a job in the queue.
func (s *Store) AddJob(ctx context.Context, j thwart.Job) error {
	if !thwart.IsID(j.ID) || j.Kind == "" || len(j.Kind) > maxWord {
		return thwart.FieldErrors{{Field: "id", Value: j.ID, Accepted: "an id and a kind"}}
	}
	return s.inWrite(ctx, "queueing a job", func(ctx context.Context, w work) error {
		_, err := w.exec(ctx, "INSERT INTO jobs ("+jobColumns+") VALUES "+places(1, 17), j.ID, j.Kind, string(thwart.JobQueued), j.By, j.Person,
			string(j.Input), "", "", "", 0.0, "", "", int64(0), int64(0), ms(j.CreatedAt), nil, nil)
		return s.orConflict(err, "a job with this id")
	})
}

func scanJob(rows scanner) (j thwart.Job, err error) {
	var input, result, errs, runner string
	var beat, cancel, created int64
	var started, ended sql.NullInt64
	err = rows.Scan(&j.ID, &j.Kind, (*string)(&j.State), &j.By, &j.Person, &input, &result, &j.Error, &errs, &j.Fraction, &j.Words, &runner,
		&beat, &cancel, &created, &started, &ended)
	if err != nil {
		return j, err
	}
	if input != "" {
		j.Input = json.RawMessage(input)
	}
	if result != "" {
		j.Result = json.RawMessage(result)
	}
	j.CreatedAt, j.StartedAt, j.EndedAt = fromMS(created), timeOrNil(started), timeOrNil(ended)
	if errs != "" {
		err = json.Unmarshal([]byte(errs), &j.Errors)
	}
	return j, err
}

// JobByID gives a whole job.
func (s *Store) JobByID(ctx context.Context, id string) (thwart.Job, error) {
	if !thwart.IsID(id) {
		return thwart.Job{}, fmt.Errorf("job: %w", thwart.ErrNotFound)
	}
	j, err := scanJob(s.read.QueryRowContext(ctx, "SELECT "+jobColumns+" FROM jobs WHERE id = $1", id))
	return j, s.orNotFound("job", err)
}

// ListJobs gives jobs of some kinds, the latest first, without input and result. Ids sort by time, so they are the cursor.
func (s *Store) ListJobs(ctx context.Context, kinds []string, after string, limit int) (page thwart.Page[thwart.Job], err error) {
	if limit, err = limitOf(limit); err != nil {
		return page, err
	}
	page.Items = []thwart.Job{}
	if len(kinds) == 0 {
		return page, nil
	}
	var a args
	where := "kind IN (" + a.list(kinds) + ")"
	if after != "" {
		if !thwart.IsID(after) {
			return page, thwart.FieldErrors{{Field: "after", Value: after[:min(60, len(after))], Accepted: "next of the page before"}}
		}
		where += " AND id < " + a.add(after)
	}
	columns := strings.Replace(jobColumns, "input, result", "'' AS input, '' AS result", 1)
	page.Items, err = list(ctx, s, "jobs", "SELECT "+columns+" FROM jobs WHERE "+where+" ORDER BY id DESC LIMIT "+strconv.Itoa(limit+1), scanJob, a...)
	if len(page.Items) > limit {
		page.Items = page.Items[:limit]
		page.Next = page.Items[limit-1].ID
	}
	return page, err
}

// list gives the placeholders of several values.
func (a *args) list(values []string) string {
	marks := make([]string, len(values))
	for i, v := range values {
		marks[i] = a.add(v)
	}
	return strings.Join(marks, ", ")
}

// ClaimJob takes the next job for a runner. Claims take turns on the ledger, so that of two servers one gets a job.
func (s *Store) ClaimJob(ctx context.Context, kinds []string, runner string, at, silent time.Time) (j thwart.Job, err error) {
	if len(kinds) == 0 {
		return j, fmt.Errorf("job: %w", thwart.ErrNotFound)
	}
	// Most looks find nothing; those do not write.
	var open int
	var a args
	q := "SELECT COUNT(*) FROM jobs WHERE state IN ('queued', 'running') AND kind IN (" + a.list(kinds) + ")"
	if err := s.read.QueryRowContext(ctx, q, a...).Scan(&open); err != nil {
		return j, s.fault("looking for a job", err)
	}
	if open == 0 {
		return j, fmt.Errorf("job: %w", thwart.ErrNotFound)
	}
	err = s.inWrite(ctx, "claiming a job", func(ctx context.Context, w work) error {
		if _, err := takeLedger(ctx, w, 0); err != nil {
			return err
		}
		_, err := w.exec(ctx, "UPDATE jobs SET state = $1, error = $2, ended_at = $3 WHERE state = 'running' AND beat_at < $4",
			string(thwart.JobInterrupted), "the server that ran it stopped; start it again", ms(at), ms(silent))
		if err != nil {
			return err
		}
		var a args
		q := "SELECT " + jobColumns + " FROM jobs j WHERE state = 'queued' AND kind IN (" + a.list(kinds) + ")" +
			" AND NOT EXISTS (SELECT 1 FROM jobs r WHERE r.kind = j.kind AND r.state = 'running') ORDER BY created_at, id LIMIT 1"
		j, err = scanJob(w.row(ctx, q, a...))
		if errors.Is(err, sql.ErrNoRows) {
			j = thwart.Job{}
			return nil // what was found silent stays marked
		}
		if err != nil {
			return err
		}
		j.State = thwart.JobRunning
		began := fromMS(ms(at))
		j.StartedAt = &began
		_, err = w.exec(ctx, "UPDATE jobs SET state = $1, runner = $2, beat_at = $3, started_at = $4 WHERE id = $5",
			string(j.State), runner, ms(at), ms(at), j.ID)
		return err
	})
	if err == nil && j.ID == "" {
		err = fmt.Errorf("job: %w", thwart.ErrNotFound)
	}
	return j, err
}

// BeatJob says that a runner is at work and how far it is.
func (s *Store) BeatJob(ctx context.Context, id, runner string, at time.Time, fraction float64, words string) (cancel bool, err error) {
	err = s.inWrite(ctx, "noting progress", func(ctx context.Context, w work) error {
		res, err := w.exec(ctx, "UPDATE jobs SET beat_at = $1, fraction = $2, words = $3 WHERE id = $4 AND runner = $5 AND state = 'running'",
			ms(at), fraction, words, id, runner)
		if err != nil {
			return err
		}
		if err := changed(res, errNotRunners(id)); err != nil {
			return err
		}
		var n int64
		err = w.row(ctx, "SELECT cancel FROM jobs WHERE id = $1", id).Scan(&n)
		cancel = n != 0
		return err
	})
	return cancel, err
}

func errNotRunners(id string) error {
	return fmt.Errorf("job %.60q is no longer this runner's: %w", id, thwart.ErrConflict)
}

// EndJob keeps what came of a job, and lets go of jobs that ended long ago.
func (s *Store) EndJob(ctx context.Context, id, runner string, end thwart.JobEnd) error {
	errs, err := jobErrors(end.Errors)
	if err != nil {
		return err
	}
	return s.inWrite(ctx, "ending a job", func(ctx context.Context, w work) error {
		q := "UPDATE jobs SET state = $1, result = $2, error = $3, errors = $4, ended_at = $5"
		if end.State == thwart.JobDone {
			q += ", fraction = 1"
		}
		res, err := w.exec(ctx, q+" WHERE id = $6 AND runner = $7 AND state = 'running'",
			string(end.State), string(end.Result), end.Error, errs, ms(end.At), id, runner)
		if err != nil {
			return err
		}
		if err := changed(res, errNotRunners(id)); err != nil {
			return err
		}
		_, err = w.exec(ctx, "DELETE FROM jobs WHERE ended_at < $1", ms(end.At.Add(-jobLife)))
		return err
	})
}

// CancelJob ends a queued job and asks the runner of a running one to stop.
func (s *Store) CancelJob(ctx context.Context, id string, at time.Time) error {
	return s.inWrite(ctx, "cancelling a job", func(ctx context.Context, w work) error {
		_, err := w.exec(ctx, "UPDATE jobs SET state = $1, ended_at = $2 WHERE id = $3 AND state = 'queued'", string(thwart.JobCancelled), ms(at), id)
		if err != nil {
			return err
		}
		res, err := w.exec(ctx, "UPDATE jobs SET cancel = 1 WHERE id = $1", id)
		if err != nil {
			return err
		}
		return changed(res, fmt.Errorf("job %.60q: %w", id, thwart.ErrNotFound))
	})
}
