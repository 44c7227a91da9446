package glm

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// maxTheta is where a negative binomial is a Poisson distribution for any count of this trade: at a mean of 1000 the variance
// is larger by one part in a thousand.
const maxTheta = 1e6

// farBelowError is the part of a standard error of θ, and the step of a log-likelihood, that no conclusion rests on. Where counts
// are nearly Poisson the likelihood is so flat in θ that rounding alone moves θ by more than its ten digits.
const farBelowError = 1e-8

// FitNegBin fits counts with a log link and variance μ + μ²/θ, θ by maximum likelihood too, by turns (Venables & Ripley 2002,
// section 7.4). Family and link of the problem are not looked at.
//
// Where the counts vary no more than Poisson counts there is no θ: the likelihood rises without end. Theta is then +Inf and
// everything else is the Poisson fit.
func FitNegBin(p Problem) (*Result, error) { return fitNegBin(p, 1e-10) }

// fitNegBin takes turns until θ changes by less than a part settles of itself.
func fitNegBin(p Problem, settles float64) (*Result, error) {
	p.Family, p.Link = Poisson, Usual
	poisson, err := Fit(p)
	if err != nil {
		return nil, err
	}
	y, w, err := p.responses(Poisson)
	if err != nil {
		return nil, err
	}
	r, theta := poisson, math.Inf(1)
	last, lastTheta := math.Inf(-1), math.Inf(1)
	for turn := 0; turn < 200; turn++ {
		t, ok := ThetaML(y, r.Fitted, w)
		if !ok {
			break
		}
		theta = t
		next, err := fit(p, dist{family: negBin, theta: theta}, r.Coef)
		if err != nil {
			return nil, err
		}
		r = next
		se := 1 / math.Sqrt(thetaInfo(y, r.Fitted, w, theta))
		if math.Abs(theta-lastTheta) <= max(settles*theta, farBelowError*se) && math.Abs(r.LogLik-last) <= max(1e-3*settles*(math.Abs(r.LogLik)+1), farBelowError) {
			r.Theta, r.ThetaSE = theta, se
			r.Steps = turn + 1
			r.criteria(float64(len(r.Coef) + 1))
			return r, nil
		}
		last, lastTheta = r.LogLik, theta
	}
	if math.IsInf(theta, 1) || theta > maxTheta/10 {
		poisson.Theta = math.Inf(1)
		return poisson, nil
	}
	return nil, &ConvergenceError{Steps: 200, What: "θ of the negative binomial still changes"}
}

// ThetaML is the maximum-likelihood θ for given means; w are weights, nil for ones. ok is false where the counts vary no more
// than Poisson counts, so that no finite θ is best.
func ThetaML(y, mu, w []float64) (theta float64, ok bool) {
	weight := func(i int) float64 {
		if w == nil {
			return 1
		}
		return w[i]
	}
	// The slope of the likelihood in 1/θ at 1/θ = 0 is half of this; where it is not positive Poisson is best nearby.
	var slope, n, ss float64
	for i := range y {
		d := y[i] - mu[i]
		slope += weight(i) * (d*d - y[i])
		n += weight(i)
		if mu[i] > 0 {
			ss += weight(i) * (d / mu[i]) * (d / mu[i])
		}
	}
	if !(slope > 0) {
		return math.Inf(1), false
	}
	score := func(t float64) float64 { return thetaScore(y, mu, w, t) }
	// A bracket in log θ, then bisection with Newton steps inside it: safe and quick.
	lo, hi := 1e-8, maxTheta
	if score(hi) > 0 {
		return math.Inf(1), false
	}
	t := math.Min(math.Max(n/ss, lo), hi)
	for range 200 {
		s := score(t)
		if s > 0 {
			lo = t
		} else {
			hi = t
		}
		next := t + s/thetaInfo(y, mu, w, t)
		if !(next > lo && next < hi) {
			next = math.Sqrt(lo * hi)
		}
		if math.Abs(next-t) <= 1e-14*t {
			return next, true
		}
		t = next
	}
	return t, true
}

func thetaScore(y, mu, w []float64, t float64) float64 {
	sum := 0.0
	for i := range y {
		v := DigammaDiff(y[i], t) + math.Log(t) + 1 - math.Log(t+mu[i]) - (y[i]+t)/(mu[i]+t)
		if w != nil {
			v *= w[i]
		}
		sum += v
	}
	return sum
}

// thetaInfo is the observed information of θ.
func thetaInfo(y, mu, w []float64, t float64) float64 {
	sum := 0.0
	for i := range y {
		v := TrigammaDiff(y[i], t) - 1/t + 2/(mu[i]+t) - (y[i]+t)/((mu[i]+t)*(mu[i]+t))
		if w != nil {
			v *= w[i]
		}
		sum += v
	}
	return sum
}

// DigammaDiff is ψ(θ+y) − ψ(θ) for a count y.
func DigammaDiff(y, theta float64) float64 {
	if y == 0 {
		return 0
	}
	if y <= 32 && y == math.Floor(y) {
		sum := 0.0
		for k := 0.0; k < y; k++ {
			sum += 1 / (theta + k)
		}
		return sum
	}
	return mathext.Digamma(theta+y) - mathext.Digamma(theta)
}

// TrigammaDiff is ψ'(θ) − ψ'(θ+y) for a count y.
func TrigammaDiff(y, theta float64) float64 {
	if y == 0 {
		return 0
	}
	if y <= 32 && y == math.Floor(y) {
		sum := 0.0
		for k := 0.0; k < y; k++ {
			sum += 1 / ((theta + k) * (theta + k))
		}
		return sum
	}
	return mathext.Zeta(2, theta) - mathext.Zeta(2, theta+y)
}
