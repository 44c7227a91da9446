package flows

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mathext"

	"thwart/engine/glm"
	"thwart/engine/num"
)

// FitBand is observed against expected in one group of pairs.
type FitBand struct {
	Name     string       `json:"name"`
	Pairs    int          `json:"pairs"`
	Observed float64      `json:"observed"`
	Expected num.Interval `json:"expected" doc:"95 % of seasons would count between lo and hi if the model were right"`
}

// GoodnessOfFit is how well the model fits the counts it was fitted to.
type GoodnessOfFit struct {
	Distance []FitBand `json:"distance" doc:"by road distance"`
	Levels   []FitBand `json:"calibration" doc:"by how many craft were expected, tenths of the pairs"`
	// Residuals are randomised quantile residuals.
	ResidualMean float64      `json:"residualMean" doc:"of the randomised quantile residuals (Dunn & Smyth 1996); 0 where the model is right"`
	ResidualSD   float64      `json:"residualSd" doc:"1 where the model is right"`
	KS           float64      `json:"ks" doc:"largest gap between their distribution and the normal one"`
	KSLimit      float64      `json:"ksLimit" doc:"what a right model exceeds once in twenty times: 1.358/√pairs (Kolmogorov), from memory"`
	QQ           [][2]float64 `json:"qq" doc:"normal quantile and quantile of the residuals, at 21 points"`
	R2           float64      `json:"r2" doc:"squared correlation of square roots, which have nearly one variance, counted and expected"`
	Misfit       []string     `json:"misfit" doc:"what does not fit, in words"`
}

type fitted struct{ y, mu, km float64 }

// pairsFitted lists every pair of which a count was possible with its expectation.
func (m *Model) pairsFitted() []fitted {
	out := make([]fitted, 0, m.fit.Pairs)
	row := make([]float64, len(m.waters))
	at := m.fit.At()
	for i := range m.waters {
		m.table.LogKM(i, row)
		for j := range m.waters {
			if i == j || !m.data.Inside[j] || m.data.Effort[j] == 0 {
				continue
			}
			e := m.data.Effort[j]
			if m.opt.NoEffort {
				e = 1
			}
			out = append(out, fitted{m.counts[[2]int32{int32(i), int32(j)}], e * m.fit.Mean(&at, i, j, row[j]), math.Exp(row[j])})
		}
	}
	return out
}

// maxChecked is the largest number of pairs that goodness of fit is worked out for one by one.
const maxChecked = 2_000_000

func (m *Model) goodness() *GoodnessOfFit {
	g := &GoodnessOfFit{Misfit: []string{}}
	if m.fit.Pairs > maxChecked {
		g.Misfit = append(g.Misfit, "Not looked at: there are too many pairs.")
		return g
	}
	list := m.pairsFitted()
	theta := m.fit.Theta
	slices.SortStableFunc(list, func(a, b fitted) int { return cmp.Compare(a.km, b.km) })
	g.Distance = bands(list, min(6, len(list)), theta, func(part []fitted) string {
		return fmt.Sprintf("%.0f to %.0f km", part[0].km, part[len(part)-1].km)
	})
	m.residuals(g, list, theta)
	slices.SortStableFunc(list, func(a, b fitted) int { return cmp.Compare(a.mu, b.mu) })
	g.Levels = bands(list, min(10, len(list)), theta, func(part []fitted) string {
		return fmt.Sprintf("%.3g to %.3g expected", part[0].mu, part[len(part)-1].mu)
	})
	for _, b := range append(slices.Clone(g.Distance), g.Levels...) {
		if !b.Expected.Contains(b.Observed) {
			g.Misfit = append(g.Misfit, fmt.Sprintf("Pairs %s: %.0f craft counted, %.0f expected (%.0f to %.0f).", b.Name, b.Observed, b.Expected.Mid, b.Expected.Lo, b.Expected.Hi))
		}
	}
	if g.KS > g.KSLimit {
		g.Misfit = append(g.Misfit, fmt.Sprintf("The residuals are not those of a right model: their distribution is off by %.3f where %.3f would be chance.", g.KS, g.KSLimit))
	}
	return g
}

// bands cuts sorted pairs into equal groups. The interval takes each count as negative binomial; doubt about the coefficients
// is not in it.
func bands(list []fitted, n int, theta float64, name func([]fitted) string) []FitBand {
	var out []FitBand
	for k := range n {
		part := list[k*len(list)/n : (k+1)*len(list)/n]
		if len(part) == 0 {
			continue
		}
		b := FitBand{Name: name(part), Pairs: len(part)}
		v := 0.0
		for _, p := range part {
			b.Observed += p.y
			b.Expected.Mid += p.mu
			v += p.mu
			if !math.IsInf(theta, 1) {
				v += p.mu * p.mu / theta
			}
		}
		// A gamma distribution with the sum's mean and variance, half a craft wider to each side since counts are whole.
		i := num.GammaInterval(b.Expected.Mid*b.Expected.Mid/v, b.Expected.Mid/v, 0.95)
		b.Expected.Lo, b.Expected.Hi = math.Max(0, i.Lo-0.5), i.Hi+0.5
		out = append(out, b)
	}
	return out
}

// residuals are normal where the model is right, discrete counts included (Dunn & Smyth 1996, J. Comput. Graph. Stat. 5:236).
func (m *Model) residuals(g *GoodnessOfFit, list []fitted, theta float64) {
	r := num.Stream(m.opt.Seed, "residuals")
	z := make([]float64, len(list))
	var s, ss float64
	for i, p := range list {
		below, at := cumulative(p.y, p.mu, theta)
		u := below + r.Float64()*at
		z[i] = math.Sqrt2 * math.Erfinv(2*math.Min(math.Max(u, 1e-12), 1-1e-12)-1)
		s += z[i]
		ss += z[i] * z[i]
	}
	n := float64(len(list))
	g.ResidualMean = s / n
	g.ResidualSD = math.Sqrt(math.Max(0, ss/n-g.ResidualMean*g.ResidualMean))
	g.R2 = rootCorrelation(list)
	slices.Sort(z)
	for i, x := range z {
		p := math.Erfc(-x/math.Sqrt2) / 2
		g.KS = math.Max(g.KS, math.Max(math.Abs(p-float64(i)/n), math.Abs(p-float64(i+1)/n)))
	}
	g.KSLimit = 1.358 / math.Sqrt(n)
	for k := range 21 {
		p := (float64(k) + 0.5) / 21
		g.QQ = append(g.QQ, [2]float64{math.Sqrt2 * math.Erfinv(2*p-1), num.Quantile(z, p)})
	}
}

// rootCorrelation is the squared correlation of √counted and √expected.
func rootCorrelation(list []fitted) float64 {
	var y, m, yy, mm, ym float64
	n := float64(len(list))
	for _, p := range list {
		a, b := math.Sqrt(p.y), math.Sqrt(p.mu)
		y += a
		m += b
		yy += p.y
		mm += p.mu
		ym += a * b
	}
	v := (yy - y*y/n) * (mm - m*m/n)
	if !(v > 0) {
		return 0
	}
	c := ym - y*m/n
	return c * c / v
}

// cumulative gives P(Y < y) and P(Y = y).
func cumulative(y, mu, theta float64) (below, at float64) {
	at = math.Exp(glm.NegBinLogP(y, mu, theta))
	if y == 0 {
		return 0, at
	}
	if math.IsInf(theta, 1) {
		return mathext.GammaIncRegComp(y, mu), at
	}
	return mathext.RegIncBeta(theta, y, theta/(theta+mu)), at
}
