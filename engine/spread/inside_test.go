package spread

import "testing"

func TestNothingIsAllocatedInARun(t *testing.T) {
	const waters = 200
	net := &Network{Start: []int32{0}}
	opt := Options{Infested: make([]bool, waters), Alpha: 0.02, C: 1.4, Compliance: 1, Years: 8, Runs: 2000, Seed: 3, Prior: &Prior{AlphaFactor: 2, CHalf: 0.3}}
	opt.Infested[0] = true
	for i := range waters {
		for k := 1; k <= 8; k++ {
			net.To = append(net.To, int32((i+k*k*7)%waters))
			net.Risky = append(net.Risky, float32(3*k))
			net.Stopped = append(net.Stopped, 0.3)
		}
		net.Start = append(net.Start, int32(len(net.To)))
	}
	if err := opt.check(net); err != nil {
		t.Fatal(err)
	}
	w := prepare(net, &opt).worker()
	for r := range 1000 { // lists grow to their size
		w.run(uint64(r))
	}
	next := uint64(1000)
	if n := testing.AllocsPerRun(500, func() { w.run(next); next++ }); n != 0 {
		t.Errorf("%g allocations a run", n)
	}
}
