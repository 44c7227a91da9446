package glm

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

// Counts that vary hardly more than Poisson counts leave θ large and the likelihood flat in it; the fit has to settle there too,
// and may not be worse than the Poisson fit it contains.
func TestNegBinSettlesNearPoisson(t *testing.T) {
	finite := 0
	for seed := range uint64(60) {
		src := rand.NewPCG(seed, 7)
		draw := rand.New(src)
		p := Problem{Family: Poisson, Design: Design{Names: []string{"intercept", "size"}}}
		for range 36 {
			size, effort := 3+4*draw.Float64(), math.Log(0.2+0.8*draw.Float64())
			p.Design.X = append(p.Design.X, 1, size)
			p.Design.Rows++
			p.Offset = append(p.Offset, effort)
			p.Y = append(p.Y, distuv.Poisson{Lambda: math.Exp(1.5 + 0.7*size + effort), Src: src}.Rand())
		}
		poisson, err := Fit(p)
		if err != nil {
			t.Fatal(err)
		}
		got, err := FitNegBin(p)
		if err != nil {
			t.Errorf("seed %d: %v", seed, err)
			continue
		}
		if math.IsInf(got.Theta, 1) {
			continue
		}
		finite++
		if got.LogLik < poisson.LogLik-1e-6 {
			t.Errorf("seed %d: log-likelihood %.9f is below that of the Poisson fit, %.9f", seed, got.LogLik, poisson.LogLik)
		}
		if score := thetaScore(p.Y, got.Fitted, nil, got.Theta); math.Abs(score)*got.ThetaSE > 1e-5 {
			t.Errorf("seed %d: θ = %g is no maximum: slope %g, standard error %g", seed, got.Theta, score, got.ThetaSE)
		}
	}
	if finite < 10 {
		t.Errorf("%d of 60 fits have a finite θ; the test needs some", finite)
	}
}
