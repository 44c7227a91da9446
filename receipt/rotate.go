package receipt

import (
	"crypto/ed25519"
	"time"

	"thwart"
)

// Rotation is what a change of the programme's key adds to the key records and changes in them.
type Rotation struct {
	Added     []thwart.Key
	Corrected map[int]thwart.Key // by place in the list of heads
}

// Rotate hands the programme's word over from one key to the next. Each vouches for the other, so that readers who hold on to
// either know both. What the old key vouched for while it was in use stays good: receipts are read until they expire, and no
// phone enrols anew. Revocations stay as they are.
//
// With lost, the old key is no longer trusted at all, as when somebody else may have it: nothing that it vouched for counts, and
// the new key vouches for every phone that is in service, from now on. Receipts from before are then worth nothing, and readers
// who hold on to the old key have to be given the new one's id.
func Rotate(heads []thwart.Key, from, to ed25519.PrivateKey, at time.Time, lost bool) Rotation {
	at = at.UTC().Truncate(time.Second)
	r := Rotation{Corrected: map[int]thwart.Key{}}
	own := from.Public().(ed25519.PublicKey)
	next := thwart.Key{Use: thwart.KeyProgramme, KeyID: KeyIDOf(to.Public().(ed25519.PublicKey)), Public: to.Public().(ed25519.PublicKey), From: at}
	if !lost {
		next = Vouch(next, from)
	}
	r.Added = append(r.Added, next)
	end := at.Add(time.Second) // after the last thing it vouches for
	vouchedBack := false
	for i, k := range heads {
		switch {
		case k.Use == thwart.KeyProgramme && k.KeyID == KeyIDOf(own):
			k.Until = &end
			if lost {
				k.RevokedAt = &at
			} else if !vouchedBack {
				// A record of its own: the one that is there may hold the word of the key before, which other readers hold on to.
				r.Added, vouchedBack = append(r.Added, Vouch(k, to)), true
			}
			r.Corrected[i] = k
		case lost && k.Use == thwart.KeyDevice && k.RevokedAt == nil && k.Signer == KeyIDOf(own):
			r.Added = append(r.Added, Vouch(thwart.Key{Use: thwart.KeyDevice, Public: k.Public, Device: k.Device, From: at}, to))
		}
	}
	return r
}
