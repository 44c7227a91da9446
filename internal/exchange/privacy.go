package exchange

import (
	"bytes"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"image/jpeg"
	"strings"
	"unicode"

	"thwart"
)

// Limits of a picture. A picture for the record has a long edge of 1600 pixels; these leave room for one taken elsewhere.
const (
	MaxPictureBytes  = 16 << 20
	MaxPicturePixels = 32_000_000
)

// PictureError says why a picture cannot be taken.
type PictureError struct{ What string }

// Error gives the message a person acts on.
func (e *PictureError) Error() string {
	return fmt.Sprintf("the picture %s; accepted: JPEG (ITU-T T.81) of at most %d MB and %d million pixels",
		e.What, MaxPictureBytes>>20, MaxPicturePixels/1_000_000)
}

// Scrub takes everything out of a JPEG that is not needed to draw it: positions, times, owner and device (Exif and XMP,
// APP1), caption and contact data (IPTC, APP13), colour profiles and second pictures (APP2), all other application segments,
// comments, small previews, and whatever follows the end of the picture. What stays is the JFIF header and Adobe's colour
// transform mark, which decide how pixels are read. The pixels are not touched, so nothing is lost; a picture that relied on
// Exif to be turned upright must be turned before. Scrubbing a scrubbed picture changes nothing.
//
// The size is read from the headers and held against [MaxPicturePixels] before anything is decoded; nothing is decoded here.
func Scrub(picture []byte) ([]byte, error) {
	if len(picture) > MaxPictureBytes {
		return nil, &PictureError{fmt.Sprintf("is %d bytes", len(picture))}
	}
	if !bytes.HasPrefix(picture, []byte{0xFF, 0xD8}) {
		return nil, &PictureError{"is not a JPEG"}
	}
	const (
		app0, app14, app15, comment = 0xE0, 0xEE, 0xEF, 0xFE
		scan, end                   = 0xDA, 0xD9
	)
	out := make([]byte, 0, len(picture))
	out = append(out, 0xFF, 0xD8)
	scans := 0
	for i := 2; ; {
		if i+2 > len(picture) || picture[i] != 0xFF {
			return nil, &PictureError{fmt.Sprintf("is damaged at byte %d", i)}
		}
		kind := picture[i+1]
		switch {
		case kind == 0xFF: // fill
			i++
			continue
		case kind == end:
			if scans == 0 {
				return nil, &PictureError{"has no pixels"}
			}
			out = append(out, 0xFF, end)
			return out, checkPicture(out)
		case kind == 0x00 || kind == 0x01 || kind == 0xD8 || kind >= 0xD0 && kind <= 0xD7:
			return nil, &PictureError{fmt.Sprintf("is damaged at byte %d", i)}
		}
		if i+4 > len(picture) {
			return nil, &PictureError{"is cut off"}
		}
		n := int(binary.BigEndian.Uint16(picture[i+2:]))
		if n < 2 || i+2+n > len(picture) {
			return nil, &PictureError{"is cut off"}
		}
		segment := picture[i : i+2+n]
		i += 2 + n
		body := segment[4:]
		switch {
		case kind == app0 && bytes.HasPrefix(body, []byte("JFIF\x00")) && len(body) >= 14:
			// 14 bytes, the last two the size of a preview; the preview itself is left behind.
			out = append(out, 0xFF, app0, 0, 16)
			out = append(out, body[:12]...)
			out = append(out, 0, 0)
		case kind == app14 && bytes.HasPrefix(body, []byte("Adobe")) && len(body) >= 12:
			out = append(out, 0xFF, app14, 0, 14)
			out = append(out, body[:12]...)
		case kind >= app0 && kind <= app15 || kind == comment:
		default:
			out = append(out, segment...)
		}
		if kind != scan {
			continue
		}
		scans++
		for { // pixels, up to the next marker that is neither a stuffed FF nor a restart
			k := bytes.IndexByte(picture[i:], 0xFF)
			if k < 0 || i+k+1 >= len(picture) {
				return nil, &PictureError{"is cut off"}
			}
			next := picture[i+k+1]
			if next == 0x00 || next >= 0xD0 && next <= 0xD7 {
				out = append(out, picture[i:i+k+2]...)
				i += k + 2
				continue
			}
			out = append(out, picture[i:i+k]...)
			i += k
			break
		}
	}
}

func checkPicture(picture []byte) error {
	c, err := jpeg.DecodeConfig(bytes.NewReader(picture))
	if err != nil {
		return &PictureError{"cannot be read (" + err.Error() + ")"}
	}
	if c.Width < 1 || c.Height < 1 || int64(c.Width)*int64(c.Height) > MaxPicturePixels {
		return &PictureError{fmt.Sprintf("is %d by %d pixels", c.Width, c.Height)}
	}
	return nil
}

// MinKeyBytes is the shortest key that registrations are hashed with; a shorter one could be guessed.
const MinKeyBytes = 16

// MarkOf gives what may be kept of a registration: HMAC-SHA-256 (RFC 2104) of it under the programme's key, cut to 32
// hexadecimal digits, and the letters at its start, at most two, which say who issued it. Case, blanks, dashes and other
// marks between letters and digits do not matter. A registration without a letter or digit has no mark, and nothing has one
// under a key shorter than [MinKeyBytes]: the zero Mark.
//
// The hash recognises a craft met again under the same key. Without the key it does not give the registration back; with it,
// every registration can be tried, so the key is guarded like the registrations.
func MarkOf(registration string, key []byte) thwart.Mark {
	plain := strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return unicode.ToUpper(r)
		}
		return -1
	}, registration)
	if plain == "" || len(key) < MinKeyBytes {
		return thwart.Mark{}
	}
	h := hmac.New(sha256.New, key)
	h.Write([]byte(plain))
	n := 0
	for n < 2 && n < len(plain) && plain[n] >= 'A' && plain[n] <= 'Z' {
		n++
	}
	return thwart.Mark{Hash: hex.EncodeToString(h.Sum(nil))[:32], Prefix: plain[:n]}
}
