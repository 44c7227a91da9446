package refdata

import (
	"slices"

	"thwart/lean"
	"thwart/unit"
)

// Outcome is what a drying trial says of its time.
type Outcome string

// Outcomes of drying. An empty outcome says neither.
const (
	OutcomeAllDead  Outcome = "all_dead"  // none alive at this time
	OutcomeAlive    Outcome = "alive"     // some alive at this time
	OutcomeNoEffect Outcome = "no_effect" // as many alive as among the undried
	OutcomeClaimed  Outcome = "claimed"   // none alive, by guidance rather than a trial that was read
)

// DryingKind is the form in which a drying result was published.
type DryingKind string

// DryingKinds lists every form; not_found is a number that was looked for and not found.
var DryingKinds = []DryingKind{
	"fraction", "last_alive", "last_alive_after", "last_alive_between", "last_alive_by", "last_alive_damp", "alive_at",
	"alive_at_least", "all_dead_from", "time_to_all_dead", "near_all_alive", "substantial_decline", "high_mortality",
	"mean_survival", "no_effect_relative_to_control", "regrew_after_full_desiccation", "sprouting", "decline", "relative",
	"summary", "qualitative", "protocol", "mass_loss_predicts", "loss_by_moisture", "moisture_limit", "not_found",
}

// DryingEvidence is one published (or remembered) result of air on an organism.
type DryingEvidence struct {
	ID           string
	Organism     string // id; empty where a study pooled several kinds
	Subject      string
	Stage        StageName
	StageDetail  string
	TempC        *unit.Celsius // nil = not stated
	RHPct        *float64      // nil = not stated as one number
	Humidity     string        // where it is stated as a range or in words
	TimeH        *float64      // nil = not stated
	TimeToH      *float64      // upper end where a range is stated
	Survival     *float64      // share alive, 0 to 1; nil = not stated as a number
	SurvivalText string
	Outcome      Outcome
	Kind         DryingKind
	Condition    string // such as when the clock starts
	Provenance
}

// DryingScale names which mussels a time scale is for.
type DryingScale string

// Scales: shells over 18 mm, of 10-18 mm, and settled juveniles of 0.5-4 mm.
const (
	ScaleLarge    DryingScale = "large"
	ScaleSmall    DryingScale = "small"
	ScaleJuvenile DryingScale = "juvenile"
)

// DryingSet is one set of parameters of the drying curve of mussels. With T in °C, e(T) = 0.6108 exp(17.27 T/(T + 237.3))
// kPa and D the vapour-pressure deficit e(T)(1 - RH/100) held between MinVPDKPa and MaxVPDKPa:
//
//	lambda = LambdaD exp(-TempSlopePerK (min(T, MaxTempC) - RefTempC)) (D / D(RefTempC, RefRHPct))^(-VPDExponent)   days
//	A      = sum of dt / lambda, no time counted while T < MinTempC
//	alive  = exp(-A^Shape)
//
// One in a thousand is left at A = ClearA. A craft passes only when every set with Release reaches its ClearA.
type DryingSet struct {
	ID            string
	Display       bool // show the survival of this set
	Release       bool
	TempSlopePerK float64
	VPDExponent   float64
	Shape         float64
	LargeD        float64 // time scales in days
	SmallD        float64
	JuvenileD     float64
	ClearA        float64
	RefTempC      unit.Celsius
	RefRHPct      float64
	MinTempC      unit.Celsius
	MaxTempC      unit.Celsius
	MinVPDKPa     float64
	MaxVPDKPa     float64
	WetRHPct      float64 // humidity at surfaces that stay wet: carpet, bunks, bilge, tubing
	Grade         Grade
	EvidenceIDs   []string
	Basis         string
	Provenance
}

// LambdaD gives the time scale in days of a scale; ok is false for a scale that does not exist.
func (s DryingSet) LambdaD(scale DryingScale) (days float64, ok bool) {
	switch scale {
	case ScaleLarge:
		return s.LargeD, true
	case ScaleSmall:
		return s.SmallD, true
	case ScaleJuvenile:
		return s.JuvenileD, true
	}
	return 0, false
}

// DryingRefit is another fit of the drying curve, made to see how far the answer hangs on what was assumed. Columns are
// days to one in a thousand alive.
type DryingRefit struct {
	Variant        string
	Cost           float64 // comparable only between fits to the same points and weights
	Shape          float64
	Large20C50D    float64
	Large10C95D    float64
	Large5C80D     float64
	Large30CDryD   float64 // at the driest air counted, 1.4 kPa
	Small20C50D    float64
	Juvenile20C50D float64
	Juvenile10C95D float64
	Provenance
}

// DryingDose is what drying must add up to: the vapour-pressure deficit summed over open drying, in kPa h, and a least time
// on the clock. Both must be met. Between LastAliveKPaH and ClearKPaH the answer is "not shown dead".
type DryingDose struct {
	ID            string
	Organism      string
	Stage         StageName
	LastAliveKPaH *float64 // highest dose at which live material is on record; nil = not known
	ClearKPaH     *float64 // nil: no dose clears it
	MinH          *float64 // nil where no dose clears
	Grade         Grade
	EvidenceIDs   []string
	Basis         string
	Provenance
}

// MayClear reports whether the dose may be part of letting a craft go.
func (d DryingDose) MayClear() bool {
	return d.ClearKPaH != nil && d.MinH != nil && d.Known == Published
}

// ResidualKind is the form in which survival in water left aboard was published.
type ResidualKind string

// ResidualKinds lists every form.
var ResidualKinds = []ResidualKind{
	"last_alive", "time_to_all_dead", "qualitative", "by_design", "time_to_thousandth", "still_infective", "not_found",
}

// ResidualEvidence is one result on survival in water left aboard.
type ResidualEvidence struct {
	ID          string
	Organism    string
	Subject     string
	Stage       StageName
	StageDetail string
	TempC       *unit.Celsius // nil = not stated
	Setting     string
	Days        *float64 // nil = not stated
	Kind        ResidualKind
	Provenance
}

// ResidualModel is the time in water after which none are expected alive:
//
//	days = exp(LnDaysAt0C - SlopePerK * T), T held between MinTempC and MaxTempC
type ResidualModel struct {
	ID          string
	Organism    string
	Stage       StageName
	LnDaysAt0C  float64
	SlopePerK   float64
	MinTempC    unit.Celsius
	MaxTempC    unit.Celsius
	Grade       Grade
	EvidenceIDs []string
	Basis       string
	Provenance
}

// MayClear reports whether the model may be part of letting a craft go.
func (m ResidualModel) MayClear() bool { return m.Known == Published }

// AgentKind is what was used in place of heat and drying.
type AgentKind string

// Agents.
const (
	Chemical AgentKind = "chemical"
	Freezing AgentKind = "freezing"
)

// AgentTrial is one result of a chemical or of frost. Label law, pollution and materials are another matter.
type AgentTrial struct {
	ID            string
	Organism      string
	Subject       string
	Stage         StageName
	StageDetail   string
	Agent         string // as the source names it
	Kind          AgentKind
	Strength      string        // as stated
	TempC         *unit.Celsius // of frost, the coldest where a range is stated; nil = not stated as a number
	TimeS         *float64      // nil = not stated
	TimeToS       *float64      // upper end where a range is stated
	Mortality     *float64      // share that died; nil = not stated as a number
	MortalityText string
	Provenance
}

var dryingEvidenceTable = lean.Once2(func() ([]DryingEvidence, error) {
	columns := []string{
		"id", "organism", "subject", "stage", "stage_detail", "temp_c", "rh_pct", "humidity", "time_h", "time_to_h",
		"survival", "survival_text", "outcome", "kind", "condition", "source", "known", "note",
	}
	return load("drying_evidence.csv", columns, func(r *row) DryingEvidence {
		return DryingEvidence{
			ID:           r.text("id"),
			Organism:     r.optText("organism"),
			Subject:      r.text("subject"),
			Stage:        word(r, "stage", evidenceStages),
			StageDetail:  r.optText("stage_detail"),
			TempC:        r.optCelsius("temp_c"),
			RHPct:        r.optNumber("rh_pct", 0, 100),
			Humidity:     r.optText("humidity"),
			TimeH:        r.optNumber("time_h", 0.1, 1e5),
			TimeToH:      r.optNumber("time_to_h", 0.1, 1e5),
			Survival:     r.optNumber("survival", 0, 1),
			SurvivalText: r.optText("survival_text"),
			Outcome:      optWord(r, "outcome", []Outcome{OutcomeAllDead, OutcomeAlive, OutcomeNoEffect, OutcomeClaimed}),
			Kind:         word(r, "kind", DryingKinds),
			Condition:    r.optText("condition"),
			Provenance:   r.provenance(),
		}
	})
})

var dryingSetTable = lean.Once2(func() ([]DryingSet, error) {
	columns := []string{
		"id", "display", "release", "temp_slope_per_k", "vpd_exponent", "shape", "lambda_large_d", "lambda_small_d",
		"lambda_juvenile_d", "clear_a", "ref_temp_c", "ref_rh_pct", "min_temp_c", "max_temp_c", "min_vpd_kpa", "max_vpd_kpa",
		"wet_rh_pct", "grade", "evidence", "basis", "source", "known", "note",
	}
	return load("drying_sets.csv", columns, func(r *row) DryingSet {
		return DryingSet{
			ID:            r.id("id"),
			Display:       r.yes("display"),
			Release:       r.yes("release"),
			TempSlopePerK: r.number("temp_slope_per_k", 0, 1),
			VPDExponent:   r.number("vpd_exponent", 0, 2),
			Shape:         r.number("shape", 0.5, 10),
			LargeD:        r.number("lambda_large_d", 0.01, 100),
			SmallD:        r.number("lambda_small_d", 0.01, 100),
			JuvenileD:     r.number("lambda_juvenile_d", 0.01, 100),
			ClearA:        r.number("clear_a", 1, 10),
			RefTempC:      r.celsius("ref_temp_c"),
			RefRHPct:      r.number("ref_rh_pct", 0, 100),
			MinTempC:      r.celsius("min_temp_c"),
			MaxTempC:      r.celsius("max_temp_c"),
			MinVPDKPa:     r.number("min_vpd_kpa", 0, 10),
			MaxVPDKPa:     r.number("max_vpd_kpa", 0, 10),
			WetRHPct:      r.number("wet_rh_pct", 0, 100),
			Grade:         word(r, "grade", Grades),
			EvidenceIDs:   r.list("evidence"),
			Basis:         r.text("basis"),
			Provenance:    r.provenance(),
		}
	})
})

var dryingRefitTable = lean.Once2(func() ([]DryingRefit, error) {
	columns := []string{
		"variant", "cost", "shape", "large_20c_50rh_d", "large_10c_95rh_d", "large_5c_80rh_d", "large_30c_dry_d",
		"small_20c_50rh_d", "juvenile_20c_50rh_d", "juvenile_10c_95rh_d", "source", "known", "note",
	}
	return load("drying_refits.csv", columns, func(r *row) DryingRefit {
		days := func(column string) float64 { return r.number(column, 0.1, 1000) }
		return DryingRefit{
			Variant:        r.text("variant"),
			Cost:           r.number("cost", 0, 10),
			Shape:          r.number("shape", 0.5, 10),
			Large20C50D:    days("large_20c_50rh_d"),
			Large10C95D:    days("large_10c_95rh_d"),
			Large5C80D:     days("large_5c_80rh_d"),
			Large30CDryD:   days("large_30c_dry_d"),
			Small20C50D:    days("small_20c_50rh_d"),
			Juvenile20C50D: days("juvenile_20c_50rh_d"),
			Juvenile10C95D: days("juvenile_10c_95rh_d"),
			Provenance:     r.provenance(),
		}
	})
})

var dryingDoseTable = lean.Once2(func() ([]DryingDose, error) {
	columns := []string{
		"id", "organism", "stage", "last_alive_kpa_h", "can_clear", "clear_kpa_h", "min_h", "grade", "evidence", "basis",
		"source", "known", "note",
	}
	return load("drying_dose.csv", columns, func(r *row) DryingDose {
		d := DryingDose{
			ID:            r.id("id"),
			Organism:      r.id("organism"),
			Stage:         word(r, "stage", evidenceStages),
			LastAliveKPaH: r.optNumber("last_alive_kpa_h", 0.1, 1e5),
			ClearKPaH:     r.optNumber("clear_kpa_h", 0.1, 1e5),
			MinH:          r.optNumber("min_h", 1, 1e5),
			Grade:         word(r, "grade", Grades),
			EvidenceIDs:   r.list("evidence"),
			Basis:         r.text("basis"),
			Provenance:    r.provenance(),
		}
		// The column keeps an empty dose from being read as one that was forgotten.
		if can := r.yes("can_clear"); can != (d.ClearKPaH != nil) || can != (d.MinH != nil) {
			r.fail("can_clear", r.cells["can_clear"], "yes with both clear_kpa_h and min_h, no with neither")
		}
		if d.ClearKPaH != nil && d.LastAliveKPaH != nil && *d.ClearKPaH <= *d.LastAliveKPaH {
			r.fail("clear_kpa_h", r.cells["clear_kpa_h"], "more than last_alive_kpa_h")
		}
		return d
	})
})

var dryingDoseIndex = lean.Once2(func() (map[string]DryingDose, error) {
	rows, err := dryingDoseTable()
	if err != nil {
		return nil, err
	}
	return byKey("drying_dose.csv", rows, func(d DryingDose) string { return d.ID })
})

var residualEvidenceTable = lean.Once2(func() ([]ResidualEvidence, error) {
	columns := []string{
		"id", "organism", "subject", "stage", "stage_detail", "temp_c", "setting", "days", "kind", "source", "known", "note",
	}
	return load("residual_water.csv", columns, func(r *row) ResidualEvidence {
		return ResidualEvidence{
			ID:          r.text("id"),
			Organism:    r.optText("organism"),
			Subject:     r.text("subject"),
			Stage:       word(r, "stage", evidenceStages),
			StageDetail: r.optText("stage_detail"),
			TempC:       r.optCelsius("temp_c"),
			Setting:     r.optText("setting"),
			Days:        r.optNumber("days", 0.1, 1000),
			Kind:        word(r, "kind", ResidualKinds),
			Provenance:  r.provenance(),
		}
	})
})

var residualModelTable = lean.Once2(func() ([]ResidualModel, error) {
	columns := []string{
		"id", "organism", "stage", "ln_days_at_0c", "slope_per_k", "min_temp_c", "max_temp_c", "grade", "evidence", "basis",
		"source", "known", "note",
	}
	return load("residual_models.csv", columns, func(r *row) ResidualModel {
		return ResidualModel{
			ID:          r.id("id"),
			Organism:    r.id("organism"),
			Stage:       word(r, "stage", StageNames),
			LnDaysAt0C:  r.number("ln_days_at_0c", 0, 10),
			SlopePerK:   r.number("slope_per_k", 0, 1),
			MinTempC:    r.celsius("min_temp_c"),
			MaxTempC:    r.celsius("max_temp_c"),
			Grade:       word(r, "grade", Grades),
			EvidenceIDs: r.list("evidence"),
			Basis:       r.text("basis"),
			Provenance:  r.provenance(),
		}
	})
})

var residualModelIndex = lean.Once2(func() (map[string]ResidualModel, error) {
	rows, err := residualModelTable()
	if err != nil {
		return nil, err
	}
	return byKey("residual_models.csv", rows, func(m ResidualModel) string { return m.ID })
})

var agentTrialTable = lean.Once2(func() ([]AgentTrial, error) {
	columns := []string{
		"id", "organism", "subject", "stage", "stage_detail", "agent", "agent_kind", "strength", "temp_c", "time_s",
		"time_to_s", "mortality", "mortality_text", "source", "known", "note",
	}
	return load("chemical_freezing.csv", columns, func(r *row) AgentTrial {
		return AgentTrial{
			ID:            r.text("id"),
			Organism:      r.optText("organism"),
			Subject:       r.text("subject"),
			Stage:         word(r, "stage", evidenceStages),
			StageDetail:   r.optText("stage_detail"),
			Agent:         r.text("agent"),
			Kind:          word(r, "agent_kind", []AgentKind{Chemical, Freezing}),
			Strength:      r.optText("strength"),
			TempC:         r.optCelsius("temp_c"),
			TimeS:         r.optNumber("time_s", 1, 1e8),
			TimeToS:       r.optNumber("time_to_s", 1, 1e8),
			Mortality:     r.optNumber("mortality", 0, 1),
			MortalityText: r.optText("mortality_text"),
			Provenance:    r.provenance(),
		}
	})
})

// DryingEvidences lists every result of drying, the ones that found nothing included.
func DryingEvidences() []DryingEvidence { return slices.Clone(must(dryingEvidenceTable())) }

// DryingTested lists the trials that say of one time in air that all were dead, that some were alive, or that it did
// nothing. Temperature and humidity are given where they were stated. Trials of pooled plants belong to no organism and are
// not among them.
func DryingTested(organism string, stage StageName) []DryingEvidence {
	var out []DryingEvidence
	for _, e := range must(dryingEvidenceTable()) {
		tried := e.Outcome == OutcomeAllDead || e.Outcome == OutcomeAlive || e.Outcome == OutcomeNoEffect
		if e.Organism != "" && e.Organism == organism && (e.Stage == stage || e.Stage == StageAny) && tried &&
			e.TimeH != nil && e.TimeToH == nil {
			out = append(out, e)
		}
	}
	return out
}

// DryingSets lists the parameter sets of the mussels' drying curve.
func DryingSets() []DryingSet { return slices.Clone(must(dryingSetTable())) }

// DryingRefits lists other fits of that curve.
func DryingRefits() []DryingRefit { return slices.Clone(must(dryingRefitTable())) }

// DryingDoses lists every drying dose, those that clear nothing included.
func DryingDoses() []DryingDose { return slices.Clone(must(dryingDoseTable())) }

// DryingDoseByID finds one drying dose.
func DryingDoseByID(id string) (DryingDose, bool) {
	d, ok := must(dryingDoseIndex())[id]
	return d, ok
}

// ResidualEvidences lists every result on water left aboard.
func ResidualEvidences() []ResidualEvidence { return slices.Clone(must(residualEvidenceTable())) }

// ResidualModels lists every model of survival in water left aboard.
func ResidualModels() []ResidualModel { return slices.Clone(must(residualModelTable())) }

// ResidualModelByID finds one model of survival in water left aboard.
func ResidualModelByID(id string) (ResidualModel, bool) {
	m, ok := must(residualModelIndex())[id]
	return m, ok
}

// AgentTrials lists every result of chemicals and frost.
func AgentTrials() []AgentTrial { return slices.Clone(must(agentTrialTable())) }
