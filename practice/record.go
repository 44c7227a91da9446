package practice

import (
	"math"
	"slices"
	"strconv"
	"time"

	"thwart"
)

// Points is a score out of 100: 60 for what was found, 20 for places given all they ask for, 20 for the right verdict, less 10
// for each false alarm. A verdict milder than the craft needed gives at most 50, however much was found. Common practice, no
// source.
func (s *Score) Points() float64 {
	p := 60.0
	if s.Planted > 0 {
		p = 60 * float64(s.Found) / float64(s.Planted)
	}
	if s.Path.Places > 0 {
		p += 20 * float64(s.Path.Done) / float64(s.Path.Places)
	}
	if s.Verdict.Agrees {
		p += 20
	}
	p = math.Max(0, p-10*float64(s.FalseAlarms))
	if !s.Verdict.Safe {
		p = math.Min(p, 50)
	}
	return math.Round(p)
}

// Record turns marked questions, asked without a practice craft, into what the programme keeps of them.
func (q *Quiz) Record(m *Marked, person string, started, ended time.Time) thwart.Drill {
	out := thwart.Drill{
		Person: person, Seed: int64(q.Seed & (1<<53 - 1)), StartedAt: started, EndedAt: ended, Places: []thwart.DrillPlace{},
		QuestionsAsked: m.Asked, QuestionsRight: m.Right, Topics: m.topics(),
	}
	if m.Asked > 0 {
		out.Score = math.Round(100 * float64(m.Right) / float64(m.Asked))
	}
	return out
}

// topics counts the questions by what they were about, in the order of [Topics].
func (m *Marked) topics() (out []thwart.TopicAsked) {
	for _, topic := range Topics {
		if n := m.ByTopic[topic]; n.N > 0 {
			out = append(out, thwart.TopicAsked{Topic: topic, Asked: n.N, Right: n.X})
		}
	}
	return out
}

// Record turns a scored drill into what the programme keeps of it. quiz may be nil.
func (d *DrillCraft) Record(t *Turn, s *Score, quiz *Marked, person string, started, ended time.Time) thwart.Drill {
	out := thwart.Drill{
		Person: person, Seed: int64(d.Order.Seed & (1<<53 - 1)), Difficulty: strconv.Itoa(d.Order.Difficulty), Setup: d.Order.Setup.Class,
		StartedAt: started, EndedAt: ended, VerdictGiven: s.Verdict.Yours, VerdictRight: s.Verdict.Right, Score: s.Points(),
	}
	if quiz != nil {
		out.QuestionsAsked, out.QuestionsRight, out.Topics = quiz.Asked, quiz.Right, quiz.topics()
	}
	seconds := map[string]float64{}
	for _, w := range t.Walk {
		seconds[w.Place] += w.Seconds
	}
	for i := range d.Places {
		p := &d.Places[i]
		row := thwart.DrillPlace{Place: p.ID, Seconds: math.Min(14400, seconds[p.ID])}
		_, visited := seconds[p.ID]
		if k := slices.IndexFunc(s.Items, func(it ItemScore) bool { return it.Place == p.ID }); k >= 0 {
			row.Object, row.Like = true, s.Items[k].Class
			if visited || s.Items[k].Found {
				row.Answered = yesNo(s.Items[k].Found)
			}
		} else if visited {
			row.Answered = yesNo(slices.ContainsFunc(s.Alarms, func(a AlarmScore) bool { return a.Place == p.ID }))
		}
		out.Places = append(out.Places, row)
	}
	return out
}
