package num

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/mathext"

	"thwart/internal/refcheck"
)

const (
	newcombe = "Newcombe 1998, Stat. Med. 17:857-872, standard example (from memory); further digits by R 4.2 qbeta and qnorm"
	nist     = "NIST/SEMATECH e-Handbook 7.2.4.1 (from memory); further digits by R 4.2 qbeta and qnorm"
	byR      = "formulas of Brown, Cai & DasGupta 2001, Stat. Sci. 16:101-133, evaluated with R 4.2 qbeta and qnorm"
)

// printed is half a unit of the last printed digit of the six-decimal tables.
const printed = 0.5e-6 + 1e-12

func TestProportionLimits(t *testing.T) {
	rows := []struct {
		x, n                                           int
		level                                          float64
		cpLo, cpHi, jLo, jHi, wilLo, wilHi, acLo, acHi float64
		source                                         string
	}{
		{0, 10, 0.95, 0, 0.308497, 0, 0.217196, 0, 0.277533, -0.043355, 0.320887, byR},
		{1, 10, 0.95, 0.002529, 0.445016, 0.011012, 0.381315, 0.017876, 0.404150, -0.003941, 0.425968, byR},
		{2, 10, 0.95, 0.025211, 0.556095, 0.044059, 0.502774, 0.056682, 0.509838, 0.045887, 0.520632, byR},
		{5, 10, 0.95, 0.187086, 0.812914, 0.223529, 0.776471, 0.236593, 0.763407, 0.236593, 0.763407, byR},
		{10, 10, 0.95, 0.691503, 1, 0.782804, 1, 0.722467, 1, 0.679113, 1.043355, byR},
		{0, 20, 0.95, 0, 0.168433, 0, 0.116639, 0, 0.161125, -0.028684, 0.189810, newcombe},
		{1, 20, 0.95, 0.001265, 0.248733, 0.005449, 0.210819, 0.008881, 0.236131, -0.009102, 0.254115, byR},
		{3, 20, 0.95, 0.032071, 0.378927, 0.044131, 0.348578, 0.052369, 0.360419, 0.043939, 0.368849, byR},
		{4, 20, 0.90, 0.071354, 0.401028, 0.087335, 0.372739, 0.093118, 0.378377, 0.089225, 0.382269, nist},
		{4, 20, 0.95, 0.057334, 0.436614, 0.071520, 0.408226, 0.080658, 0.416017, 0.074912, 0.421764, byR},
		{0, 30, 0.95, 0, 0.115703, 0, 0.079678, 0, 0.113513, -0.021198, 0.134712, byR},
		{2, 30, 0.95, 0.008178, 0.220735, 0.014112, 0.197094, 0.018477, 0.213235, 0.008025, 0.223687, byR},
		{5, 50, 0.95, 0.033275, 0.218135, 0.039194, 0.205355, 0.043476, 0.213602, 0.039140, 0.217938, byR},
		{10, 100, 0.95, 0.049005, 0.176223, 0.052585, 0.170124, 0.055229, 0.174366, 0.053485, 0.176110, byR},
		{81, 263, 0.95, 0.252737, 0.367622, 0.254522, 0.365647, 0.255289, 0.366210, 0.255221, 0.366277, newcombe},
		{15, 148, 0.95, 0.057844, 0.161650, 0.060449, 0.157643, 0.062386, 0.160487, 0.061386, 0.161488, newcombe},
		{1, 29, 0.95, 0.000873, 0.177644, 0.003746, 0.150078, 0.006113, 0.171755, -0.008418, 0.186287, newcombe},
		{88, 100, 0.95, 0.799764, 0.936431, 0.805715, 0.932696, 0.801879, 0.930006, 0.800411, 0.931474, byR},
	}
	for _, r := range rows {
		methods := []struct {
			name   string
			limits func(x, n int, level float64) (Interval, error)
			lo, hi float64
		}{
			{"Clopper-Pearson", ClopperPearson, r.cpLo, r.cpHi},
			{"Jeffreys", Jeffreys, r.jLo, r.jHi},
			{"Wilson", Wilson, r.wilLo, r.wilHi},
			// The published formula may leave [0, 1]; ours cuts it there.
			{"Agresti-Coull", AgrestiCoull, math.Max(0, r.acLo), math.Min(1, r.acHi)},
		}
		for _, m := range methods {
			got, err := m.limits(r.x, r.n, r.level)
			if err != nil {
				t.Fatal(err)
			}
			what := fmt.Sprintf("%s %d/%d at %v", m.name, r.x, r.n, r.level)
			refcheck.Near(t, what+" lower", got.Lo, m.lo, printed, r.source)
			refcheck.Near(t, what+" upper", got.Hi, m.hi, printed, r.source)
			if !got.Contains(got.Mid) {
				t.Errorf("%s: %+v does not contain its own middle", what, got)
			}
		}
	}
}

// The definition itself, by summing binomial terms: at the lower limit x or more cases have probability alpha/2, at the
// upper limit x or fewer.
func TestClopperPearsonIsExact(t *testing.T) {
	for _, n := range []int{1, 2, 7, 40, 300} {
		for x := 0; x <= n; x += 1 + n/9 {
			for _, level := range []float64{0.5, 0.9, 0.95, 0.999} {
				got, err := ClopperPearson(x, n, level)
				if err != nil {
					t.Fatal(err)
				}
				const source = "definition, binomial sum"
				what := fmt.Sprintf("%d/%d at %v", x, n, level)
				if x > 0 {
					refcheck.Near(t, what+" tail at lower", binomialSum(x, n, n, got.Lo), (1-level)/2, 1e-10, source)
				}
				if x < n {
					refcheck.Near(t, what+" tail at upper", binomialSum(0, x, n, got.Hi), (1-level)/2, 1e-10, source)
				}
			}
		}
	}
}

// binomialSum is P(from <= X <= to) for n trials of probability p, term by term.
func binomialSum(from, to, n int, p float64) float64 {
	total := 0.0
	logFactorial := func(k int) float64 { l, _ := math.Lgamma(float64(k) + 1); return l }
	for k := from; k <= to; k++ {
		total += math.Exp(logFactorial(n) - logFactorial(k) - logFactorial(n-k) +
			float64(k)*math.Log(p) + float64(n-k)*math.Log1p(-p))
	}
	return total
}

// Counting cases or counting the others is the same experiment.
func TestLimitsMirror(t *testing.T) {
	for name, f := range map[string]func(int, int, float64) (Interval, error){
		"Clopper-Pearson": ClopperPearson, "Jeffreys": Jeffreys, "Wilson": Wilson, "Agresti-Coull": AgrestiCoull,
	} {
		for x := 0; x <= 23; x++ {
			a, errA := f(x, 23, 0.9)
			b, errB := f(23-x, 23, 0.9)
			if errA != nil || errB != nil {
				t.Fatal(errA, errB)
			}
			refcheck.Near(t, name+" mirrored", a.Lo, 1-b.Hi, 1e-12, "symmetry of the binomial")
			refcheck.Near(t, name+" mirrored middle", a.Mid, 1-b.Mid, 1e-12, "symmetry of the binomial")
		}
	}
}

func TestBetaQuantileAgainstTables(t *testing.T) {
	// t² with v degrees of freedom is F(1, v), and F(d1, d2) gives d1·F/(d1·F+d2) the Beta(d1/2, d2/2) distribution.
	const students = "Student t, upper 2.5 % points, any handbook, e.g. NIST e-Handbook 1.3.6.7.2 (from memory)"
	for _, r := range []struct{ v, t float64 }{
		{1, 12.706}, {2, 4.303}, {5, 2.571}, {10, 2.228}, {20, 2.086}, {30, 2.042}, {60, 2.000}, {120, 1.980},
	} {
		x, err := BetaQuantile(0.95, 0.5, r.v/2)
		if err != nil {
			t.Fatal(err)
		}
		refcheck.Near(t, fmt.Sprintf("t(%v)", r.v), math.Sqrt(r.v*x/(1-x)), r.t, 0.5e-3, students)
	}
	const fisher = "F, upper 5 % points, any handbook, e.g. NIST e-Handbook 1.3.6.7.3 (from memory)"
	for _, r := range []struct{ d1, d2, f float64 }{
		{1, 10, 4.965}, {2, 10, 4.103}, {5, 10, 3.326}, {10, 10, 2.978}, {4, 20, 2.866}, {10, 30, 2.165},
	} {
		x, err := BetaQuantile(0.95, r.d1/2, r.d2/2)
		if err != nil {
			t.Fatal(err)
		}
		refcheck.Near(t, fmt.Sprintf("F(%v, %v)", r.d1, r.d2), r.d2*x/(r.d1*(1-x)), r.f, 0.5e-3, fisher)
	}
}

func TestBetaQuantileIdentities(t *testing.T) {
	quantile := func(p, a, b float64) float64 {
		x, err := BetaQuantile(p, a, b)
		if err != nil {
			t.Fatal(err)
		}
		return x
	}
	shapes := []float64{0.5, 1, 1.5, 3, 10.5, 80, 500.5, 5000}
	for _, p := range []float64{1e-4, 0.005, 0.025, 0.2, 0.5, 0.8, 0.975, 0.995, 0.9999} {
		const closed = "closed form"
		refcheck.Near(t, "arcsine law", quantile(p, 0.5, 0.5), math.Pow(math.Sin(math.Pi*p/2), 2), 1e-12, closed)
		for _, a := range shapes {
			refcheck.Near(t, "Beta(a, 1)", quantile(p, a, 1), math.Pow(p, 1/a), 1e-12, closed)
			refcheck.Near(t, "Beta(1, b)", quantile(p, 1, a), -math.Expm1(math.Log1p(-p)/a), 1e-12, closed)
			for _, b := range shapes {
				what := fmt.Sprintf("p %v a %v b %v", p, a, b)
				x := quantile(p, a, b)
				refcheck.Near(t, what+" mirrored", quantile(1-p, b, a), 1-x, 1e-9, "1-X of Beta(a, b) is Beta(b, a)")
				// I_x(a, b) = p by definition, as nearly as the spacing of floats beside x allows: near 1 the curve of a
				// small b is steep enough to show it.
				const spacing = 0x1p-51
				tol := 1e-9 * math.Min(p, 1-p)
				if mathext.RegIncBeta(a, b, math.Max(0, x-spacing)) > p+tol || mathext.RegIncBeta(a, b, math.Min(1, x+spacing)) < p-tol {
					t.Errorf("%s: x = %v has I_x = %v", what, x, mathext.RegIncBeta(a, b, x))
				}
			}
		}
	}
}

func TestGarwood(t *testing.T) {
	const source = "Garwood 1936, Biometrika 28:437-442: formula, evaluated with R 4.2 qchisq"
	for _, r := range []struct {
		x      int
		lo, hi float64
	}{
		{0, 0, 3.688879}, {1, 0.025318, 5.571643}, {3, 0.618672, 8.767273}, {7, 2.814363, 14.422675},
		{14, 7.653930, 23.489621}, {17, 9.903126, 27.218647},
	} {
		got, err := Garwood(r.x, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		refcheck.Near(t, fmt.Sprintf("lower of %d", r.x), got.Lo, r.lo, printed, source)
		refcheck.Near(t, fmt.Sprintf("upper of %d", r.x), got.Hi, r.hi, printed, source)
	}
	// The definition, by summing Poisson terms.
	for _, x := range []int{1, 5, 60, 400} {
		got, err := Garwood(x, 0.9)
		if err != nil {
			t.Fatal(err)
		}
		below := func(mean float64, to int) float64 {
			total := 0.0
			for k := 0; k <= to; k++ {
				l, _ := math.Lgamma(float64(k) + 1)
				total += math.Exp(float64(k)*math.Log(mean) - mean - l)
			}
			return total
		}
		refcheck.Near(t, "tail at lower", 1-below(got.Lo, x-1), 0.05, 1e-10, "definition, Poisson sum")
		refcheck.Near(t, "tail at upper", below(got.Hi, x), 0.05, 1e-10, "definition, Poisson sum")
	}
}

func TestAllDeadUpper(t *testing.T) {
	const source = "(1-s)^n = 0.05 solved for s, to four decimals"
	for _, r := range []struct {
		n    int
		want float64
	}{
		{5, 0.4507}, {10, 0.2589}, {20, 0.1391}, {30, 0.0950}, {50, 0.0582}, {60, 0.0487},
		{100, 0.0295}, {150, 0.0198}, {300, 0.0099},
	} {
		got := AllDeadUpper(r.n, 0.95)
		refcheck.Near(t, fmt.Sprintf("n %d", r.n), got, r.want, 0.5e-4, source)
		// One-sided 0.95 is the upper limit of the two-sided 0.90 exact interval for no survivors.
		exact, err := ClopperPearson(0, r.n, 0.90)
		if err != nil {
			t.Fatal(err)
		}
		refcheck.Near(t, "same as Clopper-Pearson", got, exact.Hi, 1e-12, "identity")
	}
	// Numbers needed to show detection of at least 0.90, 0.95 and 0.99 without a miss, at 90, 95 and 99 %:
	// n = ceil(ln(1-C)/ln p), the usual zero-failure table. One trial fewer must not do.
	for _, r := range []struct {
		atMost, level float64
		n             int
	}{
		{0.10, 0.90, 22}, {0.10, 0.95, 29}, {0.10, 0.99, 44}, {0.05, 0.90, 45}, {0.05, 0.95, 59}, {0.05, 0.99, 90},
		{0.01, 0.90, 230}, {0.01, 0.95, 299}, {0.01, 0.99, 459},
	} {
		if got := AllDeadUpper(r.n, r.level); got > r.atMost {
			t.Errorf("%d trials at %v leave %v, want at most %v", r.n, r.level, got, r.atMost)
		}
		if got := AllDeadUpper(r.n-1, r.level); got <= r.atMost {
			t.Errorf("%d trials at %v already leave only %v", r.n-1, r.level, got)
		}
	}
	for _, nothing := range []float64{AllDeadUpper(0, 0.95), AllDeadUpper(-3, 0.95), AllDeadUpper(20, 0), AllDeadUpper(20, 1), AllDeadUpper(20, math.NaN())} {
		if nothing != 1 {
			t.Errorf("nothing is shown by no trial or no level, got upper limit %v, want 1", nothing)
		}
	}
}

func TestCountErrors(t *testing.T) {
	if _, err := Jeffreys(0, 0, 0.95); !errors.Is(err, ErrNoTrials) {
		t.Errorf("no trials: %v, want ErrNoTrials", err)
	}
	refused := map[string]error{}
	_, refused["x"] = Wilson(11, 10, 0.95)
	_, refused["n"] = AgrestiCoull(0, -1, 0.95)
	_, refused["level"] = ClopperPearson(1, 10, 95)
	_, refused["a"] = BetaQuantile(0.5, 0, 1)
	_, refused["b"] = BetaQuantile(0.5, 1, math.NaN())
	_, refused["p"] = BetaQuantile(1.5, 1, 1)
	for field, err := range refused {
		var out *RangeError
		if !errors.As(err, &out) || out.Field != field {
			t.Errorf("%v, want a RangeError that names %s", err, field)
		}
	}
	if _, err := Garwood(-1, 0.95); err == nil {
		t.Error("a count below zero was taken")
	}
	if got := (Count{2, 10}).Plus(Count{1, 5}); got.Rate() != 0.2 || got.Validate() != nil {
		t.Errorf("pooled count %+v", got)
	}
}
