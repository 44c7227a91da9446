// Package advice turns records into answers a person can act on. It is the one place that chooses: which study stands
// behind a number, which margin is asked for, which rule decides.
//
// [Assess] does the whole of it for one craft: the round, the verdict with its reasons, the risk with its interval, and
// the treatment. [Prove] judges the logged temperatures of a wash. The parts can be asked for alone: [Places], [Round],
// [Judge], [RiskOf], [Treat], [DryClock].
//
// The package joins records (package thwart), numbers (package refdata) and models (engine/...). It does no input or
// output, reads no clock and draws no random number that is not seeded by its caller, so that phone, server and command
// line give the same answer to the same case.
//
// # The unsafe side
//
// Whatever is not known is taken as the worst it could be. Replacing any answer of a case by "unknown" never gives a
// milder outcome, and adding a finding never improves one; both are properties that the tests check on seeded cases.
package advice
