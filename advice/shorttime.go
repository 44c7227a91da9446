package advice

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"thwart"
	"thwart/engine/search"
	"thwart/refdata"
	"thwart/tongue"
)

// TimePlan says where to spend too little time, and what that gives up.
type TimePlan struct {
	BudgetS float64     `json:"budgetS"`
	FullS   float64     `json:"fullS"` // what the full round's looking takes
	Spots   []TimedSpot `json:"spots"` // in the order of the round's list
	// Detection is the chance that the short round finds what is aboard, against the full round's FullDetection, given that
	// something is aboard at one place that looking can find. What hides in water or mud no look finds, however long.
	Detection     float64  `json:"detection"`
	FullDetection float64  `json:"fullDetection"`
	Skipped       []string `json:"skipped"` // places that get no time: they do not count as clean
	Notes         []string `json:"notes"`
}

// TimedSpot is the time for one place.
type TimedSpot struct {
	Place   string  `json:"place"`
	Name    string  `json:"name"`
	Seconds float64 `json:"seconds"`
	FullS   float64 `json:"fullS"`
	GivenUp float64 `json:"givenUp"` // chance of finding given up here, against the full round
}

// floorS is the least time a mandatory place gets: long enough to put a hand on it (assumption).
const floorS = 2.0

// ShortOfTime shares a budget of looking seconds over the places of a craft so that the chance of finding what is aboard
// is as large as it can be (Koopman 1956; Stone 1975), for the organisms its waters put at risk. Places where water has to
// run out and the wells, drives and compartments that fail most often keep a floor of time.
//
// A short round is not a round: a place that gets no time counts as not looked at, and the plan lists it. The plan is best
// for the assumed places of carrying; where those are wrong, another split would find more.
func ShortOfTime(cs thwart.Case, budgetS float64) (TimePlan, error) {
	s, err := situationOf(&cs)
	if err != nil {
		return TimePlan{}, err
	}
	if !(budgetS > 0 && budgetS <= 4*3600) {
		return TimePlan{}, thwart.FieldErrors{{Field: "seconds", Value: fmt.Sprint(budgetS), Accepted: "more than 0 and at most 14400 s"}}
	}
	spots, index := s.searchPlaces()
	if len(spots) == 0 {
		return TimePlan{}, errors.New(tongue.Say("this craft has no place that a look can settle"))
	}
	t := TimePlan{BudgetS: budgetS}
	for i := range spots {
		t.FullS += spots[i].FullS
	}
	plan, err := search.AllocateUpToFull(spots, math.Min(budgetS, t.FullS))
	var short *search.TooShort
	if errors.As(err, &short) {
		return TimePlan{}, thwart.FieldErrors{{
			Field: "seconds", Value: fmt.Sprint(budgetS),
			Accepted: tongue.Say("at least {least} s: every place that is never left out needs {floor} s", tongue.Short(math.Ceil(short.FloorsS)), tongue.Short(floorS)),
		}}
	}
	if err != nil {
		return TimePlan{}, err
	}
	t.Detection, t.FullDetection = plan.Detection, plan.FullDetection
	for i := range spots {
		p := &s.places[index[i]]
		t.Spots = append(t.Spots, TimedSpot{Place: p.ID, Name: p.Name, Seconds: plan.Seconds[i], FullS: spots[i].FullS, GivenUp: plan.GivenUp[i]})
		if plan.Seconds[i] == 0 {
			t.Skipped = append(t.Skipped, p.ID)
		}
	}
	for i := range s.places {
		if s.places[i].Hidden {
			t.Notes = append(t.Notes, tongue.Say("{place} cannot be seen into: no looking time helps, and it counts as wet.", tongue.Capital(s.places[i].Name)))
		}
	}
	t.Notes = append(t.Notes, tongue.Say("Places without time count as not looked at, so the verdict is the stricter for it."))
	return t, nil
}

// searchPlaces turns places into the search's terms: how likely something rides there, and how fast looking finds it.
func (s *situation) searchPlaces() (spots []search.Place, index []int) {
	organisms := s.history.organisms
	if len(organisms) == 0 {
		organisms = organismIDs()
	}
	for i := range s.places {
		p := &s.places[i]
		if p.Hidden || p.Seconds <= 0 {
			continue
		}
		var prior, rate float64
		for _, o := range organisms {
			shares, _ := refdata.CarryingSharesFor(o)
			stages := stagesOf(o)
			for k := range stages {
				st := &stages[k]
				if st.Detection == refdata.HiddenInWater || st.Detection == refdata.HiddenInMud {
					continue
				}
				ride := rideWeights(&shares, st)
				w := ride.at(carriagesOf(p.Carries)) * p.Weight
				if w == 0 {
					continue
				}
				prior += w
				rate += w * lookRate(s.skill[max(slices.Index(seenClasses, st.Detection), 0)], p)
			}
		}
		if prior == 0 {
			continue
		}
		spot := search.Place{Name: p.ID, Prior: prior, RatePerS: rate / prior, FullS: p.Seconds}
		if mandatory(p) {
			spot.FloorS = math.Min(floorS, p.Seconds)
		}
		spots = append(spots, spot)
		index = append(index, i)
	}
	return spots, index
}

// mandatory marks the places no short round leaves out: the ways out for water, the drive, the wells and the bilge, where
// craft fail most often (East Bay Municipal Utility District inspection rules: outboard first, live well second).
func mandatory(p *thwart.Place) bool {
	return p.Asks(thwart.TaskDrain) || p.Asks(thwart.TaskLower) ||
		slices.Contains([]thwart.Part{thwart.PartWell, thwart.PartBilge, thwart.PartGimbal}, p.Part)
}
