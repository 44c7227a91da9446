package exchange

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"image/jpeg"
	"image/png"
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
	return fmt.Sprintf("the picture %s; accepted: JPEG (ITU-T T.81), PNG (ISO/IEC 15948) or a still WebP (RFC 9649) of at most %d MB and %d million pixels",
		e.What, MaxPictureBytes>>20, MaxPicturePixels/1_000_000)
}

// Scrub takes everything out of a picture that is not needed to draw it: positions, times, owner and device (Exif, XMP),
// captions and contact data, colour profiles, second pictures and previews, comments, and whatever follows the end. kind is the media type,
// read off the bytes and not off a name. The pixels are not touched, so nothing is lost. Which way up a JPEG or WebP is to be
// shown is all that stays of its Exif data. Scrubbing a scrubbed picture changes nothing.
//
// The size is read from the headers and held against [MaxPicturePixels] before anything is decoded; nothing is decoded here.
func Scrub(picture []byte) (clean []byte, kind string, err error) {
	switch {
	case len(picture) > MaxPictureBytes:
		return nil, "", &PictureError{fmt.Sprintf("is %d bytes", len(picture))}
	case bytes.HasPrefix(picture, []byte{0xFF, 0xD8}):
		clean, err = scrubJPEG(picture)
		return clean, "image/jpeg", err
	case bytes.HasPrefix(picture, []byte(pngSignature)):
		clean, err = scrubPNG(picture)
		return clean, "image/png", err
	case len(picture) >= 12 && string(picture[:4]) == "RIFF" && string(picture[8:12]) == "WEBP":
		clean, err = scrubWebP(picture)
		return clean, "image/webp", err
	}
	return nil, "", &PictureError{"is of another kind"}
}

func checkSize(w, h int) error {
	if w < 1 || h < 1 || int64(w)*int64(h) > MaxPicturePixels {
		return &PictureError{fmt.Sprintf("is %d by %d pixels", w, h)}
	}
	return nil
}

// Exif orientation: tag 0x0112 of the first directory of a TIFF block (CIPA DC-008-2023, 4.6.4). 1 is upright.
const orientationTag = 0x0112

// orientationOf reads which way up a picture is to be shown off a TIFF block; 1 where it is not said.
func orientationOf(tiff []byte) byte {
	var order binary.ByteOrder
	switch {
	case bytes.HasPrefix(tiff, []byte("MM\x00*")):
		order = binary.BigEndian
	case bytes.HasPrefix(tiff, []byte("II*\x00")):
		order = binary.LittleEndian
	default:
		return 1
	}
	if len(tiff) < 8 {
		return 1
	}
	at := int64(order.Uint32(tiff[4:]))
	if at+2 > int64(len(tiff)) {
		return 1
	}
	n := int64(order.Uint16(tiff[at:]))
	for i := range n {
		e := at + 2 + 12*i
		if e+12 > int64(len(tiff)) {
			break
		}
		const short = 3
		if order.Uint16(tiff[e:]) == orientationTag && order.Uint16(tiff[e+2:]) == short {
			if o := order.Uint16(tiff[e+8:]); o >= 1 && o <= 8 {
				return byte(o)
			}
		}
	}
	return 1
}

// tiffOf writes the smallest TIFF block that says which way up a picture is to be shown.
func tiffOf(orientation byte) []byte {
	return []byte{'M', 'M', 0, '*', 0, 0, 0, 8, 0, 1, 0x01, 0x12, 0, 3, 0, 0, 0, 1, 0, orientation, 0, 0, 0, 0, 0, 0}
}

const exifHead = "Exif\x00\x00"

// scrubJPEG keeps the JFIF header and Adobe's colour transform mark, which decide how pixels are read, and no other
// application segment (APP1 Exif and XMP, APP2 profiles and second pictures, APP13 captions, …) and no comment.
func scrubJPEG(picture []byte) ([]byte, error) {
	const (
		app0, app1, app14, app15, comment = 0xE0, 0xE1, 0xEE, 0xEF, 0xFE
		scan, end                         = 0xDA, 0xD9
	)
	out := make([]byte, 0, len(picture))
	out = append(out, 0xFF, 0xD8)
	scans := 0
	turned := false
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
			return out, checkJPEG(out)
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
		case kind == app1 && bytes.HasPrefix(body, []byte(exifHead)) && !turned && scans == 0:
			if o := orientationOf(body[len(exifHead):]); o != 1 {
				exif := append([]byte(exifHead), tiffOf(o)...)
				out = append(out, 0xFF, app1, 0, byte(len(exif)+2))
				out = append(out, exif...)
				turned = true
			}
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

func checkJPEG(picture []byte) error {
	c, err := jpeg.DecodeConfig(bytes.NewReader(picture))
	if err != nil {
		return &PictureError{"cannot be read (" + err.Error() + ")"}
	}
	return checkSize(c.Width, c.Height)
}

const pngSignature = "\x89PNG\r\n\x1a\n"

// pngKept are the chunks of a PNG that decide how its pixels are drawn.
var pngKept = map[string]bool{
	"IHDR": true, "PLTE": true, "IDAT": true, "IEND": true, "tRNS": true, "gAMA": true, "cHRM": true, "sRGB": true, "sBIT": true,
}

func scrubPNG(picture []byte) ([]byte, error) {
	out := append(make([]byte, 0, len(picture)), pngSignature...)
	pixels := false
	for i := len(pngSignature); ; {
		if i+12 > len(picture) {
			return nil, &PictureError{"is cut off"}
		}
		n := int64(binary.BigEndian.Uint32(picture[i:]))
		if n > int64(len(picture)-i-12) {
			return nil, &PictureError{"is cut off"}
		}
		chunk := picture[i : i+12+int(n)]
		i += len(chunk)
		name := string(chunk[4:8])
		if crc32.ChecksumIEEE(chunk[4:8+n]) != binary.BigEndian.Uint32(chunk[8+n:]) {
			return nil, &PictureError{fmt.Sprintf("is damaged before byte %d", i)}
		}
		critical := name[0] >= 'A' && name[0] <= 'Z'
		switch {
		case pngKept[name]:
			out = append(out, chunk...)
		case critical:
			return nil, &PictureError{"has a part that is not known"}
		}
		pixels = pixels || name == "IDAT"
		if name != "IEND" {
			continue
		}
		if !pixels {
			return nil, &PictureError{"has no pixels"}
		}
		c, err := png.DecodeConfig(bytes.NewReader(out))
		if err != nil {
			return nil, &PictureError{"cannot be read (" + err.Error() + ")"}
		}
		return out, checkSize(c.Width, c.Height)
	}
}

// Flags of the first byte of a VP8X chunk (RFC 9649, section 2.7).
const (
	webpExif  = 1 << 3
	webpAlpha = 1 << 4
)

// scrubWebP keeps the pixels (VP8, VP8L), the transparency (ALPH) and the frame round them (VP8X), of a still picture.
func scrubWebP(picture []byte) ([]byte, error) {
	size := int64(binary.LittleEndian.Uint32(picture[4:])) + 8
	if size > int64(len(picture)) {
		return nil, &PictureError{"is cut off"}
	}
	var frame, alpha, pixels []byte // chunks, padded
	turn := byte(1)
	for i := int64(12); i+8 <= size; {
		n := int64(binary.LittleEndian.Uint32(picture[i+4:]))
		next := i + 8 + n + n&1
		if i+8+n > size {
			return nil, &PictureError{"is cut off"}
		}
		body := picture[i+8 : i+8+n]
		chunk := append(bytes.Clone(picture[i:i+8]), body...)
		if n&1 == 1 {
			chunk = append(chunk, 0)
		}
		switch name := string(picture[i : i+4]); {
		case name == "VP8X" && frame == nil && n == 10:
			frame = chunk
		case name == "ALPH" && alpha == nil && pixels == nil:
			alpha = chunk
		case (name == "VP8 " || name == "VP8L") && pixels == nil:
			pixels = chunk
		case name == "EXIF":
			turn = orientationOf(bytes.TrimPrefix(body, []byte(exifHead)))
		case name == "ANIM" || name == "ANMF":
			return nil, &PictureError{"moves"}
		}
		i = next
	}
	if pixels == nil {
		return nil, &PictureError{"has no pixels"}
	}
	w, h, err := sizeOfWebP(pixels)
	if err != nil {
		return nil, err
	}
	if err := checkSize(w, h); err != nil {
		return nil, err
	}
	if frame == nil && turn != 1 { // a frame is needed to say that there is Exif
		frame = append([]byte("VP8X\x0a\x00\x00\x00"), make([]byte, 10)...)
	}
	body := []byte("WEBP")
	if frame != nil {
		flags := frame[8] & webpAlpha
		if alpha == nil && string(pixels[:4]) == "VP8 " {
			flags = 0
		}
		if turn != 1 {
			flags |= webpExif
		}
		frame = append(frame[:8], flags, 0, 0, 0)
		for _, side := range []int{w - 1, h - 1} {
			frame = append(frame, byte(side), byte(side>>8), byte(side>>16))
		}
		body = append(body, frame...)
		body = append(body, alpha...)
	}
	body = append(body, pixels...)
	if turn != 1 {
		tiff := tiffOf(turn)
		body = append(body, 'E', 'X', 'I', 'F', byte(len(tiff)), 0, 0, 0)
		body = append(body, tiff...)
	}
	out := append([]byte("RIFF"), 0, 0, 0, 0)
	binary.LittleEndian.PutUint32(out[4:], uint32(len(body)))
	return append(out, body...), nil
}

// sizeOfWebP reads the size off the header of the pixels: a key frame of VP8 (RFC 6386, section 9.1) or VP8L (RFC 9649,
// section 3.4).
func sizeOfWebP(chunk []byte) (w, h int, err error) {
	b := chunk[8:]
	switch {
	case string(chunk[:4]) == "VP8 " && len(b) >= 10 && b[0]&1 == 0 && bytes.Equal(b[3:6], []byte{0x9d, 0x01, 0x2a}):
		return int(binary.LittleEndian.Uint16(b[6:])) & 0x3fff, int(binary.LittleEndian.Uint16(b[8:])) & 0x3fff, nil
	case string(chunk[:4]) == "VP8L" && len(b) >= 5 && b[0] == 0x2f:
		n := binary.LittleEndian.Uint32(b[1:])
		return int(n&0x3fff) + 1, int(n>>14&0x3fff) + 1, nil
	}
	return 0, 0, &PictureError{"has pixels that cannot be read"}
}
