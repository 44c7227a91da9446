package refdata

import (
	"slices"
	"strings"

	"thwart/lean"
)

// Removal is how well a way of cleaning takes things off, or of looking finds them.
type Removal struct {
	ID         string
	Method     string
	Target     string
	Mean       *float64 // share taken off or found, 0 to 1; nil = stated in words only
	SE         *float64 // standard error of Mean; nil = not stated
	Alpha      *float64 // Beta distribution with that mean and error; it is doubt about the mean, not the spread between craft
	Beta       *float64
	Sample     string
	ResultText string
	Provenance
}

// Load is a published count or share of what rides where.
type Load struct {
	ID         string
	PlaceKinds []PlaceKind // empty where it is not one place
	Where      string
	What       string
	Bound      Bound
	Value      *float64 // nil = not stated as a number
	ValueTo    *float64 // upper end where a range is stated
	ValueText  string
	Unit       string
	Provenance
}

// Exposure is how a craft could have picked something up.
type Exposure string

// Exposures.
const (
	DayUse      Exposure = "day_use"      // in and out on its trailer
	Moored      Exposure = "moored"       // several days in the water
	WaterAboard Exposure = "water_aboard" // lake water left in it
	Wading      Exposure = "wading"       // people and gear that stood in the water
)

// Exposures lists every exposure.
var Exposures = []Exposure{DayUse, Moored, WaterAboard, Wading}

// CarryingPrior is what is known, before a programme has findings of its own, of the chance that a craft leaving an
// infested water carries an organism: a Beta(Alpha, Beta) distribution, wide on purpose.
type CarryingPrior struct {
	Scope      string // an organism id, group:<group>, or any
	Exposure   Exposure
	Alpha      float64
	Beta       float64
	Assumption bool   // not derived from a published share of this kind
	Derivation string // the arithmetic from the published figures
	Provenance
}

// CarryingShares is how what is carried divides between the ways to ride along, as weights. Keep to the ways the stage can
// ride and divide by their sum.
type CarryingShares struct {
	Scope      string
	Weights    map[Carriage]float64
	Assumption bool
	Derivation string
	Provenance
}

// DetectionClass is a kind of thing that is easier or harder to find.
type DetectionClass string

// Detection classes.
const (
	PlantsSeen    DetectionClass = "plants_seen"
	SmallFelt     DetectionClass = "small_felt" // small animals, seen or felt
	WaterSeen     DetectionClass = "water_seen" // standing water itself
	HiddenInWater DetectionClass = "hidden_in_water"
	HiddenInMud   DetectionClass = "hidden_in_mud"
)

// DetectionClasses lists every class.
var DetectionClasses = []DetectionClass{PlantsSeen, SmallFelt, WaterSeen, HiddenInWater, HiddenInMud}

// Looker is who looks.
type Looker string

// Who looks.
const (
	Steward      Looker = "steward"
	Boater       Looker = "boater"
	HotWaterCrew Looker = "hot_water_crew"
)

// Lookers lists who looks.
var Lookers = []Looker{Steward, Boater, HotWaterCrew}

// DetectionPrior is the chance that a full look finds a thing that is there, as Beta(Alpha, Beta).
type DetectionPrior struct {
	Class      DetectionClass
	Who        Looker
	Alpha      float64
	Beta       float64
	Assumption bool // the chance is not a published figure of this class and group
	Derivation string
	Provenance
}

var removalTable = lean.Once2(func() ([]Removal, error) {
	columns := []string{
		"id", "method", "target", "mean", "se", "alpha", "beta", "sample", "result_text", "source", "known", "note",
	}
	return load("removal.csv", columns, func(r *row) Removal {
		m := Removal{
			ID:         r.text("id"),
			Method:     r.id("method"),
			Target:     r.id("target"),
			Mean:       r.optNumber("mean", 0, 1),
			SE:         r.optNumber("se", 0, 1),
			Alpha:      r.optNumber("alpha", 0.01, 1e4),
			Beta:       r.optNumber("beta", 0.01, 1e4),
			Sample:     r.optText("sample"),
			ResultText: r.optText("result_text"),
			Provenance: r.provenance(),
		}
		if (m.Alpha == nil) != (m.SE == nil) || (m.Beta == nil) != (m.SE == nil) {
			r.fail("alpha", r.cells["alpha"], "alpha and beta where there is a standard error, neither where there is none")
		}
		if m.Mean == nil && m.ResultText == "" {
			r.fail("result_text", "", "words, where there is no mean")
		}
		return m
	})
})

var loadTable = lean.Once2(func() ([]Load, error) {
	columns := []string{
		"id", "place_kinds", "where_on_craft", "what", "bound", "value", "value_to", "value_text", "unit", "source", "known",
		"note",
	}
	return load("loads.csv", columns, func(r *row) Load {
		l := Load{
			ID:         r.text("id"),
			Where:      r.text("where_on_craft"),
			What:       r.text("what"),
			Bound:      optWord(r, "bound", bounds),
			Value:      r.optNumber("value", 0, 1e6),
			ValueTo:    r.optNumber("value_to", 0, 1e6),
			ValueText:  r.optText("value_text"),
			Unit:       r.optText("unit"),
			Provenance: r.provenance(),
		}
		if r.optText("place_kinds") != "" {
			l.PlaceKinds = words(r, "place_kinds", PlaceKinds)
		}
		if (l.Value == nil) == (l.ValueText == "") {
			r.fail("value_text", l.ValueText, "words where there is no value, empty where there is one")
		}
		return l
	})
})

// scope reads an organism id, "group:" with a group, or "any".
func (r *row) scope(column string) string {
	c := r.text(column)
	if g, ok := strings.CutPrefix(c, "group:"); ok {
		if !slices.Contains(Groups, Group(g)) {
			r.fail(column, c, "group: and one of "+joinWords(Groups))
		}
		return c
	}
	if c != anyScope {
		organisms, err := organismIndex()
		if err != nil {
			r.errs = append(r.errs, err)
		} else if _, ok := organisms[c]; !ok {
			r.fail(column, c, "an organism id, group: and a group, or any")
		}
	}
	return c
}

const anyScope = "any"

var carryingTable = lean.Once2(func() ([]CarryingPrior, error) {
	columns := []string{"scope", "exposure", "alpha", "beta", "assumption", "derivation", "source", "known", "note"}
	return load("carrying_priors.csv", columns, func(r *row) CarryingPrior {
		return CarryingPrior{
			Scope:      r.scope("scope"),
			Exposure:   word(r, "exposure", Exposures),
			Alpha:      r.number("alpha", 0.01, 1000),
			Beta:       r.number("beta", 0.01, 1000),
			Assumption: r.yes("assumption"),
			Derivation: r.text("derivation"),
			Provenance: r.provenance(),
		}
	})
})

type carryingKey struct {
	scope    string
	exposure Exposure
}

var carryingIndex = lean.Once2(func() (map[carryingKey]CarryingPrior, error) {
	rows, err := carryingTable()
	if err != nil {
		return nil, err
	}
	return byKey("carrying_priors.csv", rows, func(p CarryingPrior) carryingKey { return carryingKey{p.Scope, p.Exposure} })
})

var sharesTable = lean.Once2(func() ([]CarryingShares, error) {
	columns := []string{
		"scope", "attached", "tangled", "in_water", "in_mud", "assumption", "derivation", "source", "known", "note",
	}
	return load("carrying_shares.csv", columns, func(r *row) CarryingShares {
		s := CarryingShares{
			Scope:      r.scope("scope"),
			Weights:    map[Carriage]float64{},
			Assumption: r.yes("assumption"),
			Derivation: r.text("derivation"),
			Provenance: r.provenance(),
		}
		for _, c := range Carriages {
			s.Weights[c] = r.number(string(c), 0, 100)
		}
		return s
	})
})

var sharesIndex = lean.Once2(func() (map[string]CarryingShares, error) {
	rows, err := sharesTable()
	if err != nil {
		return nil, err
	}
	return byKey("carrying_shares.csv", rows, func(s CarryingShares) string { return s.Scope })
})

type detectionKey struct {
	class DetectionClass
	who   Looker
}

var detectionTable = lean.Once2(func() ([]DetectionPrior, error) {
	columns := []string{
		"class", "who", "alpha", "beta", "assumption", "derivation", "source",
		"known", "note",
	}
	return load("detection_priors.csv", columns, func(r *row) DetectionPrior {
		return DetectionPrior{
			Class:      word(r, "class", DetectionClasses),
			Who:        word(r, "who", Lookers),
			Alpha:      r.number("alpha", 0.01, 1000),
			Beta:       r.number("beta", 0.01, 1000),
			Assumption: r.yes("assumption"),
			Derivation: r.text("derivation"),
			Provenance: r.provenance(),
		}
	})
})

var detectionIndex = lean.Once2(func() (map[detectionKey]DetectionPrior, error) {
	rows, err := detectionTable()
	if err != nil {
		return nil, err
	}
	return byKey("detection_priors.csv", rows, func(p DetectionPrior) detectionKey { return detectionKey{p.Class, p.Who} })
})

// Removals lists what is published on taking things off and finding them.
func Removals() []Removal { return slices.Clone(must(removalTable())) }

// Loads lists what is published on what rides where.
func Loads() []Load { return slices.Clone(must(loadTable())) }

// CarryingPriors lists every prior.
func CarryingPriors() []CarryingPrior { return slices.Clone(must(carryingTable())) }

// CarryingPriorFor gives the prior of an organism under an exposure: its own, else that of its group, else the one for
// anything. ok is false for an organism or exposure that is not in the library.
func CarryingPriorFor(organism string, e Exposure) (prior CarryingPrior, ok bool) {
	o, ok := OrganismByID(organism)
	if !ok {
		return CarryingPrior{}, false
	}
	index := must(carryingIndex())
	for _, scope := range []string{o.ID, "group:" + string(o.Group), anyScope} {
		if p, ok := index[carryingKey{scope, e}]; ok {
			return p, true
		}
	}
	return CarryingPrior{}, false
}

// CarryingSharesFor gives the shares of an organism: its own, else those of its group, else equal ones. ok is false for an
// organism that is not in the library. Do not change the map.
func CarryingSharesFor(organism string) (shares CarryingShares, ok bool) {
	o, ok := OrganismByID(organism)
	if !ok {
		return CarryingShares{}, false
	}
	index := must(sharesIndex())
	for _, scope := range []string{o.ID, "group:" + string(o.Group), anyScope} {
		if s, ok := index[scope]; ok {
			return s, true
		}
	}
	return CarryingShares{}, false
}

// DetectionPriors lists every prior.
func DetectionPriors() []DetectionPrior { return slices.Clone(must(detectionTable())) }

// DetectionPriorFor gives the prior of a class of thing for a kind of person; ok is false for words that are not in the
// library.
func DetectionPriorFor(c DetectionClass, who Looker) (prior DetectionPrior, ok bool) {
	p, ok := must(detectionIndex())[detectionKey{c, who}]
	return p, ok
}
