package refdata

import (
	"errors"
	"fmt"
	"io/fs"
	"math"
	"regexp"
	"slices"
	"strings"
	"testing"
)

func TestCheck(t *testing.T) {
	if err := Check(); err != nil {
		t.Fatal(err)
	}
}

// Each way of breaking a reference is noticed.
func TestCheckNotices(t *testing.T) {
	stage := func(change func(*Stage)) error {
		stages := slices.Clone(must(stageTable()))
		i := slices.IndexFunc(stages, func(s Stage) bool { return s.Organism == "zebra_mussel" && s.Name == StageAdult })
		change(&stages[i])
		return checkStages(stages)
	}
	profile := func(id string, change func(*HeatProfile)) error {
		profiles := HeatProfiles()
		i := slices.IndexFunc(profiles, func(p HeatProfile) bool { return p.ID == id })
		change(&profiles[i])
		return checkHeatProfiles(profiles)
	}
	const spray = "zebra_adult_spray"
	tests := []struct {
		name string
		err  error
		want string
	}{
		{"organism that does not exist", stage(func(s *Stage) { s.Organism = "zebra" }), "organisms.csv"},
		{"the same stage twice", stage(func(s *Stage) { s.Name = StageLarva }), "stands twice"},
		{"profile that does not exist", stage(func(s *Stage) { s.HeatSpray = "no_such_profile" }), "heat_spray"},
		{"immersion profile for spray", stage(func(s *Stage) { s.HeatSpray = s.HeatImmersion }), "heat_spray"},
		{"planning profile", stage(func(s *Stage) { s.HeatImmersion = "dreissenid_any_immersion_interpolated" }), "heat_immersion"},
		{"profile with a condition", stage(func(s *Stage) { s.HeatImmersion = "dreissenid_cold_acclimated_immersion" }), "heat_immersion"},
		{"scale that does not exist", stage(func(s *Stage) { s.Drying = Model{ModelWeibull, "huge"} }), "drying_model"},
		{"dose that clears nothing", stage(func(s *Stage) { s.Drying = Model{ModelDose, "hydrilla_tuber"} }), "drying_model"},
		{"water model that does not exist", stage(func(s *Stage) { s.WaterLeft = Model{ModelResidual, "adults"} }), "water_model"},
		{"organism without stages", checkStages(Stages("zebra_mussel")), "quagga_mussel has no stage"},
		{"release on what is remembered alone", profile(spray, func(p *HeatProfile) { p.EvidenceIDs = []string{"HW09"} }), spray},
		{"release on a refused trial", profile("quagga_adult_spray", func(p *HeatProfile) { p.EvidenceIDs = []string{"HW01"} }), "quagga_adult_spray"},
		{"release on nearly all dead", profile("dreissenid_any_immersion", func(p *HeatProfile) { p.EvidenceIDs = []string{"HW15"} }), "HW15"},
		{"less time than the trial", profile(spray, func(p *HeatProfile) { p.RefTimeS = 4 }), spray},
		{"less heat than the trial", profile(spray, func(p *HeatProfile) { p.RefTempC = 59 }), spray},
		{"instead of nothing", profile(spray, func(p *HeatProfile) { p.InsteadOf = "no_such_profile" }), "instead_of"},
	}
	for _, tt := range tests {
		if tt.err == nil || !strings.Contains(tt.err.Error(), tt.want) {
			t.Errorf("%s: error = %v, want one that says %q", tt.name, tt.err, tt.want)
		}
	}
}

func TestVersion(t *testing.T) {
	if !regexp.MustCompile(`^[0-9a-f]{12}$`).MatchString(Version()) {
		t.Errorf("version = %q, want twelve hexadecimal digits", Version())
	}
}

// The organisms a programme in North America is asked about, and the stages of each that matter on a craft.
func TestRequiredOrganisms(t *testing.T) {
	required := map[string][]StageName{
		"zebra_mussel":               {StageAdult, StageJuvenile, StageLarva},
		"quagga_mussel":              {StageAdult, StageJuvenile, StageLarva},
		"dreissenid":                 {StageAdult, StageJuvenile, StageLarva},
		"golden_mussel":              {StageAdult, StageJuvenile, StageLarva},
		"spiny_water_flea":           {StageAdult, StageRestingEgg},
		"fishhook_water_flea":        {StageAdult, StageRestingEgg},
		"eurasian_watermilfoil":      {StageFragment},
		"variable_leaf_watermilfoil": {StageFragment},
		"curly_leaf_pondweed":        {StageFragment, StageTurion},
		"hydrilla":                   {StageFragment, StageTurion, StageTuber},
		"starry_stonewort":           {StageFragment, StageBulbil},
		"fanwort":                    {StageFragment},
		"water_chestnut":             {StageSeed, StageFragment},
		"new_zealand_mudsnail":       {StageAdult, StageJuvenile},
		"asian_clam":                 {StageAdult, StageLarva},
		"banded_mystery_snail":       {StageAdult},
		"rusty_crayfish":             {StageAdult},
		"round_goby":                 {StageAdult, StageEgg},
		"brittle_naiad":              {StageFragment, StageSeed},
		"european_frogbit":           {StageFragment, StageTurion},
		"parrotfeather":              {StageFragment},
		"didymo":                     {StageCell},
		"vhs_virus":                  {StageVirus},
	}
	for id, stages := range required {
		if _, ok := OrganismByID(id); !ok {
			t.Errorf("%s is not in the library", id)
		}
		for _, name := range stages {
			if _, ok := StageOf(id, name); !ok {
				t.Errorf("%s has no stage %s", id, name)
			}
		}
	}
}

// Stages that nothing is known to clear by heat, and stages that drying never clears or is not known to: they must say so,
// whatever is added around them.
func TestAbsentIsSaid(t *testing.T) {
	for _, s := range must(stageTable()) {
		if s.HeatBasis.Kind == NoData && (s.HeatSpray != "" || s.HeatImmersion != "") {
			t.Errorf("%s %s: no heat data, yet a profile", s.Organism, s.Name)
		}
		if s.DryingBasis.Kind == NoData && s.Drying.Kind != ModelUnknown {
			t.Errorf("%s %s: no drying data, yet model %v", s.Organism, s.Name, s.Drying)
		}
	}
	tests := []struct {
		organism string
		stage    StageName
		heat     bool // some profile exists
		drying   ModelKind
		water    ModelKind
		source   string
	}{
		{"curly_leaf_pondweed", StageTurion, false, ModelNever, ModelNever, "Bruckerhoff et al. 2015: sprouted after 28 d; no heat trial found"},
		{"hydrilla", StageTurion, false, ModelNever, ModelNever, "Basiouny et al. 1978: no end point; no heat trial found"},
		{"hydrilla", StageTuber, false, ModelNever, ModelNever, "Basiouny et al. 1978: 16.7 % sprouted after 64 h; no heat trial found"},
		{"starry_stonewort", StageBulbil, false, ModelNever, ModelNever, "Glisson et al. 2020, from memory; clumps protect bulbils"},
		{"starry_stonewort", StageFragment, false, ModelNever, ModelNever, "Glisson et al. 2020, from memory"},
		{"asian_clam", StageAdult, true, ModelNever, ModelNever, "Guler 2020: mean survival in air of 7 d and more"},
		{"banded_mystery_snail", StageAdult, false, ModelNever, ModelNever, "Mohit et al. 2023: lives through 60 °C for under 10 s and a week of drying"},
		{"water_chestnut", StageSeed, false, ModelUnknown, ModelNever, "no trial found"},
		{"round_goby", StageEgg, false, ModelUnknown, ModelNever, "no trial found"},
		{"vhs_virus", StageVirus, false, ModelUnknown, ModelNever, "Hawley & Garver 2008: infective for a year at 4 °C; no heat or drying figure found"},
		{"golden_mussel", StageLarva, false, ModelUnknown, ModelUnknown, "no trial found"},
		{"golden_mussel", StageAdult, true, ModelUnknown, ModelNever, "dry times exist (Hydrobiologia 2020) but no curve"},
		{"spiny_water_flea", StageAdult, true, ModelDose, ModelUnknown, "no figure for adults in water left aboard"},
		{"spiny_water_flea", StageRestingEgg, true, ModelDose, ModelNever, "Branstrator et al. 2013: dormant while wet"},
		{"didymo", StageCell, true, ModelUnknown, ModelNever, "Kilroy et al. 2006: dead under 83 % moisture, which nobody measures at a ramp"},
	}
	for _, tt := range tests {
		cited(t, tt.source)
		s, ok := StageOf(tt.organism, tt.stage)
		if !ok {
			t.Errorf("%s %s is not in the library", tt.organism, tt.stage)
			continue
		}
		if got := s.HeatSpray+s.HeatImmersion != ""; got != tt.heat {
			t.Errorf("%s %s: a heat profile: %v, want %v (%s)", tt.organism, tt.stage, got, tt.heat, tt.source)
		}
		if s.Drying.Kind != tt.drying || s.WaterLeft.Kind != tt.water {
			t.Errorf("%s %s: drying %s, water %s; want %s, %s (%s)", tt.organism, tt.stage, s.Drying.Kind, s.WaterLeft.Kind, tt.drying, tt.water, tt.source)
		}
	}
	for _, id := range []string{"eurasian_watermilfoil", "curly_leaf_pondweed", "hydrilla"} {
		// Bradbeer et al. 2021: 90 s of hot pressure spray did not kill swamp stonecrop; spray is not immersion for plants.
		if s, _ := StageOf(id, StageFragment); s.HeatSpray != "" {
			t.Errorf("%s: spray profile %s, want none for plants", id, s.HeatSpray)
		}
	}
}

// Nothing that is only remembered may be what lets a craft go.
func TestMemoryClearsNothing(t *testing.T) {
	for _, s := range must(stageTable()) {
		for _, a := range []Application{Spray, Immersion} {
			if id := s.Heat(a); id != "" {
				if p, _ := HeatProfileByID(id); !p.MayClear() {
					t.Errorf("%s %s: profile %s may not clear, so it must not be named", s.Organism, s.Name, id)
				}
			}
		}
		if s.Drying.Kind == ModelDose {
			if d, _ := DryingDoseByID(s.Drying.ID); !d.MayClear() {
				t.Errorf("%s %s: dose %s may not clear, so it must not be named", s.Organism, s.Name, s.Drying.ID)
			}
		}
		if s.WaterLeft.Kind == ModelResidual {
			if m, _ := ResidualModelByID(s.WaterLeft.ID); !m.MayClear() {
				t.Errorf("%s %s: model %s may not clear, so it must not be named", s.Organism, s.Name, s.WaterLeft.ID)
			}
		}
	}
	for _, s := range DryingSets() {
		if s.Release && s.Known != Published {
			t.Errorf("drying set %s is for release but %s", s.ID, s.Known)
		}
	}
	planning, _ := HeatProfileByID("dreissenid_any_immersion_interpolated")
	if planning.ID == "" || planning.MayClear() {
		t.Errorf("a planning profile may clear: %+v", planning)
	}
	recalled := HeatProfile{Use: ForRelease, Provenance: Provenance{Known: FromMemory}}
	if recalled.MayClear() {
		t.Error("a recalled profile may clear")
	}
	if (DryingDose{Provenance: Provenance{Known: Published}}).MayClear() {
		t.Error("a dose without an amount may clear")
	}
}

func TestTestedPairs(t *testing.T) {
	type pair struct{ tempC, s float64 }
	tests := []struct {
		organism string
		stage    StageName
		app      Application
		want     []pair
		source   string
	}{
		{"quagga_mussel", StageAdult, Spray, []pair{{50, 20}, {54, 10}, {60, 5}, {70, 5}, {80, 5}}, "Comeau et al. 2011, Biofouling 27:267-274; 40 °C for 40 s refused"},
		{"quagga_mussel", StageAdult, Immersion, []pair{{43, 300}}, "Beyer et al. 2011, Environ. Manage. 47:67-76"},
		{"zebra_mussel", StageAdult, Spray, []pair{{60, 10}, {80, 5}}, "Morse 2009, Biofouling 25:605-610, from memory"},
		{"zebra_mussel", StageAdult, Immersion, []pair{{43.3, 300}, {43, 300}}, "Wisconsin Sea Grant; Beyer et al. 2011; 40 °C for 10 s (Shannon et al. 2018) refused"},
		{"zebra_mussel", StageAdult, Steam, []pair{{100, 30}}, "Coughlan et al. 2020"},
		{"spiny_water_flea", StageRestingEgg, Immersion, []pair{{50, 300}, {60, 60}}, "Branstrator et al. 2013, Limnol. Oceanogr. 58:2171-2184"},
		{"eurasian_watermilfoil", StageFragment, Immersion, []pair{{60, 120}}, "Blumer et al. 2009, J. Aquat. Plant Manage. 47:122-127"},
		{"eurasian_watermilfoil", StageFragment, Spray, nil, "none tried"},
		{"new_zealand_mudsnail", StageAdult, Immersion, nil, "Dwyer et al. 2003 killed most, not all; the rest is guidance"},
		{"asian_clam", StageAdult, Immersion, []pair{{45, 300}}, "Coughlan et al. 2019, Manag. Biol. Invasions 10:111-126"},
		{"zebra_mussel", StageLarva, Immersion, nil, "none found"},
		{"", StageAny, Immersion, nil, "trials of pooled kinds belong to no organism"},
	}
	for _, tt := range tests {
		cited(t, tt.source)
		var got []pair
		for _, e := range TestedPairs(tt.organism, tt.stage, tt.app) {
			got = append(got, pair{float64(*e.TempC), *e.ExposureS})
		}
		if !slices.Equal(got, tt.want) {
			t.Errorf("%s %s %s: %v, want %v (%s)", tt.organism, tt.stage, tt.app, got, tt.want, tt.source)
		}
	}
	for _, e := range TestedPairs("zebra_mussel", StageAdult, Spray) {
		if e.Known != FromMemory {
			t.Errorf("%s is marked %s, want from memory", e.ID, e.Known)
		}
	}
}

func TestDryingTested(t *testing.T) {
	tests := []struct {
		organism string
		stage    StageName
		hours    float64
		want     Outcome
		source   string
	}{
		{"spiny_water_flea", StageRestingEgg, 6, OutcomeAllDead, "Branstrator et al. 2013: none hatched after 6 h at 17 °C"},
		{"spiny_water_flea", StageRestingEgg, 4, OutcomeNoEffect, "Branstrator et al. 2013: 4 h at 17 °C did nothing"},
		{"zebra_mussel", StageAdult, 60, OutcomeAllDead, "Mohit et al. 2023: none alive from 60 h"},
		{"zebra_mussel", StageAdult, 240, OutcomeAlive, "Ricciardi et al. 1995: 73 % of large ones alive after 10 d at 10 °C and 95 %"},
		{"golden_mussel", StageAdult, 144, OutcomeAllDead, "Hydrobiologia 2020: 6 d at 20 °C"},
		{"curly_leaf_pondweed", StageTurion, 672, OutcomeAlive, "Bruckerhoff et al. 2015: 28 d"},
		{"fanwort", StageFragment, 42, OutcomeAlive, "Bickel 2015: small clumps"},
		{"new_zealand_mudsnail", StageAdult, 48, OutcomeAlive, "Alonso & Castro-Diez 2012"},
	}
	for _, tt := range tests {
		cited(t, tt.source)
		found := slices.ContainsFunc(DryingTested(tt.organism, tt.stage), func(e DryingEvidence) bool {
			return *e.TimeH == tt.hours && e.Outcome == tt.want
		})
		if !found {
			t.Errorf("%s %s: no trial says %s at %g h (%s)", tt.organism, tt.stage, tt.want, tt.hours, tt.source)
		}
	}
	if got := DryingTested("", StageFragment); got != nil {
		t.Errorf("trials of no organism: %v", got)
	}
	for _, e := range DryingTested("new_zealand_mudsnail", StageAdult) {
		if e.Outcome == OutcomeClaimed {
			t.Errorf("%s: guidance is not a trial", e.ID)
		}
	}
}

func TestHeatAlternatives(t *testing.T) {
	var ids []string
	for _, p := range HeatAlternatives("dreissenid_any_immersion") {
		ids = append(ids, p.ID)
	}
	want := []string{"dreissenid_any_immersion_interpolated", "dreissenid_cold_acclimated_immersion"}
	if !slices.Equal(ids, want) {
		t.Errorf("alternatives = %v, want %v", ids, want)
	}
	if got := HeatAlternatives(""); got != nil {
		t.Errorf("alternatives of nothing = %v, want none", got)
	}
	for _, p := range HeatProfiles() {
		// A condition without a standard profile beside it would leave warm-water animals with nothing.
		if p.MaxSourceWaterC != nil && p.InsteadOf == "" {
			t.Errorf("%s has a condition but replaces nothing", p.ID)
		}
	}
}

func TestFindOrganism(t *testing.T) {
	tests := []struct{ name, want string }{
		{"zebra_mussel", "zebra_mussel"},
		{"Zebra Mussel", "zebra_mussel"},
		{" zebra-mussel ", "zebra_mussel"},
		{"DREISSENA POLYMORPHA", "zebra_mussel"},
		{"Dreissena polymorpha (Pallas, 1771)", "zebra_mussel"},
		{"Dreissena rostriformis bugensis", "quagga_mussel"},
		{"Orconectes rusticus", "rusty_crayfish"},
		{"Apollonia melanostoma", "round_goby"},
		{"Bythotrephes cederstroemi", "spiny_water_flea"},
		{"Hydrocharis morsus-ranae", "european_frogbit"},
		{"variable-leaf milfoil", "variable_leaf_watermilfoil"},
		{"vhsv", "vhs_virus"},
		{"Dreissena", "dreissenid"},
	}
	for _, tt := range tests {
		o, err := FindOrganism(tt.name)
		if err != nil || o.ID != tt.want {
			t.Errorf("FindOrganism(%q) = %q, %v; want %s", tt.name, o.ID, err, tt.want)
		}
	}
	misses := []struct{ name, near string }{
		{"zebre musel", "zebra_mussel"},
		{"milfoil", "eurasian_watermilfoil"},
		{"quaga mussel", "quagga_mussel"},
		{"hidrila", "hydrilla"},
		{"mystery snail", "banded_mystery_snail"},
	}
	for _, tt := range misses {
		_, err := FindOrganism(tt.name)
		var unknown *UnknownOrganism
		if !errors.As(err, &unknown) || !slices.Contains(unknown.Near, tt.near) || !strings.Contains(err.Error(), tt.near) ||
			!strings.Contains(err.Error(), tt.name) {
			t.Errorf("FindOrganism(%q): %v, want an error that suggests %s", tt.name, err, tt.near)
		}
	}
	for _, name := range []string{"", "  ", "xylophone"} {
		_, err := FindOrganism(name)
		var unknown *UnknownOrganism
		if !errors.As(err, &unknown) || len(unknown.Near) != 0 {
			t.Errorf("FindOrganism(%q): %v, want an error without suggestions", name, err)
		}
	}
}

// Each name leads to one organism only.
func TestNamesAreUnique(t *testing.T) {
	owner := map[string]string{}
	for _, o := range Organisms() {
		for _, n := range o.names() {
			n = plainName(n)
			if other, taken := owner[n]; taken && other != o.ID {
				t.Errorf("%q is a name of both %s and %s", n, other, o.ID)
			}
			owner[n] = o.ID
			if found, err := FindOrganism(n); err != nil || found.ID != o.ID {
				t.Errorf("FindOrganism(%q) = %s, %v; want %s", n, found.ID, err, o.ID)
			}
		}
	}
}

func TestSlips(t *testing.T) {
	tests := []struct {
		a, b   string
		want   int
		source string
	}{
		{"kitten", "sitting", 3, "Levenshtein distance, the usual textbook example"},
		{"", "abc", 3, "definition: three insertions"},
		{"abc", "", 3, "definition: three deletions"},
		{"abc", "abc", 0, "definition"},
	}
	for _, tt := range tests {
		cited(t, tt.source)
		if got := slips(tt.a, tt.b); got != tt.want {
			t.Errorf("slips(%q, %q) = %d, want %d", tt.a, tt.b, got, tt.want)
		}
	}
}

func TestPriorsFallBack(t *testing.T) {
	tests := []struct {
		organism string
		exposure Exposure
		scope    string
	}{
		{"quagga_mussel", Moored, "group:mussel"},
		{"starry_stonewort", DayUse, "starry_stonewort"},
		{"starry_stonewort", Moored, "any"},
		{"vhs_virus", WaterAboard, "any"},
		{"new_zealand_mudsnail", Wading, "new_zealand_mudsnail"},
	}
	for _, tt := range tests {
		p, ok := CarryingPriorFor(tt.organism, tt.exposure)
		if !ok || p.Scope != tt.scope {
			t.Errorf("prior for %s under %s is that of %q, want %s", tt.organism, tt.exposure, p.Scope, tt.scope)
		}
	}
	if _, ok := CarryingPriorFor("no_such_thing", DayUse); ok {
		t.Error("a prior for an organism that does not exist")
	}
	if _, ok := CarryingPriorFor("zebra_mussel", "flown"); ok {
		t.Error("a prior for an exposure that does not exist")
	}
	if s, ok := CarryingSharesFor("fishhook_water_flea"); !ok || s.Scope != "group:water_flea" {
		t.Errorf("shares of a water flea are those of %q", s.Scope)
	}
	if s, ok := CarryingSharesFor("hydrilla"); !ok || !s.Assumption {
		t.Errorf("shares of a plant: %+v, want the assumed equal ones", s)
	}
	if _, ok := CarryingSharesFor(""); ok {
		t.Error("shares of nothing")
	}
	if _, ok := DetectionPriorFor("plants_seen", "passer_by"); ok {
		t.Error("a prior for a person who does not exist")
	}
}

func TestLookupsMiss(t *testing.T) {
	if _, ok := OrganismByID("zebra mussel"); ok {
		t.Error("an id is not a name")
	}
	if _, ok := HeatProfileByID(""); ok {
		t.Error("a heat profile without an id")
	}
	if _, ok := DryingDoseByID(""); ok {
		t.Error("a dose without an id")
	}
	if _, ok := ResidualModelByID(""); ok {
		t.Error("a model without an id")
	}
	if _, ok := SourceByID("S00"); ok {
		t.Error("a source that does not exist")
	}
	if _, ok := FuelByID("hay"); ok {
		t.Error("a fuel that does not exist")
	}
	if _, ok := (DryingSet{}).LambdaD("huge"); ok {
		t.Error("a scale that does not exist")
	}
	if _, ok := StageOf("zebra_mussel", StageTurion); ok {
		t.Error("a mussel with turions")
	}
	if got := Stages("no_such_thing"); got != nil {
		t.Errorf("stages of nothing: %v", got)
	}
	if (Stage{HeatSpray: "x", HeatImmersion: "y"}).Heat(Steam) != "" {
		t.Error("a steam profile")
	}
}

// A caller that changes what it was given changes nothing for the next one.
func TestListsAreCopies(t *testing.T) {
	Organisms()[0].ID = "changed"
	HeatProfiles()[0].RefTimeS = 0
	if Organisms()[0].ID == "changed" || HeatProfiles()[0].RefTimeS == 0 {
		t.Error("the library was changed through a list it handed out")
	}
}

// Sources keep their numbers for good: records cite them.
func TestSourceNumbers(t *testing.T) {
	have := map[string]bool{}
	for _, s := range Sources() {
		have[s.ID] = true
		if !regexp.MustCompile(`^[SP][0-9]{2,3}$`).MatchString(s.ID) {
			t.Errorf("source id %q; accepted: S or P and a number of two or three digits", s.ID)
		}
	}
	for prefix, last := range map[string]int{"S": 94, "P": 108} {
		for n := 1; n <= last; n++ {
			if id := fmt.Sprintf("%s%02d", prefix, n); !have[id] {
				t.Errorf("source %s is gone", id)
			}
		}
	}
}

func TestCite(t *testing.T) {
	p, _ := HeatProfileByID("quagga_adult_spray")
	if got := p.Cite(); !strings.Contains(got, "Comeau") || strings.Contains(got, "(published)") {
		t.Errorf("cite = %q, want the paper alone", got)
	}
	for _, e := range HeatEvidences() {
		switch {
		case e.ID == "HW09" && !strings.HasSuffix(e.Cite(), "(from memory)"):
			t.Errorf("%s: cite = %q, want the marker at the end", e.ID, e.Cite())
		case e.Result == HeatNothingFound && e.Cite() != noneFound:
			t.Errorf("%s: cite = %q, want %q", e.ID, e.Cite(), noneFound)
		}
	}
	if got := (Provenance{Known: CommonPractice}).Cite(); got != noSource {
		t.Errorf("cite = %q, want %q", got, noSource)
	}
}

// A row that found nothing carries no number; the rest of the row is what was looked for.
func TestNothingFoundHasNoNumber(t *testing.T) {
	for _, e := range HeatEvidences() {
		if e.NoneFound != (e.Result == HeatNothingFound) {
			t.Errorf("%s: result %s, but none found: %v", e.ID, e.Result, e.NoneFound)
		}
		if e.Result == HeatNothingFound && (e.ExposureS != nil || e.Mortality != nil) {
			t.Errorf("%s: nothing found, yet a number", e.ID)
		}
	}
	for _, e := range DryingEvidences() {
		if e.Kind == "not_found" && (e.TimeH != nil || e.Survival != nil || e.Outcome != "") {
			t.Errorf("%s: nothing found, yet a number", e.ID)
		}
		if e.NoneFound && e.Kind != "not_found" {
			t.Errorf("%s: none found, yet kind %s", e.ID, e.Kind)
		}
	}
	for _, e := range ResidualEvidences() {
		if e.Kind == "not_found" && e.Days != nil {
			t.Errorf("%s: nothing found, yet a number", e.ID)
		}
	}
}

// Temperatures, shares and times that could not be true.
func TestSanity(t *testing.T) {
	within := func(id, what string, v, lo, hi float64) {
		if !(v >= lo && v <= hi) {
			t.Errorf("%s: %s = %g, want %g to %g", id, what, v, lo, hi)
		}
	}
	for _, e := range HeatEvidences() {
		if e.TempC != nil {
			within(e.ID, "°C", float64(*e.TempC), 20, 100)
		}
		if e.Mortality != nil && *e.Mortality < 1 && (e.Result == AllDead || e.Result == FirstAllDead || e.Result == TimeToAllDead) {
			t.Errorf("%s: %s with %g dead", e.ID, e.Result, *e.Mortality)
		}
	}
	for _, p := range HeatProfiles() {
		within(p.ID, "°C", float64(p.RefTempC), 30, 80)
		within(p.ID, "s", p.RefTimeS, 5, 63000)
	}
	for _, e := range DryingEvidences() {
		if e.TempC != nil {
			within(e.ID, "°C", float64(*e.TempC), 0, 40)
		}
		if e.TimeToH != nil && e.TimeH != nil && *e.TimeToH <= *e.TimeH {
			t.Errorf("%s: a range from %g to %g h", e.ID, *e.TimeH, *e.TimeToH)
		}
		if e.Outcome == OutcomeAllDead && e.Survival != nil && *e.Survival != 0 ||
			(e.Outcome == OutcomeAlive || e.Outcome == OutcomeNoEffect) && e.Survival != nil && *e.Survival == 0 {
			t.Errorf("%s: %s with %g alive", e.ID, e.Outcome, *e.Survival)
		}
	}
	for _, e := range AgentTrials() {
		if e.TempC != nil {
			within(e.ID, "°C", float64(*e.TempC), -20, 0)
			if e.Kind != Freezing {
				t.Errorf("%s: a temperature for a %s", e.ID, e.Kind)
			}
		}
	}
	for _, p := range CarryingPriors() {
		// Wide on purpose: a programme's first few dozen findings must outweigh it.
		within(p.Scope+" "+string(p.Exposure), "alpha + beta", p.Alpha+p.Beta, 1, 20)
	}
	for _, f := range Fuels() {
		within(f.ID, "MJ/L", f.MJPerL, 20, 45)
	}
}

// Words of the workshop, placeholders and campaign slogans have no place in what people read.
func TestWords(t *testing.T) {
	bad := regexp.MustCompile(`SEEN|MEMORY|PRACTICE|n\.f\.|\bCALC\b|dossier|second pass|(^|[\s"(,])/[a-z_]+/|(?i)clean,? drain,? dry\b|clean,? drain,? dispose|check,? clean,? dry\b|stop \w+ hitchhik`)
	names := must(fs.Glob(dataFS, "data/*.csv"))
	if len(names) == 0 {
		t.Fatal("no tables")
	}
	for _, name := range names {
		for i, line := range strings.Split(string(must(dataFS.ReadFile(name))), "\n") {
			if m := bad.FindString(line); m != "" {
				t.Errorf("%s:%d says %q", name, i+1, m)
			}
		}
	}
}

// The two exponents of a Beta with the published mean and standard error: m(m(1-m)/se^2 - 1) and its mirror image.
func TestRemovalBetas(t *testing.T) {
	n := 0
	for _, r := range Removals() {
		if r.SE == nil {
			continue
		}
		n++
		m, se := *r.Mean, *r.SE
		weight := m*(1-m)/(se*se) - 1
		// The published means and errors have two figures; the exponents are kept to a tenth.
		if math.Abs(*r.Alpha-m*weight) > 0.051 || math.Abs(*r.Beta-(1-m)*weight) > 0.051 {
			t.Errorf("%s: Beta(%g, %g), want Beta(%.2f, %.2f) from %g and %g", r.ID, *r.Alpha, *r.Beta, m*weight, (1-m)*weight, m, se)
		}
	}
	if n != 6 {
		t.Errorf("%d rows with an error, want the 6 of Rothlisberger et al. 2010", n)
	}
}
