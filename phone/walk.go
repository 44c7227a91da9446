package phone

import (
	"thwart"
	"thwart/advice"
)

func init() {
	// The usual setup of a craft class, to start from.
	pure("setup", setup)
	// Every place of a setup that has to be looked at.
	pure("places", places)
	// The places of a setup and the walk round them: what to start first, every stop, the path.
	pure("round", walk)
	// How to spend too few seconds, and what is given up.
	pure("shortOfTime", shortOfTime)
}

// ClassIn names a craft class.
type ClassIn struct {
	Class string `json:"class"` // id or name
}

// SetupOut is a setup.
type SetupOut struct {
	Setup thwart.Setup `json:"setup"`
}

func setup(in ClassIn) (SetupOut, error) {
	s, err := advice.UsualSetup(in.Class)
	return SetupOut{Setup: s}, err
}

// SetupIn is a setup to be asked about.
type SetupIn struct {
	Setup thwart.Setup `json:"setup"`
}

// PlacesOut lists places, in the order of the library.
type PlacesOut struct {
	Places []thwart.Place `json:"places"`
}

func places(in SetupIn) (PlacesOut, error) {
	list, err := advice.Places(in.Setup)
	return PlacesOut{Places: list}, err
}

// RoundIn asks for a walk.
type RoundIn struct {
	Setup   thwart.Setup        `json:"setup"`
	Options advice.RoundOptions `json:"options,omitzero"`
	Reverse bool                `json:"reverse,omitempty"` // the other way round than it would go by itself
}

// RoundOut is a walk and the places it stops at.
type RoundOut struct {
	Places []thwart.Place   `json:"places"`
	Round  advice.RoundPlan `json:"round"`
}

func walk(in RoundIn) (RoundOut, error) {
	list, err := advice.Places(in.Setup)
	if err != nil {
		return RoundOut{}, err
	}
	make := advice.Round
	if in.Reverse {
		make = advice.RoundReversed
	}
	plan, err := make(list, in.Setup, in.Options)
	return RoundOut{Places: list, Round: plan}, err
}

// ShortIn is a case and the seconds there are for looking.
type ShortIn struct {
	Case    thwart.Case `json:"case"`
	BudgetS float64     `json:"budgetS"`
}

func shortOfTime(in ShortIn) (advice.TimePlan, error) { return advice.ShortOfTime(in.Case, in.BudgetS) }
