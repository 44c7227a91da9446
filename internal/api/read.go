package api

import (
	"bytes"
	"context"
	"encoding/json"
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
	"thwart/season/figures"
)

const ownRecords = "A role that only records sees what its own person made, and nothing else."

func (a *API) routeRead() {
	tag := []string{"Records"}
	notFound := []int{http.StatusNotFound}
	route(a, huma.Operation{OperationID: "list-encounters", Method: http.MethodGet, Path: "/api/encounters", Tags: tag,
		Summary: "List encounters", Description: "Filters leave out what does not fit; sort is at, outcome, class, launch or seconds, with - for descending."},
		signedIn(thwart.CanRead), a.encounters)
	route(a, huma.Operation{OperationID: "count-encounters", Method: http.MethodGet, Path: "/api/encounters/count", Tags: tag,
		Summary: "How many encounters fit a filter"}, signedIn(thwart.CanRead), a.countEncounters)
	route(a, huma.Operation{OperationID: "list-receipts", Method: http.MethodGet, Path: "/api/encounters/receipts", Tags: tag,
		Summary: "The receipts that the encounters of a filter were given",
		Description: "Pages go by encounter, in the order of the list of encounters: limit is how many encounters a page looks at, and a page may hold " +
			"more receipts than that, or none and still have a next."},
		signedIn(thwart.CanRead), a.receipts)
	own := signedIn(thwart.CanRead, thwart.CanRecord)
	own.own = ownRecords
	route(a, huma.Operation{OperationID: "get-encounter", Method: http.MethodGet, Path: "/api/encounters/{id}", Tags: tag, Errors: notFound,
		Summary: "One encounter: as it stands, its history, its washes, and the verdict computed again"}, own, a.encounter)
	route(a, huma.Operation{OperationID: "list-subjects", Method: http.MethodGet, Path: "/api/subjects", Tags: tag,
		Summary:     "List the things of one kind as they stand",
		Description: "A role that only records lists reference records, and of drills, certificates and availabilities those of its own person."},
		signedIn(thwart.CanRead, thwart.CanRecord), a.subjects)
	route(a, huma.Operation{OperationID: "get-subject", Method: http.MethodGet, Path: "/api/subjects/{id}", Tags: tag, Errors: notFound,
		Summary: "One thing as it stands; its ETag serves as If-Match of a correction"}, own, a.subject)
	route(a, huma.Operation{OperationID: "get-history", Method: http.MethodGet, Path: "/api/subjects/{id}/history", Tags: tag, Errors: notFound,
		Summary: "Every entry of one thing, in order of arrival"}, own, a.history)
	route(a, huma.Operation{OperationID: "list-totals", Method: http.MethodGet, Path: "/api/totals", Tags: tag,
		Summary:     "Sums of a season",
		Description: "By steward they are for the manager alone: they are training data, not a table of merit."}, signedIn(thwart.CanRead), a.totals)
	route(a, huma.Operation{OperationID: "list-twins", Method: http.MethodGet, Path: "/api/twins", Tags: tag,
		Summary:     "Pairs of encounters that may be one craft met twice",
		Description: "Proposed, never joined. Until a person decides, the stricter outcome of a pair governs. A decision is a record of the kind pairing."}, inOffice(thwart.CanCorrect), a.twins)
	route(a, huma.Operation{OperationID: "list-protocols", Method: http.MethodGet, Path: "/api/protocols", Tags: tag,
		Summary: "The published protocols of the library and the programme's own"}, signedIn(thwart.CanRead, thwart.CanRecord), a.protocols)
	route(a, huma.Operation{OperationID: "get-protocol", Method: http.MethodGet, Path: "/api/protocols/{id}", Tags: tag, Errors: notFound,
		Summary: "One protocol whole, as it stands in the library or among the programme's own"}, signedIn(thwart.CanRead, thwart.CanRecord), a.oneProtocol)
	op := huma.Operation{OperationID: "assess", Method: http.MethodPost, Path: "/api/assess", Tags: []string{"Advice"},
		Summary: "Judge one craft: round, verdict, risk, treatment",
		Description: "Takes the same case as the command line and keeps nothing of it. A case that says nothing of the skill of whoever looks is judged by " +
			"the caller's own chances of finding, as her phone does it; the verdict does not depend on them, risk and short rounds do.",
		MaxBodyBytes: MaxBodyBytes, SkipValidateBody: true, RequestBody: &huma.RequestBody{Required: true}}
	route(a, op, signedIn(thwart.CanRead, thwart.CanRecord), a.assess)
	op.RequestBody.Content["application/json"].Schema = a.huma.OpenAPI().Components.Schemas.Schema(reflect.TypeFor[thwart.Case](), true, "Case")
}

// EncounterFilter says which encounters are meant; a field that is left out does not filter.
type EncounterFilter struct {
	From      time.Time `query:"from" doc:"of the start, included"`
	To        time.Time `query:"to" doc:"of the start, not included"`
	Launch    string    `query:"launch" maxLength:"100"`
	Steward   string    `query:"steward" maxLength:"100"`
	LastWater string    `query:"lastWater" maxLength:"100"`
	Earlier   string    `query:"earlierWater" maxLength:"100" doc:"a water that the boater named, but not as the last: craft that were there before"`
	NextWater string    `query:"nextWater" maxLength:"100"`
	Mark      string    `query:"mark" maxLength:"100" doc:"the hash of a registration, as a row has it or POST /api/marks gives it"`
	Outcome   string    `query:"outcome" maxLength:"20" doc:"what craft left with; one whose boater declined left with none and is found with refused"`
	Class     string    `query:"class" maxLength:"60"`
	Refused   string    `query:"refused" maxLength:"10" doc:"yes or no"`
	Found     string    `query:"found" maxLength:"10" doc:"yes = with a find of any kind, no = without"`
	Doubt     string    `query:"doubt" maxLength:"40" doc:"any, or a check of GET /api/season/doubts: inspections of the latest season that are hard to believe and that nobody has looked at"`
	WithTests bool      `query:"withTests" doc:"planted craft too; for roles that may see trials"`
	Flagged   bool      `query:"flagged" doc:"only those whose corrections compete"`
}

// anyDoubt asks for the records of every check.
const anyDoubt = "any"

// encounterQuery checks a filter, and that the caller may ask with it.
func (a *API) encounterQuery(ctx context.Context, f *EncounterFilter) (thwart.EncounterQuery, error) {
	p := who(ctx)
	if f.Outcome != "" {
		if pr := oneOf("query.outcome", thwart.Outcome(f.Outcome), thwart.Outcomes); pr != nil {
			return thwart.EncounterQuery{}, pr
		}
	}
	if f.Refused != "" {
		if pr := oneOf("query.refused", thwart.Answer(f.Refused), []thwart.Answer{thwart.Yes, thwart.No}); pr != nil {
			return thwart.EncounterQuery{}, pr
		}
	}
	if f.Found != "" {
		if pr := oneOf("query.found", thwart.Answer(f.Found), []thwart.Answer{thwart.Yes, thwart.No}); pr != nil {
			return thwart.EncounterQuery{}, pr
		}
	}
	if f.WithTests && !p.may(thwart.CanSeeTrial) {
		return thwart.EncounterQuery{}, problem(http.StatusForbidden, "the role "+string(p.role)+" may not see planted craft")
	}
	ids, err := a.named(ctx, f)
	if err != nil {
		return thwart.EncounterQuery{}, err
	}
	return thwart.EncounterQuery{
		IDs: ids, Found: thwart.Answer(f.Found), From: f.From, To: f.To, Launch: f.Launch, Steward: f.Steward, LastWater: f.LastWater, NextWater: f.NextWater, Mark: f.Mark,
		Outcome: thwart.Outcome(f.Outcome), Class: f.Class, Refused: thwart.Answer(f.Refused), WithTests: f.WithTests, Flagged: f.Flagged,
	}, nil
}

// named gives the encounters that a filter names by what no table has: the season in memory knows them. It is nil where the filter
// names none so.
func (a *API) named(ctx context.Context, f *EncounterFilter) (ids []string, err error) {
	if f.Doubt != "" {
		if ids, err = a.doubtedBy(ctx, f.Doubt); err != nil {
			return nil, err
		}
	}
	if f.Earlier != "" {
		book, err := a.season(ctx)
		if err != nil {
			return nil, err
		}
		were := book.WereBefore(f.Earlier, f.From, f.To)
		if f.Doubt == "" {
			ids = were
		} else {
			doubted := map[string]bool{}
			for _, id := range ids {
				doubted[id] = true
			}
			ids = slices.DeleteFunc(were, func(id string) bool { return !doubted[id] })
		}
	}
	if len(ids) > thwart.MostEncounterIDs {
		return nil, field("query.from", f.From.Format(time.RFC3339), fmt.Sprintf("a shorter time: %d encounters are meant, at most %d can be asked for", len(ids), thwart.MostEncounterIDs))
	}
	return ids, nil
}

// doubtedBy gives the records that a check doubts, or any of them.
func (a *API) doubtedBy(ctx context.Context, check string) ([]string, error) {
	if pr := oneOf("query.doubt", check, append([]string{anyDoubt}, figures.InspectionDoubts...)); pr != nil {
		return nil, pr
	}
	doubts, err := a.allDoubts(ctx)
	if err != nil {
		return nil, err
	}
	if check != anyDoubt {
		doubts = slices.DeleteFunc(slices.Clone(doubts), func(d figures.Doubt) bool { return d.ID != check })
	}
	return figures.Doubted(doubts), nil
}

// ReceiptRow is a receipt with the encounter that it was given at.
type ReceiptRow struct {
	Encounter thwart.EncounterRow `json:"encounter"`
	Receipt   thwart.Subject      `json:"receipt"`
}

func (a *API) receipts(ctx context.Context, in *encountersIn) (*struct {
	Body thwart.Page[ReceiptRow]
}, error) {
	met, err := a.encounters(ctx, in)
	if err != nil {
		return nil, err
	}
	out := &struct{ Body thwart.Page[ReceiptRow] }{thwart.Page[ReceiptRow]{Items: []ReceiptRow{}, Next: met.Body.Next}}
	rows := met.Body.Items
	if len(rows) == 0 {
		return out, nil
	}
	parents := make([]string, len(rows))
	for i := range rows {
		parents[i] = rows[i].Subject
	}
	given := map[string][]thwart.Subject{}
	for after := ""; ; {
		page, err := a.cfg.Store.Subjects(ctx, thwart.SubjectQuery{Kind: thwart.KindReceipt, Parents: parents, After: after, Limit: MaxPage})
		if err != nil {
			return nil, err
		}
		for i := range page.Items {
			var body struct{ Encounter string } // of a newer program's body too
			if err := json.Unmarshal(page.Items[i].Body, &body); err != nil {
				return nil, err
			}
			page.Items[i].Kept = shown(who(ctx), page.Items[i].Kept)
			given[body.Encounter] = append(given[body.Encounter], page.Items[i])
		}
		if after = page.Next; after == "" {
			break
		}
	}
	for i := range rows {
		for _, r := range given[rows[i].Subject] {
			out.Body.Items = append(out.Body.Items, ReceiptRow{Encounter: rows[i], Receipt: r})
		}
	}
	return out, nil
}

type encountersIn struct {
	EncounterFilter
	Sort string `query:"sort" maxLength:"20"`
	PageIn
}

func (a *API) encounters(ctx context.Context, in *encountersIn) (*struct {
	Body thwart.Page[thwart.EncounterRow]
}, error) {
	if in.Sort != "" {
		if pr := oneOf("query.sort", strings.TrimPrefix(in.Sort, "-"), thwart.EncounterSorts); pr != nil {
			return nil, pr
		}
	}
	q, err := a.encounterQuery(ctx, &in.EncounterFilter)
	if err != nil {
		return nil, err
	}
	q.Sort, q.After, q.Limit = in.Sort, in.After, in.Limit
	page, err := a.cfg.Store.Encounters(ctx, q)
	if page.Items == nil {
		page.Items = []thwart.EncounterRow{}
	}
	return &struct {
		Body thwart.Page[thwart.EncounterRow]
	}{page}, err
}

// EncounterCount is how many encounters fit.
type EncounterCount struct {
	Encounters int `json:"encounters"`
}

func (a *API) countEncounters(ctx context.Context, in *EncounterFilter) (*struct{ Body EncounterCount }, error) {
	q, err := a.encounterQuery(ctx, in)
	if err != nil {
		return nil, err
	}
	n, err := a.cfg.Store.CountEncounters(ctx, q)
	return &struct{ Body EncounterCount }{EncounterCount{n}}, err
}

// personal are kinds that say something of one person, whom they belong to.
var personal = []thwart.Kind{thwart.KindDrill, thwart.KindCertificate, thwart.KindAvailability}

// about gives the person that an entry of a personal kind is about.
func about(k *thwart.Kept) string {
	var b struct{ Person string }
	if !slices.Contains(personal, k.Kind) || json.Unmarshal(k.Body, &b) != nil {
		return ""
	}
	return b.Person
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
		if history[i].Person == p.person || p.person != "" && about(&history[i]) == p.person {
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
	Given     thwart.Outcome   `json:"given,omitempty" doc:"what the craft left with, as the ledger's row has it: the verdict or what a person decided instead; hold for a refusal without either; left out where it was not judged"`
	Looked    bool             `json:"looked,omitempty" doc:"as it stands, somebody in the office kept it as it was, and nobody has taken that look back; told to whoever may"`
	// Both are told to whoever may read the programme's records: they speak of what other people recorded.
	SameAs  string         `json:"sameAs,omitempty" doc:"the earlier encounter that counts for this craft, as a person has decided"`
	Governs thwart.Outcome `json:"governs,omitempty" doc:"the strictest outcome of a craft that was met more than once; left out for a craft met once, or not judged"`
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
		rows, err := a.cfg.Store.Encounters(ctx, thwart.EncounterQuery{IDs: []string{in.ID}, WithTests: true})
		if err != nil {
			return nil, err
		}
		for _, r := range rows.Items {
			out.Body.SameAs, out.Body.Governs = r.SameAs, r.Governs
		}
	}
	if who(ctx).may(thwart.CanCorrect) && looksOnly(&s, before(&s, history)) {
		taken, err := a.takenBack(ctx, &s)
		if err != nil {
			return nil, err
		}
		out.Body.Looked = !taken
	}
	if body, err := s.Decode(); err == nil && !s.Removed {
		enc := body.(*thwart.Encounter)
		out.Body.Given = enc.Given()
		if enc.Verdict != nil {
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
	Parent  string `query:"parent" maxLength:"100" doc:"the water of a launch; the launch of a unit, shift or planned shift; the shift of a tally; the encounter of a wash, photo, receipt, second look or incident; the first encounter of a pairing; the steward of a trial; the person of a drill, certificate or availability; the record of a reopening"`
	Removed bool   `query:"removed" doc:"removed ones too"`
	PageIn
}

func (a *API) subjects(ctx context.Context, in *subjectsIn) (*struct {
	Body thwart.Page[thwart.Subject]
}, error) {
	p := who(ctx)
	kind, kinds := thwart.Kind(in.Kind), visibleKinds(p.role)
	if !p.may(thwart.CanRead) {
		if slices.Contains(personal, kind) {
			if in.Parent != "" && in.Parent != p.person {
				return nil, problem(http.StatusForbidden, "what is kept of another person is not yours to see")
			}
			in.Parent = p.person
		}
		kinds = append(kinds, personal...)
	}
	if pr := oneOf("query.kind", kind, kinds); pr != nil {
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
	err := eachSubject(ctx, a.cfg.Store, thwart.KindProtocol, func(s *thwart.Subject) {
		b, err := s.Decode()
		if err != nil {
			return // made by a newer program; it stays in /api/subjects
		}
		p := b.(*thwart.Protocol)
		out = append(out, ProtocolRow{Ref: p.ID + "@" + p.Version, Title: p.Title, TextDate: p.TextDate, Confirmed: p.Confirmed,
			Subject: s.Kept.Subject, Summary: p.Summary})
	})
	if err != nil {
		return nil, err
	}
	own := len(out)
	for ref, p := range library() {
		out = append(out, ProtocolRow{Ref: ref, Title: p.Title, TextDate: p.TextDate, Confirmed: p.Confirmed, Summary: p.Summary})
	}
	slices.SortFunc(out[own:], func(x, y ProtocolRow) int { return strings.Compare(x.Ref, y.Ref) })
	return listOf(out), nil
}

type oneProtocolOut struct{ Body thwart.Protocol }

// oneProtocol gives a protocol as it is written down: a published table that it takes whole is named, not filled in.
func (a *API) oneProtocol(ctx context.Context, in *struct {
	ID string `path:"id" maxLength:"200" doc:"id@version"`
}) (*oneProtocolOut, error) {
	p, err := a.protocolByRef(ctx, in.ID)
	if err != nil {
		return nil, err
	}
	return &oneProtocolOut{*p}, nil
}

// protocolByRef finds a protocol by id@version among the programme's own, then in the library.
func (a *API) protocolByRef(ctx context.Context, ref string) (*thwart.Protocol, error) {
	own, err := itemsOf[thwart.Protocol](ctx, a, thwart.KindProtocol)
	if err != nil {
		return nil, err
	}
	for i := range own {
		if p := &own[i].Body; p.ID+"@"+p.Version == ref {
			return p, nil
		}
	}
	if p := library()[ref]; p != nil {
		return p, nil
	}
	return nil, problem(http.StatusNotFound, "there is no such protocol here; /api/protocols lists them")
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
	if cs.Skill.Trials == 0 && len(cs.Skill.Classes) == 0 {
		r, err := a.skillReport(ctx, practiseBelow)
		if err != nil {
			return nil, err
		}
		cs.Skill = r.Skill(who(ctx).person)
	}
	out, err := advice.Assess(cs)
	if err != nil {
		return nil, a.badCase(err)
	}
	if out.Risk.ByOrganism == nil {
		out.Risk.ByOrganism = []thwart.OrganismRisk{}
	}
	if out.Risk.Contributors == nil {
		out.Risk.Contributors = []thwart.Contributor{}
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
