package drying

import (
	"errors"
	"fmt"
	"math"

	"thwart/engine/air"
	"thwart/engine/num"
	"thwart/unit"
)

// Evidence bounds what a fit may be asked: the air it is referred to, and the edges of the trials behind it.
type Evidence struct {
	RefTempC  unit.Celsius // air in which LambdaD holds
	RefRHPct  float64
	MinTempC  unit.Celsius // colder hours earn nothing
	MaxTempC  unit.Celsius // hotter hours count as this hot
	MinVPDKPa float64      // air nearer to saturation counts as this dry
	MaxVPDKPa float64      // drier air counts as this dry
}

func (e Evidence) validate() error {
	ref, refErr := air.VPDKPa(e.RefTempC, e.RefRHPct)
	if refErr == nil {
		refErr = num.Positive("vapour-pressure deficit of the reference air in kPa", ref)
	}
	return errors.Join(
		refErr,
		num.Within("coldest temperature of the trials in °C", float64(e.MinTempC), float64(air.Coldest), float64(air.Warmest)),
		num.Within("hottest temperature of the trials in °C", float64(e.MaxTempC), float64(e.MinTempC), float64(air.Warmest)),
		num.Positive("lowest vapour-pressure deficit of the trials in kPa", e.MinVPDKPa),
		num.Within("highest vapour-pressure deficit of the trials in kPa", e.MaxVPDKPa, e.MinVPDKPa, math.MaxFloat64),
	)
}

// WeibullSet is one fit of mussel survival out of water: a Weibull curve whose clock runs faster in warm and dry air.
//
//	vpd = min(max(VPD(T, RH), MinVPDKPa), MaxVPDKPa)
//	λ   = LambdaD · exp(-BTPerC (min(T, MaxTempC) - RefTempC)) · (vpd / VPD(RefTempC, RefRHPct))^-BV    days
//	A   = Σ Δt / λ(T, RH), with nothing added while T < MinTempC
//	S   = exp(-A^Shape)
//
// A, the age, has no unit: at A = 1 a share 1/e is alive whatever the weather was. Shape is gonum's Weibull K.
type WeibullSet struct {
	Name        string
	LambdaD     float64 // days to A = 1 in the reference air, for the stage at hand
	BTPerC      float64 // how much faster per degree; 0.0693 doubles the speed in 10 °C
	BV          float64 // power of the vapour-pressure deficit
	Shape       float64
	AgeForClear float64 // A at which the stage counts as dead; [WeibullSet.AgeAtSurvival] gives it for a share alive
	Evidence    Evidence
}

// Validate refuses a set that would let mussels age backwards or clear at once.
func (w WeibullSet) Validate() error {
	err := errors.Join(
		num.Positive("scale of survival in days", w.LambdaD),
		num.NotNegative("temperature slope per °C", w.BTPerC),
		num.NotNegative("power of the vapour-pressure deficit", w.BV),
		num.Positive("shape of survival", w.Shape),
		num.Positive("age for clear", w.AgeForClear),
		w.Evidence.validate(),
	)
	if err != nil {
		return fmt.Errorf("drying set %q: %w", w.Name, err)
	}
	return nil
}

// LambdaDays returns the days of steady air after which a share 1/e is alive. It is +Inf in air colder than the evidence
// and in air a [Spell] may not hold.
func (w WeibullSet) LambdaDays(t unit.Celsius, rhPct float64) float64 {
	return 1 / (24 * w.agePerHour(Spell{TempC: t, RHPct: rhPct}))
}

func (w WeibullSet) agePerHour(s Spell) float64 {
	e := w.Evidence
	if !s.plausible() || s.TempC < e.MinTempC {
		return 0
	}
	vpd := min(max(s.vpdKPa(), e.MinVPDKPa), e.MaxVPDKPa)
	refVPD := Spell{TempC: e.RefTempC, RHPct: e.RefRHPct}.vpdKPa()
	faster := math.Exp(w.BTPerC*float64(min(s.TempC, e.MaxTempC)-e.RefTempC)) * math.Pow(vpd/refVPD, w.BV)
	return faster / (24 * w.LambdaD)
}

// Age returns A over the spells since the last wet one. A spell that Validate refuses adds nothing.
func (w WeibullSet) Age(spells []Spell) float64 {
	var age float64
	for _, s := range SpellsSinceWet(spells) {
		age += earned(w.agePerHour(s), s.Hours)
	}
	return age
}

// Survival returns the share alive at an age.
func (w WeibullSet) Survival(age float64) float64 { return math.Exp(-math.Pow(age, w.Shape)) }

// AgeAtSurvival returns the age at which a share is alive, the inverse of Survival: (-ln share)^(1/Shape). It is 0 for a
// share of 1, +Inf for 0 and NaN outside.
func (w WeibullSet) AgeAtSurvival(share float64) float64 {
	if !(share >= 0 && share <= 1) {
		return math.NaN()
	}
	return math.Pow(math.Abs(math.Log(share)), 1/w.Shape)
}

// Mussels is survival of one stage on one kind of surface by two fits. The trials do not settle the shape of the curve,
// and its tail decides the release: so neither fit clears alone. For large mussels the cautious one is the slower; for
// small ones in warm or humid air the central one is.
type Mussels struct {
	Central  WeibullSet // the better fit, for what is shown
	Cautious WeibullSet // the longer tail
	Surface  Surface
}

// Validate refuses a pair with a set that [WeibullSet.Validate] refuses.
func (m Mussels) Validate() error {
	return errors.Join(m.Central.Validate(), m.Cautious.Validate(), m.Surface.validate())
}

func (m Mussels) perHour(s Spell) gauges {
	s = m.Surface.under(s)
	return gauges{m.Central.agePerHour(s), m.Cautious.agePerHour(s)}
}

func (m Mussels) needed() gauges {
	return gauges{m.Central.AgeForClear * guard, m.Cautious.AgeForClear * guard}
}

func (Mussels) restartsWhenWet() bool { return true }

// SetResult is what one fit says.
type SetResult struct {
	Set         string
	Age         float64
	AgeForClear float64
	Survival    float64 // share alive
	Cleared     bool
}

// MusselResult is what both fits say of the spells since the last wet one.
type MusselResult struct {
	Central, Cautious SetResult
	// Survival spans the two fits, with the central one in the middle. It shows how far they disagree and is not a
	// confidence interval.
	Survival num.Interval
	Cleared  bool   // both fits reached their limit
	Decides  string // name of the fit that is, or was, further from its limit
	DryHours float64
	// TooColdHours earned nothing, being colder than the evidence. CappedHours were hotter, drier or damper than the
	// evidence and counted as its edge.
	TooColdHours, CappedHours float64
}

// Assess says how far the mussels have dried.
func (m Mussels) Assess(spells []Spell) (MusselResult, error) {
	if err := errors.Join(m.Validate(), validateSpells(spells)); err != nil {
		return MusselResult{}, err
	}
	age, need := fill(m, spells), m.needed()
	r := MusselResult{
		Central:  m.Central.at(age[0], need[0]),
		Cautious: m.Cautious.at(age[1], need[1]),
		Cleared:  age.reach(need),
		Decides:  m.Cautious.Name,
	}
	if age[0]/need[0] < age[1]/need[1] {
		r.Decides = m.Central.Name
	}
	r.Survival = m.between(age)
	e := m.Central.Evidence
	for _, s := range SpellsSinceWet(spells) {
		s = m.Surface.under(s)
		r.DryHours += s.Hours
		switch {
		case s.TempC < e.MinTempC:
			r.TooColdHours += s.Hours
		case s.TempC > e.MaxTempC || s.vpdKPa() > e.MaxVPDKPa || s.vpdKPa() < e.MinVPDKPa:
			r.CappedHours += s.Hours
		}
	}
	return r, nil
}

func (w WeibullSet) at(age, need float64) SetResult {
	return SetResult{Set: w.Name, Age: age, AgeForClear: w.AgeForClear, Survival: w.Survival(age), Cleared: age >= need}
}

func (m Mussels) between(age gauges) num.Interval {
	central, cautious := m.Central.Survival(age[0]), m.Cautious.Survival(age[1])
	return num.Interval{Lo: min(central, cautious), Mid: central, Hi: max(central, cautious)}
}

// CurvePoint is one point of the survival line. Where a wetting begins there are two points at one hour, before and
// after, so that the line drops straight.
type CurvePoint struct {
	Hours    float64      // since the first spell began
	Survival num.Interval // as in [MusselResult]
	Wet      bool         // the clock stands
}

// maxCurvePoints is far more than a screen has dots; beyond it a step is taken for a slip of the pen.
const maxCurvePoints = 100_000

// Curve returns the survival line for drawing: a point every stepH hours, at both ends of every wet spell, and at the end.
// Unlike Assess it shows the time before the last wetting too.
func (m Mussels) Curve(spells []Spell, stepH float64) ([]CurvePoint, error) {
	var total float64
	for _, s := range spells {
		total += s.Hours
	}
	err := errors.Join(m.Validate(), validateSpells(spells), num.Positive("step in hours", stepH))
	if err == nil {
		err = num.Within("step in hours", stepH, total/maxCurvePoints, math.MaxFloat64)
	}
	if err != nil {
		return nil, err
	}
	var (
		points []CurvePoint
		age    gauges
		at     float64 // start of the spell
		steps  float64 // points of the regular grid so far
	)
	for _, s := range spells {
		end := at + s.Hours
		if s.Wet {
			before := CurvePoint{Hours: at, Survival: m.between(age)}
			age = gauges{}
			points = append(points, before,
				CurvePoint{Hours: at, Survival: m.between(age), Wet: true},
				CurvePoint{Hours: end, Survival: m.between(age), Wet: true})
			steps = math.Floor(end/stepH) + 1
			at = end
			continue
		}
		rate := m.perHour(s)
		for ; steps*stepH < end; steps++ {
			points = append(points, CurvePoint{Hours: steps * stepH, Survival: m.between(age.plus(rate, steps*stepH-at))})
		}
		age = age.plus(rate, s.Hours)
		at = end
	}
	return append(points, CurvePoint{Hours: at, Survival: m.between(age)}), nil
}
