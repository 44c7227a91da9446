package chart

import "thwart/draw"

// Series is one curve of [Years]: a value at the end of each year, from the first.
type Series struct {
	Name   string
	Values []float64
}

// YearsOptions of [Years].
type YearsOptions struct{ Title, X, Y string }

// dashes tell curves apart without colour.
var dashes = [][]float64{nil, {7, 4}, {2, 3}, {10, 3, 2, 3}}

// shapes do too.
var shapes = []draw.Shape{draw.Dot, draw.Square, draw.Diamond, draw.Up}

// Years draws curves that begin at nothing and grow from year to year, each with its own dash and mark, named in the legend below.
func Years(list []Series, o YearsOptions, m draw.Measure) *draw.Scene {
	const left, right, head, plotH, foot, row = 70.0, 30.0, 24.0, 150.0, 44.0, 18.0
	s := draw.New(Width, head+plotH+foot+row*float64(len(list)), o.Title)
	var top float64
	years := 0
	for _, c := range list {
		years = max(years, len(c.Values))
		for _, v := range c.Values {
			top = max(top, v)
		}
	}
	if years == 0 {
		return s
	}
	scale := ticks(top, 4)
	top = scale[len(scale)-1]
	x := func(year int) float64 { return left + float64(year)/float64(years)*(Width-left-right) }
	y := func(v float64) float64 { return head + plotH - v/top*plotH }
	s.Add(text(0, 11, o.Y, small, draw.Start, draw.Slate))
	for _, v := range scale {
		s.Add(line(left, y(v), Width-right, y(v), 0.6, draw.Faint), text(left-6, y(v)+4, plain(v), small, draw.End, draw.Slate))
	}
	for k := 0; k <= years; k += max(1, years/10) {
		s.Add(line(x(k), y(0), x(k), y(0)+4, 0.8, draw.Slate), text(x(k), y(0)+18, plain(float64(k)), small, draw.Middle, draw.Slate))
	}
	s.Add(text(Width-right, y(0)+34, o.X, small, draw.End, draw.Slate), line(left, y(0), Width-right, y(0), 1, draw.Ink))
	for i, c := range list {
		dash, shape := dashes[i%len(dashes)], shapes[i%len(shapes)]
		pts := []draw.Point{{X: x(0), Y: y(0)}}
		for k, v := range c.Values {
			pts = append(pts, draw.Point{X: x(k + 1), Y: y(v)})
		}
		s.Add(draw.Path{Cmds: draw.Polyline(pts, false), Stroke: draw.Ink, Width: 1.8, Dash: dash, Round: true})
		for _, p := range pts[1:] {
			s.Add(draw.Mark{At: p, Shape: shape, R: 3.5, Fill: draw.Ink})
		}
		at := y(0) + foot + row*float64(i)
		s.Add(draw.Path{Cmds: draw.Polyline([]draw.Point{{X: left, Y: at}, {X: left + 44, Y: at}}, false), Stroke: draw.Ink, Width: 1.8, Dash: dash},
			draw.Mark{At: draw.Point{X: left + 22, Y: at}, Shape: shape, R: 3.5, Fill: draw.Ink},
			text(left+54, at+4, Fit(c.Name, small, Width-left-right-54, m), small, draw.Start, draw.Ink))
	}
	return s
}
