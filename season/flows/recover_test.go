package flows_test

import (
	"math"
	"os"
	"strconv"
	"testing"

	"thwart/season/flows"
)

// demoScale is the share of the demo's shifts worked. The whole season is for the heavy run alone.
var demoScale = func() float64 {
	if seasons() > 20 {
		return 1
	}
	return 0.25
}()

// seasons is how many seasons are drawn: THWART_SEASONS, else a few.
func seasons() int {
	if n, err := strconv.Atoi(os.Getenv("THWART_SEASONS")); err == nil && n > 0 {
		return n
	}
	return 8
}

// score counts intervals that hold the truth.
type score struct {
	name            string
	in, all         int
	bias, width, ss float64
}

func (s *score) add(estimate, lo, hi, truth float64) {
	s.all++
	if lo <= truth && truth <= hi {
		s.in++
	}
	s.bias += estimate - truth
	s.ss += (estimate - truth) * (estimate - truth)
	s.width += hi - lo
}

// The truth must lie in as many of the 95 % intervals as they promise. The table of the documentation is what
//
//	THWART_SEASONS=200 go test ./season/flows -run TestTruthIsRecovered -v -timeout 60m
//
// prints.
func TestTruthIsRecovered(t *testing.T) {
	w, base := demoBook()
	g := w.Truth.Gravity
	truth := map[string]float64{
		"intercept": g.Intercept, "origin": g.Origin, "pull": g.Destination, "distance": g.Distance, "return intercept": g.ReturnIntercept, "return size": g.Return,
	}
	scores := map[string]*score{}
	var order []string
	of := func(name string) *score {
		if scores[name] == nil {
			scores[name] = &score{name: name}
			order = append(order, name)
		}
		return scores[name]
	}
	water, launch := map[string]int{}, map[string]int{}
	for i := range w.Waters {
		water[w.Waters[i].ID] = i
	}
	for l := range w.Launches {
		launch[w.Launches[l].ID] = l
	}
	craft := 0
	for seed := range uint64(seasons()) {
		d, book := simulate(w, base, 1000+seed)
		craft += len(book.Encounters)
		m, err := flows.New(book, flows.Options{RoadKM: roads(w), Seed: seed})
		if err != nil || m.FlowError() != nil {
			t.Fatalf("seed %d: %v, %v", seed, err, m.FlowError())
		}
		coef, theta := m.Coefficients()
		for _, c := range coef {
			of(c.Name).add(c.Estimate, c.Lo, c.Hi, truth[c.Name])
		}
		of("log θ").add(math.Log(theta.Mid), math.Log(theta.Lo), math.Log(theta.Hi), math.Log(float64(g.Theta)))
		for k, term := range m.Weather().Terms {
			name, effect := "a day 10 °C warmer (log)", simulatedByTenC
			if k == 1 {
				name, effect = "a wet day (log)", simulatedWet
			}
			of(name).add(math.Log(term.Factor.Mid), math.Log(term.Factor.Lo), math.Log(term.Factor.Hi), effect)
		}
		for _, l := range m.Arrivals().Launches {
			a := d.arrivals[launch[l.Launch.ID]]
			of("arrivals of a launch (log)").add(math.Log(l.Season.Mid), math.Log(l.Season.Lo), math.Log(l.Season.Hi), math.Log(a))
		}
		f, err := m.Flows(5000)
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range f.Pairs {
			name := "passages of a pair (log)"
			of(name).add(math.Log(p.Passages.Mid), math.Log(p.Passages.Lo), math.Log(p.Passages.Hi), math.Log(d.passages[water[p.From]][water[p.To]]))
		}
		for _, x := range f.Waters {
			var into, out float64
			for k := range d.passages {
				if k != water[x.ID] {
					into += d.passages[k][water[x.ID]]
					out += d.passages[water[x.ID]][k]
				}
			}
			if into > 0 {
				of("passages into a water (log)").add(math.Log(x.IntoRange.Mid), math.Log(x.IntoRange.Lo), math.Log(x.IntoRange.Hi), math.Log(into))
			}
			if out > 0 {
				of("passages out of a water (log)").add(math.Log(x.OutRange.Mid), math.Log(x.OutRange.Lo), math.Log(x.OutRange.Hi), math.Log(out))
			}
		}
	}
	t.Logf("%d seasons of %d shifts, %.0f craft met on average", seasons(), len(base.Shifts), float64(craft)/float64(seasons()))
	t.Log("| what | intervals | hold the truth | mean error | RMS error | mean width |")
	t.Log("|---|---|---|---|---|---|")
	for _, name := range order {
		s := scores[name]
		n := float64(s.all)
		share := float64(s.in) / n
		t.Logf("| %s | %d | %.1f %% | %+.4f | %.4f | %.4f |", name, s.all, 100*share, s.bias/n, math.Sqrt(s.ss/n), s.width/n)
		lo, hi := 0.90, 0.99
		if seasons() < 100 { // chance alone: two of eight may miss
			if s.all < 100 {
				lo, hi = 0.7, 1
			} else {
				lo, hi = 0.88, 0.995
			}
		}
		if share < lo || share > hi {
			t.Errorf("%s: %d of %d intervals hold the truth; want %g to %g", name, s.in, s.all, lo, hi)
		}
	}
}

// Whoever ignores the hours staffed finds too little traffic, and blames the water for where the stewards stood.
func TestIgnoringEffortMisleads(t *testing.T) {
	w, base := demoBook()
	d, book := simulate(w, base, 7)
	right, err := flows.New(book, flows.Options{RoadKM: roads(w)})
	if err != nil {
		t.Fatal(err)
	}
	wrong, err := flows.New(book, flows.Options{RoadKM: roads(w), NoEffort: true})
	if err != nil {
		t.Fatal(err)
	}
	truth := 0.0
	for i := range d.passages {
		for j := range d.passages {
			if i != j {
				truth += d.passages[i][j]
			}
		}
	}
	a, err := right.Flows(1)
	if err != nil {
		t.Fatal(err)
	}
	b, err := wrong.Flows(1)
	if err != nil {
		t.Fatal(err)
	}
	ca, _ := right.Coefficients()
	cb, _ := wrong.Coefficients()
	t.Logf("true passages %.0f; with effort %.0f; without %.0f", truth, a.Total, b.Total)
	for k := range ca {
		t.Logf("%s: with effort %.3f ± %.3f, without %.3f ± %.3f", ca[k].Name, ca[k].Estimate, ca[k].SE, cb[k].Estimate, cb[k].SE)
	}
	if math.Abs(a.Total/truth-1) > 0.1 || b.Total > 0.5*truth {
		t.Errorf("true passages %.0f; with effort %.0f; without %.0f", truth, a.Total, b.Total)
	}
}
