package api

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"net/http"
	"slices"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"thwart"
	"thwart/advice"
)

// WhatIf asks which verdicts would be others: had a water been known for what is now said of it, or had another protocol been
// in force. Nothing that is kept changes.
type WhatIf struct {
	From time.Time `json:"from,omitzero" doc:"only craft met from then on"`
	To   time.Time `json:"to,omitzero" doc:"only craft met before"`
	// Water and Status: the water as it would be declared.
	Water  string              `json:"water,omitempty"`
	Status *thwart.DatedStatus `json:"status,omitempty"`
	// Protocol judges in place of the one each craft was met under: as it stands here, or by id@version.
	Protocol   *thwart.Protocol `json:"protocol,omitempty"`
	ProtocolID string           `json:"protocolId,omitempty"`
}

// Differences are what another water status or another protocol would have changed.
type Differences struct {
	Judged     int          `json:"judged"`     // craft that could be judged both ways
	Unresolved int          `json:"unresolved"` // craft whose protocol or answers are not known here
	LookBack   int          `json:"lookBack" doc:"craft that would count as coming from a water at risk, or no longer"`
	Changed    int          `json:"changed" doc:"craft whose outcome would be another"`
	Moves      []Move       `json:"moves"`
	Launches   []LaunchDiff `json:"launches"`
	Weeks      []WeekDiff   `json:"weeks"`
	// Boats lists the first of them.
	Boats []BoatDiff `json:"boats"`
	// Shifts counts shifts that met such craft; Planned those planned from the declaration on at launches that met them.
	Shifts  int `json:"shifts"`
	Planned int `json:"planned"`
	// Statuses are the water's statuses with the one declared, as they are to be kept.
	Statuses []thwart.DatedStatus `json:"statuses,omitempty"`
	Note     string               `json:"note"`
}

// Move counts craft that would leave with another outcome.
type Move struct {
	Was     thwart.Outcome `json:"was"`
	WouldBe thwart.Outcome `json:"wouldBe"`
	N       int            `json:"n"`
}

// LaunchDiff counts them by launch.
type LaunchDiff struct {
	Launch string `json:"launch"`
	N      int    `json:"n"`
}

// WeekDiff counts them by the Monday of the week.
type WeekDiff struct {
	Monday string `json:"monday"`
	N      int    `json:"n"`
}

// BoatDiff is one craft.
type BoatDiff struct {
	Subject string         `json:"subject"`
	At      time.Time      `json:"at"`
	Launch  string         `json:"launch"`
	Class   string         `json:"class"`
	Was     thwart.Outcome `json:"was"`
	WouldBe thwart.Outcome `json:"wouldBe"`
}

const maxBoatDiffs = 2000

const whatIfNote = "Both outcomes are computed here from the record, without the weather and the wash unit that the phone may have known. " +
	"What was said at the ramp stays as it was said."

func (a *API) routeWhatIf() {
	route(a, huma.Operation{OperationID: "what-if", Method: http.MethodPost, Path: "/api/what-if", Tags: []string{"Season"},
		Summary: "Which verdicts a new status of a water would change",
		Description: "Looks at every craft that named the water. For another protocol, which judges every craft of the season, start a job of the kind rejudge " +
			"with the same input."}, inOffice(thwart.CanRead), a.whatIf)
}

type whatIfIn struct{ Body WhatIf }

type whatIfOut struct{ Body Differences }

func (a *API) whatIf(ctx context.Context, in *whatIfIn) (*whatIfOut, error) {
	if in.Body.Water == "" {
		return nil, field("body.water", "", "the id of a water; another protocol is tried by a job of the kind rejudge")
	}
	d, err := Rejudge(ctx, a.cfg.Store, in.Body, func(float64, string) {})
	return &whatIfOut{d}, err
}

// RejudgeJob is [Rejudge] as a long computation.
func RejudgeJob(store thwart.Store) func(context.Context, json.RawMessage, func(float64, string)) (json.RawMessage, error) {
	return func(ctx context.Context, input json.RawMessage, progress func(float64, string)) (json.RawMessage, error) {
		var q WhatIf
		if err := json.Unmarshal(input, &q); err != nil {
			return nil, thwart.FieldErrors{{Field: "input", Value: short(string(input)), Accepted: "from, to, and a water with its status or a protocol"}}
		}
		d, err := Rejudge(ctx, store, q, progress)
		if err != nil {
			return nil, err
		}
		return json.Marshal(d)
	}
}

// Rejudge judges every craft that the question touches twice: as things stand, and as they would. Errors name the field.
func Rejudge(ctx context.Context, store thwart.Store, q WhatIf, progress func(float64, string)) (Differences, error) {
	now, then, err := q.resolvers(ctx, store)
	if err != nil {
		return Differences{}, err
	}
	t := tallyOf{moves: map[[2]thwart.Outcome]int{}, launches: map[string]int{}, weeks: map[string]int{}, shifts: map[string]bool{}}
	query := thwart.EncounterQuery{From: q.From, To: q.To, LastWater: q.Water, Sort: "at", Limit: MaxPage, Refused: thwart.No}
	for seen := 0; ; {
		page, err := store.Encounters(ctx, query)
		if err != nil {
			return Differences{}, err
		}
		subjects, err := inOrder(ctx, store, page.Items)
		if err != nil {
			return Differences{}, err
		}
		for i := range subjects {
			if err := ctx.Err(); err != nil {
				return Differences{}, err
			}
			if err := t.look(&subjects[i], now, then); err != nil {
				return Differences{}, err
			}
			if seen++; seen%200 == 0 {
				progress(0, fmt.Sprintf("%d craft judged again", seen))
			}
		}
		if query.After = page.Next; query.After == "" {
			break
		}
	}
	d := t.differences()
	if q.Status != nil {
		d.Statuses = then.waters[q.Water].Statuses
		d.Planned, err = plannedAt(ctx, store, t.launches, q.Status.From)
	}
	return d, err
}

// inOrder reads the records of a page of a list, in the list's order.
func inOrder(ctx context.Context, store thwart.Store, rows []thwart.EncounterRow) ([]thwart.Subject, error) {
	if len(rows) == 0 {
		return nil, nil
	}
	at := make(map[string]int, len(rows))
	ids := make([]string, len(rows))
	for i, row := range rows {
		at[row.Subject], ids[i] = i, row.Subject
	}
	page, err := store.Subjects(ctx, thwart.SubjectQuery{Kind: thwart.KindInspection, IDs: ids, Limit: MaxPage})
	if err != nil {
		return nil, err
	}
	slices.SortFunc(page.Items, func(x, y thwart.Subject) int { return cmp.Compare(at[x.Subject], at[y.Subject]) })
	return page.Items, nil
}

// resolvers gives one that judges as things stand and one that judges as they would.
func (q *WhatIf) resolvers(ctx context.Context, store thwart.Store) (now, then *resolver, err error) {
	now, then = &resolver{ctx: ctx, store: store}, &resolver{ctx: ctx, store: store}
	switch {
	case q.Water != "":
		w, err := then.water(q.Water)
		if err != nil {
			return nil, nil, err
		}
		if w == nil {
			return nil, nil, field("water", q.Water, "the id of a water of the programme")
		}
		if q.Status == nil {
			return nil, nil, field("status", "", "the status as it would be declared: organism, status, from")
		}
		if errs := checkOrganism("status.organism", q.Status.Organism); len(errs) > 0 {
			return nil, nil, errs
		}
		changed := *w
		changed.Statuses = declare(w.Statuses, *q.Status)
		if err := changed.Validate(); err != nil {
			return nil, nil, err
		}
		then.waters[q.Water] = &changed
	case q.Protocol != nil:
		p, err := advice.Expand(*q.Protocol)
		if err != nil {
			return nil, nil, field("protocol", q.Protocol.ID, short(err.Error()))
		}
		then.instead = &p
	case q.ProtocolID != "":
		if then.instead, err = then.protocol(q.ProtocolID); err != nil {
			return nil, nil, err
		}
		if then.instead == nil {
			return nil, nil, field("protocolId", q.ProtocolID, "id@version of a protocol of the library or of the programme")
		}
	default:
		return nil, nil, field("water", "", "a water with its status, or a protocol")
	}
	return now, then, nil
}

// declare gives the statuses with one more: an earlier one of the same organism that is still open ends where the new one
// begins.
func declare(statuses []thwart.DatedStatus, add thwart.DatedStatus) []thwart.DatedStatus {
	out := slices.Clone(statuses)
	for i := range out {
		if out[i].Organism == add.Organism && out[i].To == nil && out[i].From.Before(add.From) {
			end := add.From
			out[i].To = &end
		}
	}
	return append(out, add)
}

type tallyOf struct {
	d        Differences
	moves    map[[2]thwart.Outcome]int
	launches map[string]int
	weeks    map[string]int
	shifts   map[string]bool
}

// look judges one encounter both ways.
func (t *tallyOf) look(s *thwart.Subject, now, then *resolver) error {
	b, err := s.Decode()
	enc, ok := b.(*thwart.Encounter)
	if err != nil || !ok || enc.Test {
		return nil // what cannot be read stands among the season's faults
	}
	was, err := now.judge(enc)
	if err != nil {
		return err
	}
	would, err := then.judge(enc)
	if err != nil {
		return err
	}
	if was == nil || would == nil {
		t.d.Unresolved++
		return nil
	}
	t.d.Judged++
	if was.AtRisk != would.AtRisk {
		t.d.LookBack++
		t.shifts[enc.Shift] = true
	}
	if was.Outcome == would.Outcome {
		return nil
	}
	at := enc.Inspection.StartedAt
	t.d.Changed++
	t.moves[[2]thwart.Outcome{was.Outcome, would.Outcome}]++
	t.launches[enc.Inspection.Launch]++
	t.weeks[at.AddDate(0, 0, -(int(at.Weekday())+6)%7).Format(time.DateOnly)]++
	if len(t.d.Boats) < maxBoatDiffs {
		t.d.Boats = append(t.d.Boats, BoatDiff{Subject: s.Subject, At: at, Launch: enc.Inspection.Launch, Class: enc.Inspection.Setup.Class, Was: was.Outcome, WouldBe: would.Outcome})
	}
	return nil
}

// judge gives the verdict as the records have it; nil where it cannot be judged here.
func (r *resolver) judge(enc *thwart.Encounter) (*thwart.Verdict, error) {
	cs, _, err := r.caseOf(enc)
	if err != nil || cs == nil {
		return nil, err
	}
	v, err := advice.Judge(*cs)
	if err != nil {
		return nil, nil //nolint:nilerr // a record that cannot be judged is counted as unresolved
	}
	return &v, nil
}

func (t *tallyOf) differences() Differences {
	d := t.d
	d.Note = whatIfNote
	d.Shifts = len(t.shifts)
	d.Moves, d.Launches, d.Weeks = []Move{}, []LaunchDiff{}, []WeekDiff{}
	if d.Boats == nil {
		d.Boats = []BoatDiff{}
	}
	for m, n := range t.moves {
		d.Moves = append(d.Moves, Move{m[0], m[1], n})
	}
	slices.SortFunc(d.Moves, func(a, b Move) int {
		return cmp.Or(-cmp.Compare(a.N, b.N), cmp.Compare(a.Was, b.Was), cmp.Compare(a.WouldBe, b.WouldBe))
	})
	for _, id := range slices.Sorted(maps.Keys(t.launches)) {
		d.Launches = append(d.Launches, LaunchDiff{id, t.launches[id]})
	}
	for _, monday := range slices.Sorted(maps.Keys(t.weeks)) {
		d.Weeks = append(d.Weeks, WeekDiff{monday, t.weeks[monday]})
	}
	return d
}

// plannedAt counts the shifts planned from a day on at launches.
func plannedAt(ctx context.Context, store thwart.Store, launches map[string]int, from time.Time) (int, error) {
	n := 0
	err := eachSubject(ctx, store, thwart.KindPlannedShift, func(s *thwart.Subject) {
		b, err := s.Decode()
		if p, ok := b.(*thwart.PlannedShift); err == nil && ok && launches[p.Launch] > 0 && !p.From.Before(from) {
			n++
		}
	})
	return n, err
}
