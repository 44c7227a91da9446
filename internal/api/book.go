package api

import (
	"context"
	"fmt"
	"sync"
	"time"

	"thwart"
	"thwart/season"
)

// Records is where a [LiveBook] reads: entries as they arrive, and the purges that have changed what arrived before.
type Records interface {
	season.Source
	Purges(ctx context.Context) ([]thwart.PurgeReport, error)
}

// LiveBook is the season as a server computes with it: one Book for all pages and jobs, made again when entries have arrived. The
// first reading goes through the whole store; later ones take what is new. After a purge, on this server or another, everything
// is read again, so that nothing purged is computed with or shown. It is safe for concurrent use.
type LiveBook struct {
	source Records
	now    func() time.Time

	mu      sync.Mutex
	builder *season.Builder
	purges  int // how many there were before the builder began to read
	book    *season.Book
	edition int // counts the Books made
	madeAt  time.Time
	took    time.Duration
	due     bool // somebody in the office wrote something and will look for it

	memos memos
}

// NewLiveBook reads nothing yet. now may be nil.
func NewLiveBook(source Records, now func() time.Time) *LiveBook {
	if now == nil {
		now = time.Now
	}
	return &LiveBook{source: source, now: now}
}

// Current gives the Book of everything that is in the store now. It never changes once given and may be read by many at once.
func (l *LiveBook) Current(ctx context.Context) (*season.Book, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	err := l.catchUp(ctx)
	return l.book, err
}

// read gives the Book and its edition. A Book is made at most so often that making it takes a tenth of the time: a page may then
// show a season that is a little behind what phones send, and the Book's cursor says how far. What the office writes shows at once.
func (l *LiveBook) read(ctx context.Context) (*season.Book, int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.book == nil || l.due || l.now().Sub(l.madeAt) >= 10*l.took {
		if err := l.catchUp(ctx); err != nil {
			return nil, 0, err
		}
	}
	return l.book, l.edition, nil
}

// written makes the next reading take in what has just been written.
func (l *LiveBook) written() {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.due = true
}

// forget makes the next reading begin anew.
func (l *LiveBook) forget() {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.builder, l.book = nil, nil
}

func (l *LiveBook) catchUp(ctx context.Context) error {
	// A purge is noted when it is over: one that goes on while entries are read shows at the next reading.
	purges, err := l.source.Purges(ctx)
	if err != nil {
		return err
	}
	if l.builder == nil || len(purges) != l.purges {
		l.builder, l.book = season.New(season.Options{Zone: time.LoadLocation}), nil
		l.purges = len(purges)
	}
	if err := l.builder.CatchUp(ctx, l.source); err != nil {
		return err
	}
	l.due = false
	if l.book != nil && l.book.Cursor == l.builder.Cursor() {
		l.madeAt = l.now()
		return nil
	}
	start := l.now()
	l.book = l.builder.Book()
	l.edition++
	l.madeAt = l.now()
	l.took = l.madeAt.Sub(start)
	return nil
}

// Reader gives the records as they stand: [LiveBook.Current], for a computation that begins.
type Reader func(context.Context) (*season.Book, error)

// season gives the records of the programme as they stand, for whatever is computed from them.
func (a *API) season(ctx context.Context) (*season.Book, error) {
	book, _, err := a.cfg.Live.read(ctx)
	return book, err
}

// Warm reads the season ahead of the first page that needs it, so that nobody waits for it.
func (a *API) Warm(ctx context.Context) error {
	_, err := a.season(ctx)
	return err
}

// memoMax is how many computed answers are kept; the one asked for longest ago gives way.
const memoMax = 200

// memos keeps answers that were computed from one Book. Whoever asks for an answer that is being computed waits for it.
type memos struct {
	mu    sync.Mutex
	clock int64
	kept  map[string]*memo
}

type memo struct {
	once  sync.Once
	value any
	err   error
	used  int64
}

// fromBook gives what compute makes of the Book, computed once for each key and state of the records. The key names the
// computation and everything asked of it.
func fromBook[T any](ctx context.Context, a *API, key string, compute func(*season.Book) (T, error)) (T, error) {
	book, edition, err := a.cfg.Live.read(ctx)
	if err != nil {
		var none T
		return none, err
	}
	m := a.cfg.Live.memos.at(fmt.Sprintf("%d %s", edition, key))
	m.once.Do(func() { m.value, m.err = compute(book) })
	value, _ := m.value.(T)
	return value, m.err
}

func (m *memos) at(key string) *memo {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.clock++
	if m.kept == nil {
		m.kept = map[string]*memo{}
	}
	k := m.kept[key]
	if k == nil {
		if len(m.kept) >= memoMax {
			oldest := ""
			for name, other := range m.kept {
				if oldest == "" || other.used < m.kept[oldest].used {
					oldest = name
				}
			}
			delete(m.kept, oldest)
		}
		k = &memo{}
		m.kept[key] = k
	}
	k.used = m.clock
	return k
}
