package glm_test

import (
	"encoding/csv"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"thwart/engine/glm"
	"thwart/internal/refcheck"
)

// table is a CSV file by column.
type table map[string][]string

func readTable(t testing.TB, name string) table {
	t.Helper()
	f, err := os.Open("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	out := table{}
	for _, r := range rows[1:] {
		for j, h := range rows[0] {
			out[h] = append(out[h], r[j])
		}
	}
	return out
}

func (c table) numbers(t testing.TB, name string) []float64 {
	t.Helper()
	out := make([]float64, len(c[name]))
	for i, s := range c[name] {
		var err error
		if out[i], err = strconv.ParseFloat(s, 64); err != nil {
			t.Fatal(err)
		}
	}
	return out
}

type column struct {
	name   string
	values []float64
}

func design(n int, cols ...column) glm.Design {
	d := glm.Design{Rows: n, X: make([]float64, n*len(cols))}
	for j, c := range cols {
		d.Names = append(d.Names, c.name)
		for i := range n {
			d.X[i*len(cols)+j] = c.values[i]
		}
	}
	return d
}

func ones(n int) column { return column{"intercept", slices.Repeat([]float64{1}, n)} }

// levels are indicators of every level but the first.
func levels(name string, values []string, all ...string) []column {
	var out []column
	for _, l := range all[1:] {
		c := column{name + l, make([]float64, len(values))}
		for i, v := range values {
			if v == l {
				c.values[i] = 1
			}
		}
		out = append(out, c)
	}
	return out
}

func logs(x []float64) []float64 {
	out := make([]float64, len(x))
	for i := range x {
		out[i] = math.Log(x[i])
	}
	return out
}

func sure[T any](t testing.TB) func(T, error) T { return refcheck.Must[T](t) }

// vector compares to a number of significant digits.
func vector(t *testing.T, what string, got, want []float64, digits int, source string) {
	t.Helper()
	if len(got) != len(want) {
		t.Fatalf("%s: %d values, want %d", what, len(got), len(want))
	}
	for i := range want {
		tol := math.Pow(10, -float64(digits)) * math.Abs(want[i])
		if want[i] == 0 {
			tol = 1e-12
		}
		refcheck.Near(t, what+"["+strconv.Itoa(i)+"]", got[i], want[i], tol, source)
	}
}

func TestNISTLinear(t *testing.T) {
	const source = "NIST StRD, linear regression, certified values"
	n := readTable(t, "norris.csv")
	r := sure[*glm.Result](t)(glm.Fit(glm.Problem{Y: n.numbers(t, "y"), Design: design(36, ones(36), column{"x", n.numbers(t, "x")})}))
	vector(t, "Norris", r.Coef, []float64{-0.262323073774029, 1.00211681802045}, 11, source)
	vector(t, "Norris SD", r.SE, []float64{0.232818234301152, 0.429796848199937e-03}, 11, source)
	refcheck.Near(t, "Norris residual SS", r.Deviance, 26.6173985294224, 1e-10, source)

	l := readTable(t, "longley.csv")
	cols := []column{ones(16)}
	for _, name := range []string{"GNPDEFL", "GNP", "UNEMP", "ARMED", "POP", "YEAR"} {
		cols = append(cols, column{name, l.numbers(t, name)})
	}
	r = sure[*glm.Result](t)(glm.Fit(glm.Problem{Y: l.numbers(t, "TOTEMP"), Design: design(16, cols...)}))
	vector(t, "Longley", r.Coef, []float64{
		-3482258.63459582, 15.0618722713733, -0.358191792925910e-01, -2.02022980381683, -1.03322686717359, -0.511041056535807e-01, 1829.15146461355,
	}, 9, source)
	vector(t, "Longley SD", r.SE, []float64{
		890420.383607373, 84.9149257747669, 0.334910077722432e-01, 0.488399681651699, 0.214274163161675, 0.226073200069370, 455.478499142212,
	}, 9, source)
	refcheck.Near(t, "Longley residual SS", r.Deviance, 836424.055505915, 1e-5, source)
	refcheck.Near(t, "Longley regression SS", r.NullDeviance-r.Deviance, 184172401.944494, 1e-2, source)
}

// y = b1·x^b2 with Gaussian errors is a generalised linear model with a log link. So is a bell curve, whose logarithm is a parabola.
// These two of the nonlinear problems can be done here; the others have no link that makes them linear. Standard errors at the answer
// use the same first derivatives.
func TestNISTNonlinearByALogLink(t *testing.T) {
	const source = "NIST StRD, nonlinear regression, DanWood, certified values"
	x := []float64{1.309, 1.471, 1.490, 1.565, 1.611, 1.680}
	y := []float64{2.138, 3.421, 3.597, 4.340, 4.882, 5.660}
	r := sure[*glm.Result](t)(glm.Fit(glm.Problem{Family: glm.Gaussian, Link: glm.Log, Y: y, Design: design(6, ones(6), column{"log x", logs(x)})}))
	b1 := math.Exp(r.Coef[0])
	vector(t, "b", []float64{b1, r.Coef[1]}, []float64{7.6886226176e-01, 3.8604055871e+00}, 9, source)
	vector(t, "SD", []float64{b1 * r.SE[0], r.SE[1]}, []float64{1.8281973860e-02, 5.1726610913e-02}, 8, source)
	refcheck.Near(t, "residual SS", r.Deviance, 4.3173084083e-03, 1e-12, source)
}

func TestNISTBellCurveByALogLink(t *testing.T) {
	// The 35 points are from memory; that the certified sum of squares comes out to ten digits shows that they are the right ones.
	const source = "NIST StRD, nonlinear regression, Eckerle4, certified values"
	x := []float64{
		400, 405, 410, 415, 420, 425, 430, 435, 436.5, 438, 439.5, 441, 442.5, 444, 445.5, 447, 448.5, 450, 451.5, 453, 454.5, 456, 457.5, 459,
		460.5, 462, 463.5, 465, 470, 475, 480, 485, 490, 495, 500,
	}
	y := []float64{
		.0001575, .0001699, .0002350, .0003102, .0004917, .0008710, .0017418, .0046400, .0065895, .0097302, .0149002, .0237310, .0401683, .0712559,
		.1264458, .2073413, .2902366, .3445623, .3698049, .3668534, .3106727, .2078154, .1164354, .0616764, .0337200, .0194023, .0117831, .0074357,
		.0022732, .0008800, .0004579, .0002345, .0001586, .0001143, .0000710,
	}
	n := len(x)
	u, uu := make([]float64, n), make([]float64, n)
	for i := range x {
		u[i] = (x[i] - 450) / 10
		uu[i] = u[i] * u[i]
	}
	r := sure[*glm.Result](t)(glm.Fit(glm.Problem{Family: glm.Gaussian, Link: glm.Log, Y: y, Design: design(n, ones(n), column{"u", u}, column{"u²", uu})}))
	width := math.Sqrt(-50 / r.Coef[2])
	off := r.Coef[1] * width * width / 10
	height := width * math.Exp(r.Coef[0]+off*off/(2*width*width))
	vector(t, "b", []float64{height, width, 450 + off}, []float64{1.5543827178, 4.0888321754, 451.54121844}, 9, source)
	refcheck.Near(t, "residual SS", r.Deviance, 1.4635887487e-03, 1e-12, source)
}

func TestDobson(t *testing.T) {
	const source = "Dobson 1990, randomised trial; R 4.2.2 glm with epsilon = 1e-15"
	y := []float64{18, 17, 15, 20, 10, 20, 25, 13, 12}
	outcome := strings.Split("1 2 3 1 2 3 1 2 3", " ")
	treatment := strings.Split("1 1 1 2 2 2 3 3 3", " ")
	cols := append([]column{ones(9)}, levels("outcome", outcome, "1", "2", "3")...)
	cols = append(cols, levels("treatment", treatment, "1", "2", "3")...)
	r := sure[*glm.Result](t)(glm.Fit(glm.Problem{Family: glm.Poisson, Y: y, Design: design(9, cols...)}))
	vector(t, "coef", r.Coef, []float64{3.04452243772, -0.454255272278, -0.292987124681, 0, 0}, 11, source)
	vector(t, "SE", r.SE, []float64{0.1708986518564, 0.2021707591938, 0.1927423451598, 0.2, 0.2}, 10, source)
	refcheck.Near(t, "deviance", r.Deviance, 5.1291410770, 1e-9, source)
	refcheck.Near(t, "null deviance", r.NullDeviance, 10.5814458638, 1e-9, source)
	refcheck.Near(t, "AIC", r.AIC, 56.7613184020, 1e-9, source)
	refcheck.Near(t, "log-likelihood", r.LogLik, -23.3806592010, 1e-9, source)
	refcheck.Near(t, "cov(intercept, outcome2)", r.Cov.At(0, 1), -0.0158730158, 1e-9, source)
}

func TestShipDamage(t *testing.T) {
	const source = "McCullagh & Nelder 1989, section 6.3.2 (rounded values agree); digits from R 4.2.2 glm with epsilon = 1e-15"
	s := readTable(t, "ships.csv")
	cols := append([]column{ones(34)}, levels("type", s["type"], "A", "B", "C", "D", "E")...)
	cols = append(cols, levels("year", s["year"], "60", "65", "70", "75")...)
	cols = append(cols, levels("period", s["period"], "60", "75")...)
	r := sure[*glm.Result](t)(glm.Fit(glm.Problem{
		Family: glm.Poisson, Y: s.numbers(t, "incidents"), Offset: logs(s.numbers(t, "service")), Design: design(34, cols...),
	}))
	vector(t, "coef", r.Coef, []float64{
		-6.4059015610, -0.5433443012, -0.6874016472, -0.0759614219, 0.3255794562, 0.6971404267, 0.8184265772, 0.4534266388, 0.3844669582,
	}, 9, source)
	vector(t, "SE", r.SE, []float64{
		0.2174441062478, 0.1775899073622, 0.3290472161270, 0.2905786587724, 0.2358794025855, 0.1496413925195, 0.1697736492903, 0.2331704777729,
		0.1182721626233,
	}, 9, source)
	refcheck.Near(t, "deviance", r.Deviance, 38.69505154, 1e-8, source)
	refcheck.Near(t, "Pearson", r.Pearson, 42.27525311, 1e-8, source)
	refcheck.Near(t, "AIC", r.AIC, 154.56154286, 1e-8, source)
}

func TestQuine(t *testing.T) {
	const source = "Venables & Ripley 2002, section 7.4, quine; digits from R 4.2.2, MASS 7.3-58.2 glm.nb with epsilon = 1e-15"
	q := readTable(t, "quine.csv")
	cols := []column{ones(146)}
	cols = append(cols, levels("Eth", q["Eth"], "A", "N")...)
	cols = append(cols, levels("Sex", q["Sex"], "F", "M")...)
	cols = append(cols, levels("Age", q["Age"], "F0", "F1", "F2", "F3")...)
	cols = append(cols, levels("Lrn", q["Lrn"], "AL", "SL")...)
	p := glm.Problem{Y: q.numbers(t, "Days"), Design: design(146, cols...)}
	r := sure[*glm.Result](t)(glm.FitNegBin(p))
	vector(t, "coef", r.Coef, []float64{2.89457999024930, -0.56937169735797, 0.08232028414569, -0.44842814987752, 0.08808015211407, 0.35690097142945, 0.29210915703370}, 7, source)
	vector(t, "SE", r.SE, []float64{0.2284246154, 0.1533333596, 0.1599150149, 0.2397465933, 0.2361930290, 0.2483243632, 0.1864747106}, 7, source)
	refcheck.Near(t, "theta", r.Theta, 1.274892645811, 1e-8, source)
	// theta.ml with eps = 1e-14: with its usual eps the error is that of the step before the last, 0.1610352.
	refcheck.Near(t, "SE of theta", r.ThetaSE, 0.161035661692, 1e-8, source)
	refcheck.Near(t, "2 log-likelihood", 2*r.LogLik, -1093.151018289983, 1e-8, source)
	refcheck.Near(t, "deviance", r.Deviance, 167.951800409, 1e-6, source)
	refcheck.Near(t, "AIC", r.AIC, 1109.151018290, 1e-8, source)
	p.Design = design(146, ones(146))
	r = sure[*glm.Result](t)(glm.FitNegBin(p))
	refcheck.Near(t, "intercept alone", r.Coef[0], 2.800866614028, 1e-9, source)
	refcheck.Near(t, "its theta", r.Theta, 1.066784583129, 1e-8, source)
	refcheck.Near(t, "its SE", r.ThetaSE, 0.129221244286, 1e-8, source)
	p.Family = glm.Poisson
	p.Design = design(146, cols...)
	refcheck.Near(t, "Poisson deviance", sure[*glm.Result](t)(glm.Fit(p)).Deviance, 1696.70655249, 1e-7, source)
}

func TestBinomials(t *testing.T) {
	const bliss = "Bliss 1935 (beetles), in Dobson 1990; digits from R 4.2.2 glm with epsilon = 1e-15"
	dose := []float64{1.6907, 1.7242, 1.7552, 1.7842, 1.8113, 1.8369, 1.8610, 1.8839}
	p := glm.Problem{
		Family: glm.Binomial, Y: []float64{6, 13, 18, 28, 52, 53, 61, 60}, Trials: []float64{59, 60, 62, 56, 63, 59, 62, 60},
		Design: design(8, ones(8), column{"dose", dose}),
	}
	for _, c := range []struct {
		link glm.Link
		coef []float64
		dev  float64
	}{
		{glm.Logit, []float64{-60.7174545614, 34.2703257340}, 11.2322310974},
		{glm.Probit, []float64{-34.9352588992, 19.7279342113}, 10.1197581131},
		{glm.CLogLog, []float64{-39.5723106061, 22.0411698208}, 3.4464387330},
	} {
		p.Link = c.link
		r := sure[*glm.Result](t)(glm.Fit(p))
		vector(t, "beetles", r.Coef, c.coef, 9, bliss)
		refcheck.Near(t, "deviance", r.Deviance, c.dev, 1e-7, bliss)
	}
	const budworm = "Collett 1991, in Venables & Ripley 2002, section 7.2; digits from R 4.2.2 glm"
	male := []float64{1, 1, 1, 1, 1, 1, 0, 0, 0, 0, 0, 0}
	female := []float64{0, 0, 0, 0, 0, 0, 1, 1, 1, 1, 1, 1}
	r := sure[*glm.Result](t)(glm.Fit(glm.Problem{
		Family: glm.Binomial, Y: []float64{1, 4, 9, 13, 18, 20, 0, 2, 6, 10, 12, 16}, Trials: slices.Repeat([]float64{20}, 12),
		Design: design(12, column{"female", female}, column{"male", male}, column{"ldose", []float64{0, 1, 2, 3, 4, 5, 0, 1, 2, 3, 4, 5}}),
	}))
	vector(t, "budworm", r.Coef, []float64{-3.47315530709, -2.37241194409, 1.06421396992}, 8, budworm)
	refcheck.Near(t, "deviance", r.Deviance, 6.75706423, 1e-7, budworm)
}

func TestManyZeros(t *testing.T) {
	const source = "Long 1997 (bioChemists); digits from R 4.2.2, pscl 1.5.5 zeroinfl and hurdle (Zeileis, Kleiber & Jackman 2008, J. Stat. Softw. 27(8))"
	b := readTable(t, "biochemists.csv")
	n := len(b["art"])
	cols := append([]column{ones(n)}, levels("fem", b["fem"], "Men", "Women")...)
	cols = append(cols, levels("mar", b["mar"], "Single", "Married")...)
	for _, name := range []string{"kid5", "phd", "ment"} {
		cols = append(cols, column{name, b.numbers(t, name)})
	}
	d := design(n, cols...)
	y := b.numbers(t, "art")

	nb := sure[*glm.Result](t)(glm.FitNegBin(glm.Problem{Y: y, Design: d}))
	vector(t, "NB2", nb.Coef, []float64{0.256144025, -0.216418423, 0.150489451, -0.176415243, 0.015271156, 0.029082342}, 6, source)
	refcheck.Near(t, "NB2 theta", nb.Theta, 2.264387695, 1e-6, source)
	refcheck.Near(t, "NB2 log-likelihood", nb.LogLik, -1560.958338, 1e-6, source)
	po := sure[*glm.Result](t)(glm.Fit(glm.Problem{Family: glm.Poisson, Y: y, Design: d}))
	refcheck.Near(t, "Poisson log-likelihood", po.LogLik, -1651.056316, 1e-6, source)

	// pscl ends its search at a relative change of 1e-8 of the likelihood, which leaves it about five digits of estimates.
	near := func(what string, got, want []float64) {
		t.Helper()
		for i := range want {
			refcheck.Near(t, what+" "+strconv.Itoa(i), got[i], want[i], 2e-4*math.Max(math.Abs(want[i]), 0.1), source)
		}
	}
	zip := sure[*glm.Mixture](t)(glm.FitZeroInflated(glm.Counts{Y: y, Count: d, Zero: d}))
	near("ZIP count", zip.Count.Coef, []float64{0.64083898066134, -0.20914435390631, 0.10375021266481, -0.14332023884061, -0.00616614256744, 0.01809772319702})
	near("ZIP count SE", zip.Count.SE, []float64{0.12130675148445, 0.06340462703411, 0.07111088882997, 0.04742935916083, 0.03100814158643, 0.00229434489527})
	near("ZIP zero", zip.Zero.Coef, []float64{-0.57706025005089, 0.10975151212204, -0.35401755604801, 0.21709510312508, 0.00127481973586, -0.13411431006036})
	refcheck.Near(t, "ZIP log-likelihood", zip.LogLik, -1604.772853, 2e-6, source)
	zinb := sure[*glm.Mixture](t)(glm.FitZeroInflated(glm.Counts{Y: y, Count: d, Zero: d, NegBin: true}))
	// This one with reltol = 1e-15, because its usual end is too early for the chance of a zero.
	near("ZINB count", zinb.Count.Coef, []float64{
		0.4167465733540774, -0.1955068259206666, 0.0975826060568105, -0.1517324538941161, -0.0007001485954524, 0.0247862028523317,
	})
	near("ZINB zero", zinb.Zero.Coef, []float64{-0.19168614196139, 0.63593260138491, -1.49946897812498, 0.62842743168761, -0.03771533100481, -0.88229327483277})
	near("ZINB zero SE", zinb.Zero.SE, []float64{1.322819054151146, 0.848917607811147, 0.938670833208001, 0.442782604657607, 0.308008254765652, 0.316228109934455})
	refcheck.Near(t, "ZINB theta", zinb.Theta, 2.65476582, 2e-6, source)
	refcheck.Near(t, "ZINB log-likelihood", zinb.LogLik, -1549.990887047, 2e-8, source)
	hp := sure[*glm.Mixture](t)(glm.FitHurdle(glm.Counts{Y: y, Count: d, Zero: d}))
	near("hurdle Poisson", hp.Count.Coef, []float64{0.6711393128715, -0.2285826579554, 0.0964849892770, -0.1421875593292, -0.0127263725842, 0.0187454797396})
	near("hurdle zero", hp.Zero.Coef, []float64{0.2367960124352, -0.2511511286180, 0.3262335836131, -0.2852487157851, 0.0222193970990, 0.0801213546861})
	refcheck.Near(t, "hurdle Poisson log-likelihood", hp.LogLik, -1605.311694, 2e-6, source)
	hn := sure[*glm.Mixture](t)(glm.FitHurdle(glm.Counts{Y: y, Count: d, Zero: d, NegBin: true}))
	near("hurdle NB", hn.Count.Coef, []float64{0.3551247539921, -0.2446719307064, 0.1034172227827, -0.1532598542578, -0.0029332567055, 0.0237381568226})
	refcheck.Near(t, "hurdle NB theta", hn.Theta, math.Exp(0.6034721168470), 2e-3, source)
	refcheck.Near(t, "hurdle NB log-likelihood", hn.LogLik, -1552.596591, 2e-6, source)
	if !(zinb.AIC < nb.AIC && nb.AIC < zip.AIC && zip.AIC < po.AIC) {
		t.Errorf("AIC: Poisson %.1f, zero-inflated %.1f, NB2 %.1f, zero-inflated NB2 %.1f", po.AIC, zip.AIC, nb.AIC, zinb.AIC)
	}
}

func TestNegBinLogP(t *testing.T) {
	const source = "R 4.2.2 dnbinom"
	for _, c := range [][4]float64{{0, 2.5, 1.2, 0.25892585939}, {3, 2.5, 1.2, 0.11245866793}, {10, 4, 0.5, 0.01808640113}} {
		refcheck.Near(t, "P", math.Exp(glm.NegBinLogP(c[0], c[1], c[2])), c[3], 1e-11, source)
	}
	for _, y := range []float64{0, 1, 7, 40} {
		for _, theta := range []float64{1e6 * (1 - 1e-9), 1e6 * (1 + 1e-9), 1e9} {
			refcheck.Near(t, "log P at a large θ", glm.NegBinLogP(y, 9, theta), glm.PoissonLogP(y, 9), 1e-3, "limit θ → ∞: the Poisson distribution")
		}
	}
}

// Passages of boats from four origins to five waters: gravity models as regressions of counts.
func TestGravityExample(t *testing.T) {
	const source = "worked example, invented counts; R 4.2.2 glm and MASS glm.nb"
	f := readTable(t, "flows.csv")
	y, off := f.numbers(t, "y"), logs(f.numbers(t, "e"))
	size, pull, km := column{"log O", logs(f.numbers(t, "O"))}, column{"log W", logs(f.numbers(t, "W_km2"))}, column{"log d", logs(f.numbers(t, "d_km"))}
	origins := append([]column{{"A", make([]float64, 20)}}, levels("", f["o"], "A", "B", "C", "D")...)
	for i, o := range f["o"] {
		if o == "A" {
			origins[0].values[i] = 1
		}
	}
	fit := func(off []float64, cols ...column) *glm.Result {
		return sure[*glm.Result](t)(glm.Fit(glm.Problem{Family: glm.Poisson, Y: y, Offset: off, Design: design(20, cols...)}))
	}
	r := fit(off, ones(20), size, pull, km)
	vector(t, "unconstrained", r.Coef, []float64{0.9508821327, 1.0377162791, 0.6482695923, -1.3573045503}, 9, source)
	vector(t, "SE", r.SE, []float64{0.33443124, 0.04505267, 0.03524612, 0.05831725}, 6, source)
	refcheck.Near(t, "deviance", r.Deviance, 25.71686562, 1e-7, source)
	r = fit(off, append(origins, pull, km)...)
	vector(t, "production-constrained", r.Coef, []float64{8.19276487, 7.27471468, 9.09978303, 5.72526460, 0.61098476, -1.32499359}, 7, source)
	refcheck.Near(t, "SE of W", r.SE[4], 0.03843980, 1e-7, source)
	refcheck.Near(t, "SE of d", r.SE[5], 0.06012410, 1e-7, source)
	refcheck.Near(t, "deviance", r.Deviance, 18.5639709, 1e-6, source)
	// Identity: fitted totals of every origin are the counted ones.
	for k := range 4 {
		counted, fitted := 0.0, 0.0
		for i := range 5 {
			counted += y[5*k+i]
			fitted += r.Fitted[5*k+i]
		}
		refcheck.Near(t, "origin total", fitted, counted, 1e-8, "identity of a Poisson fit with a level per origin")
	}
	r = fit(off, append(origins, pull, column{"d", f.numbers(t, "d_km")})...)
	vector(t, "exponential deterrence", r.Coef[4:], []float64{0.52734329, -0.04715017}, 7, source)
	refcheck.Near(t, "AIC", r.AIC, 125.7112369, 1e-6, source)
	r = fit(nil, append(append(origins, levels("lake", f["l"], "L1", "L2", "L3", "L4", "L5")...), km)...)
	refcheck.Near(t, "doubly constrained", r.Coef[len(r.Coef)-1], -1.37157069, 1e-8, source)
	refcheck.Near(t, "log-likelihood", r.LogLik, -47.71409693, 1e-7, source)
	over := glm.Problem{Y: f.numbers(t, "y_overdispersed"), Offset: off, Design: design(20, ones(20), size, pull, km)}
	nb := sure[*glm.Result](t)(glm.FitNegBin(over))
	vector(t, "NB2", nb.Coef, []float64{2.4442211232, 0.9936349634, 0.4774874419, -1.5832055333}, 8, source)
	refcheck.Near(t, "theta", nb.Theta, 3.2456513899, 1e-8, source)
	refcheck.Near(t, "deviance", nb.Deviance, 22.91952133, 1e-5, source)
	over.Family = glm.Poisson
	po := sure[*glm.Result](t)(glm.Fit(over))
	refcheck.Near(t, "Poisson deviance", po.Deviance, 159.7216297, 1e-6, source)
	refcheck.Near(t, "Pearson", po.Pearson, 233.7220889, 1e-6, source)
}

// Craft at a ramp by block of the day and day: what arrivals are.
func TestArrivalsExample(t *testing.T) {
	const source = "worked example, invented counts; R 4.2.2 glm"
	temp := []float64{24, 27, 26, 19, 17, 22, 28, 29, 30, 21}
	wind := []float64{8, 5, 6, 22, 25, 14, 7, 4, 6, 18}
	counts := [][]float64{
		{14, 22, 17, 9}, {19, 31, 24, 12}, {13, 24, 18, 8}, {4, 6, 3, 2}, {2, 5, 2, 1}, {7, 9, 6, 3}, {10, 13, 11, 6}, {21, 35, 27, 13}, {23, 38, 24, 15}, {5, 8, 5, 3},
	}
	d := glm.NewDesign(40, "intercept", "09-12", "12-15", "15-18", "weekend", "holiday", "temperature", "wind")
	var y []float64
	for day := range 10 {
		for block := range 4 {
			row := d.Row(len(y))
			row[0], row[6], row[7] = 1, temp[day], wind[day]
			if block > 0 {
				row[block] = 1
			}
			if day == 0 || day == 1 || day == 7 || day == 8 {
				row[4] = 1
			}
			if day == 2 {
				row[5] = 1
			}
			y = append(y, counts[day][block])
		}
	}
	r := sure[*glm.Result](t)(glm.Fit(glm.Problem{Family: glm.Poisson, Y: y, Design: d}))
	vector(t, "coef", r.Coef, []float64{0.69636656, 0.48158880, 0.14929630, -0.49401851, 0.69642370, 0.50354382, 0.06343074, -0.03087758}, 6, source)
	vector(t, "SE", r.SE, []float64{1.0079086, 0.11709047, 0.12559397, 0.14954419, 0.16417726, 0.20891663, 0.03020524, 0.0239312}, 5, source)
	refcheck.Near(t, "deviance", r.Deviance, 3.90292781, 1e-7, source)
	refcheck.Near(t, "AIC", r.AIC, 183.608443, 1e-5, source)
	refcheck.Near(t, "Pearson", r.Pearson, 3.80556261, 1e-7, source)
}
