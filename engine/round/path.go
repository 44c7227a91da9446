package round

import "math"

// path is the closed line walked round the rig, clockwise seen from above: every point at distance m from a rectangle
// that holds craft, wheels and drive. It is convex and made of four straight sides and four quarter circles:
//
//	     front, at xa - m
//	╭───────────────╮        s grows clockwise and is 0 at the start corner,
//	│  (xa,-h) (xa,h)│        in the middle of that corner's quarter circle
//	│   rectangle   │
//	│  (xb,-h) (xb,h)│
//	╰───────────────╯
//	      rear, at xb + m
type path struct {
	xa, xb, h, m float64
	zero         float64 // where s = 0 lies, measured from the bow-port corner
}

// outline lays the path clear of the craft and of every outside stop that sticks out to the side or astern. Stops on the
// tongue are passed at AheadM, because nobody walks through a tow vehicle.
func outline(outside []Stop, o Options) path {
	p := path{xa: o.MarginM - o.AheadM, xb: o.LengthM, h: o.BeamM / 2, m: o.MarginM}
	for i := range outside {
		p.xb = max(p.xb, outside[i].XM)
		p.h = max(p.h, math.Abs(outside[i].YM))
	}
	width, long, quarter := p.sides()
	p.zero = [4]float64{0, width + quarter, width + long + 2*quarter, 2*width + long + 3*quarter}[o.Start.index()]
	return p
}

func (p path) sides() (width, long, quarter float64) { return 2 * p.h, p.xb - p.xa, math.Pi / 2 * p.m }

func (p path) perimeter() float64 {
	width, long, quarter := p.sides()
	return 2*width + 2*long + 4*quarter
}

// fromBow measures s from the bow-port corner, fromStart from the start corner; both stay within one circuit.
func (p path) fromBow(s float64) float64   { return p.within(s + p.zero) }
func (p path) fromStart(b float64) float64 { return p.within(b - p.zero) }

func (p path) within(s float64) float64 {
	c := p.perimeter()
	s = math.Mod(s, c)
	if s < 0 {
		s += c
	}
	if s >= c { // a tiny negative s plus c rounds to c
		s = 0
	}
	return s
}

// behind is s behind the middle of the transom.
func (p path) behind() float64 {
	width, long, quarter := p.sides()
	return p.fromStart(2.5*quarter + width + long + width/2)
}

// at is the point of the path at s.
func (p path) at(s float64) Point {
	width, long, quarter := p.sides()
	b := p.fromBow(s)
	corner := func(cx, cy, angle float64) Point { // angle clockwise from straight ahead
		return Point{cx - p.m*math.Cos(angle), cy + p.m*math.Sin(angle)}
	}
	turn := func(b float64) float64 { return b / p.m }
	switch {
	case b < quarter/2:
		return corner(p.xa, -p.h, -math.Pi/4+turn(b))
	case b < quarter/2+width:
		return Point{p.xa - p.m, -p.h + (b - quarter/2)}
	case b < 1.5*quarter+width:
		return corner(p.xa, p.h, turn(b-quarter/2-width))
	case b < 1.5*quarter+width+long:
		return Point{p.xa + (b - 1.5*quarter - width), p.h + p.m}
	case b < 2.5*quarter+width+long:
		return corner(p.xb, p.h, math.Pi/2+turn(b-1.5*quarter-width-long))
	case b < 2.5*quarter+2*width+long:
		return Point{p.xb + p.m, p.h - (b - 2.5*quarter - width - long)}
	case b < 3.5*quarter+2*width+long:
		return corner(p.xb, -p.h, math.Pi+turn(b-2.5*quarter-2*width-long))
	case b < 3.5*quarter+2*width+2*long:
		return Point{p.xb - (b - 3.5*quarter - 2*width - long), -p.h - p.m}
	}
	return corner(p.xa, -p.h, 1.5*math.Pi+turn(b-3.5*quarter-2*width-2*long))
}

// levelM is how nearly equal two distances have to be for the side reached first to be taken.
const levelM = 1e-9

// nearest is s of the point of the path nearest to (x, y).
func (p path) nearest(x, y float64) float64 {
	width, long, quarter := p.sides()
	cx, cy := min(max(x, p.xa), p.xb), min(max(y, -p.h), p.h)
	// The foot of the perpendicular on each side, measured from the bow-port corner.
	front := quarter/2 + (cy + p.h)
	starboard := 1.5*quarter + width + (cx - p.xa)
	rear := 2.5*quarter + width + long + (p.h - cy)
	port := 3.5*quarter + 2*width + long + (p.xb - cx)
	dx, dy := x-cx, y-cy
	switch {
	case dx == 0 && dy == 0: // inside the rectangle: the nearest of the four sides
		sides := [4]struct{ b, d float64 }{{front, x - p.xa}, {starboard, p.h - y}, {rear, p.xb - x}, {port, y + p.h}}
		least := min(sides[0].d, sides[1].d, sides[2].d, sides[3].d)
		s := math.Inf(1)
		for _, side := range sides {
			if side.d <= least+levelM {
				s = min(s, p.fromStart(side.b))
			}
		}
		return s
	case dy == 0 && dx < 0:
		return p.fromStart(front)
	case dy == 0:
		return p.fromStart(rear)
	case dx == 0 && dy > 0:
		return p.fromStart(starboard)
	case dx == 0:
		return p.fromStart(port)
	}
	// Beyond a corner: the angle clockwise from straight ahead, 0 to 2π, picks the point of that quarter circle.
	angle := math.Atan2(dy, -dx)
	switch {
	case dx < 0 && dy > 0:
		return p.fromStart(quarter/2 + width + angle*p.m)
	case dx > 0 && dy > 0:
		return p.fromStart(1.5*quarter + width + long + (angle-math.Pi/2)*p.m)
	case dx > 0:
		return p.fromStart(2.5*quarter + 2*width + long + (angle+math.Pi)*p.m)
	}
	return p.fromStart(3.5*quarter + 2*width + 2*long + (angle+math.Pi/2)*p.m)
}

// trace appends the path from s = from to s = to, corners included.
func (p path) trace(line []Point, from, to float64) []Point {
	width, long, quarter := p.sides()
	const pieces = 4 // straight pieces for a quarter circle
	ends := [4]float64{-quarter / 2, quarter/2 + width, 1.5*quarter + width + long, 2.5*quarter + 2*width + long}
	// Each quarter circle begins at ends[i]; the walk may pass the one at the start corner in two halves.
	for lap := 0.0; lap < 3; lap++ {
		for _, e := range ends {
			for k := 0; k <= pieces; k++ {
				s := e + quarter*float64(k)/pieces - p.zero + (lap-1)*p.perimeter()
				if s > from && s < to {
					line = append(line, p.at(s))
				}
			}
		}
	}
	return append(line, p.at(to))
}

func distance(a, b Point) float64 { return math.Hypot(a.XM-b.XM, a.YM-b.YM) }
