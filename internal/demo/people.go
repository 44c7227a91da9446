package demo

import (
	"fmt"
	"math"
	"time"

	"thwart"
	"thwart/engine/num"
	"thwart/refdata"
)

// Worker is somebody who works for the programme.
type Worker struct {
	ID     string
	Device string // empty for people of the office
	Body   thwart.Person
	skill  TrueSkill
	skewed time.Duration // by how much the phone's clock runs ahead
	rushes bool          // signs off rounds nobody could walk in the time, from August on
	seq    int64
}

// TrueSkill is what a person really finds: the chance that a full look finds a thing that is there, by kind of thing.
type TrueSkill struct {
	Person string                             `json:"person"`
	Finds  map[refdata.DetectionClass]float64 `json:"finds"`
	// Pace is the time taken for a round, over the usual time.
	Pace float64 `json:"pace"`
	// FalseAlarm is the chance, per inspection, of writing down a thing that is not there.
	FalseAlarm float64 `json:"falseAlarm"`
}

// skillWeight is how alike people are: true skills are drawn from Beta distributions with the published means (the library's
// detection priors for stewards) and this weight in trials (invented: a spread of about 0.1 around 0.7).
const skillWeight = 18.0

// trainedClasses are the kinds of thing that skill bears on. What hides in water or mud is no matter of skill.
var trainedClasses = []refdata.DetectionClass{refdata.PlantsSeen, refdata.SmallFelt, refdata.WaterSeen}

func (w *World) hire() {
	r := num.Stream(w.Seed, "people")
	n := 0
	add := func(name, what string, role thwart.Role, phone bool) Worker {
		at := w.Opened.Add(2*time.Hour + time.Duration(n)*time.Minute)
		n++
		p := Worker{ID: newID(at, r), Body: thwart.Person{Name: fmt.Sprintf("%s (demo %s)", name, what), Roles: []thwart.Role{role}}}
		if phone {
			p.Device = newID(at.Add(24*time.Hour), r)
		}
		certificate := func(for_ string, days int) {
			from := time.Date(w.Year, time.April, 14, 0, 0, 0, 0, zone).AddDate(0, 0, -days)
			p.Body.Certificates = append(p.Body.Certificates, thwart.Certificate{
				For: for_, From: from, Expires: from.AddDate(1, 0, 0), By: "Withy Lakes course (demo)",
			})
		}
		if role == thwart.RoleSteward || role == thwart.RoleTechnician {
			certificate("inspect", r.IntN(12)+map[bool]int{true: 220, false: 0}[n%7 == 0])
		}
		if role == thwart.RoleTechnician {
			certificate("wash", r.IntN(12))
		}
		p.skill = TrueSkill{Person: p.ID, Finds: map[refdata.DetectionClass]float64{}, Pace: math.Exp(0.16 * r.NormFloat64()), FalseAlarm: 0.004 * math.Exp(0.5*r.NormFloat64())}
		for _, c := range trainedClasses {
			prior, _ := refdata.DetectionPriorFor(c, refdata.Steward)
			mean := prior.Alpha / (prior.Alpha + prior.Beta)
			p.skill.Finds[c] = round(num.Beta(r, skillWeight*mean, skillWeight*(1-mean)), 4)
		}
		p.skill.Pace, p.skill.FalseAlarm = round(p.skill.Pace, 3), round(p.skill.FalseAlarm, 5)
		return p
	}
	w.Manager = add("Marit", "manager", thwart.RoleManager, false)
	w.Biologist = add("Solvei", "biologist", thwart.RoleAgency, false)
	for _, name := range firstNames {
		w.Stewards = append(w.Stewards, add(name, "steward", thwart.RoleSteward, true))
	}
	for _, name := range technicianNames {
		w.Technicians = append(w.Technicians, add(name, "technician", thwart.RoleTechnician, true))
	}
	// Three phones whose clocks are off, one of them by a slipped time zone.
	for k, skew := range []time.Duration{7*time.Minute + 30*time.Second, -200 * time.Second, 61 * time.Minute} {
		w.Stewards[[]int{5, 12, 19}[k]].skewed = skew
	}
	w.Stewards[14].rushes = true
	w.Truth.ClockSkewMS = map[string]int64{}
	for i := range w.Stewards {
		s := &w.Stewards[i]
		w.Truth.Stewards = append(w.Truth.Stewards, s.skill)
		if s.skewed != 0 {
			w.Truth.ClockSkewMS[s.Device] = s.skewed.Milliseconds()
		}
	}
}
