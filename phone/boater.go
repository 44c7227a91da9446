package phone

import (
	"time"

	"thwart"
	"thwart/boater"
)

func init() {
	// The verdict as one screen for the boater, in plain words and the boater's language.
	pure("boater.card", boaterCard)
	// The languages there are, with their own names.
	pure("boater.languages", boaterLanguages)
}

// BoaterIn is a verdict, its treatment where one is owed, and how to say it.
type BoaterIn struct {
	Verdict   thwart.Verdict    `json:"verdict"`
	Treatment *thwart.Treatment `json:"treatment,omitempty"`
	Language  string            `json:"language"`
	// OffsetMin is by how many minutes the clock at the ramp is ahead of UTC, so that a time is said as a watch shows it.
	OffsetMin int `json:"offsetMin"`
}

func boaterCard(in BoaterIn) (boater.Card, error) {
	return boater.For(&in.Verdict, in.Treatment, in.Language, time.FixedZone("", in.OffsetMin*60))
}

// Language is a language of the boater's card.
type Language struct {
	Code string `json:"code"`
	Name string `json:"name"`
}

// LanguagesOut lists them, English first.
type LanguagesOut struct {
	Languages []Language `json:"languages"`
}

func boaterLanguages(None) (LanguagesOut, error) {
	var out LanguagesOut
	for _, l := range boater.Languages() {
		out.Languages = append(out.Languages, Language{Code: l[0], Name: l[1]})
	}
	return out, nil
}
