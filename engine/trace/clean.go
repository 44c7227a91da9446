package trace

import (
	"cmp"
	"math"
	"slices"

	"thwart/lean"
	"thwart/tongue"
	"thwart/unit"
)

// Limits outside which a temperature cannot be true of water or of a surface being washed. Water under the pressure of
// a cleaning machine stays below 110 °C where it is touched, and broken probes report values far outside. Engineering
// judgement, no source.
const (
	LowestC  unit.Celsius = -20
	HighestC unit.Celsius = 110
)

// Defaults of Options. All three are engineering judgement, no source.
const (
	// DefaultMaxGapS is the longest step between readings over which the temperature still counts.
	DefaultMaxGapS = 30.0
	// DefaultMaxBackS is how far a reading may lag behind the one before it and still be a latecomer to be sorted in.
	// A clock that goes back further was set again.
	DefaultMaxBackS = 5.0
	// DefaultMaxRateKPerS is the fastest change believed of a single reading that returns at once. A bare
	// thermocouple can follow a real change faster, but then stays there for more than one reading.
	DefaultMaxRateKPerS = 10.0
)

// spikeK is the least height of a spike; anything smaller is noise of the probe.
const spikeK = 5.0

// maxNotes is how many notes of one kind are written out before the rest are only counted.
const maxNotes = 20

// Options set what Clean believes. A field that is zero, negative or not a finite number takes its default.
type Options struct {
	MaxGapS      float64 // seconds; a longer step is a gap
	MaxBackS     float64 // seconds; a longer step back is a restart of the logger
	MaxRateKPerS float64 // kelvin per second; a single reading that jumps faster, up and down again, is a spike
}

func orDefault(v, def float64) float64 {
	if v > 0 && !math.IsInf(v, 1) {
		return v
	}
	return def
}

// Kind says what a note is about, in words.
type Kind = tongue.Text

// The kinds of note.
const (
	OutOfOrder   Kind = "out of order"   // readings were sorted by time
	Restart      Kind = "restart"        // the clock went back: the logger was set again
	Duplicate    Kind = "duplicate time" // the colder of two readings at one time was kept
	Missing      Kind = "missing"        // the logger gave no reading
	OutsideRange Kind = "outside range"  // a temperature that cannot be true
	NoTime       Kind = "no time"        // a time that is not a finite number
	Gap          Kind = "gap"            // too long between readings
	Spike        Kind = "spike"          // one reading jumped up and back: lowered
	Dip          Kind = "dip"            // one reading dropped and came back: kept, it counts as cold
)

// Note tells what Clean found and did.
type Note struct {
	Kind Kind
	AtS  float64
	Row  int // line in the source; 0 where none is known or the note is about many
	Text string
}

// notebook keeps the first notes of each kind and counts the rest.
type notebook struct {
	list  []Note
	count map[Kind]int
}

func (n *notebook) add(kind Kind, atS float64, row int, t tongue.Text, values ...string) {
	if n.count == nil {
		n.count = make(map[Kind]int)
	}
	n.count[kind]++
	if n.count[kind] > maxNotes {
		return
	}
	text := tongue.Say(t, values...)
	if row > 0 {
		text = tongue.Say("line {n}: {note}", tongue.Int(row), text)
	}
	n.list = append(n.list, Note{Kind: kind, AtS: atS, Row: row, Text: text})
}

// four writes a number with four figures.
func four(v float64) string { return tongue.Num(v, 'g', 4) }

// close adds what was only counted, kind by kind in alphabetical order so that equal input gives equal notes.
func (n *notebook) close() []Note {
	kinds := make([]Kind, 0, len(n.count))
	for kind, count := range n.count {
		if count > maxNotes {
			kinds = append(kinds, kind)
		}
	}
	slices.Sort(kinds)
	for _, kind := range kinds {
		n.list = append(n.list, Note{Kind: kind, Text: tongue.Say("{n} more notes of this kind: {kind}", tongue.Int(n.count[kind]-maxNotes), tongue.Say(kind))})
	}
	return n.list
}

// entry is a reading on its way to becoming a point.
type entry struct {
	atS   float64
	tempC float64 // minus infinity: owed, not given or not to be believed
	row   int
	run   int // stretch between two restarts; -1: more than one, at the same time on the clock
}

// none marks an entry without a usable temperature. It is colder than anything, so it wins among duplicates.
var none = math.Inf(-1)

// Clean puts raw readings in order and drops what cannot be true. It says what it did in notes, the first 20 of each
// kind in full. Every repair goes to the cold side:
//
//   - The order in which the logger wrote is taken from Row, or from rows where some Row is not known. Latecomers are
//     sorted in by time.
//   - Where the clock goes back by more than MaxBackS the logger was set again, or a block of readings came late; which
//     of the two cannot be told. A step then counts only if it would count either way: its ends are neighbours by the
//     clock, and the logger wrote both on the same side of the restart. See [Sessions] for a file of separate washes.
//     A file that goes back at nearly every reading, with no time twice, was sorted by something else: it is put back
//     in order of time.
//   - A file whose newest reading comes first is turned round.
//   - Of several readings at one time the coldest is kept.
//   - A missing reading, one outside LowestC to HighestC, or one without a time is dropped, and leaves a gap between
//     its neighbours. One without a time is placed with the reading written before it.
//   - A step longer than MaxGapS is a gap.
//   - A spike, one reading above both its neighbours by more than MaxRateKPerS (and 5 K), is lowered to the colder of
//     them. A dip is noted and kept: filling it in would earn time.
//
// The result does not depend on the order of rows when every Row is known and no two are equal. Clean does not change
// rows.
func Clean(rows []Reading, opt Options) (Trace, []Note) {
	maxGapS := orDefault(opt.MaxGapS, DefaultMaxGapS)
	var notes notebook
	entries, inOrder := collect(rows, &notes)
	if !inOrder {
		markRuns(entries, orDefault(opt.MaxBackS, DefaultMaxBackS), &notes)
		lean.SortStable(entries, func(a, b entry) int { return cmp.Compare(a.atS, b.atS) })
	}
	entries = mergeTimes(entries, &notes)
	points := join(entries, maxGapS, &notes)
	lowerSpikes(points, entries, orDefault(opt.MaxRateKPerS, DefaultMaxRateKPerS), &notes)
	points = slices.DeleteFunc(points, func(p Point) bool { return p.TempC == NoReading })
	if len(points) > 0 {
		points[0].Gap = false // no step leads to the first point
	}
	return Trace{Points: points}, notes.close()
}

// Sessions splits raw readings where the logger was restarted, in the order in which it wrote. [Clean] must not guess
// whether a step back of the clock began a new record or brought late readings; somebody who knows that the file holds
// several washes can judge each session by itself. Sessions without a reading do not occur.
func Sessions(rows []Reading, opt Options) [][]Reading {
	var sessions [][]Reading
	maxBackS := orDefault(opt.MaxBackS, DefaultMaxBackS)
	ordered := asWritten(rows)
	var clock direction
	for i := 1; i < len(ordered); i++ {
		clock.step(ordered[i-1].AtS, ordered[i].AtS)
	}
	if clock.newestFirst() {
		ordered = slices.Clone(ordered)
		slices.Reverse(ordered)
	}
	latest := math.Inf(-1)
	for i, r := range ordered {
		if i == 0 || r.AtS < latest-maxBackS {
			sessions = append(sessions, nil)
			latest = math.Inf(-1)
		}
		last := len(sessions) - 1
		sessions[last] = append(sessions[last], r)
		if r.AtS > latest && !math.IsInf(r.AtS, 1) {
			latest = r.AtS
		}
	}
	return sessions
}

// asWritten gives rows in the order in which the logger wrote them: rows itself, or a sorted copy.
func asWritten(rows []Reading) []Reading {
	sorted := true
	for i, r := range rows {
		if r.Row <= 0 {
			return rows
		}
		sorted = sorted && (i == 0 || rows[i-1].Row <= r.Row)
	}
	if sorted {
		return rows
	}
	ordered := slices.Clone(rows)
	lean.SortStable(ordered, func(a, b Reading) int { return cmp.Compare(a.Row, b.Row) })
	return ordered
}

// direction counts steps of the clock, to find a file whose newest reading comes first.
type direction struct{ back, forward int }

func (d *direction) step(from, to float64) {
	if to < from {
		d.back++
	} else if to > from {
		d.forward++
	}
}

func (d direction) newestFirst() bool { return d.back > d.forward }

// collect turns readings into entries in the order of writing, oldest first, and takes out what has no time or no
// believable temperature. inOrder tells that the clock never goes back.
func collect(rows []Reading, notes *notebook) (entries []entry, inOrder bool) {
	ordered := asWritten(rows)
	entries = make([]entry, 0, len(ordered))
	timeless := 0 // entries at the head of the file still waiting for a time
	var clock direction
	for _, r := range ordered {
		e := entry{atS: r.AtS, tempC: float64(r.TempC), row: r.Row}
		switch {
		case math.IsNaN(r.AtS) || math.IsInf(r.AtS, 0):
			e.tempC = none
			if len(entries) == timeless {
				timeless++
			} else {
				e.atS = entries[len(entries)-1].atS
			}
			notes.add(NoTime, e.atS, r.Row, "the time is not a number; the stretch around it counts as cold")
		case r.TempC == NoReading:
			e.tempC = none
			notes.add(Missing, r.AtS, r.Row, "the logger gave no reading; the stretch around it counts as cold")
		case !(r.TempC >= LowestC && r.TempC <= HighestC):
			e.tempC = none
			notes.add(OutsideRange, r.AtS, r.Row, "{n} °C cannot be true (accepted: {lowest} to {highest} °C); the stretch around it counts as cold",
				tongue.Short(float64(r.TempC)), tongue.Short(float64(LowestC)), tongue.Short(float64(HighestC)))
		}
		if len(entries) > timeless {
			clock.step(entries[len(entries)-1].atS, e.atS)
		}
		entries = append(entries, e)
	}
	if timeless == len(entries) {
		return nil, true
	}
	for i := range timeless {
		entries[i].atS = entries[timeless].atS
	}
	if clock.newestFirst() {
		slices.Reverse(entries)
		notes.add(OutOfOrder, entries[0].atS, 0, "the newest reading comes first; turned round")
		return entries, clock.forward == 0
	}
	return entries, clock.back == 0
}

// markRuns numbers the stretches between restarts, in the order of writing.
func markRuns(entries []entry, maxBackS float64, notes *notebook) {
	if jumbled(entries, maxBackS) {
		notes.add(OutOfOrder, entries[0].atS, 0, "the readings are in no order of time; sorted by time")
		return
	}
	run, late := 0, 0
	var firstLate entry
	latest := math.Inf(-1)
	for i := range entries {
		e := &entries[i]
		switch {
		case e.atS < latest-maxBackS:
			run++
			notes.add(Restart, e.atS, e.row,
				"the clock went back {n} s: the logger was restarted, or a block of readings came late; time counts only where it would count either way",
				tongue.Num(latest-e.atS, 'f', 0))
			latest = e.atS
		case e.atS < latest:
			if late == 0 {
				firstLate = *e
			}
			late++
		default:
			latest = e.atS
		}
		e.run = run
	}
	if late > 0 {
		notes.add(OutOfOrder, firstLate.atS, firstLate.row, "out of order; readings sorted in by time: {n}", tongue.Int(late))
	}
}

// jumbled reports whether the rows were shuffled, for instance sorted by temperature in a spreadsheet, rather than cut
// by restarts. A shuffled file goes back at every second reading or so and holds no time twice. No logger is set again
// every third reading, ten times over, onto times it never gave before.
func jumbled(entries []entry, maxBackS float64) bool {
	const (
		leastRestarts = 10
		leastRun      = 3 // readings between restarts, on average
	)
	restarts, latest := 0, math.Inf(-1)
	for _, e := range entries {
		if e.atS < latest-maxBackS {
			restarts++
			latest = e.atS
		}
		latest = max(latest, e.atS)
	}
	if restarts < leastRestarts || len(entries) >= leastRun*(restarts+1) {
		return false
	}
	times := make([]float64, len(entries))
	for i, e := range entries {
		times[i] = e.atS
	}
	slices.Sort(times)
	return len(slices.Compact(times)) == len(entries)
}

// mergeTimes keeps the coldest of the entries at one time. Entries must be sorted.
func mergeTimes(entries []entry, notes *notebook) []entry {
	if len(entries) == 0 {
		return nil
	}
	kept := entries[:1]
	for _, e := range entries[1:] {
		last := &kept[len(kept)-1]
		if e.atS != last.atS {
			kept = append(kept, e)
			continue
		}
		if !math.IsInf(e.tempC, -1) && !math.IsInf(last.tempC, -1) {
			notes.add(Duplicate, e.atS, e.row, "a second reading at the same time; the colder, {n} °C, is kept", four(min(e.tempC, last.tempC)))
		}
		if e.run != last.run {
			last.run = -1
		}
		if e.tempC < last.tempC {
			last.tempC, last.row = e.tempC, e.row
		}
	}
	return kept
}

// join makes points of entries and marks the steps about which nothing is known. An entry without a temperature
// becomes a point at NoReading, with a gap on either side, so that points and entries stay in step.
func join(entries []entry, maxGapS float64, notes *notebook) []Point {
	points := make([]Point, len(entries))
	for i, e := range entries {
		points[i] = Point{AtS: e.atS, TempC: unit.Celsius(e.tempC)}
		missing := math.IsInf(e.tempC, -1)
		if missing {
			points[i].TempC = NoReading
		}
		if i == 0 {
			continue
		}
		before := entries[i-1]
		tooLong := e.atS-before.atS > maxGapS
		if tooLong {
			notes.add(Gap, before.atS, before.row, "no reading for {n} s (accepted: at most {most} s); the gap counts as cold", four(e.atS-before.atS), four(maxGapS))
		}
		points[i].Gap = tooLong || missing || points[i-1].TempC == NoReading || e.run != before.run || e.run < 0
	}
	return points
}

// lowerSpikes lowers single readings that jump up and back faster than maxRateKPerS, and notes single drops. Each
// reading is compared with its neighbours as they were read, so the outcome does not depend on the direction of work.
func lowerSpikes(points []Point, entries []entry, maxRateKPerS float64, notes *notebook) {
	for i := 1; i+1 < len(points); i++ {
		if points[i].Gap || points[i+1].Gap {
			continue
		}
		before, here, after := &entries[i-1], &entries[i], &entries[i+1]
		if math.Abs(here.tempC-before.tempC) <= spikeK || math.Abs(here.tempC-after.tempC) <= spikeK {
			continue
		}
		rise := max(spikeK, maxRateKPerS*(here.atS-before.atS))
		fall := max(spikeK, maxRateKPerS*(after.atS-here.atS))
		switch {
		case here.tempC-before.tempC > rise && here.tempC-after.tempC > fall:
			points[i].TempC = unit.Celsius(min(before.tempC, after.tempC))
			notes.add(Spike, here.atS, here.row, "{n} °C for one reading only; lowered to {low} °C", four(here.tempC), four(float64(points[i].TempC)))
		case before.tempC-here.tempC > rise && after.tempC-here.tempC > fall:
			notes.add(Dip, here.atS, here.row, "{n} °C for one reading only; kept, it counts as cold", four(here.tempC))
		}
	}
}
