// Package badline gives tests a line that loses, delays, repeats and cuts off what is sent over it. What it does is drawn from a
// seed. It is for tests only.
package badline

import (
	"errors"
	"io"
	"math/rand/v2"
	"net/http"
	"sync"
	"sync/atomic"
	"time"
)

// Line is a transport of HTTP. The shares are of 100 requests and exclude each other.
type Line struct {
	Next http.RoundTripper

	Lost       int // never arrive
	Unanswered int // arrive, the answer does not
	Twice      int // arrive twice
	Cut        int // break off half way
	Late       int // arrive late
	// Late requests wait up to LateBy, all others up to Jitter.
	LateBy, Jitter time.Duration

	// Drops counts requests whose sender got no answer.
	Drops atomic.Int64

	mu  sync.Mutex
	rng *rand.Rand
}

// Seed says what is drawn; without it the line does the same every time too.
func (l *Line) Seed(a, b uint64) *Line {
	l.rng = rand.New(rand.NewPCG(a, b))
	return l
}

func (l *Line) draw() (kind int, wait time.Duration) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.rng == nil {
		l.rng = rand.New(rand.NewPCG(1, 1))
	}
	kind = l.rng.IntN(100)
	if l.Jitter > 0 {
		wait = time.Duration(l.rng.Int64N(int64(l.Jitter)))
	}
	if late := l.Lost + l.Unanswered + l.Twice + l.Cut; kind >= late && kind < late+l.Late {
		wait = time.Duration(l.rng.Int64N(int64(l.LateBy)))
	}
	return kind, wait
}

// ErrBroke is what a sender learns of a request that was lost.
var ErrBroke = errors.New("the line broke")

func (l *Line) lost() (*http.Response, error) {
	l.Drops.Add(1)
	return nil, ErrBroke
}

// RoundTrip sends a request, or does not.
func (l *Line) RoundTrip(req *http.Request) (*http.Response, error) {
	kind, wait := l.draw()
	time.Sleep(wait)
	switch {
	case kind < l.Lost:
		return l.lost()
	case kind < l.Lost+l.Unanswered:
		if err := l.send(req); err != nil {
			return nil, err
		}
		return l.lost()
	case kind < l.Lost+l.Unanswered+l.Twice:
		again, err := copyOf(req)
		if err == nil {
			err = l.send(again)
		}
		if err != nil {
			return nil, err
		}
	case kind < l.Lost+l.Unanswered+l.Twice+l.Cut && req.ContentLength > 2:
		half, err := copyOf(req)
		if err != nil {
			return nil, err
		}
		half.Body = io.NopCloser(io.LimitReader(half.Body, req.ContentLength/2))
		_ = l.send(half) // that it fails is the point
		return l.lost()
	}
	return l.Next.RoundTrip(req)
}

// send sends a request whose answer nobody gets.
func (l *Line) send(req *http.Request) error {
	res, err := l.Next.RoundTrip(req)
	if err != nil {
		return err
	}
	_, _ = io.Copy(io.Discard, res.Body)
	return res.Body.Close()
}

func copyOf(req *http.Request) (*http.Request, error) {
	r := req.Clone(req.Context())
	if req.GetBody == nil {
		return r, nil
	}
	body, err := req.GetBody()
	r.Body = body
	return r, err
}
