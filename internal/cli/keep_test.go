package cli

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"thwart"
	"thwart/internal/store"
)

// programme is one on a file: a launch, a person and a drill of long ago, and how many days trials are kept.
func programme(t *testing.T) (path, person string) {
	t.Helper()
	path = filepath.Join(t.TempDir(), "p.db")
	s, err := store.Open(t.Context(), path, store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	at := time.Date(2020, 5, 1, 9, 0, 0, 0, time.UTC)
	n := byte(0)
	put := func(kind thwart.Kind, body any) string {
		n++
		id := thwart.MakeID(at, [10]byte{n})
		text, err := json.Marshal(body)
		if err != nil {
			t.Fatal(err)
		}
		ans, err := s.Put(t.Context(), []thwart.Kept{{Entry: thwart.Entry{ID: id, Subject: id, Kind: kind, MadeAt: at, Origin: thwart.OriginOffice, Body: text}, ReceivedAt: at}})
		if err != nil || ans[0].Result != thwart.Stored {
			t.Fatal(ans, err)
		}
		return id
	}
	water := put(thwart.KindWater, thwart.WaterBody{Name: "Brackenholt Lake"})
	put(thwart.KindLaunch, thwart.Ramp{Name: "Alder Point", Water: water})
	person = put(thwart.KindPerson, thwart.Person{Name: "Wren"})
	put(thwart.KindDrill, thwart.Drill{Person: person, StartedAt: at, Score: 80})
	put(thwart.KindProgramme, thwart.Programme{Name: "Ours", Zone: "UTC", Retention: thwart.Retention{TrialDays: 1000}})
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	return path, person
}

func trail(t *testing.T, path string) (lines []string, entries int) {
	t.Helper()
	s, err := store.Open(t.Context(), path, store.Options{ReadOnly: true})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close() //nolint:errcheck // it was only read
	page, err := s.ListAudit(t.Context(), "", 100)
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range page.Items {
		lines = append(lines, l.What+" "+l.Detail)
	}
	all, _, err := s.Changes(context.Background(), nil, 0, 1000)
	if err != nil {
		t.Fatal(err)
	}
	return lines, len(all)
}

func TestImportFromTheCommandLine(t *testing.T) {
	path, _ := programme(t)
	dir := t.TempDir()
	table, mapping := filepath.Join(dir, "old.csv"), filepath.Join(dir, "m.json")
	for name, text := range map[string]string{
		table:   "Date,Time,Ramp,Inspector,Boat\n2026-05-02,09:10,Alder Point,Wren,canoe\n2026-05-02,09:40,Alder Pont,Wren,canoe\n",
		mapping: `{"columns":{"date":"Date","time":"Time","launch":"Ramp","steward":"Inspector","class":"Boat"},"zone":"UTC","units":{}}`,
	} {
		if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	_, before := trail(t, path)
	code, out, errs := run(t, "", "import", table, "--mapping", mapping, "--store", path)
	if code != 0 || !strings.Contains(out, "2 rows: 1 taken, 1 refused") || !strings.Contains(out, "Nothing was kept") || !strings.Contains(out, "Alder Point?") {
		t.Errorf("%d %s %s", code, out, errs)
	}
	if lines, after := trail(t, path); after != before || len(lines) != 0 {
		t.Errorf("a dry run left %d entries and %v", after-before, lines)
	}
	for i, want := range []string{"Added: 2 entries; already there: 0", "Added: 0 entries; already there: 2"} {
		if code, out, errs := run(t, "", "import", table, "--mapping", mapping, "--store", path, "--keep"); code != 0 || !strings.Contains(out, want) {
			t.Errorf("time %d: %d %s %s", i+1, code, out, errs)
		}
	}
	lines, after := trail(t, path)
	if want := "import 2 rows: 1 taken, 1 refused, 0 duplicates"; after != before+2 || len(lines) != 2 || lines[0] != want {
		t.Errorf("%d entries more, trail %v", after-before, lines)
	}
}

func TestPurgeByTheProgrammesDays(t *testing.T) {
	path, person := programme(t)
	for _, wrong := range [][]string{{}, {"--retention", "--notes", "3"}, {"--trials", "-1"}, {"--retention", "--do"}} {
		if code, _, errs := run(t, "", append([]string{"purge", "--store", path}, wrong...)...); code != 2 || !strings.Contains(errs, "accepted") {
			t.Errorf("%v: %d %s", wrong, code, errs)
		}
	}
	if code, out, errs := run(t, "", "purge", "--retention", "--store", path); code != 0 || !strings.Contains(out, "drill") || !strings.Contains(out, "nothing was changed") {
		t.Errorf("%d %s %s", code, out, errs)
	}
	if lines, _ := trail(t, path); len(lines) != 0 {
		t.Errorf("looking left %v", lines)
	}
	if code, out, errs := run(t, "", "purge", "--retention", "--store", path, "--do", "--by", "M. Keeper"); code != 0 || !strings.Contains(out, "Removed for good") {
		t.Errorf("%d %s %s", code, out, errs)
	}
	if lines, _ := trail(t, path); fmt.Sprint(lines) != `[purge M. Keeper: {"drill":1}]` {
		t.Errorf("%v", lines)
	}
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if n := strings.Count(string(text), `"person":"`+person); n != 0 {
		t.Errorf("the person still stands in %d bodies", n)
	}
}
