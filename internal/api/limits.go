package api

import (
	"context"
	"net"
	"net/http"
	"strings"
	"sync"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"golang.org/x/time/rate"
)

// Rates are how often something may be asked. A zero field takes the default.
type Rates struct {
	Address  Rate // requests from one address; a whole office or ramp may share one
	Caller   Rate // requests of one account or phone
	SignIn   Rate // sign-ins, set-ups and enrolments from one address
	PerLogin Rate // sign-ins with one login, from wherever
}

// Rate is a steady number a second and how many may come at once.
type Rate struct {
	PerSecond float64
	Burst     int
}

// The defaults are assumptions: a phone that comes back from a day without signal sends a few dozen requests at once; a
// person signs in a few times a day.
var defaultRates = Rates{
	Address:  Rate{100, 400},
	Caller:   Rate{20, 100},
	SignIn:   Rate{0.5, 20},
	PerLogin: Rate{0.1, 10},
}

type limits struct {
	address, caller, signIn, perLogin *keyed
	unknown                           *unknownLogins
}

func newLimits(r Rates) limits {
	pick := func(r, d Rate) *keyed {
		if r.PerSecond <= 0 || r.Burst <= 0 {
			r = d
		}
		return &keyed{rate: rate.Limit(r.PerSecond), burst: r.Burst, of: map[string]*keyedLimiter{}}
	}
	return limits{
		address: pick(r.Address, defaultRates.Address), caller: pick(r.Caller, defaultRates.Caller),
		signIn: pick(r.SignIn, defaultRates.SignIn), perLogin: pick(r.PerLogin, defaultRates.PerLogin),
		unknown: &unknownLogins{of: map[string]unknownLogin{}},
	}
}

// keyed is one limiter for every key. Keys that have been quiet are forgotten, so that a flood of invented keys takes a
// bounded amount of memory.
type keyed struct {
	rate  rate.Limit
	burst int
	mu    sync.Mutex
	of    map[string]*keyedLimiter
}

type keyedLimiter struct {
	*rate.Limiter
	used time.Time
}

const maxKeys = 20000

// allow takes one turn. wait is how long until the next one where there was none.
func (k *keyed) allow(key string, now time.Time) (ok bool, wait time.Duration) {
	k.mu.Lock()
	defer k.mu.Unlock()
	l := k.of[key]
	if l == nil {
		if len(k.of) >= maxKeys {
			k.forget(now)
		}
		l = &keyedLimiter{Limiter: rate.NewLimiter(k.rate, k.burst)}
		k.of[key] = l
	}
	l.used = now
	r := l.ReserveN(now, 1)
	if d := r.DelayFrom(now); !r.OK() || d > 0 {
		r.CancelAt(now)
		return false, d
	}
	return true, 0
}

// forget drops keys whose turns have all grown back; if that frees too little, it starts afresh.
func (k *keyed) forget(now time.Time) {
	full := time.Duration(float64(k.burst) / float64(k.rate) * float64(time.Second))
	for key, l := range k.of {
		if now.Sub(l.used) > full {
			delete(k.of, key)
		}
	}
	if len(k.of) >= maxKeys {
		clear(k.of)
	}
}

func tooMany(wait time.Duration) *Problem {
	return problem(http.StatusTooManyRequests, "too many requests; wait and send it again").retryAfter(int(wait.Seconds()) + 1)
}

// address is the caller's network address, without the port.
func (a *API) address(r *http.Request) string {
	if a.cfg.TrustProxy {
		// The last entry is the one that the trusted proxy added; the ones before it are the caller's own words.
		list := strings.Split(strings.Join(r.Header.Values("X-Forwarded-For"), ","), ",")
		if ip := net.ParseIP(strings.TrimSpace(list[len(list)-1])); ip != nil {
			return ip.String()
		}
	}
	host, _, err := net.SplitHostPort(r.RemoteAddr)
	if err != nil {
		return r.RemoteAddr
	}
	return host
}

// https reports whether the caller's side of the line is encrypted.
func (a *API) https(r *http.Request) bool {
	return r.TLS != nil || a.cfg.TrustProxy && strings.EqualFold(r.Header.Get("X-Forwarded-Proto"), "https")
}

func (a *API) limitAddress(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if ok, wait := a.limits.address.allow(a.address(r), a.cfg.Now()); !ok {
			writeProblem(w, tooMany(wait))
			return
		}
		next.ServeHTTP(w, r)
	})
}

// Wrong passwords for logins that do not exist are counted like those of logins that do, so that a lock-out does not tell
// which is which. They live in memory: there is nothing to protect beyond the likeness.
type unknownLogins struct {
	mu sync.Mutex
	of map[string]unknownLogin
}

type unknownLogin struct {
	wrong int
	until time.Time
}

func (u *unknownLogins) wrong(login string, now time.Time) {
	u.mu.Lock()
	defer u.mu.Unlock()
	if len(u.of) >= maxKeys {
		clear(u.of)
	}
	l := u.of[login]
	l.wrong++
	if d := lockFor(l.wrong); d > 0 {
		l.until = now.Add(d)
	}
	u.of[login] = l
}

func (u *unknownLogins) lock(login string) time.Time {
	u.mu.Lock()
	defer u.mu.Unlock()
	return u.of[login].until
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
