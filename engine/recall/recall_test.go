package recall

import (
	"math"
	"testing"
	"time"

	"thwart/engine/num"
	"thwart/internal/refcheck"
)

const paper = "Settles & Meeder 2016, equation 1, p = 2^(-Δ/h), by hand"

func TestChance(t *testing.T) {
	refcheck.Near(t, "h 7, Δ 3", Chance(3, 7), 0.7429971446, 1e-10, paper)
	refcheck.Near(t, "h 30, Δ 60", Chance(60, 30), 0.25, 1e-15, paper)
	refcheck.Near(t, "no time", Chance(0, 5), 0.9999, 0, "the published clip")
	refcheck.Near(t, "for ever", Chance(1e6, 5), 0.0001, 0, "the published clip")
}

func TestHalfLife(t *testing.T) {
	// A lone bias is a half-life of 2^bias days; the counts act by √(1+n).
	refcheck.Near(t, "nothing yet", Weights{Bias: 3, Right: 0.5, Wrong: -0.5}.HalfLifeDays(0, 0), 8, 1e-12, paper)
	refcheck.Near(t, "3 right, 8 wrong", Weights{Bias: 1, Right: 1, Wrong: -0.5}.HalfLifeDays(3, 8), math.Exp2(1+2-1.5), 1e-12, paper)
	refcheck.Near(t, "longest", Weights{Bias: 40}.HalfLifeDays(0, 0), 274, 0, "the published clip: nine months")
	refcheck.Near(t, "shortest", Weights{Bias: -40}.HalfLifeDays(0, 0), 15.0/1440, 0, "the published clip: 15 minutes")
}

func TestDue(t *testing.T) {
	last := time.Date(2026, 6, 1, 8, 0, 0, 0, time.UTC)
	w := Weights{Bias: 3}
	due, err := w.Due(last, 0, 0, 0.5)
	if err != nil || !due.Equal(last.AddDate(0, 0, 8)) {
		t.Errorf("due %v (%v), want one half-life later", due, err)
	}
	days, err := Start.DueDays(0, 0, 0.8)
	if err != nil || days < 4.5 || days > 7.5 {
		t.Errorf("a newcomer is due after %v days (%v)", days, err)
	}
	if _, err := w.Due(last, 0, 0, 1); err == nil {
		t.Error("a target of certainty is taken")
	}
	good, _ := Start.DueDays(50, 2, 0.8)
	bad, _ := Start.DueDays(26, 26, 0.8)
	if good <= bad {
		t.Errorf("who finds more is due sooner: %v and %v days", good, bad)
	}
}

// People whose practice follows the law with known weights: the fit comes near them, and foretells better than a constant
// and than weights nobody fitted.
func TestFitRecovers(t *testing.T) {
	truth := Weights{Bias: 2.6, Right: 0.45, Wrong: -0.30}
	r := num.Stream(11, "drills")
	make1 := func(people int) (out []Trace) {
		for range people {
			var right, wrong int
			for range 12 {
				tr := Trace{Days: 1 + 29*r.Float64(), Right: right, Wrong: wrong, Objects: 4}
				hits := 0
				for range tr.Objects {
					if r.Float64() < Chance(tr.Days, truth.HalfLifeDays(right, wrong)) {
						hits++
					}
				}
				tr.Share = float64(hits) / float64(tr.Objects)
				right, wrong = right+hits, wrong+tr.Objects-hits
				out = append(out, tr)
			}
		}
		return out
	}
	f, err := Fit(make1(60), Start)
	if err != nil {
		t.Fatal(err)
	}
	if f.Error >= f.Constant {
		t.Errorf("mean absolute error %v is no better than that of a constant, %v", f.Error, f.Constant)
	}
	for _, c := range [][2]int{{0, 0}, {4, 4}, {12, 8}, {30, 10}, {6, 20}} {
		got, want := f.HalfLifeDays(c[0], c[1]), truth.HalfLifeDays(c[0], c[1])
		if math.Abs(math.Log2(got/want)) > 0.5 {
			t.Errorf("half-life after %d right, %d wrong: %v days, made with %v", c[0], c[1], got, want)
		}
	}
	unseen := make1(60)
	if loss(unseen, f.Weights, f.Weights) >= loss(unseen, Start, Start) {
		t.Error("on drills it has not seen the fit is no better than its start")
	}
}

func TestFitHoldsToItsStart(t *testing.T) {
	if f, err := Fit(nil, Start); err != nil || f.Weights != Start {
		t.Errorf("%+v, %v", f, err)
	}
	f, err := Fit([]Trace{{Days: 5, Share: 0, Objects: 1}}, Start)
	if err != nil || math.Abs(f.Bias-Start.Bias) > 2 || f.HalfLifeDays(0, 0) >= Start.HalfLifeDays(0, 0) {
		t.Errorf("one miss: %+v, %v", f, err)
	}
	if _, err := Fit([]Trace{{Days: 0, Share: 1, Objects: 1}}, Start); err == nil {
		t.Error("no time between two practices is taken")
	}
	if _, err := Fit([]Trace{{Days: 1, Share: 2, Objects: 1}}, Start); err == nil {
		t.Error("a share of 2 is taken")
	}
}
