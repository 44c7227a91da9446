package draw_test

import (
	"math"
	"strconv"
	"testing"

	"thwart/draw"
)

// fixed measures every letter as half its size wide.
func fixed(t *draw.Text) (w, capital float64) {
	return float64(len([]rune(t.Text))) * t.Size / 2, t.Size * 0.7
}

func TestCheckFindsWordsThatDoNotFit(t *testing.T) {
	at := func(x, y float64, text string, turn float64) draw.Text {
		return draw.Text{At: draw.Point{X: x, Y: y}, Text: text, Size: 10, Turn: turn}
	}
	for _, c := range []struct {
		what  string
		items []draw.Item
		want  int
	}{
		{"sound", []draw.Item{at(5, 50, "one", 0), at(30, 50, "two", 0), draw.Group{Items: []draw.Item{at(90, 95, "three", -90)}}}, 0},
		{"too far right", []draw.Item{at(80, 50, "a long word", 0)}, 1},
		{"too high", []draw.Item{at(5, 3, "high", 0)}, 1},
		{"one over the other", []draw.Item{at(5, 50, "under", 0), at(15, 53, "over", 0)}, 1},
		{"turned out at the top", []draw.Item{at(50, 10, "upwards", -90)}, 1},
		{"ends left of the drawing", []draw.Item{draw.Text{At: draw.Point{X: 10, Y: 50}, Text: "leftwards", Size: 10, Anchor: draw.End}}, 1},
	} {
		s := draw.New(100, 100, "x")
		s.Add(c.items...)
		if got := s.Check(fixed); len(got) != c.want {
			t.Errorf("%s: %q", c.what, got)
		}
	}
}

// luminance is the relative luminance of WCAG 2.2.
func luminance(t *testing.T, hex string) float64 {
	t.Helper()
	var sum float64
	for i, k := range []float64{0.2126, 0.7152, 0.0722} {
		v, err := strconv.ParseUint(hex[1+2*i:3+2*i], 16, 8)
		if err != nil {
			t.Fatal(err)
		}
		c := float64(v) / 255
		if c <= 0.04045 {
			c /= 12.92
		} else {
			c = math.Pow((c+0.055)/1.055, 2.4)
		}
		sum += k * c
	}
	return sum
}

// Steps of an amount keep their order without colour, and each can be told from the next; words can be read (WCAG 2.2, 1.4.3).
func TestColoursCanBeReadWithoutColour(t *testing.T) {
	paper := luminance(t, draw.Printed[draw.Paper])
	for _, r := range []draw.Role{draw.Ink, draw.Slate, draw.Lake, draw.Madder, draw.Reed, draw.Brass} {
		if c := (paper + 0.05) / (luminance(t, draw.Printed[r]) + 0.05); c < 4.5 {
			t.Errorf("%s has a contrast of %.1f to paper", r, c)
		}
	}
	for i := 1; i < len(draw.Steps); i++ {
		a, b := luminance(t, draw.Printed[draw.Steps[i-1]]), luminance(t, draw.Printed[draw.Steps[i]])
		if (a+0.05)/(b+0.05) < 1.25 {
			t.Errorf("%s and %s are too alike in grey", draw.Steps[i-1], draw.Steps[i])
		}
	}
}
