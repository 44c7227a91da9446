package practice

import (
	"fmt"
	"slices"

	"thwart"
	"thwart/tongue"
)

// Sight is what one place shows to what was done there.
type Sight struct {
	Place string `json:"place"`
	// Shut names what has to be done before a look shows anything: open, lower.
	Shut []thwart.Task `json:"shut,omitempty"`
	// Signs are things to judge. Nothing here says which of them matter.
	Signs []Sign `json:"signs"`
	// Wet is what the hand or eye tells of water; empty = nothing was done that could tell.
	Wet  thwart.Wetness `json:"wet,omitempty"`
	Says []string       `json:"says"` // the same in sentences, in the order of the acts
}

// Sign is something seen or felt, with what a drawing needs: its form (strand, leaf, thread, shell, grit, blob, smear, drop),
// size, number and how faint it is, and where in the place it sits, from 0 to 1 each way.
type Sign struct {
	ID     string  `json:"id"`
	Seen   string  `json:"seen,omitempty"`
	Felt   string  `json:"felt,omitempty"`
	Form   string  `json:"form"`
	SizeMM float64 `json:"sizeMM"`
	Number int     `json:"number"`
	Faint  float64 `json:"faint"`
	X      float64 `json:"x"`
	Y      float64 `json:"y"`
}

// Look tells what a place shows to acts: look, feel, open, drain, lower, run, tip, ask. It gives away nothing else.
func (d *DrillCraft) Look(place string, acts []thwart.Task) (Sight, error) {
	s, err := d.unsealed()
	if err != nil {
		return Sight{}, err
	}
	p := d.place(place)
	if p == nil {
		return Sight{}, thwart.FieldErrors{{Field: "place", Value: place, Accepted: "a place of this drill"}}
	}
	for i, a := range acts {
		if !slices.Contains(thwart.Tasks, a) {
			return Sight{}, thwart.FieldErrors{{Field: fmt.Sprintf("acts[%d]", i), Value: string(a), Accepted: fmt.Sprintf("one of %v", thwart.Tasks)}}
		}
	}
	return s.sight(p, acts), nil
}

func (s *sheet) sight(p *thwart.Place, acts []thwart.Task) Sight {
	out := Sight{Place: p.ID, Signs: []Sign{}, Says: []string{}}
	did := func(t thwart.Task) bool { return slices.Contains(acts, t) }
	for _, t := range []thwart.Task{thwart.TaskOpen, thwart.TaskLower} {
		if p.Asks(t) && !did(t) {
			out.Shut = append(out.Shut, t)
		}
	}
	switch {
	case p.Hidden:
		out.Says = append(out.Says, tongue.Say("Nobody can see in here. It counts as wet."))
		return out
	case slices.Contains(out.Shut, thwart.TaskOpen):
		out.Says = append(out.Says, tongue.Say("It is shut. Ask the owner to open it."))
		return out
	case slices.Contains(out.Shut, thwart.TaskLower):
		out.Says = append(out.Says, tongue.Say("The drive is up. Ask the owner to lower it."))
	}
	looked, felt := did(thwart.TaskLook), did(thwart.TaskFeel)
	for i := range s.Items {
		it := &s.Items[i]
		if it.Place != p.ID {
			continue
		}
		n := Sign{ID: fmt.Sprintf("%s.%d", p.ID, i+1), Form: it.Form, SizeMM: it.SizeMM, Number: it.Number, Faint: it.Faint, X: it.X, Y: it.Y}
		if looked {
			n.Seen = it.Seen
		}
		if felt {
			n.Felt = it.Felt
		}
		if n.Seen == "" && n.Felt == "" {
			continue
		}
		out.Signs = append(out.Signs, n)
		if n.Seen != "" {
			out.Says = append(out.Says, tongue.Say("You see {what}.", n.Seen))
		}
		if n.Felt != "" {
			out.Says = append(out.Says, tongue.Say("To the hand: {what}.", n.Felt))
		}
	}
	if looked || felt {
		out.Wet = s.wetness(p.ID)
		out.Says = append(out.Says, tongue.Say(wetWords[out.Wet]))
	}
	return out
}

var wetWords = map[thwart.Wetness]tongue.Text{
	thwart.WetDry: "It is dry.", thwart.WetDamp: "It is damp to the hand.", thwart.WetFilm: "A film of water can be wiped up.",
	thwart.WetWater: "Water stands here.",
}

func (s *sheet) wetness(place string) thwart.Wetness {
	if w, ok := s.Wet[place]; ok {
		return w
	}
	return thwart.WetDry
}

// AskOwner tells what is seen of plugs and drive when the steward looks: plugsOut and driveLowered.
func (d *DrillCraft) AskOwner() (plugsOut, driveLowered thwart.Answer, err error) {
	s, err := d.unsealed()
	if err != nil {
		return "", "", err
	}
	return yesNo(!s.PlugsIn), yesNo(!s.DriveUp), nil
}

func yesNo(b bool) thwart.Answer {
	if b {
		return thwart.Yes
	}
	return thwart.No
}

func (d *DrillCraft) unsealed() (*sheet, error) {
	if d.Version != Version {
		return nil, thwart.FieldErrors{{Field: "version", Value: fmt.Sprint(d.Version), Accepted: tongue.Say("{n}, the version of drills this program knows", tongue.Int(Version))}}
	}
	s := &sheet{}
	return s, unseal(d.ID, d.Sealed, s)
}

func (d *DrillCraft) place(id string) *thwart.Place {
	i := slices.IndexFunc(d.Places, func(p thwart.Place) bool { return p.ID == id })
	if i < 0 {
		return nil
	}
	return &d.Places[i]
}
