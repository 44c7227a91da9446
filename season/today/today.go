package today

import (
	"cmp"
	"slices"
	"time"

	"thwart"
	"thwart/engine/num"
	"thwart/season"
)

// Limits of what is pointed out. The first and third are the promise a manager's first page makes; the second is common
// practice, no source.
const (
	SilentAfter     = 24 * time.Hour      // a phone that has not been heard from
	GaugeDueAfter   = 30 * 24 * time.Hour // since a thermometer was last checked
	CertificateSoon = 14 * 24 * time.Hour // before a certificate ends
	washWithin      = 3 * time.Hour       // a craft sent to the wash and not washed is taken to be waiting so long
	level           = 0.95                // of intervals
)

// Input is what the day is told from. Slices may be empty; what is not given is not pointed out.
type Input struct {
	Book      *season.Book
	Calendar  season.Calendar
	Now       time.Time
	Devices   []thwart.Device
	Refusals  []thwart.Refusal // not settled
	Twins     int              // pairs of records to be decided
	Doubted   int              // records of the season that the checks doubt
	Incidents []Item[thwart.Incident]
	Planned   []Item[thwart.PlannedShift]
}

// Item is a record with the id of its subject.
type Item[T any] struct {
	Subject string
	Body    T
}

// Day is how the day stands.
type Day struct {
	At       time.Time `json:"at"`
	Cursor   int64     `json:"cursor"` // of the records it was told from
	Needs    []Need    `json:"needs"`  // the most pressing first
	Launches []Launch  `json:"launches"`
	Total    Sum       `json:"total"`
}

// Sum counts what was met on the day so far.
type Sum struct {
	Hours   float64                `json:"hours"`   // staffed
	Met     int                    `json:"met"`     // craft met, refusals included
	Refused int                    `json:"refused"` // of those met
	Tallied int                    `json:"refusedTallied" doc:"boaters who declined and were counted without a record; none of them is among those met"`
	Passed  int                    `json:"passed"` // by, not stopped
	Given   map[thwart.Outcome]int `json:"given"`  // what craft left with, see [thwart.LeftWith]
	Stopped int                    `json:"stopped" doc:"inspected craft that left with another outcome than launch"`
	Washed  int                    `json:"washed"`
	Waiting int                    `json:"waiting"` // sent to the wash in the last three hours and not washed yet
}

// Launch is one launch on the day.
type Launch struct {
	Subject string   `json:"subject"`
	Name    string   `json:"name"`
	Staffed bool     `json:"staffed"` // now
	People  []string `json:"people"`  // on site now
	Sum
	// PerHour is craft met per staffed hour today with its 95 % limits (Garwood 1936); Expected the same over the same hours of
	// such days before. Each is absent where nobody stood there.
	PerHour  *Rate `json:"perHour,omitempty"`
	Expected *Rate `json:"expected,omitempty"`
}

// Rate is craft per hour with its limits.
type Rate struct {
	Value float64 `json:"value"`
	Lo    float64 `json:"lo"`
	Hi    float64 `json:"hi"`
}

// Tell tells the day.
func Tell(in Input) Day {
	d := teller{Input: in, book: in.Book}
	for i := range in.Book.Encounters { // the day's own offset decides what day it is
		if m := in.Book.Encounters[len(in.Book.Encounters)-1-i].At; m.Set {
			d.offset = m.OffMin
			break
		}
	}
	d.now = season.Moment{MS: in.Now.UnixMilli(), OffMin: d.offset, Set: true}
	d.day = d.now.Day()
	d.launches()
	out := Day{At: in.Now, Cursor: in.Book.Cursor, Needs: d.needs(), Launches: d.out}
	out.Total.Given = map[thwart.Outcome]int{}
	for i := range d.out {
		out.Total.add(&d.out[i].Sum)
	}
	return out
}

func (s *Sum) add(o *Sum) {
	s.Hours += o.Hours
	s.Met += o.Met
	s.Refused += o.Refused
	s.Tallied += o.Tallied
	s.Passed += o.Passed
	s.Stopped += o.Stopped
	s.Washed += o.Washed
	s.Waiting += o.Waiting
	for k, n := range o.Given {
		s.Given[k] += n
	}
}

type teller struct {
	Input
	book   *season.Book
	now    season.Moment
	day    season.Day
	offset int16
	out    []Launch
}

// launches fills the launches that are staffed today, met craft today, or are planned for today.
func (t *teller) launches() {
	all := make([]Launch, len(t.book.Launches))
	seen := make([]bool, len(all))
	for i := range all {
		l := &t.book.Launches[i]
		all[i] = Launch{Subject: l.Subject, Name: l.Body.Name, People: []string{}, Sum: Sum{Given: map[thwart.Outcome]int{}}}
	}
	for i := range t.book.Shifts {
		s := &t.book.Shifts[i]
		if s.Launch == season.None || s.From.Day() != t.day || s.From.MS > t.now.MS {
			continue
		}
		seen[s.Launch] = true
		l := &all[s.Launch]
		until := t.now
		if s.To.Set && s.To.MS < t.now.MS {
			until = s.To
		} else {
			l.Staffed = true
			for _, p := range s.People {
				if p != season.None {
					l.People = append(l.People, t.book.People[p].Body.Name)
				}
			}
		}
		l.Hours += until.HoursSince(s.From)
		l.Passed += int(s.PassedBy)
		l.Tallied += int(s.Refused)
	}
	t.count(all, seen)
	for _, p := range t.Planned {
		i := t.book.Index(p.Body.Launch)
		if i != season.None && int(i) < len(all) && t.onDay(p.Body.From) {
			seen[i] = true
		}
	}
	t.expect(all, seen)
	for i := range all {
		if seen[i] {
			t.out = append(t.out, all[i])
		}
	}
	slices.SortFunc(t.out, func(a, b Launch) int { return cmp.Or(-cmp.Compare(a.Met, b.Met), cmp.Compare(a.Name, b.Name)) })
}

func (t *teller) onDay(at time.Time) bool {
	return (season.Moment{MS: at.UnixMilli(), OffMin: t.offset, Set: true}).Day() == t.day
}

// today gives the day's encounters up to now that count: the book has them by time.
func (t *teller) today() []season.Encounter {
	all := t.book.Encounters
	from, _ := slices.BinarySearchFunc(all, t.day, func(e season.Encounter, d season.Day) int { return cmp.Compare(e.At.Day(), d) })
	to := from
	for to < len(all) && all[to].At.Day() == t.day && all[to].At.MS <= t.now.MS {
		to++
	}
	return all[from:to]
}

func (t *teller) count(all []Launch, seen []bool) {
	washed := map[int32]bool{}
	for i := range t.book.Washes {
		if w := &t.book.Washes[i]; w.Encounter != season.None && w.From.MS <= t.now.MS {
			washed[w.Encounter] = true
		}
	}
	today := t.today()
	for i := range today {
		e := &today[i]
		if e.Launch == season.None || !e.Counts() {
			continue
		}
		seen[e.Launch] = true
		l := &all[e.Launch]
		l.Met++
		if e.Refused {
			l.Refused++
			continue
		}
		left := e.LeftWith()
		if left != "" {
			l.Given[left]++
			if left != thwart.Launch {
				l.Stopped++
			}
		}
		if left != thwart.Wash {
			continue
		}
		if washed[t.book.Index(e.Subject)] {
			l.Washed++
		} else if t.now.MS-e.At.MS < washWithin.Milliseconds() {
			l.Waiting++
		}
	}
}

// expect compares with the same hours of such days before at the same launch.
func (t *teller) expect(all []Launch, seen []bool) {
	kind := t.Calendar.Type(t.day)
	like := func(d season.Day) bool {
		return d < t.day && (t.Calendar.Type(d) == season.Weekday) == (kind == season.Weekday)
	}
	type hour struct {
		launch int32
		hour   int8
	}
	today, share := map[hour]float64{}, map[hour]float64{}
	staffed, _ := t.book.Staffed()
	for _, h := range staffed {
		switch {
		case h.Day == t.day:
			today[hour{h.Launch, h.Hour}] += float64(h.Share)
		case like(h.Day):
			share[hour{h.Launch, h.Hour}] += float64(h.Share)
		}
	}
	now := int8(t.now.HourOfDay())
	for i := range t.book.Shifts { // those that still run are not among the staffed hours
		s := &t.book.Shifts[i]
		if s.To.Set || s.Launch == season.None || s.From.Day() != t.day {
			continue
		}
		for h := int8(s.From.HourOfDay()); h <= now; h++ {
			today[hour{s.Launch, h}] = 1
		}
	}
	met := map[hour]int{}
	for i := range t.book.Encounters {
		e := &t.book.Encounters[i]
		if e.Launch != season.None && e.Counts() && like(e.At.Day()) {
			met[hour{e.Launch, int8(e.At.HourOfDay())}]++
		}
	}
	before, hours := make([]int, len(all)), make([]float64, len(all))
	for h := range today {
		if h.hour <= now {
			before[h.launch] += met[h]
			hours[h.launch] += share[h]
		}
	}
	for i := range all {
		if !seen[i] {
			continue
		}
		all[i].PerHour = rate(all[i].Met, all[i].Hours)
		all[i].Expected = rate(before[i], hours[i])
	}
}

// leastHours is the shortest time that a rate is told from.
const leastHours = 0.5

func rate(n int, hours float64) *Rate {
	if hours < leastHours {
		return nil
	}
	limits, err := num.Garwood(n, level)
	if err != nil {
		return nil
	}
	return &Rate{Value: float64(n) / hours, Lo: limits.Lo / hours, Hi: limits.Hi / hours}
}
