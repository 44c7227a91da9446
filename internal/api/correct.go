package api

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"thwart"
)

func (a *API) routeCorrect() {
	tag := []string{"Corrections"}
	route(a, huma.Operation{OperationID: "create-subject", Method: http.MethodPost, Path: "/api/subjects", Tags: tag, DefaultStatus: http.StatusCreated,
		Summary: "Add a record from the office, such as a water, a launch, a person, a protocol"}, inOffice(thwart.CanManage), a.createSubject)
	route(a, huma.Operation{OperationID: "correct", Method: http.MethodPost, Path: "/api/subjects/{id}/corrections", Tags: tag, DefaultStatus: http.StatusCreated,
		Summary: "Correct or remove a record, with a reason",
		Description: "Nothing is overwritten: the correction is a new entry, and the older ones stay in the history. If-Match must name the head " +
			"entry the correction was made from (the ETag of the record); when somebody else was first, the answer is 412 and nothing is kept.",
		Errors: []int{http.StatusNotFound, http.StatusPreconditionFailed, http.StatusPreconditionRequired},
	}, inOffice(thwart.CanCorrect), a.correct)
	own := signedIn(thwart.CanCorrect, thwart.CanRecord)
	own.own = ownRecords
	route(a, huma.Operation{OperationID: "list-refusals", Method: http.MethodGet, Path: "/api/refusals", Tags: tag,
		Summary: "Entries that could not be taken, kept whole until somebody settles them"}, own, a.refusals)
	route(a, huma.Operation{OperationID: "settle-refusal", Method: http.MethodPost, Path: "/api/refusals/{id}/settle", Tags: tag,
		Summary: "Say what became of a refused entry", Errors: []int{http.StatusNotFound}}, inOffice(thwart.CanCorrect), a.settle)
}

// newEntry begins an entry that is made at the server.
func (a *API) newEntry(now time.Time, kind thwart.Kind, body json.RawMessage) thwart.Kept {
	e := thwart.Entry{ID: NewID(now), Kind: kind, MadeAt: now, Origin: thwart.OriginOffice, App: "server " + a.cfg.Version, Body: body}
	e.Subject = e.ID
	return thwart.Kept{Entry: e, ReceivedAt: now}
}

// put keeps one entry made at the server.
func (a *API) put(ctx context.Context, k thwart.Kept) error {
	ans, err := a.cfg.Store.Put(ctx, []thwart.Kept{k})
	if err != nil {
		return err
	}
	if len(ans) != 1 || ans[0].Result == thwart.Refused {
		if len(ans) == 1 && len(ans[0].Errors) > 0 {
			return ans[0].Errors
		}
		return fmt.Errorf("%w: an entry of the server's own was not taken", thwart.ErrStorage)
	}
	a.wrote()
	return nil
}

type createIn struct {
	Body struct {
		Kind string          `json:"kind" maxLength:"20"`
		Body json.RawMessage `json:"body" doc:"what the record says, as the schema of its kind"`
	}
}

type entryOut struct {
	ETag string `header:"ETag"`
	Body thwart.Subject
}

func (a *API) createSubject(ctx context.Context, in *createIn) (*entryOut, error) {
	now := a.cfg.Now().UTC()
	k := a.newEntry(now, thwart.Kind(in.Body.Kind), in.Body.Body)
	k.Person = who(ctx).person
	if err := a.keepOwn(ctx, k, "create"); err != nil {
		return nil, err
	}
	return a.standing(ctx, k.Entry.Subject)
}

// checkOwn validates an entry of the office as strictly as one of a phone.
func checkOwn(k thwart.Kept) error {
	if errs := checkJSON(k.Body); len(errs) > 0 {
		return errs
	}
	if err := k.Validate(); err != nil {
		return err
	}
	body, err := k.Decode()
	if err != nil {
		var fields thwart.FieldErrors
		if !errors.As(err, &fields) {
			return field("body.body", short(err.Error()), "the JSON of a "+string(k.Kind))
		}
		for i := range fields {
			fields[i].Field = strings.TrimSuffix("body.body."+fields[i].Field, ".")
		}
		return fields
	}
	if w, ok := body.(*thwart.WaterBody); ok && w != nil {
		return checkStatuses("body.body.statuses", w.Statuses)
	}
	return nil
}

// keepOwn validates an entry of the office as strictly as one of a phone, keeps it, writes the trail, and joins what it brings together.
func (a *API) keepOwn(ctx context.Context, k thwart.Kept, what string) error {
	if err := checkOwn(k); err != nil {
		return err
	}
	if err := a.put(ctx, k); err != nil {
		return err
	}
	if err := a.audit(ctx, who(ctx).account, what, k.Entry.Subject, string(k.Kind)); err != nil {
		return err
	}
	return a.paperAfter(ctx, k)
}

func (a *API) standing(ctx context.Context, subject string) (*entryOut, error) {
	s, err := a.cfg.Store.Subject(ctx, subject)
	if err != nil {
		return nil, err
	}
	return &entryOut{ETag: `"` + s.ID + `"`, Body: s}, nil
}

type correctIn struct {
	ID      string `path:"id" maxLength:"40"`
	IfMatch string `header:"If-Match" doc:"the ETag of the record, or the id of its head entry in quotes"`
	Body    struct {
		Why     string          `json:"why" minLength:"1" maxLength:"500" doc:"the reason, for whoever reads the history"`
		Removed bool            `json:"removed,omitempty" doc:"take the record out; the history stays"`
		Body    json.RawMessage `json:"body,omitempty" doc:"the whole record as it should read"`
	}
}

func (a *API) correct(ctx context.Context, in *correctIn) (*entryOut, error) {
	// Corrections of one subject take turns in this process. Between two servers both may be kept; the record then shows as
	// in conflict, and nothing is lost.
	defer a.lockHeads([]string{in.ID})()
	s, err := a.matched(ctx, in.ID, in.IfMatch)
	if err != nil {
		return nil, err
	}
	if s.Kind.Reference() && !who(ctx).may(thwart.CanManage) {
		return nil, problem(http.StatusForbidden, "the role "+string(who(ctx).role)+" may not change the programme's reference records")
	}
	now := a.cfg.Now().UTC()
	k := a.newEntry(now, s.Kind, in.Body.Body)
	k.Entry.Subject, k.Supersedes, k.Why, k.Removed, k.Person = s.Kept.Subject, s.ID, in.Body.Why, in.Body.Removed, who(ctx).person
	if err := a.keepOwn(ctx, k, "correct"); err != nil {
		return nil, err
	}
	return a.standing(ctx, in.ID)
}

// matched gives a record whose head is the entry that the caller has read; it refuses where somebody else was first.
func (a *API) matched(ctx context.Context, id, ifMatch string) (thwart.Subject, error) {
	if ifMatch == "" {
		return thwart.Subject{}, problem(http.StatusPreconditionRequired, "If-Match is missing; accepted: the ETag of the record as it was read")
	}
	s, err := a.cfg.Store.Subject(ctx, id)
	if err != nil {
		return thwart.Subject{}, err
	}
	head, _, _ := strings.Cut(strings.Trim(strings.TrimPrefix(strings.TrimSpace(ifMatch), "W/"), `"`), ".")
	if head != s.ID {
		p := problem(http.StatusPreconditionFailed, "somebody else has changed this record; read it again and decide anew")
		p.Errors = thwart.FieldErrors{{Field: "header.If-Match", Value: short(ifMatch), Accepted: `"` + s.ID + `"`}}
		return thwart.Subject{}, p.with("ETag", `"`+s.ID+`"`)
	}
	return s, nil
}

type refusalsIn struct {
	Settled bool `query:"settled" doc:"those that were settled instead of those that wait"`
	PageIn
}

func (a *API) refusals(ctx context.Context, in *refusalsIn) (*struct{ Body thwart.Page[thwart.Refusal] }, error) {
	p := who(ctx)
	out := &struct{ Body thwart.Page[thwart.Refusal] }{}
	out.Body.Items = []thwart.Refusal{}
	for after := in.After; ; {
		page, err := a.cfg.Store.Refusals(ctx, in.Settled, after, in.Limit)
		if err != nil {
			return nil, err
		}
		for _, r := range page.Items {
			if p.may(thwart.CanCorrect) || r.Person == p.person && p.person != "" {
				out.Body.Items = append(out.Body.Items, r)
			}
		}
		after = page.Next
		// Pages without anything of the caller's own are passed over, so that an empty page means that there is nothing.
		if after == "" || len(out.Body.Items) > 0 {
			out.Body.Next = after
			return out, nil
		}
	}
}

type settleIn struct {
	ID   string `path:"id" maxLength:"40"`
	Body struct {
		How string `json:"how" minLength:"1" maxLength:"500" doc:"what became of it, such as: keyed in again as …; a duplicate; thrown away"`
	}
}

type settled struct {
	Body struct {
		ID        string    `json:"id"`
		SettledAt time.Time `json:"settledAt"`
	}
}

func (a *API) settle(ctx context.Context, in *settleIn) (*settled, error) {
	now := a.cfg.Now().UTC()
	if err := a.cfg.Store.Settle(ctx, in.ID, who(ctx).person, in.Body.How, now); err != nil {
		return nil, err
	}
	if err := a.audit(ctx, who(ctx).account, "settle", in.ID, ""); err != nil {
		return nil, err
	}
	out := &settled{}
	out.Body.ID, out.Body.SettledAt = in.ID, now
	return out, nil
}
