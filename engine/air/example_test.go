package air_test

import (
	"fmt"

	"thwart/engine/air"
)

// The same boat dries three times as fast on a dry day as on a damp one.
func ExampleVPDKPa() {
	for _, rhPct := range []float64{40, 80} {
		vpd, err := air.VPDKPa(20, rhPct)
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Printf("%.0f %%: %.2f kPa\n", rhPct, vpd)
	}
	// Output:
	// 40 %: 1.40 kPa
	// 80 %: 0.47 kPa
}

func ExampleDewPoint() {
	dew, err := air.DewPoint(25, 60)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.1f °C\n", float64(dew))
	// Output: 16.7 °C
}
