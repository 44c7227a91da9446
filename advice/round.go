package advice

import (
	"fmt"
	"slices"
	"strings"

	"thwart"
	"thwart/engine/round"
	"thwart/refdata"
	"thwart/tongue"
)

// RoundOptions says how a steward wants to walk. The zero value starts at the port side of the stern and goes round by
// the bow, so that plug and drive, where water runs from the first minute, are looked at last.
type RoundOptions struct {
	Start string `json:"start,omitempty"` // bow_port, bow_starboard, stern_starboard, stern_port
	// Direction is clockwise or counterclockwise, seen from above. Empty: from a corner at the stern forward along its own
	// side, from a corner at the bow across the tongue first.
	Direction string `json:"direction,omitempty"`
	// Speeds of the steward; 0 takes the assumptions of package engine/round.
	WalkMPerS      float64 `json:"walkMPerS,omitempty"`
	PostureChangeS float64 `json:"postureChangeS,omitempty"`
}

// RoundPlan is the walk round one rig, in order, in words.
type RoundPlan struct {
	Start     string       `json:"start"`
	Direction string       `json:"direction"`
	Before    []string     `json:"before"` // cautions for the whole round
	First     []RoundStart `json:"first"`  // to be started before the walk, because water needs time to run
	Stops     []RoundStop  `json:"stops"`  // every place exactly once
	Path      [][2]float64 `json:"path"`   // the walk on the ground, x and y in metres, to draw

	Stations       int     `json:"stations"`
	PostureChanges int     `json:"postureChanges"`
	WalkM          float64 `json:"walkM"`
	StartS         float64 `json:"startS"`
	LookS          float64 `json:"lookS"`
	WalkS          float64 `json:"walkS"`
	PostureS       float64 `json:"postureS"`
	TotalS         float64 `json:"totalS"`
	LowerBoundS    float64 `json:"lowerBoundS"` // no order of the same stops takes less
	GapPct         float64 `json:"gapPct"`
}

// RoundStart is something the owner is asked to do before the walk.
type RoundStart struct {
	Say    string   `json:"say"`
	Places []string `json:"places"`
	Stops  []int    `json:"stops"` // where the walk comes by to see what ran out
}

// RoundStop is one place in its turn.
type RoundStop struct {
	Number   int            `json:"number"`
	Station  int            `json:"station"` // stops of one station are seen from one stand
	Place    string         `json:"place"`
	Name     string         `json:"name"`
	Zone     thwart.Zone    `json:"zone"`
	Posture  thwart.Posture `json:"posture"`
	Tasks    []thwart.Task  `json:"tasks"`
	Say      string         `json:"say"`
	Cautions []string       `json:"cautions,omitempty"` // for the hand that is about to reach in
	Running  bool           `json:"running,omitempty"`  // started before the walk: see what ran out
	StandXM  float64        `json:"standXM"`
	StandYM  float64        `json:"standYM"`
	WalkedM  float64        `json:"walkedM"` // from the start to this stand
	AtS      float64        `json:"atS"`     // seconds from the first word to this look
	Seconds  float64        `json:"seconds"`
}

// askS is the time to ask for one thing before the walk: one spoken sentence (assumption).
const askS = 5.0

// aheadM is how far ahead of the bow the walk steps over the tongue of a trailer: half way to the coupler (assumption).
const aheadM = 0.9

// Round lays out the walk round a craft: what the owner is asked to start first, then every place once, round the rig,
// aboard, and along the gear laid out behind it, with the words to say and the cautions for each spot. places are those
// of [Places]; places of another library are taken too and get words made from their tasks.
//
// No stop tells a steward to start an engine, open a seacock or go under a craft. That is asked of the owner, or looked
// at from the side.
func Round(places []thwart.Place, s thwart.Setup, opt RoundOptions) (RoundPlan, error) {
	o, err := roundOptions(places, s, opt)
	if err != nil {
		return RoundPlan{}, err
	}
	stops := make([]round.Stop, len(places))
	at := make(map[string]int, len(places))
	for i := range places {
		stops[i] = stopOf(&places[i])
		at[places[i].ID] = i
	}
	o.StartS = askS * float64(len(asks(places)))
	plan, err := round.Make(stops, o)
	if err != nil {
		return RoundPlan{}, fmt.Errorf("round: %w", err)
	}
	out := RoundPlan{
		Start: string(o.Start), Direction: directionOf(o.Clockwise), Before: before(places),
		Stations: plan.Stations, PostureChanges: plan.PostureChanges, WalkM: plan.WalkM, StartS: plan.StartS, LookS: plan.LookS,
		WalkS: plan.WalkS, PostureS: plan.PostureS, TotalS: plan.TotalS, LowerBoundS: plan.LowerBoundS, GapPct: plan.GapPct,
		First: make([]RoundStart, 0, len(plan.First)), Stops: make([]RoundStop, len(plan.Steps)), Path: make([][2]float64, len(plan.Path)),
	}
	for i, p := range plan.Path {
		out.Path[i] = [2]float64{p.XM, p.YM}
	}
	boarded := false
	for i := range plan.Steps {
		st := &plan.Steps[i]
		p := &places[at[st.ID]]
		out.Stops[i] = RoundStop{
			Number: st.Number, Station: st.Station, Place: p.ID, Name: p.Name, Zone: p.Zone, Posture: p.Posture, Tasks: p.Tasks,
			Say: sayAt(p), Cautions: cautionsAt(p), Running: st.Drains, StandXM: st.StandXM, StandYM: st.StandYM,
			WalkedM: st.WalkedM, AtS: st.AtS, Seconds: st.LookS,
		}
		if st.Group == round.OnBoard && !boarded {
			boarded = true
			out.Stops[i].Cautions = append([]string{caution("board")}, out.Stops[i].Cautions...)
		}
	}
	for _, f := range plan.First {
		out.First = addStart(out.First, askWords(&places[at[f.ID]]), f)
	}
	return out, nil
}

// roundOptions fills and checks the options.
func roundOptions(places []thwart.Place, s thwart.Setup, opt RoundOptions) (round.Options, error) {
	lengthM, beamM := sizeOf(s)
	o := round.Defaults(lengthM, beamM)
	var errs thwart.FieldErrors
	if !(lengthM > 0) || !(beamM > 0) {
		errs = append(errs, thwart.FieldError{Field: "class", Value: s.Class, Accepted: "a craft class of the library, or a length and a beam"})
	}
	if opt.Start != "" {
		o.Start = round.Corner(opt.Start)
		if !slices.Contains(round.Corners, o.Start) {
			errs = append(errs, thwart.FieldError{Field: "start", Value: opt.Start, Accepted: "bow_port, bow_starboard, stern_starboard, stern_port"})
		}
	}
	switch opt.Direction {
	case "":
		o.Clockwise = o.Start == round.SternPort || o.Start == round.BowPort
	case "clockwise", "counterclockwise":
		o.Clockwise = opt.Direction == "clockwise"
	default:
		errs = append(errs, thwart.FieldError{Field: "direction", Value: opt.Direction, Accepted: "clockwise, counterclockwise"})
	}
	speed := func(field string, v, lo, hi float64, unit string, into *float64) {
		if v == 0 {
			return
		}
		if !(v >= lo && v <= hi) {
			errs = append(errs, thwart.FieldError{Field: field, Value: fmt.Sprint(v), Accepted: tongue.Say("a number from {from} to {to} {unit}", tongue.Short(lo), tongue.Short(hi), unit)})
		}
		*into = v
	}
	speed("walkMPerS", opt.WalkMPerS, 0.1, 3, "m/s", &o.WalkMPerS)
	speed("postureChangeS", opt.PostureChangeS, 0.1, 60, "s", &o.PostureChangeS)
	if slices.ContainsFunc(places, onTongue) {
		o.AheadM = max(o.MarginM, aheadM)
	}
	if len(errs) > 0 {
		return o, errs
	}
	return o, nil
}

func onTongue(p thwart.Place) bool { return p.Zone == thwart.ZoneTow && p.XM < 0 }

func directionOf(clockwise bool) string {
	if clockwise {
		return "clockwise"
	}
	return "counterclockwise"
}

// stopOf is a place as the walk sees it.
func stopOf(p *thwart.Place) round.Stop {
	st := round.Stop{
		ID: p.ID, Zone: slices.Index(thwart.Zones, p.Zone), XM: p.XM, YM: p.YM, ZM: p.ZM,
		Posture: slices.Index(thwart.Postures, p.Posture), LookS: p.Seconds, Drains: runs(p),
	}
	switch {
	case p.Zone == thwart.ZoneGear:
		st.Group = round.LaidOut
	case p.Posture == thwart.PostureAboard:
		st.Group = round.OnBoard
	}
	return st
}

// runs reports whether water has to run at a place.
func runs(p *thwart.Place) bool {
	return p.Asks(thwart.TaskDrain) || p.Asks(thwart.TaskLower) || p.Asks(thwart.TaskRun)
}

// asks lists the different things to ask for before the walk.
func asks(places []thwart.Place) []string {
	var words []string
	for i := range places {
		if p := &places[i]; runs(p) {
			if w := askWords(p); !slices.Contains(words, w) {
				words = append(words, w)
			}
		}
	}
	return words
}

func addStart(first []RoundStart, say string, f round.Start) []RoundStart {
	for i := range first {
		if first[i].Say == say {
			first[i].Places, first[i].Stops = append(first[i].Places, f.ID), append(first[i].Stops, f.Number)
			return first
		}
	}
	return append(first, RoundStart{Say: say, Places: []string{f.ID}, Stops: []int{f.Number}})
}

// sayAt says what to do at a place.
func sayAt(p *thwart.Place) string {
	row := refdata.PlaceRowOf(p.ID)
	if row == nil {
		return wordsOf(p.Tasks)
	}
	say := tongue.Data(row.Say)
	switch {
	case strings.HasSuffix(p.ID, ".unknown"):
		return tongue.Say("Ask how many there are. At each: {act}", tongue.Small(say))
	case driveNotKnown(p.Name):
		return tongue.Say("If it has this drive: {act}", tongue.Small(say))
	}
	return say
}

// askWords says what the owner is asked to do at a place before the walk.
func askWords(p *thwart.Place) string {
	if row := refdata.PlaceRowOf(p.ID); row != nil && row.Start != "" {
		return tongue.Data(row.Start)
	}
	switch {
	case p.Asks(thwart.TaskLower):
		return tongue.Say("Ask the owner to lower the drive fully and leave it down until nothing runs out.")
	case p.Asks(thwart.TaskRun):
		return tongue.Say("Ask the owner to run the pump until it sucks air.")
	}
	return tongue.Say("Ask the owner to open every drain and leave it open.")
}

// taskWords are for places that are not in the library.
var taskWords = map[thwart.Task]tongue.Text{
	thwart.TaskLook: "Look at it from all sides.", thwart.TaskFeel: "Feel it.", thwart.TaskOpen: "Ask the owner to open it.",
	thwart.TaskDrain: "See what ran out.", thwart.TaskLower: "See that it is fully down.", thwart.TaskRun: "Ask if the pump sucked air.",
	thwart.TaskTip: "Ask the owner to tip it.", thwart.TaskAsk: "Ask the owner about it.",
}

func wordsOf(tasks []thwart.Task) string {
	words := make([]string, 0, len(tasks))
	for _, t := range tasks {
		words = append(words, tongue.Say(taskWords[t]))
	}
	return strings.Join(words, " ")
}

func cautionsAt(p *thwart.Place) []string {
	row := refdata.PlaceRowOf(p.ID)
	if row == nil || len(row.Cautions) == 0 {
		return nil
	}
	texts := make([]string, len(row.Cautions))
	for i, id := range row.Cautions {
		texts[i] = caution(id)
	}
	return texts
}

func caution(id string) string {
	c, ok := refdata.RoundCautionByID(id)
	if !ok {
		panic("advice: the library has no caution " + id)
	}
	return tongue.Data(c.Text)
}

// before lists the cautions that hold for the whole round.
func before(places []thwart.Place) []string {
	var texts []string
	if slices.ContainsFunc(places, onTongue) {
		texts = append(texts, caution("chocks"))
	}
	if slices.ContainsFunc(places, func(p thwart.Place) bool {
		row := refdata.PlaceRowOf(p.ID)
		return row != nil && slices.Contains(row.Cautions, "key_out")
	}) {
		texts = append(texts, caution("key_out"))
	}
	return append(texts, caution("ask_first"))
}
