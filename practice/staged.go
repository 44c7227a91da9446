package practice

import (
	"fmt"
	"math/rand/v2"
	"slices"

	"thwart"
	"thwart/advice"
	"thwart/engine/num"
	"thwart/refdata"
)

// Target is one thing put on a staged craft.
type Target struct {
	Place string                 `json:"place"`
	What  string                 `json:"what"` // plant, mussel, water_flea, water
	Class refdata.DetectionClass `json:"class"`
}

// Staged is a craft staged for a field trial.
type Staged struct {
	Setup   thwart.Setup `json:"setup"`
	Targets []Target     `json:"targets"`
}

// Stage stages an open fishing boat as Angell et al. 2024 staged theirs: plants in six places, adult mussels in two, water
// fleas in one, water left in one. The paper's abstract does not say which places; the ones of most weight in the library
// are taken, each with one target.
func Stage() (Staged, error) {
	s := Staged{Setup: complete(thwart.Setup{Class: "open_aluminium_fishing"})}
	places, err := advice.Places(s.Setup)
	if err != nil {
		return Staged{}, err
	}
	slices.SortStableFunc(places, func(a, b thwart.Place) int { return int(100 * (b.Weight - a.Weight)) })
	put := func(n int, what string, class refdata.DetectionClass, fits func(p *thwart.Place) bool) {
		for i := range places {
			p := &places[i]
			taken := slices.ContainsFunc(s.Targets, func(t Target) bool { return t.Place == p.ID })
			if n > 0 && !p.Hidden && !taken && fits(p) {
				s.Targets = append(s.Targets, Target{p.ID, what, class})
				n--
			}
		}
		if n > 0 && err == nil {
			err = fmt.Errorf("the staged craft has no place left for %s", what)
		}
	}
	put(1, "water", refdata.WaterSeen, func(p *thwart.Place) bool { return p.Part == thwart.PartWell })
	put(1, "water_flea", stageSeen("spiny_water_flea").Detection, func(p *thwart.Place) bool { return p.Part == thwart.PartGear && p.Takes(thwart.CarriedTangled) })
	put(2, "mussel", stageSeen("zebra_mussel").Detection, func(p *thwart.Place) bool { return p.Takes(thwart.CarriedAttached) })
	put(6, "plant", refdata.PlantsSeen, func(p *thwart.Place) bool { return p.Takes(thwart.CarriedTangled) })
	return s, err
}

// Expected is the mean share of the targets that a kind of person finds, by the library's detection figures.
func (s *Staged) Expected(who refdata.Looker) float64 {
	var sum float64
	for _, t := range s.Targets {
		p, _ := refdata.DetectionPriorFor(t.Class, who)
		sum += p.Alpha / (p.Alpha + p.Beta)
	}
	return sum / float64(len(s.Targets))
}

// Inspect has one person look the craft over in full and gives how many targets are found. Each person has chances of her
// own, drawn from the library's figure for her kind.
func (s *Staged) Inspect(r *rand.Rand, who refdata.Looker) (found int) {
	chances := map[refdata.DetectionClass]float64{}
	for _, t := range s.Targets {
		p, ok := chances[t.Class]
		if !ok {
			prior, _ := refdata.DetectionPriorFor(t.Class, who)
			p = num.Beta(r, prior.Alpha, prior.Beta)
			chances[t.Class] = p
		}
		if r.Float64() < p {
			found++
		}
	}
	return found
}

// Repeat stages a trial with so many people again and again and gives the mean effectiveness over people: the middle and the
// 2.5 % and 97.5 % points over the repeats.
func (s *Staged) Repeat(seed uint64, people, repeats int, who refdata.Looker) num.Interval {
	r := num.Stream(seed, "staged "+string(who))
	means := make([]float64, repeats)
	for k := range means {
		for range people {
			means[k] += float64(s.Inspect(r, who)) / float64(len(s.Targets)*people)
		}
	}
	slices.Sort(means)
	return num.Interval{Lo: num.Quantile(means, 0.025), Mid: num.Quantile(means, 0.5), Hi: num.Quantile(means, 0.975)}
}
