package chart_test

import (
	"testing"

	"thwart/draw"
	"thwart/draw/chart"
)

// An interval that the axis has no room for says that it goes on, and how many do can be told in words.
func TestIntervalsBeyondTheAxisAreMarked(t *testing.T) {
	week := func(share, lo, hi float64) chart.Week {
		return chart.Week{Count: 10, Hours: 20, Share: share, Lo: lo, Hi: hi, Known: true}
	}
	for _, c := range []struct {
		name  string
		weeks []chart.Week
		want  int
	}{
		{"all fit", []chart.Week{week(0.2, 0.1, 0.3), week(0.1, 0.05, 0.4)}, 0},
		{"one goes on", []chart.Week{week(0.2, 0.1, 0.3), week(0.1, 0, 0.9)}, 1},
		{"several do, and one ends at the axis", []chart.Week{week(0.2, 0.1, 0.4), week(0.1, 0, 0.9), week(0, 0, 0.6), week(0.2, 0, 0.41)}, 3},
		{"not known", []chart.Week{week(0.2, 0.1, 0.3), {Count: 1, Hours: 1, Hi: 0.9}}, 0},
		{"no week", nil, 0},
	} {
		marks := 0
		for _, it := range chart.Weeks(c.weeks, chart.WeekOptions{Title: "weeks"}).Items {
			if m, ok := it.(draw.Mark); ok && m.Shape == draw.Up {
				marks++
			}
		}
		if _, n := chart.Beyond(c.weeks); marks != c.want || n != c.want {
			t.Errorf("%s: %d marked, %d told, want %d", c.name, marks, n, c.want)
		}
	}
}
