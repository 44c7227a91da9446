package receipt

import (
	"crypto/ed25519"
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"math"
	"strings"
	"time"

	"thwart"
	"thwart/tongue"
)

// Note is a word from one phone of a programme to another, signed with the phone's key as a receipt is: an order for a wash, or how a wash
// ended. What its body says is not this package's matter.
type Note struct {
	Kind  byte      `json:"kind"`
	KeyID string    `json:"keyId"` // of the signing key, 8 hexadecimal digits
	At    time.Time `json:"at"`    // when it was written, to the minute
	Body  []byte    `json:"body"`  // base64 in JSON
}

// Kinds of note.
const (
	NoteOrder byte = 1 // a craft that is owed a wash
	NoteOver  byte = 2 // a wash that is over
)

const (
	noteVersion = 1
	// MaxNoteBody keeps a code within what a screen shows at a size that cameras read.
	MaxNoteBody = 700
	notePurpose = "thwart-note-1\n"
)

// NotePrefix begins every note's text. It differs from [Prefix], so that neither is taken for the other.
const NotePrefix = "TWN1:"

// NewNote makes a note of now for a public key.
func NewNote(kind byte, at time.Time, public, body []byte) (Note, error) {
	n := Note{Kind: kind, KeyID: KeyIDOf(public), At: at.UTC().Truncate(time.Minute), Body: body}
	return n, n.validate()
}

func (n Note) validate() error {
	if n.Kind != NoteOrder && n.Kind != NoteOver {
		return thwart.FieldErrors{{Field: "kind", Value: fmt.Sprint(n.Kind), Accepted: "1 for an order, 2 for the end of a wash"}}
	}
	if !hexDigits.All(n.KeyID, 8, 8) {
		return thwart.FieldErrors{{Field: "keyId", Value: n.KeyID, Accepted: "8 hexadecimal digits"}}
	}
	if m := n.minutes(); m < 0 || m > math.MaxUint32 {
		return thwart.FieldErrors{{Field: "at", Value: n.At.Format(time.RFC3339), Accepted: "a time from 2020 on"}}
	}
	if len(n.Body) == 0 || len(n.Body) > MaxNoteBody {
		return thwart.FieldErrors{{Field: "body", Value: tongue.Say("{n} bytes", tongue.Int(len(n.Body))), Accepted: tongue.Say("1 to {n} bytes", tongue.Int(MaxNoteBody))}}
	}
	return nil
}

func (n Note) minutes() int64 { return int64(math.Floor(n.At.Sub(Epoch).Minutes())) }

// noteHead is the bytes before the body: version, kind, key, minutes.
const noteHead = 1 + 1 + 4 + 4

func (n Note) bytes() []byte {
	b := make([]byte, 0, noteHead+len(n.Body)+ed25519.SignatureSize)
	b = append(b, noteVersion, n.Kind)
	key, _ := hex.DecodeString(n.KeyID) // validate has seen that it is hexadecimal
	b = append(b, key...)
	b = binary.BigEndian.AppendUint32(b, uint32(n.minutes()))
	return append(b, n.Body...)
}

// ToSign gives the bytes that the phone's key signs.
func (n Note) ToSign() ([]byte, error) {
	if err := n.validate(); err != nil {
		return nil, err
	}
	return append([]byte(notePurpose), n.bytes()...), nil
}

// SealNote joins a note and its signature to the text of the code. A signature that does not fit is refused.
func SealNote(n Note, signature, public []byte) (text string, err error) {
	signed, err := n.ToSign()
	if err != nil {
		return "", err
	}
	if err := fits(n.KeyID, signed, signature, public); err != nil {
		return "", err
	}
	return NotePrefix + encode45(append(n.bytes(), signature...)), nil
}

// ReadNote reads the text of a note: good, altered, unknown issuer, revoked, not yet, or none. The note is there wherever it could be read
// whole; only in a good one is it to be believed.
func (r *Ring) ReadNote(text string, now time.Time) (State, Note) {
	rest, ok := strings.CutPrefix(strings.TrimSpace(text), NotePrefix)
	if !ok {
		return NoReceipt, Note{}
	}
	raw, err := decode45(rest)
	at := len(raw) - ed25519.SignatureSize
	if err != nil || at <= noteHead || raw[0] != noteVersion {
		return Altered, Note{}
	}
	n := Note{
		Kind: raw[1], KeyID: hex.EncodeToString(raw[2:6]), At: Epoch.Add(time.Duration(binary.BigEndian.Uint32(raw[6:noteHead])) * time.Minute),
		Body: raw[noteHead:at],
	}
	signed, err := n.ToSign()
	if err != nil {
		return Altered, Note{}
	}
	state, _ := r.judge(n.KeyID, signed, raw[at:], n.At, now)
	return state, n
}
