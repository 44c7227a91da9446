package api_test

import (
	"context"
	"encoding/json"
	"net/http"
	"testing"

	"thwart"
	"thwart/internal/api"
	"thwart/internal/report"
	"thwart/internal/store"
	"thwart/internal/work"
)

// TestReportFilesAreToldApart downloads two editions: each file says in its name which it is, and holds what was made.
func TestReportFilesAreToldApart(t *testing.T) {
	var runner *work.Runner
	w := newWorld(t, func(c *api.Config) {
		reg := &work.Registry{}
		reg.Register("report", thwart.CanRead, func(context.Context, json.RawMessage, func(float64, string)) (json.RawMessage, error) {
			return json.Marshal(report.Made{HTML: "<!doctype html>", PDF: []byte("%PDF-1.7")})
		})
		c.Jobs = c.Store.(*store.Store)
		c.Work = work.Start(c.Jobs, reg, c.Log, nil)
		runner = c.Work
	})
	t.Cleanup(func() { _ = runner.Close(context.Background()) })
	m := w.setup()
	for _, c := range []struct {
		input            obj
		form, name, body string
	}{
		{obj{"edition": "board"}, "pdf", "report-board.pdf", "%PDF-1.7"},
		{nil, "pdf", "report-season.pdf", "%PDF-1.7"},
		{obj{"edition": "launch"}, "html", "report-launch.html", "<!doctype html>"},
		{obj{}, "numbers", "report-season-numbers.json", "{}"},
	} {
		var j thwart.Job
		order := obj{"kind": "report"}
		if c.input != nil {
			order["input"] = c.input
		}
		m.want(http.StatusCreated, "POST", "/api/jobs", order).into(t, &j)
		m.jobUntil(t, j.ID, func(j thwart.Job) bool { return j.State == thwart.JobDone })
		got := m.want(http.StatusOK, "GET", "/api/reports/"+j.ID+"?form="+c.form, nil)
		if d := got.header.Get("Content-Disposition"); d != `attachment; filename="`+c.name+`"` {
			t.Errorf("%v as %s: %s, want %s", c.input, c.form, d, c.name)
		}
		if c.form != "numbers" && string(got.body) != c.body {
			t.Errorf("%v as %s: %q", c.input, c.form, got.body)
		}
	}
}
