package cli

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"thwart"
	"thwart/unit"
)

func steady(c unit.Celsius, seconds int) []thwart.Probe {
	var list []thwart.Probe
	for s := 0; s <= seconds; s++ {
		list = append(list, thwart.Probe{AtS: float64(s), TempC: c})
	}
	return list
}

func drawing(pr *thwart.Proof, probes ...[]thwart.Probe) string {
	var b bytes.Buffer
	drawTrace(&printer{w: &b, units: unit.Metric, width: 96}, pr, probes)
	return b.String()
}

func targetLine(t *testing.T, text string) string {
	t.Helper()
	for _, l := range strings.Split(text, "\n") {
		if strings.HasSuffix(l, "target") {
			return l
		}
	}
	t.Fatalf("no target in\n%s", text)
	return ""
}

// Full blocks on the target's line mean proven, and only a reading less its uncertainty at the target or above draws them.
func TestDrawingNeverFlatters(t *testing.T) {
	for _, c := range []struct {
		name   string
		read   unit.Celsius
		plus   float64
		proven bool
	}{
		{"well above", 62, 1, true},
		{"at the target with a perfect thermometer", 60, 0, true},
		{"a hair below", 59.99, 0, false},
		{"at the target with doubt", 60, 1, false},
		{"at the target when the doubt is taken off", 61, 1, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			l := targetLine(t, drawing(&thwart.Proof{TargetC: 60, PlusMinusC: c.plus}, steady(c.read, 60)))
			if got := strings.Contains(l, "█"); got != c.proven {
				t.Errorf("proven is drawn: %v, want %v: %s", got, c.proven, l)
			}
		})
	}
}

func TestDrawingLeavesGapsEmpty(t *testing.T) {
	// 62 °C for 30 s, nothing for 60 s, which is longer than counts as watched, and 62 °C again.
	list := steady(62, 30)
	for s := 90; s <= 120; s++ {
		list = append(list, thwart.Probe{AtS: float64(s), TempC: 62})
	}
	l := targetLine(t, drawing(&thwart.Proof{TargetC: 60, PlusMinusC: 1}, list))
	if n := strings.Count(l, "─"); n < 20 {
		t.Errorf("the gap of half the trace is drawn as %d columns: %s", n, l)
	}
	if got := drawing(&thwart.Proof{TargetC: 60}, []thwart.Probe{{AtS: 0, TempC: 60}}); got != "" {
		t.Errorf("a single reading was drawn:\n%s", got)
	}
}

func TestDrawingTakesTheColdestProbe(t *testing.T) {
	points := coldestPoints([][]thwart.Probe{{{AtS: 0, TempC: 62}, {AtS: 1, TempC: 50}}, {{AtS: 1, TempC: 61}, {AtS: 0, TempC: 45}}})
	want := []thwart.Probe{{AtS: 0, TempC: 45}, {AtS: 1, TempC: 50}}
	if len(points) != 2 || points[0] != want[0] || points[1] != want[1] {
		t.Errorf("got %v, want %v", points, want)
	}
	low, high, from, to := buckets([][]thwart.Probe{{{AtS: 0, TempC: 20}, {AtS: 10, TempC: 400}, {AtS: 20, TempC: 30}}}, 4)
	if from != 0 || to != 20 || low[0] != 20 || high[3] != 30 {
		t.Errorf("got %v %v from %g to %g", low, high, from, to)
	}
	for _, h := range high {
		if !math.IsNaN(h) && h > 110 {
			t.Errorf("a wild reading was drawn: %v", high)
		}
	}
}
