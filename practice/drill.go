package practice

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"thwart"
	"thwart/advice"
	"thwart/engine/num"
	"thwart/refdata"
	"thwart/tongue"
)

// Version of the drills: a drill is scored by the version that made it or a later one that still knows it.
const Version = 1

// DrillCraft is a practice craft as the trainee meets it. What is on it is sealed.
type DrillCraft struct {
	Version int            `json:"version"`
	ID      string         `json:"id"`
	Order   Order          `json:"order"`
	Story   Story          `json:"story"`
	Places  []thwart.Place `json:"places"`
	Sealed  string         `json:"sealed"`
}

// Story is what the owner says, in words and as the record takes it.
type Story struct {
	Says   []string       `json:"says"`
	Visits []thwart.Visit `json:"visits"`
	Waters []thwart.Water `json:"waters"`
	Here   string         `json:"here"` // id of the water at this launch
}

// item is one thing on the craft.
type item struct {
	What   string        `json:"what"` // id of an organism, or plant, mud, water, or the name of a decoy
	Stage  string        `json:"stage,omitempty"`
	Name   string        `json:"name"`
	Matter thwart.Matter `json:"matter,omitempty"`
	Class  string        `json:"class,omitempty"`
	Place  string        `json:"place"`
	Decoy  bool          `json:"decoy,omitempty"`
	Dead   bool          `json:"dead,omitempty"`
	Tell   string        `json:"tell,omitempty"` // of a decoy: how to know it
	Form   string        `json:"form"`
	Seen   string        `json:"seen,omitempty"` // what the eye sees; empty: nothing
	Felt   string        `json:"felt,omitempty"` // what the hand feels
	SizeMM float64       `json:"sizeMM"`
	Number int           `json:"number"`
	Faint  float64       `json:"faint"` // 0 stands out, 1 is lost against what is behind it
	X      float64       `json:"x"`
	Y      float64       `json:"y"`
}

// sheet is what is sealed.
type sheet struct {
	Items   []item                    `json:"items"`
	Wet     map[string]thwart.Wetness `json:"wet"` // places that are not dry
	PlugsIn bool                      `json:"plugsIn"`
	DriveUp bool                      `json:"driveUp"`
}

// blankShare of the drills has nothing aboard: most craft have not, and somebody who never meets a blank one learns to cry
// out. Common practice, no source.
const blankShare = 0.2

// Make makes the drill of an order. An order that cannot be taken gives [thwart.FieldErrors].
func Make(o Order) (DrillCraft, error) {
	if err := o.check(); err != nil {
		return DrillCraft{}, err
	}
	o.Setup = complete(o.Setup)
	if _, err := rules(o.Protocol, o.ProtocolID); err != nil {
		return DrillCraft{}, err
	}
	places, err := advice.Places(o.Setup)
	if err != nil {
		return DrillCraft{}, err
	}
	id, err := digest(fmt.Sprintf("drill %d", Version), o)
	if err != nil {
		return DrillCraft{}, err
	}
	m := &maker{order: &o, places: places, r: num.Stream(o.Seed, "drill "+id)}
	d := DrillCraft{Version: Version, ID: id, Order: o, Places: places, Story: m.story()}
	m.load()
	m.settle()
	if d.Sealed, err = seal(id, m.sheet); err != nil {
		return DrillCraft{}, err
	}
	return d, nil
}

// maker draws one drill.
type maker struct {
	order    *Order
	places   []thwart.Place
	r        *rand.Rand
	organism []string // that the craft may carry
	moored   bool
	sheet    sheet
}

func (m *maker) chance(p float64) bool { return m.r.Float64() < p }

// pick draws an index in proportion to the weights; -1 where they sum to nothing.
func (m *maker) pick(weights []float64) int {
	var sum float64
	for _, w := range weights {
		sum += w
	}
	x := m.r.Float64() * sum
	for i, w := range weights {
		if x < w {
			return i
		}
		x -= w
	}
	return -1
}

// afloat lists what can ride on a practice craft and be seen or felt, each with its published share of craft as weight.
func afloat(moored bool) (ids []string, weights []float64) {
	exposure := refdata.DayUse
	if moored {
		exposure = refdata.Moored
	}
	for _, o := range refdata.Organisms() {
		if slices.Contains(unlike, o.Group) || stageSeen(o.ID) == nil {
			continue
		}
		p, ok := refdata.CarryingPriorFor(o.ID, exposure)
		if !ok {
			continue
		}
		ids = append(ids, o.ID)
		weights = append(weights, p.Alpha/(p.Alpha+p.Beta))
	}
	return ids, weights
}

// unlike are groups that no practice craft shows: what cannot be seen, and what nobody mistakes.
var unlike = []refdata.Group{refdata.GroupPathogen, refdata.GroupFish, refdata.GroupCrayfish}

// stageSeen gives the first stage of an organism that a look or a hand can find; nil where there is none.
func stageSeen(organism string) *refdata.Stage {
	for _, st := range refdata.Stages(organism) {
		if slices.Contains(Trained, st.Detection) {
			return &st
		}
	}
	return nil
}

// load puts things on the craft.
func (m *maker) load() {
	m.sheet.Wet = map[string]thwart.Wetness{}
	d := m.order.Difficulty
	blank := m.chance(blankShare)
	if !blank {
		n := 1 + m.r.IntN(1+(d+1)/2)
		for i := range n {
			// The first thing comes from the water the owner names, so that the story and the craft agree.
			m.add(m.draw(i == 0))
		}
	}
	for range m.r.IntN(d + 1) {
		m.decoy()
	}
	m.sheet.PlugsIn = m.hasTask(thwart.TaskDrain) && m.chance(0.08+0.04*float64(d))
	m.sheet.DriveUp = m.hasTask(thwart.TaskLower) && m.chance(0.12)
	m.r.Shuffle(len(m.sheet.Items), func(i, k int) { m.sheet.Items[i], m.sheet.Items[k] = m.sheet.Items[k], m.sheet.Items[i] })
}

func (m *maker) hasTask(t thwart.Task) bool {
	return slices.ContainsFunc(m.places, func(p thwart.Place) bool { return p.Asks(t) })
}

// draw chooses what kind of thing is next: an organism by its published share, or mud or standing water. Shares of mud and
// water are common practice, no source.
func (m *maker) draw(organism bool) (what string, class refdata.DetectionClass) {
	if !organism && m.chance(0.35) {
		if m.chance(0.7) {
			return "water", refdata.WaterSeen
		}
		return "mud", refdata.PlantsSeen
	}
	what = m.organism[m.r.IntN(len(m.organism))]
	if m.chance(0.25) {
		return "plant", refdata.PlantsSeen // a water plant that is no listed invader
	}
	return what, stageSeen(what).Detection
}

// add places one thing: by the library's weights of the places it can ride at, times what this person tends to miss there.
func (m *maker) add(what string, class refdata.DetectionClass) {
	it := item{What: what, Class: string(class), Number: 1}
	ride := m.describe(&it)
	weights := make([]float64, len(m.places))
	for i := range m.places {
		p := &m.places[i]
		if p.Hidden || p.ID == "gear.anything_else" || !rides(p, ride) || m.taken(p.ID) || !m.fits(p, &it) {
			continue
		}
		weights[i] = p.Weight * m.missed(class, p.Part)
	}
	at := m.pick(weights)
	if at < 0 {
		return
	}
	it.Place = m.places[at].ID
	if what == "water" {
		m.sheet.Wet[it.Place] = thwart.WetWater
	}
	m.sheet.Items = append(m.sheet.Items, it)
}

func rides(p *thwart.Place, ride []thwart.Carriage) bool {
	return slices.ContainsFunc(ride, p.Takes)
}

func (m *maker) taken(place string) bool {
	return slices.ContainsFunc(m.sheet.Items, func(it item) bool { return it.Place == place })
}

// fits keeps what can only be felt to places where a hand can reach, and standing water to places that hold it.
func (m *maker) fits(p *thwart.Place, it *item) bool {
	switch {
	case it.What == "water":
		return p.Holds != thwart.HoldsNone && (p.Part == thwart.PartBilge || p.Part == thwart.PartWell || p.Part == thwart.PartInside || p.Part == thwart.PartGear)
	case it.Seen == "":
		return p.Asks(thwart.TaskFeel)
	}
	return true
}

// missed draws from what is known of how often this person misses such a thing on such a part (Thompson's rule: uncertain
// places are tried as often as they may be the worst). A fifth is added to all, so that the published frequencies keep a say.
func (m *maker) missed(class refdata.DetectionClass, part thwart.Part) float64 {
	prior, _ := refdata.DetectionPriorFor(class, refdata.Steward)
	a, b := prior.Alpha, prior.Beta
	for _, w := range m.order.Weak {
		if w.Class == string(class) && (w.Part == "" || w.Part == part) {
			a += float64(w.Found)
			b += float64(w.Trials - w.Found)
		}
	}
	return 0.2 + 1 - num.Beta(m.r, a, b)
}

// describe fills in how a thing looks and feels at the order's difficulty, and gives the ways it can ride.
func (m *maker) describe(it *item) []thwart.Carriage {
	d := float64(m.order.Difficulty)
	it.Faint = math.Min(0.95, 0.08+0.19*(d-1)*between(m.r, 0.7, 1.1))
	it.X, it.Y = between(m.r, 0.1, 0.9), between(m.r, 0.1, 0.9)
	shrink := math.Pow(0.72, d-1)
	switch it.What {
	case "water":
		it.Name, it.Matter, it.Form, it.Seen, it.Felt = tongue.Say("standing water"), thwart.MatterWater, "drop", tongue.Say("a puddle in the lowest corner"), tongue.Say("wet")
		it.SizeMM = 250 * shrink
		return []thwart.Carriage{thwart.CarriedInWater}
	case "mud":
		it.Name, it.Matter, it.Form, it.Seen, it.Felt = tongue.Say("mud"), thwart.MatterMud, "smear", tongue.Say("a grey smear with fibres in it"), tongue.Say("grains and fibres, it crumbles")
		it.SizeMM = 90 * shrink
		return []thwart.Carriage{thwart.CarriedInMud}
	case "plant":
		it.Name, it.Matter, it.Form, it.Seen, it.Felt = tongue.Say("a water plant"), thwart.MatterPlant, "strand", tongue.Say("limp green threads"), tongue.Say("soft, it tears")
		it.SizeMM = 120 * shrink
		return []thwart.Carriage{thwart.CarriedTangled}
	}
	return m.organismLooks(it, shrink)
}

func (m *maker) organismLooks(it *item, shrink float64) []thwart.Carriage {
	o, _ := refdata.OrganismByID(it.What)
	st := stageSeen(it.What)
	it.Stage, it.Name = string(st.Name), tongue.Data(o.Common)
	ride := []thwart.Carriage{thwart.CarriedTangled}
	switch {
	case o.Group == refdata.GroupPlant || o.Group == refdata.GroupAlga:
		it.Matter, it.Form, it.Seen, it.Felt, it.SizeMM = thwart.MatterPlant, "strand", tongue.Say("a limp green strand with fine leaves"), tongue.Say("soft, it tears"), 110*shrink
	case o.Group == refdata.GroupMussel:
		ride = []thwart.Carriage{thwart.CarriedAttached}
		it.Matter, it.Form, it.Number = thwart.MatterAttached, "shell", 1+m.r.IntN(4)
		it.Seen, it.Felt, it.SizeMM = tongue.Say("striped wedge-shaped shells"), tongue.Say("hard, held fast by threads"), 14*shrink
		it.Dead = m.chance(0.2)
		if m.chance(0.22 * float64(m.order.Difficulty-1)) { // settled young: the hand finds them, not the eye
			it.Stage, it.Form, it.Seen, it.Felt, it.SizeMM, it.Number = "juvenile", "grit", "", tongue.Say("single grains, like sandpaper, that do not wipe off"), 1, 5
			it.Dead = false
		}
		if it.Dead {
			it.Seen, it.Felt = tongue.Say("empty shells that gape"), tongue.Say("hard, loose in their threads")
		}
	case o.Group == refdata.GroupWaterFlea:
		it.Matter, it.Form, it.Seen, it.Felt, it.SizeMM, it.Number = thwart.MatterLoose, "thread", tongue.Say("a cottony clot with black specks"), tongue.Say("a jelly on the line"), 8*shrink, 20
	default:
		it.Matter, it.Form, it.Seen, it.Felt, it.SizeMM, it.Number = thwart.MatterLoose, "shell", tongue.Say("a small dark shell"), tongue.Say("hard, it slides"), 6*shrink, 1+m.r.IntN(3)
		if slices.Contains(st.Carried, refdata.Attached) {
			ride = append(ride, thwart.CarriedAttached)
			it.Matter = thwart.MatterAttached
		}
		if slices.Contains(st.Carried, refdata.InMud) {
			ride = append(ride, thwart.CarriedInMud)
		}
	}
	return ride
}

// decoy puts something harmless where a look will meet it.
func (m *maker) decoy() {
	k := decoys[m.r.IntN(len(decoys))]
	var at []int
	for i := range m.places {
		p := &m.places[i]
		if p.Hidden || m.taken(p.ID) || p.ID == "gear.anything_else" || len(k.parts) > 0 && !slices.Contains(k.parts, p.Part) {
			continue
		}
		at = append(at, i)
	}
	if len(at) == 0 {
		return
	}
	p := &m.places[at[m.r.IntN(len(at))]]
	it := item{
		What: string(k.name), Name: tongue.Say(k.name), Decoy: true, Tell: tongue.Say(k.tell), Form: k.form, Seen: tongue.Say(k.seen), SizeMM: k.sizeMM, Number: 1, Place: p.ID,
		Faint: math.Min(0.9, 0.1*float64(m.order.Difficulty)), X: between(m.r, 0.1, 0.9), Y: between(m.r, 0.1, 0.9),
	}
	if p.Asks(thwart.TaskFeel) {
		it.Felt = tongue.Say(k.felt)
	}
	if k.like == "water" {
		m.sheet.Wet[p.ID] = thwart.WetDamp
	}
	m.sheet.Items = append(m.sheet.Items, it)
}

// settle wets what a plug or a raised drive has kept from draining.
func (m *maker) settle() {
	for i := range m.places {
		p := &m.places[i]
		_, wet := m.sheet.Wet[p.ID]
		if wet || p.Hidden {
			continue
		}
		if m.sheet.PlugsIn && p.Part == thwart.PartBilge && p.Asks(thwart.TaskDrain) {
			m.sheet.Wet[p.ID] = thwart.WetFilm
		}
	}
}

func between(r *rand.Rand, lo, hi float64) float64 { return lo + (hi-lo)*r.Float64() }
