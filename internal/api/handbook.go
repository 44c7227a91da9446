package api

import (
	"bytes"
	"context"
	"net/http"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humago"

	"thwart"
	"thwart/advice"
	"thwart/internal/handbook"
	"thwart/unit"
)

func (a *API) routeHandbook() {
	content := map[string]*huma.MediaType{"application/pdf": {}}
	route(a, huma.Operation{OperationID: "get-handbook", Method: http.MethodGet, Path: "/api/handbook", Tags: []string{"Training"},
		Summary: "The field guide and lesson sheets as a PDF",
		Description: "Made from the craft, the organisms and the rules that the programme has in force, with drawings of our own. It changes when those do." +
			" Nothing of it is about people.",
		Responses: map[string]*huma.Response{"200": {Description: "the file", Content: content}}}, signedIn(thwart.CanRead, thwart.CanRecord), a.handbook)
}

type handbookIn struct {
	Class []string `query:"class" maxItems:"60" doc:"craft classes; left out: five common ones"`
	US    bool     `query:"us" doc:"in °F and gallons"`
	Seed  uint64   `query:"seed" default:"1" maximum:"9007199254740991" doc:"of the lesson's questions"`
}

func (a *API) handbook(ctx context.Context, in *handbookIn) (*huma.StreamResponse, error) {
	p, err := a.rulesInForce(ctx)
	if err != nil {
		return nil, err
	}
	filled, err := advice.Expand(*p)
	if err != nil {
		return nil, err
	}
	o := handbook.Options{Protocol: filled, Classes: in.Class, Made: a.cfg.Now(), Seed: in.Seed, Units: unit.Metric}
	if in.US {
		o.Units = unit.US
	}
	var b bytes.Buffer
	if err := handbook.Write(&b, o); err != nil {
		return nil, err
	}
	return &huma.StreamResponse{Body: func(hc huma.Context) {
		_, w := humago.Unwrap(hc)
		w.Header().Set("Content-Type", "application/pdf")
		w.Header().Set("Content-Disposition", `attachment; filename="handbook.pdf"`)
		w.Write(b.Bytes()) //nolint:errcheck // the caller has gone
	}}, nil
}
