package glm

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// objective gives the log-likelihood at x and writes its gradient.
type objective func(x, gradient []float64) float64

// hessian is that of an objective by central differences of its exact gradient.
func hessian(f objective, x []float64) *mat.SymDense {
	p := len(x)
	h := mat.NewDense(p, p, nil)
	at, up, down := append([]float64(nil), x...), make([]float64, p), make([]float64, p)
	for j := range p {
		step := 1e-5 * math.Max(1, math.Abs(x[j]))
		at[j] = x[j] + step
		f(at, up)
		at[j] = x[j] - step
		f(at, down)
		at[j] = x[j]
		for i := range p {
			h.Set(i, j, (up[i]-down[i])/(2*step))
		}
	}
	s := mat.NewSymDense(p, nil)
	for i := range p {
		for j := i; j < p; j++ {
			s.SetSym(i, j, (h.At(i, j)+h.At(j, i))/2)
		}
	}
	return s
}

// maximum climbs to the top of an objective by Newton steps, made shorter and steeper (Levenberg) where the surface is not
// concave or a step would fall. It gives the place, its value and the covariance there (the inverse of the information).
func maximum(f objective, start []float64, what string) (x []float64, value float64, cov *mat.SymDense, steps int, err error) {
	p := len(start)
	x = append([]float64(nil), start...)
	g, trial, gTrial := make([]float64, p), make([]float64, p), make([]float64, p)
	value = f(x, g)
	damp := 0.0
	for steps = 1; steps <= 500; steps++ {
		h := hessian(f, x)
		moved := false
		for try := 0; try < 40; try++ {
			var chol mat.Cholesky
			m := mat.NewSymDense(p, nil)
			for i := range p {
				for j := i; j < p; j++ {
					m.SetSym(i, j, -h.At(i, j))
				}
				m.SetSym(i, i, -h.At(i, i)+damp*(1+math.Abs(h.At(i, i))))
			}
			if chol.Factorize(m) {
				var d mat.VecDense
				if solveErr := chol.SolveVecTo(&d, mat.NewVecDense(p, g)); solveErr == nil || isCondition(solveErr) {
					gain := 0.0
					for j := range p {
						trial[j] = x[j] + d.AtVec(j)
						gain += d.AtVec(j) * g[j]
					}
					next := f(trial, gTrial)
					if damp == 0 && gain < 1e-16*(math.Abs(value)+1) {
						var inv mat.SymDense
						if chol.InverseTo(&inv) != nil {
							return x, value, nil, steps, &ConvergenceError{Steps: steps, What: what + ": the likelihood is flat at its top"}
						}
						return x, value, &inv, steps, nil
					}
					if next >= value-1e-12*math.Abs(value) && !math.IsNaN(next) {
						copy(x, trial)
						copy(g, gTrial)
						value, moved = next, true
						damp /= 10
						if damp < 1e-9 {
							damp = 0
						}
						break
					}
				}
			}
			damp = math.Max(10*damp, 1e-6)
		}
		if !moved {
			break
		}
		for j := range p {
			if math.Abs(x[j]) > 1e4 {
				return x, value, nil, steps, &ConvergenceError{Steps: steps, What: what + ": an estimate runs to infinity"}
			}
		}
	}
	return x, value, nil, steps, &ConvergenceError{Steps: steps, What: what}
}

func isCondition(err error) bool { _, ok := err.(mat.Condition); return ok }
