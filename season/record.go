package season

import "thwart"

// About is what every record has.
type About struct {
	Subject  string // id of the thing
	Head     string // id of the entry that says what it is now
	Made     Moment // of the head entry, by the server's clock
	Received int64  // Unix milliseconds: when the head entry reached the server
	Person   int32  // index in [Book.People] of who made the head entry, or None
	Versions int32  // entries about it
	Conflict bool   // two corrections compete; the later made is shown
	// Seen: somebody at the office's desk has looked at the record and kept it with a reason, corrected or as it was.
	Seen bool
}

// Water is a water and what was known of it when.
type Water struct {
	About
	Body     thwart.WaterBody
	Launches []int32 // index in [Book.Launches]
}

// Launch is where craft enter and leave a water.
type Launch struct {
	About
	Body  thwart.Ramp
	Water int32 // index in [Book.Waters], or None
}

// Unit is a wash unit.
type Unit struct {
	About
	Body   thwart.Kit
	Launch int32 // where it stands, or None for a mobile one
}

// Person works for the programme.
type Person struct {
	About
	Body thwart.Person
}

// Shift is time on site.
type Shift struct {
	About
	Launch  int32
	People  []int32 // the one in charge first
	From    Moment
	To      Moment          // not Set while it runs
	Clicker int32           // hand count of all craft that came by; 0 = not counted
	Weather *thwart.Weather // when it began, as the steward said it; nil = not said
	// Counted in tallies of the shift: met and not inspected.
	PassedBy, Refused, TurnedAway int32
}

// Hours on site; 0 while the shift runs.
func (s *Shift) Hours() float64 {
	if !s.To.Set {
		return 0
	}
	return s.To.HoursSince(s.From)
}

// Direction is which way a craft was going.
type Direction uint8

// Directions. Unsaid counts as launching where the record names the water ahead, see [Encounter.Arrives].
const (
	Unsaid Direction = iota
	Launching
	Leaving
	Roadside
	Elsewhere
)

var directions = map[string]Direction{"": Unsaid, "launching": Launching, "leaving": Leaving, "roadside": Roadside, "other": Elsewhere}

// String gives it as the records have it; empty where it is not said.
func (d Direction) String() string {
	return [...]string{"", "launching", "leaving", "roadside", "other"}[d]
}

// Reply is a [thwart.Answer] in one byte.
type Reply uint8

// Replies.
const (
	NoReply Reply = iota
	SaidYes
	SaidNo
)

func replyOf(a thwart.Answer) Reply {
	switch a {
	case thwart.Yes:
		return SaidYes
	case thwart.No:
		return SaidNo
	}
	return NoReply
}

// Answer gives it as the records have it.
func (r Reply) Answer() thwart.Answer {
	return [...]thwart.Answer{thwart.Unknown, thwart.Yes, thwart.No}[r]
}

// Visit is a stay of a craft in a water.
type Visit struct {
	Water int32 // index in [Book.Waters]; None: not said, or a water the programme does not keep
	Named bool  // the record names a water, known or not
	Stay  thwart.Stay
	Out   Moment // not Set: not known
}

// Finding is one thing found.
type Finding struct {
	Place, Organism, Stage, Confidence, Amount string
	Matter                                     thwart.Matter
	Vitality                                   thwart.Vitality
	Removed                                    thwart.Removed
	VolumeL                                    float32
}

// Check is what was done at one place that has an answer of its own.
type Check struct {
	Place                        string
	Looked, Felt, Opened, RanDry Reply
	Wet                          thwart.Wetness
	Seconds                      float32
	Reasoned                     bool // it says why the place could not be checked
}

// Encounter is one craft met.
type Encounter struct {
	About
	At        Moment // when the inspection began, by the server's clock as far as it is known
	Seconds   float32
	Shift     int32 // index in [Book.Shifts], or None
	Launch    int32 // of the inspection, else of its shift
	Water     int32 // of the launch
	Steward   int32 // index in [Book.People]
	Next      int32 // water the craft goes to next; None: not said
	Twin      int32 // index of the encounter that this one is a second record of, or None
	Direction Direction
	Refused   bool
	Test      bool // a planted object was aboard
	Overruled bool // a person departed from the computed verdict
	AtRisk    bool // judged to come from a water at risk
	Class     string
	LengthM   float32
	Protocol  string
	HomeArea  string
	Mark      string // keyed hash of the registration
	Sheet     string // number of the sheet it was keyed in from
	MarkState string // who issued the registration
	Computed  thwart.Outcome
	Given     thwart.Outcome
	// Clean, Drained and Dry are the three standards as judged.
	Clean, Drained, Dry                           Reply
	OutOfRegion, PlugsOut, DriveLowered, Strainer Reply
	Visits                                        []Visit // latest first
	// Others answers for every place without a check of its own; nil where nobody answered.
	Others   *Check
	Checks   []Check
	Findings []Finding
}

// Counts reports whether the record counts as a craft that was met: no planted craft, and a craft once.
func (e *Encounter) Counts() bool { return !e.Test && e.Twin == None }

// LeftWith is the outcome that the craft is counted under, see [thwart.LeftWith].
func (e *Encounter) LeftWith() thwart.Outcome { return thwart.LeftWith(e.Given, e.Refused) }

// Arrives reports whether the craft was about to be launched at the launch.
func (e *Encounter) Arrives() bool {
	return e.Direction == Launching || e.Direction == Unsaid
}

// From is the water the craft was in last; None where it is not known.
func (e *Encounter) From() int32 {
	if len(e.Visits) == 0 {
		return None
	}
	return e.Visits[0].Water
}

// Wash is one wash as it was carried out.
type Wash struct {
	About
	Encounter int32
	Unit      int32
	People    []int32
	From, To  Moment
	WaterL    float32
	FuelL     float32
	Sheet     string // number of the card it was keyed in from
	BoatSheet string // number of the boat's sheet, as the card names it
	Steps     []WashStep
}

// WashStep is one step of a wash and how it was judged.
type WashStep struct {
	Part    thwart.Part
	Outcome string // met, short, not_possible, not_needed, alternative
	Probed  bool   // with a log of readings that was judged
}

// Tally counts craft met and not inspected.
type Tally struct {
	About
	Shift                         int32
	At                            Moment
	PassedBy, Refused, TurnedAway int32
	Sheet                         string // number of the sheet it was keyed in from
}

// Trial is a planted object.
type Trial struct {
	About
	Object, Like, Place string
	Encounter           int32
	Steward             int32
	PlantedBy           int32
	PlantedAt           Moment
	Found               thwart.Answer
	RetrievedAt         Moment
	Seconds             float32
}

// Over reports whether the trial has ended: found or not, with the object taken back.
func (t *Trial) Over() bool { return t.Found.Known() && t.RetrievedAt.Set }

// Fault is an entry that could not be read.
type Fault struct {
	Entry string
	Kind  thwart.Kind
	Why   string
}
