// Package receipt is the proof a boater carries: what was looked at or washed, when, with what verdict, signed so that any
// enrolled phone can read it without a network.
//
// A receipt is a few facts in CBOR (RFC 8949, core deterministic encoding), an Ed25519 signature over them (RFC 8032), and both
// written in base45 (RFC 9285), so that a QR code of version 6 to 8 holds them. It carries no name, registration, address or
// boat. Phones sign with their own key; the programme's key vouches for the phones' keys ([Vouch]); phones carry the list of
// keys and of what was revoked ([Ring]).
//
// [Facts.ToSign] and [Seal] make one; [Ring.Read] reads one and says good, altered, expired and so on. A receipt adds to what is
// known. It never shortens an inspection by itself: what it may count for is the protocol's business (package advice), which is
// given a [thwart.Seal] and asks besides whether the craft has been in any water since.
package receipt

import (
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"math"
	"strings"
	"time"

	"thwart"
	"thwart/form"
	"thwart/tongue"
)

// What a receipt is for.
const (
	Inspected = "inspected"
	Washed    = "washed"
	Dried     = "dried"
)

var kinds = []string{Inspected, Washed, Dried}

// Facts are what a receipt says.
type Facts struct {
	ID       string         `json:"id"`   // 12 hexadecimal digits: the end of the receipt record's subject
	What     string         `json:"what"` // inspected, washed or dried
	Outcome  thwart.Outcome `json:"outcome"`
	IssuedAt time.Time      `json:"issuedAt"` // to the minute
	ValidH   int            `json:"validH"`   // hours from then on; 0 = it says what was, and is never valid for anything
	KeyID    string         `json:"keyId"`    // of the signing key, 8 hexadecimal digits
	Launch   string         `json:"launch"`   // 8 hexadecimal digits: [Short] of the launch's subject
	Protocol string         `json:"protocol"` // 6 hexadecimal digits: [Edition] of id@version
	Seal     string         `json:"seal,omitempty"`
}

// Limits of the facts.
const (
	MaxValidH = 24 * 366
	MaxSeal   = 20
)

// Epoch is what times are counted from, so that a minute takes four bytes until the year 10186.
var Epoch = time.Date(2020, 1, 1, 0, 0, 0, 0, time.UTC)

// version of the layout of the facts.
const version = 1

// Short is the short form of a subject's id in a receipt: the first 8 hexadecimal digits of its SHA-256.
func Short(subject string) string { return digest(subject, 4) }

// Edition is the short form of a protocol's id@version: the first 6 hexadecimal digits of its SHA-256.
func Edition(protocol string) string { return digest(protocol, 3) }

// IDOf is what a receipt carries of its record's subject: its last 12 digits, which are random.
func IDOf(subject string) string {
	if !thwart.IsID(subject) {
		return ""
	}
	return subject[len(subject)-12:]
}

// KeyIDOf names a public key: the first 8 hexadecimal digits of its SHA-256.
func KeyIDOf(public []byte) string { return digest(string(public), 4) }

func digest(s string, bytes int) string {
	sum := sha256.Sum256([]byte(s))
	return hex.EncodeToString(sum[:bytes])
}

var (
	hexDigits = form.Chars("0-9a-f")
	sealChars = form.Chars("0-9A-Za-z./ -")
)

// Validate reports every fact that cannot be taken.
func (f Facts) Validate() error {
	var errs thwart.FieldErrors
	need := func(ok bool, field, value, accepted string) {
		if !ok {
			errs = append(errs, thwart.FieldError{Field: field, Value: value, Accepted: accepted})
		}
	}
	need(hexDigits.All(f.ID, 12, 12), "id", f.ID, "12 hexadecimal digits, the end of the record's subject")
	need(indexOf(kinds, f.What) >= 0, "what", f.What, strings.Join(kinds, ", "))
	need(f.Outcome.Rank() >= 0, "outcome", string(f.Outcome), "launch, fix_here, wash, dry, hold")
	m := f.minutes()
	need(m >= 0 && m <= math.MaxUint32, "issuedAt", f.IssuedAt.Format(time.RFC3339), "a time from 2020 on")
	need(f.ValidH >= 0 && f.ValidH <= MaxValidH, "validH", fmt.Sprint(f.ValidH), tongue.Say("0 to {n} hours", tongue.Int(MaxValidH)))
	need(hexDigits.All(f.KeyID, 8, 8), "keyId", f.KeyID, "8 hexadecimal digits")
	need(hexDigits.All(f.Launch, 8, 8), "launch", f.Launch, "8 hexadecimal digits, the short form of the launch's subject")
	need(hexDigits.All(f.Protocol, 6, 6), "protocol", f.Protocol, "6 hexadecimal digits, the short form of id@version")
	need(sealChars.All(f.Seal, 0, MaxSeal), "seal", f.Seal, tongue.Say("up to {n} letters, digits, blanks, points, dashes and strokes", tongue.Int(MaxSeal)))
	if errs != nil {
		return errs
	}
	return nil
}

func (f Facts) minutes() int64 { return int64(math.Floor(f.IssuedAt.Sub(Epoch).Minutes())) }

// ExpiresAt is when a receipt stops being valid.
func (f Facts) ExpiresAt() time.Time { return f.IssuedAt.Add(time.Duration(f.ValidH) * time.Hour) }

func indexOf(list []string, s string) int {
	for i, x := range list {
		if x == s {
			return i
		}
	}
	return -1
}

// bytes gives the facts as deterministic CBOR: an array of nine, in a fixed order.
func (f Facts) bytes() []byte {
	var b []byte
	b = cborHead(b, 4, 9)
	b = cborHead(b, 0, version)
	b = cborHead(b, 0, uint64(indexOf(kinds, f.What)))
	b = cborHead(b, 0, uint64(f.Outcome.Rank()))
	b = cborHead(b, 0, uint64(f.minutes()))
	b = cborHead(b, 0, uint64(f.ValidH))
	for _, h := range []string{f.KeyID + f.ID, f.Launch, f.Protocol} {
		raw, _ := hex.DecodeString(h) // Validate has seen that it is hexadecimal
		b = append(cborHead(b, 2, uint64(len(raw))), raw...)
	}
	b = append(cborHead(b, 3, uint64(len(f.Seal))), f.Seal...)
	return b
}

// purpose keeps a signature for something else from being taken for a receipt's.
const purpose = "thwart-receipt-1\n"

// ToSign gives the bytes that the phone's key signs. The facts must be valid.
func (f Facts) ToSign() ([]byte, error) {
	if err := f.Validate(); err != nil {
		return nil, err
	}
	return append([]byte(purpose), f.bytes()...), nil
}

// Prefix begins every receipt's text, so that a phone knows what it has read.
const Prefix = "TW1:"

// Seal joins facts and their signature to the text of the code. public is the signer's key: a signature that does not fit is
// refused here rather than handed to a boater.
func Seal(f Facts, signature, public []byte) (text string, err error) {
	signed, err := f.ToSign()
	if err != nil {
		return "", err
	}
	if err := fits(f.KeyID, signed, signature, public); err != nil {
		return "", err
	}
	return Prefix + encode45(append(f.bytes(), signature...)), nil
}

// fits checks a signature and the key it was made with before anything is handed out.
func fits(keyID string, signed, signature, public []byte) error {
	if len(public) != ed25519.PublicKeySize || KeyIDOf(public) != keyID {
		return thwart.FieldErrors{{Field: "public", Value: hex.EncodeToString(public), Accepted: "the public key that keyId names"}}
	}
	if len(signature) != ed25519.SignatureSize || !ed25519.Verify(public, signed, signature) {
		return thwart.FieldErrors{{Field: "signature", Value: hex.EncodeToString(signature), Accepted: "the Ed25519 signature of this by this key"}}
	}
	return nil
}

// Issue signs and seals with a key at hand.
func Issue(f Facts, key ed25519.PrivateKey) (text string, err error) {
	public := key.Public().(ed25519.PublicKey)
	f.KeyID = KeyIDOf(public)
	signed, err := f.ToSign()
	if err != nil {
		return "", err
	}
	return Seal(f, ed25519.Sign(key, signed), public)
}

// errText says that a text is no receipt, or one that has been altered beyond reading.
var errText = errors.New("not the text of a receipt")

// open takes a text apart. Each receipt has exactly one text: anything that would be written otherwise is refused.
func open(text string) (f Facts, signed, signature []byte, err error) {
	rest, ok := strings.CutPrefix(strings.TrimSpace(text), Prefix)
	if !ok {
		return f, nil, nil, errText
	}
	raw, err := decode45(rest)
	if err != nil || len(raw) < ed25519.SignatureSize {
		return f, nil, nil, fmt.Errorf("%w: %v", errAltered, err)
	}
	at := len(raw) - ed25519.SignatureSize
	if f, err = parse(raw[:at]); err != nil {
		return f, nil, nil, err
	}
	return f, append([]byte(purpose), raw[:at]...), raw[at:], nil
}

var errAltered = errors.New("the text does not hold together")

func parse(b []byte) (Facts, error) {
	r := cborReader{b: b}
	var f Facts
	if n := r.head(4); n != 9 {
		r.bad = true
	}
	v := r.head(0)
	what, outcome := r.head(0), r.head(0)
	minutes, valid := r.head(0), r.head(0)
	key, launch, protocol := r.text(2), r.text(2), r.text(2)
	f.Seal = r.text(3)
	if r.bad || len(r.b) != 0 || v != version || what >= uint64(len(kinds)) || outcome >= uint64(len(thwart.Outcomes)) || minutes > math.MaxUint32 ||
		valid > MaxValidH || len(key) != 10 {
		return Facts{}, errAltered
	}
	f.What, f.Outcome, f.ValidH = kinds[what], thwart.Outcomes[outcome], int(valid)
	f.IssuedAt = Epoch.Add(time.Duration(minutes) * time.Minute)
	f.KeyID, f.ID = hex.EncodeToString([]byte(key[:4])), hex.EncodeToString([]byte(key[4:]))
	f.Launch, f.Protocol = hex.EncodeToString([]byte(launch)), hex.EncodeToString([]byte(protocol))
	if f.Validate() != nil || string(f.bytes()) != string(b) {
		return Facts{}, errAltered
	}
	return f, nil
}
