package season

import "thwart"

// Record is a record that is kept as it was written.
type Record[T any] struct {
	About
	Body T
}

// SecondLook is an inspection of a craft that another person had inspected.
type SecondLook struct {
	About
	Body      thwart.SecondLook
	Encounter int32 // the first look
	Other     int32 // the second, where it is an inspection of its own
	Looker    int32 // index in [Book.People] of who looked the second time
	At        Moment
}

// Drill is one practice craft on screen.
type Drill struct {
	About
	Body   thwart.Drill
	Person int32 // who practised
	At     Moment
}

// Receipt is a paper that a boater was given, without the text of its code.
type Receipt struct {
	About
	Encounter int32
	Wash      int32
	IssuedAt  Moment
	ExpiresAt Moment
	KeyID     string
	Seal      string
	Outcome   thwart.Outcome
}

// PlannedShift is a shift that is to be worked.
type PlannedShift struct {
	About
	Body   thwart.PlannedShift
	Launch int32
	Unit   int32
	People []int32
}

// officePiles holds what the office writes.
type officePiles struct {
	programmes   pile[thwart.Programme]
	pairings     pile[thwart.Pairing]
	secondLooks  pile[timed[thwart.SecondLook]]
	drills       pile[timed[thwart.Drill]]
	receipts     pile[Receipt]
	curricula    pile[thwart.Curriculum]
	certified    pile[thwart.Certified]
	plans        pile[thwart.Plan]
	planned      pile[thwart.PlannedShift]
	availability pile[thwart.Availability]
	incidents    pile[thwart.Incident]
	sheets       pile[thwart.Sheets]
	reopenings   pile[thwart.Reopening]
}

// timed is a body with its time set right by the device's clock.
type timed[T any] struct {
	body T
	at   Moment
}

// office reads a body of the office's kinds; None for another kind.
func (b *Builder) office(k *thwart.Kept) (at int32, err error) {
	o := &b.desk
	switch k.Kind {
	case thwart.KindProgramme:
		at, err = keep(&o.programmes, k.Body)
	case thwart.KindPairing:
		at, err = keep(&o.pairings, k.Body)
	case thwart.KindSecondLook:
		at, err = convert(k, nil, &o.secondLooks, func(s *thwart.SecondLook, c clock) timed[thwart.SecondLook] {
			return timed[thwart.SecondLook]{*s, c.moment(s.At)}
		})
	case thwart.KindDrill:
		at, err = convert(k, nil, &o.drills, func(d *thwart.Drill, c clock) timed[thwart.Drill] {
			return timed[thwart.Drill]{*d, c.moment(d.StartedAt)}
		})
	case thwart.KindReceipt:
		at, err = convert(k, nil, &o.receipts, func(r *thwart.Receipt, c clock) Receipt {
			return Receipt{
				Encounter: b.ref(r.Encounter), Wash: b.ref(r.Wash), IssuedAt: c.moment(r.IssuedAt), ExpiresAt: c.optional(r.ExpiresAt),
				KeyID: b.word(r.KeyID), Seal: r.Seal, Outcome: thwart.Outcome(b.word(string(r.Outcome))),
			}
		})
	case thwart.KindCurriculum:
		at, err = keep(&o.curricula, k.Body)
	case thwart.KindCertificate:
		at, err = keep(&o.certified, k.Body)
	case thwart.KindPlan:
		at, err = keep(&o.plans, k.Body)
	case thwart.KindPlannedShift:
		at, err = keep(&o.planned, k.Body)
	case thwart.KindAvailability:
		at, err = keep(&o.availability, k.Body)
	case thwart.KindIncident:
		at, err = keep(&o.incidents, k.Body)
	case thwart.KindSheets:
		at, err = keep(&o.sheets, k.Body)
	case thwart.KindReopening:
		at, err = keep(&o.reopenings, k.Body)
	default:
		return None, nil
	}
	return at, err
}

// desk puts the office's records into the Book.
func (m *maker) desk(heads map[thwart.Kind][]head) {
	b, o := m.book, &m.b.desk
	b.Programmes = plain(m, heads[thwart.KindProgramme], &o.programmes)
	b.Pairings = plain(m, heads[thwart.KindPairing], &o.pairings)
	b.Curricula = plain(m, heads[thwart.KindCurriculum], &o.curricula)
	b.Certificates = plain(m, heads[thwart.KindCertificate], &o.certified)
	b.Plans = plain(m, heads[thwart.KindPlan], &o.plans)
	b.Availability = plain(m, heads[thwart.KindAvailability], &o.availability)
	b.Incidents = plain(m, heads[thwart.KindIncident], &o.incidents)
	b.Sheets = plain(m, heads[thwart.KindSheets], &o.sheets)
	b.SecondLooks = take(m, heads[thwart.KindSecondLook], func(h head) SecondLook {
		t := o.secondLooks.at(h.body)
		return SecondLook{About: m.about(h), Body: t.body, At: t.at,
			Encounter: m.of(t.body.Encounter), Other: m.of(t.body.Other), Looker: m.of(t.body.Person)}
	})
	b.Drills = take(m, heads[thwart.KindDrill], func(h head) Drill {
		t := o.drills.at(h.body)
		return Drill{About: m.about(h), Body: t.body, At: t.at, Person: m.of(t.body.Person)}
	})
	b.Receipts = take(m, heads[thwart.KindReceipt], func(h head) Receipt {
		r := *o.receipts.at(h.body)
		r.About = m.about(h)
		r.Encounter, r.Wash = m.at(r.Encounter), m.at(r.Wash)
		return r
	})
	b.PlannedShifts = take(m, heads[thwart.KindPlannedShift], func(h head) PlannedShift {
		p := PlannedShift{About: m.about(h), Body: *o.planned.at(h.body)}
		p.Launch, p.Unit = m.of(p.Body.Launch), m.of(p.Body.Unit)
		for _, id := range p.Body.People {
			p.People = append(p.People, m.of(id))
		}
		return p
	})
}

func plain[T any](m *maker, heads []head, p *pile[T]) []Record[T] {
	return take(m, heads, func(h head) Record[T] { return Record[T]{m.about(h), *p.at(h.body)} })
}

// twins marks the second record of every craft that a person has said was recorded twice. Of a chain of three the earliest
// counts.
func (m *maker) twins() {
	root := func(i int32) int32 {
		for m.book.Encounters[i].Twin != None {
			i = m.book.Encounters[i].Twin
		}
		return i
	}
	for i := range m.book.Pairings {
		p := &m.book.Pairings[i].Body
		a, b := m.of(p.A), m.of(p.B)
		if p.Decision != thwart.PairSame || a == None || b == None {
			continue
		}
		if a, b = root(a), root(b); a != b {
			m.book.Encounters[max(a, b)].Twin = min(a, b) // encounters lie in the order of time
		}
	}
}
