// Package waiting asks how long craft wait at a launch on a kind of day: the season's fitted arrivals by the hour and the time that
// looks and washes took become the input of [thwart/engine/queue].
package waiting

import (
	"cmp"
	"fmt"

	"thwart"
	"thwart/engine/num"
	"thwart/engine/queue"
	"thwart/season"
	"thwart/season/flows"
)

// Question asks for the waits at a launch.
type Question struct {
	Launch      string  // id; empty = the busiest
	Day         string  // weekday, weekend, holiday; empty = weekend
	Times       float64 // arrivals times this, such as 2 for a day twice as busy as usual; 0 = 1
	From, To    int     // hours of the day; both 0 = 6 to 20
	Stewards    []int   // by hour, or one number for all; nil = 1
	Bays        int     // wash bays beside the launch; 0 = those that fail go elsewhere
	TargetMin   float64 // 0 = 10
	Share       float64 // of those who come that wait at most the target; 0 = 0.95
	PatienceMin float64 // mean time until someone waiting drives away; 0 = nobody does
	MaxWaiting  int     // craft waiting beyond which who comes is turned away; 0 = no limit
	Seed        uint64
}

// LookTime is how long looks took.
type LookTime struct {
	Class   string  `json:"class"`
	Share   float64 `json:"share" doc:"of those that come"`
	Minutes float64 `json:"minutes" doc:"mean of a look that ends well"`
	CV2     float64 `json:"cv2" doc:"squared coefficient of variation"`
	Fail    float64 `json:"fail" doc:"share that does not simply leave; with bays, share that has to be washed"`
	Failing float64 `json:"failingMinutes" doc:"mean of a look that ends otherwise"`
	Looks   int     `json:"looks" doc:"timed looks behind it; few are drawn to all classes"`
}

// Staffing is what a crew of so many makes of the day.
type Staffing struct {
	Stewards int `json:"stewards"`
	// Grows: in the busiest hour more come than can be served.
	Grows       bool         `json:"grows"`
	Words       string       `json:"words,omitempty"`
	Utilisation float64      `json:"utilisation" doc:"in the busiest hour; 1 or more: the queue grows without limit while it lasts"`
	PersonHours float64      `json:"personHours"`
	WaitMin     num.Interval `json:"waitMin" doc:"mean, with 99 % for the luck of the simulation"`
	MedianMin   float64      `json:"medianMin"`
	P95Min      float64      `json:"p95Min"`
	Late        num.Interval `json:"late" doc:"share that waits longer than the target, drives away or is turned away"`
	Left        float64      `json:"left" doc:"craft a day that drive away"`
	TurnedAway  float64      `json:"turnedAway" doc:"craft a day"`
	OvertimeMin float64      `json:"overtimeMin"`
	Keeps       bool         `json:"keeps" doc:"the goal"`
}

// HourRate is the craft that come in an hour.
type HourRate struct {
	Hour     int          `json:"hour"`
	Arrivals num.Interval `json:"arrivals"`
}

// WaitReport is the answer.
type WaitReport struct {
	Launch    flows.Site       `json:"launch"`
	Day       string           `json:"day"`
	Times     float64          `json:"times"`
	TargetMin float64          `json:"targetMin"`
	Share     float64          `json:"share"`
	Rates     []HourRate       `json:"rates"`
	Looks     []LookTime       `json:"looks"`
	WashMin   float64          `json:"washMinutes" doc:"mean of a wash; 0 where none was timed"`
	Washes    int              `json:"washes" doc:"timed"`
	Staffings []Staffing       `json:"staffings" doc:"the same crew all day"`
	Smallest  []int            `json:"smallest" doc:"fewest people by hour that keep the goal, as far as taking away one by one finds; empty where none do"`
	SmallLate float64          `json:"smallestLate" doc:"share that it leaves late"`
	Why       string           `json:"why,omitempty" doc:"that there is no such crew"`
	Stewards  []int            `json:"stewards" doc:"by hour, of the day shown"`
	Shown     queue.RampResult `json:"shown" doc:"the day with these stewards, by hour and craft by craft"`
	Sentence  string           `json:"sentence"`
	Assumed   []string         `json:"assumed"`
	Warnings  []string         `json:"warnings"`
}

func (q *Question) fill() error {
	var errs thwart.FieldErrors
	q.Day = cmp.Or(q.Day, season.Free.String())
	if _, ok := dayType(q.Day); !ok {
		errs.Add("day", q.Day, "weekday, weekend or holiday")
	}
	if q.From == 0 && q.To == 0 {
		q.From, q.To = 6, 20
	}
	q.Times, q.TargetMin, q.Share = cmp.Or(q.Times, 1), cmp.Or(q.TargetMin, 10), cmp.Or(q.Share, 0.95)
	if len(q.Stewards) == 0 {
		q.Stewards = []int{1}
	}
	errs.Within("from", float64(q.From), 0, 23)
	errs.Within("to", float64(q.To), float64(q.From+1), 24)
	errs.Within("times", q.Times, 0.01, 20)
	errs.Within("targetMin", q.TargetMin, 0.1, 240)
	errs.Within("share", q.Share, 0.5, 0.999)
	errs.Within("bays", float64(q.Bays), 0, 20)
	errs.Within("patienceMin", q.PatienceMin, 0, 1000)
	errs.Within("maxWaiting", float64(q.MaxWaiting), 0, 1000)
	for _, n := range q.Stewards {
		errs.Within("stewards", float64(n), 0, 20)
	}
	hours := q.To - q.From
	if len(q.Stewards) == 1 && hours > 0 {
		all := make([]int, hours)
		for h := range all {
			all[h] = q.Stewards[0]
		}
		q.Stewards = all
	}
	if hours > 0 && len(q.Stewards) != hours {
		errs.Add("stewards", q.Stewards, fmt.Sprintf("one number, or one for each of %d hours", hours))
	} else if hours > 0 && q.Stewards[hours-1] == 0 {
		errs.Add("stewards", q.Stewards, "at least 1 in the last hour, so that those still there can leave")
	}
	return errs.Err()
}

func dayType(name string) (season.DayType, bool) {
	for t := range season.DayType(season.DayTypes) {
		if t.String() == name {
			return t, true
		}
	}
	return 0, false
}
