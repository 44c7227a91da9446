// Package store keeps a programme's entries and accounts in SQLite or PostgreSQL. A [Store] is a [thwart.Store] and a
// [thwart.Accounts]; start with [Open].
//
// # What is kept where
//
// The table entries is the truth and is only ever added to. Everything else about field records (subjects, encounters,
// shifts, tallies) is read off it by one rule, package merge's, and can be recomputed; [Store.Check] does so and compares.
// A row of entries carries two sums: sum, of the entry as it was sent, and after a purge kept_sum, of what was left. Purged
// and damaged rows can so be told apart, and an entry sent again after a purge is still known.
//
// # Order
//
// Every writing transaction first takes the one row of the table ledger, and draws its cursors from it. Cursors therefore
// become visible in the order in which they were given, also where several servers share one PostgreSQL database: a reader
// that has seen cursor n will never be given a smaller one later. Writers queue; readers never wait.
//
// # Failure
//
// A call that returns an error wrapping [thwart.ErrStorage] has kept nothing that it can vouch for. Whoever sent the batch
// sends it again; a batch is safe to send any number of times. When SQLite fails to commit, to flush or to read its own
// file, the store writes no more until it is opened again ([Store.Healthy] says why): after a failed flush a later success
// proves nothing. A full disk is not such a failure: the transaction is undone cleanly and the next one may succeed.
// PostgreSQL looks after its own flushes, so a lost connection fails the call and the next call connects anew.
//
// # Times
//
// Times are milliseconds since 1970 in UTC, except that the time an entry was made is kept whole, offset included, for it
// is part of the entry's sum. Days are those on the wall clock of the place: an encounter at 20:00-05:00 belongs to that
// evening's date and not to the next day of Greenwich.
//
// # What it does not do
//
// It keeps no pictures, validates no bodies beyond what lists need, and knows no roles.
package store
