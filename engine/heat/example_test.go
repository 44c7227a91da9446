package heat_test

import (
	"errors"
	"fmt"

	"thwart/engine/heat"
	"thwart/unit"
)

// A live well of 20 L, flushed at 10 L/min with water that enters at 60 °C: when does the exit reach 50 °C, and how much
// water does it take to hold that for 130 s?
func ExampleTank_Flush() {
	well := heat.Tank{WaterL: 20, FlowLPerMin: 10, Inlet: 60, Air: 20, Start: 15, UAWPerK: 50}
	flush, err := well.Flush(50, 130)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("50 °C after %.0f s, done after %.0f s, %s to catch\n", flush.ReachS, flush.TotalS, unit.Metric.Volume(flush.WasteL))
	// Output: 50 °C after 200 s, done after 330 s, 55 L to catch
}

func ExampleUnreachable() {
	well := heat.Tank{WaterL: 20, FlowLPerMin: 10, Inlet: 60, Air: 20, Start: 15, UAWPerK: 50}
	_, err := well.SecondsTo(58)
	fmt.Println(err)
	var no *heat.Unreachable
	fmt.Println(errors.As(err, &no))
	// Output:
	// 58.0 °C is out of reach: the compartment settles at 57.3 °C; it takes water entering above 60.8 °C, or a flow above 13.9 L/min
	// true
}

// Turning the flow down is the first answer to a weak burner.
func ExampleBurner_FlowFor() {
	burner := heat.Burner{RatedKW: 50, Efficiency: 0.8}
	full, err := burner.Outlet(15, 10)
	if err != nil {
		fmt.Println(err)
		return
	}
	flow, err := burner.FlowFor(10, 60)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.1f °C at 15 L/min; 60 °C at %.1f L/min\n", float64(full), flow)
	// Output: 48.3 °C at 15 L/min; 60 °C at 11.5 L/min
}

func ExampleCalibrateSpray() {
	curve, err := heat.CalibrateSpray(
		heat.SprayReading{DistanceM: 0.10, Temp: 64, PlusMinusK: 1},
		heat.SprayReading{DistanceM: 0.40, Temp: 52, PlusMinusK: 1},
		18)
	if err != nil {
		fmt.Println(err)
		return
	}
	at, err := curve.At(0.20)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("at 20 cm count on %.1f °C\n", at.Lo)
	_, err = curve.At(0.60)
	fmt.Println(err)
	// Output:
	// at 20 cm count on 58.6 °C
	// distance: 0.6 m is beyond the farthest measured point; accepted: up to 0.4 m, or measure farther out
}

// Two minutes under 60 °C water, and three millimetres down in fibreglass it is 41 °C.
func ExampleSolid_SurfaceLag() {
	fibreglass := heat.Solid{ConductWPerMK: 0.25, HeatJPerM3K: 1.92e6}
	bath := heat.Bath{Water: 60, Start: 20, FilmWPerM2K: 500}
	c, err := fibreglass.SurfaceLag(bath, 0.003, 120)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.0f °C\n", float64(c))
	// Output: 41 °C
}

func ExampleMix() {
	c, err := heat.Mix(heat.Portion{Litres: 40, Temp: 60}, heat.Portion{Litres: 10, Temp: 15})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2f °C\n", float64(c))
	// Output: 50.88 °C
}
