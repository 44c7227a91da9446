package thwart

import "time"

// Versions pins what an answer was computed with, so that it can be computed again.
type Versions struct {
	Engine   string `json:"engine"`
	Data     string `json:"data"`
	Protocol string `json:"protocol"` // id and version, such as utah@1
}

// Judged is one standard as judged: yes, no, or unknown (which is not a pass).
type Judged struct {
	Standard Standard `json:"standard"`
	Met      Answer   `json:"met"`
	Required bool     `json:"required"`
}

// ReasonCode names a reason in a way that can be counted and translated.
type ReasonCode string

// Reasons. Each carries the outcome it asks for; the verdict is the strictest of them.
const (
	ReasonNotLooked      ReasonCode = "not_looked"
	ReasonNotFelt        ReasonCode = "not_felt"
	ReasonNotOpened      ReasonCode = "not_opened"
	ReasonWater          ReasonCode = "standing_water"
	ReasonWaterUnknown   ReasonCode = "water_not_known"
	ReasonHiddenWet      ReasonCode = "hidden_counts_wet"
	ReasonFilm           ReasonCode = "film_of_water"
	ReasonDamp           ReasonCode = "damp"
	ReasonPlugIn         ReasonCode = "plug_in"
	ReasonPlugUnknown    ReasonCode = "plug_not_known"
	ReasonDriveUp        ReasonCode = "drive_not_lowered"
	ReasonDriveUnknown   ReasonCode = "drive_not_known"
	ReasonStrainerIn     ReasonCode = "strainer_in"
	ReasonLiveMussel     ReasonCode = "mussel_taken_as_alive"
	ReasonDeadMussel     ReasonCode = "dead_mussel"
	ReasonAnimal         ReasonCode = "animal"
	ReasonPlant          ReasonCode = "plant"
	ReasonMud            ReasonCode = "mud"
	ReasonResting        ReasonCode = "resting_stage"
	ReasonOtherMatter    ReasonCode = "other_matter"
	ReasonNotIdentified  ReasonCode = "not_identified"
	ReasonRiskWater      ReasonCode = "water_at_risk"
	ReasonAlways         ReasonCode = "rule_of_the_place"
	ReasonSealBroken     ReasonCode = "seal_taken_off_early"
	ReasonSealHeld       ReasonCode = "hold_not_over"
	ReasonSealSevere     ReasonCode = "severe_risk_seal"
	ReasonNeverHere      ReasonCode = "may_not_launch_here"
	ReasonNoTreatment    ReasonCode = "no_treatment_can_be_shown"
	ReasonRefused        ReasonCode = "refused"
	ReasonSealAccepted   ReasonCode = "seal_accepted"
	ReasonSealNotCounted ReasonCode = "seal_not_counted"
	ReasonSameWater      ReasonCode = "same_water"
	ReasonCarriedIn      ReasonCode = "carried_in"
	ReasonWashedSince    ReasonCode = "washed_since"
	ReasonDriedSince     ReasonCode = "dried_since"
	ReasonAllMet         ReasonCode = "all_met"
)

// Reason is one cause of a verdict. Text is in the language of the phone that judged, English elsewhere; the code and the fields say the same to a program.
type Reason struct {
	Code     ReasonCode `json:"code"`
	Standard Standard   `json:"standard,omitempty"`
	Outcome  Outcome    `json:"outcome"` // what this reason alone would ask for
	Place    string     `json:"place,omitempty"`
	Finding  int        `json:"finding,omitempty"` // 1 = the first finding of the inspection
	Organism string     `json:"organism,omitempty"`
	Rule     string     `json:"rule,omitempty"` // the condition of a standing rule, such as ballast
	Source   string     `json:"source,omitempty"`
	Text     string     `json:"text"`
}

// Verdict is what the inspection says of the craft under one protocol.
type Verdict struct {
	// Outcome is what the craft must come through before it may launch: the strictest of all reasons.
	Outcome Outcome `json:"outcome"`
	// Now is the first act, the word to show: a craft that has to dry is first cleaned and drained here.
	Now Outcome `json:"now"`
	// LocalWord is the adopting authority's own word for the outcome, where the protocol gives one.
	LocalWord string   `json:"localWord,omitempty"`
	Standards []Judged `json:"standards"`
	Reasons   []Reason `json:"reasons"` // strictest first, in the order of the round
	// Decides lists who may order the outcome under the protocol; a steward's name stands under no order that is not hers.
	Decides  []Role   `json:"decides"`
	AtRisk   bool     `json:"atRisk"` // comes from a water at risk within the look-back
	DaysOut  *float64 `json:"daysOut,omitempty"`
	Places   int      `json:"places"`
	Settled  int      `json:"settled"` // places fully looked at, felt and opened
	Versions Versions `json:"versions"`
	// Unconfirmed is set while the programme has not confirmed the protocol: the verdict is practice, not an order.
	Unconfirmed bool `json:"unconfirmed,omitempty"`
}

// Range is a number with its interval: the central value and the 2.5 % and 97.5 % points.
type Range struct {
	Lo  float64 `json:"lo"`
	Mid float64 `json:"mid"`
	Hi  float64 `json:"hi"`
}

// Contributor is how much one organism at one place adds to the risk.
type Contributor struct {
	Organism string  `json:"organism"`
	Stage    string  `json:"stage"`
	Place    string  `json:"place"`
	Chance   float64 `json:"chance"` // central chance that it is aboard here, missed and alive
	Share    float64 `json:"share"`  // of the whole
}

// OrganismRisk is the chance for one organism.
type OrganismRisk struct {
	Organism string `json:"organism"`
	Chance   Range  `json:"chance"`
	Basis    string `json:"basis"` // where the carrying rate comes from, and how well it is known
}

// Risk is the chance that something alive is still aboard after the inspection. It informs; it never overrules a failed
// standard.
type Risk struct {
	Chance       Range          `json:"chance"`
	Level        float64        `json:"level"` // of the interval, such as 0.95
	ByOrganism   []OrganismRisk `json:"byOrganism"`
	Contributors []Contributor  `json:"contributors"` // largest first
	Seed         uint64         `json:"seed"`
	Draws        int            `json:"draws"`
	Notes        []string       `json:"notes,omitempty"`
}

// DryLine is one clock of a dry hold: what it asks for and when it ends.
type DryLine struct {
	Rule     string     `json:"rule"`  // a drying line of the protocol by its id, or what else sets the clock
	Title    string     `json:"title"` // the same in words
	Organism string     `json:"organism,omitempty"`
	Stage    string     `json:"stage,omitempty"`
	From     ClockStart `json:"from"`
	Start    *time.Time `json:"start,omitempty"` // absent = the clock has not started
	Earliest *time.Time `json:"earliest,omitempty"`
	// State is met, running, not_started, not_shown (drying cannot be shown to kill), never or not_accepted.
	State    string `json:"state"`
	Binding  bool   `json:"binding"` // counts for the launch; the others are shown beside it
	Source   string `json:"source,omitempty"`
	Note     string `json:"note,omitempty"`
	Survival *Range `json:"survival,omitempty"` // share expected alive now, both curves
}

// DryHold is when a craft may launch if it dries instead, or why no time can be given.
type DryHold struct {
	Earliest *time.Time `json:"earliest,omitempty"`
	// Decides is the line whose end is the latest, or the one that allows no time.
	Decides string    `json:"decides"`
	Lines   []DryLine `json:"lines"`
	Weather string    `json:"weather"` // what the times rest on
	Notes   []string  `json:"notes,omitempty"`
}
