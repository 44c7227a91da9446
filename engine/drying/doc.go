// Package drying answers how long a craft must stay dry before what may cling to it is dead, hour by hour in weather that
// changes, and on which day a jurisdiction's own drying table lets it launch.
//
// Weather is a list of [Spell]: stretches of steady air. Four models turn spells into progress, each resting on another
// kind of evidence:
//
//   - [Mussels]: fitted survival curves in temperature and vapour-pressure deficit. Two fits are kept and both must agree.
//   - [Dose]: kilopascal-hours of drying between what was seen alive and what counts as clear (plants, water fleas, snails).
//   - [Residual]: time by temperature for larvae in water left aboard.
//   - [Tested]: one drying time somebody tried, times a margin, with no curve behind it.
//
// Start with Assess of the model at hand for what has already happened, and with [EarliestClear] for the hour at which a
// craft will clear. [Earliest] is date arithmetic on published tables and knows no biology. Where both apply the caller
// takes the later.
//
// Wetting starts everything again: rain, a wash, a splash or "wet when found" sets every gauge but that of [Residual] to
// zero, also one that was already full, because the water that wets a craft may bring new animals. Unknown counts as
// unsafe: a spell that [Spell.Validate] refuses earns nothing, and so do hours outside the evidence.
//
// The package holds no data: slopes, limits and tables are arguments. It reads no clock: every instant is an argument. It
// does not join heat with drying and does not say which organisms to fear.
package drying
