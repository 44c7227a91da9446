package thwart

import (
	"fmt"

	"thwart/tongue"
)

// Drive is one way a craft is moved. A craft may have several: two outboards and a bow trolling motor are three drives.
type Drive string

// Drives, by where lake water goes in and where it stays.
const (
	DriveUnknown         Drive = ""
	DriveOutboard        Drive = "outboard"
	DriveOutboardJet     Drive = "outboard_jet"
	DriveSterndrive      Drive = "sterndrive"
	DriveInboard         Drive = "inboard"     // shaft through the hull, direct or V-drive
	DriveInboardJet      Drive = "inboard_jet" // jet pump inside the hull, personal watercraft included
	DrivePod             Drive = "pod"         // pod drive or saildrive leg
	DriveMudMotor        Drive = "mud_motor"
	DriveTrollingBow     Drive = "trolling_bow"
	DriveTrollingTransom Drive = "trolling_transom"
	DriveHand            Drive = "hand" // oars, paddles, pedals, sail: nothing takes water in
)

// Drives lists every known drive.
var Drives = []Drive{
	DriveOutboard, DriveOutboardJet, DriveSterndrive, DriveInboard, DriveInboardJet, DrivePod, DriveMudMotor,
	DriveTrollingBow, DriveTrollingTransom, DriveHand,
}

// UnmarshalJSON also accepts the written-out "unknown".
func (d *Drive) UnmarshalJSON(b []byte) error { return unmarshalWord(b, (*string)(d)) }

// SpaceKind is a kind of compartment that can hold lake water.
type SpaceKind string

// Compartments.
const (
	SpaceBallastTank SpaceKind = "ballast_tank" // built in, cannot be seen into
	SpaceBallastBag  SpaceKind = "ballast_bag"  // soft, can be lifted and emptied
	SpaceLiveWell    SpaceKind = "live_well"
	SpaceBaitWell    SpaceKind = "bait_well"
	SpaceBilge       SpaceKind = "bilge"
	SpaceLocker      SpaceKind = "locker" // anchor, ski or storage locker with a floor that holds water
	SpaceTank        SpaceKind = "tank"   // wash-down, shower, grey or raw-water tank
)

// SpaceKinds lists every known compartment.
var SpaceKinds = []SpaceKind{
	SpaceBallastTank, SpaceBallastBag, SpaceLiveWell, SpaceBaitWell, SpaceBilge, SpaceLocker, SpaceTank,
}

// Space is a kind of compartment, how many of it, and how much one holds.
type Space struct {
	Kind    SpaceKind `json:"kind"`
	Count   Count     `json:"count"`
	VolumeL float64   `json:"volumeL,omitempty"` // of one, when full; 0 = not known
}

// Trailer is how the craft is carried.
type Trailer string

// Trailers.
const (
	TrailerUnknown Trailer = ""
	TrailerBunk    Trailer = "bunk"
	TrailerRoller  Trailer = "roller"
	TrailerCradle  Trailer = "cradle" // keel boats, houseboats on a haulier's frame
	TrailerNone    Trailer = "none"   // on a roof, in a pick-up bed, carried by hand
)

// Trailers lists every known trailer.
var Trailers = []Trailer{TrailerBunk, TrailerRoller, TrailerCradle, TrailerNone}

// UnmarshalJSON also accepts the written-out "unknown".
func (t *Trailer) UnmarshalJSON(b []byte) error { return unmarshalWord(b, (*string)(t)) }

// Paint is the coat below the waterline; antifouling must not be pressure-washed without containment.
type Paint string

// Paints.
const (
	PaintUnknown     Paint = ""
	PaintNone        Paint = "none"
	PaintAntifouling Paint = "antifouling"
)

// UnmarshalJSON also accepts the written-out "unknown".
func (p *Paint) UnmarshalJSON(b []byte) error { return unmarshalWord(b, (*string)(p)) }

// Setup is what kind of craft stands on the ramp: enough to list every place that has to be looked at.
type Setup struct {
	Class   string  `json:"class"`             // a craft class of the library, such as bass_boat
	LengthM float64 `json:"lengthM,omitempty"` // 0 = the usual length of the class
	BeamM   float64 `json:"beamM,omitempty"`   // 0 = the usual beam of the class
	// Drives of the craft. For a round alone the list may be left out: the usual drive of the class is then shown. An
	// inspection has to say: hand where nothing takes water in, unknown where nobody could tell.
	Drives []Drive `json:"drives"`
	// Spaces of the craft. For a round alone the list may be left out: the usual compartments of the class. In an
	// inspection an empty list says that there are none.
	Spaces  []Space  `json:"spaces"`
	Gear    []string `json:"gear"` // kinds of loose gear of the library, such as anchor_and_rope
	Trailer Trailer  `json:"trailer,omitempty"`
	Paint   Paint    `json:"paint,omitempty"`
}

// Limits a setup may not pass; beyond them the entry is a slip of the unit or the pen.
const (
	MinLengthM  = 0.5
	MaxLengthM  = 40.0
	MaxSpaceL   = 10000.0
	MaxSpaces   = 20
	MaxGearKind = 60
)

func (s Setup) validate(c *check, at string) {
	c.required(at+"class", s.Class, "a craft class, such as runabout (list them with: thwart craft)")
	if s.LengthM != 0 {
		c.within(at+"lengthM", s.LengthM, MinLengthM, MaxLengthM, "m")
	}
	if s.BeamM != 0 {
		c.within(at+"beamM", s.BeamM, 0.3, 15, "m")
	}
	if len(s.Drives) > 8 {
		c.fail(at+"drives", len(s.Drives), "at most 8 drives")
	}
	for i, d := range s.Drives {
		word(c, fmt.Sprintf("%sdrives[%d]", at, i), d, Drives)
	}
	if len(s.Spaces) > MaxSpaces {
		c.fail(at+"spaces", len(s.Spaces), tongue.Say("at most {n} kinds of space", tongue.Int(MaxSpaces)))
	}
	seen := map[SpaceKind]bool{}
	for i, sp := range s.Spaces {
		f := fmt.Sprintf("%sspaces[%d].", at, i)
		c.required(f+"kind", string(sp.Kind), "a kind of space, such as live_well")
		word(c, f+"kind", sp.Kind, SpaceKinds)
		if seen[sp.Kind] {
			c.fail(f+"kind", sp.Kind, "each kind once, with its count")
		}
		seen[sp.Kind] = true
		if sp.Count > MaxSpaces {
			c.fail(f+"count", int(sp.Count), tongue.Say("0 to {n}, or unknown", tongue.Int(MaxSpaces)))
		}
		c.within(f+"volumeL", sp.VolumeL, 0, MaxSpaceL, "L")
	}
	if len(s.Gear) > MaxGearKind {
		c.fail(at+"gear", len(s.Gear), tongue.Say("at most {n} kinds of gear", tongue.Int(MaxGearKind)))
	}
	word(c, at+"trailer", s.Trailer, Trailers)
	word(c, at+"paint", s.Paint, []Paint{PaintNone, PaintAntifouling})
}

// Validate checks what can be checked without the library: limits and closed vocabularies.
func (s Setup) Validate() error {
	var c check
	s.validate(&c, "")
	return c.err()
}
