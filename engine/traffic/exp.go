package traffic

import "math"

// A fit is little else than one exponential for each pair of waters and pass, and one that does not wait for itself takes a fifth of the
// library's time there.

const (
	expParts = 64 // parts of an octave
	perPart  = expParts / math.Ln2
	// ln 2 / 64 in two pieces: a whole number of parts times the first is exact.
	partHi = 0x1.62e42fefap-07
	partLo = 0x1.cf79abc9e3b3ap-46
	toInt  = 0x1.8p52 // added to a number below 2^51, rounds it to a whole one
)

var octave = func() (t [expParts]uint64) {
	for i := range t {
		t[i] = math.Float64bits(math.Exp2(float64(i) / expParts))
	}
	return t
}()

// exp is e^x to 4·10⁻¹⁶ of itself (Tang 1989, ACM Trans. Math. Softw. 15:144-157): a power of 2^(1/64) from a table, and a short series for
// the rest.
func exp(x float64) float64 {
	if !(x > -700 && x < 700) {
		return math.Exp(x)
	}
	shifted := x*perPart + toInt
	n := int64(math.Float64bits(shifted)) - int64(math.Float64bits(toInt))
	whole := shifted - toInt
	r := x - whole*partHi - whole*partLo
	p := r + r*r*(1./2+r*(1./6+r*(1./24+r*(1./120))))
	scale := math.Float64frombits(octave[n&(expParts-1)] + uint64(n>>6)<<52)
	return scale + scale*p
}

// log1p is log(1+x) for x ≥ 0 to 2·10⁻¹⁴ of itself, at a fraction of the library's cost: most pairs see next to no craft.
func log1p(x float64) float64 {
	if x > 1.0/128 {
		return math.Log(1 + x)
	}
	return x * (1 - x*(1./2-x*(1./3-x*(1./4-x*(1./5-x*(1./6-x*(1./7-x/8)))))))
}
