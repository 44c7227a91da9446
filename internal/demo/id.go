package demo

import (
	"encoding/binary"
	"math"
	"math/rand/v2"
	"time"

	"thwart"
)

// newID makes an id from a moment and a stream, so that the same seed gives the same ids.
func newID(t time.Time, r *rand.Rand) string {
	var rest [10]byte
	binary.BigEndian.PutUint16(rest[0:], uint16(r.Uint64()))
	binary.BigEndian.PutUint64(rest[2:], r.Uint64())
	return thwart.MakeID(t, rest)
}

// poisson draws a count with the given mean: products of uniforms (Knuth 1969), in pieces of at most 20 so that the product
// does not underflow.
func poisson(r *rand.Rand, mean float64) int {
	n := 0
	for mean > 0 {
		piece := math.Min(mean, 20)
		mean -= piece
		limit, p := math.Exp(-piece), r.Float64()
		for p > limit {
			n++
			p *= r.Float64()
		}
	}
	return n
}

// pick draws an index in proportion to the weights; -1 where they sum to nothing.
func pick(r *rand.Rand, weights []float64) int {
	var sum float64
	for _, w := range weights {
		sum += w
	}
	x := r.Float64() * sum
	last := -1
	for i, w := range weights {
		if w <= 0 {
			continue
		}
		last = i
		if x -= w; x < 0 {
			return i
		}
	}
	return last
}

func chance(r *rand.Rand, p float64) bool { return r.Float64() < p }

func between(r *rand.Rand, lo, hi float64) float64 { return lo + (hi-lo)*r.Float64() }

// round cuts a figure to so many decimals, as a person or an instrument would write it.
func round(x float64, decimals int) float64 {
	f := math.Pow10(decimals)
	return math.Round(x*f) / f
}

func minutes(m float64) time.Duration { return time.Duration(m * float64(time.Minute)) }

func hours(h float64) time.Duration { return time.Duration(h * float64(time.Hour)) }

func seconds(s float64) time.Duration { return time.Duration(math.Round(s)) * time.Second }
