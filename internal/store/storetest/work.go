package storetest

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"reflect"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"thwart"
)

// jobs: of many runners that claim at once each job goes to one, one of a kind at a time, the oldest first.
func jobs(t *testing.T, open func(t *testing.T) Keeper) {
	s := open(t)
	w := NewWorld(31)
	at := time.Date(2026, 7, 4, 12, 0, 0, 0, time.UTC)
	var ids []string
	for i := range 6 {
		j := thwart.Job{ID: w.ID(), Kind: []string{"fit", "plan"}[i%2], By: "a", Input: json.RawMessage(`{"n":1}`), CreatedAt: at.Add(time.Duration(i) * time.Second)}
		must(t, s.AddJob(ctx, j))
		ids = append(ids, j.ID)
	}
	if err := s.AddJob(ctx, thwart.Job{ID: ids[0], Kind: "fit", CreatedAt: at}); !errors.Is(err, thwart.ErrConflict) {
		t.Errorf("an id twice: %v", err)
	}
	claim := func(runner string, at time.Time) (thwart.Job, error) {
		return s.ClaimJob(ctx, []string{"fit", "plan"}, runner, at, at.Add(-time.Minute))
	}
	var mu sync.Mutex
	var got []string
	var wg sync.WaitGroup
	for i := range 6 {
		wg.Add(1)
		go func() {
			defer wg.Done()
			j, err := claim(string(rune('a'+i)), at)
			mu.Lock()
			defer mu.Unlock()
			if err == nil {
				got = append(got, j.ID)
			} else if !errors.Is(err, thwart.ErrNotFound) {
				t.Error(err)
			}
		}()
	}
	wg.Wait()
	slices.Sort(got)
	want := []string{ids[0], ids[1]}
	slices.Sort(want)
	if !slices.Equal(got, want) {
		t.Fatalf("claimed %v, want the oldest of each kind, %v", got, want)
	}
	// The runners fall silent: their jobs are interrupted, and the next of each kind is free.
	later := at.Add(time.Hour)
	j, err := claim("z", later)
	must(t, err)
	if j.ID != ids[2] || j.State != thwart.JobRunning || string(j.Input) != `{"n":1}` {
		t.Errorf("%+v", j)
	}
	for _, id := range ids[:2] {
		if j, err := s.JobByID(ctx, id); err != nil || j.State != thwart.JobInterrupted || j.EndedAt == nil {
			t.Errorf("%+v, %v", j, err)
		}
	}
	stop, err := s.BeatJob(ctx, j.ID, "z", later, 0.5, "half")
	if must(t, err); stop {
		t.Error("to be stopped")
	}
	must(t, s.CancelJob(ctx, j.ID, later))
	stop, err = s.BeatJob(ctx, j.ID, "z", later, 0.6, "more")
	if must(t, err); !stop {
		t.Error("not to be stopped")
	}
	if _, err := s.BeatJob(ctx, j.ID, "y", later, 0.7, ""); !errors.Is(err, thwart.ErrConflict) {
		t.Errorf("another runner's job: %v", err)
	}
	errs := thwart.FieldErrors{{Field: "weeks", Value: "-1", Accepted: "a count"}}
	must(t, s.EndJob(ctx, j.ID, "z", thwart.JobEnd{State: thwart.JobFailed, Error: "no", Errors: errs, At: later}))
	if err := s.EndJob(ctx, j.ID, "z", thwart.JobEnd{State: thwart.JobDone, At: later}); !errors.Is(err, thwart.ErrConflict) {
		t.Errorf("ended twice: %v", err)
	}
	if j, err := s.JobByID(ctx, j.ID); err != nil || j.Error != "no" || len(j.Errors) != 1 || j.Words != "more" || j.Fraction != 0.6 {
		t.Errorf("%+v, %v", j, err)
	}
	must(t, s.CancelJob(ctx, ids[5], later))
	if j, err := s.JobByID(ctx, ids[5]); err != nil || j.State != thwart.JobCancelled {
		t.Errorf("%+v, %v", j, err)
	}
	if err := s.CancelJob(ctx, w.ID(), later); !errors.Is(err, thwart.ErrNotFound) {
		t.Errorf("no such job: %v", err)
	}
	var seen []string
	for after := ""; ; {
		p, err := s.ListJobs(ctx, []string{"fit", "plan"}, after, 4)
		must(t, err)
		for _, j := range p.Items {
			seen = append(seen, j.ID)
			if j.Input != nil {
				t.Errorf("%+v", j)
			}
		}
		if after = p.Next; after == "" {
			break
		}
	}
	slices.Sort(ids)
	slices.Reverse(ids)
	if !slices.Equal(seen, ids) {
		t.Errorf("%v, want %v", seen, ids)
	}
}

func pictures(t *testing.T, open func(t *testing.T) Keeper) {
	s := open(t)
	var hashes []string
	for i := range 5 {
		data := bytes.Repeat([]byte{0xff, byte(i), 0}, 1000)
		h := sha256.Sum256(data)
		p := thwart.Picture{SHA256: hex.EncodeToString(h[:]), Type: "image/jpeg", Data: data, SentBy: "d"}
		for k := range 2 {
			if had, err := s.PutPicture(ctx, p); err != nil || had != (k == 1) {
				t.Errorf("%t, %v", had, err)
			}
		}
		got, err := s.PictureByHash(ctx, p.SHA256)
		if must(t, err); !bytes.Equal(got.Data, data) || got.Type != p.Type || got.SentBy != "d" || got.ReceivedAt.IsZero() {
			t.Errorf("%+v", got)
		}
		hashes = append(hashes, p.SHA256)
	}
	var fields thwart.FieldErrors
	if _, err := s.PutPicture(ctx, thwart.Picture{SHA256: hashes[0], Data: []byte("other")}); !errors.As(err, &fields) {
		t.Errorf("a picture under another's hash: %v", err)
	}
	if _, err := s.PictureByHash(ctx, "ff"); !errors.Is(err, thwart.ErrNotFound) {
		t.Errorf("no such picture: %v", err)
	}
	slices.Sort(hashes)
	first, err := s.PictureHashes(ctx, "", 3)
	must(t, err)
	rest, err := s.PictureHashes(ctx, first[2], 3)
	if must(t, err); !slices.Equal(append(first, rest...), hashes) {
		t.Errorf("%v and %v, want %v", first, rest, hashes)
	}
}

// purgedPictures: a picture goes when it is old and no photo names it any more, and the report lists it.
func purgedPictures(t *testing.T, open func(t *testing.T) Keeper) {
	s := open(t)
	w := NewWorld(32)
	w.Places(1, 1, 1)
	shift := w.Add(thwart.KindShift, w.ShiftBody())
	craft := func(outcome thwart.Outcome) thwart.Kept {
		e := w.EncounterBody(shift.ID)
		e.Verdict, e.Override = &thwart.Verdict{Outcome: outcome}, nil
		return w.Add(thwart.KindInspection, e)
	}
	hash := func(n byte) string {
		h := sha256.Sum256([]byte{n})
		return hex.EncodeToString(h[:])
	}
	photo := func(n byte, of thwart.Kept) {
		w.Add(thwart.KindPhoto, thwart.Photo{Encounter: of.Subject, SHA256: hash(n), Bytes: 1, Type: "image/png"})
	}
	plain, held, watched, settled := craft(thwart.Launch), craft(thwart.Hold), craft(thwart.Wash), craft(thwart.Wash)
	photo(1, plain)
	photo(2, held)
	photo(3, watched)
	photo(4, settled)
	photo(5, plain) // names the picture that an incident's photo names too
	photo(5, watched)
	w.Add(thwart.KindIncident, thwart.Incident{What: "w", Encounter: watched.Subject, OpenedAt: w.at, State: thwart.IncidentOpen})
	w.Add(thwart.KindIncident, thwart.Incident{What: "s", Encounter: settled.Subject, OpenedAt: w.at, State: thwart.IncidentClosed, ClosedAt: &w.at})
	limit := w.at.Add(time.Hour)
	MustPut(t, s, w.Entries...)
	for n := byte(1); n <= 7; n++ { // nothing names 6; 7 came later
		at := limit.Add(-time.Hour)
		if n == 7 {
			at = limit
		}
		_, err := s.PutPicture(ctx, thwart.Picture{SHA256: hash(n), Type: "image/png", Data: []byte{n}, ReceivedAt: at})
		must(t, err)
	}
	want := []string{hash(1), hash(4), hash(6)}
	slices.Sort(want)
	for _, dry := range []bool{true, false} {
		rep, err := s.Purge(ctx, thwart.PurgeOrder{PhotosBefore: limit, By: "m", At: limit, DryRun: dry})
		if must(t, err); !slices.Equal(rep.Pictures, want) || rep.Removed["photo"] != 3 {
			t.Errorf("dry run %t: %+v, want %v", dry, rep, want)
		}
		left, err := s.PictureHashes(ctx, "", 0)
		if n := map[bool]int{true: 7, false: 4}[dry]; err != nil || len(left) != n {
			t.Errorf("dry run %t: %d pictures left, %v", dry, len(left), err)
		}
	}
	MustBeWhole(t, s)
}

// Who was in a trial or a drill goes; what came of it stays. A trial whose object is still out there stays whole, or nobody would
// know whom to ask.
func purgedTrials(t *testing.T, open func(t *testing.T) Keeper) {
	s := open(t)
	w := NewWorld(31)
	w.Places(1, 2, 3)
	tested, planter := w.somebody(), w.ID()
	body := func(back *time.Time) thwart.Trial {
		return thwart.Trial{Object: "T-1", Like: "small_felt", Place: "hull.keel", Encounter: w.ID(), Steward: tested, PlantedBy: planter, PlantedAt: noon, Found: thwart.Yes,
			RetrievedAt: back, Seconds: 12}
	}
	later := noon.Add(time.Hour)
	over := w.Add(thwart.KindTrial, body(nil))
	closed := w.Correct(over, body(&later))
	out := w.Add(thwart.KindTrial, body(nil))
	drill := w.Add(thwart.KindDrill, thwart.Drill{Person: tested, Seed: 7, Difficulty: "plain", Setup: "runabout", StartedAt: noon, EndedAt: later, Score: 80})
	sent := slices.Clone(w.Entries)
	MustPut(t, s, w.Entries...)
	order := thwart.PurgeOrder{TrialsBefore: noon.Add(time.Minute), By: "m", At: noon.AddDate(3, 0, 0), DryRun: true}
	want := map[string]int{"trial": 2, "drill": 1} // both versions of the trial that is over
	for _, order.DryRun = range []bool{true, false} {
		rep, err := s.Purge(ctx, order)
		must(t, err)
		if !reflect.DeepEqual(rep.Removed, want) {
			t.Errorf("dry %v: %v, want %v", order.DryRun, rep.Removed, want)
		}
	}
	for _, id := range []string{over.ID, closed.ID, drill.ID} {
		kept := entryOf(t, s, id)
		if kept.Person != "" || kept.Device != "" || strings.Contains(string(kept.Body), tested) || strings.Contains(string(kept.Body), planter) {
			t.Errorf("left of it: %+v", kept)
		}
	}
	if left := decode[thwart.Trial](entryOf(t, s, closed.ID)); left.Like != "small_felt" || left.Found != thwart.Yes || left.Seconds != 12 || left.Encounter != "" {
		t.Errorf("the result: %+v", left)
	}
	if left := decode[thwart.Trial](entryOf(t, s, out.ID)); left.Steward != tested {
		t.Errorf("a trial that is not over: %+v", left)
	}
	again, err := s.Purge(ctx, order)
	must(t, err)
	if len(again.Removed) != 0 {
		t.Errorf("purged twice: %v", again.Removed)
	}
	for _, a := range MustPut(t, s, sent...) { // a phone that has everything still
		if a.Result != thwart.Had {
			t.Errorf("sent again after the purge: %+v", a)
		}
	}
	MustBeWhole(t, s)
}

func entryOf(t *testing.T, s thwart.Store, id string) thwart.Kept {
	t.Helper()
	all, _, err := s.Changes(ctx, []thwart.Kind{thwart.KindTrial, thwart.KindDrill}, 0, 1000)
	must(t, err)
	i := slices.IndexFunc(all, func(k thwart.Kept) bool { return k.ID == id })
	if i < 0 {
		t.Fatalf("%s is gone", id)
	}
	return all[i]
}
