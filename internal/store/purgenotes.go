package store

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"thwart"
)

// Orders to purge are noted in a file beside the database too, one JSON object a line: a backup that is older than a purge knows
// nothing of it, and restoring one would bring back what was removed. Each order is on the medium before anything is removed, so
// a purge that breaks off is finished by [Store.Reapply].

// purgeNotes is where a SQLite database's orders are noted unless told otherwise.
func purgeNotes(d *dialect, path, told string) string {
	if told == "" && d == &sqliteDialect {
		return path + ".purges"
	}
	return told
}

// notePurge adds an order to the file.
func (s *Store) notePurge(p thwart.PurgeOrder) error {
	if s.purges == "" {
		return nil
	}
	line, err := json.Marshal(p)
	if err != nil {
		return err
	}
	f, err := os.OpenFile(s.purges, os.O_WRONLY|os.O_CREATE|os.O_APPEND, 0o600)
	if err == nil {
		_, err = f.Write(append(line, '\n'))
		err = errors.Join(err, f.Sync(), f.Close())
	}
	if err == nil {
		err = flush(filepath.Dir(s.purges))
	}
	if err != nil {
		return fmt.Errorf("noting a purge beside the database: %w: %w", thwart.ErrStorage, err)
	}
	return nil
}

// Reapply carries out the noted orders to purge that these records know nothing of, as when an older backup was restored or a
// purge broke off. It gives the certificates of what it did; it does nothing where nothing is noted.
func (s *Store) Reapply(ctx context.Context) ([]thwart.PurgeReport, error) {
	if s.purges == "" {
		return nil, nil
	}
	text, err := os.ReadFile(s.purges)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("reading the noted purges: %w: %w", thwart.ErrStorage, err)
	}
	known, err := s.Purges(ctx)
	if err != nil {
		return nil, err
	}
	type key struct {
		at time.Time
		by string
	}
	done := map[key]bool{}
	for _, r := range known {
		done[key{r.At.UTC(), r.By}] = true
	}
	var out []thwart.PurgeReport
	lines := bufio.NewScanner(bytes.NewReader(text))
	for n := 1; lines.Scan(); n++ {
		var p thwart.PurgeOrder
		if err := json.Unmarshal(lines.Bytes(), &p); err != nil {
			if n > 1 && !bytes.HasSuffix(text, []byte("\n")) && !lines.Scan() {
				break // the last line broke off before anything was removed
			}
			return out, fmt.Errorf("%s, line %d is no order to purge: %w", s.purges, n, err)
		}
		if k := (key{fromMS(ms(p.At)), p.By}); done[k] {
			continue
		}
		rep, err := s.purge(ctx, p)
		if err != nil {
			return out, err
		}
		out = append(out, rep)
	}
	return out, lines.Err()
}
