package figures

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"thwart"
	"thwart/season"
)

// dimension is a way to split craft. Craft without a key are left out of the table.
type dimension struct {
	by, label string
	key       func(w *worker, e *season.Encounter) (key, name string, ok bool)
	// shift gives the key of a shift, where hours can be split so.
	shift func(w *worker, s *season.Shift) (string, bool)
	order func(a, b Row) int
}

func byKey(a, b Row) int { return strings.Compare(a.Key, b.Key) }
func mostMet(a, b Row) int {
	return cmp.Or(byValue(a, b, "met"), strings.Compare(a.Name, b.Name), byKey(a, b))
}

var dimensions = []dimension{
	{"launch", "Launch", func(w *worker, e *season.Encounter) (string, string, bool) {
		if e.Launch == season.None {
			return "", "", false
		}
		l := &w.book.Launches[e.Launch]
		return l.Subject, l.Body.Name, true
	}, func(w *worker, s *season.Shift) (string, bool) {
		if s.Launch == season.None {
			return "", false
		}
		return w.book.Launches[s.Launch].Subject, true
	}, mostMet},
	{"water", "Water", func(w *worker, e *season.Encounter) (string, string, bool) {
		if e.Water == season.None {
			return "", "", false
		}
		x := &w.book.Waters[e.Water]
		return x.Subject, x.Body.Name, true
	}, nil, mostMet},
	{"week", "Week", func(w *worker, e *season.Encounter) (string, string, bool) {
		k, _ := w.calendar(e.At.Day())
		return k, k, true
	}, func(w *worker, s *season.Shift) (string, bool) { k, _ := w.calendar(s.From.Day()); return k, true }, byKey},
	{"month", "Month", func(w *worker, e *season.Encounter) (string, string, bool) {
		_, k := w.calendar(e.At.Day())
		return k, k, true
	}, func(w *worker, s *season.Shift) (string, bool) { _, k := w.calendar(s.From.Day()); return k, true }, byKey},
	{"class", "Craft class", func(_ *worker, e *season.Encounter) (string, string, bool) { return e.Class, e.Class, e.Class != "" }, nil, mostMet},
	{"last_water", "Last water", func(w *worker, e *season.Encounter) (string, string, bool) {
		if e.From() == season.None {
			return "", "not known", true
		}
		x := &w.book.Waters[e.From()]
		return x.Subject, x.Body.Name, true
	}, nil, mostMet},
	{"outcome", "Outcome", func(_ *worker, e *season.Encounter) (string, string, bool) {
		if e.Refused {
			return thwart.TotalRefused, "boater declined", true
		}
		return string(e.Given), outcomeLabels[e.Given], e.Given != ""
	}, nil, func(a, b Row) int {
		last := func(r Row) int { // those that nobody looked at come after the strictest
			if r.Key == thwart.TotalRefused {
				return len(thwart.Outcomes)
			}
			return thwart.Outcome(r.Key).Rank()
		}
		return cmp.Compare(last(a), last(b))
	}},
	{"partner", "Partner", func(w *worker, e *season.Encounter) (string, string, bool) {
		if e.Launch == season.None {
			return "", "", false
		}
		p := w.book.Launches[e.Launch].Body.Partner
		return p, p, p != ""
	}, nil, mostMet},
}

// calendar gives the week and the month of a day. A day has many craft; they are written once.
func (w *worker) calendar(d season.Day) (week, month string) {
	k, ok := w.days[d]
	if !ok {
		date := d.Date()
		y, n := date.ISOWeek()
		k = [2]string{fmt.Sprintf("%04d-W%02d", y, n), date.Format("2006-01")}
		if w.days == nil {
			w.days = map[season.Day][2]string{}
		}
		w.days[d] = k
	}
	return k[0], k[1]
}

// Bys lists what a season can be split by.
func Bys() []string {
	var out []string
	for _, d := range dimensions {
		out = append(out, d.by)
	}
	return append(out, "place", "organism", "matter")
}

func (w *worker) table(d dimension) Table {
	t := Table{By: d.by, Label: d.label, Rows: []Row{}}
	parts := map[string]*part{}
	names := map[string]string{}
	at := func(key string) *part {
		p := parts[key]
		if p == nil {
			p = &part{by: d.by, key: key, effort: d.shift != nil}
			parts[key] = p
		}
		return p
	}
	for _, i := range w.enc {
		key, name, ok := d.key(w, &w.book.Encounters[i])
		if !ok {
			continue
		}
		names[key] = name
		p := at(key)
		p.enc = append(p.enc, i)
	}
	if d.shift != nil {
		for i := range w.book.Shifts {
			s := &w.book.Shifts[i]
			if key, ok := d.shift(w, s); ok && w.inside(s.From.Day()) && w.at(s.Launch) {
				p := at(key)
				p.shifts = append(p.shifts, int32(i))
				if names[key] == "" {
					names[key] = key
					if d.by == "launch" {
						names[key] = w.book.Launches[s.Launch].Body.Name
					}
				}
			}
		}
	}
	for i := range w.book.Washes {
		at := w.book.Washes[i].Encounter
		if !w.has(at) {
			continue
		}
		if key, _, ok := d.key(w, &w.book.Encounters[at]); ok {
			parts[key].washes = append(parts[key].washes, int32(i))
		}
	}
	for _, key := range sortedKeys(parts) {
		t.Rows = append(t.Rows, Row{Key: key, Name: names[key], Figures: w.all(*parts[key])})
	}
	slices.SortStableFunc(t.Rows, d.order)
	return t
}

// only gives the encounters of one row of a table.
func (w *worker) only(by, key string) ([]int32, error) {
	var in func(e *season.Encounter) bool
	if d := slices.IndexFunc(dimensions, func(d dimension) bool { return d.by == by }); d >= 0 {
		in = func(e *season.Encounter) bool {
			k, _, ok := dimensions[d].key(w, e)
			return ok && k == key
		}
	} else if f, ok := findingKeys[by]; ok {
		in = func(e *season.Encounter) bool {
			return slices.ContainsFunc(e.Findings, func(x season.Finding) bool { return f(&x) == key })
		}
	} else {
		return nil, thwart.FieldErrors{{Field: "by", Value: by, Accepted: strings.Join(Bys(), ", ")}}
	}
	var out []int32
	for _, i := range w.enc {
		if in(&w.book.Encounters[i]) {
			out = append(out, i)
		}
	}
	return out, nil
}

var findingKeys = map[string]func(*season.Finding) string{
	"place":    func(f *season.Finding) string { return f.Place },
	"organism": func(f *season.Finding) string { return f.Organism },
	"matter":   func(f *season.Finding) string { return string(f.Matter) },
}

// those gives the encounters of which something holds.
func (w *worker) those(enc []int32, holds func(e *season.Encounter) bool) []int32 {
	var out []int32
	for _, i := range enc {
		if holds(&w.book.Encounters[i]) {
			out = append(out, i)
		}
	}
	return out
}

// findingTables split what was found. Their rows overlap: a craft may carry several things.
func (w *worker) findingTables() []Table {
	var out []Table
	seen := w.groups(w.those(w.enc, inspected))
	for _, by := range []string{"place", "organism", "matter"} {
		t := Table{By: by, Label: map[string]string{"place": "Place on craft", "organism": "Organism", "matter": "Matter"}[by], Rows: []Row{}}
		found := map[string][]int32{}
		pieces := map[string]int{}
		for _, i := range w.enc {
			e := &w.book.Encounters[i]
			for k := range e.Findings {
				key := findingKeys[by](&e.Findings[k])
				if key == "" {
					continue
				}
				pieces[key]++
				if g := found[key]; len(g) == 0 || g[len(g)-1] != i {
					found[key] = append(g, i)
				}
			}
		}
		for _, key := range sortedKeys(found) {
			with := found[key]
			row := part{by: by, key: key}
			t.Rows = append(t.Rows, Row{Key: key, Name: key, Figures: []Figure{
				w.figure(spec{id: "found", label: "Craft with it", of: ofSeen, how: "craft with at least one such finding, of craft inspected"}, row, seen,
					w.those(with, inspected)),
				{ID: "findings", Label: "Findings", Unit: UnitCount, Known: true, Value: float64(pieces[key]), How: "findings written down; a craft may have several", Records: w.q.address("met", by, key)},
				w.figure(spec{id: "alive", label: "Not seen to be dead", of: "craft with it", how: "craft with such a finding that was not seen to be dead, of craft with such a finding"}, row, w.groups(with),
					w.those(with, func(e *season.Encounter) bool {
						return slices.ContainsFunc(e.Findings, func(f season.Finding) bool {
							return findingKeys[by](&f) == key && f.Vitality != thwart.VitalityDead
						})
					})),
			}})
		}
		slices.SortStableFunc(t.Rows, func(a, b Row) int { return cmp.Or(byValue(a, b, "found"), byKey(a, b)) })
		out = append(out, t)
	}
	return out
}
