package num_test

import (
	"fmt"

	"thwart/engine/num"
)

// One planted mussel missed in ten: the miss rate could well be two in five.
func ExampleClopperPearson() {
	misses, err := num.ClopperPearson(1, 10, 0.95)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.0f %% missed, 95 %% limits %.1f to %.1f %%\n", 100*misses.Mid, 100*misses.Lo, 100*misses.Hi)
	// Output: 10 % missed, 95 % limits 0.3 to 44.5 %
}

// Twenty dead of twenty is not "none can survive".
func ExampleAllDeadUpper() {
	fmt.Printf("%.1f %%\n", 100*num.AllDeadUpper(20, 0.95))
	// Output: 13.9 %
}

func ExampleStream() {
	// A second process does not disturb the first one's luck.
	alone := num.Stream(7, "arrivals").IntN(100)
	service := num.Stream(7, "service")
	service.IntN(100)
	beside := num.Stream(7, "arrivals").IntN(100)
	fmt.Println(alone == beside)
	// Output: true
}

func ExampleQuantile() {
	waits := []float64{2, 3, 5, 9, 20}
	fmt.Println(num.Quantile(waits, 0.5), num.Quantile(waits, 0.75))
	// Output: 5 9
}
