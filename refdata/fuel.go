package refdata

import (
	"slices"

	"thwart/lean"
	"thwart/unit"
)

// Fuel is what a burner burns, by its gross heat of combustion: all of the heat, that of condensing the exhaust included.
type Fuel struct {
	ID          string
	Common      string
	BTUPerUSGal float64 // as published
	MJPerL      float64 // the same, converted
	Provenance
}

// megajoulesPerBTU follows from the watts in a BTU an hour: 0.29307107 J/s times 3600 s.
const megajoulesPerBTU = unit.WattsPerBTUPerH * 3600 / 1e6

var fuelTable = lean.Once2(func() ([]Fuel, error) {
	columns := []string{"id", "common", "btu_per_us_gal", "source", "known", "note"}
	return load("fuel.csv", columns, func(r *row) Fuel {
		f := Fuel{
			ID:          r.id("id"),
			Common:      r.text("common"),
			BTUPerUSGal: r.number("btu_per_us_gal", 50000, 200000),
			Provenance:  r.provenance(),
		}
		f.MJPerL = f.BTUPerUSGal * megajoulesPerBTU / unit.LitresPerUSGallon
		return f
	})
})

var fuelIndex = lean.Once2(func() (map[string]Fuel, error) {
	rows, err := fuelTable()
	if err != nil {
		return nil, err
	}
	return byKey("fuel.csv", rows, func(f Fuel) string { return f.ID })
})

// Fuels lists every fuel.
func Fuels() []Fuel { return slices.Clone(must(fuelTable())) }

// FuelByID finds one fuel.
func FuelByID(id string) (Fuel, bool) {
	f, ok := must(fuelIndex())[id]
	return f, ok
}
