package api

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"slices"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"thwart"
	"thwart/refdata"
	"thwart/season"
	"thwart/season/skill"
)

const ownSkill = "Whoever may see planted objects gets everybody's; anybody else gets her own and what concerns nobody in particular."

func (a *API) routeSkill() {
	tag := []string{"Training"}
	own := signedIn(thwart.CanRead, thwart.CanRecord)
	own.own = ownSkill
	route(a, huma.Operation{OperationID: "get-skill", Method: http.MethodGet, Path: "/api/skill", Tags: tag,
		Summary: "What people find and miss, with intervals, and what to practise",
		Description: "People are listed by name. Below ten objects nothing is said of a person, and where intervals overlap the records tell nobody " +
			"apart."}, own, a.skill)
	route(a, huma.Operation{OperationID: "list-standings", Method: http.MethodGet, Path: "/api/standings", Tags: tag,
		Summary: "Certificates, and how far each curriculum is done"}, own, a.standings)
	route(a, huma.Operation{OperationID: "list-debriefs", Method: http.MethodGet, Path: "/api/debriefs", Tags: tag,
		Summary: "Cards on planted objects of the last two weeks, to be talked over within a day"}, own, a.debriefs)
	trials := inOffice(thwart.CanSeeTrial)
	route(a, huma.Operation{OperationID: "list-open-trials", Method: http.MethodGet, Path: "/api/trials/open", Tags: tag,
		Summary: "Planted objects that nobody has taken back yet, with the record that is probably of the craft"}, trials, a.openTrials)
	route(a, huma.Operation{OperationID: "plant-trial", Method: http.MethodPost, Path: "/api/trials", Tags: tag, DefaultStatus: http.StatusCreated,
		Summary:     "Register a planted object before the craft comes to the ramp",
		Description: "It is kept from every phone and from every role that may not see trials, until it is over."}, trials, a.plantTrial)
	route(a, huma.Operation{OperationID: "close-trial", Method: http.MethodPost, Path: "/api/trials/{id}/close", Tags: tag,
		Summary: "Say that an object was taken back, and whether it was found",
		Description: "A trial is not closed before the object is back. Where found is left out, it is taken from the steward's own record of the craft. " +
			"That record is marked as a test, so that no count of real craft has it.",
		Errors: []int{http.StatusNotFound, http.StatusConflict}}, trials, a.closeTrial)
}

// seesAll reports whether the caller may see everybody's figures.
func (p *principal) seesAll() bool { return p.may(thwart.CanSeeTrial) }

type skillIn struct {
	Target float64 `query:"target" minimum:"0.01" maximum:"0.99" default:"0.8" doc:"chance of finding below which somebody practises"`
}

func (a *API) skill(ctx context.Context, in *skillIn) (*struct{ Body *skill.Report }, error) {
	p := who(ctx)
	r, err := a.skillReport(ctx, in.Target)
	if err != nil {
		return nil, err
	}
	if !p.seesAll() {
		r = r.For(p.person)
	}
	return &struct{ Body *skill.Report }{r}, nil
}

// skillReport is made once an hour for each state of the records: what is due depends on the day.
func (a *API) skillReport(ctx context.Context, target float64) (*skill.Report, error) {
	now := a.cfg.Now().Truncate(time.Hour)
	return fromBook(ctx, a, fmt.Sprintf("skill %v %d", target, now.Unix()), func(b *season.Book) (*skill.Report, error) {
		return skill.Of(b, skill.Options{Now: now, Target: target})
	})
}

// me is the caller's place among the people of a Book, or season.None.
func me(ctx context.Context, b *season.Book) int32 {
	person := who(ctx).person
	if i := b.Index(person); i >= 0 && int(i) < len(b.People) && b.People[i].Subject == person {
		return i
	}
	return season.None
}

func (a *API) standings(ctx context.Context, _ *none) (*list[skill.Standing], error) {
	b, err := a.season(ctx)
	if err != nil {
		return nil, err
	}
	now := a.cfg.Now()
	if who(ctx).seesAll() {
		return listOf(skill.Standings(b, now)), nil
	}
	if i := me(ctx, b); i != season.None {
		return listOf([]skill.Standing{skill.StandingOf(b, i, now)}), nil
	}
	return listOf([]skill.Standing{}), nil
}

func (a *API) debriefs(ctx context.Context, _ *none) (*list[skill.Debrief], error) {
	b, err := a.season(ctx)
	if err != nil {
		return nil, err
	}
	person := int32(season.None)
	if !who(ctx).seesAll() {
		if person = me(ctx, b); person == season.None {
			return listOf([]skill.Debrief{}), nil
		}
	}
	return listOf(skill.Debriefs(b, person, a.cfg.Now())), nil
}

func (a *API) openTrials(ctx context.Context, _ *none) (*list[skill.Out], error) {
	b, err := a.season(ctx)
	if err != nil {
		return nil, err
	}
	return listOf(skill.Open(b, a.cfg.Now())), nil
}

type plantIn struct {
	Body struct {
		Object    string    `json:"object" maxLength:"40" doc:"the number on it"`
		Like      string    `json:"like" doc:"what it stands for: plants_seen, small_felt, water_seen"`
		Place     string    `json:"place" maxLength:"100"`
		Steward   string    `json:"steward"`
		PlantedAt time.Time `json:"plantedAt,omitempty" doc:"left out: now"`
	}
}

func (a *API) plantTrial(ctx context.Context, in *plantIn) (*entryOut, error) {
	now := a.cfg.Now().UTC()
	b := &in.Body
	if b.PlantedAt.IsZero() {
		b.PlantedAt = now
	}
	steward, err := subjectOf(ctx, a.cfg.Store, b.Steward, thwart.KindPerson)
	if err != nil {
		return nil, err
	}
	var errs thwart.FieldErrors
	refuse := func(wrong bool, name, value, accepted string) {
		if wrong {
			errs = append(errs, thwart.FieldError{Field: "body." + name, Value: short(value), Accepted: accepted})
		}
	}
	refuse(b.Object == "", "object", b.Object, "the number on the object")
	refuse(!slices.Contains(refdata.DetectionClasses, refdata.DetectionClass(b.Like)), "like", b.Like, "what it stands for: plants_seen, small_felt, water_seen")
	// A place that no record can name would never be matched, and the object would count as missed.
	refuse(refdata.PlaceRowOf(b.Place) == nil, "place", b.Place, "the id of a place of a craft, such as hull.bow_eye (GET /api/craft/{class}/places)")
	refuse(steward == nil, "steward", b.Steward, "the id of a person of the programme")
	refuse(b.PlantedAt.After(now.Add(clockOff)), "plantedAt", b.PlantedAt.Format(time.RFC3339), "a time that has come: register the object when it is on the craft")
	if errs != nil {
		return nil, errs
	}
	t := thwart.Trial{Object: b.Object, Like: b.Like, Place: b.Place, Steward: b.Steward, PlantedBy: who(ctx).person, PlantedAt: b.PlantedAt}
	raw, err := json.Marshal(t)
	if err != nil {
		return nil, err
	}
	k := a.newEntry(now, thwart.KindTrial, raw)
	k.Person = who(ctx).person
	if err := a.keepOwn(ctx, k, "create"); err != nil {
		return nil, err
	}
	return a.standing(ctx, k.Entry.Subject)
}

type closeTrialIn struct {
	ID   string `path:"id" maxLength:"40"`
	Body struct {
		RetrievedAt time.Time     `json:"retrievedAt" doc:"when the object was taken back"`
		Found       thwart.Answer `json:"found,omitempty" doc:"yes or no; left out: as the steward's record of the craft has it"`
		Encounter   string        `json:"encounter,omitempty" doc:"the record of the craft; left out: the steward's first after planting"`
		Seconds     float64       `json:"seconds,omitempty" doc:"spent at the place, where somebody took the time"`
	}
}

func (a *API) closeTrial(ctx context.Context, in *closeTrialIn) (*entryOut, error) {
	s, err := subjectOf(ctx, a.cfg.Store, in.ID, thwart.KindTrial)
	if err != nil {
		return nil, err
	}
	if s == nil {
		return nil, problem(http.StatusNotFound, "there is no such planted object")
	}
	body, err := s.Decode()
	if err != nil {
		return nil, err
	}
	t := *body.(*thwart.Trial)
	if t.Found.Known() {
		return nil, problem(http.StatusConflict, "this trial is closed; correct it where it was closed wrongly")
	}
	now := a.cfg.Now().UTC()
	if at := in.Body.RetrievedAt; at.IsZero() || at.Before(t.PlantedAt) || at.After(now.Add(clockOff)) {
		return nil, field("body.retrievedAt", at.Format(time.RFC3339), "when the object was taken back, between planting and now: no object is left on a craft")
	}
	t.RetrievedAt = &in.Body.RetrievedAt
	if err := a.matchTrial(ctx, in, &t); err != nil {
		return nil, err
	}
	raw, err := json.Marshal(t)
	if err != nil {
		return nil, err
	}
	k := a.newEntry(now, thwart.KindTrial, raw)
	k.Entry.Subject, k.Supersedes, k.Why, k.Person = s.Kept.Subject, s.ID, "the object is back", who(ctx).person
	if err := a.keepOwn(ctx, k, "correct"); err != nil {
		return nil, err
	}
	if t.Encounter != "" {
		if err := a.markTest(ctx, t.Encounter, now); err != nil {
			return nil, err
		}
	}
	return a.standing(ctx, in.ID)
}

// matchTrial takes from the steward's record what the caller left out.
func (a *API) matchTrial(ctx context.Context, in *closeTrialIn, t *thwart.Trial) error {
	t.Found, t.Seconds = in.Body.Found, in.Body.Seconds
	if in.Body.Encounter != "" {
		t.Encounter = in.Body.Encounter
	}
	if t.Encounter != "" {
		if s, err := subjectOf(ctx, a.cfg.Store, t.Encounter, thwart.KindInspection); err != nil {
			return err
		} else if s == nil {
			return field("body.encounter", short(t.Encounter), "the id of an inspection, or left out")
		}
	}
	b, err := a.season(ctx)
	if err != nil {
		return err
	}
	for i := range b.Trials {
		x := b.Trials[i]
		if x.Subject != in.ID {
			continue
		}
		if t.Encounter != "" {
			x.Encounter = b.Index(t.Encounter)
		}
		if m, ok := skill.Match(b, &x); ok {
			t.Encounter = m.Encounter
			if !t.Found.Known() {
				t.Found = m.Found
			}
			if t.Seconds == 0 {
				t.Seconds = m.Seconds
			}
		}
	}
	if !t.Found.Known() {
		return field("body.found", string(in.Body.Found), "yes or no: no record of the craft has come in that would tell")
	}
	return nil
}

// markTest keeps the craft with the object out of every count of real craft.
func (a *API) markTest(ctx context.Context, encounter string, now time.Time) error {
	s, err := subjectOf(ctx, a.cfg.Store, encounter, thwart.KindInspection)
	if err != nil || s == nil {
		return err
	}
	var fields map[string]json.RawMessage
	if err := json.Unmarshal(s.Body, &fields); err != nil {
		return err
	}
	if string(fields["test"]) == "true" {
		return nil
	}
	fields["test"] = json.RawMessage("true")
	delete(fields, "mark") // it is a helper's craft
	raw, err := json.Marshal(fields)
	if err != nil {
		return err
	}
	k := a.newEntry(now, thwart.KindInspection, raw)
	k.Entry.Subject, k.Supersedes, k.Why, k.Person = s.Kept.Subject, s.ID, "a planted object was aboard: it counts as no craft", who(ctx).person
	return a.keepOwn(ctx, k, "correct")
}
