package thwart

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"time"
)

// Errors that every store gives.
var (
	// ErrNotFound says that there is no such subject, account or device.
	ErrNotFound = errors.New("not found")
	// ErrConflict says that what was to be changed is no longer what the caller saw.
	ErrConflict = errors.New("changed by somebody else in the meantime")
	// ErrStorage says that the medium failed: nothing of the call is to be taken as kept.
	ErrStorage = errors.New("the storage failed")
)

// Sum is the SHA-256 of what an entry says, in hexadecimal: every field on a line of its own, then the body byte by byte
// as it was sent. Two entries with one id and different sums are a mistake somewhere; the first is kept.
func (e Entry) Sum() string {
	h := sha256.New()
	fmt.Fprintf(h, "%s\n%s\n%s\n%s\n%t\n%s\n%s\n%s\n%s\n%s\n%d\n", e.ID, e.Kind, e.Subject, e.Supersedes, e.Removed, e.Why,
		e.MadeAt.UTC().Format(time.RFC3339Nano), e.Origin, e.Person, e.Device, e.Seq)
	h.Write(e.Body)
	return hex.EncodeToString(h.Sum(nil))
}

// Kept is an entry as the programme keeps it.
type Kept struct {
	Entry
	ReceivedAt time.Time `json:"receivedAt"`
	// SkewMS is by how much the device's clock ran ahead of the server's when it sent the entry. The device's own time stays
	// in MadeAt; [Kept.At] is the corrected one.
	SkewMS int64 `json:"skewMs,omitempty"`
	// Cursor orders entries by arrival. A later entry has a larger one; gaps mean nothing.
	Cursor int64 `json:"cursor"`
}

// At is when the entry was made by the server's clock, as far as it can be known.
func (k Kept) At() time.Time { return k.MadeAt.Add(-time.Duration(k.SkewMS) * time.Millisecond) }

// PutResult says what became of one entry of a batch.
type PutResult string

// Results. Stored and Had both mean that the entry is kept and will be in the next backup.
const (
	Stored  PutResult = "stored"
	Had     PutResult = "had"
	Refused PutResult = "refused"
)

// PutAnswer is the receipt for one entry.
type PutAnswer struct {
	ID     string      `json:"id"`
	Result PutResult   `json:"result"`
	Sum    string      `json:"sum,omitempty"`
	Errors FieldErrors `json:"errors,omitempty"` // of a refusal
}

// Refusal is an entry that could not be taken, kept whole until somebody settles it.
type Refusal struct {
	ID         string          `json:"id"` // of the refusal
	Raw        json.RawMessage `json:"raw"`
	Errors     FieldErrors     `json:"errors"`
	Device     string          `json:"device,omitempty"`
	Person     string          `json:"person,omitempty"`
	ReceivedAt time.Time       `json:"receivedAt"`
	SettledAt  *time.Time      `json:"settledAt,omitempty"`
	SettledBy  string          `json:"settledBy,omitempty"`
	How        string          `json:"how,omitempty"`
}

// Subject is a thing as it stands now: its head entry, and whether two corrections compete for it.
type Subject struct {
	Kept
	Conflict bool `json:"conflict,omitempty"` // more than one entry that nothing supersedes
	Versions int  `json:"versions"`
}

// Page is part of a list. Next is empty on the last page.
type Page[T any] struct {
	Items []T    `json:"items"`
	Next  string `json:"next,omitempty"`
}

// SubjectQuery asks for the subjects of one kind. A removed subject is listed only when asked for.
type SubjectQuery struct {
	Kind Kind
	// Parent is the water of a launch, the launch of a unit, shift or planned shift, the shift of an encounter or tally, the
	// encounter of a wash, photo, receipt or second look, the first encounter of a pairing, the steward of a trial, the person of a
	// drill, certificate or availability, the encounter (or else the water) of an incident, the record of a reopening.
	Parent  string
	Parents []string // of any of these parents, at most 1000; none = all
	IDs     []string // only these subjects, at most 1000; none = all
	Removed bool
	After   string // cursor of the page before
	Limit   int    // 1 to 1000; 0 = 100
}

// EncounterQuery filters and orders encounters. Zero fields do not filter.
type EncounterQuery struct {
	From, To  time.Time // of the inspection's start: from included, to not
	Launch    string
	Steward   string // subject of a person
	LastWater string
	NextWater string
	Mark      string   // hash of a registration
	IDs       []string // only these encounters, at most [MostEncounterIDs]; nil = all, an empty list = none
	Outcome   Outcome  // what the craft left with, see [LeftWith]
	Class     string
	Refused   Answer
	Found     Answer // yes = with a find of any kind, no = without
	WithTests bool   // planted craft too
	Flagged   bool   // only those in conflict
	Sort      string // at, outcome, class, launch, seconds; prefix - for descending; empty = -at
	After     string
	Limit     int
}

// MostEncounterIDs is how many encounters one query may name: a statement takes so many parameters in either database.
const MostEncounterIDs = 30_000

// EncounterSorts lists what encounters can be sorted by.
var EncounterSorts = []string{"at", "outcome", "class", "launch", "seconds"}

// EncounterRow is an encounter in a list.
type EncounterRow struct {
	Subject   string    `json:"subject"`
	At        time.Time `json:"at"`
	Shift     string    `json:"shift"`
	Launch    string    `json:"launch"`
	Steward   string    `json:"steward,omitempty"`
	Class     string    `json:"class"`
	LastWater string    `json:"lastWater,omitempty"`
	NextWater string    `json:"nextWater,omitempty"`
	Computed  Outcome   `json:"computed,omitempty"`
	Given     Outcome   `json:"given,omitempty" doc:"what decides what happens with the craft; hold for a refusal without a verdict, which counts as refused and not among the holds"`
	Refused   bool      `json:"refused,omitempty"`
	Test      bool      `json:"test,omitempty"`
	Findings  int       `json:"findings"`
	Seconds   float64   `json:"seconds,omitempty"`
	Mark      string    `json:"mark,omitempty"` // hash
	Conflict  bool      `json:"conflict,omitempty"`
	// SameAs is the earlier encounter with the same craft, as a person has decided; such a row counts no craft of its own.
	SameAs string `json:"sameAs,omitempty"`
	// Governs is the strictest outcome of a craft that was met more than once; empty for a craft met once, or not judged.
	Governs Outcome `json:"governs,omitempty"`
}

// TotalsQuery sums a season. By is launch, week, day, month, class, outcome, last_water, steward or empty for one row.
type TotalsQuery struct {
	From, To time.Time
	By       string
}

// TotalsBys lists what totals can be split by.
var TotalsBys = []string{"", "launch", "week", "day", "month", "class", "outcome", "last_water", "steward"}

// TotalRefused is the key of craft whose boater declined in totals by outcome; those not judged have an empty one.
const TotalRefused = "refused"

// Total is one row of a sum. Encounters are those of ByOutcome, those refused, and those not judged, see [LeftWith]. Hours
// are steward-hours on shift; they are split by launch and time only, and are -1 where a split has no hours of its own.
type Total struct {
	Key          string          `json:"key"`
	Encounters   int             `json:"encounters"` // craft: those met twice, as people have decided, count once
	Doubles      int             `json:"doubles"`    // further looks at craft that are counted already
	ByOutcome    map[Outcome]int `json:"byOutcome"`
	Refused      int             `json:"refused"`
	Findings     int             `json:"findings"` // encounters with at least one
	PassedBy     int             `json:"passedBy"` // tallied, like the next two: craft without a record of their own
	TallyRefused int             `json:"tallyRefused"`
	TurnedAway   int             `json:"turnedAway"`
	Hours        float64         `json:"hours"`
}

// Store keeps entries. One suite of tests runs against every implementation. All methods are safe for concurrent use, and
// several processes may share one PostgreSQL database.
type Store interface {
	// Put keeps a batch in one transaction and answers for every entry, in the order given. When it returns without an
	// error, every entry answered Stored or Had is on the medium. An entry whose id is known with the same sum is Had; with
	// another sum it is Refused. A correction may arrive before what it corrects. Put does not look into bodies beyond what
	// it needs for lists; the caller has validated them.
	Put(ctx context.Context, batch []Kept) ([]PutAnswer, error)
	// Subject gives a thing as it stands. Of several entries that nothing supersedes the latest made decides, by id where
	// they are made at one instant, and Conflict is set.
	Subject(ctx context.Context, id string) (Subject, error)
	// History gives every entry of a subject in the order of arrival.
	History(ctx context.Context, subject string) ([]Kept, error)
	// Subjects lists things of one kind, by subject id.
	Subjects(ctx context.Context, q SubjectQuery) (Page[Subject], error)
	// Changes gives entries of the kinds (all where none are named) that arrived after a cursor, in order of arrival. next
	// is the cursor to go on from. An entry is never given before one that arrived earlier and is not yet committed.
	Changes(ctx context.Context, kinds []Kind, after int64, limit int) (entries []Kept, next int64, err error)
	Encounters(ctx context.Context, q EncounterQuery) (Page[EncounterRow], error)
	// CountEncounters gives how many rows all pages of a query have together; its order, cursor and limit are passed over.
	CountEncounters(ctx context.Context, q EncounterQuery) (int, error)
	Totals(ctx context.Context, q TotalsQuery) ([]Total, error)

	// Refuse keeps an entry that could not be taken; the same raw text from the same device is kept once.
	Refuse(ctx context.Context, r Refusal) error
	Refusals(ctx context.Context, settled bool, after string, limit int) (Page[Refusal], error)
	Settle(ctx context.Context, id, by, how string, at time.Time) error

	// Purge removes personal fields for good and says what it removed. It changes no count.
	Purge(ctx context.Context, p PurgeOrder) (PurgeReport, error)
	// Purges gives the certificates of all purges, oldest first.
	Purges(ctx context.Context) ([]PurgeReport, error)
	// Check reads everything and reports what does not hold together: sums, heads, rows that point nowhere.
	Check(ctx context.Context) (CheckReport, error)
	Close() error
}

// PurgeOrder says what is too old to keep. Zero times purge nothing.
type PurgeOrder struct {
	MarksBefore  time.Time `json:"marksBefore,omitzero"`  // hashes of registrations
	NotesBefore  time.Time `json:"notesBefore,omitzero"`  // free text
	PhotosBefore time.Time `json:"photosBefore,omitzero"` // pictures not in an incident
	TrialsBefore time.Time `json:"trialsBefore,omitzero"` // who was in a trial or a drill
	DryRun       bool      `json:"dryRun,omitempty"`
	By           string    `json:"by"`
	At           time.Time `json:"at"`
}

// PurgeReport is the certificate of a purge.
type PurgeReport struct {
	At      time.Time      `json:"at"`
	By      string         `json:"by"`
	DryRun  bool           `json:"dryRun,omitempty"`
	Removed map[string]int `json:"removed"` // per field, such as mark, note, photo, trial, drill
	// Pictures are the hashes of the pictures removed: those that no photo names any more.
	Pictures []string `json:"pictures,omitempty"`
}

// CheckReport is what an integrity check found.
type CheckReport struct {
	Entries  int64    `json:"entries"`
	Subjects int64    `json:"subjects"`
	Faults   []string `json:"faults"` // none: everything holds together
}
