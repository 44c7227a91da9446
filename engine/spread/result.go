package spread

import (
	"math"
	"slices"

	"thwart/engine/num"
)

// z95 is the normal quantile of a two-sided 95 % interval.
const z95 = 1.959963984540054

// SpreadYear is what is expected by the end of one year. Mean intervals are 95 % ones for the luck of the simulation; Range is what 95 %
// of runs stay within, which is the luck (and the doubt about α and c) that the region really has.
type SpreadYear struct {
	Year    int          `json:"year"`
	Without num.Interval `json:"without" doc:"waters newly infested by then, without the plan: mean"`
	Range   num.Interval `json:"range" doc:"the same: median, and what 95 % of runs lie within"`
	With    num.Interval `json:"with" doc:"with the plan: mean; the same as without where there is no plan"`
	RangeW  num.Interval `json:"rangeWith"`
	Spared  num.Interval `json:"spared" doc:"fewer with the plan: mean of the differences on the same luck"`
	RangeD  num.Interval `json:"rangeSpared" doc:"fewer with the plan: median, and what 95 % of runs lie within"`
}

// Result of [Run].
type Result struct {
	Runs  int          `json:"runs"`
	Years []SpreadYear `json:"years"`
	// Chance is the share of runs in which a water is infested by the end of a year: by course, year and water.
	Chance [2][][]float64 `json:"-"`
	// Variance is that of the difference in the last year on the same luck; Apart what it would be on two lucks. Their ratio is
	// how many times fewer runs the same luck needs.
	Variance float64 `json:"variance"`
	Apart    float64 `json:"varianceApart"`
	Sharper  float64 `json:"sharper" doc:"times fewer runs that the same luck needs for the difference; 0 where nothing differs"`
	Planned  bool    `json:"planned"`
}

func (m *model) result(all []*worker) *Result {
	years := m.opt.Years
	r := &Result{Runs: m.opt.Runs, Planned: m.courses == 2}
	for s := range m.courses {
		r.Chance[s] = m.chances(all, s)
	}
	if m.courses == 1 {
		r.Chance[With], m.fallen[With] = r.Chance[Without], m.fallen[Without]
	}
	totals := [2][]float64{make([]float64, m.opt.Runs), make([]float64, m.opt.Runs)}
	for y := range years {
		spared := make([]float64, m.opt.Runs)
		for run := range m.opt.Runs {
			for s := range totals {
				totals[s][run] += float64(m.fallen[s][run*years+y])
			}
			spared[run] = totals[Without][run] - totals[With][run]
		}
		x := SpreadYear{Year: y + 1}
		var v [3]float64
		x.Without, v[0] = mean(totals[Without])
		x.With, v[1] = mean(totals[With])
		x.Spared, v[2] = mean(spared)
		x.Range, x.RangeW, x.RangeD = middle95(totals[Without]), middle95(totals[With]), middle95(spared)
		r.Years = append(r.Years, x)
		r.Variance, r.Apart = v[2], v[0]+v[1]
	}
	if r.Variance > 0 {
		r.Sharper = r.Apart / r.Variance
	}
	return r
}

// chances adds up the workers' counts, year upon year.
func (m *model) chances(all []*worker, s int) [][]float64 {
	out := make([][]float64, m.opt.Years)
	sum := make([]int64, m.waters)
	for y := range out {
		out[y] = make([]float64, m.waters)
		for j := range sum {
			for _, w := range all {
				sum[j] += int64(w.falls[s][y*m.waters+j])
			}
			out[y][j] = float64(sum[j]) / float64(m.opt.Runs)
			if m.opt.Infested[j] {
				out[y][j] = 1
			}
		}
	}
	return out
}

// mean with its 95 % interval, and the variance of one value.
func mean(x []float64) (num.Interval, float64) {
	n := float64(len(x))
	var sum, ss float64
	for _, v := range x {
		sum += v
	}
	for _, v := range x {
		ss += (v - sum/n) * (v - sum/n)
	}
	variance := ss / (n - 1)
	half := z95 * math.Sqrt(variance/n)
	return num.Interval{Lo: sum/n - half, Mid: sum / n, Hi: sum/n + half}, variance
}

func middle95(x []float64) num.Interval {
	sorted := slices.Clone(x)
	slices.Sort(sorted)
	return num.Interval{Lo: num.Quantile(sorted, 0.025), Mid: num.Quantile(sorted, 0.5), Hi: num.Quantile(sorted, 0.975)}
}

// ChanceInterval is the 95 % interval of a water's chance for the luck of so many runs (Wilson 1927).
func (r *Result) ChanceInterval(course, year, water int) (num.Interval, error) {
	return num.Wilson(int(math.Round(r.Chance[course][year-1][water]*float64(r.Runs))), r.Runs, 0.95)
}
