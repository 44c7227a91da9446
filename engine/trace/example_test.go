package trace_test

import (
	"fmt"

	"thwart/engine/trace"
	"thwart/unit"
)

// A live well is flushed at 49 °C. The logger misses a minute, so the two stretches do not add up to the 130 s asked
// for, and a gauge good to only 1 °C could not have proven 120 °F at all.
func Example() {
	var rows []trace.Reading
	for at := 0; at <= 100; at += 10 {
		rows = append(rows, trace.Reading{AtS: float64(at), TempC: 49.2, Row: len(rows) + 2})
	}
	for at := 160; at <= 240; at += 10 {
		rows = append(rows, trace.Reading{AtS: float64(at), TempC: 49.2, Row: len(rows) + 2})
	}
	tr, notes := trace.Clean(rows, trace.Options{})
	for _, n := range notes {
		fmt.Println(n.Text)
	}
	standard := trace.Standard{TargetC: unit.FromFahrenheit(120), ContactS: 130}
	fine, coarse := standard.Judge(tr, 0.1), standard.Judge(tr, 1)
	fmt.Printf("± 0.1 °C: met %v, held %g s, %g s short\n", fine.Met, fine.Longest.Seconds, fine.ShortS)
	fmt.Printf("± 1 °C: met %v, held %g s\n", coarse.Met, coarse.Longest.Seconds)
	// Output:
	// line 12: no reading for 60 s (accepted: at most 30 s); the gap counts as cold
	// ± 0.1 °C: met false, held 100 s, 30 s short
	// ± 1 °C: met false, held 0 s
}

// Of two probes in a ballast tank the colder decides.
func ExampleColdest() {
	near := trace.Trace{Points: []trace.Point{{AtS: 0, TempC: 52}, {AtS: 10, TempC: 53}}}
	far := trace.Trace{Points: []trace.Point{{AtS: 0, TempC: 44}, {AtS: 10, TempC: 50}}}
	fmt.Println(near.LongestHold(48.9, 0).Seconds, trace.Coldest(near, far).LongestHold(48.9, 0).Seconds)
	// Output: 10 0
}
