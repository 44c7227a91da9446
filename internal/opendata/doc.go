// Package opendata makes the copies of a programme's records that are handed to others: a Darwin Core Archive, tables as CSV
// or Parquet with a description that programs can read, and maps as GeoJSON.
//
// Start with [Publish]: it writes one zip and reads it again from the outside before it says that all is well. Nothing is
// handed out that does not hold together.
//
// Two copies exist. The agency copy is exact, without names, notes, registrations and people. The public copy hides single
// craft as well: times become weeks, ids are made new, and launch, craft class and last water are left out where fewer than
// [exchange.SmallCell] craft share them (see [Copy]).
//
// An organism on a trailer is no occurrence of it in the lake at the launch. Every form says so; the archive leaves
// establishment empty, because whoever maps an interception as an infestation draws a wrong map.
//
// Everything is streamed. Memory grows by eight bytes an inspection, for checking that ids are unique and references
// resolve, and with the number of different cells of the public copy.
package opendata
