package flows

import (
	"math"
	"slices"

	"thwart"
	"thwart/advice"
	chain "thwart/engine/flows"
	"thwart/engine/num"
	"thwart/engine/risk"
	"thwart/refdata"
	"thwart/season"
)

// suspectChance is the chance that an organism lives in a water where it is suspected; an assumption.
const suspectChance = 0.5

// Infested is the chance that an organism lives in a water by its status. Waters where nobody looked are not counted as
// infested here, or they would drown what is known: their passages are shown apart, and they are not safe.
func Infested(s thwart.WaterStatus) float64 {
	switch s {
	case thwart.StatusInfested, thwart.StatusPositive:
		return 1
	case thwart.StatusSuspect:
		return suspectChance
	}
	return 0
}

// HeldBy gives the chance that an organism lives in a water, by the water's id, for all waters where there is any.
func (m *Model) HeldBy(organism string) map[string]float64 {
	out := map[string]float64{}
	at := m.lastMoment()
	for i, w := range m.waters {
		if p := Infested(m.book.WaterAt(w, at).Of(organism)); p > 0 {
			out[m.id(i)] = p
		}
	}
	return out
}

func notLooked(s thwart.WaterStatus) bool {
	return s == thwart.StatusUnknown || s == thwart.StatusNotLooked
}

// lastMoment is the end of the season.
func (m *Model) lastMoment() season.Moment {
	return season.Moment{MS: (m.first + season.Day(m.days)).Date().UnixMilli(), Set: true}
}

// organisms lists those that any water is known or suspected to hold.
func (m *Model) organisms() []string {
	var out []string
	at := m.lastMoment()
	for i := range m.book.Waters {
		for o, s := range m.book.WaterAt(int32(i), at).Status {
			if Infested(s) > 0 && !slices.Contains(out, o) {
				out = append(out, o)
			}
		}
	}
	slices.Sort(out)
	return out
}

// FindEvidence is what the programme's looks found of one organism.
type FindEvidence struct {
	Looked     int `json:"looked" doc:"craft looked over that came from a water where it is known to live"`
	Found      int `json:"found" doc:"of these, with a find that may be it"`
	LookedElse int `json:"lookedElse" doc:"craft looked over from waters where it was looked for and not found, or is not known to live"`
	FoundElse  int `json:"foundElse" doc:"of these, with a find that may be it: what is found on any craft"`
	Moored     int `json:"moored" doc:"of those looked over from where it lives, with more than a day in the water or a stay nobody told"`
}

// evidence counts finds by whether the organism lives in the water a craft left, as it was known when it left.
func (m *Model) evidence(organism string) FindEvidence {
	var e FindEvidence
	// Statuses change on few days, craft leave on many: the status is read once per water and day.
	type key struct {
		water int32
		day   season.Day
	}
	known := map[key]thwart.WaterStatus{}
	for i := range m.met {
		x := &m.met[i]
		from := x.From()
		if !x.Counts() || x.Refused || from == season.None {
			continue
		}
		left := x.Visits[0].Out
		if !left.Set {
			left = x.At
		}
		k := key{from, left.Day()}
		status, ok := known[k]
		if !ok {
			status = m.book.WaterAt(from, left).Of(organism)
			known[k] = status
		}
		found := slices.ContainsFunc(x.Findings, func(f season.Finding) bool {
			return advice.MayBe(thwart.Finding{Organism: f.Organism, Matter: f.Matter, Stage: f.Stage}, organism)
		})
		switch Infested(status) {
		case 1:
			e.Looked++
			e.Found += count(found)
			e.Moored += count(x.Visits[0].Stay != thwart.StayDay)
		case 0:
			e.LookedElse++
			e.FoundElse += count(found)
		}
	}
	return e
}

func count(b bool) int {
	if b {
		return 1
	}
	return 0
}

// carrying is the chance of carrying: published for day use and for moored craft in the mixture that was met, then updated.
func (m *Model) carrying(organism string, e FindEvidence) (published, after, find risk.Beta, basis string, assumed bool, err error) {
	day, basis, assumed, ok := advice.CarryingChance(organism, refdata.DayUse)
	if !ok {
		day, basis, assumed = risk.Beta{A: 1, B: 1}, "not known: anything from none to all", true
	}
	published = day
	if moored, _, _, ok := advice.CarryingChance(organism, refdata.Moored); ok && e.Looked > 0 {
		share := float64(e.Moored) / float64(e.Looked)
		mean := (1-share)*day.Mean() + share*moored.Mean()
		weight := day.A + day.B
		published = risk.Beta{A: mean * weight, B: (1 - mean) * weight}
	}
	find, _, ok = advice.FindingChance(organism, m.team)
	if !ok {
		find = risk.Beta{A: 1, B: 1}
	}
	after, err = chain.CarryAfter(published, find, chain.Evidence{Found: e.Found, Looked: e.Looked, FoundElse: e.FoundElse, LookedElse: e.LookedElse})
	return published, after, find, basis, assumed, err
}

// aliveOnArrival averages the share alive over how long the craft met had been out of their last water, of those that came
// from another one.
func (m *Model) aliveOnArrival(organism string) (lo, hi float64, craft int) {
	type bounds struct{ lo, hi float64 }
	byHour := map[int]bounds{}
	for i := range m.met {
		e := &m.met[i]
		if !e.Counts() || !e.Arrives() || e.From() == season.None || e.From() == e.Water || !e.Visits[0].Out.Set {
			continue
		}
		h := int(math.Max(0, e.At.HoursSince(e.Visits[0].Out)))
		b, ok := byHour[h]
		if !ok {
			b.lo, b.hi = advice.AliveOnTheWay(organism, float64(h), m.opt.Air)
			byHour[h] = b
		}
		lo += b.lo
		hi += b.hi
		craft++
	}
	if craft == 0 {
		return 0, 1, 0
	}
	return lo / float64(craft), hi / float64(craft), craft
}

func betaInterval(b risk.Beta) num.Interval {
	lo, err1 := num.BetaQuantile(0.025, b.A, b.B)
	hi, err2 := num.BetaQuantile(0.975, b.A, b.B)
	if err1 != nil || err2 != nil {
		return num.Interval{Lo: 0, Mid: b.Mean(), Hi: 1}
	}
	return num.Interval{Lo: lo, Mid: b.Mean(), Hi: hi}
}
