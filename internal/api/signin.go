package api

import (
	"context"
	"crypto/subtle"
	"encoding/json"
	"errors"
	"net/http"
	"strings"
	"time"

	"thwart"
)

// SignedIn is what a caller learns about itself.
type SignedIn struct {
	Account string            `json:"account,omitempty"`
	Device  string            `json:"device,omitempty"`
	Person  string            `json:"person"`
	Role    thwart.AccessRole `json:"role"`
	Demo    bool              `json:"demo,omitempty" doc:"the records here are invented"`
	Until   *time.Time        `json:"until,omitempty" doc:"when the session ends at the latest, or the phone's lease"`
}

type sessionOut struct {
	SetCookie *http.Cookie `header:"Set-Cookie"`
	Body      SignedIn
}

type setupState struct {
	Needed  bool   `json:"needed"`
	Demo    bool   `json:"demo,omitempty" doc:"the records here are invented"`
	Version string `json:"version"`
}

func (a *API) getSetup(ctx context.Context, _ *none) (*struct{ Body setupState }, error) {
	has, err := a.cfg.Accounts.HasAccounts(ctx)
	return &struct{ Body setupState }{setupState{Needed: !has, Demo: a.cfg.Demo, Version: a.cfg.Version}}, err
}

type setupIn struct {
	Body struct {
		Code     string `json:"code" maxLength:"100" doc:"printed by the server to its terminal"`
		Name     string `json:"name" minLength:"1" maxLength:"200" doc:"what colleagues call the manager"`
		Login    string `json:"login" pattern:"^[a-z0-9][a-z0-9._-]{1,39}$" patternDescription:"2 to 40 small letters, digits, dots, dashes"`
		Password string `json:"password" doc:"at least 12 bytes"`
	}
}

func (a *API) postSetup(ctx context.Context, in *setupIn) (*sessionOut, error) {
	if err := a.limitSignIn(ctx); err != nil {
		return nil, err
	}
	a.setup.Lock()
	defer a.setup.Unlock()
	has, err := a.cfg.Accounts.HasAccounts(ctx)
	if err != nil {
		return nil, err
	}
	if has {
		return nil, problem(http.StatusConflict, "this programme is set up already; sign in")
	}
	if a.cfg.SetupCode == "" || subtle.ConstantTimeCompare([]byte(plainCode(in.Body.Code)), []byte(plainCode(a.cfg.SetupCode))) != 1 {
		if err := a.audit(ctx, "", "setup_failed", "", ""); err != nil {
			return nil, err
		}
		return nil, problem(http.StatusForbidden, "the set-up code is not right; accepted: the one the server printed to its terminal")
	}
	if p := checkPassword("body.password", in.Body.Password, in.Body.Login); p != nil {
		return nil, p
	}
	hash, err := a.hash(ctx, in.Body.Password)
	if err != nil {
		return nil, err
	}
	now := a.cfg.Now().UTC()
	body, err := json.Marshal(thwart.Person{Name: in.Body.Name, Roles: []thwart.Role{thwart.RoleManager}})
	if err != nil {
		return nil, err
	}
	person := a.newEntry(now, thwart.KindPerson, body)
	person.Person = person.ID
	if err := a.put(ctx, person); err != nil {
		return nil, err
	}
	acc := thwart.Account{ID: NewID(now), Person: person.ID, Login: in.Body.Login, PasswordHash: hash, Role: thwart.AccessManager, CreatedAt: now}
	if err := a.cfg.Accounts.CreateFirst(ctx, acc); err != nil {
		// Somebody was first on another server. The person made for nothing is taken out again.
		gone := a.newEntry(now, thwart.KindPerson, nil)
		gone.Subject, gone.Supersedes, gone.Removed, gone.Person = person.ID, person.ID, true, person.ID
		gone.Why = "the programme was set up on another server at the same moment"
		return nil, errors.Join(err, a.put(ctx, gone))
	}
	if err := a.audit(ctx, acc.ID, "setup", acc.ID, ""); err != nil {
		return nil, err
	}
	return a.startSession(ctx, &acc)
}

func (a *API) startSession(ctx context.Context, acc *thwart.Account) (*sessionOut, error) {
	now := a.cfg.Now()
	until := now.Add(SessionMax).UTC()
	return &sessionOut{
		SetCookie: a.sessionCookie(request(ctx), a.sessionToken(acc, newSessionID(), now, now)),
		Body:      SignedIn{Account: acc.ID, Person: acc.Person, Role: acc.Role, Demo: a.cfg.Demo, Until: &until},
	}, nil
}

type signInIn struct {
	Body struct {
		Login    string `json:"login" maxLength:"40"`
		Password string `json:"password" maxLength:"256"`
	}
}

func (a *API) signIn(ctx context.Context, in *signInIn) (*sessionOut, error) {
	if err := a.limitSignIn(ctx); err != nil {
		return nil, err
	}
	now := a.cfg.Now()
	in.Body.Login = strings.ToLower(strings.TrimSpace(in.Body.Login)) // as the store compares them
	// Counted by login whether it exists or not, so that the limit tells nothing.
	if ok, wait := a.limits.perLogin.allow(in.Body.Login, now); !ok {
		a.metrics.signIns.WithLabelValues("locked").Inc()
		return nil, tooMany(wait)
	}
	acc, err := a.cfg.Accounts.AccountByLogin(ctx, in.Body.Login)
	known := err == nil && acc.RevokedAt == nil
	if err != nil && !errors.Is(err, thwart.ErrNotFound) {
		return nil, err
	}
	hash, about := a.dummyHash, "-"
	if known {
		hash, about = acc.PasswordHash, acc.ID
		if acc.LockedUntil != nil && now.Before(*acc.LockedUntil) {
			a.metrics.signIns.WithLabelValues("locked").Inc()
			return nil, tooMany(acc.LockedUntil.Sub(now))
		}
	} else if until := a.limits.unknown.lock(in.Body.Login); now.Before(until) {
		a.metrics.signIns.WithLabelValues("locked").Inc()
		return nil, tooMany(until.Sub(now))
	}
	match, err := a.compare(ctx, in.Body.Password, hash)
	if err != nil {
		return nil, err
	}
	if !known || !match {
		return nil, a.wrongPassword(ctx, &acc, known, about, in.Body.Login)
	}
	if acc.FailedSince > 0 || acc.LockedUntil != nil {
		acc.FailedSince, acc.LockedUntil = 0, nil
		if err := a.cfg.Accounts.UpdateAccount(ctx, acc); err != nil {
			return nil, err
		}
	}
	if err := a.audit(ctx, acc.ID, "sign_in", acc.ID, ""); err != nil {
		return nil, err
	}
	a.metrics.signIns.WithLabelValues("right").Inc()
	return a.startSession(ctx, &acc)
}

func (a *API) signOut(ctx context.Context, _ *none) (*struct {
	SetCookie *http.Cookie `header:"Set-Cookie"`
}, error) {

	p := who(ctx)
	a.out.add(p.session, a.cfg.Now().Add(SessionMax))
	if err := a.audit(ctx, p.account, didSignOut, p.session, ""); err != nil {
		return nil, err
	}
	return &struct {
		SetCookie *http.Cookie `header:"Set-Cookie"`
	}{a.sessionCookie(request(ctx), "")}, nil
}

func (a *API) me(ctx context.Context, _ *none) (*struct{ Body SignedIn }, error) {
	p := who(ctx)
	s := SignedIn{Account: p.account, Person: p.person, Role: p.role, Demo: a.cfg.Demo}
	if p.device != nil {
		until := p.device.LeaseUntil
		s.Device, s.Until = p.device.ID, &until
	}
	return &struct{ Body SignedIn }{s}, nil
}
