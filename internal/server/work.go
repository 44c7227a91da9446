package server

import (
	"context"
	"encoding/json"

	"thwart"
	"thwart/internal/api"
	"thwart/internal/report"
	"thwart/internal/store"
	"thwart/internal/work"
)

// computations lists what the server computes apart from requests. Every kind is added here.
func computations(s *store.Store, live *api.LiveBook, app string, demo bool, tools *solvers) *work.Registry {
	reg := &work.Registry{}
	reg.Register("check", thwart.CanAudit, func(ctx context.Context, _ json.RawMessage, progress func(float64, string)) (json.RawMessage, error) {
		progress(0, "recomputing the sum of every record")
		report, err := s.Check(ctx)
		if err != nil {
			return nil, err
		}
		if report.Faults == nil {
			report.Faults = []string{}
		}
		return json.Marshal(report)
	})
	reg.Register("rejudge", thwart.CanRead, api.RejudgeJob(s))
	reg.Register("report", thwart.CanRead, report.Job(live.Current, app, demo))
	reg.Register("traffic_bootstrap", thwart.CanRead, api.BootstrapJob(live.Current))
	reg.Register("plan", thwart.CanRead, api.PlanningJob(live.Current, tools.open))
	reg.Register("roster", thwart.CanManage, api.RosterJobs(live.Current, tools.open))
	reg.Register("spread", thwart.CanRead, api.SpreadJob(live.Current))
	return reg
}
