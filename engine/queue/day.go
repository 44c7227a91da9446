package queue

import (
	"errors"
	"fmt"
	"math"

	"thwart/engine/num"
)

// Day is a launch or a pad by the hour, with random arrivals at a rate that changes from hour to hour, exponential service and
// a crew that changes from hour to hour. Where the crew shrinks, a craft in service beyond it waits again.
type Day struct {
	From         int       // hour of day at which it begins, with nobody there
	ArrivalsPerH []float64 // by hour
	Servers      []int     // by hour; 0 = closed
	ServedPerH   float64   // by one server
	LeavePerH    float64   // drive away per hour of waiting each; 0 = nobody does
	Places       int       // craft there at once, in service or waiting; 0 = 150. Who finds them full is turned away
}

// Hour is what happens in one hour of a [Day].
type Hour struct {
	Hour        int
	Arrivals    float64
	Servers     int
	Present     float64 // mean number there
	Waiting     float64 // mean number waiting
	Utilisation float64 // of the crew
	EndPresent  float64 // mean number there as the hour ends
	TurnedAway  float64 // found no place
	Left        float64 // drove away
	Late        float64 // share of those who arrive that would have to wait longer than the target
}

// DayResult is a [Day] computed.
type DayResult struct {
	Hours      []Hour
	Arrivals   float64
	WaitH      float64 // mean wait, in hours, of those who found a place: craft-hours of waiting over craft
	WaitingH   float64 // craft-hours of waiting
	Late       float64 // share of all arrivals that wait longer than the target or are turned away
	TurnedAway float64
	Left       float64 // drove away
	AtClose    float64 // craft still there at the end
	TargetH    float64
}

func (d *Day) check() error {
	var errs []error
	if len(d.ArrivalsPerH) == 0 || len(d.ArrivalsPerH) > 48 {
		errs = append(errs, &num.RangeError{Field: "hours", Value: float64(len(d.ArrivalsPerH)), Accepted: "1 to 48 hours of arrivals"})
	}
	if len(d.Servers) != len(d.ArrivalsPerH) {
		errs = append(errs, &num.RangeError{Field: "servers by hour", Value: float64(len(d.Servers)), Accepted: fmt.Sprintf("as many hours as arrivals have, %d", len(d.ArrivalsPerH))})
	}
	for _, a := range d.ArrivalsPerH {
		errs = append(errs, num.Within("arrivals per hour", a, 0, 1000))
	}
	for _, c := range d.Servers {
		errs = append(errs, wholeWithin("servers", c, 0, MaxServers))
	}
	errs = append(errs, num.Positive("served per hour", d.ServedPerH), num.Within("served per hour", d.ServedPerH, 0, 3600),
		num.Within("drive away per hour", d.LeavePerH, 0, 3600), wholeWithin("places", d.Places, 0, MaxPlaces))
	return errors.Join(errs...)
}

// arrivalsAt is how many moments of an hour stand for all in the share of late craft.
const arrivalsAt = 12

// Compute integrates the day. targetH is the wait in hours beyond which a craft counts as late.
func (d *Day) Compute(targetH float64) (DayResult, error) {
	if err := errors.Join(d.check(), num.Within("target wait in hours", targetH, 0, 24)); err != nil {
		return DayResult{}, err
	}
	w := newWalk(d)
	r := DayResult{TargetH: targetH}
	for h := range d.ArrivalsPerH {
		w.hour(h, targetH)
		x := w.out
		r.Hours = append(r.Hours, x)
		r.Arrivals += x.Arrivals
		r.WaitingH += x.Waiting
		r.TurnedAway += x.TurnedAway
		r.Left += x.Left
		r.Late += x.Late * x.Arrivals
		r.AtClose = x.EndPresent
	}
	if r.Arrivals > 0 {
		r.Late /= r.Arrivals
		if in := r.Arrivals - r.TurnedAway; in > 0 {
			r.WaitH = r.WaitingH / in
		}
	}
	return r, nil
}

// walk holds the distribution of craft present as the day goes on.
type walk struct {
	d      *Day
	places int
	p      []float64 // chance of n craft present
	v, sum []float64 // work space
	ahead  []float64
	next   []float64
	out    Hour
}

func newWalk(d *Day) *walk {
	w := &walk{d: d, places: d.Places}
	if w.places == 0 {
		w.places = 150
	}
	n := w.places + 1
	w.p, w.v, w.sum, w.ahead, w.next = make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
	w.p[0] = 1
	return w
}

func (w *walk) hour(h int, target float64) {
	d := w.d
	lambda, c := d.ArrivalsPerH[h], d.Servers[h]
	w.out = Hour{Hour: d.From + h, Arrivals: lambda, Servers: c}
	for step := range arrivalsAt {
		// The middle of a step stands for it; a craft's wait depends on who is there then and on the crews to come.
		const dt = 1.0 / arrivalsAt
		w.advance(lambda, c, dt/2)
		if lambda > 0 {
			w.out.Late += w.late(float64(h)+(float64(step)+0.5)*dt, target) * dt
		}
		w.advance(lambda, c, dt/2)
	}
	if c > 0 {
		w.out.Utilisation /= float64(c)
	}
	for n, p := range w.p {
		w.out.EndPresent += float64(n) * p
	}
}

// advance moves the distribution on by dt hours and adds the time means. Uniformisation: the chain looked at by a Poisson clock
// of rate r that is never slower than the chain (Jensen 1953); all terms are positive, so nothing cancels.
func (w *walk) advance(lambda float64, c int, dt float64) {
	for rate := lambda + w.busiest(c); rate*dt > mostTicks; dt -= mostTicks / rate {
		w.advance(lambda, c, mostTicks/rate)
	}
	rate := lambda + w.busiest(c)
	if rate == 0 {
		w.means(w.p, lambda, c, dt)
		return
	}
	clear(w.sum)
	clear(w.next)
	copy(w.v, w.p)
	top := len(w.p) - 1 // no chance worth counting lies above
	for top > 0 && w.p[top] < 1e-18 {
		top--
	}
	mean := rate * dt
	weight := math.Exp(-mean)
	above := 1 - weight // chance of more than k ticks
	for k := 0; ; k++ {
		for n, v := range w.v[:top+1] {
			w.next[n] += weight * v
			w.sum[n] += above / rate * v
		}
		if above < 1e-14 && float64(k) > mean {
			break
		}
		top = min(top+1, len(w.p)-1)
		w.tick(lambda/rate, c, rate, top)
		weight *= mean / float64(k+1)
		above = math.Max(0, above-weight)
	}
	w.means(w.sum, lambda, c, 1)
	copy(w.p, w.next)
}

// mostTicks of the Poisson clock at once keep its smallest chance, exp(-mostTicks), above zero.
const mostTicks = 500

// busiest is how fast craft can go at most.
func (w *walk) busiest(c int) float64 {
	return math.Max(w.deaths(w.places, c), float64(min(c, w.places))*w.d.ServedPerH)
}

// tick is one step of the uniformised chain, in place; nobody is above top after it.
func (w *walk) tick(up float64, c int, rate float64, top int) {
	before := 0.0                 // what came up from n-1
	gone := w.deaths(0, c) / rate // of n
	for n := range top + 1 {
		here, down, next := w.v[n], 0.0, 0.0
		stay := 1 - gone
		if n < len(w.v)-1 {
			next = w.deaths(n+1, c) / rate
			down = w.v[n+1] * next
			stay -= up
		}
		w.v[n] = here*stay + before + down
		before, gone = here*up, next
	}
}

func (w *walk) deaths(n, c int) float64 {
	return float64(min(n, c))*w.d.ServedPerH + float64(max(0, n-c))*w.d.LeavePerH
}

// means adds what a time spent in each state brings.
func (w *walk) means(spent []float64, lambda float64, c int, dt float64) {
	for n, p := range spent {
		p *= dt
		w.out.Present += p * float64(n)
		w.out.Waiting += p * float64(max(0, n-c))
		w.out.Utilisation += p * float64(min(n, c))
	}
	w.out.TurnedAway += lambda * dt * spent[len(spent)-1]
	w.out.Left = w.out.Waiting * w.d.LeavePerH
}

// late is the chance that a craft which arrives at a moment, hours after the day's begin, and has patience waits longer than the
// target, or finds no place. Those ahead go one by one; as soon as fewer are ahead than there are servers, its turn has come.
// After the last hour the last crew stays.
func (w *walk) late(at, target float64) float64 {
	d := w.d
	copy(w.ahead, w.p)
	full := w.ahead[w.places]
	w.ahead[w.places] = 0
	until := at + target
	for at < until {
		h := min(int(at), len(d.Servers)-1)
		end := until
		if h < len(d.Servers)-1 {
			end = math.Min(until, float64(h+1))
		}
		c := d.Servers[h]
		for n := range min(c, len(w.ahead)) {
			w.ahead[n] = 0
		}
		w.die(c, end-at)
		at = end
	}
	if target == 0 {
		c := d.Servers[min(int(at), len(d.Servers)-1)]
		for n := range min(c, len(w.ahead)) {
			w.ahead[n] = 0
		}
	}
	late := full
	for _, p := range w.ahead {
		late += p
	}
	return late
}

// die lets those ahead go for a while; what falls below c servers is served and gone.
func (w *walk) die(c int, dt float64) {
	top := len(w.ahead) - 1
	for top > 0 && w.ahead[top] < 1e-16 {
		top--
	}
	if top < c {
		return
	}
	rate := w.deaths(top, c)
	if rate == 0 || dt <= 0 {
		return
	}
	for ; rate*dt > mostTicks; dt -= mostTicks / rate {
		w.die(c, mostTicks/rate)
	}
	mean := rate * dt
	weight := math.Exp(-mean)
	reached := weight
	copy(w.v, w.ahead)
	for n := c; n <= top; n++ {
		w.next[n] = weight * w.v[n]
	}
	for k := 1; reached < 1-1e-13 && k < 100000; k++ {
		for n := c; n <= top; n++ {
			gone := w.v[n] * w.deaths(n, c) / rate
			w.v[n] -= gone
			if n > c {
				w.v[n-1] += gone
			}
		}
		weight *= mean / float64(k)
		reached += weight
		for n := c; n <= top; n++ {
			w.next[n] += weight * w.v[n]
		}
	}
	copy(w.ahead[c:top+1], w.next[c:top+1])
}
