// Package refdata is the data library: every published number the program relies on, with its unit, its source and how it
// is known. It holds numbers and no equations; what is computed from them is computed elsewhere.
//
// Start with [Organisms] and [FindOrganism], then [Stages] for what rides along and which models may be used for it,
// [HeatProfileByID], [DryingSets], [DryingDoseByID] and [ResidualModelByID] for those models, [TestedPairs] and
// [DryingTested] for the trials behind them, [CarryingPriorFor] and [DetectionPriorFor] for risk, [SourceByID] for what to
// cite.
//
// The tables are CSV files in data/, compiled into the program. Each row carries a source and one of three markers, see
// [Known]. A value that nobody is known to have measured is absent: a nil pointer, an empty name, a false ok, or a model
// of kind [ModelUnknown]. It is never zero. Whatever is absent counts as unsafe.
//
// A row that is only remembered may be shown, and may make an answer stricter, but never clears a craft: see
// [HeatProfile.MayClear] and its siblings.
//
// The tables are read once, on first use. A malformed table is a mistake of the people who made this build, so it panics;
// [Check] reads everything and reports instead.
package refdata
