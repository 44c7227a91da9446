package skill

import (
	"fmt"
	"math"
	"os"
	"strconv"
	"testing"

	"thwart/engine/num"
)

// seasonTally is what many invented seasons say of the estimates.
type seasonTally struct {
	people, covered, rawCovered int
	shrunk, raw                 float64 // sums of squared errors
	width                       float64
}

// season invents 24 stewards whose true chances come from Beta(mean·weight, …), gives each between 2 and 30 planted objects,
// and holds estimates against the truth.
func (s *seasonTally) season(t *testing.T, seed uint64, mean, weight float64) {
	r := num.Stream(seed, fmt.Sprintf("season %v %v", mean, weight))
	const stewards = 24
	truth, counts := make([]float64, stewards), make([]num.Count, stewards)
	for i := range truth {
		truth[i] = num.Beta(r, weight*mean, weight*(1-mean))
		counts[i].N = 2 + r.IntN(29)
		for range counts[i].N {
			if r.Float64() < truth[i] {
				counts[i].X++
			}
		}
	}
	// The prior of the library for what is felt, whatever the truth is.
	p, err := Fit(counts, Hyper{MeanA: 6.5, MeanB: 3.5, MinWeight: 2, MaxWeight: 2000})
	if err != nil {
		t.Fatal(err)
	}
	for i, c := range counts {
		e, err := p.Person(c, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		s.people++
		s.shrunk += (e.Mean - truth[i]) * (e.Mean - truth[i])
		s.raw += (c.Rate() - truth[i]) * (c.Rate() - truth[i])
		s.width += e.Hi - e.Lo
		if e.Lo <= truth[i] && truth[i] <= e.Hi {
			s.covered++
		}
		if w, err := num.Wilson(c.X, c.N, 0.95); err == nil && w.Contains(truth[i]) {
			s.rawCovered++
		}
	}
}

// Intervals at 95 % hold the truth in 90 to 99 % of cases, and shrunken estimates err less than raw rates, however alike the
// people are. THWART_SEASONS sets the number of seasons; the documentation records 400.
func TestSeasonsOfTrials(t *testing.T) {
	seasons := 16
	if n, err := strconv.Atoi(os.Getenv("THWART_SEASONS")); err == nil {
		seasons = n
	}
	t.Logf("mean weight | coverage Wilson | rms shrunken raw | mean width")
	for _, truth := range [][2]float64{{0.65, 5}, {0.65, 18}, {0.65, 100}, {0.88, 18}, {0.45, 18}} {
		var s seasonTally
		for seed := range uint64(seasons) {
			s.season(t, seed, truth[0], truth[1])
		}
		n := float64(s.people)
		cover := float64(s.covered) / n
		t.Logf("%.2f %5.0f | %.3f %.3f | %.4f %.4f | %.3f", truth[0], truth[1], cover, float64(s.rawCovered)/n, math.Sqrt(s.shrunk/n), math.Sqrt(s.raw/n), s.width/n)
		if cover < 0.90 || cover > 0.99 {
			t.Errorf("truth Beta mean %v weight %v: 95 %% intervals hold the truth in %.1f %%", truth[0], truth[1], 100*cover)
		}
		if s.shrunk >= s.raw {
			t.Errorf("truth Beta mean %v weight %v: shrunken estimates err more than raw rates", truth[0], truth[1])
		}
	}
}
