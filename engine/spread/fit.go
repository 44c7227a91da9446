package spread

import (
	"fmt"
	"math"

	"thwart/engine/num"
)

// History is one water that was clear at first: its risky passages in each year looked at, and the year in which it was found
// infested, from 1; 0 = not by the end.
type History struct {
	N     []float64
	Found int
}

// FitResult is the most likely α and c.
type FitResult struct {
	Alpha    float64      `json:"alpha"`
	C        float64      `json:"c"`
	AlphaCI  num.Interval `json:"alphaInterval" doc:"95 %, by the likelihood ratio"`
	CCI      num.Interval `json:"cInterval"`
	LogLik   float64      `json:"logLik"`
	Alpha1   float64      `json:"alphaAtC1" doc:"the best α where c is 1"`
	LogLik1  float64      `json:"logLikAtC1"`
	Ratio    float64      `json:"likelihoodRatio" doc:"twice the difference: chi-square with one degree of freedom where c is 1"`
	P        float64      `json:"p" doc:"chance of as large a ratio where c is 1"`
	Found    int          `json:"found"`
	Waters   int          `json:"waters"`
	Warnings []string     `json:"warnings"`
}

// LogLikelihood of dated finds: the product over waters of exp(-(αN)^c) for each year before, and 1-exp(-(αN)^c) for the year it
// was found in. N is that of each year and does not add up. A water found in the year it was infested is assumed.
func LogLikelihood(h []History, alpha, c float64) float64 {
	var sum float64
	for i := range h {
		for y, n := range h[i].N {
			if h[i].Found > 0 && y+1 > h[i].Found {
				break
			}
			x := math.Pow(alpha*n, c)
			if y+1 == h[i].Found {
				sum += math.Log(-math.Expm1(-x))
			} else {
				sum -= x
			}
		}
	}
	return sum
}

// Fit estimates α and c by maximum likelihood. Differences between waters that are not in N flatten the curve and draw c down
// (Duncan et al. 2014, Methods Ecol. Evol., doi 10.1111/2041-210x.12288), so a c near 1 does not speak against an Allee effect.
func Fit(h []History) (FitResult, error) {
	r := FitResult{Waters: len(h)}
	for i, w := range h {
		if len(w.N) == 0 || w.Found < 0 || w.Found > len(w.N) {
			return r, fmt.Errorf("waters[%d].found: %d is not accepted; accepted: 0 for never, or a year from 1 to %d", i, w.Found, len(w.N))
		}
		for _, n := range w.N {
			if err := num.NotNegative(fmt.Sprintf("waters[%d].n", i), n); err != nil {
				return r, err
			}
		}
		if w.Found > 0 {
			if w.N[w.Found-1] == 0 {
				return r, fmt.Errorf("waters[%d].n: 0 risky passages in year %d, in which it was found infested; accepted: above 0, for it must have come from somewhere", i, w.Found)
			}
			r.Found++
		}
	}
	if r.Found == 0 || r.Found == len(h) {
		return r, fmt.Errorf("waters: %d of %d were found infested; accepted: some, and not all, or α has no end", r.Found, len(h))
	}
	r.LogLik, r.Alpha, r.C = math.Inf(-1), 0, 0
	r.C = best(math.Log(0.1), math.Log(20), func(logC float64) float64 { _, l := bestAlpha(h, math.Exp(logC)); return l })
	r.C = math.Exp(r.C)
	r.Alpha, r.LogLik = bestAlpha(h, r.C)
	r.Alpha1, r.LogLik1 = bestAlpha(h, 1)
	r.Ratio = math.Max(0, 2*(r.LogLik-r.LogLik1))
	r.P = math.Erfc(math.Sqrt(r.Ratio / 2))
	if r.C < 0.11 || r.C > 19 {
		r.Warnings = append(r.Warnings, "The most likely c lies at the edge of what is searched (0.1 to 20): these waters do not say what c is.")
	}
	profileC := func(logC float64) float64 { _, l := bestAlpha(h, math.Exp(logC)); return l }
	profileA := func(logA float64) float64 {
		f := func(logC float64) float64 { return LogLikelihood(h, math.Exp(logA), math.Exp(logC)) }
		return f(best(math.Log(0.1), math.Log(20), f))
	}
	cut := r.LogLik - z95*z95/2
	r.CCI = num.Interval{Lo: math.Exp(edge(profileC, math.Log(r.C), math.Log(0.1), cut)), Mid: r.C, Hi: math.Exp(edge(profileC, math.Log(r.C), math.Log(20), cut))}
	logA := math.Log(r.Alpha)
	r.AlphaCI = num.Interval{Lo: math.Exp(edge(profileA, logA, logA-12, cut)), Mid: r.Alpha, Hi: math.Exp(edge(profileA, logA, logA+12, cut))}
	return r, nil
}

// bestAlpha is the best α for a c.
func bestAlpha(h []History, c float64) (alpha, logLik float64) {
	top := 0.0
	for i := range h {
		for _, n := range h[i].N {
			top = math.Max(top, n)
		}
	}
	f := func(logA float64) float64 { return LogLikelihood(h, math.Exp(logA), c) }
	at := best(-math.Log(top)-25, -math.Log(top)+8, f)
	return math.Exp(at), f(at)
}

// best is the place of the largest value: a scan, then golden sections about its best point.
func best(lo, hi float64, f func(float64) float64) float64 {
	const steps = 60
	at, top := lo, math.Inf(-1)
	for k := range steps + 1 {
		x := lo + (hi-lo)*float64(k)/steps
		if v := f(x); v > top {
			at, top = x, v
		}
	}
	return num.Peak(math.Max(lo, at-(hi-lo)/steps), math.Min(hi, at+(hi-lo)/steps), 60, f)
}

// edge is where a profile falls to cut on the way from its best point to a limit; the limit itself where it does not.
func edge(f func(float64) float64, from, to, cut float64) float64 {
	if f(to) > cut {
		return to
	}
	for range 40 {
		mid := (from + to) / 2
		if f(mid) > cut {
			from = mid
		} else {
			to = mid
		}
	}
	return (from + to) / 2
}
