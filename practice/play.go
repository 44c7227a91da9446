package practice

import (
	"math/rand/v2"
	"slices"

	"thwart"
)

// Player is somebody whose chances are known, for simulations.
type Player struct {
	// Finds is the chance of marking a thing of a kind that shows itself; Cries that of marking a decoy; Skips that of
	// passing a place over.
	Finds map[string]float64
	Cries float64
	Skips float64
	// Pace is the time taken at a place over the usual time.
	Pace float64
}

// Play gives the turn of a player who does all that a place asks for. Her verdict is left at launch: set it from what her own
// record asks for, [VerdictScore.FromRecord], or as you like.
func (d *DrillCraft) Play(r *rand.Rand, who Player) (Turn, error) {
	s, err := d.unsealed()
	if err != nil {
		return Turn{}, err
	}
	t := Turn{PlugsOut: yesNo(!s.PlugsIn), DriveLowered: yesNo(!s.DriveUp), Outcome: thwart.Launch, Findings: []thwart.Finding{}}
	var clock float64
	for i := range d.Places {
		p := &d.Places[i]
		if r.Float64() < who.Skips {
			continue
		}
		stop := Stop{Place: p.ID, Acts: p.Tasks, Wet: s.wetness(p.ID), AtS: clock, Seconds: p.Seconds * who.Pace * between(r, 0.7, 1.3)}
		clock += stop.Seconds
		for k := range s.Items {
			it := &s.Items[k]
			if it.Place != p.ID {
				continue
			}
			chance, f := who.Finds[it.Class], it.finding()
			if it.Decoy {
				chance, f = who.Cries, thwart.Finding{Place: p.ID, Matter: thwart.MatterOther, Removed: thwart.RemovedNone}
			}
			if r.Float64() < chance {
				t.Findings = append(t.Findings, f)
			} else if it.What == "water" {
				stop.Wet = thwart.WetDry
			}
		}
		t.Walk = append(t.Walk, stop)
	}
	return t, nil
}

// AddWeak adds a count to a list, with what is there of the same kind and part.
func AddWeak(list []Weak, w Weak) []Weak {
	if k := slices.IndexFunc(list, func(x Weak) bool { return x.Class == w.Class && x.Part == w.Part }); k >= 0 {
		list[k].Found += w.Found
		list[k].Trials += w.Trials
		return list
	}
	return append(list, w)
}
