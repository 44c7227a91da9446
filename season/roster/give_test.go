package roster_test

import (
	"encoding/json"
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	ics "github.com/arran4/golang-ical"

	"thwart"
	"thwart/internal/calendar"
	"thwart/internal/demo"
	"thwart/season"
	"thwart/season/roster"
)

func made(t *testing.T, book *season.Book, ask roster.RosterAsk) *roster.SeasonRoster {
	t.Helper()
	r, err := roster.Make(t.Context(), book, ask, nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func placeOf(r *roster.RosterRow, holder string) roster.RosterPlace {
	return roster.RosterPlace{Launch: r.Launch, Day: r.Day, From: r.From, Holder: holder}
}

func stands(r *roster.RosterRow, id string) bool {
	return slices.ContainsFunc(r.People, func(p roster.RosterPerson) bool { return p.ID == id })
}

// standing is who stands where, to be compared.
func standing(a *roster.SeasonRoster) map[roster.ByHand]bool {
	out := map[roster.ByHand]bool{}
	for _, r := range a.Rows {
		for _, p := range r.People {
			out[roster.ByHand{Person: p.ID, Launch: r.Launch, Day: r.Day, From: r.From}] = true
		}
	}
	return out
}

// The manager gives one place to a person of her choice: nobody else moves, and a later repair leaves her choice alone.
func TestOnePlaceIsGiven(t *testing.T) {
	w, book := records(t, nil)
	ask := twoWeeks(w)
	first := made(t, book, ask)
	at := placeOf(&first.Rows[0], first.Rows[0].People[0].ID)
	c, err := roster.Choices(book, ask.Changing("one", first), at)
	if err != nil {
		t.Fatal(err)
	}
	if c.Holder == nil || c.Holder.ID != at.Holder || len(c.People) == 0 || !c.People[0].May || len(c.People[0].Breaks) > 0 {
		t.Fatalf("%+v", c)
	}
	for i, p := range c.People {
		if p.ID == at.Holder || p.May == (len(p.Against) > 0 && len(p.Breaks) == 0) || i > 0 && p.May && !c.People[i-1].May {
			t.Errorf("%+v", p)
		}
	}
	to := c.People[0]
	second := ask.Giving("one", first, roster.PlaceGiven{RosterPlace: at, Person: to.ID})
	b := made(t, book, second)
	if stands(&b.Rows[0], at.Holder) || !stands(&b.Rows[0], to.ID) || b.Changed != 1 || b.Open != first.Open {
		t.Errorf("row %+v, %d changed, %d open of %d", b.Rows[0], b.Changed, b.Open, first.Open)
	}
	want := standing(first)
	delete(want, roster.ByHand{Person: at.Holder, Launch: at.Launch, Day: at.Day, From: at.From})
	want[roster.ByHand{Person: to.ID, Launch: at.Launch, Day: at.Day, From: at.From}] = true
	for who := range standing(b) {
		if !want[who] {
			t.Errorf("%+v moved", who)
		}
	}
	// Somebody else falls ill.
	last := b.Rows[len(b.Rows)-1]
	d := made(t, book, second.Repairing("two", b, []roster.ByHand{{Person: last.People[0].ID, Launch: last.Launch, Day: last.Day, From: last.From}}))
	if !stands(&d.Rows[0], to.ID) {
		t.Errorf("a repair undoes what was given by hand: %+v", d.Rows[0])
	}
	// And the one who got it falls ill too: then somebody else stands there.
	e := made(t, book, second.Repairing("two", b, []roster.ByHand{{Person: to.ID, Launch: at.Launch, Day: at.Day, From: at.From}}))
	if stands(&e.Rows[0], to.ID) || !strings.Contains(strings.Join(e.Notes, " "), to.Name+" was given ") {
		t.Errorf("%+v, %v", e.Rows[0], e.Notes)
	}
}

// Others may not, each for a reason that is told.
func TestWhyOthersMayNot(t *testing.T) {
	w, plain := records(t, nil)
	ask := twoWeeks(w)
	first := made(t, plain, ask)
	at := placeOf(&first.Rows[0], first.Rows[0].People[0].ID)
	var idle []roster.RosterPerson // stand nowhere near the place
	list, err := roster.Choices(plain, ask.Changing("one", first), at)
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range list.People {
		if p.May && len(p.Breaks) == 0 {
			idle = append(idle, p.RosterPerson)
		}
	}
	if len(idle) < 3 {
		t.Fatalf("only %d may: too few to try", len(idle))
	}
	_, book := records(t, func(w *demo.World) []thwart.Kept { return []thwart.Kept{away(w, idle[0].ID)} })
	change := ask.Changing("one", first)
	change.Barred = []roster.ByHand{{Person: idle[1].ID, Launch: at.Launch, Day: at.Day, From: at.From}}
	change.MaxHours = 1
	c, err := roster.Choices(book, change, at)
	if err != nil {
		t.Fatal(err)
	}
	told := map[string]string{}
	for _, p := range c.People {
		if p.May {
			t.Errorf("%s may have six hours where one is allowed", p.Name)
		}
		told[p.ID] = strings.Join(p.Against, " ")
	}
	for id, want := range map[string]string{
		idle[0].ID: "Is absent that day.", idle[1].ID: "Was said not to be able to come to this shift.", idle[2].ID: "hours that week, at most 1 are allowed.",
	} {
		if !strings.Contains(told[id], want) {
			t.Errorf("%q, want %q", told[id], want)
		}
	}
	// A year on the certificates have lapsed.
	ask.From, ask.To = "2027-07-12", "2027-07-13"
	late := made(t, plain, ask)
	c, err = roster.Choices(plain, ask.Changing("late", late), placeOf(&late.Rows[0], ""))
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range c.People {
		if p.May || !strings.Contains(p.Against[0], "certificate") {
			t.Errorf("%+v", p)
		}
	}
	_, err = roster.Make(t.Context(), plain, ask.Giving("late", late, roster.PlaceGiven{RosterPlace: placeOf(&late.Rows[0], ""), Person: idle[0].ID}), nil, nil)
	var errs thwart.FieldErrors
	if !errors.As(err, &errs) || errs[0].Field != "give.person" || !strings.Contains(errs[0].Accepted, "certificate") {
		t.Errorf("somebody without a certificate is given a place: %v", err)
	}
}

// Whoever works elsewhere at that time can leave it, and what that breaks is told before.
func TestWhatASwapBreaks(t *testing.T) {
	w, book := records(t, nil)
	ask := twoWeeks(w)
	first := made(t, book, ask)
	var here, there *roster.RosterRow
	for i := range first.Rows {
		if r := &first.Rows[i]; here == nil {
			here = r
		} else if r.Day == here.Day && r.Launch != here.Launch && len(r.People) == 1 {
			there = r
			break
		}
	}
	at := placeOf(here, here.People[0].ID)
	c, err := roster.Choices(book, ask.Changing("one", first), at)
	if err != nil {
		t.Fatal(err)
	}
	i := slices.IndexFunc(c.People, func(p roster.PlaceChoice) bool { return p.ID == there.People[0].ID })
	p := c.People[i]
	if want := "Leaves " + there.Name + ", 1 June, 06:00–12:00; missing there then: 1 of 1."; !p.May || !slices.Equal(p.Breaks, []string{want}) {
		t.Fatalf("%+v, want %q", p, want)
	}
	b := made(t, book, ask.Giving("one", first, roster.PlaceGiven{RosterPlace: at, Person: p.ID}))
	for _, r := range b.Rows {
		if r.Launch == there.Launch && r.Day == there.Day && (len(r.People) != 0 || r.Open != 1) {
			t.Errorf("%+v", r)
		}
	}
	if b.Open != first.Open+1 || b.Changed != 2 {
		t.Errorf("%d open before, %d after, %d changed", first.Open, b.Open, b.Changed)
	}
}

func TestPlacesRefused(t *testing.T) {
	w, book := records(t, nil)
	ask := twoWeeks(w)
	first := made(t, book, ask)
	row := &first.Rows[0]
	holder := row.People[0].ID
	other := first.People[slices.IndexFunc(first.People, func(p roster.RosterLoad) bool { return !stands(row, p.ID) })].ID
	for field, g := range map[string]roster.PlaceGiven{
		"give.from":   {RosterPlace: roster.RosterPlace{Launch: row.Launch, Day: row.Day, From: 5, Holder: holder}, Person: other},
		"give.holder": {RosterPlace: placeOf(row, other), Person: holder},
		"give.person": {RosterPlace: placeOf(row, holder), Person: "nobody"},
	} {
		_, err := roster.Make(t.Context(), book, ask.Giving("one", first, g), nil, nil)
		var errs thwart.FieldErrors
		if !errors.As(err, &errs) || errs[0].Field != field {
			t.Errorf("%s: %v", field, err)
		}
	}
	full := slices.IndexFunc(first.Rows, func(r roster.RosterRow) bool { return r.Open == 0 })
	if _, err := roster.Choices(book, ask.Changing("one", first), placeOf(&first.Rows[full], "")); err == nil {
		t.Error("a place is chosen where none is open")
	}
}

// A shift that was moved since the roster was made keeps nobody from changing the rest of it, and that it is missing is said.
func TestAShiftThatWasMovedStopsNoChange(t *testing.T) {
	w, book := records(t, nil)
	ask := twoWeeks(w)
	first := made(t, book, ask)
	row := &first.Rows[0]
	c, err := roster.Choices(book, ask.Changing("one", first), placeOf(row, row.People[0].ID))
	if err != nil {
		t.Fatal(err)
	}
	change := ask.Giving("one", first, roster.PlaceGiven{RosterPlace: placeOf(row, row.People[0].ID), Person: c.People[0].ID})
	gone := roster.ByHand{Person: row.People[0].ID, Launch: row.Launch, Day: row.Day, From: 5}
	change.Keep, change.Barred = append(change.Keep, gone), []roster.ByHand{gone}
	b := made(t, book, change)
	if !stands(&b.Rows[0], c.People[0].ID) || strings.Count(strings.Join(b.Notes, " "), "not there any more: 1.") != 2 {
		t.Errorf("%+v, %q", b.Rows[0], b.Notes)
	}
}

// A shift that begins at half past is found again: what is kept is compared by the minute.
func TestHalfHoursAreKept(t *testing.T) {
	ask := roster.RosterAsk{}
	was := &roster.SeasonRoster{Rows: []roster.RosterRow{{Launch: "a", Day: "2026-06-01", From: 6.5, People: []roster.RosterPerson{{ID: "p"}}}}}
	text, err := json.Marshal(ask.Changing("one", was))
	if err != nil {
		t.Fatal(err)
	}
	var back roster.RosterAsk
	if err := json.Unmarshal(text, &back); err != nil || len(back.Keep) != 1 || back.Keep[0].From != 6.5 {
		t.Errorf("%+v, %v", back.Keep, err)
	}
}

// Who loses a shift gets it cancelled: the same event, a higher sequence. Who gains it gets an event like any other.
func TestALostShiftIsCancelled(t *testing.T) {
	w, book := records(t, nil)
	ask := twoWeeks(w)
	first := made(t, book, ask)
	row := &first.Rows[0]
	loser := row.People[0]
	c, err := roster.Choices(book, ask.Changing("one", first), placeOf(row, loser.ID))
	if err != nil {
		t.Fatal(err)
	}
	gainer := c.People[0]
	two := ask.Giving("one", first, roster.PlaceGiven{RosterPlace: placeOf(row, loser.ID), Person: gainer.ID})
	second := made(t, book, two)
	three := two.Giving("two", second, roster.PlaceGiven{RosterPlace: placeOf(row, gainer.ID), Person: loser.ID})
	third := made(t, book, three)
	day := time.Date(2026, 5, 20, 9, 0, 0, 0, time.UTC)
	editions := []calendar.Edition{{Roster: first, Made: day}, {Roster: second, Made: day.AddDate(0, 0, 1)}, {Roster: third, Made: day.AddDate(0, 0, 2)}}
	read := func(n int, person string) map[string]*ics.VEvent {
		t.Helper()
		text, err := calendar.Of(editions[:n], "Shifts", person, time.UTC, time.LoadLocation)
		if err != nil {
			t.Fatal(err)
		}
		cal, err := ics.ParseCalendar(strings.NewReader(text))
		if err != nil {
			t.Fatal(err)
		}
		out := map[string]*ics.VEvent{}
		for _, e := range cal.Events() {
			if out[e.Id()] != nil {
				t.Errorf("event %s twice", e.Id())
			}
			if person != "" && strings.Contains(e.Id(), person) {
				t.Errorf("an id tells the person: %s", e.Id())
			}
			out[e.Id()] = e
		}
		return out
	}
	value := func(e *ics.VEvent, p ics.ComponentProperty) string {
		if e == nil || e.GetProperty(p) == nil {
			return ""
		}
		return e.GetProperty(p).Value
	}
	only := func(now, before map[string]*ics.VEvent) string {
		for id := range now {
			if before[id] == nil {
				return id
			}
		}
		return ""
	}
	before, after := read(1, loser.ID), read(2, loser.ID)
	var lost []string
	for id, e := range after {
		if value(e, ics.ComponentPropertyStatus) == "CANCELLED" {
			lost = append(lost, id)
			if was := before[id]; was == nil || value(was, ics.ComponentPropertyDtStart) != value(e, ics.ComponentPropertyDtStart) ||
				value(was, ics.ComponentPropertySequence) != "0" || value(e, ics.ComponentPropertySequence) != "1" {
				t.Errorf("cancelled %+v, was %+v", e, was)
			}
			start, err := e.GetStartAt()
			if err != nil || start.UTC().Format(time.DateOnly) != row.Day {
				t.Errorf("%v, %v", start, err)
			}
		}
	}
	if len(lost) != 1 || len(after) != len(before) {
		t.Fatalf("%d cancelled, %d events of %d", len(lost), len(after), len(before))
	}
	gained := only(read(2, gainer.ID), read(1, gainer.ID))
	if e := read(2, gainer.ID)[gained]; gained == "" || gained == lost[0] || value(e, ics.ComponentPropertyStatus) != "CONFIRMED" {
		t.Errorf("the one who gains it has %+v", e)
	}
	// It comes back: the same event again, sequence higher still, and now the other's is cancelled.
	if e := read(3, loser.ID)[lost[0]]; value(e, ics.ComponentPropertyStatus) != "CONFIRMED" || value(e, ics.ComponentPropertySequence) != "2" {
		t.Errorf("%+v", e)
	}
	if e := read(3, gainer.ID)[gained]; value(e, ics.ComponentPropertyStatus) != "CANCELLED" || value(e, ics.ComponentPropertySequence) != "2" {
		t.Errorf("%+v", e)
	}
	// Everybody's calendar has the shift as it was: it takes place. That others stand there raises its sequence.
	for id, e := range read(2, "") {
		moved := value(e, ics.ComponentPropertySequence) == "1"
		if value(e, ics.ComponentPropertyStatus) != "CONFIRMED" || moved != strings.HasPrefix(id, row.Launch+"-"+row.Day+"-06") {
			t.Errorf("%s: %+v", id, e)
		}
	}
	// Long after its end nobody has to be told any more.
	editions[1].Made = time.Date(2026, 8, 1, 0, 0, 0, 0, time.UTC)
	if e := read(2, loser.ID)[lost[0]]; e != nil {
		t.Errorf("still told: %+v", e)
	}
}
