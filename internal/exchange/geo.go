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

type feature struct {
	Type       string         `json:"type"`
	ID         string         `json:"id"`
	Geometry   geometry       `json:"geometry"`
	Properties map[string]any `json:"properties"`
}

type geometry struct {
	Type        string `json:"type"`
	Coordinates any    `json:"coordinates"`
}

// features writes a FeatureCollection one feature at a time.
func features(ctx context.Context, w io.Writer, store thwart.Store, kind thwart.Kind, make func(*thwart.Subject, thwart.Body) feature) (n int, err error) {
	if _, err := io.WriteString(w, `{"type":"FeatureCollection","features":[`); err != nil {
		return 0, err
	}
	err = eachSubject(ctx, store, kind, func(s *thwart.Subject, body thwart.Body) error {
		b, err := json.Marshal(make(s, body))
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

// WriteWaters writes the waters as GeoJSON (RFC 7946: WGS 84, longitude first, shores counter-clockwise, islands clockwise)
// and gives their number. A water without an outline is a point.
func WriteWaters(ctx context.Context, w io.Writer, store thwart.Store) (int, error) {
	return features(ctx, w, store, thwart.KindWater, func(s *thwart.Subject, body thwart.Body) feature {
		f := feature{Type: "Feature", ID: s.Kept.Subject}
		x, ok := body.(*thwart.WaterBody)
		if !ok {
			return f
		}
		f.Geometry = geometry{"Point", x.Centre}
		if len(x.Outline) > 0 {
			f.Geometry = geometry{"Polygon", wound(x.Outline)}
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
	})
}

// WriteLaunches writes the launches as GeoJSON points and gives their number.
func WriteLaunches(ctx context.Context, w io.Writer, store thwart.Store) (int, error) {
	return features(ctx, w, store, thwart.KindLaunch, func(s *thwart.Subject, body thwart.Body) feature {
		f := feature{Type: "Feature", ID: s.Kept.Subject}
		x, ok := body.(*thwart.Ramp)
		if !ok {
			return f
		}
		f.Geometry = geometry{"Point", x.At}
		f.Properties = map[string]any{"name": x.Name, "water": x.Water, "lanes": x.Lanes, "opens": x.Opens, "closes": x.Closes, "zone": x.Zone}
		return f
	})
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
