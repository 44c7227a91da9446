package traffic

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"thwart/engine/glm"
)

// sums is everything one pass over all pairs gives.
type sums struct {
	logLik   float64
	gradient [coefficients]float64
	// info is the expected information, the upper half row by row.
	info [coefficients * (coefficients + 1) / 2]float64
	// thetaGradient and thetaInfo are by log θ.
	thetaGradient, thetaInfo float64
	slope, excess            float64 // of the likelihood in 1/θ at 1/θ = 0; its scale
	mean, craft              float64 // expected and counted
	pairs                    int
}

func (s *sums) add(o *sums) {
	s.logLik += o.logLik
	for k := range s.gradient {
		s.gradient[k] += o.gradient[k]
	}
	for k := range s.info {
		s.info[k] += o.info[k]
	}
	s.thetaGradient += o.thetaGradient
	s.thetaInfo += o.thetaInfo
	s.slope += o.slope
	s.excess += o.excess
	s.mean += o.mean
	s.craft += o.craft
	s.pairs += o.pairs
}

// ahead guesses θ by moments: Var − mean = mean²/θ.
func (s *sums) ahead() float64 { return math.Max(0.01, math.Min(s.excess/s.slope, 1e4)) }

// information is the matrix scaled to ones on its diagonal, and the scales.
func (s *sums) information() (*mat.SymDense, [coefficients]float64) {
	m := mat.NewSymDense(coefficients, nil)
	var scale [coefficients]float64
	k := 0
	for i := range coefficients {
		for j := i; j < coefficients; j++ {
			m.SetSym(i, j, s.info[k])
			k++
		}
		scale[i] = math.Sqrt(m.At(i, i))
	}
	for i := range coefficients {
		for j := i; j < coefficients; j++ {
			m.SetSym(i, j, m.At(i, j)/scale[i]/scale[j])
		}
	}
	return m, scale
}

// pass goes over all pairs of which a count was possible; while the fitter samples, over those of every so many origins.
func (f *fitter) pass(at point) *sums {
	f.passes++
	f.each = f.each[:0]
	for _, j := range f.to {
		f.each = append(f.each, at.b[pull]*f.logA[j]+f.logE[j])
	}
	n := len(f.logO)
	parts := make([]sums, (n+blockRows-1)/blockRows)
	rows := make([][]float64, workerCount())
	inBlocks(n, func(from, to, worker int) {
		if rows[worker] == nil {
			rows[worker] = make([]float64, n)
		}
		s := &parts[from/blockRows]
		for i := from; i < to; i++ {
			if !f.d.sends(i) || i%f.stride != 0 {
				continue
			}
			f.d.Roads.LogKM(i, rows[worker])
			f.row(i, rows[worker], &at, s)
		}
	})
	var total sums
	for b := range parts {
		total.add(&parts[b])
	}
	return &total
}

// row adds one origin: first every pair as if its count were zero, then what the counts change.
func (f *fitter) row(i int, logKM []float64, at *point, s *sums) {
	theta, poisson := at.theta, math.IsInf(at.theta, 1)
	base := at.b[intercept] + at.b[origin]*f.logO[i]
	x := [coefficients]float64{1, f.logO[i], 0, 0}
	var w0, wa, wd, waa, wad, wdd, g0, ga, gd float64
	byTheta := 1 / theta
	var pairs int
	var mean, square, logs, parts, squares float64
	for k, j := range f.to {
		if int(j) == i {
			continue
		}
		a, km := f.pulls[k], logKM[j]
		mu := exp(base + f.each[k] + at.b[distance]*km)
		pairs++
		mean += mu
		w := mu
		if poisson {
			square += mu * mu
		} else {
			part := mu / (theta + mu)
			w = theta * part
			logs += log1p(mu * byTheta)
			parts += part
			squares += part * part
		}
		// Both derivatives of a zero count need only w: gradient −w·x, expected information w·x·xᵀ.
		w0 += w
		wa += w * a
		wd += w * km
		waa += w * a * a
		wad += w * a * km
		wdd += w * km * km
	}
	s.pairs += pairs
	s.mean += mean
	if poisson {
		s.logLik -= mean
		s.slope += square
		s.excess += square
	} else {
		s.logLik -= theta * logs
		s.thetaGradient += theta * (parts - logs)
		// Minus the second derivative by log θ of −θ·log(1+μ/θ).
		s.thetaInfo -= theta * (parts - logs + squares)
	}
	g0, ga, gd = -w0, -wa, -wd
	for _, c := range f.cells.list[f.cells.start[i]:f.cells.start[i+1]] {
		y := c.Count
		if y == 0 {
			continue
		}
		a, km := f.logA[c.To], logKM[c.To]
		eta := base + at.b[pull]*a + at.b[distance]*km + f.logE[c.To]
		mu := math.Exp(eta)
		s.craft += y
		g := y
		if poisson {
			s.logLik += y*eta - lgamma1(y)
			s.slope += (y-mu)*(y-mu) - y - mu*mu
		} else {
			g = y * theta / (theta + mu)
			s.logLik += glm.NegBinLogP(y, mu, theta) + theta*math.Log1p(mu/theta)
			// What y adds to the derivatives by log θ of a zero count: D = ψ(θ+y) − ψ(θ) − y/(θ+μ), times θ.
			d := glm.DigammaDiff(y, theta) - y/(theta+mu)
			s.thetaGradient += theta * d
			s.thetaInfo -= theta*d + theta*theta*(-glm.TrigammaDiff(y, theta)+y/((theta+mu)*(theta+mu)))
		}
		g0 += g
		ga += g * a
		gd += g * km
	}
	o := x[origin]
	s.gradient[intercept] += g0
	s.gradient[origin] += o * g0
	s.gradient[pull] += ga
	s.gradient[distance] += gd
	for k, v := range [...]float64{w0, o * w0, wa, wd, o * o * w0, o * wa, o * wd, waa, wad, wdd} {
		s.info[k] += v
	}
}

func lgamma1(y float64) float64 { v, _ := math.Lgamma(y + 1); return v }
