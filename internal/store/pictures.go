package store

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"fmt"
	"strconv"

	"thwart"
)

const pictureColumns = "sha256, type, bytes, data, sent_by, received_at"

// PutPicture keeps a picture under the hash of its bytes, which must be the one that is said.
func (s *Store) PutPicture(ctx context.Context, p thwart.Picture) (had bool, err error) {
	h := sha256.Sum256(p.Data)
	if got := hex.EncodeToString(h[:]); got != p.SHA256 {
		return false, thwart.FieldErrors{{Field: "sha256", Value: p.SHA256[:min(64, len(p.SHA256))], Accepted: "the SHA-256 of the picture, " + got}}
	}
	if p.ReceivedAt.IsZero() {
		p.ReceivedAt = s.now()
	}
	err = s.inWrite(ctx, "keeping a picture", func(ctx context.Context, w work) error {
		res, err := w.exec(ctx, "INSERT INTO pictures ("+pictureColumns+") VALUES "+places(1, 6)+" ON CONFLICT (sha256) DO NOTHING",
			p.SHA256, p.Type, int64(len(p.Data)), p.Data, p.SentBy, ms(p.ReceivedAt))
		if err != nil {
			return err
		}
		n, err := res.RowsAffected()
		had = n == 0
		return err
	})
	return had, err
}

// PictureByHash gives a picture. One whose bytes no longer have their hash is not given out.
func (s *Store) PictureByHash(ctx context.Context, hash string) (p thwart.Picture, err error) {
	var received, size int64
	row := s.read.QueryRowContext(ctx, "SELECT "+pictureColumns+" FROM pictures WHERE sha256 = $1", hash)
	err = row.Scan(&p.SHA256, &p.Type, &size, &p.Data, &p.SentBy, &received)
	if err != nil {
		return thwart.Picture{}, s.orNotFound("picture", err)
	}
	p.ReceivedAt = fromMS(received)
	if h := sha256.Sum256(p.Data); hex.EncodeToString(h[:]) != p.SHA256 {
		return thwart.Picture{}, fmt.Errorf("picture %s: %w: its bytes were changed", p.SHA256, thwart.ErrStorage)
	}
	return p, nil
}

// PictureHashes lists hashes in order.
func (s *Store) PictureHashes(ctx context.Context, after string, limit int) ([]string, error) {
	limit, err := limitOf(limit)
	if err != nil {
		return nil, err
	}
	return list(ctx, s, "pictures", "SELECT sha256 FROM pictures WHERE sha256 > $1 ORDER BY sha256 LIMIT "+strconv.Itoa(limit),
		func(rows scanner) (h string, err error) { err = rows.Scan(&h); return h, err }, after)
}

// checkPictures holds every picture against its hash.
func (c *checker) checkPictures(ctx context.Context) error {
	rows, err := c.w.query(ctx, "SELECT sha256, bytes, data FROM pictures ORDER BY sha256")
	if err != nil {
		return err
	}
	return eachRow(rows, func(rows *sql.Rows) error {
		var hash string
		var size int64
		var data []byte
		if err := rows.Scan(&hash, &size, &data); err != nil {
			return err
		}
		if h := sha256.Sum256(data); hex.EncodeToString(h[:]) != hash || size != int64(len(data)) {
			c.fault("picture %s: its bytes do not have their hash", hash)
		}
		return nil
	})
}
