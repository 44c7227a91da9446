package thwart

import (
	"math"
	"strings"

	"thwart/form"
)

var (
	hexDigits = form.Chars("0-9a-f")
	letters   = form.Chars("A-Za-z")
	capitals  = form.Chars("A-Z")
	alnum     = form.Chars("A-Za-z0-9")
	zoneChars = form.Chars("A-Za-z0-9_+-")
	dialChars = form.Chars("0-9 ()./-")
)

// isUUID7 is the canonical form of RFC 9562 with version 7 and its variant.
func isUUID7(s string) bool {
	const pattern = "xxxxxxxx-xxxx-7xxx-vxxx-xxxxxxxxxxxx"
	if len(s) != len(pattern) {
		return false
	}
	for i := range len(pattern) {
		ok := s[i] == pattern[i]
		switch pattern[i] {
		case 'x':
			ok = hexDigits.Has(s[i])
		case 'v':
			ok = strings.IndexByte("89ab", s[i]) >= 0
		}
		if !ok {
			return false
		}
	}
	return true
}

// isZone has the form of a name of the IANA time zone database, such as America/Chicago.
func isZone(s string) bool {
	rest := func(p string) bool { return zoneChars.All(p, 1, math.MaxInt) }
	return form.Parts(s, "/", 3, func(p string) bool { return rest(p) && letters.Has(p[0]) }, rest)
}

// isLanguage has the form of a language tag (RFC 5646), such as en or fr-CA.
func isLanguage(s string) bool {
	return form.Parts(s, "-", math.MaxInt, func(p string) bool { return form.Chars("a-z").All(p, 2, 3) },
		func(p string) bool { return alnum.All(p, 2, 8) })
}

func isCurrency(s string) bool { return capitals.All(s, 3, 3) }

func isPhone(s string) bool {
	s = strings.TrimPrefix(s, "+")
	return dialChars.All(s, 3, 31) && form.Chars("0-9").Has(s[0])
}

// isProtocolRef is id@version, neither with a blank.
func isProtocolRef(s string) bool {
	id, version, ok := strings.Cut(s, "@")
	part := func(p string) bool {
		n := len([]rune(p))
		return n >= 1 && n <= 100 && !strings.ContainsAny(p, "@ \t\n\r\f")
	}
	return ok && part(id) && part(version)
}
