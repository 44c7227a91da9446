package season

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"thwart"
	"thwart/merge"
)

// Book is a season's records, every thing once as it stands. Do not change it.
type Book struct {
	Cursor        int64 // largest of the entries it was made from
	Waters        []Water
	Launches      []Launch
	Units         []Unit
	People        []Person
	Shifts        []Shift     // by begin
	Encounters    []Encounter // by time
	Washes        []Wash      // by begin
	Tallies       []Tally
	Trials        []Trial
	Programmes    []Record[thwart.Programme] // the programme's own record; one, where it was written
	Pairings      []Record[thwart.Pairing]
	SecondLooks   []SecondLook
	Drills        []Drill
	Receipts      []Receipt
	Curricula     []Record[thwart.Curriculum]
	Certificates  []Record[thwart.Certified]
	Plans         []Record[thwart.Plan]
	PlannedShifts []PlannedShift
	Availability  []Record[thwart.Availability]
	Incidents     []Record[thwart.Incident]
	Sheets        []Record[thwart.Sheets] // blocks of numbered forms as they were printed
	// Faults lists entries that could not be read; Faulty counts them where there are more.
	Faults []Fault
	Faulty int

	index map[string]int32 // of every subject in the slice of its kind
}

// Index gives the place of a thing in the slice of its kind; None where the Book has no such thing.
func (b *Book) Index(subject string) int32 {
	if i, ok := b.index[subject]; ok {
		return i
	}
	return None
}

// WereBefore gives the encounters with craft that were in a water before they were in the last one, as their boaters said, in the
// order of time. One that came from that very water last is not among them. from and to, where they are not zero, leave out what was
// met more than a day before or after: no clock of a phone is set right by more, and whoever lists them looks at the times as sent.
func (b *Book) WereBefore(water string, from, to time.Time) []string {
	out := []string{}
	w := b.Index(water)
	if w == None || int(w) >= len(b.Waters) || b.Waters[w].Subject != water {
		return out
	}
	for i := range b.Encounters {
		e := &b.Encounters[i]
		if len(e.Visits) < 2 || e.Visits[0].Water == w {
			continue
		}
		if at := e.At.Time(); !from.IsZero() && from.Sub(at) > 24*time.Hour || !to.IsZero() && at.Sub(to) > 24*time.Hour {
			continue
		}
		if slices.ContainsFunc(e.Visits[1:], func(v Visit) bool { return v.Water == w }) {
			out = append(out, e.Subject)
		}
	}
	return out
}

// WaterAt gives a water as it stood at a moment.
func (b *Book) WaterAt(water int32, m Moment) thwart.Water {
	w := &b.Waters[water]
	return w.Body.At(w.Subject, m.Time())
}

// Span gives the first and last day of the season's shifts. ok is false where there are none.
func (b *Book) Span() (first, last Day, ok bool) {
	for i := range b.Shifts {
		s := &b.Shifts[i]
		if !s.To.Set {
			continue
		}
		if !ok || s.From.Day() < first {
			first = s.From.Day()
		}
		if !ok || s.To.Day() > last {
			last = s.To.Day()
		}
		ok = true
	}
	return first, last, ok
}

// A year without three months of rest is cut after YearDays; RestDays without a shift end a season (common practice, no source:
// programmes rest over winter).
const (
	YearDays = 366
	RestDays = 90
)

// LatestSeason gives the first and last day of the shifts of the latest season, or of the craft met where no shift has ended. It begins
// after the last rest of [RestDays], or where the programme says that the season began, and is at most [YearDays] long. ok is
// false where there is neither a shift nor a craft.
func (b *Book) LatestSeason() (first, last Day, ok bool) {
	first, last, ok = b.Span()
	var starts []Day
	for i := range b.Shifts {
		if b.Shifts[i].To.Set {
			starts = append(starts, b.Shifts[i].From.Day())
		}
	}
	if !ok {
		for i := range b.Encounters {
			starts = append(starts, b.Encounters[i].At.Day())
		}
		if len(starts) == 0 {
			return 0, 0, false
		}
		first, last = slices.Min(starts), slices.Max(starts)
	}
	slices.Sort(starts)
	begin := max(first, last-YearDays+1)
	for i := range b.Programmes {
		p := &b.Programmes[i].Body
		from, err1 := ParseDay(p.SeasonFrom)
		to, err2 := ParseDay(p.SeasonTo)
		if err1 == nil && err2 == nil && from <= last && to >= last {
			begin = max(begin, from)
		}
	}
	first = last
	for _, day := range slices.Backward(starts) {
		if day < begin || first-day > RestDays {
			break
		}
		first = day
	}
	return first, last, true
}

// maker turns piles into a Book.
type maker struct {
	b     *Builder
	book  *Book
	index []int32        // per symbol: place in the slice of its kind
	taken map[int32]bool // looks that were taken back, by the symbol of their entry
	zones []*time.Location
}

// Book gives the records as they stand. It costs time and memory in proportion to them; the Builder may be added to after.
func (b *Builder) Book() *Book {
	m := &maker{b: b, book: &Book{Cursor: b.cursor, Faults: slices.Clone(b.faults), Faulty: b.faulty}, index: make([]int32, len(b.syms.names))}
	for i := range m.index {
		m.index[i] = None
	}
	heads := map[thwart.Kind][]head{}
	for s := range b.syms.names {
		if int(s) < len(b.latest) && b.latest[s] != None {
			if h, ok := b.headOf(int32(s)); ok {
				heads[h.kind] = append(heads[h.kind], h)
			}
		}
	}
	m.taken = map[int32]bool{}
	for _, h := range heads[thwart.KindReopening] {
		if entry, ok := b.syms.of[b.desk.reopenings.at(h.body).Entry]; ok {
			m.taken[entry] = true
		}
	}
	book := m.book
	book.Waters = take(m, heads[thwart.KindWater], func(h head) Water { return Water{About: m.about(h), Body: *b.waters.at(h.body)} })
	book.Launches = take(m, heads[thwart.KindLaunch], func(h head) Launch { return Launch{About: m.about(h), Body: *b.launches.at(h.body)} })
	book.Units = take(m, heads[thwart.KindUnit], func(h head) Unit { return Unit{About: m.about(h), Body: *b.units.at(h.body)} })
	book.People = take(m, heads[thwart.KindPerson], func(h head) Person { return Person{About: m.about(h), Body: *b.people.at(h.body)} })
	m.places()
	book.Shifts = take(m, heads[thwart.KindShift], m.shift)
	book.Encounters = take(m, heads[thwart.KindInspection], m.encounter)
	book.Washes = take(m, heads[thwart.KindWash], m.wash)
	book.Tallies = take(m, heads[thwart.KindTally], m.tally)
	book.Trials = take(m, heads[thwart.KindTrial], m.trial)
	m.desk(heads)
	m.twins()
	m.persons()
	m.count()
	m.table()
	return book
}

// head is the entry that says what a subject is.
type head struct {
	version
	versions int32
	conflict bool
}

// headOf reads the head off the versions of a subject; ok is false where it is removed or has no body.
func (b *Builder) headOf(subject int32) (head, bool) {
	at := b.latest[subject]
	first := b.versions.at(at)
	if first.previous == None {
		return head{*first, 1, false}, !first.removed && first.body != None
	}
	var all []thwart.Kept
	for ; at != None; at = b.versions.at(at).previous {
		v := b.versions.at(at)
		k := thwart.Kept{Entry: thwart.Entry{ID: b.syms.names[v.id], MadeAt: time.UnixMilli(v.at.MS)}, Cursor: int64(at)}
		if v.supersedes != None {
			k.Supersedes = b.syms.names[v.supersedes]
		}
		all = append(all, k)
	}
	top, conflict := merge.Head(all)
	v := b.versions.at(int32(top.Cursor))
	return head{*v, int32(len(all)), conflict}, !v.removed && v.body != None
}

// seen reports whether somebody at the office's desk has looked at a record and kept it with a reason, corrected or as it was.
// A version that reads as the one before the last undoes that look, and a look that was taken back says nothing: both leave the
// record as it was before.
func (m *maker) seen(h head) bool {
	v := &h.version
	for range h.versions { // versions that supersede each other in a circle say nothing
		var first *version
		before := m.b.supersededBy(v)
		if before != nil {
			first = m.b.supersededBy(before)
		}
		switch {
		case m.taken[v.id]:
			if v = before; v == nil {
				return false
			}
		case before == nil:
			return v.office && v.supersedes != None
		case v.office && first != nil && first.sum == v.sum && before.sum != v.sum:
			v = first
		default:
			return v.office
		}
	}
	return false
}

// supersededBy is the version that another one corrects; nil where there is none, or it has not arrived.
func (b *Builder) supersededBy(v *version) *version {
	if v.supersedes == None || int(v.supersedes) >= len(b.byEntry) || b.byEntry[v.supersedes] == None {
		return nil
	}
	return b.versions.at(b.byEntry[v.supersedes])
}

// take makes the records of one kind, in the order of their times and then of their subjects, and notes where each one is.
func take[T any, P interface {
	*T
	about() *About
	begins() int64
}](m *maker, heads []head, make1 func(head) T) []T {
	type spot struct {
		begins int64
		at     int32
	}
	out, spots := make([]T, len(heads)), make([]spot, len(heads)) // spots are sorted in place of the records, which are large
	for i, h := range heads {
		out[i] = make1(h)
		spots[i] = spot{P(&out[i]).begins(), int32(i)}
	}
	slices.SortFunc(spots, func(x, y spot) int {
		if x.begins != y.begins {
			return cmp.Compare(x.begins, y.begins)
		}
		return strings.Compare(P(&out[x.at]).about().Subject, P(&out[y.at]).about().Subject)
	})
	from := make([]int32, len(spots))
	for i, s := range spots {
		m.index[heads[s.at].subject], from[i] = int32(i), s.at
	}
	arrange(out, from)
	return out
}

// arrange puts at each place the item that stands at the place given for it. It uses up from.
func arrange[T any](items []T, from []int32) {
	for start := range from {
		first := items[start]
		at := int32(start)
		for from[at] != int32(start) {
			next := from[at]
			items[at], from[at] = items[next], at
			at = next
		}
		items[at], from[at] = first, at
	}
}

func (a *About) about() *About { return a }

// begins is the time that records of a kind lie in order of; 0 for all of a kind that has none.
func (a *About) begins() int64     { return 0 }
func (s *Shift) begins() int64     { return s.From.MS }
func (e *Encounter) begins() int64 { return e.At.MS }
func (w *Wash) begins() int64      { return w.From.MS }
func (t *Tally) begins() int64     { return t.At.MS }
func (t *Trial) begins() int64     { return t.PlantedAt.MS }

// of is the place of a thing by its id.
func (m *maker) of(id string) int32 {
	if s, ok := m.b.syms.of[id]; ok && int(s) < len(m.index) {
		return m.index[s]
	}
	return None
}

func (m *maker) about(h head) About {
	names := m.b.syms.names
	return About{
		Subject: names[h.subject], Head: names[h.id], Made: h.at, Received: h.received, Person: h.person, Versions: h.versions, Conflict: h.conflict,
		Seen: m.seen(h),
	}
}

// at is the place of what a symbol stands for.
func (m *maker) at(symbol int32) int32 {
	if symbol == None {
		return None
	}
	return m.index[symbol]
}

func (m *maker) all(symbols []int32) []int32 {
	out := make([]int32, len(symbols))
	for i, s := range symbols {
		out[i] = m.at(s)
	}
	return out
}

// places ties launches to waters and units, and finds the launches' zones.
func (m *maker) places() {
	book := m.book
	m.zones = make([]*time.Location, len(book.Launches))
	for l := range book.Launches {
		lau := &book.Launches[l]
		if lau.Water = m.of(lau.Body.Water); lau.Water != None {
			w := &book.Waters[lau.Water]
			w.Launches = append(w.Launches, int32(l))
		}
		if name := lau.Body.Zone; name != "" && m.b.opt.Zone != nil {
			if z, err := m.b.opt.Zone(name); err == nil {
				m.zones[l] = z
			}
		}
	}
	for u := range book.Units {
		book.Units[u].Launch = m.of(book.Units[u].Body.Launch)
	}
}

// wall puts a moment on the wall clock of a launch.
func (m *maker) wall(t Moment, launch int32) Moment {
	if launch == None || !t.Set || m.zones[launch] == nil {
		return t
	}
	return momentOf(time.UnixMilli(t.MS), m.zones[launch])
}

func (m *maker) shift(h head) Shift {
	s := *m.b.shifts.at(h.body)
	s.About = m.about(h)
	s.Launch, s.People = m.at(s.Launch), m.all(s.People)
	s.From, s.To = m.wall(s.From, s.Launch), m.wall(s.To, s.Launch)
	return s
}

func (m *maker) encounter(h head) Encounter {
	e := *m.b.encounters.at(h.body)
	e.About = m.about(h)
	e.Shift, e.Launch, e.Water, e.Steward, e.Next = m.at(e.Shift), m.at(e.Launch), m.at(e.Water), m.at(e.Steward), m.at(e.Next)
	if e.Launch == None && e.Shift != None {
		e.Launch = m.book.Shifts[e.Shift].Launch
	}
	if e.Launch != None && m.book.Launches[e.Launch].Water != None {
		e.Water = m.book.Launches[e.Launch].Water
	}
	e.At = m.wall(e.At, e.Launch)
	e.Visits = slices.Clone(e.Visits)
	for i := range e.Visits {
		v := &e.Visits[i]
		v.Water, v.Out = m.at(v.Water), m.wall(v.Out, e.Launch)
	}
	return e
}

func (m *maker) wash(h head) Wash {
	w := *m.b.washes.at(h.body)
	w.About = m.about(h)
	w.Encounter, w.Unit, w.People = m.at(w.Encounter), m.at(w.Unit), m.all(w.People)
	return w
}

func (m *maker) tally(h head) Tally {
	t := *m.b.tallies.at(h.body)
	t.About = m.about(h)
	t.Shift = m.at(t.Shift)
	return t
}

func (m *maker) trial(h head) Trial {
	t := *m.b.trials.at(h.body)
	t.About = m.about(h)
	t.Encounter, t.Steward, t.PlantedBy = m.at(t.Encounter), m.at(t.Steward), m.at(t.PlantedBy)
	return t
}

// persons turns the makers of records from symbols into people.
func (m *maker) persons() {
	of := func(a *About) { a.Person = m.at(a.Person) }
	b := m.book
	each(b.Waters, of)
	each(b.Launches, of)
	each(b.Units, of)
	each(b.People, of)
	each(b.Shifts, of)
	each(b.Encounters, of)
	each(b.Washes, of)
	each(b.Tallies, of)
	each(b.Trials, of)
	each(b.Programmes, of)
	each(b.Pairings, of)
	each(b.SecondLooks, of)
	each(b.Drills, of)
	each(b.Receipts, of)
	each(b.Curricula, of)
	each(b.Certificates, of)
	each(b.Plans, of)
	each(b.PlannedShifts, of)
	each(b.Availability, of)
	each(b.Incidents, of)
}

func each[T any, P interface {
	*T
	about() *About
}](list []T, do func(*About)) {
	for i := range list {
		do(P(&list[i]).about())
	}
}

// count adds tallies to their shifts.
func (m *maker) count() {
	for i := range m.book.Tallies {
		t := &m.book.Tallies[i]
		if t.Shift == None {
			continue
		}
		s := &m.book.Shifts[t.Shift]
		s.PassedBy += t.PassedBy
		s.Refused += t.Refused
		s.TurnedAway += t.TurnedAway
	}
}

func (m *maker) table() {
	m.book.index = make(map[string]int32, len(m.book.Encounters)+len(m.book.Shifts))
	for s, at := range m.index {
		if at != None {
			m.book.index[m.b.syms.names[s]] = at
		}
	}
}
