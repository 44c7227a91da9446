package refdata

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"thwart/form"
	"thwart/lean"
)

// Words of the craft and place tables. They are those of the records (package thwart), which this package does not import.
var (
	complexities  = []string{"carry_in", "simple", "complex"}
	craftDrives   = []string{"outboard", "outboard_jet", "sterndrive", "inboard", "inboard_jet", "pod", "mud_motor", "trolling_bow", "trolling_transom", "hand"}
	craftSpaces   = []string{"ballast_tank", "ballast_bag", "live_well", "bait_well", "bilge", "locker", "tank"}
	craftTrailers = []string{"bunk", "roller", "cradle", "none"}
	hullProfiles  = []string{"vee", "flat", "round", "keel", "tubes", "pwc", "canoe", "board", "raft", "ring", "floats", "frame"}
	placeZones    = []string{"tow", "hull", "transom", "trailer", "aboard", "gear"}
	placeParts    = []string{"hull", "trailer", "gimbal", "engine", "ballast", "well", "bilge", "gear", "inside"}
	placePostures = []string{"stand", "crouch", "under", "aboard"}
	placeTasks    = []string{"look", "feel", "open", "drain", "lower", "run", "tip", "ask"}
	placeHolds    = []string{"none", "some", "lots"}
)

// CountNotKnown stands for a number of spaces that nobody knows.
const CountNotKnown = -1

// UsualSpace is a compartment that a class of craft usually has.
type UsualSpace struct {
	Kind    string
	Count   int     // CountNotKnown where nothing can be assumed
	VolumeL float64 // of one, when full; 0 = not known
}

// CraftClass is a kind of craft: its usual size and outfit, to be looked for until someone says otherwise.
type CraftClass struct {
	ID         string
	Name       string
	Words      []string // other names
	Complexity string   // carry_in (no motor, no compartment), simple (open hull), complex
	LengthM    float64  // usual, bow to transom
	MinLengthM float64
	MaxLengthM float64
	BeamM      float64
	KeelM      float64 // of the lowest point of the hull above the ground, as it stands at the ramp
	DepthM     float64 // from there to the gunwale
	Drives     []string
	Spaces     []UsualSpace
	Trailer    string // empty: nothing can be assumed
	Gear       []string
	Profile    string // family of hull shapes, for choosing places and for drawing
	Provenance
}

// Spread says how the places of one row lie when there are several.
type Spread string

// Spreads.
const (
	SpreadNone    Spread = "none"
	SpreadRow     Spread = "row"      // side by side across the craft
	SpreadPairs   Spread = "pairs"    // port and starboard, pair after pair towards the bow
	SpreadAlong   Spread = "along"    // one behind the other along the centreline
	SpreadLaidOut Spread = "laid_out" // in rows on the ground behind the rig
)

var spreads = []Spread{SpreadNone, SpreadRow, SpreadPairs, SpreadAlong, SpreadLaidOut}

// Term is one condition on a setup.
type Term struct {
	Not   bool
	Of    string   // all, trailered, carrier_unknown, drive_unknown, class, profile, complexity, drive, space, gear, trailer
	Words []string // any of these; none for all, trailered, carrier_unknown and drive_unknown
}

// Selector says on which setups a place exists: where every term of at least one clause holds.
type Selector [][]Term

// PlaceRow is one place to look at, for every setup that its selector takes in.
type PlaceRow struct {
	ID      string
	Name    string
	When    Selector
	Each    bool // one place for each drive or space that the selector names, numbered
	Spread  Spread
	Mirror  bool // on both sides: a steward has to look at each
	Zone    string
	Part    string
	X       float64 // share of the craft's length aft of the bow
	DXM     float64 // and so many metres aft of that
	Y       float64 // share of half the beam, starboard positive
	Z       float64 // metres above the ground, or share of the hull's depth above the keel
	ZOfHull bool
	Posture string
	Tasks   []string
	Holds   string
	Hidden  bool
	Cloth   bool
	Carries []Carriage
	// Weight is the share of what rides along that is expected here, relative to the other places. WeightFrom says what
	// it rests on: a published ranking, turned into 9 for its first rank down to 1 for its ninth and shared by the places of
	// one rank; a source id and what it says; or common practice.
	Weight     float64
	WeightFrom string
	Seconds    float64 // of a full look; an assumption, see the tests for the totals it is held to
	SecondsPM  float64 // and so many for each metre of the craft's length
	Say        string  // what the steward does there
	Start      string  // what the owner is asked to do before the walk; empty where nothing drains
	Cautions   []string
	Kinds      []PlaceKind
	Why        string
	Provenance
}

// DriveFacts is where lake water goes in a drive and how it comes out.
type DriveFacts struct {
	ID              string
	Name            string
	Words           []string
	TakesWaterIn    bool
	CoolingPath     string
	WhereWaterStays string
	Drain           string
	FlushBy         string
	Caution         string
	Provenance
}

// SpaceFacts is what is known of a kind of compartment.
type SpaceFacts struct {
	ID            string
	Name          string
	Words         []string
	Hidden        bool
	EmptyBy       string
	TogetherLowL  *float64 // of all of one craft together, when full
	TogetherHighL *float64
	ResidualL     *float64 // left in one after draining, mean
	Provenance
}

// GearKind is a kind of loose gear.
type GearKind struct {
	ID    string
	Name  string
	Words []string
	Cloth bool // rope, mesh, foam or cloth: stays wet
	Provenance
}

// RoundCaution is a caution for the spot where the hand is.
type RoundCaution struct {
	ID   string
	Text string
	Provenance
}

var craftTable = lean.Once2(func() ([]CraftClass, error) {
	columns := []string{
		"id", "name", "words", "complexity", "length_m", "length_min_m", "length_max_m", "beam_m", "keel_m", "depth_m",
		"drives", "spaces", "trailer", "gear", "profile", "source", "known", "note",
	}
	return load("craft_classes.csv", columns, func(r *row) CraftClass {
		return CraftClass{
			ID:         r.id("id"),
			Name:       r.text("name"),
			Words:      r.list("words"),
			Complexity: word(r, "complexity", complexities),
			LengthM:    r.number("length_m", 0.5, 40),
			MinLengthM: r.number("length_min_m", 0.5, 40),
			MaxLengthM: r.number("length_max_m", 0.5, 40),
			BeamM:      r.number("beam_m", 0.3, 15),
			KeelM:      r.number("keel_m", 0, 2),
			DepthM:     r.number("depth_m", 0.1, 3),
			Drives:     r.drives("drives"),
			Spaces:     r.spaces("spaces"),
			Trailer:    r.unknownOr("trailer", craftTrailers),
			Gear:       r.list("gear"),
			Profile:    word(r, "profile", hullProfiles),
			Provenance: r.provenance(),
		}
	})
})

// unknownOr is one of the words, or "unknown", which becomes empty.
func (r *row) unknownOr(column string, accepted []string) string {
	if r.cell(column) == "unknown" {
		return ""
	}
	return word(r, column, accepted)
}

// drives reads "outboard:2;trolling_bow": a drive and how many of it; "unknown" becomes the empty word.
func (r *row) drives(column string) []string {
	var out []string
	for _, part := range r.list(column) {
		kind, times, counted := strings.Cut(part, ":")
		n := 1
		if counted {
			var err error
			if n, err = strconv.Atoi(times); err != nil || n < 2 || n > 4 {
				r.fail(column, part, "a drive, or a drive and its number from 2 to 4, such as outboard:2")
			}
		}
		if kind != "unknown" && !slices.Contains(craftDrives, kind) {
			r.fail(column, kind, joinWords(craftDrives)+", unknown")
		}
		for range n {
			out = append(out, strings.TrimSuffix(kind, "unknown"))
		}
	}
	if out == nil {
		r.fail(column, "", "at least one drive; hand where nothing takes water in")
	}
	return out
}

// spaces reads "live_well:2:75;bilge:1": kind, count or "unknown", and litres of one where known.
func (r *row) spaces(column string) []UsualSpace {
	var out []UsualSpace
	for _, part := range r.list(column) {
		f := strings.Split(part, ":")
		u := UsualSpace{Kind: f[0]}
		ok := len(f) == 2 || len(f) == 3
		if ok && f[1] == "unknown" {
			u.Count = CountNotKnown
		} else if ok {
			n, err := strconv.Atoi(f[1])
			ok = err == nil && n >= 1 && n <= 20
			u.Count = n
		}
		if ok && len(f) == 3 {
			v, err := strconv.ParseFloat(f[2], 64)
			ok = err == nil && v > 0 && v <= 10000
			u.VolumeL = v
		}
		if !ok || !slices.Contains(craftSpaces, u.Kind) {
			r.fail(column, part, "kind:count or kind:count:litres, count from 1 to 20 or unknown, kind one of "+joinWords(craftSpaces))
		}
		out = append(out, u)
	}
	return out
}

// isPlaceID is one or two names joined by a point.
func isPlaceID(s string) bool {
	name := func(p string) bool {
		return form.Chars("a-z0-9_").All(p, 1, math.MaxInt) && form.Chars("a-z").Has(p[0])
	}
	return form.Parts(s, ".", 2, name, name)
}

var placeTable = lean.Once2(func() ([]PlaceRow, error) {
	columns := []string{
		"id", "name", "when", "per", "spread", "mirror", "zone", "part", "x", "dx_m", "y", "z", "z_of", "posture", "tasks",
		"holds", "hidden", "cloth", "carries", "weight", "weight_source", "seconds", "s_per_m", "say", "start", "caution",
		"kinds", "why", "source", "known", "note",
	}
	return load("places.csv", columns, parsePlace)
})

func parsePlace(r *row) PlaceRow {
	p := PlaceRow{
		ID:         r.text("id"),
		Name:       r.text("name"),
		When:       r.selector("when"),
		Each:       word(r, "per", []string{"craft", "each"}) == "each",
		Spread:     word(r, "spread", spreads),
		Mirror:     r.yes("mirror"),
		Zone:       word(r, "zone", placeZones),
		Part:       word(r, "part", placeParts),
		X:          r.number("x", 0, 1),
		DXM:        r.number("dx_m", -3, 3),
		Y:          r.number("y", -1.1, 1.1),
		Z:          r.number("z", -1, 2),
		ZOfHull:    word(r, "z_of", []string{"ground", "hull"}) == "hull",
		Posture:    word(r, "posture", placePostures),
		Tasks:      words(r, "tasks", placeTasks),
		Holds:      word(r, "holds", placeHolds),
		Hidden:     r.yes("hidden"),
		Cloth:      r.yes("cloth"),
		Carries:    words(r, "carries", Carriages),
		Weight:     r.number("weight", 0.01, 100),
		WeightFrom: r.text("weight_source"),
		Seconds:    r.number("seconds", 1, 120),
		SecondsPM:  r.number("s_per_m", 0, 5),
		Say:        r.text("say"),
		Start:      r.optText("start"),
		Cautions:   r.list("caution"),
		Kinds:      words(r, "kinds", PlaceKinds),
		Why:        r.text("why"),
		Provenance: r.provenance(),
	}
	if !isPlaceID(p.ID) {
		r.fail("id", p.ID, "lower-case words, at most one dot, such as hull.keel")
	}
	if p.Each {
		if len(p.When) != 1 || p.When.counted() == nil {
			r.fail("when", r.cells["when"], "for a place of each drive or space: one clause with drive: or space:")
		}
	}
	if p.Mirror && (p.Y <= 0 || p.Each) {
		r.fail("mirror", "yes", "yes only with y above 0 and not for each drive or space")
	}
	starts := slices.ContainsFunc(p.Tasks, func(t string) bool { return t == "drain" || t == "lower" || t == "run" })
	if starts != (p.Start != "") {
		r.fail("start", p.Start, "words for the owner where the tasks are drain, lower or run, and only there")
	}
	if (p.Spread == SpreadLaidOut) != (p.Zone == "gear") {
		r.fail("spread", string(p.Spread), "laid_out for gear, and only for gear")
	}
	if id, _, _ := strings.Cut(p.WeightFrom, " "); p.WeightFrom != noSource {
		if _, ok := r.sources[id]; !ok {
			r.fail("weight_source", p.WeightFrom, "a source id, with a remark after it if need be, or "+noSource)
		}
	}
	return p
}

// counted is the drive or space term by which places of each are counted.
func (s Selector) counted() *Term {
	for _, clause := range s {
		for i := range clause {
			if t := &clause[i]; !t.Not && (t.Of == "drive" || t.Of == "space") {
				return t
			}
		}
	}
	return nil
}

// Counted gives the term, drive or space, by which the places of an Each row are counted.
func (p *PlaceRow) Counted() Term { return *p.When.counted() }

// selector reads conditions such as "drive:hand class:canoe_kayak or gear:paddles": clauses joined by "or", terms by a
// space, words of a term by "|", "!" for not.
func (r *row) selector(column string) Selector {
	var s Selector
	for _, text := range strings.Split(r.text(column), " or ") {
		var clause []Term
		for _, f := range strings.Fields(text) {
			t := Term{Not: strings.HasPrefix(f, "!")}
			of, words, has := strings.Cut(strings.TrimPrefix(f, "!"), ":")
			t.Of = of
			if has {
				t.Words = strings.Split(words, "|")
			}
			accepted, ok := selectorWords[of]
			if !ok || has != (accepted != nil) {
				r.fail(column, f, "all, trailered, carrier_unknown, drive_unknown, or class:, profile:, complexity:, drive:, space:, gear:, trailer: and words")
			}
			for _, w := range t.Words {
				if len(accepted) > 0 && !slices.Contains(accepted, w) {
					r.fail(column, w, joinWords(accepted))
				}
			}
			clause = append(clause, t)
		}
		s = append(s, clause)
	}
	return s
}

// selectorWords lists what each term of a selector takes: nil for none, empty for ids that are checked later.
var selectorWords = map[string][]string{
	"all": nil, "trailered": nil, "carrier_unknown": nil, "drive_unknown": nil, "class": {}, "gear": {}, "profile": hullProfiles,
	"complexity": complexities, "drive": craftDrives, "space": craftSpaces, "trailer": craftTrailers,
}

var driveTable = lean.Once2(func() ([]DriveFacts, error) {
	columns := []string{
		"id", "name", "words", "takes_water_in", "cooling_path", "where_water_stays", "drain", "flush_by", "caution", "source",
		"known", "note",
	}
	return load("drives.csv", columns, func(r *row) DriveFacts {
		return DriveFacts{
			ID: word(r, "id", craftDrives), Name: r.text("name"), Words: r.list("words"),
			TakesWaterIn: r.yes("takes_water_in"), CoolingPath: r.text("cooling_path"),
			WhereWaterStays: r.text("where_water_stays"), Drain: r.text("drain"), FlushBy: r.text("flush_by"),
			Caution: r.optText("caution"), Provenance: r.provenance(),
		}
	})
})

var spaceTable = lean.Once2(func() ([]SpaceFacts, error) {
	columns := []string{
		"id", "name", "words", "hidden", "empty_by", "together_low_l", "together_high_l", "residual_l", "source", "known", "note",
	}
	return load("spaces.csv", columns, func(r *row) SpaceFacts {
		return SpaceFacts{
			ID: word(r, "id", craftSpaces), Name: r.text("name"), Words: r.list("words"), Hidden: r.yes("hidden"),
			EmptyBy: r.text("empty_by"), TogetherLowL: r.optNumber("together_low_l", 0, 10000),
			TogetherHighL: r.optNumber("together_high_l", 0, 10000), ResidualL: r.optNumber("residual_l", 0, 1000),
			Provenance: r.provenance(),
		}
	})
})

var gearTable = lean.Once2(func() ([]GearKind, error) {
	return load("gear.csv", []string{"id", "name", "words", "cloth", "source", "known", "note"}, func(r *row) GearKind {
		return GearKind{
			ID: r.id("id"), Name: r.text("name"), Words: r.list("words"), Cloth: r.yes("cloth"), Provenance: r.provenance(),
		}
	})
})

var roundCautionTable = lean.Once2(func() ([]RoundCaution, error) {
	return load("round_cautions.csv", []string{"id", "text", "source", "known", "note"}, func(r *row) RoundCaution {
		return RoundCaution{ID: r.id("id"), Text: r.text("text"), Provenance: r.provenance()}
	})
})

var craftIndex = lean.Once2(func() (map[string]CraftClass, error) {
	rows, err := craftTable()
	if err != nil {
		return nil, err
	}
	return byKey("craft_classes.csv", rows, func(c CraftClass) string { return c.ID })
})

var placeIndex = lean.Once2(func() (map[string]*PlaceRow, error) {
	rows, err := placeTable()
	if err != nil {
		return nil, err
	}
	refs := make([]*PlaceRow, len(rows))
	for i := range rows {
		refs[i] = &rows[i]
	}
	return byKey("places.csv", refs, func(p *PlaceRow) string { return p.ID })
})

var gearIndex = lean.Once2(func() (map[string]GearKind, error) {
	rows, err := gearTable()
	if err != nil {
		return nil, err
	}
	return byKey("gear.csv", rows, func(g GearKind) string { return g.ID })
})

var roundCautionIndex = lean.Once2(func() (map[string]RoundCaution, error) {
	rows, err := roundCautionTable()
	if err != nil {
		return nil, err
	}
	return byKey("round_cautions.csv", rows, func(c RoundCaution) string { return c.ID })
})

// CraftClasses lists the classes of craft. What the rows point to is shared: read, do not change.
func CraftClasses() []CraftClass { return slices.Clone(must(craftTable())) }

// CraftClassByID finds one class by its id.
func CraftClassByID(id string) (CraftClass, bool) {
	c, ok := must(craftIndex())[id]
	return c, ok
}

// PlaceRows lists all places of all craft. What the rows point to is shared: read, do not change.
func PlaceRows() []PlaceRow { return slices.Clone(must(placeTable())) }

// PlaceRowByID finds one row by its id, without side or number. The row is shared: read, do not change.
func PlaceRowByID(id string) (*PlaceRow, bool) {
	p, ok := must(placeIndex())[id]
	return p, ok
}

// PlaceRowOf gives the row behind a place of a craft: its id without side or number. nil where there is none.
func PlaceRowOf(place string) *PlaceRow {
	if row, ok := PlaceRowByID(place); ok {
		return row
	}
	if i := strings.LastIndexByte(place, '.'); i > 0 {
		if row, ok := PlaceRowByID(place[:i]); ok {
			return row
		}
	}
	return nil
}

// DriveFactsList lists what is known of each drive.
func DriveFactsList() []DriveFacts { return slices.Clone(must(driveTable())) }

// SpaceFactsList lists what is known of each kind of compartment.
func SpaceFactsList() []SpaceFacts { return slices.Clone(must(spaceTable())) }

// GearKinds lists the kinds of loose gear.
func GearKinds() []GearKind { return slices.Clone(must(gearTable())) }

// GearKindByID finds one kind of gear by its id.
func GearKindByID(id string) (GearKind, bool) {
	g, ok := must(gearIndex())[id]
	return g, ok
}

// RoundCautionByID finds one caution.
func RoundCautionByID(id string) (RoundCaution, bool) {
	c, ok := must(roundCautionIndex())[id]
	return c, ok
}

// UnknownName is the error for a class of craft or kind of gear that the library does not know.
type UnknownName struct {
	What string // craft class or kind of gear
	Name string
	Near []string // ids with the most similar names, nearest first; may be empty
}

func (e *UnknownName) Error() string {
	s := fmt.Sprintf("%s: %q is not in the library; accepted: an id or a name of the library", e.What, e.Name)
	if len(e.Near) > 0 {
		s += "; similar: " + strings.Join(e.Near, ", ")
	}
	return s
}

// FindCraftClass finds a class by id, name or other name; case does not matter, nor whether words are joined by spaces,
// hyphens or underscores. Otherwise the error is an [*UnknownName] with the nearest ids.
func FindCraftClass(name string) (CraftClass, error) {
	rows := must(craftTable())
	i, near := find(name, len(rows), func(i int) []string { return append([]string{rows[i].ID, rows[i].Name}, rows[i].Words...) })
	if i >= 0 {
		return rows[i], nil
	}
	e := &UnknownName{What: "craft class", Name: name}
	for _, n := range near {
		e.Near = append(e.Near, rows[n].ID)
	}
	return CraftClass{}, e
}

// FindGearKind finds a kind of gear in the same way.
func FindGearKind(name string) (GearKind, error) {
	rows := must(gearTable())
	i, near := find(name, len(rows), func(i int) []string { return append([]string{rows[i].ID, rows[i].Name}, rows[i].Words...) })
	if i >= 0 {
		return rows[i], nil
	}
	e := &UnknownName{What: "kind of gear", Name: name}
	for _, n := range near {
		e.Near = append(e.Near, rows[n].ID)
	}
	return GearKind{}, e
}

// find gives the row of that name, or -1 and the rows whose names contain it or are a few slips of the key away.
func find(name string, rows int, names func(int) []string) (exact int, near []int) {
	want := plainName(name)
	if want == "" {
		return -1, nil
	}
	best := make(map[int]int)
	for i := range rows {
		for _, n := range names(i) {
			n = plainName(n)
			if n == want {
				return i, nil
			}
			d := slips(want, n)
			if len(want) >= 3 && (strings.Contains(n, want) || len(n) >= 3 && strings.Contains(want, n)) {
				d = 0
			}
			if old, ok := best[i]; d <= 1+len(want)/4 && (!ok || d < old) {
				best[i] = d
			}
		}
	}
	for i := range rows {
		if _, ok := best[i]; ok {
			near = append(near, i)
		}
	}
	lean.SortStable(near, func(a, b int) int { return cmp.Compare(best[a], best[b]) })
	return -1, near[:min(len(near), nearest)]
}

// CheckPlaces reads every table of craft, places and gear and follows every reference between them. It returns all that
// is wrong, or nil.
func CheckPlaces() error {
	errs := []error{
		tableError(craftIndex()), tableError(placeIndex()), tableError(driveTable()), tableError(spaceTable()),
		tableError(gearIndex()), tableError(roundCautionIndex()),
	}
	if err := errors.Join(errs...); err != nil {
		return err
	}
	for _, c := range must(craftTable()) {
		for _, g := range c.Gear {
			if _, ok := GearKindByID(g); !ok {
				errs = append(errs, fmt.Errorf("craft_classes.csv: %s: gear: %q; accepted: an id of gear.csv", c.ID, g))
			}
		}
		if !(c.MinLengthM <= c.LengthM && c.LengthM <= c.MaxLengthM) {
			errs = append(errs, fmt.Errorf("craft_classes.csv: %s: length_m: %g; accepted: from length_min_m to length_max_m", c.ID, c.LengthM))
		}
	}
	for _, p := range must(placeTable()) {
		errs = append(errs, checkPlace(p))
	}
	for _, g := range must(gearTable()) {
		if p, ok := PlaceRowByID("gear." + g.ID); !ok || p.Cloth != g.Cloth {
			errs = append(errs, fmt.Errorf("gear.csv: %s: cloth: %t; accepted: a kind with a place gear.%s that says the same", g.ID, g.Cloth, g.ID))
		}
	}
	return errors.Join(errs...)
}

func checkPlace(p PlaceRow) error {
	var errs []error
	for _, id := range p.Cautions {
		if _, ok := RoundCautionByID(id); !ok {
			errs = append(errs, fmt.Errorf("places.csv: %s: caution: %q; accepted: an id of round_cautions.csv", p.ID, id))
		}
	}
	for _, clause := range p.When {
		for _, t := range clause {
			for _, w := range t.Words {
				_, class := CraftClassByID(w)
				_, gear := GearKindByID(w)
				if t.Of == "class" && !class || t.Of == "gear" && !gear {
					errs = append(errs, fmt.Errorf("places.csv: %s: when: %q; accepted: an id of the library", p.ID, w))
				}
			}
		}
	}
	return errors.Join(errs...)
}
