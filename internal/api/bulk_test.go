package api_test

import (
	"encoding/json"
	"net/http"
	"slices"
	"strings"
	"testing"

	"thwart"
	"thwart/advice"
	"thwart/internal/api"
	"thwart/season/figures"
	"thwart/season/today"
)

// doubted gives the records that a doubt points at, as the season has them now.
func doubted(t *testing.T, m *browser, id string) []string {
	t.Helper()
	var s figures.Season
	m.want(http.StatusOK, "GET", "/api/season", nil).into(t, &s)
	for _, d := range s.Doubts {
		if d.ID == id {
			return d.Records
		}
	}
	t.Fatalf("no doubt %q", id)
	return nil
}

// needed is how many of a sort the morning says need somebody.
func needed(t *testing.T, m *browser, what today.What) (n int) {
	t.Helper()
	var day today.Day
	m.want(http.StatusOK, "GET", "/api/morning", nil).into(t, &day)
	for _, need := range day.Needs {
		if need.What == what {
			n += need.Count
		}
	}
	return n
}

// TestLedgerOfDoubtedAndFoundCraft: the list has exactly the inspections that a check doubts, and those with a find.
func TestLedgerOfDoubtedAndFoundCraft(t *testing.T) {
	w, m, s, p := field(t, nil)
	shift := p.shift(s.launch)
	plain, wet, weedy := p.canoe(s, shift.Subject), p.canoe(s, shift.Subject), p.canoe(s, shift.Subject)
	wet.Inspection.Checks = []thwart.Check{{Place: "hull.bottom", Looked: thwart.Yes, Wet: thwart.WetWater}}
	wet.Verdict = &thwart.Verdict{Outcome: thwart.Launch, Now: thwart.Launch, Standards: []thwart.Judged{{Standard: thwart.Dry, Met: thwart.Yes}}}
	weedy.Inspection.Findings = []thwart.Finding{{Place: "hull.bottom", Matter: thwart.MatterPlant}}
	plainE, wetE, weedyE := p.entry(thwart.KindInspection, plain), p.entry(thwart.KindInspection, wet), p.entry(thwart.KindInspection, weedy)
	p.sync(shift, plainE, wetE, weedyE)
	w.clock.add(61e9)
	list := func(filter string) (ids []string) {
		t.Helper()
		var page thwart.Page[thwart.EncounterRow]
		m.want(http.StatusOK, "GET", "/api/encounters?"+filter, nil).into(t, &page)
		for _, r := range page.Items {
			ids = append(ids, r.Subject)
		}
		var n api.EncounterCount
		m.want(http.StatusOK, "GET", "/api/encounters/count?"+filter, nil).into(t, &n)
		if n.Encounters != len(ids) {
			t.Errorf("%s: %d listed, %d counted", filter, len(ids), n.Encounters)
		}
		return ids
	}
	for filter, want := range map[string][]string{
		"found=yes": {weedyE.Subject}, "found=no&doubt=wet_dry": {wetE.Subject}, "doubt=any": {wetE.Subject},
		"doubt=rushed": nil, "doubt=wet_dry&found=yes": nil,
	} {
		if got := list(filter); !slices.Equal(got, want) {
			t.Errorf("%s: %v, want %v", filter, got, want)
		}
	}
	var doubts struct{ Items []figures.Doubt }
	m.want(http.StatusOK, "GET", "/api/season/doubts", nil).into(t, &doubts)
	for _, d := range doubts.Items {
		if want := len(d.Records); d.ID == figures.DoubtWetDry && (want == 0 || d.Inspections != want) {
			t.Errorf("%d of %d doubted records are inspections", d.Inspections, want)
		}
	}
}

// TestWatersBeforeTheLastAreTracedBack: craft that were in a water before their last one are listed by it, apart from those that came
// from it last.
func TestWatersBeforeTheLastAreTracedBack(t *testing.T) {
	w, m, s, p := field(t, nil)
	other := m.create(thwart.KindWater, obj{"name": "Sedge Mere"})
	shift := p.shift(s.launch)
	entries := []any{shift}
	was := func(waters ...string) string {
		enc := p.canoe(s, shift.Subject)
		enc.Inspection.LastWaters = nil
		for _, id := range waters {
			enc.Inspection.LastWaters = append(enc.Inspection.LastWaters, thwart.Visit{Water: id})
		}
		e := p.entry(thwart.KindInspection, enc)
		entries = append(entries, e)
		return e.Subject
	}
	last, before, third, twice := was(other, s.clear), was(s.clear, other), was("", s.clear, other), was(other, other)
	was(s.clear)
	was()
	p.sync(entries...)
	w.clock.add(61e9)
	for filter, want := range map[string][]string{
		"lastWater=" + other: {last, twice}, "earlierWater=" + other: {before, third}, "earlierWater=" + s.launch: nil,
		"doubt=any&earlierWater=" + other: nil, "earlierWater=" + other + "&from=2099-01-01T00:00:00Z": nil,
	} {
		var page thwart.Page[thwart.EncounterRow]
		m.want(http.StatusOK, "GET", "/api/encounters?sort=at&"+filter, nil).into(t, &page)
		var got []string
		for _, r := range page.Items {
			got = append(got, r.Subject)
		}
		slices.Sort(got)
		slices.Sort(want)
		if !slices.Equal(got, want) {
			t.Errorf("%s: %v, want %v", filter, got, want)
		}
	}
}

// TestManyCorrectionsAreOneAct looks at what a fix would change, makes it, finds the doubt gone, and undoes all of it at once.
func TestManyCorrectionsAreOneAct(t *testing.T) {
	w, m, s, p := field(t, nil)
	shift := p.shift(s.launch)
	entries := []any{shift}
	for range 3 {
		enc := p.canoe(s, shift.Subject)
		enc.Inspection.Checks = []thwart.Check{{Place: "hull.bottom", Looked: thwart.Yes, Wet: thwart.WetWater}}
		enc.Verdict = &thwart.Verdict{Outcome: thwart.Launch, Now: thwart.Launch, Standards: []thwart.Judged{{Standard: thwart.Dry, Met: thwart.Yes}}}
		entries = append(entries, p.entry(thwart.KindInspection, enc))
	}
	p.sync(entries...)
	w.clock.add(61e9)
	ids := doubted(t, m, figures.DoubtWetDry)
	if len(ids) != 3 {
		t.Fatalf("%d doubted", len(ids))
	}
	if n := needed(t, m, today.Doubted); n != 3 {
		t.Errorf("the morning speaks of %d doubted records, want 3", n)
	}
	var one struct{ Items []figures.Doubt }
	m.want(http.StatusOK, "GET", "/api/season/doubts?record="+ids[1], nil).into(t, &one)
	if !slices.ContainsFunc(one.Items, func(d figures.Doubt) bool {
		return d.ID == figures.DoubtWetDry && d.Count == 1 && len(d.Evidence) == 1 && d.Evidence[0].Record == ids[1]
	}) {
		t.Errorf("doubted of one record: %+v", one.Items)
	}
	if m.want(http.StatusOK, "GET", "/api/season/doubts?record="+shift.Subject, nil).into(t, &one); slices.ContainsFunc(one.Items, func(d figures.Doubt) bool { return d.ID == figures.DoubtWetDry }) {
		t.Errorf("doubted of a shift: %+v", one.Items)
	}
	changes := []obj{{"id": ids[0], "mend": "wet_dry"}, {"id": ids[1], "mend": "wet_dry"}, {"id": ids[2], "asIs": true}}
	var look api.Act
	m.want(http.StatusOK, "POST", "/api/corrections", obj{"why": "", "dryRun": true, "changes": changes}).into(t, &look)
	if look.ID != "" || len(look.Rows) != 3 || len(look.Rows[0].Fields) != 1 || look.Rows[0].Fields[0].WouldBe != "dry: no" || len(look.Rows[2].Fields) != 0 {
		t.Fatalf("%+v", look)
	}
	if got := doubted(t, m, figures.DoubtWetDry); len(got) != 3 {
		t.Errorf("looking changed something: %v", got)
	}
	// One stale head, and nothing of the act is kept.
	for i := range changes {
		changes[i]["head"] = look.Rows[i].Head
	}
	changes[2]["head"] = ids[0]
	m.want(http.StatusPreconditionFailed, "POST", "/api/corrections", obj{"why": "asked the steward", "changes": changes})
	if k, err := w.store.Subject(t.Context(), ids[0]); err != nil || k.Versions != 1 {
		t.Fatalf("%d versions after a refused act, %v", k.Versions, err)
	}
	changes[2]["head"] = look.Rows[2].Head
	var act api.Act
	m.want(http.StatusOK, "POST", "/api/corrections", obj{"why": "asked the steward", "changes": changes}).into(t, &act)
	w.clock.add(61e9)
	if got := doubted(t, m, figures.DoubtWetDry); len(got) != 0 {
		t.Errorf("still doubted: %v", got)
	}
	if n := needed(t, m, today.Doubted); n != 0 {
		t.Errorf("the morning speaks of %d doubted records when all were looked at", n)
	}
	var acts struct{ Items []api.ActRow }
	m.want(http.StatusOK, "GET", "/api/corrections", nil).into(t, &acts)
	if len(acts.Items) != 1 || acts.Items[0].ID != act.ID || acts.Items[0].Records != 3 || acts.Items[0].Why != "asked the steward" {
		t.Errorf("%+v", acts.Items)
	}
	var undone api.Undone
	m.want(http.StatusOK, "POST", "/api/corrections/"+act.ID+"/undo", obj{"why": "it was the wrong day"}).into(t, &undone)
	if !slices.Equal(undone.Undone, ids) || len(undone.Left) != 0 {
		t.Errorf("%+v, want all of %v", undone, ids)
	}
	w.clock.add(61e9)
	if got := doubted(t, m, figures.DoubtWetDry); len(got) != 3 {
		t.Errorf("after the undoing %d are doubted, want the two that read as before and the one whose look was taken back", len(got))
	}
	for i, versions := range []int{3, 3, 2} {
		history, err := w.store.History(t.Context(), ids[i])
		if err != nil || len(history) != versions || !sameJSON(t, history[0].Body, history[versions-1].Body) {
			t.Errorf("%d entries, %v: the first body is back and nothing is lost", len(history), err)
		}
	}
	// Twice is nothing more to undo.
	var again api.Undone
	m.want(http.StatusOK, "POST", "/api/corrections/"+act.ID+"/undo", obj{"why": "again"}).into(t, &again)
	if len(again.Undone) != 0 || !slices.Equal(again.Left, ids) {
		t.Errorf("%+v", again)
	}
	// The undoing is an act, with its reason, and is undone in its turn: the fixes are back and the look counts.
	m.want(http.StatusOK, "GET", "/api/corrections", nil).into(t, &acts)
	if len(acts.Items) != 2 || acts.Items[0].ID != undone.ID || acts.Items[0].Why != "it was the wrong day" {
		t.Errorf("%+v", acts.Items)
	}
	for _, want := range []int{0, 3} {
		m.want(http.StatusOK, "POST", "/api/corrections/"+undone.ID+"/undo", obj{"why": "the right day after all"}).into(t, &undone)
		if !slices.Equal(undone.Undone, ids) {
			t.Errorf("%+v, want all of %v", undone, ids)
		}
		w.clock.add(61e9)
		if got := doubted(t, m, figures.DoubtWetDry); len(got) != want {
			t.Errorf("%d are doubted, want %d", len(got), want)
		}
	}
}

// TestLookIsTakenBack keeps one record as it is and takes that back: the record is doubted again, and no entry is lost.
func TestLookIsTakenBack(t *testing.T) {
	w, m, s, p := field(t, nil)
	shift := p.shift(s.launch)
	enc := p.canoe(s, shift.Subject)
	enc.Inspection.Checks = []thwart.Check{{Place: "hull.bottom", Looked: thwart.Yes, Wet: thwart.WetWater}}
	enc.Verdict = &thwart.Verdict{Outcome: thwart.Launch, Now: thwart.Launch, Standards: []thwart.Judged{{Standard: thwart.Dry, Met: thwart.Yes}}}
	e := p.entry(thwart.KindInspection, enc)
	p.sync(shift, e)
	path := "/api/subjects/" + e.Subject + "/reopenings"
	m.header.Set("If-Match", `"`+e.ID+`"`)
	if pr := problemOf(t, m.want(http.StatusConflict, "POST", path, obj{"why": "nobody has looked"})); !strings.Contains(pr.Detail, "correct it instead") {
		t.Errorf("%+v", pr)
	}
	m.want(http.StatusOK, "POST", "/api/corrections", obj{"why": "asked the steward", "changes": []obj{{"id": e.Subject, "head": e.ID, "asIs": true}}})
	m.want(http.StatusPreconditionFailed, "POST", path, obj{"why": "read before the look"})
	looked := func() bool {
		var d api.EncounterDetail
		m.want(http.StatusOK, "GET", "/api/encounters/"+e.Subject, nil).into(t, &d)
		return d.Looked
	}
	if !looked() {
		t.Error("the look is not told")
	}
	m.header.Set("If-Match", m.want(http.StatusOK, "GET", "/api/subjects/"+e.Subject, nil).header.Get("ETag"))
	var taken thwart.Subject
	m.want(http.StatusCreated, "POST", path, obj{"why": "it was another craft"}).into(t, &taken)
	var body thwart.Reopening
	if err := json.Unmarshal(taken.Body, &body); err != nil || taken.Kind != thwart.KindReopening || taken.Person != m.person || body.Record != e.Subject || body.Why != "it was another craft" {
		t.Errorf("%+v, %v", taken, err)
	}
	problemOf(t, m.want(http.StatusConflict, "POST", path, obj{"why": "twice"}))
	if looked() {
		t.Error("the look is told though it was taken back")
	}
	w.clock.add(61e9)
	if got := doubted(t, m, figures.DoubtWetDry); !slices.Equal(got, []string{e.Subject}) {
		t.Errorf("doubted: %v", got)
	}
	// Taken out, the reopening lets the look count again.
	m.header.Set("If-Match", `"`+taken.ID+`"`)
	m.want(http.StatusCreated, "POST", "/api/subjects/"+taken.Kept.Subject+"/corrections", obj{"why": "the same after all", "removed": true})
	w.clock.add(61e9)
	if got := doubted(t, m, figures.DoubtWetDry); len(got) != 0 {
		t.Errorf("still doubted: %v", got)
	}
}

func TestManyCorrectionsNameWhatIsWrong(t *testing.T) {
	_, m, s, _ := field(t, nil)
	for _, c := range []struct {
		name, field string
		changes     []obj
	}{
		{"twice the same", "body.changes", []obj{{"id": s.clear, "asIs": true}, {"id": s.clear, "asIs": true}}},
		{"nothing to do", "body.changes.0.body", []obj{{"id": s.clear}}},
		{"no such fix", "body.changes.0.mend", []obj{{"id": s.clear, "mend": "two_places"}}},
		{"a bad body", "body.changes.1.body.name", []obj{{"id": s.clear, "asIs": true}, {"id": s.launch, "body": obj{"name": ""}}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := problemOf(t, m.want(http.StatusUnprocessableEntity, "POST", "/api/corrections", obj{"why": "", "dryRun": true, "changes": c.changes}))
			if !hasField(p, c.field) {
				t.Errorf("%+v, want %s", p.Errors, c.field)
			}
		})
	}
	if p := problemOf(t, m.want(http.StatusUnprocessableEntity, "POST", "/api/corrections", obj{"why": "", "changes": []obj{{"id": s.clear, "asIs": true}}})); !hasField(p, "body.why") {
		t.Errorf("%+v", p)
	}
}

func TestCraftIsDrawnAsItWasRecorded(t *testing.T) {
	_, m, s, p := field(t, nil)
	shift := p.shift(s.launch)
	enc := p.canoe(s, shift.Subject)
	places, err := advice.Places(enc.Inspection.Setup)
	if err != nil {
		t.Fatal(err)
	}
	enc.Inspection.Findings = []thwart.Finding{{Place: places[0].ID, Matter: thwart.MatterPlant}}
	e := p.entry(thwart.KindInspection, enc)
	p.sync(shift, e)
	a := m.want(http.StatusOK, "GET", "/api/encounters/"+e.Subject+"/drawing", nil)
	svg := string(a.body)
	if a.header.Get("Content-Type") != "image/svg+xml" || !strings.Contains(svg, " found") {
		t.Errorf("%s %.300s", a.header.Get("Content-Type"), svg)
	}
	if pr := problemOf(t, m.want(http.StatusUnprocessableEntity, "GET", "/api/encounters/"+e.Subject+"/drawing?view=above", nil)); !hasField(pr, "query.view") {
		t.Errorf("%+v", pr)
	}
	m.want(http.StatusNotFound, "GET", "/api/encounters/"+s.launch+"/drawing", nil)
}

func sameJSON(t *testing.T, a, b json.RawMessage) bool {
	t.Helper()
	var x, y any
	if json.Unmarshal(a, &x) != nil || json.Unmarshal(b, &y) != nil {
		t.Fatalf("no JSON: %s, %s", a, b)
	}
	p, _ := json.Marshal(x)
	q, _ := json.Marshal(y)
	return string(p) == string(q)
}
