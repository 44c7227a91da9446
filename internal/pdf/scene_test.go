package pdf

import (
	"bytes"
	"testing"

	"thwart/draw"
	"thwart/internal/pdf/pdftest"
)

func TestSceneIsDrawn(t *testing.T) {
	d := New(Info{Title: "Scene", Lang: "en", Made: made}, A5)
	d.Page()
	s := draw.New(400, 280, "Hatches: one box for each")
	for i, h := range draw.Hatches {
		x := 8 + 76*float64(i)
		s.Add(draw.Path{Cmds: draw.Rect(x, 20, 64, 80), Fill: draw.Ink, Hatch: h, Stroke: draw.Ink, Width: 1},
			draw.Text{At: draw.Point{X: x + 32, Y: 120}, Text: string(h), Size: 11, Anchor: draw.Middle, Role: draw.Ink})
	}
	var lake draw.Pen
	lake.Move(40, 160).Curve(120, 120, 200, 220, 280, 160).Line(240, 260).Line(80, 240).Close()
	lake.Move(140, 200).Line(168, 192).Line(160, 224).Close() // an island
	s.Add(draw.Path{Cmds: lake.Cmds(), Fill: draw.Wash}, draw.Path{Cmds: lake.Cmds(), Fill: draw.Lake, Hatch: draw.Diagonal, Stroke: draw.Lake, Width: 1.2},
		draw.Text{At: draw.Point{X: 180, Y: 205}, Text: "Owlmere", Size: 13, Role: draw.Ink, Halo: true},
		draw.Text{At: draw.Point{X: 384, Y: 264}, Text: "upwards", Size: 11, Role: draw.Ink, Turn: -90},
		draw.Path{Cmds: draw.Polyline([]draw.Point{{X: 320, Y: 160}, {X: 360, Y: 240}}, false), Stroke: draw.Madder, Width: 2.4, Dash: []float64{8, 4}, Opacity: 0.5},
		draw.Mark{At: draw.Point{X: 340, Y: 150}, Shape: draw.Diamond, R: 5, Fill: draw.Brass})
	if f := s.Check(Measure); len(f) > 0 {
		t.Error(f)
	}
	d.Scene(s, White, 10, 10, 128)
	d.Text(10, 120, "after the drawing", Style{Font: SansBold, SizePt: 12})
	var out bytes.Buffer
	if err := d.Write(&out); err != nil {
		t.Fatal(err)
	}
	text := pdftest.Tool(t, out.Bytes(), "pdftotext", "FILE", "-")
	for _, want := range []string{"cross", "Owlmere", "after the drawing"} {
		if !bytes.Contains([]byte(text), []byte(want)) {
			t.Errorf("pdftotext does not find %q", want)
		}
	}
	keepForEyes(t, out.Bytes(), "scene.pdf")
}
