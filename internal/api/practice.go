package api

import (
	"bytes"
	"context"
	"encoding/json"
	"net/http"
	"reflect"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"thwart"
	"thwart/advice"
	"thwart/practice"
)

func (a *API) routePractice() {
	tag := []string{"Training"}
	anyone := signedIn(thwart.CanRead, thwart.CanRecord)
	mine := anyone
	mine.own = ownSkill
	route(a, huma.Operation{OperationID: "get-own-practice", Method: http.MethodGet, Path: "/api/practice", Tags: tag,
		Summary:     "What the caller practised, what is due, and the chances of finding to compute with",
		Description: "A phone carries it along: its next practice craft and its risk are made from it without a network."}, mine, a.ownPractice)
	route(a, huma.Operation{OperationID: "make-drill", Method: http.MethodPost, Path: "/api/drills", Tags: tag,
		Summary: "Make a practice craft for the caller",
		Description: "It is made from the caller's own record of what is missed, under the rules that the programme has in force. Its answers travel with " +
			"it, sealed: practice, not examination. Nothing is kept."}, anyone, a.makeDrill)
	fromJSON[DrillLook](a, huma.Operation{OperationID: "look-at-drill", Path: "/api/drills/look", Tags: tag,
		Summary: "What one place of a practice craft shows to what is done there"}, anyone, a.lookAtDrill)
	own := anyone
	own.own = "What is kept is kept of the caller's own person."
	fromJSON[DrillTurn](a, huma.Operation{OperationID: "score-drill", Path: "/api/drills/score", Tags: tag,
		Summary: "Judge a practice craft, and keep it on the caller's record"}, own, a.scoreDrill)
	fromJSON[QuizAsked](a, huma.Operation{OperationID: "ask-quiz", Path: "/api/quizzes", Tags: tag,
		Summary:     "Questions of judgement, made from the rules in force",
		Description: "Where no topics are named, those come first that are due for the caller within the week, or that she was never asked about."}, anyone, a.askQuiz)
	fromJSON[QuizChosen](a, huma.Operation{OperationID: "mark-quiz", Path: "/api/quizzes/mark", Tags: tag,
		Summary: "Mark a quiz, and keep it on the caller's record"}, own, a.markQuiz)
}

// fromJSON registers an operation whose body is read as strictly as a file of the command line, and described by its type.
func fromJSON[In, Out any](a *API, op huma.Operation, n need, h func(context.Context, *In) (*Out, error)) {
	op.Method, op.MaxBodyBytes, op.SkipValidateBody, op.RequestBody = http.MethodPost, MaxBodyBytes, true, &huma.RequestBody{Required: true}
	type bodyOut struct{ Body Out }
	route(a, op, n, func(ctx context.Context, raw *rawIn) (*bodyOut, error) {
		if errs := checkJSON(raw.RawBody); len(errs) > 0 {
			return nil, errs
		}
		in := new(In)
		if err := thwart.ReadJSON(bytes.NewReader(raw.RawBody), MaxBodyBytes, in); err != nil {
			return nil, a.badCase(err)
		}
		out, err := h(ctx, in)
		if err != nil {
			return nil, err
		}
		return &bodyOut{*out}, nil
	})
	t := reflect.TypeFor[In]()
	op.RequestBody.Content["application/json"].Schema = a.huma.OpenAPI().Components.Schemas.Schema(t, true, t.Name())
}

type rawIn struct {
	RawBody []byte `contentType:"application/json"`
}

type makeDrillIn struct {
	Body struct {
		Class      string    `json:"class,omitempty" maxLength:"60" doc:"craft class; left out: an open fishing boat"`
		Difficulty int       `json:"difficulty" minimum:"1" maximum:"5"`
		Seed       uint64    `json:"seed,omitempty" maximum:"9007199254740991" doc:"the same seed gives the same craft; left out: one of its own"`
		At         time.Time `json:"at,omitempty" doc:"the day on which it plays; left out: now"`
	}
}

func (a *API) makeDrill(ctx context.Context, in *makeDrillIn) (*struct{ Body practice.DrillCraft }, error) {
	p, err := a.rulesInForce(ctx)
	if err != nil {
		return nil, err
	}
	b := &in.Body
	o := practice.Order{Seed: b.Seed, Difficulty: b.Difficulty, Protocol: p, At: b.At}
	if o.Setup.Class = b.Class; b.Class == "" {
		o.Setup.Class = "open_aluminium_fishing"
	}
	if o.At.IsZero() {
		o.At = a.cfg.Now().Truncate(time.Minute)
	}
	if o.Seed == 0 {
		o.Seed = uint64(a.cfg.Now().UnixMilli()) & (1<<53 - 1)
	}
	r, err := a.skillReport(ctx, practiseBelow)
	if err != nil {
		return nil, err
	}
	o.Weak = r.Memory(who(ctx).person).Weak
	d, err := practice.Make(o)
	return &struct{ Body practice.DrillCraft }{d}, err
}

// practiseBelow is the chance of finding below which somebody practises, where no page asks for another.
const practiseBelow = 0.8

// OwnPractice is what the caller's phone carries along: her practice, and the chances to compute with.
type OwnPractice struct {
	Person string          `json:"person"`
	At     time.Time       `json:"at" doc:"the hour for which it was made"`
	Memory practice.Memory `json:"memory"`
	Week   practice.Week   `json:"week"`
	// Skill is the caller's own, shrunken towards everybody's; of somebody without trials it is that of a newcomer.
	Skill thwart.Skill `json:"skill"`
	Says  []string     `json:"says" doc:"the same in sentences"`
}

func (a *API) ownPractice(ctx context.Context, _ *none) (*struct{ Body OwnPractice }, error) {
	r, err := a.skillReport(ctx, practiseBelow)
	if err != nil {
		return nil, err
	}
	person := who(ctx).person
	out := OwnPractice{Person: person, At: r.At, Memory: r.Memory(person), Skill: r.Skill(person), Says: []string{}}
	for _, p := range r.For(person).People {
		out.Says = p.Says
	}
	out.Week, err = out.Memory.Week(r.At)
	return &struct{ Body OwnPractice }{out}, err
}

// rulesInForce is the programme's own protocol, the latest made; without one, the library's starting point.
func (a *API) rulesInForce(ctx context.Context) (*thwart.Protocol, error) {
	page, err := a.cfg.Store.Subjects(ctx, thwart.SubjectQuery{Kind: thwart.KindProtocol, Limit: MaxPage})
	if err != nil {
		return nil, err
	}
	var best *thwart.Subject
	for i := range page.Items {
		if s := &page.Items[i]; best == nil || s.MadeAt.After(best.MadeAt) {
			best = s
		}
	}
	if best != nil {
		if body, err := best.Decode(); err == nil {
			return body.(*thwart.Protocol), nil
		}
	}
	p, err := advice.ProtocolByID("own-rules")
	return &p, err
}

// DrillLook asks what one place shows.
type DrillLook struct {
	Drill practice.DrillCraft `json:"drill"`
	Place string              `json:"place"`
	Acts  []thwart.Task       `json:"acts"`
}

func (a *API) lookAtDrill(_ context.Context, q *DrillLook) (*practice.Sight, error) {
	s, err := q.Drill.Look(q.Place, q.Acts)
	return &s, err
}

// DrillTurn hands in a drill. Quiz and Chosen may be left out.
type DrillTurn struct {
	Drill     practice.DrillCraft `json:"drill"`
	Turn      practice.Turn       `json:"turn"`
	Quiz      *practice.Quiz      `json:"quiz,omitempty"`
	Chosen    []int               `json:"chosen,omitempty"`
	StartedAt time.Time           `json:"startedAt"`
	EndedAt   time.Time           `json:"endedAt"`
	// Keep: it goes on the caller's record.
	Keep bool `json:"keep,omitempty"`
}

// DrillScored is a score, and the record that was kept.
type DrillScored struct {
	Score  practice.Score   `json:"score"`
	Marked *practice.Marked `json:"marked,omitempty"`
	Points float64          `json:"points"`
	Kept   string           `json:"kept,omitempty" doc:"subject of the record"`
}

func (a *API) scoreDrill(ctx context.Context, q *DrillTurn) (*DrillScored, error) {
	s, err := q.Drill.Score(q.Turn)
	if err != nil {
		return nil, err
	}
	out := DrillScored{Score: s, Points: s.Points()}
	if q.Quiz != nil {
		m, err := q.Quiz.Mark(q.Chosen)
		if err != nil {
			return nil, err
		}
		out.Marked = &m
	}
	if !q.Keep {
		return &out, nil
	}
	out.Kept, err = a.keepDrill(ctx, q.EndedAt, func(person string) thwart.Drill {
		return q.Drill.Record(&q.Turn, &s, out.Marked, person, q.StartedAt, q.EndedAt)
	})
	return &out, err
}

// keepDrill puts practice on the caller's record and gives its subject.
func (a *API) keepDrill(ctx context.Context, ended time.Time, record func(person string) thwart.Drill) (string, error) {
	p := who(ctx)
	if !p.may(thwart.CanRecord) {
		return "", problem(http.StatusForbidden, "the role "+string(p.role)+" keeps no records; ask without keep")
	}
	now := a.cfg.Now().UTC()
	if ended.After(now.Add(clockOff)) {
		return "", field("body.endedAt", ended.Format(time.RFC3339), "a time that has come")
	}
	raw, err := json.Marshal(record(p.person))
	if err != nil {
		return "", err
	}
	k := a.newEntry(now, thwart.KindDrill, raw)
	k.Person = p.person
	return k.Entry.Subject, a.keepOwn(ctx, k, "create")
}

// QuizAsked asks for questions under the rules in force.
type QuizAsked struct {
	Seed   uint64   `json:"seed,omitempty"`
	Count  int      `json:"count"`
	Topics []string `json:"topics,omitempty"`
	US     bool     `json:"us,omitempty"` // in °F
}

func (a *API) askQuiz(ctx context.Context, b *QuizAsked) (*practice.Quiz, error) {
	p, err := a.rulesInForce(ctx)
	if err != nil {
		return nil, err
	}
	now := a.cfg.Now()
	if b.Seed == 0 {
		b.Seed = uint64(now.UnixMilli())
	}
	r, err := a.skillReport(ctx, practiseBelow)
	if err != nil {
		return nil, err
	}
	week, err := r.Memory(who(ctx).person).Week(now)
	if err != nil {
		return nil, err
	}
	o := practice.QuizOrder{Seed: b.Seed, Protocol: p, Count: b.Count, Topics: b.Topics, US: b.US, At: now.Truncate(time.Minute)}
	if len(b.Topics) == 0 {
		o.First = week.Ask
	}
	q, err := practice.Ask(o)
	return &q, err
}

// QuizChosen hands in a quiz: for each question the number of the option from 0, or -1. Times are for the record.
type QuizChosen struct {
	Quiz      practice.Quiz `json:"quiz"`
	Chosen    []int         `json:"chosen"`
	StartedAt time.Time     `json:"startedAt,omitzero"`
	EndedAt   time.Time     `json:"endedAt,omitzero"`
	// Keep: it goes on the caller's record.
	Keep bool `json:"keep,omitempty"`
}

// QuizMarked is what was right, and the record that was kept.
type QuizMarked struct {
	practice.Marked
	Kept string `json:"kept,omitempty" doc:"subject of the record"`
}

func (a *API) markQuiz(ctx context.Context, b *QuizChosen) (*QuizMarked, error) {
	m, err := b.Quiz.Mark(b.Chosen)
	out := QuizMarked{Marked: m}
	if err != nil || !b.Keep {
		return &out, err
	}
	out.Kept, err = a.keepDrill(ctx, b.EndedAt, func(person string) thwart.Drill {
		return b.Quiz.Record(&m, person, b.StartedAt, b.EndedAt)
	})
	return &out, err
}
