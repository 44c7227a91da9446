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

// Purge removes personal fields for good: marks of craft, free text of inspections and shifts, pictures, the raw text of settled
// refusals, and who was in a trial or a drill. The fields leave the bodies of every version of a subject, and of trials and drills
// also who made the entry and on which phone; nothing else of an entry changes and no entry goes, so no count does. How old a thing is, is read off the thing: when the inspection or the shift began; a picture
// by when it was made; a refusal by when it arrived. Photos of craft that were given hold, or of an encounter that an open
// incident is about, stay. So does a trial whose object nobody has taken back. Of a purged photo the hash, size and type are removed, and then every picture that arrived before the
// limit and that no photo names any more, which the report lists.
//
// The order is noted beside the database first, see [Store.Reapply]. A purge that breaks off has removed what it had come to; run
// again it goes on. The last step notes the purge among the records.
func (s *Store) Purge(ctx context.Context, p thwart.PurgeOrder) (thwart.PurgeReport, error) {
	if !p.DryRun {
		if s.readOnly {
			return thwart.PurgeReport{}, fmt.Errorf("purging: %w: the database is open for reading only", thwart.ErrStorage)
		}
		if err := s.notePurge(p); err != nil {
			return thwart.PurgeReport{}, err
		}
	}
	return s.purge(ctx, p)
}

func (s *Store) purge(ctx context.Context, p thwart.PurgeOrder) (thwart.PurgeReport, error) {
	rep := thwart.PurgeReport{At: fromMS(ms(p.At)), By: p.By, DryRun: p.DryRun, Removed: map[string]int{}}
	for _, kind := range []thwart.Kind{thwart.KindInspection, thwart.KindShift, thwart.KindPhoto, thwart.KindTrial, thwart.KindDrill} {
		if err := s.purgeKind(ctx, kind, p, rep.Removed); err != nil {
			return thwart.PurgeReport{}, err
		}
	}
	if err := s.purgeRefusals(ctx, p, rep.Removed); err != nil {
		return thwart.PurgeReport{}, err
	}
	var err error
	if rep.Pictures, err = s.purgePictures(ctx, p); err != nil {
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
	if !touches(p, kind) {
		return nil
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
		stays, err := s.staying(ctx, kind, rows)
		if err != nil {
			return s.fault("purging", err)
		}
		var rewrite []row
		var before []int64
		for _, r := range rows {
			body, n, err := purgeBody(&r.Entry, p, stays)
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
			if n["trial"]+n["drill"] > 0 {
				r.Person, r.Device, r.Seq = "", "", 0
			}
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
				res, err := w.exec(ctx, "UPDATE entries SET body = $1, kept_sum = $2, seal = $3, person = $4, device = $5, seq = $6 WHERE cursor = $7 AND seal = $8",
					string(r.Body), r.keptSum, r.seal, r.Person, r.Device, r.Seq, r.Cursor, before[i])
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

// touches reports whether an order takes anything away from a kind.
func touches(p thwart.PurgeOrder, kind thwart.Kind) bool {
	switch kind {
	case thwart.KindInspection:
		return !p.MarksBefore.IsZero() || !p.NotesBefore.IsZero()
	case thwart.KindShift:
		return !p.NotesBefore.IsZero()
	case thwart.KindPhoto:
		return !p.PhotosBefore.IsZero()
	}
	return !p.TrialsBefore.IsZero()
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

// staying gives what an order leaves untouched, whatever its age: encounters of photos that are kept, and open trials.
func (s *Store) staying(ctx context.Context, kind thwart.Kind, rows []row) (map[string]bool, error) {
	switch kind {
	case thwart.KindPhoto:
		return s.incidents(ctx, rows)
	case thwart.KindTrial:
		return s.openTrials(ctx)
	}
	return nil, nil
}

// openTrials gives the trials whose object nobody has taken back.
func (s *Store) openTrials(ctx context.Context) (map[string]bool, error) {
	out := map[string]bool{}
	err := s.heads(ctx, thwart.KindTrial, func(subject string, body []byte) error {
		var t struct{ RetrievedAt *time.Time }
		if err := json.Unmarshal(body, &t); err != nil {
			return err
		}
		out[subject] = t.RetrievedAt == nil
		return nil
	})
	return out, err
}

// heads reads what the things of a kind say now, without those removed.
func (s *Store) heads(ctx context.Context, kind thwart.Kind, each func(subject string, body []byte) error) error {
	rows, err := s.read.QueryContext(ctx, "SELECT s.subject, e.body FROM subjects s JOIN entries e ON e.cursor = s.head WHERE s.kind = $1 AND s.removed = 0",
		string(kind))
	if err != nil {
		return err
	}
	return eachRow(rows, func(rows *sql.Rows) error {
		var subject, text string
		if err := rows.Scan(&subject, &text); err != nil {
			return err
		}
		return each(subject, []byte(text))
	})
}

// openIncidents gives the encounters that an open incident is about.
func (s *Store) openIncidents(ctx context.Context) (map[string]bool, error) {
	out := map[string]bool{}
	err := s.heads(ctx, thwart.KindIncident, func(_ string, body []byte) error {
		var b struct{ Encounter, State string }
		if err := json.Unmarshal(body, &b); err != nil {
			return err
		}
		if b.State != thwart.IncidentClosed {
			out[b.Encounter] = true
		}
		return nil
	})
	return out, err
}

// incidents gives the encounters of photos whose craft was given hold, and those of open incidents.
func (s *Store) incidents(ctx context.Context, photos []row) (map[string]bool, error) {
	held, err := s.openIncidents(ctx)
	if err != nil {
		return nil, err
	}
	var ids []string
	for i := range photos {
		f, err := factsOf(&photos[i].Entry)
		if err != nil {
			return nil, err
		}
		ids = append(ids, f.parent)
	}
	slices.Sort(ids)
	err = s.inRead(ctx, "reading incidents", func(w work) error {
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
func purgeBody(e *thwart.Entry, p thwart.PurgeOrder, stays map[string]bool) (json.RawMessage, map[string]int, error) {
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
		if old(e.MadeAt, p.PhotosBefore) && !stays[f.parent] {
			if drop(body, "sha256", "photo", n) {
				drop(body, "bytes", "", n)
				drop(body, "type", "", n)
			}
		}
	case thwart.KindTrial:
		var t struct{ PlantedAt time.Time }
		if err := json.Unmarshal(e.Body, &t); err != nil {
			return nil, nil, err
		}
		if old(t.PlantedAt, p.TrialsBefore) && !stays[e.Subject] {
			dropAll(body, "trial", n, "steward", "plantedBy", "encounter")
		}
	case thwart.KindDrill:
		var d struct{ StartedAt time.Time }
		if err := json.Unmarshal(e.Body, &d); err != nil {
			return nil, nil, err
		}
		if old(d.StartedAt, p.TrialsBefore) {
			dropAll(body, "drill", n, "person")
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

// dropAll removes fields and counts them as one.
func dropAll(m map[string]any, as string, n map[string]int, fields ...string) {
	found := false
	for _, f := range fields {
		found = drop(m, f, "", n) || found
	}
	if found {
		n[as]++
	}
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

// purgePictures removes pictures that arrived before the limit and that no photo names, and gives their hashes. In a dry run the
// photos that would go still count as naming nothing.
func (s *Store) purgePictures(ctx context.Context, p thwart.PurgeOrder) ([]string, error) {
	if p.PhotosBefore.IsZero() {
		return nil, nil
	}
	named, err := s.namedPictures(ctx, p)
	if err != nil {
		return nil, s.fault("purging pictures", err)
	}
	old, err := list(ctx, s, "pictures", "SELECT sha256 FROM pictures WHERE received_at < $1 ORDER BY sha256",
		func(rows scanner) (h string, err error) { err = rows.Scan(&h); return h, err }, ms(p.PhotosBefore))
	if err != nil {
		return nil, err
	}
	var gone []string
	for _, h := range old {
		if !named[h] {
			gone = append(gone, h)
		}
	}
	if len(gone) == 0 || p.DryRun {
		return gone, nil
	}
	err = s.inWrite(ctx, "purging pictures", func(ctx context.Context, w work) error {
		for _, h := range gone {
			if _, err := w.exec(ctx, "DELETE FROM pictures WHERE sha256 = $1", h); err != nil {
				return err
			}
		}
		return nil
	})
	return gone, err
}

// namedPictures gives the hashes that versions of photos name, without what the order takes away.
func (s *Store) namedPictures(ctx context.Context, p thwart.PurgeOrder) (map[string]bool, error) {
	named := map[string]bool{}
	for after := int64(0); ; {
		rows, err := s.rowsOf(ctx, thwart.KindPhoto, after)
		if err != nil || len(rows) == 0 {
			return named, err
		}
		after = rows[len(rows)-1].Cursor
		incident, err := s.incidents(ctx, rows)
		if err != nil {
			return nil, err
		}
		for i := range rows {
			body, n, err := purgeBody(&rows[i].Entry, p, incident)
			if err != nil {
				return nil, err
			}
			if len(n) == 0 {
				body = rows[i].Body
			}
			var b struct{ SHA256 string }
			if len(body) > 0 && json.Unmarshal(body, &b) == nil && b.SHA256 != "" {
				named[b.SHA256] = true
			}
		}
	}
}
