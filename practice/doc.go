// Package practice makes practice craft to look over on a screen, judges how they were looked over, and asks questions of
// judgement made from the protocol in force.
//
// Start with [Make]: an [Order] gives a [DrillCraft], the same for the same order. The trainee goes round; [DrillCraft.Look] tells what
// one place shows to the acts done there; [DrillCraft.Score] says what was found and missed, what it would have meant, and
// whether verdict and treatment are those of the advice engine. [Ask] and [Quiz.Mark] do the same for questions. [Stage]
// and [Staged.Inspect] play a staged field trial with the library's detection figures.
//
// # Practice, not examination
//
// A drill has to work without a network, so its answers travel with it, sealed with a key that travels too. That keeps an
// answer from being read by accident. It keeps nobody from cheating who wants to, so no certificate should rest on an
// unwatched drill alone.
//
// The package does no input or output and reads no clock.
package practice
