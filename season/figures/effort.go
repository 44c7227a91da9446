package figures

import (
	"cmp"
	"slices"

	"thwart/engine/num"
	"thwart/season"
)

// effort computes hours on site and what was counted beside the records.
func (w *worker) effort(p part) []Figure {
	var person, site float64
	var passed, refusedBeside, turned, open int
	type span struct{ from, to int64 }
	at := map[int32][]span{}
	ends := w.lastSeen()
	for _, i := range p.shifts {
		s := &w.book.Shifts[i]
		end := s.To.MS
		if !s.To.Set {
			open++
			end = ends[i]
		}
		person += w.book.StewardHours(i, ends)
		passed += int(s.PassedBy)
		refusedBeside += int(s.Refused)
		turned += int(s.TurnedAway)
		if end > s.From.MS {
			at[s.Launch] = append(at[s.Launch], span{s.From.MS, end})
		}
	}
	for _, launch := range sortedKeys(at) { // a sum of fractions depends on its order
		spans := at[launch]
		slices.SortFunc(spans, func(a, b span) int { return cmp.Compare(a.from, b.from) })
		var until int64
		for _, s := range spans {
			if from := max(s.from, until); s.to > from {
				site += float64(s.to-from) / 3.6e6
			}
			until = max(until, s.to)
		}
	}
	met := len(p.enc)
	plain := func(id, label string, v float64, unit, how string) Figure {
		return Figure{ID: id, Label: label, Value: v, Unit: unit, How: how, Known: true}
	}
	out := []Figure{
		plain("shifts", "Shifts", float64(len(p.shifts)), UnitCount, "shifts that began in the time"),
		plain("steward_hours", "Steward-hours on site", person, UnitHours, "length of each shift times its people; a shift that is still open runs to the end of its last craft"),
		plain("site_hours", "Hours with somebody on site", site, UnitHours, "shifts at one launch at one time count once"),
		plain("passed_by", "Craft not stopped", float64(passed), UnitCount, "as counted by stewards beside the records"),
		plain("refused_beside", "Declined, without a record", float64(refusedBeside), UnitCount, "as counted by stewards beside the records"),
		plain("turned_away", "Left the queue", float64(turned), UnitCount, "as counted by stewards beside the records"),
		plain("open_shifts", "Shifts not closed", float64(open), UnitCount, "shifts without an end"),
	}
	rate := Figure{ID: "per_hour", Label: "Craft met per hour on site", Unit: UnitRate, N: met, Of: "hours with somebody on site", How: "craft met over hours with somebody on site; limits of a Poisson mean by Garwood 1936, widened for differences between shifts", Known: site > 0}
	if site > 0 {
		rate.Value = float64(met) / site
		i := w.rate(p, site)
		rate.Interval = &i
	}
	coverage := Figure{ID: "coverage", Label: "Craft met of craft that came by", Unit: UnitShare, X: met, N: met + passed + refusedBeside + turned, Of: "craft met or counted while somebody was on site",
		How: "craft met over craft met, not stopped, declined without a record, or lost from the queue; craft that nobody counted are in neither"}
	if coverage.N > 0 {
		coverage.Known, coverage.Value = true, float64(met)/float64(coverage.N)
	}
	return w.traced(p, append(out, rate, coverage))
}

// rate gives limits for craft an hour. Counts of shifts vary more than Poisson: launches, days and hours differ. The Garwood limits
// are taken for the count divided by the index of dispersion over shifts, where that is above 1.
func (w *worker) rate(p part, hours float64) num.Interval {
	counts := map[int32]int{}
	for _, i := range p.enc {
		counts[w.book.Encounters[i].Shift]++
	}
	met := float64(len(p.enc))
	var chi float64
	m := 0
	for _, i := range p.shifts {
		h := w.book.Shifts[i].Hours()
		if h <= 0 {
			continue
		}
		want := met * h / hours
		d := float64(counts[i]) - want
		if want > 0 {
			chi += d * d / want
			m++
		}
	}
	dispersion := 1.0
	if m > 1 {
		dispersion = max(1, chi/float64(m-1))
	}
	g, err := num.Garwood(int(met/dispersion+0.5), Level)
	if err != nil || met == 0 {
		return num.Interval{Lo: 0, Mid: met / hours, Hi: g.Hi / hours}
	}
	g = g.Scale(dispersion / hours)
	g.Mid = met / hours
	return g
}

// lastSeen gives when the last craft of each open shift was done with, in Unix milliseconds.
func (w *worker) lastSeen() map[int32]int64 {
	if w.ends == nil {
		w.ends = w.book.LastSeen()
	}
	return w.ends
}

// stepsOf counts the steps of a wash that were owed, and those of them that were met.
func stepsOf(x *season.Wash) (c num.Count) {
	for _, s := range x.Steps {
		switch s.Outcome {
		case "met":
			c.X++
			c.N++
		case "short", "not_possible":
			c.N++
		}
	}
	return c
}

// traced gives figures the address of the records that they were made from.
func (w *worker) traced(p part, figures []Figure) []Figure {
	for i := range figures {
		figures[i].Records = w.q.address(figures[i].ID, p.by, p.key)
	}
	return figures
}

// work computes washes and time.
func (w *worker) work(p part) []Figure {
	var water, fuel float64
	var watered, fuelled, steps, met, washesMet int
	byWash := []num.Count{}
	for _, i := range p.washes {
		x := &w.book.Washes[i]
		if x.WaterL > 0 {
			water += float64(x.WaterL)
			watered++
		}
		if x.FuelL > 0 {
			fuel += float64(x.FuelL)
			fuelled++
		}
		c := stepsOf(x)
		steps += c.N
		met += c.X
		if c.N > 0 && c.X == c.N {
			washesMet++
		}
		if c.N > 0 {
			byWash = append(byWash, c)
		}
	}
	count := func(id, label string, v float64, unit, how, of string, n int) Figure {
		return Figure{ID: id, Label: label, Value: v, Unit: unit, How: how, Of: of, N: n, Known: true}
	}
	out := []Figure{count("washes", "Washes", float64(len(p.washes)), UnitCount, "washes on record of craft that count", "", 0)}
	litres := count("wash_water", "Water used to wash", water, UnitLitre, "sum over washes that note it; those that do not are left out", "washes that note their water", watered)
	diesel := count("wash_fuel", "Fuel used to wash", fuel, UnitLitre, "sum over washes that note it; those that do not are left out", "washes that note their fuel", fuelled)
	litres.Known, diesel.Known = watered > 0, fuelled > 0
	out = append(out, litres, diesel)
	stepsMet := Figure{ID: "wash_steps_met", Label: "Wash steps done as the rules ask", Unit: UnitShare, X: met, N: steps, Of: "wash steps that were owed",
		How: "steps judged met, of steps judged met, short or not possible; temperature and time as logged"}
	if share, eff, ok := Share(byWash); ok {
		stepsMet.Known, stepsMet.Value, stepsMet.Interval, stepsMet.Effective = true, share.Mid, &share, eff
	}
	whole := Figure{ID: "washes_met", Label: "Washes with every step done as the rules ask", Unit: UnitShare, X: washesMet, N: len(byWash), Of: "washes with a step that was owed", How: "washes of which every owed step was met"}
	ones := make([]num.Count, 0, len(byWash))
	for _, c := range byWash {
		x := 0
		if c.X == c.N {
			x = 1
		}
		ones = append(ones, num.Count{X: x, N: 1})
	}
	if share, eff, ok := Share(ones); ok {
		whole.Known, whole.Value, whole.Interval, whole.Effective = true, share.Mid, &share, eff
	}
	return w.traced(p, append(out, stepsMet, whole, w.seconds(p)))
}

// seconds gives the middle time of an inspection.
func (w *worker) seconds(p part) Figure {
	var all []float64
	for _, i := range p.enc {
		if e := &w.book.Encounters[i]; timed(e) {
			all = append(all, float64(e.Seconds))
		}
	}
	f := Figure{ID: "seconds", Label: "Time of an inspection", Unit: UnitS, N: len(all), Of: "inspections with both times", How: "median, with the quartiles as interval: half of all inspections lie between them", Known: len(all) > 0}
	if f.Known {
		slices.Sort(all)
		f.Interval = &num.Interval{Lo: num.Quantile(all, 0.25), Mid: num.Quantile(all, 0.5), Hi: num.Quantile(all, 0.75)}
		f.Value = f.Interval.Mid
	}
	return f
}

func (w *worker) hours() []HourCell {
	var out [24][season.DayTypes]HourCell
	rows, _ := w.book.Staffed()
	for _, r := range rows {
		if w.inside(r.Day) && w.at(r.Launch) {
			out[r.Hour][w.cal.Type(r.Day)].Staffed += float64(r.Share)
		}
	}
	for _, i := range w.enc {
		m := w.book.Encounters[i].At
		out[int(m.HourOfDay())][w.cal.Type(m.Day())].Craft++
	}
	var cells []HourCell
	for h := range out {
		for t := range out[h] {
			c := out[h][t]
			c.Hour, c.Day = h, season.DayType(t).String()
			if c.Staffed > 0 || c.Craft > 0 {
				cells = append(cells, c)
			}
		}
	}
	return cells
}

func (w *worker) flows() []Flow {
	type pair struct{ from, to int32 }
	sums := map[pair]*Flow{}
	for _, i := range w.enc {
		e := &w.book.Encounters[i]
		if !e.Arrives() || e.Launch == season.None {
			continue
		}
		k := pair{e.From(), e.Launch}
		f := sums[k]
		if f == nil {
			f = &Flow{Launch: w.book.Launches[e.Launch].Subject}
			if k.from != season.None {
				f.Water = w.book.Waters[k.from].Subject
			}
			sums[k] = f
		}
		f.Craft++
		if e.AtRisk {
			f.AtRisk++
		}
	}
	out := make([]Flow, 0, len(sums))
	for _, f := range sums {
		out = append(out, *f)
	}
	slices.SortFunc(out, func(a, b Flow) int {
		return cmp.Or(cmp.Compare(b.Craft, a.Craft), cmp.Compare(a.Water, b.Water), cmp.Compare(a.Launch, b.Launch))
	})
	return out
}

func (w *worker) rules() []RuleEdition {
	n := map[string]int{}
	for _, i := range w.enc {
		n[w.book.Encounters[i].Protocol]++
	}
	var out []RuleEdition
	for _, p := range sortedKeys(n) {
		out = append(out, RuleEdition{p, n[p]})
	}
	return out
}
