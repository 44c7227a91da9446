package search

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"thwart/engine/num"
	"thwart/internal/refcheck"
)

// seven is an invented craft: priors that sum to 1 and rates per minute.
func seven() []Place {
	places := []Place{
		{Name: "anchor and line", Prior: 0.30, RatePerS: 1.2},
		{Name: "motor and lower unit", Prior: 0.20, RatePerS: 0.8},
		{Name: "bilge", Prior: 0.15, RatePerS: 2.0},
		{Name: "live well", Prior: 0.12, RatePerS: 0.5},
		{Name: "trailer bunks", Prior: 0.10, RatePerS: 1.0},
		{Name: "hull", Prior: 0.08, RatePerS: 0.6},
		{Name: "rollers and axle", Prior: 0.05, RatePerS: 0.4},
	}
	for i := range places {
		places[i].RatePerS /= 60
	}
	return places
}

// byOptimiser is the source of the worked example: Koopman's rule evaluated outside this program.
const byOptimiser = "invented example; Koopman's rule evaluated independently and confirmed by a general-purpose optimiser"

func TestSevenPlaces(t *testing.T) {
	const sixDigits, eightDigits = 0.5e-6 + 1e-9, 0.5e-8 + 1e-12
	for _, r := range []struct {
		minutes float64
		want    [7]float64
		mu, d   float64
	}{
		{0.5, [7]float64{0.369475, 0, 0.130525}, 0.23107295, 0.14190274},
		{1, [7]float64{0.678975, 0.004800, 0.316224}, 0.15938675, 0.23825090},
		{2, [7]float64{1.001556, 0.488671, 0.509773}, 0.10822765, 0.37041191},
		{3, [7]float64{1.252502, 0.865090, 0.660340, 0, 0.222068}, 0.08008607, 0.46302491},
		{4, [7]float64{1.485060, 1.213927, 0.799875, 0, 0.501138}, 0.06058408, 0.53290704},
		{5, [7]float64{1.637205, 1.442145, 0.891162, 0.345774, 0.683713}, 0.05047396, 0.58818707},
		{6, [7]float64{1.761776, 1.629001, 0.965905, 0.644743, 0.833197, 0.165380}, 0.04346575, 0.63487331},
	} {
		plan := refcheck.Must[Plan](t)(Allocate(seven(), r.minutes*60))
		for i, want := range r.want {
			refcheck.Near(t, fmt.Sprintf("%v min, place %d", r.minutes, i+1), plan.Seconds[i]/60, want, sixDigits, byOptimiser)
		}
		refcheck.Near(t, fmt.Sprintf("%v min, multiplier", r.minutes), plan.Multiplier*60, r.mu, eightDigits, byOptimiser)
		refcheck.Near(t, fmt.Sprintf("%v min, detection", r.minutes), plan.Detection, r.d, eightDigits, byOptimiser)
		refcheck.Near(t, fmt.Sprintf("%v min, used", r.minutes), plan.UsedS, r.minutes*60, 1e-10, "the whole budget")
	}
}

func TestThreeMinutesAgainstHabits(t *testing.T) {
	places := seven()
	equal, proportional := make([]float64, 7), make([]float64, 7)
	for i, p := range places {
		equal[i], proportional[i] = 180.0/7, 180*p.Prior
	}
	refcheck.Near(t, "equal time", refcheck.Must[float64](t)(Detection(places, equal)), 0.34903622, 0.5e-8+1e-12, byOptimiser)
	refcheck.Near(t, "time in proportion", refcheck.Must[float64](t)(Detection(places, proportional)), 0.42270572, 0.5e-8+1e-12, byOptimiser)

	plan := refcheck.Must[Plan](t)(Allocate(places, 180))
	refcheck.Near(t, "the two ways to say detection", refcheck.Must[float64](t)(Detection(places, plan.Seconds)), plan.Detection, 1e-14, "identity")
	for i, want := range []float64{0.124286, 0.186429, 0.074571, 0.223474, 0.149143, 0.148983, 0.093114} {
		refcheck.Near(t, fmt.Sprintf("weight of place %d after no find", i+1), refcheck.Must[[]float64](t)(Posterior(places, plan.Seconds))[i], want, 0.5e-6+1e-9, byOptimiser)
	}
	refcheck.Near(t, "a craft at 5 %", refcheck.Must[float64](t)(Residual(0.05, plan.Detection)), 0.027485, 0.5e-6, byOptimiser)
}

func TestSmallPlans(t *testing.T) {
	check := func(name string, places []Place, budget float64, seconds []float64, d float64) {
		plan := refcheck.Must[Plan](t)(Allocate(places, budget))
		for i, want := range seconds {
			refcheck.Near(t, fmt.Sprintf("%s, place %d", name, i+1), plan.Seconds[i], want, 0.5e-6+1e-9, byOptimiser)
		}
		refcheck.Near(t, name+", detection", plan.Detection, d, 0.5e-8+1e-12, byOptimiser)
	}
	two := []Place{{Prior: 0.6, RatePerS: 1}, {Prior: 0.4, RatePerS: 1}}
	check("two places", two, 1, []float64{0.702733, 0.297267}, 0.40572375)
	check("two places, hurried", two, 0.2, []float64{0.2, 0}, 0.10876155)
	check("three rates", []Place{{Prior: 0.5, RatePerS: 1}, {Prior: 0.3, RatePerS: 2}, {Prior: 0.2, RatePerS: 4}}, 2,
		[]float64{1.023622, 0.602972, 0.373406}, 0.68562014)
}

// Twice the cost of a second is half the rate per second of budget.
func TestCostIsASlowerClock(t *testing.T) {
	dear := []Place{{Prior: 0.5, RatePerS: 0.02, CostPerS: 2}, {Prior: 0.5, RatePerS: 0.03}}
	slow := []Place{{Prior: 0.5, RatePerS: 0.01}, {Prior: 0.5, RatePerS: 0.03}}
	a := refcheck.Must[Plan](t)(Allocate(dear, 90))
	b := refcheck.Must[Plan](t)(Allocate(slow, 90))
	refcheck.Near(t, "seconds", 2*a.Seconds[0], b.Seconds[0], 1e-10, "change of unit")
	refcheck.Near(t, "detection", a.Detection, b.Detection, 1e-14, "change of unit")
}

func TestFloorsAndWhatIsGivenUp(t *testing.T) {
	places := seven()
	for i := range places {
		places[i].FloorS, places[i].FullS = 10, 120
	}
	plan := refcheck.Must[Plan](t)(Allocate(places, 180))
	sum := 0.0
	for i, s := range plan.Seconds {
		if s < 10 {
			t.Errorf("%s gets %v s, less than its floor", places[i].Name, s)
		}
		sum += plan.GivenUp[i]
	}
	refcheck.Near(t, "what is given up, summed", sum, plan.FullDetection-plan.Detection, 1e-14, "definition")
	full := make([]float64, 7)
	for i := range full {
		full[i] = 120
	}
	refcheck.Near(t, "full round", plan.FullDetection, refcheck.Must[float64](t)(Detection(places, full)), 1e-14, "definition")
	if free := refcheck.Must[Plan](t)(Allocate(seven(), 180)); plan.Detection >= free.Detection {
		t.Errorf("floors cost nothing: %v against %v", plan.Detection, free.Detection)
	} else if free.FullDetection != 1 {
		t.Errorf("a round without end finds %v, want everything", free.FullDetection)
	}

	_, err := Allocate(places, 60)
	var short *TooShort
	if !errors.As(err, &short) {
		t.Fatalf("60 s for 70 s of floors: %v, want TooShort", err)
	}
	refcheck.Near(t, "missing", short.MissingS, 10, 1e-12, "7 floors of 10 s less 60 s")
	// Exactly the floors will do, even when their sum is not exact in binary.
	for i := range places {
		places[i].FloorS = 0.1
	}
	exact := refcheck.Must[Plan](t)(Allocate(places, 0.7))
	refcheck.Near(t, "nothing to spare", slices.Max(exact.Seconds), 0.1, 1e-12, "budget of the floors alone")
}

// randomPlaces draws n places with uneven priors, rates, costs and floors.
func randomPlaces(r *rand.Rand, n int) (places []Place, floors float64) {
	for range n {
		p := Place{
			Prior: r.ExpFloat64(), RatePerS: math.Exp(r.NormFloat64()) / 30, CostPerS: []float64{0, 1, 1, 2.5}[r.IntN(4)],
			FloorS: []float64{0, 0, 5, 20}[r.IntN(4)] * r.Float64(),
		}
		places = append(places, p)
		floors += p.cost() * p.FloorS
	}
	return places, floors
}

// Brute force: no plan on a fine grid is better, and the best on the grid comes as near as the grid's step lets it.
func TestAllocateAgainstBruteForce(t *testing.T) {
	r := num.Stream(11, "brute force")
	const parts = 60
	for trial := range 150 {
		places, floors := randomPlaces(r, 2+r.IntN(2))
		spare := 1 + 120*r.Float64()
		plan := refcheck.Must[Plan](t)(Allocate(places, floors+spare))
		refcheck.Near(t, "used", plan.UsedS, floors+spare, 1e-9, "the whole budget")

		total, steepest := 0.0, 0.0
		for _, p := range places {
			total += p.Prior
		}
		for _, p := range places {
			steepest += p.Prior / total * p.RatePerS / p.cost()
		}
		best := 0.0
		split(parts, len(places), func(counts []int) {
			d := 0.0
			for i, p := range places {
				t := p.FloorS + spare*float64(counts[i])/parts/p.cost()
				d += p.Prior / total * (1 - math.Exp(-p.RatePerS*t))
			}
			best = math.Max(best, d)
		})
		if best > plan.Detection+1e-12 {
			t.Errorf("trial %d: the grid finds %.12f, the plan only %.12f: %+v", trial, best, plan.Detection, places)
		}
		// Rounding each place's budget down to the grid moves it by less than one step, at no more than its first return.
		if limit := spare / parts * steepest; best < plan.Detection-limit {
			t.Errorf("trial %d: the plan claims %.12f, the grid reaches %.12f and should reach it within %v: %+v", trial, plan.Detection, best, limit, places)
		}
	}
}

// split calls f with every way to give out n parts to k places.
func split(n, k int, f func(counts []int)) {
	counts := make([]int, k)
	var give func(place, left int)
	give = func(place, left int) {
		if place == k-1 {
			counts[place] = left
			f(counts)
			return
		}
		for c := 0; c <= left; c++ {
			counts[place] = c
			give(place+1, left-c)
		}
	}
	give(0, n)
}

// Proof of optimality for larger cases: the Lagrangian with the plan's multiplier bounds every plan from above, and the
// plan attains it.
func TestAllocateMeetsItsDualBound(t *testing.T) {
	r := num.Stream(12, "dual")
	for trial := range 200 {
		places, floors := randomPlaces(r, 1+r.IntN(40))
		budget := floors + 400*r.Float64()
		plan := refcheck.Must[Plan](t)(Allocate(places, budget))
		total := 0.0
		for _, p := range places {
			total += p.Prior
		}
		bound := plan.Multiplier * budget
		for _, p := range places {
			share := p.Prior / total
			price := plan.Multiplier * p.cost()
			t := math.Max(p.FloorS, math.Log(share*p.RatePerS/price)/p.RatePerS)
			bound += share*(1-math.Exp(-p.RatePerS*t)) - price*t
		}
		refcheck.Near(t, fmt.Sprintf("trial %d, detection against the dual bound", trial), plan.Detection, bound, 1e-12, "Lagrangian duality")
	}
}

func TestOrderOfPlacesDoesNotMatter(t *testing.T) {
	r := num.Stream(13, "order")
	for range 50 {
		places, floors := randomPlaces(r, 12)
		places[3] = places[7] // twins
		floors += 100
		plan := refcheck.Must[Plan](t)(Allocate(places, floors))
		if again := refcheck.Must[Plan](t)(Allocate(places, floors)); !slices.Equal(again.Seconds, plan.Seconds) {
			t.Fatal("the same input gave another plan")
		}
		shuffled, back := slices.Clone(places), r.Perm(12)
		for i, j := range back {
			shuffled[i] = places[j]
		}
		other := refcheck.Must[Plan](t)(Allocate(shuffled, floors))
		for i, j := range back {
			if other.Seconds[i] != plan.Seconds[j] || other.GivenUp[i] != plan.GivenUp[j] {
				t.Errorf("place %d gets %v or %v s by where it stands in the list", j, plan.Seconds[j], other.Seconds[i])
			}
		}
		if other.Detection != plan.Detection || other.Multiplier != plan.Multiplier || other.UsedS != plan.UsedS {
			t.Errorf("totals depend on the order: %+v and %+v", plan, other)
		}
	}
}

// A longer plan continues a shorter one: no place ever loses time, and every second buys less than the one before.
func TestPlansAreNested(t *testing.T) {
	r := num.Stream(14, "nested")
	for range 40 {
		places, _ := randomPlaces(r, 8)
		for i := range places {
			places[i].FloorS = 0
		}
		last := refcheck.Must[Plan](t)(Allocate(places, 0))
		for budget := 5.0; budget <= 300; budget += 5 {
			plan := refcheck.Must[Plan](t)(Allocate(places, budget))
			for i := range places {
				if plan.Seconds[i] < last.Seconds[i]-1e-9 {
					t.Fatalf("at %v s a place falls from %v to %v s", budget, last.Seconds[i], plan.Seconds[i])
				}
			}
			gain := (plan.Detection - last.Detection) / 5
			if gain > last.Multiplier*(1+1e-9) || gain < plan.Multiplier*(1-1e-9) {
				t.Fatalf("at %v s a second buys %v, outside the multipliers %v to %v", budget, gain, plan.Multiplier, last.Multiplier)
			}
			last = plan
		}
	}
}

func TestPlacesWhereNothingCanBeFound(t *testing.T) {
	places := []Place{{Name: "sealed box", Prior: 0.5, RatePerS: 0, FloorS: 5}, {Name: "clean deck", Prior: 0, RatePerS: 1}, {Name: "bilge", Prior: 0.5, RatePerS: 0.1}}
	plan := refcheck.Must[Plan](t)(Allocate(places, 35))
	for i, want := range []float64{5, 0, 30} {
		refcheck.Near(t, "seconds at the "+places[i].Name, plan.Seconds[i], want, 1e-12, "its floor, nothing, and all the rest")
	}
	refcheck.Near(t, "full round", plan.FullDetection, 0.5, 0, "half of it is where looking is no use")
	blind := refcheck.Must[Plan](t)(Allocate(places[:1], 35))
	if blind.UsedS != 5 || blind.Detection != 0 || blind.Multiplier != 0 {
		t.Errorf("looking where nothing can be found: %+v", blind)
	}
	// Weights in place of probabilities change nothing.
	scaled := seven()
	for i := range scaled {
		scaled[i].Prior *= 40
	}
	refcheck.Near(t, "scaled priors", refcheck.Must[Plan](t)(Allocate(scaled, 180)).Detection, refcheck.Must[Plan](t)(Allocate(seven(), 180)).Detection, 1e-14, "only ratios matter")
}

func TestResidual(t *testing.T) {
	const bayes = "Bayes' rule by hand"
	for _, r := range []struct{ prior, d, want float64 }{
		{0.5, 0.5, 1.0 / 3}, {0.1, 0, 0.1}, {0.1, 1, 0}, {0, 0.5, 0}, {1, 0.7, 1}, {1, 1, 1}, {0, 1, 0},
	} {
		refcheck.Near(t, fmt.Sprintf("prior %v, detection %v", r.prior, r.d), refcheck.Must[float64](t)(Residual(r.prior, r.d)), r.want, 1e-15, bayes)
	}
	_, err := Residual(1.2, 0.5)
	refusesField(t, err, "prior")
	_, err = Residual(0.2, math.NaN())
	refusesField(t, err, "detection")
}

func TestEstimateRate(t *testing.T) {
	// Seconds to find a planted object; three trials ran into the limit of 60 s.
	const source = "finds over time with Garwood's limits, evaluated with R 4.2 qchisq"
	total := 0.0
	for _, s := range []float64{12, 35, 8, 60, 22, 60, 41, 15, 60, 27} {
		total += s
	}
	rate := refcheck.Must[num.Interval](t)(EstimateRate(7, total, 0.95))
	refcheck.Near(t, "rate", rate.Mid, 0.0205882, 0.5e-7+1e-12, source)
	refcheck.Near(t, "mean time", 1/rate.Mid, 48.571, 0.5e-3, source)
	refcheck.Near(t, "lower limit", rate.Lo, 0.00827754, 0.5e-8+1e-12, source)
	refcheck.Near(t, "upper limit", rate.Hi, 0.04241963, 0.5e-8+1e-12, source)
	found := refcheck.Must[float64](t)(Detection([]Place{{Prior: 1, RatePerS: rate.Mid}}, []float64{45}))
	refcheck.Near(t, "found in 45 s", found, 0.604051, 0.5e-6, source)

	none := refcheck.Must[num.Interval](t)(EstimateRate(0, 600, 0.95))
	if none.Lo != 0 || none.Mid != 0 || none.Hi <= 0 {
		t.Errorf("no finds: %+v, want 0, 0 and an upper limit", none)
	}
	_, err := EstimateRate(-1, 600, 0.95)
	refusesField(t, err, "finds")
	_, err = EstimateRate(1, 0, 0.95)
	refusesField(t, err, "totalS")
	_, err = EstimateRate(1, 600, 1)
	refusesField(t, err, "level")
}

// Trials simulated at a known rate and cut off at 60 s: the limits must cover it at least as often as they say.
func TestEstimateRateCovers(t *testing.T) {
	const rate, limit, trials, repeats, level = 0.02, 60.0, 12, 4000, 0.9
	r := num.Stream(15, "cover")
	covered := 0
	for range repeats {
		finds, total := 0, 0.0
		for range trials {
			if s := r.ExpFloat64() / rate; s < limit {
				finds, total = finds+1, total+s
			} else {
				total += limit
			}
		}
		if refcheck.Must[num.Interval](t)(EstimateRate(finds, total, level)).Contains(rate) {
			covered++
		}
	}
	// Four standard errors of a share of 0.9 among 4000.
	if share := float64(covered) / repeats; share < level-4*math.Sqrt(level*(1-level)/repeats) {
		t.Errorf("limits at %v cover the true rate in %v of the repeats", level, share)
	}
}

func TestAllocateRefuses(t *testing.T) {
	for field, p := range map[string]Place{
		"Prior":    {Name: "bow", Prior: -1, RatePerS: 1},
		"RatePerS": {Name: "bow", Prior: 1, RatePerS: math.Inf(1)},
		"CostPerS": {Name: "bow", Prior: 1, RatePerS: 1, CostPerS: -1},
		"FloorS":   {Name: "bow", Prior: 1, RatePerS: 1, FloorS: math.NaN()},
		"FullS":    {Name: "bow", Prior: 1, RatePerS: 1, FullS: -5},
	} {
		_, err := Allocate([]Place{{Name: "stern", RatePerS: 1}, p}, 60)
		refusesField(t, err, field)
		if !strings.Contains(err.Error(), `place 2 "bow"`) {
			t.Errorf("%q does not name the place", err)
		}
	}
	_, err := Allocate([]Place{{RatePerS: 1}, {RatePerS: 2}}, 60)
	refusesField(t, err, "Prior")
	_, err = Allocate(seven(), -1)
	refusesField(t, err, "budgetS")
	if _, err := Allocate(nil, 60); err == nil {
		t.Error("no places were taken")
	}
	if _, err := Detection(seven(), []float64{1}); err == nil {
		t.Error("one time for seven places was taken")
	}
	if _, err := Posterior([]Place{{Prior: 1, RatePerS: 1}}, []float64{1e6}); err == nil {
		t.Error("weights after a search that cannot fail")
	}
	_, err = Posterior([]Place{{Name: "bow", Prior: 1, RatePerS: 1}}, []float64{-1})
	refusesField(t, err, "seconds")
}

func BenchmarkAllocate(b *testing.B) {
	for _, n := range []int{7, 40, 1000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			places, floors := randomPlaces(num.Stream(1, "bench"), n)
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Allocate(places, floors+float64(20*n)); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// Against brute force: no division of the budget on a fine grid finds more, and no place gets more than its full time.
func TestAllocateUpToFull(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 3))
	for n := range 60 {
		places := make([]Place, 3)
		for i := range places {
			places[i] = Place{
				Name: fmt.Sprint(i), Prior: 0.1 + r.Float64(), RatePerS: 0.02 + 0.3*r.Float64(),
				FullS: 5 + 25*r.Float64(), FloorS: 3 * r.Float64(),
			}
		}
		budget := 12 + 40*r.Float64()
		plan, err := AllocateUpToFull(places, budget)
		if err != nil {
			t.Fatal(err)
		}
		for i, p := range places {
			if plan.Seconds[i] > p.FullS+1e-9 || plan.Seconds[i] < p.FloorS-1e-9 {
				t.Fatalf("case %d: %g s at a place with floor %g and full %g", n, plan.Seconds[i], p.FloorS, p.FullS)
			}
		}
		if plan.UsedS > budget+1e-9 || plan.Detection > plan.FullDetection+1e-12 {
			t.Fatalf("case %d: used %g of %g, detection %g of %g", n, plan.UsedS, budget, plan.Detection, plan.FullDetection)
		}
		const step = 0.5
		for a := places[0].FloorS; a <= places[0].FullS; a += step {
			for b := places[1].FloorS; b <= places[1].FullS && a+b <= budget; b += step {
				c := math.Min(places[2].FullS, budget-a-b)
				if c < places[2].FloorS {
					continue
				}
				d, err := Detection(places, []float64{a, b, c})
				if err != nil {
					t.Fatal(err)
				}
				if d > plan.Detection+1e-9 {
					t.Fatalf("case %d: %g, %g, %g s find %.6f, the plan %v finds %.6f", n, a, b, c, d, plan.Seconds, plan.Detection)
				}
			}
		}
	}
}
