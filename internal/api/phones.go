package api

import (
	"context"
	"crypto/ed25519"
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base32"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"thwart"
	"thwart/draw"
	"thwart/receipt"
)

func (a *API) listInvites(ctx context.Context, _ *none) (*list[thwart.Invite], error) {
	all, err := a.cfg.Accounts.ListInvites(ctx)
	return listOf(all), err
}

type inviteIn struct {
	Body struct {
		Person string            `json:"person" doc:"subject of the person whose phone it will be"`
		Role   thwart.AccessRole `json:"role" doc:"steward, technician or manager"`
		Hours  float64           `json:"hours,omitempty" minimum:"0.1" maximum:"720" doc:"until the code is out of date; 72 when left out"`
		Page   string            `json:"page,omitempty" maxLength:"300" pattern:"^https?://[^#\\s]+$" patternDescription:"a whole address of http or https" doc:"the whole address of the page where phones are set up; the answer then has a QR code of it"`
	}
}

type inviteOut struct {
	Body struct {
		Invite thwart.Invite `json:"invite"`
		Code   string        `json:"code" doc:"128 random bits; shown now and never again"`
		QR     string        `json:"qr,omitempty" doc:"SVG: the page with the code, for the camera of the phone"`
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
	if in.Body.Page != "" {
		// The code stands behind the #, which browsers send to no server.
		scene, err := receipt.Link(in.Body.Page + "#code=" + out.Body.Code)
		if err != nil {
			return nil, field("body.page", short(in.Body.Page), "a shorter address")
		}
		out.Body.QR = scene.SVG(draw.Style{Colour: draw.Printed})
	}
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
	ReceiptKey string            `json:"receiptKey,omitempty" doc:"keyId of the programme's key: receipts count that it vouches for"`
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
	if err := a.vouch(ctx, &d); err != nil {
		return nil, err
	}
	return a.deviceState(&d), nil
}

func (a *API) deviceState(d *thwart.Device) *deviceOut {
	return &deviceOut{DeviceState{Device: d.ID, Person: d.Person, Role: d.Role, LeaseUntil: d.LeaseUntil, ServerNow: a.cfg.Now().UTC(), Demo: a.cfg.Demo, ReceiptKey: a.receiptKey()}}
}

func (a *API) renewLease(ctx context.Context, _ *none) (*deviceOut, error) {
	d := *who(ctx).device
	now := a.cfg.Now().UTC()
	d.LeaseUntil = now.Add(Lease)
	if err := a.cfg.Accounts.SeeDevice(ctx, d.ID, now, d.LeaseUntil); err != nil {
		return nil, err
	}
	if err := a.vouch(ctx, &d); err != nil { // a phone enrolled before there was a key
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
