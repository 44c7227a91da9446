//go:build !ramp

// Practice is left out of the program that every phone loads at the ramp (build tag ramp): it is in practice.wasm, which is
// loaded when somebody practises.

package phone

import (
	"time"

	"thwart"
	"thwart/practice"
)

func init() {
	// A practice craft: its places and what the owner says. What is on it is sealed.
	pure("drill", practice.Make)
	// What one place of a practice craft shows to what is done there.
	pure("drill.look", drillLook)
	// What is seen of plugs and drive of a practice craft.
	pure("drill.owner", drillOwner)
	// What was found and missed, the verdicts compared, the debrief, and the record to keep.
	pure("drill.score", drillScore)
	// What is due to be practised, from what the server last said and the drills made since.
	pure("drill.week", drillWeek)
	// Questions of judgement, made from the protocol in force. The answers are sealed.
	pure("questions", practice.Ask)
	// Which answers were right, and why; and the record to keep of questions asked alone.
	pure("questions.mark", questionsMark)
}

// DrillLookIn is a place of a practice craft and what is done there.
type DrillLookIn struct {
	Drill practice.DrillCraft `json:"drill"`
	Place string              `json:"place"`
	Acts  []thwart.Task       `json:"acts"`
}

func drillLook(in DrillLookIn) (practice.Sight, error) { return in.Drill.Look(in.Place, in.Acts) }

// PracticeIn is a practice craft.
type PracticeIn struct {
	Drill practice.DrillCraft `json:"drill"`
}

// DrillOwnerOut is what is seen of plugs and drive.
type DrillOwnerOut struct {
	PlugsOut     thwart.Answer `json:"plugsOut"`
	DriveLowered thwart.Answer `json:"driveLowered"`
}

func drillOwner(in PracticeIn) (DrillOwnerOut, error) {
	out, low, err := in.Drill.AskOwner()
	return DrillOwnerOut{PlugsOut: out, DriveLowered: low}, err
}

// DrillScoreIn is a practice craft and what the trainee did with it. Questions may have been asked along with it.
type DrillScoreIn struct {
	Drill     practice.DrillCraft `json:"drill"`
	Turn      practice.Turn       `json:"turn"`
	Quiz      *practice.Quiz      `json:"quiz,omitempty"`
	Chosen    []int               `json:"chosen,omitempty"` // for each question the number of the option from 0, or -1
	Person    string              `json:"person"`           // who practised
	StartedAt time.Time           `json:"startedAt"`
	EndedAt   time.Time           `json:"endedAt"`
}

// DrillScoreOut is the score out of 100, what it is made of, and the record for the programme.
type DrillScoreOut struct {
	Points float64          `json:"points"`
	Score  practice.Score   `json:"score"`
	Marked *practice.Marked `json:"marked,omitempty"`
	Record thwart.Drill     `json:"record"`
}

func drillScore(in DrillScoreIn) (DrillScoreOut, error) {
	s, err := in.Drill.Score(in.Turn)
	if err != nil {
		return DrillScoreOut{}, err
	}
	out := DrillScoreOut{Points: s.Points(), Score: s}
	if in.Quiz != nil {
		m, err := in.Quiz.Mark(in.Chosen)
		if err != nil {
			return DrillScoreOut{}, err
		}
		out.Marked = &m
	}
	out.Record = in.Drill.Record(&in.Turn, &s, out.Marked, in.Person, in.StartedAt, in.EndedAt)
	return out, out.Record.Validate()
}

// DrillWeekIn is what the server last said of somebody's practice, and the drills that were made since. Without the first,
// nothing is known but the drills.
type DrillWeekIn struct {
	Memory *practice.Memory `json:"memory,omitempty"`
	Drills []thwart.Drill   `json:"drills"`
	Now    time.Time        `json:"now"`
}

// DrillWeekOut is what is due, and the memory with those drills.
type DrillWeekOut struct {
	Memory practice.Memory `json:"memory"`
	Week   practice.Week   `json:"week"`
}

// startTarget is the chance of finding below which somebody practises, where no server has said another.
const startTarget = 0.8

func drillWeek(in DrillWeekIn) (DrillWeekOut, error) {
	out := DrillWeekOut{Memory: practice.Start(startTarget)}
	if in.Memory != nil {
		out.Memory = *in.Memory
	}
	for i := range in.Drills {
		out.Memory = out.Memory.With(&in.Drills[i])
	}
	var err error
	out.Week, err = out.Memory.Week(in.Now)
	return out, err
}

// QuestionsMarkIn is a set of questions and the options chosen. Person and times are for the record.
type QuestionsMarkIn struct {
	Quiz      practice.Quiz `json:"quiz"`
	Chosen    []int         `json:"chosen"` // for each question the number of the option from 0, or -1
	Person    string        `json:"person,omitempty"`
	StartedAt time.Time     `json:"startedAt,omitzero"`
	EndedAt   time.Time     `json:"endedAt,omitzero"`
}

// QuestionsMarkOut is what was right, and the record for the programme where a person was named.
type QuestionsMarkOut struct {
	Marked practice.Marked `json:"marked"`
	Record *thwart.Drill   `json:"record,omitempty"`
}

func questionsMark(in QuestionsMarkIn) (QuestionsMarkOut, error) {
	m, err := in.Quiz.Mark(in.Chosen)
	if err != nil || in.Person == "" {
		return QuestionsMarkOut{Marked: m}, err
	}
	rec := in.Quiz.Record(&m, in.Person, in.StartedAt, in.EndedAt)
	return QuestionsMarkOut{Marked: m, Record: &rec}, rec.Validate()
}
