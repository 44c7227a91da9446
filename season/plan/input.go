// Package plan makes a season's plan from its records: where and when to stand, where wash units go, how far from the best
// that can be, and what else was considered.
//
// [FromModel] turns fitted traffic into an [Input]; [Make] plans for [PlanWishes]. The package is pure: the solver is handed in.
package plan

import (
	"math"
	"slices"

	"thwart/engine/geo"
	"thwart/engine/siting"
	"thwart/season"
	"thwart/season/flows"
)

// Launch is a place where a team can stand.
type Launch struct {
	ID      string  `json:"id"`
	Name    string  `json:"name"`
	Water   string  `json:"water"` // id
	Partner string  `json:"partner,omitempty"`
	Lon     float64 `json:"lon"`
	Lat     float64 `json:"lat"`
	Season  float64 `json:"season"` // craft that come to launch
	// PerHour is craft that come in an hour of the day, on a usual weekday and a usual free day.
	PerHour [2][24]float64 `json:"-"`
	// Worked is the hours somebody was there in the latest season, by kind of day and hour of day.
	Worked [2][24]float64 `json:"-"`
}

// Pair is risky traffic between two waters.
type Pair struct {
	From, To string // ids of waters
	// Risk is craft a season that arrive with an organism alive aboard in a water that does not hold it yet, by organism. One more
	// where it lives already infests nothing; what leaves that water is risk to others.
	Risk []float64
}

// Input is what a plan is made from. It does not say how it is known: records fitted, or the truth of a simulation.
type Input struct {
	Organisms []string
	Find      []float64 // chance that a look finds the organism and the craft is made safe, by organism
	Refuse    float64   // share of craft whose people decline
	Launches  []Launch
	Pairs     []Pair
	Days      [2]float64 // weekdays and free days of the season
	KM        func(from, to int) float64
	Warnings  []string
	// StewardHours is the hours of work of the latest season, every person counted: the unit of [PlanWishes.Hours], and the season
	// figures' own number.
	StewardHours float64
	// HourCost is money for an hour of one person, as the programme's record has it; 0 = not told. Currency is of all its money.
	HourCost float64
	Currency string
	// Sample gives the pairs' risks in each of some sampled seasons, as Pairs has their means; nil: the traffic is exact.
	Sample func() ([][][]float64, error)
}

// kindNames are the kinds of day that plans know.
var kindNames = [2]string{"weekday", "free day"}

// FromModel makes an input of fitted traffic.
func FromModel(book *season.Book, m *flows.Model) (*Input, error) {
	in := &Input{}
	risk, err := m.Risk(flows.RiskOptions{Top: math.MaxInt32})
	if err != nil {
		return nil, err
	}
	pairs := map[[2]string]int{}
	for o, r := range risk.Organisms {
		in.Organisms = append(in.Organisms, r.Organism)
		in.Find = append(in.Find, r.Find.Mid)
		held := m.HeldBy(r.Organism)
		for _, p := range r.Pairs {
			if held[p.To] == 1 {
				continue
			}
			key := [2]string{p.From, p.To}
			at, ok := pairs[key]
			if !ok {
				at = len(in.Pairs)
				pairs[key] = at
				in.Pairs = append(in.Pairs, Pair{From: p.From, To: p.To, Risk: make([]float64, len(risk.Organisms))})
			}
			in.Pairs[at].Risk[o] = p.Arriving.Mid * (1 - held[p.To])
		}
	}
	for _, w := range risk.Warnings {
		in.Warnings = append(in.Warnings, w.Text)
	}
	arrivals := m.Arrivals()
	for _, d := range arrivals.Days {
		in.Days[kind(d.Type != "weekday")]++
	}
	arrive := map[string]float64{}
	for _, l := range arrivals.Launches {
		arrive[l.Launch.ID] = l.Season.Mid
	}
	in.launches(book, m, arrive)
	in.programme(book)
	in.Sample = func() ([][][]float64, error) { return in.sample(m, pairs) }
	return in, nil
}

// sample draws seasons: the risk of every pair by draw, pair and organism.
func (in *Input) sample(m *flows.Model, pairs map[[2]string]int) ([][][]float64, error) {
	n := min(m.Draws(), maxSamples)
	out := make([][][]float64, n)
	for d := range out {
		out[d] = make([][]float64, len(in.Pairs))
		all := make([]float64, len(in.Pairs)*len(in.Organisms))
		for k := range out[d] {
			out[d][k], all = all[:len(in.Organisms)], all[len(in.Organisms):]
		}
	}
	for o, name := range in.Organisms {
		held := m.HeldBy(name)
		err := m.EachDraw(name, func(draw int, from, to string, arriving float64) {
			if p := 1 - held[to]; draw < n && p > 0 {
				out[draw][pairs[[2]string{from, to}]][o] = arriving * p
			}
		})
		if err != nil {
			return nil, err
		}
	}
	return out, nil
}

// maxSamples bounds the seasons that a robust plan is judged on.
const maxSamples = 200

func kind(free bool) int {
	if free {
		return 1
	}
	return 0
}

func (in *Input) launches(book *season.Book, m *flows.Model, arrive map[string]float64) {
	var met, refused float64
	for i := range book.Encounters {
		if e := &book.Encounters[i]; e.Counts() {
			met++
			if e.Refused {
				refused++
			}
		}
	}
	if met > 0 {
		in.Refuse = refused / met
	}
	place := make([]int, len(book.Launches))
	for l := range book.Launches {
		place[l] = -1
		rec := &book.Launches[l]
		if rec.Water == season.None {
			continue
		}
		place[l] = len(in.Launches)
		out := Launch{
			ID: rec.Subject, Name: rec.Body.Name, Water: book.Waters[rec.Water].Subject, Partner: rec.Body.Partner,
			Lon: rec.Body.At.Lon(), Lat: rec.Body.At.Lat(), Season: arrive[rec.Subject],
		}
		for h := range 24 {
			out.PerHour[0][h] = m.Usual(l, season.Weekday, h).Mid
			out.PerHour[1][h] = m.Usual(l, season.Free, h).Mid
		}
		in.Launches = append(in.Launches, out)
	}
	calendar := season.SummerHolidays()
	first, last, _ := book.LatestSeason()
	hours, _ := book.Staffed()
	for _, h := range hours {
		if at := place[h.Launch]; at >= 0 && h.Day >= first && h.Day <= last {
			in.Launches[at].Worked[kind(calendar.Type(h.Day) != season.Weekday)][h.Hour] += float64(h.Share)
		}
	}
	seen := book.LastSeen()
	for i := range book.Shifts {
		if day := book.Shifts[i].From.Day(); day >= first && day <= last {
			in.StewardHours += book.StewardHours(int32(i), seen)
		}
	}
	in.KM = func(from, to int) float64 {
		a, b := in.Launches[from], in.Launches[to]
		const metresPerKM = 1000
		return geo.Detour(geo.GreatCircleM(geo.Point{Lat: a.Lat, Lon: a.Lon}, geo.Point{Lat: b.Lat, Lon: b.Lon}), flows.DefaultDetour) / metresPerKM
	}
}

// programme takes what the programme's record says of money.
func (in *Input) programme(book *season.Book) {
	if len(book.Programmes) > 0 {
		in.HourCost, in.Currency = hourCostOf(book), book.Programmes[0].Body.Costs.Currency
	}
}

// hourCostOf is what the programme's record says that an hour of one person costs; 0 where it says nothing.
func hourCostOf(book *season.Book) float64 {
	if len(book.Programmes) == 0 {
		return 0
	}
	return book.Programmes[0].Body.Costs.PerStewardHour
}

// launchIndex finds a launch by its id; -1 where there is none.
func (in *Input) launchIndex(id string) int {
	return slices.IndexFunc(in.Launches, func(l Launch) bool { return l.ID == id })
}

// atWater lists the launches of a water with each one's share of its craft.
func (in *Input) atWater(water string) (at []int, share []float64) {
	var sum float64
	for i := range in.Launches {
		if in.Launches[i].Water == water {
			at = append(at, i)
			sum += in.Launches[i].Season
		}
	}
	for _, i := range at {
		s := 1 / float64(len(at))
		if sum > 0 {
			s = in.Launches[i].Season / sum
		}
		share = append(share, s)
	}
	return at, share
}

// Worth values a staffing (share of days by launch and cell of the wishes) on this input's traffic.
func (in *Input) Worth(wishes *PlanWishes, staffed [][]float64) (float64, error) {
	b, err := in.stations(wishes).Build()
	if err != nil {
		return 0, err
	}
	v, _ := b.WorthOfShares(staffed, 0)
	return v, nil
}

// All is the risk if nobody stands anywhere, weighted as wished.
func (in *Input) All(wishes *PlanWishes) float64 { return in.all(in.stations(wishes).Weights) }

// Problem is what a plan for these wishes solves.
func (in *Input) Problem(wishes *PlanWishes) (*siting.Problem, error) {
	w, err := wishes.full(in)
	if err != nil {
		return nil, err
	}
	b, err := in.stations(&w).Build()
	if err != nil {
		return nil, err
	}
	return b.Problem, nil
}
