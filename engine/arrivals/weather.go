package arrivals

import (
	"math"
	"slices"
)

// weather is what the regression over days takes of it.
type weather struct {
	names []string
	// value is, per day, the weather against the mean of the days of its month that know theirs, so that the month keeps its own
	// weather; 0 for a day that does not know.
	value [][]float64
	like  [][]int // per day that does not know: the days that do and that it is taken to be like; nil for one that knows
	// spread is, per day, by how much the logarithm of its factor lies above that of the mean weather, because the mean of factors
	// is larger than the factor of the mean; 0 for a day that knows.
	spread []float64
	why    error // that the data cannot tell it; nil where they can, or none was given
}

// weatherOf gives days that do not know their weather the mean of those of their month that do. Points at the mean do not tilt a line:
// what the weather does is read off the days that know it.
func weatherOf(d *Data) weather {
	w := weather{names: d.WeatherNames, spread: make([]float64, len(d.Days))}
	if len(w.names) == 0 {
		return w
	}
	var all []int
	month := map[int][]int{}
	for i, day := range d.Days {
		if len(day.Weather) > 0 {
			all = append(all, i)
			month[day.Month] = append(month[day.Month], i)
		}
	}
	w.value, w.like = make([][]float64, len(d.Days)), make([][]int, len(d.Days))
	for i, day := range d.Days {
		w.value[i] = make([]float64, len(w.names))
		own := month[day.Month]
		if len(day.Weather) == 0 {
			if w.like[i] = own; own == nil {
				w.like[i] = all
			}
			continue
		}
		for k, x := range day.Weather {
			mean := 0.0
			for _, j := range own {
				mean += d.Days[j].Weather[k] / float64(len(own))
			}
			w.value[i][k] = x - mean
		}
	}
	return w
}

// unsaid tells the days that do not know their weather, where weather is a term.
func (w *weather) unsaid(day int) bool { return w.like != nil && w.like[day] != nil }

// spreadOf works the spread out from the regression. A day on which nobody was is as likely as any other of its month to be one whose
// weather would have gone unsaid, so it has the mean of those that were counted on, said or not.
func (f *fitter) spreadOf(coef []float64, names []string) {
	w := &f.weather
	b := coef[len(coef)-len(w.names):]
	unsaid := 1.0 // the factor of such days
	if k := slices.Index(names, Unsaid); k >= 0 {
		unsaid = math.Exp(coef[k])
	}
	silent := map[int]float64{} // days counted on whose weather nobody said, by month
	for i, day := range f.d.Days {
		if f.dayE[i] > 0 && w.unsaid(i) {
			silent[day.Month]++
		}
	}
	for i, like := range w.like {
		if like == nil {
			continue
		}
		mean := 0.0
		for _, j := range like {
			eta := 0.0
			for k, x := range w.value[j] {
				eta += b[k] * x
			}
			mean += math.Exp(eta) / float64(len(like))
		}
		month := f.d.Days[i].Month
		if n := silent[month]; n > 0 && f.dayE[i] == 0 && f.d.Days[like[0]].Month == month {
			said := float64(len(like))
			mean *= (said + n*unsaid) / (said + n)
		}
		w.spread[i] = math.Log(mean)
	}
}
