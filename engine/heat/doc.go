// Package heat computes the heat side of a hot-water wash: what a burner can give at a flow, how spray cools on its way,
// when a compartment being flushed is hot enough, how long its skin takes to follow, and what all that uses of water and
// fuel.
//
// Start with [Tank] for a compartment, [Burner] for the machine, [CalibrateSpray] for the lance, and [Solid] for the wall
// an organism sits on. Water properties are those of IAPWS-IF97 ([WaterDensity], [WaterHeat], [WaterEnthalpy]).
//
// These are plans, not proof. What counts in a wash is a thermometer at the organism or in the run-off: a real
// compartment has dead corners, and water at 60 °C does not mean a crevice at 60 °C. Hot water at these temperatures
// scalds. The package knows nothing of organisms, protocols or fuels; the numbers come from the caller.
package heat
