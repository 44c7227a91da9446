package exchange

import (
	"time"

	"thwart"
)

func (rd *reader) launch() string {
	name := rd.told(FieldLaunch)
	if name == "" {
		if rd.m.Launch == "" {
			rd.say(LevelRefused, FieldLaunch, "the name of a launch of the programme", "write it in, or give the mapping a launch for rows without")
		}
		return rd.m.Launch
	}
	id, near, ok := rd.launches.find(name)
	if !ok || id == "" {
		rd.say(LevelRefused, FieldLaunch, "the name of a launch of the programme", rd.launches.propose(name, near))
	}
	return id
}

func (rd *reader) steward() string {
	name := rd.told(FieldSteward)
	if name != "" {
		id, near, ok := rd.people.find(name)
		if ok && id != "" {
			return id
		}
		if !ok {
			level := LevelLeftOut
			if rd.m.Steward == "" {
				level = LevelRefused
			}
			rd.say(level, FieldSteward, "the name of a person of the programme", rd.people.propose(name, near))
			return rd.m.Steward
		}
	}
	if rd.m.Steward == "" {
		rd.say(LevelRefused, FieldSteward, "the name of a person of the programme", "give the mapping a steward to stand for rows that name nobody")
	}
	return rd.m.Steward
}

func (rd *reader) water(f Field) string {
	name := rd.told(f)
	if name == "" || plain(name) == "none" {
		return ""
	}
	id, near, ok := rd.waters.find(name)
	if !ok {
		rd.say(LevelLeftOut, f, "the name of a water of the programme; taken as not known", rd.waters.propose(name, near))
	}
	return id
}

func (rd *reader) lastWaters(at time.Time) []thwart.Visit {
	v := thwart.Visit{Water: rd.water(FieldLastWater)}
	if x, seconds, timed, ok := rd.date(FieldLastOut, LevelLeftOut); ok {
		if !timed {
			seconds = 86399 // the day is sure, its end the unsafe side
		}
		out, midnight := rd.moment(x, seconds), rd.moment(x, 0)
		switch {
		case !out.After(at):
			v.OutAt = &out
		case !timed && !midnight.After(at):
			v.OutAt = &at
		default:
			rd.say(LevelLeftOut, FieldLastOut, "a date not after the inspection", "")
		}
	}
	if n, _, ok := rd.amount(FieldDaysOut, ""); ok && v.OutAt == nil {
		if n >= 0 && n <= 36500 {
			out := at.Add(-time.Duration(n * 24 * float64(time.Hour))).Truncate(time.Second)
			v.OutAt = &out
			if n > 365 {
				rd.say(LevelLook, FieldDaysOut, "usually at most 365 days; taken", "")
			}
		} else {
			rd.say(LevelLeftOut, FieldDaysOut, "0 to 36500 days", "")
		}
	}
	if v.Water == "" && v.OutAt == nil {
		return []thwart.Visit{}
	}
	return []thwart.Visit{v}
}
