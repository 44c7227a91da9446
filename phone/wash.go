package phone

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"time"

	"thwart"
	"thwart/advice"
	"thwart/intake"
	"thwart/refdata"
	"thwart/tongue"
	"thwart/unit"
)

func init() {
	// Was a logged wash step hot enough for long enough? The protocol's answer and the published data's, apart.
	pure("proof", prove)
	// The same while the step goes on: state, seconds held, seconds left.
	pure("progress", progress)
	// Whether a wash that is over counts: every heated step met, approved as an alternative, or not needed.
	pure("washClears", washClears)
	// The readings of a temperature logger's file.
	pure("readTrace", readTrace)
	// The lines of a protocol's wash table in the order of the printed wash card.
	pure("washCard", washCard)
	// What to mind, for what is about to be done.
	pure("cautions", cautions)
}

// WashCardOut are the lines of a wash card.
type WashCardOut struct {
	Rows []thwart.WashRow `json:"rows"`
}

func washCard(in ProtocolIn) (WashCardOut, error) {
	p, err := protocolOf(in.ProtocolID, in.Protocol)
	if err != nil {
		return WashCardOut{}, err
	}
	return WashCardOut{Rows: advice.WashCard(&p)}, nil
}

// ProofIn is a wash step to be judged. The protocol is named by id, or given whole, which wins.
type ProofIn struct {
	ProtocolID string           `json:"protocolId,omitempty"`
	Protocol   *thwart.Protocol `json:"protocol,omitempty"`
	Claim      thwart.WashClaim `json:"claim"`
	// Probes are the readings of each thermometer, in order; where there are several, the coldest counts.
	Probes [][]thwart.Probe `json:"probes"`
}

// protocolOf gives the protocol that an input names.
func protocolOf(id string, whole *thwart.Protocol) (thwart.Protocol, error) {
	if whole != nil {
		return advice.Expand(*whole)
	}
	return advice.ProtocolByID(id)
}

func prove(in ProofIn) (thwart.Proof, error) {
	p, err := protocolOf(in.ProtocolID, in.Protocol)
	if err != nil {
		return thwart.Proof{}, err
	}
	return advice.Prove(p, in.Claim, in.Probes...)
}

// ProgressIn is a wash step that goes on.
type ProgressIn struct {
	ProtocolID string           `json:"protocolId,omitempty"`
	Protocol   *thwart.Protocol `json:"protocol,omitempty"`
	Claim      thwart.WashClaim `json:"claim"`
	Probes     [][]thwart.Probe `json:"probes"`
	AtS        float64          `json:"atS"` // now, in seconds of the log
}

func progress(in ProgressIn) (advice.WashProgress, error) {
	p, err := protocolOf(in.ProtocolID, in.Protocol)
	if err != nil {
		return advice.WashProgress{}, err
	}
	return advice.Progress(p, in.Claim, in.AtS, in.Probes...)
}

// ClearsOut says whether a wash counts as one since the last water.
type ClearsOut struct {
	Clears bool `json:"clears"`
}

func washClears(in thwart.WashDone) (ClearsOut, error) {
	if err := in.Validate(); err != nil {
		return ClearsOut{}, err
	}
	return ClearsOut{Clears: in.Clears()}, nil
}

// TraceIn is a logger's file.
type TraceIn struct {
	File []byte `json:"file"`           // its bytes, base64
	Unit string `json:"unit,omitempty"` // C or F, for a file that does not say
}

// TraceColumn is one temperature column of a logger's file. A cell that was empty reads -273.15, which counts as a gap.
type TraceColumn struct {
	Name     string         `json:"name"`
	Column   int            `json:"column"`   // from 1
	Unit     string         `json:"unit"`     // as the file had it
	UnitFrom string         `json:"unitFrom"` // how that was found out
	Readings []thwart.Probe `json:"readings"`
}

// TraceOut is what a logger's file says.
type TraceOut struct {
	Columns   []TraceColumn `json:"columns"`
	Rows      int           `json:"rows"`
	Start     *time.Time    `json:"start,omitempty"` // of the earliest reading, where the file tells a date
	ZoneKnown bool          `json:"zoneKnown"`       // no: Start is the logger's own clock, written as if it were UTC
	Notes     []string      `json:"notes"`           // what was assumed or left out
}

func readTrace(in TraceIn) (TraceOut, error) {
	scale, err := intake.ParseTempUnit(in.Unit)
	if err != nil {
		return TraceOut{}, bad("unit", in.Unit, "C, F, or leave it out")
	}
	f, err := intake.ParseTrace(bytes.NewReader(in.File), intake.TraceOptions{Unit: scale})
	if err != nil {
		return TraceOut{}, err
	}
	out := TraceOut{Rows: f.Rows, ZoneKnown: f.ZoneKnown, Notes: make([]string, len(f.Notes)), Columns: make([]TraceColumn, len(f.Probes))}
	if !f.Start.IsZero() {
		out.Start = &f.Start
	}
	for i, n := range f.Notes {
		out.Notes[i] = n.Text
	}
	for i, p := range f.Probes {
		c := TraceColumn{Name: p.Name, Column: p.Column, Unit: string(p.Unit), UnitFrom: string(p.UnitFrom), Readings: make([]thwart.Probe, len(p.Readings))}
		for k, r := range p.Readings {
			c.Readings[k] = thwart.Probe{AtS: r.AtS, TempC: r.TempC, Row: r.Row}
		}
		out.Columns[i] = c
	}
	return out, nil
}

// CautionsIn says what is about to be done.
type CautionsIn struct {
	Triggers []string      `json:"triggers"`           // such as engine_flush, burner, alone
	HottestC *unit.Celsius `json:"hottestC,omitempty"` // of the water in use; absent = no hot water
}

// Caution is one thing to mind. Local law and the owner's manual come first.
type Caution struct {
	ID      string `json:"id"`
	Hazard  string `json:"hazard"`
	Text    string `json:"text"`
	DeferTo string `json:"deferTo"`
	Source  string `json:"source"`
}

// CautionsOut lists them.
type CautionsOut struct {
	Cautions []Caution `json:"cautions"`
}

func cautions(in CautionsIn) (CautionsOut, error) {
	for i, t := range in.Triggers {
		if !slices.Contains(refdata.CautionTriggers, t) {
			return CautionsOut{}, bad(fmt.Sprintf("triggers[%d]", i), t, strings.Join(refdata.CautionTriggers, ", "))
		}
	}
	out := CautionsOut{Cautions: []Caution{}}
	for _, c := range refdata.CautionsFor(in.HottestC, in.Triggers...) {
		out.Cautions = append(out.Cautions, Caution{ID: c.ID, Hazard: tongue.Data(c.Hazard), Text: tongue.Data(c.Text), DeferTo: tongue.Data(c.DeferTo), Source: c.Cite()})
	}
	return out, nil
}
