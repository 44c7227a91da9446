package store

import (
	"bytes"
	"context"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"testing"
	"time"

	"thwart"
)

// A backup that is older than a purge brings back what was removed, until it is restored: the noted order is carried out again.
func TestRestoringAnOlderBackupPurgesAgain(t *testing.T) {
	ctx := context.Background()
	dir := t.TempDir()
	path := filepath.Join(dir, "p.db")
	s, err := Open(ctx, path, Options{})
	if err != nil {
		t.Fatal(err)
	}
	at := oneShift(t, s)
	limit := at.Add(time.Hour)
	old := map[string]string{"backup": filepath.Join(dir, "old.db"), "dump": filepath.Join(dir, "old.dump")}
	if _, err := s.Backup(ctx, old["backup"]); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Dump(ctx, old["dump"]); err != nil {
		t.Fatal(err)
	}
	order := thwart.PurgeOrder{MarksBefore: limit, NotesBefore: limit, TrialsBefore: limit, By: "m", At: limit}
	rep, err := s.Purge(ctx, order)
	if err != nil || rep.Removed["note"] == 0 || rep.Removed["drill"] == 0 {
		t.Fatalf("%+v, %v", rep, err)
	}
	if again, err := s.Reapply(ctx); err != nil || len(again) != 0 {
		t.Errorf("purged twice: %+v, %v", again, err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	for name, from := range old {
		to := filepath.Join(dir, name+"-restored.db")
		got, err := Restore(ctx, from, to, path+".purges")
		if err != nil || len(got.Purged) != 1 || !maps.Equal(got.Purged[0].Removed, rep.Removed) || !got.Purged[0].At.Equal(rep.At) {
			t.Fatalf("%s: %+v, %v", name, got.Purged, err)
		}
		b, err := os.ReadFile(to)
		if err != nil {
			t.Fatal(err)
		}
		if bytes.Contains(b, []byte("a note that is private")) || bytes.Contains(b, []byte("person-of-a-drill")) {
			t.Errorf("%s: the note or who practised is still in the file", name)
		}
	}
	// What breaks off while the order is written has removed nothing, and stops nothing.
	f, err := os.OpenFile(path+".purges", os.O_APPEND|os.O_WRONLY, 0)
	if err != nil {
		t.Fatal(err)
	}
	if _, err = f.WriteString(`{"marksBefore":"2026-`); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	if _, err := Restore(ctx, old["backup"], filepath.Join(dir, "third.db"), path+".purges"); err != nil {
		t.Error(err)
	}
}

// oneShift keeps one shift with a private note, and a drill, and gives the time it began.
func oneShift(t *testing.T, s *Store) time.Time {
	t.Helper()
	at := time.Date(2026, 7, 4, 9, 0, 0, 0, time.UTC)
	id := thwart.MakeID(at, [10]byte{1})
	body := fmt.Sprintf(`{"launch":%q,"people":[%q],"from":"2026-07-04T09:00:00Z","note":"a note that is private"}`, id, id)
	shift := thwart.Entry{ID: id, Subject: id, Kind: thwart.KindShift, MadeAt: at, Origin: thwart.OriginPhone, Body: []byte(body)}
	id = thwart.MakeID(at, [10]byte{2})
	drill := thwart.Entry{ID: id, Subject: id, Kind: thwart.KindDrill, MadeAt: at, Origin: thwart.OriginPhone, Person: "person-of-a-drill",
		Body: []byte(`{"person":"person-of-a-drill","startedAt":"2026-07-04T09:00:00Z","score":80}`)}
	ans, err := s.Put(context.Background(), []thwart.Kept{{Entry: shift, ReceivedAt: at}, {Entry: drill, ReceivedAt: at}})
	if err != nil || ans[0].Result != thwart.Stored || ans[1].Result != thwart.Stored {
		t.Fatal(ans, err)
	}
	return at
}
