package advice_test

import (
	"testing"
	"time"

	"thwart"
	"thwart/advice"
)

// mostComplex is the craft with the most places, from a water nobody could name, with everything to say about it.
func mostComplex(b *testing.B) thwart.Case {
	b.Helper()
	at := start.Add(-50 * time.Hour)
	cs := thwart.Case{
		ProtocolID: "utah",
		Inspection: thwart.Inspection{
			StartedAt: start, PlugsOut: thwart.Yes, DriveLowered: thwart.Yes,
			Setup: thwart.Setup{
				Class: "houseboat", Drives: []thwart.Drive{thwart.DriveSterndrive, thwart.DriveSterndrive, thwart.DriveTrollingBow},
				Spaces: []thwart.Space{
					{Kind: thwart.SpaceBallastTank, Count: 4, VolumeL: 200}, {Kind: thwart.SpaceBallastBag, Count: 2, VolumeL: 150},
					{Kind: thwart.SpaceLiveWell, Count: 2}, {Kind: thwart.SpaceBaitWell, Count: 1}, {Kind: thwart.SpaceBilge, Count: 4},
					{Kind: thwart.SpaceLocker, Count: 4}, {Kind: thwart.SpaceTank, Count: 3},
				},
				Gear:    []string{"anchor_and_rope", "dock_lines", "life_jackets", "fenders", "nets", "fishing_line", "tow_tube_rope", "skis_boards", "waders_boots"},
				Trailer: thwart.TrailerBunk,
			},
			LastWaters: []thwart.Visit{{OutAt: &at, Stay: thwart.StayMoored}},
			Others:     &thwart.Check{Looked: thwart.Yes, Felt: thwart.Yes, Opened: thwart.Yes, Wet: thwart.WetDamp},
			Findings: []thwart.Finding{
				{Place: "bilge.1", Matter: thwart.MatterWater, VolumeL: 3}, {Place: "gear.anchor_and_rope", Matter: thwart.MatterPlant, Removed: thwart.RemovedAll},
			},
		},
		Unit: &thwart.WashUnit{BurnerKW: 90, FlowLPerMin: 15, TankL: 4000},
	}
	if _, err := advice.Assess(cs); err != nil {
		b.Fatal(err)
	}
	return cs
}

// One full assessment: places, round, verdict, risk, treatment.
func BenchmarkAssessMostComplexCraft(b *testing.B) {
	cs := mostComplex(b)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := advice.Assess(cs); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkJudgeMostComplexCraft(b *testing.B) {
	cs := mostComplex(b)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := advice.Judge(cs); err != nil {
			b.Fatal(err)
		}
	}
}

// A log of ten hours at one reading a second, cleaned, held and dosed for every organism.
func BenchmarkProve36000Samples(b *testing.B) {
	p, err := advice.ProtocolByID("regional-minimum")
	if err != nil {
		b.Fatal(err)
	}
	log := steady(61, 36000)
	claim := thwart.WashClaim{Part: thwart.PartHull, Method: thwart.MethodHighSpray, Measured: thwart.AtContact}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := advice.Prove(p, claim, log); err != nil {
			b.Fatal(err)
		}
	}
}
