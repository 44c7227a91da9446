package store

import (
	"cmp"
	"context"
	"database/sql"
	"slices"
	"strings"

	"thwart"
	"thwart/merge"
)

// member is an encounter of a craft that was met more than once, as far as sums and lists need it.
type member struct {
	subject, launch, class, lastWater, steward string
	at, day, findings                          int64
	given                                      thwart.Outcome
	refused                                    bool
}

// craft is one craft that people have decided was recorded more than once. The first of its looks stands for it.
type craft struct {
	looks    []member
	outcome  thwart.Outcome // the strictest; empty where one look was not judged and none is a hold
	refused  bool
	findings bool
}

func (c *craft) lead() *member { return &c.looks[0] }

// sames gives the pairs decided to be one craft: all, or those that the named encounters belong to, directly or through others.
// Of two decisions on one pair the later made stands.
func sames(ctx context.Context, w work, of []string) ([][2]string, error) {
	latest := map[[2]string]string{} // pair to subject of the decision
	same := map[[2]string]bool{}
	note := func(rows *sql.Rows) error {
		var subject, a, b string
		var n int64
		if err := rows.Scan(&subject, &a, &b, &n); err != nil {
			return err
		}
		key := [2]string{min(a, b), max(a, b)}
		if subject >= latest[key] {
			latest[key], same[key] = subject, n != 0
		}
		return nil
	}
	const q = "SELECT subject, a, b, same FROM pairs"
	if of == nil {
		rows, err := w.query(ctx, q)
		if err == nil {
			err = eachRow(rows, note)
		}
		if err != nil {
			return nil, err
		}
	}
	seen := map[string]bool{}
	for next := of; len(next) > 0; {
		for _, id := range next {
			seen[id] = true
		}
		for _, column := range []string{"a", "b"} {
			if err := inList(ctx, w, q+" WHERE "+column, next, "", note); err != nil {
				return nil, err
			}
		}
		next = nil
		for key, yes := range same {
			for _, id := range key {
				if yes && !seen[id] && !slices.Contains(next, id) {
					next = append(next, id)
				}
			}
		}
	}
	var out [][2]string
	for key, yes := range same {
		if yes {
			out = append(out, key)
		}
	}
	return out, nil
}

// crafts gives the craft that were recorded more than once, see [sames]. Planted craft and removed encounters are left out.
func crafts(ctx context.Context, w work, of []string) ([]craft, error) {
	pairs, err := sames(ctx, w, of)
	if err != nil || len(pairs) == 0 {
		return nil, err
	}
	group := map[string]string{} // encounter to the group's name
	root := func(id string) string {
		for group[id] != "" && group[id] != id {
			id = group[id]
		}
		return id
	}
	var ids []string
	for _, p := range pairs {
		for _, id := range p {
			if group[id] == "" {
				group[id] = id
				ids = append(ids, id)
			}
		}
		group[root(p[0])] = root(p[1])
	}
	slices.Sort(ids)
	looks := map[string][]member{}
	err = inList(ctx, w, "SELECT subject, at, day, launch, class, last_water, steward, given, refused, findings FROM encounters WHERE test = 0 AND subject",
		ids, "", func(rows *sql.Rows) error {
			var m member
			var refused int64
			err := rows.Scan(&m.subject, &m.at, &m.day, &m.launch, &m.class, &m.lastWater, &m.steward, (*string)(&m.given), &refused, &m.findings)
			m.refused = refused != 0
			if r := root(m.subject); !slices.ContainsFunc(looks[r], func(o member) bool { return o.subject == m.subject }) {
				looks[r] = append(looks[r], m) // a chunk is filled up with copies of its first key
			}
			return err
		})
	if err != nil {
		return nil, err
	}
	var out []craft
	for _, members := range looks {
		if len(members) < 2 {
			continue
		}
		slices.SortFunc(members, func(a, b member) int { return cmp.Or(cmp.Compare(a.at, b.at), strings.Compare(a.subject, b.subject)) })
		c := craft{looks: members, outcome: members[0].given}
		for i, m := range members {
			if i > 0 {
				c.outcome = merge.Governing(c.outcome, m.given)
			}
			c.refused = c.refused || m.refused
			c.findings = c.findings || m.findings > 0
		}
		out = append(out, c)
	}
	return out, nil
}

// sameCraft writes into the rows of a list which of them are further looks at a craft, and which outcome governs it.
func (s *Store) sameCraft(ctx context.Context, items []thwart.EncounterRow) error {
	if len(items) == 0 {
		return nil
	}
	ids := make([]string, len(items))
	at := map[string]int{}
	for i := range items {
		ids[i] = items[i].Subject
		at[ids[i]] = i
	}
	return s.inRead(ctx, "reading pairs", func(w work) error {
		all, err := crafts(ctx, w, ids)
		for i := range all {
			c := &all[i]
			for k, m := range c.looks {
				j, ok := at[m.subject]
				if !ok {
					continue
				}
				items[j].Governs = c.outcome
				if k > 0 {
					items[j].SameAs = c.lead().subject
				}
			}
		}
		return err
	})
}

// joinPairs counts a craft that was met twice once, where and when it was met first, with the strictest outcome. encounters
// has counted every look.
func (x *summer) joinPairs(ctx context.Context, w work, q thwart.TotalsQuery) error {
	all, err := crafts(ctx, w, nil)
	if err != nil {
		return err
	}
	inside := func(m *member) bool {
		return (q.From.IsZero() || m.at >= ms(q.From)) && (q.To.IsZero() || m.at < ms(q.To))
	}
	for i := range all {
		c := &all[i]
		for k := range c.looks {
			m := &c.looks[k]
			if inside(m) {
				if err := x.count(m, m.given, m.refused, m.findings > 0, -1); err != nil {
					return err
				}
			}
		}
		if m := c.lead(); inside(m) {
			if err := x.count(m, c.outcome, c.refused, c.findings, 1); err != nil {
				return err
			}
			t, err := x.of(m, c.outcome, c.refused)
			if err != nil {
				return err
			}
			t.Doubles += len(c.looks) - 1
		}
	}
	for key, t := range x.rows {
		if t.Encounters == 0 && x.by != "" {
			delete(x.rows, key)
		}
	}
	return nil
}

// of gives the row that a look with an outcome is counted in.
func (x *summer) of(m *member, outcome thwart.Outcome, refused bool) (*thwart.Total, error) {
	var grouped any
	switch x.by {
	case "":
		grouped = ""
	case "launch":
		grouped = m.launch
	case "class":
		grouped = m.class
	case "last_water":
		grouped = m.lastWater
	case "steward":
		grouped = m.steward
	case "outcome":
		if grouped = string(outcome); refused {
			grouped = thwart.TotalRefused
		}
	default:
		grouped = m.day
	}
	key, err := x.key(grouped)
	return x.at(key), err
}

func (x *summer) count(m *member, outcome thwart.Outcome, refused, findings bool, n int) error {
	t, err := x.of(m, outcome, refused)
	if err != nil {
		return err
	}
	t.Encounters += n
	if refused {
		t.Refused += n
	}
	if findings {
		t.Findings += n
	}
	if outcome = thwart.LeftWith(outcome, refused); outcome != "" {
		if t.ByOutcome[outcome] += n; t.ByOutcome[outcome] == 0 {
			delete(t.ByOutcome, outcome)
		}
	}
	return nil
}
