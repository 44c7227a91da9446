package thwart

import (
	"encoding/json"
	"fmt"
	"time"
)

// Plan is a way to spend a season's hours and units, as it was computed. Of several the programme chooses one.
type Plan struct {
	Name        string          `json:"name"`
	Season      string          `json:"season"` // such as 2026
	Constraints json.RawMessage `json:"constraints"`
	Result      json.RawMessage `json:"result,omitempty"` // summary; the whole can be computed again
	Seed        int64           `json:"seed,omitempty"`
	Value       *float64        `json:"value,omitempty"` // of the plan, in the unit that the result names
	Bound       *float64        `json:"bound,omitempty"` // no plan under these constraints is worth more
	Gap         *float64        `json:"gap,omitempty"`   // (bound - value) / bound, 0 to 1
	Chosen      bool            `json:"chosen,omitempty"`
}

// Validate checks names and that the parts in JSON are objects.
func (p Plan) Validate() error {
	var c check
	c.required("name", p.Name, "what the plan is called")
	c.text("name", p.Name, MaxLine)
	c.required("season", p.Season, "the season it is for, such as 2026")
	c.text("season", p.Season, 40)
	for name, raw := range map[string]json.RawMessage{"constraints": p.Constraints, "result": p.Result} {
		var object map[string]json.RawMessage
		if len(raw) == 0 && name == "result" {
			continue
		}
		if json.Unmarshal(raw, &object) != nil || object == nil {
			c.fail(name, string(raw), "an object in JSON")
		}
	}
	c.within("seed", float64(p.Seed), 0, 1<<53-1, "")
	if p.Gap != nil {
		c.within("gap", *p.Gap, 0, 1, "")
	}
	if p.Bound != nil && p.Value != nil && *p.Bound < *p.Value {
		c.fail("bound", *p.Bound, "a number not below value")
	}
	return c.err()
}

// PlannedShift is who is to stand where and when. What then happened is a [Shift].
type PlannedShift struct {
	Launch string    `json:"launch"`
	From   time.Time `json:"from"`
	To     time.Time `json:"to"`
	People []string  `json:"people"`         // may be empty: nobody found yet
	Unit   string    `json:"unit,omitempty"` // wash unit that is to be there
	Plan   string    `json:"plan,omitempty"`
	Note   string    `json:"note,omitempty"`
}

// Validate checks ids and times.
func (s PlannedShift) Validate() error {
	var c check
	c.id("launch", s.Launch, "a launch", false)
	c.id("unit", s.Unit, "a wash unit", true)
	c.id("plan", s.Plan, "a plan", true)
	if s.From.IsZero() {
		c.fail("from", "", "when the shift is to begin")
	}
	if h := s.To.Sub(s.From).Hours(); h <= 0 || h > 24 {
		c.fail("to", s.To.Format(time.RFC3339), "a time after from, within 24 hours")
	}
	if len(s.People) > 20 {
		c.fail("people", len(s.People), "at most 20 people")
	}
	for i, p := range s.People {
		c.id(fmt.Sprintf("people[%d]", i), p, "a person", false)
	}
	c.text("note", s.Note, MaxNote)
	return c.err()
}

// Weekdays are the words for days of the week, Monday first as in ISO 8601.
var Weekdays = []string{"mon", "tue", "wed", "thu", "fri", "sat", "sun"}

// Availability says when a person can work.
type Availability struct {
	Person   string   `json:"person"`
	From     string   `json:"from"`               // first day, such as 2026-05-01
	To       string   `json:"to"`                 // last day, included
	Days     []string `json:"days,omitempty"`     // of the week; empty = every day
	MaxHours float64  `json:"maxHours,omitempty"` // a week; 0 = not told
	Away     bool     `json:"away,omitempty"`     // not available then
	Note     string   `json:"note,omitempty"`
}

// Validate checks days and hours.
func (a Availability) Validate() error {
	var c check
	c.id("person", a.Person, "a person", false)
	c.required("from", a.From, "the first day, such as 2026-05-01")
	c.required("to", a.To, "the last day, such as 2026-09-30")
	from, to := c.date("from", a.From), c.date("to", a.To)
	if !from.IsZero() && !to.IsZero() && to.Before(from) {
		c.fail("to", a.To, "a day not before from")
	}
	if len(a.Days) > len(Weekdays) {
		c.fail("days", len(a.Days), "at most seven days")
	}
	for i, d := range a.Days {
		oneOf(&c, fmt.Sprintf("days[%d]", i), d, Weekdays...)
	}
	c.within("maxHours", a.MaxHours, 0, 168, "hours a week")
	c.text("note", a.Note, MaxNote)
	return c.err()
}
