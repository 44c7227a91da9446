package skill

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"thwart"
	"thwart/engine/num"
	estimate "thwart/engine/skill"
	"thwart/practice"
	"thwart/refdata"
	"thwart/season"
)

func (r *Report) people(b *season.Book, g *ground) error {
	kept := map[string]estimate.Estimate{} // by class and count: many people have the same
	for _, i := range inspectors(b, g, r.At) {
		e := g.of[i]
		if e == nil {
			e = g.person(i)
		}
		p := PersonSkill{
			QuestionsSay: []string{}, Person: b.People[i].Subject, Name: b.People[i].Body.Name, Classes: []PersonClass{}, Drills: e.drills, Practise: []Practise{}, Says: []string{},
		}
		for _, class := range trained {
			c, known, err := r.class(class, e, kept)
			if err != nil {
				return err
			}
			p.Classes = append(p.Classes, c)
			p.Skill.Classes = append(p.Skill.Classes, known)
		}
		if err := p.screen(e); err != nil {
			return err
		}
		if err := r.due(&p, e, g.topics[i]); err != nil {
			return err
		}
		p.sayAll()
		r.index[p.Person] = len(r.People)
		r.People = append(r.People, p)
	}
	return nil
}

// class estimates one person's chance for one kind of thing.
func (r *Report) class(class refdata.DetectionClass, e *evidence, kept map[string]estimate.Estimate) (PersonClass, thwart.SkillOf, error) {
	n := e.field(class)
	c := PersonClass{
		Class: string(class), Words: ClassWords[class], Found: n.X, Trials: n.N, Planted: e.planted[class], Double: e.double[class], Screen: e.screen[class],
	}
	pool := r.pools[class]
	key := fmt.Sprint(class, n)
	est, ok := kept[key]
	if !ok {
		var err error
		if est, err = pool.Person(n, r.Level); err != nil {
			return c, thwart.SkillOf{}, err
		}
		kept[key] = est
	}
	need, err := estimate.TrialsFor(est.Mean, Half, r.Level)
	if err != nil {
		return c, thwart.SkillOf{}, err
	}
	c.More = max(0, need-n.N)
	known, err := skillOf(pool, class, n)
	if err != nil {
		return c, known, err
	}
	switch {
	case n.N == 0:
		c.Says = "No object yet, so nothing is said."
	case n.N < Least:
		c.Says = fmt.Sprintf("Found %d of %d. So few say little: from %d on a chance is given.", n.X, n.N, Least)
	default:
		below, err := pool.Below(n, r.Target)
		if err != nil {
			return c, known, err
		}
		c.Chance, c.BelowTarget = &thwart.Range{Lo: est.Lo, Mid: est.Mean, Hi: est.Hi}, &below
		c.Says = fmt.Sprintf("Found %d of %d, which stands for about %.0f of 100 (%.0f to %.0f). %s", n.X, n.N, 100*est.Mean, 100*est.Lo, 100*est.Hi, aboutTarget(below, r.Target))
		if c.More > 0 {
			c.Says += fmt.Sprintf(" About %d more objects would narrow that to ±%.0f.", c.More, 100*Half)
		}
	}
	return c, known, nil
}

// aboutTarget says how sure it is that somebody lies under the target: sure from nine in ten on, either way.
func aboutTarget(below, target float64) string {
	switch {
	case below >= 0.9:
		return fmt.Sprintf("That is below %.0f of 100: practise.", 100*target)
	case below <= 0.1:
		return fmt.Sprintf("That is above %.0f of 100.", 100*target)
	}
	return fmt.Sprintf("Whether that is above or below %.0f of 100 cannot be said yet.", 100*target)
}

func (p *PersonSkill) screen(e *evidence) error {
	s := e.signals
	if s.Present < Least || s.Absent < Least {
		return nil
	}
	sense, err := s.Sense(true)
	if err != nil {
		return err
	}
	p.Screen = &ScreenSkill{
		Hits: num.Count{X: s.Hits, N: s.Present}, Alarms: num.Count{X: s.Alarms, N: s.Absent}, DPrime: sense.DPrime, Criterion: sense.Criterion,
	}
	switch {
	case sense.Criterion > 0.5:
		p.Screen.Says = "Writes down only what is certain. Writing down what is doubtful would find more."
	case sense.Criterion < -0.5:
		p.Screen.Says = "Writes down much that is nothing. Feeling again before writing would spare boaters."
	default:
		p.Screen.Says = "Neither too slow nor too quick to write something down."
	}
	return nil
}

// memory is what is kept of a person's practice.
func (r *Report) memory(e *evidence, topics []answers) practice.Memory {
	m := practice.Memory{
		Weights: r.Recall.Weights, Target: r.Target, Learned: []practice.Learned{}, Weak: []practice.Weak{}, TopicWeights: r.Questions.Weights,
	}
	for _, a := range topics {
		asked := thwart.TopicAsked{Topic: a.topic, Asked: a.asked, Right: a.right}
		m = m.With(&thwart.Drill{EndedAt: a.at.Time(), Topics: []thwart.TopicAsked{asked}})
	}
	if e == nil {
		return m
	}
	for _, class := range trained {
		list := e.sessions[class]
		if len(list) == 0 {
			continue
		}
		l := practice.Learned{Class: string(class), Last: list[len(list)-1].at.Time()}
		for _, s := range list {
			l.Found += s.found
			l.Missed += s.there - s.found
		}
		m.Learned = append(m.Learned, l)
	}
	for k, c := range e.parts {
		if k.part != "" {
			m.Weak = append(m.Weak, practice.Weak{Class: string(k.class), Part: k.part, Found: c.X, Trials: c.N})
		}
	}
	slices.SortFunc(m.Weak, func(x, y practice.Weak) int {
		return cmp.Or(cmp.Compare(x.Class, y.Class), cmp.Compare(x.Part, y.Part))
	})
	return m
}

// due says when to practise next, when the first of the kinds of thing has faded to the target, and what.
func (r *Report) due(p *PersonSkill, e *evidence, topics []answers) error {
	p.memory = r.memory(e, topics)
	w, err := p.memory.Week(r.At)
	if err != nil {
		return err
	}
	for _, x := range w.Practise {
		p.Practise = append(p.Practise, Practise{
			Class: x.Class, Part: x.Part, Found: x.Found, Trials: x.Trials,
			Says: fmt.Sprintf("%s on the %s: %d of %d found.", sentence(ClassWords[refdata.DetectionClass(x.Class)]), x.Part, x.Found, x.Trials),
		})
	}
	p.Due, p.DueNow, p.DueWeek, p.Questions = w.Due, w.DueNow, w.DueWeek, w.Topics
	for _, t := range w.Topics {
		when := "due on " + t.Due.Format("2 January")
		if t.DueNow {
			when = "due since " + t.Due.Format("2 January")
		}
		if t.DueWeek {
			p.QuestionsSay = append(p.QuestionsSay, fmt.Sprintf("Questions on %s: %s.", TopicWords[t.Topic], when))
		}
	}
	what := ClassWords[refdata.DetectionClass(w.Class)]
	switch {
	case w.Due == nil:
		p.DueSays = "No practice craft on record yet: begin with an easy one."
	case w.DueNow:
		p.DueSays = fmt.Sprintf("Due since %s, for %s.", w.Due.Format("2 January"), what)
	default:
		p.DueSays = fmt.Sprintf("Due on %s, for %s.", w.Due.Format("2 January"), what)
	}
	return nil
}

func (p *PersonSkill) sayAll() {
	named := slices.ContainsFunc(p.Classes, func(c PersonClass) bool { return c.Chance != nil })
	if !named {
		p.Says = append(p.Says, fmt.Sprintf("Too few objects to say anything yet: from %d of a kind on.", Least))
	}
	for _, x := range p.Practise {
		p.Says = append(p.Says, "Practise: "+x.Says)
	}
	p.Says = append(p.Says, p.DueSays)
}

func sentence(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
