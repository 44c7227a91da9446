package thwart

import (
	"encoding/binary"
	"encoding/hex"
	"encoding/json"
	"time"

	"thwart/tongue"
)

// Kind is what an entry is about.
type Kind string

// Kinds of entry. Reference kinds are kept by the programme and pulled by phones; the others are made in the field.
const (
	KindWater      Kind = "water"
	KindLaunch     Kind = "launch"
	KindUnit       Kind = "unit"
	KindPerson     Kind = "person"
	KindProtocol   Kind = "protocol"
	KindShift      Kind = "shift"
	KindInspection Kind = "inspection"
	KindWash       Kind = "wash"
	KindTally      Kind = "tally"
	KindTrial      Kind = "trial"
	KindPhoto      Kind = "photo"

	KindProgramme    Kind = "programme"
	KindReceipt      Kind = "receipt"
	KindPairing      Kind = "pairing"
	KindSecondLook   Kind = "second_look"
	KindDrill        Kind = "drill"
	KindCurriculum   Kind = "curriculum"
	KindCertificate  Kind = "certificate"
	KindPlan         Kind = "plan"
	KindPlannedShift Kind = "planned_shift"
	KindAvailability Kind = "availability"
	KindIncident     Kind = "incident"
	KindView         Kind = "view"
	KindKey          Kind = "key"
	KindSheets       Kind = "sheets"
	KindReopening    Kind = "reopening"
)

// Kinds lists every kind.
var Kinds = []Kind{
	KindWater, KindLaunch, KindUnit, KindPerson, KindProtocol, KindShift, KindInspection, KindWash, KindTally, KindTrial,
	KindPhoto, KindProgramme, KindReceipt, KindPairing, KindSecondLook, KindDrill, KindCurriculum, KindCertificate, KindPlan,
	KindPlannedShift, KindAvailability, KindIncident, KindView, KindKey, KindSheets,
	KindReopening,
}

// Reference reports whether phones pull entries of the kind.
func (k Kind) Reference() bool {
	switch k {
	case KindWater, KindLaunch, KindUnit, KindPerson, KindProtocol, KindProgramme, KindCurriculum, KindPlannedShift, KindKey:
		return true
	}
	return false
}

// Origin is how an entry came to be.
type Origin string

// Origins.
const (
	OriginPhone  Origin = "phone"
	OriginOffice Origin = "office"
	OriginPaper  Origin = "paper"
	OriginImport Origin = "import"
	OriginDemo   Origin = "demo" // invented; never mixed with a real programme
)

// Entry is one fact as it is kept. Entries are only ever added: a correction is a new entry that supersedes an older one of
// the same subject, and a removal is one that says so. The union of two histories is therefore their merge.
type Entry struct {
	ID   string `json:"id"`   // UUID version 7 (RFC 9562), made by whoever made the entry
	Kind Kind   `json:"kind"` // of the subject
	// Subject is the thing the entry is about: the id of its first entry.
	Subject string `json:"subject"`
	// Supersedes is the entry this one corrects; empty for the first of a subject.
	Supersedes string `json:"supersedes,omitempty"`
	Removed    bool   `json:"removed,omitempty"`
	Why        string `json:"why,omitempty"` // required with Supersedes

	MadeAt time.Time       `json:"madeAt"` // by the clock of the device that made it
	Origin Origin          `json:"origin"`
	Person string          `json:"person,omitempty"` // subject of the person who made it
	Device string          `json:"device,omitempty"`
	Seq    int64           `json:"seq,omitempty"` // of the device, counting from 1; order within a device
	App    string          `json:"app,omitempty"` // version of the program that made it
	Body   json.RawMessage `json:"body,omitempty"`
}

// Limits of an entry.
const (
	MaxEntryBytes = 1 << 20 // of a body
	MaxWhy        = 500
)

// IsID reports whether a text is a UUID version 7 in its canonical form.
func IsID(s string) bool { return isUUID7(s) }

// MakeID makes a UUID version 7 (RFC 9562, section 5.7): 48 bits of Unix milliseconds, none before 1970, then 74 bits of rest,
// whose other 6 give way to version and variant. Ids made later sort later.
func MakeID(at time.Time, rest [10]byte) string {
	var b [16]byte
	binary.BigEndian.PutUint64(b[:8], uint64(max(at.UnixMilli(), 0))<<16)
	copy(b[6:], rest[:])
	b[6] = b[6]&0x0f | 0x70
	b[8] = b[8]&0x3f | 0x80
	x := hex.EncodeToString(b[:])
	return x[:8] + "-" + x[8:12] + "-" + x[12:16] + "-" + x[16:20] + "-" + x[20:]
}

// Validate checks the envelope. What the body must hold is checked by [Entry.Decode] and the body's own Validate.
func (e Entry) Validate() error {
	var c check
	const anID = "a UUID version 7 in lower case, such as 01980d5e-6a00-7000-8000-000000000002"
	if !IsID(e.ID) {
		c.fail("id", e.ID, anID)
	}
	if !IsID(e.Subject) {
		c.fail("subject", e.Subject, anID)
	}
	oneOf(&c, "kind", e.Kind, Kinds...)
	oneOf(&c, "origin", e.Origin, OriginPhone, OriginOffice, OriginPaper, OriginImport, OriginDemo)
	switch {
	case e.Supersedes == "" && e.Subject != e.ID:
		c.fail("supersedes", "", "the entry that this one corrects, or the entry's own id as subject")
	case e.Supersedes == e.ID || (e.Supersedes != "" && !IsID(e.Supersedes)):
		c.fail("supersedes", e.Supersedes, "the id of another entry")
	case e.Supersedes != "" && e.Why == "":
		c.fail("why", "", "the reason of a correction")
	case e.Supersedes == "" && e.Removed:
		c.fail("removed", true, "only an entry that is there already can be removed")
	}
	if len(e.Why) > MaxWhy {
		c.fail("why", e.Why, tongue.Say("at most {n} characters", tongue.Int(MaxWhy)))
	}
	if e.MadeAt.IsZero() {
		c.fail("madeAt", "", "a time with its offset")
	}
	if e.Seq < 0 {
		c.fail("seq", e.Seq, "a count from 1")
	}
	if len(e.Body) > MaxEntryBytes {
		c.fail("body", len(e.Body), tongue.Say("at most {n} bytes", tongue.Int(MaxEntryBytes)))
	}
	if len(e.Body) == 0 && !e.Removed {
		c.fail("body", "", "what the entry says")
	}
	return c.err()
}

// Body is what an entry of one kind says.
type Body interface {
	Validate() error
}

// emptyBodies makes an empty body of each kind.
var emptyBodies = map[Kind]func() Body{
	KindWater:        func() Body { return &WaterBody{} },
	KindLaunch:       func() Body { return &Ramp{} },
	KindUnit:         func() Body { return &Kit{} },
	KindPerson:       func() Body { return &Person{} },
	KindProtocol:     func() Body { return &Protocol{} },
	KindShift:        func() Body { return &Shift{} },
	KindInspection:   func() Body { return &Encounter{} },
	KindWash:         func() Body { return &WashDone{} },
	KindTally:        func() Body { return &Tally{} },
	KindTrial:        func() Body { return &Trial{} },
	KindPhoto:        func() Body { return &Photo{} },
	KindProgramme:    func() Body { return &Programme{} },
	KindReceipt:      func() Body { return &Receipt{} },
	KindPairing:      func() Body { return &Pairing{} },
	KindSecondLook:   func() Body { return &SecondLook{} },
	KindDrill:        func() Body { return &Drill{} },
	KindCurriculum:   func() Body { return &Curriculum{} },
	KindCertificate:  func() Body { return &Certified{} },
	KindPlan:         func() Body { return &Plan{} },
	KindPlannedShift: func() Body { return &PlannedShift{} },
	KindAvailability: func() Body { return &Availability{} },
	KindIncident:     func() Body { return &Incident{} },
	KindView:         func() Body { return &View{} },
	KindKey:          func() Body { return &Key{} },
	KindSheets:       func() Body { return &Sheets{} },
	KindReopening:    func() Body { return &Reopening{} },
}

// NewBody gives an empty body of a kind, to be filled from JSON; nil for a kind that does not exist.
func NewBody(k Kind) Body {
	if empty, ok := emptyBodies[k]; ok {
		return empty()
	}
	return nil
}

// Decode reads and checks the body. Fields that this program does not know are kept in the entry and passed over here, so
// that an entry made by a newer program is taken whole and handed on unchanged.
func (e Entry) Decode() (Body, error) {
	b := NewBody(e.Kind)
	if b == nil {
		return nil, FieldErrors{{Field: "kind", Value: string(e.Kind), Accepted: "a kind of entry this program knows"}}
	}
	if e.Removed && len(e.Body) == 0 {
		return b, nil
	}
	if err := json.Unmarshal(e.Body, b); err != nil {
		return nil, explainJSON(err, e.Body)
	}
	return b, b.Validate()
}
