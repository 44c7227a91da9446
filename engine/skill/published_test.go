package skill

import (
	"fmt"
	"math"
	"testing"

	"thwart/engine/num"
	"thwart/internal/refcheck"
)

// The rat tumours of Tarone 1982, as printed in Gelman et al., Bayesian Data Analysis, 3rd ed., table 5.1, and in the
// authors' demonstration demo5_1.R: 71 groups.
var (
	ratY = []int{0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 1, 1, 1, 1, 1, 1, 1, 1, 2, 2, 2, 2, 2, 2, 2, 2, 2, 1, 5, 2, 5, 3, 2, 7, 7, 3, 3, 2, 9, 10, 4, 4, 4, 4, 4, 4, 4, 10, 4, 4, 4, 5, 11, 12, 5, 5, 6, 5, 6, 6, 6, 6, 16, 15, 15, 9, 4}
	ratN = []int{20, 20, 20, 20, 20, 20, 20, 19, 19, 19, 19, 18, 18, 17, 20, 20, 20, 20, 19, 19, 18, 18, 25, 24, 23, 20, 20, 20, 20, 20, 20, 10, 49, 19, 46, 27, 17, 49, 47, 20, 20, 13, 48, 50, 20, 20, 20, 20, 20, 20, 20, 48, 19, 19, 19, 22, 46, 49, 20, 20, 23, 19, 22, 20, 20, 20, 52, 46, 47, 24, 14}
)

func rats() []num.Count {
	out := make([]num.Count, len(ratY))
	for i := range out {
		out[i] = num.Count{X: ratY[i], N: ratN[i]}
	}
	return out
}

const (
	gelman = "Gelman et al., Bayesian Data Analysis, 3rd ed., section 5.3 (printed digits from memory)"
	scipy  = "the same posterior summed independently with SciPy 1.10 on the book's grid"
)

func TestRatTumours(t *testing.T) {
	counts := rats()
	if len(counts) != 71 {
		t.Fatalf("%d groups", len(counts))
	}
	// The book sums ln(a+b) from 0.5 to 7 on its wider grid; the tail of a and b depends on that end.
	p, err := Fit(counts, Hyper{MeanA: 1, MeanB: 1, MinWeight: math.Exp(0.5), MaxWeight: math.Exp(7)})
	if err != nil {
		t.Fatal(err)
	}
	var a, b float64
	for _, x := range p.nodes {
		a += x.weight * x.a
		b += x.weight * x.b
	}
	refcheck.Near(t, "E(alpha), printed", a, 2.4, 0.05, gelman)
	refcheck.Near(t, "E(beta), printed", b, 14.3, 0.05, gelman)
	refcheck.Near(t, "E(alpha)", a, 2.40267, 0.002, scipy)
	refcheck.Near(t, "E(beta)", b, 14.32006, 0.01, scipy)
	for _, r := range []struct {
		i    int
		mean float64
	}{{0, 0.06356957}, {31, 0.12677325}, {70, 0.21085684}} {
		e, err := p.Person(counts[r.i], 0.95)
		if err != nil {
			t.Fatal(err)
		}
		refcheck.Near(t, fmt.Sprintf("mean of group %d", r.i+1), e.Mean, r.mean, 2e-5, scipy)
	}
	// What is used by default: weights from 2 to 2000.
	own, err := Fit(counts, Vague)
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range []struct {
		i    int
		mean float64
	}{{0, 0.06356957}, {31, 0.12677325}, {70, 0.21085684}} {
		e, err := own.Person(counts[r.i], 0.95)
		if err != nil {
			t.Fatal(err)
		}
		refcheck.Near(t, fmt.Sprintf("mean of group %d, default range", r.i+1), e.Mean, r.mean, 5e-4, scipy)
	}
}

func TestRatTumoursPlugIn(t *testing.T) {
	a, b, ok := MostLikely(rats())
	if !ok {
		t.Fatal("no top found")
	}
	const ml = "maximum likelihood with SciPy 1.10, all 71 groups"
	refcheck.Near(t, "a", a, 2.341613, 1e-5, ml)
	refcheck.Near(t, "b", b, 14.114794, 1e-4, ml)
	refcheck.Near(t, "log likelihood", LogLik(rats(), a, b), -730.3384545, 1e-6, ml)
	a, b, ok = Mode(rats(), Vague)
	if !ok {
		t.Fatal("no mode found")
	}
	refcheck.Near(t, "mode, ln a/b", math.Log(a/b), -1.785783, 1e-5, "mode with SciPy 1.10; the book plots it at about (-1.75, 2.8)")
	refcheck.Near(t, "mode, ln a+b", math.Log(a+b), 2.741549, 1e-5, "mode with SciPy 1.10; the book plots it at about (-1.75, 2.8)")
	// The book's approximate answer for the 71st group: Beta(1.4, 8.6) updated by 4 of 14.
	e, err := Update(1.4, 8.6, num.Count{X: 4, N: 14}, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	refcheck.Near(t, "mean of group 71", e.Mean, 0.223, 0.0025, gelman)
	refcheck.Near(t, "sd of group 71", e.SD, 0.083, 0.0006, gelman)
}

// Misses of eight inspectors, worked through with R 4.2's dbeta and optim.
func TestInspectorsWorked(t *testing.T) {
	counts := []num.Count{{X: 2, N: 20}, {X: 5, N: 20}, {X: 1, N: 20}, {X: 4, N: 40}, {X: 4, N: 10}, {X: 3, N: 30}, {X: 0, N: 25}, {X: 6, N: 20}}
	const source = "R 4.2: optim on dbetabinom, qbeta"
	a, b, _ := MostLikely(counts)
	refcheck.Near(t, "a", a, 2.09685679, 1e-4, source)
	refcheck.Near(t, "b", b, 11.9952614, 1e-3, source)
	for i, want := range [][3]float64{
		{0.12017020, 0.03549815, 0.24652788}, {0.20816708, 0.09153445, 0.35710313}, {0.09083791, 0.02042049, 0.20584182},
		{0.11271248, 0.04375953, 0.20857325}, {0.25306437, 0.10463644, 0.44018557}, {0.11559564, 0.04008416, 0.22381483},
		{0.05363886, 0.00724829, 0.14178277}, {0.23749938, 0.11268684, 0.39140681},
	} {
		e, err := Update(a, b, counts[i], 0.95)
		if err != nil {
			t.Fatal(err)
		}
		refcheck.Near(t, "mean", e.Mean, want[0], 1e-5, source)
		refcheck.Near(t, "lower", e.Lo, want[1], 1e-5, source)
		refcheck.Near(t, "upper", e.Hi, want[2], 1e-5, source)
	}
}

func TestUpdateWorked(t *testing.T) {
	const source = "Beta(8, 2) updated by hand; limits by R 4.2 qbeta"
	for _, r := range []struct {
		c            num.Count
		mean, lo, hi float64
	}{{num.Count{X: 13, N: 17}, 0.778, 0.637, 0.894}, {num.Count{X: 13, N: 18}, 0.750, 0.608, 0.871}} {
		e, err := Update(8, 2, r.c, 0.90)
		if err != nil {
			t.Fatal(err)
		}
		refcheck.Near(t, "mean", e.Mean, r.mean, 0.0005, source)
		refcheck.Near(t, "lower", e.Lo, r.lo, 0.0005, source)
		refcheck.Near(t, "upper", e.Hi, r.hi, 0.0005, source)
	}
	exact, err := num.ClopperPearson(16, 20, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	refcheck.Near(t, "16 of 20, lower", exact.Lo, 0.563, 0.0005, "Clopper & Pearson 1934, by R 4.2 binom.test")
	refcheck.Near(t, "16 of 20, upper", exact.Hi, 0.943, 0.0005, "Clopper & Pearson 1934, by R 4.2 binom.test")
}

func TestTrialsFor(t *testing.T) {
	n, err := TrialsFor(0.80, 0.10, 0.95)
	if err != nil || n != 60 {
		t.Errorf("0.80 to within 0.10: %d trials (%v), want 60 (Wilson 1927, solved by hand: 0.0998 at 60, 0.1006 at 59)", n, err)
	}
	for _, r := range []struct{ p, half, level float64 }{{0.5, 0.05, 0.95}, {0.9, 0.03, 0.9}, {0, 0.1, 0.99}, {1, 0.01, 0.95}} {
		n, err := TrialsFor(r.p, r.half, r.level)
		if err != nil {
			t.Fatal(err)
		}
		width := func(n int) float64 {
			x := r.p * float64(n) // where it is whole the interval of num can be asked
			i, err := num.Wilson(int(math.Round(x)), n, r.level)
			if err != nil {
				t.Fatal(err)
			}
			return (i.Hi - i.Lo) / 2
		}
		if width(n) > r.half*1.02 || n > 1 && width(n-1) < r.half*0.98 {
			t.Errorf("%+v: %d trials give %v", r, n, width(n))
		}
	}
	if _, err := TrialsFor(0.8, 0, 0.95); err == nil {
		t.Error("a half-width of nothing is taken")
	}
}

func TestTwoObservers(t *testing.T) {
	for _, r := range []struct {
		m, c, r             int
		n, v, p1, p2, joint float64
		source              string
	}{
		{10, 15, 5, 28.333333, 34.920635, 0.333333, 0.5, 0.666667, "textbook turtles (from memory)"},
		{23, 28, 9, 68.6, 168.305455, 0.321429, 0.391304, 0.586957, "numeracy teaching page: Lincoln-Petersen about 72"},
		{50, 60, 10, 281.818182, 4285.123967, 0.166667, 0.2, 0.333333, "capture-recapture calculator: Chapman 282, SE 65.46"},
		{42, 38, 30, 53.096774, 5.235172, 0.789474, 0.714286, 0.939850, "Chapman 1951, by hand"},
		{18, 16, 14, 20.533333, 0.717778, 0.875, 0.777778, 0.972222, "Chapman 1951, by hand"},
	} {
		d, err := Observers{r.m, r.c, r.r}.Estimate()
		if err != nil {
			t.Fatal(err)
		}
		refcheck.Near(t, "N", d.Total.Mid, r.n, 1e-6, r.source)
		refcheck.Near(t, "var", d.Var, r.v, 1e-5, r.source)
		refcheck.Near(t, "p1", d.FirstFinds.Rate(), r.p1, 1e-6, r.source)
		refcheck.Near(t, "p2", d.SecondFinds.Rate(), r.p2, 1e-6, r.source)
		refcheck.Near(t, "joint", d.Joint, r.joint, 1e-6, r.source)
		if d.Total.Lo < float64(r.m+r.c-r.r) || !d.Total.Contains(d.Total.Mid) {
			t.Errorf("limits %+v", d.Total)
		}
	}
	if _, err := (Observers{3, 2, 3}).Estimate(); err == nil {
		t.Error("more in common than one found is taken")
	}
}

func TestSignals(t *testing.T) {
	const source = "Macmillan & Creelman, Detection Theory (d' 1.095 for 20/25 and 10/25, from memory); rows by R 4.2 qnorm"
	for _, r := range []struct {
		h, p, f, a                         int
		corrected                          bool
		hit, alarm, d, criterion, beta, au float64
	}{
		{20, 25, 10, 25, false, 0.8, 0.4, 1.094968337, -0.2941370652, 0.7246469030, 0.7806113364},
		{18, 25, 3, 25, false, 0.72, 0.12, 1.757828299, 0.2960726424, 1.6827760989, 0.8930609814},
		{20, 25, 10, 25, true, 0.7884615385, 0.4038461538, 1.044498707, -0.2788451757, 0.7473262625, 0.7699165702},
		{20, 20, 1, 20, true, 0.9761904762, 0.0714285714, 3.445986189, -0.2577593020, 0.4113812023, 0.9925886091},
		{45, 50, 5, 50, false, 0.9, 0.1, 2.563103131, 0, 1, 0.9650368366},
	} {
		s, err := Signals{r.h, r.p, r.f, r.a}.Sense(r.corrected)
		if err != nil {
			t.Fatal(err)
		}
		for _, x := range []struct {
			what      string
			got, want float64
		}{{"H", s.HitRate, r.hit}, {"F", s.AlarmRate, r.alarm}, {"d'", s.DPrime, r.d}, {"c", s.Criterion, r.criterion}, {"beta", s.Beta, r.beta}, {"area", s.Area, r.au}} {
			refcheck.Near(t, x.what, x.got, x.want, 1e-8, source)
		}
	}
	if _, err := (Signals{20, 20, 1, 20}).Sense(false); err == nil {
		t.Error("a perfect score has no uncorrected d'")
	}
	if _, err := (Signals{2, 3, 0, 0}).Sense(true); err == nil {
		t.Error("no blank is taken")
	}
}

func TestAgreement(t *testing.T) {
	const teaching = "widely used teaching examples of Cohen's kappa (from memory)"
	for _, r := range []struct {
		table [][]int
		kappa float64
	}{{[][]int{{20, 5}, {10, 15}}, 0.40}, {[][]int{{45, 15}, {25, 15}}, 0.1304347826}, {[][]int{{25, 35}, {5, 35}}, 0.2592592593}} {
		k, err := Cohen(r.table)
		if err != nil {
			t.Fatal(err)
		}
		refcheck.Near(t, "kappa", k.Value, r.kappa, 1e-9, teaching)
	}
	k, _ := Cohen([][]int{{20, 5}, {10, 15}})
	refcheck.Near(t, "SE0", k.SE0, 0.1385640646, 1e-9, "Fleiss, Cohen & Everitt 1969, by hand: sqrt(0.75-0.51)/(0.5*sqrt(50))")
	// Nearly every craft passes: kappa falls, AC1 does not.
	skewed := [][]int{{118, 5}, {2, 0}}
	k, err := Cohen(skewed)
	if err != nil {
		t.Fatal(err)
	}
	refcheck.Near(t, "kappa, skewed", k.Value, -0.0234, 0.0005, "Gwet 2008, Br. J. Math. Stat. Psychol. 61:29-48, table of 125 cases (from memory)")
	g, err := AC1(skewed)
	if err != nil {
		t.Fatal(err)
	}
	refcheck.Near(t, "AC1, skewed", g.Value, 0.9408, 0.0005, "Gwet 2008, the same table (from memory)")
	f, err := Fleiss([][]int{
		{0, 0, 0, 0, 14}, {0, 2, 6, 4, 2}, {0, 0, 3, 5, 6}, {0, 3, 9, 2, 0}, {2, 2, 8, 1, 1}, {7, 7, 0, 0, 0}, {3, 2, 6, 3, 0},
		{2, 5, 3, 2, 2}, {6, 5, 2, 1, 0}, {0, 2, 2, 3, 7},
	})
	if err != nil {
		t.Fatal(err)
	}
	const fleiss = "Fleiss 1971 (data as reprinted in teaching texts; from memory)"
	refcheck.Near(t, "P", f.Seen, 0.378021978, 1e-8, fleiss)
	refcheck.Near(t, "Pe", f.Chance, 0.212755102, 1e-8, fleiss)
	refcheck.Near(t, "kappa", f.Value, 0.2099307044, 1e-8, fleiss)
	if _, err := Cohen([][]int{{5, 0}, {0, 0}}); err == nil {
		t.Error("one answer throughout has no kappa")
	}
	if _, err := Cohen([][]int{{1, 2}, {1}}); err == nil {
		t.Error("a ragged table is taken")
	}
}
