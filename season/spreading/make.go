package spreading

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"thwart"
	"thwart/engine/spread"
	"thwart/refdata"
	"thwart/season"
	"thwart/season/flows"
)

// caseRuns is how often each other assumption is tried.
const caseRuns = 1000

// Forecast answers a question from fitted traffic. Fields that mean nothing are [thwart.FieldErrors]; records that cannot carry
// flows are the model's error. tell may be nil.
func Forecast(ctx context.Context, m *flows.Model, q Question, tell func(float64, string)) (*SpreadReport, error) {
	if err := q.fill(); err != nil {
		return nil, err
	}
	if _, ok := refdata.OrganismByID(q.Organism); !ok {
		return nil, thwart.FieldErrors{{Field: "organism", Value: q.Organism, Accepted: "an organism of the library (list them with: thwart organisms)"}}
	}
	if tell == nil {
		tell = func(float64, string) {}
	}
	net := &spread.Network{Start: []int32{0}}
	row := 0
	c, err := m.Carried(q.Organism, func(from, to int, _, risky float64) {
		for ; row < from; row++ {
			net.Start = append(net.Start, int32(len(net.To)))
		}
		if risky > 1e-9 {
			net.To, net.Risky = append(net.To, int32(to)), append(net.Risky, float32(risky))
		}
	})
	if err != nil {
		return nil, err
	}
	for ; row < len(c.Waters); row++ {
		net.Start = append(net.Start, int32(len(net.To)))
	}
	met, name, err := meeting(m, c, &q)
	if err != nil {
		return nil, err
	}
	net.Stopped = make([]float32, len(net.To))
	for k, to := range net.To {
		net.Stopped[k] = float32(met[to] * c.Find)
	}
	r := &SpreadReport{Organism: q.Organism, Plan: q.Plan, PlanName: name, Runs: q.Runs, Seed: q.Seed, Alpha: q.Alpha, C: q.C,
		HalfChance: spread.HalfChance(q.Alpha, q.C), Compliance: *q.Compliance, Doubt: "taken as known"}
	opt := spread.Options{Infested: r.start(c, &q), Alpha: q.Alpha, C: q.C, Compliance: *q.Compliance, Years: q.Years, Runs: q.Runs, Seed: q.Seed}
	if !q.Known {
		opt.Prior = &spread.Prior{AlphaFactor: AlphaFactor, CHalf: CHalf}
		r.Doubt = fmt.Sprintf("α within a factor of %d either way, c within %.1f", AlphaFactor, CHalf)
	}
	r.mind(c, m, &q)
	opt.Tell = func(f float64) { tell(0.6*f, "running the years") }
	res, err := spread.Run(ctx, net, opt)
	if err != nil {
		return nil, err
	}
	opt.Tell = func(f float64) { tell(0.6+0.4*f, "other assumptions") }
	if r.Cases, err = spread.Sensitivity(ctx, net, opt, min(q.Runs, caseRuns)); err != nil {
		return nil, err
	}
	r.Years, r.Sharper = res.Years, res.Sharper
	return r, r.waters(c, net, opt.Infested, met, res)
}

// start decides how each water is taken, fail-safe: what may hold the organism sends it out.
func (r *SpreadReport) start(c *flows.Carried, q *Question) []bool {
	infested := make([]bool, len(c.Waters))
	for i := range c.Waters {
		w := StartingWater{Site: c.Waters[i], Status: string(c.Status[i])}
		switch c.Status[i] {
		case thwart.StatusInfested, thwart.StatusPositive:
			w.Start, infested[i] = "source", true
			r.Sources++
		case thwart.StatusSuspect:
			w.Start, infested[i] = "suspected", true
			r.Suspected++
		case thwart.StatusUnknown, thwart.StatusNotLooked:
			w.Start, infested[i] = "not_looked", !q.UnlookedClear
			if q.UnlookedClear && !c.Outside[i] {
				w.Start = "clear"
				r.Clear++
			}
			r.Unlooked++
		default:
			w.Start = "clear"
			if c.Outside[i] {
				w.Start = "outside"
			} else {
				r.Clear++
			}
		}
		r.Waters = append(r.Waters, w)
	}
	return infested
}

// waters fills in what came of each water and puts the likeliest to be infested first, then those that send it.
func (r *SpreadReport) waters(c *flows.Carried, net *spread.Network, infested []bool, met []float64, res *spread.Result) error {
	for i := range c.Waters {
		for k := net.Start[i]; infested[i] && k < net.Start[i+1]; k++ {
			r.Waters[net.To[k]].Risky += float64(net.Risky[k])
		}
	}
	years := len(res.Years)
	for j := range r.Waters {
		w := &r.Waters[j]
		w.Stopped = met[j] * c.Find
		for y := range years {
			w.Without, w.With = append(w.Without, res.Chance[spread.Without][y][j]), append(w.With, res.Chance[spread.With][y][j])
		}
		var err error
		if w.Last, err = res.ChanceInterval(spread.Without, years, j); err != nil {
			return err
		}
		if w.LastW, err = res.ChanceInterval(spread.With, years, j); err != nil {
			return err
		}
	}
	slices.SortStableFunc(r.Waters, func(a, b StartingWater) int {
		return cmp.Or(cmp.Compare(rank(b.Start), rank(a.Start)), cmp.Compare(b.Last.Mid, a.Last.Mid), cmp.Compare(a.Name, b.Name))
	})
	last := res.Years[years-1]
	r.Sentence = fmt.Sprintf("Over %d years %.1f more of %d clear waters are expected to be infested if nobody stands anywhere, and %.1f with %s: %.1f fewer (95 %% of runs: %.0f to %.0f fewer).",
		years, last.Without.Mid, r.Clear, last.With.Mid, r.PlanName, last.Spared.Mid, last.RangeD.Lo, last.RangeD.Hi)
	return nil
}

func rank(start string) int {
	if start == "clear" {
		return 1
	}
	return 0
}

func (r *SpreadReport) mind(c *flows.Carried, m *flows.Model, q *Question) {
	r.Assumed = []string{
		"No published α and c for risky passages were found. The values here are an assumption, varied from run to run unless they were given as known; fit your own with dated finds (thwart spread fit). That c is above 1 for zebra mussels is what Leung, Drake & Lodge 2004 (Ecology 85:1651-1660) found; their numbers were not reached.",
		"A risky passage is a craft that arrives with the organism alive aboard; what a look finds there is taken to be made safe.",
		"Traffic stays as it was fitted to the season, year after year; its own error is not in the intervals.",
		"What is infested stays so. A water infested in a year sends the organism from the next year on. Only boats carry it.",
		"Every clear water suits the organism alike.",
	}
	if c.Assumed {
		r.Assumed = append(r.Assumed, "The share of craft that carry it is an assumption too: "+c.Basis)
	}
	r.Warnings = []string{}
	count := func(n int, one, more string) {
		switch {
		case n == 1:
			r.Warnings = append(r.Warnings, one)
		case n > 1:
			r.Warnings = append(r.Warnings, fmt.Sprintf(more, n))
		}
	}
	if q.UnlookedClear {
		count(r.Unlooked, "In one water nobody has looked for it. It was taken for clear because it was asked for; the true numbers may be worse.",
			"In %d waters nobody has looked for it. They were taken for clear because it was asked for; the true numbers may be worse.")
	} else {
		count(r.Unlooked, "In one water nobody has looked for it. Unknown is not safe: it counts as a source and cannot be counted as newly infested.",
			"In %d waters nobody has looked for it. Unknown is not safe: they count as sources and cannot be counted as newly infested.")
	}
	count(r.Suspected, "One suspected water counts as a source.", "%d suspected waters count as sources.")
	if r.Clear == 0 {
		r.Warnings = append(r.Warnings, "No water in care is known to be clear, so nothing can be newly infested in this forecast: look, and write down what was not found.")
	}
	for _, w := range m.Arrivals().Warnings {
		r.Warnings = append(r.Warnings, w.Text)
	}
}

// AsWorked is what a forecast calls the hours of the season's records.
const AsWorked = "the hours as worked last season"

// kinds of day that a plan's shifts name.
var planDays = map[string][]season.DayType{"weekday": {season.Weekday}, "free day": {season.Free, season.Holiday}}

// meeting gives the share of craft arriving at each water that are looked over: under a plan, or in the hours as worked.
func meeting(m *flows.Model, c *flows.Carried, q *Question) (met []float64, name string, err error) {
	book, shifts := m.Book(), q.Shifts
	name = q.PlanName
	switch {
	case shifts != nil:
	case q.Plan == "":
		return c.Met, AsWorked, nil
	default:
		if shifts, name, err = planned(book, q.Plan); err != nil {
			return nil, "", err
		}
	}
	share := map[string]float64{}
	for _, s := range shifts {
		l := book.Index(s.Launch)
		if l == season.None || int(l) >= len(book.Launches) || book.Launches[l].Subject != s.Launch {
			continue
		}
		var in, all float64
		for t := range season.DayType(season.DayTypes) {
			days := m.DaysOf(t)
			for h := range 24 {
				n := days * m.Usual(int(l), t, h).Mid
				all += n
				if h >= s.From && h < s.To && slices.Contains(planDays[s.Day], t) {
					in += n
				}
			}
		}
		if all > 0 {
			share[s.Launch] = math.Min(1, share[s.Launch]+in/all)
		}
	}
	refused := refusing(book)
	met = make([]float64, len(c.Waters))
	for i := range met {
		launches, part := m.LaunchesOf(i)
		for k, l := range launches {
			met[i] += part[k] * share[book.Launches[l].Subject] * (1 - refused)
		}
	}
	return met, name, nil
}

func refusing(book *season.Book) float64 {
	var all, refused float64
	for i := range book.Encounters {
		if e := &book.Encounters[i]; e.Counts() {
			all++
			if e.Refused {
				refused++
			}
		}
	}
	if all == 0 {
		return 0
	}
	return refused / all
}
