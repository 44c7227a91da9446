package phone

import (
	"errors"

	"thwart"
	"thwart/advice"
	"thwart/merge"
)

func init() {
	// The whole answer for one craft: verdict, risk, treatment and round.
	pure("assess", advice.Assess)
	// The verdict with its reasons, alone.
	pure("verdict", verdict)
	// The chance that something alive is still aboard, with its interval.
	pure("risk", advice.RiskOf)
	// What the craft is owed, in order; no treatment where it may launch.
	pure("treat", treat)
	// Every drying clock of the craft and the one that decides.
	pure("dry", advice.DryClock)
	// Of two outcomes for what may be one craft, the one that counts until a person decides.
	pure("governing", governing)
}

// Judgement is a verdict with the words that stand on its plate.
type Judgement struct {
	Verdict thwart.Verdict `json:"verdict"`
	Plate   string         `json:"plate"` // the word for what to do now
	Then    string         `json:"then"`  // the word for the whole outcome
	Say     string         `json:"say"`   // one sentence for the boater
}

func verdict(cs thwart.Case) (Judgement, error) {
	v, err := advice.Judge(cs)
	if err != nil {
		return Judgement{}, err
	}
	return Judgement{Verdict: v, Plate: advice.Plate(v.Now), Then: advice.Plate(v.Outcome), Say: advice.SayVerdict(&v)}, nil
}

// Owed is the treatment of a craft; absent where nothing is owed.
type Owed struct {
	Treatment *thwart.Treatment `json:"treatment,omitempty"`
}

func treat(cs thwart.Case) (Owed, error) {
	t, err := advice.Treat(cs)
	if errors.Is(err, advice.ErrNothingOwed) {
		return Owed{}, nil
	}
	if err != nil {
		return Owed{}, err
	}
	return Owed{Treatment: &t}, nil
}

// TwoOutcomes are those of two records of what may be one craft; empty = not judged.
type TwoOutcomes struct {
	A thwart.Outcome `json:"a"`
	B thwart.Outcome `json:"b"`
}

// GoverningOut is the outcome that counts; empty = not known, which is never a pass.
type GoverningOut struct {
	Outcome thwart.Outcome `json:"outcome"`
}

func governing(in TwoOutcomes) (GoverningOut, error) {
	return GoverningOut{Outcome: merge.Governing(in.A, in.B)}, nil
}
