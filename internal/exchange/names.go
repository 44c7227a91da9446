package exchange

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// Name is a record of the programme and what it is called.
type Name struct {
	ID    string
	Names []string
}

// book finds records of the programme by the names in a file.
type book struct {
	kind  string
	own   map[string]string // plain name: id, of the mapping
	known map[string]string // plain name: id, of the programme; empty id = the name is of several
	said  map[string]string // plain name: as the programme writes it
	asked map[string]*NameAsked
}

func newBook(kind string, own map[string]string, known []Name) *book {
	b := &book{kind: kind, own: map[string]string{}, known: map[string]string{}, said: map[string]string{}, asked: map[string]*NameAsked{}}
	for name, id := range own {
		b.own[plain(name)] = id
	}
	for _, k := range known {
		for _, name := range append([]string{k.ID}, k.Names...) {
			p := plain(name)
			if old, had := b.known[p]; had && old != k.ID {
				b.known[p] = ""
				continue
			}
			b.known[p], b.said[p] = k.ID, name
		}
	}
	return b
}

// maxAsked is how many names that are not known are looked for among those that are: comparing takes time, and a file with
// more has the wrong column.
const maxAsked = 1000

// near is a name that may be meant.
type near struct {
	name, id string
	slips    int
}

// find gives the id of a name; ok with an empty id where the mapping says to leave it out. Names are never guessed: what is
// only similar is proposed.
func (b *book) find(name string) (id string, similar []near, ok bool) {
	p := plain(name)
	if id, ok := b.own[p]; ok {
		return id, nil, true
	}
	if id := b.known[p]; id != "" {
		return id, nil, true
	}
	if a := b.asked[p]; a != nil {
		a.Rows++
		for i := range a.Near {
			similar = append(similar, near{name: a.Near[i], id: a.IDs[i]})
		}
		return "", similar, false
	}
	if len(b.asked) >= maxAsked {
		return "", nil, false
	}
	short := withoutKinds(p)
	for k, id := range b.known {
		if id == "" || plain(id) == k {
			continue
		}
		s := withoutKinds(k)
		d := slips(p, k)
		if s != "" && short != "" {
			d = min(d, slips(short, s))
			if len(short) >= 4 && len(s) >= 4 && (strings.Contains(s, short) || strings.Contains(short, s)) {
				d = min(d, 1)
			}
		}
		if d <= 1+len(short)/4 {
			similar = append(similar, near{name: b.said[k], id: id, slips: d})
		}
	}
	slices.SortFunc(similar, func(x, y near) int {
		return cmp.Or(cmp.Compare(x.slips, y.slips), strings.Compare(x.name, y.name), strings.Compare(x.id, y.id))
	})
	similar = similar[:min(len(similar), 3)]
	a := &NameAsked{Kind: b.kind, Name: clip(name), Rows: 1}
	for _, s := range similar {
		a.Near, a.IDs = append(a.Near, s.name), append(a.IDs, s.id)
	}
	b.asked[p] = a
	return "", similar, false
}

// withoutKinds takes out words that say only what kind of place it is, because people leave them away.
func withoutKinds(p string) string {
	return strings.Join(slices.DeleteFunc(strings.Fields(p), func(w string) bool {
		switch w {
		case "lake", "lac", "lk", "reservoir", "res", "pond", "river", "flowage", "the", "launch", "ramp", "landing", "access", "public", "boat":
			return true
		}
		return false
	}), " ")
}

func (b *book) propose(name string, similar []near) string {
	if len(similar) == 0 {
		return fmt.Sprintf("add it to the programme, or put %q with an id into %s", clip(name), b.kind)
	}
	var names []string
	for _, s := range similar {
		names = append(names, fmt.Sprintf("%s (%s)", s.name, s.id))
	}
	return fmt.Sprintf("%s? then put %q with that id into %s", strings.Join(names, " or "), clip(name), b.kind)
}
