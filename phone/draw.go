package phone

import (
	"strings"

	"thwart"
	"thwart/draw"
	"thwart/draw/craft"
)

func init() {
	// A picture of a craft and the walk round it, as SVG whose colours the page's style sheet gives.
	pure("draw.craft", drawCraft)
	// The small picture of a class, to scale beside others.
	pure("draw.silhouette", drawSilhouette)
}

// DrawIn is a craft and what to show of it.
type DrawIn struct {
	Setup   thwart.Setup  `json:"setup"`
	Options craft.Options `json:"options,omitzero"`
	// ID begins the ids of hatches, so that two pictures may stand on one page.
	ID string `json:"id,omitempty"`
}

// Picture is a drawing as SVG text. Its groups carry ids such as place-hull.keel and stand-3, and classes that tell their
// state: open, done, found, now.
type Picture struct {
	SVG    string  `json:"svg"`
	Width  float64 `json:"width"`
	Height float64 `json:"height"`
	Title  string  `json:"title"` // for who cannot see it; the list of stops says the same in words
	// At is where each place shown lies, from the left and from the top.
	At map[string][2]float64 `json:"at,omitempty"`
}

func picture(sc *draw.Scene, id string) Picture {
	return Picture{SVG: sc.SVG(draw.Style{ID: id}), Width: sc.Width, Height: sc.Height, Title: sc.Title, At: marks(sc)}
}

// marks finds where each place shown lies: the first mark of its group.
func marks(sc *draw.Scene) map[string][2]float64 {
	at := map[string][2]float64{}
	for _, it := range sc.Items {
		g, ok := it.(draw.Group)
		place, isPlace := strings.CutPrefix(g.ID, "place-")
		if !ok || !isPlace {
			continue
		}
		for _, in := range g.Items {
			if m, ok := in.(draw.Mark); ok {
				at[place] = [2]float64{m.At.X, m.At.Y}
			}
		}
	}
	return at
}

func drawCraft(in DrawIn) (Picture, error) {
	sc, err := craft.Draw(in.Setup, in.Options)
	if err != nil {
		return Picture{}, err
	}
	return picture(sc, in.ID), nil
}

// SilhouetteIn names a class and a scale.
type SilhouetteIn struct {
	Class     string  `json:"class"`
	UnitsPerM float64 `json:"unitsPerM"` // 4 to 400
}

func drawSilhouette(in SilhouetteIn) (Picture, error) {
	sc, err := craft.Silhouette(in.Class, in.UnitsPerM)
	if err != nil {
		return Picture{}, err
	}
	return picture(sc, in.Class+"-"), nil
}
