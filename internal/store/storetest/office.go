package storetest

import (
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"thwart"
)

var noon = time.Date(2026, 7, 4, 12, 0, 0, 0, time.UTC)

func refusals(t *testing.T, open func(t *testing.T) Keeper) {
	s := open(t)
	for i := range 7 {
		r := thwart.Refusal{
			ID: fmt.Sprint("r", i), Raw: []byte(fmt.Sprintf("{\"n\":%d, not JSON \xff\x00", i%5)), Device: "phone-1", Person: "p",
			Errors: thwart.FieldErrors{{Field: "id", Value: "\x00", Accepted: "an id"}}, ReceivedAt: noon.Add(time.Duration(i/2) * time.Second),
		}
		must(t, s.Refuse(ctx, r))
	}
	must(t, s.Refuse(ctx, thwart.Refusal{ID: "other phone", Raw: []byte("{\"n\":0, not JSON \xff\x00"), Device: "phone-2", ReceivedAt: noon}))
	if err := s.Refuse(ctx, thwart.Refusal{ID: "r1", Raw: []byte("new"), ReceivedAt: noon}); !errors.Is(err, thwart.ErrConflict) {
		t.Errorf("an id twice: %v", err)
	}
	all := func(settled bool, limit int) (ids []string) {
		t.Helper()
		for after := ""; ; {
			p, err := s.Refusals(ctx, settled, after, limit)
			must(t, err)
			for _, r := range p.Items {
				ids = append(ids, r.ID)
			}
			if after = p.Next; after == "" {
				return ids
			}
		}
	}
	want := []string{"other phone", "r0", "r1", "r2", "r3", "r4"} // r5 and r6 say what r0 and r1 said
	for _, limit := range []int{1, 2, 100} {
		if got := all(false, limit); !slices.Equal(got, want) {
			t.Errorf("open: %v", got)
		}
	}
	p, err := s.Refusals(ctx, false, "", 2)
	must(t, err)
	if r := p.Items[1]; string(r.Raw) != "{\"n\":0, not JSON \xff\x00" || r.Errors[0].Field != "id" || r.Errors[0].Value != "\x00" || r.Device != "phone-1" || !r.ReceivedAt.Equal(noon) {
		t.Errorf("%+v", r)
	}
	must(t, s.Settle(ctx, "r1", "manager", "typed again", noon))
	if err := s.Settle(ctx, "r1", "another", "", noon); !errors.Is(err, thwart.ErrConflict) {
		t.Errorf("settled twice: %v", err)
	}
	if err := s.Settle(ctx, "nobody", "manager", "", noon); !errors.Is(err, thwart.ErrNotFound) {
		t.Errorf("settled nothing: %v", err)
	}
	if got := all(true, 10); !slices.Equal(got, []string{"r1"}) {
		t.Errorf("settled: %v", got)
	}
	must(t, s.Refuse(ctx, thwart.Refusal{ID: "again", Raw: []byte("{\"n\":1, not JSON \xff\x00"), Device: "phone-1", ReceivedAt: noon}))
	if got := all(false, 10); !slices.Equal(got, []string{"other phone", "r0", "r2", "r3", "r4"}) {
		t.Errorf("open after settling, and the phone trying again: %v", got)
	}
	MustBeWhole(t, s)
}

func purge(t *testing.T, open func(t *testing.T) Keeper) {
	s := open(t)
	w := NewWorld(16)
	w.Places(3, 3, 3)
	w.Season(40, 8)
	sent := slices.Clone(w.Entries)
	MustPut(t, s, w.Entries...)
	must(t, s.Refuse(ctx, thwart.Refusal{ID: "old", Raw: []byte("notes"), ReceivedAt: w.Entries[0].MadeAt}))
	must(t, s.Refuse(ctx, thwart.Refusal{ID: "open", Raw: []byte("more notes"), ReceivedAt: w.Entries[0].MadeAt}))
	must(t, s.Settle(ctx, "old", "m", "", noon))
	limit := w.Entries[len(w.Entries)*2/3].MadeAt
	order := thwart.PurgeOrder{MarksBefore: limit, NotesBefore: limit, PhotosBefore: limit, By: "manager", At: noon, DryRun: true}

	// What the model purges: every version of what is old enough, whatever its place in the history.
	want := map[string]int{"refusal": 1}
	rows := w.Rows()
	for i := range w.Entries {
		k := &w.Entries[i]
		if len(k.Body) == 0 {
			continue
		}
		switch k.Kind {
		case thwart.KindInspection:
			e := decode[thwart.Encounter](*k)
			if !e.Inspection.StartedAt.Before(limit) {
				continue
			}
			if e.Mark != nil {
				want["mark"]++
			}
			notes := []string{e.Inspection.Note}
			for _, c := range e.Inspection.Checks {
				notes = append(notes, c.Reason)
			}
			if e.Inspection.Others != nil {
				notes = append(notes, e.Inspection.Others.Reason)
			}
			for _, f := range e.Inspection.Findings {
				notes = append(notes, f.Note)
			}
			want["note"] += len(slices.DeleteFunc(notes, func(s string) bool { return s == "" }))
		case thwart.KindShift:
			if sh := decode[thwart.Shift](*k); sh.From.Before(limit) && sh.Note != "" {
				want["note"]++
			}
		case thwart.KindPhoto:
			if p := decode[thwart.Photo](*k); k.MadeAt.Before(limit) && rows[p.Encounter].Given != thwart.Hold {
				want["photo"]++
			}
		}
	}
	if want["mark"] < 10 || want["note"] < 10 || want["photo"] < 3 {
		t.Fatalf("the season has too little to purge: %v", want)
	}
	dry, err := s.Purge(ctx, order)
	must(t, err)
	if !reflect.DeepEqual(dry.Removed, want) || !dry.DryRun {
		t.Errorf("dry run: %v, the model says %v", dry.Removed, want)
	}
	Compare(t, s, w)

	order.DryRun = false
	rep, err := s.Purge(ctx, order)
	must(t, err)
	if !reflect.DeepEqual(rep.Removed, want) || rep.By != "manager" || !rep.At.Equal(noon) {
		t.Errorf("purge: %+v, the model says %v", rep, want)
	}
	MustBeWhole(t, s)
	for _, by := range thwart.TotalsBys {
		sameTotals(t, s, w, thwart.TotalsQuery{By: by})
	}
	for _, r := range allRows(t, s, thwart.EncounterQuery{WithTests: true}) {
		was := rows[r.Subject]
		if r.At.Before(limit) {
			was.Mark = ""
		}
		if r != was {
			t.Errorf("%+v was %+v", r, was)
		}
	}
	all, _, err := s.Changes(ctx, nil, 0, 1000)
	must(t, err)
	for _, k := range all {
		text := string(k.Body)
		switch k.Kind {
		case thwart.KindInspection:
			if len(k.Body) > 0 && decode[thwart.Encounter](k).Inspection.StartedAt.Before(limit) {
				for _, word := range []string{"hat", "owner", "busy", `"mark"`, `"hash"`, `"long"`} {
					if strings.Contains(text, word) {
						t.Errorf("%s is left in %s", word, text)
					}
				}
			}
		case thwart.KindShift:
			if len(k.Body) > 0 && decode[thwart.Shift](k).From.Before(limit) && strings.Contains(text, "gate") {
				t.Errorf("left: %s", text)
			}
		}
	}
	old, err := s.Refusals(ctx, true, "", 10)
	must(t, err)
	open1, err := s.Refusals(ctx, false, "", 10)
	must(t, err)
	if string(old.Items[0].Raw) != "null" || string(open1.Items[0].Raw) != "more notes" {
		t.Errorf("refusals: %s, %s", old.Items[0].Raw, open1.Items[0].Raw)
	}

	again, err := s.Purge(ctx, order)
	must(t, err)
	if len(again.Removed) != 0 {
		t.Errorf("purged twice: %v", again.Removed)
	}
	for i := 0; i < len(sent); i += 100 { // a phone that has everything still
		for _, a := range MustPut(t, s, sent[i:min(i+100, len(sent))]...) {
			if a.Result != thwart.Had {
				t.Errorf("sent again after the purge: %+v", a)
			}
		}
	}
	nothing, err := s.Purge(ctx, thwart.PurgeOrder{By: "manager", At: noon})
	must(t, err)
	if len(nothing.Removed) != 0 {
		t.Errorf("an order that names nothing removed %v", nothing.Removed)
	}
	// A correction of what was purged may bring a mark again, and is purged in its turn.
	for _, k := range w.Entries {
		if k.Kind == thwart.KindInspection && len(k.Body) > 0 && decode[thwart.Encounter](k).Inspection.StartedAt.Before(limit) {
			e := decode[thwart.Encounter](k)
			e.Mark = &thwart.Mark{Hash: strings.Repeat("a", 32)}
			MustPut(t, s, w.Correct(k, e))
			break
		}
	}
	if rep, err = s.Purge(ctx, order); err != nil || rep.Removed["mark"] != 1 {
		t.Errorf("after a late correction: %v, %v", rep.Removed, err)
	}
	MustBeWhole(t, s)
}

func account(id, login string) thwart.Account {
	return thwart.Account{ID: id, Person: "p-" + id, Login: login, PasswordHash: "hash", Role: thwart.AccessManager, CreatedAt: noon}
}

func firstAccountOnce(t *testing.T, open func(t *testing.T) Keeper) {
	s := open(t)
	if has, err := s.HasAccounts(ctx); err != nil || has {
		t.Errorf("an empty programme has accounts: %t, %v", has, err)
	}
	errs := make([]error, 8)
	var wg sync.WaitGroup
	for i := range errs {
		wg.Go(func() { errs[i] = s.CreateFirst(ctx, account(fmt.Sprint("a", i), fmt.Sprint("login", i))) })
	}
	wg.Wait()
	made := 0
	for _, err := range errs {
		switch {
		case err == nil:
			made++
		case !errors.Is(err, thwart.ErrConflict):
			t.Error(err)
		}
	}
	list, err := s.ListAccounts(ctx)
	must(t, err)
	if made != 1 || len(list) != 1 {
		t.Errorf("%d made, %d there", made, len(list))
	}
	if has, err := s.HasAccounts(ctx); err != nil || !has {
		t.Errorf("%t, %v", has, err)
	}
}

func accounts(t *testing.T, open func(t *testing.T) Keeper) {
	s := open(t)
	a := account("a", "Ada@Example.org")
	must(t, s.CreateAccount(ctx, a))
	b := account("b", "bob")
	must(t, s.CreateAccount(ctx, b))
	if err := s.CreateAccount(ctx, account("c", " ada@example.ORG ")); !errors.Is(err, thwart.ErrConflict) {
		t.Errorf("a login that is taken: %v", err)
	}
	got, err := s.AccountByLogin(ctx, "ADA@example.org ")
	must(t, err)
	if !reflect.DeepEqual(got, a) {
		t.Errorf("%+v", got)
	}
	if got, err = s.AccountByID(ctx, "b"); err != nil || !reflect.DeepEqual(got, b) {
		t.Errorf("%+v, %v", got, err)
	}
	for _, no := range []string{"", "nobody", "a\x00"} {
		if _, err := s.AccountByLogin(ctx, no); !errors.Is(err, thwart.ErrNotFound) {
			t.Errorf("%q: %v", no, err)
		}
	}
	later := noon.Add(time.Hour)
	a.FailedSince, a.LockedUntil, a.RevokedAt, a.Role, a.PasswordHash = 5, &later, &later, thwart.AccessAuditor, "another"
	must(t, s.UpdateAccount(ctx, a))
	if got, err = s.AccountByID(ctx, "a"); err != nil || !reflect.DeepEqual(got, a) {
		t.Errorf("%+v, %v", got, err)
	}
	b.Login = "ada@example.org"
	if err := s.UpdateAccount(ctx, b); !errors.Is(err, thwart.ErrConflict) {
		t.Errorf("a login that is taken: %v", err)
	}
	if err := s.UpdateAccount(ctx, account("nobody", "x")); !errors.Is(err, thwart.ErrNotFound) {
		t.Errorf("%v", err)
	}
	if list, err := s.ListAccounts(ctx); err != nil || len(list) != 2 || list[0].ID != "a" {
		t.Errorf("%+v, %v", list, err)
	}
	if err := s.CreateFirst(ctx, account("z", "z")); !errors.Is(err, thwart.ErrConflict) {
		t.Errorf("a first account after others: %v", err)
	}
}

func inviteOnce(t *testing.T, open func(t *testing.T) Keeper) {
	s := open(t)
	code := []byte{1, 2, 3, 0, 255}
	inv := thwart.Invite{ID: "i", CodeHash: code, Person: "p1", Role: thwart.AccessSteward, CreatedBy: "a", CreatedAt: noon, ExpiresAt: noon.Add(time.Hour)}
	must(t, s.CreateInvite(ctx, inv))
	if err := s.CreateInvite(ctx, thwart.Invite{ID: "j", CodeHash: code}); !errors.Is(err, thwart.ErrConflict) {
		t.Errorf("a code twice: %v", err)
	}
	device := func(id string) thwart.Device {
		return thwart.Device{ID: id, Person: "somebody else", Role: thwart.AccessManager, Name: "phone", PublicKey: []byte{0, 9}, EnrolledAt: noon, LeaseUntil: noon.Add(72 * time.Hour)}
	}
	for name, at := range map[string]time.Time{"late": inv.ExpiresAt} {
		if _, err := s.UseInvite(ctx, code, device(name), at); !errors.Is(err, thwart.ErrNotFound) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := s.UseInvite(ctx, []byte{9}, device("wrong"), noon); !errors.Is(err, thwart.ErrNotFound) {
		t.Errorf("a wrong code: %v", err)
	}
	errs := make([]error, 8)
	var wg sync.WaitGroup
	for i := range errs {
		wg.Go(func() {
			got, err := s.UseInvite(ctx, code, device(fmt.Sprint("d", i)), noon)
			if err == nil && (got.ID != "i" || got.UsedBy != fmt.Sprint("d", i) || got.UsedAt == nil) {
				err = fmt.Errorf("%+v", got)
			}
			errs[i] = err
		})
	}
	wg.Wait()
	used := 0
	for _, err := range errs {
		switch {
		case err == nil:
			used++
		case !errors.Is(err, thwart.ErrNotFound):
			t.Error(err)
		}
	}
	list, err := s.ListDevices(ctx)
	must(t, err)
	invites, err := s.ListInvites(ctx)
	must(t, err)
	if used != 1 || len(list) != 1 || len(invites) != 1 || invites[0].UsedBy != list[0].ID {
		t.Fatalf("used %d times; devices %+v; invites %+v", used, list, invites)
	}
	if d := list[0]; d.Person != "p1" || d.Role != thwart.AccessSteward {
		t.Errorf("the device is what it says, not what the invite says: %+v", d)
	}
	// A device that cannot be added leaves the invite unused.
	second := thwart.Invite{ID: "k", CodeHash: []byte{7}, ExpiresAt: noon.Add(time.Hour), CreatedAt: noon}
	must(t, s.CreateInvite(ctx, second))
	if _, err := s.UseInvite(ctx, second.CodeHash, device(list[0].ID), noon); !errors.Is(err, thwart.ErrConflict) {
		t.Errorf("%v", err)
	}
	if _, err := s.UseInvite(ctx, second.CodeHash, device("fresh"), noon); err != nil {
		t.Error(err)
	}
}

func devices(t *testing.T, open func(t *testing.T) Keeper) {
	s := open(t)
	must(t, s.CreateInvite(ctx, thwart.Invite{ID: "i", CodeHash: []byte{1}, Person: "p", Role: thwart.AccessTechnician, CreatedAt: noon, ExpiresAt: noon.Add(time.Hour)}))
	d := thwart.Device{ID: "d", Person: "p", Role: thwart.AccessTechnician, Name: "phone", PublicKey: []byte{0, 1, 2}, EnrolledAt: noon, LeaseUntil: noon.Add(time.Hour)}
	_, err := s.UseInvite(ctx, []byte{1}, d, noon)
	must(t, err)
	got, err := s.DeviceByID(ctx, "d")
	must(t, err)
	if !reflect.DeepEqual(got, d) {
		t.Errorf("%+v", got)
	}
	seen, lease := noon.Add(time.Minute), noon.Add(48*time.Hour)
	must(t, s.SeeDevice(ctx, "d", seen, lease))
	d.LastSeenAt, d.LeaseUntil = &seen, lease
	if got, err = s.DeviceByID(ctx, "d"); err != nil || !reflect.DeepEqual(got, d) {
		t.Errorf("%+v, %v", got, err)
	}
	must(t, s.RevokeDevice(ctx, "d", seen))
	must(t, s.RevokeDevice(ctx, "d", lease))
	d.RevokedAt = &seen
	if err := s.SeeDevice(ctx, "d", lease, lease); !errors.Is(err, thwart.ErrConflict) {
		t.Errorf("a revoked device was seen: %v", err)
	}
	if got, err = s.DeviceByID(ctx, "d"); err != nil || !reflect.DeepEqual(got, d) {
		t.Errorf("%+v, %v", got, err)
	}
	_, err = s.DeviceByID(ctx, "x")
	for _, err := range []error{err, s.SeeDevice(ctx, "x", noon, noon), s.RevokeDevice(ctx, "x", noon)} {
		if !errors.Is(err, thwart.ErrNotFound) {
			t.Errorf("%v", err)
		}
	}
}

func audit(t *testing.T, open func(t *testing.T) Keeper) {
	s := open(t)
	for i := range 9 {
		must(t, s.AddAudit(ctx, thwart.Audit{ID: fmt.Sprint("l", i), At: noon.Add(time.Duration(i/3) * time.Second), Who: "a", What: "sign_in", Detail: "\x00\xff"}))
	}
	if err := s.AddAudit(ctx, thwart.Audit{ID: "l0", At: noon}); !errors.Is(err, thwart.ErrConflict) {
		t.Errorf("a line over another: %v", err)
	}
	var got []string
	for after := ""; ; {
		p, err := s.ListAudit(ctx, after, 2)
		must(t, err)
		for _, l := range p.Items {
			got = append(got, l.ID)
		}
		if len(got) == 4 { // a new line on top moves nothing below
			must(t, s.AddAudit(ctx, thwart.Audit{ID: "new", At: noon.Add(time.Hour), Who: "a", What: "export"}))
		}
		if after = p.Next; after == "" {
			break
		}
	}
	if want := []string{"l8", "l7", "l6", "l5", "l4", "l3", "l2", "l1", "l0"}; !slices.Equal(got, want) {
		t.Errorf("%v", got)
	}
	MustBeWhole(t, s)
}
