package practice

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"time"

	"thwart"
	"thwart/advice"
	"thwart/refdata"
)

// Order says which drill is wanted.
type Order struct {
	Seed  uint64       `json:"seed"`
	Setup thwart.Setup `json:"setup"`
	// Difficulty from 1 (large things in the open) to 5 (small ones that must be felt or opened for, among decoys).
	Difficulty int `json:"difficulty"`
	// ProtocolID names a protocol of the library; Protocol gives one whole and wins.
	ProtocolID string           `json:"protocolId,omitempty"`
	Protocol   *thwart.Protocol `json:"protocol,omitempty"`
	// At is the day on which the drill plays.
	At time.Time `json:"at"`
	// Unit is the wash unit at hand; absent = none.
	Unit *thwart.WashUnit `json:"unit,omitempty"`
	// Weak is what this person found of what was there, so that practice goes where she misses; empty = nothing known.
	Weak []Weak `json:"weak,omitempty"`
}

// Weak counts what somebody found of what was there, for one kind of thing and part of the craft; no part = anywhere.
type Weak struct {
	Class  string      `json:"class"`
	Part   thwart.Part `json:"part,omitempty"`
	Found  int         `json:"found"`
	Trials int         `json:"trials"`
}

// Difficulties lists what can be ordered.
var Difficulties = []int{1, 2, 3, 4, 5}

func (o *Order) check() error {
	var errs thwart.FieldErrors
	fail := func(field string, value any, accepted string) {
		errs = append(errs, thwart.FieldError{Field: field, Value: fmt.Sprint(value), Accepted: accepted})
	}
	if !slices.Contains(Difficulties, o.Difficulty) {
		fail("difficulty", o.Difficulty, "1 to 5")
	}
	if o.At.IsZero() {
		fail("at", "", "the day on which the drill plays")
	}
	if len(o.Weak) > 200 {
		fail("weak", len(o.Weak), "at most 200 rows")
	}
	for i, w := range o.Weak {
		at := fmt.Sprintf("weak[%d].", i)
		if !slices.Contains(refdata.DetectionClasses, refdata.DetectionClass(w.Class)) {
			fail(at+"class", w.Class, fmt.Sprintf("one of %v", refdata.DetectionClasses))
		}
		if w.Part != "" && !slices.Contains(thwart.Parts, w.Part) {
			fail(at+"part", w.Part, fmt.Sprintf("one of %v, or none for anywhere", thwart.Parts))
		}
		if w.Found < 0 || w.Found > w.Trials {
			fail(at+"found", fmt.Sprintf("%d of %d", w.Found, w.Trials), "found between 0 and trials")
		}
	}
	if err := o.Setup.Validate(); err != nil {
		var fe thwart.FieldErrors
		if !errors.As(err, &fe) {
			return err
		}
		for _, e := range fe {
			e.Field = "setup." + e.Field
			errs = append(errs, e)
		}
	}
	if errs != nil {
		return errs
	}
	return nil
}

// rules gives the protocol in force with its tables filled in.
func rules(p *thwart.Protocol, id string) (thwart.Protocol, error) {
	if p != nil {
		return advice.Expand(*p)
	}
	return advice.ProtocolByID(id)
}

// digest names a value by what it says.
func digest(kind string, v any) (string, error) {
	b, err := json.Marshal(v)
	if err != nil {
		return "", fmt.Errorf("%s: %w", kind, err)
	}
	sum := sha256.Sum256(append([]byte(kind+"\n"), b...))
	return hex.EncodeToString(sum[:8]), nil
}

// complete fills what the order leaves out with what is usual for the class, since an inspection has to say it. A class that
// is not known is refused where the places are listed.
func complete(s thwart.Setup) thwart.Setup {
	usual, err := advice.UsualSetup(s.Class)
	if err != nil {
		return s
	}
	s.Class = usual.Class
	if len(s.Drives) == 0 {
		s.Drives = usual.Drives
	}
	if s.Spaces == nil {
		s.Spaces = usual.Spaces
	}
	if s.Gear == nil {
		s.Gear = usual.Gear
	}
	if s.Trailer == thwart.TrailerUnknown {
		s.Trailer = usual.Trailer
	}
	return s
}
