package api

import (
	"context"
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"net/http"
	"strconv"
	"strings"
	"sync"
	"time"

	"thwart"
)

// A session is a signed cookie: account, session, start and last renewal, and a MAC under a key that is derived from the
// server's key and the account's password hash. It needs no table, survives a restart, holds on every server of the
// programme that has the same key, and ends when the password changes or the account is revoked. What a signed cookie cannot
// do alone is end at a sign-out; for that the audit trail, which has a line for each, is read back.

const (
	cookieName = "thwart"
	// A cookie with this prefix is only taken by browsers over HTTPS and from this host.
	secureCookieName = "__Host-thwart"
	renewAfter       = 5 * time.Minute
)

func (a *API) sessionMAC(acc *thwart.Account, payload string) []byte {
	k := hmac.New(sha256.New, a.cfg.Key)
	k.Write([]byte("session\n" + acc.ID + "\n" + acc.PasswordHash))
	m := hmac.New(sha256.New, k.Sum(nil))
	m.Write([]byte(payload))
	return m.Sum(nil)
}

func (a *API) sessionToken(acc *thwart.Account, session string, started, renewed time.Time) string {
	payload := strings.Join([]string{"1", acc.ID, session, strconv.FormatInt(started.Unix(), 10), strconv.FormatInt(renewed.Unix(), 10)}, ".")
	return payload + "." + base64.RawURLEncoding.EncodeToString(a.sessionMAC(acc, payload))
}

func (a *API) sessionCookie(r *http.Request, value string) *http.Cookie {
	c := &http.Cookie{Name: cookieName, Value: value, Path: "/", HttpOnly: true, SameSite: http.SameSiteLaxMode}
	if a.https(r) {
		c.Name, c.Secure = secureCookieName, true
	}
	if value == "" {
		c.MaxAge = -1
	}
	return c
}

func newSessionID() string {
	var b [16]byte
	rand.Read(b[:])
	return base64.RawURLEncoding.EncodeToString(b[:])
}

// session reads the cookie. Whatever is wrong with it, the caller is then nobody.
func (a *API) session(w http.ResponseWriter, r *http.Request) (*principal, error) {
	name := cookieName
	if a.https(r) {
		name = secureCookieName
	}
	c, err := r.Cookie(name)
	if err != nil {
		return nil, nil
	}
	cut := strings.LastIndexByte(c.Value, '.')
	part := strings.Split(c.Value[:max(cut, 0)], ".")
	if len(part) != 5 || part[0] != "1" || !thwart.IsID(part[1]) {
		return nil, nil
	}
	started, err1 := strconv.ParseInt(part[3], 10, 64)
	renewed, err2 := strconv.ParseInt(part[4], 10, 64)
	mac, err3 := base64.RawURLEncoding.DecodeString(c.Value[cut+1:])
	if err1 != nil || err2 != nil || err3 != nil {
		return nil, nil
	}
	now := a.cfg.Now()
	begun, last := time.Unix(started, 0), time.Unix(renewed, 0)
	if now.Sub(begun) > SessionMax || now.Sub(last) > SessionIdle {
		return nil, nil
	}
	acc, err := a.cfg.Accounts.AccountByID(r.Context(), part[1])
	if errors.Is(err, thwart.ErrNotFound) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	if !hmac.Equal(mac, a.sessionMAC(&acc, c.Value[:cut])) || acc.RevokedAt != nil {
		return nil, nil
	}
	if err := a.readSignOuts(r.Context()); err != nil {
		return nil, err
	}
	if a.out.has(part[2]) {
		return nil, nil
	}
	if now.Sub(last) > renewAfter {
		http.SetCookie(w, a.sessionCookie(r, a.sessionToken(&acc, part[2], begun, now)))
	}
	return &principal{account: acc.ID, session: part[2], person: acc.Person, role: acc.Role}, nil
}

// signedOut holds the sessions that were ended before their time.
type signedOut struct {
	mu    sync.Mutex
	until map[string]time.Time // by session: when it would have ended by itself
	read  time.Time            // when the trail was last read
}

func (s *signedOut) has(session string) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	_, ok := s.until[session]
	return ok
}

func (s *signedOut) add(session string, until time.Time) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.until[session] = until
}

// due says whether the trail should be read again, and back to when.
func (s *signedOut) due(now time.Time) (back time.Time, ok bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if !s.read.IsZero() && now.Sub(s.read) < signOutDelay && now.After(s.read.Add(-signOutDelay)) {
		return back, false
	}
	if back = now.Add(-SessionMax); !s.read.IsZero() {
		back = s.read.Add(-time.Minute) // room for the clocks of two servers
	}
	s.read = now
	for session, until := range s.until {
		if now.After(until) {
			delete(s.until, session)
		}
	}
	return back, true
}

// signOutDelay is how late a sign-out on one server may be noticed by another.
const signOutDelay = 5 * time.Second

const didSignOut = "sign_out"

// readSignOuts reads the youngest lines of the audit trail, which lists the latest first.
func (a *API) readSignOuts(ctx context.Context) error {
	now := a.cfg.Now()
	back, due := a.out.due(now)
	if !due {
		return nil
	}
	for after := ""; ; {
		page, err := a.cfg.Accounts.ListAudit(ctx, after, 200)
		if err != nil {
			return err
		}
		for _, l := range page.Items {
			if l.At.Before(back) {
				return nil
			}
			if l.What == didSignOut {
				a.out.add(l.About, l.At.Add(SessionMax))
			}
		}
		if after = page.Next; after == "" {
			return nil
		}
	}
}
