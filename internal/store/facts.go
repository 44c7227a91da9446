package store

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"thwart"
	"thwart/merge"
)

const entryColumns = "cursor, id, kind, subject, supersedes, removed, why, made_at, made_ns, made_off, origin, person, device, seq, app, " +
	"body, received_at, skew_ms, sum, seal, kept_sum"

// row is an entry as it lies in its table.
type row struct {
	thwart.Kept
	sum     string // of what was sent
	keptSum string // of what a purge left; empty where nothing was purged
	seal    int64
}

func (r *row) args() []any {
	_, off := r.MadeAt.Zone()
	return []any{
		r.Cursor, r.ID, string(r.Kind), r.Subject, r.Supersedes, bit(r.Removed), r.Why, ms(r.MadeAt),
		int64(r.MadeAt.Nanosecond() % 1e6), int64(off), string(r.Origin), r.Person, r.Device, r.Seq, r.App, string(r.Body),
		ms(r.ReceivedAt), r.SkewMS, r.sum, r.seal, r.keptSum,
	}
}

// scan reads the columns of entryColumns, and more after them.
func (r *row) scan(rows interface{ Scan(...any) error }, more ...any) error {
	var removed, madeAt, madeNS, madeOff, received int64
	var body string
	dest := append([]any{
		&r.Cursor, &r.ID, (*string)(&r.Kind), &r.Subject, &r.Supersedes, &removed, &r.Why, &madeAt, &madeNS, &madeOff,
		(*string)(&r.Origin), &r.Person, &r.Device, &r.Seq, &r.App, &body, &received, &r.SkewMS, &r.sum, &r.seal, &r.keptSum,
	}, more...)
	if err := rows.Scan(dest...); err != nil {
		return err
	}
	r.Removed = removed != 0
	r.MadeAt = time.UnixMilli(madeAt).Add(time.Duration(madeNS)).UTC()
	if madeOff != 0 {
		r.MadeAt = r.MadeAt.In(time.FixedZone("", int(madeOff)))
	}
	r.ReceivedAt = fromMS(received)
	r.Body = nil
	if body != "" {
		r.Body = json.RawMessage(body)
	}
	return nil
}

// sealed computes the seal: everything of the row that the sum leaves out, and the sums.
func (r *row) sealed() int64 {
	_, off := r.MadeAt.Zone()
	b := make([]byte, 0, 256)
	for _, n := range []int64{r.Cursor, ms(r.ReceivedAt), r.SkewMS, int64(off)} {
		b = append(strconv.AppendInt(b, n, 10), '\n')
	}
	b = append(append(append(b, r.sum...), '\n'), r.keptSum...)
	b = append(append(b, '\n'), r.App...)
	return first8(b)
}

func first8(b []byte) int64 {
	h := sha256.Sum256(b)
	return int64(binary.BigEndian.Uint64(h[:8])) // all 64 bits are wanted, the sign means nothing
}

// foldOf is what an entry adds to the ledger's fold.
func foldOf(sum string) int64 {
	n, _ := strconv.ParseUint(sum[:min(16, len(sum))], 16, 64) // sums are our own hexadecimal; a damaged one shows elsewhere
	return int64(n)                                            // bits, no number
}

// checkText refuses what one of the databases could not hold: PostgreSQL takes only UTF-8 without NUL.
func checkText(e *thwart.Entry) thwart.FieldErrors {
	var errs thwart.FieldErrors
	for _, f := range []struct{ name, text string }{
		{"why", e.Why}, {"person", e.Person}, {"device", e.Device}, {"app", e.App}, {"body", string(e.Body)},
	} {
		if !utf8.ValidString(f.text) || strings.IndexByte(f.text, 0) >= 0 {
			errs = append(errs, thwart.FieldError{
				Field: f.name, Value: strings.ToValidUTF8(strings.ReplaceAll(f.text[:min(60, len(f.text))], "\x00", "�"), "�"),
				Accepted: "text in UTF-8 without NUL",
			})
		}
	}
	return errs
}

// facts are the few things of a body that lists need.
type facts struct {
	parent string
	enc    *encounter
	shift  *shift
	tally  *tally
	pair   *pair
}

type pair struct {
	a, b string
	same bool
}

type encounter struct {
	at, ended                       time.Time
	shift, launch, steward, class   string
	lastWater, nextWater            string
	computed, given                 thwart.Outcome
	refused, test, launchOwn        bool
	findings                        int64
	seconds                         float64
	mark                            string
	conflict                        bool
	resolvedLaunch, resolvedSteward string
}

type shift struct {
	launch string
	from   time.Time
	to     *time.Time
	people int64
}

type tally struct {
	shift                       string
	at                          time.Time
	passedBy, refused, turnedTo int64
}

// encounterBody is the part of thwart.Encounter that lists need. Reading only this is several times faster than reading
// verdicts and checks, and takes bodies of newer programs whose other fields have changed.
type encounterBody struct {
	Shift      string `json:"shift"`
	Inspection struct {
		Launch     string     `json:"launch"`
		Steward    string     `json:"steward"`
		StartedAt  time.Time  `json:"startedAt"`
		EndedAt    *time.Time `json:"endedAt"`
		Setup      struct{ Class string }
		LastWaters []struct{ Water string }
		NextWater  string     `json:"nextWater"`
		Findings   []struct{} `json:"findings"`
		Refused    bool       `json:"refused"`
	} `json:"inspection"`
	Verdict  *struct{ Outcome thwart.Outcome } `json:"verdict"`
	Override *struct{ Outcome thwart.Outcome } `json:"override"`
	Mark     *struct{ Hash string }            `json:"mark"`
	Test     bool                              `json:"test"`
}

// factsOf reads a body. An entry that removes its subject may have none.
func factsOf(e *thwart.Entry) (f facts, err error) {
	if len(e.Body) == 0 {
		return f, nil
	}
	into := func(v any) error {
		if err := json.Unmarshal(e.Body, v); err != nil {
			return thwart.FieldErrors{{Field: "body", Value: err.Error(), Accepted: "the JSON of a " + string(e.Kind)}}
		}
		return nil
	}
	switch e.Kind {
	case thwart.KindInspection:
		var b encounterBody
		if err = into(&b); err != nil {
			return f, err
		}
		f.parent, f.enc = b.Shift, newEncounter(&b)
	case thwart.KindShift:
		var b thwart.Shift
		if err = into(&b); err != nil {
			return f, err
		}
		f.parent = b.Launch
		f.shift = &shift{launch: b.Launch, from: b.From, to: b.To, people: int64(len(b.People))}
	case thwart.KindTally:
		var b thwart.Tally
		if err = into(&b); err != nil {
			return f, err
		}
		f.parent = b.Shift
		f.tally = &tally{b.Shift, b.At, int64(b.PassedBy), int64(b.Refused), int64(b.TurnedAway)}
	case thwart.KindPairing:
		var b struct{ A, B, Decision string }
		if err = into(&b); err != nil {
			return f, err
		}
		f.parent = b.A
		f.pair = &pair{b.A, b.B, b.Decision == thwart.PairSame}
	default:
		if f.parent, err = parentOf(e.Kind, into); err != nil {
			return f, err
		}
	}
	return f, f.check()
}

// parentOf reads what a thing belongs to, see [thwart.SubjectQuery.Parent].
func parentOf(kind thwart.Kind, into func(any) error) (string, error) {
	var b struct{ Water, Launch, Encounter, Steward, Person, Record string }
	var parent *string
	switch kind {
	case thwart.KindLaunch:
		parent = &b.Water
	case thwart.KindUnit, thwart.KindPlannedShift:
		parent = &b.Launch
	case thwart.KindWash, thwart.KindPhoto, thwart.KindReceipt, thwart.KindSecondLook, thwart.KindIncident:
		parent = &b.Encounter
	case thwart.KindTrial:
		parent = &b.Steward
	case thwart.KindDrill, thwart.KindCertificate, thwart.KindAvailability:
		parent = &b.Person
	case thwart.KindReopening:
		parent = &b.Record
	default: // belongs to nothing; a body that is no object is refused all the same
		return "", into(&struct{}{})
	}
	if err := into(&b); err != nil {
		return "", err
	}
	if kind == thwart.KindIncident && *parent == "" {
		parent = &b.Water
	}
	return *parent, nil
}

// maxWord is the longest word that lists are ordered or filtered by; PostgreSQL's indexes take no more than 2,704 bytes, and
// an id has 36.
const maxWord = 200

// check refuses words that one of the databases could not keep in an index.
func (f *facts) check() error {
	words := []string{f.parent}
	if f.pair != nil {
		words = append(words, f.pair.b)
	}
	if x := f.enc; x != nil {
		words = append(words, x.shift, x.launch, x.steward, x.class, x.lastWater, x.nextWater, x.mark, string(x.computed), string(x.given))
	}
	for _, w := range words {
		if len(w) > maxWord || strings.IndexByte(w, 0) >= 0 {
			return thwart.FieldErrors{{
				Field: "body", Value: strings.ReplaceAll(strings.ToValidUTF8(w[:min(60, len(w))], ""), "\x00", "�"),
				Accepted: fmt.Sprintf("ids and words of a list of at most %d bytes and without NUL", maxWord),
			}}
		}
	}
	return nil
}

func newEncounter(b *encounterBody) *encounter {
	in := &b.Inspection
	x := &encounter{
		at: in.StartedAt, ended: in.StartedAt, shift: b.Shift, launch: in.Launch, steward: in.Steward, class: in.Setup.Class, nextWater: in.NextWater,
		refused: in.Refused, test: b.Test, findings: int64(len(in.Findings)), launchOwn: in.Launch != "",
	}
	if len(in.LastWaters) > 0 {
		x.lastWater = in.LastWaters[0].Water
	}
	if in.EndedAt != nil {
		x.ended, x.seconds = *in.EndedAt, in.EndedAt.Sub(in.StartedAt).Seconds()
	}
	if b.Mark != nil {
		x.mark = b.Mark.Hash
	}
	whole := thwart.Encounter{Inspection: thwart.Inspection{Refused: in.Refused}}
	if b.Verdict != nil {
		x.computed = b.Verdict.Outcome
		whole.Verdict = &thwart.Verdict{Outcome: b.Verdict.Outcome}
	}
	if b.Override != nil {
		whole.Override = &thwart.Override{Outcome: b.Override.Outcome}
	}
	x.given = whole.Given()
	return x
}

// standing is a subject as its entries say it stands.
type standing struct {
	subject  string
	kind     thwart.Kind
	parent   string
	head     int64 // cursor
	removed  bool
	conflict bool
	versions int64
	facts    facts // without rows where the subject is removed
}

// stand reads a subject off its entries. It is the only rule by which subjects and lists are made, and Check uses it to
// compare. known carries facts already read, by entry id.
func stand(entries []thwart.Kept, known map[string]facts) (standing, error) {
	if len(entries) == 0 {
		return standing{}, errors.New("a subject without entries")
	}
	head, conflict := entries[0], false
	if len(entries) > 1 {
		head, conflict = merge.Head(entries)
	}
	read := func(e *thwart.Entry) (facts, error) {
		if f, ok := known[e.ID]; ok {
			return f, nil
		}
		return factsOf(e)
	}
	f, err := read(&head.Entry)
	if err != nil {
		return standing{}, fmt.Errorf("entry %s: %w", head.ID, err)
	}
	st := standing{
		subject: head.Subject, kind: head.Kind, parent: f.parent, head: head.Cursor, removed: head.Removed, conflict: conflict,
		versions: int64(len(entries)), facts: f,
	}
	if head.Removed {
		st.facts = facts{}
		if len(head.Body) == 0 { // belongs where it last said it belonged
			var said *thwart.Kept
			for i := range entries {
				k := &entries[i]
				if len(k.Body) > 0 && (said == nil || k.At().After(said.At()) || k.At().Equal(said.At()) && k.ID > said.ID) {
					said = k
				}
			}
			if said != nil {
				f, err := read(&said.Entry)
				if err != nil {
					return standing{}, fmt.Errorf("entry %s: %w", said.ID, err)
				}
				st.parent = f.parent
			}
		}
		return st, nil
	}
	if x := st.facts.enc; x != nil {
		y := *x
		y.conflict = conflict
		y.resolvedLaunch, y.resolvedSteward = x.launch, x.steward
		if x.steward == "" { // who made the first entry; a correction is made by somebody else
			for i := range entries {
				if entries[i].ID == head.Subject {
					y.resolvedSteward = entries[i].Person
				}
			}
		}
		st.facts.enc = &y
	}
	return st, nil
}

const (
	subjectColumns   = "subject, kind, parent, head, removed, conflict, versions"
	encounterColumns = "subject, at, ended_at, day, shift, launch, launch_own, steward, class, last_water, next_water, computed, given, given_rank, " +
		"refused, test, findings, seconds, mark, conflict"
	shiftColumns = "subject, launch, from_at, to_at, day, people"
	tallyColumns = "subject, shift, at, day, passed_by, refused, turned_away"
	pairColumns  = "subject, a, b, same"
)

func (st *standing) args() []any {
	return []any{st.subject, string(st.kind), st.parent, st.head, bit(st.removed), bit(st.conflict), st.versions}
}

func (st *standing) encounterArgs() []any {
	x := st.facts.enc
	return []any{
		st.subject, ms(x.at), ms(x.ended), dayOf(x.at), x.shift, x.resolvedLaunch, bit(x.launchOwn), x.resolvedSteward, x.class, x.lastWater, x.nextWater,
		string(x.computed), string(x.given), int64(x.given.Rank()), bit(x.refused), bit(x.test), x.findings, x.seconds, x.mark, bit(x.conflict),
	}
}

func (st *standing) shiftArgs() []any {
	x := st.facts.shift
	return []any{st.subject, x.launch, ms(x.from), msOrNull(x.to), dayOf(x.from), x.people}
}

func (st *standing) tallyArgs() []any {
	x := st.facts.tally
	return []any{st.subject, x.shift, ms(x.at), dayOf(x.at), x.passedBy, x.refused, x.turnedTo}
}

func (st *standing) pairArgs() []any {
	return []any{st.subject, st.facts.pair.a, st.facts.pair.b, bit(st.facts.pair.same)}
}

// shiftLaunches gives the launches of shifts.
func shiftLaunches(ctx context.Context, w work, shifts []string) (map[string]string, error) {
	out := map[string]string{}
	err := inList(ctx, w, "SELECT subject, launch FROM shifts WHERE subject", shifts, "", func(rows *sql.Rows) error {
		var id, launch string
		if err := rows.Scan(&id, &launch); err != nil {
			return err
		}
		out[id] = launch
		return nil
	})
	return out, err
}
