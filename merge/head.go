package merge

import (
	"cmp"
	"slices"
	"strings"

	"thwart"
	"thwart/lean"
)

// Head gives the entry that says what a subject is now, and whether two corrections compete for it.
//
// The candidates are the entries that no other entry supersedes. Of several, the latest by [thwart.Kept.At] decides, the
// larger id where two were made at one instant, and conflict is set. The answer does not depend on the order of entries, on
// copies of one entry, or on whether the entry that a correction supersedes has arrived: a correction of something not
// (yet) there stands like any other, and still takes its place from what it corrects once that comes.
//
// Entries that supersede each other in a ring, which no honest device makes, leave nothing on top. Where nothing outside
// supersedes such a ring, all its members are candidates and conflict is set, so a ring can hide nothing and is seen.
//
// All entries must be of one subject. Of none, Head is the zero entry.
func Head(entries []thwart.Kept) (head thwart.Kept, conflict bool) {
	all := Union(entries)
	if len(all) == 0 {
		return thwart.Kept{}, false
	}
	index := make(map[string]int, len(all))
	for i := range all {
		index[all[i].ID] = i
	}
	superseded := make([]bool, len(all))
	for i := range all {
		if k, ok := index[all[i].Supersedes]; ok {
			superseded[k] = true
		}
	}
	// Each entry supersedes at most one other, so walking down from every top reaches everything except rings without a
	// top of their own.
	reached := make([]bool, len(all))
	var candidates []int
	for i := range all {
		if superseded[i] {
			continue
		}
		candidates = append(candidates, i)
		for k, ok := i, true; ok && !reached[k]; k, ok = index[all[k].Supersedes] {
			reached[k] = true
		}
	}
	ring := false
	for i := range all {
		if !reached[i] {
			candidates, ring = append(candidates, i), true
		}
	}
	best := candidates[0]
	for _, i := range candidates[1:] {
		if later(&all[i], &all[best]) {
			best = i
		}
	}
	return all[best], ring || len(candidates) > 1
}

func later(a, b *thwart.Kept) bool {
	if c := a.At().Compare(b.At()); c != 0 {
		return c > 0
	}
	return a.ID > b.ID
}

// Union joins histories: every entry that is in any of them, once, by id. Of two copies of one id the one received first
// is kept, as a store does; at one instant the smaller sum decides, then what was noted on arrival. Union is therefore
// commutative, associative and idempotent, and never loses an id.
func Union(histories ...[]thwart.Kept) []thwart.Kept {
	n := 0
	for _, h := range histories {
		n += len(h)
	}
	all := make([]thwart.Kept, 0, n)
	for _, h := range histories {
		all = append(all, h...)
	}
	lean.Sort(all, compare)
	return slices.CompactFunc(all, func(a, b thwart.Kept) bool { return a.ID == b.ID })
}

// compare orders by id, then by which of two copies is the one to keep. It is a total order of everything an entry carries
// that can differ in meaning.
func compare(a, b thwart.Kept) int {
	if c := strings.Compare(a.ID, b.ID); c != 0 {
		return c
	}
	if c := a.ReceivedAt.Compare(b.ReceivedAt); c != 0 {
		return c
	}
	return cmp.Or(
		strings.Compare(a.Sum(), b.Sum()),
		cmp.Compare(a.SkewMS, b.SkewMS),
		cmp.Compare(a.Cursor, b.Cursor),
		strings.Compare(a.App, b.App),
	)
}
