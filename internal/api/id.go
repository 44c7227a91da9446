package api

import (
	"crypto/rand"
	"encoding/binary"
	"encoding/hex"
	"time"
)

// NewID makes a UUID version 7 (RFC 9562, section 5.7): 48 bits of Unix milliseconds, then random bits. Ids made later sort
// later, which keeps the indexes of the store growing at one end.
func NewID(now time.Time) string {
	var b [16]byte
	rand.Read(b[:]) // never fails (Go 1.24 on)
	var ms [8]byte
	binary.BigEndian.PutUint64(ms[:], uint64(now.UnixMilli()))
	copy(b[:6], ms[2:])
	b[6] = 0x70 | b[6]&0x0f
	b[8] = 0x80 | b[8]&0x3f
	h := hex.EncodeToString(b[:])
	return h[:8] + "-" + h[8:12] + "-" + h[12:16] + "-" + h[16:20] + "-" + h[20:]
}
