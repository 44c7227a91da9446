package flows

import (
	"fmt"
	"maps"
	"math"
	"slices"

	"thwart/engine/arrivals"
	"thwart/engine/num"
	"thwart/season"
)

// WeatherUsed says what the weather is in the arrivals.
type WeatherUsed struct {
	Staffed int           `json:"daysStaffed"`
	Known   int           `json:"daysKnown" doc:"staffed days of which at least one shift said the weather: every part of it that is a term, or any part where none is"`
	Terms   []WeatherTerm `json:"terms" doc:"empty where the weather is no term; said tells why"`
	Said    []string      `json:"said" doc:"how the weather of a day is had, and what was done with days that do not know it"`
}

// WeatherTerm is one thing that weather does to arrivals.
type WeatherTerm struct {
	Name   string       `json:"name"`
	Words  string       `json:"words"`
	Factor num.Interval `json:"factor" doc:"times as many craft; 95 % interval"`
}

// What the records must hold before weather is a term.
const (
	// Ten days for each of the two numbers it adds: a rule of thumb made for other regressions (Peduzzi et al. 1996, Journal of
	// Clinical Epidemiology 49:1373-1379; from memory).
	fewestWeatherDays = 20
	// Days of one month that differ by less say nothing of warmth, and days of one kind nothing of wet; common practice, no source.
	leastAirSDC   = 1.0
	fewestWetDays = 5 // wet, and as many dry
)

// weatherKind is one number of a day's weather.
type weatherKind struct {
	name, words string
	of          func(season.DayWeather) float64
	said        func(season.DayWeather) bool
	lacks       func(*knownDays) string // why the days do not carry a term; empty where they do
}

var weatherKinds = []weatherKind{
	{"air 10 °C warmer", "times as many craft on a day 10 °C warmer than another of its kind and month", func(d season.DayWeather) float64 { return d.AirC / 10 },
		func(d season.DayWeather) bool { return d.SaidAir > 0 },
		func(k *knownDays) string {
			if k.airSDC < leastAirSDC {
				return fmt.Sprintf("the air of days of one month differs by %.1f °C (standard deviation), and %.0f °C are needed for a term", k.airSDC, leastAirSDC)
			}
			return ""
		}},
	{"wet day against dry", "times as many craft on a day that all shifts said was wet as on one that all said was dry", func(d season.DayWeather) float64 { return d.Wet },
		func(d season.DayWeather) bool { return d.SaidWet > 0 },
		func(k *knownDays) string {
			if min(k.wet, k.dry) < fewestWetDays {
				return fmt.Sprintf("%d of the days that say it were wet and %d dry, and %d of each are needed for a term", k.wet, k.dry, fewestWetDays)
			}
			return ""
		}},
}

// saysAll tells whether a day says the parts that these terms go by.
func saysAll(d season.DayWeather, kinds []weatherKind) bool {
	return !slices.ContainsFunc(kinds, func(k weatherKind) bool { return !k.said(d) })
}

// knownDays is how much the staffed days that know their weather differ in it.
type knownDays struct {
	days, wet, dry int
	airSDC         float64 // about the mean of the month
}

// knownDays counts the staffed days that say the parts that these terms go by.
func (m *Model) knownDays(weather map[season.Day]season.DayWeather, staffed []bool, kinds []weatherKind) knownDays {
	var k knownDays
	type sums struct{ n, air, square float64 }
	months := map[int]sums{}
	for d, on := range staffed {
		w, ok := weather[m.first+season.Day(d)]
		if !on || !ok || !saysAll(w, kinds) {
			continue
		}
		k.days++
		if w.Wet >= 0.5 {
			k.wet++
		} else {
			k.dry++
		}
		s := months[m.dayInfo[d].Month]
		months[m.dayInfo[d].Month] = sums{s.n + 1, s.air + w.AirC, s.square + w.AirC*w.AirC}
	}
	square := 0.0
	for _, month := range slices.Sorted(maps.Keys(months)) {
		s := months[month]
		square += math.Max(0, s.square-s.air*s.air/s.n)
	}
	if free := k.days - len(months); free > 0 {
		k.airSDC = math.Sqrt(square / float64(free))
	}
	return k
}

// takeWeather gives the days the weather that their shifts said, as far as it can be a term.
func (m *Model) takeWeather() {
	weather := m.book.Weather()
	staffed := make([]bool, m.days)
	for _, h := range m.hours {
		staffed[h.Day] = true
	}
	u := &m.weather
	*u = WeatherUsed{Terms: []WeatherTerm{}, Said: []string{}}
	for _, on := range staffed {
		u.Staffed += count(on)
	}
	u.Known = m.knownDays(weather, staffed, nil).days
	said := m.saidOften(weather, staffed)
	if len(said) == 0 {
		u.Said = append(u.Said, fmt.Sprintf("Weather is no term: %d staffed days that say it are needed. What it did is in the luck of the days.", fewestWeatherDays))
		return
	}
	k := m.knownDays(weather, staffed, said)
	var kinds []weatherKind
	for _, kind := range weatherKinds {
		why := fmt.Sprintf("%d staffed days that say all of the weather are needed", fewestWeatherDays)
		if slices.ContainsFunc(said, func(s weatherKind) bool { return s.name == kind.name }) {
			why = kind.lacks(&k)
		}
		if why != "" {
			u.Said = append(u.Said, fmt.Sprintf("“%s” is no term: %s.", kind.name, why))
			continue
		}
		kinds = append(kinds, kind)
		m.weatherNames = append(m.weatherNames, kind.name)
	}
	if len(kinds) == 0 {
		return
	}
	u.Known = m.knownDays(weather, staffed, kinds).days
	for d := range m.dayInfo {
		if w, ok := weather[m.first+season.Day(d)]; ok && saysAll(w, kinds) {
			for _, kind := range kinds {
				m.dayInfo[d].Weather = append(m.dayInfo[d].Weather, kind.of(w))
			}
		}
	}
}

// saidOften are the kinds of weather that enough staffed days say, all of them together: a regression takes a day whole or not at all.
// Where the days that say each are others, the kind that more of them say stays.
func (m *Model) saidOften(weather map[season.Day]season.DayWeather, staffed []bool) []weatherKind {
	if m.knownDays(weather, staffed, weatherKinds).days >= fewestWeatherDays {
		return weatherKinds
	}
	var most []weatherKind
	days := fewestWeatherDays - 1
	for _, kind := range weatherKinds {
		if n := m.knownDays(weather, staffed, []weatherKind{kind}).days; n > days {
			most, days = []weatherKind{kind}, n
		}
	}
	return most
}

// tellWeather reads the fitted terms off the arrivals.
func (m *Model) tellWeather() {
	u := &m.weather
	for _, kind := range weatherKinds {
		at := slices.IndexFunc(m.arrived.Effects, func(e arrivals.Effect) bool { return e.Name == kind.name })
		if at >= 0 {
			u.Terms = append(u.Terms, WeatherTerm{kind.name, kind.words, m.arrived.Effects[at].Factor})
		}
	}
	if len(u.Terms) == 0 {
		if len(m.weatherNames) > 0 {
			u.Said = append(u.Said, "Weather is no term: the staffed days do not tell it apart from kinds of day and months.")
		}
		return
	}
	u.Said = append(u.Said, "The weather of a day is what its shifts said when they began: the mean of the air and the share of wet, each shift alike.")
	if missing := u.Staffed - u.Known; missing > 0 {
		u.Said = append(u.Said, fmt.Sprintf("The staffed days whose shifts did not (%d) have the mean weather of their month and a level of their own, “%s”, so that they tilt no term.", missing, arrivals.Unsaid))
	}
	u.Said = append(u.Said, "Days on which nobody was have the mean of the factors of their month’s staffed days; where none of the month said the weather, that of all days that did.",
		"People say the weather without an instrument and launches differ, which draws the factors towards 1. They compare days of one kind and month; they do not say that weather is the cause.")
}

// Weather says what the weather is in the arrivals.
func (m *Model) Weather() WeatherUsed { return m.weather }

// withoutWeather takes the weather from some days, as if nobody had said it.
func withoutWeather(d *arrivals.Data, of func(day int) bool) {
	d.Days = slices.Clone(d.Days)
	known := false
	for i := range d.Days {
		if of(i) {
			d.Days[i].Weather = nil
		}
		known = known || d.Days[i].Weather != nil
	}
	if !known {
		d.WeatherNames = nil
	}
}
