package round_test

import (
	"fmt"

	"thwart/engine/round"
)

// A small boat: pull the plug, walk round from the port quarter, look at the plug when the walk comes back to it, then go
// aboard. By hand: 2.471 m to the port side (an eighth of a circle of 0.6 m, then 2 m), 3.742 m to the bow, as much to the
// starboard side and again to behind the transom, then 0.6 m to it, 2 m forward and all the way back: 18.897 m.
func ExampleMake() {
	stops := []round.Stop{
		{ID: "plug", XM: 4, ZM: 0.5, Posture: 1, LookS: 3, Drains: true},
		{ID: "keel", XM: 2, ZM: 0.4, Posture: 2, LookS: 6},
		{ID: "winch", XM: -0.5, ZM: 0.9, LookS: 4},
		{ID: "starboard side", XM: 2, YM: 0.8, ZM: 0.8, Posture: 1, LookS: 8},
		{ID: "port side", XM: 2, YM: -0.8, ZM: 0.8, Posture: 1, LookS: 8},
		{ID: "floor", Group: round.OnBoard, XM: 2, ZM: 0.6, Posture: 3, LookS: 6},
	}
	plan, err := round.Make(stops, round.Defaults(4, 1.6))
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, f := range plan.First {
		fmt.Printf("start: %s\n", f.ID)
	}
	for _, s := range plan.Steps {
		fmt.Printf("%d %s (station %d)\n", s.Number, s.ID, s.Station)
	}
	fmt.Printf("%.1f m, %.0f s, at most %.0f %% above the best order\n", plan.WalkM, plan.TotalS, plan.GapPct)
	// Output:
	// start: plug
	// 1 port side (station 1)
	// 2 keel (station 1)
	// 3 winch (station 2)
	// 4 starboard side (station 3)
	// 5 plug (station 4)
	// 6 floor (station 5)
	// 18.9 m, 67 s, at most 15 % above the best order
}
