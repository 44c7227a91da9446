package api_test

import (
	"context"
	"encoding/json"
	"net/http"
	"strings"
	"testing"
	"time"

	"thwart"
	"thwart/internal/api"
	"thwart/internal/store"
	"thwart/internal/work"
)

// withWork gives the API a runner with three kinds: echo for those who read, managers and stuck for the manager.
func withWork(c *api.Config) {
	reg := &work.Registry{}
	echo := func(_ context.Context, in json.RawMessage, progress func(float64, string)) (json.RawMessage, error) {
		progress(1, "said it back")
		return in, nil
	}
	reg.Register("echo", thwart.CanRead, echo)
	reg.Register("managers", thwart.CanManage, echo)
	reg.Register("stuck", thwart.CanManage, func(ctx context.Context, _ json.RawMessage, progress func(float64, string)) (json.RawMessage, error) {
		progress(0.25, "waiting")
		<-ctx.Done()
		return nil, ctx.Err()
	})
	c.Jobs = c.Store.(*store.Store)
	c.Work = work.Start(c.Jobs, reg, c.Log, nil)
}

func (b *browser) jobUntil(t *testing.T, id string, until func(thwart.Job) bool) (j thwart.Job) {
	t.Helper()
	for end := time.Now().Add(20 * time.Second); time.Now().Before(end); time.Sleep(10 * time.Millisecond) {
		j = thwart.Job{}
		b.want(http.StatusOK, "GET", "/api/jobs/"+id, nil).into(t, &j)
		if until(j) {
			return j
		}
	}
	t.Fatalf("still %+v", j)
	return j
}

func TestJobs(t *testing.T) {
	var runner *work.Runner
	w := newWorld(t, func(c *api.Config) { withWork(c); runner = c.Work })
	t.Cleanup(func() { _ = runner.Close(context.Background()) })
	m := w.setup()
	bio := m.account("bio", thwart.AccessBiologist)
	var j thwart.Job
	bio.want(http.StatusCreated, "POST", "/api/jobs", map[string]any{"kind": "echo", "input": map[string]any{"weeks": 20}}).into(t, &j)
	j = bio.jobUntil(t, j.ID, func(j thwart.Job) bool { return j.State.Ended() })
	if j.State != thwart.JobDone || string(j.Result) != `{"weeks":20}` || j.Words != "said it back" || j.Fraction != 1 {
		t.Errorf("%+v", j)
	}
	refused := bio.want(http.StatusUnprocessableEntity, "POST", "/api/jobs", map[string]any{"kind": "managers"})
	if !strings.Contains(string(refused.body), "echo") || strings.Contains(string(refused.body), "stuck") {
		t.Errorf("%s", refused.body)
	}
	m.want(http.StatusCreated, "POST", "/api/jobs", map[string]any{"kind": "stuck"}).into(t, &j)
	m.jobUntil(t, j.ID, func(j thwart.Job) bool {
		return j.State == thwart.JobRunning && j.Fraction == 0.25 && j.Words == "waiting"
	})
	m.want(http.StatusOK, "POST", "/api/jobs/"+j.ID+"/cancel", nil)
	if j = m.jobUntil(t, j.ID, func(j thwart.Job) bool { return j.State.Ended() }); j.State != thwart.JobCancelled {
		t.Errorf("%+v", j)
	}
	bio.want(http.StatusNotFound, "GET", "/api/jobs/"+j.ID, nil)
	var page thwart.Page[thwart.Job]
	m.want(http.StatusOK, "GET", "/api/jobs?limit=1", nil).into(t, &page)
	if len(page.Items) != 1 || page.Items[0].ID != j.ID || page.Next == "" {
		t.Errorf("%+v", page)
	}
	m.want(http.StatusOK, "GET", "/api/jobs?after="+page.Next, nil).into(t, &page)
	if len(page.Items) != 1 || page.Items[0].Kind != "echo" || page.Items[0].Result != nil {
		t.Errorf("%+v", page)
	}
}
