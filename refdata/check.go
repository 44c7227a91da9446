package refdata

import (
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"slices"

	"thwart/lean"
)

// Version names the contents of the tables: the first twelve hexadecimal digits of the SHA-256 of all of them, the
// protocols included, in order of name. An answer kept with it can be computed again from the same numbers.
var Version = lean.Once(func() string {
	if partial && version == "" {
		panic("refdata: a program without all tables was built without the version of all (go run ./internal/wasmbuild sets it)")
	}
	if version != "" {
		return version
	}
	h := sha256.New()
	for _, files := range []struct {
		fs   embed.FS
		glob string
	}{{dataFS, "data/*.csv"}, {protocolFS, "data/protocols/*.json"}} {
		names := must(fs.Glob(files.fs, files.glob))
		slices.Sort(names)
		for _, name := range names {
			b := must(files.fs.ReadFile(name))
			fmt.Fprintf(h, "%s %d\n", name, len(b))
			h.Write(b)
		}
	}
	return hex.EncodeToString(h.Sum(nil))[:12]
})

// Check reads every table of organisms, heat, drying, risk, fuel and open-data terms and follows every reference from one to another. It
// returns all that is wrong, or nil.
func Check() error {
	errs := []error{
		tableError(sourceIndex()), tableError(organismIndex()), tableError(stageTable()),
		tableError(heatEvidenceTable()), tableError(heatProfileIndex()),
		tableError(dryingEvidenceTable()), tableError(dryingSetTable()), tableError(dryingRefitTable()),
		tableError(dryingDoseIndex()), tableError(residualEvidenceTable()), tableError(residualModelIndex()),
		tableError(agentTrialTable()),
		tableError(removalTable()), tableError(loadTable()), tableError(carryingIndex()), tableError(sharesIndex()),
		tableError(detectionIndex()), tableError(fuelIndex()), tableError(termIndex()),
	}
	if err := errors.Join(errs...); err != nil {
		return err // references cannot be followed through tables that did not load
	}
	return errors.Join(
		checkStages(must(stageTable())), checkEvidence(), checkHeatProfiles(must(heatProfileTable())), checkOwners(), checkRisk(),
	)
}

func tableError[T any](_ T, err error) error { return err }

type stageKey struct {
	organism string
	stage    StageName
}

func checkStages(stages []Stage) error {
	var errs []error
	have := map[string]bool{}
	bad := func(s Stage, column, value, accepted string) {
		errs = append(errs, fmt.Errorf("stages.csv: %s %s: %s: %q; accepted: %s", s.Organism, s.Name, column, value, accepted))
	}
	if _, err := byKey("stages.csv", stages, func(s Stage) stageKey { return stageKey{s.Organism, s.Name} }); err != nil {
		errs = append(errs, err)
	}
	for _, s := range stages {
		have[s.Organism] = true
		if _, ok := OrganismByID(s.Organism); !ok {
			bad(s, "organism", s.Organism, "an id of organisms.csv")
		}
		for _, a := range []Application{Spray, Immersion} {
			id := s.Heat(a)
			if id == "" {
				continue
			}
			p, ok := HeatProfileByID(id)
			if !ok || p.Application != a || p.InsteadOf != "" || p.Use != ForRelease {
				bad(s, "heat_"+string(a), id, "a standard release profile of heat_profiles.csv for that application")
			}
		}
		switch s.Drying.Kind {
		case ModelWeibull:
			if _, ok := DryingSets()[0].LambdaD(DryingScale(s.Drying.ID)); !ok {
				bad(s, "drying_model", s.Drying.ID, "large, small, juvenile")
			}
		case ModelDose:
			if d, ok := DryingDoseByID(s.Drying.ID); !ok || d.ClearKPaH == nil {
				bad(s, "drying_model", s.Drying.ID, "an id of drying_dose.csv that can clear")
			}
		}
		if s.WaterLeft.Kind == ModelResidual {
			if _, ok := ResidualModelByID(s.WaterLeft.ID); !ok {
				bad(s, "water_model", s.WaterLeft.ID, "an id of residual_models.csv")
			}
		}
	}
	for _, o := range Organisms() {
		if !have[o.ID] {
			errs = append(errs, fmt.Errorf("stages.csv: %s has no stage; accepted: at least one for every organism", o.ID))
		}
	}
	return errors.Join(errs...)
}

// checkEvidence makes sure that evidence names organisms of the library and that its ids do not repeat.
func checkEvidence() error {
	var errs []error
	ids := map[string]bool{}
	one := func(table, id, organism string) {
		if ids[id] {
			errs = append(errs, fmt.Errorf("%s: id %q stands twice; accepted: each once in all evidence", table, id))
		}
		ids[id] = true
		if _, ok := OrganismByID(organism); organism != "" && !ok {
			errs = append(errs, fmt.Errorf("%s: %s: organism: %q; accepted: an id of organisms.csv, or empty", table, id, organism))
		}
	}
	for _, e := range must(heatEvidenceTable()) {
		one("heat_evidence.csv", e.ID, e.Organism)
	}
	for _, e := range must(dryingEvidenceTable()) {
		one("drying_evidence.csv", e.ID, e.Organism)
	}
	for _, e := range must(residualEvidenceTable()) {
		one("residual_water.csv", e.ID, e.Organism)
	}
	for _, e := range must(agentTrialTable()) {
		one("chemical_freezing.csv", e.ID, e.Organism)
	}
	for _, e := range must(removalTable()) {
		one("removal.csv", e.ID, "")
	}
	for _, e := range must(loadTable()) {
		one("loads.csv", e.ID, "")
	}
	cites := func(table, id string, evidence []string) {
		if len(evidence) == 0 {
			errs = append(errs, fmt.Errorf("%s: %s: evidence: empty; accepted: at least one id", table, id))
		}
		for _, e := range evidence {
			if !ids[e] {
				errs = append(errs, fmt.Errorf("%s: %s: evidence: %q; accepted: the id of a row of evidence", table, id, e))
			}
		}
	}
	for _, p := range HeatProfiles() {
		cites("heat_profiles.csv", p.ID, p.EvidenceIDs)
	}
	for _, s := range DryingSets() {
		cites("drying_sets.csv", s.ID, s.EvidenceIDs)
	}
	for _, d := range DryingDoses() {
		cites("drying_dose.csv", d.ID, d.EvidenceIDs)
	}
	for _, m := range ResidualModels() {
		cites("residual_models.csv", m.ID, m.EvidenceIDs)
	}
	return errors.Join(errs...)
}

// checkHeatProfiles makes sure that a profile which may clear a craft rests on at least one published, unrefused account of
// all dead that asks for no more heat and no more time than the profile does, and that alternatives have a standard.
func checkHeatProfiles(profiles []HeatProfile) error {
	var errs []error
	evidence := map[string]HeatEvidence{}
	for _, e := range must(heatEvidenceTable()) {
		evidence[e.ID] = e
	}
	for _, p := range profiles {
		if p.InsteadOf != "" {
			if std, ok := HeatProfileByID(p.InsteadOf); !ok || std.InsteadOf != "" || std.Application != p.Application {
				errs = append(errs, fmt.Errorf("heat_profiles.csv: %s: instead_of: %q; accepted: a standard profile of the same application", p.ID, p.InsteadOf))
			}
		}
		supports := func(id string) bool {
			e := evidence[id]
			dead := []HeatResult{AllDead, FirstAllDead, TimeToAllDead, AllDeadClaimed}
			return e.Known == Published && e.Refused == "" && slices.Contains(dead, e.Result) && e.Application == p.Application &&
				e.TempC != nil && *e.TempC <= p.RefTempC && e.ExposureS != nil && *e.ExposureS <= p.RefTimeS
		}
		if p.MayClear() && !slices.ContainsFunc(p.EvidenceIDs, supports) {
			errs = append(errs, fmt.Errorf("heat_profiles.csv: %s: evidence: none of %v is a published account of all dead within %g s at %g °C; accepted: one that is, or use planning", p.ID, p.EvidenceIDs, p.RefTimeS, float64(p.RefTempC)))
		}
	}
	return errors.Join(errs...)
}

// checkOwners makes sure that every model is that of an organism of the library.
func checkOwners() error {
	var errs []error
	owner := func(table, id, organism string) {
		if _, ok := OrganismByID(organism); !ok {
			errs = append(errs, fmt.Errorf("%s: %s: organism: %q; accepted: an id of organisms.csv", table, id, organism))
		}
	}
	for _, p := range HeatProfiles() {
		owner("heat_profiles.csv", p.ID, p.Organism)
	}
	for _, d := range DryingDoses() {
		owner("drying_dose.csv", d.ID, d.Organism)
	}
	for _, m := range ResidualModels() {
		owner("residual_models.csv", m.ID, m.Organism)
	}
	return errors.Join(errs...)
}

// checkRisk makes sure that every organism and every kind of look has a prior to start from.
func checkRisk() error {
	var errs []error
	for _, o := range Organisms() {
		for _, e := range Exposures {
			if _, ok := CarryingPriorFor(o.ID, e); !ok {
				errs = append(errs, fmt.Errorf("carrying_priors.csv: nothing for %s under %s; accepted: a row for it, its group or any", o.ID, e))
			}
		}
		if _, ok := CarryingSharesFor(o.ID); !ok {
			errs = append(errs, fmt.Errorf("carrying_shares.csv: nothing for %s; accepted: a row for it, its group or any", o.ID))
		}
	}
	for _, c := range DetectionClasses {
		for _, who := range Lookers {
			if _, ok := DetectionPriorFor(c, who); !ok {
				errs = append(errs, fmt.Errorf("detection_priors.csv: nothing for %s and %s; accepted: one row for each pair", c, who))
			}
		}
	}
	return errors.Join(errs...)
}
