// Package draw holds a drawing before it is on anything: lines, marks and words in plain coordinates, their looks named by
// role. A back end puts it on a screen ([SVG]) or on paper and decides there which colour a role has.
//
// Make a [Scene] with [New], add to it, hand it on. Coordinates run right and down from the top left corner, in the scene's
// own units; a stroke's width and a text's size are in the same units. Nothing here knows what is drawn.
package draw

import "math"

// Role is what a line, an area or a word is for. Back ends give roles their colours; none by colour alone tells things apart.
type Role string

// Roles.
const (
	None   Role = "" // not drawn
	Ink    Role = "ink"
	Slate  Role = "slate" // secondary
	Faint  Role = "faint" // guides and grounds
	Paper  Role = "paper" // the ground itself, to cover what lies below
	Lake   Role = "lake"  // water, links
	Wash   Role = "wash"  // a light tint of water
	Madder Role = "madder"
	Reed   Role = "reed"
	Brass  Role = "brass"
	// Steps of one hue for amounts, light to dark.
	Step0 Role = "step0"
	Step1 Role = "step1"
	Step2 Role = "step2"
	Step3 Role = "step3"
	Step4 Role = "step4"
)

// Roles lists every role that is drawn.
var Roles = []Role{Ink, Slate, Faint, Paper, Lake, Wash, Madder, Reed, Brass, Step0, Step1, Step2, Step3, Step4}

// Steps lists the steps of an amount, light to dark.
var Steps = []Role{Step0, Step1, Step2, Step3, Step4}

// Point is a place on the drawing.
type Point struct {
	X float64 `json:"x"`
	Y float64 `json:"y"`
}

// Hatch fills an area with lines instead of a tint: categories are told by hatch first.
type Hatch string

// Hatches.
const (
	Plain     Hatch = ""
	Diagonal  Hatch = "diagonal"
	Level     Hatch = "level"
	Cross     Hatch = "cross"
	Dots      Hatch = "dots"
	WideLines Hatch = "wide"
)

// Hatches lists every hatch but the plain.
var Hatches = []Hatch{Diagonal, Level, Cross, Dots, WideLines}

// Cmd is one step of a path: M moves, L draws straight to P[0], C draws a cubic Bézier curve by P[0] and P[1] to P[2], Z
// closes. Unused points are zero.
type Cmd struct {
	Op byte     `json:"op"`
	P  [3]Point `json:"p"`
}

// Path is a line, closed or not, with or without a fill.
type Path struct {
	Cmds   []Cmd
	Stroke Role
	Fill   Role
	Hatch  Hatch // of the fill
	Width  float64
	Dash   []float64 // lengths on and off; empty = unbroken
	Round  bool      // ends and corners; otherwise square
	// Opacity lets what lies below shine through; 0 counts as 1, nothing shines through.
	Opacity float64
}

// Shape of a mark.
type Shape string

// Shapes.
const (
	Dot     Shape = "dot"
	Ring    Shape = "ring"
	Square  Shape = "square"
	Diamond Shape = "diamond"
	Up      Shape = "up" // a triangle that points up
	Bar     Shape = "bar"
)

// Mark is a small sign at a place.
type Mark struct {
	At     Point
	Shape  Shape
	R      float64 // half its width
	Stroke Role
	Fill   Role
	Width  float64
}

// Anchor is where a text hangs on its place.
type Anchor string

// Anchors.
const (
	Start  Anchor = "start"
	Middle Anchor = "middle"
	End    Anchor = "end"
)

// Text is one line of words.
type Text struct {
	At     Point // of the baseline
	Text   string
	Size   float64 // of the type, cap height is about 0.7 of it
	Anchor Anchor
	Role   Role
	Bold   bool
	Mono   bool    // figures of one width
	Halo   bool    // a rim of paper, so that it can be read over lines
	Turn   float64 // degrees clockwise about At
}

// Group is a part of the drawing with a name, so that a screen can light it up and a reader can be told what it is.
type Group struct {
	ID    string
	Class string
	Title string // what it is, in words; read aloud
	Items []Item
}

// Item is a [Path], [Mark], [Text] or [Group].
type Item interface{ item() }

func (Path) item()  {}
func (Mark) item()  {}
func (Text) item()  {}
func (Group) item() {}

// Scene is a whole drawing.
type Scene struct {
	Width, Height float64
	Title         string // what it shows; the text for who cannot see it
	Desc          string // more, where a title is not enough
	Items         []Item
}

// New begins a scene of a size.
func New(width, height float64, title string) *Scene {
	return &Scene{Width: width, Height: height, Title: title}
}

// Add puts items on top of those that are there.
func (s *Scene) Add(items ...Item) { s.Items = append(s.Items, items...) }

// Pen builds the commands of a path, each call going on from the last.
type Pen struct{ cmds []Cmd }

// Move begins a line at a place.
func (p *Pen) Move(x, y float64) *Pen { return p.add('M', Point{x, y}) }

// Line draws straight.
func (p *Pen) Line(x, y float64) *Pen { return p.add('L', Point{x, y}) }

// Curve draws a cubic Bézier curve with two control points.
func (p *Pen) Curve(x1, y1, x2, y2, x, y float64) *Pen {
	return p.add('C', Point{x1, y1}, Point{x2, y2}, Point{x, y})
}

// Close draws back to where the line began.
func (p *Pen) Close() *Pen { return p.add('Z') }

// Cmds gives what was drawn.
func (p *Pen) Cmds() []Cmd { return p.cmds }

func (p *Pen) add(op byte, at ...Point) *Pen {
	c := Cmd{Op: op}
	copy(c.P[:], at)
	p.cmds = append(p.cmds, c)
	return p
}

// Polyline gives the commands of straight lines through points; closed draws back to the first.
func Polyline(points []Point, closed bool) []Cmd {
	var p Pen
	for i, q := range points {
		if i == 0 {
			p.Move(q.X, q.Y)
		} else {
			p.Line(q.X, q.Y)
		}
	}
	if closed && len(points) > 0 {
		p.Close()
	}
	return p.cmds
}

// kappa puts four Bézier curves closest to a circle (4/3 · (√2 − 1); largest error of the radius 0.03 %).
const kappa = 0.5522847498307936

// Ellipse gives the commands of an ellipse with its axes level and upright.
func Ellipse(cx, cy, rx, ry float64) []Cmd {
	var p Pen
	kx, ky := kappa*rx, kappa*ry
	p.Move(cx+rx, cy)
	p.Curve(cx+rx, cy+ky, cx+kx, cy+ry, cx, cy+ry)
	p.Curve(cx-kx, cy+ry, cx-rx, cy+ky, cx-rx, cy)
	p.Curve(cx-rx, cy-ky, cx-kx, cy-ry, cx, cy-ry)
	p.Curve(cx+kx, cy-ry, cx+rx, cy-ky, cx+rx, cy)
	return p.Close().cmds
}

// Rect gives the commands of a rectangle.
func Rect(x, y, w, h float64) []Cmd {
	var p Pen
	return p.Move(x, y).Line(x+w, y).Line(x+w, y+h).Line(x, y+h).Close().cmds
}

// Through gives the commands of a smooth line through points: Catmull–Rom splines written as Bézier curves (Catmull and
// Rom 1974, tension ½). Closed goes round.
func Through(points []Point, closed bool) []Cmd {
	n := len(points)
	if n < 3 {
		return Polyline(points, closed)
	}
	at := func(i int) Point {
		if closed {
			return points[(i%n+n)%n]
		}
		return points[min(max(i, 0), n-1)]
	}
	var p Pen
	p.Move(points[0].X, points[0].Y)
	steps := n - 1
	if closed {
		steps = n
	}
	for i := range steps {
		a, b, c, d := at(i-1), at(i), at(i+1), at(i+2)
		p.Curve(b.X+(c.X-a.X)/6, b.Y+(c.Y-a.Y)/6, c.X-(d.X-b.X)/6, c.Y-(d.Y-b.Y)/6, c.X, c.Y)
	}
	if closed {
		p.Close()
	}
	return p.cmds
}

// Bounds gives the smallest rectangle that holds every point of a path, control points included.
func Bounds(cmds []Cmd) (lo, hi Point) {
	lo, hi = Point{math.Inf(1), math.Inf(1)}, Point{math.Inf(-1), math.Inf(-1)}
	for _, c := range cmds {
		n := map[byte]int{'M': 1, 'L': 1, 'C': 3}[c.Op]
		for _, q := range c.P[:n] {
			lo = Point{math.Min(lo.X, q.X), math.Min(lo.Y, q.Y)}
			hi = Point{math.Max(hi.X, q.X), math.Max(hi.Y, q.Y)}
		}
	}
	return lo, hi
}
