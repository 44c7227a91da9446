package thwart

import (
	"fmt"
	"time"

	"thwart/tongue"
	"thwart/unit"
)

// WaterStatus is what is known of one organism in one water. "Not looked" is never drawn or counted as clean.
type WaterStatus string

// Water statuses, safest first. The zero value is unknown and counts as infested.
const (
	StatusUnknown    WaterStatus = ""
	StatusNotFound   WaterStatus = "not_found" // looked for and not found
	StatusEradicated WaterStatus = "eradicated"
	StatusNotLooked  WaterStatus = "not_looked"
	StatusSuspect    WaterStatus = "suspect"
	StatusPositive   WaterStatus = "positive" // one detection
	StatusInfested   WaterStatus = "infested"
)

// WaterStatuses lists every status that can be written down.
var WaterStatuses = []WaterStatus{
	StatusNotFound, StatusEradicated, StatusNotLooked, StatusSuspect, StatusPositive, StatusInfested,
}

// UnmarshalJSON also accepts the written-out "unknown".
func (s *WaterStatus) UnmarshalJSON(b []byte) error { return unmarshalWord(b, (*string)(s)) }

// AtRisk reports whether a craft coming from such a water counts as coming from a water at risk.
func (s WaterStatus) AtRisk() bool { return s != StatusNotFound && s != StatusEradicated }

// Water is a lake, reservoir or reach, and what is known to live in it.
type Water struct {
	ID   string `json:"id"`
	Name string `json:"name"`
	// Status per organism of the library. Organisms that are not listed have the status Others.
	Status map[string]WaterStatus `json:"status"`
	// Others is the status of every organism not listed; unknown unless said.
	Others WaterStatus `json:"others,omitempty"`
	// MaxTempC is the warmest the water has lately been, for animals used to cold; absent = not known.
	MaxTempC *unit.Celsius `json:"maxTempC,omitempty"`
}

// Of gives the status of an organism in this water.
func (w Water) Of(organism string) WaterStatus {
	if s, ok := w.Status[organism]; ok {
		return s
	}
	return w.Others
}

// Visit is a stay of the craft in a water.
type Visit struct {
	Water string     `json:"water"`           // id of a known water; empty = the boater could not or would not say
	OutAt *time.Time `json:"outAt,omitempty"` // when the craft came out; absent = unknown, which counts as now
	Stay  Stay       `json:"stay,omitempty"`
}

// Stay is how the craft lay in the water.
type Stay string

// Stays. Unknown counts as moored.
const (
	StayUnknown Stay = ""
	StayDay     Stay = "day_use"
	StayMoored  Stay = "moored" // several days in the water, slip or buoy
)

// UnmarshalJSON also accepts the written-out "unknown".
func (s *Stay) UnmarshalJSON(b []byte) error { return unmarshalWord(b, (*string)(s)) }

// Wetness of a place as the steward found it.
type Wetness string

// Wetness, driest first. The zero value is unknown and counts as water where a place can hold any.
const (
	WetUnknown Wetness = ""
	WetDry     Wetness = "dry"
	WetDamp    Wetness = "damp"  // wet to the hand, nothing to wipe
	WetFilm    Wetness = "film"  // can be wiped
	WetWater   Wetness = "water" // stands or runs
)

// Wetnesses lists them, driest first.
var Wetnesses = []Wetness{WetDry, WetDamp, WetFilm, WetWater}

// UnmarshalJSON also accepts the written-out "unknown".
func (w *Wetness) UnmarshalJSON(b []byte) error { return unmarshalWord(b, (*string)(w)) }

// Check is what was done at one place of the round.
type Check struct {
	Place  string  `json:"place"`
	Looked Answer  `json:"looked,omitempty"`
	Felt   Answer  `json:"felt,omitempty"`   // where the place asks for it; no = out of reach
	Opened Answer  `json:"opened,omitempty"` // where the place asks for it
	Wet    Wetness `json:"wet,omitempty"`
	// RanDry: the owner ran the pump until it sucked air, or drained the space as far as it goes.
	RanDry  Answer  `json:"ranDry,omitempty"`
	Reason  string  `json:"reason,omitempty"` // why the place could not be checked
	Seconds float64 `json:"seconds,omitempty"`
}

// Matter is what a finding is made of.
type Matter string

// Matters. The zero value is unknown and counts as an attached live animal.
const (
	MatterUnknown  Matter = ""
	MatterWater    Matter = "water"
	MatterMud      Matter = "mud"
	MatterPlant    Matter = "plant"
	MatterAttached Matter = "attached_animal"
	MatterLoose    Matter = "loose_animal"
	MatterEgg      Matter = "egg" // egg, turion, bulbil, seed or another resting stage
	MatterBait     Matter = "bait"
	MatterOther    Matter = "other"
)

// Matters lists them all.
var Matters = []Matter{
	MatterWater, MatterMud, MatterPlant, MatterAttached, MatterLoose, MatterEgg, MatterBait, MatterOther,
}

// UnmarshalJSON also accepts the written-out "unknown".
func (m *Matter) UnmarshalJSON(b []byte) error { return unmarshalWord(b, (*string)(m)) }

// Vitality of a finding, in the values of the Darwin Core term vitality (TDWG, 2026-05-26). Whatever is not dead counts
// as alive.
type Vitality string

// Vitalities.
const (
	VitalityUnknown     Vitality = ""
	VitalityAlive       Vitality = "alive"
	VitalityDead        Vitality = "dead"
	VitalityMixed       Vitality = "mixedLot"
	VitalityUncertain   Vitality = "uncertain"
	VitalityNotAssessed Vitality = "notAssessed"
)

// Vitalities lists them all.
var Vitalities = []Vitality{VitalityAlive, VitalityDead, VitalityMixed, VitalityUncertain, VitalityNotAssessed}

// UnmarshalJSON also accepts the written-out "unknown".
func (v *Vitality) UnmarshalJSON(b []byte) error { return unmarshalWord(b, (*string)(v)) }

// Removed says how much of a finding has been taken off.
type Removed string

// Amounts removed. Unknown counts as none.
const (
	RemovedUnknown Removed = ""
	RemovedNone    Removed = "none"
	RemovedPart    Removed = "part"
	RemovedAll     Removed = "all"
)

// UnmarshalJSON also accepts the written-out "unknown".
func (r *Removed) UnmarshalJSON(b []byte) error { return unmarshalWord(b, (*string)(r)) }

// Finding is one thing found at one place.
type Finding struct {
	ID         string   `json:"id,omitempty"`
	Place      string   `json:"place"`
	Matter     Matter   `json:"matter"`
	Organism   string   `json:"organism,omitempty"` // of the library, as far as the steward is sure; empty = not told apart
	Stage      string   `json:"stage,omitempty"`
	Confidence string   `json:"confidence,omitempty"` // certain, likely, unsure
	Amount     string   `json:"amount,omitempty"`     // 1, 2-10, 11-100, >100
	Vitality   Vitality `json:"vitality,omitempty"`
	Removed    Removed  `json:"removed,omitempty"`
	VolumeL    float64  `json:"volumeL,omitempty"` // of water
	Note       string   `json:"note,omitempty"`
}

// Seal is a band or wire joining the craft to its trailer, or an electronic release in its place.
type Seal struct {
	Number      string     `json:"number,omitempty"`
	Issuer      string     `json:"issuer,omitempty"`
	Kind        string     `json:"kind,omitempty"` // cleared, held, severe_risk, release
	Intact      Answer     `json:"intact,omitempty"`
	Receipt     Answer     `json:"receipt,omitempty"`      // a receipt with the same number is at hand
	FittedBy    string     `json:"fittedBy,omitempty"`     // inspector, owner
	Launched    Answer     `json:"launched,omitempty"`     // been in any water since it was fitted
	HoldEndsAt  *time.Time `json:"holdEndsAt,omitempty"`   // of a held seal
	SealedAt    *time.Time `json:"sealedAt,omitempty"`     // the clock of a sealed drying time
	RemovedSoon Answer     `json:"removedEarly,omitempty"` // taken off before the hold ended
	ForWater    string     `json:"forWater,omitempty"`     // of a release
}

// Inspection is one craft looked over at one place: what was asked, what was done, what was found.
type Inspection struct {
	ID        string     `json:"id,omitempty"`
	Launch    string     `json:"launch,omitempty"`
	Water     string     `json:"water,omitempty"`     // the water it is about to be launched into
	Direction string     `json:"direction,omitempty"` // launching, leaving, roadside
	Steward   string     `json:"steward,omitempty"`   // an opaque id, never a name
	StartedAt time.Time  `json:"startedAt"`
	EndedAt   *time.Time `json:"endedAt,omitempty"`

	Setup Setup `json:"setup"`

	PlugsOut     Answer  `json:"plugsOut,omitempty"`
	DriveLowered Answer  `json:"driveLowered,omitempty"` // lowered fully and left until nothing ran out
	StrainerOut  Answer  `json:"strainerOut,omitempty"`
	OutOfRegion  Answer  `json:"outOfRegion,omitempty"` // comes from outside the state, province or region
	LastWaters   []Visit `json:"lastWaters"`            // latest first; empty = unknown
	NextWater    string  `json:"nextWater,omitempty"`
	Seal         *Seal   `json:"seal,omitempty"`

	// Others answers for every place of the round that has no check of its own: "all the rest: looked at, felt, dry".
	Others   *Check    `json:"others,omitempty"`
	Checks   []Check   `json:"checks,omitempty"`
	Findings []Finding `json:"findings,omitempty"`

	// DryToTouchAt is when every part, ropes and cloth included, was found dry to the touch; the clock of some rules.
	DryToTouchAt *time.Time `json:"dryToTouchAt,omitempty"`
	CleanedAt    *time.Time `json:"cleanedAt,omitempty"`
	WashedAt     *time.Time `json:"washedAt,omitempty"`

	Refused bool   `json:"refused,omitempty"` // the boater declined: recorded, never argued, never a pass
	Note    string `json:"note,omitempty"`
}

// Limits of an inspection record.
const (
	MaxChecks   = 500
	MaxFindings = 300
	MaxVisits   = 10
	MaxNote     = 2000
)

func (in Inspection) validate(c *check, at string) {
	if in.StartedAt.IsZero() {
		c.fail(at+"startedAt", "", "a time with its offset, such as 2026-07-04T09:30:00-05:00")
	}
	if in.EndedAt != nil {
		d := in.EndedAt.Sub(in.StartedAt).Seconds()
		c.within(at+"endedAt", d, 0, 14400, "s after startedAt")
	}
	oneOf(c, at+"direction", in.Direction, "", "launching", "leaving", "roadside", "other")
	in.Setup.validate(c, at+"setup.")
	if len(in.Setup.Drives) == 0 {
		c.fail(at+"setup.drives", "", "at least one drive; hand where nothing takes water in, unknown where nobody could say")
	}
	if in.Setup.Spaces == nil {
		c.fail(at+"setup.spaces", "", "the compartments that can hold water, each with its count; an empty list says there are none")
	}
	for name, a := range map[string]Answer{
		"plugsOut": in.PlugsOut, "driveLowered": in.DriveLowered, "strainerOut": in.StrainerOut, "outOfRegion": in.OutOfRegion,
	} {
		word(c, at+name, a, []Answer{Yes, No})
	}
	if len(in.LastWaters) > MaxVisits {
		c.fail(at+"lastWaters", len(in.LastWaters), tongue.Say("at most {n} waters", tongue.Int(MaxVisits)))
	}
	if s := in.Seal; s != nil {
		oneOf(c, at+"seal.kind", s.Kind, "", "cleared", "held", "severe_risk", "release")
		oneOf(c, at+"seal.fittedBy", s.FittedBy, "", "inspector", "owner")
		for name, a := range map[string]Answer{
			"intact": s.Intact, "receipt": s.Receipt, "launched": s.Launched, "removedEarly": s.RemovedSoon,
		} {
			word(c, at+"seal."+name, a, []Answer{Yes, No})
		}
	}
	for i, v := range in.LastWaters {
		f := fmt.Sprintf("%slastWaters[%d].", at, i)
		word(c, f+"stay", v.Stay, []Stay{StayDay, StayMoored})
		if v.OutAt != nil && v.OutAt.After(in.StartedAt) {
			c.fail(f+"outAt", v.OutAt.Format(time.RFC3339), "a time before the inspection started")
		}
	}
	for name, t := range map[string]*time.Time{
		"dryToTouchAt": in.DryToTouchAt, "cleanedAt": in.CleanedAt, "washedAt": in.WashedAt,
	} {
		if t != nil && t.After(in.StartedAt.Add(24*time.Hour)) {
			c.fail(at+name, t.Format(time.RFC3339), "a time not later than a day after the inspection started")
		}
	}
	if in.Others != nil {
		if in.Others.Place != "" {
			c.fail(at+"others.place", in.Others.Place, "no place: it stands for every place without a check")
		}
		in.Others.validate(c, at+"others.")
	}
	if len(in.Checks) > MaxChecks {
		c.fail(at+"checks", len(in.Checks), tongue.Say("at most {n} checks", tongue.Int(MaxChecks)))
	}
	seen := map[string]bool{}
	for i, k := range in.Checks {
		f := fmt.Sprintf("%schecks[%d].", at, i)
		c.required(f+"place", k.Place, "a place of the setup (list them with: thwart round)")
		if seen[k.Place] {
			c.fail(f+"place", k.Place, "each place once")
		}
		seen[k.Place] = true
		k.validate(c, f)
	}
	if len(in.Findings) > MaxFindings {
		c.fail(at+"findings", len(in.Findings), tongue.Say("at most {n} findings", tongue.Int(MaxFindings)))
	}
	for i, f := range in.Findings {
		f.validate(c, fmt.Sprintf("%sfindings[%d].", at, i))
	}
	if len(in.Note) > MaxNote {
		c.fail(at+"note", in.Note, tongue.Say("at most {n} characters", tongue.Int(MaxNote)))
	}
}

func (k Check) validate(c *check, f string) {
	yesNo := []Answer{Yes, No}
	word(c, f+"looked", k.Looked, yesNo)
	word(c, f+"felt", k.Felt, yesNo)
	word(c, f+"opened", k.Opened, yesNo)
	word(c, f+"ranDry", k.RanDry, yesNo)
	word(c, f+"wet", k.Wet, Wetnesses)
	c.within(f+"seconds", k.Seconds, 0, 14400, "s")
}

func (f Finding) validate(c *check, at string) {
	c.required(at+"place", f.Place, "a place of the setup (list them with: thwart round)")
	word(c, at+"matter", f.Matter, Matters)
	word(c, at+"vitality", f.Vitality, Vitalities)
	word(c, at+"removed", f.Removed, []Removed{RemovedNone, RemovedPart, RemovedAll})
	oneOf(c, at+"confidence", f.Confidence, "", "certain", "likely", "unsure")
	oneOf(c, at+"amount", f.Amount, "", "1", "2-10", "11-100", ">100")
	c.within(at+"volumeL", f.VolumeL, 0, MaxSpaceL, "L")
}

// Validate checks limits, vocabularies and times. Whether places and organisms exist is checked where the library is at hand.
func (in Inspection) Validate() error {
	var c check
	in.validate(&c, "")
	return c.err()
}

// CheckOf gives the check that answers for a place: its own, or Others, or the zero Check where nobody answered.
func (in *Inspection) CheckOf(place string) Check {
	for i := range in.Checks {
		if in.Checks[i].Place == place {
			return in.Checks[i]
		}
	}
	if in.Others != nil {
		k := *in.Others
		k.Place = place
		return k
	}
	return Check{Place: place}
}
