package api

import (
	"bytes"
	"context"
	"fmt"
	"net/http"
	"reflect"
	"slices"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"thwart"
	"thwart/advice"
	"thwart/merge"
)

const ownRecords = "A role that only records sees what its own person made, and nothing else."

func (a *API) routeRead() {
	tag := []string{"Records"}
	notFound := []int{http.StatusNotFound}
	route(a, huma.Operation{OperationID: "list-encounters", Method: http.MethodGet, Path: "/api/encounters", Tags: tag,
		Summary: "List encounters", Description: "Filters leave out what does not fit; sort is at, outcome, class, launch or seconds, with - for descending."},
		signedIn(thwart.CanRead), a.encounters)
	own := signedIn(thwart.CanRead, thwart.CanRecord)
	own.own = ownRecords
	route(a, huma.Operation{OperationID: "get-encounter", Method: http.MethodGet, Path: "/api/encounters/{id}", Tags: tag, Errors: notFound,
		Summary: "One encounter: as it stands, its history, its washes, and the verdict computed again"}, own, a.encounter)
	route(a, huma.Operation{OperationID: "list-subjects", Method: http.MethodGet, Path: "/api/subjects", Tags: tag,
		Summary: "List the things of one kind as they stand"}, signedIn(thwart.CanRead), a.subjects)
	route(a, huma.Operation{OperationID: "get-subject", Method: http.MethodGet, Path: "/api/subjects/{id}", Tags: tag, Errors: notFound,
		Summary: "One thing as it stands; its ETag serves as If-Match of a correction"}, own, a.subject)
	route(a, huma.Operation{OperationID: "get-history", Method: http.MethodGet, Path: "/api/subjects/{id}/history", Tags: tag, Errors: notFound,
		Summary: "Every entry of one thing, in order of arrival"}, own, a.history)
	route(a, huma.Operation{OperationID: "list-totals", Method: http.MethodGet, Path: "/api/totals", Tags: tag,
		Summary:     "Sums of a season",
		Description: "By steward they are for the manager alone: they are training data, not a table of merit."}, signedIn(thwart.CanRead), a.totals)
	route(a, huma.Operation{OperationID: "list-twins", Method: http.MethodGet, Path: "/api/twins", Tags: tag,
		Summary:     "Pairs of encounters that may be one craft met twice",
		Description: "Proposed, never joined. Until a person decides, the stricter outcome of a pair governs."}, inOffice(thwart.CanCorrect), a.twins)
	route(a, huma.Operation{OperationID: "list-protocols", Method: http.MethodGet, Path: "/api/protocols", Tags: tag,
		Summary: "The published protocols of the library and the programme's own"}, signedIn(thwart.CanRead, thwart.CanRecord), a.protocols)
	op := huma.Operation{OperationID: "assess", Method: http.MethodPost, Path: "/api/assess", Tags: []string{"Advice"},
		Summary:      "Judge one craft: round, verdict, risk, treatment",
		Description:  "Takes the same case as the command line and keeps nothing of it.",
		MaxBodyBytes: MaxBodyBytes, SkipValidateBody: true, RequestBody: &huma.RequestBody{Required: true}}
	route(a, op, signedIn(thwart.CanRead, thwart.CanRecord), a.assess)
	op.RequestBody.Content["application/json"].Schema = a.huma.OpenAPI().Components.Schemas.Schema(reflect.TypeFor[thwart.Case](), true, "Case")
}

type encountersIn struct {
	From      time.Time `query:"from" doc:"of the start, included"`
	To        time.Time `query:"to" doc:"of the start, not included"`
	Launch    string    `query:"launch" maxLength:"100"`
	Steward   string    `query:"steward" maxLength:"100"`
	LastWater string    `query:"lastWater" maxLength:"100"`
	Outcome   string    `query:"outcome" maxLength:"20"`
	Class     string    `query:"class" maxLength:"60"`
	Refused   string    `query:"refused" maxLength:"10" doc:"yes or no"`
	WithTests bool      `query:"withTests" doc:"planted craft too; for roles that may see trials"`
	Flagged   bool      `query:"flagged" doc:"only those whose corrections compete"`
	Sort      string    `query:"sort" maxLength:"20"`
	PageIn
}

func (a *API) encounters(ctx context.Context, in *encountersIn) (*struct {
	Body thwart.Page[thwart.EncounterRow]
}, error) {
	p := who(ctx)
	if in.Sort != "" {
		if pr := oneOf("query.sort", strings.TrimPrefix(in.Sort, "-"), thwart.EncounterSorts); pr != nil {
			return nil, pr
		}
	}
	if in.Outcome != "" {
		if pr := oneOf("query.outcome", thwart.Outcome(in.Outcome), thwart.Outcomes); pr != nil {
			return nil, pr
		}
	}
	if in.Refused != "" {
		if pr := oneOf("query.refused", thwart.Answer(in.Refused), []thwart.Answer{thwart.Yes, thwart.No}); pr != nil {
			return nil, pr
		}
	}
	if in.WithTests && !p.may(thwart.CanSeeTrial) {
		return nil, problem(http.StatusForbidden, "the role "+string(p.role)+" may not see planted craft")
	}
	page, err := a.cfg.Store.Encounters(ctx, thwart.EncounterQuery{
		From: in.From, To: in.To, Launch: in.Launch, Steward: in.Steward, LastWater: in.LastWater, Outcome: thwart.Outcome(in.Outcome),
		Class: in.Class, Refused: thwart.Answer(in.Refused), WithTests: in.WithTests, Flagged: in.Flagged, Sort: in.Sort,
		After: in.After, Limit: in.Limit,
	})
	if page.Items == nil {
		page.Items = []thwart.EncounterRow{}
	}
	return &struct {
		Body thwart.Page[thwart.EncounterRow]
	}{page}, err
}

// visible says which entries of a subject a caller may see, oldest first, and how the subject stands for the caller. A
// subject of which nothing may be seen is not found: that it exists is nobody else's business.
func (a *API) visible(ctx context.Context, id string) (thwart.Subject, []thwart.Kept, error) {
	p := who(ctx)
	gone := problem(http.StatusNotFound, "there is no such record, or it is not yours to see")
	history, err := a.cfg.Store.History(ctx, id)
	if err != nil {
		return thwart.Subject{}, nil, err
	}
	if len(history) == 0 {
		return thwart.Subject{}, nil, gone
	}
	kind := history[0].Kind
	if slices.Contains(visibleKinds(p.role), kind) {
		s, err := a.cfg.Store.Subject(ctx, id)
		if err != nil {
			return thwart.Subject{}, nil, err
		}
		s.Kept = shown(p, s.Kept)
		for i := range history {
			history[i] = shown(p, history[i])
		}
		return s, history, nil
	}
	if kind == thwart.KindTrial {
		return thwart.Subject{}, nil, gone
	}
	var mine []thwart.Kept
	for i := range history {
		if history[i].Person == p.person {
			mine = append(mine, shown(p, history[i]))
		}
	}
	if len(mine) == 0 {
		return thwart.Subject{}, nil, gone
	}
	head, conflict := merge.Head(mine)
	return thwart.Subject{Kept: head, Conflict: conflict, Versions: len(mine)}, mine, nil
}

// EncounterDetail is one encounter with all that belongs to it.
type EncounterDetail struct {
	Encounter thwart.Subject   `json:"encounter"`
	History   []thwart.Kept    `json:"history"`
	Washes    []thwart.Subject `json:"washes"`
	Check     *VerdictCheck    `json:"check,omitempty" doc:"the verdict computed again now, from the record and the waters as they are known now"`
}

type encounterOut struct {
	ETag string `header:"ETag"`
	Body EncounterDetail
}

func (a *API) encounter(ctx context.Context, in *byID) (*encounterOut, error) {
	s, history, err := a.visible(ctx, in.ID)
	if err != nil {
		return nil, err
	}
	if s.Kind != thwart.KindInspection {
		return nil, problem(http.StatusNotFound, "this record is of the kind "+string(s.Kind)+"; read it at /api/subjects/"+s.Kept.Subject)
	}
	out := &encounterOut{ETag: `"` + s.ID + `"`, Body: EncounterDetail{Encounter: s, History: history, Washes: []thwart.Subject{}}}
	if who(ctx).may(thwart.CanRead) {
		page, err := a.cfg.Store.Subjects(ctx, thwart.SubjectQuery{Kind: thwart.KindWash, Parent: in.ID, Limit: 100})
		if err != nil {
			return nil, err
		}
		out.Body.Washes = append(out.Body.Washes, page.Items...)
	}
	if body, err := s.Decode(); err == nil && !s.Removed {
		if enc := body.(*thwart.Encounter); enc.Verdict != nil {
			c, err := (&resolver{ctx: ctx, store: a.cfg.Store}).check(enc)
			if err != nil {
				return nil, err
			}
			out.Body.Check = &c
		}
	}
	return out, nil
}

type subjectsIn struct {
	Kind    string `query:"kind" required:"true" maxLength:"20"`
	Parent  string `query:"parent" maxLength:"100" doc:"the launch of a shift, the encounter of a wash or photo, the shift of a tally, the steward of a trial"`
	Removed bool   `query:"removed" doc:"removed ones too"`
	PageIn
}

func (a *API) subjects(ctx context.Context, in *subjectsIn) (*struct {
	Body thwart.Page[thwart.Subject]
}, error) {
	p := who(ctx)
	kind := thwart.Kind(in.Kind)
	if pr := oneOf("query.kind", kind, visibleKinds(p.role)); pr != nil {
		return nil, pr
	}
	page, err := a.cfg.Store.Subjects(ctx, thwart.SubjectQuery{Kind: kind, Parent: in.Parent, Removed: in.Removed, After: in.After, Limit: in.Limit})
	if page.Items == nil {
		page.Items = []thwart.Subject{}
	}
	for i := range page.Items {
		page.Items[i].Kept = shown(p, page.Items[i].Kept)
	}
	return &struct {
		Body thwart.Page[thwart.Subject]
	}{page}, err
}

type subjectOut struct {
	ETag string `header:"ETag" doc:"begins with the id of the head entry"`
	Body thwart.Subject
}

func (a *API) subject(ctx context.Context, in *byID) (*subjectOut, error) {
	s, _, err := a.visible(ctx, in.ID)
	if err != nil {
		return nil, err
	}
	return &subjectOut{ETag: `"` + s.ID + `"`, Body: s}, nil
}

func (a *API) history(ctx context.Context, in *byID) (*list[thwart.Kept], error) {
	_, history, err := a.visible(ctx, in.ID)
	return listOf(history), err
}

type totalsIn struct {
	From time.Time `query:"from"`
	To   time.Time `query:"to"`
	By   string    `query:"by" maxLength:"20"`
}

func (a *API) totals(ctx context.Context, in *totalsIn) (*list[thwart.Total], error) {
	if pr := oneOf("query.by", in.By, thwart.TotalsBys); pr != nil {
		return nil, pr
	}
	if p := who(ctx); in.By == "steward" && !p.may(thwart.CanManage) {
		return nil, problem(http.StatusForbidden, "sums by steward are for the manager alone")
	}
	rows, err := a.cfg.Store.Totals(ctx, thwart.TotalsQuery{From: in.From, To: in.To, By: in.By})
	return listOf(rows), err
}

type twinsIn struct {
	From time.Time `query:"from" doc:"7 days before to, when left out"`
	To   time.Time `query:"to" doc:"now, when left out"`
}

// Twin is a pair that may be one craft.
type Twin struct {
	A            string         `json:"a"`
	B            string         `json:"b"`
	ApartSeconds float64        `json:"apartSeconds"`
	Score        int            `json:"score" doc:"orders the list; no probability"`
	Agree        []merge.Sign   `json:"agree"`
	Differ       []merge.Sign   `json:"differ"`
	Outcome      thwart.Outcome `json:"outcome,omitempty" doc:"governs the craft until it is decided"`
}

// maxTwinSpan keeps one request from reading a whole decade.
const maxTwinSpan = 62 * 24 * time.Hour

func (a *API) twins(ctx context.Context, in *twinsIn) (*list[Twin], error) {
	to, from := in.To, in.From
	if to.IsZero() {
		to = a.cfg.Now()
	}
	if from.IsZero() {
		from = to.Add(-7 * 24 * time.Hour)
	}
	if span := to.Sub(from); span <= 0 || span > maxTwinSpan {
		return nil, field("query.from", from.Format(time.RFC3339), "a time before to, at most 62 days")
	}
	// Rows of the list hold all but the length and the direction; both are read only for encounters that have a neighbour.
	var looks []merge.Look
	for after := ""; ; {
		page, err := a.cfg.Store.Encounters(ctx, thwart.EncounterQuery{From: from, To: to, Sort: "at", After: after, Limit: MaxPage})
		if err != nil {
			return nil, err
		}
		for _, r := range page.Items {
			looks = append(looks, merge.Look{Subject: r.Subject, At: r.At, Launch: r.Launch, Class: r.Class, Mark: r.Mark,
				LastWater: r.LastWater, Steward: r.Steward, Outcome: r.Given})
		}
		if after = page.Next; after == "" {
			break
		}
	}
	looks, err := a.fillLooks(ctx, looks)
	if err != nil {
		return nil, err
	}
	out := []Twin{}
	for _, p := range merge.Twins(looks) {
		t := Twin{A: p.A, B: p.B, ApartSeconds: p.Apart.Seconds(), Score: p.Score, Agree: p.Agree, Differ: p.Differ, Outcome: p.Outcome}
		if t.Differ == nil {
			t.Differ = []merge.Sign{}
		}
		out = append(out, t)
	}
	return listOf(out), nil
}

// fillLooks keeps the looks that have another of the same launch and class within reach, and reads their length and direction.
func (a *API) fillLooks(ctx context.Context, looks []merge.Look) ([]merge.Look, error) {
	type place struct{ launch, class string }
	near := map[place][]int{}
	for i, l := range looks {
		near[place{l.Launch, l.Class}] = append(near[place{l.Launch, l.Class}], i)
	}
	var out []merge.Look
	for _, group := range near {
		slices.SortFunc(group, func(x, y int) int { return looks[x].At.Compare(looks[y].At) })
		for k, i := range group {
			before := k > 0 && looks[i].At.Sub(looks[group[k-1]].At) <= merge.TwinWithin
			after := k+1 < len(group) && looks[group[k+1]].At.Sub(looks[i].At) <= merge.TwinWithin
			if !before && !after {
				continue
			}
			s, err := a.cfg.Store.Subject(ctx, looks[i].Subject)
			if err != nil {
				return nil, err
			}
			if body, err := s.Decode(); err == nil {
				if enc, ok := body.(*thwart.Encounter); ok {
					looks[i].LengthM, looks[i].Direction = enc.Inspection.Setup.LengthM, enc.Inspection.Direction
				}
			}
			out = append(out, looks[i])
		}
	}
	return out, nil
}

// ProtocolRow is a protocol to choose from.
type ProtocolRow struct {
	Ref       string `json:"ref" doc:"id@version, as encounters name it"`
	Title     string `json:"title"`
	TextDate  string `json:"textDate"`
	Confirmed bool   `json:"confirmed" doc:"false: an example until the programme has checked it against the law in force"`
	Subject   string `json:"subject,omitempty" doc:"of the programme's own; empty for the library's"`
	Summary   string `json:"summary"`
}

func (a *API) protocols(ctx context.Context, _ *none) (*list[ProtocolRow], error) {
	var out []ProtocolRow
	for after := ""; ; {
		page, err := a.cfg.Store.Subjects(ctx, thwart.SubjectQuery{Kind: thwart.KindProtocol, After: after, Limit: MaxPage})
		if err != nil {
			return nil, err
		}
		for _, s := range page.Items {
			b, err := s.Decode()
			if err != nil {
				continue // made by a newer program; it stays in /api/subjects
			}
			p := b.(*thwart.Protocol)
			out = append(out, ProtocolRow{Ref: p.ID + "@" + p.Version, Title: p.Title, TextDate: p.TextDate, Confirmed: p.Confirmed,
				Subject: s.Kept.Subject, Summary: p.Summary})
		}
		if after = page.Next; after == "" {
			break
		}
	}
	own := len(out)
	for ref, p := range library() {
		out = append(out, ProtocolRow{Ref: ref, Title: p.Title, TextDate: p.TextDate, Confirmed: p.Confirmed, Summary: p.Summary})
	}
	slices.SortFunc(out[own:], func(x, y ProtocolRow) int { return strings.Compare(x.Ref, y.Ref) })
	return listOf(out), nil
}

type assessIn struct {
	RawBody []byte `contentType:"application/json"`
}

func (a *API) assess(ctx context.Context, in *assessIn) (*struct{ Body advice.Assessment }, error) {
	select {
	case a.assessing <- struct{}{}:
		defer func() { <-a.assessing }()
	case <-ctx.Done():
		return nil, ctx.Err()
	}
	if errs := checkJSON(in.RawBody); len(errs) > 0 {
		return nil, errs
	}
	cs, err := thwart.ReadCase(bytes.NewReader(in.RawBody))
	if err != nil {
		return nil, a.badCase(err)
	}
	out, err := advice.Assess(cs)
	if err != nil {
		return nil, a.badCase(err)
	}
	return &struct{ Body advice.Assessment }{out}, nil
}

// badCase keeps field errors as they are; anything else that is wrong with a case is wrong with its text.
func (a *API) badCase(err error) error {
	if _, ok := err.(thwart.FieldErrors); ok {
		return err
	}
	return problem(http.StatusUnprocessableEntity, fmt.Sprintf("the case cannot be read: %s", short(err.Error())))
}
