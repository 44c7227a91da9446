package traffic

import (
	"fmt"
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/mat"

	"thwart/engine/num"
)

// Level is the level of the intervals of a flow.
const Level = 0.95

// Flow is passages of a season between two waters.
type Flow struct {
	// Model is the mean that the model gives, without looking at the pair's own count.
	Model float64
	// Passages is what is believed after the pair's own count: the model's mean where nobody was staffed, drawn to the count
	// where somebody was. Mid is its mean, Lo and Hi its 2.5 % and 97.5 % points: doubt about the coefficients and the luck of
	// the pair itself, not the luck of one season's counts.
	Passages num.Interval
}

// Coefficients that a flow is computed from; those of the estimate, or drawn ones.
type Coefficients struct {
	B     [coefficients]float64 // intercept, α, β, γ
	Theta float64
}

// At gives the estimate's own coefficients.
func (e *Estimate) At() Coefficients { return Coefficients{B: e.Coef, Theta: e.Theta} }

// Mean is the model's passages from water i to water j ≠ i in a season; 0 into a water outside the region.
func (e *Estimate) Mean(c *Coefficients, i, j int, logKM float64) float64 {
	if !e.data.Inside[j] || !e.data.sends(i) {
		return 0
	}
	return math.Exp(c.B[intercept] + c.B[origin]*math.Log(e.data.Origin[i]) + c.B[pull]*math.Log(e.data.Pull[j]) - c.B[distance]*logKM)
}

// logVariance is the variance of the log of a mean by doubt about the coefficients.
func (e *Estimate) logVariance(i, j int, logKM float64) float64 {
	x := [coefficients]float64{1, math.Log(e.data.Origin[i]), math.Log(e.data.Pull[j]), -logKM}
	v := 0.0
	for a := range x {
		for b := range x {
			v += x[a] * x[b] * e.Cov.At(a, b)
		}
	}
	return math.Max(0, v)
}

// Flow predicts one pair; count is what was met from i at j, 0 where nobody was met.
func (e *Estimate) Flow(i, j int, logKM, count float64) Flow {
	m, spread := e.spread(i, j, logKM)
	if m == 0 {
		return Flow{}
	}
	return Flow{Model: m, Passages: posterior(m, spread, count, e.effortAt(j))}
}

// Passages is the mean of [Estimate.Flow] alone, at a fraction of its cost.
func (e *Estimate) Passages(i, j int, logKM, count float64) float64 {
	m, spread := e.spread(i, j, logKM)
	if m == 0 || spread < least {
		return m
	}
	return (1/spread + count) / (1/(spread*m) + e.effortAt(j))
}

// spread is the model's mean of a pair and the variance of the pair's passages about it, relative to the squared mean.
func (e *Estimate) spread(i, j int, logKM float64) (mean, spread float64) {
	c := e.At()
	if mean = e.Mean(&c, i, j, logKM); mean == 0 {
		return 0, 0
	}
	return mean, spreadOf(e.logVariance(i, j, logKM), e.Theta, math.Min(e.LogThetaSE, 1.5))
}

func (e *Estimate) effortAt(j int) float64 {
	if e.opt.NoEffort && e.data.Effort[j] > 0 {
		return 1
	}
	return e.data.Effort[j]
}

// ReturnFlow predicts craft that go back to water j.
func (e *Estimate) ReturnFlow(j int) Flow {
	r := e.Return
	if r == nil || !e.data.Inside[j] {
		return Flow{}
	}
	m := math.Exp(r.Intercept + r.Size*math.Log(e.data.Pull[j]))
	// The two errors are strongly tied, and their tie is not kept: the wider of the two alone is the doubt at a usual size.
	v := math.Pow(math.Min(r.InterceptSE, r.SizeSE*math.Abs(math.Log(e.data.Pull[j]))), 2)
	return Flow{Model: m, Passages: posterior(m, spreadOf(v, r.Theta, 0), e.data.Return[j], e.effortAt(j))}
}

// spreadOf is 1/θ of spread from pair to pair and v from doubt about the coefficients. Doubt about θ itself, a standard error s
// of its log, widens it: the mean of 1/θ is then exp(s²/2)/θ.
func spreadOf(v, theta, s float64) float64 {
	if math.IsInf(theta, 1) {
		return v
	}
	return v + (1+v)/theta*math.Exp(s*s/2)
}

// least is the spread below which a mean counts as exact.
const least = 1e-9

// posterior joins the model's mean with the pair's own count. The pair's passages are taken as gamma distributed about the
// model's mean; a Poisson count with a share e of effort then leaves a gamma distribution again.
func posterior(m, spread, count, effort float64) num.Interval {
	if spread < least {
		return num.Exactly(m)
	}
	return num.GammaInterval(1/spread+count, 1/(spread*m)+effort, Level)
}

// Draw draws coefficients from the normal distribution that the information matrix gives, for whatever is computed from flows.
func (e *Estimate) Draw(r *rand.Rand) (Coefficients, error) {
	var used []int
	for k := range coefficients {
		if !e.opt.leavesOut(k) {
			used = append(used, k)
		}
	}
	sub := mat.NewSymDense(len(used), nil)
	for a, i := range used {
		for b := a; b < len(used); b++ {
			sub.SetSym(a, b, e.Cov.At(i, used[b]))
		}
	}
	var chol mat.Cholesky
	if !chol.Factorize(sub) {
		return Coefficients{}, fmt.Errorf("flows between waters: the covariance of the coefficients is not positive")
	}
	var l mat.TriDense
	chol.LTo(&l)
	z := make([]float64, len(used))
	for k := range z {
		z[k] = r.NormFloat64()
	}
	c := e.At()
	for a, i := range used {
		for b := 0; b <= a; b++ {
			c.B[i] += l.At(a, b) * z[b]
		}
	}
	if !math.IsInf(c.Theta, 1) {
		c.Theta *= math.Exp(e.LogThetaSE * r.NormFloat64())
	}
	return c, nil
}
