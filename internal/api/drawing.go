package api

import (
	"context"
	"errors"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"thwart"
	"thwart/advice"
	"thwart/draw"
	"thwart/draw/craft"
)

func (a *API) routeDrawing() {
	get := signedIn(thwart.CanRead, thwart.CanRecord)
	get.own = ownRecords
	route(a, huma.Operation{OperationID: "get-drawing", Method: http.MethodGet, Path: "/api/encounters/{id}/drawing", Tags: []string{"Season"},
		Summary:     "The craft of an encounter drawn as it was recorded",
		Description: "SVG. A place that was looked at is filled, one that was not is a ring, one where something was found is a diamond.",
		Errors:      []int{http.StatusNotFound},
		Responses: map[string]*huma.Response{"200": {Description: "the drawing", Content: map[string]*huma.MediaType{
			"image/svg+xml": {Schema: &huma.Schema{Type: "string"}}}}},
	}, get, a.drawing)
}

type drawingIn struct {
	ID   string `path:"id" maxLength:"40"`
	View string `query:"view" maxLength:"10" doc:"plan, side or under; left out: plan"`
}

// drawingWidth is the width of the picture in its own units, about CSS pixels.
const drawingWidth = 520

func (a *API) drawing(ctx context.Context, in *drawingIn) (*pictureOut, error) {
	s, _, err := a.visible(ctx, in.ID)
	if err != nil {
		return nil, err
	}
	body, err := s.Decode()
	enc, ok := body.(*thwart.Encounter)
	if err != nil || !ok || s.Removed {
		return nil, problem(http.StatusNotFound, "this record has no craft to draw")
	}
	scene, err := drawEncounter(&enc.Inspection, craft.View(in.View))
	var fields thwart.FieldErrors
	if errors.As(err, &fields) {
		for i := range fields {
			fields[i].Field = "query." + fields[i].Field
		}
		return nil, fields
	}
	if err != nil {
		return nil, err
	}
	return &pictureOut{
		ContentType: "image/svg+xml", Policy: "default-src 'none'; style-src 'unsafe-inline'; sandbox",
		Disposition: `inline; filename="craft.svg"`, Body: []byte(scene.SVG(draw.Style{ID: "craft-"})),
	}, nil
}

// drawEncounter draws the craft of an inspection with its round: what was looked at, and where something was found.
func drawEncounter(in *thwart.Inspection, view craft.View) (*draw.Scene, error) {
	places, err := advice.Places(in.Setup)
	if err != nil {
		return nil, err
	}
	plan, err := advice.Round(places, in.Setup, advice.RoundOptions{})
	if err != nil {
		return nil, err
	}
	opt := craft.Options{View: view, Width: drawingWidth, Round: &plan}
	for _, p := range places {
		if in.CheckOf(p.ID).Looked == thwart.Yes {
			opt.Done = append(opt.Done, p.ID)
		}
	}
	for _, f := range in.Findings {
		opt.Found = append(opt.Found, f.Place)
	}
	return craft.Draw(in.Setup, opt)
}
