// Package demo invents a region and one season of work in it, so that a newcomer can look round a running programme and so
// that every estimate can be held against a known truth.
//
// Start with [Generate]. It gives the [World], with the [Truth] behind it, and the season's records as entries, in the
// order of their making. The same options give the same bytes.
//
// Nothing here is real. The Withy Lakes lie in mid-ocean, at about 46.5° N 39.5° W, many hundred kilometres from any land, so that
// no map can take them for a place; lakes, names, people and counts come from seeded random numbers. Every entry has the
// origin demo. Where a rate is meant to be like a published one, the source stands beside it; all others are inventions.
package demo
