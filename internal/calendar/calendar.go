// Package calendar writes rosters as iCalendar (RFC 5545), which every calendar program reads and subscribes to.
package calendar

import (
	"fmt"
	"slices"
	"strings"
	"time"

	ics "github.com/arran4/golang-ical"
	"github.com/google/uuid"

	"thwart/season/roster"
)

// Edition is a roster as it stood from a moment on.
type Edition struct {
	Roster *roster.SeasonRoster
	Made   time.Time
}

// toldFor is how long after its end a shift that was lost is still told as cancelled: long enough for a calendar that is read
// again only now and then, or for an absence that was written down afterwards (common practice, no source).
const toldFor = 31 * 24 * time.Hour

// Of writes the shifts of one person, or of everybody when person is empty, as they stand in the latest of some editions of a
// roster, the oldest first. Times are in UTC: the launch's clock is turned by its zone. zone finds a zone by its name, as
// [time.LoadLocation] does; a shift whose launch names none, or one nobody knows, is written by the fallback.
//
// A shift that somebody had in an earlier edition and has no more is written with STATUS:CANCELLED (RFC 5545, section 3.8.1.11),
// which a published calendar may hold (RFC 5546, section 3.2.1). SEQUENCE is the edition in which a shift last changed, counted
// from 0, so that it rises with every change (RFC 5545, section 3.8.7.4).
func Of(editions []Edition, name, person string, fallback *time.Location, zone func(string) (*time.Location, error)) (string, error) {
	c := ics.NewCalendar()
	c.SetMethod(ics.MethodPublish)
	c.SetProductId("-//thwart//roster//EN")
	c.SetXWRCalName(name)
	if len(editions) == 0 {
		return "", fmt.Errorf("a calendar of %d rosters: at least one is needed", len(editions))
	}
	made := editions[len(editions)-1].Made
	for _, t := range turns(editions, person) {
		r := t.row
		where := fallback
		if r.Zone != "" {
			if z, err := zone(r.Zone); err == nil {
				where = z
			}
		}
		day, err := time.ParseInLocation(time.DateOnly, r.Day, where)
		if err != nil {
			return "", fmt.Errorf("day %q of a roster: %w", r.Day, err)
		}
		at := func(hour float64) time.Time {
			return time.Date(day.Year(), day.Month(), day.Day(), 0, int(hour*60+0.5), 0, 0, where)
		}
		if t.lost && at(r.To).Before(made.Add(-toldFor)) {
			continue
		}
		e := c.AddEvent(uid(r, person))
		e.SetDtStampTime(made.UTC())
		e.SetSequence(t.edition)
		e.SetStartAt(at(r.From).UTC())
		e.SetEndAt(at(r.To).UTC())
		e.SetLocation(r.Name)
		if t.lost {
			e.SetStatus(ics.ObjectStatusCancelled)
			e.SetSummary(r.Name)
			continue
		}
		e.SetStatus(ics.ObjectStatusConfirmed)
		e.SetSummary(title(r))
		e.SetDescription(people(r))
	}
	return c.Serialize(ics.WithNewLine("\r\n")), nil
}

// turn is a shift as a calendar has it.
type turn struct {
	row     *roster.RosterRow // as it last was in the calendar
	edition int               // in which it last changed
	lost    bool
}

// turns are the shifts of a calendar through all editions: those that stand, then those that were lost.
func turns(editions []Edition, person string) []*turn {
	var all []*turn
	known := map[string]*turn{}
	for n, ed := range editions {
		here := map[string]bool{}
		for i := range ed.Roster.Rows {
			r := &ed.Roster.Rows[i]
			if person != "" && !on(r, person) {
				continue
			}
			k := key(r)
			here[k] = true
			t := known[k]
			switch {
			case t == nil:
				t = &turn{row: r, edition: n}
				known[k] = t
				all = append(all, t)
			case t.lost || changed(t.row, r):
				t.edition = n
			}
			t.row, t.lost = r, false
		}
		for k, t := range known {
			if !t.lost && !here[k] {
				t.edition, t.lost = n, true
			}
		}
	}
	slices.SortStableFunc(all, func(a, b *turn) int {
		switch {
		case a.lost != b.lost && b.lost:
			return -1
		case a.lost != b.lost:
			return 1
		}
		return strings.Compare(a.row.Day, b.row.Day)
	})
	return all
}

// changed tells whether a shift reads otherwise than before.
func changed(a, b *roster.RosterRow) bool {
	return a.To != b.To || a.Name != b.Name || a.Zone != b.Zone || title(a) != title(b) || people(a) != people(b)
}

// key is what a shift is known by in every edition of a roster.
func key(r *roster.RosterRow) string { return fmt.Sprintf("%s-%s-%02.0f", r.Launch, r.Day, r.From) }

// uid is the same for the same shift in every edition of the roster, so that a calendar moves it instead of adding another. One
// person's place on a shift is an event of its own: it can be cancelled while the shift stands. Its id is a hash (UUID version 5, RFC
// 9562, section 5.5), because an id may not tell who is meant (RFC 7986, section 5.3).
func uid(r *roster.RosterRow, person string) string {
	id := key(r) + "@thwart"
	if person == "" {
		return id
	}
	return uuid.NewSHA1(uuid.NameSpaceOID, []byte(person+" "+id)).String()
}

func on(r *roster.RosterRow, person string) bool {
	for _, p := range r.People {
		if p.ID == person {
			return true
		}
	}
	return false
}

func title(r *roster.RosterRow) string {
	if r.Open > 0 {
		return fmt.Sprintf("%s (%d missing)", r.Name, r.Open)
	}
	return r.Name
}

func people(r *roster.RosterRow) string {
	names := make([]string, 0, len(r.People)+1)
	for _, p := range r.People {
		n := p.Name
		if p.New {
			n += " (new)"
		}
		names = append(names, n)
	}
	if r.Open > 0 {
		names = append(names, fmt.Sprintf("%d missing", r.Open))
	}
	return strings.Join(names, ", ")
}
