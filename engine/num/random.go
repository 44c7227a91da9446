package num

import (
	"encoding/binary"
	"hash/fnv"
	"math"
	"math/rand/v2"
)

// Stream returns the stream of random numbers that belongs to a seed and a name. Give each process of a simulation its
// own name ("arrivals", "service", "water 17"): then adding a process, or drawing more from one, leaves the luck of all
// others as it was, and two plans can be compared on the same luck.
//
// The generator is PCG-DXSM of math/rand/v2. The seed is its first word. The second is the 64-bit FNV-1a hash of the
// seed's eight bytes, lowest first, followed by the name. The seed is in both because the low half of PCG's state
// develops on its own: with the name alone there, neighbouring seeds would share it for ever. The same seed and name
// give the same numbers on every platform.
func Stream(seed uint64, name string) *rand.Rand {
	var bytes [8]byte
	binary.LittleEndian.PutUint64(bytes[:], seed)
	h := fnv.New64a()
	h.Write(bytes[:])
	h.Write([]byte(name))
	return rand.New(rand.NewPCG(seed, h.Sum64()))
}

// Beta draws from the Beta(a, b) distribution as X/(X+Y) of two gamma variates. It allocates nothing. Shapes that are
// not positive finite numbers give NaN.
func Beta(r *rand.Rand, a, b float64) float64 {
	if !(a > 0 && b > 0) || math.IsInf(a, 1) || math.IsInf(b, 1) {
		return math.NaN()
	}
	x, logX := gamma(r, a)
	y, logY := gamma(r, b)
	if logX == 0 && logY == 0 {
		return x / (x + y)
	}
	// A small shape can send its variate below the smallest float, so the ratio is taken of the logarithms.
	return 1 / (1 + math.Exp(math.Log(y)+logY-math.Log(x)-logX))
}

// gamma draws from the Gamma distribution with the given shape and scale 1, as the product x·exp(logFactor).
//
// Method of Marsaglia & Tsang 2000 (ACM Trans. Math. Softw. 26:363-372): a cubed normal, accepted with probability above
// 0.95 for every shape of at least 1. Below 1 their section 6 applies: Gamma(shape) = Gamma(shape+1)·U^(1/shape), whose
// second factor is handed back as a logarithm because it can underflow.
func gamma(r *rand.Rand, shape float64) (x, logFactor float64) {
	if shape < 1 {
		logFactor = -r.ExpFloat64() / shape // -log U is a standard exponential
		shape++
	}
	d := shape - 1.0/3
	c := 1 / math.Sqrt(9*d)
	for {
		z := r.NormFloat64()
		v := 1 + c*z
		if v <= 0 {
			continue
		}
		v = v * v * v
		u := r.Float64()
		// The squeeze spares most of the logarithms.
		if u < 1-0.0331*z*z*z*z || math.Log(u) < z*z/2+d*(1-v+math.Log(v)) {
			return d * v, logFactor
		}
	}
}
