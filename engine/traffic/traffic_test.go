package traffic_test

import (
	"errors"
	"math"
	"testing"

	"thwart/engine/glm"
	"thwart/engine/num"
	"thwart/engine/traffic"
	"thwart/internal/refcheck"
)

const g1 = "four origins and five waters, invented; estimates by R 4.2.2 glm and MASS glm.nb"

// example is the worked example: origins A to D send, waters L1 to L5 receive.
func example(over bool) *traffic.Data {
	o := []float64{1200, 400, 2500, 150}
	w := []float64{2, 12.5, 0.8, 30, 5}
	e := []float64{0.2, 0.5, 0.1, 0.4, 0.25}
	km := [][]float64{{8, 25, 14, 60, 33}, {30, 12, 45, 40, 22}, {55, 48, 70, 20, 38}, {18, 65, 9, 90, 50}}
	y := [][]float64{{61, 118, 18, 49, 27}, {3, 117, 0, 41, 21}, {11, 109, 3, 551, 55}, {2, 4, 2, 1, 1}}
	if over {
		y = [][]float64{{95, 70, 8, 80, 14}, {2, 160, 1, 20, 35}, {6, 60, 9, 820, 30}, {6, 1, 7, 0, 4}}
	}
	d := &traffic.Data{Return: make([]float64, 9)}
	roads := make(traffic.Matrix, 9)
	for i := range 9 {
		roads[i] = make([]float64, 9)
		for j := range roads[i] {
			roads[i][j] = 1
		}
		inside := i >= 4
		d.Inside = append(d.Inside, inside)
		if inside {
			d.Origin, d.Pull, d.Effort = append(d.Origin, 1e-300), append(d.Pull, w[i-4]), append(d.Effort, e[i-4])
		} else {
			d.Origin, d.Pull, d.Effort = append(d.Origin, o[i]), append(d.Pull, 1), append(d.Effort, 0)
			for j := range w {
				roads[i][4+j] = km[i][j]
				if y[i][j] > 0 {
					d.Cells = append(d.Cells, traffic.Cell{From: int32(i), To: int32(4 + j), Count: y[i][j]})
				}
			}
		}
	}
	d.Roads = roads
	return d
}

func sources(d *traffic.Data) *traffic.Data {
	d.Sends = make([]bool, len(d.Origin))
	for i := range 4 {
		d.Sends[i] = true
	}
	return d
}

func TestWorkedExample(t *testing.T) {
	e, err := traffic.Fit(sources(example(false)), traffic.Options{Poisson: true})
	if err != nil {
		t.Fatal(err)
	}
	for k, want := range []float64{0.9508821327, 1.0377162791, 0.6482695923, 1.3573045503} {
		refcheck.Near(t, "Poisson "+traffic.Names[k], e.Coef[k], want, 1e-9, g1)
		refcheck.Near(t, "its SE", e.SE[k], []float64{0.33443124, 0.04505267, 0.03524612, 0.05831725}[k], 2e-6, g1)
	}
	refcheck.Near(t, "log-likelihood", e.LogLik, -57.09641161, 1e-7, g1)
	refcheck.Near(t, "AIC", e.AIC, 122.1928232, 1e-6, g1)

	// The likelihood of these counts rises with θ for ever: no over-dispersion, and no failure.
	e, err = traffic.Fit(sources(example(false)), traffic.Options{})
	if err != nil || !math.IsInf(e.Theta, 1) {
		t.Errorf("θ = %v, %v; want +Inf", e.Theta, err)
	}

	e, err = traffic.Fit(sources(example(true)), traffic.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for k, want := range []float64{2.4442211232, 0.9936349634, 0.4774874419, 1.5832055333} {
		refcheck.Near(t, "NB2 "+traffic.Names[k], e.Coef[k], want, 1e-8, g1)
		refcheck.Near(t, "its SE", e.SE[k], []float64{1.14394, 0.14417, 0.12431, 0.23076}[k], 6e-6, g1)
	}
	refcheck.Near(t, "theta", e.Theta, 3.2456513899, 1e-8, g1)
	refcheck.Near(t, "SE of theta", e.Theta*e.LogThetaSE, 1.3651029811, 2e-5, g1)
	refcheck.Near(t, "2 log-likelihood", 2*e.LogLik, -150.9711703, 1e-6, g1)
	refcheck.Near(t, "AIC", e.AIC, 160.9711703, 1e-6, g1)
}

// region draws a region and its counts from known coefficients.
func region(n int, seed uint64, c traffic.Coefficients, staffed float64) *traffic.Data {
	r := num.Stream(seed, "region")
	d := &traffic.Data{Return: make([]float64, n)}
	x, y := make([]float64, n), make([]float64, n)
	for i := range n {
		x[i], y[i] = 120*r.Float64(), 120*r.Float64()
		size := math.Exp(4 + 1.3*r.NormFloat64())
		d.Origin, d.Pull = append(d.Origin, size), append(d.Pull, size)
		d.Inside = append(d.Inside, i%8 != 0)
		effort := 0.0
		if d.Inside[i] && r.Float64() < staffed {
			effort = 0.02 + 0.3*r.Float64()*r.Float64()
		}
		d.Effort = append(d.Effort, effort)
	}
	d.Roads = traffic.NewTable(n, func(i, j int) float64 { return 1 + 1.3*math.Hypot(x[i]-x[j], y[i]-y[j]) })
	row := make([]float64, n)
	for i := range n {
		d.Roads.LogKM(i, row)
		for j := range n {
			if i == j || !d.Inside[j] || d.Effort[j] == 0 {
				continue
			}
			mu := math.Exp(c.B[0]+c.B[1]*math.Log(d.Origin[i])+c.B[2]*math.Log(d.Pull[j])-c.B[3]*row[j]) * d.Effort[j]
			if k := num.NegBin(r, mu, c.Theta); k > 0 {
				d.Cells = append(d.Cells, traffic.Cell{From: int32(i), To: int32(j), Count: k})
			}
		}
	}
	for j := range n {
		if d.Effort[j] > 0 {
			d.Return[j] = num.Poisson(r, d.Effort[j]*math.Exp(3+0.7*math.Log(d.Pull[j])))
		}
	}
	return d
}

var truth = traffic.Coefficients{B: [4]float64{0.8, 0.45, 0.55, 1.35}, Theta: 6}

// The block sums must be the sums: the same data as one dense table must give the same fit.
func TestBlocksAgreeWithADenseFit(t *testing.T) {
	d := region(75, 3, truth, 0.7)
	e, err := traffic.Fit(d, traffic.Options{})
	if err != nil {
		t.Fatal(err)
	}
	count := map[[2]int32]float64{}
	for _, c := range d.Cells {
		count[[2]int32{c.From, c.To}] = c.Count
	}
	var y, off []float64
	design := glm.Design{Names: traffic.Names}
	row := make([]float64, 75)
	for i := range 75 {
		d.Roads.LogKM(i, row)
		for j := range 75 {
			if i == j || d.Effort[j] == 0 {
				continue
			}
			y = append(y, count[[2]int32{int32(i), int32(j)}])
			off = append(off, math.Log(d.Effort[j]))
			design.X = append(design.X, 1, math.Log(d.Origin[i]), math.Log(d.Pull[j]), -row[j])
			design.Rows++
		}
	}
	want, err := glm.FitNegBin(glm.Problem{Y: y, Offset: off, Design: design})
	if err != nil {
		t.Fatal(err)
	}
	const source = "the same counts as a dense table through engine/glm"
	for k := range traffic.Names {
		refcheck.Near(t, traffic.Names[k], e.Coef[k], want.Coef[k], 1e-6, source)
		refcheck.Near(t, "its SE", e.SE[k], want.SE[k], 1e-6, source)
	}
	refcheck.Near(t, "theta", e.Theta, want.Theta, 1e-5*want.Theta, source)
	refcheck.Near(t, "log-likelihood", e.LogLik, want.LogLik, 1e-6, source)
	if e.Pairs != len(y) || e.Return == nil {
		t.Errorf("%d pairs of %d; return %v (%s)", e.Pairs, len(y), e.Return, e.ReturnWhy)
	}
	for k, want := range truth.B {
		if math.Abs(e.Coef[k]-want) > 4*e.SE[k] {
			t.Errorf("%s %.3f ± %.3f, true %.3f", traffic.Names[k], e.Coef[k], e.SE[k], want)
		}
	}
}

// A model without a covariate is the dense model without its column; with the intercept alone it is the level of the counts.
func TestSimplerModels(t *testing.T) {
	d := region(40, 3, truth, 0.7)
	e, err := traffic.Fit(d, traffic.Options{Without: []int{1, 2, 3}, Poisson: true})
	if err != nil {
		t.Fatal(err)
	}
	craft, effort := 0.0, 0.0
	for _, c := range d.Cells {
		craft += c.Count
	}
	for j := range d.Effort {
		effort += d.Effort[j] * 39
	}
	refcheck.Near(t, "level", e.Coef[0], math.Log(craft/effort), 1e-9, "closed form: craft over effort")
	refcheck.Near(t, "its SE", e.SE[0], 1/math.Sqrt(craft), 1e-9, "closed form")
	if e.Coef[3] != 0 || e.SE[3] != 0 {
		t.Errorf("distance %g ± %g was left out", e.Coef[3], e.SE[3])
	}
	full, err := traffic.Fit(d, traffic.Options{Poisson: true})
	if err != nil || full.AIC > e.AIC {
		t.Errorf("AIC %.1f with all covariates, %.1f with none, %v", full.AIC, e.AIC, err)
	}
	c, err := e.Draw(num.Stream(1, "x"))
	if err != nil || c.B[3] != 0 || c.B[0] == e.Coef[0] {
		t.Errorf("%+v, %v", c, err)
	}
}

// Whoever leaves out the effort finds other flows than there are.
func TestEffortMatters(t *testing.T) {
	d := region(75, 3, truth, 0.7)
	e, err := traffic.Fit(d, traffic.Options{NoEffort: true})
	if err != nil {
		t.Fatal(err)
	}
	if e.Coef[0] > truth.B[0]-4*e.SE[0] {
		t.Errorf("intercept %.3f ± %.3f without effort; the truth is %.3f", e.Coef[0], e.SE[0], truth.B[0])
	}
}

func TestFlowsAndBootstrap(t *testing.T) {
	d := region(60, 5, truth, 0.6)
	e, err := traffic.Fit(d, traffic.Options{})
	if err != nil {
		t.Fatal(err)
	}
	count := map[[2]int]float64{}
	for _, c := range d.Cells {
		count[[2]int{int(c.From), int(c.To)}] = c.Count
	}
	row := make([]float64, 60)
	d.Roads.LogKM(3, row)
	for j := range 60 {
		if j == 3 {
			continue
		}
		f := e.Flow(3, j, row[j], count[[2]int{3, j}])
		if m := e.Passages(3, j, row[j], count[[2]int{3, j}]); math.Abs(m-f.Passages.Mid) > 1e-9*m {
			t.Errorf("passages %g, flow %+v", m, f)
		}
		switch {
		case !d.Inside[j]:
			if f != (traffic.Flow{}) {
				t.Errorf("flow %v to a water outside", f)
			}
		case !(f.Passages.Lo > 0 && f.Passages.Lo < f.Passages.Mid && f.Passages.Mid < f.Passages.Hi):
			t.Errorf("flow to %d: %+v", j, f)
		case d.Effort[j] == 0 && math.Abs(f.Passages.Mid-f.Model) > 1e-9*f.Model:
			t.Errorf("nobody was staffed at %d and yet the flow %+v is not the model's", j, f)
		}
	}
	b, err := e.Bootstrap(t.Context(), 60, 1, nil)
	if err != nil {
		t.Fatal(err)
	}
	for k := range traffic.Names {
		if r := b.SE[k] / e.SE[k]; r < 0.7 || r > 1.4 {
			t.Errorf("%s: bootstrap SE %.4f, by the information %.4f", traffic.Names[k], b.SE[k], e.SE[k])
		}
	}
	if e.Return == nil || len(b.Returns) < 50 {
		t.Fatalf("%d refits of craft that go back; %s", len(b.Returns), e.ReturnWhy)
	}
	for k, se := range []float64{e.Return.InterceptSE, e.Return.SizeSE} {
		if r := b.ReturnSE[k] / se; r < 0.6 || r > 1.6 { // 60 refits of a small-sample model
			t.Errorf("returns, coefficient %d: bootstrap SE %.4f, by the information %.4f", k, b.ReturnSE[k], se)
		}
		if i := b.ReturnInterval[k]; !(i.Lo < i.Mid && i.Mid < i.Hi) {
			t.Errorf("returns, coefficient %d: %+v", k, i)
		}
	}
	again, err := e.Bootstrap(t.Context(), 60, 1, nil)
	if err != nil || again.SE != b.SE {
		t.Errorf("the same seed gives %v and %v, %v", b.SE, again.SE, err)
	}
	r := num.Stream(1, "draws")
	var sum, ss float64
	for range 4000 {
		c, err := e.Draw(r)
		if err != nil {
			t.Fatal(err)
		}
		sum += c.B[3]
		ss += c.B[3] * c.B[3]
	}
	sd := math.Sqrt(ss/4000 - sum*sum/4000/4000)
	if math.Abs(sd/e.SE[3]-1) > 0.05 || math.Abs(sum/4000-e.Coef[3]) > 0.1*e.SE[3] {
		t.Errorf("drawn γ %.4f ± %.4f, estimated %.4f ± %.4f", sum/4000, sd, e.Coef[3], e.SE[3])
	}
}

func TestDataThatCarryNoEstimate(t *testing.T) {
	base := func() *traffic.Data { return region(20, 2, truth, 1) }
	for _, c := range []struct {
		name string
		do   func(*traffic.Data)
		want error
	}{
		{"zero effort", func(d *traffic.Data) {
			clear(d.Effort)
			d.Cells = nil
		}, traffic.ErrNoEffort},
		{"one water", func(d *traffic.Data) {
			clear(d.Effort)
			d.Effort[3] = 0.2
			d.Cells = []traffic.Cell{{From: 1, To: 3, Count: 4}}
		}, traffic.ErrOneWater},
		{"no craft", func(d *traffic.Data) { d.Cells = nil }, traffic.ErrNothing},
	} {
		d := base()
		c.do(d)
		if _, err := traffic.Fit(d, traffic.Options{}); !errors.Is(err, c.want) {
			t.Errorf("%s: %v; want %v", c.name, err, c.want)
		}
	}
	var rank *glm.RankError
	d := base()
	flat := make(traffic.Matrix, 20)
	for i := range flat {
		flat[i] = make([]float64, 20)
		for j := range flat[i] {
			flat[i][j] = 10
		}
	}
	d.Roads = flat
	if _, err := traffic.Fit(d, traffic.Options{}); !errors.As(err, &rank) || rank.Column != "distance" {
		t.Errorf("every road of one length: %v; want an error that names the distance", err)
	}
	d = base()
	d.Pull[2] = math.NaN()
	if _, err := traffic.Fit(d, traffic.Options{}); err == nil {
		t.Error("a pull that is not a number was taken")
	}
	d = base()
	d.Cells[0].Count = -1
	if _, err := traffic.Fit(d, traffic.Options{}); err == nil {
		t.Error("a negative count was taken")
	}
	// One craft alone: whatever comes of it, it is a message or numbers.
	d = base()
	d.Cells = d.Cells[:1]
	if e, err := traffic.Fit(d, traffic.Options{}); err == nil {
		for k := range e.Coef {
			if math.IsNaN(e.Coef[k]) || math.IsNaN(e.SE[k]) {
				t.Errorf("one record: %+v", e)
			}
		}
	}
}
