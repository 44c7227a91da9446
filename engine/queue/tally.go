package queue

import (
	"math"
	"slices"

	"thwart/engine/num"
)

// z99 is the normal quantile of a two-sided 99 % interval.
const z99 = 2.5758293035489004

// sums holds one total for each simulated day.
type sums struct{ arrivals, inspected, wait, late, away, left, washed, washWait, over []float64 }

func newSums(days int) sums {
	return sums{
		make([]float64, days), make([]float64, days), make([]float64, days), make([]float64, days), make([]float64, days),
		make([]float64, days), make([]float64, days), make([]float64, days), make([]float64, days),
	}
}

// tally gathers simulated days.
type tally struct {
	p          *Ramp
	days       int
	all        sums
	byHour     []sums
	waits      [][]float32 // minutes, by the hour they came in
	washes     [][]float32
	busy, bays []float64 // hours of work, by hour
	sample     []QueuedCraft
}

func newTally(p *Ramp, days int) *tally {
	n := len(p.ArrivalsPerH)
	t := &tally{p: p, days: days, all: newSums(days), waits: make([][]float32, n), washes: make([][]float32, n), busy: make([]float64, n), bays: make([]float64, n)}
	for range n {
		t.byHour = append(t.byHour, newSums(days))
	}
	return t
}

func (t *tally) add(day int, boats []visit) {
	close := float64(len(t.byHour))
	for i := range boats {
		b := &boats[i]
		h := int(b.Came)
		for _, s := range []*sums{&t.all, &t.byHour[h]} {
			s.count(day, b, t.p.TargetMin)
		}
		t.all.over[day] = math.Max(t.all.over[day], 60*(b.Gone-close))
		if b.Lane >= 0 {
			t.waits[h] = append(t.waits[h], float32(60*(b.Began-b.Came)))
			t.work(t.busy, b.Began, b.Ended)
		}
		if b.Bay >= 0 {
			w := min(int(b.Ended), len(t.byHour)-1)
			t.washes[w] = append(t.washes[w], float32(60*(b.WashOn-b.Ended)))
			t.work(t.bays, b.WashOn, b.WashOff)
		}
		if day == 0 {
			t.sample = append(t.sample, b.shown(t.p.From))
		}
	}
}

func (s *sums) count(day int, b *visit, targetMin float64) {
	s.arrivals[day]++
	late := true
	switch b.Fate {
	case "turned_away":
		s.away[day]++
	case "left":
		s.left[day]++
	default:
		wait := 60 * (b.Began - b.Came)
		s.inspected[day]++
		s.wait[day] += wait
		late = wait > targetMin
	}
	if late {
		s.late[day]++
	}
	if b.Bay >= 0 {
		s.washed[day]++
		s.washWait[day] += 60 * (b.WashOn - b.Ended)
	}
}

func (t *tally) work(into []float64, from, to float64) {
	for h := int(from); h < len(into) && float64(h) < to; h++ {
		into[h] += busyIn(h, from, to)
	}
}

func (v *visit) shown(from int) QueuedCraft {
	b, f := v.QueuedCraft, float64(from)
	b.Came += f
	b.Gone += f
	if b.Lane >= 0 {
		b.Began += f
		b.Ended += f
	}
	if b.Bay >= 0 {
		b.WashOn += f
		b.WashOff += f
	}
	b.Lane++
	b.Bay++
	return b
}

func (t *tally) result(p *Ramp) RampResult {
	r := RampResult{
		Days: t.days, Seed: p.Seed, Sample: t.sample, Arrivals: meanOf(t.all.arrivals), WaitMin: ratio(t.all.wait, t.all.inspected),
		Late: ratio(t.all.late, t.all.arrivals), TurnedAway: meanOf(t.all.away), Left: meanOf(t.all.left), Washed: meanOf(t.all.washed),
		WashWaitMin: ratio(t.all.washWait, t.all.washed), OvertimeMin: meanOf(t.all.over),
	}
	if r.Sample == nil {
		r.Sample = []QueuedCraft{}
	}
	r.MedianMin, r.P95Min = middleAnd95(slices.Concat(t.waits...))
	_, r.WashP95Min = middleAnd95(slices.Concat(t.washes...))
	slices.Sort(t.all.over)
	r.Overtime95 = num.Quantile(t.all.over, 0.95)
	for h := range t.byHour {
		s := &t.byHour[h]
		x := RampHour{
			Hour: p.From + h, Arrivals: meanOf(s.arrivals), WaitMin: ratio(s.wait, s.inspected), Late: ratio(s.late, s.arrivals).Mid,
			TurnedAway: meanOf(s.away).Mid, Left: meanOf(s.left).Mid, Busy: t.shareOf(t.busy[h], p.Stewards[h]),
		}
		if p.Bays != nil {
			x.BaysBusy = t.shareOf(t.bays[h], p.Bays[h])
		}
		x.MedianMin, x.P95Min = middleAnd95(t.waits[h])
		_, x.WashP95Min = middleAnd95(t.washes[h])
		r.Hours = append(r.Hours, x)
	}
	return r
}

// shareOf is hours of work over hours on duty. Work that runs on after duty can make it a little more than all.
func (t *tally) shareOf(work float64, people int) float64 {
	if people == 0 {
		return 0
	}
	return math.Min(1, work/float64(t.days)/float64(people))
}

func middleAnd95(waits []float32) (median, p95 float64) {
	if len(waits) == 0 {
		return 0, 0
	}
	sorted := make([]float64, len(waits))
	for i, w := range waits {
		sorted[i] = float64(w)
	}
	slices.Sort(sorted)
	return num.Quantile(sorted, 0.5), num.Quantile(sorted, 0.95)
}

func meanOf(x []float64) num.Interval {
	ones := make([]float64, len(x))
	for i := range ones {
		ones[i] = 1
	}
	return ratio(x, ones)
}

// ratio is the sum of x over the sum of n with its 99 % interval over days, which are independent: the usual linear error of a
// ratio. Without any n there is nothing to show and it is 0.
func ratio(x, n []float64) num.Interval {
	var sx, sn float64
	for i := range x {
		sx += x[i]
		sn += n[i]
	}
	if sn == 0 {
		return num.Interval{}
	}
	r, d := sx/sn, float64(len(x))
	if len(x) < 2 {
		return num.Interval{Lo: 0, Mid: r, Hi: math.MaxFloat64}
	}
	var ss float64
	for i := range x {
		e := x[i] - r*n[i]
		ss += e * e
	}
	half := z99 * math.Sqrt(ss/(d-1)/d) / (sn / d)
	return num.Interval{Lo: math.Max(0, r-half), Mid: r, Hi: r + half}
}
