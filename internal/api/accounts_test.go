package api_test

import (
	"fmt"
	"net/http"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"thwart"
	"thwart/internal/api"
)

func TestSetupOnceUnderConcurrency(t *testing.T) {
	w := newWorld(t, nil)
	var created, refused atomic.Int32
	var wg sync.WaitGroup
	for i := range 8 {
		wg.Go(func() {
			a := w.browser().do("POST", "/api/setup", obj{"code": setupCode, "name": "M", "login": fmt.Sprintf("m%d", i), "password": password})
			switch a.status {
			case http.StatusCreated:
				created.Add(1)
			case http.StatusConflict:
				refused.Add(1)
			default:
				t.Errorf("status %d: %s", a.status, a.body)
			}
		})
	}
	wg.Wait()
	if created.Load() != 1 || refused.Load() != 7 {
		t.Errorf("%d set-ups, %d refused", created.Load(), refused.Load())
	}
	var people thwart.Page[thwart.Subject]
	accounts, err := w.store.ListAccounts(t.Context())
	if err != nil || len(accounts) != 1 {
		t.Fatalf("%d accounts, %v", len(accounts), err)
	}
	people, err = w.store.Subjects(t.Context(), thwart.SubjectQuery{Kind: thwart.KindPerson})
	if err != nil || len(people.Items) != 1 {
		t.Errorf("%d people, %v", len(people.Items), err)
	}
	if a := w.browser().do("GET", "/api/setup", nil); !strings.Contains(string(a.body), `"needed":false`) {
		t.Errorf("set-up still asked for: %s", a.body)
	}
}

func TestSetupNeedsTheCode(t *testing.T) {
	w := newWorld(t, nil)
	a := w.browser().want(http.StatusForbidden, "POST", "/api/setup", obj{"code": "guessed", "name": "M", "login": "mm", "password": password})
	problemOf(t, a)
	// Written as people write codes down, it still is the code.
	w.browser().want(http.StatusCreated, "POST", "/api/setup", obj{"code": "setup codei 23456", "name": "M", "login": "mm", "password": password})
}

func TestNoCodeNoSetup(t *testing.T) {
	w := newWorld(t, func(c *api.Config) { c.SetupCode = "" })
	w.browser().want(http.StatusForbidden, "POST", "/api/setup", obj{"code": "", "name": "M", "login": "mm", "password": password})
}

func TestSessionEndsAtSignOutPasswordChangeIdleAndAge(t *testing.T) {
	w := newWorld(t, nil)
	m := w.setup()
	m.want(http.StatusOK, "GET", "/api/me", nil)

	// A copy of the cookie is dead after the sign-out, on this server and on one started afterwards.
	other := w.browser()
	other.want(http.StatusOK, "POST", "/api/sign-in", obj{"login": "marit", "password": password})
	stolen := cookieOf(other)
	other.want(http.StatusNoContent, "POST", "/api/sign-out", nil)
	thief := w.browser()
	thief.header.Set("Cookie", stolen)
	thief.want(http.StatusUnauthorized, "GET", "/api/me", nil)
	w.serve(nil)
	thief.want(http.StatusUnauthorized, "GET", "/api/me", nil)
	// The manager's own session is alive on the new server: it has the same key.
	kept := w.browser()
	kept.header.Set("Cookie", cookieOf(m))
	kept.want(http.StatusOK, "GET", "/api/me", nil)

	// A new password ends every other session.
	second := w.browser()
	second.want(http.StatusOK, "POST", "/api/sign-in", obj{"login": "MARIT ", "password": password})
	second.want(http.StatusOK, "POST", "/api/password", obj{"oldPassword": password, "newPassword": "heron sundial biscuit"})
	second.want(http.StatusOK, "GET", "/api/me", nil)
	kept.want(http.StatusUnauthorized, "GET", "/api/me", nil)

	// Used every 20 minutes a session lives 12 hours and no longer.
	for range 35 {
		w.clock.add(20 * time.Minute)
		second.want(http.StatusOK, "GET", "/api/me", nil)
	}
	w.clock.add(25 * time.Minute)
	second.want(http.StatusUnauthorized, "GET", "/api/me", nil)

	// Left alone it ends after 30 minutes.
	idle := w.browser()
	idle.want(http.StatusOK, "POST", "/api/sign-in", obj{"login": "marit", "password": "heron sundial biscuit"})
	w.clock.add(api.SessionIdle + time.Minute)
	idle.want(http.StatusUnauthorized, "GET", "/api/me", nil)
}

func cookieOf(b *browser) string {
	req, _ := http.NewRequest("GET", b.w.srv.URL, nil)
	for _, c := range b.http.Jar.Cookies(req.URL) {
		if c.Name == "thwart" {
			return c.Name + "=" + c.Value
		}
	}
	b.w.t.Fatal("no cookie")
	return ""
}

func TestForgedSessions(t *testing.T) {
	w := newWorld(t, nil)
	m := w.setup()
	good := cookieOf(m)
	for name, bad := range map[string]string{
		"cut":           good[:len(good)-4],
		"another start": strings.Replace(good, ".17", ".18", 1),
		"empty":         "thwart=",
		"words":         "thwart=1.2.3.4.5.6",
		"dots":          "thwart=......",
	} {
		b := w.browser()
		b.header.Set("Cookie", bad)
		if a := b.do("GET", "/api/me", nil); a.status != http.StatusUnauthorized {
			t.Errorf("%s: status %d", name, a.status)
		}
	}
	w.key = []byte(strings.Repeat("x", 32))
	w.serve(nil)
	b := w.browser()
	b.header.Set("Cookie", good)
	b.want(http.StatusUnauthorized, "GET", "/api/me", nil)
}

func TestCookieIsSafe(t *testing.T) {
	w := newWorld(t, func(c *api.Config) { c.TrustProxy = true })
	b := w.browser()
	b.header.Set("X-Forwarded-Proto", "https")
	a := b.want(http.StatusCreated, "POST", "/api/setup", obj{"code": setupCode, "name": "M", "login": "mm", "password": password})
	c := a.header.Get("Set-Cookie")
	for _, part := range []string{"__Host-thwart=", "Secure", "HttpOnly", "SameSite=Lax", "Path=/"} {
		if !strings.Contains(c, part) {
			t.Errorf("cookie %q lacks %s", c, part)
		}
	}
	if a.header.Get("Strict-Transport-Security") == "" {
		t.Error("no Strict-Transport-Security over HTTPS")
	}
}

func TestLockOut(t *testing.T) {
	w := newWorld(t, nil)
	m := w.setup()
	wrong := func(login string) answer {
		return w.browser().do("POST", "/api/sign-in", obj{"login": login, "password": "not the password at all"})
	}
	// A login that exists and one that does not are answered alike, attempt by attempt.
	for i := range 8 {
		a, b := wrong("marit"), wrong("nobody")
		if a.status != b.status || string(a.body) != string(b.body) || a.header.Get("Retry-After") != b.header.Get("Retry-After") {
			t.Fatalf("attempt %d tells who exists: %d %s against %d %s", i, a.status, a.body, b.status, b.body)
		}
		want := http.StatusUnauthorized
		if i >= 5 {
			want = http.StatusTooManyRequests
		}
		if a.status != want {
			t.Errorf("attempt %d: status %d, want %d", i, a.status, want)
		}
	}
	// The right password does not help while locked, and does afterwards.
	right := obj{"login": "marit", "password": password}
	w.browser().want(http.StatusTooManyRequests, "POST", "/api/sign-in", right)
	w.clock.add(31 * time.Second)
	w.browser().want(http.StatusOK, "POST", "/api/sign-in", right)
	// One more wrong password then costs nothing: the count began anew.
	if a := wrong("marit"); a.status != http.StatusUnauthorized {
		t.Errorf("after a right one: %d", a.status)
	}
	w.browser().want(http.StatusOK, "POST", "/api/sign-in", right)

	var trail thwart.Page[thwart.Audit]
	m.want(http.StatusOK, "GET", "/api/audit?limit=1000", nil).into(t, &trail)
	count := map[string]int{}
	for _, l := range trail.Items {
		count[l.What]++
		if strings.Contains(l.About+l.Detail, "nobody") {
			t.Errorf("an unknown login stands in the trail: %+v", l)
		}
	}
	if count["setup"] != 1 || count["sign_in"] != 2 || count["sign_in_failed"] != 11 || count["locked"] != 1 {
		t.Errorf("trail: %v", count)
	}
}

func TestUnknownLoginTakesAsLong(t *testing.T) {
	w := newWorld(t, nil)
	w.setup()
	took := func(login string) time.Duration {
		best := time.Hour
		for range 4 {
			start := time.Now()
			w.browser().want(http.StatusUnauthorized, "POST", "/api/sign-in", obj{"login": login, "password": "wrong wrong wrong"})
			best = min(best, time.Since(start))
		}
		return best
	}
	known, unknown := took("marit"), took("nobody")
	// Both hash once, which takes some 20 ms; without the hash an answer takes one or two.
	if unknown < known/3 {
		t.Errorf("an unknown login takes %v, a known one %v", unknown, known)
	}
}

func TestRateLimits(t *testing.T) {
	w := newWorld(t, func(c *api.Config) {
		c.Rates.SignIn = api.Rate{PerSecond: 0.5, Burst: 20}
	})
	w.setup()
	limited := 0
	for i := range 60 {
		a := w.browser().do("POST", "/api/sign-in", obj{"login": fmt.Sprintf("guess%d", i), "password": "wrong wrong wrong"})
		if a.status == http.StatusTooManyRequests {
			limited++
			if a.header.Get("Retry-After") == "" {
				t.Fatal("no Retry-After")
			}
		}
	}
	if limited < 35 {
		t.Errorf("only %d of 60 quick sign-ins were held up", limited)
	}
}

func TestCrossSiteRequestsAreRefused(t *testing.T) {
	w := newWorld(t, nil)
	m := w.setup()
	for name, h := range map[string][2]string{
		"fetch metadata": {"Sec-Fetch-Site", "cross-site"},
		"origin":         {"Origin", "https://elsewhere.example"},
	} {
		m.header = http.Header{h[0]: {h[1]}}
		if a := m.do("POST", "/api/sign-out", nil); a.status != http.StatusForbidden {
			t.Errorf("%s: status %d", name, a.status)
		} else {
			problemOf(t, a)
		}
	}
	m.header = http.Header{"Sec-Fetch-Site": {"same-origin"}}
	m.want(http.StatusNoContent, "POST", "/api/sign-out", nil)
}

func TestInviteEnrolsOnce(t *testing.T) {
	w := newWorld(t, nil)
	m := w.setup()
	ines := m.addPerson("Ines", thwart.RoleSteward)
	var inv struct {
		Code   string        `json:"code"`
		Invite thwart.Invite `json:"invite"`
	}
	m.want(http.StatusCreated, "POST", "/api/invites", obj{"person": ines, "role": "steward"}).into(t, &inv)
	if n := len(strings.ReplaceAll(inv.Code, "-", "")); n != 26 {
		t.Errorf("code of %d letters; 26 of base 32 hold 128 bits", n)
	}
	if a := m.want(http.StatusOK, "GET", "/api/invites", nil); strings.Contains(string(a.body), inv.Code) || strings.Contains(string(a.body), "codeHash") {
		t.Errorf("the code can be read again: %s", a.body)
	}
	key := make([]byte, 32)
	var created atomic.Int32
	var wg sync.WaitGroup
	for range 6 {
		wg.Go(func() {
			a := w.browser().do("POST", "/api/enrol", obj{"code": strings.ToLower(inv.Code), "name": "p", "publicKey": key})
			if a.status == http.StatusCreated {
				created.Add(1)
			} else if a.status != http.StatusForbidden {
				t.Errorf("status %d: %s", a.status, a.body)
			}
		})
	}
	wg.Wait()
	if created.Load() != 1 {
		t.Errorf("%d phones with one code", created.Load())
	}
	// Out of date.
	m.want(http.StatusCreated, "POST", "/api/invites", obj{"person": ines, "role": "steward", "hours": 1}).into(t, &inv)
	w.clock.add(61 * time.Minute)
	w.browser().want(http.StatusForbidden, "POST", "/api/enrol", obj{"code": inv.Code, "name": "p", "publicKey": key})
	// A role that records nothing gets no phone; a short key is no key.
	again := w.browser()
	again.want(http.StatusOK, "POST", "/api/sign-in", obj{"login": "marit", "password": password})
	p := problemOf(t, again.want(http.StatusUnprocessableEntity, "POST", "/api/invites", obj{"person": ines, "role": "auditor"}))
	if !hasField(p, "body.role") {
		t.Errorf("%+v", p)
	}
	p = problemOf(t, w.browser().want(http.StatusUnprocessableEntity, "POST", "/api/enrol", obj{"code": "x", "name": "p", "publicKey": []byte{1, 2}}))
	if !hasField(p, "body.publicKey") {
		t.Errorf("%+v", p)
	}
}

func TestLastManagerStays(t *testing.T) {
	w := newWorld(t, nil)
	m := w.setup()
	var me api.SignedIn
	m.want(http.StatusOK, "GET", "/api/me", nil).into(t, &me)
	m.want(http.StatusConflict, "POST", "/api/accounts/"+me.Account+"/revoke", nil)
	m.want(http.StatusConflict, "POST", "/api/people/"+me.Person+"/revoke", nil)
	second := m.account("second", thwart.AccessManager)
	second.want(http.StatusOK, "POST", "/api/accounts/"+me.Account+"/revoke", nil)
	m.want(http.StatusUnauthorized, "GET", "/api/me", nil)
	w.browser().want(http.StatusUnauthorized, "POST", "/api/sign-in", obj{"login": "marit", "password": password})
}

func TestRevokedPersonLosesAccountAndPhones(t *testing.T) {
	w := newWorld(t, nil)
	m := w.setup()
	tobias := m.account("tobias", thwart.AccessSteward)
	phone := m.enrol(tobias.person, thwart.AccessSteward)
	phone.want(http.StatusOK, "POST", "/api/lease", nil)
	if a := m.want(http.StatusOK, "POST", "/api/people/"+tobias.person+"/revoke", nil); !strings.Contains(string(a.body), `"revoked":2`) {
		t.Errorf("%s", a.body)
	}
	tobias.want(http.StatusUnauthorized, "GET", "/api/me", nil)
	phone.want(http.StatusForbidden, "POST", "/api/lease", nil)
	phone.want(http.StatusForbidden, "GET", "/api/changes", nil)
}

func TestPasswordsAreNeverSaidBack(t *testing.T) {
	w := newWorld(t, nil)
	m := w.setup()
	secret := "hunter2"
	for _, a := range []answer{
		m.do("POST", "/api/accounts", obj{"person": m.person, "login": "x1", "password": secret, "role": "steward"}),
		m.do("POST", "/api/accounts", `{"person":"x","login":"x1","password":["`+secret+`"],"role":"steward"}`),
		m.do("POST", "/api/sign-in", obj{"login": "marit", "password": strings.Repeat(secret, 60)}),
		m.do("POST", "/api/sign-in", obj{"login": secret, "password": secret}),
	} {
		if a.status < 400 || strings.Contains(string(a.body), secret) {
			t.Errorf("status %d: %s", a.status, a.body)
		}
	}
	if strings.Contains(w.log.String(), secret) || strings.Contains(w.log.String(), password) || strings.Contains(w.log.String(), "marit") {
		t.Error("a password or a login stands in the log")
	}
}
