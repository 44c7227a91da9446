package api

import (
	"context"
	"encoding/json"
	"net/http"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"thwart"
)

func (a *API) routeMarks() {
	tag := []string{"Marks of craft"}
	route(a, huma.Operation{OperationID: "get-mark-key", Method: http.MethodGet, Path: "/api/mark-key", Tags: tag,
		Summary: "The key that a phone hashes registrations with this season",
		Description: "A phone hashes without a signal, so it holds the key. It changes with the season: pull it with the reference records. The " +
			"registration itself is never sent.",
		Errors: []int{http.StatusServiceUnavailable}}, need{device: true, may: []thwart.Capability{thwart.CanRecord}}, a.markKey)
	route(a, huma.Operation{OperationID: "list-known-craft", Method: http.MethodGet, Path: "/api/known-craft", Tags: tag,
		Summary: "Marks of craft met this season with what each craft has, so that a phone knows one again that another phone met",
		Description: "In the order of arrival, from a cursor on; a later one of the same mark takes the place of an earlier one. It tells neither when nor where " +
			"a craft was met, nor what came of it. Ask on with next until it stays the same."}, need{device: true, may: []thwart.Capability{thwart.CanRecord}}, a.knownCraft)
	route(a, huma.Operation{OperationID: "mark", Method: http.MethodPost, Path: "/api/marks", Tags: tag,
		Summary:     "The mark of a registration, to find a craft that was met",
		Description: "For answering somebody who asks what is kept of a craft. Neither the request nor the trail keeps the registration.",
		Errors:      []int{http.StatusServiceUnavailable}}, inOffice(thwart.CanManage), a.mark)
}

// MarkKey is what registrations of a season are hashed with (HMAC-SHA-256, RFC 2104).
type MarkKey struct {
	Season string `json:"season" doc:"the year"`
	Key    []byte `json:"key"`
}

func (a *API) keyOf(at time.Time) (MarkKey, error) {
	season := seasonOf(at)
	if a.cfg.MarkKey == nil {
		return MarkKey{}, problem(http.StatusServiceUnavailable, "this server keeps no key for registrations")
	}
	key, err := a.cfg.MarkKey(season)
	return MarkKey{season, key}, err
}

func (a *API) markKey(_ context.Context, _ *none) (*struct{ Body MarkKey }, error) {
	k, err := a.keyOf(a.cfg.Now())
	return &struct{ Body MarkKey }{k}, err
}

// KnownCraft are craft met this season.
type KnownCraft struct {
	Season string      `json:"season" doc:"the year whose key the marks are made with"`
	Craft  []CraftSeen `json:"craft"`
	Next   int64       `json:"next"`
}

// CraftSeen is a mark and what the craft had when it was last met.
type CraftSeen struct {
	Hash  string       `json:"hash"`
	Setup thwart.Setup `json:"setup"`
}

type knownIn struct {
	After int64 `query:"after" minimum:"0" doc:"next of the answer before; 0 from the start"`
	Limit int   `query:"limit" default:"1000" minimum:"1" maximum:"1000" doc:"how many inspections are gone through, with or without a mark"`
}

func (a *API) knownCraft(ctx context.Context, in *knownIn) (*struct{ Body KnownCraft }, error) {
	out := KnownCraft{Season: seasonOf(a.cfg.Now()), Craft: []CraftSeen{}}
	entries, next, err := a.cfg.Store.Changes(ctx, []thwart.Kind{thwart.KindInspection}, in.After, in.Limit)
	if err != nil {
		return nil, err
	}
	out.Next = next
	for _, k := range entries {
		var e thwart.Encounter
		if k.Removed || json.Unmarshal(k.Body, &e) != nil || e.Mark == nil || e.Test || seasonOf(e.Inspection.StartedAt) != out.Season {
			continue
		}
		out.Craft = append(out.Craft, CraftSeen{Hash: e.Mark.Hash, Setup: e.Inspection.Setup})
	}
	return &struct{ Body KnownCraft }{out}, nil
}

// seasonOf is the season of a moment: the year, in UTC.
func seasonOf(at time.Time) string { return at.UTC().Format("2006") }

type markIn struct {
	Body struct {
		Registration string    `json:"registration" maxLength:"40"`
		At           time.Time `json:"at,omitzero" doc:"when the craft was met; now, when left out: each season has a key of its own"`
	}
}

func (a *API) mark(ctx context.Context, in *markIn) (*struct{ Body thwart.Mark }, error) {
	at := in.Body.At
	if at.IsZero() {
		at = a.cfg.Now()
	}
	k, err := a.keyOf(at)
	if err != nil {
		return nil, err
	}
	m := thwart.MarkOf(in.Body.Registration, k.Key)
	if m.Hash == "" {
		return nil, field("body.registration", "(not shown)", "a registration with a letter or digit")
	}
	return &struct{ Body thwart.Mark }{m}, a.audit(ctx, who(ctx).account, "mark", "", "season "+k.Season)
}
