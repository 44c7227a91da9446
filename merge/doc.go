// Package merge holds the rules by which histories made apart become one.
//
// Entries are only ever added, so joining two histories is their union ([Union]), and what a subject says now is read off
// the union ([Head]). Neither rule looks at the order in which entries arrived: two servers, a phone and a backup that hold
// the same entries agree, whatever way the entries took.
//
// [Twins] proposes encounters that may be one craft met twice. It proposes; it never joins. [Skew] says how far a device's
// clock is off.
//
// The package is pure: no clock, no database, no luck.
package merge
