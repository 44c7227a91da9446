package thwart

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/hex"
	"strings"
	"unicode"
)

// MinKeyBytes is the shortest key that registrations are hashed with; a shorter one could be guessed.
const MinKeyBytes = 16

// MarkOf gives what may be kept of a registration: HMAC-SHA-256 (RFC 2104) of it under the programme's key, cut to 32
// hexadecimal digits, and the letters at its start, at most two, which say who issued it. Case, blanks, dashes and other
// marks between letters and digits do not matter. A registration without a letter or digit has no mark, and nothing has one
// under a key shorter than [MinKeyBytes]: the zero Mark.
//
// The hash recognises a craft met again under the same key. Without the key it does not give the registration back; with it,
// every registration can be tried, so the key is guarded like the registrations.
func MarkOf(registration string, key []byte) Mark {
	plain := strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return unicode.ToUpper(r)
		}
		return -1
	}, registration)
	if plain == "" || len(key) < MinKeyBytes {
		return Mark{}
	}
	h := hmac.New(sha256.New, key)
	h.Write([]byte(plain))
	n := 0
	for n < 2 && n < len(plain) && plain[n] >= 'A' && plain[n] <= 'Z' {
		n++
	}
	return Mark{Hash: hex.EncodeToString(h.Sum(nil))[:32], Prefix: plain[:n]}
}
