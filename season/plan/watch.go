package plan

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"thwart"
	"thwart/engine/cut"
	"thwart/refdata"
	"thwart/season"
	"thwart/season/flows"
)

// WatchAsk asks which waters to watch whole.
type WatchAsk struct {
	Organism string
	HoursDay float64 // that somebody stands at each launch of a watched water; 0 = 12
	HourCost float64 // 0 = the programme's cost of a steward-hour, else DefaultHourCost
	Points   int     // 2 to MaxFrontier; 0 = 12
}

// WatchPoint is the best found for one budget.
type WatchPoint struct {
	Money   float64      `json:"money"`
	Cost    float64      `json:"cost"`
	Stopped float64      `json:"stopped" doc:"risky craft a season that are met"`
	Bound   float64      `json:"bound" doc:"no choice of waters within the money meets more: proved by a minimum cut"`
	Better  float64      `json:"better" doc:"at most this share better is possible"`
	Waters  []flows.Site `json:"waters" doc:"watched all season, at every launch"`
}

// WatchReport is money against risky craft met, for one organism, when waters are watched whole.
type WatchReport struct {
	Organism string       `json:"organism"`
	All      float64      `json:"all" doc:"risky craft a season from waters that hold it to waters that do not"`
	Pairs    int          `json:"pairs" doc:"of waters with such traffic"`
	Sources  int          `json:"sources" doc:"waters that may hold it"`
	Clear    int          `json:"clear" doc:"waters that do not, as far as is known"`
	Points   []WatchPoint `json:"points"`
	Assumed  []string     `json:"assumed"`
	Warnings []string     `json:"warnings"`
}

var watchAssumed = []string{
	"A watched water has somebody at each of its launches for the same hours on every day of the season, who meets every craft that leaves or comes; craft met at both ends count once.",
	"Every craft met is made safe. What a look misses, shifts and hours are the matter of the plan; this tells which waters matter.",
	"Of suspected waters one in two is taken to be infested (an assumption). Waters where nobody has looked send nothing here; they are not safe.",
}

func (q *WatchAsk) fill() error {
	var errs thwart.FieldErrors
	if q.HoursDay == 0 {
		q.HoursDay = 12
	}
	if q.Points == 0 {
		q.Points = 12
	}
	if _, ok := refdata.OrganismByID(q.Organism); !ok {
		errs = append(errs, thwart.FieldError{Field: "organism", Value: q.Organism, Accepted: "an organism of the library (list them with: thwart organisms)"})
	}
	for _, f := range []struct {
		name      string
		v, lo, hi float64
	}{{"hoursDay", q.HoursDay, 0.25, 24}, {"hourCost", q.HourCost, 0, 1e6}, {"points", float64(q.Points), 2, MaxFrontier}} {
		if !(f.v >= f.lo && f.v <= f.hi) {
			errs = append(errs, thwart.FieldError{Field: f.name, Value: fmt.Sprint(f.v), Accepted: fmt.Sprintf("%g to %g", f.lo, f.hi)})
		}
	}
	if errs != nil {
		return errs
	}
	return nil
}

// Watch finds, for one organism, which waters to watch for each of some budgets. Risky craft go from waters that hold it to waters that
// do not, so the whole frontier is a family of minimum cuts: every corner is exact, and between corners nothing exceeds the line.
func Watch(m *flows.Model, q WatchAsk) (*WatchReport, error) {
	if err := q.fill(); err != nil {
		return nil, err
	}
	q.HourCost = cmp.Or(q.HourCost, hourCostOf(m.Book()), DefaultHourCost)
	r := &WatchReport{Organism: q.Organism, Points: []WatchPoint{}, Assumed: watchAssumed, Warnings: []string{}}
	type arc struct {
		from, to int
		risky    float64
	}
	var all []arc
	c, err := m.Carried(q.Organism, func(from, to int, _, risky float64) {
		if risky > 1e-9 {
			all = append(all, arc{from, to, risky})
		}
	})
	if err != nil {
		return nil, err
	}
	infested := make([]float64, len(c.Waters))
	unlooked := 0
	for i, s := range c.Status {
		infested[i] = flows.Infested(s)
		switch {
		case infested[i] > 0:
			r.Sources++
		case s == thwart.StatusUnknown || s == thwart.StatusNotLooked:
			unlooked++
		case !c.Outside[i]:
			r.Clear++
		}
	}
	var arcs []cut.Arc
	for _, a := range all {
		if infested[a.from] > 0 && infested[a.to] == 0 {
			arcs = append(arcs, cut.Arc{From: a.from, To: a.to, Weight: a.risky * infested[a.from]})
		}
	}
	r.Pairs = len(arcs)
	if unlooked == 1 {
		r.Warnings = append(r.Warnings, "In one water nobody has looked for it. Unknown is not safe: what it sends is not in these numbers.")
	} else if unlooked > 1 {
		r.Warnings = append(r.Warnings, fmt.Sprintf("In %d waters nobody has looked for it. Unknown is not safe: what they send is not in these numbers.", unlooked))
	}
	cost, most := watchCosts(m, c, &q, infested)
	g, err := cut.New(cost, arcs)
	if err != nil {
		return nil, err
	}
	r.All = g.Total()
	if r.All == 0 {
		r.Warnings = append(r.Warnings, "No risky traffic from a water that holds it to one that does not is in the records.")
		return r, nil
	}
	var budgets []float64
	for i := range q.Points {
		budgets = append(budgets, most*float64(i)/float64(q.Points-1))
	}
	for i, p := range g.Frontier(budgets) {
		x := WatchPoint{Money: budgets[i], Cost: p.Cost, Stopped: p.Stopped, Bound: p.Bound, Better: finite(p.Better()), Waters: []flows.Site{}}
		for _, w := range p.Waters {
			x.Waters = append(x.Waters, c.Waters[w])
		}
		r.Points = append(r.Points, x)
	}
	return r, nil
}

// watchCosts gives what watching each water for a season costs, and the cheaper of watching all that hold the organism and all that do
// not. Where nobody can stand, as at waters outside or without a launch, the cost is beyond every budget.
func watchCosts(m *flows.Model, c *flows.Carried, q *WatchAsk, infested []float64) (cost []float64, most float64) {
	var days float64
	for t := range season.DayType(season.DayTypes) {
		days += m.DaysOf(t)
	}
	cost = make([]float64, len(c.Waters))
	var side [2]float64
	for i := range cost {
		launches, _ := m.LaunchesOf(i)
		if len(launches) == 0 || c.Outside[i] {
			cost[i] = math.Inf(1)
			continue
		}
		cost[i] = float64(len(launches)) * days * q.HoursDay * q.HourCost
		k := 0
		if infested[i] > 0 {
			k = 1
		}
		side[k] += cost[i]
	}
	most = side[0]
	if !slices.ContainsFunc(cost, func(v float64) bool { return math.IsInf(v, 1) }) {
		most = min(most, side[1])
	}
	const beyond = 1e3
	for i := range cost {
		if math.IsInf(cost[i], 1) {
			cost[i] = beyond * (side[0] + side[1] + 1)
		}
	}
	return cost, most
}
