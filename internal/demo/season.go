package demo

import (
	"cmp"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"slices"
	"time"

	"thwart"
	"thwart/engine/num"
)

// draft is an entry that waits for its turn of the day.
type draft struct {
	entry thwart.Entry
	by    *Worker
	at    time.Time // true time of making; the entry itself carries the device's
}

// book gathers a day's drafts and hands them on in order.
type book struct {
	w       *World
	drafts  []draft
	pending []draft // of later days
	yield   func(thwart.Entry) bool
}

// write adds a first entry about a new subject. id empty: a new one is made.
func (b *book) write(kind thwart.Kind, id string, at time.Time, by *Worker, body thwart.Body, r *rand.Rand) string {
	shown := at.Add(by.skewed)
	if id == "" {
		id = newID(shown, r)
	}
	b.drafts = append(b.drafts, draft{b.w.entry(kind, id, id, shown, by, body), by, at})
	return id
}

// correct adds an entry that supersedes another of the same subject.
func (b *book) correct(kind thwart.Kind, subject, old string, at time.Time, by *Worker, body thwart.Body, why string, r *rand.Rand) string {
	shown := at.Add(by.skewed)
	e := b.w.entry(kind, newID(shown, r), subject, shown, by, body)
	e.Supersedes, e.Why, e.Removed = old, why, body == nil
	b.pending = append(b.pending, draft{e, by, at})
	return e.ID
}

func (w *World) entry(kind thwart.Kind, id, subject string, at time.Time, by *Worker, body thwart.Body) thwart.Entry {
	e := thwart.Entry{ID: id, Kind: kind, Subject: subject, MadeAt: at, Origin: thwart.OriginDemo, Person: by.ID, Device: by.Device, App: "demo"}
	if body == nil {
		return e
	}
	if err := body.Validate(); err != nil {
		panic(fmt.Sprintf("demo: %s %s: %v", kind, id, err))
	}
	var err error
	if e.Body, err = json.Marshal(body); err != nil {
		panic(fmt.Sprintf("demo: %s %s: %v", kind, id, err))
	}
	return e
}

// close hands on every draft made before a moment, in true order, numbered within its device.
func (b *book) close(until time.Time) bool {
	b.pending = slices.DeleteFunc(b.pending, func(d draft) bool {
		due := d.at.Before(until)
		if due {
			b.drafts = append(b.drafts, d)
		}
		return due
	})
	slices.SortStableFunc(b.drafts, func(x, y draft) int { return x.at.Compare(y.at) })
	for _, d := range b.drafts {
		if d.entry.Device != "" {
			d.by.seq++
			d.entry.Seq = d.by.seq
		}
		if !b.yield(d.entry) {
			return false
		}
	}
	b.drafts = b.drafts[:0]
	return true
}

// entries walks the season: the reference records first, then day by day.
func (w *World) entries(yield func(thwart.Entry) bool) {
	w.Truth.Met = Met{Came: make([]int, len(w.Launches)), Expected: make([]float64, len(w.Launches))}
	for _, list := range [][]Worker{w.Stewards, w.Technicians} {
		for i := range list {
			list[i].seq = 0
		}
	}
	b := &book{w: w, yield: yield}
	w.writeReference(b)
	w.writeTraining(b)
	if !b.close(w.First) {
		return
	}
	worked := make([]int, len(w.Stewards)) // days in the week so far
	for d := range w.Days() {
		day := w.First.AddDate(0, 0, d)
		if day.Weekday() == time.Monday {
			clear(worked)
		}
		w.washing = make([][][2]time.Time, len(w.Kits))
		for _, p := range w.planDay(d, worked) {
			w.workShift(b, p)
		}
		if !b.close(day.AddDate(0, 0, 1)) {
			return
		}
	}
	b.close(w.Last.AddDate(1, 0, 0))
}

func (w *World) writeReference(b *book) {
	r := num.Stream(w.Seed, "office")
	at := w.Opened
	next := func() time.Time { at = at.Add(time.Minute); return at }
	m := &w.Manager
	b.write(thwart.KindPerson, m.ID, next(), m, &m.Body, r)
	b.write(thwart.KindPerson, w.Biologist.ID, next(), m, &w.Biologist.Body, r)
	for _, list := range [][]Worker{w.Stewards, w.Technicians} {
		for i := range list {
			b.write(thwart.KindPerson, list[i].ID, next(), m, &list[i].Body, r)
		}
	}
	for i := range w.Waters {
		b.write(thwart.KindWater, w.Waters[i].ID, next(), m, &w.Waters[i].Body, r)
		if later := w.Waters[i].Later; later != nil {
			b.correct(thwart.KindWater, w.Waters[i].ID, w.Waters[i].ID, w.Waters[i].LaterAt, m, later, "declared by the agency; second approver: "+w.Biologist.Body.Name, r)
		}
	}
	for i := range w.Launches {
		b.write(thwart.KindLaunch, w.Launches[i].ID, next(), m, &w.Launches[i].Body, r)
	}
	b.write(thwart.KindProtocol, w.ProtocolID, next(), m, &w.Protocol, r)
	for i := range w.Kits {
		w.writeKit(b, i, next(), r)
	}
	b.write(thwart.KindProgramme, "", next(), m, &thwart.Programme{
		Name: Name, Zone: zoneName, Letterhead: []string{Name, "Every record is invented"}, Languages: []string{"en"},
		Contacts: contacts(),
		Costs:    thwart.Costs{Currency: "USD", PerStewardHour: 31, PerWash: 24}, // invented
		Licence:  "CC0-1.0", Citation: Name + ", invented records for trying the program out", Retention: thwart.Retention{MarkDays: 730, NoteDays: 365, PhotoDays: 90, TrialDays: 1095},
		Protocol: w.Protocol.ID + "@" + w.Protocol.Version, SeasonFrom: w.First.Format(time.DateOnly), SeasonTo: w.Last.Format(time.DateOnly),
	}, r)
}

// contacts are offices to call about a find, in this order. The numbers are of the block 555-0100 to 555-0199, which the North
// American plan keeps free for invented ones.
func contacts() []thwart.Contact {
	return []thwart.Contact{
		{Role: "lead", Words: "The lead on duty at the office of " + Name + ", every day from 6 to 20. Say the launch, what was found and where on the craft.", Phone: "555-0111"},
		{Role: "agency", Words: "The invented state's biologist on call, day and night. Has the word on a live animal, and on when a held craft may go.", Phone: "555-0142"},
		{Role: "officer", Words: "The invented county's water patrol, from 5 to 22. When somebody will not wait, or a craft went in.", Phone: "555-0167"},
		{Role: "emergency", Words: "When somebody is hurt or in danger: the real emergency number of the place you are at, not this one.", Phone: "555-0199"},
	}
}

// writeKit writes a unit's record and its corrections: two checks of the thermometer in season, and for the trailer unit a
// week with a broken burner.
func (w *World) writeKit(b *book, i int, at time.Time, r *rand.Rand) {
	k := &w.Kits[i]
	body := k.Body
	last := b.write(thwart.KindUnit, k.ID, at, &w.Manager, &body, r)
	change := func(at time.Time, why string, edit func(*thwart.Kit)) {
		next := body
		next.Calibrations = slices.Clone(body.Calibrations)
		edit(&next)
		body = next
		last = b.correct(thwart.KindUnit, k.ID, last, at, &w.Manager, &next, why, r)
	}
	check := func(m time.Month, d int) {
		at := time.Date(w.Year, m, d, 10, 0, 0, 0, zone)
		change(at, "thermometer and spray checked", func(n *thwart.Kit) {
			n.Calibrations = append(n.Calibrations, w.calibration(at, *k.Body.Unit.GaugePlusMinusC, r))
		})
	}
	check(time.July, 1)
	if k.Body.Launch == "" {
		from, to := w.faultDays()
		change(from.Add(15*time.Hour), "burner trips at once; sent for repair", func(n *thwart.Kit) { n.OutOfService, n.Note = true, "burner fault" })
		change(to.Add(6*time.Hour), "burner repaired and tried", func(n *thwart.Kit) { n.OutOfService, n.Note = false, "" })
	}
	check(time.August, 24)
}

// faultDays is when the trailer unit is out of service: from the afternoon of the first to the morning of the second.
func (w *World) faultDays() (from, to time.Time) {
	return time.Date(w.Year, time.August, 9, 0, 0, 0, 0, zone), time.Date(w.Year, time.August, 17, 0, 0, 0, 0, zone)
}

// shiftPlan is one shift as rostered.
type shiftPlan struct {
	n        int // of the season, which names its luck
	day      int
	launch   int
	from, to time.Time
	stewards []*Worker
	crew     *Worker // technician with a wash unit here
	kit      int     // index of the unit within reach, -1 for none
	kitKM    float64
}

// planDay rosters a day as a real programme does: the busy ramps and the infested waters first, more of them on free days.
func (w *World) planDay(d int, worked []int) []shiftPlan {
	r := num.Stream(w.Seed, fmt.Sprintf("roster %d", d))
	day := w.First.AddDate(0, 0, d)
	want := 5.2
	switch {
	case holiday(day):
		want = 16
	case w.Truth.FreeDay[d]:
		want = 14
	case day.Weekday() == time.Friday:
		want = 7
	}
	want *= 0.72 + 0.28*monthWeights[day.Month()]
	n := int(want)
	if chance(r, want-float64(n)) {
		n++
	}
	weights := make([]float64, len(w.Launches))
	for l := range weights {
		// Not in proportion to traffic: small ramps get their turn, and infested waters are watched more.
		weights[l] = w.Truth.Rate(l, d, 10)
		if w.knownInfested(w.Launches[l].Water, day) {
			weights[l] *= 1.6
		}
	}
	var plans []shiftPlan
	free := w.freeStewards(r, worked)
	take := func() *Worker {
		if len(free) == 0 {
			return nil
		}
		i := free[0]
		free = free[1:]
		worked[i]++
		return &w.Stewards[i]
	}
	for k := range n {
		l := pick(r, weights)
		if l < 0 {
			break
		}
		weights[l] = 0
		lead := take()
		if lead == nil {
			break
		}
		p := shiftPlan{n: d*64 + k, day: d, launch: l, stewards: []*Worker{lead}, kit: -1}
		start, long := 6.0+0.5*float64(r.IntN(3)), 6+float64(r.IntN(3))
		if chance(r, 0.38) {
			start = 12 + 0.5*float64(r.IntN(3))
		}
		p.from = day.Add(hours(start)).Add(time.Duration(r.IntN(9)-4) * time.Minute)
		p.to = day.Add(hours(start + long)).Add(time.Duration(r.IntN(15)-4) * time.Minute)
		if w.Truth.Rate(l, d, 10) > 5.5 {
			if second := take(); second != nil {
				p.stewards = append(p.stewards, second)
			}
		}
		plans = append(plans, p)
	}
	w.sendUnits(r, d, plans)
	// A scaled season works a share of its shifts, each kept or left out by its own luck.
	return slices.DeleteFunc(plans, func(p shiftPlan) bool {
		return num.Stream(w.Seed, fmt.Sprintf("kept %d", p.n)).Float64() >= w.Scale
	})
}

// freeStewards lists who can work today, those with the fewest days this week first; nobody works more than five.
func (w *World) freeStewards(r *rand.Rand, worked []int) []int {
	order := r.Perm(len(w.Stewards))
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(worked[a], worked[b]) })
	return slices.DeleteFunc(order, func(i int) bool { return worked[i] >= 5 })
}

func (w *World) knownInfested(water int, t time.Time) bool {
	for _, s := range w.Waters[water].Known(t).At("", t).Status {
		if s == thwart.StatusInfested {
			return true
		}
	}
	return false
}

// unitReachKM is how far by road a craft is sent to be washed.
const unitReachKM = 25.0

// sendUnits posts technicians with the wash units and works out which shifts have one within reach.
func (w *World) sendUnits(r *rand.Rand, d int, plans []shiftPlan) {
	day := w.First.AddDate(0, 0, d)
	posts := make([]int, len(w.Kits))
	for k := range w.Kits {
		posts[k] = -1
		if !w.Truth.FreeDay[d] && !chance(r, 0.75) {
			continue // nobody to run it today
		}
		if w.Kits[k].Body.Launch != "" {
			posts[k] = w.Kits[k].Post
			continue
		}
		from, to := w.faultDays()
		if len(plans) > 0 && (day.Before(from) || !day.Before(to)) {
			posts[k] = plans[0].launch
		}
	}
	for i := range plans {
		p := &plans[i]
		for k, post := range posts {
			if post < 0 {
				continue
			}
			if km := w.roadBetween(post, p.launch); km <= unitReachKM && (p.kit < 0 || km < p.kitKM) {
				p.kit, p.kitKM = k, km
			}
		}
		if p.kit >= 0 {
			p.crew = &w.Technicians[p.kit]
		}
	}
}

// unitNow is a wash unit as it is on a day: its supply follows the season.
func (w *World) unitNow(kit int, day time.Time) *thwart.WashUnit {
	u := w.Kits[kit].Body.Unit
	c := celsius(round(float64(supplyC(day)), 1))
	u.SupplyC = &c
	return &u
}
