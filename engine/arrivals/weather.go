package arrivals

import "math"

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

// spreadOf works the spread out from the coefficients of the weather, in the order of its names.
func (w *weather) spreadOf(coef []float64) {
	for i, like := range w.like {
		if like == nil {
			continue
		}
		mean := 0.0
		for _, j := range like {
			eta := 0.0
			for k, b := range coef {
				eta += b * w.value[j][k]
			}
			mean += math.Exp(eta) / float64(len(like))
		}
		w.spread[i] = math.Log(mean)
	}
}
