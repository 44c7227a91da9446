package api

import (
	"context"
	"errors"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"thwart"
)

func (a *API) routeAccounts() {
	a.routeDemo()
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
		if err := a.revokeKeys(ctx, d.ID, now); err != nil {
			return nil, err
		}
		if err := a.audit(ctx, who(ctx).account, "revoke", d.ID, "device"); err != nil {
			return nil, err
		}
		out.Body.Revoked++
	}
	return out, nil
}
