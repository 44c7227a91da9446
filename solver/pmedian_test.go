package solver_test

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"testing"

	"thwart/engine/mip"
	"thwart/internal/refcheck"
)

// pmedian reads an OR-Library p-median file (first line vertices, edges, p; then edges; the last given cost of an edge counts)
// and gives all distances by Floyd's method.
func pmedian(t *testing.T, text []byte) (dist [][]float64, p int) {
	t.Helper()
	r := bytes.NewReader(text)
	var n, edges int
	if _, err := fmt.Fscan(r, &n, &edges, &p); err != nil {
		t.Fatal(err)
	}
	dist = make([][]float64, n)
	for i := range dist {
		dist[i] = make([]float64, n)
		for j := range dist[i] {
			if i != j {
				dist[i][j] = math.Inf(1)
			}
		}
	}
	for range edges {
		var i, j int
		var c float64
		if _, err := fmt.Fscan(r, &i, &j, &c); err != nil {
			t.Fatal(err)
		}
		dist[i-1][j-1], dist[j-1][i-1] = c, c
	}
	for k := range n {
		for i := range n {
			for j := range n {
				dist[i][j] = math.Min(dist[i][j], dist[i][k]+dist[k][j])
			}
		}
	}
	return dist, p
}

// pmedianModel is min Σ d_ij·x_ij, Σ_j x_ij = 1, x_ij ≤ y_j, Σ y_j = p. A vertex goes to one of the near ones: with p medians
// none of the n − p + 1 nearest open would leave too few vertices, so the farthest p − 1 are left out.
func pmedianModel(dist [][]float64, p int) *mip.Model {
	n := len(dist)
	m := mip.New("p-median", false)
	var count []mip.Term
	for j := range n {
		count = append(count, mip.Term{Var: m.Binary(fmt.Sprint("open ", j), 0), Coef: 1})
	}
	m.Row("count", float64(p), float64(p), count...)
	for i := range n {
		var one []mip.Term
		for j := range n {
			farther := 0
			for k := range n {
				if dist[i][k] < dist[i][j] {
					farther++
				}
			}
			if farther > n-p {
				continue
			}
			x := m.Var("to", 0, 1, dist[i][j], false)
			one = append(one, mip.Term{Var: x, Coef: 1})
			m.AtMost("open", 0, mip.Term{Var: x, Coef: 1}, mip.Term{Var: mip.Var(j), Coef: -1})
		}
		m.Row("once", 1, 1, one...)
	}
	return m
}

// The published optima of the OR-Library's p-median instances (Beasley 1985, European Journal of Operational Research
// 21:270-273). The files are not ours to hand on: name their folder in THWART_ORLIB.
func TestPublishedMedians(t *testing.T) {
	dir := os.Getenv("THWART_ORLIB")
	if dir == "" {
		t.Skip("NOT CHECKED: THWART_ORLIB does not name a folder with the OR-Library's pmed files")
	}
	for name, want := range map[string]float64{"pmed1": 5819, "pmed2": 4093, "pmed3": 4250} {
		text, err := os.ReadFile(filepath.Join(dir, name+".txt"))
		if err != nil {
			t.Fatal(err)
		}
		dist, p := pmedian(t, text)
		s := solve(t, pmedianModel(dist, p), mip.Options{})
		refcheck.Near(t, name, s.Objective, want, 1e-6, "OR-Library, table of optima")
	}
}
