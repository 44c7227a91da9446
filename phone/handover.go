package phone

import (
	"time"

	"thwart"
	"thwart/handover"
	"thwart/receipt"
)

func init() {
	// The order of a wash as a note for another phone, and the bytes that this phone's key has to sign.
	pure("order.toSign", orderToSign)
	// The end of a wash as a note for the phone that gave the order, and the bytes to sign.
	pure("over.toSign", overToSign)
	// Joins a note and its signature to its text and its QR code.
	pure("note.seal", noteSeal)
	// Reads the note of an order: who vouches for it, and what the engine needs of the craft.
	add("order.read", readOrder)
	// Reads the note of the end of a wash, and whether it counts for the craft at hand.
	add("over.read", readOver)
}

// OrderIn is a craft that is owed a wash.
type OrderIn struct {
	Encounter  string            `json:"encounter"` // subject of the inspection
	Inspection thwart.Inspection `json:"inspection"`
	Public     []byte            `json:"public"` // this phone's Ed25519 public key, base64
	At         time.Time         `json:"at"`     // now
}

// NoteToSign is what the phone's key signs: keep the note for note.seal.
type NoteToSign struct {
	Note  receipt.Note `json:"note"`
	Bytes []byte       `json:"bytes"` // base64
}

func orderToSign(in OrderIn) (NoteToSign, error) {
	body, err := handover.Order{Encounter: in.Encounter, Inspection: in.Inspection}.Bytes()
	if err != nil {
		return NoteToSign{}, err
	}
	return toSign(receipt.NoteOrder, in.At, in.Public, body)
}

func toSign(kind byte, at time.Time, public, body []byte) (NoteToSign, error) {
	note, err := receipt.NewNote(kind, at, public, body)
	if err != nil {
		return NoteToSign{}, err
	}
	b, err := note.ToSign()
	return NoteToSign{Note: note, Bytes: b}, err
}

// OverIn is a wash that is over.
type OverIn struct {
	Over   handover.Over `json:"over"`
	Public []byte        `json:"public"` // base64
	At     time.Time     `json:"at"`     // now
}

func overToSign(in OverIn) (NoteToSign, error) {
	body, err := in.Over.Bytes()
	if err != nil {
		return NoteToSign{}, err
	}
	return toSign(receipt.NoteOver, in.At, in.Public, body)
}

// NoteSealIn is a note with its signature.
type NoteSealIn struct {
	Note      receipt.Note `json:"note"`
	Signature []byte       `json:"signature"` // base64
	Public    []byte       `json:"public"`    // base64
}

func noteSeal(in NoteSealIn) (ReceiptOut, error) {
	text, err := receipt.SealNote(in.Note, in.Signature, in.Public)
	if err != nil {
		return ReceiptOut{}, err
	}
	sc, err := receipt.ScreenPicture(text)
	if err != nil {
		return ReceiptOut{}, err
	}
	return ReceiptOut{Text: text, Code: blackOnWhite(sc)}, nil
}

// ReadOrderIn is the text of a code.
type ReadOrderIn struct {
	Text   string    `json:"text"`
	Now    time.Time `json:"now"`
	Waters []string  `json:"waters"` // subjects of the waters that this phone knows
}

// OrderOut is an order as it was read. In any state but good nobody vouches for it.
type OrderOut struct {
	// State is good, altered, unknown_issuer, revoked, not_yet, not_a_receipt where it is no note of an order, or other_version where the
	// other phone lists other places.
	State      string             `json:"state"`
	Encounter  string             `json:"encounter,omitempty"`
	Sum        string             `json:"sum,omitempty"` // names the order when its end is told
	Inspection *thwart.Inspection `json:"inspection,omitempty"`
}

// OtherVersion is the state of an order that only another version of the program can read.
const OtherVersion = "other_version"

func (e *Engine) readNote(kind byte, text string, now time.Time) (string, receipt.Note) {
	ring := e.ring
	if ring == nil {
		ring, _ = receipt.NewRing(nil, nil)
	}
	state, note := ring.ReadNote(text, now)
	if len(note.Body) > 0 && note.Kind != kind {
		return string(receipt.NoReceipt), receipt.Note{}
	}
	return string(state), note
}

func readOrder(e *Engine, in ReadOrderIn) (OrderOut, error) {
	state, note := e.readNote(receipt.NoteOrder, in.Text, in.Now)
	if len(note.Body) == 0 || state == string(receipt.Altered) {
		return OrderOut{State: state}, nil
	}
	o, err := handover.Read(note.Body, in.Waters)
	if err != nil {
		return OrderOut{State: OtherVersion}, nil
	}
	return OrderOut{State: state, Encounter: o.Encounter, Sum: handover.Sum(note.Body), Inspection: &o.Inspection}, nil
}

// ReadOverIn is the text of a code, and the craft that it should be about.
type ReadOverIn struct {
	Text       string            `json:"text"`
	Now        time.Time         `json:"now"`
	Encounter  string            `json:"encounter"`
	Inspection thwart.Inspection `json:"inspection"` // as the order was made of it
	Since      time.Time         `json:"since"`      // when the verdict was sealed: a wash that ended before it is another one
}

// States of the end of a wash besides those of a note.
const (
	OtherBoat  = "other_boat"  // it is another craft's
	OtherOrder = "other_order" // it was washed by an order that this phone did not give, or that no longer holds
	TooEarly   = "too_early"   // it ended before the verdict that asks for it
)

// OverOut says whether a wash counts. Only a good one that clears does.
type OverOut struct {
	State   string     `json:"state"` // of the note, or other_boat, other_order, too_early
	EndedAt *time.Time `json:"endedAt,omitempty"`
	Clears  bool       `json:"clears"`
}

func readOver(e *Engine, in ReadOverIn) (OverOut, error) {
	state, note := e.readNote(receipt.NoteOver, in.Text, in.Now)
	if state != string(receipt.Good) {
		return OverOut{State: state}, nil
	}
	over, err := handover.ReadOver(note.Body)
	if err != nil {
		return OverOut{State: OtherVersion}, nil
	}
	body, err := handover.Order{Encounter: in.Encounter, Inspection: in.Inspection}.Bytes()
	if err != nil {
		return OverOut{}, err
	}
	switch {
	case over.Encounter != in.Encounter:
		return OverOut{State: OtherBoat}, nil
	case over.Order != handover.Sum(body):
		return OverOut{State: OtherOrder}, nil
	case over.EndedAt.Before(in.Since.Add(-receipt.ClockSlack)):
		return OverOut{State: TooEarly}, nil
	}
	return OverOut{State: state, EndedAt: &over.EndedAt, Clears: over.Clears}, nil
}
