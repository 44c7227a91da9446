package demo

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"thwart"
	"thwart/advice"
	"thwart/engine/num"
	"thwart/refdata"
)

// stage is the part of an organism's life that a look can find.
type stage struct {
	class  refdata.DetectionClass
	ride   thwart.Carriage
	matter thwart.Matter
}

// stagesSeen gives, per organism of the demo, what a steward can see or feel of it.
func stagesSeen() map[string]stage {
	out := map[string]stage{}
	for _, o := range demoOrganisms {
		for _, st := range refdata.Stages(o) {
			if _, ok := out[o]; ok || !slices.Contains(trainedClasses, st.Detection) {
				continue
			}
			s := stage{class: st.Detection, ride: thwart.CarriedTangled, matter: thwart.MatterPlant}
			if slices.Contains(st.Carried, refdata.Attached) {
				s.ride, s.matter = thwart.CarriedAttached, thwart.MatterAttached
			} else if st.Detection == refdata.SmallFelt {
				s.matter = thwart.MatterLoose
			}
			out[o] = s
		}
	}
	return out
}

// shift is one shift being worked.
type shift struct {
	w    *World
	book *book
	plan shiftPlan
	r    *rand.Rand
	id   string
	// busy is until when each steward is taken.
	busy     []time.Time
	passed   int
	turned   int
	lastPass time.Time
}

// event is a craft that comes to the ramp.
type event struct {
	at      time.Time
	leaving bool
	trial   bool
}

func (w *World) workShift(b *book, p shiftPlan) {
	s := &shift{w: w, book: b, plan: p, r: num.Stream(w.Seed, fmt.Sprintf("shift %d", p.n)), busy: make([]time.Time, len(p.stewards))}
	lead := p.stewards[0]
	s.id = newID(p.from.Add(lead.skewed), s.r)
	body := thwart.Shift{Launch: w.Launches[p.launch].ID, From: p.from.Add(lead.skewed), Weather: w.sayWeather(&p)}
	for _, who := range p.stewards {
		body.People = append(body.People, who.ID)
	}
	if p.crew != nil && p.kitKM == 0 {
		body.People = append(body.People, p.crew.ID)
	}
	open := body
	b.write(thwart.KindShift, s.id, p.from, lead, &open, s.r)
	for i := range s.busy {
		s.busy[i] = p.from
	}
	events := s.arrivals()
	for _, e := range events {
		s.meet(e)
	}
	if n := s.passed + s.turned; n > 0 {
		t := thwart.Tally{Shift: s.id, At: s.lastPass.Add(lead.skewed), PassedBy: s.passed, TurnedAway: s.turned}
		b.write(thwart.KindTally, "", s.lastPass.Add(5*time.Second), lead, &t, s.r)
	}
	w.Truth.Met.PassedBy += s.passed
	w.Truth.Met.TurnedAway += s.turned
	to := p.to.Add(lead.skewed)
	body.To = &to
	body.Clicker = max(0, len(events)+s.r.IntN(3)-1)
	b.correct(thwart.KindShift, s.id, s.id, p.to.Add(time.Minute), lead, &body, "the shift is over", s.r)
}

// arrivals draws who comes while the shift is on: craft to launch by the true rate of each hour, craft that leave some hours
// later, and now and then a craft with a planted object.
func (s *shift) arrivals() []event {
	w, p, r := s.w, &s.plan, s.r
	var events []event
	habit := w.Truth.Habits.LeavingElse
	if w.knownInfested(w.Launches[p.launch].Water, p.from) {
		habit = w.Truth.Habits.Leaving
	}
	day := w.First.AddDate(0, 0, p.day)
	for h := range 24 {
		from, to := day.Add(hours(float64(h))), day.Add(hours(float64(h+1)))
		if from.Before(p.from) {
			from = p.from
		}
		if to.After(p.to) {
			to = p.to
		}
		span := to.Sub(from)
		if span <= 0 {
			continue
		}
		mean := w.Truth.Rate(p.launch, p.day, h) * span.Hours()
		n := poisson(r, mean)
		w.Truth.Met.Expected[p.launch] += mean
		w.Truth.Met.Came[p.launch] += n
		for range n {
			events = append(events, event{at: from.Add(time.Duration(r.Float64() * float64(span)))})
		}
		// Craft come out about five hours after they went in, those of the early morning too.
		if h >= 9 {
			for range poisson(r, habit*w.Truth.Rate(p.launch, p.day, h-5+boolInt(h < 10))*span.Hours()) {
				events = append(events, event{at: from.Add(time.Duration(r.Float64() * float64(span))), leaving: true})
			}
		}
	}
	if chance(r, 0.30) {
		events = append(events, event{at: p.from.Add(time.Duration(between(r, 0.1, 0.85) * float64(p.to.Sub(p.from)))), trial: true})
	}
	slices.SortStableFunc(events, func(a, b event) int { return a.at.Compare(b.at) })
	return events
}

func boolInt(b bool) int {
	if b {
		return 1
	}
	return 0
}

// meet is what happens to one craft at the ramp.
func (s *shift) meet(e event) {
	r, h := s.r, &s.w.Truth.Habits
	at := e.at.Truncate(time.Second)
	who := 0
	for i := range s.busy {
		if s.busy[i].Before(s.busy[who]) {
			who = i
		}
	}
	pass := func(counter *int) { *counter++; s.lastPass = at }
	if !e.trial && chance(r, h.MissedByCrew) {
		pass(&s.passed)
		return
	}
	start := at.Add(seconds(between(r, 5, 25)))
	if s.busy[who].After(start) {
		if wait := s.busy[who].Sub(at).Minutes(); !e.trial && wait > h.PatienceMin*r.ExpFloat64() {
			if chance(r, 0.6) {
				pass(&s.passed)
			} else {
				pass(&s.turned)
			}
			return
		}
		start = s.busy[who].Add(seconds(between(r, 5, 20)))
	}
	if start.Add(12 * time.Minute).After(s.plan.to) {
		pass(&s.passed)
		return
	}
	c := s.w.anyCraft(r)
	if !e.trial && !e.leaving && chance(r, s.w.Truth.Refusal[s.plan.launch]) {
		s.refused(c, who, start)
		return
	}
	n := s.journey(c, e, start)
	first := s.inspect(n, who, start, e.trial)
	other := 1 - who
	if len(s.busy) == 2 && !e.trial {
		s.lookAgain(n, first, s.plan.stewards[other], start)
	}
	if len(s.busy) == 2 && !e.trial && len(n.items) < 2 && s.busy[other].Before(start.Add(12*time.Minute)) && chance(r, 0.008) {
		again := start.Add(minutes(between(r, 3, 11))).Truncate(time.Second)
		if again.Before(s.busy[other]) {
			again = s.busy[other]
		}
		if again.Add(8 * time.Minute).Before(s.plan.to) {
			second := s.inspect(n, other, again, false)
			s.w.Truth.Met.Duplicates = append(s.w.Truth.Met.Duplicates, [2]string{first, second})
		}
	}
}

// trip is one craft as it stands on the ramp: where it was and what is aboard.
type trip struct {
	craft   craft
	leaving bool
	visits  []thwart.Visit // by true time
	next    string
	items   []Item
	stages  []stage
	plugIn  bool
	driveUp thwart.Answer
	damp    []*thwart.Place
}

// journey draws where a craft was, how long ago, and what it picked up.
func (s *shift) journey(c craft, e event, at time.Time) trip {
	r, w, h := s.r, s.w, &s.w.Truth.Habits
	here := w.Launches[s.plan.launch].Water
	n := trip{craft: c, leaving: e.leaving, driveUp: thwart.Yes}
	var from []int
	var days float64
	if e.leaving {
		out := at.Add(-minutes(between(r, 8, 25))).Truncate(time.Minute)
		n.visits = []thwart.Visit{{Water: w.Waters[here].ID, OutAt: &out, Stay: thwart.StayDay}}
		from = []int{here}
		if to := pick(r, w.Truth.Passages[here]); to >= 0 && chance(r, 0.8) {
			n.next = w.Waters[to].ID
		}
	} else {
		from, days = s.lastWaters(&n, here, at)
		n.next = w.Waters[here].ID
	}
	for k, i := range from {
		moored := n.visits[k].Stay == thwart.StayMoored
		for _, really := range w.Waters[i].really {
			p := rateOf(w.Truth.Carrying, really.Organism, moored)
			if k > 0 {
				p *= 0.5 // an earlier stay: some of it has been lost
			}
			if days < 100 && really.Since.Before(at) && chance(r, p) {
				s.load(&n, really.Organism, w.stages[really.Organism], days)
			}
		}
	}
	if !e.leaving && chance(r, h.UnknownWater) {
		n.visits = nil // it came from there, but nobody is told
	}
	if chance(r, h.NativePlant) {
		s.load(&n, "plant", stage{refdata.PlantsSeen, thwart.CarriedTangled, thwart.MatterPlant}, days)
	}
	if chance(r, h.Mud) {
		s.load(&n, "mud", stage{refdata.PlantsSeen, thwart.CarriedInMud, thwart.MatterMud}, days)
	}
	if chance(r, h.Water) {
		s.load(&n, "water", stage{refdata.WaterSeen, thwart.CarriedInWater, thwart.MatterWater}, days)
	}
	n.plugIn = chance(r, h.PlugIn)
	if chance(r, h.DriveUp) {
		n.driveUp = []thwart.Answer{thwart.No, thwart.Unknown}[r.IntN(2)]
	}
	if chance(r, h.DampSameDay*math.Exp(-h.DampPerDay*days)) {
		for range 1 + r.IntN(3) {
			p := c.round.spot(r, func(p *thwart.Place) bool { return (p.Cloth || p.Holds != thwart.HoldsNone) && !p.Hidden })
			if p != nil && !slices.Contains(n.damp, p) {
				n.damp = append(n.damp, p)
			}
		}
	}
	return n
}

// lastWaters draws the waters a craft comes from, by the true passages into this one, and when it left them.
func (s *shift) lastWaters(n *trip, here int, at time.Time) (from []int, days float64) {
	r, w, h := s.r, s.w, &s.w.Truth.Habits
	into := make([]float64, len(w.Waters))
	for i := range into {
		into[i] = w.Truth.Passages[i][here]
	}
	from = []int{pick(r, into)}
	switch {
	case chance(r, h.Stored):
		days = between(r, 160, 290)
	case from[0] == here:
		days = 0.4 + 5*r.ExpFloat64()
	default:
		days = 0.25 + 7*r.ExpFloat64()
	}
	if chance(r, h.SecondWater) {
		into[from[0]] = 0
		from = append(from, pick(r, into))
	}
	for k, i := range from {
		v := thwart.Visit{Water: w.Waters[i].ID, Stay: thwart.StayDay}
		out := at.Add(-hours(24 * (days + float64(k)*between(r, 1, 12)))).Truncate(30 * time.Minute)
		if days > 3 {
			out = time.Date(out.Year(), out.Month(), out.Day(), 17, 0, 0, 0, zone) // people remember the day, not the hour
		}
		if !chance(r, h.UnknownDate) {
			v.OutAt = &out
		}
		switch {
		case chance(r, h.StayUnknown):
			v.Stay = thwart.StayUnknown
		case chance(r, h.Moored):
			v.Stay = thwart.StayMoored
		}
		n.visits = append(n.visits, v)
	}
	return from, days
}

func rateOf(list []Carrying, organism string, moored bool) float64 {
	for _, c := range list {
		if c.Organism == organism && moored {
			return c.Moored
		} else if c.Organism == organism {
			return c.DayUse
		}
	}
	return 0
}

// load puts a thing at a place of the craft where it can ride; a craft without such a place stays without it.
func (s *shift) load(n *trip, what string, st stage, days float64) {
	p := n.craft.round.spot(s.r, func(p *thwart.Place) bool {
		if p.Hidden || p.ID == "gear.anything_else" {
			return false
		}
		if what == "water" {
			return p.Holds != thwart.HoldsNone && (p.Part == thwart.PartBilge || p.Part == thwart.PartWell)
		}
		return p.Takes(st.ride)
	})
	if p == nil {
		return
	}
	// Most of what is dry for a week is dead (invented; the engine asks for better evidence).
	alive := st.matter == thwart.MatterPlant && days < 4 || chance(s.r, math.Exp(-days/6))
	n.items = append(n.items, Item{What: what, Place: p.ID, Class: st.class, Alive: alive})
	n.stages = append(n.stages, st)
}

// inspect is one steward's look at a craft, its verdict and what follows. It gives the id of the encounter.
func (s *shift) inspect(n trip, who int, start time.Time, trial bool) string {
	r, w := s.r, s.w
	by := s.plan.stewards[who]
	full := n.craft.round.seconds
	took := full * by.skill.Pace * math.Exp(0.18*r.NormFloat64())
	talk := between(r, 25, 75)
	rushed := by.rushes && !trial && start.Month() >= time.August && full > 150 && chance(r, 0.12)
	if rushed {
		took, talk = between(r, 28, 36), between(r, 5, 9)
	}
	end := start.Add(seconds(took + talk))
	s.busy[who] = end.Add(seconds(between(r, 10, 40)))

	in := thwart.Inspection{
		Launch: w.Launches[s.plan.launch].ID, Direction: "launching", Steward: by.ID, Setup: n.craft.setup, NextWater: n.next,
		PlugsOut: thwart.Yes, DriveLowered: n.driveUp, OutOfRegion: thwart.No, StartedAt: start, EndedAt: &end,
		Others: &thwart.Check{Looked: thwart.Yes, Felt: thwart.Yes, Opened: thwart.Yes, Wet: thwart.WetDry, RanDry: thwart.Yes},
	}
	if n.leaving {
		in.Direction = "leaving"
	} else {
		in.Water = w.Waters[w.Launches[s.plan.launch].Water].ID
	}
	if n.plugIn && chance(r, by.skill.Finds[refdata.WaterSeen]) {
		in.PlugsOut = thwart.No
	}
	in.LastWaters = append([]thwart.Visit{}, n.visits...)
	for _, v := range n.visits {
		if w.Waters[w.index[v.Water]].Body.Outside {
			in.OutOfRegion = thwart.Yes
		}
	}
	if n.visits == nil {
		in.OutOfRegion = thwart.Unknown
	}
	for _, p := range n.damp {
		if !rushed && chance(r, 0.9) {
			setWet(&in, p.ID, thwart.WetDamp)
		}
	}
	if !rushed && chance(r, w.Truth.Habits.NotChecked) {
		if p := n.craft.round.spot(r, func(p *thwart.Place) bool { return p.Asks(thwart.TaskFeel) && !p.Hidden }); p != nil {
			k := checkAt(&in, p.ID)
			k.Felt, k.Reason = thwart.No, []string{"out of reach", "owner in a hurry", "too hot to touch", "covered by straps"}[r.IntN(4)]
		}
	}
	id := newID(start.Add(by.skewed), r)
	share := took / full
	items := slices.Clone(n.items)
	for i := range items {
		p := by.skill.Finds[items[i].Class]
		// Random search (Koopman 1956): the usual time finds p, twice the time leaves the square of what one leaves.
		items[i].Chance = round(1-math.Pow(1-p, math.Min(share, 1.5)), 4)
		items[i].Found = chance(r, items[i].Chance)
		if items[i].Found {
			s.writeDown(&in, &items[i], n.stages[i])
		}
	}
	if !rushed && chance(r, by.skill.FalseAlarm) {
		s.falseAlarm(&in, n.craft.round)
	}
	if len(items) > 0 {
		w.Truth.Met.Aboard = append(w.Truth.Met.Aboard, Aboard{Encounter: id, Steward: by.ID, Items: items})
	}
	if rushed {
		w.Truth.Met.Rushed = append(w.Truth.Met.Rushed, id)
	}
	e := thwart.Encounter{Shift: s.id, Inspection: in, Protocol: w.protocolRef(), Mark: n.craft.mark, HomeArea: n.craft.home}
	if trial {
		s.plant(&e, id, by, n.craft, end, share)
	}
	s.judge(&e, start)
	if !trial && chance(r, w.Truth.Habits.Override) {
		s.override(&e, by)
	}
	stored := onPhone(e, by.skewed)
	made := end.Add(seconds(between(r, 4, 30)))
	s.book.write(thwart.KindInspection, id, made, by, &stored, r)
	if e.Given() == thwart.Wash && s.plan.crew != nil && chance(r, w.Truth.Habits.WashTaken*math.Exp(-s.plan.kitKM/60)) {
		s.wash(id, &e, n.craft, end)
	}
	if !trial && chance(r, 0.0042) {
		s.correctLater(id, &e, start)
	}
	return id
}

// onPhone is the encounter with every time as the phone's clock had it. What the boater said is counted back from there too.
func onPhone(e thwart.Encounter, skew time.Duration) thwart.Encounter {
	if skew == 0 {
		return e
	}
	in := &e.Inspection
	in.StartedAt = in.StartedAt.Add(skew)
	if in.EndedAt != nil {
		end := in.EndedAt.Add(skew)
		in.EndedAt = &end
	}
	in.LastWaters = slices.Clone(in.LastWaters)
	for i := range in.LastWaters {
		if t := in.LastWaters[i].OutAt; t != nil {
			out := t.Add(skew)
			in.LastWaters[i].OutAt = &out
		}
	}
	return e
}

func checkAt(in *thwart.Inspection, place string) *thwart.Check {
	for i := range in.Checks {
		if in.Checks[i].Place == place {
			return &in.Checks[i]
		}
	}
	k := *in.Others
	k.Place = place
	in.Checks = append(in.Checks, k)
	return &in.Checks[len(in.Checks)-1]
}

func setWet(in *thwart.Inspection, place string, wet thwart.Wetness) { checkAt(in, place).Wet = wet }

// writeDown is how a steward records what she found: named as far as she can tell, taken off where that may be done.
func (s *shift) writeDown(in *thwart.Inspection, it *Item, st stage) {
	r := s.r
	f := thwart.Finding{Place: it.Place, Matter: st.matter, Vitality: thwart.VitalityNotAssessed, Removed: thwart.RemovedNone}
	f.Amount = []string{"1", "2-10", "11-100"}[pick(r, []float64{5, 4, 1})]
	if chance(r, s.w.Truth.Habits.RemovedHere) {
		f.Removed = thwart.RemovedAll
	}
	switch st.matter {
	case thwart.MatterWater:
		f.Amount, f.Vitality, f.VolumeL = "", "", round(math.Exp(between(r, -2, 2.2)), 1)
		setWet(in, it.Place, thwart.WetWater)
	case thwart.MatterMud:
		f.Amount, f.Vitality = "", ""
	case thwart.MatterPlant:
		f.Vitality = thwart.VitalityUncertain
		if it.Alive {
			f.Vitality = thwart.VitalityAlive
		}
		switch k := r.Float64(); {
		case it.What == "plant" && k < 0.4:
			f.Organism, f.Confidence = "other", "certain"
		case it.What != "plant" && k < 0.6:
			f.Organism, f.Confidence = it.What, []string{"certain", "likely"}[r.IntN(2)]
		}
	case thwart.MatterLoose:
		if chance(r, 0.7) {
			f.Organism, f.Confidence = it.What, "likely"
		}
	case thwart.MatterAttached:
		f.Removed = thwart.RemovedNone // it is left for the agency
		switch k := r.Float64(); {
		case k < 0.55:
			f.Organism, f.Confidence = "dreissenid", "likely"
		case k < 0.8:
			f.Organism, f.Confidence = it.What, "likely"
		}
		if !it.Alive && chance(r, 0.5) {
			f.Vitality = thwart.VitalityDead
		} else if it.Alive && chance(r, 0.5) {
			f.Vitality = thwart.VitalityAlive
		}
	}
	in.Findings = append(in.Findings, f)
}

// falseAlarm writes down something that is not there, or is not what it is taken for.
func (s *shift) falseAlarm(in *thwart.Inspection, cr *craftRound) {
	p := cr.spot(s.r, func(p *thwart.Place) bool { return !p.Hidden && p.Asks(thwart.TaskLook) })
	if p == nil {
		return
	}
	f := thwart.Finding{Place: p.ID, Amount: "1", Removed: thwart.RemovedAll, Note: "not sure what it is"}
	switch k := s.r.Float64(); {
	case k < 0.7:
		f.Matter, f.Confidence = thwart.MatterPlant, "unsure"
	case k < 0.85:
		f.Matter, f.Confidence, f.Organism = thwart.MatterLoose, "likely", "banded_mystery_snail"
	default:
		f.Matter, f.Confidence, f.Removed, f.Vitality = thwart.MatterAttached, "unsure", thwart.RemovedNone, thwart.VitalityNotAssessed
	}
	in.Findings = append(in.Findings, f)
}

// judge asks the real engine, with what the programme knew at the time.
func (s *shift) judge(e *thwart.Encounter, at time.Time) {
	w := s.w
	cs := thwart.Case{Inspection: e.Inspection, Protocol: &w.expanded}
	for _, v := range e.Inspection.LastWaters {
		when := at
		if v.OutAt != nil {
			when = *v.OutAt
		}
		if known := w.Waters[w.index[v.Water]].Known(at); !slices.ContainsFunc(cs.Waters, func(x thwart.Water) bool { return x.ID == v.Water }) {
			cs.Waters = append(cs.Waters, known.At(v.Water, when))
		}
	}
	if s.plan.kit >= 0 {
		cs.Unit = w.unitNow(s.plan.kit, at)
	}
	v, err := advice.Judge(cs)
	if err != nil {
		panic(fmt.Sprintf("demo: verdict: %v", err))
	}
	e.Verdict = &v
}

// override is a departure from the verdict: mostly to the stricter side, a hold never made milder by one alone.
func (s *shift) override(e *thwart.Encounter, by *Worker) {
	o := &thwart.Override{By: by.ID}
	switch e.Verdict.Outcome {
	case thwart.Launch:
		o.Outcome, o.Why = thwart.FixHere, "owner will empty the cooler first"
	case thwart.FixHere:
		o.Outcome, o.Why = thwart.Launch, "dried with a towel and looked at again on the spot"
	case thwart.Wash, thwart.DryOut:
		o.Outcome, o.Why = thwart.Hold, "not sure what was on the hull; lead called"
	default:
		o.Outcome, o.Why, o.Second = thwart.Wash, "agency released it to the wash by telephone", s.w.Manager.ID
	}
	e.Override = o
}

func (s *shift) refused(c craft, who int, start time.Time) {
	by := s.plan.stewards[who]
	end := start.Add(seconds(between(s.r, 25, 110)))
	s.busy[who] = end
	e := thwart.Encounter{Shift: s.id, Protocol: s.w.protocolRef()}
	e.Inspection = thwart.Inspection{
		Launch: s.w.Launches[s.plan.launch].ID, Water: s.w.Waters[s.w.Launches[s.plan.launch].Water].ID, Direction: "launching", Steward: by.ID,
		StartedAt: start, EndedAt: &end, Refused: true, LastWaters: []thwart.Visit{},
		Setup: thwart.Setup{Class: c.setup.Class, Drives: []thwart.Drive{thwart.DriveUnknown}, Spaces: []thwart.Space{}, Gear: []string{}},
		Note:  []string{"no time", "looked at elsewhere, by his word", "gave no reason", "does not want it touched"}[s.r.IntN(4)],
	}
	stored := onPhone(e, by.skewed)
	s.book.write(thwart.KindInspection, newID(start.Add(by.skewed), s.r), end.Add(3*time.Second), by, &stored, s.r)
}

// plant hides a numbered object on the craft of a helper and writes down whether it was found. The craft is marked as a test.
func (s *shift) plant(e *thwart.Encounter, encounter string, by *Worker, c craft, end time.Time, share float64) {
	r, w := s.r, s.w
	e.Test, e.Mark = true, nil
	class, ride := refdata.PlantsSeen, thwart.CarriedTangled
	if chance(r, 0.5) {
		class, ride = refdata.SmallFelt, thwart.CarriedAttached
	}
	p := c.round.spot(r, func(p *thwart.Place) bool { return !p.Hidden && p.Takes(ride) && p.ID != "gear.anything_else" })
	if p == nil {
		p = &c.round.places[0]
	}
	found := chance(r, 1-math.Pow(1-by.skill.Finds[class], math.Min(share, 1.5)))
	back := end.Add(minutes(between(r, 1, 6)))
	t := thwart.Trial{
		Object: fmt.Sprintf("T-%02d", 1+r.IntN(40)), Like: string(class), Place: p.ID, Encounter: encounter, Steward: by.ID,
		PlantedBy: w.Technicians[r.IntN(len(w.Technicians))].ID, PlantedAt: e.Inspection.StartedAt.Add(-minutes(between(r, 4, 20))),
		Found: yesNo(found), RetrievedAt: &back, Seconds: round(p.Seconds*share, 1),
	}
	if found {
		e.Inspection.Findings = append(e.Inspection.Findings, thwart.Finding{Place: p.ID, Matter: thwart.MatterOther, Removed: thwart.RemovedAll, Note: "numbered object"})
	}
	s.book.write(thwart.KindTrial, "", back.Add(time.Minute), &w.Manager, &t, r)
}

// correctLater has the office put a record right within the week: another water, another length, or a record made twice.
func (s *shift) correctLater(id string, e *thwart.Encounter, start time.Time) {
	r, w := s.r, s.w
	at := start.Add(hours(between(r, 20, 130))).Truncate(time.Second)
	if k := r.Float64(); k < 0.15 {
		s.book.correct(thwart.KindInspection, id, id, at, &w.Manager, nil, "practice record, made while trying the phone", r)
		w.Truth.Met.Removed = append(w.Truth.Met.Removed, id)
		return
	}
	fixed := onPhone(*e, s.skewOf(e.Inspection.Steward))
	why := "length was typed in feet"
	fixed.Inspection.Setup.LengthM = round(e.Inspection.Setup.LengthM*between(r, 0.9, 1.1), 1)
	if len(e.Inspection.LastWaters) == 1 && !fixed.Inspection.Refused && chance(r, 0.6) {
		fixed.Inspection.LastWaters = slices.Clone(fixed.Inspection.LastWaters)
		fixed.Inspection.LastWaters[0].Water = w.Waters[r.IntN(watersInside)].ID
		s.judge(&fixed, fixed.Inspection.StartedAt)
		why = "owner rang: it was another lake"
	}
	s.book.correct(thwart.KindInspection, id, id, at, &w.Manager, &fixed, why, r)
	w.Truth.Met.Corrected = append(w.Truth.Met.Corrected, id)
}

func (s *shift) skewOf(steward string) time.Duration {
	for _, who := range s.plan.stewards {
		if who.ID == steward {
			return who.skewed
		}
	}
	return 0
}
