package flows

import (
	"context"
	"math"

	"thwart/engine/num"
	"thwart/engine/traffic"
)

// BootstrapReport compares the model's own errors with those of a parametric bootstrap.
type BootstrapReport struct {
	Replicates   int                    `json:"replicates"`
	Failed       int                    `json:"failed" doc:"drawn counts that could not be fitted"`
	Seed         uint64                 `json:"seed"`
	Coefficients []BootstrapCoefficient `json:"coefficients"`
}

// BootstrapCoefficient is one coefficient both ways.
type BootstrapCoefficient struct {
	Name        string       `json:"name"`
	Estimate    float64      `json:"estimate"`
	SE          float64      `json:"se" doc:"by the information matrix"`
	BootstrapSE float64      `json:"bootstrapSe"`
	Bootstrap   num.Interval `json:"bootstrap" doc:"2.5 % point, median, 97.5 % point of the refits"`
}

// Bootstrap draws counts from the fit n times and fits each anew. progress may be nil.
func (m *Model) Bootstrap(ctx context.Context, n int, progress func(float64)) (BootstrapReport, error) {
	r := BootstrapReport{Replicates: n, Seed: m.opt.Seed, Coefficients: []BootstrapCoefficient{}}
	if m.why != nil {
		return r, m.why
	}
	b, err := m.fit.Bootstrap(ctx, n, m.opt.Seed, progress)
	if err != nil {
		return r, err
	}
	r.Failed = b.Failed
	for k, name := range traffic.Names {
		r.Coefficients = append(r.Coefficients, BootstrapCoefficient{Name: name, Estimate: m.fit.Coef[k], SE: m.fit.SE[k], BootstrapSE: b.SE[k], Bootstrap: b.Interval[k]})
	}
	if back := m.fit.Return; back != nil && len(b.Returns) > 0 {
		for k, c := range []BootstrapCoefficient{{Name: "return intercept", Estimate: back.Intercept, SE: back.InterceptSE}, {Name: "return size", Estimate: back.Size, SE: back.SizeSE}} {
			c.BootstrapSE, c.Bootstrap = b.ReturnSE[k], b.ReturnInterval[k]
			r.Coefficients = append(r.Coefficients, c)
		}
	}
	if theta := len(traffic.Names); !math.IsInf(m.fit.Theta, 1) && !math.IsInf(b.Interval[theta].Hi, 1) {
		r.Coefficients = append(r.Coefficients, BootstrapCoefficient{Name: "theta", Estimate: m.fit.Theta, SE: m.fit.Theta * m.fit.LogThetaSE, BootstrapSE: b.SE[theta], Bootstrap: b.Interval[theta]})
	}
	return r, nil
}
