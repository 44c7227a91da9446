package chart

import (
	"math"
	"strconv"

	"thwart/draw"
)

// PlaceDot is findings at one place of a craft: Along is the share of its length aft of the bow, Across the share of half its beam
// to starboard. A mirrored place is drawn on both sides.
type PlaceDot struct {
	Name          string
	Along, Across float64
	Mirror        bool
	Amount        float64
}

// Places draws where on a craft things were found, from above with the bow to the left. The eight largest are
// numbered in the order given.
func Places(dots []PlaceDot, title string, m draw.Measure) *draw.Scene {
	const h, left, length, beam = 204.0, 110.0, 430.0, 104.0
	s := draw.New(Width, h, title)
	cy := h / 2
	at := func(along, across float64) draw.Point {
		return draw.Point{X: left + min(max(along, -0.2), 1.25)*length, Y: cy + min(max(across, -1.6), 1.6)*beam/2}
	}
	// The trailer: tongue, rails, cross members.
	a, b := at(-0.18, 0), at(0.1, 0)
	s.Add(line(a.X, a.Y, b.X, b.Y, 2, draw.Slate))
	for _, y := range []float64{-0.62, 0.62} {
		p, q := at(0.1, y), at(1.06, y)
		s.Add(line(b.X, b.Y, p.X, p.Y, 1.4, draw.Slate), line(p.X, p.Y, q.X, q.Y, 1.4, draw.Slate))
	}
	for _, x := range []float64{0.35, 0.7, 1.0} {
		p, q := at(x, -1.25), at(x, 1.25)
		if x != 0.7 {
			p, q = at(x, -0.62), at(x, 0.62)
		}
		s.Add(line(p.X, p.Y, q.X, q.Y, 1.4, draw.Slate))
	}
	for _, y := range []float64{-1.4, 1.4} {
		p := at(0.66, y)
		s.Add(draw.Path{Cmds: draw.Rect(p.X, p.Y-7, 36, 14), Fill: draw.Paper, Stroke: draw.Slate, Width: 1.4})
	}
	// The hull in plan: a pointed oval, cut off at the transom.
	var hull draw.Pen
	bow, stern := at(0, 0), at(1, 0)
	half := beam / 2
	hull.Move(bow.X, bow.Y).Curve(bow.X+length*0.22, cy-half*0.95, bow.X+length*0.45, cy-half, stern.X-length*0.25, cy-half).Line(stern.X, cy-half*0.86).
		Line(stern.X, cy+half*0.86).Line(stern.X-length*0.25, cy+half).Curve(bow.X+length*0.45, cy+half, bow.X+length*0.22, cy+half*0.95, bow.X, bow.Y).Close()
	s.Add(draw.Path{Cmds: hull.Cmds(), Stroke: draw.Ink, Width: 2, Round: true})
	t1, t2 := at(0.52, -0.97), at(0.52, 0.97)
	s.Add(line(t1.X, t1.Y, t2.X, t2.Y, 1.4, draw.Ink)) // the thwart
	var most float64
	for _, d := range dots {
		most = max(most, d.Amount)
	}
	taken := &labels{measure: m, width: Width, height: h}
	for _, d := range dots {
		r := max(2.5, 20*math.Sqrt(d.Amount/most))
		places := []draw.Point{at(d.Along, d.Across)}
		if d.Mirror && d.Across != 0 {
			places = append(places, at(d.Along, -d.Across))
			r /= math.Sqrt2 // both sides together have the area
		}
		for _, p := range places {
			s.Add(draw.Path{Cmds: draw.Ellipse(p.X, p.Y, r, r), Fill: draw.Madder, Opacity: 0.55, Stroke: draw.Madder, Width: 1})
		}
	}
	for i, d := range dots {
		if i >= 8 {
			break
		}
		r := max(2.5, 20*math.Sqrt(d.Amount/most))
		taken.put(s, at(d.Along, d.Across), max(r, 5)+4, strconv.Itoa(i+1), small)
	}
	s.Add(text(8, h-8, "bow to the left", small, draw.Start, draw.Slate))
	return s
}
