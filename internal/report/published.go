package report

import (
	"encoding/json"
	"fmt"
	"io"
	"slices"

	"thwart/season"
)

// Published is the numbers of a report as they stood in print, kept so that a later report can tell which of them changed.
type Published struct {
	Made    string           `json:"made"`
	Cursor  int64            `json:"cursor"`
	From    season.Day       `json:"from"`
	To      season.Day       `json:"to"`
	App     string           `json:"app"`
	Data    string           `json:"data"`
	Figures []PublishedValue `json:"figures"`
}

// PublishedValue is one number in print.
type PublishedValue struct {
	ID    string  `json:"id"`
	Label string  `json:"label"`
	Words string  `json:"words"` // as printed
	Value float64 `json:"value"`
	X     int     `json:"x,omitempty"`
	N     int     `json:"n,omitempty"`
}

// Publish gives the numbers of a report as it prints them.
func Publish(in Inputs) *Published {
	var en *tongue
	p := &Published{Made: in.Made.UTC().Format("2 January 2006"), Cursor: in.Season.Cursor, From: in.Season.From, To: in.Season.To, App: in.App, Data: in.Data}
	for _, f := range in.Season.Figures {
		p.Figures = append(p.Figures, PublishedValue{f.ID, f.Label, en.valueWords(f), f.Value, f.X, f.N})
	}
	return p
}

// Write writes the numbers as JSON.
func (p *Published) Write(w io.Writer) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(p)
}

// ReadPublished reads the numbers of an earlier report.
func ReadPublished(r io.Reader) (*Published, error) {
	var p struct {
		Published
		From string `json:"from"`
		To   string `json:"to"`
	}
	if err := json.NewDecoder(io.LimitReader(r, 4<<20)).Decode(&p); err != nil {
		return nil, fmt.Errorf("these are no numbers of a report: %w", err)
	}
	var err error
	if p.Published.From, err = season.ParseDay(p.From); err != nil {
		return nil, err
	}
	if p.Published.To, err = season.ParseDay(p.To); err != nil {
		return nil, err
	}
	return &p.Published, nil
}

// Change is a published number that is now otherwise.
type Change struct{ ID, Label, Then, Now string }

// Changes lists the numbers that are printed otherwise than in an earlier report; a number that fell away or is new is among them.
func Changes(then, now *Published) []Change {
	var out []Change
	for _, f := range now.Figures {
		i := slices.IndexFunc(then.Figures, func(o PublishedValue) bool { return o.ID == f.ID })
		switch {
		case i < 0:
			out = append(out, Change{f.ID, f.Label, "not printed", f.Words})
		case then.Figures[i].Words != f.Words:
			out = append(out, Change{f.ID, f.Label, then.Figures[i].Words, f.Words})
		}
	}
	for _, o := range then.Figures {
		if !slices.ContainsFunc(now.Figures, func(f PublishedValue) bool { return f.ID == o.ID }) {
			out = append(out, Change{o.ID, o.Label, o.Words, "no longer printed"})
		}
	}
	return out
}
