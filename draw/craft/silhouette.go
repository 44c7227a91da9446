package craft

import (
	"thwart"
	"thwart/advice"
	"thwart/draw"
	"thwart/refdata"
	"thwart/tongue"
)

// Silhouette draws a class from the side without trailer, at so many units per metre, so that a row of classes is to scale.
func Silhouette(class string, unitsPerM float64) (*draw.Scene, error) {
	s, err := advice.UsualSetup(class)
	if err != nil {
		return nil, err
	}
	if !(unitsPerM >= 4 && unitsPerM <= 400) {
		return nil, thwart.FieldErrors{{Field: "unitsPerM", Accepted: "4 to 400"}}
	}
	s.Trailer = thwart.TrailerNone
	c, _ := refdata.CraftClassByID(s.Class)
	places, err := advice.Places(s)
	if err != nil {
		return nil, err
	}
	h := hullOf(&c, 0, 0)
	h.keelM = 0.3 // stands clear of its own propeller
	const edge = 4.0
	p := &picture{setup: &s, class: &c, hull: h, places: places, opt: &Options{View: Side}, scale: unitsPerM}
	const over = 0.6 // for a drive behind the stern
	top := p.height()
	p.scene = draw.New((h.lengthM+over)*unitsPerM+2*edge, top*unitsPerM+2*edge, tongue.Capital(tongue.Data(c.Name)))
	p.at = func(x, _, z float64) draw.Point {
		return draw.Point{X: edge + (x+0.05)*unitsPerM, Y: edge + (top-z)*unitsPerM}
	}
	p.side()
	p.scene.Items = p.scene.Items[1:] // no ground: it floats on the page
	return p.scene, nil
}
