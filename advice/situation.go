package advice

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"thwart"
	"thwart/engine/drying"
	"thwart/engine/risk"
	"thwart/lean"
	"thwart/refdata"
)

// EngineVersion stands in every answer beside the version of the data, so that it can be traced to what made it. It changes
// whenever an answer to the same case may change; the changelog says how.
const EngineVersion = "1"

// situation is a case with everything looked up that the answers share.
type situation struct {
	cs        *thwart.Case
	in        *thwart.Inspection
	protocol  *thwart.Protocol
	unit      *thwart.WashUnit
	places    []thwart.Place
	byID      map[string]int
	traits    traits
	history   history
	sealed    bool // an accepted seal or release: no other water since it was cleared
	localSeal bool
	skill     []risk.Beta     // of who looked, in the order of seenClasses
	hold      *thwart.DryHold // computed once, on first use
	// surfacesOf keeps, per set of ways to ride along, the kinds of surface found for it.
	surfacesOf [1 << 4][]drying.Surface
}

func situationOf(cs *thwart.Case) (*situation, error) {
	if err := cs.Validate(); err != nil {
		return nil, err
	}
	s := &situation{cs: cs, in: &cs.Inspection, unit: cs.Unit}
	if cs.Protocol != nil {
		p, err := Expand(*cs.Protocol)
		if err != nil {
			return nil, err
		}
		s.protocol = &p
	} else {
		if cs.ProtocolID == "" {
			return nil, thwart.FieldErrors{{Field: "protocolId", Accepted: "a protocol of the library (list them with: thwart protocols), or protocol in full"}}
		}
		p, err := protocolRef(cs.ProtocolID)
		if err != nil {
			return nil, err
		}
		s.protocol = p
	}
	places, err := Places(cs.Inspection.Setup)
	if err != nil {
		return nil, within("inspection.setup.", err)
	}
	s.places = places
	s.byID = make(map[string]int, len(places))
	for i := range places {
		s.byID[places[i].ID] = i
	}
	if err := s.checkNames(); err != nil {
		return nil, err
	}
	s.skill = lookSkill(cs.Skill)
	s.traits = traitsOf(cs.Inspection.Setup, places)
	s.history = historyOf(cs, s.protocol)
	return s, nil
}

// within puts the path of a part of the case before the fields of its errors.
func within(at string, err error) error {
	var fields thwart.FieldErrors
	if !errors.As(err, &fields) {
		return err
	}
	fields = slices.Clone(fields)
	for i := range fields {
		fields[i].Field = at + fields[i].Field
	}
	return fields
}

// checkNames refuses places and organisms that do not exist: a finding at a place that is not on this craft would
// otherwise be lost in silence.
func (s *situation) checkNames() error {
	errs := checkSkill(s.cs.Skill)
	place := func(field, id string) {
		if _, ok := s.byID[id]; !ok {
			errs = append(errs, thwart.FieldError{Field: field, Value: id, Accepted: "a place of this setup: " + s.nearPlaces(id)})
		}
	}
	for i := range s.in.Checks {
		place(fmt.Sprintf("inspection.checks[%d].place", i), s.in.Checks[i].Place)
	}
	for i := range s.in.Findings {
		f := &s.in.Findings[i]
		place(fmt.Sprintf("inspection.findings[%d].place", i), f.Place)
		if f.Organism != "" && f.Organism != organismOther {
			if _, ok := organismIndex().names[f.Organism]; !ok {
				errs = append(errs, thwart.FieldError{
					Field: fmt.Sprintf("inspection.findings[%d].organism", i), Value: f.Organism,
					Accepted: "an organism of the library (list them with: thwart organisms), other for one that is none of them, or unknown",
				})
			}
		}
	}
	for i := range s.cs.Waters {
		for o := range s.cs.Waters[i].Status {
			if _, ok := organismIndex().names[o]; !ok {
				errs = append(errs, thwart.FieldError{
					Field: fmt.Sprintf("waters[%d].status.%s", i, o), Value: o,
					Accepted: "an organism of the library (list them with: thwart organisms)",
				})
			}
		}
	}
	if s.unit != nil && s.unit.Fuel != "" {
		if _, ok := refdata.FuelByID(s.unit.Fuel); !ok {
			errs = append(errs, thwart.FieldError{Field: "unit.fuel", Value: s.unit.Fuel, Accepted: "a fuel of the library, such as diesel"})
		}
	}
	if len(errs) > 0 {
		return errs
	}
	return nil
}

// nearPlaces suggests the places whose ids share most words with what was written.
func (s *situation) nearPlaces(id string) string {
	parts := strings.FieldsFunc(id, func(r rune) bool { return r == '.' || r == '_' || r == ' ' || r == '-' })
	shared := func(p *thwart.Place) (n int) {
		for _, part := range parts {
			if len(part) > 2 && strings.Contains(p.ID, strings.ToLower(part)) {
				n++
			}
		}
		return n
	}
	order := make([]int, len(s.places))
	for i := range order {
		order[i] = i
	}
	lean.SortStable(order, func(a, b int) int { return shared(&s.places[b]) - shared(&s.places[a]) })
	var near []string
	for _, i := range order[:min(4, len(order))] {
		near = append(near, s.places[i].ID)
	}
	return strings.Join(near, ", ") + " … (all of them: thwart round CASE --full)"
}

func (s *situation) placeByID(id string) *thwart.Place {
	if i, ok := s.byID[id]; ok {
		return &s.places[i]
	}
	return nil
}

// atRisk reports whether the craft counts as coming from a water at risk: seals, the same water and carry-in exemptions
// taken into account.
func (s *situation) atRisk() bool {
	if !s.history.atRisk || s.sealed {
		return false
	}
	if s.sameWater() {
		return false
	}
	return !(s.protocol.CarryInExempt && s.traits.carryIn)
}

// sameWater reports whether the craft goes straight back to the water it came from, under a protocol that exempts this.
func (s *situation) sameWater() bool { return s.protocol.SameWaterExempt && s.history.sameWater }

func (s *situation) versions() thwart.Versions {
	return thwart.Versions{Engine: EngineVersion, Data: refdata.Version(), Protocol: s.protocol.ID + "@" + s.protocol.Version}
}

// organismIndex is the library turned into what the answers look up again and again.
var organismIndex = lean.Once(func() *organismTable {
	t := &organismTable{names: map[string]string{}, groups: map[string]refdata.Group{}, stages: map[string][]refdata.Stage{}}
	for _, o := range refdata.Organisms() {
		t.ids = append(t.ids, o.ID)
		t.names[o.ID] = o.Common
		t.groups[o.ID] = o.Group
		t.stages[o.ID] = refdata.Stages(o.ID)
	}
	return t
})

// protocolRef looks a protocol of the library up without copying it; it is not to be changed.
func protocolRef(id string) (*thwart.Protocol, error) {
	for i := range library() {
		if library()[i].ID == id {
			return &library()[i], nil
		}
	}
	_, err := ProtocolByID(id)
	return nil, err
}

// Assessment is everything there is to say about one craft.
type Assessment struct {
	Verdict   thwart.Verdict    `json:"verdict"`
	Risk      thwart.Risk       `json:"risk"`
	Treatment *thwart.Treatment `json:"treatment,omitempty"` // absent when nothing is owed
	Round     RoundPlan         `json:"round"`
}

// Assess does the whole job for one craft: round, verdict, risk, treatment.
//
// A case that cannot be taken gives [thwart.FieldErrors], one for every field at fault.
func Assess(cs thwart.Case) (Assessment, error) {
	s, err := situationOf(&cs)
	if err != nil {
		return Assessment{}, err
	}
	var a Assessment
	a.Verdict = judgeCase(s)
	risk, err := riskOf(s)
	if err != nil {
		return Assessment{}, err
	}
	a.Risk = risk
	if a.Verdict.Outcome != thwart.Launch {
		a.Treatment, err = treat(s, &a.Verdict)
		if err != nil {
			return Assessment{}, err
		}
	}
	a.Round, err = Round(s.places, s.in.Setup, RoundOptions{})
	return a, err
}

// Judge gives the verdict alone.
func Judge(cs thwart.Case) (thwart.Verdict, error) {
	s, err := situationOf(&cs)
	if err != nil {
		return thwart.Verdict{}, err
	}
	return judgeCase(s), nil
}

// RiskOf gives the risk alone.
func RiskOf(cs thwart.Case) (thwart.Risk, error) {
	s, err := situationOf(&cs)
	if err != nil {
		return thwart.Risk{}, err
	}
	judgeCase(s) // a seal bears on where the risk comes from
	return riskOf(s)
}

// Treat gives the verdict's treatment alone. A craft that may launch has none, which is [ErrNothingOwed].
func Treat(cs thwart.Case) (thwart.Treatment, error) {
	a, err := Assess(cs)
	if err != nil {
		return thwart.Treatment{}, err
	}
	if a.Treatment == nil {
		return thwart.Treatment{}, ErrNothingOwed
	}
	return *a.Treatment, nil
}

// ErrNothingOwed says that the craft may launch and needs no treatment.
var ErrNothingOwed = errors.New("the craft may launch: no treatment is owed")
