package cli

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"thwart"
	"thwart/advice"
	"thwart/engine/trace"
	"thwart/unit"
)

// Size of the drawing of a trace, in characters.
const (
	drawRows  = 12
	drawWidth = 72
)

// drawTrace draws the trace against its target: full blocks up to what is proven (the coldest probe's reading less the
// thermometer's uncertainty), light blocks up to what it may have been at most. The target is a line; it is proven where
// full blocks reach it.
func drawTrace(p *printer, pr *thwart.Proof, probes [][]thwart.Probe) {
	cols := min(drawWidth, p.width-14)
	low, high, from, to := buckets(probes, cols)
	if low == nil {
		return
	}
	bottom, top := math.Inf(1), float64(pr.TargetC)
	for i := range low {
		if !math.IsNaN(low[i]) {
			bottom = math.Min(bottom, low[i]-pr.PlusMinusC)
			top = math.Max(top, high[i]+pr.PlusMinusC)
		}
	}
	if math.IsInf(bottom, 1) {
		return
	}
	bottom = math.Min(bottom, float64(pr.TargetC)-1)
	step := (top - bottom) / (drawRows - 1)
	// The target stands on the edge of a row, so that a block drawn there is at the target or above it, never nearly.
	above := math.Ceil((top - float64(pr.TargetC)) / step)
	p.line("")
	for r := range drawRows + 1 {
		edge := float64(pr.TargetC) + (above-float64(r))*step
		label := strings.Repeat(" ", 8)
		onTarget := r == int(above)
		if onTarget || r%3 == 0 {
			label = fmt.Sprintf("%8s", p.units.Temp(unit.Celsius(math.Round(edge*10)/10)))
		}
		var b strings.Builder
		for i := range low {
			switch {
			case !math.IsNaN(low[i]) && low[i]-pr.PlusMinusC >= edge-1e-9:
				b.WriteString("█")
			case !math.IsNaN(low[i]) && high[i]+pr.PlusMinusC >= edge-1e-9:
				b.WriteString("░")
			case onTarget:
				b.WriteString("─")
			default:
				b.WriteString(" ")
			}
		}
		mark := ""
		if onTarget {
			mark = " target"
		}
		p.line("%s │%s%s", label, strings.TrimRight(b.String(), " "), mark)
	}
	p.line("%s └%s", strings.Repeat(" ", 8), strings.Repeat("─", len(low)))
	end := unit.Duration(to - from)
	p.line("%s  0%s%s", strings.Repeat(" ", 8), strings.Repeat(" ", max(len(low)-1-len(end), 1)), end)
	p.line("%s  █ proven  ░ within the thermometer's uncertainty", strings.Repeat(" ", 8))
}

// buckets shares the time of the trace among columns and gives the lowest and highest reading in each, of the coldest
// probe at each moment. Columns between two readings take the lower of them; where nothing was watched, or the log jumps
// farther than counts as watched, a column stays NaN and is drawn empty.
func buckets(probes [][]thwart.Probe, cols int) (low, high []float64, from, to float64) {
	points := coldestPoints(probes)
	if len(points) < 2 || points[0].AtS == points[len(points)-1].AtS {
		return nil, nil, 0, 0
	}
	from, to = points[0].AtS, points[len(points)-1].AtS
	low, high = make([]float64, cols), make([]float64, cols)
	for i := range low {
		low[i], high[i] = math.NaN(), math.NaN()
	}
	put := func(i int, t float64) {
		if !(t >= low[i]) {
			low[i] = t
		}
		if !(t <= high[i]) {
			high[i] = t
		}
	}
	last := -1
	for k, pt := range points {
		if !drawable(pt.TempC) {
			last = -1
			continue
		}
		i := min(int((pt.AtS-from)/(to-from)*float64(cols)), cols-1)
		put(i, float64(pt.TempC))
		if last >= 0 && pt.AtS-points[k-1].AtS <= advice.MaxGapS {
			for between := last + 1; between < i; between++ {
				put(between, math.Min(float64(points[k-1].TempC), float64(pt.TempC)))
			}
		}
		last = i
	}
	return low, high, from, to
}

// drawable leaves out what a probe cannot have read, so that one wild value does not flatten the drawing. The judgement
// does its own cleaning.
func drawable(t unit.Celsius) bool { return t >= trace.LowestC && t <= trace.HighestC }

// coldestPoints gives the coldest probe at each moment, in order of time. A probe without a reading makes none.
func coldestPoints(probes [][]thwart.Probe) []thwart.Probe {
	var all []thwart.Probe
	for _, list := range probes {
		all = append(all, list...)
	}
	slices.SortStableFunc(all, func(a, b thwart.Probe) int {
		return cmp.Or(cmp.Compare(a.AtS, b.AtS), cmp.Compare(a.TempC, b.TempC))
	})
	return slices.CompactFunc(all, func(a, b thwart.Probe) bool { return a.AtS == b.AtS })
}
