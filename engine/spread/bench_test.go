package spread_test

import (
	"math"
	"math/rand/v2"
	"runtime"
	"testing"

	"thwart/engine/spread"
)

// state makes a region of so many waters, each sending craft to so many others, one in fifty infested, with a plan that stops half
// of what leaves every third water.
func state(waters, degree int) (*spread.Network, []bool) {
	r := rand.New(rand.NewPCG(6, 6))
	net := &spread.Network{Start: []int32{0}}
	infested := make([]bool, waters)
	for i := range waters {
		infested[i] = i%50 == 0
		for range degree {
			to := int32(r.IntN(waters))
			if to == int32(i) {
				to = (to + 1) % int32(waters)
			}
			stopped := float32(0)
			if i%3 == 0 {
				stopped = 0.5
			}
			net.To = append(net.To, to)
			net.Risky = append(net.Risky, float32(10*math.Exp(r.NormFloat64())))
			net.Stopped = append(net.Stopped, stopped)
		}
		net.Start = append(net.Start, int32(len(net.To)))
	}
	return net, infested
}

// benchmarkRun is 10,000 runs of ten years with and without a plan.
func benchmarkRun(b *testing.B, waters, flows int) {
	net, infested := state(waters, flows/waters)
	opt := spread.Options{Infested: infested, Alpha: 0.0013, C: 1.5, Compliance: 1, Years: 10, Runs: 10_000, Seed: 1}
	var r *spread.Result
	for b.Loop() {
		var err error
		if r, err = spread.Run(b.Context(), net, opt); err != nil {
			b.Fatal(err)
		}
	}
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	b.ReportMetric(float64(m.Sys)/1e6, "MB")
	b.ReportMetric(r.Years[9].Without.Mid, "fallen/run")
}

func BenchmarkRun1kWaters40kFlows(b *testing.B)   { benchmarkRun(b, 1000, 40_000) }
func BenchmarkRun5kWaters200kFlows(b *testing.B)  { benchmarkRun(b, 5000, 200_000) }
func BenchmarkRun10kWaters400kFlows(b *testing.B) { benchmarkRun(b, 10_000, 400_000) }
func BenchmarkRun25kWaters1MFlows(b *testing.B)   { benchmarkRun(b, 25_000, 1_000_000) }
