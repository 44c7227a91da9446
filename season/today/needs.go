package today

import (
	"cmp"
	"slices"
	"time"

	"thwart"
	"thwart/season"
)

// What is one sort of thing that needs a person.
type What string

// Sorts of need, the most pressing first.
const (
	OpenIncident  What = "incident"    // not closed
	CraftHeld     What = "held"        // held today, to be followed up
	RecordRefused What = "refused"     // could not be taken
	PhoneSilent   What = "silent"      // not heard from for a day while its lease runs
	ShiftUnfilled What = "unfilled"    // planned in the next week, nobody on it
	UnitOut       What = "out"         // a wash unit out of service
	GaugeDue      What = "gauge"       // a thermometer not checked for a month, or never
	Lapsing       What = "certificate" // ends within two weeks
	TwinsToDecide What = "twins"       // pairs that may be one craft
	Doubted       What = "doubted"     // records that are hard to believe and were not looked at
	Conflicting   What = "conflict"    // two corrections compete
	RecordUnread  What = "unread"      // entries that could not be read
	LongShift     What = "open_shift"  // began yesterday or earlier and was never closed
)

var order = []What{
	OpenIncident, CraftHeld, RecordRefused, PhoneSilent, ShiftUnfilled, UnitOut, GaugeDue, Lapsing, TwinsToDecide, Doubted,
	Conflicting, RecordUnread, LongShift,
}

// Need is one thing, or several of a sort, that a person should look at.
type Need struct {
	What  What `json:"what"`
	Count int  `json:"count"`
	// Name and Subject say which, where it is one thing; Since from when, Until to when.
	Name    string     `json:"name,omitempty"`
	Subject string     `json:"subject,omitempty"`
	Since   *time.Time `json:"since,omitempty"`
	Until   *time.Time `json:"until,omitempty"`
}

func (t *teller) needs() []Need {
	var out []Need
	add := func(n Need) { out = append(out, n) }
	for _, i := range t.Incidents {
		if i.Body.State == thwart.IncidentOpen {
			add(Need{What: OpenIncident, Count: 1, Name: i.Body.What, Subject: i.Subject, Since: at(i.Body.OpenedAt)})
		}
	}
	t.held(add)
	if n := len(t.Refusals); n > 0 {
		add(Need{What: RecordRefused, Count: n, Since: at(t.Refusals[0].ReceivedAt)})
	}
	for _, d := range t.Devices {
		if d.RevokedAt == nil && d.LeaseUntil.After(t.Now) && d.LastSeenAt != nil && t.Now.Sub(*d.LastSeenAt) > SilentAfter {
			add(Need{What: PhoneSilent, Count: 1, Name: d.Name, Subject: d.ID, Since: d.LastSeenAt})
		}
	}
	for _, p := range t.Planned {
		if len(p.Body.People) == 0 && p.Body.To.After(t.Now) && p.Body.From.Sub(t.Now) < 7*24*time.Hour {
			add(Need{What: ShiftUnfilled, Count: 1, Name: t.launchName(p.Body.Launch), Subject: p.Subject, Since: at(p.Body.From)})
		}
	}
	t.units(add)
	t.people(add)
	if t.Twins > 0 {
		add(Need{What: TwinsToDecide, Count: t.Twins})
	}
	if t.Doubted > 0 {
		add(Need{What: Doubted, Count: t.Doubted})
	}
	t.records(add)
	slices.SortStableFunc(out, func(a, b Need) int { return cmp.Compare(slices.Index(order, a.What), slices.Index(order, b.What)) })
	return out
}

func (t *teller) launchName(subject string) string {
	if i := t.book.Index(subject); i != season.None && int(i) < len(t.book.Launches) {
		return t.book.Launches[i].Body.Name
	}
	return ""
}

// held points out each craft held today that no incident speaks of.
func (t *teller) held(add func(Need)) {
	known := map[string]bool{}
	for _, i := range t.Incidents {
		known[i.Body.Encounter] = true
	}
	today := t.today()
	for i := range today {
		e := &today[i]
		if e.LeftWith() != thwart.Hold || !e.Counts() || known[e.Subject] {
			continue
		}
		name := ""
		if e.Launch != season.None {
			name = t.book.Launches[e.Launch].Body.Name
		}
		add(Need{What: CraftHeld, Count: 1, Name: name, Subject: e.Subject, Since: at(e.At.Time())})
	}
}

func (t *teller) units(add func(Need)) {
	for i := range t.book.Units {
		u := &t.book.Units[i]
		if u.Body.OutOfService {
			add(Need{What: UnitOut, Count: 1, Name: u.Body.Name, Subject: u.Subject})
			continue
		}
		var last time.Time
		for _, c := range u.Body.Calibrations {
			if c.On.After(last) && !c.On.After(t.Now) {
				last = c.On
			}
		}
		if t.Now.Sub(last) > GaugeDueAfter {
			add(Need{What: GaugeDue, Count: 1, Name: u.Body.Name, Subject: u.Subject, Since: at(last)})
		}
	}
}

func (t *teller) people(add func(Need)) {
	for i := range t.book.People {
		p := &t.book.People[i]
		if p.Body.Left != nil && p.Body.Left.Before(t.Now) {
			continue
		}
		last := map[string]time.Time{}
		for _, c := range p.Body.Certificates {
			if c.Expires.After(last[c.For]) {
				last[c.For] = c.Expires
			}
		}
		for _, expires := range last {
			if left := expires.Sub(t.Now); left > -CertificateSoon && left <= CertificateSoon {
				add(Need{What: Lapsing, Count: 1, Name: p.Body.Name, Subject: p.Subject, Until: at(expires)})
				break
			}
		}
	}
}

func (t *teller) records(add func(Need)) {
	n := 0
	for i := range t.book.Encounters {
		if t.book.Encounters[i].Conflict {
			n++
		}
	}
	if n > 0 {
		add(Need{What: Conflicting, Count: n})
	}
	if t.book.Faulty > 0 {
		add(Need{What: RecordUnread, Count: t.book.Faulty})
	}
	for i := range t.book.Shifts {
		s := &t.book.Shifts[i]
		if s.To.Set || s.From.Day() >= t.day {
			continue
		}
		name := ""
		if s.Launch != season.None {
			name = t.book.Launches[s.Launch].Body.Name
		}
		add(Need{What: LongShift, Count: 1, Name: name, Subject: s.Subject, Since: at(s.From.Time())})
	}
}

func at(t time.Time) *time.Time {
	if t.IsZero() {
		return nil
	}
	return &t
}
