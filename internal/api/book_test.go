package api

import (
	"context"
	"errors"
	"strconv"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"thwart"
	"thwart/season"
)

// waters is a source of n waters, one arriving after the other.
type waters struct {
	n      atomic.Int64
	purged atomic.Bool // their names are gone
	purges []thwart.PurgeReport
}

func (w *waters) Purges(context.Context) ([]thwart.PurgeReport, error) { return w.purges, nil }

func (w *waters) Changes(_ context.Context, _ []thwart.Kind, after int64, limit int) ([]thwart.Kept, int64, error) {
	var out []thwart.Kept
	for c := after + 1; c <= w.n.Load() && len(out) < limit; c++ {
		name := "Water " + strconv.FormatInt(c, 10)
		if w.purged.Load() {
			name = "Taken out"
		}
		id := thwart.MakeID(time.UnixMilli(1_700_000_000_000+c), [10]byte{byte(c)})
		out = append(out, thwart.Kept{Cursor: c, Entry: thwart.Entry{ID: id, Subject: id, Kind: thwart.KindWater, Origin: thwart.OriginOffice,
			MadeAt: time.UnixMilli(1_700_000_000_000 + c), Body: []byte(`{"name":"` + name + `","centre":[0,0]}`)}})
	}
	if len(out) > 0 {
		after = out[len(out)-1].Cursor
	}
	return out, after, nil
}

func TestLiveBookFollowsTheStore(t *testing.T) {
	src := &waters{}
	src.n.Store(3)
	now := time.Unix(0, 0)
	l := NewLiveBook(src, func() time.Time { return now })
	first, _, err := l.read(t.Context())
	if err != nil || len(first.Waters) != 3 {
		t.Fatalf("%v, %+v", err, first)
	}
	src.n.Store(5)
	l.took = time.Second // as if making it had been long
	if again, _, _ := l.read(t.Context()); again != first {
		t.Error("made again at once, though that takes long")
	}
	now = now.Add(11 * time.Second)
	later, _, err := l.read(t.Context())
	if err != nil || len(later.Waters) != 5 || len(first.Waters) != 3 {
		t.Errorf("%v: %d waters later, %d in the first", err, len(later.Waters), len(first.Waters))
	}
}

// Whoever writes in the office sees it on the next page, however long making the Book takes.
func TestOfficeSeesWhatItWrote(t *testing.T) {
	src := &waters{}
	src.n.Store(3)
	l := NewLiveBook(src, nil)
	if _, _, err := l.read(t.Context()); err != nil {
		t.Fatal(err)
	}
	l.took = time.Hour
	src.n.Store(4)
	l.written()
	b, _, err := l.read(t.Context())
	if err != nil || len(b.Waters) != 4 {
		t.Errorf("%v, %+v", err, b)
	}
	l.took = time.Hour
	src.n.Store(5) // from a phone
	if again, _, _ := l.read(t.Context()); again != b {
		t.Error("made again for what a phone sent, though that takes long")
	}
}

// A job computes with what is there when it starts, though pages may lag behind.
func TestCurrentBookDoesNotLag(t *testing.T) {
	src := &waters{}
	src.n.Store(3)
	l := NewLiveBook(src, nil)
	if _, _, err := l.read(t.Context()); err != nil {
		t.Fatal(err)
	}
	l.took = time.Hour
	src.n.Store(4)
	if b, err := l.Current(t.Context()); err != nil || len(b.Waters) != 4 {
		t.Errorf("%v, %+v", err, b)
	}
}

// A purge elsewhere rewrites entries without a new cursor: the Book is read anew, and so is what was computed from it.
func TestLiveBookIsReadAgainAfterAPurge(t *testing.T) {
	src := &waters{}
	src.n.Store(3)
	a := &API{cfg: Config{Live: NewLiveBook(src, nil)}}
	name := func(b *season.Book) (string, error) { return b.Waters[0].Body.Name, nil }
	if was, err := fromBook(t.Context(), a, "name", name); err != nil || was != "Water 1" {
		t.Fatal(was, err)
	}
	src.purged.Store(true)
	src.purges = []thwart.PurgeReport{{By: "m"}}
	a.cfg.Live.madeAt = time.Time{}
	if is, err := fromBook(t.Context(), a, "name", name); err != nil || is != "Taken out" {
		t.Error(is, err)
	}
}

func TestMemoIsComputedOnceAStateAndKey(t *testing.T) {
	src := &waters{}
	src.n.Store(1)
	a := &API{cfg: Config{Live: NewLiveBook(src, time.Now)}}
	var runs atomic.Int64
	count := func(b *season.Book) (int, error) {
		runs.Add(1)
		return len(b.Waters), nil
	}
	var wg sync.WaitGroup
	for range 8 {
		wg.Go(func() {
			if n, err := fromBook(t.Context(), a, "count", count); n != 1 || err != nil {
				t.Errorf("%d, %v", n, err)
			}
		})
	}
	wg.Wait()
	if runs.Load() != 1 {
		t.Errorf("computed %d times", runs.Load())
	}
	src.n.Store(2)
	a.cfg.Live.madeAt = time.Time{}
	if n, _ := fromBook(t.Context(), a, "count", count); n != 2 {
		t.Errorf("after another water arrived: %d", n)
	}
	wrong := errors.New("no")
	for range 2 {
		if _, err := fromBook(t.Context(), a, "wrong", func(*season.Book) (int, error) { return 0, wrong }); !errors.Is(err, wrong) {
			t.Error(err)
		}
	}
	for i := range 3 * memoMax {
		a.cfg.Live.memos.at(strconv.Itoa(i))
	}
	if n := len(a.cfg.Live.memos.kept); n > memoMax {
		t.Errorf("%d answers kept", n)
	}
}
