package phone_test

import (
	"reflect"
	"testing"

	"thwart"
	"thwart/phone"
	"thwart/practice"
)

// A whole practice craft by the calls a phone makes: made, walked, scored, recorded; then a few questions.
func TestPracticeByCalls(t *testing.T) {
	e := phone.New()
	d := must[practice.DrillCraft](t, e, "drill", map[string]any{
		"seed": 11, "difficulty": 1, "protocolId": "own-rules", "at": "2026-07-04T09:00:00-03:00", "setup": map[string]any{"class": "runabout"},
	})
	owner := must[phone.DrillOwnerOut](t, e, "drill.owner", map[string]any{"drill": d})
	turn := practice.Turn{Outcome: thwart.Hold, PlugsOut: owner.PlugsOut, DriveLowered: owner.DriveLowered, Findings: []thwart.Finding{}}
	signs := 0
	for _, p := range d.Places {
		s := must[practice.Sight](t, e, "drill.look", map[string]any{"drill": d, "place": p.ID, "acts": p.Tasks})
		turn.Walk = append(turn.Walk, practice.Stop{Place: p.ID, Acts: p.Tasks, Wet: s.Wet, Seconds: 2})
		for range s.Signs {
			signs++
			turn.Findings = append(turn.Findings, thwart.Finding{Place: p.ID, Matter: thwart.MatterUnknown, Removed: thwart.RemovedNone})
		}
	}
	person := "01980d5e-6a00-7000-8000-000000000002"
	in := map[string]any{"drill": d, "turn": turn, "person": person, "startedAt": "2026-07-04T09:00:00-03:00", "endedAt": "2026-07-04T09:04:00-03:00"}
	got := must[phone.DrillScoreOut](t, e, "drill.score", in)
	if got.Score.Path.Done != len(d.Places) || got.Record.Person != person || got.Record.Validate() != nil {
		t.Errorf("%+v", got)
	}
	if marked := got.Score.Found + got.Score.FalseAlarms; marked == 0 && signs > 0 {
		t.Errorf("%d signs were marked and none counted", signs)
	}
	in["turn"] = practice.Turn{Outcome: "fine"}
	if _, errs, _ := ask(t, e, "drill.score", in); len(errs) == 0 || errs[0].Field != "outcome" {
		t.Errorf("a verdict that is none: %v", errs)
	}
	q := must[practice.Quiz](t, e, "questions", map[string]any{"seed": 1, "count": 4, "protocolId": "own-rules", "at": "2026-07-04T09:00:00-03:00"})
	m := must[phone.QuestionsMarkOut](t, e, "questions.mark", map[string]any{"quiz": q, "chosen": []int{0, 0, -1, 0}})
	if m.Marked.Asked != 4 || m.Marked.Answers[2].OK || m.Marked.Answers[2].Right == "" || m.Record != nil {
		t.Errorf("%+v", m)
	}
	alone := map[string]any{"quiz": q, "chosen": []int{0, 0, -1, 0}, "person": person, "startedAt": "2026-07-04T09:00:00-03:00", "endedAt": "2026-07-04T09:02:00-03:00"}
	if m := must[phone.QuestionsMarkOut](t, e, "questions.mark", alone); m.Record == nil || m.Record.QuestionsAsked != 4 || m.Record.QuestionsRight != m.Marked.Right || len(m.Record.Places) != 0 {
		t.Errorf("%+v", m.Record)
	}
	week := map[string]any{"drills": []thwart.Drill{}, "now": "2026-07-04T10:00:00-03:00"}
	if w := must[phone.DrillWeekOut](t, e, "drill.week", week); !w.Week.DueNow || w.Week.Due != nil {
		t.Errorf("nothing was practised: %+v", w.Week)
	}
	week["drills"] = []thwart.Drill{got.Record}
	w := must[phone.DrillWeekOut](t, e, "drill.week", week)
	if got.Score.Planted > 0 && (w.Week.Due == nil || w.Week.DueNow) {
		t.Errorf("practised an hour ago: %+v", w.Week)
	}
	week["memory"], week["drills"] = w.Memory, []thwart.Drill{}
	if again := must[phone.DrillWeekOut](t, e, "drill.week", week); !reflect.DeepEqual(again, w) {
		t.Errorf("from the memory %+v, from the drill %+v", again, w)
	}
	week["memory"] = practice.Memory{Target: 2}
	if _, errs, _ := ask(t, e, "drill.week", week); len(errs) == 0 || errs[0].Field != "target" {
		t.Errorf("a target above certainty: %v", errs)
	}
}
