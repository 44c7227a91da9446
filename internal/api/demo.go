package api

import (
	"context"
	"net/http"
	"slices"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"thwart"
)

// demoInviteLife is long enough to type a name, and short enough that a page left open makes no phone tomorrow.
const demoInviteLife = 10 * time.Minute

// demoRoles are those of the people who stand at the water; a manager's phone could read and correct everything.
var demoRoles = []thwart.AccessRole{thwart.AccessSteward, thwart.AccessTechnician}

// routeDemo lets somebody who only wants to try make a phone of the demo.
func (a *API) routeDemo() {
	route(a, huma.Operation{OperationID: "demo-invite", Method: http.MethodPost, Path: "/api/demo/invite", Tags: []string{"Accounts"},
		DefaultStatus: http.StatusCreated, Summary: "Make a code that enrols a phone of the demo",
		Description: "Only where the records are invented; a programme's server answers that there is nothing here.",
		Errors:      []int{http.StatusNotFound}}, need{anyone: true}, a.demoInvite)
}

type demoInviteIn struct {
	Body struct {
		Role thwart.AccessRole `json:"role" enum:"steward,technician" doc:"whose phone it is to be"`
	}
}

type demoInviteOut struct {
	Body struct {
		Code string `json:"code" doc:"enrols one phone within ten minutes"`
	}
}

func (a *API) demoInvite(ctx context.Context, in *demoInviteIn) (*demoInviteOut, error) {
	if !a.cfg.Demo {
		return nil, thwart.ErrNotFound
	}
	if err := a.limitSignIn(ctx); err != nil {
		return nil, err
	}
	if p := oneOf("body.role", in.Body.Role, demoRoles); p != nil {
		return nil, p
	}
	accounts, err := a.cfg.Accounts.ListAccounts(ctx)
	if err != nil {
		return nil, err
	}
	at := slices.IndexFunc(accounts, func(acc thwart.Account) bool { return acc.Role == in.Body.Role && acc.RevokedAt == nil })
	if at < 0 {
		return nil, thwart.ErrNotFound
	}
	now := a.cfg.Now().UTC()
	out := &demoInviteOut{}
	out.Body.Code = NewCode()
	invite := thwart.Invite{
		ID: NewID(now), CodeHash: codeHash(out.Body.Code), Person: accounts[at].Person, Role: in.Body.Role,
		CreatedBy: accounts[at].ID, CreatedAt: now, ExpiresAt: now.Add(demoInviteLife),
	}
	if err := a.cfg.Accounts.CreateInvite(ctx, invite); err != nil {
		return nil, err
	}
	return out, a.audit(ctx, "", "invite", invite.ID, "demo "+string(in.Body.Role))
}
