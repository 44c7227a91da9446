package pdf

import (
	"fmt"
	"math"

	"thwart/draw"
)

func fontOf(t *draw.Text) Font {
	switch {
	case t.Mono && t.Bold:
		return MonoBold
	case t.Mono:
		return Mono
	case t.Bold:
		return SansBold
	}
	return Sans
}

// Measure measures the words of drawings in the fonts that are embedded. It is a [draw.Measure].
func Measure(t *draw.Text) (width, capital float64) {
	f := fontOf(t)
	return Width(f, t.Size/mmPerPt, t.Text), CapHeight(f, t.Size/mmPerPt)
}

// White gives roles the colours of [draw.Printed] on white paper.
var White = func() map[draw.Role]string {
	out := map[draw.Role]string{}
	for r, c := range draw.Printed {
		out[r] = c
	}
	out[draw.Paper] = "#FFFFFF"
	return out
}()

// Grey gives roles the greys of [White] that print as dark: for one black cartridge and a copier.
var Grey = func() map[draw.Role]string {
	out := map[draw.Role]string{}
	for r, c := range White {
		h := Hex(c)
		// luma of ITU-R BT.601, as a copier sees colours
		y := uint8(math.Round(0.299*float64(h.R) + 0.587*float64(h.G) + 0.114*float64(h.B)))
		out[r] = fmt.Sprintf("#%02X%02X%02X", y, y, y)
	}
	return out
}()

// Scene draws a scene with its top left corner at x, y, scaled so that it is width millimetres wide, and gives its height. Words
// and lines are scaled too. Roles that colours does not name have those of [draw.Printed].
func (d *Doc) Scene(s *draw.Scene, colours map[draw.Role]string, x, y, width float64) (height float64) {
	if s.Width <= 0 {
		return 0
	}
	d.mark()
	if d.open != nil && d.open.tag == Figure {
		_, high := d.f.GetPageSize()
		d.open.box = [4]float64{x / mmPerPt, (high - y - s.Height*width/s.Width) / mmPerPt, (x + width) / mmPerPt, (high - y) / mmPerPt}
	}
	p := &painter{d: d, colours: colours, x: x, y: y, k: width / s.Width}
	p.items(s.Items)
	d.f.SetDashPattern(nil, 0)
	d.f.SetLineCapStyle("butt")
	return s.Height * p.k
}

// painter draws a scene at a place and scale.
type painter struct {
	d       *Doc
	colours map[draw.Role]string
	x, y, k float64
}

func (p *painter) at(q draw.Point) (float64, float64) { return p.x + q.X*p.k, p.y + q.Y*p.k }

func (p *painter) items(items []draw.Item) {
	for _, i := range items {
		switch x := i.(type) {
		case draw.Path:
			p.path(&x)
		case draw.Mark:
			p.path(&draw.Path{Cmds: x.Outline(), Stroke: x.Stroke, Fill: x.Fill, Width: x.Width})
		case draw.Text:
			p.text(&x)
		case draw.Group:
			p.items(x.Items)
		}
	}
}

func (p *painter) color(r draw.Role) Color {
	if c, ok := p.colours[r]; ok {
		return Hex(c)
	}
	return Hex(draw.Printed[r])
}

// trace puts a path into the page without painting it.
func (p *painter) trace(cmds []draw.Cmd) {
	f := p.d.f
	for _, c := range cmds {
		x, y := p.at(c.P[0])
		switch c.Op {
		case 'M':
			f.MoveTo(x, y)
		case 'L':
			f.LineTo(x, y)
		case 'C':
			x2, y2 := p.at(c.P[1])
			x3, y3 := p.at(c.P[2])
			f.CurveBezierCubicTo(x, y, x2, y2, x3, y3)
		case 'Z':
			f.ClosePath()
		}
	}
}

func (p *painter) path(path *draw.Path) {
	f := p.d.f
	if len(path.Cmds) == 0 {
		return
	}
	if path.Opacity > 0 && path.Opacity < 1 {
		f.SetAlpha(path.Opacity, "Normal")
		defer f.SetAlpha(1, "Normal")
	}
	switch {
	case path.Fill == draw.None:
	case path.Hatch != draw.Plain:
		p.hatch(path)
	default:
		c := p.color(path.Fill)
		f.SetFillColor(int(c.R), int(c.G), int(c.B))
		p.trace(path.Cmds)
		f.DrawPath("F*")
	}
	if path.Stroke == draw.None || path.Width <= 0 {
		return
	}
	p.d.stroke(path.Width*p.k, p.color(path.Stroke))
	end, corner := "butt", "miter"
	if path.Round {
		end, corner = "round", "round"
	}
	f.SetLineCapStyle(end)
	f.SetLineJoinStyle(corner)
	dash := make([]float64, len(path.Dash))
	for i, x := range path.Dash {
		dash[i] = x * p.k
	}
	f.SetDashPattern(dash, 0)
	p.trace(path.Cmds)
	f.DrawPath("D")
	f.SetDashPattern(nil, 0)
}

// hatch draws lines or dots over the box of a path, cut off at the path.
func (p *painter) hatch(path *draw.Path) {
	f := p.d.f
	lo, hi := draw.Bounds(path.Cmds)
	f.RawWriteStr("q\n")
	p.trace(path.Cmds)
	f.RawWriteStr("W* n\n")
	c := p.color(path.Fill)
	f.SetDrawColor(int(c.R), int(c.G), int(c.B))
	f.SetFillColor(int(c.R), int(c.G), int(c.B))
	step, width := path.Hatch.Tile()
	f.SetLineWidth(width * p.k)
	f.SetDashPattern(nil, 0)
	line := func(ax, ay, bx, by float64) {
		ax, ay = p.at(draw.Point{X: ax, Y: ay})
		bx, by = p.at(draw.Point{X: bx, Y: by})
		f.Line(ax, ay, bx, by)
	}
	// Lines lie on a grid of the whole drawing, so that neighbours' lines meet.
	slant := func(sign float64) {
		w := step * math.Sqrt2
		first := lo.Y + min(sign*lo.X, sign*hi.X)
		for k := math.Floor(first/w) * w; k <= hi.Y+max(sign*lo.X, sign*hi.X); k += w {
			line(lo.X, k-sign*lo.X, hi.X, k-sign*hi.X)
		}
	}
	switch path.Hatch {
	case draw.Level:
		for y := math.Floor(lo.Y/step)*step + step/2; y <= hi.Y; y += step {
			line(lo.X, y, hi.X, y)
		}
	case draw.Diagonal, draw.WideLines:
		slant(1)
	case draw.Cross:
		slant(1)
		slant(-1)
	default:
		for y := math.Floor(lo.Y/step)*step + step/2; y <= hi.Y; y += step {
			for x := math.Floor(lo.X/step)*step + step/2; x <= hi.X; x += step {
				px, py := p.at(draw.Point{X: x, Y: y})
				f.Circle(px, py, 1.1*p.k, "F")
			}
		}
	}
	f.RawWriteStr("Q\n")
	p.d.forget()
}

func (p *painter) text(t *draw.Text) {
	x, y := p.at(t.At)
	style := Style{Font: fontOf(t), SizePt: t.Size * p.k / mmPerPt, Color: p.color(t.Role)}
	switch t.Anchor {
	case draw.Middle:
		style.Align = Middle
	case draw.End:
		style.Align = Right
	}
	if t.Turn != 0 {
		p.d.f.TransformBegin()
		p.d.f.TransformRotate(-t.Turn, x, y)
		defer func() {
			p.d.f.TransformEnd()
			p.d.forget()
		}()
	}
	if t.Halo {
		c := p.color(draw.Paper)
		p.d.f.SetTextRenderingMode(2) // fill and outline
		p.d.f.SetDrawColor(int(c.R), int(c.G), int(c.B))
		p.d.f.SetLineWidth(t.Size / 4 * p.k)
		p.d.f.SetLineJoinStyle("round")
		halo := style
		halo.Color = c
		p.d.Text(x, y, t.Text, halo)
		p.d.f.SetTextRenderingMode(0)
	}
	p.d.Text(x, y, t.Text, style)
}
