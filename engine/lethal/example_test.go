package lethal_test

import (
	"fmt"

	"thwart/engine/lethal"
)

// Resting eggs of the spiny water flea in hot water: 5 min at 50 °C and 1 min at 60 °C left none to hatch (Branstrator
// et al. 2013, Limnol. Oceanogr. 58:2171-2184). A minute at 52 °C falls short, a minute at 60 °C does not.
func ExampleProfile_Dose() {
	eggs := lethal.Profile{Name: "spiny water flea, resting egg, immersion", RefC: 50, RefS: 300, ZHighC: 14.3, MinC: 50, FloorS: 60}
	for _, temp := range []lethal.Sample{{TempC: 52}, {TempC: 60}} {
		dose := eggs.Dose([]lethal.Sample{{AtS: 0, TempC: temp.TempC}, {AtS: 60, TempC: temp.TempC}}, 0)
		fmt.Printf("%g °C for 60 s: dose %.2f, lethal %v\n", float64(temp.TempC), dose, lethal.Lethal(dose, 1))
	}
	// Output:
	// 52 °C for 60 s: dose 0.28, lethal false
	// 60 °C for 60 s: dose 1.00, lethal true
}

// Adult quagga mussels under hot spray (Comeau et al. 2011, Biofouling 27:267-274). A gauge good to 1 °C that reads 49
// proves 48 °C, so the exposure to ask for is the one tested at 40 °C.
func ExampleTestedAtOrBelow() {
	const source = "Comeau et al. 2011"
	pairs := []lethal.Pair{{40, 40, source}, {50, 20, source}, {54, 10, source}, {60, 5, source}}
	pair, ok := lethal.TestedAtOrBelow(pairs, lethal.Effective(49, 1))
	fmt.Println(pair.ContactS, "s, tested at", pair.TempC, "°C:", ok)
	_, ok = lethal.TestedAtOrBelow(pairs, 39.9)
	fmt.Println("39.9 °C:", ok)
	// Output:
	// 40 s, tested at 40 °C: true
	// 39.9 °C: false
}

// "All 30 dead" still allows one survivor in ten.
func ExampleAllDeadLimit() {
	limit, _ := lethal.AllDeadLimit(30, 0.95)
	fmt.Printf("at most %.1f %% alive\n", 100*limit)
	// Output: at most 9.5 % alive
}
