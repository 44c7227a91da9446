package advice

import (
	"math"

	"thwart"
	"thwart/engine/lethal"
	"thwart/unit"
)

// WashProgress is one wash step while it goes on.
type WashProgress struct {
	// State is met; running (hot enough now, time is adding up); cold (the last reading less its uncertainty is below the
	// target, so the time starts again); stale (no reading for longer than counts as watched); not_counting (hot for long
	// enough, but where it was read or how it was done does not count, see the proof); no_reading.
	State   string        `json:"state"`
	Proof   *thwart.Proof `json:"proof,omitempty"` // of what has been read so far; absent before the first reading
	TargetC unit.Celsius  `json:"targetC"`
	NeedS   float64       `json:"needS"`
	// ProvenC is the last reading less the thermometer's uncertainty: what may be counted on.
	ProvenC *unit.Celsius `json:"provenC,omitempty"`
	HeldS   float64       `json:"heldS"` // without a break up to the last reading
	LeftS   float64       `json:"leftS"` // still to hold from there; 0 once met
	SinceS  float64       `json:"sinceS"`
	// NextByS is when the next reading is due, in seconds of the log, so that the step stays watched.
	NextByS float64 `json:"nextByS"`
}

// Progress judges a wash step while it goes on: the same judgement as [Prove] on what has been read, and what is still to
// hold. atS is now, in seconds of the log. Time after the last reading is not counted: nothing is known of it yet.
func Progress(p thwart.Protocol, claim thwart.WashClaim, atS float64, probes ...[]thwart.Probe) (WashProgress, error) {
	if !(atS >= 0 && atS <= 1e9) {
		return WashProgress{}, thwart.FieldErrors{{Field: "atS", Value: seconds(atS), Accepted: "seconds since the log began"}}
	}
	_, row, err := claimedRow(p, &claim)
	if err != nil {
		return WashProgress{}, err
	}
	w := WashProgress{State: "no_reading", TargetC: row.TempC, NeedS: row.ContactS, LeftS: row.ContactS, NextByS: atS}
	for _, list := range probes {
		if len(list) == 0 {
			return w, nil
		}
	}
	if len(probes) == 0 {
		return w, nil
	}
	proof, err := Prove(p, claim, probes...)
	if err != nil {
		return w, err
	}
	w.Proof = &proof
	tr, _, _, err := coldest(probes)
	if err != nil || len(tr.Points) == 0 {
		return w, err
	}
	last := tr.Points[len(tr.Points)-1]
	holds := tr.Holds(row.TempC, proof.PlusMinusC)
	if n := len(holds); n > 0 && holds[n-1].ToS >= last.AtS {
		w.HeldS = holds[n-1].Seconds
	}
	provenC := lethal.Effective(last.TempC, proof.PlusMinusC)
	w.ProvenC, w.SinceS, w.NextByS = &provenC, math.Max(atS-last.AtS, 0), last.AtS+MaxGapS
	w.LeftS = math.Max(row.ContactS-w.HeldS, 0)
	w.State = w.stateOf(row, proof.Protocol, provenC)
	switch w.State {
	case "met":
		w.LeftS = 0
	case "stale", "cold":
		w.HeldS, w.LeftS = 0, row.ContactS
	}
	return w, nil
}

func (w *WashProgress) stateOf(row *thwart.WashRow, protocol string, provenC unit.Celsius) string {
	enough := w.Proof.HeldS >= row.ContactS-1e-9 && w.Proof.HeldS > 0
	switch {
	case protocol == "met":
		return "met"
	case enough || row.UntilExit && w.Proof.HeldS > 0:
		return "not_counting"
	case w.SinceS > MaxGapS:
		return "stale"
	case provenC >= row.TempC-1e-9:
		return "running"
	}
	return "cold"
}
