package flows

import (
	"cmp"
	"math"
	"slices"

	"thwart/engine/arrivals"
	"thwart/engine/num"
	"thwart/season"
)

// Site names a water or a launch.
type Site struct {
	ID   string  `json:"id"`
	Name string  `json:"name"`
	Lon  float64 `json:"lon"`
	Lat  float64 `json:"lat"`
}

// LaunchArrivals is what is believed of one launch.
type LaunchArrivals struct {
	Launch  Site         `json:"launch"`
	Water   string       `json:"water" doc:"id"`
	Season  num.Interval `json:"season" doc:"craft that come to launch in the season; 95 % interval"`
	Counted float64      `json:"counted" doc:"while somebody was there, those not recorded included"`
	Hours   float64      `json:"hours" doc:"with at least one person on site"`
	Share   float64      `json:"share" doc:"of the season's arrivals that these hours could have met"`
}

// DayArrivals is one day of the region.
type DayArrivals struct {
	Day      season.Day   `json:"day"`
	Type     string       `json:"type" enum:"weekday,weekend,holiday"`
	Craft    num.Interval `json:"craft" doc:"that come to all launches; the interval is that of the whole season's level"`
	Usual    float64      `json:"usual" doc:"on such a day, its weather taken in where that is a term, without the day's own luck"`
	Counted  float64      `json:"counted"`
	Expected float64      `json:"expected" doc:"in the hours staffed on it, at the usual level"`
}

// ArrivalsReport is when craft arrive.
type ArrivalsReport struct {
	From     season.Day       `json:"from"`
	To       season.Day       `json:"to"`
	Total    num.Interval     `json:"total" doc:"craft that come to all launches in the season"`
	Launches []LaunchArrivals `json:"launches" doc:"the busiest first"`
	Days     []DayArrivals    `json:"days"`
	// Hours are shares of a day's arrivals by hour of day.
	Weekday   [24]float64     `json:"weekdayHours" doc:"share of a weekday's arrivals by hour of day"`
	Free      [24]float64     `json:"freeDayHours" doc:"share of a weekend day's or holiday's arrivals by hour of day"`
	Effects   []ArrivalFactor `json:"effects" doc:"of day type, month and weather on arrivals"`
	DaySpread float64         `json:"daySpread" doc:"how much days differ beyond their kind: a coefficient of variation"`
	Warnings  []Caveat        `json:"warnings"`
}

// ArrivalFactor is an effect as a factor on arrivals.
type ArrivalFactor struct {
	Name   string       `json:"name"`
	Factor num.Interval `json:"factor"`
}

// Arrivals reports when craft arrive.
func (m *Model) Arrivals() ArrivalsReport {
	a := m.arrived
	r := ArrivalsReport{From: m.first, To: m.first + season.Day(m.days-1), Weekday: a.HourShare[0], Free: a.HourShare[1], DaySpread: a.DaySpread, Warnings: m.warnings}
	for l := range a.Launches {
		x := &a.Launches[l]
		lau := &m.book.Launches[l]
		r.Launches = append(r.Launches, LaunchArrivals{
			Launch: Site{lau.Subject, lau.Body.Name, lau.Body.At.Lon(), lau.Body.At.Lat()}, Water: lau.Body.Water,
			Season: x.Season, Counted: x.Count, Hours: x.Hours, Share: x.Share,
		})
	}
	r.Total = a.Total
	slices.SortStableFunc(r.Launches, func(x, y LaunchArrivals) int { return cmp.Compare(y.Season.Mid, x.Season.Mid) })
	for d := range a.DayShare {
		r.Days = append(r.Days, DayArrivals{
			Day: m.first + season.Day(d), Type: season.DayType(m.dayInfo[d].Type).String(), Craft: r.Total.Scale(a.DayShare[d]),
			Usual: r.Total.Mid * a.DayUsual[d], Counted: a.DayCount[d], Expected: a.DayExpected[d],
		})
	}
	for _, e := range a.Effects {
		r.Effects = append(r.Effects, ArrivalFactor(e))
	}
	return r
}

// Usual gives the arrivals expected at a launch of the book in one hour of a kind of day, on average over the season's days of
// that kind.
func (m *Model) Usual(launch int, t season.DayType, hour int) num.Interval {
	share, n := 0.0, 0.0
	for d, info := range m.dayInfo {
		if season.DayType(info.Type) == t {
			share += m.arrived.DayUsual[d]
			n++
		}
	}
	if n == 0 {
		return num.Interval{}
	}
	profile := min(int(t), 1)
	return m.arrived.Launches[launch].Season.Scale(share / n * m.arrived.HourShare[profile][hour])
}

// ArrivalsEstimate gives the fitted arrivals, launches in the order of the book.
func (m *Model) ArrivalsEstimate() *arrivals.Estimate { return m.arrived }

// WaterFlow is one water in the model.
type WaterFlow struct {
	Site
	AreaHa  float64 `json:"areaHa"`
	Outside bool    `json:"outside,omitempty"`
	Met     float64 `json:"met" doc:"share of the season's arrivals that could have been met and told where they came from; 0 = nobody was there"`
	Into    float64 `json:"into" doc:"passages from other waters in the season"`
	Out     float64 `json:"out" doc:"passages to other waters of the region"`
	// IntoRange and OutRange are the doubt about them; nil where there are too many waters to draw them.
	IntoRange *num.Interval `json:"intoRange,omitempty" doc:"the same: median and 95 % of the draws; left out beyond 1,500 waters"`
	OutRange  *num.Interval `json:"outRange,omitempty"`
	Back      *num.Interval `json:"back,omitempty" doc:"craft that come back to the water they left"`
}

// PairFlow is the passages between two waters.
type PairFlow struct {
	From     string       `json:"from" doc:"id of the water"`
	To       string       `json:"to" doc:"id of the water"`
	KM       float64      `json:"km" doc:"by road"`
	Counted  float64      `json:"counted"`
	Model    float64      `json:"model" doc:"passages that the model gives without looking at the pair's own count"`
	Passages num.Interval `json:"passages" doc:"believed after the pair's own count; 95 % interval"`
}

// FlowsReport is the passages of a season.
type FlowsReport struct {
	From   season.Day  `json:"from"`
	To     season.Day  `json:"to"`
	Waters []WaterFlow `json:"waters" doc:"the most visited first"`
	Pairs  []PairFlow  `json:"pairs" doc:"the largest first, as many as were asked for"`
	All    int         `json:"all" doc:"pairs there are"`
	Total  float64     `json:"total" doc:"passages between waters, all pairs"`
	// TotalRange is its doubt.
	TotalRange *num.Interval `json:"totalRange,omitempty" doc:"the same: median and 95 % of the draws"`
	Warnings   []Caveat      `json:"warnings"`
}

// Flows reports passages between waters, the largest pairs of which are listed. It is an error where no flows were fitted.
func (m *Model) Flows(top int) (FlowsReport, error) {
	r := FlowsReport{From: m.first, To: m.first + season.Day(m.days-1), Warnings: m.warnings}
	if m.why != nil {
		return r, m.why
	}
	n := len(m.waters)
	into, out := make([]float64, n), make([]float64, n)
	row := make([]float64, n)
	largest := make([]PairFlow, 0, top+1)
	for i := range n {
		m.table.LogKM(i, row)
		for j := range n {
			if i == j || !m.data.Inside[j] {
				continue
			}
			r.All++
			count := m.counts[[2]int32{int32(i), int32(j)}]
			mean := m.fit.Passages(i, j, row[j], count)
			into[j] += mean
			out[i] += mean
			r.Total += mean
			if top > 0 && (len(largest) < top || mean > largest[len(largest)-1].Passages.Mid) {
				f := m.fit.Flow(i, j, row[j], count)
				p := PairFlow{From: m.id(i), To: m.id(j), KM: math.Exp(row[j]), Counted: count, Model: f.Model, Passages: f.Passages}
				at, _ := slices.BinarySearchFunc(largest, p, func(a, b PairFlow) int { return cmp.Compare(b.Passages.Mid, a.Passages.Mid) })
				largest = slices.Insert(largest, at, p)
				largest = largest[:min(len(largest), top)]
			}
		}
	}
	r.Pairs = largest
	intoRange, outRange, all, err := m.totals()
	if err != nil {
		return r, err
	}
	r.TotalRange = all
	for i := range n {
		w := &m.book.Waters[m.waters[i]]
		f := WaterFlow{Site: m.water(i), AreaHa: w.Body.AreaHa, Outside: w.Body.Outside, Met: m.data.Effort[i], Into: into[i], Out: out[i]}
		if intoRange != nil {
			f.IntoRange, f.OutRange = &intoRange[i], &outRange[i]
		}
		if back := m.fit.ReturnFlow(i); back.Model > 0 {
			f.Back = &back.Passages
		}
		r.Waters = append(r.Waters, f)
	}
	slices.SortStableFunc(r.Waters, func(a, b WaterFlow) int { return cmp.Compare(b.Into, a.Into) })
	return r, nil
}

func (m *Model) id(i int) string { return m.book.Waters[m.waters[i]].Subject }

func (m *Model) water(i int) Site {
	w := &m.book.Waters[m.waters[i]]
	return Site{w.Subject, w.Body.Name, w.Body.Centre.Lon(), w.Body.Centre.Lat()}
}
