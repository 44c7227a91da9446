package arrivals_test

import (
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"thwart/engine/arrivals"
	"thwart/engine/num"
)

// The weather of the seasons drawn: the logarithm of a day's factor is warmEffect for each 10 °C and wetEffect on a wet day. A wet day
// is cooler, so neither can be read off alone.
const (
	warmEffect = 0.30
	wetEffect  = -0.50
)

var weatherTerms = []string{"10 °C warmer", "wet"}

// sky draws the weather of a season's days.
func sky(r *rand.Rand, days int) [][]float64 {
	out := make([][]float64, days)
	for i := range out {
		usual := []float64{12, 17, 21, 20, 14}[i/31]
		wet := 0.0
		if r.Float64() < 0.25 {
			wet = 1
		}
		out[i] = []float64{(usual - 3*wet + 3.5*r.NormFloat64()) / 10, wet}
	}
	return out
}

func factorOf(w []float64) float64 { return math.Exp(warmEffect*w[0] + wetEffect*w[1]) }

// weatherSeasons is how many seasons are drawn: THWART_SEASONS, else a few.
func weatherSeasons() int {
	if n, err := strconv.Atoi(os.Getenv("THWART_SEASONS")); err == nil && n > 0 {
		return n
	}
	return 24
}

// The true effects must lie in as many of the 95 % intervals as they promise, their estimates be off to neither side, and the season's
// arrivals be the same whether every day knows its weather or not: where days are unknown by chance, where they are the wet ones, and
// where it is the busy ones that nobody had time to write down.
func TestWeatherComesBack(t *testing.T) {
	const days = 153
	n := weatherSeasons()
	for name, unknown := range map[string]func(r *rand.Rand, w []float64, free bool) bool{
		"every day known":          func(*rand.Rand, []float64, bool) bool { return false },
		"two of five unknown":      func(r *rand.Rand, _ []float64, _ bool) bool { return r.Float64() < 0.4 },
		"wet days mostly unknown":  func(r *rand.Rand, w []float64, _ bool) bool { return r.Float64() < 0.15+0.55*w[1] },
		"free days mostly unknown": func(r *rand.Rand, _ []float64, free bool) bool { return free && r.Float64() < 0.7 },
		"a whole month is unknown": nil,
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			var in, all int
			var off, square [2]float64
			var more, moreSquare float64 // of the season's total against that with every day known
			for seed := range uint64(n) {
				r := num.Stream(seed, "sky")
				weather := sky(r, days)
				_, d := drawnUnder(500+seed, 6, days, 250, func(day int) float64 { return factorOf(weather[day]) })
				d.WeatherNames = weatherTerms
				for i := range d.Days {
					d.Days[i].Weather = weather[i]
				}
				// Nobody says the weather where nobody is.
				staffed := map[int]bool{}
				for _, h := range d.Hours {
					staffed[h.Day] = true
				}
				for i := range d.Days {
					if !staffed[i] {
						d.Days[i].Weather = nil
					}
				}
				known, err := arrivals.Fit(d)
				if err != nil {
					t.Fatal(err)
				}
				for i := range d.Days {
					if d.Days[i].Weather == nil {
						continue
					}
					if unknown == nil && d.Days[i].Month == 7 || unknown != nil && unknown(r, weather[i], d.Days[i].Type > 0) {
						d.Days[i].Weather = nil
					}
				}
				e, err := arrivals.Fit(d)
				if err != nil {
					t.Fatal(err)
				}
				for k, x := range e.Effects[len(e.Effects)-2:] {
					truth := []float64{warmEffect, wetEffect}[k]
					if x.Name != weatherTerms[k] {
						t.Fatalf("effects %+v", e.Effects)
					}
					all++
					if x.Factor.Contains(math.Exp(truth)) {
						in++
					}
					o := math.Log(x.Factor.Mid) - truth
					off[k] += o / float64(n)
					square[k] += o * o / float64(n)
				}
				m := math.Log(e.Total.Mid / known.Total.Mid)
				more += m / float64(n)
				moreSquare += m * m / float64(n)
			}
			error1 := func(mean, square float64) float64 { return math.Sqrt((square - mean*mean) / float64(n)) }
			t.Logf("%d of %d intervals hold the truth (%.1f %%); mean errors %+.4f (± %.4f) and %+.4f (± %.4f); total %+.4f (± %.4f)", in, all, 100*float64(in)/float64(all),
				off[0], error1(off[0], square[0]), off[1], error1(off[1], square[1]), more, error1(more, moreSquare))
			// The share that holds the truth is 95 % but for chance, of which three standard deviations are let through: the two intervals
			// of a season are not independent, so they count as one.
			if share, slack := float64(in)/float64(all), 3*math.Sqrt(0.95*0.05/float64(n)); math.Abs(share-0.95) > slack {
				t.Errorf("%d of %d intervals hold the truth; want 95 %% ± %.1f", in, all, 100*slack)
			}
			for k := range off {
				if s := error1(off[k], square[k]); math.Abs(off[k]) > 3.5*s {
					t.Errorf("%s: mean error %+.4f, which chance moves by %.4f", weatherTerms[k], off[k], s)
				}
			}
			if s := error1(more, moreSquare); math.Abs(more) > math.Max(3.5*s, 0.005) {
				t.Errorf("the season's arrivals differ by a factor of exp(%+.4f ± %.4f) from those with every day known", more, s)
			}
		})
	}
}

// A day on which nobody was is neither as the mean of its month's weather, whose factor is below the mean factor, nor without any.
func TestUnknownDayHasTheMeanFactor(t *testing.T) {
	r := num.Stream(1, "sky")
	weather := sky(r, 153)
	_, d := drawnUnder(9, 15, 153, 900, func(day int) float64 { return factorOf(weather[day]) })
	d.WeatherNames = weatherTerms
	for i := range d.Days {
		if i != 100 {
			d.Days[i].Weather = weather[i]
		}
	}
	d.Hours = slices.DeleteFunc(d.Hours, func(h arrivals.Hour) bool { return h.Day == 100 })
	e, err := arrivals.Fit(d)
	if err != nil {
		t.Fatal(err)
	}
	coef := [2]float64{}
	for k, x := range e.Effects[len(e.Effects)-2:] {
		coef[k] = math.Log(x.Factor.Mid)
	}
	// Days of one kind and month differ by their weather alone.
	mean, n, plain := 0.0, 0.0, 0.0
	for i, day := range d.Days {
		if day.Month != d.Days[100].Month || i == 100 {
			continue
		}
		f := math.Exp(coef[0]*weather[i][0] + coef[1]*weather[i][1])
		if day.Type == d.Days[100].Type {
			plain = e.DayUsual[i] / f
		}
		mean += f
		n++
	}
	if got, want := e.DayUsual[100], plain*mean/n; math.Abs(got/want-1) > 1e-4 {
		t.Errorf("the day's usual share is %.6g; %.6g is the mean over its month", got, want)
	}
}

// Weather that goes with the month alone is no term, and that is said.
func TestWeatherThatCannotBeToldApart(t *testing.T) {
	_, d := drawn(9, 15, 153, 400)
	d.WeatherNames = []string{"warm"}
	for i := range d.Days {
		d.Days[i].Weather = []float64{float64(d.Days[i].Month)}
	}
	e, err := arrivals.Fit(d)
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range e.Effects {
		if x.Name == "warm" {
			t.Errorf("%+v", x)
		}
	}
	if len(e.Notes) == 0 || !strings.Contains(e.Notes[0], "weather") {
		t.Errorf("notes %q", e.Notes)
	}
	d.WeatherNames = nil
	for i := range d.Days {
		d.Days[i].Weather = nil
	}
	plain, err := arrivals.Fit(d)
	if err != nil || math.Abs(plain.Total.Mid-e.Total.Mid) > 1e-6*plain.Total.Mid {
		t.Errorf("%v, %v without weather, %v; want the same", plain.Total, e.Total, err)
	}
}
