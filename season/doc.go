// Package season holds a season's records typed and indexed for computation.
//
// Records are kept as entries: versions, corrections and removals in the order in which they arrived. Whoever computes wants
// them otherwise: every thing once, as it stands now, ids as small numbers, times on one clock, and no JSON. A [Builder]
// takes entries in any order and gives a [Book]:
//
//	b := season.New(season.Options{})
//	for _, k := range entries {
//		b.Add(k)
//	}
//	book := b.Book()
//
// The Book does not depend on the order of entries: the head of a subject is what [merge.Head] says it is. A Builder goes on
// taking entries after a Book was made, so that a server can keep up with its store; a Book never changes once made and may
// be read by many at once.
//
// Everything is in slices: [Book.Waters], [Book.Launches], [Book.People], [Book.Shifts], [Book.Encounters] and so on. Records
// point at each other by index into these slices; -1 ([None]) says that the other is not known, not named, or removed. The
// id of a record is its Subject.
//
// What counts: [Encounter.Counts] leaves out planted craft and the second record of a craft that a person has said was
// recorded twice. Removed records are not in the Book at all.
//
// Time: a [Moment] is an instant and the offset from UTC of the place, so that hours of day are the launch's own, whatever
// zone a phone wrote in. [Calendar] tells weekdays from free days. [Book.Staffed] gives the hours that launches were staffed,
// by launch, day and hour of day: counts without them say nothing of traffic.
//
// A million encounters take about a gigabyte while the Book is made and less after; fifteen thousand take a second or two.
// The package is pure: no clock, no files, no network.
package season
