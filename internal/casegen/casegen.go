// Package casegen draws cases for tests: every class, protocol, answer and finding, from a seed, so that a case that fails is
// named by a number. The cases are nobody's boats; they only have to reach every rule.
package casegen

import (
	"math/rand/v2"
	"time"

	"thwart"
	"thwart/advice"
	"thwart/refdata"
	"thwart/unit"
)

// Rand gives the stream of the case of a number.
func Rand(number int) *rand.Rand { return rand.New(rand.NewPCG(20261125, uint64(number))) }

// Pick draws one of a list.
func Pick[T any](r *rand.Rand, list ...T) T { return list[r.IntN(len(list))] }

// Maybe is true with chance p.
func Maybe(r *rand.Rand, p float64) bool { return r.Float64() < p }

// Start is when every inspection begins.
var Start = time.Date(2026, 7, 4, 9, 30, 0, 0, time.FixedZone("", -5*3600))

// ClassIDs are the craft classes.
var ClassIDs = func() []string {
	var ids []string
	for _, c := range refdata.CraftClasses() {
		ids = append(ids, c.ID)
	}
	return ids
}()

// ProtocolIDs are the protocols of the library.
var ProtocolIDs = func() []string {
	var ids []string
	for _, p := range advice.Protocols() {
		ids = append(ids, p.ID)
	}
	return ids
}()

// Organisms are those of the library.
var Organisms = func() []string {
	var ids []string
	for _, o := range refdata.Organisms() {
		ids = append(ids, o.ID)
	}
	return ids
}()

// Answer draws yes more often than no or unknown.
func Answer(r *rand.Rand) thwart.Answer {
	return Pick(r, thwart.Yes, thwart.Yes, thwart.Yes, thwart.No, thwart.Unknown)
}

// Setup draws a craft. Gear and spaces are limited so that a case stays fast.
func Setup(r *rand.Rand) thwart.Setup {
	s := thwart.Setup{
		Class: Pick(r, ClassIDs...), Drives: []thwart.Drive{Pick(r, append([]thwart.Drive{thwart.DriveUnknown}, thwart.Drives...)...)},
		Spaces: []thwart.Space{}, Trailer: Pick(r, append([]thwart.Trailer{thwart.TrailerUnknown}, thwart.Trailers...)...),
		Paint: Pick(r, thwart.PaintUnknown, thwart.PaintNone, thwart.PaintAntifouling),
	}
	for _, k := range thwart.SpaceKinds {
		if Maybe(r, 0.25) {
			s.Spaces = append(s.Spaces, thwart.Space{Kind: k, Count: Pick(r, 0, 1, 2, thwart.CountUnknown)})
		}
	}
	return s
}

// Check draws what was done at a place.
func Check(r *rand.Rand, place string) thwart.Check {
	return thwart.Check{
		Place: place, Looked: Answer(r), Felt: Answer(r), Opened: Answer(r), RanDry: Answer(r),
		Wet: Pick(r, thwart.WetDry, thwart.WetDry, thwart.WetDry, thwart.WetDamp, thwart.WetFilm, thwart.WetWater, thwart.WetUnknown),
	}
}

// Finding draws something found at a place.
func Finding(r *rand.Rand, place string) thwart.Finding {
	return thwart.Finding{
		Place: place, Matter: Pick(r, append([]thwart.Matter{thwart.MatterUnknown}, thwart.Matters...)...),
		Organism:   Pick(r, "", "other", "zebra_mussel", "eurasian_watermilfoil", "banded_mystery_snail", "spiny_water_flea"),
		Confidence: Pick(r, "", "certain", "likely", "unsure"), Amount: Pick(r, "", "1", ">100"),
		Vitality: Pick(r, append([]thwart.Vitality{thwart.VitalityUnknown}, thwart.Vitalities...)...),
		Removed:  Pick(r, thwart.RemovedUnknown, thwart.RemovedNone, thwart.RemovedPart, thwart.RemovedAll, thwart.RemovedAll),
		VolumeL:  Pick(r, 0, 0, 0.05, 3.0),
	}
}

// Water draws a water and what is known of it.
func Water(r *rand.Rand, id string) thwart.Water {
	w := thwart.Water{ID: id, Name: id, Status: map[string]thwart.WaterStatus{}, Others: Pick(r, thwart.StatusNotFound, thwart.StatusNotFound, thwart.StatusUnknown)}
	for range r.IntN(3) {
		w.Status[Pick(r, Organisms...)] = Pick(r, append([]thwart.WaterStatus{thwart.StatusUnknown}, thwart.WaterStatuses...)...)
	}
	if Maybe(r, 0.3) {
		c := unit.Celsius(Pick(r, 6.0, 22))
		w.MaxTempC = &c
	}
	return w
}

// Draw draws a whole case.
func Draw(r *rand.Rand) thwart.Case {
	cs := thwart.Case{ProtocolID: Pick(r, ProtocolIDs...), Waters: []thwart.Water{Water(r, "a"), Water(r, "b"), Water(r, "home")}}
	in := &cs.Inspection
	in.StartedAt, in.Setup = Start, Setup(r)
	in.PlugsOut, in.DriveLowered, in.StrainerOut, in.OutOfRegion = Answer(r), Answer(r), Answer(r), Answer(r)
	good := Maybe(r, 0.3) // a craft with nothing wrong so far, so that launches are among the cases
	if good {
		in.PlugsOut, in.DriveLowered, in.StrainerOut = thwart.Yes, thwart.Yes, thwart.Yes
	}
	for range r.IntN(3) {
		v := thwart.Visit{Water: Pick(r, "a", "b", "home", ""), Stay: Pick(r, thwart.StayDay, thwart.StayMoored, thwart.StayUnknown)}
		if Maybe(r, 0.8) {
			at := Start.Add(-time.Duration(r.IntN(24*60)) * time.Hour)
			v.OutAt = &at
		}
		in.LastWaters = append(in.LastWaters, v)
	}
	in.Water = Pick(r, "home", "home", "")
	for _, at := range []**time.Time{&in.WashedAt, &in.CleanedAt, &in.DryToTouchAt} {
		if Maybe(r, 0.2) {
			t := Start.Add(-time.Duration(r.IntN(24*40)) * time.Hour)
			*at = &t
		}
	}
	if good || Maybe(r, 0.7) {
		k := thwart.Check{Looked: thwart.Yes, Felt: thwart.Yes, Opened: thwart.Yes, Wet: thwart.WetDry, RanDry: Answer(r)}
		in.Others = &k
	}
	places, err := advice.Places(in.Setup)
	if err != nil {
		panic(err)
	}
	for _, i := range r.Perm(len(places))[:min(len(places), r.IntN(4))] {
		in.Checks = append(in.Checks, Check(r, places[i].ID))
	}
	for range r.IntN(Pick(r, 1, 3)) {
		in.Findings = append(in.Findings, Finding(r, Pick(r, places...).ID))
	}
	if Maybe(r, 0.3) {
		in.Seal = &thwart.Seal{
			Kind: Pick(r, "cleared", "held", "severe_risk", "release", ""), Issuer: Pick(r, "own", "other", ""), Intact: Answer(r),
			Receipt: Answer(r), FittedBy: Pick(r, "inspector", "owner", ""), Launched: Answer(r), RemovedSoon: Answer(r), ForWater: Pick(r, "home", ""),
		}
		if Maybe(r, 0.5) {
			at := Start.Add(time.Duration(r.IntN(200)-100) * time.Hour)
			in.Seal.HoldEndsAt = &at
		}
	}
	if Maybe(r, 0.6) {
		hot := unit.Celsius(Pick(r, 49.0, 62, 66))
		cs.Unit = &thwart.WashUnit{OutletC: &hot, ReadAt: thwart.AtNozzle, FlowLPerMin: 15}
	}
	if Maybe(r, 0.5) {
		cs.Weather = []thwart.Air{{Hours: float64(24 * r.IntN(60)), TempC: unit.Celsius(5 + 25*r.Float64()), RHPct: 100 * r.Float64()}}
	}
	return cs
}
