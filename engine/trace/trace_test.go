package trace_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"thwart/engine/lethal"
	"thwart/engine/trace"
	"thwart/unit"
)

// umps is the table the protocol cases are taken from.
const umps = "Uniform Minimum Protocols and Standards for Watercraft Inspection and Decontamination Programs, 3rd ed. (2016), Table 3"

// steady makes readings every stepS seconds from fromS to toS at one temperature.
func steady(fromS, toS, stepS float64, c unit.Celsius) []trace.Reading {
	var rows []trace.Reading
	for i := 0; fromS+float64(i)*stepS <= toS+1e-9; i++ {
		rows = append(rows, trace.Reading{AtS: fromS + float64(i)*stepS, TempC: c})
	}
	return rows
}

// numbered gives readings the line numbers of a file with one header line.
func numbered(parts ...[]trace.Reading) []trace.Reading {
	var rows []trace.Reading
	for _, part := range parts {
		for _, r := range part {
			r.Row = len(rows) + 2
			rows = append(rows, r)
		}
	}
	return rows
}

func clean(t testing.TB, rows []trace.Reading) trace.Trace {
	t.Helper()
	tr, _ := trace.Clean(rows, trace.Options{})
	return tr
}

// quagga is the published envelope for adult quagga mussels under spray.
var quagga = lethal.Profile{Name: "quagga adult, spray; Comeau et al. 2011, Biofouling 27:267-274",
	RefC: 60, RefS: 5, ZLowC: 16.6, MinC: 50, FloorS: 5}

func TestStandardPublished(t *testing.T) {
	f140, f120 := unit.FromFahrenheit(140), unit.FromFahrenheit(120)
	for _, c := range []struct {
		name        string
		rows        []trace.Reading
		standard    trace.Standard
		uncertainty float64
		met         bool
		held        float64
		source      string
	}{
		{"hull 60.0 °C for 10 s", steady(0, 10, 1, 60), trace.Standard{TargetC: f140, ContactS: 10}, 0, true, 10, umps},
		{"hull 59.9 °C for 60 s", steady(0, 60, 1, 59.9), trace.Standard{TargetC: f140, ContactS: 10}, 0, false, 0, umps},
		{"trailer 60.0 °C for 10 s", steady(0, 10, 1, 60), trace.Standard{TargetC: f140, ContactS: 70}, 0, false, 10, umps},
		{"gimbal 60 °C for 132 s", steady(0, 132, 2, 60), trace.Standard{TargetC: f140, ContactS: 132}, 0, true, 132, umps},
		{"live well 48.9 °C for 130 s", steady(0, 130, 5, 48.9), trace.Standard{TargetC: f120, ContactS: 130}, 0, true, 130, umps},
		{"live well 48.88 °C for 130 s", steady(0, 130, 5, 48.88), trace.Standard{TargetC: f120, ContactS: 130}, 0, false, 0, umps},
		{"live well 120 °F for 130 s", steady(0, 130, 5, f120), trace.Standard{TargetC: f120, ContactS: 130}, 0, true, 130, umps},
		{"live well 48.9 °C for 120 s", steady(0, 120, 5, 48.9), trace.Standard{TargetC: f120, ContactS: 130}, 0, false, 120, umps},
		{"gauge of 1 °C reading 49 for 10 min", steady(0, 600, 5, 49), trace.Standard{TargetC: f120, ContactS: 130}, 1, false, 0, umps},
		{"thermometer of 0.1 °C reading 49", steady(0, 600, 5, 49), trace.Standard{TargetC: f120, ContactS: 130}, 0.1, true, 600, umps},
		{"thermometer nobody calibrated", steady(0, 600, 5, 70), trace.Standard{TargetC: f120, ContactS: 130}, math.NaN(), false, 0, umps},
		{"49 °C however long is not 60", steady(0, 7200, 5, 49), trace.Standard{TargetC: f140, ContactS: 10}, 0, false, 0, umps},
	} {
		if c.source == "" {
			t.Fatalf("%s: no source", c.name)
		}
		j := c.standard.Judge(clean(t, c.rows), c.uncertainty)
		if j.Met != c.met || j.Longest.Seconds != c.held || j.Met != (j.ShortS == 0) {
			t.Errorf("%s: met %v, held %v s, short %v s; want %v, %v s (%s)", c.name, j.Met, j.Longest.Seconds, j.ShortS, c.met, c.held, c.source)
		}
		if got := trace.Met(j.Longest, c.standard.ContactS); got != c.met {
			t.Errorf("%s: Met = %v, want %v (%s)", c.name, got, c.met, c.source)
		}
	}
}

// Two passes of 8 s and 6 s are not one of 14 s, unless the protocol says that broken time adds up.
func TestTwoPasses(t *testing.T) {
	tr := clean(t, numbered(steady(0, 8, 1, 61), steady(9, 19, 1, 30), steady(20, 26, 1, 62)))
	holds := tr.Holds(60, 0)
	want := []trace.Hold{{FromS: 0, ToS: 8, Seconds: 8, LowestC: 61}, {FromS: 20, ToS: 26, Seconds: 6, LowestC: 62}}
	if len(holds) != 2 || holds[0] != want[0] || holds[1] != want[1] {
		t.Errorf("holds %v, want %v", holds, want)
	}
	if got := tr.LongestHold(60, 0); got != want[0] {
		t.Errorf("longest %v, want %v", got, want[0])
	}
	if got := tr.CumulativeS(60, 0); got != 14 {
		t.Errorf("cumulative %v s, want 14", got)
	}
	unbroken := trace.Standard{TargetC: 60, ContactS: 10}.Judge(tr, 0)
	if unbroken.Met || unbroken.ShortS != 2 || unbroken.CumulativeS != 14 {
		t.Errorf("unbroken: %+v, want not met, 2 s short", unbroken)
	}
	if broken := (trace.Standard{TargetC: 60, ContactS: 10, Cumulative: true}).Judge(tr, 0); !broken.Met || broken.ShortS != 0 {
		t.Errorf("cumulative: %+v, want met", broken)
	}
}

func TestNothingProvesNothing(t *testing.T) {
	var nothing trace.Trace
	one := clean(t, []trace.Reading{{AtS: 0, TempC: 99}})
	for name, tr := range map[string]trace.Trace{"empty": nothing, "one reading": one} {
		for _, contact := range []float64{0, 10, -1, math.NaN(), math.Inf(1)} {
			j := trace.Standard{TargetC: 60, ContactS: contact}.Judge(tr, 0)
			if j.Met || tr.Dose(quagga, 0) != 0 {
				t.Errorf("%s, contact %v s: %+v, dose %v; want nothing", name, contact, j, tr.Dose(quagga, 0))
			}
		}
	}
	hot := clean(t, steady(0, 100, 1, 70))
	for _, s := range []trace.Standard{{TargetC: 60, ContactS: -1}, {TargetC: 60, ContactS: math.NaN()}, {TargetC: 60, ContactS: math.Inf(1)},
		{TargetC: unit.Celsius(math.NaN()), ContactS: 1}, {TargetC: unit.Celsius(math.Inf(-1)), ContactS: 1}} {
		if j := s.Judge(hot, 0); j.Met || !math.IsInf(j.ShortS, 1) {
			t.Errorf("%+v: %+v, want never met", s, j)
		}
	}
	if j := (trace.Standard{TargetC: 60, ContactS: 0}).Judge(hot, 0); !j.Met {
		t.Error("contact time 0 with a hold: want met, at temperature is what it asks")
	}
	if _, ok := nothing.Highest(); ok {
		t.Error("empty trace has a highest point")
	}
	if p, _ := clean(t, []trace.Reading{{0, 50, 2}, {1, 55, 3}, {2, 55, 4}, {3, 51, 5}}).Highest(); p.AtS != 1 || p.TempC != 55 {
		t.Errorf("highest %+v, want 55 °C at 1 s", p)
	}
}

// Of two equal holds the first is given.
func TestEqualHolds(t *testing.T) {
	tr := clean(t, numbered(steady(0, 8, 1, 61), steady(9, 19, 1, 30), steady(20, 28, 1, 62)))
	if got := tr.LongestHold(60, 0); got.FromS != 0 || got.Seconds != 8 {
		t.Errorf("longest %+v, want the first of two holds of 8 s", got)
	}
}

// 999 s at 60 °C are 199.8 times the 5 s of Comeau et al. 2011, however the steps are bundled on the way.
func TestDoseOfALongTrace(t *testing.T) {
	if got := clean(t, steady(0, 999, 1, 60)).Dose(quagga, 0); math.Abs(got-199.8) > 1e-9 {
		t.Errorf("dose %v, want 199.8", got)
	}
}

func TestDoseAgreesWithLethal(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rows := drawOrdered(t)
		tr, _ := trace.Clean(rows, trace.Options{})
		// The same dose through the other door: a sample colder than anything stands in each gap.
		var samples []lethal.Sample
		for i, p := range tr.Points {
			if p.Gap {
				samples = append(samples, lethal.Sample{AtS: tr.Points[i-1].AtS, TempC: trace.NoReading})
			}
			samples = append(samples, lethal.Sample{AtS: p.AtS, TempC: lethal.Effective(p.TempC, 0.5)})
		}
		if got, want := tr.Dose(quagga, 0.5), quagga.Dose(samples, 0); math.Abs(got-want) > 1e-9*(1+want) {
			t.Fatalf("dose %v, want %v", got, want)
		}
	})
}

func TestColdest(t *testing.T) {
	inlet := clean(t, []trace.Reading{{0, 61, 2}, {10, 63, 3}, {20, 62, 4}, {30, 64, 5}})
	outlet := clean(t, []trace.Reading{{5, 60, 2}, {15, 58, 3}, {25, 65, 4}})
	want := []trace.Point{
		{0, 61, false},
		{5, 60, true}, // the outlet probe had not started
		{10, 58, false},
		{15, 58, false},
		{20, 58, false},
		{25, 62, false},
		{30, 64, true}, // the outlet probe has stopped
	}
	got := trace.Coldest(inlet, outlet).Points
	if len(got) != len(want) {
		t.Fatalf("%v, want %v", got, want)
	}
	for i := range want {
		if got[i] != want[i] {
			t.Errorf("point %d: %+v, want %+v", i, got[i], want[i])
		}
	}
	if got := trace.Coldest(); len(got.Points) != 0 {
		t.Errorf("no probes: %v", got)
	}
	if h := trace.Coldest(inlet, trace.Trace{}).LongestHold(0, 0); h.Seconds != 0 {
		t.Errorf("a probe without any reading: held %v s, want 0", h.Seconds)
	}
	bad := trace.Trace{Points: []trace.Point{{AtS: 0, TempC: 70}, {AtS: math.NaN(), TempC: 70}, {AtS: 30, TempC: 70}}}
	if h := trace.Coldest(inlet, bad).LongestHold(0, 0); h.Seconds != 0 {
		t.Errorf("a probe with a time that is not a number: held %v s, want 0", h.Seconds)
	}
}

// The coldest of several probes is at or below each of them, needs no order, and never holds longer than any of them.
func TestColdestProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		probes := make([]trace.Trace, rapid.IntRange(1, 4).Draw(t, "probes"))
		for i := range probes {
			probes[i], _ = trace.Clean(drawOrdered(t), trace.Options{})
		}
		joint := trace.Coldest(probes...)
		for _, p := range probes {
			if a, b := joint.LongestHold(55, 0).Seconds, p.LongestHold(55, 0).Seconds; a > b+1e-9 {
				t.Fatalf("joint hold %v s, one probe alone %v s", a, b)
			}
			if a, b := joint.Dose(quagga, 0), p.Dose(quagga, 0); a > b*(1+1e-12) {
				t.Fatalf("joint dose %v, one probe alone %v", a, b)
			}
		}
		other := trace.Coldest(rapid.Permutation(probes).Draw(t, "order")...)
		if len(other.Points) != len(joint.Points) {
			t.Fatalf("order of probes matters")
		}
		for i := range joint.Points {
			if joint.Points[i] != other.Points[i] {
				t.Fatalf("order of probes matters at %v: %v", joint.Points[i], other.Points[i])
			}
		}
		if len(probes) == 1 {
			for i, p := range probes[0].Points {
				if joint.Points[i] != p {
					t.Fatalf("one probe alone is changed: %v, want %v", joint.Points[i], p)
				}
			}
		}
	})
}
