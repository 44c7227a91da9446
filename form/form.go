// Package form checks the form of short texts: ids, codes, hashes. It does what a small regular expression would do, without
// the program that reads regular expressions, which would be a tenth of what a phone has to load.
package form

import (
	"strings"
	"unicode/utf8"
)

// Set is a set of ASCII characters.
type Set [2]uint64

// Chars makes a set from a list in which a-z stands for a range; a dash at either end stands for itself. Only ASCII can be in
// a set; anything else in the list is passed over.
func Chars(list string) Set {
	var s Set
	for i := 0; i < len(list); i++ {
		from, to := list[i], list[i]
		if i+2 < len(list) && list[i+1] == '-' {
			to = list[i+2]
			i += 2
		}
		for c := int(from); c <= int(to) && c < 128; c++ {
			s[c/64] |= 1 << (c % 64)
		}
	}
	return s
}

// Has reports whether a character is in the set.
func (s Set) Has(c byte) bool { return c < 128 && s[c/64]>>(c%64)&1 == 1 }

// All reports whether a text is least to most characters long, all of them of the set. It is false for any text with a
// character that is not ASCII.
func (s Set) All(text string, least, most int) bool {
	if len(text) < least || len(text) > most {
		return false
	}
	for i := range len(text) {
		if !s.Has(text[i]) {
			return false
		}
	}
	return true
}

// Parts reports whether a text consists of at most `most` parts joined by sep, where first holds for the first part and
// rest for every other.
func Parts(text, sep string, most int, first, rest func(string) bool) bool {
	parts := strings.Split(text, sep)
	if len(parts) > most || !first(parts[0]) {
		return false
	}
	for _, p := range parts[1:] {
		if !rest(p) {
			return false
		}
	}
	return true
}

// Cut gives at most so many bytes of a text from its beginning and splits no letter.
func Cut(s string, most int) string {
	if len(s) <= most {
		return s
	}
	for most > 0 && !utf8.RuneStart(s[most]) {
		most--
	}
	return s[:most]
}
