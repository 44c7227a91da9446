package phone

import (
	"thwart"
	"thwart/advice"
	"thwart/refdata"
	"thwart/tongue"
)

func init() {
	// The words a record may use: craft, drives, compartments, gear, organisms, outcomes.
	pure("library", library)
	// The protocols of the library, in a line each.
	pure("protocols", protocols)
	// One protocol with its tables filled in; a given one is checked too.
	pure("protocol", protocol)
}

// Class is a craft class and what is usual for it.
type Class struct {
	ID         string       `json:"id"`
	Name       string       `json:"name"`
	Words      []string     `json:"words"` // other names
	Complexity string       `json:"complexity"`
	LengthM    float64      `json:"lengthM"` // usual
	MinLengthM float64      `json:"minLengthM"`
	MaxLengthM float64      `json:"maxLengthM"`
	BeamM      float64      `json:"beamM"`
	Profile    string       `json:"profile"` // family of hull shapes
	Usual      thwart.Setup `json:"usual"`
}

// Named is a word of the library and what people call it.
type Named struct {
	ID    string   `json:"id"`
	Name  string   `json:"name"`
	Words []string `json:"words"`
}

// DriveWord is a drive and what is known of the water in it.
type DriveWord struct {
	ID              thwart.Drive `json:"id"`
	Name            string       `json:"name"`
	TakesWaterIn    bool         `json:"takesWaterIn"`
	WhereWaterStays string       `json:"whereWaterStays"`
	Drain           string       `json:"drain"`
	Caution         string       `json:"caution"`
}

// SpaceWord is a kind of compartment.
type SpaceWord struct {
	ID      thwart.SpaceKind `json:"id"`
	Name    string           `json:"name"`
	Hidden  bool             `json:"hidden"` // cannot be seen into: counts as wet
	EmptyBy string           `json:"emptyBy"`
}

// OrganismWord is an organism of the library.
type OrganismWord struct {
	ID         string   `json:"id"`
	Common     string   `json:"common"`
	Scientific string   `json:"scientific"`
	Group      string   `json:"group"`
	Stages     []string `json:"stages"`
}

// OutcomeWord is an outcome, the word on its plate and what to say.
type OutcomeWord struct {
	ID    thwart.Outcome `json:"id"`
	Plate string         `json:"plate"`
	Say   string         `json:"say"`
}

// LibraryOut is every word a record may use, and the versions in this program.
type LibraryOut struct {
	Engine    string         `json:"engine"`
	Data      string         `json:"data"`
	Classes   []Class        `json:"classes"`
	Drives    []DriveWord    `json:"drives"`
	Spaces    []SpaceWord    `json:"spaces"`
	Gear      []Named        `json:"gear"`
	Organisms []OrganismWord `json:"organisms"`
	Outcomes  []OutcomeWord  `json:"outcomes"` // mildest first
	Triggers  []string       `json:"triggers"` // of cautions
}

func library(None) (LibraryOut, error) {
	out := LibraryOut{Engine: advice.EngineVersion, Data: refdata.Version(), Triggers: refdata.CautionTriggers}
	for _, c := range refdata.CraftClasses() {
		usual, err := advice.UsualSetup(c.ID)
		if err != nil {
			return out, err
		}
		out.Classes = append(out.Classes, Class{
			ID: c.ID, Name: tongue.Data(c.Name), Words: said(c.Words), Complexity: c.Complexity, LengthM: c.LengthM, MinLengthM: c.MinLengthM,
			MaxLengthM: c.MaxLengthM, BeamM: c.BeamM, Profile: c.Profile, Usual: usual,
		})
	}
	for _, d := range refdata.DriveFactsList() {
		out.Drives = append(out.Drives, DriveWord{
			ID: thwart.Drive(d.ID), Name: tongue.Data(d.Name), TakesWaterIn: d.TakesWaterIn, WhereWaterStays: tongue.Data(d.WhereWaterStays),
			Drain: tongue.Data(d.Drain), Caution: tongue.Data(d.Caution),
		})
	}
	for _, s := range refdata.SpaceFactsList() {
		out.Spaces = append(out.Spaces, SpaceWord{ID: thwart.SpaceKind(s.ID), Name: tongue.Data(s.Name), Hidden: s.Hidden, EmptyBy: tongue.Data(s.EmptyBy)})
	}
	for _, g := range refdata.GearKinds() {
		out.Gear = append(out.Gear, Named{ID: g.ID, Name: tongue.Data(g.Name), Words: said(g.Words)})
	}
	for _, o := range refdata.Organisms() {
		w := OrganismWord{ID: o.ID, Common: tongue.Data(o.Common), Scientific: o.Scientific, Group: string(o.Group), Stages: []string{}}
		for _, st := range refdata.Stages(o.ID) {
			w.Stages = append(w.Stages, string(st.Name))
		}
		out.Organisms = append(out.Organisms, w)
	}
	for _, o := range thwart.Outcomes {
		out.Outcomes = append(out.Outcomes, OutcomeWord{ID: o, Plate: advice.Plate(o), Say: advice.Say(o)})
	}
	return out, nil
}

// said says each of a list of the library's words; none is an empty list.
func said(list []string) []string {
	out := make([]string, len(list))
	for i, w := range list {
		out[i] = tongue.Data(w)
	}
	return out
}

// ProtocolLine is a protocol in a list.
type ProtocolLine struct {
	ID        string `json:"id"`
	Version   string `json:"version"`
	Title     string `json:"title"`
	TextDate  string `json:"textDate"`
	Confirmed bool   `json:"confirmed"`
	Summary   string `json:"summary"`
}

// ProtocolsOut lists them.
type ProtocolsOut struct {
	Protocols []ProtocolLine `json:"protocols"`
}

func protocols(None) (ProtocolsOut, error) {
	out := ProtocolsOut{Protocols: []ProtocolLine{}}
	for _, p := range advice.Protocols() {
		out.Protocols = append(out.Protocols, ProtocolLine{p.ID, p.Version, tongue.Data(p.Title), tongue.Data(p.TextDate), p.Confirmed, tongue.Data(p.Summary)})
	}
	return out, nil
}

// ProtocolIn names a protocol of the library, or gives one whole.
type ProtocolIn struct {
	ProtocolID string           `json:"protocolId,omitempty"`
	Protocol   *thwart.Protocol `json:"protocol,omitempty"`
}

// ProtocolOut is a protocol with its tables filled in.
type ProtocolOut struct {
	Protocol thwart.Protocol `json:"protocol"`
}

func protocol(in ProtocolIn) (ProtocolOut, error) {
	p, err := protocolOf(in.ProtocolID, in.Protocol)
	return ProtocolOut{Protocol: p}, err
}
