package season

import (
	"time"

	"thwart"
)

// leanEncounter is the part of [thwart.Encounter] that a Book keeps; the rest of the JSON is passed over.
type leanEncounter struct {
	Shift      string `json:"shift"`
	Inspection struct {
		Launch     string           `json:"launch"`
		Water      string           `json:"water"`
		Direction  string           `json:"direction"`
		Steward    string           `json:"steward"`
		StartedAt  time.Time        `json:"startedAt"`
		EndedAt    *time.Time       `json:"endedAt"`
		Setup      leanSetup        `json:"setup"`
		PlugsOut   thwart.Answer    `json:"plugsOut"`
		DriveLow   thwart.Answer    `json:"driveLowered"`
		Strainer   thwart.Answer    `json:"strainerOut"`
		OutOf      thwart.Answer    `json:"outOfRegion"`
		LastWaters []thwart.Visit   `json:"lastWaters"`
		NextWater  string           `json:"nextWater"`
		Others     *thwart.Check    `json:"others"`
		Checks     []thwart.Check   `json:"checks"`
		Findings   []thwart.Finding `json:"findings"`
		Refused    bool             `json:"refused"`
	} `json:"inspection"`
	Protocol string `json:"protocol"`
	Verdict  *struct {
		Outcome   thwart.Outcome  `json:"outcome"`
		Standards []thwart.Judged `json:"standards"`
		AtRisk    bool            `json:"atRisk"`
	} `json:"verdict"`
	Override *thwart.Override `json:"override"`
	Mark     *thwart.Mark     `json:"mark"`
	HomeArea string           `json:"homeArea"`
	Test     bool             `json:"test"`
	Sheet    string           `json:"sheet"`
}

type leanSetup struct {
	Class   string  `json:"class"`
	LengthM float64 `json:"lengthM"`
}

// leanWash leaves out the readings of a wash's logs.
type leanWash struct {
	Encounter string    `json:"encounter"`
	Kit       string    `json:"kit"`
	People    []string  `json:"people"`
	StartedAt time.Time `json:"startedAt"`
	EndedAt   time.Time `json:"endedAt"`
	Sheet     string    `json:"sheet"`
	BoatSheet string    `json:"boatSheet"`
	Steps     []struct {
		Claim struct {
			Part thwart.Part `json:"part"`
		} `json:"claim"`
		Outcome string    `json:"outcome"`
		Proof   *struct{} `json:"proof"`
	} `json:"steps"`
	WaterL float64 `json:"waterL"`
	FuelL  float64 `json:"fuelL"`
}

func (l *leanEncounter) outcomes() (computed, given thwart.Outcome) {
	whole := thwart.Encounter{Inspection: thwart.Inspection{Refused: l.Inspection.Refused}, Override: l.Override}
	if l.Verdict != nil {
		computed = l.Verdict.Outcome
		whole.Verdict = &thwart.Verdict{Outcome: computed}
	}
	return computed, whole.Given()
}
