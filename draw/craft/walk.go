package craft

import (
	"math"
	"slices"
	"strconv"

	"thwart"
	"thwart/draw"
	"thwart/tongue"
)

// walk draws the path, the stands and the places of the round.
func (p *picture) walk() {
	whole := p.opt.View == Plan && !p.opt.PlacesOnly
	if whole {
		p.path()
	}
	at := map[string]*thwart.Place{}
	for i := range p.places {
		at[p.places[i].ID] = &p.places[i]
	}
	stands := p.stands()
	p.clear(stands, at)
	if whole {
		p.spokes(stands, at)
	}
	var found []draw.Item // drawn last: what was found is hidden by nothing
	for i := range p.opt.Round.Stops {
		st := &p.opt.Round.Stops[i]
		pl := at[st.Place]
		switch {
		case pl == nil || !p.shows(pl):
		case slices.Contains(p.opt.Found, pl.ID):
			found = append(found, p.place(pl, st.Number))
		default:
			p.scene.Add(p.place(pl, st.Number))
		}
	}
	if whole {
		for _, s := range stands {
			p.scene.Add(p.stand(s))
		}
	}
	p.scene.Add(found...)
}

func (p *picture) path() {
	pts := make([]draw.Point, len(p.opt.Round.Path))
	for i, q := range p.opt.Round.Path {
		pts[i] = p.at(q[0], q[1], 0)
	}
	if len(pts) > 1 {
		p.scene.Add(draw.Group{ID: "path", Class: "path", Title: tongue.Say("The walk"), Items: []draw.Item{
			draw.Path{Cmds: draw.Polyline(pts, false), Stroke: draw.Lake, Width: 2, Dash: []float64{7, 5}, Round: true},
		}})
	}
}

// stand is where the steward stands, and what is looked at from there.
type stand struct {
	number  int
	at      draw.Point
	places  []string
	done    int
	current bool
}

// stands gathers the stops by their station and moves numbers apart that would cover each other.
func (p *picture) stands() []*stand {
	var list []*stand
	for i := range p.opt.Round.Stops {
		st := &p.opt.Round.Stops[i]
		if len(list) == 0 || list[len(list)-1].number != st.Station {
			list = append(list, &stand{number: st.Station, at: p.at(st.StandXM, st.StandYM, 0)})
		}
		s := list[len(list)-1]
		s.places = append(s.places, st.Place)
		if slices.Contains(p.opt.Done, st.Place) {
			s.done++
		}
		s.current = s.current || st.Place == p.opt.Now
	}
	apart(list, 2*standR+3)
	for _, s := range list {
		s.at.X = min(max(s.at.X, standR+1), p.scene.Width-standR-1)
		s.at.Y = min(max(s.at.Y, standR+1), p.scene.Height-standR-1)
	}
	return list
}

// clear moves stands off the finds that they would cover, up where one stands right on it, as those of gear do.
func (p *picture) clear(stands []*stand, at map[string]*thwart.Place) {
	least := standR + p.foundR() + 2
	for _, id := range p.opt.Found {
		pl := at[id]
		if pl == nil || !p.shows(pl) {
			continue
		}
		mark := p.at(pl.XM, pl.YM, pl.ZM)
		for _, s := range stands {
			dx, dy := s.at.X-mark.X, s.at.Y-mark.Y
			d := math.Hypot(dx, dy)
			if d >= least {
				continue
			}
			if d < 1e-9 {
				dx, dy, d = 0, -1, 1
			}
			s.at = draw.Point{X: mark.X + dx/d*least, Y: mark.Y + dy/d*least}
		}
	}
}

const standR = 11.0

// placeR is the size of a place's dot: smaller where the picture is.
func (p *picture) placeR() float64 { return min(max(0.06*p.scale, 2.4), 4) }

// foundR is the size of what marks a find.
func (p *picture) foundR() float64 { return p.placeR() + 3 }

// apart pushes points away from each other until none are closer than least, in a fixed order and number of rounds.
func apart(list []*stand, least float64) {
	for range 60 {
		moved := false
		for i, a := range list {
			for _, b := range list[i+1:] {
				dx, dy := b.at.X-a.at.X, b.at.Y-a.at.Y
				d := math.Hypot(dx, dy)
				if d >= least-0.01 {
					continue
				}
				if d < 1e-9 {
					dx, dy, d = 0, 1, 1
				}
				push := (least - math.Min(d, least)) / 2
				a.at.X, a.at.Y = a.at.X-dx/d*push, a.at.Y-dy/d*push
				b.at.X, b.at.Y = b.at.X+dx/d*push, b.at.Y+dy/d*push
				moved = true
			}
		}
		if !moved {
			return
		}
	}
}

func (p *picture) spokes(stands []*stand, at map[string]*thwart.Place) {
	g := draw.Group{ID: "spokes", Class: "spokes"}
	for _, s := range stands {
		for _, id := range s.places {
			if pl := at[id]; pl != nil {
				g.Items = append(g.Items, draw.Path{Cmds: draw.Polyline([]draw.Point{s.at, p.at(pl.XM, pl.YM, pl.ZM)}, false), Stroke: draw.Faint, Width: 1})
			}
		}
	}
	p.scene.Add(g)
}

func (p *picture) place(pl *thwart.Place, number int) draw.Group {
	m := draw.Mark{At: p.at(pl.XM, pl.YM, pl.ZM), Shape: draw.Dot, R: p.placeR(), Stroke: draw.Ink, Width: 1.5, Fill: draw.Paper}
	state := "open"
	if slices.Contains(p.opt.Done, pl.ID) {
		m.Fill, state = draw.Ink, "done"
	}
	if slices.Contains(p.opt.Found, pl.ID) {
		m.Shape, m.R, m.Fill, m.Stroke, state = draw.Diamond, p.foundR(), draw.Madder, draw.Paper, "found"
	}
	items := []draw.Item{m}
	if pl.ID == p.opt.Now {
		state += " now"
		items = append([]draw.Item{draw.Mark{At: m.At, Shape: draw.Ring, R: p.placeR() + 7, Stroke: draw.Madder, Width: 3}}, items...)
	}
	return draw.Group{ID: "place-" + pl.ID, Class: "place " + state, Title: tongue.Say("{number}, {place}", tongue.Int(number), pl.Name), Items: items}
}

func (p *picture) stand(s *stand) draw.Group {
	disc := draw.Mark{At: s.at, Shape: draw.Dot, R: standR, Stroke: draw.Ink, Width: 2, Fill: draw.Paper}
	word, state := draw.Ink, "open"
	switch {
	case s.done == len(s.places):
		disc.Fill, word, state = draw.Ink, draw.Paper, "done"
	case s.current:
		disc.Stroke, disc.Width, disc.R, state = draw.Madder, 3.5, standR+2, "now"
	}
	return draw.Group{ID: "stand-" + strconv.Itoa(s.number), Class: "stand " + state, Title: tongue.Say("Stand {number}, {n} of {all} places settled", tongue.Int(s.number), tongue.Int(s.done), tongue.Int(len(s.places))),
		Items: []draw.Item{disc, draw.Text{At: draw.Point{X: s.at.X, Y: s.at.Y + 4.5}, Text: strconv.Itoa(s.number), Size: 13, Anchor: draw.Middle, Role: word, Bold: true}}}
}
