package pdf

import (
	"encoding/binary"
	"errors"
)

// metrics are the widths of a font's characters.
type metrics struct {
	perEm   float64
	advance map[rune]float64 // in units of the em square
	ascent  float64          // of capital letters, share of the em
}

var errFont = errors.New("pdf: a font cannot be read")

// readMetrics reads the tables head, hhea, hmtx and cmap (format 4) of a TrueType font (ISO/IEC 14496-22).
func readMetrics(b []byte) (*metrics, error) {
	table := map[string][]byte{}
	if len(b) < 12 {
		return nil, errFont
	}
	for i := range int(binary.BigEndian.Uint16(b[4:])) {
		at := 12 + 16*i
		if at+16 > len(b) {
			return nil, errFont
		}
		from, n := binary.BigEndian.Uint32(b[at+8:]), binary.BigEndian.Uint32(b[at+12:])
		if uint64(from)+uint64(n) > uint64(len(b)) {
			return nil, errFont
		}
		table[string(b[at:at+4])] = b[from : from+n]
	}
	head, hhea, hmtx := table["head"], table["hhea"], table["hmtx"]
	if len(head) < 54 || len(hhea) < 36 {
		return nil, errFont
	}
	m := &metrics{perEm: float64(binary.BigEndian.Uint16(head[18:])), advance: map[rune]float64{}}
	long := int(binary.BigEndian.Uint16(hhea[34:]))
	if long == 0 || 4*long > len(hmtx) || m.perEm == 0 {
		return nil, errFont
	}
	glyphs, err := readCmap(table["cmap"])
	if err != nil {
		return nil, err
	}
	for r, g := range glyphs {
		m.advance[r] = float64(binary.BigEndian.Uint16(hmtx[4*min(g, long-1):]))
	}
	m.ascent = 0.7
	if os2 := table["OS/2"]; len(os2) >= 90 {
		if h := binary.BigEndian.Uint16(os2[88:]); h > 0 {
			m.ascent = float64(h) / m.perEm
		}
	}
	return m, nil
}

// readCmap gives the glyph of every character of the font's basic plane.
func readCmap(b []byte) (map[rune]int, error) {
	if len(b) < 4 {
		return nil, errFont
	}
	for i := range int(binary.BigEndian.Uint16(b[2:])) {
		rec := 4 + 8*i
		if rec+8 > len(b) {
			return nil, errFont
		}
		at := int(binary.BigEndian.Uint32(b[rec+4:]))
		if at+14 > len(b) || binary.BigEndian.Uint16(b[at:]) != 4 {
			continue
		}
		t := b[at:]
		n := int(binary.BigEndian.Uint16(t[6:])) / 2
		if len(t) < 16+8*n {
			return nil, errFont
		}
		u16 := func(o int) int {
			if o+2 > len(t) {
				return 0
			}
			return int(binary.BigEndian.Uint16(t[o:]))
		}
		out := map[rune]int{}
		for s := range n {
			end, start, delta, shift := u16(14+2*s), u16(16+2*n+2*s), u16(16+4*n+2*s), u16(16+6*n+2*s)
			for c := start; c <= end && c < 0xffff; c++ {
				g := (c + delta) & 0xffff
				if shift != 0 {
					if g = u16(16 + 6*n + 2*s + shift + 2*(c-start)); g != 0 {
						g = (g + delta) & 0xffff
					}
				}
				if g != 0 {
					out[rune(c)] = g
				}
			}
		}
		return out, nil
	}
	return nil, errFont
}
