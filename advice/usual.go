package advice

import (
	"thwart"
	"thwart/refdata"
)

// UsualSetup gives what is usual for a craft class: drives, compartments, gear and trailer, to start from until somebody
// looks. class is an id, a name or another word of the library; the error names the nearest.
func UsualSetup(class string) (thwart.Setup, error) {
	c, err := refdata.FindCraftClass(class)
	if err != nil {
		return thwart.Setup{}, thwart.FieldErrors{{Field: "class", Value: class, Accepted: err.Error()}}
	}
	s := thwart.Setup{Class: c.ID, Trailer: thwart.Trailer(c.Trailer), Spaces: usualSpaces(&c), Gear: append([]string{}, c.Gear...)}
	for _, d := range c.Drives {
		s.Drives = append(s.Drives, thwart.Drive(d))
	}
	return s, nil
}

func usualSpaces(c *refdata.CraftClass) []thwart.Space {
	out := make([]thwart.Space, len(c.Spaces))
	for i, u := range c.Spaces {
		out[i] = thwart.Space{Kind: thwart.SpaceKind(u.Kind), Count: thwart.Count(u.Count), VolumeL: u.VolumeL}
	}
	return out
}

// RoundReversed is [Round] the other way round than it would go by itself.
func RoundReversed(places []thwart.Place, s thwart.Setup, opt RoundOptions) (RoundPlan, error) {
	plan, err := Round(places, s, opt)
	if err != nil {
		return plan, err
	}
	opt.Direction = "clockwise"
	if plan.Direction == opt.Direction {
		opt.Direction = "counterclockwise"
	}
	return Round(places, s, opt)
}
