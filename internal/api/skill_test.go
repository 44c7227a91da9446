package api_test

import (
	"encoding/json"
	"net/http"
	"strings"
	"testing"
	"time"

	"thwart"
	"thwart/internal/api"
	"thwart/practice"
	"thwart/season/skill"
)

// A planted object from registering to the card: blind until it is over, closed only when the object is back, and the craft
// counts as no craft.
func TestFieldTrial(t *testing.T) {
	w := newWorld(t, nil)
	marit := w.setup()
	s := marit.season()
	ines := marit.account("ines", thwart.AccessSteward)
	tobias := marit.account("tobias", thwart.AccessSteward)
	phone := marit.enrol(ines.person, thwart.AccessSteward)

	plant := obj{"object": "T-14", "like": "plants_seen", "place": "hull.bow_eye", "steward": ines.person, "plantedAt": w.clock.Now().Add(-20 * time.Minute)}
	ines.want(http.StatusForbidden, "POST", "/api/trials", plant)
	var trial thwart.Subject
	marit.want(http.StatusCreated, "POST", "/api/trials", plant).into(t, &trial)
	id := trial.Kept.Subject
	if p := problemOf(t, marit.want(http.StatusUnprocessableEntity, "POST", "/api/trials", obj{"object": "T", "like": "moose", "place": "x", "steward": "x"})); !hasField(p, "body.like") || !hasField(p, "body.place") || !hasField(p, "body.steward") {
		t.Errorf("%+v", p)
	}

	// Nobody who might be tried sees a sign of it.
	for _, path := range []string{"/api/skill", "/api/debriefs", "/api/standings", "/api/changes"} {
		if a := ines.want(http.StatusOK, "GET", path, nil); strings.Contains(string(a.body), "T-14") || strings.Contains(string(a.body), id) {
			t.Errorf("%s tells the steward of the object: %s", path, a.body)
		}
	}
	var open []skill.Out
	list := func() {
		var page struct{ Items []skill.Out }
		marit.want(http.StatusOK, "GET", "/api/trials/open", nil).into(t, &page)
		open = page.Items
	}
	if list(); len(open) != 1 || open[0].Match != nil || open[0].PlaceName == "" {
		t.Fatalf("open: %+v", open)
	}

	shift := phone.shift(s.launch)
	craft := phone.canoe(s, shift.ID)
	craft.Inspection.Steward = ines.person
	met := phone.entry(thwart.KindInspection, craft)
	if got := results(phone.sync(shift, met)); strings.Contains(got, "refused") {
		t.Fatal(got)
	}
	w.clock.add(time.Minute)
	if list(); open[0].Match == nil || open[0].Match.Encounter != met.ID || open[0].Match.Found != thwart.No {
		t.Fatalf("matched: %+v", open[0].Match)
	}
	closing := "/api/trials/" + id + "/close"
	if p := problemOf(t, marit.want(http.StatusUnprocessableEntity, "POST", closing, obj{"retrievedAt": time.Time{}})); !hasField(p, "body.retrievedAt") {
		t.Errorf("closed without the object: %+v", p)
	}
	back := w.clock.Now()
	marit.want(http.StatusOK, "POST", closing, obj{"retrievedAt": back})
	marit.want(http.StatusConflict, "POST", closing, obj{"retrievedAt": back})

	w.clock.add(time.Minute)
	var page thwart.Page[thwart.EncounterRow]
	marit.want(http.StatusOK, "GET", "/api/encounters", nil).into(t, &page)
	if len(page.Items) != 0 {
		t.Errorf("the craft with the object counts as a craft: %+v", page.Items)
	}
	var cards struct{ Items []skill.Debrief }
	ines.want(http.StatusOK, "GET", "/api/debriefs", nil).into(t, &cards)
	if len(cards.Items) != 1 || cards.Items[0].Found != thwart.No || len(cards.Items[0].Practise) != 3 || !cards.Items[0].DueBy.Equal(back.Add(24*time.Hour).Truncate(time.Millisecond)) {
		t.Errorf("card: %+v", cards.Items)
	}
	tobias.want(http.StatusOK, "GET", "/api/debriefs", nil).into(t, &cards)
	if len(cards.Items) != 0 {
		t.Error("another sees the card")
	}

	// Everybody's figures are for whoever may see trials; anybody else gets her own.
	var r skill.Report
	marit.want(http.StatusOK, "GET", "/api/skill", nil).into(t, &r)
	if len(r.People) != 2 || r.Trials != 1 {
		t.Errorf("the manager sees %d people, %d trials", len(r.People), r.Trials)
	}
	r = skill.Report{}
	a := tobias.want(http.StatusOK, "GET", "/api/skill", nil)
	a.into(t, &r)
	if len(r.People) != 1 || r.People[0].Person != tobias.person || strings.Contains(string(a.body), ines.person) {
		t.Errorf("a steward sees another's: %s", a.body)
	}
	bio := marit.account("bio", thwart.AccessBiologist)
	if a := bio.want(http.StatusOK, "GET", "/api/skill", nil); strings.Contains(string(a.body), ines.person) {
		t.Errorf("the biologist sees people: %s", a.body)
	}
}

func TestDrillThroughTheServer(t *testing.T) {
	w := newWorld(t, nil)
	marit := w.setup()
	ines := marit.account("ines", thwart.AccessSteward)
	var d practice.DrillCraft
	ines.want(http.StatusOK, "POST", "/api/drills", obj{"difficulty": 2, "seed": 7, "class": "runabout"}).into(t, &d)
	var again practice.DrillCraft
	ines.want(http.StatusOK, "POST", "/api/drills", obj{"difficulty": 2, "seed": 7, "class": "runabout", "at": d.Order.At}).into(t, &again)
	if d.ID != again.ID || len(d.Places) < 20 {
		t.Fatalf("%s and %s, %d places", d.ID, again.ID, len(d.Places))
	}
	var sight practice.Sight
	ines.want(http.StatusOK, "POST", "/api/drills/look", obj{"drill": d, "place": d.Places[0].ID, "acts": []string{"look"}}).into(t, &sight)
	if sight.Wet == "" {
		t.Errorf("a look shows nothing: %+v", sight)
	}
	start := w.clock.Now().Add(-5 * time.Minute)
	hand := obj{"drill": d, "turn": obj{"walk": []obj{{"place": d.Places[0].ID, "acts": []string{"look"}, "atS": 0, "seconds": 3}}, "findings": []obj{}, "outcome": "hold"},
		"startedAt": start, "endedAt": start.Add(4 * time.Minute), "keep": true}
	var got api.DrillScored
	ines.want(http.StatusOK, "POST", "/api/drills/score", hand).into(t, &got)
	if got.Kept == "" || got.Score.Path.Places != len(d.Places) {
		t.Errorf("%+v", got)
	}
	var kept thwart.Subject
	ines.want(http.StatusOK, "GET", "/api/subjects/"+got.Kept, nil).into(t, &kept)
	var rec thwart.Drill
	if err := json.Unmarshal(kept.Body, &rec); err != nil || rec.Person != ines.person || rec.Setup != "runabout" {
		t.Errorf("%+v %v", rec, err)
	}
	bio := marit.account("bio", thwart.AccessBiologist)
	bio.want(http.StatusForbidden, "POST", "/api/drills/score", hand)

	var q practice.Quiz
	ines.want(http.StatusOK, "POST", "/api/quizzes", obj{"count": 5, "seed": 3}).into(t, &q)
	chosen := make([]int, len(q.Questions))
	var m practice.Marked
	ines.want(http.StatusOK, "POST", "/api/quizzes/mark", obj{"quiz": q, "chosen": chosen}).into(t, &m)
	if m.Asked != 5 || m.Answers[0].Right == "" {
		t.Errorf("%+v", m)
	}
	var marked api.QuizMarked
	alone := obj{"quiz": q, "chosen": chosen, "startedAt": start, "endedAt": start.Add(time.Minute), "keep": true}
	ines.want(http.StatusOK, "POST", "/api/quizzes/mark", alone).into(t, &marked)
	ines.want(http.StatusOK, "GET", "/api/subjects/"+marked.Kept, nil).into(t, &kept)
	rec = thwart.Drill{}
	if err := json.Unmarshal(kept.Body, &rec); err != nil || rec.Person != ines.person || rec.QuestionsAsked != 5 || rec.QuestionsRight != m.Right || len(rec.Places) != 0 {
		t.Errorf("%+v %v", rec, err)
	}
	bio.want(http.StatusForbidden, "POST", "/api/quizzes/mark", alone)
	// What was just asked about is due after what never was: the next questions begin with the topics left.
	var week api.OwnPractice
	ines.want(http.StatusOK, "GET", "/api/practice", nil).into(t, &week)
	topics := map[string]bool{}
	for _, x := range q.Questions {
		topics[x.Topic] = true
	}
	if len(week.Week.Topics) != len(topics) || len(rec.Topics) != len(topics) {
		t.Errorf("asked about %v, due %+v, kept %+v", topics, week.Week.Topics, rec.Topics)
	}

	var own api.OwnPractice
	ines.want(http.StatusOK, "GET", "/api/practice", nil).into(t, &own)
	if own.Person != ines.person || len(own.Skill.Classes) != 3 || (got.Score.Planted > 0) != (len(own.Memory.Learned) > 0) {
		t.Errorf("%+v", own)
	}
	tobias := marit.account("tobias", thwart.AccessSteward)
	var newcomer api.OwnPractice
	tobias.want(http.StatusOK, "GET", "/api/practice", nil).into(t, &newcomer)
	if len(newcomer.Memory.Learned) != 0 || !newcomer.Week.DueNow {
		t.Errorf("what another practised is seen: %+v", newcomer)
	}
}

// A case that says nothing of who looks is judged by the caller's own chances, and one that does by what it says.
func TestAssessByTheCallersOwnChances(t *testing.T) {
	w := newWorld(t, nil)
	marit := w.setup()
	s := marit.season()
	ines, tobias := marit.account("ines", thwart.AccessSteward), marit.account("tobias", thwart.AccessSteward)
	for range 12 {
		var trial thwart.Subject
		marit.want(http.StatusCreated, "POST", "/api/trials", obj{"object": "T-1", "like": "plants_seen", "place": "hull.bow_eye", "steward": ines.person}).into(t, &trial)
		w.clock.add(time.Minute)
		marit.want(http.StatusOK, "POST", "/api/trials/"+trial.Kept.Subject+"/close", obj{"retrievedAt": w.clock.Now(), "found": "no"})
	}
	phone := marit.enrol(ines.person, thwart.AccessSteward)
	cs := thwart.Case{Inspection: phone.canoe(s, phone.shift(s.launch).ID).Inspection, ProtocolID: "regional-minimum", Waters: []thwart.Water{
		{ID: s.clear, Name: "C", Status: map[string]thwart.WaterStatus{"eurasian_watermilfoil": thwart.StatusInfested}}}}
	risk := func(b *browser, cs thwart.Case) string {
		t.Helper()
		var out struct{ Risk json.RawMessage }
		b.want(http.StatusOK, "POST", "/api/assess", cs).into(t, &out)
		return string(out.Risk)
	}
	said := func(b *browser) thwart.Case {
		t.Helper()
		var own api.OwnPractice
		b.want(http.StatusOK, "GET", "/api/practice", nil).into(t, &own)
		with := cs
		with.Skill = own.Skill
		return with
	}
	mine, hers := risk(ines, cs), risk(tobias, cs)
	if mine == hers {
		t.Errorf("who missed twelve of twelve and who was never tried are judged alike: %s", mine)
	}
	if got := risk(tobias, said(ines)); got != mine {
		t.Errorf("with her chances said %s, without %s", got, mine)
	}
	if got := risk(ines, said(tobias)); got != hers {
		t.Errorf("what the case says is not what counts: %s, not %s", got, hers)
	}
}

func TestPlacesOfCraftAreThoseOfTrials(t *testing.T) {
	w := newWorld(t, nil)
	marit := w.setup()
	var classes struct{ Items []api.CraftClassRow }
	marit.want(http.StatusOK, "GET", "/api/craft", nil).into(t, &classes)
	if len(classes.Items) < 10 {
		t.Fatalf("%d classes", len(classes.Items))
	}
	for _, c := range classes.Items {
		var places struct{ Items []api.PlaceOfCraft }
		marit.want(http.StatusOK, "GET", "/api/craft/"+c.ID+"/places", nil).into(t, &places)
		if len(places.Items) < 5 || places.Items[0].Name == "" {
			t.Errorf("%s has %+v", c.ID, places.Items)
		}
		plant := obj{"object": "T-1", "like": "plants_seen", "place": places.Items[len(places.Items)-1].ID, "steward": marit.person}
		marit.want(http.StatusCreated, "POST", "/api/trials", plant)
	}
	if p := problemOf(t, marit.want(http.StatusUnprocessableEntity, "GET", "/api/craft/hovercraft/places", nil)); !hasField(p, "path.class") {
		t.Errorf("%+v", p)
	}
	plant := obj{"object": "T-1", "like": "plants_seen", "place": "hull.nose", "steward": marit.person}
	if p := problemOf(t, marit.want(http.StatusUnprocessableEntity, "POST", "/api/trials", plant)); !hasField(p, "body.place") {
		t.Errorf("%+v", p)
	}
}

func TestHandbookThroughTheServer(t *testing.T) {
	w := newWorld(t, nil)
	ines := w.setup().account("ines", thwart.AccessSteward)
	got := ines.want(http.StatusOK, "GET", "/api/handbook?class=canoe_kayak", nil)
	if kind := got.header.Get("Content-Type"); kind != "application/pdf" || !strings.HasPrefix(string(got.body), "%PDF-") {
		t.Errorf("%s, %.20q", kind, got.body)
	}
	ines.want(http.StatusUnprocessableEntity, "GET", "/api/handbook?class=canoo", nil)
}
