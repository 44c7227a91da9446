package draw_test

import (
	"encoding/xml"
	"io"
	"math"
	"strings"
	"testing"

	"thwart/draw"
)

// wellFormed reads a text as XML and counts its elements by name.
func wellFormed(t *testing.T, s string) map[string]int {
	t.Helper()
	n := map[string]int{}
	d := xml.NewDecoder(strings.NewReader(s))
	for {
		tok, err := d.Token()
		if err == io.EOF {
			return n
		}
		if err != nil {
			t.Fatalf("not XML: %v\n%s", err, s)
		}
		if e, ok := tok.(xml.StartElement); ok {
			n[e.Name.Local]++
		}
	}
}

func TestSVGHoldsEverythingAndNothingElse(t *testing.T) {
	s := draw.New(100, 50, `A <script> & "more"`)
	s.Add(
		draw.Path{Cmds: draw.Rect(1, 2, 3, 4), Stroke: draw.Ink, Width: 2.5, Fill: draw.Reed, Hatch: draw.Diagonal},
		draw.Path{Cmds: draw.Rect(1, 2, 3, 4), Fill: draw.Reed, Hatch: draw.Diagonal},
		draw.Mark{At: draw.Point{X: 5, Y: 5}, Shape: draw.Up, R: 2, Fill: draw.Madder},
		draw.Group{ID: "a", Title: "</title><script>alert(1)</script>", Items: []draw.Item{
			draw.Text{At: draw.Point{X: math.NaN(), Y: math.Inf(1)}, Text: "x < y \x00\x0b", Size: 8, Role: draw.Ink, Halo: true, Turn: 90},
		}},
	)
	for _, st := range []draw.Style{{}, {Colour: draw.Printed, ID: "one-", Class: `"><b>`, WidthM: "180mm"}} {
		n := wellFormed(t, s.SVG(st))
		if n["script"] != 0 || n["b"] != 0 {
			t.Errorf("something was brought in: %v", n)
		}
		if n["pattern"] != 1 || n["text"] != 1 || n["title"] != 2 || n["g"] != 1 {
			t.Errorf("elements: %v", n)
		}
	}
	if out := s.SVG(draw.Style{Colour: draw.Printed}); strings.Contains(out, "var(") || strings.Contains(out, "NaN") {
		t.Error("a colour was left to a page, or a number is none")
	}
}

func TestEveryRoleIsPrinted(t *testing.T) {
	for _, r := range draw.Roles {
		if draw.Printed[r] == "" {
			t.Errorf("%s has no colour", r)
		}
	}
	if len(draw.Printed) != len(draw.Roles) {
		t.Error("a colour without a role")
	}
}

// at evaluates a cubic Bézier curve (de Casteljau).
func at(a draw.Point, c draw.Cmd, u float64) draw.Point {
	mix := func(p, q draw.Point) draw.Point { return draw.Point{X: p.X + u*(q.X-p.X), Y: p.Y + u*(q.Y-p.Y)} }
	p, q, r := mix(a, c.P[0]), mix(c.P[0], c.P[1]), mix(c.P[1], c.P[2])
	return mix(mix(p, q), mix(q, r))
}

// Four Bézier curves come within 0.0273 % of a circle (Goldapp 1991; Riškus 2006 gives the error of this constant).
func TestEllipseIsACircle(t *testing.T) {
	cmds := draw.Ellipse(0, 0, 1, 1)
	last, worst := cmds[0].P[0], 0.0
	for _, c := range cmds[1:] {
		if c.Op != 'C' {
			continue
		}
		for u := 0.0; u <= 1; u += 0.01 {
			p := at(last, c, u)
			worst = math.Max(worst, math.Abs(math.Hypot(p.X, p.Y)-1))
		}
		last = c.P[2]
	}
	if worst > 0.000274 || worst < 0.00026 {
		t.Errorf("largest error %g, want 0.000273", worst)
	}
}

// A spline passes through its points and is straight through points on a line.
func TestThrough(t *testing.T) {
	pts := []draw.Point{{X: 0, Y: 0}, {X: 1, Y: 2}, {X: 2, Y: 4}, {X: 3, Y: 6}}
	cmds := draw.Through(pts, false)
	for i, c := range cmds[1:] {
		if c.P[2] != pts[i+1] {
			t.Errorf("point %d: %v", i+1, c.P[2])
		}
		if p := at(pts[i], c, 0.5); math.Abs(p.Y-2*p.X) > 1e-12 {
			t.Errorf("off the line at %v", p)
		}
	}
	lo, hi := draw.Bounds(cmds)
	if lo != pts[0] || hi != pts[3] {
		t.Errorf("bounds %v %v", lo, hi)
	}
}
