package exchange

import (
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"time"

	"thwart"
)

// madeID makes a UUID version 7 (RFC 9562, section 5.7) out of a time and what the record is of, so that the same record
// has the same id wherever it is made. The 74 bits that are random elsewhere are of a SHA-256: among a million records made
// at one millisecond, the chance that two share an id is 3e-11.
func madeID(at time.Time, parts ...string) string {
	h := sha256.New()
	h.Write([]byte("thwart import 1"))
	for _, p := range parts {
		var n [8]byte
		binary.BigEndian.PutUint64(n[:], uint64(len(p)))
		h.Write(n[:])
		h.Write([]byte(p))
	}
	return thwart.MakeID(at, [10]byte(h.Sum(nil)))
}

// identity is what tells a craft from the others at the same launch and time.
func (rd *reader) identity(e *thwart.Encounter) []string {
	if key := plain(rd.cell(FieldKey)); key != "" {
		return []string{"key", key}
	}
	var parts []string
	for _, f := range []Field{FieldClass, FieldLength, FieldLastWater, FieldNextWater, FieldDirection, FieldOutcome, FieldSteward} {
		s := plain(rd.cell(f))
		if x, u, ok := number(rd.cell(f)); ok {
			s = fmt.Sprintf("%g %s", x, u) // 18 and 18.0 are one
		}
		parts = append(parts, string(f), s)
	}
	if e.Mark != nil {
		parts = append(parts, string(FieldRegistration), e.Mark.Hash)
	}
	return parts
}
