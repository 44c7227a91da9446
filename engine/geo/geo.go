// Package geo measures distances on the earth.
//
// [GeodesicM] is the shortest line on the WGS 84 ellipsoid, right to micrometres for any two points, nearly antipodal ones
// included. [GreatCircleM] is the haversine on a sphere: within about half a per cent and ten times as fast. Neither is a road;
// [Detour] stretches a straight line into one where no road distances are at hand.
package geo

import (
	"math"

	"gonum.org/v1/gonum/integrate/quad"

	"thwart/engine/num"
)

// Point is a position in degrees on WGS 84.
type Point struct{ Lat, Lon float64 }

// Validate refuses latitudes beyond ±90° and longitudes beyond ±180°.
func (p Point) Validate() error {
	if err := num.Within("latitude °", p.Lat, -90, 90); err != nil {
		return err
	}
	return num.Within("longitude °", p.Lon, -180, 180)
}

// WGS 84 (NIMA TR8350.2): equatorial radius and flattening define it. MeanRadiusM is (2a + b)/3.
const (
	EquatorM    = 6378137.0
	Flattening  = 1 / 298.257223563
	PolarM      = EquatorM * (1 - Flattening)
	MeanRadiusM = (2*EquatorM + PolarM) / 3
)

const degree = math.Pi / 180

// GreatCircleM is the distance in metres on the sphere of mean radius (haversine formula, Sinnott 1984).
func GreatCircleM(a, b Point) float64 {
	sLat, sLon := math.Sin((b.Lat-a.Lat)*degree/2), math.Sin((b.Lon-a.Lon)*degree/2)
	h := sLat*sLat + math.Cos(a.Lat*degree)*math.Cos(b.Lat*degree)*sLon*sLon
	return 2 * MeanRadiusM * math.Asin(math.Sqrt(math.Min(1, h)))
}

// Detour stretches a straight distance into one by road. factor is how much longer roads are, such as 1.2 to 1.4.
func Detour(straightM, factor float64) float64 { return straightM * factor }

// rule is Gauss-Legendre quadrature on [0, 1]. The integrands are smooth and nearly constant: 16 nodes leave an error below
// 1e-15 for lines half round the earth, 5 for lines of less than 1300 km.
type rule struct{ at, weight []float64 }

var far, near = gauss(16), gauss(5)

func gauss(n int) rule {
	r := rule{make([]float64, n), make([]float64, n)}
	quad.Legendre{}.FixedLocations(r.at, r.weight, 0, 1)
	return r
}

func ruleFor(over float64) *rule {
	if math.Abs(over) < 0.2 {
		return &near
	}
	return &far
}

// GeodesicM is the length in metres of the shortest line on the ellipsoid.
//
// The line is followed on the auxiliary sphere (Bessel 1825; Karney 2013, J. Geodesy 87:43-55, equations 7 and 8) with its two
// integrals done by quadrature. Longitudes are matched by Vincenty's iteration (1975, Survey Review 23:88-93), and where that
// does not settle, for points nearly opposite each other, by halving the range of the first azimuth, in which the longitude
// grows steadily (Karney 2013, section 4).
func GeodesicM(a, b Point) float64 {
	l := math.Abs(math.Remainder(b.Lon-a.Lon, 360)) * degree
	u1, u2 := reduced(a.Lat), reduced(b.Lat)
	if s, ok := vincenty(u1, u2, l); ok {
		return s
	}
	return opposite(u1, u2, l)
}

// angle is a sine and a cosine.
type angle struct{ sin, cos float64 }

// reduced is the reduced latitude.
func reduced(lat float64) angle {
	if math.Abs(lat) == 90 {
		return angle{math.Copysign(1, lat), 0}
	}
	s, c := math.Sincos(lat * degree)
	s *= 1 - Flattening
	h := math.Hypot(s, c)
	return angle{s / h, c / h}
}

// secondEccentricity squared.
const ep2 = Flattening * (2 - Flattening) / ((1 - Flattening) * (1 - Flattening))

// lengthOver is ∫√(1 + k² sin²σ) dσ from σ1 over a stretch; times b it is the distance.
func lengthOver(k2, from, over float64) float64 {
	r, sum := ruleFor(over), 0.0
	for i, x := range r.at {
		s := math.Sin(from + x*over)
		sum += r.weight[i] * math.Sqrt(1+k2*s*s)
	}
	return sum * over
}

// lagOver is ∫(2−f)/(1 + (1−f)√(1 + k² sin²σ)) dσ; times f·sin α0 it is by how much longitude lags behind its sphere.
func lagOver(k2, from, over float64) float64 {
	r, sum := ruleFor(over), 0.0
	for i, x := range r.at {
		s := math.Sin(from + x*over)
		sum += r.weight[i] * (2 - Flattening) / (1 + (1-Flattening)*math.Sqrt(1+k2*s*s))
	}
	return sum * over
}

func vincenty(u1, u2 angle, l float64) (float64, bool) {
	lambda := l
	for range 12 {
		sl, cl := math.Sincos(lambda)
		x, y := u2.cos*sl, u1.cos*u2.sin-u1.sin*u2.cos*cl
		sinS := math.Hypot(x, y)
		cosS := u1.sin*u2.sin + u1.cos*u2.cos*cl
		if sinS == 0 {
			return 0, cosS > 0 // the same point; a point exactly opposite is for the other way
		}
		over := math.Atan2(sinS, cosS)
		if over > 3.1 {
			return 0, false // nearly opposite: the iteration would wander
		}
		sin0 := u1.cos * u2.cos * sl / sinS
		k2 := ep2 * (1 - sin0*sin0)
		from := math.Atan2(u1.sin, u1.cos*y/sinS)
		next := l + Flattening*sin0*lagOver(k2, from, over)
		if math.Abs(next-lambda) < 1e-15*(1+lambda) {
			return PolarM * lengthOver(k2, from, over), true
		}
		if next > math.Pi {
			return 0, false
		}
		lambda = next
	}
	return 0, false
}

// opposite halves the range of the first azimuth. The points are exchanged and mirrored so that the first lies farther from
// the equator and south of it.
func opposite(u1, u2 angle, l float64) float64 {
	if math.Abs(u1.sin) < math.Abs(u2.sin) {
		u1, u2 = u2, u1
	}
	if u1.sin > 0 {
		u1.sin, u2.sin = -u1.sin, -u2.sin
	}
	u1.sin = math.Min(u1.sin, -1e-150) // on the equator: just south of it, which picks the branch
	lo, hi := 0.0, math.Pi
	for range 70 {
		mid := (lo + hi) / 2
		if lambda, _ := follow(u1, u2, mid); lambda < l {
			lo = mid
		} else {
			hi = mid
		}
	}
	_, s := follow(u1, u2, (lo+hi)/2)
	return s
}

// follow leaves the first latitude at an azimuth and gives the difference of longitude and the distance at which it meets the
// second, going north.
func follow(u1, u2 angle, azimuth float64) (lambda, s float64) {
	sin1, cos1 := math.Sincos(azimuth)
	sin0 := sin1 * u1.cos
	cos2u2 := cos1*cos1*u1.cos*u1.cos + (u2.cos*u2.cos - u1.cos*u1.cos) // (cos α2 · cos β2)²
	cos2 := math.Sqrt(math.Max(0, cos2u2))
	from, to := math.Atan2(u1.sin, cos1*u1.cos), math.Atan2(u2.sin, cos2)
	w1, w2 := math.Atan2(sin0*u1.sin, cos1*u1.cos), math.Atan2(sin0*u2.sin, cos2)
	k2 := ep2 * (1 - sin0*sin0)
	over := to - from
	return w2 - w1 - Flattening*sin0*lagOver(k2, from, over), PolarM * lengthOver(k2, from, over)
}
