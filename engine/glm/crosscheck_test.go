package glm_test

import (
	"encoding/json"
	"flag"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"thwart/engine/glm"
	"thwart/engine/num"
	"thwart/internal/refcheck"
)

var record = flag.Bool("record", false, "write what R says to testdata/crosscheck.json")

type rFit struct {
	Coef, SE         []float64
	Deviance, LogLik float64
}

type rAnswer struct {
	R, MASS                   string
	Poisson, Negbin, Binomial rFit
	Theta                     float64
}

// drawn is counts from a seed: two covariates, a group, an offset, and successes among trials.
func drawn() (y, k, m, off []float64, full, short glm.Design, csv string) {
	const n = 400
	r := num.Stream(20, "crosscheck")
	full, short = glm.NewDesign(n, "intercept", "x1", "x2", "g"), glm.NewDesign(n, "intercept", "x1", "x2")
	var b strings.Builder
	b.WriteString("y,k,m,off,x1,x2,g\n")
	round := func(x float64) float64 { return math.Round(x*1e4) / 1e4 }
	for i := range n {
		x1, x2, g, o := round(r.NormFloat64()), round(r.Float64()*4), float64(r.IntN(2)), round(math.Log(0.05+r.Float64()))
		copy(full.Row(i), []float64{1, x1, x2, g})
		copy(short.Row(i), []float64{1, x1, x2})
		y = append(y, num.NegBin(r, math.Exp(1+0.6*x1-0.4*x2+0.3*g+o), 1.7))
		m = append(m, 1+float64(r.IntN(20)))
		hits := 0.0
		for range int(m[i]) {
			if r.Float64() < 1/(1+math.Exp(0.5-0.8*x1+0.2*x2)) {
				hits++
			}
		}
		k, off = append(k, hits), append(off, o)
		fmt.Fprintf(&b, "%g,%g,%g,%g,%g,%g,%g\n", y[i], k[i], m[i], o, x1, x2, g)
	}
	return y, k, m, off, full, short, b.String()
}

func runR(t *testing.T, csv string) (rAnswer, bool) {
	var a rAnswer
	r, err := exec.LookPath("Rscript")
	if err != nil {
		return a, false
	}
	if exec.Command(r, "-e", "library(MASS)").Run() != nil {
		return a, false
	}
	name := filepath.Join(t.TempDir(), "data.csv")
	if err := os.WriteFile(name, []byte(csv), 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(r, "testdata/crosscheck.R", name).Output()
	if err != nil {
		t.Fatalf("R is here and fails: %v", err)
	}
	if err := json.Unmarshal(out, &a); err != nil {
		t.Fatalf("%v in %s", err, out)
	}
	if *record {
		if err := os.WriteFile("testdata/crosscheck.json", out, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return a, true
}

func TestAgainstR(t *testing.T) {
	y, k, m, off, full, short, csv := drawn()
	po := sure[*glm.Result](t)(glm.Fit(glm.Problem{Family: glm.Poisson, Y: y, Offset: off, Design: full}))
	nb := sure[*glm.Result](t)(glm.FitNegBin(glm.Problem{Y: y, Offset: off, Design: full}))
	bi := sure[*glm.Result](t)(glm.Fit(glm.Problem{Family: glm.Binomial, Y: k, Trials: m, Design: short}))
	compare := func(t *testing.T, a rAnswer) {
		source := a.R + ", MASS " + a.MASS
		for _, c := range []struct {
			name string
			got  *glm.Result
			want rFit
		}{{"poisson", po, a.Poisson}, {"negative binomial", nb, a.Negbin}, {"binomial", bi, a.Binomial}} {
			// glm.nb takes turns between θ and the rest until the likelihood stands still, which leaves its θ seven digits.
			vector(t, c.name, c.got.Coef, c.want.Coef, 6, source)
			vector(t, c.name+" SE", c.got.SE, c.want.SE, 6, source)
			refcheck.Near(t, c.name+" deviance", c.got.Deviance, c.want.Deviance, 1e-6*c.want.Deviance, source)
			refcheck.Near(t, c.name+" log-likelihood", c.got.LogLik, c.want.LogLik, 1e-7, source)
		}
		refcheck.Near(t, "theta", nb.Theta, a.Theta, 1e-6*a.Theta, source)
	}
	live, ok := runR(t, csv)
	t.Run("recorded", func(t *testing.T) {
		text, err := os.ReadFile("testdata/crosscheck.json")
		if err != nil {
			t.Fatal(err)
		}
		var a rAnswer
		if err := json.Unmarshal(text, &a); err != nil {
			t.Fatal(err)
		}
		compare(t, a)
	})
	t.Run("live", func(t *testing.T) {
		if !ok {
			t.Skip("SKIPPED: R with MASS (Debian: r-base-core, r-cran-mass) is not here; only the recorded answer was compared")
		}
		compare(t, live)
	})
}
