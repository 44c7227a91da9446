package flows

import (
	"fmt"
	"slices"

	"thwart/engine/num"
)

// mostDrawn is how many waters totals are drawn for. Beyond it every pair's luck would have to be drawn too often to wait for.
const mostDrawn = 1500

// fewestDraws of totals, and the number of single passages that more than these may take.
const (
	fewestDraws = 40
	drawnAtMost = 20_000_000
)

// totals draws the season's passages again and again and adds them up by water, as the risk's draws do: coefficients once per draw, each
// pair's own luck given its count. The intervals hold 95 % of the draws; nil where there are too many waters.
func (m *Model) totals() (into, out []num.Interval, all *num.Interval, err error) {
	n := len(m.waters)
	if n == 0 || n > mostDrawn {
		return nil, nil, nil, nil
	}
	p, err := m.passages()
	if err != nil {
		return nil, nil, nil, err
	}
	draws := min(m.opt.Draws, max(fewestDraws, drawnAtMost/(n*n)))
	in, sent := make([][]float64, n), make([][]float64, n)
	for i := range n {
		in[i], sent[i] = make([]float64, draws), make([]float64, draws)
	}
	sums := make([]float64, draws)
	row := make([]float64, n)
	for i := range n {
		for d := range draws {
			p.Row(d, i, num.Stream(m.opt.Seed, fmt.Sprintf("water %d draw %d", i, d)), row)
			for j, v := range row {
				if v > 0 && j != i {
					in[j][d] += v
					sent[i][d] += v
					sums[d] += v
				}
			}
		}
	}
	into, out = make([]num.Interval, n), make([]num.Interval, n)
	for i := range n {
		into[i], out[i] = middle(in[i]), middle(sent[i])
	}
	whole := middle(sums)
	return into, out, &whole, nil
}

// middle is the median of draws and what 95 % of them lie within. It sorts them.
func middle(draws []float64) num.Interval {
	slices.Sort(draws)
	return num.Interval{Lo: num.Quantile(draws, 0.025), Mid: num.Quantile(draws, 0.5), Hi: num.Quantile(draws, 0.975)}
}
