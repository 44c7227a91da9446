package refdata

import (
	"slices"

	"thwart/lean"
	"thwart/unit"
)

// Application is how heat was brought to the organism. Figures for spray and for immersion differ and are never mixed.
type Application string

// Applications.
const (
	Spray            Application = "spray"
	Immersion        Application = "immersion"
	ImmersionChronic Application = "immersion_chronic" // hours to weeks in warm water: limits of living, not washes
	BriefExposure    Application = "brief_exposure"    // seconds; dip or spray not told apart
	Steam            Application = "steam"
	AnyApplication   Application = "any" // nothing found, however applied
)

// Applications lists every way.
var Applications = []Application{Spray, Immersion, ImmersionChronic, BriefExposure, Steam, AnyApplication}

// HeatResult is what a heat trial or account says.
type HeatResult string

// Heat results.
const (
	FirstAllDead     HeatResult = "first_all_dead"    // shortest time tried at which all died; the next shorter one is taken not to have killed all
	AllDead          HeatResult = "all_dead"          // all died
	TimeToAllDead    HeatResult = "time_to_all_dead"  // watched until the last died
	AllDeadClaimed   HeatResult = "all_dead_claimed"  // by guidance, not by a trial that was read
	HeatClaimed      HeatResult = "claimed"           // by a plan
	HeatPredicted    HeatResult = "predicted"         // by extrapolation
	HeatFraction     HeatResult = "fraction"          // the share in mortality, or in words
	FractionPooled   HeatResult = "fraction_pooled"   // over several species
	FractionOfTests  HeatResult = "fraction_of_tests" // share of trials in which all died
	NotAllDead       HeatResult = "not_all_dead"
	SomeHatch        HeatResult = "some_hatch"
	HeatIneffective  HeatResult = "ineffective"
	HighMortality    HeatResult = "high_mortality"
	LethalLongTerm   HeatResult = "lethal_long_term"
	NoSurvival       HeatResult = "no_survival"
	NoSurvivalLimit  HeatResult = "no_survival_limit"
	HeatDegreeHours  HeatResult = "degree_hours"
	HeatNothingFound HeatResult = "not_found" // looked for; no number found
)

// HeatResults lists every result.
var HeatResults = []HeatResult{
	FirstAllDead, AllDead, TimeToAllDead, AllDeadClaimed, HeatClaimed, HeatPredicted, HeatFraction, FractionPooled,
	FractionOfTests, NotAllDead, SomeHatch, HeatIneffective, HighMortality, LethalLongTerm, NoSurvival, NoSurvivalLimit,
	HeatDegreeHours, HeatNothingFound,
}

// Bound says that a value is a limit rather than the value itself.
type Bound string

// Bounds.
const (
	Exactly Bound = ""
	Below   Bound = "<"
	AtLeast Bound = ">="
	Above   Bound = ">"
)

var bounds = []Bound{Below, AtLeast, Above}

// HeatEvidence is one published (or remembered) result of heat on an organism.
type HeatEvidence struct {
	ID            string
	Organism      string // id; empty where a study pooled several kinds
	Subject       string // in words
	Stage         StageName
	StageDetail   string // size, or the study's own word
	Application   Application
	Setting       string
	TempBound     Bound
	TempC         *unit.Celsius // nil = not stated
	ExposureBound Bound
	ExposureS     *float64 // nil = not stated
	Result        HeatResult
	Mortality     *float64 // share that died, 0 to 1; nil = not stated as a number
	MortalityText string   // where it is stated in words
	Acclimation   string   // temperature the animals came from, as stated
	Sample        string   // as stated; nearly always missing from abstracts
	Refused       string   // why the result must not clear anything; empty = nothing against it
	Provenance
}

// HeatUse is what a profile may be used for.
type HeatUse string

// Uses.
const (
	ForRelease  HeatUse = "release"
	ForPlanning HeatUse = "planning" // estimates only: one end of the line is not an all-dead bound
)

// HeatProfile is a bound on the time at a temperature that has killed all, in the form
//
//	T <  MinTempC              no credit
//	MinTempC <= T < RefTempC   t = RefTimeS * 10^((RefTempC - T) / ZBelowK)
//	T >= RefTempC              t = max(FloorS, RefTimeS * 10^(-(T - RefTempC) / ZAboveK))
//
// with t in seconds. T is the temperature at the organism, not at the nozzle.
type HeatProfile struct {
	ID          string
	Organism    string
	Stage       StageName
	Application Application // spray or immersion
	RefTempC    unit.Celsius
	RefTimeS    float64
	ZBelowK     *float64 // degrees for a tenfold longer time below RefTempC; nil: no credit below it
	ZAboveK     *float64 // degrees for a tenfold shorter time above it; nil: the time stays RefTimeS
	MinTempC    unit.Celsius
	FloorS      float64 // shortest time anyone tried
	Use         HeatUse
	// MinFactor is the least multiple of the time that counts, whatever smaller factor a protocol sets.
	MinFactor float64
	// MaxSourceWaterC limits a profile to animals from water at this temperature or colder; nil: any water.
	MaxSourceWaterC *unit.Celsius
	InsteadOf       string // id of the profile it may replace under its condition or use; empty: it is the standard one
	Grade           Grade
	EvidenceIDs     []string
	Basis           string // how the figures follow from the evidence
	Provenance
}

// MayClear reports whether the profile may be part of letting a craft go: a release profile that rests on what was read.
func (p HeatProfile) MayClear() bool { return p.Use == ForRelease && p.Known == Published }

var heatEvidenceTable = lean.Once2(func() ([]HeatEvidence, error) {
	columns := []string{
		"id", "organism", "subject", "stage", "stage_detail", "application", "setting", "temp_bound", "temp_c",
		"exposure_bound", "exposure_s", "result", "mortality", "mortality_text", "acclimation", "sample", "refused", "source",
		"known", "note",
	}
	return load("heat_evidence.csv", columns, func(r *row) HeatEvidence {
		return HeatEvidence{
			ID:            r.text("id"),
			Organism:      r.optText("organism"),
			Subject:       r.text("subject"),
			Stage:         word(r, "stage", evidenceStages),
			StageDetail:   r.optText("stage_detail"),
			Application:   word(r, "application", Applications),
			Setting:       r.optText("setting"),
			TempBound:     optWord(r, "temp_bound", bounds),
			TempC:         r.optCelsius("temp_c"),
			ExposureBound: optWord(r, "exposure_bound", bounds),
			ExposureS:     r.optNumber("exposure_s", 1, 1e7),
			Result:        word(r, "result", HeatResults),
			Mortality:     r.optNumber("mortality", 0, 1),
			MortalityText: r.optText("mortality_text"),
			Acclimation:   r.optText("acclimation"),
			Sample:        r.optText("sample"),
			Refused:       r.optText("refused"),
			Provenance:    r.provenance(),
		}
	})
})

var heatProfileTable = lean.Once2(func() ([]HeatProfile, error) {
	columns := []string{
		"id", "organism", "stage", "application", "ref_temp_c", "ref_time_s", "z_below_k", "z_above_k", "min_temp_c",
		"floor_s", "use", "min_factor", "max_source_water_c", "instead_of", "grade", "evidence", "basis", "source", "known",
		"note",
	}
	return load("heat_profiles.csv", columns, func(r *row) HeatProfile {
		p := HeatProfile{
			ID:              r.id("id"),
			Organism:        r.id("organism"),
			Stage:           word(r, "stage", evidenceStages),
			Application:     word(r, "application", []Application{Spray, Immersion}),
			RefTempC:        r.celsius("ref_temp_c"),
			RefTimeS:        r.number("ref_time_s", 1, 1e6),
			ZBelowK:         r.optNumber("z_below_k", 0.1, 100),
			ZAboveK:         r.optNumber("z_above_k", 0.1, 100),
			MinTempC:        r.celsius("min_temp_c"),
			FloorS:          r.number("floor_s", 1, 1e6),
			Use:             word(r, "use", []HeatUse{ForRelease, ForPlanning}),
			MinFactor:       r.number("min_factor", 1, 10),
			MaxSourceWaterC: r.optCelsius("max_source_water_c"),
			InsteadOf:       r.optText("instead_of"),
			Grade:           word(r, "grade", Grades),
			EvidenceIDs:     r.list("evidence"),
			Basis:           r.text("basis"),
			Provenance:      r.provenance(),
		}
		if p.MinTempC > p.RefTempC || p.ZBelowK == nil && p.MinTempC != p.RefTempC {
			r.fail("min_temp_c", r.cells["min_temp_c"], "ref_temp_c, or a lower temperature where z_below_k is given")
		}
		if p.FloorS > p.RefTimeS || p.ZAboveK == nil && p.FloorS != p.RefTimeS {
			r.fail("floor_s", r.cells["floor_s"], "ref_time_s, or a shorter time where z_above_k is given")
		}
		return p
	})
})

var heatProfileIndex = lean.Once2(func() (map[string]HeatProfile, error) {
	rows, err := heatProfileTable()
	if err != nil {
		return nil, err
	}
	return byKey("heat_profiles.csv", rows, func(p HeatProfile) string { return p.ID })
})

// HeatEvidences lists every result of heat, the ones that found nothing included.
func HeatEvidences() []HeatEvidence { return slices.Clone(must(heatEvidenceTable())) }

// TestedPairs lists the temperatures and times at which all of a stage died in a trial, as they were tried: results
// [AllDead] and [FirstAllDead] with both numbers stated, refused ones left out. They are those of the organism itself,
// not of mussels told apart no further, nor of a stand-in. Remembered rows are among them: look at Known.
func TestedPairs(organism string, stage StageName, a Application) []HeatEvidence {
	var out []HeatEvidence
	for _, e := range must(heatEvidenceTable()) {
		if e.Organism != "" && e.Organism == organism && (e.Stage == stage || e.Stage == StageAny) && e.Application == a &&
			(e.Result == AllDead || e.Result == FirstAllDead) && e.TempC != nil && e.ExposureS != nil &&
			e.TempBound == Exactly && e.ExposureBound == Exactly && e.Refused == "" {
			out = append(out, e)
		}
	}
	return out
}

// HeatProfiles lists every profile.
func HeatProfiles() []HeatProfile { return slices.Clone(must(heatProfileTable())) }

// HeatProfileByID finds one profile.
func HeatProfileByID(id string) (HeatProfile, bool) {
	p, ok := must(heatProfileIndex())[id]
	return p, ok
}

// HeatAlternatives lists the profiles that may replace one under a condition (animals from cold water) or for planning.
func HeatAlternatives(id string) []HeatProfile {
	var out []HeatProfile
	for _, p := range must(heatProfileTable()) {
		if id != "" && p.InsteadOf == id {
			out = append(out, p)
		}
	}
	return out
}
