package chart

import (
	"cmp"
	"math"
	"slices"

	"thwart/draw"
)

// State is what is known of a water, for a map.
type State int

// States, each with a hatch of its own. A water where nobody looked is never drawn as a clean one.
const (
	Infested  State = iota // an organism lives in it
	Suspected              // found once, or suspected
	NotLooked
	NoneKnown // looked for and not found
)

// Water is a water on a map: its rings in degrees, the shore first, longitude before latitude.
type Water struct {
	ID, Name string
	Rings    [][][2]float64
	Centre   [2]float64
	State    State
	Faint    bool // outside the region
}

// Spot is a launch on a map; its dot has the area of Amount.
type Spot struct {
	ID, Name string
	At       [2]float64
	Amount   float64
}

// Stream is traffic between two points: as wide as Amount, and paler the wider its interval.
type Stream struct {
	From, To [2]float64
	Amount   float64
	Doubt    float64 // half the interval over the amount; 0 = counted
	Risky    bool    // from a water at risk
}

// Map is what a region's map shows.
type Map struct {
	Title   string
	Waters  []Water
	Spots   []Spot
	Streams []Stream
	Legend  Legend
	Labels  bool
	Height  float64 // at most; 0 = 560
}

// Legend holds the words of a map.
type Legend struct {
	Infested, Suspected, NotLooked, NoneKnown string
	Spot                                      string // what the area of a dot is
	Stream, Risky                             string
}

// projection puts degrees on the scene: plate carrée with longitudes shortened by the cosine of the middle latitude, which is
// true to shape to a few parts in a thousand over a region of a hundred kilometres.
type projection struct {
	lon0, lat0, kx, ky, x0, y0 float64
}

func (p projection) at(q [2]float64) draw.Point {
	return draw.Point{X: p.x0 + (q[0]-p.lon0)*p.kx, Y: p.y0 - (q[1]-p.lat0)*p.ky}
}

// box is the room that a water takes on the map.
func (p projection) box(w *Water) (lo, hi draw.Point) {
	lo = p.at(w.Centre)
	hi = lo
	for _, r := range w.Rings {
		for _, q := range r {
			at := p.at(q)
			lo, hi = draw.Point{X: min(lo.X, at.X), Y: min(lo.Y, at.Y)}, draw.Point{X: max(hi.X, at.X), Y: max(hi.Y, at.Y)}
		}
	}
	return lo, hi
}

func fitMap(points [][2]float64, width, height float64) (projection, float64) {
	lo, hi := [2]float64{math.Inf(1), math.Inf(1)}, [2]float64{math.Inf(-1), math.Inf(-1)}
	for _, q := range points {
		for i := range q {
			lo[i], hi[i] = min(lo[i], q[i]), max(hi[i], q[i])
		}
	}
	if len(points) == 0 {
		return projection{kx: 1, ky: 1}, 10
	}
	short := math.Cos((lo[1] + hi[1]) / 2 * math.Pi / 180)
	spanX, spanY := max((hi[0]-lo[0])*short, 1e-6), max(hi[1]-lo[1], 1e-6)
	const margin = 26.0
	k := min((width-2*margin)/spanX, (height-2*margin)/spanY)
	h := spanY*k + 2*margin
	return projection{lo[0], hi[1], k * short, k, (width - spanX*k) / 2, margin}, h
}

// Draw draws the map.
func (m Map) Draw(measure draw.Measure) *draw.Scene {
	height := m.Height
	if height == 0 {
		height = 560
	}
	var points [][2]float64
	for _, w := range m.Waters {
		if w.Faint && len(m.Streams) == 0 {
			continue
		}
		points = append(points, w.Centre)
		for _, r := range w.Rings {
			points = append(points, r...)
		}
	}
	for _, l := range m.Spots {
		points = append(points, l.At)
	}
	p, h := fitMap(points, Width, height)
	const foot = 62.0
	s := draw.New(Width, h+foot, m.Title)
	for i := range m.Waters {
		if w := &m.Waters[i]; !w.Faint || len(m.Streams) > 0 {
			s.Add(m.water(w, p))
		}
	}
	m.streams(s, p)
	var most float64
	for _, l := range m.Spots {
		most = max(most, l.Amount)
	}
	taken := &labels{measure: measure, width: Width, height: h}
	spots := slices.Clone(m.Spots)
	slices.SortStableFunc(spots, func(a, b Spot) int { return cmp.Compare(b.Amount, a.Amount) })
	for _, l := range spots {
		r := 2.0
		if most > 0 {
			r = max(2, 11*math.Sqrt(l.Amount/most))
		}
		at := p.at(l.At)
		s.Add(draw.Mark{At: at, Shape: draw.Dot, R: r, Fill: draw.Ink, Stroke: draw.Paper, Width: 1})
		taken.block(at, r)
	}
	if m.Labels {
		for _, w := range m.Waters {
			if !w.Faint {
				lo, hi := p.box(&w)
				taken.put(s, draw.Point{X: (lo.X + hi.X) / 2, Y: (lo.Y + hi.Y) / 2}, max(4, (hi.X-lo.X)/2+4), w.Name, small)
			}
		}
	}
	m.legend(s, h)
	return s
}

func (m Map) water(w *Water, p projection) draw.Item {
	var pen draw.Pen
	for _, ring := range w.Rings {
		for i, q := range ring {
			at := p.at(q)
			if i == 0 {
				pen.Move(at.X, at.Y)
			} else {
				pen.Line(at.X, at.Y)
			}
		}
		pen.Close()
	}
	cmds := pen.Cmds()
	if len(w.Rings) == 0 {
		at := p.at(w.Centre)
		cmds = draw.Ellipse(at.X, at.Y, 5, 5)
	}
	return draw.Group{Title: w.Name, Items: filled(cmds, w.State, w.Faint)}
}

func filled(cmds []draw.Cmd, state State, faint bool) []draw.Item {
	edge := draw.Lake
	if faint {
		edge = draw.Slate
	}
	ground := draw.Path{Cmds: cmds, Fill: draw.Wash}
	over := draw.Path{Cmds: cmds, Stroke: edge, Width: 1}
	switch state {
	case Infested:
		over.Fill, over.Hatch = draw.Lake, draw.Cross
		over.Stroke, over.Width = draw.Ink, 1.4
	case Suspected:
		over.Fill, over.Hatch = draw.Lake, draw.Dots
	case NotLooked:
		ground.Fill = draw.Paper
		over.Fill, over.Hatch = draw.Slate, draw.WideLines
	}
	return []draw.Item{ground, over}
}

func (m Map) streams(s *draw.Scene, p projection) {
	var most float64
	for _, f := range m.Streams {
		most = max(most, f.Amount)
	}
	list := slices.Clone(m.Streams)
	slices.SortStableFunc(list, func(a, b Stream) int { return cmp.Compare(a.Amount, b.Amount) })
	for _, f := range list {
		a, b := p.at(f.From), p.at(f.To)
		dx, dy := b.X-a.X, b.Y-a.Y
		d := math.Hypot(dx, dy)
		if d < 1 || most == 0 {
			continue
		}
		// A stream bends to its right, so that the two directions lie apart.
		bend := 0.16
		cx, cy := (a.X+b.X)/2-dy*bend, (a.Y+b.Y)/2+dx*bend
		var pen draw.Pen
		pen.Move(a.X, a.Y).Curve(a.X+(cx-a.X)*2/3, a.Y+(cy-a.Y)*2/3, b.X+(cx-b.X)*2/3, b.Y+(cy-b.Y)*2/3, b.X, b.Y)
		role := draw.Lake
		var dash []float64
		if f.Risky {
			role = draw.Madder
		} else {
			dash = []float64{7, 4}
		}
		s.Add(draw.Path{Cmds: pen.Cmds(), Stroke: role, Width: max(0.8, 9*f.Amount/most), Dash: dash, Opacity: max(0.25, 0.9-min(f.Doubt, 1)*0.65)})
		// The head of the arrow, along the end of the curve.
		ex, ey := b.X-cx, b.Y-cy
		l := math.Hypot(ex, ey)
		ex, ey = ex/l, ey/l
		size := 5 + 5*f.Amount/most
		var head draw.Pen
		head.Move(b.X, b.Y).Line(b.X-ex*size-ey*size*0.5, b.Y-ey*size+ex*size*0.5).Line(b.X-ex*size+ey*size*0.5, b.Y-ey*size-ex*size*0.5).Close()
		s.Add(draw.Path{Cmds: head.Cmds(), Fill: role})
	}
}

func (m Map) legend(s *draw.Scene, y float64) {
	x := 8.0
	y += 14
	for _, l := range []struct {
		words string
		state State
	}{{m.Legend.Infested, Infested}, {m.Legend.Suspected, Suspected}, {m.Legend.NotLooked, NotLooked}, {m.Legend.NoneKnown, NoneKnown}} {
		if l.words == "" {
			continue
		}
		s.Add(filled(draw.Rect(x, y-9, 26, 14), l.state, false)...)
		s.Add(text(x+34, y+3, l.words, small, draw.Start, draw.Slate))
		x += 160
	}
	x = 8
	y += 28
	if m.Legend.Spot != "" {
		s.Add(draw.Mark{At: draw.Point{X: x + 6, Y: y}, Shape: draw.Dot, R: 6, Fill: draw.Ink}, text(x+18, y+4, m.Legend.Spot, small, draw.Start, draw.Slate))
		x += 220
	}
	if m.Legend.Stream != "" {
		s.Add(draw.Path{Cmds: draw.Polyline([]draw.Point{{X: x, Y: y}, {X: x + 30, Y: y}}, false), Stroke: draw.Lake, Width: 3, Dash: []float64{7, 4}},
			text(x+38, y+4, m.Legend.Stream, small, draw.Start, draw.Slate))
		x += 210
		s.Add(draw.Path{Cmds: draw.Polyline([]draw.Point{{X: x, Y: y}, {X: x + 30, Y: y}}, false), Stroke: draw.Madder, Width: 3},
			text(x+38, y+4, m.Legend.Risky, small, draw.Start, draw.Slate))
	}
}

// labels finds room for names.
type labels struct {
	measure       draw.Measure
	width, height float64
	boxes         [][2]draw.Point
}

func (l *labels) block(at draw.Point, r float64) {
	l.boxes = append(l.boxes, [2]draw.Point{{X: at.X - r, Y: at.Y - r}, {X: at.X + r, Y: at.Y + r}})
}

// put writes a name beside a point where it finds room, and leaves it out where it does not.
func (l *labels) put(s *draw.Scene, at draw.Point, gap float64, name string, size float64) bool {
	for _, try := range []struct {
		dx, dy float64
		a      draw.Anchor
	}{{gap, 4, draw.Start}, {-gap, 4, draw.End}, {0, -gap - 2, draw.Middle}, {0, gap + 10, draw.Middle}, {gap, -8, draw.Start}, {gap, 16, draw.Start}, {-gap, -8, draw.End}, {-gap, 16, draw.End}} {
		t := draw.Text{At: draw.Point{X: at.X + try.dx, Y: at.Y + try.dy}, Text: name, Size: size, Anchor: try.a, Role: draw.Ink, Halo: true}
		lo, hi := t.Box(l.measure)
		lo, hi = draw.Point{X: lo.X - 2, Y: lo.Y - 2}, draw.Point{X: hi.X + 2, Y: hi.Y + 2}
		if lo.X < 0 || lo.Y < 0 || hi.X > l.width || hi.Y > l.height || l.taken(lo, hi) {
			continue
		}
		l.boxes = append(l.boxes, [2]draw.Point{lo, hi})
		s.Add(t)
		return true
	}
	return false
}

func (l *labels) taken(lo, hi draw.Point) bool {
	return slices.ContainsFunc(l.boxes, func(b [2]draw.Point) bool {
		return lo.X < b[1].X && b[0].X < hi.X && lo.Y < b[1].Y && b[0].Y < hi.Y
	})
}
