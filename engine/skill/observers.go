package skill

import (
	"math"

	"thwart/engine/num"
)

// Observers is what two people found who looked at the same things, neither knowing of the other: First found so many, Second
// so many, Both so many of the same.
type Observers struct{ First, Second, Both int }

// Double is what two looks say of the number there were, and of each looker.
type Double struct {
	// Total is Chapman's estimate of how many things there were, with its 95 % limits from its variance, never below what was
	// seen. Where both find the easy things and neither the hard ones, it is too low: take it as a lower bound.
	Total num.Interval `json:"total"`
	Var   float64      `json:"var"`
	// FirstFinds and SecondFinds are the chance that each finds a thing the other found: a count of Both in the other's
	// finds, of which [num.Wilson] or [Fit] give the interval.
	FirstFinds  num.Count `json:"firstFinds"`
	SecondFinds num.Count `json:"secondFinds"`
	// Joint is the chance that at least one of them finds a thing; NaN where one of them found nothing.
	Joint float64 `json:"-"`
}

// Estimate applies Chapman 1951 (Univ. Calif. Publ. Stat. 1:131-160): N = (M+1)(C+1)/(R+1) − 1, with the variance (M+1)(C+1)
// (M−R)(C−R)/((R+1)²(R+2)) of Seber 1970 (Biometrika 57:31-42).
func (o Observers) Estimate() (Double, error) {
	for name, n := range map[string]int{"first": o.First, "second": o.Second, "both": o.Both} {
		if n < 0 {
			return Double{}, &num.RangeError{Field: name, Value: float64(n), Accepted: "0 or more finds"}
		}
	}
	if o.Both > min(o.First, o.Second) {
		return Double{}, &num.RangeError{Field: "both", Value: float64(o.Both), Accepted: "no more than each of them found"}
	}
	m, c, r := float64(o.First), float64(o.Second), float64(o.Both)
	n := (m+1)*(c+1)/(r+1) - 1
	v := (m + 1) * (c + 1) * (m - r) * (c - r) / ((r + 1) * (r + 1) * (r + 2))
	half := 1.959963984540054 * math.Sqrt(v)
	seen := m + c - r
	d := Double{
		Total: num.Interval{Lo: math.Max(seen, n-half), Mid: n, Hi: n + half}, Var: v,
		FirstFinds: num.Count{X: o.Both, N: o.Second}, SecondFinds: num.Count{X: o.Both, N: o.First},
	}
	d.Joint = 1 - (1-d.FirstFinds.Rate())*(1-d.SecondFinds.Rate())
	return d, nil
}

// Signals counts answers to things that were there and to things that were not: Hits of Present, Alarms of Absent.
type Signals struct{ Hits, Present, Alarms, Absent int }

// Sensitivity is how well somebody tells something from nothing, apart from how readily she speaks up.
type Sensitivity struct {
	HitRate   float64 `json:"hitRate"`
	AlarmRate float64 `json:"alarmRate"`
	DPrime    float64 `json:"dPrime"`    // z(H) − z(F): 0 is guessing, 1 fair, 2 good, 3 and more very good
	Criterion float64 `json:"criterion"` // −(z(H) + z(F))/2: above 0 is slow to speak up
	Beta      float64 `json:"beta"`      // exp((z(F)² − z(H)²)/2)
	Area      float64 `json:"area"`      // under the curve of hits against alarms: Φ(d′/√2)
}

// Sense gives d′ and its company. corrected adds half a hit and half an alarm to one more trial of each kind, as Hautus 1995
// (Behav. Res. Methods 27:46-51) proposes: without it a perfect score has no d′ and is refused.
func (s Signals) Sense(corrected bool) (Sensitivity, error) {
	for name, c := range map[string]num.Count{"hits": {X: s.Hits, N: s.Present}, "alarms": {X: s.Alarms, N: s.Absent}} {
		if err := c.Validate(); err != nil {
			return Sensitivity{}, err
		}
		if c.N == 0 {
			return Sensitivity{}, &num.RangeError{Field: name, Value: 0, Accepted: "at least one trial of its kind"}
		}
	}
	h, f, p, a := float64(s.Hits), float64(s.Alarms), float64(s.Present), float64(s.Absent)
	if corrected {
		h, f, p, a = h+0.5, f+0.5, p+1, a+1
	}
	out := Sensitivity{HitRate: h / p, AlarmRate: f / a}
	if !corrected && (h == 0 || h == p || f == 0 || f == a) {
		return Sensitivity{}, &num.RangeError{Field: "hits", Value: h, Accepted: "rates above 0 and below 1, or the correction"}
	}
	zh, zf := normalQuantile(out.HitRate), normalQuantile(out.AlarmRate)
	out.DPrime, out.Criterion = zh-zf, -(zh+zf)/2
	out.Beta = math.Exp((zf*zf - zh*zh) / 2)
	out.Area = 0.5 * math.Erfc(-out.DPrime/2)
	return out, nil
}

// normalQuantile is z with a share p of a standard normal below it.
func normalQuantile(p float64) float64 { return math.Sqrt2 * math.Erfinv(2*p-1) }
