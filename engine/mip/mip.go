// Package mip describes linear programmes with whole-number variables by name, and what a solver says about them. It solves
// nothing: package thwart/solver does, and whoever builds a model takes any [Solver].
//
// Start with [New], add variables with [Model.Var] and [Model.Binary], rows with [Model.Row], and hand the model to a
// [Solver]. [Model.Write] gives it in the CPLEX LP format, which every solver reads.
package mip

import (
	"context"
	"errors"
	"fmt"
	"math"
	"time"
)

// Inf is the limit that does not bind.
var Inf = math.Inf(1)

// Var is a variable of a model: its index.
type Var int

// Row is a constraint of a model: its index.
type Row int

// Term is one product of a row or of the objective.
type Term struct {
	Var  Var
	Coef float64
}

// Model is a linear programme: optimise Σ cost·x with Lo ≤ x ≤ Hi, RowLo ≤ Σ coef·x ≤ RowHi, and some of the x whole.
type Model struct {
	Name     string
	Maximise bool
	Offset   float64 // added to the objective

	Vars []Column
	Rows []Constraint
}

// Column is a variable with its limits and its part in the objective.
type Column struct {
	Name    string
	Lo, Hi  float64
	Cost    float64
	Integer bool
}

// Constraint is a row with its limits.
type Constraint struct {
	Name   string
	Lo, Hi float64
	Terms  []Term
}

// New returns an empty model.
func New(name string, maximise bool) *Model { return &Model{Name: name, Maximise: maximise} }

// Var adds a variable between limits; whole numbers only where integer is true.
func (m *Model) Var(name string, lo, hi, cost float64, integer bool) Var {
	m.Vars = append(m.Vars, Column{Name: name, Lo: lo, Hi: hi, Cost: cost, Integer: integer})
	return Var(len(m.Vars) - 1)
}

// Binary adds a variable that is 0 or 1.
func (m *Model) Binary(name string, cost float64) Var { return m.Var(name, 0, 1, cost, true) }

// Row adds lo ≤ Σ terms ≤ hi; [Inf] or -Inf where a side is open. Terms that name a variable twice are added up.
func (m *Model) Row(name string, lo, hi float64, terms ...Term) Row {
	m.Rows = append(m.Rows, Constraint{Name: name, Lo: lo, Hi: hi, Terms: merged(terms)})
	return Row(len(m.Rows) - 1)
}

// AtMost adds Σ terms ≤ hi.
func (m *Model) AtMost(name string, hi float64, terms ...Term) Row {
	return m.Row(name, -Inf, hi, terms...)
}

// AtLeast adds Σ terms ≥ lo.
func (m *Model) AtLeast(name string, lo float64, terms ...Term) Row {
	return m.Row(name, lo, Inf, terms...)
}

// merged adds up terms of the same variable. Rows are short or already without repeats, so it looks before it builds a table.
func merged(terms []Term) []Term {
	if len(terms) < 2 {
		return terms
	}
	sorted := true
	for i := 1; i < len(terms) && sorted; i++ {
		sorted = terms[i-1].Var < terms[i].Var
	}
	if sorted {
		return terms
	}
	at := make(map[Var]int, len(terms))
	out := make([]Term, 0, len(terms))
	for _, t := range terms {
		if i, ok := at[t.Var]; ok {
			out[i].Coef += t.Coef
			continue
		}
		at[t.Var] = len(out)
		out = append(out, t)
	}
	return out
}

// Entries counts the products in all rows.
func (m *Model) Entries() int {
	n := 0
	for i := range m.Rows {
		n += len(m.Rows[i].Terms)
	}
	return n
}

// Check returns an error for a model that means nothing: a limit or number that is not one, a term of no variable, or limits
// the wrong way round.
func (m *Model) Check() error {
	for i, v := range m.Vars {
		if math.IsNaN(v.Lo) || math.IsNaN(v.Hi) || v.Lo > v.Hi || math.IsInf(v.Lo, 1) || math.IsInf(v.Hi, -1) {
			return fmt.Errorf("variable %d (%s): limits %v to %v are not accepted", i, v.Name, v.Lo, v.Hi)
		}
		if math.IsNaN(v.Cost) || math.IsInf(v.Cost, 0) {
			return fmt.Errorf("variable %d (%s): cost %v is not a finite number", i, v.Name, v.Cost)
		}
	}
	for i, r := range m.Rows {
		if math.IsNaN(r.Lo) || math.IsNaN(r.Hi) || r.Lo > r.Hi || math.IsInf(r.Lo, 1) || math.IsInf(r.Hi, -1) {
			return fmt.Errorf("row %d (%s): limits %v to %v are not accepted", i, r.Name, r.Lo, r.Hi)
		}
		for _, t := range r.Terms {
			if t.Var < 0 || int(t.Var) >= len(m.Vars) {
				return fmt.Errorf("row %d (%s) names variable %d of %d", i, r.Name, t.Var, len(m.Vars))
			}
			if math.IsNaN(t.Coef) || math.IsInf(t.Coef, 0) {
				return fmt.Errorf("row %d (%s): coefficient %v of %s is not a finite number", i, r.Name, t.Coef, m.Vars[t.Var].Name)
			}
		}
	}
	return nil
}

// Value is the objective at a point.
func (m *Model) Value(x []float64) float64 {
	v := m.Offset
	for i := range m.Vars {
		v += m.Vars[i].Cost * x[i]
	}
	return v
}

// Violation is by how much a point breaks the model at worst, over limits, rows and whole numbers, and where.
func (m *Model) Violation(x []float64) (worst float64, where string) {
	if len(x) != len(m.Vars) {
		return Inf, fmt.Sprintf("%d values for %d variables", len(x), len(m.Vars))
	}
	note := func(by float64, what string) {
		if by > worst {
			worst, where = by, what
		}
	}
	for i, v := range m.Vars {
		note(v.Lo-x[i], v.Name)
		note(x[i]-v.Hi, v.Name)
		if v.Integer {
			note(math.Abs(x[i]-math.Round(x[i])), v.Name)
		}
	}
	for _, r := range m.Rows {
		var sum float64
		for _, t := range r.Terms {
			sum += t.Coef * x[t.Var]
		}
		note(r.Lo-sum, r.Name)
		note(sum-r.Hi, r.Name)
	}
	return worst, where
}

// Status says how a solve ended.
type Status string

// Ends of a solve.
const (
	Optimal    Status = "optimal"    // proved, within the gap that was asked for
	Infeasible Status = "infeasible" // no point keeps every row
	Unbounded  Status = "unbounded"
	Stopped    Status = "stopped" // time, memory or the caller ended it; a point may have been found
)

// Progress is how far a solve has come.
type Progress struct {
	Seconds  float64 `json:"seconds"`
	Best     float64 `json:"best"`  // objective of the best point so far; NaN while there is none
	Bound    float64 `json:"bound"` // no point is better; ±Inf while nothing is known
	Nodes    int64   `json:"nodes"`
	HasPoint bool    `json:"hasPoint"`
}

// Options steer a solve.
type Options struct {
	Start     []float64      // a point to start from; one that breaks a row is repaired or dropped
	TimeLimit time.Duration  // 0: none
	Gap       float64        // stop when |best - bound| ≤ Gap·|best|; 0: prove the optimum
	Seed      int            // of the solver's own choices
	Progress  func(Progress) // called from the solving goroutine; may be nil
	Log       func(string)   // each line the solver prints; may be nil
	Relax     bool           // leave out that variables are whole
}

// Solution is what a solver found.
type Solution struct {
	Status    Status
	HasPoint  bool
	Values    []float64 // by variable; empty without a point
	Objective float64
	Bound     float64 // proved: no point is better than this
	Nodes     int64
	Seconds   float64
	// Duals are the rows' prices: by how much the objective rises per unit of the row's limit. Only for models without whole
	// numbers (or with Options.Relax).
	Duals []float64
	Why   string // of a stop, in words
}

// Gap is the proved distance between point and bound as a share of the point's objective: 0 when proved best, +Inf without a
// point or a bound.
func (s *Solution) Gap() float64 {
	if !s.HasPoint || math.IsInf(s.Bound, 0) || math.IsNaN(s.Bound) {
		return Inf
	}
	d := math.Abs(s.Bound - s.Objective)
	if d == 0 {
		return 0
	}
	return d / math.Max(math.Abs(s.Objective), 1e-12)
}

// On tells whether a 0-or-1 variable is on.
func (s *Solution) On(v Var) bool { return s.HasPoint && s.Values[v] > 0.5 }

// ErrSolver is wrapped by every error of a solver that broke down: it ran out of memory, crashed, or refused the model. What
// was known before the call is still true.
var ErrSolver = errors.New("the solver broke down")

// Solver solves models. A cancelled context stops the solve: the best point so far comes back as [Stopped], not as an error.
type Solver interface {
	Solve(ctx context.Context, m *Model, opt Options) (Solution, error)
}
