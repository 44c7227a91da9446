package flows

import (
	"fmt"
	"math"
	"slices"
	"time"

	"thwart"
	"thwart/engine/arrivals"
	"thwart/engine/geo"
	"thwart/engine/num"
	"thwart/engine/traffic"
	"thwart/season"
	"thwart/season/skill"
)

// DefaultDetour is how much longer a road is than the straight line where no road distances are given. Countries' means run
// from about 1.2 (United States) to above 2 (Ballou, Rahardja & Sakai 2002, Transportation Research A 36:843-848; from
// memory). A wrong one moves the level of the model and no flow.
const DefaultDetour = 1.3

// Options of a [Model]. The zero value uses the whole season, the summer holidays of [season.SummerHolidays], and straight
// lines stretched by [DefaultDetour].
type Options struct {
	Calendar *season.Calendar // nil = season.SummerHolidays
	// RoadKM gives the road between two waters by their ids; nil, or ok false, takes the straight line × Detour.
	RoadKM func(from, to string) (km float64, ok bool)
	Detour float64 // 0 = DefaultDetour
	// NoEffort leaves the hours staffed out. It is wrong, and here to show by how much.
	NoEffort bool
	Air      thwart.Air // on the way, for what lives on; zero = 20 °C and 60 % humidity, an assumption
	Draws    int        // of the risk; 0 = 400
	Seed     uint64
}

// Model is traffic and arrivals fitted to a season.
type Model struct {
	book     *season.Book
	opt      Options
	calendar season.Calendar
	first    season.Day
	days     int
	met      []season.Encounter // of these days
	earlier  int                // encounters of seasons before, which are not used

	waters []int32 // in use, by their place in the book
	at     []int32 // place of a water of the book among those in use, or None
	data   *traffic.Data
	table  *traffic.Table
	fit    *traffic.Estimate
	why    error // that there is no fit of traffic

	arrived *arrivals.Estimate
	hours   []arrivals.Hour
	dayInfo []arrivals.DayInfo
	weather WeatherUsed
	// weatherNames are the terms asked for; the data may still not tell them apart.
	weatherNames []string
	share        []float64 // per water of the book: part of the season's arrivals met
	answered     []float64 // per water of the book: part of those met that said where they came from
	seen         []float64 // per water of the book: part of those met that were looked over
	use          RecordsUsed
	warnings     []Caveat
	team         thwart.Skill // what this programme's people find, where it has trials enough to tell
	counts       map[[2]int32]float64
}

// RecordsUsed counts which records were used for what.
type RecordsUsed struct {
	Encounters  int     `json:"encounters" doc:"in the records"`
	Left        int     `json:"leftOut" doc:"planted craft and second records of one craft"`
	Arriving    int     `json:"arriving" doc:"about to be launched at a launch that is known"`
	NoHours     int     `json:"noHours" doc:"arriving in an hour without a finished shift; not used"`
	FromKnown   int     `json:"fromKnown" doc:"arriving, and said which water they came from"`
	Back        int     `json:"back" doc:"of these, from the same water"`
	Tallied     int     `json:"tallied" doc:"passed by, turned away or refused without a record"`
	Shifts      int     `json:"shifts"`
	OpenShifts  int     `json:"openShifts" doc:"not ended; not used"`
	HoursWorked float64 `json:"hoursStaffed" doc:"with at least one person on site"`
	Launches    int     `json:"launches"`
	Staffed     int     `json:"launchesStaffed"`
	Waters      int     `json:"waters"`
	Outside     int     `json:"watersOutside"`
	WatersMet   int     `json:"watersStaffed"`
	Days        int     `json:"days"`
}

// New fits a season. It fails where not even arrivals can be told: no finished shift, no craft. Where only the flows between
// waters cannot be, the Model stands and [Model.FlowError] says why.
func New(book *season.Book, opt Options) (*Model, error) {
	m := &Model{book: book, opt: opt, calendar: season.SummerHolidays()}
	if opt.Calendar != nil {
		m.calendar = *opt.Calendar
	}
	if m.opt.Detour == 0 {
		m.opt.Detour = DefaultDetour
	}
	if err := num.Within("detour", m.opt.Detour, 1, 5); err != nil {
		return nil, err
	}
	if m.opt.Draws == 0 {
		m.opt.Draws = 400
	}
	if m.opt.Air == (thwart.Air{}) {
		m.opt.Air = thwart.Air{TempC: 20, RHPct: 60}
	}
	if _, _, ok := book.Span(); !ok {
		return nil, arrivals.ErrNoHours
	}
	first, last, _ := book.LatestSeason()
	m.first, m.days = m.seasonDays(first, last)
	m.take()
	if err := m.fitArrivals(); err != nil {
		return nil, err
	}
	m.pickWaters()
	m.shares()
	var err error
	if m.team, err = skill.Team(book); err != nil {
		return nil, err
	}
	m.why = m.fitTraffic()
	m.warn()
	return m, nil
}

// Book gives the records it was made of.
func (m *Model) Book() *season.Book { return m.book }

// FlowError says why no flows between waters could be fitted; nil where they were.
func (m *Model) FlowError() error { return m.why }

// seasonDays are the days of the latest season, because traffic of other years is another traffic: the programme's own where it has
// written them down and they hold all its shifts, else those from its first shift to its last.
func (m *Model) seasonDays(first, last season.Day) (season.Day, int) {
	for i := range m.book.Programmes {
		p := &m.book.Programmes[i].Body
		from, err1 := season.ParseDay(p.SeasonFrom)
		to, err2 := season.ParseDay(p.SeasonTo)
		if err1 == nil && err2 == nil && from <= first && to >= last && to-from < 400 {
			first, last = from, to
		}
	}
	return first, int(last-first) + 1
}

// within says that a moment lies in the season.
func (m *Model) within(at season.Moment) bool {
	d := int(at.Day() - m.first)
	return at.Set && d >= 0 && d < m.days
}

// take picks the encounters of the season.
func (m *Model) take() {
	all := m.book.Encounters
	m.met = make([]season.Encounter, 0, len(all))
	for i := range all {
		switch {
		case m.within(all[i].At):
			m.met = append(m.met, all[i])
		case all[i].At.Day() < m.first:
			m.earlier++
		}
	}
}

// place is where an hour lies among the staffed ones.
type place struct {
	launch int32
	day    season.Day
	hour   int8
}

// fitArrivals counts craft by staffed hour and fits them.
func (m *Model) fitArrivals() error {
	book := m.book
	staffed, open := book.Staffed()
	m.use = RecordsUsed{Encounters: len(m.met), OpenShifts: open, Launches: len(book.Launches), Days: m.days}
	for i := range book.Shifts {
		if m.within(book.Shifts[i].From) {
			m.use.Shifts++
		}
	}
	index := make(map[place]int, len(staffed))
	launches := map[int32]bool{}
	for _, s := range staffed {
		d := int(s.Day - m.first)
		if d < 0 || d >= m.days { // a shift over midnight of the last day
			continue
		}
		index[place{s.Launch, s.Day, s.Hour}] = len(m.hours)
		m.hours = append(m.hours, arrivals.Hour{Launch: int(s.Launch), Day: d, Hour: int(s.Hour), Exposure: float64(s.Share)})
		m.use.HoursWorked += float64(s.Share)
		launches[s.Launch] = true
	}
	m.use.Staffed = len(launches)
	byShift := make([]float64, len(book.Shifts))
	m.countEncounters(index, byShift)
	m.countTallies(index, byShift)
	for d := range m.days {
		day := m.first + season.Day(d)
		m.dayInfo = append(m.dayInfo, arrivals.DayInfo{Type: int(m.calendar.Type(day)), Month: int(day.Month())})
	}
	if len(book.Launches) == 0 {
		return fmt.Errorf("launches: none in the records; traffic is estimated where craft are met")
	}
	m.takeWeather()
	var err error
	if m.arrived, err = arrivals.Fit(m.arrivalsData(m.hours)); err == nil {
		m.tellWeather()
	}
	return err
}

// arrivalsData is what arrivals are fitted to, of some of the hours.
func (m *Model) arrivalsData(hours []arrivals.Hour) *arrivals.Data {
	d := &arrivals.Data{Launches: len(m.book.Launches), Days: m.dayInfo, Hours: hours, WeatherNames: m.weatherNames}
	opens, closes, told := 24.0, 0.0, 0
	for l := range m.book.Launches {
		b := &m.book.Launches[l].Body
		d.Busy = append(d.Busy, b.Busy)
		from, err1 := time.Parse("15:04", b.Opens)
		to, err2 := time.Parse("15:04", b.Closes)
		if err1 == nil && err2 == nil && from.Before(to) {
			opens, closes = math.Min(opens, hourOf(from)), math.Max(closes, hourOf(to))
			told++
		}
	}
	if 2*told > len(m.book.Launches) { // else too few say when they are open to bound the others
		d.Opens, d.Closes = opens, closes
	}
	return d
}

func hourOf(t time.Time) float64 { return float64(t.Hour()) + float64(t.Minute())/60 }

// Warnings says what a reader has to know before using a number.
func (m *Model) Warnings() []Caveat { return m.warnings }

func (m *Model) countEncounters(index map[place]int, byShift []float64) {
	for i := range m.met {
		e := &m.met[i]
		switch {
		case !e.Counts():
			m.use.Left++
			continue
		case !e.Arrives() || e.Launch == season.None:
			continue
		}
		m.use.Arriving++
		k, ok := index[place{e.Launch, e.At.Day(), int8(e.At.HourOfDay())}]
		if !ok {
			m.use.NoHours++
			continue
		}
		m.hours[k].Count++
		if e.Shift != season.None {
			byShift[e.Shift]++
		}
	}
}

// countTallies spreads the craft that a shift met and did not record over its hours, as far as they were to be launched: the
// share that those recorded were.
func (m *Model) countTallies(index map[place]int, byShift []float64) {
	all, arriving := 0.0, 0.0
	for i := range m.met {
		e := &m.met[i]
		if e.Counts() && e.Launch != season.None {
			all++
			if e.Arrives() {
				arriving++
			}
		}
	}
	if all == 0 {
		return
	}
	for i := range m.book.Shifts {
		s := &m.book.Shifts[i]
		missed := s.PassedBy + s.TurnedAway + s.Refused
		if missed == 0 || !s.To.Set || s.Launch == season.None || !m.within(s.From) {
			continue
		}
		m.use.Tallied += int(missed)
		var rows []int
		total := 0.0
		for t := s.From.MS; t < s.To.MS; t += 600_000 {
			at := season.Moment{MS: t, OffMin: s.From.OffMin, Set: true}
			k, ok := index[place{s.Launch, at.Day(), int8(at.HourOfDay())}]
			if ok && (len(rows) == 0 || rows[len(rows)-1] != k) {
				rows = append(rows, k)
				total += m.hours[k].Exposure
			}
		}
		for _, k := range rows {
			m.hours[k].Count += float64(missed) * arriving / all * m.hours[k].Exposure / total
		}
	}
}

// pickWaters takes the waters that have a place and a size.
func (m *Model) pickWaters() {
	book := m.book
	m.at = make([]int32, len(book.Waters))
	var sizes []float64
	for i := range book.Waters {
		if a := book.Waters[i].Body.AreaHa; a > 0 {
			sizes = append(sizes, a)
		}
	}
	slices.Sort(sizes)
	typical := 1.0
	if len(sizes) > 0 {
		typical = sizes[len(sizes)/2]
	}
	m.data = &traffic.Data{}
	var noPlace, noSize []string
	for i := range book.Waters {
		w := &book.Waters[i]
		m.at[i] = season.None
		if w.Body.Centre == (thwart.Point{}) && !m.roadsReach(w.Subject) {
			noPlace = append(noPlace, w.Body.Name)
			continue
		}
		size := w.Body.AreaHa
		if size <= 0 {
			noSize = append(noSize, w.Body.Name)
			size = typical
		}
		m.at[i] = int32(len(m.waters))
		m.waters = append(m.waters, int32(i))
		m.data.Origin = append(m.data.Origin, size)
		m.data.Pull = append(m.data.Pull, size)
		m.data.Inside = append(m.data.Inside, !w.Body.Outside)
		m.use.Waters++
		if w.Body.Outside {
			m.use.Outside++
		}
	}
	if len(noPlace) > 0 {
		m.say("no_position", noPlace, "%s %s no position (0, 0) and no road distances, so flows from and to %s are left out: write down where %s", listed(noPlace), has(noPlace), them(noPlace), lies(noPlace))
	}
	if len(noSize) > 0 {
		m.say("no_size", noSize, "%s %s no area, so the middle one of the others, %.0f ha, stands in", listed(noSize), has(noSize), typical)
	}
}

func (m *Model) roadsReach(id string) bool {
	if m.opt.RoadKM == nil {
		return false
	}
	for i := range m.book.Waters {
		if other := m.book.Waters[i].Subject; other != id {
			_, ok := m.opt.RoadKM(id, other)
			return ok
		}
	}
	return false
}

// roadKM between two waters in use. Two waters in one place count as 100 m apart.
func (m *Model) roadKM(i, j int) float64 {
	a, b := &m.book.Waters[m.waters[i]], &m.book.Waters[m.waters[j]]
	if m.opt.RoadKM != nil {
		if km, ok := m.opt.RoadKM(a.Subject, b.Subject); ok && km > 0 {
			return math.Max(km, 0.1)
		}
	}
	p := geo.Point{Lat: a.Body.Centre.Lat(), Lon: a.Body.Centre.Lon()}
	q := geo.Point{Lat: b.Body.Centre.Lat(), Lon: b.Body.Centre.Lon()}
	straight := geo.GreatCircleM(p, q)
	if len(m.waters) <= 2000 {
		straight = geo.GeodesicM(p, q)
	}
	return math.Max(geo.Detour(straight, m.opt.Detour)/1000, 0.1)
}

// shares works out how much of each water's arrivals was met, and what of those met was told and looked over. Shares of
// waters with few craft are drawn to the region's, which counts for 50 craft (an assumption).
func (m *Model) shares() {
	n := len(m.book.Waters)
	m.share, m.answered, m.seen = make([]float64, n), make([]float64, n), make([]float64, n)
	met, told, looked := make([]float64, n), make([]float64, n), make([]float64, n)
	for _, h := range m.hours {
		if w := m.book.Launches[h.Launch].Water; w != season.None {
			met[w] += h.Count
		}
	}
	var allMet, allTold, allLooked float64
	for i := range m.met {
		e := &m.met[i]
		if !e.Counts() || !e.Arrives() || e.Launch == season.None || e.Water == season.None {
			continue
		}
		if f := e.From(); f != season.None && m.at[f] != season.None {
			told[e.Water]++
			allTold++
		}
		if !e.Refused {
			looked[e.Water]++
			allLooked++
		}
	}
	for _, x := range met {
		allMet += x
	}
	const weight = 50.0
	for w := range n {
		m.answered[w] = math.Min(1, (weight*allTold/allMet+told[w])/(weight+met[w]))
		m.seen[w] = math.Min(1, (weight*allLooked/allMet+looked[w])/(weight+met[w]))
		var part, all float64
		for _, l := range m.book.Waters[w].Launches {
			r := &m.arrived.Launches[l]
			part += r.Season.Mid * r.Share
			all += r.Season.Mid
		}
		if all > 0 {
			m.share[w] = math.Min(1, part/all)
		}
		if m.share[w] > 0 && !m.book.Waters[w].Body.Outside {
			m.use.WatersMet++
		}
	}
}

// fitTraffic counts craft by pair of waters and fits them.
func (m *Model) fitTraffic() error {
	n := len(m.waters)
	if n < 2 {
		return fmt.Errorf("positions: %d of %d waters say where they lie; flows need at least two, in the programme's care and staffed", n, len(m.book.Waters))
	}
	m.data.Effort, m.data.Return = make([]float64, n), make([]float64, n)
	for k, w := range m.waters {
		if !m.book.Waters[w].Body.Outside {
			m.data.Effort[k] = math.Min(1, m.share[w]*m.answered[w])
		}
	}
	m.table = traffic.NewTable(n, m.roadKM)
	m.data.Roads = m.table
	m.data.Cells, m.counts = m.cells(func(*season.Encounter) bool { return true }, m.data.Return)
	for _, c := range m.data.Return {
		m.use.Back += int(c)
	}
	for _, c := range m.data.Cells {
		m.use.FromKnown += int(c.Count)
	}
	m.use.FromKnown += m.use.Back
	var err error
	m.fit, err = traffic.Fit(m.data, traffic.Options{NoEffort: m.opt.NoEffort})
	return err
}

// cells counts craft met by pair of waters, of the encounters that pass. back gets those that came back to their water.
func (m *Model) cells(pass func(*season.Encounter) bool, back []float64) ([]traffic.Cell, map[[2]int32]float64) {
	counts := map[[2]int32]float64{}
	for i := range m.met {
		e := &m.met[i]
		if !e.Counts() || !e.Arrives() || e.Launch == season.None || e.Water == season.None || e.From() == season.None || !pass(e) {
			continue
		}
		from, to := m.at[e.From()], m.at[e.Water]
		if from == season.None || to == season.None || m.data.Effort[to] == 0 {
			continue
		}
		if from == to {
			back[to]++
			continue
		}
		counts[[2]int32{from, to}]++
	}
	var cells []traffic.Cell
	for k, c := range counts {
		cells = append(cells, traffic.Cell{From: k[0], To: k[1], Count: c})
	}
	slices.SortFunc(cells, func(a, b traffic.Cell) int {
		if a.From != b.From {
			return int(a.From - b.From)
		}
		return int(a.To - b.To)
	})
	return cells, counts
}
