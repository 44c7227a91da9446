package glm

import (
	"fmt"
	"math"
)

// Family is a distribution of the response given its mean.
type Family int

// Families. The link of each is its usual one unless [Problem.Link] says otherwise.
const (
	Gaussian Family = iota // identity
	Poisson                // log
	Binomial               // logit; the response counts successes among Trials
	negBin                 // log; through FitNegBin
)

// Link ties the mean to the linear predictor.
type Link int

// Links.
const (
	Usual Link = iota
	Identity
	Log
	Logit
	Probit
	CLogLog
)

func (l Link) mean(eta float64) (mu, dmu float64) {
	switch l {
	case Log:
		mu = math.Exp(math.Min(eta, 700))
		return mu, mu
	case Logit:
		if eta < 0 {
			e := math.Exp(math.Max(eta, -700))
			return e / (1 + e), e / ((1 + e) * (1 + e))
		}
		e := math.Exp(math.Max(-eta, -700))
		return 1 / (1 + e), e / ((1 + e) * (1 + e))
	case Probit:
		return math.Erfc(-eta/math.Sqrt2) / 2, math.Exp(-eta*eta/2) / math.Sqrt(2*math.Pi)
	case CLogLog:
		e := math.Exp(math.Min(eta, 700))
		return -math.Expm1(-e), e * math.Exp(-e)
	}
	return eta, 1
}

func (l Link) eta(mu float64) float64 {
	switch l {
	case Log:
		return math.Log(mu)
	case Logit:
		return math.Log(mu / (1 - mu))
	case Probit:
		return math.Sqrt2 * math.Erfinv(2*mu-1)
	case CLogLog:
		return math.Log(-math.Log1p(-mu))
	}
	return mu
}

// dist is a family with all that its likelihood needs. y of a binomial is a share; its trials are in w.
type dist struct {
	family Family
	link   Link
	theta  float64 // of negBin
}

// variance of one unit of weight at a mean.
func (d *dist) variance(mu float64) float64 {
	switch d.family {
	case Poisson:
		return mu
	case Binomial:
		return mu * (1 - mu)
	case negBin:
		return mu + mu*mu/d.theta
	}
	return 1
}

func xlogy(x, y float64) float64 {
	if x == 0 {
		return 0
	}
	return x * math.Log(y)
}

// deviance of one row of weight one.
func (d *dist) deviance(y, mu float64) float64 {
	switch d.family {
	case Poisson:
		return 2 * (xlogy(y, y/mu) - (y - mu))
	case Binomial:
		return 2 * (xlogy(y, y/mu) + xlogy(1-y, (1-y)/(1-mu)))
	case negBin:
		return 2 * (xlogy(y, y/mu) - (y+d.theta)*math.Log((y+d.theta)/(mu+d.theta)))
	}
	return (y - mu) * (y - mu)
}

// logLik of one row; w is its weight, the trials of a binomial. The Gaussian's needs the residual sum and is made elsewhere.
func (d *dist) logLik(y, mu, w float64) float64 {
	switch d.family {
	case Poisson:
		return w * PoissonLogP(y, mu)
	case Binomial:
		k := math.Round(y * w)
		return lchoose(w, k) + xlogy(k, mu) + xlogy(w-k, 1-mu)
	case negBin:
		return w * NegBinLogP(y, mu, d.theta)
	}
	return 0
}

func lgamma(x float64) float64 { v, _ := math.Lgamma(x); return v }

func lchoose(n, k float64) float64 { return lgamma(n+1) - lgamma(k+1) - lgamma(n-k+1) }

// PoissonLogP is the logarithm of the chance of a count y under a Poisson mean mu.
func PoissonLogP(y, mu float64) float64 { return xlogy(y, mu) - mu - lgamma(y+1) }

// NegBinLogP is the logarithm of the chance of a count y under the negative binomial with mean mu and variance mu + mu²/θ.
// θ = +Inf is the Poisson distribution.
func NegBinLogP(y, mu, theta float64) float64 {
	if math.IsInf(theta, 1) {
		return PoissonLogP(y, mu)
	}
	r := lgamma(y+theta) - lgamma(theta)
	if theta > 1e6 { // the difference of two large numbers: y terms of log(θ+k) instead
		r = 0
		for k := 0.0; k < y; k++ {
			r += math.Log(theta + k)
		}
	}
	return r - lgamma(y+1) - theta*math.Log1p(mu/theta) + xlogy(y, mu/(theta+mu))
}

func (f Family) String() string {
	return [...]string{"gaussian", "poisson", "binomial", "negative binomial"}[f]
}

func (d *dist) resolve() error {
	usual := [...]Link{Identity, Log, Logit, Log}
	if d.family < Gaussian || d.family > negBin {
		return fmt.Errorf("family: %d; accepted: gaussian, poisson, binomial", d.family)
	}
	if d.link == Usual {
		d.link = usual[d.family]
	}
	ok := map[Family][]Link{Gaussian: {Identity, Log}, Poisson: {Log, Identity}, Binomial: {Logit, Probit, CLogLog}, negBin: {Log}}
	for _, l := range ok[d.family] {
		if l == d.link {
			return nil
		}
	}
	return fmt.Errorf("link: %d is not one of the links of the %s family", d.link, d.family)
}
