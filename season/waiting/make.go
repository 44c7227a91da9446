package waiting

import (
	"errors"
	"fmt"
	"slices"

	"thwart"
	"thwart/engine/num"
	"thwart/engine/queue"
	"thwart/season"
	"thwart/season/flows"
)

// Answer works out the waits from fitted arrivals. Fields that mean nothing are [thwart.FieldErrors].
func Answer(m *flows.Model, q Question) (*WaitReport, error) {
	if err := q.fill(); err != nil {
		return nil, err
	}
	book := m.Book()
	launch, err := launchOf(m, q.Launch)
	if err != nil {
		return nil, err
	}
	kind, _ := dayType(q.Day)
	l := &book.Launches[launch]
	r := &WaitReport{Launch: flows.Site{ID: l.Subject, Name: l.Body.Name, Lon: l.Body.At.Lon(), Lat: l.Body.At.Lat()}, Day: q.Day, Times: q.Times,
		TargetMin: q.TargetMin, Share: q.Share, Stewards: q.Stewards, Smallest: []int{}, Warnings: []string{}}
	ramp := queue.Ramp{From: q.From, TargetMin: q.TargetMin, PatienceMin: q.PatienceMin, MaxWaiting: q.MaxWaiting, Seed: q.Seed}
	for h := q.From; h < q.To; h++ {
		rate := m.Usual(int(launch), kind, h).Scale(q.Times)
		r.Rates = append(r.Rates, HourRate{h, rate})
		ramp.ArrivalsPerH = append(ramp.ArrivalsPerH, rate.Mid)
	}
	if err := r.services(book, &ramp, q.Bays); err != nil {
		return nil, err
	}
	if err := r.staffings(ramp); err != nil {
		return nil, err
	}
	if err := r.smallest(ramp); err != nil {
		return nil, err
	}
	ramp.Stewards = q.Stewards
	if r.Shown, err = ramp.Simulate(); err != nil {
		return nil, err
	}
	r.tell(&q)
	return r, nil
}

func launchOf(m *flows.Model, id string) (int32, error) {
	book := m.Book()
	if id == "" {
		if list := m.Arrivals().Launches; len(list) > 0 {
			id = list[0].Launch.ID
		}
	}
	for i := range book.Launches {
		if book.Launches[i].Subject == id {
			return int32(i), nil
		}
	}
	return 0, thwart.FieldErrors{{Field: "launch", Value: id, Accepted: "the id of a launch of the programme"}}
}

// sample gathers times.
type sample struct {
	n       int
	sum, sq float64
}

func (s *sample) add(minutes float64) {
	s.n++
	s.sum += minutes
	s.sq += minutes * minutes
}

func (s *sample) time() queue.ServiceTime {
	if s.n == 0 {
		return queue.ServiceTime{}
	}
	mean := s.sum / float64(s.n)
	return queue.ServiceTime{Minutes: mean, CV2: max(0, s.sq/float64(s.n)/(mean*mean)-1)}
}

const (
	// longest is beyond what a look or a wash takes: such a record was left open and closed later.
	longestLook, longestWash = 90.0, 300.0
	// enough timed looks let a class stand for itself.
	enough = 30
)

// services measures looks and washes.
func (r *WaitReport) services(book *season.Book, ramp *queue.Ramp, bays int) error {
	type class struct{ pass, fail sample }
	all := class{}
	byClass := map[string]*class{}
	for i := range book.Encounters {
		e := &book.Encounters[i]
		minutes := float64(e.Seconds) / 60
		if !e.Counts() || e.Refused || !e.Arrives() || !(minutes > 0 && minutes <= longestLook) {
			continue
		}
		c := byClass[e.Class]
		if c == nil {
			c = &class{}
			byClass[e.Class] = c
		}
		ends := e.Given == thwart.Launch
		if bays > 0 { // only those that go to a bay matter apart
			ends = e.Given != thwart.Wash
		}
		if ends {
			c.pass.add(minutes)
			all.pass.add(minutes)
		} else {
			c.fail.add(minutes)
			all.fail.add(minutes)
		}
	}
	if all.pass.n < enough {
		return fmt.Errorf("looks: %d of the season's records say how long a look took; waits need at least %d", all.pass.n, enough)
	}
	var wash sample
	for i := range book.Washes {
		w := &book.Washes[i]
		if w.From.Set && w.To.Set {
			if minutes := float64(w.To.MS-w.From.MS) / 60_000; minutes > 0 && minutes <= longestWash {
				wash.add(minutes)
			}
		}
	}
	r.Washes, r.WashMin = wash.n, wash.time().Minutes
	if bays > 0 && wash.n == 0 {
		return thwart.FieldErrors{{Field: "bays", Value: fmt.Sprint(bays), Accepted: "0, for the season's records time no wash"}}
	}
	names := make([]string, 0, len(byClass))
	total := 0
	for name, c := range byClass {
		names = append(names, name)
		total += c.pass.n + c.fail.n
	}
	slices.Sort(names)
	for _, name := range names {
		c := byClass[name]
		n := c.pass.n + c.fail.n
		from := *c
		if c.pass.n < enough {
			from.pass = all.pass
		}
		if c.fail.n < enough {
			from.fail = all.fail
		}
		x := queue.Class{Name: name, Share: float64(n) / float64(total), Inspect: from.pass.time(), Failing: from.fail.time(), Fail: float64(c.fail.n) / float64(n), Wash: wash.time()}
		ramp.Classes = append(ramp.Classes, x)
		r.Looks = append(r.Looks, LookTime{name, x.Share, x.Inspect.Minutes, x.Inspect.CV2, x.Fail, x.Failing.Minutes, n})
	}
	slices.SortStableFunc(r.Looks, func(a, b LookTime) int { return b.Looks - a.Looks })
	for range ramp.ArrivalsPerH {
		if bays > 0 {
			ramp.Bays = append(ramp.Bays, bays)
		}
	}
	return nil
}

// mean look, whatever its end.
func meanLook(classes []queue.Class) (minutes float64) {
	for _, c := range classes {
		minutes += c.Share * ((1-c.Fail)*c.Inspect.Minutes + c.Fail*c.Failing.Minutes)
	}
	return minutes
}

// staffings tries crews of one and more until the goal is kept with room to spare.
func (r *WaitReport) staffings(ramp queue.Ramp) error {
	busiest := slices.Max(ramp.ArrivalsPerH)
	for c := 1; c <= 8; c++ {
		ramp.Stewards = make([]int, len(ramp.ArrivalsPerH))
		for h := range ramp.Stewards {
			ramp.Stewards[h] = c
		}
		x, err := ramp.Simulate()
		if err != nil {
			return err
		}
		s := Staffing{
			Stewards: c, Utilisation: busiest * meanLook(ramp.Classes) / 60 / float64(c), PersonHours: float64(c * len(ramp.Stewards)), WaitMin: x.WaitMin,
			MedianMin: x.MedianMin, P95Min: x.P95Min, Late: x.Late, Left: x.Left.Mid, TurnedAway: x.TurnedAway.Mid, OvertimeMin: x.OvertimeMin.Mid, Keeps: x.Late.Mid <= 1-r.Share,
		}
		if s.Grows = s.Utilisation >= 1; s.Grows {
			s.Words = fmt.Sprintf("in the busiest hour the %v", &queue.Grows{Utilisation: s.Utilisation})
		}
		r.Staffings = append(r.Staffings, s)
		if s.Keeps && c >= 3 || len(r.Staffings) > 1 && r.Staffings[c-2].Keeps {
			break
		}
	}
	return nil
}

// smallest finds the fewest people by hour with the exact day, whose exponential looks wait longer than real ones of the same mean.
func (r *WaitReport) smallest(ramp queue.Ramp) error {
	d := queue.Day{From: ramp.From, ArrivalsPerH: ramp.ArrivalsPerH, ServedPerH: 60 / meanLook(ramp.Classes)}
	for range d.ArrivalsPerH {
		d.Servers = append(d.Servers, 1)
	}
	if ramp.PatienceMin > 0 {
		d.LeavePerH = 60 / ramp.PatienceMin
	}
	crew, x, err := queue.SmallestCrews(d, queue.Goal{TargetMin: r.TargetMin, Share: r.Share})
	var few *queue.TooFew
	switch {
	case errors.As(err, &few):
		r.Why = few.Error()
		return nil
	case err != nil:
		return err
	}
	hours := 0
	for _, n := range crew {
		hours += n
	}
	r.Smallest, r.SmallLate = crew, x.Late
	for _, s := range r.Staffings { // with looks as they were timed an even crew may do with less
		if s.Keeps && s.PersonHours <= float64(hours) {
			r.Smallest, r.SmallLate = slices.Repeat([]int{s.Stewards}, len(crew)), s.Late.Mid
			break
		}
	}
	return nil
}

func (r *WaitReport) tell(q *Question) {
	var people, hours int
	for _, n := range r.Smallest {
		people, hours = max(people, n), hours+n
	}
	r.Sentence = fmt.Sprintf("With the crew shown, of %.0f craft %s wait longer than %.0f min; 95 %% wait at most %.0f min.", r.Shown.Arrivals.Mid, percent(r.Shown.Late), r.TargetMin, r.Shown.P95Min)
	if hours > 0 {
		r.Sentence += fmt.Sprintf(" %d person-hours, at most %d at once, keep %.0f %% of waits under it.", hours, people, 100*r.Share)
	}
	r.Assumed = []string{
		"Craft come at random at the rate of a usual day of this kind; days differ, so try the times as busy.",
		"Craft are taken in the order they come; looks take as long as those that were timed here, of any launch, and a steward needs no rest.",
		"A smallest crew that changes by the hour is worked out with looks as uneven as an exponential time, which is more than was timed, so it errs on the long side; where an even crew does with fewer hours by the simulation, that one stands.",
	}
	if q.Bays == 0 {
		r.Assumed = append(r.Assumed, "No wash bay beside the launch: craft that fail leave the queue when their look ends.")
	}
	if q.PatienceMin == 0 {
		r.Assumed = append(r.Assumed, "Nobody drives away, because no patience was given.")
	}
}

func percent(i num.Interval) string { return fmt.Sprintf("%.0f %%", 100*i.Mid) }
