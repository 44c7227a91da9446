package glm

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"

	"thwart/engine/num"
)

// Mixture is a fit of counts in two parts.
type Mixture struct {
	Count, Zero Part
	Theta       float64 // +Inf without over-dispersion
	ThetaSE     float64
	LogLik      float64
	AIC, BIC    float64
	Steps       int
	// Cov is the covariance of all estimates: count part, zero part, and log θ last where there is one.
	Cov *mat.SymDense
}

// Part is the estimates of one part.
type Part struct {
	Names    []string
	Coef, SE []float64
}

// Counts are what the mixtures fit: counts y with covariates of the count part (log link, offset) and of the zero part
// (logit link).
type Counts struct {
	Y      []float64
	Count  Design
	Zero   Design
	Offset []float64 // of the count part; nil = none
	NegBin bool      // over-dispersed counts, else Poisson
}

func (c *Counts) check() error {
	for i, y := range c.Y {
		if err := row(num.NotNegative("y", y), i); err != nil {
			return err
		}
		if y != math.Floor(y) {
			return row(&num.RangeError{Field: "y", Value: y, Accepted: "a whole number"}, i)
		}
		if c.Offset != nil {
			if err := row(num.Finite("offset", c.Offset[i]), i); err != nil {
				return err
			}
		}
	}
	for _, d := range []*Design{&c.Count, &c.Zero} {
		if d.Rows != len(c.Y) {
			return fmt.Errorf("design: %d rows; accepted: one for each of the %d counts", d.Rows, len(c.Y))
		}
		if err := d.check(); err != nil {
			return err
		}
		if j := newLeastSquares(d).factor(nil); j >= 0 {
			return &RankError{Column: d.Names[j]}
		}
	}
	return nil
}

// atZero is log f(0) with its derivatives by log μ and by log θ.
func atZero(mu, theta float64) (logF, byEta, byTheta float64) {
	if math.IsInf(theta, 1) {
		return -mu, -mu, 0
	}
	l := -theta * math.Log1p(mu/theta)
	return l, -theta * mu / (theta + mu), theta * (-math.Log1p(mu/theta) + mu/(theta+mu))
}

// above is log f(y) with the same derivatives.
func above(y, mu, theta float64) (logF, byEta, byTheta float64) {
	if math.IsInf(theta, 1) {
		return PoissonLogP(y, mu), y - mu, 0
	}
	t := DigammaDiff(y, theta) - math.Log1p(mu/theta) + 1 - (y+theta)/(mu+theta)
	return NegBinLogP(y, mu, theta), (y - mu) * theta / (theta + mu), theta * t
}

// FitZeroInflated fits counts that are zero for a reason of its own with a chance π, and counted otherwise: P(0) = π +
// (1−π)f(0), P(n) = (1−π)f(n) (Lambert 1992), logit π linear in the zero part's covariates. It climbs by the EM algorithm
// first, which cannot be thrown off, then by Newton steps.
func FitZeroInflated(c Counts) (*Mixture, error) {
	if err := c.check(); err != nil {
		return nil, err
	}
	count, err := c.countStart(c.Y, nil)
	if err != nil {
		return nil, fmt.Errorf("count part: %w", err)
	}
	n, p, q := len(c.Y), len(c.Count.Names), len(c.Zero.Names)
	share := make([]float64, n) // chance that a zero is one of its own
	pi := 0.0
	for _, y := range c.Y {
		if y == 0 {
			pi++
		}
	}
	if pi == 0 {
		return nil, &SeparationError{Columns: c.Zero.Names, Rows: n}
	}
	pi = math.Max(0.05, math.Min(0.9, pi/float64(n)/2))
	zeroMean := make([]float64, n)
	for i := range zeroMean {
		zeroMean[i] = pi
	}
	var zero *Result
	theta := count.Theta
	for range 10 {
		w := make([]float64, n)
		for i, y := range c.Y {
			share[i] = 0
			if y == 0 {
				l0, _, _ := atZero(count.Fitted[i], theta)
				share[i] = zeroMean[i] / (zeroMean[i] + (1-zeroMean[i])*math.Exp(l0))
			}
			w[i] = math.Max(1-share[i], 1e-9)
		}
		if zero, err = Fit(Problem{Family: Binomial, Y: share, Design: c.Zero}); err != nil {
			return nil, fmt.Errorf("zero part: %w", err)
		}
		zeroMean = zero.Fitted
		if count, err = c.countStart(c.Y, w); err != nil {
			return nil, fmt.Errorf("count part: %w", err)
		}
		theta = count.Theta
	}
	start := append(append([]float64(nil), count.Coef...), zero.Coef...)
	nb := c.NegBin && !math.IsInf(theta, 1)
	if nb {
		start = append(start, math.Log(theta))
	}
	eta, z := make([]float64, n), make([]float64, n)
	f := func(x, g []float64) float64 {
		t := math.Inf(1)
		if nb {
			t = math.Exp(x[p+q])
		}
		c.Count.eta(x[:p], c.Offset, eta)
		c.Zero.eta(x[p:p+q], nil, z)
		clear(g)
		sum := 0.0
		for i, y := range c.Y {
			mu := math.Exp(math.Min(eta[i], 700))
			pi, _ := Logit.mean(z[i])
			var byEta, byZ, byT float64
			if y == 0 {
				l0, e0, t0 := atZero(mu, t)
				like := pi + (1-pi)*math.Exp(l0)
				r := pi / like
				sum += math.Log(like)
				byEta, byZ, byT = (1-r)*e0, r-pi, (1-r)*t0
			} else {
				l, e, th := above(y, mu, t)
				sum += math.Log1p(-pi) + l
				byEta, byZ, byT = e, -pi, th
			}
			addRow(g[:p], c.Count.Row(i), byEta)
			addRow(g[p:p+q], c.Zero.Row(i), byZ)
			if nb {
				g[p+q] += byT
			}
		}
		return sum
	}
	return c.finish(f, start, nb, "zero-inflated counts")
}

// FitHurdle fits the chance of a count above zero (logit of the zero part's covariates) and the counts above zero, whose
// distribution is cut off at zero (Mullahy 1986). Coefficients of the zero part are of being above zero.
func FitHurdle(c Counts) (*Mixture, error) {
	if err := c.check(); err != nil {
		return nil, err
	}
	n, p := len(c.Y), len(c.Count.Names)
	some, positive := make([]float64, n), Counts{NegBin: c.NegBin}
	var rows []int
	for i, y := range c.Y {
		if y > 0 {
			some[i] = 1
			rows = append(rows, i)
		}
	}
	positive.Count = NewDesign(len(rows), c.Count.Names...)
	for k, i := range rows {
		copy(positive.Count.Row(k), c.Count.Row(i))
		positive.Y = append(positive.Y, c.Y[i])
		if c.Offset != nil {
			positive.Offset = append(positive.Offset, c.Offset[i])
		}
	}
	zero, err := Fit(Problem{Family: Binomial, Y: some, Design: c.Zero})
	if err != nil {
		return nil, fmt.Errorf("zero part: %w", err)
	}
	count, err := positive.countStart(positive.Y, nil)
	if err != nil {
		return nil, fmt.Errorf("count part: %w", err)
	}
	start := append([]float64(nil), count.Coef...)
	if c.NegBin {
		start = append(start, math.Log(math.Min(count.Theta, 10)))
	}
	eta := make([]float64, len(rows))
	f := func(x, g []float64) float64 {
		t := math.Inf(1)
		if c.NegBin {
			t = math.Exp(x[p])
		}
		positive.Count.eta(x[:p], positive.Offset, eta)
		clear(g)
		sum := 0.0
		for i, y := range positive.Y {
			mu := math.Exp(math.Min(eta[i], 700))
			l, e, th := above(y, mu, t)
			l0, e0, t0 := atZero(mu, t)
			odds := math.Exp(l0) / -math.Expm1(l0)
			sum += l - math.Log(-math.Expm1(l0))
			addRow(g[:p], positive.Count.Row(i), e+odds*e0)
			if c.NegBin {
				g[p] += th + odds*t0
			}
		}
		return sum
	}
	m, err := positive.finish(f, start, c.NegBin, "counts above zero")
	if err != nil {
		return nil, err
	}
	m.Zero = Part{Names: zero.Names, Coef: zero.Coef, SE: zero.SE}
	m.LogLik += zero.LogLik
	k := float64(len(start) + len(zero.Coef))
	m.AIC, m.BIC = 2*k-2*m.LogLik, k*math.Log(float64(n))-2*m.LogLik
	m.Cov = nil
	return m, nil
}

func addRow(g, x []float64, by float64) {
	for j := range x {
		g[j] += by * x[j]
	}
}

// countStart fits the count part alone.
func (c *Counts) countStart(y, w []float64) (*Result, error) {
	p := Problem{Family: Poisson, Y: y, Design: c.Count, Offset: c.Offset, Weight: w}
	if c.NegBin {
		return fitNegBin(p, 1e-4) // a start: the climb after it settles
	}
	r, err := Fit(p)
	if r != nil {
		r.Theta = math.Inf(1)
	}
	return r, err
}

// finish climbs and writes the answer. θ that runs off to infinity is no over-dispersion.
func (c *Counts) finish(f objective, start []float64, nb bool, what string) (*Mixture, error) {
	x, value, cov, steps, err := maximum(f, start, what)
	if err != nil {
		return nil, err
	}
	p := len(c.Count.Names)
	q := len(x) - p
	m := &Mixture{LogLik: value, Steps: steps, Theta: math.Inf(1), Cov: cov}
	se := roots(cov)
	if nb {
		q--
		m.Theta = math.Exp(x[len(x)-1])
		m.ThetaSE = m.Theta * se[len(x)-1]
	}
	m.Count = Part{Names: c.Count.Names, Coef: x[:p], SE: se[:p]}
	m.Zero = Part{Names: c.Zero.Names, Coef: x[p : p+q], SE: se[p : p+q]}
	k := float64(len(x))
	m.AIC, m.BIC = 2*k-2*value, k*math.Log(float64(len(c.Y)))-2*value
	return m, nil
}
