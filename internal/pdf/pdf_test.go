package pdf

import (
	"bytes"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"thwart/internal/pdf/pdftest"
)

var made = time.Date(2026, 10, 12, 9, 0, 0, 0, time.UTC)

func sample(t testing.TB) []byte {
	t.Helper()
	d := New(Info{Title: "A page", Author: "Withy Lakes (demo)", Lang: "en", Creator: "thwart test", Made: made}, A4)
	d.Page()
	d.Bookmark("First", 0, 20)
	y := 20.0
	for _, f := range Fonts {
		d.Text(20, y, string(f)+": Žluť łódź éß ≤ 10 °C – 60 ± 0.5 → 1 × 2 · “quoted”", Style{Font: f, SizePt: 11})
		y += 8
	}
	d.LinkTo(20, 18, 50, 4, "second")
	d.Link(20, 26, 50, 4, "https://withy.example/")
	d.Page()
	d.Anchor("second", 10)
	d.Text(20, 20, "Page two", Style{Font: SerifBold, SizePt: 20, Align: Left})
	d.Turned(30, 60, 90, "turned", Style{Font: Sans, SizePt: 9})
	d.Line(20, 30, 190, 30, 0.2, Hex("#14202B"))
	d.OnPage(1)
	d.Text(190, 287, "1 / 2", Style{Font: Sans, SizePt: 8, Align: Right})
	var out bytes.Buffer
	if err := d.Write(&out); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func TestSameCallsGiveTheSameBytes(t *testing.T) {
	if !bytes.Equal(sample(t), sample(t)) {
		t.Error("two runs differ")
	}
}

func TestTextCanBeTakenOutAgain(t *testing.T) {
	out := pdftest.Tool(t, sample(t), "pdftotext", "-layout", "FILE", "-")
	for _, want := range []string{"Žluť łódź éß", "≤ 10 °C – 60 ± 0.5 → 1 × 2", "Page two", "“quoted”"} {
		if !strings.Contains(strings.Join(strings.Fields(out), " "), want) {
			t.Errorf("pdftotext does not find %q in\n%s", want, out)
		}
	}
}

func TestFontsAreEmbedded(t *testing.T) {
	lines := strings.Split(strings.TrimSpace(pdftest.Tool(t, sample(t), "pdffonts", "FILE")), "\n")[2:]
	if len(lines) < len(Fonts) {
		t.Errorf("%d fonts, want %d", len(lines), len(Fonts))
	}
	for _, l := range lines {
		// name, type, encoding, emb, sub, uni, object
		f := strings.Fields(l)
		if n := len(f); n < 6 || f[n-5] != "yes" {
			t.Errorf("not embedded: %s", l)
		}
	}
}

func TestFileIsSound(t *testing.T) {
	if out := pdftest.Tool(t, sample(t), "qpdf", "--check", "FILE"); !strings.Contains(out, "No syntax or stream encoding errors") {
		t.Error(out)
	}
}

func TestWidths(t *testing.T) {
	// Every character of B612 Mono is 1300 of 2000 units wide (its table hmtx, read with fontTools 4.38).
	if got, want := Width(Mono, 10, "0123"), 4*1300.0/2000*10*mmPerPt; math.Abs(got-want) > 1e-9 {
		t.Errorf("four figures are %.4f mm, want %.4f", got, want)
	}
	// Figures of the serif are all 986 of 2048 units wide (likewise).
	if got, want := Width(Serif, 10, "8"), 986.0/2048*10*mmPerPt; math.Abs(got-want) > 1e-9 {
		t.Errorf("a figure is %.4f mm, want %.4f", got, want)
	}
}

func TestWrap(t *testing.T) {
	text := "The water at the launch says nothing of where a craft has been, and averyveryverylongwordthatfitsnowhere breaks."
	for _, w := range []float64{12, 30, 80} {
		lines := Wrap(Serif, 10, w, text)
		for _, l := range lines {
			if Width(Serif, 10, l) > w+1e-9 {
				t.Errorf("%q is wider than %.0f mm", l, w)
			}
		}
		if got := strings.Join(strings.Fields(strings.Join(lines, "")), ""); got != strings.ReplaceAll(text, " ", "") {
			t.Errorf("letters were lost at %.0f mm: %q", w, got)
		}
	}
}

// keepForEyes writes a document to the folder THWART_LOOK names, for a person to look at.
func keepForEyes(t *testing.T, pdf []byte, name string) {
	t.Helper()
	dir := os.Getenv("THWART_LOOK")
	if dir == "" {
		return
	}
	if err := os.WriteFile(filepath.Join(dir, name), pdf, 0o600); err != nil {
		t.Fatal(err)
	}
}
