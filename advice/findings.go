package advice

import (
	"thwart"
	"thwart/refdata"
)

// organismOther is what a steward writes when she is certain that a finding is none of the library's organisms.
const organismOther = "other"

// finding judges one finding. What is not told apart is taken as the worst it could be.
func (j *judge) finding(i int) {
	f := &j.in.Findings[i]
	r := thwart.Reason{Finding: i + 1, Place: f.Place, Organism: f.Organism, Standard: thwart.Clean}
	switch f.Matter {
	case thwart.MatterWater, thwart.MatterBait:
		j.waterFound(f, r)
		return
	case thwart.MatterMud:
		if f.Removed == thwart.RemovedAll || !j.protocol.Criteria.MudFails {
			return
		}
		r.Code, r.Outcome = thwart.ReasonMud, thwart.FixHere
	case thwart.MatterPlant:
		if f.Removed == thwart.RemovedAll || (!j.protocol.Criteria.AnyPlantFails && j.certainlyOther(f)) {
			return
		}
		r.Code, r.Outcome = thwart.ReasonPlant, thwart.FixHere
	case thwart.MatterEgg:
		if f.Removed == thwart.RemovedAll {
			return
		}
		r.Code, r.Outcome = thwart.ReasonResting, thwart.FixHere
	case thwart.MatterOther:
		if f.Removed == thwart.RemovedAll {
			return
		}
		r.Code, r.Outcome = thwart.ReasonOtherMatter, thwart.FixHere
	case thwart.MatterAttached, thwart.MatterLoose:
		var settled bool
		if r.Code, r.Outcome, settled = j.animal(f); settled {
			return
		}
	default:
		r.Code, r.Outcome = thwart.ReasonNotIdentified, thwart.Hold
	}
	j.fail(thwart.Clean, true)
	j.add(r)
}

// animal judges an animal, attached or loose. Everything that might be a mussel is one; everything that is not known to
// be dead is alive.
func (j *judge) animal(f *thwart.Finding) (code thwart.ReasonCode, o thwart.Outcome, settled bool) {
	if j.mightBeMussel(f) {
		if f.Vitality != thwart.VitalityDead {
			return thwart.ReasonLiveMussel, thwart.Hold, false
		}
		crit := j.protocol.Criteria
		switch {
		case crit.DeadMusselHolds:
			return thwart.ReasonDeadMussel, thwart.Hold, false
		case crit.DeadMusselFails:
			return thwart.ReasonDeadMussel, j.washOrDry(), false
		}
		return thwart.ReasonDeadMussel, thwart.FixHere, f.Removed == thwart.RemovedAll
	}
	return thwart.ReasonAnimal, thwart.FixHere, f.Removed == thwart.RemovedAll
}

// mightBeMussel is true unless the steward is certain or thinks it likely that the animal is something else.
func (j *judge) mightBeMussel(f *thwart.Finding) bool {
	if f.Organism == "" || f.Confidence == "unsure" || f.Confidence == "" {
		return true
	}
	if f.Organism == organismOther {
		return f.Confidence != "certain"
	}
	return organismIndex().groups[f.Organism] == refdata.GroupMussel
}

func (j *judge) certainlyOther(f *thwart.Finding) bool {
	return f.Organism == organismOther && f.Confidence == "certain"
}

// waterFound judges water written down as a finding of its own: it counts at least as a film once it has been drained.
func (j *judge) waterFound(f *thwart.Finding, r thwart.Reason) {
	p := j.placeByID(f.Place)
	if p == nil {
		return
	}
	w, code := isWater, thwart.ReasonWater
	crit := j.protocol.Criteria
	switch {
	case f.Removed == thwart.RemovedAll:
		w, code = isFilm, thwart.ReasonFilm
	case crit.Water == "limit" && f.VolumeL > 0 && f.VolumeL*1000 <= crit.WaterLimitML:
		w, code = isFilm, thwart.ReasonFilm
	}
	if w == isFilm && p.Holds == thwart.HoldsNone {
		return // a wiped surface; how wet it is now stands in its check
	}
	j.wet(p, w, code, true)
}
