package siting

import "math"

// The prices that make the limit lowest and the fractional plan that is best at them are the saddle of one function, and they are
// found together: a primal-dual gradient method (Chambolle & Pock 2011, J. Math. Imaging Vis. 40:120-145) with a step for every
// variable from the sums of its coefficients (Pock & Chambolle 2011, ICCV), that begins again from the average of its points when
// that has come much nearer (Applegate et al. 2021, NeurIPS, from memory). A round costs two additions for each choice that a passage
// is met by, and no equations are solved.

// steps sets the length of step of every variable.
func (l *limiter) steps() {
	l.tau = make([]float64, len(l.p.Choices))
	l.sigma = make([]float64, len(l.weight))
	l.sigmaR = make([]float64, len(l.rows))
	for i, w := range l.weight {
		cuts := l.cuts[l.firstCut[i]:l.firstCut[i+1]]
		var most float64
		var off [Places]float64
		for n := range cuts {
			var sum float64
			for _, m := range l.meets[l.firstMeet[i]:l.firstMeet[i+1]] {
				sum += cuts[n].off[m.place] * m.q
			}
			most = math.Max(most, sum)
			off[0] += cuts[n].off[0]
			off[1] += cuts[n].off[1]
		}
		for _, m := range l.meets[l.firstMeet[i]:l.firstMeet[i+1]] {
			l.tau[m.choice] += w * off[m.place] * m.q
		}
		if most > 0 {
			l.sigma[i] = 1 / (w * most)
		}
	}
	// Rules and needs are in units of their own: their coefficients are brought to the size of what passages give to a choice.
	gives := make([]float64, len(l.p.Choices))
	for i, w := range l.weight {
		for _, m := range l.meets[l.firstMeet[i]:l.firstMeet[i+1]] {
			gives[m.choice] += w * m.q
		}
	}
	var typical, rules float64
	n := 0
	for k, v := range gives {
		rules += float64(len(l.inRows[k]))
		if v > 0 {
			typical, n = typical+v, n+1
		}
	}
	typical = math.Max(typical/math.Max(1, float64(n)), 1e-12)
	each := pressing * typical / math.Max(1, rules/float64(len(l.p.Choices)))
	l.unit = make([]float64, len(l.rows))
	for r := range l.rows {
		var sum float64
		for _, t := range l.rows[r].Parts {
			sum += math.Abs(t.Amount)
		}
		if sum == 0 {
			continue
		}
		mean := sum / float64(len(l.rows[r].Parts))
		scale := each / mean
		l.unit[r] = typical / mean
		l.sigmaR[r] = scale / sum
		if !l.rowIn[r] {
			for _, t := range l.rows[r].Parts {
				l.tau[t.Choice] += scale * math.Abs(t.Amount)
			}
		}
	}
	l.sigmaN, l.needUnit = typical/2, typical
	for _, n := range l.needs {
		l.tau[n[0]] += typical
		l.tau[n[1]] += typical
	}
	for k, t := range l.tau {
		l.tau[k] = 1 / math.Max(t, 1e-12)
	}
	for _, members := range l.groups { // a projection on a group wants one length
		least := math.Inf(1)
		for _, k := range members {
			least = math.Min(least, l.tau[k])
		}
		for _, k := range members {
			l.tau[k] = least
		}
	}
}

// capped moves v to the nearest point with no part below 0 and a sum of at most 1.
func capped(v []float64) {
	var sum float64
	for i, x := range v {
		if x < 0 {
			v[i] = 0
		}
		sum += v[i]
	}
	if sum <= 1 {
		return
	}
	for { // Michelot 1986, J. Optim. Theory Appl. 50:195-200
		var sum float64
		n := 0
		for _, x := range v {
			if x > 0 {
				sum, n = sum+x, n+1
			}
		}
		over := (sum - 1) / float64(n)
		again := false
		for i, x := range v {
			if x > 0 {
				if v[i] = x - over; v[i] < 0 {
					v[i], again = 0, true
				}
			}
		}
		if !again {
			return
		}
	}
}

// pressing is how much larger the coefficients of all rules that a choice is in are together than what it gives: prices
// of rules must move further than those of passages, for many choices hang on each.
const pressing = 20

// settled is the share of the limit within which the prices and the fractional plan prove each other best.
const settled = 2e-5

// limit improves the prices for some rounds and returns the best limit with its prices; it stops when no plan can be better than the
// one known.
func (l *limiter) limit(p *prices, known float64, rounds int) *prices {
	at, best := p.clone(), p.clone()
	at.bound = l.price(at)
	best.copyFrom(at)
	from, mean := at.clone(), l.begin()
	ahead := make([]float64, len(at.x))
	weight, since, merit := p.weight, 0, math.Inf(1)
	for round := 1; round <= rounds; round++ {
		l.forth(at.x, ahead, weight)
		at.bound = l.back(at, ahead, weight)
		if at.bound < best.bound {
			best.copyFrom(at)
		}
		since++
		mean.add(at, 1/float64(since))
		if round%16 != 0 {
			continue
		}
		reduce := l.reduce
		l.reduce = l.spare
		mean.bound = l.price(mean)
		l.reduce, l.spare = reduce, l.reduce
		if mean.bound < best.bound {
			best.copyFrom(mean)
		}
		if best.bound <= known*(1+1e-9) {
			break
		}
		now, nearer := l.off(mean), mean
		if m := l.off(at); m < now {
			now, nearer = m, at
		}
		if now <= settled*best.bound {
			break
		}
		if now <= 0.4*merit || float64(since) >= 0.36*float64(round) {
			merit = now
			if nearer == mean {
				at.copyFrom(mean)
				l.price(at)
			}
			if dx, dy := l.apart(at, from); dx > 0 && dy > 0 { // so far, prices had that much further to go
				weight = math.Sqrt(weight * dy / dx)
			}
			from.copyFrom(at)
			since = 0
		}
	}
	best.weight = weight
	return best
}

// forth moves the choices along what they give, and says where they would be after another such step.
func (l *limiter) forth(x, ahead []float64, weight float64) {
	copy(ahead, x)
	for k, v := range l.reduce {
		x[k] += l.tau[k] / weight * v
	}
	for _, k := range l.alone {
		switch l.p.Choices[k].Pin {
		case In:
			x[k] = 1
		case Out:
			x[k] = 0
		default:
			x[k] = min(1, max(0, x[k]))
		}
	}
	v := l.few
	for _, members := range l.groups {
		v = v[:0]
		for _, k := range members {
			if l.p.Choices[k].Pin == Out {
				x[k] = -1
			}
			v = append(v, x[k])
		}
		capped(v)
		for i, k := range members {
			x[k] = v[i]
		}
	}
	l.few = v
	for k, old := range ahead {
		ahead[k] = 2*x[k] - old
	}
}

// back moves the prices against the choices, computes what choices give at the new ones, and the limit there.
func (l *limiter) back(p *prices, x []float64, weight float64) float64 {
	clear(l.reduce)
	var total float64
	for i, w := range l.weight {
		meets := l.meets[l.firstMeet[i]:l.firstMeet[i+1]]
		var at [Places]float64
		for _, m := range meets {
			at[m.place] += m.q * x[m.choice]
		}
		keep := [Places]float64{w, w}
		cuts, share := l.cuts[l.firstCut[i]:l.firstCut[i+1]], p.cut[l.firstCut[i]:l.firstCut[i+1]]
		step := l.sigma[i] * weight * w
		for n := range cuts {
			c := &cuts[n]
			share[n] -= step * (c.at - c.off[0]*at[0] - c.off[1]*at[1])
		}
		if len(share) == 1 {
			share[0] = min(1, max(0, share[0]))
		} else {
			capped(share)
		}
		for n, v := range share {
			v *= w
			total += v * cuts[n].at
			keep[0] -= v * cuts[n].off[0]
			keep[1] -= v * cuts[n].off[1]
		}
		for _, m := range meets {
			l.reduce[m.choice] += keep[m.place] * m.q
		}
	}
	l.activity(x)
	for r := range l.rows {
		if s := l.sigmaR[r] * weight; s > 0 && !l.rowIn[r] {
			v := p.rule[r] + s*l.act[r]
			p.rule[r] = 0
			switch row := &l.rows[r]; { // exactly 0 where nothing presses: the limit of a side may be infinite
			case v > s*row.Hi:
				p.rule[r] = v - s*row.Hi
			case v < s*row.Lo:
				p.rule[r] = v - s*row.Lo
			}
		}
	}
	for i, n := range l.needs {
		p.need[i] = max(0, p.need[i]+l.sigmaN*weight*(x[n[0]]-x[n[1]]))
	}
	return total + l.priceRows(p)
}

func (l *limiter) activity(x []float64) {
	clear(l.act)
	for k, v := range x {
		if v != 0 {
			for _, t := range l.inRows[k] {
				l.act[t.Choice] += t.Amount * v
			}
		}
	}
}

// worth is what a fractional plan stops by the cuts.
func (l *limiter) worth(x []float64) (total float64) {
	for i, w := range l.weight {
		var at [Places]float64
		for _, m := range l.meets[l.firstMeet[i]:l.firstMeet[i+1]] {
			at[m.place] += m.q * x[m.choice]
		}
		least := 0.0
		for _, c := range l.cuts[l.firstCut[i]:l.firstCut[i+1]] {
			least = min(least, c.at-c.off[0]*at[0]-c.off[1]*at[1])
		}
		total += w * (at[0] + at[1] + least)
	}
	return total
}

// off is how far a point is from the saddle, in value. A fractional plan that breaks rules may be worth more than the limit.
func (l *limiter) off(p *prices) float64 { return math.Abs(p.bound-l.worth(p.x)) + l.missing(p) }

// missing is by how much a fractional plan breaks rules and needs, at the prices or, for a rule without one yet, at a tenth of what a choice
// that takes one unit of it is about worth.
func (l *limiter) missing(p *prices) (total float64) {
	l.activity(p.x)
	for r := range l.rows {
		if !l.rowIn[r] {
			over := max(0, l.act[r]-l.rows[r].Hi, l.rows[r].Lo-l.act[r])
			total += max(math.Abs(p.rule[r]), l.unit[r]/10) * over
		}
	}
	for i, n := range l.needs {
		total += max(p.need[i], l.needUnit/10) * max(0, p.x[n[0]]-p.x[n[1]])
	}
	return total
}

// apart is how far two points are from each other, choices and prices by themselves, in the length of their steps.
func (l *limiter) apart(a, b *prices) (choices, prices float64) {
	for k := range a.x {
		d := a.x[k] - b.x[k]
		choices += d * d / l.tau[k]
	}
	for i, s := range l.sigma {
		if s == 0 {
			continue
		}
		for n := l.firstCut[i]; n < l.firstCut[i+1]; n++ {
			d := a.cut[n] - b.cut[n]
			prices += d * d / s
		}
	}
	for r, s := range l.sigmaR {
		if s > 0 {
			d := a.rule[r] - b.rule[r]
			prices += d * d / s
		}
	}
	for i := range a.need {
		d := a.need[i] - b.need[i]
		prices += d * d / l.sigmaN
	}
	return math.Sqrt(choices), math.Sqrt(prices)
}

// add moves a mean by one more point.
func (p *prices) add(q *prices, share float64) {
	for _, v := range [][2][]float64{{p.cut, q.cut}, {p.rule, q.rule}, {p.need, q.need}, {p.x, q.x}} {
		to := v[0]
		for i, x := range v[1] {
			to[i] += share * (x - to[i])
		}
	}
}
