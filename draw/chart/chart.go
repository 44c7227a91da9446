// Package chart draws plots and maps of a season as scenes. One unit is a quarter of a millimetre when a scene of [Width] units is
// set across a page of text, so that type of size 12 comes to 8.5 points.
//
// Every chart carries a title for whoever cannot see it, shows intervals wherever there are any, and tells things apart by place,
// shape and hatch before colour. Words are placed so that none runs over another; what finds no room is left out and belongs in
// the table beside the chart.
package chart

import (
	"fmt"
	"math"
	"strconv"

	"thwart/draw"
)

// Width is the width of a chart that fills a line of text.
const Width = 680.0

const (
	small  = 11.0 // size of type: notes and ticks
	normal = 12.5
)

func text(x, y float64, s string, size float64, a draw.Anchor, r draw.Role) draw.Text {
	return draw.Text{At: draw.Point{X: x, Y: y}, Text: s, Size: size, Anchor: a, Role: r}
}

func line(x1, y1, x2, y2, width float64, r draw.Role) draw.Path {
	return draw.Path{Cmds: draw.Polyline([]draw.Point{{X: x1, Y: y1}, {X: x2, Y: y2}}, false), Stroke: r, Width: width}
}

func box(x, y, w, h float64, fill draw.Role) draw.Path {
	return draw.Path{Cmds: draw.Rect(x, y, w, h), Fill: fill}
}

// ticks gives round values from 0 to at least top, about n of them.
func ticks(top float64, n int) []float64 {
	if !(top > 0) || math.IsInf(top, 1) {
		return []float64{0, 1}
	}
	raw := top / float64(n)
	p := math.Pow(10, math.Floor(math.Log10(raw)))
	step := 10 * p
	for _, k := range []float64{1, 2, 2.5, 5} {
		if k*p >= raw*0.999 {
			step = k * p
			break
		}
	}
	var out []float64
	for i := 0; ; i++ {
		v := float64(i) * step
		out = append(out, v)
		if v >= top*0.999 {
			return out
		}
	}
}

// plain writes a tick, with thousands apart from ten thousand on.
func plain(v float64) string {
	s := strconv.FormatFloat(math.Round(v*1e6)/1e6, 'f', -1, 64)
	if v < 1e4 || v != math.Trunc(v) {
		return s
	}
	for at := len(s) - 3; at > 0; at -= 3 {
		s = s[:at] + "," + s[at:]
	}
	return s
}

// Bar is one row of [Bars].
type Bar struct {
	Label  string
	Value  float64
	Lo, Hi float64 // equal: no interval
	Words  string  // at the end of the row
	Hidden bool    // the value is left out; Words say why
}

// BarOptions of [Bars].
type BarOptions struct {
	Title string // for whoever cannot see it
	Axis  string // what is measured, with its unit
	Tick  func(float64) string
	Label float64 // room for labels; 0 = 190
}

// Bars draws values as points on lines from zero, each with its interval, in the order given.
func Bars(rows []Bar, o BarOptions, m draw.Measure) *draw.Scene {
	left := o.Label
	if left == 0 {
		left = 190
	}
	if o.Tick == nil {
		o.Tick = plain
	}
	const rowH, head, right = 22.0, 34.0, 150.0
	s := draw.New(Width, head+rowH*float64(len(rows))+8, o.Title)
	var top float64
	for _, r := range rows {
		if !r.Hidden {
			top = max(top, r.Value, r.Hi)
		}
	}
	scale := ticks(top, 5)
	top = scale[len(scale)-1]
	x := func(v float64) float64 { return left + v/top*(Width-left-right) }
	s.Add(text(left, 12, o.Axis, small, draw.Start, draw.Slate))
	end := head + rowH*float64(len(rows))
	for _, v := range scale {
		s.Add(line(x(v), head-6, x(v), end, 0.6, draw.Faint), text(x(v), head-9, o.Tick(v), small, draw.Middle, draw.Slate))
	}
	for i, r := range rows {
		y := head + rowH*(float64(i)+0.5)
		s.Add(text(left-10, y+4, Fit(r.Label, normal, left-14, m), normal, draw.End, draw.Ink))
		if r.Words != "" {
			s.Add(text(Width-right+14, y+4, r.Words, small, draw.Start, draw.Slate))
		}
		if r.Hidden {
			continue
		}
		s.Add(line(x(0), y, x(r.Value), y, 1, draw.Slate))
		if r.Hi > r.Lo {
			s.Add(line(x(r.Lo), y, x(r.Hi), y, 5, draw.Step2))
		}
		s.Add(draw.Mark{At: draw.Point{X: x(r.Value), Y: y}, Shape: draw.Dot, R: 4, Fill: draw.Ink})
	}
	s.Add(line(x(0), head-6, x(0), end, 1, draw.Ink))
	return s
}

// Fit cuts a text so that it is at most width wide.
func Fit(s string, size, width float64, m draw.Measure) string {
	letters := []rune(s)
	for n := len(letters); n > 1; n-- {
		t := draw.Text{Text: string(letters[:n]), Size: size}
		if n < len(letters) {
			t.Text += "…"
		}
		if w, _ := m(&t); w <= width {
			return t.Text
		}
	}
	return s
}

// Week is one column of [Weeks].
type Week struct {
	Label         string // under the column; empty = none
	Count         float64
	Share, Lo, Hi float64
	Known         bool // the share is known
	Hours         float64
}

// WeekOptions of [Weeks].
type WeekOptions struct {
	Title, Counts, Shares, Hours string
	Beyond                       string // what an arrowhead means; drawn where there is one
}

// shareTicks are those of the axis of shares, in per cent. It gives every share room, and twice it for its interval: one wide interval
// of a week with few craft would press all the others flat. What goes on beyond is drawn with an arrowhead, see [Beyond].
func shareTicks(list []Week) []float64 {
	share := 0.0
	for _, w := range list {
		if w.Known {
			share = max(share, 1.6*w.Share, min(w.Hi, 2*w.Share))
		}
	}
	return ticks(share*100, 2)
}

// beyond reports whether the interval goes on above an axis that ends at top.
func (w *Week) beyond(top float64) bool { return w.Known && w.Hi > top*(1+1e-9) }

// Beyond gives where the axis of shares of [Weeks] ends, and how many intervals go on above it.
func Beyond(list []Week) (top float64, n int) {
	shares := shareTicks(list)
	top = shares[len(shares)-1] / 100
	for i := range list {
		if list[i].beyond(top) {
			n++
		}
	}
	return top, n
}

// Weeks draws a season week by week: craft met over hours on site, and below a share with its interval. An arrowhead on the end of an
// interval says that it goes on above the axis, as the words of [WeekOptions] tell; see [Beyond].
func Weeks(list []Week, o WeekOptions) *draw.Scene {
	const left, right, topH, gap, lowH, foot = 62.0, 52.0, 110.0, 42.0, 90.0, 24.0
	s := draw.New(Width, 22+topH+gap+lowH+foot, o.Title)
	if len(list) == 0 {
		return s
	}
	var most, hours float64
	for _, w := range list {
		most, hours = max(most, w.Count), max(hours, w.Hours)
	}
	col := (Width - left - right) / float64(len(list))
	y0 := 22 + topH
	s.Add(text(0, 11, o.Counts, small, draw.Start, draw.Slate), text(Width, 11, o.Hours, small, draw.End, draw.Slate))
	counts := ticks(most, 3)
	top := counts[len(counts)-1]
	for _, v := range counts {
		y := y0 - v/top*topH
		s.Add(line(left, y, Width-right, y, 0.6, draw.Faint), text(left-6, y+4, plain(v), small, draw.End, draw.Slate))
	}
	hourTicks := ticks(hours, 2)
	hourTop := hourTicks[len(hourTicks)-1]
	for _, v := range hourTicks {
		s.Add(text(Width-right+6, y0-v/hourTop*topH+4, plain(v), small, draw.Start, draw.Slate))
	}
	var curve []draw.Point
	for i, w := range list {
		x := left + col*float64(i)
		s.Add(box(x+col*0.18, y0-w.Count/top*topH, col*0.64, w.Count/top*topH, draw.Step3))
		curve = append(curve, draw.Point{X: x + col/2, Y: y0 - w.Hours/hourTop*topH})
	}
	s.Add(draw.Path{Cmds: draw.Polyline(curve, false), Stroke: draw.Ink, Width: 1.4, Dash: []float64{5, 3}})
	s.Add(line(left, y0, Width-right, y0, 1, draw.Ink))
	y1 := y0 + gap + lowH
	s.Add(text(0, y0+gap-16, o.Shares, small, draw.Start, draw.Slate))
	if _, n := Beyond(list); n > 0 && o.Beyond != "" {
		s.Add(text(Width, y0+gap-16, o.Beyond, small, draw.End, draw.Slate))
	}
	shares := shareTicks(list)
	shareTop := shares[len(shares)-1] / 100
	for _, v := range shares {
		y := y1 - v/100/shareTop*lowH
		if v > 0 {
			s.Add(line(left, y, Width-right, y, 0.6, draw.Faint))
		}
		s.Add(text(left-6, y+4, plain(v)+" %", small, draw.End, draw.Slate))
	}
	for i, w := range list {
		x := left + col*(float64(i)+0.5)
		if w.Label != "" {
			s.Add(text(x, y1+16, w.Label, small, draw.Middle, draw.Slate))
		}
		if !w.Known {
			continue
		}
		y := func(v float64) float64 { return y1 - min(v, shareTop)/shareTop*lowH }
		if w.beyond(shareTop) {
			s.Add(draw.Mark{At: draw.Point{X: x, Y: y1 - lowH - 5}, Shape: draw.Up, R: 5, Fill: draw.Ink})
		}
		s.Add(line(x, y(w.Lo), x, y(w.Hi), 4, draw.Step2), draw.Mark{At: draw.Point{X: x, Y: y(w.Share)}, Shape: draw.Dot, R: 3, Fill: draw.Ink})
	}
	s.Add(line(left, y1, Width-right, y1, 1, draw.Ink))
	return s
}

// Hour is one cell of [Hours].
type Hour struct {
	Row, Hour int
	Staffed   float64
	Craft     float64
}

// Hours draws when somebody was on site and how many craft came then: a cell is darker the more hours it was staffed, and a dot
// has the area of the craft met per staffed hour. A cell nobody stood in is hatched, because nothing is known of it.
func Hours(cells []Hour, rows []string, from, to int, title, staffed, craft string) *draw.Scene {
	const left, head, rowH, foot = 96.0, 26.0, 40.0, 44.0
	s := draw.New(Width, head+rowH*float64(len(rows))+foot, title)
	col := (Width - left) / float64(to-from)
	var most, rate float64
	at := map[[2]int]Hour{}
	for _, c := range cells {
		at[[2]int{c.Row, c.Hour}] = c
		most = max(most, c.Staffed)
		if c.Staffed >= 1 {
			rate = max(rate, c.Craft/c.Staffed)
		}
	}
	for h := from; h < to; h++ {
		if (h-from)%2 == 0 {
			s.Add(text(left+col*(float64(h-from)+0.5), head-8, strconv.Itoa(h), small, draw.Middle, draw.Slate))
		}
	}
	for r, name := range rows {
		y := head + rowH*float64(r)
		s.Add(text(left-10, y+rowH/2+4, name, normal, draw.End, draw.Ink))
		for h := from; h < to; h++ {
			x := left + col*float64(h-from)
			c, ok := at[[2]int{r, h}]
			if !ok || c.Staffed < 0.5 {
				s.Add(draw.Path{Cmds: draw.Rect(x+1, y+1, col-2, rowH-2), Fill: draw.Faint, Hatch: draw.WideLines})
				continue
			}
			s.Add(box(x+1, y+1, col-2, rowH-2, step(c.Staffed/most)))
			if rate > 0 && c.Craft > 0 && c.Staffed >= 1 {
				radius := math.Sqrt(c.Craft/c.Staffed/rate) * min(col, rowH) * 0.4
				s.Add(draw.Mark{At: draw.Point{X: x + col/2, Y: y + rowH/2}, Shape: draw.Dot, R: radius, Fill: draw.Paper, Stroke: draw.Ink, Width: 1.2})
			}
		}
	}
	y := head + rowH*float64(len(rows)) + 22
	x := left
	s.Add(text(x, y+4, staffed, small, draw.Start, draw.Slate))
	x += 136
	for _, st := range draw.Steps {
		s.Add(box(x, y-8, 22, 14, st))
		x += 23
	}
	s.Add(text(x+6, y+4, "to "+plain(math.Round(most)), small, draw.Start, draw.Slate))
	x += 62
	s.Add(draw.Path{Cmds: draw.Rect(x, y-8, 22, 14), Fill: draw.Faint, Hatch: draw.WideLines}, text(x+28, y+4, "nobody there", small, draw.Start, draw.Slate))
	x += 104
	s.Add(draw.Mark{At: draw.Point{X: x, Y: y}, Shape: draw.Dot, R: 6, Fill: draw.Paper, Stroke: draw.Ink, Width: 1.2},
		text(x+12, y+4, fmt.Sprintf("%s, to %s", craft, plain(math.Round(rate*10)/10)), small, draw.Start, draw.Slate))
	return s
}

// step gives the tint for a share of the largest amount.
func step(share float64) draw.Role {
	i := int(share * float64(len(draw.Steps)))
	return draw.Steps[min(max(i, 0), len(draw.Steps)-1)]
}

// Point of a [Frontier].
type Point struct {
	X         float64
	Y, Lo, Hi float64
}

// FrontierOptions of [Frontier].
type FrontierOptions struct {
	Title, X, Y string
	Now         *Point // where the programme stands
	NowWords    string
}

// Frontier draws what more effort buys: the best that each budget reaches, with its band, and where the programme stands.
func Frontier(list []Point, o FrontierOptions) *draw.Scene {
	const left, right, head, plotH, foot = 70.0, 30.0, 24.0, 190.0, 46.0
	s := draw.New(Width, head+plotH+foot, o.Title)
	if len(list) == 0 {
		return s
	}
	var xs, ys float64
	for _, p := range list {
		xs, ys = max(xs, p.X), max(ys, p.Y, p.Hi)
	}
	if o.Now != nil {
		xs, ys = max(xs, o.Now.X), max(ys, o.Now.Y)
	}
	xt, yt := ticks(xs, 6), ticks(ys, 4)
	xs, ys = xt[len(xt)-1], yt[len(yt)-1]
	x := func(v float64) float64 { return left + v/xs*(Width-left-right) }
	y := func(v float64) float64 { return head + plotH - v/ys*plotH }
	s.Add(text(0, 11, o.Y, small, draw.Start, draw.Slate))
	for _, v := range yt {
		s.Add(line(left, y(v), Width-right, y(v), 0.6, draw.Faint), text(left-6, y(v)+4, plain(v), small, draw.End, draw.Slate))
	}
	for _, v := range xt {
		s.Add(line(x(v), y(0), x(v), y(0)+4, 0.8, draw.Slate), text(x(v), y(0)+18, plain(v), small, draw.Middle, draw.Slate))
	}
	s.Add(text(Width-right, y(0)+38, o.X, small, draw.End, draw.Slate))
	var band draw.Pen
	for i, p := range list {
		if i == 0 {
			band.Move(x(p.X), y(p.Hi))
			continue
		}
		band.Line(x(p.X), y(p.Hi))
	}
	for i := len(list) - 1; i >= 0; i-- {
		band.Line(x(list[i].X), y(list[i].Lo))
	}
	band.Close()
	var curve []draw.Point
	for _, p := range list {
		curve = append(curve, draw.Point{X: x(p.X), Y: y(p.Y)})
	}
	s.Add(draw.Path{Cmds: band.Cmds(), Fill: draw.Step1}, draw.Path{Cmds: draw.Polyline(curve, false), Stroke: draw.Ink, Width: 2, Round: true})
	s.Add(line(left, y(0), Width-right, y(0), 1, draw.Ink))
	if o.Now != nil {
		at, anchor := x(o.Now.X)+12, draw.Start
		if x(o.Now.X) > (left+Width-right)/2 { // else the words run out of the drawing
			at, anchor = x(o.Now.X)-12, draw.End
		}
		s.Add(draw.Mark{At: draw.Point{X: x(o.Now.X), Y: y(o.Now.Y)}, Shape: draw.Diamond, R: 7, Fill: draw.Madder},
			draw.Text{At: draw.Point{X: at, Y: y(o.Now.Y) - 8}, Text: o.NowWords, Size: normal, Anchor: anchor, Role: draw.Madder, Halo: true})
	}
	return s
}
