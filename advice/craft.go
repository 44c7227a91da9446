package advice

import (
	"slices"

	"thwart"
	"thwart/refdata"
)

// traits is what the rules ask of a craft: does it have a motor, ballast, a trailer, spaces that cannot be emptied?
type traits struct {
	motor      bool
	ballast    bool
	carryIn    bool // for certain: no motor, no trailer
	mayCarryIn bool // for all that is known
	maySimple  bool // for all that is known
	complex    bool // cannot be fully drained, or has a raw-water or mechanical system: inboard, ballast, closed hull
	drives     []thwart.Drive
	cloth      bool // rope, carpet or cloth among its places
	hidden     bool // a space nobody can see into
	plug       bool
	lower      bool
	dock       bool // water equipment that is moved, not a craft
}

func traitsOf(s thwart.Setup, places []thwart.Place) traits {
	t := traits{drives: s.Drives, dock: s.Class == "dock_or_lift"}
	class, ok := refdata.CraftClassByID(s.Class)
	if len(t.drives) == 0 && ok {
		for _, d := range class.Drives {
			t.drives = append(t.drives, thwart.Drive(d))
		}
	}
	unsure := false
	for _, d := range t.drives {
		unsure = unsure || d == thwart.DriveUnknown
		switch d {
		case thwart.DriveHand:
		case thwart.DriveUnknown, thwart.DriveSterndrive, thwart.DriveInboard, thwart.DriveInboardJet, thwart.DrivePod:
			t.motor, t.complex = true, true
		default:
			t.motor = true
		}
	}
	for i := range places {
		p := &places[i]
		switch p.Part {
		case thwart.PartBallast:
			t.ballast, t.complex = true, true
		}
		t.cloth = t.cloth || p.Cloth
		t.hidden = t.hidden || (p.Hidden && p.Part != thwart.PartEngine)
		t.plug = t.plug || (p.Asks(thwart.TaskDrain) && p.Part != thwart.PartEngine)
		t.lower = t.lower || p.Asks(thwart.TaskLower)
	}
	t.complex = t.complex || t.hidden || ok && class.Complexity == "complex"
	t.maySimple = !t.complex || unsure
	t.carryIn = !t.motor && s.Trailer == thwart.TrailerNone
	t.mayCarryIn = (!t.motor || unsure) && (s.Trailer == thwart.TrailerNone || s.Trailer == thwart.TrailerUnknown)
	return t
}

// applies reports whether a drying line written for a kind of craft may be for this one. Where it is not known what kind
// it is, the lines of all it may be apply, and the strictest decides.
func (t traits) applies(to string, afterWash bool, moored bool) bool {
	switch to {
	case "any":
		return true
	case "simple":
		return t.maySimple
	case "complex":
		return t.complex
	case "motor":
		return t.motor
	case "dock":
		return t.dock
	case "carry_in":
		return t.mayCarryIn
	case "sealed_ballast":
		return t.ballast && t.hidden
	case "after_wash":
		return afterWash
	case "moored":
		return moored
	}
	return false
}

// partsPresent lists the parts that a craft has, in working order, each with the places that belong to it.
func partsPresent(places []thwart.Place) (parts []thwart.Part, of map[thwart.Part][]int) {
	of = map[thwart.Part][]int{}
	for i := range places {
		of[places[i].Part] = append(of[places[i].Part], i)
	}
	for _, p := range thwart.Parts {
		if len(of[p]) > 0 {
			parts = append(parts, p)
		}
	}
	return parts, of
}

// carriageSet is a set of ways to ride along, one bit each in the order of thwart.Carriages.
type carriageSet uint8

func carriagesOf[T ~string](list []T) (set carriageSet) {
	for i, c := range thwart.Carriages {
		if slices.Contains(list, T(c)) {
			set |= 1 << i
		}
	}
	return set
}

func contains[T comparable](list []T, v T) bool { return slices.Contains(list, v) }

// sizeOf gives the length and beam of a craft: its own, or the usual ones of its class.
func sizeOf(s thwart.Setup) (lengthM, beamM float64) {
	lengthM, beamM = s.LengthM, s.BeamM
	if class, ok := refdata.CraftClassByID(s.Class); ok {
		if lengthM == 0 {
			lengthM = class.LengthM
		}
		if beamM == 0 {
			beamM = class.BeamM
		}
	}
	return lengthM, beamM
}
