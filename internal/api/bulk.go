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
		Summary:     "Undo an act: every record reads again as it did before",
		Description: "Records that somebody has changed since, or that the act left as they were, are left alone and listed. Nothing is overwritten: the undoing is an act of its own.",
		Errors:      []int{http.StatusNotFound},
	}, inOffice(thwart.CanCorrect), a.undoAct)
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
	return act, a.audit(ctx, who(ctx).account, correctMany, act, strings.Join(made, " "))
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
			if k.ID == made[0][1] {
				act.Why = k.Why
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
	Undone []string `json:"undone" doc:"records that read again as they did before"`
	Left   []string `json:"left" doc:"records that somebody has changed since, or that the act left as they were"`
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
		k, ok, err := a.undoing(ctx, now, m[0], m[1])
		if err != nil {
			return nil, err
		}
		if !ok {
			out.Left = append(out.Left, m[0])
			continue
		}
		k.Why = in.Body.Why
		out.Undone, batch = append(out.Undone, m[0]), append(batch, k)
	}
	if len(batch) > 0 {
		out.ID, err = a.keepAct(ctx, now, batch)
	}
	return &struct{ Body Undone }{out}, err
}

// undoing makes the entry that lets a record read as it did before one of its entries; false where somebody has changed it
// since, or where that entry changed nothing.
func (a *API) undoing(ctx context.Context, now time.Time, subject, entry string) (thwart.Kept, bool, error) {
	s, err := a.cfg.Store.Subject(ctx, subject)
	if err != nil || s.ID != entry {
		return thwart.Kept{}, false, err
	}
	history, err := a.cfg.Store.History(ctx, subject)
	if err != nil {
		return thwart.Kept{}, false, err
	}
	i := slices.IndexFunc(history, func(k thwart.Kept) bool { return k.ID == s.Supersedes })
	if i < 0 || bytes.Equal(history[i].Body, s.Body) && history[i].Removed == s.Removed {
		return thwart.Kept{}, false, nil
	}
	k := a.newEntry(now, s.Kind, history[i].Body)
	k.Entry.Subject, k.Supersedes, k.Removed, k.Person = subject, s.ID, history[i].Removed, who(ctx).person
	return k, true, nil
}
