package demotest

import (
	"context"
	"regexp"
	"strconv"
	"strings"

	"thwart"
	"thwart/internal/demo"
)

// Decade is a store's entries of ten years made of one season: what was made in the field comes again, under new ids, in every year
// and so often in each that there are about as many encounters as asked for. Nothing of it lies anywhere; every entry is written
// when it is asked for.
type Decade struct {
	reference, field []thwart.Kept
	ours             map[string]bool // subjects and entries of the field
	times            int
}

// NewDecade makes ten years of about that many encounters, at least the season itself.
func NewDecade(o demo.Options, encounters int) *Decade {
	_, all := Season(o)
	d := &Decade{ours: map[string]bool{}}
	of := 0
	for _, k := range all {
		if k.Kind.Reference() {
			d.reference = append(d.reference, k)
			continue
		}
		if k.Kind == thwart.KindInspection && k.Supersedes == "" {
			of++
		}
		d.ours[k.ID] = true
		d.field = append(d.field, k)
	}
	d.times = max(1, (encounters+of/2)/of)
	return d
}

var aUUID = regexp.MustCompile(`[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[0-9a-f]{4}-[0-9a-f]{12}`)

// at gives the entry of a place in the order of arrival.
func (d *Decade) at(i int) thwart.Kept {
	if i < len(d.reference) {
		k := d.reference[i]
		k.Cursor = int64(i + 1)
		return k
	}
	copied := (i - len(d.reference)) / len(d.field)
	k := d.field[(i-len(d.reference))%len(d.field)]
	k.Cursor = int64(i + 1)
	if copied == 0 {
		return k
	}
	years := copied % 10
	tag := strconv.FormatInt(int64(0x100000+copied), 16)
	name := func(id string) string {
		if !d.ours[id] {
			return id
		}
		return id[:24] + tag + id[30:]
	}
	k.ID, k.Subject, k.Supersedes = name(k.ID), name(k.Subject), name(k.Supersedes)
	k.MadeAt, k.ReceivedAt = k.MadeAt.AddDate(-years, 0, 0), k.ReceivedAt.AddDate(-years, 0, 0)
	body := aUUID.ReplaceAllStringFunc(string(k.Body), name)
	k.Body = []byte(strings.ReplaceAll(body, `"2026-`, `"`+strconv.Itoa(2026-years)+"-"))
	return k
}

// FirstSeason is how many entries stand before those that are copies: the season as it was made.
func (d *Decade) FirstSeason() int64 { return int64(len(d.reference) + len(d.field)) }

// Changes gives the entries after a cursor, as a store does.
func (d *Decade) Changes(_ context.Context, kinds []thwart.Kind, after int64, limit int) (out []thwart.Kept, next int64, err error) {
	next = after
	for i := int(after); i < len(d.reference)+d.times*len(d.field) && len(out) < limit; i++ {
		k := d.at(i)
		next = k.Cursor
		out = append(out, k)
	}
	return out, next, nil
}

// Purges gives nothing: nobody had anything purged.
func (d *Decade) Purges(context.Context) ([]thwart.PurgeReport, error) { return nil, nil }
