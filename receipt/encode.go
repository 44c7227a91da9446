package receipt

import (
	"errors"
	"strings"
)

// cborHead writes the head of a data item in its shortest form, as core deterministic encoding asks (RFC 8949, sections 3 and
// 4.2.1). Majors used here: 0 unsigned number, 2 bytes, 3 text, 4 array. The package writes and reads the few items a receipt is
// made of; tests hold them against RFC 8949's examples and a full implementation.
func cborHead(b []byte, major byte, n uint64) []byte {
	m := major << 5
	switch {
	case n < 24:
		return append(b, m|byte(n))
	case n < 1<<8:
		return append(b, m|24, byte(n))
	case n < 1<<16:
		return append(b, m|25, byte(n>>8), byte(n))
	case n < 1<<32:
		return append(b, m|26, byte(n>>24), byte(n>>16), byte(n>>8), byte(n))
	}
	return append(b, m|27, byte(n>>56), byte(n>>48), byte(n>>40), byte(n>>32), byte(n>>24), byte(n>>16), byte(n>>8), byte(n))
}

// cborReader reads what cborHead writes. Anything else sets bad.
type cborReader struct {
	b   []byte
	bad bool
}

func (r *cborReader) head(major byte) uint64 {
	if r.bad || len(r.b) == 0 || r.b[0]>>5 != major {
		r.bad = true
		return 0
	}
	low := r.b[0] & 31
	size := 0
	switch {
	case low < 24:
		r.b = r.b[1:]
		return uint64(low)
	case low <= 27:
		size = 1 << (low - 24)
	default:
		r.bad = true
		return 0
	}
	if len(r.b) < 1+size {
		r.bad = true
		return 0
	}
	var n uint64
	for _, c := range r.b[1 : 1+size] {
		n = n<<8 | uint64(c)
	}
	r.b = r.b[1+size:]
	return n
}

func (r *cborReader) text(major byte) string {
	n := r.head(major)
	if r.bad || n > uint64(len(r.b)) {
		r.bad = true
		return ""
	}
	s := string(r.b[:n])
	r.b = r.b[n:]
	return s
}

// alphabet of base45 (RFC 9285, table 1): the characters a QR code holds most tightly.
const alphabet = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:"

// encode45 writes bytes in base45: two bytes to three characters, a last one to two.
func encode45(b []byte) string {
	var s strings.Builder
	for len(b) > 1 {
		n := int(b[0])<<8 | int(b[1])
		s.WriteByte(alphabet[n%45])
		s.WriteByte(alphabet[n/45%45])
		s.WriteByte(alphabet[n/(45*45)])
		b = b[2:]
	}
	if len(b) == 1 {
		s.WriteByte(alphabet[b[0]%45])
		s.WriteByte(alphabet[b[0]/45])
	}
	return s.String()
}

var err45 = errors.New("not base45")

// decode45 reads what encode45 writes and refuses everything else, values out of range included, as RFC 9285 section 6 asks.
func decode45(s string) ([]byte, error) {
	if len(s)%3 == 1 {
		return nil, err45
	}
	out := make([]byte, 0, len(s)/3*2+1)
	for len(s) > 0 {
		n, weight := 0, 1
		k := min(3, len(s))
		for i := range k {
			v := strings.IndexByte(alphabet, s[i])
			if v < 0 {
				return nil, err45
			}
			n += v * weight
			weight *= 45
		}
		switch {
		case k == 3 && n <= 0xffff:
			out = append(out, byte(n>>8), byte(n))
		case k == 2 && n <= 0xff:
			out = append(out, byte(n))
		default:
			return nil, err45
		}
		s = s[k:]
	}
	return out, nil
}
