package names

import (
	"strings"
	"unicode"
)

// split cuts a text into plain words: small letters without accents, digits, nothing else. St and Mt are written out.
func split(text string) []string {
	var b strings.Builder
	for _, r := range strings.ToLower(text) {
		switch plain, ok := plainLetters[r]; {
		case ok:
			b.WriteString(plain)
		case unicode.Is(unicode.Mn, r) || r == '\'' || r == '’' || r == '.':
			// an accent on its own, or a mark inside a word
		case unicode.IsLetter(r) || unicode.IsDigit(r):
			b.WriteRune(r)
		default:
			b.WriteByte(' ')
		}
	}
	words := strings.Fields(b.String())
	for i, w := range words {
		if long, ok := short[w]; ok {
			words[i] = long
		}
	}
	return words
}

var short = map[string]string{"st": "saint", "ste": "sainte", "mt": "mount", "ft": "fort", "no": "north", "lk": "lake", "res": "reservoir"}

// plainLetters are the accented letters of Latin scripts that names of waters are written in.
var plainLetters = func() map[rune]string {
	m := map[rune]string{'ß': "ss", 'æ': "ae", 'œ': "oe", 'ø': "o", 'ł': "l", 'đ': "d", 'ð': "d", 'þ': "th"}
	for plain, accented := range map[string]string{
		"a": "àáâãäåāăą", "c": "çćĉċč", "d": "ďđ", "e": "èéêëēĕėęě", "g": "ĝğġģ", "h": "ĥħ", "i": "ìíîïĩīĭįı", "j": "ĵ", "k": "ķ",
		"l": "ĺļľŀ", "n": "ñńņňŉ", "o": "òóôõöōŏő", "r": "ŕŗř", "s": "śŝşšș", "t": "ţťŧț", "u": "ùúûüũūŭůűų", "w": "ŵ", "y": "ýÿŷ", "z": "źżž",
	} {
		for _, r := range accented {
			m[r] = plain
		}
	}
	return m
}()

// distance holds the rows of the table of edit distances, so that comparing many words allocates nothing.
type distance struct {
	a, b             []rune
	rows             [3][]int
	lastA            string
	closest, atWhole int
}

// slips is how many slips a word of so many letters may hold and still be meant.
func slips(letters int) int {
	switch {
	case letters < 4:
		return 0
	case letters < 7:
		return 1
	case letters < 11:
		return 2
	}
	return 3
}

// like is how alike a typed word and a word of a name are, 0 to 1; 0 = not meant. A typed word may be the beginning of the
// name's word.
func (d *distance) like(typed, word string) float64 {
	switch {
	case typed == word:
		return 1
	case strings.HasPrefix(word, typed):
		return 0.9 + 0.08*float64(len(typed))/float64(len(word))
	}
	if typed != d.lastA {
		d.lastA, d.a = typed, append(d.a[:0], []rune(typed)...)
	}
	most := slips(len(d.a))
	if most == 0 || len(word) < len(typed)-2*most || (typed[0] != word[0] && most < 2) {
		return 0
	}
	d.b = d.b[:0]
	for _, r := range word {
		d.b = append(d.b, r)
	}
	d.measure(most)
	best := 0.0
	if d.atWhole <= most {
		best = 0.88 - 0.1*float64(d.atWhole)
	}
	if d.closest <= min(most, max(len(d.a)/4, 1)) {
		best = max(best, 0.82-0.12*float64(d.closest))
	}
	return best
}

// measure fills the table of the restricted Damerau–Levenshtein distance (one letter left out, put in or wrong, or two
// neighbours exchanged, each counted once; Damerau 1964). atWhole is the distance of the whole words, closest that of the
// typed word from the nearest beginning of the other; both are cut off above most.
func (d *distance) measure(most int) {
	n, m := len(d.a), min(len(d.b), len(d.a)+most)
	for i := range d.rows {
		if cap(d.rows[i]) < m+1 {
			d.rows[i] = make([]int, m+1, 2*m+8)
		}
		d.rows[i] = d.rows[i][:m+1]
	}
	before, last, row := d.rows[0], d.rows[1], d.rows[2]
	for k := range last {
		last[k] = k
	}
	for i := 1; i <= n; i++ {
		row[0] = i
		low := i
		for k := 1; k <= m; k++ {
			cost := 1
			if d.a[i-1] == d.b[k-1] {
				cost = 0
			}
			v := min(last[k]+1, row[k-1]+1, last[k-1]+cost)
			if i > 1 && k > 1 && d.a[i-1] == d.b[k-2] && d.a[i-2] == d.b[k-1] {
				v = min(v, before[k-2]+1)
			}
			row[k] = v
			low = min(low, v)
		}
		if low > most {
			d.atWhole, d.closest = most+1, most+1
			return
		}
		before, last, row = last, row, before
	}
	d.atWhole, d.closest = last[m], last[0]
	if m < len(d.b) {
		d.atWhole = most + 1
	}
	for _, v := range last {
		d.closest = min(d.closest, v)
	}
}
