package thwart

import (
	"fmt"
	"time"

	"thwart/form"
	"thwart/tongue"
	"thwart/unit"
)

// Shift is time on site: who stood where, from when to when. A count without its hours is useless, so every encounter
// belongs to one.
type Shift struct {
	Launch  string     `json:"launch"`
	People  []string   `json:"people"` // subjects of persons, the one in charge first
	From    time.Time  `json:"from"`
	To      *time.Time `json:"to,omitempty"`      // absent while it runs
	Clicker int        `json:"clicker,omitempty"` // hand count of all craft that came by
	Weather *Weather   `json:"weather,omitempty"` // when it began, as the steward said it; absent = not said
	Note    string     `json:"note,omitempty"`
}

// Weather is what a person says of the air at a launch, without an instrument: to the nearest of a few airs told apart by feel. Each
// part is said or left unsaid by itself; nil = not said.
type Weather struct {
	AirC  *unit.Celsius `json:"airC,omitempty"`  // °C, in the shade
	RHPct *float64      `json:"rhPct,omitempty"` // relative humidity, %
	Wet   *bool         `json:"wet,omitempty"`   // it rains, or what stands outside gets wet
}

func (w Weather) validate(c *check, at string) {
	if w.AirC != nil {
		c.within(at+"airC", float64(*w.AirC), -50, 60, "°C")
	}
	if w.RHPct != nil {
		c.within(at+"rhPct", *w.RHPct, 1, 100, "%")
	}
}

// Validate checks ids, times and the weather.
func (s Shift) Validate() error {
	var c check
	if !IsID(s.Launch) {
		c.fail("launch", s.Launch, "the id of a launch")
	}
	if len(s.People) == 0 || len(s.People) > 20 {
		c.fail("people", len(s.People), "1 to 20 people")
	}
	for i, p := range s.People {
		if !IsID(p) {
			c.fail(fmt.Sprintf("people[%d]", i), p, "the id of a person")
		}
	}
	if s.From.IsZero() {
		c.fail("from", "", "when the shift began")
	}
	if s.To != nil {
		c.within("to", s.To.Sub(s.From).Hours(), 0, 24, "hours after from")
	}
	c.within("clicker", float64(s.Clicker), 0, 5000, "craft")
	if s.Weather != nil {
		s.Weather.validate(&c, "weather.")
	}
	if len(s.Note) > MaxNote {
		c.fail("note", s.Note, tongue.Say("at most {n} characters", tongue.Int(MaxNote)))
	}
	return c.err()
}

// Tally counts craft that were met but not inspected, so that effort stays honest.
type Tally struct {
	Shift      string    `json:"shift"`
	At         time.Time `json:"at"`
	PassedBy   int       `json:"passedBy,omitempty"`   // not stopped
	Refused    int       `json:"refused,omitempty"`    // without a record of their own
	TurnedAway int       `json:"turnedAway,omitempty"` // left the queue
	Sheet      string    `json:"sheet,omitempty"`      // number of the sheet it was keyed in from
}

// Validate checks that something was counted.
func (t Tally) Validate() error {
	var c check
	if !IsID(t.Shift) {
		c.fail("shift", t.Shift, "the id of a shift")
	}
	if t.At.IsZero() {
		c.fail("at", "", "when it was counted")
	}
	for name, n := range map[string]int{"passedBy": t.PassedBy, "refused": t.Refused, "turnedAway": t.TurnedAway} {
		c.within(name, float64(n), 0, 2000, "craft")
	}
	if t.PassedBy+t.Refused+t.TurnedAway == 0 {
		c.fail("passedBy", 0, "at least one craft counted")
	}
	c.sheet(t.Sheet, SheetTally)
	return c.err()
}

// Mark recognises a craft without knowing whose it is: a keyed hash of its registration, and the part that says which state
// issued it. The registration itself is never kept.
type Mark struct {
	Hash   string `json:"hash"`             // 32 hexadecimal digits
	Prefix string `json:"prefix,omitempty"` // of the issuing state, such as two letters
}

// Override is a person's departure from the computed verdict. It is recorded with its reason; it never makes a hold milder
// without a second person.
type Override struct {
	Outcome Outcome `json:"outcome"`
	By      string  `json:"by"`
	Second  string  `json:"second,omitempty"`
	Why     string  `json:"why"`
}

// Encounter is one craft met at a launch: the inspection, what came of it, and what it was judged under.
type Encounter struct {
	Shift      string     `json:"shift"`
	Inspection Inspection `json:"inspection"`
	Protocol   string     `json:"protocol"`          // id@version in force on the device
	Verdict    *Verdict   `json:"verdict,omitempty"` // as computed on the device; absent for a refusal at first sight
	Override   *Override  `json:"override,omitempty"`
	Mark       *Mark      `json:"mark,omitempty"`
	HomeArea   string     `json:"homeArea,omitempty"` // a postal area, never an address
	Sheet      string     `json:"sheet,omitempty"`    // number of the sheet it was keyed in from
	// Test marks a craft with a planted object aboard; it is kept out of every count of real craft.
	Test bool `json:"test,omitempty"`
}

// Validate checks ids and the inspection.
func (e Encounter) Validate() error {
	var c check
	if !IsID(e.Shift) {
		c.fail("shift", e.Shift, "the id of a shift")
	}
	c.required("protocol", e.Protocol, "the protocol in force, as id@version")
	e.Inspection.validate(&c, "inspection.")
	if m := e.Mark; m != nil {
		if !hexDigits.All(m.Hash, 32, 32) {
			c.fail("mark.hash", m.Hash, "32 hexadecimal digits; a registration itself is never sent")
		}
		if !form.Chars("A-Z0-9").All(m.Prefix, 0, 3) {
			c.fail("mark.prefix", m.Prefix, "up to three capital letters or digits")
		}
	}
	if o := e.Override; o != nil {
		oneOf(&c, "override.outcome", o.Outcome, Outcomes...)
		c.required("override.by", o.By, "who departed from the computed verdict")
		c.required("override.why", o.Why, "the reason")
		if e.Verdict != nil && e.Verdict.Outcome == Hold && o.Outcome.Rank() < Hold.Rank() && o.Second == "" {
			c.fail("override.second", "", "a second person: a hold is never made milder by one alone")
		}
	}
	if len(e.HomeArea) > 12 {
		c.fail("homeArea", e.HomeArea, "a postal area of at most 12 characters")
	}
	c.sheet(e.Sheet, SheetBoat)
	return c.err()
}

// Given is the outcome that decides what happens with the craft: the override where there is one, the computed one otherwise,
// and hold for a refusal without either; empty where nothing was judged. What a craft counts under is [LeftWith].
func (e *Encounter) Given() Outcome {
	switch {
	case e.Override != nil:
		return e.Override.Outcome
	case e.Verdict != nil:
		return e.Verdict.Outcome
	case e.Inspection.Refused:
		return Hold
	}
	return ""
}

// LeftWith is the outcome that a craft is counted under, from what it was given and whether its boater declined: every sum, list
// and page counts by it. A craft whose boater declined is held and must not pass, but nobody looked at it: it counts as refused
// and under no outcome, so that holds say what inspections came to. Every craft counts once: as refused, under one outcome, or
// as not judged.
func LeftWith(given Outcome, refused bool) Outcome {
	if refused {
		return ""
	}
	return given
}

// WashDone is one wash as it was carried out.
type WashDone struct {
	Encounter string         `json:"encounter"` // empty until the boat's sheet is keyed in, where the card was first
	Kit       string         `json:"kit"`
	People    []string       `json:"people,omitempty"`
	StartedAt time.Time      `json:"startedAt"`
	EndedAt   time.Time      `json:"endedAt"`
	Steps     []WashStepDone `json:"steps"`
	WaterL    float64        `json:"waterL,omitempty"`
	FuelL     float64        `json:"fuelL,omitempty"`
	Sheet     string         `json:"sheet,omitempty"`     // number of the card it was keyed in from
	BoatSheet string         `json:"boatSheet,omitempty"` // number of the boat's sheet, as the card names it
}

// WashStepDone is one step with its log and how it was judged on the spot.
type WashStepDone struct {
	Claim  WashClaim `json:"claim"`
	Probes [][]Probe `json:"probes,omitempty"`
	Proof  *Proof    `json:"proof,omitempty"`
	// Outcome is met, short, not_possible, not_needed or alternative.
	Outcome   string   `json:"outcome"`
	Why       string   `json:"why,omitempty"`
	Approvals []string `json:"approvals,omitempty"` // of an alternative: two people
}

// Clears reports whether the wash counts as a wash since the last water. It does where every heated step was shown to be met,
// was an alternative that two people answered for, or was not needed on this craft, and at least one of them was done. One step that was
// short or not possible leaves the craft as it came.
func (w *WashDone) Clears() bool {
	done := false
	for _, s := range w.Steps {
		switch s.Outcome {
		case "met":
			if s.Proof == nil || s.Proof.Protocol != "met" {
				return false
			}
			done = true
		case "alternative":
			done = true
		case "not_needed":
		default:
			return false
		}
	}
	return done
}

// MaxProbeReadings is the largest number of readings one wash may carry.
const MaxProbeReadings = 20000

// Validate checks times, vocabularies and that an alternative was approved by two people.
func (w WashDone) Validate() error {
	var c check
	if !IsID(w.Encounter) && (w.Encounter != "" || w.BoatSheet == "") {
		c.fail("encounter", w.Encounter, "the id of an inspection; empty only with boatSheet")
	}
	c.boatSheet(w.BoatSheet)
	if !IsID(w.Kit) {
		c.fail("kit", w.Kit, "the id of a wash unit")
	}
	if w.StartedAt.IsZero() {
		c.fail("startedAt", "", "when the wash began")
	}
	c.within("endedAt", w.EndedAt.Sub(w.StartedAt).Hours(), 0, 12, "hours after startedAt")
	c.within("waterL", w.WaterL, 0, 50000, "L")
	c.within("fuelL", w.FuelL, 0, 1000, "L")
	n := 0
	for i, s := range w.Steps {
		f := fmt.Sprintf("steps[%d].", i)
		oneOf(&c, f+"claim.part", s.Claim.Part, Parts...)
		oneOf(&c, f+"outcome", s.Outcome, "met", "short", "not_possible", "not_needed", "alternative")
		if s.Outcome == "short" || s.Outcome == "not_possible" {
			c.required(f+"why", s.Why, "the reason")
		}
		if s.Outcome == "alternative" && (len(s.Approvals) < 2 || s.Approvals[0] == s.Approvals[1]) {
			c.fail(f+"approvals", len(s.Approvals), "two different people")
		}
		for _, p := range s.Probes {
			n += len(p)
		}
	}
	if n > MaxProbeReadings {
		c.fail("steps", n, tongue.Say("at most {n} readings in all", tongue.Int(MaxProbeReadings)))
	}
	c.sheet(w.Sheet, SheetWash)
	return c.err()
}

// Trial is a known object planted on a craft to see whether it is found. It is kept from every phone until it is over.
type Trial struct {
	Object      string     `json:"object"` // the number on it
	Like        string     `json:"like"`   // what it stands for: plants_seen, small_felt, …
	Place       string     `json:"place"`
	Encounter   string     `json:"encounter,omitempty"`
	Steward     string     `json:"steward"`
	PlantedBy   string     `json:"plantedBy"`
	PlantedAt   time.Time  `json:"plantedAt"`
	Found       Answer     `json:"found,omitempty"`
	RetrievedAt *time.Time `json:"retrievedAt,omitempty"` // a trial is not over before the object is back
	Seconds     float64    `json:"seconds,omitempty"`     // spent at the place
}

// Validate checks that a finished trial has its object back.
func (t Trial) Validate() error {
	var c check
	c.required("object", t.Object, "the number on the object")
	c.required("like", t.Like, "what it stands for")
	c.required("place", t.Place, "the place it was hidden at")
	for name, id := range map[string]string{"steward": t.Steward, "plantedBy": t.PlantedBy} {
		if !IsID(id) {
			c.fail(name, id, "the id of a person")
		}
	}
	if t.PlantedAt.IsZero() {
		c.fail("plantedAt", "", "when it was hidden")
	}
	word(&c, "found", t.Found, []Answer{Yes, No})
	if t.Found.Known() && t.RetrievedAt == nil {
		c.fail("retrievedAt", "", "when the object was taken back: no object is left on a craft")
	}
	c.within("seconds", t.Seconds, 0, 14400, "s")
	return c.err()
}

// Photo is a picture that belongs to a finding. The picture is kept apart, under its hash; positions and device data are
// taken out of it before it is sent.
type Photo struct {
	Encounter string `json:"encounter"`
	Finding   int    `json:"finding,omitempty"` // 1 = the first
	SHA256    string `json:"sha256"`
	Bytes     int64  `json:"bytes"`
	Type      string `json:"type"` // image/jpeg, image/png or image/webp
}

// MaxPhotoBytes is the largest picture that belongs to a record.
const MaxPhotoBytes = 2 << 20

// Validate checks hash, size and kind.
func (p Photo) Validate() error {
	var c check
	if !IsID(p.Encounter) {
		c.fail("encounter", p.Encounter, "the id of an inspection")
	}
	if !hexDigits.All(p.SHA256, 64, 64) {
		c.fail("sha256", p.SHA256, "64 hexadecimal digits")
	}
	c.within("bytes", float64(p.Bytes), 1, MaxPhotoBytes, "bytes")
	oneOf(&c, "type", p.Type, "image/jpeg", "image/png", "image/webp")
	c.within("finding", float64(p.Finding), 0, MaxFindings, "")
	return c.err()
}
