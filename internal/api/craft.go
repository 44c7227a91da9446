package api

import (
	"context"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"thwart"
	"thwart/advice"
	"thwart/refdata"
)

func (a *API) routeCraft() {
	tag := []string{"Library"}
	anyone := signedIn(thwart.CanRead, thwart.CanRecord)
	route(a, huma.Operation{OperationID: "list-craft", Method: http.MethodGet, Path: "/api/craft", Tags: tag,
		Summary: "The classes of craft that the library knows"}, anyone, a.craftClasses)
	route(a, huma.Operation{OperationID: "list-places", Method: http.MethodGet, Path: "/api/craft/{class}/places", Tags: tag,
		Summary:     "The places of a craft of one class as it usually is, in no order of walking",
		Description: "Their ids are those that findings, checks and planted objects name."}, anyone, a.placesOfCraft)
}

// CraftClassRow is one class of craft.
type CraftClassRow struct {
	ID      string  `json:"id"`
	Name    string  `json:"name"`
	LengthM float64 `json:"lengthM" doc:"usual, bow to transom"`
}

func (a *API) craftClasses(context.Context, *none) (*list[CraftClassRow], error) {
	classes := refdata.CraftClasses()
	out := make([]CraftClassRow, len(classes))
	for i, c := range classes {
		out[i] = CraftClassRow{c.ID, c.Name, c.LengthM}
	}
	return listOf(out), nil
}

type placesIn struct {
	Class string `path:"class" maxLength:"60" doc:"an id of list-craft"`
}

// PlaceOfCraft is one place of a craft.
type PlaceOfCraft struct {
	ID   string      `json:"id"`
	Name string      `json:"name"`
	Zone thwart.Zone `json:"zone"`
}

func (a *API) placesOfCraft(_ context.Context, in *placesIn) (*list[PlaceOfCraft], error) {
	class, ok := refdata.CraftClassByID(in.Class)
	if !ok {
		return nil, field("path.class", in.Class, "the id of a class of craft, as GET /api/craft lists them")
	}
	setup, err := advice.UsualSetup(class.ID)
	if err != nil {
		return nil, err
	}
	places, err := advice.Places(setup)
	if err != nil {
		return nil, err
	}
	out := make([]PlaceOfCraft, len(places))
	for i, p := range places {
		out[i] = PlaceOfCraft{p.ID, p.Name, p.Zone}
	}
	return listOf(out), nil
}
