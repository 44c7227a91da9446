package figures

import (
	"cmp"
	"math"
	"net/url"
	"slices"

	"thwart/engine/num"
	"thwart/season"
)

// Level is the level of every interval.
const Level = 0.95

// Figure is one number of a season.
type Figure struct {
	ID    string  `json:"id"`
	Label string  `json:"label"`
	Value float64 `json:"value"`
	Unit  string  `json:"unit"` // count, share, h, craft/h, L, s
	// Known is false where there is nothing to compute from; Value is then 0 and means nothing.
	Known    bool          `json:"known"`
	Interval *num.Interval `json:"interval,omitempty"` // at [Level]
	// X of N for a share; N is the denominator, Of says what it counts.
	X  int    `json:"x,omitempty"`
	N  int    `json:"n,omitempty"`
	Of string `json:"of,omitempty"`
	// Effective is the number of independent craft that would give the same doubt.
	Effective float64 `json:"effective,omitempty"`
	How       string  `json:"how"`
	Records   string  `json:"records,omitempty"` // address of the records behind it
	// Before is the same figure in the season before, and Change the difference of shares (now less then) with its interval.
	Before *Before `json:"before,omitempty"`
}

// Before is a figure of the season before, to be held against this one.
type Before struct {
	Value    float64       `json:"value"`
	Interval *num.Interval `json:"interval,omitempty"`
	X        int           `json:"x,omitempty"`
	N        int           `json:"n,omitempty"`
	Change   *num.Interval `json:"change,omitempty"` // of a share: now less then
	// Alike is false where the change may be chance: its interval holds 0.
	Differs bool `json:"differs,omitempty"`
}

// Share gives the share x of n with its interval, for craft that were met in groups, here shifts. groups holds cases and craft
// of each.
//
// The variance of the share is that of a ratio over groups, m/(m-1) Σ(xᵢ-p·nᵢ)²/n² (Cochran 1977, Sampling Techniques, section
// 3.12: the usual estimate for clusters, without finite correction). The effective number is p(1-p) over that variance, at most
// n; the limits are Clopper and Pearson's for it (Korn & Graubard 1998, Survey Methodology 24:193-201, without their
// correction for degrees of freedom; cited from memory). With fewer than two groups, or none or all cases, n itself is used.
func Share(groups []num.Count) (share num.Interval, effective float64, ok bool) {
	var all num.Count
	for _, g := range groups {
		all = all.Plus(g)
	}
	if all.N == 0 {
		return num.Interval{}, 0, false
	}
	n, p := float64(all.N), all.Rate()
	effective = n
	if m := float64(len(groups)); m >= 2 && p > 0 && p < 1 {
		var ss float64
		for _, g := range groups {
			d := float64(g.X) - p*float64(g.N)
			ss += d * d
		}
		if v := m / (m - 1) * ss / (n * n); v > 0 {
			effective = min(n, p*(1-p)/v)
		}
	}
	lo, hi := 0.0, 1.0
	x, tail := p*effective, (1-Level)/2
	if x > 0 {
		if q, err := num.BetaQuantile(tail, x, effective-x+1); err == nil {
			lo = q
		}
	}
	if x < effective {
		if q, err := num.BetaQuantile(1-tail, x+1, effective-x); err == nil {
			hi = q
		}
	}
	return num.Interval{Lo: lo, Mid: p, Hi: hi}, effective, true
}

// Difference gives the difference of two independent shares with limits from those of each: the square-and-add method (Newcombe
// 1998, Stat. Med. 17:873-890, method 10).
func Difference(now, then num.Interval) num.Interval {
	d := now.Mid - then.Mid
	return num.Interval{
		Lo:  d - math.Hypot(now.Mid-now.Lo, then.Hi-then.Mid),
		Mid: d,
		Hi:  d + math.Hypot(now.Hi-now.Mid, then.Mid-then.Lo),
	}
}

// against holds a figure against the same one of the season before.
func against(now *Figure, then Figure) {
	if !then.Known {
		return
	}
	b := &Before{Value: then.Value, Interval: then.Interval, X: then.X, N: then.N}
	if now.Known && now.Unit == UnitShare && now.Interval != nil && then.Interval != nil {
		d := Difference(*now.Interval, *then.Interval)
		b.Change, b.Differs = &d, !d.Contains(0)
	}
	now.Before = b
}

// Units of figures.
const (
	UnitCount = "count"
	UnitShare = "share"
	UnitHours = "h"
	UnitRate  = "craft/h"
	UnitLitre = "L"
	UnitS     = "s"
)

// Row is one part of the season: a launch, a week, a class.
type Row struct {
	Key     string   `json:"key"`
	Name    string   `json:"name"`
	Figures []Figure `json:"figures"`
}

// Get finds a figure of the row by its id.
func (r *Row) Get(id string) Figure { return get(r.Figures, id) }

func get(list []Figure, id string) Figure {
	if i := slices.IndexFunc(list, func(f Figure) bool { return f.ID == id }); i >= 0 {
		return list[i]
	}
	return Figure{ID: id}
}

// Table splits a season one way.
type Table struct {
	By    string `json:"by"`
	Label string `json:"label"`
	Rows  []Row  `json:"rows"`
}

// Row finds a row by its key.
func (t *Table) Row(key string) (Row, bool) {
	i := slices.IndexFunc(t.Rows, func(r Row) bool { return r.Key == key })
	if i < 0 {
		return Row{Key: key}, false
	}
	return t.Rows[i], true
}

// Query says which part of the records is asked for. The zero Query is everything.
type Query struct {
	From, To season.Day // both included; 0 = from the first shift of the latest season, to the last
	Launch   string     // id of a launch
	Partner  string     // who runs the launches
}

func (q Query) values(figure string) url.Values {
	v := url.Values{"figure": {figure}}
	if q.From != 0 {
		v.Set("from", q.From.String())
	}
	if q.To != 0 {
		v.Set("to", q.To.String())
	}
	if q.Launch != "" {
		v.Set("launch", q.Launch)
	}
	if q.Partner != "" {
		v.Set("partner", q.Partner)
	}
	return v
}

// address is where the records behind a figure are found.
func (q Query) address(figure, by, key string) string {
	v := q.values(figure)
	if by != "" {
		v.Set("by", by)
		v.Set("key", key)
	}
	return "/api/season/records?" + v.Encode()
}

func byValue(a, b Row, id string) int { return cmp.Compare(b.Get(id).Value, a.Get(id).Value) }
