package api_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	ics "github.com/arran4/golang-ical"

	"thwart"
	"thwart/engine/mip"
	"thwart/internal/api"
	"thwart/internal/store"
	"thwart/internal/work"
)

// planners is a programme whose server plans and rosters without a solver.
func planners(t *testing.T) *browser {
	t.Helper()
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
	return w.setup()
}

// A plan and a roster are asked for, followed and read; records that carry no traffic are refused in words.
func TestPlanAndRosterOverHTTP(t *testing.T) {
	m := planners(t)
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

// A place of a roster that was made is given to somebody else; the roster before stays, and nobody changes it a second time.
func TestARosterIsChanged(t *testing.T) {
	m := planners(t)
	ramp := m.season().launch
	name := func(s string) string {
		return m.create(thwart.KindPerson, thwart.Person{Name: s, Roles: []thwart.Role{thwart.RoleSteward}, Certificates: []thwart.Certificate{
			{For: "inspect", From: noon.AddDate(-1, 0, 0), Expires: noon.AddDate(1, 0, 0), By: "M. Alder"}}})
	}
	ines, tom := name("Ines"), name("Tom")
	lapsed := m.addPerson("Una", thwart.RoleSteward)
	at := time.Date(2026, 6, 3, 8, 30, 0, 0, time.UTC)
	m.create(thwart.KindPlannedShift, thwart.PlannedShift{Launch: ramp, From: at, To: at.Add(6 * time.Hour), People: []string{ines}})
	roster := func(j thwart.Job) (r api.RosterJob) {
		t.Helper()
		if j = m.jobUntil(t, j.ID, func(j thwart.Job) bool { return j.State.Ended() }); j.State != thwart.JobDone {
			t.Fatalf("%+v", j)
		}
		m.want(http.StatusOK, "GET", "/api/roster/"+j.ID, nil).into(t, &r)
		return r
	}
	var j thwart.Job
	m.want(http.StatusCreated, "POST", "/api/roster", obj{"from": "2026-06-01", "to": "2026-06-07"}).into(t, &j)
	first := roster(j)
	if rows := first.Roster.Rows; len(rows) != 1 || len(rows[0].People) != 1 || rows[0].People[0].ID != ines {
		t.Fatalf("%+v", rows)
	}
	place := fmt.Sprintf("/api/roster/%s/place?launch=%s&day=2026-06-03&from=8.5&holder=", first.Job.ID, ramp)
	var c struct {
		People []struct {
			ID      string
			May     bool
			Against []string
		}
	}
	m.want(http.StatusOK, "GET", place+ines, nil).into(t, &c)
	if len(c.People) < 2 || c.People[0].ID != tom || !c.People[0].May {
		t.Fatalf("%+v", c)
	}
	for _, p := range c.People[1:] {
		if p.May || len(p.Against) == 0 || p.ID == lapsed && p.Against[0] != "Una has no certificate to inspect." {
			t.Errorf("%+v", p)
		}
	}
	m.want(http.StatusUnprocessableEntity, "GET", place+tom, nil) // does not stand there
	changes := "/api/roster/" + first.Job.ID + "/changes"
	give := obj{"launch": ramp, "day": "2026-06-03", "from": 8.5, "holder": ines, "person": tom}
	m.want(http.StatusUnprocessableEntity, "POST", changes, obj{})
	m.want(http.StatusUnprocessableEntity, "POST", changes, obj{"give": give, "absent": []any{obj{"person": ines, "launch": ramp, "day": "2026-06-03", "from": 8.5}}})
	nowhere := problemOf(t, m.want(http.StatusUnprocessableEntity, "POST", changes, obj{"absent": []any{obj{"person": ines, "launch": ramp, "day": "2026-06-03", "from": 8}}}))
	if !hasField(nowhere, "body.absent[0]") {
		t.Errorf("%+v", nowhere)
	}
	m.want(http.StatusCreated, "POST", changes, obj{"give": give}).into(t, &j)
	second := roster(j)
	if row := second.Roster.Rows[0]; len(row.People) != 1 || row.People[0].ID != tom {
		t.Errorf("%+v", row)
	}
	// Another manager who still looks at the first roster loses nothing of it: she is told which is later.
	late := problemOf(t, m.want(http.StatusConflict, "POST", changes, obj{"absent": []any{obj{"person": ines, "launch": ramp, "day": "2026-06-03", "from": 8.5}}}))
	if !strings.Contains(late.Detail, second.Job.ID) {
		t.Errorf("%+v", late)
	}
	var again api.RosterJob
	m.want(http.StatusOK, "GET", "/api/roster/"+first.Job.ID, nil).into(t, &again)
	if again.Roster.Rows[0].People[0].ID != ines {
		t.Error("the roster before was written over")
	}
	events := func(id, person string) []*ics.VEvent {
		t.Helper()
		cal, err := ics.ParseCalendar(bytes.NewReader(m.want(http.StatusOK, "GET", "/api/roster/"+id+"/calendar?person="+person, nil).body))
		if err != nil || len(cal.Events()) != 1 {
			t.Fatalf("%v: %d events", err, len(cal.Events()))
		}
		return cal.Events()
	}
	status := func(e *ics.VEvent) string { return e.GetProperty(ics.ComponentPropertyStatus).Value }
	was, now := events(first.Job.ID, ines)[0], events(second.Job.ID, ines)[0]
	if was.Id() != now.Id() || status(was) != "CONFIRMED" || status(now) != "CANCELLED" {
		t.Errorf("was %+v, is %+v", was, now)
	}
	if got := events(second.Job.ID, tom)[0]; status(got) != "CONFIRMED" {
		t.Errorf("%+v", got)
	}
	// The shift in the records still names Ines: a later repair goes by the roster that was changed.
	m.want(http.StatusCreated, "POST", "/api/roster/"+second.Job.ID+"/changes", obj{"absent": []any{obj{"person": lapsed, "launch": ramp, "day": "2026-06-03", "from": 8.5}}}).into(t, &j)
	if row := roster(j).Roster.Rows[0]; len(row.People) != 1 || row.People[0].ID != tom {
		t.Errorf("%+v", row)
	}
}
