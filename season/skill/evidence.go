package skill

import (
	"cmp"
	"maps"
	"slices"

	"thwart"
	"thwart/engine/num"
	"thwart/engine/recall"
	estimate "thwart/engine/skill"
	"thwart/practice"
	"thwart/refdata"
	"thwart/season"
)

// trained are the kinds of thing that skill bears on.
var trained = practice.Trained

// ClassWords is what a kind of thing is called.
var ClassWords = map[refdata.DetectionClass]string{
	refdata.PlantsSeen: "plants and mud", refdata.SmallFelt: "small animals, seen or felt", refdata.WaterSeen: "standing water",
	refdata.HiddenInWater: "what hides in water", refdata.HiddenInMud: "what hides in mud",
}

// TopicWords is what the topics of questions are called.
var TopicWords = map[string]string{
	"wash_heat": "how hot a wash has to be", "wash_time": "how long a wash has to act", "wash_gauge": "what a thermometer can prove",
	"drained": "what counts as drained", "verdict": "the verdict", "dry_days": "how long a craft dries", "look_back": "how far back a water counts",
	"who_decides": "who decides what",
}

// evidence is what the records say of one person.
type evidence struct {
	planted  map[refdata.DetectionClass]num.Count
	double   map[refdata.DetectionClass]num.Count
	screen   map[refdata.DetectionClass]num.Count
	parts    map[partKey]num.Count // planted, double and on screen, for where to practise
	signals  estimate.Signals      // on screen
	drills   int
	sessions map[refdata.DetectionClass][]session
}

type partKey struct {
	class refdata.DetectionClass
	part  thwart.Part
}

// session is one practice of one kind of thing.
type session struct {
	at           season.Moment
	found, there int
}

// ground is the evidence on everybody.
type ground struct {
	of     map[int32]*evidence
	topics map[int32][]answers // of questions, in the order of time
	places map[placeKey]num.Count
	looks  map[refdata.DetectionClass][]estimate.Look
	pairs  map[refdata.DetectionClass]*estimate.Observers
	// again counts marks of the first look that a blind second one looked for, and those it did not find.
	again map[refdata.DetectionClass]num.Count
}

// answers are those to the questions of one topic in one round.
type answers struct {
	topic        string
	at           season.Moment
	right, asked int
}

type placeKey struct {
	class refdata.DetectionClass
	place string
}

func gather(b *season.Book) *ground {
	g := &ground{
		of: map[int32]*evidence{}, topics: map[int32][]answers{}, places: map[placeKey]num.Count{}, looks: map[refdata.DetectionClass][]estimate.Look{},
		pairs: map[refdata.DetectionClass]*estimate.Observers{}, again: map[refdata.DetectionClass]num.Count{},
	}
	for i := range b.Trials {
		g.trial(&b.Trials[i])
	}
	for i := range b.SecondLooks {
		g.secondLook(b, &b.SecondLooks[i])
	}
	for i := range b.Encounters {
		if e := &b.Encounters[i]; e.Twin != season.None && !linked(b, e.Twin, int32(i)) {
			g.pair(&b.Encounters[e.Twin], e, false)
		}
	}
	drills := make([]*season.Drill, len(b.Drills))
	for i := range b.Drills {
		drills[i] = &b.Drills[i]
	}
	slices.SortFunc(drills, func(x, y *season.Drill) int {
		return cmp.Or(cmp.Compare(x.At.MS, y.At.MS), cmp.Compare(x.Subject, y.Subject))
	})
	for _, d := range drills {
		g.drill(d)
	}
	return g
}

func (g *ground) person(p int32) *evidence {
	e := g.of[p]
	if e == nil {
		e = &evidence{
			planted: map[refdata.DetectionClass]num.Count{}, double: map[refdata.DetectionClass]num.Count{}, screen: map[refdata.DetectionClass]num.Count{},
			parts: map[partKey]num.Count{}, sessions: map[refdata.DetectionClass][]session{},
		}
		g.of[p] = e
	}
	return e
}

func one(found bool) num.Count {
	if found {
		return num.Count{X: 1, N: 1}
	}
	return num.Count{N: 1}
}

func partOf(place string) thwart.Part {
	if row := refdata.PlaceRowOf(place); row != nil {
		return thwart.Part(row.Part)
	}
	return ""
}

func (e *evidence) at(class refdata.DetectionClass, place string, c num.Count) {
	k := partKey{class, partOf(place)}
	e.parts[k] = e.parts[k].Plus(c)
}

// trial counts a planted object that is over: found or not, and taken back.
func (g *ground) trial(t *season.Trial) {
	class := refdata.DetectionClass(t.Like)
	if !t.Over() || t.Steward == season.None || !slices.Contains(trained, class) {
		return
	}
	c := one(t.Found == thwart.Yes)
	e := g.person(t.Steward)
	e.planted[class] = e.planted[class].Plus(c)
	e.at(class, t.Place, c)
	k := placeKey{class, t.Place}
	g.places[k] = g.places[k].Plus(c)
	if t.Seconds > 0 {
		g.looks[class] = append(g.looks[class], estimate.Look{Time: float64(t.Seconds), Found: t.Found == thwart.Yes})
	}
}

// classOf is the kind of thing a finding is; empty for one that says nothing of skill.
func classOf(m thwart.Matter) refdata.DetectionClass {
	switch m {
	case thwart.MatterPlant, thwart.MatterMud:
		return refdata.PlantsSeen
	case thwart.MatterAttached, thwart.MatterLoose:
		return refdata.SmallFelt
	case thwart.MatterWater:
		return refdata.WaterSeen
	}
	return ""
}

func linked(b *season.Book, first, second int32) bool {
	return slices.ContainsFunc(b.SecondLooks, func(s season.SecondLook) bool { return s.Encounter == first && s.Other == second })
}

// secondLook compares two looks at one craft. One that is written place by place is a planned double check, in which nothing
// is taken off before both have looked.
func (g *ground) secondLook(b *season.Book, s *season.SecondLook) {
	if s.Encounter == season.None || s.Body.Blind == thwart.No {
		return
	}
	first := &b.Encounters[s.Encounter]
	if s.Other != season.None {
		g.pair(first, &b.Encounters[s.Other], s.Body.Blind == thwart.Yes)
		return
	}
	for _, p := range s.Body.Places {
		class := refdata.DetectionClass(p.Like)
		if p.Found == thwart.Yes && slices.Contains(trained, class) {
			found := foundAt(first, p.Place, class)
			g.counted(first.Steward, class, p.Place, found)
			g.seen(class, found, true)
		}
	}
	if s.Body.Blind != thwart.Yes || s.Looker == season.None {
		return
	}
	for i := range first.Findings {
		f := &first.Findings[i]
		class := classOf(f.Matter)
		k := slices.IndexFunc(s.Body.Places, func(p thwart.SecondPlace) bool { return p.Place == f.Place })
		if class == "" || k < 0 || !s.Body.Places[k].Found.Known() {
			continue
		}
		found := s.Body.Places[k].Found == thwart.Yes
		g.counted(s.Looker, class, f.Place, found)
		g.again[class] = g.again[class].Plus(one(!found))
		if !found {
			g.seen(class, true, false)
		}
	}
}

// pair compares two inspections of one craft by different people. What the first took off, the second could not find.
func (g *ground) pair(a, b *season.Encounter, blind bool) {
	if a.Steward == b.Steward || a.Steward == season.None || b.Steward == season.None || a.Refused || b.Refused || a.Test || b.Test {
		return
	}
	for i := range b.Findings {
		f := &b.Findings[i]
		if class := classOf(f.Matter); class != "" {
			found := foundAt(a, f.Place, class)
			g.counted(a.Steward, class, f.Place, found)
			g.seen(class, found, true)
		}
	}
	for i := range a.Findings {
		f := &a.Findings[i]
		class := classOf(f.Matter)
		if class == "" || f.Removed == thwart.RemovedAll {
			continue
		}
		found := foundAt(b, f.Place, class)
		if blind {
			g.counted(b.Steward, class, f.Place, found)
			g.again[class] = g.again[class].Plus(one(!found))
		}
		if !found {
			g.seen(class, true, false)
		}
	}
}

// seen adds one thing to what two looks saw.
func (g *ground) seen(class refdata.DetectionClass, first, second bool) {
	o := g.pairs[class]
	if o == nil {
		o = &estimate.Observers{}
		g.pairs[class] = o
	}
	if first {
		o.First++
	}
	if second {
		o.Second++
	}
	if first && second {
		o.Both++
	}
}

func foundAt(e *season.Encounter, place string, class refdata.DetectionClass) bool {
	return slices.ContainsFunc(e.Findings, func(f season.Finding) bool { return f.Place == place && classOf(f.Matter) == class })
}

func (g *ground) counted(person int32, class refdata.DetectionClass, place string, found bool) {
	if person == season.None {
		return
	}
	e, c := g.person(person), one(found)
	e.double[class] = e.double[class].Plus(c)
	e.at(class, place, c)
}

// drill counts a practice craft: where an object was and was answered yes it was found, and yes where none was is a false
// alarm.
func (g *ground) drill(d *season.Drill) {
	if d.Person == season.None {
		return
	}
	for _, t := range d.Body.Topics {
		if slices.Contains(practice.Topics, t.Topic) {
			g.topics[d.Person] = append(g.topics[d.Person], answers{t.Topic, d.At, t.Right, t.Asked})
		}
	}
	if len(d.Body.Places) == 0 { // questions alone say nothing of finding
		return
	}
	e := g.person(d.Person)
	e.drills++
	now := map[refdata.DetectionClass]session{}
	for _, p := range d.Body.Places {
		class := refdata.DetectionClass(p.Like)
		switch {
		case p.Object && slices.Contains(trained, class):
			c := one(p.Answered == thwart.Yes)
			e.screen[class] = e.screen[class].Plus(c)
			e.at(class, p.Place, c)
			e.signals.Present++
			e.signals.Hits += c.X
			s := now[class]
			s.there++
			s.found += c.X
			now[class] = s
		case !p.Object && p.Answered.Known():
			e.signals.Absent++
			if p.Answered == thwart.Yes {
				e.signals.Alarms++
			}
		}
	}
	for class, s := range now {
		s.at = d.At
		e.sessions[class] = append(e.sessions[class], s)
	}
}

// traces turns everybody's practice craft into what their spacing is fitted to.
func (g *ground) traces() (out []recall.Trace) {
	for _, p := range slices.Sorted(maps.Keys(g.of)) {
		for _, class := range trained {
			out = append(out, traced(g.of[p].sessions[class])...)
		}
	}
	return out
}

// topicTraces turns everybody's answers into what the spacing of questions is fitted to.
func (g *ground) topicTraces() (out []recall.Trace) {
	for _, p := range slices.Sorted(maps.Keys(g.topics)) {
		for _, topic := range practice.Topics {
			var list []session
			for _, a := range g.topics[p] {
				if a.topic == topic {
					list = append(list, session{a.at, a.right, a.asked})
				}
			}
			out = append(out, traced(list)...)
		}
	}
	return out
}

// traced takes each practice of one thing by one person with what came before it.
func traced(list []session) (out []recall.Trace) {
	var right, wrong int
	for i, s := range list {
		if i > 0 {
			if days := s.at.HoursSince(list[i-1].at) / 24; days > 0 {
				out = append(out, recall.Trace{
					Days: days, Right: right, Wrong: wrong, Share: float64(s.found) / float64(s.there), Objects: s.there,
				})
			}
		}
		right += s.found
		wrong += s.there - s.found
	}
	return out
}
