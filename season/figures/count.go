package figures

import (
	"math/bits"
	"slices"

	"thwart/engine/num"
	"thwart/season"
)

// counter counts cases by shift for one part of a season after the other. What is asked of a craft is asked once, however many parts
// it is in; a season of a million craft is then split many ways in a second or so.
type counter struct {
	in, hit []uint64    // of each encounter of the Book: the specs whose denominator it is in, and whose case it is; bit by index in specs
	cells   []cell      // of each shift of the Book and spec; zero between two parts
	one     []int32     // of each shift; zero likewise
	groups  []num.Count // room for the groups of one figure
}

type cell struct{ x, n int32 }

func (w *worker) counter() *counter {
	if w.counts != nil {
		return w.counts
	}
	c := &counter{
		in: make([]uint64, len(w.book.Encounters)), hit: make([]uint64, len(w.book.Encounters)),
		cells: make([]cell, len(w.book.Shifts)*len(specs)), one: make([]int32, len(w.book.Shifts)),
	}
	for _, i := range w.enc {
		e := &w.book.Encounters[i]
		for k := range specs {
			s := &specs[k]
			if !s.in(e) {
				continue
			}
			c.in[i] |= 1 << k
			if s.hit != nil && s.hit(e) {
				c.hit[i] |= 1 << k
			}
		}
	}
	w.counts = c
	return c
}

// groups are craft by the shift they were met in.
type groups struct {
	shifts []int32 // in order
	met    []int32 // in each shift
	alone  []int32 // craft without a shift, each a group of its own; the latest first
}

func (w *worker) groups(enc []int32) groups {
	var g groups
	c := w.counter()
	for _, i := range enc {
		s := w.book.Encounters[i].Shift
		if s == season.None {
			g.alone = append(g.alone, i)
			continue
		}
		if c.one[s]++; c.one[s] == 1 {
			g.shifts = append(g.shifts, s)
		}
	}
	slices.Sort(g.shifts)
	slices.Reverse(g.alone)
	for _, s := range g.shifts {
		g.met = append(g.met, c.one[s])
		c.one[s] = 0
	}
	return g
}

// craft computes every figure of a part that counts craft.
func (w *worker) craft(p part) []Figure {
	c, n := w.counter(), len(specs)
	by := w.groups(p.enc)
	for _, i := range p.enc {
		s := w.book.Encounters[i].Shift
		if s == season.None {
			continue
		}
		row := c.cells[int(s)*n : int(s)*n+n]
		for in := c.in[i]; in != 0; in &= in - 1 {
			k := bits.TrailingZeros64(in)
			row[k].n++
			row[k].x += int32(c.hit[i] >> k & 1)
		}
	}
	out := make([]Figure, 0, n)
	for k, s := range specs {
		c.groups = c.groups[:0]
		for _, i := range by.alone {
			if c.in[i]>>k&1 == 1 {
				c.groups = append(c.groups, num.Count{X: int(c.hit[i] >> k & 1), N: 1})
			}
		}
		for _, i := range by.shifts {
			if x := c.cells[int(i)*n+k]; x.n > 0 {
				c.groups = append(c.groups, num.Count{X: int(x.x), N: int(x.n)})
			}
		}
		out = append(out, w.counted(s, p, c.groups))
	}
	for _, i := range by.shifts {
		clear(c.cells[int(i)*n : int(i)*n+n])
	}
	return out
}

// figure computes one figure that is not among the specs: cases among some craft, both in time order.
func (w *worker) figure(s spec, p part, among groups, cases []int32) Figure {
	c := w.counter()
	var alone []int32
	for _, i := range cases {
		if s := w.book.Encounters[i].Shift; s == season.None {
			alone = append(alone, i)
		} else {
			c.one[s]++
		}
	}
	c.groups = c.groups[:0]
	for _, i := range among.alone {
		g := num.Count{N: 1}
		if last := len(alone) - 1; last >= 0 && alone[last] == i {
			g.X, alone = 1, alone[:last]
		}
		c.groups = append(c.groups, g)
	}
	for k, i := range among.shifts {
		c.groups = append(c.groups, num.Count{X: int(c.one[i]), N: int(among.met[k])})
		c.one[i] = 0
	}
	return w.counted(s, p, c.groups)
}

// counted writes a figure from the cases and craft of its groups.
func (w *worker) counted(s spec, p part, groups []num.Count) Figure {
	f := Figure{ID: s.id, Label: s.label, Unit: UnitCount, How: s.how, Of: s.of, Records: w.q.address(s.id, p.by, p.key), Known: true}
	var all num.Count
	for _, g := range groups {
		all = all.Plus(g)
	}
	if s.hit == nil && s.in != nil {
		f.Value = float64(all.N)
		return f
	}
	f.Unit, f.X, f.N = UnitShare, all.X, all.N
	share, effective, ok := Share(groups)
	if f.Known = ok; ok {
		f.Value, f.Interval, f.Effective = share.Mid, &share, effective
	}
	return f
}
