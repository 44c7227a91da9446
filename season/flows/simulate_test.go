package flows_test

import (
	"cmp"
	"math"
	"slices"

	"thwart"
	"thwart/engine/num"
	"thwart/internal/demo"
	"thwart/internal/demo/demotest"
	"thwart/season"
	"thwart/unit"
)

// demoBook is a demo season at a scale, made once.
func demoBook() (*demo.World, *season.Book) {
	return demotest.Book(demo.Options{Seed: 1, Scale: demoScale})
}

// drawnSeason is what a simulated season was made from.
type drawnSeason struct {
	passages [][]float64
	arrivals []float64 // per launch of the world
}

// What the weather of a simulated season does to the logarithm of a day's arrivals.
const (
	simulatedByTenC = 0.30
	simulatedWet    = -0.25
	// silentDays is the share of days on which no shift says the weather, as where every phone is an old one.
	silentDays = 0.3
)

// simulate draws a season straight from the demo's traffic model: the region, the true coefficients and the shifts worked are
// the demo's, while each pair's luck, the weather and the luck of each day and every arrival are drawn anew. What shifts say of the
// weather is right, where they say it. The records hold only what traffic is estimated from.
func simulate(w *demo.World, base *season.Book, seed uint64) (drawnSeason, *season.Book) {
	r := num.Stream(seed, "simulated season")
	n := len(w.Waters)
	d := drawnSeason{passages: make([][]float64, n), arrivals: make([]float64, len(w.Launches))}
	for i := range n {
		d.passages[i] = make([]float64, n)
		for j := range n {
			d.passages[i][j] = w.Truth.Mean[i][j]
			if i != j && d.passages[i][j] > 0 {
				theta := float64(w.Truth.Gravity.Theta)
				d.passages[i][j] *= num.Gamma(r, theta) / theta
			}
		}
	}
	// The demo's launches share their water's craft in fixed parts.
	for l := range w.Launches {
		into, was := 0.0, 0.0
		for i := range n {
			into += d.passages[i][w.Launches[l].Water]
			was += w.Truth.Passages[i][w.Launches[l].Water]
		}
		d.arrivals[l] = w.Truth.Arrivals[l] / was * into
	}
	day, said, sky := make([]float64, w.Days()), make([]*thwart.Weather, w.Days()), num.Stream(seed, "simulated sky")
	total := 0.0
	for k := range day {
		day[k] = w.Truth.DayShare[k] * math.Exp(0.22*r.NormFloat64()) // beside the demo's own luck
		wet := sky.Float64() < 0.25
		air := 20 + 3.5*sky.NormFloat64()
		if wet {
			air -= 3
			day[k] *= math.Exp(simulatedWet)
		}
		day[k] *= math.Exp(simulatedByTenC * air / 10)
		if sky.Float64() >= silentDays {
			said[k] = &thwart.Weather{AirC: new(unit.Celsius(air)), RHPct: new(60.0), Wet: &wet}
		}
		total += day[k]
	}
	for k := range day {
		day[k] /= total
	}
	water := map[string]int32{} // of the book
	for i := range base.Waters {
		water[base.Waters[i].Subject] = int32(i)
	}
	launch := map[string]int{} // of the world
	for l := range w.Launches {
		launch[w.Launches[l].ID] = l
	}
	book := *base
	book.Shifts = slices.Clone(base.Shifts)
	book.Encounters, book.SecondLooks = nil, nil
	first := season.DayOf(w.Year, w.First.Month(), w.First.Day())
	for s := range book.Shifts {
		sh := &book.Shifts[s]
		sh.PassedBy, sh.Refused, sh.TurnedAway = 0, 0, 0
		sh.Weather = said[sh.From.Day()-first]
		l := launch[book.Launches[sh.Launch].Subject]
		here := w.Launches[l].Water
		for at := sh.From.MS; at < sh.To.MS; {
			m := season.Moment{MS: at, OffMin: sh.From.OffMin, Set: true}
			hour := m.HourOfDay()
			next := min(sh.To.MS, at+int64(math.Ceil((math.Floor(hour)+1-hour)*3_600_000)))
			k := int(m.Day() - first)
			free := 0
			if w.Truth.FreeDay[k] {
				free = 1
			}
			mean := d.arrivals[l] * day[k] * w.Truth.Hours[free][int(hour)] * float64(next-at) / 3_600_000
			for range int(num.Poisson(r, mean)) {
				if r.Float64() < 0.05 {
					sh.PassedBy++
					continue
				}
				e := season.Encounter{Shift: int32(s), Launch: sh.Launch, Water: water[w.Waters[here].ID], Direction: season.Launching, Twin: season.None, Next: season.None, Steward: season.None}
				e.At = season.Moment{MS: at + int64(r.Float64()*float64(next-at)), OffMin: sh.From.OffMin, Set: true}
				if r.Float64() >= 0.012 {
					e.Visits = []season.Visit{{Water: water[w.Waters[from(r.Float64(), d.passages, here)].ID], Named: true, Stay: thwart.StayDay}}
				}
				book.Encounters = append(book.Encounters, e)
			}
			at = next
		}
	}
	slices.SortStableFunc(book.Encounters, func(a, b season.Encounter) int { return cmp.Compare(a.At.MS, b.At.MS) })
	return d, &book
}

// from draws the water a craft comes from, in proportion to passages.
func from(u float64, passages [][]float64, here int) int {
	total := 0.0
	for i := range passages {
		total += passages[i][here]
	}
	u *= total
	for i := range passages {
		if u -= passages[i][here]; u < 0 {
			return i
		}
	}
	return len(passages) - 1
}

// roads are the demo's own, which its traffic follows.
func roads(w *demo.World) func(a, b string) (float64, bool) {
	at := map[string]int{}
	for i := range w.Waters {
		at[w.Waters[i].ID] = i
	}
	return func(a, b string) (float64, bool) {
		i, ok1 := at[a]
		j, ok2 := at[b]
		if !ok1 || !ok2 {
			return 0, false
		}
		return w.RoadKM[i][j], true
	}
}
