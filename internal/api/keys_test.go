package api_test

import (
	"crypto/ed25519"
	"encoding/json"
	"net/http"
	"testing"
	"time"

	"thwart"
	"thwart/internal/api"
	"thwart/receipt"
)

// pulledKeys are the heads of the key records, as a phone pulls them.
func pulledKeys(t *testing.T, p *phone) []thwart.Key {
	t.Helper()
	var page struct{ Entries []thwart.Kept }
	p.want(http.StatusOK, "GET", "/api/changes?kinds=key&limit=500", nil).into(t, &page)
	last, order := map[string]thwart.Key{}, []string{}
	for _, e := range page.Entries {
		var k thwart.Key
		if err := json.Unmarshal(e.Body, &k); err != nil {
			t.Fatal(err)
		}
		if _, seen := last[e.Subject]; !seen {
			order = append(order, e.Subject)
		}
		last[e.Subject] = k
	}
	var keys []thwart.Key
	for _, s := range order {
		keys = append(keys, last[s])
	}
	return keys
}

// A phone that enrols has its key vouched for; another phone reads its receipts with what it pulled; once it is revoked, they
// no longer count.
func TestKeysOfReceipts(t *testing.T) {
	signing := ed25519.NewKeyFromSeed(make([]byte, 32))
	w := newWorld(t, func(c *api.Config) { c.SigningKey = func() (ed25519.PrivateKey, error) { return signing, nil } })
	office := w.setup()
	one := office.enrol(office.addPerson("P", thwart.RoleSteward), thwart.AccessSteward)
	two := office.enrol(office.addPerson("Q", thwart.RoleSteward), thwart.AccessSteward)
	keys := pulledKeys(t, two)
	if len(keys) != 3 {
		t.Fatalf("%d keys, want the programme's and two phones'", len(keys))
	}
	var state api.DeviceState
	two.want(http.StatusOK, "POST", "/api/lease", nil).into(t, &state)
	if state.ReceiptKey != receipt.KeyIDOf(signing.Public().(ed25519.PublicKey)) {
		t.Errorf("receipt key %q", state.ReceiptKey)
	}
	if again := pulledKeys(t, two); len(again) != 3 {
		t.Errorf("renewing a lease made %d keys of 3", len(again))
	}
	text, err := receipt.Issue(receipt.Facts{
		ID: "0123456789ab", What: receipt.Inspected, Outcome: thwart.Launch, IssuedAt: w.clock.Now().Add(time.Minute), ValidH: 12, Launch: "01234567", Protocol: "012345",
	}, one.key)
	if err != nil {
		t.Fatal(err)
	}
	read := func() receipt.State {
		ring, rejected := receipt.NewRing(pulledKeys(t, two), []string{state.ReceiptKey})
		if len(rejected) > 0 {
			t.Errorf("rejected %v", rejected)
		}
		return ring.Read(text, receipt.Asked{Now: w.clock.Now().Add(time.Hour)}).State
	}
	if got := read(); got != receipt.Good {
		t.Errorf("%s, want good", got)
	}
	office.want(http.StatusOK, "POST", "/api/devices/"+one.id+"/revoke", nil)
	if got := read(); got != receipt.Revoked {
		t.Errorf("%s, want revoked", got)
	}
}

// A receipt signed before the programme's key was changed is read after it, by whoever holds on to either key; a phone enrolled
// since has the new key's word; a revoked phone stays revoked.
func TestRotateReceiptKey(t *testing.T) {
	seeds := [][]byte{make([]byte, 32), []byte("another seed, also of 32 bytes!!")}
	at := 0
	w := newWorld(t, func(c *api.Config) {
		c.SigningKey = func() (ed25519.PrivateKey, error) { return ed25519.NewKeyFromSeed(seeds[at]), nil }
		c.PreviousKey = func() (ed25519.PrivateKey, error) {
			if at == 0 {
				return nil, nil
			}
			return ed25519.NewKeyFromSeed(seeds[at-1]), nil
		}
		c.NextKey = func() (ed25519.PrivateKey, ed25519.PrivateKey, error) {
			at++
			return ed25519.NewKeyFromSeed(seeds[at-1]), ed25519.NewKeyFromSeed(seeds[at]), nil
		}
	})
	office := w.setup()
	person := office.addPerson("P", thwart.RoleSteward)
	one, gone := office.enrol(person, thwart.AccessSteward), office.enrol(person, thwart.AccessSteward)
	issue := func(p *phone) string {
		text, err := receipt.Issue(receipt.Facts{
			ID: "0123456789ab", What: receipt.Inspected, Outcome: thwart.Launch, IssuedAt: w.clock.Now().Add(time.Minute), ValidH: 12, Launch: "01234567", Protocol: "012345",
		}, p.key)
		if err != nil {
			t.Fatal(err)
		}
		return text
	}
	before, revoked := issue(one), issue(gone)
	office.want(http.StatusOK, "POST", "/api/devices/"+gone.id+"/revoke", nil)
	w.clock.add(12 * time.Minute)
	office.want(http.StatusUnprocessableEntity, "POST", "/api/receipt-key/rotate", map[string]any{"confirm": "no"})
	old := receipt.KeyIDOf(ed25519.NewKeyFromSeed(seeds[0]).Public().(ed25519.PublicKey))
	var rotated api.RotatedKey
	office.want(http.StatusOK, "POST", "/api/receipt-key/rotate", map[string]any{"confirm": old}).into(t, &rotated)
	if rotated.Before != old || rotated.KeyID == old {
		t.Errorf("%+v", rotated)
	}
	w.clock.add(12 * time.Minute)
	two := office.enrol(person, thwart.AccessSteward)
	after := issue(two)
	keys := pulledKeys(t, two)
	for _, anchors := range [][]string{nil, {old}, {rotated.KeyID}} {
		ring, rejected := receipt.NewRing(keys, anchors)
		for text, want := range map[string]receipt.State{before: receipt.Good, after: receipt.Good, revoked: receipt.Revoked} {
			if got := ring.Read(text, receipt.Asked{Now: w.clock.Now().Add(2 * time.Minute)}).State; got != want {
				t.Errorf("holding on to %v: %s, want %s (rejected %v)", anchors, got, want, rejected)
			}
		}
	}
}
