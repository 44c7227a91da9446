package store

import (
	"context"
	"database/sql"
	"errors"
	"slices"

	"thwart"
)

var (
	intoEntries    = newTable("entries", entryColumns, "")
	intoSubjects   = newTable("subjects", subjectColumns, upsert(subjectColumns))
	intoEncounters = newTable("encounters", encounterColumns, upsert(encounterColumns))
	intoShifts     = newTable("shifts", shiftColumns, upsert(shiftColumns))
	intoTallies    = newTable("tallies", tallyColumns, upsert(tallyColumns))
	intoPairs      = newTable("pairs", pairColumns, upsert(pairColumns))
)

// Put keeps a batch in one transaction. Besides what the contract says: an entry is refused when its envelope is not valid,
// when a text could not be held by both databases, or when its body cannot be read as far as lists need it. Nothing is ever
// refused for what is, or is not yet, there of other entries, so the state after any order of batches is the same.
func (s *Store) Put(ctx context.Context, batch []thwart.Kept) ([]thwart.PutAnswer, error) {
	prepared := make([]row, len(batch))
	errs := make([]thwart.FieldErrors, len(batch))
	known := make(map[string]facts, len(batch))
	ids := make([]string, 0, len(batch))
	for i := range batch {
		r := &prepared[i]
		r.Kept = batch[i]
		if r.ReceivedAt.IsZero() {
			r.ReceivedAt = s.now()
		}
		r.ReceivedAt = fromMS(ms(r.ReceivedAt))
		errs[i] = refuse(r, known)
		if errs[i] == nil {
			ids = append(ids, r.ID)
		}
	}
	answers := make([]thwart.PutAnswer, len(batch))
	if len(ids) == 0 {
		for i := range answers {
			answers[i] = thwart.PutAnswer{ID: batch[i].ID, Result: thwart.Refused, Errors: errs[i]}
		}
		return answers, nil
	}
	err := s.inWrite(ctx, "keeping entries", func(ctx context.Context, w work) error {
		answers = make([]thwart.PutAnswer, len(batch))
		l, err := takeLedger(ctx, w, int64(len(ids)))
		if err != nil {
			return err
		}
		have, err := sumsOf(ctx, w, ids)
		if err != nil {
			return err
		}
		var rows []any
		fresh := map[string][]thwart.Kept{}
		var order []string
		for i := range prepared {
			r := &prepared[i]
			answers[i] = thwart.PutAnswer{ID: r.ID, Result: thwart.Refused, Errors: errs[i]}
			if errs[i] != nil {
				continue
			}
			answers[i].Sum = r.sum
			switch old, ok := have[r.ID]; {
			case !ok:
				answers[i].Result = thwart.Stored
			case old == r.sum:
				answers[i].Result = thwart.Had
				continue
			default:
				delete(known, r.ID) // what was read is not of the entry that is kept
				answers[i].Errors = thwart.FieldErrors{{
					Field: "id", Value: r.ID, Accepted: "an id of its own: an entry with this id and other content is kept already",
				}}
				answers[i].Sum = ""
				continue
			}
			have[r.ID] = r.sum
			r.Cursor = l.next()
			r.seal = r.sealed()
			l.count(r.sum)
			rows = append(rows, r.args()...)
			if fresh[r.Subject] == nil {
				order = append(order, r.Subject)
			}
			fresh[r.Subject] = append(fresh[r.Subject], r.Kept)
		}
		if len(rows) == 0 {
			return nil
		}
		if err := intoEntries.add(ctx, w, rows); err != nil {
			return err
		}
		if err := l.write(ctx, w); err != nil {
			return err
		}
		return restand(ctx, w, order, fresh, known)
	})
	if err != nil {
		return nil, err
	}
	return answers, nil
}

// refuse checks one entry and reads what lists need of it.
func refuse(r *row, known map[string]facts) thwart.FieldErrors {
	var fields thwart.FieldErrors
	if err := r.Validate(); errors.As(err, &fields) {
		return fields
	}
	if fields = checkText(&r.Entry); fields != nil {
		return fields
	}
	f, err := factsOf(&r.Entry)
	if errors.As(err, &fields) {
		return fields
	}
	r.sum, r.keptSum = r.Sum(), ""
	if _, twice := known[r.ID]; !twice { // of two with one id in a batch the first is the one to be kept, if any is
		known[r.ID] = f
	}
	return nil
}

// ledger is the row that every writer takes first.
type ledger struct{ cursor, entries, fold int64 }

// takeLedger locks the ledger and sets n cursors aside. Not all of them need be used.
func takeLedger(ctx context.Context, w work, n int64) (*ledger, error) {
	var l ledger
	err := w.row(ctx, "UPDATE ledger SET cursor = cursor + $1 WHERE id = 1 RETURNING cursor, entries, fold", n).
		Scan(&l.cursor, &l.entries, &l.fold)
	l.cursor -= n
	return &l, err
}

func (l *ledger) next() int64 { l.cursor++; return l.cursor }

func (l *ledger) count(sum string) { l.entries++; l.fold ^= foldOf(sum) }

func (l *ledger) write(ctx context.Context, w work) error {
	_, err := w.exec(ctx, "UPDATE ledger SET entries = $1, fold = $2 WHERE id = 1", l.entries, l.fold)
	return err
}

// sumsOf gives the sums of those ids that are kept.
func sumsOf(ctx context.Context, w work, ids []string) (map[string]string, error) {
	have := make(map[string]string, len(ids))
	err := inList(ctx, w, "SELECT id, sum FROM entries WHERE id", ids, "", func(rows *sql.Rows) error {
		var id, sum string
		if err := rows.Scan(&id, &sum); err != nil {
			return err
		}
		have[id] = sum
		return nil
	})
	return have, err
}

// restand brings subjects and lists up to date with the entries of the named subjects. fresh holds entries that this
// transaction has added; a subject that is not there yet has no others. Subjects not in fresh are read whole.
func restand(ctx context.Context, w work, subjects []string, fresh map[string][]thwart.Kept, known map[string]facts) error {
	old := map[string]bool{}
	err := inList(ctx, w, "SELECT subject FROM subjects WHERE subject", subjects, "", func(rows *sql.Rows) error {
		var id string
		err := rows.Scan(&id)
		old[id] = true
		return err
	})
	if err != nil {
		return err
	}
	whole := make(map[string][]thwart.Kept, len(subjects))
	var load []string
	for _, id := range subjects {
		if old[id] || fresh[id] == nil {
			load = append(load, id)
		} else {
			whole[id] = fresh[id]
		}
	}
	err = inList(ctx, w, "SELECT "+entryColumns+" FROM entries WHERE subject", load, "", func(rows *sql.Rows) error {
		var r row
		if err := r.scan(rows); err != nil {
			return err
		}
		whole[r.Subject] = append(whole[r.Subject], r.Kept)
		return nil
	})
	if err != nil {
		return err
	}
	stands := make([]standing, 0, len(subjects))
	for _, id := range subjects {
		st, err := stand(whole[id], known)
		if err != nil {
			return err
		}
		stands = append(stands, st)
	}
	return writeStands(ctx, w, stands, old)
}

// writeStands writes subjects first, then shifts, then what takes its launch from a shift.
func writeStands(ctx context.Context, w work, stands []standing, old map[string]bool) error {
	var subjects, shifts, encounters, tallies, pairs []any
	var ask []string
	gone := map[string][]string{}
	for i := range stands {
		st := &stands[i]
		subjects = append(subjects, st.args()...)
		if st.facts.shift != nil {
			shifts = append(shifts, st.shiftArgs()...)
		}
		if st.facts.tally != nil {
			tallies = append(tallies, st.tallyArgs()...)
		}
		if st.facts.pair != nil {
			pairs = append(pairs, st.pairArgs()...)
		}
		if x := st.facts.enc; x != nil && !x.launchOwn {
			ask = append(ask, x.shift)
		}
		if !old[st.subject] {
			continue
		}
		if st.facts.enc == nil {
			gone["encounters"] = append(gone["encounters"], st.subject)
		}
		if st.facts.shift == nil {
			gone["shifts"] = append(gone["shifts"], st.subject)
		}
		if st.facts.tally == nil {
			gone["tallies"] = append(gone["tallies"], st.subject)
		}
		if st.kind == thwart.KindPairing && st.facts.pair == nil {
			gone["pairs"] = append(gone["pairs"], st.subject)
		}
	}
	if err := intoSubjects.add(ctx, w, subjects); err != nil {
		return err
	}
	left := map[string]bool{} // shifts that are none any more
	for _, name := range []string{"encounters", "shifts", "tallies", "pairs"} {
		for _, id := range gone[name] {
			res, err := w.exec(ctx, "DELETE FROM "+name+" WHERE subject = $1", id)
			if err != nil {
				return err
			}
			n, err := res.RowsAffected()
			if err != nil {
				return err
			}
			if n > 0 && name == "shifts" {
				left[id] = true
			}
		}
	}
	if err := intoShifts.add(ctx, w, shifts); err != nil {
		return err
	}
	if err := intoTallies.add(ctx, w, tallies); err != nil {
		return err
	}
	if err := intoPairs.add(ctx, w, pairs); err != nil {
		return err
	}
	slices.Sort(ask)
	launches, err := shiftLaunches(ctx, w, slices.Compact(ask))
	if err != nil {
		return err
	}
	for i := range stands {
		x := stands[i].facts.enc
		if x == nil {
			continue
		}
		if !x.launchOwn {
			x.resolvedLaunch = launches[x.shift]
		}
		encounters = append(encounters, stands[i].encounterArgs()...)
	}
	if err := intoEncounters.add(ctx, w, encounters); err != nil {
		return err
	}
	// Encounters that came before their shift, or whose shift was corrected.
	for i := range stands {
		st := &stands[i]
		if st.facts.shift == nil && !left[st.subject] {
			continue
		}
		launch := ""
		if st.facts.shift != nil {
			launch = st.facts.shift.launch
		}
		const q = "UPDATE encounters SET launch = $1 WHERE shift = $2 AND launch_own = 0 AND launch <> $3"
		if _, err := w.exec(ctx, q, launch, st.subject, launch); err != nil {
			return err
		}
	}
	return nil
}
