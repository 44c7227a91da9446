package exchange

import (
	"cmp"
	"errors"
	"fmt"
	"regexp"
	"strings"
	"time"

	"thwart"
	"thwart/refdata"
)

func (rd *reader) encounter(launch, steward string, at time.Time) thwart.Encounter {
	class := rd.class()
	e := thwart.Encounter{Protocol: cmp.Or(rd.m.Protocol, ProtocolNotKnown)}
	in := &e.Inspection
	in.Launch, in.Steward, in.StartedAt = launch, steward, at
	in.Direction = rd.word(FieldDirection)
	in.Setup = thwart.Setup{
		Class: class.ID, LengthM: rd.length(class), Drives: []thwart.Drive{thwart.DriveUnknown}, Spaces: []thwart.Space{}, Gear: []string{},
	}
	for _, s := range class.Spaces { // which of them it had nobody wrote down
		in.Setup.Spaces = append(in.Setup.Spaces, thwart.Space{Kind: thwart.SpaceKind(s.Kind), Count: thwart.CountUnknown})
	}
	in.PlugsOut = thwart.Answer(rd.word(FieldPlugsOut))
	in.LastWaters = rd.lastWaters(at)
	in.NextWater = rd.water(FieldNextWater)
	in.Refused = rd.word(FieldRefused) == "yes"
	in.Findings = rd.findings()
	in.EndedAt = rd.end(at)
	in.Note = rd.note()
	if o := rd.word(FieldOutcome); o != "" {
		e.Override = &thwart.Override{Outcome: thwart.Outcome(o), By: steward, Why: "as written in the imported table"}
	}
	if s := rd.told(FieldRegistration); s != "" {
		var key []byte
		if key, rd.err = rd.o.Key(at); rd.err == nil {
			if m := thwart.MarkOf(s, key); m.Hash != "" {
				e.Mark = &m
			}
		}
	}
	if s := rd.told(FieldHomeArea); s != "" {
		if postal.MatchString(s) {
			e.HomeArea = strings.ToUpper(s)
		} else {
			rd.say(LevelLeftOut, FieldHomeArea, "a postal area of at most 10 letters and digits, never an address", "")
		}
	}
	return e
}

var postal = regexp.MustCompile(`^[A-Za-z0-9][A-Za-z0-9 -]{1,9}$`)

func (rd *reader) class() refdata.CraftClass {
	other, _ := refdata.CraftClassByID("other") // the library is held to having it by a test
	s := rd.told(FieldClass)
	if s == "" {
		if _, mapped := rd.column[FieldClass]; mapped {
			rd.say(LevelLook, FieldClass, "a class of craft; taken as other", "")
		}
		return other
	}
	if to, ok := lookup(rd.m.Words[FieldClass], vocabulary{}, s); ok {
		s = to
	}
	c, err := refdata.FindCraftClass(s)
	if err == nil {
		return c
	}
	fix := "say in words.class which it is"
	var unknown *refdata.UnknownName
	if errors.As(err, &unknown) && len(unknown.Near) > 0 {
		fix = strings.Join(unknown.Near, " or ") + "? then put it into words.class"
	}
	rd.say(LevelLook, FieldClass, "a class of craft of the library; taken as other", fix)
	return other
}

// amount reads a number of a field in metric, and whether its unit was written beside it. ok is false where there is none.
func (rd *reader) amount(f Field, unitOf string) (x float64, said, ok bool) {
	s := rd.told(f)
	if s == "" {
		return 0, false, false
	}
	x, u, good := number(s)
	if !good {
		rd.say(LevelLeftOut, f, "a number, with its unit if it is not "+unitOf, "")
		return 0, false, false
	}
	return metric(x, cmp.Or(u, unitOf)), u != "", true
}

// length is left out where it fits the class only in the other unit: somebody wrote feet under metres or metres under feet.
func (rd *reader) length(c refdata.CraftClass) float64 {
	own, other := "m", "ft"
	if rd.m.Units.Length == "ft" {
		own, other = other, own
	}
	x, said, ok := rd.amount(FieldLength, own)
	if !ok {
		return 0
	}
	const slack = 1.3 // how far a craft may be beyond the usual of its class before somebody should look
	fits := func(v float64) bool { return v >= c.MinLengthM/slack && v <= c.MaxLengthM*slack }
	if fits(x) {
		return x
	}
	raw, _, _ := number(rd.told(FieldLength))
	if swapped := metric(raw, other); !said && fits(swapped) {
		rd.say(LevelLeftOut, FieldLength, fmt.Sprintf("%.1f to %.1f m for this class", c.MinLengthM, c.MaxLengthM),
			fmt.Sprintf("%g %s = %.2f m? then write the unit into the cell, or set units.length to %s", raw, other, swapped, other))
		return 0
	}
	if x < thwart.MinLengthM || x > thwart.MaxLengthM {
		rd.say(LevelLeftOut, FieldLength, fmt.Sprintf("%g to %g m", thwart.MinLengthM, thwart.MaxLengthM), "")
		return 0
	}
	rd.say(LevelLook, FieldLength, fmt.Sprintf("usually %.1f to %.1f m for this class; taken as %.2f m", c.MinLengthM, c.MaxLengthM, x), "")
	return x
}
