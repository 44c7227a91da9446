package api

import (
	"context"
	"crypto/ed25519"
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base32"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/alexedwards/argon2id"
	"github.com/danielgtaylor/huma/v2"

	"thwart"
)

// passwordParams cost an attacker 19 MiB and two passes a guess: the smallest setting of the OWASP Password Storage Cheat
// Sheet for Argon2id (m = 19 MiB, t = 2, p = 1).
var passwordParams = &argon2id.Params{Memory: 19 * 1024, Iterations: 2, Parallelism: 1, SaltLength: 16, KeyLength: 32}

// Lengths of a password. Length is the only rule: rules about kinds of characters make people choose worse ones (NIST SP
// 800-63B, section 5.1.1.2).
const (
	MinPassword = 12
	MaxPassword = 256
)

func hashPassword(password string) (string, error) {
	return argon2id.CreateHash(password, passwordParams)
}

// HashPassword is for accounts that are made without the API, such as those of the demo.
func HashPassword(password string) (string, error) { return hashPassword(password) }

func checkPassword(name, password, login string) *Problem {
	switch n := len(password); {
	case n < MinPassword || n > MaxPassword:
		p := field(name, "", fmt.Sprintf("%d to %d bytes; a few words that do not belong together are good", MinPassword, MaxPassword))
		p.Errors[0].Value = fmt.Sprintf("%d bytes", n)
		return p
	case strings.EqualFold(password, login):
		return field(name, "(the login)", "something else than the login")
	}
	return nil
}

// turn waits for a place among the few hashings that may run at once.
func (a *API) turn(ctx context.Context) (release func(), err error) {
	select {
	case a.hashing <- struct{}{}:
		return func() { <-a.hashing }, nil
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

func (a *API) hash(ctx context.Context, password string) (string, error) {
	release, err := a.turn(ctx)
	if err != nil {
		return "", err
	}
	defer release()
	return hashPassword(password)
}

func (a *API) compare(ctx context.Context, password, hash string) (bool, error) {
	release, err := a.turn(ctx)
	if err != nil {
		return false, err
	}
	defer release()
	return argon2id.ComparePasswordAndHash(password, hash)
}

// audit adds a line to the trail. Where the line cannot be kept the caller must not go on: an act without a trace is not done.
func (a *API) audit(ctx context.Context, whoID, what, about, detail string) error {
	now := a.cfg.Now()
	if whoID == "" {
		whoID = "-"
	}
	return a.cfg.Accounts.AddAudit(ctx, thwart.Audit{ID: NewID(now), At: now.UTC(), Who: whoID, What: what, About: about, Detail: detail})
}

// Lock-out: the first freeWrong wrong passwords cost nothing, each further one twice the wait of the one before.
const (
	freeWrong = 5
	firstLock = 30 * time.Second
	longLock  = 15 * time.Minute // no longer, or anybody could keep the manager out by typing wrong passwords
)

func lockFor(wrong int) time.Duration {
	if wrong < freeWrong {
		return 0
	}
	return min(firstLock<<min(wrong-freeWrong, 10), longLock)
}

type none struct{}

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

// reqKey hands a few facts of the HTTP request to handlers that see only the context.
type reqKey struct{}

func (a *API) withRequest(hc huma.Context, next func(huma.Context)) {
	r := &http.Request{TLS: hc.TLS(), RemoteAddr: hc.RemoteAddr(), Header: http.Header{}}
	for _, k := range []string{"X-Forwarded-For", "X-Forwarded-Proto"} {
		if v := hc.Header(k); v != "" {
			r.Header.Set(k, v)
		}
	}
	next(huma.WithValue(hc, reqKey{}, r))
}

func request(ctx context.Context) *http.Request {
	r, _ := ctx.Value(reqKey{}).(*http.Request)
	return r
}

func (a *API) limitSignIn(ctx context.Context) error {
	if ok, wait := a.limits.signIn.allow(a.address(request(ctx)), a.cfg.Now()); !ok {
		return tooMany(wait)
	}
	return nil
}

func (a *API) routeAccounts() {
	tag := []string{"Accounts"}
	route(a, huma.Operation{OperationID: "get-setup", Method: http.MethodGet, Path: "/api/setup", Tags: tag,
		Summary: "Whether this programme still needs its first account"}, need{anyone: true}, a.getSetup)
	route(a, huma.Operation{OperationID: "setup", Method: http.MethodPost, Path: "/api/setup", Tags: tag, DefaultStatus: http.StatusCreated,
		Summary:     "Make the first account, the manager's",
		Description: "Possible once, with the code that the server printed to its terminal when it started empty.",
		Errors:      []int{http.StatusConflict}}, need{anyone: true}, a.postSetup)
	route(a, huma.Operation{OperationID: "sign-in", Method: http.MethodPost, Path: "/api/sign-in", Tags: tag,
		Summary: "Sign in with login and password",
		Description: "An unknown login and a wrong password are answered alike and take alike long. After five wrong passwords a login waits, " +
			"longer each time, for at most 15 minutes."}, need{anyone: true}, a.signIn)
	route(a, huma.Operation{OperationID: "sign-out", Method: http.MethodPost, Path: "/api/sign-out", Tags: tag,
		Summary: "End this session"}, inOffice(), a.signOut)
	route(a, huma.Operation{OperationID: "get-me", Method: http.MethodGet, Path: "/api/me", Tags: tag,
		Summary: "Who the server takes the caller for"}, signedIn(), a.me)
	route(a, huma.Operation{OperationID: "change-password", Method: http.MethodPost, Path: "/api/password", Tags: tag,
		Summary: "Change the own password; every other session of the account ends"}, inOffice(), a.changePassword)

	route(a, huma.Operation{OperationID: "list-accounts", Method: http.MethodGet, Path: "/api/accounts", Tags: tag,
		Summary: "List accounts"}, inOffice(thwart.CanManage), a.listAccounts)
	route(a, huma.Operation{OperationID: "create-account", Method: http.MethodPost, Path: "/api/accounts", Tags: tag, DefaultStatus: http.StatusCreated,
		Summary: "Make an account for a person of the programme", Errors: []int{http.StatusConflict}}, inOffice(thwart.CanManage), a.createAccount)
	route(a, huma.Operation{OperationID: "revoke-account", Method: http.MethodPost, Path: "/api/accounts/{id}/revoke", Tags: tag,
		Summary: "Close an account; its sessions end at once", Errors: []int{http.StatusNotFound, http.StatusConflict}}, inOffice(thwart.CanManage), a.revokeAccount)
	route(a, huma.Operation{OperationID: "revoke-person", Method: http.MethodPost, Path: "/api/people/{id}/revoke", Tags: tag,
		Summary: "Close every account and phone of a person", Errors: []int{http.StatusNotFound, http.StatusConflict}}, inOffice(thwart.CanManage), a.revokePerson)

	route(a, huma.Operation{OperationID: "list-invites", Method: http.MethodGet, Path: "/api/invites", Tags: tag,
		Summary: "List invites; codes are not kept and cannot be shown again"}, inOffice(thwart.CanManage), a.listInvites)
	route(a, huma.Operation{OperationID: "create-invite", Method: http.MethodPost, Path: "/api/invites", Tags: tag, DefaultStatus: http.StatusCreated,
		Summary: "Make a code that enrols one phone, once; it is shown only now"}, inOffice(thwart.CanManage), a.createInvite)
	route(a, huma.Operation{OperationID: "enrol", Method: http.MethodPost, Path: "/api/enrol", Tags: tag, DefaultStatus: http.StatusCreated,
		Summary: "Enrol a phone with an invite code and its public key"}, need{anyone: true}, a.enrol)
	route(a, huma.Operation{OperationID: "renew-lease", Method: http.MethodPost, Path: "/api/lease", Tags: tag,
		Summary: "Renew the time for which the phone may work without the server"}, need{device: true}, a.renewLease)
	route(a, huma.Operation{OperationID: "list-devices", Method: http.MethodGet, Path: "/api/devices", Tags: tag,
		Summary: "List enrolled phones"}, inOffice(thwart.CanManage), a.listDevices)
	route(a, huma.Operation{OperationID: "revoke-device", Method: http.MethodPost, Path: "/api/devices/{id}/revoke", Tags: tag,
		Summary:     "Take a phone out of service",
		Description: "What it sends from then on is set aside for review among the refusals, not thrown away.",
		Errors:      []int{http.StatusNotFound}}, inOffice(thwart.CanManage), a.revokeDevice)
	route(a, huma.Operation{OperationID: "list-audit", Method: http.MethodGet, Path: "/api/audit", Tags: tag,
		Summary: "Read the audit trail"}, inOffice(thwart.CanAudit), a.listAudit)
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

// wrongPassword counts, locks, and answers alike for every login. The login itself is not written down where it is unknown:
// people type passwords into the wrong field.
func (a *API) wrongPassword(ctx context.Context, acc *thwart.Account, known bool, about, login string) error {
	now := a.cfg.Now()
	a.metrics.signIns.WithLabelValues("wrong").Inc()
	locked := false
	if known {
		acc.FailedSince++
		if d := lockFor(acc.FailedSince); d > 0 {
			until := now.Add(d).UTC()
			acc.LockedUntil, locked = &until, true
		}
		if err := a.cfg.Accounts.UpdateAccount(ctx, *acc); err != nil {
			return err
		}
	} else {
		a.limits.unknown.wrong(login, now)
	}
	if err := a.audit(ctx, "", "sign_in_failed", about, ""); err != nil {
		return err
	}
	if locked {
		if err := a.audit(ctx, "", "locked", about, "until "+acc.LockedUntil.Format(time.RFC3339)); err != nil {
			return err
		}
	}
	return problem(http.StatusUnauthorized, "login and password do not fit together")
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

type passwordIn struct {
	Body struct {
		OldPassword string `json:"oldPassword" maxLength:"256"`
		NewPassword string `json:"newPassword" maxLength:"256" doc:"at least 12 bytes"`
	}
}

func (a *API) changePassword(ctx context.Context, in *passwordIn) (*sessionOut, error) {
	if err := a.limitSignIn(ctx); err != nil {
		return nil, err
	}
	acc, err := a.cfg.Accounts.AccountByID(ctx, who(ctx).account)
	if err != nil {
		return nil, err
	}
	ok, err := a.compare(ctx, in.Body.OldPassword, acc.PasswordHash)
	if err != nil {
		return nil, err
	}
	if !ok {
		return nil, a.wrongPassword(ctx, &acc, true, acc.ID, acc.Login)
	}
	if p := checkPassword("body.newPassword", in.Body.NewPassword, acc.Login); p != nil {
		return nil, p
	}
	if acc.PasswordHash, err = a.hash(ctx, in.Body.NewPassword); err != nil {
		return nil, err
	}
	acc.FailedSince, acc.LockedUntil = 0, nil
	if err := a.cfg.Accounts.UpdateAccount(ctx, acc); err != nil {
		return nil, err
	}
	if err := a.audit(ctx, acc.ID, "password", acc.ID, ""); err != nil {
		return nil, err
	}
	return a.startSession(ctx, &acc)
}

type list[T any] struct {
	Body struct {
		Items []T `json:"items"`
	}
}

func listOf[T any](items []T) *list[T] {
	l := &list[T]{}
	if items == nil {
		items = []T{}
	}
	l.Body.Items = items
	return l
}

func (a *API) listAccounts(ctx context.Context, _ *none) (*list[thwart.Account], error) {
	all, err := a.cfg.Accounts.ListAccounts(ctx)
	return listOf(all), err
}

type accountIn struct {
	Body struct {
		Person   string            `json:"person" doc:"subject of a person"`
		Login    string            `json:"login" pattern:"^[a-z0-9][a-z0-9._-]{1,39}$" patternDescription:"2 to 40 small letters, digits, dots, dashes"`
		Password string            `json:"password" maxLength:"256" doc:"at least 12 bytes; to be changed at the first sign-in"`
		Role     thwart.AccessRole `json:"role"`
	}
}

// isPerson checks that a subject is a person who still works here.
func (a *API) isPerson(ctx context.Context, name, id string) error {
	s, err := a.cfg.Store.Subject(ctx, id)
	switch {
	case errors.Is(err, thwart.ErrNotFound) || err == nil && (s.Kind != thwart.KindPerson || s.Removed):
		return field(name, id, "the subject of a person of the programme")
	case err != nil:
		return err
	}
	return nil
}

func oneOf[T ~string](name string, value T, accepted []T) *Problem {
	if slices.Contains(accepted, value) {
		return nil
	}
	words := make([]string, len(accepted))
	for i, w := range accepted {
		words[i] = string(w)
	}
	return field(name, value, strings.Join(words, ", "))
}

func (a *API) createAccount(ctx context.Context, in *accountIn) (*struct{ Body thwart.Account }, error) {
	if p := oneOf("body.role", in.Body.Role, thwart.AccessRoles); p != nil {
		return nil, p
	}
	if p := checkPassword("body.password", in.Body.Password, in.Body.Login); p != nil {
		return nil, p
	}
	if err := a.isPerson(ctx, "body.person", in.Body.Person); err != nil {
		return nil, err
	}
	hash, err := a.hash(ctx, in.Body.Password)
	if err != nil {
		return nil, err
	}
	now := a.cfg.Now().UTC()
	acc := thwart.Account{ID: NewID(now), Person: in.Body.Person, Login: in.Body.Login, PasswordHash: hash, Role: in.Body.Role, CreatedAt: now}
	if err := a.cfg.Accounts.CreateAccount(ctx, acc); err != nil {
		if errors.Is(err, thwart.ErrConflict) {
			p := field("body.login", acc.Login, "a login that is not taken")
			p.Status, p.Title = http.StatusConflict, http.StatusText(http.StatusConflict)
			return nil, p
		}
		return nil, err
	}
	if err := a.audit(ctx, who(ctx).account, "account", acc.ID, string(acc.Role)); err != nil {
		return nil, err
	}
	return &struct{ Body thwart.Account }{acc}, nil
}

type byID struct {
	ID string `path:"id" maxLength:"40"`
}

type done struct {
	Body struct {
		Revoked int `json:"revoked" doc:"how many accounts and phones were closed; 0 when they were closed before"`
	}
}

func (a *API) revokeAccount(ctx context.Context, in *byID) (*done, error) {
	acc, err := a.cfg.Accounts.AccountByID(ctx, in.ID)
	if err != nil {
		return nil, err
	}
	return a.revoke(ctx, func(other *thwart.Account) bool { return other.ID == acc.ID }, func(*thwart.Device) bool { return false })
}

func (a *API) revokePerson(ctx context.Context, in *byID) (*done, error) {
	if err := a.isPerson(ctx, "path.id", in.ID); err != nil {
		return nil, err
	}
	return a.revoke(ctx, func(acc *thwart.Account) bool { return acc.Person == in.ID }, func(d *thwart.Device) bool { return d.Person == in.ID })
}

// revoke closes what the two functions pick. The last manager stays: a programme that nobody can manage is lost.
func (a *API) revoke(ctx context.Context, account func(*thwart.Account) bool, device func(*thwart.Device) bool) (*done, error) {
	a.setup.Lock() // two managers who revoke each other at once take turns, and the second finds a last manager
	defer a.setup.Unlock()
	accounts, err := a.cfg.Accounts.ListAccounts(ctx)
	if err != nil {
		return nil, err
	}
	managers := 0
	for i := range accounts {
		if acc := &accounts[i]; acc.Role == thwart.AccessManager && acc.RevokedAt == nil && !account(acc) {
			managers++
		}
	}
	if managers == 0 {
		return nil, problem(http.StatusConflict, "this is the last manager's account; make another manager first")
	}
	devices, err := a.cfg.Accounts.ListDevices(ctx)
	if err != nil {
		return nil, err
	}
	now := a.cfg.Now().UTC()
	out := &done{}
	for _, acc := range accounts {
		if acc.RevokedAt != nil || !account(&acc) {
			continue
		}
		acc.RevokedAt = &now
		if err := a.cfg.Accounts.UpdateAccount(ctx, acc); err != nil {
			return nil, err
		}
		if err := a.audit(ctx, who(ctx).account, "revoke", acc.ID, "account"); err != nil {
			return nil, err
		}
		out.Body.Revoked++
	}
	for _, d := range devices {
		if d.RevokedAt != nil || !device(&d) {
			continue
		}
		if err := a.cfg.Accounts.RevokeDevice(ctx, d.ID, now); err != nil {
			return nil, err
		}
		if err := a.audit(ctx, who(ctx).account, "revoke", d.ID, "device"); err != nil {
			return nil, err
		}
		out.Body.Revoked++
	}
	return out, nil
}

func (a *API) listInvites(ctx context.Context, _ *none) (*list[thwart.Invite], error) {
	all, err := a.cfg.Accounts.ListInvites(ctx)
	return listOf(all), err
}

type inviteIn struct {
	Body struct {
		Person string            `json:"person" doc:"subject of the person whose phone it will be"`
		Role   thwart.AccessRole `json:"role" doc:"steward, technician or manager"`
		Hours  float64           `json:"hours,omitempty" minimum:"0.1" maximum:"720" doc:"until the code is out of date; 72 when left out"`
	}
}

type inviteOut struct {
	Body struct {
		Invite thwart.Invite `json:"invite"`
		Code   string        `json:"code" doc:"128 random bits; shown now and never again"`
	}
}

// phoneRoles may add entries, which is what a phone is for.
func phoneRoles() []thwart.AccessRole {
	return slices.DeleteFunc(slices.Clone(thwart.AccessRoles), func(r thwart.AccessRole) bool { return !r.May(thwart.CanRecord) })
}

// codeAlphabet leaves out I, L, O and U, which are misread or make words (Crockford's base 32).
var codeAlphabet = base32.NewEncoding("0123456789ABCDEFGHJKMNPQRSTVWXYZ").WithPadding(base32.NoPadding)

// NewCode makes a code of 128 random bits that a person can read out, in groups of five.
func NewCode() string {
	var b [16]byte
	rand.Read(b[:])
	s := codeAlphabet.EncodeToString(b[:])
	var groups []string
	for len(s) > 5 {
		groups, s = append(groups, s[:5]), s[5:]
	}
	return strings.Join(append(groups, s), "-")
}

// plainCode undoes what a person does to a code when typing it.
func plainCode(s string) string {
	return strings.NewReplacer("-", "", " ", "", "I", "1", "L", "1", "O", "0").Replace(strings.ToUpper(s))
}

// codeHash needs no salt and no slow hash: a code has 128 random bits.
func codeHash(code string) []byte {
	h := sha256.Sum256([]byte(plainCode(code)))
	return h[:]
}

func (a *API) createInvite(ctx context.Context, in *inviteIn) (*inviteOut, error) {
	if p := oneOf("body.role", in.Body.Role, phoneRoles()); p != nil {
		return nil, p
	}
	if err := a.isPerson(ctx, "body.person", in.Body.Person); err != nil {
		return nil, err
	}
	life := InviteLife
	if in.Body.Hours > 0 {
		life = time.Duration(in.Body.Hours * float64(time.Hour))
	}
	now := a.cfg.Now().UTC()
	out := &inviteOut{}
	out.Body.Code = NewCode()
	out.Body.Invite = thwart.Invite{
		ID: NewID(now), CodeHash: codeHash(out.Body.Code), Person: in.Body.Person, Role: in.Body.Role,
		CreatedBy: who(ctx).account, CreatedAt: now, ExpiresAt: now.Add(life),
	}
	if err := a.cfg.Accounts.CreateInvite(ctx, out.Body.Invite); err != nil {
		return nil, err
	}
	return out, a.audit(ctx, who(ctx).account, "invite", out.Body.Invite.ID, string(in.Body.Role))
}

type enrolIn struct {
	Body struct {
		Code      string `json:"code" maxLength:"100" doc:"the code as shown; case, spaces and dashes do not matter"`
		Name      string `json:"name" minLength:"1" maxLength:"80" doc:"what the phone is called, such as a number on its back"`
		PublicKey []byte `json:"publicKey" doc:"Ed25519 public key, 32 bytes in base64"`
	}
}

type deviceOut struct{ Body DeviceState }

// DeviceState is what a phone needs to know about itself.
type DeviceState struct {
	Device     string            `json:"device"`
	Person     string            `json:"person"`
	Role       thwart.AccessRole `json:"role"`
	LeaseUntil time.Time         `json:"leaseUntil" doc:"may work without the server until then"`
	ServerNow  time.Time         `json:"serverNow"`
	Demo       bool              `json:"demo,omitempty"`
}

func (a *API) enrol(ctx context.Context, in *enrolIn) (*deviceOut, error) {
	if err := a.limitSignIn(ctx); err != nil {
		return nil, err
	}
	if len(in.Body.PublicKey) != ed25519.PublicKeySize {
		return nil, field("body.publicKey", fmt.Sprintf("%d bytes", len(in.Body.PublicKey)), "an Ed25519 public key of 32 bytes, in base64")
	}
	now := a.cfg.Now().UTC()
	hash := codeHash(in.Body.Code)
	refuse := func() error {
		if err := a.audit(ctx, "", "enrol_failed", "", ""); err != nil {
			return err
		}
		return problem(http.StatusForbidden, "the code is unknown, used or out of date; ask the manager for a new one")
	}
	invites, err := a.cfg.Accounts.ListInvites(ctx)
	if err != nil {
		return nil, err
	}
	at := slices.IndexFunc(invites, func(i thwart.Invite) bool { return subtle.ConstantTimeCompare(i.CodeHash, hash) == 1 })
	if at < 0 {
		return nil, refuse()
	}
	d := thwart.Device{
		ID: NewID(now), Person: invites[at].Person, Role: invites[at].Role, Name: in.Body.Name, PublicKey: in.Body.PublicKey,
		EnrolledAt: now, LeaseUntil: now.Add(Lease),
	}
	if _, err := a.cfg.Accounts.UseInvite(ctx, hash, d, now); errors.Is(err, thwart.ErrNotFound) {
		return nil, refuse()
	} else if err != nil {
		return nil, err
	}
	if err := a.audit(ctx, d.ID, "enrol", d.ID, "invite "+invites[at].ID); err != nil {
		return nil, err
	}
	return a.deviceState(&d), nil
}

func (a *API) deviceState(d *thwart.Device) *deviceOut {
	return &deviceOut{DeviceState{Device: d.ID, Person: d.Person, Role: d.Role, LeaseUntil: d.LeaseUntil, ServerNow: a.cfg.Now().UTC(), Demo: a.cfg.Demo}}
}

func (a *API) renewLease(ctx context.Context, _ *none) (*deviceOut, error) {
	d := *who(ctx).device
	now := a.cfg.Now().UTC()
	d.LeaseUntil = now.Add(Lease)
	if err := a.cfg.Accounts.SeeDevice(ctx, d.ID, now, d.LeaseUntil); err != nil {
		return nil, err
	}
	return a.deviceState(&d), a.audit(ctx, d.ID, "lease", d.ID, "until "+d.LeaseUntil.Format(time.RFC3339))
}

func (a *API) listDevices(ctx context.Context, _ *none) (*list[thwart.Device], error) {
	all, err := a.cfg.Accounts.ListDevices(ctx)
	return listOf(all), err
}

func (a *API) revokeDevice(ctx context.Context, in *byID) (*done, error) {
	d, err := a.cfg.Accounts.DeviceByID(ctx, in.ID)
	if err != nil {
		return nil, err
	}
	return a.revoke(ctx, func(*thwart.Account) bool { return false }, func(o *thwart.Device) bool { return o.ID == d.ID })
}

// PageIn asks for a part of a list.
type PageIn struct {
	After string `query:"after" maxLength:"200" doc:"next of the page before"`
	Limit int    `query:"limit" minimum:"1" maximum:"1000" default:"100"`
}

func (a *API) listAudit(ctx context.Context, in *PageIn) (*struct{ Body thwart.Page[thwart.Audit] }, error) {
	page, err := a.cfg.Accounts.ListAudit(ctx, in.After, in.Limit)
	if page.Items == nil {
		page.Items = []thwart.Audit{}
	}
	return &struct{ Body thwart.Page[thwart.Audit] }{page}, err
}
