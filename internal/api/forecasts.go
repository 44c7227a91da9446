package api

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"thwart"
	"thwart/season/flows"
	"thwart/season/spreading"
	"thwart/season/waiting"
)

func (a *API) routeForecasts() {
	thin := []int{http.StatusUnprocessableEntity}
	const note = "Computed from the records as they stand and kept until they change; records that cannot carry an answer are refused in words. "
	route(a, huma.Operation{OperationID: "get-waits", Method: http.MethodGet, Path: "/api/waits", Tags: []string{"Waits"}, Errors: thin,
		Summary: "Waits at a launch by hour and crew, and the smallest crew that keeps them short", Description: note}, inOffice(thwart.CanRead), a.waits)
	route(a, huma.Operation{OperationID: "get-spread", Method: http.MethodGet, Path: "/api/spread", Tags: []string{"Spread"}, Errors: thin,
		Summary: "What happens to the waters over the years, with and without somebody standing at launches",
		Description: note + "Up to 2000 runs are done while you wait; for more, start a job of the kind spread with the same names in its input. " +
			"The same seed gives the same answer."}, inOffice(thwart.CanRead), a.spread)
}

type waitsIn struct {
	TrafficIn
	Launch      string  `query:"launch" maxLength:"100" doc:"id; left out: the busiest"`
	Day         string  `query:"day" enum:"weekday,weekend,holiday" default:"weekend"`
	Times       float64 `query:"times" default:"1" minimum:"0.01" maximum:"20" doc:"as busy as usual"`
	From        int     `query:"from" default:"6" minimum:"0" maximum:"23" doc:"hour of the day"`
	To          int     `query:"to" default:"20" minimum:"1" maximum:"24"`
	Stewards    []int   `query:"stewards" maxItems:"24" doc:"of the day shown: one number, or one for each hour, with commas; left out: 1"`
	Bays        int     `query:"bays" minimum:"0" maximum:"20" doc:"wash bays beside the launch"`
	TargetMin   float64 `query:"target" default:"10" minimum:"0.1" maximum:"240" doc:"minutes"`
	Share       float64 `query:"share" default:"0.95" minimum:"0.5" maximum:"0.999" doc:"of those who come that wait at most the target"`
	PatienceMin float64 `query:"patience" minimum:"0" maximum:"1000" doc:"mean minutes until someone waiting drives away; 0 = nobody does"`
	MaxWaiting  int     `query:"room" minimum:"0" maximum:"1000" doc:"craft that can wait; 0 = no limit"`
}

func (a *API) waits(ctx context.Context, in *waitsIn) (*struct{ Body waiting.WaitReport }, error) {
	q := waiting.Question{Launch: in.Launch, Day: in.Day, Times: in.Times, From: in.From, To: in.To, Stewards: in.Stewards, Bays: in.Bays, TargetMin: in.TargetMin,
		Share: in.Share, PatienceMin: in.PatienceMin, MaxWaiting: in.MaxWaiting, Seed: in.Seed}
	r, err := ofTraffic(ctx, a, &in.TrafficIn, fmt.Sprintf("waits %+v", q), func(m *flows.Model) (*waiting.WaitReport, error) { return waiting.Answer(m, q) })
	if err != nil {
		return nil, err
	}
	return &struct{ Body waiting.WaitReport }{*r}, nil
}

type spreadIn struct {
	TrafficIn
	Organism   string  `query:"organism" required:"true" maxLength:"60"`
	Years      int     `query:"years" default:"10" minimum:"1" maximum:"50"`
	Runs       int     `query:"runs" default:"1000" minimum:"100" maximum:"2000"`
	Alpha      float64 `query:"alpha" minimum:"0" maximum:"10" doc:"per risky passage; 0 = the assumption named in the answer"`
	C          float64 `query:"c" minimum:"0" maximum:"5" doc:"0 = the assumption named in the answer"`
	Known      bool    `query:"known" doc:"take both as exact"`
	Compliance float64 `query:"compliance" default:"1" minimum:"0" maximum:"1"`
	Plan       string  `query:"plan" maxLength:"100" doc:"id of a plan; left out: the hours as worked last season"`
	Clear      bool    `query:"unlookedClear" doc:"take waters where nobody has looked for clear; otherwise they count as sources"`
}

func (a *API) spread(ctx context.Context, in *spreadIn) (*struct{ Body spreading.SpreadReport }, error) {
	q := spreading.Question{Organism: in.Organism, Years: in.Years, Runs: in.Runs, Alpha: in.Alpha, C: in.C, Known: in.Known, Compliance: &in.Compliance,
		Plan: in.Plan, UnlookedClear: in.Clear, Seed: in.Seed}
	key := fmt.Sprintf("spread %+v %g", q, in.Compliance)
	q.Compliance = &in.Compliance
	r, err := ofTraffic(ctx, a, &in.TrafficIn, key, func(m *flows.Model) (*spreading.SpreadReport, error) {
		return spreading.Forecast(context.WithoutCancel(ctx), m, q, nil)
	})
	if err != nil {
		return nil, err
	}
	return &struct{ Body spreading.SpreadReport }{*r}, nil
}

// SpreadJob is a forecast as a long computation, with the records as they stand when it starts. Its input is a
// [spreading.Question]; what comes of it is a [spreading.SpreadReport].
func SpreadJob(read Reader) func(context.Context, json.RawMessage, func(float64, string)) (json.RawMessage, error) {
	return func(ctx context.Context, input json.RawMessage, progress func(float64, string)) (json.RawMessage, error) {
		var q spreading.Question
		if err := json.Unmarshal(input, &q); err != nil {
			return nil, thwart.FieldErrors{{Field: "input", Value: string(input[:min(len(input), 60)]), Accepted: `such as {"organism": "zebra_mussel", "years": 10}`}}
		}
		progress(0, "reading the season")
		book, err := read(ctx)
		if err != nil {
			return nil, err
		}
		m, err := flows.New(book, flows.Options{Seed: max(1, q.Seed)})
		if err != nil {
			return nil, err
		}
		r, err := spreading.Forecast(ctx, m, q, progress)
		if err != nil {
			return nil, err
		}
		return json.Marshal(r)
	}
}
