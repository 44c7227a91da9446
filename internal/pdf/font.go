package pdf

import (
	"embed"
	"strings"
	"sync"
)

//go:embed fonts/*.ttf
var fontFiles embed.FS

// Font is one of the fonts that are embedded.
type Font string

// Fonts. Sans is for headings and labels, Serif for running text and columns of numbers (its figures are of one width), Mono
// for codes and numbers that are watched.
const (
	Sans        Font = "AtkinsonHyperlegible-Regular"
	SansBold    Font = "AtkinsonHyperlegible-Bold"
	Mono        Font = "B612Mono-Regular"
	MonoBold    Font = "B612Mono-Bold"
	Serif       Font = "ThwartSerif-Regular"
	SerifItalic Font = "ThwartSerif-Italic"
	SerifBold   Font = "ThwartSerif-Bold"
)

// Fonts lists them.
var Fonts = []Font{Sans, SansBold, Mono, MonoBold, Serif, SerifItalic, SerifBold}

type loadedFont struct {
	bytes []byte
	*metrics
}

var loadedFonts = sync.OnceValue(func() map[Font]loadedFont {
	out := map[Font]loadedFont{}
	for _, f := range Fonts {
		b, err := fontFiles.ReadFile("fonts/" + string(f) + ".ttf")
		if err != nil {
			panic(err) // they are part of the program
		}
		m, err := readMetrics(b)
		if err != nil {
			panic(err)
		}
		out[f] = loadedFont{b, m}
	}
	return out
})

// fallback is the font that has what another lacks.
func fallback(f Font) Font {
	switch f {
	case SansBold, MonoBold, SerifBold:
		return SerifBold
	}
	return Serif
}

// mmPerPt is the length of a point: 1/72 inch.
const mmPerPt = 25.4 / 72

// run is a piece of text in one font.
type run struct {
	font Font
	text string
}

// runs splits a text where a font lacks a character. What no font has becomes a question mark.
func runs(f Font, text string) []run {
	fonts := loadedFonts()
	var out []run
	add := func(font Font, r rune) {
		if n := len(out); n > 0 && out[n-1].font == font {
			out[n-1].text += string(r)
			return
		}
		out = append(out, run{font, string(r)})
	}
	for _, r := range text {
		other := fallback(f)
		switch {
		case has(fonts[f], r):
			add(f, r)
		case has(fonts[other], r):
			add(other, r)
		default:
			add(f, '?')
		}
	}
	return out
}

func has(f loadedFont, r rune) bool {
	_, ok := f.advance[r]
	return ok
}

// Width gives the width of a text in millimetres.
func Width(f Font, sizePt float64, text string) float64 {
	fonts := loadedFonts()
	font := fonts[f]
	var w float64
	for _, r := range text {
		if a, ok := font.advance[r]; ok {
			w += a / font.perEm
			continue
		}
		other := fonts[fallback(f)]
		if a, ok := other.advance[r]; ok {
			w += a / other.perEm
			continue
		}
		w += font.advance['?'] / font.perEm
	}
	return w * sizePt * mmPerPt
}

// CapHeight gives the height of capital letters in millimetres.
func CapHeight(f Font, sizePt float64) float64 { return loadedFonts()[f].ascent * sizePt * mmPerPt }

// breaks reports where a line may be broken: at blanks, but not at those that hold a number to its unit.
func breaks(r rune) bool { return r == ' ' || r == '\t' }

// Wrap breaks a text into lines that are at most width millimetres wide. Line breaks in the text stay. A word wider than a line
// is broken.
func Wrap(f Font, sizePt, width float64, text string) []string {
	var out []string
	for _, paragraph := range strings.Split(text, "\n") {
		line := ""
		for _, word := range strings.FieldsFunc(paragraph, breaks) {
			for Width(f, sizePt, word) > width {
				n := 1
				letters := []rune(word)
				for n < len(letters)-1 && Width(f, sizePt, string(letters[:n+1])) <= width {
					n++
				}
				if line != "" {
					out = append(out, line)
					line = ""
				}
				out = append(out, string(letters[:n]))
				if word = string(letters[n:]); len(letters) == n {
					break
				}
			}
			switch {
			case line == "":
				line = word
			case Width(f, sizePt, line+" "+word) <= width:
				line += " " + word
			default:
				out = append(out, line)
				line = word
			}
		}
		out = append(out, line)
	}
	return out
}
