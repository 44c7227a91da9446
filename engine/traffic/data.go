package traffic

import (
	"errors"
	"fmt"
	"math"

	"thwart/engine/num"
)

// Distances gives road distances between waters. Implementations must be safe for concurrent use.
type Distances interface {
	// LogKM fills row[j] with log(km) from water i to every water j; row[i] is not looked at.
	LogKM(i int, row []float64)
}

// Matrix is distances as a matrix in kilometres.
type Matrix [][]float64

// LogKM fills a row.
func (m Matrix) LogKM(i int, row []float64) {
	for j, km := range m[i] {
		row[j] = math.Log(km)
	}
}

// Table keeps the logarithms of symmetric distances in single precision: 4 n² bytes, exact to one part in ten million. Both directions
// are kept, for a row that lies in one piece is read many times faster than one that is gathered from all others.
type Table struct {
	n   int
	log []float32
}

// NewTable fills a table by a function of two waters that gives kilometres. The function is called from several goroutines.
func NewTable(n int, km func(i, j int) float64) *Table {
	t := &Table{n: n, log: make([]float32, n*n)}
	inBlocks(n, func(from, to, _ int) {
		for i := from; i < to; i++ {
			for j := range i {
				t.log[i*n+j] = float32(math.Log(km(i, j)))
			}
		}
	})
	inBlocks(n, func(from, to, _ int) { // rows of a piece together: what is read lies side by side
		for j := from + 1; j < n; j++ {
			for i := from; i < min(to, j); i++ {
				t.log[i*n+j] = t.log[j*n+i]
			}
		}
	})
	return t
}

// LogKM fills a row.
func (t *Table) LogKM(i int, row []float64) {
	for j, x := range t.log[i*t.n : (i+1)*t.n] {
		row[j] = float64(x)
	}
}

// Cell is craft met at water To that were last in water From.
type Cell struct {
	From, To int32
	Count    float64
}

// Data is what the model is fitted to. All slices but Cells have one number per water.
type Data struct {
	Origin []float64 // what sends craft: above 0
	Pull   []float64 // what draws craft: above 0
	// Inside says which waters receive craft; the others are sources outside the region.
	Inside []bool
	// Sends says which waters send craft; nil = all.
	Sends []bool
	// Effort is the share of a season's arrivals that could have been met and told where they came from, 0 to 1. 0 = nobody
	// was there: the water's counts are missing, not zero.
	Effort []float64
	Roads  Distances
	Cells  []Cell    // pairs with at least one record; From ≠ To; each pair once
	Return []float64 // craft met that came back to the water they were last in
}

// Errors of data that carry no estimate.
var (
	ErrNoEffort = errors.New("effort: no water was staffed; counts without hours say nothing of traffic")
	ErrOneWater = errors.New("effort: only one water was staffed, so what draws craft cannot be told from how many there are; staff a second water")
	ErrNothing  = errors.New("counts: no craft was met that came from another water, so flows between waters cannot be estimated")
)

func (d *Data) check() error {
	n := len(d.Origin)
	if len(d.Pull) != n || len(d.Inside) != n || len(d.Effort) != n || len(d.Return) != n {
		return fmt.Errorf("waters: %d, %d, %d, %d and %d numbers of origin, pull, inside, effort and return; accepted: one each per water",
			n, len(d.Pull), len(d.Inside), len(d.Effort), len(d.Return))
	}
	if d.Sends != nil && len(d.Sends) != n {
		return fmt.Errorf("sends: %d answers; accepted: one per water, or none", len(d.Sends))
	}
	if d.Roads == nil {
		return errors.New("roads: none; accepted: a distance for every pair of waters")
	}
	staffed, sum := 0, 0.0
	var first float64
	differ := false
	for i := range n {
		for _, c := range []struct {
			name string
			err  error
		}{
			{"origin", num.Positive("", d.Origin[i])}, {"pull", num.Positive("", d.Pull[i])},
			{"effort", num.Within("", d.Effort[i], 0, 1)}, {"return", num.NotNegative("", d.Return[i])},
		} {
			var e *num.RangeError
			if errors.As(c.err, &e) {
				e.Field = fmt.Sprintf("%s of water %d", c.name, i)
				return e
			}
		}
		if d.Effort[i] == 0 || !d.Inside[i] {
			continue
		}
		staffed++
		if staffed == 1 {
			first = d.Pull[i]
		}
		differ = differ || d.Pull[i] != first
	}
	for k, c := range d.Cells {
		if c.From < 0 || int(c.From) >= n || c.To < 0 || int(c.To) >= n || c.From == c.To {
			return fmt.Errorf("cells[%d]: from %d to %d; accepted: two different waters, 0 to %d", k, c.From, c.To, n-1)
		}
		if err := num.NotNegative(fmt.Sprintf("cells[%d].count", k), c.Count); err != nil {
			return err
		}
		if c.Count > 0 && (d.Effort[c.To] == 0 || !d.Inside[c.To]) {
			return fmt.Errorf("cells[%d]: %g craft met at water %d, where nobody was staffed", k, c.Count, c.To)
		}
		sum += c.Count
	}
	switch {
	case staffed == 0:
		return ErrNoEffort
	case staffed == 1 || !differ:
		return ErrOneWater
	case sum == 0:
		return ErrNothing
	}
	return nil
}

func (d *Data) sends(i int) bool { return d.Sends == nil || d.Sends[i] }
