package queue_test

import (
	"math"
	"reflect"
	"strings"
	"testing"

	"thwart/engine/num"
	"thwart/engine/queue"
	"thwart/internal/refcheck"
)

func same[T any](n int, x T) []T {
	out := make([]T, n)
	for i := range out {
		out[i] = x
	}
	return out
}

// settled simulates long days at one rate and gives the mean wait in minutes with its 99 % interval.
func settled(t *testing.T, p queue.Ramp, hours int) num.Interval {
	t.Helper()
	lambda, c := p.ArrivalsPerH[0], p.Stewards[0]
	p.ArrivalsPerH, p.Stewards = same(hours, lambda), same(hours, c)
	r := refcheck.Must[queue.RampResult](t)(p.Simulate())
	return r.WaitMin
}

func one(minutes, cv2 float64) []queue.Class {
	return []queue.Class{{Name: "any", Share: 1, Inspect: queue.ServiceTime{Minutes: minutes, CV2: cv2}}}
}

// Long days begin empty; of 800 h the few until the queue has settled weigh far less than the interval is wide.
func TestSimulationHoldsClosedForms(t *testing.T) {
	for name, x := range map[string]struct {
		lambda, minutes, cv2 float64
		c                    int
		want                 float64
		source               string
	}{
		"M/M/1":           {12, 4, 1, 1, 16, "M/M/1: C/(cμ-λ)"},
		"M/M/2":           {20, 4, 1, 2, 3.2, "M/M/2"},
		"M/M/3":           {40, 4, 1, 3, 9.5701, "M/M/3"},
		"M/D/1":           {12, 4, 0, 1, 8, "Pollaczek-Khinchine"},
		"M/G/1 of 1/12":   {12, 4, 1.0 / 12, 1, 8.6666667, "Pollaczek-Khinchine"},
		"M/D/2 exact":     {24, 4, 0, 2, 3.6131355, "exact M/D/2, computed"},
		"M/D/3 at 36/h":   {36, 4, 0, 3, 2.2156009, "exact M/D/3, computed"},
		"M/D/3 at 40/h":   {40, 4, 0, 3, 4.8489792, "exact M/D/3, computed"},
		"heavy tail, 1":   {10, 4, 3, 1, 60 * (10.0 / 15) / 15 * (1 + 3) / (2 * (1 - 10.0/15)), "Pollaczek-Khinchine by hand"},
		"lightly loaded ": {3, 4, 1, 1, 60 * 0.2 / (15 - 3), "M/M/1"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			p := queue.Ramp{ArrivalsPerH: []float64{x.lambda}, Stewards: []int{x.c}, Classes: one(x.minutes, x.cv2), Days: 12, Seed: 11}
			wait := settled(t, p, 800)
			if !wait.Contains(x.want) || wait.Hi-wait.Lo > 0.5*x.want {
				t.Errorf("mean wait %.4f (%.4f to %.4f), want %.4f (%s)", wait.Mid, wait.Lo, wait.Hi, x.want, x.source)
			}
		})
	}
}

func TestSimulationHoldsErlangAAndTails(t *testing.T) {
	p := queue.Ramp{ArrivalsPerH: []float64{28}, Stewards: []int{2}, Classes: one(4, 1), PatienceMin: 10, Days: 12, Seed: 5}
	hours := 800
	p.ArrivalsPerH, p.Stewards = same(hours, 28.0), same(hours, 2)
	r := refcheck.Must[queue.RampResult](t)(p.Simulate())
	left := r.Left.Scale(1.0 / float64(hours) / 28)
	if !left.Contains(0.19139808) {
		t.Errorf("left %+v, Erlang A says 0.1914", left)
	}
	p.PatienceMin, p.TargetMin = 0, 5
	p.ArrivalsPerH = same(hours, 20.0)
	r = refcheck.Must[queue.RampResult](t)(p.Simulate())
	if !r.Late.Contains(0.231786) {
		t.Errorf("late %+v, M/M/2 says 0.2318", r.Late)
	}
	// M/M/c/K: six places with one server leave five to wait.
	p = queue.Ramp{ArrivalsPerH: same(hours, 20.0), Stewards: same(hours, 1), Classes: one(4, 1), MaxWaiting: 5, Days: 12, Seed: 5}
	r = refcheck.Must[queue.RampResult](t)(p.Simulate())
	if away := r.TurnedAway.Scale(1.0 / float64(hours) / 20); !away.Contains(0.28851166) {
		t.Errorf("turned away %+v, M/M/1/6 says 0.2885", away)
	}
}

// The exact day and the simulated one agree hour by hour where the crew only grows; where it shrinks the simulation lets a steward
// end what was begun, and the exact one does not.
func TestSimulationHoldsTheExactDay(t *testing.T) {
	d := fixture()
	d.Servers = []int{1, 1, 1, 2, 2, 2, 2, 2, 2, 2, 2, 2}
	exact := refcheck.Must[queue.DayResult](t)(d.Compute(5.0 / 60))
	p := queue.Ramp{From: 6, ArrivalsPerH: d.ArrivalsPerH, Stewards: d.Servers, Classes: one(4, 1), TargetMin: 5, Days: 1500, Seed: 3}
	r := refcheck.Must[queue.RampResult](t)(p.Simulate())
	if !r.Late.Contains(exact.Late) || r.Late.Hi-r.Late.Lo > 0.04 {
		t.Errorf("late %+v, exact %g", r.Late, exact.Late)
	}
	if !r.Arrivals.Contains(160) || r.Hours[4].Hour != 10 {
		t.Errorf("arrivals %+v, hour %d", r.Arrivals, r.Hours[4].Hour)
	}
	for h, x := range r.Hours {
		if math.Abs(x.Late-exact.Hours[h].Late) > 0.035 || math.Abs(x.Busy-exact.Hours[h].Utilisation) > 0.035 {
			t.Errorf("hour %d: late %.4f busy %.4f, exact %.4f and %.4f", x.Hour, x.Late, x.Busy, exact.Hours[h].Late, exact.Hours[h].Utilisation)
		}
	}
}

func rampDay() queue.Ramp {
	return queue.Ramp{
		From: 6, ArrivalsPerH: fixture().ArrivalsPerH, Stewards: fixture().Servers, Bays: same(12, 1), TargetMin: 10, Days: 300, Seed: 7, MaxWaiting: 12, PatienceMin: 30,
		Classes: []queue.Class{
			{Name: "runabout", Share: 3, Inspect: queue.ServiceTime{Minutes: 4, CV2: 0.3}, Fail: 0.08, Failing: queue.ServiceTime{Minutes: 7, CV2: 0.3}, Wash: queue.ServiceTime{Minutes: 25, CV2: 0.1}},
			{Name: "wakeboat", Share: 1, Inspect: queue.ServiceTime{Minutes: 7, CV2: 0.3}, Fail: 0.3, Wash: queue.ServiceTime{Minutes: 40, CV2: 0.1}},
		},
	}
}

func TestRampKeepsItsBooks(t *testing.T) {
	p := rampDay()
	r := refcheck.Must[queue.RampResult](t)(p.Simulate())
	if again := refcheck.Must[queue.RampResult](t)(p.Simulate()); !reflect.DeepEqual(r, again) {
		t.Error("the same seed gave another day")
	}
	lanes := map[int]float64{}
	bays := map[int]float64{}
	lastBegan := 0.0
	for _, b := range r.Sample {
		if b.Lane > 0 {
			if b.Began < b.Came || b.Began < lanes[b.Lane] || b.Began < lastBegan || b.Lane > p.Stewards[min(11, int(b.Began)-6)] {
				t.Errorf("%+v begins before its turn", b)
			}
			lanes[b.Lane], lastBegan = b.Ended, b.Began
		}
		if b.Bay > 0 && (b.WashOn < b.Ended || b.Fate != "washed") {
			t.Errorf("%+v", b)
		}
		if b.Bay > 0 {
			bays[b.Bay] = math.Max(bays[b.Bay], b.WashOff)
		}
	}
	// Two crews meet the same craft, and the larger one never makes anybody come later.
	p.Stewards = same(12, 3)
	more := refcheck.Must[queue.RampResult](t)(p.Simulate())
	if more.Arrivals != r.Arrivals || more.WaitMin.Mid >= r.WaitMin.Mid || more.Late.Mid >= r.Late.Mid || len(more.Sample) != len(r.Sample) {
		t.Errorf("%+v against %+v", more.WaitMin, r.WaitMin)
	}
	if r.TurnedAway.Mid == 0 || r.Left.Mid == 0 || r.Washed.Mid == 0 || r.OvertimeMin.Mid == 0 || r.WashP95Min == 0 {
		t.Errorf("nothing happened: %+v", r)
	}
	p.Bays = nil
	if dry := refcheck.Must[queue.RampResult](t)(p.Simulate()); dry.Washed.Mid != 0 {
		t.Errorf("washed without a bay: %+v", dry.Washed)
	}
}

func TestRampRefuses(t *testing.T) {
	for word, spoil := range map[string]func(*queue.Ramp){
		"stewards by hour":           func(p *queue.Ramp) { p.Stewards = p.Stewards[:3] },
		"at least 1 in the last":     func(p *queue.Ramp) { p.Stewards[11] = 0 },
		"classes[1].inspect.minutes": func(p *queue.Ramp) { p.Classes[1].Inspect.Minutes = 0 },
		"classes[0].wash.minutes":    func(p *queue.Ramp) { p.Classes[0].Wash.Minutes = 0 },
		"sum of shares":              func(p *queue.Ramp) { p.Classes = nil },
		"arrivals per hour":          func(p *queue.Ramp) { p.ArrivalsPerH = same(12, math.NaN()) },
		"20 million":                 func(p *queue.Ramp) { p.ArrivalsPerH, p.Days = same(12, 900.0), 100_000 },
	} {
		p := rampDay()
		spoil(&p)
		if _, err := p.Simulate(); err == nil || !strings.Contains(err.Error(), word) {
			t.Errorf("%s: %v", word, err)
		}
	}
}

func BenchmarkRamp(b *testing.B) {
	p := rampDay()
	for b.Loop() {
		if _, err := p.Simulate(); err != nil {
			b.Fatal(err)
		}
	}
}
