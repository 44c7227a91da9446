package siting

import (
	"context"
	"math/rand/v2"

	"thwart/engine/num"
)

// shake tears up a part of the plan and makes it anew, again and again, and keeps what is better or hardly worse: ruin and
// recreate (Schrimpf et al. 2000, J. Comput. Phys. 159:139-171) with record-to-record travel (Dueck 1993, J. Comput. Phys.
// 104:86-92). Half of the times the part is what is near: choices that share passages or rules of few.
func (x *index) shake(ctx context.Context, best *state, dear []float64, e Effort, done func(value float64) bool) *state {
	r := num.Stream(e.Seed, "shake")
	s := x.state(best.chosen)
	balancing := x.balancing()
	const slip = 0.002 // how much worse than the record a plan may be and still be gone on from
	for range e.Shakes {
		if ctx.Err() != nil || best.missed() == 0 && done(best.value) {
			break
		}
		s.log = s.log[:0]
		value := s.value
		s.ruin(r, 1+r.IntN(8))
		if r.IntN(2) == 0 {
			s.noise = r
		}
		var allow []float64
		if best.missed() > 0 || r.IntN(4) == 0 {
			allow = balancing
		}
		s.settle(dear, allow)
		s.noise = nil
		switch {
		case better(s, best):
			best = x.state(s.chosen)
		case s.missed() > best.missed() || s.value < best.value*(1-slip):
			s.undo(0)
			s.value = value
		}
	}
	return best
}

// ruin takes out a share of the chosen (one to eight in 64), near each other or anywhere.
func (s *state) ruin(r *rand.Rand, share int) {
	var chosen []int
	for k, on := range s.chosen {
		if on && s.p.Choices[k].Pin != In {
			chosen = append(chosen, k)
		}
	}
	if len(chosen) == 0 {
		return
	}
	n := 1 + len(chosen)*share/64
	out := func(k int) {
		if !s.chosen[k] {
			return
		}
		for _, o := range s.without(k) {
			s.flip(o)
			n--
		}
	}
	if r.IntN(2) == 0 {
		for n > 0 {
			before := n
			out(chosen[r.IntN(len(chosen))])
			if n == before && r.IntN(len(chosen)) == 0 {
				return // all that could go are gone
			}
		}
		return
	}
	seen := map[int]bool{}
	around := []int{chosen[r.IntN(len(chosen))]}
	for i := 0; i < len(around) && n > 0; i++ {
		k := around[i]
		out(k)
		for _, g := range s.passages[k] {
			for _, m := range s.p.Passages[g].Meets {
				if s.chosen[m.Choice] && !seen[m.Choice] {
					seen[m.Choice] = true
					around = append(around, m.Choice)
				}
			}
		}
	}
}
