// Package craft draws a craft on its trailer, this very one with its drives and compartments, and the walk round it: from
// above, from the side, from below. Each place of the round is a dot where it is, each stand of the walk a number on its path.
//
// [Draw] makes the picture of one setup, [Silhouette] the small one a class is chosen by. Both give a [draw.Scene]; every place
// is a group named place-<id> and every stand a group named stand-<number>, so that a screen can light them up. What is shown is
// told by shape as well as by tone: a place left open is a ring, one done is filled, a find is a diamond.
package craft

import (
	"fmt"
	"math"

	"thwart"
	"thwart/advice"
	"thwart/draw"
	"thwart/refdata"
	"thwart/tongue"
)

// View is where a picture is taken from.
type View string

// Views.
const (
	Plan  View = "plan"  // from above, bow up
	Side  View = "side"  // from port, bow left
	Under View = "under" // from below, bow up, so port is on the right
)

// Views lists every view.
var Views = []View{Plan, Side, Under}

// Options say what is shown.
type Options struct {
	View View `json:"view"` // empty = plan
	// Width of the picture in its own units, about CSS pixels; 0 = 360. The height follows.
	Width float64 `json:"width,omitempty"`
	// Across lays a craft seen from above or below with its bow to the left, as the side view has it: low rather than narrow.
	Across bool `json:"across,omitempty"`
	// Round to show: stands, path and places. Nil shows the craft alone; PlacesOnly leaves stands and path out.
	Round      *advice.RoundPlan `json:"round,omitempty"`
	PlacesOnly bool              `json:"placesOnly,omitempty"`
	Done       []string          `json:"done,omitempty"`  // places that are settled
	Found      []string          `json:"found,omitempty"` // places where something was found
	Now        string            `json:"now,omitempty"`   // the place whose turn it is
}

// Limits of a picture's width.
const (
	MinWidth = 80
	MaxWidth = 4000
)

// strokes, in the picture's units.
const (
	bold = 2.5
	fine = 1.25
)

// picture is a drawing being made: the hull at its size and the mapping from metres.
type picture struct {
	scene  *draw.Scene
	setup  *thwart.Setup
	class  *refdata.CraftClass
	hull   hull
	places []thwart.Place
	opt    *Options
	scale  float64                          // units per metre
	at     func(x, y, z float64) draw.Point // of metres on the rig
}

// Draw makes the picture of a setup. A setup that cannot be taken gives [thwart.FieldErrors].
func Draw(s thwart.Setup, opt Options) (*draw.Scene, error) {
	places, err := advice.Places(s)
	if err != nil {
		return nil, err
	}
	if err := check(&opt); err != nil {
		return nil, err
	}
	class, _ := refdata.CraftClassByID(s.Class)
	p := &picture{setup: &s, class: &class, hull: hullOf(&class, s.LengthM, s.BeamM), places: places, opt: &opt}
	p.frame()
	switch opt.View {
	case Side:
		p.side()
	default:
		p.flat()
	}
	if opt.Round != nil {
		p.walk()
	}
	return p.scene, nil
}

func check(opt *Options) error {
	if opt.View == "" {
		opt.View = Plan
	}
	if opt.Width == 0 {
		opt.Width = 360
	}
	var errs thwart.FieldErrors
	if opt.View != Plan && opt.View != Side && opt.View != Under {
		errs = append(errs, thwart.FieldError{Field: "view", Value: string(opt.View), Accepted: "plan, side, under"})
	}
	if !(opt.Width >= MinWidth && opt.Width <= MaxWidth) {
		errs = append(errs, thwart.FieldError{Field: "width", Value: fmt.Sprint(opt.Width), Accepted: fmt.Sprintf("%d to %d", MinWidth, MaxWidth)})
	}
	if errs != nil {
		return errs
	}
	return nil
}

// frame chooses the scale so that everything that will be drawn fits the width.
func (p *picture) frame() {
	h := &p.hull
	x0, x1, y1 := -0.25, h.lengthM+0.35, h.beamM/2+0.2
	grow := func(x, y float64) { x0, x1, y1 = math.Min(x0, x), math.Max(x1, x), math.Max(y1, math.Abs(y)) }
	for i := range p.places {
		if pl := &p.places[i]; p.shows(pl) {
			grow(pl.XM, pl.YM)
		}
	}
	if p.opt.Round != nil && p.opt.View == Plan && !p.opt.PlacesOnly {
		for _, q := range p.opt.Round.Path {
			grow(q[0], q[1])
		}
	}
	const edge = 16.0
	w := p.opt.Width - 2*edge
	title := tongue.Say("{craft}, {side}", tongue.Capital(tongue.Data(p.class.Name)), tongue.Say(sides[p.opt.View]))
	if p.opt.View == Side {
		top := p.height()
		p.scale = w / (x1 - x0)
		p.scene = draw.New(p.opt.Width, top*p.scale+2*edge, title)
		p.at = func(x, _, z float64) draw.Point {
			return draw.Point{X: edge + (x-x0)*p.scale, Y: edge + (top-z)*p.scale}
		}
		return
	}
	mirror := 1.0
	if p.opt.View == Under {
		mirror = -1
	}
	if p.opt.Across {
		p.scale = math.Min(w/(x1-x0), 150)
		p.scene = draw.New(p.opt.Width, 2*y1*p.scale+2*edge, title)
		p.at = func(x, y, _ float64) draw.Point {
			return draw.Point{X: edge + (x-x0)*p.scale, Y: edge + (y1-mirror*y)*p.scale}
		}
		return
	}
	p.scale = math.Min(w/(2*y1), 150)
	p.scene = draw.New(p.opt.Width, (x1-x0)*p.scale+2*edge, title)
	p.at = func(x, y, _ float64) draw.Point {
		return draw.Point{X: p.opt.Width/2 + mirror*y*p.scale, Y: edge + (x-x0)*p.scale}
	}
}

// height is how high the drawing of the side reaches, in metres above the ground.
func (p *picture) height() float64 {
	h := &p.hull
	top := h.keelM + 1.2*h.depthM
	if p.opt.Round != nil {
		for i := range p.places {
			if pl := &p.places[i]; p.shows(pl) {
				top = math.Max(top, pl.ZM+0.1)
			}
		}
	}
	switch {
	case h.profile == "floats":
		return math.Max(top, h.keelM+2.7*h.depthM)
	case p.class.ID == "houseboat":
		return top + 1.5
	case p.class.ID == "cabin_cruiser" || p.class.ID == "wake_boat":
		return top + 0.9
	case p.class.Complexity != "carry_in":
		return top + 0.45
	}
	return top
}

// shows tells which places a view shows: from the side those on the near side and the middle, from below the low ones.
func (p *picture) shows(pl *thwart.Place) bool {
	switch p.opt.View {
	case Side:
		return pl.YM <= 0.05 && pl.Zone != thwart.ZoneGear
	case Under:
		return pl.Zone != thwart.ZoneGear && pl.Zone != thwart.ZoneAboard && pl.ZM <= p.hull.keelM+0.55*p.hull.depthM
	}
	return true
}

// line draws a path in metres at a height.
func (p *picture) line(role draw.Role, width float64, closed bool, fill draw.Role, pts ...draw.Point) draw.Path {
	out := make([]draw.Point, len(pts))
	for i, q := range pts {
		out[i] = p.at(q.X, q.Y, 0)
	}
	return draw.Path{Cmds: draw.Polyline(out, closed), Stroke: role, Width: width, Fill: fill}
}

var sides = map[View]tongue.Text{Plan: "from above", Side: "from the port side", Under: "from below"}
