package round_test

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp/cmpopts"

	gocmp "github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"thwart/engine/round"
)

// rig draws a rig of outside, aboard and laid-out stops with ids that do not follow the drawing order.
func rig(t *rapid.T, most int) ([]round.Stop, round.Options) {
	lengthM := rapid.Float64Range(1, 18).Draw(t, "length")
	beamM := rapid.Float64Range(0.5, 5).Draw(t, "beam")
	o := round.Defaults(lengthM, beamM)
	o.Start = rapid.SampledFrom(round.Corners).Draw(t, "corner")
	o.Clockwise = rapid.Bool().Draw(t, "clockwise")
	o.AheadM = o.MarginM + rapid.Float64Range(0, 2).Draw(t, "ahead")
	o.StartS = float64(rapid.IntRange(0, 30).Draw(t, "start"))
	n := rapid.IntRange(0, most).Draw(t, "stops")
	stops := make([]round.Stop, n)
	for i := range stops {
		g := round.Group(rapid.IntRange(0, 2).Draw(t, "group"))
		// Coarse steps make ties likely: stops above one another, on the centreline, at one station.
		x := float64(rapid.IntRange(-4, 22).Draw(t, "x")) / 20 * lengthM
		y := float64(rapid.IntRange(-11, 11).Draw(t, "y")) / 10 * beamM / 2
		posture := rapid.IntRange(0, 2).Draw(t, "posture")
		switch g {
		case round.OnBoard:
			x, posture = min(max(x, 0), lengthM), 3
		case round.LaidOut:
			x, posture = lengthM+1+float64(i%4)*0.5, 0
		}
		stops[i] = round.Stop{
			ID: fmt.Sprintf("stop.%02d", (i*37)%101), Group: g, Zone: rapid.IntRange(0, 5).Draw(t, "zone"),
			XM: x, YM: y, ZM: float64(rapid.IntRange(0, 8).Draw(t, "z")) / 4, Posture: posture,
			LookS: float64(rapid.IntRange(0, 30).Draw(t, "look")), Drains: rapid.IntRange(0, 4).Draw(t, "drains") == 0,
		}
	}
	return stops, o
}

func mustMake(t rapid.TB, stops []round.Stop, o round.Options) round.Plan {
	t.Helper()
	p, err := round.Make(stops, o)
	if err != nil {
		t.Fatalf("Make: %v", err)
	}
	return p
}

// TestEveryStopOnce: whatever the rig, corner and direction, no stop is skipped or seen twice, the groups follow one
// another, numbers and distances rise, and what is started first has a turn of its own.
func TestEveryStopOnce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		stops, o := rig(t, 40)
		p := mustMake(t, stops, o)
		if len(p.Steps) != len(stops) {
			t.Fatalf("%d steps for %d stops", len(p.Steps), len(stops))
		}
		byID := map[string]round.Stop{}
		for _, s := range stops {
			byID[s.ID] = s
		}
		drains := 0
		for i, s := range p.Steps {
			want, ok := byID[s.ID]
			if !ok {
				t.Fatalf("stop %q twice or unknown", s.ID)
			}
			delete(byID, s.ID)
			if s.Stop != want {
				t.Fatalf("stop changed: %+v, was %+v", s.Stop, want)
			}
			if s.Number != i+1 {
				t.Fatalf("step %d has number %d", i+1, s.Number)
			}
			if i > 0 && (s.Group < p.Steps[i-1].Group || s.WalkedM < p.Steps[i-1].WalkedM || s.AtS < p.Steps[i-1].AtS) {
				t.Fatalf("step %d goes back in group, distance or time", s.Number)
			}
			if s.Drains {
				drains++
			}
		}
		if len(p.First) != drains {
			t.Fatalf("%d tasks to start for %d draining stops", len(p.First), drains)
		}
		for _, f := range p.First {
			if s := p.Steps[f.Number-1]; s.ID != f.ID || !s.Drains {
				t.Fatalf("task %q points to step %d, which is %q", f.ID, f.Number, s.ID)
			}
		}
	})
}

// TestOrderOfInputDoesNotMatter: the plan depends on the set of stops alone, to the last bit.
func TestOrderOfInputDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		stops, o := rig(t, 30)
		want := mustMake(t, stops, o)
		before := slices.Clone(stops)
		got := mustMake(t, rapid.Permutation(stops).Draw(t, "shuffled"), o)
		if d := gocmp.Diff(want, got); d != "" {
			t.Fatalf("plan changed with the order of its input:\n%s", d)
		}
		if !slices.Equal(stops, before) {
			t.Fatal("the caller's slice was changed")
		}
	})
}

// TestReversedIsMirrored: walking the mirrored rig from the mirrored corner the other way round gives the mirrored plan.
func TestReversedIsMirrored(t *testing.T) {
	mirror := map[round.Corner]round.Corner{
		round.BowPort: round.BowStarboard, round.BowStarboard: round.BowPort,
		round.SternPort: round.SternStarboard, round.SternStarboard: round.SternPort,
	}
	rapid.Check(t, func(t *rapid.T) {
		stops, o := rig(t, 30)
		want := mustMake(t, stops, o)
		other := slices.Clone(stops)
		for i := range other {
			other[i].YM = 0 - other[i].YM
		}
		o.Start, o.Clockwise = mirror[o.Start], !o.Clockwise
		got := mustMake(t, other, o)
		for i := range got.Steps {
			got.Steps[i].YM, got.Steps[i].StandYM = 0-got.Steps[i].YM, 0-got.Steps[i].StandYM
		}
		for i := range got.Path {
			got.Path[i].YM = 0 - got.Path[i].YM
		}
		if d := gocmp.Diff(want, got, cmpopts.EquateEmpty()); d != "" {
			t.Fatalf("mirrored plan differs:\n%s", d)
		}
	})
}

// rounding is the share by which sums of up to some hundred terms may differ through rounding alone.
const rounding = 1e-9

// TestSumsAndBound: the parts add up, and no plan is better than the bound.
func TestSumsAndBound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		stops, o := rig(t, 40)
		p := mustMake(t, stops, o)
		look := 0.0
		for _, s := range stops {
			look += s.LookS
		}
		if math.Abs(p.LookS-look) > rounding*(1+look) {
			t.Fatalf("looking %v s, want %v", p.LookS, look)
		}
		if total := p.StartS + p.LookS + p.WalkS + p.PostureS; math.Abs(p.TotalS-total) > rounding*(1+total) {
			t.Fatalf("total %v s, parts %v", p.TotalS, total)
		}
		if p.TotalS < p.LowerBoundS*(1-rounding) || p.GapPct < -rounding {
			t.Fatalf("total %v s under its bound %v s", p.TotalS, p.LowerBoundS)
		}
		// With changes of posture free the bound speaks of walking alone.
		o.PostureChangeS = 0
		p = mustMake(t, stops, o)
		if least := (p.LowerBoundS - p.StartS - p.LookS) * o.WalkMPerS; p.WalkM < least*(1-rounding)-rounding {
			t.Fatalf("walk of %v m under its bound %v m", p.WalkM, least)
		}
	})
}

// TestOnceRound: on the ground the walk never exceeds one circuit, and every outside stand keeps the margin from the
// craft's own rectangle.
func TestOnceRound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		stops, o := rig(t, 40)
		stops = slices.DeleteFunc(stops, func(s round.Stop) bool { return s.Group != round.Outside })
		p := mustMake(t, stops, o)
		aft, half := o.LengthM, o.BeamM/2
		for _, s := range stops {
			aft, half = max(aft, s.XM), max(half, math.Abs(s.YM))
		}
		circuit := 4*half + 2*(aft-o.MarginM+o.AheadM) + 2*math.Pi*o.MarginM
		if p.WalkM > circuit*(1+rounding) {
			t.Fatalf("walked %v m, one circuit is %v m", p.WalkM, circuit)
		}
		for _, s := range p.Steps {
			dx := max(-s.StandXM, s.StandXM-o.LengthM, 0)
			dy := max(math.Abs(s.StandYM)-o.BeamM/2, 0)
			if math.Hypot(dx, dy) < o.MarginM*(1-rounding) {
				t.Fatalf("stand (%v, %v) is nearer to the craft than %v m", s.StandXM, s.StandYM, o.MarginM)
			}
		}
	})
}

// TestDefaultLooksAtTheTransomLast: with the default corner water has the whole walk to run.
func TestDefaultLooksAtTheTransomLast(t *testing.T) {
	stops := []round.Stop{
		{ID: "plug", XM: 5, ZM: 0.6, Posture: 1, LookS: 4, Drains: true},
		{ID: "drive", XM: 5.4, ZM: 0.4, Posture: 1, LookS: 6, Drains: true},
		{ID: "bow", XM: 0, ZM: 0.9, LookS: 3},
		{ID: "bilge", Group: round.OnBoard, XM: 4.2, Posture: 3, LookS: 8, Drains: true},
		{ID: "locker", Group: round.OnBoard, XM: 0.8, Posture: 3, LookS: 8},
		{ID: "port", XM: 2.5, YM: -0.9, ZM: 0.7, Posture: 1, LookS: 8},
		{ID: "starboard", XM: 2.5, YM: 0.9, ZM: 0.7, Posture: 1, LookS: 8},
	}
	for _, start := range []round.Corner{round.SternPort, round.SternStarboard} {
		o := round.Defaults(5, 2)
		o.Start, o.Clockwise = start, start == round.SternPort
		p := mustMake(t, stops, o)
		var order []string
		for _, s := range p.Steps {
			order = append(order, s.ID)
		}
		near, far := "port", "starboard"
		if start == round.SternStarboard {
			near, far = far, near
		}
		// At the transom both crouch, so the higher one, the plug at 0.6 m, comes before the drive at 0.4 m; aboard, the
		// bilge drains and is therefore left for the way back.
		if want := []string{near, "bow", far, "plug", "drive", "locker", "bilge"}; !slices.Equal(order, want) {
			t.Errorf("from %s: %v, want %v", start, order, want)
		}
		var first []string
		for _, f := range p.First {
			first = append(first, f.ID)
		}
		if want := []string{"drive", "plug", "bilge"}; !slices.Equal(first, want) {
			t.Errorf("first: %v, want %v", first, want)
		}
	}
}

// TestPosturesAreFewest compares the two-way programme with trying both ways of every station.
func TestPosturesAreFewest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		// Stations 2 m apart along one side, so that each is a station of its own.
		n := rapid.IntRange(1, 7).Draw(t, "stations")
		var stops []round.Stop
		ends := make([][2]int, n)
		inner := 0
		for i := range n {
			kinds := rapid.SliceOfNDistinct(rapid.IntRange(0, 2), 1, 3, rapid.ID).Draw(t, "postures")
			ends[i] = [2]int{slices.Min(kinds), slices.Max(kinds)}
			inner += len(kinds) - 1
			for _, k := range kinds {
				stops = append(stops, round.Stop{ID: fmt.Sprintf("%d.%d", i, k), XM: 1 + 2*float64(i), YM: 1, Posture: k})
			}
		}
		o := round.Defaults(16, 2)
		o.Start = round.BowStarboard
		best := math.MaxInt
		for ways := range 1 << n {
			changes, last := inner, -1
			for i := range n {
				first, end := ends[i][0], ends[i][1]
				if ways>>i&1 == 1 {
					first, end = end, first
				}
				if i > 0 && first != last {
					changes++
				}
				last = end
			}
			best = min(best, changes)
		}
		if p := mustMake(t, stops, o); p.PostureChanges != best {
			t.Fatalf("%d posture changes, fewest are %d", p.PostureChanges, best)
		}
	})
}

// TestTourAboardIsShortest compares the tour aboard with all ways of going forward once and back once, abreast taken from
// port to starboard.
func TestTourAboardIsShortest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 9).Draw(t, "places")
		const lengthM = 6.0
		stops := make([]round.Stop, n)
		for i := range stops {
			stops[i] = round.Stop{
				ID: fmt.Sprint(i), Group: round.OnBoard,
				XM: rapid.Float64Range(0, lengthM).Draw(t, "x"), YM: rapid.Float64Range(-1, 1).Draw(t, "y"),
			}
		}
		o := round.Defaults(lengthM, 2)
		p := mustMake(t, stops, o)
		tour := func(order []round.Stop) float64 {
			x, y, length := lengthM, 0.0, 0.0
			for _, s := range order {
				length += math.Hypot(s.XM-x, s.YM-y)
				x, y = s.XM, s.YM
			}
			return length + math.Hypot(lengthM-x, y)
		}
		forward := slices.Clone(stops)
		slices.SortFunc(forward, func(a, b round.Stop) int {
			return cmp.Or(cmp.Compare(b.XM, a.XM), cmp.Compare(a.YM, b.YM), cmp.Compare(a.ID, b.ID))
		})
		best := math.Inf(1)
		for mask := range 1 << n {
			var out, home []round.Stop
			for i, s := range forward {
				if mask>>i&1 == 1 {
					out = append(out, s)
				} else {
					home = append([]round.Stop{s}, home...)
				}
			}
			best = min(best, tour(append(out, home...)))
		}
		var order []round.Stop
		for _, s := range p.Steps {
			order = append(order, s.Stop)
		}
		if got := tour(order); got > best*(1+rounding) {
			t.Fatalf("tour aboard %v m, shortest %v m", got, best)
		}
	})
}

func TestRefusals(t *testing.T) {
	good := round.Stop{ID: "a", XM: 1, YM: 1, LookS: 1}
	for _, c := range []struct {
		name  string
		stops []round.Stop
		edit  func(*round.Options)
		says  string
	}{
		{"no corner", nil, func(o *round.Options) { o.Start = "middle" }, `start: "middle"`},
		{"no length", nil, func(o *round.Options) { o.LengthM = 0 }, "lengthM"},
		{"no speed", nil, func(o *round.Options) { o.WalkMPerS = math.NaN() }, "walkMPerS"},
		{"too close", nil, func(o *round.Options) { o.AheadM = 0.1 }, "aheadM"},
		{"twice", []round.Stop{good, good}, nil, "twice"},
		{"no id", []round.Stop{{}}, nil, "no id"},
		{"negative look", []round.Stop{{ID: "a", LookS: -1}}, nil, "a lookS"},
		{"nowhere", []round.Stop{{ID: "a", XM: math.Inf(1)}}, nil, "a position"},
		{"no group", []round.Stop{{ID: "a", Group: 3}}, nil, "group 3"},
	} {
		o := round.Defaults(5, 2)
		if c.edit != nil {
			c.edit(&o)
		}
		if _, err := round.Make(c.stops, o); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: error %v, want one that says %q", c.name, err, c.says)
		}
	}
}
