package plan

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"thwart"
	"thwart/engine/siting"
)

// Block is a part of the day.
type DayBlock struct {
	Name string `json:"name" maxLength:"40"`
	From int    `json:"from" doc:"first hour of the day, such as 6"`
	To   int    `json:"to" doc:"hour at which it ends, such as 12"`
}

// Team is a size of team.
type TeamSize struct {
	People  int     `json:"people"`
	PerHour float64 `json:"perHour" doc:"craft it looks over in an hour"`
}

// Presence asks for hours at a launch.
type PresenceWish struct {
	Launch string  `json:"launch" doc:"id"`
	Hours  float64 `json:"hours" doc:"on site over the season"`
}

// Contract bounds the hours at the launches of one partner.
type HoursContract struct {
	Partner string  `json:"partner"`
	Lo      float64 `json:"lo,omitempty" doc:"hours, at least"`
	Hi      float64 `json:"hi,omitempty" doc:"hours, at most; 0 = no limit"`
}

// Even asks for fair shares between partners.
type EvenShares struct {
	Share  map[string]float64 `json:"share" doc:"agreed share of the partners' hours, by partner"`
	Within float64            `json:"within" doc:"give or take, such as 0.05"`
}

// Fixed is decided by hand.
type FixedShift struct {
	Launch string `json:"launch" doc:"id"`
	Day    string `json:"day" enum:"weekday,free day"`
	Block  string `json:"block" doc:"name of a part of the day"`
	In     bool   `json:"in" doc:"true: somebody stands there; false: nobody does"`
}

// Units asks for wash units to be placed.
type UnitWishes struct {
	Count      int      `json:"count" doc:"how many, at most"`
	Sites      []string `json:"sites,omitempty" doc:"ids of launches where one can stand; left out: every launch"`
	Cost       float64  `json:"cost,omitempty" doc:"money for placing one"`
	HourCost   float64  `json:"hourCost,omitempty" doc:"money an hour for the whole crew; left out: the money for one person's hour, for each of the crew"`
	People     int      `json:"people,omitempty" doc:"crew; left out: 1"`
	Minutes    float64  `json:"minutes,omitempty" doc:"a wash; left out: 25"`
	ByHand     float64  `json:"byHand,omitempty" doc:"share of failing craft that is made safe on the spot; left out: 0.5, an assumption"`
	Fail       float64  `json:"fail,omitempty" doc:"share of craft looked over that has to be washed; left out: 0.05, an assumption"`
	HalfKM     float64  `json:"halfKm,omitempty" doc:"detour at which half of those sent still go; left out: 10, an assumption"`
	ReachKM    float64  `json:"reachKm,omitempty" doc:"detour beyond which nobody goes; left out: 25"`
	HereChance float64  `json:"hereChance,omitempty" doc:"share that goes when the unit stands at the launch; left out: 0.9, an assumption"`
}

// Wishes are what a plan has to keep and what it is for.
type PlanWishes struct {
	Policy   string             `json:"policy,omitempty" enum:"arrival,departure,both" doc:"where craft are met; left out: arrival"`
	Weights  map[string]float64 `json:"weights,omitempty" doc:"what one risky passage counts, by organism; left out: 1 each"`
	Blocks   []DayBlock         `json:"blocks,omitempty" doc:"left out: morning 6 to 12, afternoon 12 to 18"`
	Teams    []TeamSize         `json:"teams,omitempty" doc:"left out: one person, 8 craft an hour (an assumption)"`
	HourCost float64            `json:"hourCost,omitempty" doc:"money for one person's hour; left out: the programme's cost of a steward-hour, else 25 (an assumption)"`
	Money    *float64           `json:"money,omitempty" doc:"for the season; left out: no limit"`
	Hours    float64            `json:"hours,omitempty" doc:"of work, every person counted; 0 with no money given: as many as were worked last season"`
	People   int                `json:"people,omitempty" doc:"on duty at once; 0 = no limit"`
	Minimum  []PresenceWish     `json:"minimum,omitempty"`
	Partners []HoursContract    `json:"partners,omitempty"`
	Even     *EvenShares        `json:"even,omitempty"`
	Fixed    []FixedShift       `json:"fixed,omitempty"`
	Units    *UnitWishes        `json:"units,omitempty"`
	Robust   float64            `json:"robust,omitempty" doc:"plan for the mean of this worst share of sampled seasons, such as 0.2; left out: for the mean season"`
	// Gap and Seconds steer the proof.
	Gap      float64 `json:"gap,omitempty" doc:"enough when at most this share better is possible; left out: 0.01"`
	Seconds  float64 `json:"seconds,omitempty" doc:"for the proof at most; left out: 60"`
	Frontier int     `json:"frontier,omitempty" doc:"points of money against risk; 0 = none"`
	Seed     uint64  `json:"seed,omitempty"`

	teamsLeftOut, hoursLeftOut bool
	costFrom, crewFrom         string
}

// DefaultHourCost is money for an hour of one person where neither the wishes nor the programme's record tell it: an assumption,
// common practice, no source.
const DefaultHourCost = 25

// Where a number of a plan comes from that may be left out.
const (
	FromWishes     = "asked"
	FromLastSeason = "last season"
	FromProgramme  = "programme"
	FromDefault    = "default"
	FromPerson     = "person" // of a crew: as many hours of one person
)

// MaxFrontier is the largest number of points of a frontier.
const MaxFrontier = 50

// full is the wishes with everything that was left out filled in, checked against an input.
func (w PlanWishes) full(in *Input) (PlanWishes, error) {
	var errs thwart.FieldErrors
	fail := errs.Add
	w.Policy = cmp.Or(w.Policy, string(siting.Arrival))
	if !slices.Contains([]string{"arrival", "departure", "both"}, w.Policy) {
		fail("policy", w.Policy, "arrival, departure or both")
	}
	if len(w.Blocks) == 0 {
		w.Blocks = []DayBlock{{"morning", 6, 12}, {"afternoon", 12, 18}}
	}
	end := 0
	for i, b := range w.Blocks {
		if b.From < end || b.To <= b.From || b.To > 24 || b.Name == "" {
			fail(fmt.Sprintf("blocks[%d]", i), fmt.Sprintf("%s %d to %d", b.Name, b.From, b.To), "a name, and whole hours from 0 to 24 after the block before")
		}
		end = b.To
	}
	if len(w.Teams) == 0 {
		w.Teams, w.teamsLeftOut = []TeamSize{{People: 1, PerHour: 8}}, true
	}
	for i, t := range w.Teams {
		if t.People < 1 || t.People > 20 || !(t.PerHour > 0 && t.PerHour <= 200) {
			fail(fmt.Sprintf("teams[%d]", i), fmt.Sprintf("%d people, %g craft an hour", t.People, t.PerHour), "1 to 20 people, above 0 and up to 200 craft an hour")
		}
	}
	switch {
	case w.HourCost != 0:
		w.costFrom = FromWishes
	case in.HourCost != 0:
		w.HourCost, w.costFrom = in.HourCost, FromProgramme
	default:
		w.HourCost, w.costFrom = DefaultHourCost, FromDefault
	}
	w.Gap, w.Seconds = cmp.Or(w.Gap, 0.01), cmp.Or(w.Seconds, 60)
	for name, v := range map[string]float64{"hourCost": w.HourCost, "hours": w.Hours, "gap": w.Gap, "seconds": w.Seconds, "people": float64(w.People), "money": value(w.Money)} {
		if !(v >= 0 && v < 1e12) {
			fail(name, v, "0 or more")
		}
	}
	if w.Frontier < 0 || w.Frontier > MaxFrontier {
		fail("frontier", w.Frontier, fmt.Sprintf("0 to %d points", MaxFrontier))
	}
	if w.Robust != 0 && !(w.Robust >= 0.01 && w.Robust <= 1) {
		fail("robust", w.Robust, "a share, 0.01 to 1; 0 for the mean season")
	}
	if w.Hours == 0 && w.Money == nil {
		w.Hours, w.hoursLeftOut = math.Round(in.StewardHours), true
		if w.Hours == 0 {
			fail("hours", 0, "the hours that can be worked, or money: no hours of last season are in the records")
		}
	}
	for o, v := range w.Weights {
		if !slices.Contains(in.Organisms, o) || !(v >= 0) {
			fail("weights."+o, v, "0 or more, for one of: "+fmt.Sprint(in.Organisms))
		}
	}
	w.checkPlaces(in, fail)
	w.checkUnits(in, fail)
	slices.SortStableFunc(errs, func(a, b thwart.FieldError) int { return cmp.Compare(a.Field, b.Field) })
	return w, errs.Err()
}

func value(p *float64) float64 {
	if p == nil {
		return 0
	}
	return *p
}

func (w *PlanWishes) checkPlaces(in *Input, fail func(string, any, string)) {
	partner := func(field, name string) {
		if !slices.ContainsFunc(in.Launches, func(l Launch) bool { return l.Partner == name }) {
			fail(field, name, "a partner that runs a launch")
		}
	}
	for i, m := range w.Minimum {
		if in.launchIndex(m.Launch) < 0 {
			fail(fmt.Sprintf("minimum[%d].launch", i), m.Launch, "the id of a launch")
		}
		if !(m.Hours >= 0) {
			fail(fmt.Sprintf("minimum[%d].hours", i), m.Hours, "0 or more")
		}
	}
	for i, c := range w.Partners {
		partner(fmt.Sprintf("partners[%d].partner", i), c.Partner)
		if !(c.Lo >= 0 && c.Hi >= 0) || c.Hi > 0 && c.Hi < c.Lo {
			fail(fmt.Sprintf("partners[%d]", i), fmt.Sprintf("%g to %g", c.Lo, c.Hi), "hours of 0 or more, hi not below lo")
		}
	}
	if w.Even != nil {
		var sum float64
		for name, s := range w.Even.Share {
			partner("even.share."+name, name)
			sum += s
		}
		if math.Abs(sum-1) > 1e-6 || !(w.Even.Within >= 0 && w.Even.Within <= 1) {
			fail("even", fmt.Sprintf("shares of %g in all, within %g", sum, w.Even.Within), "shares that add up to 1, within 0 to 1")
		}
	}
	for i, f := range w.Fixed {
		if in.launchIndex(f.Launch) < 0 {
			fail(fmt.Sprintf("fixed[%d].launch", i), f.Launch, "the id of a launch")
		}
		if !slices.Contains(kindNames[:], f.Day) {
			fail(fmt.Sprintf("fixed[%d].day", i), f.Day, "weekday or free day")
		}
		if !slices.ContainsFunc(w.Blocks, func(b DayBlock) bool { return b.Name == f.Block }) {
			fail(fmt.Sprintf("fixed[%d].block", i), f.Block, "the name of a part of the day")
		}
	}
}

func (w *PlanWishes) checkUnits(in *Input, fail func(string, any, string)) {
	if w.Units == nil {
		return
	}
	u := *w.Units
	u.People = cmp.Or(u.People, 1)
	w.crewFrom = FromWishes
	if u.HourCost == 0 {
		u.HourCost, w.crewFrom = w.HourCost*float64(u.People), FromPerson
	}
	u.Minutes = cmp.Or(u.Minutes, 25)
	u.ByHand = cmp.Or(u.ByHand, 0.5)
	u.Fail = cmp.Or(u.Fail, 0.05)
	u.HalfKM = cmp.Or(u.HalfKM, 10)
	u.ReachKM = cmp.Or(u.ReachKM, 25)
	u.HereChance = cmp.Or(u.HereChance, 0.9)
	if u.Count < 0 || u.Count > 100 {
		fail("units.count", u.Count, "0 to 100")
	}
	for name, v := range map[string]float64{"byHand": u.ByHand, "fail": u.Fail, "hereChance": u.HereChance} {
		if !(v >= 0 && v <= 1) {
			fail("units."+name, v, "a share, 0 to 1")
		}
	}
	for name, v := range map[string]float64{"minutes": u.Minutes, "halfKm": u.HalfKM, "reachKm": u.ReachKM} {
		if !(v > 0 && v < 1e6) {
			fail("units."+name, v, "above 0")
		}
	}
	for name, v := range map[string]float64{"cost": u.Cost, "hourCost": u.HourCost} {
		if !(v >= 0 && v < 1e12) {
			fail("units."+name, v, "0 or more")
		}
	}
	for i, s := range u.Sites {
		if in.launchIndex(s) < 0 {
			fail(fmt.Sprintf("units.sites[%d]", i), s, "the id of a launch")
		}
	}
	if u.Sites == nil {
		for _, l := range in.Launches {
			u.Sites = append(u.Sites, l.ID)
		}
	}
	w.Units = &u
}

// pins tells whether a shift was decided by hand; with no day, whether any of the launch was.
func (w *PlanWishes) pins(launch, day, block string, in bool) bool {
	return slices.ContainsFunc(w.Fixed, func(f FixedShift) bool {
		return f.Launch == launch && f.In == in && (day == "" || f.Day == day && f.Block == block)
	})
}

// owes tells whether a launch is to have hours in any case.
func (w *PlanWishes) owes(launch string) bool {
	return slices.ContainsFunc(w.Minimum, func(m PresenceWish) bool { return m.Launch == launch && m.Hours > 0 })
}

// workedHours is the hours that somebody was on site last season, however many people.
func (in *Input) workedHours() (sum float64) {
	for _, l := range in.Launches {
		for k := range l.Worked {
			for _, h := range l.Worked[k] {
				sum += h
			}
		}
	}
	return sum
}
