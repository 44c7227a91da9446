package spread

import (
	"context"

	"thwart/engine/num"
)

// SpreadCase is one answer under other assumptions.
type SpreadCase struct {
	What       string       `json:"what" enum:"as given,alpha halved,alpha doubled,c 1,c 1.5,c 2,compliance"`
	Alpha      float64      `json:"alpha"`
	C          float64      `json:"c"`
	Compliance float64      `json:"compliance"`
	Without    num.Interval `json:"without" doc:"waters newly infested by the last year: mean, and 95 % for the luck of the simulation"`
	With       num.Interval `json:"with"`
	Spared     num.Interval `json:"spared"`
}

// Sensitivity repeats [Run] with half and twice the α, with other c at which as many passages infest a water with the chance one
// half, and with other shares of compliance. All cases read the same luck. runs is for each case.
func Sensitivity(ctx context.Context, net *Network, opt Options, runs int) ([]SpreadCase, error) {
	tell := opt.Tell
	opt.Runs, opt.Tell = runs, nil
	half := HalfChance(opt.Alpha, opt.C)
	list := []SpreadCase{
		{What: "as given", Alpha: opt.Alpha, C: opt.C, Compliance: opt.Compliance},
		{What: "alpha halved", Alpha: opt.Alpha / 2, C: opt.C, Compliance: opt.Compliance},
		{What: "alpha doubled", Alpha: opt.Alpha * 2, C: opt.C, Compliance: opt.Compliance},
	}
	for _, c := range []float64{1, 1.5, 2} {
		if c != opt.C {
			what := map[float64]string{1: "c 1", 1.5: "c 1.5", 2: "c 2"}[c]
			list = append(list, SpreadCase{What: what, Alpha: HalfChance(1, c) / half, C: c, Compliance: opt.Compliance})
		}
	}
	if net.Stopped != nil {
		for _, share := range []float64{0.5, 0.75, 1} {
			if share != opt.Compliance {
				list = append(list, SpreadCase{What: "compliance", Alpha: opt.Alpha, C: opt.C, Compliance: share})
			}
		}
	}
	for i := range list {
		x := &list[i]
		opt.Alpha, opt.C, opt.Compliance = x.Alpha, x.C, x.Compliance
		r, err := Run(ctx, net, opt)
		if err != nil {
			return nil, err
		}
		last := r.Years[len(r.Years)-1]
		x.Without, x.With, x.Spared = last.Without, last.With, last.Spared
		if tell != nil {
			tell(float64(i+1) / float64(len(list)))
		}
	}
	return list, nil
}
