package report

import (
	"bytes"
	"context"
	"encoding/json"
	"time"

	"thwart"
	"thwart/internal/pdf"
	"thwart/refdata"
	"thwart/season"
	"thwart/season/figures"
	"thwart/unit"
)

// Order is what is asked of a report, as the server's queue keeps it.
type Order struct {
	Edition Edition `json:"edition,omitempty"` // empty = season
	From    string  `json:"from,omitempty"`    // first day, such as 2026-05-01
	To      string  `json:"to,omitempty"`      // last day, included
	Launch  string  `json:"launch,omitempty"`
	Partner string  `json:"partner,omitempty"`
	// Language of the words: en, es, fr; empty = en.
	Language string     `json:"language,omitempty"`
	Units    string     `json:"units,omitempty"` // metric or us; empty = the programme's, else metric
	Letter   bool       `json:"letter,omitempty"`
	Seed     uint64     `json:"seed,omitempty"`
	Made     string     `json:"made,omitempty"` // date of the report; empty = now
	Earlier  *Published `json:"-"`
}

// Made is a finished report.
type Made struct {
	Title   string     `json:"title"`
	PDF     []byte     `json:"pdf"` // base64 in JSON
	HTML    string     `json:"html"`
	Numbers *Published `json:"numbers"`
}

// Prepare gathers what a report is made from.
func Prepare(ctx context.Context, book *season.Book, o Order, app string, demo bool, now time.Time, progress func(float64, string)) (Inputs, error) {
	q := figures.Query{Launch: o.Launch, Partner: o.Partner}
	var errs thwart.FieldErrors
	for _, d := range []struct {
		name, text string
		to         *season.Day
	}{{"from", o.From, &q.From}, {"to", o.To, &q.To}} {
		if d.text == "" {
			continue
		}
		day, err := season.ParseDay(d.text)
		if err != nil {
			errs = append(errs, thwart.FieldError{Field: d.name, Value: d.text, Accepted: "a date such as 2026-07-04"})
		}
		*d.to = day
	}
	in := Inputs{Book: book, Edition: o.Edition, Language: o.Language, Letter: o.Letter, Demo: demo, Made: now, App: app, Data: refdata.Version(), Measure: pdf.Measure, Earlier: o.Earlier}
	if in.Edition == "" {
		in.Edition = Whole
	}
	if len(book.Programmes) > 0 {
		in.Programme = book.Programmes[0].Body
		in.Licence, in.Citation = in.Programme.Licence, in.Programme.Citation
	}
	if o.Made != "" {
		day, err := season.ParseDay(o.Made)
		if err != nil {
			errs = append(errs, thwart.FieldError{Field: "made", Value: o.Made, Accepted: "a date such as 2026-10-12"})
		}
		in.Made = day.Date()
	}
	units := o.Units
	if units == "" {
		units = in.Programme.Units
	}
	var err error
	if in.Units, err = unit.ParseSystem(units); err != nil {
		errs = append(errs, thwart.FieldError{Field: "units", Value: units, Accepted: "metric, us"})
	}
	if len(errs) > 0 {
		return in, errs
	}
	if in.Season, err = figures.Of(book, q, season.SummerHolidays()); err != nil {
		return in, err
	}
	if err := in.validate(); err != nil {
		return in, err
	}
	if in.Edition == Launch || in.Edition == Partner {
		return in, nil // a page of one place tells of what was met there, and of no estimate
	}
	return Gather(ctx, in, GatherOptions{Seed: o.Seed, Progress: progress})
}

// Write makes the report in both forms.
func Write(in Inputs) (Made, error) {
	doc, err := Make(in)
	if err != nil {
		return Made{}, err
	}
	var p, h bytes.Buffer
	if err := doc.PDF(&p, in.Made); err != nil {
		return Made{}, err
	}
	if err := doc.HTML(&h); err != nil {
		return Made{}, err
	}
	return Made{Title: doc.Title + ": " + doc.Subtitle, PDF: p.Bytes(), HTML: h.String(), Numbers: Publish(in)}, nil
}

// Job makes a report of the records that read gives, as they stand when it starts. Its input is an [Order], its result [Made].
func Job(read func(context.Context) (*season.Book, error), app string, demo bool) func(context.Context, json.RawMessage, func(float64, string)) (json.RawMessage, error) {
	return func(ctx context.Context, input json.RawMessage, progress func(float64, string)) (json.RawMessage, error) {
		var o Order
		if len(input) > 0 {
			if err := json.Unmarshal(input, &o); err != nil {
				return nil, thwart.FieldErrors{{Field: "input", Value: string(input[:min(len(input), 60)]), Accepted: `such as {"edition": "board", "units": "metric"}`}}
			}
		}
		progress(0, "reading the season")
		book, err := read(ctx)
		if err != nil {
			return nil, err
		}
		in, err := Prepare(ctx, book, o, app, demo, time.Now(), progress)
		if err != nil {
			return nil, err
		}
		progress(0.9, "setting the pages")
		made, err := Write(in)
		if err != nil {
			return nil, err
		}
		return json.Marshal(made)
	}
}
