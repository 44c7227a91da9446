package api

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"hash/fnv"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"thwart"
	"thwart/season/figures"
)

// correctMany names acts in the audit trail. The detail of a row lists each record of the act with the entry that it made,
// as record/entry.
const correctMany = "correct_many"

func (a *API) routeBulk() {
	tag := []string{"Corrections"}
	route(a, huma.Operation{OperationID: "correct-many", Method: http.MethodPost, Path: "/api/corrections", Tags: tag,
		Summary: "Correct many records in one act, all or none; or look first at what that would change",
		Description: "Every change names the head entry it was made from. With dryRun nothing is kept and the answer shows what would differ, record by record. " +
			"A change gives the whole record as it should read, or the id of a doubt whose proposed fix is to be made, or says that the record was looked at " +
			"and stays as it is: that too is kept with its reason, and the record is doubted no longer.",
		Errors: []int{http.StatusNotFound, http.StatusPreconditionFailed},
	}, inOffice(thwart.CanCorrect), a.correctMany)
	route(a, huma.Operation{OperationID: "list-acts", Method: http.MethodGet, Path: "/api/corrections", Tags: tag,
		Summary: "Acts that corrected many records at once, the latest first"}, inOffice(thwart.CanCorrect), a.acts)
	route(a, huma.Operation{OperationID: "undo-act", Method: http.MethodPost, Path: "/api/corrections/{id}/undo", Tags: tag,
		Summary: "Undo an act: every record reads again as it did before",
		Description: "A record that was kept as it was is doubted again. Records that somebody has changed since are left alone and listed. Nothing is " +
			"overwritten: the undoing is an act of its own, and can be undone.",
		Errors: []int{http.StatusNotFound},
	}, inOffice(thwart.CanCorrect), a.undoAct)
	route(a, huma.Operation{OperationID: "reopen", Method: http.MethodPost, Path: "/api/subjects/{id}/reopenings", Tags: tag, DefaultStatus: http.StatusCreated,
		Summary: "Take back a look that kept a record as it was, so that it may be doubted again",
		Description: "The look stays in the history. What takes it back is a record of its own, of the kind reopening; removed by a correction, it lets the " +
			"look count again. If-Match must name the head entry, which is the look.",
		Errors: []int{http.StatusNotFound, http.StatusConflict, http.StatusPreconditionFailed, http.StatusPreconditionRequired},
	}, inOffice(thwart.CanCorrect), a.reopen)
}

// Change is what one record of an act becomes.
type Change struct {
	ID     string          `json:"id" maxLength:"40"`
	Head   string          `json:"head,omitempty" maxLength:"40" doc:"the entry that the change was made from; may be left out in a dry run"`
	Body   json.RawMessage `json:"body,omitempty" doc:"the whole record as it should read"`
	Mend   string          `json:"mend,omitempty" maxLength:"40" doc:"the doubt whose proposed fix is made"`
	AsIs   bool            `json:"asIs,omitempty" doc:"looked at, and right as it is"`
	Remove bool            `json:"remove,omitempty" doc:"take the record out; its history stays"`
}

type correctManyIn struct {
	Body struct {
		Why    string `json:"why" maxLength:"500" doc:"the reason, for whoever reads the history; not needed in a dry run"`
		DryRun bool   `json:"dryRun,omitempty"`
		// As many as a person can look through before agreeing.
		Changes []Change `json:"changes" minItems:"1" maxItems:"200"`
	}
}

// ChangedRow is what an act does to one record.
type ChangedRow struct {
	ID     string           `json:"id"`
	Kind   thwart.Kind      `json:"kind"`
	Head   string           `json:"head"`
	Fields []figures.Mended `json:"fields" doc:"values that differ; none: the record stays as it is"`
}

// Act is many corrections made, or looked at, as one.
type Act struct {
	ID   string       `json:"id,omitempty" doc:"empty in a dry run"`
	Rows []ChangedRow `json:"rows"`
}

func (a *API) correctMany(ctx context.Context, in *correctManyIn) (*struct{ Body Act }, error) {
	if !in.Body.DryRun && in.Body.Why == "" {
		return nil, field("body.why", "", "the reason of the corrections")
	}
	ids := make([]string, len(in.Body.Changes))
	for i, c := range in.Body.Changes {
		ids[i] = c.ID
	}
	if len(slices.Compact(slices.Sorted(slices.Values(ids)))) != len(ids) {
		return nil, field("body.changes", fmt.Sprint(len(ids))+" changes", "each record once")
	}
	defer a.lockHeads(ids)()
	act := Act{Rows: []ChangedRow{}}
	var batch []thwart.Kept
	now := a.cfg.Now().UTC()
	for i := range in.Body.Changes {
		row, k, err := a.change(ctx, now, &in.Body.Changes[i], in.Body.Why, in.Body.DryRun)
		if err != nil {
			return nil, inChange(i, err)
		}
		act.Rows, batch = append(act.Rows, row), append(batch, k)
	}
	if in.Body.DryRun {
		return &struct{ Body Act }{act}, nil
	}
	id, err := a.keepAct(ctx, now, batch)
	act.ID = id
	return &struct{ Body Act }{act}, err
}

// inChange says which change an error is about.
func inChange(i int, err error) error {
	named := func(fields thwart.FieldErrors) thwart.FieldErrors {
		out := slices.Clone(fields)
		for k := range out {
			out[k].Field = fmt.Sprintf("body.changes.%d.%s", i, strings.TrimPrefix(out[k].Field, "body."))
		}
		return out
	}
	var p *Problem
	if errors.As(err, &p) {
		p.Errors = named(p.Errors)
		return p
	}
	var fields thwart.FieldErrors
	if errors.As(err, &fields) {
		return named(fields)
	}
	return err
}

// change makes the entry of one change, and says what it does. Nothing is kept.
func (a *API) change(ctx context.Context, now time.Time, c *Change, why string, dry bool) (ChangedRow, thwart.Kept, error) {
	s, err := a.cfg.Store.Subject(ctx, c.ID)
	if err != nil {
		return ChangedRow{}, thwart.Kept{}, err
	}
	if s.Kind.Reference() && !who(ctx).may(thwart.CanManage) {
		return ChangedRow{}, thwart.Kept{}, problem(http.StatusForbidden, "the role "+string(who(ctx).role)+" may not change the programme's reference records")
	}
	if c.Head != s.ID && !(dry && c.Head == "") {
		p := problem(http.StatusPreconditionFailed, "somebody else has changed record "+c.ID+"; look at it again and decide anew")
		p.Errors = thwart.FieldErrors{{Field: "head", Value: short(c.Head), Accepted: s.ID}}
		return ChangedRow{}, thwart.Kept{}, p
	}
	row := ChangedRow{ID: c.ID, Kind: s.Kind, Head: s.ID, Fields: []figures.Mended{}}
	k := a.newEntry(now, s.Kind, s.Body)
	k.Entry.Subject, k.Supersedes, k.Why, k.Person = c.ID, s.ID, why, who(ctx).person
	if dry && why == "" {
		k.Why = "dry run"
	}
	switch {
	case c.AsIs:
	case c.Remove:
		k.Removed = true
		row.Fields = append(row.Fields, figures.Mended{Field: "record", Was: "kept", WouldBe: "taken out"})
	case c.Mend != "":
		k.Body, row.Fields, err = figures.Mend(c.Mend, s.Kind, s.Body)
	case len(c.Body) > 0:
		k.Body = c.Body
		row.Fields = append(row.Fields, figures.Mended{Field: "record", Was: fmt.Sprintf("%d bytes", len(s.Body)), WouldBe: fmt.Sprintf("%d bytes", len(c.Body))})
	default:
		err = field("body.body", "", "a body, a mend, asIs or remove")
	}
	if err == nil {
		err = checkOwn(k)
	}
	return row, k, err
}

// keepAct keeps the entries of an act, all or none, and writes them into the trail.
func (a *API) keepAct(ctx context.Context, now time.Time, batch []thwart.Kept) (string, error) {
	answers, err := a.cfg.Store.Put(ctx, batch)
	if err != nil {
		return "", err
	}
	made := make([]string, len(batch))
	for i, ans := range answers {
		if ans.Result == thwart.Refused {
			return "", fmt.Errorf("%w: an entry of the server's own was not taken", thwart.ErrStorage)
		}
		made[i] = batch[i].Entry.Subject + "/" + batch[i].ID
	}
	a.wrote()
	act := NewID(now)
	if err := a.audit(ctx, who(ctx).account, correctMany, act, strings.Join(made, " ")); err != nil {
		return "", err
	}
	return act, a.paperAfter(ctx, batch...)
}

// lockHeads lets corrections of the same records take turns; what it gives ends the turn.
func (a *API) lockHeads(ids []string) func() {
	var at []uint32
	for _, id := range ids {
		h := fnv.New32a()
		h.Write([]byte(id))
		at = append(at, h.Sum32()%uint32(len(a.heads)))
	}
	slices.Sort(at) // in one order everywhere, so that two acts never wait for each other
	at = slices.Compact(at)
	for _, i := range at {
		a.heads[i].Lock()
	}
	return func() {
		for _, i := range at {
			a.heads[i].Unlock()
		}
	}
}

// ActRow is one act in a list.
type ActRow struct {
	ID      string    `json:"id"`
	At      time.Time `json:"at"`
	By      string    `json:"by" doc:"the account"`
	Records int       `json:"records"`
	Why     string    `json:"why"`
}

// mostActs is how many acts are listed, and actsBack how far back they are looked for, in rows of the trail.
const (
	mostActs = 20
	actsBack = 20_000
)

func (a *API) acts(ctx context.Context, _ *none) (*list[ActRow], error) {
	out := []ActRow{}
	err := a.eachAct(ctx, func(row thwart.Audit, made [][2]string) (bool, error) {
		act := ActRow{ID: row.About, At: row.At, By: row.Who, Records: len(made)}
		history, err := a.cfg.Store.History(ctx, made[0][0])
		for _, k := range history {
			if k.ID != made[0][1] {
				continue
			}
			act.Why = k.Why
			if r := (thwart.Reopening{}); k.Kind == thwart.KindReopening && len(k.Body) > 0 && err == nil {
				err = json.Unmarshal(k.Body, &r)
				act.Why = r.Why
			}
		}
		out = append(out, act)
		return len(out) < mostActs, err
	})
	return listOf(out), err
}

// eachAct reads acts off the trail, latest first, until it is told to stop.
func (a *API) eachAct(ctx context.Context, do func(row thwart.Audit, made [][2]string) (more bool, err error)) error {
	after := ""
	for seen := 0; seen < actsBack; {
		page, err := a.cfg.Accounts.ListAudit(ctx, after, MaxPage)
		if err != nil {
			return err
		}
		for _, row := range page.Items {
			if row.What != correctMany {
				continue
			}
			var made [][2]string
			for _, m := range strings.Fields(row.Detail) {
				subject, entry, _ := strings.Cut(m, "/")
				made = append(made, [2]string{subject, entry})
			}
			if more, err := do(row, made); err != nil || !more {
				return err
			}
		}
		if after = page.Next; after == "" {
			return nil
		}
		seen += len(page.Items)
	}
	return nil
}

type undoIn struct {
	ID   string `path:"id" maxLength:"40"`
	Body struct {
		Why string `json:"why" minLength:"1" maxLength:"500" doc:"the reason, for whoever reads the history"`
	}
}

// Undone is what became of the records of an act that was undone.
type Undone struct {
	ID     string   `json:"id,omitempty" doc:"of the act that undid it; empty where nothing was left to undo"`
	Undone []string `json:"undone" doc:"records that read again as they did before, or are doubted again"`
	Left   []string `json:"left" doc:"records that somebody has changed since, or whose look was taken back already"`
}

func (a *API) undoAct(ctx context.Context, in *undoIn) (*struct{ Body Undone }, error) {
	var made [][2]string
	err := a.eachAct(ctx, func(row thwart.Audit, m [][2]string) (bool, error) {
		if row.About == in.ID {
			made = m
		}
		return made == nil, nil
	})
	if err != nil {
		return nil, err
	}
	if made == nil {
		return nil, problem(http.StatusNotFound, "there is no such act")
	}
	ids := make([]string, len(made))
	for i, m := range made {
		ids[i] = m[0]
	}
	defer a.lockHeads(ids)()
	out := Undone{Undone: []string{}, Left: []string{}}
	var batch []thwart.Kept
	now := a.cfg.Now().UTC()
	for _, m := range made {
		k, of, err := a.undoing(ctx, now, m[0], m[1], in.Body.Why)
		if err != nil {
			return nil, err
		}
		if k == nil {
			out.Left = append(out.Left, of)
			continue
		}
		out.Undone, batch = append(out.Undone, of), append(batch, *k)
	}
	if len(batch) > 0 {
		out.ID, err = a.keepAct(ctx, now, batch)
	}
	return &struct{ Body Undone }{out}, err
}

// undoing makes the entry that undoes one entry of an act, and names the record that it is about: a change is undone by the body
// before it, a look that kept the record as it was by a reopening, a reopening by taking it out. It makes none where somebody has
// changed the record since, or the look was taken back already.
func (a *API) undoing(ctx context.Context, now time.Time, subject, entry, why string) (k *thwart.Kept, of string, err error) {
	s, err := a.cfg.Store.Subject(ctx, subject)
	if err != nil {
		return nil, subject, err
	}
	history, err := a.cfg.Store.History(ctx, subject)
	if err != nil {
		return nil, subject, err
	}
	was := before(&s, history)
	if of, err = recordOf(&s, was); err != nil || s.ID != entry {
		return nil, of, err
	}
	switch {
	case looksOnly(&s, was):
		k, err = a.reopening(ctx, now, &s, why)
	case was != nil:
		u := a.newEntry(now, s.Kind, was.Body)
		u.Entry.Subject, u.Supersedes, u.Removed, u.Why = subject, s.ID, was.Removed, why
		k = &u
	case s.Kind == thwart.KindReopening:
		u := a.newEntry(now, s.Kind, nil)
		u.Entry.Subject, u.Supersedes, u.Removed, u.Why = subject, s.ID, true, why
		k = &u
	}
	if k != nil {
		k.Person = who(ctx).person
	}
	return k, of, err
}

// recordOf gives what the head of a subject is about: the subject itself, or for a reopening the record that is reopened.
func recordOf(s *thwart.Subject, was *thwart.Kept) (string, error) {
	body := s.Body
	if s.Removed && was != nil {
		body = was.Body
	}
	if s.Kind != thwart.KindReopening {
		return s.Kept.Subject, nil
	}
	var r thwart.Reopening
	err := json.Unmarshal(body, &r)
	return r.Record, err
}

// before gives the entry that a record's head supersedes; nil where there is none.
func before(s *thwart.Subject, history []thwart.Kept) *thwart.Kept {
	if i := slices.IndexFunc(history, func(k thwart.Kept) bool { return k.ID == s.Supersedes }); i >= 0 {
		return &history[i]
	}
	return nil
}

// looksOnly reports whether a head is a look of the office that left the record as it was before.
func looksOnly(s *thwart.Subject, before *thwart.Kept) bool {
	return before != nil && s.Origin == thwart.OriginOffice && bytes.Equal(before.Body, s.Body) && before.Removed == s.Removed
}

// takenBack reports whether somebody has taken back the look that is a record's head.
func (a *API) takenBack(ctx context.Context, s *thwart.Subject) (bool, error) {
	for after := ""; ; {
		page, err := a.cfg.Store.Subjects(ctx, thwart.SubjectQuery{Kind: thwart.KindReopening, Parent: s.Kept.Subject, After: after, Limit: MaxPage})
		if err != nil {
			return false, err
		}
		for i := range page.Items {
			var r thwart.Reopening
			if err := json.Unmarshal(page.Items[i].Body, &r); err != nil || r.Entry == s.ID {
				return err == nil, err
			}
		}
		if after = page.Next; after == "" {
			return false, nil
		}
	}
}

// reopening makes the entry that takes back the look that is a record's head; nil where it was taken back already.
func (a *API) reopening(ctx context.Context, now time.Time, s *thwart.Subject, why string) (*thwart.Kept, error) {
	if taken, err := a.takenBack(ctx, s); err != nil || taken {
		return nil, err
	}
	body, err := json.Marshal(thwart.Reopening{Record: s.Kept.Subject, Entry: s.ID, Why: why})
	if err != nil {
		return nil, err
	}
	k := a.newEntry(now, thwart.KindReopening, body)
	return &k, checkOwn(k)
}

type reopenIn struct {
	ID      string `path:"id" maxLength:"40"`
	IfMatch string `header:"If-Match" doc:"the ETag of the record, or the id of its head entry in quotes"`
	Body    struct {
		Why string `json:"why" minLength:"1" maxLength:"500" doc:"the reason, for whoever reads the history"`
	}
}

// reopen takes back a look at one record.
func (a *API) reopen(ctx context.Context, in *reopenIn) (*entryOut, error) {
	defer a.lockHeads([]string{in.ID})()
	s, err := a.matched(ctx, in.ID, in.IfMatch)
	if err != nil {
		return nil, err
	}
	history, err := a.cfg.Store.History(ctx, in.ID)
	if err != nil {
		return nil, err
	}
	if !looksOnly(&s, before(&s, history)) {
		return nil, problem(http.StatusConflict, "the record as it stands was not kept as it was by somebody in the office; correct it instead")
	}
	now := a.cfg.Now().UTC()
	k, err := a.reopening(ctx, now, &s, in.Body.Why)
	switch {
	case err != nil:
		return nil, err
	case k == nil:
		return nil, problem(http.StatusConflict, "this look was taken back already")
	}
	k.Person = who(ctx).person
	if err := a.put(ctx, *k); err != nil {
		return nil, err
	}
	if err := a.audit(ctx, who(ctx).account, "reopen", in.ID, k.ID); err != nil {
		return nil, err
	}
	return a.standing(ctx, k.Entry.Subject)
}
