package advice

import (
	"math"
	"slices"
	"strings"

	"thwart"
	"thwart/tongue"
)

// treat writes the work order of a craft that may not launch as it stands: what comes off by hand, what drains, what is
// washed, and how long it dries if it is not washed.
func treat(s *situation, v *thwart.Verdict) (*thwart.Treatment, error) {
	b := &builder{situation: s, verdict: v, out: &thwart.Treatment{Possible: true}}
	if v.Outcome == thwart.Hold {
		// Beyond the steward's authority: nothing else is touched until the agency has spoken.
		b.call()
		return b.out, nil
	}
	b.prepare()
	b.remove()
	b.drain()
	b.lookAgain()
	if v.Outcome == thwart.Wash {
		b.wash()
	} else {
		b.wipe()
	}
	if v.Outcome == thwart.DryOut {
		b.chemicals()
	}
	b.dry()
	b.relook()
	b.sum()
	b.unlessSettled()
	return b.out, nil
}

// unlessSettled says that a wash or a drying time falls away when it is only owed for places nobody has settled.
func (b *builder) unlessSettled() {
	if o := b.verdict.Outcome; o != thwart.Wash && o != thwart.DryOut {
		return
	}
	for i := range b.verdict.Reasons {
		r := &b.verdict.Reasons[i]
		switch r.Code {
		case thwart.ReasonNotLooked, thwart.ReasonNotFelt, thwart.ReasonNotOpened, thwart.ReasonWaterUnknown:
		default:
			if r.Outcome == b.verdict.Outcome {
				return
			}
		}
	}
	b.out.Notes = append(b.out.Notes, tongue.Say("It is owed only because places are not settled yet. If somebody settles them and they are clean and dry, judge anew: it may fall away."))
}

type builder struct {
	*situation
	verdict *thwart.Verdict
	out     *thwart.Treatment
}

func (b *builder) add(st thwart.Step) {
	st.N = len(b.out.Steps) + 1
	st.Cautions = b.cautionsFor(&st)
	b.out.Steps = append(b.out.Steps, st)
}

// placesWith lists the places named by reasons of these codes, in the order of the round.
func (b *builder) placesWith(codes ...thwart.ReasonCode) []string {
	named := make([]bool, len(b.places))
	for i := range b.verdict.Reasons {
		r := &b.verdict.Reasons[i]
		if at, ok := b.byID[r.Place]; ok && slices.Contains(codes, r.Code) {
			named[at] = true
		}
	}
	var ids []string
	for i := range b.places {
		if named[i] {
			ids = append(ids, b.places[i].ID)
		}
	}
	return ids
}

func (b *builder) has(codes ...thwart.ReasonCode) bool {
	return slices.ContainsFunc(b.verdict.Reasons, func(r thwart.Reason) bool { return slices.Contains(codes, r.Code) })
}

func (b *builder) prepare() {
	do := tongue.Say("Ask the owner's leave before you touch, open or board anything. Photograph the craft as it came.")
	if b.verdict.Outcome == thwart.Wash {
		do += " " + tongue.Say("Work on level ground away from the lake, ditches and drains; chock the wheels; catch the waste water."+
			" A car wash is no decontamination: it is too cool and it drains to the sewer.")
		if b.in.Setup.Paint != thwart.PaintNone {
			do += " " + tongue.Say("Ask whether the bottom is painted with antifouling; if it is, or nobody knows, no high pressure on it without containment.")
		}
	}
	b.add(thwart.Step{Kind: thwart.StepPrepare, Do: do, Source: commonPractice()})
}

func (b *builder) call() {
	who := roleList(b.protocol.May("hold"))
	b.add(thwart.Step{
		Kind: thwart.StepCall,
		Do: tongue.Say("Do not launch. Call {who}. Leave everything as it is, photograph what was found, keep the craft out of the water"+
			" and step back: never block a vehicle. A hold, an order and its end are theirs to give; what else is owed waits for their word.", who),
		Source: commonPractice(),
	})
}

func (b *builder) remove() {
	ids := b.placesWith(thwart.ReasonPlant, thwart.ReasonMud, thwart.ReasonAnimal, thwart.ReasonResting,
		thwart.ReasonOtherMatter, thwart.ReasonDeadMussel)
	if len(ids) == 0 {
		return
	}
	do := tongue.Say("Take off by hand everything that was found, bag it, and keep it away from water. Photograph it first if a case may follow.")
	if b.has(thwart.ReasonPlant, thwart.ReasonResting) {
		do += " " + tongue.Say("Spray does not kill plants, turions or bulbils: only taking them off does.")
	}
	b.add(thwart.Step{
		Kind: thwart.StepRemove, Places: ids, Do: do, Minutes: 1 + float64(len(ids)),
		Source: "Rothlisberger et al. 2010, Fisheries 35:121-132 (hand removal)",
	})
}

// drain starts everything that lets water out.
func (b *builder) drain() {
	ids := b.placesWith(thwart.ReasonWater, thwart.ReasonWaterUnknown, thwart.ReasonHiddenWet)
	standing := len(ids) > 0
	var acts []string
	if b.has(thwart.ReasonPlugIn, thwart.ReasonPlugUnknown) {
		acts = append(acts, tongue.Say("Ask the owner to pull every drain plug and keep them out."))
	}
	if b.has(thwart.ReasonDriveUp, thwart.ReasonDriveUnknown) {
		for i := range b.places {
			if p := &b.places[i]; p.Asks(thwart.TaskLower) && !slices.Contains(ids, p.ID) {
				ids = append(ids, p.ID)
			}
		}
		acts = append(acts, tongue.Say("Ask the owner to lower the drive fully and leave it down until nothing runs out. Keys out, hands clear of the propeller."))
	}
	if b.has(thwart.ReasonStrainerIn) {
		acts = append(acts, tongue.Say("Ask the owner to take the sea strainer out."))
	}
	for _, id := range ids {
		if p := b.placeByID(id); p != nil && p.Asks(thwart.TaskRun) {
			acts = append(acts, tongue.Say("Ask the owner to run the pumps until they suck air, once on the slope and once level."))
			break
		}
	}
	if standing {
		acts = append(acts, tongue.Say("Let the rest run out onto land, away from the water, and towel what stays."))
	}
	if len(acts) == 0 {
		return
	}
	b.add(thwart.Step{
		Kind: thwart.StepDrain, Places: ids, Do: strings.Join(acts, " "), Minutes: 3,
		Source: commonPractice(),
	})
}

func (b *builder) lookAgain() {
	ids := b.placesWith(thwart.ReasonNotLooked, thwart.ReasonNotFelt, thwart.ReasonNotOpened)
	if len(ids) == 0 {
		return
	}
	var sec float64
	for _, id := range ids {
		if p := b.placeByID(id); p != nil {
			sec += p.Seconds
		}
	}
	b.add(thwart.Step{
		Kind: thwart.StepLook, Places: ids, Minutes: sec / 60,
		Do:     tongue.Say("Look at and feel the places that are not settled yet; they do not count as clean until somebody has."),
		Source: commonPractice(),
	})
}

func (b *builder) wipe() {
	ids := b.placesWith(thwart.ReasonFilm, thwart.ReasonDamp)
	if len(ids) == 0 {
		return
	}
	b.add(thwart.Step{
		Kind: thwart.StepWipe, Places: ids, Minutes: 0.5 * float64(len(ids)),
		Do:     tongue.Say("Wipe and towel these dry. Rope, carpet and cloth cannot be wiped dry: open them out in air and sun."),
		Source: commonPractice(),
	})
}

// chemicals offers what the programme's own protocol allows where heat cannot be used, and nothing else.
func (b *builder) chemicals() {
	for i := range b.protocol.Chemicals {
		c := &b.protocol.Chemicals[i]
		do := tongue.Say("Where heat cannot be used, this protocol allows {agent}, {strength}, for {time}. The label and local law come first; never mix"+
			" chlorine with an acid such as vinegar; keep treated water out of the lake.", tongue.Data(c.Agent), tongue.Data(c.Strength), minutes(c.ContactS))
		if c.NotFor != "" {
			do += " " + tongue.Say("Not for {what}.", tongue.Data(c.NotFor))
		}
		b.add(thwart.Step{Kind: thwart.StepChemical, ContactS: c.ContactS, Do: do, Source: c.Source})
	}
}

// dry attaches the drying clock where drying is owed, or where it is the other way out of a wash.
func (b *builder) dry() {
	o := b.verdict.Outcome
	if o == thwart.FixHere || (!b.atRisk() && len(b.protocol.Dry) == 0) {
		return
	}
	met := map[thwart.Standard]thwart.Answer{}
	for _, j := range b.verdict.Standards {
		met[j.Standard] = j.Met
	}
	hold := b.dryHold(met)
	b.out.Dry = hold
	if o != thwart.DryOut && b.out.Possible {
		return
	}
	do := tongue.Say("Dry it in open air{open}.", b.openWords()) + " "
	switch {
	case hold.Earliest != nil:
		do += tongue.Say("It may launch from {date} ({rule}). Rain, a splash or a launch starts the clock again.", date(*hold.Earliest), hold.Decides)
	default:
		do += tongue.Say("No time can be given yet: {why}", b.whyNoTime(hold))
	}
	b.add(thwart.Step{Kind: thwart.StepDry, Do: do, Source: tongue.Say("see the drying lines")})
}

// openWords says what has to be opened, lowered and spread out on this craft.
func (b *builder) openWords() string {
	var what []string
	if slices.ContainsFunc(b.places, func(p thwart.Place) bool { return p.Asks(thwart.TaskOpen) && p.Zone == thwart.ZoneAboard }) {
		what = append(what, tongue.Say("hatches, wells and lockers open"))
	}
	if b.traits.lower {
		what = append(what, tongue.Say("drive down"))
	}
	if b.traits.cloth {
		what = append(what, tongue.Say("ropes and cloth spread out"))
	}
	if len(what) == 0 {
		return ""
	}
	return tongue.Say(": {what}", strings.Join(what, ", "))
}

func (b *builder) whyNoTime(h *thwart.DryHold) string {
	for i := range h.Lines {
		l := &h.Lines[i]
		if !l.Binding || l.Earliest != nil || l.Title != h.Decides {
			continue
		}
		switch l.State {
		case lineNotStarted:
			return tongue.Say("the clock starts {when}.", tongue.Say(startWords[l.From]))
		case lineNever:
			return tongue.Say("the rule of this place does not let it launch here.")
		case lineNotAccepted:
			return tongue.Say("this protocol accepts no drying in place of a wash.")
		}
		return l.Note
	}
	return tongue.Say("nothing is known to clear it by drying.")
}

func (b *builder) relook() {
	b.add(thwart.Step{
		Kind: thwart.StepRelook, Minutes: 2,
		Do:     tongue.Say("Look and feel again where anything was found, removed or washed, then judge anew. Only a new verdict lets it launch; seal and receipt follow it."),
		Source: "Wyoming Game and Fish (inspection again after a wash); New Mexico 19.30.14.12 NMAC",
	})
}

// sum adds up what the work takes, and how many craft like this one the tank still serves.
func (b *builder) sum() {
	t := b.out
	for i := range t.Steps {
		st := &t.Steps[i]
		t.Minutes += st.Minutes
		t.WaterL += st.WaterL
		t.FuelL += st.FuelL
		t.Estimate = t.Estimate || st.Estimate
	}
	t.WasteL = t.WaterL
	if b.unit != nil && b.unit.TankL > 0 && t.WaterL > 0 {
		n := int(math.Floor(b.unit.TankL / t.WaterL))
		t.BoatsLeft = &n
		if n == 0 {
			t.Notes = append(t.Notes, tongue.Say("The tank does not hold enough water for this craft."))
		}
	}
	if b.unit != nil && b.unit.FuelL > 0 && t.FuelL > b.unit.FuelL {
		t.Notes = append(t.Notes, tongue.Say("There is not enough fuel for this craft."))
	}
	if !t.Possible {
		t.Instead = thwart.Hold
		if t.Dry != nil && dryingPossible(t.Dry) {
			t.Instead = thwart.DryOut
		}
	}
}

// dryingPossible reports whether drying can ever end: every line that binds has an end, or only waits for its clock to start.
func dryingPossible(h *thwart.DryHold) bool {
	binding := false
	for i := range h.Lines {
		l := &h.Lines[i]
		if !l.Binding {
			continue
		}
		binding = true
		if l.Earliest == nil && l.State != lineNotStarted {
			return false
		}
	}
	return binding
}

func roleList(roles []thwart.Role) string {
	words := make([]string, 0, len(roles))
	for _, r := range roles {
		words = append(words, tongue.Say(roleWords[r]))
	}
	return tongue.Or(words)
}

func minutes(s float64) string {
	if s >= 60 {
		return tongue.Say("{n} min", tongue.Num(s/60, 'f', 0))
	}
	return tongue.Say("{n} s", tongue.Num(s, 'f', 0))
}
