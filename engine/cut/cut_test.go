package cut_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"thwart/engine/cut"
	"thwart/engine/num"
	"thwart/internal/refcheck"
)

// table reads "A>q 7, B>s 2" into arcs, and gives the letters in order of appearance.
func table(text string) (names []string, arcs []cut.Arc) {
	index := func(s string) int {
		if i := slices.Index(names, s); i >= 0 {
			return i
		}
		names = append(names, s)
		return len(names) - 1
	}
	for _, f := range strings.Split(text, ",") {
		var from, to string
		var n float64
		if _, err := fmt.Sscanf(strings.NewReplacer(">", " ").Replace(f), "%s %s %g", &from, &to, &n); err != nil {
			panic(err)
		}
		arcs = append(arcs, cut.Arc{From: index(from), To: index(to), Weight: n})
	}
	return names, arcs
}

func ones(n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = 1
	}
	return out
}

func graph(t testing.TB, cost []float64, arcs []cut.Arc) *cut.Graph {
	t.Helper()
	g, err := cut.New(cost, arcs)
	if err != nil {
		t.Fatal(err)
	}
	return g
}

// Greedy is beaten here: it begins with s, and 53 needs C and D.
func TestWhereGreedyIsBeaten(t *testing.T) {
	names, arcs := table("A>q 7, B>s 2, B>t 3, C>p 2, C>q 2, C>r 3, C>s 12, C>t 9, D>p 2, D>r 5, D>s 18")
	g := graph(t, ones(len(names)), arcs)
	for i, want := range []float64{0, 32, 53, 60, 65, 65} {
		p := g.At(float64(i))
		refcheck.Near(t, fmt.Sprintf("%d stations", i), p.Stopped, want, 1e-9, "optima by HiGHS without a gap and by listing every choice")
		refcheck.Near(t, fmt.Sprintf("%d stations, bound", i), p.Bound, want, 1e-6, "the linear relaxation is tight here")
	}
	var set []string
	for _, i := range g.At(3).Waters {
		set = append(set, names[i])
	}
	slices.Sort(set)
	if got := strings.Join(set, "+"); got != "C+D+q" {
		t.Errorf("three stations at %s, want C+D+q", got)
	}
	if got := g.At(3).Better(); got != 0 && got > 1e-6 {
		t.Errorf("a proved plan could be %v better", got)
	}
}

func TestUnevenCosts(t *testing.T) {
	names, arcs := table("A>p 40, A>q 15, A>r 5, A>t 22, B>p 8, B>q 30, B>r 25, B>s 3, B>t 10, C>p 2, C>q 12, C>r 9, C>s 35, C>t 28")
	price := map[string]float64{"A": 5, "B": 4, "C": 5, "p": 3, "q": 3, "r": 2, "s": 2, "t": 3}
	var cost []float64
	for _, n := range names {
		cost = append(cost, price[n])
	}
	g := graph(t, cost, arcs)
	for budget, want := range map[float64]float64{3: 60, 5: 99, 8: 156, 10: 194, 13: 244} {
		refcheck.Near(t, fmt.Sprintf("budget %v", budget), g.At(budget).Stopped, want, 1e-9, "every choice listed")
	}
	unit := graph(t, ones(len(names)), arcs)
	for n, want := range map[float64]float64{1: 86, 2: 168, 3: 244} {
		refcheck.Near(t, fmt.Sprintf("%v stations of equal cost", n), unit.At(n).Stopped, want, 1e-9, "every choice listed")
	}
}

// generated is a family of instances that anyone can make again: x ← (1103515245·x + 12345) mod 2³¹, draw(m) = ⌊x/65536⌋ mod m.
func generated(n, infested, draws int, seed uint64) []cut.Arc {
	x := seed
	draw := func(m uint64) int {
		x = (1103515245*x + 12345) % (1 << 31)
		return int(x / 65536 % m)
	}
	sum := map[[2]int]float64{}
	for range draws {
		a, b, w := draw(1000), draw(1000), 1+draw(100)
		i, j := a*a*infested/1e6, infested+b*b*(n-infested)/1e6
		sum[[2]int{i, j}] += float64(w)
	}
	var arcs []cut.Arc
	for k, w := range sum {
		arcs = append(arcs, cut.Arc{From: k[0], To: k[1], Weight: w})
	}
	return arcs
}

func TestGeneratedInstances(t *testing.T) {
	const source = "HiGHS without a gap, and its linear relaxation"
	for _, c := range []struct {
		n, infested, draws int
		seed               uint64
		arcs               int
		total              float64
		first              float64
		at                 map[float64][2]float64 // stations: optimum, bound
	}{
		{40, 16, 120, 3, 89, 5986, 388, map[float64][2]float64{2: {2965, 2965}, 4: {3845, 3845}, 8: {4922, 4922}, 12: {5611, 5621.5}}},
		{200, 60, 1500, 9, 1205, 74033, 1320, map[float64][2]float64{10: {34717, 34717}, 20: {46834, 46834}, 40: {63136, 63136}}},
		{1000, 300, 12000, 21, 10667, 604141, 1322, map[float64][2]float64{20: {179990, 179990}}},
	} {
		arcs := generated(c.n, c.infested, c.draws, c.seed)
		var total float64
		for _, a := range arcs {
			total += a.Weight
			if a.From == 0 && a.To == c.infested {
				refcheck.Near(t, "first arc", a.Weight, c.first, 0, "the generator's definition")
			}
		}
		if len(arcs) != c.arcs || total != c.total {
			t.Fatalf("%d waters: %d arcs of %v, want %d of %v", c.n, len(arcs), total, c.arcs, c.total)
		}
		g := graph(t, ones(c.n), arcs)
		for stations, want := range c.at {
			p := g.At(stations)
			refcheck.Near(t, fmt.Sprintf("%d waters, %v stations", c.n, stations), p.Stopped, want[0], 1e-6, source)
			refcheck.Near(t, fmt.Sprintf("%d waters, %v stations, bound", c.n, stations), p.Bound, want[1], 1e-4, source)
		}
	}
}

// small is a random instance that can be listed in full.
func small(seed uint64) ([]float64, []cut.Arc) {
	r := num.Stream(seed, "small")
	left, right := 2+r.IntN(5), 2+r.IntN(5)
	cost := make([]float64, left+right)
	for i := range cost {
		cost[i] = float64(1 + r.IntN(6))
	}
	var arcs []cut.Arc
	for i := range left {
		for j := range right {
			if r.Float64() < 0.6 {
				arcs = append(arcs, cut.Arc{From: i, To: left + j, Weight: math.Floor(r.ExpFloat64()*40) / 4})
			}
		}
	}
	return cost, arcs
}

// Every corner must be the one that listing all choices finds, no plan may exceed its bound, and the bound must be the hull.
func TestCornersAgainstListing(t *testing.T) {
	for seed := range uint64(300) {
		cost, arcs := small(seed)
		g := graph(t, cost, arcs)
		best := map[float64]float64{} // by cost
		for set := range 1 << len(cost) {
			var c, v float64
			for i := range cost {
				if set>>i&1 == 1 {
					c += cost[i]
				}
			}
			for _, a := range arcs {
				if set>>a.From&1 == 1 || set>>a.To&1 == 1 {
					v += a.Weight
				}
			}
			best[c] = math.Max(best[c], v)
		}
		upTo := func(budget float64) (v float64) {
			for c, b := range best {
				if c <= budget {
					v = math.Max(v, b)
				}
			}
			return v
		}
		corners := g.Corners(math.Inf(1))
		for i, c := range corners {
			refcheck.Near(t, fmt.Sprintf("seed %d corner %d", seed, i), c.Stopped, upTo(c.Cost), 1e-9, "every choice listed")
			if i > 1 && corners[i-1].Price > corners[i-2].Price+1e-9 {
				t.Errorf("seed %d: the frontier bends the wrong way at corner %d", seed, i)
			}
		}
		for budget := 0.0; budget <= 30; budget += 1.5 {
			p, v := g.At(budget), upTo(budget)
			if p.Stopped > v+1e-9 || p.Bound < v-1e-9 || p.Cost > budget+1e-9 {
				t.Fatalf("seed %d budget %v: plan %v ≤ best %v ≤ bound %v, cost %v", seed, budget, p.Stopped, v, p.Bound, p.Cost)
			}
			refcheck.Near(t, fmt.Sprintf("seed %d budget %v: bound", seed, budget), p.Bound, hull(best, budget), 1e-6, "concave hull of every choice listed")
		}
	}
}

// hull is the largest value at a cost among all mixtures of two choices that cost no more on average.
func hull(best map[float64]float64, budget float64) (v float64) {
	for c1, v1 := range best {
		if c1 <= budget {
			v = math.Max(v, v1)
		}
		for c2, v2 := range best {
			if c1 <= budget && c2 > budget {
				v = math.Max(v, v1+(v2-v1)*(budget-c1)/(c2-c1))
			}
		}
	}
	return v
}

func TestRefused(t *testing.T) {
	for _, c := range []struct {
		what string
		cost []float64
		arcs []cut.Arc
	}{
		{"no cost", []float64{1, 0}, []cut.Arc{{From: 0, To: 1, Weight: 1}}},
		{"to itself", ones(2), []cut.Arc{{From: 1, To: 1, Weight: 1}}},
		{"unknown water", ones(2), []cut.Arc{{From: 0, To: 2, Weight: 1}}},
		{"negative", ones(2), []cut.Arc{{From: 0, To: 1, Weight: -1}}},
		{"infested and clean", ones(3), []cut.Arc{{From: 0, To: 1, Weight: 1}, {From: 1, To: 2, Weight: 1}}},
	} {
		if _, err := cut.New(c.cost, c.arcs); err == nil {
			t.Errorf("%s: accepted", c.what)
		}
	}
	g := graph(t, ones(3), nil)
	if p := g.At(2); p.Stopped != 0 || p.Bound != 0 || p.Better() != 0 {
		t.Errorf("nothing to stop: %+v", p)
	}
}

// state is an instance of a state's size: 10,000 waters, 700 of them infested, about 366,000 risky pairs and 1,000,000 boats,
// attractiveness heavy-tailed.
func state() (cost []float64, arcs []cut.Arc) {
	const waters, infested, boats = 10000, 700, 1_000_000
	r := num.Stream(7, "state")
	pull := make([]float64, waters)
	for i := range pull {
		pull[i] = math.Pow(1-r.Float64(), -1/1.1) // Pareto
	}
	along := func(from, to int) func() int {
		sum := make([]float64, to-from+1)
		for i := from; i < to; i++ {
			sum[i-from+1] = sum[i-from] + pull[i]
		}
		return func() int {
			at, _ := slices.BinarySearch(sum, r.Float64()*sum[len(sum)-1])
			return from + min(max(at-1, 0), to-from-1)
		}
	}
	from, to := along(0, infested), along(infested, waters)
	count := map[[2]int]float64{}
	for range boats {
		count[[2]int{from(), to()}]++
	}
	for k, n := range count {
		arcs = append(arcs, cut.Arc{From: k[0], To: k[1], Weight: n})
	}
	return ones(waters), arcs
}

// BenchmarkState25 proves plans for 25 budgets on one organism at a state's size.
func BenchmarkState25(b *testing.B) {
	cost, arcs := state()
	var budgets []float64
	for i := range 25 {
		budgets = append(budgets, float64(10+i*30))
	}
	b.ReportMetric(float64(len(arcs)), "pairs")
	for b.Loop() {
		g := graph(b, cost, arcs)
		worst := 0.0
		for _, p := range g.Frontier(budgets) {
			worst = math.Max(worst, p.Better())
		}
		b.ReportMetric(100*worst, "%could-be-better")
		b.ReportMetric(float64(g.Cuts()), "cuts")
		b.ReportMetric(float64(len(arcs)), "pairs")
	}
}
