package api

import (
	"crypto/rand"
	"time"

	"thwart"
)

// NewID makes a UUID version 7 whose rest is random. Ids made later sort later, which keeps the indexes of the store growing
// at one end.
func NewID(now time.Time) string {
	var rest [10]byte
	rand.Read(rest[:]) // never fails (Go 1.24 on)
	return thwart.MakeID(now, rest)
}
