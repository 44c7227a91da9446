package glm

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"

	"thwart/engine/num"
)

// Problem is what is fitted.
type Problem struct {
	Family Family
	Link   Link
	Y      []float64
	Trials []float64 // of a binomial: Y counts successes among them; nil = one each
	Design Design
	Offset []float64 // added to the linear predictor, such as log effort; nil = none
	Weight []float64 // prior weights; nil = ones
}

// Result is a fit.
type Result struct {
	Family string
	Names  []string
	Coef   []float64
	Cov    *mat.SymDense // of the coefficients, from the expected information
	SE     []float64
	Fitted []float64 // means, of a binomial shares
	Eta    []float64
	// Deviance against the saturated model; NullDeviance of a model with an intercept and the offset alone.
	Deviance, NullDeviance float64
	Pearson                float64 // sum of squared Pearson residuals
	DF                     int     // rows minus coefficients
	LogLik, AIC, BIC       float64
	// Scale is the residual variance of a Gaussian, 1 elsewhere. Cov and SE include it.
	Scale float64
	// Theta is the dispersion of a negative binomial with its standard error; +Inf and 0 where the counts vary no more than
	// Poisson counts.
	Theta, ThetaSE float64
	Steps          int

	problem Problem
	dist    dist
}

const (
	maxSteps = 100
	// settled is the relative change of deviance at which steps end; one more step is then taken, which doubles the digits.
	settled = 1e-11
)

// Fit fits a model by maximum likelihood. Errors: see the package.
func Fit(p Problem) (*Result, error) {
	if p.Family == negBin {
		return nil, fmt.Errorf("family: use FitNegBin for the negative binomial")
	}
	d := dist{family: p.Family, link: p.Link}
	return fit(p, d, nil)
}

func fit(p Problem, d dist, start []float64) (*Result, error) {
	if err := d.resolve(); err != nil {
		return nil, err
	}
	y, w, err := p.responses(d.family)
	if err != nil {
		return nil, err
	}
	if err := p.Design.check(); err != nil {
		return nil, err
	}
	ls := newLeastSquares(&p.Design)
	if j := ls.factor(nil); j >= 0 {
		return nil, &RankError{Column: p.Design.Names[j]}
	}
	s := &solver{p: &p, d: &d, y: y, w: w, ls: ls, eta: make([]float64, len(y)), mu: make([]float64, len(y))}
	if err := s.run(start); err != nil {
		return nil, err
	}
	r := s.result()
	r.NullDeviance = nullDeviance(&p, &d, y, w)
	return r, nil
}

// responses checks the rows and gives the response as a mean with its weight.
func (p *Problem) responses(f Family) (y, w []float64, err error) {
	n := p.Design.Rows
	for name, list := range map[string][]float64{"offset": p.Offset, "weight": p.Weight, "trials": p.Trials} {
		if list != nil && len(list) != n {
			return nil, nil, fmt.Errorf("%s: %d numbers; accepted: one for each of the %d rows", name, len(list), n)
		}
	}
	if len(p.Y) != n || n == 0 {
		return nil, nil, fmt.Errorf("y: %d numbers; accepted: one for each of the %d rows of the design, and at least one", len(p.Y), n)
	}
	y, w = make([]float64, n), make([]float64, n)
	for i := range y {
		y[i], w[i] = p.Y[i], 1
		if p.Weight != nil {
			if err := row(num.Positive("weight", p.Weight[i]), i); err != nil {
				return nil, nil, err
			}
			w[i] = p.Weight[i]
		}
		if p.Offset != nil {
			if err := row(num.Finite("offset", p.Offset[i]), i); err != nil {
				return nil, nil, err
			}
		}
		check := num.Finite
		if f != Gaussian {
			check = num.NotNegative
		}
		if err := row(check("y", y[i]), i); err != nil {
			return nil, nil, err
		}
		if f == Binomial {
			t := 1.0
			if p.Trials != nil {
				t = p.Trials[i]
			}
			if err := row(num.Positive("trials", t), i); err != nil {
				return nil, nil, err
			}
			if err := row(num.Within("y", y[i], 0, t), i); err != nil {
				return nil, nil, err
			}
			y[i] /= t
			w[i] *= t
		}
	}
	return y, w, nil
}

// row adds the row to an error of a number in it.
func row(err error, i int) error {
	var e *num.RangeError
	if errors.As(err, &e) {
		e.Field = fmt.Sprintf("%s in row %d", e.Field, i+1)
	}
	return err
}

// solver runs the reweighted steps.
type solver struct {
	p       *Problem
	d       *dist
	y, w    []float64
	ls      *leastSquares
	beta    []float64
	eta, mu []float64
	steps   int
}

// begin sets starting means near the data, as every textbook does.
func (s *solver) begin() {
	for i, y := range s.y {
		switch s.d.family {
		case Poisson:
			s.mu[i] = y + 0.1
		case negBin:
			s.mu[i] = math.Max(y, 1.0/6)
		case Binomial:
			s.mu[i] = (s.w[i]*y + 0.5) / (s.w[i] + 1)
		default:
			s.mu[i] = y
			if s.d.link == Log {
				s.mu[i] = math.Max(y, 1e-3)
			}
		}
		s.eta[i] = s.d.link.eta(s.mu[i])
	}
}

func (s *solver) run(start []float64) error {
	if start != nil {
		s.move(start)
	} else {
		s.begin()
	}
	last, done := math.Inf(1), false
	for s.steps = 1; s.steps <= maxSteps; s.steps++ {
		beta, ok := s.step()
		if !ok {
			return s.trouble("the weights of the rows became too uneven")
		}
		dev := s.move(beta)
		for half := 0; !(dev <= last+1e-8*(math.Abs(last)+1)) && s.beta != nil && half < 30; half++ {
			for j := range beta {
				beta[j] = (beta[j] + s.beta[j]) / 2
			}
			dev = s.move(beta)
		}
		if math.IsNaN(dev) || math.IsInf(dev, 0) {
			return s.trouble("the deviance is not a number")
		}
		s.beta = beta
		if done {
			if err := s.separated(); err != nil {
				return err
			}
			return nil
		}
		done = math.Abs(dev-last) <= settled*(math.Abs(dev)+0.1)
		last = dev
	}
	return s.trouble("the deviance still changes")
}

// step solves one weighted least squares problem.
func (s *solver) step() ([]float64, bool) {
	n := len(s.y)
	root, rhs := make([]float64, n), make([]float64, n)
	for i := range n {
		mu, dmu := s.d.link.mean(s.eta[i])
		v := s.d.variance(mu)
		if !(v > 0) || !(math.Abs(dmu) > 0) {
			continue // a row fitted perfectly has no weight left
		}
		root[i] = math.Sqrt(s.w[i] * dmu * dmu / v)
		z := s.eta[i] + (s.y[i]-mu)/dmu
		if s.p.Offset != nil {
			z -= s.p.Offset[i]
		}
		rhs[i] = z * root[i]
	}
	if s.ls.factor(root) >= 0 {
		return nil, false
	}
	return s.ls.solve(rhs)
}

// move sets the predictor to coefficients and gives the deviance there.
func (s *solver) move(beta []float64) float64 {
	s.p.Design.eta(beta, s.p.Offset, s.eta)
	dev := 0.0
	for i := range s.y {
		s.mu[i], _ = s.d.link.mean(s.eta[i])
		dev += s.w[i] * s.d.deviance(s.y[i], s.mu[i])
	}
	return dev
}

// trouble tells separation from other failures.
func (s *solver) trouble(what string) error {
	if err := separation(&s.p.Design, s.y, s.d.family); err != nil {
		return err
	}
	return &ConvergenceError{Steps: s.steps, What: what}
}

// separated looks for separation where fitted means have run to a limit.
func (s *solver) separated() error {
	for i, mu := range s.mu {
		atLimit := s.y[i] == 0 && mu < 1e-7 || s.d.family == Binomial && s.y[i] == 1 && mu > 1-1e-7
		if s.d.family != Gaussian && atLimit {
			return asError(separation(&s.p.Design, s.y, s.d.family))
		}
	}
	return nil
}

func (s *solver) result() *Result {
	n, p := len(s.y), len(s.beta)
	s.step() // factors the design at the answer
	r := &Result{
		Family: s.d.family.String(), Names: s.p.Design.Names, Coef: s.beta, Cov: s.ls.inverse(), Fitted: s.mu, Eta: s.eta, DF: n - p, Scale: 1, Steps: s.steps,
		problem: *s.p, dist: *s.d,
	}
	for i := range s.y {
		r.Deviance += s.w[i] * s.d.deviance(s.y[i], s.mu[i])
		if v := s.d.variance(s.mu[i]); v > 0 {
			r.Pearson += s.w[i] * (s.y[i] - s.mu[i]) * (s.y[i] - s.mu[i]) / v
		}
		r.LogLik += s.d.logLik(s.y[i], s.mu[i], s.w[i])
	}
	k := float64(p)
	if s.d.family == Gaussian {
		r.LogLik = -float64(n) / 2 * (math.Log(2*math.Pi*r.Deviance/float64(n)) + 1)
		k++
		if r.DF > 0 {
			r.Scale = r.Deviance / float64(r.DF)
		}
		r.Cov.ScaleSym(r.Scale, r.Cov)
	}
	r.criteria(k)
	r.errors()
	return r
}

func (r *Result) criteria(parameters float64) {
	r.AIC = 2*parameters - 2*r.LogLik
	r.BIC = parameters*math.Log(float64(len(r.Fitted))) - 2*r.LogLik
}

func (r *Result) errors() { r.SE = roots(r.Cov) }

func roots(cov *mat.SymDense) []float64 {
	se := make([]float64, cov.SymmetricDim())
	for j := range se {
		se[j] = math.Sqrt(cov.At(j, j))
	}
	return se
}

// nullDeviance is that of an intercept with the offset; NaN never: where even that cannot be fitted it is the deviance at the
// overall mean.
func nullDeviance(p *Problem, d *dist, y, w []float64) float64 {
	q := *p
	q.Design = NewDesign(len(y), "intercept")
	for i := range q.Design.X {
		q.Design.X[i] = 1
	}
	s := &solver{p: &q, d: d, y: y, w: w, ls: newLeastSquares(&q.Design), eta: make([]float64, len(y)), mu: make([]float64, len(y))}
	if s.run(nil) == nil {
		return s.move(s.beta)
	}
	var sum, total float64
	for i := range y {
		sum += w[i] * y[i]
		total += w[i]
	}
	dev := 0.0
	for i := range y {
		dev += w[i] * d.deviance(y[i], sum/total)
	}
	return dev
}
