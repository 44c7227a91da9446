package queue_test

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"thwart/engine/queue"
	"thwart/internal/refcheck"
)

const table = "recursion of the Erlang loss formula, computed in R 4.2.2"

func TestErlangTables(t *testing.T) {
	for _, x := range []struct {
		a    float64
		c    int
		b, w float64 // w 0: not in the table
	}{
		{0.5, 1, 0.33333333, 0.5}, {1, 2, 0.2, 0.33333333}, {2, 3, 0.21052632, 0.44444444}, {2.4, 3, 0.26840634, 0.64719101},
		{3, 4, 0.20610687, 0.50943396}, {3, 5, 0.11005435, 0}, {4, 5, 0.19906687, 0.55411255}, {5, 8, 0.07004785, 0.16726651},
		{8, 10, 0.12166106, 0.40918015}, {10, 12, 0.11973919, 0.44938822}, {10, 15, 0.03649695, 0}, {18, 20, 0.10921285, 0.55076900},
		{20, 22, 0.10673395, 0.56791516}, {50, 60, 0.02166847, 0}, {90, 100, 0.02695738, 0.21694048}, {100, 110, 0.02746345, 0},
	} {
		refcheck.Near(t, fmt.Sprintf("Erlang B of %g, %d", x.a, x.c), queue.ErlangB(x.a, x.c), x.b, 5.1e-9, table)
		if x.w > 0 {
			w := refcheck.Must[float64](t)(queue.ErlangC(x.a, x.c))
			refcheck.Near(t, fmt.Sprintf("Erlang C of %g, %d", x.a, x.c), w, x.w, 5.1e-9, table)
		}
	}
}

func TestLoadsForBlocking(t *testing.T) {
	blocking := []float64{0.001, 0.01, 0.02, 0.05, 0.1}
	for c, loads := range map[int][]float64{
		1: {0.0010, 0.0101, 0.0204, 0.0526, 0.1111}, 2: {0.0458, 0.1526, 0.2235, 0.3813, 0.5954}, 3: {0.1938, 0.4555, 0.6022, 0.8994, 1.2708},
		5: {0.7621, 1.3608, 1.6571, 2.2185, 2.8811}, 10: {3.0920, 4.4612, 5.0840, 6.2157, 7.5106}, 20: {9.4115, 12.0306, 13.1815, 15.2493, 17.6132},
		50: {32.5119, 37.9014, 40.2551, 44.5331, 49.5621}, 100: {75.2420, 84.0642, 87.9720, 95.2404, 104.1098},
	} {
		for i, want := range loads {
			got := refcheck.Must[float64](t)(queue.LoadForBlocking(blocking[i], c))
			refcheck.Near(t, fmt.Sprintf("load for %g blocking of %d", blocking[i], c), got, want, 5.1e-5,
				"engineering tables of Erlang B (1 % blocking: 5 servers 1.36 E, 10 4.46, 20 12.03, 50 37.90, 100 84.06; from memory), computed in R 4.2.2")
		}
	}
}

func TestPublishedMMC(t *testing.T) {
	const bronson = "Bronson 1982, Schaum's Outline of Operations Research, M/M/s examples"
	must := refcheck.Must[queue.Steady](t)
	s := must(queue.MMC(24, 30, 1))
	refcheck.Near(t, "L", s.Present, 4, 1e-12, bronson)
	refcheck.Near(t, "W", s.WaitH+1.0/30, 1.0/6, 1e-12, bronson)
	refcheck.Near(t, "p₀", s.PEmpty, 0.2, 1e-12, bronson)
	s = must(queue.MMC(30, 40, 1))
	refcheck.Near(t, "L_q", s.Waiting, 2.25, 1e-12, bronson)
	refcheck.Near(t, "W_q minutes", s.WaitH*60, 4.5, 1e-12, bronson)
	refcheck.Near(t, "p₀", s.PEmpty, 0.25, 1e-12, bronson)
	s = must(queue.MMC(300, 182.5, 3)) // per year
	refcheck.Near(t, "L_q", s.Waiting, 0.3524259, 5.1e-8, bronson+", recomputed")
	refcheck.Near(t, "L", s.Present, 1.9962615, 5.1e-8, bronson+", recomputed")
	refcheck.Near(t, "W_q", s.WaitH, 0.00117475, 5.1e-9, bronson+", recomputed")
	refcheck.Near(t, "p₀", s.PEmpty, 0.1775370, 5.1e-8, bronson+", recomputed")
}

func TestStationTable(t *testing.T) {
	for _, x := range []struct {
		lambda               float64
		c                    int
		wait, min, lq, over5 float64
	}{
		{12, 1, 0.8, 16, 3.2, 0.623041}, {12, 2, 0.228571, 0.7619, 0.152381, 0.051001}, {20, 2, 0.533333, 3.2, 1.066667, 0.231786},
		{28, 2, 0.901149, 27.0345, 12.616092, 0.762807}, {40, 3, 0.797508, 9.5701, 6.380062, 0.525750},
	} {
		s := refcheck.Must[queue.Steady](t)(queue.MMC(x.lambda, 15, x.c))
		const src = "closed form of M/M/c, computed in R 4.2.2"
		refcheck.Near(t, "P(wait)", s.PWait, x.wait, 5.1e-7, src)
		refcheck.Near(t, "W_q", s.WaitH*60, x.min, 5.1e-5, src)
		refcheck.Near(t, "L_q", s.Waiting, x.lq, 5.1e-7, src)
		refcheck.Near(t, "P(W > 5 min)", s.Over(5.0/60), x.over5, 5.1e-7, src)
		refcheck.Near(t, "tail at its own quantile", s.Over(s.Within(0.97)), 0.03, 1e-12, "definition of a quantile")
	}
	// A pad that takes 25 min a wash with 4 craft an hour at the peak.
	two, three := refcheck.Must[queue.Steady](t)(queue.MMC(4, 60.0/25, 2)), refcheck.Must[queue.Steady](t)(queue.MMC(4, 60.0/25, 3))
	const src = "closed form of M/M/c: two units 83 % busy, 57 min, 66 % over 10 min; three 56 %, 5.6 min, 17.6 %"
	refcheck.Near(t, "two units busy", two.Utilisation, 0.833, 5e-4, src)
	refcheck.Near(t, "two units wait", two.WaitH*60, 57, 0.5, src)
	refcheck.Near(t, "two units over 10", two.Over(1.0/6), 0.66, 5e-3, src)
	refcheck.Near(t, "three units busy", three.Utilisation, 0.556, 5e-4, src)
	refcheck.Near(t, "three units wait", three.WaitH*60, 5.6, 0.05, src)
	refcheck.Near(t, "three units over 10", three.Over(1.0/6), 0.176, 5e-4, src)
}

func TestGrowsWithoutLimit(t *testing.T) {
	for _, err := range []error{
		second(queue.MMC(30, 15, 2)), second(queue.ErlangC(2, 2)), second(queue.PollaczekKhinchine(15, 1.0/15, 0)), second(queue.AllenCunneen(31, 1.0/15, 1, 1, 2)),
	} {
		if !errors.Is(err, queue.ErrGrows) || !strings.Contains(err.Error(), "queue grows without limit") {
			t.Errorf("%v", err)
		}
	}
}

func second[T any](_ T, err error) error { return err }

func TestPollaczekKhinchine(t *testing.T) {
	must := refcheck.Must[float64](t)
	for cv2, want := range map[float64]float64{1: 16, 0: 8, 1.0 / 12: 8.6666667} {
		refcheck.Near(t, fmt.Sprint("M/G/1 at variation ", cv2), 60*must(queue.PollaczekKhinchine(12, 4.0/60, cv2)), want, 5.1e-8, "Pollaczek-Khinchine by hand")
	}
	refcheck.Near(t, "M/D/1 at 0.8", must(queue.PollaczekKhinchine(0.8, 1, 0)), 2, 1e-12, "Pollaczek-Khinchine by hand")
	for cv2, want := range map[float64]float64{1: 7.1111111, 1.0 / 12: 3.8518518, 0: 3.5555556} {
		refcheck.Near(t, fmt.Sprint("Allen-Cunneen at variation ", cv2), 60*must(queue.AllenCunneen(24, 4.0/60, 1, cv2, 2)), want, 7e-8, "formula by hand")
	}
}

func TestWhoDrivesAway(t *testing.T) {
	const src = "birth-death balance, computed in R 4.2.2"
	for _, x := range []struct {
		l, m, th        float64
		c               int
		wait, lq, share float64
	}{
		{20, 15, 6, 1, 0.82183839, 1.27873737, 0.38362121}, {28, 15, 6, 2, 0.63627208, 0.89319105, 0.19139808}, {10, 10, 10, 1, 1 - math.Exp(-1), 0.36787944, 0.36787944},
	} {
		s := refcheck.Must[queue.Steady](t)(queue.ErlangA(x.l, x.m, x.th, x.c))
		refcheck.Near(t, "P(wait)", s.PWait, x.wait, 5.1e-9, src)
		refcheck.Near(t, "L_q", s.Waiting, x.lq, 5.1e-9, src)
		refcheck.Near(t, "left", s.Left, x.share, 5.1e-9, src)
	}
	for _, x := range []struct {
		l, m      float64
		c, k      int
		b, lq, wq float64
	}{{20, 15, 1, 6, 0.28851166, 3.12967528, 0.21993862}, {28, 15, 2, 8, 0.08943706, 2.11844274, 0.08308999}} {
		s := refcheck.Must[queue.Steady](t)(queue.MMCK(x.l, x.m, x.c, x.k))
		refcheck.Near(t, "blocked", s.PBlocked, x.b, 5.1e-9, src)
		refcheck.Near(t, "L_q", s.Waiting, x.lq, 5.1e-9, src)
		refcheck.Near(t, "W_q", s.WaitH, x.wq, 5.1e-9, src)
	}
	// A yard as small as the crew is the loss formula, and a heavy load does not overflow.
	s := refcheck.Must[queue.Steady](t)(queue.MMCK(1500, 15, 110, 110))
	refcheck.Near(t, "loss of 100 erlangs on 110", s.PBlocked, queue.ErlangB(100, 110), 1e-12, "M/M/c/c is Erlang's loss system")
}

func TestSquareRootRule(t *testing.T) {
	const src = "Halfin & Whitt 1981, computed in R 4.2.2"
	for beta, want := range map[float64]float64{0.1: 0.880287, 0.25: 0.720932, 0.5: 0.504539, 0.75: 0.341748, 1: 0.223361, 1.25: 0.140436, 1.5: 0.084690, 2: 0.026881} {
		refcheck.Near(t, fmt.Sprint("P(wait) at β ", beta), queue.HalfinWhitt(beta), want, 5.1e-7, src)
	}
	for p, want := range map[float64]float64{0.5: 0.506054, 0.2: 1.061516, 0.1: 1.420187, 0.05: 1.739836} {
		refcheck.Near(t, fmt.Sprint("β for ", p), refcheck.Must[float64](t)(queue.HalfinWhittBeta(p)), want, 5.1e-7, src)
	}
	beta, _ := queue.HalfinWhittBeta(0.2)
	for a, want := range map[float64]int{2: 4, 5: 8, 10: 14, 25: 31, 50: 58, 100: 111} {
		if c, err := queue.ServersFor(a, 0.2); err != nil || c != want {
			t.Errorf("%g erlangs: %d servers, %v", a, c, err)
		}
		if c := int(math.Ceil(a + beta*math.Sqrt(a))); c != want {
			t.Errorf("%g erlangs: the rule says %d", a, c)
		}
	}
}
