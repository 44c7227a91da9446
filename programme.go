package thwart

import (
	"context"
	"encoding/json"
	"fmt"
	"time"

	"thwart/tongue"
)

// Programme is what a programme says of itself: one record, edited by the manager, pulled by every phone.
type Programme struct {
	Name       string    `json:"name"`
	Zone       string    `json:"zone"`                 // IANA time zone of the office, such as America/Chicago
	Letterhead []string  `json:"letterhead,omitempty"` // lines on top of printed pages
	Units      string    `json:"units,omitempty"`      // metric or us; empty = each person's own choice
	Languages  []string  `json:"languages,omitempty"`  // BCP 47 tags, the first is the usual one
	Licence    string    `json:"licence,omitempty"`    // of open data, as an SPDX id or a link
	Citation   string    `json:"citation,omitempty"`   // how open data are to be cited
	Contacts   []Contact `json:"contacts,omitempty"`
	Costs      Costs     `json:"costs"`
	Retention  Retention `json:"retention"`
	Protocol   string    `json:"protocol,omitempty"`   // id@version that phones begin with
	SeasonFrom string    `json:"seasonFrom,omitempty"` // first day, such as 2026-05-01
	SeasonTo   string    `json:"seasonTo,omitempty"`   // last day, included
}

// Contact is an office to be called, never a person's own number.
type Contact struct {
	Role  string `json:"role"`  // such as agency, escalation, emergency
	Words string `json:"words"` // which office, when it answers, what to say
	Phone string `json:"phone"`
}

// Costs of the work, in the programme's own money. Zero = not told.
type Costs struct {
	Currency       string  `json:"currency,omitempty"` // ISO 4217, such as USD
	PerStewardHour float64 `json:"perStewardHour,omitempty"`
	PerWash        float64 `json:"perWash,omitempty"`
}

// Retention says for how many days personal fields are kept. Zero = until somebody purges them; the law may ask for less.
type Retention struct {
	MarkDays  int `json:"markDays,omitempty"`  // hashes of registrations
	NoteDays  int `json:"noteDays,omitempty"`  // free text
	PhotoDays int `json:"photoDays,omitempty"` // pictures that belong to no incident
	TrialDays int `json:"trialDays,omitempty"` // who found what in trials and drills
}

// ProgrammeOf gives the programme's own record; where none is written, one that says nothing.
func ProgrammeOf(ctx context.Context, s Store) (p Programme, err error) {
	page, err := s.Subjects(ctx, SubjectQuery{Kind: KindProgramme, Limit: 1})
	if err == nil && len(page.Items) > 0 {
		err = json.Unmarshal(page.Items[0].Body, &p)
	}
	return p, err
}

// Order is what a purge by these rules takes away at a moment: what is older than so many whole days.
func (r Retention) Order(now time.Time) PurgeOrder {
	before := func(days int) time.Time {
		if days == 0 {
			return time.Time{}
		}
		return now.UTC().Truncate(24*time.Hour).AddDate(0, 0, -days)
	}
	return PurgeOrder{MarksBefore: before(r.MarkDays), NotesBefore: before(r.NoteDays), PhotosBefore: before(r.PhotoDays), TrialsBefore: before(r.TrialDays), At: now}
}

// Limits of texts that people of the office write.
const (
	MaxLine  = 200
	MaxLines = 12
)

// text refuses a text that is too long.
func (c *check) text(field, value string, most int) {
	if len(value) > most {
		c.fail(field, value, tongue.Say("at most {n} characters", tongue.Int(most)))
	}
}

// id refuses what is no id. Where may is set it may be left out.
func (c *check) id(field, value, of string, may bool) {
	if !IsID(value) && (value != "" || !may) {
		c.fail(field, value, "the id of "+of)
	}
}

// date refuses a text that is neither empty nor a day, and gives the day.
func (c *check) date(field, value string) time.Time {
	t, err := time.Parse(time.DateOnly, value)
	if value != "" && err != nil {
		c.fail(field, value, "a day such as 2026-05-01")
	}
	return t
}

// Validate checks names, vocabularies and limits.
func (p Programme) Validate() error {
	var c check
	c.required("name", p.Name, "what the programme is called")
	c.text("name", p.Name, MaxLine)
	if !isZone(p.Zone) {
		c.fail("zone", p.Zone, "an IANA time zone such as America/Chicago")
	}
	if len(p.Letterhead) > MaxLines {
		c.fail("letterhead", len(p.Letterhead), tongue.Say("at most {n} lines", tongue.Int(MaxLines)))
	}
	for i, l := range p.Letterhead {
		c.text(fmt.Sprintf("letterhead[%d]", i), l, MaxLine)
	}
	if p.Units != "" {
		oneOf(&c, "units", p.Units, "metric", "us")
	}
	for i, l := range p.Languages {
		if !isLanguage(l) {
			c.fail(fmt.Sprintf("languages[%d]", i), l, "a language tag such as en or es-MX")
		}
	}
	c.text("licence", p.Licence, MaxLine)
	c.text("citation", p.Citation, MaxNote)
	for i, x := range p.Contacts {
		f := fmt.Sprintf("contacts[%d].", i)
		c.required(f+"role", x.Role, "what the office is for, such as agency or escalation")
		c.text(f+"role", x.Role, MaxLine)
		c.text(f+"words", x.Words, MaxNote)
		if !isPhone(x.Phone) {
			c.fail(f+"phone", x.Phone, "the phone number of an office")
		}
	}
	if x := p.Costs.Currency; x != "" && !isCurrency(x) {
		c.fail("costs.currency", x, "three capital letters of ISO 4217, such as USD")
	}
	c.within("costs.perStewardHour", p.Costs.PerStewardHour, 0, 10000, "an hour")
	c.within("costs.perWash", p.Costs.PerWash, 0, 100000, "a wash")
	for name, days := range map[string]int{"markDays": p.Retention.MarkDays, "noteDays": p.Retention.NoteDays,
		"photoDays": p.Retention.PhotoDays, "trialDays": p.Retention.TrialDays} {
		c.within("retention."+name, float64(days), 0, 36500, "days")
	}
	if p.Protocol != "" && !isProtocolRef(p.Protocol) {
		c.fail("protocol", p.Protocol, "a protocol as id@version")
	}
	from, to := c.date("seasonFrom", p.SeasonFrom), c.date("seasonTo", p.SeasonTo)
	if !from.IsZero() && !to.IsZero() && to.Before(from) {
		c.fail("seasonTo", p.SeasonTo, "a day not before seasonFrom")
	}
	return c.err()
}

// View is a list as a manager wants to see it again.
type View struct {
	Page   string `json:"page"` // of the web client, such as encounters
	Name   string `json:"name"`
	Filter string `json:"filter"` // as the page writes it into its address
}

// Validate checks lengths.
func (v View) Validate() error {
	var c check
	c.required("page", v.Page, "the page the list is on")
	c.text("page", v.Page, 60)
	c.required("name", v.Name, "what the view is called")
	c.text("name", v.Name, MaxLine)
	c.text("filter", v.Filter, 4000)
	return c.err()
}

// Call says that somebody was told of an incident.
type Call struct {
	At    time.Time `json:"at"`
	Role  string    `json:"role"` // of the office, as in [Programme.Contacts]
	Words string    `json:"words,omitempty"`
	Phone string    `json:"phone,omitempty"`
}

// IncidentNote is one line of what happened.
type IncidentNote struct {
	At   time.Time `json:"at"`
	By   string    `json:"by,omitempty"` // subject of a person
	Text string    `json:"text"`
}

// Incident is something that needs more than the launch can give: a craft held with live animals, an accident, a find in a
// water. Pictures of its encounter stay while it is open.
type Incident struct {
	What      string         `json:"what"`
	Encounter string         `json:"encounter,omitempty"`
	Water     string         `json:"water,omitempty"`
	OpenedAt  time.Time      `json:"openedAt"`
	State     string         `json:"state"` // open or closed
	ClosedAt  *time.Time     `json:"closedAt,omitempty"`
	Notes     []IncidentNote `json:"notes,omitempty"`
	Called    []Call         `json:"called,omitempty"`
}

// States of an incident.
const (
	IncidentOpen   = "open"
	IncidentClosed = "closed"
)

// Validate checks times and lengths.
func (x Incident) Validate() error {
	var c check
	c.required("what", x.What, "what happened, in a few words")
	c.text("what", x.What, MaxNote)
	c.id("encounter", x.Encounter, "an inspection", true)
	c.id("water", x.Water, "a water", true)
	if x.OpenedAt.IsZero() {
		c.fail("openedAt", "", "when it was noticed")
	}
	oneOf(&c, "state", x.State, IncidentOpen, IncidentClosed)
	switch {
	case x.State == IncidentClosed && (x.ClosedAt == nil || x.ClosedAt.Before(x.OpenedAt)):
		c.fail("closedAt", x.ClosedAt, "when it was closed, not before openedAt")
	case x.State == IncidentOpen && x.ClosedAt != nil:
		c.fail("closedAt", x.ClosedAt.Format(time.RFC3339), "left out while it is open")
	}
	if len(x.Notes) > 500 || len(x.Called) > 100 {
		c.fail("notes", len(x.Notes), "at most 500 notes and 100 calls")
	}
	for i, n := range x.Notes {
		f := fmt.Sprintf("notes[%d].", i)
		if n.At.IsZero() {
			c.fail(f+"at", "", "when it was so")
		}
		c.id(f+"by", n.By, "a person", true)
		c.required(f+"text", n.Text, "what happened or was done")
		c.text(f+"text", n.Text, MaxNote)
	}
	for i, n := range x.Called {
		f := fmt.Sprintf("called[%d].", i)
		if n.At.IsZero() {
			c.fail(f+"at", "", "when the office was called")
		}
		c.required(f+"role", n.Role, "which office was called")
		c.text(f+"words", n.Words, MaxNote)
	}
	return c.err()
}
