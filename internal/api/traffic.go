package api

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"thwart"
	"thwart/refdata"
	"thwart/season"
	"thwart/season/flows"
)

func (a *API) routeTraffic() {
	tag := []string{"Traffic"}
	thin := []int{http.StatusUnprocessableEntity}
	const note = "Computed from the records as they stand and kept until they change; records that cannot carry an answer are refused in words. "
	route(a, huma.Operation{OperationID: "get-traffic-flows", Method: http.MethodGet, Path: "/api/traffic/flows", Tags: tag, Errors: thin,
		Summary: "Passages between waters in the season, staffed or not, with intervals",
		Description: note + "Every water is listed, and of the pairs the largest. Passages of a day are those of the season times the day's share: " +
			"craft of the day divided by total in the arrivals."}, inOffice(thwart.CanRead), a.trafficFlows)
	route(a, huma.Operation{OperationID: "get-traffic-arrivals", Method: http.MethodGet, Path: "/api/traffic/arrivals", Tags: tag, Errors: thin,
		Summary: "When craft arrive: by launch, day, hour, day type and month", Description: note}, inOffice(thwart.CanRead), a.trafficArrivals)
	route(a, huma.Operation{OperationID: "get-traffic-risk", Method: http.MethodGet, Path: "/api/traffic/risk", Tags: tag, Errors: thin,
		Summary:     "Risky passages by organism: which waters they come from, which launches and waters they reach",
		Description: note + "A risky passage is a craft that arrives with the organism alive aboard."}, inOffice(thwart.CanRead), a.trafficRisk)
	route(a, huma.Operation{OperationID: "get-traffic-declaration", Method: http.MethodGet, Path: "/api/traffic/declaration", Tags: tag, Errors: thin,
		Summary: "What changes if one water is declared infested with an organism", Description: note + "Nothing is declared by asking."},
		inOffice(thwart.CanRead), a.trafficDeclaration)
	route(a, huma.Operation{OperationID: "get-traffic-card", Method: http.MethodGet, Path: "/api/traffic/card", Tags: tag, Errors: thin,
		Summary:     "The model card: what was fitted, on what, how well, and what it cannot say",
		Description: note + "The first asking fits the comparisons too and takes seconds."}, inOffice(thwart.CanRead), a.trafficCard)
}

var organismIDs = func() (ids []string) {
	for _, o := range refdata.Organisms() {
		ids = append(ids, o.ID)
	}
	return ids
}()

// TrafficIn says how traffic is estimated.
type TrafficIn struct {
	Detour float64 `query:"detour" default:"1.3" minimum:"1" maximum:"5" doc:"how much longer roads are than straight lines"`
	Seed   uint64  `query:"seed" default:"1" maximum:"9007199254740991" doc:"of the draws"`
}

func (in *TrafficIn) options() flows.Options { return flows.Options{Detour: in.Detour, Seed: in.Seed} }

func (in *TrafficIn) key() string { return fmt.Sprintf("traffic %g %d", in.Detour, in.Seed) }

// ofTraffic gives what compute makes of the fitted model, once for each state of the records.
func ofTraffic[T any](ctx context.Context, a *API, in *TrafficIn, what string, compute func(*flows.Model) (T, error)) (T, error) {
	fit := func(b *season.Book) (*flows.Model, error) { return flows.New(b, in.options()) }
	m, err := fromBook(ctx, a, in.key(), fit)
	if err != nil {
		var none T
		return none, tooThin(err)
	}
	out, err := fromBook(ctx, a, in.key()+" "+what, func(b *season.Book) (T, error) {
		if m.Book() != b { // entries arrived in between
			var err error
			if m, err = fit(b); err != nil {
				var none T
				return none, err
			}
		}
		return compute(m)
	})
	return out, tooThin(err)
}

// tooThin turns what the records cannot carry into an answer that says so.
func tooThin(err error) error {
	var fields thwart.FieldErrors
	var told *Problem
	switch {
	case err == nil, errors.As(err, &fields), errors.As(err, &told), errors.Is(err, context.Canceled), errors.Is(err, context.DeadlineExceeded),
		errors.Is(err, thwart.ErrStorage):
		return err
	}
	return problem(http.StatusUnprocessableEntity, "the records cannot carry this answer: "+err.Error())
}

type trafficFlowsIn struct {
	TrafficIn
	Top int `query:"top" default:"200" minimum:"0" maximum:"5000" doc:"pairs listed, the largest first"`
}

func (a *API) trafficFlows(ctx context.Context, in *trafficFlowsIn) (*struct{ Body flows.FlowsReport }, error) {
	r, err := ofTraffic(ctx, a, &in.TrafficIn, fmt.Sprint("flows ", in.Top), func(m *flows.Model) (flows.FlowsReport, error) { return m.Flows(in.Top) })
	return &struct{ Body flows.FlowsReport }{r}, err
}

func (a *API) trafficArrivals(ctx context.Context, in *TrafficIn) (*struct{ Body flows.ArrivalsReport }, error) {
	r, err := ofTraffic(ctx, a, in, "arrivals", func(m *flows.Model) (flows.ArrivalsReport, error) { return m.Arrivals(), nil })
	return &struct{ Body flows.ArrivalsReport }{r}, err
}

type trafficRiskIn struct {
	TrafficIn
	Organism string `query:"organism" maxLength:"60" doc:"left out: every organism that any water holds"`
	Top      int    `query:"top" default:"20" minimum:"1" maximum:"2000" doc:"pairs listed of each organism, the largest first"`
}

func (a *API) trafficRisk(ctx context.Context, in *trafficRiskIn) (*struct{ Body flows.RiskFlows }, error) {
	opt := flows.RiskOptions{Top: in.Top}
	if in.Organism != "" {
		if pr := oneOf("query.organism", in.Organism, organismIDs); pr != nil {
			return nil, pr
		}
		opt.Organisms = []string{in.Organism}
	}
	r, err := ofTraffic(ctx, a, &in.TrafficIn, fmt.Sprint("risk ", in.Top, " ", in.Organism), func(m *flows.Model) (flows.RiskFlows, error) { return m.Risk(opt) })
	return &struct{ Body flows.RiskFlows }{r}, err
}

type trafficDeclarationIn struct {
	TrafficIn
	Water    string `query:"water" required:"true" maxLength:"100" doc:"id of the water"`
	Organism string `query:"organism" required:"true" maxLength:"60"`
}

func (a *API) trafficDeclaration(ctx context.Context, in *trafficDeclarationIn) (*struct{ Body flows.DeclarationEffect }, error) {
	r, err := ofTraffic(ctx, a, &in.TrafficIn, "declaration "+in.Water+" "+in.Organism, func(m *flows.Model) (flows.DeclarationEffect, error) {
		return m.Declare(in.Water, in.Organism)
	})
	return &struct{ Body flows.DeclarationEffect }{r}, err
}

func (a *API) trafficCard(ctx context.Context, in *TrafficIn) (*struct{ Body flows.ModelCard }, error) {
	r, err := ofTraffic(ctx, a, in, "card", func(m *flows.Model) (flows.ModelCard, error) { return m.Card(), nil })
	return &struct{ Body flows.ModelCard }{r}, err
}

// BootstrapInput is what the computation "traffic_bootstrap" is asked.
type BootstrapInput struct {
	Replicates int     `json:"replicates"` // 20 to 5000; 0 = 200
	Detour     float64 `json:"detour,omitempty"`
	Seed       uint64  `json:"seed,omitempty"`
}

// BootstrapJob repeats the fit of traffic on counts drawn from it, with the records as they stand when it starts.
func BootstrapJob(read Reader) func(context.Context, json.RawMessage, func(float64, string)) (json.RawMessage, error) {
	return func(ctx context.Context, input json.RawMessage, progress func(float64, string)) (json.RawMessage, error) {
		in := BootstrapInput{Replicates: 200, Seed: 1}
		if len(input) > 0 {
			if err := json.Unmarshal(input, &in); err != nil {
				return nil, thwart.FieldErrors{{Field: "input", Value: string(input[:min(len(input), 60)]), Accepted: `such as {"replicates": 200, "seed": 1}`}}
			}
		}
		if in.Replicates < 20 || in.Replicates > 5000 {
			return nil, thwart.FieldErrors{{Field: "replicates", Value: fmt.Sprint(in.Replicates), Accepted: "20 to 5000"}}
		}
		progress(0, "reading the season")
		book, err := read(ctx)
		if err != nil {
			return nil, err
		}
		m, err := flows.New(book, flows.Options{Detour: in.Detour, Seed: in.Seed})
		if err != nil {
			return nil, err
		}
		r, err := m.Bootstrap(ctx, in.Replicates, func(f float64) { progress(f, "fitting counts drawn from the fit") })
		if err != nil {
			return nil, err
		}
		return json.Marshal(r)
	}
}
