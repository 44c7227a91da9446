package round

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// drawPath draws a rig outline and the place of its start.
func drawPath(t *rapid.T) path {
	o := Defaults(rapid.Float64Range(1, 18).Draw(t, "length"), rapid.Float64Range(0.5, 5).Draw(t, "beam"))
	o.Start = rapid.SampledFrom(Corners).Draw(t, "corner")
	o.AheadM += rapid.Float64Range(0, 2).Draw(t, "ahead")
	return outline(nil, o)
}

// TestPathKeepsItsDistance: every point of the path lies at the margin from the rectangle, and going along it by a small
// step moves by that step (straight) or by its chord (corner).
func TestPathKeepsItsDistance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawPath(t)
		s := rapid.Float64Range(0, 1).Draw(t, "share") * p.perimeter()
		a := p.at(s)
		cx, cy := min(max(a.XM, p.xa), p.xb), min(max(a.YM, -p.h), p.h)
		if d := math.Hypot(a.XM-cx, a.YM-cy); math.Abs(d-p.m) > 1e-9 {
			t.Fatalf("point %v at s = %v lies %v m from the rectangle, want %v", a, s, d, p.m)
		}
		const step = 1e-3
		// A chord of an arc of length e and radius m is shorter than e by e³/(24 m²) in the first order.
		if d := distance(a, p.at(s+step)); d > step*(1+1e-9) || d < step-step*step*step/(20*p.m*p.m) {
			t.Fatalf("a step of %v m moves %v m at s = %v", step, d, s)
		}
	})
}

// TestNearestIsNearest compares with a fine walk round the path: no point is nearer than the one found, and of two
// equally near the one reached first is taken.
func TestNearestIsNearest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawPath(t)
		x := rapid.Float64Range(-4, 22).Draw(t, "x")
		y := rapid.Float64Range(-4, 4).Draw(t, "y")
		if rapid.Bool().Draw(t, "centreline") {
			y = 0
		}
		s := p.nearest(x, y)
		if s < 0 || s >= p.perimeter() {
			t.Fatalf("s = %v is outside one circuit of %v m", s, p.perimeter())
		}
		found := distance(Point{x, y}, p.at(s))
		const pieces = 2000
		for i := range pieces {
			at := p.perimeter() * float64(i) / pieces
			d := distance(Point{x, y}, p.at(at))
			if d < found-1e-9 {
				t.Fatalf("(%v, %v): %v m at s = %v, but %v m at s = %v", x, y, found, s, d, at)
			}
		}
		if y == 0 { // the mirror point is equally near
			a := p.at(s)
			if m := p.nearest(a.XM, -a.YM); m < s-1e-9 && x > p.xa && x < p.xb {
				t.Fatalf("(%v, 0): s = %v taken, although %v comes first", x, s, m)
			}
		}
	})
}

// TestCorners: s = 0 lies in the middle of the start corner.
func TestCorners(t *testing.T) {
	for _, start := range Corners {
		o := Defaults(6, 2)
		o.Start = start
		a := outline(nil, o).at(0)
		stern := start == SternPort || start == SternStarboard
		starboard := start == BowStarboard || start == SternStarboard
		if (a.XM > 3) != stern || (a.YM > 0) != starboard {
			t.Errorf("start corner %s is at %v", start, a)
		}
		out := o.MarginM * math.Sqrt2 / 2
		if math.Abs(math.Abs(a.YM)-1-out) > 1e-12 {
			t.Errorf("start corner %s: y = %v, want 1 + %v", start, a.YM, out)
		}
	}
}

// TestTraceFollowsThePath: the drawn line begins and ends where the walk does and never cuts into the margin by more
// than the sagitta of a quarter circle in four pieces, m (1 - cos(π/16)).
func TestTraceFollowsThePath(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawPath(t)
		to := rapid.Float64Range(0, 0.999).Draw(t, "share") * p.perimeter()
		line := p.trace([]Point{p.at(0)}, 0, to)
		if line[len(line)-1] != p.at(to) {
			t.Fatalf("line ends at %v, walk at %v", line[len(line)-1], p.at(to))
		}
		length := 0.0
		for i := 1; i < len(line); i++ {
			length += distance(line[i-1], line[i])
			mid := Point{(line[i-1].XM + line[i].XM) / 2, (line[i-1].YM + line[i].YM) / 2}
			cx, cy := min(max(mid.XM, p.xa), p.xb), min(max(mid.YM, -p.h), p.h)
			if d := math.Hypot(mid.XM-cx, mid.YM-cy); d < p.m*math.Cos(math.Pi/16)-1e-9 {
				t.Fatalf("the line passes %v m from the rectangle", d)
			}
		}
		if length > to+1e-9 || length < to*0.99-1e-9 { // four pieces shorten a quarter circle by 1 - sinc(π/16) = 0.6 %
			t.Fatalf("drawn %v m for %v m walked", length, to)
		}
	})
}

// TestKnownLengths checks tree and hull on shapes whose lengths are plain geometry.
func TestKnownLengths(t *testing.T) {
	for _, c := range []struct {
		name       string
		points     []Point
		tree, hull float64
		source     string
	}{
		{"nothing", nil, 0, 0, "empty set"},
		{"one point", []Point{{1, 1}}, 0, 0, "no extent"},
		{"two points", []Point{{0, 0}, {3, 4}}, 5, 10, "3-4-5 triangle; the hull of a segment is walked out and back"},
		{"unit square", []Point{{0, 0}, {1, 1}, {1, 0}, {0, 1}}, 3, 4, "three sides join four corners"},
		{"square and its middle", []Point{{0, 0}, {2, 2}, {2, 0}, {0, 2}, {1, 1}}, 4 * math.Sqrt2, 8, "four half diagonals"},
		{"on one line", []Point{{0, 0}, {5, 0}, {2, 0}, {2, 0}}, 5, 10, "extent once for the tree, twice for the hull"},
		{"regular hexagon", []Point{{1, 0}, {.5, math.Sqrt(3) / 2}, {-.5, math.Sqrt(3) / 2}, {-1, 0}, {-.5, -math.Sqrt(3) / 2}, {.5, -math.Sqrt(3) / 2}}, 5, 6, "six sides of length 1"},
	} {
		if c.source == "" {
			t.Errorf("%s has no source", c.name)
		}
		nodes := make([]node, len(c.points))
		for i, p := range c.points {
			nodes[i] = node{p, noPosture}
		}
		length := func(a, b node) float64 { return distance(a.at, b.at) }
		if got := spanningTree(nodes, length); math.Abs(got-c.tree) > 1e-12 {
			t.Errorf("%s: tree %v, want %v (%s)", c.name, got, c.tree, c.source)
		}
		if got := hullPerimeter(nodes); math.Abs(got-c.hull) > 1e-12 {
			t.Errorf("%s: hull %v, want %v (%s)", c.name, got, c.hull, c.source)
		}
	}
}
