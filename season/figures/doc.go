// Package figures computes the numbers of a season: how much was done, which craft came, what was found on them, and what
// became of them. Pages, reports and the command line all take their numbers from here, so that one number is the same
// wherever it stands.
//
// [Of] gives everything for a stretch of days. Each [Figure] carries its value, an interval where it is a share, what it is a
// share of, how it was computed, and the address of the records behind it; [Records] gives those records.
//
// Intervals are for the share among craft such as those that were met, at the hours that were staffed. They are no intervals
// for all craft: nobody drew hours or launches by lot. Craft of one shift are more alike than craft of different shifts, so an
// interval rests on the effective number of craft and not on their count (see [Share]).
//
// The package is pure: no clock, no files, no network. Small cells are not hidden here; whoever shows numbers to the public does.
package figures
