package trace_test

import (
	"testing"

	"thwart/engine/lethal"
	"thwart/engine/trace"
	"thwart/unit"
)

// tenHours is a reading every second for ten hours, the longest file a wash unit is likely to bring in.
func tenHours() []trace.Reading {
	rows := make([]trace.Reading, 36000)
	for i := range rows {
		rows[i] = trace.Reading{AtS: float64(i), TempC: unit.Celsius(45 + float64(i%200)/10), Row: i + 2}
	}
	return rows
}

// BenchmarkJudge36000 cleans ten hours at one reading a second, finds the hold and adds up three doses. The target is
// 3 ms, so that a phone redraws while a finger moves.
func BenchmarkJudge36000(b *testing.B) {
	rows := tenHours()
	profiles := []lethal.Profile{
		quagga,
		{Name: "flat", RefC: 43.3, RefS: 300, MinC: 43.3, FloorS: 300},
		{Name: "sloping above", RefC: 50, RefS: 300, ZHighC: 14.3, MinC: 50, FloorS: 60},
	}
	b.ReportAllocs()
	for b.Loop() {
		tr, _ := trace.Clean(rows, trace.Options{})
		if tr.LongestHold(60, 0.5).Seconds == 0 {
			b.Fatal("no hold")
		}
		for _, p := range profiles {
			if tr.Dose(p, 0.5) == 0 {
				b.Fatal("no dose")
			}
		}
	}
}

func BenchmarkClean36000(b *testing.B) {
	rows := tenHours()
	b.ReportAllocs()
	for b.Loop() {
		trace.Clean(rows, trace.Options{})
	}
}

// Judging a cleaned trace allocates nothing: it runs for every redraw.
func TestJudgingDoesNotAllocate(t *testing.T) {
	tr := clean(t, tenHours())
	standard := trace.Standard{TargetC: 60, ContactS: 10}
	if n := testing.AllocsPerRun(10, func() {
		standard.Judge(tr, 0.5)
		tr.Dose(quagga, 0.5)
	}); n != 0 {
		t.Errorf("%v allocations, want 0", n)
	}
}
