package advice

import (
	"strings"

	"thwart"
	"thwart/refdata"
	"thwart/tongue"
	"thwart/unit"
)

// The English of a verdict. A person at the ramp reads these aloud, so they are short, start with the thing, and use the
// words of the trade. Each is a message that package tongue says in the language of the phone; codes and fields carry the same facts.

var reasonWords = map[thwart.ReasonCode]tongue.Text{
	thwart.ReasonNotLooked:      "{place}: nobody has looked here, so it does not count as clean.",
	thwart.ReasonNotFelt:        "{place}: not felt by hand, so it does not count as clean. Young mussels feel like sandpaper.",
	thwart.ReasonNotOpened:      "{place}: not opened, so it does not count as clean.",
	thwart.ReasonWater:          "{place}: water is standing or running here.",
	thwart.ReasonWaterUnknown:   "{place}: nobody said whether it is dry, so it counts as wet.",
	thwart.ReasonHiddenWet:      "{place}: cannot be seen into, so it counts as wet.",
	thwart.ReasonFilm:           "{place}: a film of water is left.",
	thwart.ReasonDamp:           "{place}: damp to the hand.",
	thwart.ReasonPlugIn:         "A drain plug is in. Plugs stay out on the road.",
	thwart.ReasonPlugUnknown:    "Nobody saw the drain plugs out, so the craft does not count as drained.",
	thwart.ReasonDriveUp:        "The drive was not lowered fully, so the engine counts as not drained.",
	thwart.ReasonDriveUnknown:   "Nobody said whether the drive was lowered, so the engine counts as not drained.",
	thwart.ReasonStrainerIn:     "The sea strainer was not taken out.",
	thwart.ReasonLiveMussel:     "{place}: what was found may be a mussel, and it counts as alive. Do not launch; call the agency.",
	thwart.ReasonDeadMussel:     "{place}: dead mussels. The next person to look cannot tell that they are dead.",
	thwart.ReasonAnimal:         "{place}: an animal has to come off.",
	thwart.ReasonPlant:          "{place}: plant pieces have to come off.",
	thwart.ReasonMud:            "{place}: mud has to come off.",
	thwart.ReasonResting:        "{place}: eggs, seeds or buds have to come off. Spray and drying may not kill them.",
	thwart.ReasonOtherMatter:    "{place}: something has to come off.",
	thwart.ReasonNotIdentified:  "{place}: something was found that nobody could name. It counts as a live mussel; call the agency.",
	thwart.ReasonRiskWater:      "{water} and has not been {owed} since.",
	thwart.ReasonAlways:         "{rule}, whatever is found.",
	thwart.ReasonSealBroken:     "A hold seal was taken off before its time, or nobody can say. Refer it to the agency.",
	thwart.ReasonSealHeld:       "The hold on its seal is not over{until}.",
	thwart.ReasonSealSevere:     "Its seal warns of severe risk, or nobody can tell what kind of seal it is. Call the agency.",
	thwart.ReasonSealNotCounted: "Its seal does not count here, so it is inspected like any other craft.",
	thwart.ReasonSealAccepted:   "Its seal is whole and counts here: no other water since. The launch ends it.",
	thwart.ReasonSameWater:      "It goes straight back to the water it came from, which asks for no drying and no wash here.",
	thwart.ReasonCarriedIn:      "It was carried in without a motor, which this protocol exempts.",
	thwart.ReasonWashedSince:    "It comes from a water at risk and has been washed since.",
	thwart.ReasonDriedSince:     "It comes from a water at risk and has dried long enough since.",
	thwart.ReasonNeverHere:      "The rule of this place does not let it launch here at all.",
	thwart.ReasonNoTreatment:    "{place}: neither a wash nor drying can be shown here. Call the lead for a wash elsewhere.",
	thwart.ReasonRefused:        "The boater declined the inspection. It is recorded, and it is not a pass.",
	thwart.ReasonAllMet:         "Every place was looked at and felt. Clean, drained and dry.",
}

// outcomeWords is what each outcome is called on the plate.
var outcomeWords = map[thwart.Outcome]tongue.Text{
	thwart.Launch: "LAUNCH", thwart.FixHere: "FIX HERE", thwart.Wash: "WASH", thwart.DryOut: "DRY", thwart.Hold: "HOLD",
}

// Plate gives the word of an outcome as it stands on the verdict plate.
func Plate(o thwart.Outcome) string { return tongue.Say(outcomeWords[o]) }

// Say gives the one or two sentences that go with an outcome, said to the boater.
func Say(o thwart.Outcome) string {
	switch o {
	case thwart.Launch:
		return tongue.Say("Good to launch. Thank you for keeping the lakes clean.")
	case thwart.FixHere:
		return tongue.Say("Please wait here. A few things have to come off or drain first.")
	case thwart.Wash:
		return tongue.Say("Your boat needs a hot wash before it goes in.")
	case thwart.DryOut:
		return tongue.Say("Your boat has to dry before it goes in, long enough to be safe.")
	case thwart.Hold:
		return tongue.Say("Stop. Do not launch. The agency must look at it first.")
	}
	return ""
}

func (s *situation) reasonText(r *thwart.Reason) string {
	t := reasonWords[r.Code]
	switch r.Code {
	case thwart.ReasonRiskWater:
		return tongue.Say(t, s.history.from(), tongue.Say(owedWords[s.protocol.AfterRisk]))
	case thwart.ReasonAlways:
		return tongue.Say(t, tongue.Say(ruleWords[r.Rule]))
	case thwart.ReasonSealHeld:
		until := ""
		if seal := s.in.Seal; seal != nil && seal.HoldEndsAt != nil {
			until = tongue.Say(": it ends on {date}", date(*seal.HoldEndsAt))
		}
		return tongue.Say(t, until)
	}
	name := r.Place
	if p := s.placeByID(r.Place); p != nil {
		name = p.Name
	}
	return tongue.Say(t, tongue.Capital(name))
}

// owedWords says what a craft from a water at risk still owes.
var owedWords = map[string]tongue.Text{
	"wash": "washed", "dry": "dried long enough", "wash_and_dry": "washed and dried long enough", "wash_or_dry": "washed or dried long enough",
}

// ruleWords says which craft a standing rule treats.
var ruleWords = map[string]tongue.Text{
	"any": "The rule here is for every craft", "ballast": "The rule here is for craft with ballast", "motor": "The rule here is for motor craft",
	"out_of_region": "The rule here is for craft from outside the region, or nobody said where from",
	"moored":        "The rule here is for craft that lay moored, or nobody said", "risk_water": "The rule here is for craft from a water at risk",
	"no_local_seal":           "The rule here is for motor craft without this water's own seal",
	"trailered_no_local_seal": "The rule here is for trailered craft without this water's own seal",
	"changes_water":           "The rule here is for craft that change waters", "dock": "The rule here is for docks, lifts and rafts",
}

// from says where the risk comes from.
func (h *history) from() string {
	if h.unknown || len(h.waters) == 0 {
		return tongue.Say("Nobody could say which water it comes from, which counts as the worst,")
	}
	return tongue.Say("It comes from a water at risk ({waters})", strings.Join(h.waters, ", "))
}

// SayVerdict gives the sentence that goes with a verdict, said to the boater.
func SayVerdict(v *thwart.Verdict) string {
	if len(v.Reasons) > 0 && v.Reasons[0].Code == thwart.ReasonNeverHere {
		return tongue.Say("This craft may not be launched here.")
	}
	return Say(v.Now)
}

func temp(c unit.Celsius) string { return unit.Metric.Temp(c) }

func organismName(id string) string {
	if n := organismIndex().names[id]; n != "" {
		return tongue.Data(n)
	}
	return id
}

type organismStage struct {
	organism string
	stage    refdata.StageName
}

// stageWords holds what every stage of the library is called, such as "zebra mussel, larva".
var stageWords = tongue.Once(func() map[organismStage]string {
	words := map[organismStage]string{}
	for _, o := range organismIDs() {
		for _, st := range stagesOf(o) {
			stage := strings.ReplaceAll(string(st.Name), "_", " ")
			words[organismStage{o, st.Name}] = tongue.Say("{organism}, {stage}", organismName(o), tongue.Data(stage))
		}
	}
	return words
})

func nameAndStage(organism string, stage refdata.StageName) string {
	return stageWords()[organismStage{organism, stage}]
}

// commonPractice stands where the source of a step would stand and there is none.
func commonPractice() string { return tongue.Say("common practice, no source") }

var roleWords = map[thwart.Role]tongue.Text{
	thwart.RoleOwner: "the owner", thwart.RoleVolunteer: "the volunteer", thwart.RoleSteward: "the steward", thwart.RoleTechnician: "the technician",
	thwart.RoleManager: "the manager", thwart.RoleOfficer: "the officer", thwart.RoleAgency: "the agency",
}
