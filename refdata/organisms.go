package refdata

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"thwart/form"
	"thwart/lean"
)

// Group is a kind of organism, coarse enough to share what is known of how it rides along.
type Group string

// Groups.
const (
	GroupMussel    Group = "mussel"
	GroupWaterFlea Group = "water_flea"
	GroupPlant     Group = "plant"
	GroupAlga      Group = "alga"
	GroupSnail     Group = "snail"
	GroupClam      Group = "clam"
	GroupCrayfish  Group = "crayfish"
	GroupFish      Group = "fish"
	GroupPathogen  Group = "pathogen"
)

// Groups lists every group.
var Groups = []Group{
	GroupMussel, GroupWaterFlea, GroupPlant, GroupAlga, GroupSnail, GroupClam, GroupCrayfish, GroupFish, GroupPathogen,
}

// Organism is one invader. The provenance is that of the names; keys carry markers of their own.
type Organism struct {
	ID         string // stable, in records and files
	Common     string
	Scientific string
	Authority  string   // empty where none is used
	Synonyms   []string // scientific and common
	Group      Group
	GBIFKey    int   // of the GBIF backbone; 0 = not known
	GBIFKnown  Known // empty where there is no key
	ITISTSN    int   // of the Integrated Taxonomic Information System; 0 = not known
	ITISKnown  Known
	Provenance
}

// StageName is a stage of life, or a piece that can start a new population.
type StageName string

// Stages. [StageAny] stands in evidence that does not tell stages apart, never for a stage of an organism.
const (
	StageAdult      StageName = "adult"
	StageJuvenile   StageName = "juvenile"
	StageLarva      StageName = "larva"
	StageRestingEgg StageName = "resting_egg"
	StageFragment   StageName = "fragment"
	StageTurion     StageName = "turion"
	StageTuber      StageName = "tuber"
	StageBulbil     StageName = "bulbil"
	StageSeed       StageName = "seed"
	StageEgg        StageName = "egg"
	StageCell       StageName = "cell"
	StageVirus      StageName = "virus"
	StageAny        StageName = "any"
)

// StageNames lists every stage an organism can have.
var StageNames = []StageName{
	StageAdult, StageJuvenile, StageLarva, StageRestingEgg, StageFragment, StageTurion, StageTuber, StageBulbil, StageSeed,
	StageEgg, StageCell, StageVirus,
}

var evidenceStages = append(slices.Clone(StageNames), StageAny)

// Carriage is how a stage rides along.
type Carriage string

// Ways to ride along.
const (
	Attached Carriage = "attached"
	Tangled  Carriage = "tangled"
	InWater  Carriage = "in_water"
	InMud    Carriage = "in_mud"
)

// Carriages lists every way.
var Carriages = []Carriage{Attached, Tangled, InWater, InMud}

// Seen says whether a careful look finds a single one.
type Seen string

// How well a stage can be seen.
const (
	SeenYes  Seen = "yes"
	SeenHard Seen = "hard" // small, alone or among other things
	SeenNo   Seen = "no"
)

// PlaceKind is a kind of place on craft, trailer or gear, as far as organisms care.
type PlaceKind string

// PlaceKinds lists every kind of place that a stage is typical of.
var PlaceKinds = []PlaceKind{
	"hull", "transom", "drive", "intake", "trailer_bunk", "trailer_frame", "bilge", "live_well", "bait", "ballast",
	"anchor", "rope", "line", "net", "gear", "waders", "locker", "mud", "decoy",
}

// ModelKind is a kind of model, or the lack of one.
type ModelKind string

// Kinds of model for drying and for water left aboard.
const (
	ModelWeibull  ModelKind = "weibull"  // drying curves; ID is a [DryingScale]
	ModelDose     ModelKind = "dose"     // drying dose; ID is that of a [DryingDose]
	ModelResidual ModelKind = "residual" // time in water by temperature; ID is that of a [ResidualModel]
	ModelNever    ModelKind = "never"    // this route never clears it
	ModelUnknown  ModelKind = "unknown"  // nothing known that could clear it
)

// Model names the model to use, with its id where the kind has one.
type Model struct {
	Kind ModelKind
	ID   string
}

// BasisKind is what a stage's models rest on.
type BasisKind string

// Bases. A stage with data of its own may still have no model, where the data do not support one.
const (
	OwnData   BasisKind = "own data"
	ByAnalogy BasisKind = "by analogy"
	NoData    BasisKind = "no data"
)

// Basis is the kind and, for an analogy, what stands in.
type Basis struct {
	Kind BasisKind
	Of   string // what stands in; empty unless by analogy
}

// Stage is one stage of an organism: how it travels, whether it can be found, and what may clear it.
type Stage struct {
	Organism      string
	Name          StageName
	Carried       []Carriage
	Seen          Seen
	Felt          bool
	TypicalPlaces []PlaceKind
	Detection     DetectionClass
	HeatSpray     string // id of a [HeatProfile]; empty: spray is not shown to kill it
	HeatImmersion string // id of a [HeatProfile]; empty: hot water is not shown to kill it
	HeatBasis     Basis
	Drying        Model // weibull, dose, never or unknown
	DryingBasis   Basis
	WaterLeft     Model // residual, never or unknown
	HandRemoval   bool  // can be taken off by hand
	Provenance
}

// Heat gives the id of the profile for a way of applying heat; empty where none is shown to kill.
func (s Stage) Heat(a Application) string {
	switch a {
	case Spray:
		return s.HeatSpray
	case Immersion:
		return s.HeatImmersion
	}
	return ""
}

// isID is lower-case words and numbers joined by single underscores, the first a letter.
func isID(s string) bool {
	word := func(p string) bool { return form.Chars("a-z0-9").All(p, 1, math.MaxInt) }
	return form.Parts(s, "_", math.MaxInt, func(p string) bool { return word(p) && (p[0] < '0' || p[0] > '9') }, word)
}

// id reads an identifier in lower case with underscores.
func (r *row) id(column string) string {
	c := r.text(column)
	if !isID(c) {
		r.fail(column, c, "lower-case letters, digits and single underscores, such as zebra_mussel")
	}
	return c
}

var organismTable = lean.Once2(func() ([]Organism, error) {
	columns := []string{
		"id", "common", "scientific", "authority", "synonyms", "group", "gbif_key", "gbif_known", "itis_tsn", "itis_known",
		"source", "known", "note",
	}
	return load("organisms.csv", columns, func(r *row) Organism {
		o := Organism{
			ID:         r.id("id"),
			Common:     r.text("common"),
			Scientific: r.text("scientific"),
			Authority:  r.optText("authority"),
			Synonyms:   r.list("synonyms"),
			Group:      word(r, "group", Groups),
			GBIFKey:    r.optID("gbif_key"),
			GBIFKnown:  optWord(r, "gbif_known", KnownMarkers),
			ITISTSN:    r.optID("itis_tsn"),
			ITISKnown:  optWord(r, "itis_known", KnownMarkers),
			Provenance: r.provenance(),
		}
		if (o.GBIFKey == 0) != (o.GBIFKnown == "") {
			r.fail("gbif_known", string(o.GBIFKnown), "a marker where there is a key, empty where there is none")
		}
		if (o.ITISTSN == 0) != (o.ITISKnown == "") {
			r.fail("itis_known", string(o.ITISKnown), "a marker where there is a number, empty where there is none")
		}
		return o
	})
})

var organismIndex = lean.Once2(func() (map[string]Organism, error) {
	rows, err := organismTable()
	if err != nil {
		return nil, err
	}
	return byKey("organisms.csv", rows, func(o Organism) string { return o.ID })
})

var stageTable = lean.Once2(func() ([]Stage, error) {
	columns := []string{
		"organism", "stage", "carried", "seen", "felt", "typical_places", "detection", "heat_spray", "heat_immersion",
		"heat_basis", "drying_model", "drying_basis", "water_model", "hand_removal", "source", "known", "note",
	}
	return load("stages.csv", columns, parseStage)
})

func parseStage(r *row) Stage {
	s := Stage{
		Organism:      r.id("organism"),
		Name:          word(r, "stage", StageNames),
		Carried:       words(r, "carried", Carriages),
		Seen:          word(r, "seen", []Seen{SeenYes, SeenHard, SeenNo}),
		Felt:          r.yes("felt"),
		TypicalPlaces: words(r, "typical_places", PlaceKinds),
		Detection:     word(r, "detection", DetectionClasses),
		HeatSpray:     r.optText("heat_spray"),
		HeatImmersion: r.optText("heat_immersion"),
		HeatBasis:     r.basis("heat_basis"),
		Drying:        r.model("drying_model", ModelWeibull, ModelDose),
		DryingBasis:   r.basis("drying_basis"),
		WaterLeft:     r.model("water_model", ModelResidual),
		HandRemoval:   r.yes("hand_removal"),
		Provenance:    r.provenance(),
	}
	// "No data" and a model contradict each other: a model rests on something.
	if s.HeatBasis.Kind == NoData && s.HeatSpray+s.HeatImmersion != "" {
		r.fail("heat_basis", string(NoData), "own data or by analogy, where a heat profile is named")
	}
	if s.DryingBasis.Kind == NoData && s.Drying.Kind != ModelUnknown {
		r.fail("drying_basis", string(NoData), "own data or by analogy, where the drying model is not unknown")
	}
	return s
}

// basis reads "own data", "no data" or "by analogy: what stands in".
func (r *row) basis(column string) Basis {
	c := r.cell(column)
	kind, of, _ := strings.Cut(c, ": ")
	b := Basis{Kind: BasisKind(kind), Of: of}
	ok := (b.Kind == OwnData || b.Kind == NoData) && c == kind || b.Kind == ByAnalogy && of != ""
	if !ok {
		r.fail(column, c, "own data; by analogy: what stands in; no data")
	}
	return b
}

// model reads "never", "unknown", or one of kinds with an id after a colon.
func (r *row) model(column string, kinds ...ModelKind) Model {
	c := r.cell(column)
	kind, id, _ := strings.Cut(c, ":")
	m := Model{Kind: ModelKind(kind), ID: id}
	ok := (m.Kind == ModelNever || m.Kind == ModelUnknown) && c == kind || slices.Contains(kinds, m.Kind) && id != ""
	if !ok {
		r.fail(column, c, "never, unknown, or an id after "+joinWords(kinds)+" and a colon")
	}
	return m
}

// Organisms lists every organism of the library.
func Organisms() []Organism { return slices.Clone(must(organismTable())) }

// OrganismByID finds an organism by its id alone; [FindOrganism] also takes names.
func OrganismByID(id string) (Organism, bool) {
	o, ok := must(organismIndex())[id]
	return o, ok
}

// Stages lists the stages of an organism that matter on a craft; none for an organism that is not in the library.
func Stages(organism string) []Stage {
	var out []Stage
	for _, s := range must(stageTable()) {
		if s.Organism == organism {
			out = append(out, s)
		}
	}
	return out
}

// StageOf finds one stage of an organism.
func StageOf(organism string, name StageName) (Stage, bool) {
	for _, s := range must(stageTable()) {
		if s.Organism == organism && s.Name == name {
			return s, true
		}
	}
	return Stage{}, false
}

// UnknownOrganism is the error for a name the library does not know.
type UnknownOrganism struct {
	Name string
	Near []string // ids of the organisms with the most similar names, nearest first; may be empty
}

func (e *UnknownOrganism) Error() string {
	s := fmt.Sprintf("organism: %q is not in the library; accepted: an id, a common name or a scientific name", e.Name)
	if len(e.Near) > 0 {
		s += "; similar: " + strings.Join(e.Near, ", ")
	}
	return s
}

// FindOrganism finds an organism by id, common name, scientific name (with or without its author) or synonym. Case does
// not matter, nor whether words are joined by spaces, hyphens or underscores. Otherwise the error is an
// [*UnknownOrganism].
func FindOrganism(name string) (Organism, error) {
	want := plainName(name)
	if want != "" {
		for _, o := range must(organismTable()) {
			if slices.ContainsFunc(o.names(), func(n string) bool { return plainName(n) == want }) {
				return o, nil
			}
		}
	}
	return Organism{}, &UnknownOrganism{Name: name, Near: nearOrganisms(want)}
}

// KnownOrganism reports whether an id is that of an organism of the library. For another, hint says which is meant, or which are
// similar, to stand behind the words of what is accepted; it may be empty.
func KnownOrganism(id string) (hint string, ok bool) {
	if _, ok := OrganismByID(id); ok {
		return "", true
	}
	o, err := FindOrganism(id)
	if err == nil {
		return ": " + o.ID, false
	}
	var unknown *UnknownOrganism
	if errors.As(err, &unknown) && len(unknown.Near) > 0 {
		return "; similar: " + strings.Join(unknown.Near, ", "), false
	}
	return "", false
}

func (o Organism) names() []string {
	n := []string{o.ID, o.Common, o.Scientific}
	if o.Authority != "" {
		n = append(n, o.Scientific+" "+o.Authority)
	}
	return append(n, o.Synonyms...)
}

// plainName lowers case and joins words by single spaces.
func plainName(s string) string {
	s = strings.NewReplacer("-", " ", "_", " ").Replace(strings.ToLower(s))
	return strings.Join(strings.Fields(s), " ")
}

// nearest is the most names an error suggests.
const nearest = 5

// nearOrganisms lists organisms whose names contain what was asked for, or that a few slips of the key would turn into it.
func nearOrganisms(want string) []string {
	if want == "" {
		return nil
	}
	type hit struct {
		id    string
		slips int
	}
	var hits []hit
	for _, o := range must(organismTable()) {
		best := -1
		for _, n := range o.names() {
			n = plainName(n)
			d := slips(want, n)
			if len(want) >= 3 && strings.Contains(n, want) {
				d = 0
			}
			if d <= 1+len(want)/4 && (best < 0 || d < best) {
				best = d
			}
		}
		if best >= 0 {
			hits = append(hits, hit{o.ID, best})
		}
	}
	lean.SortStable(hits, func(a, b hit) int { return cmp.Compare(a.slips, b.slips) })
	var ids []string
	for _, h := range hits[:min(len(hits), nearest)] {
		ids = append(ids, h.id)
	}
	return ids
}

// slips counts the letters to insert, drop or change to turn a into b (Levenshtein distance).
func slips(a, b string) int {
	s, t := []rune(a), []rune(b)
	d := make([]int, len(t)+1)
	for j := range d {
		d[j] = j
	}
	for i := range s {
		last := d[0]
		d[0] = i + 1
		for j := range t {
			change := last
			if s[i] != t[j] {
				change++
			}
			last = d[j+1]
			d[j+1] = min(change, d[j]+1, d[j+1]+1)
		}
	}
	return d[len(t)]
}
