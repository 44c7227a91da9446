package api_test

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"math"
	"net/http"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"thwart"
	"thwart/internal/api"
)

func TestPagingSeesEveryEncounterOnce(t *testing.T) {
	_, m, s, p := field(t, nil)
	shift := p.shift(s.launch)
	batch := []any{shift}
	for range 47 {
		batch = append(batch, p.entry(thwart.KindInspection, p.canoe(s, shift.Subject)))
	}
	p.sync(batch...)
	for _, sort := range append([]string{""}, append(thwart.EncounterSorts, "-seconds", "-class")...) {
		seen := map[string]bool{}
		pages := 0
		for after := ""; ; pages++ {
			var page thwart.Page[thwart.EncounterRow]
			m.want(http.StatusOK, "GET", "/api/encounters?limit=10&sort="+sort+"&after="+after, nil).into(t, &page)
			for _, r := range page.Items {
				if seen[r.Subject] {
					t.Errorf("sort %q: %s came twice", sort, r.Subject)
				}
				seen[r.Subject] = true
			}
			if after = page.Next; after == "" {
				break
			}
		}
		if len(seen) != 47 || pages != 4 {
			t.Errorf("sort %q: %d encounters on %d pages", sort, len(seen), pages+1)
		}
	}
	var page thwart.Page[thwart.EncounterRow]
	m.want(http.StatusOK, "GET", "/api/encounters?launch="+s.launch+"&class=canoe_kayak&refused=no", nil).into(t, &page)
	if len(page.Items) != 47 {
		t.Errorf("filtered: %d", len(page.Items))
	}
	m.want(http.StatusOK, "GET", "/api/encounters?class=house_boat", nil).into(t, &page)
	if len(page.Items) != 0 {
		t.Errorf("other class: %d", len(page.Items))
	}
}

// TestErrorsNameTheField has one row for each way of getting a request wrong.
func TestErrorsNameTheField(t *testing.T) {
	w := newWorld(t, nil)
	m := w.setup()
	for _, c := range []struct{ method, path, body, field string }{
		{"GET", "/api/encounters?sort=luck", "", "query.sort"},
		{"GET", "/api/encounters?limit=0", "", "query.limit"},
		{"GET", "/api/encounters?limit=5000", "", "query.limit"},
		{"GET", "/api/encounters?limit=many", "", "query.limit"},
		{"GET", "/api/encounters?from=yesterday", "", "query.from"},
		{"GET", "/api/encounters?outcome=fine", "", "query.outcome"},
		{"GET", "/api/encounters?refused=perhaps", "", "query.refused"},
		{"GET", "/api/encounters?found=perhaps", "", "query.found"},
		{"GET", "/api/encounters?doubt=heaped", "", "query.doubt"}, // of a person's habit, so that it names no inspection
		{"GET", "/api/encounters?colour=red", "", "query.colour"},
		{"GET", "/api/encounters?after=nonsense", "", "after"},
		{"GET", "/api/subjects", "", "query.kind"},
		{"GET", "/api/subjects?kind=seance", "", "query.kind"},
		{"GET", "/api/totals?by=mood", "", "query.by"},
		{"GET", "/api/changes?after=-4", "", "query.after"},
		{"GET", "/api/changes?kinds=water,seance", "", "query.kinds[1]"},
		{"GET", "/api/twins?from=2026-01-01T00:00:00Z&to=2025-01-01T00:00:00Z", "", "query.from"},
		{"POST", "/api/subjects", `{"kind":"seance","body":{}}`, "kind"},
		{"POST", "/api/subjects", `{"kind":"water","body":{"name":"X","centre":[200,95]}}`, "body.body.centre[0]"},
		{"POST", "/api/subjects", `{"kind":"water","body":"X"}`, "body.body"},
		{"POST", "/api/subjects", `{"kind":"water"}`, "body"},
		{"POST", "/api/subjects", `{"kind":"water","body":{},"role":"manager"}`, "body.role"},
		{"POST", "/api/assess", `{"inspection":{"startedAt":"2026-07-04T09:30:00Z","setup":{"class":"ufo","drives":["hand"],"spaces":[]}},"protocolId":"regional-minimum"}`, "inspection.setup.class"},
	} {
		a := m.do(c.method, c.path, strOrNil(c.body))
		if a.status != http.StatusUnprocessableEntity {
			t.Errorf("%s %s %s: status %d: %s", c.method, c.path, c.body, a.status, a.body)
			continue
		}
		if p := problemOf(t, a); !hasField(p, c.field) {
			t.Errorf("%s %s %s: errors %+v do not name %s", c.method, c.path, c.body, p.Errors, c.field)
		}
	}
	problemOf(t, m.want(http.StatusBadRequest, "POST", "/api/subjects", "{"))
	problemOf(t, m.want(http.StatusRequestEntityTooLarge, "POST", "/api/subjects", `{"kind":"`+strings.Repeat("x", api.MaxBodyBytes)+`"}`))
}

// What is accepted is said in words, not in those of a parser.
func TestErrorsSayWhatIsAccepted(t *testing.T) {
	m := newWorld(t, nil).setup()
	for path, want := range map[string]string{
		"/api/encounters?from=yesterday": "a time such as 2026-07-04T18:00:00Z",
		"/api/encounters?limit=many":     "a whole number",
		"/api/encounters?limit=0":        "number >= 1",
		"/api/twins?decided=perhaps":     "true or false",
	} {
		p := problemOf(t, m.want(http.StatusUnprocessableEntity, "GET", path, nil))
		if len(p.Errors) != 1 || p.Errors[0].Accepted != want {
			t.Errorf("%s: %+v, want accepted %q", path, p.Errors, want)
		}
	}
}

func strOrNil(s string) any {
	if s == "" {
		return nil
	}
	return s
}

func TestETags(t *testing.T) {
	_, m, s, _ := field(t, nil)
	first := m.want(http.StatusOK, "GET", "/api/subjects?kind=water", nil)
	tag := first.header.Get("ETag")
	if tag == "" {
		t.Fatal("no ETag")
	}
	m.header.Set("If-None-Match", `"other", W/`+tag)
	if a := m.want(http.StatusNotModified, "GET", "/api/subjects?kind=water", nil); len(a.body) != 0 {
		t.Errorf("304 with a body: %s", a.body)
	}
	m.create(thwart.KindWater, thwart.WaterBody{Name: "Grindle Pond", Centre: thwart.Point{1, 2}})
	m.want(http.StatusOK, "GET", "/api/subjects?kind=water", nil)
	delete(m.header, "If-None-Match")
	a := m.want(http.StatusOK, "GET", "/api/subjects/"+s.clear, nil)
	if strings.Contains(string(a.body), "$schema") || a.header.Get("Link") != "" {
		t.Errorf("a link to a schema: %s", a.body)
	}
}

func TestCorrection(t *testing.T) {
	_, m, s, _ := field(t, nil)
	path := "/api/subjects/" + s.clear
	tag := m.want(http.StatusOK, "GET", path, nil).header.Get("ETag")
	body := thwart.WaterBody{Name: "Brackenholt Lake", Also: []string{"The Lake"}, Centre: thwart.Point{-39.6, 46.4}, Others: thwart.StatusNotFound}
	problemOf(t, m.want(http.StatusPreconditionRequired, "POST", path+"/corrections", obj{"why": "a second name", "body": body}))
	m.header.Set("If-Match", tag)
	if p := problemOf(t, m.want(http.StatusUnprocessableEntity, "POST", path+"/corrections", obj{"why": "", "body": body})); !hasField(p, "body.why") {
		t.Errorf("%+v", p)
	}
	var now thwart.Subject
	a := m.want(http.StatusCreated, "POST", path+"/corrections", obj{"why": "a second name", "body": body})
	a.into(t, &now)
	if now.Versions != 2 || now.Supersedes == "" || now.Why != "a second name" || now.Person != m.person || now.Origin != thwart.OriginOffice {
		t.Errorf("%+v", now)
	}
	// The same again, from what was read before: somebody was first.
	b := m.want(http.StatusPreconditionFailed, "POST", path+"/corrections", obj{"why": "late", "body": body})
	if p := problemOf(t, b); !hasField(p, "header.If-Match") || b.header.Get("ETag") != a.header.Get("ETag") {
		t.Errorf("%+v, ETag %s", p, b.header.Get("ETag"))
	}
	m.header.Set("If-Match", a.header.Get("ETag"))
	m.want(http.StatusCreated, "POST", path+"/corrections", obj{"why": "drained for good", "removed": true})
	var page thwart.Page[thwart.Subject]
	m.want(http.StatusOK, "GET", "/api/subjects?kind=water", nil).into(t, &page)
	for _, x := range page.Items {
		if x.Kept.Subject == s.clear {
			t.Error("still listed after its removal")
		}
	}
	var h struct{ Items []thwart.Kept }
	m.want(http.StatusOK, "GET", path+"/history", nil).into(t, &h)
	if len(h.Items) != 3 {
		t.Errorf("%d entries in the history", len(h.Items))
	}
}

// TestCorrectionsRace lets many managers correct what they all read at one moment: one wins, the others are told.
func TestCorrectionsRace(t *testing.T) {
	_, m, s, _ := field(t, nil)
	path := "/api/subjects/" + s.clear
	m.header.Set("If-Match", m.want(http.StatusOK, "GET", path, nil).header.Get("ETag"))
	var mu sync.Mutex
	got := map[int]int{}
	var wg sync.WaitGroup
	for i := range 12 {
		wg.Go(func() {
			a := m.do("POST", path+"/corrections", obj{"why": fmt.Sprint(i), "body": thwart.WaterBody{Name: fmt.Sprint("Lake ", i), Centre: thwart.Point{1, 2}}})
			mu.Lock()
			got[a.status]++
			mu.Unlock()
		})
	}
	wg.Wait()
	if got[http.StatusCreated] != 1 || got[http.StatusPreconditionFailed] != 11 {
		t.Errorf("answers: %v", got)
	}
	k, err := m.w.store.Subject(t.Context(), s.clear)
	if err != nil || k.Conflict || k.Versions != 2 {
		t.Errorf("%+v, %v", k, err)
	}
}

func TestTotalsProtocolsAndAssess(t *testing.T) {
	_, m, s, p := field(t, nil)
	shift := p.shift(s.launch)
	p.sync(shift, p.entry(thwart.KindInspection, p.canoe(s, shift.Subject)), p.entry(thwart.KindTally, thwart.Tally{Shift: shift.Subject, At: p.now(), PassedBy: 3}))
	var totals struct{ Items []thwart.Total }
	m.want(http.StatusOK, "GET", "/api/totals", nil).into(t, &totals)
	if len(totals.Items) != 1 || totals.Items[0].Encounters != 1 || totals.Items[0].PassedBy != 3 {
		t.Errorf("%+v", totals.Items)
	}
	var protocols struct{ Items []api.ProtocolRow }
	m.want(http.StatusOK, "GET", "/api/protocols", nil).into(t, &protocols)
	found := false
	for _, r := range protocols.Items {
		found = found || r.Ref == "regional-minimum@1" && !r.Confirmed
	}
	if !found {
		t.Errorf("%d protocols without the regional minimum", len(protocols.Items))
	}
	enc := p.canoe(s, shift.Subject)
	enc.Inspection.Others.Wet = thwart.WetWater
	var out struct {
		Verdict thwart.Verdict
		Round   struct{ Stops []any }
	}
	enc.Inspection.LastWaters = nil
	m.want(http.StatusOK, "POST", "/api/assess", thwart.Case{Inspection: enc.Inspection, Waters: []thwart.Water{{ID: s.clear, Name: "B"}}, ProtocolID: "regional-minimum"}).into(t, &out)
	if out.Verdict.Outcome == "" || out.Verdict.Outcome == thwart.Launch || len(out.Round.Stops) == 0 {
		t.Errorf("a canoe with water in it: %s, %d stops", out.Verdict.Outcome, len(out.Round.Stops))
	}
}

func TestTwinsAreProposed(t *testing.T) {
	w, m, s, p := field(t, nil)
	other := m.enrol(m.addPerson("Wren", thwart.RoleSteward), thwart.AccessSteward)
	shift := p.shift(s.launch)
	mark := &thwart.Mark{Hash: strings.Repeat("0a", 16)}
	a, b := p.canoe(s, shift.Subject), other.canoe(s, shift.Subject)
	a.Mark, b.Mark = mark, mark
	a.Verdict, b.Verdict = &thwart.Verdict{Outcome: thwart.Launch}, &thwart.Verdict{Outcome: thwart.FixHere}
	ea := p.entry(thwart.KindInspection, a)
	w.clock.add(6 * time.Minute)
	eb := other.entry(thwart.KindInspection, b)
	p.sync(shift, ea)
	other.sync(eb)
	var pairs struct{ Items []api.Twin }
	m.want(http.StatusOK, "GET", "/api/twins", nil).into(t, &pairs)
	if len(pairs.Items) != 1 || pairs.Items[0].A != ea.Subject || pairs.Items[0].B != eb.Subject || pairs.Items[0].Outcome != thwart.FixHere {
		t.Errorf("%+v", pairs.Items)
	}
	var page thwart.Page[thwart.EncounterRow]
	m.want(http.StatusOK, "GET", "/api/encounters", nil).into(t, &page)
	if len(page.Items) != 2 {
		t.Errorf("%d encounters: a pair was joined by itself", len(page.Items))
	}
	var counted api.EncounterCount
	if m.want(http.StatusOK, "GET", "/api/encounters/count?launch="+page.Items[0].Launch, nil).into(t, &counted); counted.Encounters != 2 {
		t.Errorf("%d counted", counted.Encounters)
	}
	if m.want(http.StatusOK, "GET", "/api/encounters/count?launch="+ea.Subject, nil).into(t, &counted); counted.Encounters != 0 {
		t.Errorf("%d counted at a launch that is none", counted.Encounters)
	}
	met := func() (n int, doubles int) {
		var sums struct{ Items []thwart.Total }
		m.want(http.StatusOK, "GET", "/api/totals", nil).into(t, &sums)
		return sums.Items[0].Encounters, sums.Items[0].Doubles
	}
	if n, d := met(); n != 2 || d != 0 {
		t.Errorf("before the decision: %d craft, %d doubles", n, d)
	}
	var decision thwart.Subject
	m.want(http.StatusCreated, "POST", "/api/subjects", obj{"kind": "pairing", "body": thwart.Pairing{A: eb.Subject, B: ea.Subject, Decision: thwart.PairSame}}).into(t, &decision)
	if n, d := met(); n != 1 || d != 1 {
		t.Errorf("one craft by decision: %d craft, %d doubles", n, d)
	}
	m.want(http.StatusOK, "GET", "/api/twins", nil).into(t, &pairs)
	if len(pairs.Items) != 0 {
		t.Errorf("still to be decided: %+v", pairs.Items)
	}
	m.want(http.StatusOK, "GET", "/api/twins?decided=true", nil).into(t, &pairs)
	if len(pairs.Items) != 1 || pairs.Items[0].Decision != thwart.PairSame || pairs.Items[0].Pairing != decision.Kept.Subject {
		t.Errorf("%+v", pairs.Items)
	}
	m.want(http.StatusOK, "GET", "/api/encounters?sort=at", nil).into(t, &page)
	if len(page.Items) != 2 || page.Items[0].SameAs != "" || page.Items[1].SameAs != ea.Subject || page.Items[0].Governs != thwart.FixHere {
		t.Errorf("%+v", page.Items)
	}
	detail := func(id string) (d api.EncounterDetail) {
		m.want(http.StatusOK, "GET", "/api/encounters/"+id, nil).into(t, &d)
		return d
	}
	if first, second := detail(ea.Subject), detail(eb.Subject); first.SameAs != "" || second.SameAs != ea.Subject || first.Governs != thwart.FixHere || second.Governs != thwart.FixHere {
		t.Errorf("first %q %q, second %q %q", first.SameAs, first.Governs, second.SameAs, second.Governs)
	}
	m.header.Set("If-Match", `"`+decision.ID+`"`)
	m.want(http.StatusCreated, "POST", "/api/subjects/"+decision.Kept.Subject+"/corrections", obj{"why": "two after all",
		"body": thwart.Pairing{A: eb.Subject, B: ea.Subject, Decision: thwart.PairDifferent}})
	if n, d := met(); n != 2 || d != 0 {
		t.Errorf("turned round: %d craft, %d doubles", n, d)
	}
	if d := detail(eb.Subject); d.SameAs != "" || d.Governs != "" {
		t.Errorf("turned round: %q %q", d.SameAs, d.Governs)
	}
}

// The pairs of one encounter are those near it and those that a person named, however far away; a third craft's are not among them.
func TestPairsOfOneEncounter(t *testing.T) {
	w, m, s, p := field(t, nil)
	second := m.enrol(m.addPerson("Wren", thwart.RoleSteward), thwart.AccessSteward)
	shift := p.shift(s.launch)
	inspect := func(by *phone, mark string) thwart.Entry {
		enc := by.canoe(s, shift.Subject)
		enc.Mark = &thwart.Mark{Hash: strings.Repeat(mark, 16)}
		return by.entry(thwart.KindInspection, enc)
	}
	a := inspect(p, "0a")
	w.clock.add(5 * time.Minute)
	b := inspect(second, "0a")
	for range 4 {
		w.clock.add(20 * time.Minute)
		m.want(http.StatusOK, "GET", "/api/me", nil) // whoever does nothing for half an hour is signed out
	}
	far := inspect(p, "0b")
	w.clock.add(5 * time.Minute)
	other := inspect(second, "0b")
	p.sync(shift, a, far)
	second.sync(b, other)
	of := func(id, more string) (out []string) {
		var pairs struct{ Items []api.Twin }
		m.want(http.StatusOK, "GET", "/api/twins?of="+id+more, nil).into(t, &pairs)
		for _, pr := range pairs.Items {
			out = append(out, pr.A+" "+pr.B)
		}
		return out
	}
	var first api.Twins
	m.want(http.StatusOK, "GET", "/api/twins?limit=1", nil).into(t, &first)
	if len(first.Items) != 1 || first.Count != 2 || first.Items[0].A != a.Subject && first.Items[0].A != far.Subject {
		t.Errorf("the first of two pairs: %+v", first)
	}
	near := []string{a.Subject + " " + b.Subject}
	if got := of(a.Subject, ""); !slices.Equal(got, near) {
		t.Errorf("%v, want %v", got, near)
	}
	m.want(http.StatusCreated, "POST", "/api/subjects", obj{"kind": "pairing", "body": thwart.Pairing{A: a.Subject, B: far.Subject, Decision: thwart.PairSame, Why: "the same dent"}})
	if got, want := of(a.Subject, "&decided=true"), append(near, a.Subject+" "+far.Subject); !slices.Equal(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
	if got, want := of(far.Subject, "&decided=true"), []string{far.Subject + " " + other.Subject, a.Subject + " " + far.Subject}; !slices.Equal(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
	m.want(http.StatusNotFound, "GET", "/api/twins?of="+shift.Subject, nil)
	if pr := problemOf(t, m.want(http.StatusUnprocessableEntity, "GET", "/api/twins?of="+a.Subject+"&to=2026-07-04T00:00:00Z", nil)); !hasField(pr, "query.of") {
		t.Errorf("%+v", pr)
	}
}

// A pair that nothing but a person noticed is listed with its decision, so that it can be turned round.
func TestPairsNamedByHandAreListed(t *testing.T) {
	w, m, s, p := field(t, nil)
	shift := p.shift(s.launch)
	a := p.entry(thwart.KindInspection, p.canoe(s, shift.Subject))
	w.clock.add(20 * time.Minute)
	late := p.canoe(s, shift.Subject)
	late.Inspection.Setup.LengthM = 9
	b := p.entry(thwart.KindInspection, late)
	p.sync(shift, a, b)
	var pairs struct{ Items []api.Twin }
	m.want(http.StatusOK, "GET", "/api/twins", nil).into(t, &pairs)
	if len(pairs.Items) != 0 {
		t.Fatalf("proposed: %+v", pairs.Items)
	}
	m.want(http.StatusCreated, "POST", "/api/subjects", obj{"kind": "pairing", "body": thwart.Pairing{A: a.Subject, B: b.Subject, Decision: thwart.PairSame, Why: "the gate and the lane"}})
	m.want(http.StatusOK, "GET", "/api/twins", nil).into(t, &pairs)
	if len(pairs.Items) != 0 {
		t.Errorf("to be decided: %+v", pairs.Items)
	}
	m.want(http.StatusOK, "GET", "/api/twins?decided=true", nil).into(t, &pairs)
	if len(pairs.Items) != 1 || pairs.Items[0].A != a.Subject || pairs.Items[0].Decision != thwart.PairSame || math.Round(pairs.Items[0].ApartSeconds) != 1200 {
		t.Errorf("%+v", pairs.Items)
	}
}

// follow reads events until enough have come or the time is up.
func follow(t *testing.T, b *browser, path, last string, enough int) []api.Arrival {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), 5*time.Second)
	defer cancel()
	req, err := http.NewRequestWithContext(ctx, "GET", b.w.srv.URL+path, nil)
	if err != nil {
		t.Fatal(err)
	}
	if last != "" {
		req.Header.Set("Last-Event-ID", last)
	}
	res, err := b.http.Do(req)
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	if ct := res.Header.Get("Content-Type"); ct != "text/event-stream" {
		t.Fatalf("content type %q, status %d", ct, res.StatusCode)
	}
	var out []api.Arrival
	lines := bufio.NewScanner(res.Body)
	for len(out) < enough && lines.Scan() {
		if data, ok := strings.CutPrefix(lines.Text(), "data: "); ok {
			var a api.Arrival
			if err := json.Unmarshal([]byte(data), &a); err != nil {
				t.Fatal(err)
			}
			out = append(out, a)
		}
	}
	return out
}

func TestEvents(t *testing.T) {
	w, m, s, p := field(t, nil)
	shift := p.shift(s.launch)
	got := make(chan []api.Arrival)
	go func() { got <- follow(t, m, "/api/events", "", 3) }()
	deadline := time.Now().Add(3 * time.Second)
	for !strings.Contains(string(w.browser().do("GET", "/metrics", nil).body), "thwart_event_streams 1") {
		if time.Now().After(deadline) {
			t.Fatal("the stream did not open")
		}
		time.Sleep(5 * time.Millisecond)
	}
	enc := p.entry(thwart.KindInspection, p.canoe(s, shift.Subject))
	fixed := p.entry(thwart.KindInspection, p.canoe(s, shift.Subject))
	fixed.Subject, fixed.Supersedes, fixed.Why = enc.Subject, enc.ID, "the other canoe"
	p.sync(shift)
	p.sync(enc, fixed)
	events := <-got
	if len(events) != 3 || events[0].Subject != shift.Subject || events[1].Kind != thwart.KindInspection || events[2].Change != "correction" {
		t.Fatalf("%+v", events)
	}
	// Coming back with the last id it goes on after it, also where the server never knew the first connection.
	again := follow(t, m, "/api/events", fmt.Sprint(events[0].Cursor), 2)
	if len(again) != 2 || again[0] != events[1] || again[1] != events[2] {
		t.Errorf("%+v", again)
	}
	// What another server put into the store comes by looking, without a wake-up.
	go func() { got <- follow(t, m, "/api/events", fmt.Sprint(events[2].Cursor), 1) }()
	e := p.shift(s.launch)
	if _, err := w.store.Put(t.Context(), []thwart.Kept{{Entry: e, ReceivedAt: w.clock.Now()}}); err != nil {
		t.Fatal(err)
	}
	if events = <-got; len(events) != 1 || events[0].Subject != e.Subject {
		t.Errorf("%+v", events)
	}
}

func TestEventsEndWhenTheServerDrains(t *testing.T) {
	w, m, _, _ := field(t, nil)
	done := make(chan struct{})
	go func() { follow(t, m, "/api/events", "", 1); close(done) }()
	for !strings.Contains(string(w.browser().do("GET", "/metrics", nil).body), "thwart_event_streams 1") {
		time.Sleep(5 * time.Millisecond)
	}
	w.browser().want(http.StatusOK, "GET", "/readyz", nil)
	w.api.Drain()
	select {
	case <-done:
	case <-time.After(2 * time.Second):
		t.Error("the stream went on")
	}
	w.browser().want(http.StatusServiceUnavailable, "GET", "/readyz", nil)
	w.browser().want(http.StatusOK, "GET", "/healthz", nil)
	// One that opens when the drain is over has nothing to wake it: it ends by itself.
	before := time.Now()
	if follow(t, m, "/api/events", "", 1); time.Since(before) > 4*time.Second {
		t.Error("a stream that opened after the drain went on")
	}
}

func TestOperations(t *testing.T) {
	w := newWorld(t, func(c *api.Config) { c.Demo = true })
	m := w.setup()
	a := m.want(http.StatusOK, "GET", "/api", nil)
	for _, part := range []string{"<html lang=\"en\">", "<h1>", "POST /api/sync", "invented", "Thwart-Signature"} {
		if !strings.Contains(string(a.body), part) {
			t.Errorf("the page lacks %q", part)
		}
	}
	for _, bad := range []string{"http://", "https://", "<script"} {
		if strings.Contains(string(a.body), bad) {
			t.Errorf("the page holds %q", bad)
		}
	}
	// Every record has its page, and every link from one leads to another.
	link := regexp.MustCompile(`href="(/api/records/[^"]*)"`)
	seen := map[string]bool{}
	for queue := link.FindAllSubmatch(a.body, -1); len(queue) > 0; queue = queue[1:] {
		at := string(queue[0][1])
		if seen[at] {
			continue
		}
		seen[at] = true
		body := m.want(http.StatusOK, "GET", at, nil).body
		if name := strings.TrimPrefix(at, "/api/records/"); !bytes.Contains(body, []byte("<h1>"+name+"</h1>")) || !bytes.Contains(body, []byte("<tbody><tr>")) {
			t.Errorf("%s does not show the fields of %s", at, name)
		}
		queue = append(queue, link.FindAllSubmatch(body, -1)...)
	}
	if !seen["/api/records/SyncBatch"] || !seen["/api/records/EncounterRecord"] || len(seen) < 100 {
		t.Errorf("%d records have a page", len(seen))
	}
	if p := string(m.want(http.StatusNotFound, "GET", "/api/records/Nothing", nil).body); !strings.Contains(p, `no record \"Nothing\"`) {
		t.Errorf("a record that is not there: %s", p)
	}
	for name, want := range map[string]string{
		"X-Content-Type-Options": "nosniff", "X-Thwart-Demo": "invented records", "Cross-Origin-Opener-Policy": "same-origin",
	} {
		if got := a.header.Get(name); got != want {
			t.Errorf("%s: %q", name, got)
		}
	}
	if csp := a.header.Get("Content-Security-Policy"); !strings.Contains(csp, "default-src 'none'") || strings.Contains(csp, "unsafe-inline") {
		t.Errorf("CSP %q", csp)
	}
	var doc struct {
		OpenAPI    string `json:"openapi"`
		Components struct{ Schemas map[string]any }
	}
	m.want(http.StatusOK, "GET", "/api/openapi.json", nil).into(t, &doc)
	if doc.OpenAPI != "3.1.0" || doc.Components.Schemas["SyncBatch"] == nil || doc.Components.Schemas["Problem"] == nil {
		t.Errorf("openapi %s with %d schemas", doc.OpenAPI, len(doc.Components.Schemas))
	}
	text := string(m.want(http.StatusOK, "GET", "/metrics", nil).body)
	for _, part := range []string{"thwart_http_requests_total", "thwart_http_request_seconds_bucket", "go_goroutines"} {
		if !strings.Contains(text, part) {
			t.Errorf("metrics lack %s", part)
		}
	}
	for _, line := range strings.Split(strings.TrimSpace(w.log.String()), "\n") {
		var l map[string]any
		if err := json.Unmarshal([]byte(line), &l); err != nil {
			t.Fatalf("the log is not JSON: %s", line)
		}
		if strings.Contains(line, "127.0.0.1") || strings.Contains(line, m.person) {
			t.Errorf("the log names somebody: %s", line)
		}
	}
}

func TestUnwellStore(t *testing.T) {
	w := newWorld(t, func(c *api.Config) {
		c.Healthy = func(context.Context) error { return thwart.ErrStorage }
	})
	a := w.browser().want(http.StatusServiceUnavailable, "GET", "/healthz", nil)
	if p := problemOf(t, a); strings.Contains(p.Detail, thwart.ErrStorage.Error()) {
		t.Errorf("%+v", p)
	}
}

func TestClosedStoreAcknowledgesNothing(t *testing.T) {
	w, m, s, p := field(t, nil)
	body := batchOf(t, p.shift(s.launch))
	if err := w.store.Close(); err != nil {
		t.Fatal(err)
	}
	a, err := p.call("POST", "/api/sync", body)
	if err != nil {
		t.Fatal(err)
	}
	if a.status != http.StatusServiceUnavailable || a.header.Get("Retry-After") == "" {
		t.Errorf("status %d: %s", a.status, a.body)
	}
	problemOf(t, a)
	problemOf(t, m.want(http.StatusServiceUnavailable, "GET", "/api/me", nil))
}

// What a craft left with is decided in one place: its record says what its row in the ledger says.
func TestARecordLeftWithWhatItsRowSays(t *testing.T) {
	_, m, s, p := field(t, nil)
	shift := p.shift(s.launch)
	refused, judged, overridden, open := p.canoe(s, shift.Subject), p.canoe(s, shift.Subject), p.canoe(s, shift.Subject), p.canoe(s, shift.Subject)
	refused.Inspection.Refused, refused.Verdict, open.Verdict = true, nil, nil
	judged.Verdict = &thwart.Verdict{Outcome: thwart.Wash, Now: thwart.Wash}
	overridden.Verdict, overridden.Override = judged.Verdict, &thwart.Override{Outcome: thwart.DryOut, By: p.person, Why: "no wash unit here"}
	want := map[string]thwart.Outcome{}
	batch := []any{shift}
	for _, c := range []struct {
		enc  thwart.Encounter
		left thwart.Outcome
	}{{refused, thwart.Hold}, {judged, thwart.Wash}, {overridden, thwart.DryOut}, {open, ""}} {
		e := p.entry(thwart.KindInspection, c.enc)
		want[e.Subject], batch = c.left, append(batch, e)
	}
	p.sync(batch...)
	var page thwart.Page[thwart.EncounterRow]
	m.want(http.StatusOK, "GET", "/api/encounters", nil).into(t, &page)
	if len(page.Items) != len(want) {
		t.Fatalf("%d rows, want %d", len(page.Items), len(want))
	}
	for _, row := range page.Items {
		var detail api.EncounterDetail
		m.want(http.StatusOK, "GET", "/api/encounters/"+row.Subject, nil).into(t, &detail)
		if row.Given != want[row.Subject] || detail.Given != want[row.Subject] {
			t.Errorf("the row says %q and the record %q, want %q", row.Given, detail.Given, want[row.Subject])
		}
	}
}

// TestReceiptsOfAFilter pages through encounters of which every third was given a receipt, one of them two.
func TestReceiptsOfAFilter(t *testing.T) {
	_, m, s, p := field(t, nil)
	shift := p.shift(s.launch)
	batch := []any{shift}
	want := map[string]string{} // encounter by receipt
	for i := range 11 {
		body := p.canoe(s, shift.Subject)
		if i == 10 {
			body.Inspection.LastWaters = nil
		}
		met := p.entry(thwart.KindInspection, body)
		batch = append(batch, met)
		n := 0
		if i%3 == 0 {
			n = 1
		}
		if i == 3 {
			n = 2
		}
		if i == 10 {
			n = 1 // of a craft that does not fit the filter
		}
		for range n {
			r := p.entry(thwart.KindReceipt, thwart.Receipt{Encounter: met.Subject, IssuedAt: p.now(), Device: p.id, KeyID: "k", Code: "THW1:AAAA", Outcome: thwart.Launch})
			batch = append(batch, r)
			if i != 10 {
				want[r.Subject] = met.Subject
			}
		}
	}
	for i, a := range p.sync(batch...).Answers {
		if a.Result != thwart.Stored {
			t.Fatalf("entry %d: %+v", i, a)
		}
	}
	got := map[string]string{}
	for after := ""; ; {
		var page thwart.Page[api.ReceiptRow]
		m.want(http.StatusOK, "GET", "/api/encounters/receipts?limit=2&sort=at&lastWater="+s.clear+"&after="+after, nil).into(t, &page)
		for _, r := range page.Items {
			if _, twice := got[r.Receipt.Subject]; twice {
				t.Errorf("%s came twice", r.Receipt.Subject)
			}
			got[r.Receipt.Subject] = r.Encounter.Subject
		}
		if after = page.Next; after == "" {
			break
		}
	}
	if !maps.Equal(got, want) {
		t.Errorf("receipts by encounter: %v, want %v", got, want)
	}
	m.want(http.StatusUnprocessableEntity, "GET", "/api/encounters/receipts?sort=luck", nil)
}

// An incident that was closed can be opened again with a reason, and its history says who did each.
func TestAClosedIncidentIsOpenedAgain(t *testing.T) {
	_, m, s, _ := field(t, nil)
	opened := time.Date(2026, 7, 4, 7, 0, 0, 0, time.UTC)
	closed := opened.Add(time.Hour)
	body := thwart.Incident{What: "mussels on an axle", Water: s.clear, OpenedAt: opened, State: thwart.IncidentOpen}
	a := m.want(http.StatusCreated, "POST", "/api/subjects", obj{"kind": thwart.KindIncident, "body": body})
	var now thwart.Subject
	a.into(t, &now)
	path := "/api/subjects/" + now.Subject
	correct := func(status int, why string) answer {
		m.header.Set("If-Match", m.want(http.StatusOK, "GET", path, nil).header.Get("ETag"))
		return m.want(status, "POST", path+"/corrections", obj{"why": why, "body": body})
	}
	body.State, body.ClosedAt = thwart.IncidentClosed, &closed
	body.Notes = []thwart.IncidentNote{{At: closed, By: m.person, Text: "the agency took it over"}}
	correct(http.StatusCreated, "closed")
	body.State = thwart.IncidentOpen
	if p := problemOf(t, correct(http.StatusUnprocessableEntity, "a second craft was found")); !hasField(p, "body.body.closedAt") {
		t.Errorf("open with the time of its closing: %+v", p)
	}
	body.ClosedAt = nil
	correct(http.StatusCreated, "a second craft was found")
	var history struct{ Items []thwart.Kept }
	m.want(http.StatusOK, "GET", path+"/history", nil).into(t, &history)
	var whys []string
	for _, e := range history.Items {
		whys = append(whys, e.Why)
		if e.Person != m.person {
			t.Errorf("%q was done by %q, want %q", e.Why, e.Person, m.person)
		}
	}
	if !slices.Equal(whys, []string{"", "closed", "a second craft was found"}) {
		t.Errorf("the history: %q", whys)
	}
	var last thwart.Incident
	if err := json.Unmarshal(history.Items[2].Body, &last); err != nil || last.State != thwart.IncidentOpen || len(last.Notes) != 1 {
		t.Errorf("opened again: %+v, %v", last, err)
	}
}
