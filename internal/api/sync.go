package api

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"reflect"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/danielgtaylor/huma/v2"

	"thwart"
	"thwart/merge"
)

const syncPath = "/api/sync"

// MaxDepth is how deep the JSON of an entry may be nested. Records of the trade are some six levels deep.
const MaxDepth = 64

// SyncBatch is what a phone sends. Any retry, reorder, repetition or part of it ends in the same state.
type SyncBatch struct {
	DeviceNow   time.Time      `json:"deviceNow" doc:"the phone's clock when it sent the request; the same as the signed header"`
	RoundTripMS int64          `json:"roundTripMs,omitempty" doc:"milliseconds from request to answer as the phone last measured them; 0 = not known"`
	App         string         `json:"app,omitempty" doc:"version of the phone's program"`
	Entries     []thwart.Entry `json:"entries" maxItems:"500"`
}

// rawBatch is a [SyncBatch] whose entries are judged one by one.
type rawBatch struct {
	DeviceNow   *time.Time        `json:"deviceNow"`
	RoundTripMS int64             `json:"roundTripMs"`
	App         string            `json:"app"`
	Entries     []json.RawMessage `json:"entries"`
}

// Flag points at something to look at in an entry that was taken.
type Flag struct {
	Code     string         `json:"code" doc:"verdict_differs, verdict_unresolved, clock, late"`
	Text     string         `json:"text"`
	Sent     thwart.Outcome `json:"sent,omitempty"`
	Computed thwart.Outcome `json:"computed,omitempty"`
}

// EntryAnswer is the receipt for one entry.
type EntryAnswer struct {
	thwart.PutAnswer
	Flags []Flag `json:"flags,omitempty"`
}

// SyncAnswer answers for every entry, in the order sent.
type SyncAnswer struct {
	ServerNow      time.Time     `json:"serverNow"`
	SkewMS         int64         `json:"skewMs" doc:"by how much the phone's clock runs ahead"`
	ClockPlausible bool          `json:"clockPlausible" doc:"false: the phone's clock should be looked at"`
	LeaseUntil     time.Time     `json:"leaseUntil"`
	Answers        []EntryAnswer `json:"answers"`
}

// recordKinds are the kinds that each role's phone may send. Reference records are the manager's; a trial never passes
// through the phone of a person who might be tried.
func recordKinds(r thwart.AccessRole) []thwart.Kind {
	switch r {
	case thwart.AccessSteward, thwart.AccessTechnician:
		return []thwart.Kind{thwart.KindShift, thwart.KindInspection, thwart.KindWash, thwart.KindTally, thwart.KindPhoto,
			thwart.KindReceipt, thwart.KindSecondLook, thwart.KindDrill, thwart.KindIncident, thwart.KindAvailability}
	case thwart.AccessManager:
		return thwart.Kinds
	}
	return nil
}

// lateAfter is when a record counts as late at arrival: a proposal of the programme's data rules, kept with a flag.
const lateAfter = 60 * 24 * time.Hour

// clockOff is how far a phone's clock may be off before entries carry a flag.
const clockOff = 2 * time.Minute

func (a *API) routeSync() {
	tag := []string{"Phones"}
	op := huma.Operation{OperationID: "sync", Method: http.MethodPost, Path: syncPath, Tags: tag,
		Summary: "Hand in entries",
		Description: "Answers for every entry: stored, had (it was kept before) or refused with the fields at fault. Stored and had mean that the " +
			"entry is on the medium. A refused entry is kept whole among the refusals until a person settles it. Send a batch again whenever " +
			"no answer came: nothing is doubled.",
		MaxBodyBytes: MaxBatchBytes, BodyReadTimeout: -1, SkipValidateBody: true, RequestBody: &huma.RequestBody{Required: true},
		Errors: []int{http.StatusBadRequest, http.StatusRequestEntityTooLarge, http.StatusServiceUnavailable}}
	route(a, op, need{device: true, revoked: true, may: []thwart.Capability{thwart.CanRecord}}, a.sync)
	// The library takes a body that it does not read for bytes; entries are read one by one so that a bad one stops no other.
	op.RequestBody.Content["application/json"].Schema = a.huma.OpenAPI().Components.Schemas.Schema(reflect.TypeFor[SyncBatch](), true, "SyncBatch")
	route(a, huma.Operation{OperationID: "list-changes", Method: http.MethodGet, Path: "/api/changes", Tags: tag,
		Summary: "What has arrived since a cursor",
		Description: "Phones pull reference records (the programme, waters, launches, wash units, people, protocols, curricula, planned shifts, keys) with it; roles that read may ask for every " +
			"kind. Nothing secret is given to a role that may not see it; the cursor moves on past it.",
	}, signedIn(thwart.CanRecord, thwart.CanRead), a.changes)
}

type syncIn struct {
	RawBody []byte `contentType:"application/json"`
}

type syncOut struct{ Body SyncAnswer }

func (a *API) sync(ctx context.Context, in *syncIn) (*syncOut, error) {
	p := who(ctx)
	now := a.cfg.Now().UTC()
	batch, err := readBatch(in.RawBody)
	if err != nil {
		return nil, err
	}
	signed := p.at
	if batch.DeviceNow != nil && !batch.DeviceNow.Equal(signed) {
		return nil, field("body.deviceNow", batch.DeviceNow.Format(time.RFC3339Nano), "the time that was signed, "+signed.Format(time.RFC3339Nano))
	}
	if p.revoked {
		return nil, a.quarantine(ctx, p, batch, now)
	}
	skew, plausible := merge.Skew(signed, now, time.Duration(batch.RoundTripMS)*time.Millisecond)
	answers, err := a.take(ctx, p, batch, now, skew, plausible)
	if err != nil {
		return nil, err
	}
	lease := now.Add(Lease)
	if err := a.cfg.Accounts.SeeDevice(ctx, p.device.ID, now, lease); err != nil {
		return nil, err
	}
	for _, ans := range answers {
		a.metrics.entries.WithLabelValues(string(ans.Result)).Inc()
	}
	return &syncOut{SyncAnswer{ServerNow: now, SkewMS: skew, ClockPlausible: plausible, LeaseUntil: lease, Answers: answers}}, nil
}

func readBatch(b []byte) (*rawBatch, error) {
	var batch rawBatch
	if err := json.Unmarshal(b, &batch); err != nil {
		return nil, problem(http.StatusBadRequest, "the body is not a batch: "+short(err.Error())+"; accepted: {deviceNow, app, entries: […]}")
	}
	if len(batch.Entries) > MaxBatchEntries {
		p := field("body.entries", len(batch.Entries), fmt.Sprintf("at most %d entries; send the others in the next batch", MaxBatchEntries))
		p.Status, p.Title = http.StatusRequestEntityTooLarge, http.StatusText(http.StatusRequestEntityTooLarge)
		return nil, p
	}
	if batch.RoundTripMS < 0 {
		return nil, field("body.roundTripMs", batch.RoundTripMS, "milliseconds, 0 when not known")
	}
	return &batch, nil
}

// take judges every entry, keeps the good ones in one transaction and the others among the refusals.
func (a *API) take(ctx context.Context, p *principal, batch *rawBatch, now time.Time, skew int64, plausible bool) ([]EntryAnswer, error) {
	answers := make([]EntryAnswer, len(batch.Entries))
	var good []thwart.Kept
	var at []int
	var bodies []thwart.Body
	first := map[string]string{} // subjects begun in this batch, by the person who made them
	for i, raw := range batch.Entries {
		e, body, errs := readEntry(raw)
		if len(errs) == 0 {
			var err error
			if errs, err = a.mayTake(ctx, p, e, body, first); err != nil {
				return nil, err
			}
		}
		if len(errs) > 0 {
			answers[i].PutAnswer = thwart.PutAnswer{ID: e.ID, Result: thwart.Refused, Errors: errs}
			if err := a.refuse(ctx, p, raw, errs, now); err != nil {
				return nil, err
			}
			continue
		}
		if e.Supersedes == "" {
			first[e.Subject] = e.Person
		}
		good, at, bodies = append(good, thwart.Kept{Entry: *e, ReceivedAt: now, SkewMS: skew}), append(at, i), append(bodies, body)
	}
	if len(good) == 0 {
		return answers, nil
	}
	put, err := a.cfg.Store.Put(ctx, good)
	if err != nil {
		return nil, err
	}
	if len(put) != len(good) {
		return nil, fmt.Errorf("%w: %d answers for %d entries", thwart.ErrStorage, len(put), len(good))
	}
	kept, paper := false, false
	res := resolver{ctx: ctx, store: a.cfg.Store}
	for k, ans := range put {
		i := at[k]
		answers[i].PutAnswer = ans
		paper = paper || ans.Result != thwart.Refused && namesPaper(bodies[k])
		switch ans.Result {
		case thwart.Stored:
			kept = true
			if answers[i].Flags, err = a.flags(ctx, p, &res, &good[k], bodies[k], plausible); err != nil {
				return nil, err
			}
		case thwart.Refused:
			if err := a.refuse(ctx, p, batch.Entries[i], ans.Errors, now); err != nil {
				return nil, err
			}
		}
	}
	if kept {
		a.hub.notify()
	}
	if paper {
		if err := a.joinPaper(ctx); err != nil {
			return nil, err
		}
	}
	return answers, nil
}

// readEntry decodes and validates one entry, without trusting any byte of it.
func readEntry(raw json.RawMessage) (*thwart.Entry, thwart.Body, thwart.FieldErrors) {
	e := &thwart.Entry{}
	if errs := checkJSON(raw); len(errs) > 0 {
		return e, nil, errs
	}
	if err := json.Unmarshal(raw, e); err != nil {
		var kind *json.UnmarshalTypeError
		if errors.As(err, &kind) && kind.Field != "" {
			return e, nil, thwart.FieldErrors{{Field: kind.Field, Value: kind.Value, Accepted: "a value of the kind that the schema gives"}}
		}
		return e, nil, thwart.FieldErrors{{Field: "entry", Value: short(err.Error()), Accepted: "one JSON object of an entry"}}
	}
	var errs thwart.FieldErrors
	if err := e.Validate(); err != nil && !errors.As(err, &errs) {
		errs = thwart.FieldErrors{{Field: "entry", Value: short(err.Error()), Accepted: "an entry as the schema says"}}
	}
	if len(e.App) > 64 {
		errs = append(errs, thwart.FieldError{Field: "app", Value: short(e.App), Accepted: "at most 64 characters"})
	}
	if y := e.MadeAt.Year(); y < 1970 || y > 9999 {
		errs = append(errs, thwart.FieldError{Field: "madeAt", Value: e.MadeAt.Format(time.RFC3339), Accepted: "a time from 1970 on"})
	}
	if len(errs) > 0 {
		return e, nil, errs
	}
	body, err := e.Decode()
	if err != nil {
		var inBody thwart.FieldErrors
		if !errors.As(err, &inBody) {
			inBody = thwart.FieldErrors{{Value: short(err.Error()), Accepted: "the JSON of a " + string(e.Kind)}}
		}
		for _, f := range inBody {
			if f.Field != "kind" {
				f.Field = strings.TrimSuffix("body."+f.Field, ".")
			}
			errs = append(errs, f)
		}
	}
	return e, body, errs
}

// checkJSON refuses what is JSON by the letter and trouble later: nesting without end, bytes that are not text, and the NUL
// that no database keeps.
func checkJSON(raw []byte) thwart.FieldErrors {
	if !utf8.Valid(raw) {
		return thwart.FieldErrors{{Field: "entry", Value: "bytes that are no text", Accepted: "UTF-8"}}
	}
	depth, inText := 0, false
	for i := 0; i < len(raw); i++ {
		switch c := raw[i]; {
		case inText && c == '\\':
			if bytes.HasPrefix(raw[i:], []byte(`\u0000`)) {
				return thwart.FieldErrors{{Field: "entry", Value: `\u0000`, Accepted: "text without NUL"}}
			}
			i++
		case c == '"':
			inText = !inText
		case inText:
		case c == '{' || c == '[':
			if depth++; depth > MaxDepth {
				return thwart.FieldErrors{{Field: "entry", Value: fmt.Sprintf("nested more than %d deep", MaxDepth), Accepted: fmt.Sprintf("at most %d levels", MaxDepth)}}
			}
		case c == '}' || c == ']':
			depth--
		}
	}
	return nil
}

// mayTake checks that this phone may say this: its own person's word, of a kind for its role, about things it may change.
func (a *API) mayTake(ctx context.Context, p *principal, e *thwart.Entry, body thwart.Body, first map[string]string) (thwart.FieldErrors, error) {
	var errs thwart.FieldErrors
	no := func(name string, value any, accepted string) {
		errs = append(errs, thwart.FieldError{Field: name, Value: short(fmt.Sprint(value)), Accepted: accepted})
	}
	if e.Device != p.device.ID {
		no("device", e.Device, "the phone that sends it, "+p.device.ID)
	}
	if e.Person != p.person {
		no("person", e.Person, "the person the phone was enrolled for, "+p.person)
	}
	if e.Origin != thwart.OriginPhone && e.Origin != thwart.OriginPaper {
		no("origin", e.Origin, "phone, or paper for what was keyed in from a sheet")
	}
	kinds := recordKinds(p.role)
	if !slices.Contains(kinds, e.Kind) {
		words := make([]string, len(kinds))
		for i, k := range kinds {
			words[i] = string(k)
		}
		no("kind", e.Kind, strings.Join(words, ", ")+" from a phone of the role "+string(p.role))
	}
	if enc, ok := body.(*thwart.Encounter); ok && enc.Test && !p.may(thwart.CanSeeTrial) {
		no("body.test", true, "left out: whether an object was planted is not for this role to say")
	}
	if e.Supersedes == "" || p.may(thwart.CanCorrect) && len(errs) > 0 {
		return errs, nil
	}
	old, err := a.cfg.Store.Subject(ctx, e.Subject)
	switch {
	case errors.Is(err, thwart.ErrNotFound):
		// The correction came before what it corrects: then nobody but the phone that made both knows the subject's id.
	case err != nil:
		return nil, err
	case old.Kind != e.Kind:
		no("kind", e.Kind, string(old.Kind)+", as the subject is")
	}
	if p.may(thwart.CanCorrect) {
		return errs, nil
	}
	if e.Removed {
		no("removed", true, "left out: ask the manager to take a record out")
	}
	owner, here := first[e.Subject]
	if err == nil {
		owner, here = "", true
		history, err := a.cfg.Store.History(ctx, e.Subject)
		if err != nil {
			return nil, err
		}
		// Corrections may have come before the first entry; then whoever made those is taken for the maker of it.
		for _, h := range history {
			if owner == "" || h.Supersedes == "" {
				owner = h.Person
			}
		}
	}
	if here && owner != p.person {
		no("subject", e.Subject, "a record of the person's own; the manager corrects others")
	}
	return errs, nil
}

// refuse keeps an entry that was not taken, whole. Text with bytes that are no UTF-8 is kept as a JSON string, those bytes marked.
func (a *API) refuse(ctx context.Context, p *principal, raw json.RawMessage, errs thwart.FieldErrors, now time.Time) error {
	text := raw
	if !utf8.Valid(raw) {
		b, err := json.Marshal(strings.ToValidUTF8(string(raw), "\uFFFD"))
		if err != nil {
			return err
		}
		text = b
	}
	return a.cfg.Store.Refuse(ctx, thwart.Refusal{ID: NewID(now), Raw: text, Errors: errs, Device: p.device.ID, Person: p.person, ReceivedAt: now})
}

// quarantine keeps what a phone out of service sends, so that a shift's work is not lost with the phone's rights.
func (a *API) quarantine(ctx context.Context, p *principal, batch *rawBatch, now time.Time) error {
	errs := thwart.FieldErrors{{Field: "device", Value: p.device.ID, Accepted: "a phone in service; the manager decides what becomes of this entry"}}
	for _, raw := range batch.Entries {
		if err := a.refuse(ctx, p, raw, errs, now); err != nil {
			return err
		}
		a.metrics.entries.WithLabelValues("quarantined").Inc()
	}
	if err := a.audit(ctx, p.device.ID, "quarantine", p.device.ID, fmt.Sprintf("%d entries", len(batch.Entries))); err != nil {
		return err
	}
	return outOfService(fmt.Sprintf("this phone was taken out of service; its %d entries are kept for the manager to review", len(batch.Entries)))
}

// flags gathers what should be looked at in an entry that was just kept.
func (a *API) flags(ctx context.Context, p *principal, res *resolver, k *thwart.Kept, body thwart.Body, plausible bool) ([]Flag, error) {
	var out []Flag
	if off := time.Duration(k.SkewMS) * time.Millisecond; !plausible || off > clockOff || off < -clockOff {
		out = append(out, Flag{Code: "clock", Text: "the phone's clock differs from the server's; both times are kept"})
	}
	if k.ReceivedAt.Sub(k.At()) > lateAfter {
		out = append(out, Flag{Code: "late", Text: "the entry is more than 60 days old"})
	}
	enc, ok := body.(*thwart.Encounter)
	if !ok || k.Removed || enc.Verdict == nil {
		return out, nil
	}
	c, err := res.check(enc)
	if err != nil {
		return nil, err
	}
	a.metrics.verdicts.WithLabelValues(c.result()).Inc()
	switch {
	case !c.Resolved:
		out = append(out, Flag{Code: "verdict_unresolved", Text: c.Note, Sent: c.Sent})
	case !c.Agrees:
		out = append(out, Flag{Code: "verdict_differs", Text: c.Note, Sent: c.Sent, Computed: c.Computed})
		detail := fmt.Sprintf("sent %s, computed %s", c.Sent, c.Computed)
		if err := a.audit(ctx, p.device.ID, "verdict_differs", k.Subject, detail); err != nil {
			return nil, err
		}
	}
	return out, nil
}

type changesIn struct {
	After int64    `query:"after" minimum:"0" doc:"next of the answer before; 0 from the start"`
	Kinds []string `query:"kinds" doc:"separated by commas; left out: all that the caller may see"`
	Limit int      `query:"limit" minimum:"1" maximum:"1000" default:"200"`
}

// Changes is a stretch of the programme's history in order of arrival.
type Changes struct {
	Entries []thwart.Kept `json:"entries"`
	Next    int64         `json:"next" doc:"to be given as after; the same as given when there is nothing new"`
}

// visibleKinds are the kinds that a role may read.
func visibleKinds(r thwart.AccessRole) []thwart.Kind {
	return slices.DeleteFunc(slices.Clone(thwart.Kinds), func(k thwart.Kind) bool {
		return !k.Reference() && !r.May(thwart.CanRead) || k == thwart.KindTrial && !r.May(thwart.CanSeeTrial)
	})
}

func (a *API) changes(ctx context.Context, in *changesIn) (*struct{ Body Changes }, error) {
	p := who(ctx)
	kinds := visibleKinds(p.role)
	if len(in.Kinds) > 0 {
		var asked []thwart.Kind
		for i, k := range in.Kinds {
			if pr := oneOf(fmt.Sprintf("query.kinds[%d]", i), thwart.Kind(k), kinds); pr != nil {
				return nil, pr
			}
			asked = append(asked, thwart.Kind(k))
		}
		kinds = asked
	}
	entries, next, err := a.cfg.Store.Changes(ctx, kinds, in.After, in.Limit)
	if err != nil {
		return nil, err
	}
	out := Changes{Entries: make([]thwart.Kept, 0, len(entries)), Next: max(next, in.After)}
	for i := range entries {
		out.Entries = append(out.Entries, shown(p, entries[i]))
	}
	return &struct{ Body Changes }{out}, nil
}

// shown takes out of an entry what its reader may not see. A body that holds nothing secret is passed on byte by byte.
func shown(p *principal, k thwart.Kept) thwart.Kept {
	if k.Kind != thwart.KindInspection || p.may(thwart.CanSeeTrial) {
		return k
	}
	hide := []string{"test"}
	if !p.may(thwart.CanRead) {
		hide = append(hide, "mark")
	}
	k.Body = without(k.Body, hide)
	return k
}

// without drops fields of an object, whatever the case of their letters: the decoder does not mind it either.
func without(body json.RawMessage, names []string) json.RawMessage {
	var fields map[string]json.RawMessage
	if json.Unmarshal(body, &fields) != nil {
		return body
	}
	found := false
	for key := range fields {
		if slices.ContainsFunc(names, func(n string) bool { return strings.EqualFold(n, key) }) {
			delete(fields, key)
			found = true
		}
	}
	if !found {
		return body
	}
	b, err := json.Marshal(fields)
	if err != nil {
		return nil
	}
	return b
}
