package flows_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"thwart"
	"thwart/season"
	"thwart/season/flows"
	"thwart/unit"
)

// withWeather is a book whose shifts say what say gives.
func withWeather(base *season.Book, say func(s *season.Shift) *thwart.Weather) *season.Book {
	book := *base
	book.Shifts = slices.Clone(base.Shifts)
	for i := range book.Shifts {
		book.Shifts[i].Weather = say(&book.Shifts[i])
	}
	return &book
}

// weather is all of it, said.
func weather(airC float64, wet bool) *thwart.Weather {
	return &thwart.Weather{AirC: new(unit.Celsius(airC)), RHPct: new(60.0), Wet: &wet}
}

func modelOf(t *testing.T, book *season.Book) *flows.Model {
	t.Helper()
	m, err := flows.New(book, flows.Options{Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// The demo's weather comes back: it is said in steps of six degrees at launches that differ, so the factors may lie nearer to 1.
func TestTheDemosWeather(t *testing.T) {
	w, _ := demoBook()
	_, m := fitted(t)
	u := m.Weather()
	noNaN(t, u)
	if len(u.Terms) != 2 || u.Known < u.Staffed*3/4 || u.Known > u.Staffed {
		t.Fatalf("%+v", u)
	}
	for k, truth := range []float64{10 * w.Truth.Weather.PerDegree, w.Truth.Weather.Wet} {
		if f := u.Terms[k].Factor; !f.Contains(math.Exp(truth)) {
			t.Errorf("%s: %+v; true factor %.3f", u.Terms[k].Name, f, math.Exp(truth))
		}
	}
	if c := m.Card(); len(c.Weather.Terms) != 2 || len(c.Weather.Said) < 3 {
		t.Errorf("the card says %+v", c.Weather)
	}
}

// Where too few days know their weather, where days do not differ in it, or where it goes with the month, it is no term; the card says
// so, and arrivals are as if nobody had said anything.
func TestWeatherThatIsNoTerm(t *testing.T) {
	_, base := demoBook()
	silent := modelOf(t, withWeather(base, func(*season.Shift) *thwart.Weather { return nil }))
	first := base.Shifts[0].From.Day()
	mild := weather(18, false)
	rain := func(s *season.Shift) bool { return s.From.Day()%2 == 0 }
	for name, c := range map[string]struct {
		say   func(*season.Shift) *thwart.Weather
		said  string
		terms []string
	}{
		"nobody says it": {func(*season.Shift) *thwart.Weather { return nil }, "20 staffed days that say it are needed", nil},
		"few days": {func(s *season.Shift) *thwart.Weather {
			if s.From.Day() > first+12 {
				return nil
			}
			return weather(10+float64(s.From.Day()%7), rain(s))
		}, "20 staffed days that say it are needed", nil},
		"always the same": {func(*season.Shift) *thwart.Weather { return mild }, "0 of the days that say it were wet", nil},
		"as the month": {func(s *season.Shift) *thwart.Weather {
			return weather(10+float64(s.From.Day().Month()), s.From.Day().Month()%2 == 0)
		}, "do not tell it apart", nil},
		"warmth alone": {func(s *season.Shift) *thwart.Weather {
			return weather(10+float64(s.From.Day()%9), false)
		}, "0 of the days that say it were wet", []string{"air 10 °C warmer"}},
		"rain alone": {func(s *season.Shift) *thwart.Weather {
			return &thwart.Weather{Wet: new(rain(s))}
		}, "“air 10 °C warmer” is no term: 20 staffed days that say all of the weather are needed", []string{"wet day against dry"}},
		"the air alone, and rain on a few days": {func(s *season.Shift) *thwart.Weather {
			said := weather(10+float64(s.From.Day()%9), rain(s))
			if s.From.Day() > first+12 {
				said.Wet = nil
			}
			return said
		}, "“wet day against dry” is no term: 20 staffed days that say all of the weather are needed", []string{"air 10 °C warmer"}},
	} {
		t.Run(name, func(t *testing.T) {
			m := modelOf(t, withWeather(base, c.say))
			u := m.Weather()
			if all := strings.Join(u.Said, " "); !strings.Contains(all, c.said) {
				t.Errorf("%q is not in: %s", c.said, all)
			}
			var terms []string
			for _, x := range u.Terms {
				terms = append(terms, x.Name)
			}
			if !slices.Equal(terms, c.terms) {
				t.Errorf("terms %q; want %q", terms, c.terms)
			}
			if a, b := m.ArrivalsEstimate().Total, silent.ArrivalsEstimate().Total; c.terms == nil && math.Abs(a.Mid/b.Mid-1) > 1e-6 {
				t.Errorf("arrivals %+v; without weather %+v", a, b)
			}
		})
	}
}

// Held-out weeks are foretold without their weather: what is foretold of them does not change with what they say of it.
func TestHeldOutWeeksDoNotKnowTheirWeather(t *testing.T) {
	_, base := demoBook()
	from := modelOf(t, base).Arrivals().From
	score := func(other thwart.Weather) flows.ModelScore {
		c := modelOf(t, withWeather(base, func(s *season.Shift) *thwart.Weather {
			if int(s.From.Day()-from)/7%4 == 3 { // every fourth week, as the card says
				return &other
			}
			return s.Weather
		})).Card()
		if c.Held == nil || c.Held.Note != "" {
			t.Fatalf("%+v", c.Held)
		}
		return c.Held.Scores[0]
	}
	if a, b := score(*weather(5, false)), score(*weather(30, true)); a != b {
		t.Errorf("weather of the weeks held out moved what was foretold of them from %+v to %+v", a, b)
	}
}
