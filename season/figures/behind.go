package figures

import (
	"fmt"
	"slices"

	"thwart"
	"thwart/season"
)

// Behind is what a figure was made from: records of one kind, in the order of their times.
type Behind struct {
	Kind thwart.Kind `json:"kind"` // inspection, shift or wash
	IDs  []string    `json:"items"`
	// Wider: there is more to be had, what the figure is a share of.
	Wider bool `json:"wider" doc:"asking for all gives what the figure is a share of too"`
}

// shiftFigures are made from shifts: those for which it holds.
var shiftFigures = map[string]func(*season.Shift) bool{
	"shifts":         func(*season.Shift) bool { return true },
	"steward_hours":  func(*season.Shift) bool { return true },
	"site_hours":     func(*season.Shift) bool { return true },
	"passed_by":      func(s *season.Shift) bool { return s.PassedBy > 0 },
	"refused_beside": func(s *season.Shift) bool { return s.Refused > 0 },
	"turned_away":    func(s *season.Shift) bool { return s.TurnedAway > 0 },
	"open_shifts":    func(s *season.Shift) bool { return !s.To.Set },
}

// washFigures are made from washes: cases, and with them what they are a share of.
var washFigures = map[string]struct{ hit, in func(*season.Wash) bool }{
	"washes":         {hit: func(*season.Wash) bool { return true }},
	"wash_water":     {hit: func(x *season.Wash) bool { return x.WaterL > 0 }},
	"wash_fuel":      {hit: func(x *season.Wash) bool { return x.FuelL > 0 }},
	"wash_steps_met": {hit: func(x *season.Wash) bool { return stepsOf(x).X > 0 }, in: func(x *season.Wash) bool { return stepsOf(x).N > 0 }},
	"washes_met": {hit: func(x *season.Wash) bool { c := stepsOf(x); return c.N > 0 && c.X == c.N },
		in: func(x *season.Wash) bool { return stepsOf(x).N > 0 }},
}

// metFigures are made from craft that were met, and are no share of them.
var metFigures = map[string]func(*season.Encounter) bool{
	"per_hour": func(*season.Encounter) bool { return true },
	"coverage": func(*season.Encounter) bool { return true },
	"seconds":  timed,
}

func timed(e *season.Encounter) bool { return e.Seconds > 0 && !e.Refused }

// IDs lists the figures whose records can be asked for.
func IDs() []string {
	var out []string
	for _, s := range specs {
		out = append(out, s.id)
	}
	out = append(out, sortedKeys(metFigures)...)
	out = append(out, sortedKeys(shiftFigures)...)
	return append(out, sortedKeys(washFigures)...)
}

// Records gives the records behind a figure: its cases, or with all set its denominator where that is of records. by and key narrow it to
// one row of a table. The error of a figure, a way to split or a query that cannot be is a [thwart.FieldErrors].
func Records(book *season.Book, q Query, cal season.Calendar, figure, by, key string, all bool) (Behind, error) {
	if !slices.Contains(IDs(), figure) {
		return Behind{}, thwart.FieldErrors{{Field: "figure", Value: figure, Accepted: fmt.Sprint(IDs())}}
	}
	w, err := prepare(book, q, cal)
	if err != nil {
		return Behind{}, err
	}
	if holds, ok := shiftFigures[figure]; ok {
		return w.shiftsBehind(by, key, holds)
	}
	if by != "" {
		if w.enc, err = w.only(by, key); err != nil {
			return Behind{}, err
		}
	}
	if x, ok := washFigures[figure]; ok {
		holds := x.hit
		if all && x.in != nil {
			holds = x.in
		}
		return w.washesBehind(holds, x.in != nil), nil
	}
	holds, wider := metFigures[figure], false
	if s, ok := specByID(figure); ok {
		wider = s.hit != nil
		holds = func(e *season.Encounter) bool { return s.in(e) && (all || s.hit == nil || s.hit(e)) }
	}
	out := Behind{Kind: thwart.KindInspection, IDs: []string{}, Wider: wider}
	for _, i := range w.enc {
		if e := &book.Encounters[i]; holds(e) {
			out.IDs = append(out.IDs, e.Subject)
		}
	}
	return out, nil
}

func (w *worker) washesBehind(holds func(*season.Wash) bool, wider bool) Behind {
	out := Behind{Kind: thwart.KindWash, IDs: []string{}, Wider: wider}
	for i := range w.book.Washes {
		if x := &w.book.Washes[i]; w.has(x.Encounter) && holds(x) {
			out.IDs = append(out.IDs, x.Subject)
		}
	}
	return out
}

func (w *worker) shiftsBehind(by, key string, holds func(*season.Shift) bool) (Behind, error) {
	var keyOf func(*worker, *season.Shift) (string, bool)
	if by != "" {
		var ways []string
		for _, d := range dimensions {
			if d.shift != nil {
				ways = append(ways, d.by)
			}
			if d.by == by {
				keyOf = d.shift
			}
		}
		if keyOf == nil {
			return Behind{}, thwart.FieldErrors{{Field: "by", Value: by, Accepted: fmt.Sprint(ways, ", by which shifts can be split")}}
		}
	}
	out := Behind{Kind: thwart.KindShift, IDs: []string{}}
	for i := range w.book.Shifts {
		s := &w.book.Shifts[i]
		if !w.inside(s.From.Day()) || !w.at(s.Launch) || !holds(s) {
			continue
		}
		if keyOf != nil {
			if k, ok := keyOf(w, s); !ok || k != key {
				continue
			}
		}
		out.IDs = append(out.IDs, s.Subject)
	}
	return out, nil
}
