package receipt

import (
	"crypto/ed25519"
	"encoding/hex"
	"errors"
	"slices"
	"strings"
	"time"

	"thwart"
	"thwart/tongue"
)

// State is what a reading of a receipt comes to.
type State string

// States. Only good says anything for the craft, and only of the time before it was issued.
const (
	Good      State = "good"
	Altered   State = "altered"        // somebody changed it, or it was read wrong: read it again
	Expired   State = "expired"        // it was good once
	NoPass    State = "no_pass"        // true: it says what was, and was never good for anything
	Unknown   State = "unknown_issuer" // no key on this phone; it may be another programme's
	Revoked   State = "revoked"        // it, or the key that signed it, is no longer good
	NotYet    State = "not_yet"        // issued later than this phone's clock: one of two clocks is wrong
	InWater   State = "in_water_since" // true, and no longer of use: the craft has been in a water since
	NoReceipt State = "not_a_receipt"
)

// States lists every state.
var States = []State{Good, Altered, Expired, NoPass, Unknown, Revoked, NotYet, InWater, NoReceipt}

// ClockSlack is how far two honest phones' clocks may differ.
const ClockSlack = 10 * time.Minute

// Reading is what a phone makes of a receipt.
type Reading struct {
	State State  `json:"state"`
	Why   string `json:"why"`             // in words
	Facts *Facts `json:"facts,omitempty"` // what it says, where it can be read; not to be believed unless the state is good, expired, no_pass or in_water_since
	// AskWater: ask whether the craft has been in any water since, before the receipt is given any weight.
	AskWater bool `json:"askWater,omitempty"`
	// Seal is what an inspection may hold of it; present only when it is good and speaks of a seal. The protocol decides what it
	// counts for.
	Seal *thwart.Seal `json:"seal,omitempty"`
	// SameProtocol: issued under the protocol edition that is in force here.
	SameProtocol thwart.Answer `json:"sameProtocol,omitempty"`
	SameLaunch   bool          `json:"sameLaunch,omitempty"`
}

// Ring is the keys and revocations a phone carries, made of the programme's key records.
type Ring struct {
	programme map[string]thwart.Key
	device    map[string][]thwart.Key
	receipts  map[string]bool // ids of revoked receipts
}

// NewRing takes the key records of a programme, heads only. A programme's key counts when anchors names it, or when a key that
// counts vouches for it, which is how keys are rotated; with no anchors, every programme key counts, as for records pulled
// over a connection that was checked. A phone's key counts when a programme key that counts vouches for it. What does not
// count is left out, and told in rejected.
func NewRing(keys []thwart.Key, anchors []string) (ring *Ring, rejected []string) {
	r := &Ring{programme: map[string]thwart.Key{}, device: map[string][]thwart.Key{}, receipts: map[string]bool{}}
	var later []thwart.Key
	for _, k := range keys {
		switch {
		case k.Validate() != nil || k.Use != thwart.KeyRevokedReceipt && KeyIDOf(k.Public) != k.KeyID:
			rejected = append(rejected, k.KeyID)
		case k.Use == thwart.KeyRevokedReceipt:
			r.receipts[IDOf(k.Receipt)] = true
		case k.Use == thwart.KeyProgramme && (len(anchors) == 0 || slices.Contains(anchors, k.KeyID)):
			r.programme[k.KeyID] = k
		default:
			later = append(later, k)
		}
	}
	for added := true; added; {
		added = false
		for _, k := range later {
			if _, have := r.programme[k.KeyID]; k.Use == thwart.KeyProgramme && !have && r.vouched(&k) == nil {
				r.programme[k.KeyID], added = k, true
			}
		}
	}
	for _, k := range later {
		switch _, have := r.programme[k.KeyID]; {
		case k.Use == thwart.KeyDevice && r.vouched(&k) == nil:
			r.device[k.KeyID] = append(r.device[k.KeyID], k)
		case !have:
			rejected = append(rejected, k.KeyID)
		}
	}
	return r, rejected
}

var errNotVouched = errors.New("no key that counts vouches for it")

// vouched checks the signature of a key by a programme key that counts and was in use when it vouched.
func (r *Ring) vouched(k *thwart.Key) error {
	by, ok := r.programme[k.Signer]
	if !ok || len(k.Signature) != ed25519.SignatureSize || !ed25519.Verify(by.Public, KeyToSign(*k), k.Signature) {
		return errNotVouched
	}
	// A programme's next key says since when the one before it counted; for phones a key speaks of its own time alone.
	if k.From.Before(by.From) && k.Use != thwart.KeyProgramme || by.Until != nil && !k.From.Before(*by.Until) || by.RevokedAt != nil {
		return errNotVouched
	}
	return nil
}

// KeyToSign gives the bytes a programme key signs to vouch for another key: its use, name, bytes, phone and first day. The
// last day and a revocation are not covered: they come later and only take away.
func KeyToSign(k thwart.Key) []byte {
	return []byte(strings.Join([]string{
		"thwart-key-1", k.Use, k.KeyID, hex.EncodeToString(k.Public), k.Device, k.From.UTC().Format(time.RFC3339), k.Signer,
	}, "\n"))
}

// Vouch makes the record by which a programme's key vouches for a phone's, or for the programme's next.
func Vouch(k thwart.Key, by ed25519.PrivateKey) thwart.Key {
	k.From = k.From.UTC().Truncate(time.Second)
	k.KeyID = KeyIDOf(k.Public)
	k.Signer = KeyIDOf(by.Public().(ed25519.PublicKey))
	k.Signature = ed25519.Sign(by, KeyToSign(k))
	return k
}

// judge finds the phone's key of a name under which a signature holds, and says whether that key was good at a time that lies not in
// the future: good, unknown issuer, altered, revoked or not yet. Without a key that fits, the key is empty.
func (r *Ring) judge(keyID string, signed, signature []byte, at, now time.Time) (State, thwart.Key) {
	keys := r.device[keyID]
	if len(keys) == 0 {
		return Unknown, thwart.Key{}
	}
	i := slices.IndexFunc(keys, func(k thwart.Key) bool { return ed25519.Verify(k.Public, signed, signature) })
	if i < 0 {
		return Altered, thwart.Key{}
	}
	k := keys[i]
	switch {
	case k.RevokedAt != nil || at.Before(k.From.Add(-ClockSlack)) || k.Until != nil && at.After(k.Until.Add(ClockSlack)):
		return Revoked, k
	case at.After(now.Add(ClockSlack)):
		return NotYet, k
	}
	return Good, k
}

// Asked is what the reader knows besides the text.
type Asked struct {
	Now time.Time `json:"now"`
	// WaterSince: has the craft been in any water since it was issued? As the boater says.
	WaterSince thwart.Answer `json:"waterSince,omitempty"`
	Protocol   string        `json:"protocol,omitempty"` // id@version in force here
	Launch     string        `json:"launch,omitempty"`   // subject of this launch
}

// Read reads the text of a receipt. It never fails: whatever was read is one of the states. Why names no time: a receipt holds its own in
// UTC, and whoever shows the reading says it once, by the clock of the place.
func (r *Ring) Read(text string, q Asked) Reading {
	f, signed, signature, err := open(text)
	switch {
	case errors.Is(err, errText):
		return Reading{State: NoReceipt, Why: tongue.Say("This is not a receipt. Inspect as always.")}
	case err != nil:
		return Reading{State: Altered, Why: tongue.Say("The receipt cannot be read whole. Read it again; if it stays so, it counts as altered.")}
	}
	out := Reading{Facts: &f}
	is := func(s State, why string) Reading {
		out.State, out.Why = s, why
		return out
	}
	state, k := r.judge(f.KeyID, signed, signature, f.IssuedAt, q.Now)
	switch {
	case state == Unknown:
		return is(state, tongue.Say("No key on this phone fits it. It may come from another programme, or this phone has not sent and fetched for a while."))
	case state == Altered:
		return is(state, tongue.Say("Its signature does not fit what it says. It counts as altered."))
	case r.receipts[f.ID]:
		return is(Revoked, tongue.Say("The programme has taken this receipt back."))
	case state == Revoked && k.RevokedAt != nil:
		return is(state, tongue.Say("The phone that issued it is no longer trusted, from {date} on; a date on its receipts proves nothing.", k.RevokedAt.UTC().Format(time.DateOnly)))
	case state == Revoked:
		return is(state, tongue.Say("Its key was not in use on the day it names."))
	case state == NotYet:
		return is(state, tongue.Say("It was issued later than this phone's clock says it is now. One of the two clocks is wrong."))
	}
	if q.Protocol != "" {
		out.SameProtocol = thwart.No
		if f.Protocol == Edition(q.Protocol) {
			out.SameProtocol = thwart.Yes
		}
	}
	out.SameLaunch = q.Launch != "" && f.Launch == Short(q.Launch)
	switch {
	case q.WaterSince == thwart.Yes:
		return is(InWater, tongue.Say("It is true, but the craft has been in a water since. It says nothing of now."))
	case f.ValidH == 0:
		return is(NoPass, tongue.Say("It is as it was issued, and no pass: it says how the craft was then."))
	case !q.Now.Before(f.ExpiresAt()):
		return is(Expired, tongue.Say("It was good, and its time is over. It says nothing of now."))
	}
	out.AskWater = !q.WaterSince.Known()
	if f.Seal != "" {
		out.Seal = &thwart.Seal{Number: f.Seal, Receipt: thwart.Yes, Launched: q.WaterSince}
	}
	why := tongue.Say("It is as it was issued.")
	if out.AskWater {
		why += " " + tongue.Say("Ask whether the craft has been in any water since.")
	}
	return is(Good, why+" "+tongue.Say("Inspect as always unless the protocol says otherwise."))
}
