package practice

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"thwart"
	"thwart/engine/recall"
	"thwart/refdata"
)

// Memory is what is kept of one person's practice: enough to make her next drill and to say when it is due, without the
// records themselves. A phone gets it from the server and adds its own drills with [Memory.With].
type Memory struct {
	// Weights of the spacing, fitted to everybody's practice, and the chance of finding below which somebody is due.
	Weights recall.Weights `json:"weights"`
	Target  float64        `json:"target"` // above 0 and below 1
	Learned []Learned      `json:"learned"`
	Weak    []Weak         `json:"weak"`
	// TopicWeights are those of questions, fitted to everybody's answers; all zero = [recall.Start].
	TopicWeights recall.Weights `json:"topicWeights,omitzero"`
	Topics       []TopicLearned `json:"topics,omitempty"`
}

// TopicLearned is one topic that questions were about.
type TopicLearned struct {
	Topic string    `json:"topic"`
	Last  time.Time `json:"last"`
	Right int       `json:"right"`
	Wrong int       `json:"wrong"`
}

// Learned is one kind of thing that was practised on screen.
type Learned struct {
	Class  string    `json:"class"`
	Last   time.Time `json:"last"`
	Found  int       `json:"found"`
	Missed int       `json:"missed"`
}

// Week says what to practise, and whether in the seven days to come.
type Week struct {
	Due     *time.Time `json:"due,omitempty"`   // absent: nothing was practised yet
	Class   string     `json:"class,omitempty"` // what fades first
	DueNow  bool       `json:"dueNow"`          // the day has come, or nothing was practised yet
	DueWeek bool       `json:"dueWeek"`
	// Practise lists kinds of place where more was missed than the target allows, most misses first. Three at most.
	Practise []Weak `json:"practise"`
	// Topics says when questions of each topic that was asked about are due again, the first due first.
	Topics []TopicDue `json:"topics"`
	// Ask lists the topics to be asked about first: those due within the seven days, then those never asked about.
	Ask []string `json:"ask"`
}

// TopicDue is when questions of one topic are due again.
type TopicDue struct {
	Topic   string    `json:"topic"`
	Due     time.Time `json:"due"`
	DueNow  bool      `json:"dueNow"`
	DueWeek bool      `json:"dueWeek"`
}

// ThingsToPractise is how many kinds of place a week names at most.
const ThingsToPractise = 3

// Trained are the kinds of thing that skill bears on. What hides in water or mud is no matter of skill.
var Trained = []refdata.DetectionClass{refdata.PlantsSeen, refdata.SmallFelt, refdata.WaterSeen}

// Start is the memory of somebody of whom nothing is known.
func Start(target float64) Memory {
	return Memory{Weights: recall.Start, Target: target, Learned: []Learned{}, Weak: []Weak{}}
}

// With gives the memory with one more drill. The receiver stays as it was.
func (m Memory) With(d *thwart.Drill) Memory {
	m.Learned, m.Weak, m.Topics = slices.Clone(m.Learned), slices.Clone(m.Weak), slices.Clone(m.Topics)
	for _, t := range d.Topics {
		m.answered(t, d.EndedAt)
	}
	for _, p := range d.Places {
		if !p.Object || !slices.Contains(Trained, refdata.DetectionClass(p.Like)) {
			continue
		}
		found := 0
		if p.Answered == thwart.Yes {
			found = 1
		}
		m.learn(p.Like, d.EndedAt, found)
		if row := refdata.PlaceRowOf(p.Place); row != nil {
			m.Weak = AddWeak(m.Weak, Weak{Class: p.Like, Part: thwart.Part(row.Part), Found: found, Trials: 1})
		}
	}
	return m
}

func (m *Memory) answered(t thwart.TopicAsked, at time.Time) {
	if !slices.Contains(Topics, t.Topic) {
		return // of a newer program
	}
	k := slices.IndexFunc(m.Topics, func(l TopicLearned) bool { return l.Topic == t.Topic })
	if k < 0 {
		k = len(m.Topics)
		m.Topics = append(m.Topics, TopicLearned{Topic: t.Topic})
	}
	l := &m.Topics[k]
	if at.After(l.Last) {
		l.Last = at
	}
	l.Right += t.Right
	l.Wrong += t.Asked - t.Right
}

func (m *Memory) learn(class string, at time.Time, found int) {
	k := slices.IndexFunc(m.Learned, func(l Learned) bool { return l.Class == class })
	if k < 0 {
		k = len(m.Learned)
		m.Learned = append(m.Learned, Learned{Class: class})
	}
	l := &m.Learned[k]
	if at.After(l.Last) {
		l.Last = at
	}
	l.Found += found
	l.Missed += 1 - found
}

// Week works out what is due. A target or a count that cannot be gives [thwart.FieldErrors].
func (m Memory) Week(now time.Time) (Week, error) {
	if err := m.check(now); err != nil {
		return Week{}, err
	}
	out := Week{Practise: m.practise()}
	for _, l := range m.Learned {
		at, err := m.Weights.Due(l.Last, l.Found, l.Missed, m.Target)
		if err != nil {
			return Week{}, err
		}
		if at = at.Truncate(time.Minute); out.Due == nil || at.Before(*out.Due) {
			out.Due, out.Class = &at, l.Class
		}
	}
	out.DueNow = out.Due == nil || !out.Due.After(now)
	out.DueWeek = out.Due == nil || out.Due.Before(now.AddDate(0, 0, 7))
	var err error
	out.Topics, out.Ask, err = m.questions(now)
	return out, err
}

// questions works out when each topic is due by the law that spaces practice craft, and which to ask about first.
func (m Memory) questions(now time.Time) (due []TopicDue, ask []string, err error) {
	w := m.TopicWeights
	if w == (recall.Weights{}) {
		w = recall.Start
	}
	due, ask = []TopicDue{}, []string{}
	for _, l := range m.Topics {
		at, err := w.Due(l.Last, l.Right, l.Wrong, m.Target)
		if err != nil {
			return nil, nil, err
		}
		at = at.Truncate(time.Minute)
		due = append(due, TopicDue{Topic: l.Topic, Due: at, DueNow: !at.After(now), DueWeek: at.Before(now.AddDate(0, 0, 7))})
	}
	slices.SortFunc(due, func(x, y TopicDue) int { return cmp.Or(x.Due.Compare(y.Due), cmp.Compare(x.Topic, y.Topic)) })
	for _, t := range due {
		if t.DueWeek {
			ask = append(ask, t.Topic)
		}
	}
	for _, topic := range Topics {
		if !slices.ContainsFunc(m.Topics, func(l TopicLearned) bool { return l.Topic == topic }) {
			ask = append(ask, topic)
		}
	}
	return due, ask, nil
}

func (m Memory) check(now time.Time) error {
	var errs thwart.FieldErrors
	if !(m.Target > 0 && m.Target < 1) {
		errs = append(errs, thwart.FieldError{Field: "target", Value: fmt.Sprint(m.Target), Accepted: "above 0 and below 1"})
	}
	if now.IsZero() {
		errs = append(errs, thwart.FieldError{Field: "now", Accepted: "the time for which it is asked"})
	}
	for i, l := range m.Learned {
		if l.Found < 0 || l.Missed < 0 || l.Last.IsZero() {
			errs = append(errs, thwart.FieldError{Field: fmt.Sprintf("learned[%d]", i), Value: fmt.Sprintf("%d found, %d missed", l.Found, l.Missed), Accepted: "a day, and counts from 0"})
		}
	}
	for i, l := range m.Topics {
		if l.Right < 0 || l.Wrong < 0 || l.Last.IsZero() {
			errs = append(errs, thwart.FieldError{Field: fmt.Sprintf("topics[%d]", i), Value: fmt.Sprintf("%d right, %d wrong", l.Right, l.Wrong), Accepted: "a day, and counts from 0"})
		}
	}
	for i, w := range m.Weak {
		if w.Found < 0 || w.Found > w.Trials {
			errs = append(errs, thwart.FieldError{Field: fmt.Sprintf("weak[%d].found", i), Value: fmt.Sprintf("%d of %d", w.Found, w.Trials), Accepted: "found between 0 and trials"})
		}
	}
	if errs != nil {
		return errs
	}
	return nil
}

func (m Memory) practise() []Weak {
	out := []Weak{}
	for _, w := range m.Weak {
		if w.Part != "" && w.Trials > w.Found && float64(w.Found) < m.Target*float64(w.Trials) {
			out = append(out, w)
		}
	}
	slices.SortFunc(out, func(x, y Weak) int {
		return cmp.Or(cmp.Compare(y.Trials-y.Found, x.Trials-x.Found), cmp.Compare(x.Class, y.Class), cmp.Compare(x.Part, y.Part))
	})
	return out[:min(len(out), ThingsToPractise)]
}
