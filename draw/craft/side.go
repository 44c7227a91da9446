package craft

import (
	"math"
	"strings"

	"thwart"
	"thwart/draw"
	"thwart/tongue"
)

// side draws the craft from port, bow to the left, on the ground.
func (p *picture) side() {
	h := &p.hull
	a, b := p.at(-100, 0, 0), p.at(100, 0, 0)
	a.X, b.X = math.Max(a.X, 4), math.Min(b.X, p.scene.Width-4)
	p.scene.Add(draw.Path{Cmds: draw.Polyline([]draw.Point{a, b}, false), Stroke: draw.Slate, Width: fine})
	p.scene.Add(p.trailerSide())
	g := draw.Group{ID: "hull", Class: "hull", Title: tongue.Say("Hull")}
	switch h.profile {
	case "tubes":
		g.Items = append(g.Items, p.tubeSide(0, 0.62), p.fence())
	case "floats":
		g.Items = append(g.Items, p.tubeSide(0, 0.9))
		for _, u := range []float64{0.3, 0.55} {
			g.Items = append(g.Items, p.strut(u*h.lengthM, h.keelM+0.8*h.depthM, h.keelM+1.45*h.depthM))
		}
	case "keel":
		g.Items = append(g.Items, p.fin())
	}
	g.Items = append(g.Items, draw.Path{Cmds: p.profile(), Stroke: draw.Ink, Width: bold, Fill: draw.Paper, Round: true})
	if h.profile == "vee" || h.profile == "round" {
		g.Items = append(g.Items, p.waterline())
	}
	p.scene.Add(g, p.upperworks(), p.drivesSide())
}

// profile is the hull's outline from the side: the sheer from bow to stern and the keel back.
func (p *picture) profile() []draw.Cmd {
	h := &p.hull
	pts := func(curve [][2]float64) []draw.Point {
		out := make([]draw.Point, len(curve))
		for i, c := range curve {
			out[i] = p.at(c[0]*h.lengthM, 0, h.keelM+c[1]*h.depthM)
		}
		return out
	}
	top, low := pts(h.sheer), pts(h.keel)
	for i, k := 0, len(low)-1; i < k; i, k = i+1, k-1 {
		low[i], low[k] = low[k], low[i]
	}
	cmds := draw.Through(top, false)
	under := draw.Through(low, false)
	cmds = append(cmds, draw.Cmd{Op: 'L', P: under[0].P})
	return append(append(cmds, under[1:]...), draw.Cmd{Op: 'Z'})
}

func (p *picture) tubeSide(lo, hi float64) draw.Path {
	h := &p.hull
	z := func(s float64) float64 { return h.keelM + s*h.depthM }
	r := (hi - lo) / 2
	pts := []draw.Point{
		p.at(-0.01*h.lengthM, 0, z(hi-0.15*r)), p.at(0.03*h.lengthM, 0, z(lo+0.7*r)), p.at(0.1*h.lengthM, 0, z(lo)),
		p.at(0.5*h.lengthM, 0, z(lo)), p.at(0.96*h.lengthM, 0, z(lo)), p.at(h.lengthM, 0, z(lo+r)), p.at(h.lengthM, 0, z(hi)), p.at(0.5*h.lengthM, 0, z(hi)),
	}
	return draw.Path{Cmds: draw.Polyline(pts, true), Stroke: draw.Ink, Width: fine, Fill: draw.Faint, Round: true}
}

func (p *picture) strut(x, from, to float64) draw.Path {
	return draw.Path{Cmds: draw.Polyline([]draw.Point{p.at(x, 0, from), p.at(x+0.15, 0, to)}, false), Stroke: draw.Ink, Width: bold}
}

// fence is the rail round a pontoon's deck.
func (p *picture) fence() draw.Group {
	h := &p.hull
	var g draw.Group
	top, deck := h.keelM+h.depthM+0.5, h.keelM+0.8*h.depthM
	for i := range 6 {
		x := (0.06 + 0.18*float64(i)) * h.lengthM
		g.Items = append(g.Items, draw.Path{Cmds: draw.Polyline([]draw.Point{p.at(x, 0, deck), p.at(x, 0, top)}, false), Stroke: draw.Slate, Width: fine})
	}
	g.Items = append(g.Items, draw.Path{Cmds: draw.Polyline([]draw.Point{p.at(0.06*h.lengthM, 0, top), p.at(0.96*h.lengthM, 0, top)}, false), Stroke: draw.Ink, Width: bold})
	return g
}

func (p *picture) fin() draw.Path {
	h := &p.hull
	z := func(s float64) float64 { return h.keelM + s*h.depthM }
	pts := []draw.Point{p.at(0.36*h.lengthM, 0, z(0.48)), p.at(0.42*h.lengthM, 0, z(0)), p.at(0.6*h.lengthM, 0, z(0)), p.at(0.58*h.lengthM, 0, z(0.48))}
	return draw.Path{Cmds: draw.Polyline(pts, true), Stroke: draw.Ink, Width: bold, Fill: draw.Faint}
}

func (p *picture) waterline() draw.Path {
	h := &p.hull
	var pts []draw.Point
	for u := 0.1; u <= 1.001; u += 0.1 {
		pts = append(pts, p.at(u*h.lengthM, 0, h.keelM+(0.36+0.1*(1-u))*h.depthM))
	}
	return draw.Path{Cmds: draw.Through(pts, false), Stroke: draw.Lake, Width: fine, Dash: []float64{6, 4}}
}

// upperworks are the few lines by which a class is known: windscreen, cabin, tower, mast, seat.
func (p *picture) upperworks() draw.Group {
	h := &p.hull
	g := draw.Group{ID: "upperworks", Class: "upperworks"}
	deck := func(u float64) float64 { return h.keelM + along(h.sheer, u)*h.depthM }
	add := func(role draw.Role, width float64, pts ...[2]float64) {
		out := make([]draw.Point, len(pts))
		for i, q := range pts {
			out[i] = p.at(q[0]*h.lengthM, 0, deck(q[0])+q[1])
		}
		g.Items = append(g.Items, draw.Path{Cmds: draw.Polyline(out, false), Stroke: role, Width: width, Round: true})
	}
	switch p.class.ID {
	case "runabout":
		add(draw.Ink, fine, [2]float64{0.4, 0}, [2]float64{0.5, 0.42}, [2]float64{0.52, 0})
	case "wake_boat":
		add(draw.Ink, fine, [2]float64{0.36, 0}, [2]float64{0.45, 0.4}, [2]float64{0.47, 0})
		add(draw.Ink, bold, [2]float64{0.42, 0}, [2]float64{0.56, 0.95}, [2]float64{0.66, 0.95}, [2]float64{0.6, 0})
	case "cabin_cruiser":
		add(draw.Ink, bold, [2]float64{0.16, 0}, [2]float64{0.3, 0.5}, [2]float64{0.5, 0.55}, [2]float64{0.56, 0.95}, [2]float64{0.74, 0.95}, [2]float64{0.78, 0})
	case "houseboat":
		add(draw.Ink, bold, [2]float64{0.12, 0}, [2]float64{0.14, 1.6}, [2]float64{0.92, 1.6}, [2]float64{0.92, 0})
	case "bass_boat":
		add(draw.Ink, fine, [2]float64{0.5, 0}, [2]float64{0.53, 0.3}, [2]float64{0.57, 0.3}, [2]float64{0.57, 0})
	case "personal_watercraft":
		add(draw.Ink, bold, [2]float64{0.3, 0}, [2]float64{0.38, 0.34}, [2]float64{0.44, 0.3}, [2]float64{0.5, 0.16}, [2]float64{0.92, 0.2}, [2]float64{0.96, 0})
	case "sailboat_centreboard", "sailboat_keel":
		add(draw.Ink, bold, [2]float64{0.02, 0.25}, [2]float64{0.98, 0.4}) // the mast lies on deck on the road
		add(draw.Slate, fine, [2]float64{0.1, 0}, [2]float64{0.1, 0.26})
		add(draw.Slate, fine, [2]float64{0.9, 0}, [2]float64{0.9, 0.38})
	case "raft_drift_boat":
		add(draw.Slate, bold, [2]float64{0.42, 0.02}, [2]float64{0.85, 0.3})
	case "seaplane_floats":
		add(draw.Ink, bold, [2]float64{0.3, 0.05}, [2]float64{0.62, 0.3})
	}
	return g
}

func (p *picture) trailerSide() draw.Group {
	g := draw.Group{ID: "trailer", Class: "trailer", Title: tongue.Say("Trailer")}
	if p.setup.Trailer == thwart.TrailerNone || !p.has("trailer.") {
		return g
	}
	h := &p.hull
	coupler, axle := p.find("tow.coupler", -1.5), p.find("trailer.axle", 0.66*h.lengthM)
	bar := func(width float64, pts ...draw.Point) {
		out := make([]draw.Point, len(pts))
		for i, q := range pts {
			out[i] = p.at(q.X, 0, q.Y)
		}
		g.Items = append(g.Items, draw.Path{Cmds: draw.Polyline(out, false), Stroke: draw.Slate, Width: width})
	}
	frame := math.Min(0.42, h.keelM-0.05)
	bar(bold, draw.Point{X: coupler, Y: 0.5}, draw.Point{X: 0.2, Y: frame}, draw.Point{X: h.lengthM + 0.1, Y: frame})
	bar(bold, draw.Point{X: -0.45, Y: 0.46}, draw.Point{X: -0.4, Y: 0.95}, draw.Point{X: -0.15, Y: 0.95})
	bar(math.Max(0.06*p.scale, fine), draw.Point{X: 0.42 * h.lengthM, Y: h.keelM - 0.03}, draw.Point{X: 0.98 * h.lengthM, Y: h.keelM - 0.03})
	jack := p.find("tow.jack", coupler+0.4)
	bar(fine, draw.Point{X: jack, Y: 0.55}, draw.Point{X: jack, Y: 0.12})
	c := p.at(axle, 0, 0.32)
	g.Items = append(g.Items,
		draw.Mark{At: c, Shape: draw.Dot, R: 0.32 * p.scale, Stroke: draw.Slate, Width: bold, Fill: draw.Paper},
		draw.Mark{At: c, Shape: draw.Ring, R: 0.13 * p.scale, Stroke: draw.Slate, Width: fine})
	return g
}

// drivesSide draws each drive lowered, as it is looked at.
func (p *picture) drivesSide() draw.Group {
	h := &p.hull
	g := draw.Group{ID: "drives", Class: "drive", Title: tongue.Say("Drives")}
	shape := func(fill draw.Role, pts ...draw.Point) {
		out := make([]draw.Point, len(pts))
		for i, q := range pts {
			out[i] = p.at(q.X, 0, q.Y)
		}
		g.Items = append(g.Items, draw.Path{Cmds: draw.Polyline(out, true), Stroke: draw.Ink, Width: bold, Fill: fill, Round: true})
	}
	l, k, d := h.lengthM, h.keelM, h.depthM
	seen := map[string]bool{}
	for i := range p.places {
		drive, _, _ := strings.Cut(p.places[i].ID, ".")
		if seen[drive] {
			continue
		}
		seen[drive] = true
		low := math.Max(k-0.25, 0.08)
		switch drive {
		case "outboard", "outboard_jet":
			shape(draw.Paper, draw.Point{X: l + 0.04, Y: k + d + 0.4}, draw.Point{X: l + 0.46, Y: k + d + 0.34}, draw.Point{X: l + 0.48, Y: k + 0.62*d}, draw.Point{X: l + 0.06, Y: k + 0.66*d})
			shape(draw.Faint, draw.Point{X: l + 0.14, Y: k + 0.62*d}, draw.Point{X: l + 0.34, Y: k + 0.62*d}, draw.Point{X: l + 0.34, Y: low + 0.24}, draw.Point{X: l + 0.52, Y: low + 0.18}, draw.Point{X: l + 0.1, Y: low + 0.12}, draw.Point{X: l + 0.16, Y: low})
		case "sterndrive":
			shape(draw.Faint, draw.Point{X: l + 0.02, Y: k + 0.5*d}, draw.Point{X: l + 0.3, Y: k + 0.4*d}, draw.Point{X: l + 0.3, Y: low + 0.2}, draw.Point{X: l + 0.46, Y: low + 0.14}, draw.Point{X: l + 0.08, Y: low + 0.08}, draw.Point{X: l + 0.1, Y: k + 0.2*d})
		case "inboard":
			x := p.find("inboard.propeller", 0.92*l)
			shape(draw.None, draw.Point{X: x - 0.9, Y: k + 0.02}, draw.Point{X: x, Y: math.Max(k-0.11, 0.1)})
			shape(draw.Faint, draw.Point{X: x, Y: math.Max(k-0.28, 0.05)}, draw.Point{X: x + 0.06, Y: math.Max(k-0.28, 0.05)}, draw.Point{X: x + 0.06, Y: k + 0.04}, draw.Point{X: x, Y: k + 0.04})
		case "trolling_bow":
			shape(draw.Faint, draw.Point{X: 0.08, Y: k + d*1.2}, draw.Point{X: 0.85, Y: k + d*1.16}, draw.Point{X: 0.85, Y: k + d*1.08}, draw.Point{X: 0.08, Y: k + d*1.12})
		}
	}
	return g
}
