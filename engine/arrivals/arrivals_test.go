package arrivals_test

import (
	"errors"
	"math"
	"testing"

	"thwart/engine/arrivals"
	"thwart/engine/num"
)

type trueSeason struct {
	a    []float64
	day  []float64
	hour [2][24]float64
}

// drawn makes a season of known rates and counts it as a programme would: not every launch, not every day.
func drawn(seed uint64, launches, days, shifts int) (trueSeason, *arrivals.Data) {
	return drawnUnder(seed, launches, days, shifts, func(int) float64 { return 1 })
}

// drawnUnder is a season whose days have factors of their own beside their kind and luck.
func drawnUnder(seed uint64, launches, days, shifts int, factor func(day int) float64) (trueSeason, *arrivals.Data) {
	r := num.Stream(seed, "season")
	t := trueSeason{day: make([]float64, days)}
	d := &arrivals.Data{Launches: launches}
	for range launches {
		t.a = append(t.a, 2000*num.Gamma(r, 2)/2)
	}
	total := 0.0
	for i := range days {
		kind := 0
		if i%7 >= 5 {
			kind = 1
		}
		if i == 40 || i == 82 {
			kind = 2
		}
		month := 5 + i/31
		d.Days = append(d.Days, arrivals.DayInfo{Type: kind, Month: month})
		t.day[i] = []float64{1, 2.5, 3.1}[kind] * []float64{0.8, 1.1, 1.3, 1.1, 0.7}[month-5] * num.Gamma(r, 20) / 20 * factor(i)
		total += t.day[i]
	}
	for i := range t.day {
		t.day[i] /= total
	}
	for p := range t.hour {
		s := 0.0
		for h := range 24 {
			if h < 5 || h > 20 {
				continue
			}
			t.hour[p][h] = 0.02 + math.Exp(-math.Pow(float64(h)-9-2*float64(p), 2)/8)
			s += t.hour[p][h]
		}
		for h := range t.hour[p] {
			t.hour[p][h] /= s
		}
	}
	done := map[[2]int]bool{}
	for range shifts {
		l, day, from := r.IntN(launches-1), r.IntN(days), 5+r.IntN(9) // the last launch is never staffed
		if done[[2]int{l, day}] {
			continue
		}
		done[[2]int{l, day}] = true
		for h := from; h < from+8; h++ {
			p := min(d.Days[day].Type, 1)
			d.Hours = append(d.Hours, arrivals.Hour{Launch: l, Day: day, Hour: h, Exposure: 1, Count: num.Poisson(r, t.a[l]*t.day[day]*t.hour[p][h])})
		}
	}
	return t, d
}

func TestTheTruthLiesInTheIntervals(t *testing.T) {
	in, all, shareErr, n := 0, 0, 0.0, 0.0
	for seed := range uint64(16) {
		truth, d := drawn(seed, 15, 153, 400)
		e, err := arrivals.Fit(d)
		if err != nil {
			t.Fatal(err)
		}
		for l := range truth.a {
			all++
			if e.Launches[l].Season.Contains(truth.a[l]) {
				in++
			}
		}
		for l := range truth.a[:14] {
			share := 0.0
			for _, h := range d.Hours {
				if h.Launch == l {
					share += truth.day[h.Day] * truth.hour[min(d.Days[h.Day].Type, 1)][h.Hour]
				}
			}
			shareErr += math.Pow(math.Log(e.Launches[l].Share/share), 2)
			n++
		}
		last := e.Launches[14]
		if last.Hours != 0 || last.Share != 0 || !(last.Season.Hi > 3*last.Season.Lo) {
			t.Errorf("the launch that nobody staffed: %+v", last)
		}
		if s := total(e.DayShare); math.Abs(s-1) > 1e-9 {
			t.Errorf("days sum to %g", s)
		}
	}
	// 240 intervals at 95 %: 228 expected, standard deviation 3.4 where they are independent.
	if c := float64(in) / float64(all); c < 0.90 || c > 0.99 {
		t.Errorf("%d of %d seasons' arrivals lie in their intervals", in, all)
	}
	if rms := math.Sqrt(shareErr / n); rms > 0.08 {
		t.Errorf("shares are off by %.1f %%", 100*rms)
	}
}

func total(x []float64) (s float64) {
	for _, v := range x {
		s += v
	}
	return s
}

func TestDayTypesAndHours(t *testing.T) {
	truth, d := drawn(7, 15, 153, 900)
	e, err := arrivals.Fit(d)
	if err != nil {
		t.Fatal(err)
	}
	found := 0
	for _, x := range e.Effects {
		want := map[string]float64{"weekend": 2.5, "holiday": 3.1}[x.Name]
		if want != 0 {
			found++
			if !x.Factor.Contains(want) {
				t.Errorf("%s: %+v, true %g", x.Name, x.Factor, want)
			}
		}
	}
	if found != 2 {
		t.Errorf("effects %+v", e.Effects)
	}
	for p := range e.HourShare {
		for h := range 24 {
			if math.Abs(e.HourShare[p][h]-truth.hour[p][h]) > 0.02 {
				t.Errorf("profile %d, %d o'clock: %.3f, true %.3f", p, h, e.HourShare[p][h], truth.hour[p][h])
			}
		}
	}
	if e.DaySpread < 0.1 || e.DaySpread > 0.4 {
		t.Errorf("days differ by %.2f beyond their kind; true %.2f", e.DaySpread, 1/math.Sqrt(20))
	}
	if m := e.Mean(0, 40, 2, 10); math.Abs(m/(truth.a[0]*truth.day[40]*truth.hour[1][10])-1) > 0.4 {
		t.Errorf("mean %g", m)
	}
}

// A guess of people who know a launch stands in where nobody was.
func TestGuessesHelpWhereNobodyWas(t *testing.T) {
	truth, d := drawn(3, 15, 153, 600)
	d.Busy = make([]float64, 15)
	for l, a := range truth.a {
		d.Busy[l] = a / 153
	}
	d.Busy[14] = 200
	e, err := arrivals.Fit(d)
	if err != nil {
		t.Fatal(err)
	}
	if last := e.Launches[14].Season; !last.Contains(200*153) || last.Mid < 20000 {
		t.Errorf("a launch guessed at 200 craft a day: %+v", last)
	}
}

func TestBadInput(t *testing.T) {
	for name, c := range map[string]struct {
		do   func(*arrivals.Data)
		want error
	}{
		"no hours":        {func(d *arrivals.Data) { d.Hours = nil }, arrivals.ErrNoHours},
		"no craft":        {func(d *arrivals.Data) { clearCounts(d) }, arrivals.ErrNoCraft},
		"not a number":    {func(d *arrivals.Data) { d.Hours[0].Count = math.NaN() }, nil},
		"a launch beyond": {func(d *arrivals.Data) { d.Hours[0].Launch = 99 }, nil},
		"half a weather": {func(d *arrivals.Data) {
			d.WeatherNames, d.Days[0].Weather = []string{"warm", "wet"}, []float64{20}
		}, nil},
		"no weather":     {func(d *arrivals.Data) { d.WeatherNames = []string{"warm"} }, nil},
		"count in a gap": {func(d *arrivals.Data) { d.Hours[0].Exposure, d.Hours[0].Count = 0, 3 }, nil},
	} {
		_, d := drawn(1, 5, 60, 50)
		c.do(d)
		if _, err := arrivals.Fit(d); err == nil || c.want != nil && !errors.Is(err, c.want) {
			t.Errorf("%s: %v", name, err)
		}
	}
	// One launch for one hour: numbers or a message, never NaN.
	d := &arrivals.Data{Launches: 2, Days: make([]arrivals.DayInfo, 3), Hours: []arrivals.Hour{{Launch: 0, Day: 1, Hour: 9, Exposure: 0.5, Count: 4}}}
	e, err := arrivals.Fit(d)
	if err != nil {
		t.Fatal(err)
	}
	for l, r := range e.Launches {
		if math.IsNaN(r.Season.Mid) || math.IsNaN(r.Season.Lo) || !(r.Season.Hi > r.Season.Lo) {
			t.Errorf("launch %d: %+v", l, r.Season)
		}
	}
}

func clearCounts(d *arrivals.Data) {
	for i := range d.Hours {
		d.Hours[i].Count = 0
	}
}

func BenchmarkFit(b *testing.B) {
	_, d := drawn(1, 50, 153, 1200)
	for b.Loop() {
		if _, err := arrivals.Fit(d); err != nil {
			b.Fatal(err)
		}
	}
}
