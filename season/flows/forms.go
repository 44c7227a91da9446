package flows

import (
	"math"

	"thwart/engine/glm"
	"thwart/engine/traffic"
)

// maxDense is the largest number of pairs for which the forms with a zero part are tried.
const maxDense = 20_000

// dense is the pairs of which a count was possible as one table, for the forms that engine/traffic does not fit.
func (m *Model) dense(d *traffic.Data, counts map[[2]int32]float64) glm.Counts {
	c := glm.Counts{NegBin: true, Count: glm.Design{Names: traffic.Names}, Zero: glm.Design{Names: []string{"intercept"}}}
	row := make([]float64, len(m.waters))
	for i := range m.waters {
		m.table.LogKM(i, row)
		for j := range m.waters {
			if i == j || !d.Inside[j] || d.Effort[j] == 0 {
				continue
			}
			c.Y = append(c.Y, counts[[2]int32{int32(i), int32(j)}])
			c.Offset = append(c.Offset, math.Log(d.Effort[j]))
			c.Count.X = append(c.Count.X, 1, math.Log(d.Origin[i]), math.Log(d.Pull[j]), -row[j])
			c.Zero.X = append(c.Zero.X, 1)
		}
	}
	c.Count.Rows, c.Zero.Rows = len(c.Y), len(c.Y)
	return c
}

// forms compares the negative binomial with simpler and with zero-heavy forms.
func (m *Model) forms() []ModelForm {
	out := []ModelForm{{Name: "negative binomial", AIC: m.fit.AIC, BIC: m.fit.BIC, Used: true}}
	if math.IsInf(m.fit.Theta, 1) {
		out[0].Note = "counts vary no more than Poisson counts, so this is the Poisson form"
	}
	if p, err := traffic.Fit(m.data, traffic.Options{Poisson: true, NoEffort: m.opt.NoEffort}); err == nil {
		out = append(out, ModelForm{Name: "Poisson", AIC: p.AIC, BIC: p.BIC})
	} else {
		out = append(out, ModelForm{Name: "Poisson", Note: err.Error()})
	}
	counts := "negative binomial"
	if math.IsInf(m.fit.Theta, 1) {
		counts = "Poisson"
	}
	zero, hurdle := ModelForm{Name: "zero-inflated " + counts}, ModelForm{Name: "hurdle " + counts}
	switch {
	case m.fit.Pairs > maxDense:
		zero.Note = "not tried: more pairs than the dense fit is for"
		hurdle.Note = zero.Note
	case m.opt.NoEffort:
		zero.Note, hurdle.Note = "not tried without effort", "not tried without effort"
	default:
		c := m.dense(m.data, m.counts)
		c.NegBin = counts != "Poisson"
		// A share of its own zeros in every pair that is nearly nothing is no error: the fit then runs to no share at all.
		if f, err := glm.FitZeroInflated(c); err == nil {
			zero.AIC, zero.BIC = f.AIC, f.BIC
		} else {
			zero.Note = "no fit, as when there are no zeros of their own to explain"
		}
		if f, err := glm.FitHurdle(c); err == nil {
			hurdle.AIC, hurdle.BIC = f.AIC, f.BIC
		} else {
			hurdle.Note = "no fit: counts above zero are too few or too alike"
		}
	}
	return append(out, zero, hurdle)
}
