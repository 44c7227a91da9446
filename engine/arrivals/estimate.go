package arrivals

import (
	"math"

	"thwart/engine/num"
)

func (f *fitter) estimate() *Estimate {
	f.launches()
	e := &Estimate{HourShare: f.hour, HourSeen: f.seen, DayShare: f.day, DayUsual: f.usual, DayCount: f.dayN, Notes: f.notes}
	e.DayExpected = make([]float64, len(f.day))
	for i := range e.DayExpected {
		e.DayExpected[i] = f.dayE[i] * f.usual[i] * float64(len(f.day))
	}
	e.Spread = 1 / math.Sqrt(f.shape)
	if !math.IsInf(f.dayShape, 1) {
		e.DaySpread = 1 / math.Sqrt(f.dayShape)
	}
	doubt, region := f.shareDoubt(), f.regionDoubt()
	hours := make([]float64, f.d.Launches)
	for _, h := range f.d.Hours {
		hours[h.Launch] += h.Exposure
	}
	for l := range f.a {
		shape, rate := f.shape+f.n[l], f.shape/(f.factor*f.base[l])+f.e[l]
		// Doubt about the share widens the distribution without moving its mean.
		own := f.e[l] / rate // how much of the estimate rests on the share
		v := 1/shape + own*own*doubt[l] + (1-own)*(1-own)*region
		e.Launches = append(e.Launches, Rate{
			Season: num.GammaInterval(1/v, 1/(v*shape/rate), Level), Count: f.n[l], Hours: hours[l], Share: math.Min(1, f.e[l]),
		})
	}
	e.total(region)
	for k, name := range f.regressed.Names {
		if k > 0 {
			b, se := f.regressed.Coef[k], f.regressed.SE[k]
			e.Effects = append(e.Effects, Effect{Name: name, Factor: num.Interval{Lo: math.Exp(b - 1.959964*se), Mid: math.Exp(b), Hi: math.Exp(b + 1.959964*se)}})
		}
	}
	for h, s := range f.staffed {
		if !s && e.HourShare[1][h] > 0.005 {
			e.Notes = append(e.Notes, "Hours of day at which nobody ever was are guessed: each half of the hour nearer to the middle of the day.")
			break
		}
	}
	return e
}

// regionDoubt is the variance of the log of the region's level: craft counted, launches and days that were there to count at.
func (f *fitter) regionDoubt() float64 {
	craft, launches, days := sum(f.n), 0.0, 0.0
	for _, e := range f.e {
		if e > 0 {
			launches++
		}
	}
	for _, e := range f.dayE {
		if e > 0 {
			days++
		}
	}
	v := 1/craft + 1/(f.shape*launches)
	if !math.IsInf(f.dayShape, 1) {
		v += 1 / (f.dayShape * days)
	}
	return v
}

// total sums the launches. What they share, the region's level, does not average out.
func (e *Estimate) total(region float64) {
	mean, v := 0.0, 0.0
	for _, l := range e.Launches {
		mean += l.Season.Mid
		sd := (l.Season.Hi - l.Season.Lo) / (2 * 1.959964)
		v += sd * sd
	}
	v = v/(mean*mean) + region
	e.Total = num.GammaInterval(1/v, 1/(v*mean), Level)
}

// shareDoubt is the variance of the log of each launch's share: its staffed days have luck of their own, known only as far as
// their counts tell.
func (f *fitter) shareDoubt() []float64 {
	out := make([]float64, f.d.Launches)
	if math.IsInf(f.dayShape, 1) {
		return out
	}
	type key struct{ launch, day int }
	part := map[key]float64{}
	var order []key
	for _, h := range f.d.Hours {
		k := key{h.Launch, h.Day}
		if _, ok := part[k]; !ok {
			order = append(order, k)
		}
		part[k] += h.Exposure * f.day[h.Day] * f.hour[profile(f.d.Days[h.Day].Type)][h.Hour]
	}
	for _, k := range order {
		if f.e[k.launch] > 0 {
			w := part[k] / f.e[k.launch]
			out[k.launch] += w * w / (f.dayShape + f.dayN[k.day])
		}
	}
	return out
}

// Mean is the arrivals expected at a launch in one hour of a day of the season, after the day's own counts.
func (e *Estimate) Mean(launch, day, dayType, hour int) float64 {
	return e.Launches[launch].Season.Mid * e.DayShare[day] * e.HourShare[profile(dayType)][hour]
}

// Usual is the arrivals expected in one hour at a launch on a usual day of a season like this one, with its interval.
func (e *Estimate) Usual(launch, day, dayType, hour int) num.Interval {
	return e.Launches[launch].Season.Scale(e.DayUsual[day] * e.HourShare[profile(dayType)][hour])
}
