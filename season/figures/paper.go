package figures

import (
	"slices"

	"thwart"
	"thwart/season"
)

// keyed is a record that was keyed in from a sheet.
type keyed struct {
	about *season.About
	what  string
	sheet string
	at    season.Moment
}

// keyedIn lists the records of the query's days that name a sheet. A craft that a person has said was recorded twice is there once.
func (w *worker) keyedIn() []keyed {
	var out []keyed
	add := func(k keyed) {
		if k.sheet != "" && w.asked(k.at.Day()) {
			out = append(out, k)
		}
	}
	for i := range w.book.Encounters {
		if e := &w.book.Encounters[i]; e.Twin == season.None && w.at(e.Launch) {
			add(keyed{&e.About, "boat", e.Sheet, e.At})
		}
	}
	if w.launches != nil {
		return out // tallies and cards stand at no launch of their own
	}
	for i := range w.book.Tallies {
		t := &w.book.Tallies[i]
		add(keyed{&t.About, "tally", t.Sheet, t.At})
	}
	for i := range w.book.Washes {
		x := &w.book.Washes[i]
		add(keyed{&x.About, "wash", x.Sheet, x.From})
	}
	return out
}

// asked reports whether the query asks for a day. Where it names none, a day with a slip in it, outside of all shifts, is asked for too.
func (w *worker) asked(d season.Day) bool {
	return (w.q.From == 0 || d >= w.q.From) && (w.q.To == 0 || d <= w.q.To)
}

func (w *worker) paperDoubts() []Doubt {
	all := w.keyedIn()
	return []Doubt{w.twice(all), w.unprinted(all), w.boatless()}
}

// twice finds sheets that were keyed in more than once. None is dropped: one may be a slip in the number.
func (w *worker) twice(all []keyed) Doubt {
	d := Doubt{Evidence: []Clue{}, Records: []string{}, ID: DoubtTwice, Field: "sheet", Of: len(all), Label: "One sheet keyed in twice",
		How: "two records name one sheet: take one back, correct the number of the other, or say of two boats whether they are one craft"}
	by := map[string][]keyed{}
	for _, k := range all {
		by[k.sheet] = append(by[k.sheet], k)
	}
	for _, sheet := range sortedKeys(by) {
		group := by[sheet]
		for i, k := range group {
			if len(group) > 1 {
				o := group[(i+1)%len(group)]
				d.add(k.about, "%s is also the sheet of the %s of %s (%s)", sheet, o.what, o.at.Time().Format("2006-01-02 15:04"), o.about.Subject)
			}
		}
	}
	return d
}

// unprinted finds numbers that are in no block that was printed: made up, or of another programme.
func (w *worker) unprinted(all []keyed) Doubt {
	d := Doubt{Evidence: []Clue{}, Records: []string{}, ID: DoubtUnprinted, Field: "sheet", Of: len(all), Label: "A sheet that was never printed",
		How: "the number holds together, and no block of sheets that was printed here has it"}
	for _, k := range all {
		form, n, err := thwart.ReadSheet(k.sheet)
		if err == nil && slices.ContainsFunc(w.book.Sheets, func(s season.Record[thwart.Sheets]) bool {
			return s.Body.Form == form && s.Body.First <= n && n <= s.Body.Last()
		}) {
			continue
		}
		d.add(k.about, "%s, a %s keyed in", k.sheet, k.what)
	}
	return d
}

// boatless finds washes whose boat is only named by its sheet, which is not keyed in yet, or twice.
func (w *worker) boatless() Doubt {
	d := Doubt{Evidence: []Clue{}, Records: []string{}, ID: DoubtBoatless, Field: "encounter", Label: "A wash without its boat",
		How: "the wash card names a boat's sheet that is not keyed in, or more than once; it counts for no boat until then"}
	if w.launches != nil {
		return d
	}
	boats := map[string]int{}
	for i := range w.book.Encounters {
		boats[w.book.Encounters[i].Sheet]++
	}
	for i := range w.book.Washes {
		x := &w.book.Washes[i]
		if x.BoatSheet == "" || !w.asked(x.From.Day()) {
			continue
		}
		d.Of++
		if x.Encounter != season.None {
			continue
		}
		words := "the boat's sheet %s is not keyed in"
		if boats[x.BoatSheet] > 1 {
			words = "the boat's sheet %s is keyed in more than once"
		}
		d.add(&x.About, words, x.BoatSheet)
	}
	return d
}
