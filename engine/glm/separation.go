package glm

import (
	"math"
)

// separation looks for a direction along which the likelihood rises for ever, by the iterative rectifier of Correia, Guimarães
// & Zylkin (2019, arXiv:1903.01633): rows that may run to a limit are regressed on the covariates while all others are held at
// zero by a heavy weight, negative fits are cut off, and what remains positive is separated. For a binomial, rows of all
// successes run the other way, so their signs are turned. nil: there is none.
func separation(d *Design, y []float64, f Family) *SeparationError {
	n := len(y)
	sign := make([]float64, n)
	free := 0
	for i := range n {
		switch {
		case f == Gaussian:
			return nil
		case y[i] == 0:
			sign[i] = 1
			free++
		case f == Binomial && y[i] == 1:
			sign[i] = -1
			free++
		}
	}
	if free == 0 {
		return nil
	}
	const heavy, tol, rounds = 1e4, 1e-5, 2000 // the square root of the weight of a held row
	root := make([]float64, n)
	turned := Design{Names: d.Names, X: make([]float64, len(d.X)), Rows: n}
	for i := range n {
		root[i] = 1
		s := sign[i]
		if s == 0 {
			root[i], s = heavy, 1
		}
		for j, x := range d.Row(i) {
			turned.Row(i)[j] = s * x
		}
	}
	ls := newLeastSquares(&turned)
	if ls.factor(root) >= 0 {
		return nil
	}
	u, rhs, fitted := make([]float64, n), make([]float64, n), make([]float64, n)
	for i := range n {
		if sign[i] != 0 {
			u[i] = 1
		}
	}
	var beta []float64
	for range rounds {
		for i := range n {
			rhs[i] = u[i] * root[i]
		}
		var ok bool
		if beta, ok = ls.solve(rhs); !ok {
			return nil
		}
		turned.eta(beta, nil, fitted)
		worst := 0.0
		for i := range n {
			if sign[i] != 0 {
				worst = math.Max(worst, math.Abs(u[i]-fitted[i]))
				u[i] = math.Max(0, fitted[i])
			}
		}
		if worst < tol {
			break
		}
	}
	e := &SeparationError{}
	for i := range n {
		if sign[i] != 0 && u[i] > 100*tol {
			e.Rows++
		}
	}
	if e.Rows == 0 {
		return nil
	}
	for j, name := range d.Names {
		if math.Abs(beta[j])*ls.scale[j] > 1e-3*math.Sqrt(float64(e.Rows)) {
			e.Columns = append(e.Columns, name)
		}
	}
	if len(e.Columns) == 0 {
		e.Columns = []string{"covariates"}
	}
	return e
}

// asError keeps a nil pointer from becoming an error that is not nil.
func asError(e *SeparationError) error {
	if e == nil {
		return nil
	}
	return e
}
