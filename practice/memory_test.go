package practice_test

import (
	"errors"
	"math"
	"reflect"
	"slices"
	"testing"
	"time"

	"thwart"
	"thwart/engine/recall"
	"thwart/practice"
)

var monday = time.Date(2026, 7, 6, 9, 0, 0, 0, time.UTC)

// looked is a drill in which so many of five small animals on the hull were found.
func looked(at time.Time, found int) *thwart.Drill {
	d := &thwart.Drill{EndedAt: at}
	for i := range 5 {
		answered := thwart.No
		if i < found {
			answered = thwart.Yes
		}
		d.Places = append(d.Places, thwart.DrillPlace{Place: "hull.bow_eye", Object: true, Like: "small_felt", Answered: answered})
	}
	return d
}

func TestWeek(t *testing.T) {
	m := practice.Start(0.8)
	w, err := m.Week(monday)
	if err != nil || !w.DueNow || !w.DueWeek || w.Due != nil || len(w.Practise) != 0 {
		t.Fatalf("of somebody new: %+v %v", w, err)
	}
	one := m.With(looked(monday, 2))
	if len(m.Learned) != 0 || len(m.Weak) != 0 {
		t.Error("the memory before was changed")
	}
	if w, err = one.Week(monday.Add(time.Hour)); err != nil {
		t.Fatal(err)
	}
	// By hand, from the published law: 2^(4 + 0.25·√3 − 0.25·√4) days is the half-life, and after h·log2(1/0.8) of it is due.
	days := math.Exp2(4+0.25*math.Sqrt(3)-0.25*math.Sqrt(4)) * math.Log2(1/0.8)
	if want := monday.Add(time.Duration(days * 24 * float64(time.Hour))).Truncate(time.Minute); w.Due == nil || !w.Due.Equal(want) || w.DueNow || w.Class != "small_felt" {
		t.Errorf("due %v, by hand %v: %+v", w.Due, want, w)
	}
	if want := []practice.Weak{{Class: "small_felt", Part: thwart.PartHull, Found: 2, Trials: 5}}; !reflect.DeepEqual(w.Practise, want) {
		t.Errorf("%+v", w.Practise)
	}
	for _, after := range []int{1, 8} {
		got, err := one.Week(w.Due.AddDate(0, 0, -after))
		if err != nil || got.DueNow || got.DueWeek != (after < 7) {
			t.Errorf("%d days before: %+v %v", after, got, err)
		}
	}
	if got, err := one.Week(*w.Due); err != nil || !got.DueNow {
		t.Errorf("on the day: %+v %v", got, err)
	}
	better, err := one.With(looked(monday.AddDate(0, 0, 1), 5)).Week(monday.AddDate(0, 0, 1))
	if err != nil || !better.Due.After(*w.Due) {
		t.Errorf("practised again and better, due %v, before %v %v", better.Due, w.Due, err)
	}
	all, err := one.With(looked(monday, 5)).With(looked(monday, 5)).With(looked(monday, 5)).Week(monday)
	if err != nil || len(all.Practise) != 0 {
		t.Errorf("17 of 20 is above the target: %+v %v", all.Practise, err)
	}
}

// Questions of a topic are due by the same law as practice craft, topic by topic.
func TestQuestionsAreDueByTopic(t *testing.T) {
	heat := func(at time.Time, right, asked int) *thwart.Drill {
		return &thwart.Drill{EndedAt: at, QuestionsAsked: asked, QuestionsRight: right, Topics: []thwart.TopicAsked{{Topic: "wash_heat", Asked: asked, Right: right}}}
	}
	first, err := practice.Start(0.8).Week(monday)
	if err != nil || len(first.Topics) != 0 || !reflect.DeepEqual(first.Ask, practice.Topics) {
		t.Fatalf("of somebody new: %+v %v", first, err)
	}
	m := practice.Start(0.8).With(heat(monday, 1, 3)).With(&thwart.Drill{EndedAt: monday, Topics: []thwart.TopicAsked{{Topic: "of_a_newer_program", Asked: 1}}})
	w, err := m.Week(monday.Add(time.Hour))
	if err != nil || len(w.Topics) != 1 {
		t.Fatalf("%+v %v", w, err)
	}
	// By hand, from the published law: 1 right and 2 wrong give a half-life of 2^(4 + 0.25·√2 − 0.25·√3) days.
	days := math.Exp2(4+0.25*math.Sqrt(2)-0.25*math.Sqrt(3)) * math.Log2(1/0.8)
	want := practice.TopicDue{Topic: "wash_heat", Due: monday.Add(time.Duration(days * 24 * float64(time.Hour))).Truncate(time.Minute), DueWeek: true}
	if w.Topics[0] != want || w.Due != nil {
		t.Errorf("%+v, by hand %+v", w, want)
	}
	if w.Ask[0] != "wash_heat" || len(w.Ask) != len(practice.Topics) {
		t.Errorf("due this week and never asked: %v", w.Ask)
	}
	better, err := m.With(heat(monday.AddDate(0, 0, 1), 6, 6)).Week(monday.AddDate(0, 0, 1))
	if err != nil || !better.Topics[0].Due.After(want.Due) {
		t.Errorf("asked again and better: %+v %v", better, err)
	}
	own := m
	own.TopicWeights = recall.Weights{Bias: 6}
	slow, err := own.Week(monday)
	// A half-life of 64 days is due after 64·log2(1/0.8) = 20.6 of them: not this week, so it is not among what is asked first.
	if err != nil || slow.Topics[0].Due.Sub(monday).Hours() < 20*24 || slow.Topics[0].DueWeek || slices.Contains(slow.Ask, "wash_heat") {
		t.Errorf("by the weights of questions: %+v %v", slow, err)
	}
	past, err := m.Week(want.Due)
	if err != nil || !past.Topics[0].DueNow {
		t.Errorf("on the day: %+v %v", past, err)
	}
}

// What is due is asked first; where the rules have no line for it, the others are asked.
func TestDueTopicsAreAskedFirst(t *testing.T) {
	q, err := practice.Ask(practice.QuizOrder{Seed: 5, ProtocolID: "regional-minimum", Count: 8, First: []string{"dry_days"}, At: monday})
	if err != nil || len(q.Questions) != 8 || q.Questions[0].Topic != "dry_days" {
		t.Fatalf("%+v %v", q.Questions, err)
	}
	others := false
	for i, x := range q.Questions {
		others = others || x.Topic != "dry_days"
		if others && x.Topic == "dry_days" && q.Questions[i-1].Topic == "dry_days" {
			t.Errorf("%d comes late", i)
		}
	}
	_, err = practice.Ask(practice.QuizOrder{Count: 2, First: []string{"weather"}, ProtocolID: "regional-minimum", At: monday})
	var errs thwart.FieldErrors
	if !errors.As(err, &errs) || errs[0].Field != "first[0]" {
		t.Errorf("%v", err)
	}
}

// What nothing was said of, questions alone and things that are no matter of skill leave the memory as it is.
func TestMemoryLeavesOut(t *testing.T) {
	m := practice.Start(0.8)
	for name, d := range map[string]*thwart.Drill{
		"questions alone": {EndedAt: monday, QuestionsAsked: 6},
		"nothing there":   {EndedAt: monday, Places: []thwart.DrillPlace{{Place: "hull.bow_eye", Answered: thwart.Yes}}},
		"hidden in mud":   {EndedAt: monday, Places: []thwart.DrillPlace{{Place: "hull.bow_eye", Object: true, Like: "hidden_in_mud"}}},
	} {
		if got := m.With(d); len(got.Learned)+len(got.Weak) != 0 {
			t.Errorf("%s: %+v", name, got)
		}
	}
}

func TestWeekRefuses(t *testing.T) {
	for field, m := range map[string]practice.Memory{
		"target":        {Weights: recall.Start, Target: 1},
		"learned[0]":    {Weights: recall.Start, Target: 0.8, Learned: []practice.Learned{{Class: "small_felt", Last: monday, Found: -1}}},
		"topics[0]":     {Weights: recall.Start, Target: 0.8, Topics: []practice.TopicLearned{{Topic: "verdict", Right: 1}}},
		"weak[0].found": {Weights: recall.Start, Target: 0.8, Weak: []practice.Weak{{Class: "small_felt", Found: 3, Trials: 2}}},
	} {
		_, err := m.Week(monday)
		var errs thwart.FieldErrors
		if !errors.As(err, &errs) || errs[0].Field != field {
			t.Errorf("%s: %v", field, err)
		}
	}
	m := practice.Start(0.8)
	if _, err := m.Week(time.Time{}); err == nil {
		t.Error("no time was taken for one")
	}
}
