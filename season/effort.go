package season

import (
	"cmp"
	"slices"
)

// StaffedHour is one clock hour at one launch, as far as somebody stood there.
type StaffedHour struct {
	Launch int32
	Day    Day
	Hour   int8 // 9 is 09:00 to 10:00
	// Share is the part of the hour with at least one person on site, above 0 and up to 1; People the mean number of
	// people on site over the hour.
	Share, People float32
}

// Staffed lists the staffed hours of all finished shifts at known launches, by launch, day and hour. Two shifts at one launch
// at one time do not make an hour longer. open counts the shifts that were left out because they have not ended.
func (b *Book) Staffed() (hours []StaffedHour, open int) {
	type stretch struct {
		launch   int32
		from, to int64 // milliseconds on the wall
		people   float32
	}
	var all []stretch
	for i := range b.Shifts {
		s := &b.Shifts[i]
		if !s.To.Set {
			open++
			continue
		}
		if s.Launch == None || s.To.MS <= s.From.MS {
			continue
		}
		// The length is real time; only its begin is read off the wall, so a shift over a change of clocks keeps its hours.
		from := s.From.localMS()
		all = append(all, stretch{s.Launch, from, from + s.To.MS - s.From.MS, float32(max(1, len(s.People)))})
	}
	slices.SortFunc(all, func(x, y stretch) int { return cmp.Or(cmp.Compare(x.launch, y.launch), cmp.Compare(x.from, y.from)) })
	var until int64 // covered so far at this launch
	for i, s := range all {
		if i == 0 || s.launch != all[i-1].launch {
			until = s.from
		}
		for h := floorDiv(s.from, hourMS); h*hourMS < s.to; h++ {
			from, to := max(s.from, h*hourMS), min(s.to, (h+1)*hourMS)
			fresh := max(0, to-max(from, until))
			hours = append(hours, StaffedHour{
				Launch: s.launch, Day: Day(floorDiv(h, 24)), Hour: int8(h - floorDiv(h, 24)*24),
				Share: float32(fresh) / hourMS, People: s.people * float32(to-from) / hourMS,
			})
		}
		until = max(until, s.to)
	}
	return joined(hours), open
}

// LastSeen gives when the last craft of each open shift was done with, in Unix milliseconds, by index of the shift.
func (b *Book) LastSeen() map[int32]int64 {
	ends := map[int32]int64{}
	for i := range b.Encounters {
		e := &b.Encounters[i]
		if e.Shift == None {
			continue
		}
		if s := &b.Shifts[e.Shift]; !s.To.Set && e.At.MS >= s.From.MS {
			ends[e.Shift] = max(ends[e.Shift], e.At.MS+int64(e.Seconds*1000))
		}
	}
	return ends
}

// StewardHours is the hours of work of a shift: its length times its people. A shift that is still open runs to the end of its last
// craft, as [Book.LastSeen] has it.
func (b *Book) StewardHours(shift int32, lastSeen map[int32]int64) float64 {
	s := &b.Shifts[shift]
	hours := s.Hours()
	if end := lastSeen[shift]; !s.To.Set && end > s.From.MS {
		hours = float64(end-s.From.MS) / hourMS
	}
	return hours * float64(len(s.People))
}

// joined adds up rows of one launch, day and hour.
func joined(rows []StaffedHour) []StaffedHour {
	slices.SortStableFunc(rows, func(x, y StaffedHour) int {
		return cmp.Or(cmp.Compare(x.Launch, y.Launch), cmp.Compare(x.Day, y.Day), cmp.Compare(x.Hour, y.Hour))
	})
	out := rows[:0]
	for _, r := range rows {
		if n := len(out); n > 0 && out[n-1].Launch == r.Launch && out[n-1].Day == r.Day && out[n-1].Hour == r.Hour {
			out[n-1].Share = min(1, out[n-1].Share+r.Share)
			out[n-1].People += r.People
			continue
		}
		out = append(out, r)
	}
	return out
}

// Effort is hours staffed per launch, hour of day and day type.
type Effort struct {
	Hours [][24][DayTypes]float64 // with at least one person, per launch
	// PersonHours counts everybody.
	PersonHours [][24][DayTypes]float64
	Open        int // shifts left out because they have not ended
}

// Effort sums the staffed hours under a calendar.
func (b *Book) Effort(c Calendar) Effort {
	rows, open := b.Staffed()
	e := Effort{Hours: make([][24][DayTypes]float64, len(b.Launches)), PersonHours: make([][24][DayTypes]float64, len(b.Launches)), Open: open}
	for _, r := range rows {
		t := c.Type(r.Day)
		e.Hours[r.Launch][r.Hour][t] += float64(r.Share)
		e.PersonHours[r.Launch][r.Hour][t] += float64(r.People)
	}
	return e
}

// Total is the staffed hours of a launch over all hours and days.
func (e *Effort) Total(launch int32) float64 {
	var sum float64
	for h := range e.Hours[launch] {
		for _, x := range e.Hours[launch][h] {
			sum += x
		}
	}
	return sum
}
