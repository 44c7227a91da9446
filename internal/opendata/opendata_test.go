package opendata

import (
	"archive/zip"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/csv"
	"encoding/hex"
	"encoding/json"
	"errors"
	"io"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"thwart"
	"thwart/internal/demo"
	"thwart/internal/demo/demotest"
	"thwart/internal/exchange"
	"thwart/internal/store"
	"thwart/refdata"
)

// season keeps a small demo season in a store, once for all tests.
var season = sync.OnceValues(func() (*store.Store, error) {
	dir, err := os.MkdirTemp("", "opendata-test-*")
	if err != nil {
		return nil, err
	}
	s, err := store.Open(context.Background(), filepath.Join(dir, "season.db"), store.Options{})
	if err != nil {
		return nil, err
	}
	_, kept := demotest.Season(demo.Options{Seed: 5, Scale: 0.12})
	return s, demotest.Fill(context.Background(), s, kept)
})

func theSeason(t testing.TB) *store.Store {
	t.Helper()
	s, err := season()
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func options(form Form, c Copy) Options {
	return Options{
		Form: form, Copy: c, Title: "Inspections of the Withy Lakes", Publisher: "Withy Lakes (demo)", Contact: "data@withy.example", Licence: "CC-BY-4.0",
		MadeAt: time.Date(2026, 10, 12, 9, 0, 0, 0, time.UTC), App: "test", Demo: true, Key: []byte("a key of the test, long enough"),
	}
}

func publish(t testing.TB, src Source, o Options) (Receipt, *zip.Reader, string) {
	t.Helper()
	name := filepath.Join(t.TempDir(), "out.zip")
	f, err := os.Create(name)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { f.Close() }) //nolint:errcheck // the test is over
	r, err := Publish(t.Context(), src, o, f)
	if err != nil {
		t.Fatal(err)
	}
	info, _ := f.Stat()
	z, err := zip.NewReader(f, info.Size())
	if err != nil {
		t.Fatal(err)
	}
	return r, z, name
}

func content(t testing.TB, z *zip.Reader, name string) []byte {
	t.Helper()
	f, err := z.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close() //nolint:errcheck // it was only read
	b, err := io.ReadAll(f)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// rowsOf reads a CSV file as maps by heading.
func rowsOf(t testing.TB, b []byte) []map[string]string {
	t.Helper()
	all, err := csv.NewReader(bytes.NewReader(b)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []map[string]string
	for _, cells := range all[1:] {
		m := map[string]string{}
		for i, c := range cells {
			m[all[0][i]] = c
		}
		out = append(out, m)
	}
	return out
}

func total(t testing.TB, s thwart.Store, by string) []thwart.Total {
	t.Helper()
	all, err := s.Totals(t.Context(), thwart.TotalsQuery{By: by})
	if err != nil {
		t.Fatal(err)
	}
	return all
}

func TestArchiveOfTheAgency(t *testing.T) {
	s := theSeason(t)
	r, z, _ := publish(t, Of(s), options(DarwinCore, Agency))
	if len(r.Checked) < 6 {
		t.Fatalf("checked only %q", r.Checked)
	}
	want := total(t, s, "")[0]
	if r.Counts.Inspections != want.Encounters {
		t.Errorf("%d inspections, the store has %d", r.Counts.Inspections, want.Encounters)
	}
	kinds := map[string]int{}
	hours := 0.0
	for _, e := range rowsOf(t, content(t, z, "event.csv")) {
		kinds[e["eventType"]]++
		if e["eventType"] == "SiteVisit" {
			h, _ := strconv.ParseFloat(strings.TrimSuffix(e["samplingEffort"], " steward-hours"), 64)
			hours += h
		}
		if e["eventType"] == "WatercraftInspection" && !strings.Contains(e["eventRemarks"], "do not map it as an infestation") {
			t.Fatalf("event %s lacks the caution", e["eventID"])
		}
		if e["coordinateUncertaintyInMeters"] == "0" {
			t.Fatal("an uncertainty of 0")
		}
	}
	if kinds["Project"] != 1 || kinds["WatercraftInspection"] != want.Encounters {
		t.Errorf("events: %v", kinds)
	}
	// 0.005 h of rounding a session.
	if d := hours - want.Hours; d > 0.005*float64(kinds["SiteVisit"]) || d < -0.005*float64(kinds["SiteVisit"]) {
		t.Errorf("%.2f steward-hours, the store has %.2f", hours, want.Hours)
	}
	status := map[string]int{}
	seen := map[string]map[string]bool{}
	for _, o := range rowsOf(t, content(t, z, "occurrence.csv")) {
		status[o["occurrenceStatus"]]++
		if seen[o["eventID"]] == nil {
			seen[o["eventID"]] = map[string]bool{}
		}
		if seen[o["eventID"]][o["occurrenceStatus"]+o["scientificName"]] && o["occurrenceStatus"] == "notDetected" {
			t.Errorf("%s is absent twice at %s", o["scientificName"], o["eventID"])
		}
		seen[o["eventID"]][o["occurrenceStatus"]+o["scientificName"]] = true
		if strings.ContainsAny(o["scientificName"], "?") || strings.Contains(o["scientificName"], "cf.") {
			t.Errorf("a qualifier inside the name %q", o["scientificName"])
		}
	}
	if status["detected"] == 0 || status["notDetected"] == 0 || len(status) != 2 {
		t.Errorf("occurrenceStatus: %v", status)
	}
	for _, personal := range []string{"marit", "mark", "note", "degreeOfEstablishment"} {
		for _, name := range []string{"meta.xml", "event.csv", "occurrence.csv", "measurement.csv"} {
			head, _, _ := bytes.Cut(content(t, z, name), []byte("\n"))
			if bytes.Contains(head, []byte(personal)) && personal != "mark" {
				t.Errorf("%s has a column %s", name, personal)
			}
		}
	}
}

func TestVocabularyOfTheOlderEdition(t *testing.T) {
	o := options(DarwinCore, Agency)
	o.Vocabulary = Present
	_, z, _ := publish(t, Of(theSeason(t)), o)
	got := map[string]bool{}
	for _, row := range rowsOf(t, content(t, z, "occurrence.csv")) {
		got[row["occurrenceStatus"]] = true
	}
	if want := (map[string]bool{"present": true, "absent": true}); !maps.Equal(got, want) {
		t.Errorf("occurrenceStatus: %v", got)
	}
}

// A public copy must hide every craft among at least five that look the same in what an onlooker could know.
func TestPublicCopyHidesSingleCraft(t *testing.T) {
	s := theSeason(t)
	r, z, _ := publish(t, Of(s), options(CSV, Public))
	rows := rowsOf(t, content(t, z, "inspections.csv"))
	groups := map[string]int{}
	for _, row := range rows {
		groups[row["week"]+"|"+row["launch"]+"|"+row["class"]+"|"+row["last_water_status"]+"|"+row["last_water"]+"|"+row["withheld"]]++
	}
	for g, n := range groups {
		if n < exchange.SmallCell {
			t.Errorf("%d craft alone in %s", n, g)
		}
	}
	if got, want := len(rows)+r.Counts.LeftOut, total(t, s, "")[0].Encounters; got != want {
		t.Errorf("%d rows and left out, the store has %d", got, want)
	}
	if r.Counts.Hidden["last_water"] == 0 || r.Counts.Hidden["last_water"] == len(rows) {
		t.Errorf("hidden: %v of %d", r.Counts.Hidden, len(rows))
	}
	all := content(t, z, "inspections.csv")
	for _, word := range []string{"started_at", "steward", "T0", "T1"} {
		if bytes.Contains(all, []byte(word)) {
			t.Errorf("the public copy holds %q", word)
		}
	}
	err := Of(s).Each(t.Context(), thwart.KindInspection, func(x *thwart.Subject, _ thwart.Body) error {
		if bytes.Contains(all, []byte(x.Kept.Subject)) {
			t.Errorf("the id %s of the programme goes out", x.Kept.Subject)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range rowsOf(t, content(t, z, "sessions.csv")) {
		for _, c := range []string{"passed_by", "refused", "turned_away"} {
			if n, err := strconv.Atoi(row[c]); err == nil && n < exchange.SmallCell {
				t.Errorf("session %s shows %s = %d", row["id"], c, n)
			}
		}
	}
}

func TestHidingRule(t *testing.T) {
	type group struct {
		n                                  int
		week, launch, class, status, water string
		want                               hiding
	}
	for name, groups := range map[string][]group{
		"five stand for themselves":                      {{5, "w1", "a", "run", "s", "x", showAll}, {7, "w1", "a", "pon", "s", "x", showAll}},
		"four would be had from the sum, so others join": {{4, "w1", "a", "run", "s", "x", hideClass}, {9, "w1", "a", "pon", "s", "x", hideClass}, {10, "w1", "a", "jet", "s", "x", showAll}},
		"two small ones hide each other":                 {{3, "w1", "a", "run", "s", "x", hideClass}, {2, "w1", "a", "pon", "s", "x", hideClass}, {9, "w1", "a", "jet", "s", "x", showAll}},
		"the class goes before the water":                {{3, "w1", "a", "run", "s", "x", hideWater}, {3, "w1", "a", "run", "s", "y", hideWater}, {6, "w1", "a", "pon", "s", "z", showAll}},
		"the water goes before what is known of it":      {{4, "w1", "a", "run", "s", "x", hideStatus}, {4, "w1", "a", "run", "r", "y", hideStatus}, {6, "w1", "a", "pon", "q", "x", showAll}},
		"a small launch goes with the smallest other":    {{3, "w1", "a", "run", "s", "x", hideLaunch}, {6, "w1", "b", "run", "s", "x", hideLaunch}, {8, "w1", "c", "run", "s", "x", showAll}},
		"a small week":                 {{3, "w1", "a", "run", "s", "x", hideWeek}, {3, "w2", "a", "run", "s", "x", hideWeek}},
		"four in all cannot be hidden": {{4, "w1", "a", "run", "s", "x", hideRecord}},
	} {
		c := newCells()
		for _, g := range groups {
			c.count[c.at(g.week, g.launch, g.class, g.status, g.water)] += g.n
		}
		c.settle()
		for _, g := range groups {
			if got := c.hide[c.at(g.week, g.launch, g.class, g.status, g.water)]; got != g.want {
				t.Errorf("%s: %+v is hidden by %d", name, g, got)
			}
		}
	}
}

func TestEveryFormOfBothCopies(t *testing.T) {
	s := theSeason(t)
	for _, c := range Copies {
		for _, f := range Forms {
			r, z, _ := publish(t, Of(s), options(f, c))
			if len(r.Checked) < 2 {
				t.Errorf("%s %s: checked %q", f, c, r.Checked)
			}
			readme := string(content(t, z, "README.txt"))
			for _, want := range []string{"must not be mapped as infestations", "Creative Commons Attribution 4.0", "invented"} {
				if !strings.Contains(readme, want) {
					t.Errorf("%s %s: README lacks %q", f, c, want)
				}
			}
		}
	}
}

// The same records, options and key give the same bytes.
func TestPublishingTwiceGivesTheSameBytes(t *testing.T) {
	s := theSeason(t)
	for _, f := range Forms {
		_, _, a := publish(t, Of(s), options(f, Public))
		_, _, b := publish(t, Of(s), options(f, Public))
		x, _ := os.ReadFile(a)
		y, _ := os.ReadFile(b)
		if !bytes.Equal(x, y) {
			t.Errorf("%s: two runs differ", f)
		}
	}
}

func TestOptionsName(t *testing.T) {
	o := options(CSV, Public)
	o.Licence, o.Key, o.Contact = "", nil, " "
	_, err := Publish(t.Context(), Of(theSeason(t)), o, nil)
	var fields thwart.FieldErrors
	if !errors.As(err, &fields) {
		t.Fatal(err)
	}
	var names []string
	for _, f := range fields {
		names = append(names, f.Field)
	}
	if want := []string{"licence", "contact", "key"}; !slices.Equal(names, want) {
		t.Errorf("errors of %v, want %v", names, want)
	}
}

// A finished zip in which one thing is wrong must be refused.
func TestCheckFindsFaults(t *testing.T) {
	_, z, _ := publish(t, Of(theSeason(t)), options(DarwinCore, Agency))
	replaced := func(name, old, with string) []byte {
		return bytes.Replace(content(t, z, name), []byte(old), []byte(with), 1)
	}
	first := rowsOf(t, content(t, z, "event.csv"))
	for _, c := range []struct {
		what, file string
		text       []byte
	}{
		{"a term nobody published", "meta.xml", replaced("meta.xml", "terms/eventDate", "terms/eventWhen")},
		{"an element out of place", "meta.xml", replaced("meta.xml", "<coreid", "<id")},
		{"an attribute nobody knows", "meta.xml", replaced("meta.xml", "rowType=", "kind=")},
		{"no metadata", "meta.xml", replaced("meta.xml", `metadata="eml.xml"`, `metadata="none.xml"`)},
		{"an event twice", "event.csv", replaced("event.csv", "\n"+first[5]["eventID"], "\n"+first[6]["eventID"])},
		{"an occurrence without its event", "occurrence.csv", replaced("occurrence.csv", "\n", "\nnowhere,x,detected,,,,,,,,,,,,,\n")},
		{"a metadata file without a title", "eml.xml", replaced("eml.xml", "<title>Inspections of the Withy Lakes</title>", "<title></title>")},
	} {
		b := rewritten(t, z, c.file, c.text)
		if _, err := Check(t.Context(), bytes.NewReader(b), int64(len(b))); err == nil {
			t.Errorf("%s was let through", c.what)
		}
	}
	b := rewritten(t, z, "nothing", nil)
	if _, err := Check(t.Context(), bytes.NewReader(b), int64(len(b))); err != nil {
		t.Errorf("the file as it was: %v", err)
	}
}

// rewritten makes the zip again with one file replaced and its sum in the manifest put right, so that only the deeper checks
// can find the fault.
func rewritten(t *testing.T, z *zip.Reader, name string, text []byte) []byte {
	t.Helper()
	var r Receipt
	if err := json.Unmarshal(content(t, z, "manifest.json"), &r); err != nil {
		t.Fatal(err)
	}
	for i := range r.Files {
		if r.Files[i].Name == name {
			r.Files[i].Bytes, r.Files[i].SHA256 = int64(len(text)), sum(text)
		}
	}
	manifest, _ := json.Marshal(r)
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	for _, f := range z.File {
		b := content(t, z, f.Name)
		switch f.Name {
		case name:
			b = text
		case "manifest.json":
			b = manifest
		}
		x, err := w.Create(f.Name)
		if err != nil {
			t.Fatal(err)
		}
		x.Write(b) //nolint:errcheck // into memory
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func sum(b []byte) string {
	h := sha256.Sum256(b)
	return hex.EncodeToString(h[:])
}

func TestTermsAreThoseOfTheStandard(t *testing.T) {
	// Names read in the Darwin Core quick reference (TDWG, dwc.tdwg.org/terms), the Humboldt Extension and Dublin Core.
	for _, iri := range []string{
		"http://rs.tdwg.org/dwc/terms/eventID", "http://rs.tdwg.org/dwc/terms/vitality", "http://rs.tdwg.org/eco/terms/isAbsenceReported",
		"http://purl.org/dc/terms/license",
	} {
		if _, ok := refdata.OpenTermByIRI(iri); !ok {
			t.Errorf("%s is not in the list", iri)
		}
	}
	o := options(DarwinCore, Public)
	for _, f := range o.dwcFiles(&region{}) {
		for _, c := range append(slices.Clone(f.columns), f.defaults...) {
			if _, ok := refdata.OpenTermByIRI(c.iri()); !ok {
				t.Errorf("%s: %s is in no list", f.name, c.iri())
			}
		}
	}
}

func TestWeeks(t *testing.T) {
	// ISO 8601: the week with the year's first Thursday is week 1. 2026-01-01 is a Thursday; 2027-01-01 a Friday.
	for _, c := range [][3]string{{"2026-W01", "2025-12-29", "2026-01-04"}, {"2026-W27", "2026-06-29", "2026-07-05"}, {"2027-W01", "2027-01-04", "2027-01-10"}} {
		if a, b := weekSpan(c[0]); a != c[1] || b != c[2] {
			t.Errorf("%s is %s to %s, want %s to %s", c[0], a, b, c[1], c[2])
		}
	}
}
