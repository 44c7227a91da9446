package glm_test

import (
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"thwart/engine/glm"
	"thwart/engine/num"
	"thwart/internal/refcheck"
)

func TestWhatCannotBeFitted(t *testing.T) {
	x := []float64{1, 2, 3, 4, 5, 6}
	group := []float64{0, 0, 0, 1, 1, 1}
	twice := []float64{2, 4, 6, 8, 10, 12}
	d := func(c ...column) glm.Design { return design(6, append([]column{ones(6)}, c...)...) }
	for _, c := range []struct {
		name string
		p    glm.Problem
		says string
	}{
		{"a copy of a column", glm.Problem{Family: glm.Poisson, Y: x, Design: d(column{"km", x}, column{"miles", twice})}, "miles"},
		{"a group of zeros", glm.Problem{Family: glm.Poisson, Y: []float64{3, 5, 2, 0, 0, 0}, Design: d(column{"group", group})}, "group"},
		{"all zeros", glm.Problem{Family: glm.Poisson, Y: make([]float64, 6), Design: d()}, "intercept"},
		{"a clean cut", glm.Problem{Family: glm.Binomial, Y: group, Design: d(column{"km", x})}, "km"},
		{"a cut with a tie", glm.Problem{Family: glm.Binomial, Y: []float64{0, 0, 0, 1, 1, 1}, Design: d(column{"km", []float64{1, 2, 3, 3, 4, 5}})}, "km"},
		{"a negative count", glm.Problem{Family: glm.Poisson, Y: []float64{1, -1, 0, 2, 1, 1}, Design: d()}, "y in row 2"},
		{"no effort", glm.Problem{Family: glm.Poisson, Y: x, Offset: []float64{0, 0, math.Inf(-1), 0, 0, 0}, Design: d()}, "offset in row 3"},
		{"not a number", glm.Problem{Family: glm.Poisson, Y: x, Design: d(column{"km", []float64{1, 2, math.NaN(), 4, 5, 6}})}, "km in row 3"},
		{"more successes than trials", glm.Problem{Family: glm.Binomial, Y: []float64{0, 0, 2, 1, 1, 1}, Design: d()}, "y in row 3"},
		{"a count short", glm.Problem{Family: glm.Poisson, Y: x[:5], Design: d()}, "5 numbers"},
		{"fewer rows than columns", glm.Problem{Family: glm.Poisson, Y: x[:1], Design: design(1, ones(1), column{"km", x[:1]})}, "km"},
		{"no weight", glm.Problem{Family: glm.Poisson, Y: x, Weight: make([]float64, 6), Design: d()}, "weight in row 1"},
	} {
		for _, fit := range []func(glm.Problem) (*glm.Result, error){glm.Fit, glm.FitNegBin} {
			if c.p.Family == glm.Binomial && fit != nil {
				fit = glm.Fit
			}
			r, err := fit(c.p)
			if err == nil || !strings.Contains(err.Error(), c.says) {
				t.Errorf("%s: %+v, %v; want an error that names %q", c.name, r, err, c.says)
			}
		}
	}
	var sep *glm.SeparationError
	if _, err := glm.Fit(glm.Problem{Family: glm.Poisson, Y: []float64{3, 5, 2, 0, 0, 0}, Design: d(column{"group", group})}); !errors.As(err, &sep) || sep.Rows != 3 {
		t.Errorf("%v: want a separation of 3 rows", err)
	}
	// A zero in every group is no separation.
	if _, err := glm.Fit(glm.Problem{Family: glm.Poisson, Y: []float64{3, 0, 0, 0, 0, 1}, Design: d(column{"group", group})}); err != nil {
		t.Error(err)
	}
}

func TestCountsThatVaryLittle(t *testing.T) {
	y := []float64{3, 3, 4, 3, 2, 3, 3, 4, 3, 3}
	p := glm.Problem{Family: glm.Poisson, Y: y, Design: design(10, ones(10))}
	r, err := glm.FitNegBin(p)
	if err != nil || !math.IsInf(r.Theta, 1) || r.ThetaSE != 0 {
		t.Fatalf("%+v, %v: want θ = +Inf", r, err)
	}
	want := sure[*glm.Result](t)(glm.Fit(p))
	if r.LogLik != want.LogLik || r.Coef[0] != want.Coef[0] {
		t.Error("without over-dispersion the fit is the Poisson fit")
	}
}

// The sandwich of an intercept alone has a closed form: Σ(y−ȳ)²/(nȳ)².
func TestRobustErrors(t *testing.T) {
	y := []float64{1, 9, 0, 4, 16, 0, 2, 8}
	r := sure[*glm.Result](t)(glm.Fit(glm.Problem{Family: glm.Poisson, Y: y, Design: design(8, ones(8))}))
	var ss float64
	for _, v := range y {
		ss += (v - 5) * (v - 5)
	}
	_, se, err := r.Robust(nil)
	if err != nil {
		t.Fatal(err)
	}
	refcheck.Near(t, "robust SE", se[0], math.Sqrt(ss)/40, 1e-12, "closed form")
	// Rows doubled within their cluster say nothing new.
	twice := slices.Concat(y, y)
	r2 := sure[*glm.Result](t)(glm.Fit(glm.Problem{Family: glm.Poisson, Y: twice, Design: design(16, ones(16))}))
	clusters := []int{0, 1, 2, 3, 4, 5, 6, 7, 0, 1, 2, 3, 4, 5, 6, 7}
	_, se2, err := r2.Robust(clusters)
	if err != nil {
		t.Fatal(err)
	}
	refcheck.Near(t, "clustered SE of doubled rows", se2[0], se[0], 1e-12, "identity")
	if r2.SE[0] > 0.8*r.SE[0] {
		t.Error("the errors that trust the rows should have shrunk by the root of two")
	}
}

func TestRobustErrorsHoldWherePoissonErrorsDoNot(t *testing.T) {
	r := num.Stream(5, "robust")
	const n, reps = 300, 200
	inside, poisson := 0, 0
	for range reps {
		y, d := make([]float64, n), glm.NewDesign(n, "intercept", "x")
		for i := range n {
			x := r.NormFloat64()
			copy(d.Row(i), []float64{1, x})
			y[i] = num.NegBin(r, math.Exp(1+0.5*x), 1)
		}
		f := sure[*glm.Result](t)(glm.Fit(glm.Problem{Family: glm.Poisson, Y: y, Design: d}))
		_, se, err := f.Robust(nil)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(f.Coef[1]-0.5) < 1.96*se[1] {
			inside++
		}
		if math.Abs(f.Coef[1]-0.5) < 1.96*f.SE[1] {
			poisson++
		}
	}
	if inside < 176 || poisson > 150 {
		t.Errorf("of %d intervals %d robust and %d Poisson ones hold the truth; want about 190 and far fewer", reps, inside, poisson)
	}
}

// A hurdle fit of counts without a surplus of zeros, and a zero-inflated one, must not invent what is not there.
func TestMixturesOfPlainCounts(t *testing.T) {
	r := num.Stream(9, "plain")
	const n = 2000
	y, d := make([]float64, n), glm.NewDesign(n, "intercept", "x")
	for i := range n {
		x := r.NormFloat64()
		copy(d.Row(i), []float64{1, x})
		own := 0.0
		if r.Float64() >= 0.3 {
			own = 1
		}
		y[i] = own * num.NegBin(r, math.Exp(1+0.5*x), 2)
	}
	z := glm.NewDesign(n, "intercept")
	for i := range n {
		z.X[i] = 1
	}
	m := sure[*glm.Mixture](t)(glm.FitZeroInflated(glm.Counts{Y: y, Count: d, Zero: z, NegBin: true}))
	pi := 1 / (1 + math.Exp(-m.Zero.Coef[0]))
	if math.Abs(m.Zero.Coef[0]-math.Log(0.3/0.7)) > 3*m.Zero.SE[0] || math.Abs(m.Count.Coef[1]-0.5) > 3*m.Count.SE[1] || math.Abs(m.Theta-2) > 3*m.ThetaSE {
		t.Errorf("share %.3f of own zeros, slope %v ± %v, θ %v ± %v", pi, m.Count.Coef[1], m.Count.SE[1], m.Theta, m.ThetaSE)
	}
	if _, err := glm.FitZeroInflated(glm.Counts{Y: []float64{1, 2, 3.5}, Count: design(3, ones(3)), Zero: design(3, ones(3))}); err == nil {
		t.Error("half a boat was taken as a count")
	}
	if _, err := glm.FitZeroInflated(glm.Counts{Y: []float64{1, 2, 3}, Count: design(3, ones(3)), Zero: design(3, ones(3))}); err == nil {
		t.Error("no zero at all, and yet a share of own zeros")
	}
}
