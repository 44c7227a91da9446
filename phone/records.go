package phone

import (
	"encoding/json"
	"time"

	"thwart"
	"thwart/merge"
	"thwart/tongue"
)

func init() {
	// Can the body of a record be taken? Every field at fault is named.
	pure("check", check)
	// Checks a whole entry with its body and gives its sum, for the server's receipt to be matched with.
	pure("entry", entry)
	// A UUID version 7 from a time and ten random bytes.
	pure("makeId", makeID)
	// What may be kept of a registration: its keyed hash. The registration itself is never kept.
	pure("mark", mark)
	// The number of a printed sheet as it was keyed; a slip is named.
	pure("sheet", sheet)
	// A water's record as it stood at a moment, as a case wants it.
	pure("waterAt", waterAt)
	// Which of a subject's entries counts now, and whether two corrections compete.
	pure("head", head)
	// Which looks may be one craft met twice: the same boat?
	pure("twins", twins)
}

// CheckIn is the body of a record and its kind.
type CheckIn struct {
	Kind thwart.Kind     `json:"kind"`
	Body json.RawMessage `json:"body"`
}

func check(in CheckIn) (None, error) {
	_, err := thwart.Entry{Kind: in.Kind, Body: in.Body}.Decode()
	return None{}, err
}

// EntryIn is an entry as it is about to be kept. Its body is summed byte by byte as it stands here, so what is kept and sent
// must be the same text: no blank added, no key moved.
type EntryIn struct {
	Entry thwart.Entry `json:"entry"`
}

// EntryOut is the sum of an entry.
type EntryOut struct {
	Sum string `json:"sum"` // SHA-256, hexadecimal
}

func entry(in EntryIn) (EntryOut, error) {
	if err := in.Entry.Validate(); err != nil {
		return EntryOut{}, err
	}
	if _, err := in.Entry.Decode(); err != nil {
		return EntryOut{}, err
	}
	return EntryOut{Sum: in.Entry.Sum()}, nil
}

// MakeIDIn is what an id is made of.
type MakeIDIn struct {
	At     time.Time `json:"at"`
	Random []byte    `json:"random"` // ten bytes, base64, from the system's source of randomness
}

// IDOut is an id.
type IDOut struct {
	ID string `json:"id"`
}

func makeID(in MakeIDIn) (IDOut, error) {
	if len(in.Random) != 10 {
		return IDOut{}, bad("random", tongue.Say("{n} bytes", tongue.Int(len(in.Random))), "ten bytes")
	}
	return IDOut{ID: thwart.MakeID(in.At, [10]byte(in.Random))}, nil
}

// MarkIn is a registration as it stands on the hull, and the programme's key.
type MarkIn struct {
	Registration string `json:"registration"`
	Key          []byte `json:"key"` // base64
}

// MarkOut is the mark; absent where the registration has no letter or digit.
type MarkOut struct {
	Mark *thwart.Mark `json:"mark,omitempty"`
}

func mark(in MarkIn) (MarkOut, error) {
	if len(in.Key) < thwart.MinKeyBytes {
		return MarkOut{}, bad("key", tongue.Say("{n} bytes", tongue.Int(len(in.Key))), tongue.Say("at least {n} bytes", tongue.Int(thwart.MinKeyBytes)))
	}
	m := thwart.MarkOf(in.Registration, in.Key)
	if m == (thwart.Mark{}) {
		return MarkOut{}, nil
	}
	return MarkOut{Mark: &m}, nil
}

// SheetIn is the number of a printed sheet as it was keyed.
type SheetIn struct {
	Text string `json:"text"`
}

// SheetOut is a sheet's form and its number as it is printed.
type SheetOut struct {
	Form   thwart.SheetForm `json:"form"`
	Number string           `json:"number"`
}

func sheet(in SheetIn) (SheetOut, error) {
	form, n, err := thwart.ReadSheet(in.Text)
	if err != nil {
		return SheetOut{}, err
	}
	return SheetOut{form, thwart.SheetNumber(form, n)}, nil
}

// WaterAtIn is a water's record and a moment.
type WaterAtIn struct {
	ID   string           `json:"id"`
	Body thwart.WaterBody `json:"body"`
	At   time.Time        `json:"at"` // when the craft left it; for a craft that has not said, now
}

// WaterAtOut is a water as a case wants it.
type WaterAtOut struct {
	Water thwart.Water `json:"water"`
}

func waterAt(in WaterAtIn) (WaterAtOut, error) {
	return WaterAtOut{Water: in.Body.At(in.ID, in.At)}, nil
}

// HeadIn are the entries of one subject.
type HeadIn struct {
	Entries []thwart.Kept `json:"entries"`
}

// HeadOut is the entry that counts.
type HeadOut struct {
	Head     thwart.Kept `json:"head"`
	Conflict bool        `json:"conflict"` // two corrections compete: a person decides
}

func head(in HeadIn) (HeadOut, error) {
	var out HeadOut
	out.Head, out.Conflict = merge.Head(in.Entries)
	return out, nil
}

// TwinsIn are encounters that may be the same craft met twice.
type TwinsIn struct {
	Looks []TwinLook `json:"looks"`
}

// TwinLook is one encounter.
type TwinLook struct {
	Subject   string           `json:"subject"`
	At        time.Time        `json:"at"` // when it started
	Encounter thwart.Encounter `json:"encounter"`
}

// TwinsOut lists pairs, the likeliest first. They are proposals for a person; nothing is ever joined by itself.
type TwinsOut struct {
	Pairs []TwinPair `json:"pairs"`
}

// TwinPair is two encounters that may be one craft, the earlier first.
type TwinPair struct {
	A       string         `json:"a"`
	B       string         `json:"b"`
	ApartS  float64        `json:"apartS"`
	Score   int            `json:"score"` // orders the list; no probability
	Agree   []merge.Sign   `json:"agree"`
	Differ  []merge.Sign   `json:"differ"`
	Outcome thwart.Outcome `json:"outcome"` // that counts until it is decided
}

func twins(in TwinsIn) (TwinsOut, error) {
	looks := make([]merge.Look, len(in.Looks))
	for i := range in.Looks {
		looks[i] = merge.LookOf(in.Looks[i].Subject, in.Looks[i].At, &in.Looks[i].Encounter)
	}
	out := TwinsOut{Pairs: []TwinPair{}}
	for _, p := range merge.Twins(looks) {
		out.Pairs = append(out.Pairs, TwinPair{
			A: p.A, B: p.B, ApartS: p.Apart.Seconds(), Score: p.Score, Outcome: p.Outcome,
			Agree: append([]merge.Sign{}, p.Agree...), Differ: append([]merge.Sign{}, p.Differ...),
		})
	}
	return out, nil
}
