package craft

import (
	"math"

	"thwart/draw"
	"thwart/refdata"
)

// shape is the family of a hull: how its half breadth and its lower edge run from bow (0) to stern (1). The curves are ours,
// drawn to be told apart at a glance; they are no naval architect's lines.
type shape struct {
	half  [][2]float64 // share of the length, share of half the beam
	keel  [][2]float64 // share of the length, share of the depth above the lowest point
	sheer [][2]float64 // share of the length, share of the depth above the lowest point
	blunt bool         // the stern is a straight transom
}

var shapes = map[string]shape{
	"vee": {
		half:  [][2]float64{{0, 0}, {0.08, 0.32}, {0.2, 0.66}, {0.38, 0.93}, {0.6, 1}, {0.85, 0.97}, {1, 0.92}},
		keel:  [][2]float64{{0, 0.86}, {0.06, 0.42}, {0.18, 0.12}, {0.35, 0.02}, {0.6, 0}, {1, 0.03}},
		sheer: [][2]float64{{0, 1.12}, {0.3, 1.04}, {0.6, 0.98}, {1, 0.9}}, blunt: true,
	},
	"flat": {
		half:  [][2]float64{{0, 0.6}, {0.04, 0.72}, {0.18, 0.92}, {0.4, 1}, {0.8, 1}, {1, 0.97}},
		keel:  [][2]float64{{0, 0.72}, {0.12, 0.24}, {0.26, 0.03}, {0.6, 0}, {1, 0.02}},
		sheer: [][2]float64{{0, 1.06}, {0.4, 0.98}, {1, 0.95}}, blunt: true,
	},
	"round": {
		half:  [][2]float64{{0, 0}, {0.1, 0.4}, {0.25, 0.74}, {0.5, 1}, {0.78, 0.93}, {1, 0.66}},
		keel:  [][2]float64{{0, 0.9}, {0.05, 0.5}, {0.2, 0.14}, {0.5, 0}, {0.8, 0.06}, {1, 0.3}},
		sheer: [][2]float64{{0, 1.1}, {0.4, 0.98}, {1, 0.96}}, blunt: true,
	},
	"keel": {
		half:  [][2]float64{{0, 0}, {0.12, 0.38}, {0.3, 0.76}, {0.55, 1}, {0.8, 0.9}, {1, 0.6}},
		keel:  [][2]float64{{0, 0.98}, {0.08, 0.74}, {0.25, 0.5}, {0.5, 0.44}, {0.8, 0.5}, {1, 0.66}},
		sheer: [][2]float64{{0, 1.08}, {0.5, 0.98}, {1, 0.98}}, blunt: true,
	},
	"tubes": {
		half:  [][2]float64{{0, 0.9}, {0.02, 0.98}, {0.06, 1}, {0.5, 1}, {1, 1}},
		keel:  [][2]float64{{0, 0.62}, {1, 0.62}},
		sheer: [][2]float64{{0, 0.8}, {1, 0.8}}, blunt: true,
	},
	"pwc": {
		half:  [][2]float64{{0, 0.05}, {0.05, 0.34}, {0.2, 0.72}, {0.45, 1}, {0.75, 0.98}, {1, 0.84}},
		keel:  [][2]float64{{0, 0.62}, {0.1, 0.22}, {0.3, 0.02}, {0.6, 0}, {1, 0.08}},
		sheer: [][2]float64{{0, 0.72}, {0.3, 0.8}, {1, 0.66}}, blunt: true,
	},
	"canoe": {
		half:  [][2]float64{{0, 0}, {0.1, 0.4}, {0.25, 0.76}, {0.5, 1}, {0.75, 0.76}, {0.9, 0.4}, {1, 0}},
		keel:  [][2]float64{{0, 0.86}, {0.03, 0.4}, {0.12, 0.08}, {0.5, 0}, {0.88, 0.08}, {0.97, 0.4}, {1, 0.86}},
		sheer: [][2]float64{{0, 1.3}, {0.15, 1}, {0.5, 0.9}, {0.85, 1}, {1, 1.3}},
	},
	"board": {
		half:  [][2]float64{{0, 0}, {0.03, 0.4}, {0.15, 0.84}, {0.45, 1}, {0.8, 0.86}, {0.96, 0.5}, {1, 0}},
		keel:  [][2]float64{{0, 0.8}, {0.15, 0.2}, {0.4, 0}, {0.9, 0.06}, {1, 0.4}},
		sheer: [][2]float64{{0, 1.15}, {0.2, 0.95}, {0.9, 0.9}, {1, 0.75}},
	},
	"raft": {
		half:  [][2]float64{{0, 0.3}, {0.04, 0.66}, {0.16, 0.94}, {0.4, 1}, {0.85, 1}, {1, 0.94}},
		keel:  [][2]float64{{0, 0.7}, {0.1, 0.28}, {0.25, 0.04}, {0.7, 0}, {1, 0.06}},
		sheer: [][2]float64{{0, 1.2}, {0.2, 1}, {1, 0.92}}, blunt: true,
	},
	"ring": {
		half:  [][2]float64{{0, 0}, {0.04, 0.4}, {0.2, 0.8}, {0.5, 1}, {0.8, 0.8}, {0.96, 0.4}, {1, 0}},
		keel:  [][2]float64{{0, 0.5}, {0.1, 0.1}, {0.3, 0}, {0.7, 0}, {0.9, 0.1}, {1, 0.5}},
		sheer: [][2]float64{{0, 0.5}, {0.1, 0.9}, {0.3, 1}, {0.7, 1}, {0.9, 0.9}, {1, 0.5}},
	},
	"floats": {
		half:  [][2]float64{{0, 0}, {0.05, 0.06}, {0.2, 0.2}, {0.45, 0.24}, {0.75, 0.16}, {1, 0.04}},
		keel:  [][2]float64{{0, 1.5}, {0.1, 1.3}, {0.3, 1.24}, {0.7, 1.4}, {1, 1.75}},
		sheer: [][2]float64{{0, 1.7}, {0.2, 1.95}, {0.35, 2.4}, {0.5, 2.4}, {0.62, 2.1}, {1, 1.95}},
	},
	"frame": {
		half:  [][2]float64{{0, 1}, {1, 1}},
		keel:  [][2]float64{{0, 0}, {1, 0}},
		sheer: [][2]float64{{0, 1}, {1, 1}}, blunt: true,
	},
}

// hull is a shape at its size.
type hull struct {
	shape
	profile                       string
	lengthM, beamM, depthM, keelM float64
}

func hullOf(c *refdata.CraftClass, lengthM, beamM float64) hull {
	h := hull{shape: shapes[c.Profile], profile: c.Profile, lengthM: c.LengthM, beamM: c.BeamM, depthM: c.DepthM, keelM: c.KeelM}
	if h.half == nil {
		h.shape = shapes["vee"]
	}
	if lengthM > 0 {
		h.lengthM = lengthM
		h.beamM = c.BeamM * math.Sqrt(lengthM/c.LengthM) // a longer craft of a class is wider, but not by as much
	}
	if beamM > 0 {
		h.beamM = beamM
	}
	return h
}

// along gives a curve's value at a share of the length, straight between its points.
func along(curve [][2]float64, u float64) float64 {
	for i := 1; i < len(curve); i++ {
		if a, b := curve[i-1], curve[i]; u <= b[0] {
			return a[1] + (b[1]-a[1])*(u-a[0])/(b[0]-a[0])
		}
	}
	return curve[len(curve)-1][1]
}

// plan gives the outline seen from above as points in metres: x aft, y to starboard, from the bow down the port side, round
// the stern and back, drawn in by inset metres.
func (h *hull) plan(inset float64) []draw.Point {
	side := func(sign float64) (pts []draw.Point) {
		for _, p := range h.half {
			x := inset + p[0]*(h.lengthM-2*inset)
			pts = append(pts, draw.Point{X: x, Y: sign * p[1] * (h.beamM/2 - inset)})
		}
		return pts
	}
	port, starboard := side(-1), side(1)
	for i := len(starboard) - 1; i >= 0; i-- {
		if starboard[i].Y == 0 { // the point of a bow or stern stands once
			continue
		}
		port = append(port, starboard[i])
	}
	return port
}
