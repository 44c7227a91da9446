package api

import (
	"context"
	"errors"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humago"

	"thwart"
)

// principal is who calls: an account with a session, or a phone.
type principal struct {
	account string
	session string
	device  *thwart.Device
	at      time.Time // by the phone's clock, as signed
	person  string
	role    thwart.AccessRole
	revoked bool // a phone that was taken out of service; its signature is right
}

func (p *principal) id() string {
	if p.device != nil {
		return p.device.ID
	}
	return p.account
}

func (p *principal) may(c thwart.Capability) bool { return p.role.May(c) }

// need says who may call an operation. The zero need lets nobody in.
type need struct {
	anyone  bool // without a sign-in
	session bool // a browser that is signed in
	device  bool // a phone
	revoked bool // a phone out of service too; the operation sets what it sends aside
	pieces  bool // one page asks for dozens at a time; only the address's limit counts
	// may lists capabilities of which one is enough. Where an operation then looks at whose record it is, own says so.
	may []thwart.Capability
	own string
}

func signedIn(may ...thwart.Capability) need { return need{session: true, device: true, may: may} }
func inOffice(may ...thwart.Capability) need { return need{session: true, may: may} }

// words says a need for the description of an operation.
func (n need) words() string {
	if n.anyone {
		return "Open to anyone."
	}
	var by []string
	if n.session {
		by = append(by, "a signed-in browser")
	}
	if n.device {
		by = append(by, "an enrolled phone")
	}
	var roles []string
	for _, r := range thwart.AccessRoles {
		if n.allows(r) {
			roles = append(roles, string(r))
		}
	}
	s := "For " + strings.Join(by, " or ") + "; roles: " + strings.Join(roles, ", ") + "."
	if n.own != "" {
		s += " " + n.own
	}
	return s
}

func (n need) allows(r thwart.AccessRole) bool {
	return len(n.may) == 0 || slices.ContainsFunc(n.may, r.May)
}

type principalKey struct{}

func who(ctx context.Context) *principal {
	p, _ := ctx.Value(principalKey{}).(*principal)
	return p
}

// route registers one operation together with who may call it. It is the only way an operation comes to be.
func route[I, O any](a *API, op huma.Operation, n need, h func(context.Context, *I) (*O, error)) {
	a.needs[op.OperationID] = n
	op.Description = strings.TrimSpace(op.Description + "\n\n" + n.words())
	switch {
	case n.session && n.device:
		op.Security = []map[string][]string{{"session": {}}, {"device": {}}}
	case n.session:
		op.Security = []map[string][]string{{"session": {}}}
	case n.device:
		op.Security = []map[string][]string{{"device": {}}}
	}
	op.Middlewares = huma.Middlewares{a.guard(op.OperationID, n)}
	op.Errors = append(op.Errors, http.StatusUnauthorized, http.StatusForbidden, http.StatusTooManyRequests)
	huma.Register(a.huma, op, func(ctx context.Context, in *I) (*O, error) {
		out, err := h(ctx, in)
		return out, a.fail(ctx, err)
	})
}

// guard stands before an operation. What is not allowed by its need is refused.
func (a *API) guard(id string, n need) func(huma.Context, func(huma.Context)) {
	return func(hc huma.Context, next func(huma.Context)) {
		ctx := hc.Context()
		setRoute(ctx, id)
		p := who(ctx)
		_, w := humago.Unwrap(hc)
		var refuse *Problem
		switch {
		case n.anyone:
		case p == nil:
			refuse = problem(http.StatusUnauthorized, "sign in first (POST /api/sign-in), or sign the request with an enrolled phone")
		case p.device == nil && !n.session:
			refuse = problem(http.StatusForbidden, "only an enrolled phone does this")
		case p.device != nil && !n.device:
			refuse = problem(http.StatusForbidden, "a phone may not do this; sign in with a browser")
		case p.revoked && !n.revoked:
			refuse = outOfService("this phone was taken out of service; ask the programme's manager")
		case !n.allows(p.role):
			refuse = problem(http.StatusForbidden, "the role "+string(p.role)+" may not do this")
		}
		if refuse == nil && p != nil {
			setRole(ctx, string(p.role))
		}
		if refuse == nil && p != nil && !n.pieces {
			if ok, wait := a.limits.caller.allow(p.id(), a.cfg.Now()); !ok {
				refuse = tooMany(wait)
			}
		}
		if refuse != nil {
			writeProblem(w, refuse)
			return
		}
		next(hc)
	}
}

// authenticate finds out who calls. A wrong signature is refused here; a missing or stale session leaves the caller unknown.
func (a *API) authenticate(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		var p *principal
		var err error
		switch {
		case r.Header.Get(HeaderSignature) != "" || r.Header.Get(HeaderDevice) != "":
			p, err = a.device(w, r)
		default:
			p, err = a.session(w, r)
		}
		if err != nil {
			var pr *Problem
			if !errors.As(a.fail(r.Context(), err), &pr) {
				pr = problem(http.StatusInternalServerError, "the server failed")
			}
			writeProblem(w, pr)
			return
		}
		if p != nil {
			r = r.WithContext(context.WithValue(r.Context(), principalKey{}, p))
		}
		next.ServeHTTP(w, r)
	})
}

// RoleOf gives the role of a signed-in browser, for pages that show more to those who may read.
func RoleOf(ctx context.Context) (thwart.AccessRole, bool) {
	p := who(ctx)
	if p == nil || p.device != nil {
		return "", false
	}
	return p.role, true
}
