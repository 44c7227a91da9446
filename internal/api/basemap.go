package api

import (
	"context"
	"net/http"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humago"

	"thwart/internal/basemap"
)

const tilesPath = "/api/basemap/tiles"

func (a *API) routeBasemap() {
	tag := []string{"Season"}
	pieces := inOffice()
	pieces.pieces = true
	route(a, huma.Operation{OperationID: "get-basemap", Method: http.MethodGet, Path: "/api/basemap", Tags: tag,
		Summary: "What the programme's own base map is, where it has one"}, inOffice(), a.getBasemap)
	route(a, huma.Operation{OperationID: "get-basemap-tiles", Method: http.MethodGet, Path: tilesPath, Tags: tag,
		Summary: "The base map's file, in pieces",
		Description: "PMTiles, version 3, as the programme gave it to its server. Ask for pieces with Range (RFC 9110, section 14); the entity tag is another one" +
			" when the file is another.",
		Errors: []int{http.StatusNotFound, http.StatusRequestedRangeNotSatisfiable},
		Responses: map[string]*huma.Response{
			"200": {Description: "the whole file", Content: map[string]*huma.MediaType{tilesType: {Schema: &huma.Schema{Type: "string", Format: "binary"}}}},
			"206": {Description: "the piece asked for", Content: map[string]*huma.MediaType{tilesType: {Schema: &huma.Schema{Type: "string", Format: "binary"}}}},
		}}, pieces, a.getTiles)
}

// tilesType is the file's media type as IANA has it registered.
const tilesType = "application/vnd.pmtiles"

// Ground is what the office's maps are drawn over.
type Ground struct {
	Has   bool             `json:"has" doc:"false: the programme gave its server none"`
	Tiles *basemap.Tileset `json:"tiles,omitempty"`
}

func (a *API) getBasemap(context.Context, *none) (*struct{ Body Ground }, error) {
	out := &struct{ Body Ground }{}
	if a.cfg.Basemap != nil {
		out.Body = Ground{true, &a.cfg.Basemap.Info}
	}
	return out, nil
}

type tilesIn struct {
	Range   string `header:"Range" maxLength:"200" doc:"such as bytes=0-16383"`
	Version string `query:"v" maxLength:"60" doc:"the version that get-basemap told; the answer does not depend on it"`
}

func (a *API) getTiles(_ context.Context, _ *tilesIn) (*huma.StreamResponse, error) {
	f := a.cfg.Basemap
	if f == nil {
		return nil, problem(http.StatusNotFound, "this programme gave its server no base map")
	}
	return &huma.StreamResponse{Body: func(hc huma.Context) {
		r, w := humago.Unwrap(hc)
		h := w.Header()
		h.Set("Content-Type", tilesType)
		h.Set("ETag", f.Tag())
		// Kept by the browser of who is signed in and asked for again each time: a tag costs less than a tile.
		h.Set("Cache-Control", "private, no-cache")
		http.ServeContent(&slowly{w, http.NewResponseController(w)}, r, "", f.Stat().ModTime(), f.Content())
	}}, nil
}
