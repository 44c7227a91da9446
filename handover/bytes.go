package handover

import (
	"encoding/binary"
	"encoding/hex"
	"math"
	"time"

	"thwart"
	"thwart/form"
	"thwart/receipt"
	"thwart/tongue"
)

// writer puts the parts of an order one behind the other. Numbers are those of encoding/binary's Uvarint.
type writer struct {
	b       []byte
	started time.Time
	err     error
}

func (w *writer) number(n uint64) { w.b = binary.AppendUvarint(w.b, n) }
func (w *writer) signed(n int64)  { w.b = binary.AppendVarint(w.b, n) }

func (w *writer) flag(yes bool) {
	if yes {
		w.b = append(w.b, 1)
	} else {
		w.b = append(w.b, 0)
	}
}

// small puts a few numbers below base into one byte.
func (w *writer) small(base int, list ...int) {
	n := 0
	for _, v := range list {
		n = n*base + v
	}
	w.b = append(w.b, byte(n))
}

// word writes 0 for none, the number of a word of the trade, or one past the last with the letters.
func (w *writer) word(s string) {
	if s == "" {
		w.number(0)
	} else if n := number(s); n > 0 {
		w.number(n + 1)
	} else {
		w.number(1)
		s = form.Cut(s, thwart.MaxLine)
		w.number(uint64(len(s)))
		w.b = append(w.b, s...)
	}
}

// hundredths keeps two places behind the point: centimetres, hundredths of a litre.
func (w *writer) hundredths(v float64) { w.number(uint64(math.Round(max(v, 0) * 100))) }

// start writes the second and the zone, in quarters of an hour: the days of a rule are those of the place.
func (w *writer) start(at time.Time) {
	w.started = at.Truncate(time.Second)
	s := w.started.Unix() - receipt.Epoch.Unix()
	if s < 0 || s > math.MaxUint32 {
		w.err = thwart.FieldErrors{{Field: "startedAt", Value: at.Format(time.RFC3339), Accepted: "a time from 2020 on"}}
	}
	w.number(uint64(s))
	_, offset := at.Zone()
	w.signed(int64(offset / 900))
}

// before writes how many whole minutes a time lies before the start; read back it is never earlier than it was.
func (w *writer) before(at *time.Time) {
	w.flag(at != nil)
	if at != nil {
		w.signed(int64(math.Floor(w.started.Sub(*at).Minutes())))
	}
}

// water writes the short form of a water's subject, which is made of 8 hexadecimal digits.
func (w *writer) water(subject string) {
	w.flag(subject != "")
	if subject != "" {
		b, _ := hex.DecodeString(receipt.Short(subject))
		w.b = append(w.b, b...)
	}
}

func (w *writer) setup(s thwart.Setup) {
	w.word(s.Class)
	w.hundredths(s.LengthM)
	w.hundredths(s.BeamM)
	// A list that is missing is not an empty one: the first stands for what is usual in the class, the second for none.
	w.list(s.Drives == nil, len(s.Drives))
	for _, d := range s.Drives {
		w.word(string(d))
	}
	w.list(s.Spaces == nil, len(s.Spaces))
	for _, sp := range s.Spaces {
		w.word(string(sp.Kind))
		w.number(uint64(sp.Count + 1)) // unknown is -1
		w.hundredths(sp.VolumeL)
	}
	w.list(s.Gear == nil, len(s.Gear))
	for _, g := range s.Gear {
		w.word(g)
	}
	w.word(string(s.Trailer))
	w.word(string(s.Paint))
}

func (w *writer) list(missing bool, n int) {
	if missing {
		w.number(0)
	} else {
		w.number(uint64(n + 1))
	}
}

// state is what was done at a place as one number; 0 = no check.
func state(k thwart.Check) uint64 {
	wet := 0
	for i, v := range thwart.Wetnesses {
		if v == k.Wet {
			wet = i + 1
		}
	}
	n := 0
	for _, a := range []thwart.Answer{k.Looked, k.Felt, k.Opened, k.RanDry} {
		n = n*3 + answerNo(a)
	}
	n = n*5 + wet
	n *= 2
	if k.Reason != "" {
		n++
	}
	return uint64(n + 1)
}

const states = 3*3*3*3*5*2 + 1

func checkOf(state uint64, place string) thwart.Check {
	n := int(state - 1)
	k := thwart.Check{Place: place}
	if n%2 == 1 {
		k.Reason = tongue.Say(reasonElsewhere)
	}
	if n = n / 2; n%5 > 0 {
		k.Wet = thwart.Wetnesses[n%5-1]
	}
	n /= 5
	for _, a := range []*thwart.Answer{&k.RanDry, &k.Opened, &k.Felt, &k.Looked} {
		*a = answerOf(n % 3)
		n /= 3
	}
	return k
}

// checks writes the state that most places are in, then every other state with its places, each as the step from the one before: a
// place that is like most costs nothing, another one a byte.
func (w *writer) checks(places []thwart.Place, in *thwart.Inspection) {
	at := make([]uint64, len(places))
	var count [states]int // of places in each state
	most, kinds := uint64(0), uint64(0)
	for i := range places {
		if in.Others != nil {
			at[i] = state(*in.Others)
		}
		for _, k := range in.Checks {
			if k.Place == places[i].ID {
				at[i] = state(k)
			}
		}
		if count[at[i]]++; count[at[i]] == 1 {
			kinds++
		}
	}
	for s := range count {
		if count[s] > count[most] {
			most = uint64(s)
		}
	}
	w.number(kinds)
	w.number(most)
	for s := range uint64(states) {
		if s == most || count[s] == 0 {
			continue
		}
		w.number(s)
		w.number(uint64(count[s]))
		last := 0
		for i := range at {
			if at[i] == s {
				w.number(uint64(i + 1 - last))
				last = i + 1
			}
		}
	}
}

// reader reads what writer writes. Anything else sets bad.
type reader struct {
	b       []byte
	waters  []string
	started time.Time
	bad     bool
}

func (r *reader) bytes(n int) []byte {
	if r.bad || len(r.b) < n {
		r.bad = true
		return make([]byte, n)
	}
	out := r.b[:n]
	r.b = r.b[n:]
	return out
}

func (r *reader) byte() byte { return r.bytes(1)[0] }
func (r *reader) flag() bool { return r.byte() == 1 }

func (r *reader) id() string {
	x := hex.EncodeToString(r.bytes(16))
	return x[:8] + "-" + x[8:12] + "-" + x[12:16] + "-" + x[16:20] + "-" + x[20:]
}

func (r *reader) number() uint64 {
	n, size := binary.Uvarint(r.b)
	if r.bad || size <= 0 {
		r.bad = true
		return 0
	}
	r.b = r.b[size:]
	return n
}

func (r *reader) signed() int64 {
	n, size := binary.Varint(r.b)
	if r.bad || size <= 0 {
		r.bad = true
		return 0
	}
	r.b = r.b[size:]
	return n
}

// count reads a number of things, of which there are at most so many.
func (r *reader) count(most int) int {
	n := r.number()
	if n > uint64(most) {
		r.bad = true
		return 0
	}
	return int(n)
}

func (r *reader) small(base, n int) []int {
	v := int(r.byte())
	out := make([]int, n)
	for i := n - 1; i >= 0; i-- {
		out[i] = v % base
		v /= base
	}
	return out
}

func (r *reader) word() string {
	n := r.number()
	switch {
	case n == 0:
		return ""
	case n == 1:
		return string(r.bytes(r.count(thwart.MaxLine)))
	case n-2 < uint64(len(words)):
		return words[n-2]
	}
	r.bad = true // a word of a newer program
	return ""
}

func (r *reader) hundredths() float64 { return float64(r.number()) / 100 }

func (r *reader) start() time.Time {
	s := r.number()
	quarters := r.signed()
	if s > math.MaxUint32 || quarters < -64 || quarters > 64 {
		r.bad = true
		return time.Time{}
	}
	r.started = receipt.Epoch.Add(time.Duration(s) * time.Second).In(time.FixedZone("", int(quarters)*900))
	return r.started
}

// mostMinutes is two hundred years, so that no time runs over.
const mostMinutes = 200 * 366 * 24 * 60

func (r *reader) before() *time.Time {
	if !r.flag() {
		return nil
	}
	m := r.signed()
	if m < -mostMinutes || m > mostMinutes {
		r.bad = true
		return nil
	}
	at := r.started.Add(-time.Duration(m) * time.Minute)
	return &at
}

func (r *reader) water() string {
	if !r.flag() {
		return ""
	}
	short := hex.EncodeToString(r.bytes(4))
	found := ""
	for _, s := range r.waters {
		if receipt.Short(s) == short {
			if found != "" {
				return short // two of one short form: nobody knows which
			}
			found = s
		}
	}
	if found == "" {
		return short
	}
	return found
}

func (r *reader) setup() thwart.Setup {
	s := thwart.Setup{Class: r.word(), LengthM: r.hundredths(), BeamM: r.hundredths()}
	if n := r.count(9); n > 0 {
		s.Drives = []thwart.Drive{}
		for range n - 1 {
			s.Drives = append(s.Drives, thwart.Drive(r.word()))
		}
	}
	if n := r.count(thwart.MaxSpaces + 1); n > 0 {
		s.Spaces = []thwart.Space{}
		for range n - 1 {
			s.Spaces = append(s.Spaces, thwart.Space{Kind: thwart.SpaceKind(r.word()), Count: thwart.Count(r.count(thwart.MaxSpaces+1) - 1), VolumeL: r.hundredths()})
		}
	}
	if n := r.count(thwart.MaxGearKind + 1); n > 0 {
		s.Gear = []string{}
		for range n - 1 {
			s.Gear = append(s.Gear, r.word())
		}
	}
	s.Trailer, s.Paint = thwart.Trailer(r.word()), thwart.Paint(r.word())
	return s
}

func (r *reader) checks(places []thwart.Place) []thwart.Check {
	at := make([]uint64, len(places))
	for i := range r.count(min(states, len(places))) {
		s := r.number()
		if s >= states {
			r.bad = true
			return nil
		}
		if i == 0 {
			for p := range at {
				at[p] = s
			}
			continue
		}
		p := 0
		for range r.count(len(places)) {
			if p += r.count(len(places)); p < 1 || p > len(places) {
				r.bad = true
				return nil
			}
			at[p-1] = s
		}
	}
	var out []thwart.Check
	for i, s := range at {
		if s > 0 {
			out = append(out, checkOf(s, places[i].ID))
		}
	}
	return out
}

func (r *reader) place(places []thwart.Place) string {
	if n := r.count(len(places)); n > 0 {
		return places[n-1].ID
	}
	r.bad = true
	return ""
}
