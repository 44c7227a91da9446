package num

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mathext"

	"thwart/internal/refcheck"
)

func TestQuantile(t *testing.T) {
	oneToTen := []float64{1, 2, 3, 4, 5, 6, 7, 8, 9, 10}
	const r7 = "R, quantile(1:10), type 7 (from memory)"
	for q, want := range map[float64]float64{0: 1, 0.25: 3.25, 0.5: 5.5, 0.75: 7.75, 0.9: 9.1, 1: 10} {
		refcheck.Near(t, "quantile", Quantile(oneToTen, q), want, 1e-12, r7)
	}
	refcheck.Near(t, "single", Quantile([]float64{7}, 0.3), 7, 0, "one value is every quantile")
	inf := math.Inf(1)
	if got := Quantile([]float64{1, inf, inf}, 0.9); got != inf {
		t.Errorf("between two infinities: %v", got)
	}
	for _, q := range []float64{-0.1, 1.1, math.NaN()} {
		if got := Quantile(oneToTen, q); !math.IsNaN(got) {
			t.Errorf("q %v gave %v, want NaN", q, got)
		}
	}
	if got := Quantile(nil, 0.5); !math.IsNaN(got) {
		t.Errorf("no values gave %v, want NaN", got)
	}
}

func TestInterval(t *testing.T) {
	i := Interval{1, 2, 4}
	for v, want := range map[float64]bool{0.9: false, 1: true, 3: true, 4: true, 4.1: false, math.NaN(): false} {
		if i.Contains(v) != want {
			t.Errorf("Contains(%v) is %v", v, !want)
		}
	}
	if got := i.Scale(-2); got != (Interval{-8, -4, -2}) {
		t.Errorf("scaled by -2: %+v", got)
	}
	if got := Exactly(3); got != (Interval{3, 3, 3}) {
		t.Errorf("Exactly(3) = %+v", got)
	}
}

func TestChecks(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for name, c := range map[string]struct {
		check        func(float64) error
		taken, wrong []float64
	}{
		"Within 1 to 2":  {func(v float64) error { return Within("x", v, 1, 2) }, []float64{1, 1.5, 2}, []float64{0.9, 2.1, nan, inf, -inf}},
		"Between 1 to 2": {func(v float64) error { return Between("x", v, 1, 2) }, []float64{1.5}, []float64{1, 2, nan, inf, -inf}},
		"Positive":       {func(v float64) error { return Positive("x", v) }, []float64{1e-300, 7}, []float64{0, -1, nan, inf, -inf}},
		"NotNegative":    {func(v float64) error { return NotNegative("x", v) }, []float64{0, 7}, []float64{-1e-300, nan, inf, -inf}},
		"Finite":         {func(v float64) error { return Finite("x", v) }, []float64{0, -7}, []float64{nan, inf, -inf}},
	} {
		for _, v := range c.taken {
			if err := c.check(v); err != nil {
				t.Errorf("%s refuses %v: %v", name, v, err)
			}
		}
		for _, v := range c.wrong {
			var out *RangeError
			if err := c.check(v); !errors.As(err, &out) || out.Field != "x" || out.Accepted == "" {
				t.Errorf("%s takes %v, or its error says too little: %v", name, v, err)
			}
		}
	}
	if got, want := Within("rhPct", 120, 0, 100).Error(), "rhPct: 120 is not accepted; accepted: 0 to 100"; got != want {
		t.Errorf("message %q, want %q", got, want)
	}
}

func TestStreamsAreIndependentAndRepeat(t *testing.T) {
	const draws = 20000
	take := func(seed uint64, name string) []float64 {
		r := Stream(seed, name)
		out := make([]float64, draws)
		for i := range out {
			out[i] = r.Float64() - 0.5
		}
		return out
	}
	base := take(1, "arrivals")
	if !slices.Equal(base, take(1, "arrivals")) {
		t.Fatal("the same seed and name gave different numbers")
	}
	// Uncorrelated uniforms have a sample correlation of standard deviation 1/sqrt(n); five of them never happen.
	limit := 5 / math.Sqrt(draws)
	for _, other := range []struct {
		seed uint64
		name string
	}{{2, "arrivals"}, {1, "arrivalt"}, {1, "service"}, {1, ""}, {1 << 63, "arrivals"}} {
		sum := 0.0
		for i, v := range take(other.seed, other.name) {
			sum += v * base[i]
		}
		if corr := sum / draws * 12; math.Abs(corr) > limit {
			t.Errorf("stream (%d, %q) correlates %v with (1, arrivals), limit %v", other.seed, other.name, corr, limit)
		}
	}
}

// The doc comment states the construction, so that a saved seed gives the same luck in any later version.
func TestStreamIsAsDocumented(t *testing.T) {
	for _, in := range []struct {
		seed uint64
		name string
	}{{0, ""}, {1, "arrivals"}, {0xfedcba9876543210, "water 17"}} {
		// The 64-bit FNV-1a hash of Fowler, Noll & Vo, with its published offset and prime.
		hash := uint64(0xcbf29ce484222325)
		add := func(b byte) { hash = (hash ^ uint64(b)) * 0x100000001b3 }
		for shift := 0; shift < 64; shift += 8 {
			add(byte(in.seed >> shift))
		}
		for _, b := range []byte(in.name) {
			add(b)
		}
		want, got := rand.NewPCG(in.seed, hash), Stream(in.seed, in.name)
		for range 3 {
			if g, w := got.Uint64(), want.Uint64(); g != w {
				t.Errorf("stream (%d, %q) gives %d, want %d", in.seed, in.name, g, w)
			}
		}
	}
}

func TestBetaSampler(t *testing.T) {
	const n = 40000
	for _, s := range []struct{ a, b float64 }{{0.5, 0.5}, {0.05, 0.3}, {1, 1}, {2, 5}, {1, 40}, {0.7, 200}, {300, 80}} {
		r := Stream(20, "beta sampler")
		draws := make([]float64, n)
		mean := 0.0
		for i := range draws {
			draws[i] = Beta(r, s.a, s.b)
			mean += draws[i] / n
		}
		variance := 0.0
		for _, v := range draws {
			variance += (v - mean) * (v - mean) / (n - 1)
		}
		// Mean, variance and excess kurtosis of the Beta distribution (Johnson, Kotz & Balakrishnan 1995, ch. 25).
		sum := s.a + s.b
		wantMean := s.a / sum
		wantVar := s.a * s.b / (sum * sum * (sum + 1))
		kurtosis := 6 * ((s.a-s.b)*(s.a-s.b)*(sum+1) - s.a*s.b*(sum+2)) / (s.a * s.b * (sum + 2) * (sum + 3))
		const source = "Johnson, Kotz & Balakrishnan 1995, Continuous Univariate Distributions 2, ch. 25; tolerance 4.5 standard errors"
		refcheck.Near(t, "mean", mean, wantMean, 4.5*math.Sqrt(wantVar/n), source)
		refcheck.Near(t, "variance", variance, wantVar, 4.5*wantVar*math.Sqrt((kurtosis+2)/n), source)

		// The whole curve: Kolmogorov's distance exceeds 1.95/sqrt(n) once in a thousand honest samples.
		slices.Sort(draws)
		distance := 0.0
		for i, v := range draws {
			f := mathext.RegIncBeta(s.a, s.b, math.Min(v, 1))
			distance = math.Max(distance, math.Max(f-float64(i)/n, float64(i+1)/n-f))
		}
		if limit := 1.95 / math.Sqrt(n); distance > limit {
			t.Errorf("Beta(%v, %v): Kolmogorov distance %v above %v", s.a, s.b, distance, limit)
		}
	}
}

// Shapes so small that both gammas underflow still give the two-point limit: 1 with probability a/(a+b), else 0.
func TestBetaSamplerTinyShapes(t *testing.T) {
	r := Stream(3, "tiny")
	const n = 10000
	ones := 0
	for range n {
		v := Beta(r, 3e-6, 1e-6)
		if v != v {
			t.Fatal("NaN")
		}
		if v > 0.5 {
			ones++
		}
	}
	refcheck.Near(t, "share of ones", float64(ones)/n, 0.75, 5*math.Sqrt(0.75*0.25/n), "limit of Beta(a, b) as both shapes go to 0")
}

func TestBetaSamplerAllocatesNothing(t *testing.T) {
	r := Stream(1, "allocs")
	if got := testing.AllocsPerRun(200, func() { Beta(r, 0.5, 3) }); got != 0 {
		t.Errorf("%v allocations per draw", got)
	}
	for _, bad := range [][2]float64{{0, 1}, {1, -1}, {math.NaN(), 1}, {1, math.Inf(1)}} {
		if v := Beta(r, bad[0], bad[1]); !math.IsNaN(v) {
			t.Errorf("Beta(%v) = %v, want NaN", bad, v)
		}
	}
}

func BenchmarkBeta(b *testing.B) {
	r := Stream(1, "bench")
	b.ReportAllocs()
	for b.Loop() {
		Beta(r, 0.5, 12.5)
	}
}

func BenchmarkClopperPearson(b *testing.B) {
	for b.Loop() {
		if _, err := ClopperPearson(4, 20, 0.95); err != nil {
			b.Fatal(err)
		}
	}
}

// The top of a parabola and of a gamma density's logarithm, whose places are known exactly: the mode of Gamma(a, 1) is a−1.
func TestPeakFindsAKnownTop(t *testing.T) {
	if got := Peak(-3, 10, 60, func(x float64) float64 { return -(x - 2.5) * (x - 2.5) }); math.Abs(got-2.5) > 1e-7 {
		t.Errorf("a parabola's top at 2.5: %v", got)
	}
	if got := Peak(0.1, 40, 60, func(x float64) float64 { return 6*math.Log(x) - x }); math.Abs(got-6) > 1e-6 {
		t.Errorf("the mode of Gamma(7, 1) is 6: %v", got)
	}
	asked := 0
	Peak(0, 1, 40, func(float64) float64 { asked++; return 0 })
	if asked != 42 {
		t.Errorf("asked %d times for 40 steps", asked)
	}
}

func TestFalseComesFirst(t *testing.T) {
	list := []bool{true, false, true, false}
	slices.SortFunc(list, FalseFirst)
	if !slices.Equal(list, []bool{false, false, true, true}) {
		t.Error(list)
	}
}
