package plan

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"thwart/engine/mip"
	"thwart/engine/num"
	"thwart/engine/siting"
)

// Shift is a part of the plan: a team at a launch in one part of the day, on every day of a kind.
type PlanShift struct {
	Launch  string  `json:"launch" doc:"id"`
	Name    string  `json:"name" doc:"of the launch"`
	Partner string  `json:"partner,omitempty"`
	Day     string  `json:"day" enum:"weekday,free day"`
	Block   string  `json:"block"`
	From    int     `json:"from" doc:"hour of the day"`
	To      int     `json:"to"`
	People  int     `json:"people"`
	Days    float64 `json:"days" doc:"in the season"`
	Hours   float64 `json:"hours" doc:"of work in the season"`
	Cost    float64 `json:"cost"`
	Craft   float64 `json:"craft" doc:"that come by in it on one day"`
	Stops   float64 `json:"stops" doc:"risk that the plan would not stop without it"`
	Unit    string  `json:"unit,omitempty" doc:"launch of the wash unit that craft are sent to"`
}

// UnitPlace is where a wash unit stands.
type UnitPlace struct {
	Launch string   `json:"launch" doc:"id"`
	Name   string   `json:"name"`
	Works  []string `json:"works" doc:"kinds of day and parts of the day"`
}

// OrganismStopped is what the plan does about one organism.
type OrganismStopped struct {
	Organism string  `json:"organism"`
	Arriving float64 `json:"arriving" doc:"craft a season that arrive with it alive aboard in a water that does not hold it yet, if nobody stands anywhere"`
	Stopped  float64 `json:"stopped" doc:"of these, stopped by the plan"`
}

// Alternative is another way to spend the same hours.
type Alternative struct {
	Name  string  `json:"name"`
	Words string  `json:"words"`
	Hours float64 `json:"hours"`
	Value float64 `json:"value"`
	Share float64 `json:"share" doc:"of all risk"`
	// Staffed is the share of days staffed by launch and cell, for whoever measures it otherwise.
	Staffed [][]float64 `json:"-"`
}

// Left is a launch where the plan has nobody.
type LeftOut struct {
	Launch     string  `json:"launch" doc:"id"`
	Name       string  `json:"name"`
	Season     float64 `json:"season" doc:"craft that come to launch"`
	Risk       float64 `json:"risk" doc:"that arrives there"`
	WouldStop  float64 `json:"wouldStop" doc:"by the best shift there that the plan does not have"`
	PerHour    float64 `json:"perHour" doc:"the same, per 1000 hours of that shift"`
	PlanWorst  float64 `json:"planWorst" doc:"what the least good shift of the plan that was not decided by hand stops per 1000 hours"`
	BusiestOne bool    `json:"busiest,omitempty" doc:"among the busiest launches, where one might look first"`
	ByHand     bool    `json:"byHand,omitempty" doc:"shifts there were decided against by hand"`
}

// Point of the frontier.
type FrontierPoint struct {
	Money  float64 `json:"money"`
	Cost   float64 `json:"cost"`
	Value  float64 `json:"value"`
	Bound  float64 `json:"bound"`
	Better float64 `json:"better" doc:"at most this share better is possible"`
}

// More is what more of something would be worth.
type WorthMore struct {
	What  string       `json:"what"`
	Worth num.Interval `json:"worth" doc:"risk stopped: lo and hi are proved, mid is between the plans found"`
	Words string       `json:"words"`
	// Rivals are the places where one more wash unit could go, the best first, each with the units of the plan left where they are.
	Rivals []UnitRival `json:"rivals,omitempty" doc:"of one more wash unit: where it could go, the best first"`
}

// UnitRival is one more wash unit at a place.
type UnitRival struct {
	Launch   string       `json:"launch" doc:"id"`
	Name     string       `json:"name"`
	Worth    num.Interval `json:"worth" doc:"risk stopped beyond the plan's: lo and hi are proved, mid is between the plans found"`
	Cost     float64      `json:"cost" doc:"money for placing this unit and for its crew"`
	PlanCost float64      `json:"planCost" doc:"money of the whole plan with it"`
	Hours    float64      `json:"hours" doc:"of work of its crew"`
	Works    []string     `json:"works" doc:"kinds of day and parts of the day in which it washes"`
}

// SeasonPlan is a plan with its proof and what else was considered.
type SeasonPlan struct {
	Wishes       PlanWishes        `json:"wishes" doc:"with what was left out filled in"`
	Made         bool              `json:"made" doc:"false when the wishes collide"`
	Clash        *siting.Clash     `json:"clash,omitempty"`
	Value        float64           `json:"value" doc:"risk stopped, weighted"`
	All          float64           `json:"all" doc:"risk if nobody stands anywhere, weighted"`
	Bound        float64           `json:"bound" doc:"no plan under these wishes stops more"`
	Better       float64           `json:"better" doc:"at most this share better is possible; 0 where nothing is stopped: then the bound tells"`
	Method       string            `json:"method"`
	Cost         float64           `json:"cost"`
	Currency     string            `json:"currency,omitempty" doc:"of all money here, as the programme's record has it (ISO 4217)"`
	HourCostFrom string            `json:"hourCostFrom,omitempty" enum:"asked,programme,default" doc:"where the money for an hour of one person comes from"`
	CrewCostFrom string            `json:"crewCostFrom,omitempty" enum:"asked,person" doc:"where the money for an hour of a wash unit's crew comes from: asked, or the money for one person's hour for each of the crew; left out where no unit was asked for"`
	Hours        float64           `json:"hours" doc:"of work, every person counted"`
	Budget       *HoursBudget      `json:"budget,omitempty" doc:"hours of work that it could use; left out where money alone limits"`
	Worked       *WorkedSeason     `json:"worked,omitempty" doc:"last season as it was worked; left out where no hours are in the records"`
	Organisms    []OrganismStopped `json:"organisms"`
	Shifts       []PlanShift       `json:"shifts" doc:"what stops most per hour first"`
	Units        []UnitPlace       `json:"units"`
	Alternatives []Alternative     `json:"alternatives"`
	Left         []LeftOut         `json:"left" doc:"launches without anybody, the busiest first"`
	Frontier     []FrontierPoint   `json:"frontier"`
	Next         *siting.Advance   `json:"next,omitempty" doc:"the cheapest next step of the frontier that stops more"`
	More         []WorthMore       `json:"more"`
	Robust       *WorstSeasons     `json:"robust,omitempty" doc:"where the plan is for the worst seasons"`
	Unspent      *UnspentMoney     `json:"unspent,omitempty" doc:"money that is left over, and why; left out where none is"`
	Why          []string          `json:"why"`
	Assumed      []string          `json:"assumed"`
	Warnings     []string          `json:"warnings"`

	Staffed [][]float64 `json:"-"` // share of days staffed, by launch and cell
}

var assumed = []string{
	"Risk is craft that arrive with an organism alive aboard in a water that is not known to hold it; into a water that is suspected, half of them count. What a look finds is taken to be made safe.",
	"A look finds as much as published for trained people, whatever the team's size; a larger team gets through more craft.",
	"Craft beyond what a team can look over in a part of the day pass; waiting is not looked at here.",
	"A shift is worked on every day of its kind. Craft leave in the parts of the week in which they come.",
}

// assumes is what the plan takes for granted, with the teams that it was made for.
func (w *PlanWishes) assumes() []string {
	var teams []string
	for _, t := range w.Teams {
		who := "1 person"
		if t.People > 1 {
			who = fmt.Sprintf("%d people", t.People)
		}
		teams = append(teams, fmt.Sprintf("%s, %g craft an hour", who, t.PerHour))
	}
	words := "A shift is worked by one of these teams: " + strings.Join(teams, "; ") + ". Hours of work count every person of a team."
	if w.teamsLeftOut {
		words += " No teams were given, so this is an assumption."
	}
	return append(slices.Clone(assumed), words)
}

// Maker makes plans.
type Maker struct {
	Solver   mip.Solver // nil: search alone
	Progress func(fraction float64, words string)
}

func (m *Maker) tell(f float64, words string) {
	if m.Progress != nil {
		m.Progress(f, words)
	}
}

// costWords says what an hour costs and how that is known.
func (w *PlanWishes) costWords(in *Input) string {
	money := strings.TrimSpace(fmt.Sprintf("%s %g", in.Currency, w.HourCost))
	switch w.costFrom {
	case FromProgramme:
		return fmt.Sprintf("An hour of one person costs %s, as the programme's record has it.", money)
	case FromDefault:
		return fmt.Sprintf("An hour of one person costs %s: none was given and the programme's record names none, so this is an assumption (common practice, no source).", money)
	}
	return fmt.Sprintf("An hour of one person costs %s, as was asked.", money)
}

// crewWords says what an hour of a wash unit's crew costs and how that is known; nothing where no unit was asked for.
func (w *PlanWishes) crewWords(in *Input) []string {
	if w.Units == nil {
		return nil
	}
	money := strings.TrimSpace(fmt.Sprintf("%s %g", in.Currency, w.Units.HourCost))
	from := "as was asked"
	if w.crewFrom == FromPerson {
		from = "each of them as much as an hour of one person, because no other money was given"
	}
	return []string{fmt.Sprintf("An hour of a wash unit's crew of %d costs %s, %s.", w.Units.People, money, from)}
}

// Make plans. Wishes that mean nothing are [thwart.FieldErrors]; wishes that collide are a SeasonPlan that is not made, with the
// clash in words. A cancelled context is its error.
func (m *Maker) Make(ctx context.Context, in *Input, wishes PlanWishes) (*SeasonPlan, error) {
	w, err := wishes.full(in)
	if err != nil {
		return nil, err
	}
	if len(in.Launches) == 0 || len(in.Pairs) == 0 {
		return nil, errors.New("no risky traffic between known waters is in the records, so there is nothing to plan against")
	}
	m.tell(0.02, "writing down every shift that could be worked")
	b, err := in.stations(&w).Build()
	if err != nil {
		return nil, err
	}
	r := &SeasonPlan{Wishes: w, Currency: in.Currency, HourCostFrom: w.costFrom, CrewCostFrom: w.crewFrom, Assumed: slices.Concat(w.assumes(), []string{w.costWords(in)}, w.crewWords(in)), Warnings: append([]string{}, in.Warnings...), Organisms: []OrganismStopped{}, Shifts: []PlanShift{}, Units: []UnitPlace{}, Alternatives: []Alternative{}, Left: []LeftOut{}, Frontier: []FrontierPoint{}, More: []WorthMore{}, Why: []string{}}
	r.All = in.all(b.Stations.Weights)
	m.tell(0.05, "searching")
	plan, err := m.solve(ctx, b, &w)
	if err != nil {
		return nil, err
	}
	if !plan.Kept {
		return r, m.explain(ctx, b, r)
	}
	if plan, err = m.robust(ctx, in, b, r, plan); err != nil {
		return nil, err
	}
	r.fill(in, b, plan)
	steps, left := b.Problem.Steps(b.Problem.Set(plan.Chosen))
	r.spent(b, steps)
	r.worked(in, b)
	r.unspent(b, plan, steps, left)
	m.tell(0.6, "holding it beside other ways to spend the hours")
	r.alternatives(in, b)
	r.left(in, b, plan)
	if err := m.frontier(ctx, b, r); err != nil {
		return nil, err
	}
	if err := m.more(ctx, in, b, r, plan); err != nil {
		return nil, err
	}
	r.why()
	m.tell(1, "done")
	return r, ctx.Err()
}

// all is the weighted risk of all traffic.
func (in *Input) all(weights []float64) (sum float64) {
	for _, p := range in.Pairs {
		for o, v := range p.Risk {
			sum += weights[o] * v
		}
	}
	return sum
}

func (m *Maker) solve(ctx context.Context, b *siting.Built, w *PlanWishes) (siting.Plan, error) {
	effort := siting.Effort{Seed: w.Seed}
	if m.Solver == nil {
		plan, err := b.Problem.Search(ctx, effort)
		return plan, errors.Join(err, ctx.Err())
	}
	began := 0.05
	plan, err := b.Problem.Prove(ctx, m.Solver, siting.Proof{
		Effort: effort, Gap: w.Gap, TimeLimit: time.Duration(w.Seconds * float64(time.Second)),
		Progress: func(p mip.Progress) {
			words := "proving"
			if p.HasPoint && p.Best > 0 && !math.IsInf(p.Bound, 0) {
				words = fmt.Sprintf("proving: at most %.1f %% better is possible", 100*math.Max(0, p.Bound/p.Best-1))
			}
			m.tell(began+0.5*math.Min(1, p.Seconds/w.Seconds), words)
		},
	})
	if errors.Is(err, mip.ErrSolver) { // the search's plan stands, with its own limit
		plan.Method = "search; " + err.Error()
		err = nil
	}
	if err == nil {
		err = ctx.Err()
	}
	return plan, err
}

func (m *Maker) explain(ctx context.Context, b *siting.Built, r *SeasonPlan) error {
	m.tell(0.6, "finding out which wishes collide")
	if m.Solver == nil {
		r.Clash = &siting.Clash{Words: "No plan was found that keeps every wish. Whether there is one was not settled: there is no solver here."}
		return nil
	}
	clash, err := b.Problem.Explain(ctx, m.Solver)
	if err != nil {
		return err
	}
	if clash == nil {
		clash = &siting.Clash{Words: "There are plans that keep every wish, but none was found in the time. Give it more seconds, or fewer wishes."}
	}
	r.Clash = clash
	m.tell(1, "done")
	return nil
}

// fill writes the plan out.
func (r *SeasonPlan) fill(in *Input, b *siting.Built, plan siting.Plan) {
	s := b.Stations
	chosen := b.Problem.Set(plan.Chosen)
	gains := b.Problem.Gains(chosen)
	r.Made, r.Value, r.Bound, r.Better, r.Method, r.Cost = true, plan.Value, plan.Bound, finite(plan.Better()), plan.Method, plan.Cost
	works := map[int][]string{}
	for _, k := range plan.Chosen {
		sh := b.Shifts[k]
		r.Hours += sh.Hours
		switch sh.Kind {
		case siting.Washes:
			works[sh.Site] = append(works[sh.Site], s.CellName(sh.Cell))
		case siting.Unit:
			r.Units = append(r.Units, UnitPlace{Launch: in.Launches[sh.Site].ID, Name: in.Launches[sh.Site].Name})
		case siting.Duty:
			leg := sh.Legs[0]
			d, blk := s.Split(leg.Cell)
			l, block := in.Launches[leg.Launch], r.Wishes.Blocks[blk]
			out := PlanShift{
				Launch: l.ID, Name: l.Name, Partner: l.Partner, Day: kindNames[d], Block: block.Name, From: block.From, To: block.To, People: sh.People,
				Days: in.Days[d], Hours: sh.Hours, Cost: b.Problem.Choices[k].Cost, Craft: s.Craft[leg.Launch][leg.Cell], Stops: gains[k],
			}
			if sh.Site >= 0 {
				out.Unit = in.Launches[sh.Site].ID
			}
			r.Shifts = append(r.Shifts, out)
		}
	}
	for i := range r.Units {
		r.Units[i].Works = works[in.launchIndex(r.Units[i].Launch)]
	}
	slices.SortStableFunc(r.Shifts, func(a, b PlanShift) int { return cmp.Compare(b.Stops/b.Hours, a.Stops/a.Hours) })
	stopped, _ := b.Stopped(chosen)
	for o, name := range in.Organisms {
		var all float64
		for _, p := range in.Pairs {
			all += p.Risk[o]
		}
		r.Organisms = append(r.Organisms, OrganismStopped{name, all, stopped[o]})
	}
	r.Staffed = b.SharesOf(chosen)
}
