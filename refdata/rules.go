package refdata

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"time"

	"thwart/lean"
	"thwart/unit"
)

// RuleKind is the weight that a text gives to its own figure.
type RuleKind string

// Kinds of figure. Every kind from rule to guidance may be relied on by a protocol that names the table it stands in; the
// others are shown and never used as a rule.
const (
	KindRule          RuleKind = "rule" // of a law, a regulation or a wash procedure
	KindStatute       RuleKind = "statute"
	KindOrder         RuleKind = "order"
	KindPermit        RuleKind = "permit"
	KindParkRule      RuleKind = "park rule"
	KindSiteRule      RuleKind = "site rule"
	KindProgrammeRule RuleKind = "programme rule"
	KindStaffRule     RuleKind = "staff rule" // for the agency's own craft and gear
	KindRulePage      RuleKind = "rule page"  // an agency's page about its rule
	KindAgencyPage    RuleKind = "agency page"
	KindAdvice        RuleKind = "advice"
	KindGuidance      RuleKind = "guidance"
	KindReference     RuleKind = "reference" // points at another table and has no figures of its own
	KindProposed      RuleKind = "proposed"
	KindBill          RuleKind = "bill"
	KindHistory       RuleKind = "history" // was in force; what is now was not readable
	KindResearch      RuleKind = "research"
)

// RuleKinds lists every kind.
var RuleKinds = []RuleKind{
	KindRule, KindStatute, KindOrder, KindPermit, KindParkRule, KindSiteRule, KindProgrammeRule, KindStaffRule, KindRulePage,
	KindAgencyPage, KindAdvice, KindGuidance, KindReference, KindProposed, KindBill, KindHistory, KindResearch,
}

// MayBind reports whether a protocol may rely on a figure of this kind.
func (k RuleKind) MayBind() bool {
	switch k {
	case KindReference, KindProposed, KindBill, KindHistory, KindResearch, "":
		return false
	}
	return slices.Contains(RuleKinds, k)
}

// The words of wash and drying tables. They are those of the record types, which this package may not import.
var (
	ruleParts    = []string{"hull", "trailer", "gimbal", "engine", "ballast", "well", "bilge", "gear", "inside"}
	ruleRisks    = []string{"low", "high"}
	rulePoints   = []string{"contact", "exit", "contact_or_exit", "soak"}
	ruleMethods  = []string{"high_spray", "low_spray", "flush", "fill_and_flush", "low_spray_or_flush", "engine_flush", "soak"}
	ruleClocks   = []string{"out_of_water", "cleaned", "dry_to_touch", "washed", "sealed"}
	ruleUsedIn   = []string{"near", "elsewhere"}
	ruleApplies  = []string{"any", "simple", "complex", "motor", "carry_in", "gear", "dock", "sealed_ballast", "after_wash", "moored"}
	limitApplies = []string{"part", "drive", "item"}
)

// WashRow is one line of a published wash table.
type WashRow struct {
	ID             string
	Table          string // such as umps3
	Kind           RuleKind
	Place          string        // in the words of the source
	Part           string        // in ours; empty where the source names no single part
	Risk           string        // high, low or empty for both
	TempC          *unit.Celsius // nil = not given
	Printed        string        // the temperature as printed
	Measured       string        // where the temperature counts
	ContactS       *float64      // nil = no fixed time is given
	UntilExit      bool          // hold until the water leaving is at temperature
	Method         string
	PressureMaxBar *float64
	MaxInletC      *unit.Celsius // of the water going in
	Adopts         string        // the table that a reference points at
	Provenance
}

// Usable reports whether the line is complete enough, and of a weight, to stand in a protocol.
func (w WashRow) Usable() bool {
	return w.Kind.MayBind() && w.Known == Published && w.Part != "" && w.TempC != nil && w.Measured != "" && w.Method != "" &&
		(w.ContactS != nil || w.UntilExit)
}

var washTable = lean.Once2(func() ([]WashRow, error) {
	columns := []string{
		"id", "table", "kind", "place", "part", "risk", "temp_c", "printed", "measured", "contact_s", "until_exit", "method",
		"pressure_max_bar", "max_inlet_c", "adopts", "source", "known", "note",
	}
	return load("wash_tables.csv", columns, func(r *row) WashRow {
		return WashRow{
			ID:             r.id("id"),
			Table:          r.id("table"),
			Kind:           word(r, "kind", RuleKinds),
			Place:          r.text("place"),
			Part:           optWord(r, "part", ruleParts),
			Risk:           optWord(r, "risk", ruleRisks),
			TempC:          r.optCelsius("temp_c"),
			Printed:        r.optText("printed"),
			Measured:       optWord(r, "measured", rulePoints),
			ContactS:       r.optNumber("contact_s", 1, 7200),
			UntilExit:      r.yes("until_exit"),
			Method:         optWord(r, "method", ruleMethods),
			PressureMaxBar: r.optNumber("pressure_max_bar", 0.1, 400),
			MaxInletC:      r.optCelsius("max_inlet_c"),
			Adopts:         r.optText("adopts"),
			Provenance:     r.provenance(),
		}
	})
})

// WashTables names every wash table, in the order they are kept: the regional one first.
func WashTables() []string {
	return namesOf(must(washTable()), func(w WashRow) string { return w.Table })
}

// WashTable gives every line of one table, those that cannot be used as a rule included; nil where there is none of that
// name. See [WashRow.Usable].
func WashTable(name string) []WashRow {
	return rowsOf(must(washTable()), func(w WashRow) bool { return w.Table == name })
}

// DryRule is one line of a published drying table.
type DryRule struct {
	ID          string
	Profile     string       // the table, such as ut_simple
	Applies     string       // which craft the line is for
	Months      []time.Month // empty: any month. Where the source names months; seasons are never computed
	Days        *float64     // nil = no number of days
	Never       bool         // may not launch here at all
	NotAccepted bool         // no drying is accepted: a wash always
	FreezingH   *float64     // instead of days: unbroken hours of air below freezing
	UsedIn      string       // near or elsewhere, as the profile defines
	From        string       // the event the clock starts with
	// Condition is one that no record can show, in the words of the source: summer, sun, warm.
	Condition string
	Kind      RuleKind
	Provenance
}

// Usable reports whether a protocol may rely on the line: in force as far as read, and without a condition that nobody can
// check.
func (d DryRule) Usable() bool { return d.Kind.MayBind() && d.Known == Published && d.Condition == "" }

var dryTable = lean.Once2(func() ([]DryRule, error) {
	columns := []string{
		"id", "profile", "applies", "months", "days", "never", "not_accepted", "freezing_h", "used_in", "from", "condition",
		"kind", "source", "known", "note",
	}
	return load("dry_rules.csv", columns, func(r *row) DryRule {
		return DryRule{
			ID:          r.id("id"),
			Profile:     r.id("profile"),
			Applies:     word(r, "applies", ruleApplies),
			Months:      r.months("months"),
			Days:        r.optNumber("days", 0.1, 3650),
			Never:       r.yes("never"),
			NotAccepted: r.yes("not_accepted"),
			FreezingH:   r.optNumber("freezing_h", 1, 1000),
			UsedIn:      optWord(r, "used_in", ruleUsedIn),
			From:        optWord(r, "from", ruleClocks),
			Condition:   r.optText("condition"),
			Kind:        word(r, "kind", RuleKinds),
			Provenance:  r.provenance(),
		}
	})
})

// months is a list of months by number; January is 1.
func (r *row) months(column string) []time.Month {
	var out []time.Month
	for _, p := range r.list(column) {
		m, err := strconv.Atoi(p)
		if err != nil || m < 1 || m > 12 {
			r.fail(column, p, "months by number, 1 to 12, separated by a semicolon")
			continue
		}
		out = append(out, time.Month(m))
	}
	return out
}

// DryProfiles names every drying table, in the order they are kept.
func DryProfiles() []string {
	return namesOf(must(dryTable()), func(d DryRule) string { return d.Profile })
}

// DryRules gives every line of one drying table, those that cannot be relied on included; nil where there is none of that
// name. See [DryRule.Usable].
func DryRules(profile string) []DryRule {
	return rowsOf(must(dryTable()), func(d DryRule) bool { return d.Profile == profile })
}

// CautionTriggers lists what may call up a caution: kinds of step, places, the method, drives (in an engine step), and what
// goes on at the site.
var CautionTriggers = []string{
	"prepare", "remove", "drain", "engine_flush", "chemical", "hot_water", "burner", "high_spray",
	"trailer", "bilge", "aboard", "under", "open", "antifouling", "sterndrive", "inboard", "inboard_jet", "pod",
	"seaplane", "refusal", "roadside", "shift", "night", "thunder", "alone",
}

// Caution is a warning in plain words, to be shown beside the step that calls it up.
type Caution struct {
	ID       string
	Hazard   string
	Triggers []string // of [CautionTriggers]; one of them is enough
	// MinTempC also calls it up, for any step whose water is at least that hot; nil = temperature does not matter.
	MinTempC *unit.Celsius
	Text     string
	DeferTo  string // whose word counts
	Provenance
}

var cautionTable = lean.Once2(func() ([]Caution, error) {
	columns := []string{"id", "hazard", "triggers", "min_temp_c", "text", "defer_to", "source", "known", "note"}
	return load("safety.csv", columns, func(r *row) Caution {
		return Caution{
			ID:         r.id("id"),
			Hazard:     r.text("hazard"),
			Triggers:   words(r, "triggers", CautionTriggers),
			MinTempC:   r.optCelsius("min_temp_c"),
			Text:       r.text("text"),
			DeferTo:    r.text("defer_to"),
			Provenance: r.provenance(),
		}
	})
})

// Cautions lists every caution, the gravest first.
func Cautions() []Caution { return slices.Clone(must(cautionTable())) }

// CautionsFor lists the cautions that any of the triggers calls up, and those called up by water of hottest or more. Pass
// nil where no hot water is used.
func CautionsFor(hottest *unit.Celsius, triggers ...string) []Caution {
	return rowsOf(must(cautionTable()), func(c Caution) bool {
		if hottest != nil && c.MinTempC != nil && *hottest >= *c.MinTempC {
			return true
		}
		return slices.ContainsFunc(c.Triggers, func(t string) bool { return slices.Contains(triggers, t) })
	})
}

// ScaldTime is how long water takes to burn skin.
type ScaldTime struct {
	ID            string
	Person        string // adult or small child
	TempC         unit.Celsius
	SecondDegreeS *float64
	ThirdDegreeS  *float64 // nil = not given
	Provenance
}

var scaldTable = lean.Once2(func() ([]ScaldTime, error) {
	columns := []string{"id", "person", "temp_c", "second_degree_s", "third_degree_s", "source", "known", "note"}
	return load("scald.csv", columns, func(r *row) ScaldTime {
		return ScaldTime{
			ID:            r.id("id"),
			Person:        word(r, "person", []string{"adult", "small child"}),
			TempC:         r.celsius("temp_c"),
			SecondDegreeS: r.optNumber("second_degree_s", 0.1, 3600),
			ThirdDegreeS:  r.optNumber("third_degree_s", 0.1, 3600),
			Provenance:    r.provenance(),
		}
	})
})

// ScaldTimes lists how long water of some temperatures takes to burn skin, coolest first. Between the rows nothing is
// known: take the next hotter one.
func ScaldTimes() []ScaldTime { return slices.Clone(must(scaldTable())) }

// MaterialLimit is what a part of the craft bears.
type MaterialLimit struct {
	ID          string
	Item        string
	AppliesKind string   // part, drive or item: what AppliesTo holds
	AppliesTo   []string // parts or drives of a setup, or plain names
	Quantity    string   // what is limited, such as temperature or pressure
	Min         *float64 // nil = no lower limit published
	Max         *float64 // nil = no limit is known; that is not a leave to go higher
	Unit        string   // °C, bar, s or rpm
	Avoid       string   // a method to keep off it; empty = no method named
	Provenance
}

var materialTable = lean.Once2(func() ([]MaterialLimit, error) {
	columns := []string{
		"id", "item", "applies_kind", "applies_to", "quantity", "min", "max", "unit", "avoid", "source", "known", "note",
	}
	return load("materials.csv", columns, func(r *row) MaterialLimit {
		return MaterialLimit{
			ID:          r.id("id"),
			Item:        r.text("item"),
			AppliesKind: word(r, "applies_kind", limitApplies),
			AppliesTo:   r.list("applies_to"),
			Quantity:    r.text("quantity"),
			Min:         r.optNumber("min", 0, 1e5),
			Max:         r.optNumber("max", 0, 1e5),
			Unit:        word(r, "unit", []string{"°C", "bar", "s", "rpm"}),
			Avoid:       optWord(r, "avoid", ruleMethods),
			Provenance:  r.provenance(),
		}
	})
})

// MaterialLimits lists what parts of a craft bear, as far as anyone has published it.
func MaterialLimits() []MaterialLimit { return slices.Clone(must(materialTable())) }

// Figure is a published price, count or setting; a range where Low and High differ.
type Figure struct {
	ID   string
	Item string
	Low  *float64 // nil with High: "up to"; nil with neither: looked for and not found
	High *float64
	Unit string
	Year string // as the source gives it; empty = not given
	Provenance
}

func loadFigures(name string) ([]Figure, error) {
	return load(name, []string{"id", "item", "low", "high", "unit", "year", "source", "known", "note"}, func(r *row) Figure {
		return Figure{
			ID:         r.id("id"),
			Item:       r.text("item"),
			Low:        r.optNumber("low", 0, 1e9),
			High:       r.optNumber("high", 0, 1e9),
			Unit:       r.text("unit"),
			Year:       r.optText("year"),
			Provenance: r.provenance(),
		}
	})
}

var (
	equipmentTable = lean.Once2(func() ([]Figure, error) { return loadFigures("equipment.csv") })
	costTable      = lean.Once2(func() ([]Figure, error) { return loadFigures("costs.csv") })
)

// Equipment lists published prices, settings and minutes of wash units.
func Equipment() []Figure { return slices.Clone(must(equipmentTable())) }

// Costs lists published prices, wages, fees and fines. They are for scale and never a default: money is a local input.
func Costs() []Figure { return slices.Clone(must(costTable())) }

// DetectionResult is a published answer to: do people find what is there?
type DetectionResult struct {
	ID     string
	Who    string
	Target string
	Share  *float64 // found or removed, 0 to 1; nil = stated in words only, see the note
	Low    *float64 // of an interval the source states
	High   *float64
	N      *float64 // people, craft or trials, see the note; nil = not given
	Design string
	Provenance
}

var detectionResultTable = lean.Once2(func() ([]DetectionResult, error) {
	columns := []string{"id", "who", "target", "share", "low", "high", "n", "design", "source", "known", "note"}
	return load("detection.csv", columns, func(r *row) DetectionResult {
		return DetectionResult{
			ID:         r.id("id"),
			Who:        r.text("who"),
			Target:     r.text("target"),
			Share:      r.optNumber("share", 0, 1),
			Low:        r.optNumber("low", 0, 1),
			High:       r.optNumber("high", 0, 1),
			N:          r.optNumber("n", 1, 1e6),
			Design:     r.text("design"),
			Provenance: r.provenance(),
		}
	})
})

// DetectionResults lists published results on finding and removing.
func DetectionResults() []DetectionResult { return slices.Clone(must(detectionResultTable())) }

// SeasonCheck is a published season figure to hold one's own against.
type SeasonCheck struct {
	ID           string
	Programme    string
	Period       string
	Inspections  *float64 // nil = not given
	What         string   // counted; empty where only inspections are given
	Count        *float64
	ShareLowPct  *float64 // of inspections; with ShareHighPct a range, alone equal to it
	ShareHighPct *float64
	Provenance
}

var seasonTable = lean.Once2(func() ([]SeasonCheck, error) {
	columns := []string{
		"id", "programme", "period", "inspections", "what", "count", "share_low_pct", "share_high_pct", "source", "known", "note",
	}
	return load("season_checks.csv", columns, func(r *row) SeasonCheck {
		return SeasonCheck{
			ID:           r.id("id"),
			Programme:    r.text("programme"),
			Period:       r.text("period"),
			Inspections:  r.optNumber("inspections", 1, 1e8),
			What:         r.optText("what"),
			Count:        r.optNumber("count", 0, 1e8),
			ShareLowPct:  r.optNumber("share_low_pct", 0, 100),
			ShareHighPct: r.optNumber("share_high_pct", 0, 100),
			Provenance:   r.provenance(),
		}
	})
})

// SeasonChecks lists published season figures of programmes.
func SeasonChecks() []SeasonCheck { return slices.Clone(must(seasonTable())) }

// Authority says who may do what at one place, close to the words of its law. The coded form of it stands in the protocol
// of the place, where there is one.
type Authority struct {
	ID              string
	Place           string
	Protocol        string // id of the protocol it backs; empty = no protocol of that place is kept
	InspectorMay    string // empty: none seen
	NeedsOfficer    string
	ConsentOrNotice string
	Provenance
}

var authorityTable = lean.Once2(func() ([]Authority, error) {
	columns := []string{
		"id", "place", "protocol", "inspector_may", "needs_officer", "owner_consent_and_notice", "source", "known", "note",
	}
	return load("authority.csv", columns, func(r *row) Authority {
		return Authority{
			ID:              r.id("id"),
			Place:           r.text("place"),
			Protocol:        r.optText("protocol"),
			InspectorMay:    r.optText("inspector_may"),
			NeedsOfficer:    r.optText("needs_officer"),
			ConsentOrNotice: r.optText("owner_consent_and_notice"),
			Provenance:      r.provenance(),
		}
	})
})

// Authorities lists who may do what, place by place.
func Authorities() []Authority { return slices.Clone(must(authorityTable())) }

// SealKind is a form of proof that travels with a craft.
type SealKind struct {
	ID       string
	Form     string // seal, receipt, sticker or electronic release
	Meaning  string
	FittedBy string
	Ends     string
	Provenance
}

var sealTable = lean.Once2(func() ([]SealKind, error) {
	columns := []string{"id", "form", "meaning", "fitted_by", "ends", "source", "known", "note"}
	return load("seals.csv", columns, func(r *row) SealKind {
		return SealKind{
			ID:         r.id("id"),
			Form:       word(r, "form", []string{"seal", "receipt", "sticker", "electronic release"}),
			Meaning:    r.text("meaning"),
			FittedBy:   r.text("fitted_by"),
			Ends:       r.text("ends"),
			Provenance: r.provenance(),
		}
	})
})

// SealKinds lists the forms of proof in use.
func SealKinds() []SealKind { return slices.Clone(must(sealTable())) }

// RuleNote is something a reader of the rules should know that is no number of a table: a conflict, a gap, a warning.
type RuleNote struct {
	ID    string
	Topic string
	Text  string
	Provenance
}

var ruleNoteTable = lean.Once2(func() ([]RuleNote, error) {
	return load("rule_notes.csv", []string{"id", "topic", "text", "source", "known", "note"}, func(r *row) RuleNote {
		return RuleNote{ID: r.id("id"), Topic: r.text("topic"), Text: r.text("text"), Provenance: r.provenance()}
	})
})

// RuleNotes lists conflicts, gaps and warnings about the rules.
func RuleNotes() []RuleNote { return slices.Clone(must(ruleNoteTable())) }

// CheckRules reads every table of rules and follows every reference among them. It returns all that is wrong, or nil.
func CheckRules() error {
	errs := []error{
		uniqueIDs("wash_tables.csv", washTable, func(w WashRow) string { return w.ID }),
		uniqueIDs("dry_rules.csv", dryTable, func(d DryRule) string { return d.ID }),
		uniqueIDs("safety.csv", cautionTable, func(c Caution) string { return c.ID }),
		uniqueIDs("scald.csv", scaldTable, func(s ScaldTime) string { return s.ID }),
		uniqueIDs("materials.csv", materialTable, func(m MaterialLimit) string { return m.ID }),
		uniqueIDs("equipment.csv", equipmentTable, func(f Figure) string { return f.ID }),
		uniqueIDs("costs.csv", costTable, func(f Figure) string { return f.ID }),
		uniqueIDs("detection.csv", detectionResultTable, func(d DetectionResult) string { return d.ID }),
		uniqueIDs("season_checks.csv", seasonTable, func(s SeasonCheck) string { return s.ID }),
		uniqueIDs("authority.csv", authorityTable, func(a Authority) string { return a.ID }),
		uniqueIDs("seals.csv", sealTable, func(s SealKind) string { return s.ID }),
		uniqueIDs("rule_notes.csv", ruleNoteTable, func(n RuleNote) string { return n.ID }),
		tableError(protocolFiles()),
	}
	if err := errors.Join(errs...); err != nil {
		return err // references cannot be followed through tables that did not load
	}
	return errors.Join(checkWashRows(), checkDryRules(), checkAuthorities())
}

func uniqueIDs[T any](table string, rows func() ([]T, error), id func(T) string) error {
	list, err := rows()
	if err != nil {
		return err
	}
	_, err = byKey(table, list, id)
	return err
}

// checkWashRows makes sure that a reference points at a table with figures, and that no table gives one part twice.
func checkWashRows() error {
	var errs []error
	seen := map[[3]string]bool{}
	for _, w := range must(washTable()) {
		if (w.Kind == KindReference) != (w.Adopts != "") {
			errs = append(errs, fmt.Errorf("wash_tables.csv: %s: adopts: %q; accepted: a table for a reference, empty for all else", w.ID, w.Adopts))
		}
		if w.Adopts != "" && !slices.ContainsFunc(WashTable(w.Adopts), WashRow.Usable) {
			errs = append(errs, fmt.Errorf("wash_tables.csv: %s: adopts: %q; accepted: a table with lines that can be used", w.ID, w.Adopts))
		}
		if (w.TempC == nil) != (w.Printed == "") {
			errs = append(errs, fmt.Errorf("wash_tables.csv: %s: printed: %q; accepted: the printed figure of temp_c, and empty without one", w.ID, w.Printed))
		}
		if !w.Usable() {
			continue
		}
		key := [3]string{w.Table, w.Part, w.Risk}
		if seen[key] || (w.Risk != "" && seen[[3]string{w.Table, w.Part, ""}]) {
			errs = append(errs, fmt.Errorf("wash_tables.csv: %s: part: %q; accepted: each part and risk once in a table", w.ID, w.Part))
		}
		seen[key] = true
	}
	return errors.Join(errs...)
}

// checkDryRules makes sure that every line says exactly one thing, and names the clock where it counts time.
func checkDryRules() error {
	var errs []error
	for _, d := range must(dryTable()) {
		says := 0
		for _, b := range []bool{d.Days != nil, d.FreezingH != nil, d.Never, d.NotAccepted} {
			if b {
				says++
			}
		}
		if says != 1 {
			errs = append(errs, fmt.Errorf("dry_rules.csv: %s: says %d things; accepted: one of days, freezing_h, never, not_accepted", d.ID, says))
		}
		if (d.Days != nil || d.FreezingH != nil) && d.From == "" {
			errs = append(errs, fmt.Errorf("dry_rules.csv: %s: from: empty; accepted: the event the clock starts with", d.ID))
		}
	}
	return errors.Join(errs...)
}

func checkAuthorities() error {
	files := must(protocolFiles())
	var errs []error
	for _, a := range must(authorityTable()) {
		if _, ok := files[a.Protocol]; a.Protocol != "" && !ok {
			errs = append(errs, fmt.Errorf("authority.csv: %s: protocol: %q; accepted: the id of a protocol, or empty", a.ID, a.Protocol))
		}
	}
	return errors.Join(errs...)
}

// namesOf lists the distinct names of rows in their order.
func namesOf[T any](rows []T, name func(T) string) []string {
	var out []string
	for _, t := range rows {
		if n := name(t); !slices.Contains(out, n) {
			out = append(out, n)
		}
	}
	return out
}

// rowsOf lists the rows that pass.
func rowsOf[T any](rows []T, pass func(T) bool) []T {
	var out []T
	for _, t := range rows {
		if pass(t) {
			out = append(out, t)
		}
	}
	return out
}
