package api

import (
	"context"
	"fmt"
	"net/http"
	"slices"

	"github.com/danielgtaylor/huma/v2"

	"thwart"
	"thwart/season"
	"thwart/season/figures"
)

func (a *API) routeSeason() {
	tag := []string{"Season"}
	route(a, huma.Operation{OperationID: "get-season", Method: http.MethodGet, Path: "/api/season", Tags: tag,
		Summary: "Every number of a season, as the report and the command line have it",
		Description: "Each figure has its value, an interval at 95 % where it is a share, what it is a share of, how it was computed, the address of the " +
			"records behind it, and the same figure a year before where there are records. Tables split the season by launch, water, week, month, class, " +
			"last water, outcome, partner, place on the craft, organism and matter. Small cells are not hidden here."},
		inOffice(thwart.CanRead), a.figures)
	route(a, huma.Operation{OperationID: "list-figure-records", Method: http.MethodGet, Path: "/api/season/records", Tags: tag,
		Summary:     "The records behind one figure: its cases, or with all its denominator",
		Description: "Most figures are made from inspections. Hours and counts beside the records are made from shifts, water and steps of washes from washes."}, inOffice(thwart.CanRead), a.figureRecords)
	route(a, huma.Operation{OperationID: "list-doubts", Method: http.MethodGet, Path: "/api/season/doubts", Tags: tag,
		Summary: "Records of the latest season that are hard to believe, check by check, each with what makes it so"}, inOffice(thwart.CanRead), a.doubts)
}

type seasonIn struct {
	From    string `query:"from" maxLength:"10" doc:"first day, such as 2026-05-01; left out: the first of the latest season, or of the records where to lies before it"`
	To      string `query:"to" maxLength:"10" doc:"last day, included; left out: that of the last shift of all"`
	Launch  string `query:"launch" maxLength:"100" doc:"only this launch"`
	Partner string `query:"partner" maxLength:"200" doc:"only launches that this partner runs"`
}

func (in *seasonIn) query() (q figures.Query, err error) {
	for _, d := range []struct {
		name, text string
		to         *season.Day
	}{{"from", in.From, &q.From}, {"to", in.To, &q.To}} {
		if d.text == "" {
			continue
		}
		if *d.to, err = season.ParseDay(d.text); err != nil {
			return q, field("query."+d.name, d.text, "a date such as 2026-07-04")
		}
	}
	q.Launch, q.Partner = in.Launch, in.Partner
	return q, nil
}

func (a *API) seasonOf(ctx context.Context, q figures.Query) (*figures.Season, error) {
	return fromBook(ctx, a, fmt.Sprintf("figures %+v", q), func(b *season.Book) (*figures.Season, error) {
		return figures.Of(b, q, season.SummerHolidays())
	})
}

func (a *API) figures(ctx context.Context, in *seasonIn) (*struct{ Body *figures.Season }, error) {
	q, err := in.query()
	if err != nil {
		return nil, err
	}
	s, err := a.seasonOf(ctx, q)
	return &struct{ Body *figures.Season }{s}, err
}

type figureRecordsIn struct {
	seasonIn
	Figure string `query:"figure" required:"true" maxLength:"40"`
	By     string `query:"by" maxLength:"20" doc:"with key: one row of a table"`
	Key    string `query:"key" maxLength:"200"`
	All    bool   `query:"all" doc:"the denominator too"`
}

func (a *API) figureRecords(ctx context.Context, in *figureRecordsIn) (*struct{ Body figures.Behind }, error) {
	q, err := in.query()
	if err != nil {
		return nil, err
	}
	book, err := a.season(ctx)
	if err != nil {
		return nil, err
	}
	behind, err := figures.Records(book, q, season.SummerHolidays(), in.Figure, in.By, in.Key, in.All)
	return &struct{ Body figures.Behind }{behind}, err
}

type doubtsIn struct {
	Record string `query:"record" maxLength:"40" doc:"only what is doubted of this record"`
}

// allDoubts are those of the latest season.
func (a *API) allDoubts(ctx context.Context) ([]figures.Doubt, error) {
	return fromBook(ctx, a, "doubts", func(b *season.Book) ([]figures.Doubt, error) {
		return figures.Doubts(b, figures.Query{}, season.SummerHolidays())
	})
}

func (a *API) doubts(ctx context.Context, in *doubtsIn) (*list[figures.Doubt], error) {
	all, err := a.allDoubts(ctx)
	if err != nil {
		return nil, err
	}
	if in.Record == "" {
		return listOf(all), nil
	}
	var out []figures.Doubt
	for _, d := range all {
		if slices.Contains(d.Records, in.Record) {
			d.Count, d.Inspections, d.Records = 1, min(d.Inspections, 1), []string{in.Record}
			d.Evidence = slices.DeleteFunc(slices.Clone(d.Evidence), func(c figures.Clue) bool { return c.Record != in.Record })
			out = append(out, d)
		}
	}
	return listOf(out), nil
}
