package traffic_test

import (
	"fmt"
	"os"
	"runtime"
	"testing"

	"thwart/engine/traffic"
)

// BenchmarkFit fits regions of growing size. 10,000 waters are only fitted where THWART_HEAVY is set: it takes minutes.
func BenchmarkFit(b *testing.B) {
	sizes := []int{50, 200, 1000, 3000}
	if os.Getenv("THWART_HEAVY") != "" {
		sizes = append(sizes, 10000)
	}
	for _, n := range sizes {
		b.Run(fmt.Sprintf("%d-waters", n), func(b *testing.B) {
			c := truth
			c.B[0] -= 1.5 // more waters share the craft
			d := region(n, 1, c, 1)
			runtime.GC()
			b.ReportAllocs()
			for b.Loop() {
				e, err := traffic.Fit(d, traffic.Options{})
				if err != nil {
					b.Fatal(err)
				}
				b.ReportMetric(float64(e.Steps), "passes")
				b.ReportMetric(float64(e.Pairs), "pairs")
			}
			var m runtime.MemStats
			runtime.ReadMemStats(&m)
			b.ReportMetric(float64(m.Sys)/1e6, "MB-of-system")
		})
	}
}
