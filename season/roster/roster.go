// Package roster puts the programme's people to dated shifts: those of a plan, or those already planned in the records. It
// looks up who is certified for the work on the day, who is free, who has hours left; what cannot be filled stays open. The
// package is pure: the solver is handed in.
package roster

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"time"

	"thwart"
	"thwart/engine/geo"
	"thwart/engine/mip"
	"thwart/engine/roster"
	"thwart/season"
	"thwart/season/flows"
	"thwart/season/plan"
	"thwart/season/skill"
)

// ByHand is one person at one launch on one day, decided by a person.
type ByHand struct {
	Person string  `json:"person" doc:"id"`
	Launch string  `json:"launch" doc:"id"`
	Day    string  `json:"day" doc:"such as 2026-06-06"`
	From   float64 `json:"from" doc:"hour at which the shift begins"`
}

// RosterAsk says what is to be rostered.
type RosterAsk struct {
	From string `json:"from" doc:"first day, such as 2026-06-01"`
	To   string `json:"to" doc:"last day, included"`
	// Shifts are those of a plan, on every day of their kind; left out: the planned shifts of the records between the days, with
	// the people they have kept where possible.
	Shifts   []plan.PlanShift `json:"shifts,omitempty" doc:"of a plan; left out: the planned shifts in the records"`
	MaxHours float64          `json:"maxHours,omitempty" doc:"a week for one person; left out: 40"`
	MaxDays  int              `json:"maxDays,omitempty" doc:"worked in a week; left out: 5"`
	RestH    float64          `json:"restH,omitempty" doc:"hours between two days' work; left out: 11"`
	NewBelow *int             `json:"newBelow,omitempty" doc:"who has worked fewer shifts than this is new and never alone; left out: 5"`
	Fixed    []ByHand         `json:"fixed,omitempty" doc:"these stand"`
	Barred   []ByHand         `json:"barred,omitempty" doc:"these never, as when somebody is ill"`
	Keep     []ByHand         `json:"keep,omitempty" doc:"of an earlier roster: changed only where it has to be"`
	Given    []ByHand         `json:"given,omitempty" doc:"places of earlier rosters that were given by hand: these stand as long as the person may"`
	Of       string           `json:"of,omitempty" doc:"id of the earlier roster that this one changes"`
	Give     *PlaceGiven      `json:"give,omitempty" doc:"one place of what is kept is given to somebody; nothing else changes"`
	Seconds  float64          `json:"seconds,omitempty" doc:"for each week at most; left out: 5"`
}

// RosterPerson is a person.
type RosterPerson struct {
	ID   string `json:"id"`
	Name string `json:"name"`
	New  bool   `json:"new,omitempty"`
}

// Row is one shift of the roster.
type RosterRow struct {
	Shift  string         `json:"shift,omitempty" doc:"id of the planned shift, where it is in the records"`
	Launch string         `json:"launch" doc:"id"`
	Name   string         `json:"name" doc:"of the launch"`
	Day    string         `json:"day"`
	From   float64        `json:"from" doc:"hour of the day, by the launch's clock"`
	To     float64        `json:"to"`
	Zone   string         `json:"zone,omitempty" doc:"of the launch"`
	Work   string         `json:"work"`
	People []RosterPerson `json:"people"`
	Open   int            `json:"open" doc:"people missing"`
}

// Sum is what the roster asks of one person.
type RosterLoad struct {
	RosterPerson
	Shifts   int     `json:"shifts"`
	Hours    float64 `json:"hours"`
	FreeDays float64 `json:"freeDays" doc:"weekend days and holidays worked"`
}

// SeasonRoster is a roster.
type SeasonRoster struct {
	Rows    []RosterRow  `json:"rows"`
	People  []RosterLoad `json:"people" doc:"by name"`
	Open    int          `json:"open" doc:"people missing in all"`
	Changed int          `json:"changed" doc:"of what was to be kept"`
	KM      float64      `json:"km" doc:"one way, all shifts"`
	Proved  bool         `json:"proved" doc:"every week is proved best for its week"`
	Notes   []string     `json:"notes"`
}

// MaxDays is the longest roster made at once.
const MaxDays = 400

// Make rosters. Input that means nothing is [thwart.FieldErrors].
func Make(ctx context.Context, book *season.Book, ask RosterAsk, solver mip.Solver, told func(fraction float64, words string)) (*SeasonRoster, error) {
	m, err := begun(book, ask)
	if err != nil {
		return nil, err
	}
	if ask.Give != nil {
		return m.given(*ask.Give)
	}
	seconds := cmp.Or(ask.Seconds, 5)
	r, err := m.p.Make(ctx, solver, time.Duration(seconds*float64(time.Second)), func(done, weeks int) {
		if told != nil {
			told(float64(done)/float64(weeks), fmt.Sprintf("week %d of %d", done, weeks))
		}
	})
	if err != nil {
		return nil, err
	}
	return m.answer(r), nil
}

// begun reads what is asked into a problem.
func begun(book *season.Book, ask RosterAsk) (*maker, error) {
	m := &maker{book: book, ask: ask, calendar: season.SummerHolidays(), may: map[asked]bool{}}
	if err := m.days(); err != nil {
		return nil, err
	}
	m.rows()
	m.people()
	m.problem()
	return m, m.errs.Err()
}

type maker struct {
	book        *season.Book
	ask         RosterAsk
	calendar    season.Calendar
	first, last season.Day
	errs        thwart.FieldErrors

	list    []RosterRow
	shifts  []roster.Shift
	kept    [][]int32                        // people of the records, by shift
	persons []int32                          // in the book
	comes   []func(day int) (can, away bool) // by person
	p       *roster.Problem
	notes   []string
	may     map[asked]bool // answers so far
}

// asked is one question about a certificate.
type asked struct {
	person int32
	work   string
	day    int
}

func (m *maker) fail(field string, value any, accepted string) {
	m.errs.Add(field, value, accepted)
}

func (m *maker) days() error {
	var err error
	if m.first, err = season.ParseDay(m.ask.From); err != nil {
		m.fail("from", m.ask.From, "a day such as 2026-06-01")
	}
	if m.last, err = season.ParseDay(m.ask.To); err != nil {
		m.fail("to", m.ask.To, "a day such as 2026-06-30")
	}
	if m.errs == nil && (m.last < m.first || m.last-m.first >= MaxDays) {
		m.fail("to", m.ask.To, fmt.Sprintf("a day not before from, within %d days", MaxDays))
	}
	for name, v := range map[string]float64{"maxHours": m.ask.MaxHours, "restH": m.ask.RestH, "maxDays": float64(m.ask.MaxDays), "seconds": m.ask.Seconds} {
		if !(v >= 0 && v <= 168) {
			m.fail(name, v, "0 to 168")
		}
	}
	if m.ask.MaxDays > 7 {
		m.fail("maxDays", m.ask.MaxDays, "0 to 7")
	}
	if m.errs != nil {
		return m.errs
	}
	return nil
}

// rows dates the shifts.
func (m *maker) rows() {
	at := map[string]int{}
	for l := range m.book.Launches {
		at[m.book.Launches[l].Subject] = l
	}
	if m.ask.Shifts == nil {
		m.planned()
		return
	}
	for i, s := range m.ask.Shifts {
		l, ok := at[s.Launch]
		if !ok {
			m.fail(fmt.Sprintf("shifts[%d].launch", i), s.Launch, "the id of a launch")
			continue
		}
		if s.People < 1 || s.People > 20 || s.From < 0 || s.To <= s.From || s.To > 24 {
			m.fail(fmt.Sprintf("shifts[%d]", i), fmt.Sprintf("%d people, %d to %d", s.People, s.From, s.To), "1 to 20 people, whole hours from 0 to 24")
			continue
		}
		worth := 0.0
		if s.Hours > 0 {
			worth = s.Stops / s.Hours
		}
		for d := m.first; d <= m.last; d++ {
			if (m.calendar.Type(d) != season.Weekday) == (s.Day == "free day") {
				m.add(RosterRow{Launch: s.Launch, Day: d.String(), From: float64(s.From), To: float64(s.To), Work: "inspect"}, l, d, s.People, worth, nil)
			}
		}
	}
	m.scaleWorth()
}

func (m *maker) add(row RosterRow, launch int, d season.Day, people int, worth float64, kept []int32) {
	b := &m.book.Launches[launch].Body
	row.Name, row.Zone = b.Name, b.Zone
	m.list = append(m.list, row)
	m.shifts = append(m.shifts, roster.Shift{
		Launch: launch, Day: int(d - m.first), From: row.From, To: row.To, People: people, Work: row.Work, Partner: b.Partner, Worth: worth,
	})
	m.kept = append(m.kept, kept)
}

// planned takes the planned shifts of the records.
func (m *maker) planned() {
	for i := range m.book.PlannedShifts {
		s := &m.book.PlannedShifts[i]
		zone := time.UTC
		if s.Launch == season.None {
			continue
		}
		from, to := s.Body.From, s.Body.To
		if z := from.Location(); z != nil {
			zone = z
		}
		from, to = from.In(zone), to.In(zone)
		d := season.DayOf(from.Year(), from.Month(), from.Day())
		if d < m.first || d > m.last {
			continue
		}
		hour := float64(from.Hour()) + float64(from.Minute())/60
		work, people := "inspect", max(1, len(s.Body.People))
		m.add(RosterRow{Shift: s.Subject, Launch: m.book.Launches[s.Launch].Subject, Day: d.String(), From: hour, To: hour + to.Sub(from).Hours(), Work: work}, int(s.Launch), d, people, 0, s.People)
	}
}

// scaleWorth brings worths to 0 to 1: they say which places are filled first when people are short.
func (m *maker) scaleWorth() {
	most := 0.0
	for i := range m.shifts {
		most = math.Max(most, m.shifts[i].Worth)
	}
	for i := range m.shifts {
		if most > 0 {
			m.shifts[i].Worth /= most
		}
	}
}

// answer writes a roster out.
func (m *maker) answer(r *roster.Result) *SeasonRoster {
	a := &SeasonRoster{Rows: m.list, People: []RosterLoad{}, Changed: r.Changed, KM: r.KM, Proved: r.Proved, Notes: append(m.notes, r.Notes...)}
	for i := range a.Rows {
		a.Rows[i].People, a.Rows[i].Open = []RosterPerson{}, r.Open[i]
		a.Open += r.Open[i]
	}
	shifts := make([]int, len(m.persons))
	for _, x := range r.Assigned {
		a.Rows[x.Shift].People = append(a.Rows[x.Shift].People, m.named(x.Person))
		shifts[x.Person]++
	}
	for i := range m.persons {
		a.People = append(a.People, RosterLoad{RosterPerson: m.named(i), Shifts: shifts[i], Hours: r.Hours[i], FreeDays: r.Weekends[i]})
	}
	slices.SortStableFunc(a.People, func(x, y RosterLoad) int { return cmp.Compare(x.Name, y.Name) })
	slices.SortStableFunc(a.Rows, func(x, y RosterRow) int {
		return cmp.Or(cmp.Compare(x.Day, y.Day), cmp.Compare(x.From, y.From), cmp.Compare(x.Name, y.Name))
	})
	if a.Notes == nil {
		a.Notes = []string{}
	}
	return a
}

func (m *maker) named(i int) RosterPerson {
	p := &m.book.People[m.persons[i]]
	return RosterPerson{ID: p.Subject, Name: p.Body.Name, New: m.p.People[i].New}
}

// distance between two launches by road, in kilometres.
func (m *maker) distance(a, b int) float64 {
	const metresPerKM = 1000
	p, q := m.book.Launches[a].Body.At, m.book.Launches[b].Body.At
	return geo.Detour(geo.GreatCircleM(geo.Point{Lat: p.Lat(), Lon: p.Lon()}, geo.Point{Lat: q.Lat(), Lon: q.Lon()}), flows.DefaultDetour) / metresPerKM
}

// certified tells whether a person's certificate covers a day.
func (m *maker) certified(person int32, work string, day int) bool {
	key := asked{person, work, day}
	if ok, known := m.may[key]; known {
		return ok
	}
	from, to := m.dayOf(day)
	ok, _ := skill.May(m.book, person, work, from, to)
	m.may[key] = ok
	return ok
}

// dayOf is the span of a day of the roster, as certificates are asked for it.
func (m *maker) dayOf(day int) (from, to time.Time) {
	from = (m.first + season.Day(day)).Date()
	return from, from.Add(24 * time.Hour)
}
