package api

import (
	"context"
	"fmt"
	"net/http"
	"strings"
	"time"

	"github.com/alexedwards/argon2id"

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
