package api

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"net/http"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humago"

	"thwart"
	"thwart/internal/report"
)

func (a *API) routeReport() {
	content := map[string]*huma.MediaType{"application/pdf": {}, "text/html": {}, "application/json": {}}
	route(a, huma.Operation{OperationID: "get-report", Method: http.MethodGet, Path: "/api/reports/{id}", Tags: []string{"Season"}, Errors: []int{http.StatusNotFound, http.StatusConflict},
		Summary: "A report that a job of kind report has made, as a file",
		Description: "Start one with POST /api/jobs, kind report; its input may name edition (season, launch, partner, board), from, to, launch, partner, language (en, es, fr), units, letter and seed. " +
			"numbers gives the printed numbers as JSON, to be held against those of a later report.",
		Responses: map[string]*huma.Response{"200": {Description: "the file", Content: content}}}, inOffice(thwart.CanRead), a.reportFile)
}

type reportFileIn struct {
	ID   string `path:"id" maxLength:"100" doc:"of the job"`
	Form string `query:"form" default:"pdf" enum:"pdf,html,numbers"`
}

func (a *API) reportFile(ctx context.Context, in *reportFileIn) (*huma.StreamResponse, error) {
	j, err := a.job(ctx, in.ID)
	if err != nil {
		return nil, err
	}
	if j.Kind != "report" {
		return nil, problem(http.StatusNotFound, "this computation is no report")
	}
	if j.State != thwart.JobDone {
		return nil, problem(http.StatusConflict, "the report is not made: its computation is "+string(j.State))
	}
	var made report.Made
	if err := json.Unmarshal(j.Result, &made); err != nil {
		return nil, fmt.Errorf("the result of job %s cannot be read: %w", j.ID, err)
	}
	var asked report.Order
	if err := json.Unmarshal(j.Input, &asked); len(j.Input) > 0 && err != nil {
		return nil, fmt.Errorf("what job %s was asked for cannot be read: %w", j.ID, err)
	}
	stem := "report-" + string(cmp.Or(asked.Edition, report.Whole)) // so that two editions in one folder are told apart
	body, kind, name := made.PDF, "application/pdf", stem+".pdf"
	switch in.Form {
	case "html":
		body, kind, name = []byte(made.HTML), "text/html; charset=utf-8", stem+".html"
	case "numbers":
		if body, err = json.MarshalIndent(made.Numbers, "", "  "); err != nil {
			return nil, err
		}
		kind, name = "application/json", stem+"-numbers.json"
	}
	return &huma.StreamResponse{Body: func(hc huma.Context) {
		_, w := humago.Unwrap(hc)
		w.Header().Set("Content-Type", kind)
		w.Header().Set("Content-Disposition", fmt.Sprintf("attachment; filename=%q", name))
		w.Write(body) //nolint:errcheck // the caller has gone
	}}, nil
}
