package today_test

import (
	"testing"
	"time"

	"thwart"
	"thwart/engine/num"
	"thwart/internal/demo"
	"thwart/internal/demo/demotest"
	"thwart/season"
	"thwart/season/today"
)

func book() (*season.Book, []thwart.Kept) {
	_, kept := demotest.Season(demo.Options{Seed: 3, Scale: 0.05})
	return demotest.Read(kept), kept
}

// fullDay finds a moment with craft before it and a shift that runs.
func fullDay(t *testing.T, b *season.Book) time.Time {
	t.Helper()
	for i := range b.Shifts {
		s := &b.Shifts[i]
		noon := s.From.Time().Add(3 * time.Hour)
		if s.To.Set && s.To.Time().After(noon) && s.From.Day().Month() == time.August {
			return noon
		}
	}
	t.Fatal("no shift in August")
	return time.Time{}
}

func TestCountsAgreeWithTheRecordsCountedByHand(t *testing.T) {
	b, _ := book()
	at := fullDay(t, b)
	d := today.Tell(today.Input{Book: b, Now: at})
	met, refused, stopped := map[string]int{}, 0, map[string]int{}
	for i := range b.Encounters {
		e := &b.Encounters[i]
		local := e.At.Time()
		if e.Launch == season.None || !e.Counts() || local.After(at) || local.Format(time.DateOnly) != at.In(local.Location()).Format(time.DateOnly) {
			continue
		}
		met[b.Launches[e.Launch].Subject]++
		if e.Refused {
			refused++
		} else if e.Given == thwart.FixHere || e.Given == thwart.Wash || e.Given == thwart.DryOut || e.Given == thwart.Hold {
			stopped[b.Launches[e.Launch].Subject]++
		}
	}
	staffed, sum, all := 0, 0, 0
	for _, l := range d.Launches {
		if l.Met != met[l.Subject] {
			t.Errorf("%s: %d met, counted %d", l.Name, l.Met, met[l.Subject])
		}
		if l.Stopped != stopped[l.Subject] {
			t.Errorf("%s: %d stopped, counted %d", l.Name, l.Stopped, stopped[l.Subject])
		}
		all += l.Stopped
		if l.Staffed {
			staffed++
			if len(l.People) == 0 {
				t.Errorf("%s is staffed by nobody", l.Name)
			}
		}
		sum += l.Met
	}
	if staffed == 0 || sum == 0 || all == 0 || d.Total.Met != sum || d.Total.Refused != refused || d.Total.Stopped != all {
		t.Errorf("%d staffed, %d met, %d stopped, total %+v, refused %d", staffed, sum, all, d.Total, refused)
	}
}

func TestRateHasTheLimitsOfACount(t *testing.T) {
	b, _ := book()
	d := today.Tell(today.Input{Book: b, Now: fullDay(t, b)})
	checked := 0
	for _, l := range d.Launches {
		if l.PerHour == nil {
			continue
		}
		checked++
		g, err := num.Garwood(l.Met, 0.95) // limits of a Poisson count, Garwood 1936
		if err != nil {
			t.Fatal(err)
		}
		if got := *l.PerHour; got.Lo != g.Lo/l.Hours || got.Hi != g.Hi/l.Hours || got.Value != float64(l.Met)/l.Hours {
			t.Errorf("%s: %+v for %d craft in %g h", l.Name, got, l.Met, l.Hours)
		}
	}
	if checked == 0 {
		t.Fatal("no launch had a rate")
	}
}

func TestNeeds(t *testing.T) {
	b, _ := book()
	now := fullDay(t, b)
	ago := func(d time.Duration) *time.Time { at := now.Add(-d); return &at }
	launch := b.Launches[0].Subject
	in := today.Input{
		Book: b, Now: now, Twins: 3,
		Devices: []thwart.Device{
			{ID: "quiet", Name: "Phone 1", LastSeenAt: ago(25 * time.Hour), LeaseUntil: now.Add(time.Hour)},
			{ID: "heard", Name: "Phone 2", LastSeenAt: ago(23 * time.Hour), LeaseUntil: now.Add(time.Hour)},
			{ID: "gone", Name: "Phone 3", LastSeenAt: ago(90 * time.Hour), LeaseUntil: now.Add(time.Hour), RevokedAt: ago(time.Hour)},
			{ID: "over", Name: "Phone 4", LastSeenAt: ago(900 * time.Hour), LeaseUntil: now.Add(-time.Hour)},
		},
		Refusals:  []thwart.Refusal{{ReceivedAt: *ago(time.Hour)}},
		Incidents: []today.Item[thwart.Incident]{{Subject: "i", Body: thwart.Incident{What: "A mussel on a ladder", State: thwart.IncidentOpen, OpenedAt: *ago(time.Hour)}}},
		Planned: []today.Item[thwart.PlannedShift]{
			{Subject: "p1", Body: thwart.PlannedShift{Launch: launch, From: now.Add(20 * time.Hour), To: now.Add(24 * time.Hour)}},
			{Subject: "p2", Body: thwart.PlannedShift{Launch: launch, From: now.Add(20 * time.Hour), To: now.Add(24 * time.Hour), People: []string{"x"}}},
			{Subject: "p3", Body: thwart.PlannedShift{Launch: launch, From: now.Add(400 * time.Hour), To: now.Add(404 * time.Hour)}},
		},
	}
	count := map[today.What]int{}
	for _, n := range today.Tell(in).Needs {
		count[n.What] += n.Count
		if n.What == today.PhoneSilent && n.Subject != "quiet" {
			t.Errorf("silent: %+v", n)
		}
		if n.What == today.ShiftUnfilled && n.Subject != "p1" {
			t.Errorf("unfilled: %+v", n)
		}
	}
	want := map[today.What]int{today.OpenIncident: 1, today.RecordRefused: 1, today.PhoneSilent: 1, today.ShiftUnfilled: 1, today.TwinsToDecide: 3}
	for what, n := range want {
		if count[what] != n {
			t.Errorf("%s: %d, want %d", what, count[what], n)
		}
	}
	// An incident is open until somebody closes it, whatever the day that is told.
	for name, opened := range map[string]time.Time{"a year before": now.AddDate(-1, 0, 0), "a year after": now.AddDate(1, 0, 0)} {
		in.Incidents[0].Body.OpenedAt = opened
		if needs := today.Tell(in).Needs; needs[0].What != today.OpenIncident || needs[0].Subject != "i" {
			t.Errorf("an incident opened %s is not the first need: %+v", name, needs[0])
		}
	}
	if needs := today.Tell(in).Needs; needs[0].What != today.OpenIncident {
		t.Errorf("the first is %s: an open incident comes before all else", needs[0].What)
	}
}
