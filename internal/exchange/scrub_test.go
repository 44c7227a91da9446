package exchange_test

import (
	"bytes"
	"encoding/base64"
	"encoding/binary"
	"hash/crc32"
	"image"
	"image/jpeg"
	"image/png"
	"slices"
	"testing"

	"golang.org/x/image/webp"

	"thwart/internal/exchange"
)

// A TIFF block, little-endian, that says "turn by a quarter" (tag 0x0112 = 6) and where the picture was taken (0x8825).
const turnedAndPlaced = "II*\x00\x08\x00\x00\x00\x02\x00\x12\x01\x03\x00\x01\x00\x00\x00\x06\x00\x00\x00\x25\x88\x04\x00\x01\x00\x00\x00\x26\x00\x00\x00GPSLatitude 46.1234"

// Which way up a picture is to be shown stays, and nothing else of Exif.
func TestScrubKeepsWhichWayUp(t *testing.T) {
	plain := picture(t, 64, 48)
	turned := append([]byte{0xFF, 0xD8}, segment(0xE1, "Exif\x00\x00"+turnedAndPlaced)...)
	turned = append(turned, plain[2:]...)
	clean, _, err := exchange.Scrub(turned)
	if err != nil {
		t.Fatal(err)
	}
	// The tag as CIPA DC-008 writes it, big-endian: tag, type SHORT, one value, 6.
	if want := []byte{0x01, 0x12, 0, 3, 0, 0, 0, 1, 0, 6, 0, 0}; !bytes.Contains(clean, want) || bytes.Contains(clean, []byte("GPS")) {
		t.Errorf("%q", clean[:60])
	}
	if _, err := jpeg.Decode(bytes.NewReader(clean)); err != nil {
		t.Error(err)
	}
	if again, _, err := exchange.Scrub(clean); err != nil || !bytes.Equal(again, clean) {
		t.Errorf("scrubbing again changed it (%v)", err)
	}
}

func pngChunk(name, body string) []byte {
	out := binary.BigEndian.AppendUint32(nil, uint32(len(body)))
	out = append(append(out, name...), body...)
	return binary.BigEndian.AppendUint32(out, crc32.ChecksumIEEE(out[4:]))
}

func dirtyPNG(t testing.TB) []byte {
	t.Helper()
	m := image.NewNRGBA(image.Rect(0, 0, 9, 7))
	for i := range m.Pix {
		m.Pix[i] = byte(i * 5)
	}
	var b bytes.Buffer
	if err := png.Encode(&b, m); err != nil {
		t.Fatal(err)
	}
	const head = 8 + 25 // signature and IHDR
	secrets := slices.Concat(pngChunk("tEXt", "Author\x00SECRET"), pngChunk("eXIf", turnedAndPlaced), pngChunk("iTXt", "XML:com.adobe.xmp\x00SECRET"),
		pngChunk("tIME", "\x07\xea\x07\x04\x09\x1e\x00"), pngChunk("fdAT", "SECRET"))
	return slices.Concat(b.Bytes()[:head], secrets, b.Bytes()[head:], []byte("SECRET"))
}

func TestScrubPNG(t *testing.T) {
	dirty := dirtyPNG(t)
	clean, kind, err := exchange.Scrub(dirty)
	if err != nil || kind != "image/png" {
		t.Fatal(kind, err)
	}
	for _, secret := range []string{"SECRET", "GPS", "tEXt", "eXIf", "tIME"} {
		if bytes.Contains(clean, []byte(secret)) {
			t.Errorf("%s is still in it", secret)
		}
	}
	a, errA := png.Decode(bytes.NewReader(dirty))
	b, errB := png.Decode(bytes.NewReader(clean))
	if errA != nil || errB != nil || !bytes.Equal(a.(*image.NRGBA).Pix, b.(*image.NRGBA).Pix) {
		t.Errorf("the pixels changed: %v, %v", errA, errB)
	}
	if again, _, err := exchange.Scrub(clean); err != nil || !bytes.Equal(again, clean) {
		t.Errorf("scrubbing again changed it (%v)", err)
	}
	broken := bytes.Clone(dirty)
	broken[40]++
	if _, _, err := exchange.Scrub(broken); err == nil {
		t.Error("a damaged chunk was taken")
	}
}

// Pictures of one pixel: VP8, VP8L, and VP8 with transparency in the extended form. That they are what they are called is
// checked by decoding them with golang.org/x/image/webp.
var webPs = []string{
	"UklGRiIAAABXRUJQVlA4IBYAAAAwAQCdASoBAAEADsD+JaQAA3AAAAAA",
	"UklGRhoAAABXRUJQVlA4TA0AAAAvAAAAEAcQERGIiP4HAA==",
	"UklGRkoAAABXRUJQVlA4WAoAAAAQAAAAAAAAAAAAQUxQSAwAAAARBxAR/Q9ERP8DAABWUDggGAAAABQBAJ0BKgEAAQAAAP4AAA3AAP7mtQAAAA==",
}

func webP(t testing.TB, text string) []byte {
	t.Helper()
	b, err := base64.StdEncoding.DecodeString(text)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func riff(chunks ...[]byte) []byte {
	body := append([]byte("WEBP"), slices.Concat(chunks...)...)
	out := append([]byte("RIFF"), 0, 0, 0, 0)
	binary.LittleEndian.PutUint32(out[4:], uint32(len(body)))
	return append(out, body...)
}

func webPChunk(name, body string) []byte {
	out := append([]byte(name), 0, 0, 0, 0)
	binary.LittleEndian.PutUint32(out[4:], uint32(len(body)))
	out = append(out, body...)
	if len(body)&1 == 1 {
		out = append(out, 0)
	}
	return out
}

func TestScrubWebP(t *testing.T) {
	for _, text := range webPs {
		plain := webP(t, text)
		want, err := webp.Decode(bytes.NewReader(plain))
		if err != nil {
			t.Fatal(err)
		}
		chunks := plain[12:]
		if string(chunks[:4]) == "VP8X" {
			chunks = chunks[18:]
		}
		const exif, xmp, profile, alpha = 8, 4, 32, 16
		frame := webPChunk("VP8X", string([]byte{exif | xmp | profile | alpha, 0, 0, 0, 0, 0, 0, 0, 0, 0}))
		dirty := append(riff(frame, webPChunk("ICCP", "SECRET-profile"), chunks, webPChunk("EXIF", turnedAndPlaced), webPChunk("XMP ", "SECRET!"),
			webPChunk("MINE", "SECRET")), "SECRET"...)
		clean, kind, err := exchange.Scrub(dirty)
		if err != nil || kind != "image/webp" {
			t.Fatal(kind, err)
		}
		for _, secret := range []string{"SECRET", "GPS", "ICCP", "XMP ", "MINE"} {
			if bytes.Contains(clean, []byte(secret)) {
				t.Errorf("%s is still in it", secret)
			}
		}
		if !bytes.Contains(clean, []byte{0x01, 0x12, 0, 3, 0, 0, 0, 1, 0, 6, 0, 0}) {
			t.Error("which way up it is to be shown is lost")
		}
		got, err := webp.Decode(bytes.NewReader(clean))
		if err != nil || got.Bounds() != want.Bounds() || got.At(0, 0) != want.At(0, 0) {
			t.Errorf("the pixels changed: %v", err)
		}
		if again, _, err := exchange.Scrub(clean); err != nil || !bytes.Equal(again, clean) {
			t.Errorf("scrubbing again changed it (%v)", err)
		}
		if same, _, err := exchange.Scrub(plain); err != nil || !bytes.Equal(same, plain) {
			t.Errorf("a picture with nothing to take out changed (%v)", err)
		}
		if _, _, err := exchange.Scrub(riff(frame, webPChunk("ANIM", "      "), chunks)); err == nil {
			t.Error("a moving picture was taken")
		}
	}
	for name, b := range map[string][]byte{"no pixels": riff(), "cut off": webP(t, webPs[0])[:30], "no header": riff(webPChunk("VP8L", "/")),
		"too large": riff(webPChunk("VP8L", "/\xff\xff\xff\x0f"))} {
		if _, _, err := exchange.Scrub(b); err == nil {
			t.Errorf("%s: taken", name)
		}
	}
}
