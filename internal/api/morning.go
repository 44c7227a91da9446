package api

import (
	"context"
	"encoding/json"
	"net/http"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"thwart"
	"thwart/season"
	"thwart/season/figures"
	"thwart/season/today"
)

func (a *API) routeMorning() {
	route(a, huma.Operation{OperationID: "get-morning", Method: http.MethodGet, Path: "/api/morning", Tags: []string{"Season"},
		Summary: "How the day stands and what needs a person",
		Description: "Launches staffed and how busy they are against such days before, craft that failed, and what waits: incidents, held craft, " +
			"refused records, silent phones, unfilled shifts, gauges and certificates, records that are hard to believe. In the demo a day of its season is told where none is named."},
		inOffice(thwart.CanRead), a.morning)
}

type morningIn struct {
	At time.Time `query:"at" doc:"the moment the day is told at; left out: now"`
}

type morningOut struct{ Body today.Day }

func (a *API) morning(ctx context.Context, in *morningIn) (*morningOut, error) {
	book, err := a.season(ctx)
	if err != nil {
		return nil, err
	}
	day := today.Input{Book: book, Calendar: season.SummerHolidays(), Now: in.At}
	if day.Now.IsZero() {
		day.Now = a.cfg.Now()
		if a.cfg.Demo {
			day.Now = demoMoment(book, day.Now)
		}
	}
	if day.Incidents, err = itemsOf[thwart.Incident](ctx, a, thwart.KindIncident); err != nil {
		return nil, err
	}
	if day.Planned, err = itemsOf[thwart.PlannedShift](ctx, a, thwart.KindPlannedShift); err != nil {
		return nil, err
	}
	if who(ctx).may(thwart.CanManage) { // phones and refused records are the manager's alone
		refused, err := a.cfg.Store.Refusals(ctx, false, "", MaxPage)
		if err != nil {
			return nil, err
		}
		day.Refusals = refused.Items
		if day.Devices, err = a.cfg.Accounts.ListDevices(ctx); err != nil {
			return nil, err
		}
	}
	twins, err := a.twins(ctx, &twinsIn{From: day.Now.Add(-7 * 24 * time.Hour), To: day.Now, Limit: 1})
	if err != nil {
		return nil, err
	}
	day.Twins = twins.Body.Count
	doubts, err := a.allDoubts(ctx)
	if err != nil {
		return nil, err
	}
	day.Doubted = len(figures.Doubted(doubts))
	told := today.Tell(day)
	if told.Needs == nil {
		told.Needs = []today.Need{}
	}
	return &morningOut{told}, nil
}

// demoMoment is one in the afternoon of the last Saturday of the demo's season: its records lie in a season of their own, so
// that the day of the clock would mostly be empty.
func demoMoment(book *season.Book, now time.Time) time.Time {
	_, last, ok := book.Span()
	if !ok {
		return now
	}
	for last.Weekday() != time.Saturday {
		last--
	}
	offset := 0
	if n := len(book.Encounters); n > 0 {
		offset = int(book.Encounters[n-1].At.OffMin)
	}
	return last.Date().Add(13*time.Hour - time.Duration(offset)*time.Minute)
}

// itemsOf reads every thing of one kind.
func itemsOf[T any](ctx context.Context, a *API, kind thwart.Kind) ([]today.Item[T], error) {
	var out []today.Item[T]
	err := eachSubject(ctx, a.cfg.Store, kind, func(s *thwart.Subject) {
		var body T
		if json.Unmarshal(s.Body, &body) == nil { // what cannot be read is among the faults of the book
			out = append(out, today.Item[T]{Subject: s.Subject, Body: body})
		}
	})
	return out, err
}
