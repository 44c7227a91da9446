package spread_test

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"

	"thwart/engine/spread"
	"thwart/internal/refcheck"
)

func TestEstablishment(t *testing.T) {
	for _, x := range [][4]float64{
		{0.001, 1, 10, 0.00995017}, {0.001, 1, 100, 0.09516258}, {0.001, 1, 1000, 0.63212056}, {0.001, 2, 10, 0.00010000}, {0.001, 2, 100, 0.00995017},
		{0.001, 2, 500, 0.22119922}, {0.001, 2, 2000, 0.98168436}, {0.001, 1.86, 100, 0.01370901}, {0.001, 1.86, 500, 0.24078956},
		{0.0005, 1.5, 100, 0.01111807}, {0.0005, 1.5, 1000, 0.29781150},
	} {
		refcheck.Near(t, fmt.Sprint("E at ", x[:3]), spread.Establishment(x[0], x[1], x[2]), x[3], 5.1e-9, "1 - exp(-(αN)^c) of Leung, Drake & Lodge 2004, computed in R 4.2.2")
	}
	refcheck.Near(t, "half chance", spread.Establishment(0.003, 1.7, spread.HalfChance(0.003, 1.7)), 0.5, 1e-12, "definition")
}

// dense turns a matrix of passages, and the shares that a plan stops, into a network.
func dense(n [][]float64, stopped func(from, to int) float64) *spread.Network {
	net := &spread.Network{Start: []int32{0}}
	for i, row := range n {
		for j, x := range row {
			if x > 0 {
				net.To = append(net.To, int32(j))
				net.Risky = append(net.Risky, float32(x))
				if stopped != nil {
					net.Stopped = append(net.Stopped, float32(stopped(i, j)))
				}
			}
		}
		net.Start = append(net.Start, int32(len(net.To)))
	}
	return net
}

func only(n, first int) []bool {
	out := make([]bool, n)
	out[first] = true
	return out
}

var fourLakes = [][]float64{{0, 120, 40, 10}, {90, 0, 60, 25}, {30, 50, 0, 80}, {15, 20, 70, 0}}

// enumerate follows every state of a few waters exactly: the chance of each to be infested by the end of each year.
func enumerate(n [][]float64, alpha, c float64, years int) [][]float64 {
	k := len(n)
	states := map[int]float64{1: 1}
	var out [][]float64
	for range years {
		next := map[int]float64{}
		for s, p := range states {
			e := make([]float64, k)
			for j := range k {
				sum := 0.0
				for i := range k {
					if s>>i&1 == 1 {
						sum += n[i][j]
					}
				}
				e[j] = 1 - math.Exp(-math.Pow(alpha*sum, c))
			}
			for to := range 1 << k {
				q := p
				for j := range k {
					switch {
					case s>>j&1 == 1 && to>>j&1 == 0:
						q = 0
					case s>>j&1 == 1:
					case to>>j&1 == 1:
						q *= e[j]
					default:
						q *= 1 - e[j]
					}
				}
				next[to] += q
			}
		}
		states = next
		row := make([]float64, k)
		for s, p := range states {
			for j := range k {
				if s>>j&1 == 1 {
					row[j] += p
				}
			}
		}
		out = append(out, row)
	}
	return out
}

// stop is the shares of the two stations of the chain.
var stations = map[string]func(from, to int) float64{
	"none":            func(_, _ int) float64 { return 0 },
	"out of lake 1":   func(from, _ int) float64 { return map[int]float64{0: 0.48}[from] },
	"into lake 2":     func(_, to int) float64 { return map[int]float64{1: 0.48}[to] },
	"none with c = 1": func(_, _ int) float64 { return 0 },
}

func TestFourLakesExactly(t *testing.T) {
	const src = "enumeration of all states of the chain, computed in R 4.2.2"
	for name, want := range map[string]map[int][4]float64{
		"none": {
			1: {0.28290988, 0.06199500, 0.00796809, 1.35287297}, 2: {0.49262398, 0.16446955, 0.03995081, 1.69704434}, 5: {0.83081544, 0.50897393, 0.26254048, 2.60232984},
		},
		"out of lake 1":   {1: {0.11723841, 0.02371287, 0.00299532, 1.14394661}, 5: {0.48309184, 0.23813363, 0.11145954, 1.83268501}},
		"into lake 2":     {1: {0.11723841, 0.06199500, 0.00796809, 1.18720150}, 5: {0.49067780, 0.39507783, 0.19191769, 2.07767333}},
		"none with c = 1": {1: {0.38121661, 0.14785621, 0.03921056, 1.56828338}, 5: {0.92998565, 0.77281241, 0.57447069, 3.27726874}},
	} {
		c := 1.5
		if strings.HasSuffix(name, "c = 1") {
			c = 1
		}
		cut := make([][]float64, 4)
		for i := range cut {
			cut[i] = make([]float64, 4)
			for j := range cut[i] {
				cut[i][j] = fourLakes[i][j] * (1 - stations[name](i, j))
			}
		}
		exact := enumerate(cut, 0.004, c, 5)
		const runs = 60_000
		r, err := spread.Run(t.Context(), dense(fourLakes, stations[name]), spread.Options{
			Infested: only(4, 0), Alpha: 0.004, C: c, Compliance: 1, Years: 5, Runs: runs, Seed: 9,
		})
		if err != nil {
			t.Fatal(err)
		}
		for year, w := range want {
			var sum float64
			for j := range 4 {
				sum += exact[year-1][j]
				if j > 0 {
					refcheck.Near(t, fmt.Sprintf("%s, year %d, lake %d: the enumeration here", name, year, j+1), exact[year-1][j], w[j-1], 6e-9, src)
				}
				p := exact[year-1][j]
				refcheck.Near(t, fmt.Sprintf("%s, year %d, lake %d: simulated", name, year, j+1), r.Chance[spread.With][year-1][j], p, 4*math.Sqrt(math.Max(0, p*(1-p))/runs)+1e-9, src)
			}
			refcheck.Near(t, name+": expected", sum, w[3], 6e-9, src)
			got := r.Years[year-1].With
			refcheck.Near(t, name+": expected, simulated", 1+got.Mid, w[3], 2.2*(got.Hi-got.Mid), src)
		}
	}
}

func TestClosedForms(t *testing.T) {
	// Two waters: the second is clear for so many years with the chance exp(-yh).
	r, err := spread.Run(t.Context(), dense([][]float64{{0, 200}, {0, 0}}, nil), spread.Options{Infested: only(2, 0), Alpha: 0.001, C: 1.3, Years: 8, Runs: 40_000, Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	for y := 1; y <= 8; y++ {
		p := 1 - math.Exp(-float64(y)*math.Pow(0.2, 1.3))
		refcheck.Near(t, fmt.Sprint("two waters, year ", y), r.Chance[0][y-1][1], p, 4*math.Sqrt(p*(1-p)/40_000), "1 - (1-E)^y")
	}
	// A star: every leaf has its own chance; the reverse star adds passages up before they count.
	star := [][]float64{make([]float64, 21)}
	var want, variance float64
	for j := 1; j <= 20; j++ {
		star[0][j] = float64(10 * j)
		star = append(star, make([]float64, 21))
		p := 1 - math.Pow(1-spread.Establishment(0.002, 2, star[0][j]), 3)
		want += p
		variance += p * (1 - p)
	}
	r, err = spread.Run(t.Context(), dense(star, nil), spread.Options{Infested: only(21, 0), Alpha: 0.002, C: 2, Years: 3, Runs: 40_000, Seed: 2})
	if err != nil {
		t.Fatal(err)
	}
	refcheck.Near(t, "star", r.Years[2].Without.Mid, want, 4*math.Sqrt(variance/40_000), "sum over leaves of 1 - (1-E)^3")
	in := make([][]float64, 11)
	infested := make([]bool, 11)
	for i := range 10 {
		in[i] = make([]float64, 11)
		in[i][10], infested[i] = 30, true
	}
	in[10] = make([]float64, 11)
	r, err = spread.Run(t.Context(), dense(in, nil), spread.Options{Infested: infested, Alpha: 0.002, C: 2, Years: 1, Runs: 40_000, Seed: 3})
	if err != nil {
		t.Fatal(err)
	}
	p := spread.Establishment(0.002, 2, 300)
	refcheck.Near(t, "ten into one", r.Chance[0][0][10], p, 4*math.Sqrt(p*(1-p)/40_000), "passages add up within a year")
}

// naive simulates the same thing the plainest way: a number for every clear water in every year, and no memory.
func naive(n [][]float64, infested []bool, suits []float64, alpha, c float64, years, runs int, r *rand.Rand) []float64 {
	k := len(n)
	count := make([]float64, k)
	for range runs {
		now := append([]bool{}, infested...)
		for range years {
			next := append([]bool{}, now...)
			for j := range k {
				if now[j] {
					continue
				}
				sum := 0.0
				for i := range k {
					if now[i] {
						sum += n[i][j]
					}
				}
				if r.Float64() < 1-math.Exp(-math.Pow(alpha*suits[j]*sum, c)) {
					next[j] = true
				}
			}
			now = next
		}
		for j := range k {
			if now[j] {
				count[j]++
			}
		}
	}
	for j := range count {
		count[j] /= float64(runs)
	}
	return count
}

func TestAgainstTheNaiveWay(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 4))
	for trial := range 4 {
		const k, years, runs = 14, 6, 12_000
		n := make([][]float64, k)
		infested, suits := make([]bool, k), make([]float64, k)
		infested[0], infested[5] = true, trial > 1
		for i := range n {
			n[i] = make([]float64, k)
			suits[i] = 0.2 + 2*r.Float64()
			for j := range n[i] {
				if i != j && r.Float64() < 0.4 {
					n[i][j] = 80 * r.ExpFloat64()
				}
			}
		}
		suits[7] = 0 // it cannot live there
		c := 0.8 + 0.4*float64(trial)
		net := dense(n, func(from, _ int) float64 { return 0.3 * float64(from%3) })
		a, err := spread.Run(t.Context(), net, spread.Options{Infested: infested, Suits: suits, Alpha: 0.002, C: c, Compliance: 0.7, Years: years, Runs: runs, Seed: uint64(trial)})
		if err != nil {
			t.Fatal(err)
		}
		for course := range 2 {
			cut := make([][]float64, k)
			for i := range n {
				cut[i] = make([]float64, k)
				for j := range n[i] {
					cut[i][j] = n[i][j]
					if course == spread.With {
						cut[i][j] *= 1 - 0.7*0.3*float64(i%3)
					}
				}
			}
			b := naive(cut, infested, suits, 0.002, c, years, runs, r)
			for j := range b {
				p := (a.Chance[course][years-1][j] + b[j]) / 2
				if d := math.Abs(a.Chance[course][years-1][j] - b[j]); d > 4.5*math.Sqrt(2*p*(1-p)/runs)+1e-12 {
					t.Errorf("trial %d, course %d, water %d: %.4f and naively %.4f", trial, course, j, a.Chance[course][years-1][j], b[j])
				}
			}
		}
	}
}

func TestAnyNumberOfWorkers(t *testing.T) {
	net, infested := state(300, 12)
	opt := spread.Options{Infested: infested, Alpha: 0.01, C: 1.5, Compliance: 1, Years: 7, Runs: 500, Seed: 8, Prior: &spread.Prior{AlphaFactor: 3, CHalf: 0.4}}
	var first *spread.Result
	for _, n := range []int{1, 2, 3, 7} {
		opt.Workers = n
		r, err := spread.Run(t.Context(), net, opt)
		if err != nil {
			t.Fatal(err)
		}
		if first == nil {
			first = r
		} else if !reflect.DeepEqual(r, first) {
			t.Errorf("%d workers: another answer", n)
		}
	}
	opt.Seed++
	if r, _ := spread.Run(t.Context(), net, opt); reflect.DeepEqual(r, first) {
		t.Error("another seed, the same answer")
	}
	if last := first.Years[6]; last.Without.Mid < 1 || last.Spared.Mid <= 0 {
		t.Errorf("nothing happens: %+v", last)
	}
}

func TestSameLuckSharpensTheDifference(t *testing.T) {
	net, infested := state(300, 12)
	opt := spread.Options{Infested: infested, Alpha: 0.01, C: 1.5, Compliance: 1, Years: 5, Runs: 4000, Seed: 8}
	r, err := spread.Run(t.Context(), net, opt)
	if err != nil {
		t.Fatal(err)
	}
	if r.Sharper < 2 || math.Abs(r.Sharper-r.Apart/r.Variance) > 1e-9 {
		t.Errorf("the same luck needs %.2f times fewer runs", r.Sharper)
	}
	t.Logf("variance of the difference %.2f on the same luck, %.2f on two lucks: %.1f times fewer runs", r.Variance, r.Apart, r.Sharper)
	// A plan that stops something never makes a run worse, and one that stops nothing changes nothing.
	for _, y := range r.Years {
		if y.RangeD.Lo < 0 {
			t.Errorf("year %d: %+v", y.Year, y.RangeD)
		}
	}
	opt.Compliance = 0
	if r, _ = spread.Run(t.Context(), net, opt); r.Years[4].Spared.Mid != 0 || r.Variance != 0 {
		t.Errorf("nobody complies and %+v are spared", r.Years[4].Spared)
	}
}

var found = []spread.History{
	{N: []float64{100, 150, 220}, Found: 3}, {N: []float64{20, 30, 45}}, {N: []float64{300, 310, 330}, Found: 1}, {N: []float64{60, 80, 120}, Found: 3},
	{N: []float64{150, 180, 260}}, {N: []float64{10, 12, 15}}, {N: []float64{200, 240, 300}, Found: 2}, {N: []float64{90, 100, 140}}, {N: []float64{40, 45, 60}},
	{N: []float64{250, 270, 280}, Found: 2}, {N: []float64{5, 6, 8}}, {N: []float64{120, 130, 150}},
}

func TestFit(t *testing.T) {
	const src = "maximum likelihood of dated finds, computed in R 4.2.2"
	refcheck.Near(t, "ℓ(0.003, 1.5)", spread.LogLikelihood(found, 0.003, 1.5), -9.302541811, 6e-10, src)
	refcheck.Near(t, "ℓ(0.002, 1)", spread.LogLikelihood(found, 0.002, 1), -10.123967803, 6e-10, src)
	f := refcheck.Must[spread.FitResult](t)(spread.Fit(found))
	refcheck.Near(t, "α", f.Alpha, 0.003799134, 2e-8, src)
	refcheck.Near(t, "c", f.C, 3.356411, 2e-5, src)
	refcheck.Near(t, "log-likelihood", f.LogLik, -8.201283530, 1e-9, src)
	refcheck.Near(t, "α where c is 1", f.Alpha1, 0.001671309, 1e-8, src)
	refcheck.Near(t, "log-likelihood where c is 1", f.LogLik1, -10.039595368, 1e-9, src)
	refcheck.Near(t, "likelihood ratio", f.Ratio, 3.676623676, 3e-9, src)
	refcheck.Near(t, "p", f.P, 0.055, 5e-4, src)
	for _, e := range []float64{f.CCI.Lo, f.CCI.Hi} {
		worst := math.Inf(-1)
		for a := -9.0; a < -4; a += 0.001 {
			worst = math.Max(worst, spread.LogLikelihood(found, math.Exp(a), e))
		}
		refcheck.Near(t, "profile at the edge of c", worst, f.LogLik-1.9207294, 1e-4, "chi-square of 3.841 at 95 %")
	}
	for word, h := range map[string][]spread.History{
		"found":             {{N: []float64{1}, Found: 2}, {N: []float64{1}}},
		"0 risky passages":  {{N: []float64{0}, Found: 1}, {N: []float64{1}}},
		"some, and not all": {{N: []float64{1}}, {N: []float64{1}}},
		"waters[1].n":       {{N: []float64{1}, Found: 1}, {N: []float64{math.NaN()}}},
	} {
		if _, err := spread.Fit(h); err == nil || !strings.Contains(err.Error(), word) {
			t.Errorf("%s: %v", word, err)
		}
	}
}

func TestSensitivity(t *testing.T) {
	net, infested := state(100, 10)
	opt := spread.Options{Infested: infested, Alpha: 0.01, C: 1.5, Compliance: 0.8, Years: 5, Runs: 10, Seed: 8}
	list, err := spread.Sensitivity(t.Context(), net, opt, 400)
	if err != nil || len(list) != 8 {
		t.Fatalf("%d cases, %v", len(list), err)
	}
	if !(list[1].Without.Mid < list[0].Without.Mid && list[0].Without.Mid < list[2].Without.Mid) {
		t.Errorf("α %v %v %v", list[1].Without, list[0].Without, list[2].Without)
	}
	if half, all := list[5], list[7]; !(half.Spared.Mid < list[0].Spared.Mid && list[0].Spared.Mid < all.Spared.Mid) {
		t.Errorf("compliance: %v %v %v", half.Spared, list[0].Spared, all.Spared)
	}
	for _, x := range list[3:5] {
		refcheck.Near(t, "half chance", spread.HalfChance(x.Alpha, x.C), spread.HalfChance(0.01, 1.5), 1e-9, "other shapes meet at the chance one half")
	}
}

func TestRunRefusesAndEnds(t *testing.T) {
	for word, spoil := range map[string]func(*spread.Network, *spread.Options){
		"alpha":      func(_ *spread.Network, o *spread.Options) { o.Alpha = math.NaN() },
		"runs":       func(_ *spread.Network, o *spread.Options) { o.Runs = 1 },
		"infested":   func(_ *spread.Network, o *spread.Options) { o.Infested = nil },
		"to[2]":      func(n *spread.Network, _ *spread.Options) { n.To[2] = 99 },
		"risky[0]":   func(n *spread.Network, _ *spread.Options) { n.Risky[0] = -1 },
		"stopped[1]": func(n *spread.Network, _ *spread.Options) { n.Stopped[1] = 1.5 },
		"rows":       func(n *spread.Network, _ *spread.Options) { n.Start = n.Start[:3] },
		"suits":      func(_ *spread.Network, o *spread.Options) { o.Suits = []float64{1} },
		"factor":     func(_ *spread.Network, o *spread.Options) { o.Prior = &spread.Prior{} },
	} {
		net := dense(fourLakes, stations["none"])
		opt := spread.Options{Infested: only(4, 0), Alpha: 0.004, C: 1.5, Years: 5, Runs: 100}
		spoil(net, &opt)
		if _, err := spread.Run(t.Context(), net, opt); err == nil || !strings.Contains(err.Error(), word) {
			t.Errorf("%s: %v", word, err)
		}
	}
	ctx, cancel := context.WithCancel(t.Context())
	opt := spread.Options{Infested: only(4, 0), Alpha: 0.004, C: 1.5, Years: 5, Runs: 1_000_000, Tell: func(float64) { cancel() }}
	if _, err := spread.Run(ctx, dense(fourLakes, nil), opt); !errors.Is(err, context.Canceled) {
		t.Errorf("%v", err)
	}
}
