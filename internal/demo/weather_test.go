package demo

import (
	"math"
	"reflect"
	"testing"
	"time"

	"thwart"
	"thwart/engine/glm"
	"thwart/engine/num"
)

// Over many days a regression of their luck on their weather gives back what the truth says of it.
func TestWeatherGoesWithTraffic(t *testing.T) {
	r := num.Stream(1, "many days")
	const n = 40_000
	luck, months := make([]float64, n), make([]time.Month, n)
	for d := range luck {
		luck[d], months[d] = weatherSD*r.NormFloat64(), time.July
	}
	sky := drawSky(r, months, luck)
	x := glm.NewDesign(n, "mean", "degree", "wet")
	for d := range luck {
		copy(x.Row(d), []float64{1, sky.AirC[d], float64(boolInt(sky.WetDay[d]))})
	}
	f, err := glm.Fit(glm.Problem{Y: luck, Design: x, Family: glm.Gaussian})
	if err != nil {
		t.Fatal(err)
	}
	for k, truth := range map[int]float64{1: sky.PerDegree, 2: sky.Wet} {
		if e := f.SE[k]; math.Abs(f.Coef[k]-truth) > 4*e {
			t.Errorf("%s: %.5f; want %.5f, which chance moves by %.5f", f.Names[k], f.Coef[k], truth, e)
		}
	}
	t.Logf("%.5f for a degree, %.5f on a wet day", sky.PerDegree, sky.Wet)
	if sky.PerDegree < 0.005 || sky.Wet > -0.05 {
		t.Errorf("%.4f for a degree and %.4f on a wet day: warm dry days are to carry more traffic", sky.PerDegree, sky.Wet)
	}
}

// What stewards say of the weather is near what it was, where they say it, and a shift that is closed still says it.
func TestStewardsSayTheWeather(t *testing.T) {
	s := theSeason(t)
	said, shifts, wetRight, dryRight, wet, dry, off := 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
	first := map[string]*thwart.Weather{}
	for i, e := range s.entries {
		sh, ok := s.bodies[i].(*thwart.Shift)
		if !ok {
			continue
		}
		if e.Supersedes == "" {
			first[e.Subject] = sh.Weather
			continue
		}
		if was := first[e.Subject]; !reflect.DeepEqual(was, sh.Weather) {
			t.Errorf("shift %s: %+v when it began, %+v when it was closed", e.Subject, was, sh.Weather)
		}
		shifts++
		if sh.Weather == nil {
			continue
		}
		said++
		d := int(sh.From.In(zone).Sub(s.w.First).Hours() / 24)
		off += (float64(*sh.Weather.AirC) - s.w.Truth.Weather.AirC[d])
		if s.w.Truth.Weather.WetDay[d] {
			wet++
			wetRight += float64(boolInt(*sh.Weather.Wet))
		} else {
			dry++
			dryRight += float64(boolInt(!*sh.Weather.Wet))
		}
	}
	within := func(what string, k, n, p float64) {
		if e := math.Sqrt(p * (1 - p) / n); math.Abs(k/n-p) > 4*e {
			t.Errorf("%s: %g of %g; want %.2f, which chance moves by %.3f", what, k, n, p, e)
		}
	}
	within("shifts that say the weather", said, shifts, saysWeather)
	within("wet said on a wet day", wetRight, wet, wetOnWetDay)
	within("dry said on a dry day", dryRight, dry, 1-wetOnADryDay)
	if m := off / said; math.Abs(m) > 0.6 { // a tenth of the step from one air to the next
		t.Errorf("the air said is off by %+.2f °C on average", m)
	}
}
