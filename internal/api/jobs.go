package api

import (
	"context"
	"encoding/json"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"thwart"
	"thwart/internal/work"
)

func (a *API) routeJobs() {
	tag := []string{"Long computations"}
	notFound := []int{http.StatusNotFound}
	const own = "Each kind of computation also asks for a right of its own; a kind that the caller may not run is not found."
	office := inOffice(thwart.CanRead)
	office.own = own
	route(a, huma.Operation{OperationID: "list-job-kinds", Method: http.MethodGet, Path: "/api/job-kinds", Tags: tag,
		Summary: "The kinds of computation that the caller may start"}, office, a.jobKinds)
	route(a, huma.Operation{OperationID: "start-job", Method: http.MethodPost, Path: "/api/jobs", Tags: tag, DefaultStatus: http.StatusCreated,
		Summary: "Start a long computation",
		Description: "Of each kind one runs at a time; the others wait in a queue. Ask for the job again to follow it. What came of it is kept and " +
			"survives a restart of the server; a job that a restart broke off is interrupted and can be started again.",
		MaxBodyBytes: work.MaxInput, Errors: []int{http.StatusServiceUnavailable}}, office, a.startJob)
	route(a, huma.Operation{OperationID: "list-jobs", Method: http.MethodGet, Path: "/api/jobs", Tags: tag,
		Summary: "Computations, the latest first, without what they were asked and what came of them"}, office, a.listJobs)
	route(a, huma.Operation{OperationID: "get-job", Method: http.MethodGet, Path: "/api/jobs/{id}", Tags: tag, Errors: notFound,
		Summary: "One computation: how far it is, or what came of it"}, office, a.getJob)
	route(a, huma.Operation{OperationID: "cancel-job", Method: http.MethodPost, Path: "/api/jobs/{id}/cancel", Tags: tag, Errors: notFound,
		Summary: "Stop a computation", Description: "One that waits ends at once, one that runs within seconds; one that has ended stays as it is."}, office, a.cancelJob)
}

// registry gives the kinds of computation; a server without a runner has none.
func (a *API) registry() *work.Registry {
	if a.cfg.Work == nil {
		return &work.Registry{}
	}
	return a.cfg.Work.Registry()
}

func (a *API) jobKinds(ctx context.Context, _ *none) (*list[string], error) {
	return listOf(a.registry().Kinds(who(ctx).role)), nil
}

type startJobIn struct {
	Body struct {
		Kind  string          `json:"kind" maxLength:"60"`
		Input json.RawMessage `json:"input,omitempty" doc:"what the computation is asked, as its kind says"`
	}
}

type jobOut struct{ Body thwart.Job }

func (a *API) startJob(ctx context.Context, in *startJobIn) (*jobOut, error) {
	p := who(ctx)
	if pr := oneOf("body.kind", in.Body.Kind, a.registry().Kinds(p.role)); pr != nil {
		return nil, pr
	}
	if len(in.Body.Input) > 0 {
		if errs := checkJSON(in.Body.Input); len(errs) > 0 {
			return nil, errs
		}
	}
	now := a.cfg.Now().UTC()
	j := thwart.Job{ID: NewID(now), Kind: in.Body.Kind, State: thwart.JobQueued, By: p.account, Person: p.person, Input: in.Body.Input, CreatedAt: now}
	if err := a.cfg.Work.Add(ctx, j); err != nil {
		return nil, err
	}
	if err := a.audit(ctx, p.account, "start_job", j.ID, j.Kind); err != nil {
		return nil, err
	}
	return &jobOut{j}, nil
}

type listJobsIn struct {
	Kind string `query:"kind" maxLength:"60" doc:"left out: every kind that the caller may run"`
	PageIn
}

func (a *API) listJobs(ctx context.Context, in *listJobsIn) (*struct{ Body thwart.Page[thwart.Job] }, error) {
	kinds := a.registry().Kinds(who(ctx).role)
	if in.Kind != "" {
		if pr := oneOf("query.kind", in.Kind, kinds); pr != nil {
			return nil, pr
		}
		kinds = []string{in.Kind}
	}
	page := thwart.Page[thwart.Job]{Items: []thwart.Job{}}
	var err error
	if len(kinds) > 0 {
		page, err = a.cfg.Jobs.ListJobs(ctx, kinds, in.After, in.Limit)
	}
	return &struct{ Body thwart.Page[thwart.Job] }{page}, err
}

// job gives a job that the caller may see.
func (a *API) job(ctx context.Context, id string) (thwart.Job, error) {
	gone := problem(http.StatusNotFound, "there is no such computation, or it is not yours to see")
	if a.cfg.Jobs == nil {
		return thwart.Job{}, gone
	}
	j, err := a.cfg.Jobs.JobByID(ctx, id)
	if err != nil {
		return j, err
	}
	if needs, ok := a.registry().Needs(j.Kind); !ok || !who(ctx).may(needs) {
		return thwart.Job{}, gone
	}
	return j, nil
}

func (a *API) getJob(ctx context.Context, in *byID) (*jobOut, error) {
	j, err := a.job(ctx, in.ID)
	return &jobOut{j}, err
}

func (a *API) cancelJob(ctx context.Context, in *byID) (*jobOut, error) {
	j, err := a.job(ctx, in.ID)
	if err != nil {
		return nil, err
	}
	if !j.State.Ended() {
		if err := a.cfg.Work.Cancel(ctx, in.ID); err != nil {
			return nil, err
		}
		if err := a.audit(ctx, who(ctx).account, "cancel_job", j.ID, j.Kind); err != nil {
			return nil, err
		}
	}
	return a.getJob(ctx, in)
}
