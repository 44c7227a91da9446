package thwart

import (
	"encoding/base64"
	"fmt"
	"time"

	"thwart/tongue"
)

// Receipt is the proof that a craft was given: what the code says, as it was printed. It never shortens an inspection.
type Receipt struct {
	Encounter string     `json:"encounter"`
	Wash      string     `json:"wash,omitempty"`
	IssuedAt  time.Time  `json:"issuedAt"`
	Device    string     `json:"device"`
	KeyID     string     `json:"keyId"` // of the key that signed
	Code      string     `json:"code"`  // the text of the code, whole
	Outcome   Outcome    `json:"outcome"`
	Seal      string     `json:"seal,omitempty"` // the number on the seal
	ExpiresAt *time.Time `json:"expiresAt,omitempty"`
}

// MaxCode is the longest text of a receipt's code, in bytes.
const MaxCode = 1000

// Validate checks ids and times. Whether the code's signature holds is not checked here.
func (r Receipt) Validate() error {
	var c check
	c.id("encounter", r.Encounter, "an inspection", false)
	c.id("wash", r.Wash, "a wash", true)
	c.id("device", r.Device, "the phone that issued it", false)
	if r.IssuedAt.IsZero() {
		c.fail("issuedAt", "", "when it was issued")
	}
	c.required("keyId", r.KeyID, "the key that signed it")
	c.text("keyId", r.KeyID, MaxLine)
	c.required("code", r.Code, "the text of the code")
	c.text("code", r.Code, MaxCode)
	oneOf(&c, "outcome", r.Outcome, Outcomes...)
	c.text("seal", r.Seal, 40)
	if r.ExpiresAt != nil && !r.ExpiresAt.After(r.IssuedAt) {
		c.fail("expiresAt", r.ExpiresAt.Format(time.RFC3339), "a time after issuedAt")
	}
	return c.err()
}

// Uses of a [Key].
const (
	KeyProgramme      = "programme"       // the programme's own, which vouches for its phones' keys
	KeyDevice         = "device"          // of a phone, vouched for by the programme's
	KeyRevokedReceipt = "revoked_receipt" // no key: a receipt that is no longer good
)

// Key is what phones need to read a receipt without the server: a public key, or the word that a receipt is no longer good.
type Key struct {
	Use       string     `json:"use"`
	KeyID     string     `json:"keyId,omitempty"`
	Public    []byte     `json:"public,omitempty"`    // Ed25519
	Signer    string     `json:"signer,omitempty"`    // keyId of the key that vouches for this one
	Signature []byte     `json:"signature,omitempty"` // Ed25519, by the signer
	Device    string     `json:"device,omitempty"`
	Receipt   string     `json:"receipt,omitempty"` // subject of the revoked receipt
	From      time.Time  `json:"from"`
	Until     *time.Time `json:"until,omitempty"`
	RevokedAt *time.Time `json:"revokedAt,omitempty"`
}

// Validate checks lengths and times.
func (k Key) Validate() error {
	var c check
	oneOf(&c, "use", k.Use, KeyProgramme, KeyDevice, KeyRevokedReceipt)
	if k.From.IsZero() {
		c.fail("from", "", "since when it is good")
	}
	c.text("keyId", k.KeyID, MaxLine)
	c.text("signer", k.Signer, MaxLine)
	if k.Until != nil && !k.Until.After(k.From) {
		c.fail("until", k.Until.Format(time.RFC3339), "a time after from")
	}
	switch k.Use {
	case KeyRevokedReceipt:
		c.id("receipt", k.Receipt, "a receipt", false)
		if k.RevokedAt == nil {
			c.fail("revokedAt", "", "since when the receipt is no longer good")
		}
	case KeyDevice, KeyProgramme:
		c.required("keyId", k.KeyID, "the name of the key")
		if len(k.Public) != 32 {
			c.fail("public", base64.StdEncoding.EncodeToString(k.Public), "an Ed25519 public key of 32 bytes, in base64")
		}
		if k.Use == KeyDevice {
			c.id("device", k.Device, "a phone", false)
			c.required("signer", k.Signer, "the key that vouches for this one")
		}
		if n := len(k.Signature); n != 64 && (n != 0 || k.Use == KeyDevice) {
			c.fail("signature", tongue.Say("{n} bytes", tongue.Int(n)), "an Ed25519 signature of 64 bytes, in base64")
		}
	}
	return c.err()
}

// Decisions of a [Pairing].
const (
	PairSame      = "same"
	PairDifferent = "different"
)

// Pairing is a person's word on whether two encounters were one craft. Both encounters stay as they are; a pair that is the
// same counts once. A correction turns it round.
type Pairing struct {
	A        string `json:"a"` // the earlier encounter
	B        string `json:"b"`
	Decision string `json:"decision"` // same or different
	Why      string `json:"why,omitempty"`
}

// Validate checks that two encounters are named.
func (p Pairing) Validate() error {
	var c check
	c.id("a", p.A, "an inspection", false)
	c.id("b", p.B, "an inspection", false)
	if p.A == p.B {
		c.fail("b", p.B, "another inspection than a")
	}
	oneOf(&c, "decision", p.Decision, PairSame, PairDifferent)
	c.text("why", p.Why, MaxNote)
	return c.err()
}

// Reopening takes back a look: an entry of the office that kept a record as it was, so that automatic checks doubted it no longer.
// They may doubt it again. The entry that is taken back stays, as every entry does; a correction that removes the reopening lets it
// count again.
type Reopening struct {
	Record string `json:"record"` // the record that was looked at
	Entry  string `json:"entry"`  // its entry that is taken back
	Why    string `json:"why"`
}

// Validate checks that the record, the entry and the reason are named.
func (r Reopening) Validate() error {
	var c check
	c.id("record", r.Record, "a record that was looked at", false)
	c.id("entry", r.Entry, "the entry that is taken back", false)
	if r.Why == "" {
		c.fail("why", "", "the reason")
	}
	c.text("why", r.Why, MaxWhy)
	return c.err()
}

// SecondPlace is what a second person found at one place.
type SecondPlace struct {
	Place string `json:"place"`
	Found Answer `json:"found,omitempty"` // empty: could not look
	// Like is the detection class of what was found, such as plants_seen or small_felt.
	Like string `json:"like,omitempty"`
}

// SecondLook is an inspection of a craft that another person had inspected, who did not know what the first had found. What
// one finds and the other misses tells how much both miss.
type SecondLook struct {
	Encounter string        `json:"encounter"`       // the first look
	Other     string        `json:"other,omitempty"` // the second, where it was recorded as an inspection of its own
	Person    string        `json:"person"`          // who looked the second time
	At        time.Time     `json:"at"`
	Places    []SecondPlace `json:"places,omitempty"`
	Blind     Answer        `json:"blind,omitempty"` // the second did not know what the first had found
	Note      string        `json:"note,omitempty"`
}

// Validate checks that there is something to compare.
func (s SecondLook) Validate() error {
	var c check
	c.id("encounter", s.Encounter, "an inspection", false)
	c.id("other", s.Other, "an inspection", true)
	c.id("person", s.Person, "a person", false)
	if s.Other == s.Encounter {
		c.fail("other", s.Other, "another inspection than the first")
	}
	if s.At.IsZero() {
		c.fail("at", "", "when the second look began")
	}
	if s.Other == "" && len(s.Places) == 0 {
		c.fail("places", "", "what was found place by place, or the second inspection in other")
	}
	if len(s.Places) > MaxPlaces {
		c.fail("places", len(s.Places), tongue.Say("at most {n} places", tongue.Int(MaxPlaces)))
	}
	for i, p := range s.Places {
		f := fmt.Sprintf("places[%d].", i)
		c.required(f+"place", p.Place, "the place that was looked at")
		word(&c, f+"found", p.Found, []Answer{Yes, No})
		c.text(f+"like", p.Like, 60)
	}
	word(&c, "blind", s.Blind, []Answer{Yes, No})
	c.text("note", s.Note, MaxNote)
	return c.err()
}
