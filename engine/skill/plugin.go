package skill

import (
	"errors"
	"math"

	"thwart/engine/num"
)

// Update gives the chance of one person under the prior Beta(a, b), which is worth a + b trials: the posterior Beta(a+x,
// b+n−x) with its mean and equal-tailed limits.
func Update(a, b float64, c num.Count, level float64) (Estimate, error) {
	err := errors.Join(num.Positive("a", a), num.Positive("b", b), c.Validate(), num.Between("level", level, 0, 1))
	if err != nil {
		return Estimate{}, err
	}
	a, b = a+float64(c.X), b+float64(c.N-c.X)
	e := Estimate{Count: c, Mean: a / (a + b), Level: level}
	e.SD = math.Sqrt(e.Mean * (1 - e.Mean) / (a + b + 1))
	tail := (1 - level) / 2
	if e.Lo, err = num.BetaQuantile(tail, a, b); err != nil {
		return Estimate{}, err
	}
	e.Hi, err = num.BetaQuantile(1-tail, a, b)
	return e, err
}

// MostLikely gives the a and b of the Beta from which the counts are most likely to have come (empirical Bayes). Where people
// differ no more than chance does, the weight a + b runs to the largest that is tried, a million. ok is false where it ran to
// an end. [Fit] is to be preferred: this leaves out the doubt about a and b.
func MostLikely(counts []num.Count) (a, b float64, ok bool) {
	t := tallied(counts)
	l, s, ok := climb(func(l, s float64) float64 {
		m, w := logistic(l), math.Exp(s)
		return t.logLik(m*w, (1-m)*w)
	})
	m, w := logistic(l), math.Exp(s)
	return m * w, (1 - m) * w, ok
}

// Mode gives the a and b at the top of the posterior of [Fit] in the coordinates ln(a/b) and ln(a+b).
func Mode(counts []num.Count, prior Hyper) (a, b float64, ok bool) {
	t := tallied(counts)
	l, s, ok := climb(func(l, s float64) float64 {
		m, w := logistic(l), math.Exp(s)
		return t.logLik(m*w, (1-m)*w) + prior.logPrior(m, w)
	})
	m, w := logistic(l), math.Exp(s)
	return m * w, (1 - m) * w, ok
}

// climb finds the top of a smooth function of logit mean and log weight: from a coarse look down to steps of a hundred
// millionth, always to the best of nine neighbours.
func climb(f func(l, s float64) float64) (l, s float64, ok bool) {
	const loL, hiL, loS, hiS = -9.0, 9.0, -2.3, 13.8
	best := math.Inf(-1)
	for x := loL; x <= hiL; x += 0.25 {
		for y := loS; y <= hiS; y += 0.25 {
			if v := f(x, y); v > best {
				l, s, best = x, y, v
			}
		}
	}
	for step := 0.25; step > 1e-8; {
		x, y := l, s
		for i := -1.0; i <= 1; i++ {
			for k := -1.0; k <= 1; k++ {
				u, v := l+i*step, s+k*step
				if u < loL || u > hiL || v < loS || v > hiS {
					continue
				}
				if z := f(u, v); z > best {
					x, y, best = u, v, z
				}
			}
		}
		if x == l && y == s {
			step /= 2
		}
		l, s = x, y
	}
	return l, s, l > loL+0.3 && l < hiL-0.3 && s > loS+0.3 && s < hiS-0.3
}

// TrialsFor is the smallest number of trials whose Wilson interval, if the proportion comes out as expected, is no wider
// than plus or minus half at the level.
func TrialsFor(expected, half, level float64) (int, error) {
	err := errors.Join(num.Within("expected", expected, 0, 1), num.Between("half", half, 0, 0.5), num.Between("level", level, 0, 1))
	if err != nil {
		return 0, err
	}
	z := math.Sqrt2 * math.Erfinv(level)
	enough := func(n float64) bool {
		return z*math.Sqrt(expected*(1-expected)/n+z*z/(4*n*n))/(1+z*z/n) <= half
	}
	hi := 1
	for !enough(float64(hi)) {
		if hi *= 2; hi > 1<<30 {
			return 0, &num.RangeError{Field: "half", Value: half, Accepted: "a half-width that fewer than a thousand million trials reach"}
		}
	}
	lo := hi / 2
	for hi-lo > 1 {
		if mid := (lo + hi) / 2; enough(float64(mid)) {
			hi = mid
		} else {
			lo = mid
		}
	}
	return hi, nil
}

// Apart reports whether two intervals leave no value in common. Where they overlap, nothing is said of who is better.
func Apart(a, b Estimate) bool { return a.Hi < b.Lo || b.Hi < a.Lo }
