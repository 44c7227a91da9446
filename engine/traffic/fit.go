package traffic

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"thwart/engine/glm"
)

// Names of the coefficients of flows between waters, in their order.
var Names = []string{"intercept", "origin", "pull", "distance"}

// coefficients of flows between waters. Distance is −γ in the predictor; [Estimate.Coef] gives it as γ, positive where craft
// come from near.
const (
	intercept = iota
	origin
	pull
	distance
	coefficients
)

// Options of a fit.
type Options struct {
	// Poisson takes counts as Poisson counts, without a dispersion of their own.
	Poisson bool
	// NoEffort leaves the effort out: every staffed water is taken as staffed all season. It is wrong, and here to show by how
	// much.
	NoEffort bool
	// Without leaves covariates out, by their place in [Names] (not the intercept): a simpler model to compare with.
	Without []int
}

func (o *Options) leavesOut(k int) bool { return k != intercept && slices.Contains(o.Without, k) }

// Estimate is a fitted model.
type Estimate struct {
	Coef  [coefficients]float64 // intercept, α, β, γ
	SE    [coefficients]float64
	Cov   *mat.SymDense
	Theta float64 // +Inf: counts vary no more than Poisson counts
	// LogThetaSE is the standard error of log θ; 0 where θ is infinite.
	LogThetaSE float64
	Return     *ReturnEstimate // nil where no craft was met that came back; ReturnWhy says why
	ReturnWhy  string

	LogLik   float64 // of the counts between waters
	AIC, BIC float64
	Pairs    int     // of which a count was possible
	Positive int     // with a count above zero
	Craft    float64 // met that came from another water
	Steps    int     // passes over all pairs

	data *Data
	opt  Options
}

// ReturnEstimate is the model of craft that go back: log λ_jj = Intercept + Size·log A_j.
type ReturnEstimate struct {
	Intercept, Size     float64
	InterceptSE, SizeSE float64
	Theta               float64
	Waters              int
}

// row of one water's records: pairs by origin.
type cells struct {
	start []int32 // per origin: where its cells begin; one more at the end
	list  []Cell  // by origin, then destination
}

func sorted(n int, list []Cell) cells {
	c := cells{start: make([]int32, n+1), list: slices.Clone(list)}
	slices.SortFunc(c.list, func(a, b Cell) int { return cmp.Or(cmp.Compare(a.From, b.From), cmp.Compare(a.To, b.To)) })
	for _, x := range c.list {
		c.start[x.From+1]++
	}
	for i := range n {
		c.start[i+1] += c.start[i]
	}
	return c
}

// Fit estimates the model by maximum likelihood: Newton steps with exact gradients and the expected information.
//
// It returns [ErrNoEffort], [ErrOneWater] or [ErrNothing] where the data cannot carry an estimate, a [glm.SeparationError]
// where a coefficient would be infinite, a [glm.RankError] where two covariates are one, and an error naming the number where
// an input is not one.
func Fit(d *Data, opt Options) (*Estimate, error) {
	if err := d.check(); err != nil {
		return nil, err
	}
	f := newFitter(d, opt)
	e, err := f.fit(nil)
	if err != nil {
		return nil, err
	}
	e.fitReturn()
	return e, nil
}

// fitter holds what does not change over the steps.
type fitter struct {
	d          *Data
	opt        Options
	cells      cells
	logO, logA []float64
	logE       []float64 // −Inf where no count is possible
	to         []int32   // waters where a count is possible
	pulls      []float64 // logA of them
	each       []float64 // of them in the pass at hand: what of the predictor does not depend on the origin
	stride     int       // every so many origins are looked at; 1 = all
	passes     int
}

func newFitter(d *Data, opt Options) *fitter {
	n := len(d.Origin)
	f := &fitter{stride: 1, d: d, opt: opt, cells: sorted(n, d.Cells), logO: make([]float64, n), logA: make([]float64, n), logE: make([]float64, n)}
	for i := range n {
		f.logO[i], f.logA[i] = math.Log(d.Origin[i]), math.Log(d.Pull[i])
		f.logE[i] = math.Inf(-1)
		if d.Inside[i] && d.Effort[i] > 0 {
			f.to, f.pulls = append(f.to, int32(i)), append(f.pulls, f.logA[i])
			f.logE[i] = math.Log(d.Effort[i])
			if opt.NoEffort {
				f.logE[i] = 0
			}
		}
	}
	return f
}

// point is a place in the space of parameters. theta = +Inf is the Poisson model.
type point struct {
	b     [coefficients]float64 // of the predictor: the last is −γ
	theta float64
}

// maxTheta is where counts are taken as Poisson counts.
const maxTheta = 1e5

func (f *fitter) fit(start *point) (*Estimate, error) {
	if start == nil {
		start = f.ahead()
	}
	s, at, err := f.climb(*start)
	if err != nil {
		return nil, err
	}
	if !f.opt.Poisson && math.IsInf(at.theta, 1) && s.slope > 0 {
		at.theta = s.ahead()
		if s, at, err = f.climb(at); err != nil {
			return nil, err
		}
	}
	if !math.IsInf(at.theta, 1) && at.theta > maxTheta {
		at.theta = math.Inf(1)
		if s, at, err = f.climb(at); err != nil {
			return nil, err
		}
	}
	return f.estimate(s, at)
}

// sampled is how many origins a first look is taken at, where there are many more: its top is so near that of all that two or three passes
// over all pairs are enough.
const sampled = 300

// ahead is where to begin.
func (f *fitter) ahead() *point {
	if f.stride = len(f.logO) / sampled; f.stride > 1 {
		at := point{b: f.guess(), theta: math.Inf(1)}
		s, at, err := f.climb(at)
		if err == nil && !f.opt.Poisson && s.slope > 0 {
			at.theta = s.ahead()
			_, at, err = f.climb(at)
		}
		f.passes, f.stride = 0, 1
		if err == nil && at.theta != 0 && (math.IsInf(at.theta, 1) || at.theta < maxTheta) {
			return &at
		}
	}
	f.stride = 1
	return &point{b: f.guess(), theta: math.Inf(1)}
}

// guess starts with the exponents that published fits lie about, and the level of the counts.
func (f *fitter) guess() [coefficients]float64 {
	b := [coefficients]float64{0, 0.5, 0.5, -1}
	for k := range b {
		if f.opt.leavesOut(k) {
			b[k] = 0
		}
	}
	s := f.pass(point{b: b, theta: math.Inf(1)})
	b[intercept] = math.Log(s.craft / s.mean)
	return b
}

// settled is the gain of log-likelihood that a step must promise to be worth taking, relative to the craft counted.
const settled = 1e-18

// climb takes Newton steps from a point; θ stays infinite where it is.
func (f *fitter) climb(at point) (*sums, point, error) {
	s := f.pass(at)
	finite := !math.IsInf(at.theta, 1)
	for range 100 {
		step, err := f.step(s)
		if err != nil {
			return nil, at, err
		}
		dLog := 0.0
		gain := 0.0
		for k := range step {
			gain += step[k] * s.gradient[k]
		}
		if finite {
			info := math.Max(s.thetaInfo, math.Abs(s.thetaGradient)/2) // a step of at most e² in θ
			if info > 0 {
				dLog = s.thetaGradient / info
			}
			gain += dLog * s.thetaGradient
		}
		done := gain <= settled*(1+s.craft) // this step is the last: it doubles the digits
		moved := false
		for half := 0; half < 30; half++ {
			next := at
			scale := math.Pow(0.5, float64(half))
			for k := range step {
				next.b[k] += scale * step[k]
			}
			if finite {
				next.theta *= math.Exp(scale * dLog)
			}
			t := f.pass(next)
			if t.logLik >= s.logLik-1e-12*math.Abs(s.logLik) && !math.IsNaN(t.logLik) {
				at, s, moved = next, t, true
				break
			}
		}
		if done || !moved { // where no step is better it is the top to rounding
			return s, at, nil
		}
		if finite && at.theta > 10*maxTheta {
			return s, at, nil
		}
		for k, b := range at.b {
			if math.Abs(b) > 200 || math.IsNaN(b) {
				return nil, at, &glm.SeparationError{Columns: []string{Names[k]}, Rows: len(f.cells.list)}
			}
		}
	}
	return nil, at, &glm.ConvergenceError{Steps: f.passes, What: "flows between waters"}
}

// step solves the information matrix for the gradient.
func (f *fitter) step(s *sums) ([coefficients]float64, error) {
	var out [coefficients]float64
	info, scale := f.information(s)
	for k := range coefficients {
		if scale[k] == 0 || math.IsNaN(scale[k]) {
			return out, &glm.RankError{Column: Names[k]}
		}
	}
	var chol mat.Cholesky
	if !chol.Factorize(info) || chol.Cond() > 1e12 {
		return out, &glm.RankError{Column: f.aliased(info)}
	}
	g := mat.NewVecDense(coefficients, nil)
	for k := range coefficients {
		g.SetVec(k, s.gradient[k]/scale[k])
	}
	var x mat.VecDense
	if err := chol.SolveVecTo(&x, g); err != nil {
		return out, fmt.Errorf("flows between waters: %w", err)
	}
	for k := range coefficients {
		if !f.opt.leavesOut(k) {
			out[k] = x.AtVec(k) / scale[k]
		}
	}
	return out, nil
}

// information is that of the covariates in use; one that is left out stands apart from all others.
func (f *fitter) information(s *sums) (*mat.SymDense, [coefficients]float64) {
	info, scale := s.information()
	for k := range coefficients {
		if !f.opt.leavesOut(k) {
			continue
		}
		for j := range coefficients {
			info.SetSym(min(j, k), max(j, k), 0)
		}
		info.SetSym(k, k, 1)
		scale[k], s.gradient[k] = 1, 0
	}
	return info, scale
}

// aliased names the first covariate that those before it explain.
func (f *fitter) aliased(info *mat.SymDense) string {
	for k := 1; k < coefficients; k++ {
		sub := mat.NewSymDense(k+1, nil)
		for i := range k + 1 {
			for j := i; j <= k; j++ {
				sub.SetSym(i, j, info.At(i, j))
			}
		}
		var chol mat.Cholesky
		if !chol.Factorize(sub) || chol.Cond() > 1e12 {
			return Names[k]
		}
	}
	return Names[distance]
}

func (f *fitter) estimate(s *sums, at point) (*Estimate, error) {
	info, scale := f.information(s)
	var chol mat.Cholesky
	if !chol.Factorize(info) {
		return nil, &glm.RankError{Column: f.aliased(info)}
	}
	var inv mat.SymDense
	if err := chol.InverseTo(&inv); err != nil {
		return nil, &glm.RankError{Column: f.aliased(info)}
	}
	e := &Estimate{Coef: at.b, Theta: at.theta, LogLik: s.logLik, Pairs: s.pairs, Craft: s.craft, Steps: f.passes, data: f.d, opt: f.opt}
	e.Coef[distance] = -e.Coef[distance]
	e.Cov = mat.NewSymDense(coefficients, nil)
	for i := range coefficients {
		for j := i; j < coefficients; j++ {
			v := inv.At(i, j) / scale[i] / scale[j]
			if (i == distance) != (j == distance) {
				v = -v
			}
			e.Cov.SetSym(i, j, v)
		}
		e.SE[i] = math.Sqrt(e.Cov.At(i, i))
	}
	used := coefficients
	for k := range coefficients {
		if f.opt.leavesOut(k) {
			e.SE[k] = 0
			for j := range coefficients {
				e.Cov.SetSym(min(j, k), max(j, k), 0)
			}
			used--
		}
	}
	for _, c := range f.cells.list {
		if c.Count > 0 {
			e.Positive++
		}
	}
	k := float64(used)
	if !math.IsInf(at.theta, 1) {
		k++
		e.LogThetaSE = 1 / math.Sqrt(s.thetaInfo)
	}
	e.AIC, e.BIC = 2*k-2*e.LogLik, k*math.Log(float64(e.Pairs))-2*e.LogLik
	return e, nil
}

// fitReturn fits craft that go back to their water.
func (e *Estimate) fitReturn() {
	d := e.data
	var y, off []float64
	design := glm.Design{Names: []string{"intercept", "size"}}
	for j := range d.Return {
		if !d.Inside[j] || d.Effort[j] == 0 {
			continue
		}
		y = append(y, d.Return[j])
		o := math.Log(d.Effort[j])
		if e.opt.NoEffort {
			o = 0
		}
		off = append(off, o)
		design.X = append(design.X, 1, math.Log(d.Pull[j]))
		design.Rows++
	}
	fit := glm.FitNegBin
	if e.opt.Poisson {
		fit = glm.Fit
	}
	r, err := fit(glm.Problem{Family: glm.Poisson, Y: y, Offset: off, Design: design})
	if err != nil {
		e.ReturnWhy = "craft that go back to their water: " + err.Error()
		return
	}
	theta := r.Theta
	if e.opt.Poisson {
		theta = math.Inf(1)
	}
	e.Return = &ReturnEstimate{
		Intercept: r.Coef[0], Size: r.Coef[1], InterceptSE: r.SE[0], SizeSE: r.SE[1], Theta: theta, Waters: len(y),
	}
}
