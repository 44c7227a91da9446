package practice

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"time"

	"thwart"
	"thwart/engine/num"
	"thwart/tongue"
)

// Quiz is a set of questions on judgement, made from a protocol: when the protocol changes, so do the answers.
type Quiz struct {
	Version   int        `json:"version"`
	ID        string     `json:"id"`
	Seed      uint64     `json:"seed"`
	Protocol  string     `json:"protocol"` // id@version
	Questions []Question `json:"questions"`
	Sealed    string     `json:"sealed"`
}

// Question is one question with its answers to choose from; one is right.
type Question struct {
	N       int      `json:"n"`     // from 1
	Topic   string   `json:"topic"` // wash_heat, wash_time, wash_gauge, drained, verdict, dry_days, look_back, who_decides
	Text    string   `json:"text"`
	Options []string `json:"options"`
}

// QuizOrder says which questions are wanted.
type QuizOrder struct {
	Seed       uint64           `json:"seed"`
	ProtocolID string           `json:"protocolId,omitempty"`
	Protocol   *thwart.Protocol `json:"protocol,omitempty"`
	// Count from 1 to 30.
	Count int `json:"count"`
	// Topics to ask about; none = all.
	Topics []string `json:"topics,omitempty"`
	// First are topics asked about before the others, as far as the protocol has lines for them: see [Week.Ask].
	First []string `json:"first,omitempty"`
	// At is the day the questions play on.
	At time.Time `json:"at"`
	// US asks in °F and gallons; metric otherwise.
	US bool `json:"us,omitempty"`
}

// Topics lists what is asked about.
var Topics = []string{"wash_heat", "wash_time", "wash_gauge", "drained", "verdict", "dry_days", "look_back", "who_decides"}

// MaxQuestions is the longest quiz.
const MaxQuestions = 30

// asked is a question with its answer, before it is shuffled.
type asking struct {
	topic, text, right string
	wrong              []string
	why, source        string
	fixed              bool // the options have an order of their own
	options            []string
}

type key struct {
	Right  int    `json:"right"` // from 0
	Why    string `json:"why"`
	Source string `json:"source,omitempty"`
}

func (o *QuizOrder) check() error {
	var errs thwart.FieldErrors
	if o.Count < 1 || o.Count > MaxQuestions {
		errs = append(errs, thwart.FieldError{Field: "count", Value: fmt.Sprint(o.Count), Accepted: tongue.Say("1 to {n} questions", tongue.Int(MaxQuestions))})
	}
	if o.At.IsZero() {
		errs = append(errs, thwart.FieldError{Field: "at", Accepted: "the day the questions play on"})
	}
	for name, list := range map[string][]string{"topics": o.Topics, "first": o.First} {
		for i, t := range list {
			if !slices.Contains(Topics, t) {
				errs = append(errs, thwart.FieldError{Field: fmt.Sprintf("%s[%d]", name, i), Value: t, Accepted: fmt.Sprintf("one of %v", Topics)})
			}
		}
	}
	if errs != nil {
		return errs
	}
	return nil
}

// Ask makes a quiz. A protocol that has no line a topic could ask about is asked about the others; where no topic is left the
// answer is [thwart.FieldErrors].
func Ask(o QuizOrder) (Quiz, error) {
	if err := o.check(); err != nil {
		return Quiz{}, err
	}
	p, err := rules(o.Protocol, o.ProtocolID)
	if err != nil {
		return Quiz{}, err
	}
	id, err := digest(tongue.Say("quiz {n}", tongue.Int(Version)), o)
	if err != nil {
		return Quiz{}, err
	}
	a := &asker{order: &o, p: &p, r: num.Stream(o.Seed, "quiz "+id)}
	topics := o.Topics
	if len(topics) == 0 {
		topics = Topics
	}
	q := Quiz{Version: Version, ID: id, Seed: o.Seed, Protocol: p.ID + "@" + p.Version, Questions: []Question{}}
	var keys []key
	seen := map[string]bool{}
	for _, turn := range [][]string{o.First, topics} {
		for try := 0; len(turn) > 0 && len(q.Questions) < o.Count && try < 40*o.Count; try++ {
			x, err := a.one(turn[(try+int(o.Seed%8))%len(turn)])
			if err != nil {
				return Quiz{}, err
			}
			if x == nil || seen[x.text] {
				continue
			}
			seen[x.text] = true
			options, right := x.shuffled(a.r)
			q.Questions = append(q.Questions, Question{N: len(q.Questions) + 1, Topic: x.topic, Text: x.text, Options: options})
			keys = append(keys, key{right, x.why, x.source})
		}
	}
	if len(q.Questions) == 0 {
		return Quiz{}, thwart.FieldErrors{{Field: "topics", Value: fmt.Sprint(topics), Accepted: "a topic this protocol has a line for"}}
	}
	q.Sealed, err = seal(id, keys)
	return q, err
}

// MostOptions is how many answers a question offers at most.
const MostOptions = 4

func (x *asking) shuffled(r *rand.Rand) (options []string, right int) {
	if x.fixed {
		return x.options, slices.Index(x.options, x.right)
	}
	options = append([]string{x.right}, x.wrong[:min(len(x.wrong), MostOptions-1)]...)
	r.Shuffle(len(options), func(i, k int) { options[i], options[k] = options[k], options[i] })
	return options, slices.Index(options, x.right)
}

// Marked is what came of a quiz.
type Marked struct {
	Quiz    string          `json:"quiz"`
	Right   int             `json:"right"`
	Asked   int             `json:"asked"`
	Answers []MarkedAnswer  `json:"answers"`
	ByTopic map[string]Tale `json:"byTopic"`
}

// Tale counts right answers of those asked.
type Tale = num.Count

// MarkedAnswer is one answer with what is right and why.
type MarkedAnswer struct {
	N      int    `json:"n"`
	Topic  string `json:"topic"`
	Chosen string `json:"chosen"` // empty: none
	Right  string `json:"right"`
	OK     bool   `json:"ok"`
	Why    string `json:"why"`
	Source string `json:"source,omitempty"`
}

// Mark judges answers: for each question the number of the option from 0, or -1 for none.
func (q *Quiz) Mark(chosen []int) (Marked, error) {
	if q.Version != Version {
		return Marked{}, thwart.FieldErrors{{Field: "version", Value: fmt.Sprint(q.Version), Accepted: tongue.Say("{n}, the version of quizzes this program knows", tongue.Int(Version))}}
	}
	var keys []key
	if err := unseal(q.ID, q.Sealed, &keys); err != nil {
		return Marked{}, err
	}
	if len(chosen) != len(q.Questions) || len(keys) != len(q.Questions) {
		return Marked{}, thwart.FieldErrors{{Field: "chosen", Value: tongue.Say("{n} answers", tongue.Int(len(chosen))), Accepted: tongue.Say("{n}, one for each question, -1 for none", tongue.Int(len(q.Questions)))}}
	}
	m := Marked{Quiz: q.ID, Asked: len(chosen), ByTopic: map[string]Tale{}}
	for i, c := range chosen {
		x := &q.Questions[i]
		if c < -1 || c >= len(x.Options) || keys[i].Right < 0 || keys[i].Right >= len(x.Options) {
			return Marked{}, thwart.FieldErrors{{Field: fmt.Sprintf("chosen[%d]", i), Value: fmt.Sprint(c), Accepted: tongue.Say("-1 to {n}", tongue.Int(len(x.Options)-1))}}
		}
		a := MarkedAnswer{N: x.N, Topic: x.Topic, Right: x.Options[keys[i].Right], OK: c == keys[i].Right, Why: keys[i].Why, Source: keys[i].Source}
		if c >= 0 {
			a.Chosen = x.Options[c]
		}
		one := Tale{N: 1}
		if a.OK {
			m.Right++
			one.X = 1
		}
		m.ByTopic[x.Topic] = m.ByTopic[x.Topic].Plus(one)
		m.Answers = append(m.Answers, a)
	}
	return m, nil
}
