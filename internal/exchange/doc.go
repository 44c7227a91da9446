// Package exchange brings records in from other people's tables and gives everything out in open form.
//
// In: [OpenCSV] or [OpenXLSX] gives a [Table]; [Guess] proposes a [Mapping] for it; [Read] turns the rows into a [Plan]:
// the entries to keep and a [Report] that says, row by row, what could not be taken and what would be. Read writes nothing.
// The caller shows the report and, when a person agrees, puts the entries. The same row always makes the same entry, so
// doing it again changes nothing.
//
// Out: [WriteTable] writes CSV with a description of every column ([WriteDictionary]), [WriteWaters] and [WriteLaunches]
// GeoJSON (RFC 7946), [WriteLines] the entries themselves as JSON Lines, [WritePublicTotals] sums in which no small cell can
// be read, and [WriteArchive] a whole programme that [LoadArchive] puts into another installation. All of them stream: memory
// does not grow with the season. Accounts, devices and the audit trail never leave this way.
//
// [Scrub] takes positions and device data out of a picture; [thwart.MarkOf] turns a registration into what may be kept of it.
package exchange
