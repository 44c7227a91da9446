package thwart

import (
	"context"
	"time"
)

// Picture is the bytes behind a [Photo], under their hash.
type Picture struct {
	SHA256     string
	Type       string // image/jpeg, image/png or image/webp
	Data       []byte
	SentBy     string // device or account
	ReceivedAt time.Time
}

// Pictures keeps pictures. It is implemented by the same stores as [Store]. [Store.Purge] removes those that no photo names
// any more, and names them.
type Pictures interface {
	// PutPicture keeps a picture. When it returns without an error the picture is on the medium. One that is there already
	// stays as it is, and had is set.
	PutPicture(ctx context.Context, p Picture) (had bool, err error)
	// PictureByHash gives a picture; ErrNotFound where there is none.
	PictureByHash(ctx context.Context, sha256 string) (Picture, error)
	// PictureHashes lists the hashes of all pictures after one, in order.
	PictureHashes(ctx context.Context, after string, limit int) ([]string, error)
}
