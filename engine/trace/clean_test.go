package trace_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"thwart/engine/trace"
	"thwart/unit"
)

func kinds(notes []trace.Note) []trace.Kind {
	var all []trace.Kind
	for _, n := range notes {
		if !slices.Contains(all, n.Kind) {
			all = append(all, n.Kind)
		}
	}
	slices.Sort(all)
	return all
}

func TestCleanRepairs(t *testing.T) {
	nan := unit.Celsius(math.NaN())
	for _, c := range []struct {
		name  string
		rows  []trace.Reading
		held  float64 // longest hold at 60 °C
		kinds []trace.Kind
	}{
		{"nothing", nil, 0, nil},
		{"nothing to repair", steady(0, 20, 1, 60), 20, nil},
		{"step of 30 s", []trace.Reading{{0, 60, 2}, {30, 60, 3}}, 30, nil},
		{"gap of 31 s", []trace.Reading{{0, 60, 2}, {31, 60, 3}}, 0, []trace.Kind{trace.Gap}},
		{"gap between two holds", numbered(steady(0, 8, 1, 60), steady(60, 66, 1, 60)), 8, []trace.Kind{trace.Gap}},
		{"latecomer", []trace.Reading{{0, 60, 2}, {2, 60, 3}, {1, 60, 4}, {3, 60, 5}}, 3, []trace.Kind{trace.OutOfOrder}},
		{"cold latecomer breaks the hold", []trace.Reading{{0, 60, 2}, {2, 60, 3}, {1, 58, 4}, {3, 60, 5}}, 1, []trace.Kind{trace.OutOfOrder}},
		{"newest first", []trace.Reading{{30, 60, 2}, {20, 60, 3}, {10, 60, 4}, {0, 60, 5}}, 30, []trace.Kind{trace.OutOfOrder}},
		{"same time twice, the colder counts", []trace.Reading{{0, 60, 2}, {5, 60, 3}, {5, 58, 4}, {10, 60, 5}}, 0, []trace.Kind{trace.Duplicate}},
		{"same time twice, both hot", []trace.Reading{{0, 60, 2}, {5, 60, 3}, {5, 61, 4}, {10, 60, 5}}, 10, []trace.Kind{trace.Duplicate}},
		{"empty cell", []trace.Reading{{0, 60, 2}, {1, trace.NoReading, 3}, {2, 60, 4}, {5, 60, 5}}, 3, []trace.Kind{trace.Missing}},
		{"empty cell at a time that was read", []trace.Reading{{0, 60, 2}, {1, 60, 3}, {1, trace.NoReading, 4}, {2, 60, 5}}, 0, []trace.Kind{trace.Missing}},
		{"not a number", []trace.Reading{{0, 60, 2}, {1, nan, 3}, {2, 60, 4}}, 0, []trace.Kind{trace.OutsideRange}},
		{"broken wire", []trace.Reading{{0, 60, 2}, {1, 999, 3}, {2, 60, 4}}, 0, []trace.Kind{trace.OutsideRange}},
		{"110.1 °C all along", steady(0, 60, 1, 110.1), 0, []trace.Kind{trace.OutsideRange}},
		{"time not a number", []trace.Reading{{0, 60, 2}, {1, 60, 3}, {math.NaN(), 60, 4}, {2, 60, 5}, {4, 60, 6}}, 2, []trace.Kind{trace.NoTime}},
		{"time not a number at the head", []trace.Reading{{math.Inf(1), 60, 2}, {0, 60, 3}, {1, 60, 4}, {3, 60, 5}}, 2, []trace.Kind{trace.NoTime}},
		{"no time at all", []trace.Reading{{math.NaN(), 60, 2}, {math.NaN(), 60, 3}}, 0, []trace.Kind{trace.NoTime}},
		{"spike of one reading", []trace.Reading{{0, 20, 2}, {1, 95, 3}, {2, 21, 4}}, 0, []trace.Kind{trace.Spike}},
		{"hold does not run into a spike", []trace.Reading{{0, 61, 2}, {5, 61, 3}, {6, 95, 4}, {7, 20, 5}}, 5, []trace.Kind{trace.Spike}},
		{"small ripple is no spike", []trace.Reading{{0, 60, 2}, {0.1, 63, 3}, {0.2, 60, 4}}, 0.2, nil},
		{"rise that stays is no spike", []trace.Reading{{0, 20, 2}, {1, 60, 3}, {2, 60, 4}, {12, 60, 5}}, 11, nil},
		{"dip is kept", []trace.Reading{{0, 60, 2}, {4, 60, 3}, {5, 20, 4}, {6, 60, 5}, {9, 60, 6}}, 4, []trace.Kind{trace.Dip}},
	} {
		tr, notes := trace.Clean(c.rows, trace.Options{})
		if got := tr.LongestHold(60, 0).Seconds; got != c.held {
			t.Errorf("%s: held %v s, want %v", c.name, got, c.held)
		}
		if got := kinds(notes); !slices.Equal(got, c.kinds) {
			t.Errorf("%s: notes %v, want %v", c.name, got, c.kinds)
		}
		for _, n := range notes {
			if n.Text == "" || n.Row > 0 && !strings.HasPrefix(n.Text, "line ") {
				t.Errorf("%s: note %+v does not say where and what", c.name, n)
			}
		}
	}
}

// A logger whose clock starts again at zero writes a second record over the first. Two hot stretches must not become
// one long one, whether the second begins in the middle of the first or joins on behind.
func TestRestartIsNotMerged(t *testing.T) {
	for _, c := range []struct {
		name string
		rows []trace.Reading
		most float64 // no reading of the file proves a longer hold
		held float64 // what is left when each time that two records claim counts for neither
	}{
		{"second record overlaps, between the first one's times", numbered(steady(0, 100, 1, 60), steady(50.5, 150.5, 1, 60)), 100, 50},
		{"second record overlaps, on the first one's times", numbered(steady(0, 100, 1, 60), steady(50, 150, 1, 60)), 100, 49},
		{"second record ends where the first begins", numbered(steady(100, 150, 1, 60), steady(49, 99, 1, 60)), 50, 50},
		{"small file", numbered(steady(20, 22, 1, 60), steady(0, 2, 1, 60)), 2, 2},
	} {
		tr, notes := trace.Clean(c.rows, trace.Options{})
		if got := tr.LongestHold(60, 0).Seconds; got > c.most || got != c.held {
			t.Errorf("%s: held %v s, want %v; at most %v is proven", c.name, got, c.held, c.most)
		}
		if !slices.Contains(kinds(notes), trace.Restart) {
			t.Errorf("%s: notes %v do not tell of the restart", c.name, kinds(notes))
		}
		sessions := trace.Sessions(c.rows, trace.Options{})
		if len(sessions) != 2 || len(sessions[0])+len(sessions[1]) != len(c.rows) {
			t.Errorf("%s: %d sessions, want 2", c.name, len(sessions))
			continue
		}
		if got := clean(t, sessions[0]).LongestHold(60, 0).Seconds; got != sessions[0][len(sessions[0])-1].AtS-sessions[0][0].AtS {
			t.Errorf("%s: first session alone held %v s", c.name, got)
		}
	}
}

// A logger that restarts all the time gives the same times again and again. That is no shuffled file: put in order of
// time the pieces would look like one long hold.
func TestManyRestartsAreNotAShuffle(t *testing.T) {
	var rows []trace.Reading
	for range 10 {
		for _, from := range []float64{60, 40, 20, 0} {
			rows = append(rows, steady(from, from+10, 10, 60)...)
		}
	}
	rows = numbered(rows)
	if got := clean(t, rows).LongestHold(60, 0).Seconds; got > 10 {
		t.Errorf("held %v s, at most 10 is proven", got)
	}
}

// Readings that a logger sends late, in a block, belong where their times put them: a cold stretch among them must
// break a hold that looks unbroken without it.
func TestLateBlockBreaksTheHold(t *testing.T) {
	rows := numbered(steady(0, 49, 1, 61), steady(61, 100, 1, 61), steady(50, 60, 1, 20), steady(101, 120, 1, 61))
	tr, notes := trace.Clean(rows, trace.Options{})
	if got := tr.LongestHold(60, 0).Seconds; got != 49 {
		t.Errorf("held %v s, want 49", got)
	}
	if !slices.Contains(kinds(notes), trace.Restart) {
		t.Errorf("notes %v do not tell that the clock went back", kinds(notes))
	}
}

func TestNotesAreBounded(t *testing.T) {
	var rows []trace.Reading
	for i := range 5000 {
		rows = append(rows, trace.Reading{AtS: float64(i / 2), TempC: 60, Row: i + 2})
	}
	_, notes := trace.Clean(rows, trace.Options{})
	if len(notes) != 21 {
		t.Fatalf("%d notes, want 20 and a count of the rest", len(notes))
	}
	if got := notes[20].Text; got != "2480 more notes of this kind: duplicate time" {
		t.Errorf("last note %q", got)
	}
}

func TestOptionsFallBackToDefaults(t *testing.T) {
	rows := []trace.Reading{{0, 60, 2}, {31, 60, 3}}
	for _, bad := range []float64{0, -1, math.NaN(), math.Inf(1)} {
		tr, _ := trace.Clean(rows, trace.Options{MaxGapS: bad})
		if h := tr.LongestHold(60, 0); h.Seconds != 0 {
			t.Errorf("MaxGapS %v: held %v s, want the default of 30 s to stand", bad, h.Seconds)
		}
	}
	tr, _ := trace.Clean(rows, trace.Options{MaxGapS: 60})
	if h := tr.LongestHold(60, 0); h.Seconds != 31 {
		t.Errorf("MaxGapS 60: held %v s, want 31", h.Seconds)
	}
}

func TestSessionsOddTimes(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	rows := []trace.Reading{{nan, 60, 2}, {0, 60, 3}, {1, 60, 4}, {inf, 60, 5}, {2, 60, 6}, {-100, 60, 7}, {-99, 60, 8}}
	sessions := trace.Sessions(rows, trace.Options{})
	if len(sessions) != 2 || len(sessions[0]) != 5 || len(sessions[1]) != 2 {
		t.Errorf("sessions %v, want 5 and 2 readings", sessions)
	}
	if got := trace.Sessions(nil, trace.Options{}); len(got) != 0 {
		t.Errorf("no readings: %v", got)
	}
}

// drawOrdered makes readings in order of time, some of them doubtful.
func drawOrdered(t *rapid.T) []trace.Reading {
	n := rapid.IntRange(0, 40).Draw(t, "n")
	rows := make([]trace.Reading, 0, n)
	at := 0.0
	temp := rapid.OneOf(rapid.Float64Range(50, 70), rapid.Float64Range(50, 70), rapid.Float64Range(50, 70),
		rapid.Float64Range(-50, 200), rapid.SampledFrom([]float64{math.NaN(), float64(trace.NoReading), 60}))
	for i := range n {
		rows = append(rows, trace.Reading{AtS: at, TempC: unit.Celsius(temp.Draw(t, "temp")), Row: i + 2})
		at += rapid.SampledFrom([]float64{0, 0.5, 1, 1, 1, 5, 29, 31}).Draw(t, "dt")
	}
	return rows
}

// cautious is the independent reading of the rows by which Clean is judged. It looks at times only: a step between
// neighbouring times counts when it is at most 30 s long and every reading at both of its ends is believable and at or
// above the target. It returns the longest unbroken stretch.
func cautious(rows []trace.Reading, target unit.Celsius) float64 {
	coldest := map[float64]unit.Celsius{}
	for _, r := range rows {
		c := r.TempC
		if !(c >= -20 && c <= 110) {
			c = -300
		}
		if old, seen := coldest[r.AtS]; !seen || c < old {
			coldest[r.AtS] = c
		}
	}
	var times []float64
	for at := range coldest {
		times = append(times, at)
	}
	slices.Sort(times)
	longest, from := 0.0, math.NaN()
	for i := 1; i < len(times); i++ {
		ok := times[i]-times[i-1] <= 30 && coldest[times[i]] >= target && coldest[times[i-1]] >= target
		switch {
		case !ok:
			from = math.NaN()
		case math.IsNaN(from):
			from = times[i-1]
		}
		if ok {
			longest = max(longest, times[i]-from)
		}
	}
	return longest
}

func TestCleanNeverWarmer(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rows := drawOrdered(t)
		target := unit.Celsius(rapid.Float64Range(45, 70).Draw(t, "target"))
		tr, notes := trace.Clean(rows, trace.Options{})
		got, proven := tr.LongestHold(target, 0).Seconds, cautious(rows, target)
		if got > proven+1e-9 {
			t.Fatalf("held %v s, but the rows prove %v s", got, proven)
		}
		// Without a spike there is nothing to be colder about.
		if !slices.Contains(kinds(notes), trace.Spike) && math.Abs(got-proven) > 1e-9 {
			t.Fatalf("held %v s, but the rows prove %v s", got, proven)
		}
		for i, p := range tr.Points {
			if i > 0 && !(p.AtS > tr.Points[i-1].AtS) {
				t.Fatalf("points are not in order of time: %v", tr.Points)
			}
			if !(p.TempC >= trace.LowestC && p.TempC <= trace.HighestC) {
				t.Fatalf("point %v cannot be true", p)
			}
		}
		if len(tr.Points) > 0 && tr.Points[0].Gap {
			t.Fatal("a gap before the first point")
		}
	})
}

// With its line numbers a reading may stand anywhere in the slice.
func TestOrderOfTheSliceDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rows := drawOrdered(t)
		for i := range rows { // some clocks go wrong, so that restarts are covered too
			if rapid.IntRange(0, 20).Draw(t, "wrong") == 0 {
				rows[i].AtS -= rapid.Float64Range(0, 100).Draw(t, "back")
			}
		}
		shuffled := rapid.Permutation(rows).Draw(t, "shuffled")
		keep := slices.Clone(shuffled)
		a, aNotes := trace.Clean(rows, trace.Options{})
		b, bNotes := trace.Clean(shuffled, trace.Options{})
		if !slices.Equal(a.Points, b.Points) || !slices.Equal(aNotes, bNotes) {
			t.Fatalf("%v\n%v\nwant\n%v\n%v", b.Points, bNotes, a.Points, aNotes)
		}
		if !slices.EqualFunc(keep, shuffled, func(p, q trace.Reading) bool {
			return p.AtS == q.AtS && p.Row == q.Row && math.Float64bits(float64(p.TempC)) == math.Float64bits(float64(q.TempC))
		}) {
			t.Fatal("Clean changed the caller's rows")
		}
	})
}

// When the lines of the file themselves are shuffled, the result must never be warmer than in order, and when the
// shuffle is thorough and no time occurs twice it must be the same.
func TestShuffledFile(t *testing.T) {
	thorough := 0
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 120).Draw(t, "n")
		rows := make([]trace.Reading, n)
		at := 0.0
		for i := range rows {
			rows[i] = trace.Reading{AtS: at, TempC: unit.Celsius(rapid.Float64Range(58, 64).Draw(t, "temp"))}
			at += rapid.Float64Range(0.5, 20).Draw(t, "dt")
		}
		inOrder, _ := trace.Clean(rows, trace.Options{})
		mixed, notes := trace.Clean(rapid.Permutation(rows).Draw(t, "lines"), trace.Options{})
		if a, b := mixed.LongestHold(60, 0).Seconds, inOrder.LongestHold(60, 0).Seconds; a > b+1e-9 {
			t.Fatalf("shuffled: held %v s, in order %v s", a, b)
		}
		if a, b := mixed.Dose(quagga, 0), inOrder.Dose(quagga, 0); a > b*(1+1e-12) {
			t.Fatalf("shuffled: dose %v, in order %v", a, b)
		}
		if !slices.Contains(kinds(notes), trace.Restart) {
			if n > 60 {
				thorough++
			}
			if !slices.Equal(mixed.Points, inOrder.Points) {
				t.Fatalf("%v\nwant\n%v", mixed.Points, inOrder.Points)
			}
		}
	})
	if thorough == 0 {
		t.Error("no thorough shuffle was recognised: the second half of this test shows nothing")
	}
}

// However a file with restarts is read, by the clock or session by session, Clean holds no longer.
func TestRestartsNeverWarmer(t *testing.T) {
	restarts := 0
	rapid.Check(t, func(t *rapid.T) {
		var rows []trace.Reading
		for range rapid.IntRange(2, 4).Draw(t, "records") {
			at := float64(rapid.IntRange(0, 120).Draw(t, "start")) / 2
			for range rapid.IntRange(1, 40).Draw(t, "n") {
				rows = append(rows, trace.Reading{AtS: at, TempC: unit.Celsius(rapid.Float64Range(59, 65).Draw(t, "temp")), Row: len(rows) + 2})
				at += 1
			}
		}
		tr, notes := trace.Clean(rows, trace.Options{})
		if slices.Contains(kinds(notes), trace.Restart) {
			restarts++
		}
		got := tr.LongestHold(60, 0).Seconds
		if byClock := cautious(rows, 60); got > byClock+1e-9 {
			t.Fatalf("held %v s, by the clock %v s", got, byClock)
		}
		longest := 0.0
		for _, s := range trace.Sessions(rows, trace.Options{}) {
			longest = max(longest, cautious(s, 60))
		}
		if got > longest+1e-9 {
			t.Fatalf("held %v s, longest session %v s", got, longest)
		}
	})
	if restarts == 0 {
		t.Error("no restart was drawn: this test shows nothing")
	}
}

// Hotter or longer never lowers, as long as no reading is taken for a fault: a jump that cannot be true is a fault,
// not heat.
func TestHotterOrLongerNeverLower(t *testing.T) {
	faulty := func(notes []trace.Note) bool {
		k := kinds(notes)
		return slices.Contains(k, trace.Spike) || slices.Contains(k, trace.OutsideRange)
	}
	compared := 0
	rapid.Check(t, func(t *rapid.T) {
		rows := drawOrdered(t)
		before, _ := trace.Clean(rows, trace.Options{})
		hotter := slices.Clone(rows)
		for i := range hotter {
			if hotter[i].TempC >= trace.LowestC {
				hotter[i].TempC += unit.Celsius(rapid.Float64Range(0, 4).Draw(t, "warm"))
			}
		}
		longer := slices.Clone(rows)
		last := trace.Reading{}
		if len(rows) > 0 {
			last = rows[len(rows)-1]
		}
		longer = append(longer, trace.Reading{AtS: last.AtS + rapid.Float64Range(0.5, 40).Draw(t, "more"),
			TempC: unit.Celsius(rapid.Float64Range(0, 100).Draw(t, "temp")), Row: last.Row + 1})
		for name, changed := range map[string][]trace.Reading{"hotter": hotter, "longer": longer} {
			after, notes := trace.Clean(changed, trace.Options{})
			if faulty(notes) {
				continue
			}
			compared++
			if a, b := after.LongestHold(57, 0).Seconds, before.LongestHold(57, 0).Seconds; a < b-1e-9 {
				t.Fatalf("%s: held %v s, before %v s", name, a, b)
			}
			if a, b := after.Dose(quagga, 0), before.Dose(quagga, 0); a < b*(1-1e-12) {
				t.Fatalf("%s: dose %v, before %v", name, a, b)
			}
		}
	})
	if compared == 0 {
		t.Error("nothing was compared")
	}
}
