package queue

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"

	"thwart/engine/num"
)

// ServiceTime is how long something takes: a gamma distribution with a mean and a squared coefficient of variation. 1 is the
// exponential distribution, 0 always the same, 1/12 as spread out as uniform from a half to one and a half times the mean.
type ServiceTime struct {
	Minutes float64 `json:"minutes"`
	CV2     float64 `json:"cv2"`
}

func (s ServiceTime) draw(r *rand.Rand) float64 {
	if s.CV2 == 0 {
		return s.Minutes / 60
	}
	return s.Minutes / 60 * s.CV2 * num.Gamma(r, 1/s.CV2)
}

// Class is a kind of craft.
type Class struct {
	Name    string      `json:"name"`
	Share   float64     `json:"share"`   // of those that come; shares are taken in proportion
	Inspect ServiceTime `json:"inspect"` // of one that passes
	Fail    float64     `json:"fail"`    // share that has to be washed
	Failing ServiceTime `json:"failing"` // inspection of one that fails; zero = as one that passes
	Wash    ServiceTime `json:"wash"`
}

// Ramp is a launch and its wash pad, by the hour. Craft are inspected in the order they come by as many stewards as the hour
// has; those that fail wait, out of the way, for a wash bay. A steward or bay that goes off duty ends what was begun. After the
// last hour nobody is let in any more and the last crew works on until all are gone.
type Ramp struct {
	From         int       // hour of day at which it begins, with nobody there
	ArrivalsPerH []float64 // by hour
	Stewards     []int     // by hour; 0 = closed, and those who come wait for the next hour
	Bays         []int     // by hour; nil = craft that fail leave without a wash
	Classes      []Class
	PatienceMin  float64 // mean minutes, exponential, until someone waiting for an inspection drives away; 0 = nobody does
	MaxWaiting   int     // craft waiting for an inspection beyond which who comes is turned away; 0 = no limit
	TargetMin    float64 // wait for an inspection beyond which a craft counts as late
	Days         int     // simulated; 0 = 400
	Seed         uint64
}

// RampHour sums up one hour over all simulated days. Intervals are 99 % ones of a mean, for the luck of the simulation.
type RampHour struct {
	Hour       int          `json:"hour"`
	Arrivals   num.Interval `json:"arrivals"`
	WaitMin    num.Interval `json:"waitMin" doc:"mean wait for an inspection of those who came in this hour and were inspected"`
	MedianMin  float64      `json:"medianMin"`
	P95Min     float64      `json:"p95Min" doc:"wait that 95 % of them did not exceed"`
	Late       float64      `json:"late" doc:"share that waited longer than the target, drove away or was turned away"`
	TurnedAway float64      `json:"turnedAway" doc:"craft a day"`
	Left       float64      `json:"left" doc:"craft a day that drove away"`
	Busy       float64      `json:"busy" doc:"share of the stewards' time"`
	BaysBusy   float64      `json:"baysBusy" doc:"share of the bays' time"`
	WashP95Min float64      `json:"washP95Min" doc:"wait for a wash that 95 % did not exceed"`
}

// RampResult is a [Ramp] simulated.
type RampResult struct {
	Hours       []RampHour    `json:"hours"`
	Days        int           `json:"days"`
	Arrivals    num.Interval  `json:"arrivals" doc:"craft a day"`
	WaitMin     num.Interval  `json:"waitMin" doc:"mean wait for an inspection"`
	MedianMin   float64       `json:"medianMin"`
	P95Min      float64       `json:"p95Min" doc:"wait for an inspection that 95 % did not exceed"`
	Late        num.Interval  `json:"late" doc:"share that waited longer than the target, drove away or was turned away"`
	TurnedAway  num.Interval  `json:"turnedAway" doc:"craft a day"`
	Left        num.Interval  `json:"left" doc:"craft a day that drove away"`
	Washed      num.Interval  `json:"washed" doc:"craft a day"`
	WashWaitMin num.Interval  `json:"washWaitMin" doc:"mean wait for a wash"`
	WashP95Min  float64       `json:"washP95Min"`
	OvertimeMin num.Interval  `json:"overtimeMin" doc:"minutes a day after the last hour until the last craft is gone"`
	Overtime95  float64       `json:"overtimeP95Min"`
	Sample      []QueuedCraft `json:"sample" doc:"the first day, craft by craft"`
	Seed        uint64        `json:"seed"`
}

// QueuedCraft is one craft of a simulated day. Times are hours of the day.
type QueuedCraft struct {
	Class   string  `json:"class"`
	Came    float64 `json:"came"`
	Began   float64 `json:"began,omitempty" doc:"inspection"`
	Ended   float64 `json:"ended,omitempty"`
	Lane    int     `json:"lane,omitempty" doc:"steward, from 1"`
	WashOn  float64 `json:"washOn,omitempty"`
	WashOff float64 `json:"washOff,omitempty"`
	Bay     int     `json:"bay,omitempty" doc:"from 1"`
	Fate    string  `json:"fate" enum:"passed,washed,failed,left,turned_away" doc:"failed: had to be washed where no bay is"`
	Gone    float64 `json:"gone" doc:"drove away, was turned away or left"`
}

func (p *Ramp) check() error {
	errs := []error{num.Within("hours", float64(len(p.ArrivalsPerH)), 1, 2000)}
	sameLength := func(field string, list []int) {
		if len(list) != len(p.ArrivalsPerH) {
			errs = append(errs, &num.RangeError{Field: field, Value: float64(len(list)), Accepted: fmt.Sprintf("as many hours as arrivals have, %d", len(p.ArrivalsPerH))})
		}
		for _, c := range list {
			errs = append(errs, wholeWithin(field, c, 0, 200))
		}
		if n := len(list); n > 0 && list[n-1] == 0 {
			errs = append(errs, &num.RangeError{Field: field, Value: 0, Accepted: "at least 1 in the last hour, so that those still there can leave"})
		}
	}
	sameLength("stewards by hour", p.Stewards)
	if p.Bays != nil {
		sameLength("wash bays by hour", p.Bays)
	}
	for _, a := range p.ArrivalsPerH {
		errs = append(errs, num.Within("arrivals per hour", a, 0, 1000))
	}
	var all float64
	for i, c := range p.Classes {
		at := func(s string) string { return fmt.Sprintf("classes[%d].%s", i, s) }
		all += c.Share
		errs = append(errs, num.NotNegative(at("share"), c.Share), num.Within(at("fail"), c.Fail, 0, 1), c.Inspect.check(at("inspect"), true),
			c.Failing.check(at("failing"), false), c.Wash.check(at("wash"), c.Fail > 0 && p.Bays != nil))
	}
	errs = append(errs, num.Positive("classes: sum of shares", all), num.Within("patience in minutes", p.PatienceMin, 0, 1e6),
		num.Within("waiting at most", float64(p.MaxWaiting), 0, 1e6), num.Within("target wait in minutes", p.TargetMin, 0, 1440),
		wholeWithin("days", p.Days, 0, 100_000))
	return errors.Join(errs...)
}

func (s ServiceTime) check(field string, needed bool) error {
	if s.Minutes == 0 && !needed {
		return nil
	}
	return errors.Join(num.Within(field+".minutes", s.Minutes, 0.01, 1440), num.Within(field+".cv2", s.CV2, 0, 100))
}

// maxCraft bounds the memory of a simulation.
const maxCraft = 2e7

// DefaultDays is how many days are simulated where none are named.
const DefaultDays = 400

// Simulate runs the days, each with luck of its own from the seed: the same input gives the same answer, and two crews meet the
// same craft.
func (p *Ramp) Simulate() (RampResult, error) {
	if err := p.check(); err != nil {
		return RampResult{}, err
	}
	days := p.Days
	if days == 0 {
		days = DefaultDays
	}
	if p.load(days) > maxCraft {
		return RampResult{}, &num.RangeError{Field: "days", Value: float64(days), Accepted: "fewer days: at most 20 million craft are simulated"}
	}
	t := newTally(p, days)
	for day := range days {
		boats := p.arrive(day)
		p.serve(boats)
		t.add(day, boats)
	}
	return t.result(p), nil
}

func (p *Ramp) load(days int) (n float64) {
	for _, a := range p.ArrivalsPerH {
		n += a
	}
	return n * float64(days)
}

// visit is one craft with everything that is luck, drawn as it comes.
type visit struct {
	QueuedCraft
	inspect, wash, patience float64 // hours
	fails                   bool
}

// arrive draws a day's craft: a Poisson stream of the highest rate, thinned to each hour's (Lewis & Shedler 1979, Nav. Res.
// Logist. Q. 26:403-413).
func (p *Ramp) arrive(day int) []visit {
	arrivals := num.Stream(p.Seed, fmt.Sprint("arrivals of day ", day))
	marks := num.Stream(p.Seed, fmt.Sprint("craft of day ", day))
	top, all := 0.0, 0.0
	for _, a := range p.ArrivalsPerH {
		top = math.Max(top, a)
	}
	for _, c := range p.Classes {
		all += c.Share
	}
	var out []visit
	if top == 0 {
		return out
	}
	for t := arrivals.ExpFloat64() / top; t < float64(len(p.ArrivalsPerH)); t += arrivals.ExpFloat64() / top {
		if arrivals.Float64()*top >= p.ArrivalsPerH[int(t)] {
			continue
		}
		k, u := 0, marks.Float64()*all
		for u >= p.Classes[k].Share && k < len(p.Classes)-1 {
			u -= p.Classes[k].Share
			k++
		}
		c := &p.Classes[k]
		v := visit{QueuedCraft: QueuedCraft{Class: c.Name, Came: t, Lane: -1, Bay: -1}, patience: math.Inf(1)}
		v.fails = marks.Float64() < c.Fail
		service := c.Inspect
		if v.fails && c.Failing.Minutes > 0 {
			service = c.Failing
		}
		v.inspect = service.draw(marks)
		if v.fails && p.Bays != nil {
			v.wash = c.Wash.draw(marks)
		}
		if p.PatienceMin > 0 {
			v.patience = marks.ExpFloat64() * p.PatienceMin / 60
		}
		out = append(out, v)
	}
	return out
}

// serve takes the craft through inspection in the order they came, then through the wash in the order inspections ended.
func (p *Ramp) serve(boats []visit) {
	desk := newDesk(p.Stewards)
	var waiting []int // those who came and have not begun as far as is known
	for i := range boats {
		b := &boats[i]
		if p.MaxWaiting > 0 {
			kept := waiting[:0]
			for _, k := range waiting {
				if w := &boats[k]; w.Fate != "left" && w.Began > b.Came || w.Fate == "left" && w.Gone > b.Came {
					kept = append(kept, k)
				}
			}
			waiting = kept
			if len(waiting) >= p.MaxWaiting {
				b.Fate, b.Gone = "turned_away", b.Came
				continue
			}
		}
		lane, at := desk.next(b.Came)
		if at-b.Came > b.patience {
			b.Fate, b.Gone = "left", b.Came+b.patience
		} else {
			b.Began, b.Ended, b.Lane = at, at+b.inspect, lane
			desk.take(lane, b.Ended)
			b.Gone, b.Fate = b.Ended, "passed"
			if b.fails {
				b.Fate = "failed"
			}
		}
		if b.Gone > b.Came {
			waiting = append(waiting, i)
		}
	}
	if p.Bays == nil {
		return
	}
	pad := newDesk(p.Bays)
	for _, i := range byEnd(boats) {
		b := &boats[i]
		bay, at := pad.next(b.Ended)
		b.WashOn, b.WashOff, b.Bay, b.Fate = at, at+b.wash, bay, "washed"
		b.Gone = b.WashOff
		pad.take(bay, b.WashOff)
	}
}
