package glm

import (
	"fmt"
	"maps"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// Robust gives the sandwich covariance of the coefficients (Huber 1967; White 1980, HC0): right for any variance of the rows
// as long as the means are. clusters numbers rows that belong together, whose errors may then be alike in any way (Liang &
// Zeger 1986); nil takes rows as independent. No factor for small samples is applied.
func (r *Result) Robust(clusters []int) (*mat.SymDense, []float64, error) {
	n, p := len(r.Fitted), len(r.Coef)
	if clusters != nil && len(clusters) != n {
		return nil, nil, fmt.Errorf("clusters: %d numbers; accepted: one for each of the %d rows", len(clusters), n)
	}
	y, w, err := r.problem.responses(r.dist.family)
	if err != nil {
		return nil, nil, err
	}
	sums := map[int][]float64{}
	meat := mat.NewSymDense(p, nil)
	for i := range n {
		_, dmu := r.dist.link.mean(r.Eta[i])
		s := w[i] * (y[i] - r.Fitted[i]) * dmu / r.dist.variance(r.Fitted[i])
		x := r.problem.Design.Row(i)
		if clusters == nil {
			meat.SymRankOne(meat, s*s, mat.NewVecDense(p, x))
			continue
		}
		sum := sums[clusters[i]]
		if sum == nil {
			sum = make([]float64, p)
			sums[clusters[i]] = sum
		}
		for j := range x {
			sum[j] += s * x[j]
		}
	}
	for _, c := range slices.Sorted(maps.Keys(sums)) {
		meat.SymRankOne(meat, 1, mat.NewVecDense(p, sums[c]))
	}
	bread := mat.NewSymDense(p, nil)
	bread.ScaleSym(1/r.Scale, r.Cov)
	var half, full mat.Dense
	half.Mul(bread, meat)
	full.Mul(&half, bread)
	cov := mat.NewSymDense(p, nil)
	for i := range p {
		for j := i; j < p; j++ {
			cov.SetSym(i, j, (full.At(i, j)+full.At(j, i))/2)
		}
	}
	return cov, roots(cov), nil
}
