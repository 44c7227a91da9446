package demo

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"

	"thwart"
	"thwart/advice"
	"thwart/engine/num"
	"thwart/refdata"
	"thwart/unit"
)

// fleet is how many craft there are in all. Each is met about twice a season, so marks repeat.
const fleet = 7000

// craft is one boat with its trailer: the same number gives the same craft.
type craft struct {
	class  int
	number int
	setup  thwart.Setup
	mark   *thwart.Mark // none for what carries no registration
	home   string
	round  *craftRound
}

// craftRound is what a round of one kind of setup consists of.
type craftRound struct {
	places  []thwart.Place
	seconds float64 // of a full look
}

func celsius(x float64) unit.Celsius { return unit.Celsius(x) }

// anyCraft draws a craft: its class by the true shares, then one of that class.
func (w *World) anyCraft(r *rand.Rand) craft {
	x := r.Float64()
	class := 0
	for i, c := range classShares {
		if x -= c.share; x < 0 || i == len(classShares)-1 {
			class = i
			break
		}
	}
	return w.craftOf(class, r.IntN(int(math.Ceil(fleet*classShares[class].share))))
}

// unregistered classes carry no number that could be hashed.
var unregistered = map[string]bool{"canoe_kayak": true, "paddleboard": true, "float_tube": true, "dock_or_lift": true, "raft_drift_boat": true}

// homeAreas are invented postal areas; the last three lie outside the region.
var homeAreas = []string{"WL-01", "WL-02", "WL-03", "WL-04", "WL-05", "WL-06", "QX-11", "QX-14", "ZV-02"}

func (w *World) craftOf(class, number int) craft {
	r := num.Stream(w.Seed, fmt.Sprintf("craft %d %d", class, number))
	c := craft{class: class, number: number}
	id := classShares[class].class
	lib, _ := refdata.CraftClassByID(id)
	c.setup = thwart.Setup{Class: id, Spaces: []thwart.Space{}, Gear: []string{}, Trailer: thwart.Trailer(lib.Trailer)}
	c.setup.LengthM = round(math.Max(lib.MinLengthM, math.Min(lib.MaxLengthM, lib.LengthM*(1+0.1*r.NormFloat64()))), 1)
	for _, d := range lib.Drives {
		if d == "unknown" {
			d = string(thwart.DriveUnknown)
		}
		c.setup.Drives = append(c.setup.Drives, thwart.Drive(d))
	}
	switch {
	case id == "jon_duck_boat": // an outboard or a mud motor
		k := r.IntN(2)
		c.setup.Drives = c.setup.Drives[k : k+1]
	case id == "open_aluminium_fishing" && chance(r, 0.3):
		c.setup.Drives = append(c.setup.Drives, thwart.DriveTrollingBow)
	}
	for _, s := range lib.Spaces {
		c.setup.Spaces = append(c.setup.Spaces, thwart.Space{Kind: thwart.SpaceKind(s.Kind), Count: thwart.Count(s.Count), VolumeL: s.VolumeL})
	}
	for _, g := range lib.Gear {
		if chance(r, 0.85) {
			c.setup.Gear = append(c.setup.Gear, g)
		}
	}
	if c.setup.Trailer == thwart.TrailerBunk && chance(r, 0.18) {
		c.setup.Trailer = thwart.TrailerRoller
	}
	area := r.IntN(len(homeAreas) - 3)
	if chance(r, 0.17) {
		area = len(homeAreas) - 1 - r.IntN(3)
	}
	c.home = homeAreas[area]
	if !unregistered[id] {
		sum := sha256.Sum256(fmt.Appendf(nil, "demo mark %d %d %d", w.Seed, class, number))
		c.mark = &thwart.Mark{Hash: hex.EncodeToString(sum[:16]), Prefix: c.home[:2]}
	}
	c.round = w.roundOf(&c.setup)
	return c
}

// roundOf looks up the places of a setup, once per kind.
func (w *World) roundOf(s *thwart.Setup) *craftRound {
	key := fmt.Sprint(s.Class, s.Drives, s.Trailer, strings.Join(s.Gear, ","))
	if cr, ok := w.rounds[key]; ok {
		return cr
	}
	kind := *s
	kind.LengthM = 0
	places, err := advice.Places(kind)
	if err != nil {
		panic(fmt.Sprintf("demo: places of %s: %v", s.Class, err))
	}
	cr := &craftRound{places: places}
	for i := range places {
		cr.seconds += places[i].Seconds
	}
	w.rounds[key] = cr
	return cr
}

// spot picks a place by its weight among those that pass; nil where none does.
func (cr *craftRound) spot(r *rand.Rand, pass func(*thwart.Place) bool) *thwart.Place {
	weights := make([]float64, len(cr.places))
	for i := range cr.places {
		if p := &cr.places[i]; pass(p) {
			weights[i] = p.Weight + 0.001
		}
	}
	if i := pick(r, weights); i >= 0 {
		return &cr.places[i]
	}
	return nil
}
