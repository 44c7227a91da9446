package queue_test

import (
	"errors"
	"strings"
	"testing"

	"thwart/engine/queue"
	"thwart/internal/refcheck"
)

// fixture is a day of 160 craft whose exact answer is known.
func fixture() queue.Day {
	return queue.Day{
		From: 6, ServedPerH: 15, ArrivalsPerH: []float64{2, 6, 14, 20, 24, 22, 18, 16, 14, 12, 8, 4},
		Servers: []int{1, 1, 1, 2, 2, 2, 2, 1, 1, 1, 1, 1},
	}
}

func TestDayIsExact(t *testing.T) {
	d := fixture()
	r := refcheck.Must[queue.DayResult](t)(d.Compute(5.0 / 60))
	// The means of the reference are sums over small steps, good to 1e-5 (they miss the balance below by that much); its values at
	// the ends of hours are good to the last digit shown.
	const src = "Kolmogorov equations with 150 places, integrated with SciPy 1.10.1"
	before := 0.0
	for h, want := range [][4]float64{
		{0.140192, 0.017116, 0.123076, 0.153818}, {0.566756, 0.200241, 0.366515, 0.656014}, {2.389007, 1.643201, 0.745806, 3.468817},
		{2.823223, 1.427576, 0.697823, 2.534118}, {3.331831, 1.813713, 0.759059, 3.762312}, {3.449715, 1.952103, 0.748806, 3.298140},
		{2.427523, 1.143848, 0.641838, 2.043046}, {3.841574, 2.991499, 0.850075, 5.291929}, {5.620468, 4.731808, 0.888660, 5.962038},
		{5.500816, 4.646971, 0.853845, 5.154374}, {3.635435, 2.930321, 0.705114, 2.577676}, {1.284924, 0.889700, 0.395224, 0.649351},
	} {
		x := r.Hours[h]
		refcheck.Near(t, "mean present", x.Present, want[0], 1e-5, src)
		refcheck.Near(t, "mean waiting", x.Waiting, want[1], 1e-5, src)
		refcheck.Near(t, "utilisation", x.Utilisation, want[2], 1e-5, src)
		refcheck.Near(t, "present at the end", x.EndPresent, want[3], 6e-7, src)
		served := d.ServedPerH * x.Utilisation * float64(d.Servers[h])
		refcheck.Near(t, "change in craft present", x.EndPresent-before, x.Arrivals-served-x.TurnedAway, 1e-10, "what comes less what goes")
		before = x.EndPresent
	}
	refcheck.Near(t, "boat-hours of waiting", r.WaitingH, 24.388, 5.1e-4, src)
	refcheck.Near(t, "mean wait in minutes", r.WaitH*60, 9.15, 5.1e-3, src)
}

func TestDaySettlesToClosedForms(t *testing.T) {
	steady := func(lambda, theta float64, c, places int) queue.Hour {
		d := queue.Day{ServedPerH: 15, LeavePerH: theta, Places: places}
		for range 30 {
			d.ArrivalsPerH, d.Servers = append(d.ArrivalsPerH, lambda), append(d.Servers, c)
		}
		r := refcheck.Must[queue.DayResult](t)(d.Compute(5.0 / 60))
		return r.Hours[29]
	}
	must := refcheck.Must[queue.Steady](t)
	s, x := must(queue.MMC(20, 15, 2)), steady(20, 0, 2, 150)
	refcheck.Near(t, "L_q", x.Waiting, s.Waiting, 1e-9, "M/M/c")
	refcheck.Near(t, "P(W > 5 min)", x.Late, s.Over(5.0/60), 1e-9, "M/M/c tail")
	s, x = must(queue.ErlangA(28, 15, 6, 2)), steady(28, 6, 2, 150)
	refcheck.Near(t, "L_q", x.Waiting, s.Waiting, 1e-9, "Erlang A")
	refcheck.Near(t, "left", x.Left/28, s.Left, 1e-9, "Erlang A")
	s, x = must(queue.MMCK(28, 15, 2, 8)), steady(28, 0, 2, 8)
	refcheck.Near(t, "blocked", x.TurnedAway/28, s.PBlocked, 1e-9, "M/M/c/K")
	// A target of nothing is the chance to wait at all; a very fast stream is cut into pieces and stays a distribution.
	d := queue.Day{ServedPerH: 3000, ArrivalsPerH: []float64{800, 800}, Servers: []int{1, 1}}
	r := refcheck.Must[queue.DayResult](t)(d.Compute(0))
	refcheck.Near(t, "P(wait)", r.Hours[1].Late, 800.0/3000, 1e-9, "M/M/1")
}

func TestSmallestCrewKeepsTheGoal(t *testing.T) {
	d := fixture()
	goal := queue.Goal{TargetMin: 10, Share: 0.95}
	even, r, err := queue.SmallestCrew(d, goal)
	if err != nil || r.Late > 0.05 {
		t.Fatalf("%v late %g, %v", even, r.Late, err)
	}
	for h := range even {
		d.Servers[h] = even[h] - 1
	}
	if less, _ := d.Compute(10.0 / 60); less.Late <= 0.05 {
		t.Errorf("one fewer would do: %g late", less.Late)
	}
	d = fixture()
	hourly, r, err := queue.SmallestCrews(d, goal)
	if err != nil || r.Late > 0.05 || total(hourly) >= total(even) {
		t.Fatalf("%v late %g, %v", hourly, r.Late, err)
	}
	d.Servers = hourly
	for h := range hourly {
		if hourly[h] == 1 {
			continue
		}
		hourly[h]--
		if less, _ := d.Compute(10.0 / 60); less.Late <= 0.05 {
			t.Errorf("one fewer in hour %d would do", h)
		}
		hourly[h]++
	}
	var few *queue.TooFew
	if _, _, err := queue.SmallestCrew(fixture(), queue.Goal{TargetMin: 0, Share: 0.999, Most: 2}); !errors.As(err, &few) || few.Most != 2 {
		t.Errorf("%v", err)
	}
}

func total(list []int) (n int) {
	for _, x := range list {
		n += x
	}
	return n
}

func TestDayRefuses(t *testing.T) {
	for word, d := range map[string]queue.Day{
		"servers by hour":  {ArrivalsPerH: []float64{1, 2}, Servers: []int{1}, ServedPerH: 15},
		"arrivals per hou": {ArrivalsPerH: []float64{-1}, Servers: []int{1}, ServedPerH: 15},
		"served per hour":  {ArrivalsPerH: []float64{1}, Servers: []int{1}},
		"places":           {ArrivalsPerH: []float64{1}, Servers: []int{1}, ServedPerH: 15, Places: -2},
	} {
		if _, err := d.Compute(0.1); err == nil || !strings.Contains(err.Error(), word) {
			t.Errorf("%s: %v", word, err)
		}
	}
}

func BenchmarkDay(b *testing.B) {
	d := fixture()
	for b.Loop() {
		if _, err := d.Compute(5.0 / 60); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkSmallestCrews(b *testing.B) {
	for b.Loop() {
		if _, _, err := queue.SmallestCrews(fixture(), queue.Goal{TargetMin: 10, Share: 0.95}); err != nil {
			b.Fatal(err)
		}
	}
}
