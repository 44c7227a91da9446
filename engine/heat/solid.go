package heat

import (
	"errors"
	"fmt"
	"math"

	"thwart/engine/num"
	"thwart/unit"
)

// Solid is the stuff of a wall. An organism sits on it and is no hotter than it.
type Solid struct {
	ConductWPerMK float64 // thermal conductivity
	HeatJPerM3K   float64 // density times specific heat capacity
}

// Bath is hot water running over a surface, at a temperature of its own and with a heat transfer coefficient that
// depends on how fast it runs.
type Bath struct {
	Water       unit.Celsius
	Start       unit.Celsius // the wall before the water comes
	FilmWPerM2K float64
}

// Plate is a sheet heated on one face, the other face losing nothing.
type Plate struct {
	Solid
	ThicknessM float64
}

// lumpedBiot is the Biot number up to which a body may be taken as one temperature throughout; the error is then below
// 5 %. Incropera & DeWitt, Fundamentals of Heat and Mass Transfer, section 5.1 (from memory).
const lumpedBiot = 0.1

func (s Solid) validate() error {
	return errors.Join(num.Positive("ConductWPerMK", s.ConductWPerMK), num.Positive("HeatJPerM3K", s.HeatJPerM3K))
}

func (b Bath) validate() error {
	return errors.Join(
		num.Within("Water in °C", float64(b.Water), float64(Freezing), float64(Boiling)),
		num.Within("Start in °C", float64(b.Start), -60, float64(Boiling)),
		num.Positive("FilmWPerM2K", b.FilmWPerM2K),
	)
}

// at is the temperature a share of the way from the start to the water.
func (b Bath) at(share float64) unit.Celsius {
	return b.Start + (b.Water-b.Start)*unit.Celsius(share)
}

// share is how far along the way from start to water the target lies, or an [*Unreachable] when the water is no hotter.
func (b Bath) share(target unit.Celsius) (float64, error) {
	switch {
	case target <= b.Start:
		return 0, nil
	case target < b.Water:
		return float64((target - b.Start) / (b.Water - b.Start)), nil
	}
	if err := num.Finite("target in °C", float64(target)); err != nil {
		return math.NaN(), err
	}
	return math.NaN(), &Unreachable{Target: target, SteadyC: max(b.Water, b.Start), NeedInletC: target, NeedFlowLPerMin: math.Inf(1)}
}

// At returns the temperature of the plate after the given seconds in the bath:
//
//	T = Twater + (Tstart - Twater) exp(-h t / (c L))
//
// with c the heat per volume and L the thickness. It takes the plate as one temperature throughout and so refuses one
// whose Biot number hL/k is above 0.1: use [Solid.SurfaceLag] for it.
func (p Plate) At(b Bath, seconds float64) (unit.Celsius, error) {
	tau, err := p.timeConstant(b)
	if err := errors.Join(err, num.NotNegative("seconds", seconds)); err != nil {
		return nanC, err
	}
	return b.at(-math.Expm1(-seconds / tau)), nil
}

// SecondsTo returns how long the plate takes to be at the target or hotter. A target the water itself does not exceed
// gives an [*Unreachable].
func (p Plate) SecondsTo(b Bath, target unit.Celsius) (float64, error) {
	tau, err := p.timeConstant(b)
	if err != nil {
		return math.NaN(), err
	}
	share, err := b.share(target)
	return -tau * math.Log1p(-share), err
}

func (p Plate) timeConstant(b Bath) (float64, error) {
	if err := errors.Join(p.validate(), b.validate(), num.Positive("ThicknessM", p.ThicknessM)); err != nil {
		return math.NaN(), err
	}
	if biot := b.FilmWPerM2K * p.ThicknessM / p.ConductWPerMK; biot > lumpedBiot {
		return math.NaN(), &num.RangeError{Field: "ThicknessM", Value: p.ThicknessM, Accepted: fmt.Sprintf("up to %.2g m, where this plate is one temperature throughout (Biot number %.2g is above %v)", lumpedBiot*p.ConductWPerMK/b.FilmWPerM2K, biot, lumpedBiot)}
	}
	return p.HeatJPerM3K * p.ThicknessM / b.FilmWPerM2K, nil
}

// SurfaceLag returns the temperature at a depth below the surface of a thick wall after the given seconds in the bath:
// the half-space with a heat transfer coefficient (Carslaw & Jaeger 1959, Conduction of Heat in Solids, section 2.7),
//
//	T = Tstart + (Twater - Tstart) [erfc ξ - exp(hx/k + h²αt/k²) erfc(ξ + h√(αt)/k)],  ξ = x / 2√(αt)
//
// A depth of 0 is the surface itself. Fibreglass and rubber warm slowly: minutes after the water is at 60 °C a screw hole
// or a seam three millimetres down is not.
//
// The wall must be thick enough for its back not to have noticed, that is x plus 3√(αt) or so; a thinner one that loses
// nothing at its back warms a little faster than this.
func (s Solid) SurfaceLag(b Bath, depthM, seconds float64) (unit.Celsius, error) {
	if err := errors.Join(s.validate(), b.validate(), num.NotNegative("depthM", depthM), num.NotNegative("seconds", seconds)); err != nil {
		return nanC, err
	}
	return b.at(s.shareAt(b.FilmWPerM2K, depthM, seconds)), nil
}

func (s Solid) shareAt(film, depthM, seconds float64) float64 {
	if seconds == 0 {
		return 0
	}
	diffusion := math.Sqrt(s.ConductWPerMK / s.HeatJPerM3K * seconds)
	xi := depthM / (2 * diffusion)
	// exp(hx/k + β²) = exp((ξ+β)² - ξ²), so both terms share exp(-ξ²) and nothing overflows.
	return math.Exp(-xi*xi) * (erfcx(xi) - erfcx(xi+film*diffusion/s.ConductWPerMK))
}

// SurfaceSecondsTo returns how long a depth below the surface takes to be at the target or hotter, to 1e-9 of the time.
// A target the water itself does not exceed gives an [*Unreachable].
func (s Solid) SurfaceSecondsTo(b Bath, depthM float64, target unit.Celsius) (float64, error) {
	if err := errors.Join(s.validate(), b.validate(), num.NotNegative("depthM", depthM)); err != nil {
		return math.NaN(), err
	}
	share, err := b.share(target)
	if err != nil || share == 0 {
		return share, err // NaN with the error
	}
	// The share rises with time, so bracket by doubling and halve.
	lo, hi := 0.0, 1.0
	for s.shareAt(b.FilmWPerM2K, depthM, hi) < share {
		lo, hi = hi, 2*hi
		if math.IsInf(hi, 1) { // the target lies within rounding of the water's temperature
			return hi, nil
		}
	}
	for hi-lo > 1e-9*hi {
		if mid := lo + (hi-lo)/2; s.shareAt(b.FilmWPerM2K, depthM, mid) < share {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi, nil
}

// erfcx is the scaled complementary error function exp(y²) erfc(y) for y >= 0, to 1e-13 of its value. From y = 10 on the
// product is taken from its asymptotic series (Abramowitz & Stegun 7.1.23), whose twelve terms leave less than 1e-15
// there: erfc itself underflows at 27 and exp(y²) overflows.
func erfcx(y float64) float64 {
	if y < 10 {
		return math.Exp(y*y) * math.Erfc(y)
	}
	sum, term := 1.0, 1.0
	for n := 1; n <= 12; n++ {
		term *= -float64(2*n-1) / (2 * y * y)
		sum += term
	}
	return sum / (y * math.Sqrt(math.Pi))
}
