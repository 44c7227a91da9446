package exchange

import (
	"context"
	"encoding/json"
	"io"
	"math"
	"slices"
	"time"

	"thwart"
)

// Feature is a feature of GeoJSON (RFC 7946, section 3.2).
type Feature struct {
	Type       string         `json:"type"`
	ID         string         `json:"id,omitempty"`
	Geometry   Geometry       `json:"geometry"`
	Properties map[string]any `json:"properties"`
}

// Geometry is where a feature is: a Point, a LineString or a Polygon in degrees of WGS 84, longitude first.
type Geometry struct {
	Type        string `json:"type"`
	Coordinates any    `json:"coordinates"`
}

// WriteFeatures writes a FeatureCollection one feature at a time, as walk hands them on, and gives their number.
func WriteFeatures(w io.Writer, walk func(do func(Feature) error) error) (n int, err error) {
	if _, err := io.WriteString(w, `{"type":"FeatureCollection","features":[`); err != nil {
		return 0, err
	}
	err = walk(func(f Feature) error {
		b, err := json.Marshal(f)
		if err != nil {
			return err
		}
		lead := ",\n"
		if n == 0 {
			lead = "\n"
		}
		n++
		_, err = w.Write(append([]byte(lead), b...))
		return err
	})
	if err != nil {
		return n, err
	}
	_, err = io.WriteString(w, "\n]}\n")
	return n, err
}

func features[B thwart.Body](ctx context.Context, w io.Writer, store thwart.Store, kind thwart.Kind, make func(string, B) Feature) (int, error) {
	return WriteFeatures(w, func(do func(Feature) error) error {
		return Each(ctx, store, kind, func(s *thwart.Subject, body thwart.Body) error { return do(make(s.Kept.Subject, body.(B))) })
	})
}

// WriteWaters writes the waters as GeoJSON (RFC 7946: WGS 84, longitude first, shores counter-clockwise, islands clockwise)
// and gives their number. A water without an outline is a point.
func WriteWaters(ctx context.Context, w io.Writer, store thwart.Store) (int, error) {
	return features(ctx, w, store, thwart.KindWater, WaterFeature)
}

// WaterFeature is a water on a map.
func WaterFeature(id string, x *thwart.WaterBody) Feature {
	f := Feature{Type: "Feature", ID: id, Geometry: Geometry{"Point", x.Centre}}
	if len(x.Outline) > 0 {
		f.Geometry = Geometry{"Polygon", wound(x.Outline)}
	}
	var statuses []map[string]any
	for _, d := range x.Statuses {
		one := map[string]any{"organism": d.Organism, "status": orUnknown(d.Status), "from": d.From.Format(time.DateOnly)}
		if d.To != nil {
			one["to"] = d.To.Format(time.DateOnly)
		}
		statuses = append(statuses, one)
	}
	f.Properties = map[string]any{"name": x.Name, "outside": x.Outside, "statuses": statuses, "others": orUnknown(x.Others)}
	if x.AreaHa > 0 {
		f.Properties["area_ha"] = x.AreaHa
	}
	return f
}

// WriteLaunches writes the launches as GeoJSON points and gives their number.
func WriteLaunches(ctx context.Context, w io.Writer, store thwart.Store) (int, error) {
	return features(ctx, w, store, thwart.KindLaunch, LaunchFeature)
}

// LaunchFeature is a launch on a map.
func LaunchFeature(id string, x *thwart.Ramp) Feature {
	return Feature{Type: "Feature", ID: id, Geometry: Geometry{"Point", x.At}, Properties: map[string]any{
		"name": x.Name, "water": x.Water, "lanes": x.Lanes, "opens": x.Opens, "closes": x.Closes, "zone": x.Zone,
	}}
}

// wound gives the rings in the winding that RFC 7946, section 3.1.6, asks for.
func wound(rings [][]thwart.Point) [][]thwart.Point {
	out := make([][]thwart.Point, len(rings))
	for i, ring := range rings {
		out[i] = slices.Clone(ring)
		if a := signedArea(ring); a != 0 && math.Signbit(a) == (i == 0) {
			slices.Reverse(out[i])
		}
	}
	return out
}

// signedArea is twice the area of a ring in degrees squared by the shoelace formula: positive where it runs
// counter-clockwise.
func signedArea(ring []thwart.Point) float64 {
	var a float64
	for i := 1; i < len(ring); i++ {
		p, q := ring[i-1], ring[i]
		a += (p[0]-ring[0][0])*(q[1]-ring[0][1]) - (q[0]-ring[0][0])*(p[1]-ring[0][1])
	}
	return a
}
