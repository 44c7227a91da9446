package glm

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"

	"thwart/engine/num"
)

// Design is a matrix of covariates with a name per column. The zero Design has no column.
type Design struct {
	Names []string
	X     []float64 // row after row
	Rows  int
}

// NewDesign makes a design of n rows with the named columns, all zero.
func NewDesign(n int, names ...string) Design {
	return Design{Names: names, X: make([]float64, n*len(names)), Rows: n}
}

// Row gives a row, to be read or filled.
func (d *Design) Row(i int) []float64 { p := len(d.Names); return d.X[i*p : (i+1)*p] }

func (d *Design) check() error {
	if len(d.X) != d.Rows*len(d.Names) {
		return fmt.Errorf("design: %d numbers; accepted: %d rows of %d columns", len(d.X), d.Rows, len(d.Names))
	}
	p := len(d.Names)
	if p == 0 {
		return fmt.Errorf("design: no column; accepted: at least an intercept")
	}
	for i, x := range d.X {
		if err := row(num.Finite(d.Names[i%p], x), i/p); err != nil {
			return err
		}
	}
	if d.Rows < p {
		return &RankError{Column: d.Names[p-1]}
	}
	return nil
}

// eta is the linear predictor.
func (d *Design) eta(beta, offset, out []float64) {
	for i := range out {
		sum := 0.0
		for j, x := range d.Row(i) {
			sum += x * beta[j]
		}
		if offset != nil {
			sum += offset[i]
		}
		out[i] = sum
	}
}

// norms gives the length of each column, 1 for a column of zeros.
func (d *Design) norms() []float64 {
	s := make([]float64, len(d.Names))
	for i := range d.Rows {
		for j, x := range d.Row(i) {
			s[j] = math.Hypot(s[j], x)
		}
	}
	for j := range s {
		if s[j] == 0 {
			s[j] = 1
		}
	}
	return s
}

// leastSquares solves weighted least squares by Householder reflections on columns scaled to length one, which keeps some ten
// digits on data as nearly collinear as Longley's.
type leastSquares struct {
	d     *Design
	scale []float64
	a     *mat.Dense
	qr    mat.QR
}

func newLeastSquares(d *Design) *leastSquares {
	return &leastSquares{d: d, scale: d.norms(), a: mat.NewDense(d.Rows, len(d.Names), nil)}
}

// rankTol is the smallest part of a column, of length one, that must not lie in the span of those before it.
const rankTol = 1e-9

// factor decomposes the design with rows multiplied by root; nil stands for ones. It gives the first column without a part of
// its own, -1 where there is none.
func (l *leastSquares) factor(root []float64) int {
	raw := l.a.RawMatrix()
	for i := range l.d.Rows {
		w := 1.0
		if root != nil {
			w = root[i]
		}
		for j, x := range l.d.Row(i) {
			raw.Data[i*raw.Stride+j] = x / l.scale[j] * w
		}
	}
	l.qr.Factorize(l.a)
	var r mat.Dense
	l.qr.RTo(&r)
	biggest := 0.0
	for j := range l.d.Names {
		biggest = math.Max(biggest, math.Abs(r.At(j, j)))
	}
	for j := range l.d.Names {
		if v := math.Abs(r.At(j, j)); !(v > rankTol*biggest) {
			return j
		}
	}
	return -1
}

// solve gives the coefficients for a right-hand side multiplied by the same roots, ok false where none exist.
func (l *leastSquares) solve(rhs []float64) (beta []float64, ok bool) {
	var b mat.VecDense
	if err := l.qr.SolveVecTo(&b, false, mat.NewVecDense(len(rhs), rhs)); err != nil {
		if _, bad := err.(mat.Condition); !bad { // an ill-conditioned answer is an answer; the rank was looked at before
			return nil, false
		}
	}
	beta = make([]float64, len(l.d.Names))
	for j := range beta {
		beta[j] = b.AtVec(j) / l.scale[j]
		if math.IsNaN(beta[j]) || math.IsInf(beta[j], 0) {
			return nil, false
		}
	}
	return beta, true
}

// inverse is (XᵀWX)⁻¹ of the last factorisation.
func (l *leastSquares) inverse() *mat.SymDense {
	p := len(l.d.Names)
	var r mat.Dense
	l.qr.RTo(&r)
	tri := mat.NewTriDense(p, mat.Upper, nil)
	for i := range p {
		for j := i; j < p; j++ {
			tri.SetTri(i, j, r.At(i, j))
		}
	}
	var inv mat.TriDense
	_ = inv.InverseTri(tri) // ill conditioned at worst: the rank was looked at before
	out := mat.NewSymDense(p, nil)
	for i := range p {
		for j := i; j < p; j++ {
			sum := 0.0
			for k := j; k < p; k++ {
				sum += inv.At(i, k) * inv.At(j, k)
			}
			out.SetSym(i, j, sum/l.scale[i]/l.scale[j])
		}
	}
	return out
}
