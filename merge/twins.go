package merge

import (
	"cmp"
	"math"
	"slices"
	"strings"
	"time"

	"thwart"
	"thwart/lean"
)

// Within what two looks at one craft agree.
const (
	// TwinWithin is the longest time between the starts of two looks at one craft: a gate and a lane.
	TwinWithin = 20 * time.Minute
	// TwinLengthM is by how much two people guess the length of one craft differently, in metres.
	TwinLengthM = 0.5
	// TwinNear and TwinNearM are asked of a pair in which something speaks against it.
	TwinNear  = 10 * time.Minute
	TwinNearM = 0.3
)

// Look is what of an encounter tells whether two are one craft. An empty field is not known and speaks neither way.
type Look struct {
	Subject   string // of the encounter
	At        time.Time
	Launch    string
	Class     string
	LengthM   float64 // 0 = not known
	Mark      string  // hash of the registration
	LastWater string
	Direction string
	Steward   string         // who looked
	Outcome   thwart.Outcome // as given; empty = not judged
	Sheet     string         // number of the sheet it was keyed in from
}

// LookOf reads a look off an encounter. at is when it started by the server's clock.
func LookOf(subject string, at time.Time, e *thwart.Encounter) Look {
	l := Look{
		Subject: subject, At: at, Launch: e.Inspection.Launch, Class: e.Inspection.Setup.Class,
		LengthM: e.Inspection.Setup.LengthM, Direction: e.Inspection.Direction, Steward: e.Inspection.Steward,
		Outcome: e.Given(), Sheet: e.Sheet,
	}
	if e.Mark != nil {
		l.Mark = e.Mark.Hash
	}
	if len(e.Inspection.LastWaters) > 0 {
		l.LastWater = e.Inspection.LastWaters[0].Water
	}
	return l
}

// Sign is something two looks can agree or differ in.
type Sign string

// Signs.
const (
	SignMark      Sign = "mark"
	SignLength    Sign = "length"
	SignWater     Sign = "last_water"
	SignDirection Sign = "direction"
	SignSteward   Sign = "steward" // differs: two people looked, which is how one craft comes to be recorded twice
	SignTime      Sign = "time"    // agrees: at most a quarter of [TwinWithin] apart
	SignSheet     Sign = "sheet"   // agrees: both were keyed in from one sheet of paper
)

// Pair is two encounters that may be one craft, for a person to decide. Both stay as they are until then, and after.
type Pair struct {
	A, B  string // subjects, the earlier look first
	Apart time.Duration
	// Score orders a list of pairs, best first. It is a count of signs, weighted, and no probability.
	Score   int
	Agree   []Sign
	Differ  []Sign
	Outcome thwart.Outcome // that governs the craft until it is decided, see [Governing]; empty = not known
}

// Weights of the signs in [Pair.Score]. A registration is rarely shared, a direction nearly always. Assumptions of order
// only: what is proposed is decided by the rule at [Twins].
var weight = map[Sign]int{SignSheet: 8, SignMark: 6, SignWater: 3, SignLength: 2, SignDirection: 1, SignTime: 1}

// Twins proposes pairs of encounters that look like one craft met twice, such as by one steward at the gate and another at
// the lane, both without a signal.
//
// Launch and class must agree and the starts lie at most [TwinWithin] apart. Then
//   - one registration (mark) on both is enough;
//   - without a registration on both, two of length (± [TwinLengthM]), last water and direction must agree. Where the third
//     speaks against it, the lengths must agree to [TwinNearM] and the starts lie at most [TwinNear] apart; lengths that
//     differ rule the pair out;
//   - two different registrations speak against it: all three must agree, the lengths to [TwinNearM], as when one of the
//     two registrations was misread.
//
// Two looks that were keyed in from one sheet are a pair whatever else they say, however far apart: one of them has a slip.
//
// Without one registration on both, one person must not have made both looks: somebody who records two craft in a row
// knows that they are two. A steward who is not known may be anybody.
//
// The numbers of the rule were chosen on simulated seasons, not on real ones, which nobody has published.
// In eight simulated seasons of 50,000 craft and 1,000 of them doubled (assumptions beside the test), with registrations
// asked of 85 % of motor craft, 95.0 to 96.7 % of the doubles were proposed and 1.5 to 1.9 % of the singles; with little
// written down, 91 to 93 % and 2.4 to 2.6 %: what was not written down cannot be compared.
//
// Time is O(n log n) for the sort plus the pairs of one launch and class within the window. The order of looks does not
// matter; a subject given twice is looked at once.
func Twins(looks []Look) []Pair {
	rows := slices.Clone(looks)
	lean.Sort(rows, func(a, b Look) int {
		return cmp.Or(strings.Compare(a.Launch, b.Launch), strings.Compare(a.Class, b.Class), a.At.Compare(b.At),
			strings.Compare(a.Subject, b.Subject))
	})
	var pairs []Pair
	seen := map[[2]string]bool{}
	for i := range rows {
		a := &rows[i]
		if a.Launch == "" || a.Class == "" {
			continue
		}
		for k := i + 1; k < len(rows); k++ {
			b := &rows[k]
			if b.Launch != a.Launch || b.Class != a.Class || b.At.Sub(a.At) > TwinWithin {
				break
			}
			p, ok := compareLooks(a, b)
			if ok && a.Subject != b.Subject && !seen[[2]string{p.A, p.B}] {
				seen[[2]string{p.A, p.B}] = true
				pairs = append(pairs, p)
			}
		}
	}
	for _, p := range sameSheet(rows) {
		if !seen[[2]string{p.A, p.B}] && !seen[[2]string{p.B, p.A}] {
			seen[[2]string{p.A, p.B}] = true
			pairs = append(pairs, p)
		}
	}
	lean.Sort(pairs, func(a, b Pair) int {
		return cmp.Or(-cmp.Compare(a.Score, b.Score), cmp.Compare(a.Apart, b.Apart), strings.Compare(a.A, b.A), strings.Compare(a.B, b.B))
	})
	return pairs
}

// Compare gives what speaks for and against two looks being of one craft, the earlier first, whatever the rule of [Twins] says of
// them: for a pair that a person named.
func Compare(a, b Look) Pair {
	if b.At.Before(a.At) {
		a, b = b, a
	}
	p, _ := compareLooks(&a, &b)
	return p
}

// sameSheet pairs the looks of one sheet.
func sameSheet(looks []Look) []Pair {
	by := map[string][]Look{}
	for _, l := range looks {
		if l.Sheet != "" {
			by[l.Sheet] = append(by[l.Sheet], l)
		}
	}
	var out []Pair
	for _, group := range by {
		for i, a := range group {
			for _, b := range group[:i] {
				if a.Subject != b.Subject {
					out = append(out, Compare(b, a)) // rows of one launch and class lie in the order of time
				}
			}
		}
	}
	return out
}

// compareLooks applies the rule of [Twins] to two looks of one launch and class, a not after b.
func compareLooks(a, b *Look) (Pair, bool) {
	p := Pair{A: a.Subject, B: b.Subject, Apart: b.At.Sub(a.At), Outcome: Governing(a.Outcome, b.Outcome)}
	note := func(s Sign, known, same bool) {
		switch {
		case known && same:
			p.Agree = append(p.Agree, s)
			p.Score += weight[s]
		case known:
			p.Differ = append(p.Differ, s)
			p.Score -= weight[s]
		}
	}
	text := func(s Sign, x, y string) { note(s, x != "" && y != "", x == y) }
	note(SignSheet, a.Sheet != "" && a.Sheet == b.Sheet, true)
	text(SignMark, a.Mark, b.Mark)
	text(SignWater, a.LastWater, b.LastWater)
	// A length typed as 5.4 and one as 5.9 are 0.5 m apart on paper and a little more in binary.
	const slack = 1e-9
	lengthApart := math.Abs(a.LengthM - b.LengthM)
	note(SignLength, a.LengthM > 0 && b.LengthM > 0, lengthApart <= TwinLengthM+slack)
	text(SignDirection, a.Direction, b.Direction)
	text(SignSteward, a.Steward, b.Steward)
	if p.Apart <= TwinWithin/4 {
		note(SignTime, true, true)
	}

	agreed := 0
	for _, s := range []Sign{SignLength, SignWater, SignDirection} {
		if slices.Contains(p.Agree, s) {
			agreed++
		}
	}
	near := lengthApart <= TwinNearM+slack
	switch {
	case slices.Contains(p.Agree, SignMark) || slices.Contains(p.Agree, SignSheet):
		return p, true
	case slices.Contains(p.Agree, SignSteward):
		return p, false
	case slices.Contains(p.Differ, SignMark):
		return p, agreed == 3 && near
	case slices.Contains(p.Differ, SignLength):
		return p, false
	case slices.Contains(p.Differ, SignWater) || slices.Contains(p.Differ, SignDirection):
		return p, agreed == 2 && near && p.Apart <= TwinNear
	}
	return p, agreed >= 2
}

// Governing gives the outcome that counts for a craft of which there are two records, until a person has decided whether
// they are one: the stricter. A record that was not judged leaves it not known (empty), which is never a pass, unless the
// other is already a hold.
func Governing(a, b thwart.Outcome) thwart.Outcome {
	if a == thwart.Hold || b == thwart.Hold {
		return thwart.Hold
	}
	if a.Rank() < 0 || b.Rank() < 0 {
		return ""
	}
	return a.Stricter(b)
}
