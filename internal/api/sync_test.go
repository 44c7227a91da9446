package api_test

import (
	"crypto/ed25519"
	"encoding/json"
	"fmt"
	"maps"
	"math/rand/v2"
	"net/http"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"thwart"
	"thwart/internal/api"
	"thwart/internal/faulttest/badline"
)

// field is a server with a manager, a region and one steward's phone.
func field(t testing.TB, change func(*api.Config)) (*world, *browser, season, *phone) {
	t.Helper()
	w := newWorld(t, change)
	m := w.setup()
	return w, m, m.season(), m.enrol(m.addPerson("Ines", thwart.RoleSteward), thwart.AccessSteward)
}

func TestSyncStoresThenHas(t *testing.T) {
	w, m, s, p := field(t, nil)
	shift := p.shift(s.launch)
	enc := p.entry(thwart.KindInspection, p.canoe(s, shift.Subject))
	ans := p.sync(shift, enc, shift)
	if got := results(ans); got != "[stored stored had]" {
		t.Errorf("first: %s", got)
	}
	if ans.Answers[1].Sum != enc.Sum() {
		t.Errorf("sum %s, want that of the entry as sent, %s", ans.Answers[1].Sum, enc.Sum())
	}
	if got := results(p.sync(enc, shift)); got != "[had had]" {
		t.Errorf("again: %s", got)
	}
	if !ans.LeaseUntil.After(w.clock.Now().Add(api.Lease - time.Minute)) {
		t.Errorf("lease until %v", ans.LeaseUntil)
	}
	var page thwart.Page[thwart.EncounterRow]
	m.want(http.StatusOK, "GET", "/api/encounters", nil).into(t, &page)
	if len(page.Items) != 1 || page.Items[0].Subject != enc.Subject || page.Items[0].Launch != s.launch {
		t.Errorf("%+v", page.Items)
	}
}

func TestSameIDOtherContentIsRefusedAndKept(t *testing.T) {
	_, m, s, p := field(t, nil)
	shift := p.shift(s.launch)
	p.sync(shift)
	forged := p.shift(s.launch)
	forged.ID, forged.Subject = shift.ID, shift.ID
	ans := p.sync(forged)
	if results(ans) != "[refused]" || len(ans.Answers[0].Errors) == 0 || ans.Answers[0].Errors[0].Field != "id" {
		t.Errorf("%+v", ans.Answers)
	}
	var page thwart.Page[thwart.Refusal]
	m.want(http.StatusOK, "GET", "/api/refusals", nil).into(t, &page)
	if len(page.Items) != 1 || page.Items[0].Device != p.id {
		t.Errorf("%+v", page.Items)
	}
}

// TestWhatAPhoneMayNotSay has one row for every rule of what is taken from whom.
func TestWhatAPhoneMayNotSay(t *testing.T) {
	_, m, s, p := field(t, nil)
	other := m.enrol(m.addPerson("Wren", thwart.RoleSteward), thwart.AccessSteward)
	shift := p.shift(s.launch)
	theirs := other.shift(s.launch)
	p.sync(shift)
	other.sync(theirs)
	trial := thwart.Trial{Object: "T-14", Like: "small_felt", Place: "hull.keel", Steward: p.person, PlantedBy: m.person, PlantedAt: p.now()}
	planted := p.canoe(s, shift.Subject)
	planted.Test = true
	correction := func(of thwart.Entry, body any) thwart.Entry {
		e := p.entry(of.Kind, body)
		e.Subject, e.Supersedes, e.Why = of.Subject, of.ID, "the shift is over"
		return e
	}
	ended := thwart.Shift{Launch: s.launch, People: []string{p.person}, From: shift.MadeAt.Add(-time.Hour)}
	to := p.now()
	ended.To = &to
	as := func(e thwart.Entry, change func(*thwart.Entry)) thwart.Entry { change(&e); return e }
	for _, c := range []struct {
		name  string
		entry any
		field string // at fault; empty: taken
	}{
		{"the end of the own shift", correction(shift, ended), ""},
		{"the end of another's shift", correction(theirs, ended), "subject"},
		{"taking out an own record", as(correction(shift, ended), func(e *thwart.Entry) { e.Removed = true }), "removed"},
		{"a correction of another kind", as(correction(shift, nil), func(e *thwart.Entry) {
			e.Kind, e.Body = thwart.KindTally, json.RawMessage(`{"shift":"`+shift.ID+`","at":"2026-07-04T12:00:00Z","passedBy":1}`)
		}), "kind"},
		{"a trial", p.entry(thwart.KindTrial, trial), "kind"},
		{"a water", p.entry(thwart.KindWater, thwart.WaterBody{Name: "X", Centre: thwart.Point{0, 0}}), "kind"},
		{"a planted craft", p.entry(thwart.KindInspection, planted), "body.test"},
		{"a planted craft in capitals", as(p.entry(thwart.KindInspection, p.canoe(s, shift.Subject)), func(e *thwart.Entry) {
			e.Body = json.RawMessage(`{"TEST":true,` + string(e.Body[1:]))
		}), "body.test"},
		{"in another's name", as(p.shift(s.launch), func(e *thwart.Entry) { e.Person = other.person }), "person"},
		{"from another phone", as(p.shift(s.launch), func(e *thwart.Entry) { e.Device = other.id }), "device"},
		{"as an import", as(p.shift(s.launch), func(e *thwart.Entry) { e.Origin = thwart.OriginImport }), "origin"},
		{"as demo", as(p.shift(s.launch), func(e *thwart.Entry) { e.Origin = thwart.OriginDemo }), "origin"},
		{"keyed in from paper", as(p.shift(s.launch), func(e *thwart.Entry) { e.Origin = thwart.OriginPaper }), ""},
		{"a registration in clear", p.entry(thwart.KindInspection, func() any {
			e := p.canoe(s, shift.Subject)
			e.Mark = &thwart.Mark{Hash: "WN1234AB"}
			return e
		}()), "body.mark.hash"},
		{"a body of the wrong shape", as(p.shift(s.launch), func(e *thwart.Entry) { e.Body = json.RawMessage(`{"launch":5}`) }), "body.launch"},
		{"a body that is a list", as(p.shift(s.launch), func(e *thwart.Entry) { e.Body = json.RawMessage(`[]`) }), "body"},
		{"an unknown kind", as(p.shift(s.launch), func(e *thwart.Entry) { e.Kind = "seance" }), "kind"},
		{"no entry at all", 5, "entry"},
		{"a text", "x", "entry"},
		{"nothing", nil, "id"},
		{"NUL", as(p.shift(s.launch), func(e *thwart.Entry) {
			e.Body = json.RawMessage(strings.Replace(string(e.Body), "{", `{"note":"\u0000",`, 1))
		}), "entry"},
		{"NUL that is only written", as(p.shift(s.launch), func(e *thwart.Entry) {
			e.Body = json.RawMessage(strings.Replace(string(e.Body), "{", `{"note":"\\u0000",`, 1))
		}), ""},
		{"too deep", as(p.shift(s.launch), func(e *thwart.Entry) {
			e.Body = json.RawMessage(`{"x":` + strings.Repeat("[", 70) + strings.Repeat("]", 70) + "," + string(e.Body[1:]))
		}), "entry"},
		{"before any phone", as(p.shift(s.launch), func(e *thwart.Entry) { e.MadeAt = time.Date(1901, 1, 1, 0, 0, 0, 0, time.UTC) }), "madeAt"},
		{"a field of a newer program", as(p.shift(s.launch), func(e *thwart.Entry) { e.Body = json.RawMessage(`{"mood":"bright",` + string(e.Body[1:])) }), ""},
		{"an old program", as(p.shift(s.launch), func(e *thwart.Entry) { e.App = "0.0.1" }), ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			ans := p.sync(c.entry).Answers[0]
			if c.field == "" {
				if ans.Result != thwart.Stored {
					t.Errorf("%+v", ans)
				}
				return
			}
			if ans.Result != thwart.Refused {
				t.Fatalf("%+v", ans)
			}
			for _, e := range ans.Errors {
				if e.Field == c.field && e.Accepted != "" {
					return
				}
			}
			t.Errorf("errors %v do not name %s", ans.Errors, c.field)
		})
	}
}

func TestUnknownFieldsAreHandedOnUnchanged(t *testing.T) {
	_, m, s, p := field(t, nil)
	e := p.shift(s.launch)
	e.Body = json.RawMessage(`{"mood":"bright",` + string(e.Body[1:]))
	p.sync(e)
	var h struct{ Items []json.RawMessage }
	m.want(http.StatusOK, "GET", "/api/subjects/"+e.Subject+"/history", nil).into(t, &h)
	if len(h.Items) != 1 || !strings.Contains(string(h.Items[0]), `"mood":"bright"`) {
		t.Errorf("%s", h.Items)
	}
	kept, err := m.w.store.History(t.Context(), e.Subject)
	if err != nil || kept[0].Sum() != e.Sum() {
		t.Errorf("the body was changed: %s, %v", kept[0].Body, err)
	}
}

func TestPartOfABatch(t *testing.T) {
	_, m, s, p := field(t, nil)
	bad := p.shift("nowhere")
	ans := p.sync(p.shift(s.launch), bad, p.shift(s.launch))
	if results(ans) != "[stored refused stored]" {
		t.Errorf("%s", results(ans))
	}
	p.sync(bad, bad) // sent again and again it is still one thing to settle
	var page thwart.Page[thwart.Refusal]
	m.want(http.StatusOK, "GET", "/api/refusals", nil).into(t, &page)
	if len(page.Items) != 1 || !strings.Contains(string(page.Items[0].Raw), bad.ID) || page.Items[0].Errors[0].Field != "body.launch" {
		t.Fatalf("%+v", page.Items)
	}
	// The steward sees her own, another steward does not.
	if a := p.want(http.StatusOK, "GET", "/api/refusals", nil); !strings.Contains(string(a.body), bad.ID) {
		t.Errorf("not shown to the one who sent it: %s", a.body)
	}
	other := m.enrol(m.addPerson("Wren", thwart.RoleSteward), thwart.AccessSteward)
	if a := other.want(http.StatusOK, "GET", "/api/refusals", nil); strings.Contains(string(a.body), bad.ID) {
		t.Errorf("shown to another: %s", a.body)
	}
	m.want(http.StatusOK, "POST", "/api/refusals/"+page.Items[0].ID+"/settle", obj{"how": "keyed in again"})
	m.want(http.StatusOK, "GET", "/api/refusals", nil).into(t, &page)
	if len(page.Items) != 0 {
		t.Errorf("still waiting: %+v", page.Items)
	}
	m.want(http.StatusOK, "GET", "/api/refusals?settled=true", nil).into(t, &page)
	if len(page.Items) != 1 || page.Items[0].How != "keyed in again" || page.Items[0].SettledBy != m.person {
		t.Errorf("%+v", page.Items)
	}
	m.want(http.StatusNotFound, "POST", "/api/refusals/"+api.NewID(noon)+"/settle", obj{"how": "x"})
}

func TestWrongSignatures(t *testing.T) {
	_, _, s, p := field(t, nil)
	_, stranger, err := ed25519.GenerateKey(nil)
	if err != nil {
		t.Fatal(err)
	}
	body := batchOf(t, p.shift(s.launch))
	send := func(change func(*http.Request), sent string) int {
		req, err := http.NewRequest("POST", p.url+"/api/sync", strings.NewReader(sent))
		if err != nil {
			t.Fatal(err)
		}
		api.SignRequest(req, p.id, p.key, p.now(), body)
		change(req)
		res, err := http.DefaultClient.Do(req)
		if err != nil {
			t.Fatal(err)
		}
		res.Body.Close()
		return res.StatusCode
	}
	set := func(k, v string) func(*http.Request) { return func(r *http.Request) { r.Header.Set(k, v) } }
	for name, c := range map[string]struct {
		change func(*http.Request)
		body   string
	}{
		"another key":     {func(r *http.Request) { api.SignRequest(r, p.id, stranger, p.now(), body) }, string(body)},
		"another body":    {func(*http.Request) {}, strings.Replace(string(body), "shift", "tally", 1)},
		"another time":    {set(api.HeaderNow, p.now().Add(time.Hour).Format(time.RFC3339Nano)), string(body)},
		"another path":    {func(r *http.Request) { r.URL.Path = "/api/lease" }, string(body)},
		"another query":   {func(r *http.Request) { r.URL.RawQuery = "x=1" }, string(body)},
		"another method":  {func(r *http.Request) { r.Method = "PUT" }, string(body)},
		"another phone":   {set(api.HeaderDevice, api.NewID(noon)), string(body)},
		"no phone":        {set(api.HeaderDevice, ""), string(body)},
		"no signature":    {func(r *http.Request) { r.Header.Del(api.HeaderSignature) }, string(body)},
		"half signature":  {set(api.HeaderSignature, "AAAA"), string(body)},
		"no time":         {set(api.HeaderNow, ""), string(body)},
		"not even base64": {set(api.HeaderSignature, "%%%"), string(body)},
	} {
		if got := send(c.change, c.body); got != http.StatusUnauthorized {
			t.Errorf("%s: status %d", name, got)
		}
	}
	if got := send(func(*http.Request) {}, string(body)); got != http.StatusOK {
		t.Errorf("right signature: %d", got)
	}
	// Sent again by somebody who overheard it, the same request changes nothing.
	if got := send(func(*http.Request) {}, string(body)); got != http.StatusOK {
		t.Errorf("repeated: %d", got)
	}
}

func TestRevokedPhoneIsSetAside(t *testing.T) {
	w, m, s, p := field(t, nil)
	e := p.shift(s.launch)
	m.want(http.StatusOK, "POST", "/api/devices/"+p.id+"/revoke", nil)
	a := p.want(http.StatusForbidden, "POST", "/api/sync", batchOf(t, e))
	if pr := problemOf(t, a); !strings.Contains(pr.Detail, "1 entries are kept") {
		t.Errorf("%+v", pr)
	}
	if _, err := w.store.Subject(t.Context(), e.Subject); err == nil {
		t.Error("an entry of a revoked phone was taken")
	}
	var page thwart.Page[thwart.Refusal]
	m.want(http.StatusOK, "GET", "/api/refusals", nil).into(t, &page)
	if len(page.Items) != 1 || !strings.Contains(string(page.Items[0].Raw), e.ID) {
		t.Errorf("not kept for review: %+v", page.Items)
	}
	p.want(http.StatusForbidden, "GET", "/api/changes", nil)
	p.want(http.StatusForbidden, "GET", "/api/me", nil)
}

func TestClockSkewIsKeptBesideTheTime(t *testing.T) {
	for _, c := range []struct {
		ahead     time.Duration
		plausible bool
		flagged   bool
	}{
		{0, true, false},
		{time.Hour, true, true}, {-24 * time.Hour, true, true}, {24 * time.Hour, true, true},
		{-56 * 365 * 24 * time.Hour, false, true}, // a flat battery: back near 1970
	} {
		t.Run(c.ahead.String(), func(t *testing.T) {
			w, _, s, p := field(t, nil)
			p.ahead = c.ahead
			e := p.shift(s.launch)
			ans := p.sync(e)
			if results(ans) != "[stored]" || ans.ClockPlausible != c.plausible || (len(ans.Answers[0].Flags) > 0) != c.flagged {
				t.Fatalf("%+v", ans)
			}
			k, err := w.store.Subject(t.Context(), e.Subject)
			if err != nil {
				t.Fatal(err)
			}
			if !k.MadeAt.Equal(e.MadeAt.Truncate(time.Nanosecond)) {
				t.Errorf("the phone's own time became %v", k.MadeAt)
			}
			if off := k.At().Sub(w.clock.Now()); off > time.Minute || off < -time.Minute {
				t.Errorf("corrected time is off by %v", off)
			}
		})
	}
}

func TestBodyTimeMustBeTheSignedOne(t *testing.T) {
	_, _, _, p := field(t, nil)
	b := []byte(`{"deviceNow":"2020-01-01T00:00:00Z","entries":[]}`)
	if pr := problemOf(t, p.want(http.StatusUnprocessableEntity, "POST", "/api/sync", b)); !hasField(pr, "body.deviceNow") {
		t.Errorf("%+v", pr)
	}
}

func TestHostileBatches(t *testing.T) {
	w, m, s, p := field(t, nil)
	big := strings.Repeat("x", api.MaxBatchBytes)
	many := `{"entries":[` + strings.Repeat("1,", api.MaxBatchEntries) + `1]}`
	for name, c := range map[string]struct {
		body   string
		status int
	}{
		"empty":             {"", 400},
		"not JSON":          {"<html>sign in to the café's network</html>", 400},
		"a list":            {"[]", 400},
		"deep lists":        {`{"entries":` + strings.Repeat("[", 100000) + strings.Repeat("]", 100000) + "}", 400},
		"deep objects":      {strings.Repeat(`{"a":`, 100000), 400},
		"too large":         {`{"entries":["` + big + `"]}`, 413},
		"too many":          {many, 413},
		"entries as a text": {`{"entries":"x"}`, 400},
		"trailing":          {`{"entries":[]} {"entries":[]}`, 400},
		"negative trip":     {`{"roundTripMs":-1,"entries":[]}`, 422},
		"huge number":       {`{"roundTripMs":1e999,"entries":[]}`, 400},
		"nothing to say":    {`{}`, 200},
		"null":              {`null`, 200},
		"bytes in an entry": {"{\"entries\":[\"\xff\xfe\"]}", 200},
	} {
		a, err := p.call("POST", "/api/sync", []byte(c.body))
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if a.status != c.status && (c.status != 400 || a.status != 422) {
			t.Errorf("%s: status %d, want %d: %.200s", name, a.status, c.status, a.body)
		}
		if a.status >= 400 {
			problemOf(t, a)
		}
	}
	// A body over the limit of one entry, within that of the batch.
	e := p.shift(s.launch)
	e.Body = json.RawMessage(`{"x":"` + strings.Repeat("y", thwart.MaxEntryBytes) + `",` + string(e.Body[1:]))
	if ans := p.sync(e); results(ans) != "[refused]" || ans.Answers[0].Errors[0].Field != "body" {
		t.Errorf("%s", results(ans))
	}
	m.want(http.StatusOK, "GET", "/api/refusals", nil)
	if entries, _, err := w.store.Changes(t.Context(), []thwart.Kind{thwart.KindShift}, 0, 10); err != nil || len(entries) != 0 {
		t.Errorf("%d entries kept, %v", len(entries), err)
	}
}

func TestVerdictIsComputedAgain(t *testing.T) {
	_, m, s, p := field(t, nil)
	shift := p.shift(s.launch)
	p.sync(shift)
	judged := func(outcome thwart.Outcome, change func(*thwart.Encounter)) thwart.Entry {
		e := p.canoe(s, shift.Subject)
		e.Verdict = &thwart.Verdict{Outcome: outcome}
		change(&e)
		return p.entry(thwart.KindInspection, e)
	}
	right := judged(thwart.Launch, func(*thwart.Encounter) {})
	wrong := judged(thwart.Launch, func(e *thwart.Encounter) { e.Inspection.Others.Wet = thwart.WetWater })
	lost := judged(thwart.Launch, func(e *thwart.Encounter) { e.Protocol = "lost@9" })
	ans := p.sync(right, wrong, lost)
	if results(ans) != "[stored stored stored]" {
		t.Fatalf("%+v", ans)
	}
	codes := func(i int) (s []string) {
		for _, f := range ans.Answers[i].Flags {
			s = append(s, f.Code)
		}
		return s
	}
	if len(codes(0)) != 0 || fmt.Sprint(codes(1)) != "[verdict_differs]" || fmt.Sprint(codes(2)) != "[verdict_unresolved]" {
		t.Errorf("flags %v, %v, %v", ans.Answers[0].Flags, ans.Answers[1].Flags, ans.Answers[2].Flags)
	}
	kept, err := m.w.store.Subject(t.Context(), wrong.Subject)
	if err != nil || kept.Sum() != wrong.Sum() {
		t.Errorf("the record was changed, %v", err)
	}
	var d api.EncounterDetail
	m.want(http.StatusOK, "GET", "/api/encounters/"+wrong.Subject, nil).into(t, &d)
	if d.Check == nil || d.Check.Agrees || !d.Check.Resolved || d.Check.Sent != thwart.Launch || d.Check.Computed == thwart.Launch {
		t.Errorf("%+v", d.Check)
	}
	a := m.want(http.StatusOK, "GET", "/api/audit", nil)
	if !strings.Contains(string(a.body), "verdict_differs") {
		t.Error("the disagreement is not in the trail")
	}
}

// TestSyncOverABadLine lets five phones with wrong clocks hand in a season over a line that loses a third of what is sent, in
// small batches and any order, and compares what the server then has with what the people entered.
func TestSyncOverABadLine(t *testing.T) {
	const each = 120
	w, m, s, _ := field(t, nil)
	var phones []*phone
	entered := map[string]string{} // id → sum
	for i := range 5 {
		p := m.enrol(m.addPerson(fmt.Sprintf("Steward %d", i), thwart.RoleSteward), thwart.AccessSteward)
		p.ahead = []time.Duration{0, 24 * time.Hour, -24 * time.Hour, 90 * time.Second, -time.Hour}[i]
		p.http = &http.Client{Transport: (&badline.Line{Next: http.DefaultTransport, Lost: 12, Unanswered: 12, Twice: 12, Cut: 8, Jitter: 3 * time.Millisecond}).Seed(11, uint64(i))}
		phones = append(phones, p)
	}
	var mu sync.Mutex
	var wg sync.WaitGroup
	for n, p := range phones {
		wg.Go(func() {
			rng := rand.New(rand.NewPCG(5, uint64(n)))
			shift := p.shift(s.launch)
			own := []thwart.Entry{shift}
			for range each {
				enc := p.entry(thwart.KindInspection, p.canoe(s, shift.Subject))
				own = append(own, enc)
				if rng.IntN(6) == 0 {
					c := p.entry(thwart.KindInspection, p.canoe(s, shift.Subject))
					c.Subject, c.Supersedes, c.Why = enc.Subject, enc.ID, "the other canoe"
					own = append(own, c)
				}
			}
			sums := map[string]string{}
			for _, e := range own {
				sums[e.ID] = e.Sum()
			}
			mu.Lock()
			maps.Copy(entered, sums)
			mu.Unlock()
			waiting := append([]thwart.Entry(nil), own...)
			for tries := 0; len(waiting) > 0; tries++ {
				if tries > 2000 {
					t.Errorf("phone %d: %d entries never got through", n, len(waiting))
					return
				}
				rng.Shuffle(len(waiting), func(i, j int) { waiting[i], waiting[j] = waiting[j], waiting[i] })
				take := min(len(waiting), 1+rng.IntN(15))
				var batch []any
				for _, e := range waiting[:take] {
					batch = append(batch, e)
				}
				if rng.IntN(4) == 0 {
					batch = append(batch, own[rng.IntN(len(own))]) // once more, whether it got through or not
				}
				a, err := p.call("POST", "/api/sync", batchOf(t, batch...))
				if err != nil {
					continue // no answer: all of it waits
				}
				if a.status != http.StatusOK {
					t.Errorf("phone %d: status %d: %s", n, a.status, a.body)
					return
				}
				var ans api.SyncAnswer
				a.into(t, &ans)
				done := map[string]bool{}
				for _, x := range ans.Answers {
					if x.Result == thwart.Refused || x.Sum != sums[x.ID] {
						t.Errorf("phone %d: %+v", n, x)
						return
					}
					done[x.ID] = true
				}
				var rest []thwart.Entry
				for _, e := range waiting {
					if !done[e.ID] {
						rest = append(rest, e)
					}
				}
				waiting = rest
			}
		})
	}
	wg.Wait()
	have := map[string]string{}
	for after := int64(0); ; {
		entries, next, err := w.store.Changes(t.Context(), []thwart.Kind{thwart.KindShift, thwart.KindInspection}, after, 1000)
		if err != nil {
			t.Fatal(err)
		}
		if len(entries) == 0 {
			break
		}
		for _, e := range entries {
			if _, twice := have[e.ID]; twice {
				t.Errorf("%s is there twice", e.ID)
			}
			have[e.ID] = e.Sum()
		}
		after = next
	}
	if d := cmp.Diff(entered, have); d != "" {
		t.Errorf("what was entered and what is kept differ (-entered +kept):\n%.1000s", d)
	}
	rep, err := w.store.Check(t.Context())
	if err != nil || len(rep.Faults) > 0 {
		t.Errorf("check: %d faults, %.300q, %v", len(rep.Faults), rep.Faults, err)
	}
	lost := int64(0)
	for _, p := range phones {
		lost += p.http.Transport.(*badline.Line).Drops.Load()
	}
	if lost < 20 {
		t.Errorf("the line lost only %d requests: it was no bad line", lost)
	}
	if page, err := w.store.Refusals(t.Context(), false, "", 10); err != nil || len(page.Items) > 0 {
		t.Errorf("%d refused, %v", len(page.Items), err)
	}
}

func TestChangesKeepSecrets(t *testing.T) {
	w, m, s, p := field(t, nil)
	boss := m.enrol(m.person, thwart.AccessManager)
	shift := p.shift(s.launch)
	enc := p.canoe(s, shift.Subject)
	enc.Mark = &thwart.Mark{Hash: strings.Repeat("ab", 16)}
	e := p.entry(thwart.KindInspection, enc)
	p.sync(shift, e)
	trial := boss.entry(thwart.KindTrial, thwart.Trial{Object: "T-14", Like: "small_felt", Place: "hull.keel", Steward: p.person, PlantedBy: m.person, PlantedAt: w.clock.Now()})
	enc.Test = true
	planted := boss.entry(thwart.KindInspection, enc)
	planted.Subject, planted.Supersedes, planted.Why = e.Subject, e.ID, "object T-14 was aboard"
	if ans := boss.sync(trial, planted); results(ans) != "[stored stored]" {
		t.Fatalf("%+v", ans)
	}

	var c api.Changes
	p.want(http.StatusOK, "GET", "/api/changes?limit=1000", nil).into(t, &c)
	for _, k := range c.Entries {
		if !k.Kind.Reference() {
			t.Errorf("a steward's phone was given a %s", k.Kind)
		}
	}
	if len(c.Entries) < 5 {
		t.Errorf("only %d reference entries", len(c.Entries))
	}
	p.want(http.StatusUnprocessableEntity, "GET", "/api/changes?kinds=trial", nil)
	p.want(http.StatusNotFound, "GET", "/api/subjects/"+trial.Subject, nil)
	p.want(http.StatusNotFound, "GET", "/api/subjects/"+trial.Subject+"/history", nil)

	// The steward reads her own record as she made it: not the mark, not the manager's note on it, no sign of a test.
	for _, path := range []string{"/api/encounters/" + e.Subject, "/api/subjects/" + e.Subject, "/api/subjects/" + e.Subject + "/history"} {
		a := p.want(http.StatusOK, "GET", path, nil)
		for _, secret := range []string{`"test"`, "T-14", `"mark"`, enc.Mark.Hash, planted.ID} {
			if strings.Contains(string(a.body), secret) {
				t.Errorf("%s gives %s away: %s", path, secret, a.body)
			}
		}
	}
	// The biologist reads records, but neither trials nor tests.
	bio := m.account("biologist", thwart.AccessBiologist)
	a := bio.want(http.StatusOK, "GET", "/api/changes?limit=1000", nil)
	for _, secret := range []string{`"test"`, `"kind":"trial"`} {
		if strings.Contains(string(a.body), secret) {
			t.Errorf("the biologist sees %s", secret)
		}
	}
	bio.want(http.StatusForbidden, "GET", "/api/encounters?withTests=true", nil)
	// The manager sees it all.
	a = m.want(http.StatusOK, "GET", "/api/changes?kinds=trial,inspection", nil)
	if !strings.Contains(string(a.body), `"test":true`) || !strings.Contains(string(a.body), `"kind":"trial"`) {
		t.Errorf("%s", a.body)
	}
	// The cursor runs past what is not shown.
	p.want(http.StatusOK, "GET", fmt.Sprintf("/api/changes?after=%d", c.Next), nil).into(t, &c)
	if len(c.Entries) != 1 || c.Entries[0].Kind != thwart.KindPerson {
		t.Errorf("after the end: %+v", c.Entries)
	}
}
