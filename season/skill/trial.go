package skill

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"thwart"
	"thwart/refdata"
	"thwart/season"
)

// Out is a planted object that is not over: it is on a craft, or nobody has said that it was taken back.
type Out struct {
	Trial     string    `json:"trial"`
	Object    string    `json:"object"`
	Like      string    `json:"like"`
	Place     string    `json:"place"`
	PlaceName string    `json:"placeName"`
	Steward   string    `json:"steward"`
	Name      string    `json:"name"`
	PlantedAt time.Time `json:"plantedAt"`
	Hours     float64   `json:"hours"` // since it was planted
	// Overdue: no craft may leave with an object on it, so after four hours somebody has to ask.
	Overdue bool        `json:"overdue"`
	Match   *Suggestion `json:"match,omitempty"` // the record that is probably of this craft
}

// Suggestion is what a steward's own record says of a planted object. A person decides.
type Suggestion struct {
	Encounter string        `json:"encounter"`
	At        time.Time     `json:"at"`
	Found     thwart.Answer `json:"found"`
	Looked    thwart.Answer `json:"looked"` // she says she looked at the place
	Seconds   float64       `json:"seconds,omitempty"`
	Says      string        `json:"says"`
}

// OverdueHours is after how long an object that nobody took back is asked for. Common practice, no source.
const OverdueHours = 4.0

// matchHours is how long after planting an inspection may begin and still be of that craft.
const matchHours = 6.0

// Match finds the inspection a planted object was on: the one that the trial names, or the steward's first that began after
// the object was planted. ok is false where there is none yet.
func Match(b *season.Book, t *season.Trial) (s Suggestion, ok bool) {
	at := t.Encounter
	if at == season.None {
		at = int32(slices.IndexFunc(b.Encounters, func(e season.Encounter) bool {
			after := e.At.HoursSince(t.PlantedAt)
			return e.Steward == t.Steward && t.Steward != season.None && !e.Refused && after >= 0 && after <= matchHours
		}))
	}
	if at < 0 {
		return Suggestion{}, false
	}
	e := &b.Encounters[at]
	s = Suggestion{Encounter: e.Subject, At: e.At.Time(), Found: thwart.No, Looked: lookedAt(e, t.Place)}
	for i := range e.Findings {
		f := &e.Findings[i]
		if f.Place == t.Place && (f.Matter == thwart.MatterOther || f.Matter == thwart.MatterUnknown || classOf(f.Matter) == refdata.DetectionClass(t.Like)) {
			s.Found = thwart.Yes
		}
	}
	for i := range e.Checks {
		if e.Checks[i].Place == t.Place {
			s.Seconds = float64(e.Checks[i].Seconds)
		}
	}
	switch {
	case s.Found == thwart.Yes:
		s.Says = fmt.Sprintf("The record of %s has a finding there: found.", clock(s.At))
	case s.Looked == thwart.Yes:
		s.Says = fmt.Sprintf("The record of %s says the place was looked at and has no finding there: missed.", clock(s.At))
	default:
		s.Says = fmt.Sprintf("The record of %s does not say that the place was looked at: missed.", clock(s.At))
	}
	return s, true
}

func clock(t time.Time) string { return t.Format("15:04") }

func lookedAt(e *season.Encounter, place string) thwart.Answer {
	for i := range e.Checks {
		if e.Checks[i].Place == place {
			return e.Checks[i].Looked.Answer()
		}
	}
	if e.Others != nil {
		return e.Others.Looked.Answer()
	}
	return thwart.Unknown
}

// Open lists planted objects that are not over, the longest out first. It is for whoever may see trials and nobody else.
func Open(b *season.Book, now time.Time) []Out {
	out := []Out{}
	for i := range b.Trials {
		t := &b.Trials[i]
		if t.Over() {
			continue
		}
		planted := t.PlantedAt.Time()
		o := Out{
			Trial: t.Subject, Object: t.Object, Like: t.Like, Place: t.Place, PlaceName: placeName(t.Place), PlantedAt: planted, Hours: now.Sub(planted).Hours(),
		}
		o.Overdue = o.Hours > OverdueHours
		if t.Steward != season.None {
			o.Steward, o.Name = b.People[t.Steward].Subject, b.People[t.Steward].Body.Name
		}
		if s, ok := Match(b, t); ok {
			o.Match = &s
		}
		out = append(out, o)
	}
	slices.SortFunc(out, func(x, y Out) int { return cmp.Or(x.PlantedAt.Compare(y.PlantedAt), cmp.Compare(x.Trial, y.Trial)) })
	return out
}

func placeName(id string) string {
	if row := refdata.PlaceRowOf(id); row != nil {
		return row.Name
	}
	return id
}

// Debrief is the card that follows a planted object: where it was, what to feel for, and what to practise. It reproaches nobody.
type Debrief struct {
	Trial     string        `json:"trial"`
	Person    string        `json:"person"`
	Name      string        `json:"name"`
	Object    string        `json:"object"`
	Like      string        `json:"like"`
	Place     string        `json:"place"`
	PlaceName string        `json:"placeName"`
	At        time.Time     `json:"at"`    // when the object was back
	DueBy     time.Time     `json:"dueBy"` // 24 hours after: by then it should have been talked over
	Found     thwart.Answer `json:"found"`
	Encounter string        `json:"encounter,omitempty"`
	Says      []string      `json:"says"`
	Practise  []Wish        `json:"practise"` // three practice objects where it was missed
}

// Wish is a practice craft to be made.
type Wish struct {
	Seed       uint64      `json:"seed"`
	Class      string      `json:"class"` // craft class
	Difficulty int         `json:"difficulty"`
	Like       string      `json:"like"`
	Part       thwart.Part `json:"part,omitempty"`
}

// DebriefHours is within how long a planted object is talked over.
const DebriefHours = 24

// shownDays is how long a card stays.
const shownDays = 14

// Debriefs lists the cards of the last two weeks, the latest first; of one person, or of everybody where person is
// season.None.
func Debriefs(b *season.Book, person int32, now time.Time) []Debrief {
	out := []Debrief{}
	for i := range b.Trials {
		t := &b.Trials[i]
		if !t.Over() || t.Steward == season.None || person != season.None && t.Steward != person {
			continue
		}
		back := t.RetrievedAt.Time()
		if back.After(now) || now.Sub(back).Hours() > 24*shownDays {
			continue
		}
		p := &b.People[t.Steward]
		d := Debrief{
			Trial: t.Subject, Person: p.Subject, Name: p.Body.Name, Object: t.Object, Like: t.Like, Place: t.Place, PlaceName: placeName(t.Place),
			At: back, DueBy: back.Add(DebriefHours * time.Hour), Found: t.Found, Says: []string{}, Practise: []Wish{},
		}
		if t.Encounter != season.None {
			d.Encounter = b.Encounters[t.Encounter].Subject
		}
		d.say(uint64(t.PlantedAt.MS))
		out = append(out, d)
	}
	slices.SortFunc(out, func(x, y Debrief) int { return cmp.Or(y.At.Compare(x.At), cmp.Compare(x.Trial, y.Trial)) })
	return out
}

var feelAgain = map[refdata.DetectionClass]string{
	refdata.PlantsSeen: "Look close, then run the hand along it: wet plants lie flat and dark.",
	refdata.SmallFelt:  "Feel again with bare fingertips. What the size of a grain stays under the thumb and does not wipe off is not grit.",
	refdata.WaterSeen:  "Look with a light into the lowest corner, and wipe it with a cloth.",
}

func (d *Debrief) say(seed uint64) {
	class := refdata.DetectionClass(d.Like)
	d.Says = append(d.Says, fmt.Sprintf("Object %s, standing for %s, was on: %s.", d.Object, ClassWords[class], d.PlaceName))
	if d.Found == thwart.Yes {
		d.Says = append(d.Says, "You found it.")
		return
	}
	d.Says = append(d.Says, "It was passed over, as happens to everybody. It was taken back before the craft left.")
	if row := refdata.PlaceRowOf(d.Place); row != nil && row.Say != "" {
		d.Says = append(d.Says, row.Say)
	}
	if words := feelAgain[class]; words != "" {
		d.Says = append(d.Says, words)
	}
	for k := range uint64(3) {
		d.Practise = append(d.Practise, Wish{
			Seed: (seed*3 + k) & (1<<53 - 1), Class: []string{"open_aluminium_fishing", "runabout", "bass_boat"}[k], Difficulty: 2 + int(k), Like: d.Like, Part: partOf(d.Place),
		})
	}
}
