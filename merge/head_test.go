package merge_test

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"thwart"
	"thwart/merge"
)

func id(n int) string { return fmt.Sprintf("01980d5e-6a00-7000-8000-%012x", n) }

var noon = time.Date(2026, 7, 4, 12, 0, 0, 0, time.UTC)

// entry n of one subject, made m minutes after noon, superseding entry s (0: the first).
func entry(n, s, m int) thwart.Kept {
	e := thwart.Entry{ID: id(n), Kind: thwart.KindWater, Subject: id(1), MadeAt: noon.Add(time.Duration(m) * time.Minute), Origin: thwart.OriginOffice}
	if s != 0 {
		e.Supersedes, e.Why = id(s), "a correction"
	}
	return thwart.Kept{Entry: e, ReceivedAt: noon}
}

func TestHead(t *testing.T) {
	skewed := entry(2, 1, 30)
	skewed.SkewMS = time.Hour.Milliseconds() // its clock ran an hour ahead: made at 11:30
	removed := entry(3, 2, 3)
	removed.Removed = true
	for _, c := range []struct {
		name     string
		entries  []thwart.Kept
		head     string
		conflict bool
	}{
		{"none", nil, "", false},
		{"one", []thwart.Kept{entry(1, 0, 0)}, id(1), false},
		{"a chain", []thwart.Kept{entry(1, 0, 0), entry(2, 1, 1), entry(3, 2, 2)}, id(3), false},
		{"a correction by a clock that runs behind", []thwart.Kept{entry(1, 0, 0), entry(2, 1, -90)}, id(2), false},
		{"two corrections of one entry: the later", []thwart.Kept{entry(1, 0, 0), entry(2, 1, 5), entry(3, 1, 2)}, id(2), true},
		{"two at one instant: the larger id", []thwart.Kept{entry(1, 0, 0), entry(2, 1, 5), entry(3, 1, 5)}, id(3), true},
		{"later by the device's clock only", []thwart.Kept{entry(1, 0, 0), skewed, entry(3, 1, 2)}, id(3), true},
		{"a correction that settles one side", []thwart.Kept{entry(1, 0, 0), entry(2, 1, 5), entry(3, 1, 2), entry(4, 3, 9)}, id(4), true},
		{"the first has not arrived", []thwart.Kept{entry(3, 2, 2)}, id(3), false},
		{"a gap in the middle", []thwart.Kept{entry(1, 0, 0), entry(3, 2, 2)}, id(3), true},
		{"a removal", []thwart.Kept{entry(1, 0, 0), entry(2, 1, 1), removed}, id(3), false},
		{"a copy", []thwart.Kept{entry(1, 0, 0), entry(1, 0, 0)}, id(1), false},
		{"a ring", []thwart.Kept{entry(2, 3, 1), entry(3, 2, 2)}, id(3), true},
		{"a ring beside a chain", []thwart.Kept{entry(1, 0, 0), entry(2, 3, 1), entry(3, 2, 2)}, id(3), true},
		{"a ring that something supersedes", []thwart.Kept{entry(2, 3, 1), entry(3, 2, 2), entry(4, 2, 0)}, id(4), false},
		{"itself", []thwart.Kept{entry(2, 2, 0)}, id(2), true},
	} {
		t.Run(c.name, func(t *testing.T) {
			for range 4 {
				head, conflict := merge.Head(c.entries)
				if head.ID != c.head || conflict != c.conflict {
					t.Fatalf("head %q, conflict %t; want %q, %t", head.ID, conflict, c.head, c.conflict)
				}
				slices.Reverse(c.entries)
			}
		})
	}
}

// history draws entries of one subject in which anything may supersede anything, itself and what is not there included,
// and two copies of one id may differ.
func history(label string) *rapid.Generator[[]thwart.Kept] {
	return rapid.Custom(func(t *rapid.T) []thwart.Kept {
		n := rapid.IntRange(0, 12).Draw(t, label)
		var h []thwart.Kept
		for range n {
			e := entry(rapid.IntRange(1, 9).Draw(t, "id"), rapid.IntRange(0, 9).Draw(t, "supersedes"), rapid.IntRange(0, 3).Draw(t, "minute"))
			e.SkewMS = int64(rapid.IntRange(-1, 1).Draw(t, "skew")) * 60_000
			e.ReceivedAt = noon.Add(time.Duration(rapid.IntRange(0, 2).Draw(t, "received")) * time.Second)
			e.Cursor = int64(rapid.IntRange(0, 3).Draw(t, "cursor"))
			h = append(h, e)
		}
		return h
	})
}

func same(a, b []thwart.Kept) bool {
	return slices.EqualFunc(a, b, func(x, y thwart.Kept) bool {
		return x.Sum() == y.Sum() && x.ReceivedAt.Equal(y.ReceivedAt) && x.SkewMS == y.SkewMS && x.Cursor == y.Cursor
	})
}

func TestHeadDoesNotDependOnOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := history("n").Draw(t, "history")
		head, conflict := merge.Head(h)
		other, otherConflict := merge.Head(rapid.Permutation(h).Draw(t, "order"))
		if !same([]thwart.Kept{head}, []thwart.Kept{other}) || conflict != otherConflict {
			t.Fatalf("%s %t, then %s %t", head.ID, conflict, other.ID, otherConflict)
		}
		if len(h) > 0 && head.ID == "" {
			t.Fatal("a subject with entries has no head")
		}
	})
}

// Slow and plain: a candidate is what nothing else supersedes. Head must agree wherever there is no ring.
func TestHeadAgreesWithTheDefinition(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 10).Draw(t, "n")
		var h []thwart.Kept
		for i := 1; i <= n; i++ {
			// Only older ones are superseded, so there is no ring; some of them are missing.
			e := entry(i, rapid.IntRange(0, i-1).Draw(t, "supersedes"), rapid.IntRange(0, 3).Draw(t, "minute"))
			if rapid.IntRange(0, 4).Draw(t, "lost") > 0 {
				h = append(h, e)
			}
		}
		var tops []thwart.Kept
		for _, e := range h {
			if !slices.ContainsFunc(h, func(o thwart.Kept) bool { return o.Supersedes == e.ID }) {
				tops = append(tops, e)
			}
		}
		slices.SortFunc(tops, func(a, b thwart.Kept) int {
			if c := b.At().Compare(a.At()); c != 0 {
				return c
			}
			if a.ID > b.ID {
				return -1
			}
			return 1
		})
		head, conflict := merge.Head(h)
		if len(h) == 0 {
			return
		}
		if head.ID != tops[0].ID || conflict != (len(tops) > 1) {
			t.Fatalf("%s %t; by definition %s %t", head.ID, conflict, tops[0].ID, len(tops) > 1)
		}
	})
}

func TestUnionLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b, c := history("a").Draw(t, "A"), history("b").Draw(t, "B"), history("c").Draw(t, "C")
		ab := merge.Union(a, b)
		switch {
		case !same(ab, merge.Union(b, a)):
			t.Fatal("not commutative")
		case !same(merge.Union(ab, c), merge.Union(a, merge.Union(b, c))):
			t.Fatal("not associative")
		case !same(merge.Union(ab, ab), ab) || !same(merge.Union(ab), ab):
			t.Fatal("not idempotent")
		case !same(merge.Union(a, nil), merge.Union(a)):
			t.Fatal("an empty history changes something")
		}
		ids := map[string]bool{}
		for _, e := range append(slices.Clone(a), b...) {
			ids[e.ID] = true
		}
		if len(ids) != len(ab) {
			t.Fatalf("%d ids went in, %d came out", len(ids), len(ab))
		}
		for _, e := range ab {
			if !ids[e.ID] {
				t.Fatalf("%s came from nowhere", e.ID)
			}
		}
		one, oneConflict := merge.Head(ab)
		two, twoConflict := merge.Head(append(slices.Clone(b), a...))
		if one.ID != two.ID || oneConflict != twoConflict {
			t.Fatal("the head of a union depends on how it was joined")
		}
	})
}

func TestAddingNeverLoses(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var kept []thwart.Kept
		for _, e := range history("n").Draw(t, "history") {
			next := merge.Union(kept, []thwart.Kept{e})
			for _, old := range kept {
				if !slices.ContainsFunc(next, func(k thwart.Kept) bool { return k.ID == old.ID }) {
					t.Fatalf("adding %s lost %s", e.ID, old.ID)
				}
			}
			kept = next
		}
	})
}

func TestSkew(t *testing.T) {
	for _, c := range []struct {
		name      string
		device    time.Duration // shown on the device when it sent, beside the true time
		trip      time.Duration
		ms        int64
		plausible bool
	}{
		{"right", 0, 200 * time.Millisecond, 0, true},
		{"right over a slow line", 0, 8 * time.Second, 0, true},
		{"an hour ahead", time.Hour, 2 * time.Second, 3_600_000, true},
		{"three minutes behind", -3 * time.Minute, time.Second, -180_000, true},
		{"a day ahead", 24 * time.Hour, 0, 86_400_000, true},
		{"1970", noon.AddDate(-56, 0, 0).Sub(noon), time.Second, -1767225600000, false},
		{"a round trip of minutes", time.Hour, 3 * time.Minute, 3_600_000 - 60_000, false},
		{"a round trip before it began", time.Hour, -time.Second, 3_600_000, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			sent := noon
			ms, plausible := merge.Skew(sent.Add(c.device), sent.Add(max(c.trip, 0)/2), c.trip)
			if c.name == "1970" {
				// 56 years with 14 leap days between 1970-07-04 and 2026-07-04.
				c.ms = -(56*365 + 14) * 86_400_000
			}
			if ms != c.ms || plausible != c.plausible {
				t.Errorf("%d ms, %t; want %d, %t", ms, plausible, c.ms, c.plausible)
			}
		})
	}
	if ms, plausible := merge.Skew(time.Time{}, noon, 0); ms != 0 || plausible {
		t.Errorf("a clock that was not told: %d, %t", ms, plausible)
	}
}

// Whatever a device's clock shows and wherever on the line the delay lies, the corrected time is within half a round trip
// of the true one, or within a round trip where the skew itself is smaller than its error.
func TestSkewCorrects(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ahead := time.Duration(rapid.Int64Range(-int64(merge.MaxSkew)+int64(time.Minute), int64(merge.MaxSkew)-int64(time.Minute)).Draw(t, "ahead"))
		trip := time.Duration(rapid.Int64Range(0, int64(merge.MaxRoundTrip)).Draw(t, "trip"))
		there := time.Duration(rapid.Int64Range(0, int64(trip)).Draw(t, "there"))
		ms, plausible := merge.Skew(noon.Add(ahead), noon.Add(there), trip)
		made := thwart.Kept{Entry: thwart.Entry{MadeAt: noon.Add(ahead)}, SkewMS: ms}
		bound := trip/2 + time.Millisecond
		if ms == 0 {
			bound = trip + time.Millisecond
		}
		if d := made.At().Sub(noon).Abs(); d > bound || !plausible {
			t.Fatalf("off by %s after correction, allowed %s; plausible %t", d, bound, plausible)
		}
	})
}
