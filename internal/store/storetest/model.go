package storetest

import (
	"cmp"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"slices"
	"time"

	"thwart"
)

// World makes entries from a seed, and answers for a store by reading all of them anew.
type World struct {
	rng  *rand.Rand
	at   time.Time
	n    uint64
	zone *time.Location

	Entries                                    []thwart.Kept
	Waters, Launches, People, Shifts, Subjects []string
}

// NewWorld starts an empty world. The same seed makes the same entries.
func NewWorld(seed uint64) *World {
	return &World{
		rng: rand.New(rand.NewPCG(seed, 0x7468776172740001)), at: time.Date(2026, 5, 29, 20, 0, 0, 0, time.UTC),
		zone: time.FixedZone("", -5*3600),
	}
}

// ID makes a UUID version 7.
func (w *World) ID() string {
	w.n++
	ms := uint64(w.at.UnixMilli()) // after 1970
	return fmt.Sprintf("%08x-%04x-7%03x-%04x-%012x", ms>>16, ms&0xffff, w.n&0xfff, 0x8000|w.rng.Uint64N(0x4000), w.rng.Uint64N(1<<48))
}

// Pick gives one of several.
func pick[T any](w *World, list ...T) T { return list[w.rng.IntN(len(list))] }

func (w *World) chance(p float64) bool { return w.rng.Float64() < p }

// tick moves the clock on; now and then not, so that times tie.
func (w *World) tick() {
	if w.chance(0.7) {
		w.at = w.at.Add(time.Duration(w.rng.Int64N(int64(9 * time.Minute))).Truncate(time.Millisecond))
	}
}

// Raw makes an entry around a body and does not add it.
func (w *World) Raw(kind thwart.Kind, body any) thwart.Kept {
	w.tick()
	b, err := json.Marshal(body)
	if err != nil {
		panic(err)
	}
	id := w.ID()
	skew := pick[int64](w, 0, 0, 0, 1500, -86_400_000)
	return thwart.Kept{
		Entry: thwart.Entry{
			ID: id, Kind: kind, Subject: id, MadeAt: w.at.Add(time.Duration(w.rng.IntN(1e6))).In(pick(w, w.zone, time.UTC)),
			Origin: pick(w, thwart.OriginPhone, thwart.OriginPaper), Person: w.somebody(), Device: pick(w, "", "phone-1", "phone-2"),
			Seq: int64(w.n), App: "1.0", Body: b, // a small count
		},
		ReceivedAt: w.at.Add(3 * time.Second), SkewMS: skew,
	}
}

func (w *World) somebody() string {
	if len(w.People) == 0 {
		return ""
	}
	return pick(w, w.People...)
}

// Add makes an entry around a body and adds it.
func (w *World) Add(kind thwart.Kind, body any) thwart.Kept {
	k := w.Raw(kind, body)
	w.Entries = append(w.Entries, k)
	return k
}

// Correct supersedes an entry and adds the correction. A nil body removes the subject.
func (w *World) Correct(old thwart.Kept, body any) thwart.Kept {
	k := w.Raw(old.Kind, body)
	k.Subject, k.Supersedes, k.Why = old.Subject, old.ID, "was wrong"
	if body == nil {
		k.Removed, k.Body = true, nil
	}
	w.Entries = append(w.Entries, k)
	return k
}

// Places makes waters, launches and people.
func (w *World) Places(waters, launches, people int) {
	for i := range waters {
		w.Waters = append(w.Waters, w.Add(thwart.KindWater, map[string]any{"name": fmt.Sprint("Water ", i)}).ID)
	}
	for i := range launches {
		w.Launches = append(w.Launches, w.Add(thwart.KindLaunch, thwart.Ramp{
			Name: fmt.Sprint("Launch ", i), Water: w.Waters[i%len(w.Waters)], At: thwart.Point{-93, 45}, Lanes: 1,
		}).ID)
	}
	for i := range people {
		w.People = append(w.People, w.Add(thwart.KindPerson, thwart.Person{Name: fmt.Sprint("Person ", i), Roles: thwart.Roles[:1]}).ID)
	}
}

// ShiftBody makes a shift that starts now.
func (w *World) ShiftBody() thwart.Shift {
	from := w.at.In(w.zone)
	s := thwart.Shift{Launch: pick(w, w.Launches...), From: from, People: []string{w.somebody()}, Note: pick(w, "", "gate was stuck")}
	if w.chance(0.3) {
		s.People = append(s.People, w.somebody())
	}
	if w.chance(0.8) {
		to := from.Add(time.Duration(1+w.rng.IntN(8))*time.Hour + time.Duration(w.rng.IntN(3_600_000))*time.Millisecond)
		s.To = &to
	}
	return s
}

// EncounterBody makes an encounter of a shift that starts now.
func (w *World) EncounterBody(shift string) thwart.Encounter {
	start := w.at.In(w.zone)
	e := thwart.Encounter{Shift: shift, Protocol: "invented@1", Test: w.chance(0.05)}
	in := &e.Inspection
	in.StartedAt, in.Direction = start, "launching"
	in.Setup = thwart.Setup{Class: pick(w, "runabout", "bass_boat", "canoe"), Drives: []thwart.Drive{thwart.DriveOutboard}, Spaces: []thwart.Space{}}
	if w.chance(0.5) {
		in.Launch, in.Steward = pick(w, w.Launches...), w.somebody()
	}
	if w.chance(0.8) {
		end := start.Add(time.Duration(30+w.rng.IntN(600)) * time.Second)
		in.EndedAt = &end
	}
	if w.chance(0.8) {
		in.LastWaters = []thwart.Visit{{Water: pick(w, w.Waters...)}, {}}
		in.NextWater = pick(w, w.Waters...)
	}
	in.Note = pick(w, "", "", "red hat <&> \"ünïcode\"")
	if w.chance(0.3) {
		in.Checks = []thwart.Check{{Place: "hull", Looked: thwart.Yes}, {Place: "well", Reason: "locked, said the owner"}}
		in.Others = &thwart.Check{Looked: thwart.No, Reason: "too busy"}
	}
	for range w.rng.IntN(3) {
		in.Findings = append(in.Findings, thwart.Finding{Place: "hull", Matter: thwart.MatterPlant, Note: pick(w, "", "long")})
	}
	switch w.rng.IntN(8) {
	case 0:
		in.Refused = true
	case 1:
	default:
		e.Verdict = &thwart.Verdict{Outcome: pick(w, thwart.Outcomes...)}
		if w.chance(0.1) {
			e.Override = &thwart.Override{Outcome: pick(w, thwart.Outcomes...), By: w.somebody(), Why: "seen again", Second: w.somebody()}
		}
	}
	if w.chance(0.4) {
		e.Mark = &thwart.Mark{Hash: fmt.Sprintf("%032x", w.rng.IntN(50)), Prefix: "XX"}
	}
	return e
}

// Season adds shifts and what happens on them, with corrections, contradicting corrections and removals.
func (w *World) Season(shifts, perShift int) {
	for range shifts {
		shift := w.Add(thwart.KindShift, w.ShiftBody())
		w.Shifts = append(w.Shifts, shift.ID)
		for range w.rng.IntN(perShift + 1) {
			w.tick()
			e := w.Add(thwart.KindInspection, w.EncounterBody(shift.ID))
			for w.chance(0.25) {
				body := any(w.EncounterBody(shift.ID))
				if w.chance(0.15) {
					body = nil
				}
				next := w.Correct(e, body)
				if w.chance(0.7) { // else a second correction of the same entry: they contradict
					e = next
				}
			}
			if w.chance(0.2) {
				w.Add(thwart.KindWash, map[string]any{"encounter": e.Subject, "kit": w.ID(), "startedAt": w.at})
			}
			if w.chance(0.2) {
				w.Add(thwart.KindPhoto, thwart.Photo{Encounter: e.Subject, SHA256: fmt.Sprintf("%064x", w.n), Bytes: 12345, Type: "image/webp"})
			}
		}
		if w.chance(0.4) {
			tally := w.Add(thwart.KindTally, thwart.Tally{Shift: shift.ID, At: w.at.In(w.zone), PassedBy: w.rng.IntN(20), Refused: 1})
			if w.chance(0.2) {
				w.Correct(tally, thwart.Tally{Shift: shift.ID, At: w.at.In(w.zone), PassedBy: w.rng.IntN(20), TurnedAway: 2})
			}
		}
		if w.chance(0.3) {
			body := any(w.ShiftBody())
			if w.chance(0.1) {
				body = nil
			}
			w.Correct(shift, body)
		}
		w.at = w.at.Add(time.Duration(w.rng.IntN(30)) * time.Hour)
	}
}

// Office adds one or two of each kind that only the office and training make, some of one parent.
func (w *World) Office() {
	enc, person, water, launch := w.ID(), w.somebody(), w.ID(), w.ID()
	for range 2 {
		for kind, body := range map[thwart.Kind]map[string]any{
			thwart.KindProgramme: {"name": "A"}, thwart.KindReceipt: {"encounter": enc}, thwart.KindPairing: {"a": enc, "b": w.ID()},
			thwart.KindSecondLook: {"encounter": enc}, thwart.KindDrill: {"person": person}, thwart.KindCurriculum: {"name": "C"},
			thwart.KindCertificate: {"person": person}, thwart.KindPlan: {"name": "P"}, thwart.KindPlannedShift: {"launch": launch},
			thwart.KindAvailability: {"person": person}, thwart.KindView: {"page": "encounters"}, thwart.KindKey: {"device": w.ID()},
			thwart.KindIncident: {"water": water}, thwart.KindSheets: {"form": "B"}, thwart.KindReopening: {"record": enc, "entry": enc},
		} {
			w.tick()
			w.Add(kind, body)
		}
	}
}

// stand is the model's own reading of a subject.
type stand struct {
	head     thwart.Kept
	conflict bool
	entries  []thwart.Kept
}

// stands reads all subjects off the entries: the candidates are those that nothing supersedes, and the latest decides.
func (w *World) stands() map[string]stand {
	by := map[string][]thwart.Kept{}
	gone := map[string]bool{}
	for _, k := range w.Entries {
		by[k.Subject] = append(by[k.Subject], k)
		gone[k.Supersedes] = true
	}
	out := map[string]stand{}
	for id, list := range by {
		var tops []thwart.Kept
		for _, k := range list {
			if !gone[k.ID] {
				tops = append(tops, k)
			}
		}
		slices.SortFunc(tops, func(a, b thwart.Kept) int { return cmp.Or(b.At().Compare(a.At()), cmp.Compare(b.ID, a.ID)) })
		out[id] = stand{head: tops[0], conflict: len(tops) > 1, entries: list}
	}
	return out
}

func decode[T any](k thwart.Kept) T {
	var v T
	if err := json.Unmarshal(k.Body, &v); err != nil {
		panic(err)
	}
	return v
}

// Rows gives every encounter that is not removed, by subject.
func (w *World) Rows() map[string]thwart.EncounterRow {
	stands := w.stands()
	out := map[string]thwart.EncounterRow{}
	for id, s := range stands {
		if s.head.Kind != thwart.KindInspection || s.head.Removed {
			continue
		}
		e := decode[thwart.Encounter](s.head)
		in := e.Inspection
		r := thwart.EncounterRow{
			Subject: id, At: in.StartedAt.UTC().Truncate(time.Millisecond), Shift: e.Shift, Launch: in.Launch, Steward: in.Steward,
			Class: in.Setup.Class, NextWater: in.NextWater, Given: e.Given(), Refused: in.Refused, Test: e.Test,
			Findings: len(in.Findings), Conflict: s.conflict,
		}
		if len(in.LastWaters) > 0 {
			r.LastWater = in.LastWaters[0].Water
		}
		if e.Verdict != nil {
			r.Computed = e.Verdict.Outcome
		}
		if in.EndedAt != nil {
			r.Seconds = in.EndedAt.Sub(in.StartedAt).Seconds()
		}
		if e.Mark != nil {
			r.Mark = e.Mark.Hash
		}
		if sh, ok := stands[e.Shift]; r.Launch == "" && ok && !sh.head.Removed {
			r.Launch = decode[thwart.Shift](sh.head).Launch
		}
		if r.Steward == "" {
			for _, k := range s.entries {
				if k.ID == id {
					r.Steward = k.Person
				}
			}
		}
		out[id] = r
	}
	w.join(out)
	return out
}

// join writes into rows which are further looks at one craft, by painting the encounters of every decided pair in one colour
// until nothing changes.
func (w *World) join(rows map[string]thwart.EncounterRow) {
	colour := map[string]string{}
	for id, r := range rows {
		if !r.Test {
			colour[id] = id
		}
	}
	// Encounters that are not there, or planted, can still join two others.
	var same [][2]string
	for _, s := range w.stands() {
		if s.head.Kind != thwart.KindPairing || s.head.Removed {
			continue
		}
		if p := decode[thwart.Pairing](s.head); p.Decision == thwart.PairSame {
			same = append(same, [2]string{p.A, p.B})
			for _, id := range []string{p.A, p.B} {
				colour[id] = id
			}
		}
	}
	for changed := true; changed; {
		changed = false
		for _, p := range same {
			if c := min(colour[p[0]], colour[p[1]]); colour[p[0]] != c || colour[p[1]] != c {
				colour[p[0]], colour[p[1]], changed = c, c, true
			}
		}
	}
	looks := map[string][]string{}
	for id, r := range rows {
		if !r.Test {
			looks[colour[id]] = append(looks[colour[id]], id)
		}
	}
	for _, ids := range looks {
		if len(ids) < 2 {
			continue
		}
		slices.SortFunc(ids, func(a, b string) int { return cmp.Or(rows[a].At.Compare(rows[b].At), cmp.Compare(a, b)) })
		strictest, known, hold := thwart.Outcome(""), true, false
		for _, id := range ids {
			g := rows[id].Given
			known, hold = known && g.Rank() >= 0, hold || g == thwart.Hold
			if g.Rank() > strictest.Rank() {
				strictest = g
			}
		}
		if !known && !hold {
			strictest = ""
		}
		for k, id := range ids {
			r := rows[id]
			if r.Governs = strictest; k > 0 {
				r.SameAs = ids[0]
			}
			rows[id] = r
		}
	}
}

// Pairs decides on pairs of the encounters that are there: most once, some turned round, some removed, some through a third.
func (w *World) Pairs(n int) {
	var ids []string
	for id := range w.Rows() {
		ids = append(ids, id)
	}
	slices.Sort(ids)
	taken := map[string]bool{}
	for range n {
		a, b := pick(w, ids...), pick(w, ids...)
		if a == b || taken[a] && taken[b] {
			continue
		}
		taken[a], taken[b] = true, true
		p := w.Add(thwart.KindPairing, thwart.Pairing{A: a, B: b, Decision: pick(w, thwart.PairSame, thwart.PairSame, thwart.PairDifferent)})
		switch {
		case w.chance(0.2):
			w.Correct(p, thwart.Pairing{A: a, B: b, Decision: pick(w, thwart.PairSame, thwart.PairDifferent)})
		case w.chance(0.1):
			w.Correct(p, nil)
		}
	}
}

// Totals sums the season from the entries.
func (w *World) Totals(q thwart.TotalsQuery) []thwart.Total {
	inside := func(t time.Time) bool {
		t = t.Truncate(time.Millisecond)
		return (q.From.IsZero() || !t.Before(q.From)) && (q.To.IsZero() || t.Before(q.To))
	}
	effort := slices.Contains([]string{"", "launch", "day", "week", "month"}, q.By)
	rows := map[string]*thwart.Total{}
	at := func(key string) *thwart.Total {
		if rows[key] == nil {
			rows[key] = &thwart.Total{Key: key, ByOutcome: map[thwart.Outcome]int{}}
			if !effort {
				rows[key].Hours = -1
			}
		}
		return rows[key]
	}
	date := func(t time.Time) string {
		switch q.By {
		case "week":
			y, n := t.ISOWeek()
			return fmt.Sprintf("%d-W%02d", y, n)
		case "month":
			return t.Format("2006-01")
		}
		return t.Format("2006-01-02")
	}
	key := func(launch string, t time.Time) string {
		switch q.By {
		case "":
			return ""
		case "launch":
			return launch
		}
		return date(t)
	}
	if q.By == "" {
		at("")
	}
	stands := w.stands()
	all := w.Rows()
	doubles, anyOf := map[string]int{}, map[string]struct {
		refused  bool
		findings int
	}{}
	for id, r := range all {
		lead := cmp.Or(r.SameAs, id)
		if r.SameAs != "" {
			doubles[lead]++
		}
		x := anyOf[lead]
		x.refused, x.findings = x.refused || r.Refused, x.findings+r.Findings
		anyOf[lead] = x
	}
	last := map[string]time.Time{}
	for id, r := range all {
		e := decode[thwart.Encounter](stands[id].head)
		end := e.Inspection.StartedAt
		if e.Inspection.EndedAt != nil {
			end = *e.Inspection.EndedAt
		}
		if sh, ok := stands[r.Shift]; ok && !sh.head.Removed && !r.At.Before(decode[thwart.Shift](sh.head).From) && end.After(last[r.Shift]) {
			last[r.Shift] = end
		}
		if r.Test || r.SameAs != "" || !inside(r.At) {
			continue
		}
		if doubles[id] > 0 { // the first look stands for the craft
			r.Given, r.Refused, r.Findings = r.Governs, anyOf[id].refused, anyOf[id].findings
		}
		k := ""
		switch q.By {
		case "class":
			k = r.Class
		case "outcome":
			if k = string(r.Given); r.Refused {
				k = "refused"
			}
		case "last_water":
			k = r.LastWater
		case "steward":
			k = r.Steward
		default:
			k = key(r.Launch, e.Inspection.StartedAt)
		}
		t := at(k)
		t.Encounters++
		t.Doubles += doubles[id]
		if r.Given != "" && !r.Refused {
			t.ByOutcome[r.Given]++
		}
		if r.Refused {
			t.Refused++
		}
		if r.Findings > 0 {
			t.Findings++
		}
	}
	if effort {
		ms := map[string]int64{}
		for id, s := range stands {
			if s.head.Removed {
				continue
			}
			switch s.head.Kind {
			case thwart.KindShift:
				sh := decode[thwart.Shift](s.head)
				if !inside(sh.From) {
					continue
				}
				to := sh.From
				if sh.To != nil {
					to = *sh.To
				} else if !last[id].IsZero() {
					to = last[id]
				}
				k := key(sh.Launch, sh.From)
				at(k)
				ms[k] += to.Sub(sh.From).Milliseconds() * int64(len(sh.People))
			case thwart.KindTally:
				ta := decode[thwart.Tally](s.head)
				if !inside(ta.At) {
					continue
				}
				launch := ""
				if sh := stands[ta.Shift]; !sh.head.Removed && sh.head.Kind == thwart.KindShift {
					launch = decode[thwart.Shift](sh.head).Launch
				}
				row := at(key(launch, ta.At))
				row.PassedBy += ta.PassedBy
				row.TallyRefused += ta.Refused
				row.TurnedAway += ta.TurnedAway
			}
		}
		for k, n := range ms {
			rows[k].Hours = float64(n) / 3.6e6
		}
	}
	out := make([]thwart.Total, 0, len(rows))
	for _, t := range rows {
		out = append(out, *t)
	}
	slices.SortFunc(out, func(a, b thwart.Total) int { return cmp.Compare(a.Key, b.Key) })
	return out
}
