// Package handover is what two phones of a programme tell each other at the ramp without a network: the order of a wash, and how the wash
// ended.
//
// Both travel as the body of a signed note (package receipt), in a code that a cheap camera reads. An [Order] holds what the engine of the
// other phone needs of the craft, and nothing of the boater; the treatment is worked out there, for the machine that stands there. An [Over]
// names the order it belongs to by its sum, so that a wash after another order, or of another craft, clears nothing.
//
// When a look began is kept to the second; times before it to the minute, to the side that gives a craft less credit.
package handover

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"math"
	"strings"
	"time"

	"thwart"
	"thwart/advice"
	"thwart/receipt"
	"thwart/tongue"
)

// Order is a craft that is owed a wash.
type Order struct {
	Encounter string // subject of the inspection
	// Inspection is what the engine needs of it. Who looked, where, its notes and its seal do not travel.
	Inspection thwart.Inspection
}

// layout is the version of an order's bytes. Another one is refused by name.
const layout = 1

var (
	// ErrOther says that the two phones do not list the same places for such a craft: one of them has an older program.
	ErrOther error = tongue.Error("the two phones list different places for this craft: one of them has an older program")
	errBytes error = tongue.Error("these are not the bytes of a wash order")
)

// reasonElsewhere stands for the words why a place could not be checked: that there was a reason counts, its words do not travel.
const reasonElsewhere tongue.Text = "as noted at the inspection"

// Sum names an order: the first 16 hexadecimal digits of the SHA-256 of its bytes.
func Sum(body []byte) string {
	sum := sha256.Sum256(body)
	return hex.EncodeToString(sum[:8])
}

// Bytes gives the order in as few bytes as it takes. The setup must be one that the library knows.
func (o Order) Bytes() ([]byte, error) {
	in := &o.Inspection
	places, err := advice.Places(in.Setup)
	if err != nil {
		return nil, err
	}
	id, err := idBytes(o.Encounter)
	if err != nil {
		return nil, err
	}
	w := writer{b: append([]byte{layout}, id...)}
	w.start(in.StartedAt)
	w.setup(in.Setup)
	w.word(in.Direction)
	w.small(4, answerNo(in.PlugsOut), answerNo(in.DriveLowered), answerNo(in.StrainerOut), answerNo(in.OutOfRegion))
	w.water(in.Water)
	w.before(in.WashedAt)
	w.number(uint64(len(in.LastWaters)))
	for _, v := range in.LastWaters {
		w.water(v.Water)
		w.word(string(v.Stay))
		w.before(v.OutAt)
	}
	w.b = append(w.b, placesSum(places)...)
	w.checks(places, in)
	w.number(uint64(len(in.Findings)))
	for i, f := range in.Findings {
		n := placeNo(places, f.Place)
		if n == 0 {
			return nil, thwart.FieldErrors{{Field: fmt.Sprintf("findings[%d].place", i), Value: f.Place, Accepted: "a place of this craft"}}
		}
		w.number(uint64(n))
		for _, s := range []string{string(f.Matter), f.Organism, f.Stage, f.Confidence, f.Amount, string(f.Vitality), string(f.Removed)} {
			w.word(s)
		}
		w.hundredths(f.VolumeL)
	}
	if w.err != nil {
		return nil, w.err
	}
	return w.b, nil
}

// Read takes an order apart. Waters travel as the short form of their subjects; waters are those that the reader knows. One it does not know
// keeps an id that names nothing, so that it counts as unknown in all respects.
func Read(body []byte, waters []string) (Order, error) {
	r := reader{b: body, waters: waters}
	if r.byte() != layout {
		return Order{}, errBytes
	}
	var o Order
	o.Encounter = r.id()
	in := &o.Inspection
	in.StartedAt = r.start()
	in.Setup = r.setup()
	in.Direction = r.word()
	a := r.small(4, 4)
	in.PlugsOut, in.DriveLowered, in.StrainerOut, in.OutOfRegion = answerOf(a[0]), answerOf(a[1]), answerOf(a[2]), answerOf(a[3])
	in.Water = r.water()
	in.WashedAt = r.before()
	in.LastWaters = []thwart.Visit{}
	for range r.count(thwart.MaxVisits) {
		in.LastWaters = append(in.LastWaters, thwart.Visit{Water: r.water(), Stay: thwart.Stay(r.word()), OutAt: r.before()})
	}
	sum := r.bytes(placesSumBytes)
	if r.bad || !thwart.IsID(o.Encounter) {
		return Order{}, errBytes
	}
	places, err := advice.Places(in.Setup)
	if err != nil || string(placesSum(places)) != string(sum) {
		return Order{}, ErrOther
	}
	in.Checks = r.checks(places)
	for range r.count(thwart.MaxFindings) {
		f := thwart.Finding{Place: r.place(places), Matter: thwart.Matter(r.word()), Organism: r.word(), Stage: r.word()}
		f.Confidence, f.Amount, f.Vitality, f.Removed = r.word(), r.word(), thwart.Vitality(r.word()), thwart.Removed(r.word())
		f.VolumeL = r.hundredths()
		in.Findings = append(in.Findings, f)
	}
	if r.bad || len(r.b) != 0 {
		return Order{}, errBytes
	}
	return o, nil
}

func idBytes(encounter string) ([]byte, error) {
	id, err := hex.DecodeString(strings.ReplaceAll(encounter, "-", ""))
	if err != nil || !thwart.IsID(encounter) {
		return nil, thwart.FieldErrors{{Field: "encounter", Value: encounter, Accepted: "the subject of an inspection"}}
	}
	return id, nil
}

const placesSumBytes = 3

func placesSum(places []thwart.Place) []byte {
	h := sha256.New()
	for i := range places {
		h.Write([]byte(places[i].ID + "\n"))
	}
	return h.Sum(nil)[:placesSumBytes]
}

// placeNo counts from 1; 0 = no place of this craft.
func placeNo(places []thwart.Place, id string) int {
	for i := range places {
		if places[i].ID == id {
			return i + 1
		}
	}
	return 0
}

func answerNo(a thwart.Answer) int {
	switch a {
	case thwart.Yes:
		return 1
	case thwart.No:
		return 2
	}
	return 0
}

func answerOf(n int) thwart.Answer {
	return [...]thwart.Answer{thwart.Unknown, thwart.Yes, thwart.No, thwart.Unknown}[n&3]
}

// Over is how a wash ended.
type Over struct {
	Encounter string    `json:"encounter"`
	Order     string    `json:"order"`   // [Sum] of the order it was done by
	EndedAt   time.Time `json:"endedAt"` // to the second
	Clears    bool      `json:"clears"`  // every heated step was met, approved as an alternative, or not needed
}

// Bytes gives it in 30 bytes.
func (o Over) Bytes() ([]byte, error) {
	id, err := idBytes(o.Encounter)
	if err != nil {
		return nil, err
	}
	sum, err := hex.DecodeString(o.Order)
	if err != nil || len(sum) != 8 {
		return nil, thwart.FieldErrors{{Field: "order", Value: o.Order, Accepted: "16 hexadecimal digits, the sum of the order"}}
	}
	s := o.EndedAt.Unix() - receipt.Epoch.Unix()
	if s < 0 || s > math.MaxUint32 {
		return nil, thwart.FieldErrors{{Field: "endedAt", Value: o.EndedAt.Format(time.RFC3339), Accepted: "a time from 2020 on"}}
	}
	b := append(append([]byte{layout}, id...), sum...)
	b = binary.BigEndian.AppendUint32(b, uint32(s))
	if o.Clears {
		return append(b, 1), nil
	}
	return append(b, 0), nil
}

// ReadOver takes it apart.
func ReadOver(body []byte) (Over, error) {
	r := reader{b: body}
	if r.byte() != layout || len(body) != 1+16+8+4+1 {
		return Over{}, errBytes
	}
	o := Over{Encounter: r.id(), Order: hex.EncodeToString(r.bytes(8))}
	o.EndedAt = receipt.Epoch.Add(time.Duration(binary.BigEndian.Uint32(r.bytes(4))) * time.Second)
	o.Clears = r.flag()
	if r.bad || !thwart.IsID(o.Encounter) {
		return Over{}, errBytes
	}
	return o, nil
}
