package season_test

import (
	"math"
	"testing"

	"thwart"
	"thwart/internal/demo/demotest"
	"thwart/season"
	"thwart/unit"
)

// The weather of a day is what its shifts said, each alike; the sums are taken here from the entries in the plainest way.
func TestWeatherOfADay(t *testing.T) {
	_, all := demoSeason()
	heads := map[string]*thwart.Shift{}
	skew := map[string]int64{}
	for _, k := range all {
		body, err := k.Decode()
		if err != nil {
			t.Fatal(err)
		}
		if s, ok := body.(*thwart.Shift); ok {
			heads[k.Subject], skew[k.Subject] = s, k.SkewMS
			if k.Removed {
				delete(heads, k.Subject)
			}
		}
	}
	var air, wet, n = map[string]float64{}, map[string]float64{}, map[string]int{}
	silent := 0
	for id, s := range heads {
		if s.Weather == nil {
			silent++
			continue
		}
		// The demo's region keeps one time, the one its phones write.
		day := s.From.Format("2006-01-02")
		air[day] += float64(*s.Weather.AirC)
		if *s.Weather.Wet {
			wet[day]++
		}
		n[day]++
		if skew[id] != 0 && s.From.Hour() < 1 {
			t.Fatal("a skewed shift near midnight: this test would have to set its clock right")
		}
	}
	got := demotest.Read(all).Weather()
	if len(got) != len(n) || len(n) < 30 || silent == 0 {
		t.Fatalf("%d days, want %d; %d shifts silent", len(got), len(n), silent)
	}
	mixed := 0
	for day, w := range got {
		d := day.String()
		if w.SaidAir != n[d] || w.SaidWet != n[d] || math.Abs(w.AirC-air[d]/float64(n[d])) > 1e-9 || math.Abs(w.Wet-wet[d]/float64(n[d])) > 1e-12 {
			t.Errorf("%s: %+v; want %.3f °C and %.3f wet of %d", d, w, air[d]/float64(n[d]), wet[d]/float64(n[d]), n[d])
		}
		if w.SaidAir > 1 {
			mixed++
		}
	}
	if mixed == 0 {
		t.Error("no day of two shifts")
	}
	if len((&season.Book{}).Weather()) != 0 {
		t.Error("no shifts give weather")
	}
}

// What one shift says of the rain and another of the air is each taken alone: nobody's silence is a dry or a cold day.
func TestPartsOfTheWeatherAreTakenAlone(t *testing.T) {
	at := func(w *thwart.Weather) season.Shift {
		return season.Shift{From: season.Moment{MS: 1783166400000, Set: true}, Weather: w}
	}
	b := &season.Book{Shifts: []season.Shift{
		at(&thwart.Weather{Wet: new(true)}), at(&thwart.Weather{AirC: new(unit.Celsius(24)), RHPct: new(55.0)}), at(nil), at(&thwart.Weather{}),
	}}
	got := b.Weather()
	if d := got[b.Shifts[0].From.Day()]; len(got) != 1 || d != (season.DayWeather{AirC: 24, Wet: 1, SaidAir: 1, SaidWet: 1}) {
		t.Errorf("%+v", got)
	}
	b.Shifts = b.Shifts[3:]
	if got := b.Weather(); len(got) != 0 {
		t.Errorf("a shift that said nothing gives %+v", got)
	}
}
