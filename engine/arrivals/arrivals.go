// Package arrivals estimates how many craft arrive at each launch, by day and hour, from counts made while somebody was there.
//
// The mean count in an hour at launch l on day d is exposure × A_l × D_d × H_h, with A_l the arrivals of the whole season, D_d
// the day's share of a season and H_h the hour's share of a day (one profile for weekdays, one for free days). Each factor is
// drawn towards what is usual as far as its own counts are few:
//
//   - A_l towards the region: a gamma distribution over launches about the region's mean, or about what people who know the
//     launch guess, whose spread is estimated (Gamma-Poisson, empirical Bayes; a launch that nobody staffed has the region's
//     mean with the region's spread);
//   - D_d towards its kind of day: a negative binomial regression over days by day type, month and weather,
//     whose dispersion is the luck and the weather that nobody wrote down. A day whose weather nobody wrote down has the mean
//     factor of the days of its month that know theirs (of all days that do, where none of its month does). Such days on which
//     somebody counted have a level of their own beside it, and a day on which nobody was has the mean of both sorts;
//   - H_h towards the profile of all days.
//
// [Fit] turns the three by turns until they stand still. [Estimate.Share] is what the traffic model needs: the share of a
// season's arrivals at a launch that the hours staffed could have met.
package arrivals

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"thwart/engine/glm"
	"thwart/engine/num"
)

// Hour is the counting of one hour at one launch.
type Hour struct {
	Launch, Day int
	Hour        int     // of the day, 0 to 23
	Exposure    float64 // share of the hour with somebody there, 0 to 1
	Count       float64 // craft that came to launch
}

// DayInfo is what is known of a day of the season, staffed or not.
type DayInfo struct {
	Type    int       // 0 weekday, 1 weekend, 2 holiday
	Month   int       // any number; days of one number share an effect
	Weather []float64 // such as warmest °C and mm of rain, one for each of Data.WeatherNames; nil = not known of this day
}

// Data is a season's counting.
type Data struct {
	Launches int
	Days     []DayInfo
	Hours    []Hour
	Busy     []float64 // per launch, craft a day as people who know it guess; 0 = not told; nil = none told
	// Opens and Closes bound the hours of day at which anybody can launch anywhere: craft come in no other. Zero both = all
	// day long.
	Opens, Closes float64
	// WeatherNames name the numbers of DayInfo.Weather. Where they are given, at least one day knows them.
	WeatherNames []string
}

// Level is the level of all intervals.
const Level = 0.95

// Rate is the arrivals of a launch.
type Rate struct {
	Season num.Interval // craft that come to launch in the season
	Count  float64      // counted
	Hours  float64      // staffed
	Share  float64      // of the season's arrivals that the hours staffed could have met
}

// Effect is a coefficient of the regression over days, as a factor on arrivals.
type Effect struct {
	Name   string
	Factor num.Interval // 1 = as on the usual day it is compared with
}

// Unsaid names the effect of the days on which somebody counted and nobody said the weather, against the mean of their month.
const Unsaid = "weather not said"

// Estimate is a fitted season.
type Estimate struct {
	Launches []Rate
	Total    num.Interval // craft that come to all launches in the season
	// HourShare sums to 1 over the day: [0] weekdays, [1] weekends and holidays. HourSeen counts the craft behind each.
	HourShare, HourSeen [2][24]float64
	// DayShare sums to 1 over the season: what is believed of each day after its counts. DayUsual is without the day's own
	// luck. DayCount and DayExpected are the craft counted and expected on it at the usual level.
	DayShare, DayUsual    []float64
	DayCount, DayExpected []float64
	Effects               []Effect
	// Spread is how much launches differ and DaySpread how much days do beyond their kind: coefficients of variation. DaySpread
	// is zero where the counts show none.
	Spread, DaySpread float64
	Notes             []string
}

// Errors of data that carry no estimate.
var (
	ErrNoHours = errors.New("hours: nobody was at any launch; arrivals cannot be told from no hours")
	ErrNoCraft = errors.New("counts: no craft came while somebody was there, so when craft arrive cannot be told")
)

// hourPrior is how many craft the profile of all days counts for in the profile of one kind of day; an assumption.
const hourPrior = 60.0

// neighbourPrior is how many craft the hours beside it count for in an hour of the profile of all days; an assumption.
const neighbourPrior = 10.0

// Fit estimates a season.
func Fit(d *Data) (*Estimate, error) {
	if err := d.check(); err != nil {
		return nil, err
	}
	f := newFitter(d)
	for range 60 {
		before := f.level()
		f.hours()
		if err := f.days(); err != nil {
			return nil, err
		}
		f.launches()
		if math.Abs(f.level()-before) <= 1e-9*before {
			break
		}
	}
	return f.estimate(), nil
}

func (d *Data) check() error {
	total, craft := 0.0, 0.0
	if d.Launches < 1 || len(d.Days) < 1 {
		return fmt.Errorf("launches and days: %d and %d; accepted: at least one of each", d.Launches, len(d.Days))
	}
	if !(d.Opens >= 0 && d.Opens <= d.Closes && d.Closes <= 24) {
		return fmt.Errorf("opens and closes: %g and %g; accepted: hours of day, 0 to 24, opens first", d.Opens, d.Closes)
	}
	if d.Busy != nil && len(d.Busy) != d.Launches {
		return fmt.Errorf("busy: %d guesses; accepted: one per launch, or none", len(d.Busy))
	}
	for i, day := range d.Days {
		if day.Type < 0 || day.Type > 2 {
			return fmt.Errorf("days[%d].type: %d; accepted: 0 weekday, 1 weekend, 2 holiday", i, day.Type)
		}
		if n := len(day.Weather); n > 0 && n != len(d.WeatherNames) {
			return fmt.Errorf("days[%d].weather: %d numbers; accepted: %d, one for each name, or none where it is not known", i, n, len(d.WeatherNames))
		}
		for k, w := range day.Weather {
			if err := num.Finite(fmt.Sprintf("days[%d].%s", i, d.WeatherNames[k]), w); err != nil {
				return err
			}
		}
	}
	if len(d.WeatherNames) > 0 && !slices.ContainsFunc(d.Days, func(day DayInfo) bool { return len(day.Weather) > 0 }) {
		return fmt.Errorf("days.weather: not known of any day; accepted: known of at least one, or no names of weather")
	}
	for i, h := range d.Hours {
		switch {
		case h.Launch < 0 || h.Launch >= d.Launches || h.Day < 0 || h.Day >= len(d.Days) || h.Hour < 0 || h.Hour > 23:
			return fmt.Errorf("hours[%d]: launch %d, day %d, hour %d; accepted: launches below %d, days below %d, hours 0 to 23", i, h.Launch, h.Day, h.Hour, d.Launches, len(d.Days))
		case !(h.Exposure >= 0 && h.Exposure <= 1):
			return fmt.Errorf("hours[%d].exposure: %g; accepted: 0 to 1", i, h.Exposure)
		case !(h.Count >= 0) || math.IsInf(h.Count, 1):
			return fmt.Errorf("hours[%d].count: %g; accepted: 0 or more", i, h.Count)
		case h.Count > 0 && h.Exposure == 0:
			return fmt.Errorf("hours[%d].count: %g craft in an hour when nobody was there", i, h.Count)
		}
		total += h.Exposure
		craft += h.Count
	}
	if total == 0 {
		return ErrNoHours
	}
	if craft == 0 {
		return ErrNoCraft
	}
	return nil
}

// profile is which hourly profile a day type follows.
func profile(dayType int) int { return min(dayType, 1) }

type fitter struct {
	d         *Data
	a         []float64 // arrivals per launch
	base      []float64 // what they are drawn to, up to a factor
	day       []float64 // share of the season
	usual     []float64
	hour      [2][24]float64
	seen      [2][24]float64
	shape     float64 // of launches
	dayShape  float64
	factor    float64 // base × factor is the mean that launches are drawn to
	n, e      []float64
	dayN      []float64
	dayE      []float64 // expected with every day usual
	regressed *glm.Result
	staffed   []bool // hour of day at any launch
	weather   weather
	notes     []string
}

func newFitter(d *Data) *fitter {
	f := &fitter{d: d, a: make([]float64, d.Launches), base: make([]float64, d.Launches), day: make([]float64, len(d.Days)),
		usual: make([]float64, len(d.Days)), n: make([]float64, d.Launches), e: make([]float64, d.Launches),
		dayN: make([]float64, len(d.Days)), dayE: make([]float64, len(d.Days)), staffed: make([]bool, 24), shape: 1, dayShape: math.Inf(1)}
	known, sum := 0.0, 0.0
	for _, b := range d.Busy {
		if b > 0 {
			known++
			sum += b
		}
	}
	craft := 0.0
	for l := range f.base {
		f.base[l] = 1
		if known > 0 {
			f.base[l] = 1
			if b := d.Busy[l]; b > 0 {
				f.base[l] = b / (sum / known)
			}
		}
		f.a[l] = f.base[l]
	}
	for i := range f.day {
		f.day[i] = 1 / float64(len(f.day))
	}
	for _, h := range d.Hours {
		f.n[h.Launch] += h.Count
		f.dayN[h.Day] += h.Count
		f.seen[profile(d.Days[h.Day].Type)][h.Hour] += h.Count
		f.staffed[h.Hour] = f.staffed[h.Hour] || h.Exposure > 0
		craft += h.Count
	}
	for p := range f.hour {
		for h := range f.hour[p] {
			f.hour[p][h] = 1.0 / 24
		}
	}
	f.weather = weatherOf(d)
	return f
}

// level sums what is being estimated, to see whether it stands still.
func (f *fitter) level() float64 {
	s := 0.0
	for _, a := range f.a {
		s += a
	}
	for p := range f.hour {
		for h, x := range f.hour[p] {
			s += x * float64(h) * f.a[0]
		}
	}
	return s
}

// hours gives the profiles, each drawn to that of all days.
func (f *fitter) hours() {
	var e [2][24]float64
	for _, h := range f.d.Hours {
		e[profile(f.d.Days[h.Day].Type)][h.Hour] += h.Exposure * f.a[h.Launch] * f.day[h.Day]
	}
	all := f.allDays(&e)
	f.extend(&all)
	norm := sum(all[:])
	for p := range f.hour {
		for h := range all {
			prior := hourPrior * all[h] / norm
			weight := 0.0
			if all[h] > 0 {
				weight = prior / all[h] // exposure that would have shown the prior's craft
			}
			if t := e[p][h] + weight; t > 0 {
				f.hour[p][h] = (f.seen[p][h] + prior) / t
			} else {
				f.hour[p][h] = 0
			}
		}
		total := sum(f.hour[p][:])
		for h := range f.hour[p] {
			f.hour[p][h] /= total
		}
	}
}

// allDays is the profile of all days: each hour drawn to its neighbours as far as its own counts are few.
func (f *fitter) allDays(e *[2][24]float64) (all [24]float64) {
	for h := range all {
		var near, exposed float64
		for k := range all {
			w := math.Exp(-float64((h-k)*(h-k)) / 2) // a neighbour within an hour or so
			near += w * (f.seen[0][k] + f.seen[1][k])
			exposed += w * (e[0][k] + e[1][k])
		}
		if own := e[0][h] + e[1][h]; own > 0 && near > 0 {
			all[h] = (f.seen[0][h] + f.seen[1][h] + neighbourPrior) / (own + neighbourPrior*exposed/near)
		}
	}
	return all
}

// open is the part of an hour of day at which anybody can launch.
func (d *Data) open(hour int) float64 {
	if d.Opens == 0 && d.Closes == 0 {
		return 1
	}
	return math.Max(0, math.Min(d.Closes, float64(hour+1))-math.Max(d.Opens, float64(hour)))
}

// extend guesses the hours of day at which nobody ever was, as far as launches are open then: half of the hour nearer to the
// middle of the day, and so on. An assumption: what is not watched is not zero.
func (f *fitter) extend(all *[24]float64) {
	first, last := 24, -1
	for h, s := range f.staffed {
		if s {
			first, last = min(first, h), max(last, h)
		}
	}
	for h := first - 1; h >= 0; h-- {
		all[h] = all[h+1] / 2 * f.d.open(h)
	}
	for h := last + 1; h < 24; h++ {
		all[h] = all[h-1] / 2 * f.d.open(h)
	}
	for h := first + 1; h < last; h++ {
		if !f.staffed[h] {
			all[h] = all[h-1] / 2
		}
	}
}

func sum(x []float64) float64 {
	s := 0.0
	for _, v := range x {
		s += v
	}
	return s
}

// days regresses the days' counts on their kind and draws each day to what is usual.
func (f *fitter) days() error {
	n := len(f.day)
	clear(f.dayE)
	for _, h := range f.d.Hours {
		f.dayE[h.Day] += h.Exposure * f.a[h.Launch] * f.hour[profile(f.d.Days[h.Day].Type)][h.Hour] / float64(n)
	}
	design, r, err := f.regress()
	if err != nil {
		return err
	}
	f.regressed, f.dayShape = r, r.Theta
	total := 0.0
	for i := range n {
		eta := 0.0
		for k := range r.Coef {
			eta += r.Coef[k] * design.Row(i)[k]
		}
		f.usual[i] = math.Exp(eta + f.weather.spread[i])
		u := 1.0
		if !math.IsInf(f.dayShape, 1) {
			u = (f.dayShape + f.dayN[i]) / (f.dayShape + f.dayE[i]*f.usual[i])
		}
		f.day[i] = f.usual[i] * u
		total += f.day[i]
	}
	for i := range n {
		f.day[i] /= total
		f.usual[i] /= total
	}
	return nil
}

// regress fits the staffed days' counts to their kind. What the data cannot tell apart is left out and said in the notes: first
// the weather, then every kind.
func (f *fitter) regress() (*glm.Design, *glm.Result, error) {
	fit := func(x *glm.Design, rows []int) (*glm.Result, error) {
		sub := glm.NewDesign(len(rows), x.Names...)
		p := glm.Problem{Design: sub}
		for k, i := range rows {
			copy(sub.Row(k), x.Row(i))
			p.Y = append(p.Y, f.dayN[i])
			p.Offset = append(p.Offset, math.Log(f.dayE[i])+f.weather.spread[i])
		}
		return glm.FitNegBin(p)
	}
	f.notes = nil
	design, rows := f.design()
	r, err := fit(&design, rows)
	if err != nil && len(f.weather.names) > 0 {
		// Out for all turns: a term that came and went would never stand still.
		f.weather = weather{spread: make([]float64, len(f.day)), why: err}
		design, rows = f.design()
		r, err = fit(&design, rows)
	}
	if f.weather.why != nil {
		f.notes = append(f.notes, "The days staffed do not tell the weather apart from day types and months, so it is no term: "+f.weather.why.Error()+".")
	}
	if err == nil {
		f.spreadOf(r.Coef, r.Names)
		return &design, r, nil
	}
	// Too few days for their kinds: one level for all, said in the notes.
	flat := glm.NewDesign(len(f.day), "intercept")
	for i := range flat.X {
		flat.X[i] = 1
	}
	f.notes = append(f.notes, "The days staffed do not tell day types and months apart, so every day counts as alike: "+err.Error()+".")
	if r, err = fit(&flat, rows); err != nil {
		return nil, nil, fmt.Errorf("days: %w", err)
	}
	return &flat, r, nil
}

// design of all days. Levels that no staffed day has are left out: such a day counts as the first level's. rows are the
// staffed days.
func (f *fitter) design() (glm.Design, []int) {
	var rows []int
	types, months := map[int]int{}, map[int]int{}
	for i, d := range f.d.Days {
		if f.dayE[i] > 0 {
			rows = append(rows, i)
			types[d.Type]++
			months[d.Month]++
		}
	}
	names := []string{"intercept"}
	var column []func(day int) float64
	base := -1
	for t := range 3 {
		if types[t] == 0 {
			continue
		}
		if base < 0 {
			base = t
			continue
		}
		names = append(names, [...]string{"weekday", "weekend", "holiday"}[t])
		column = append(column, func(day int) float64 {
			kind := f.d.Days[day].Type
			return indicator(kind == t || t == 1 && kind == 2 && types[2] == 0)
		})
	}
	// The month with the most staffed days is the one to compare with.
	usual, best := 0, -1
	for m, k := range months {
		if k > best || k == best && m < usual {
			usual, best = m, k
		}
	}
	for m := range 13 {
		if months[m] > 0 && m != usual {
			names = append(names, fmt.Sprintf("month %d against month %d", m, usual))
			column = append(column, func(day int) float64 { return indicator(f.d.Days[day].Month == m) })
		}
	}
	// Days on which somebody counted and nobody said the weather have a level of their own, or they would tilt what the weather
	// does where it is one kind of weather that goes unsaid. A month in which nobody ever said it has one already.
	said := map[int]bool{}
	for _, i := range rows {
		said[f.d.Days[i].Month] = said[f.d.Days[i].Month] || !f.weather.unsaid(i)
	}
	unsaid := func(day int) bool {
		return f.dayE[day] > 0 && f.weather.unsaid(day) && said[f.d.Days[day].Month]
	}
	if slices.ContainsFunc(rows, unsaid) {
		names = append(names, Unsaid)
		column = append(column, func(day int) float64 { return indicator(unsaid(day)) })
	}
	names = append(names, f.weather.names...)
	x := glm.NewDesign(len(f.d.Days), names...)
	for i := range f.d.Days {
		row := x.Row(i)
		row[0] = 1
		for k, c := range column {
			row[k+1] = c(i)
		}
		if len(f.weather.names) > 0 {
			copy(row[1+len(column):], f.weather.value[i])
		}
	}
	return x, rows
}

func indicator(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

// launches draws each launch to the region.
func (f *fitter) launches() {
	clear(f.e)
	for _, h := range f.d.Hours {
		f.e[h.Launch] += h.Exposure * f.day[h.Day] * f.hour[profile(f.d.Days[h.Day].Type)][h.Hour]
	}
	for range 8 {
		top, bottom := 0.0, 0.0
		for l, e := range f.e {
			if e == 0 {
				continue
			}
			// Weighted as the counts of a negative binomial are: a large launch says no more of the region than a small one.
			w := 1.0
			if f.factor > 0 {
				w = 1 / (1 + f.factor*f.base[l]*e/f.shape)
			}
			top += w * f.n[l]
			bottom += w * f.base[l] * e
		}
		f.factor = top / bottom
	}
	f.shape = f.bestShape()
	for l := range f.a {
		prior := f.factor * f.base[l]
		f.a[l] = (f.shape + f.n[l]) / (f.shape/prior + f.e[l])
	}
}

// usualSpread is the variance, relative to the squared mean, that launches are expected to show about a guess or a region's
// mean before any count: a coefficient of variation of 0.4, an assumption. It weighs as much as two launches.
const usualSpread = 0.16

// bestShape is the shape of the gamma distribution of launches: the most likely one by their counts and a gamma prior of
// shape 2 on its inverse, so that a few launches that happen to agree do not show that all do.
func (f *fitter) bestShape() float64 {
	value := func(logPhi float64) float64 {
		phi := math.Exp(logPhi)
		v := logPhi - phi/usualSpread
		for l, e := range f.e {
			if e > 0 {
				v += glm.NegBinLogP(f.n[l], f.factor*f.base[l]*e, 1/phi)
			}
		}
		return v
	}
	// The sum has one top for all but made-up counts.
	return math.Exp(-num.Peak(math.Log(1e-4), math.Log(20), 40, value))
}
