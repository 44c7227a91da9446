// Package skill estimates how well people find what is there, and says how little a few trials show.
//
// Start with [Fit]: it takes found-of-planted counts of several people for one kind of thing and gives a [Pool], from which
// [Pool.Person] reads each person's chance of finding with its interval, pulled towards the others as far as her own
// trials leave room. [Update] does the same for one person under a prior that is given. [TrialsFor] says how many trials a
// wished interval takes. For raw proportions use the limits of engine/num.
//
// Two people who looked at the same craft are judged by [Observers]; false alarms by [Signals]; agreement by [Cohen], [AC1]
// and [Fleiss]; the worth of more seconds by [RateOfLooks].
//
// The package holds no data and ranks nobody: [Apart] says whether two intervals tell two people apart at all.
package skill
