package api

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"slices"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"thwart"
	"thwart/engine/mip"
	"thwart/internal/calendar"
	"thwart/internal/work"
	"thwart/season"
	"thwart/season/flows"
	"thwart/season/plan"
	"thwart/season/roster"
)

// Kinds of computation.
const (
	jobPlan   = "plan"
	jobRoster = "roster"
)

func (a *API) routePlanning() {
	tag := []string{"Plan and roster"}
	notFound := []int{http.StatusNotFound}
	const follow = "Follow it as any long computation; it can be cancelled, and what came of it survives a reload and a restart. "
	route(a, huma.Operation{OperationID: "start-plan", Method: http.MethodPost, Path: "/api/plan", Tags: tag, DefaultStatus: http.StatusCreated,
		Summary: "Plan the season: where and when to stand, under wishes", Description: follow + "Wishes that collide are an answer: the plan is not made, and the clash is in words.",
		MaxBodyBytes: work.MaxInput, Errors: []int{http.StatusServiceUnavailable}}, inOffice(thwart.CanRead), a.startPlan)
	route(a, huma.Operation{OperationID: "get-plan", Method: http.MethodGet, Path: "/api/plan/{id}", Tags: tag, Errors: notFound,
		Summary: "A plan: how far it is, or the plan"}, inOffice(thwart.CanRead), a.getPlan)
	route(a, huma.Operation{OperationID: "get-watch", Method: http.MethodGet, Path: "/api/watch", Tags: tag, Errors: []int{http.StatusUnprocessableEntity},
		Summary:     "Which waters to watch whole against one organism, budget by budget, each proved by a minimum cut",
		Description: "Computed from the records as they stand and kept until they change. Shifts, hours and several organisms at once are the plan's matter."}, inOffice(thwart.CanRead), a.watch)
	route(a, huma.Operation{OperationID: "start-roster", Method: http.MethodPost, Path: "/api/roster", Tags: tag, DefaultStatus: http.StatusCreated,
		Summary: "Put people to dated shifts", Description: follow + "With keep, fixed and barred it keeps to what was decided by hand. To change a roster that was made, change-roster.",
		MaxBodyBytes: work.MaxInput, Errors: []int{http.StatusServiceUnavailable}}, inOffice(thwart.CanManage), a.startRoster)
	route(a, huma.Operation{OperationID: "get-roster", Method: http.MethodGet, Path: "/api/roster/{id}", Tags: tag, Errors: notFound,
		Summary: "A roster: how far it is, or the roster"}, inOffice(thwart.CanManage), a.getRoster)
	route(a, huma.Operation{OperationID: "get-roster-place", Method: http.MethodGet, Path: "/api/roster/{id}/place", Tags: tag,
		Errors: []int{http.StatusNotFound, http.StatusUnprocessableEntity}, Summary: "Who could have one place of a roster, why others may not, and what giving it breaks",
		Description: "By the rules that the roster was made with, on the records as they stand now."}, inOffice(thwart.CanManage), a.rosterPlace)
	route(a, huma.Operation{OperationID: "change-roster", Method: http.MethodPost, Path: "/api/roster/{id}/changes", Tags: tag, DefaultStatus: http.StatusCreated,
		Summary: "Change a roster: give one place to somebody, or repair it around absences",
		Description: follow + "The change is a roster of its own and the one before stays. A roster that was changed already is refused with 409, so that no change is lost: " +
			"change the later one.",
		MaxBodyBytes: work.MaxInput, Errors: []int{http.StatusNotFound, http.StatusConflict, http.StatusServiceUnavailable}}, inOffice(thwart.CanManage), a.changeRoster)
	route(a, huma.Operation{OperationID: "get-roster-calendar", Method: http.MethodGet, Path: "/api/roster/{id}/calendar", Tags: tag, Errors: notFound,
		Summary: "A roster as a calendar (iCalendar, RFC 5545), everybody's or one person's"}, inOffice(thwart.CanManage), a.rosterCalendar)
}

// begin puts a computation in the queue.
func (a *API) begin(ctx context.Context, kind string, input any) (*jobOut, error) {
	if a.cfg.Work == nil {
		return nil, problem(http.StatusServiceUnavailable, "this server runs no long computations")
	}
	text, err := json.Marshal(input)
	if err != nil {
		return nil, err
	}
	p, now := who(ctx), a.cfg.Now().UTC()
	j := thwart.Job{ID: NewID(now), Kind: kind, State: thwart.JobQueued, By: p.account, Person: p.person, Input: text, CreatedAt: now}
	if err := a.cfg.Work.Add(ctx, j); err != nil {
		return nil, err
	}
	if err := a.audit(ctx, p.account, "start_job", j.ID, j.Kind); err != nil {
		return nil, err
	}
	return &jobOut{j}, nil
}

type startPlanIn struct{ Body plan.PlanWishes }

func (a *API) startPlan(ctx context.Context, in *startPlanIn) (*jobOut, error) {
	return a.begin(ctx, jobPlan, in.Body)
}

type watchIn struct {
	TrafficIn
	Organism string  `query:"organism" required:"true" maxLength:"60"`
	HoursDay float64 `query:"hoursDay" default:"12" minimum:"0.25" maximum:"24" doc:"that somebody stands at each launch of a watched water"`
	HourCost float64 `query:"hourCost" minimum:"0" maximum:"1000000" doc:"money; left out: the programme's cost of a steward-hour, else 25 (an assumption)"`
	Points   int     `query:"points" default:"12" minimum:"2" maximum:"50" doc:"budgets"`
}

func (a *API) watch(ctx context.Context, in *watchIn) (*struct{ Body plan.WatchReport }, error) {
	q := plan.WatchAsk{Organism: in.Organism, HoursDay: in.HoursDay, HourCost: in.HourCost, Points: in.Points}
	r, err := ofTraffic(ctx, a, &in.TrafficIn, fmt.Sprintf("watch %+v", q), func(m *flows.Model) (*plan.WatchReport, error) { return plan.Watch(m, q) })
	if err != nil {
		return nil, err
	}
	return &struct{ Body plan.WatchReport }{*r}, nil
}

type startRosterIn struct{ Body roster.RosterAsk }

func (a *API) startRoster(ctx context.Context, in *startRosterIn) (*jobOut, error) {
	return a.begin(ctx, jobRoster, in.Body)
}

// PlanJob is a plan's computation.
type PlanJob struct {
	Job  thwart.Job       `json:"job" doc:"without input and result"`
	Plan *plan.SeasonPlan `json:"plan,omitempty" doc:"once it is done"`
}

// RosterJob is a roster's computation.
type RosterJob struct {
	Job    thwart.Job           `json:"job" doc:"without input and result"`
	Roster *roster.SeasonRoster `json:"roster,omitempty" doc:"once it is done"`
}

// made gives a job of a kind with its result read.
func made[T any](ctx context.Context, a *API, kind, id string) (thwart.Job, *T, error) {
	j, err := a.job(ctx, id)
	if err == nil && j.Kind != kind {
		err = problem(http.StatusNotFound, "there is no such computation, or it is not yours to see")
	}
	if err != nil {
		return j, nil, err
	}
	var result *T
	if j.State == thwart.JobDone {
		result = new(T)
		err = json.Unmarshal(j.Result, result)
	}
	j.Input, j.Result = nil, nil
	return j, result, err
}

func (a *API) getPlan(ctx context.Context, in *byID) (*struct{ Body PlanJob }, error) {
	j, r, err := made[plan.SeasonPlan](ctx, a, jobPlan, in.ID)
	return &struct{ Body PlanJob }{PlanJob{j, r}}, err
}

func (a *API) getRoster(ctx context.Context, in *byID) (*struct{ Body RosterJob }, error) {
	j, r, err := made[roster.SeasonRoster](ctx, a, jobRoster, in.ID)
	return &struct{ Body RosterJob }{RosterJob{j, r}}, err
}

// rosterMade gives what a roster was asked and what came of it; one that is not done is not found.
func (a *API) rosterMade(ctx context.Context, id string) (thwart.Job, roster.RosterAsk, *roster.SeasonRoster, error) {
	var ask roster.RosterAsk
	j, err := a.job(ctx, id)
	if err == nil && (j.Kind != jobRoster || j.State != thwart.JobDone) {
		err = problem(http.StatusNotFound, "there is no such roster, it is not done, or it is not yours to see")
	}
	if err != nil {
		return j, ask, nil, err
	}
	if err := json.Unmarshal(j.Input, &ask); err != nil {
		return j, ask, nil, err
	}
	r := new(roster.SeasonRoster)
	return j, ask, r, json.Unmarshal(j.Result, r)
}

type rosterPlaceIn struct {
	ID     string  `path:"id"`
	Launch string  `query:"launch" required:"true" doc:"id"`
	Day    string  `query:"day" required:"true" doc:"such as 2026-06-06"`
	From   float64 `query:"from" required:"true" doc:"hour at which the shift begins"`
	Holder string  `query:"holder" doc:"id of whoever has the place; left out: one that is open"`
}

func (a *API) rosterPlace(ctx context.Context, in *rosterPlaceIn) (*struct{ Body roster.PlaceChoices }, error) {
	_, ask, was, err := a.rosterMade(ctx, in.ID)
	if err != nil {
		return nil, err
	}
	book, err := a.season(ctx)
	if err != nil {
		return nil, err
	}
	c, err := roster.Choices(book, ask.Changing(in.ID, was), roster.RosterPlace{Launch: in.Launch, Day: in.Day, From: in.From, Holder: in.Holder})
	if err != nil {
		return nil, err
	}
	return &struct{ Body roster.PlaceChoices }{*c}, nil
}

type changeRosterIn struct {
	ID   string `path:"id"`
	Body struct {
		Give   *roster.PlaceGiven `json:"give,omitempty" doc:"one place is given to somebody; nothing else changes"`
		Absent []roster.ByHand    `json:"absent,omitempty" doc:"who cannot come; only what has to change changes"`
	}
}

func (a *API) changeRoster(ctx context.Context, in *changeRosterIn) (*jobOut, error) {
	if (in.Body.Give == nil) == (len(in.Body.Absent) == 0) {
		return nil, field("body", "", "either give or absent")
	}
	_, ask, was, err := a.rosterMade(ctx, in.ID)
	if err != nil {
		return nil, err
	}
	if in.Body.Give != nil {
		ask = ask.Giving(in.ID, was, *in.Body.Give)
	} else {
		for i, h := range in.Body.Absent {
			if !slices.ContainsFunc(was.Rows, func(r roster.RosterRow) bool { return r.Launch == h.Launch && r.Day == h.Day && r.From == h.From }) {
				return nil, field(fmt.Sprintf("body.absent[%d]", i), fmt.Sprintf("%s %s %g", h.Launch, h.Day, h.From), "launch, day and first hour of a shift of the roster")
			}
		}
		ask = ask.Repairing(in.ID, was, in.Body.Absent)
	}
	a.changing.Lock() // between the look for a later roster and its making there is none
	defer a.changing.Unlock()
	later, err := a.changedBy(ctx, in.ID)
	if err != nil {
		return nil, err
	}
	if later != "" {
		return nil, problem(http.StatusConflict, "this roster was changed meanwhile; change the later one: "+later)
	}
	return a.begin(ctx, jobRoster, ask)
}

// changedBy gives the roster that changes one; "" where there is none. Those that failed or were stopped change nothing.
func (a *API) changedBy(ctx context.Context, id string) (string, error) {
	after := ""
	for {
		page, err := a.cfg.Jobs.ListJobs(ctx, []string{jobRoster}, after, 100)
		if err != nil {
			return "", err
		}
		for _, j := range page.Items {
			if j.ID <= id { // ids sort by time, and the latest are listed first
				return "", nil
			}
			if j.State.Ended() && j.State != thwart.JobDone {
				continue
			}
			whole, err := a.cfg.Jobs.JobByID(ctx, j.ID)
			if err != nil {
				return "", err
			}
			var ask struct {
				Of string `json:"of"`
			}
			if json.Unmarshal(whole.Input, &ask) == nil && ask.Of == id {
				return j.ID, nil
			}
		}
		if after = page.Next; after == "" {
			return "", nil
		}
	}
}

type rosterCalendarIn struct {
	ID     string `path:"id"`
	Person string `query:"person" doc:"id; left out: everybody's shifts"`
}

type calendarOut struct {
	Type string `header:"Content-Type"`
	Name string `header:"Content-Disposition"`
	Body []byte
}

func (a *API) rosterCalendar(ctx context.Context, in *rosterCalendarIn) (*calendarOut, error) {
	editions, err := a.editions(ctx, in.ID)
	if err != nil {
		return nil, err
	}
	text, err := calendar.Of(editions, "Shifts", in.Person, time.UTC, time.LoadLocation)
	return &calendarOut{"text/calendar; charset=utf-8", `attachment; filename="shifts.ics"`, []byte(text)}, err
}

// editions gives a roster after those that it came from by change, the oldest first.
func (a *API) editions(ctx context.Context, id string) (out []calendar.Edition, err error) {
	for id != "" {
		j, ask, r, err := a.rosterMade(ctx, id)
		if err != nil {
			return nil, err
		}
		out = append(out, calendar.Edition{Roster: r, Made: j.CreatedAt})
		if id = ask.Of; id >= j.ID { // an earlier roster has a smaller id; what names another was not made by a change
			break
		}
	}
	slices.Reverse(out)
	return out, nil
}

// Solvers opens a solver for one computation; close gives it back.
type Solvers func(ctx context.Context) (s mip.Solver, close func(), err error)

// PlanningJob plans on the records as they stand when it starts.
func PlanningJob(read Reader, open Solvers) work.Do {
	return planning(read, open, func(ctx context.Context, book *season.Book, w plan.PlanWishes, s mip.Solver, progress func(float64, string)) (*plan.SeasonPlan, error) {
		m, err := flows.New(book, flows.Options{Seed: cmp.Or(w.Seed, 1)})
		if err != nil {
			return nil, err
		}
		in, err := plan.FromModel(book, m)
		if err != nil {
			return nil, err
		}
		return (&plan.Maker{Solver: s, Progress: progress}).Make(ctx, in, w)
	})
}

// RosterJobs rosters the people of the records.
func RosterJobs(read Reader, open Solvers) work.Do {
	return planning(read, open, func(ctx context.Context, book *season.Book, ask roster.RosterAsk, s mip.Solver, progress func(float64, string)) (*roster.SeasonRoster, error) {
		return roster.Make(ctx, book, ask, s, progress)
	})
}

func planning[I, O any](read Reader, open Solvers, do func(context.Context, *season.Book, I, mip.Solver, func(float64, string)) (*O, error)) work.Do {
	return func(ctx context.Context, input json.RawMessage, progress func(float64, string)) (json.RawMessage, error) {
		var in I
		if len(input) > 0 {
			if err := json.Unmarshal(input, &in); err != nil {
				return nil, thwart.FieldErrors{{Field: "input", Value: short(string(input)), Accepted: "what the kind of computation asks for"}}
			}
		}
		progress(0, "reading the season")
		book, err := read(ctx)
		if err != nil {
			return nil, err
		}
		s, closing, err := open(ctx)
		if err != nil {
			return nil, err
		}
		defer closing()
		out, err := do(ctx, book, in, s, progress)
		if err != nil {
			return nil, err
		}
		return json.Marshal(out)
	}
}
