package advice_test

import (
	"testing"

	"thwart"
	"thwart/advice"
)

// The card has the lines that a wash follows: for every protocol each line of a treatment's wash is on it, in its order.
func TestWashCardHasEveryStep(t *testing.T) {
	for _, p := range advice.Protocols() {
		p, err := advice.ProtocolByID(p.ID)
		if err != nil {
			t.Fatal(err)
		}
		rows := advice.WashCard(&p)
		for _, risk := range []thwart.WaterStatus{thwart.StatusInfested, thwart.StatusNotFound} {
			setup, _ := advice.UsualSetup("wake_boat")
			cs := thwart.Case{Protocol: &p, Waters: []thwart.Water{{ID: "w", Name: "w", Others: risk}}}
			cs.Inspection.Setup, cs.Inspection.StartedAt = setup, start
			cs.Inspection.LastWaters = []thwart.Visit{{Water: "w", OutAt: &start}}
			tr, err := advice.Treat(cs)
			if err != nil {
				continue // nothing owed
			}
			at := 0
			for _, s := range tr.Steps {
				if s.TargetC == 0 {
					continue
				}
				for at < len(rows) && (rows[at].Part != s.Part || rows[at].TempC != s.TargetC || rows[at].ContactS != s.ContactS) {
					at++
				}
				if at == len(rows) {
					t.Errorf("%s: the wash of %s at %v is not on the card, or not in its order", p.ID, s.Part, s.TargetC)
					break
				}
			}
		}
	}
}
