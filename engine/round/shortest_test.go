package round_test

import (
	"fmt"
	"math"
	"math/bits"
	"testing"

	"pgregory.net/rapid"

	"thwart/engine/round"
)

// heldKarp gives, for every set of places, the shortest closed tour from home through all of them (Held & Karp 1962,
// J. SIAM 10:196-210): best[set][last] over sets in growing order.
func heldKarp(home round.Point, at []round.Point) []float64 {
	n := len(at)
	best := make([][]float64, 1<<n)
	tour := make([]float64, 1<<n)
	for set := 1; set < 1<<n; set++ {
		best[set] = make([]float64, n)
		tour[set] = math.Inf(1)
		for last := range n {
			best[set][last] = math.Inf(1)
			if set>>last&1 == 0 {
				continue
			}
			before := set &^ (1 << last)
			if before == 0 {
				best[set][last] = apart(home, at[last])
			}
			for k := range n {
				if before>>k&1 == 1 {
					best[set][last] = min(best[set][last], best[before][k]+apart(at[k], at[last]))
				}
			}
			tour[set] = min(tour[set], best[set][last]+apart(at[last], home))
		}
	}
	return tour
}

func apart(a, b round.Point) float64 { return math.Hypot(a.XM-b.XM, a.YM-b.YM) }

// detection is the largest chance of finding in t minutes at the places of a set: Σ p (1 - exp(-λ t_i)), with the
// optimal t_i = max(0, ln(p λ / μ) / λ) that uses up t (Koopman 1956; Stone 1975).
func detection(p, lambda []float64, set int, t float64) float64 {
	if t <= 0 {
		return 0
	}
	use := func(mu float64) (minutes, found float64) {
		for i := range p {
			if set>>i&1 == 1 && p[i]*lambda[i] > mu {
				minutes += math.Log(p[i]*lambda[i]/mu) / lambda[i]
				found += p[i] - mu/lambda[i]
			}
		}
		return minutes, found
	}
	lo, hi := 1e-12, 10.0 // minutes fall with μ
	for range 200 {
		mu := math.Sqrt(lo * hi)
		if m, _ := use(mu); m > t {
			lo = mu
		} else {
			hi = mu
		}
	}
	_, found := use(hi)
	return found
}

// The worked example: seven places of one craft with the chance p that the stowaway is there and the rate λ of finding
// it per minute of looking, walked at 30 m/min from home and back in straight lines. An invented fixture; its answers
// below were computed by complete enumeration of the 127 sets of places with the shortest tour of each.
var example = struct {
	name       []string
	at         []round.Point
	p, lambda  []float64
	mPerMin    float64
	shortTours []struct {
		set    []int // places, counted from 1
		minute float64
	}
	plans []struct {
		minutes, bestTour, bestP, fullP float64
		set                             []int
	}
	source string
}{
	name:    []string{"anchor and line", "motor and lower unit", "bilge", "live well", "trailer bunks", "hull", "rollers and axle"},
	at:      []round.Point{{XM: 0.3, YM: 1.2}, {XM: 6, YM: 0}, {XM: 5.2, YM: 0.6}, {XM: 3.5, YM: 1.1}, {XM: 3, YM: -1.2}, {XM: 1.5, YM: -1.1}, {XM: 4.2, YM: -1.2}},
	p:       []float64{0.30, 0.20, 0.15, 0.12, 0.10, 0.08, 0.05},
	lambda:  []float64{1.2, 0.8, 2.0, 0.5, 1.0, 0.6, 0.4},
	mPerMin: 30,
	shortTours: []struct {
		set    []int
		minute float64
	}{
		{[]int{1, 2, 3, 4, 5, 6, 7}, 0.464576},
		{[]int{1, 2, 3}, 0.439118},
		{[]int{1, 2, 3, 4, 5}, 0.455757},
	},
	plans: []struct {
		minutes, bestTour, bestP, fullP float64
		set                             []int
	}{
		{2, 0.439118, 0.31860917, 0.31532728, []int{1, 2, 3}},
		{3, 0.439118, 0.42497722, 0.42329931, []int{1, 2, 3}},
		{5, 0.455757, 0.56421828, 0.56373490, []int{1, 2, 3, 4, 5}},
	},
	source: "invented fixture; answers by complete enumeration in a separate program, printed to the digits given",
}

func setOf(places []int) int {
	set := 0
	for _, i := range places {
		set |= 1 << (i - 1)
	}
	return set
}

// TestWorkedExample checks the example's tours and detection, and what the fixed circuit of this package loses on it.
func TestWorkedExample(t *testing.T) {
	e := example
	const all = 1<<7 - 1
	tour := heldKarp(round.Point{}, e.at)
	for _, c := range e.shortTours {
		if got := tour[setOf(c.set)] / e.mPerMin; math.Abs(got-c.minute) > 5e-7 {
			t.Errorf("tour of %v takes %.7f min, want %v (%s)", c.set, got, c.minute, e.source)
		}
	}
	for _, c := range e.plans {
		best, bestSet := 0.0, 0
		for set := 1; set <= all; set++ {
			if p := detection(e.p, e.lambda, set, c.minutes-tour[set]/e.mPerMin); p > best+1e-12 {
				best, bestSet = p, set
			}
		}
		full := detection(e.p, e.lambda, all, c.minutes-tour[all]/e.mPerMin)
		// Sets that hold a place with no time to spare there are as good in detection and longer to walk, so the best
		// set is unique.
		if bestSet != setOf(c.set) || math.Abs(best-c.bestP) > 5e-9 || math.Abs(full-c.fullP) > 5e-9 {
			t.Errorf("in %v min: set %b with %.9f, full tour %.9f; want %b, %v, %v (%s)",
				c.minutes, bestSet, best, full, setOf(c.set), c.bestP, c.fullP, e.source)
		}

		circuit, steps := circuitOrder(t, e.at)
		fixed := detection(e.p, e.lambda, all, c.minutes-circuit/e.mPerMin)
		lost := 100 * (best - fixed) / best
		t.Logf("in %v min: the circuit %v walks %.3f m (shortest tour %.3f m) and finds %.6f, %.2f %% less than the best %.6f",
			c.minutes, steps, circuit, tour[all], fixed, lost, best)
		if math.Abs(circuit-tour[all]) > 1e-9 {
			t.Errorf("the circuit of %v m is not the shortest tour of %v m, although these places lie round the craft", circuit, tour[all])
		}
		// The lesson of the example: with three minutes or more to look, one taught circuit through everything costs
		// under 1 % of detection against the best choice of places.
		if c.minutes >= 3 && lost >= 1 {
			t.Errorf("in %v min the circuit loses %.2f %%", c.minutes, lost)
		}
	}
}

// circuitOrder walks the example in this package's order, in straight lines from home and back as the example does.
func circuitOrder(t *testing.T, at []round.Point) (lengthM float64, order []string) {
	t.Helper()
	stops := make([]round.Stop, len(at))
	for i, p := range at {
		stops[i] = round.Stop{ID: fmt.Sprint(i + 1), XM: p.XM, YM: p.YM}
	}
	o := round.Defaults(6, 2.4)
	o.Start = round.BowPort
	p, err := round.Make(stops, o)
	if err != nil {
		t.Fatal(err)
	}
	var here round.Point
	for _, s := range p.Steps {
		next := round.Point{XM: s.XM, YM: s.YM}
		lengthM += apart(here, next)
		here, order = next, append(order, s.ID)
	}
	return lengthM + apart(here, round.Point{}), order
}

// bestOrder is the least cost over all orders of the stands, each stop kept at its stand: metres along the path the
// shorter way round plus changes of posture, both in seconds. State: the stops done and the last one.
func bestOrder(steps []round.Step, circuitM float64, o round.Options) float64 {
	n := len(steps)
	cost := make([][]float64, 1<<n)
	for set := range cost {
		cost[set] = make([]float64, n)
		for last := range n {
			cost[set][last] = math.Inf(1)
		}
	}
	for i, s := range steps {
		cost[1<<i][i] = min(s.WalkedM, circuitM-s.WalkedM) / o.WalkMPerS
	}
	for set := range cost {
		for last := range n {
			if math.IsInf(cost[set][last], 1) {
				continue
			}
			for next := range n {
				if set>>next&1 == 1 {
					continue
				}
				d := math.Abs(steps[next].WalkedM - steps[last].WalkedM)
				c := cost[set][last] + min(d, circuitM-d)/o.WalkMPerS
				if steps[next].Posture != steps[last].Posture {
					c += o.PostureChangeS
				}
				to := set | 1<<next
				cost[to][next] = min(cost[to][next], c)
			}
		}
	}
	best := math.Inf(1)
	for last := range n {
		best = min(best, cost[1<<n-1][last])
	}
	return best
}

// TestAgainstAllOrders compares the fixed circuit with the best of all orders on small rigs, and both with the bound.
// With something to look at on all four sides, as every real rig has, there is little to gain; a few stops scattered
// anywhere may all lie just behind the start, and then a fixed direction goes the long way round. Both are reported.
func TestAgainstAllOrders(t *testing.T) {
	for _, sides := range []bool{true, false} {
		worst, sum, rigs := 0.0, 0.0, 0
		rapid.Check(t, func(t *rapid.T) {
			o := round.Defaults(rapid.Float64Range(3, 8).Draw(t, "length"), rapid.Float64Range(1, 2.5).Draw(t, "beam"))
			o.Start = rapid.SampledFrom(round.Corners).Draw(t, "corner")
			o.Clockwise = rapid.Bool().Draw(t, "clockwise")
			stops := smallRig(t, o, sides)
			p := mustMake(t, stops, o)
			circuitM := 2*o.BeamM + 2*o.LengthM + 2*math.Pi*o.MarginM
			best := p.StartS + p.LookS + bestOrder(p.Steps, circuitM, o)
			if best < p.LowerBoundS*(1-rounding) {
				t.Fatalf("an order takes %v s, the bound says at least %v s", best, p.LowerBoundS)
			}
			if p.TotalS < best*(1-rounding) {
				t.Fatalf("the round takes %v s, the best of all orders %v s", p.TotalS, best)
			}
			lost := 100 * (p.TotalS - best) / best
			worst, sum, rigs = max(worst, lost), sum+lost, rigs+1
		})
		t.Logf("%d rigs of up to 8 stops, something on all four sides %v: the circuit takes %.1f %% longer than the best order on average, %.1f %% at worst",
			rigs, sides, sum/float64(rigs), worst)
	}
}

// smallRig draws up to eight outside stops of 10 s each, with one at bow, transom and either side if asked for.
func smallRig(t *rapid.T, o round.Options, sides bool) []round.Stop {
	var at []round.Point
	if sides {
		half := o.BeamM / 2
		at = []round.Point{{}, {XM: o.LengthM / 2, YM: half}, {XM: o.LengthM}, {XM: o.LengthM / 2, YM: -half}}
	}
	for range rapid.IntRange(2, 8-len(at)).Draw(t, "more") {
		at = append(at, round.Point{
			XM: rapid.Float64Range(0, 1).Draw(t, "x") * o.LengthM, YM: rapid.Float64Range(-0.5, 0.5).Draw(t, "y") * o.BeamM,
		})
	}
	stops := make([]round.Stop, len(at))
	for i, p := range at {
		stops[i] = round.Stop{
			ID: fmt.Sprint(i), XM: p.XM, YM: p.YM, Posture: rapid.IntRange(0, 2).Draw(t, "posture"), LookS: 10,
		}
	}
	return stops
}

// TestBoundHoldsForEveryOrder tries all orders of up to six stops on the ground, aboard and laid out, postures shared
// between ground and deck included, each move straight except that deck and ground meet at the door alone.
func TestBoundHoldsForEveryOrder(t *testing.T) {
	tight := 0.0
	rapid.Check(t, func(t *rapid.T) {
		o := round.Defaults(rapid.Float64Range(2, 8).Draw(t, "length"), rapid.Float64Range(0.6, 2.5).Draw(t, "beam"))
		o.Start = rapid.SampledFrom(round.Corners).Draw(t, "corner")
		o.PostureChangeS = rapid.SampledFrom([]float64{0, 1, 2, 20}).Draw(t, "change")
		var stops []round.Stop
		for i := range rapid.IntRange(1, 6).Draw(t, "stops") {
			stops = append(stops, round.Stop{
				ID: fmt.Sprint(i), Group: round.Group(rapid.IntRange(0, 2).Draw(t, "group")),
				XM: rapid.Float64Range(0, 1).Draw(t, "x") * o.LengthM, YM: rapid.Float64Range(-0.5, 0.5).Draw(t, "y") * o.BeamM,
				Posture: rapid.IntRange(0, 3).Draw(t, "posture"),
			})
		}
		p := mustMake(t, stops, o)
		door := round.Point{XM: o.LengthM}
		var best float64 = math.Inf(1)
		var try func(here round.Point, aboard bool, posture, left int, spent float64)
		try = func(here round.Point, aboard bool, posture, left int, spent float64) {
			if left == 0 {
				if aboard {
					spent += apart(here, door) / o.WalkMPerS
				}
				best = min(best, spent)
				return
			}
			for rest := left; rest != 0; rest &= rest - 1 {
				i := bits.TrailingZeros(uint(rest))
				s := &p.Steps[i]
				there, up := round.Point{XM: s.StandXM, YM: s.StandYM}, s.Group == round.OnBoard
				d := apart(here, there)
				if up != aboard {
					d = apart(here, door) + apart(door, there)
				}
				cost := spent + d/o.WalkMPerS
				if posture >= 0 && posture != s.Posture {
					cost += o.PostureChangeS
				}
				try(there, up, s.Posture, left&^(1<<i), cost)
			}
		}
		try(p.Path[0], false, -1, 1<<len(stops)-1, 0)
		if p.LowerBoundS > best*(1+rounding)+rounding {
			t.Fatalf("an order takes %v s, the bound says at least %v s", best, p.LowerBoundS)
		}
		if best > 0 {
			tight = max(tight, p.LowerBoundS/best)
		}
	})
	if tight < 0.9 {
		t.Errorf("the bound never comes nearer than %.2f of the best order: it bounds nothing", tight)
	}
}

// TestHeldKarpAgainstPermutations keeps the yardstick itself honest.
func TestHeldKarpAgainstPermutations(t *testing.T) {
	at := example.at
	var shortest func(here round.Point, left int, walked float64) float64
	shortest = func(here round.Point, left int, walked float64) float64 {
		if left == 0 {
			return walked + apart(here, round.Point{})
		}
		best := math.Inf(1)
		for rest := left; rest != 0; rest &= rest - 1 {
			i := bits.TrailingZeros(uint(rest))
			best = min(best, shortest(at[i], left&^(1<<i), walked+apart(here, at[i])))
		}
		return best
	}
	const all = 1<<7 - 1
	want, got := shortest(round.Point{}, all, 0), heldKarp(round.Point{}, at)[all]
	if math.Abs(got-want) > 1e-9 {
		t.Errorf("Held-Karp %v m, all 5,040 orders %v m", got, want)
	}
}
