package paper

import (
	"bytes"
	"encoding/json"
	"fmt"
	"image/png"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"thwart"
	"thwart/advice"
	"thwart/internal/pdf"
	"thwart/internal/pdf/pdftest"
	"thwart/internal/store"
	"thwart/refdata"
	"thwart/unit"
)

var day = time.Date(2026, 4, 20, 0, 0, 0, 0, time.UTC)

func options(t testing.TB, form thwart.SheetForm, class string) Options {
	t.Helper()
	p, err := advice.ProtocolByID("regional-minimum")
	if err != nil {
		t.Fatal(err)
	}
	return Options{Form: form, Protocol: p, Class: class, First: 123, Count: 1, Made: day, Name: "Withy Lakes"}
}

func printOf(t testing.TB, o Options) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := Write(&b, o); err != nil {
		t.Fatalf("%s %s: %v", o.Form, o.Class, err)
	}
	return b.Bytes()
}

func textOf(t *testing.T, file []byte) string {
	return strings.Join(strings.Fields(pdftest.Tool(t, file, "pdftotext", "-layout", "FILE", "-")), " ")
}

// Every class has its sheet, on one page of both papers, with every stop of the walk that the phone shows, by its number.
func TestBoatSheetOfEveryClass(t *testing.T) {
	for _, c := range refdata.CraftClasses() {
		for name, size := range Sizes {
			o := options(t, thwart.SheetBoat, c.ID)
			o.Paper = size
			file := printOf(t, o)
			if pages := pdftest.Tool(t, file, "pdfinfo", "FILE"); !regexp.MustCompile(`Pages:\s+1\n`).MatchString(pages) {
				t.Errorf("%s on %s: %s", c.ID, name, pages)
			}
		}
	}
	o := options(t, thwart.SheetBoat, "runabout")
	w, err := walkOf("runabout")
	if err != nil {
		t.Fatal(err)
	}
	text := textOf(t, printOf(t, o))
	for _, st := range w.plan.Stops {
		beginning, _, _ := strings.Cut(st.Name, ",")
		if !strings.Contains(text, fmt.Sprintf("%d %s", st.Number, beginning)) {
			t.Errorf("stop %d, %s, is not on the sheet", st.Number, st.Name)
		}
	}
	for _, want := range append([]string{thwart.SheetNumber(thwart.SheetBoat, 123), "LAUNCH", "HOLD", "not checked"[:3]}, Matters...) {
		if !strings.Contains(text, want) {
			t.Errorf("%q is not on the sheet", want)
		}
	}
}

// The wash card has every target of the protocol, in its order, in both units, and the cautions.
func TestWashCard(t *testing.T) {
	for _, u := range []unit.System{unit.Metric, unit.US} {
		o := options(t, thwart.SheetWash, "")
		o.Units = u
		text := textOf(t, printOf(t, o))
		at := 0
		for _, r := range advice.WashCard(&o.Protocol) {
			want := strings.Join(strings.Fields(target(&r, u)), " ")
			i := strings.Index(text[at:], want)
			if i < 0 {
				t.Errorf("%s: no %q for %s, in its order", u, want, r.Part)
				continue
			}
			at += i
		}
		for _, want := range []string{"burns skin", "through the skin", "tent, shed or bay", "Never lean under"} {
			if !strings.Contains(text, want) {
				t.Errorf("no caution %q", want)
			}
		}
	}
}

// Sheets print on what an office has: fonts inside, and nothing but greys.
func TestGreyAndEmbedded(t *testing.T) {
	for _, o := range []Options{options(t, thwart.SheetBoat, "wake_boat"), options(t, thwart.SheetBoat, "canoe_kayak"), options(t, thwart.SheetTally, ""), options(t, thwart.SheetWash, "")} {
		file := printOf(t, o)
		for _, l := range strings.Split(strings.TrimSpace(pdftest.Tool(t, file, "pdffonts", "FILE")), "\n")[2:] {
			if f := strings.Fields(l); len(f) < 6 || f[len(f)-5] != "yes" {
				t.Errorf("%s: not embedded: %s", o.Form, l)
			}
		}
		out := filepath.Join(t.TempDir(), "page")
		pdftest.Tool(t, file, "pdftoppm", "-r", "60", "-png", "-singlefile", "FILE", out)
		f, err := os.Open(out + ".png")
		if err != nil {
			t.Fatal(err)
		}
		img, err := png.Decode(f)
		f.Close()
		if err != nil {
			t.Fatal(err)
		}
		dark := 0
		for y := img.Bounds().Min.Y; y < img.Bounds().Max.Y; y++ {
			for x := img.Bounds().Min.X; x < img.Bounds().Max.X; x++ {
				r, g, b, _ := img.At(x, y).RGBA()
				if r != g || g != b {
					t.Fatalf("%s: a colour at %d, %d", o.Form, x, y)
				}
				if r < 0x8000 {
					dark++
				}
				// Nothing runs over the edge of what a printer reaches: 5 mm.
				if edge := 11; r < 0xf000 && (x < edge || y < edge || x >= img.Bounds().Max.X-edge || y >= img.Bounds().Max.Y-edge) {
					t.Fatalf("%s: ink at the edge, %d, %d", o.Form, x, y)
				}
			}
		}
		if dark < 2000 {
			t.Errorf("%s: an empty page", o.Form)
		}
	}
}

func TestBlockOfSheets(t *testing.T) {
	o := options(t, thwart.SheetTally, "")
	o.Count = 3
	file := printOf(t, o)
	if !bytes.Equal(file, printOf(t, o)) {
		t.Error("two prints of one block differ")
	}
	text := textOf(t, file)
	for n := 123; n < 126; n++ {
		if strings.Count(text, thwart.SheetNumber(thwart.SheetTally, n)) != 1 {
			t.Errorf("number %d is not there once", n)
		}
	}
	o.First, o.Count = 0, 0
	if text := textOf(t, printOf(t, o)); !strings.Contains(text, "SPECIMEN") || strings.Contains(text, "T-0") {
		t.Error("a specimen has a number, or does not say that it is one")
	}
}

func TestWriteRefuses(t *testing.T) {
	for name, change := range map[string]func(*Options){
		"form":     func(o *Options) { o.Form = "X" },
		"class":    func(o *Options) { o.Class = "zeppelin" },
		"made":     func(o *Options) { o.Made = time.Time{} },
		"count":    func(o *Options) { o.Count = 100000 },
		"first":    func(o *Options) { o.First = thwart.MaxSheet + 1 },
		"protocol": func(o *Options) { o.Form, o.Class, o.Protocol.Wash = thwart.SheetWash, "", nil },
	} {
		o := options(t, thwart.SheetBoat, "runabout")
		change(&o)
		var b bytes.Buffer
		if err := Write(&b, o); err == nil || b.Len() > 0 || !strings.Contains(err.Error(), name) {
			t.Errorf("%s: %v, %d bytes", name, err, b.Len())
		}
	}
	if o := options(t, thwart.SheetTally, "runabout"); o.Check() == nil {
		t.Error("a tally sheet of a class is printed")
	}
}

// Sheet and screen say the same words in the same order, with the same numbers.
func TestSheetIsAsTheScreen(t *testing.T) {
	read := func(name string) string {
		b, err := os.ReadFile(filepath.Join("..", "..", "web", "app", "src", name))
		if err != nil {
			t.Fatal(err)
		}
		return string(b)
	}
	words := read("messages/en-work.ts") + read("messages/en.ts")
	for key, text := range labels {
		if !strings.Contains(words, fmt.Sprintf("'key.%s': '%s'", key, text)) && !strings.Contains(words, fmt.Sprintf("'tally.%s': '%s'", key, text)) {
			t.Errorf("the screen has no field %s called %q", key, text)
		}
	}
	for file, keys := range map[string][]string{
		"ramp/KeyInBoat.tsx":  {"serial", "day", "from", "to", "craft", "water", "out", "stay", "plugs", "drive", "rest", "unchecked", "found", "outcome", "mark"},
		"ramp/KeyInTally.tsx": {"serial", "day", "to", "passedBy", "refused", "turnedAway"},
		"ramp/KeyInWash.tsx":  {"serial", "boat", "day", "from", "to", "gauge", "steps"},
	} {
		source, at := read(file), 0
		for i, key := range keys {
			want := fmt.Sprintf(`n={%d} name="%s"`, i+1, key)
			j := strings.Index(source[at:], want)
			if j < 0 {
				t.Errorf("%s: no %s after what stands before it on the sheet", file, want)
				continue
			}
			at += j
		}
	}
}

func open(t testing.TB, dsn string) *store.Store {
	t.Helper()
	s, err := store.Open(t.Context(), dsn, store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return s
}

// Many who print at once, over two connections to one file, get numbers without an overlap and without a gap but where two met.
func TestClaimNeverTwice(t *testing.T) {
	dsn := filepath.Join(t.TempDir(), "p.db")
	stores := []*store.Store{open(t, dsn), open(t, dsn)}
	type result struct {
		sheets thwart.Sheets
		err    error
	}
	const each = 6
	results := make(chan result, 2*each)
	for i, s := range stores {
		for j := range each {
			go func() {
				n := byte(i*each + j)
				at := time.Date(2026, 4, 20, 8, 0, 0, 0, time.UTC)
				k := 0
				got, err := Claim(t.Context(), s, thwart.Sheets{Form: thwart.SheetBoat, Count: 7, Protocol: "utah@1", Class: "runabout", At: at}, func(body json.RawMessage) thwart.Kept {
					k++
					id := thwart.MakeID(at, [10]byte{n, byte(k)})
					return thwart.Kept{Entry: thwart.Entry{ID: id, Subject: id, Kind: thwart.KindSheets, MadeAt: at, Origin: thwart.OriginOffice, Body: body}, ReceivedAt: at}
				})
				results <- result{got, err}
			}()
		}
	}
	seen := map[int]bool{}
	for range 2 * each {
		r := <-results
		if r.err != nil {
			t.Fatal(r.err)
		}
		for n := r.sheets.First; n <= r.sheets.Last(); n++ {
			if seen[n] {
				t.Errorf("number %d was given twice", n)
			}
			seen[n] = true
		}
	}
	if len(seen) != 2*each*7 {
		t.Errorf("%d numbers, want %d", len(seen), 2*each*7)
	}
	// A form's numbers are its own.
	id := thwart.MakeID(day, [10]byte{99})
	got, err := Claim(t.Context(), stores[0], thwart.Sheets{Form: thwart.SheetWash, Count: 2, Protocol: "utah@1", At: day}, func(body json.RawMessage) thwart.Kept {
		return thwart.Kept{Entry: thwart.Entry{ID: id, Subject: id, Kind: thwart.KindSheets, MadeAt: day, Origin: thwart.OriginOffice, Body: body}, ReceivedAt: day}
	})
	if err != nil || got.First != 1 {
		t.Errorf("%+v, %v", got, err)
	}
}

func BenchmarkBoatSheets(b *testing.B) {
	o := options(b, thwart.SheetBoat, "wake_boat")
	o.Count, o.Paper = 50, pdf.Letter
	for b.Loop() {
		printOf(b, o)
	}
}
