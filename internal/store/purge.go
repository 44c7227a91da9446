package store

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"time"

	"thwart"
)

// purgeBatch is how many entries one transaction of a purge rewrites, so that phones can send in between.
const purgeBatch = 200

// Purge removes personal fields for good: marks of craft, free text of inspections and shifts, pictures, and the raw text
// of settled refusals. The fields leave the bodies of every version of a subject; nothing else of an entry changes and no
// entry goes, so no count does. How old a thing is, is read off the thing: when the inspection or the shift began; a picture
// by when it was made; a refusal by when it arrived. Pictures of craft that were given hold belong to an incident and stay.
// Of a purged picture the hash, size and type are removed: a picture file whose hash no entry names any more is to be
// deleted by whoever keeps the files.
//
// A purge that breaks off has removed what it had come to; run again it goes on. The last step notes the purge.
func (s *Store) Purge(ctx context.Context, p thwart.PurgeOrder) (thwart.PurgeReport, error) {
	rep := thwart.PurgeReport{At: fromMS(ms(p.At)), By: p.By, DryRun: p.DryRun, Removed: map[string]int{}}
	for _, kind := range []thwart.Kind{thwart.KindInspection, thwart.KindShift, thwart.KindPhoto} {
		if err := s.purgeKind(ctx, kind, p, rep.Removed); err != nil {
			return thwart.PurgeReport{}, err
		}
	}
	if err := s.purgeRefusals(ctx, p, rep.Removed); err != nil {
		return thwart.PurgeReport{}, err
	}
	if p.DryRun {
		return rep, nil
	}
	text, err := json.Marshal(rep)
	if err != nil {
		return thwart.PurgeReport{}, err
	}
	err = s.inWrite(ctx, "noting a purge", func(ctx context.Context, w work) error {
		if _, err := takeLedger(ctx, w, 0); err != nil {
			return err
		}
		_, err := w.exec(ctx, "INSERT INTO purges (id, at, who, report) SELECT COALESCE(MAX(id), 0) + 1, $1, $2, $3 FROM purges",
			ms(p.At), p.By, string(text))
		return err
	})
	if err != nil {
		return thwart.PurgeReport{}, err
	}
	// What was overwritten may still lie in the log beside the file, or in dead rows.
	if _, err := s.tidyUp(ctx); err != nil {
		return rep, s.fault("tidying up after a purge", err)
	}
	return rep, nil
}

func (s *Store) tidyUp(ctx context.Context) (sql.Result, error) {
	if s.d == &sqliteDialect {
		select {
		case s.token <- struct{}{}:
			defer func() { <-s.token }()
			return s.conn.ExecContext(ctx, s.d.tidy)
		case <-ctx.Done():
			return nil, ctx.Err()
		}
	}
	return s.write.ExecContext(ctx, s.d.tidy)
}

// Purges gives the certificates of all purges, oldest first.
func (s *Store) Purges(ctx context.Context) ([]thwart.PurgeReport, error) {
	return list(ctx, s, "purges", "SELECT report FROM purges ORDER BY id", func(rows scanner) (r thwart.PurgeReport, err error) {
		var text string
		if err := rows.Scan(&text); err != nil {
			return r, err
		}
		return r, json.Unmarshal([]byte(text), &r)
	})
}

func (s *Store) purgeKind(ctx context.Context, kind thwart.Kind, p thwart.PurgeOrder, removed map[string]int) error {
	switch kind {
	case thwart.KindInspection:
		if p.MarksBefore.IsZero() && p.NotesBefore.IsZero() {
			return nil
		}
	case thwart.KindShift:
		if p.NotesBefore.IsZero() {
			return nil
		}
	case thwart.KindPhoto:
		if p.PhotosBefore.IsZero() {
			return nil
		}
	}
	for after := int64(0); ; {
		rows, err := s.rowsOf(ctx, kind, after)
		if err != nil {
			return s.fault("purging", err)
		}
		if len(rows) == 0 {
			return nil
		}
		after = rows[len(rows)-1].Cursor
		incident := map[string]bool{}
		if kind == thwart.KindPhoto {
			if incident, err = s.incidents(ctx, rows); err != nil {
				return s.fault("purging", err)
			}
		}
		var rewrite []row
		var before []int64
		for _, r := range rows {
			body, n, err := purgeBody(&r.Entry, p, incident)
			if err != nil {
				return fmt.Errorf("purging entry %s: %w", r.ID, err)
			}
			if len(n) == 0 {
				continue
			}
			for field, k := range n {
				removed[field] += k
			}
			before = append(before, r.seal)
			r.Body = body
			r.keptSum = r.Sum()
			r.seal = r.sealed()
			rewrite = append(rewrite, r)
		}
		if len(rewrite) == 0 || p.DryRun {
			continue
		}
		err = s.inWrite(ctx, "purging", func(ctx context.Context, w work) error {
			if _, err := takeLedger(ctx, w, 0); err != nil {
				return err
			}
			var subjects []string
			for i := range rewrite {
				r := &rewrite[i]
				res, err := w.exec(ctx, "UPDATE entries SET body = $1, kept_sum = $2, seal = $3 WHERE cursor = $4 AND seal = $5",
					string(r.Body), r.keptSum, r.seal, r.Cursor, before[i])
				if err != nil {
					return err
				}
				// Two purges at once might put back what the other removed.
				if err := changed(res, fmt.Errorf("entry %s, by another purge: %w", r.ID, thwart.ErrConflict)); err != nil {
					return err
				}
				subjects = append(subjects, r.Subject)
			}
			slices.Sort(subjects)
			return restand(ctx, w, slices.Compact(subjects), nil, nil)
		})
		if err != nil {
			return err
		}
	}
}

func (s *Store) rowsOf(ctx context.Context, kind thwart.Kind, after int64) (out []row, err error) {
	rows, err := s.read.QueryContext(ctx, fmt.Sprintf("SELECT %s FROM entries WHERE kind = $1 AND cursor > $2 ORDER BY cursor LIMIT %d",
		entryColumns, purgeBatch), string(kind), after)
	if err != nil {
		return nil, err
	}
	err = eachRow(rows, func(rows *sql.Rows) error {
		var r row
		err := r.scan(rows)
		out = append(out, r)
		return err
	})
	return out, err
}

// incidents gives the encounters of photos whose craft was given hold.
func (s *Store) incidents(ctx context.Context, photos []row) (map[string]bool, error) {
	held := map[string]bool{}
	var ids []string
	for i := range photos {
		f, err := factsOf(&photos[i].Entry)
		if err != nil {
			return nil, err
		}
		ids = append(ids, f.parent)
	}
	slices.Sort(ids)
	err := s.inRead(ctx, "reading incidents", func(w work) error {
		return inList(ctx, w, "SELECT subject FROM encounters WHERE subject", slices.Compact(ids),
			fmt.Sprintf(" AND given_rank = %d", thwart.Hold.Rank()), func(rows *sql.Rows) error {
				var id string
				err := rows.Scan(&id)
				held[id] = true
				return err
			})
	})
	return held, err
}

// purgeBody takes the personal fields out of a body and counts them. Fields that this program does not know stay as they
// are. Names are matched as the decoder of JSON matches them, without regard to capitals.
func purgeBody(e *thwart.Entry, p thwart.PurgeOrder, incident map[string]bool) (json.RawMessage, map[string]int, error) {
	if len(e.Body) == 0 {
		return nil, nil, nil
	}
	f, err := factsOf(e)
	if err != nil {
		return nil, nil, err
	}
	d := json.NewDecoder(bytes.NewReader(e.Body))
	d.UseNumber()
	var body map[string]any
	if err := d.Decode(&body); err != nil {
		return nil, nil, err
	}
	n := map[string]int{}
	old := func(t, limit time.Time) bool { return !limit.IsZero() && t.Before(limit) }
	switch e.Kind {
	case thwart.KindInspection:
		if old(f.enc.at, p.MarksBefore) {
			drop(body, "mark", "mark", n)
		}
		if old(f.enc.at, p.NotesBefore) {
			for _, in := range under(body, "inspection") {
				drop(in, "note", "note", n)
				for _, k := range append(under(in, "checks"), under(in, "others")...) {
					drop(k, "reason", "note", n)
				}
				for _, k := range under(in, "findings") {
					drop(k, "note", "note", n)
				}
			}
		}
	case thwart.KindShift:
		if old(f.shift.from, p.NotesBefore) {
			drop(body, "note", "note", n)
		}
	case thwart.KindPhoto:
		if old(e.MadeAt, p.PhotosBefore) && !incident[f.parent] {
			if drop(body, "sha256", "photo", n) {
				drop(body, "bytes", "", n)
				drop(body, "type", "", n)
			}
		}
	}
	delete(n, "")
	if len(n) == 0 {
		return nil, nil, nil
	}
	var out bytes.Buffer
	enc := json.NewEncoder(&out)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(body); err != nil {
		return nil, nil, err
	}
	return bytes.TrimRight(out.Bytes(), "\n"), n, nil
}

// drop removes a field and counts it under a name where it said something.
func drop(m map[string]any, field, as string, n map[string]int) bool {
	found := false
	for k, v := range m {
		if strings.EqualFold(k, field) {
			delete(m, k)
			if v != nil && v != "" {
				found = true
			}
		}
	}
	if found {
		n[as]++
	}
	return found
}

// under gives the objects that lie in a field, one or a list of them.
func under(m map[string]any, field string) (out []map[string]any) {
	for k, v := range m {
		if !strings.EqualFold(k, field) {
			continue
		}
		switch v := v.(type) {
		case map[string]any:
			out = append(out, v)
		case []any:
			for _, x := range v {
				if o, ok := x.(map[string]any); ok {
					out = append(out, o)
				}
			}
		}
	}
	return out
}

// purgeRefusals empties the raw text of refusals that are settled and arrived before the limit of free text: an entry that
// could not be taken may hold anything.
func (s *Store) purgeRefusals(ctx context.Context, p thwart.PurgeOrder, removed map[string]int) error {
	if p.NotesBefore.IsZero() {
		return nil
	}
	const where = " FROM refusals WHERE settled_at IS NOT NULL AND received_at < $1 AND raw <> $2"
	empty := []byte("null")
	if p.DryRun {
		var n int
		if err := s.read.QueryRowContext(ctx, "SELECT COUNT(*)"+where, ms(p.NotesBefore), empty).Scan(&n); err != nil {
			return s.fault("purging refusals", err)
		}
		if n > 0 {
			removed["refusal"] += n
		}
		return nil
	}
	var n int64
	err := s.inWrite(ctx, "purging refusals", func(ctx context.Context, w work) error {
		res, err := w.exec(ctx, "UPDATE refusals SET raw = $3 WHERE settled_at IS NOT NULL AND received_at < $1 AND raw <> $2",
			ms(p.NotesBefore), empty, empty)
		if err != nil {
			return err
		}
		n, err = res.RowsAffected()
		return err
	})
	if n > 0 {
		removed["refusal"] += int(n)
	}
	return err
}
