package demo

import (
	"math"
	"math/rand/v2"

	"thwart"
)

// xy is a point in a plane, in kilometres or in shape units.
type xy struct{ x, y float64 }

func (a xy) minus(b xy) xy              { return xy{a.x - b.x, a.y - b.y} }
func (a xy) dist(b xy) float64          { return math.Hypot(a.x-b.x, a.y-b.y) }
func (a xy) turned(cos, sin float64) xy { return xy{a.x*cos - a.y*sin, a.x*sin + a.y*cos} }

// The region lies on a plane that touches the sphere at its middle: equirectangular about this point. Over 120 km the
// scale is off by less than 1 %.
const (
	middleLon = -39.5
	middleLat = 46.5
	// earthKM is the mean radius (2a + b)/3 of the WGS 84 ellipsoid (IUGG mean radius R1, from memory).
	earthKM = 6371.0088
)

const degree = math.Pi / 180

func toPoint(p xy) thwart.Point {
	return thwart.Point{
		round(middleLon+p.x/(earthKM*degree*math.Cos(middleLat*degree)), 6),
		round(middleLat+p.y/(earthKM*degree), 6),
	}
}

func toPlane(p thwart.Point) xy {
	return xy{(p.Lon() - middleLon) * earthKM * degree * math.Cos(middleLat*degree), (p.Lat() - middleLat) * earthKM * degree}
}

// greatCircleKM is the haversine distance on the sphere of radius earthKM; the ellipsoid differs by up to 0.5 %.
func greatCircleKM(a, b thwart.Point) float64 {
	dLat, dLon := (b.Lat()-a.Lat())*degree, (b.Lon()-a.Lon())*degree
	h := math.Pow(math.Sin(dLat/2), 2) + math.Cos(a.Lat()*degree)*math.Cos(b.Lat()*degree)*math.Pow(math.Sin(dLon/2), 2)
	return 2 * earthKM * math.Asin(math.Sqrt(math.Min(1, h)))
}

// noise is gradient noise over the plane (Perlin 1985, with the smoother fade of 2002), about -0.7 to 0.7.
type noise struct{ salt uint64 }

func (n noise) gradient(ix, iy int64) (float64, float64) {
	h := n.salt ^ uint64(ix)*0x9e3779b97f4a7c15 ^ uint64(iy)*0xc2b2ae3d27d4eb4f
	h ^= h >> 31
	h *= 0xbf58476d1ce4e5b9
	h ^= h >> 29
	sin, cos := math.Sincos(float64(h>>11) / (1 << 53) * 2 * math.Pi)
	return cos, sin
}

func (n noise) at(p xy) float64 {
	fx, fy := math.Floor(p.x), math.Floor(p.y)
	ix, iy := int64(fx), int64(fy)
	u, v := p.x-fx, p.y-fy
	fade := func(t float64) float64 { return t * t * t * (t*(t*6-15) + 10) }
	corner := func(dx, dy int64) float64 {
		gx, gy := n.gradient(ix+dx, iy+dy)
		return gx*(u-float64(dx)) + gy*(v-float64(dy))
	}
	s, t := fade(u), fade(v)
	top := corner(0, 0) + s*(corner(1, 0)-corner(0, 0))
	bottom := corner(0, 1) + s*(corner(1, 1)-corner(0, 1))
	return top + t*(bottom-top)
}

// fractal sums octaves, each twice as fine and a little over half as strong as the one before.
func (n noise) fractal(p xy, octaves int) float64 {
	var sum float64
	weight := 1.0
	for k := range octaves {
		sum += weight * noise{n.salt + uint64(k)*0x632be59bd9b4e019}.at(p)
		weight *= 0.55
		p = xy{p.x*2.03 + 17.1, p.y*2.03 - 9.7}
	}
	return sum
}

// Kinds of basin.
const (
	basinKettle    = "kettle"    // small, round
	basinCompound  = "compound"  // several hollows run together: bays, narrows, islands
	basinFinger    = "finger"    // long, in a valley
	basinReservoir = "reservoir" // a drowned valley with its arms, behind a straight dam
)

// basin gives the depth of water over the plane in shape units: positive where there is water.
func basin(kind string, r *rand.Rand) func(xy) float64 {
	n, warp := noise{r.Uint64()}, noise{r.Uint64()}
	bend := func(p xy, by float64) xy {
		return xy{p.x + by*warp.fractal(xy{p.x*1.3 + 5, p.y * 1.3}, 3), p.y + by*warp.fractal(xy{p.x * 1.3, p.y*1.3 - 31}, 3)}
	}
	switch kind {
	case basinKettle:
		a := between(r, 0.65, 0.95)
		return func(p xy) float64 {
			q := bend(p, 0.35)
			return 0.75 - math.Hypot(q.x, q.y/a) + 0.22*n.fractal(xy{p.x * 2.4, p.y * 2.4}, 5)
		}
	case basinFinger:
		spine := walk(r, xy{-1, between(r, -0.15, 0.15)}, 0, 10, 0.22, 0.28)
		width := between(r, 0.11, 0.17)
		return func(p xy) float64 {
			q := bend(p, 0.22)
			d, s := nearest(spine, q)
			return width*(0.55+1.1*math.Sin(math.Pi*(0.08+0.84*s))) - d + 0.13*n.fractal(xy{p.x * 3.6, p.y * 3.6}, 5)
		}
	case basinReservoir:
		return reservoir(r, n, bend)
	}
	type hollow struct {
		at xy
		r  float64
	}
	var hollows []hollow
	at, heading := xy{-0.55, 0}, between(r, -0.8, 0.8)
	for range 3 + r.IntN(3) {
		hollows = append(hollows, hollow{at, between(r, 0.20, 0.42)})
		heading += between(r, -1.1, 1.1)
		at = xy{at.x + 0.42*math.Cos(heading), at.y + 0.42*math.Sin(heading)}
	}
	var islands []hollow
	for range 2 + r.IntN(4) {
		h := hollows[r.IntN(len(hollows))]
		sin, cos := math.Sincos(between(r, 0, 2*math.Pi))
		islands = append(islands, hollow{xy{h.at.x + 0.6*h.r*cos, h.at.y + 0.6*h.r*sin}, between(r, 0.05, 0.11)})
	}
	return func(p xy) float64 {
		q := bend(p, 0.35)
		var sum float64 // soft maximum: the narrows between hollows stay open
		for _, h := range hollows {
			sum += math.Exp(9 * (h.r - q.dist(h.at)))
		}
		f := math.Log(sum)/9 + 0.30*n.fractal(xy{p.x * 3.1, p.y * 3.1}, 6)
		for _, i := range islands {
			if d := p.dist(i.at); d < 3*i.r {
				f -= 0.55 * math.Exp(-d*d/(2*i.r*i.r))
			}
		}
		return f
	}
}

// walk lays a winding line of so many steps.
func walk(r *rand.Rand, from xy, heading float64, steps int, step, wind float64) []xy {
	line := []xy{from}
	for range steps {
		heading += between(r, -wind, wind)
		from = xy{from.x + step*math.Cos(heading), from.y + step*math.Sin(heading)}
		line = append(line, from)
	}
	return line
}

// nearest gives the distance to a line and how far along it (0 to 1) the nearest point lies.
func nearest(line []xy, p xy) (dist, share float64) {
	dist = math.Inf(1)
	for i := range len(line) - 1 {
		a, d := line[i], line[i+1].minus(line[i])
		t := ((p.x-a.x)*d.x + (p.y-a.y)*d.y) / (d.x*d.x + d.y*d.y)
		t = math.Max(0, math.Min(1, t))
		if x := p.dist(xy{a.x + t*d.x, a.y + t*d.y}); x < dist {
			dist, share = x, (float64(i)+t)/float64(len(line)-1)
		}
	}
	return dist, share
}

func reservoir(r *rand.Rand, n noise, bend func(xy, float64) xy) func(xy) float64 {
	type arm struct {
		line       []xy
		wide, thin float64
	}
	const dam = 0.95
	main := walk(r, xy{dam + 0.1, 0}, math.Pi, 11, 0.19, 0.45)
	arms := []arm{{main, between(r, 0.15, 0.19), 0.045}}
	side := 1.0
	for i := 2; i < len(main)-1; i += 1 + r.IntN(2) {
		side = -side
		along := math.Atan2(main[i+1].y-main[i].y, main[i+1].x-main[i].x)
		steps := 3 + r.IntN(4)
		line := walk(r, main[i], along+side*between(r, 0.9, 1.35), steps, 0.13, 0.5)
		arms = append(arms, arm{line, between(r, 0.06, 0.10), 0.018})
		if k := len(line) / 2; steps > 3 {
			turn := math.Atan2(line[k+1].y-line[k].y, line[k+1].x-line[k].x)
			arms = append(arms, arm{walk(r, line[k], turn-side*between(r, 0.7, 1.1), 2+r.IntN(2), 0.11, 0.4), 0.05, 0.015})
		}
	}
	return func(p xy) float64 {
		q := bend(p, 0.10)
		best := math.Inf(-1)
		for _, a := range arms {
			d, s := nearest(a.line, q)
			best = math.Max(best, a.wide+(a.thin-a.wide)*s-d)
		}
		// The dam is straight: the water ends on a line across the valley, whatever the hills do.
		return math.Min(best+0.07*n.fractal(xy{p.x * 4.5, p.y * 4.5}, 5), dam-p.x)
	}
}

// shoreCells is the number of cells along each side of the grid a shore is drawn on.
const shoreCells = 104

// shoreSpan is half the side of that grid in shape units.
const shoreSpan = 1.75

// shoreline draws the zero line of a depth by marching squares (Lorensen & Cline 1987 in two dimensions) and gives the
// largest water: its shore first, counter-clockwise, then its islands, clockwise, as GeoJSON wants them. Lines drawn so
// never cross: each stays in its own cells.
func shoreline(depth func(xy) float64) [][]xy {
	loops := contours(depth)
	var shore []xy
	var size float64
	for _, l := range loops {
		if a := area(l); a > size {
			shore, size = l, a
		}
	}
	if shore == nil {
		return nil
	}
	rings := [][]xy{shore}
	for _, l := range loops {
		a := area(l)
		if a >= 0 || -a < size*0.0006 || !inside(shore, l[0]) {
			continue
		}
		nested := false
		for _, other := range loops {
			nested = nested || area(other) < a && inside(other, l[0])
		}
		if !nested {
			rings = append(rings, l)
		}
	}
	return rings
}

// contours gives every closed zero line, water on its left. The edge of the grid counts as land.
func contours(depth func(xy) float64) [][]xy {
	const n = shoreCells
	at := func(i, j int) xy {
		return xy{(2*float64(i)/n - 1) * shoreSpan, (2*float64(j)/n - 1) * shoreSpan}
	}
	var f [n + 1][n + 1]float64
	for i := range f {
		for j := range f[i] {
			f[i][j] = -1
			if i > 0 && j > 0 && i < n && j < n {
				if d := depth(at(i, j)); d != 0 {
					f[i][j] = d
				}
			}
		}
	}
	// Edges are numbered: along x from (i,j) first, then along y. next leads from the edge a line comes in by to the one
	// it goes out by.
	const perKind = (n + 1) * (n + 1)
	next := make([]int, 2*perKind)
	for i := range next {
		next[i] = -1
	}
	edge := func(i, j, kind int) int { return kind*perKind + i*(n+1) + j }
	for i := range n {
		for j := range n {
			wet := [4]bool{f[i][j] > 0, f[i+1][j] > 0, f[i+1][j+1] > 0, f[i][j+1] > 0} // counter-clockwise
			sides := [4]int{edge(i, j, 0), edge(i+1, j, 1), edge(i, j+1, 0), edge(i, j, 1)}
			var in, out []int // sides where, going round, water begins and ends
			for k := range 4 {
				switch a, b := wet[k], wet[(k+1)%4]; {
				case a && !b:
					out = append(out, k)
				case !a && b:
					in = append(in, k)
				}
			}
			switch len(in) {
			case 1:
				next[sides[out[0]]] = sides[in[0]]
			case 2:
				// A saddle: joined through the middle when that is wet, else two separate corners.
				joined := f[i][j]+f[i+1][j]+f[i+1][j+1]+f[i][j+1] > 0
				for _, o := range out {
					step := 3 // the corner just before: from where its water ends back to where it began
					if joined {
						step = 1 // round the dry corner that follows
					}
					next[sides[o]] = sides[(o+step)%4]
				}
			}
		}
	}
	point := func(e int) xy {
		kind, i, j := e/perKind, e%perKind/(n+1), e%perKind%(n+1)
		a, b, di, dj := f[i][j], 0.0, 1, 0
		if kind == 1 {
			di, dj = 0, 1
		}
		b = f[i+di][j+dj]
		// Away from the corners, so that no two points fall together when coordinates are rounded.
		t := math.Max(0.08, math.Min(0.92, a/(a-b)))
		p, q := at(i, j), at(i+di, j+dj)
		return xy{p.x + t*(q.x-p.x), p.y + t*(q.y-p.y)}
	}
	var loops [][]xy
	for start := range next {
		if next[start] < 0 {
			continue
		}
		var loop []xy
		for e := start; next[e] >= 0; {
			loop = append(loop, point(e))
			to := next[e]
			next[e] = -1
			e = to
		}
		if len(loop) >= 3 {
			loops = append(loops, loop)
		}
	}
	return loops
}

// area of a ring by the shoelace formula, positive where it runs counter-clockwise. The ring may be open or closed.
func area(ring []xy) float64 {
	var sum float64
	for i, p := range ring {
		q := ring[(i+1)%len(ring)]
		sum += p.x*q.y - q.x*p.y
	}
	return sum / 2
}

// inside reports whether a point lies in a ring, by counting crossings.
func inside(ring []xy, p xy) bool {
	in := false
	for i, a := range ring {
		b := ring[(i+1)%len(ring)]
		if (a.y > p.y) != (b.y > p.y) && p.x < a.x+(b.x-a.x)*(p.y-a.y)/(b.y-a.y) {
			in = !in
		}
	}
	return in
}

// openWater gives a point in the water far from every shore, for a name to stand at.
func openWater(rings [][]xy) xy {
	lo, hi := rings[0][0], rings[0][0]
	for _, p := range rings[0] {
		lo, hi = xy{math.Min(lo.x, p.x), math.Min(lo.y, p.y)}, xy{math.Max(hi.x, p.x), math.Max(hi.y, p.y)}
	}
	best, at := -1.0, rings[0][0]
	const n = 26
	for i := range n {
		for j := range n {
			p := xy{lo.x + (hi.x-lo.x)*(float64(i)+0.5)/n, lo.y + (hi.y-lo.y)*(float64(j)+0.5)/n}
			if !inside(rings[0], p) {
				continue
			}
			near, dry := math.Inf(1), false
			for k, ring := range rings {
				dry = dry || k > 0 && inside(ring, p)
				for _, q := range ring {
					near = math.Min(near, p.dist(q))
				}
			}
			if !dry && near > best {
				best, at = near, p
			}
		}
	}
	return at
}
