package advice

import (
	"cmp"

	"thwart"
	"thwart/lean"
)

// judge holds what one verdict is built from. Every rule looks at one thing, says which standard it fails, and asks for
// an outcome; the strictest decides. No rule can make an outcome milder, so unknown answers and further findings can
// only tighten a verdict.
type judge struct {
	*situation
	reasons []thwart.Reason
	met     map[thwart.Standard]thwart.Answer
	settled int
}

// wetness of a place after everything that speaks of it has been heard.
type wetness int

const (
	isDry wetness = iota
	isDamp
	isFilm
	isWater
)

func judgeCase(s *situation) thwart.Verdict {
	j := &judge{situation: s, met: map[thwart.Standard]thwart.Answer{
		thwart.Clean: thwart.Yes, thwart.Drained: thwart.Yes, thwart.Dry: thwart.Yes,
	}}
	j.reasons = make([]thwart.Reason, 0, 8)
	j.seal()
	if j.in.Refused {
		// Nobody looked: the standards are unknown, and a list of every place would hide the one thing that matters.
		for _, s := range thwart.Standards {
			j.fail(s, false)
		}
		j.add(thwart.Reason{Code: thwart.ReasonRefused, Outcome: thwart.Hold})
	} else {
		j.outlets()
		for i := range j.places {
			j.place(&j.places[i])
		}
	}
	for i := range j.in.Findings {
		j.finding(i)
	}
	j.rulesOfThePlace()
	j.owedAfterRisk()
	return j.verdict()
}

// seal reads a seal or release. An accepted one is proof about the history; it never shortens the round.
func (j *judge) seal() {
	if j.in.Seal == nil {
		return
	}
	a := judgeSeal(j.in.Seal, j.protocol, j.in.Water, j.in.StartedAt)
	if a.reason.Code != "" {
		j.add(a.reason)
	}
	j.sealed = a.accepted
	j.localSeal = a.accepted && a.local
}

// outlets judges plugs, strainers and the lowered drive: the ways out for water.
func (j *judge) outlets() {
	crit := j.protocol.Criteria
	if j.traits.plug && crit.Plug == "out" && j.in.PlugsOut != thwart.Yes {
		code := thwart.ReasonPlugIn
		if !j.in.PlugsOut.Known() {
			code = thwart.ReasonPlugUnknown
		}
		j.fail(thwart.Drained, j.in.PlugsOut.Known())
		j.add(thwart.Reason{Code: code, Standard: thwart.Drained, Outcome: thwart.FixHere})
	}
	if j.traits.lower && j.in.DriveLowered != thwart.Yes {
		code := thwart.ReasonDriveUp
		if !j.in.DriveLowered.Known() {
			code = thwart.ReasonDriveUnknown
		}
		j.fail(thwart.Drained, j.in.DriveLowered.Known())
		j.add(thwart.Reason{Code: code, Standard: thwart.Drained, Outcome: j.wetOutcome(isWater)})
	}
	if crit.StrainerOut && j.traits.complex && j.traits.motor && j.in.StrainerOut != thwart.Yes {
		j.fail(thwart.Drained, j.in.StrainerOut.Known())
		j.add(thwart.Reason{Code: thwart.ReasonStrainerIn, Standard: thwart.Drained, Outcome: thwart.FixHere})
	}
}

// place judges what was done at one stop of the round and how wet it was.
func (j *judge) place(p *thwart.Place) {
	k := j.in.CheckOf(p.ID)
	if code, known := undone(p, &k); code != "" {
		j.fail(thwart.Clean, known)
		j.add(thwart.Reason{Code: code, Standard: thwart.Clean, Place: p.ID, Outcome: j.unseenOutcome()})
	} else if k.Looked.Known() || k.RanDry.Known() || k.Wet != thwart.WetUnknown {
		j.settled++
	}
	w, code, known := j.wetnessOf(p, &k)
	j.wet(p, w, code, known)
}

// undone says what is missing at a stop, and whether that is known or simply unanswered. A hidden space asks for no
// look inside; what it holds is judged as water.
func undone(p *thwart.Place, k *thwart.Check) (thwart.ReasonCode, bool) {
	// A reason for what could not be done speaks of a place even where the library does not ask for it.
	missing := func(t thwart.Task, a thwart.Answer) bool {
		return p.Asks(t) && a != thwart.Yes || a == thwart.No && k.Reason != ""
	}
	switch {
	case missing(thwart.TaskOpen, k.Opened):
		return thwart.ReasonNotOpened, k.Opened.Known()
	case missing(thwart.TaskLook, k.Looked):
		return thwart.ReasonNotLooked, k.Looked.Known()
	case missing(thwart.TaskFeel, k.Felt):
		return thwart.ReasonNotFelt, k.Felt.Known()
	}
	return "", true
}

// wetnessOf gives how wet a place counts, the reason code for it, and whether that is known rather than assumed.
func (j *judge) wetnessOf(p *thwart.Place, k *thwart.Check) (wetness, thwart.ReasonCode, bool) {
	if p.Part == thwart.PartEngine && p.Hidden {
		// A cooling passage is judged by what runs out of the lowered drive.
		switch {
		case p.Asks(thwart.TaskLower) && j.in.DriveLowered != thwart.Yes:
			return isWater, thwart.ReasonDriveUp, j.in.DriveLowered.Known()
		case k.Wet == thwart.WetUnknown:
			return isWater, thwart.ReasonWaterUnknown, false
		}
		return said(k.Wet, p), thwart.ReasonWater, true
	}
	if p.Hidden {
		switch {
		case k.RanDry != thwart.Yes:
			return isWater, thwart.ReasonHiddenWet, k.RanDry.Known()
		case k.Wet == thwart.WetWater || k.Wet == thwart.WetUnknown:
			return isWater, thwart.ReasonHiddenWet, k.Wet != thwart.WetUnknown
		}
		return isFilm, thwart.ReasonHiddenWet, false
	}
	if k.Wet == thwart.WetUnknown {
		if p.Holds == thwart.HoldsNone {
			return isFilm, thwart.ReasonWaterUnknown, false
		}
		return isWater, thwart.ReasonWaterUnknown, false
	}
	w := said(k.Wet, p)
	return w, []thwart.ReasonCode{"", thwart.ReasonDamp, thwart.ReasonFilm, thwart.ReasonWater}[w], true
}

// said turns the steward's word into a wetness; a surface that cannot hold water is at most filmed with it.
func said(w thwart.Wetness, p *thwart.Place) wetness {
	switch w {
	case thwart.WetDry:
		return isDry
	case thwart.WetDamp:
		return isDamp
	case thwart.WetFilm:
		return isFilm
	}
	if p.Holds == thwart.HoldsNone {
		return isFilm
	}
	return isWater
}

// wet fails what a wetness fails under the protocol.
func (j *judge) wet(p *thwart.Place, w wetness, code thwart.ReasonCode, known bool) {
	crit := j.protocol.Criteria
	if w == isDamp && p.Cloth && !crit.ClothMustDry {
		w = isDry
	}
	// A protocol that lets a film pass lets the lesser damp pass too; cloth that must be dry is in neither.
	if w <= isFilm && crit.Water != "none" && !p.Hidden && !(p.Cloth && crit.ClothMustDry) {
		w = isDry
	}
	if p.Hidden && w == isFilm && !j.atRisk() {
		// Pumped until it sucked air, and from no water at risk: drained as far as it can be.
		return
	}
	if w == isDry || (w != isWater && j.sameWater()) {
		return // going straight back to the same water asks for no drying
	}
	reason := thwart.Reason{Code: code, Place: p.ID, Standard: thwart.Dry}
	if w == isWater {
		reason.Standard = thwart.Drained
		j.fail(thwart.Drained, known)
	}
	j.fail(thwart.Dry, known)
	if !j.protocol.Needs(thwart.Dry) && w != isWater && !(p.Hidden && j.atRisk()) {
		return
	}
	reason.Outcome = j.wetOutcome(w)
	if code != thwart.ReasonDriveUp { // said once for the whole drive
		j.add(reason)
	}
}

// wetOutcome is what wet places ask for: wiping and draining here, or, from a water at risk whose life travels in water,
// a wash; where there is no hot water, a drying time.
func (j *judge) wetOutcome(w wetness) thwart.Outcome {
	if j.atRisk() && j.history.inWater {
		return j.washOrDry()
	}
	return thwart.FixHere
}

// unseenOutcome is what a place that nobody settled asks for: look again, or treat it as carrying.
func (j *judge) unseenOutcome() thwart.Outcome {
	if j.atRisk() {
		return j.washOrDry()
	}
	return thwart.FixHere
}

// washOrDry gives wash where hot water is at hand and dry where it is not. A wet space that cannot be seen into can be
// shown dead by neither then.
func (j *judge) washOrDry() thwart.Outcome {
	if j.unit != nil {
		return thwart.Wash
	}
	return thwart.DryOut
}

// rulesOfThePlace applies the rules that treat a craft whatever is found on it.
func (j *judge) rulesOfThePlace() {
	if j.shutOut() {
		j.add(thwart.Reason{Code: thwart.ReasonNeverHere, Outcome: thwart.Hold, Source: j.shutOutBy()})
	}
	for i := range j.protocol.Always {
		a := &j.protocol.Always[i]
		if !j.alwaysApplies(a.When) {
			continue
		}
		if a.Outcome == thwart.Wash && j.washedSince() || a.Outcome == thwart.DryOut && j.dryingMet() {
			continue
		}
		j.add(thwart.Reason{Code: thwart.ReasonAlways, Outcome: a.Outcome, Source: a.Source, Rule: a.When})
	}
}

func (j *judge) alwaysApplies(when string) bool {
	switch when {
	case "any":
		return true
	case "ballast":
		return j.traits.ballast
	case "motor":
		return j.traits.motor
	case "out_of_region":
		return j.in.OutOfRegion != thwart.No
	case "moored":
		return j.history.moored
	case "risk_water":
		return j.atRisk()
	case "no_local_seal":
		return j.traits.motor && !j.localSeal
	case "trailered_no_local_seal":
		return j.in.Setup.Trailer != thwart.TrailerNone && !j.localSeal
	case "changes_water":
		return !j.sealed && !j.sameWater() && !(j.protocol.CarryInExempt && j.traits.carryIn)
	case "dock":
		return j.traits.dock
	}
	return true
}

// owedAfterRisk adds what a craft from a water at risk owes even when it is clean, drained and dry.
func (j *judge) owedAfterRisk() {
	j.exempt()
	if !j.atRisk() || j.protocol.AfterRisk == "nothing" {
		j.hiddenNeedsWash()
		return
	}
	washed, dried := j.washedSince(), j.dryingMet()
	reason := thwart.Reason{Code: thwart.ReasonRiskWater}
	switch j.protocol.AfterRisk {
	case "wash":
		if !washed {
			reason.Outcome = j.washOrDry()
		}
	case "dry":
		if !dried {
			reason.Outcome = thwart.DryOut
		}
	case "wash_and_dry":
		switch {
		case !dried:
			reason.Outcome = thwart.DryOut
		case !washed:
			reason.Outcome = j.washOrDry()
		}
	default:
		if !washed && !dried {
			reason.Outcome = j.washOrDry()
		}
	}
	switch {
	case reason.Outcome != "":
		j.add(reason)
	case washed:
		j.add(thwart.Reason{Code: thwart.ReasonWashedSince})
	default:
		j.add(thwart.Reason{Code: thwart.ReasonDriedSince})
	}
	j.hiddenNeedsWash()
}

// exempt says why a craft from a water at risk is not treated as one.
func (j *judge) exempt() {
	switch {
	case !j.history.atRisk || j.sealed: // a seal speaks for itself
	case j.sameWater():
		j.add(thwart.Reason{Code: thwart.ReasonSameWater})
	case j.protocol.CarryInExempt && j.traits.carryIn:
		j.add(thwart.Reason{Code: thwart.ReasonCarriedIn})
	}
}

// hiddenNeedsWash holds a craft with a wet space nobody can see into when there is no hot water: drying cannot be shown.
func (j *judge) hiddenNeedsWash() {
	if j.unit != nil || !j.atRisk() || !j.history.inWater {
		return
	}
	for i := range j.places {
		p := &j.places[i]
		if p.Hidden && p.Part != thwart.PartEngine {
			j.add(thwart.Reason{Code: thwart.ReasonNoTreatment, Outcome: thwart.Hold, Place: p.ID})
			return
		}
	}
}

// washedSince reports whether a wash after the last stay is on record.
func (j *judge) washedSince() bool {
	return j.in.WashedAt != nil && j.history.outAt != nil && j.in.WashedAt.After(*j.history.outAt) &&
		!j.in.WashedAt.After(j.in.StartedAt)
}

func (j *judge) add(r thwart.Reason) {
	if r.Outcome == "" {
		r.Outcome = thwart.Launch
	}
	j.reasons = append(j.reasons, r)
}

// fail marks a standard as not met, or as unknown where the answer is missing; "no" is kept once it is there.
func (j *judge) fail(s thwart.Standard, known bool) {
	if known {
		j.met[s] = thwart.No
	} else if j.met[s] == thwart.Yes {
		j.met[s] = thwart.Unknown
	}
}

func (j *judge) verdict() thwart.Verdict {
	v := thwart.Verdict{
		Outcome: thwart.Launch, AtRisk: j.atRisk(), DaysOut: j.history.daysOut,
		Places: len(j.places), Settled: j.settled, Versions: j.versions(), Unconfirmed: !j.protocol.Confirmed,
	}
	fixFirst := false
	for i := range j.reasons {
		r := &j.reasons[i]
		v.Outcome = v.Outcome.Stricter(r.Outcome)
		fixFirst = fixFirst || needsHands(r)
	}
	for _, s := range thwart.Standards {
		required := j.protocol.Needs(s) && !(s == thwart.Dry && j.sameWater())
		v.Standards = append(v.Standards, thwart.Judged{Standard: s, Met: j.met[s], Required: required})
		if required && j.met[s] != thwart.Yes {
			v.Outcome = v.Outcome.Stricter(thwart.FixHere)
		}
	}
	v.Now = v.Outcome
	if v.Outcome == thwart.DryOut && fixFirst {
		v.Now = thwart.FixHere
	}
	if v.Outcome == thwart.Launch {
		j.add(thwart.Reason{Code: thwart.ReasonAllMet})
	}
	j.orderReasons()
	for i := range j.reasons {
		j.reasons[i].Text = j.reasonText(&j.reasons[i])
	}
	v.Reasons = j.reasons
	v.LocalWord = j.protocol.Words[string(v.Outcome)]
	v.Decides = j.decides(v.Outcome)
	return v
}

// orderReasons puts the strictest first, and among equals what was found before what is wet, that before what is merely not
// known, and rules of the place last. The same thing said twice of one place is said once.
func (j *judge) orderReasons() {
	type key struct {
		code        thwart.ReasonCode
		outcome     thwart.Outcome
		place, rule string
	}
	said := make(map[key]bool, len(j.reasons))
	once := j.reasons[:0]
	for _, r := range j.reasons {
		k := key{r.Code, r.Outcome, r.Place, r.Rule}
		if !said[k] {
			said[k] = true
			once = append(once, r)
		}
	}
	lean.SortStable(once, func(a, b thwart.Reason) int {
		return cmp.Or(b.Outcome.Rank()-a.Outcome.Rank(), reasonOrder(a.Code)-reasonOrder(b.Code))
	})
	j.reasons = once
}

func reasonOrder(c thwart.ReasonCode) int {
	switch c {
	case thwart.ReasonLiveMussel, thwart.ReasonDeadMussel, thwart.ReasonAnimal, thwart.ReasonPlant, thwart.ReasonMud,
		thwart.ReasonResting, thwart.ReasonOtherMatter, thwart.ReasonNotIdentified, thwart.ReasonRefused, thwart.ReasonNeverHere:
		return 0
	case thwart.ReasonWater, thwart.ReasonHiddenWet, thwart.ReasonDriveUp, thwart.ReasonPlugIn, thwart.ReasonStrainerIn:
		return 1
	case thwart.ReasonFilm, thwart.ReasonDamp:
		return 2
	case thwart.ReasonNotLooked, thwart.ReasonNotFelt, thwart.ReasonNotOpened, thwart.ReasonWaterUnknown, thwart.ReasonPlugUnknown,
		thwart.ReasonDriveUnknown:
		return 3
	}
	return 4
}

// needsHands reports whether a reason is settled by looking, removing, draining or wiping, before any clock can start.
func needsHands(r *thwart.Reason) bool {
	switch r.Code {
	case thwart.ReasonRiskWater, thwart.ReasonAlways, thwart.ReasonSealHeld, thwart.ReasonSealNotCounted,
		thwart.ReasonSealAccepted, thwart.ReasonRefused, thwart.ReasonSameWater, thwart.ReasonCarriedIn, thwart.ReasonNoTreatment, thwart.ReasonNeverHere:
		return false
	}
	return r.Outcome.Rank() > thwart.Launch.Rank()
}

// decides names who may order an outcome. Fixing on the spot is asked of the owner, never ordered.
func (j *judge) decides(o thwart.Outcome) []thwart.Role {
	switch o {
	case thwart.Launch, thwart.FixHere:
		return j.protocol.May("refuse_launch")
	case thwart.Wash:
		return j.protocol.May("require_wash")
	case thwart.DryOut:
		return j.protocol.May("refuse_launch")
	}
	return j.protocol.May("hold")
}
