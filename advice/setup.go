package advice

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"thwart"
	"thwart/lean"
	"thwart/refdata"
	"thwart/tongue"
)

// Places lists every place of a craft that has to be looked at, in the order of the zones and from bow to stern within
// each. IDs are unique and stable: an id is the row of the library, then the side (hull.keel, hull.topside.port) or the
// number (outboard.propeller.2, live_well.1), so that a craft with one more drive keeps the ids of the others.
//
// What the setup leaves out is filled from the class: length and beam, drives when none are given, spaces and gear when
// the list is missing (an empty list means none at all). What it calls unknown is looked for instead of dropped:
//
//   - an unknown drive adds the places of an outboard and of a sterndrive, marked as such, and one for any other intake;
//   - an unknown number of compartments gives one place that cannot be seen into;
//   - an unknown trailer gives bunks and rollers both. For a class that usually comes without one, such as a canoe, it
//     gives one place for whatever carried it.
//
// A setup that cannot be taken gives [thwart.FieldErrors] with the nearest names of the library.
func Places(s thwart.Setup) ([]thwart.Place, error) {
	fit, err := outfitOf(s)
	if err != nil {
		return nil, err
	}
	f := factsOf(s, fit)
	b := placeBuilder{facts: &f}
	b.lengthM, b.beamM = sizeOf(s)
	b.keelM, b.depthM = fit.class.KeelM, fit.class.DepthM
	rows, n := make([]*template, 0, len(fit.rows)), 0
	for i := range fit.rows {
		if r := &fit.rows[i]; r.holds(f.bits) {
			rows, n = append(rows, r.place), n+f.count(r.place)
		}
	}
	b.places, b.keys = make([]thwart.Place, 0, n), make([]placeKey, 0, n)
	for _, t := range rows {
		b.add(t)
	}
	return b.finish(), nil
}

// outfitOf checks a setup against the library and finds the rows that its class may need.
func outfitOf(s thwart.Setup) (*outfit, error) {
	var errs thwart.FieldErrors
	if err := s.Validate(); err != nil && !errors.As(err, &errs) {
		return nil, err
	}
	fit := outfits()[s.Class]
	if fit == nil && s.Class != "" {
		_, err := refdata.FindCraftClass(s.Class)
		errs = append(errs, thwart.FieldError{
			Field: "class", Value: s.Class, Accepted: nameAccepted("a craft class", err, "bass_boat, runabout, wake_boat", "thwart craft"),
		})
	}
	for i, g := range s.Gear {
		if _, ok := refdata.GearKindByID(g); !ok {
			_, err := refdata.FindGearKind(g)
			errs = append(errs, thwart.FieldError{
				Field: fmt.Sprintf("gear[%d]", i), Value: g,
				Accepted: nameAccepted("a kind of gear", err, "anchor_and_rope, life_jackets, nets", "thwart craft"),
			})
		}
	}
	if len(errs) > 0 {
		return nil, errs
	}
	return fit, nil
}

// nameAccepted suggests names of the library: the nearest, or where nothing is near, a few examples. A name that the
// library knows under another id is near too.
func nameAccepted(what string, err error, examples, command string) string {
	var unknown *refdata.UnknownName
	if errors.As(err, &unknown) && len(unknown.Near) > 0 {
		return fmt.Sprintf("%s; nearest: %s (all of them: %s)", what, strings.Join(unknown.Near, ", "), command)
	}
	return fmt.Sprintf("%s by its id, such as %s (all of them: %s)", what, examples, command)
}

// template is one row of the library in the terms of the records, turned once.
type template struct {
	*refdata.PlaceRow
	tasks           []thwart.Task
	carries         []thwart.Carriage
	source          string
	name, why       string // in the language spoken
	port, starboard struct{ id, name string }
	zone            int // rank
	drives          []int
	space           int // -1 where not counted by spaces
	unknownDrive    bool
}

// outfit is a class with the rows that may apply to it, their conditions reduced to what the class leaves open.
type outfit struct {
	class refdata.CraftClass
	rows  []outfitRow
}

type outfitRow struct {
	place *template
	any   [][]condition // any clause, all its conditions; nil = always
}

// condition asks whether one of the facts in mask is there, or none of them.
type condition struct {
	mask uint64
	not  bool
}

func (r *outfitRow) holds(facts uint64) bool {
	if r.any == nil {
		return true
	}
	return slices.ContainsFunc(r.any, func(all []condition) bool {
		for _, c := range all {
			if (facts&c.mask != 0) == c.not {
				return false
			}
		}
		return true
	})
}

// Terms that depend on the class alone are settled when its outfit is made; all others become bits.
var classTerms = []string{"all", "class", "profile", "complexity"}

// factBits gives each fact that a selector can ask a setup for a bit of its own.
var factBits = lean.Once(func() map[string]uint64 {
	names := []string{"trailered", "carrier_unknown", "drive_unknown"}
	for _, d := range thwart.Drives {
		names = append(names, "drive:"+string(d))
	}
	for _, k := range thwart.SpaceKinds {
		names = append(names, "space:"+string(k))
	}
	for _, t := range thwart.Trailers {
		names = append(names, "trailer:"+string(t))
	}
	for _, g := range refdata.GearKinds() {
		names = append(names, "gear:"+g.ID)
	}
	if len(names) > 64 {
		panic("advice: the library has more facts to choose places by than fit in 64 bits")
	}
	bits := make(map[string]uint64, len(names))
	for i, n := range names {
		bits[n] = 1 << i
	}
	return bits
})

var outfits = tongue.Once(func() map[string]*outfit {
	rows := refdata.PlaceRows()
	templates := make([]template, len(rows))
	for i := range rows {
		templates[i] = templateOf(&rows[i])
	}
	all := map[string]*outfit{}
	for _, class := range refdata.CraftClasses() {
		fit := &outfit{class: class}
		for i := range templates {
			if any, possible := conditionsOf(rows[i].When, &class); possible {
				fit.rows = append(fit.rows, outfitRow{place: &templates[i], any: any})
			}
		}
		all[class.ID] = fit
	}
	return all
})

func templateOf(row *refdata.PlaceRow) template {
	t := template{PlaceRow: row, source: row.Cite(), space: -1, zone: slices.Index(thwart.Zones, thwart.Zone(row.Zone))}
	for _, k := range row.Tasks {
		t.tasks = append(t.tasks, thwart.Task(k))
	}
	for _, c := range row.Carries {
		t.carries = append(t.carries, thwart.Carriage(c))
	}
	t.name, t.why = tongue.Data(row.Name), tongue.Data(row.Why)
	t.port.id, t.port.name = row.ID+".port", tongue.Say("{place}, port side", t.name)
	t.starboard.id, t.starboard.name = row.ID+".starboard", tongue.Say("{place}, starboard side", t.name)
	if !row.Each {
		return t
	}
	by := row.Counted()
	for _, w := range by.Words {
		if by.Of == "space" {
			t.space = slices.Index(thwart.SpaceKinds, thwart.SpaceKind(w))
			continue
		}
		d := thwart.Drive(w)
		t.drives = append(t.drives, slices.Index(thwart.Drives, d))
		t.unknownDrive = t.unknownDrive || d == thwart.DriveOutboard || d == thwart.DriveSterndrive
	}
	return t
}

// conditionsOf settles the terms of a selector that depend on the class, and reports whether any clause is left.
func conditionsOf(s refdata.Selector, class *refdata.CraftClass) (any [][]condition, possible bool) {
	for _, clause := range s {
		var left []condition
		met := true
		for _, term := range clause {
			if slices.Contains(classTerms, term.Of) {
				met = met && classMeets(term, class)
				continue
			}
			left = append(left, conditionOf(term))
		}
		switch {
		case met && left == nil:
			return nil, true
		case met:
			any = append(any, left)
		}
	}
	return any, any != nil
}

func classMeets(term refdata.Term, class *refdata.CraftClass) bool {
	var is bool
	switch term.Of {
	case "all":
		is = true
	case "class":
		is = slices.Contains(term.Words, class.ID)
	case "profile":
		is = slices.Contains(term.Words, class.Profile)
	case "complexity":
		is = slices.Contains(term.Words, class.Complexity)
	}
	return is != term.Not
}

func conditionOf(term refdata.Term) condition {
	c := condition{not: term.Not}
	if term.Words == nil {
		c.mask = factBits()[term.Of]
	}
	for _, w := range term.Words {
		c.mask |= factBits()[term.Of+":"+w]
	}
	if c.mask == 0 {
		panic("advice: the library chooses places by " + term.Of + ", which no setup says")
	}
	return c
}

// facts is a setup with its gaps filled from the class.
type facts struct {
	bits          uint64
	drives        []int // how many of each of thwart.Drives
	drivesUnknown int
	spaces        []thwart.Space // by index of thwart.SpaceKinds; count 0 where there is none
	gear          []string
}

func factsOf(s thwart.Setup, fit *outfit) facts {
	bits := factBits()
	f := facts{drives: make([]int, len(thwart.Drives)), spaces: make([]thwart.Space, len(thwart.SpaceKinds)), gear: s.Gear}
	f.addDrives(s.Drives, fit, bits)
	f.addSpaces(s.Spaces, fit, bits)
	if s.Gear == nil {
		f.gear = fit.class.Gear
	}
	for _, g := range f.gear {
		f.bits |= bits["gear:"+g]
	}
	usual := thwart.Trailer(fit.class.Trailer)
	switch {
	case s.Trailer == thwart.TrailerUnknown && usual == thwart.TrailerNone:
		f.bits |= bits["carrier_unknown"]
	case s.Trailer == thwart.TrailerUnknown:
		f.bits |= bits["trailered"] | bits["trailer:bunk"] | bits["trailer:roller"]
	default:
		f.bits |= bits["trailer:"+string(s.Trailer)]
		if s.Trailer != thwart.TrailerNone {
			f.bits |= bits["trailered"]
		}
	}
	return f
}

func (f *facts) addDrives(given []thwart.Drive, fit *outfit, bits map[string]uint64) {
	add := func(d thwart.Drive) {
		if d == thwart.DriveUnknown {
			f.drivesUnknown++
			f.bits |= bits["drive_unknown"] | bits["drive:outboard"] | bits["drive:sterndrive"]
			return
		}
		f.drives[slices.Index(thwart.Drives, d)]++
		f.bits |= bits["drive:"+string(d)]
	}
	for _, d := range given {
		add(d)
	}
	if len(given) == 0 {
		for _, d := range fit.class.Drives {
			add(thwart.Drive(d))
		}
	}
}

func (f *facts) addSpaces(given []thwart.Space, fit *outfit, bits map[string]uint64) {
	add := func(sp thwart.Space) {
		f.spaces[slices.Index(thwart.SpaceKinds, sp.Kind)] = sp
		if sp.Count != 0 {
			f.bits |= bits["space:"+string(sp.Kind)]
		}
	}
	for _, sp := range given {
		add(sp)
	}
	if given == nil {
		for _, u := range fit.class.Spaces {
			add(thwart.Space{Kind: thwart.SpaceKind(u.Kind), Count: thwart.Count(u.Count), VolumeL: u.VolumeL})
		}
	}
}

// count gives how many places a row stands for on this craft.
func (f *facts) count(t *template) int {
	switch {
	case t.Mirror:
		return 2
	case t.drives != nil:
		known, unknown := f.drivesOf(t)
		return known + unknown
	case t.space >= 0 && f.spaces[t.space].Count != thwart.CountUnknown:
		return int(f.spaces[t.space].Count)
	}
	return 1
}

// drivesOf counts the drives of the kinds that a row covers, and those nobody could name.
func (f *facts) drivesOf(t *template) (known, unknown int) {
	for _, d := range t.drives {
		known += f.drives[d]
	}
	if t.unknownDrive {
		unknown = f.drivesUnknown
	}
	return known, unknown
}

// placeBuilder turns templates into places of one craft.
type placeBuilder struct {
	facts                         *facts
	lengthM, beamM, keelM, depthM float64
	places                        []thwart.Place
	keys                          []placeKey
	tasks                         []thwart.Task     // one backing array for all places
	carries                       []thwart.Carriage // the same
}

// placeKey is what places are sorted by: the zone, then the distance from the bow; gear in the order of the library.
type placeKey struct {
	zone, at int
	xM       float64
}

func (b *placeBuilder) add(t *template) {
	switch {
	case t.Mirror:
		b.one(t, t.port.id, t.port.name, t.X, -t.Y)
		b.one(t, t.starboard.id, t.starboard.name, t.X, t.Y)
	case t.drives != nil:
		b.eachDrive(t)
	case t.space >= 0:
		b.eachSpace(t)
	default:
		b.one(t, t.ID, t.name, t.X, t.Y)
	}
}

// eachDrive numbers the drives of the kinds that a row covers, those nobody could name last.
func (b *placeBuilder) eachDrive(t *template) {
	known, unknown := b.facts.drivesOf(t)
	n := known + unknown
	for i := range n {
		name := numbered(t.name, i, n)
		if i >= known {
			name = tongue.Say(notKnownDrive, name)
		}
		x, y := t.lie(i, n)
		b.one(t, t.ID+"."+strconv.Itoa(i+1), name, x, y)
	}
}

// eachSpace numbers the compartments of a kind. A number that nobody knows becomes one place that cannot be seen into.
func (b *placeBuilder) eachSpace(t *template) {
	sp := &b.facts.spaces[t.space]
	if sp.Count == thwart.CountUnknown {
		p := b.one(t, t.ID+".unknown", tongue.Say("{place} (how many is not known)", t.name), t.X, 0)
		p.VolumeL, p.Hidden = sp.VolumeL, true
		return
	}
	n := int(sp.Count)
	for i := range n {
		x, y := t.lie(i, n)
		b.one(t, t.ID+"."+strconv.Itoa(i+1), numbered(t.name, i, n), x, y).VolumeL = sp.VolumeL
	}
}

// notKnownDrive marks a place that is there only if the drive nobody could name is of that kind.
const notKnownDrive tongue.Text = "{place} (drive not known)"

func driveNotKnown(name string) bool {
	before, after, _ := strings.Cut(tongue.Say(notKnownDrive, "\x00"), "\x00")
	return strings.HasPrefix(name, before) && strings.HasSuffix(name, after)
}

func numbered(name string, i, n int) string {
	if n == 1 {
		return name
	}
	return tongue.Say("{place} {number}", name, strconv.Itoa(i+1))
}

// lie spreads the i-th of n places of a row over the craft, in shares of its length and half beam. Where compartments
// lie differs from craft to craft; this is for walking and drawing only.
func (t *template) lie(i, n int) (x, y float64) {
	x, y = t.X, t.Y
	last := float64(n - 1)
	switch t.Spread {
	case refdata.SpreadRow:
		y += (float64(i) - last/2) * min(0.5, 1.4/float64(n))
		return x, min(max(y, -1), 1)
	case refdata.SpreadPairs:
		if pairs := float64((n - 1) / 2); pairs > 0 {
			x -= float64(i/2) * min(0.2, (x-0.1)/pairs)
		}
		switch {
		case i == n-1 && n%2 == 1:
			return x, 0
		case i%2 == 0:
			return x, -max(y, -y)
		}
		return x, max(y, -y)
	case refdata.SpreadAlong:
		if n == 1 {
			return x, y
		}
		if x > 0.5 {
			return x - float64(i)*min(0.25, (x-0.1)/last), y
		}
		return x + float64(i)*min(0.25, (0.9-x)/last), y
	}
	return x, y
}

// one adds a place at a share of the craft's length and half beam.
func (b *placeBuilder) one(t *template, id, name string, x, y float64) *thwart.Place {
	tasks, carries := len(b.tasks), len(b.carries)
	b.tasks = append(b.tasks, t.tasks...)
	b.carries = append(b.carries, t.carries...)
	z := t.Z
	if t.ZOfHull {
		z = max(0, b.keelM+t.Z*b.depthM)
	}
	p := thwart.Place{
		ID: id, Name: name, Zone: thwart.Zone(t.Zone), Part: thwart.Part(t.Part),
		XM: x*b.lengthM + t.DXM, YM: y * b.beamM / 2, ZM: z,
		Posture: thwart.Posture(t.Posture), Holds: thwart.Holding(t.Holds), Hidden: t.Hidden, Cloth: t.Cloth,
		Tasks: b.tasks[tasks:len(b.tasks):len(b.tasks)], Carries: b.carries[carries:len(b.carries):len(b.carries)],
		Weight: t.Weight, Seconds: t.Seconds + t.SecondsPM*b.lengthM, Why: t.why, Source: t.source, Known: string(t.Known),
	}
	b.keys = append(b.keys, placeKey{zone: t.zone, at: len(b.places), xM: p.XM})
	b.places = append(b.places, p)
	return &b.places[len(b.places)-1]
}

// Loose gear is laid out in rows on the ground, wide enough to step between.
const (
	gearInRow  = 8
	gearApartM = 0.5
	gearRowsM  = 0.6
)

func (b *placeBuilder) finish() []thwart.Place {
	gear := slices.Index(thwart.Zones, thwart.ZoneGear)
	lean.Sort(b.keys, func(a, c placeKey) int {
		if a.zone != c.zone || a.zone == gear {
			return cmp.Or(cmp.Compare(a.zone, c.zone), cmp.Compare(a.at, c.at))
		}
		return cmp.Or(cmp.Compare(a.xM, c.xM), cmp.Compare(b.places[a.at].ID, b.places[c.at].ID))
	})
	first := len(b.keys)
	for i := range b.keys {
		if b.keys[i].zone == gear {
			first = min(first, i)
		}
		b.settle(i)
	}
	laid := b.places[first:]
	for i := range laid {
		inRow := min(gearInRow, len(laid)-i/gearInRow*gearInRow)
		laid[i].XM += float64(i/gearInRow) * gearRowsM
		laid[i].YM = (float64(i%gearInRow) - float64(inRow-1)/2) * gearApartM
	}
	return b.places
}

// settle moves the place that belongs at i there, and the one it finds to where that belongs, round the whole cycle. A
// place is large, so the list is put in order in itself instead of in a copy.
func (b *placeBuilder) settle(i int) {
	if b.keys[i].at == i {
		return
	}
	held := b.places[i]
	for to := i; ; {
		from := b.keys[to].at
		b.keys[to].at = to
		if from == i {
			b.places[to] = held
			return
		}
		b.places[to] = b.places[from]
		to = from
	}
}
