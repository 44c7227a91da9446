package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"thwart"
)

const (
	accountColumns = "id, person, login, login_key, password_hash, role, created_at, revoked_at, failed_since, locked_until"
	deviceColumns  = "id, person, role, name, public_key, enrolled_at, last_seen_at, lease_until, revoked_at"
	inviteColumns  = "id, code_hash, person, role, created_by, created_at, expires_at, used_at, used_by"
	auditColumns   = "id, at, who, what, about, detail, seal"
)

// loginKey is what makes two logins the same: spaces around and capitals do not count.
func loginKey(login string) string { return strings.ToLower(strings.TrimSpace(login)) }

func loginFits(login string) bool {
	return loginKey(login) != "" && len(login) <= maxWord && utf8.ValidString(login) && strings.IndexByte(login, 0) < 0
}

func errLogin(login string) error {
	return thwart.FieldErrors{{
		Field: "login", Value: strings.ToValidUTF8(login[:min(60, len(login))], "�"), Accepted: fmt.Sprintf("1 to %d bytes of UTF-8 without NUL", maxWord),
	}}
}

func accountArgs(a thwart.Account) []any {
	return []any{
		a.ID, a.Person, a.Login, loginKey(a.Login), a.PasswordHash, string(a.Role), ms(a.CreatedAt), msOrNull(a.RevokedAt),
		int64(a.FailedSince), msOrNull(a.LockedUntil),
	}
}

func scanAccount(rows interface{ Scan(...any) error }) (a thwart.Account, err error) {
	var key string
	var created int64
	var revoked, locked sql.NullInt64
	err = rows.Scan(&a.ID, &a.Person, &a.Login, &key, &a.PasswordHash, (*string)(&a.Role), &created, &revoked, &a.FailedSince, &locked)
	a.CreatedAt, a.RevokedAt, a.LockedUntil = fromMS(created), timeOrNil(revoked), timeOrNil(locked)
	return a, err
}

func (s *Store) addAccount(ctx context.Context, w work, a thwart.Account) error {
	switch {
	case a.ID == "":
		return thwart.FieldErrors{{Field: "id", Accepted: "the id of the account"}}
	case !loginFits(a.Login):
		return errLogin(a.Login)
	}
	_, err := w.exec(ctx, "INSERT INTO accounts ("+accountColumns+") VALUES "+places(1, 10), accountArgs(a)...)
	return s.orConflict(err, "an account with this id or login")
}

// CreateFirst makes the first account of an empty programme and fails with ErrConflict when there is any, also when two
// are made at one moment: the ledger's lock decides.
func (s *Store) CreateFirst(ctx context.Context, a thwart.Account) error {
	return s.inWrite(ctx, "making the first account", func(ctx context.Context, w work) error {
		if _, err := takeLedger(ctx, w, 0); err != nil {
			return err
		}
		var n int
		if err := w.row(ctx, "SELECT COUNT(*) FROM accounts").Scan(&n); err != nil {
			return err
		}
		if n > 0 {
			return fmt.Errorf("there are %d accounts: %w", n, thwart.ErrConflict)
		}
		return s.addAccount(ctx, w, a)
	})
}

// CreateAccount adds an account. Logins that differ in capitals only are the same.
func (s *Store) CreateAccount(ctx context.Context, a thwart.Account) error {
	return s.inWrite(ctx, "making an account", func(ctx context.Context, w work) error { return s.addAccount(ctx, w, a) })
}

// AccountByLogin finds an account.
func (s *Store) AccountByLogin(ctx context.Context, login string) (thwart.Account, error) {
	return s.account(ctx, "login_key = $1", loginKey(login))
}

// AccountByID finds an account.
func (s *Store) AccountByID(ctx context.Context, id string) (thwart.Account, error) {
	return s.account(ctx, "id = $1", id)
}

func (s *Store) account(ctx context.Context, where, key string) (thwart.Account, error) {
	if strings.IndexByte(key, 0) >= 0 || !utf8.ValidString(key) {
		return thwart.Account{}, fmt.Errorf("account: %w", thwart.ErrNotFound)
	}
	a, err := scanAccount(s.read.QueryRowContext(ctx, "SELECT "+accountColumns+" FROM accounts WHERE "+where, key))
	return a, s.orNotFound("account", err)
}

func (s *Store) orNotFound(what string, err error) error {
	if errors.Is(err, sql.ErrNoRows) {
		return fmt.Errorf("%s: %w", what, thwart.ErrNotFound)
	}
	return s.fault("reading an "+what, err)
}

// ListAccounts gives every account in the order in which they were made.
func (s *Store) ListAccounts(ctx context.Context) ([]thwart.Account, error) {
	return list(ctx, s, "accounts", "SELECT "+accountColumns+" FROM accounts ORDER BY created_at, id", scanAccount)
}

type scanner = interface{ Scan(...any) error }

func list[T any](ctx context.Context, s *Store, what, q string, scan func(scanner) (T, error), args ...any) ([]T, error) {
	out := []T{}
	rows, err := s.read.QueryContext(ctx, q, args...)
	if err == nil {
		err = eachRow(rows, func(rows *sql.Rows) error {
			v, err := scan(rows)
			out = append(out, v)
			return err
		})
	}
	return out, s.fault("listing "+what, err)
}

// UpdateAccount overwrites an account.
func (s *Store) UpdateAccount(ctx context.Context, a thwart.Account) error {
	if !loginFits(a.Login) {
		return errLogin(a.Login)
	}
	return s.inWrite(ctx, "changing an account", func(ctx context.Context, w work) error {
		res, err := w.exec(ctx, "UPDATE accounts SET person = $2, login = $3, login_key = $4, password_hash = $5, role = $6, created_at = $7,"+
			" revoked_at = $8, failed_since = $9, locked_until = $10 WHERE id = $1", accountArgs(a)...)
		if err != nil {
			return s.orConflict(err, "an account with this login")
		}
		return changed(res, fmt.Errorf("account %.60q: %w", a.ID, thwart.ErrNotFound))
	})
}

// HasAccounts reports whether the programme has been set up.
func (s *Store) HasAccounts(ctx context.Context) (bool, error) {
	var n int
	err := s.read.QueryRowContext(ctx, "SELECT COUNT(*) FROM accounts").Scan(&n)
	return n > 0, s.fault("counting accounts", err)
}

func scanInvite(rows scanner) (i thwart.Invite, err error) {
	var created, expires int64
	var used sql.NullInt64
	err = rows.Scan(&i.ID, &i.CodeHash, &i.Person, (*string)(&i.Role), &i.CreatedBy, &created, &expires, &used, &i.UsedBy)
	i.CreatedAt, i.ExpiresAt, i.UsedAt = fromMS(created), fromMS(expires), timeOrNil(used)
	return i, err
}

// CreateInvite adds an invite. A code is for one invite only: ErrConflict.
func (s *Store) CreateInvite(ctx context.Context, i thwart.Invite) error {
	if i.ID == "" || len(i.CodeHash) == 0 {
		return thwart.FieldErrors{{Field: "codeHash", Accepted: "the id and the hash of the code"}}
	}
	return s.inWrite(ctx, "making an invite", func(ctx context.Context, w work) error {
		_, err := w.exec(ctx, "INSERT INTO invites ("+inviteColumns+") VALUES "+places(1, 9), i.ID, i.CodeHash, i.Person, string(i.Role),
			i.CreatedBy, ms(i.CreatedAt), ms(i.ExpiresAt), msOrNull(i.UsedAt), i.UsedBy)
		return s.orConflict(err, "an invite with this id or code")
	})
}

// UseInvite marks an invite as used and adds the device. Person and role of the device are the invite's, whatever d says.
func (s *Store) UseInvite(ctx context.Context, codeHash []byte, d thwart.Device, at time.Time) (inv thwart.Invite, err error) {
	if d.ID == "" {
		return inv, thwart.FieldErrors{{Field: "device.id", Accepted: "the id of the device"}}
	}
	err = s.inWrite(ctx, "enrolling a device", func(ctx context.Context, w work) (err error) {
		// The condition stands in the statement that takes the row, so of two who use one code only one finds it unused.
		inv, err = scanInvite(w.row(ctx, "UPDATE invites SET used_at = $1, used_by = $2 WHERE code_hash = $3 AND used_at IS NULL AND expires_at > $4"+
			" RETURNING "+inviteColumns, ms(at), d.ID, notNil(codeHash), ms(at)))
		if errors.Is(err, sql.ErrNoRows) {
			return fmt.Errorf("the code is unknown, used or out of date: %w", thwart.ErrNotFound)
		}
		if err != nil {
			return err
		}
		_, err = w.exec(ctx, "INSERT INTO devices ("+deviceColumns+") VALUES "+places(1, 9), d.ID, inv.Person, string(inv.Role), d.Name,
			notNil(d.PublicKey), ms(d.EnrolledAt), msOrNull(d.LastSeenAt), ms(d.LeaseUntil), nil)
		return s.orConflict(err, "a device with this id")
	})
	if err != nil {
		return thwart.Invite{}, err
	}
	return inv, nil
}

// ListInvites gives every invite in the order in which they were made.
func (s *Store) ListInvites(ctx context.Context) ([]thwart.Invite, error) {
	return list(ctx, s, "invites", "SELECT "+inviteColumns+" FROM invites ORDER BY created_at, id", scanInvite)
}

func scanDevice(rows scanner) (d thwart.Device, err error) {
	var enrolled, lease int64
	var seen, revoked sql.NullInt64
	err = rows.Scan(&d.ID, &d.Person, (*string)(&d.Role), &d.Name, &d.PublicKey, &enrolled, &seen, &lease, &revoked)
	d.EnrolledAt, d.LeaseUntil, d.LastSeenAt, d.RevokedAt = fromMS(enrolled), fromMS(lease), timeOrNil(seen), timeOrNil(revoked)
	return d, err
}

// DeviceByID finds a device, revoked or not.
func (s *Store) DeviceByID(ctx context.Context, id string) (thwart.Device, error) {
	if strings.IndexByte(id, 0) >= 0 || !utf8.ValidString(id) {
		return thwart.Device{}, fmt.Errorf("device: %w", thwart.ErrNotFound)
	}
	d, err := scanDevice(s.read.QueryRowContext(ctx, "SELECT "+deviceColumns+" FROM devices WHERE id = $1", id))
	return d, s.orNotFound("device", err)
}

// ListDevices gives every device in the order in which they were enrolled.
func (s *Store) ListDevices(ctx context.Context) ([]thwart.Device, error) {
	return list(ctx, s, "devices", "SELECT "+deviceColumns+" FROM devices ORDER BY enrolled_at, id", scanDevice)
}

// SeeDevice notes that a device was in touch and until when it may work offline. ErrConflict: it is revoked, and its lease
// is not renewed.
func (s *Store) SeeDevice(ctx context.Context, id string, at, lease time.Time) error {
	return s.inWrite(ctx, "noting a device", func(ctx context.Context, w work) error {
		res, err := w.exec(ctx, "UPDATE devices SET last_seen_at = $1, lease_until = $2 WHERE id = $3 AND revoked_at IS NULL", ms(at), ms(lease), id)
		if err != nil {
			return err
		}
		if n, err := res.RowsAffected(); err != nil || n > 0 {
			return err
		}
		return s.missingOrRevoked(ctx, w, id)
	})
}

func (s *Store) missingOrRevoked(ctx context.Context, w work, id string) error {
	var n int
	if err := w.row(ctx, "SELECT COUNT(*) FROM devices WHERE id = $1", id).Scan(&n); err != nil {
		return err
	}
	if n == 0 {
		return fmt.Errorf("device %.60q: %w", id, thwart.ErrNotFound)
	}
	return fmt.Errorf("device %s is revoked: %w", id, thwart.ErrConflict)
}

// RevokeDevice shuts a device out. Of several times the first stays.
func (s *Store) RevokeDevice(ctx context.Context, id string, at time.Time) error {
	return s.inWrite(ctx, "revoking a device", func(ctx context.Context, w work) error {
		res, err := w.exec(ctx, "UPDATE devices SET revoked_at = $1 WHERE id = $2 AND revoked_at IS NULL", ms(at), id)
		if err != nil {
			return err
		}
		if n, err := res.RowsAffected(); err != nil || n > 0 {
			return err
		}
		if err := s.missingOrRevoked(ctx, w, id); !errors.Is(err, thwart.ErrConflict) {
			return err
		}
		return nil
	})
}

func auditSeal(a thwart.Audit) int64 {
	return first8([]byte(strings.Join([]string{a.ID, strconv.FormatInt(ms(a.At), 10), a.Who, a.What, a.About, a.Detail}, "\n")))
}

// AddAudit adds a line to the trail.
func (s *Store) AddAudit(ctx context.Context, a thwart.Audit) error {
	if a.ID == "" {
		return thwart.FieldErrors{{Field: "id", Accepted: "the id of the line"}}
	}
	// What is noted may come from outside, such as a login that was tried.
	for _, f := range []*string{&a.Who, &a.What, &a.About, &a.Detail} {
		*f = strings.ReplaceAll(strings.ToValidUTF8(*f, "�"), "\x00", "�")
	}
	return s.inWrite(ctx, "adding to the audit trail", func(ctx context.Context, w work) error {
		_, err := w.exec(ctx, "INSERT INTO audit ("+auditColumns+") VALUES "+places(1, 7), a.ID, ms(a.At), a.Who, a.What, a.About, a.Detail, auditSeal(a))
		return s.orConflict(err, "a line with this id")
	})
}

// ListAudit gives the trail, latest first.
func (s *Store) ListAudit(ctx context.Context, after string, limit int) (page thwart.Page[thwart.Audit], err error) {
	limit, err = limitOf(limit)
	if err != nil {
		return page, err
	}
	var a args
	where := ""
	if after != "" {
		keys, err := parseCursor(after, "audit", int64(0), "")
		if err != nil {
			return page, err
		}
		where = " WHERE (at, id) < (" + a.add(keys[0]) + ", " + a.add(keys[1]) + ")"
	}
	page.Items, err = list(ctx, s, "the audit trail", "SELECT "+auditColumns+" FROM audit"+where+" ORDER BY at DESC, id DESC LIMIT "+
		strconv.Itoa(limit+1), func(rows scanner) (thwart.Audit, error) { l, _, err := scanAudit(rows); return l, err }, a...)
	if err != nil {
		return page, err
	}
	if len(page.Items) > limit {
		page.Items = page.Items[:limit]
		last := page.Items[limit-1]
		page.Next = cursor{"audit", []any{ms(last.At), last.ID}}.String()
	}
	return page, nil
}

func scanAudit(rows scanner) (a thwart.Audit, seal int64, err error) {
	var at int64
	err = rows.Scan(&a.ID, &at, &a.Who, &a.What, &a.About, &a.Detail, &seal)
	a.At = fromMS(at)
	return a, seal, err
}
