package heat

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"thwart/internal/refcheck"
	"thwart/unit"
)

var (
	aluminium  = Solid{ConductWPerMK: 237, HeatJPerM3K: 2700 * 900} // common handbook values; 2.43 MJ/(m³ K)
	fibreglass = Solid{ConductWPerMK: 0.25, HeatJPerM3K: 0.25 / 1.3e-7}
	hotBath    = Bath{Water: 60, Start: 20, FilmWPerM2K: 500}
)

func TestAluminiumPlate(t *testing.T) {
	const source = "lumped body, tau = rho c L / h = 14.58 s, evaluated independently"
	plate := Plate{aluminium, 0.003}
	for _, r := range []struct{ s, want float64 }{{5, 31.61264}, {10, 39.85395}, {20, 49.85341}, {30, 54.88966}, {60, 59.34711}} {
		refcheck.Near(t, fmt.Sprintf("after %v s", r.s), float64(refcheck.Must[unit.Celsius](t)(plate.At(hotBath, r.s))), r.want, 0.5e-5+1e-9, source)
	}
	refcheck.Near(t, "seconds to 54 °C", refcheck.Must[float64](t)(plate.SecondsTo(hotBath, 54)), 27.66001, 0.5e-5+1e-9, source)
	refcheck.Near(t, "there already", refcheck.Must[float64](t)(plate.SecondsTo(hotBath, 20)), 0, 0, "starts at 20 °C")
	var e *Unreachable
	if _, err := plate.SecondsTo(hotBath, 60); !errors.As(err, &e) || e.NeedInletC != 60 {
		t.Errorf("as hot as the water: %v", err)
	}
	// 3 mm of fibreglass is far from one temperature: Bi = 6.
	_, err := Plate{fibreglass, 0.003}.At(hotBath, 10)
	refusesField(t, err, "ThicknessM")
}

func TestFibreglassLag(t *testing.T) {
	const source = "Carslaw & Jaeger 1959 section 2.7, evaluated independently with a library's scaled erfc"
	seconds := []float64{10, 30, 60, 120, 300}
	for _, r := range []struct {
		mm   float64
		want [5]float64
	}{
		{0, [5]float64{50.8628, 54.4541, 56.0216, 57.1655, 58.1989}},
		{1, [5]float64{34.9489, 43.9077, 48.2684, 51.5705, 54.6157}},
		{3, [5]float64{21.4395, 28.6754, 35.1741, 41.3055, 47.6955}},
		{5, [5]float64{20.0369, 22.0802, 26.6769, 33.0685, 41.3649}},
	} {
		for i, s := range seconds {
			what := fmt.Sprintf("%v mm down after %v s", r.mm, s)
			refcheck.Near(t, what, float64(refcheck.Must[unit.Celsius](t)(fibreglass.SurfaceLag(hotBath, r.mm/1000, s))), r.want[i], 0.5e-4+1e-9, source)
			refcheck.Near(t, what+", inverted", refcheck.Must[float64](t)(fibreglass.SurfaceSecondsTo(hotBath, r.mm/1000, unit.Celsius(r.want[i])))/s, 1, 2e-3, source)
		}
	}
}

// A second method: explicit finite differences in 25 mm of wall, film at the surface, no loss at the back.
func TestLagAgainstFiniteDifferences(t *testing.T) {
	const (
		cells = 250
		dx    = 0.0001
		dt    = 0.03 // below dx²/2α = 0.0385 s, so the scheme is stable
	)
	temps := make([]float64, cells)
	next := make([]float64, cells)
	for i := range temps {
		temps[i] = 20
	}
	alpha := fibreglass.ConductWPerMK / fibreglass.HeatJPerM3K
	r := alpha * dt / (dx * dx)
	// Half a cell of solid lies between the surface and the first cell's middle.
	film := 1 / (1/hotBath.FilmWPerM2K + dx/2/fibreglass.ConductWPerMK)
	for step := 1; step <= 4000; step++ {
		for i := range temps {
			left, right := 0.0, 0.0
			if i > 0 {
				left = temps[i-1] - temps[i]
			} else {
				left = (60 - temps[0]) * film * dx / fibreglass.ConductWPerMK
			}
			if i < cells-1 {
				right = temps[i+1] - temps[i]
			}
			next[i] = temps[i] + r*(left+right)
		}
		temps, next = next, temps
		if step%1000 == 0 {
			for _, i := range []int{0, 4, 20, 60} {
				depth, s := (float64(i)+0.5)*dx, float64(step)*dt
				got := float64(refcheck.Must[unit.Celsius](t)(fibreglass.SurfaceLag(hotBath, depth, s)))
				refcheck.Near(t, fmt.Sprintf("%v m down after %v s", depth, s), got, temps[i], 0.03, "explicit finite differences, 0.1 mm cells")
			}
		}
	}
}

func TestLagLimits(t *testing.T) {
	refcheck.Near(t, "before the water", float64(refcheck.Must[unit.Celsius](t)(fibreglass.SurfaceLag(hotBath, 0.001, 0))), 20, 0, "nothing has happened yet")
	// A month, where a plain erfc times a plain exp would give 0 times infinity.
	month := float64(refcheck.Must[unit.Celsius](t)(fibreglass.SurfaceLag(hotBath, 0, 30*86400)))
	refcheck.Near(t, "surface after a month", month, 60-40/(500*math.Sqrt(math.Pi*1.3e-7*30*86400)/0.25), 1e-4, "leading term 1/(β√π) of the asymptotic series")
	// A perfect film leaves erfc alone.
	perfect := Bath{Water: 60, Start: 20, FilmWPerM2K: 1e12}
	want := 20 + 40*math.Erfc(0.002/(2*math.Sqrt(1.3e-7*45)))
	refcheck.Near(t, "perfect film", float64(refcheck.Must[unit.Celsius](t)(fibreglass.SurfaceLag(perfect, 0.002, 45))), want, 1e-6, "half-space with a fixed surface temperature")
	// Deeper is later.
	last := 0.0
	for _, mm := range []float64{0, 0.5, 1, 2, 4} {
		s := refcheck.Must[float64](t)(fibreglass.SurfaceSecondsTo(hotBath, mm/1000, 50))
		if s <= last {
			t.Errorf("50 °C %v mm down after %v s, not later than above it (%v s)", mm, s, last)
		}
		last = s
	}
	refcheck.Near(t, "there already", refcheck.Must[float64](t)(fibreglass.SurfaceSecondsTo(hotBath, 0.001, 15)), 0, 0, "starts at 20 °C")
	var e *Unreachable
	if _, err := fibreglass.SurfaceSecondsTo(hotBath, 0.001, 60); !errors.As(err, &e) {
		t.Errorf("as hot as the water: %v", err)
	}
	for _, c := range []float64{math.NaN(), math.Inf(1)} {
		_, err := fibreglass.SurfaceSecondsTo(hotBath, 0.001, unit.Celsius(c))
		refusesField(t, err, "target in °C")
	}
}

func TestScaledErfc(t *testing.T) {
	const source = "exp(x²) erfc(x) to 15 digits, as tabulated (Abramowitz & Stegun ch. 7; from memory)"
	for _, r := range []struct{ y, want float64 }{
		{0, 1}, {1, 0.427583576155807}, {2, 0.255395676310506}, {5, 0.110704637733069}, {10, 0.0561409927438226},
	} {
		refcheck.Near(t, fmt.Sprintf("erfcx(%v)", r.y), erfcx(r.y), r.want, 1e-13*r.want+0.5e-15, source)
	}
	// Abramowitz & Stegun 7.1.13 hems it in on both sides for every y.
	for y := 0.0; y < 1e6; y = y*1.3 + 0.01 {
		got := erfcx(y)
		lower := 2 / math.Sqrt(math.Pi) / (y + math.Sqrt(y*y+2))
		upper := 2 / math.Sqrt(math.Pi) / (y + math.Sqrt(y*y+4/math.Pi))
		if !(got >= lower*(1-1e-13) && got <= upper*(1+1e-13)) { // NaN fails too
			t.Errorf("erfcx(%v) = %v outside %v to %v (Abramowitz & Stegun 7.1.13)", y, got, lower, upper)
		}
	}
	refcheck.Near(t, "the two ways meet at 10", erfcx(math.Nextafter(10, 0)), erfcx(10), 1e-13, "continuity")
}

func TestSolidRefusals(t *testing.T) {
	lag := func(s Solid, b Bath, depth, seconds float64) error {
		_, err := s.SurfaceLag(b, depth, seconds)
		return err
	}
	refusesField(t, lag(Solid{0, 1}, hotBath, 0, 1), "ConductWPerMK")
	refusesField(t, lag(Solid{1, -1}, hotBath, 0, 1), "HeatJPerM3K")
	refusesField(t, lag(fibreglass, Bath{120, 20, 500}, 0, 1), "Water in °C")
	refusesField(t, lag(fibreglass, Bath{60, -80, 500}, 0, 1), "Start in °C")
	refusesField(t, lag(fibreglass, Bath{60, 20, 0}, 0, 1), "FilmWPerM2K")
	refusesField(t, lag(fibreglass, hotBath, -1, 1), "depthM")
	refusesField(t, lag(fibreglass, hotBath, 0, math.NaN()), "seconds")
	_, err := Plate{aluminium, 0}.SecondsTo(hotBath, 50)
	refusesField(t, err, "ThicknessM")
	_, err = Plate{aluminium, 0.003}.At(hotBath, -1)
	refusesField(t, err, "seconds")
	_, err = fibreglass.SurfaceSecondsTo(hotBath, -1, 50)
	refusesField(t, err, "depthM")
}
