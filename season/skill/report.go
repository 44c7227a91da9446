package skill

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"thwart"
	"thwart/engine/num"
	"thwart/engine/recall"
	estimate "thwart/engine/skill"
	"thwart/practice"
	"thwart/refdata"
	"thwart/season"
)

// Options of a report. Zero fields take what stands beside them.
type Options struct {
	Now time.Time // when it is; required
	// Target is the chance of finding below which somebody practises: 0.8, a little above what inspectors found on staged
	// boats (79 %: Angell et al. 2024).
	Target float64
	Level  float64 // of the intervals: 0.95
}

// Least is the number of objects from which a person's chance is named.
const Least = 10

// Half is the half-width of an interval that is taken as telling enough.
const Half = 0.10

// Report is what a season's records say of what people find.
type Report struct {
	Cursor  int64          `json:"cursor"`
	At      time.Time      `json:"at"`
	Level   float64        `json:"level"`
	Target  float64        `json:"target"`
	Least   int            `json:"least"` // objects from which a person's chance is named
	Classes []ClassSkill   `json:"classes"`
	People  []PersonSkill  `json:"people"` // by name
	Places  []PlaceSkill   `json:"places"` // planted objects only, by place
	Seconds []SecondsSkill `json:"seconds"`
	Recall  recall.Fitted  `json:"recall"` // the spacing, fitted to all practice
	// Questions is the spacing of questions, fitted to everybody's answers.
	Questions recall.Fitted `json:"questions"`
	Trials    int           `json:"trials"` // planted objects that are over
	Drills    int           `json:"drills"`
	Looks     int           `json:"secondLooks"`
	Notes     []string      `json:"notes"`
	pools     map[refdata.DetectionClass]*estimate.Pool
	index     map[string]int
	topics    map[string][]answers // by person, also of those without evidence on finding
}

// ClassSkill is what the programme finds of one kind of thing.
type ClassSkill struct {
	Class  string `json:"class"`
	Words  string `json:"words"`
	Found  int    `json:"found"`
	Trials int    `json:"trials"`
	People int    `json:"people"` // with at least one
	// Mean is the chance of the average person, with its 95 % limits; Newcomer is what is expected of somebody without trials.
	Mean      thwart.Range `json:"mean"`
	Newcomer  thwart.Range `json:"newcomer"`
	Published float64      `json:"published"` // the library's figure for trained inspectors
	Double    *DoubleSkill `json:"double,omitempty"`
	// Unconfirmed counts marks of a first look that a blind second one, with nothing taken off between, did not find: false
	// alarms of the first or misses of the second, which no record tells apart. It is a bound from above on false alarms, and of
	// nobody in particular.
	Unconfirmed num.Count      `json:"unconfirmed"`
	Alarms      string         `json:"alarms"` // the same in a sentence
	Skill       thwart.SkillOf `json:"skill"`  // of a person nobody knows, to compute with
}

// DoubleSkill is what craft looked at twice say.
type DoubleSkill struct {
	First  int          `json:"first"`
	Second int          `json:"second"`
	Both   int          `json:"both"`
	Total  thwart.Range `json:"total"` // there were at least about so many things (Chapman)
	Says   string       `json:"says"`
}

// PersonSkill is what is known of one person.
type PersonSkill struct {
	Person  string        `json:"person"`
	Name    string        `json:"name"`
	Classes []PersonClass `json:"classes"`
	// Screen is how well she tells something from nothing on practice craft; absent below ten of each.
	Screen   *ScreenSkill `json:"screen,omitempty"`
	Drills   int          `json:"drills"`
	Practise []Practise   `json:"practise"` // what to practise, most telling first
	// Due is when to practise next; DueNow says that it is past, or that she never has.
	Due     *time.Time `json:"due,omitempty"`
	DueNow  bool       `json:"dueNow"`
	DueWeek bool       `json:"dueWeek"` // within seven days
	DueSays string     `json:"dueSays"`
	// Questions says when each topic that she was asked about is due again; QuestionsSay tells of those due within seven days.
	Questions    []practice.TopicDue `json:"questions"`
	QuestionsSay []string            `json:"questionsSay"`

	Skill  thwart.Skill `json:"skill"` // to compute risk and short rounds with
	Says   []string     `json:"says"`
	memory practice.Memory
}

// PersonClass is what is known of one person and one kind of thing.
type PersonClass struct {
	Class   string    `json:"class"`
	Words   string    `json:"words"`
	Found   int       `json:"found"` // planted objects and things another person found
	Trials  int       `json:"trials"`
	Planted num.Count `json:"planted"`
	Double  num.Count `json:"double"`
	Screen  num.Count `json:"screen"` // practice craft, not among the trials
	// Chance is absent below ten trials.
	Chance *thwart.Range `json:"chance,omitempty"`
	// BelowTarget is the chance that she finds less than the target; absent below ten trials.
	BelowTarget *float64 `json:"belowTarget,omitempty"`
	More        int      `json:"more"` // objects until the interval is about ±0.10
	Says        string   `json:"says"`
}

// ScreenSkill tells sharpness from readiness to speak up.
type ScreenSkill struct {
	Hits      num.Count `json:"hits"`
	Alarms    num.Count `json:"alarms"`
	DPrime    float64   `json:"dPrime"`
	Criterion float64   `json:"criterion"`
	Says      string    `json:"says"`
}

// Practise is one thing to practise.
type Practise struct {
	Class  string      `json:"class"`
	Part   thwart.Part `json:"part,omitempty"`
	Found  int         `json:"found"`
	Trials int         `json:"trials"`
	Says   string      `json:"says"`
}

// PlaceSkill is how often planted objects were found at a place, by everybody together.
type PlaceSkill struct {
	Place  string       `json:"place"`
	Name   string       `json:"name"`
	Part   thwart.Part  `json:"part"`
	Class  string       `json:"class"`
	Found  int          `json:"found"`
	Trials int          `json:"trials"`
	Chance thwart.Range `json:"chance"` // Jeffreys, at the report's level
}

// SecondsSkill is what time spent at a place buys, for everybody together.
type SecondsSkill struct {
	Class  string         `json:"class"`
	PerS   *thwart.Range  `json:"perS,omitempty"` // rate of finding; absent where everything or nothing was found
	Curve  []SecondsPoint `json:"curve"`
	Trials int            `json:"trials"`
	Note   string         `json:"note"`
}

// SecondsPoint is one point of the curve, and what was counted near it.
type SecondsPoint struct {
	Seconds float64      `json:"seconds"`
	Chance  thwart.Range `json:"chance"`
}

// Of makes the report.
func Of(b *season.Book, opt Options) (*Report, error) {
	if opt.Target == 0 {
		opt.Target = 0.8
	}
	if opt.Level == 0 {
		opt.Level = 0.95
	}
	var errs thwart.FieldErrors
	if opt.Now.IsZero() {
		errs = append(errs, thwart.FieldError{Field: "now", Accepted: "the time for which it is made"})
	}
	if !(opt.Target > 0 && opt.Target < 1) {
		errs = append(errs, thwart.FieldError{Field: "target", Value: fmt.Sprint(opt.Target), Accepted: "above 0 and below 1"})
	}
	if !(opt.Level > 0 && opt.Level < 1) {
		errs = append(errs, thwart.FieldError{Field: "level", Value: fmt.Sprint(opt.Level), Accepted: "above 0 and below 1"})
	}
	if errs != nil {
		return nil, errs
	}
	g := gather(b)
	r := &Report{
		Cursor: b.Cursor, At: opt.Now, Level: opt.Level, Target: opt.Target, Least: Least, Looks: len(b.SecondLooks),
		Classes: []ClassSkill{}, People: []PersonSkill{}, Places: []PlaceSkill{}, Seconds: []SecondsSkill{}, Notes: []string{},
		pools: map[refdata.DetectionClass]*estimate.Pool{}, index: map[string]int{}, topics: map[string][]answers{},
	}
	for i := range b.Trials {
		if b.Trials[i].Over() {
			r.Trials++
		}
	}
	for i := range b.Drills {
		if len(b.Drills[i].Body.Places) > 0 {
			r.Drills++
		}
	}
	for p, list := range g.topics {
		r.topics[b.People[p].Subject] = list
	}
	var err error
	if r.Recall, err = recall.Fit(g.traces(), recall.Start); err != nil {
		return nil, err
	}
	if r.Questions, err = recall.Fit(g.topicTraces(), recall.Start); err != nil {
		return nil, err
	}
	if err := r.classes(b, g); err != nil {
		return nil, err
	}
	if err := r.people(b, g); err != nil {
		return nil, err
	}
	if err := r.places(g); err != nil {
		return nil, err
	}
	if err := r.seconds(g); err != nil {
		return nil, err
	}
	r.notes()
	return r, nil
}

// inspectors lists people whose skill matters: who inspects or washes and has not left, and who has evidence of her own.
func inspectors(b *season.Book, g *ground, now time.Time) (list []int32) {
	for i := range b.People {
		p := &b.People[i].Body
		works := slices.Contains(p.Roles, thwart.RoleSteward) || slices.Contains(p.Roles, thwart.RoleTechnician)
		if left := p.Left != nil && !p.Left.After(now); !left && (works || g.of[int32(i)] != nil) {
			list = append(list, int32(i))
		}
	}
	slices.SortFunc(list, func(x, y int32) int {
		return cmp.Or(cmp.Compare(b.People[x].Body.Name, b.People[y].Body.Name), cmp.Compare(b.People[x].Subject, b.People[y].Subject))
	})
	return list
}

// hyper is what is known of a kind of thing before this programme's trials: the library's figure, worth ten looks.
func hyper(class refdata.DetectionClass) estimate.Hyper {
	h := estimate.Vague
	if p, ok := refdata.DetectionPriorFor(class, refdata.Steward); ok {
		h.MeanA, h.MeanB = p.Alpha, p.Beta
	}
	return h
}

func (e *evidence) field(class refdata.DetectionClass) num.Count {
	if e == nil {
		return num.Count{}
	}
	return e.planted[class].Plus(e.double[class])
}

func (r *Report) classes(b *season.Book, g *ground) error {
	for _, class := range trained {
		counts, all := g.counts(b, class)
		c := ClassSkill{Class: string(class), Words: ClassWords[class], Found: all.X, Trials: all.N, People: len(counts)}
		pool, err := estimate.Fit(counts, hyper(class))
		if err != nil {
			return err
		}
		r.pools[class] = pool
		c.Mean = thwart.Range(pool.Mean)
		e, err := pool.Person(num.Count{}, r.Level)
		if err != nil {
			return err
		}
		c.Newcomer = thwart.Range{Lo: e.Lo, Mid: e.Mean, Hi: e.Hi}
		prior, _ := refdata.DetectionPriorFor(class, refdata.Steward)
		c.Published = prior.Alpha / (prior.Alpha + prior.Beta)
		if c.Skill, err = skillOf(pool, class, num.Count{}); err != nil {
			return err
		}
		if c.Unconfirmed = g.again[class]; c.Unconfirmed.N == 1 {
			c.Alarms = "One mark was looked at again: too few to say how many were nothing."
		} else if c.Unconfirmed.N < Least {
			c.Alarms = fmt.Sprintf("%d marks were looked at again: too few to say how many were nothing.", c.Unconfirmed.N)
		} else {
			most, err := num.Jeffreys(c.Unconfirmed.X, c.Unconfirmed.N, r.Level)
			if err != nil {
				return err
			}
			c.Alarms = fmt.Sprintf("Of %d marks looked at again %d were not found: nothing was there, or the second look missed it. So no more than about %.0f of 100 (%.0f to %.0f) are false alarms.",
				c.Unconfirmed.N, c.Unconfirmed.X, 100*most.Mid, 100*most.Lo, 100*most.Hi)
		}
		if o := g.pairs[class]; o != nil && o.First > 0 && o.Second > 0 {
			d, err := o.Estimate()
			if err != nil {
				return err
			}
			c.Double = &DoubleSkill{First: o.First, Second: o.Second, Both: o.Both, Total: thwart.Range(d.Total)}
			c.Double.Says = fmt.Sprintf("Of the things on craft looked at twice the first found %d, the second %d, both %d: there were about %.0f (%.0f to %.0f), or more, since both miss what is hard.",
				o.First, o.Second, o.Both, d.Total.Mid, d.Total.Lo, d.Total.Hi)
		}
		r.Classes = append(r.Classes, c)
	}
	return nil
}

// counts lists what each person found of one kind of thing in the field, those who have left too: their trials are trials.
func (g *ground) counts(b *season.Book, class refdata.DetectionClass) (each []num.Count, all num.Count) {
	for i := range b.People {
		if n := g.of[int32(i)].field(class); n.N > 0 {
			each, all = append(each, n), all.Plus(n)
		}
	}
	return each, all
}

// Team gives the chance that somebody of this programme finds what is there, whoever it is, for each kind of thing of which at
// least [Least] planted objects and second looks are on record. For the others the published figure stands. It names nobody.
func Team(b *season.Book) (thwart.Skill, error) {
	g := gather(b)
	var out thwart.Skill
	for _, class := range trained {
		counts, all := g.counts(b, class)
		if all.N < Least {
			continue
		}
		pool, err := estimate.Fit(counts, hyper(class))
		if err != nil {
			return out, err
		}
		s, err := skillOf(pool, class, num.Count{})
		if err != nil {
			return out, err
		}
		out.Classes = append(out.Classes, s)
	}
	return out, nil
}

func skillOf(pool *estimate.Pool, class refdata.DetectionClass, c num.Count) (thwart.SkillOf, error) {
	alpha, beta, err := pool.Beta(c)
	return thwart.SkillOf{Class: string(class), Alpha: alpha, Beta: beta}, err
}

func (r *Report) places(g *ground) error {
	for k, c := range g.places {
		i, err := num.Jeffreys(c.X, c.N, r.Level)
		if err != nil {
			return err
		}
		p := PlaceSkill{Place: k.place, Name: k.place, Part: partOf(k.place), Class: string(k.class), Found: c.X, Trials: c.N, Chance: thwart.Range(i)}
		if row := refdata.PlaceRowOf(k.place); row != nil {
			p.Name = row.Name
		}
		r.Places = append(r.Places, p)
	}
	slices.SortFunc(r.Places, func(x, y PlaceSkill) int { return cmp.Or(cmp.Compare(x.Place, y.Place), cmp.Compare(x.Class, y.Class)) })
	return nil
}

func (r *Report) seconds(g *ground) error {
	for _, class := range trained {
		looks := g.looks[class]
		if len(looks) < Least {
			continue
		}
		rate, err := estimate.RateOfLooks(looks, r.Level)
		if err != nil {
			return err
		}
		s := SecondsSkill{Class: string(class), Trials: len(looks), Curve: []SecondsPoint{}, Note: "Who looks longer where she suspects something makes time look better than it is."}
		if rate.Found.X > 0 && rate.Found.X < rate.Found.N {
			s.PerS = &thwart.Range{Lo: rate.PerTime.Lo, Mid: rate.PerTime.Mid, Hi: rate.PerTime.Hi}
			for _, t := range []float64{1, 2, 3, 5, 8, 12, 20} {
				s.Curve = append(s.Curve, SecondsPoint{t, thwart.Range(rate.FindsWithin(t))})
			}
		}
		r.Seconds = append(r.Seconds, s)
	}
	return nil
}

func (r *Report) notes() {
	r.Notes = append(r.Notes,
		fmt.Sprintf("Below %d objects nothing is said of a person. Intervals hold the truth in about %.0f of 100 cases.", Least, 100*r.Level),
		"Where two intervals overlap the records do not tell two people apart.",
		"A missed test object is for training. It is no ground for discipline.",
	)
	if r.Trials == 0 {
		r.Notes = append(r.Notes, "No planted object is on record yet, so everything rests on published trials.")
	}
}

// Skill gives what is known of a person, to compute risk and short rounds with; of somebody unknown, what is expected of a
// newcomer to this programme.
func (r *Report) Skill(person string) thwart.Skill {
	if i, ok := r.index[person]; ok {
		return r.People[i].Skill
	}
	var s thwart.Skill
	for i := range r.Classes {
		s.Classes = append(s.Classes, r.Classes[i].Skill)
	}
	return s
}

// For keeps of the report what one person may see: her own, and what concerns nobody in particular.
func (r *Report) For(person string) *Report {
	mine := *r
	mine.People = []PersonSkill{}
	if i, ok := r.index[person]; ok {
		mine.People = append(mine.People, r.People[i])
	}
	mine.index = map[string]int{person: 0}
	if len(mine.People) == 0 {
		mine.index = nil
	}
	return &mine
}

// DueThisWeek lists people who should practise within seven days, those past their day first, then by name.
func (r *Report) DueThisWeek() (out []PersonSkill) {
	for _, late := range []bool{true, false} {
		for i := range r.People {
			if p := &r.People[i]; p.DueWeek && p.DueNow == late {
				out = append(out, *p)
			}
		}
	}
	return out
}

// Memory gives what is kept of one person's practice, planted objects and double checks with it: practice goes where she
// misses. Of somebody unknown it is the spacing alone.
func (r *Report) Memory(person string) practice.Memory {
	if i, ok := r.index[person]; ok {
		return r.People[i].memory
	}
	return r.memory(nil, r.topics[person])
}
