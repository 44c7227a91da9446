// Package round turns the places of one rig into the order in which a steward walks them: once round the rig, high and
// low at each station, then aboard, then the gear laid out behind it.
//
// Start with [Make]. It takes the stops with their positions and gives a [Plan]: what has to be started before the walk
// because water needs time to run, every stop exactly once with the point to stand at, the metres and seconds, and a
// lower bound that no order of the same stops can beat, so that anyone can see how little a cleverer order would save.
// Nothing is ever left out to save time.
//
// A fixed circuit is chosen on purpose. It can be taught, repeated and handed over half done, and on a rig of a few
// metres it costs next to nothing against the shortest order (the tests enumerate small rigs to show how much).
//
// The package holds no data and knows no craft. Coordinates are metres: X aft from the bow (negative ahead of it), Y to
// starboard of the centreline, Z above the ground.
package round

import (
	"fmt"

	"thwart/engine/num"
)

// Group is where the steward is while looking at a stop. Groups are visited in this order.
type Group uint8

// Groups.
const (
	Outside Group = iota // from the ground beside the rig
	OnBoard              // from inside the craft, reached only over the boarding point
	LaidOut              // loose gear on the ground behind the rig
)

// Stop is one thing to look at.
type Stop struct {
	ID         string // unique
	Group      Group
	Zone       int // at one station and posture, lower zones come first
	XM, YM, ZM float64
	Posture    int     // how low the steward has to be: 0 is upright, larger is lower; equal numbers are one posture
	LookS      float64 // seconds the look takes
	Drains     bool    // water has to run here: it is started before the walk, and its own look comes late
}

// Corner is where the walk begins.
type Corner string

// Corners of the rig.
const (
	BowPort        Corner = "bow_port"
	BowStarboard   Corner = "bow_starboard"
	SternStarboard Corner = "stern_starboard"
	SternPort      Corner = "stern_port"
)

// Corners lists the corners in clockwise order, seen from above.
var Corners = []Corner{BowPort, BowStarboard, SternStarboard, SternPort}

func (c Corner) index() int {
	for i, k := range Corners {
		if k == c {
			return i
		}
	}
	return -1
}

// Assumptions of [Defaults]. None is published for this work; a programme that has timed its own rounds sets its own.
const (
	// WalkMPerS is the speed between stations, m/s. Assumption: well below the 1.2 to 1.4 m/s of an adult walking
	// freely, because the distances are a few steps and each begins and ends at a halt.
	WalkMPerS = 0.8
	// MarginM is how far from the rig the steward walks, m. Assumption: a bent arm's length.
	MarginM = 0.6
	// ReachM is the stretch of the path that is looked at from one stand, m. Assumption: half a step to either side.
	ReachM = 0.9
	// PostureChangeS is the time to get down, get up, climb aboard or off, s. Assumption.
	PostureChangeS = 2.0
)

// Options says how the rig is walked. Start from [Defaults].
type Options struct {
	Start     Corner
	Clockwise bool // seen from above, bow up: across the bow from port to starboard, then aft along the starboard side

	LengthM float64 // of the craft, bow to transom
	BeamM   float64
	AheadM  float64 // how far ahead of the bow the path crosses over the tongue, at least MarginM

	MarginM        float64
	ReachM         float64
	WalkMPerS      float64
	PostureChangeS float64
	StartS         float64 // what it takes, all in all, to have the draining tasks started before the walk; may be 0
}

// Defaults gives the options of a plain round: from the port side of the stern, clockwise, so that the transom with its
// plug and drive, where water runs from the first minute, is looked at last.
func Defaults(lengthM, beamM float64) Options {
	return Options{
		Start: SternPort, Clockwise: true,
		LengthM: lengthM, BeamM: beamM, AheadM: MarginM,
		MarginM: MarginM, ReachM: ReachM, WalkMPerS: WalkMPerS, PostureChangeS: PostureChangeS,
	}
}

// Start is one draining task to begin before the walk.
type Start struct {
	ID     string
	Number int // of the stop at which the place is looked at again
}

// Step is one stop in its turn.
type Step struct {
	Stop
	Number           int // from 1
	Station          int // from 1; stops of one station are seen from one stand
	StandXM, StandYM float64
	WalkedM          float64 // from the start of the walk to this stand
	AtS              float64 // seconds from the first word to the start of this look
}

// Point is a spot on the ground or aboard, in metres.
type Point struct{ XM, YM float64 }

// Plan is a round.
type Plan struct {
	First []Start // from the stern forward, ground before deck
	Steps []Step
	Path  []Point // the walk on the ground as a line to draw, from the start corner to the last stand

	Stations       int
	PostureChanges int // between one stop and the next

	WalkM    float64 // the whole walk, aboard and back off included
	LookS    float64
	WalkS    float64
	PostureS float64
	StartS   float64
	TotalS   float64

	LowerBoundS float64 // no order of these stands takes less; the comment on lowerBound has the proof
	GapPct      float64 // of TotalS above LowerBoundS
}

// Make lays out the round.
//
// The walk follows the outline of the rig at MarginM: a rectangle round craft, wheels and drive with rounded corners,
// crossing over the trailer tongue AheadM before the bow. Each outside stop is seen from the nearest point of that path
// (from the side reached first where two are equally near), stops within ReachM of path share a station, and each
// station is worked through from high to low or from low to high, whichever leaves fewer changes of posture on the
// whole round. Then the steward boards at the middle of the transom, goes forward once and comes back once by the
// shortest such tour, and ends at the gear.
//
// Places that drain are named in First, to be started before the walk. They keep their own turn, which comes as late as
// their station allows, so that what ran out is seen.
//
// The answer depends on the set of stops alone, not on their order in the slice. Errors name the option or stop at fault.
func Make(stops []Stop, o Options) (Plan, error) {
	if err := o.validate(); err != nil {
		return Plan{}, err
	}
	own, err := sorted(stops)
	if err != nil {
		return Plan{}, err
	}
	// A counter-clockwise round is the mirror image of a clockwise one: turn the rig over, walk it, turn it back.
	if !o.Clockwise {
		o.Start = Corners[[4]int{1, 0, 3, 2}[o.Start.index()]]
		for i := range own {
			own[i].YM = flip(own[i].YM)
		}
	}
	p := clockwise(own, o)
	if !o.Clockwise {
		for i := range p.Steps {
			p.Steps[i].YM, p.Steps[i].StandYM = flip(p.Steps[i].YM), flip(p.Steps[i].StandYM)
		}
		for i := range p.Path {
			p.Path[i].YM = flip(p.Path[i].YM)
		}
	}
	return p, nil
}

// flip is the other side of the centreline; the centreline stays plain zero.
func flip(y float64) float64 { return 0 - y }

func (o Options) validate() error {
	if o.Start.index() < 0 {
		return fmt.Errorf("start: %q is not accepted; accepted: bow_port, bow_starboard, stern_starboard, stern_port", o.Start)
	}
	for _, f := range []struct {
		name  string
		value float64
	}{
		{"lengthM", o.LengthM}, {"beamM", o.BeamM}, {"marginM", o.MarginM}, {"reachM", o.ReachM}, {"walkMPerS", o.WalkMPerS},
	} {
		if err := num.Positive(f.name, f.value); err != nil {
			return err
		}
	}
	if err := num.NotNegative("postureChangeS", o.PostureChangeS); err != nil {
		return err
	}
	if err := num.NotNegative("startS", o.StartS); err != nil {
		return err
	}
	if o.AheadM < o.MarginM {
		return &num.RangeError{Field: "aheadM", Value: o.AheadM, Accepted: "at least marginM"}
	}
	return num.Finite("aheadM", o.AheadM)
}

// clockwise lays out a clockwise round of stops sorted by id.
func clockwise(stops []Stop, o Options) Plan {
	var outside, board, laid []Stop
	for _, s := range stops {
		switch s.Group {
		case OnBoard:
			board = append(board, s)
		case LaidOut:
			laid = append(laid, s)
		default:
			outside = append(outside, s)
		}
	}
	line := outline(outside, o)
	stations := stationsOf(outside, line, o.ReachM)
	orderPostures(stations)

	w := walker{o: o, plan: Plan{Steps: make([]Step, 0, len(stops)), StartS: o.StartS}}
	w.round(stations, line)
	door := Point{XM: o.LengthM}
	for i := range board {
		door.XM = max(door.XM, board[i].XM)
	}
	tour := thereAndBack(door, board)
	if len(board)+len(laid) > 0 {
		w.toStern(line)
	}
	w.aboard(door, tour)
	w.gear(laid)
	w.finish(stations, line, door, board, laid)
	return w.plan
}

// walker carries the steward's place, clock and posture through the plan.
type walker struct {
	o    Options
	plan Plan

	at      Point
	s       float64 // along the path, while on it
	posture int
	moving  bool // at least one stop has been looked at
}

func (w *walker) round(stations []station, line path) {
	w.at = line.at(0)
	w.plan.Path = append(w.plan.Path, w.at)
	for i := range stations {
		st := &stations[i]
		w.plan.Path = line.trace(w.plan.Path, w.s, st.stand)
		w.plan.WalkM += st.stand - w.s
		w.s, w.at = st.stand, line.at(st.stand)
		w.plan.Stations++
		for _, s := range st.stops {
			w.look(s)
		}
	}
}

// toStern walks on along the path, or back if that is shorter, to behind the middle of the transom.
func (w *walker) toStern(line path) {
	behind := line.behind()
	d := behind - w.s
	if d < 0 {
		d = -d
	}
	w.plan.WalkM += min(d, line.perimeter()-d)
	w.at = line.at(behind)
}

func (w *walker) aboard(door Point, tour []Stop) {
	if len(tour) == 0 {
		return
	}
	off := w.at
	w.moveTo(door)
	for _, s := range tour {
		w.moveTo(Point{s.XM, s.YM})
		w.plan.Stations++
		w.look(s)
	}
	w.moveTo(door)
	w.moveTo(off)
}

// rowM is how far apart, fore and aft, two pieces of gear may lie and still count as one row.
const rowM = 0.3

// gear goes along the rows of laid-out gear, the nearest row first, each from the end where the steward stands.
func (w *walker) gear(laid []Stop) {
	for len(laid) > 0 {
		row := nextRow(laid)
		laid = laid[len(row):]
		if far, near := w.to(row[len(row)-1]), w.to(row[0]); far < near {
			for i, j := 0, len(row)-1; i < j; i, j = i+1, j-1 {
				row[i], row[j] = row[j], row[i]
			}
		}
		for _, s := range row {
			w.moveTo(Point{s.XM, s.YM})
			w.plan.Stations++
			w.look(s)
		}
	}
}

func (w *walker) to(s Stop) float64 { return distance(w.at, Point{s.XM, s.YM}) }

func (w *walker) moveTo(p Point) {
	w.plan.WalkM += distance(w.at, p)
	w.at = p
}

func (w *walker) look(s Stop) {
	p := &w.plan
	if w.moving && s.Posture != w.posture {
		p.PostureChanges++
	}
	w.moving, w.posture = true, s.Posture
	p.Steps = append(p.Steps, Step{
		Stop: s, Number: len(p.Steps) + 1, Station: p.Stations,
		StandXM: w.at.XM, StandYM: w.at.YM, WalkedM: p.WalkM,
		AtS: p.StartS + p.LookS + p.WalkM/w.o.WalkMPerS + float64(p.PostureChanges)*w.o.PostureChangeS,
	})
	p.LookS += s.LookS
}

func (w *walker) finish(stations []station, line path, door Point, board, laid []Stop) {
	p := &w.plan
	p.First = starts(p.Steps)
	p.WalkS = p.WalkM / w.o.WalkMPerS
	p.PostureS = float64(p.PostureChanges) * w.o.PostureChangeS
	p.TotalS = p.StartS + p.LookS + p.WalkS + p.PostureS

	p.LowerBoundS = p.StartS + p.LookS + lowerBound(stations, line, door, board, laid, w.o)
	if p.LowerBoundS > 0 {
		p.GapPct = 100 * (p.TotalS - p.LowerBoundS) / p.LowerBoundS
	}
}
