// Package calendar writes rosters as iCalendar (RFC 5545), which every calendar program reads and subscribes to.
package calendar

import (
	"fmt"
	"strings"
	"time"

	ics "github.com/arran4/golang-ical"

	"thwart/season/roster"
)

// Of writes the shifts of one person, or of everybody when person is empty, stamped with the moment it was made. Times are in
// UTC: the launch's clock is turned by its zone. zone finds a zone by its name, as [time.LoadLocation] does; a shift whose
// launch names none, or one nobody knows, is written by the fallback.
func Of(a *roster.SeasonRoster, name, person string, made time.Time, fallback *time.Location, zone func(string) (*time.Location, error)) (string, error) {
	c := ics.NewCalendar()
	c.SetMethod(ics.MethodPublish)
	c.SetProductId("-//thwart//roster//EN")
	c.SetXWRCalName(name)
	for i := range a.Rows {
		r := &a.Rows[i]
		if person != "" && !on(r, person) {
			continue
		}
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
		// The same shift has the same id in every edition of the roster, so that a calendar moves it instead of adding another.
		e := c.AddEvent(fmt.Sprintf("%s-%s-%02.0f@thwart", r.Launch, r.Day, r.From))
		e.SetDtStampTime(made.UTC())
		e.SetStartAt(at(r.From).UTC())
		e.SetEndAt(at(r.To).UTC())
		e.SetSummary(title(r))
		e.SetLocation(r.Name)
		e.SetDescription(people(r))
	}
	return c.Serialize(ics.WithNewLine("\r\n")), nil
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
