package refdata_test

import (
	"fmt"

	"thwart/refdata"
	"thwart/unit"
)

func ExampleFindOrganism() {
	o, err := refdata.FindOrganism("Orconectes rusticus")
	fmt.Println(o.ID, err)
	_, err = refdata.FindOrganism("zebre mussel")
	fmt.Println(err)
	// Output:
	// rusty_crayfish <nil>
	// organism: "zebre mussel" is not in the library; accepted: an id, a common name or a scientific name; similar: zebra_mussel
}

func ExampleStages() {
	for _, s := range refdata.Stages("curly_leaf_pondweed") {
		heat := s.HeatImmersion
		if heat == "" {
			heat = "not shown"
		}
		fmt.Printf("%s: heat %s (%s), drying %s\n", s.Name, heat, s.HeatBasis.Kind, s.Drying.Kind)
	}
	// Output:
	// fragment: heat ewm_fragment_immersion (by analogy), drying dose
	// turion: heat not shown (no data), drying never
}

func ExampleTestedPairs() {
	for _, e := range refdata.TestedPairs("spiny_water_flea", refdata.StageRestingEgg, refdata.Immersion) {
		fmt.Println(unit.Metric.Temp(*e.TempC), unit.Duration(*e.ExposureS), e.Known)
	}
	// Output:
	// 50 °C 5 min published
	// 60 °C 60 s published
}
