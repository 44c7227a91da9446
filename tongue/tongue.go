// Package tongue lets the engine's sentences be said in another language.
//
// A sentence stands in the code in English, with a name in braces where a value goes: it is its own key and what is said where no
// translation is known. [Say] looks it up in the [Book] of the language in use and fills it in:
//
//	tongue.Say("{place}: at most {limit}.", name, limit)
//
// Values are given in the order in which the English names them first; a translation names them in its own order. Words that stand in
// tables are of type [Text], so that the list of all messages can be made from the types of the source. Words of the data library are
// said by [Data].
//
// The book is the process's: a phone sets it when it starts or another language is chosen, a server and a command line have none and
// speak English. Nothing here knows a language.
package tongue

import (
	"slices"
	"strconv"
	"strings"
	"sync/atomic"
	"unicode"
	"unicode/utf8"
)

// Text is a message in English. Every constant of this type is one for the translator.
//
// {name} is filled in. {name, plural, =0 {…} one {…} other {…}} chooses by a number, with # for the number, as in the messages of the
// screens; a translation may do so where the English does not. An English choice names no value that was not named before it.
type Text string

// Error is a message of a fault, said when it is read.
type Error Text

// Error says it.
func (e Error) Error() string { return Say(Text(e)) }

// Book is what is needed to speak one language. The zero book speaks English.
type Book struct {
	Words   map[string]string `json:"words"`             // what is said in place of each English text; one that is missing is said in English
	Decimal string            `json:"decimal,omitempty"` // between units and tenths; empty = a point
	// Whole is which form counted things take for 0 to 199: zero, one, two, few, many or other. Beyond, the last two digits decide, as
	// they do in all rules of Unicode CLDR but those for millions. Broken is the same for a number between each of these and the next.
	Whole  []string `json:"whole,omitempty"`
	Broken []string `json:"broken,omitempty"`
}

var book *Book

// Use sets the language of the process; nil speaks English. It must not be called while anything else speaks.
func Use(b *Book) { book = b }

type remembered[T any] struct {
	in    *Book
	words T
}

// Once gives a function that works words out at its first call and remembers them until another language is spoken. It may be called
// from anywhere; calls that meet work the same out twice.
func Once[T any](f func() T) func() T {
	var kept atomic.Pointer[remembered[T]]
	return func() T {
		if k := kept.Load(); k != nil && k.in == book {
			return k.words
		}
		k := &remembered[T]{book, f()}
		kept.Store(k)
		return k.words
	}
}

// Say says a text with its values filled in, in the language in use.
func Say(t Text, values ...string) string {
	said := Data(string(t))
	if len(values) == 0 {
		return said
	}
	f := filler{values: values}
	if said != string(t) { // a translation takes the values by the names that the English gives them
		f.write(string(t), "")
		f.out, f.named = nil, true
	}
	f.write(said, "")
	return string(f.out)
}

// Data says a text of the data library, which has nothing to fill in. One that is not in the book is said as it stands.
func Data(s string) string {
	if book != nil {
		if w := book.Words[s]; w != "" {
			return w
		}
	}
	return s
}

// filler fills in one message.
type filler struct {
	names, values []string
	named         bool // all names are known
	out           []byte
}

func (f *filler) value(name string) string {
	i := slices.Index(f.names, name)
	if i < 0 && !f.named {
		i = len(f.names)
		f.names = append(f.names, name)
	}
	if i < 0 || i >= len(f.values) {
		return "{" + name + "}"
	}
	return f.values[i]
}

// write adds a message up to its end or the brace that closes it, and gives what is behind that.
func (f *filler) write(s, number string) string {
	for {
		i := strings.IndexAny(s, "{}#")
		if i < 0 {
			f.out = append(f.out, s...)
			return ""
		}
		f.out = append(f.out, s[:i]...)
		c := s[i]
		s = s[i+1:]
		switch {
		case c == '}':
			return s
		case c == '{':
			s = f.hole(s)
		case number != "":
			f.out = append(f.out, number...)
		default:
			f.out = append(f.out, c)
		}
	}
}

// hole fills in what begins behind an opening brace.
func (f *filler) hole(s string) string {
	i := strings.IndexAny(s, ",}")
	if i < 0 {
		f.out = append(append(f.out, '{'), s...)
		return ""
	}
	v := f.value(strings.TrimSpace(s[:i]))
	if s[i] == '}' {
		f.out = append(f.out, v...)
		return s[i+1:]
	}
	_, s, _ = strings.Cut(s[i+1:], ",") // behind the word plural
	best, rank := "", 0
	for {
		s = strings.TrimLeft(s, " \n")
		i := strings.IndexAny(s, "{}")
		if i < 0 {
			s = ""
			break
		}
		if s[i] == '}' {
			s = s[i+1:]
			break
		}
		label, form := strings.TrimSpace(s[:i]), s[i+1:]
		s = form[closing(form):]
		if r := fits(label, v); r > rank {
			best, rank = form, r
		}
	}
	f.write(best, v)
	return s
}

// closing gives the place behind the brace that closes a form.
func closing(s string) int {
	depth := 1
	for i := range len(s) {
		switch s[i] {
		case '{':
			depth++
		case '}':
			if depth--; depth == 0 {
				return i + 1
			}
		}
	}
	return len(s)
}

// fits tells how well a form's label fits a number: its own value before its form before any other.
func fits(label, number string) int {
	switch label {
	case "=" + number:
		return 3
	case form(number):
		return 2
	case "other":
		return 1
	}
	return 0
}

// form gives the form that things take after a number as it is written.
func form(number string) string {
	i := 0
	for i < len(number) && number[i] >= '0' && number[i] <= '9' {
		i++
	}
	n, err := strconv.Atoi(number[:i])
	if err != nil {
		return "other"
	}
	if book == nil || len(book.Whole) == 0 {
		if number == "1" {
			return "one"
		}
		return "other"
	}
	forms := book.Whole
	if i < len(number) {
		forms = book.Broken
	}
	if n >= 200 {
		n = 100 + n%100
	}
	if n >= len(forms) {
		return "other"
	}
	return forms[n]
}

// Int writes a whole number.
func Int(n int) string { return strconv.Itoa(n) }

// Num writes a number by a verb and precision of strconv.FormatFloat, with the language's decimal mark.
func Num(v float64, verb byte, precision int) string {
	return Decimal(strconv.FormatFloat(v, verb, precision, 64))
}

// Short writes a number with as many digits as it has.
func Short(v float64) string { return Num(v, 'g', -1) }

// Decimal gives a written number the language's decimal mark.
func Decimal(s string) string {
	if book == nil || book.Decimal == "" {
		return s
	}
	return strings.Replace(s, ".", book.Decimal, 1)
}

// Or joins alternatives: a or b or c.
func Or(words []string) string {
	if len(words) == 0 {
		return ""
	}
	all := words[0]
	for _, w := range words[1:] {
		all = Say("{these} or {that}", all, w)
	}
	return all
}

// And joins what holds together: a, b and c.
func And(words []string) string {
	n := len(words)
	if n < 2 {
		return strings.Join(words, "")
	}
	return Say("{these} and {that}", strings.Join(words[:n-1], ", "), words[n-1])
}

// Capital begins a text with a capital letter.
func Capital(s string) string { return first(s, unicode.ToUpper) }

// Small begins a text with a small letter.
func Small(s string) string { return first(s, unicode.ToLower) }

func first(s string, turn func(rune) rune) string {
	r, n := utf8.DecodeRuneInString(s)
	if r == utf8.RuneError {
		return s
	}
	return string(turn(r)) + s[n:]
}
