package thwart

import "thwart/unit"

// StepKind is what a step of a treatment does.
type StepKind string

// Step kinds in the usual order of work.
const (
	StepPrepare   StepKind = "prepare" // consent, photographs, chocks, place of work
	StepRemove    StepKind = "remove"  // by hand
	StepDrain     StepKind = "drain"
	StepLook      StepKind = "look" // the places that nobody has looked at yet
	StepWipe      StepKind = "wipe"
	StepWash      StepKind = "wash" // hot spray
	StepFlush     StepKind = "flush"
	StepFillFlush StepKind = "fill_and_flush"
	StepEngine    StepKind = "engine_flush"
	StepSoak      StepKind = "soak"
	StepChemical  StepKind = "chemical"
	StepDry       StepKind = "dry"
	StepRelook    StepKind = "look_again"
	StepCall      StepKind = "call"
)

// Choice is another way to do a step that cannot be done as it stands.
type Choice struct {
	Code string `json:"code"` // lower_flow, better_thermometer, repair, other_unit, dry, alternative, call
	Text string `json:"text"`
	// For an alternative: the tested pair it rests on, and who has to approve.
	TempC     unit.Celsius `json:"tempC,omitempty"`
	ContactS  float64      `json:"contactS,omitempty"`
	Approvals int          `json:"approvals,omitempty"`
	Source    string       `json:"source,omitempty"`
	NotProven bool         `json:"notProven,omitempty"` // recorded as alternative, not as standard
}

// SpeciesNeed says what the published data ask of a step for one organism and stage, apart from the protocol.
type SpeciesNeed struct {
	Organism string       `json:"organism"`
	Stage    string       `json:"stage"`
	Shown    string       `json:"shown"` // yes: the protocol's line is shown to kill; longer: with the time below; no; not_known
	TempC    unit.Celsius `json:"tempC,omitempty"`
	ContactS float64      `json:"contactS,omitempty"`
	Text     string       `json:"text"`
	Source   string       `json:"source,omitempty"`
	Known    string       `json:"known,omitempty"`
}

// Step is one act of a treatment.
type Step struct {
	N      int      `json:"n"`
	Kind   StepKind `json:"kind"`
	Part   Part     `json:"part,omitempty"`
	Places []string `json:"places,omitempty"`
	Do     string   `json:"do"` // in words

	TargetC        unit.Celsius `json:"targetC,omitempty"`
	Measured       MeasuredAt   `json:"measured,omitempty"`
	ContactS       float64      `json:"contactS,omitempty"` // per spot or compartment
	Method         Method       `json:"method,omitempty"`
	PressureMaxBar float64      `json:"pressureMaxBar,omitempty"`
	MaxInletC      unit.Celsius `json:"maxInletC,omitempty"`
	SecondsPerM    float64      `json:"secondsPerM,omitempty"` // of one pass, so that every spot gets the contact time
	Passes         int          `json:"passes,omitempty"`

	// Possible is yes, not_now (the reasons and choices follow) or unknown (nothing was measured that could tell).
	Possible string   `json:"possible,omitempty"`
	Because  string   `json:"because,omitempty"`
	Choices  []Choice `json:"choices,omitempty"`

	Minutes  float64       `json:"minutes,omitempty"`
	WaterL   float64       `json:"waterL,omitempty"`
	FuelL    float64       `json:"fuelL,omitempty"`
	Estimate bool          `json:"estimate,omitempty"` // a volume or flow had to be assumed
	Species  []SpeciesNeed `json:"species,omitempty"`
	Cautions []string      `json:"cautions,omitempty"`
	Source   string        `json:"source,omitempty"`
}

// Treatment is what a craft is owed, in order, with what it takes.
type Treatment struct {
	Steps []Step `json:"steps"`
	// Possible is false when a wash step cannot be done now; Instead is then the outcome that stands.
	Possible bool     `json:"possible"`
	Instead  Outcome  `json:"instead,omitempty"`
	Dry      *DryHold `json:"dry,omitempty"` // the drying clock, where drying is owed or offered

	Minutes   float64  `json:"minutes"`
	WaterL    float64  `json:"waterL"`
	FuelL     float64  `json:"fuelL"`
	WasteL    float64  `json:"wasteL"`              // to catch and keep from the lake
	BoatsLeft *int     `json:"boatsLeft,omitempty"` // craft like this one that the tank still serves, this one included
	Estimate  bool     `json:"estimate,omitempty"`
	Notes     []string `json:"notes,omitempty"`
}

// Probe is one reading of a wash: seconds from the start, and degrees.
type Probe struct {
	AtS   float64      `json:"atS"`
	TempC unit.Celsius `json:"tempC"`
	Row   int          `json:"row,omitempty"` // line of the logger's file, from 1; 0 = not known
}

// WashClaim is what is said of one wash step: which part, how it was done, where the thermometer was.
type WashClaim struct {
	Part           Part          `json:"part"`
	Risk           string        `json:"risk,omitempty"` // low or high; unknown counts as high
	Method         Method        `json:"method,omitempty"`
	Measured       MeasuredAt    `json:"measured,omitempty"`
	PlusMinusC     *float64      `json:"plusMinusC,omitempty"` // of the thermometer; absent = not known
	PressureBar    float64       `json:"pressureBar,omitempty"`
	InletMaxC      *unit.Celsius `json:"inletMaxC,omitempty"`
	Organisms      []string      `json:"organisms,omitempty"`      // to judge the dose for; empty = those of the water at risk
	ColdAcclimated bool          `json:"coldAcclimated,omitempty"` // the water they come from is at 10 °C or colder
}

// Lethality is the answer for one organism and stage: lethal, not_lethal or not_known.
type Lethality struct {
	Organism string  `json:"organism"`
	Stage    string  `json:"stage"`
	Answer   string  `json:"answer"`
	Dose     float64 `json:"dose"`            // 1 = the published all-dead bound, before the safety factor
	Needed   float64 `json:"needed"`          // the safety factor of the protocol
	Upper    float64 `json:"upper,omitempty"` // survivors are at most this share, where the sample is known
	Text     string  `json:"text"`
	Source   string  `json:"source,omitempty"`
	Known    string  `json:"known,omitempty"`
}

// Proof is the judgement of a logged wash. Protocol and Lethal are two answers and are never merged into one.
type Proof struct {
	Part       Part         `json:"part"`
	Protocol   string       `json:"protocol"` // met, not_met or unknown
	Why        []string     `json:"why"`
	Breaches   []string     `json:"breaches,omitempty"` // limits that were passed although the row is met
	TargetC    unit.Celsius `json:"targetC"`
	NeedS      float64      `json:"needS"`
	HeldS      float64      `json:"heldS"` // longest unbroken time at target, reading less its uncertainty
	HeldFromS  float64      `json:"heldFromS"`
	AboveS     float64      `json:"aboveS"` // all time at target, broken or not; never used to pass
	PeakC      unit.Celsius `json:"peakC"`
	PlusMinusC float64      `json:"plusMinusC"`
	Passes     int          `json:"passes"`
	Samples    int          `json:"samples"`
	Notes      []string     `json:"notes,omitempty"` // what was repaired in the log, always to the cold side
	Lethal     []Lethality  `json:"lethal"`
	Source     string       `json:"source"`
	Versions   Versions     `json:"versions"`
}
