package thwart

import (
	"fmt"
	"strings"
	"time"

	"thwart/unit"
)

// Standard is one of the three things a craft is judged on.
type Standard string

// The three standards.
const (
	Clean   Standard = "clean"
	Drained Standard = "drained"
	Dry     Standard = "dry"
)

// Standards lists the three in the order they are judged.
var Standards = []Standard{Clean, Drained, Dry}

// Outcome is what a craft must come through before it may launch, mildest first.
type Outcome string

// Outcomes. None is milder than all: it is the outcome of a rule that does not apply.
const (
	Launch  Outcome = "launch"
	FixHere Outcome = "fix_here" // hand removal, draining, wiping on the spot
	Wash    Outcome = "wash"
	DryOut  Outcome = "dry"  // sit out a drying time
	Hold    Outcome = "hold" // beyond the steward's authority: call the responsible agency
)

// Outcomes lists them mildest first.
var Outcomes = []Outcome{Launch, FixHere, Wash, DryOut, Hold}

// Rank orders outcomes: 0 for launch up to 4 for hold; -1 for a word that is no outcome.
func (o Outcome) Rank() int {
	for i, x := range Outcomes {
		if x == o {
			return i
		}
	}
	return -1
}

// Stricter gives the stricter of two outcomes.
func (o Outcome) Stricter(p Outcome) Outcome {
	if p.Rank() > o.Rank() {
		return p
	}
	return o
}

// MeasuredAt is where a wash temperature counts.
type MeasuredAt string

// Where a temperature is read. Nozzle is what people read when they should not: it is never contact.
const (
	AtUnknown       MeasuredAt = ""
	AtContact       MeasuredAt = "contact" // on the surface, or of the run-off
	AtExit          MeasuredAt = "exit"    // in the water leaving the craft
	AtContactOrExit MeasuredAt = "contact_or_exit"
	AtNozzle        MeasuredAt = "nozzle"
	AtInlet         MeasuredAt = "inlet"
	AtSoak          MeasuredAt = "soak" // in the bath, beside the gear
)

// UnmarshalJSON also accepts the written-out "unknown".
func (m *MeasuredAt) UnmarshalJSON(b []byte) error { return unmarshalWord(b, (*string)(m)) }

func (m MeasuredAt) known() bool {
	switch m {
	case AtUnknown, AtContact, AtExit, AtContactOrExit, AtNozzle, AtInlet, AtSoak:
		return true
	}
	return false
}

// Proves reports whether a reading taken at m counts where the rule wants it taken at want.
func (m MeasuredAt) Proves(want MeasuredAt) bool {
	if want == AtContactOrExit {
		return m == AtContact || m == AtExit || m == AtContactOrExit
	}
	return m != AtUnknown && m == want
}

// Method is how hot water is brought to a place.
type Method string

// Methods.
const (
	MethodHighSpray   Method = "high_spray" // nozzle on
	MethodLowSpray    Method = "low_spray"  // no nozzle, about a garden hose
	MethodFlush       Method = "flush"
	MethodFillFlush   Method = "fill_and_flush"
	MethodLowOrFlush  Method = "low_spray_or_flush"
	MethodEngineFlush Method = "engine_flush"
	MethodSoak        Method = "soak"
)

// Methods lists every method.
var Methods = []Method{
	MethodHighSpray, MethodLowSpray, MethodFlush, MethodFillFlush, MethodLowOrFlush, MethodEngineFlush, MethodSoak,
}

// Immersed reports whether the organism sits in hot water, rather than under a spray: the two are never mixed when
// heat data are read.
func (m Method) Immersed() bool {
	switch m {
	case MethodFlush, MethodFillFlush, MethodEngineFlush, MethodSoak:
		return true
	}
	return false
}

// Serves reports whether a wash done with m satisfies a rule that asks for want. A softer or thinner method never does:
// flushing alone is not fill and flush.
func (m Method) Serves(want Method) bool {
	switch want {
	case m:
		return true
	case MethodLowOrFlush:
		return m == MethodLowSpray || m == MethodFlush || m == MethodFillFlush
	case MethodFlush:
		return m == MethodFillFlush
	case MethodLowSpray:
		return m == MethodHighSpray // hot enough and long enough, but with a warning: see Protocol.PressureMaxBar
	}
	return false
}

// WashRow is one line of a wash table: what a part needs.
type WashRow struct {
	Part Part `json:"part"`
	// Risk "high" is used when the craft comes from a water at risk, "low" otherwise, "" always.
	Risk           string       `json:"risk,omitempty"`
	TempC          unit.Celsius `json:"tempC"`
	Printed        string       `json:"printed,omitempty"` // the figure as the source prints it, such as 140 °F
	Measured       MeasuredAt   `json:"measured"`
	ContactS       float64      `json:"contactS"` // 0 with UntilExit: no fixed time is published
	UntilExit      bool         `json:"untilExit,omitempty"`
	Method         Method       `json:"method"`
	PressureMaxBar float64      `json:"pressureMaxBar,omitempty"`
	MaxInletC      unit.Celsius `json:"maxInletC,omitempty"`
	Source         string       `json:"source"`
	Known          string       `json:"known"`
	Note           string       `json:"note,omitempty"`
}

// ClockStart is the event a drying time is counted from.
type ClockStart string

// Clock starts.
const (
	ClockOutOfWater ClockStart = "out_of_water"
	ClockCleaned    ClockStart = "cleaned"
	ClockDryToTouch ClockStart = "dry_to_touch"
	ClockWashed     ClockStart = "washed"
	ClockSealed     ClockStart = "sealed"
)

// ClockStarts lists them all.
var ClockStarts = []ClockStart{ClockOutOfWater, ClockCleaned, ClockDryToTouch, ClockWashed, ClockSealed}

// DryRule is one line of a drying table.
type DryRule struct {
	Profile string `json:"profile"` // the table's own name for the line
	// Applies says which craft the line is for: any, simple, complex (cannot be drained in full, ballast, inboard, raw
	// water systems), motor, carry_in, gear, dock, sealed_ballast, after_wash, moored.
	Applies     string       `json:"applies"`
	Months      []time.Month `json:"months,omitempty"` // empty: any month. The rule names months; seasons are never computed
	Days        float64      `json:"days,omitempty"`
	Never       bool         `json:"never,omitempty"`       // may not launch here, without an end date
	NotAccepted bool         `json:"notAccepted,omitempty"` // no drying is accepted: wash always
	FreezingH   float64      `json:"freezingH,omitempty"`   // instead of Days: unbroken hours below freezing
	UsedIn      string       `json:"usedIn,omitempty"`      // where last used: "near" or "elsewhere", as the profile defines
	From        ClockStart   `json:"from"`
	Kind        string       `json:"kind"` // rule, advice, park rule …: the adopting text's own weight
	Source      string       `json:"source"`
	Known       string       `json:"known"`
	Note        string       `json:"note,omitempty"`
}

// TestedDrying lets a programme multiply a tested drying time by a margin and count it from dry to the touch.
type TestedDrying struct {
	Organism string       `json:"organism"`
	Stage    string       `json:"stage"`
	Hours    float64      `json:"hours"`    // shortest tested time at which nothing survived
	MinTempC unit.Celsius `json:"minTempC"` // of the test: cooler hours earn nothing
	MaxRHPct float64      `json:"maxRhPct"` // of the test, assumed where the paper does not give it
	Margin   float64      `json:"margin"`   // the programme's own, at least 1
	Source   string       `json:"source"`
	Known    string       `json:"known"`
}

// Always is a rule that treats a craft whatever is found on it.
type Always struct {
	When    string  `json:"when"` // one of AlwaysWhens
	Outcome Outcome `json:"outcome"`
	Source  string  `json:"source"`
	Known   string  `json:"known"`
	Note    string  `json:"note,omitempty"`
}

// AlwaysWhens lists the conditions an [Always] rule may name. no_local_seal is every motor craft without this water's own
// intact seal, trailered_no_local_seal every craft that came on a trailer without it. changes_water is every craft but one
// that goes straight back to its water, carries an accepted seal or release, or is carried in where that is exempt. dock is
// a dock, lift or raft that is moved between waters.
var AlwaysWhens = []string{
	"any", "ballast", "motor", "out_of_region", "moored", "no_local_seal", "trailered_no_local_seal", "changes_water",
	"risk_water", "dock",
}

// Power is an act that needs authority, and who holds it in this place.
type Power struct {
	Act    string `json:"act"` // inspect, refuse_launch, require_wash, order_wash, hold, impound, release, fit_seal
	Who    []Role `json:"who"` // empty: nobody named in the text read; treat as the agency's alone
	Source string `json:"source"`
	Known  string `json:"known"`
	Note   string `json:"note,omitempty"`
}

// Role is a capacity in which a person acts.
type Role string

// Roles. Volunteer may only inform in some places; that is data of the protocol.
const (
	RoleOwner      Role = "owner"
	RoleVolunteer  Role = "volunteer"
	RoleSteward    Role = "steward"
	RoleTechnician Role = "technician" // trained to wash
	RoleManager    Role = "manager"
	RoleOfficer    Role = "officer"
	RoleAgency     Role = "agency"
)

// Roles lists them all.
var Roles = []Role{RoleOwner, RoleVolunteer, RoleSteward, RoleTechnician, RoleManager, RoleOfficer, RoleAgency}

// Criteria is what fails a standard under a protocol.
type Criteria struct {
	DeadMusselFails bool `json:"deadMusselFails"` // a dead or dried shell fails like a live one
	DeadMusselHolds bool `json:"deadMusselHolds"` // and is held for the agency, not washed by the steward
	AnyPlantFails   bool `json:"anyPlantFails"`   // false: only listed plants do; an unnamed plant still fails
	MudFails        bool `json:"mudFails"`
	// Water that may stay aboard: none, film (a wipeable skin of water passes) or limit (WaterLimitML).
	Water        string  `json:"water"`
	WaterLimitML float64 `json:"waterLimitMl,omitempty"`
	// Plug on the road: out, may_refit (once the water is out) or not_asked.
	Plug         string `json:"plug"`
	ClothMustDry bool   `json:"clothMustDry"`
	StrainerOut  bool   `json:"strainerOut"` // sea strainers are taken out for transport
}

// Protocol is a jurisdiction's rules as data: dated, versioned, with its sources, and switched off until the programme
// has confirmed it.
type Protocol struct {
	ID        string `json:"id"`
	Version   string `json:"version"`
	Title     string `json:"title"`
	TextDate  string `json:"textDate"`  // date of the text that was read, as far as known
	Confirmed bool   `json:"confirmed"` // a person of the programme has checked it against the law in force
	// ConfirmedBy and ConfirmedOn are required once Confirmed is set.
	ConfirmedBy string `json:"confirmedBy,omitempty"`
	ConfirmedOn string `json:"confirmedOn,omitempty"`
	Summary     string `json:"summary"`
	// Words keeps the adopting authority's own word for an outcome or an act beside our neutral one.
	Words map[string]string `json:"words,omitempty"`

	Requires []Standard `json:"requires"` // the standards a craft must meet to launch
	Criteria Criteria   `json:"criteria"`
	// LookBackDays is how long a stay in a water at risk counts; 0 means for ever.
	LookBackDays float64 `json:"lookBackDays"`
	// AfterRisk is what a clean, drained and dry craft still owes when it comes from a water at risk within the
	// look-back: nothing, wash_or_dry, wash, dry, wash_and_dry.
	AfterRisk       string   `json:"afterRisk"`
	Always          []Always `json:"always,omitempty"`
	SameWaterExempt bool     `json:"sameWaterExempt"` // going straight back to the water it left
	CarryInExempt   bool     `json:"carryInExempt"`   // no motor, no trailer

	WashTable string    `json:"washTable,omitempty"` // a published table of the library, taken whole
	Wash      []WashRow `json:"wash,omitempty"`      // the protocol's own lines; they stand before the table's
	WashOrder string    `json:"washOrder"`           // inside_first or outside_first
	// SafetyFactor multiplies every published lethal bound; policy, not biology.
	SafetyFactor float64 `json:"safetyFactor"`
	// Alternative allows a manager-approved wash by a tested pair when the standard temperature cannot be reached.
	Alternative bool `json:"alternative"`

	DryTables    []string       `json:"dryTables,omitempty"` // published drying profiles of the library
	Dry          []DryRule      `json:"dry,omitempty"`
	TestedDrying []TestedDrying `json:"testedDrying,omitempty"`

	SealTrust   []string `json:"sealTrust,omitempty"` // issuers whose seal is accepted
	SealReceipt bool     `json:"sealReceipt"`         // a seal counts only with its matching receipt
	Release     bool     `json:"release"`             // an electronic release is accepted as proof

	Chemicals []Chemical `json:"chemicals,omitempty"`
	Powers    []Power    `json:"powers"`
	Sources   []string   `json:"sources"`
	Notes     []string   `json:"notes,omitempty"`
}

// Chemical is an agent the programme's protocol allows where heat cannot be used. Labels and local law come first.
type Chemical struct {
	Agent    string  `json:"agent"`
	Strength string  `json:"strength"`
	ContactS float64 `json:"contactS"`
	For      []Part  `json:"for"`
	NotFor   string  `json:"notFor,omitempty"`
	Source   string  `json:"source"`
	Known    string  `json:"known"`
}

// Validate checks the protocol's own fields; whether the tables it names exist is checked where the library is at hand.
func (p Protocol) Validate() error {
	var c check
	c.required("id", p.ID, "a short name in lower case")
	c.required("version", p.Version, "such as 1 or 2026.1")
	c.required("title", p.Title, "what people call it")
	if p.Confirmed {
		c.required("confirmedBy", p.ConfirmedBy, "who checked it against the law in force")
		c.required("confirmedOn", p.ConfirmedOn, "the date of that check")
	}
	if len(p.Requires) == 0 {
		c.fail("requires", "", "at least one of clean, drained, dry")
	}
	for i, s := range p.Requires {
		oneOf(&c, fmt.Sprintf("requires[%d]", i), s, Standards...)
	}
	oneOf(&c, "criteria.water", p.Criteria.Water, "none", "film", "limit")
	oneOf(&c, "criteria.plug", p.Criteria.Plug, "out", "may_refit", "not_asked")
	oneOf(&c, "afterRisk", p.AfterRisk, "nothing", "wash_or_dry", "wash", "dry", "wash_and_dry")
	oneOf(&c, "washOrder", p.WashOrder, "inside_first", "outside_first")
	c.within("lookBackDays", p.LookBackDays, 0, 36500, "days")
	c.within("criteria.waterLimitMl", p.Criteria.WaterLimitML, 0, 100000, "mL")
	c.within("safetyFactor", p.SafetyFactor, 1, 10, "(1 takes the published bound as it is)")
	for i, a := range p.Always {
		f := fmt.Sprintf("always[%d].", i)
		oneOf(&c, f+"when", a.When, AlwaysWhens...)
		oneOf(&c, f+"outcome", a.Outcome, FixHere, Wash, DryOut, Hold)
		sourced(&c, f, a.Source, a.Known)
	}
	for i, w := range p.Wash {
		w.validate(&c, fmt.Sprintf("wash[%d].", i))
	}
	for i, d := range p.Dry {
		d.validate(&c, fmt.Sprintf("dry[%d].", i))
	}
	for i, d := range p.TestedDrying {
		f := fmt.Sprintf("testedDrying[%d].", i)
		c.within(f+"hours", d.Hours, 0.1, 10000, "hours")
		c.within(f+"margin", d.Margin, 1, 20, "(1 takes the tested time as it is)")
		sourced(&c, f, d.Source, d.Known)
	}
	for i, m := range p.Chemicals {
		f := fmt.Sprintf("chemicals[%d].", i)
		c.required(f+"agent", m.Agent, "the name on the label")
		c.required(f+"strength", m.Strength, "as the label or the rule gives it, such as 200 ppm")
		c.within(f+"contactS", m.ContactS, 1, 7*unit.SecondsPerDay, "seconds")
		if len(m.For) == 0 {
			c.fail(f+"for", "", "at least one part it may be used on, such as gear")
		}
		for k, part := range m.For {
			oneOf(&c, fmt.Sprintf("%sfor[%d]", f, k), part, Parts...)
		}
		sourced(&c, f, m.Source, m.Known)
	}
	for i, w := range p.Powers {
		f := fmt.Sprintf("powers[%d].", i)
		oneOf(&c, f+"act", w.Act, PowerActs...)
		for j, r := range w.Who {
			oneOf(&c, fmt.Sprintf("%swho[%d]", f, j), r, Roles...)
		}
		sourced(&c, f, w.Source, w.Known)
	}
	return c.err()
}

// PowerActs lists the acts that need authority.
var PowerActs = []string{"inspect", "refuse_launch", "require_wash", "order_wash", "hold", "impound", "release", "fit_seal"}

// May reports who holds a power under the protocol. An act nobody is named for is the agency's alone.
func (p *Protocol) May(act string) []Role {
	for i := range p.Powers {
		if p.Powers[i].Act == act && len(p.Powers[i].Who) > 0 {
			return p.Powers[i].Who
		}
	}
	return []Role{RoleAgency}
}

// Needs reports whether a standard is required to launch.
func (p *Protocol) Needs(s Standard) bool {
	for _, x := range p.Requires {
		if x == s {
			return true
		}
	}
	return false
}

func (w WashRow) validate(c *check, f string) {
	oneOf(c, f+"part", w.Part, Parts...)
	oneOf(c, f+"method", w.Method, Methods...)
	if w.Measured == AtUnknown || w.Measured == AtNozzle || w.Measured == AtInlet || !w.Measured.known() {
		c.fail(f+"measured", w.Measured, "contact, exit, contact_or_exit, soak; a reading at nozzle or inlet proves nothing")
	}
	c.within(f+"pressureMaxBar", w.PressureMaxBar, 0, 400, "bar")
	if w.MaxInletC != 0 {
		c.within(f+"maxInletC", float64(w.MaxInletC), 20, 100, "°C")
	}
	oneOf(c, f+"risk", w.Risk, "", "low", "high")
	c.within(f+"tempC", float64(w.TempC), 20, 100, "°C")
	c.within(f+"contactS", w.ContactS, 0, 7200, "s")
	if w.ContactS == 0 && !w.UntilExit {
		c.fail(f+"contactS", 0, "a contact time in seconds, or untilExit true where the rule gives none")
	}
	sourced(c, f, w.Source, w.Known)
}

func (d DryRule) validate(c *check, f string) {
	c.required(f+"profile", d.Profile, "a name of your own for the line")
	oneOf(c, f+"applies", d.Applies, DryApplies...)
	if d.From != "" || !(d.Never || d.NotAccepted) {
		oneOf(c, f+"from", d.From, ClockStarts...)
	}
	oneOf(c, f+"usedIn", d.UsedIn, "", "near", "elsewhere")
	c.within(f+"days", d.Days, 0, 36500, "days")
	if d.FreezingH != 0 {
		c.within(f+"freezingH", d.FreezingH, 1, 1000, "hours")
	}
	if d.Days == 0 && d.FreezingH == 0 && !d.Never && !d.NotAccepted {
		c.fail(f+"days", 0, "days above 0, freezingH, never or notAccepted")
	}
	for i, m := range d.Months {
		c.within(fmt.Sprintf("%smonths[%d]", f, i), float64(m), 1, 12, "(January is 1)")
	}
	sourced(c, f, d.Source, d.Known)
}

// DryApplies lists which craft a drying line may be for.
var DryApplies = []string{"any", "simple", "complex", "motor", "carry_in", "gear", "dock", "sealed_ballast", "after_wash", "moored"}

func sourced(c *check, f, source, known string) {
	c.required(f+"source", source, "who published it, or \"common practice, no source\"")
	oneOf(c, f+"known", known, "published", "common practice", "from memory", "programme")
}

// oneOf refuses a value that is not listed; unlike word it refuses the empty one too, unless it is listed.
func oneOf[T ~string](c *check, field string, value T, accepted ...T) {
	names := make([]string, len(accepted))
	for i, a := range accepted {
		if a == value {
			return
		}
		if names[i] = string(a); a == "" {
			names[i] = "left out"
		}
	}
	c.fail(field, value, strings.Join(names, ", "))
}
