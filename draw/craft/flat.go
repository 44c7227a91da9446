package craft

import (
	"math"
	"strings"

	"thwart"
	"thwart/draw"
	"thwart/tongue"
)

// flat draws the craft from above or from below.
func (p *picture) flat() {
	under := p.opt.View == Under
	trailer := p.trailerFlat()
	if !under {
		p.scene.Add(trailer)
	}
	p.scene.Add(p.hullFlat())
	if under {
		p.scene.Add(p.bottom(), trailer)
	} else {
		p.scene.Add(p.inside())
	}
	p.scene.Add(p.drivesFlat())
}

// outline is the hull's edge, drawn in by inset metres, smooth but for a straight transom.
func (p *picture) outline(inset float64) []draw.Cmd {
	pts := p.hull.plan(inset)
	out := make([]draw.Point, len(pts))
	for i, q := range pts {
		out[i] = p.at(q.X, q.Y, 0)
	}
	switch {
	case p.hull.profile == "frame":
		return draw.Polyline(out, true)
	case !p.hull.blunt:
		return draw.Through(out, true)
	}
	// One smooth side, the transom straight, the other side.
	half := len(p.hull.half)
	cmds := draw.Through(out[:half], false)
	back := append([]draw.Point{}, out[half:]...)
	if p.hull.half[0][1] == 0 {
		back = append(back, out[0]) // both sides meet at a pointed bow; a blunt one is closed straight
	}
	other := draw.Through(back, false)
	cmds = append(cmds, draw.Cmd{Op: 'L', P: other[0].P})
	return append(append(cmds, other[1:]...), draw.Cmd{Op: 'Z'})
}

func (p *picture) hullFlat() draw.Group {
	g := draw.Group{ID: "hull", Class: "hull", Title: tongue.Say("Hull")}
	h := &p.hull
	add := func(items ...draw.Item) { g.Items = append(g.Items, items...) }
	switch h.profile {
	case "tubes":
		for _, side := range []float64{-1, 1} {
			add(p.tube(side*h.beamM*0.36, h.beamM*0.11))
		}
	case "floats":
		for _, side := range []float64{-1, 1} {
			add(p.tube(side*h.beamM*0.4, h.beamM*0.1))
		}
		x, y := h.lengthM*0.36, h.beamM*0.62
		add(p.line(draw.Ink, bold, true, draw.Paper, draw.Point{X: x, Y: -y}, draw.Point{X: x + 0.9, Y: -y}, draw.Point{X: x + 0.9, Y: y}, draw.Point{X: x, Y: y}))
	}
	add(draw.Path{Cmds: p.outline(0), Stroke: draw.Ink, Width: bold, Fill: draw.Paper, Round: true})
	switch h.profile {
	case "ring":
		c, e := p.at(h.lengthM*0.5, 0, 0), p.at(h.lengthM*0.72, h.beamM*0.24, 0)
		add(draw.Path{Cmds: draw.Ellipse(c.X, c.Y, math.Abs(e.X-c.X), math.Abs(e.Y-c.Y)), Stroke: draw.Ink, Width: fine})
	case "raft":
		add(draw.Path{Cmds: p.outline(0.18 * h.beamM), Stroke: draw.Ink, Width: fine, Round: true})
	case "board", "frame", "floats", "pwc":
	default:
		add(draw.Path{Cmds: p.outline(math.Min(0.07*h.beamM, 0.16)), Stroke: draw.Slate, Width: fine, Round: true})
	}
	return g
}

// tube is a pontoon or float seen from above, its middle y metres off the centreline.
func (p *picture) tube(y, r float64) draw.Path {
	l := p.hull.lengthM
	pts := []draw.Point{{X: -0.02 * l, Y: y}, {X: 0.08 * l, Y: y - r}, {X: 0.5 * l, Y: y - r}, {X: l, Y: y - r}, {X: l, Y: y + r}, {X: 0.5 * l, Y: y + r}, {X: 0.08 * l, Y: y + r}}
	return p.line(draw.Ink, fine, true, draw.Faint, pts...)
}

// inside is what a person sees standing over the craft: the thwart, and each compartment where it lies.
func (p *picture) inside() draw.Group {
	g := draw.Group{ID: "inside", Class: "inside"}
	h := &p.hull
	if u := 0.5; h.profile != "board" && h.profile != "frame" && h.profile != "ring" && h.profile != "floats" {
		y := along(h.half, u) * h.beamM / 2
		if h.profile == "pwc" {
			g.Items = append(g.Items, p.seat())
		} else {
			a, b := p.at(u*h.lengthM, -y, 0), p.at(u*h.lengthM, y, 0)
			g.Items = append(g.Items, draw.Path{Cmds: draw.Polyline([]draw.Point{a, b}, false), Stroke: draw.Ink, Width: bold})
		}
	}
	for i := range p.places {
		pl := &p.places[i]
		kind, _, _ := strings.Cut(pl.ID, ".")
		size, ok := spaceSize[thwart.SpaceKind(kind)]
		if !ok || pl.Zone != thwart.ZoneAboard {
			continue
		}
		w, l := size[0]*h.beamM, math.Min(size[1], 0.2*h.lengthM)
		pts := []draw.Point{{X: pl.XM - l/2, Y: pl.YM - w/2}, {X: pl.XM + l/2, Y: pl.YM - w/2}, {X: pl.XM + l/2, Y: pl.YM + w/2}, {X: pl.XM - l/2, Y: pl.YM + w/2}}
		box := p.line(draw.Lake, fine, true, draw.Wash, pts...)
		if pl.Hidden {
			box.Dash = []float64{4, 3} // cannot be seen into
		}
		g.Items = append(g.Items, draw.Group{Class: "space", Title: pl.Name, Items: []draw.Item{box}})
	}
	return g
}

// spaceSize is how a compartment is drawn: its width as a share of the beam, its length in metres. Drawn sizes, not measured.
var spaceSize = map[thwart.SpaceKind][2]float64{
	thwart.SpaceBallastTank: {0.24, 1.0}, thwart.SpaceBallastBag: {0.26, 0.9}, thwart.SpaceLiveWell: {0.3, 0.5}, thwart.SpaceBaitWell: {0.2, 0.35},
	thwart.SpaceBilge: {0.22, 0.6}, thwart.SpaceLocker: {0.24, 0.5}, thwart.SpaceTank: {0.2, 0.4},
}

func (p *picture) seat() draw.Path {
	l, y := p.hull.lengthM, p.hull.beamM*0.16
	pts := []draw.Point{{X: 0.42 * l, Y: -y * 0.6}, {X: 0.9 * l, Y: -y}, {X: 0.9 * l, Y: y}, {X: 0.42 * l, Y: y * 0.6}}
	return p.line(draw.Ink, bold, true, draw.None, pts...)
}

// bottom is what is seen from below: keel and spray rails.
func (p *picture) bottom() draw.Group {
	g := draw.Group{ID: "bottom", Class: "bottom", Title: tongue.Say("Bottom")}
	h := &p.hull
	if h.profile == "board" || h.profile == "frame" || h.profile == "ring" || h.profile == "floats" {
		return g
	}
	rails := []float64{0}
	switch h.profile {
	case "vee":
		rails = []float64{0, -0.42, 0.42, -0.72, 0.72}
	case "tubes":
		rails = []float64{-0.72, 0.72}
	}
	for _, r := range rails {
		role, width := draw.Slate, fine
		if r == 0 {
			role, width = draw.Ink, bold
		}
		var pts []draw.Point
		for u := 0.03 + 0.2*math.Abs(r); u <= 1.0001; u += 0.05 {
			q := p.at(u*h.lengthM, r*along(h.half, u)*h.beamM/2, 0)
			pts = append(pts, q)
		}
		g.Items = append(g.Items, draw.Path{Cmds: draw.Through(pts, false), Stroke: role, Width: width})
	}
	return g
}

func (p *picture) trailerFlat() draw.Group {
	g := draw.Group{ID: "trailer", Class: "trailer", Title: tongue.Say("Trailer")}
	kind := p.setup.Trailer
	if kind == thwart.TrailerNone || !p.has("trailer.") {
		return g
	}
	h := &p.hull
	coupler, axle, half := p.find("tow.coupler", -1.5), p.find("trailer.axle", 0.66*h.lengthM), h.beamM*0.31
	rail := func(y float64) draw.Path {
		return p.line(draw.Slate, bold, false, draw.None, draw.Point{X: coupler, Y: 0}, draw.Point{X: -0.1, Y: y * 0.35}, draw.Point{X: 0.3 * h.lengthM, Y: y}, draw.Point{X: h.lengthM, Y: y})
	}
	g.Items = append(g.Items, rail(-half), rail(half))
	for _, x := range []float64{0.4 * h.lengthM, axle, 0.98 * h.lengthM} {
		g.Items = append(g.Items, p.line(draw.Slate, fine, false, draw.None, draw.Point{X: x, Y: -half}, draw.Point{X: x, Y: half}))
	}
	wheel := h.beamM/2 + 0.1
	for _, side := range []float64{-1, 1} {
		a := draw.Point{X: axle - 0.32, Y: side*wheel - 0.1}
		g.Items = append(g.Items, p.line(draw.Slate, fine, true, draw.Faint, a, draw.Point{X: axle + 0.32, Y: a.Y}, draw.Point{X: axle + 0.32, Y: a.Y + 0.2}, draw.Point{X: a.X, Y: a.Y + 0.2}))
		for k := 0; kind == thwart.TrailerRoller && k < 6; k++ {
			c := p.at(h.lengthM*(0.45+0.1*float64(k)), side*half*0.7, 0)
			g.Items = append(g.Items, draw.Mark{At: c, Shape: draw.Dot, R: 0.07 * p.scale, Stroke: draw.Slate, Width: fine, Fill: draw.Paper})
		}
		if kind != thwart.TrailerRoller {
			g.Items = append(g.Items, p.line(draw.Slate, math.Max(0.09*p.scale, fine), false, draw.None,
				draw.Point{X: 0.42 * h.lengthM, Y: side * half * 0.75}, draw.Point{X: 0.97 * h.lengthM, Y: side * half * 0.75}))
		}
	}
	c := p.at(coupler, 0, 0)
	g.Items = append(g.Items, draw.Mark{At: c, Shape: draw.Ring, R: 0.09 * p.scale, Stroke: draw.Slate, Width: bold, Fill: draw.Paper})
	return g
}

// drivesFlat draws each drive where its places are.
func (p *picture) drivesFlat() draw.Group {
	g := draw.Group{ID: "drives", Class: "drive", Title: tongue.Say("Drives")}
	box := func(x, y, l, w float64, fill draw.Role) {
		g.Items = append(g.Items, p.line(draw.Ink, bold, true, fill, draw.Point{X: x, Y: y - w/2}, draw.Point{X: x + l, Y: y - w/2}, draw.Point{X: x + l, Y: y + w/2}, draw.Point{X: x, Y: y + w/2}))
	}
	screw := func(x, y, r float64) {
		g.Items = append(g.Items, p.line(draw.Ink, bold, false, draw.None, draw.Point{X: x, Y: y - r}, draw.Point{X: x, Y: y + r}))
	}
	for i := range p.places {
		pl := &p.places[i]
		name := pl.ID
		if k := strings.LastIndexByte(name, '.'); k > 0 && strings.Count(name, ".") > 1 {
			name = name[:k]
		}
		x, y := pl.XM, pl.YM
		switch name {
		case "outboard.lower_unit", "outboard_jet.intake":
			box(p.hull.lengthM+0.02, y, 0.5, 0.38, draw.Paper)
			screw(p.hull.lengthM+0.6, y, 0.17)
		case "sterndrive.leg", "mud_motor.housing":
			box(p.hull.lengthM, y, 0.34, 0.22, draw.Faint)
			screw(p.hull.lengthM+0.42, y, 0.19)
		case "inboard.propeller", "pod.propeller":
			if p.opt.View == Under {
				screw(x, y, 0.2)
				g.Items = append(g.Items, p.line(draw.Ink, bold, false, draw.None, draw.Point{X: x - 0.9, Y: y}, draw.Point{X: x, Y: y}))
			}
		case "inboard_jet.intake":
			if p.opt.View == Under {
				box(x-0.25, y, 0.5, 0.2, draw.Faint)
			}
		case "trolling_bow.propeller", "trolling_transom.propeller":
			box(x-0.18, y, 0.36, 0.1, draw.Faint)
			screw(x+0.2, y, 0.1)
		}
	}
	return g
}

// has reports whether any place's id begins so.
func (p *picture) has(prefix string) bool {
	for i := range p.places {
		if strings.HasPrefix(p.places[i].ID, prefix) {
			return true
		}
	}
	return false
}

// find gives how far aft the first place lies whose id begins so, or what is given where there is none.
func (p *picture) find(prefix string, otherwise float64) float64 {
	for i := range p.places {
		if strings.HasPrefix(p.places[i].ID, prefix) {
			return p.places[i].XM
		}
	}
	return otherwise
}
