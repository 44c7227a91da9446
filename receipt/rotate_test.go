package receipt_test

import (
	"crypto/ed25519"
	"maps"
	"testing"
	"time"

	"thwart"
	"thwart/receipt"
)

func keyOf(b byte) ed25519.PrivateKey {
	seed := make([]byte, ed25519.SeedSize)
	seed[0] = b
	return ed25519.NewKeyFromSeed(seed)
}

func idOf(k ed25519.PrivateKey) string { return receipt.KeyIDOf(k.Public().(ed25519.PublicKey)) }

// headsOf is a list of heads with one programme key and one phone.
func headsOf(key, phone ed25519.PrivateKey, at time.Time) []thwart.Key {
	public := key.Public().(ed25519.PublicKey)
	return []thwart.Key{
		{Use: thwart.KeyProgramme, KeyID: receipt.KeyIDOf(public), Public: public, From: at},
		receipt.Vouch(thwart.Key{Use: thwart.KeyDevice, Public: phone.Public().(ed25519.PublicKey), Device: "01980d5e-6a00-7000-8000-00000000beef", From: at}, key),
	}
}

func apply(heads []thwart.Key, r receipt.Rotation) []thwart.Key {
	out := append([]thwart.Key{}, heads...)
	for i, k := range maps.All(r.Corrected) {
		out[i] = k
	}
	return append(out, r.Added...)
}

func issued(t *testing.T, phone ed25519.PrivateKey, at time.Time) string {
	t.Helper()
	text, err := receipt.Issue(receipt.Facts{ID: "0123456789ab", What: receipt.Inspected, Outcome: thwart.Launch, IssuedAt: at, ValidH: 48, Launch: "01234567", Protocol: "012345"}, phone)
	if err != nil {
		t.Fatal(err)
	}
	return text
}

func TestRotate(t *testing.T) {
	day := func(d int) time.Time { return time.Date(2026, 7, d, 12, 0, 0, 0, time.UTC) }
	old, next, third, phone, later := keyOf(1), keyOf(2), keyOf(3), keyOf(4), keyOf(5)
	before, after := issued(t, phone, day(2)), issued(t, phone, day(4))
	heads := headsOf(old, phone, day(1))
	state := func(heads []thwart.Key, text string, at time.Time, anchors ...string) receipt.State {
		t.Helper()
		ring, _ := receipt.NewRing(heads, anchors)
		return ring.Read(text, receipt.Asked{Now: at}).State
	}
	turned := apply(heads, receipt.Rotate(heads, old, next, day(3), false))
	twice := apply(turned, receipt.Rotate(turned, next, third, day(3).Add(time.Hour), false))
	for name, list := range map[string][]thwart.Key{"once": turned, "twice": twice} {
		for _, k := range list {
			if err := k.Validate(); err != nil {
				t.Errorf("%s: %v", name, err)
			}
		}
		// A phone enrolled after the rotation has the new key's word.
		signer := map[string]ed25519.PrivateKey{"once": next, "twice": third}[name]
		list = append(list, receipt.Vouch(thwart.Key{Use: thwart.KeyDevice, Public: later.Public().(ed25519.PublicKey), Device: "01980d5e-6a00-7000-8000-00000000cafe", From: day(4)}, signer))
		for _, anchors := range [][]string{nil, {idOf(old)}, {idOf(next)}, {idOf(signer)}} {
			if got := state(list, before, day(3).Add(6*time.Hour), anchors...); got != receipt.Good {
				t.Errorf("%s, holding on to %v: a receipt from before reads %s", name, anchors, got)
			}
			if got := state(list, before, day(9), anchors...); got != receipt.Expired {
				t.Errorf("%s, holding on to %v: an old receipt reads %s", name, anchors, got)
			}
			if got := state(list, after, day(5), anchors...); got != receipt.Good {
				t.Errorf("%s, holding on to %v: a receipt from after by a phone from before reads %s", name, anchors, got)
			}
			if got := state(list, issued(t, later, day(5)), day(5), anchors...); got != receipt.Good {
				t.Errorf("%s, holding on to %v: a receipt by a new phone reads %s", name, anchors, got)
			}
		}
		// The old key vouches for nothing new.
		stale := append(list[:len(list)-1:len(list)-1], receipt.Vouch(thwart.Key{Use: thwart.KeyDevice, Public: later.Public().(ed25519.PublicKey), Device: "01980d5e-6a00-7000-8000-00000000cafe", From: day(4)}, old))
		if got := state(stale, issued(t, later, day(5)), day(5)); got != receipt.Unknown {
			t.Errorf("%s: what the old key vouches for after its time reads %s", name, got)
		}
	}
}

// A revoked phone stays revoked, and a key that was lost makes nothing good any more.
func TestRotateRevokedAndLost(t *testing.T) {
	day := func(d int) time.Time { return time.Date(2026, 7, d, 12, 0, 0, 0, time.UTC) }
	old, next, phone := keyOf(1), keyOf(2), keyOf(4)
	heads := headsOf(old, phone, day(1))
	at := day(2)
	heads[1].RevokedAt = &at
	for _, lost := range []bool{false, true} {
		ring, _ := receipt.NewRing(apply(heads, receipt.Rotate(heads, old, next, day(3), lost)), nil)
		if got := ring.Read(issued(t, phone, day(2)), receipt.Asked{Now: day(3)}).State; got == receipt.Good {
			t.Errorf("lost %v: a revoked phone's receipt reads %s", lost, got)
		}
	}
	heads = headsOf(old, phone, day(1))
	heads = apply(heads, receipt.Rotate(heads, old, next, day(3), true))
	forged := receipt.Vouch(thwart.Key{Use: thwart.KeyDevice, Public: keyOf(9).Public().(ed25519.PublicKey), Device: "01980d5e-6a00-7000-8000-00000000cafe", From: day(1)}, old)
	ring, _ := receipt.NewRing(append(heads, forged), nil)
	for name, c := range map[string]struct {
		text string
		want receipt.State
	}{
		"by a phone in service, from after": {issued(t, phone, day(4)), receipt.Good},
		"by the same phone, from before":    {issued(t, phone, day(2)), receipt.Revoked},
		"by whoever found the lost key":     {issued(t, keyOf(9), day(4)), receipt.Unknown},
	} {
		if got := ring.Read(c.text, receipt.Asked{Now: day(4)}).State; got != c.want {
			t.Errorf("%s: %s, want %s", name, got, c.want)
		}
	}
}
