package roster_test

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	ics "github.com/arran4/golang-ical"

	"thwart"
	"thwart/internal/calendar"
	"thwart/internal/demo"
	"thwart/internal/demo/demotest"
	"thwart/season"
	"thwart/season/plan"
	"thwart/season/roster"
)

// records are that season with more beside it.
func records(t *testing.T, more func(w *demo.World) []thwart.Kept) (*demo.World, *season.Book) {
	t.Helper()
	w, list := demotest.Season(demo.Options{Seed: 1, Scale: 0.02}) // a small part of the demo's season
	if more != nil {
		list = append(list, more(w)...)
	}
	return w, demotest.Read(list)
}

func twoWeeks(w *demo.World) roster.RosterAsk {
	none := 0
	a := roster.RosterAsk{From: "2026-06-01", To: "2026-06-14", NewBelow: &none}
	for i := range 4 {
		a.Shifts = append(a.Shifts, plan.PlanShift{Launch: w.Launches[i].ID, Day: "weekday", Block: "morning", From: 6, To: 12, People: 1, Hours: 600, Stops: float64(i)})
		a.Shifts = append(a.Shifts, plan.PlanShift{Launch: w.Launches[i].ID, Day: "free day", Block: "afternoon", From: 12, To: 18, People: 2, Hours: 600, Stops: float64(i)})
	}
	return a
}

func away(w *demo.World, person string) thwart.Kept {
	body, _ := json.Marshal(thwart.Availability{Person: person, From: "2026-06-01", To: "2026-06-30", Away: true})
	id := "0190a000-0000-7000-8000-000000000001"
	return thwart.Kept{Entry: thwart.Entry{ID: id, Subject: id, Kind: thwart.KindAvailability, MadeAt: w.Opened, Body: body}, ReceivedAt: w.Opened}
}

func TestTwoWeeks(t *testing.T) {
	var gone string
	w, book := records(t, func(w *demo.World) []thwart.Kept {
		gone = w.Stewards[1].ID
		return []thwart.Kept{away(w, gone)}
	})
	ask := twoWeeks(w)
	a, err := roster.Make(context.Background(), book, ask, nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	if want := 4*10 + 4*4; len(a.Rows) != want || a.Open > 0 {
		t.Fatalf("%d rows of %d, %d open", len(a.Rows), want, a.Open)
	}
	for _, p := range a.People {
		if p.ID == gone && p.Shifts > 0 {
			t.Error("somebody who is away is on the roster")
		}
		if p.Hours > 80 {
			t.Errorf("%s works %v hours in two weeks", p.Name, p.Hours)
		}
	}
	// Somebody falls ill: only what has to changes.
	first := a.Rows[0]
	ill := []roster.ByHand{{Person: first.People[0].ID, Launch: first.Launch, Day: first.Day, From: first.From}}
	b, err := roster.Make(context.Background(), book, ask.Repairing("", a, ill), nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	if b.Rows[0].People[0].ID == first.People[0].ID || b.Changed > 3 {
		t.Errorf("%d changed for one absence", b.Changed)
	}
}

// Certificates of the demo end in the year after its season: nobody may stand then.
func TestLapsedCertificatesLeavePlacesOpen(t *testing.T) {
	w, book := records(t, nil)
	ask := twoWeeks(w)
	ask.From, ask.To = "2027-07-12", "2027-07-13"
	a, err := roster.Make(context.Background(), book, ask, nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	if a.Open == 0 || a.Open != len(a.Rows) || !strings.Contains(strings.Join(a.Notes, " "), "nobody is certified for that work on that day") {
		t.Errorf("%d open of %d: %v", a.Open, len(a.Rows), a.Notes)
	}
}

func TestCalendarReadsBack(t *testing.T) {
	w, book := records(t, nil)
	a, err := roster.Make(context.Background(), book, twoWeeks(w), nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	who := a.Rows[0].People[0]
	made := time.Date(2026, 5, 20, 9, 0, 0, 0, time.UTC)
	text, err := calendar.Of([]calendar.Edition{{Roster: a, Made: made}}, "Shifts", who.ID, time.UTC, time.LoadLocation)
	if err != nil {
		t.Fatal(err)
	}
	c, err := ics.ParseCalendar(strings.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	mine := 0
	for _, p := range a.People {
		if p.ID == who.ID {
			mine = p.Shifts
		}
	}
	if len(c.Events()) != mine || mine == 0 {
		t.Fatalf("%d events for %d shifts", len(c.Events()), mine)
	}
	start, err := c.Events()[0].GetStartAt()
	// The demo's launches keep UTC-3, so six in the morning there is nine in UTC.
	if err != nil || start.UTC().Hour() != 9 || start.UTC().Format(time.DateOnly) != a.Rows[0].Day {
		t.Errorf("starts at %v, %v", start, err)
	}
	if !strings.Contains(text, "\r\n") || strings.Contains(strings.ReplaceAll(text, "\r\n", ""), "\n") {
		t.Error("lines do not end as RFC 5545 section 3.1 asks")
	}
}

func TestRefused(t *testing.T) {
	w, book := records(t, nil)
	for field, change := range map[string]func(*roster.RosterAsk){
		"from":             func(a *roster.RosterAsk) { a.From = "June" },
		"to":               func(a *roster.RosterAsk) { a.To = "2026-05-01" },
		"maxDays":          func(a *roster.RosterAsk) { a.MaxDays = 9 },
		"shifts[0].launch": func(a *roster.RosterAsk) { a.Shifts[0].Launch = "nowhere" },
		"shifts[0]":        func(a *roster.RosterAsk) { a.Shifts[0].People = 0 },
		"fixed[0].person":  func(a *roster.RosterAsk) { a.Fixed = []roster.ByHand{{Person: "nobody"}} },
		"fixed[0]":         func(a *roster.RosterAsk) { a.Fixed = []roster.ByHand{{Person: w.Stewards[0].ID, Day: "2026-06-02"}} },
	} {
		ask := twoWeeks(w)
		change(&ask)
		_, err := roster.Make(context.Background(), book, ask, nil, nil)
		var errs thwart.FieldErrors
		if !errors.As(err, &errs) || !slices.ContainsFunc(errs, func(e thwart.FieldError) bool { return e.Field == field }) {
			t.Errorf("%s: %v", field, err)
		}
	}
}

// person writes somebody of the demo anew, with other certificates.
func person(t *testing.T, w *demo.World, id string, n int, change func(*thwart.Person)) thwart.Kept {
	t.Helper()
	_, list := demotest.Season(demo.Options{Seed: 1, Scale: 0.02})
	for _, k := range list {
		if k.Subject != id || k.Kind != thwart.KindPerson {
			continue
		}
		body, err := k.Decode()
		if err != nil {
			t.Fatal(err)
		}
		p := *body.(*thwart.Person)
		change(&p)
		raw, err := json.Marshal(p)
		if err != nil {
			t.Fatal(err)
		}
		k.Body, k.Supersedes, k.Why = raw, k.ID, "another certificate"
		k.ID, k.MadeAt, k.Cursor = fmt.Sprintf("0190a000-0000-7000-8000-0000000001%02d", n), w.Opened.Add(time.Hour), int64(len(list)+n+1)
		return k
	}
	t.Fatalf("no person %s", id)
	return thwart.Kept{}
}

// One has no certificate, one's ended the day before, one's ends within the fortnight, one's begins within it: none of them
// stands on a day that the certificate does not cover, not even where somebody put them there by hand.
func TestNobodyStandsUncertified(t *testing.T) {
	day := func(d int) time.Time { return time.Date(2026, 6, d, 0, 0, 0, 0, time.UTC) }
	may := map[string][2]time.Time{} // from, until
	w, list := demotest.Season(demo.Options{Seed: 1, Scale: 0.02})
	var others []thwart.Kept // certificates of the programme's own curricula count too, so those of these four are left out
	for _, k := range list {
		var c thwart.Certified
		four := w.Stewards[:4]
		if k.Kind == thwart.KindCertificate && json.Unmarshal(k.Body, &c) == nil && slices.ContainsFunc(four, func(s demo.Worker) bool { return s.ID == c.Person }) {
			continue
		}
		others = append(others, k)
	}
	book := demotest.Read(append(others, func() (more []thwart.Kept) {
		for i, span := range [][2]time.Time{{}, {day(1).AddDate(-1, 0, 0), day(1).AddDate(0, 0, -1)}, {day(1).AddDate(-1, 0, 0), day(5)}, {day(9), day(9).AddDate(1, 0, 0)}} {
			id := w.Stewards[i].ID
			may[id] = span
			more = append(more, person(t, w, id, i, func(p *thwart.Person) {
				p.Certificates = nil
				if !span[1].IsZero() {
					p.Certificates = []thwart.Certificate{{For: "inspect", From: span[0], Expires: span[1], By: "the manager"}}
				}
			}))
		}
		return more
	}()...))
	ask := twoWeeks(w)
	for i := range ask.Shifts {
		ask.Shifts[i].People = 12 // more places than people, so that everybody who may is asked
	}
	for _, id := range []string{w.Stewards[0].ID, w.Stewards[1].ID} {
		ask.Keep = append(ask.Keep, roster.ByHand{Person: id, Launch: ask.Shifts[0].Launch, Day: "2026-06-02", From: 6})
	}
	a, err := roster.Make(context.Background(), book, ask, nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	stood := map[string]int{}
	for _, r := range a.Rows {
		from, err := time.Parse(time.DateOnly, r.Day)
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range r.People {
			stood[p.ID]++
			if span, told := may[p.ID]; told && (from.Before(span[0]) || from.AddDate(0, 0, 1).After(span[1])) {
				t.Errorf("%s stands on %s, certified from %s until %s", p.Name, r.Day, span[0].Format(time.DateOnly), span[1].Format(time.DateOnly))
			}
		}
	}
	if a.Open == 0 {
		t.Error("nothing stays open, so nothing was tried")
	}
	if stood[w.Stewards[2].ID] == 0 || stood[w.Stewards[3].ID] == 0 {
		t.Errorf("whoever is certified for some of the days stands on those: %v", stood)
	}
	ask.Keep, ask.Fixed = nil, ask.Keep[:1]
	_, err = roster.Make(context.Background(), book, ask, nil, nil)
	var errs thwart.FieldErrors
	if !errors.As(err, &errs) || errs[0].Field != "fixed[0].person" {
		t.Errorf("a decision by hand puts somebody without a certificate on a shift: %v", err)
	}
}
