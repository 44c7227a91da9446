package api_test

import (
	"crypto/ed25519"
	"net/http"
	"testing"
	"time"

	"thwart"
	"thwart/internal/api"
)

// TestDemoPhone makes a phone of the demo without a sign-in, and no manager's.
func TestDemoPhone(t *testing.T) {
	w := newWorld(t, func(c *api.Config) { c.Demo = true })
	m := w.setup()
	steward := m.account("st", thwart.AccessSteward)
	anybody := w.browser()
	if a := anybody.want(http.StatusUnprocessableEntity, "POST", "/api/demo/invite", obj{"role": "manager"}); !hasField(problemOf(t, a), "body.role") {
		t.Errorf("a manager's phone: %s", a.body)
	}
	anybody.want(http.StatusNotFound, "POST", "/api/demo/invite", obj{"role": "technician"}) // nobody has the role here
	var made struct{ Code string }
	pub, _, err := ed25519.GenerateKey(nil)
	if err != nil {
		t.Fatal(err)
	}
	enrol := func(status int) answer {
		anybody.want(http.StatusCreated, "POST", "/api/demo/invite", obj{"role": "steward"}).into(t, &made)
		if status == http.StatusForbidden {
			w.clock.add(11 * time.Minute)
		}
		return anybody.want(status, "POST", "/api/enrol", obj{"code": made.Code, "name": "try", "publicKey": []byte(pub)})
	}
	var d api.DeviceState
	enrol(http.StatusCreated).into(t, &d)
	if d.Person != steward.person || d.Role != thwart.AccessSteward || !d.Demo {
		t.Errorf("enrolled as %+v", d)
	}
	enrol(http.StatusForbidden)
}

// TestRevokedIsSaidInAHeader: a phone tells that it is out of service from a header, not from words.
func TestRevokedIsSaidInAHeader(t *testing.T) {
	w := newWorld(t, nil)
	m := w.setup()
	p := m.enrol(m.account("st", thwart.AccessSteward).person, thwart.AccessSteward)
	if got := p.want(http.StatusOK, "POST", "/api/sync", batchOf(t)).header.Get(api.HeaderDeviceState); got != "" {
		t.Errorf("in service: %q", got)
	}
	m.want(http.StatusOK, "POST", "/api/devices/"+p.id+"/revoke", nil)
	for _, path := range []string{"/api/sync", "/api/lease"} {
		if got := p.want(http.StatusForbidden, "POST", path, batchOf(t)).header.Get(api.HeaderDeviceState); got != "revoked" {
			t.Errorf("%s: %q", path, got)
		}
	}
}
