package api_test

import (
	"context"
	"encoding/json"
	"net/http"
	"strings"
	"testing"

	"thwart"
	"thwart/engine/mip"
	"thwart/internal/api"
	"thwart/internal/store"
	"thwart/internal/work"
)

// A plan and a roster are asked for, followed and read; records that carry no traffic are refused in words.
func TestPlanAndRosterOverHTTP(t *testing.T) {
	var runner *work.Runner
	w := newWorld(t, func(c *api.Config) {
		s := c.Store.(*store.Store)
		live := api.NewLiveBook(s, nil)
		none := func(context.Context) (mip.Solver, func(), error) { return nil, func() {}, nil }
		reg := &work.Registry{}
		reg.Register("plan", thwart.CanRead, api.PlanningJob(live.Current, none))
		reg.Register("roster", thwart.CanManage, api.RosterJobs(live.Current, none))
		c.Jobs, c.Work = s, work.Start(s, reg, c.Log, nil)
		runner = c.Work
	})
	t.Cleanup(func() { _ = runner.Close(context.Background()) })
	m := w.setup()
	var j thwart.Job
	m.want(http.StatusCreated, "POST", "/api/plan", map[string]any{"hours": 100}).into(t, &j)
	j = m.jobUntil(t, j.ID, func(j thwart.Job) bool { return j.State.Ended() })
	if j.State != thwart.JobFailed || j.Error == "" {
		t.Errorf("a plan without a season: %+v", j)
	}
	var p api.PlanJob
	m.want(http.StatusOK, "GET", "/api/plan/"+j.ID, nil).into(t, &p)
	if p.Plan != nil || p.Job.State != thwart.JobFailed {
		t.Errorf("%+v", p)
	}
	m.want(http.StatusCreated, "POST", "/api/roster", map[string]any{"from": "2026-06-01", "to": "2026-06-02"}).into(t, &j)
	m.jobUntil(t, j.ID, func(j thwart.Job) bool { return j.State == thwart.JobDone })
	var r api.RosterJob
	m.want(http.StatusOK, "GET", "/api/roster/"+j.ID, nil).into(t, &r)
	if r.Roster == nil || len(r.Roster.Rows) != 0 {
		t.Errorf("%+v", r)
	}
	calendar := m.want(http.StatusOK, "GET", "/api/roster/"+j.ID+"/calendar", nil)
	if !strings.HasPrefix(string(calendar.body), "BEGIN:VCALENDAR\r\n") || !strings.HasPrefix(calendar.header.Get("Content-Type"), "text/calendar") {
		t.Errorf("%q", calendar.body)
	}
	m.want(http.StatusNotFound, "GET", "/api/plan/"+j.ID, nil) // a roster is no plan
	m.want(http.StatusCreated, "POST", "/api/roster", map[string]any{"from": "June", "to": "2026-06-02"}).into(t, &j)
	if j = m.jobUntil(t, j.ID, func(j thwart.Job) bool { return j.State.Ended() }); j.State != thwart.JobFailed || len(j.Errors) == 0 || j.Errors[0].Field != "from" {
		t.Errorf("%+v", j)
	}
	reader := m.account("reader", thwart.AccessBiologist)
	reader.want(http.StatusForbidden, "POST", "/api/roster", map[string]any{"from": "2026-06-01", "to": "2026-06-02"})
	var started json.RawMessage
	reader.want(http.StatusCreated, "POST", "/api/plan", map[string]any{}).into(t, &started)
}
