package craft_test

import (
	"encoding/xml"
	"errors"
	"io"
	"math"
	"strings"
	"testing"

	"thwart"
	"thwart/advice"
	"thwart/draw"
	"thwart/draw/craft"
	"thwart/refdata"
)

// drawn is one picture with its round, and the ids of its groups.
func drawn(t *testing.T, s thwart.Setup, opt craft.Options) (*draw.Scene, map[string]bool) {
	t.Helper()
	sc, err := craft.Draw(s, opt)
	if err != nil {
		t.Fatalf("%s, %s: %v", s.Class, opt.View, err)
	}
	ids := map[string]bool{}
	d := xml.NewDecoder(strings.NewReader(sc.SVG(draw.Style{})))
	for {
		tok, err := d.Token()
		if err == io.EOF {
			return sc, ids
		}
		if err != nil {
			t.Fatalf("%s, %s: %v", s.Class, opt.View, err)
		}
		if e, ok := tok.(xml.StartElement); ok {
			for _, a := range e.Attr {
				if a.Name.Local == "id" {
					if ids[a.Value] {
						t.Errorf("%s, %s: the id %s stands twice", s.Class, opt.View, a.Value)
					}
					ids[a.Value] = true
				}
			}
		}
	}
}

// Every class is drawn from every side; from above no place of its round is missing, and everything lies within the picture.
func TestEveryClassFromEverySide(t *testing.T) {
	for _, c := range refdata.CraftClasses() {
		s, err := advice.UsualSetup(c.ID)
		if err != nil {
			t.Fatal(err)
		}
		places, err := advice.Places(s)
		if err != nil {
			t.Fatal(err)
		}
		r, err := advice.Round(places, s, advice.RoundOptions{})
		if err != nil {
			t.Fatal(err)
		}
		for _, v := range craft.Views {
			sc, ids := drawn(t, s, craft.Options{View: v, Round: &r, Width: 360})
			if v == craft.Plan {
				for _, p := range places {
					if !ids["place-"+p.ID] {
						t.Errorf("%s: %s is not drawn", c.ID, p.ID)
					}
				}
				if !ids["stand-1"] || !ids["path"] {
					t.Errorf("%s: no walk", c.ID)
				}
			}
			inside(t, c.ID+", "+string(v), sc, sc.Items)
		}
		if sc, err := craft.Silhouette(c.ID, 30); err != nil {
			t.Error(err)
		} else {
			inside(t, c.ID+", silhouette", sc, sc.Items)
			// To scale: hull and drive together are as long as the class, and no more than a drive longer.
			if l := sc.Width/30 - c.LengthM; l < 0 || l > 1 {
				t.Errorf("%s: the silhouette is %.2f m longer than the craft", c.ID, l)
			}
		}
	}
}

func inside(t *testing.T, name string, sc *draw.Scene, items []draw.Item) {
	t.Helper()
	const slack = 3 // half a stroke, and the swing of a spline beyond its points
	for _, it := range items {
		var cmds []draw.Cmd
		switch x := it.(type) {
		case draw.Group:
			inside(t, name, sc, x.Items)
			continue
		case draw.Path:
			cmds = x.Cmds
		case draw.Mark:
			cmds = x.Outline()
		case draw.Text:
			cmds = []draw.Cmd{{Op: 'M', P: [3]draw.Point{x.At}}}
		}
		lo, hi := draw.Bounds(cmds)
		if len(cmds) > 0 && (lo.X < -slack || lo.Y < -slack || hi.X > sc.Width+slack || hi.Y > sc.Height+slack || math.IsNaN(lo.X+hi.Y)) {
			t.Errorf("%s: %T from %v to %v in %g by %g", name, it, lo, hi, sc.Width, sc.Height)
		}
	}
}

// Port is left from above with the bow up, and right from below.
func TestPortIsWhereItBelongs(t *testing.T) {
	s := thwart.Setup{Class: "runabout", Drives: []thwart.Drive{thwart.DriveOutboard}, Spaces: []thwart.Space{}, Trailer: thwart.TrailerBunk}
	places, _ := advice.Places(s)
	r, err := advice.Round(places, s, advice.RoundOptions{})
	if err != nil {
		t.Fatal(err)
	}
	for view, left := range map[craft.View]bool{craft.Plan: true, craft.Under: false} {
		sc, _ := drawn(t, s, craft.Options{View: view, Round: &r})
		found := false
		for _, it := range sc.Items {
			g, ok := it.(draw.Group)
			if !ok || g.ID != "place-hull.waterline_mid.port" {
				continue
			}
			found = true
			if x := g.Items[0].(draw.Mark).At.X; (x < sc.Width/2) != left {
				t.Errorf("%s: port is at %g of %g", view, x, sc.Width)
			}
		}
		if !found {
			t.Errorf("%s: the waterline is not drawn", view)
		}
	}
}

// What is done, found and next is told by shape and by class, not by tone alone.
func TestStateIsShape(t *testing.T) {
	s, _ := advice.UsualSetup("canoe_kayak")
	places, _ := advice.Places(s)
	r, _ := advice.Round(places, s, advice.RoundOptions{})
	sc, _ := drawn(t, s, craft.Options{Round: &r, Done: []string{places[0].ID}, Found: []string{places[1].ID}, Now: places[2].ID})
	want := map[string]string{places[0].ID: "place done", places[1].ID: "place found", places[2].ID: "place open now", places[3].ID: "place open"}
	for _, it := range sc.Items {
		if g, ok := it.(draw.Group); ok {
			if w, ok := want[strings.TrimPrefix(g.ID, "place-")]; ok && g.Class != w {
				t.Errorf("%s: %q, want %q", g.ID, g.Class, w)
			}
			if g.ID == "place-"+places[1].ID && g.Items[0].(draw.Mark).Shape != draw.Diamond {
				t.Error("a find is not a diamond")
			}
		}
	}
}

// A find shows wherever it was made: it is drawn after all that could lie on it, and no number of a stand lies under it.
func TestNothingHidesAFind(t *testing.T) {
	for _, c := range refdata.CraftClasses() {
		s, err := advice.UsualSetup(c.ID)
		if err != nil {
			t.Fatal(err)
		}
		places, _ := advice.Places(s)
		r, err := advice.Round(places, s, advice.RoundOptions{})
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range places {
			sc, _ := drawn(t, s, craft.Options{View: craft.Plan, Round: &r, Width: 360, Found: []string{p.ID}})
			last, ok := sc.Items[len(sc.Items)-1].(draw.Group)
			if !ok || last.ID != "place-"+p.ID {
				t.Errorf("%s: something is drawn after the find at %s", c.ID, p.ID)
				continue
			}
			find := last.Items[0].(draw.Mark)
			for _, it := range sc.Items {
				g, _ := it.(draw.Group)
				if !strings.HasPrefix(g.ID, "stand-") {
					continue
				}
				disc := g.Items[0].(draw.Mark)
				if d := math.Hypot(disc.At.X-find.At.X, disc.At.Y-find.At.Y); d < disc.R {
					t.Errorf("%s: the find at %s lies on the number of %s", c.ID, p.ID, g.ID)
				}
			}
			inside(t, c.ID, sc, sc.Items)
		}
	}
}

func TestRefusals(t *testing.T) {
	s, _ := advice.UsualSetup("canoe_kayak")
	for name, err := range map[string]error{
		"view":  second(craft.Draw(s, craft.Options{View: "top"})),
		"width": second(craft.Draw(s, craft.Options{Width: 5})),
		"class": second(craft.Draw(thwart.Setup{Class: "canoo"}, craft.Options{})),
	} {
		var fe thwart.FieldErrors
		if !errors.As(err, &fe) || fe[0].Field != name {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func second[T any](_ T, err error) error { return err }

func BenchmarkPlan(b *testing.B) {
	s, _ := advice.UsualSetup("wake_boat")
	places, _ := advice.Places(s)
	r, _ := advice.Round(places, s, advice.RoundOptions{})
	for b.Loop() {
		sc, _ := craft.Draw(s, craft.Options{Round: &r})
		sc.SVG(draw.Style{})
	}
}

// Laid across, a craft is as the one bow up, turned: what was above is to the left, what was right is above.
func TestAcrossIsTheSameTurned(t *testing.T) {
	setup, err := advice.UsualSetup("runabout")
	if err != nil {
		t.Fatal(err)
	}
	places, err := advice.Places(setup)
	if err != nil {
		t.Fatal(err)
	}
	round := &advice.RoundPlan{}
	for i, p := range places {
		round.Stops = append(round.Stops, advice.RoundStop{Number: i + 1, Station: 1, Place: p.ID})
	}
	for _, view := range []craft.View{craft.Plan, craft.Under} {
		at := map[bool]map[string]draw.Point{}
		for _, across := range []bool{false, true} {
			sc, err := craft.Draw(setup, craft.Options{View: view, Across: across, Round: round, PlacesOnly: true})
			if err != nil {
				t.Fatal(err)
			}
			at[across] = map[string]draw.Point{}
			for _, it := range sc.Items {
				g, ok := it.(draw.Group)
				if !ok {
					continue
				}
				if strings.HasPrefix(g.ID, "stand-") || g.ID == "path" || g.ID == "spokes" {
					t.Errorf("%s is drawn among places only", g.ID)
				}
				if strings.HasPrefix(g.ID, "place-") {
					p := g.Items[0].(draw.Mark).At
					if p.X < 0 || p.Y < 0 || p.X > sc.Width || p.Y > sc.Height {
						t.Errorf("%s lies outside of the picture", g.ID)
					}
					at[across][g.ID] = p
				}
			}
		}
		if len(at[true]) != len(at[false]) || len(at[true]) < 10 {
			t.Fatalf("%d places across, %d bow up", len(at[true]), len(at[false]))
		}
		for a, p := range at[false] {
			for b, q := range at[false] {
				x, y := at[true][a], at[true][b]
				if (p.Y-q.Y)*(x.X-y.X) < -0.01 || (p.X-q.X)*(x.Y-y.Y) > 0.01 {
					t.Fatalf("%s: %s and %s changed places", view, a, b)
				}
			}
		}
	}
}
