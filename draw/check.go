package draw

import (
	"fmt"
	"math"
)

// Measure gives the width of a text in the units of its scene, and the height of its capital letters. Whoever has the fonts
// gives one.
type Measure func(t *Text) (width, capital float64)

// Box gives the smallest upright rectangle that holds a text.
func (t *Text) Box(m Measure) (lo, hi Point) {
	width, height := m(t)
	x := 0.0
	switch t.Anchor {
	case Middle:
		x = -width / 2
	case End:
		x = -width
	}
	sin, cos := math.Sincos(t.Turn * math.Pi / 180)
	lo, hi = Point{math.Inf(1), math.Inf(1)}, Point{math.Inf(-1), math.Inf(-1)}
	for _, c := range [4]Point{{x, 0}, {x + width, 0}, {x, -height}, {x + width, -height}} {
		p := Point{t.At.X + c.X*cos - c.Y*sin, t.At.Y + c.X*sin + c.Y*cos}
		lo, hi = Point{min(lo.X, p.X), min(lo.Y, p.Y)}, Point{max(hi.X, p.X), max(hi.Y, p.Y)}
	}
	return lo, hi
}

// Check finds words that run out of the scene, and words that run over each other.
func (s *Scene) Check(m Measure) (faults []string) {
	slack := s.Width / 2000
	type box struct {
		lo, hi Point
		text   string
	}
	var seen []box
	var walk func(items []Item)
	walk = func(items []Item) {
		for _, it := range items {
			if g, ok := it.(Group); ok {
				walk(g.Items)
				continue
			}
			t, ok := it.(Text)
			if !ok || t.Text == "" {
				continue
			}
			lo, hi := t.Box(m)
			if lo.X < -slack || lo.Y < -slack || hi.X > s.Width+slack || hi.Y > s.Height+slack {
				faults = append(faults, fmt.Sprintf("%q runs out of the drawing", t.Text))
			}
			for _, o := range seen {
				if lo.X+slack < o.hi.X && o.lo.X+slack < hi.X && lo.Y+slack < o.hi.Y && o.lo.Y+slack < hi.Y {
					faults = append(faults, fmt.Sprintf("%q runs over %q", t.Text, o.text))
				}
			}
			seen = append(seen, box{lo, hi, t.Text})
		}
	}
	walk(s.Items)
	return faults
}
