package demo

import (
	"math"
	"time"

	"thwart/engine/num"
	"thwart/refdata"
)

// Truth is what the season was made from, so that what is estimated from the records can be held against it. It is never
// among the records.
type Truth struct {
	Gravity Gravity `json:"gravity"`
	// Waters and Launches give the order of rows and columns below.
	Waters   []string `json:"waters"`
	Launches []string `json:"launches"`
	// RoadKM is the distance the gravity model used.
	RoadKM [][]float64 `json:"roadKm"`
	// Mean is the model's expected passages per season from a water (row) to another (column); Passages is what the season
	// really had, each pair with a luck of its own. The diagonal holds craft that go back to the water they came from.
	Mean     [][]float64 `json:"mean"`
	Passages [][]float64 `json:"passages"`
	// Arrivals is expected craft to launch per launch and season; Water says which water each launch is on.
	Arrivals []float64 `json:"arrivals"`
	Water    []int     `json:"water"`
	// DayShare is each day's share of a season's arrivals, the weather of the day included; Hours is each hour's share of a
	// day's arrivals, on weekdays and on free days.
	DayShare []float64      `json:"dayShare"`
	FreeDay  []bool         `json:"freeDay"` // weekend or holiday
	Hours    [2][24]float64 `json:"hours"`
	Weather  Sky            `json:"weather"`

	Classes  map[string]float64 `json:"classes"` // share of craft by class
	Infested []Infestation      `json:"infested"`
	Carrying []Carrying         `json:"carrying"`
	Habits   Habits             `json:"habits"`
	Stewards []TrueSkill        `json:"stewards"`
	// Screen is how finding on practice craft fades: the chance is the true one times Floor + (1 − Floor)·2^(−Δ/HalfLifeDays), Δ
	// in days since the practice before.
	Screen Fading `json:"screen"`
	// Refusal is the chance, per launch, that a boater declines.
	Refusal []float64 `json:"refusal"`
	// ClockSkewMS is by how much the clock of a device runs ahead; a device that is not listed keeps time.
	ClockSkewMS map[string]int64 `json:"clockSkewMs"`

	Met Met `json:"met"`
}

// Gravity is the true traffic model: passages from i to j ≠ i have mean
//
//	exp(Intercept) · area_i^Origin · area_j^Destination · road_ij^-Distance
//
// per season, areas in hectares and road in kilometres, times a gamma variate of mean 1 and shape Theta, one per pair: counts
// are negative binomial with that θ over seasons and Poisson within this one. Craft that return to water j have mean
// exp(ReturnIntercept) · area_j^Return, without such a variate. Waters outside the region send craft and receive none.
type Gravity struct {
	Intercept       float64 `json:"intercept"`
	Origin          float64 `json:"origin"`
	Destination     float64 `json:"destination"`
	Distance        float64 `json:"distance"`
	Theta           int     `json:"theta"`
	ReturnIntercept float64 `json:"returnIntercept"`
	Return          float64 `json:"return"`
}

// Fading is how practice fades.
type Fading struct {
	HalfLifeDays float64 `json:"halfLifeDays"`
	Floor        float64 `json:"floor"`
}

// Carrying is the chance that a craft which left an infested water arrives with an organism aboard that can be seen or felt.
type Carrying struct {
	Organism string  `json:"organism"`
	DayUse   float64 `json:"dayUse"`
	Moored   float64 `json:"moored"`
}

// Habits are rates per craft; see [habits] for what each was chosen after.
type Habits struct {
	UnknownWater float64 `json:"unknownWater"` // cannot or will not say where it was
	SecondWater  float64 `json:"secondWater"`  // names a second water
	UnknownDate  float64 `json:"unknownDate"`
	Stored       float64 `json:"stored"` // out of every water since the autumn before
	Moored       float64 `json:"moored"`
	StayUnknown  float64 `json:"stayUnknown"`
	NativePlant  float64 `json:"nativePlant"` // a plant aboard that is no invader
	Mud          float64 `json:"mud"`
	Water        float64 `json:"water"` // standing water in a place that holds it
	PlugIn       float64 `json:"plugIn"`
	DriveUp      float64 `json:"driveUp"`
	DampSameDay  float64 `json:"dampSameDay"` // something damp, on the day it came out …
	DampPerDay   float64 `json:"dampPerDay"`  // … and by how much less each day: exp(-days × this)
	NotChecked   float64 `json:"notChecked"`  // a place that could not be checked
	RemovedHere  float64 `json:"removedHere"` // what is found is taken off on the spot
	WashTaken    float64 `json:"washTaken"`   // a craft sent to the wash goes
	Override     float64 `json:"override"`
	Leaving      float64 `json:"leaving"`      // of departures met, at infested waters
	LeavingElse  float64 `json:"leavingElse"`  // of departures met, elsewhere
	MissedByCrew float64 `json:"missedByCrew"` // passes while the stewards talk
	PatienceMin  float64 `json:"patienceMin"`  // mean minutes a boater queues before going round
}

// Met is what became of the craft that were met. It is filled while the entries are walked.
type Met struct {
	Aboard     []Aboard    `json:"aboard"`     // encounters with something aboard; all others had nothing
	Duplicates [][2]string `json:"duplicates"` // the same craft, met once, recorded by two phones
	Rushed     []string    `json:"rushed"`     // rounds that nobody could have walked in the time
	Corrected  []string    `json:"corrected"`
	Removed    []string    `json:"removed"`
	PassedBy   int         `json:"passedBy"` // not stopped, all shifts
	TurnedAway int         `json:"turnedAway"`
	// Came is how many craft arrived to launch at each launch while a shift was on, met or not; Expected is its mean.
	Came     []int     `json:"came"`
	Expected []float64 `json:"expected"`
}

// Aboard is what one encounter really carried.
type Aboard struct {
	Encounter string `json:"encounter"`
	Steward   string `json:"steward"`
	Items     []Item `json:"items"`
}

// Item is one thing aboard.
type Item struct {
	What   string                 `json:"what"` // an organism, or plant, mud, water
	Place  string                 `json:"place"`
	Class  refdata.DetectionClass `json:"class"`
	Alive  bool                   `json:"alive,omitempty"`
	Chance float64                `json:"chance"` // that this look found it
	Found  bool                   `json:"found,omitempty"`
}

// carryingRates are the demo's own, chosen near what was published: about 2 % of craft last in infested water carried visible
// mussels and about 19 % plants, if every fouled craft came from there (0.22 % and 2.10 % of all craft over 10.98 %: Hubbard
// County, Minnesota, 2016 program report); craft moored for weeks are
// fouled far more often. So many mussel boats are still more than programmes report, so that a season has some to learn from.
var carryingRates = []Carrying{
	{zebra, 0.012, 0.12}, {quagga, 0.010, 0.10}, {spiny, 0.080, 0.10}, {milfoil, 0.15, 0.17}, {stonewort, 0.10, 0.12},
}

// habits are inventions of the right size. Plugs left in: 1.15 % of craft; matter attached: 2.10 % (Hubbard County,
// Minnesota, 2016 program report); 19.5 % of craft with plant fragments at Massachusetts ramps (Lakes and Ponds Program,
// 2008 summary), so invaders or not, plants are common.
var habits = Habits{
	UnknownWater: 0.012, SecondWater: 0.10, UnknownDate: 0.03, Stored: 0.035, Moored: 0.075, StayUnknown: 0.02,
	NativePlant: 0.045, Mud: 0.008, Water: 0.035, PlugIn: 0.0115, DriveUp: 0.015,
	DampSameDay: 0.22, DampPerDay: 0.75, NotChecked: 0.012, RemovedHere: 0.86,
	WashTaken: 0.78, Override: 0.003, Leaving: 0.16, LeavingElse: 0.02, MissedByCrew: 0.02, PatienceMin: 22,
}

// classShares is how craft divide between the classes (invented, after what northern lakes see).
var classShares = []struct {
	class string
	share float64
}{
	{"open_aluminium_fishing", 0.255}, {"bass_boat", 0.150}, {"runabout", 0.155}, {"pontoon", 0.115}, {"personal_watercraft", 0.070},
	{"canoe_kayak", 0.075}, {"wake_boat", 0.050}, {"jon_duck_boat", 0.035}, {"paddleboard", 0.025}, {"row_utility", 0.018},
	{"cabin_cruiser", 0.014}, {"sailboat_centreboard", 0.011}, {"inflatable", 0.009}, {"sailboat_keel", 0.006}, {"raft_drift_boat", 0.004},
	{"float_tube", 0.003}, {"houseboat", 0.002}, {"dock_or_lift", 0.0015}, {"seaplane_floats", 0.0007}, {"other", 0.0008},
}

const (
	crossPassages  = 28500.0 // between waters, whole season, all launches
	returnPassages = 76000.0
)

func (w *World) setTraffic() {
	t := &w.Truth
	t.Gravity = Gravity{Origin: 0.45, Destination: 0.55, Distance: 1.35, Theta: 6, Return: 0.72}
	t.Carrying, t.Habits, t.RoadKM = carryingRates, habits, w.RoadKM
	t.Screen = Fading{HalfLifeDays: 20, Floor: 0.6}
	t.Classes = map[string]float64{}
	for _, c := range classShares {
		t.Classes[c.class] = c.share
	}
	for i := range w.Waters {
		t.Waters = append(t.Waters, w.Waters[i].ID)
	}
	// The intercepts are set so that the season has about so many passages, then cut to three decimals: from there on they
	// are the truth.
	var cross, back float64
	for j := range watersInside {
		back += math.Pow(w.Waters[j].Body.AreaHa, t.Gravity.Return)
		for i := range w.Waters {
			if i != j {
				cross += w.pull(i, j)
			}
		}
	}
	t.Gravity.Intercept = round(math.Log(crossPassages/cross), 3)
	t.Gravity.ReturnIntercept = round(math.Log(returnPassages/back), 3)
	r := num.Stream(w.Seed, "passages")
	n := len(w.Waters)
	t.Mean, t.Passages = make([][]float64, n), make([][]float64, n)
	for i := range n {
		t.Mean[i], t.Passages[i] = make([]float64, n), make([]float64, n)
		for j := range watersInside {
			if i == j {
				t.Mean[i][j] = math.Exp(t.Gravity.ReturnIntercept) * math.Pow(w.Waters[j].Body.AreaHa, t.Gravity.Return)
			} else {
				t.Mean[i][j] = math.Exp(t.Gravity.Intercept) * w.pull(i, j)
			}
			t.Passages[i][j] = t.Mean[i][j]
			if i != j {
				var luck float64 // gamma of whole shape: a sum of exponentials
				for range t.Gravity.Theta {
					luck += r.ExpFloat64()
				}
				t.Passages[i][j] *= luck / float64(t.Gravity.Theta)
			}
		}
	}
	w.setArrivals()
}

// pull is the gravity of a pair without its intercept.
func (w *World) pull(i, j int) float64 {
	g := &w.Truth.Gravity
	return math.Pow(w.Waters[i].Body.AreaHa, g.Origin) * math.Pow(w.Waters[j].Body.AreaHa, g.Destination) * math.Pow(w.RoadKM[i][j], -g.Distance)
}

// Shares of the day by hour, from 5 to 20 o'clock (invented): fishing early and late on weekdays, one broad late-morning peak
// on free days.
var (
	weekdayHours = [24]float64{5: 5, 6: 9, 7: 9, 8: 8, 9: 8, 10: 8, 11: 7, 12: 6, 13: 6, 14: 6, 15: 7, 16: 8, 17: 9, 18: 6, 19: 3, 20: 1}
	freeDayHours = [24]float64{5: 3, 6: 6, 7: 9, 8: 11, 9: 13, 10: 14, 11: 13, 12: 11, 13: 9, 14: 7, 15: 5, 16: 4, 17: 3, 18: 2, 19: 1, 20: 0.5}
	monthWeights = map[time.Month]float64{time.May: 0.75, time.June: 1.1, time.July: 1.3, time.August: 1.1, time.September: 0.62}
)

// Free days count so many weekdays, and holidays more (invented).
const (
	freeDayFactor = 2.5
	holidayFactor = 3.1
	weatherSD     = 0.22 // of the logarithm of a day's factor
)

// holiday reports the demo's own: the last Monday of May, the first Saturday of July and the days beside it, the first Monday
// of September.
func holiday(d time.Time) bool {
	switch {
	case d.Month() == time.May && d.Weekday() == time.Monday && d.Day() > 24:
		return true
	case d.Month() == time.September && d.Weekday() == time.Monday && d.Day() <= 7:
		return true
	case d.Month() == time.July && d.Day() >= 3 && d.Day() <= 5:
		return true
	}
	return false
}

func (w *World) setArrivals() {
	t := &w.Truth
	for l := range w.Launches {
		var sum float64
		for i := range w.Waters {
			sum += t.Passages[i][w.Launches[l].Water]
		}
		t.Launches = append(t.Launches, w.Launches[l].ID)
		t.Arrivals = append(t.Arrivals, sum*w.Launches[l].share)
		t.Water = append(t.Water, w.Launches[l].Water)
	}
	t.Hours = [2][24]float64{shares(weekdayHours), shares(freeDayHours)}
	r := num.Stream(w.Seed, "weather")
	var total float64
	var luck []float64
	var months []time.Month
	for d := range w.Days() {
		day := w.First.AddDate(0, 0, d)
		luck, months = append(luck, weatherSD*r.NormFloat64()), append(months, day.Month())
		free := day.Weekday() == time.Saturday || day.Weekday() == time.Sunday || holiday(day)
		f := monthWeights[day.Month()] * math.Exp(luck[d])
		switch {
		case holiday(day):
			f *= holidayFactor
		case free:
			f *= freeDayFactor
		}
		t.FreeDay = append(t.FreeDay, free)
		t.DayShare = append(t.DayShare, f)
		total += f
	}
	for d := range t.DayShare {
		t.DayShare[d] /= total
	}
	t.Weather = drawSky(num.Stream(w.Seed, "sky"), months, luck)
	r = num.Stream(w.Seed, "refusals")
	for range w.Launches {
		p := 0.004 * math.Exp(0.5*r.NormFloat64())
		if chance(r, 0.08) {
			p *= 8 // a few ramps know most of the refusals
		}
		t.Refusal = append(t.Refusal, round(p, 5))
	}
}

func shares(weights [24]float64) (out [24]float64) {
	var sum float64
	for _, x := range weights {
		sum += x
	}
	for i, x := range weights {
		out[i] = x / sum
	}
	return out
}

// Rate is the expected arrivals an hour at a launch, by index, on a day of the season, within a clock hour.
func (t *Truth) Rate(launch, day, hour int) float64 {
	kind := 0
	if t.FreeDay[day] {
		kind = 1
	}
	return t.Arrivals[launch] * t.DayShare[day] * t.Hours[kind][hour]
}

// guessBusy writes into each launch what people who know it would say: the right size, not the right number.
func (w *World) guessBusy() {
	r := num.Stream(w.Seed, "guesses")
	for l := range w.Launches {
		mean := w.Truth.Arrivals[l] / float64(w.Days()) * math.Exp(0.35*r.NormFloat64())
		step := 5.0
		if mean < 10 {
			step = 1
		}
		w.Launches[l].Body.Busy = math.Max(1, math.Round(mean/step)*step)
	}
}
