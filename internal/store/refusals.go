package store

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"strconv"
	"time"

	"thwart"
)

const refusalColumns = "id, raw, raw_sum, errors, device, person, received_at, settled_at, settled_by, how"

func rawSum(device string, raw []byte) string {
	h := sha256.New()
	fmt.Fprintf(h, "%s\n", device)
	h.Write(raw)
	return hex.EncodeToString(h.Sum(nil))
}

// Refuse keeps an entry that could not be taken. The raw text is kept byte by byte, whatever is in it; the same text from
// the same device is kept once, also after it was settled.
func (s *Store) Refuse(ctx context.Context, r thwart.Refusal) error {
	if r.ID == "" {
		return thwart.FieldErrors{{Field: "id", Accepted: "the id of the refusal"}}
	}
	if r.ReceivedAt.IsZero() {
		r.ReceivedAt = s.now()
	}
	errs, err := json.Marshal(r.Errors)
	if err != nil {
		return err
	}
	q := "INSERT INTO refusals (" + refusalColumns + ") VALUES " + places(1, 10) + " ON CONFLICT (raw_sum) DO NOTHING"
	return s.inWrite(ctx, "keeping a refusal", func(ctx context.Context, w work) error {
		_, err := w.exec(ctx, q, r.ID, notNil(r.Raw), rawSum(r.Device, r.Raw), string(errs), r.Device, r.Person, ms(r.ReceivedAt),
			msOrNull(r.SettledAt), r.SettledBy, r.How)
		return s.orConflict(err, "a refusal with this id")
	})
}

// notNil turns nil into no bytes: a NULL is something else.
func notNil(b []byte) []byte {
	if b == nil {
		return []byte{}
	}
	return b
}

func (s *Store) orConflict(err error, what string) error {
	if err != nil && s.d.taken(err) {
		return fmt.Errorf("%s is there already: %w", what, thwart.ErrConflict)
	}
	return err
}

// Refusals lists what could not be taken, longest waiting first.
func (s *Store) Refusals(ctx context.Context, settled bool, after string, limit int) (page thwart.Page[thwart.Refusal], err error) {
	limit, err = limitOf(limit)
	if err != nil {
		return page, err
	}
	var a args
	where := "settled_at IS NULL"
	if settled {
		where = "settled_at IS NOT NULL"
	}
	order := "refusal-" + strconv.FormatBool(settled)
	if after != "" {
		keys, err := parseCursor(after, order, int64(0), "")
		if err != nil {
			return page, err
		}
		where += " AND (received_at, id) > (" + a.add(keys[0]) + ", " + a.add(keys[1]) + ")"
	}
	q := "SELECT " + refusalColumns + " FROM refusals WHERE " + where + " ORDER BY received_at, id LIMIT " + strconv.Itoa(limit+1)
	rows, err := s.read.QueryContext(ctx, q, a...)
	if err != nil {
		return page, s.fault("listing refusals", err)
	}
	page.Items = []thwart.Refusal{}
	err = eachRow(rows, func(rows *sql.Rows) error {
		r, _, err := scanRefusal(rows)
		page.Items = append(page.Items, r)
		return err
	})
	if err != nil {
		return page, s.fault("listing refusals", err)
	}
	if len(page.Items) > limit {
		page.Items = page.Items[:limit]
		last := page.Items[limit-1]
		page.Next = cursor{order, []any{ms(last.ReceivedAt), last.ID}}.String()
	}
	return page, nil
}

func scanRefusal(rows interface{ Scan(...any) error }) (r thwart.Refusal, sum string, err error) {
	var raw, errs []byte
	var received int64
	var settled sql.NullInt64
	err = rows.Scan(&r.ID, &raw, &sum, &errs, &r.Device, &r.Person, &received, &settled, &r.SettledBy, &r.How)
	if err != nil {
		return r, "", err
	}
	r.Raw, r.ReceivedAt, r.SettledAt = raw, fromMS(received), timeOrNil(settled)
	return r, sum, json.Unmarshal(errs, &r.Errors)
}

// Settle notes how a refusal was dealt with. One that is settled already stays as it was settled first: ErrConflict.
func (s *Store) Settle(ctx context.Context, id, by, how string, at time.Time) error {
	return s.inWrite(ctx, "settling a refusal", func(ctx context.Context, w work) error {
		var settled sql.NullInt64
		err := w.row(ctx, "SELECT settled_at FROM refusals WHERE id = $1", id).Scan(&settled)
		if errors.Is(err, sql.ErrNoRows) {
			return fmt.Errorf("refusal %.60q: %w", id, thwart.ErrNotFound)
		}
		if err != nil {
			return err
		}
		res, err := w.exec(ctx, "UPDATE refusals SET settled_at = $1, settled_by = $2, how = $3 WHERE id = $4 AND settled_at IS NULL",
			ms(at), by, how, id)
		if err != nil {
			return err
		}
		return changed(res, fmt.Errorf("refusal %s is settled already: %w", id, thwart.ErrConflict))
	})
}

// changed gives otherwise where a statement met no row.
func changed(res sql.Result, otherwise error) error {
	n, err := res.RowsAffected()
	if err == nil && n == 0 {
		err = otherwise
	}
	return err
}
