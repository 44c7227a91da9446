package exchange_test

import (
	"bytes"
	"encoding/binary"
	"errors"
	"image"
	"image/color"
	"image/jpeg"
	"testing"

	"thwart/internal/exchange"
)

func picture(t testing.TB, w, h int) []byte {
	t.Helper()
	m := image.NewYCbCr(image.Rect(0, 0, w, h), image.YCbCrSubsampleRatio420)
	for i := range m.Y {
		m.Y[i] = byte(i * 7)
	}
	for i := range m.Cb {
		m.Cb[i], m.Cr[i] = color.Gray{Y: byte(i)}.Y, byte(255-i)
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, m, &jpeg.Options{Quality: 70}); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func segment(kind byte, body string) []byte {
	out := []byte{0xFF, kind, 0, 0}
	binary.BigEndian.PutUint16(out[2:], uint16(len(body)+2))
	return append(out, body...)
}

// An Exif segment (TIFF, big-endian) with one entry: the pointer to a GPS directory, tag 0x8825 (CIPA DC-008).
const exifGPS = "Exif\x00\x00MM\x00*\x00\x00\x00\x08\x00\x01\x88\x25\x00\x04\x00\x00\x00\x01\x00\x00\x00\x1AGPSLatitude 46.1234"

func TestScrub(t *testing.T) {
	plain := picture(t, 64, 48)
	dirty := append([]byte{0xFF, 0xD8}, segment(0xE0, "JFIF\x00\x01\x01\x00\x00\x01\x00\x01\x01\x01PREVIEW")...)
	dirty = append(dirty, segment(0xE1, exifGPS)...)
	dirty = append(dirty, 0xFF) // fill before a marker
	dirty = append(dirty, segment(0xE1, "http://ns.adobe.com/xap/1.0/\x00<x:xmpmeta>SECRET-OWNER</x:xmpmeta>")...)
	dirty = append(dirty, segment(0xE2, "MPF\x00SECRET-SECOND")...)
	dirty = append(dirty, segment(0xED, "Photoshop 3.0\x00SECRET-CAPTION")...)
	dirty = append(dirty, segment(0xFE, "SECRET-COMMENT")...)
	dirty = append(dirty, plain[2:]...)
	dirty = append(dirty, picture(t, 8, 8)...) // a second picture after the end
	dirty = append(dirty, "SECRET-TAIL"...)

	clean, kind, err := exchange.Scrub(dirty)
	if err != nil {
		t.Fatal(err)
	}
	if kind != "image/jpeg" {
		t.Errorf("it is taken for %s", kind)
	}
	for _, secret := range []string{"Exif", "GPS", "SECRET", "xap", "MPF", "Photoshop", "PREVIEW"} {
		if bytes.Contains(clean, []byte(secret)) {
			t.Errorf("%s is still in it", secret)
		}
	}
	want, err := jpeg.Decode(bytes.NewReader(plain))
	if err != nil {
		t.Fatal(err)
	}
	got, err := jpeg.Decode(bytes.NewReader(clean))
	if err != nil {
		t.Fatal(err)
	}
	a, okA := want.(*image.YCbCr)
	b, okB := got.(*image.YCbCr)
	if !okA || !okB || !bytes.Equal(a.Y, b.Y) || !bytes.Equal(a.Cb, b.Cb) || !bytes.Equal(a.Cr, b.Cr) {
		t.Error("the pixels changed")
	}
	again, _, err := exchange.Scrub(clean)
	if err != nil || !bytes.Equal(again, clean) {
		t.Errorf("scrubbing again changed it (%v)", err)
	}
}

func TestScrubRefuses(t *testing.T) {
	plain := picture(t, 64, 48)
	// Height and width stand in the frame header (SOF0), 3 bytes behind its length.
	huge := bytes.Clone(plain)
	at := bytes.Index(huge, []byte{0xFF, 0xC0}) + 5
	copy(huge[at:], []byte{0xFF, 0xFF, 0xFF, 0xFF})
	for name, b := range map[string][]byte{
		"nothing": {}, "one byte": {0xFF}, "a start alone": {0xFF, 0xD8}, "a GIF": []byte("GIF89a..."), "no pixels": {0xFF, 0xD8, 0xFF, 0xD9},
		"cut off": plain[:len(plain)/2], "65,535 by 65,535 pixels": huge, "a wrong length": append([]byte{0xFF, 0xD8, 0xFF, 0xE1, 0xFF, 0xFF}, plain[2:40]...),
		"too many bytes": append([]byte{0xFF, 0xD8}, make([]byte, exchange.MaxPictureBytes)...),
	} {
		var what *exchange.PictureError
		if out, _, err := exchange.Scrub(b); !errors.As(err, &what) {
			t.Errorf("%s: %d bytes, %v", name, len(out), err)
		}
	}
}

func FuzzScrub(f *testing.F) {
	f.Add(picture(f, 16, 16))
	f.Add(append([]byte{0xFF, 0xD8}, segment(0xE1, exifGPS)...))
	f.Add(dirtyPNG(f))
	for _, text := range webPs {
		f.Add(webP(f, text))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		clean, _, err := exchange.Scrub(data)
		if err != nil {
			return
		}
		if again, _, err := exchange.Scrub(clean); err != nil || !bytes.Equal(again, clean) {
			t.Fatalf("scrubbing again: %v", err)
		}
	})
}
