package practice

import (
	"encoding/json"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"

	"thwart"
	"thwart/advice"
	"thwart/unit"
)

func quiz(t *testing.T, o QuizOrder) (Quiz, []key) {
	t.Helper()
	o.At = day
	q, err := Ask(o)
	if err != nil {
		t.Fatalf("%+v: %v", o, err)
	}
	var keys []key
	if err := unseal(q.ID, q.Sealed, &keys); err != nil {
		t.Fatal(err)
	}
	return q, keys
}

// Every published protocol gives questions whose one right answer is its own, and whose wrong ones differ from it.
func TestQuestionsOfEveryProtocol(t *testing.T) {
	topics := map[string]int{}
	for _, p := range advice.Protocols() {
		for seed := range uint64(4) {
			q, keys := quiz(t, QuizOrder{Seed: seed, ProtocolID: p.ID, Count: 16, US: seed%2 == 1})
			if len(q.Questions) < 8 {
				t.Errorf("%s seed %d: only %d questions", p.ID, seed, len(q.Questions))
			}
			for i, x := range q.Questions {
				topics[x.Topic]++
				if len(x.Options) < 3 && x.Topic != "who_decides" || len(x.Options) < 2 || keys[i].Right < 0 || keys[i].Why == "" {
					t.Errorf("%s seed %d: %+v key %+v", p.ID, seed, x, keys[i])
					continue
				}
				sorted := slices.Sorted(slices.Values(x.Options))
				if len(slices.Compact(sorted)) != len(x.Options) {
					t.Errorf("%s seed %d: an option stands twice: %q", p.ID, seed, x.Options)
				}
				right := x.Options[keys[i].Right]
				switch x.Topic {
				case "wash_heat":
					if !slices.ContainsFunc(p.Wash, func(w thwart.WashRow) bool {
						return strings.Contains(x.Text, partAt(w.Part, w.Risk)+":") &&
							(right == unit.Metric.Temp(w.TempC)+", "+string(measuredWords[w.Measured]) || right == unit.US.Temp(w.TempC)+", "+string(measuredWords[w.Measured]))
					}) {
						t.Errorf("%s: no line says %q to %q", p.ID, right, x.Text)
					}
				case "look_back":
					if p.LookBackDays == 0 && right != "for ever" || p.LookBackDays > 0 && right != days(p.LookBackDays) {
						t.Errorf("%s: looks back %v days, the answer is %q", p.ID, p.LookBackDays, right)
					}
				}
			}
		}
	}
	for _, name := range Topics {
		if topics[name] < 20 {
			t.Errorf("topic %s was asked %d times", name, topics[name])
		}
	}
}

// When the protocol changes, so does the answer.
func TestAnswersFollowTheProtocol(t *testing.T) {
	p, err := advice.ProtocolByID("own-rules")
	if err != nil {
		t.Fatal(err)
	}
	ask := func(p thwart.Protocol, topic, about string) string {
		for seed := range uint64(60) {
			q, keys := quiz(t, QuizOrder{Seed: seed, Protocol: &p, Count: 1, Topics: []string{topic}})
			if strings.Contains(q.Questions[0].Text, about) {
				return q.Questions[0].Options[keys[0].Right]
			}
		}
		t.Fatalf("%s never asks about %q", topic, about)
		return ""
	}
	if got := ask(p, "wash_heat", "ballast bag"); got != "48.9 °C, in the water that runs out" && !strings.HasPrefix(got, "48.9 °C") {
		t.Errorf("ballast: %q; the published table says 120 °F at exit", got)
	}
	for i := range p.Wash {
		if p.Wash[i].Part == thwart.PartBallast {
			p.Wash[i].TempC = 52
		}
	}
	if got := ask(p, "wash_heat", "ballast bag"); !strings.HasPrefix(got, "52 °C") {
		t.Errorf("ballast under a line of 52 °C: %q", got)
	}
	before := ask(p, "look_back", "")
	p.LookBackDays = 77
	if got := ask(p, "look_back", ""); got != "77 days" || got == before {
		t.Errorf("look-back of 77 days: %q", got)
	}
	// Under rules that let a film pass, a film counts as dry; under those that do not, it does not.
	film := func(water string) (answers []string) {
		p.Criteria.Water = water
		for seed := range uint64(200) {
			q, keys := quiz(t, QuizOrder{Seed: seed, Protocol: &p, Count: 1, Topics: []string{"drained"}})
			if strings.Contains(q.Questions[0].Text, "a film of water") && strings.Contains(q.Questions[0].Text, "dry?") {
				answers = append(answers, q.Questions[0].Options[keys[0].Right])
			}
		}
		return answers
	}
	strict, lax := film("none"), film("film")
	if len(strict) == 0 || slices.ContainsFunc(strict, func(s string) bool { return s != "No" }) {
		t.Errorf("where no water may stay a film gives %q", strict)
	}
	if len(lax) == 0 || !slices.Contains(lax, "Yes") {
		t.Errorf("where a film passes it gives %q", lax)
	}
}

func TestMark(t *testing.T) {
	q, keys := quiz(t, QuizOrder{Seed: 3, ProtocolID: "minnesota", Count: 10})
	right, wrong := make([]int, len(keys)), make([]int, len(keys))
	for i, k := range keys {
		right[i], wrong[i] = k.Right, -1
	}
	m, err := q.Mark(right)
	if err != nil || m.Right != m.Asked || m.Asked != len(q.Questions) {
		t.Errorf("all right: %+v, %v", m, err)
	}
	if m, err = q.Mark(wrong); err != nil || m.Right != 0 || m.Answers[0].Right == "" || m.Answers[0].Chosen != "" {
		t.Errorf("none answered: %+v, %v", m, err)
	}
	if _, err := q.Mark(right[1:]); err == nil {
		t.Error("too few answers are taken")
	}
	right[0] = 9
	if _, err := q.Mark(right); err == nil {
		t.Error("an option that is not there is taken")
	}
	b, err := json.Marshal(q)
	if err != nil {
		t.Fatal(err)
	}
	for _, k := range keys {
		if strings.Contains(string(b), k.Why) {
			t.Errorf("the quiz shows %q", k.Why)
		}
	}
	again, _ := quiz(t, QuizOrder{Seed: 3, ProtocolID: "minnesota", Count: 10})
	if !reflect.DeepEqual(q, again) {
		t.Error("not the same twice")
	}
	for _, o := range []QuizOrder{{Count: 0, At: day}, {Count: 31, At: day}, {Count: 3}, {Count: 3, At: day, Topics: []string{"knots"}}} {
		if _, err := Ask(o); err == nil {
			t.Errorf("%+v is taken", o)
		}
	}
}

func ExampleAsk() {
	q, err := Ask(QuizOrder{Seed: 5, ProtocolID: "regional-minimum", Count: 1, Topics: []string{"wash_heat"}, At: day})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(q.Questions[0].Text)
	m, err := q.Mark([]int{-1})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println("Right:", m.Answers[0].Right)
	// Output:
	// Hot water on a live well or bait well: how hot, measured where?
	// Right: 48.9 °C, on the surface or in the water that runs out
}
