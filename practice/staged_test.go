package practice

import (
	"testing"

	"thwart/internal/refcheck"
	"thwart/refdata"
)

// The library's figures were not fitted to the staged boats as a whole: plants and small animals come from another experiment.
// Put together they must give back what the field trial measured, within what 48 people a group leave open.
func TestStagedBoat(t *testing.T) {
	const angell = "Angell et al. 2024: mean effectiveness on staged boats, 144 people in three groups"
	s, err := Stage()
	if err != nil {
		t.Fatal(err)
	}
	count := map[string]int{}
	for _, x := range s.Targets {
		count[x.What]++
	}
	if count["plant"] != 6 || count["mussel"] != 2 || count["water_flea"] != 1 || count["water"] != 1 {
		t.Fatalf("staged %v", count)
	}
	for _, r := range []struct {
		who  refdata.Looker
		want float64
	}{{refdata.Steward, 0.792}, {refdata.Boater, 0.564}, {refdata.HotWaterCrew, 0.844}} {
		got := s.Repeat(1, 144/3, 2000, r.who)
		t.Logf("%s: expected %.3f, repeats %.3f to %.3f, published %.3f", r.who, s.Expected(r.who), got.Lo, got.Hi, r.want)
		if !got.Contains(r.want) {
			t.Errorf("%s: %.3f to %.3f does not hold %.3f (%s)", r.who, got.Lo, got.Hi, r.want, angell)
		}
		refcheck.Near(t, string(r.who), s.Expected(r.who), r.want, 0.02, angell)
		refcheck.Near(t, string(r.who)+" simulated", got.Mid, s.Expected(r.who), 0.01, "the mean of the figures, by hand")
	}
}
