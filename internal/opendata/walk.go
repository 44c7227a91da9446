package opendata

import (
	"cmp"
	"context"
	"hash/fnv"
	"math"
	"slices"
	"strings"
	"time"

	"thwart"
	"thwart/internal/exchange"
)

// session is time on site: a shift in the agency's copy, a launch and a week in the public one.
type session struct {
	ID, Launch, Water, Week       string
	From, To                      time.Time
	Hours                         float64 // steward-hours
	Shifts                        int
	PassedBy, Refused, TurnedAway int
	Inspections, Complete         int      // as published under the session
	Found                         []uint64 // targets found in it, a bit each
}

func round2(x float64) float64 { return math.Round(x*100) / 100 }

// sink takes what is published, record by record.
type sink interface {
	look(l *look) error
	wash(id, inspection string, w *thwart.WashDone) error
	session(s *session) error
	place(waters bool, id string, r *region) error
}

// Counts says how many records a copy has.
type Counts struct {
	Inspections int `json:"inspections"`
	Findings    int `json:"findings"`
	Sessions    int `json:"sessions"`
	Washes      int `json:"washes"`
	Waters      int `json:"waters"`
	Launches    int `json:"launches"`
	// LeftOut counts inspections that could not be hidden among others and are not in the copy.
	LeftOut int `json:"leftOut"`
	// Hidden counts inspections of which a column was left out, by column.
	Hidden map[string]int `json:"hidden,omitempty"`
}

// walker walks the records of a copy.
type walker struct {
	maker
	src      Source
	sessions map[string]*session
	order    []string
	published
	counts      Counts
	first, last string // days between which the sessions lie; in a public copy the ends of weeks
}

// published remembers which inspections went out, by hashes of their ids in the programme.
type published struct{ ids idSet }

func hashOf(id string) uint64 {
	h := fnv.New64a()
	h.Write([]byte(id))
	return h.Sum64()
}

// prepare reads the region and the sessions and, for a public copy, counts what could single a craft out.
func prepare(ctx context.Context, src Source, opt Options) (*walker, error) {
	r, err := readRegion(ctx, src)
	if err != nil {
		return nil, err
	}
	w := &walker{maker: maker{opt: opt, region: r}, src: src, sessions: map[string]*session{}}
	w.counts.Hidden = map[string]int{}
	if opt.Copy == Public {
		w.cells = newCells()
		err := each(ctx, src, thwart.KindInspection, func(_ string, e *thwart.Encounter) error {
			if w.wanted(e) {
				w.count(e)
			}
			return nil
		})
		if err != nil {
			return nil, err
		}
		w.cells.settle()
	}
	return w, w.readSessions(ctx)
}

func (w *walker) readSessions(ctx context.Context) error {
	of := map[string]*session{} // by shift
	err := each(ctx, w.src, thwart.KindShift, func(id string, s *thwart.Shift) error {
		if !w.opt.From.IsZero() && s.From.Before(w.opt.From) || !w.opt.To.IsZero() && !s.From.Before(w.opt.To) {
			return nil
		}
		from := w.region.local(s.Launch, s.From)
		key := id
		if w.opt.Copy == Public {
			key = w.sessionOf(s.Launch, weekOf(from))
		}
		x := w.sessionAt(key, s.Launch, from)
		of[id] = x
		x.Shifts++
		if s.To != nil {
			x.Hours += s.To.Sub(s.From).Hours() * float64(len(s.People))
			x.To = w.region.local(s.Launch, *s.To)
		}
		return nil
	})
	if err != nil {
		return err
	}
	for _, x := range w.sessions {
		a, b := weekSpan(x.Week)
		if w.opt.Copy == Agency {
			a, b = x.From.Format(time.DateOnly), x.From.Format(time.DateOnly)
		}
		if w.first == "" || a < w.first {
			w.first = a
		}
		w.last = max(w.last, b)
	}
	return each(ctx, w.src, thwart.KindTally, func(_ string, t *thwart.Tally) error {
		if x := of[t.Shift]; x != nil {
			x.PassedBy += t.PassedBy
			x.Refused += t.Refused
			x.TurnedAway += t.TurnedAway
		}
		return nil
	})
}

func (w *walker) sessionAt(key, launch string, from time.Time) *session {
	x := w.sessions[key]
	if x == nil {
		x = &session{ID: key, Launch: launch, Week: weekOf(from), From: from, Found: make([]uint64, (len(w.region.targets)+63)/64)}
		if l := w.region.launches[launch]; l != nil {
			x.Water = l.Water
		}
		w.sessions[key] = x
		w.order = append(w.order, key)
	}
	return x
}

// shuffled is how many records of a public copy are put in another order at a time, so that the order in which craft were met
// does not go out with them.
const shuffled = 50_000

// walk hands every record of the copy to a sink.
func (w *walker) walk(ctx context.Context, to sink) error {
	block := make([]look, 0, 1)
	flush := func() error {
		slices.SortFunc(block, func(a, b look) int { return strings.Compare(a.ID, b.ID) })
		for i := range block {
			if err := to.look(&block[i]); err != nil {
				return err
			}
		}
		block = block[:0]
		return nil
	}
	err := each(ctx, w.src, thwart.KindInspection, func(id string, e *thwart.Encounter) error {
		if !w.wanted(e) {
			return nil
		}
		l, ok := w.look(id, e)
		if !ok {
			w.counts.LeftOut++
			return nil
		}
		w.note(id, &l)
		if w.opt.Copy == Agency {
			return to.look(&l)
		}
		if block = append(block, l); len(block) == shuffled {
			return flush()
		}
		return nil
	})
	if err == nil {
		err = flush()
	}
	if err != nil {
		return err
	}
	if err := w.walkWashes(ctx, to); err != nil {
		return err
	}
	return w.walkPlaces(to)
}

// note counts a record that goes out.
func (w *walker) note(id string, l *look) {
	w.ids.add(id)
	w.counts.Inspections++
	w.counts.Findings += len(l.Findings)
	for _, f := range l.Withheld {
		w.counts.Hidden[f]++
	}
	s := w.sessions[l.Session]
	if s == nil {
		if l.Session == "" {
			return
		}
		if w.opt.Copy == Agency { // a record whose shift is not there, or began outside the chosen time
			l.Session = ""
			return
		}
		s = w.sessionAt(l.Session, l.Launch, time.Time{})
		s.Week = l.Week
	}
	s.Inspections++
	if l.Complete {
		s.Complete++
	}
	for _, f := range l.Findings {
		if t := slices.Index(w.region.targets, f.Organism); t >= 0 {
			s.Found[t/64] |= 1 << (t % 64)
		}
	}
}

func (w *walker) walkWashes(ctx context.Context, to sink) error {
	type washed struct {
		id, inspection string
		done           *thwart.WashDone
	}
	w.ids.settle()
	var block []washed // of a public copy, put in another order
	flush := func() error {
		slices.SortFunc(block, func(a, b washed) int { return strings.Compare(a.id, b.id) })
		for _, one := range block {
			if err := to.wash(one.id, one.inspection, one.done); err != nil {
				return err
			}
		}
		block = block[:0]
		return nil
	}
	err := each(ctx, w.src, thwart.KindWash, func(id string, x *thwart.WashDone) error {
		if !w.ids.has(x.Encounter) {
			return nil
		}
		w.counts.Washes++
		one := washed{w.newID("wash", id), w.newID("inspection", x.Encounter), &thwart.WashDone{Steps: slices.Clone(x.Steps), WaterL: x.WaterL}}
		if w.opt.Copy == Agency {
			return to.wash(one.id, one.inspection, one.done)
		}
		for i := range one.done.Steps {
			one.done.Steps[i] = thwart.WashStepDone{Outcome: one.done.Steps[i].Outcome}
		}
		if block = append(block, one); len(block) == shuffled {
			return flush()
		}
		return nil
	})
	if err != nil {
		return err
	}
	return flush()
}

func (w *walker) walkPlaces(to sink) error {
	slices.SortFunc(w.order, func(a, b string) int {
		x, y := w.sessions[a], w.sessions[b]
		return cmp.Or(strings.Compare(x.Week, y.Week), strings.Compare(x.ID, y.ID))
	})
	for _, id := range w.order {
		w.counts.Sessions++
		if err := to.session(w.sessions[id]); err != nil {
			return err
		}
	}
	for _, id := range w.region.waterIDs {
		w.counts.Waters++
		if err := to.place(true, id, w.region); err != nil {
			return err
		}
	}
	for _, id := range w.region.launchIDs {
		w.counts.Launches++
		if err := to.place(false, id, w.region); err != nil {
			return err
		}
	}
	return nil
}

// absent reports whether a target was looked for in a session and not found: every place was looked at on at least one craft,
// or in a public copy on at least [exchange.SmallCell], and none had it.
func (w *walker) absent(s *session, target int) bool {
	need := 1
	if w.opt.Copy == Public {
		need = exchange.SmallCell
	}
	return s.Complete >= need && s.Found[target/64]&(1<<(target%64)) == 0
}
