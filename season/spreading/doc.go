// Package spreading asks what happens to the waters of a programme over the years, and what standing at launches changes: the
// season's fitted traffic and the waters' statuses become the input of [thwart/engine/spread].
//
// What is not known stays visible: waters where nobody has looked count as sources, because they may be, and are listed; α and c are
// assumptions until they are fitted, and every answer carries their doubt.
package spreading

import (
	"cmp"

	"thwart"
	"thwart/engine/num"
	"thwart/engine/spread"
	"thwart/season/flows"
)

// Question asks for a forecast.
type Question struct {
	Organism   string   `json:"organism"`
	Years      int      `json:"years,omitempty"`      // 1 to 50; 0 = 10
	Runs       int      `json:"runs,omitempty"`       // 100 to 100,000; 0 = 2000
	Alpha      float64  `json:"alpha,omitempty"`      // per risky passage; 0 = DefaultAlpha
	C          float64  `json:"c,omitempty"`          // 0 = DefaultC
	Known      bool     `json:"known,omitempty"`      // α and c are taken as exact
	Compliance *float64 `json:"compliance,omitempty"` // nil = 1
	// Plan is the id of a plan record; empty = the hours as they were worked last season.
	Plan string `json:"plan,omitempty"`
	// Shifts of a plan that is in no record yet, called PlanName; nil = as Plan says.
	Shifts   []Shift `json:"-"`
	PlanName string  `json:"-"`
	// UnlookedClear takes waters where nobody has looked for clear. Left out they count as sources.
	UnlookedClear bool   `json:"unlookedClear,omitempty"`
	Seed          uint64 `json:"seed,omitempty"`
}

// Values that stand where nothing is known. No published pair of α and c for risky passages was found.
const (
	DefaultAlpha = 0.002
	DefaultC     = 1.3
	// AlphaFactor and CHalf are the doubt about them: α within a factor of ten, c from 1 to 1.6.
	AlphaFactor = 10
	CHalf       = 0.3
)

// StartingWater is a water as the years begin and as they go on.
type StartingWater struct {
	flows.Site
	Status  string       `json:"status" doc:"of the organism; empty = unknown"`
	Start   string       `json:"start" enum:"clear,source,suspected,not_looked,outside" doc:"how it is taken at the start; all but clear send the organism out"`
	Risky   float64      `json:"risky" doc:"craft a year that arrive with the organism alive aboard, as the years begin and nobody stands anywhere"`
	Stopped float64      `json:"stopped" doc:"share of craft arriving here that carry it which are stopped, if all comply"`
	Without []float64    `json:"without" doc:"chance that it is infested by the end of each year, nobody standing anywhere"`
	With    []float64    `json:"with"`
	Last    num.Interval `json:"last" doc:"chance in the last year without: 95 % for the luck of the simulation"`
	LastW   num.Interval `json:"lastWith"`
}

// SpreadReport is a forecast.
type SpreadReport struct {
	Organism   string              `json:"organism"`
	Plan       string              `json:"plan" doc:"id of the plan; empty: the hours as worked last season"`
	PlanName   string              `json:"planName"`
	Runs       int                 `json:"runs"`
	Seed       uint64              `json:"seed"`
	Alpha      float64             `json:"alpha"`
	C          float64             `json:"c"`
	HalfChance float64             `json:"halfChance" doc:"risky passages a year that infest a clear water with the chance one half"`
	Doubt      string              `json:"doubt" doc:"how far α and c are varied"`
	Compliance float64             `json:"compliance"`
	Sources    int                 `json:"sources" doc:"waters known to hold it"`
	Suspected  int                 `json:"suspected"`
	Unlooked   int                 `json:"unlooked" doc:"waters where nobody has looked for it"`
	Clear      int                 `json:"clear" doc:"waters in care that are clear at the start"`
	Years      []spread.SpreadYear `json:"years"`
	Waters     []StartingWater     `json:"waters" doc:"the likeliest to be infested first"`
	Cases      []spread.SpreadCase `json:"cases" doc:"the last year under other assumptions"`
	Sharper    float64             `json:"sharper" doc:"times fewer runs that the same luck needs for the difference"`
	Sentence   string              `json:"sentence"`
	Assumed    []string            `json:"assumed"`
	Warnings   []string            `json:"warnings"`
}

// fill checks a question and fills in what was left out.
func (q *Question) fill() error {
	var errs thwart.FieldErrors
	q.Years, q.Runs = cmp.Or(q.Years, 10), cmp.Or(q.Runs, 2000)
	q.Alpha, q.C = cmp.Or(q.Alpha, DefaultAlpha), cmp.Or(q.C, DefaultC)
	if q.Compliance == nil {
		all := 1.0
		q.Compliance = &all
	}
	errs.Within("years", float64(q.Years), 1, 50)
	errs.Within("runs", float64(q.Runs), 100, 100_000)
	errs.Within("alpha", q.Alpha, 1e-9, 10)
	errs.Within("c", q.C, 0.2, 5)
	errs.Within("compliance", *q.Compliance, 0, 1)
	return errs.Err()
}
