package figures

import (
	"cmp"
	"slices"

	"thwart"
	"thwart/season"
)

// Season is every number of a stretch of days.
type Season struct {
	// Cursor names the state of the records that the numbers were made from.
	Cursor  int64         `json:"cursor"`
	From    season.Day    `json:"from"`
	To      season.Day    `json:"to"`
	Query   QueryWords    `json:"query"`
	Figures []Figure      `json:"figures"`
	Tables  []Table       `json:"tables"`
	Hours   []HourCell    `json:"hours"`             // staffed hours and craft by time of day and day type
	Flows   []Flow        `json:"flows"`             // craft met by last water and launch, as counted
	Doubts  []Doubt       `json:"doubts"`            // records that look wrong
	Compare *Compared     `json:"compare,omitempty"` // the season before, where there is one
	Faults  int           `json:"faults,omitempty"`
	Rules   []RuleEdition `json:"rules"` // editions that records were judged under
}

// QueryWords is a [Query] as it was asked.
type QueryWords struct {
	Launch  string `json:"launch,omitempty"`
	Partner string `json:"partner,omitempty"`
}

// Compared is the stretch that figures are held against: the same days of the year before.
type Compared struct {
	From season.Day `json:"from"`
	To   season.Day `json:"to"`
	Met  int        `json:"met"`
}

// HourCell is a clock hour on one type of day, over all launches of the query.
type HourCell struct {
	Hour    int     `json:"hour"`
	Day     string  `json:"day"`     // weekday, weekend or holiday
	Staffed float64 `json:"staffed"` // hours
	Craft   int     `json:"craft"`
}

// Flow is how many craft came from one water to one launch, as counted.
type Flow struct {
	Water  string `json:"water"` // empty: not known
	Launch string `json:"launch"`
	Craft  int    `json:"craft"`
	AtRisk int    `json:"atRisk"`
}

// RuleEdition is an edition of the rules and how many records were judged under it.
type RuleEdition struct {
	Protocol string `json:"protocol"`
	Craft    int    `json:"craft"`
}

// Get finds a figure by its id.
func (s *Season) Get(id string) Figure { return get(s.Figures, id) }

// Table finds a table by what it splits by.
func (s *Season) Table(by string) Table {
	if i := slices.IndexFunc(s.Tables, func(t Table) bool { return t.By == by }); i >= 0 {
		return s.Tables[i]
	}
	return Table{By: by}
}

// worker computes over one Book and one query.
type worker struct {
	book     *season.Book
	q        Query
	cal      season.Calendar
	launches map[int32]bool // nil = all
	enc      []int32        // that count, in time order
	from, to season.Day
	counts   *counter
	among    []bool          // of each encounter of the Book: whether it is in enc
	ends     map[int32]int64 // see lastSeen
	days     map[season.Day][2]string
}

// Of computes the season. The zero Calendar knows no holidays.
func Of(book *season.Book, q Query, cal season.Calendar) (*Season, error) {
	w, err := prepare(book, q, cal)
	if err != nil {
		return nil, err
	}
	s := &Season{Cursor: book.Cursor, From: w.from, To: w.to, Query: QueryWords{q.Launch, q.Partner}, Faults: book.Faulty}
	s.Figures = w.all(w.whole())
	for _, d := range dimensions {
		s.Tables = append(s.Tables, w.table(d))
	}
	s.Tables = append(s.Tables, w.findingTables()...)
	s.Hours, s.Flows, s.Rules = w.hours(), w.flows(), w.rules()
	s.Doubts = w.doubts()
	return s, w.compare(s)
}

// Doubts are the records of the same season that look wrong: what [Of] gives of them, without the rest of its work.
func Doubts(book *season.Book, q Query, cal season.Calendar) ([]Doubt, error) {
	w, err := prepare(book, q, cal)
	if err != nil {
		return nil, err
	}
	return w.doubts(), nil
}

// Doubted gives the records that are among any of the doubts, each once. What is doubted of a person's habit, not of one record, is
// left out: nobody can settle it by looking at a record.
func Doubted(doubts []Doubt) []string {
	seen, out := map[string]bool{}, []string{}
	for i := range doubts {
		if doubts[i].Field == "" {
			continue
		}
		for _, id := range doubts[i].Records {
			if !seen[id] {
				seen[id] = true
				out = append(out, id)
			}
		}
	}
	return out
}

func prepare(book *season.Book, q Query, cal season.Calendar) (*worker, error) {
	w := &worker{book: book, q: q, cal: cal, from: q.From, to: q.To}
	first, last, _ := book.LatestSeason()
	if w.from == 0 {
		w.from = first
		if q.To != 0 && q.To < first {
			w.from, _, _ = book.Span()
		}
	}
	if w.to == 0 {
		w.to = last
	}
	if w.to < w.from {
		return nil, thwart.FieldErrors{{Field: "to", Value: w.to.String(), Accepted: "a day not before " + w.from.String()}}
	}
	if err := w.chooseLaunches(); err != nil {
		return nil, err
	}
	for i := range book.Encounters {
		e := &book.Encounters[i]
		if e.Counts() && w.inside(e.At.Day()) && w.at(e.Launch) {
			w.enc = append(w.enc, int32(i))
		}
	}
	return w, nil
}

func (w *worker) chooseLaunches() error {
	if w.q.Launch == "" && w.q.Partner == "" {
		return nil
	}
	w.launches = map[int32]bool{}
	for l := range w.book.Launches {
		x := &w.book.Launches[l]
		if (w.q.Launch == "" || x.Subject == w.q.Launch) && (w.q.Partner == "" || x.Body.Partner == w.q.Partner) {
			w.launches[int32(l)] = true
		}
	}
	if len(w.launches) == 0 {
		if w.q.Launch != "" {
			return thwart.FieldErrors{{Field: "launch", Value: w.q.Launch, Accepted: "the id of a launch of the programme"}}
		}
		return thwart.FieldErrors{{Field: "partner", Value: w.q.Partner, Accepted: "a partner that runs a launch"}}
	}
	return nil
}

func (w *worker) inside(d season.Day) bool { return d >= w.from && d <= w.to }
func (w *worker) at(launch int32) bool     { return w.launches == nil || w.launches[launch] }

// part is a part of the season: its craft, and its shifts and washes where they can be split so.
type part struct {
	by, key string
	enc     []int32
	shifts  []int32 // nil where hours cannot be split so
	washes  []int32
	effort  bool
}

// whole is the part of the whole query.
func (w *worker) whole() part {
	p := part{enc: w.enc, effort: true, shifts: []int32{}}
	for i := range w.book.Shifts {
		if s := &w.book.Shifts[i]; w.inside(s.From.Day()) && w.at(s.Launch) {
			p.shifts = append(p.shifts, int32(i))
		}
	}
	for i := range w.book.Washes {
		if w.has(w.book.Washes[i].Encounter) {
			p.washes = append(p.washes, int32(i))
		}
	}
	return p
}

// has reports whether an encounter is among those that count.
func (w *worker) has(i int32) bool {
	if i == season.None {
		return false
	}
	if w.among == nil {
		w.among = make([]bool, len(w.book.Encounters))
		for _, i := range w.enc {
			w.among[i] = true
		}
	}
	return w.among[i]
}

// all computes every figure of a part.
func (w *worker) all(p part) []Figure {
	out := w.craft(p)
	if p.effort {
		out = append(out, w.effort(p)...)
	}
	return append(out, w.work(p)...)
}

func sortedKeys[K cmp.Ordered, V any](m map[K]V) []K {
	keys := make([]K, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

// compare adds the same days of the year before, where there are records of them.
func (w *worker) compare(s *Season) error {
	then := w.q
	then.From, then.To = yearBefore(w.from), yearBefore(w.to)
	b, err := prepare(w.book, then, w.cal)
	if err != nil {
		return err
	}
	if len(b.enc) == 0 {
		return nil
	}
	s.Compare = &Compared{From: then.From, To: then.To, Met: len(b.enc)}
	old := b.all(b.whole())
	for i := range s.Figures {
		against(&s.Figures[i], get(old, s.Figures[i].ID))
	}
	return nil
}

// yearBefore is the same date of the year before; 29 February becomes 28 February.
func yearBefore(d season.Day) season.Day {
	t := d.Date()
	day := t.Day()
	if t.Month() == 2 && day == 29 {
		day = 28
	}
	return season.DayOf(t.Year()-1, t.Month(), day)
}
