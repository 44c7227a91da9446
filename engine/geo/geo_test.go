package geo_test

import (
	"math"
	"testing"

	"thwart/engine/geo"
	"thwart/engine/num"
	"thwart/internal/refcheck"
)

func TestGeodesics(t *testing.T) {
	const (
		geodSolve = "GeodSolve (Karney 2013, J. Geodesy 87:43-55), GeographicLib 2.1.2"
		tolM      = 2e-6
	)
	for _, c := range []struct {
		lat1, lon1, lat2, lon2, m float64
		source                    string
	}{
		{40.6, -73.8, 51.6, -0.5, 5551759.400318678, geodSolve + "; the library's own example"},
		{0, 0, 0, 90, 10018754.171394622, geodSolve},
		{0, 0, 0.5, 179.5, 19936288.578965314, geodSolve},
		{0, 0, 0.5, 179.7, 19944127.420750458, geodSolve},
		{-30, 0, 29.5, 179.8, 19946751.439677116, geodSolve},
		{30, 0, -30, 179.999, 20003931.366320670, geodSolve},
		{-37.95103341666667, 144.42486788888888, -37.65282113888889, 143.92649552777778, 54972.271139201, "Flinders Peak to Buninyong, 54 972.271 m: geodetic manual of Australia, from memory; digits " + geodSolve},
		{45, -93, 45.001, -93, 111.131787186, geodSolve},
		{45, -93, 45, -92.999, 78.846835094, geodSolve},
		{46, -94, 44, -93, 235828.971401391, geodSolve},
		{0, 0, 0, 180, 20003931.458625447, "half the meridian: quarter of the ellipse 10001965.7293 m (Karney 2013), doubled"},
		{90, 0, -90, 77, 20003931.458625447, "half the meridian, as above"},
	} {
		a, b := geo.Point{Lat: c.lat1, Lon: c.lon1}, geo.Point{Lat: c.lat2, Lon: c.lon2}
		refcheck.Near(t, "geodesic", geo.GeodesicM(a, b), c.m, tolM, c.source)
		refcheck.Near(t, "geodesic back", geo.GeodesicM(b, a), c.m, tolM, c.source)
	}
}

func TestGreatCircle(t *testing.T) {
	const source = "haversine with R = 6 371 008.8 m"
	refcheck.Near(t, "row 1", geo.GreatCircleM(geo.Point{Lat: 40.6, Lon: -73.8}, geo.Point{Lat: 51.6, Lon: -0.5}), 5536891.987, 0.05, source)
	refcheck.Near(t, "row 10", geo.GreatCircleM(geo.Point{Lat: 46, Lon: -94}, geo.Point{Lat: 44, Lon: -93}), 235874.897, 0.01, source)
	scale := 6372800.0 / geo.MeanRadiusM
	refcheck.Near(t, "Nashville to Los Angeles", scale*geo.GreatCircleM(geo.Point{Lat: 36.12, Lon: -86.67}, geo.Point{Lat: 33.94, Lon: -118.40}), 2887259.9506, 0.5,
		"haversine with R = 6372.8 km, widely used example, 2887.2599506 km, from memory")
}

// The two ways must agree with each other, and the ellipsoid must stay near the sphere, wherever the points lie.
func TestGeodesicLaws(t *testing.T) {
	r := num.Stream(4, "points")
	at := func() geo.Point {
		return geo.Point{Lat: math.Asin(2*r.Float64()-1) * 180 / math.Pi, Lon: 360*r.Float64() - 180}
	}
	for range 3000 {
		a, b, c := at(), at(), at()
		ab, bc, ac := geo.GeodesicM(a, b), geo.GeodesicM(b, c), geo.GeodesicM(a, c)
		if math.IsNaN(ab) || ab < 0 || ac > ab+bc+1e-6 || math.Abs(ab-geo.GeodesicM(b, a)) > 1e-6 {
			t.Fatalf("%v %v %v: %g %g %g", a, b, c, ab, bc, ac)
		}
		if gc := geo.GreatCircleM(a, b); math.Abs(ab-gc) > 0.006*gc+1 {
			t.Fatalf("%v %v: geodesic %g, sphere %g", a, b, ab, gc)
		}
		if geo.GeodesicM(a, a) != 0 {
			t.Fatal("a point is away from itself")
		}
	}
	if err := (geo.Point{Lat: 91}).Validate(); err == nil {
		t.Error("latitude 91 was taken")
	}
}

func BenchmarkGeodesic(b *testing.B) {
	p, q := geo.Point{Lat: 46, Lon: -94}, geo.Point{Lat: 44, Lon: -93}
	for b.Loop() {
		geo.GeodesicM(p, q)
	}
}

func BenchmarkGreatCircle(b *testing.B) {
	p, q := geo.Point{Lat: 46, Lon: -94}, geo.Point{Lat: 44, Lon: -93}
	for b.Loop() {
		geo.GreatCircleM(p, q)
	}
}
