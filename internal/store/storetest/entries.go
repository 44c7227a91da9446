package storetest

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"thwart"
)

func answersOfPut(t *testing.T, open func(t *testing.T) Keeper) {
	s := open(t)
	w := NewWorld(1)
	a, b := w.Raw(thwart.KindWater, map[string]string{"name": "A"}), w.Raw(thwart.KindWater, map[string]string{"name": "B"})
	other := a
	other.Body = json.RawMessage(`{"name":"another A"}`)
	results := func(batch ...thwart.Kept) (out []thwart.PutResult) {
		t.Helper()
		answers, err := s.Put(ctx, batch)
		must(t, err)
		for i, x := range answers {
			if x.ID != batch[i].ID {
				t.Fatalf("answer %d is about %s, not %s", i, x.ID, batch[i].ID)
			}
			if (x.Result == thwart.Refused) != (len(x.Errors) > 0) || (x.Result == thwart.Refused) != (x.Sum == "") {
				t.Fatalf("answer %d: %+v", i, x)
			}
			if x.Sum != "" && x.Sum != batch[i].Sum() {
				t.Fatalf("sum %s, not %s", x.Sum, batch[i].Sum())
			}
			out = append(out, x.Result)
		}
		return out
	}
	for i, c := range []struct {
		batch []thwart.Kept
		want  []thwart.PutResult
	}{
		{nil, nil},
		{[]thwart.Kept{a, a, other, b}, []thwart.PutResult{thwart.Stored, thwart.Had, thwart.Refused, thwart.Stored}},
		{[]thwart.Kept{b, other, a}, []thwart.PutResult{thwart.Had, thwart.Refused, thwart.Had}},
	} {
		if got := results(c.batch...); !slices.Equal(got, c.want) {
			t.Errorf("batch %d: %v, not %v", i, got, c.want)
		}
	}
	if rep := MustBeWhole(t, s); rep.Entries != 2 || rep.Subjects != 2 {
		t.Errorf("%+v", rep)
	}
}

func whatComesBack(t *testing.T, open func(t *testing.T) Keeper) {
	s := open(t)
	w := NewWorld(2)
	k := w.Raw(thwart.KindWater, nil)
	k.Body = json.RawMessage("{ \"name\" : \"Zwölf\\u0000Ämter 湖\",\n\t\"later\": 1e400, \"name\":\"twice\" }")
	k.MadeAt = time.Date(2026, 7, 4, 9, 30, 0, 123456789, time.FixedZone("", -5*3600-1800))
	k.SkewMS, k.App, k.Why = -42, "9.9", ""
	MustPut(t, s, k)
	got, err := s.Subject(ctx, k.ID)
	must(t, err)
	if got.Sum() != k.Sum() || string(got.Body) != string(k.Body) {
		t.Errorf("the entry came back otherwise: %s", got.Body)
	}
	if g, want := got.MadeAt.Format(time.RFC3339Nano), k.MadeAt.Format(time.RFC3339Nano); g != want {
		t.Errorf("made at %s, not %s", g, want)
	}
	if !got.ReceivedAt.Equal(k.ReceivedAt) || got.SkewMS != k.SkewMS || got.App != k.App || got.Cursor == 0 || got.Versions != 1 || got.Conflict {
		t.Errorf("%+v", got)
	}
	if h, err := s.History(ctx, k.ID); err != nil || len(h) != 1 || !reflect.DeepEqual(h[0], got.Kept) {
		t.Errorf("history %+v, %v", h, err)
	}
	for _, id := range []string{w.ID(), "", "x", "' OR 1=1 --", "\x00"} {
		if _, err := s.Subject(ctx, id); !errors.Is(err, thwart.ErrNotFound) {
			t.Errorf("subject %q: %v", id, err)
		}
		if _, err := s.History(ctx, id); !errors.Is(err, thwart.ErrNotFound) {
			t.Errorf("history %q: %v", id, err)
		}
	}
	MustBeWhole(t, s)
}

func refusedByItself(t *testing.T, open func(t *testing.T) Keeper) {
	s := open(t)
	w := NewWorld(3)
	good := w.Raw(thwart.KindWater, map[string]string{"name": "A"})
	batch := []thwart.Kept{good}
	var names []string
	for _, c := range []struct {
		name   string
		change func(*thwart.Kept)
	}{
		{"id", func(k *thwart.Kept) { k.ID = "1" }},
		{"kind", func(k *thwart.Kept) { k.Kind = "hat" }},
		{"supersedes", func(k *thwart.Kept) { k.Supersedes = k.ID }},
		{"body", func(k *thwart.Kept) { k.Body = nil }},
		{"body", func(k *thwart.Kept) { k.Body = json.RawMessage("{") }},
		{"body", func(k *thwart.Kept) { k.Body = json.RawMessage("{\"name\":\"\xff\"}") }},
		{"body", func(k *thwart.Kept) { k.Kind, k.Body = thwart.KindInspection, json.RawMessage(`{"shift":7}`) }},
		{"body", func(k *thwart.Kept) {
			k.Kind, k.Body = thwart.KindInspection, json.RawMessage(`{"inspection":{"startedAt":"2026-07-04T09:30:00Z","setup":{"class":"`+strings.Repeat("x", 5000)+`"}}}`)
		}},
		{"body", func(k *thwart.Kept) {
			k.Kind, k.Body = thwart.KindShift, json.RawMessage(`{"launch":"a\u0000b","from":"2026-07-04T09:30:00Z","people":[]}`)
		}},
		{"device", func(k *thwart.Kept) { k.Device = "a\x00b" }},
		{"person", func(k *thwart.Kept) { k.Person = "\xc3" }},
	} {
		k := w.Raw(thwart.KindWater, map[string]string{"name": "B"})
		c.change(&k)
		batch, names = append(batch, k), append(names, c.name)
	}
	answers, err := s.Put(ctx, batch)
	must(t, err)
	if answers[0].Result != thwart.Stored {
		t.Errorf("the good one: %+v", answers[0])
	}
	for i, a := range answers[1:] {
		if a.Result != thwart.Refused || len(a.Errors) == 0 || a.Errors[0].Field != names[i] || a.Errors[0].Accepted == "" {
			t.Errorf("%s: %+v", names[i], a)
		}
	}
	if rep := MustBeWhole(t, s); rep.Entries != 1 {
		t.Errorf("%+v", rep)
	}
}

// refusedLeavesNoTrace: an entry that is refused for its id must not change what the one that is kept says, also where
// another entry of the subject comes in the same batch.
func refusedLeavesNoTrace(t *testing.T, open func(t *testing.T) Keeper) {
	s := open(t)
	w := NewWorld(17)
	w.Places(2, 2, 2)
	shift := w.Add(thwart.KindShift, w.ShiftBody())
	body := w.EncounterBody(shift.ID)
	body.Inspection.Setup.Class = "canoe"
	e := w.Add(thwart.KindInspection, body)
	MustPut(t, s, w.Entries...)
	older := w.Correct(e, w.EncounterBody(shift.ID)) // of something that never came, and long ago: e stays the head
	older.Supersedes, older.MadeAt = w.ID(), e.MadeAt.AddDate(0, 0, -9)
	w.Entries[len(w.Entries)-1] = older
	changed := e
	body.Inspection.Setup.Class = "runabout"
	changed.Body, _ = json.Marshal(body) // of the same struct as before
	answers, err := s.Put(ctx, []thwart.Kept{changed, older})
	must(t, err)
	if answers[0].Result != thwart.Refused || answers[1].Result != thwart.Stored {
		t.Fatalf("%+v", answers)
	}
	rows := allRows(t, s, thwart.EncounterQuery{WithTests: true})
	if want := w.Rows()[e.ID]; len(rows) != 1 || rows[0] != want {
		t.Errorf("%+v; the model says %+v", rows, want)
	}
}

// Compare holds everything a store says against the model.
func Compare(t *testing.T, s thwart.Store, w *World) {
	t.Helper()
	stands := w.stands()
	for id, want := range stands {
		got, err := s.Subject(ctx, id)
		if err != nil {
			t.Fatal(err)
		}
		if got.ID != want.head.ID || got.Sum() != want.head.Sum() || got.Conflict != want.conflict || got.Versions != len(want.entries) {
			t.Fatalf("subject %s: head %s conflict %t of %d; the model says %s %t of %d", id, got.ID, got.Conflict, got.Versions,
				want.head.ID, want.conflict, len(want.entries))
		}
		h, err := s.History(ctx, id)
		if err != nil {
			t.Fatal(err)
		}
		gotIDs, wantIDs := idsOf(h), idsOf(want.entries)
		slices.Sort(gotIDs)
		slices.Sort(wantIDs)
		if !slices.Equal(gotIDs, wantIDs) {
			t.Fatalf("subject %s has the history %v; the model says %v", id, gotIDs, wantIDs)
		}
	}
	rows := allRows(t, s, thwart.EncounterQuery{WithTests: true, Limit: 97})
	want := w.Rows()
	if len(rows) != len(want) {
		t.Fatalf("%d encounters; the model says %d", len(rows), len(want))
	}
	for _, r := range rows {
		if r != want[r.Subject] {
			t.Fatalf("encounter\n%+v; the model says\n%+v", r, want[r.Subject])
		}
	}
	for _, by := range thwart.TotalsBys {
		sameTotals(t, s, w, thwart.TotalsQuery{By: by})
	}
	rep := MustBeWhole(t, s)
	if int(rep.Entries) != len(w.Entries) || int(rep.Subjects) != len(stands) {
		t.Fatalf("%+v; the model says %d entries of %d subjects", rep, len(w.Entries), len(stands))
	}
}

func idsOf(list []thwart.Kept) []string {
	out := make([]string, len(list))
	for i, k := range list {
		out[i] = k.ID
	}
	return out
}

func allRows(t *testing.T, s thwart.Store, q thwart.EncounterQuery) (out []thwart.EncounterRow) {
	t.Helper()
	for pages := 0; ; pages++ {
		p, err := s.Encounters(ctx, q)
		if err != nil {
			t.Fatal(err)
		}
		if len(p.Items) > max(q.Limit, 100) || p.Next != "" && len(p.Items) == 0 {
			t.Fatalf("a page of %d with next %q", len(p.Items), p.Next)
		}
		out = append(out, p.Items...)
		if q.After = p.Next; p.Next == "" {
			return out
		}
		if pages > 100_000 {
			t.Fatal("the pages do not end")
		}
	}
}

// anySchedule sends one history in many ways: in any order, in batches of any length, some of them twice, some of them cut
// short and sent again whole. Whatever the way, the end is the same.
func anySchedule(t *testing.T, open func(t *testing.T) Keeper) {
	steps := 0
	for seed := range uint64(4) {
		t.Run(fmt.Sprint("seed", seed), func(t *testing.T) {
			s := open(t)
			w := NewWorld(100 + seed)
			w.Places(5, 4, 5)
			w.Season(45, 9)
			rng := rand.New(rand.NewPCG(seed, 7))
			queue := slices.Clone(w.Entries)
			if seed > 0 {
				rng.Shuffle(len(queue), func(i, j int) { queue[i], queue[j] = queue[j], queue[i] })
			}
			seen := map[string]bool{}
			send := func(batch []thwart.Kept) {
				answers := MustPut(t, s, batch...)
				for i, a := range answers {
					if want := seen[batch[i].ID]; want != (a.Result == thwart.Had) {
						t.Fatalf("%s: %s, and it was sent before: %t", a.ID, a.Result, want)
					}
					seen[batch[i].ID] = true
				}
				steps += len(batch)
			}
			for len(queue) > 0 {
				n := min(len(queue), 1+rng.IntN(90))
				batch := slices.Clone(queue[:n])
				switch rng.IntN(5) {
				case 0: // the connection was cut in the middle: a part, then all of it
					send(batch[:rng.IntN(n)+1])
				case 1: // the answer was lost
					send(batch)
				case 2: // things sent before, among the new
					for range 1 + rng.IntN(5) {
						batch = append(batch, w.Entries[rng.IntN(len(w.Entries))])
					}
				}
				send(batch)
				queue = queue[n:]
			}
			Compare(t, s, w)
		})
	}
	if steps < 2000 {
		t.Errorf("only %d entries were sent", steps)
	}
}

func conflict(t *testing.T, open func(t *testing.T) Keeper) {
	s := open(t)
	w := NewWorld(4)
	a := w.Add(thwart.KindWater, map[string]string{"name": "A"})
	b := w.Correct(a, map[string]string{"name": "B"})
	c := w.Correct(a, map[string]string{"name": "C"})
	b.SkewMS, c.SkewMS = 0, 0
	b.MadeAt, c.MadeAt = w.at, w.at // one instant: the id decides
	w.Entries[1], w.Entries[2] = b, c
	MustPut(t, s, w.Entries...)
	Compare(t, s, w)
	got, err := s.Subject(ctx, a.ID)
	must(t, err)
	if want := max(b.ID, c.ID); !got.Conflict || got.ID != want || got.Versions != 3 {
		t.Errorf("head %s, conflict %t, %d versions; want %s", got.ID, got.Conflict, got.Versions, want)
	}
	d := w.Correct(b, map[string]string{"name": "D"})
	MustPut(t, s, d)
	Compare(t, s, w)
	e := w.Correct(c, nil) // one side gives way
	MustPut(t, s, e)
	Compare(t, s, w)
}

func correctionFirst(t *testing.T, open func(t *testing.T) Keeper) {
	s := open(t)
	w := NewWorld(5)
	w.Places(2, 2, 2)
	MustPut(t, s, w.Entries...)
	shift := w.Add(thwart.KindShift, w.ShiftBody())
	e := w.Add(thwart.KindInspection, w.EncounterBody(shift.ID))
	c := w.Correct(e, w.EncounterBody(shift.ID))
	MustPut(t, s, c)
	got, err := s.Subject(ctx, e.ID)
	must(t, err)
	if got.ID != c.ID || got.Conflict || got.Versions != 1 {
		t.Errorf("before the original: %+v", got)
	}
	if rows := allRows(t, s, thwart.EncounterQuery{WithTests: true}); len(rows) != 1 {
		t.Errorf("%d encounters", len(rows))
	}
	MustPut(t, s, e)
	MustPut(t, s, shift)
	Compare(t, s, w)
}

func removal(t *testing.T, open func(t *testing.T) Keeper) {
	s := open(t)
	w := NewWorld(6)
	w.Places(2, 2, 2)
	shift := w.Add(thwart.KindShift, w.ShiftBody())
	e := w.Add(thwart.KindInspection, w.EncounterBody(shift.ID))
	MustPut(t, s, w.Entries...)
	gone := w.Correct(e, nil)
	MustPut(t, s, gone)
	Compare(t, s, w)
	got, err := s.Subject(ctx, e.ID)
	must(t, err)
	if !got.Removed || got.ID != gone.ID {
		t.Errorf("%+v", got)
	}
	for _, removed := range []bool{false, true} {
		p, err := s.Subjects(ctx, thwart.SubjectQuery{Kind: thwart.KindInspection, Parent: shift.ID, Removed: removed})
		must(t, err)
		if (len(p.Items) == 1) != removed {
			t.Errorf("removed %t: %d listed", removed, len(p.Items))
		}
	}
	MustPut(t, s, w.Correct(gone, w.EncounterBody(shift.ID))) // and back again
	Compare(t, s, w)
}

func launchOfShift(t *testing.T, open func(t *testing.T) Keeper) {
	s := open(t)
	w := NewWorld(7)
	w.Places(2, 3, 2)
	MustPut(t, s, w.Entries...)
	body := w.ShiftBody()
	body.Launch = w.Launches[0]
	shift := w.Raw(thwart.KindShift, body)
	e := w.EncounterBody(shift.ID)
	e.Inspection.Launch, e.Inspection.Steward, e.Test = "", "", false
	enc := w.Add(thwart.KindInspection, e)
	launch := func() string {
		t.Helper()
		rows := allRows(t, s, thwart.EncounterQuery{})
		if len(rows) != 1 {
			t.Fatalf("%d encounters", len(rows))
		}
		if rows[0].Steward != enc.Person {
			t.Errorf("steward %q, not %q who made the entry", rows[0].Steward, enc.Person)
		}
		return rows[0].Launch
	}
	MustPut(t, s, enc)
	if got := launch(); got != "" {
		t.Errorf("before its shift: %q", got)
	}
	w.Entries = append(w.Entries, shift)
	MustPut(t, s, shift)
	if got := launch(); got != w.Launches[0] {
		t.Errorf("with its shift: %q", got)
	}
	body.Launch = w.Launches[1]
	fix := w.Correct(shift, body)
	MustPut(t, s, fix)
	if got := launch(); got != w.Launches[1] {
		t.Errorf("with its shift corrected: %q", got)
	}
	Compare(t, s, w)
	MustPut(t, s, w.Correct(fix, nil))
	if got := launch(); got != "" {
		t.Errorf("with its shift removed: %q", got)
	}
	Compare(t, s, w)
}

func subjects(t *testing.T, open func(t *testing.T) Keeper) {
	s := open(t)
	w := NewWorld(8)
	w.Places(23, 9, 3)
	w.Season(6, 6)
	w.Office()
	MustPut(t, s, w.Entries...)
	stands := w.stands()
	for _, kind := range thwart.Kinds {
		for _, removed := range []bool{false, true} {
			var want []string
			for id, st := range stands {
				if st.head.Kind == kind && (removed || !st.head.Removed) {
					want = append(want, id)
				}
			}
			slices.Sort(want)
			var got []string
			for q := (thwart.SubjectQuery{Kind: kind, Removed: removed, Limit: 5}); ; {
				p, err := s.Subjects(ctx, q)
				must(t, err)
				for _, x := range p.Items {
					got = append(got, x.Subject)
					if st := stands[x.Subject]; x.ID != st.head.ID || x.Conflict != st.conflict || x.Versions != len(st.entries) {
						t.Errorf("%+v", x)
					}
				}
				if q.After = p.Next; p.Next == "" {
					break
				}
			}
			if !slices.Equal(got, want) {
				t.Errorf("%s, removed %t: %d listed, the model says %d", kind, removed, len(got), len(want))
			}
		}
	}
	for _, c := range []struct {
		kind   thwart.Kind
		parent func(json.RawMessage) string
	}{
		{thwart.KindShift, field("launch")}, {thwart.KindTally, field("shift")}, {thwart.KindWash, field("encounter")},
		{thwart.KindPhoto, field("encounter")}, {thwart.KindInspection, field("shift")}, {thwart.KindLaunch, field("water")},
		{thwart.KindReceipt, field("encounter")}, {thwart.KindSecondLook, field("encounter")}, {thwart.KindPairing, field("a")},
		{thwart.KindDrill, field("person")}, {thwart.KindCertificate, field("person")}, {thwart.KindAvailability, field("person")},
		{thwart.KindPlannedShift, field("launch")}, {thwart.KindIncident, field("water")}, {thwart.KindReopening, field("record")},
	} {
		want := map[string]int{}
		for _, st := range stands {
			if st.head.Kind == c.kind && !st.head.Removed {
				want[c.parent(st.head.Body)]++
			}
		}
		all, two := 0, []string(nil)
		for parent, n := range want {
			if thwart.IsID(parent) && len(two) < 2 {
				two = append(two, parent)
				all += n
			}
			p, err := s.Subjects(ctx, thwart.SubjectQuery{Kind: c.kind, Parent: parent})
			must(t, err)
			if len(p.Items) != n {
				t.Errorf("%d of kind %s under %s, the model says %d", len(p.Items), c.kind, parent, n)
			}
		}
		if len(two) == 0 {
			continue
		}
		p, err := s.Subjects(ctx, thwart.SubjectQuery{Kind: c.kind, Parents: two})
		must(t, err)
		if len(p.Items) != all {
			t.Errorf("%d of kind %s under any of %v, the model says %d", len(p.Items), c.kind, two, all)
		}
	}
	// Some by their ids: one that is of the kind, one that is of another, one that is not there.
	var shift, water string
	for id, st := range stands {
		switch {
		case st.head.Kind == thwart.KindShift && !st.head.Removed:
			shift = id
		case st.head.Kind == thwart.KindWater && !st.head.Removed:
			water = id
		}
	}
	p, err := s.Subjects(ctx, thwart.SubjectQuery{Kind: thwart.KindShift, IDs: []string{w.ID(), water, shift}})
	must(t, err)
	if len(p.Items) != 1 || p.Items[0].Subject != shift {
		t.Errorf("by ids: %+v", p.Items)
	}
	if _, err := s.Subjects(ctx, thwart.SubjectQuery{Kind: thwart.KindShift, IDs: []string{"'; --"}}); err == nil {
		t.Error("a text that is no id was taken")
	}
}

func field(name string) func(json.RawMessage) string {
	return func(b json.RawMessage) string {
		var m map[string]any
		if err := json.Unmarshal(b, &m); err != nil {
			panic(err)
		}
		return fmt.Sprint(m[name])
	}
}

func changes(t *testing.T, open func(t *testing.T) Keeper) {
	s := open(t)
	w := NewWorld(9)
	w.Places(8, 7, 6)
	w.Season(8, 6)
	for i := 0; i < len(w.Entries); i += 50 {
		MustPut(t, s, w.Entries[i:min(i+50, len(w.Entries))]...)
	}
	for _, kinds := range [][]thwart.Kind{nil, {thwart.KindWater}, {thwart.KindPerson, thwart.KindWater, thwart.KindLaunch, thwart.KindWater}, {thwart.KindTrial}} {
		var want, got []string
		for _, k := range w.Entries {
			if len(kinds) == 0 || slices.Contains(kinds, k.Kind) {
				want = append(want, k.ID)
			}
		}
		last := int64(0)
		for {
			list, next, err := s.Changes(ctx, kinds, last, 7)
			must(t, err)
			if len(list) == 0 {
				if next != last {
					t.Errorf("nothing more, yet the cursor went from %d to %d", last, next)
				}
				break
			}
			for _, k := range list {
				if k.Cursor <= last {
					t.Fatalf("cursor %d after %d", k.Cursor, last)
				}
				last = k.Cursor
				got = append(got, k.ID)
			}
			if next != last {
				t.Fatalf("next %d, last %d", next, last)
			}
		}
		if !slices.Equal(got, want) {
			t.Errorf("%v: %d entries, not the %d in the order sent", kinds, len(got), len(want))
		}
	}
}

// changesUnderWriters reads on from its cursor while several write: a cursor once seen must never be undercut.
func changesUnderWriters(t *testing.T, open func(t *testing.T) Keeper) {
	s := open(t)
	const writers, batches, size = 6, 25, 4
	var wg sync.WaitGroup
	errs := make(chan error, writers+1)
	for i := range writers {
		wg.Go(func() {
			w := NewWorld(uint64(200 + i)) // small
			for range batches {
				var b []thwart.Kept
				for range size {
					b = append(b, w.Raw(thwart.KindWater, map[string]string{"name": "A"}))
				}
				if _, err := s.Put(ctx, b); err != nil {
					errs <- err
					return
				}
			}
		})
	}
	done := make(chan struct{})
	go func() { wg.Wait(); close(done) }()
	seen := map[string]bool{}
	for last, idle := int64(0), false; ; {
		list, next, err := s.Changes(ctx, []thwart.Kind{thwart.KindWater, thwart.KindUnit}, last, 9)
		must(t, err)
		for _, k := range list {
			if seen[k.ID] {
				t.Fatalf("%s twice", k.ID)
			}
			seen[k.ID] = true
		}
		last = next
		select {
		case <-done:
			if idle && len(list) == 0 {
				select {
				case err := <-errs:
					t.Fatal(err)
				default:
				}
				if len(seen) != writers*batches*size {
					t.Fatalf("%d entries seen, %d were kept", len(seen), writers*batches*size)
				}
				MustBeWhole(t, s)
				return
			}
			idle = len(list) == 0
		default:
		}
	}
}

func sameBatchAtOnce(t *testing.T, open func(t *testing.T) Keeper) {
	s := open(t)
	w := NewWorld(10)
	w.Places(3, 3, 3)
	w.Season(10, 6)
	stored := make([]int, 6)
	errs := make([]error, len(stored))
	var wg sync.WaitGroup
	for i := range stored {
		wg.Go(func() {
			list := slices.Clone(w.Entries)
			rng := rand.New(rand.NewPCG(uint64(i), 3)) // small
			rng.Shuffle(len(list), func(a, b int) { list[a], list[b] = list[b], list[a] })
			for len(list) > 0 {
				n := min(len(list), 1+rng.IntN(40))
				answers, err := s.Put(ctx, list[:n])
				if err != nil {
					errs[i] = err
					return
				}
				for _, a := range answers {
					if a.Result == thwart.Stored {
						stored[i]++
					}
				}
				list = list[n:]
			}
		})
	}
	wg.Wait()
	sum := 0
	for i, n := range stored {
		must(t, errs[i])
		sum += n
	}
	if sum != len(w.Entries) {
		t.Errorf("%d answered stored, of %d entries sent six times", sum, len(w.Entries))
	}
	Compare(t, s, w)
}

// tied fills a store with encounters of which many share every key.
func tied(t *testing.T, s thwart.Store, n int) *World {
	w := NewWorld(11)
	w.Places(2, 2, 2)
	shift := w.Add(thwart.KindShift, w.ShiftBody())
	for range n {
		w.Add(thwart.KindInspection, tiedBody(w, shift.ID))
	}
	MustPut(t, s, w.Entries...)
	return w
}

func tiedBody(w *World, shift string) thwart.Encounter {
	e := w.EncounterBody(shift)
	e.Inspection.StartedAt = time.Date(2026, 6, 1, 9+w.rng.IntN(2), 0, 0, 0, time.UTC)
	e.Inspection.EndedAt = nil
	if w.chance(0.5) {
		end := e.Inspection.StartedAt.Add(90500 * time.Millisecond)
		e.Inspection.EndedAt = &end
	}
	return e
}

// before is the order of a sort.
func before(order string, a, b thwart.EncounterRow) bool {
	name, descending := strings.CutPrefix(order, "-")
	if descending {
		a, b = b, a
	}
	c := 0
	switch name {
	case "outcome":
		c = a.Given.Rank() - b.Given.Rank()
	case "class":
		c = strings.Compare(a.Class, b.Class)
	case "launch":
		c = strings.Compare(a.Launch, b.Launch)
	case "seconds":
		if c = 1; a.Seconds < b.Seconds {
			c = -1
		} else if a.Seconds == b.Seconds {
			c = 0
		}
	}
	if c == 0 {
		c = a.At.Compare(b.At)
	}
	if c == 0 {
		c = strings.Compare(a.Subject, b.Subject)
	}
	return c < 0
}

func orders() (out []string) {
	for _, o := range thwart.EncounterSorts {
		out = append(out, o, "-"+o)
	}
	return out
}

func pagesOverTies(t *testing.T, open func(t *testing.T) Keeper) {
	s := open(t)
	w := tied(t, s, 60)
	want := w.Rows()
	for _, order := range orders() {
		for _, limit := range []int{1, 3, 7, 20, 60, 1000} {
			rows := allRows(t, s, thwart.EncounterQuery{Sort: order, Limit: limit, WithTests: true})
			if len(rows) != len(want) {
				t.Fatalf("%s by %d: %d rows of %d", order, limit, len(rows), len(want))
			}
			for i, r := range rows {
				if r != want[r.Subject] {
					t.Fatalf("%s: %+v", order, r)
				}
				if i > 0 && !before(order, rows[i-1], r) {
					t.Fatalf("%s by %d: row %d is out of order", order, limit, i)
				}
			}
		}
	}
	p, err := s.Encounters(ctx, thwart.EncounterQuery{WithTests: true, Limit: 60})
	must(t, err)
	if p.Next != "" {
		t.Error("a full last page has a next")
	}
}

// pagesUnderInserts adds rows between pages: what was there from the start is shown once, whatever comes beside it.
func pagesUnderInserts(t *testing.T, open func(t *testing.T) Keeper) {
	s := open(t)
	w := tied(t, s, 40)
	for _, order := range orders() {
		start := w.Rows()
		seen := map[string]int{}
		for q := (thwart.EncounterQuery{Sort: order, Limit: 6, WithTests: true}); ; {
			p, err := s.Encounters(ctx, q)
			must(t, err)
			for _, r := range p.Items {
				seen[r.Subject]++
			}
			if q.After = p.Next; p.Next == "" {
				break
			}
			MustPut(t, s, w.Add(thwart.KindInspection, tiedBody(w, w.Entries[6].ID)))
		}
		for id, n := range seen {
			if n > 1 {
				t.Errorf("%s: %s shown %d times", order, id, n)
			}
		}
		for id := range start {
			if seen[id] != 1 {
				t.Errorf("%s: %s, there from the start, shown %d times", order, id, seen[id])
			}
		}
	}
}

func filters(t *testing.T, open func(t *testing.T) Keeper) {
	s := open(t)
	w := NewWorld(12)
	w.Places(3, 3, 3)
	w.Season(30, 8)
	w.Pairs(20)
	MustPut(t, s, w.Entries...)
	all := w.Rows()
	mid := w.Entries[len(w.Entries)/2].MadeAt.Truncate(time.Millisecond)
	someRow := slices.Collect(maps.Values(all))[0]
	mark := ""
	for _, r := range all {
		mark = max(mark, r.Mark)
	}
	for _, c := range []struct {
		name string
		q    thwart.EncounterQuery
		keep func(thwart.EncounterRow) bool
	}{
		{"all", thwart.EncounterQuery{}, func(thwart.EncounterRow) bool { return true }},
		{"from", thwart.EncounterQuery{From: mid}, func(r thwart.EncounterRow) bool { return !r.At.Before(mid) }},
		{"to", thwart.EncounterQuery{To: mid}, func(r thwart.EncounterRow) bool { return r.At.Before(mid) }},
		{"exact", thwart.EncounterQuery{From: someRow.At, To: someRow.At.Add(time.Millisecond)}, func(r thwart.EncounterRow) bool { return r.At.Equal(someRow.At) }},
		{"launch", thwart.EncounterQuery{Launch: w.Launches[1]}, func(r thwart.EncounterRow) bool { return r.Launch == w.Launches[1] }},
		{"steward", thwart.EncounterQuery{Steward: w.People[1]}, func(r thwart.EncounterRow) bool { return r.Steward == w.People[1] }},
		{"last water", thwart.EncounterQuery{LastWater: w.Waters[0]}, func(r thwart.EncounterRow) bool { return r.LastWater == w.Waters[0] }},
		{"next water", thwart.EncounterQuery{NextWater: w.Waters[0]}, func(r thwart.EncounterRow) bool { return r.NextWater == w.Waters[0] }},
		{"mark", thwart.EncounterQuery{Mark: mark}, func(r thwart.EncounterRow) bool { return r.Mark == mark }},
		{"outcome", thwart.EncounterQuery{Outcome: thwart.Wash, Sort: "launch"}, func(r thwart.EncounterRow) bool { return r.Given == thwart.Wash && !r.Refused }},
		{"holds are of craft that were inspected", thwart.EncounterQuery{Outcome: thwart.Hold}, func(r thwart.EncounterRow) bool { return r.Given == thwart.Hold && !r.Refused }},
		{"a refused craft left with nothing", thwart.EncounterQuery{Outcome: thwart.Hold, Refused: thwart.Yes}, func(thwart.EncounterRow) bool { return false }},
		{"class", thwart.EncounterQuery{Class: "canoe", Sort: "seconds"}, func(r thwart.EncounterRow) bool { return r.Class == "canoe" }},
		{"refused", thwart.EncounterQuery{Refused: thwart.Yes}, func(r thwart.EncounterRow) bool { return r.Refused }},
		{"not refused", thwart.EncounterQuery{Refused: thwart.No}, func(r thwart.EncounterRow) bool { return !r.Refused }},
		{"found", thwart.EncounterQuery{Found: thwart.Yes}, func(r thwart.EncounterRow) bool { return r.Findings > 0 }},
		{"nothing found", thwart.EncounterQuery{Found: thwart.No, Sort: "-seconds"}, func(r thwart.EncounterRow) bool { return r.Findings == 0 }},
		{"none", thwart.EncounterQuery{IDs: []string{}}, func(thwart.EncounterRow) bool { return false }},
		{"ids", thwart.EncounterQuery{IDs: []string{someRow.Subject, w.Launches[0]}, Sort: "class"}, func(r thwart.EncounterRow) bool { return r.Subject == someRow.Subject }},
		{"flagged", thwart.EncounterQuery{Flagged: true}, func(r thwart.EncounterRow) bool { return r.Conflict }},
		{"several", thwart.EncounterQuery{Flagged: true, Launch: w.Launches[0], From: mid, Class: "canoe"}, func(r thwart.EncounterRow) bool {
			return r.Conflict && r.Launch == w.Launches[0] && !r.At.Before(mid) && r.Class == "canoe"
		}},
	} {
		for _, tests := range []bool{false, true} {
			q := c.q
			q.WithTests, q.Limit = tests, 11
			n := 0
			for _, r := range all {
				if c.keep(r) && (tests || !r.Test) {
					n++
				}
			}
			got := allRows(t, s, q)
			for _, r := range got {
				if r != all[r.Subject] || !c.keep(r) || r.Test && !tests {
					t.Errorf("%s: %+v", c.name, r)
				}
			}
			if len(got) != n {
				t.Errorf("%s, tests %t: %d rows, the model says %d", c.name, tests, len(got), n)
			}
			if counted, err := s.CountEncounters(ctx, q); err != nil || counted != n {
				t.Errorf("%s, tests %t: %d counted, %v, the model says %d", c.name, tests, counted, err, n)
			}
		}
	}
}

func sameTotals(t *testing.T, s thwart.Store, w *World, q thwart.TotalsQuery) {
	t.Helper()
	got, err := s.Totals(ctx, q)
	if err != nil {
		t.Fatal(err)
	}
	if want := w.Totals(q); !reflect.DeepEqual(got, want) {
		t.Fatalf("totals %+v\n%+v\nthe model says\n%+v", q, got, want)
	}
}

func totals(t *testing.T, open func(t *testing.T) Keeper) {
	s := open(t)
	w := NewWorld(13)
	for _, by := range thwart.TotalsBys {
		sameTotals(t, s, w, thwart.TotalsQuery{By: by}) // an empty programme
	}
	w.Places(4, 4, 4)
	w.Season(60, 7)
	// An outcome of a newer program is counted under its own name.
	e := w.EncounterBody(w.Shifts[0])
	e.Verdict, e.Override, e.Test = &thwart.Verdict{Outcome: "quarantine"}, nil, false
	w.Add(thwart.KindInspection, e)
	w.Pairs(60)
	MustPut(t, s, w.Entries...)
	first, last := w.Entries[0].MadeAt, w.Entries[len(w.Entries)-1].MadeAt
	third := last.Sub(first) / 3
	for _, by := range thwart.TotalsBys {
		for _, q := range []thwart.TotalsQuery{
			{}, {From: first.Add(third).Truncate(time.Millisecond)}, {To: last.Add(-third).Truncate(time.Millisecond)},
			{From: first.Add(third).Truncate(time.Millisecond), To: last.Add(-third).Truncate(time.Millisecond)}, {From: last.AddDate(1, 0, 0)},
		} {
			q.By = by
			sameTotals(t, s, w, q)
		}
	}
}

func badQuestions(t *testing.T, open func(t *testing.T) Keeper) {
	s := open(t)
	tied(t, s, 12)
	page, err := s.Encounters(ctx, thwart.EncounterQuery{Sort: "class", Limit: 2, WithTests: true})
	must(t, err)
	for _, c := range []struct {
		field string
		ask   func() error
	}{
		{"sort", func() error {
			_, err := s.Encounters(ctx, thwart.EncounterQuery{Sort: "at; DROP TABLE entries"})
			return err
		}},
		{"limit", func() error { _, err := s.Encounters(ctx, thwart.EncounterQuery{Limit: 1001}); return err }},
		{"limit", func() error { _, err := s.Encounters(ctx, thwart.EncounterQuery{Limit: -1}); return err }},
		{"after", func() error { _, err := s.Encounters(ctx, thwart.EncounterQuery{After: "x"}); return err }},
		{"after", func() error {
			_, err := s.Encounters(ctx, thwart.EncounterQuery{Sort: "launch", After: page.Next})
			return err
		}},
		{"outcome", func() error { _, err := s.Encounters(ctx, thwart.EncounterQuery{Outcome: "nice"}); return err }},
		{"refused", func() error { _, err := s.Encounters(ctx, thwart.EncounterQuery{Refused: "maybe"}); return err }},
		{"refused", func() error { _, err := s.CountEncounters(ctx, thwart.EncounterQuery{Refused: "maybe"}); return err }},
		{"ids", func() error { _, err := s.Encounters(ctx, thwart.EncounterQuery{IDs: []string{"x"}}); return err }},
		{"ids", func() error {
			_, err := s.Encounters(ctx, thwart.EncounterQuery{IDs: make([]string, thwart.MostEncounterIDs+1)})
			return err
		}},
		{"found", func() error { _, err := s.Encounters(ctx, thwart.EncounterQuery{Found: "perhaps"}); return err }},
		{"kind", func() error { _, err := s.Subjects(ctx, thwart.SubjectQuery{Kind: "hat"}); return err }},
		{"after", func() error {
			_, err := s.Subjects(ctx, thwart.SubjectQuery{Kind: thwart.KindWater, After: page.Next})
			return err
		}},
		{"limit", func() error {
			_, err := s.Subjects(ctx, thwart.SubjectQuery{Kind: thwart.KindWater, Limit: 5000})
			return err
		}},
		{"kinds", func() error { _, _, err := s.Changes(ctx, []thwart.Kind{"hat"}, 0, 1); return err }},
		{"by", func() error { _, err := s.Totals(ctx, thwart.TotalsQuery{By: "hat"}); return err }},
		{"after", func() error { _, err := s.Refusals(ctx, false, "x", 1); return err }},
		{"after", func() error { _, err := s.ListAudit(ctx, page.Next, 1); return err }},
	} {
		var fields thwart.FieldErrors
		if err := c.ask(); !errors.As(err, &fields) || fields[0].Field != c.field || fields[0].Accepted == "" || errors.Is(err, thwart.ErrStorage) {
			t.Errorf("%s: %v", c.field, err)
		}
	}
}

func checkFindsMissing(t *testing.T, open func(t *testing.T) Keeper) {
	s := open(t)
	w := NewWorld(14)
	w.Places(1, 1, 1)
	shift := w.Raw(thwart.KindShift, w.ShiftBody())
	e := w.Add(thwart.KindInspection, w.EncounterBody(shift.ID))
	never := w.Raw(thwart.KindWater, map[string]string{"name": "never sent"})
	fix := w.Correct(never, map[string]string{"name": "B"})
	MustPut(t, s, w.Entries...)
	rep, err := s.Check(ctx)
	must(t, err)
	if len(rep.Faults) != 2 || !slices.ContainsFunc(rep.Faults, func(f string) bool { return strings.Contains(f, e.ID) && strings.Contains(f, shift.ID) }) ||
		!slices.ContainsFunc(rep.Faults, func(f string) bool { return strings.Contains(f, fix.ID) && strings.Contains(f, never.ID) }) {
		t.Errorf("faults %q", rep.Faults)
	}
	MustPut(t, s, shift, never)
	MustBeWhole(t, s)
}

func cancelled(t *testing.T, open func(t *testing.T) Keeper) {
	s := open(t)
	w := NewWorld(15)
	k := w.Raw(thwart.KindWater, map[string]string{"name": "A"})
	gone, cancel := context.WithCancel(ctx)
	cancel()
	if answers, err := s.Put(gone, []thwart.Kept{k}); err == nil || answers != nil {
		t.Errorf("answers %v, error %v", answers, err)
	}
	if _, err := s.Encounters(gone, thwart.EncounterQuery{}); err == nil {
		t.Error("a list for a caller who has gone")
	}
	if rep := MustBeWhole(t, s); rep.Entries != 0 {
		t.Errorf("%+v", rep)
	}
	MustPut(t, s, k)
}
