package exchange

import (
	"archive/zip"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"regexp"
	"strings"
	"time"

	"thwart"
)

var pictureName = regexp.MustCompile(`^` + picturesDir + `[0-9a-f]{64}$`)

func isPicture(name string) bool { return pictureName.MatchString(name) }

// writePictures adds every picture as a file. Pictures are packed already, so they are stored as they are.
func writePictures(ctx context.Context, z *zip.Writer, store Keeper, madeAt time.Time) (n int64, err error) {
	for after := ""; ; {
		hashes, err := store.PictureHashes(ctx, after, pageSize)
		if err != nil || len(hashes) == 0 {
			return n, err
		}
		for _, h := range hashes {
			p, err := store.PictureByHash(ctx, h)
			if errors.Is(err, thwart.ErrNotFound) {
				continue // purged in the meantime
			}
			if err != nil {
				return n, err
			}
			part, err := z.CreateHeader(&zip.FileHeader{Name: picturesDir + h, Method: zip.Store, Modified: madeAt.UTC()})
			if err != nil {
				return n, err
			}
			if _, err := part.Write(p.Data); err != nil {
				return n, err
			}
			n++
		}
		after = hashes[len(hashes)-1]
	}
}

// readPicture reads a picture of an archive and holds it against the hash that is its name. Its kind is read off its bytes, and
// one that would still have something taken out of it is refused: no archive of ours holds such.
func readPicture(ctx context.Context, f *zip.File) (p thwart.Picture, err error) {
	if err := ctx.Err(); err != nil {
		return p, err
	}
	if f.UncompressedSize64 > MaxPictureBytes || !f.Mode().IsRegular() {
		return p, &ArchiveError{f.Name, fmt.Sprintf("it is no picture of at most %d bytes", MaxPictureBytes)}
	}
	in, err := f.Open()
	if err != nil {
		return p, &ArchiveError{f.Name, err.Error()}
	}
	p.Data, err = io.ReadAll(io.LimitReader(in, MaxPictureBytes+1))
	if err = errors.Join(err, in.Close()); err != nil {
		return p, &ArchiveError{f.Name, err.Error()}
	}
	sum := sha256.Sum256(p.Data)
	p.SHA256, p.SentBy, p.ReceivedAt = strings.TrimPrefix(f.Name, picturesDir), "archive", f.Modified.UTC()
	if hex.EncodeToString(sum[:]) != p.SHA256 {
		return p, &ArchiveError{f.Name, "its SHA-256 is not its name: it was changed or damaged"}
	}
	clean, kind, err := Scrub(p.Data)
	if err != nil {
		return p, &ArchiveError{f.Name, err.Error()}
	}
	if len(clean) != len(p.Data) {
		return p, &ArchiveError{f.Name, "it holds more than a picture"}
	}
	p.Type = kind
	return p, nil
}
