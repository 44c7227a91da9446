package traffic

import (
	"context"
	"fmt"
	"math"
	"slices"

	"thwart/engine/num"
)

// Bootstrap is what a parametric bootstrap found.
type Bootstrap struct {
	Draws  []Coefficients // in the order of the replicates
	Failed int            // replicates whose counts could not be fitted
	// SE and Interval (2.5 % and 97.5 %, Mid the median) are of the coefficients; Theta's are the last.
	SE       [coefficients + 1]float64
	Interval [coefficients + 1]num.Interval
	// Returns are the refits of craft that go back to their water, intercept and size; nil where there is no such model.
	Returns        [][returnCoefficients]float64
	ReturnSE       [returnCoefficients]float64
	ReturnInterval [returnCoefficients]num.Interval
}

// returnCoefficients of the model of craft that go back: intercept and size.
const returnCoefficients = 2

// Bootstrap draws counts from the fitted model n times and fits each anew (Efron & Tibshirani 1993, section 6.5). progress,
// where it is not nil, is told the share done. A cancelled context ends it with the context's error.
func (e *Estimate) Bootstrap(ctx context.Context, n int, seed uint64, progress func(float64)) (*Bootstrap, error) {
	if n < 20 || n > 100_000 {
		return nil, fmt.Errorf("replicates: %d; accepted: 20 to 100000", n)
	}
	out := &Bootstrap{}
	for k := range n {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		d := *e.data
		d.Cells = e.simulate(seed, k)
		d.Return = e.simulateReturns(seed, k)
		if r, err := e.again(&d); err == nil {
			out.Draws = append(out.Draws, r.At())
			if r.Return != nil && e.Return != nil {
				out.Returns = append(out.Returns, [returnCoefficients]float64{r.Return.Intercept, r.Return.Size})
			}
		} else {
			out.Failed++
		}
		if progress != nil {
			progress(float64(k+1) / float64(n))
		}
	}
	if len(out.Draws) < n/2 {
		return nil, fmt.Errorf("replicates: %d of %d could not be fitted; the counts are too thin for a bootstrap", out.Failed, n)
	}
	out.summarise()
	return out, nil
}

func (e *Estimate) again(d *Data) (*Estimate, error) {
	if err := d.check(); err != nil {
		return nil, err
	}
	start := point{b: e.Coef, theta: e.Theta}
	start.b[distance] = -start.b[distance]
	r, err := newFitter(d, e.opt).fit(&start)
	if err == nil {
		r.fitReturn()
	}
	return r, err
}

// simulateReturns draws the counts of craft that went back to their water.
func (e *Estimate) simulateReturns(seed uint64, k int) []float64 {
	out := slices.Clone(e.data.Return)
	if e.Return == nil {
		return out
	}
	r := num.Stream(seed, fmt.Sprintf("returns %d", k))
	for j := range out {
		if effort := e.effortAt(j); e.data.Inside[j] && effort > 0 {
			mean := math.Exp(e.Return.Intercept + e.Return.Size*math.Log(e.data.Pull[j]))
			out[j] = num.NegBin(r, effort*mean, e.Return.Theta)
		}
	}
	return out
}

// simulate draws the counts of every pair of which a count was possible.
func (e *Estimate) simulate(seed uint64, k int) []Cell {
	n := len(e.data.Origin)
	at := e.At()
	lists := make([][]Cell, n)
	rows := make([][]float64, workerCount())
	inBlocks(n, func(from, to, worker int) {
		if rows[worker] == nil {
			rows[worker] = make([]float64, n)
		}
		row := rows[worker]
		for i := from; i < to; i++ {
			if !e.data.sends(i) {
				continue
			}
			r := num.Stream(seed, fmt.Sprintf("counts %d from water %d", k, i))
			e.data.Roads.LogKM(i, row)
			for j := range n {
				effort := e.data.Effort[j]
				if j == i || effort == 0 || !e.data.Inside[j] {
					continue
				}
				if e.opt.NoEffort {
					effort = 1
				}
				if y := num.NegBin(r, effort*e.Mean(&at, i, j, row[j]), at.Theta); y > 0 {
					lists[i] = append(lists[i], Cell{int32(i), int32(j), y})
				}
			}
		}
	})
	return slices.Concat(lists...)
}

func (b *Bootstrap) summarise() {
	for k := range coefficients + 1 {
		b.SE[k], b.Interval[k] = scatter(len(b.Draws), func(i int) float64 {
			if k < coefficients {
				return b.Draws[i].B[k]
			}
			return b.Draws[i].Theta
		})
	}
	for k := range returnCoefficients {
		b.ReturnSE[k], b.ReturnInterval[k] = scatter(len(b.Returns), func(i int) float64 { return b.Returns[i][k] })
	}
}

// scatter is the standard deviation of the finite ones of n values, and their 2.5 % point, median and 97.5 % point.
func scatter(n int, at func(i int) float64) (se float64, i num.Interval) {
	if n == 0 {
		return 0, num.Interval{}
	}
	v := make([]float64, n)
	var sum, ss, finite float64
	for k := range v {
		v[k] = at(k)
		if !math.IsInf(v[k], 0) {
			sum += v[k]
			ss += v[k] * v[k]
			finite++
		}
	}
	slices.Sort(v)
	if finite > 1 {
		se = math.Sqrt(math.Max(0, (ss-sum*sum/finite)/(finite-1)))
	}
	return se, num.Interval{Lo: num.Quantile(v, 0.025), Mid: num.Quantile(v, 0.5), Hi: num.Quantile(v, 0.975)}
}
