package api_test

import (
	"encoding/json"
	"net/http"
	"slices"
	"strings"
	"testing"
	"time"

	"thwart"
	"thwart/internal/api"
	"thwart/merge"
)

// Two printings have numbers of their own, noted with who printed them; what cannot be printed takes none.
func TestPrintSheets(t *testing.T) {
	w := newWorld(t, nil)
	office := w.setup()
	print := func(status int, body map[string]any) []byte {
		t.Helper()
		return office.want(status, "POST", "/api/sheets", body).body
	}
	blocks := func() []thwart.Sheets {
		t.Helper()
		var page thwart.Page[thwart.Subject]
		office.want(http.StatusOK, "GET", "/api/subjects?kind=sheets", nil).into(t, &page)
		var out []thwart.Sheets
		for _, s := range page.Items {
			var b thwart.Sheets
			if err := json.Unmarshal(s.Body, &b); err != nil {
				t.Fatal(err)
			}
			out = append(out, b)
		}
		return out
	}
	boat := map[string]any{"form": "B", "protocol": "regional-minimum@1", "class": "canoe_kayak", "count": 3, "paper": "letter", "units": "us"}
	for range 2 {
		if pdf := print(http.StatusOK, boat); !strings.HasPrefix(string(pdf), "%PDF-") {
			t.Errorf("no PDF: %.40s", pdf)
		}
	}
	if b := blocks(); len(b) != 2 || b[0].First != 1 || b[0].Last() != 3 || b[1].First != 4 || b[1].Class != "canoe_kayak" || b[1].Protocol != "regional-minimum@1" {
		t.Errorf("blocks %+v", b)
	}
	print(http.StatusUnprocessableEntity, map[string]any{"form": "B", "protocol": "regional-minimum@1", "class": "zeppelin"})
	print(http.StatusUnprocessableEntity, map[string]any{"form": "T", "protocol": "regional-minimum@1", "count": 501})
	print(http.StatusNotFound, map[string]any{"form": "T", "protocol": "none@1"})
	print(http.StatusOK, map[string]any{"form": "W", "protocol": "regional-minimum@1", "specimen": true})
	if b := blocks(); len(b) != 2 {
		t.Errorf("what was not printed took numbers: %+v", b)
	}
}

// A card that was keyed in before its boat's sheet waits for it; a sheet keyed in twice, and a number that was never printed, are shown to a
// person and stay as they are.
func TestPaperComesTogether(t *testing.T) {
	w, office, s, p := field(t, nil)
	office.want(http.StatusOK, "POST", "/api/sheets", map[string]any{"form": "B", "protocol": "regional-minimum@1", "class": "canoe_kayak", "count": 5})
	office.want(http.StatusOK, "POST", "/api/sheets", map[string]any{"form": "W", "protocol": "regional-minimum@1", "count": 5})
	kit := office.create(thwart.KindUnit, thwart.Kit{Name: "Unit 1"})
	shift := p.shift(s.launch)
	p.sync(shift)
	paper := func(kind thwart.Kind, body any) thwart.Entry {
		e := p.entry(kind, body)
		e.Origin = thwart.OriginPaper
		return e
	}
	boat := func(n int) thwart.Entry {
		enc := p.canoe(s, shift.Subject)
		enc.Sheet = thwart.SheetNumber(thwart.SheetBoat, n)
		return paper(thwart.KindInspection, enc)
	}
	at := w.clock.Now().Add(-time.Hour)
	card := func(n, boat int) thwart.Entry {
		return paper(thwart.KindWash, thwart.WashDone{
			Kit: kit, StartedAt: at, EndedAt: at.Add(20 * time.Minute), Sheet: thwart.SheetNumber(thwart.SheetWash, n), BoatSheet: thwart.SheetNumber(thwart.SheetBoat, boat),
			Steps: []thwart.WashStepDone{{Claim: thwart.WashClaim{Part: thwart.PartHull}, Outcome: "not_needed"}},
		})
	}
	washed := func(wash thwart.Entry) (encounter string, entries int) {
		var page struct {
			Items []thwart.Kept `json:"items"`
		}
		office.want(http.StatusOK, "GET", "/api/subjects/"+wash.Subject+"/history", nil).into(t, &page)
		var body thwart.WashDone
		if err := json.Unmarshal(page.Items[len(page.Items)-1].Body, &body); err != nil {
			t.Fatal(err)
		}
		return body.Encounter, len(page.Items)
	}

	first := card(1, 1)
	p.sync(first)
	if got := doubted(t, office, "wash_without_boat"); !slices.Equal(got, []string{first.Subject}) {
		t.Errorf("washes without a boat: %v", got)
	}
	one := boat(1)
	p.sync(one)
	if enc, n := washed(first); enc != one.Subject || n != 2 {
		t.Errorf("the card belongs to %q after %d entries, want %s after 2", enc, n, one.Subject)
	}
	if got := doubted(t, office, "wash_without_boat"); len(got) != 0 {
		t.Errorf("still without a boat: %v", got)
	}
	second := card(2, 1) // the boat is here already, on another phone
	p.sync(second)
	if enc, _ := washed(second); enc != one.Subject {
		t.Errorf("the second card belongs to %q", enc)
	}
	if got := results(p.sync(second)); got != "[had]" {
		t.Errorf("sent again: %s", got)
	}
	if _, n := washed(second); n != 2 {
		t.Errorf("sent again, it has %d entries", n)
	}

	again, two := boat(2), boat(2)
	third := card(3, 2)
	p.sync(again, two, third)
	if enc, n := washed(third); enc != "" || n != 1 {
		t.Errorf("of two boats of one sheet the server took %q", enc)
	}
	want := []string{again.Subject, two.Subject}
	slices.Sort(want)
	if got := doubted(t, office, "sheet_twice"); !slices.Equal(slices.Sorted(slices.Values(got)), want) {
		t.Errorf("keyed in twice: %v, want %v", got, want)
	}
	var twins struct {
		Items []api.Twin `json:"items"`
	}
	office.want(http.StatusOK, "GET", "/api/twins", nil).into(t, &twins)
	if !slices.ContainsFunc(twins.Items, func(x api.Twin) bool {
		return slices.Contains(want, x.A) && slices.Contains(want, x.B) && slices.Contains(x.Agree, merge.SignSheet)
	}) {
		t.Errorf("not offered as a pair: %+v", twins.Items)
	}
	// Said to be one craft, they are no doubt any more; both stay.
	office.create(thwart.KindPairing, thwart.Pairing{A: again.Subject, B: two.Subject, Decision: thwart.PairSame, Why: "keyed in by two people"})
	if got := doubted(t, office, "sheet_twice"); len(got) != 0 {
		t.Errorf("still doubted: %v", got)
	}
	if enc, n := washed(third); !slices.Contains(want, enc) || n != 2 {
		t.Errorf("of one craft keyed in twice the card got %q after %d entries", enc, n)
	}

	// Many corrections at once bring paper together as one does: a number that was misread, and one of two boats taken out.
	misread := card(5, 3)
	once, double := boat(4), boat(4)
	fourth := card(4, 4)
	p.sync(misread, once, double, fourth)
	var right thwart.WashDone
	if err := json.Unmarshal(misread.Body, &right); err != nil {
		t.Fatal(err)
	}
	right.BoatSheet = thwart.SheetNumber(thwart.SheetBoat, 1)
	office.want(http.StatusOK, "POST", "/api/corrections", obj{"why": "a 1 read as a 3, and a boat keyed in twice", "changes": []obj{
		{"id": misread.Subject, "head": misread.ID, "body": right}, {"id": double.Subject, "head": double.ID, "remove": true}}})
	if enc, n := washed(misread); enc != one.Subject || n != 3 {
		t.Errorf("the card that was misread belongs to %q after %d entries, want %s after 3", enc, n, one.Subject)
	}
	if enc, n := washed(fourth); enc != once.Subject || n != 2 {
		t.Errorf("with one boat of the sheet left the card belongs to %q after %d entries, want %s after 2", enc, n, once.Subject)
	}

	stranger := boat(6) // five were printed
	p.sync(stranger)
	if got := doubted(t, office, "sheet_unprinted"); !slices.Equal(got, []string{stranger.Subject}) {
		t.Errorf("never printed: %v", got)
	}
	bad := card(3, 1)
	bad.Body = json.RawMessage(strings.Replace(string(bad.Body), thwart.SheetNumber(thwart.SheetBoat, 1), "B-0000001-X", 1))
	if got := results(p.sync(bad)); got != "[refused]" {
		t.Errorf("a boat's number with a slip: %s", got)
	}
}
