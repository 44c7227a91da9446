package demo

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strconv"
	"time"

	"thwart"
	"thwart/engine/num"
	"thwart/practice"
	"thwart/refdata"
)

// The training side of the season. Everything here has luck of its own and is written by the office, so that the records of
// the ramps are the same with it and without.

const (
	courseObjects = 10 // of each kind, planted for everybody who was at the course
	doubleChecks  = 0.06
)

// writeTraining writes the curricula, the April course with its planted objects and certificates, and the season's practice.
func (w *World) writeTraining(b *book) {
	r := num.Stream(w.Seed, "training")
	m := &w.Manager
	at := time.Date(w.Year, time.April, 13, 9, 0, 0, 0, zone)
	inspecting := thwart.Curriculum{
		Name: "Inspecting (demo)", For: "inspect", Months: 12, Words: "Before the first shift alone.",
		Parts: []thwart.CurriculumPart{
			{Name: "field guide", What: thwart.PartReading, Pages: []string{"Where to look", "What it may be", "The five verdicts"}},
			{Name: "practice craft", What: thwart.PartDrills, Drills: 3, Difficulty: "2", Score: 70, Words: "Three in a row."},
			{Name: "under a trainer's eyes", What: thwart.PartObserved, Boats: 5},
		},
	}
	washing := thwart.Curriculum{
		Name: "Washing (demo)", For: "wash", Months: 12,
		Parts: []thwart.CurriculumPart{
			{Name: "hot water", What: thwart.PartReading, Pages: []string{"Heat and contact time", "Scalds, pressure, exhaust"}},
			{Name: "washes under a trainer's eyes", What: thwart.PartObserved, Boats: 3, Months: 12},
		},
	}
	course := b.write(thwart.KindCurriculum, "", at, m, &inspecting, r)
	wash := b.write(thwart.KindCurriculum, "", at.Add(time.Minute), m, &washing, r)
	for i := range w.Stewards {
		if i%5 != 4 { // the others came after the course
			w.writeCourse(b, &w.Stewards[i], i, course, r)
		}
		w.writePractice(b, &w.Stewards[i], i)
	}
	for i := range w.Technicians {
		w.certify(b, &w.Technicians[i], wash, "wash", "", time.Date(w.Year, time.April, 24, 16, 0, 0, 0, zone), 12, r)
	}
}

// writeCourse is one person's two days: objects planted on training craft, and what was certified.
func (w *World) writeCourse(b *book, who *Worker, i int, course string, r *rand.Rand) {
	day := time.Date(w.Year, time.April, 20+i%3, 9, 0, 0, 0, zone)
	setup := thwart.Setup{Class: "open_aluminium_fishing", Trailer: thwart.TrailerBunk}
	training := w.roundOf(&setup)
	n := 0
	for _, kind := range []struct {
		class refdata.DetectionClass
		ride  thwart.Carriage
	}{{refdata.PlantsSeen, thwart.CarriedTangled}, {refdata.SmallFelt, thwart.CarriedAttached}} {
		for range courseObjects {
			p := training.spot(r, func(p *thwart.Place) bool { return !p.Hidden && p.Takes(kind.ride) && p.ID != "gear.anything_else" })
			share := who.skill.Pace * math.Exp(0.18*r.NormFloat64())
			found := chance(r, 1-math.Pow(1-who.skill.Finds[kind.class], math.Min(share, 1.5)))
			planted := day.Add(minutes(20 * float64(n)))
			back := planted.Add(minutes(between(r, 12, 18)))
			t := thwart.Trial{
				Object: fmt.Sprintf("T-%02d", 1+r.IntN(40)), Like: string(kind.class), Place: p.ID, Steward: who.ID, PlantedBy: w.Technicians[i%len(w.Technicians)].ID,
				PlantedAt: planted, Found: yesNo(found), RetrievedAt: &back, Seconds: round(p.Seconds*share, 1),
			}
			b.write(thwart.KindTrial, "", back.Add(time.Minute), &w.Manager, &t, r)
			n++
		}
	}
	end := time.Date(w.Year, time.April, 24, 16, 0, 0, 0, zone).Add(time.Duration(i) * time.Minute)
	for _, part := range []string{"field guide", "under a trainer's eyes"} {
		w.certify(b, who, course, "inspect", part, end, 12, r)
	}
	months := 12
	if i%6 == 1 {
		months = 4 + i%2 // a seasonal certificate that lapses in August or September
	}
	if i%7 != 3 { // some have not done their practice craft
		w.certify(b, who, course, "inspect", "", end.Add(time.Hour), months, r)
	}
}

func (w *World) certify(b *book, who *Worker, course, purpose, part string, at time.Time, months int, r *rand.Rand) {
	from := time.Date(at.Year(), at.Month(), at.Day(), 0, 0, 0, 0, zone)
	c := thwart.Certified{
		Person: who.ID, Curriculum: course, Part: part,
		Certificate: thwart.Certificate{For: purpose, From: from, Expires: from.AddDate(0, months, 0), By: w.Manager.Body.Name},
	}
	b.write(thwart.KindCertificate, "", at, &w.Manager, &c, r)
}

// practiceClasses are the craft that drills are made of.
var practiceClasses = []string{"open_aluminium_fishing", "runabout", "bass_boat", "canoe_kayak"}

// writePractice is one person's practice craft over the season: made by the product's own generator, walked by somebody with
// her true skill, and scored by the product. They are done in the office, so they carry no number of a phone.
func (w *World) writePractice(b *book, who *Worker, i int) {
	r := num.Stream(w.Seed, "practice "+strconv.Itoa(i))
	desk := *who
	desk.Device, desk.skewed = "", 0
	var last time.Time
	var weak []practice.Weak
	at := time.Date(w.Year, time.April, 21, 17, 0, 0, 0, zone).Add(hours(between(r, 0, 40)))
	for n := 0; at.Before(w.Last); n++ {
		gap := 0.0
		if n > 0 {
			gap = at.Sub(last).Hours() / 24
		}
		seed := r.Uint64() >> 11
		// A smaller season has less practice, down to a fifth. The draw is made either way, so the days stay the same.
		keep := r.Float64() < max(w.Scale, 0.2)
		next := at.Add(hours(24 * (4 + 16*r.Float64()))).Truncate(time.Minute)
		if keep {
			weak = w.practise(b, &desk, n, seed, gap, at.Truncate(time.Minute), weak)
			last = at
		}
		at = next
	}
}

// practise is one practice craft. It gives what is now known of where she misses.
func (w *World) practise(b *book, who *Worker, n int, seed uint64, gap float64, at time.Time, weak []practice.Weak) []practice.Weak {
	r := num.Stream(w.Seed, fmt.Sprintf("practice %s %d", who.ID, n))
	order := practice.Order{
		Seed: seed, Setup: thwart.Setup{Class: practiceClasses[n%len(practiceClasses)]}, Difficulty: 1 + min(3, n/3), Protocol: &w.expanded, At: at, Weak: weak,
	}
	d, err := practice.Make(order)
	if err != nil {
		panic(fmt.Sprintf("demo: practice: %v", err))
	}
	fade := w.Truth.Screen
	kept := fade.Floor + (1-fade.Floor)*math.Exp2(-gap/fade.HalfLifeDays)
	player := practice.Player{Finds: map[string]float64{}, Cries: 0.12, Skips: 0.02, Pace: who.skill.Pace * 0.5}
	for class, p := range who.skill.Finds {
		player.Finds[string(class)] = p * kept
	}
	turn, err := d.Play(r, player)
	if err != nil {
		panic(fmt.Sprintf("demo: practice: %v", err))
	}
	var took float64
	for i := range turn.Walk {
		turn.Walk[i].Seconds = round(turn.Walk[i].Seconds, 1)
		took += turn.Walk[i].Seconds
	}
	s, err := d.Score(turn)
	if err != nil {
		panic(fmt.Sprintf("demo: practice: %v", err))
	}
	turn.Outcome = s.Verdict.FromRecord // she judges what she wrote down, rightly for the most part
	if chance(r, 0.1) {
		turn.Outcome = thwart.Outcomes[r.IntN(len(thwart.Outcomes))]
	}
	if s, err = d.Score(turn); err != nil {
		panic(fmt.Sprintf("demo: practice: %v", err))
	}
	rec := d.Record(&turn, &s, nil, who.ID, at, at.Add(seconds(took)))
	b.later(thwart.KindDrill, at.Add(seconds(took+5)), who, &rec, r)
	for _, x := range s.Weak {
		weak = practice.AddWeak(weak, x)
	}
	return weak
}

// later adds a first entry that waits for its day.
func (b *book) later(kind thwart.Kind, at time.Time, by *Worker, body thwart.Body, r *rand.Rand) {
	id := newID(at, r)
	b.pending = append(b.pending, draft{b.w.entry(kind, id, id, at, by, body), by, at})
}

// lookAgain is a planned double check: the second steward, who does not know what the first found, looks before anything is
// taken off.
func (s *shift) lookAgain(n trip, encounter string, by *Worker, start time.Time) {
	r := num.Stream(s.w.Seed, "again "+encounter)
	if !chance(r, doubleChecks) {
		return
	}
	look := thwart.SecondLook{Encounter: encounter, Person: by.ID, At: start.Add(minutes(4)), Blind: thwart.Yes}
	for i, it := range n.items {
		found := chance(r, by.skill.Finds[it.Class])
		row := thwart.SecondPlace{Place: it.Place, Found: yesNo(found)}
		if found {
			row.Like = string(n.stages[i].class)
		}
		look.Places = append(look.Places, row)
	}
	for range 3 {
		p := n.craft.round.spot(r, func(p *thwart.Place) bool {
			return !p.Hidden && !hasPlace(look.Places, p.ID)
		})
		if p != nil {
			look.Places = append(look.Places, thwart.SecondPlace{Place: p.ID, Found: thwart.No})
		}
	}
	desk := *by
	desk.Device, desk.skewed = "", 0
	s.book.write(thwart.KindSecondLook, "", start.Add(minutes(40)), &desk, &look, r)
}

func hasPlace(list []thwart.SecondPlace, place string) bool {
	for i := range list {
		if list[i].Place == place {
			return true
		}
	}
	return false
}
