package thwart

import (
	"fmt"
	"time"

	"thwart/unit"
)

// Point is a position in degrees: longitude, latitude (WGS 84), in the order of GeoJSON (RFC 7946).
type Point [2]float64

// Lon and Lat name the two.
func (p Point) Lon() float64 { return p[0] }

// Lat is the latitude in degrees.
func (p Point) Lat() float64 { return p[1] }

func (p Point) validate(c *check, field string) {
	c.within(field+"[0]", p[0], -180, 180, "° longitude")
	c.within(field+"[1]", p[1], -90, 90, "° latitude")
}

// DatedStatus is what was known of one organism in one water over a time.
type DatedStatus struct {
	Organism string      `json:"organism"`
	Status   WaterStatus `json:"status"`
	From     time.Time   `json:"from"`
	To       *time.Time  `json:"to,omitempty"` // absent: still so
	// SuspectedSince reaches back before From: a craft that left after it counts as coming from a suspect water.
	SuspectedSince *time.Time `json:"suspectedSince,omitempty"`
	Evidence       string     `json:"evidence,omitempty"`
	DeclaredBy     string     `json:"declaredBy,omitempty"`
}

// WaterBody is a lake, reservoir or reach as the programme keeps it: where it is, what lives in it, since when and how that
// is known.
type WaterBody struct {
	Name     string        `json:"name"`
	Also     []string      `json:"also,omitempty"`    // other names people use
	Outline  [][]Point     `json:"outline,omitempty"` // rings: the shore first, then islands; each closed
	Centre   Point         `json:"centre"`
	AreaHa   float64       `json:"areaHa,omitempty"`
	Outside  bool          `json:"outside,omitempty"` // of the region: a source of craft, not in the programme's care
	Statuses []DatedStatus `json:"statuses,omitempty"`
	Others   WaterStatus   `json:"others,omitempty"` // of every organism without a status
	MaxTempC *unit.Celsius `json:"maxTempC,omitempty"`
}

// Validate checks limits, vocabularies and rings.
func (w WaterBody) Validate() error {
	var c check
	c.required("name", w.Name, "what people call the water")
	w.Centre.validate(&c, "centre")
	c.within("areaHa", w.AreaHa, 0, 1e7, "ha")
	word(&c, "others", w.Others, WaterStatuses)
	for i, ring := range w.Outline {
		f := fmt.Sprintf("outline[%d]", i)
		if len(ring) < 4 || ring[0] != ring[len(ring)-1] {
			c.fail(f, len(ring), "a closed ring of at least 4 points")
		}
		if len(ring) > 20000 {
			c.fail(f, len(ring), "at most 20000 points")
			continue
		}
		for k, p := range ring {
			p.validate(&c, fmt.Sprintf("%s[%d]", f, k))
		}
	}
	for i, s := range w.Statuses {
		f := fmt.Sprintf("statuses[%d].", i)
		c.required(f+"organism", s.Organism, "an organism of the library")
		word(&c, f+"status", s.Status, WaterStatuses)
		if s.From.IsZero() {
			c.fail(f+"from", "", "the date since when it is known")
		}
		if s.To != nil && s.To.Before(s.From) {
			c.fail(f+"to", s.To.Format(time.DateOnly), "a date not before from")
		}
		if s.SuspectedSince != nil && s.SuspectedSince.After(s.From) {
			c.fail(f+"suspectedSince", s.SuspectedSince.Format(time.DateOnly), "a date not after from")
		}
	}
	return c.err()
}

// At gives the water as it stood at a moment, for judging a craft that left it then. A craft that left between the first
// suspicion and the declaration comes from a suspect water.
func (w WaterBody) At(id string, t time.Time) Water {
	out := Water{ID: id, Name: w.Name, Others: w.Others, MaxTempC: w.MaxTempC, Status: map[string]WaterStatus{}}
	for _, s := range w.Statuses {
		status := s.Status
		switch {
		case s.To != nil && !t.Before(*s.To):
			continue
		case t.Before(s.From):
			if s.SuspectedSince == nil || t.Before(*s.SuspectedSince) || !s.Status.AtRisk() {
				continue
			}
			status = StatusSuspect
		}
		if old, ok := out.Status[s.Organism]; !ok || !old.AtRisk() {
			out.Status[s.Organism] = status
		}
	}
	return out
}

// Ramp is a launch: where craft enter and leave a water.
type Ramp struct {
	Name    string  `json:"name"`
	Water   string  `json:"water"` // subject of a water
	At      Point   `json:"at"`
	Lanes   int     `json:"lanes"`
	Opens   string  `json:"opens,omitempty"` // such as 05:30, local time
	Closes  string  `json:"closes,omitempty"`
	Zone    string  `json:"zone,omitempty"`    // IANA time zone
	Partner string  `json:"partner,omitempty"` // the association or owner that runs it
	Power   Answer  `json:"power,omitempty"`
	Signal  Answer  `json:"signal,omitempty"` // phone coverage
	Busy    float64 `json:"busy,omitempty"`   // craft a day as people who know it guess
}

// Validate checks what can be checked without the other records.
func (r Ramp) Validate() error {
	var c check
	c.required("name", r.Name, "what people call the launch")
	if !IsID(r.Water) {
		c.fail("water", r.Water, "the id of a water")
	}
	r.At.validate(&c, "at")
	c.within("lanes", float64(r.Lanes), 1, 20, "lanes")
	for name, s := range map[string]string{"opens": r.Opens, "closes": r.Closes} {
		if _, err := time.Parse("15:04", s); s != "" && err != nil {
			c.fail(name, s, "a time of day such as 05:30")
		}
	}
	word(&c, "power", r.Power, []Answer{Yes, No})
	word(&c, "signal", r.Signal, []Answer{Yes, No})
	c.within("busy", r.Busy, 0, 5000, "craft a day")
	return c.err()
}

// Calibration is one check of a unit's thermometer or spray.
type Calibration struct {
	On         time.Time   `json:"on"`
	PlusMinusC float64     `json:"plusMinusC"`
	OffsetC    float64     `json:"offsetC,omitempty"` // what the gauge read above the reference
	Spray      *SprayCheck `json:"spray,omitempty"`
	By         string      `json:"by,omitempty"`
}

// Kit is a wash unit as the programme keeps it.
type Kit struct {
	Name         string        `json:"name"`
	Launch       string        `json:"launch,omitempty"` // where it stands; empty = mobile
	Unit         WashUnit      `json:"unit"`
	Calibrations []Calibration `json:"calibrations,omitempty"`
	OutOfService bool          `json:"outOfService,omitempty"`
	Note         string        `json:"note,omitempty"`
}

// Validate checks limits.
func (k Kit) Validate() error {
	var c check
	c.required("name", k.Name, "what people call the unit")
	if k.Launch != "" && !IsID(k.Launch) {
		c.fail("launch", k.Launch, "the id of a launch, or leave it out for a mobile unit")
	}
	k.Unit.validate(&c, "unit.")
	for i, cal := range k.Calibrations {
		f := fmt.Sprintf("calibrations[%d].", i)
		if cal.On.IsZero() {
			c.fail(f+"on", "", "the date of the check")
		}
		c.within(f+"plusMinusC", cal.PlusMinusC, 0, 10, "°C")
		c.within(f+"offsetC", cal.OffsetC, -20, 20, "°C")
	}
	return c.err()
}

// Certificate says what a person may do until when.
type Certificate struct {
	For     string    `json:"for"` // inspect, wash, train
	From    time.Time `json:"from"`
	Expires time.Time `json:"expires"`
	By      string    `json:"by,omitempty"`
}

func (x Certificate) validate(c *check, field string) {
	oneOf(c, field+"for", x.For, "inspect", "wash", "train")
	if !x.Expires.After(x.From) {
		c.fail(field+"expires", x.Expires.Format(time.DateOnly), "a date after from")
	}
}

// Person is somebody who works for the programme. Boaters are never people in the records.
type Person struct {
	Name         string        `json:"name"`
	Roles        []Role        `json:"roles"`
	Partner      string        `json:"partner,omitempty"`
	Certificates []Certificate `json:"certificates,omitempty"` // brought from elsewhere; the programme's own are [Certified]
	Left         *time.Time    `json:"left,omitempty"`         // no longer works here
}

// Validate checks vocabularies.
func (p Person) Validate() error {
	var c check
	c.required("name", p.Name, "what colleagues call the person")
	if len(p.Roles) == 0 {
		c.fail("roles", "", "at least one role, such as steward")
	}
	for i, r := range p.Roles {
		oneOf(&c, fmt.Sprintf("roles[%d]", i), r, Roles...)
	}
	for i, x := range p.Certificates {
		x.validate(&c, fmt.Sprintf("certificates[%d].", i))
	}
	return c.err()
}
