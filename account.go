package thwart

import (
	"context"
	"time"
)

// Capability is something an account may do at the programme's server. Roles of the trade map to them in one table.
type Capability string

// Capabilities.
const (
	CanRecord   Capability = "record"  // add field entries
	CanRead     Capability = "read"    // encounters, totals, reference records
	CanCorrect  Capability = "correct" // supersede and remove
	CanManage   Capability = "manage"  // reference records, people, protocols, invites
	CanAudit    Capability = "audit"   // the audit trail
	CanExport   Capability = "export"
	CanSeeTrial Capability = "trials" // planted objects, while they are out
)

// AccessRole is what an account is at the server.
type AccessRole string

// Access roles.
const (
	AccessSteward    AccessRole = "steward"
	AccessTechnician AccessRole = "technician"
	AccessManager    AccessRole = "manager"
	AccessBiologist  AccessRole = "biologist" // reads and exports
	AccessAuditor    AccessRole = "auditor"   // reads, the audit trail too
)

// AccessRoles lists them all.
var AccessRoles = []AccessRole{AccessSteward, AccessTechnician, AccessManager, AccessBiologist, AccessAuditor}

// May reports whether a role has a capability. Deny is the default.
func (r AccessRole) May(c Capability) bool {
	switch r {
	case AccessSteward, AccessTechnician:
		return c == CanRecord
	case AccessManager:
		return true
	case AccessBiologist:
		return c == CanRead || c == CanExport
	case AccessAuditor:
		return c == CanRead || c == CanAudit
	}
	return false
}

// Account is a sign-in of a person.
type Account struct {
	ID           string     `json:"id"`
	Person       string     `json:"person"` // subject
	Login        string     `json:"login"`
	PasswordHash string     `json:"-"`
	Role         AccessRole `json:"role"`
	CreatedAt    time.Time  `json:"createdAt"`
	RevokedAt    *time.Time `json:"revokedAt,omitempty"`
	FailedSince  int        `json:"-"` // wrong passwords since the last right one
	LockedUntil  *time.Time `json:"lockedUntil,omitempty"`
}

// Device is an enrolled phone. It signs what it sends with its own key.
type Device struct {
	ID         string     `json:"id"`
	Person     string     `json:"person"`
	Role       AccessRole `json:"role"`
	Name       string     `json:"name"`
	PublicKey  []byte     `json:"publicKey"` // Ed25519
	EnrolledAt time.Time  `json:"enrolledAt"`
	LastSeenAt *time.Time `json:"lastSeenAt,omitempty"`
	LeaseUntil time.Time  `json:"leaseUntil"` // works offline until then
	RevokedAt  *time.Time `json:"revokedAt,omitempty"`
}

// Invite lets one phone enrol once.
type Invite struct {
	ID        string     `json:"id"`
	CodeHash  []byte     `json:"-"`
	Person    string     `json:"person"`
	Role      AccessRole `json:"role"`
	CreatedBy string     `json:"createdBy"`
	CreatedAt time.Time  `json:"createdAt"`
	ExpiresAt time.Time  `json:"expiresAt"`
	UsedAt    *time.Time `json:"usedAt,omitempty"`
	UsedBy    string     `json:"usedBy,omitempty"` // device
}

// Audit is one line of the trail: who did what to what, when. It is only ever added to.
type Audit struct {
	ID     string    `json:"id"`
	At     time.Time `json:"at"`
	Who    string    `json:"who"`  // account or device, or "-" before anybody is known
	What   string    `json:"what"` // such as sign_in, sign_in_failed, invite, enrol, revoke, correct, export, purge, settle
	About  string    `json:"about,omitempty"`
	Detail string    `json:"detail,omitempty"`
}

// Accounts keeps who may do what. It is implemented by the same stores as [Store] and tested by the same suite.
type Accounts interface {
	// CreateFirst makes the first account of an empty programme and fails with ErrConflict when there is any.
	CreateFirst(ctx context.Context, a Account) error
	CreateAccount(ctx context.Context, a Account) error // ErrConflict: the login is taken
	AccountByLogin(ctx context.Context, login string) (Account, error)
	AccountByID(ctx context.Context, id string) (Account, error)
	ListAccounts(ctx context.Context) ([]Account, error)
	UpdateAccount(ctx context.Context, a Account) error
	HasAccounts(ctx context.Context) (bool, error)

	CreateInvite(ctx context.Context, i Invite) error
	// UseInvite marks an invite as used and adds the device, in one transaction; ErrNotFound where the code is unknown, used
	// or out of date.
	UseInvite(ctx context.Context, codeHash []byte, d Device, at time.Time) (Invite, error)
	ListInvites(ctx context.Context) ([]Invite, error)

	DeviceByID(ctx context.Context, id string) (Device, error)
	ListDevices(ctx context.Context) ([]Device, error)
	SeeDevice(ctx context.Context, id string, at time.Time, lease time.Time) error
	RevokeDevice(ctx context.Context, id string, at time.Time) error

	AddAudit(ctx context.Context, a Audit) error
	ListAudit(ctx context.Context, after string, limit int) (Page[Audit], error)
}
