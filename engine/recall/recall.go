// Package recall says how fast what was practised fades, and when to practise again.
//
// The law is half-life regression (Settles & Meeder 2016, Proc. ACL, pp. 1848-1858, doi 10.18653/v1/P16-1174): after Δ days the
// chance to get a thing right is p = 2^(−Δ/h), and the half-life h = 2^(θ·x) grows and shrinks with the square roots of how
// often it went right and wrong before. Start with [Weights.Due]; [Fit] learns the weights from a programme's own drills.
//
// The law starts from certainty on the day of practice. Finding never is certain, so for people it is a rule for spacing
// practice, not an estimate of skill: that is engine/skill.
package recall

import (
	"errors"
	"fmt"
	"math"
	"time"

	"thwart/engine/num"
)

// Limits of the half-life and of the chance, as published.
const (
	MinHalfLifeDays = 15.0 / (24 * 60)
	MaxHalfLifeDays = 274.0 // nine months
	minChance       = 0.0001
	maxChance       = 0.9999
)

// Weights of the half-life: log2 h in days is Bias + Right·√(1+right) + Wrong·√(1+wrong).
type Weights struct {
	Bias  float64 `json:"bias"`
	Right float64 `json:"right"`
	Wrong float64 `json:"wrong"`
}

// Start is taken before a programme has drills of its own: who is new is due after a week at a target of 0.8, who has found
// a hundred of a hundred and ten after two and a half. Common practice, no source.
var Start = Weights{Bias: 4, Right: 0.25, Wrong: -0.25}

// HalfLifeDays of a thing that went right and wrong so many times.
func (w Weights) HalfLifeDays(right, wrong int) float64 {
	x := w.Bias + w.Right*math.Sqrt(1+float64(max(right, 0))) + w.Wrong*math.Sqrt(1+float64(max(wrong, 0)))
	return math.Min(MaxHalfLifeDays, math.Max(MinHalfLifeDays, math.Exp2(x)))
}

// Chance that a thing of that half-life goes right after so many days.
func Chance(days, halfLifeDays float64) float64 {
	return math.Min(maxChance, math.Max(minChance, math.Exp2(-math.Max(0, days)/halfLifeDays)))
}

// DueDays is after how many days the chance has fallen to the target: h·log2(1/target).
func (w Weights) DueDays(right, wrong int, target float64) (float64, error) {
	if err := num.Between("target", target, 0, 1); err != nil {
		return math.NaN(), err
	}
	return -w.HalfLifeDays(right, wrong) * math.Log2(target), nil
}

// Due is when to practise again.
func (w Weights) Due(last time.Time, right, wrong int, target float64) (time.Time, error) {
	days, err := w.DueDays(right, wrong, target)
	if err != nil {
		return time.Time{}, err
	}
	return last.Add(time.Duration(days * 24 * float64(time.Hour))), nil
}

// Trace is one practice of one thing by one person: how long after the one before, what there had been until then, and the
// share that went right now.
type Trace struct {
	Days         float64 // since the practice before
	Right, Wrong int     // before this practice
	Share        float64 // 0 to 1
	Objects      int     // how many it is a share of; its weight in the fit
}

// Fitted is what was learned and how well it foretells.
type Fitted struct {
	Weights
	Traces int `json:"traces"`
	// Error is the mean absolute error of the chance, over objects; Constant is that of always saying the overall share.
	Error    float64 `json:"error"`
	Constant float64 `json:"constant"`
}

// Pull is how strongly a fit is held to where it starts, per weight: the λ of the publication, which pulls to 0.
const Pull = 0.1

// Fit finds the weights of least squared error of the chance over all people's traces, held to start. One set serves
// everybody: few people have enough drills for weights of their own. The published loss has a term for the half-life as
// well; it is left out, since a drill in which everything went right has none.
//
// It refuses a trace that cannot be, by number. Without traces it gives start.
func Fit(traces []Trace, start Weights) (Fitted, error) {
	var objects, right float64
	for i, t := range traces {
		err := errors.Join(num.Positive("days", t.Days), num.Within("share", t.Share, 0, 1), num.Positive("objects", float64(t.Objects)),
			num.NotNegative("right", float64(t.Right)), num.NotNegative("wrong", float64(t.Wrong)))
		if err != nil {
			return Fitted{}, fmt.Errorf("trace %d: %w", i+1, err)
		}
		objects += float64(t.Objects)
		right += t.Share * float64(t.Objects)
	}
	f := Fitted{Weights: start, Traces: len(traces)}
	if len(traces) == 0 {
		return f, nil
	}
	f.Weights = descend(traces, start)
	for _, t := range traces {
		n := float64(t.Objects)
		f.Error += n * meanAbsolute(t.Share, Chance(t.Days, f.HalfLifeDays(t.Right, t.Wrong)))
		f.Constant += n * meanAbsolute(t.Share, right/objects)
	}
	f.Error /= objects
	f.Constant /= objects
	return f, nil
}

// meanAbsolute is the mean of |outcome − p| over objects of which a share went right.
func meanAbsolute(share, p float64) float64 { return share*(1-p) + (1-share)*p }

func loss(traces []Trace, w, start Weights) float64 {
	var sum float64
	for _, t := range traces {
		d := t.Share - Chance(t.Days, w.HalfLifeDays(t.Right, t.Wrong))
		sum += float64(t.Objects) * d * d
	}
	sq := func(x float64) float64 { return x * x }
	return sum + Pull*(sq(w.Bias-start.Bias)+sq(w.Right-start.Right)+sq(w.Wrong-start.Wrong))
}

// descend goes downhill by single weights and by their pairs, halving its step where none helps: slow and sure, for three
// weights.
func descend(traces []Trace, start Weights) Weights {
	w, best := start, loss(traces, start, start)
	for step := 0.5; step > 1e-5; {
		moved := false
		for i := range 27 {
			try := Weights{
				w.Bias + step*float64(i%3-1), w.Right + step/4*float64(i/3%3-1), w.Wrong + step/4*float64(i/9-1),
			}
			if v := loss(traces, try, start); v < best {
				w, best, moved = try, v, true
			}
		}
		if !moved {
			step /= 2
		}
	}
	return w
}
