package api_test

import (
	"encoding/json"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"thwart"
)

// The description names the words of each vocabulary, and no list may be null.
func TestDescriptionHoldsTheVocabularies(t *testing.T) {
	w := newWorld(t, nil)
	var doc struct {
		Components struct {
			Schemas map[string]struct {
				Properties map[string]struct {
					Type any
					Enum []string
				}
			}
		}
	}
	if err := json.Unmarshal(w.api.OpenAPI(), &doc); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ schema, field, word string }{
		{"EntryOfSecondLook", "kind", "second_look"}, {"SubjectOfProgramme", "kind", "programme"}, {"Account", "role", "biologist"}, {"EncounterRow", "given", "hold"},
		{"Job", "state", "interrupted"}, {"EntryAnswer", "result", "had"}, {"EntryOfWater", "origin", "paper"}, {"VerdictRecord", "outcome", "hold"},
	} {
		enum := doc.Components.Schemas[c.schema].Properties[c.field].Enum
		if !strings.Contains(strings.Join(enum, " "), c.word) {
			t.Errorf("%s.%s: %v", c.schema, c.field, enum)
		}
	}
	for name, s := range doc.Components.Schemas {
		if strings.HasSuffix(name, "Record") { // of a record, which is handed on as it was sent
			continue
		}
		for field, p := range s.Properties {
			if _, several := p.Type.([]any); several {
				t.Errorf("%s.%s is of the types %v", name, field, p.Type)
			}
		}
	}
}

// A word outside its vocabulary is refused with the words that are accepted.
func TestRefusalNamesTheWords(t *testing.T) {
	w := newWorld(t, nil)
	m := w.setup()
	pr := problemOf(t, m.want(http.StatusUnprocessableEntity, "POST", "/api/invites", obj{"person": m.person, "role": "captain"}))
	if !hasField(pr, "body.role") || !strings.Contains(pr.Errors[0].Accepted, "steward") {
		t.Errorf("%+v", pr)
	}
}

var null = regexp.MustCompile(`"[A-Za-z]+":\s*null`)

// What the description says is a list is [] when it is empty, never null.
func TestListsAreNeverNull(t *testing.T) {
	_, m, s, p := field(t, nil)
	shift := p.shift(s.launch)
	e := p.entry(thwart.KindInspection, p.canoe(s, shift.Subject))
	p.sync(shift, e)
	look := func(path string, a answer) {
		for _, found := range null.FindAllString(string(a.body), -1) {
			if found != `"gear":null` { // of a record, which is handed on as it was sent
				t.Errorf("%s: %s", path, found)
			}
		}
	}
	for _, row := range accessTable {
		if row.method != "GET" || row.op == "follow-events" || row.op == "export" || row.op == "sign-out" {
			continue
		}
		path := strings.ReplaceAll(strings.ReplaceAll(row.path, "{own}", e.Subject), "{water}", s.clear)
		look(path, m.do("GET", path, nil))
	}
	look("sync", p.want(http.StatusOK, "POST", "/api/sync", batchOf(t)))
	files, err := filepath.Glob("../../examples/cases/*.json")
	if err != nil || len(files) < 5 {
		t.Fatalf("%d cases, %v", len(files), err)
	}
	for _, f := range files {
		text, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		look(f, p.want(http.StatusOK, "POST", "/api/assess", text))
	}
}
