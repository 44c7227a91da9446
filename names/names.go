// Package names finds a water by what somebody typed of its name, slips and all.
//
// Build an [Index] once and ask it per key stroke. A query matches a name when each of its words matches a word of the name:
// as it stands, as its beginning, or with a slip or two of the pen (a letter missing, doubled, wrong, or two exchanged).
// Accents, case and punctuation do not matter; words such as lake or pond help little and are never required.
//
// The package orders; it never decides. Two waters of one name both come back, and the screen shows where they lie.
package names

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"thwart/lean"
)

// Entry is one thing to be found.
type Entry struct {
	ID   string
	Name string
	Also []string    // other names people use
	At   *[2]float64 // longitude, latitude in degrees; nil = not known
}

// Hit is an entry that was found.
type Hit struct {
	Entry int     // index in the list the index was built from
	Name  string  // of its names, the one that matched best
	Score float64 // 0 to 1; orders a list, and is no probability
	// Apart is how far the entry lies from where the question was asked, in km on a sphere, good for putting a list in
	// order; NaN where either is not known.
	ApartKM float64
}

// Index is a list made ready to be searched. It is not changed by searching and may be shared.
type Index struct {
	entries []Entry
	words   []string // every word of every name, once
	names   []name
}

type name struct {
	entry int32
	words []int32 // into Index.words
	joint int32   // all words but the generic ones, written as one; -1 = the same as a single word
	text  string
}

// MaxEntries is the largest list that is taken.
const MaxEntries = 200_000

// generic words say what kind of water it is; people leave them out and mix them up.
var generic = map[string]bool{
	"lake": true, "lakes": true, "reservoir": true, "pond": true, "river": true, "creek": true, "bay": true, "impoundment": true,
	"flowage": true, "the": true, "of": true, "lac": true, "lago": true, "laguna": true, "presa": true, "etang": true, "riviere": true,
	"rio": true, "de": true, "du": true, "la": true, "le": true, "el": true, "lk": true, "res": true, "mere": true, "water": true,
}

// New makes a list ready to be searched. Entries beyond [MaxEntries] are left out.
func New(entries []Entry) *Index {
	x := &Index{entries: entries[:min(len(entries), MaxEntries)]}
	at := map[string]int32{}
	word := func(w string) int32 {
		k, ok := at[w]
		if !ok {
			k = int32(len(x.words))
			at[w] = k
			x.words = append(x.words, w)
		}
		return k
	}
	for i := range x.entries {
		e := &x.entries[i]
		for k := -1; k < len(e.Also); k++ {
			text := e.Name
			if k >= 0 {
				text = e.Also[k]
			}
			n := name{entry: int32(i), joint: -1, text: text}
			parts := split(text)
			for _, w := range parts {
				n.words = append(n.words, word(w))
			}
			if joint := strings.Join(special(parts), ""); len(special(parts)) > 1 {
				n.joint = word(joint)
			}
			if len(n.words) > 0 {
				x.names = append(x.names, n)
			}
		}
	}
	return x
}

// Len is the number of entries.
func (x *Index) Len() int { return len(x.entries) }

// genericShare is what a generic word counts beside a word of its own.
const genericShare = 0.2

// Find gives at most limit entries, the best first; of equals the nearer to near (longitude, latitude), then by name. An empty
// query gives the nearest, or where near is nil the first by name.
func (x *Index) Find(query string, near *[2]float64, limit int) []Hit {
	asked := split(query)
	hits := make([]Hit, 0, 64)
	if len(asked) == 0 {
		for i := range x.entries {
			hits = append(hits, Hit{Entry: i, Name: x.entries[i].Name, Score: 1, ApartKM: apart(x.entries[i].At, near)})
		}
		return x.order(hits, limit)
	}
	likeness, joint := x.likeness(asked)
	best := make([]float64, len(x.entries))
	which := make([]int32, len(x.entries))
	for i := range x.names {
		n := &x.names[i]
		s := score(asked, n, likeness, joint)
		if s > best[n.entry] {
			best[n.entry], which[n.entry] = s, int32(i)
		}
	}
	for i, s := range best {
		if s > 0 {
			hits = append(hits, Hit{Entry: i, Name: x.names[which[i]].text, Score: s, ApartKM: apart(x.entries[i].At, near)})
		}
	}
	return x.order(hits, limit)
}

// likeness compares every word asked for with every word there is, once, and the words asked for written as one.
func (x *Index) likeness(asked []string) (each [][]float64, joint []float64) {
	compare := func(q string) []float64 {
		row := make([]float64, len(x.words))
		var d distance
		for k, w := range x.words {
			row[k] = d.like(q, w)
		}
		return row
	}
	for _, q := range asked {
		each = append(each, compare(q))
	}
	if own := special(asked); len(own) > 0 {
		joint = compare(strings.Join(own, ""))
	}
	return each, joint
}

// score is how well a name answers: every word of its own that was asked for must be like some word of the name.
func score(asked []string, n *name, likeness [][]float64, joint []float64) float64 {
	var sum, weight float64
	missing := false
	for i, q := range asked {
		share := 1.0
		if generic[q] {
			share = genericShare
		}
		top := 0.0
		for _, w := range n.words {
			top = max(top, likeness[i][w])
		}
		missing = missing || top == 0 && share == 1
		sum, weight = sum+share*top, weight+share
	}
	s := 0.0
	if !missing {
		s = sum / weight
		// Of two names that answer alike, the one with fewer other words.
		s *= 1 - 0.02*float64(min(max(len(n.words)-len(asked), 0), 5))
	}
	if joint != nil {
		if n.joint >= 0 {
			s = max(s, 0.95*joint[n.joint])
		}
		for _, w := range n.words {
			if len(asked) > 1 {
				s = max(s, 0.95*joint[w])
			}
		}
	}
	return s
}

func (x *Index) order(hits []Hit, limit int) []Hit {
	far := func(h *Hit) float64 {
		if math.IsNaN(h.ApartKM) {
			return math.MaxFloat64
		}
		return h.ApartKM
	}
	lean.Sort(hits, func(a, b Hit) int {
		return cmp.Or(-cmp.Compare(math.Round(a.Score*100), math.Round(b.Score*100)), cmp.Compare(far(&a), far(&b)),
			strings.Compare(a.Name, b.Name), cmp.Compare(a.Entry, b.Entry))
	})
	return hits[:min(len(hits), max(limit, 0))]
}

// apart is a distance for ordering: a flat map at the middle latitude, on a sphere of 6371 km.
func apart(a, b *[2]float64) float64 {
	if a == nil || b == nil {
		return math.NaN()
	}
	const kmPerDegree = 6371 * math.Pi / 180
	dx := math.Remainder(a[0]-b[0], 360) * math.Cos((a[1]+b[1])/2*math.Pi/180)
	return kmPerDegree * math.Hypot(dx, a[1]-b[1])
}

// special leaves out the generic words, unless nothing else was said.
func special(words []string) []string {
	own := slices.DeleteFunc(slices.Clone(words), func(w string) bool { return generic[w] })
	if len(own) == 0 {
		return words
	}
	return own
}
